"""Pieces of a line that read a table: look-ups, steps to a rating, and standing in a column."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from ...basics.sentinels import NONE, NOTHING
from ...basics.units import SOME, Number, Range, between
from ..tables import OFF, OffTheTable, Row, Table
from ..things import Thing, Type
from .amounts import Path
from .conditions import Cond
from .piece import FLAG, Cell, Emits, Expr, Member, Show, Spot, Stands, Truth, Value, unknown


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

    @property
    def reads(self) -> tuple[Table, str]:
        return self.table, self.column

    def numbers(self, of: Callable[[Path], int]) -> int:
        # a cell is one number, whatever it is looked up by
        return 1

    def cells(self, thing: Thing, member: Member) -> Iterator[Cell]:
        found = self.rows(thing, member) or []
        if self.where is not None:
            if None in (self.known_keys(thing, member) or {}).values():
                return
            where = self.where
            found = [row for row in found if row and where.ev(thing, row) is True][:1]
        # of several rows none is rested on by itself
        if len(found) == 1 and found[0]:
            yield self.table.id, self.table.index_of(found[0]), self.column

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

    def placed(self) -> Iterator[tuple[Expr, Stands]]:
        yield from ((key, Stands.HERE) for _, key in self.keys)
        if self.where is not None:
            yield self.where, Stands.ROW

    def looked_at(self, thing: Thing, member: Member) -> Iterator[Spot]:
        yield from ((key, thing, member) for _, key in self.keys)
        if self.where is not None:
            yield from ((self.where, thing, row) for row in self.rows(thing, member) or () if row)

    def needs(self, thing: Thing, member: Member) -> Iterator[Spot]:
        if self.where is None:
            yield from super().needs(thing, member)
            return
        # which row will do is known when all is that its condition reads beside the table
        yield from ((key, thing, member) for _, key in self.keys)
        yield from ((part, thing, member) for part in self.where.beside_columns())

    @property
    def operation(self) -> str:
        return "look-up"

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        value = self.ev(thing, member)
        keys = ", ".join(
            show(key.ev(thing, member), key.unit_on(thing, member)) for _, key in self.keys
        )
        return f"{self.column} from {self.table.id} at {keys}: {show(value, self.unit)}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        table = self.table
        keys = {name: value.emit(to, thing, member) for name, value in self.keys}
        exact = [name for name in keys if table.keys[name][0] == "exact"]
        between = [name for name in keys if name not in exact]
        key = "(" + "".join(keys[name] + ", " for name in exact) + ")"
        # look-ups of the same cells by the same keys share one constant
        said = (table.id, self.column, self.t, tuple(keys), self.where is not None)
        if self.where is not None:
            if between:
                return "bail()"
            return self._emit_back(to, self.where, thing, exact, key, said)
        if not between:
            one = {tuple(row[name] for name in exact): self._cell(row) for row in table.rows}
            return f"{to.constant(one, said)}[{key}]"
        return self._emit_between(to, exact, between[0], key, keys[between[0]], said)

    def _emit_back(
        self, to: Emits, where: Expr, thing: str, exact: list[str], key: str, said: Hashable
    ) -> str:
        """The cell of the first row that will do, of those that the keys allow."""
        rows: dict[tuple[Any, ...], list[Row]] = {}
        for row in self.table.rows:
            rows.setdefault(tuple(row[name] for name in exact), []).append(row)
        inner = to.inner()
        test = where.emit(to, thing, inner)
        to.outer()
        # a key may hold an assignment, and what a comprehension goes over may not
        found = to.variable()
        return (
            f"(({found} := {to.constant(rows, said)}[{key}]) and next({inner}[{self.column!r}]"
            f" for {inner} in {found} if {test}))"
        )

    def _emit_between(
        self, to: Emits, exact: list[str], between: str, key: str, value: str, said: Hashable
    ) -> str:
        """The cell of the next row up or down by the key *between*, of which *value* is the
        text.
        """
        rows: dict[tuple[Any, ...], list[tuple[Any, Any]]] = {}
        for row in self.table.rows:
            point = row[between], self._cell(row)
            rows.setdefault(tuple(row[name] for name in exact), []).append(point)
        halves = {}
        for of, points in rows.items():
            points.sort(key=lambda each: each[0])
            halves[of] = [at for at, _ in points], [cell for _, cell in points]
        side = "left" if self.table.keys[between][0] == "next row up" else "down"
        found = to.variable()
        return f"({found} := {to.constant(halves, said)}[{key}])[1][{side}({found}[0], {value})]"

    def _cell(self, row: Row) -> Any:
        """The cell of a row as a fact has it: a table writes a flag as a word."""
        return row[self.column] == "yes" if self.t == FLAG else row[self.column]


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
    return unknown(t) if None in values else between(min(values), max(values))


class Step(Expr):
    """The next rating of a table at or above (below) a value.

    >>> from whywire.engine.language.expressions import Num
    >>> from whywire.engine.language.expressions import Num
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

    @property
    def reads(self) -> tuple[Table, str]:
        return self.table, self.column

    @property
    def column(self) -> str:
        """The column that is stepped in: the first key of the table."""
        return next(iter(self.table.keys))

    def numbers(self, of: Callable[[Path], int]) -> int:
        return 1

    def cells(self, thing: Thing, member: Member) -> Iterator[Cell]:
        value = self.a.ev(thing, member)
        if isinstance(value, (Decimal, Fraction)):
            point = self.one(value)
            for place, row in enumerate(self.table.rows):
                if row[self.column] == point:
                    yield self.table.id, place, self.column

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

    @property
    def operation(self) -> str:
        return f"stepped {'up' if self.up else 'down'}"

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return f"{self.a.say(show, thing, member)} {self.operation} in {self.table.id}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        points = to.constant(self.points, ("points", self.table.id))
        side = "left" if self.up else "down"
        return f"{points}[{side}({points}, {self.a.emit(to, thing, member)})]"


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

    @property
    def reads(self) -> tuple[Table, str]:
        return self.table, self.column

    def cells(self, thing: Thing, member: Member) -> Iterator[Cell]:
        value = self.a.ev(thing, member)
        keys = {name: key.ev(thing, member) for name, key in self.keys}
        for row in self.table.find(keys) if None not in keys.values() else ():
            if row and row[self.column] == value:
                yield self.table.id, self.table.index_of(row), self.column

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

    @property
    def operation(self) -> str:
        return "among"

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        said = f"is {'not ' if self.negated else ''}among {self.table.id}"
        return f"{self.a.say(show, thing, member)} {said}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        # which rows are meant depends on keys that may be half known
        if self.keys:
            return "bail()"
        point = to.variable()
        kinds = "NUMBERS" if self.a.t[0] == "q" else "WORDS"
        within = self._within(to, point)
        value = self.a.emit(to, thing, member)
        return f"(({within}) if ({point} := {value}).__class__ in {kinds} else bail())"

    def emit_open(self, to: Emits, nothing: str) -> str:
        fact = self.a.own_fact
        if fact is None or self.keys or fact.t[0] == "q":
            return ""
        return to.known(fact, "is str", lambda point: self._within(to, point), nothing)

    def _within(self, to: Emits, point: str) -> str:
        points = to.constant(self.points, ("points of", self.table.id, self.column))
        return f"{point} {'not in' if self.negated else 'in'} {points}"


def _reaches(within: Range, points: Iterable[Value]) -> bool:
    """Does one of *points* lie within a range?"""
    low, high = within.lo, within.hi
    return any((low is None or p >= low) and (high is None or p <= high) for p in points)
