"""Why something cannot be told: the fewest unknown facts whose answers settle it.

Each set of facts is tried with every joint answer. A flag or a choice has its answers; a row of a
table some of its rows; a quantity only some points, so that of a quantity it is *may settle*.
"""

from __future__ import annotations

import itertools
import math
from fractions import Fraction
from typing import Any, NamedTuple

from ..basics.sentinels import NONE
from ..basics.units import exact
from ..language.tables import Table
from ..language.words import Word
from ..running.chain import TELL, World
from ..running.rerun import Rerun
from .minimal import Outcome, Reasons

MOST_FACTS, MOST_CANDIDATES = 3, 6
MOST_ANSWERS = 200  # joint answers of one set that are tried
ROWS, POINTS = 10, 8  # how many rows of a table and points of a quantity are tried


class Settling(NamedTuple):
    """Facts whose answers settle an outcome: for each joint answer what the outcome is then."""

    facts: tuple[tuple[str, str], ...]  # (thing id, fact)
    answers: dict[tuple[Any, ...], str]
    proven: bool  # whether all answers there are were tried

    @property
    def always(self) -> bool:
        """Whether every answer settles it."""
        return self.proven and TELL not in self.answers.values()


def fewest_that_settle(
    rerun: Rerun, outcome: Outcome, candidates: list[tuple[str, str]]
) -> Settling | None:
    """The fewest of the *candidates*, the first of them preferred, whose answers settle an outcome:
    with each answer, or else with some. None where no three of them do.
    """
    reasons, some = Reasons(rerun), None
    candidates = candidates[:MOST_CANDIDATES]
    for count in range(1, min(MOST_FACTS, len(candidates)) + 1):
        for facts in itertools.combinations(candidates, count):
            tried = _tried(reasons, outcome, facts)
            if tried is None:
                continue
            if tried.always:
                return tried
            told = [answer for answer in tried.answers.values() if answer != TELL]
            if some is None and told:
                some = tried
        if some is not None:
            return some
    return None


def _tried(
    reasons: Reasons, outcome: Outcome, facts: tuple[tuple[str, str], ...]
) -> Settling | None:
    """What becomes of an outcome with each joint answer; None where there are none to try."""
    world = reasons.world
    answers = [answers_of(world, *fact) for fact in facts]
    if not all(values for values, _ in answers):
        return None
    if math.prod(len(values) for values, _ in answers) > MOST_ANSWERS:
        return None
    found: dict[tuple[Any, ...], str] = {}
    above = reasons.rerun.telling
    for values in itertools.product(*(values for values, _ in answers)):
        told = [(*fact, value) for fact, value in zip(facts, values)]
        with reasons.rerun.told([*above, *told]):
            found[values] = reasons.now(outcome)
    return Settling(facts, found, all(whole for _, whole in answers))


def answers_of(world: World, thing: str, fact: str) -> tuple[tuple[Any, ...], bool]:
    """Answers that a fact may have, and whether they are all there are."""
    word: Word = world.k.words.kinds[world.things[thing][0].kind].words[fact]
    if word.type[0] == "flag":
        return (True, False), True
    if word.type[0] == "choice":
        return tuple(word.type[1]), True
    if word.type[0] == "row":
        return _some(_rows(world.k.tables[word.type[1]]), ROWS), False
    if word.type[0] == "q" and word.usual is not None and word.usual.least < word.usual.most:
        return _points(word), False
    if word.type[0] == "ref" and word.part == "optional":
        return (NONE,), False
    return (), False


def _rows(table: Table) -> list[Any]:
    """The rows of a table by the key that names them, in their order."""
    key = "size" if "size" in table.keys else next(iter(table.keys))
    return list(dict.fromkeys(row[key] for row in table.rows))


def _some(values: list[Any], most: int) -> tuple[Any, ...]:
    """So many of *values*, from the first to the last."""
    if len(values) <= most:
        return tuple(values)
    return tuple(values[place * (len(values) - 1) // (most - 1)] for place in range(most))


def _points(word: Word) -> tuple[Any, ...]:
    """Points over all that is usual of a quantity, closer to each other where it is small."""
    assert word.usual is not None
    least, most = word.usual.least, word.usual.most
    low, span = Fraction(least), Fraction(most) - Fraction(least)
    steps = [Fraction(place, POINTS - 1) ** 2 for place in range(POINTS)]
    return tuple(exact(low + span * step) for step in steps)


__all__ = ["Settling", "answers_of", "fewest_that_settle"]
