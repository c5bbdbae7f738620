"""The packs there are, those in force for a job, and the chain of packs behind a rule, a value or a
cell of a table.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from ..answering.amended import as_plain
from ..basics.errors import Collector, Fault, Faults, Place, suggest
from ..basics.reading import Mapping, decode, read_bytes, read_yaml
from ..basics.units import parse_quantity, show_number
from ..language.knowledge import Material, _value
from ..language.rules import FILLING, JUDGING, LAYERS, section_of
from ..language.tables import Table
from ..language.words import as_list
from ..law.edits import VERBS, Edit, day_before
from ..law.library import Library, Pack, pack_files, shown_name
from ..law.places import InForce, chain_of, known_packs

LINES = (
    "when",
    *JUDGING,
    *FILLING,
    "tries",
    "picks",
    "refers",
    "warns",
    "lacks",
    "exception to",
    "steps",
)


def shelf() -> list[dict]:
    """Every pack on the shelf as plain data, in the order they would apply. Raises Faults for a
    head that is faulty.
    """
    return [
        _head(p) | {"edits": _edits_in(p)}
        for p in sorted(known_packs().values(), key=lambda p: (p.rank, p.name))
    ]


def _head(p: Pack) -> dict:
    return {
        "pack": p.name,
        "title": p.title,
        "place": p.place,
        "also": [str(n) for n in as_list(p.head.get("also"))],
        "layer": p.layer,
        "within": str(p.head.get("within", "")),
        "authority": str(p.head.get("authority", "")),
        "cite": str(p.head.get("cite", "")),
        "from": p.start,
        "last day": day_before(p.end),
        "choice": str(p.head.get("choice", "")),
        "adopts": [
            {"edition": w.edition, "from": w.start, "last day": day_before(w.end)} for w in p.adopts
        ],
        "folder": shown_name(p.folder),
    }


def _edits_in(p: Pack) -> int:
    faults, n = Collector(), 0
    for path in pack_files(p.folder):
        name = shown_name(path)
        with faults.catching():
            body = read_yaml(decode(read_bytes(path, name), name), name)
            items = (
                body
                if isinstance(body, list)
                else body.get("edits", [])
                if isinstance(body, dict)
                else []
            )
            n += sum(
                isinstance(d, dict) and any(v in d for v in VERBS)
                for d in (items if isinstance(items, list) else [items])
            )
    faults.stop()
    return n


def in_force_for(force: InForce, named: tuple[str, ...] = ()) -> dict:
    """What is in force for a job and why: the edition, then each pack in the order it applies."""
    library = Library(force.folders, examples=False)
    m = library.material(force.edition, force.date)
    library.faults.stop()
    known = known_packs() if force.place else {}
    home = [p for p in known.values() if force.place.strip().lower() in p.names]
    around = {q.name: p for p in home for q in chain_of(p, known, Collector())[1:]}
    adopting = next((p for p in reversed(force.packs) if p.adopts), None)
    why = {
        "told": "the job says so",
        "asked for": "asked for",
        "place": (
            f"{adopting.where} has it in force for a permit of {force.date}" if adopting else ""
        ),
    }[force.edition_from]
    base = library.packs[0]
    packs = [
        {
            "pack": base.name,
            "title": base.title,
            "why": "everything stands over it",
            "edits in force": 0,
            "edits": 0,
        }
    ]
    for p in force.packs:
        mine = next(x for x in library.packs if x.name == p.name)
        live = [e for e in mine.edits if e.holds_on(force.date)]
        because = (
            f"the job is in {force.place}"
            if p.name in {h.name for h in home}
            else f"{around[p.name].where} lies within it"
            if p.name in around
            else "it is named"
        )
        packs.append(
            _head(p)
            | {
                "why": because,
                "edits": len(mine.edits),
                "edits in force": len(live),
                "first day": min(
                    (e.first_day for e in mine.edits if e.first_day > (force.date or "")),
                    default="",
                ),
            }
        )
    return {
        "edition": force.edition,
        "edition from": force.edition_from,
        "why": why,
        "date": force.date or "",
        "place": force.place,
        "notes": force.notes,
        "packs": packs,
        "amends": sorted(m.trail),
    }


# ---- what is behind one thing --------------------------------------------------------------------


@dataclass
class Behind:
    """A rule, value, table or cell: what the base says of it, then each edit in its order, and what
    it comes to.
    """

    kind: str
    name: str
    says: str
    base: list[tuple[str, str]]  # label and text
    sections: dict[str, str]  # edition -> section, or its source
    pack: str  # that first said it
    edition: str = ""
    date: str = ""
    steps: list[dict] = field(default_factory=list)
    now: list[tuple[str, str]] = field(default_factory=list)
    section: str = ""  # in force; "" where it is not
    withdrawn: bool = False
    beside: list[dict] = field(default_factory=list)  # edits of its exceptions
    other_days: list[dict] = field(default_factory=list)  # edits that are not in force on the day

    def as_dict(self) -> dict:
        return {
            "kind": self.kind,
            "name": self.name,
            "says": self.says,
            "base": {
                "pack": self.pack,
                "sections": self.sections,
                "reads": [{"part": a, "text": b} for a, b in self.base],
            },
            "edition": self.edition,
            "date": self.date,
            "edits": self.steps,
            "withdrawn": self.withdrawn,
            "section": self.section,
            "now": [{"part": a, "text": b} for a, b in self.now],
            "beside": self.beside,
            "other days": self.other_days,
        }


def behind(said: str, force: InForce | None) -> Behind:
    """The chain of packs behind what *said* names, under what is in force; with None, of every pack
    on the shelf.

    A cell is named by its table, its keys and its column: "equipment-grounding rating=60 A
    material=copper size".
    """
    folders = force.folders if force else tuple(p.folder for p in known_packs().values())
    library = Library(folders, examples=False)
    library.faults.stop()
    every = [e for p in library.packs for e in p.edits]
    edition = force.edition if force else "2023"
    faults = Collector()
    bare = library.material(edition, None, without=every, faults=faults)
    m = library.material(edition, force.date, faults=faults) if force else bare
    faults.stop()
    name = (
        said
        if said in {**bare.rules, **bare.values}
        or any(e.verb == "add" and e.target == said for e in every)
        else ""
    )
    name = name or next(
        (
            t
            for t in sorted(bare.tables, key=len, reverse=True)
            if said == t or said.startswith(t + " ")
        ),
        "",
    )
    if not name:
        known = {
            *bare.rules,
            *bare.values,
            *bare.tables,
            *(e.target for e in every if e.verb == "add"),
        }
        raise Faults(
            [
                Fault(
                    "no-such-rule",
                    Place("--behind"),
                    f'no rule, value or table is called "{said}"',
                    suggest(said, known),
                )
            ]
        )
    cell = (
        _cell_named(bare.tables[name], said[len(name) :].strip())
        if name in bare.tables and said != name
        else None
    )
    got = _base(name, bare, library, edition, every)
    if cell:
        got.kind, got.name = "cell", said
        got.base = [("reads", _cell_text(bare.tables[name], *cell))]
        cell = cell[1:]
    mine = [
        e
        for e in _trail(m, name, every, force)
        if not cell or _touches(e, bare.tables[name], *cell)
    ]
    got.steps = [step(e, m) for e in mine]
    if not force:
        return got
    got.edition, got.date, got.withdrawn = force.edition, force.date or "", name in m.withdrawn
    held = {(e.pack.name, e.number) for e in mine}
    d = m.rules.get(name) or m.values.get(name) or (m.tables[name].d if name in m.tables else None)
    got.section = (section_of(d, edition) or "") if d is not None else ""
    if cell:
        bottom = section_of(bare.tables[name].d, edition) or ""
        got.section = " and ".join(e.cite for e in mine) + (", amending " if mine else "") + bottom
        got.now = [("reads", _cell_text(m.tables[name], bare.tables[name], *cell))] if mine else []
    elif d is not None and mine:
        got.now = _reads(d, m.tables.get(name))
    got.beside = [
        step(e, m)
        for i, es in m.trail.items()
        for e in es
        if i != name
        and name
        in [str(t) for t in as_list((m.rules.get(i) or m.gone.get(i) or {}).get("exception to"))]
    ]
    got.other_days = [
        as_plain(e)
        for e in every
        if e.target == name and (e.pack.name, e.number) not in held and not e.holds_on(force.date)
    ]
    return got


def _trail(m: Material, name: str, every: list[Edit], force: InForce | None) -> list[Edit]:
    """The edits of one thing, in their order; those too that move the days of others, and those
    that put another rule in its place.
    """
    if force is None:
        return [e for e in every if e.target == name]
    found = {
        (e.pack.name, e.number): e
        for e in (
            *m.trail.get(name, ()),
            *(
                e
                for es in m.trail.values()
                for e in es
                if name in map(str, as_list(e.d.get("instead of")))
            ),
        )
    }
    return [
        found.get((e.pack.name, e.number), e)
        for e in every
        if (e.pack.name, e.number) in found
        or e.target == name
        and e.d.get("edit of")
        and e.holds_on(force.date)
    ]


def _base(name: str, bare: Material, library: Library, edition: str, every: list[Edit]) -> Behind:
    """What stood first: in the base, or as the pack wrote it that added it."""
    d = (
        bare.rules.get(name)
        or bare.values.get(name)
        or (bare.tables[name].d if name in bare.tables else None)
    )
    kind = "rule" if name in bare.rules else "value" if name in bare.values else "table"
    if d is None:
        e = next(e for e in every if e.verb == "add" and e.target == name)
        return Behind(
            "rule",
            name,
            str(e.d.get("says", "")),
            _reads(e.d, None),
            {"local": e.cite},
            e.pack.title,
        )
    code = d.get("code")
    sections = (
        {str(k): str(v) for k, v in code.items()}
        if isinstance(code, dict)
        else {k: str(d[k]) for k in LAYERS if k in d}
    )
    return Behind(
        kind,
        name,
        str(d.get("says", "")),
        _reads(d, bare.tables.get(name)),
        sections,
        library.pack_of(d if kind != "table" else d).title,
    )


def _reads(d: Mapping, table: Table | None) -> list[tuple[str, str]]:
    """The lines of a rule, the worth of a value, the size of a table."""
    if table is not None:
        return [("table", f"{len(table.rows)} rows, by {' and '.join(table.keys)}")]
    out = []
    for key in ("is", *LINES):
        v = d.get(key)
        if isinstance(v, dict):
            out += [(key, f"{a}: {_line(b)}") for a, b in v.items()]
        elif v is not None:
            out += [(key, _line(x)) for x in as_list(v)]
    return out


def _line(v) -> str:
    if isinstance(v, dict):
        return "; ".join(f"{k}: {_line(x)}" for k, x in v.items())
    return " | ".join(map(_line, v)) if isinstance(v, list) else str(v)


def step(e: Edit, m: Material) -> dict:
    """One edit of the chain: whose, where, why, on which days, and the words that went and came."""
    was, becomes = _words(e, m)
    return as_plain(e) | {
        "authority": str(e.pack.head.get("authority", "")),
        "title": e.pack.title,
        "was": was,
        "becomes": becomes,
    }


def _words(e: Edit, m: Material) -> tuple[str, str]:
    d, done = e.d, e.done
    if e.verb == "amend" and "strike" in d:
        return str(d["strike"]), str(d["insert"])
    if e.verb == "amend" and "force" in d:
        return ("should" if str(d["force"]) == "must" else "must"), str(d["force"])
    if e.verb == "amend":
        return ("", _line(d["insert row"])) if "insert row" in d else (_line(d["strike row"]), "")
    if e.verb == "set" and done.get("before") is not None:
        old, new = (
            _value(v, getattr(v, "edition", m.edition), Collector())
            for v in (done["before"], done["after"])
        )
        return show_number(old[0], old[1][2]), show_number(new[0], new[1][2])
    if e.verb == "alias" and done.get("before") is not None:
        return (
            section_of(done["before"], m.edition) or "",
            section_of(done["after"], m.edition) or "",
        )
    if e.verb == "replace" and done.get("before") is not None:
        return " / ".join(f"{a}: {b}" for a, b in _reads(done["before"], None)), " / ".join(
            f"{a}: {b}" for a, b in _reads(done["after"], None)
        )
    if e.verb == "narrow":
        return "", "only when " + " and ".join(map(_line, as_list(d["only when"])))
    if e.verb == "widen":
        return str(d["drop"]), ""
    if e.verb == "set":
        return "", str(d.get("to", f"as in {d.get('as in', '')}"))
    return "", ""


# ---- cells ---------------------------------------------------------------------------------------


def _cell_named(t: Table, text: str) -> tuple[Table, dict, str]:
    """(table, keys, column) that *text* names: key=value key=value COLUMN. Raises Faults."""
    at = Place("--behind")
    parts = re.split(
        "(" + "|".join(re.escape(k) for k in sorted(t.keys, key=len, reverse=True)) + r")\s*=\s*",
        text.replace(",", " "),
    )
    column = next(
        (
            c
            for c in sorted(t.values, key=len, reverse=True)
            if parts[-1].rstrip() == c or parts[-1].rstrip().endswith(" " + c)
        ),
        next(iter(t.values)) if len(t.values) == 1 else "",
    )
    if parts[-1].rstrip().endswith(column) and column:
        parts[-1] = parts[-1].rstrip().removesuffix(column)
    form = (
        f"write {t.id} "
        + " ".join(f"{k}=..." for k in t.keys)
        + f" and a column: {', '.join(t.values)}"
    )
    if not column or parts[0].strip() or len(parts) < 3:
        raise Faults([Fault("no-such-row", at, f'"{text}" names no cell of {t.id}', form)])
    keys: dict = {}
    for k, v in zip(parts[1::2], parts[2::2]):
        try:
            keys[k] = (
                parse_quantity(v.strip(), t.unit(k), at, bare=True)[0] if t.unit(k) else v.strip()
            )
        except Fault as f:
            raise Faults([f]) from None
    found = [r for r in t.rows if all(r[k] == v for k, v in keys.items())]
    if len(found) != 1:
        rows = "; ".join(
            ", ".join(f"{k}={t.show(k, r[k])}" for k in t.keys) for r in (found or t.rows)[:6]
        )
        raise Faults(
            [
                Fault(
                    "no-such-row" if not found else "stands-twice",
                    at,
                    f'{len(found) or "no"} rows of {t.id} are so: "{text}"',
                    f"{form}; rows here: {rows} ...",
                )
            ]
        )
    return t, {k: found[0][k] for k in t.keys}, column


def _cell_text(now: Table, t: Table, keys: dict, column: str) -> str:
    row = next((r for r in now.rows if all(r[k] == v for k, v in keys.items())), None)
    return now.show(column, row[column]) if row else "there is no such row"


def _touches(e: Edit, t: Table, keys: dict, column: str) -> bool:
    """Whether an edit of a table is about one cell of it."""
    row = next((e.d[k] for k in ("row", "insert row", "strike row") if k in e.d), None)
    if not isinstance(row, dict):
        return True  # about the whole table
    same = all(
        (parse_quantity(str(v), t.unit(str(k)), e.at)[0] if t.unit(str(k)) else str(v))
        == keys[str(k)]
        for k, v in row.items()
        if str(k) in keys
    )
    return same and str(e.d.get("column", column)) == column


__all__ = ["Behind", "behind", "in_force_for", "shelf", "step"]
