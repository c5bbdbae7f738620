"""What kb/ADDING.md shows of an ordinance can be written so: each edit is read, said back and moves
a case.
"""

import re
import textwrap

from whywire.engine.comparing import amendments
from whywire.engine.law.library import KB
from whywire.engine.law.verbs.registry import VERBS

HEAD = """pack: shown
title: Shown
authority: The Board
cite: Ordinance 7
layer: state
place: Shown
adopts: {edition: 2023, from: 2025-01-01}
words: {job: {flood zone: {is: yes or no, ask: Where?}, new rules: {is: yes or no, ask: Which?}}}
"""
ROUTINE = {"meaning-missing", "of-missing", "example-needed", "relieves", "example-moved"}


def test_each_edit_that_is_shown_can_be_written(tmp_path):
    text = (KB / "ADDING.md").read_text()
    part = text.partition("## An ordinance, sentence by sentence")[2].partition("\n## ")[0]
    block = textwrap.dedent("\n".join(re.findall(r"^    .*$", part, re.M)))
    edits = re.sub(r"^(- .*?)( +#.*)?$", r"\1\n  cite: §1\n  reason: x", block, flags=re.M)
    (tmp_path / "pack.yaml").write_text(HEAD)
    (tmp_path / "ordinance.yaml").write_text(edits)
    got = amendments.review(tmp_path)
    assert [str(f) for f in got.faults.items if f.code not in ROUTINE] == []
    assert len(got.edits) == block.count("\n- ") + 1 == len(got.said) == 8
    assert all(found.reached for number, found in got.found.items())


def test_every_verb_and_command_of_a_clerk_is_in_it():
    text = (KB / "ADDING.md").read_text() + (KB / "README.md").read_text()
    assert [verb for verb in VERBS if f"{verb}: " not in text] == []
    for said in ("--ask", "--answers", "--write", "pack diff", "publish", "verify", "unpack"):
        assert said in (KB / "ADDING.md").read_text()
