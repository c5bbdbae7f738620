"""Rules, tables and values to read: source by edition, reason, exceptions in both directions,
examples.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any, TypeAlias

from ..engine.front import (
    Fault,
    Knowledge,
    Mapping,
    RuleEntry,
    entry,
    examples_of,
    plain_entry,
    run_example,
)
from .layout import Line

# what was found: its name, what it is (rule, table, value), and as it is written
Hit: TypeAlias = tuple[str, str, Mapping]

MOST_MENDS = 8  # of what may mend a failing
MOST_ROWS = 40  # of a table on a screen


def show_rules(
    k: Knowledge, hits: list[Hit], exact: bool, words: list[str], width: int = 80
) -> list[Line]:
    """One rule whole, or a list of those found."""
    if exact or len(hits) == 1:
        return _whole(k, hits[0], width)
    sought = f' for "{" ".join(words)}"' if words else ""
    out: list[Line] = [[(f"{len(hits)} found{sought}", "headline")]]
    for name, _, said in hits:
        text = f"{name}: {said.get('says', said.get('is', ''))}"
        out += [
            [(("  " if i else "- ") + line, "")]
            for i, line in enumerate(textwrap.wrap(text, width - 2, break_on_hyphens=False))
        ]
    return out


def _whole(k: Knowledge, hit: Hit, width: int) -> list[Line]:
    """One rule, table or value with the edits of it that are in force."""
    name, kind, said = hit
    one = entry(k, kind, name)
    if k.trail.get(name):
        one.examples = _true_examples(k, name, kind)
    amended = [
        f"{edit.cite} ({edit.pack.where}{', ' + edit.window() if edit.window() else ''}):"
        f" {edit.done.get('short', edit.verb)}"
        for edit in k.trail.get(name, ())
    ]
    return show_one(one, k.edition, str(said.get("file", "")), width, amended)


def _true_examples(k: Knowledge, name: str, kind: str) -> list[tuple[str, str]]:
    """Of the examples of what was amended those that are true here, and those of what amends it."""
    true = []
    if name in k.rules:
        every = enumerate(examples_of(k, k.rules[name]))
        true = [example for number, example in every if _comes_out(k, name, example, number)]
    plain = plain_entry(kind, name, Mapping({"examples": true}))
    return list(dict.fromkeys(plain.examples))


def _comes_out(k: Knowledge, name: str, example: Mapping, number: int) -> bool:
    """Whether an example is true of the rule as it is in force."""
    facts = {key: value for key, value in example.items() if key != "rule"}
    try:
        return run_example(k, k.rules[name], facts, number).ok
    except Fault:
        return False


def show_one(
    e: RuleEntry, edition: str, file: str, width: int, amended: Sequence[str] = ()
) -> list[Line]:
    """A rule, table or value with everything that is known of it."""
    about = f" about {e.about}" if e.about else ""
    out: list[Line] = [[(f"{e.name} ({e.kind}{about})", "headline")]]
    for label, text in _labelled(e, edition, file, amended):
        body = textwrap.wrap(text, width - 12, break_on_hyphens=False) or [""]
        first, *more = body
        out += [[(f"{label:<12}", "label"), (first, "")]]
        out += [[(" " * 12, "label"), (line, "")] for line in more]
    return out


def _labelled(
    e: RuleEntry, edition: str, file: str, amended: Sequence[str]
) -> Iterator[tuple[str, str]]:
    """Each line of an entry with its label: what it says, where that is from, and what it shows.

    A label stands once: what goes on below it has none.
    """
    yield "says", e.says
    yield from (*e.lines, *e.facts)
    for row in e.rows[:MOST_ROWS]:
        cells = ", ".join(filter(None, row[len(e.keys) :]))
        yield "", ", ".join(row[: len(e.keys)]) + ": " + cells
    if len(e.rows) > MOST_ROWS:
        yield "", f"... {len(e.rows) - MOST_ROWS} more rows in {file}"
    yield from e.proof
    if e.sections:
        yield "code", "; ".join(f"from {since}: {section}" for since, section in e.sections)
    yield from e.sources
    yield from _under("amended by", amended)
    if not e.in_force:
        yield "in force", f"not in {edition}"
    yield from e.prose
    for other in e.sets_aside:
        yield "overrides", other
    for by, said in e.set_aside:
        yield "overridden", f"by {by}: {said}"
    yield from _under("mended by", _mends(e))
    yield from _under("examples", [f"{given} → {then}" for given, then in e.examples])
    yield "written", e.written


def _mends(e: RuleEntry) -> list[str]:
    """What may mend a failing, the first few."""
    said = [f"{what} ({facts})" for what, facts in e.mended_by[:MOST_MENDS]]
    more = len(e.mended_by) - MOST_MENDS
    return [*said, f"... {more} more"] if more > 0 else said


def _under(label: str, texts: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Several texts under one label."""
    for i, text in enumerate(texts):
        yield "" if i else label, text


def rules_as_dict(k: Knowledge, hits: list[Hit]) -> dict[str, Any]:
    """The hits as plain data."""

    def data(v: Any) -> Any:
        if isinstance(v, dict):
            return {str(a): data(b) for a, b in v.items()}
        return [data(x) for x in v] if isinstance(v, list) else str(v)

    return {
        "edition": k.edition,
        "digest": k.digest,
        "found": [
            {
                "name": n,
                "kind": kind,
                "at": str(d.at),
                "section": k.section(n),
                **data({a: b for a, b in d.items() if a not in ("rule", "table", "value")}),
                "set aside by": [e.id for e in k.order.exceptions.get(n, ())],
            }
            for n, kind, d in hits
        ],
    }
