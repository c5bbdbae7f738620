"""Form changes spaces and blank lines and nothing else: every word, every comment and their order
stay, and twice is once.
"""

import functools
import os
import random
import re
import shutil

import pytest
import yaml
from hypothesis import given, reject, settings
from hypothesis import strategies as st
from sweeps import examples, tenth

from whywire.cli import main
from whywire.engine.basics.errors import Fault, Faults
from whywire.engine.basics.reading import read_yaml
from whywire.engine.language.knowledge import KB
from whywire.engine.writing import form
from whywire.engine.writing.form import in_form

SHIPPED = sorted(KB.rglob("*.yaml"))


def marks(text: str) -> list[str]:
    """The text without blanks and line ends: words, comments and signs, in their order."""
    return re.sub(r"\s+", "", text)


def pieces(v) -> list:
    return (
        [[k, *pieces(x)] for k, x in v.items()]
        if isinstance(v, dict)
        else [pieces(x) for x in v]
        if isinstance(v, list)
        else [str(v), v.quoted]
    )


def mangled(text: str, rng) -> str:
    """*text* as a hurried hand leaves it: other indents, blanks at line ends, blank lines more and
    fewer, other line ends, sentences over several lines.
    """
    out = []
    for chunk in re.split(r"(?m)^(?=- )", text):
        by = rng.choice((0, 0, 1, 2))
        lines = chunk.split("\n")
        if (
            by
            and re.match(r"- [\w']", chunk)
            and not any(line[:1] not in (" ", "", "-") for line in lines)
        ):
            lines = [
                "-" + " " * by + lines[0][1:],
                *(" " * by + line if line else line for line in lines[1:]),
            ]
        for n, line in enumerate(lines):
            if (
                rng.random() < 0.2
                and (
                    m := re.fullmatch(
                        r"( +)(says|because|reason): ([A-Z][^\"'#:{}\[\]\\|>]+ )(\S+)", line
                    )
                )
                and (n + 1 == len(lines) or re.match(r" *\S+:|$", lines[n + 1]))
            ):
                line = (
                    m[1]
                    + m[2]
                    + ": "
                    + rng.choice(
                        (
                            f"|\n{m[1]}    {m[3]}\n\n\n{m[1]}      {m[4]}  ",
                            f">-\n{m[1]}  {m[3]} \n{m[1]}  \n{m[1]}  # {m[4]}",
                            f'"{m[3]} \n\n\n{m[1]}    - {m[4]}"',
                            f"|+\n{m[1]}  {m[3]}{m[4]}\n\n\n",
                        )
                    )
                )
            out.append(line + rng.choice(("", "", "  ", " ")))
            out += [""] * (rng.choice((0, 1, 2)) if line == "" else 0)
    return rng.choice(("\n", "\r\n")).join("\n".join(out).split("\n")) + rng.choice(("", "\n\n\n"))


def outside(text: str) -> list[str]:
    """The lines of *text* that are no part of a text over several lines, as a reader of YAML counts
    them; one stands for each such text.
    """
    lines = text.split("\n")
    for t in reversed(
        [t for t in yaml.scan(text, Loader=yaml.SafeLoader) if isinstance(t, yaml.ScalarToken)]
    ):
        first, last = t.start_mark.line, t.end_mark.line - (t.end_mark.column == 0)
        if first < last:
            lines[first : last + 1] = ["a text"]
    return lines


@pytest.mark.sweep
def test_what_is_shipped_is_in_form():
    assert len(SHIPPED) > 120
    assert [
        str(p)
        for p in tenth(SHIPPED, lambda p: p.parent, "form")
        if in_form(p.read_text("utf-8"), p.name) != p.read_bytes().decode()
    ] == []


@pytest.mark.sweep
def test_no_word_and_no_comment_changes_and_twice_is_once(monkeypatch):
    # it reads what results, and so does this
    monkeypatch.setattr(
        form, "read_yaml", read := functools.lru_cache(4)(lambda text, name: read_yaml(text, name))
    )
    rng, moved, texts = random.Random(7), 0, 0
    some = tenth(SHIPPED, lambda p: p.parent, "mangled")
    for path in some:
        text = mangled(path.read_text("utf-8"), rng)
        got = in_form(text, path.name)
        assert marks(got) == marks(text), path
        assert pieces(read(got, path.name)) == pieces(read(text, path.name)), path
        assert in_form(got, path.name) == got, path
        left = "\n".join(outside(got))
        assert not re.search(r"[ \t\r]$|\n\n\n|\n\n\Z", left, re.M) and got.endswith("\n")
        moved += got != text
        texts += left.count("a text")
    assert moved > len(some) // 2 and (texts > len(some))


@pytest.mark.parametrize(
    "text, form",
    [
        (
            (
                "-   rule: a\n    about: b   # why\n    when: [x,\n           y]\n-   rule: c\n   "
                " says: d"
            ),
            "- rule: a\n  about: b   # why\n  when: [x,\n         y]\n\n- rule: c\n  says: d\n",
        ),
        (
            "# head\n\n\n\n# of it\n- a: b\n# of the next\n- c: d\n- {e: f}\n",
            "# head\n\n# of it\n- a: b\n# of the next\n- c: d\n- {e: f}\n",
        ),
        (
            "job: x\r\n\r\n\r\n\r\ncircuits:  \r\n    a: {b: c}\r\n",
            "job: x\n\ncircuits:\n    a: {b: c}\n",
        ),
    ],
)
def test_form(text, form):
    assert in_form(text, "x") == form


@pytest.mark.parametrize(
    "text, form",
    [
        (
            (
                "-   rule: a\n    says: |   \n        one  \n\n\n        # two\n         \n        "
                "  - three\n\n\n\n-   rule: b\n"
            ),
            (
                "- rule: a\n  says: |\n      one  \n\n\n      # two\n       \n        - three\n\n-"
                " rule: b\n"
            ),
        ),
        ("a: |  \n  one  \n  two", "a: |\n  one  \n  two"),  # a line end would be a part of it
        # the blank lines are a part of it
        (
            "-   a: |+\n      one\n\n\n-   b: c\n    d: e\n",
            "- a: |+\n    one\n\n\n- b: c\n  d: e\n",
        ),
        ("- a: |+\n    one\n- b: c\n  d: e\n", "- a: |+\n    one\n- b: c\n  d: e\n"),
        ("-   a: >2-\n        one\n      two\n    b: c", "- a: >2-\n      one\n    two\n  b: c\n"),
        (
            "-   a: \"b  \n\n\n      c\\ \n      - d\"   \n\n\n    e: 'f  \n\n\ng'  \n",
            "- a: \"b  \n\n\n    c\\ \n    - d\"\n\n  e: 'f  \n\n\ng'\n",
        ),
        ("-   a: b  \n\n\n      c   \n", "- a: b\n\n\n    c\n"),
    ],
)
def test_a_text_over_several_lines_moves_as_one_and_stays_as_it_is(text, form):
    assert in_form(text, "x") == form == in_form(form, "x")
    assert pieces(read_yaml(form, "x")) == pieces(read_yaml(text, "x"))


@pytest.mark.parametrize(
    "text, line",
    [
        ("a: b\nc: |1\n     \n\nd: e\n", 2),
        ("- a: b\n\n\n- c: >1 # why\n\n       \n  \n  d: e\n", 4),
    ],
)
def test_a_text_of_nothing_but_blanks_is_refused_and_its_line_named(text, line):
    with pytest.raises(Fault, match="without changing what it says") as e:
        in_form(text, "x")
    assert e.value.code == "no-form" and e.value.at[1] == line and f"in line {line}" in e.value.todo


def test_files_are_put_in_form_and_a_faulty_one_is_left(tmp_path, capsys):
    good, bad = tmp_path / "good.yaml", tmp_path / "bad.yaml"
    good.write_text("-   rule: a\n    says: b\n")
    good.chmod(0o640)
    bad.write_text("a: [b\n")
    assert main.main(["format", "--check", str(good)]) == 1 and good.read_text().startswith(
        "-   rule"
    )
    assert main.main(["format", str(tmp_path)]) == 2 and bad.read_text() == "a: [b\n"
    assert good.read_text() == "- rule: a\n  says: b\n" and good.stat().st_mode & 0o777 == 0o640
    assert main.main(["format", "--check", str(good)]) == 0 and sorted(
        p.name for p in tmp_path.iterdir()
    ) == ["bad.yaml", "good.yaml"]
    link = tmp_path / "link.yaml"
    link.symlink_to(good)
    good.write_text("-   rule: a\n    says: b\n")
    assert (
        main.main(["format", str(link)]) == 0
        and link.is_symlink()
        and good.read_text() == "- rule: a\n  says: b\n"
    )
    assert main.main(["format", str(tmp_path / "none.yaml")]) == 2


def test_what_was_written_is_said_beside_the_fault_of_another(tmp_path, capsys):
    (tmp_path / "a.yaml").write_text("a: b   ")
    (tmp_path / "b.yaml").write_text("a: [b\n")
    assert main.main(["format", str(tmp_path)]) == 2
    out, err = capsys.readouterr()
    assert "a.yaml: put in form" in out and "b.yaml:1:4" in err


def test_of_a_folder_nothing_hidden_and_nothing_behind_a_link_is_touched(tmp_path, capsys):
    mine, theirs = tmp_path / "mine", tmp_path / "theirs.yaml"
    (mine / ".hidden").mkdir(parents=True)
    (mine / "folder.yaml").mkdir()
    (mine / ".hidden" / "x.yaml").write_text("a: b   ")
    theirs.write_text("a: b   ")
    (mine / "link.yaml").symlink_to(theirs)
    assert main.main(["format", str(mine)]) == 0 and capsys.readouterr() == ("", "")
    assert theirs.read_text() == (mine / ".hidden" / "x.yaml").read_text() == "a: b   "


@pytest.mark.parametrize("failing", ["copymode", "replace", "access"])
def test_a_file_that_cannot_be_written_stays_and_nothing_is_left_beside_it(
    tmp_path, monkeypatch, capsys, failing
):
    def no(*_):
        raise OSError(28, "No space left on device")

    file = tmp_path / "a.yaml"
    file.write_text("a: b   ")
    monkeypatch.setattr(
        *{
            "copymode": (shutil, "copymode", no),
            "replace": (os, "replace", no),
            "access": (os, "access", lambda *_: False),
        }[failing]
    )
    assert main.main(["format", str(file)]) == 2
    assert file.read_text() == "a: b   " and [p.name for p in tmp_path.iterdir()] == ["a.yaml"]
    assert "a.yaml:1:1: this file cannot be written" in capsys.readouterr().err


def comments(text: str) -> list[tuple]:
    """Each comment that has a line of its own: what it says, how many values stand before it, and
    whether it touches what stands below.
    """
    lines, out, values = text.split("\n"), [], 0
    for n, line in enumerate(lines):
        if line.lstrip().startswith("#"):
            out.append((line.strip(), values, bool(lines[n + 1].strip())))
        values += bool(line.strip()) and not line.lstrip().startswith("#")
    return out


@st.composite
def texts(draw, blanks: int) -> str:
    """A text over several lines, below a key that stands *blanks* in: with blanks that count and
    blanks that do not.
    """
    in_it = ["text", "# no comment", "- rule: x", "a: b  ", "   more ", "", "", "  "]
    style = draw(st.sampled_from("|>\"'"))
    more = draw(st.lists(st.sampled_from(in_it), max_size=4))
    if style in "|>":
        margin = draw(st.integers(1, 4))
        head = style + draw(
            st.sampled_from(["", "+", "-", str(margin), f"{margin}+", f"-{margin}", "   # why"])
        )
        return "\n".join(
            [
                head,
                *[""] * draw(st.integers(0, 2)),
                *(" " * (blanks + margin) + line for line in ["text", *more]),
                *draw(st.lists(st.sampled_from(["", " " * blanks]), max_size=2)),
            ]
        )
    lines = [
        line.replace(
            "text",
            draw(st.sampled_from(["text", "text\\ ", "text\\"])) if style == '"' else "it''s ",
        )
        for line in more
    ]
    return (
        style
        + "\n".join(
            [
                "text  ",
                *(line and " " * (blanks + draw(st.integers(1, 3))) + line for line in lines),
                " " * (blanks + 1) + "end",
            ]
        )
        + style
        + draw(st.sampled_from(["", "   ", "  # why"]))
    )


@st.composite
def files(draw) -> str:
    """A list of items as anybody may indent it, with comments above the items, above keys and
    behind values.
    """
    out, blanks = [], 4
    for _ in range(draw(st.integers(1, 4))):
        # left of the keys above
        out += [
            " " * draw(st.integers(0, blanks)) + f"# note {n}"
            for n in range(draw(st.integers(0, 2)))
        ]
        blanks = draw(st.integers(1, 4))
        for n in range(draw(st.integers(1, 3))):
            key = draw(
                st.sampled_from(
                    [
                        "x",
                        "'y # z'",
                        "{a: 1}   # why",
                        "[p,\n        q]",
                        "goes\n        on",
                        "|\n        # text\n        more",
                    ]
                )
                | texts(blanks + 1)
            )
            out.append(("-" + " " * blanks if n == 0 else " " * (blanks + 1)) + f"key {n}: {key}")
            out += [" " * draw(st.integers(blanks + 1, 6)) + "# in it"] * draw(
                st.integers(0, 1)
            ) + [""] * draw(st.integers(0, 3))
    return draw(st.sampled_from(["\n", "\r\n", "\r"])).join(
        line for piece in out for line in piece.split("\n")
    ) + draw(st.sampled_from(["", "\n\n"]))


@pytest.mark.sweep
@settings(max_examples=examples(300), deadline=None)
@given(files())
def test_a_comment_stays_beside_what_it_is_about(text):
    try:
        said = pieces(read_yaml(text, "x"))
    except (Fault, Faults):
        reject()  # a tenth of them cannot be read
    got = in_form(text, "x")
    plain = text.replace("\r\n", "\n").replace("\r", "\n") + "\n"
    assert (
        pieces(read_yaml(got, "x")) == said
        and marks(got) == marks(text)
        and in_form(got, "x") == got
    )
    before, after = comments(plain), comments(got + "\n")
    assert [c[:2] for c in before] == [c[:2] for c in after]
    margin = [
        n
        for n, line in enumerate(c for c in plain.split("\n") if c.lstrip().startswith("#"))
        if line.strip() not in ("# in it", "# no comment")
    ]
    assert all(after[n][2] for n in margin if before[n][2])
