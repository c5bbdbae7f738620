"""What the proof check stands on: what is in force, what the job tells, and what nodes claim.

Rules are taken as written, tables as rows, words as they are declared; nothing here asks any of
them to work something out.
"""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction as F
from typing import Any, NamedTuple, TypeAlias

from ..basics.units import to_base
from ..language.lines import parse_line
from ..language.words import as_list
from .proof_values import NONE, NOTHING, Amount, Knowledge, Many, Row, Table, Type, Value, inf

FILLING = ("gives", "reckons", "assumes", "designs")
LAYERS = {"code": "law", "manufacturer": "maker", "local": "local", "practice": "practice"}

Item: TypeAlias = Any  # a rule, value or table as written: a mapping that knows its place
Word: TypeAlias = Any  # a fact as the words declare it
Data: TypeAlias = dict[str, Any]  # what a node says beside its text and value
Line: TypeAlias = tuple[Any, ...]  # a line, or a piece of one, as the grammar reads it
Leads: TypeAlias = tuple[str, list[Word]]  # a thing or tried row, and the links from it to a fact


class Pick(NamedTuple):
    """A rule that tries the rows of a table."""

    fact: str
    table: Table
    keys: Any  # (key, line) of each
    tests: list[str]
    rows: dict[str, Any]  # what each row that is tried is called -> what it is
    number: bool  # are the rows amounts?

    def value(self, row: Any) -> Value:
        """What a row is worth."""
        return (row, row) if self.number else row


# ---- what the nodes are called. The makers of graphs have names of their own for this: where one
# ---- of the two changes, every graph is refused


def fact_node(thing: str, fact: str) -> str:
    return f"fact:{thing}/{fact}"


def rule_node(rule: str, thing: str) -> str:
    return f"rule:{rule}@{thing}"


def step_node(rule: str, thing: str, at: str, member: str | None) -> str:
    return f"step:{rule}@{thing}#{at}" + (f"[{member}]" if member else "")


def cell_node(table: str, row: str, column: str) -> str:
    return f"cell:{table}[{row}]/{column}"


def pick_node(pick: str, thing: str) -> str:
    return f"pick:{pick}@{thing}"


def row_node(pick: str, tried: str) -> str:
    return f"row:{tried}?{pick}"


def taken_apart(node: str) -> list[str]:
    """The rule and the thing of the node of an answer or a pick."""
    return node[5:].split("@", 1)


def thing_of(x: str) -> str:
    """The thing that a tried row `circuits.kiln.conductors@6 AWG` stands for."""
    return x.partition("@")[0]


def row_of(x: str) -> str:
    """The row that is tried; nothing for a thing."""
    return x.partition("@")[2]


# ---- sources


def section_of(item: Item, edition: str, case: str | None = None) -> str | None:
    """The section of an item in an edition; None where it is not in force. What a pack amended
    cites the pack first.

    Where sections differ by a fact, the one of its *case*; all of them where that is not known.
    """
    through = getattr(item, "through", "")
    if hasattr(item, "edition"):
        edition = item.edition
    section: str | None = str(next((item[key] for key in LAYERS if key in item), ""))
    if isinstance(item.get("code"), dict):
        section = section_by_edition(item["code"], edition)
    if "code by" in item and section and ": " in section:
        cases = sections_by_case(section)
        section = cases.get(case) or ", ".join(dict.fromkeys(cases.values()))
    return f"{through}, amending {section}" if section and through else section


def section_by_edition(code: dict[str, str], edition: str) -> str | None:
    """The section in the last edition that says one; None before the first, or where it is gone."""
    last = max((e for e in code if e <= edition), default=None)
    return None if last is None or code[last] == "gone" else str(code[last])


def sections_by_case(section: str) -> dict[str | None, str]:
    """The section of each case of `NM-B: 334.30; UF-B | TC: 340.10(4)`."""
    cases: dict[str | None, str] = {}
    for part in section.split("; "):
        names, _, one = part.partition(": ")
        cases.update(dict.fromkeys(names.split(" | "), one))
    return cases


def layer_of(item: Item) -> str:
    """Who says so; a law that a pack amended is the place's own."""
    through = getattr(item, "through", "")
    if "code" in item and through:
        return "local"
    return next((said for key, said in LAYERS.items() if key in item), "practice")


class Grounds:
    """What is in force, and the job and the graph that are being checked."""

    # of the graph that is being checked (`Proof.check`)
    things: dict[str, Any]  # thing -> what was told of it
    nodes: dict[str, Any]  # as the graph has them
    faults: list[str]
    memo: dict[str, Any]  # node -> what it was found to be worth
    want: set[tuple[str, str, str]]  # the edges that it must have

    def __init__(self, k: Knowledge) -> None:
        self.k = k
        self.rules: dict[str, Item] = {i: rule.d for i, rule in k.rules.items()}
        self.rows: dict[str, list[Row]] = {i: exact_rows(table) for i, table in k.tables.items()}
        self.columns: dict[tuple[str, str], Type] = {
            (i, column): column_type(table, column)
            for i, table in k.tables.items()
            for column in (*table.keys, *table.values)
        }
        # (kind, fact) -> the rules that give it
        self.givers: dict[tuple[str, str], dict[str, Item]] = defaultdict(dict)
        self.exceptions: dict[str, list[str]] = defaultdict(list)
        self.picks: dict[str, Pick] = {}  # by the rule, and by the kind of thing
        for i, item in self.rules.items():
            for fact in facts_filled(item):
                self.givers[item["about"], fact][i] = item
            for target in as_list(item.get("exception to")):
                self.exceptions[target].append(i)
            if "tries" in item:
                self.picks[i] = self.picks[item["about"]] = self.pick_of(item)

    def pick_of(self, item: Item) -> Pick:
        """The rows that a rule tries, and the rules that test them."""
        ((fact, line),) = item["tries"].items()
        _, _, name, keys, _ = parse_line("x " + line, "sum")
        table = self.k.tables[name]
        left, also = as_list(item.get("leaving out")), as_list(item.get("also"))
        tests = [
            i
            for i, test in self.rules.items()
            if test["about"] == item["about"]
            and (i in also or (i not in left and ("must" in test or "must not" in test)))
        ]
        rows = {table.show(fact, row[fact]): row[fact] for row in self.rows[name]}
        return Pick(fact, table, keys, tests, rows, bool(table.unit(fact)))

    def must(self, node: str, so: bool, what: str) -> None:
        """Note *what* against a node where it is not *so*."""
        if not so:
            self.faults.append(f"{node}: {what}")

    def source(self, item: Item, at: Any, doubt: bool = False, case: str | None = None) -> Data:
        """What a node says of where it comes from."""
        said = {
            "section": section_of(item, self.k.edition, case) or "",
            "edition": self.k.edition,
            "at": str(at),
        }
        return said | ({"doubt": str(item["doubt"])} if doubt and item.get("doubt") else {})

    # ---- facts of things, and of rows of them that are tried
    def word(self, x: str, name: str) -> Word:
        """A fact of a thing or a tried row, as it is declared."""
        return self.k.words.kinds[self.things[thing_of(x)].kind].words[name]

    def settled(self, word: Word) -> bool:
        """Is it a fact that rules give to whatever has it, a tried row too?"""
        givers = self.givers.get((word.kind, word.name), {})
        return bool(givers) and not any("tries" in d or "designs" in d for d in givers.values())

    def bearer(self, x: str, word: Word) -> str:
        """The thing or tried row whose fact it is: a row has what is tried, what comes with that,
        and what rules give it.
        """
        if not row_of(x):
            return thing_of(x)
        tried = self.picks[word.kind].fact in (word.name, word.comes_with)
        return x if tried or self.settled(word) else thing_of(x)

    def has_parts(self, kind: str, of: str) -> bool:
        """Is a thing of one kind a part of those of another?"""
        words = self.k.words.kinds[kind].words.values()
        return any(part.part and part.type[1] == of for part in words)

    def told(self, x: str, word: Word) -> Value:
        """What the job tells of a thing, or None: of another thing its name, of a number a range of
        one.
        """
        meta = self.things[thing_of(x)]
        if row_of(x) and self.is_of_other_row(x, word):
            return None
        v = meta.told.get(word.name)
        if v is None:
            return self.untold(meta, word)
        if isinstance(v, list):
            return as_many(v) if word.type[0] == "many" else v[0].id
        if isinstance(v, (str, bool)):
            return v
        return (F(v), F(v)) if word.type[0] == "q" else NONE

    def is_of_other_row(self, x: str, word: Word) -> bool:
        """Does a fact come with what is tried, and another row is told than the one tried?"""
        # a graph may say that a row is tried where nothing is: then it cannot be read
        pick: Any = self.picks.get(word.kind)
        told = self.things[thing_of(x)].told
        if word.comes_with != pick.fact:
            return False
        return pick.fact not in told or pick.table.show(pick.fact, told[pick.fact]) != row_of(x)

    def untold(self, meta: Any, word: Word) -> Value:
        """What is not told is not known; but a part of one whole has no other."""
        link = meta.whole and word.type[0] == "ref" and not word.part
        whole = link and word.name in self.k.words.kinds and self.has_parts(word.name, word.kind)
        return NONE if whole else None

    def read(self, up: str, leads: Leads, role: str) -> Value:
        """A fact by the links that lead to it; None where one of them is not known."""
        x, words = leads
        *links, fact = words
        for link in links:
            v = self.told(thing_of(x), link)
            if v in (None, NONE) or not self.shows_in_name(link):
                self.want.add((up, fact_node(self.bearer(x, link), link.name), "through"))
            if v in (None, NONE):
                return None if v is None else NOTHING
            x = v
        node = fact_node(self.bearer(x, fact), fact.name)
        v = self.told(thing_of(x), fact) if fact.type[0] == "many" else self.claimed(node, fact)
        self.want.add((up, node, role))
        return v

    def shows_in_name(self, link: Word) -> bool:
        """Does a link lead to a part, to the job or to a whole, which shows in a thing's name?"""
        return link.part or link.name == "job" or self.has_parts(link.type[1], link.kind)

    def claimed(self, node: str, word: Word) -> Value:
        """The value a fact node claims."""
        n = self.nodes[node]
        value = n["value"]
        if value in ("unknown", "none"):
            return None if value == "unknown" else NONE
        if word.type[0] == "q":
            return claimed_amount(value, n["unit"])
        return value == "yes" if word.type[0] == "flag" else value


def claimed_amount(value: str, unit: str) -> Amount:
    """The amount that a node writes as `3`, `3..5`, `3..` or `..5`."""
    low, dots, high = value.partition("..")
    high = high if dots else low
    return (
        F(to_base(F(low), unit)) if low else -inf,
        F(to_base(F(high), unit)) if high else inf,
    )


def as_many(told: Any) -> Many:
    """The things of a list that the job tells."""
    # past the guard of a list that may hold more
    return Many(tuple(thing[0].id for thing in list.__iter__(told)), told.open)


def exact_rows(table: Table) -> list[Row]:
    """The rows of a table, with their numbers as fractions."""
    return [
        {column: F(v) if table.unit(column) else v for column, v in row.items()}
        for row in table.rows
    ]


def column_type(table: Table, column: str) -> Type:
    """The type of a column; one in which all is yes or no holds answers, not words."""
    t: Type = table.type_of(column)
    answers = {row[column] for row in table.rows} <= {"yes", "no"}
    return ("flag",) if column in table.values and t == ("word",) and answers else t


def facts_filled(item: Item) -> list[str]:
    """The facts that a rule fills."""
    filled = [fact for verb in FILLING for fact in item.get(verb, ())]
    return filled + ([item["picks"]] if "tries" in item else [])
