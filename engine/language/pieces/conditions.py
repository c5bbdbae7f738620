"""Pieces of a line that are so or not: a flag, a comparison, a word of a few, a junction."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any

from ...basics.sentinels import NONE, NOTHING
from ...basics.units import SOME, both, compare, either, opposite
from ..things import Thing
from .amounts import Dated, Num, Path
from .piece import FLAG, Emits, Expr, Literal, Member, Show, Spot, Truth, Value

NOT_MET = "False"  # what a test on what lies beyond a none is worth where nothing is met there


class Cond(Expr):
    """A piece that is so or not: it answers yes, no, None (unknown) or NOTHING.

    >>> Cond().t
    ('flag',)
    """

    __slots__ = ()

    def __init__(self) -> None:
        self.t = FLAG


class Flag(Cond):
    """A yes/no fact.

    >>> listed = Flag(Path(FLAG, (1,), ("listed",), ("load",), False, "listed"))
    >>> [listed.ev(["a load", told], None) for told in (True, None, NONE)]
    [True, None, NOTHING]
    """

    __slots__ = ("a",)

    def __init__(self, a: Expr) -> None:
        self.t, self.a = FLAG, a

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    @property
    def deciding(self) -> Path | None:
        return self.a.own_fact

    def literals(self) -> Iterator[Literal]:
        if self.a.own_fact:
            yield self.a.own_fact, ("yes",)

    def ev(self, thing: Thing, member: Member) -> Truth:
        value = self.a.ev(thing, member)
        return NOTHING if value is NONE else value

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return self.a.say(show, thing, member)

    def emit(self, to: Emits, thing: str, member: str) -> str:
        if not isinstance(self.a, Path):
            return self.a.emit(to, thing, member)
        flag = to.variable()
        value = self.a.emit(to, thing, member)
        return f"({flag} if ({flag} := {value}).__class__ is bool else bail())"

    def emit_open(self, to: Emits, nothing: str) -> str:
        fact = self.a.own_fact
        return to.answered(fact, "{True}", True, nothing) if fact else ""


class Not(Cond):
    """A condition turned round.

    >>> told = Flag(Path(FLAG, (1,), ("listed",), ("load",), False, "listed"))
    >>> [Not(told).ev(["a load", value], None) for value in (True, False, None)]
    [False, True, None]
    """

    __slots__ = ("a",)

    def __init__(self, a: Expr) -> None:
        self.t, self.a = FLAG, a

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    @property
    def deciding(self) -> Path | None:
        # a flag turned round is one; of a comparison its unknown would have to be turned, too
        return self.a.deciding if isinstance(self.a, Flag) else None

    def literals(self) -> Iterator[Literal]:
        if self.deciding:
            yield self.deciding, ("no",)

    def ev(self, thing: Thing, member: Member) -> Truth:
        return opposite(self.a.ev(thing, member))

    @property
    def operation(self) -> str:
        return "not"

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return f"not {self.a.say(show, thing, member)}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        return f"(not {self.a.emit(to, thing, member)})"

    def emit_open(self, to: Emits, nothing: str) -> str:
        if self.deciding:
            return to.answered(self.deciding, "{True}", False, nothing)
        inner, met = self.a.emit_open(to, "NONE"), to.variable()
        if not inner:
            return ""
        return (
            f"(None if ({met} := {inner}) is None else {nothing} if {met} is NONE else not {met})"
        )


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

    def literals(self) -> Iterator[Literal]:
        if self.all:
            yield from (one for part in self.xs for one in part.literals())

    def ev(self, thing: Thing, member: Member) -> Truth:
        return (both if self.all else either)([e.ev(thing, member) for e in self.xs])

    def rests_on(self, thing: Thing, member: Member) -> Iterator[Spot]:
        """The piece that decides it alone, where one does; else all of them."""
        for piece in self.xs:
            met = piece.ev(thing, member)
            if is_unmet(met) if self.all else met is True:
                yield piece, thing, member
                return
        yield from ((piece, thing, member) for piece in self.xs)

    @property
    def operation(self) -> str:
        return "all" if self.all else "any"

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return (" and " if self.all else " or ").join(x.say(show, thing, member) for x in self.xs)

    def emit(self, to: Emits, thing: str, member: str) -> str:
        word = " and " if self.all else " or "
        return "(" + word.join(part.emit(to, thing, member) for part in self.xs) + ")"

    def emit_open(self, to: Emits, nothing: str) -> str:
        parts = [(part.emit_open(to, NOT_MET), part) for part in self.xs]
        if not any(text for text, _ in parts):
            return ""
        # what may raise comes last
        parts.sort(key=lambda part: not part[0])
        tests = [
            (to.variable(), text or part.emit(to, "x", "m"), bool(text)) for text, part in parts
        ]
        unknown = " or ".join(f"{met} is None" for met, _, may_be in tests if may_be)
        if self.all:
            fails = " or ".join(f"({met} := {text}) is False" for met, text, _ in tests)
            return f"(False if {fails} else None if {unknown} else True)"
        passes = " or ".join(f"({met} := {text})" for met, text, _ in tests)
        return f"(True if {passes} else None if {unknown} else False)"


class Cmp(Cond):
    """A comparison of two numbers, or of two sizes by their order in the table.

    >>> from whywire.engine.language.expressions import Word_
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

    @property
    def deciding(self) -> Path | None:
        return self.a.own_fact if self.b.written else None

    def ev(self, thing: Thing, member: Member) -> Truth:
        a, b = self.sides(thing, member)
        if self.order is not None and (a is None or b is None):
            # of a size that is unknown not even the sign is known, which `compare` would go by
            return NOTHING if NOTHING in (a, b) else None
        return compare(self.op, a, b)

    @property
    def operation(self) -> str:
        return self.op

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        return f"{self.a.say(show, thing, member)} {self.op} {self.b.say(show, thing, member)}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        a, b = self.a.emit(to, thing, member), self.b.emit(to, thing, member)
        if self.order is not None:
            order = to.constant(self.order, id(self.order))
            return f"({order}[{a}] {_in_python(self.op)} {order}[{b}])"
        if self.op == "=":
            return f"equal({a}, {b})"
        if self.op == "!=":
            return f"(not equal({a}, {b}))"
        return f"({a} {self.op} {b})"

    def emit_open(self, to: Emits, nothing: str) -> str:
        # a quantity that is not known is 0 or more: a comparison with more than 0 is open
        fact, limit = self.a.own_fact, self.b
        if fact is None or fact.t[0] != "q" or not isinstance(limit, (Num, Dated)):
            return ""
        if limit.value.__class__ not in (Decimal, Fraction) or not limit.value > 0:
            return ""
        name, op = to.constant(limit.value), _in_python(self.op)
        return to.known(fact, "in NUMBERS", lambda value: f"{value} {op} {name}", nothing)


def _place(size: Value, order: dict[str, int]) -> Value:
    """The place of a size in the order of its table, as a number."""
    if size is None or size is NOTHING:
        return size
    if size is NONE:
        return NOTHING
    return Decimal(order[size]) if size in order else None


def _in_python(op: str) -> str:
    return "==" if op == "=" else op


class Gauge(Cond):
    """size is 10 AWG or smaller (or larger).

    >>> from whywire.engine.language.expressions import Word_
    >>> order = {"14 AWG": 0, "12 AWG": 1, "10 AWG": 2}
    >>> size = Word_(("row", "wires"), "12 AWG")
    >>> Gauge(size, "10 AWG", True, order).ev([], None)
    True
    """

    __slots__ = ("a", "size", "smaller", "order")

    def __init__(self, a: Expr, size: str, smaller: bool, order: dict[str, int]) -> None:
        self.t, self.a, self.size, self.smaller, self.order = FLAG, a, size, smaller, order

    def kids(self) -> tuple[Expr, ...]:
        return (self.a,)

    @property
    def deciding(self) -> Path | None:
        return self.a.own_fact

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

    @property
    def operation(self) -> str:
        return "gauge"

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        ends = "smaller" if self.smaller else "larger"
        return f"{self.a.say(show, thing, member)} is {self.size} or {ends}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        return f"({self._held(to, self.a.emit(to, thing, member))})"

    def emit_open(self, to: Emits, nothing: str) -> str:
        fact = self.a.own_fact
        if fact is None:
            return ""
        return to.known(fact, "is str", lambda size: self._held(to, size), nothing)

    def _held(self, to: Emits, size: str) -> str:
        """A size, whose text is given, held against that of the line by their order."""
        order = to.constant(self.order, id(self.order))
        return f"{order}[{size}] {'<=' if self.smaller else '>='} {self.order[self.size]}"


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

    @property
    def deciding(self) -> Path | None:
        # whether there is no such thing is asked on the way to it
        return None if "none" in self.words else self.a.own_fact

    def literals(self) -> Iterator[Literal]:
        fact = self.deciding
        if fact and fact.t[0] in ("choice", "row", "text"):
            yield fact, ("not" if self.negated else "is", tuple(sorted(self.words)))

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

    @property
    def operation(self) -> str:
        return "is"

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        words = f"{'not ' if self.negated else ''}{' or '.join(self.words)}"
        return f"{self.a.say(show, thing, member)} is {words}"

    def emit(self, to: Emits, thing: str, member: str) -> str:
        # a told none is an answer here, and not a word: the general evaluator knows
        if "none" in self.words:
            return "bail()"
        word = to.variable()
        value = self.a.emit(to, thing, member)
        return f"(({self._within(word)}) if ({word} := {value}).__class__ is str else bail())"

    def emit_open(self, to: Emits, nothing: str) -> str:
        fact = self.a.own_fact
        if fact is None:
            return ""
        if "none" in self.words:
            return self._emit_none(to, fact, nothing)
        return to.answered(fact, self._listed(), not self.negated, nothing) or to.known(
            fact, "is str", self._within, nothing
        )

    def _listed(self) -> str:
        # sorted, so that every start emits the same text
        return "{" + ", ".join(map(repr, sorted(map(str, self.words)))) + "}"

    def _within(self, word: str) -> str:
        return f"{word} {'not in' if self.negated else 'in'} {self._listed()}"

    def _emit_none(self, to: Emits, fact: Path, nothing: str) -> str:
        """Is there no such thing? An empty list is none, too."""
        value, holder = to.variable(), to.variable()
        if fact.t[0] == "ref":
            said = f"{value} is {'not ' if self.negated else ''}NONE"
        else:
            said = (
                f"({value} is NONE or isinstance({value}, list) and not {value}) is"
                f" {not self.negated}"
            )
        *links, last = fact.slots
        if not links:
            return f"(None if ({value} := x[{last}]) is None else {said})"
        return (
            f"(None if ({holder} := {to.reach(links)}) is None else {nothing} if {holder} is NONE"
            f" else None if ({value} := {holder}[{last}]) is None else {said})"
        )


def is_unmet(met: Value) -> bool:
    """Is a condition surely not so? What lies beyond a none meets nothing.

    >>> is_unmet(False), is_unmet(NOTHING), is_unmet(None)
    (True, True, False)
    """
    return met is False or met is NOTHING or met is NONE
