"""A short answer as at most twelve lines."""

from __future__ import annotations

import textwrap

from ..engine.front import Answer, Row
from . import layout
from .layout import Line

MOST = 12  # lines
BESIDE = 5  # of a higher rank is what stands beside an answer and is none of its reasons
WIDE = 80  # columns


def show_answer(answer: Answer, width: int = 80, most: int | None = None) -> list[Line]:
    """The answer first, then its rows; what matters least is left out when there are too many
    lines, and that is said.

    *most* is a dozen lines of 80 columns, or as much text on narrower ones.
    """
    most = most or MOST * WIDE // min(width, WIDE)
    head = _headline(f"{answer.word} {answer.sentence}".strip(), width)
    rows = [row for row in answer.rows if row.text]
    # lines that a row may take; rows that were left out
    allowed, dropped = 4, 0
    while True:
        blocks = [
            layout.row(row.label, row.text, row.source, width, max(allowed, row.lines))
            for row in rows
        ]
        lines = _marked(head + [line for block in blocks for line in block], dropped, width)
        if not rows or len(lines) <= most:
            break
        least = max(range(len(rows)), key=lambda i: (rows[i].rank, i))
        # what matters is shortened before anything of it is left out, what is beside it never kept
        # at the price of that
        beside = rows[least].rank > BESIDE
        if not beside and (allowed >= 3 or (rows[least].rank <= 2 and allowed > 1)):
            allowed -= 1
        else:
            _leave_out(rows, least)
            dropped += 1
    # Beyond the lines an answer may have: who trusts it must know that one chainer alone gave it.
    return lines + [[(line, "")] for line in textwrap.wrap(answer.chained, width)]


def _headline(said: str, width: int) -> list[Line]:
    """The first lines of an answer, all of it: it may be all that is read."""
    return [[(line, "headline")] for line in textwrap.wrap(said, width, break_on_hyphens=False)]


def _marked(lines: list[Line], dropped: int, width: int) -> list[Line]:
    """*lines*, with how many rows were left out: at the end of the last where that has room."""
    if not dropped:
        return lines
    mark = f"… {dropped} more: --json"
    *before, last = lines
    length = sum(len(text) for text, _ in last)
    if length + 2 + len(mark) > width:
        return [*lines, [(mark, "source")]]
    return [*before, [*last, (" " * (width - length - len(mark)) + mark, "source")]]


def _leave_out(rows: list[Row], which: int) -> None:
    """Take a row out, so that what it held for others is still said."""
    dropped = rows.pop(which)
    if not dropped.label:
        # an addend is gone: the sum says so
        total = next((row for row in rows[which:] if row.text.startswith("together ")), None)
        if total is not None:
            total.text = "with what is left out here, " + total.text
    elif which < len(rows) and not rows[which].label:
        # the next line of the same row takes its label
        rows[which].label = dropped.label


def show_plain(answer: Answer, width: int = 80) -> list[Line]:
    """For a homeowner: sentences, no numbers that need the trade."""
    return [
        [(line, "headline" if i == 0 and j == 0 else "")]
        for i, text in enumerate(answer.plain)
        for j, line in enumerate(textwrap.wrap(text, width))
    ]
