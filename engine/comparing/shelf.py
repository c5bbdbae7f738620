"""The packs there are, those in force for a job, and the chain of packs behind a rule, a value or a
cell of a table.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

from ..answering.amended import as_plain
from ..basics.errors import Collector, Fault, Faults, Place, suggest
from ..basics.reading import Mapping, decode, read_bytes, read_yaml
from ..basics.units import Number, parse_quantity
from ..language.knowledge import Material
from ..language.rules import LAYERS, section_of
from ..language.tables import Table
from ..language.words import as_list
from ..law.edits import Edit, day_before
from ..law.library import Library, Pack, pack_files, shown_name
from ..law.meanings import reads
from ..law.places import InForce, chain_of, known_packs
from ..law.verbs.registry import VERBS, verb_of
from .between import edit_key

# What is asked for comes from the command line, and has no other place.
ASKED = Place("--behind")
ROWS_SHOWN = 6


def shelf() -> list[dict]:
    """Every pack on the shelf as plain data, in the order they would apply.

    Raises:
        Faults: a head, or a file of edits, is faulty.
    """
    packs = sorted(known_packs().values(), key=lambda p: (p.rank, p.name))
    return [_head(pack) | {"edits": _edits_in(pack)} for pack in packs]


def _head(pack: Pack) -> dict:
    return {
        "pack": pack.name,
        "title": pack.title,
        "place": pack.place,
        "also": [str(n) for n in as_list(pack.head.get("also"))],
        "layer": pack.layer,
        "within": str(pack.head.get("within", "")),
        "authority": str(pack.head.get("authority", "")),
        "cite": str(pack.head.get("cite", "")),
        "from": pack.start,
        "last day": day_before(pack.end),
        "choice": str(pack.head.get("choice", "")),
        "adopts": [
            {"edition": w.edition, "from": w.start, "last day": day_before(w.end)}
            for w in pack.adopts
        ],
        "folder": shown_name(pack.folder),
    }


def _edits_in(pack: Pack) -> int:
    """How many edits the files of a pack hold."""
    faults, count = Collector(), 0
    for path in pack_files(pack.folder):
        with faults.catching():
            count += sum(_is_edit(item) for item in _items_in(path))
    faults.stop()
    return count


def _items_in(path: Path) -> list:
    """What a file of a pack lists: by itself, or under the head of the pack."""
    name = shown_name(path)
    body = read_yaml(decode(read_bytes(path, name), name), name)
    if isinstance(body, dict):
        body = body.get("edits", [])
    elif not isinstance(body, list):
        return []
    return body if isinstance(body, list) else [body]


def _is_edit(item: object) -> bool:
    return isinstance(item, dict) and any(verb in item for verb in VERBS)


def in_force_for(force: InForce, named: tuple[str, ...] = ()) -> dict:
    """What is in force for a job and why: the edition, then each pack in the order it applies.

    Raises:
        Faults: a pack is faulty.
    """
    library = Library(force.folders, examples=False)
    material = library.material(force.edition, force.date)
    library.faults.stop()
    base = library.packs[0]
    lowest = {
        "pack": base.name,
        "title": base.title,
        "why": "everything stands over it",
        "edits in force": 0,
        "edits": 0,
    }
    because = _why_in_force(force)
    return {
        "edition": force.edition,
        "edition from": force.edition_from,
        "why": _why_this_edition(force),
        "date": force.date or "",
        "place": force.place,
        "notes": force.notes,
        "packs": [lowest]
        + [
            _head(pack) | {"why": because[pack.name]} | _counted(pack, library, force.date)
            for pack in force.packs
        ],
        "amends": sorted(material.trail),
    }


def _why_this_edition(force: InForce) -> str:
    if force.edition_from == "place":
        adopting = next((p for p in reversed(force.packs) if p.adopts), None)
        if adopting is None:
            return ""
        return f"{adopting.where} has it in force for a permit of {force.date}"
    return {"told": "the job says so", "asked for": "asked for"}[force.edition_from]


def _why_in_force(force: InForce) -> dict[str, str]:
    """The name of each pack that is in force -> why it is: for the place, around it, or named."""
    known: dict[str, Pack] = known_packs() if force.place else {}
    home = [p for p in known.values() if force.place.strip().lower() in p.names]
    around = {q.name: p for p in home for q in chain_of(p, known, Collector())[1:]}
    out = {pack.name: "it is named" for pack in force.packs}
    out |= {name: f"{inner.where} lies within it" for name, inner in around.items()}
    return out | {pack.name: f"the job is in {force.place}" for pack in home}


def _counted(pack: Pack, library: Library, date: str | None) -> dict:
    """How many edits a pack has, how many hold on the day, and when the next one begins."""
    edits = next(p for p in library.packs if p.name == pack.name).edits
    coming = (e.first_day for e in edits if e.first_day > (date or ""))
    return {
        "edits": len(edits),
        "edits in force": sum(e.holds_on(date) for e in edits),
        "first day": min(coming, default=""),
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
        """The chain as plain data."""
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


class Cell(NamedTuple):
    """One cell of a table: the row by its keys, and the column."""

    keys: dict[str, Any]
    column: str


def behind(said: str, force: InForce | None) -> Behind:
    """The chain of packs behind what *said* names, under what is in force; with None, of every pack
    on the shelf.

    A cell is named by its table, its keys and its column: "equipment-grounding rating=60 A
    material=copper size".

    Raises:
        Faults: a pack is faulty, or nothing has that name.
    """
    stock = _Stock(force)
    name = stock.named(said)
    cell = None
    if name in stock.bare.tables and said != name:
        cell = _cell_named(stock.bare.tables[name], said[len(name) :].strip())
    got = stock.base(name)
    edits = stock.trail(name)
    if cell:
        table = stock.bare.tables[name]
        got.kind, got.name = "cell", said
        got.base = [("reads", _cell_text(table, table, cell))]
        edits = [e for e in edits if _touches(e, table, cell)]
    got.steps = [step(e, stock.material) for e in edits]
    if force is not None:
        stock.under(force, got, name, edits, cell)
    return got


class _Stock:
    """Every pack that may stand behind something: what lies below their edits, and what these make
    of it.
    """

    def __init__(self, force: InForce | None) -> None:
        folders = force.folders if force else tuple(p.folder for p in known_packs().values())
        self.force = force
        self.library = Library(folders, examples=False)
        self.library.faults.stop()
        self.edits = [e for p in self.library.packs for e in p.edits]
        self.edition = force.edition if force else "2023"
        faults = Collector()
        self.bare = self.library.material(self.edition, None, without=self.edits, faults=faults)
        self.material = self.bare
        if force:
            self.material = self.library.material(self.edition, force.date, faults=faults)
        faults.stop()

    def named(self, said: str) -> str:
        """The rule, value or table that *said* names, or whose cell it names.

        Raises:
            Faults: there is none of that name.
        """
        added = {e.target for e in self.edits if verb_of(e).makes_anew}
        if said in self.bare.rules or said in self.bare.values or said in added:
            return said
        # the longest name first: that of one table may begin as that of another
        for table in sorted(self.bare.tables, key=len, reverse=True):
            if said == table or said.startswith(table + " "):
                return table
        known = {*self.bare.rules, *self.bare.values, *self.bare.tables, *added}
        what = f'no rule, value or table is called "{said}"'
        raise Faults([Fault("no-such-rule", ASKED, what, suggest(said, known))])

    def base(self, name: str) -> Behind:
        """What stood first: in the base, or as the pack wrote it that added it."""
        item = _item(self.bare, name)
        if item is None:
            adding = next(e for e in self.edits if verb_of(e).makes_anew and e.target == name)
            says, source = str(adding.d.get("says", "")), {"local": adding.cite}
            return Behind("rule", name, says, _reads(adding.d, None), source, adding.pack.title)
        kind = (
            "rule" if name in self.bare.rules else "value" if name in self.bare.values else "table"
        )
        reads = _reads(item, self.bare.tables.get(name))
        pack = self.library.pack_of(item).title
        return Behind(kind, name, str(item.get("says", "")), reads, _sections(item), pack)

    def trail(self, name: str) -> list[Edit]:
        """The edits of one thing, in their order; those too that move the days of others, and those
        that put another rule in its place.
        """
        if self.force is None:
            return [e for e in self.edits if e.target == name]
        date = self.force.date
        through = self.material.trail
        carried_out = [
            *through.get(name, ()),
            *(e for es in through.values() for e in es if _in_place_of(e, name)),
        ]
        found = {edit_key(e): e for e in carried_out}
        return [
            found.get(edit_key(e), e)
            for e in self.edits
            if edit_key(e) in found
            or (e.target == name and e.d.get("edit of") and e.holds_on(date))
        ]

    def under(
        self, force: InForce, got: Behind, name: str, edits: list[Edit], cell: Cell | None
    ) -> None:
        """Note what a thing comes to under what is in force, and which edits stand beside."""
        got.edition, got.date = force.edition, force.date or ""
        got.withdrawn = name in self.material.withdrawn
        item = _item(self.material, name)
        if cell:
            got.section = self._section_of_cell(name, edits)
            if edits:
                got.now = [("reads", self._cell_now(name, cell))]
        elif item is not None:
            got.section = section_of(item, self.edition) or ""
            if edits:
                got.now = _reads(item, self.material.tables.get(name))
        got.beside = [step(e, self.material) for e in self._of_exceptions(name)]
        held = set(map(edit_key, edits))
        got.other_days = [
            as_plain(e)
            for e in self.edits
            if e.target == name and edit_key(e) not in held and not e.holds_on(force.date)
        ]

    def _section_of_cell(self, name: str, edits: list[Edit]) -> str:
        """The edits that made a cell, and the section of its table below them."""
        bottom = section_of(self.bare.tables[name].d, self.edition) or ""
        return " and ".join(e.cite for e in edits) + (", amending " if edits else "") + bottom

    def _cell_now(self, name: str, cell: Cell) -> str:
        return _cell_text(self.material.tables[name], self.bare.tables[name], cell)

    def _of_exceptions(self, name: str) -> list[Edit]:
        """The edits of the exceptions to a rule, those too of which a pack withdrew it."""
        return [
            e
            for target, edits in self.material.trail.items()
            if target != name and self._excepts(target, name)
            for e in edits
        ]

    def _excepts(self, exception: str, name: str) -> bool:
        item = self.material.rules.get(exception) or self.material.gone.get(exception)
        return item is not None and name in map(str, as_list(item.get("exception to")))


def _item(material: Material, name: str) -> Mapping | None:
    """What a rule, value or table says, as it is written."""
    item = material.rules.get(name) or material.values.get(name)
    return item or (material.tables[name].d if name in material.tables else None)


def _in_place_of(edit: Edit, name: str) -> bool:
    """Whether an edit puts another rule in the place of the one that has the name."""
    return name in map(str, as_list(edit.d.get("instead of")))


def _sections(item: Mapping) -> dict[str, str]:
    """The section of an item in each edition that says one, or its other sources."""
    code = item.get("code")
    if isinstance(code, dict):
        return {str(edition): str(section) for edition, section in code.items()}
    return {layer: str(item[layer]) for layer in LAYERS if layer in item}


def _reads(item: Mapping, table: Table | None) -> list[tuple[str, str]]:
    """The lines of a rule, the worth of a value, the size of a table."""
    if table is not None:
        return [("table", f"{len(table.rows)} rows, by {' and '.join(table.keys)}")]
    return reads(item)


def step(e: Edit, m: Material) -> dict:
    """One edit of the chain: whose, where, why, on which days, and the words that went and came."""
    went, came = verb_of(e).went_and_came(e, m)
    return as_plain(e) | {
        "authority": str(e.pack.head.get("authority", "")),
        "title": e.pack.title,
        "was": went,
        "becomes": came,
    }


# ---- cells ---------------------------------------------------------------------------------------


def _cell_named(table: Table, text: str) -> Cell:
    """The cell that *text* names: key=value key=value COLUMN.

    Raises:
        Faults: it names none, or several.
    """
    by_length = sorted(table.keys, key=len, reverse=True)
    keys_told = "(" + "|".join(re.escape(key) for key in by_length) + r")\s*=\s*"
    # what stands before the first key, then each key and what stands after it
    before, *told = re.split(keys_told, text.replace(",", " "))
    last, column = _without_column(told[-1] if told else before, table)
    form = (
        f"write {table.id} "
        + " ".join(f"{key}=..." for key in table.keys)
        + f" and a column: {', '.join(table.values)}"
    )
    if not told or not column or before.strip():
        raise _no_row("no-such-row", f'"{text}" names no cell of {table.id}', form)
    told[-1] = last
    keys = {key: _key(table, key, told_of) for key, told_of in zip(told[::2], told[1::2])}
    row = _only_row(table, keys, text, form)
    return Cell({key: row[key] for key in table.keys}, column)


def _without_column(text: str, table: Table) -> tuple[str, str]:
    """What is left of *text* without the column at its end, and the column; the only one of a table
    need not be said.
    """
    text_of = text.rstrip()
    for column in sorted(table.values, key=len, reverse=True):
        if text_of == column or text_of.endswith(" " + column):
            return text_of.removesuffix(column), column
    column = next(iter(table.values)) if len(table.values) == 1 else ""
    if column and text_of.endswith(column):
        return text_of.removesuffix(column), column
    return text, column


def _key(table: Table, key: str, text: str) -> Any:
    """What is told of one key of a table, as its rows have it."""
    unit = table.unit(key)
    if not unit:
        return text.strip()
    try:
        return parse_quantity(text.strip(), unit, ASKED, bare=True)[0]
    except Fault as fault:
        raise Faults([fault]) from None


def _only_row(table: Table, keys: dict[str, Any], text: str, form: str) -> dict[str, Any]:
    """The row that has the *keys*."""
    found = [row for row in table.rows if _has(row, keys)]
    if len(found) == 1:
        return found[0]
    rows = "; ".join(
        ", ".join(f"{key}={table.show(key, row[key])}" for key in table.keys)
        for row in (found or table.rows)[:ROWS_SHOWN]
    )
    raise _no_row(
        "stands-twice" if found else "no-such-row",
        f'{len(found) or "no"} rows of {table.id} are so: "{text}"',
        f"{form}; rows here: {rows} ...",
    )


def _no_row(code: str, what: str, todo: str) -> Faults:
    return Faults([Fault(code, ASKED, what, todo)])


def _has(row: dict[str, Any], keys: dict[str, Any]) -> bool:
    return all(row[key] == worth for key, worth in keys.items())


def _cell_text(now: Table, table: Table, cell: Cell) -> str:
    """What a cell of *table* reads *now*, after edits of its rows."""
    row = next((row for row in now.rows if _has(row, cell.keys)), None)
    return now.show(cell.column, row[cell.column]) if row else "there is no such row"


def _touches(edit: Edit, table: Table, cell: Cell) -> bool:
    """Whether an edit of a table is about one cell of it."""
    said = edit.d
    row = next((said[key] for key in ("row", "insert row", "strike row") if key in said), None)
    if not isinstance(row, dict):
        # about the whole table
        return True
    of_its_row = all(
        _worth_of_key(edit, table, str(key), told) == cell.keys[str(key)]
        for key, told in row.items()
        if str(key) in cell.keys
    )
    return of_its_row and str(said.get("column", cell.column)) == cell.column


def _worth_of_key(edit: Edit, table: Table, key: str, told: object) -> Number | str:
    """What an edit tells of one key of a table, as its rows have it."""
    unit = table.unit(key)
    return parse_quantity(str(told), unit, edit.at)[0] if unit else str(told)


__all__ = ["Behind", "behind", "in_force_for", "shelf", "step"]
