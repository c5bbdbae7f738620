"""Would the examples notice? One piece of the rules is changed at a time, and the examples beside
them are run again.

A mutant is a change of *data*: a constant one step up or down, a comparison turned or made strict,
a condition dropped or turned round, a branch, a choice, a look-up, a rounding, a cell of a table,
the name of a rule that is set aside. It is caught where an example comes out otherwise or the rule
is refused when it is read. Only the rules that hold the piece are read again, and only their own
examples run, so a whole pack takes seconds.

What survives is a hole in the examples, or means the same as before; the second kind is written
down with its reason.
"""

from __future__ import annotations

import contextlib
import copy
import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from ..basics.errors import Collector, Fault, Place
from ..basics.reading import Mapping, Text, place_of
from ..basics.units import parse_quantity
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.lines import tokens
from ..language.rules import FILLING, JUDGING, Rule
from ..language.tables import Table
from ..language.words import as_list
from .coverage import Reason, examples_of, in_force, looked_at, plain
from .examples import Stub, each, in_edition, rows_of, run_example
from .variations import example_against, example_line

TURNED = {">=": "<=", "<=": ">=", ">": "<", "<": ">", "=": "!=", "!=": "="}
STRICT = {">=": ">", "<=": "<", ">": ">=", "<": "<="}
SWAPPED = {
    "smaller": "larger",
    "larger": "smaller",
    "smallest": "largest",
    "largest": "smallest",
    "up": "down",
    "down": "up",
    "every": "some",
    "some": "every",
    "no": "some",
    "total": "largest",
}
SIGNS = {"+": "-", "-": "+", "×": "÷", "÷": "×"}
CAUGHT, REFUSED, SURVIVED = "caught", "refused", "survived"
MOST_MADE = 20  # examples worked out for what survives


@dataclass
class Mutant:
    """One change: of which rule, value or table, what sort, where, and in words."""

    of: str
    sort: str
    at: Place
    change: str
    make: tuple  # ("rule", path, new) · ("value", new) · ("table", Table, rules that read the cell)
    verdict: str = ""
    by: str = ""  # the rule and the number of the example that caught it


# ---- changes of one line


def line_changes(text: str, k: Knowledge) -> Iterator[tuple]:
    """(sort, the line changed, what is changed) of every small change to a line."""
    ts = tokens(text)
    choices = list(_choices(text, ts))

    def inside(t) -> bool:
        return any(a <= t[3] < b for a, b in choices)

    def put(start: int, stop: int, new: str) -> str:
        return text[:start] + new + text[stop:]

    for i, (kind, value, unit, start, stop) in enumerate(ts):
        before, after = (ts[i - 1][1] if i else ""), (ts[i + 1][1] if i + 1 < len(ts) else "")
        if inside(ts[i]):
            continue
        old = text[start:stop]
        if kind == "num" and not (before == "to" and after == "places"):
            for new in _steps(value, unit):
                yield "constant", put(start, stop, new), f"{old} becomes {new}"
        elif kind == "size":
            for new in _next_sizes(k, value):
                yield "constant", put(start, stop, new), f"{old} becomes {new}"
        elif kind == "quoted" and before == "=" and _names_a_key(ts, i - 1):
            for new in _other_keys(ts, i, k):
                # it begins behind its first quotation mark
                yield (
                    "look-up",
                    put(start, stop, f"{new}'"),
                    f"'{value}' becomes '{new}'",
                )
        elif kind == "op" and value in TURNED and not _names_a_key(ts, i):
            yield "comparison", put(start, stop, TURNED[value]), f"{value} becomes {TURNED[value]}"
            if value in STRICT:
                yield (
                    "comparison",
                    put(start, stop, STRICT[value]),
                    f"{value} becomes {STRICT[value]}",
                )
        elif kind == "op" and value in SIGNS:
            yield "arithmetic", put(start, stop, SIGNS[value]), f"{value} becomes {SIGNS[value]}"
        elif kind != "word":
            continue
        elif value in ("smaller", "larger") and (after == "of" or before == "or"):
            yield (
                "smaller and larger",
                put(start, stop, SWAPPED[value]),
                f"{value} becomes {SWAPPED[value]}",
            )
        elif value in ("smallest", "largest", "total") and not _backwards(ts, i):
            yield (
                "smaller and larger",
                put(start, stop, SWAPPED[value]),
                f"{value} becomes {SWAPPED[value]}",
            )
        elif value in ("up", "down") and before in ("stepped", "rounded", "half"):
            first = ts[i - 1][3] if before == "half" else start
            yield (
                "rounding",
                put(first, stop, SWAPPED[value]),
                f"{text[first:stop]} becomes {SWAPPED[value]}",
            )
        elif value in ("every", "some", "no") and (i == 0 or before in ("not", "where")):
            yield (
                "every and some",
                put(start, stop, SWAPPED[value]),
                f"{value} becomes {SWAPPED[value]}",
            )
        elif value == "where":
            end = _end_of_where(text, ts, i)
            yield (
                "condition turned",
                (
                    put(ts[i + 1][3], ts[i + 2][3], "")
                    if after == "not"
                    else put(stop, stop, " not")
                ),
                f"where {text[stop:end].strip()} turned round",
            )
            if not _look_before(ts, i):
                yield (
                    "condition dropped",
                    put(start, end, "").rstrip(),
                    f"where {text[stop:end].strip()} dropped",
                )
        elif value == "from" and (table := _table_after(ts, i, k)) is not None:
            yield from _other_columns(text, ts, i, table)
    for a, b in choices:
        words = [w.strip() for w in text[a:b].split("|")]
        for j, w in enumerate(words if len(words) > 1 else ()):
            yield (
                "choice",
                put(
                    a,
                    b,
                    " | ".join(words[:j] + words[j + 1 :]) + text[a:b][len(text[a:b].rstrip()) :],
                ),
                f"without {w}",
            )


def _steps(value: str, unit: str | None) -> Iterator[str]:
    """A number one in its last place down and up."""
    if unit == "date":
        yield from (str(date.fromisoformat(value) + timedelta(n)) for n in (-1, 1))
        return
    digits = value.replace(",", "")
    last = len(digits.partition(".")[2])
    for n in (-1, 1):
        q = Decimal(digits) + Decimal(n).scaleb(-last)
        if q >= 0:
            yield f"{q:f}" + (f" {unit}" if unit else "")


def _next_sizes(k: Knowledge, size: str) -> Iterator[str]:
    rows = rows_of(k, "conductor-sizes") if "conductor-sizes" in k.tables else []
    if size in rows:
        i = rows.index(size)
        yield from (rows[j] for j in (i - 1, i + 1) if 0 <= j < len(rows))


def _names_a_key(ts: list, i: int) -> bool:
    """Whether the = at *i* says what a key of a look-up is, as in `by size = table EGC`."""
    j = i - 1
    while j >= 0 and ts[j][0] == "word" and ts[j][1] not in ("by", "and"):
        j -= 1
    return (
        ts[i][1] == "="
        and j >= 0
        and j < i - 1
        and ts[j][0] == "word"
        and any(t[1] == "by" for t in ts[: j + 1])
    )


def _other_keys(ts: list, i: int, k: Knowledge) -> Iterator[str]:
    """Another row's word in place of the one that stands at *i* for a key."""
    by = max(j for j in range(i) if ts[j][1] in ("by", "and"))
    table = _table_after(ts, max(j for j in range(i) if ts[j][1] == "from"), k)
    key = " ".join(t[1] for t in ts[by + 1 : i - 1])
    words = (
        list(dict.fromkeys(row[key] for row in table.rows))
        if table is not None and key in table.keys
        else []
    )
    if ts[i][1] in words and len(words) > 1:
        yield words[words.index(ts[i][1]) - 1]


def _backwards(ts: list, i: int) -> bool:
    """Whether `smallest` at *i* begins a look-up backwards, as in `smallest size from TABLE where
    ...`.
    """
    j = i + 1
    while j < len(ts) and ts[j][0] == "word" and ts[j][1] not in ("of", "from", "over"):
        j += 1
    return j < len(ts) and ts[j][1] == "from" and ts[i][1] == "smallest"


def _look_before(ts: list, i: int) -> bool:
    """Whether the `where` at *i* belongs to a look-up: without it the look-up could not be read."""
    last = next(
        (t[1] for t in reversed(ts[:i]) if t[1] in ("from", "over", "many", "every", "some", "no")),
        "",
    )
    return last in ("from", "every", "some", "no")


def _end_of_where(text: str, ts: list, i: int) -> int:
    deep = 0
    for j in range(i + 1, len(ts)):
        kind, value, _, start, stop = ts[j]
        deep += (value == "(") - (value == ")") if kind == "op" else 0
        if deep < 0 or (value == "or" and not deep and ts[j + 1][0] == "num"):
            return start
    return len(text)


def _choices(text: str, ts: list) -> Iterator[tuple]:
    """Where the words after each `is` stand."""
    for i, (kind, value, *_) in enumerate(ts):
        if kind != "word" or value != "is":
            continue
        j = i + 2 if i + 1 < len(ts) and ts[i + 1][1] == "not" else i + 1
        if (
            j >= len(ts)
            or ts[j][1] == "among"
            or (ts[j][0] == "size" and j + 1 < len(ts) and ts[j + 1][1] == "or")
        ):
            continue
        yield ts[j][3], _end_of_where(text, ts, j - 1)


def _table_after(ts: list, i: int, k: Knowledge) -> Table | None:
    name = []
    for kind, value, *_ in ts[i + 1 :]:
        if kind != "word" or value in ("by", "where", "over", "stepped", "rounded", "and", "or"):
            break
        name.append(value)
    return k.tables.get(" ".join(name))


def _other_columns(text: str, ts: list, i: int, table: Table) -> Iterator[tuple]:
    """Another column of the same type in place of the one that is looked up."""
    j = i - 1
    while (
        j > 0 and ts[j - 1][0] == "word" and " ".join(t[1] for t in ts[j - 1 : i]) in table.values
    ):
        j -= 1
    column = " ".join(t[1] for t in ts[j:i])
    if column in table.values:
        for other in table.values:
            if other != column and table.type_of(other) == table.type_of(column):
                yield (
                    "look-up",
                    text[: ts[j][3]] + other + text[ts[i - 1][4] :],
                    f"{column} becomes {other}",
                )


# ---- changes of one rule


def rule_changes(k: Knowledge, r: Rule) -> Iterator[Mutant]:
    """Every change to the data of one rule."""
    d, said = r.d, {}

    def mutant(sort: str, at: Place, change: str, path: tuple, new) -> Mutant:
        said[change] = n = said.get(change, 0) + 1
        return Mutant(r.id, sort, at, change if n == 1 else f"{change} ({n})", ("rule", path, new))

    def line(label: str, text, path: tuple, conditional: bool) -> Iterator[Mutant]:
        at = place_of(text, r.at)
        for sort, new, what in line_changes(str(text), k):
            yield mutant(sort, at, f"{label}: {what}", path, new)
        if conditional:
            turned = str(text)[4:] if str(text).startswith("not ") else f"not {text}"
            yield mutant("condition turned", at, f"{label}: {text} turned round", path, turned)

    def condition(label: str, v, path: tuple) -> Iterator[Mutant]:
        if not isinstance(v, dict):
            yield from line(label, v, path, True)
            return
        ((how, branches),) = v.items()
        other = "all of" if how == "any of" else "any of"
        at = place_of(how, r.at)
        branches = as_list(branches)
        if len(branches) > 1:
            yield mutant(
                "any and all",
                at,
                f"{label}: {how} becomes {other}",
                path,
                Mapping({other: branches}),
            )
            for i, b in enumerate(branches):
                rest = branches[:i] + branches[i + 1 :]
                yield mutant(
                    "condition dropped",
                    place_of(b, at),
                    f"{label}: {_short(b)} dropped",
                    path,
                    Mapping({how: rest}),
                )
        for i, b in enumerate(branches):
            yield from condition(label, b, (*path, how, i))

    whens = as_list(d.get("when"))
    for i, w in enumerate(whens):
        yield mutant(
            "condition dropped",
            place_of(w, r.at),
            f"when: {_short(w)} dropped",
            ("when",),
            whens[:i] + whens[i + 1 :],
        )
        yield from condition("when", w, ("when", i))
    for name, text in (d.get("steps") or {}).items():
        yield from line(f"steps {name}", text, ("steps", name), False)
    if r.verb in JUDGING:
        yield from condition(r.verb, d[r.verb], (r.verb,))
    if r.verb in FILLING:
        fills = d[r.verb]
        for f in r.fills:
            text = fills[f.word.name]
            path, label = (r.verb, f.word.name), f"{r.verb} {f.word.name}"
            if isinstance(f.expr, ex.Word_) and f.word.type[0] in ("flag", "choice"):
                for new in {"yes": ["no"], "no": ["yes"]}.get(str(text)) or [
                    w for w in f.word.type[1] if w != str(text)
                ][:1]:
                    yield mutant(
                        "given", place_of(text, r.at), f"{label}: {text} becomes {new}", path, new
                    )
                continue
            yield from line(label, text, path, isinstance(f.expr, ex.Cond))
        for f in r.fills if len(r.fills) > 1 else ():
            yield mutant(
                "given",
                r.at,
                f"{r.verb} {f.word.name}: dropped",
                (r.verb,),
                Mapping((n, t) for n, t in fills.items() if n != f.word.name),
            )
    targets = [str(t) for t in as_list(d.get("exception to"))]
    for i, t in enumerate(targets):
        if t in k.rules and (len(targets) > 1 or r.verb != "exception"):
            yield mutant(
                "exception",
                r.at,
                f"exception to: {t} dropped",
                ("exception to",),
                targets[:i] + targets[i + 1 :],
            )
        elif (
            t in k.rules
            and (
                other := next(
                    (
                        o.id
                        for o in k.rules.values()
                        if o.about == r.about and o.id not in (r.id, t)
                    ),
                    None,
                )
            )
            is not None
        ):
            yield mutant(
                "exception", r.at, f"exception to: {t} becomes another", ("exception to",), [other]
            )


def _short(v) -> str:
    return (
        str(v)
        if not isinstance(v, dict)
        else f"{next(iter(v))} [{', '.join(map(_short, as_list(next(iter(v.values())))))}]"
    )


def changed(d, path: tuple, new):
    """A copy of *d* in which what *path* leads to is *new*."""
    if not path:
        return Text(new, place_of(d)) if isinstance(new, str) else new
    head, *rest = path
    if isinstance(head, int) and not isinstance(d, list):  # one line where a list may stand
        return changed(d, tuple(rest), new)
    if isinstance(d, dict):
        out = Mapping(
            (key, changed(v, tuple(rest), new) if key == head else v) for key, v in d.items()
        )
        out.__dict__.update(getattr(d, "__dict__", {}))
        return out
    return [changed(v, tuple(rest), new) if i == head else v for i, v in enumerate(d)]


# ---- the run


class Mutation:
    """Every change to the rules, values and tables in force, and whether the examples notice."""

    def __init__(self, k: Knowledge) -> None:
        self.k = k
        self.ids = {*k.rules, *k.absent, *getattr(k, "withdrawn", ())}
        # what is tried is tested by worked jobs
        self.rules = {i: r for i, r in k.rules.items() if r.verb != "tries"}
        # rule -> (number, example) of those that come out as written
        self.sound: dict[str, list] = {}
        # (table, row, column) -> rules whose examples read that cell
        self.read: dict[tuple, set] = {}

    def examples(self, i: str) -> list:
        if i not in self.sound:
            got = []
            for n, d in enumerate(examples_of(self.k, self.rules[i]), 1):
                try:
                    if in_edition(self.k, d) and run_example(self.k, self.rules[i], d, n).ok:
                        got.append((n, d))
                except Fault:
                    continue
            self.sound[i] = got
        return self.sound[i]

    def mutants(self, only: set | None = None) -> list[Mutant]:
        """Every mutant, in the order of rules, values, tables; those that *only* some rules notice
        where these are named.
        """
        rules = [r for i, r in self.rules.items() if only is None or i in only]
        out = [m for r in rules for m in rule_changes(self.k, r)]
        out += self._values(only)
        return out + self._tables(only)

    def _values(self, only: set | None) -> list[Mutant]:
        out = []
        for name, d in self.k.value_items.items():
            users = self._users(lambda n, name=name: isinstance(n, ex.Dated) and n.name == name)
            text = (
                d["is"]
                if isinstance(d["is"], str)
                else next(d["is"][e] for e in sorted(d["is"], reverse=True) if e <= self.k.edition)
            )
            if users and (only is None or only & set(users)):
                kind, value, unit, *_ = tokens(str(text))[0]
                for new in _steps(value, unit):
                    out.append(
                        Mutant(
                            name,
                            "constant",
                            place_of(text, place_of(d)),
                            f"is: {text} becomes {new}",
                            ("value", new, users),
                        )
                    )
        return out

    def _users(self, wanted) -> list[str]:
        return [
            i
            for i, r in self.rules.items()
            if any(wanted(n) for e in r.exprs() for n in ex.walk(e))
        ]

    def _tables(self, only: set | None) -> list[Mutant]:
        self._trace()
        out = []
        for (name, row, column), readers in sorted(self.read.items()):
            t = self.k.tables[name]
            if only is not None and not only & readers:
                continue
            other = copy.copy(t)
            other._meaning = None
            keys = ", ".join(t.show(key, t.rows[row][key]) for key in t.keys)
            if column in t.keys:
                other.rows = t.rows[:row] + t.rows[row + 1 :]
                what = f"row {keys} dropped"
            elif (new := _neighbour(t, row, column)) is not None:
                other.rows = [*t.rows[:row], {**t.rows[row], column: new}, *t.rows[row + 1 :]]
                what = (
                    f"{column} of {keys}: {t.show(column, t.rows[row][column])} becomes"
                    f" {t.show(column, new)}"
                )
            else:
                continue
            out.append(Mutant(name, "cell", t.lines[row], what, ("table", other, sorted(readers))))
        for name, t in self.k.tables.items():
            for key, (how, unit) in t.keys.items():
                users = (
                    self._users(
                        lambda n, t=t, key=key: (
                            isinstance(n, ex.Look) and n.table is t and key in dict(n.keys)
                        )
                    )
                    if how != "exact"
                    else []
                )
                if users and (only is None or only & set(users)):
                    other = copy.copy(t)
                    turned = "next row down" if how == "next row up" else "next row up"
                    other.keys, other._meaning = {**t.keys, key: (turned, unit)}, None
                    out.append(
                        Mutant(
                            name,
                            "look-up",
                            t.at,
                            f"{key}: {how} becomes {turned}",
                            ("table", other, users),
                        )
                    )
        return out

    def _trace(self) -> None:
        """Which cells the examples read, each for itself."""
        if self.read:
            return
        for i, r in self.rules.items():
            if not any(
                isinstance(n, (ex.Look, ex.Step, ex.Among)) for e in r.exprs() for n in ex.walk(e)
            ):
                continue
            for _, d in self.examples(i):
                for given in each(d.get("given", {})):
                    for n, y, m, open_ in looked_at(r, Stub(self.k).thing(r.about, given)):
                        for cell in _cells(n, y, m) if open_ else ():
                            self.read.setdefault(cell, set()).add(i)

    def tables(self) -> list[dict]:
        """Of every table that rules read: its rows, those that stand alone behind an example, and
        the columns no example reads.
        """
        self._trace()
        used: dict[str, set] = {}
        for r in self.rules.values():
            for n in (n for e in r.exprs() for n in ex.walk(e)):
                if isinstance(n, (ex.Look, ex.Step, ex.Among)):
                    used.setdefault(n.table.id, set()).add(
                        next(iter(n.table.keys)) if isinstance(n, ex.Step) else n.column
                    )
        return [
            {
                "table": name,
                "at": self.k.tables[name].at,
                "rows": len(self.k.tables[name].rows),
                "read": len({row for t, row, _ in self.read if t == name}),
                "unread": sorted(columns - {c for t, _, c in self.read if t == name}),
            }
            for name, columns in sorted(used.items())
        ]

    def altered(self, m: Mutant) -> Iterator[Rule | None]:
        """The rules that a mutant changes, read again; None for one that is refused."""
        what, *rest = m.make
        tables, values, users, dicts = self.k.tables, self.k.values, [m.of], {}
        if what == "rule":
            dicts[m.of] = changed(self.rules[m.of].d, *rest)
        elif what == "value":
            unit = values[m.of][1][2]
            values, users = (
                {**values, m.of: (parse_quantity(rest[0], unit, bare=True)[0], values[m.of][1])},
                rest[1],
            )
        else:
            tables, users = {**tables, m.of: rest[0]}, rest[1]
        for i in users:
            faults = Collector()
            with faults.catching():
                r = Rule(
                    dicts.get(i, self.rules[i].d), self.k.words, tables, values, self.ids, faults
                )
                r.exception_to = [t for t in r.exception_to if t in self.k.rules]
            yield None if faults.items else r

    def judge(self, m: Mutant) -> None:
        """Say of a mutant whether it is caught."""
        m.verdict = SURVIVED
        for r in self.altered(m):
            if r is None:
                m.verdict = REFUSED
                return
            for n, d in self.examples(r.id):
                with contextlib.suppress(Fault):
                    if run_example(self.k, r, d, n).ok:
                        continue
                m.verdict, m.by = CAUGHT, f"{r.id}, example {n}"
                return


def _cells(n: ex.Expr, x: list, m) -> Iterator[tuple]:
    """(table, row, column) of the cells that a look-up rests on by themselves."""
    if isinstance(n, ex.Look):
        rows = n.rows(x, m) or []
        if n.where is not None:
            rows = (
                [row for row in rows if row and n.where.ev(x, row) is True][:1]
                if None not in (n.known_keys(x, m) or {}).values()
                else []
            )
        if len(rows) == 1 and rows[0]:
            yield n.table.id, n.table.index_of(rows[0]), n.column
    elif isinstance(n, ex.Step):
        v = n.a.ev(x, m)
        column = next(iter(n.table.keys))
        yield from (
            (n.table.id, i, column)
            for i, row in enumerate(n.table.rows)
            if plain(v) and row[column] == n.one(v)
        )
    elif isinstance(n, ex.Among):
        v, keys = n.a.ev(x, m), {key: e.ev(x, m) for key, e in n.keys}
        rows = n.table.find(keys) if None not in keys.values() else []
        yield from (
            (n.table.id, n.table.index_of(row), n.column)
            for row in rows
            if row and row[n.column] == v
        )


def _neighbour(t: Table, row: int, column: str):
    """What a cell's neighbour says that it does not: the one after it, or before, among the rows
    beside it first.
    """
    here = t.rows[row]
    after = [
        r
        for r in (*reversed(t.neighbours(here)), *t.rows[row + 1 :], *reversed(t.rows[:row]))
        if r is not None
    ]
    return next((r[column] for r in after if r[column] != here[column]), None)


@dataclass
class Verdict:
    """What became of the mutants."""

    mutants: list[Mutant]
    survivors: list[Mutant]  # those without a reason
    excused: list[tuple]  # (mutant, its reason)
    stale: list[Reason]  # reasons for what is caught, or for no change that is made
    tables: list[dict]
    examples: dict[int, str]  # place in `survivors` -> an example that would catch it

    @property
    def caught(self) -> int:
        return sum(m.verdict in (CAUGHT, REFUSED) for m in self.mutants)

    @property
    def refused(self) -> int:
        return sum(m.verdict == REFUSED for m in self.mutants)

    @property
    def unread(self) -> list[dict]:
        """Tables with a column that rules look up and no example reads."""
        return [t for t in self.tables if t["unread"]]

    @property
    def share(self) -> str:
        return f"{100 * self.caught / max(1, len(self.mutants)):.1f} %"

    def by_sort(self) -> dict[str, tuple[int, int]]:
        """sort -> (caught, there are)."""
        return {
            s: (
                sum(m.verdict in (CAUGHT, REFUSED) for m in self.mutants if m.sort == s),
                sum(m.sort == s for m in self.mutants),
            )
            for s in sorted({m.sort for m in self.mutants})
        }


def mutate(
    k: Knowledge,
    only: set | None = None,
    sample: int | None = None,
    seed: int = 0,
    reasons: list[Reason] = (),
) -> Verdict:
    """Make the mutants, or *sample* of them by *seed*, and judge each."""
    mutation = Mutation(k)
    every = chosen = mutation.mutants(only)
    if sample is not None and sample < len(every):
        chosen = sorted(random.Random(seed).sample(every, sample), key=lambda m: (m.at, m.change))
    for m in chosen:
        mutation.judge(m)
    excuses = in_force(k, "mutate", reasons)
    alive = [m for m in chosen if m.verdict == SURVIVED]
    excused = [(m, excuses[m.of, m.change]) for m in alive if (m.of, m.change) in excuses]
    survivors = [m for m in alive if (m.of, m.change) not in excuses]
    verdicts = {(m.of, m.change): m.verdict for m in every}
    known = {*mutation.rules, *k.tables, *k.value_items}
    stale = [
        q
        for key, q in excuses.items()
        if verdicts.get(key) in (CAUGHT, REFUSED)
        or (key not in verdicts and only is None and q.of in known)
    ]
    examples = {}
    for i, m in enumerate(survivors[:MOST_MADE]):
        for r in mutation.altered(m) if m.sort != "exception" else ():
            if r is not None and (given := example_against(k, mutation.rules[r.id], r)) is not None:
                line = example_line(k, mutation.rules[r.id], given)
                examples[i] = line if r.id == m.of else f"for {r.id}: {line}"
                break
    return Verdict(chosen, survivors, excused, stale, mutation.tables(), examples)
