"""What the lines of rules are worth, worked out anew for the proof check by a walk of its own.

Every step of a line is recomputed from the values that the facts below it claim, and notes the
edges that it needs.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction as F
from functools import lru_cache
from itertools import product
from math import floor, inf, isqrt
from typing import Any, NamedTuple

from ..basics.units import POINT, dimension, multiply_dims, number_text, parse_quantity
from ..language.lines import parse_line
from ..language.words import as_list
from .proof_grounds import Data, Grounds, Line, cell_node, step_node
from .proof_values import (
    NONE,
    NOTHING,
    SOME,
    WHOLE,
    Amount,
    Answer,
    Many,
    Row,
    Table,
    Type,
    Value,
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
BY_KIND = ("bin", "over", "cmp", "quant", "step", "round")
# pieces of a line that are no operation on other pieces
ALONE = ("num", "size", "word", "path", "over", "quant", "look")
# of an operation, from where to where in it its pieces stand; of any other at one place alone
PIECES = {"bin": (2, 4), "cmp": (2, 4), "step": (2, 3), "round": (2, 3), "is": (2, 3)}
# what is read as written, without a node of its own
WRITTEN = ("num", "size", "word")
# the table of sizes by which `size is 10 AWG or smaller` goes
SIZES = "conductor-sizes"
ROUNDINGS: dict[str, Callable[[F], int]] = {
    "down": floor,
    "up": lambda q: -floor(-q),
    "half up": lambda q: floor(q + F(1, 2)),
}
parse = lru_cache(maxsize=None)(parse_line)


class At(NamedTuple):
    """Where a line is read: of which rule, on which thing; which member of a list, which row of a
    table.
    """

    rule: str
    x: str
    kind: str
    m: str | None = None
    mkind: str | None = None
    row: tuple[Table, Row] | None = None


class Path(NamedTuple):
    """What a path is ("column", "step", "value" or "fact"), its type, and where it leads."""

    what: str
    type: Type
    leads: Any


def amount(e: Line) -> Amount:
    """A number as written in a line."""
    return (F(parse_quantity(e[1], e[2] or "count", bare=True)[0]),) * 2


def condition(line: Any) -> Line:
    """A condition: a line, or any of (all of) several."""
    if isinstance(line, dict):
        ((how, lines),) = line.items()
        return "and" if how == "all of" else "or", tuple(map(condition, as_list(lines)))
    return parse(line, "cond")


def pieces(e: Line) -> tuple[Line, ...]:
    """The pieces of an operation, in the order of its edges; none of what is no operation on
    pieces.
    """
    if e[0] in ("least", "most", "and", "or"):
        return e[1]
    if e[0] == "among":
        return e[2], *(k for _, k in e[5])
    if e[0] in ALONE:
        return ()
    first, last = PIECES.get(e[0], (1, 2))
    return e[first:last]


def one(v: Value) -> bool:
    """Is it one known value?"""
    return v is not None and (not isinstance(v, tuple) or v[0] == v[1])


def may_be_among(v: Value, points: set[Any]) -> bool:
    """May a value that is not known, or lies between two ends, be one of these?"""
    if v is None or v == WHOLE:
        return True
    return any(v[0] <= point <= v[1] for point in points)


class Steps(Grounds):
    """The walk over lines; facts, rules and picks are judged by the class that builds on it
    (proof.py).
    """

    def path(self, names: tuple[str, ...], c: At) -> Path:
        """What a path is and where it leads: a column of the row looked at, a step of the rule, a
        dated value, or a fact.
        """
        kinds = self.k.words.kinds
        if len(names) == 1:
            (alone,) = names
            if c.row and alone in (*c.row[0].keys, *c.row[0].values):
                return Path("column", self.columns[c.row[0].id, alone], None)
            if alone in self.rules[c.rule].get("steps", ()):
                e = parse(self.rules[c.rule]["steps"][alone], "sum")
                outside = c._replace(m=None, mkind=None, row=None)
                return Path("step", self.type(e, outside), (e, outside))
            if alone in self.k.values and alone not in kinds[c.kind].words:
                v, t = self.k.values[alone]
                return Path("value", t, (F(v), F(v)))
        x, kind = c.x, c.kind
        if names[-1] == c.mkind:
            x, kind, names = str(c.m), c.mkind, names[:-1]
        words = []
        for name in self.k.words.spell(kind, names[::-1]):
            words.append(kinds[kind].words[name])
            kind = words[-1].type[-1]
        return Path("fact", words[-1].type, (x, words))

    def type(self, e: Line, c: At) -> Type:
        """What a piece of a line is, whatever it is worth; as in words.py."""
        typing = TYPES.get(e[0])
        return typing(self, e, c) if typing else ("flag",)

    def type_of_arithmetic(self, e: Line, c: At) -> Type:
        """The dimension of a sum, a difference, a product or a quotient."""
        a, b = self.type(e[2], c)[1], self.type(e[3], c)[1]
        if e[1] in "×÷":
            return "q", multiply_dims(a, b, 1 if e[1] == "×" else -1)
        # between two temperatures lie degrees
        return "q", (("K", 1),) if e[1] == "-" and a == b == POINT else a

    def type_of_aggregate(self, e: Line, c: At) -> Type:
        """The type of what is added up or compared; a count where there is none."""
        return self.type(e[2], c._replace(mkind=self.type(e[3], c)[1])) if e[2] else ("q", ())

    def type_of_first(self, e: Line, c: At) -> Type:
        """The type of the first piece."""
        return self.type(pieces(e)[0], c)

    def type_of_root(self, e: Line, c: At) -> Type:
        """The root of a dimension."""
        return "q", tuple((unit, n // 2) for unit, n in self.type(pieces(e)[0], c)[1])

    def operand(self, up: str, e: Line, c: At, at: str, role: str) -> Value:
        """The value of a piece of a line; the edge from *up* that it needs is noted."""
        if e[0] == "flag":
            v = self.operand(up, e[1], c, at, role)
            return NOTHING if v == NONE else v
        if e[0] in WRITTEN:
            return amount(e) if e[0] == "num" else e[1]
        if e[0] == "path":
            path = self.path(e[1], c)
            if path.what != "step":
                return self.named(up, e, path, c, role)
            (e, c), at = path.leads, f"steps.{e[1][0]}"
        elif c.row and self.of_row(e, c):
            return self.apply(e, self.operands(up, e, c, at, role), c)
        else:
            c = c._replace(row=None)
        node = step_node(c.rule, c.x, at, c.m)
        self.want.add((up, node, role))
        if node not in self.memo:
            self.memo[node] = self.step(node, e, c, at)
        return self.memo[node]

    def operands(self, up: str, e: Line, c: At, at: str, role: str = "") -> list[Value]:
        """The values of the pieces of an operation, all in one *role* or by their number."""
        return [
            self.operand(up, piece, c, f"{at}.{j}", role or str(j + 1))
            for j, piece in enumerate(pieces(e))
        ]

    def named(self, up: str, e: Line, path: Path, c: At, role: str) -> Value:
        """The value of a column of the row looked at, of a dated value, or of a fact."""
        if path.what == "column":
            return cell_of([c.row[1]] if c.row else [], e[1][0], path.type)
        if path.what == "value":
            self.want.add((up, f"value:{e[1][0]}", role))
            return path.leads
        v, sort = self.read(up, path.leads, role), path.type[0]
        if v is None and sort == "q":
            return WHOLE if path.type[1] == POINT else SOME
        return NOTHING if v == NONE and sort in ("row", "q") else v

    def of_row(self, e: Line, c: At) -> bool:
        """Does it read a column of the row looked at?"""
        if e[0] == "path" and self.path(e[1], c).what == "column":
            return True
        return any(self.of_row(piece, c) for piece in pieces(e))

    def step(self, node: str, e: Line, c: At, at: str) -> Value:
        """An operation worked out anew, and what its node says of it."""
        n, op = self.nodes[node], e[0]
        called = CALLED.get(op, op)
        if op in BY_KIND:
            called = {"step": "stepped ", "round": "rounded "}.get(op, "") + e[1]
        v, more = self.worth(node, e, c, at)
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

    def worth(self, node: str, e: Line, c: At, at: str) -> tuple[Value, Data]:
        """What an operation comes to, and what its node says beside that."""
        op = e[0]
        if op in ("path", *WRITTEN):
            return self.operand(node, e, c, at + ".0", "is"), {}
        if op == "over":
            return self.over(node, e, c, at)
        if op == "quant":
            return self.quant(node, e, c, at)
        if op == "look":
            return self.look(node, e, c, at)
        if op == "is" and "none" in e[3] and e[2][0] == "path":
            return self.is_none(node, e, c), {}
        values = self.operands(node, e, c, at)
        v = self.apply(e, values, c)
        return v, self.sides(node, e, values, c) if op == "cmp" else {}

    def is_none(self, node: str, e: Line, c: At) -> Answer:
        """Is a fact told to be absent? A told none is an answer here, not a hole."""
        v = self.read(node, self.path(e[2][1], c).leads, "1")
        if v in (None, NOTHING):
            return v
        return (v == NONE or isinstance(v, Many) and not v.ids) != e[1]

    def sides(self, node: str, e: Line, values: list[Value], c: At) -> Data:
        """What a comparison says of its two sides and its margin."""
        n, (a, b), (t, u) = self.nodes[node], values, (self.type(k, c) for k in e[2:4])
        left, right = n["data"]["left unit"], n["data"]["right unit"]
        more = {
            "compares": e[1],
            "left unit": left,
            "right unit": right,
            "left": text(a, t, left),
            "right": text(b, u, right),
        }
        sure = t[0] == "q" and NOTHING not in values and a[0] == a[1] and b[0] == b[1]
        self.must(node, n["unit"] == (left if sure else ""), "its margin is in another unit")
        if sure:
            more["margin"] = number_text(abs(a[0] - b[0]) / measure(left, t)[0], True)
        return more

    # ---- operations on the values of their pieces
    def apply(self, e: Line, values: list[Value], c: At) -> Value:
        """What an operation comes to on the values of its pieces."""
        if e[0] in CONDITIONS:
            return CONDITIONS[e[0]](self, e, values, c)
        return NOTHING if NOTHING in values else NUMBERS[e[0]](self, e, values)

    def is_one_of(self, e: Line, values: list[Value], c: At) -> Answer:
        """Is a word one of a few?"""
        (v,) = values
        if v in (None, NONE, NOTHING):
            return None if v is None else NOTHING
        return (v in e[3]) != e[1]

    def compared(self, e: Line, values: list[Value], c: At) -> Answer:
        """A comparison of numbers, or of sizes by their place in their table."""
        types = [self.type(piece, c) for piece in pieces(e)]
        tables = [t[1] for t in types if t[0] == "row" and t[1]]
        op = e[1]
        if e[0] == "gauge":
            op, values = {"smaller": "<=", "larger": ">="}[e[3]], [*values, e[2]]
            tables.append(SIZES)
        return compare(op, *(self.places(tables[0], values) if tables else values))

    def places(self, table: str, sizes: list[Value]) -> list[Value]:
        """The places of sizes in their table, smallest first."""
        t = self.k.tables[table]
        order = t.order("size" if "size" in t.keys else next(iter(t.keys)))

        def place(v: Value) -> Value:
            if v in (NONE, NOTHING):
                return NOTHING
            return (order[v],) * 2 if v in order else WHOLE

        return [place(v) for v in sizes]

    def among(self, e: Line, values: list[Value], c: At) -> Answer:
        """Does a value stand in a table, or in a column of the rows that the keys leave?"""
        if NONE in values or NOTHING in values:
            return NOTHING
        _, negated, _, name, column, by = e
        v, table = values[0], self.k.tables[name]
        keys = {key: None if k is SOME else k for (key, _), k in zip(by, values[1:])}
        rows = find(table, self.rows[table.id], keys)
        points = {row[column or next(iter(table.keys))] for row in rows if row}
        if not one(v):
            return None if may_be_among(v, points) else negated
        if (v[0] if isinstance(v, tuple) else v) not in points:
            return negated
        return not negated if all(map(one, keys.values())) else None

    def arithmetic(self, e: Line, values: list[Value]) -> Amount:
        """+ − × ÷ and ± of two amounts."""
        return arith(e[1], *values)

    def extreme(self, e: Line, values: list[Value]) -> Amount:
        """The smaller or the larger of a few amounts."""
        return tuple(map(min if e[0] == "least" else max, zip(*values)))

    def stepped(self, e: Line, values: list[Value]) -> Amount:
        """The next rating of a table at or above (below) an amount."""
        _, way, _, name = e
        key = next(iter(self.k.tables[name].keys))
        points = sorted({row[key] for row in self.rows[name]})
        low, high = (near(points, q, way == "up") if abs(q) < inf else inf for q in values[0])
        return -inf if abs(low) == inf else low, inf if abs(high) == inf else high

    def rounded(self, e: Line, values: list[Value]) -> Amount:
        """A named rounding."""
        step, whole = amount(e[3])[0], ROUNDINGS[e[1]]
        return tuple(q if abs(q) == inf else step * whole(q / step) for q in values[0])

    def root(self, e: Line, values: list[Value]) -> Amount:
        """A square root, as an enclosure that many places wide."""
        low, high = values[0]
        if high < 0:
            return WHOLE
        k = 10 ** e[2]
        least, most = (q if q == inf else isqrt(floor(max(q, 0) * k * k)) for q in (low, high))
        return F(least, k), most if most == inf else F(most + (most * most != high * k * k), k)

    # ---- aggregates, quantifiers and look-ups
    def over(self, node: str, e: Line, c: At, at: str) -> tuple[Value, Data]:
        """A total, count, smallest or largest of the things of a list."""
        _, fn, body, path, where, default = e
        listed, t = self.read(node, self.path(path[1], c).leads, "over"), self.type(e, c)
        taken: list[tuple[str, Answer, Amount]] = []
        for member in listed.ids if isinstance(listed, Many) else ():
            called = self.things[member].name
            within = c._replace(m=member, mkind=self.things[member].kind)
            counts, v = True, (F(1), F(1))
            if where:
                counts = self.operand(node, where, within, f"{at}.where", f"counts {called}")
            if counts in (False, NOTHING):
                continue
            if body:
                v = self.operand(node, body, within, f"{at}.each", f"of {called}")
            if v != NOTHING:
                taken.append((member, counts, v))
        may_go_on = listed is None or isinstance(listed, Many) and listed.open
        given = self.operand(node, default, c, f"{at}.or", "or") if default else None
        unit = self.nodes[node]["unit"]
        members = [
            {
                "of": member,
                "counts": "yes" if counts is True else "unknown",
                "adds": text(v, t, unit),
            }
            for member, counts, v in taken
        ]
        least = -inf if t[1] == POINT else F(0)
        v = fold(fn, [(counts, v) for _, counts, v in taken], may_go_on, given, least)
        return v, {"members": members, "open": may_go_on}

    def quant(self, node: str, e: Line, c: At, at: str) -> tuple[Answer, Data]:
        """Is every, some, or no thing of a list so?"""
        _, how, path, where = e
        listed = self.read(node, self.path(path[1], c).leads, "over")
        answers = []
        for i in listed.ids if isinstance(listed, Many) else ():
            member = self.things[i]
            within = c._replace(m=member.id, mkind=member.kind)
            role = f"is {member.name} so"
            answers.append(self.operand(node, where, within, f"{at}.where", role))
        if listed == NOTHING:
            return NOTHING, {}
        if listed is None or isinstance(listed, Many) and listed.open:
            answers.append(None)
        if how == "every":
            return both(answers), {}
        return either(answers) if how == "some" else opposite(either(answers)), {}

    def look(self, node: str, e: Line, c: At, at: str) -> tuple[Value, Data]:
        """A look-up, forwards by its keys or backwards by a condition on the columns."""
        _, column, name, by, where = e
        table = self.k.tables[name]
        keys = {key: self.operand(node, v, c, f"{at}.{key}", f"by {key}") for key, v in by}
        gone = NONE in keys.values() or NOTHING in keys.values()
        keys = {key: None if v is SOME or v == WHOLE else v for key, v in keys.items()}
        rows = [] if gone else self.possible(table, keys, by, c)
        if where is not None:
            # for its edges, whether or not a row is reached
            self.operand(node, where, c._replace(row=(table, {})), f"{at}.where", "where")
            if gone:
                return NOTHING, {}
            # of which key is the first that will do?
            if not all(map(one, keys.values())):
                return cell_of([], column, self.columns[name, column]), {}
            return self.look_backwards(node, e, rows, c, at), {}
        sure = len(rows) == 1 and bool(rows[0])
        if sure:
            self.want.add((node, cell_node(name, label(table, rows[0]), column), "reads"))
        v = NOTHING if gone else cell_of(rows, column, self.columns[name, column])
        return v, {} if sure else {"rows possible": len(rows)}

    def possible(
        self, table: Table, keys: dict[str, Value], by: tuple[tuple[str, Line], ...], c: At
    ) -> list[Row]:
        """The rows that the keys leave; and off the table, unless whatever the unknown keys may be
        has a row.
        """
        rows = find(table, self.rows[table.id], keys)
        blank = {key: self.type(line, c) for key, line in by if keys[key] is None}
        if not blank or {} in rows:
            return rows
        had = {tuple(row[key] for key in blank) for row in rows}
        choices = all(t[0] == "choice" for t in blank.values())
        covered = choices and set(product(*(t[1] for t in blank.values()))) <= had
        return rows if covered else [*rows, {}]

    def look_backwards(self, node: str, e: Line, rows: list[Row], c: At, at: str) -> Value:
        """The first row that will do; none where none does, if it is a size that is sought."""
        _, column, name, _, where = e
        table, t = self.k.tables[name], self.columns[name, column]
        below: Row | None = None
        for row in rows:
            ok = self.operand(node, where, c._replace(row=(table, row)), f"{at}.where", "where")
            if ok is False:
                below = row
                continue
            self.want.add((node, cell_node(name, label(table, row), column), "reads"))
            if below:
                lower = cell_node(name, label(table, below), column)
                self.want.add((node, lower, "next below fails"))
            return ok if ok == NOTHING else cell_of([row] if ok else [], column, t)
        return NONE if t[0] == "row" else cell_of([], column, t)


# by operation: of what type it is; what is not here is an answer
TYPES: dict[str, Callable[[Steps, Line, At], Type]] = {
    "bin": Steps.type_of_arithmetic,
    "over": Steps.type_of_aggregate,
    "least": Steps.type_of_first,
    "most": Steps.type_of_first,
    "step": Steps.type_of_first,
    "round": Steps.type_of_first,
    "root": Steps.type_of_root,
    "path": lambda self, e, c: self.path(e[1], c).type,
    "look": lambda self, e, c: self.columns[e[2], e[1]],
    "num": lambda self, e, c: ("q", dimension(e[2] or "count")),
    "size": lambda self, e, c: ("row", None),
    "word": lambda self, e, c: ("word",),
}
# by operation: the answer of a condition, which may look at the types of its pieces
CONDITIONS: dict[str, Callable[[Steps, Line, list[Value], At], Answer]] = {
    "and": lambda self, e, values, c: both(values),
    "or": lambda self, e, values, c: either(values),
    "not": lambda self, e, values, c: opposite(values[0]),
    "is": Steps.is_one_of,
    "among": Steps.among,
    "cmp": Steps.compared,
    "gauge": Steps.compared,
}
# by operation: the amount that it comes to, where none of its pieces lies beyond something absent
NUMBERS: dict[str, Callable[[Steps, Line, list[Value]], Amount]] = {
    "bin": Steps.arithmetic,
    "least": Steps.extreme,
    "most": Steps.extreme,
    "step": Steps.stepped,
    "round": Steps.rounded,
    "root": Steps.root,
}
