"""A reason as a picture: a tree from left to right, as wide as a phone held sideways.

What a box is, its shape and a word in it say, and its colour besides. No edge crosses another: a
line stands once, and where it is needed again its number does. Without any outside program, byte
for byte the same each time.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from ..engine.front import READ, RULED, SAID, TAKEN, UNKNOWN, Entry
from .wall import seen

FONT, SMALL, LINE = 13, 10.5, 16  # pixels
# how wide a letter is on average in the conclusion, and in all else; wide ones are rare
HEAD_LETTER, LETTER = 8.2, 7.2
COLUMNS, HEAD_COLUMNS = 19, 24  # letters in a line of a box, of the conclusion's
HELD = "\xa0"  # a space at which no line ends
PAD, GAP, BETWEEN, EDGE = 9, 9, 26, 12  # within a box, between rows, between columns, around it all
WORDS = {
    SAID: "you said",
    TAKEN: "assumed",
    READ: "table",
    RULED: "rule",
    UNKNOWN: "not said",
}
# fill and line of each kind, and of the ground and the writing; light and dark
LIGHT = {
    "ground": ("#ffffff", "#5b6670"),
    "text": ("#16202a", "#3f4b56"),
    SAID: ("#ffffff", "#3b4a57"),
    TAKEN: ("#fff3d1", "#8a6100"),
    READ: ("#e4f3e8", "#2f6b45"),
    RULED: ("#e8eefb", "#3a5a9b"),
    UNKNOWN: ("#fde9e7", "#a3372b"),
}
DARK = {
    "ground": ("#12171c", "#94a3b0"),
    "text": ("#f1f5f8", "#c5d0da"),
    SAID: ("#1f2830", "#9fb1c0"),
    TAKEN: ("#3a2f12", "#e0b656"),
    READ: ("#16301f", "#7fc79a"),
    RULED: ("#1b2942", "#8fb0ee"),
    UNKNOWN: ("#42201c", "#f0a197"),
}


class Box:
    """A line of the reason with its place in the picture."""

    def __init__(self, entry: Entry, level: int) -> None:
        self.entry, self.level = entry, level
        columns = HEAD_COLUMNS if level == 0 else COLUMNS
        self.word = _in_room(word_of(entry), int(columns * FONT / SMALL))
        self.rows = rows = _wrapped(seen(entry.said), columns)
        letter = LETTER if level else HEAD_LETTER
        longest = max(len(row) * letter for row in rows)
        self.width = round(max(longest, len(self.word) * LETTER * SMALL / FONT) + 2 * PAD)
        self.height = round(SMALL + 5 + LINE * len(rows) + 2 * PAD - 4)
        self.x = 0
        self.y = 0.0  # of its middle: from that of the box it is under, at first
        self.under = [Box(below, level + 1) for below in entry.under]
        # level -> how far up and down the boxes of that level reach from the middle of this one
        self.reach: dict[int, tuple[float, float]] = self._stacked()
        self.reach[level] = (-self.height / 2, self.height / 2)

    def _stacked(self) -> dict[int, tuple[float, float]]:
        """Put what is under the box one below the other, each as near as the boxes of no level come
        too close, and its middle into the middle of them.
        """
        reach: dict[int, tuple[float, float]] = {}
        at: list[float] = []
        for box in self.under:
            down = max(
                (
                    reach[level][1] + GAP - up
                    for level, (up, _) in box.reach.items()
                    if level in reach
                ),
                default=0.0,
            )
            at.append(down)
            for level, (up, low) in box.reach.items():
                first, last = reach.get(level, (up + down, low + down))
                reach[level] = min(first, up + down), max(last, low + down)
        middle = (at[0] + at[-1]) / 2 if at else 0.0
        for box, down in zip(self.under, at):
            box.y = down - middle
        return {level: (up - middle, low - middle) for level, (up, low) in reach.items()}

    def all(self) -> Iterator[Box]:
        """The box and all under it."""
        yield self
        for box in self.under:
            yield from box.all()

    def place(self, middle: float, left: list[int]) -> None:
        """Put the box and all under it where they stand in the picture."""
        self.x = left[self.level]
        for box in self.under:
            box.place(middle + box.y, left)
        self.y = round(middle - self.height / 2, 1)


def laid_out(top: Entry) -> tuple[Box, int, int]:
    """The boxes of a reason in their places, and how wide and high the picture is."""
    root = Box(top, 0)
    widest: dict[int, int] = {}
    for box in root.all():
        widest[box.level] = max(widest.get(box.level, 0), box.width)
    for box in root.all():
        box.width = widest[box.level]
    left = [EDGE]
    for level in sorted(widest):
        left.append(left[-1] + widest[level] + BETWEEN)
    up = min(up for up, _ in root.reach.values())
    low = max(low for _, low in root.reach.values())
    root.place(EDGE - up, left)
    return root, left[-1] - BETWEEN + EDGE, round(low - up) + 2 * EDGE


def _wrapped(text: str, columns: int) -> list[str]:
    """*text* in lines, no number parted from its unit."""
    held = re.sub(r"(?<=\d) (?=[A-Za-z°%Ω])", HELD, text)
    return [row.replace(HELD, " ") for row in textwrap.wrap(held, columns)] or [""]


def word_of(entry: Entry) -> str:
    """The word for what a line is, and who says so."""
    word = WORDS[entry.kind]
    source = seen(entry.source)
    if not source or entry.kind in (SAID, TAKEN, UNKNOWN) or source.lower().startswith(word):
        return source or word
    return f"{word} · {source}"


def _in_room(word: str, most: int) -> str:
    """A word and as many of the sections behind it as find room, each whole; the first at least."""
    sections = word.split(", ")
    fitting = (", ".join(sections[:kept]) for kept in range(len(sections), 1, -1))
    return next((said for said in fitting if len(said) <= most), sections[0])


def title_of(top: Entry) -> str:
    """The picture's title: the conclusion."""
    return f"Why: {seen(top.said)}"


def description_of(top: Entry) -> str:
    """What the picture shows, in a sentence."""
    said = "; ".join(seen(entry.said) for entry in top.under)
    return f"It rests on {len(list(top.all())) - 1} things, first of all: {said}."


def as_svg(top: Entry) -> str:
    """The picture."""
    root, width, height = laid_out(top)
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}"'
        f' viewBox="0 0 {width} {height}" role="img" aria-labelledby="t d"'
        f' font-family="system-ui, sans-serif" font-size="{FONT}">',
        f'<title id="t">{escape(title_of(top))}</title>',
        f'<desc id="d">{escape(description_of(top))}</desc>',
        f"<style>{_style()}</style>",
        f'<rect class="ground" width="{width}" height="{height}"/>',
    ]
    boxes = list(root.all())
    out += [_edge(box, below) for box in boxes for below in box.under]
    for box in boxes:
        out += _drawn(box)
    return "\n".join([*out, "</svg>"]) + "\n"


def _style() -> str:
    """The colours, for a light ground and for a dark one."""
    light = "".join(_rules(LIGHT))
    dark = "".join(_rules(DARK))
    fixed = ".edge{fill:none;stroke-width:1.4}.box{stroke-width:1.5}"
    fixed += f".word{{font-size:{SMALL}px}}.assumed .box{{stroke-dasharray:5 3}}"
    fixed += ".unknown .box{stroke-dasharray:2 3}.head{font-weight:600}"
    return f"{fixed}{light}@media (prefers-color-scheme:dark){{{dark}}}"


def _rules(colours: dict[str, tuple[str, str]]) -> Iterator[str]:
    ground, edge = colours["ground"]
    text, word = colours["text"]
    yield f".ground{{fill:{ground}}}.edge{{stroke:{edge}}}text{{fill:{text}}}.word{{fill:{word}}}"
    for kind in WORDS:
        fill, line = colours[kind]
        yield f".{kind} .box{{fill:{fill};stroke:{line}}}.{kind} .bar{{stroke:{line}}}"


def _edge(box: Box, below: Box) -> str:
    x1, y1 = box.x + box.width, box.y + box.height / 2
    x2, y2 = below.x, below.y + below.height / 2
    middle = (x1 + x2) / 2
    ends = f"data-from={quoteattr(box.entry.name)} data-to={quoteattr(below.entry.name)}"
    return (
        f'<path class="edge" {ends} d="M{x1:g} {y1:g}C{middle:g} {y1:g} {middle:g} {y2:g}'
        f' {x2:g} {y2:g}"/>'
    )


def _drawn(box: Box) -> list[str]:
    """A box by its shape: square what was said, rounded what a rule says, cut at the corners what
    was assumed, with a bar at its top what a table says.
    """
    kind, x, w, h = box.entry.kind, box.x, box.width, box.height
    y = box.y
    out = [f'<g class="node {kind}" data-id={quoteattr(seen(box.entry.name))}>']
    if kind in (TAKEN, UNKNOWN):
        c = 9
        out.append(
            f'<path class="box" d="M{x + c} {y:g}H{x + w - c}l{c} {c}V{y + h - c:g}'
            f'l{-c} {c}H{x + c}l{-c} {-c}V{y + c:g}Z"/>'
        )
    else:
        round_ = 13 if kind == RULED else 0
        out.append(f'<rect class="box" x="{x}" y="{y:g}" width="{w}" height="{h}" rx="{round_}"/>')
    if kind == READ:
        out.append(f'<path class="bar box" d="M{x} {y + 4:g}H{x + w}"/>')
    at = y + PAD + SMALL - 1
    out.append(f'<text class="word" x="{x + PAD}" y="{at:g}">{escape(box.word)}</text>')
    head = ' class="head"' if box.level == 0 else ""
    for row in box.rows:
        at += LINE
        out.append(f'<text{head} x="{x + PAD}" y="{at:g}">{escape(row)}</text>')
    return [*out, "</g>"]


__all__ = ["as_svg", "laid_out", "word_of"]
