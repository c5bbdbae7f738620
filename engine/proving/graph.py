"""The derivation of a run as one graph: facts, rules, the steps of their lines, table cells, picks and absences.

Nothing is logged while the rules run. Every cell is settled when they are done, so the graph of any answer is read
off the settled cells by walking the lines again; a step's value here is what it was worth there. Edges lead from a
conclusion to what it rests on, in the order of the line.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

from ..basics.errors import Place
from ..basics.reading import place_of
from ..basics.units import NOTHING, POINTS, UNITS, Range, in_unit, number_text, show_number
from ..language import expressions as ex
from ..language.expressions import NONE, as_word, members
from ..language.rules import JUDGING, Rule
from ..running.chain import OFF, PASSES, SET_ASIDE, TELL, World


class Node:
    """One node. *kind* is fact, rule, step, cell, value, pick or row; *value* is exact text, *text* is for people."""

    def __init__(self, id: str, kind: str, text: str, value: str, unit: str, data: dict) -> None:
        self.id, self.kind, self.text, self.value, self.unit, self.data = (
            id,
            kind,
            text,
            value,
            unit,
            data,
        )


class Graph:
    """Nodes by id, edges (from, to, role), and the node the question was about."""

    def __init__(self) -> None:
        self.root = ""
        self.nodes: dict[str, Node] = {}
        self.edges: list[tuple[str, str, str]] = []

    def out(self, node: str) -> list[tuple[str, str]]:
        """(to, role) of every edge from *node*, in order."""
        return [(b, r) for a, b, r in self.edges if a == node]

    def as_dict(self) -> dict:
        return {
            "root": self.root,
            "nodes": [
                {
                    "id": n.id,
                    "kind": n.kind,
                    "text": n.text,
                    "value": n.value,
                    "unit": n.unit,
                    **({"data": n.data} if n.data else {}),
                }
                for n in self.nodes.values()
            ],
            "edges": [{"from": a, "to": b, "role": r} for a, b, r in self.edges],
        }


PUT_TOGETHER: dict[
    str, Fraction
] = {}  # unit of a product that has no name, as in V/in: how much it is in base


def unit_of(e: ex.Expr) -> str | None:
    """The unit a piece of a line is shown in; put together of V, A, in and the like where it has no name."""
    if e.t[0] != "q" or e.unit:
        return e.unit
    up, down = (
        [b if abs(n) == 1 else f"{b}^{abs(n)}" for b, n in e.t[1] if n * sign > 0]
        for sign in (1, -1)
    )
    name = "/".join(["·".join(up) or "1", *down])
    PUT_TOGETHER[name] = math.prod(
        UNITS[b if b in UNITS else {"K": "C°", "deg": "°"}[b]][0] ** n for b, n in e.t[1]
    )
    return name


def measured(v, unit: str | None) -> Fraction:
    """A base value as a number of *unit*."""
    return Fraction(v) / PUT_TOGETHER[unit] if unit in PUT_TOGETHER else in_unit(v, unit)


def exact_text(v, unit: str | None = None) -> str:
    """A value as exact text: numbers in *unit* as decimals or fractions, ranges as `a..b`."""
    if (word := as_word(v)) is not None:
        return word
    if isinstance(v, Range):
        low, high = (
            "" if end is None else number_text(measured(end, unit), True) for end in (v.lo, v.hi)
        )
        return f"{low}..{high}"
    if isinstance(v, list):
        return ", ".join(y[0].id for y in members(v)) if not (v and type(v) is list) else v[0].id
    return number_text(measured(v, unit), True)


def show(v, unit: str | None = None, full: bool = False, brief: bool = False) -> str:
    """A value as people read it."""
    if (word := as_word(v)) is not None:
        return word
    if isinstance(v, Range):
        if v.hi is None:
            return f"{amount(v.lo, unit, full, brief)} or more"
        if v.lo is None:
            return f"{amount(v.hi, unit, full, brief)} or less"
        a, b = amount(v.lo, unit, full, brief), amount(v.hi, unit, full, brief)
        return (
            a if a == b else f"{a.removesuffix(' ' + unit) if unit else a} to {b}"
        )  # a root: closer than is shown
    if isinstance(v, list):
        return v[0].name if v and hasattr(v[0], "kind") else f"{len(members(v))} listed"
    return amount(v, unit, full, brief)


def amount(v, unit: str | None, full: bool = False, brief: bool = False) -> str:
    """One number as people read it."""
    return (
        f"{number_text(measured(v, unit), full, brief)} {unit}"
        if unit in PUT_TOGETHER
        else show_number(v, unit, full, brief)
    )


def unit_shown(x, fact: str, unit: str | None) -> str | None:
    """The unit a person wrote this fact in, where they did."""
    written = x[0].written.get(fact) if isinstance(x, list) else None
    return written[1] if written and written[1] else unit


class Explainer:
    """Builds graphs from a finished run: with all that is said and worth there, or bare, where only what rests on what is asked."""

    def __init__(self, w: World, bare: bool = False) -> None:
        self.w, self.k, self.g, self.bare = w, w.k, Graph(), bare
        self._seen: set[tuple] = set()

    def _node(
        self, node: str, kind: str, data: dict, said: Callable[[], tuple[str, str, str]]
    ) -> None:
        """Add a node; *said* gives its text, its value and its unit."""
        self.g.nodes[node] = Node(node, kind, *(("", "", "") if self.bare else said()), data)

    # ---- facts
    def fact(self, x: list, name: str) -> str:
        """The node of a fact, with all it rests on."""
        word = self.k.words.kinds[x[0].kind].words[name]
        givers = self.k.order.givers.get((x[0].kind, name), ())
        if (
            x[0].plane
            and not self.of_its_own(x, name)
            and word.comes_with != self.k.rules[x[0].plane].tried.name
        ):
            return self.fact(x[0].slot, name)  # what trying a row does not change
        node = f"fact:{x[0].id}/{name}"
        if node in self.g.nodes:
            return node
        v = x[word.slot]
        origin, by = self.origin(x, name)
        data: dict = {"of": x[0].id, "is": name, "origin": origin}
        if by:
            data["by"] = by
        if (written := x[0].written.get(name)) and origin in ("told", "assumed", "disputed"):
            data["as written"], data["at"] = written[0], str(written[2])
        if name in x[0].looked:
            data["looked"] = "and found no marking"
        if word.type[0] == "many":
            data["open"] = not isinstance(v, list) or getattr(v, "open", False)
        self._node(
            node,
            "fact",
            data,
            lambda: (
                f"{name} of {short(x)}: {show(v, unit_shown(x, name, word.unit))}",
                exact_text(v, word.unit),
                word.unit or "",
            ),
        )
        if x[0].plane and not self.of_its_own(x, name):
            return node
        for g in givers if origin != "tried" else ():
            if g.verb == "tries":
                if by == g.id:
                    self.edge(node, self.pick(g, x), "picked by")
                continue
            if (
                origin == "told" and g.verb != "gives"
            ):  # only what is given can dispute what is told
                continue
            role = "given by" if g.id == by else "not given by"
            if origin == "disputed" and self.w.answer(g, x) == "holds":
                role = "given by"
            self.edge(node, self.rule(g, x), role)
        return node

    def origin(self, x: list, name: str) -> tuple[str, str | None]:
        """Where a fact came from, and the rule that gave it."""
        meta = x[0]
        givers = self.k.order.givers.get((meta.kind, name), ())
        if meta.plane and not self.of_its_own(x, name):
            comes = (
                self.k.words.kinds[meta.kind].words[name].comes_with
                == self.k.rules[meta.plane].tried.name
            )
            return (
                ("told" if name in meta.told else "unknown", None)
                if comes
                else self.origin(meta.slot, name)
            )
        if not givers:
            return ("told" if name in meta.told else "unknown"), None
        _, origin, by = self.w.settle(meta.kind, name, x)
        return origin, by

    def of_its_own(self, x: list, name: str) -> bool:
        """Is this a fact that a tried row settles for itself?"""
        givers = self.k.order.givers.get((x[0].kind, name), ())
        return (
            name == self.k.rules[x[0].plane].tried.name
            or bool(givers)
            and not any(g.verb in ("tries", "designs") for g in givers)
        )

    # ---- rules
    def rule(self, r: Rule, x: list) -> str:
        """The node of a rule's answer on a thing."""
        node = f"rule:{r.id}@{x[0].id}"
        if node in self.g.nodes:
            return node
        answer = self.w.answer(r, x)
        data = {
            "rule": r.id,
            "on": x[0].id,
            "answer": answer,
            "verb": r.verb,
            "layer": r.layer,
            "section": r.section(self.k.edition, x) or "",
            "edition": self.k.edition,
            "at": str(r.at),
        }
        if r.verb in JUDGING:
            data["own answer"] = x[self.k.slots[r.id]] or OFF
        if r.d.get("doubt"):
            data["doubt"] = str(r.d["doubt"])
        self._node(node, "rule", data, lambda: (f"{r.said}", answer, ""))
        for i, c in enumerate(r.when):
            self.operand(node, c, r, x, None, f"when.{i}", "when")
        if r.cited_by is not None:
            self.operand(node, r.cited_by, r, x, None, "code by", "cited by")
        if self.applies(r, x):
            if r.test is not None:
                self.operand(node, r.test, r, x, None, r.verb, r.verb)
            for f in r.fills:
                if not self.bare:
                    data.setdefault("gives", {})[f.word.name] = exact_text(
                        x[self.k.results[r.id, f.word.name]], f.word.unit
                    )
                self.operand(
                    node, f.expr, r, x, None, f"{r.verb}.{f.word.name}", f"{r.verb} {f.word.name}"
                )
        for e in self.k.order.exceptions.get(r.id, ()):
            self.edge(node, self.rule(e, x), "exception")
        return node

    def applies(self, r: Rule, x: list) -> bool:
        """False where a condition of the rule is not met; beyond a `none` the test itself shows why nothing is judged."""
        return not any(v is False or v is NOTHING for v in (c.ev(x, None) for c in r.when))

    # ---- the steps of a line
    def operand(self, parent: str, e: ex.Expr, r: Rule, x: list, m, path: str, role: str) -> None:
        """Hang what *e* rests on under *parent*: a fact directly, a step as a node of its own."""
        if isinstance(e, ex.Flag):
            e = e.a
        if isinstance(e, ex.Local):
            e_node = self.step(e.of, r, x, None, f"steps.{e.name}", e.name)
            if e_node:
                self.edge(parent, e_node, role)
            return
        if isinstance(e, ex.Path):
            self.path(parent, e, x, m, role)
            return
        if isinstance(e, ex.Dated):
            node = f"value:{e.name}"
            d = self.k.value_items[e.name]
            if node not in self.g.nodes:
                self._node(
                    node,
                    "value",
                    {
                        "section": self.k.section(e.name),
                        "edition": self.k.edition,
                        "at": str(place_of(d)),
                    },
                    lambda: (
                        f"{e.name}: {show(e.value, e.unit)}",
                        exact_text(e.value, e.unit),
                        e.unit or "",
                    ),
                )
            self.edge(parent, node, role)
            return
        if isinstance(e, (ex.Num, ex.Word_, ex.Column)):
            return
        node = self.step(e, r, x, m, path)
        if node:
            self.edge(parent, node, role)

    def step(self, e: ex.Expr, r: Rule, x: list, m, path: str, name: str = "") -> str | None:
        """A node for an operation, a look-up, a total, a comparison."""
        if isinstance(e, (ex.Path, ex.Num, ex.Word_, ex.Dated, ex.Column, ex.Flag, ex.Local)):
            node = f"step:{r.id}@{x[0].id}#{path}"
            if node not in self.g.nodes:
                self._node(
                    node,
                    "step",
                    {"op": "is", "line": path},
                    lambda: (
                        f"{name}: {say(e, x, m)}",
                        exact_text(e.ev(x, m), unit_of(e)),
                        unit_of(e) or "",
                    ),
                )
                self.operand(node, e, r, x, m, path + ".0", "is")
            return node
        where = f"[{m[0].id}]" if isinstance(m, list) else ""
        node = f"step:{r.id}@{x[0].id}#{path}{where}"
        if node in self.g.nodes:
            return node
        self._node(
            node,
            "step",
            {"op": op_of(e), "line": path},
            lambda: ("", exact_text(e.ev(x, m), unit_of(e)), unit_of(e) or ""),
        )
        n = self.g.nodes[node]
        if isinstance(e, ex.Over):
            if isinstance(e.list, ex.Path):
                self.path(node, e.list, x, m, "over")
            for y in members(
                e.list.ev(x, m) if not isinstance(e.list.ev(x, m), type(NOTHING)) else []
            ):
                if e.where:
                    self.operand(node, e.where, r, x, y, f"{path}.where", f"counts {y[0].name}")
                counts = e.where.ev(x, y) if e.where else True
                if e.body and counts is not False and counts is not NOTHING:
                    self.operand(node, e.body, r, x, y, f"{path}.each", f"of {y[0].name}")
            if not self.bare:
                taken, open_ = e.taken(x, m)
                n.data["members"] = [
                    {
                        "of": y[0].id,
                        "counts": "yes" if ok is True else "unknown",
                        "adds": exact_text(t, unit_of(e)),
                    }
                    for y, ok, t in taken
                ]
                n.data["open"] = bool(open_)
            if e.default is not None:
                self.operand(node, e.default, r, x, m, f"{path}.or", "or")
        elif isinstance(e, ex.Look):
            for key, k_expr in e.keys:
                self.operand(node, k_expr, r, x, m, f"{path}.{key}", f"by {key}")
            rows = e.rows(x, m)
            if e.where is not None:
                self._backwards(node, e, r, x, m, path)
            elif rows is not None and len(rows) == 1 and rows[0]:
                self.edge(node, self.cell(e.table, rows[0], e.column), "reads")
            elif rows:
                n.data["rows possible"] = len(rows)
            else:
                n.data["rows possible"] = 0
        elif isinstance(e, ex.Quant):
            if isinstance(e.list, ex.Path):
                self.path(node, e.list, x, m, "over")
            for y in members(e.list.ev(x, m)):
                self.operand(node, e.where, r, x, y, f"{path}.where", f"is {y[0].name} so")
        else:
            for i, kid in enumerate(e.kids()):
                self.operand(node, kid, r, x, m, f"{path}.{i}", str(i + 1))
        if self.bare:
            return node
        v = e.ev(x, m)
        if isinstance(e, ex.Cmp):
            a, b = e.sides(x, m)
            n.data.update(
                {
                    "left": exact_text(e.a.ev(x, m), unit_of(e.a)),
                    "right": exact_text(e.b.ev(x, m), unit_of(e.b)),
                    "compares": e.op,
                    "left unit": unit_of(e.a) or "",
                    "right unit": unit_of(e.b) or "",
                }
            )
            if plain(a) and plain(b) and e.order is None:
                n.data["margin"] = number_text(
                    abs(in_unit(a, None) - in_unit(b, None)) / scale(unit_of(e.a)), True
                )
                n.unit = unit_of(e.a) or ""
        n.text = (
            (f"{name}: " if name else "")
            + say(e, x, m)
            + (
                ""
                if isinstance(e, ex.Cond)
                else f" = {show(v, unit_of(e))}"
                if not isinstance(e, ex.Look)
                else ""
            )
        )
        if isinstance(e, ex.Cond):
            n.text += (
                f"? {'yes' if v is True else 'no' if v is False or v is NOTHING else 'cannot tell'}"
            )
        return node

    def _backwards(self, node: str, e: ex.Look, r: Rule, x: list, m, path: str) -> None:
        def hang(
            part: ex.Expr, at: str
        ) -> None:  # what the condition reads beside the columns of the table
            if not any(isinstance(k, ex.Column) for k in ex.walk(part)):
                self.operand(node, part, r, x, m, at, "where")
            else:
                for i, kid in enumerate(part.kids()):
                    hang(kid, f"{at}.{i}")

        hang(e.where, f"{path}.where")
        if e.known_keys(x, m) is None or not e.sure(x, m):
            return
        rows = e.rows(x, m)
        for i, row in enumerate(rows):
            ok = e.where.ev(x, row)
            if ok is not False:
                self.edge(node, self.cell(e.table, row, e.column), "reads")
                if i:
                    self.edge(node, self.cell(e.table, rows[i - 1], e.column), "next below fails")
                return

    def cell(self, table, row: dict, column: str) -> str:
        """The node of a table cell, with the rows beside it."""
        keys = ", ".join(table.show(k, row[k]) for k in table.keys)
        node = f"cell:{table.id}[{keys}]/{column}"
        if node not in self.g.nodes:
            before, after = table.neighbours(row)
            data = {
                "table": table.id,
                "keys": {k: exact_text(row[k], table.unit(k)) for k in table.keys},
                "column": column,
                "section": self.k.section(table.id, row),
                "edition": self.k.edition,
                "at": str(table.places(row)),
            }
            for name, r in (("row before", before), ("row after", after)):
                if r is not None:
                    data[name] = (
                        f"{', '.join(table.show(k, r[k]) for k in table.keys)}: {table.show(column, r[column])}"
                    )
            if table.d.get("doubt"):
                data["doubt"] = str(table.d["doubt"])
            unit = table.unit(column)
            self._node(
                node,
                "cell",
                data,
                lambda: (
                    f"{table.id} at {keys}: {table.show(column, row[column])}",
                    exact_text(row[column], unit),
                    unit or "",
                ),
            )
        return node

    def path(self, parent: str, e: ex.Path, x: list, m, role: str) -> None:
        o = m if e.member else x
        kind = e.kinds[0]
        for i, slot in enumerate(e.slots):
            name = e.names[i]
            w = self.k.words.kinds[kind].words[name]
            last = i == len(e.slots) - 1
            linked = (
                not w.part
                and w.type[0] == "ref"
                and o[0].whole is not o[slot]
                and name not in ("job",)
            )
            if last or (linked and not self._whole(w)) or o[slot] is None or o[slot] is NONE:
                self.edge(parent, self.fact(o, name), role if last else "through")
            if last or o[slot] is None or o[slot] is NONE:
                return
            o, kind = o[slot], w.type[1]

    def _whole(self, w) -> bool:
        return any(
            p.part and p.type[1] == w.kind for p in self.k.words.kinds[w.type[1]].words.values()
        )

    # ---- picks
    def pick(self, p: Rule, x: list) -> str:
        """The node of a pick: every row tried, and what each test says of it."""
        node = f"pick:{p.id}@{x[0].id}"
        if node in self.g.nodes:
            return node
        first, waiting = self.w.picked.get((p.id, x[0].id), (None, []))
        rows = self.w.rows_of.get((p.id, x[0].id))
        unit = p.tries_table.unit(p.tried.name)
        chosen = (
            show(first[0].row, unit)
            if first is not None and not waiting
            else "none"
            if rows is not None and not waiting
            else "unknown"
        )
        self._node(
            node,
            "pick",
            {
                "rule": p.id,
                "on": x[0].id,
                "section": p.section(self.k.edition, x) or "",
                "edition": self.k.edition,
                "layer": p.layer,
                "at": str(p.at),
            },
            lambda: (f"{p.said} {p.tried.name} of {short(x)}: {chosen}", chosen, ""),
        )
        for e in p.tries_keys.values():
            self.operand(node, e, p, x, None, "keys", "by")
        for y in rows or ():
            self.edge(node, self.row(p, y), "tries")
            if y is first:
                break
        return node

    def row(self, p: Rule, y: list) -> str:
        node = f"row:{y[0].id}?{p.id}"
        if node in self.g.nodes:
            return node
        unit = p.tries_table.unit(p.tried.name)
        st = self.w.row_passes(self.k.order.tests[p.id], y)
        said = {t.id: self.w.answer(t, y) for t in self.k.order.tests[p.id]}
        self._node(
            node,
            "row",
            {"answer": "passes" if st is True else "fails" if st is False else TELL, "tests": said},
            lambda: (
                f"{show(y[0].row, unit)}: {'passes every test' if st is True else 'fails' if st is False else 'cannot tell'}",
                exact_text(y[0].row, unit),
                unit or "",
            ),
        )
        for t in self.k.order.tests[p.id]:
            if st is False and said[t.id] in (
                PASSES,
                OFF,
            ):  # a row that fails needs no more than what it fails
                continue
            self.edge(node, self.rule(t, y), "does not test" if said[t.id] == OFF else "tested by")
        return node

    def edge(self, a: str, b: str, role: str) -> None:
        if (a, b, role) not in self._seen:
            self._seen.add((a, b, role))
            self.g.edges.append((a, b, role))


def support(w: World, r: Rule, x: list) -> Graph:
    """All that the answer of *r* on *x* rests on, bare; kept with the run, since several parts of one answer ask for it."""
    key = (r.id, x[0].id)
    if key not in w.supports:
        e = Explainer(w, bare=True)
        e.g.root = e.rule(r, x)
        w.supports[key] = e.g
    return w.supports[key]


def plain(v) -> bool:
    """Is this one known number?"""
    return (
        v is not None
        and v is not NOTHING
        and v is not NONE
        and not isinstance(v, (Range, str, bool, list))
    )


def scale(unit: str | None) -> Fraction:
    """How much one of *unit* (one degree of it) is in base."""
    return next(
        (table[unit][0] for table in (UNITS, POINTS) if unit in table),
        PUT_TOGETHER.get(unit, Fraction(1)),
    )


def short(x: list) -> str:
    """How a person would call a thing: `kiln conductors`, `segment 2 of the kiln circuit`."""
    meta = x[0]
    if meta.id == "job":
        return "the job"
    parts = meta.id.split("@")[0].split(".")
    row = f" at {meta.id.split('@', 1)[1]}" if "@" in meta.id else ""
    if len(parts) == 1:  # the job's only one of its kind
        return meta.id
    if meta.whole is not None and "." not in meta.whole[0].id and meta.whole[0].id != "job":
        return f"{parts[0]} {parts[-1]}{row}"
    if len(parts) == 2:
        return f"{parts[1]}{row}" if not parts[1].isdigit() else f"{meta.kind} {parts[1]}{row}"
    if parts[0] == "circuits":
        if parts[-1].isdigit():
            return f"{parts[1]} {parts[-2].rstrip('s')} {parts[-1]}{row}"
        return f"{parts[1]} {parts[-1]}{row}"
    return " ".join(parts[1:]) + row


def op_of(e: ex.Expr) -> str:
    """The name of an operation, as the proof check knows it."""
    return {
        ex.Arith: lambda: e.op,
        ex.Extreme: lambda: "smaller" if e.least else "larger",
        ex.Over: lambda: e.fn,
        ex.Look: lambda: "look-up",
        ex.Step: lambda: "stepped up" if e.up else "stepped down",
        ex.Round: lambda: f"rounded {e.how}",
        ex.Root: lambda: "root",
        ex.Not: lambda: "not",
        ex.Junction: lambda: "all" if e.all else "any",
        ex.Cmp: lambda: e.op,
        ex.Gauge: lambda: "gauge",
        ex.Is: lambda: "is",
        ex.Among: lambda: "among",
        ex.Quant: lambda: e.fn,
    }[type(e)]()


def say(e: ex.Expr, x: list, m=None) -> str:
    """A line with its values filled in."""
    if isinstance(e, ex.Num):
        return e.text
    if isinstance(e, ex.Word_):
        return str(e.value)
    if isinstance(e, ex.Dated):
        return f"{e.name} {show(e.value, e.unit)}"
    if isinstance(e, ex.Column):
        return e.name
    if isinstance(e, ex.Local):
        return f"{e.name} {show(e.ev(x, m), e.unit)}"
    if isinstance(e, ex.Path):
        o = e.holder(x, m)
        v = e.ev(x, m)
        unit = unit_shown(o, e.names[-1], e.unit) if isinstance(o, list) and e.names else e.unit
        if e.t == ex.FLAG:
            return f"{e.said} {show(v)}"
        return f"{e.said} {show(v, unit)}"
    if isinstance(e, ex.Arith):
        a, b = say(e.a, x, m), say(e.b, x, m)
        if e.op in "×÷":
            a = f"({a})" if isinstance(e.a, ex.Arith) and e.a.op in "+-±" else a
            b = f"({b})" if isinstance(e.b, ex.Arith) else b
        return f"{a} {e.op.replace('-', '−')} {b}"
    if isinstance(e, ex.Extreme):
        return f"the {'smaller' if e.least else 'larger'} of " + " and ".join(
            say(i, x, m) for i in e.xs
        )
    if isinstance(e, ex.Over):
        taken, _ = e.taken(x, m)
        if e.fn == "count":
            return f"how many {e.list.said}"
        glue = " + " if e.fn == "total" else ", "
        return f"{e.fn} of " + (
            glue.join(
                f"{y[0].name} {show(v, e.unit)}" + ("" if ok is True else " (if it counts)")
                for y, ok, v in taken
            )
            or "none"
        )
    if isinstance(e, ex.Look):
        v = e.ev(x, m)
        keys = ", ".join(show(k.ev(x, m), unit_as_written(k, x, m)) for _, k in e.keys)
        return f"{e.column} from {e.table.id} at {keys}: {show(v, e.unit)}"
    if isinstance(e, ex.Step):
        return f"{say(e.a, x, m)} stepped {'up' if e.up else 'down'} in {e.table.id}"
    if isinstance(e, ex.Round):
        return f"{say(e.a, x, m)} rounded {e.how} to {e.step.text}"
    if isinstance(e, ex.Root):
        return f"√({say(e.a, x, m)})"
    if isinstance(e, ex.Flag):
        return say(e.a, x, m)
    if isinstance(e, ex.Not):
        return f"not {say(e.a, x, m)}"
    if isinstance(e, ex.Junction):
        return (" and " if e.all else " or ").join(say(c, x, m) for c in e.xs)
    if isinstance(e, ex.Cmp):
        return f"{say(e.a, x, m)} {e.op} {say(e.b, x, m)}"
    if isinstance(e, ex.Gauge):
        return f"{say(e.a, x, m)} is {e.size} or {'smaller' if e.smaller else 'larger'}"
    if isinstance(e, ex.Is):
        return f"{say(e.a, x, m)} is {'not ' if e.negated else ''}{' or '.join(e.words)}"
    if isinstance(e, ex.Among):
        return f"{say(e.a, x, m)} is {'not ' if e.negated else ''}among {e.table.id}"
    if isinstance(e, ex.Quant):
        return f"{e.fn} {e.list.said} is so"
    return "?"


def unit_as_written(e: ex.Expr, x, m=None) -> str | None:
    """The unit a piece of a line is shown in: as the fact was written, where it is one."""
    if isinstance(e, ex.Path):
        o = e.holder(x, m)
        if isinstance(o, list) and e.names:
            return unit_shown(o, e.names[-1], e.unit)
    return e.unit


__all__ = [
    "Explainer",
    "Graph",
    "Node",
    "support",
    "SET_ASIDE",
    "Place",
    "exact_text",
    "show",
    "say",
    "short",
]
