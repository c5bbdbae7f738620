"""Lines added to the files of a pack: `of:` and `meaning:` where an edit lacks them, and nothing
else changed.

A person's text stays as it is, comments and all: a line is put in behind the one that names the
verb, what results is read again, and a file is written only if it says what it said before and
those lines.
"""

from __future__ import annotations

import os
from pathlib import Path

from ..basics.errors import Fault, Faults, Place
from ..basics.reading import place_of, read_yaml
from ..law.edits import Edit
from ..law.library import pack_files, shown_name
from ..law.meanings import quoted


def fill_in(
    folder: Path, edits: list[Edit], said: dict[int, str], prints: dict[int, str]
) -> list[tuple[Path, int]]:
    """Add to the files in *folder* what *edits* lack, from what they mean and were written over;
    (file, lines added).
    """
    out = []
    for path in pack_files(folder):
        mine = [e for e in edits if e.at[0] == shown_name(path)]
        add = {
            e.number: {
                k: v
                for k, v in (
                    ("of", prints.get(e.number)),
                    ("meaning", quoted(said[e.number]) if e.number in said else None),
                )
                if v and k not in e.d
            }
            for e in mine
        }
        add = {n: lines for n, lines in add.items() if lines}
        if not add:
            continue
        before = path.read_bytes().decode("utf-8-sig")
        after = _with_lines(before, [(e, add[e.number]) for e in mine if e.number in add])
        if after is not None and _says_the_same(
            before, after, [e for e in mine if e.number in add]
        ):
            mark = "\ufeff" if path.read_bytes().startswith(b"\xef\xbb\xbf") else ""
            put_in_place(path, mark + after)
            out.append((path, sum(map(len, add.values()))))
    return out


def _with_lines(text: str, add: list[tuple[Edit, dict]]) -> str | None:
    """*text* with the lines that each edit lacks behind the one that names its verb; None where
    that cannot be done.
    """
    lines = text.splitlines(keepends=True)
    # from below, so that line numbers stay true
    for e, more in sorted(add, key=lambda x: x[0].at, reverse=True):
        key = next(k for k in e.d if k == e.verb)
        at, value = place_of(key), e.d[key]
        row = at[1] - 1
        start = place_of(value)[2] - 1
        end = start + len(value) + 2 * value.quoted
        line = lines[row]
        if place_of(value)[1] != at[1] or line[start + value.quoted : end - value.quoted] != value:
            return None
        if lines[e.at[1] - 1][e.at[2] - 1 : e.at[2]] == "{":  # an edit in braces
            lines[row] = line[:end] + "".join(f", {k}: {v}" for k, v in more.items()) + line[end:]
            continue
        bare = line.rstrip("\r\n")
        newline = line[len(bare) :] or "\n"
        lines[row] = (
            bare
            + newline
            + "".join(f"{' ' * (at[2] - 1)}{k}: {v}{newline}" for k, v in more.items())
        )
    return "".join(lines)


def _says_the_same(before: str, after: str, edits: list[Edit]) -> bool:
    """Whether what is read from *after* is what is read from *before*, but for `of` and `meaning`
    of these edits.
    """
    try:
        a, b = read_yaml(before, "before"), read_yaml(after, "after")
    except (Fault, Faults):
        return False

    def items(body):
        return (
            body
            if isinstance(body, list)
            else body.get("edits", [])
            if isinstance(body, dict)
            else []
        )

    touched = {(e.verb, e.target) for e in edits}
    for x, y in zip(items(a), items(b)):
        if isinstance(y, dict):
            for k in ("of", "meaning"):
                if k not in x and k in y and any(y.get(v) == t for v, t in touched):
                    del y[k]
    return a == b


def put_in_place(path: Path, text: str) -> None:
    """Write the whole file, or leave it as it was; it keeps its rights, and where it is a link what
    that leads to is written.

    Raises Faults where it may not be written.
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
