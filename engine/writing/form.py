"""A file of a pack or a job in the house's form: spaces, indents, blank lines and line ends; no
word, no comment, no order changes.

Only whole lines are moved to the left, blank lines put in or taken out, and blanks at the end of a
line taken off; a text that goes over several lines moves as one and stays as it is. What results is
read again, and is given out only where it says, at every place, what the file said before.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from ..basics.errors import Fault, Place
from ..basics.reading import Text, long_texts, place_of, read_yaml

INDENT = 2
_DASH = re.compile(r"""- +(?=[^\s{\["'#|>-])""")  # of an item with keys
# begins a text of which the blank lines below it are a part
_WITH_BLANKS = re.compile(r"[|>]\d?\+\d?( +#.*)?(\n|$)")


def in_form(text: str, name: str) -> str:
    """*text* in form.

    Raises:
        Fault: it cannot be put in form without another meaning.
        Faults: it cannot be read.
    """
    said = read_yaml(text, name)
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    texts = long_texts(text)
    out = _spaced([_shifted(chunk) for chunk in _chunks(_lines(text, texts))])
    # a line end would be a part of such a text
    if not any(last == text.count("\n") and style in ("|", ">") for _, last, style in texts):
        out += "\n"
    if at := _otherwise(said, read_yaml(out, name), Place(name)):
        raise Fault(
            "no-form",
            at,
            "this file cannot be put in form without changing what it says",
            f"look at what begins in line {at[1]}: write it in one line and in quotes, or leave the"
            " file as it is",
        )
    return out


def _lines(text: str, texts: list[tuple[int, int, str]]) -> list[str]:
    """The lines of *text* without blanks at their ends. One of its *texts* is one line here, with
    every blank that may be a part of it.
    """
    joined: set[int] = set()
    whole: set[int] = set()
    for first, last, style in texts:
        joined.update(range(first + 1, last + 1))
        whole.update(
            range(first + 1, last + 1)
            if style in ("|", ">")
            else range(first, last)
            if style
            else ()
        )
    out: list[str] = []
    for n, line in enumerate(text.split("\n")):
        line = line if n in whole else line.rstrip(" \t")
        if n in joined:
            out[-1] += "\n" + line
        else:
            out.append(line)
    return out


def _chunks(lines: list[str]) -> list[list[str]]:
    """The items of a list (or the keys of a mapping) that stand at the margin, each with the
    comments right above it.
    """
    out: list[list[str]] = [[]]
    above: list[str] = []
    # a comment that begins left of it is no part of the item before; before the first there is none
    edge = float("inf")
    for line in lines:
        if line.lstrip().startswith("#") and len(line) - len(line.lstrip()) < edge:
            above.append(line)
        elif line and not line.startswith(" "):
            out.append([*(comment.lstrip() for comment in above), line])
            above = []
            edge = m.end() if (m := _DASH.match(line)) else 1
        else:  # what stands behind a comment of its own is no longer above anything
            out[-1] += [*above, line]
            above = []
    out[-1] += above
    return out


def _shifted(chunk: list[str]) -> list[str]:
    """An item whose keys stand two to the right of its dash."""
    first = next((n for n, line in enumerate(chunk) if line.startswith("-")), len(chunk))
    dash = _DASH.match(chunk[first]) if first < len(chunk) else None
    if dash is None:
        return chunk
    by = dash.end() - INDENT

    def left(line: str) -> str:
        # a line with fewer blanks at its beginning loses those it has, and no letter
        return "\n".join(
            part[min(by, len(part) - len(part.lstrip(" "))) :] for part in line.split("\n")
        )

    item = "- " + left(chunk[first])[dash.end() :]
    return [*chunk[:first], item, *map(left, chunk[first + 1 :])]


def _spaced(chunks: list[list[str]]) -> str:
    """The chunks, parted by one blank line where one of the two is an item of several lines, or
    where there was one.
    """
    out: list[str] = []
    # of the chunk before: is it an item of several lines, does a blank line end it
    long = gap = False
    for chunk in chunks:
        body = _with_single_blanks(chunk)
        if not body:
            gap = gap or len(chunk) > 1
            continue
        many = _is_long(body)
        part = many or long or gap or chunk[0] == ""
        if out and part and not _WITH_BLANKS.search(out[-1]):
            out.append("")
        out += body
        long, gap = many, chunk[-1] == ""
    return "\n".join(out)


def _with_single_blanks(chunk: list[str]) -> list[str]:
    """A chunk without blank lines at its ends, nor two of them together."""
    body = [line for n, line in enumerate(chunk) if line or n and chunk[n - 1]]
    return body[:-1] if body[-1:] == [""] else body


def _is_long(body: list[str]) -> bool:
    """Whether a chunk is an item of several lines, comments not counted."""
    item = [line for line in body if not line.startswith("#")]
    return bool(item) and item[0].startswith("-") and (len(item) > 1 or "\n" in item[0])


def _otherwise(before: Any, after: Any, at: Place) -> Place | None:
    """The first place of *before*, which stands *at*, where *after* says or quotes something else;
    None where they say the same.
    """
    at = place_of(before, at)
    parts: Iterable[tuple[Any, Any, Place]]
    if isinstance(before, dict) and isinstance(after, dict) and list(before) == list(after):
        parts = ((said, after[key], place_of(key, at)) for key, said in before.items())
    elif isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        parts = ((x, y, at) for x, y in zip(before, after, strict=True))
    else:
        same = isinstance(before, Text) and before == after and before.quoted == after.quoted
        return None if same else at
    found = (_otherwise(x, y, place) for x, y, place in parts)
    return next((place for place in found if place is not None), None)


__all__ = ["in_form"]
