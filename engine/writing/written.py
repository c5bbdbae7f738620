"""Lines added to the files of a pack: `of:` and `meaning:` where an edit lacks them, examples
behind those that it has, and nothing else changed.

A person's text stays as it is, comments and all: a line is put in behind the one that names the
verb, what results is read again, and a file is written only if it says what it said before and
those lines.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from ..basics.errors import Fault, Faults, Place
from ..basics.reading import place_of, read_yaml
from ..law.edits import Edit
from ..law.library import pack_files, shown_name
from ..law.meanings import quoted


def fill_in(
    folder: Path,
    edits: list[Edit],
    said: dict[int, str],
    prints: dict[int, str],
    shown: dict[int, list[str]] | None = None,
) -> list[tuple[Path, int]]:
    """Add to the files in *folder* what *edits* lack, from what they mean, were written over and
    are *shown* to do (examples, by the edit's number); (file, lines added).
    """
    out = []
    for path in pack_files(folder):
        add = []
        for edit in edits:
            here = edit.at[0] == shown_name(path)
            lines = _lacking(edit, said, prints, shown or {}) if here else {}
            if lines:
                add.append((edit, lines))
        if add and _put_lines(path, add):
            out.append((path, sum(len(lines) for _, lines in add)))
    return out


def _lacking(
    edit: Edit, said: dict[int, str], prints: dict[int, str], shown: dict[int, list[str]]
) -> dict[str, str]:
    """The lines that an edit lacks and that are known: key -> text."""
    lines = {"of": prints.get(edit.number, "")}
    if edit.number in said:
        lines["meaning"] = quoted(said[edit.number])
    # a list of lines, each with its dash
    lines["examples"] = "".join(f"\n{line}" for line in shown.get(edit.number, ()))
    there = edit.d.get("examples")
    return {
        key: text
        for key, text in lines.items()
        if text and (key not in edit.d or (key == "examples" and isinstance(there, list) and there))
    }


def _put_lines(path: Path, add: list[tuple[Edit, dict[str, str]]]) -> bool:
    """Write the lines into a file; whether that could be done without changing what it says."""
    whole = path.read_bytes()
    before = whole.decode("utf-8-sig")
    after = _with_lines(before, add)
    if after is None or not _says_the_same(before, after, [edit for edit, _ in add]):
        return False
    mark = "\ufeff" if whole.startswith(b"\xef\xbb\xbf") else ""
    put_in_place(path, mark + after)
    return True


def _with_lines(text: str, add: list[tuple[Edit, dict[str, str]]]) -> str | None:
    """*text* with the lines that each edit lacks behind the one that names its verb; None where
    that cannot be done.
    """
    lines = text.splitlines(keepends=True)
    # from below, so that line numbers stay true
    for edit, more in sorted(add, key=lambda x: x[0].at, reverse=True):
        if "examples" in edit.d and "examples" in more:
            more = {**more}
            if not _put_behind(lines, edit.d["examples"], more.pop("examples")):
                return None
        key = next(k for k in edit.d if k == edit.verb)
        at, value = place_of(key), edit.d[key]
        row = at[1] - 1
        start = place_of(value)[2] - 1
        end = start + len(value) + 2 * value.quoted
        line = lines[row]
        if place_of(value)[1] != at[1] or line[start + value.quoted : end - value.quoted] != value:
            return None
        in_braces = lines[edit.at[1] - 1][edit.at[2] - 1 : edit.at[2]] == "{"
        if in_braces:
            put_in = "".join(f", {k}: {_in_braces(v)}" for k, v in more.items())
            lines[row] = line[:end] + put_in + line[end:]
            continue
        bare = line.rstrip("\r\n")
        newline = line[len(bare) :] or "\n"
        indent = " " * (at[2] - 1)
        # what is a list begins on a line of its own
        below = f"{newline}{indent}  "
        told = (f"{k}:{'' if v[:1] == chr(10) else ' '}{v}" for k, v in more.items())
        put_in = "".join(indent + one.replace("\n", below) + newline for one in told)
        lines[row] = bare + newline + put_in
    return "".join(lines)


def _put_behind(lines: list[str], there: list, said: str) -> bool:
    """Put examples behind those that are *there*; False where it is not seen how they stand."""
    first, last = place_of(there[0]), place_of(there[-1])
    row = last[1] - 1
    lead = lines[first[1] - 1][: first[2] - 1]
    if lead.strip() == "-":
        end = row + 1
        # an example over several lines goes on as far as lines are set in
        while end < len(lines) and lines[end].strip() and _set_in(lines[end]) > len(lead) - 2:
            end += 1
        dash = lead[: lead.index("-")]
        newline = lines[row][len(lines[row].rstrip("\r\n")) :] or "\n"
        if not lines[end - 1].endswith(newline):
            lines[end - 1] += newline
        lines[end:end] = [f"{dash}{one}{newline}" for one in said.split("\n")[1:]]
        return True
    # in brackets, of which the last closes behind the last example
    close = lines[row].rfind("]")
    if close < last[2]:
        return False
    lines[row] = f"{lines[row][:close]}, {_in_braces(said)[1:-1]}{lines[row][close:]}"
    return True


def _set_in(line: str) -> int:
    return len(line) - len(line.lstrip())


def _in_braces(said: str) -> str:
    """A value as it stands within braces: a list of lines in brackets."""
    lines = said.split("\n")[1:]
    return f"[{', '.join(line.removeprefix('- ') for line in lines)}]" if lines else said


def _says_the_same(before: str, after: str, edits: list[Edit]) -> bool:
    """Whether what is read from *after* is what is read from *before*, but for `of` and `meaning`
    of these edits.
    """
    try:
        old, new = read_yaml(before, "before"), read_yaml(after, "after")
    except (Fault, Faults):
        return False
    touched = {(edit.verb, edit.target) for edit in edits}
    # where one has more items than the other, they are not equal in the end
    for x, y in zip(_items(old), _items(new), strict=False):
        if isinstance(y, dict) and any(y.get(verb) == target for verb, target in touched):
            for key in ("of", "meaning", "examples"):
                if key not in x and key in y:
                    del y[key]
            had, has = x.get("examples"), y.get("examples")
            if isinstance(had, list) and isinstance(has, list) and has[: len(had)] == had:
                y["examples"] = had
    return old == new


def _items(body: Any) -> list:
    """The items of a file: those of its list, or the edits below its head."""
    if isinstance(body, dict):
        return body.get("edits", [])
    return body if isinstance(body, list) else []


def put_in_place(path: Path, text: str) -> None:
    """Write the whole file, or leave it as it was; it keeps its rights, and where it is a link what
    that leads to is written.

    Raises:
        Faults: it may not be written.
    """
    import contextlib
    import shutil
    import tempfile

    whole, beside = path.resolve(), ""
    try:
        if not os.access(whole, os.W_OK):
            raise PermissionError(0, "it may only be read")
        with tempfile.NamedTemporaryFile(
            dir=whole.parent, prefix=f".{whole.name}.", delete=False
        ) as f:
            beside = f.name
            f.write(text.encode())
        shutil.copymode(whole, beside)
        os.replace(beside, whole)
    except BaseException as e:
        if beside:
            with contextlib.suppress(OSError):
                os.unlink(beside)
        if isinstance(e, OSError):
            raise Faults(
                [
                    Fault(
                        "not-writable",
                        Place(str(path)),
                        f"this file cannot be written: {e.strerror or e}",
                        "may you write it, and in its folder?",
                    )
                ]
            ) from None
        raise


__all__ = ["fill_in", "put_in_place"]
