"""What a survey takes for granted until somebody says otherwise: rows of the table `habits`, laid
on the job that the answers describe. A place and a contractor's own pack amend them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from ..language.knowledge import Knowledge
from .places import CIRCUITS, OF_SEGMENTS, SEGMENTS, Facts, Named, put, value_at, values_at

TABLE, ANY, ALWAYS = "habits", "any", "always"


class Habit(NamedTuple):
    """What the trade takes for granted: a fact, where, and the value that is tried beside it."""

    fact: str
    where: str  # always; a stretch of the way; or what must be so: FACT is VALUE | VALUE
    value: str
    why: str
    other: str


class Assumed(NamedTuple):
    """What nobody said and is taken for granted."""

    path: str  # as the list of what is assumed names it: circuits.kiln.conductors/material
    fact: str  # as people call it
    value: str
    why: str
    habit: Habit

    def as_dict(self) -> dict[str, str]:
        """As plain data."""
        return {"path": self.path, "fact": self.fact, "value": self.value, "why": self.why}


def habits_of(knowledge: Knowledge, kind: str) -> Iterator[Habit]:
    """The habits of a kind of job: its own before those of any."""
    table = knowledge.tables.get(TABLE)
    rows = table.rows if table else []
    for of in (kind, ANY):
        for row in rows:
            if str(row["kind"]) == of:
                told = (str(row[key]) for key in ("fact", "where", "value", "why", "else"))
                yield Habit(*told)


def lay_on(
    body: Facts,
    stretches: Sequence[str],
    habits: Iterator[Habit],
    named: Named,
    there: Mapping[str, Any],
) -> list[Assumed]:
    """Fill in what nobody said; *stretches* are the names of those that the body lists, *there* is
    what the job's file says beside the answers. Returns what was filled in.
    """
    out: list[Assumed] = []
    for habit in habits:
        if habit.fact.startswith(OF_SEGMENTS):
            out += _on_stretches(body, stretches, habit, named)
        elif _is_so(body, habit, named) and _is_open(body, there, habit, named):
            put(body, named.keys(habit.fact), named.fill(habit.value))
            out.append(_assumed(habit, named.told_as(habit.fact)))
    return out


def _assumed(habit: Habit, path: str) -> Assumed:
    return Assumed(path, habit.fact.rpartition("/")[2], habit.value, habit.why, habit)


def _on_stretches(
    body: Facts, stretches: Sequence[str], habit: Habit, named: Named
) -> Iterator[Assumed]:
    fact = habit.fact.removeprefix(OF_SEGMENTS)
    circuit = (CIRCUITS, named.names["name"])
    listed = value_at(body, (*circuit, SEGMENTS)) or []
    for number, (stretch, segment) in enumerate(zip(stretches, listed), 1):
        if habit.where in (ALWAYS, stretch) and fact not in segment:
            segment[fact] = habit.value
            path = f"{'.'.join(circuit)}.{SEGMENTS}.{number}/{fact}"
            yield _assumed(habit, path)._replace(fact=f"{fact}, {stretch[:1].lower()}{stretch[1:]}")


def _is_so(body: Facts, habit: Habit, named: Named) -> bool:
    """Whether what a habit waits for is so."""
    if habit.where == ALWAYS:
        return True
    path, _, said = habit.where.rpartition(" is ")
    other = said.startswith("not ")
    choices = {one.strip() for one in said.removeprefix("not ").split("|")}
    values = [*values_at(body, named.keys(path))]
    return any((str(value) in choices) is not other for value in values)


def _is_open(body: Facts, there: Mapping[str, Any], habit: Habit, named: Named) -> bool:
    """Whether nobody said a fact, and there is the part that it is of."""
    keys = named.keys(habit.fact)
    for said in (body, there):
        if value_at(said, keys) is not None:
            return False
        if any(isinstance(value_at(said, keys[:end]), str) for end in range(1, len(keys))):
            return False  # the part is not there, as in `receptacle: none`, or told in a word
    return True


__all__ = ["Assumed", "Habit", "habits_of", "lay_on"]
