"""Form changes spaces and blank lines and nothing else: every word, every comment and their order stay, and twice is once."""

import random
import re

import pytest

from whywire.cli import main
from whywire.engine.errors import Fault, Faults
from whywire.engine.form import in_form
from whywire.engine.knowledge import KB
from whywire.engine.reading import read_yaml

SHIPPED = sorted(KB.rglob("*.yaml"))


def marks(text: str) -> list[str]:
    """The text without blanks and line ends: words, comments and signs, in their order."""
    return re.sub(r"\s+", "", text)


def pieces(v) -> list:
    return [[k, *pieces(x)] for k, x in v.items()] if isinstance(v, dict) else [pieces(x) for x in v] if isinstance(v, list) else [str(v), v.quoted]


def mangled(text: str, rng) -> str:
    """*text* as a hurried hand leaves it: other indents, blanks at line ends, blank lines more and fewer, other line ends."""
    out, blocks = [], re.search(r": [>|]-?$", text, re.M)   # in a block of text blanks count
    for chunk in re.split(r"(?m)^(?=- )", text):
        by = rng.choice((0, 0, 1, 2))
        lines = chunk.split("\n")
        if by and re.match(r"- [\w']", chunk) and not any(line[:1] not in (" ", "", "-") for line in lines):
            lines = ["-" + " " * by + lines[0][1:], *(" " * by + line if line else line for line in lines[1:])]
        for line in lines:
            out.append(line + ("" if blocks else rng.choice(("", "", "  ", " "))))
            out += [""] * (rng.choice((0, 1, 2)) if line == "" else 0)
    return rng.choice(("\n", "\r\n")).join(out) + rng.choice(("", "\n\n\n"))


def test_what_is_shipped_is_in_form():
    assert len(SHIPPED) > 120
    assert [str(p) for p in SHIPPED if in_form(p.read_text("utf-8"), p.name) != p.read_bytes().decode()] == []


def test_no_word_and_no_comment_changes_and_twice_is_once():
    rng, moved = random.Random(7), 0
    for path in SHIPPED:
        text = mangled(path.read_text("utf-8"), rng)
        got = in_form(text, path.name)
        assert marks(got) == marks(text), path
        assert pieces(read_yaml(got, "x")) == pieces(read_yaml(text, "x")), path
        assert in_form(got, path.name) == got, path
        assert not re.search(r"[ \t\r]$|\n\n\n|\n\n\Z", got, re.M) and got.endswith("\n")
        moved += got != text
    assert moved > 100


@pytest.mark.parametrize("text, form", [
    ("-   rule: a\n    about: b   # why\n    when: [x,\n           y]\n-   rule: c\n    says: d", "- rule: a\n  about: b   # why\n  when: [x,\n         y]\n\n- rule: c\n  says: d\n"),
    ("# head\n\n\n\n# of it\n- a: b\n# of the next\n- c: d\n- {e: f}\n", "# head\n\n# of it\n- a: b\n# of the next\n- c: d\n- {e: f}\n"),
    ("job: x\r\n\r\n\r\n\r\ncircuits:  \r\n    a: {b: c}\r\n", "job: x\n\ncircuits:\n    a: {b: c}\n")])
def test_form(text, form):
    assert in_form(text, "x") == form


def test_a_block_of_text_whose_blanks_count_is_left_alone():
    for text in ("- rule: a\n  says: |\n    one  \n    two\n", 'a: "b  \n\n\n  c"\n'):
        try:
            assert pieces(read_yaml(in_form(text, "x"), "x")) == pieces(read_yaml(text, "x"))
        except Fault as f:
            assert f.code == "no-form"
    with pytest.raises(Fault, match="without changing what it says"):
        in_form("- rule: a\n  says: |\n    one  \n    two\n", "x")


def test_files_are_put_in_form_and_a_faulty_one_is_left(tmp_path, capsys):
    good, bad = tmp_path / "good.yaml", tmp_path / "bad.yaml"
    good.write_text("-   rule: a\n    says: b\n")
    good.chmod(0o640)
    bad.write_text("a: [b\n")
    assert main.main(["format", "--check", str(good)]) == 1 and good.read_text().startswith("-   rule")
    assert main.main(["format", str(tmp_path)]) == 2 and bad.read_text() == "a: [b\n"
    assert good.read_text() == "- rule: a\n  says: b\n" and good.stat().st_mode & 0o777 == 0o640
    assert main.main(["format", "--check", str(good)]) == 0 and sorted(p.name for p in tmp_path.iterdir()) == ["bad.yaml", "good.yaml"]
    link = tmp_path / "link.yaml"
    link.symlink_to(good)
    good.write_text("-   rule: a\n    says: b\n")
    assert main.main(["format", str(link)]) == 0 and link.is_symlink() and good.read_text() == "- rule: a\n  says: b\n"
    with pytest.raises(Faults):
        from whywire.cli.commands import formatted

        formatted((str(tmp_path / "none.yaml"),), True)
