"""A rule, a table or a value as a person reads it: its parts as plain text, for a terminal and for
the book alike.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ..basics.reading import Mapping
from .knowledge import Knowledge
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
PROSE = ("because", "limits", "doubt", "notes")


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
    # what is given, and what is expected
    examples: list[tuple[str, str]] = field(default_factory=list)
    facts: list[tuple[str, str]] = field(default_factory=list)  # keys and columns of a table
    keys: list[str] = field(default_factory=list)
    columns: list[str] = field(default_factory=list)
    rows: list[list[str]] = field(default_factory=list)  # a cell for each key, then for each column
    # who copied a table, what it was checked against
    proof: list[tuple[str, str]] = field(default_factory=list)
    written: str = ""


def entries(k: Knowledge) -> dict[tuple[str, str], Mapping]:
    """Everything that has an entry, by kind and name: rules of any edition, tables, values."""
    return {
        **{("rule", i): r.d for i, r in {**k.rules, **k.absent}.items()},
        **{("table", i): t.d for i, t in k.tables.items()},
        **{("value", i): d for i, d in k.value_items.items()},
    }


def entry(k: Knowledge, kind: str, name: str) -> Entry:
    """The entry of one rule, table or value."""
    r = (k.rules.get(name) or k.absent.get(name)) if kind == "rule" else None
    d = (
        r.d
        if r
        else (
            k.gone[name]
            if kind == "rule"
            else k.tables[name].d
            if kind == "table"
            else k.value_items[name]
        )
    )
    out = plain_entry(kind, name, d)
    if kind == "rule":
        out.in_force = name in k.rules
        out.sets_aside = [str(t) for t in (r.exception_to if r else as_list(d.get("exception to")))]
        out.set_aside = [(e.id, e.said) for e in k.order.exceptions.get(name, ())]
        out.tables, out.values = (
            sorted(r.reads_tables if r else ()),
            sorted(r.reads_values if r else ()),
        )
    else:
        out.read_by = sorted(
            i
            for i, o in {**k.rules, **k.absent}.items()
            if name in (o.reads_tables if kind == "table" else o.reads_values)
        )
    if kind == "table":
        t = k.tables[name]
        out.facts = [
            (
                "keys",
                "; ".join(
                    f"{key}: {how}" + (f" {unit}" if unit else "")
                    for key, (how, unit) in t.keys.items()
                ),
            ),
            ("values", "; ".join(f"{c}: {u}" for c, u in t.values.items())),
        ]
        out.facts += [
            ("no row", f"{key} {' | '.join(c for c in of if of[c] == why)}: {why}")
            for key, of in t.no_row.items()
            for why in dict.fromkeys(of.values())
        ]
        out.keys, out.columns = list(t.keys), list(t.values)
        out.rows = [
            [t.show(c, row[c]) if c in row else "" for c in (*t.keys, *t.values)] for row in t.rows
        ]
    return out


def plain_entry(kind: str, name: str, d: Mapping) -> Entry:
    """What an item says of itself, by its text alone."""
    lines: list[tuple[str, str]] = []
    for key in LINES if kind == "rule" else ("is",) if kind == "value" else ():
        lines += [
            (key if i == 0 else "", line)
            for i, line in enumerate(_lines(d[key]) if d.get(key) is not None else ())
        ]
    code = d.get("code")
    return Entry(
        kind,
        name,
        str(d.get("about", "")),
        str(d.get("says", "")),
        lines,
        [(str(e), str(s)) for e, s in code.items()] if isinstance(code, dict) else [],
        [(layer, str(d[layer])) for layer in ("manufacturer", "local", "practice") if layer in d],
        [(p, str(d[p])) for p in PROSE if d.get(p)],
        True,
        examples=(
            [_example(e) for e in d.get("examples", []) if isinstance(e, dict)]
            if isinstance(d.get("examples", []), list)
            else []
        ),
        proof=[
            (f, "; ".join(f"{a} {b}" for a, b in d[f].items()))
            for f in ("copied", "checked")
            if isinstance(d.get(f), dict)
        ],
        written=str(getattr(d, "at", "")),
    )


def _lines(v) -> list[str]:
    if isinstance(v, dict):
        return [
            f"{a}: {b if not isinstance(b, (list, dict)) else ', '.join(_lines(b))}"
            for a, b in v.items()
        ]
    if isinstance(v, list):
        return [line for x in v for line in _lines(x)]
    return [str(v)]


def _example(e: Mapping) -> tuple[str, str]:
    def text(v) -> str:
        if isinstance(v, dict):
            return ", ".join(f"{a} {text(b)}" for a, b in v.items())
        if isinstance(v, list):
            return "[" + "; ".join(text(x) for x in v) + "]"
        return str(v)

    return text(e.get("given", {})) or "nothing", "; ".join(
        f"{k}: {text(v)}" for k, v in e.items() if k != "given"
    )


__all__ = ["Entry", "entries", "entry", "plain_entry"]
