"""A short answer as at most twelve lines."""

from __future__ import annotations

import textwrap

from ..engine.answering.answers import Answer, Row
from . import layout
from .layout import Line

MOST = 12


def show_answer(answer: Answer, width: int = 80, most: int = MOST) -> list[Line]:
    """The answer first, then its rows; what matters least is left out when there are too many
    lines.
    """
    said = f"{answer.word} {answer.sentence}".strip()
    head: list[Line] = [
        [(line, "headline")] for line in textwrap.wrap(said, width, break_on_hyphens=False)[:2]
    ]
    rows = [row for row in answer.rows if row.text]
    allowed = 4  # lines that a row may take
    while True:
        blocks = [
            layout.row(row.label, row.text, row.source, width, max(allowed, row.lines))
            for row in rows
        ]
        if not rows or len(head) + sum(map(len, blocks)) <= most:
            return head + [line for block in blocks for line in block]
        least = max(range(len(rows)), key=lambda i: (rows[i].rank, i))
        # what matters is shortened before anything of it is left out
        if allowed >= 3 or (rows[least].rank <= 2 and allowed > 1):
            allowed -= 1
        else:
            _leave_out(rows, least)


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
