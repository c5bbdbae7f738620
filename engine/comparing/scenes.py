"""Scenes: the case that comes out otherwise because of an edit, and the nearest that does not, in
words that a council would know again, and as the examples that they become.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from ..basics.units import dimension, parse_quantity
from ..checking.examples import show
from ..checking.variations import flow
from ..language.words import a_noun
from ..law.edits import Edit
from .edit_examples import ASKS
from .grid import Grid
from .slices import EMPTY, ONE, Case, Slice, Way
from .witnesses import Found, Witness

IN_WHICH = (
    "°F",
    "in",
    "%",
)  # units in which a value may come out even where it does not in its own
MOST_NEAR = 40  # so many cases beside the one that turns are looked at
_SAID = {
    "passes": "allowed",
    "fails": "not allowed",
    "advice": "advised against",
    "does not apply": "nothing is asked of it",
    "exception applies": "allowed, by an exception",
    "cannot tell": "not told by what is known",
}


@dataclass
class Scene:
    """One question to the writer of an edit."""

    edit: Edit
    rule: str
    turned: dict[str, Any]  # the facts of a case that comes out otherwise, as an example has them
    was: str
    comes: str
    alone: dict[str, Any] | None  # the same of the nearest that comes out as before
    stays: str
    says: str
    is_example: bool  # a case on one rule, which an example can hold

    def examples(self) -> list[str]:
        """The scene as two examples, as they are pasted."""
        if not self.is_example:
            return []
        return [self._example(self.turned, self.comes), *self._near()]

    def _near(self) -> list[str]:
        return [] if self.alone is None else [self._example(self.alone, self.stays)]

    def _example(self, given: dict[str, Any], answer: str) -> str:
        lead = {} if self.rule == self.edit.target else {"rule": self.rule}
        return "- " + flow({**lead, "given": given, "answer": answer})


def scene_of(edit: Edit, found: Found) -> Scene | None:
    """The scene to ask about: of a tightening what fails now, of a relief what passes now."""
    witness = found.stricter or found.laxer
    if witness is None:
        return None
    grid = found.grids[found.slices.index(witness.of)]
    return _Scenery(edit, witness, grid).scene()


class _Scenery:
    """A witness made plain, and the nearest case beside it."""

    def __init__(self, edit: Edit, witness: Witness, grid: Grid) -> None:
        self.edit, self.of, self.grid, self.rule = edit, witness.of, grid, witness.rule
        self.turned = (witness.without[self.rule], witness.within[self.rule])
        self.case = self._plain(witness.case)

    def _answers(self, case: Case) -> tuple[str, str]:
        """What the requirement says of a case without the edit and with it."""
        of = self.of
        within, without = (of.answers(law, case).get(self.rule, "cannot tell") for law in of.laws)
        return without, within

    def _plain(self, case: Case) -> Case:
        """The case without what it can do without."""
        for way in sorted(case, key=len, reverse=True):
            less = {other: value for other, value in case.items() if other != way}
            if self._answers(less) == self.turned:
                case = less
        return case

    def scene(self) -> Scene:
        near = self._nearest()
        without, within = self.turned
        day = self.edit.first_day
        about = a_noun(self.of.about)
        says = (
            f"{about[0].upper()}{about[1:]}{_with(self.of, self.case)}: {_SAID.get(within, within)}"
            f"{f' from {day}' if day else ''}; before: {_SAID.get(without, without)}."
        )
        alone, stays = None, ""
        if near is not None:
            way, value = near
            alone = {**self.case, way: value}
            was, stays = self._answers(alone)
            told = f"{_said(way)} {_value(self.of, way, value)}"
            before = ", as before" if was == stays == within else ""
            says += f" The same with {told}: {_SAID.get(stays, stays)}{before}."
        return Scene(
            self.edit,
            self.rule,
            _given(self.of, self.case),
            without,
            within,
            None if alone is None else _given(self.of, alone),
            stays,
            says,
            not self.of.reckoned,
        )

    def _nearest(self) -> tuple[Way, Any] | None:
        """The nearest case that the edit leaves alone: one that comes out otherwise than the case
        that it turns, if there is one, since the border between the two is what was voted.
        """
        even = (near for near in self._near() if _exactly(near[1], self.of.leaves[near[0]].unit)[1])
        among = list(itertools.islice(even, MOST_NEAR))
        within = self.turned[1]
        other = (
            near for near in among if self._answers({**self.case, near[0]: near[1]})[1] != within
        )
        return next(other, among[0] if among else None)

    def _near(self) -> Iterator[tuple[Way, Any]]:
        """The changes of one fact after which the edit makes no difference, the smallest first."""
        changes = [
            change
            for spot in self.grid.moving
            for law in self.of.laws
            for change in self.grid.near(self.case, law, spot)
        ]
        changes += [(way, value) for way, values in self.grid.values.items() for value in values]
        changes = [change for change in dict.fromkeys(changes) if change[0] in self.case]
        for way, value in sorted(changes, key=self._how_far):
            without, within = self._answers({**self.case, way: value})
            asks = {ASKS.get(without), ASKS.get(within)}
            if len(asks) == 1 and asks != {ASKS["cannot tell"]}:
                yield way, value

    def _how_far(self, change: tuple[Way, Any]) -> tuple[int, float]:
        way, value = change
        now = self.case[way]
        sort = {"q": 0, "row": 1, "flag": 2, "choice": 3}.get(self.of.leaves[way].type[0], 4)
        return sort, abs(float(value) - float(now)) if sort == 0 else 0.0


def _said(way: Way) -> str:
    return " of ".join(name for _, name in reversed(way))


def _value(of: Slice, way: Way, value: Any) -> str:
    if value is True or value is False:
        return "yes" if value else "no"
    return _exactly(value, of.leaves[way].unit)[0]


def _exactly(value: Any, unit: str | None) -> tuple[str, bool]:
    """A value as an example has it, in a unit in which it comes out even; whether there is one."""
    if unit is None or not isinstance(value, (Decimal, Fraction)):
        return show(value, unit), True
    for other in (unit, *(u for u in IN_WHICH if dimension(u) == dimension(unit))):
        text = show(value, other)
        if parse_quantity(text, other, bare=True)[0] == value:
            return text, True
    return show(value, unit), False


def _with(of: Slice, case: Case) -> str:
    told = [f"{_said(way)} {_value(of, way, value)}" for way, value in case.items()]
    return f" with {', '.join(told)}" if told else ""


def _given(of: Slice, case: Case) -> dict[str, Any]:
    """A case as an example has it: facts by their paths, and the one member of each list."""
    out: dict[str, Any] = {}
    for way, value in sorted(case.items(), key=lambda told: len(told[0])):
        links = [
            i + 1
            for i, (kind, name) in enumerate(way[:-1])
            if of.words.kinds[kind].words[name].type[0] == "many"
        ]
        here, start = out, 0
        for link in links:
            here = here.setdefault(_said(way[start:link]), [{}])[0]
            start = link
        is_list = of.leaves[way].type[0] == "many"
        if is_list and value == ONE:
            here.setdefault(_said(way[start:]), [{}])
        elif is_list and value == EMPTY:
            here[_said(way[start:])] = "none"
        elif value != ONE:
            here[_said(way[start:])] = _value(of, way, value)
    return out


__all__ = ["Scene", "scene_of"]
