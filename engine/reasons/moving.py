"""How far a quantity may move before an outcome turns: `any current over 44 A`.

The bound is bisected, snapped to the simplest number near it, and run at that number and close to
it on both sides. Where a run over everything beyond the bound at once, as a range, has the same
outcome, it holds for any amount there; otherwise nothing is said.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any, NamedTuple

from ..basics.units import Number, Range, in_unit, to_base
from ..language.words import Word
from ..proving.wording import plain
from ..running.rerun import Rerun
from .elements import TOLD, Element
from .minimal import Outcome, Reason, Reasons

HALVINGS = 16
FARTHEST = 16  # times the amount told: no farther is looked where nothing is said to be usual
CLOSE = Fraction(1, 1000)  # a digit less than any that is shown


class Bound(NamedTuple):
    """From where on an outcome is the same, beyond a number or with it."""

    element: Element
    value: Number
    over: bool  # the same over it, or under it
    itself: bool  # the same at the number, too


def bounds_of(rerun: Rerun, reason: Reason, element: Element) -> list[Bound]:
    """How far a told quantity may go down and up with the same outcome; a side on which nothing
    turns it, as far as is usual, has no bound.
    """
    mover = _Mover(rerun, reason, element)
    if not mover.moves:
        return []
    return [bound for bound in (mover.towards(False), mover.towards(True)) if bound is not None]


class _Mover:
    """Tells one quantity otherwise, and sees whether an outcome is the same."""

    def __init__(self, rerun: Rerun, reason: Reason, element: Element) -> None:
        self.reasons, self.rerun = Reasons(rerun), rerun
        self.outcome: Outcome = reason.outcome
        self.answer, self.element = reason.answer, element
        thing = rerun.world.things[element.thing]
        self.word: Word = rerun.world.k.words.kinds[thing[0].kind].words[element.fact]
        self.value: Any = thing[self.word.slot]
        self.moves = (
            element.sort == TOLD
            and self.word.type[0] == "q"
            and self.word.unit != "date"
            and plain(self.value)
        )

    def holds(self, value: Number | Range) -> bool:
        """Whether the outcome is the same with another amount told."""
        told = (self.element.thing, self.element.fact, value)
        with self.rerun.told([*self.rerun.telling, told]):
            return bool(self.reasons.now(self.outcome) == self.answer)

    def towards(self, up: bool) -> Bound | None:
        """The bound above or below what was told."""
        here = in_unit(self.value, self.word.unit)
        end = self._end(here, up)
        if end == here or self._holds_at(end):
            return None
        same, other = here, end
        for _ in range(HALVINGS):
            middle = (same + other) / 2
            same, other = (middle, other) if self._holds_at(middle) else (same, middle)
        low, high = sorted((same, other))
        number = self._equal(low, high)
        if number is None:
            number = simplest(low, high)
        itself = self._holds_at(number)
        step = CLOSE if up else -CLOSE
        inside = number if itself else number - step
        outside = number + step if itself else number
        if not self._holds_at(inside) or self._holds_at(outside):
            return None
        least, most = sorted((self._base(here), self._base(inside)))
        if not self.holds(Range(least, most)):
            return None
        return Bound(self.element, self._base(number), not up, itself)

    def _equal(self, low: Fraction, high: Fraction) -> Fraction | None:
        """What the other side of the comparison is worth, where that lies between two numbers."""
        thing = self.reasons.thing(self.outcome)
        rule = self.rerun.world.k.rules.get(self.outcome.rule)
        if thing is None or rule is None or rule.comparison is None:
            return None
        for side in (rule.comparison.a, rule.comparison.b):
            value = side.ev(thing, None)
            if side.t[:2] == self.word.type[:2] and plain(value):
                number = in_unit(value, self.word.unit)
                if low <= number <= high:
                    return number
        return None

    def _end(self, here: Fraction, up: bool) -> Fraction:
        """As far as is usual, or many times what was told."""
        usual = self.word.usual
        if usual is not None and usual.least < usual.most:
            end = in_unit(usual.most if up else usual.least, self.word.unit)
            return max(end, here) if up else min(end, here)
        return here * FARTHEST if up else Fraction(0)

    def _holds_at(self, amount: Fraction) -> bool:
        return self.holds(self._base(amount))

    def _base(self, amount: Fraction) -> Number:
        return to_base(amount, str(self.word.unit))


def simplest(low: Fraction, high: Fraction) -> Fraction:
    """The number of fewest digits from one to another.

    >>> simplest(Fraction("43.9991"), Fraction("44.0003")), simplest(Fraction(1, 8), Fraction(1, 6))
    (Fraction(44, 1), Fraction(13, 100))
    """
    tens = Fraction(1000)
    while True:
        least = -(-low // tens) * tens
        if least <= high:
            return least
        tens /= 10


def said_of(bound: Bound, show: Callable[[Number], str]) -> str:
    """A bound in words: `over 44 A`, `at 44 A or more`."""
    if bound.itself:
        return f"at {show(bound.value)} or {'more' if bound.over else 'less'}"
    return f"{'over' if bound.over else 'under'} {show(bound.value)}"


__all__ = ["Bound", "bounds_of", "said_of", "simplest"]
