"""Examples to paste for an edit of a table: a rule that looks it up, asked at the row that changed
and at one beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from ..basics.errors import Fault
from ..checking.examples import run_example, show
from ..checking.variations import flow
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import Rule
from ..language.tables import Row

UNKNOWN = "unknown"


class _Asked(NamedTuple):
    """A rule that gives a fact from a table, and the facts by which it looks there."""

    rule: Rule
    fact: str
    keys: tuple[tuple[str, ex.Path], ...]


def examples_of(table: str, within: Knowledge, bare: Knowledge) -> tuple[str, str]:
    """An example that comes out otherwise because of the edit, and one that does not; "" where
    none was found.
    """
    turned = alone = ""
    for asked in _askers(table, within):
        if asked.rule.id not in bare.rules:
            continue
        for row in _rows(table, within, bare):
            for given in _given(asked, row):
                got, was = (_gives(k, asked, given) for k in (within, bare))
                if UNKNOWN in (got, was):
                    continue
                if got != was:
                    turned = turned or _pasted(asked, given, got)
                else:
                    alone = alone or _pasted(asked, given, got)
                if turned and alone:
                    return turned, alone
    return turned, alone


def _askers(table: str, k: Knowledge) -> Iterator[_Asked]:
    for rule in k.rules.values():
        for fill in rule.fills if table in rule.reads_tables else ():
            for piece in ex.walk(fill.expr):
                if isinstance(piece, ex.Look) and piece.table.id == table:
                    keys = tuple((n, e) for n, e in piece.keys if isinstance(e, ex.Path))
                    if len(keys) == len(piece.keys) and keys:
                        yield _Asked(rule, fill.word.name, keys)


def _rows(table: str, within: Knowledge, bare: Knowledge) -> list[Row]:
    """The rows that are otherwise, and then the rest."""
    here, there = within.tables[table].rows, bare.tables[table].rows
    changed = [row for row in here if row not in there] + [row for row in there if row not in here]
    return changed + [row for row in here if row in there]


def _given(asked: _Asked, row: Row) -> Iterator[dict[str, Any]]:
    """The facts by which the rule comes to a row: alone, and beside those of its own examples."""
    at = {path.said: show(row[key], path.unit) for key, path in asked.keys}
    yield at
    for example in list(asked.rule.d.get("examples") or [])[:4]:
        if isinstance(example, dict) and isinstance(example.get("given"), dict):
            yield {**example["given"], **at}


def _gives(k: Knowledge, asked: _Asked, given: dict[str, Any]) -> str:
    """What the rule gives there, as an example has it."""
    example = {"given": given, "gives": {asked.fact: UNKNOWN}}
    try:
        outcome = run_example(k, k.rules[asked.rule.id], example, 1)
    except Fault:
        return UNKNOWN
    return UNKNOWN if outcome.ok else outcome.got.partition(": ")[2]


def _pasted(asked: _Asked, given: dict[str, Any], gives: str) -> str:
    return "- " + flow({"rule": asked.rule.id, "given": given, "gives": {asked.fact: gives}})


__all__ = ["examples_of"]
