"""What is in force: words, tables, values and rules, checked against each other, in one order."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeAlias

from ..basics import reading
from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.reading import Mapping, place_of
from ..basics.units import Number, dimension, parse_quantity, unit_of
from .actions import Action, read_actions
from .checker import Values, size_order
from .forms import VALUE
from .lines import RESERVED
from .names import OldNames
from .noted import see_notes
from .order import FactOf, Order, exceptions, find_order, see_sizes
from .rules import (
    CODE_BY,
    EDITIONS,
    NAME_IN_A_LINE,
    Read,
    Rule,
    by_case,
    cited,
    read_in,
    section_of,
)
from .tables import Table
from .things import NodeId, Thing, Type
from .words import Words, a_noun, as_list

KB = Path(os.environ.get("WHYWIRE_KB") or Path(__file__).resolve().parents[2] / "kb").resolve()
ITEMS = ("rule", "value", "table", "action")
# classes of rooms above this one, which only carries them: an edit and a pack (`law`), and what is
# derived to run jobs (`running.program`)
Edit: TypeAlias = Any
Pack: TypeAlias = Any
Program: TypeAlias = Any
Items: TypeAlias = Iterable[tuple[Mapping, Path]]  # each with the folder its files are in


class Knowledge:
    """Everything in force: the words, the tables, the rules of one edition in one order."""

    def __init__(
        self,
        material: Material,
        tables: dict[str, Table],
        rules: dict[str, Rule],
        absent: dict[str, Rule],
        values: Values,
        order: Order,
    ) -> None:
        self.edition, self.words, self.packs = material.edition, material.words, material.packs
        self.order, self.digest = order, ""
        self.tables = tables
        self.rules = rules  # in force in this edition
        self.absent = absent  # known, and not in this edition
        self.values = values  # name -> (base value, type)
        self.value_items = material.values  # name -> as written
        # what a person can do about a fault
        self.actions: tuple[Action, ...] = ()
        self.slots: dict[str, int] = {}  # rule id -> slot of its answer on a thing of its kind
        # rule id -> slot of whether it holds (exceptions and fillers)
        self.holds: dict[str, int] = {}
        # (rule id, fact) -> slot of what it gives
        self.results: dict[tuple[str, str], int] = {}
        self.width: dict[str, int] = {}  # kind -> cells of a thing
        # as of the material
        self.trail, self.withdrawn = material.trail, material.withdrawn
        self.gone = material.gone
        # an old name of a rule -> the present one
        self.formerly = material.formerly
        # what is derived from it to run jobs, once somebody runs one (`running.program`)
        self.program: Program | None = None

    def __getstate__(self) -> dict[str, Any]:
        # what is derived is derived anew: functions cannot be written down
        return self.__dict__ | {"program": None}

    def but(self, **other: Any) -> Knowledge:
        """The same knowledge with something *other* in it, made of the same words in the same
        order.
        """
        knowledge = object.__new__(Knowledge)
        knowledge.__dict__.update(self.__dict__ | {"program": None} | other)
        return knowledge

    def called(self, rule: str) -> str:
        """The present name of a rule that a person names, by an old name too."""
        return self.formerly.get(rule, rule)

    def section(self, name: str, of: Thing | dict[str, Any] | None = None) -> str:
        """The section of a rule, table or value in the edition in force; of a rule for the thing,
        of a table for the row that is asked about.
        """
        rule = self.rules.get(name) or self.absent.get(name)
        if rule:
            return rule.section(self.edition, of if isinstance(of, list) else None) or ""
        d = self.tables[name].d if name in self.tables else self.value_items[name]
        case = None
        if of and not isinstance(of, list) and CODE_BY in d:
            case = of.get(d[CODE_BY])  # a row off the table has none
        return section_of(d, self.edition, case) or ""

    def idle(self, node: NodeId) -> bool:
        """Does a node of the order need no work: what is told already stands in its cell, and a try
        or a pick writes its own.
        """
        if node[0] != "cell":
            return False
        _, kind, fact, plane = node
        givers = self.order.givers.get((kind, fact), ())
        if not givers:
            return True
        if plane:
            return fact == self.rules[plane].tried.name
        return any(rule.verb == "tries" for rule in givers)

    def concerns(self, node: NodeId, kinds: frozenset[str]) -> bool:
        """Is there work at a node of the order for things of these kinds?"""
        if node[0] == "block":
            return True
        about = node[1] if node[0] == "cell" else self.rules[node[1]].about
        return about in kinds and not self.idle(node)

    def tests(self, pick: str) -> list[Rule]:
        """The tests that a row has to pass to be picked."""
        return self.order.tests[pick]


class Material:
    """What is to be put together: everything known, as text, with what was changed on the way
    here.
    """

    def __init__(self, edition: str, words: Words, packs: list[Pack] | None = None) -> None:
        self.edition, self.words, self.packs = edition, words, packs or []
        self.rules: dict[str, Mapping] = {}
        self.values: dict[str, Mapping] = {}
        self.tables: dict[str, Table] = {}
        self.actions: list[Mapping] = []
        self.trail: dict[str, list[Edit]] = {}  # item -> the edits it came through, in order
        self.withdrawn: dict[str, Edit] = {}  # rule -> the edit that took it away
        self.gone: dict[str, Mapping] = {}  # rule -> what it said before that
        self.formerly: dict[str, str] = {}  # an old name of a rule -> the present one

    def copy(self) -> Material:
        """The same material, to be changed without touching this one."""
        material = Material(self.edition, self.words, [*self.packs])
        material.rules, material.values = {**self.rules}, {**self.values}
        material.tables = {**self.tables}
        material.actions = [*self.actions]
        material.trail = {name: [*edits] for name, edits in self.trail.items()}
        material.withdrawn, material.gone = {**self.withdrawn}, {**self.gone}
        material.formerly = self.formerly
        return material


def gather(
    items: Items,
    words: Words,
    packs: list[Pack],
    edition: str,
    faults: Collector,
    names: OldNames | None = None,
) -> Material:
    """*items* by name, tables read; nothing is checked against anything else yet."""
    material = Material(edition, words, packs)
    material.formerly = names.present if names else {}
    seen: dict[str, Place] = {}
    for d, folder in items:
        kind = next(each for each in ITEMS if each in d)
        name = str(d[kind])
        if kind == "action":
            material.actions.append(d)
            continue
        # of a rule that is seen when it is read
        if kind != "rule" and not _has_a_name(d, kind, faults):
            continue
        if name in seen:
            faults.add(
                "id-in-use",
                place_of(d),
                f'"{name}" is already at {seen[name]}',
                "give it a name of its own",
            )
            continue
        seen[name] = place_of(d)
        if kind == "table":
            # a fault of one table hides none of another
            with faults.catching():
                mine = Collector()
                with mine.catching():
                    material.tables[name] = Table(d, folder, mine)
                faults.items.extend(mine.items)
        else:
            (material.rules if kind == "rule" else material.values)[name] = d
    return material


def _has_a_name(d: Mapping, kind: str, faults: Collector) -> bool:
    """Whether a line can name a table or a value."""
    name = str(d[kind])
    at = place_of(d[kind], place_of(d))
    odd = reading.no_name(name)
    if odd:
        faults.add(
            "item-name",
            at,
            f'"{name}" is no name for a {kind}: {odd}',
            "write plain letters, and not many",
        )
        return False
    if (
        isinstance(d[kind], str)
        and not RESERVED & set(name.split())
        and re.fullmatch(NAME_IN_A_LINE, name)
    ):
        return True
    faults.add(
        "item-name",
        at,
        f'"{name}" is no name for a {kind}: no line could say it',
        "write words, without digits, signs, or the words of the grammar (of, by, from, total ...)",
    )
    return False


def build(
    items: Items,
    words: Words,
    packs: list[Pack],
    edition: str,
    faults: Collector | None = None,
) -> Knowledge:
    """Check *items* against each other and put them in order (also for packs that never were
    files).

    Raises:
        Faults: something in them does not fit.
    """
    faults = faults or Collector()
    words.finish(faults)
    items = list(items)
    names = present_names([d for d, _ in items], [], (), faults)
    return assemble(gather(items, words, packs, edition, faults, names), faults)


def present_names(
    items: list[Mapping], edits: list[Mapping], verbs: Iterable[str], faults: Collector
) -> OldNames:
    """Put into *items* and *edits* (each with one of *verbs*) the present name of every rule that
    they call by an old one; who did is noted.
    """
    named = [(d, str(d[kind])) for d in items for kind in ITEMS if kind in d and kind != "action"]
    added = [(d, str(d["add"])) for d in edits if "add" in d]
    names = OldNames()
    names.read([*named, *added], faults)
    for d in items:
        names.brought_up_to_date(d)
    for d in edits:
        names.brought_up_to_date(d, verbs)
    return names


class Pool:
    """Rules that were checked before, to be taken over where nothing they stand on has changed."""

    def __init__(self) -> None:
        self._kept: dict[int, tuple[Mapping, Rule]] = {}

    def rule(
        self, d: Mapping, material: Material, values: Values, ids: set[str], faults: Collector
    ) -> Rule:
        """The checked rule that *d* says."""
        kept = self._kept.get(id(d))
        # another mapping may stand where one that was let go has stood
        if kept is not None and kept[0] is d and kept[1].stands_with(material.tables, values):
            return kept[1].taken_over()
        before = len(faults.items)
        rule = Rule(d, material.words, material.tables, values, ids, faults)
        if len(faults.items) == before:
            self._kept[id(d)] = d, rule
        return rule.taken_over()


# ---- put together --------------------------------------------------------------------------------


def assemble(
    material: Material,
    faults: Collector | None = None,
    pool: Pool | None = None,
    ordered: bool = True,
) -> Knowledge:
    """Check what is in *material* against each other and put it in order.

    Not *ordered* it runs no job, only examples, each on one rule and its exceptions: for a look at
    what would be without.

    Raises:
        Faults: something in it does not fit.
    """
    faults, pool = faults or Collector(), pool or Pool()
    if material.edition not in EDITIONS:
        faults.add(
            "edition",
            Place("edition"),
            f'"{material.edition}" is no edition',
            suggest(material.edition, EDITIONS),
        )
    _see_usual(material, faults)
    see_notes(material.words, material.tables, faults)
    values = _values(material, faults)
    ids = {*material.rules, *material.gone}
    every: dict[str, Rule] = {}
    for name, d in material.rules.items():
        with faults.catching():
            every[name] = pool.rule(d, material, values, ids, faults)
    # what stands on a rule or a value that could not be read would be told of wrongly
    faults.stop()
    _see_tables(material, faults)
    _see_names_of_values(material, values, faults)
    _see_rows_of_words(material, faults)
    rules = {
        name: rule
        for name, rule in sorted(every.items())
        if rule.section(material.edition) is not None
    }
    absent = {name: rule for name, rule in every.items() if name not in rules}
    actions = tuple(read_actions(material.actions, material.words, material.tables, values, faults))
    _settle_exceptions(rules, every, faults)
    faults.stop()
    knowledge = Knowledge(material, material.tables, rules, absent, values, Order())
    knowledge.actions = actions
    with faults.catching():
        knowledge.order = (
            find_order(rules, material.words) if ordered else Order(exceptions=exceptions(rules))
        )
        see_sizes(knowledge.order)
    # in no order it is not known what gives a rule its case, and every rule would seem to lack one
    faults.stop()
    if ordered:
        _see_sections(every, knowledge.order.givers, faults)
    faults.stop()
    _number(knowledge)
    if ordered:
        knowledge.digest = digest(knowledge)
    return knowledge


def _see_usual(material: Material, faults: Collector) -> None:
    """See that the tables by which amounts are usual are there."""
    for kind in material.words.kinds.values():
        for word in kind.words.values():
            if word.usual and word.usual.table and word.usual.table not in material.tables:
                faults.add(
                    "words-usual",
                    word.usual.at,
                    f'"{word.name}" is usual where "{word.usual.table}" lists it, and there is no'
                    " such table",
                    suggest(word.usual.table, material.tables),
                )


def _values(material: Material, faults: Collector) -> Values:
    """The dated numbers, each as of its edition."""
    out: Values = {}
    for name, d in material.values.items():
        with faults.catching():
            out[name] = value_in(d, read_in(d, material.edition), faults)
    return out


def _see_tables(material: Material, faults: Collector) -> None:
    """See that tables name rows and sections that there are."""
    for table in material.tables.values():
        _check_rows(table, material.tables, faults)


def _see_names_of_values(material: Material, values: Values, faults: Collector) -> None:
    """See that no value has the name of a fact: a line could mean either."""
    for name in values:
        holder = next((kind for kind in material.words.kinds.values() if name in kind.words), None)
        if holder is not None:
            faults.add(
                "id-in-use",
                place_of(material.values[name]),
                f'"{name}" is a fact of {a_noun(holder.name)}',
                "give the value a name of its own",
            )


def _see_rows_of_words(material: Material, faults: Collector) -> None:
    """See that there are the tables of whose rows a fact may be one."""
    for kind in material.words.kinds.values():
        for word in kind.words.values():
            if word.type[0] == "row" and word.type[1] not in material.tables:
                faults.add(
                    "no-such-table",
                    word.at,
                    f'"{word.name}" is a row of {word.type[1]}, and there is no such table',
                    suggest(word.type[1], material.tables),
                )


def _settle_exceptions(rules: dict[str, Rule], every: dict[str, Rule], faults: Collector) -> None:
    """See that an exception is about what its rule is about; leave out those to rules that are not
    in force.
    """
    for rule in rules.values():
        for target in rule.exception_to:
            if target in every and every[target].about != rule.about:
                faults.add(
                    "exception-kind",
                    rule.at,
                    f"{rule.id} is about {rule.about} and an exception to {target}, which is about"
                    f" {every[target].about}",
                    "an exception is about the same kind of thing",
                )
        rule.exception_to = [target for target in rule.exception_to if target in rules]


def _see_sections(
    every: dict[str, Rule], givers: dict[FactOf, list[Rule]], faults: Collector
) -> None:
    """See that each rule names a section for whatever it may be about."""
    for rule in every.values():
        for edition, case in rule.uncited(givers):
            faults.add(
                "code-lacks",
                place_of(rule.d["code"], rule.at),
                f"{rule.id} may be about {case}, and {edition} names no section for it",
                f'add "{case}: section", parted by a semicolon',
            )


def exceptions_only(
    knowledge: Knowledge, material: Material, faults: Collector, pool: Pool
) -> Knowledge:
    """*knowledge* with what is otherwise in *material*. It runs no job, only examples, each on one
    rule and its exceptions: for a look at what would be.

    Only what is otherwise is checked.

    Raises:
        Faults: it does not fit.
    """
    values = {**knowledge.values}
    for name, d in material.values.items():
        if d is not knowledge.value_items[name]:
            values[name] = value_in(d, read_in(d, knowledge.edition), faults)
    rules, absent = _rules_otherwise(knowledge, material, values, faults, pool)
    faults.stop()
    for name, rule in rules.items():
        aside = [str(t) for t in as_list(rule.d.get("exception to")) if str(t) in rules]
        if rule.exception_to != aside:
            # a copy, for the knowledge goes on with what its rules set aside
            rules[name] = rule = rule.taken_over()
            rule.exception_to = aside
    out = knowledge.but(
        tables=material.tables,
        rules=rules,
        absent=absent,
        values=values,
        value_items=material.values,
        order=Order(exceptions=exceptions(rules)),
        slots={},
        holds={},
        results={},
        width={},
        trail=material.trail,
        withdrawn=material.withdrawn,
        gone=material.gone,
    )
    _number(out)
    return out


def _rules_otherwise(
    knowledge: Knowledge, material: Material, values: Values, faults: Collector, pool: Pool
) -> tuple[dict[str, Rule], dict[str, Rule]]:
    """The rules in force, and those that are not: those alone are checked that say something else,
    or stand on a table or a value that does.
    """
    tables = {
        name for name, table in material.tables.items() if table is not knowledge.tables[name]
    }
    moved = {name for name, value in values.items() if value != knowledge.values[name]}
    if tables:
        _see_tables(material, faults)
    known, ids = {**knowledge.absent, **knowledge.rules}, {*material.rules, *material.gone}
    lost = known.keys() - ids
    rules: dict[str, Rule] = {}
    absent: dict[str, Rule] = {}
    for name, d in material.rules.items():
        if lost and name in material.trail and _names_any(d, lost):
            # what an edit made may not stand without them
            Rule(d, material.words, material.tables, values, ids, faults)
        rule = known.get(name)
        stands = rule is not None and rule.d is d
        if rule is None or not stands or tables & rule.reads_tables or moved & rule.reads_values:
            rule = pool.rule(d, material, values, ids, faults)
            in_force = rule.section(knowledge.edition) is not None
        else:
            in_force = name in knowledge.rules
        (rules if in_force else absent)[name] = rule
    return rules, absent


def _names_any(d: Mapping, lost: Iterable[str]) -> bool:
    """Whether a rule names one of those that are *lost*."""
    named = {
        str(name) for key in ("exception to", "leaving out", "also") for name in as_list(d.get(key))
    }
    return not named.isdisjoint(lost)


# ---- tables, values ------------------------------------------------------------------------------


def _check_rows(table: Table, tables: dict[str, Table], faults: Collector) -> None:
    """See that the cells of a column that holds rows of a table are rows of it, and that every row
    has its section.
    """
    if table.d.get(CODE_BY) is not None:
        _see_cases(table, faults)
    for column, what in table.values.items():
        if not what.startswith("row of "):
            continue
        name = what.removeprefix("row of ")
        if name in tables:
            _see_cells(table, column, tables[name], faults)
        else:
            faults.add(
                "no-such-table",
                place_of(table.d["values"], table.at),
                f'table {table.id}: "{column}" is a {what}, and there is no such table',
                suggest(name, tables),
            )


def _see_cases(table: Table, faults: Collector) -> None:
    """See that sections differ by a key, and that there is one for each row."""
    by = table.d[CODE_BY]
    if by not in table.keys or table.unit(by) or "code" not in table.d:
        faults.add(
            "code-form",
            place_of(by, table.at),
            f'table {table.id}: sections differ by a key that is a word, and "{by}" is none',
            suggest(str(by), table.keys),
        )
        return
    for edition, text in table.d["code"].items():
        cases = by_case(text)
        for case in dict.fromkeys(row[by] for row in table.rows) if cases else ():
            if case not in cases:
                faults.add(
                    "code-lacks",
                    place_of(text, table.at),
                    f"table {table.id} has rows for {case}, and {edition} names no section for it",
                    f'add "{case}: section", parted by a semicolon',
                )


def _see_cells(table: Table, column: str, other: Table, faults: Collector) -> None:
    """See that the cells of a column are rows of another table."""
    order = size_order(other)
    for row, at in zip(table.rows, table.lines):
        if row[column] not in order:
            faults.add(
                "no-such-row",
                at,
                f'table {table.id}: "{row[column]}" is no row of {other.id}',
                suggest(row[column], order),
            )


def value_in(d: Mapping, edition: str, faults: Collector) -> tuple[Number, Type]:
    """A dated number of the knowledge base as it is in *edition*, and its type.

    Raises:
        Fault: what it is has no form of a number.
    """
    VALUE.see(d, faults)
    if not any(key in d for key in ("code", "manufacturer", "local", "practice")):
        faults.add(
            "no-source",
            place_of(d),
            f'value "{d["value"]}" names no source',
            "add code: {2017: ...}, or practice: common practice, no source",
        )
    text: Read = d.get("is")
    lines = text.values() if isinstance(text, dict) else (text,)
    if not text or not all(isinstance(line, str) for line in lines):
        raise Fault(
            "value-form",
            place_of(text, place_of(d)),
            f'value "{d["value"]}" is no number',
            "write is: 3 %, or is: {2017: 3 %, 2023: 5 %}",
        )
    if isinstance(text, dict):
        text = _of_the_edition(d, text, edition)
    return written_quantity(text, place_of(text, place_of(d)))


def _of_the_edition(d: Mapping, by_edition: dict[str, str], edition: str) -> str:
    """The line that holds in *edition*: the last one up to it."""
    units = set()
    for since, line in by_edition.items():
        if since not in EDITIONS:
            raise Fault(
                "edition", place_of(since), f'"{since}" is no edition', suggest(since, EDITIONS)
            )
        _, of_type = written_quantity(line, place_of(line, place_of(d)))
        units.add(of_type[1])
    if len(units) > 1:
        raise Fault(
            "unlike-units",
            place_of(by_edition),
            f'value "{d["value"]}" changes its unit with the edition',
            "unlike units never meet",
        )
    last = max((since for since in by_edition if since <= edition), default=None)
    if last is None:
        raise Fault("edition", place_of(d), f'"{d["value"]}" has no value in {edition}', "add one")
    return by_edition[last]


def written_quantity(text: str, at: Place) -> tuple[Number, Type]:
    """A number of any unit and its type."""
    written = str(text).lstrip("0123456789.+-/, ").strip()
    unit = unit_of(written) or "count"
    number, unit = parse_quantity(str(text), unit, at)
    return number, ("q", dimension(unit), unit)


# ---- slots and digest ----------------------------------------------------------------------------


def _number(knowledge: Knowledge) -> None:
    """Give every rule its slots on the things it is about, after their facts."""
    free = {name: kind.width for name, kind in knowledge.words.kinds.items()}
    excepting = {rule.id for rules in knowledge.order.exceptions.values() for rule in rules}
    for rule in knowledge.rules.values():
        knowledge.slots[rule.id] = free[rule.about]
        free[rule.about] += 1
        if rule.id in excepting or rule.fills:
            knowledge.holds[rule.id] = free[rule.about]
            free[rule.about] += 1
        for fill in rule.fills:
            knowledge.results[rule.id, fill.word.name] = free[rule.about]
            free[rule.about] += 1
    knowledge.width = free


def digest(knowledge: Knowledge) -> str:
    """Digest of everything in force: what it means and where it comes from, the ordinances too that
    it came through and those that took something away.
    """

    def source(d: Mapping, section: str | None) -> str:
        return f"{section}:{d.through}" if d.through else str(section)

    parts = [
        f"{i}:{r.meaning()}:{source(r.d, cited(r.d, knowledge.edition))}"
        for i, r in sorted(knowledge.rules.items())
    ]
    parts += [
        f"{i}:{t.meaning()}:{source(t.d, cited(t.d, knowledge.edition))}"
        for i, t in sorted(knowledge.tables.items())
    ]
    items = knowledge.value_items
    parts += [
        f"{i}:{Fraction(number)}:{source(items[i], section_of(items[i], knowledge.edition))}"
        for i, (number, _) in sorted(knowledge.values.items())
    ]
    parts += [f"{i}:{edit.cite}" for i, edit in sorted(knowledge.withdrawn.items())]
    return reading.digest("\n".join([knowledge.edition, *parts]), 12)
