"""The tree of a line made into typed expressions: every name known, every unit fitting, or a fault
that says what does not.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import Any, NoReturn, TypeAlias

from ..basics.errors import Fault, Place, suggest
from ..basics.limits import PARTS
from ..basics.reading import Text, place_of
from ..basics.units import (
    DAY,
    NONE_DIM,
    POINT,
    POINTS,
    SHOWN_AS,
    UNITS,
    Dimension,
    Number,
    dimension,
    multiply_dims,
    parse_quantity,
    to_base,
    unit_of,
)
from . import expressions as ex
from .lines import parse_line
from .tables import Table
from .things import Type
from .words import Word, Words, a_noun

Node: TypeAlias = tuple[Any, ...]  # of the tree of a line, its kind first: see `lines`
Values: TypeAlias = dict[str, tuple[Number, Type]]  # the dated numbers of the knowledge, by name

AT_LEAST = {
    "at least": ">=",
    "at most": "<=",
    "more than": ">",
    "less than": "<",
    "over": ">",
    "under": "<",
    "not more than": "<=",
    "not less than": ">=",
}
STEP_OF_DEGREES: Dimension = (("K", 1),)
# how far a fact may lie from the one that a person named wrongly, and still be offered
NEAR = 3


def _amount_in_words(of_type: Type) -> str:
    """The type of an amount in words."""
    _, dim, unit = of_type
    return "a number" if dim == NONE_DIM else f"in {unit or SHOWN_AS.get(dim, 'other units')}"


_TYPE_IN_WORDS: dict[str, Callable[[Type], str]] = {
    "q": _amount_in_words,
    "flag": lambda t: "yes or no",
    "choice": lambda t: "one of " + ", ".join(t[1]),
    "row": lambda t: f"a row of {t[1] or 'a table'}",
    "ref": lambda t: f"another thing ({t[1]})",
    "many": lambda t: f"a list of {t[1]}",
    "word": lambda t: "a word",
    "text": lambda t: "text",
}


def describe(t: Type) -> str:
    """A type in words."""
    return _TYPE_IN_WORDS[t[0]](t)


def size_order(table: Table) -> dict[str, int]:
    """The order of the rows of a table of sizes: by the size, or by its first key."""
    return table.order("size" if "size" in table.keys else next(iter(table.keys)))


class Checker:
    """Turns the tree of a line into typed expressions, or says what does not fit.

    A method for a kind of node has the node's name: `BUILDERS` and `TESTS` say which.
    """

    def __init__(
        self, words: Words, tables: dict[str, Table], values: Values, about: str, at: Place
    ) -> None:
        self.words, self.tables, self.values, self.about, self.at = words, tables, values, about, at
        # what this rule stands on: while it stays, the rule need not be checked again
        self.tables_used: dict[str, Table] = {}
        self.values_used: Values = {}
        self.locals: dict[str, ex.Local] = {}
        self.sizes: dict[str, int] = {}  # of a step, how many pieces it is written out
        self.member: str | None = None  # inside a list, the kind of its members
        self.row: Table | None = None  # inside a backward look-up, the table it looks through
        self.src: Text | str = ""

    # ---- whole lines
    def formula(self, text: str, flag: bool = False) -> ex.Expr:
        """What a line is worth; where it is to be a *flag* it may be a condition.

        Raises:
            Fault: it cannot be read, a name in it is unknown, or a unit does not fit.
        """
        self.line(text)
        return self.of_a_size(self.build(parse_line(text, "cond" if flag else "sum", self.at)))

    def condition(self, text: str) -> ex.Expr:
        """Whether what a line says is so.

        Raises:
            Fault: it cannot be read, it states no test, or something in it does not fit.
        """
        self.line(text)
        return self.of_a_size(self.cond(parse_line(text, "cond", self.at)))

    def step(self, name: str, text: str) -> ex.Local:
        """A line that those after it may name.

        Raises:
            Fault: as of a formula.
        """
        self.line(text)
        worth = self.build(parse_line(text, "sum", self.at))
        step = self.locals[name] = ex.Local(name, worth)
        # where it is too long those after it are not told of it again
        self.sizes[name] = 1
        self.sizes[name] = 1 + self.written_out(self.of_a_size(worth))
        return step

    def of_a_size(self, e: ex.Expr) -> ex.Expr:
        """*e*, if it can be carried out: a step is worked anew wherever it is named, and sixteen
        that double are 65,536.

        Raises:
            Fault: it is longer than is read.
        """
        length = self.written_out(e)
        if length > PARTS:
            self.fault(
                "line-too-long",
                f"this is {length:,} pieces once its steps are written out, and {PARTS} are read",
                "name a step less often, or give a fact of its own what is used so much",
            )
        return e

    def written_out(self, e: ex.Expr) -> int:
        """How many pieces *e* has, steps and all."""
        if isinstance(e, ex.Local) and e.name in self.sizes:
            return self.sizes[e.name]
        return 1 + sum(map(self.written_out, e.kids()))

    def line(self, text: object) -> None:
        """Begin with a line: what follows is told at its place.

        Raises:
            Fault: it is no text.
        """
        self.at = place_of(text, self.at)
        if not isinstance(text, str):
            raise Fault(
                "line-form",
                self.at,
                "a line of text belongs here, and this is "
                + ("a mapping" if isinstance(text, dict) else "a list"),
                "write one line; put it in quotes if it holds brackets or a colon",
            )
        self.src = text

    def fault(self, code: str, what: str, todo: str = "") -> NoReturn:
        """Say what does not fit in the line that is being read.

        Raises:
            Fault: always.
        """
        raise Fault(
            code, self.at, f'in "{self.src}": {what}', todo or "see the grammar in kb/README.md"
        )

    # ---- what pieces have in common
    def table(self, name: str) -> Table:
        """The table of that name, noted as one that the rule reads.

        Raises:
            Fault: there is none, or it could not be read.
        """
        if name not in self.tables:
            self.fault("no-such-table", f'no table is called "{name}"', suggest(name, self.tables))
        if not self.tables[name].keys:
            self.fault("no-such-table", f"table {name} could not be read", "mend the table first")
        self.tables_used[name] = self.tables[name]
        return self.tables[name]

    def quantity(self, node: Node) -> ex.Expr:
        """A piece that must be an amount.

        Raises:
            Fault: it is none.
        """
        e = self.build(node)
        if e.t[0] != "q":
            self.fault("number-expected", f"a number is wanted, and this is {describe(e.t)}")
        return e

    def same(self, a: ex.Expr, b: ex.Expr, doing: str) -> None:
        """See that two amounts measure the same.

        Raises:
            Fault: they do not.
        """
        if a.t[1] == b.t[1]:
            return
        one, other = (e.t[2] or SHOWN_AS.get(e.t[1], "another measure") for e in (a, b))
        # most often a unit was forgotten: the one that the other side has is then meant
        bare = next((e for e in (b, a) if _is_bare(e)), None)
        unit = one if bare is b else other
        self.fault(
            "unlike-units",
            f"cannot {doing} {one} and {other}".replace("count", "a bare number"),
            (
                f"write {bare.text} {unit}"
                if isinstance(bare, ex.Num) and unit in (*UNITS, *POINTS)
                else "unlike units never meet"
            ),
        )

    def build(self, node: Node) -> ex.Expr:
        """The piece that a node of the tree stands for."""
        e = BUILDERS[node[0]](self, node)
        e.ast = node
        return e

    # ---- numbers, words, facts
    def _num(self, node: Node) -> ex.Expr:
        unit = node[2] or "count"
        if unit == "date":
            return ex.Num(("q", DAY, unit), parse_quantity(node[1], unit, self.at)[0], node[1])
        return ex.Num(
            ("q", dimension(unit), unit),
            to_base(Fraction(node[1]), unit),
            node[1] + (f" {node[2]}" if node[2] else ""),
        )

    def _size(self, node: Node) -> ex.Expr:
        return ex.Word_(("row", None), node[1])

    def _word(self, node: Node) -> ex.Expr:
        return ex.Word_(("word",), node[1])

    def _path(self, node: Node) -> ex.Expr:
        names = tuple(reversed(node[1]))
        # what stands nearest is meant: a column, a step and a value go before a fact
        if len(names) == 1:
            found = self._of_the_line(names[0])
            if found is not None:
                return found
        root = names[0]
        member = self.member is not None and root == self.member
        if member and self._is_a_fact(root):
            self.fault(
                "two-meanings",
                f'"{root}" could be the member or a fact of the {self.about}',
                "rename one",
            )
        kind = root if member else self.about
        spelt = self.words.spell(kind, names[1:] if member else names, self.at)
        slots, kinds, t = self._follow(kind, spelt, root)
        return ex.Path(t, slots, tuple(spelt), kinds, member, " of ".join(node[1]))

    def _of_the_line(self, name: str) -> ex.Expr | None:
        """What a name means here before it means a fact: a column, a step, a dated number."""
        if self.row is not None and (name in self.row.keys or name in self.row.values):
            return ex.Column(self.row.type_of(name), name)
        if name in self.locals:
            return self.locals[name]
        if name in self.values and name not in self.words.kinds[self.about].words:
            value, of_type = self.values_used[name] = self.values[name]
            return ex.Dated(of_type, name, value)
        return None

    def _is_a_fact(self, name: str) -> bool:
        """Is it a fact of what the rule is about, and no link to another thing?"""
        word = self.words.kinds[self.about].words.get(name)
        return word is not None and word.type[0] != "ref"

    def _follow(
        self, kind: str, names: list[str], root: str
    ) -> tuple[tuple[int, ...], tuple[str, ...], Type]:
        """Slots and kinds along a path that begins at *kind*, and the type of what it ends at."""
        slots: list[int] = []
        kinds = [kind]
        t: Type = ("ref", kind)
        for i, name in enumerate(names):
            word = self.words.kinds[kind].words.get(name)
            if word is None:
                self._unknown(kind, name, root)
            slots.append(word.slot)
            t = word.type
            if i == len(names) - 1:
                break
            if t[0] != "ref":
                self.fault(
                    "not-one-thing",
                    f'"{name}" of {kind} is {describe(t)}, so nothing can be "of" it',
                    'write "total … over …"' if t[0] == "many" else "turn the path round",
                )
            kind = t[1]
            kinds.append(kind)
        return tuple(slots), tuple(kinds), t

    def _unknown(self, kind: str, name: str, root: str) -> NoReturn:
        """Say that *kind* has no such fact, and what may be meant."""
        words = self.words.kinds
        # inside a list a fact of the rule's own thing and one of the member are easily mixed up
        if self.member and name != root:
            todo = suggest(name, words[kind].words)
        elif self.member and root in words[self.member].words:
            todo = f'the {self.member}\'s own is "{root} of {self.member}"'
        elif called := words[kind].fact_called(name):
            todo = f'in a rule it is called "{called}"'
        else:
            todo = self.odd_name(name) or self.meant(kind, name)
        self.fault("unknown-word", f'{a_noun(kind)} has no "{name}"', todo)

    def meant(self, kind: str, name: str) -> str:
        """What a person may have meant by a name that *kind* has not: the fact of another thing,
        one like it, or a word to bring.
        """
        found = self._of_another(kind, name)
        if found:
            meant = "did you mean " + " or ".join(f'"{path}"' for path in found[:3]) + "?"
            # what is that far away is seldom what was meant
            return meant if found[0].count(" of ") < 2 else f"{meant} {self._brought(kind, name)}"
        kinds = self.words.kinds
        near = suggest(name, [*kinds[kind].words, *kinds[kind].short, *self.locals, *self.values])
        if near.startswith("did you mean") or any(
            name in k.words or name in k.aliases for k in kinds.values()
        ):
            return near
        return f"{near}; {self._brought(kind, name)}"

    def _brought(self, kind: str, name: str) -> str:
        """How a pack may bring the word that this line asks for."""
        is_ = self._asked_as(name)
        word = f"{{{kind}: {{{name}: {{is: {is_}, ask: ...}}}}}}"
        return f"a pack may bring a word of its own: words: {word}"

    def _asked_as(self, name: str) -> str:
        """What a fact of that name would be, by what the line asks of it."""
        path = rf"(?:^|[\s(]){re.escape(name)}(?: of [\w ]+?)?"
        choices = re.search(rf"{path} is (?:not )?([^<>=()]+)", str(self.src))
        if choices and choices[1].strip() not in ("none", "unknown"):
            return choices[1].strip() if "|" in choices[1] else f"{choices[1].strip()} | ..."
        amount = re.search(rf"{path} (?:>=|<=|!=|=|<|>) \d[\d.,/]*\s?(\S*)", str(self.src))
        if amount:
            return unit_of(amount[1]) or "count"
        return "yes or no"

    def _of_another(self, kind: str, name: str) -> list[str]:
        """The paths from *kind* to facts of that name, those of the nearest things alone."""
        kinds = self.words.kinds
        todo: list[tuple[str, tuple[str, ...]]] = [(kind, ())]
        seen = {kind}
        found: list[tuple[str, ...]] = []
        # the nearest first
        for at, way in todo:
            if found and len(way) >= len(found[0]):
                break
            fact = name if name in kinds[at].words else kinds[at].fact_called(name)
            if fact:
                found.append((fact, *way))
            for word in kinds[at].words.values() if len(way) < NEAR else ():
                if word.type[0] == "ref" and word.type[1] in kinds and word.type[1] not in seen:
                    seen.add(word.type[1])
                    todo.append((word.type[1], (word.name, *way)))
        return [" of ".join(path) for path in found]

    def odd_name(self, name: str) -> str:
        """What to do about a name that is no misspelling but another way of writing."""
        if "'s " in name:
            owner, _, fact = name.partition("'s ")
            return f'write "{fact} of {owner}"'
        if name in ("yes", "no", "true", "false"):
            return "a yes/no fact stands alone: write the fact, or not and the fact"
        return ""

    # ---- reckoning
    def _bin(self, node: Node) -> ex.Expr:
        _, op, left, right = node
        a, b = self.quantity(left), self.quantity(right)
        dim = (self._sum if op in "+-±" else self._product)(op, a, b)
        # a share of an amount is shown in the unit of the amount
        if dim == a.t[1] and a.t[2] != "%":
            unit = a.t[2]
        else:
            unit = b.t[2] if dim == b.t[1] else SHOWN_AS.get(dim)
        return ex.Arith(("q", dim, unit), op, a, b)

    def _sum(self, op: str, a: ex.Expr, b: ex.Expr) -> Dimension:
        """What a sum or a difference measures."""
        one, other = a.t[1], b.t[1]
        if op == "-" and one == other == POINT:
            return STEP_OF_DEGREES
        if one == POINT and other == STEP_OF_DEGREES:
            return one
        if DAY in (one, other):
            self.fault("unlike-units", "dates do not add", "compare a date with another date")
        if one == POINT:
            self.fault("unlike-units", "two temperatures never add", "write the step in F° or C°")
        self.same(a, b, "add" if op != "-" else "take")
        return one

    def _product(self, op: str, a: ex.Expr, b: ex.Expr) -> Dimension:
        """What a product or a quotient measures."""
        if op == "÷" and isinstance(b, ex.Num) and b.value == 0:
            self.fault("division-by-zero", "nothing can be divided by 0", "compare with 0 instead")
        if DAY in (a.t[1], b.t[1]):
            self.fault(
                "unlike-units", "a date cannot be multiplied", "compare it with another date"
            )
        if POINT in (a.t[1], b.t[1]):
            self.fault(
                "unlike-units",
                "a temperature cannot be multiplied",
                "a step of degrees (F°, C°) can",
            )
        return multiply_dims(a.t[1], b.t[1], 1 if op == "×" else -1)

    def _extreme(self, node: Node) -> ex.Expr:
        xs = tuple(self.quantity(e) for e in node[1])
        for e in xs[1:]:
            self.same(xs[0], e, "compare")
        return ex.Extreme(xs[0].t, node[0] == "least", xs)

    def _over(self, node: Node) -> ex.Expr:
        _, fn, body, path, where, default = node
        things = self._list(path)
        outer, self.member = self.member, things.t[1]
        added = self.quantity(body) if body else None
        chosen = self.cond(where) if where else None
        self.member = outer
        # what it is where nothing counts has no member to speak of
        otherwise = self.quantity(default) if default else None
        # only the smallest and the largest have a default, and they have a body
        if otherwise is not None and added is not None:
            self.same(added, otherwise, "compare")
        t = added.t if added is not None else ("q", NONE_DIM, "count")
        return ex.Over(t, fn, added, things, chosen, otherwise)

    def _list(self, path: Node) -> ex.Path:
        """A piece that must be a list of things."""
        e = self.build(path)
        if e.t[0] != "many":
            self.fault("not-a-list", f'"{" of ".join(path[1])}" is {describe(e.t)}, not a list')
        if not isinstance(e, ex.Path):
            # who its members are, and what they are fed by, only its own links say
            self.fault(
                "not-a-list",
                f'"{" of ".join(path[1])}" is a step, and a step is worth one value',
                "name the list itself, as in how many circuits of job",
            )
        return e

    # ---- tables
    def _look(self, node: Node) -> ex.Expr:
        _, column, name, keys, where = node
        table = self.table(name)
        if column not in table.values and not (column in table.keys and where):
            self.fault(
                "unknown-column",
                f'table {name} has no column "{column}"',
                suggest(column, table.values),
            )
        known = self._keys(table, keys)
        # a backward look-up goes through the rows of the keys it does not name
        missing = [key for key in table.keys if key not in dict(known)]
        if missing and not where:
            self.fault(
                "key-missing",
                f'table {name} also needs "{missing[0]}"',
                f"add: and {missing[0]} = …",
            )
        chosen = None
        if where:
            outer, self.row = self.row, table
            chosen = self.cond(where)
            self.row = outer
        return ex.Look(_type_of_cells(table, column), table, column, known, chosen)

    def _keys(self, table: Table, keys: Iterable[tuple[str, Node]]) -> tuple[Any, ...]:
        """The keys by which a line looks a row up, each with what it is to be."""
        out = []
        for name, node in keys:
            if name not in table.keys:
                self.fault(
                    "unknown-column",
                    f'table {table.id} has no key "{name}"',
                    suggest(name, table.keys),
                )
            out.append((name, self.key(table, name, node)))
        return tuple(out)

    def key(self, table: Table, name: str, node: Node) -> ex.Expr:
        """What one key of a look-up is to be; it must be able to find a row.

        Raises:
            Fault: it is of another unit, or no row has it.
        """
        e, unit = self.build(node), table.unit(name)
        if unit and (e.t[0] != "q" or e.t[1] != dimension(unit)):
            self.fault(
                "wrong-unit", f'key "{name}" of {table.id} is in {unit}, not {describe(e.t)}'
            )
        if not unit and e.t[0] == "q":
            self.fault("wrong-unit", f'key "{name}" of {table.id} is a word, not {describe(e.t)}')
        if isinstance(e, ex.Word_) and not any(row[name] == e.value for row in table.rows):
            self.fault(
                "no-such-row",
                f'table {table.id} has no row where "{name}" is "{e.value}"',
                suggest(str(e.value), {row[name] for row in table.rows}),
            )
        if e.t[0] == "choice" and not any(row[name] in e.t[1] for row in table.rows):
            self.fault(
                "no-such-row",
                f'no choice of "{name}" is a row of {table.id}',
                "compare the words of the table with the choices",
            )
        return e

    def _step(self, node: Node) -> ex.Expr:
        a, table = self.quantity(node[2]), self.table(node[3])
        column = next(iter(table.keys))
        unit = table.unit(column)
        if unit is None or dimension(unit) != a.t[1]:
            self.fault("wrong-unit", f"{node[3]} is not in {SHOWN_AS.get(a.t[1])}")
        points = sorted({row[column] for row in table.rows})
        return ex.Step(a.t, node[1] == "up", a, table, points)

    def _round(self, node: Node) -> ex.Expr:
        a, step = self.quantity(node[2]), self.build(node[3])
        # the grammar lets nothing else stand there
        assert isinstance(step, ex.Num)
        self.same(a, step, "round")
        if step.value == 0:
            self.fault("division-by-zero", "nothing is rounded to 0", "name the step: 1 A, 5 A")
        return ex.Round(a.t, node[1], a, step)

    def _root(self, node: Node) -> ex.Expr:
        a = self.quantity(node[1])
        # first, for the dimension of a temperature or a date is no list of powers
        if a.t[1] in (POINT, DAY) or any(power % 2 for _, power in a.t[1]):
            self.fault("unlike-units", f"{SHOWN_AS.get(a.t[1], 'this')} has no square root")
        dim = tuple((base, power // 2) for base, power in a.t[1])
        return ex.Root(("q", dim, SHOWN_AS.get(dim)), a, node[2])

    def _year(self, node: Node) -> ex.Expr:
        a = self.build(node[1])
        if a.t[:2] != ("q", DAY):
            self.fault("unlike-units", f"{describe(a.t)} has no year", "name a date after: year of")
        return ex.Year(a)

    # ---- conditions
    def cond(self, node: Node) -> ex.Expr:
        """The condition that a node of the tree states."""
        e = TESTS.get(node[0], Checker._no_test)(self, node)
        e.ast = node
        return e

    def _no_test(self, node: Node) -> ex.Expr:
        self.fault(
            "no-test", "this line states no test", "a comparison, or a yes/no fact, belongs here"
        )

    def _and(self, node: Node) -> ex.Expr:
        return ex.Junction(True, tuple(self.cond(part) for part in node[1]))

    def _not(self, node: Node) -> ex.Expr:
        return ex.Not(self.cond(node[1]))

    def _flag(self, node: Node) -> ex.Expr:
        e = self.build(node[1])
        if e.t != ex.FLAG:
            self.fault(
                "no-test",
                f"this line states no test: it is {describe(e.t)}",
                "a comparison, or a yes/no fact, belongs here",
            )
        return ex.Flag(e)

    def _cmp(self, node: Node) -> ex.Expr:
        _, op, left, right = node
        a, b = self.build(left), self.build(right)
        if "row" in (a.t[0], b.t[0]):
            return ex.Cmp(op, a, b, self._order_of_both(a, b))
        if a.t[0] != "q" or b.t[0] != "q":
            todo = (
                f'write "{self.said(left)} is …"'
                if op in ("=", "!=")
                else "only numbers and sizes have an order"
            )
            self.fault(
                "unlike-units",
                f'"{op}" compares numbers, and here stand {describe(a.t)} and {describe(b.t)}',
                todo,
            )
        self.same(a, b, "compare")
        return ex.Cmp(op, a, b)

    def _order_of_both(self, a: ex.Expr, b: ex.Expr) -> dict[str, int]:
        """The order in which two sizes are compared: that of the table of either."""
        name = next((e.t[1] for e in (a, b) if e.t[0] == "row" and e.t[1]), None)
        if name is None or a.t[0] not in ("row", "word") or b.t[0] not in ("row", "word"):
            self.fault("unlike-units", f"cannot compare {describe(a.t)} and {describe(b.t)}")
        order = size_order(self.table(name))
        for e in (a, b):
            if isinstance(e, ex.Word_) and e.value not in order:
                self.fault(
                    "no-such-row", f'"{e.value}" is no row of {name}', suggest(str(e.value), order)
                )
        return order

    @staticmethod
    def said(node: Node) -> str:
        """A path as it was written, for a sentence about it."""
        return " of ".join(node[1]) if node[0] == "path" else "…"

    def _gauge(self, node: Node) -> ex.Expr:
        a = self.build(node[1])
        if a.t[0] != "row":
            self.fault("unlike-units", f'"{node[2]}" is a size, and this is {describe(a.t)}')
        table = self.table(a.t[1] or "conductor-sizes")
        order = table.order("size")
        if node[2] not in order:
            self.fault(
                "no-such-row", f'"{node[2]}" is no size of {table.id}', suggest(node[2], order)
            )
        return ex.Gauge(a, node[2], node[3] == "smaller", order)

    def _is(self, node: Node) -> ex.Expr:
        _, negated, left, words = node
        a = self.build(left)
        fact = self._fact(a)
        words = tuple(self.words.present_choice(fact, word, self.at) for word in words)
        for word in words:
            if word == "none" and fact is not None and fact.part == "one" and a.t[0] == "ref":
                self.fault(
                    "wrong-type",
                    f'"{fact.name}" of {a_noun(fact.kind)} always exists',
                    "leave the test out, or make it an optional part",
                )
            # to be none is to be absent, which no choice and no number is
            if word == "none" and a.t[0] in ("ref", "many", "row"):
                continue
            self._may_be(word, a, fact, left)
        return ex.Is(negated, a, words)

    def _fact(self, e: ex.Expr) -> Word | None:
        """The word of the fact that a piece is; None where it is none."""
        if not isinstance(e, ex.Path) or not e.names:
            return None
        return self.words.kinds[e.kinds[-1]].words[e.names[-1]]

    def _may_be(self, word: str, a: ex.Expr, fact: Word | None, left: Node) -> None:
        """See that *word* is one that the piece *a* may ever be."""
        if a.t[0] == "choice":
            means = fact.means if fact is not None else {}
            if word not in a.t[1]:
                self.fault(
                    "not-a-choice",
                    f'"{word}" is no choice here',
                    f'write "{means[word]}"' if word in means else suggest(word, a.t[1]),
                )
        elif a.t[0] == "row":
            if a.t[1] and word not in size_order(self.table(a.t[1])):
                table = self.table(a.t[1])
                self.fault(
                    "no-such-row",
                    f'"{word}" is no row of {table.id}',
                    suggest(word, table.order(next(iter(table.keys)))),
                )
        elif a.t[0] not in ("word", "text"):
            self.fault(
                "wrong-type",
                f'"is {word}" does not fit: this is {describe(a.t)}',
                self._instead_of_is(word, a.t[0], left),
            )

    def _instead_of_is(self, word: str, kind: str, left: Node) -> str:
        """How to test what is no word."""
        if kind == "q":
            signs = (sign for said, sign in AT_LEAST.items() if word.startswith(said))
            sign = next(signs, None)
            return f"write {sign}" if sign else "numbers are compared with = < >"
        if kind == "flag":
            return f'write "{self.said(left)}" alone, or "not {self.said(left)}"'
        return ""

    def _among(self, node: Node) -> ex.Expr:
        _, negated, left, name, column, keys = node
        a, table = self.build(left), self.table(name)
        among = column or next(iter(table.keys))
        if among not in table.keys and among not in table.values:
            self.fault(
                "unknown-column",
                f'table {name} has no column "{among}"',
                suggest(among, [*table.keys, *table.values]),
            )
        unit = table.unit(among)
        if bool(unit) != (a.t[0] == "q") or (unit and dimension(unit) != a.t[1]):
            self.fault("unlike-units", f'"{among}" of {name} is not {describe(a.t)}')
        return ex.Among(negated, a, table, among, self._keys(table, keys))

    def _quant(self, node: Node) -> ex.Expr:
        _, fn, path, where = node
        things = self._list(path)
        outer, self.member = self.member, things.t[1]
        met = self.cond(where)
        self.member = outer
        return ex.Quant(fn, things, met)


def _is_bare(e: ex.Expr) -> bool:
    """Is it a number that was written without a unit?"""
    return isinstance(e, ex.Num) and e.t[1] == NONE_DIM and e.t[2] == "count"


def _type_of_cells(table: Table, column: str) -> Type:
    """The type of a column: one whose cells are all yes or no answers as a fact does."""
    of_type = table.type_of(column)
    if (
        of_type == ("word",)
        and column in table.values
        and {row[column] for row in table.rows} <= {"yes", "no"}
    ):
        return ex.FLAG
    return of_type


# what states a test; wherever a line is read as a formula the same node is a condition, too
TESTS: dict[str, Callable[[Checker, Node], ex.Expr]] = {
    "and": Checker._and,
    "not": Checker._not,
    "flag": Checker._flag,
    "cmp": Checker._cmp,
    "gauge": Checker._gauge,
    "is": Checker._is,
    "among": Checker._among,
    "quant": Checker._quant,
}
BUILDERS: dict[str, Callable[[Checker, Node], ex.Expr]] = {
    "num": Checker._num,
    "size": Checker._size,
    "word": Checker._word,
    "path": Checker._path,
    "bin": Checker._bin,
    "least": Checker._extreme,
    "most": Checker._extreme,
    "over": Checker._over,
    "look": Checker._look,
    "step": Checker._step,
    "round": Checker._round,
    "root": Checker._root,
    "year": Checker._year,
    **dict.fromkeys(TESTS, Checker.cond),
}
