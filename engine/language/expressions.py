"""Typed pieces of a line, and what each is worth on a thing: the general evaluator.

Every piece answers ``ev(x, m)``: *x* is the thing the rule is about (a list of cells), *m* the
member of a list, or the row of a table, that is being looked at. Answers are exact: a number, a
word, yes or no, a list of things; unknown is None, what is partly known a Range, what lies beyond a
told `none` NOTHING.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from ..basics.sentinels import NONE, NOTHING
from ..basics.units import (
    POINT,
    SOME,
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
)
from .tables import OFF, OffTheTable, Row
from .things import members


def as_word(v) -> str | None:
    """How a value that is no amount is written: unknown, none, yes, no, or the word that it is."""
    if v is None or v is SOME:
        return "unknown"
    if v is NONE or v is NOTHING:
        return "none"
    if isinstance(v, bool):
        return "yes" if v else "no"
    return v if isinstance(v, str) else None


class Expr:
    """A piece of a line: its type *t* and the node of the grammar it came from."""

    __slots__ = ("t", "ast")

    def kids(self) -> tuple["Expr", ...]:
        return ()

    @property
    def unit(self) -> str | None:
        return self.t[2] if self.t[0] == "q" else None


class Num(Expr):
    """A number as written."""

    __slots__ = ("value", "text")

    def __init__(self, t, value, text):
        self.t, self.value, self.text = t, value, text

    def ev(self, x, m):
        return self.value


class Dated(Expr):
    """A dated number of the knowledge base, by its name."""

    __slots__ = ("name", "value")

    def __init__(self, t, name, value):
        self.t, self.name, self.value = t, name, value

    def ev(self, x, m):
        return self.value


class Word_(Expr):
    """A word as written: a size, or a key of a table."""

    __slots__ = ("value",)

    def __init__(self, t, value):
        self.t, self.value = t, value

    def ev(self, x, m):
        return self.value


class Path(Expr):
    """A fact, by the links that lead to it."""

    __slots__ = ("slots", "names", "kinds", "member", "said", "blank")

    def __init__(self, t, slots, names, kinds, member, said):
        self.t, self.slots, self.names, self.kinds, self.member, self.said = (
            t,
            slots,
            names,
            kinds,
            member,
            said,
        )
        self.blank = (
            SOME
            if t[0] == "q" and t[1] and t[1] != ("temperature",)
            else SOME
            if t[0] == "q" and t[1] == ()
            else None
        )

    def holder(self, x, m):
        """The thing whose fact this is; None where a link is unknown, NOTHING beyond a none."""
        o = m if self.member else x
        for s in self.slots[:-1]:
            o = o[s]
            if o is None:
                return None
            if o is NONE:
                return NOTHING
        return o

    def ev(self, x, m):
        o = self.holder(x, m)
        if o is None:
            return self.blank
        if o is NOTHING:
            return NOTHING
        v = o[self.slots[-1]] if self.slots else o
        if v is None:
            return self.blank
        if v is NONE and self.t[0] in ("row", "q"):
            return NOTHING
        return v


class Column(Expr):
    """A cell of the row being looked at."""

    __slots__ = ("name",)

    def __init__(self, t, name):
        self.t, self.name = t, name

    def ev(self, x, m):
        return m[self.name]


class Local(Expr):
    """A step of the rule, by its name."""

    __slots__ = ("name", "of")

    def __init__(self, name, of):
        self.t, self.name, self.of = of.t, name, of

    def kids(self):
        return (self.of,)

    def ev(self, x, m):
        return self.of.ev(x, None)


class Arith(Expr):
    """+ − × ÷ and ± of two pieces."""

    __slots__ = ("op", "a", "b")

    def __init__(self, t, op, a, b):
        self.t, self.op, self.a, self.b = t, op, a, b

    def kids(self):
        return self.a, self.b

    def ev(self, x, m):
        return apply_op(self.op, self.a.ev(x, m), self.b.ev(x, m))


def apply_op(op, a, b):
    """One operation on two values."""
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

    def __init__(self, t, least, xs):
        self.t, self.least, self.xs = t, least, xs

    def kids(self):
        return self.xs

    def ev(self, x, m):
        return extreme(self.least, [e.ev(x, m) for e in self.xs])


def extreme(least: bool, values: list):
    """The smaller (or larger) of *values*, as far as it is known."""
    if any(v is NOTHING for v in values):
        return NOTHING
    los, his = [ends(v)[0] for v in values], [ends(v)[1] for v in values]
    if least:
        return between(
            None if None in los else min(los), min((h for h in his if h is not None), default=None)
        )
    return between(
        max((lo for lo in los if lo is not None), default=None), None if None in his else max(his)
    )


class Over(Expr):
    """total, smallest, largest or count over the things of a list."""

    __slots__ = ("fn", "body", "list", "where", "default")

    def __init__(self, t, fn, body, list_, where, default):
        self.t, self.fn, self.body, self.list, self.where, self.default = (
            t,
            fn,
            body,
            list_,
            where,
            default,
        )

    def kids(self):
        return tuple(e for e in (self.list, self.body, self.where, self.default) if e is not None)

    def taken(self, x, m):
        """(member, does it count, what it adds) of every member that may count; and whether the
        list is open.
        """
        col = self.list.ev(x, m)
        if col is NOTHING or col is NONE:
            return [], False
        out = []
        for y in members(col):
            ok = self.where.ev(x, y) if self.where else True
            if ok is False or ok is NOTHING:
                continue
            v = self.body.ev(x, y) if self.body else Decimal(1)
            if v is not NOTHING:
                out.append((y, ok, v))
        return out, not isinstance(col, list) or getattr(col, "open", False)

    def ev(self, x, m):
        taken, open_ = self.taken(x, m)
        least = None if self.t[1] == POINT else Decimal(0)  # what nobody listed is no less
        return fold(
            self.fn,
            [(ok, v) for _, ok, v in taken],
            open_,
            self.default.ev(x, m) if self.default else None,
            least,
        )


def fold(fn: str, taken: list, open_: bool, default, least=Decimal(0)):
    """The total, count, smallest or largest of (counts?, value) pairs, as far as it is known; what
    may not count adds at most itself, and at least nothing.
    """
    es = [(ok, *ends(v)) for ok, v in taken]
    if fn in ("total", "count"):
        lo, hi = Decimal(0), None if open_ else Decimal(0)
        for ok, low, high in es:
            lo = None if lo is None or low is None else add(lo, low if ok else min(low, Decimal(0)))
            hi = (
                None
                if hi is None or high is None
                else add(hi, high if ok else max(high, Decimal(0)))
            )
        if hi is None and any(low is not None and low < 0 for _, low, _ in es):
            lo = None
        return between(lo, hi)
    if not es and not open_:
        return NOTHING if default is None else default
    sure = [e for e in es if e[0]]
    if not sure and default is None:  # none of them may count, and then there is none
        return None
    spare = [] if sure else [(None, *ends(default))]  # what it is where none counts
    lows, highs = ([e[i] for e in (*es, *spare)] for i in (1, 2))
    if fn == "smallest":
        lo = None if open_ or None in lows else min(lows)
        return between(lo, min((high for _, _, high in sure if high is not None), default=None))
    known = [low for _, low, _ in sure if low is not None]
    if not sure:
        lows += [least] if open_ else []
        known = [] if None in lows else [min(lows)]
    return between(max(known, default=None), None if open_ or None in highs else max(highs))


class Look(Expr):
    """A look-up in a table; backwards where it asks for the smallest row whose ... holds."""

    __slots__ = ("table", "column", "keys", "where")

    def __init__(self, t, table, column, keys, where):
        self.t, self.table, self.column, self.keys, self.where = t, table, column, keys, where

    def kids(self):
        return tuple(e for _, e in self.keys) + ((self.where,) if self.where else ())

    def known_keys(self, x, m) -> dict | None:
        """Key values (unknown ones None); None where one is beyond a none."""
        out = {}
        for k, e in self.keys:
            v = e.ev(x, m)
            if v is NOTHING or v is NONE:
                return None
            out[k] = None if v is SOME else v
        return out

    def sure(self, x, m) -> bool:
        """Is every key one known value?"""
        return not any(v is None or type(v) is Range for v in self.known_keys(x, m).values())

    def rows(self, x, m) -> Sequence[Row | OffTheTable] | None:
        """The rows still possible; OFF among them says that the answer may lie off the table."""
        keys = self.known_keys(x, m)
        if keys is None:
            return None
        rows = self.table.find(keys)
        unknown = [(k, e) for k, e in self.keys if keys[k] is None]
        if unknown and OFF not in rows and not self._covered(unknown, rows):
            rows = [*rows, OFF]
        return rows

    @staticmethod
    def _covered(unknown: list, rows: Sequence[Row]) -> bool:
        """Is there a row for whatever the unknown keys may turn out to be?"""
        most = 1
        for _, e in unknown:
            if e.t[0] != "choice":
                return False
            most *= len(e.t[1])
        return (
            len(
                {
                    tuple(r[k] for k, _ in unknown)
                    for r in rows
                    if all(r[k] in e.t[1] for k, e in unknown)
                }
            )
            == most
        )

    def ev(self, x, m):
        rows = self.rows(x, m)
        if rows is None:
            return NOTHING
        if self.where is not None:
            if not self.sure(x, m):
                return None  # among the rows of which key is the first that will do?
            for row in rows:
                ok = self.where.ev(x, row)
                if ok is True:
                    return row[self.column]
                if ok is None:
                    return None
                if ok is NOTHING:
                    return NOTHING
            return NONE if self.t[0] == "row" else None
        return cell_of(rows, self.column, self.t)


def cell_of(rows: Sequence[Row | OffTheTable], column: str, t: tuple):
    """What the rows still possible agree on."""
    values = list(dict.fromkeys(r.get(column) for r in rows))
    if len(values) == 1:
        v = values[0]
        return v if t[0] != "flag" or v is None else v == "yes"
    if t[0] == "q" and values:
        if None not in values:
            return between(min(values), max(values))
        return SOME if t[1] != ("temperature",) else None
    return None


class Step(Expr):
    """The next rating of a table at or above (below) a value."""

    __slots__ = ("up", "a", "table", "points")

    def __init__(self, t, up, a, table, points):
        self.t, self.up, self.a, self.table, self.points = t, up, a, table, points

    def kids(self):
        return (self.a,)

    def one(self, v):
        if v is None:
            return None
        if self.up:
            return next((p for p in self.points if p >= v), None)
        return next((p for p in reversed(self.points) if p <= v), None)

    def ev(self, x, m):
        v = self.a.ev(x, m)
        if v is NOTHING:
            return NOTHING
        lo, hi = ends(v)
        return between(self.one(lo), self.one(hi)) if type(v) is Range else self.one(v)


class Round(Expr):
    """A named rounding."""

    __slots__ = ("how", "a", "step")

    def __init__(self, t, how, a, step):
        self.t, self.how, self.a, self.step = t, how, a, step

    def kids(self):
        return (self.a,)

    def ev(self, x, m):
        return round_to(self.a.ev(x, m), self.step.value, self.how)


class Root(Expr):
    """A square root as an enclosure."""

    __slots__ = ("a", "places")

    def __init__(self, t, a, places):
        self.t, self.a, self.places = t, a, places

    def kids(self):
        return (self.a,)

    def ev(self, x, m):
        return root(self.a.ev(x, m), self.places)


# ---- conditions ----------------------------------------------------------------------------------

FLAG = ("flag",)


class Cond(Expr):
    __slots__ = ()

    def __init__(self):
        self.t = FLAG


class Flag(Cond):
    """A yes/no fact."""

    __slots__ = ("a",)

    def __init__(self, a):
        self.t, self.a = FLAG, a

    def kids(self):
        return (self.a,)

    def ev(self, x, m):
        v = self.a.ev(x, m)
        return NOTHING if v is NONE else v


class Not(Cond):
    __slots__ = ("a",)

    def __init__(self, a):
        self.t, self.a = FLAG, a

    def kids(self):
        return (self.a,)

    def ev(self, x, m):
        return opposite(self.a.ev(x, m))


class Junction(Cond):
    """All of, or any of, several conditions."""

    __slots__ = ("all", "xs")

    def __init__(self, all_, xs):
        self.t, self.all, self.xs = FLAG, all_, xs

    def kids(self):
        return self.xs

    def ev(self, x, m):
        return (both if self.all else either)([c.ev(x, m) for c in self.xs])


class Cmp(Cond):
    """A comparison of two numbers, or of two sizes by their order in the table."""

    __slots__ = ("op", "a", "b", "order")

    def __init__(self, op, a, b, order=None):
        self.t, self.op, self.a, self.b, self.order = FLAG, op, a, b, order

    def kids(self):
        return self.a, self.b

    def sides(self, x, m):
        a, b = self.a.ev(x, m), self.b.ev(x, m)
        if self.order is not None:
            a, b = (
                (
                    v
                    if v is None or v is NOTHING
                    else (
                        NOTHING
                        if v is NONE
                        else Decimal(self.order[v])
                        if v in self.order
                        else None
                    )
                )
                for v in (a, b)
            )
        return a, b

    def ev(self, x, m):
        a, b = self.sides(x, m)
        if self.order is not None and (a is None or b is None):
            return NOTHING if NOTHING in (a, b) else None
        return compare(self.op, a, b)


class Gauge(Cond):
    """size is 10 AWG or smaller (or larger)."""

    __slots__ = ("a", "size", "smaller", "order")

    def __init__(self, a, size, smaller, order):
        self.t, self.a, self.size, self.smaller, self.order = FLAG, a, size, smaller, order

    def kids(self):
        return (self.a,)

    def ev(self, x, m):
        v = self.a.ev(x, m)
        if v is None or v is NOTHING:
            return v
        if v is NONE:
            return NOTHING
        if v not in self.order:
            return None
        return (
            self.order[v] <= self.order[self.size]
            if self.smaller
            else self.order[v] >= self.order[self.size]
        )


class Is(Cond):
    """A word is one of a few."""

    __slots__ = ("negated", "a", "words")

    def __init__(self, negated, a, words):
        self.t, self.negated, self.a, self.words = FLAG, negated, a, words

    def kids(self):
        return (self.a,)

    def ev(self, x, m):
        # a told none is an answer, not a hole
        if "none" in self.words and isinstance(self.a, Path):
            o = self.a.holder(x, m)
            if o is None or o is NOTHING:
                return o
            v = o[self.a.slots[-1]]
            if v is None:
                return None
            return (v is NONE or (isinstance(v, list) and not v)) != self.negated
        v = self.a.ev(x, m)
        if v is None or v is NOTHING or v is SOME:
            return None if v is SOME else v
        if v is NONE:
            return NOTHING
        return (v in self.words) != self.negated


class Among(Cond):
    """A value stands in a table."""

    __slots__ = ("negated", "a", "table", "column", "keys", "points")

    def __init__(self, negated, a, table, column, keys):
        self.t, self.negated, self.a, self.table, self.column, self.keys = (
            FLAG,
            negated,
            a,
            table,
            column,
            keys,
        )
        self.points = frozenset(r[column] for r in table.rows)

    def kids(self):
        return (self.a,) + tuple(e for _, e in self.keys)

    def ev(self, x, m):
        v = self.a.ev(x, m)
        if v is NOTHING or v is NONE:
            return NOTHING
        points, sure = self.points, True
        if self.keys:
            known = {}
            for k, e in self.keys:
                kv = e.ev(x, m)
                if kv is NOTHING or kv is NONE:
                    return NOTHING
                known[k] = None if kv is SOME else kv
                sure = sure and known[k] is not None and type(known[k]) is not Range
            points = {r[self.column] for r in self.table.find(known) if r}
        if v is None:
            return None
        if type(v) is Range:
            if any((v.lo is None or p >= v.lo) and (v.hi is None or p <= v.hi) for p in points):
                return None
            return self.negated
        if v in points:
            return (not self.negated) if sure else None
        return self.negated


class Quant(Cond):
    """every, some or no thing of a list is so."""

    __slots__ = ("fn", "list", "where")

    def __init__(self, fn, list_, where):
        self.t, self.fn, self.list, self.where = FLAG, fn, list_, where

    def kids(self):
        return self.list, self.where

    def ev(self, x, m):
        col = self.list.ev(x, m)
        if col is NOTHING:
            return NOTHING
        vs = [self.where.ev(x, y) for y in members(col)]
        if col is not NONE and (not isinstance(col, list) or getattr(col, "open", False)):
            vs.append(None)
        if self.fn == "every":
            return both(vs)
        v = either(vs)
        return v if self.fn == "some" else opposite(v)


def walk(e: Expr):
    """Every piece below and including *e*."""
    yield e
    for k in e.kids():
        yield from walk(k)
