"""Pieces of a line that are amounts or words: as written, told, in a row, and reckoned."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from ...basics.sentinels import NONE, NOTHING, NothingThere
from ...basics.units import (
    NONE_DIM,
    Number,
    add,
    between,
    ends,
    invert,
    multiply,
    negate,
    root,
    round_to,
    year_of,
)
from ..things import Thing, Type, unit_shown
from .piece import FLAG, Emits, Expr, Member, Show, Spot, Stands, Value, unknown, walk


class Num(Expr):
    """A number as written.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> Num(("q", (("A", 1),), "A"), Decimal(20), "20 A").ev([], None)
    Decimal('20')
    """

    __slots__ = ("value", "text")
    written = True

    def __init__(self, t: Type, value: Number, text: str) -> None:
        self.t, self.value, self.text = t, value, text

    def ev(self, thing: Thing, member: Member) -> Value:
        return self.value

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return self.text

    def emit(self, to: Emits, thing: str, member: str) -> str:
        return to.constant(self.value)


class Dated(Expr):
    """A dated number of the knowledge base, by its name.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> share = Dated(("q", (), "%"), "continuous share", Decimal("1.25"))
    >>> share.ev([], None), share.name
    (Decimal('1.25'), 'continuous share')
    """

    __slots__ = ("name", "value")
    written = True

    def __init__(self, t: Type, name: str, value: Number) -> None:
        self.t, self.name, self.value = t, name, value

    def ev(self, thing: Thing, member: Member) -> Value:
        return self.value

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return f"{self.name} {show(self.value, self.unit)}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        return to.constant(self.value)


class Word_(Expr):
    """A word as written: a size, or a key of a table; or the yes or no that a rule fills in.

    >>> Word_(("row", "conductor-sizes"), "6 AWG").ev([], None)
    '6 AWG'
    """

    __slots__ = ("value",)
    written = True

    def __init__(self, t: Type, value: str | bool) -> None:
        self.t, self.value = t, value

    def ev(self, thing: Thing, member: Member) -> Value:
        return self.value

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return str(self.value)

    def emit(self, to: Emits, thing: str, member: str) -> str:
        return repr(self.value)


class Path(Expr):
    """A fact, by the links that lead to it.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> amperes = ("q", (("A", 1),), "A")
    >>> rating = Path(amperes, (2, 1), ("breaker", "rating"), ("circuit",), False, "rating")
    >>> breaker = ["the breaker", Decimal(20)]
    >>> rating.ev(["the circuit", None, breaker], None)
    Decimal('20')
    >>> rating.ev(["the circuit", None, NONE], None)
    NOTHING
    """

    __slots__ = ("slots", "names", "kinds", "member", "said", "blank")

    def __init__(
        self,
        t: Type,
        slots: tuple[int, ...],
        names: tuple[str, ...],
        kinds: tuple[str, ...],
        member: bool,
        said: str,
    ) -> None:
        self.t, self.slots, self.names, self.kinds = t, slots, names, kinds
        self.member, self.said = member, said
        self.blank = unknown(t)

    def holder(self, thing: Thing, member: Member) -> Thing | NothingThere | None:
        """The thing whose fact this is; None where a link is unknown, NOTHING beyond a none."""
        here = member if self.member else thing
        for slot in self.slots[:-1]:
            here = here[slot]
            if here is None:
                return None
            if here is NONE:
                return NOTHING
        return here

    def ev(self, thing: Thing, member: Member) -> Value:
        holder: Any = self.holder(thing, member)
        if holder is None:
            return self.blank
        if holder is NOTHING:
            return NOTHING
        value = holder[self.slots[-1]] if self.slots else holder
        if value is None:
            return self.blank
        # a size or an amount that is not there cannot be compared; a part that is not there can be
        # asked about
        if value is NONE and self.t[0] in ("row", "q"):
            return NOTHING
        return value

    def beside_columns(self) -> Iterator[Expr]:
        yield self

    @property
    def path(self) -> Path:
        return self

    def numbers(self, of: Callable[[Path], int]) -> int:
        return of(self) if self.t[0] == "q" else 1

    @property
    def own_fact(self) -> Path | None:
        return None if self.member or not self.slots else self

    def unit_on(self, thing: Thing, member: Member) -> str | None:
        holder = self.holder(thing, member)
        if isinstance(holder, list) and self.names:
            return unit_shown(holder, self.names[-1], self.unit)
        return self.unit

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        value = self.ev(thing, member)
        if self.t == FLAG:
            return f"{self.said} {show(value)}"
        return f"{self.said} {show(value, self.unit_on(thing, member))}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        start = member if self.member else thing
        return start + "".join(f"[{slot}]" for slot in self.slots)


class Column(Expr):
    """A cell of the row being looked at.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> Column(("q", (("A", 1),), "A"), "ampacity").ev([], {"ampacity": Decimal(55)})
    Decimal('55')
    """

    __slots__ = ("name",)

    def __init__(self, t: Type, name: str) -> None:
        self.t, self.name = t, name

    def ev(self, thing: Thing, member: Member) -> Value:
        return member[self.name]

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return self.name

    def emit(self, to: Emits, thing: str, member: str) -> str:
        return f"{member}[{self.name!r}]"


class Local(Expr):
    """A step of the rule, by its name.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> amperes = ("q", (("A", 1),), "A")
    >>> load = Local("the load", Num(amperes, Decimal(48), "48 A"))
    >>> load.ev([], None), load.t == amperes
    (Decimal('48'), True)
    """

    __slots__ = ("name", "of")

    def __init__(self, name: str, of: Expr) -> None:
        self.t, self.name, self.of = of.t, name, of

    def kids(self) -> tuple[Expr, ...]:
        return (self.of,)

    def ev(self, thing: Thing, member: Member) -> Value:
        # a step is a line of its own: it stands outside the list in which it is named
        return self.of.ev(thing, None)

    def placed(self) -> Iterator[tuple[Expr, Stands]]:
        yield self.of, Stands.ALONE

    def rests_on(self, thing: Thing, member: Member) -> Iterator[Spot]:
        yield self.of, thing, None

    looked_at = needs = rests_on

    def beside_columns(self) -> Iterator[Expr]:
        yield self

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return f"{self.name} {show(self.ev(thing, member), self.unit)}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        return self.of.emit(to, thing, "None")


class Arith(Expr):
    """+ − × ÷ and ± of two pieces.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> amperes = ("q", (("A", 1),), "A")
    >>> load = Num(amperes, Decimal(48), "48 A")
    >>> Arith(amperes, "×", load, Num(("q", (), "%"), Decimal("1.25"), "125 %")).ev([], None)
    Decimal('60.00')
    """

    __slots__ = ("op", "a", "b")

    def __init__(self, t: Type, op: str, a: Expr, b: Expr) -> None:
        self.t, self.op, self.a, self.b = t, op, a, b

    def kids(self) -> tuple[Expr, ...]:
        return self.a, self.b

    def ev(self, thing: Thing, member: Member) -> Value:
        return apply_op(self.op, self.a.ev(thing, member), self.b.ev(thing, member))

    def numbers(self, of: Callable[[Path], int]) -> int:
        return self.a.numbers(of) + self.b.numbers(of)

    @property
    def loose(self) -> bool:
        """Does it need brackets in a product?"""
        return self.op in "+-±"

    @property
    def operation(self) -> str:
        return self.op

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        left, right = self.a.say(show, thing, member), self.b.say(show, thing, member)
        if self.op in "×÷":
            if isinstance(self.a, Arith) and self.a.loose:
                left = f"({left})"
            if isinstance(self.b, Arith):
                right = f"({right})"
        return f"{left} {self.op.replace('-', '−')} {right}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        if self.op == "±":
            # worth a range
            return "bail()"
        op = dict(zip("+-×÷", "+-*/"))[self.op]
        return f"({self.a.emit(to, thing, member)} {op} {self.b.emit(to, thing, member)})"


def apply_op(op: str, a: Value, b: Value) -> Value:
    """One operation on two values.

    Raises:
        Fault: the result has more digits than a machine should hold.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> apply_op("-", Decimal(7), Decimal(2))
    Decimal('5')
    >>> apply_op("÷", Decimal(1), Decimal(3))
    Fraction(1, 3)
    >>> tolerated = apply_op("±", Decimal(240), Decimal(12))
    >>> tolerated.lo, tolerated.hi
    (Decimal('228'), Decimal('252'))
    >>> apply_op("+", Decimal(7), NOTHING)
    NOTHING
    """
    if op == "+":
        return add(a, b)
    if op == "-":
        return add(a, negate(b))
    if op == "×":
        return multiply(a, b)
    if op == "÷":
        return multiply(a, invert(b))
    if a is NOTHING or b is NOTHING:
        return NOTHING
    return between(ends(add(a, negate(b)))[0], ends(add(a, b))[1])


class Extreme(Expr):
    """The smaller or the larger of a few pieces.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> amperes = ("q", (("A", 1),), "A")
    >>> caps = tuple(Num(amperes, Decimal(n), f"{n} A") for n in (55, 60))
    >>> Extreme(amperes, True, caps).ev([], None)
    Decimal('55')
    """

    __slots__ = ("least", "xs")

    def __init__(self, t: Type, least: bool, xs: tuple[Expr, ...]) -> None:
        self.t, self.least, self.xs = t, least, xs

    def kids(self) -> tuple[Expr, ...]:
        return self.xs

    def ev(self, thing: Thing, member: Member) -> Value:
        return extreme(self.least, [e.ev(thing, member) for e in self.xs])

    @property
    def operation(self) -> str:
        return "smaller" if self.least else "larger"

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        pieces = " and ".join(piece.say(show, thing, member) for piece in self.xs)
        return f"the {self.operation} of {pieces}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        parts = ", ".join(part.emit(to, thing, member) for part in self.xs)
        return f"{'min' if self.least else 'max'}({parts})"


def extreme(least: bool, values: list[Value]) -> Value:
    """The smaller (or larger) of *values*, as far as it is known.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> extreme(True, [Decimal(30), Decimal(20)])
    Decimal('20')
    >>> at_most = extreme(True, [Decimal(20), None])
    >>> at_most.lo, at_most.hi
    (None, Decimal('20'))
    >>> extreme(False, [Decimal(20), NOTHING])
    NOTHING
    """
    if any(value is NOTHING for value in values):
        return NOTHING
    lows, highs = [ends(v)[0] for v in values], [ends(v)[1] for v in values]
    if least:
        return between(if_all_known(min, lows), of_the_known(min, highs))
    return between(of_the_known(max, lows), if_all_known(max, highs))


def if_all_known(pick: Callable[..., Any], numbers: list[Number | None]) -> Number | None:
    """The smallest or largest of *numbers*; None where one of them is unknown.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> if_all_known(min, [Decimal(3), Decimal(2)]), if_all_known(min, [Decimal(3), None])
    (Decimal('2'), None)
    """
    return None if None in numbers else pick(numbers)


def of_the_known(pick: Callable[..., Any], numbers: list[Number | None]) -> Number | None:
    """The smallest or largest of those *numbers* that are known; None where none is.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> of_the_known(max, [Decimal(3), None]), of_the_known(max, [None])
    (Decimal('3'), None)
    """
    return pick((n for n in numbers if n is not None), default=None)


class Round(Expr):
    """A named rounding.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> watts, step = Num(("q", (), "count"), Decimal("7.5"), "7.5"), Decimal(1)
    >>> Round(watts.t, "half up", watts, Num(watts.t, step, "1")).ev([], None)
    Decimal('8')
    """

    __slots__ = ("how", "a", "step")

    def __init__(self, t: Type, how: str, a: Expr, step: Num) -> None:
        self.t, self.how, self.a, self.step = t, how, a, step

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    def ev(self, thing: Thing, member: Member) -> Value:
        return round_to(self.a.ev(thing, member), self.step.value, self.how)

    @property
    def operation(self) -> str:
        return f"rounded {self.how}"

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return f"{self.a.say(show, thing, member)} rounded {self.how} to {self.step.text}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        # few lines round, and how is said in one place
        return "bail()"


class Root(Expr):
    """A square root as an enclosure.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> three = Num(("q", (), "count"), Decimal(3), "3")
    >>> near = Root(three.t, three, 2).ev([], None)
    >>> near.lo, near.hi
    (Decimal('1.73'), Decimal('1.74'))
    """

    __slots__ = ("a", "places")

    def __init__(self, t: Type, a: Expr, places: int) -> None:
        self.t, self.a, self.places = t, a, places

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    def ev(self, thing: Thing, member: Member) -> Value:
        return root(self.a.ev(thing, member), self.places)

    @property
    def operation(self) -> str:
        return "root"

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return f"√({self.a.say(show, thing, member)})"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        # few lines take a root, and how is said in one place
        return "bail()"


class Year(Expr):
    """The calendar year of a date."""

    __slots__ = ("a",)

    def __init__(self, a: Expr) -> None:
        self.t, self.a = ("q", NONE_DIM, "count"), a

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    def ev(self, thing: Thing, member: Member) -> Value:
        return year_of(self.a.ev(thing, member))

    @property
    def operation(self) -> str:
        return "year"

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return f"the year of {self.a.say(show, thing, member)}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        # few lines ask for a year, and what one is is said in one place
        return "bail()"


def paths(e: Expr) -> Iterator[Path]:
    """Every fact that a piece reads, itself and the lists among them.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> size = Path(("q", (), "count"), (1,), ("wires",), ("box",), False, "wires")
    >>> [path.said for path in paths(Arith(size.t, "+", size, Num(size.t, Decimal(1), "1")))]
    ['wires']
    """
    return (piece for piece in walk(e) if isinstance(piece, Path))
