"""Pictures drawn from numbers: the parts of a volume, the front of a thing, depths in the ground,
a line of things one behind the other, a run with its lengths, amounts in what holds them.

What a picture shows is data: its form and what is written at its parts, which the knowledge says.
Each picture comes with the same in words, for who cannot see it. Byte for byte the same each time,
in the colours of the page it stands on.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Mapping
from html import escape
from typing import Any, TypeAlias

Said: TypeAlias = Mapping[str, Any]

WIDTH = 360  # pixels: a phone held upright
LETTER, LINE = 7.2, 18  # how wide a letter is on average, how high a line
COLUMNS = int((WIDTH - 20) / LETTER)  # letters in a line as wide as the picture
LONGEST_STRETCH, HIGHEST_STACK = 120, 200  # pixels of the longest stretch of a run, of a stack
HELD = "\xa0"  # a space at which no line ends
MOST_MARKS = 12  # marks of one part of a volume; more are counted in its text
NUMBER = re.compile(r"\d+(?:\.\d+)?")
STYLE = (
    "text{font:14px Georgia,serif;fill:currentColor}"
    ".edge{fill:none;stroke:currentColor;stroke-width:2}"
    ".thin{fill:none;stroke:currentColor;stroke-width:1}"
    ".mark{fill:currentColor;fill-opacity:.25;stroke:currentColor}"
    ".light{fill:currentColor;fill-opacity:.06;stroke:currentColor}"
    ".thick{fill:none;stroke:currentColor;stroke-width:3}"
    ".far{stroke-dasharray:5 4}"
)


def drawn(picture: Said, name: str) -> str:
    """*picture* as an SVG image; *name* tells it from others on the page.

    >>> said = {"form": "depths", "says": "A trench", "depth": "18 in", "at": "Cable"}
    >>> drawn(said, "one").startswith('<svg xmlns="http://www.w3.org/2000/svg" role="img"')
    True
    """
    form = str(picture["form"])
    height, body = (OF_AMOUNTS.get(form) or FORMS[form])(picture)
    title = escape(f"{picture['says']}")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="{name}-t {name}-d"'
        f' viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}">'
        f'<title id="{name}-t">{title}</title>'
        f'<desc id="{name}-d">{escape(shown_in_words(picture))}</desc>'
        f"<style>{STYLE}</style>{body}</svg>"
    )


def shown_in_words(picture: Said) -> str:
    """What a picture shows, in a sentence: its title and what is written in it.

    >>> shown_in_words({"form": "depths", "says": "A trench", "depth": "18 in", "at": "Cable"})
    'A trench: depth 18 in; Cable'
    """
    parts = _written(picture)
    return f"{picture['says']}: " + "; ".join(parts) if parts else str(picture["says"])


def _written(picture: Said) -> list[str]:
    said = [str(part) for part in picture.get("parts", ())]
    if "amounts" in picture:
        return _amounts_written(picture)
    sizes = [f"{key} {picture[key]}" for key in ("width", "height", "depth") if key in picture]
    around = picture.get("around")
    if around is not None:
        of_it = [f"{key} {around[key]}" for key in ("width", "height") if key in around]
        sizes.append(f"{around['says']}: " + ", ".join(of_it))
    return sizes + said + ([str(picture["at"])] if "at" in picture else [])


def _amounts_written(picture: Said) -> list[str]:
    """The parts of a picture of amounts, from one end to the other, and what they are against."""
    limit = picture["limit"]
    said = []
    for part in picture["amounts"]:
        counts = " (this one counts)" if part.get("decides") else ""
        said.append(f"{part['amount']} {part['says']}{counts}")
    return [*picture["start"], *said, *picture["end"], f"{limit['amount']} {limit['says']}"]


def _number(text: Any) -> float:
    """The first number of a text, for its place in a picture; 1 where it has none."""
    found = NUMBER.search(str(text))
    return float(found[0]) if found else 1.0


def _text(x: float, y: float, said: Any, anchor: str = "start") -> str:
    return f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}">{escape(str(said))}</text>'


def _rect(x: float, y: float, width: float, height: float, kind: str = "edge") -> str:
    return f'<rect x="{x:g}" y="{y:g}" width="{width:g}" height="{height:g}" class="{kind}"/>'


def _line(x: float, y: float, to_x: float, to_y: float, kind: str = "thin") -> str:
    return f'<path d="M{x:g} {y:g}L{to_x:g} {to_y:g}" class="{kind}"/>'


def _span(x: float, y: float, to_x: float, to_y: float, said: Any) -> str:
    """A length with its ends marked, and what it is."""
    if y == to_y:
        ends = _line(x, y - 4, x, y + 4) + _line(to_x, y - 4, to_x, y + 4)
        return ends + _line(x, y, to_x, y) + _text((x + to_x) / 2, y - 6, said, "middle")
    ends = _line(x - 4, y, x + 4, y) + _line(x - 4, to_y, x + 4, to_y)
    return ends + _line(x, y, x, to_y) + _text(x + 8, (y + to_y) / 2 + 5, said)


def _volumes(picture: Said) -> tuple[int, str]:
    """What is in a thing, a row a part: as many marks as it counts, and its name. What each part
    takes is not drawn: that is what is asked.
    """
    parts = [str(part) for part in picture["parts"]]
    height = 40 + 30 * len(parts)
    body = _text(10, 20, picture["says"]) + _rect(10, 30, WIDTH - 20, height - 40)
    for row, part in enumerate(parts):
        y = 42 + 30 * row
        count = int(_number(part)) if part[:1].isdigit() else 1
        shown = min(count, MOST_MARKS)
        body += "".join(_rect(20 + 12 * i, y, 9, 14, "mark") for i in range(shown))
        body += _text(20 + 12 * shown + 8, y + 12, part)
    return height, body


def _front(picture: Said) -> tuple[int, str]:
    """A thing seen from the front, and the space around it, to one scale."""
    around = picture["around"]
    wide = max(_number(picture["width"]), _number(around["width"]))
    high = max(_number(picture["height"]), _number(around["height"]))
    scale = min((WIDTH - 120) / wide, 220 / high)
    floor, middle = 50 + high * scale, WIDTH / 2 - 20
    body = _text(10, 18, picture["says"])
    for said, kind, y in ((around, "thin far", 36), (picture, "edge", floor + 24)):
        width, height = _number(said["width"]) * scale, _number(said["height"]) * scale
        left = middle - width / 2
        body += _rect(left, floor - height, width, height, kind)
        body += _span(left, y, left + width, y, said["width"])
    right = middle + max(_number(picture["width"]), _number(around["width"])) * scale / 2
    body += _span(
        right + 12, floor - _number(around["height"]) * scale, right + 12, floor, around["height"]
    )
    body += _line(10, floor, WIDTH - 10, floor, "edge")
    body += _text(
        middle, floor - _number(picture["height"]) * scale / 2, picture["height"], "middle"
    )
    return int(floor + 40), body


def _depths(picture: Said) -> tuple[int, str]:
    """The ground cut open, and what lies in it at a depth, to scale."""
    deep = 20 + min(_number(picture["depth"]), 48) * 5
    body = _text(10, 18, picture["says"]) + _line(10, 40, 130, 40, "edge")
    body += _line(230, 40, WIDTH - 10, 40, "edge") + _line(130, 40, 130, 40 + deep + 20, "edge")
    body += _line(130, 40 + deep + 20, 230, 40 + deep + 20, "edge")
    body += _line(230, 40 + deep + 20, 230, 40, "edge")
    body += f'<circle cx="180" cy="{40 + deep + 9:g}" r="9" class="mark"/>'
    body += _span(152, 40, 152, 40 + deep, picture["depth"]) + _line(135, 40, 225, 40, "thin far")
    body += _text(240, 40 + deep + 14, picture["at"])
    return int(40 + deep + 40), body


def _one_line(picture: Said) -> tuple[int, str]:
    """Things one behind the other, as current comes to them: a line from each to the next."""
    parts = [str(part) for part in picture["parts"]]
    height, body = 40 + 52 * len(parts), _text(10, 20, picture["says"])
    for row, part in enumerate(parts):
        y = 34 + 52 * row
        body += _rect(10, y, WIDTH - 20, 32) + _text(20, y + 21, part)
        if row:
            body += _line(40, y - 20, 40, y, "edge")
    return height, body


def _run(picture: Said) -> tuple[int, str]:
    """A run from its start to its end: each stretch as long as it is beside the others, what it is
    beside it, and what all of it comes to.
    """
    amounts, limit = picture["amounts"], picture["limit"]
    longest = max(float(part["number"]) for part in amounts)
    body, y = _rows(10, 20, picture["says"], COLUMNS)
    body, y = _end(body, y + 4, picture["start"], "from here")
    for part in amounts:
        rows = _wrapped(f"{part['amount']}  {part['says']}", COLUMNS - 6)
        high = max(float(part["number"]) / longest * LONGEST_STRETCH, LINE * len(rows) + 10)
        body += _line(24, y, 24, y + high, "edge") + _line(16, y + high, 32, y + high)
        body += _rows_in_the_middle(46, y + high / 2, rows)
        y += high
    body, y = _end(body, y, picture["end"], "to here")
    more, y = _rows(10, y + LINE + 4, f"{limit['amount']} {limit['says']}", COLUMNS)
    return int(y), body + more


def _end(body: str, y: float, said: list[str], else_: str) -> tuple[str, float]:
    """One end of a run: what stands there, in a frame; and where the picture goes on."""
    rows = [row for text in said or [else_] for row in _wrapped(text, COLUMNS - 3)]
    high = LINE * len(rows) + 10
    body += _rect(10, y, WIDTH - 20, high)
    for at, row in enumerate(rows):
        body += _text(20, y + LINE * (at + 1), row)
    return body, y + high


def _stack(picture: Said) -> tuple[int, str]:
    """Amounts stacked in the frame of what holds them, to one scale; what stands out above the
    frame is too much.
    """
    amounts, limit = picture["amounts"], picture["limit"]
    total = sum(float(part["number"]) for part in amounts)
    holds = float(limit["number"])
    body, top = _rows(10, 20, picture["says"], COLUMNS)
    scale = HIGHEST_STACK / max(total, holds)
    floor = top + 2 + HIGHEST_STACK
    sides, up = [], 0.0
    for at, part in enumerate(amounts):
        high = float(part["number"]) * scale
        body += _rect(24, floor - up - high, 96, high, "mark" if at % 2 else "light")
        sides.append((floor - up - high / 2, f"{part['amount']} {part['says']}"))
        up += high
    body += _rect(18, floor - holds * scale, 108, holds * scale, "thick")
    if holds > total:
        sides.append((floor - (up + holds * scale) / 2, "room to spare"))
    y = top + 6.0
    for middle, said in reversed(sides):
        rows = _wrapped(said, COLUMNS - 22)
        body += _line(120, middle, 150, y + LINE * len(rows) / 2 - 3)
        for row in rows:
            body += _text(156, y + 6, row)
            y += LINE
    below = max(floor, y - 6) + LINE + 4
    more, y = _rows(10, below, f"{limit['amount']} {limit['says']}", COLUMNS)
    return int(y), body + more


def _bars(picture: Said) -> tuple[int, str]:
    """Amounts as bars, a line through them at their limit; the one that decides is filled."""
    amounts, limit = picture["amounts"], picture["limit"]
    most = max(float(one["number"]) for one in [*amounts, limit])
    scale = (WIDTH - 30) / most
    at = 12 + float(limit["number"]) * scale
    body, y = _rows(10, 20, picture["says"], COLUMNS)
    above, y = _rows(10, y + 2, f"{limit['amount']} {limit['says']} (the dashed line)", COLUMNS)
    body += above
    for part in amounts:
        counts = " - this one counts" if part.get("decides") and len(amounts) > 1 else ""
        said, y = _rows(10, y + 8, f"{part['amount']} {part['says']}{counts}", COLUMNS)
        kind = "mark" if part.get("decides", True) else "edge"
        body += said + _rect(12, y - 10, float(part["number"]) * scale, 18, kind)
        body += _line(at, y - 14, at, y + 12, "far thick")
        y += 24
    return int(y + 2), body


def _rows(x: float, y: float, said: str, columns: int) -> tuple[str, float]:
    """A text in as many lines as it takes; and where the next line stands."""
    rows = _wrapped(said, columns)
    body = "".join(_text(x, y + LINE * at, row) for at, row in enumerate(rows))
    return body, y + LINE * len(rows)


def _rows_in_the_middle(x: float, middle: float, rows: list[str]) -> str:
    first = middle - LINE * len(rows) / 2 + LINE - 4
    return "".join(_text(x, first + LINE * at, row) for at, row in enumerate(rows))


def _wrapped(said: str, columns: int) -> list[str]:
    """A text in lines, no number parted from its unit."""
    held = re.sub(r"(?<=\d) (?=[A-Za-z°%])", HELD, said)
    return [row.replace(HELD, " ") for row in textwrap.wrap(held, columns)] or [""]


FORMS: dict[str, Callable[[Said], tuple[int, str]]] = {
    "volumes": _volumes,
    "front": _front,
    "depths": _depths,
    "one line": _one_line,
}
# of amounts that rules came to: a sheet draws these
OF_AMOUNTS: dict[str, Callable[[Said], tuple[int, str]]] = {
    "run": _run,
    "stack": _stack,
    "bars": _bars,
}
