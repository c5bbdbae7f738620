"""Thresholds: the pieces of a line that have a limit which a value may lie under, at or over.

A **threshold** is a comparison of numbers or of sizes, a value that is stepped in a table or
rounded, and a key that goes between the rows of a table. Each is a class here: how it is called,
which sides it has, where a value lies among its limits, and what is just beside one.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import Any, TypeAlias, cast

from ..basics.sentinels import NONE, NOTHING
from ..basics.units import POINT, Range, ends
from ..language import expressions as ex
from ..language.things import Thing

NEAR = Fraction(1, 10)  # how far apart the two sides of "just" may lie, as a share of the larger
UNDER, AT, OVER = "under", "at", "over"

# the value or the two ends of it, and the limits it is measured against
Measured: TypeAlias = tuple[tuple[Any, ...], Sequence[Any]]


def plain(value: Any) -> bool:
    """Whether a value is one plain number."""
    return (
        value is not None
        and value is not NOTHING
        and value is not NONE
        and not isinstance(value, (Range, str, list))
    )


class Threshold:
    """A piece of a line with its limits."""

    in_order = False  # whether sizes are compared, by their order in a table

    def __init__(self, piece: Any) -> None:
        self.piece = piece

    @property
    def called(self) -> str:
        """How it is called where it stands inside a line."""
        return "comparison"

    @property
    def sides(self) -> tuple[str, ...]:
        """The sides of a limit that there are."""
        return UNDER, AT, OVER

    def measured(self, thing: Thing, member: Any) -> Measured | None:
        """(the value or the two ends of it, the limits it is measured against, in order); None
        where it is not known so far.

        Raises:
            NotImplementedError: a threshold that measures nothing is none.
        """
        raise NotImplementedError(type(self).__name__)

    def is_near(self, thing: Thing, member: Any) -> bool:
        """Whether the two sides lie near enough for "just". A step in a table, and what is rounded,
        have none between.
        """
        return True

    def place(self, thing: Thing, member: Any) -> int | None:
        """Where a value lies among the limits: odd on one, even between two; None where it is on no
        side of them.
        """
        got = self.measured(thing, member)
        if got is None or not got[1]:
            return None
        values, limits = got
        # whole steps, perhaps more of them than could be counted through
        if isinstance(limits, range):
            value = Fraction(values[0])
            at = [
                2 * max(0, -(-value.numerator // value.denominator))
                + (value.denominator == 1 and value >= 0)
            ]
        else:
            at = [2 * bisect_left(limits, value) + (value in limits) for value in values]
        return next((i for i in at if i % 2), at[0] if at[0] == at[-1] else None)


class OfNumbers(Threshold):
    """Two numbers compared."""

    piece: ex.Cmp

    @property
    def sides(self) -> tuple[str, ...]:
        # nothing is less than none
        if _is_zero(self.piece.b) and _never_negative(self.piece.a):
            return AT, OVER
        if _is_zero(self.piece.a) and _never_negative(self.piece.b):
            return UNDER, AT
        return UNDER, AT, OVER

    def measured(self, thing: Thing, member: Any) -> Measured | None:
        (low, high), (other_low, other_high) = map(ends, self.piece.sides(thing, member))
        if low is None or high is None or other_low is None or other_high is None:
            return None
        least, most = Fraction(low) - Fraction(other_high), Fraction(high) - Fraction(other_low)
        return (least, most), [0]

    def is_near(self, thing: Thing, member: Any) -> bool:
        """A tenth of the larger, or one of a count."""
        least = _apart(self.measured(thing, member))
        # every end is known where it has a place among the limits
        most = max(
            abs(Fraction(q))
            for value in self.piece.sides(thing, member)
            for q in ends(value)
            if q is not None
        )
        is_one = self.piece.a.t[2] == "count" and least <= 1
        return bool(least == most or least <= NEAR * most or is_one)


class OfSizes(Threshold):
    """Two sizes compared: how many rows of their table they lie apart."""

    piece: ex.Cmp | ex.Gauge
    in_order = True

    def apart(self, thing: Thing, member: Any) -> tuple[Any, Any]:
        """The two sizes, as numbers of rows."""
        return cast(ex.Cmp, self.piece).sides(thing, member)

    def measured(self, thing: Thing, member: Any) -> Measured | None:
        a, b = self.apart(thing, member)
        return ((a - b,), [0]) if plain(a) and plain(b) else None

    def is_near(self, thing: Thing, member: Any) -> bool:
        """One row of the table."""
        return bool(_apart(self.measured(thing, member)) == 1)


class OfAGauge(OfSizes):
    """A size and those smaller, or larger, than it: `8 AWG or smaller`."""

    piece: ex.Gauge

    @property
    def sides(self) -> tuple[str, ...]:
        # no size lies beyond the last of its table
        here = self.piece.order[self.piece.size]
        there = {UNDER: here > 0, AT: True, OVER: here < len(self.piece.order) - 1}
        return tuple(side for side, is_there in there.items() if is_there)

    def apart(self, thing: Thing, member: Any) -> tuple[Any, Any]:
        order = self.piece.order
        return order.get(self.piece.a.ev(thing, member)), order[self.piece.size]


class OfAStep(Threshold):
    """A value taken to a row of a table."""

    piece: ex.Step

    @property
    def called(self) -> str:
        return f"stepped {'up' if self.piece.up else 'down'} in {self.piece.table.id}"

    def measured(self, thing: Thing, member: Any) -> Measured | None:
        value = self.piece.a.ev(thing, member)
        return ((value,), self.piece.points) if plain(value) else None


class OfRounding(Threshold):
    """A value in the steps to which it is rounded."""

    piece: ex.Round

    @property
    def called(self) -> str:
        return f"rounded {self.piece.how}"

    def measured(self, thing: Thing, member: Any) -> Measured | None:
        value = self.piece.a.ev(thing, member)
        if not plain(value):
            return None
        steps = Fraction(value) / Fraction(self.piece.step.value)
        steps += Fraction(1, 2) if self.piece.how == "half up" else 0
        return (steps,), range(int(steps) + 2)


class OfALookUp(Threshold):
    """The key of a look-up that goes between the rows."""

    piece: ex.Look

    @property
    def key(self) -> str | None:
        """That key; None where every key is looked up as it is."""
        keys = self.piece.table.keys
        return next((key for key, _ in self.piece.keys if keys[key][0] != "exact"), None)

    @property
    def called(self) -> str:
        return f"{self.piece.column} from {self.piece.table.id} by {self.key}"

    def measured(self, thing: Thing, member: Any) -> Measured | None:
        keys, key = self.piece.known_keys(thing, member) or {}, str(self.key)
        value = keys.pop(key, None)
        limits = sorted({row[key] for row in self.piece.table.find(keys) if row})
        return ((value,), limits) if plain(value) else None


def _compared(piece: ex.Cmp) -> Threshold:
    return OfNumbers(piece) if piece.order is None else OfSizes(piece)


def _looked_up(piece: ex.Look) -> Threshold | None:
    look_up = OfALookUp(piece)
    return None if look_up.key is None else look_up


# by class: what is no key here has no limit, and a new kind of piece says so by not being one
_OF: dict[type, Callable[[Any], Threshold | None]] = {
    ex.Cmp: _compared,
    ex.Gauge: OfAGauge,
    ex.Step: OfAStep,
    ex.Round: OfRounding,
    ex.Look: _looked_up,
}


def threshold_of(piece: ex.Expr) -> Threshold | None:
    """The threshold that *piece* is; None where no value has a side of it."""
    made = _OF.get(type(piece))
    return made(piece) if made is not None else None


def _apart(found: Measured | None) -> Any:
    """How far a value lies from its limit; only what has a place among the limits is asked."""
    assert found is not None
    return min(map(abs, found[0]))


def _is_zero(piece: ex.Expr) -> bool:
    return isinstance(piece, (ex.Num, ex.Dated)) and piece.value == 0


def _never_negative(piece: ex.Expr) -> bool:
    return isinstance(piece, (ex.Path, ex.Over, ex.Look)) and piece.t[1] != POINT
