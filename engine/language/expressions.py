"""Typed pieces of a line, and what each is worth on a thing: the general evaluator.

Every piece answers ``ev(thing, member)``: *thing* is what the rule is about (a list of cells),
*member* the member of a list, or the row of a table, that is being looked at. Answers are exact: a
number, a word, yes or no, a list of things; unknown is None, what is partly known a Range, what
lies beyond a told `none` NOTHING.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any, TypeAlias

from ..basics.sentinels import NONE, NOTHING, NothingThere
from ..basics.units import (
    NONE_DIM,
    POINT,
    SOME,
    Number,
    Range,
    add,
    between,
    both,
    compare,
    either,
    ends,
    invert,
    multiply,
    negate,
    opposite,
    root,
    round_to,
    year_of,
)
from .tables import OFF, OffTheTable, Row, Table
from .things import Thing, Type, members

Value: TypeAlias = Any  # what a cell or an evaluation may be: see the module, and `sentinels`
Truth: TypeAlias = bool | NothingThere | None  # what a condition answers
Member: TypeAlias = Any  # a thing of a list, a row of a table, or None where neither is looked at
# does a member count (None: it may), and between which ends is what it adds
Bounds: TypeAlias = tuple[Truth, Number | None, Number | None]
ZERO = Decimal(0)


def as_word(value: Value) -> str | None:
    """How a value that is no amount is written: unknown, none, yes, no, or the word that it is.

    >>> as_word(True), as_word("EMT"), as_word(NONE), as_word(None), as_word(Decimal(3))
    ('yes', 'EMT', 'none', 'unknown', None)
    """
    if value is None or value is SOME:
        return "unknown"
    if value is NONE or value is NOTHING:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else None


def _unknown(of_type: Type) -> Range | None:
    """What an unknown value of a type is worth: most amounts are at least never below nothing."""
    return SOME if of_type[0] == "q" and of_type[1] != POINT else None


class Expr:
    """A piece of a line: its type *t* and the node of the grammar it came from."""

    __slots__ = ("t", "ast")
    t: Type
    ast: tuple[Any, ...]

    def ev(self, thing: Thing, member: Member) -> Value:
        """What the piece is worth on *thing*, while *member* is being looked at.

        Raises:
            NotImplementedError: the kind of piece does not say.
        """
        raise NotImplementedError

    def kids(self) -> tuple[Expr, ...]:
        """The pieces right below this one."""
        return ()

    @property
    def unit(self) -> str | None:
        """The unit in which an amount was written; None where it is no amount."""
        return self.t[2] if self.t[0] == "q" else None


class Num(Expr):
    """A number as written."""

    __slots__ = ("value", "text")

    def __init__(self, t: Type, value: Number, text: str) -> None:
        self.t, self.value, self.text = t, value, text

    def ev(self, thing: Thing, member: Member) -> Value:
        return self.value


class Dated(Expr):
    """A dated number of the knowledge base, by its name."""

    __slots__ = ("name", "value")

    def __init__(self, t: Type, name: str, value: Number) -> None:
        self.t, self.name, self.value = t, name, value

    def ev(self, thing: Thing, member: Member) -> Value:
        return self.value


class Word_(Expr):
    """A word as written: a size, or a key of a table; or the yes or no that a rule fills in."""

    __slots__ = ("value",)

    def __init__(self, t: Type, value: str | bool) -> None:
        self.t, self.value = t, value

    def ev(self, thing: Thing, member: Member) -> Value:
        return self.value


class Path(Expr):
    """A fact, by the links that lead to it.

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
        self.blank = _unknown(t)

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


class Column(Expr):
    """A cell of the row being looked at."""

    __slots__ = ("name",)

    def __init__(self, t: Type, name: str) -> None:
        self.t, self.name = t, name

    def ev(self, thing: Thing, member: Member) -> Value:
        return member[self.name]


class Local(Expr):
    """A step of the rule, by its name."""

    __slots__ = ("name", "of")

    def __init__(self, name: str, of: Expr) -> None:
        self.t, self.name, self.of = of.t, name, of

    def kids(self) -> tuple[Expr, ...]:
        return (self.of,)

    def ev(self, thing: Thing, member: Member) -> Value:
        # a step is a line of its own: it stands outside the list in which it is named
        return self.of.ev(thing, None)


class Arith(Expr):
    """+ − × ÷ and ± of two pieces."""

    __slots__ = ("op", "a", "b")

    def __init__(self, t: Type, op: str, a: Expr, b: Expr) -> None:
        self.t, self.op, self.a, self.b = t, op, a, b

    def kids(self) -> tuple[Expr, ...]:
        return self.a, self.b

    def ev(self, thing: Thing, member: Member) -> Value:
        return apply_op(self.op, self.a.ev(thing, member), self.b.ev(thing, member))


def apply_op(op: str, a: Value, b: Value) -> Value:
    """One operation on two values.

    Raises:
        Fault: the result has more digits than a machine should hold.

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
    """The smaller or the larger of a few pieces."""

    __slots__ = ("least", "xs")

    def __init__(self, t: Type, least: bool, xs: tuple[Expr, ...]) -> None:
        self.t, self.least, self.xs = t, least, xs

    def kids(self) -> tuple[Expr, ...]:
        return self.xs

    def ev(self, thing: Thing, member: Member) -> Value:
        return extreme(self.least, [e.ev(thing, member) for e in self.xs])


def extreme(least: bool, values: list[Value]) -> Value:
    """The smaller (or larger) of *values*, as far as it is known.

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
        return between(_if_all_known(min, lows), _of_the_known(min, highs))
    return between(_of_the_known(max, lows), _if_all_known(max, highs))


def _if_all_known(pick: Callable[..., Any], numbers: list[Number | None]) -> Number | None:
    """The smallest or largest of *numbers*; None where one of them is unknown."""
    return None if None in numbers else pick(numbers)


def _of_the_known(pick: Callable[..., Any], numbers: list[Number | None]) -> Number | None:
    """The smallest or largest of those *numbers* that are known; None where none is."""
    return pick((n for n in numbers if n is not None), default=None)


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
        return out, _is_open(listed)

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


def _is_open(listed: Value) -> bool:
    """May a list hold more than was written? One that is unknown may hold anything."""
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
    low = None if open_ else _if_all_known(min, [low for _, low, _ in bounds])
    return between(low, _of_the_known(min, [high for _, _, high in certain]))


def _largest(
    bounds: list[Bounds], certain: list[Bounds], open_: bool, least: Number | None
) -> Value:
    """The largest: no less than any that is sure to count, no more than any that may."""
    high = None if open_ else _if_all_known(max, [high for _, _, high in bounds])
    if certain:
        return between(_of_the_known(max, [low for _, low, _ in certain]), high)
    # one of them it is, or the default, or what nobody listed: no less than the least of those
    lows = [low for _, low, _ in bounds] + ([least] if open_ else [])
    return between(_if_all_known(min, lows), high)


class Look(Expr):
    """A look-up in a table; backwards where it asks for the smallest row whose ... holds."""

    __slots__ = ("table", "column", "keys", "where")

    def __init__(
        self,
        t: Type,
        table: Table,
        column: str,
        keys: tuple[tuple[str, Expr], ...],
        where: Expr | None,
    ) -> None:
        self.t, self.table, self.column, self.keys, self.where = t, table, column, keys, where

    def kids(self) -> tuple[Expr, ...]:
        return tuple(e for _, e in self.keys) + ((self.where,) if self.where else ())

    def known_keys(self, thing: Thing, member: Member) -> dict[str, Value] | None:
        """Key values (unknown ones None); None where one is beyond a none."""
        return _known_keys(self.keys, thing, member)

    def sure(self, thing: Thing, member: Member) -> bool:
        """Is every key one known value? Only asked where no key is beyond a none."""
        keys = self.known_keys(thing, member) or {}
        return not any(value is None or type(value) is Range for value in keys.values())

    def rows(self, thing: Thing, member: Member) -> Sequence[Row | OffTheTable] | None:
        """The rows still possible; OFF among them says that the answer may lie off the table."""
        keys = self.known_keys(thing, member)
        if keys is None:
            return None
        rows = self.table.find(keys)
        unknown = [(name, e) for name, e in self.keys if keys[name] is None]
        if unknown and OFF not in rows and not self._covered(unknown, rows):
            rows = [*rows, OFF]
        return rows

    @staticmethod
    def _covered(unknown: list[tuple[str, Expr]], rows: Sequence[Row | OffTheTable]) -> bool:
        """Is there a row for whatever the unknown keys may turn out to be?"""
        combinations = 1
        for _, e in unknown:
            if e.t[0] != "choice":
                return False
            combinations *= len(e.t[1])
        met = {
            tuple(row[name] for name, _ in unknown)
            for row in rows
            if row and all(row[name] in e.t[1] for name, e in unknown)
        }
        return len(met) == combinations

    def ev(self, thing: Thing, member: Member) -> Value:
        rows = self.rows(thing, member)
        if rows is None:
            return NOTHING
        if self.where is None:
            return cell_of(rows, self.column, self.t)
        if not self.sure(thing, member):
            # among the rows of which key is the first that will do?
            return None
        return self._first(self.where, rows, thing)

    def _first(self, where: Expr, rows: Sequence[Row | OffTheTable], thing: Thing) -> Value:
        """The cell of the first of *rows* that will do."""
        for row in rows:
            met = where.ev(thing, row)
            if met is True:
                # by keys that are all known a row is found or is not: none of them is OFF
                assert row
                return row[self.column]
            # a row that may do hides which is the first
            if met is None or met is NOTHING:
                return met
        return NONE if self.t[0] == "row" else None


def _known_keys(
    keys: tuple[tuple[str, Expr], ...], thing: Thing, member: Member
) -> dict[str, Value] | None:
    """What the keys of a look-up are worth (unknown ones None); None where one is beyond a none."""
    out = {}
    for name, e in keys:
        value = e.ev(thing, member)
        if value is NOTHING or value is NONE:
            return None
        out[name] = None if value is SOME else value
    return out


def cell_of(rows: Sequence[Row | OffTheTable], column: str, t: Type) -> Value:
    """What the rows still possible agree on.

    >>> amperes = ("q", (("A", 1),), "A")
    >>> cell_of([{"ampacity": Decimal(20)}, {"ampacity": Decimal(20)}], "ampacity", amperes)
    Decimal('20')
    >>> some = cell_of([{"ampacity": Decimal(20)}, {"ampacity": Decimal(25)}], "ampacity", amperes)
    >>> some.lo, some.hi
    (Decimal('20'), Decimal('25'))
    >>> cell_of([{"kind": "copper"}, OFF], "kind", ("word",)) is None
    True
    """
    # in the order of the rows, so that every start agrees
    values: list[Value] = list(dict.fromkeys(row.get(column) for row in rows))
    if len(values) == 1:
        (value,) = values
        # a table writes a flag as a word
        return value == "yes" if t[0] == "flag" and value is not None else value
    if t[0] != "q" or not values:
        return None
    return _unknown(t) if None in values else between(min(values), max(values))


class Step(Expr):
    """The next rating of a table at or above (below) a value.

    >>> amperes = ("q", (("A", 1),), "A")
    >>> ratings = [Decimal(15), Decimal(20), Decimal(25)]
    >>> load = Num(amperes, Decimal("20.8"), "20.8 A")
    >>> Step(amperes, True, load, None, ratings).ev([], None)
    Decimal('25')
    >>> Step(amperes, False, load, None, ratings).ev([], None)
    Decimal('20')
    """

    __slots__ = ("up", "a", "table", "points")

    def __init__(self, t: Type, up: bool, a: Expr, table: Table, points: list[Number]) -> None:
        self.t, self.up, self.a, self.table, self.points = t, up, a, table, points

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    def one(self, value: Number | None) -> Number | None:
        """The next rating of one number; None where it is unknown or beyond the last."""
        if value is None:
            return None
        if self.up:
            return next((point for point in self.points if point >= value), None)
        return next((point for point in reversed(self.points) if point <= value), None)

    def ev(self, thing: Thing, member: Member) -> Value:
        value = self.a.ev(thing, member)
        if value is NOTHING:
            return NOTHING
        if type(value) is Range:
            return between(self.one(value.lo), self.one(value.hi))
        return self.one(value)


class Round(Expr):
    """A named rounding."""

    __slots__ = ("how", "a", "step")

    def __init__(self, t: Type, how: str, a: Expr, step: Num | Dated) -> None:
        self.t, self.how, self.a, self.step = t, how, a, step

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    def ev(self, thing: Thing, member: Member) -> Value:
        return round_to(self.a.ev(thing, member), self.step.value, self.how)


class Root(Expr):
    """A square root as an enclosure."""

    __slots__ = ("a", "places")

    def __init__(self, t: Type, a: Expr, places: int) -> None:
        self.t, self.a, self.places = t, a, places

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    def ev(self, thing: Thing, member: Member) -> Value:
        return root(self.a.ev(thing, member), self.places)


class Year(Expr):
    """The calendar year of a date."""

    __slots__ = ("a",)

    def __init__(self, a: Expr) -> None:
        self.t, self.a = ("q", NONE_DIM, "count"), a

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    def ev(self, thing: Thing, member: Member) -> Value:
        return year_of(self.a.ev(thing, member))


# ---- conditions ----------------------------------------------------------------------------------

FLAG: Type = ("flag",)


class Cond(Expr):
    """A piece that is so or not: it answers yes, no, None (unknown) or NOTHING."""

    __slots__ = ()

    def __init__(self) -> None:
        self.t = FLAG


class Flag(Cond):
    """A yes/no fact."""

    __slots__ = ("a",)

    def __init__(self, a: Expr) -> None:
        self.t, self.a = FLAG, a

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    def ev(self, thing: Thing, member: Member) -> Truth:
        value = self.a.ev(thing, member)
        return NOTHING if value is NONE else value


class Not(Cond):
    """A condition turned round."""

    __slots__ = ("a",)

    def __init__(self, a: Expr) -> None:
        self.t, self.a = FLAG, a

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    def ev(self, thing: Thing, member: Member) -> Truth:
        return opposite(self.a.ev(thing, member))


class Junction(Cond):
    """All of, or any of, several conditions.

    >>> told = [Flag(Path(FLAG, (slot,), ("fact",), ("thing",), False, "")) for slot in (1, 2)]
    >>> Junction(True, told).ev(["a thing", True, None], None) is None
    True
    >>> Junction(False, told).ev(["a thing", True, None], None)
    True
    """

    __slots__ = ("all", "xs")

    def __init__(self, all_: bool, xs: tuple[Expr, ...]) -> None:
        self.t, self.all, self.xs = FLAG, all_, xs

    def kids(self) -> tuple[Expr, ...]:
        return self.xs

    def ev(self, thing: Thing, member: Member) -> Truth:
        return (both if self.all else either)([e.ev(thing, member) for e in self.xs])


class Cmp(Cond):
    """A comparison of two numbers, or of two sizes by their order in the table.

    >>> places = {"14 AWG": 0, "12 AWG": 1, "10 AWG": 2}
    >>> has, needs = Word_(("row", "wires"), "10 AWG"), Word_(("row", "wires"), "12 AWG")
    >>> Cmp(">=", has, needs, places).ev([], None)
    True
    """

    __slots__ = ("op", "a", "b", "order")

    def __init__(self, op: str, a: Expr, b: Expr, order: dict[str, int] | None = None) -> None:
        self.t, self.op, self.a, self.b, self.order = FLAG, op, a, b, order

    def kids(self) -> tuple[Expr, ...]:
        return self.a, self.b

    def sides(self, thing: Thing, member: Member) -> tuple[Value, Value]:
        """The two numbers that are compared; of sizes, their places in the order."""
        a, b = self.a.ev(thing, member), self.b.ev(thing, member)
        if self.order is None:
            return a, b
        return _place(a, self.order), _place(b, self.order)

    def ev(self, thing: Thing, member: Member) -> Truth:
        a, b = self.sides(thing, member)
        if self.order is not None and (a is None or b is None):
            # of a size that is unknown not even the sign is known, which `compare` would go by
            return NOTHING if NOTHING in (a, b) else None
        return compare(self.op, a, b)


def _place(size: Value, order: dict[str, int]) -> Value:
    """The place of a size in the order of its table, as a number."""
    if size is None or size is NOTHING:
        return size
    if size is NONE:
        return NOTHING
    return Decimal(order[size]) if size in order else None


class Gauge(Cond):
    """size is 10 AWG or smaller (or larger)."""

    __slots__ = ("a", "size", "smaller", "order")

    def __init__(self, a: Expr, size: str, smaller: bool, order: dict[str, int]) -> None:
        self.t, self.a, self.size, self.smaller, self.order = FLAG, a, size, smaller, order

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    def ev(self, thing: Thing, member: Member) -> Truth:
        size = self.a.ev(thing, member)
        if size is None or size is NOTHING:
            return size
        if size is NONE:
            return NOTHING
        # what stands in no row has no place in the order
        if size not in self.order:
            return None
        if self.smaller:
            return self.order[size] <= self.order[self.size]
        return self.order[size] >= self.order[self.size]


class Is(Cond):
    """A word is one of a few.

    >>> method = Path(("choice", ("EMT", "NM-B")), (1,), ("method",), ("segment",), False, "method")
    >>> [Is(False, method, {"EMT"}).ev(["a segment", told], None) for told in ("EMT", "NM-B", None)]
    [True, False, None]
    """

    __slots__ = ("negated", "a", "words")

    def __init__(self, negated: bool, a: Expr, words: Collection[str]) -> None:
        self.t, self.negated, self.a, self.words = FLAG, negated, a, words

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    def ev(self, thing: Thing, member: Member) -> Truth:
        # a told none is an answer, not a hole
        if "none" in self.words and isinstance(self.a, Path):
            return self._is_none(self.a, thing, member)
        value = self.a.ev(thing, member)
        if value is None or value is SOME:
            return None
        if value is NOTHING or value is NONE:
            return NOTHING
        return (value in self.words) != self.negated

    def _is_none(self, path: Path, thing: Thing, member: Member) -> Truth:
        """Is there no such thing? An empty list is none, too."""
        holder: Any = path.holder(thing, member)
        if holder is None or holder is NOTHING:
            return holder
        value = holder[path.slots[-1]]
        if value is None:
            return None
        return (value is NONE or (isinstance(value, list) and not value)) != self.negated


class Among(Cond):
    """A value stands in a table."""

    __slots__ = ("negated", "a", "table", "column", "keys", "points")

    def __init__(
        self,
        negated: bool,
        a: Expr,
        table: Table,
        column: str,
        keys: tuple[tuple[str, Expr], ...],
    ) -> None:
        self.t, self.negated, self.a = FLAG, negated, a
        self.table, self.column, self.keys = table, column, keys
        self.points: frozenset[Value] = frozenset(row[column] for row in table.rows)

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,) + tuple(e for _, e in self.keys)

    def ev(self, thing: Thing, member: Member) -> Truth:
        value = self.a.ev(thing, member)
        if value is NOTHING or value is NONE:
            return NOTHING
        points, sure = self.points, True
        if self.keys:
            keys = _known_keys(self.keys, thing, member)
            if keys is None:
                return NOTHING
            sure = not any(key is None or type(key) is Range for key in keys.values())
            points = frozenset(row[self.column] for row in self.table.find(keys) if row)
        if value is None:
            return None
        # a range that reaches no row cannot be one; of any other it cannot be told
        if type(value) is Range:
            return None if _reaches(value, points) else self.negated
        if value not in points:
            return self.negated
        # it stands in one of the rows that are still possible, perhaps not in the one that is meant
        return (not self.negated) if sure else None


def _reaches(within: Range, points: Iterable[Value]) -> bool:
    """Does one of *points* lie within a range?"""
    low, high = within.lo, within.hi
    return any((low is None or p >= low) and (high is None or p <= high) for p in points)


class Quant(Cond):
    """every, some or no thing of a list is so.

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
        if listed is not NONE and _is_open(listed):
            answers.append(None)
        if self.fn == "every":
            return both(answers)
        met = either(answers)
        return met if self.fn == "some" else opposite(met)


def walk(e: Expr) -> Iterator[Expr]:
    """Every piece below and including *e*.

    >>> two = Num(("q", (), "count"), Decimal(2), "2")
    >>> [type(piece).__name__ for piece in walk(Arith(two.t, "+", two, two))]
    ['Arith', 'Num', 'Num']
    """
    yield e
    for kid in e.kids():
        yield from walk(kid)
