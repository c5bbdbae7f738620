"""The order as straight-line Python, a function for each node of it, for the case where everything
needed is plainly known.

A function runs its node on all things it is about. A rule leaves its answer in a thing's cells or
raises: a range, an inexact quotient, a row off the table, most of what is unknown raise, and the
general evaluator (chain.World.fire) then answers that instance. Of the unknown this module knows
what needs no arithmetic: a fact, a choice or a plain comparison that is not known, and what lies
beyond a `none`.

Why not closures: nine tenths of all instances are tried sizes, and a tree walked over exact
fractions takes forty times as long. Why the loop inside: a call for each rule and thing takes as
long as the rule.
"""

from __future__ import annotations

import bisect
import decimal
from decimal import Decimal
from fractions import Fraction

from ..basics.sentinels import NONE
from ..language import expressions as ex
from ..language.rules import FILLING, JUDGING, Rule


class Bail(Exception):
    """What is needed here is not plainly known."""


BAIL = (
    Bail,
    TypeError,
    KeyError,
    IndexError,
    ValueError,
    StopIteration,
    AttributeError,
    decimal.DecimalException,
)
_NUMBERS = (Decimal, Fraction)
NOT_MET = "False"  # what a test on what lies beyond a none is worth where nothing is met there


def _bail():
    raise Bail


def _equal(a, b):
    if a.__class__ in _NUMBERS and b.__class__ in _NUMBERS:
        return a == b
    raise Bail


def _down(points, v):
    i = bisect.bisect_right(points, v) - 1
    if i < 0:
        raise Bail
    return i


def _answers(values: tuple, words: set, met: bool, nothing) -> dict:
    """The answer to a test for each of *values*, for what is unknown, and for what lies beyond a
    none.
    """
    return {v: (v in words) is met for v in values} | {None: None, NONE: nothing}


class Emitter:
    """Emits nodes of the order of one knowledge base."""

    def __init__(self, k) -> None:
        self.k, self.n, self.depth = k, 0, 0
        # value, or what a look-up is made of -> (name, value) of the constant
        self.named: dict = {}
        self.consts: dict = {}  # name -> value, of one module
        # what a fact of few values answers -> the name of that, in one module
        self.answers: dict = {}

    def const(self, v, key=None) -> str:
        """The name of a constant: one for each value, or for each *key* of what cannot be
        compared.
        """
        name, v = self.named.setdefault(
            (v.__class__, str(v)) if key is None else key, (f"K{len(self.named)}", v)
        )
        self.consts[name] = v
        return name

    def var(self) -> str:
        self.n += 1
        return f"q{self.n}"

    # ---- expressions: Python text that is worth the piece, or raises
    def text(self, e: ex.Expr, x: str = "x", m: str = "m") -> str:
        return getattr(self, "_" + type(e).__name__)(e, x, m)

    def _Num(self, e, x, m):
        return self.const(e.value)

    _Dated = _Num

    def _Word_(self, e, x, m):
        return repr(e.value)

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
        return (
            f"sum({each}, ZERO)"
            if e.fn == "total"
            else f"{'min' if e.fn == 'smallest' else 'max'}({each})"
        )

    def _Look(self, e, x, m):
        t = e.table
        keys = {k: self.text(v, x, m) for k, v in e.keys}
        name = (t.id, e.column, e.t, tuple(keys), e.where is not None)
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
            # a key may hold an assignment, and what a comprehension goes over may not
            q = self.var()
            return (
                f"(({q} := {self.const(rows, name)}[{key}]) and next({y}[{e.column!r}] for {y} in"
                f" {q} if {where}))"
            )
        if not between:
            one = {tuple(row[k] for k in exact): cell(row) for row in t.rows}
            return f"{self.const(one, name)}[{key}]"
        b = between[0]
        many: dict = {}
        for row in t.rows:
            many.setdefault(tuple(row[k] for k in exact), []).append((row[b], cell(row)))
        halves = {
            k: (
                [p for p, _ in sorted(v, key=lambda z: z[0])],
                [c for _, c in sorted(v, key=lambda z: z[0])],
            )
            for k, v in many.items()
        }
        q = self.var()
        if t.keys[b][0] == "next row up":
            return f"({q} := {self.const(halves, name)}[{key}])[1][left({q}[0], {keys[b]})]"
        return f"({q} := {self.const(halves, name)}[{key}])[1][down({q}[0], {keys[b]})]"

    def _Step(self, e, x, m):
        p = self.const(e.points, ("points", e.table.id))
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
            o = self.const(e.order, id(e.order))
            return f"({o}[{a}] {self._op(e.op)} {o}[{b}])"
        if e.op in ("=", "!="):
            return (
                f"{'not ' if e.op == '!=' else ''}equal({a}, {b})"
                if e.op == "="
                else f"(not equal({a}, {b}))"
            )
        return f"({a} {e.op} {b})"

    @staticmethod
    def _op(op):
        return "==" if op == "=" else op

    def _Gauge(self, e, x, m):
        return (
            f"({self.const(e.order, id(e.order))}[{self.text(e.a, x, m)}]"
            f" {'<=' if e.smaller else '>='} {e.order[e.size]})"
        )

    def _Is(self, e, x, m):
        if "none" in e.words:
            return "bail()"
        q = self.var()
        return (
            f"(({q} {'not in' if e.negated else 'in'} {_words(e)}) if ({q} :="
            f" {self.text(e.a, x, m)}).__class__ is str else bail())"
        )

    def _Among(self, e, x, m):
        if e.keys:
            return "bail()"
        q = self.var()
        kinds = "NUMBERS" if e.a.t[0] == "q" else "WORDS"
        return (
            f"(({q} {'not in' if e.negated else 'in'} {self._points(e)}) if ({q} :="
            f" {self.text(e.a, x, m)}).__class__ in {kinds} else bail())"
        )

    def _points(self, e: ex.Among) -> str:
        return self.const(e.points, ("points of", e.table.id, e.column))

    def _Quant(self, e, x, m):
        return self._each(e, self.text(e.list, x, m), x)

    def _each(self, e, things: str, x: str = "x") -> str:
        self.depth += 1
        y = f"m{self.depth}"
        where = self.text(e.where, x, y)
        self.depth -= 1
        each = f"([{where} for {y} in {things}])"
        return {"every": f"all{each}", "some": f"any{each}", "no": f"(not any{each})"}[e.fn]

    # ---- tests: Python text that is worth True, False, None (unknown), or *nothing* beyond a none;
    # or raises
    def test(self, c: ex.Expr, nothing: str) -> str:
        return self.open_test(c, nothing) or self.text(c)

    def open_test(self, c: ex.Expr, nothing: str) -> str:
        """The text of a test whose facts may be unknown; "" where all of them have to be known."""
        special = getattr(self, "_test_" + type(c).__name__, None)
        return special(c, nothing) if special else ""

    def reach(self, slots: tuple) -> str:
        """What stands at the end of a path: None where a link is unknown, NONE beyond a none."""
        text = f"x[{slots[0]}]"
        for s in slots[1:]:
            q = self.var()
            text = f"({q}[{s}] if ({q} := {text}).__class__ is list else {q})"
        return text

    @staticmethod
    def _is_fact(e: ex.Expr) -> bool:
        return isinstance(e, ex.Path) and not e.member and bool(e.slots)

    def _answer(self, fact: ex.Path, words: str, met: bool, nothing: str) -> str:
        """What a fact of few values answers, which is *met* where it is one of *words*: looked up,
        since that is one step.

        What cannot be looked up raises. Of a fact that may be any word there is no such list, and
        "" is returned.
        """
        sort, *of = fact.t
        if sort not in ("flag", "choice"):
            return ""
        said = (
            f"answers({'(True, False)' if sort == 'flag' else self.const(of[0])}, {words}, {met},"
            f" {nothing})"
        )
        return f"{self.answers.setdefault(said, f'A{len(self.answers)}')}[{self.reach(fact.slots)}]"

    def _known(self, path: ex.Path, classes: str, then, nothing: str) -> str:
        """What *then* says of the value of *path* where that is of *classes*."""
        q = self.var()
        return (
            f"({then(q)} if ({q} := {self.reach(path.slots)}).__class__ {classes} else None if {q}"
            f" is None else {nothing} if {q} is NONE else bail())"
        )

    def _test_Flag(self, c, nothing):
        return self._answer(c.a, "{True}", True, nothing) if self._is_fact(c.a) else ""

    def _test_Not(self, c, nothing):
        if isinstance(c.a, ex.Flag) and self._is_fact(c.a.a):
            return self._answer(c.a.a, "{True}", False, nothing)
        inner, q = self.open_test(c.a, "NONE"), self.var()
        return (
            inner
            and f"(None if ({q} := {inner}) is None else {nothing} if {q} is NONE else not {q})"
        )

    def _test_Is(self, c, nothing):
        if not self._is_fact(c.a):
            return ""
        if "none" not in c.words and (text := self._answer(c.a, _words(c), not c.negated, nothing)):
            return text
        if "none" not in c.words:
            return self._known(
                c.a,
                "is str",
                lambda q: f"{q} {'not in' if c.negated else 'in'} {_words(c)}",
                nothing,
            )
        q, o = self.var(), self.var()
        said = (
            f"{q} is {'not ' if c.negated else ''}NONE"
            if c.a.t[0] == "ref"
            else f"({q} is NONE or isinstance({q}, list) and not {q}) is {not c.negated}"
        )
        *links, last = c.a.slots
        if not links:
            return f"(None if ({q} := x[{last}]) is None else {said})"
        return (
            f"(None if ({o} := {self.reach(links)}) is None else {nothing} if {o} is NONE else None"
            f" if ({q} := {o}[{last}]) is None else {said})"
        )

    def _test_Gauge(self, c, nothing):
        order = self.const(c.order, id(c.order))
        return (
            self._known(
                c.a,
                "is str",
                lambda q: f"{order}[{q}] {'<=' if c.smaller else '>='} {c.order[c.size]}",
                nothing,
            )
            if self._is_fact(c.a)
            else ""
        )

    def _test_Among(self, c, nothing):
        if c.keys or c.a.t[0] == "q" or not self._is_fact(c.a):
            return ""
        return self._known(
            c.a,
            "is str",
            lambda q: f"{q} {'not in' if c.negated else 'in'} {self._points(c)}",
            nothing,
        )

    def _test_Cmp(self, c, nothing):
        """A quantity that is not known is 0 or more, so that a comparison with more than 0 is
        open.
        """
        if not (
            self._is_fact(c.a)
            and c.a.t[0] == "q"
            and isinstance(c.b, (ex.Num, ex.Dated))
            and c.b.value.__class__ in _NUMBERS
            and c.b.value > 0
        ):
            return ""
        k = self.const(c.b.value)
        return self._known(c.a, "in NUMBERS", lambda q: f"{q} {self._op(c.op)} {k}", nothing)

    def _test_Quant(self, c, nothing):
        if not self._is_fact(c.list):
            return ""
        q = self.var()
        return f"({nothing} if ({q} := {self.reach(c.list.slots)}) is NONE else {self._each(c, q)})"

    def _test_Junction(self, c, nothing):
        tests = [(self.open_test(e, NOT_MET), e) for e in c.xs]
        if not any(t for t, _ in tests):
            return ""
        # what may raise comes last
        tests = [
            (self.var(), t or self.text(e), bool(t))
            for t, e in sorted(tests, key=lambda z: not z[0])
        ]
        unknown = " or ".join(f"{v} is None" for v, _, is_open in tests if is_open)
        if c.all:
            return (
                f"(False if {' or '.join(f'({v} := {t}) is False' for v, t, _ in tests)} else None"
                f" if {unknown} else True)"
            )
        return (
            f"(True if {' or '.join(f'({v} := {t})' for v, t, _ in tests)} else None if {unknown}"
            " else False)"
        )

    # ---- nodes of the order, each for all things `xs` of a world `w`
    def node(self, n: tuple) -> list[str]:
        return self.rule(self.k.rules[n[1]]) if n[0] == "rule" else self.cell(*n[1:])

    def rule(self, r: Rule) -> list[str]:
        """A rule on each thing."""
        k = self.k
        slot, hold = k.slots[r.id], k.holds.get(r.id)
        off = f"x[{slot}] = {'OFF' if r.verb in JUDGING else 'False'}"
        off += f"; x[{hold}] = False" if hold is not None else ""
        off += "".join(f"; x[{k.results[r.id, f.word.name]}] = None" for f in r.fills)
        # what may raise comes last
        conditions = sorted(
            ((c, self.open_test(c, NOT_MET)) for c in r.when), key=lambda z: not z[1]
        )
        doubt = any(text for _, text in conditions)
        out = [off] if conditions else []  # it does not apply, unless every condition lets it go on
        out += ["h = True"] if doubt or hold is not None else []
        for c, text in conditions:
            out += (
                [f"v = {text}", "if v is None: h = None", "elif not v: continue"]
                if text
                else [f"if not {self.text(c)}: continue"]
            )
        if r.verb in JUDGING:
            out += self._judge(r, f"x[{slot}]", doubt, hold is not None)
        else:
            for f in r.fills:
                out += self._fill(f, f"x[{k.results[r.id, f.word.name]}]")
            out.append(f"x[{slot}] = {'h' if doubt else 'True'}")
        if hold is not None:
            for e in k.order.exceptions.get(r.id, ()):
                out += [
                    f"v = x[{k.holds[e.id]}]",
                    "if v is True: h = False",
                    "elif v is None and h: h = None",
                ]
            out.append(f"x[{hold}] = h")
        return [
            "for x in xs:",
            " try:",
            *(f"  {line}" for line in out),
            " except BAIL:",
            f"  w.in_general({r.id!r}, x)",
        ]

    def _judge(self, r: Rule, cell: str, doubt: bool, holds: bool) -> list[str]:
        """The answer of a judging rule; one that *holds* sets others aside, which it does only
        where it is met.
        """
        bad, met = (
            "ADVICE" if r.verb == "should" else "FAILS",
            "False" if r.verb == "must not" else "True",
        )
        text = self.open_test(r.test, "NONE")
        if text:
            return [
                f"v = {text}",
                (
                    f"{cell} = PASSES if v is {met} else OFF if v is NONE else TELL if v is"
                    f" None{' or h is None' if doubt else ''} else {bad}"
                ),
                *(["if v is None: h = None", f"elif v is not {met}: h = False"] if holds else []),
            ]
        good = self.text(r.test) if met == "True" else f"not {self.text(r.test)}"
        return [
            f"{cell} = PASSES if {good} else {'TELL if h is None else ' if doubt else ''}{bad}",
            *([f"if {cell} is not PASSES: h = False"] if holds else []),
        ]

    def _fill(self, f, cell: str) -> list[str]:
        if self._is_fact(f.expr):
            return [f"v = {self.reach(f.expr.slots)}", "if v is NONE: bail()", f"{cell} = v"]
        text = f.word.type[0] == "flag" and self.open_test(f.expr, "None")
        if text:
            return [f"{cell} = {text}"]
        if isinstance(f.expr, (ex.Path, ex.Local, ex.Extreme)) or f.word.type[0] == "flag":
            return [f"v = {self.text(f.expr)}", "if v is None or v is NONE: bail()", f"{cell} = v"]
        return [f"{cell} = {self.text(f.expr)}"]

    def cell(self, kind: str, fact: str, plane: str) -> list[str]:
        """A fact of each thing, after its givers: as chain.World.settle, which is asked where
        values are at odds.
        """
        k, w = self.k, self.k.words.kinds[kind].words[fact]
        givers = k.order.givers[kind, fact]
        told = f"x[{w.slot}]"
        if plane and any(g.verb in ("tries", "designs") for g in givers):
            return [
                "for x in xs:",
                f" {told} = "
                + (
                    f"x[0].told.get({fact!r})"
                    if w.comes_with == k.rules[plane].tried.name
                    else f"x[0].slot[{w.slot}]"
                ),
            ]
        again = f"w.settle_again({kind!r}, {fact!r}, x)"
        live = [g for g in givers if g.verb == "gives"]
        rest = sorted((g for g in givers if g.verb != "gives"), key=lambda g: FILLING.index(g.verb))

        def lets(g: Rule) -> str:
            """That no exception sets *g* aside for sure."""
            return "".join(
                f" and x[{k.holds[e.id]}] is not True" for e in k.order.exceptions.get(g.id, ())
            )

        fall = []
        for g in rest:
            fall += [
                f"{'elif' if fall else 'if'} x[{k.slots[g.id]}] is True{lets(g)} and (v :="
                f" x[{k.results[g.id, fact]}]) is not None: {told} = v"
            ]
        if not live:
            return ["for x in xs:", f" if {told} is None:", *(f"  {line}" for line in fall)]
        if len(live) == 1 and not rest:
            g = live[0]
            holds = (
                f"x[{k.holds[g.id]}] is True"
                if g.exception_to
                else f"x[{k.slots[g.id]}] is True{lets(g)}"
            )
            return [
                "for x in xs:",
                f" if {holds} and (v := x[{k.results[g.id, fact]}]) is not None and v != {told}:",
                f"  if {told} is None: {told} = v",
                f"  else: {again}",
            ]
        out = ["given = may_be = None", "open_ = False"]
        for g in live:
            value = f"x[{k.results[g.id, fact]}]"
            if g.exception_to:
                out += [f"if x[{k.holds[g.id]}] is True:"]
            else:
                out += [f"v = x[{k.slots[g.id]}]", f"if v is True{lets(g)}:"]
            out += [
                f" v = {value}",
                " if v is None: open_ = True",
                " elif given is None: given = v",
                " elif given != v:",
                f"  {again}",
                "  continue",
            ]
            if not g.exception_to:
                out += [
                    f"elif v is None{lets(g)}:",
                    f" v = {value}",
                    " if v is None: open_ = True",
                    " elif may_be is None: may_be = v",
                    " elif may_be != v: open_ = True",
                ]
        out += [
            f"if {told} is not None:",
            f" if given is not None and given != {told}: {again}",
            "elif given is not None:",
            f" if not open_ and (may_be is None or may_be == given): {told} = given",
        ]
        if fall:
            out += ["elif not open_ and may_be is None:", *(f" {line}" for line in fall)]
        return ["for x in xs:", *(f" {line}" for line in out)]

    def module(self, nodes) -> tuple[str, dict]:
        """The source of a function `n0(xs, w)`, `n1(xs, w)` ... for each of *nodes*, and the
        constants they name.
        """
        self.consts, self.answers, lines = {}, {}, []
        for i, n in enumerate(nodes):
            self.n = 0
            lines += [f"def n{i}(xs, w):", *(f" {line}" for line in self.node(n))]
        return (
            "\n".join([*(f"{name} = {said}" for said, name in self.answers.items()), *lines, ""]),
            self.consts,
        )


def _words(e: ex.Is) -> str:
    return "{" + ", ".join(map(repr, sorted(map(str, e.words)))) + "}"


class Stretch:
    """Nodes of the order that stand together and are about one kind of things, in one plane: run
    one after another.

    A block is walked thing by thing along the feeders: its `nodes` are stretches themselves.
    """

    __slots__ = ("kind", "plane", "nodes", "way", "rules", "runs", "origin", "piece")

    def __init__(self, kind: str, plane: str, nodes: list, way: str = "") -> None:
        self.kind, self.plane, self.nodes, self.way = kind, plane, nodes, way
        self.rules = 0 if way else sum(n[0] == "rule" for n in nodes)
        self.runs: list | None = None  # the functions of the nodes, once they are wanted
        self.origin: Stretch | None = (
            None  # the same stretch of the knowledge that this one's differs from by a few rules
        )
        self.piece = 0  # where their code is kept, if it is

    def __getstate__(self):
        return {a: getattr(self, a) for a in self.__slots__} | {"runs": None, "origin": None}

    def __setstate__(self, kept: dict) -> None:
        for a, v in kept.items():
            setattr(self, a, v)

    def afresh(self) -> Stretch:
        """The same nodes, whose functions are still to be made."""
        other = Stretch(
            self.kind,
            self.plane,
            [s.afresh() for s in self.nodes] if self.way else self.nodes,
            self.way,
        )
        other.origin = self
        return other

    def __repr__(self) -> str:
        return f"<{self.way or self.nodes[0]} ... of {self.kind}>"


def stretches(k, sequence) -> list[Stretch]:
    """*sequence* cut into stretches, without the nodes that need no work."""
    out, me = [], None
    for n in sequence:
        if n[0] == "block":
            me = None
            out.append(Stretch("", "", stretches(k, n[2]), n[1]))
        elif n[0] in ("try", "pick"):
            me = None
            out.append(Stretch(k.rules[n[1]].about, "", [n]))
        elif not k.idle(n):
            about = (k.rules[n[1]].about, n[2]) if n[0] == "rule" else (n[1], n[3])
            if about != me:
                me, nodes = about, []
                out.append((*about, nodes))
            nodes.append(n)
    return [s if isinstance(s, Stretch) else Stretch(*s) for s in out]


def environment() -> dict:
    """The names the emitted code uses."""
    from .chain import ADVICE, FAILS, OFF, PASSES, TELL

    return {
        "BAIL": BAIL,
        "bail": _bail,
        "answers": _answers,
        "equal": _equal,
        "left": bisect.bisect_left,
        "down": _down,
        "D": Decimal,
        "ZERO": Decimal(0),
        "NONE": NONE,
        "NUMBERS": _NUMBERS,
        "WORDS": (str,),
        "OFF": OFF,
        "PASSES": PASSES,
        "FAILS": FAILS,
        "TELL": TELL,
        "ADVICE": ADVICE,
    }


class Emitted:
    """The emitted functions of one knowledge base, a stretch of them made when one is first
    wanted.
    """

    def __init__(
        self,
        k,
        kept: list[Stretch] | None = None,
        read=None,
        base: Emitted | None = None,
        changed: frozenset = frozenset(),
    ) -> None:
        self.emitter, self.environment = Emitter(k), environment()
        self.stretches = stretches(k, k.order.sequence) if kept is None else kept
        # piece -> the code of a stretch and its constants, made here and not kept yet
        self.fresh: dict[int, tuple] = {}
        self._read = read  # how code that is kept is read; it gives None where none is
        # what this one differs from by a few rules, and those
        self._base, self._changed = (
            base,
            changed,
        )
        self._made: dict[tuple, object] = {}  # node -> its function
        self._home: dict[tuple, Stretch] = {}

    def parts(self, of: list | None = None):
        """Every stretch of rules and facts, those of blocks too."""
        for s in self.stretches if of is None else of:
            if s.way:
                yield from self.parts(s.nodes)
            elif s.nodes[0][0] in ("rule", "cell"):
                yield s

    def run(self, n: tuple):
        """The function that runs a node on things of its kind."""
        if n not in self._made:
            self._home = self._home or {m: s for s in self.parts() for m in s.nodes}
            self.runs(self._home[n])
        return self._made[n]

    def runs(self, s: Stretch) -> list:
        """The functions of the nodes of a stretch."""
        if s.runs is None:
            self._made.update(self._shared(s) if self._base else self._own(s))
            s.runs = [self._made[n] for n in s.nodes]
        return s.runs

    def _own(self, s: Stretch) -> dict:
        # a rule does the same on a row that is tried
        tried = {n: self.run(("rule", n[1], "")) for n in s.nodes if n[0] == "rule" and s.plane}
        nodes = [n for n in s.nodes if n not in tried]
        if not nodes:
            return tried
        said = self._read(s.piece) if self._read else None
        if said is None:
            said = self.code(nodes)
            if s.piece:
                self.fresh[s.piece] = said
        return tried | self._functions(nodes, *said)

    def _shared(self, s: Stretch) -> dict:
        """Those of the base, made there if they were not, but for the rules that are others
        here.
        """
        made = dict(zip(s.nodes, self._base.runs(s.origin)))
        others = [n for n in s.nodes if n[1] in self._changed]
        return made | self._functions(others, *self.code(others)) if others else made

    def _functions(self, nodes: list, code, consts: dict) -> dict:
        names = {**self.environment, **consts}
        exec(code, names)  # our own text, made from checked rules; a pack holds no code
        return {n: names[f"n{i}"] for i, n in enumerate(nodes)}

    def code(self, nodes: list) -> tuple:
        """The compiled functions of *nodes*, and the constants they name."""
        source, consts = self.emitter.module(nodes)
        return compile(source, f"<{nodes[0][1]} ...>", "exec"), consts

    def but(self, k, changed: set[str]) -> Emitted:
        """The functions of *k*, which is as this knowledge but for the rules *changed*: those of
        all others are shared.
        """
        return Emitted(
            k, [s.afresh() for s in self.stretches], base=self, changed=frozenset(changed)
        )
