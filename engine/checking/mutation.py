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
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import partial
from typing import Any, TypeAlias

from ..basics.errors import Collector, Fault, Place
from ..basics.reading import Mapping, Text, place_of
from ..basics.units import parse_quantity
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.lines import Token, tokens
from ..language.rules import FILLING, JUDGING, Rule
from ..language.tables import Table
from ..language.things import Type
from ..language.words import as_list
from .coverage import Reason, examples_of, in_force, looked_at
from .examples import Given, Stub, each, in_edition, rows_of, run_example
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
    make: tuple[
        Any, ...
    ]  # ("rule", path, new) · ("value", new) · ("table", Table, rules that read the cell)
    verdict: str = ""
    by: str = ""  # the rule and the number of the example that caught it


# ---- changes of one line

Change: TypeAlias = tuple[str, str, str]  # sort, the line changed, what is changed


def line_changes(text: str, k: Knowledge) -> Iterator[Change]:
    """(sort, the line changed, what is changed) of every small change to a line."""
    line = Line(text, k)
    for i in range(len(line.tokens)):
        if not line.in_choices(i):
            yield from line.changes_at(i)
    for start, stop in line.choices:
        yield from line.without_a_choice(start, stop)


class Line:
    """A line of a rule, and the changes that can be made at each of its tokens."""

    def __init__(self, text: str, k: Knowledge) -> None:
        self.text, self.k = text, k
        self.tokens: Sequence[Token] = tokens(text)
        self.choices = list(_choices(text, self.tokens))

    def put(self, start: int, stop: int, new: str) -> str:
        """The line with something else between two of its letters."""
        return self.text[:start] + new + self.text[stop:]

    def in_choices(self, i: int) -> bool:
        """Whether a token is one of the choices that stand after an `is`."""
        return any(start <= self.tokens[i][3] < stop for start, stop in self.choices)

    def before(self, i: int) -> str:
        """The token before one."""
        return self.tokens[i - 1][1] if i else ""

    def after(self, i: int) -> str:
        """The token after one."""
        return self.tokens[i + 1][1] if i + 1 < len(self.tokens) else ""

    def swap(self, sort: str, i: int, new: str) -> Change:
        """One token in place of another."""
        _, value, _, start, stop = self.tokens[i]
        return sort, self.put(start, stop, new), f"{value} becomes {new}"

    def changes_at(self, i: int) -> Iterator[Change]:
        """Every change of one token."""
        sort, value, *_ = self.tokens[i]
        changes = AT_A_WORD.get(value) if sort == "word" else AT_A_SORT.get(sort)
        return changes(self, i) if changes else iter(())

    def constants(self, i: int) -> Iterator[Change]:
        """A number one step down and up; but not the places to which a root is worked out."""
        _, value, unit, start, stop = self.tokens[i]
        # one place more or less moves no verdict: no example could notice it
        if self.before(i) == "to" and self.after(i) == "places":
            return
        for new in _steps(value, unit):
            yield "constant", self.put(start, stop, new), f"{self.text[start:stop]} becomes {new}"

    def sizes(self, i: int) -> Iterator[Change]:
        """The sizes beside one."""
        _, value, _, start, stop = self.tokens[i]
        for new in _next_sizes(self.k, value):
            yield "constant", self.put(start, stop, new), f"{self.text[start:stop]} becomes {new}"

    def keys(self, i: int) -> Iterator[Change]:
        """Another row of a table by a key that is written out."""
        _, value, _, start, stop = self.tokens[i]
        if self.before(i) != "=" or not _names_a_key(self.tokens, i - 1):
            return
        for new in _other_keys(self.tokens, i, self.k):
            # it begins behind its first quotation mark
            yield "look-up", self.put(start, stop, f"{new}'"), f"'{value}' becomes '{new}'"

    def signs(self, i: int) -> Iterator[Change]:
        """A comparison turned or made strict, and one sign of arithmetic for another."""
        value = self.tokens[i][1]
        if value in TURNED and not _names_a_key(self.tokens, i):
            yield self.swap("comparison", i, TURNED[value])
            if value in STRICT:
                yield self.swap("comparison", i, STRICT[value])
        elif value in SIGNS:
            yield self.swap("arithmetic", i, SIGNS[value])

    def smaller_and_larger(self, i: int) -> Iterator[Change]:
        """`the smaller of`, and a size `or smaller`."""
        if self.after(i) == "of" or self.before(i) == "or":
            yield self.swap("smaller and larger", i, SWAPPED[self.tokens[i][1]])

    def aggregates(self, i: int) -> Iterator[Change]:
        """Another aggregate of the same list."""
        # a look-up backwards takes the first row that will do, and has no largest
        if not _backwards(self.tokens, i):
            yield self.swap("smaller and larger", i, SWAPPED[self.tokens[i][1]])

    def roundings(self, i: int) -> Iterator[Change]:
        """A rounding, or a step in a table, the other way."""
        _, value, _, start, stop = self.tokens[i]
        if self.before(i) not in ("stepped", "rounded", "half"):
            return
        # `half up` is one way of rounding
        first = self.tokens[i - 1][3] if self.before(i) == "half" else start
        new = SWAPPED[value]
        yield "rounding", self.put(first, stop, new), f"{self.text[first:stop]} becomes {new}"

    def quantifiers(self, i: int) -> Iterator[Change]:
        """Another quantifier of the same list."""
        if i == 0 or self.before(i) in ("not", "where"):
            yield self.swap("every and some", i, SWAPPED[self.tokens[i][1]])

    def wheres(self, i: int) -> Iterator[Change]:
        """A `where` turned round, and dropped."""
        _, _, _, start, stop = self.tokens[i]
        end = _end_of_where(self.text, self.tokens, i)
        where = f"where {self.text[stop:end].strip()}"
        # what is turned already is turned back: its `not` is taken away
        turned = self.put(stop, stop, " not")
        if self.after(i) == "not":
            turned = self.put(self.tokens[i + 1][3], self.tokens[i + 2][3], "")
        yield "condition turned", turned, f"{where} turned round"
        if not _look_before(self.tokens, i):
            yield "condition dropped", self.put(start, end, "").rstrip(), f"{where} dropped"

    def columns(self, i: int) -> Iterator[Change]:
        """Another column of the table that is looked up."""
        table = _table_after(self.tokens, i, self.k)
        if table is not None:
            yield from _other_columns(self.text, self.tokens, i, table)

    def without_a_choice(self, start: int, stop: int) -> Iterator[Change]:
        """One choice fewer of the several between two letters of the line."""
        said = self.text[start:stop]
        words = [word.strip() for word in said.split("|")]
        # without its only choice the line could not be read
        if len(words) < 2:
            return
        behind = said[len(said.rstrip()) :]
        for j, word in enumerate(words):
            left = " | ".join(words[:j] + words[j + 1 :])
            yield "choice", self.put(start, stop, left + behind), f"without {word}"


# what can be changed at a token: of a sort, or of a word that stands for an operation
AT_A_SORT: dict[str, Callable[[Line, int], Iterator[Change]]] = {
    "num": Line.constants,
    "size": Line.sizes,
    "quoted": Line.keys,
    "op": Line.signs,
}
AT_A_WORD: dict[str, Callable[[Line, int], Iterator[Change]]] = {
    "smaller": Line.smaller_and_larger,
    "larger": Line.smaller_and_larger,
    "smallest": Line.aggregates,
    "largest": Line.aggregates,
    "total": Line.aggregates,
    "up": Line.roundings,
    "down": Line.roundings,
    "every": Line.quantifiers,
    "some": Line.quantifiers,
    "no": Line.quantifiers,
    "where": Line.wheres,
    "from": Line.columns,
}


def _steps(value: str, unit: str | None) -> Iterator[str]:
    """A number one in its last place down and up."""
    if unit == "date":
        yield from (str(date.fromisoformat(value) + timedelta(n)) for n in (-1, 1))
        return
    digits = value.replace(",", "")
    last = len(digits.partition(".")[2])
    for n in (-1, 1):
        q = Decimal(digits) + Decimal(n).scaleb(-last)
        # below nothing there is no amount
        if q >= 0:
            yield f"{q:f}" + (f" {unit}" if unit else "")


def _next_sizes(k: Knowledge, size: str) -> Iterator[str]:
    rows = rows_of(k, "conductor-sizes") if "conductor-sizes" in k.tables else []
    if size in rows:
        i = rows.index(size)
        yield from (rows[j] for j in (i - 1, i + 1) if 0 <= j < len(rows))


def _names_a_key(ts: Sequence[Token], i: int) -> bool:
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


def _other_keys(ts: Sequence[Token], i: int, k: Knowledge) -> Iterator[str]:
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


def _backwards(ts: Sequence[Token], i: int) -> bool:
    """Whether `smallest` at *i* begins a look-up backwards, as in `smallest size from TABLE where
    ...`.
    """
    j = i + 1
    while j < len(ts) and ts[j][0] == "word" and ts[j][1] not in ("of", "from", "over"):
        j += 1
    return j < len(ts) and ts[j][1] == "from" and ts[i][1] == "smallest"


def _look_before(ts: Sequence[Token], i: int) -> bool:
    """Whether the `where` at *i* belongs to a look-up: without it the look-up could not be read."""
    last = next(
        (t[1] for t in reversed(ts[:i]) if t[1] in ("from", "over", "many", "every", "some", "no")),
        "",
    )
    return last in ("from", "every", "some", "no")


def _end_of_where(text: str, ts: Sequence[Token], i: int) -> int:
    deep = 0
    for j in range(i + 1, len(ts)):
        kind, value, _, start, stop = ts[j]
        deep += (value == "(") - (value == ")") if kind == "op" else 0
        if deep < 0 or (value == "or" and not deep and ts[j + 1][0] == "num"):
            return start
    return len(text)


def _choices(text: str, ts: Sequence[Token]) -> Iterator[tuple[int, int]]:
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


def _table_after(ts: Sequence[Token], i: int, k: Knowledge) -> Table | None:
    name = []
    for kind, value, *_ in ts[i + 1 :]:
        if kind != "word" or value in ("by", "where", "over", "stepped", "rounded", "and", "or"):
            break
        name.append(value)
    return k.tables.get(" ".join(name))


def _other_columns(text: str, ts: Sequence[Token], i: int, table: Table) -> Iterator[Change]:
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

Keys: TypeAlias = tuple[str | int, ...]  # the way to a piece of what is written


def rule_changes(k: Knowledge, r: Rule) -> Iterator[Mutant]:
    """Every change to the data of one rule."""
    return RuleChanges(k, r).every()


class RuleChanges:
    """The changes of one rule, each with a name of its own."""

    def __init__(self, k: Knowledge, rule: Rule) -> None:
        self.k, self.rule = k, rule
        self.said: dict[str, int] = {}  # a change as it is said -> how often so far

    def every(self) -> Iterator[Mutant]:
        """Every change, in the order of the rule's keys."""
        rule = self.rule
        yield from self.whens()
        for name, text in (rule.d.get("steps") or {}).items():
            yield from self.line(f"steps {name}", text, ("steps", name), False)
        if rule.verb in JUDGING:
            yield from self.condition(rule.verb, rule.d[rule.verb], (rule.verb,))
        if rule.verb in FILLING:
            yield from self.fills()
        yield from self.exceptions()

    def mutant(self, sort: str, at: Place, change: str, path: Keys, new: Any) -> Mutant:
        """One change; numbered where another is said alike."""
        self.said[change] = n = self.said.get(change, 0) + 1
        change = change if n == 1 else f"{change} ({n})"
        return Mutant(self.rule.id, sort, at, change, ("rule", path, new))

    def line(self, label: str, text: Any, path: Keys, conditional: bool) -> Iterator[Mutant]:
        """Every change of a line; a condition is turned round as a whole, too."""
        at = place_of(text, self.rule.at)
        for sort, new, what in line_changes(str(text), self.k):
            yield self.mutant(sort, at, f"{label}: {what}", path, new)
        if conditional:
            turned = str(text)[4:] if str(text).startswith("not ") else f"not {text}"
            yield self.mutant("condition turned", at, f"{label}: {text} turned round", path, turned)

    def condition(self, label: str, written: Any, path: Keys) -> Iterator[Mutant]:
        """Every change of a condition: a line, or any of (all of) several."""
        if not isinstance(written, dict):
            yield from self.line(label, written, path, True)
            return
        ((how, lines),) = written.items()
        branches = as_list(lines)
        if len(branches) > 1:
            yield from self.junction(label, how, branches, path)
        for i, branch in enumerate(branches):
            yield from self.condition(label, branch, (*path, how, i))

    def junction(self, label: str, how: str, branches: list[Any], path: Keys) -> Iterator[Mutant]:
        """`any of` for `all of`, and each branch dropped."""
        other, at = "all of" if how == "any of" else "any of", place_of(how, self.rule.at)
        change = f"{label}: {how} becomes {other}"
        yield self.mutant("any and all", at, change, path, Mapping({other: branches}))
        for i, branch in enumerate(branches):
            rest = Mapping({how: branches[:i] + branches[i + 1 :]})
            change = f"{label}: {_short(branch)} dropped"
            yield self.mutant("condition dropped", place_of(branch, at), change, path, rest)

    def whens(self) -> Iterator[Mutant]:
        """Each line of `when` dropped and changed."""
        whens = as_list(self.rule.d.get("when"))
        for i, when in enumerate(whens):
            at, rest = place_of(when, self.rule.at), whens[:i] + whens[i + 1 :]
            change = f"when: {_short(when)} dropped"
            yield self.mutant("condition dropped", at, change, ("when",), rest)
            yield from self.condition("when", when, ("when", i))

    def fills(self) -> Iterator[Mutant]:
        """What a rule gives, changed; and where it gives several facts, each dropped."""
        verb, fills = self.rule.verb, self.rule.d[self.rule.verb]
        names = [fill.word.name for fill in self.rule.fills]
        for fill in self.rule.fills:
            text = fills[fill.word.name]
            path, label = (verb, fill.word.name), f"{verb} {fill.word.name}"
            if isinstance(fill.expr, ex.Word_) and fill.word.type[0] in ("flag", "choice"):
                at = place_of(text, self.rule.at)
                for new in _other_words(str(text), fill.word.type):
                    yield self.mutant("given", at, f"{label}: {text} becomes {new}", path, new)
            else:
                yield from self.line(label, text, path, isinstance(fill.expr, ex.Cond))
        for name in names if len(names) > 1 else ():
            rest = Mapping((fact, text) for fact, text in fills.items() if fact != name)
            yield self.mutant("given", self.rule.at, f"{verb} {name}: dropped", (verb,), rest)

    def exceptions(self) -> Iterator[Mutant]:
        """Each rule that is set aside dropped; another in its place where it is the only one."""
        targets = [str(target) for target in as_list(self.rule.d.get("exception to"))]
        droppable = len(targets) > 1 or self.rule.verb != "exception"
        for i, target in enumerate(targets):
            if target not in self.k.rules:
                continue
            rest = targets[:i] + targets[i + 1 :]
            change = f"exception to: {target} dropped"
            if not droppable:
                other = self.beside(target)
                rest = [other] if other is not None else []
                change = f"exception to: {target} becomes another"
            if droppable or rest:
                yield self.mutant("exception", self.rule.at, change, ("exception to",), rest)

    def beside(self, target: str) -> str | None:
        """Another rule about the same kind of thing."""
        about, not_these = self.rule.about, (self.rule.id, target)
        rules = self.k.rules.values()
        return next((r.id for r in rules if r.about == about and r.id not in not_these), None)


def _other_words(word: str, of_type: Type) -> list[str]:
    """Another word that a fact may be."""
    if word in ("yes", "no"):
        return ["no" if word == "yes" else "yes"]
    return [other for other in of_type[1] if other != word][:1]


def _short(written: Any) -> str:
    """A condition on one line."""
    if not isinstance(written, dict):
        return str(written)
    ((how, lines),) = list(written.items())[:1]
    return f"{how} [{', '.join(map(_short, as_list(lines)))}]"


def changed(written: Any, path: Keys, new: Any) -> Any:
    """A copy of what is *written* in which what *path* leads to is *new*."""
    if not path:
        return Text(new, place_of(written)) if isinstance(new, str) else new
    head, *rest = path
    # one line where a list may stand
    if isinstance(head, int) and not isinstance(written, list):
        return changed(written, tuple(rest), new)
    if isinstance(written, dict):
        out = Mapping(
            (key, changed(value, tuple(rest), new) if key == head else value)
            for key, value in written.items()
        )
        # its place, and what it came through
        out.__dict__.update(getattr(written, "__dict__", {}))
        return out
    return [changed(v, tuple(rest), new) if i == head else v for i, v in enumerate(written)]


# ---- the run


class Mutation:
    """Every change to the rules, values and tables in force, and whether the examples notice."""

    def __init__(self, k: Knowledge) -> None:
        self.k = k
        self.ids = {*k.rules, *k.absent, *getattr(k, "withdrawn", ())}
        # what is tried is tested by worked jobs
        self.rules = {i: r for i, r in k.rules.items() if r.verb != "tries"}
        # rule -> (number, example) of those that come out as written
        self.sound: dict[str, list[tuple[int, Any]]] = {}
        # the cells that examples read -> the rules whose examples these are
        self.read: dict[ex.Cell, set[str]] = {}

    def examples(self, i: str) -> list[tuple[int, Any]]:
        """The examples of a rule that come out as written, by their number."""
        if i not in self.sound:
            got = []
            for n, example in enumerate(examples_of(self.k, self.rules[i]), 1):
                with contextlib.suppress(Fault):
                    sound = in_edition(self.k, example)
                    if sound and run_example(self.k, self.rules[i], example, n).ok:
                        got.append((n, example))
            self.sound[i] = got
        return self.sound[i]

    def mutants(self, only: set[str] | None = None) -> list[Mutant]:
        """Every mutant, in the order of rules, values, tables; those that *only* some rules notice
        where these are named.
        """
        rules = [r for i, r in self.rules.items() if only is None or i in only]
        out = [m for r in rules for m in rule_changes(self.k, r)]
        out += self._values(only)
        return out + self._tables(only)

    def _values(self, only: set[str] | None) -> list[Mutant]:
        """The number of each dated value one step down and up."""
        out = []
        for name, item in self.k.value_items.items():
            users = self._users(partial(_is_value, name))
            text = _in_force(item["is"], self.k.edition)
            if not users or not _concerns(only, users):
                continue
            _, value, unit, *_ = tokens(str(text))[0]
            at = place_of(text, place_of(item))
            for new in _steps(value, unit):
                change = f"is: {text} becomes {new}"
                out.append(Mutant(name, "constant", at, change, ("value", new, users)))
        return out

    def _users(self, wanted: Callable[[ex.Expr], bool]) -> list[str]:
        """The rules with a piece in their lines that is *wanted*."""
        return [i for i, rule in self.rules.items() if any(map(wanted, _pieces(rule)))]

    def _tables(self, only: set[str] | None) -> list[Mutant]:
        """The cells that examples read, and the direction of each key between rows."""
        self._trace()
        out = []
        for cell, readers in sorted(self.read.items()):
            if _concerns(only, readers):
                out += self._cell_changes(*cell, sorted(readers))
        for table in self.k.tables.values():
            for key in table.keys:
                out += self._turned(table, key, only)
        return out

    def _cell_changes(self, name: str, row: int, column: str, readers: list[str]) -> list[Mutant]:
        """A cell as its neighbour has it; of a key, its row dropped."""
        table = self.k.tables[name]
        here, before, after = table.rows[row], table.rows[:row], table.rows[row + 1 :]
        keys = ", ".join(table.show(key, here[key]) for key in table.keys)
        if column in table.keys:
            other, what = _with(table, rows=before + after), f"row {keys} dropped"
        else:
            new = _neighbour(table, row, column)
            if new is None:
                return []
            other = _with(table, rows=[*before, {**here, column: new}, *after])
            was = table.show(column, here[column])
            what = f"{column} of {keys}: {was} becomes {table.show(column, new)}"
        return [Mutant(name, "cell", table.lines[row], what, ("table", other, readers))]

    def _turned(self, table: Table, key: str, only: set[str] | None) -> list[Mutant]:
        """The next row down for the next row up, in a key that goes between rows."""
        how, unit = table.keys[key]
        if how == "exact":
            return []
        users = self._users(
            lambda e: isinstance(e, ex.Look) and e.table is table and key in dict(e.keys)
        )
        if not users or not _concerns(only, users):
            return []
        turned = "next row down" if how == "next row up" else "next row up"
        other = _with(table, keys={**table.keys, key: (turned, unit)})
        what = f"{key}: {how} becomes {turned}"
        return [Mutant(table.id, "look-up", table.at, what, ("table", other, users))]

    def _trace(self) -> None:
        """Which cells the examples read, each for itself."""
        if self.read:
            return
        for i, rule in self.rules.items():
            if any(piece.reads for piece in _pieces(rule)):
                for _, example in self.examples(i):
                    for given in each(example.get("given", {})):
                        self._trace_example(rule, given)

    def _trace_example(self, rule: Rule, given: Given) -> None:
        thing = Stub(self.k).thing(rule.about, given)
        for expression, holder, member, is_open in looked_at(rule, thing):
            for cell in expression.cells(holder, member) if is_open else ():
                self.read.setdefault(cell, set()).add(rule.id)

    def tables(self) -> list[dict[str, Any]]:
        """Of every table that rules read: its rows, those that stand alone behind an example, and
        the columns no example reads.
        """
        self._trace()
        used: dict[str, set[str]] = {}
        for rule in self.rules.values():
            for piece in _pieces(rule):
                if piece.reads:
                    table, column = piece.reads
                    used.setdefault(table.id, set()).add(column)
        return [
            {
                "table": name,
                "at": self.k.tables[name].at,
                "rows": len(self.k.tables[name].rows),
                "read": len({row for table, row, _ in self.read if table == name}),
                "unread": sorted(columns - {c for table, _, c in self.read if table == name}),
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

    def stale(
        self, every: list[Mutant], excuses: dict[tuple[str, str], Reason], only: set[str] | None
    ) -> list[Reason]:
        """Reasons for what is caught, or for a change that is not made."""
        verdicts = {(m.of, m.change): m.verdict for m in every}
        # where only some rules are looked at, the changes of others are not made
        known = {*self.rules, *self.k.tables, *self.k.value_items} if only is None else set()
        return [
            reason
            for key, reason in excuses.items()
            if verdicts.get(key) in (CAUGHT, REFUSED)
            or (key not in verdicts and reason.of in known)
        ]

    def example(self, m: Mutant) -> str | None:
        """An example that would catch a mutant; None where none is found."""
        # an example says nothing of other rules: it cannot tell which of them is set aside
        for altered in self.altered(m) if m.sort != "exception" else ():
            if altered is None:
                continue
            rule = self.rules[altered.id]
            given = example_against(self.k, rule, altered)
            if given is not None:
                line = example_line(self.k, rule, given)
                return line if rule.id == m.of else f"for {rule.id}: {line}"
        return None

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


def _pieces(rule: Rule) -> Iterator[ex.Expr]:
    """Every piece of every line of a rule."""
    for line in rule.exprs():
        yield from ex.walk(line)


def _is_value(name: str, expression: ex.Expr) -> bool:
    """Whether a piece is a dated value."""
    return isinstance(expression, ex.Dated) and expression.name == name


def _concerns(only: set[str] | None, rules: Collection[str]) -> bool:
    """Whether one of *rules* is asked about; all are where *only* names none."""
    return only is None or not only.isdisjoint(rules)


def _in_force(written: Any, edition: str) -> str:
    """What a dated value is in an edition."""
    if isinstance(written, str):
        return written
    return next(written[e] for e in sorted(written, reverse=True) if e <= edition)


def _with(table: Table, **other: Any) -> Table:
    """A table that is otherwise in some respects; it has a meaning of its own."""
    out = copy.copy(table)
    out._meaning = None
    out.__dict__.update(other)
    return out


def _neighbour(t: Table, row: int, column: str) -> Any:
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
    excused: list[tuple[Mutant, Reason]]
    stale: list[Reason]  # reasons for what is caught, or for no change that is made
    tables: list[dict[str, Any]]
    examples: dict[int, str]  # place in `survivors` -> an example that would catch it

    @property
    def caught(self) -> int:
        return sum(m.verdict in (CAUGHT, REFUSED) for m in self.mutants)

    @property
    def refused(self) -> int:
        return sum(m.verdict == REFUSED for m in self.mutants)

    @property
    def unread(self) -> list[dict[str, Any]]:
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
    only: set[str] | None = None,
    sample: int | None = None,
    seed: int = 0,
    reasons: Sequence[Reason] = (),
) -> Verdict:
    """Make the mutants, or *sample* of them by *seed*, and judge each."""
    mutation = Mutation(k)
    every = chosen = mutation.mutants(only)
    if sample is not None and sample < len(every):
        chosen = sorted(random.Random(seed).sample(every, sample), key=lambda m: (m.at, m.change))
    for mutant in chosen:
        mutation.judge(mutant)
    excuses = in_force(k, "mutate", reasons)
    alive = [m for m in chosen if m.verdict == SURVIVED]
    excused = [(m, excuses[m.of, m.change]) for m in alive if (m.of, m.change) in excuses]
    survivors = [m for m in alive if (m.of, m.change) not in excuses]
    stale = mutation.stale(every, excuses, only)
    made = [(i, mutation.example(m)) for i, m in enumerate(survivors[:MOST_MADE])]
    examples = {i: line for i, line in made if line is not None}
    return Verdict(chosen, survivors, excused, stale, mutation.tables(), examples)
