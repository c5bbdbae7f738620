"""A file of a pack or a job in the house's form: spaces, indents, blank lines and line ends; no word, no comment, no order changes.

Only whole lines are moved to the right or left, blank lines put in or taken out, and blanks at the end of a line taken
off. What results is read again, and is given out only where it says, at every place, what the file said before.
"""

from __future__ import annotations

import re

from .errors import Fault, Place
from .reading import read_yaml

INDENT = 2
_DASH = re.compile(r"""- +(?=[^\s{\["'#|>-])""")   # of an item with keys


def in_form(text: str, name: str) -> str:
    """*text* in form. Raises Fault or Faults where it cannot be read, or cannot be put in form without another meaning."""
    said = read_yaml(text, name)
    lines = [line.rstrip(" \t") for line in text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")]
    out = _spaced([_shifted(chunk) for chunk in _chunks(lines)])
    if not _same(said, read_yaml(out, name)):
        raise Fault("no-form", Place(name), "this file cannot be put in form without changing what it says", "take the blanks out of its blocks of text (| or >), or leave it as it is")
    return out


def _chunks(lines: list[str]) -> list[list[str]]:
    """The items of a list (or the keys of a mapping) that stand at the margin, each with the comments right above it."""
    out: list[list[str]] = [[]]
    above: list[str] = []
    edge = float("inf")   # a comment that begins left of it is no part of the item before; before the first there is none
    for line in lines:
        if line.lstrip().startswith("#") and len(line) - len(line.lstrip()) < edge:
            above.append(line)
        elif line and not line.startswith(" "):
            out.append([*(comment.lstrip() for comment in above), line])
            above = []
            edge = m.end() if (m := _DASH.match(line)) else 1
        else:   # what stands behind a comment of its own is no longer above anything
            out[-1] += [*above, line]
            above = []
    out[-1] += above
    return out


def _shifted(chunk: list[str]) -> list[str]:
    """An item whose keys stand two to the right of its dash."""
    first = next((n for n, line in enumerate(chunk) if line.startswith("-")), None)
    if first is None:
        return chunk
    m = _DASH.match(chunk[first])
    if m is None or m.end() == INDENT:
        return chunk
    by = INDENT - m.end()
    head = "-" + " " * (INDENT - 1) + chunk[first][m.end():]
    rest = [line if not line or not line.startswith(" ") else " " * by + line if by > 0 else line[min(-by, len(line) - len(line.lstrip())):] for line in chunk[first + 1:]]
    return [*chunk[:first], head, *rest]


def _spaced(chunks: list[list[str]]) -> str:
    """The chunks, parted by one blank line where one of the two is an item of several lines, or where there was one."""
    out: list[str] = []
    long = gap = False   # of the chunk before: is it an item of several lines, does a blank line end it
    for chunk in chunks:
        body = re.sub(r"\n{3,}", "\n\n", "\n".join(chunk).strip("\n")).split("\n")
        if body == [""]:
            gap = gap or len(chunk) > 1
            continue
        item = [line for line in body if not line.startswith("#")]
        many = len(item) > 1 and item[0].startswith("-")
        if out and (many or long or gap or chunk[0] == ""):
            out.append("")
        out += body
        long, gap = many, chunk[-1] == ""
    return "\n".join(out) + "\n"


def _same(a, b) -> bool:
    """Whether two readings say the same, and quote the same."""
    if isinstance(a, dict):
        return isinstance(b, dict) and list(a) == list(b) and all(_same(x, b[k]) for k, x in a.items())
    if isinstance(a, list):
        return isinstance(b, list) and len(a) == len(b) and all(map(_same, a, b))
    return a == b and getattr(a, "quoted", None) == getattr(b, "quoted", None)


__all__ = ["in_form"]
