"""Rules, tables and values to read: source by edition, reason, exceptions in both directions,
examples.
"""

from __future__ import annotations

import textwrap

from ..engine.basics.errors import Fault
from ..engine.checking.coverage import examples_of
from ..engine.checking.examples import run_example
from ..engine.language.entries import Entry, entry, plain_entry
from .layout import Line

MOST_ROWS = 40  # of a table on a screen


def show_rules(k, hits, exact: bool, words: list[str], width: int = 80) -> list[Line]:
    """One rule whole, or a list of those found."""
    if exact or len(hits) == 1:
        name, kind, d = hits[0]
        one = entry(k, kind, name)
        # of its examples those that are true here, and those of what amends it
        if k.trail.get(name):
            true = (
                [
                    x
                    for n, x in enumerate(examples_of(k, k.rules[name]))
                    if _comes_out(k, name, x, n)
                ]
                if name in k.rules
                else []
            )
            one.examples = list(dict.fromkeys(plain_entry(kind, name, {"examples": true}).examples))
        return show_one(
            one,
            k.edition,
            str(d.get("file", "")),
            width,
            [
                f"{e.cite} ({e.pack.where}{', ' + e.window() if e.window() else ''}):"
                f" {e.done.get('short', e.verb)}"
                for e in k.trail.get(name, ())
            ],
        )
    out: list[Line] = [
        [(f"{len(hits)} found" + (f' for "{" ".join(words)}"' if words else ""), "headline")]
    ]
    for name, kind, d in hits:
        text = f"{name}: {d.get('says', d.get('is', ''))}"
        out += [
            [(("- " if i == 0 else "  ") + line, "")]
            for i, line in enumerate(textwrap.wrap(text, width - 2, break_on_hyphens=False))
        ]
    return out


def _comes_out(k, name: str, example, number: int) -> bool:
    """Whether an example is true of the rule as it is in force."""
    try:
        return run_example(
            k, k.rules[name], {key: v for key, v in example.items() if key != "rule"}, number
        ).ok
    except Fault:
        return False


def show_one(e: Entry, edition: str, file: str, width: int, amended: list[str] = ()) -> list[Line]:
    """A rule, table or value with everything that is known of it."""
    out: list[Line] = [
        [(f"{e.name} ({e.kind}" + (f" about {e.about}" if e.about else "") + ")", "headline")]
    ]

    def put(label: str, text: str) -> None:
        body = textwrap.wrap(text, width - 12, break_on_hyphens=False) or [""]
        out.extend(
            [(f"{label if i == 0 else '':<12}", "label"), (line, "")] for i, line in enumerate(body)
        )

    put("says", e.says)
    for label, text in (*e.lines, *e.facts):
        put(label, text)
    for row in e.rows[:MOST_ROWS]:
        put(
            "", ", ".join(row[: len(e.keys)]) + ": " + ", ".join(c for c in row[len(e.keys) :] if c)
        )
    if len(e.rows) > MOST_ROWS:
        put("", f"... {len(e.rows) - MOST_ROWS} more rows in {file}")
    for label, text in e.proof:
        put(label, text)
    if e.sections:
        put("code", "; ".join(f"from {edition}: {section}" for edition, section in e.sections))
    for label, text in e.sources:
        put(label, text)
    for i, text in enumerate(amended):
        put("amended by" if i == 0 else "", text)
    if not e.in_force:
        put("in force", f"not in {edition}")
    for label, text in e.prose:
        put(label, text)
    for t in e.sets_aside:
        put("sets aside", t)
    for by, said in e.set_aside:
        put("set aside", f"by {by}: {said}")
    for i, (given, then) in enumerate(e.examples):
        put("examples" if i == 0 else "", f"{given} → {then}")
    put("written", e.written)
    return out


def rules_as_dict(k, hits) -> dict:
    """The hits as plain data."""

    def data(v):
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
