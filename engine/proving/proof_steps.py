"""What the lines of rules are worth, worked out anew for the proof check by a walk of its own.

Every step of a line is recomputed from the values that the facts below it claim, and notes the
edges that it needs.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
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
    thing: str
    kind: str
    member: str | None = None
    member_kind: str | None = None
    row: tuple[Table, Row] | None = None


class Path(NamedTuple):
    """What a path is ("column", "step", "value" or "fact"), its type, and where it leads."""

    what: str
    type: Type
    leads: Any


def amount(line: Line) -> Amount:
    """A number as written in a line."""
    return (F(parse_quantity(line[1], line[2] or "count", bare=True)[0]),) * 2


def condition(line: Any) -> Line:
    """A condition: a line, or any of (all of) several."""
    if isinstance(line, dict):
        ((how, lines),) = line.items()
        return "and" if how == "all of" else "or", tuple(map(condition, as_list(lines)))
    return parse(line, "cond")


def pieces(line: Line) -> tuple[Line, ...]:
    """The pieces of an operation, in the order of its edges; none of what is no operation on
    pieces.
    """
    if line[0] in ("least", "most", "and", "or"):
        return line[1]
    if line[0] == "among":
        return line[2], *(k for _, k in line[5])
    if line[0] in ALONE:
        return ()
    first, last = PIECES.get(line[0], (1, 2))
    return line[first:last]


def one(value: Value) -> bool:
    """Is it one known value?"""
    return value is not None and (not isinstance(value, tuple) or value[0] == value[1])


def may_be_among(value: Value, points: set[Any]) -> bool:
    """May a value that is not known, or lies between two ends, be one of these?"""
    if value is None or value == WHOLE:
        return True
    return any(value[0] <= point <= value[1] for point in points)


class Steps(Grounds):
    """The walk over lines; facts, rules and picks are judged by the class that builds on it
    (proof.py).
    """

    def path(self, names: tuple[str, ...], here: At) -> Path:
        """What a path is and where it leads: a column of the row looked at, a step of the rule, a
        dated value, or a fact.
        """
        kinds = self.k.words.kinds
        if len(names) == 1:
            (alone,) = names
            if here.row and alone in (*here.row[0].keys, *here.row[0].values):
                return Path("column", self.columns[here.row[0].id, alone], None)
            if alone in self.rules[here.rule].get("steps", ()):
                line = parse(self.rules[here.rule]["steps"][alone], "sum")
                outside = here._replace(member=None, member_kind=None, row=None)
                return Path("step", self.type(line, outside), (line, outside))
            if alone in self.k.values and alone not in kinds[here.kind].words:
                value, of_type = self.k.values[alone]
                return Path("value", of_type, (F(value), F(value)))
        thing, kind = here.thing, here.kind
        if names[-1] == here.member_kind:
            thing, kind, names = str(here.member), here.member_kind, names[:-1]
        words = []
        for name in self.k.words.spell(kind, names[::-1]):
            words.append(kinds[kind].words[name])
            kind = words[-1].type[-1]
        return Path("fact", words[-1].type, (thing, words))

    def type(self, line: Line, here: At) -> Type:
        """What a piece of a line is, whatever it is worth; as in words.py."""
        typing = TYPES.get(line[0])
        return typing(self, line, here) if typing else ("flag",)

    def type_of_arithmetic(self, line: Line, here: At) -> Type:
        """The dimension of a sum, a difference, a product or a quotient."""
        a, b = self.type(line[2], here)[1], self.type(line[3], here)[1]
        if line[1] in "×÷":
            return "q", multiply_dims(a, b, 1 if line[1] == "×" else -1)
        # between two temperatures lie degrees
        return "q", (("K", 1),) if line[1] == "-" and a == b == POINT else a

    def type_of_aggregate(self, line: Line, here: At) -> Type:
        """The type of what is added up or compared; a count where there is none."""
        return (
            self.type(line[2], here._replace(member_kind=self.type(line[3], here)[1]))
            if line[2]
            else ("q", ())
        )

    def type_of_first(self, line: Line, here: At) -> Type:
        """The type of the first piece."""
        return self.type(pieces(line)[0], here)

    def type_of_root(self, line: Line, here: At) -> Type:
        """The root of a dimension."""
        return "q", tuple((unit, n // 2) for unit, n in self.type(pieces(line)[0], here)[1])

    def operand(self, up: str, line: Line, here: At, at: str, role: str) -> Value:
        """The value of a piece of a line; the edge from *up* that it needs is noted."""
        if line[0] == "flag":
            value = self.operand(up, line[1], here, at, role)
            return NOTHING if value == NONE else value
        if line[0] in WRITTEN:
            return amount(line) if line[0] == "num" else line[1]
        if line[0] == "path":
            path = self.path(line[1], here)
            if path.what != "step":
                return self.named(up, line, path, here, role)
            (line, here), at = path.leads, f"steps.{line[1][0]}"
        elif here.row and self.of_row(line, here):
            return self.apply(line, self.operands(up, line, here, at, role), here)
        else:
            here = here._replace(row=None)
        node = step_node(here.rule, here.thing, at, here.member)
        self.want.add((up, node, role))
        if node not in self.memo:
            self.memo[node] = self.step(node, line, here, at)
        return self.memo[node]

    def operands(self, up: str, line: Line, here: At, at: str, role: str = "") -> list[Value]:
        """The values of the pieces of an operation, all in one *role* or by their number."""
        return [
            self.operand(up, piece, here, f"{at}.{j}", role or str(j + 1))
            for j, piece in enumerate(pieces(line))
        ]

    def named(self, up: str, line: Line, path: Path, here: At, role: str) -> Value:
        """The value of a column of the row looked at, of a dated value, or of a fact."""
        if path.what == "column":
            return cell_of([here.row[1]] if here.row else [], line[1][0], path.type)
        if path.what == "value":
            self.want.add((up, f"value:{line[1][0]}", role))
            return path.leads
        value, sort = self.read(up, path.leads, role), path.type[0]
        if value is None and sort == "q":
            return WHOLE if path.type[1] == POINT else SOME
        return NOTHING if value == NONE and sort in ("row", "q") else value

    def of_row(self, line: Line, here: At) -> bool:
        """Does it read a column of the row looked at?"""
        if line[0] == "path" and self.path(line[1], here).what == "column":
            return True
        return any(self.of_row(piece, here) for piece in pieces(line))

    def step(self, node: str, line: Line, here: At, at: str) -> Value:
        """An operation worked out anew, and what its node says of it."""
        claimed, op = self.nodes[node], line[0]
        called = CALLED.get(op, op)
        if op in BY_KIND:
            called = {"step": "stepped ", "round": "rounded "}.get(op, "") + line[1]
        value, more = self.worth(node, line, here, at)
        self.must(
            node,
            claimed["data"] == {"op": called, "line": at} | more,
            f"{claimed['data'].get('op')} does not follow from its parts",
        )
        self.must(
            node,
            claimed["value"]
            == text(value, self.type(line, here), "" if op == "cmp" else claimed["unit"]),
            f"it is not {claimed['value']} {claimed['unit']}",
        )
        return value

    def worth(self, node: str, line: Line, here: At, at: str) -> tuple[Value, Data]:
        """What an operation comes to, and what its node says beside that."""
        op = line[0]
        if op in ("path", *WRITTEN):
            return self.operand(node, line, here, at + ".0", "is"), {}
        if op == "over":
            return self.over(node, line, here, at)
        if op == "quant":
            return self.quant(node, line, here, at)
        if op == "look":
            return self.look(node, line, here, at)
        if op == "is" and "none" in line[3] and line[2][0] == "path":
            return self.is_none(node, line, here), {}
        values = self.operands(node, line, here, at)
        value = self.apply(line, values, here)
        return value, self.sides(node, line, values, here) if op == "cmp" else {}

    def is_none(self, node: str, line: Line, here: At) -> Answer:
        """Is a fact told to be absent? A told none is an answer here, not a hole."""
        value = self.read(node, self.path(line[2][1], here).leads, "1")
        if value in (None, NOTHING):
            return value
        return (value == NONE or isinstance(value, Many) and not value.ids) != line[1]

    def sides(self, node: str, line: Line, values: list[Value], here: At) -> Data:
        """What a comparison says of its two sides and its margin."""
        claimed, (a, b), (t, u) = self.nodes[node], values, (self.type(k, here) for k in line[2:4])
        left, right = claimed["data"]["left unit"], claimed["data"]["right unit"]
        more = {
            "compares": line[1],
            "left unit": left,
            "right unit": right,
            "left": text(a, t, left),
            "right": text(b, u, right),
        }
        sure = t[0] == "q" and NOTHING not in values and a[0] == a[1] and b[0] == b[1]
        self.must(node, claimed["unit"] == (left if sure else ""), "its margin is in another unit")
        if sure:
            more["margin"] = number_text(abs(a[0] - b[0]) / measure(left, t)[0], True)
        return more

    # ---- operations on the values of their pieces
    def apply(self, line: Line, values: list[Value], here: At) -> Value:
        """What an operation comes to on the values of its pieces."""
        if line[0] in CONDITIONS:
            return CONDITIONS[line[0]](self, line, values, here)
        return NOTHING if NOTHING in values else NUMBERS[line[0]](self, line, values)

    def is_one_of(self, line: Line, values: list[Value], here: At) -> Answer:
        """Is a word one of a few?"""
        (value,) = values
        if value in (None, NONE, NOTHING):
            return None if value is None else NOTHING
        said = line[3]
        if line[2][0] == "path" and (path := self.path(line[2][1], here)).what == "fact":
            # a line may still have the old name of a choice
            formerly = path.leads[1][-1].choices_formerly
            said = [formerly.get(word, word) for word in said]
        return (value in said) != line[1]

    def compared(self, line: Line, values: list[Value], here: At) -> Answer:
        """A comparison of numbers, or of sizes by their place in their table."""
        types = [self.type(piece, here) for piece in pieces(line)]
        tables = [t[1] for t in types if t[0] == "row" and t[1]]
        op = line[1]
        if line[0] == "gauge":
            op, values = {"smaller": "<=", "larger": ">="}[line[3]], [*values, line[2]]
            tables.append(SIZES)
        return compare(op, *(self.places(tables[0], values) if tables else values))

    def places(self, table: str, sizes: list[Value]) -> list[Value]:
        """The places of sizes in their table, smallest first."""
        listed = self.k.tables[table]
        order = listed.order("size" if "size" in listed.keys else next(iter(listed.keys)))

        def place(size: Value) -> Value:
            if size in (NONE, NOTHING):
                return NOTHING
            return (order[size],) * 2 if size in order else WHOLE

        return [place(size) for size in sizes]

    def among(self, line: Line, values: list[Value], here: At) -> Answer:
        """Does a value stand in a table, or in a column of the rows that the keys leave?"""
        if NONE in values or NOTHING in values:
            return NOTHING
        _, negated, _, name, column, by = line
        value, table = values[0], self.k.tables[name]
        keys = {key: None if k is SOME else k for (key, _), k in zip(by, values[1:])}
        rows = find(table, self.rows[table.id], keys)
        points = {row[column or next(iter(table.keys))] for row in rows if row}
        if not one(value):
            return None if may_be_among(value, points) else negated
        if (value[0] if isinstance(value, tuple) else value) not in points:
            return negated
        return not negated if all(map(one, keys.values())) else None

    def arithmetic(self, line: Line, values: list[Value]) -> Amount:
        """+ − × ÷ and ± of two amounts."""
        return arith(line[1], *values)

    def extreme(self, line: Line, values: list[Value]) -> Amount:
        """The smaller or the larger of a few amounts."""
        return tuple(map(min if line[0] == "least" else max, zip(*values)))

    def stepped(self, line: Line, values: list[Value]) -> Amount:
        """The next rating of a table at or above (below) an amount."""
        _, way, _, name = line
        key = next(iter(self.k.tables[name].keys))
        points = sorted({row[key] for row in self.rows[name]})
        low, high = (near(points, q, way == "up") if abs(q) < inf else inf for q in values[0])
        return -inf if abs(low) == inf else low, inf if abs(high) == inf else high

    def rounded(self, line: Line, values: list[Value]) -> Amount:
        """A named rounding."""
        step, whole = amount(line[3])[0], ROUNDINGS[line[1]]
        return tuple(q if abs(q) == inf else step * whole(q / step) for q in values[0])

    def root(self, line: Line, values: list[Value]) -> Amount:
        """A square root, as an enclosure that many places wide."""
        low, high = values[0]
        if high < 0:
            return WHOLE
        scale = 10 ** line[2]
        least, most = (
            q if q == inf else isqrt(floor(max(q, 0) * scale * scale)) for q in (low, high)
        )
        return F(least, scale), most if most == inf else F(
            most + (most * most != high * scale * scale), scale
        )

    def year(self, line: Line, values: list[Value]) -> Amount:
        """The year of a date: that of the first day it may be, up to that of the last."""
        low, high = values[0]
        first, last = date.min.toordinal(), date.max.toordinal()
        return (
            F(date.fromordinal(floor(low)).year) if first <= low <= last else -inf,
            F(date.fromordinal(floor(high)).year) if first <= high <= last else inf,
        )

    # ---- aggregates, quantifiers and look-ups
    def over(self, node: str, line: Line, here: At, at: str) -> tuple[Value, Data]:
        """A total, count, smallest or largest of the things of a list."""
        _, fn, body, path, where, default = line
        listed, of_type = (
            self.read(node, self.path(path[1], here).leads, "over"),
            self.type(line, here),
        )
        taken: list[tuple[str, Answer, Amount]] = []
        for member in listed.ids if isinstance(listed, Many) else ():
            called = self.things[member].name
            within = here._replace(member=member, member_kind=self.things[member].kind)
            counts, value = True, (F(1), F(1))
            if where:
                counts = self.operand(node, where, within, f"{at}.where", f"counts {called}")
            if counts in (False, NOTHING):
                continue
            if body:
                value = self.operand(node, body, within, f"{at}.each", f"of {called}")
            if value != NOTHING:
                taken.append((member, counts, value))
        may_go_on = listed is None or isinstance(listed, Many) and listed.open
        given = self.operand(node, default, here, f"{at}.or", "or") if default else None
        unit = self.nodes[node]["unit"]
        members = [
            {
                "of": member,
                "counts": "yes" if counts is True else "unknown",
                "adds": text(value, of_type, unit),
            }
            for member, counts, value in taken
        ]
        least = -inf if of_type[1] == POINT else F(0)
        value = fold(fn, [(counts, value) for _, counts, value in taken], may_go_on, given, least)
        return value, {"members": members, "open": may_go_on}

    def quant(self, node: str, line: Line, here: At, at: str) -> tuple[Answer, Data]:
        """Is every, some, or no thing of a list so?"""
        _, how, path, where = line
        listed = self.read(node, self.path(path[1], here).leads, "over")
        answers = []
        for name in listed.ids if isinstance(listed, Many) else ():
            member = self.things[name]
            within = here._replace(member=member.id, member_kind=member.kind)
            role = f"is {member.name} so"
            answers.append(self.operand(node, where, within, f"{at}.where", role))
        if listed == NOTHING:
            return NOTHING, {}
        if listed is None or isinstance(listed, Many) and listed.open:
            answers.append(None)
        if how == "every":
            return both(answers), {}
        return either(answers) if how == "some" else opposite(either(answers)), {}

    def look(self, node: str, line: Line, here: At, at: str) -> tuple[Value, Data]:
        """A look-up, forwards by its keys or backwards by a condition on the columns."""
        _, column, name, by, where = line
        table = self.k.tables[name]
        keys = {
            key: self.operand(node, value, here, f"{at}.{key}", f"by {key}") for key, value in by
        }
        gone = NONE in keys.values() or NOTHING in keys.values()
        keys = {
            key: None if value is SOME or value == WHOLE else value for key, value in keys.items()
        }
        rows = [] if gone else self.possible(table, keys, by, here)
        if where is not None:
            # for its edges, whether or not a row is reached
            self.operand(node, where, here._replace(row=(table, {})), f"{at}.where", "where")
            if gone:
                return NOTHING, {}
            # of which key is the first that will do?
            if not all(map(one, keys.values())):
                return cell_of([], column, self.columns[name, column]), {}
            return self.look_backwards(node, line, rows, here, at), {}
        sure = len(rows) == 1 and bool(rows[0])
        if sure:
            self.want.add((node, cell_node(name, label(table, rows[0]), column), "reads"))
        value = NOTHING if gone else cell_of(rows, column, self.columns[name, column])
        return value, {} if sure else {"rows possible": len(rows)}

    def possible(
        self, table: Table, keys: dict[str, Value], by: tuple[tuple[str, Line], ...], here: At
    ) -> list[Row]:
        """The rows that the keys leave; and off the table, unless whatever the unknown keys may be
        has a row.
        """
        rows = find(table, self.rows[table.id], keys)
        blank = {key: self.type(line, here) for key, line in by if keys[key] is None}
        if not blank or {} in rows:
            return rows
        had = {tuple(row[key] for key in blank) for row in rows}
        choices = all(t[0] == "choice" for t in blank.values())
        covered = choices and set(product(*(t[1] for t in blank.values()))) <= had
        return rows if covered else [*rows, {}]

    def look_backwards(self, node: str, line: Line, rows: list[Row], here: At, at: str) -> Value:
        """The first row that will do; none where none does, if it is a size that is sought."""
        _, column, name, _, where = line
        table, of_type = self.k.tables[name], self.columns[name, column]
        below: Row | None = None
        for row in rows:
            ok = self.operand(node, where, here._replace(row=(table, row)), f"{at}.where", "where")
            if ok is False:
                below = row
                continue
            self.want.add((node, cell_node(name, label(table, row), column), "reads"))
            if below:
                lower = cell_node(name, label(table, below), column)
                self.want.add((node, lower, "next below fails"))
            return ok if ok == NOTHING else cell_of([row] if ok else [], column, of_type)
        return NONE if of_type[0] == "row" else cell_of([], column, of_type)


# by operation: of what type it is; what is not here is an answer
TYPES: dict[str, Callable[[Steps, Line, At], Type]] = {
    "bin": Steps.type_of_arithmetic,
    "over": Steps.type_of_aggregate,
    "least": Steps.type_of_first,
    "most": Steps.type_of_first,
    "step": Steps.type_of_first,
    "round": Steps.type_of_first,
    "root": Steps.type_of_root,
    "year": lambda self, line, here: ("q", dimension("count")),
    "path": lambda self, line, here: self.path(line[1], here).type,
    "look": lambda self, line, here: self.columns[line[2], line[1]],
    "num": lambda self, line, here: ("q", dimension(line[2] or "count")),
    "size": lambda self, line, here: ("row", None),
    "word": lambda self, line, here: ("word",),
}
# by operation: the answer of a condition, which may look at the types of its pieces
CONDITIONS: dict[str, Callable[[Steps, Line, list[Value], At], Answer]] = {
    "and": lambda self, line, values, here: both(values),
    "or": lambda self, line, values, here: either(values),
    "not": lambda self, line, values, here: opposite(values[0]),
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
    "year": Steps.year,
}
