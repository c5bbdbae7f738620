"""A short answer as at most twelve lines."""

from __future__ import annotations

import textwrap

from ..engine.answering.answers import Answer
from .layout import Line, row

MOST = 12  # lines
WIDE = 80  # columns


def show_answer(answer: Answer, width: int = 80, most: int | None = None) -> list[Line]:
    """The answer first, then its rows; what matters least is left out when there are too many
    lines, and that is said.

    *most* is a dozen lines of 80 columns, or as much text on narrower ones.
    """
    most = most or MOST * WIDE // min(width, WIDE)
    said = textwrap.wrap(f"{answer.word} {answer.sentence}".strip(), width, break_on_hyphens=False)
    long = max(2, most // 4)
    if len(said) > long:
        said = [*said[: long - 1], said[long - 1][: width - 2] + " …"]
    head: list[Line] = [[(line, "headline")] for line in said]
    rows = [r for r in answer.rows if r.text]
    allowed, dropped = 4, 0
    while True:
        blocks = [row(r.label, r.text, r.source, width, max(allowed, r.lines)) for r in rows]
        lines = head + [line for b in blocks for line in b]
        if len(lines) <= most or not rows:
            break
        worst = max(range(len(rows)), key=lambda i: (rows[i].rank, i))
        if allowed >= 3 or (rows[worst].rank <= 2 and allowed > 1):
            allowed -= 1
            continue
        gone, dropped = rows.pop(worst), dropped + 1
        total_row = next((r for r in rows[worst:] if r.text.startswith("together ")), None)
        if total_row is not None and not gone.label:  # an addend is gone: the sum says so
            total_row.text = "with what is left out here, " + total_row.text
        if gone.label and worst < len(rows) and not rows[worst].label:
            rows[worst].label = gone.label  # the next line of the same row takes its label
    lines = _marked(lines, dropped, width)
    # Beyond the lines an answer may have: who trusts it must know that one chainer alone gave it.
    return lines + [[(line, "")] for line in textwrap.wrap(answer.chained, width)]


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


def show_plain(answer: Answer, width: int = 80) -> list[Line]:
    """For a homeowner: sentences, no numbers that need the trade."""
    return [
        [(line, "headline" if i == 0 and j == 0 else "")]
        for i, text in enumerate(answer.plain)
        for j, line in enumerate(textwrap.wrap(text, width))
    ]
