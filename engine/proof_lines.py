"""The lines of rules for the proof check: a parser, interval arithmetic and answers of its own."""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction as F
from functools import lru_cache
from math import floor

from .proof_reading import NONE, NOTHING, POINT, SOME, STEP, UNITS, Many, as_list, base

def span(v) -> tuple:
    return v if isinstance(v, tuple) and not isinstance(v, Many) else (None, None)


def between(lo, hi):
    return None if lo is None and hi is None else (lo, hi)


def arith(op: str, a, b):
    """Interval arithmetic; zero times an unknown amount is zero, and nothing is divided by what may be zero."""
    if NOTHING in (a, b):
        return NOTHING
    if op == "±":
        return between(span(arith("-", a, b))[0], span(arith("+", a, b))[1])
    (al, ah), (bl, bh) = span(a), span(b)
    if op in "+-":
        bl, bh = (bl, bh) if op == "+" else (None if bh is None else -bh, None if bl is None else -bl)
        return between(None if None in (al, bl) else al + bl, None if None in (ah, bh) else ah + bh)
    if op == "÷":
        if bh is not None and bh < 0:
            b = bl, bh = 1 / bh, F(0) if bl is None else 1 / bl
        elif bl is None or bl < 0 or (bl == 0 and not bh):
            return None
        else:
            b = bl, bh = F(0) if bh is None else 1 / bh, None if bl == 0 else 1 / bl
    if a is None or b is None:
        return None
    if (0, 0) in (a, b):
        return F(0), F(0)
    if None not in (al, ah, bl, bh):
        corners = [x * y for x in (al, ah) for y in (bl, bh)]
        return min(corners), max(corners)
    return (al * bl, None if None in (ah, bh) else ah * bh) if al is not None and bl is not None and al >= 0 and bl >= 0 else None


def extreme(least: bool, vs: list):
    if NOTHING in vs:
        return NOTHING
    los, his = [span(v)[0] for v in vs], [span(v)[1] for v in vs]
    if least:
        return between(None if None in los else min(los), min((h for h in his if h is not None), default=None))
    return between(max((lo for lo in los if lo is not None), default=None), None if None in his else max(his))


def fold(fn: str, taken: list, open_: bool, default):
    """Total, count, smallest or largest of (surely counted?, amount)."""
    es = [(sure is True, *span(v)) for sure, v in taken]
    lows, highs, sure = [lo for _, lo, _ in es], [hi for *_, hi in es], [e for e in es if e[0]]
    if fn in ("total", "count"):
        hi = None if open_ or None in highs else sum(highs, F(0))
        if all(lo is not None and lo >= 0 for lo in lows):
            return between(sum((lo for _, lo, _ in sure), F(0)), hi)
        return between(None if hi is None or None in lows else sum(lows, F(0)), hi)
    if not es and not open_:
        return NOTHING if default is None else default
    best, near, far = (min, 1, 2) if fn == "smallest" else (max, 2, 1)
    reach = [e[near] for e in es] + ([span(default)[near - 1]] if default is not None and not sure else [])
    edge = None if open_ or not reach or None in reach else best(reach)
    known = [e[far] for e in sure if e[far] is not None]
    surely = best(known) if known else span(default)[0] if default is not None and fn == "largest" else None
    return between(edge, surely) if fn == "smallest" else between(surely, edge)


def compare(op: str, a, b):
    if NOTHING in (a, b):
        return NOTHING
    (al, ah), (bl, bh) = span(a), span(b)
    if op in ("<", "<="):
        (al, ah), (bl, bh), op = (bl, bh), (al, ah), op.replace("<", ">")
    over, under = None not in (al, bh) and al - bh, None not in (ah, bl) and ah - bl   # least and greatest difference, where known
    if op in ("=", "!="):
        apart = (over is not False and over > 0) or (under is not False and under < 0)
        same = None not in (al, bl) and al == ah == bl == bh
        return None if not (apart or same) else apart == (op == "!=")
    yes, no = (over is not False and (over >= 0 if op == ">=" else over > 0)), (under is not False and (under < 0 if op == ">=" else under <= 0))
    return True if yes else False if no else None


def both(vs):
    return False if any(v is False or v == NOTHING for v in vs) else None if any(v is None for v in vs) else True


def either(vs):
    return True if any(v is True for v in vs) else None if any(v is None for v in vs) else False


def opposite(v):
    return v if v is None or v == NOTHING else not v


# ---- lines, as nested tuples
RESERVED = frozenset("of over where by from is not and or total smallest largest smaller larger how stepped rounded square among every some no".split())
TOKEN = re.compile(r"\s*(?:(?P<size>\d+(?:/0)?\s?(?:AWG|kcmil))(?!\w)|(?P<num>\d[\d,]*(?:\.\d+)?)(?:\s*(?P<unit>" + "|".join(
    re.escape(u) for u in sorted(UNITS, key=len, reverse=True) if u != "count") + r")(?![\w²³°/]))?|'(?P<word>[^']*)'|(?P<op>[<>!]=|[^\w\s])|(?P<name>[^\s()+×÷*±,=<>|≥≤]+))")
SAME = {"≥": ">=", "≤": "<=", "≠": "!=", "*": "×", "/": "÷", "−": "-"}


class Line:
    def __init__(self, text: str) -> None:
        self.text, self.i, self.ts = text, 0, list(TOKEN.finditer(text.rstrip()))

    def take(self, *choices: str) -> str | None:
        for c in choices:
            ws = c.split()
            if [SAME.get(m["op"], m["op"]) or m["name"] for m in self.ts[self.i:self.i + len(ws)]] == ws:
                self.i += len(ws)
                return c
        return None

    def need(self, *choices: str) -> str:
        if got := self.take(*choices):
            return got
        raise ValueError(f'"{self.text}" cannot be read')

    def name(self) -> str:
        ws = []
        while self.i < len(self.ts) and self.ts[self.i]["name"] and self.ts[self.i]["name"] not in RESERVED:
            ws.append(self.ts[self.i]["name"])
            self.i += 1
        return " ".join(ws)

    def path(self, first: str | None = None) -> tuple:
        names = [self.name() if first is None else first]
        while self.take("of"):
            names.append(self.name())
        return "path", tuple(reversed(names))

    def total(self) -> tuple:
        a = self.product()
        while op := self.take("+", "-", "±"):
            a = "bin", op, a, self.product()
        return a

    def product(self) -> tuple:
        a = self.atom()
        while op := self.take("×", "÷"):
            a = "bin", op, a, self.atom()
        return a

    def atom(self) -> tuple:
        a = self.bare()
        while how := self.take("stepped up in", "stepped down in", "rounded half up to", "rounded up to", "rounded down to"):
            a = ("step", how[:-3], a, self.name()) if how[0] == "s" else ("round", how[:-3], a, self.bare())
        return a

    def bare(self) -> tuple:
        m = self.ts[self.i]
        if m["num"] or m["size"] or m["word"] is not None:
            self.i += 1
            if m["num"]:
                u = m["unit"] or "count"
                return "lit", (base(F(m["num"].replace(",", "")), u),) * 2, ("q", UNITS[u][1])
            return "lit", m["word"] if m["size"] is None else re.sub(r"\s*(AWG|kcmil)", r" \1", m["size"]), ("word",) if m["size"] is None else ("row", None)
        if self.take("("):
            a = self.total()
            self.need(")")
            return a
        if which := self.take("smaller of", "larger of"):
            self.need("(")
            xs = [self.total()]
            while self.take("and"):
                xs.append(self.total())
            self.need(")")
            return which.split()[0], *xs
        if self.take("how many"):
            return self.over("count", None)
        if self.take("square root to"):
            places = self.bare()[1][0]
            self.need("places of")
            return "root", self.bare(), int(places)
        if fn := self.take("total", "smallest", "largest"):
            start, column = self.i, self.name()
            if fn == "smallest" and column and self.take("from"):
                table, keys = self.name(), self.keys()
                self.need("where")
                return "look", column, table, keys, self.cond()
            self.i = start
            body = self.total()
            self.need("over")
            return self.over(fn, body)
        name = self.name()
        return ("look", name, self.name(), self.keys(), None) if self.take("from") else self.path(name)

    def over(self, fn: str, body) -> tuple:
        return "over", fn, body, self.path(), self.cond() if self.take("where") else None, self.bare() if fn in ("smallest", "largest") and self.take("or") else None

    def keys(self) -> tuple:
        out = []
        while self.take("by" if not out else "and"):
            k = self.name()
            out.append((k, self.total() if self.take("=") else ("path", (k,))))
        return tuple(out)

    def cond(self) -> tuple:
        if self.take("not"):
            return "not", self.cond()
        if fn := self.take("every", "some", "no"):
            path = self.path()
            self.need("where")
            return "quant", fn, path, self.cond()
        a = self.total()
        if op := self.take(">=", "<=", "!=", "=", "<", ">"):
            return "cmp", op, a, self.total()
        if not self.take("is"):
            return "flag", a
        negated = bool(self.take("not"))
        if self.take("among"):
            n = self.name()
            return ("among", negated, a, self.name(), n, self.keys()) if self.take("from") else ("among", negated, a, n, None, ())
        m = self.ts[self.i]
        if m["size"]:
            size, way = self.bare()[1], self.take("or smaller", "or larger")
            g = ("gauge", a, size, way[3:]) if way else ("is", negated, a, (size,))
            return ("not", g) if way and negated else g
        start, depth = m.start(), 0
        while self.i < len(self.ts) and not (self.ts[self.i]["op"] == ")" and not depth) and not self.ts[self.i]["name"] == "or":
            depth += {"(": 1, ")": -1}.get(self.ts[self.i]["op"], 0)
            self.i += 1
        text = self.text[start:self.ts[self.i].start() if self.i < len(self.ts) else None]
        return "is", negated, a, tuple(w.strip().strip("'") for w in text.split("|"))


@lru_cache(maxsize=None)
def parse(text: str, cond: bool) -> tuple:
    line = Line(text)
    e = line.cond() if cond else line.total()
    if line.i < len(line.ts):
        raise ValueError(f'"{text}" cannot be read')
    return e


def condition(line) -> tuple:
    """A condition: a line, or any of (all of) several."""
    if isinstance(line, dict):
        (how, lines), = line.items()
        return how.split()[0], *map(condition, as_list(lines))
    return parse(str(line), True)


def filling(text: str, type_: tuple) -> tuple:
    """What a fact is filled with: a yes, a choice, a size, or a formula."""
    if type_[0] == "flag" and text in ("yes", "no"):
        return "lit", text == "yes", type_
    if type_[0] == "choice" and text in type_[1] or type_[0] == "row" and re.fullmatch(r"\d+(/0)? (AWG|kcmil)", text):
        return "lit", text, type_
    return parse(text, type_[0] == "flag")


def kids(e: tuple) -> tuple:
    """The pieces of a line that are worked out before it."""
    if e[0] == "among":
        return e[2], *(k for _, k in e[5])
    return e[2:4] if e[0] in ("bin", "cmp") else (e[2],) if e[0] in ("step", "round", "is") else (e[1],) if e[0] in ("root", "not", "gauge", "flag") else e[1:]


def dimension(op: str, a: tuple, b: tuple) -> tuple:
    """What a sum or a product measures."""
    if op in "+-±":
        return STEP if op == "-" and a == b == POINT else a
    d = Counter(dict(a))
    for k, e in b:
        d[k] += e if op == "×" else -e
    return tuple(sorted((k, e) for k, e in d.items() if e))


def result_type(e: tuple, ts: list) -> tuple:
    """The type of an operation on pieces of the types *ts*."""
    if e[0] == "bin":
        return "q", dimension(e[1], ts[0][1], ts[1][1])
    if e[0] == "root":
        return "q", tuple((k, n // 2) for k, n in ts[0][1])
    return ts[0] if e[0] in ("smaller", "larger", "step", "round") else ("flag",)


def rounded(v: F, step: F, how: str) -> F:
    return step * (floor(v / step) if how == "rounded down" else -floor(-v / step) if how == "rounded up" else floor(v / step + F(1, 2)))


def rank(v, order: dict):
    """The place of a size in its table, to compare it by."""
    return v if v is None or v == NOTHING else NOTHING if v == NONE else (F(order[v]),) * 2 if v in order else None


def apply(e: tuple, vs: list, ts: list, table) -> object:
    """What an operation comes to on the values of its pieces; *table* reads a table by its name."""
    op, v = e[0], vs[0] if vs else None
    if op == "bin":
        return arith(e[1], *vs)
    if op in ("smaller", "larger"):
        return extreme(op == "smaller", vs)
    if op in ("not", "all", "any"):
        return opposite(v) if op == "not" else both(vs) if op == "all" else either(vs)
    if op in ("step", "round"):
        if v == NOTHING:
            return v
        if op == "round":
            return between(*(None if q is None else rounded(q, e[3][1][0], e[1]) for q in span(v)))
        t = table(e[3])
        points = sorted({r[next(iter(t.how))] for r in t.rows})
        return between(*(None if q is None else t.beside(points, q, e[1] == "stepped up") for q in span(v)))
    if op in ("cmp", "gauge"):
        name = next((t[1] for t in ts if t[0] == "row" and t[1]), "conductor-sizes" if op == "gauge" else None)
        if name:
            order = table(name).order()
            vs = [rank(v, order) for v in vs] + ([rank(e[2], order)] if op == "gauge" else [])
        return compare(e[1] if op == "cmp" else "<=" if e[3] == "smaller" else ">=", *vs)
    if op == "is":
        return None if v is None or v is SOME else NOTHING if v in (NONE, NOTHING) else (v in e[3]) != e[1]
    if op == "among":
        t, keys = table(e[3]), dict(zip([k for k, _ in e[5]], vs[1:]))
        if any(isinstance(v, str) and v in (NONE, NOTHING) for v in vs):
            return NOTHING
        rows = t.find({k: None if v is SOME else v for k, v in keys.items()}) if keys else t.rows
        points = {r[e[4] or next(iter(t.how))] for r in rows if r}
        sure = all(v is not None and (not isinstance(v, tuple) or v[0] == v[1]) for v in keys.values())
        if v is None:
            return None
        lo, hi = v if isinstance(v, tuple) else (v, v)
        if lo != hi:
            return None if any((lo is None or p >= lo) and (hi is None or p <= hi) for p in points) else e[1]
        return (None if not sure else not e[1]) if lo in points else e[1]
    return v   # of a root, what it is the root of
