"""The arithmetic of one side of a comparison, carried out: the operand that binds, followed down to
facts and cells.
"""

from __future__ import annotations

from fractions import Fraction

from ..basics.sentinels import NOTHING
from ..basics.units import Range, in_unit, number_text, to_base
from ..language import expressions as ex
from ..language.rules import CODE_BY
from ..language.things import members
from ..proving.graph import PUT_TOGETHER, Explainer, plain, show, unit_as_written, unit_shown
from ..running.chain import World


def loosely_bound(text: str) -> bool:
    """Whether a sum or a difference stands outside every bracket of *text*: in a product it needs
    brackets of its own.
    """
    deep = 0
    for n, c in enumerate(text):
        deep += (c == "(") - (c == ")")
        if not deep and c in "+−±" and text[n - 1 : n] == text[n + 1 : n + 2] == " ":
            return True
    return False


class Working:
    """Follows what a number is made of. ``used`` gathers the rules and tables passed on the way."""

    def __init__(self, w: World) -> None:
        self.w, self.k, self.explainer = w, w.k, Explainer(w)
        self.used: dict[str, None] = {}
        # (thing, fact) told, assumed or picked that the working rests on
        self.leaves: list[tuple] = []
        self.explained: set = set()  # (thing id, fact) of keys whose reason was given once
        # numbers are written closer, so that what is shown comes to what it makes
        self.finer = False

    def section(self, name: str, of: list | None = None) -> str:
        self.used[name] = None
        return self.k.section(name, of)

    def cell_section(self, e: ex.Look, x: list, m=None) -> str:
        """The section of a table, of the row that is read where its rows have their own; off the
        table, of the key that has no row.
        """
        case = e.table.d.get(CODE_BY)
        of = {r.get(case) for r in e.rows(x, m) or ()} - {None}
        if not of:
            of = {(e.known_keys(x, m) or {}).get(case)}
        return self.k.section(e.table.id, {case: of.pop()} if len(of) == 1 else None)

    # ---- one line
    def shown(self, v, unit: str | None) -> str:
        """A number as it is written in a line."""
        if self.finer:
            v = one_number(v)
        if self.finer and plain(v) and unit not in PUT_TOGETHER and unit not in ("date", "°"):
            places = FINER if abs(in_unit(v, unit)) >= 10 else FINER + 2  # two more than usual
            fine = Fraction(round(in_unit(v, unit) * 10**places), 10**places)
            text = number_text(fine, full=True)
            return f"{text} {unit}" if unit and unit != "count" else text
        return show(v, unit)

    def carried_out(self, e: ex.Expr, x: list, m=None) -> str:
        """`125 % × 48 A = 60 A`, with as many figures as it takes for the left side to come to the
        right one.
        """
        value = show(e.ev(x, m), e.unit)
        said = equals(self.work(e, x, m), value)
        made = self.made_of(e, x, m)
        if made is None or self.comes_to(made, value, e.unit):
            return said
        self.finer = True
        try:
            return equals(self.work(e, x, m), value)
        finally:
            self.finer = False

    @staticmethod
    def comes_to(made: Fraction, value: str, unit: str | None) -> bool:
        """Whether a number that was reckoned is *value*, at the figures that shows."""
        text = value.removesuffix(f" {unit}").replace(",", "")
        places = len(text.partition(".")[2])
        return number_text(round(in_unit(made, unit), places)).replace(",", "") == text

    def made_of(self, e: ex.Expr, x: list, m=None) -> Fraction | None:
        """What the numbers of a line come to as they are written; None where it is no plain sum or
        product.
        """
        if isinstance(e, ex.Arith) and e.op in "+-×÷":
            a, b = self.made_of(e.a, x, m), self.made_of(e.b, x, m)
            if a is None or b is None or e.op == "÷" and not b:
                return None
            return {"+": a + b, "-": a - b, "×": a * b, "÷": a / b if b else a}[e.op]
        if isinstance(e, ex.Extreme):
            return self.made_of(self.binding(e, x, m), x, m)
        v = one_number(e.ev(x, m))
        if not plain(v) or isinstance(e, (ex.Root, ex.Round, ex.Step)):
            return None
        if isinstance(e, ex.Over) and e.fn == "total":
            parts = [t for _, _, t in e.taken(x, m)[0]]
            return sum((as_written(t, e.unit) for t in parts if plain(t)), Fraction(0))
        unit = unit_as_written(e, x, m) if isinstance(e, ex.Path) else e.unit
        return as_written(v, unit)

    def work(self, e: ex.Expr, x: list, m=None, names: bool = True) -> str:
        """A formula with its numbers filled in; what adds nothing or multiplies by one is left
        out.
        """
        if isinstance(e, ex.Num):
            return e.text
        if isinstance(e, ex.Arith):
            a, b = self.work(e.a, x, m, names), self.work(e.b, x, m, names)
            va, vb = e.a.ev(x, m), e.b.ev(x, m)
            if e.op in "+-" and plain(vb) and vb == 0:
                return a
            if e.op == "+" and plain(va) and va == 0:
                return b
            if e.op == "×" and plain(va) and va == 1 and not e.a.t[1]:
                return b
            if e.op in "×÷" and plain(vb) and vb == 1 and not e.b.t[1]:
                return a
            if e.op in "×÷":
                a = f"({a})" if loosely_bound(a) else a
                b = f"({b})" if loosely_bound(b) or e.op == "÷" and isinstance(e.b, ex.Arith) else b
            elif e.op == "-":
                b = f"({b})" if loosely_bound(b) else b
            return f"{a} {e.op.replace('-', '−')} {b}"
        if isinstance(e, ex.Path):
            v = self.shown(e.ev(x, m), unit_as_written(e, x, m))
            return f"{e.names[-1]} {v}" if names and e.names else v
        if isinstance(e, ex.Local):
            v = self.shown(e.ev(x, m), e.unit)
            return f"{e.name} {v}" if names else v
        if isinstance(e, ex.Dated):
            self.used[e.name] = None
            return f"{e.name} {show(e.value, e.unit)}" if names else show(e.value, e.unit)
        if isinstance(e, ex.Extreme):
            return self.work(self.binding(e, x, m), x, m, names)
        if isinstance(e, ex.Over) and e.fn == "total":
            taken, _ = e.taken(x, m)
            return (
                "(" + " + ".join(self.shown(v, e.unit) for _, _, v in taken) + ")"
                if len(taken) > 1
                else self.shown(e.ev(x, m), e.unit)
            )
        if isinstance(e, ex.Step):
            return f"{self.work(e.a, x, m, names)} stepped {'up' if e.up else 'down'}"
        if isinstance(e, ex.Root):
            return f"√({self.work(e.a, x, m, names)})"
        if isinstance(e, ex.Round):
            return f"{self.work(e.a, x, m, names)} rounded {e.how} to {e.step.text}"
        return self.shown(e.ev(x, m), e.unit)

    def binding(self, e: ex.Extreme, x: list, m=None) -> ex.Expr:
        """The operand that sets the result."""
        v = e.ev(x, m)
        hit = [k for k in e.xs if k.ev(x, m) == v]
        # of equals, the one that no look could change
        sure = [k for k in hit if not self._assumed(k, x, m)]
        return (sure or hit or list(e.xs))[0]

    def _assumed(self, e: ex.Expr, x: list, m=None) -> bool:
        if not isinstance(e, ex.Path) or not e.names:
            return False
        o = e.holder(x, m)
        return (
            isinstance(o, list)
            and self.explainer.origin(o, e.names[-1])[0] == "assumed"
            and e.names[-1] not in o[0].looked
        )

    # ---- several lines
    def unfold(self, e: ex.Expr, x: list, m=None, source: str = "") -> list[tuple[str, str]]:
        """(text, section) lines that make up the value, the basic ones first, the result last."""
        if isinstance(e, ex.Flag):
            e = e.a
        if isinstance(e, ex.Path):
            return self._path(e, x, m, source)
        if isinstance(e, ex.Local):
            lines = self.unfold(e.of, x, None, source)
            return lines[:-1] + [(f"{e.name}: {lines[-1][0]}", lines[-1][1])] if lines else []
        if isinstance(e, ex.Extreme):
            return self.unfold(self.binding(e, x, m), x, m, source)
        if isinstance(e, ex.Over) and e.fn in ("smallest", "largest"):
            v = e.ev(x, m)
            taken, _ = e.taken(x, m)
            hit = [y for y, ok, t in taken if t == v]
            if hit:
                return self.unfold(e.body, x, hit[0], source)
            return [(f"{e.fn} {show(v, e.unit)}", source)]
        if isinstance(e, ex.Over):
            taken, _ = e.taken(x, m)
            lines = (
                [
                    (
                        f"{_called(y)}: {show(v, e.unit)}",
                        source,
                    )
                    for y, ok, v in taken
                ]
                if e.body is not None and len(taken) > 1
                else []
            )
            return lines + [
                (
                    f"{'together' if e.fn == 'total' else 'in number'} {show(e.ev(x, m), e.unit)}",
                    source,
                )
            ]
        if isinstance(e, ex.Look):
            return self._look(e, x, m, source)
        if isinstance(e, ex.Arith):
            return self._arith(e, x, m, source)
        if isinstance(e, ex.Step):
            start, end = show(e.a.ev(x, m), e.unit), show(e.ev(x, m), e.unit)
            step = (
                "a standard rating itself"
                if start == end
                else f"the next standard rating {'up' if e.up else 'down'} is {end}"
            )
            return [(f"{equals(self.work(e.a, x, m), start)}; {step}", source)]
        if isinstance(e, (ex.Root, ex.Round)):
            return [(f"{self.work(e, x, m)} = {show(e.ev(x, m), e.unit)}", source)]
        return [(show(e.ev(x, m), e.unit), source)]

    def _path(self, e: ex.Path, x: list, m, source: str) -> list[tuple[str, str]]:
        o = e.holder(x, m)
        fact = e.names[-1] if e.names else ""
        v = show(e.ev(x, m), unit_as_written(e, x, m))
        if not isinstance(o, list) or not e.names:
            return [(f"{fact} {v}", source)]
        return self.fact(o, fact, source)

    def fact(self, o: list, fact: str, source: str = "") -> list[tuple[str, str]]:
        """The working of a fact."""
        w = self.k.words.kinds[o[0].kind].words[fact]
        v = show(o[w.slot], unit_shown(o, fact, w.unit))
        origin, by = self.explainer.origin(o, fact)
        if (
            origin == "derived"
            and by
            and (fill := next((f for f in self.k.rules[by].fills if f.word.name == fact), None))
            is not None
        ):
            section = self.section(by, o)
            if isinstance(fill.expr, ex.Word_):
                return [(f"{fact} {v}", section)]
            lines = self.unfold(fill.expr, o, None, section)
            if isinstance(fill.expr, ex.Path) or not lines:
                return lines or [(f"{fact} {v}", section)]
            return lines
        self.leaves.append((o, fact))
        if origin in ("assumed", "designed") and by:
            how = "looked, no marking" if fact in o[0].looked else origin
            return [(f"{fact} {v} ({how})", self.section(by, o))]
        return [(f"{fact} {v}", source)]

    def keys_text(self, e: ex.Look, x: list, m) -> str:
        out = []
        for key, k in e.keys:
            v = show(k.ev(x, m), unit_as_written(k, x, m))
            if (
                isinstance(k, ex.Path)
                and k.names
                and isinstance(o := k.holder(x, m), list)
                and (o[0].id, k.names[-1]) in self.explained
                and len(e.keys) > 1
            ):
                continue  # said once already, a line above
            out.append(
                f"{v} column"
                if key == "column"
                else v
                if not e.table.unit(key) or k.unit != "count"
                else f"{v} {key}"
            )
        return ", ".join(out)

    def _look(self, e: ex.Look, x: list, m, source: str) -> list[tuple[str, str]]:
        self.used[e.table.id] = None
        self._table = self.cell_section(e, x, m)  # of the table last read
        v = show(e.ev(x, m), e.unit)
        what = "" if e.unit == "A" or e.t[0] in ("row", "word") else f"{e.column} "
        lines = [(f"{self.keys_text(e, x, m)}: {what}{v}", together(self._table, source))]
        for key, k in e.keys:  # what set a key that rules found: the column an ampacity is read in
            if isinstance(k, ex.Path):
                self._why_key(key, k, x, m, lines)
        return lines

    def _why_key(self, key: str, k: ex.Path, x: list, m, lines: list) -> None:
        o = k.holder(x, m)
        if not isinstance(o, list) or not k.names or (o[0].id, k.names[-1]) in self.explained:
            return
        if key == "column":
            self.explained.add((o[0].id, k.names[-1]))
        origin, by = self.explainer.origin(o, k.names[-1])
        if origin in ("told", "picked", "tried", "designed"):
            self.leaves.append((o, k.names[-1]))
        if origin == "assumed":
            self.leaves.append((o, k.names[-1]))
            self.used[by] = None
        if origin != "derived" or not by:
            return
        fill = next((f for f in self.k.rules[by].fills if f.word.name == k.names[-1]), None)
        self.used[by] = None
        if fill is None or not isinstance(fill.expr, ex.Extreme):
            if fill is not None:
                table = self._table
                self.unfold(fill.expr, o, None, "")  # only for what it rests on
                if isinstance(fill.expr, ex.Look) and key == "column":
                    v, (text, _) = show(k.ev(x, m), k.unit), lines[0]
                    lines[0] = (
                        text.replace(f"{v} column", f"{v} column ({self._whose(o)})"),
                        together(self.section(by, o), table),
                    )
            return
        bound = self.binding(fill.expr, o)
        v = show(k.ev(x, m), k.unit)
        inner, holder = bound, None
        if isinstance(bound, ex.Over):
            taken, _ = bound.taken(o, None)
            hit = next((y for y, _, t in taken if t == bound.ev(o, None)), None)
            if hit is not None:
                inner, holder = bound.body, hit
        if isinstance(inner, ex.Path) and inner.names:
            thing = inner.holder(o, holder)
            if isinstance(thing, list):
                got, giver = self.explainer.origin(thing, inner.names[-1])
                self.leaves.append((thing, inner.names[-1]))
                src = self.section(giver, thing) if giver else self.section(by, o)
                word = {
                    "assumed": (
                        ", no marking told"
                        if inner.names[-1] not in thing[0].looked
                        else ", looked, no marking there"
                    ),
                    "told": ", as marked",
                }.get(got, "")
                text, section = lines[0]
                lines[0] = (
                    text.replace(f"{v} column", f"{v} column ({self._whose(thing)}{word})"),
                    together(src, self._table),
                )
        elif isinstance(inner, ex.Dated):
            self.section(inner.name)

    def _whose(self, thing: list) -> str:
        """What sets a column: the cable of a segment, or a termination."""
        method = self.k.words.kinds[thing[0].kind].words.get("method")
        if method is not None and isinstance(thing[method.slot], str):
            return str(thing[method.slot])
        return thing[0].name

    def _arith(self, e: ex.Arith, x: list, m, source: str) -> list[tuple[str, str]]:
        value = show(e.ev(x, m), e.unit)
        if e.op == "×":
            return self._product(e, x, m, source, value)
        if e.op == "+":
            addends = flatten(e, "+")
            if any(isinstance(a, ex.Over) for a in addends) or (
                len(addends) > 2 and all(isinstance(a, ex.Path) for a in addends)
            ):
                return self._sum(addends, x, m, source, value)
        return [(self.carried_out(e, x, m), source)]

    def _sum(self, addends: list, x: list, m, source: str, value: str) -> list[tuple[str, str]]:
        lines = []
        for a in addends:
            v = a.ev(x, m)
            if plain(v) and v == 0:
                continue
            if isinstance(a, ex.Over) and a.body is not None:
                listed = members(a.list.ev(x, m)) if a.list.ev(x, m) is not NOTHING else []
                # The largest of them is one addend; to list them all would not add up.
                if a.fn in ("smallest", "largest"):
                    listed = [y for y in listed if a.body.ev(x, y) == v][:1]
                for y in listed:
                    t = a.body.ev(x, y)
                    if plain(t) and t == 0:
                        continue
                    inner = self.unfold(a.body, x, y, source)
                    text, src = inner[-1] if inner else (show(t, a.unit), source)
                    lines.append((f"{describe(y, self.k)}  {text}", src))
            else:
                lines.append(self._addend(a, x, m, source))
        return lines + [(f"together {value}", source)]

    def _addend(self, a: ex.Expr, x: list, m, source: str) -> tuple[str, str]:
        """One addend of a sum: what it is, how it comes about, what it adds."""
        value = show(a.ev(x, m), a.unit)
        if not isinstance(a, ex.Path) or not a.names or not isinstance(o := a.holder(x, m), list):
            return f"{self.work(a, x, m)}", source
        name = a.names[-1]
        origin, by = self.explainer.origin(o, name)
        fill = (
            next((f for f in self.k.rules[by].fills if f.word.name == name), None)
            if origin == "derived" and by
            else None
        )
        if fill is None:
            return f"{name}: {value}", source
        src = self.section(by, o)
        if (
            isinstance(fill.expr, ex.Over)
            and fill.expr.fn == "total"
            and fill.expr.body is not None
        ):
            taken, _ = fill.expr.taken(o, None)
            said = []
            for y, _, v in taken:
                body = fill.expr.body
                inner = body
                if isinstance(body, ex.Path) and isinstance(h := body.holder(o, y), list):
                    _, giver = self.explainer.origin(h, body.names[-1])
                    if (
                        giver
                        and (
                            f := next(
                                (
                                    f
                                    for f in self.k.rules[giver].fills
                                    if f.word.name == body.names[-1]
                                ),
                                None,
                            )
                        )
                        is not None
                    ):
                        src = together(self.section(giver, h)) or src
                        inner, y = f.expr, h
                        said.append(
                            f"{describe(y, self.k)}:"
                            f" {equals(self.work(inner, y, None, names=False), show(v, a.unit))}"
                        )
                        continue
                said.append(f"{describe(y, self.k)}: {show(v, a.unit)}")
            return f"{name}: " + ("; ".join(said) if said else value), src
        work = equals(self.work(fill.expr, o, None, names=False), value)
        if work == value:  # one thing sets it: say which
            same = next(
                (
                    p
                    for p in ex.walk(fill.expr)
                    if isinstance(p, ex.Path)
                    and p.names
                    and not p.member
                    and p.ev(o, None) == a.ev(x, m)
                ),
                fill.expr,
            )
            inner = self.unfold(same, o)
            work = inner[0][0] if inner and inner[0][0].endswith(value) else value
        return f"{name}: {work}", src

    def _product(self, e: ex.Arith, x: list, m, source: str, value: str) -> list[tuple[str, str]]:
        """A base read from a table, then each factor that is not one with where it comes from, then
        the product.
        """
        factors = flatten(e, "×")
        base = next((f for f in factors if isinstance(f, ex.Look)), None)
        if base is None:
            return [(self.carried_out(e, x, m), source)]
        lines = self._look(base, x, m, "")
        said = [show(base.ev(x, m), base.unit)]
        for f in factors:
            if f is base:
                continue
            v = f.ev(x, m)
            if plain(v) and v == 1:
                if isinstance(f, ex.Path):
                    # a factor of one is not printed, and still rests on something
                    self.unfold(f, x, m, source)
                continue
            inner = self.unfold(f, x, m, source)
            if isinstance(f, ex.Path) and inner:
                lines.append((inner[0][0], inner[0][1]))
            said.append(show(v, f.unit))
        if len(said) > 1:
            text, src = lines[-1]
            lines[-1] = (f"{text}; {' × '.join(s.removesuffix(' A') for s in said)} = {value}", src)
        return lines


FINER = 4  # places behind the point of a number of 10 and more, where the usual two do not do


def one_number(v):
    """A number that a root leaves open only behind the figures that are shown, as one number."""
    near = isinstance(v, Range) and None not in (v.lo, v.hi)
    return v.lo if near and number_text(Fraction(v.lo)) == number_text(Fraction(v.hi)) else v


def as_written(v, unit: str | None) -> Fraction:
    """A number as people read it: by the figures that are shown."""
    shown = Fraction(number_text(in_unit(v, unit)).replace(",", ""))
    return Fraction(to_base(shown, unit or "count"))


def equals(work: str, value: str) -> str:
    """`125 % × 48 A = 60 A`; a single value is not set equal to itself."""
    return (
        work
        if work == value
        or (work.endswith(" " + value) and not any(f" {op} " in work for op in "+−×÷"))
        else f"{work} = {value}"
    )


def together(*sources: str) -> str:
    """Sections side by side, without one that another already names."""
    out: list[str] = []
    for s in sources:
        if s and not s[0].islower() and not any(s in o for o in out):
            out = [
                o for o in out if o.removeprefix("Table ") not in s or o.startswith("Table ")
            ] + [s]
    return ", ".join(out)


def flatten(e: ex.Expr, op: str) -> list[ex.Expr]:
    """The operands of a chain of one operation."""
    if isinstance(e, ex.Arith) and e.op == op:
        return flatten(e.a, op) + flatten(e.b, op)
    return [e]


def describe(y: list, k) -> str:
    """A member of a list by what it is: `3 × 6 AWG`, `kiln circuit`."""
    words = k.words.kinds[y[0].kind].words
    said = []
    for name in ("count", "size", "gangs"):
        w = words.get(name)
        if w is not None and y[w.slot] is not None and not isinstance(y[w.slot], list):
            v = show(y[w.slot], w.unit)
            said.append(
                f"{v} ×"
                if name == "count"
                else (
                    f"{v} gangs"
                    if name == "gangs" and v != "1"
                    else "1 gang"
                    if name == "gangs"
                    else v
                )
            )
    kind = y[0].kind.replace("box ", "")
    if said:
        return (
            f"{' '.join(said)} {kind}" if y[0].name.isdigit() else f"{y[0].name}: {' '.join(said)}"
        )
    return y[0].name if not y[0].name.isdigit() else f"{kind} {y[0].name}"


def _called(thing: list) -> str:
    """What a thing is called in a list: its name, or its kind where it has a number alone."""
    meta = thing[0]
    return f"{meta.kind} {meta.name}" if meta.name.isdigit() else meta.name
