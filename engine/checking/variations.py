"""Other examples that a rule could have, made from the ones it has by changing one fact or two.

Each fact a rule reads is set in turn to what makes a difference in that rule: the choices and sizes
it names and their neighbours, yes, no, and the numbers that lie at a limit and just beside it. What
such an example gives is computed; a person says whether it is right before it is kept.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from ..basics.errors import Fault
from ..basics.units import POINTS, parse_quantity, show_number, to_base
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import Rule
from .coverage import Piece, Watch, lines_of, spots
from .examples import UNKNOWN, Given, Stub, each, expectation, rows_of
from .thresholds import Measured, threshold_of

MOST = 4000  # examples tried for one that is wanted
MOST_LIMITS = 40  # limits of one table that are tried


class Fact(NamedTuple):
    """A fact that a rule reads: of the thing itself, or of the members of one of its lists."""

    over: str | None  # the list
    said: str  # the way to it from the thing, or from the member
    kind: str


class Variations:
    """The examples near those of one rule."""

    def __init__(self, k: Knowledge, r: Rule) -> None:
        self.k, self.r = k, r
        self.exprs = [e for _, e in lines_of(r)]
        self.pieces = [n for e in self.exprs for n in ex.walk(e)]
        limits = [(n, threshold_of(n)) for n in self.pieces]
        self.limits = [n for n, limit in limits if limit is not None and not limit.in_order]
        es = [d for d in r.d.get("examples", []) if isinstance(d, dict)]
        # the fullest first
        es.sort(
            key=lambda d: (
                d.get("answer") in ("does not apply", "cannot tell"),
                d.get("holds") in ("no", "cannot tell"),
                not d.get("given"),
            )
        )
        self.bases: list[Given] = []
        for d in es:
            for given in each({str(p): v for p, v in d.get("given", {}).items()}):
                if given not in self.bases:
                    self.bases.append(given)
        self.bases = self.bases or [{}]

    # ---- changes
    def near(self, first: ex.Expr | None = None) -> Iterator[Given]:
        """Facts of examples with one of them changed, then two; facts that *first* reads before the
        others.
        """
        facts = list(
            dict.fromkeys(
                f
                for e in ([first] if first is not None else []) + self.exprs
                for f in self._facts(e)
            )
        )
        for base in self.bases:
            for f in facts:
                yield from self.changed(base, f)
        # two facts at once are tried of few examples and few facts: they multiply, and one fact is
        # nearly always enough
        for base in self.bases[:4]:
            for f in facts[:6]:
                for one in self.changed(base, f):
                    for g in facts[:8]:
                        if g is not f:
                            yield from self.changed(one, g)

    def _facts(self, e: ex.Expr, over: str | None = None) -> Iterator[Fact]:
        """Every fact that a piece of a line reads."""
        if isinstance(e, ex.Path):
            # how many things a list has is varied where something is asked of them, below
            if e.names and e.t[0] != "many":
                yield (
                    Fact(over, e.said.rsplit(" of ", 1)[0], e.kinds[0])
                    if e.member
                    else Fact(None, e.said, self.r.about)
                )
        elif isinstance(e, (ex.Over, ex.Quant)):
            if not e.list.member:
                yield Fact(None, e.list.said, self.r.about)
            for part in (e.where, getattr(e, "body", None)):
                if part is not None:
                    yield from self._facts(part, e.list.said)
        else:
            for kid in e.kids():
                yield from self._facts(kid, over)

    def changed(self, given: Given, f: Fact) -> Iterator[Given]:
        """*given* with one fact set to everything that matters."""
        if f.over is None:
            yield from (self._with(given, f, v) for v in self.values(given, f))
            return
        key = self._key(given, self.r.about, f.over)
        items = given[key] if isinstance(given.get(key), list) else []
        for i, member in enumerate(items):
            for v in self.values(given, f, i):
                yield self._with(given, f, v, i)
                # one more member beside the one that is told: what holds of each of several is seen
                # of no single one
                if v != member.get(self._key(member, f.kind, f.said)):
                    yield {**given, key: [*items, {**member, self._key(member, f.kind, f.said): v}]}
        if not items:
            one = {**given, key: [{}]}
            yield from (self._with(one, f, v) for v in self.values(one, f))

    def _with(self, given: Given, f: Fact, v: Any, i: int = 0) -> Given:
        """*given* with a fact, of the member *i* of a list where it is one of those, set to *v*."""
        if f.over is None:
            return {**given, self._key(given, f.kind, f.said): v}
        key = self._key(given, self.r.about, f.over)
        items = given[key]
        return {
            **given,
            key: [
                *items[:i],
                {**items[i], self._key(items[i], f.kind, f.said): v},
                *items[i + 1 :],
            ],
        }

    def _now(self, given: Given, f: Fact, i: int) -> Any:
        """What *given* says of the fact."""
        if f.over is not None:
            given = given[self._key(given, self.r.about, f.over)][i]
        return given.get(self._key(given, f.kind, f.said))

    def _key(self, given: Given, kind: str, said: str) -> str:
        """The name under which *given* tells the fact, or its own."""
        links = Stub(self.k).words(kind, said)
        for g in given:
            with contextlib.suppress(Fault):
                if Stub(self.k).words(kind, g) == links:
                    return g
        return said

    # ---- values
    def values(self, given: Given, f: Fact, i: int = 0) -> Iterator[Any]:
        """What the fact may be set to, in the form of an example."""
        word, now = Stub(self.k).words(f.kind, f.said)[-1], self._now(given, f, i)
        sort = word.type[0]
        if sort == "flag":
            yield from ("yes", "no")
        elif sort == "choice":
            yield from self._choices(word.type[1])
        elif sort == "row":
            yield from self._rows(rows_of(self.k, word.type[1]), now)
        elif sort == "many":
            yield from _lists(now if isinstance(now, list) else [])
        elif sort == "q":
            yield from dict.fromkeys(self.numbers(given, f, str(word.unit), i))
            yield from _multiples(str(now))
        # that there is none is an answer of its own, and no rule may take it for one that is not
        # known
        if sort in ("row", "ref") or word.part == "optional":
            yield "none"
        # left untold, a rule must say cannot tell: an example of that is wanted of each
        if sort not in ("ref", "many"):
            yield UNKNOWN

    def _named(self) -> list[Any]:
        """The words and sizes that the rule names."""
        return [word for piece in self.pieces for word in _words_named(piece)]

    def _choices(self, choices: tuple[str, ...]) -> Iterator[str]:
        """The choices that the rule names, and a few others."""
        mine = [word for word in self._named() if word in choices]
        # one that the rule does not name is as good as another to show that it does not apply
        others = [choice for choice in choices if choice not in mine][:3]
        yield from dict.fromkeys([*mine, *others])

    def _rows(self, rows: list[str], now: Any) -> Iterator[str]:
        """The sizes that the rule names, the one that is told, and their neighbours; where there
        are none of these, some of them all.
        """
        at = [rows.index(word) for word in [now, *self._named()] if word in rows]
        beside = dict.fromkeys(i + step for i in at for step in (0, -1, 1))
        yield from (rows[i] for i in beside if 0 <= i < len(rows))
        if not at:
            yield from rows[:: max(1, len(rows) // 6)]

    def numbers(self, given: Given, f: Fact, unit: str, i: int) -> Iterator[str]:
        """Numbers at the limits that this fact bears on, and a step to both sides."""
        for n in self.limits if unit != "date" else ():
            for v in self._at_the_limits(n, given, f, unit, i):
                yield from (
                    text for q in (v, *beside(v, unit)) if (text := written(q, unit)) is not None
                )

    def _at_the_limits(
        self, n: ex.Expr, given: Given, f: Fact, unit: str, i: int
    ) -> Iterator[Fraction]:
        """Where *n* comes to its limits, taken to run in a straight line as this fact changes."""
        limit = threshold_of(n)
        assert limit is not None  # what has none is not looked at

        def above(q: Fraction) -> list[dict[tuple[int, Any], Fraction]]:
            """Of each spot: limit -> how far the value lies above it, its two ends apart."""
            try:
                x = Stub(self.k).thing(self.r.about, self._with(given, f, written(q, unit), i))
            except Fault:
                return []
            return [
                _above(limit.measured(y, m))
                for e in self.exprs
                for piece, y, m in spots(e, x)
                if piece is n
            ]

        # any two points of a straight line do
        a, b = Fraction(7), Fraction(8)
        # where it does not run straight the number is just no limit, and the example that is made
        # of it shows nothing
        for one, two in zip(above(a), above(b)):
            yield from (
                a - one[p] * (b - a) / (two[p] - one[p])
                for p in sorted(set(one) & set(two))
                if one[p] != two[p]
            )


def _above(found: Measured | None) -> dict[tuple[int, Any], Fraction]:
    """(end, limit) -> how far each end of a value lies above each limit."""
    values, limits = found or ((), ())
    return {
        (end, limit): Fraction(value) - Fraction(limit)
        for end, value in enumerate(values)
        for limit in limits[:MOST_LIMITS]
    }


def _words_named(piece: ex.Expr) -> list[Any]:
    """The words and sizes that a piece of a line names."""
    if isinstance(piece, ex.Is):
        return list(piece.words)
    if isinstance(piece, ex.Word_):
        return [piece.value]
    return [piece.size] if isinstance(piece, ex.Gauge) else []


def _lists(items: list[Any]) -> Iterator[list[Any]]:
    """No thing, one and two; and of a list that is told one less and one more."""
    yield from ([], [{}], [{}, {}])
    if items:
        yield items[:-1]
        yield [*items, items[-1]]


def _multiples(text: str) -> Iterator[str]:
    """A number twice and half; two others in the place of zero."""
    found = re.fullmatch(r"([\d.]+)( .*)?", text)
    if found is not None:
        q = Decimal(found[1])
        for other in (2 * q, q / 2) if q else (Decimal(5), Decimal(10)):
            yield f"{other:f}{found[2] or ''}"


def beside(v: Fraction, unit: str) -> tuple[Fraction, Fraction]:
    """The numbers just under and just over *v* that take no more digits than needed: one of a
    count, else a hundredth or so.
    """
    step = Fraction(1)
    if unit != "count" or v.denominator != 1 or abs(v) >= 100:
        step /= 10
        while step < 1 and step * 100 <= abs(v):
            step *= 10
        # a step of more than a fiftieth would not be just under or over it
        while v and step * 50 > abs(v) and step > Fraction(1, 1000):
            step /= 10
    return (-(-v // step) - 1) * step, (v // step + 1) * step


def written(q: Fraction, unit: str) -> str | None:
    """A number as an example writes it; None where it does not come out even or is less than
    nothing.

    >>> written(Fraction(3, 2), "A"), written(Fraction(-1), "A")
    ('1.5 A', None)
    """
    # a temperature may lie below zero, and nothing else that a job tells
    if q < 0 and unit not in POINTS:
        return None
    text = show_number(to_base(q, unit), unit).replace(",", "")
    try:
        # a number that does not come out even would be another one when it is read back
        return text if parse_quantity(text, unit)[0] == to_base(q, unit) else None
    except Fault:
        return None


def example_line(k: Knowledge, r: Rule, given: Given) -> str:
    """The example with these facts, as it is pasted under `examples:`."""
    return "- " + flow({"given": given, **expectation(k, r, given)})


def flow(v: Any) -> str:
    """Plain data on one line of YAML."""
    if isinstance(v, dict):
        return "{" + ", ".join(f"{k}: {flow(x)}" for k, x in v.items()) + "}"
    if isinstance(v, list):
        return "[" + ", ".join(map(flow, v)) + "]"
    text = str(v)
    return f'"{text}"' if any(c in text for c in ",:{}[]#\"'") else text


def example_for(k: Knowledge, r: Rule, piece: Piece, side: Any) -> Given | None:
    """The facts of an example that shows *piece* from *side*, as few as do it; None where none is
    found.
    """
    w = Watch(k, r)
    mine = next(
        p for p in w.pieces if (p.sort, p.text, p.sides) == (piece.sort, piece.text, piece.sides)
    )

    def shows(given: Given) -> bool:
        try:
            return any(p is mine and s == side for p, s in w.shown(given))
        except (Fault, AttributeError, TypeError):
            return False

    for _, given in zip(range(MOST), Variations(k, r).near(mine.e)):
        if shows(given):
            said = expectation(k, r, given)
            off = "does not apply" in said.values() or "no" in said.values()
            return (
                shortened(given, lambda less: shows(less) and expectation(k, r, less) == said)
                if off
                else given
            )
    return None


def ready(k: Knowledge, r: Rule, piece: Piece, side: Any) -> str:
    """The line to paste for an example that is lacking; empty where none was found."""
    given = example_for(k, r, piece, side)
    return example_line(k, r, given) if given is not None else ""


def example_against(k: Knowledge, r: Rule, other: Rule) -> Given | None:
    """The facts of an example on which *r* and *other* say different things; None where none is
    found.
    """
    for _, given in zip(range(MOST), Variations(k, r).near()):
        try:
            if expectation(k, r, given) != expectation(k, other, given):
                return given
        except (Fault, AttributeError, TypeError):
            continue
    return None


def shortened(given: Given, good: Callable[[Given], bool]) -> Given:
    """*given* without the facts that it can do without, as long as it is *good*."""
    for path in list(given):
        less = {p: v for p, v in given.items() if p != path}
        if good(less):
            given = less
    return given
