"""The order of work for a terminal: the tasks one after another, each with what it waits for, or
for a helper with why it comes where it does.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from ..engine.front import Opened, Task, WorkOrder, cautions_at, in_short
from .layout import Line, wrap
from .show_parts import AID, feet, head

NO_SOURCE = (
    "Minutes are those of one licensed person and one helper together; all of them are common"
    " practice, without a source. Write your own shop's over them (--shop)."
)
INDENT = 6
MOST_REASONS = 4  # for one arrow


def show_order(job: Opened, order: WorkOrder, width: int = 80, reasons: bool = False) -> list[Line]:
    """The tasks in order; with *reasons* a sentence for each arrow."""
    out = head(job, width)
    out += [[], [("ORDER OF WORK", "label")], *task_rows(job, order, width, reasons)]
    out += [[], [_sum(order)]]
    out += gaps(order, width)
    out += [[(line, "source")] for line in wrap(NO_SOURCE, width)]
    out.append([(AID, "source")])
    return out


def task_rows(job: Opened, order: WorkOrder, width: int, reasons: bool) -> list[Line]:
    """A row a task: its number, what is done and where, who does it, how long; then what to take
    care of there.
    """
    out: list[Line] = []
    cared: set[str] = set()
    stage = None
    for task in order.tasks:
        if task.stage != stage:
            stage = task.stage
            out.append([(f"  {stage}", "label")])
        out += _task(task, width)
        out += _why(task, width, reasons)
        for caution in cautions_at(job, task):
            if caution not in cared:
                cared.add(caution)
                out += _indented(f"CAREFUL {caution}", width, "caution")
    return out


def _task(task: Task, width: int) -> list[Line]:
    """One task: `12. HOLD rough inspection …… inspector`."""
    hold = "HOLD: " if task.hold else ""
    perhaps = " (perhaps)" if task.perhaps else ""
    right = f"{_minutes(task)}{task.by}"
    lead = f" {task.number:>3}. "
    text = f"{hold}{task.in_words}{perhaps}"
    lines = wrap(text, width - INDENT - len(right) - 2)
    style = "head" if task.hold else ""
    gap = max(width - len(lead) - len(lines[0]) - len(right), 2)
    out: list[Line] = [[(lead, "label"), (lines[0], style), (" " * gap + right, "source")]]
    return out + [[(" " * INDENT + line, style)] for line in lines[1:]]


def _minutes(task: Task) -> str:
    if task.outside:
        return ""
    if task.minutes is None:
        return "? min, "
    more = " or more" if task.least else ""
    return f"{feet(task.minutes)} min{more}, "


def _why(task: Task, width: int, reasons: bool, most: int = 1) -> list[Line]:
    """What a task comes after; with *reasons* why, in sentences."""
    if not task.after:
        return []
    if not reasons:
        said = "; ".join(
            f"{before.number} ({each[0].state}{', habit' if each[0].habit else ''})"
            for before, each in task.after
        )
        return _indented(f"after {said}", width, "source")
    out: list[Line] = []
    for before, each in task.after:
        why = in_short(each[:most], before.number)
        out += _indented(f"Why after {before.number}? {why}", width, "source")
    return out


def _indented(text: str, width: int, style: str) -> list[Line]:
    return [[(" " * INDENT + line, style)] for line in wrap(text, width - INDENT)]


def _sum(order: WorkOrder) -> tuple[str, str]:
    hours = order.minutes / 60
    more = " at least" if order.least else ""
    visits = f"{order.visits} visit{'s' if order.visits > 1 else ''}"
    clock = f"{feet(order.minutes)} min = {feet(Fraction(hours))} h"
    return f"Together{more} {clock} of the crew, in {visits}.", ""


def gaps(order: WorkOrder, width: int) -> list[Line]:
    """What a task needs and nothing makes, and what decides about tasks that are perhaps."""
    out: list[Line] = []
    for gap in order.gaps:
        out += [[(line, "fault")] for line in wrap(f"GAP  {gap}.", width)]
    asks: dict[str, dict[str, None]] = {}
    for task in order.tasks:
        if task.perhaps and task.waits:
            asks.setdefault(task.waits[0].ask, {})[task.waits[0].of] = None
    for ask, whose in asks.items():
        text = f"PERHAPS hangs on: {ask} ({', '.join(whose)})"
        out += [[(line, "caution")] for line in wrap(text, width)]
    return out


def show_why_order(job: Opened, tasks: list[Task], width: int = 80) -> list[Line]:
    """Why some tasks come where they do."""
    out: list[Line] = []
    for task in tasks:
        out += [*([[]] if out else []), *_task(task, width)]
        out += _indented(task.reason + (f" [{task.source}]" if task.source else ""), width, "")
        out += _why(task, width, True, MOST_REASONS)
        if not task.after:
            out += _indented("It waits for nothing.", width, "")
        for caution in cautions_at(job, task):
            out += _indented(f"CAREFUL {caution}", width, "caution")
    return out


def order_as_dict(job: Opened, order: WorkOrder) -> dict[str, Any]:
    """The order for a program."""
    return {
        "job": job.title,
        "headline": job.note.headline,
        "mended": bool(job.mends),
        "as built": job.headline,
        "tasks": [
            {
                "number": task.number,
                "rule": task.rule,
                "of": task.of,
                "says": task.says,
                "by": task.by,
                "hold": task.hold,
                "stage": task.stage,
                "minutes": None if task.minutes is None else str(task.minutes),
                "at least": task.least,
                "perhaps": task.perhaps,
                "source": task.source,
                "after": [
                    {
                        "number": before.number,
                        "reasons": [
                            {"state": reason.state, "why": reason.why, "says": reason.said}
                            for reason in each
                        ],
                    }
                    for before, each in task.after
                ],
            }
            for task in order.tasks
        ],
        "gaps": order.gaps,
        "visits": order.visits,
        "minutes": str(order.minutes),
        "at least": order.least,
    }
