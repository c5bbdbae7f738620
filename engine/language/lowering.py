"""The verbs of the work, put as facts: a rule that *takes* a part or is *work* becomes one that
gives how many, how long or how many minutes, so that whatever runs, proves and edits rules serves
for them as well.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

from ..basics.errors import Collector, Fault
from ..basics.reading import Mapping, place_of
from .forms import DOERS
from .words import as_list

TAKES, WORK, HOLD = "takes", "work", "hold"
# what a task has to do with states of the job: each a list of their names
NEEDS, FOLLOWS, HABIT = "needs", "follows", "by habit after"
MAKES, SEES, HIDES, UNDOES = "makes", "sees", "hides", "undoes"
STATES = (NEEDS, FOLLOWS, HABIT, MAKES, SEES, HIDES, UNDOES)
OUTSIDE = ("others", "inspector", "utility")  # whose minutes are not the crew's
PLAIN = ("by", "stage", "moment", "asks")  # lines that a task or a part may have beside
COMES_WITH = "comes with"  # other parts that a part brings, and that nobody buys beside it


class Amount(NamedTuple):
    """One formula of a take or a task: the fact it fills, and what that is measured in."""

    fact: str  # with {} for the name of the part, or of the task
    unit: str


AMOUNTS = {
    "count": Amount("{} taken", "count"),  # what is counted
    "feet": Amount("{} taken", "ft"),  # what is joined from lengths as sold
    "pieces": Amount("{} pieces", "count"),  # what is cut, each piece whole
    "each": Amount("{} each", "ft"),
    "part": Amount("{} as sold", "text"),  # how it is called at the counter
    "minutes": Amount("{} minutes", "min"),  # of a task, by the name of its rule
}
WORK_KEYS = (TAKES, WORK, HOLD, *STATES, *PLAIN, COMES_WITH, *AMOUNTS)
HOW_MANY = ({"count"}, {"feet"}, {"pieces", "each"})


def fact_of(name: str, key: str) -> str:
    """The fact that a formula of a part or a task fills.

    >>> fact_of("cable staple", "count")
    'cable staple taken'
    """
    return AMOUNTS[key].fact.format(name)


def lowered(items: Iterable[Any], faults: Collector) -> tuple[list[Any], Mapping]:
    """*items* (or edits that bring rules) with the verbs of the work put as facts, None where one
    is no part and no task; and the words for these facts, by kind.
    """
    out, words = [], Mapping()
    for d in items:
        if isinstance(d, Mapping) and not {TAKES, WORK, HOLD}.isdisjoint(d):
            one = None
            with faults.catching():
                one = _lowered(d, words)
            out.append(one)
        else:
            out.append(d)
    return out, words


def _lowered(d: Mapping, words: Mapping) -> Mapping:
    """One rule as facts. Raises Fault for what is no part and no task."""
    verbs = [verb for verb in (TAKES, WORK, HOLD) if verb in d]
    name = str(d[verbs[0]])
    who = str(d.get("rule") or d.get("add") or d.get("replace") or name)
    at = place_of(d)
    twice = [*verbs, *(["gives"] if "gives" in d else [])]
    if len(twice) > 1:
        said = " and ".join(twice)
        todo = "make two rules of it"
        raise Fault("work-verb", at, f"{who} does two things: {said}", todo)
    given = [key for key in AMOUNTS if key in d]
    named = name if verbs[0] == TAKES else who
    _see_amounts(d, verbs[0], given, who)
    _see_states(d, who)
    facts = Mapping()
    kind = words.setdefault(str(d.get("about", "")), Mapping())
    for key in given:
        fact = fact_of(named, key)
        facts[fact] = d[key]
        kind[fact] = Mapping({"is": AMOUNTS[key].unit})
    for other in as_list(d.get(COMES_WITH)):
        # a rule that takes it all the same is in dispute with this one
        fact = fact_of(str(other), "count")
        facts[fact] = "0"
        kind[fact] = Mapping({"is": "count"})
    out = Mapping((key, value) for key, value in d.items() if key not in AMOUNTS)
    out["gives"] = facts
    out.at, out.through = d.at, d.through
    return out


def _see_amounts(d: Mapping, verb: str, given: list[str], who: str) -> None:
    """See that a part says how much of it in one way, and a task how long."""
    many = {key for key in given if key not in ("part", "minutes")}
    if verb == TAKES:
        if many not in HOW_MANY or "minutes" in given:
            raise Fault(
                "work-amount",
                place_of(d),
                f"{who} does not say in one way how much it takes",
                "write count:, or feet: of what is joined, or pieces: and each: of what is cut",
            )
    elif given != ["minutes"]:
        raise Fault(
            "work-amount",
            place_of(d),
            f"{who} does not say how many minutes it takes, and nothing else",
            "write minutes: and a formula, 0 min where nobody of the crew waits",
        )


def _see_states(d: Mapping, who: str) -> None:
    """See that states are named in lists, and that somebody does the work."""
    for key in STATES:
        for state in as_list(d.get(key)):
            if not isinstance(state, str):
                raise Fault(
                    "work-states",
                    place_of(d[key], place_of(d)),
                    f'{who}: "{key}" names states, each a few words',
                    f"write {key}: [wire in, boxes set]",
                )
    if TAKES not in d and str(d.get("by")) not in DOERS:
        raise Fault(
            "work-doer",
            place_of(d.get("by"), place_of(d)),
            f"{who} does not say who does it",
            "write by: one of " + ", ".join(DOERS),
        )
