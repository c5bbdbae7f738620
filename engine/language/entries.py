"""A rule, a table or a value as a person reads it: its parts as plain text, for a terminal and for
the book alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from ..basics.reading import Mapping
from .actions import OPTIONAL
from .knowledge import Knowledge
from .names import FORMERLY
from .order import FactOf, reads_of, reads_of_line
from .rules import JUDGING, Read, Rule
from .tables import Table
from .words import as_list

LINES = (
    "when",
    "must",
    "must not",
    "should",
    "gives",
    "reckons",
    "assumes",
    "designs",
    "tries",
    "picks",
    "refers",
    "warns",
    "at",
    "lacks",
    "leaving out",
    "also",
    "steps",
)
PROSE = ("because", "limits", "doubt", "notes", FORMERLY)
LINES_OF = {"rule": LINES, "value": ("is",), "table": ()}


@dataclass
class Entry:
    """What is known of one rule, table or value. In a list of pairs the first says what the second
    is.
    """

    kind: str  # rule | table | value
    name: str
    about: str
    says: str
    lines: list[tuple[str, str]]  # the key of a line ("" where it goes on) and the line as written
    sections: list[tuple[str, str]]  # from which edition on, and where that says it
    sources: list[tuple[str, str]]  # manufacturer, local, practice
    prose: list[tuple[str, str]]
    in_force: bool
    sets_aside: list[str] = field(default_factory=list)
    # by which rule, and what that says
    set_aside: list[tuple[str, str]] = field(default_factory=list)
    tables: list[str] = field(default_factory=list)  # it reads
    values: list[str] = field(default_factory=list)
    read_by: list[str] = field(default_factory=list)
    # what a person can do that may mend a failing of it, and which facts that changes
    mended_by: list[tuple[str, str]] = field(default_factory=list)
    # what is given, and what is expected
    examples: list[tuple[str, str]] = field(default_factory=list)
    facts: list[tuple[str, str]] = field(default_factory=list)  # keys and columns of a table
    keys: list[str] = field(default_factory=list)
    columns: list[str] = field(default_factory=list)
    rows: list[list[str]] = field(default_factory=list)  # a cell for each key, then for each column
    # who copied a table, what it was checked against
    proof: list[tuple[str, str]] = field(default_factory=list)
    written: str = ""


def entries(knowledge: Knowledge) -> dict[tuple[str, str], Mapping]:
    """Everything that has an entry, by kind and name: rules of any edition, tables, values."""
    return {
        **{
            ("rule", name): rule.d for name, rule in {**knowledge.rules, **knowledge.absent}.items()
        },
        **{("table", name): table.d for name, table in knowledge.tables.items()},
        **{("value", name): d for name, d in knowledge.value_items.items()},
    }


def entry(knowledge: Knowledge, kind: str, name: str) -> Entry:
    """The entry of one rule, table or value.

    Raises:
        KeyError: there is no such thing.
    """
    if kind == "rule":
        return _entry_of_a_rule(knowledge, name)
    d = knowledge.tables[name].d if kind == "table" else knowledge.value_items[name]
    out = plain_entry(kind, name, d)
    out.read_by = sorted(
        rule.id
        for rule in {**knowledge.rules, **knowledge.absent}.values()
        if name in (rule.reads_tables if kind == "table" else rule.reads_values)
    )
    if kind == "table":
        _add_rows(out, knowledge.tables[name])
    return out


def _entry_of_a_rule(knowledge: Knowledge, name: str) -> Entry:
    """The entry of a rule, of one too that an edit took away."""
    rule = knowledge.rules.get(name) or knowledge.absent.get(name)
    d = rule.d if rule else knowledge.gone[name]
    out = plain_entry("rule", name, d)
    out.in_force = name in knowledge.rules
    out.set_aside = [(other.id, other.said) for other in knowledge.order.exceptions.get(name, ())]
    if rule is None:
        # what was taken away is text alone
        out.sets_aside = [str(target) for target in as_list(d.get("exception to"))]
        return out
    out.sets_aside = [str(target) for target in rule.exception_to]
    out.tables, out.values = sorted(rule.reads_tables), sorted(rule.reads_values)
    if rule.verb in JUDGING and out.in_force:
        out.mended_by = mends(knowledge, rule)
    return out


def mends(knowledge: Knowledge, rule: Rule) -> list[tuple[str, str]]:
    """What a person can do that changes a fact on which the answer of *rule* rests: what is done,
    and the facts that it changes; what lies nearest first, of that the cheapest. Whether it mends a
    fault of a job only a run of that job shows.
    """
    found: dict[tuple[str, str], tuple[int, int]] = {}
    for far, facts in enumerate(_rests_on(knowledge, rule)):
        for action in knowledge.actions:
            changed = action.touches()
            if changed & facts:
                said = OPTIONAL.sub("", action.text)
                named = ", ".join(f"{fact} of {kind}" for kind, fact in sorted(changed))
                found.setdefault((said, named), (far, action.weight))
    return sorted(found, key=lambda one: (found[one], one))


def _rests_on(knowledge: Knowledge, rule: Rule) -> Iterator[set[FactOf]]:
    """The facts that the test of *rule* reads, then those that these are worked out from, and so
    on; then those by which it applies, at last those that what sets it aside reads. Each once.
    """
    seen = set[FactOf]()
    exceptions = [
        exception
        for exception in knowledge.order.exceptions.get(rule.id, ())
        # to be referred is not to be mended
        if exception.verb not in ("refers", "lacks")
    ]
    for first in (
        reads_of_line(rule.test, knowledge.words),
        reads_of(rule, knowledge.words),
        *(reads_of(exception, knowledge.words) for exception in exceptions),
    ):
        facts = {(kind, fact) for kind, fact, *_ in first} - seen
        while facts:
            yield facts
            seen |= facts
            givers = (one for fact in facts for one in knowledge.order.givers.get(fact, ()))
            # what is assumed or designed stands in for what a person can change
            worked_out = [one for one in givers if one.verb in ("gives", "reckons")]
            read = [reading for one in worked_out for reading in reads_of(one, knowledge.words)]
            facts = {(kind, fact) for kind, fact, *_ in read} - seen


def _add_rows(out: Entry, table: Table) -> None:
    """Add to an entry what only a table has: keys, columns, rows, and why a choice has none."""
    keys = (
        f"{key}: {how}" + (f" {unit}" if unit else "") for key, (how, unit) in table.keys.items()
    )
    columns = (f"{column}: {unit}" for column, unit in table.values.items())
    out.facts = [("keys", "; ".join(keys)), ("values", "; ".join(columns))]
    for key, reasons in table.no_row.items():
        for why in dict.fromkeys(reasons.values()):
            choices = " | ".join(choice for choice in reasons if reasons[choice] == why)
            out.facts.append(("no row", f"{key} {choices}: {why}"))
    out.keys, out.columns = list(table.keys), list(table.values)
    every = (*table.keys, *table.values)
    for row in table.rows:
        out.rows.append([table.show(each, row[each]) if each in row else "" for each in every])


def plain_entry(kind: str, name: str, d: dict[str, Read]) -> Entry:
    """What an item says of itself, by its text alone; *d* may be a part of one."""
    return Entry(
        kind,
        name,
        str(d.get("about", "")),
        str(d.get("says", "")),
        _lines_by_key(d, LINES_OF[kind]),
        _pairs(d.get("code")),
        [(layer, str(d[layer])) for layer in ("manufacturer", "local", "practice") if layer in d],
        [(part, ", ".join(map(str, as_list(d[part])))) for part in PROSE if d.get(part)],
        True,
        examples=_examples(d),
        proof=_proof(d),
        written=str(d.at) if isinstance(d, Mapping) else "",
    )


def _lines_by_key(d: dict[str, Read], keys: tuple[str, ...]) -> list[tuple[str, str]]:
    """The lines of an item, the first of each key with the key."""
    out: list[tuple[str, str]] = []
    for key in keys:
        if d.get(key) is not None:
            lines = _lines(d[key])
            out += zip([key, *[""] * len(lines)], lines)
    return out


def _pairs(read: Read) -> list[tuple[str, str]]:
    """What is said by edition; nothing where it is not said so."""
    return [(str(a), str(b)) for a, b in read.items()] if isinstance(read, dict) else []


def _examples(d: dict[str, Read]) -> list[tuple[str, str]]:
    """The examples of an item, as far as they have the form of one."""
    read = d.get("examples", [])
    if not isinstance(read, list):
        return []
    return [_example(one) for one in read if isinstance(one, dict)]


def _proof(d: dict[str, Read]) -> list[tuple[str, str]]:
    """By whom an item was copied, and against what it was checked."""
    return [
        (part, "; ".join(f"{a} {b}" for a, b in d[part].items()))
        for part in ("copied", "checked")
        if isinstance(d.get(part), dict)
    ]


def _lines(read: Read) -> list[str]:
    """What stands at one key, line by line."""
    if isinstance(read, dict):
        return [f"{name}: {_on_one_line(value)}" for name, value in read.items()]
    if isinstance(read, list):
        return [line for value in read for line in _lines(value)]
    return [str(read)]


def _on_one_line(read: Read) -> str:
    """What stands at a name, its lines parted by commas."""
    return ", ".join(_lines(read)) if isinstance(read, (list, dict)) else str(read)


def _example(one: dict[str, Read]) -> tuple[str, str]:
    """What an example gives, and what it expects."""
    expected = "; ".join(f"{key}: {_short(value)}" for key, value in one.items() if key != "given")
    return _short(one.get("given", {})) or "nothing", expected


def _short(read: Read) -> str:
    """What was read, on one line."""
    if isinstance(read, dict):
        return ", ".join(f"{name} {_short(value)}" for name, value in read.items())
    if isinstance(read, list):
        return "[" + "; ".join(map(_short, read)) + "]"
    return str(read)


__all__ = ["Entry", "entries", "entry", "plain_entry"]
