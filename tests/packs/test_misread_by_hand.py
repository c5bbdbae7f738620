"""Sentences over lines that say something else, written by hand: none is taken in silence, and
none that agrees is refused.
"""

from pathlib import Path

import pytest
import yaml

from whywire.engine.basics import errors
from whywire.engine.comparing import amendments

WRITTEN = yaml.load(
    (Path(__file__).resolve().parent / "misread.yaml").read_text(), Loader=yaml.BaseLoader
)
HEAD = """pack: misread
title: Misread
authority: The Board
cite: Ordinance 7
layer: county
place: Misread County
adopts: {edition: 2023, from: 2025-01-01}
words: {job: {flood zone: {is: yes or no, ask: Is it in a flood zone?}}}
"""
ROUTINE = {"meaning-missing", "of-missing", "example-needed", "relieves"}
OWN = ("slip", "told", "fair")


def name_of(number):
    return f"misread-{'abcdefghij'[number // 10]}{'abcdefghij'[number % 10]}"


@pytest.fixture(scope="module")
def looked_at(tmp_path_factory):
    """What is told of each slip: (faults, questions, what is said back)."""
    pack = tmp_path_factory.mktemp("misread")
    (pack / "pack.yaml").write_text(HEAD)
    edits = [
        {
            "add": name_of(number),
            "cite": "§1",
            "reason": "We want it so.",
            **{key: said for key, said in slip.items() if key not in OWN},
        }
        for number, slip in enumerate(WRITTEN)
    ]
    (pack / "slips.yaml").write_text(yaml.safe_dump(edits, sort_keys=False, width=10**6))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(amendments, "known_packs", dict)
        patch.setattr(errors, "FAULTS", 10_000)
        # the case that turns is another test's
        patch.setattr(amendments, "RUNS", 0)
        patch.setattr(amendments, "LEAST_RUNS", 8)
        got = amendments.review(pack)
    out = {}
    for edit in got.edits:
        ends = min((e.at[1] for e in got.edits if e.at > edit.at), default=10**6)
        faults = [
            f.what
            for f in got.faults.items
            if f.code not in ROUTINE and edit.at[1] <= f.at[1] < ends
        ]
        asked = [what for number, what in got.asked if number == edit.number]
        out[edit.target] = faults, asked, got.said.get(edit.number, "")
    return out


@pytest.mark.parametrize("number", range(len(WRITTEN)), ids=lambda n: WRITTEN[n]["slip"])
def test_what_the_sentence_and_the_lines_say_otherwise_is_told(number, looked_at):
    slip = WRITTEN[number]
    faults, asked, said = looked_at[name_of(number)]
    if "fair" in slip:
        assert faults == []
    elif slip.get("told") == "said":
        assert "NM-B or MC" in said
    else:
        assert any(slip.get("told", "") in what for what in faults + asked), said
