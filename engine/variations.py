"""Other examples that a rule could have, made from the ones it has by changing one fact or two.

Each fact a rule reads is set in turn to what makes a difference in that rule: the choices and sizes it names and their
neighbours, yes, no, and the numbers that lie at a limit and just beside it. What such an example gives is computed; a
person says whether it is right before it is kept.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from . import expressions as ex
from .coverage import Watch, between_key, has_limit, in_order, lines_of, plain, spots
from .errors import Fault
from .examples import UNKNOWN, Stub, each, expectation, rows_of
from .knowledge import Knowledge
from .rules import Rule
from .units import POINTS, Range, parse_quantity, show_number, to_base

MOST = 4000        # examples tried for one that is wanted


class Variations:
    """The examples near those of one rule."""

    def __init__(self, k: Knowledge, r: Rule) -> None:
        self.k, self.r = k, r
        self.exprs = [e for _, e in lines_of(r)]
        self.pieces = [n for e in self.exprs for n in ex.walk(e)]
        self.limits = [n for n in self.pieces if has_limit(n)]
        es = [d for d in r.d.get("examples", []) if isinstance(d, dict)]
        es.sort(key=lambda d: (d.get("answer") in ("does not apply", "cannot tell"), d.get("holds") in ("no", "cannot tell"), len(d.get("given", {})) == 0))
        self.bases: list[dict] = []
        for d in es:
            for given in each({str(p): v for p, v in d.get("given", {}).items()}):
                if given not in self.bases:
                    self.bases.append(given)
        self.bases = self.bases or [{}]

    # ---- changes
    def near(self, first: list[ex.Expr] | None = None) -> Iterator[dict]:
        """Facts of examples with one of them changed, then two; facts that *first* reads before the others."""
        paths = self._paths(first) if first else []
        paths += [p for p in self._paths(self.exprs) if p not in paths]
        for base in self.bases:
            for p in paths:
                yield from self.changed(base, p)
        for base in self.bases[:4]:
            for p in paths[:6]:
                for one in self.changed(base, p):
                    for q in paths[:8]:
                        if q is not p:
                            yield from self.changed(one, q)

    def _paths(self, exprs: list[ex.Expr]) -> list[tuple]:
        """(list it is in, its way there, word of its kind ...) of every fact read, each once."""
        out: list[tuple] = []

        def look(e: ex.Expr, over: str | None, kind: str) -> None:
            if isinstance(e, ex.Path):
                if not e.names:
                    return
                item = (over, e.said.rsplit(" of ", 1)[0] if e.member else e.said, e.kinds[0]) if e.member or over is None else (None, e.said, self.r.about)
                if e.t[0] != "many" and item not in out:
                    out.append(item)
                return
            if isinstance(e, (ex.Over, ex.Quant)):
                item = (None, e.list.said, self.r.about)
                if not e.list.member and item not in out:
                    out.append(item)
                for part in (e.where, getattr(e, "body", None)):
                    if part is not None:
                        look(part, e.list.said, e.list.t[1])
                return
            for kid in e.kids():
                look(kid, over, kind)

        for e in exprs:
            look(e, None, self.r.about)
        return out

    def changed(self, given: dict, path: tuple) -> Iterator[dict]:
        """*given* with one fact set to everything that matters."""
        over, said, kind = path
        if over is None:
            key = self._key(given, kind, said)
            for v in self.values(given, path):
                yield {**given, key: v}
            return
        key = self._key(given, self.r.about, over)
        there = given.get(key)
        items = there if isinstance(there, list) else []
        for i, member in enumerate(items):
            inner = self._key(member, kind, said)
            for v in self.values(given, path, i):
                yield {**given, key: [*items[:i], {**member, inner: v}, *items[i + 1:]]}
                if v != member.get(inner):
                    yield {**given, key: [*items, {**member, inner: v}]}
        if not items:
            for v in self.values({**given, key: [{}]}, path, 0):
                yield {**given, key: [{said: v}]}

    def _key(self, given: dict, kind: str, said: str) -> str:
        """The name under which *given* tells the fact, or its own."""
        spelled = tuple(w.name for w in Stub(self.k).words(kind, said))
        for g in given:
            try:
                if tuple(w.name for w in Stub(self.k).words(kind, g)) == spelled:
                    return g
            except Fault:
                continue
        return said

    def values(self, given: dict, path: tuple, i: int = 0) -> Iterator:
        """What the fact may be set to, in the form of an example."""
        over, said, kind = path
        word = Stub(self.k).words(kind, said)[-1]
        sort = word.type[0]
        now = self._now(given, path, i)
        if sort == "flag":
            yield from ("yes", "no")
        elif sort == "choice":
            named = [w for n in self.pieces if isinstance(n, (ex.Is, ex.Word_)) for w in (n.words if isinstance(n, ex.Is) else [n.value]) if w in word.type[1]]
            others = [w for w in word.type[1] if w not in named]
            yield from dict.fromkeys([*named, *others[:3]])
        elif sort == "row":
            rows = rows_of(self.k, word.type[1])
            named = [now] if now in rows else []
            for n in self.pieces:
                named += [n.size] if isinstance(n, ex.Gauge) else [w for w in n.words] if isinstance(n, ex.Is) else [n.value] if isinstance(n, ex.Word_) else []
            at = [rows.index(w) for w in named if w in rows]
            yield from (rows[j] for j in dict.fromkeys(a + d for a in at for d in (0, -1, 1)) if 0 <= j < len(rows))
            if not at:
                yield from rows[:: max(1, len(rows) // 6)]
        elif sort == "many":
            items = now if isinstance(now, list) else []
            yield from ([], [{}], [{}, {}], *([items[:-1], [*items, items[-1]]] if items else []))
        elif sort == "q":
            yield from dict.fromkeys(self.numbers(given, path, word.type[2], i))
            if (m := re.fullmatch(r"([\d.]+)( .*)?", str(self._now(given, path, i) or ""))) is not None:
                n = Decimal(m[1])
                yield from (f"{q:f}{m[2] or ''}" for q in ((2 * n, n / 2) if n else (Decimal(5), Decimal(10))))
        if sort in ("row", "ref") or word.part == "optional":
            yield "none"
        if sort not in ("ref", "many"):
            yield UNKNOWN

    def _now(self, given: dict, path: tuple, i: int):
        """What *given* says of the fact."""
        over, said, kind = path
        if over is not None:
            given = given[self._key(given, self.r.about, over)][i]
        return given.get(self._key(given, kind, said))

    def numbers(self, given: dict, path: tuple, unit: str, i: int) -> Iterator[str]:
        """Numbers at the limits that this fact bears on, and a step to both sides."""
        if unit == "date":
            return
        for n in self.limits:
            for goal, v in self._solved(n, given, path, unit, i):
                for q in (v, *beside(v, unit)):
                    if (text := written(q, unit)) is not None:
                        yield text

    def _solved(self, n: ex.Expr, given: dict, path: tuple, unit: str, i: int) -> Iterator[tuple]:
        """Where *n* comes to its limit, taken to run in a straight line as this fact changes."""
        def put(v):
            over, said, kind = path
            g = dict(given)
            if over is None:
                g[self._key(given, kind, said)] = v
            else:
                key = self._key(given, self.r.about, over)
                items = list(g[key])
                items[i] = {**items[i], self._key(items[i], kind, said): v}
                g[key] = items
            return Stub(self.k).thing(self.r.about, g)

        def ends_of(v) -> list:
            try:
                x = put(v)
            except Fault:
                return []
            out = []
            for e in self.exprs:
                for m, y, row in spots(e, x):
                    if m is n:
                        out.append(_above(n, y, row))
            return out

        a, b = Fraction(7), Fraction(8)
        va, vb = ends_of(written(a, unit)), ends_of(written(b, unit))
        if len(va) != len(vb):
            return
        for one, two in zip(va, vb):
            for goal in sorted(set(one) & set(two)):
                if one[goal] != two[goal]:
                    yield goal, a - one[goal] * (b - a) / (two[goal] - one[goal])


def _above(n: ex.Expr, x: list, m) -> dict:
    """limit -> how far the value lies above it."""
    if in_order(n):
        return {}
    if isinstance(n, ex.Cmp):
        a, b = n.sides(x, m)
        if isinstance(a, Range) and a.lo is not None and a.hi is not None and plain(b):
            return {0: Fraction(a.lo) - Fraction(b), 1: Fraction(a.hi) - Fraction(b)}
        return {0: Fraction(a) - Fraction(b)} if plain(a) and plain(b) else {}
    if isinstance(n, ex.Look):
        keys = n.known_keys(x, m) or {}
        k = between_key(n)
        v = keys.pop(k, None)
        points = sorted({row[k] for row in n.table.find(keys) if row})
    elif isinstance(n, ex.Step):
        v, points = n.a.ev(x, m), n.points
    else:
        v, half = n.a.ev(x, m), Fraction(n.step.value) / 2 if n.how == "half up" else Fraction(0)
        points = [Fraction(n.step.value) * j + half for j in (1, 2, 5, 10)]
    return {Fraction(p): Fraction(v) - Fraction(p) for p in points} if plain(v) else {}


def beside(v: Fraction, unit: str) -> tuple:
    """The numbers just under and just over *v* that take no more digits than needed: one of a count, else a hundredth or so."""
    step = Fraction(1)
    if unit != "count" or v.denominator != 1 or abs(v) >= 100:
        step /= 10
        while step < 1 and step * 100 <= abs(v):
            step *= 10
        while v and step * 50 > abs(v) and step > Fraction(1, 1000):
            step /= 10
    return (-(-v // step) - 1) * step, (v // step + 1) * step


def written(q: Fraction, unit: str) -> str | None:
    """A number as an example writes it; None where it does not come out even or is less than nothing."""
    if q < 0 and unit not in POINTS:
        return None
    text = show_number(to_base(q, unit), unit).replace(",", "")
    try:
        return text if parse_quantity(text, unit)[0] == to_base(q, unit) else None
    except Fault:
        return None


def example_line(k: Knowledge, r: Rule, given: dict) -> str:
    """The example with these facts, as it is pasted under `examples:`."""
    return "- " + flow({"given": given, **expectation(k, r, given)})


def flow(v) -> str:
    """Plain data on one line of YAML."""
    if isinstance(v, dict):
        return "{" + ", ".join(f"{k}: {flow(x)}" for k, x in v.items()) + "}"
    if isinstance(v, list):
        return "[" + ", ".join(map(flow, v)) + "]"
    text = str(v)
    return f'"{text}"' if any(c in text for c in ",:{}[]#\"'") else text


def example_for(k: Knowledge, r: Rule, piece, side) -> dict | None:
    """The facts of an example that shows *piece* from *side*, as few as do it; None where none is found."""
    w = Watch(k, r)
    mine = next(p for p in w.pieces if (p.sort, p.text, p.sides) == (piece.sort, piece.text, piece.sides))

    def shows(given: dict) -> bool:
        try:
            return any(p is mine and s == side for p, s in w.shown(given))
        except (Fault, AttributeError, TypeError):
            return False

    for _, given in zip(range(MOST), Variations(k, r).near([mine.e] if mine.e is not None else None)):
        if shows(given):
            said = expectation(k, r, given)
            off = "does not apply" in said.values() or "no" in said.values()
            return shortened(given, lambda less: shows(less) and expectation(k, r, less) == said) if off else given
    return None


def ready(k: Knowledge, r: Rule, piece, side) -> str:
    """The line to paste for an example that is lacking; empty where none was found."""
    given = example_for(k, r, piece, side)
    return example_line(k, r, given) if given is not None else ""


def example_against(k: Knowledge, r: Rule, other: Rule) -> dict | None:
    """The facts of an example on which *r* and *other* say different things; None where none is found."""
    for n, given in zip(range(MOST), Variations(k, r).near()):
        try:
            if expectation(k, r, given) != expectation(k, other, given):
                return given
        except (Fault, AttributeError, TypeError):
            continue
    return None


def shortened(given: dict, good) -> dict:
    """*given* without the facts that it can do without, as long as it is *good*."""
    for path in list(given):
        less = {p: v for p, v in given.items() if p != path}
        if good(less):
            given = less
    return given
