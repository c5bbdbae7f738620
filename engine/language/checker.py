"""The tree of a line made into typed expressions: every name known, every unit fitting, or a fault
that says what does not.
"""

from __future__ import annotations

from fractions import Fraction

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
    dimension,
    multiply_dims,
    parse_quantity,
    to_base,
)
from . import expressions as ex
from .lines import parse_line
from .tables import Table
from .words import Words, a_noun

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


def describe(t: tuple) -> str:
    """A type in words."""
    return {
        "q": lambda: (
            "a number" if t[1] == NONE_DIM else f"in {t[2] or SHOWN_AS.get(t[1], 'other units')}"
        ),
        "flag": lambda: "yes or no",
        "choice": lambda: "one of " + ", ".join(t[1]),
        "row": lambda: f"a row of {t[1] or 'a table'}",
        "ref": lambda: f"another thing ({t[1]})",
        "many": lambda: f"a list of {t[1]}",
        "word": lambda: "a word",
        "text": lambda: "text",
    }[t[0]]()


class Checker:
    """Turns the tree of a line into typed expressions, or says what does not fit."""

    def __init__(
        self, words: Words, tables: dict[str, Table], values: dict, about: str, at: Place
    ) -> None:
        self.words, self.tables, self.values, self.about, self.at = words, tables, values, about, at
        # what this rule stands on: while it stays, the rule need not be checked again
        self.tables_used: dict[str, Table] = {}
        self.values_used: dict[str, tuple] = {}
        self.locals: dict[str, ex.Local] = {}
        self.sizes: dict[str, int] = {}  # of a step, how many pieces it is written out
        self.member: str | None = None
        self.row: Table | None = None
        self.src: Text | str = ""

    def formula(self, text, flag: bool = False) -> ex.Expr:
        self.line(text)
        return self.of_a_size(self.build(parse_line(text, "cond" if flag else "sum", self.at)))

    def condition(self, text) -> ex.Expr:
        self.line(text)
        return self.of_a_size(self.cond(parse_line(text, "cond", self.at)))

    def step(self, name: str, text) -> ex.Local:
        """A line that those after it may name."""
        self.line(text)
        e = self.build(parse_line(text, "sum", self.at))
        step = self.locals[name] = ex.Local(name, e)
        self.sizes[name] = 1  # where it is too long those after it are not told of it again
        self.sizes[name] = 1 + self.written_out(self.of_a_size(e))
        return step

    def of_a_size(self, e: ex.Expr) -> ex.Expr:
        """*e*, if it can be carried out: a step is worked anew wherever it is named, and sixteen
        that double are 65,536.
        """
        if (n := self.written_out(e)) > PARTS:
            self.fault(
                "line-too-long",
                f"this is {n:,} pieces once its steps are written out, and {PARTS} are read",
                "name a step less often, or give a fact of its own what is used so much",
            )
        return e

    def written_out(self, e: ex.Expr) -> int:
        """How many pieces *e* has, steps and all."""
        if isinstance(e, ex.Local) and e.name in self.sizes:
            return self.sizes[e.name]
        return 1 + sum(map(self.written_out, e.kids()))

    def line(self, text) -> None:
        self.at, self.src = place_of(text, self.at), text
        if not isinstance(text, str):
            raise Fault(
                "line-form",
                self.at,
                "a line of text belongs here, and this is "
                + ("a mapping" if isinstance(text, dict) else "a list"),
                "write one line; put it in quotes if it holds brackets or a colon",
            )

    def fault(self, code: str, what: str, todo: str = ""):
        raise Fault(
            code, self.at, f'in "{self.src}": {what}', todo or "see the grammar in kb/README.md"
        )

    def table(self, name: str) -> Table:
        if name not in self.tables:
            self.fault("no-such-table", f'no table is called "{name}"', suggest(name, self.tables))
        if not self.tables[name].keys:
            self.fault("no-such-table", f"table {name} could not be read", "mend the table first")
        self.tables_used[name] = self.tables[name]
        return self.tables[name]

    def quantity(self, node) -> ex.Expr:
        e = self.build(node)
        if e.t[0] != "q":
            self.fault("number-expected", f"a number is wanted, and this is {describe(e.t)}")
        return e

    def same(self, a: ex.Expr, b: ex.Expr, doing: str) -> None:
        if a.t[1] != b.t[1]:
            one, other = (e.t[2] or SHOWN_AS.get(e.t[1], "another measure") for e in (a, b))
            bare = next(
                (
                    e
                    for e in (b, a)
                    if isinstance(e, ex.Num) and e.t[1] == NONE_DIM and e.t[2] == "count"
                ),
                None,
            )
            unit = one if bare is b else other
            self.fault(
                "unlike-units",
                f"cannot {doing} {one} and {other}".replace("count", "a bare number"),
                (
                    f"write {bare.text} {unit}"
                    if bare is not None and unit in (*UNITS, *POINTS)
                    else "unlike units never meet"
                ),
            )

    def build(self, n) -> ex.Expr:
        e = getattr(self, "_" + n[0])(n)
        e.ast = n
        return e

    def _num(self, n):
        unit = n[2] or "count"
        if unit == "date":
            return ex.Num(("q", DAY, unit), parse_quantity(n[1], unit, self.at)[0], n[1])
        return ex.Num(
            ("q", dimension(unit), unit),
            to_base(Fraction(n[1]), unit),
            n[1] + (f" {n[2]}" if n[2] else ""),
        )

    def _size(self, n):
        return ex.Word_(("row", None), n[1])

    def _word(self, n):
        return ex.Word_(("word",), n[1])

    def _path(self, n):
        names = tuple(reversed(n[1]))
        root, kinds = names[0], self.words.kinds
        if (
            self.row is not None
            and len(names) == 1
            and (root in self.row.keys or root in self.row.values)
        ):
            return ex.Column(self.row.type_of(root), root)
        if len(names) == 1 and root in self.locals:
            return self.locals[root]
        if len(names) == 1 and root in self.values and root not in kinds[self.about].words:
            v, t = self.values_used[root] = self.values[root]
            return ex.Dated(t, root, v)
        member = self.member is not None and root == self.member
        if (
            member
            and root in kinds[self.about].words
            and kinds[self.about].words[root].type[0] != "ref"
        ):
            self.fault(
                "two-meanings",
                f'"{root}" could be the member or a fact of the {self.about}',
                "rename one",
            )
        kind, rest = (self.member, names[1:]) if member else (self.about, names)
        said = " of ".join(n[1])
        rest = self.words.spell(kind, rest)
        slots, path_kinds, t = [], [kind], ("ref", kind)
        for i, a in enumerate(rest):
            w = kinds[kind].words.get(a)
            if w is None:
                alias = kinds[kind].aliases.get(a)
                todo = (
                    f'in a rule it is called "{alias}"'
                    if alias
                    else self.odd_name(a) or self.meant(kind, a)
                )
                if self.member and a != root:
                    todo = suggest(a, kinds[kind].words)
                elif self.member and root in kinds[self.member].words:
                    todo = f'the {self.member}\'s own is "{root} of {self.member}"'
                self.fault("unknown-word", f'{a_noun(kind)} has no "{a}"', todo)
            slots.append(w.slot)
            t = w.type
            if i < len(rest) - 1:
                if t[0] != "ref":
                    self.fault(
                        "not-one-thing",
                        f'"{a}" of {kind} is {describe(t)}, so nothing can be "of" it',
                        'write "total … over …"' if t[0] == "many" else "turn the path round",
                    )
                kind = t[1]
                path_kinds.append(kind)
        return ex.Path(t, tuple(slots), tuple(rest), tuple(path_kinds), member, said)

    def meant(self, kind: str, name: str) -> str:
        """What a person may have meant by a name that *kind* has not: the fact of another thing,
        one like it, or a word to bring.
        """
        kinds = self.words.kinds
        todo, seen, found = [(kind, ())], {kind}, []
        for k, way in todo:  # the nearest first
            if found and len(way) > len(found[0][1]):
                break
            if fact := name if name in kinds[k].words else kinds[k].aliases.get(name):
                found.append((fact, way))
            for w in kinds[k].words.values():
                if (
                    w.type[0] == "ref"
                    and w.type[1] in kinds
                    and w.type[1] not in seen
                    and len(way) < 3
                ):
                    seen.add(w.type[1])
                    todo.append((w.type[1], (w.name, *way)))
        if found:
            return (
                "did you mean "
                + " or ".join(f'"{" of ".join((fact, *way))}"' for fact, way in found[:3])
                + "?"
            )
        near = suggest(name, [*kinds[kind].words, *kinds[kind].short, *self.locals, *self.values])
        bring = (
            f"; a pack may bring a word of its own: words: {{{kind}: {{{name}: {{is: yes or no,"
            " ask: ...}}}"
        )
        return near + (
            ""
            if near.startswith("did you mean")
            or any(name in k.words or name in k.aliases for k in kinds.values())
            else bring
        )

    def odd_name(self, name: str) -> str:
        """What to do about a name that is no misspelling but another way of writing."""
        if "'s " in name:
            owner, _, fact = name.partition("'s ")
            return f'write "{fact} of {owner}"'
        if name in ("yes", "no", "true", "false"):
            return "a yes/no fact stands alone: write the fact, or not and the fact"
        return ""

    def _bin(self, n):
        _, op, left, right = n
        a, b = self.quantity(left), self.quantity(right)
        if op in "+-±":
            d = a.t[1]
            if op == "-" and a.t[1] == b.t[1] == POINT:
                d = (("K", 1),)
            elif not (a.t[1] == POINT and b.t[1] == (("K", 1),)):
                if DAY in (a.t[1], b.t[1]):
                    self.fault(
                        "unlike-units", "dates do not add", "compare a date with another date"
                    )
                if a.t[1] == POINT:
                    self.fault(
                        "unlike-units", "two temperatures never add", "write the step in F° or C°"
                    )
                self.same(a, b, "add" if op != "-" else "take")
        else:
            if op == "÷" and isinstance(b, ex.Num) and b.value == 0:
                self.fault(
                    "division-by-zero", "nothing can be divided by 0", "compare with 0 instead"
                )
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
            d = multiply_dims(a.t[1], b.t[1], 1 if op == "×" else -1)
        unit = (
            a.t[2]
            if d == a.t[1] and a.t[2] not in ("%",)
            else b.t[2]
            if d == b.t[1]
            else SHOWN_AS.get(d)
        )
        return ex.Arith(("q", d, unit), op, a, b)

    def _least(self, n):
        xs = tuple(self.quantity(e) for e in n[1])
        for e in xs[1:]:
            self.same(xs[0], e, "compare")
        return ex.Extreme(xs[0].t, n[0] == "least", xs)

    _most = _least

    def _over(self, n):
        _, fn, body, path, where, default = n
        lst = self.build(path)
        if lst.t[0] != "many":
            self.fault("not-a-list", f'"{" of ".join(path[1])}" is {describe(lst.t)}, not a list')
        outer, self.member = self.member, lst.t[1]
        b = self.quantity(body) if body else None
        w = self.cond(where) if where else None
        self.member = outer
        dflt = self.quantity(default) if default else None
        if dflt is not None:
            self.same(b, dflt, "compare")
        t = b.t if b is not None else ("q", NONE_DIM, "count")
        return ex.Over(t, fn, b, lst, w, dflt)

    def _look(self, n):
        _, column, name, keys, where = n
        t = self.table(name)
        if column not in t.values and not (column in t.keys and where):
            self.fault(
                "unknown-column",
                f'table {name} has no column "{column}"',
                suggest(column, t.values),
            )
        out = []
        for k, e in keys:
            if k not in t.keys:
                self.fault("unknown-column", f'table {name} has no key "{k}"', suggest(k, t.keys))
            out.append((k, self.key(t, k, e)))
        missing = [k for k in t.keys if k not in dict(out)]
        if missing and not where:
            self.fault(
                "key-missing",
                f'table {name} also needs "{missing[0]}"',
                f"add: and {missing[0]} = …",
            )
        w = None
        if where:
            outer, self.row = self.row, t
            w = self.cond(where)
            self.row = outer
        ty = t.type_of(column)
        if ty == ("word",) and column in t.values and {r[column] for r in t.rows} <= {"yes", "no"}:
            ty = ex.FLAG
        return ex.Look(ty, t, column, tuple(out), w)

    def key(self, t: Table, k: str, node) -> ex.Expr:
        e, u = self.build(node), t.unit(k)
        if u and (e.t[0] != "q" or e.t[1] != dimension(u)):
            self.fault("wrong-unit", f'key "{k}" of {t.id} is in {u}, not {describe(e.t)}')
        if not u and e.t[0] == "q":
            self.fault("wrong-unit", f'key "{k}" of {t.id} is a word, not {describe(e.t)}')
        if isinstance(e, ex.Word_) and not any(r[k] == e.value for r in t.rows):
            self.fault(
                "no-such-row",
                f'table {t.id} has no row where "{k}" is "{e.value}"',
                suggest(e.value, {r[k] for r in t.rows}),
            )
        if e.t[0] == "choice" and not any(r[k] in e.t[1] for r in t.rows):
            self.fault(
                "no-such-row",
                f'no choice of "{k}" is a row of {t.id}',
                "compare the words of the table with the choices",
            )
        return e

    def _step(self, n):
        a, t = self.quantity(n[2]), self.table(n[3])
        col = next(iter(t.keys))
        if t.unit(col) is None or dimension(t.unit(col)) != a.t[1]:
            self.fault("wrong-unit", f"{n[3]} is not in {SHOWN_AS.get(a.t[1])}")
        return ex.Step(a.t, n[1] == "up", a, t, sorted({r[col] for r in t.rows}))

    def _round(self, n):
        a, s = self.quantity(n[2]), self.build(n[3])
        self.same(a, s, "round")
        if s.value == 0:
            self.fault("division-by-zero", "nothing is rounded to 0", "name the step: 1 A, 5 A")
        return ex.Round(a.t, n[1], a, s)

    def _root(self, n):
        a = self.quantity(n[1])
        if any(e % 2 for _, e in a.t[1]) or a.t[1] == POINT:
            self.fault("unlike-units", f"{SHOWN_AS.get(a.t[1], 'this')} has no square root")
        d = tuple((u, e // 2) for u, e in a.t[1])
        return ex.Root(("q", d, SHOWN_AS.get(d)), a, n[2])

    # ---- conditions
    def cond(self, n) -> ex.Expr:
        e = getattr(self, "_c_" + n[0], self._c_else)(n)
        e.ast = n
        return e

    def _c_else(self, n):
        self.fault(
            "no-test", "this line states no test", "a comparison, or a yes/no fact, belongs here"
        )

    def _not(self, n):
        return self.cond(n)

    _flag = _cmp = _is = _gauge = _among = _quant = _and = _or = _not

    def _c_not(self, n):
        return ex.Not(self.cond(n[1]))

    def _c_flag(self, n):
        e = self.build(n[1])
        if e.t != ex.FLAG:
            self.fault(
                "no-test",
                f"this line states no test: it is {describe(e.t)}",
                "a comparison, or a yes/no fact, belongs here",
            )
        return ex.Flag(e)

    def _c_cmp(self, n):
        _, op, left, right = n
        a, b = self.build(left), self.build(right)
        if "row" in (a.t[0], b.t[0]):
            name = next((e.t[1] for e in (a, b) if e.t[0] == "row" and e.t[1]), None)
            if name is None or a.t[0] not in ("row", "word") or b.t[0] not in ("row", "word"):
                self.fault("unlike-units", f"cannot compare {describe(a.t)} and {describe(b.t)}")
            t = self.table(name)
            order = t.order(next(iter(t.keys)) if "size" not in t.keys else "size")
            for e in (a, b):
                if isinstance(e, ex.Word_) and e.value not in order:
                    self.fault(
                        "no-such-row", f'"{e.value}" is no row of {name}', suggest(e.value, order)
                    )
            return ex.Cmp(op, a, b, order)
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

    @staticmethod
    def said(node) -> str:
        return " of ".join(node[1]) if node[0] == "path" else "…"

    def _c_gauge(self, n):
        a = self.build(n[1])
        if a.t[0] != "row":
            self.fault("unlike-units", f'"{n[2]}" is a size, and this is {describe(a.t)}')
        t = self.table(a.t[1] or "conductor-sizes")
        order = t.order("size")
        if n[2] not in order:
            self.fault("no-such-row", f'"{n[2]}" is no size of {t.id}', suggest(n[2], order))
        return ex.Gauge(a, n[2], n[3] == "smaller", order)

    def _c_is(self, n):
        _, negated, left, words = n
        a = self.build(left)
        for w in words:
            if (
                w == "none"
                and isinstance(a, ex.Path)
                and a.names
                and a.t[0] == "ref"
                and self.words.kinds[a.kinds[-1]].words[a.names[-1]].part == "one"
            ):
                self.fault(
                    "wrong-type",
                    f'"{a.names[-1]}" of {a_noun(a.kinds[-1])} always exists',
                    "leave the test out, or make it an optional part",
                )
            if w == "none" and a.t[0] in ("ref", "many", "row"):
                continue
            if a.t[0] == "choice" and w not in a.t[1]:
                means = (
                    self.words.kinds[a.kinds[-1]].words[a.names[-1]].means
                    if isinstance(a, ex.Path) and a.names
                    else {}
                )
                self.fault(
                    "not-a-choice",
                    f'"{w}" is no choice here',
                    f'write "{means[w]}"' if w in means else suggest(w, a.t[1]),
                )
            if a.t[0] == "row":
                name = a.t[1]
                if name and w not in self.table(name).order(
                    "size" if "size" in self.table(name).keys else next(iter(self.table(name).keys))
                ):
                    self.fault(
                        "no-such-row",
                        f'"{w}" is no row of {name}',
                        suggest(w, self.table(name).order(next(iter(self.table(name).keys)))),
                    )
            elif a.t[0] not in ("choice", "word", "text"):
                todo = {
                    "q": next(
                        (f"write {sign}" for said, sign in AT_LEAST.items() if w.startswith(said)),
                        "numbers are compared with = < >",
                    ),
                    "flag": f'write "{self.said(left)}" alone, or "not {self.said(left)}"',
                }.get(a.t[0], "")
                self.fault("wrong-type", f'"is {w}" does not fit: this is {describe(a.t)}', todo)
        return ex.Is(negated, a, words)

    def _c_among(self, n):
        _, negated, left, name, column, keys = n
        a, t = self.build(left), self.table(name)
        col = column or next(iter(t.keys))
        if col not in t.keys and col not in t.values:
            self.fault(
                "unknown-column",
                f'table {name} has no column "{col}"',
                suggest(col, [*t.keys, *t.values]),
            )
        u = t.unit(col)
        if bool(u) != (a.t[0] == "q") or (u and dimension(u) != a.t[1]):
            self.fault("unlike-units", f'"{col}" of {name} is not {describe(a.t)}')
        out = []
        for k, e in keys:
            if k not in t.keys:
                self.fault("unknown-column", f'table {name} has no key "{k}"', suggest(k, t.keys))
            out.append((k, self.key(t, k, e)))
        return ex.Among(negated, a, t, col, tuple(out))

    def _c_quant(self, n):
        _, fn, path, where = n
        lst = self.build(path)
        if lst.t[0] != "many":
            self.fault("not-a-list", f'"{" of ".join(path[1])}" is {describe(lst.t)}, not a list')
        outer, self.member = self.member, lst.t[1]
        w = self.cond(where)
        self.member = outer
        return ex.Quant(fn, lst, w)
