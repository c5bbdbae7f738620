"""Many inspections as a table: a row a job, in their order, and how many there are of each kind."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from .batch import COUNTED, WORST_FIRST, Outcome
from .layout import Line, row
from .wall import DEFECT

WORD = {DEFECT: "DEFECT", 2: "FAULTY", 1: "FAILS", 3: "NOT YET", 0: "PASSES"}
STYLE = {DEFECT: "fault", 2: "fault", 1: "fails", 3: "cannot tell", 0: "passes"}
NAMED = 3  # of what fails; the rest is counted


def show_outcome(o: Outcome, width: int = 80) -> list[Line]:
    """One job: its answer, its name, how many findings there are of each kind, and what fails first
    or is wrong.
    """
    counts = ", ".join(f"{n} {answer}" for answer, n in o.counts.items() if n)
    # A line has no name that says anything: its job's title does.
    name = f"{o.name}, {o.title}" if o.title and o.name.startswith("line ") else o.name
    out = row(WORD[o.code], name + (f": {counts}" if counts else ""), "", width, 1 << 20)
    for line in out[:1]:
        line[0] = (line[0][0], STYLE[o.code])
    said = [f"{rule} ({thing})" for rule, thing in o.failing[:NAMED]]
    if len(o.failing) > NAMED:
        said.append(f"and {len(o.failing) - NAMED} more")
    for f in o.faults[:NAMED]:
        said.append(f"{f['file']}:{f['line']}:{f['column']}: {f['what']}")
        said += [f"  {f['todo']}"] if f["todo"] else []
    if len(o.faults) > NAMED:
        said.append(f"and {len(o.faults) - NAMED} more faults")
    for text in said:
        wrapped = textwrap.wrap(
            text, max(width - 9, 20), break_on_hyphens=False, subsequent_indent="  "
        )
        out += [[(" " * 9 + line, "")] for line in wrapped]
    return out


def show_sum(codes: Iterable[int], chainer: str, width: int = 80) -> list[Line]:
    """How many jobs there were, and how many of each kind."""
    each: dict[int, int] = {}
    for code in codes:
        each[code] = each.get(code, 0) + 1
    total = sum(each.values())
    said = ", ".join(f"{each[c]} {COUNTED[c]}" for c in WORST_FIRST if c in each)
    text = f"{total} {'job' if total == 1 else 'jobs'}: {said}. Chained by {chainer}."
    return [[], *([(line, "headline")] for line in textwrap.wrap(text, width))]
