"""What the lines of rules are worth, worked out anew for the proof check by a walk of its own.

Every step of a line is recomputed from the values that the facts below it claim, and notes the
edges that it needs.
"""

from __future__ import annotations

from collections import namedtuple
from fractions import Fraction as F
from functools import lru_cache
from itertools import product
from math import floor, inf, isqrt

from ..basics.units import POINT, dimension, multiply_dims, number_text, parse_quantity
from ..language.lines import parse_line
from ..language.words import as_list
from .proof_values import (
    NONE,
    NOTHING,
    SOME,
    WHOLE,
    Many,
    arith,
    both,
    cell_of,
    compare,
    either,
    find,
    fold,
    label,
    measure,
    near,
    opposite,
    text,
)

CALLED = {
    "least": "smaller",
    "most": "larger",
    "and": "all",
    "or": "any",
    "look": "look-up",
    "path": "is",
    "num": "is",
    "size": "is",
    "word": "is",
}
# what a node calls by its sign or its way
BY_KIND = (
    "bin",
    "over",
    "cmp",
    "quant",
    "step",
    "round",
)
# where a line is read; which member of a list, which row of a table
At = namedtuple("At", "rule x kind m mkind row", defaults=(None,) * 3)
parse = lru_cache(maxsize=None)(parse_line)


def amount(e: tuple) -> tuple:
    """A number as written in a line."""
    return (F(parse_quantity(e[1], e[2] or "count", bare=True)[0]),) * 2


def condition(line) -> tuple:
    """A condition: a line, or any of (all of) several."""
    if isinstance(line, dict):
        ((how, lines),) = line.items()
        return "and" if how == "all of" else "or", tuple(map(condition, as_list(lines)))
    return parse(line, "cond")


def pieces(e: tuple) -> tuple:
    """The pieces of an operation, in the order of its edges; none of what is no operation on
    pieces.
    """
    if e[0] in ("least", "most", "and", "or"):
        return e[1]
    if e[0] == "among":
        return e[2], *(k for _, k in e[5])
    first, last = {"bin": (2, 4), "cmp": (2, 4), "step": (2, 3), "round": (2, 3), "is": (2, 3)}.get(
        e[0], (1, 2)
    )
    return () if e[0] in ("num", "size", "word", "path", "over", "quant", "look") else e[first:last]


class Steps:
    """The walk over lines; facts, rules and picks are judged by the class that builds on it
    (proof.py).
    """

    def path(self, names: tuple, c: At) -> tuple:
        """(what it is, type, where it leads) of a path: a column of the row looked at, a step of
        the rule, a dated value, or a fact.
        """
        alone, kinds = names[0] if len(names) == 1 else None, self.k.words.kinds
        if c.row and alone in (*c.row[0].keys, *c.row[0].values):
            return "column", self.columns[c.row[0].id, alone], None
        if alone in self.rules[c.rule].get("steps", ()):
            e, outside = (
                parse(self.rules[c.rule]["steps"][alone], "sum"),
                c._replace(m=None, mkind=None, row=None),
            )
            return "step", self.type(e, outside), (e, outside)
        if alone in self.k.values and alone not in kinds[c.kind].words:
            v, t = self.k.values[alone]
            return "value", t, (F(v), F(v))
        x, kind, names = (
            (c.m, c.mkind, names[:-1]) if names[-1] == c.mkind else (c.x, c.kind, names)
        )
        words = []
        for name in self.k.words.spell(kind, names[::-1]):
            words.append(kinds[kind].words[name])
            kind = words[-1].type[-1]
        return "fact", words[-1].type, (x, words)

    def type(self, e: tuple, c: At) -> tuple:
        """What a piece of a line is, whatever it is worth; as in words.py."""
        op = e[0]
        if op == "bin":
            a, b = self.type(e[2], c)[1], self.type(e[3], c)[1]
            return "q", (
                multiply_dims(a, b, 1 if e[1] == "×" else -1)
                if e[1] in "×÷"
                else (("K", 1),)
                if e[1] == "-" and a == b == POINT
                else a
            )
        if op == "over":
            return self.type(e[2], c._replace(mkind=self.type(e[3], c)[1])) if e[2] else ("q", ())
        if op in ("least", "most", "step", "round", "root"):
            t = self.type(pieces(e)[0], c)
            return t if op != "root" else ("q", tuple((u, n // 2) for u, n in t[1]))
        if op in ("path", "look"):
            return self.path(e[1], c)[1] if op == "path" else self.columns[e[2], e[1]]
        return (
            ("q", dimension(e[2] or "count"))
            if op == "num"
            else ("row", None)
            if op == "size"
            else ("word",)
            if op == "word"
            else ("flag",)
        )

    def operand(self, up: str, e: tuple, c: At, at: str, role: str):
        """The value of a piece of a line; the edge from *up* that it needs is noted."""
        if e[0] == "flag":
            v = self.operand(up, e[1], c, at, role)
            return NOTHING if v == NONE else v
        if e[0] in ("num", "size", "word"):
            return amount(e) if e[0] == "num" else e[1]
        what, t, leads = self.path(e[1], c) if e[0] == "path" else (None, None, None)
        if what == "column":
            return cell_of([c.row[1]], e[1][0], t)
        if what == "value":
            self.want.add((up, f"value:{e[1][0]}", role))
            return leads
        if what == "fact":
            v = self.read(up, leads, role)
            return (
                {"q": WHOLE if t[1:2] == (POINT,) else SOME}.get(t[0])
                if v is None
                else NOTHING
                if v == NONE and t[0] in ("row", "q")
                else v
            )
        if c.row and self.of_row(e, c):
            return self.apply(
                e, [self.operand(up, k, c, f"{at}.{j}", role) for j, k in enumerate(pieces(e))], c
            )
        e, c, at = (*leads, f"steps.{e[1][0]}") if what else (e, c._replace(row=None), at)
        node = f"step:{c.rule}@{c.x}#{at}" + (f"[{c.m}]" if c.m else "")
        self.want.add((up, node, role))
        if node not in self.memo:
            self.memo[node] = self.step(node, e, c, at)
        return self.memo[node]

    def of_row(self, e: tuple, c: At) -> bool:
        """Does it read a column of the row looked at?"""
        return (
            e[0] == "path"
            and self.path(e[1], c)[0] == "column"
            or any(self.of_row(k, c) for k in pieces(e))
        )

    def step(self, node: str, e: tuple, c: At, at: str):
        """An operation worked out anew, and what its node says of it."""
        n, op, more = self.nodes[node], e[0], {}
        called = (
            {"step": "stepped ", "round": "rounded "}.get(op, "") + e[1]
            if op in BY_KIND
            else CALLED.get(op, op)
        )
        if op in ("path", "num", "size", "word"):
            v = self.operand(node, e, c, at + ".0", "is")
        elif op in ("over", "quant", "look"):
            v, more = getattr(self, op)(node, e, c, at)
        elif op == "is" and "none" in e[3] and e[2][0] == "path":
            # a told none is an answer, not a hole
            v = self.read(node, self.path(e[2][1], c)[2], "1")
            v = (
                v
                if v in (None, NOTHING)
                else (v == NONE or isinstance(v, Many) and not v.ids) != e[1]
            )
        else:
            vs = [
                self.operand(node, k, c, f"{at}.{j}", str(j + 1)) for j, k in enumerate(pieces(e))
            ]
            v = self.apply(e, vs, c)
            more = self.sides(node, e, vs, c) if op == "cmp" else {}
        self.must(
            node,
            n["data"] == {"op": called, "line": at} | more,
            f"{n['data'].get('op')} does not follow from its parts",
        )
        self.must(
            node,
            n["value"] == text(v, self.type(e, c), "" if op == "cmp" else n["unit"]),
            f"it is not {n['value']} {n['unit']}",
        )
        return v

    def sides(self, node: str, e: tuple, vs: list, c: At) -> dict:
        """What a comparison says of its two sides and its margin."""
        n, (a, b), (t, u) = self.nodes[node], vs, (self.type(k, c) for k in e[2:4])
        left, right = n["data"]["left unit"], n["data"]["right unit"]
        more = {
            "compares": e[1],
            "left unit": left,
            "right unit": right,
            "left": text(a, t, left),
            "right": text(b, u, right),
        }
        sure = t[0] == "q" and NOTHING not in vs and a[0] == a[1] and b[0] == b[1]
        self.must(node, n["unit"] == (left if sure else ""), "its margin is in another unit")
        return more | (
            {"margin": number_text(abs(a[0] - b[0]) / measure(left, t)[0], True)} if sure else {}
        )

    def apply(self, e: tuple, vs: list, c: At):
        """What an operation comes to on the values of its pieces."""
        op, v = e[0], vs[0]
        if op in ("and", "or", "not"):
            return both(vs) if op == "and" else either(vs) if op == "or" else opposite(v)
        if op == "is":
            return NOTHING if v == NONE else v if v in (None, NOTHING) else (v in e[3]) != e[1]
        if op == "among":
            return self.among(e, vs)
        if op in ("cmp", "gauge"):
            vs = [*vs, e[2]] if op == "gauge" else vs
            tables = [
                t[1] for t in (self.type(k, c) for k in pieces(e)) if t[0] == "row" and t[1]
            ] + ["conductor-sizes"] * (op == "gauge")
            if tables:  # sizes, by their place in their table
                t = self.k.tables[tables[0]]
                order = t.order("size" if "size" in t.keys else next(iter(t.keys)))
                vs = [
                    NOTHING if v in (NONE, NOTHING) else (order[v],) * 2 if v in order else WHOLE
                    for v in vs
                ]
            return compare(e[1] if op == "cmp" else {"smaller": "<=", "larger": ">="}[e[3]], *vs)
        if NOTHING in vs:
            return NOTHING
        if op == "bin":
            return arith(e[1], *vs)
        if op in ("least", "most"):
            return tuple(map(min if op == "least" else max, zip(*vs)))
        if op == "step":
            points = sorted({r[next(iter(self.k.tables[e[3]].keys))] for r in self.rows[e[3]]})
            lo, hi = (near(points, q, e[1] == "up") if abs(q) < inf else inf for q in v)
            return -inf if abs(lo) == inf else lo, inf if abs(hi) == inf else hi
        if op == "round":
            step, whole = (
                amount(e[3])[0],
                {
                    "down": floor,
                    "up": lambda q: -floor(-q),
                    "half up": lambda q: floor(q + F(1, 2)),
                }[e[1]],
            )
            return tuple(q if abs(q) == inf else step * whole(q / step) for q in v)
        if v[1] < 0:
            return WHOLE
        k = 10 ** e[2]  # a root, as an enclosure that many places wide
        lo, hi = (q if q == inf else isqrt(floor(max(q, 0) * k * k)) for q in v)
        return F(lo, k), hi if hi == inf else F(hi + (hi * hi != v[1] * k * k), k)

    def among(self, e: tuple, vs: list):
        """Does a value stand in a table, or in a column of the rows that the keys leave?"""
        v, t, keys = (
            vs[0],
            self.k.tables[e[3]],
            {k: None if v is SOME else v for (k, _), v in zip(e[5], vs[1:])},
        )
        if NONE in vs or NOTHING in vs:
            return NOTHING
        points = {r[e[4] or next(iter(t.keys))] for r in find(t, self.rows[t.id], keys) if r}
        lo, hi = v if isinstance(v, tuple) else (v, v)
        if v is None or lo != hi:
            return None if v in (None, WHOLE) or any(lo <= p <= hi for p in points) else e[1]
        sure = all(
            v is not None and (not isinstance(v, tuple) or v[0] == v[1]) for v in keys.values()
        )
        return e[1] if lo not in points else not e[1] if sure else None

    def over(self, node: str, e: tuple, c: At, at: str) -> tuple:
        """A total, count, smallest or largest of the things of a list."""
        _, fn, body, path, where, default = e
        listed, t, taken = self.read(node, self.path(path[1], c)[2], "over"), self.type(e, c), []
        for y in listed.ids if isinstance(listed, Many) else ():
            within, name = c._replace(m=y, mkind=self.things[y].kind), self.things[y].name
            counts = (
                self.operand(node, where, within, f"{at}.where", f"counts {name}")
                if where
                else True
            )
            if counts not in (False, NOTHING):
                v = (
                    self.operand(node, body, within, f"{at}.each", f"of {name}")
                    if body
                    else (F(1), F(1))
                )
                taken += [(y, counts, v)] if v != NOTHING else []
        open_ = listed is None or isinstance(listed, Many) and listed.open
        given = self.operand(node, default, c, f"{at}.or", "or") if default else None
        members = [
            {
                "of": y,
                "counts": "yes" if ok is True else "unknown",
                "adds": text(v, t, self.nodes[node]["unit"]),
            }
            for y, ok, v in taken
        ]
        least = -inf if t[1] == POINT else F(0)
        return fold(fn, [(ok, v) for _, ok, v in taken], open_, given, least), {
            "members": members,
            "open": open_,
        }

    def quant(self, node: str, e: tuple, c: At, at: str) -> tuple:
        """Is every, some, or no thing of a list so?"""
        listed = self.read(node, self.path(e[2][1], c)[2], "over")
        members = [self.things[y] for y in listed.ids] if isinstance(listed, Many) else []
        vs = [
            self.operand(
                node, e[3], c._replace(m=y.id, mkind=y.kind), f"{at}.where", f"is {y.name} so"
            )
            for y in members
        ]
        vs += [None] * (listed is None or isinstance(listed, Many) and listed.open)
        return (
            NOTHING
            if listed == NOTHING
            else (
                both(vs)
                if e[1] == "every"
                else either(vs)
                if e[1] == "some"
                else opposite(either(vs))
            )
        ), {}

    def look(self, node: str, e: tuple, c: At, at: str) -> tuple:
        """A look-up, forwards by its keys or backwards by a condition on the columns."""
        _, column, name, keys, where = e
        t, kind = self.k.tables[name], self.columns[name, column]
        known = {k: self.operand(node, v, c, f"{at}.{k}", f"by {k}") for k, v in keys}
        gone, known = (
            NONE in known.values() or NOTHING in known.values(),
            {k: None if v is SOME or v == WHOLE else v for k, v in known.items()},
        )
        rows, blank = (
            [] if gone else find(t, self.rows[name], known),
            {k: self.type(v, c) for k, v in keys if known[k] is None},
        )
        # off the table, unless whatever the unknown keys may be has a row
        if blank and not gone and {} not in rows:
            had = {tuple(r[k] for k in blank) for r in rows}
            rows = (
                rows
                if all(b[0] == "choice" for b in blank.values())
                and set(product(*(b[1] for b in blank.values()))) <= had
                else [*rows, {}]
            )

        def reads(row: dict, role: str = "reads") -> None:
            self.want.add((node, f"cell:{name}[{label(t, row)}]/{column}", role))

        if where is None:
            if sure := len(rows) == 1 and rows[0]:
                reads(sure)
            return NOTHING if gone else cell_of(rows, column, kind), (
                {} if sure else {"rows possible": len(rows)}
            )
        # for its edges, whether or not a row is reached
        self.operand(node, where, c._replace(row=(t, {})), f"{at}.where", "where")
        # of which key is the first that will do?
        vague = any(v is None or isinstance(v, tuple) and v[0] != v[1] for v in known.values())
        for below, row in zip([None, *rows], rows) if not gone and not vague else ():
            ok = self.operand(node, where, c._replace(row=(t, row)), f"{at}.where", "where")
            if ok is not False:
                reads(row)
                if below:
                    reads(below, "next below fails")
                return ok if ok == NOTHING else cell_of([row] if ok else [], column, kind), {}
        return (
            NOTHING
            if gone
            else NONE
            if kind[0] == "row" and not vague
            else cell_of([], column, kind)
        ), {}
