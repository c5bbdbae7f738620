"""Choices that rules do not reach: by which they look up a table that has no row for them, or that
they leave out where they list choices by hand. A new choice of a word reaches every table and list.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from ..basics.errors import Collector, suggest
from ..basics.reading import place_of
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.tables import Table
from ..language.words import Word, a_noun
from ..law.meanings import listed
from .clashes import leaves


class Gap(NamedTuple):
    """Choices of *word* for which a table has no row by *key*, though *rule* looks them up."""

    table: Table
    key: str
    word: Word
    choices: list[str]
    rule: str


def gaps(k: Knowledge) -> Iterator[Gap]:
    """Every choice without a row that the conditions of the rule leave it to look up."""
    for rule, e, key, by in looked_up(k):
        there = {row[key] for row in e.table.rows}
        r = k.rules[rule]
        if gap := [c for c in by.t[1] if c not in there and (by.member or leaves(r, by, c))]:
            word = k.words.kinds[by.kinds[-1]].words[by.names[-1]]
            yield Gap(e.table, key, word, gap, rule)


def looked_up(k: Knowledge) -> Iterator[tuple[str, ex.Look, str, ex.Path]]:
    """(rule, look-up, key, the fact it is) of every look-up by a fact that is one of several
    choices.
    """
    for r in k.rules.values():
        for e in (e for top in r.exprs() for e in ex.walk(top) if isinstance(e, ex.Look)):
            for key, by in e.keys:
                if isinstance(by, ex.Path) and by.t[0] == "choice" and by.names:
                    yield r.id, e, key, by


def note_gaps(k: Knowledge, faults: Collector) -> None:
    """Tell of each table which choices have no row and no reason for it, and which reasons hold no
    longer.

    A choice that a pack adds is left to `check` of that pack: the base need not know it.
    """
    _note_lacking(k, faults)
    _note_excused(k, faults)


def _note_lacking(k: Knowledge, faults: Collector) -> None:
    """Tell of each table which choices have no row and no reason for it."""
    lacking: dict[tuple[str, str], tuple[list[str], list[str]]] = {}
    for gap in gaps(k):
        excused = gap.table.no_row.get(gap.key, {})
        left = [c for c in gap.choices if c not in excused and c not in gap.word.choices_at]
        choices, rules = lacking.setdefault((gap.table.id, gap.key), ([], []))
        choices += [c for c in left if c not in choices]
        rules += [gap.rule] if left and gap.rule not in rules else []
    for (table, key), (choices, rules) in lacking.items():
        if choices:
            faults.add(
                "choice-without-row",
                k.tables[table].at,
                f"table {table} has no row for the {key} {listed(choices)}, "
                f"and {listed(rules)} {'looks' if len(rules) == 1 else 'look'} it up there",
                f'add the rows, or say why there are none: no row: {{{key}: "{choices[0]}: why"}}',
            )


def _note_excused(k: Knowledge, faults: Collector) -> None:
    """Tell of each table which reasons for a lacking row hold no longer."""
    known: dict[tuple[str, str], set[str]] = {}
    for _, e, key, by in looked_up(k):
        known.setdefault((e.table.id, key), set()).update(by.t[1])
    for t in k.tables.values():
        for key, excused in t.no_row.items():
            for c in excused:
                if c not in known.get((t.id, key), ()):
                    faults.add(
                        "choice-without-row",
                        place_of(t.d["no row"], t.at),
                        f'table {t.id}: no rule looks up the {key} "{c}" there',
                        suggest(c, known.get((t.id, key), ())) or "leave it out",
                    )


MANY_LISTS = (
    12  # conditions that list choices of a word by hand: then each choice should be in some
)
SELDOM = 6  # a choice in so many times fewer of them than half of the others is told of


def unlisted(k: Knowledge) -> list[str]:
    """A sentence for each choice that hardly any rule lists, where rules list the choices of its
    word by hand again and again: whoever added it has not been through the lists.
    """
    lists: dict[tuple[str, str], dict[str, set[str]]] = {}
    for rule in (*k.rules.values(), *k.absent.values()):
        for e in (e for top in rule.exprs() for e in ex.walk(top) if isinstance(e, ex.Is)):
            if isinstance(e.a, ex.Path) and e.a.t[0] == "choice" and e.a.names:
                by_rule = lists.setdefault((e.a.kinds[-1], e.a.names[-1]), {})
                by_rule.setdefault(rule.id, set()).update(e.words)
    out: list[str] = []
    for (kind, fact), by_rule in sorted(lists.items()):
        by_hand = {rule: said for rule, said in by_rule.items() if len(said) > 1}
        if len(by_hand) < MANY_LISTS:
            continue
        choices = k.words.kinds[kind].words[fact].type[1]
        times = {choice: sum(choice in said for said in by_rule.values()) for choice in choices}
        for choice, count in times.items():
            others = sorted(number for other, number in times.items() if other != choice)
            half = others[len(others) // 2]
            if count * SELDOM < half:
                out.append(
                    f'"{choice}", a {fact} of {a_noun(kind)}, is named in {count} of'
                    f" {len(by_rule)} rules that name a {fact}, and half of the others in {half}:"
                    f" see {listed(sorted(by_hand), 9)}, and put it where it belongs."
                )
    return out
