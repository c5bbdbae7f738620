"""Rules as straight-line Python, one function each, for the case where everything needed is plainly known.

A function leaves its answer in the thing's cells or raises: an unknown, a range, a `none`, an inexact quotient, a row
off the table all raise, and the general evaluator (chain.World.fire) then answers the instance. So this module holds
no three-valued logic but the plainest: a yes/no fact or a choice of a `when` that is not known.

Why not closures: nine tenths of all instances are tried sizes, and a tree walked over exact fractions takes forty
times as long (DEVELOPERS.md, speed).
"""

from __future__ import annotations

import bisect
import decimal
from decimal import Decimal
from fractions import Fraction

from . import expressions as ex
from .expressions import NONE
from .rules import JUDGING, Rule


class Bail(Exception):
    """What is needed here is not plainly known."""


BAIL = (Bail, TypeError, KeyError, IndexError, ValueError, StopIteration, AttributeError, decimal.DecimalException)
_NUMBERS = (Decimal, Fraction)


def _bail():
    raise Bail


def _equal(a, b):
    if a.__class__ in _NUMBERS and b.__class__ in _NUMBERS:
        return a == b
    raise Bail


class Emitter:
    """Emits every rule of a knowledge base into one module."""

    def __init__(self, k) -> None:
        self.k, self.consts, self.n, self.depth = k, {}, 0, 0

    def const(self, v) -> str:
        self.n += 1
        self.consts[f"K{self.n}"] = v
        return f"K{self.n}"

    def var(self) -> str:
        self.n += 1
        return f"q{self.n}"

    # ---- expressions: Python text that is worth the piece, or raises
    def text(self, e: ex.Expr, x: str = "x", m: str = "m") -> str:
        return getattr(self, "_" + type(e).__name__)(e, x, m)

    def _Num(self, e, x, m):
        return self.const(e.value)

    _Dated = _Word_ = _Num

    def _Column(self, e, x, m):
        return f"{m}[{e.name!r}]"

    def _Path(self, e, x, m):
        return (m if e.member else x) + "".join(f"[{s}]" for s in e.slots)

    def _Local(self, e, x, m):
        return self.text(e.of, x, "None")

    def _Arith(self, e, x, m):
        if e.op == "±":
            return "bail()"
        return f"({self.text(e.a, x, m)} {dict(zip('+-×÷', '+-*/'))[e.op]} {self.text(e.b, x, m)})"

    def _Extreme(self, e, x, m):
        return f"{'min' if e.least else 'max'}({', '.join(self.text(i, x, m) for i in e.xs)})"

    def _Over(self, e, x, m):
        self.depth += 1
        y = f"m{self.depth}"
        body = self.text(e.body, x, y) if e.body is not None else "1"
        where = f" if {self.text(e.where, x, y)}" if e.where is not None else ""
        self.depth -= 1
        each = f"[{body} for {y} in {self.text(e.list, x, m)}{where}]"
        if e.fn == "count":
            return f"D(len({each}))"
        return f"sum({each}, ZERO)" if e.fn == "total" else f"{'min' if e.fn == 'smallest' else 'max'}({each})"

    def _Look(self, e, x, m):
        t = e.table
        keys = {k: self.text(v, x, m) for k, v in e.keys}
        exact = [k for k in keys if t.keys[k][0] == "exact"]
        between = [k for k in keys if k not in exact]
        key = "(" + "".join(keys[k] + ", " for k in exact) + ")"

        def cell(row):
            return row[e.column] == "yes" if e.t == ex.FLAG else row[e.column]

        if e.where is not None:
            if between:
                return "bail()"
            rows: dict = {}
            for row in t.rows:
                rows.setdefault(tuple(row[k] for k in exact), []).append(row)
            self.depth += 1
            y = f"m{self.depth}"
            where = self.text(e.where, x, y)
            self.depth -= 1
            return f"next({y}[{e.column!r}] for {y} in {self.const(rows)}[{key}] if {where})"
        if not between:
            one = {tuple(row[k] for k in exact): cell(row) for row in t.rows}
            return f"{self.const(one)}[{key}]"
        b = between[0]
        many: dict = {}
        for row in t.rows:
            many.setdefault(tuple(row[k] for k in exact), []).append((row[b], cell(row)))
        halves = {k: ([p for p, _ in sorted(v, key=lambda z: z[0])], [c for _, c in sorted(v, key=lambda z: z[0])]) for k, v in many.items()}
        q = self.var()
        if t.keys[b][0] == "next row up":
            return f"({q} := {self.const(halves)}[{key}])[1][left({q}[0], {keys[b]})]"
        return f"({q} := {self.const(halves)}[{key}])[1][down({q}[0], {keys[b]})]"

    def _Step(self, e, x, m):
        p = self.const(e.points)
        return f"{p}[{'left' if e.up else 'down'}({p}, {self.text(e.a, x, m)})]"

    def _Round(self, e, x, m):
        return "bail()"

    _Root = _Round

    def _Flag(self, e, x, m):
        if not isinstance(e.a, ex.Path):
            return self.text(e.a, x, m)
        q = self.var()
        return f"({q} if ({q} := {self.text(e.a, x, m)}).__class__ is bool else bail())"

    def _Not(self, e, x, m):
        return f"(not {self.text(e.a, x, m)})"

    def _Junction(self, e, x, m):
        return "(" + (" and " if e.all else " or ").join(self.text(c, x, m) for c in e.xs) + ")"

    def _Cmp(self, e, x, m):
        a, b = self.text(e.a, x, m), self.text(e.b, x, m)
        if e.order is not None:
            o = self.const(e.order)
            return f"({o}[{a}] {self._op(e.op)} {o}[{b}])"
        if e.op in ("=", "!="):
            return f"{'not ' if e.op == '!=' else ''}equal({a}, {b})" if e.op == "=" else f"(not equal({a}, {b}))"
        return f"({a} {e.op} {b})"

    @staticmethod
    def _op(op):
        return "==" if op == "=" else op

    def _Gauge(self, e, x, m):
        return f"({self.const(e.order)}[{self.text(e.a, x, m)}] {'<=' if e.smaller else '>='} {e.order[e.size]})"

    def _Is(self, e, x, m):
        if "none" in e.words:
            return "bail()"
        q = self.var()
        return f"(({q} {'not in' if e.negated else 'in'} {self.const(frozenset(e.words))}) if ({q} := {self.text(e.a, x, m)}).__class__ is str else bail())"

    def _Among(self, e, x, m):
        if e.keys:
            return "bail()"
        q = self.var()
        kinds = "NUMBERS" if e.a.t[0] == "q" else "WORDS"
        return f"(({q} {'not in' if e.negated else 'in'} {self.const(e.points)}) if ({q} := {self.text(e.a, x, m)}).__class__ in {kinds} else bail())"

    def _Quant(self, e, x, m):
        self.depth += 1
        y = f"m{self.depth}"
        where = self.text(e.where, x, y)
        self.depth -= 1
        each = f"([{where} for {y} in {self.text(e.list, x, m)}])"
        return {"every": f"all{each}", "some": f"any{each}", "no": f"(not any{each})"}[e.fn]

    # ---- one rule
    def rule(self, r: Rule, name: str) -> list[str]:
        k, out = self.k, [f"def {name}(x):"]
        slot = k.slots[r.id]
        hold = k.holds.get(r.id)
        off = [f"x[{slot}] = {'OFF' if r.verb in JUDGING else 'False'}"]
        off += [f"x[{hold}] = False"] if hold is not None else []
        off += [f"x[{k.results[r.id, f.word.name]}] = None" for f in r.fills] + ["return"]
        unknown = False
        for c in r.when:
            inner = c.a if isinstance(c, ex.Not) and isinstance(c.a, ex.Flag) else c
            if isinstance(inner, ex.Flag) and isinstance(inner.a, ex.Path):
                out += [f" v = {self.text(inner.a)}", " if v is None: u = True", f" elif v is {'True' if inner is not c else 'False'}:"] + [f"  {line}" for line in off]
                out += [" elif v.__class__ is not bool: bail()"]
                unknown = True
            elif isinstance(c, ex.Is) and isinstance(c.a, ex.Path) and "none" not in c.words:
                out += [f" v = {self.text(c.a)}", " if v is None: u = True", " elif v.__class__ is not str: bail()", f" elif v {'in' if c.negated else 'not in'} {self.const(frozenset(c.words))}:"]
                out += [f"  {line}" for line in off]
                unknown = True
            else:
                out += [f" if not {self.text(c)}:"] + [f"  {line}" for line in off]
        if unknown:
            out.insert(1, " u = False")
        out.append(f" h = {'None if u else True' if unknown else 'True'}")
        if r.verb in JUDGING:
            test = self.text(r.test)
            bad = "ADVICE" if r.verb == "should" else "FAILS"
            good, else_ = ("PASSES", bad) if r.verb != "must not" else (bad, "PASSES")
            if unknown and r.verb == "must not":
                out.append(f" x[{slot}] = (TELL if u else FAILS) if {test} else PASSES")
            elif unknown:
                out.append(f" x[{slot}] = PASSES if {test} else TELL if u else {bad}")
            else:
                out.append(f" x[{slot}] = {good} if {test} else {else_}")
        else:
            for f in r.fills:
                value = self.text(f.expr)
                if isinstance(f.expr, (ex.Path, ex.Local, ex.Extreme)) or f.word.type[0] in ("flag",):
                    out += [f" v = {value}", " if v is None or v is NONE: bail()", f" x[{k.results[r.id, f.word.name]}] = v"]
                else:
                    out.append(f" x[{k.results[r.id, f.word.name]}] = {value}")
            out.append(f" x[{slot}] = h")
        if hold is not None:
            for e in k.order.exceptions.get(r.id, ()):
                out += [f" v = x[{k.holds[e.id]}]", " if v is True: h = False", " elif v is None and h: h = None"]
            out.append(f" x[{hold}] = h")
        return out

    def module(self) -> tuple[str, dict[str, str]]:
        """The source of all functions, and rule id -> function name."""
        lines, names = [], {}
        for i, r in enumerate(self.k.rules.values()):
            if r.verb == "tries":
                continue
            names[r.id] = f"r{i}"
            lines += self.rule(r, f"r{i}")
        return "\n".join(lines) + "\n", names


def _down(points, v):
    i = bisect.bisect_right(points, v) - 1
    if i < 0:
        raise Bail
    return i


def environment(consts: dict) -> dict:
    """The names the emitted code uses."""
    from .chain import ADVICE, FAILS, OFF, PASSES, TELL

    return {"bail": _bail, "equal": _equal, "left": bisect.bisect_left, "down": _down, "D": Decimal, "ZERO": Decimal(0), "NONE": NONE, "NUMBERS": _NUMBERS, "WORDS": (str,),
            "OFF": OFF, "PASSES": PASSES, "FAILS": FAILS, "TELL": TELL, "ADVICE": ADVICE, **consts}


def emit(k) -> dict:
    """rule id -> function, compiled."""
    e = Emitter(k)
    source, names = e.module()
    env = environment(e.consts)
    exec(compile(source, "<rules>", "exec"), env)   # our own text, made from checked rules; a pack holds no code
    return {rule: env[name] for rule, name in names.items()}
