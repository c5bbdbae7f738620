"""Why a size is what it is: what the next smaller row of the table fails."""

from __future__ import annotations

from ..language.rules import Rule
from ..language.things import Thing
from ..running.chain import FAILS
from .minimal import Outcome, Reason, Reasons

MOST_TESTS = 4  # of several that the row fails the one with the smallest reason is shown


def row_below(reasons: Reasons, pick: Rule, thing: Thing) -> Thing | None:
    """The row before the one that a pick took for a thing; None where it took none or the first."""
    world = reasons.world
    first, waiting = world.picked.get((pick.id, thing[0].id), (None, []))
    rows = world.rows_of.get((pick.id, thing[0].id), [])
    if first is None or waiting:
        return None
    place = next(place for place, row in enumerate(rows) if row is first)
    return rows[place - 1] if place else None


def reason_of_size(reasons: Reasons, pick: Rule, thing: Thing) -> Reason | None:
    """The smallest of the reasons for which the next smaller row fails."""
    row = row_below(reasons, pick, thing)
    if row is None:
        return None
    tests = reasons.world.k.order.tests[pick.id]
    failing = [test.id for test in tests if reasons.world.answer(test, row) == FAILS]
    found = [reasons.of(Outcome(row[0].id, test, pick=pick.id)) for test in failing[:MOST_TESTS]]
    return min(filter(None, found), key=lambda reason: len(reason.elements), default=None)


__all__ = ["reason_of_size", "row_below"]
