"""Pieces of a line about the things of a list: aggregates and quantifiers."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TypeAlias

from ...basics.sentinels import NONE, NOTHING
from ...basics.units import POINT, Number, add, between, both, either, ends, opposite
from ..things import Thing, Type, members
from .amounts import Path, if_all_known, of_the_known
from .conditions import Cond, is_unmet
from .piece import FLAG, Emits, Expr, Member, Show, Spot, Stands, Truth, Value, is_open

# does a member count (None: it may), and between which ends is what it adds
Bounds: TypeAlias = tuple[Truth, Number | None, Number | None]
ZERO = Decimal(0)


class Over(Expr):
    """total, smallest, largest or count over the things of a list.

    >>> volt_amperes = ("q", (("A", 1), ("V", 1)), "VA")
    >>> loads = Path(("many", "load"), (1,), ("loads",), ("panel",), False, "loads")
    >>> draws = Path(volt_amperes, (1,), ("power",), ("load",), True, "power")
    >>> panel = ["the panel", [["a kiln", Decimal(9600)], ["a wheel", Decimal(400)]]]
    >>> Over(volt_amperes, "total", draws, loads, None, None).ev(panel, None)
    Decimal('10000')
    """

    __slots__ = ("fn", "body", "list", "where", "default")

    def __init__(
        self,
        t: Type,
        fn: str,
        body: Expr | None,
        list_: Path,
        where: Expr | None,
        default: Expr | None,
    ) -> None:
        self.t, self.fn, self.body, self.list = t, fn, body, list_
        self.where, self.default = where, default

    def kids(self) -> tuple[Expr, ...]:
        return tuple(e for e in (self.list, self.body, self.where, self.default) if e is not None)

    def taken(self, thing: Thing, member: Member) -> tuple[list[tuple[Thing, Truth, Value]], bool]:
        """(member, does it count, what it adds) of every member that may count; and whether the
        list is open.
        """
        listed = self.list.ev(thing, member)
        if listed is NOTHING or listed is NONE:
            return [], False
        out: list[tuple[Thing, Truth, Value]] = []
        for one in members(listed):
            counts = self.where.ev(thing, one) if self.where else True
            if counts is False or counts is NOTHING:
                continue
            # without a body members are counted
            value = self.body.ev(thing, one) if self.body else Decimal(1)
            if value is not NOTHING:
                out.append((one, counts, value))
        return out, may_go_on(listed)

    def ev(self, thing: Thing, member: Member) -> Value:
        taken, open_ = self.taken(thing, member)
        return fold(
            self.fn,
            [(counts, value) for _, counts, value in taken],
            open_,
            self.default.ev(thing, member) if self.default else None,
            # what nobody listed is no less than nothing, but for a temperature
            None if self.t[1] == POINT else ZERO,
        )

    @property
    def things(self) -> Path:
        return self.list

    def placed(self) -> Iterator[tuple[Expr, Stands]]:
        yield self.list, Stands.HERE
        yield from ((part, Stands.EACH) for part in (self.body, self.where) if part is not None)
        if self.default is not None:
            yield self.default, Stands.HERE

    def rests_on(self, thing: Thing, member: Member) -> Iterator[Spot]:
        """The list, and of each member why it counts and what it adds."""
        yield self.list, thing, member
        for one in members(self.list.ev(thing, member)):
            if self.where is not None:
                yield self.where, thing, one
                if is_unmet(self.where.ev(thing, one)):
                    continue
            if self.body is not None:
                yield self.body, thing, one
        if self.default is not None:
            yield self.default, thing, member

    def looked_at(self, thing: Thing, member: Member) -> Iterator[Spot]:
        yield self.list, thing, member
        for one in members(self.list.ev(thing, member)):
            yield from ((part, thing, one) for part in (self.body, self.where) if part is not None)

    def needs(self, thing: Thing, member: Member) -> Iterator[Spot]:
        yield self.list, thing, member
        for one in members(self.list.ev(thing, member)):
            for part in (self.where, self.body):
                if part is not None and is_open(part.ev(thing, one)):
                    yield part, thing, one

    def beside_columns(self) -> Iterator[Expr]:
        # a list is taken whole: its members are its own
        yield self

    @property
    def operation(self) -> str:
        return self.fn

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        # what is taken is worked out for a count too: it may raise where numbers outgrow the limits
        taken, _ = self.taken(thing, member)
        if self.fn == "count":
            return f"how many {self.list.said}"
        glue = " + " if self.fn == "total" else ", "
        each = [
            f"{one[0].name} {show(value, self.unit)}{'' if counts is True else ' (if it counts)'}"
            for one, counts, value in taken
        ]
        return f"{self.fn} of {glue.join(each) or 'none'}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        inner = to.inner()
        body = self.body.emit(to, thing, inner) if self.body is not None else "1"
        where = f" if {self.where.emit(to, thing, inner)}" if self.where is not None else ""
        to.outer()
        each = f"[{body} for {inner} in {self.list.emit(to, thing, member)}{where}]"
        if self.fn == "count":
            return f"D(len({each}))"
        if self.fn == "total":
            return f"sum({each}, ZERO)"
        return f"{'min' if self.fn == 'smallest' else 'max'}({each})"


def may_go_on(listed: Value) -> bool:
    """May a list hold more than was written? One that is unknown may hold anything.

    >>> may_go_on(None), may_go_on([["a box"]])
    (True, False)
    """
    return not isinstance(listed, list) or getattr(listed, "open", False)


def fold(
    fn: str,
    taken: list[tuple[Truth, Value]],
    open_: bool,
    default: Value,
    least: Number | None = ZERO,
) -> Value:
    """The total, count, smallest or largest of (counts?, value) pairs, as far as it is known.

    What may not count adds at most itself, and at least nothing. *default* is what the smallest
    and the largest are where none counts; *least* is what a member that nobody listed is at least.

    >>> fold("total", [(True, Decimal(20)), (True, Decimal(15))], False, None)
    Decimal('35')
    >>> maybe = fold("total", [(True, Decimal(20)), (None, Decimal(15))], False, None)
    >>> maybe.lo, maybe.hi
    (Decimal('20'), Decimal('35'))
    >>> fold("largest", [], False, None)
    NOTHING
    >>> fold("largest", [], False, Decimal(0))
    Decimal('0')
    """
    bounds: list[Bounds] = [(counts, *ends(value)) for counts, value in taken]
    if fn in ("total", "count"):
        return _total(bounds, open_)
    if not bounds and not open_:
        return NOTHING if default is None else default
    certain = [each for each in bounds if each[0]]
    if not certain:
        if default is None:
            # perhaps none of them counts, and then there is no such value
            return None
        bounds.append((None, *ends(default)))
    if fn == "smallest":
        return _smallest(bounds, certain, open_)
    return _largest(bounds, certain, open_, least)


def _total(bounds: list[Bounds], open_: bool) -> Value:
    """The sum, from what is sure to be there to what may be."""
    low_sum: Value = ZERO
    high_sum: Value = None if open_ else ZERO
    for counts, low, high in bounds:
        if low_sum is not None:
            low_sum = None if low is None else add(low_sum, low if counts else min(low, ZERO))
        if high_sum is not None:
            high_sum = None if high is None else add(high_sum, high if counts else max(high, ZERO))
    if high_sum is None and any(low is not None and low < 0 for _, low, _ in bounds):
        # where one may be negative, so may what is not known
        low_sum = None
    return between(low_sum, high_sum)


def _smallest(bounds: list[Bounds], certain: list[Bounds], open_: bool) -> Value:
    """The smallest: no more than any that is sure to count, no less than any that may."""
    low = None if open_ else if_all_known(min, [low for _, low, _ in bounds])
    return between(low, of_the_known(min, [high for _, _, high in certain]))


def _largest(
    bounds: list[Bounds], certain: list[Bounds], open_: bool, least: Number | None
) -> Value:
    """The largest: no less than any that is sure to count, no more than any that may."""
    high = None if open_ else if_all_known(max, [high for _, _, high in bounds])
    if certain:
        return between(of_the_known(max, [low for _, low, _ in certain]), high)
    # one of them it is, or the default, or what nobody listed: no less than the least of those
    lows = [low for _, low, _ in bounds] + ([least] if open_ else [])
    return between(if_all_known(min, lows), high)


class Quant(Cond):
    """every, some or no thing of a list is so.

    >>> from whywire.engine.language.expressions import Flag
    >>> from whywire.engine.language.expressions import Flag
    >>> boxes = Path(("many", "box"), (1,), ("boxes",), ("circuit",), False, "boxes")
    >>> covered = Flag(Path(FLAG, (1,), ("covered",), ("box",), True, "covered"))
    >>> circuit = ["the circuit", [["a box", True], ["another", None]]]
    >>> Quant("every", boxes, covered).ev(circuit, None) is None
    True
    >>> Quant("some", boxes, covered).ev(circuit, None)
    True
    """

    __slots__ = ("fn", "list", "where")

    def __init__(self, fn: str, list_: Path, where: Expr) -> None:
        self.t, self.fn, self.list, self.where = FLAG, fn, list_, where

    def kids(self) -> tuple[Expr, ...]:
        return self.list, self.where

    def ev(self, thing: Thing, member: Member) -> Truth:
        listed = self.list.ev(thing, member)
        if listed is NOTHING:
            return NOTHING
        answers = [self.where.ev(thing, one) for one in members(listed)]
        # of what nobody listed nothing is known, and one such member may decide
        if listed is not NONE and may_go_on(listed):
            answers.append(None)
        if self.fn == "every":
            return both(answers)
        met = either(answers)
        return met if self.fn == "some" else opposite(met)

    @property
    def things(self) -> Path:
        return self.list

    def placed(self) -> Iterator[tuple[Expr, Stands]]:
        yield self.list, Stands.HERE
        yield self.where, Stands.EACH

    def rests_on(self, thing: Thing, member: Member) -> Iterator[Spot]:
        yield self.list, thing, member
        for one in members(self.list.ev(thing, member)):
            yield self.where, thing, one

    looked_at = rests_on

    def needs(self, thing: Thing, member: Member) -> Iterator[Spot]:
        yield self.list, thing, member
        for one in members(self.list.ev(thing, member)):
            if is_open(self.where.ev(thing, one)):
                yield self.where, thing, one

    def beside_columns(self) -> Iterator[Expr]:
        # a list is taken whole: its members are its own
        yield self

    @property
    def operation(self) -> str:
        return self.fn

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return f"{self.fn} {self.list.said} is so"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        return self._emit_each(to, self.list.emit(to, thing, member), thing)

    def emit_open(self, to: Emits, nothing: str) -> str:
        fact = self.list.own_fact
        if fact is None:
            return ""
        things = to.variable()
        return (
            f"({nothing} if ({things} := {to.reach(fact.slots)}) is NONE else"
            f" {self._emit_each(to, things, 'x')})"
        )

    def _emit_each(self, to: Emits, things: str, thing: str) -> str:
        inner = to.inner()
        where = self.where.emit(to, thing, inner)
        to.outer()
        each = f"([{where} for {inner} in {things}])"
        return {"every": f"all{each}", "some": f"any{each}", "no": f"(not any{each})"}[self.fn]
