"""A short answer as at most twelve lines."""

from __future__ import annotations

import textwrap

from ..engine.answering.answers import Answer
from .layout import Line, row

MOST = 12


def show_answer(answer: Answer, width: int = 80, most: int = MOST) -> list[Line]:
    """The answer first, then its rows; what matters least is left out when there are too many
    lines.
    """
    head = [
        [(line, "headline")]
        for line in textwrap.wrap(
            f"{answer.word} {answer.sentence}".strip(), width, break_on_hyphens=False
        )[:2]
    ]
    rows = [r for r in answer.rows if r.text]
    allowed = 4
    while True:
        blocks = [row(r.label, r.text, r.source, width, max(allowed, r.lines)) for r in rows]
        total = len(head) + sum(map(len, blocks))
        if total <= most or not rows:
            break
        worst = max(range(len(rows)), key=lambda i: (rows[i].rank, i))
        if allowed >= 3 or (rows[worst].rank <= 2 and allowed > 1):
            allowed -= 1
            continue
        dropped = rows.pop(worst)
        if dropped.label and worst < len(rows) and not rows[worst].label:
            rows[worst].label = dropped.label  # the next line of the same row takes its label
    # Beyond the lines an answer may have: who trusts it must know that one chainer alone gave it.
    alone = [[(line, "")] for line in textwrap.wrap(answer.chained, width)]
    return head + [line for b in blocks for line in b] + alone


def show_plain(answer: Answer, width: int = 80) -> list[Line]:
    """For a homeowner: sentences, no numbers that need the trade."""
    return [
        [(line, "headline" if i == 0 and j == 0 else "")]
        for i, text in enumerate(answer.plain)
        for j, line in enumerate(textwrap.wrap(text, width))
    ]
