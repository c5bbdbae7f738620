"""Published tables: look up a cell and say which row answered, and which rows lay beside it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, Final, Literal, TypeAlias

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.limits import ROWS
from ..basics.reading import (
    Lines,
    Mapping,
    Piece,
    Text,
    decode,
    digest,
    place_of,
    read_bytes,
    read_csv,
)
from ..basics.units import (
    POINTS,
    UNITS,
    Number,
    Quantity,
    Range,
    dimension,
    ends,
    number_of,
    show_number,
    unit_of,
)
from .forms import TABLE
from .things import Type

TABLE_FORMS = {
    "keys": "write keys: {size: exact}",
    "values": "write values: {ampacity: A}",
    "no row": 'write no row: {method: "EMT | RMC: why they have none; AC: why"}',
    "code": "write code: {2017: section}",
    "copied": "write copied: {by: name, date: 2026-11-25}",
    "checked": "write checked: {date: 2026-11-25, against: what it was compared with}",
}
DIRECTIONS = ("exact", "next row up", "next row down")
EXACT, UP, DOWN = DIRECTIONS

# a number in its base or a word: what it is, its column says
Cell: TypeAlias = Any
Row: TypeAlias = dict[str, Cell]


class OffTheTable:
    """The class of OFF. It has no cells: whoever reads one of a row that was looked up must ask
    first whether there is a row.
    """

    __slots__ = ()

    def __bool__(self) -> Literal[False]:
        return False

    def get(self, column: str) -> None:
        """What it says of *column*: nothing."""

    def __repr__(self) -> str:
        return "OFF"

    def __reduce__(self) -> str:
        return "OFF"


OFF: Final = OffTheTable()  # what lies off a table, among the rows that may answer a look-up


class Table:
    """One table: its rows in the order of the file, and the place of each."""

    def __init__(self, d: Mapping, folder: Path, faults: Collector) -> None:
        self.id, self.d, self.at = str(d["table"]), d, place_of(d)
        self._meaning: str | None = None
        self.rows: list[Row] = []
        self.lines: list[Place] = []
        self.keys: dict[str, tuple[str, str | None]] = {}  # direction and unit
        self.values: dict[str, str] = {}
        self.no_row: dict[str, dict[str, str]] = {}  # of a key, the choices without a row: why
        # whether a pack may write words there that no row has yet
        self.takes_new_words = str(d.get("new words")) == "yes"
        self._see_form(faults)
        # what follows takes each part for what it must be
        if faults.items:
            return
        for key, said in d["keys"].items():
            self._read_key(str(key), said, faults)
        for column, said in d["values"].items():
            if not (
                said in UNITS or said in POINTS or said == "word" or said.startswith("row of ")
            ):
                todo = _unit_meant(said)
                faults.add("unknown-unit", place_of(said), f'"{said}" is no unit', todo)
            self.values[str(column)] = str(said)
        for key, said in d.get("no row", {}).items():
            self._read_no_row(str(key), said, faults)
        # a file read by keys that are wrong would give a fault for every line of it
        faults.stop()
        self._read(folder, [str(key) for key in d.get("across") or []], faults)
        self._see_same_keys(faults)
        self._see_no_row(faults)
        self._see_sorted(faults)

    def __getstate__(self) -> dict[str, Any]:
        """What a cache keeps: text without the places of its pieces."""
        kept = dict(self.__dict__)
        d = kept["d"] = Mapping(
            (str(k), str(v) if not isinstance(v, dict) else {str(a): str(b) for a, b in v.items()})
            for k, v in self.d.items()
        )
        # its place, and what it came through
        d.__dict__.update(self.d.__dict__)
        return kept

    # ---- reading what is said of it
    def _see_form(self, faults: Collector) -> None:
        """See that a table says what it must, and each thing in its form."""
        TABLE.see(self.d, faults)
        for need in ("says", "file", "keys", "values"):
            if need not in self.d:
                what = f'table {self.id} has no "{need}:"'
                faults.add("table-lacks", self.at, what, "see kb/README.md, Tables")
        if not any(key in self.d for key in ("code", "manufacturer", "local", "practice")):
            faults.add(
                "no-source",
                self.at,
                f"table {self.id} names no source",
                "add code: {2017: ...}, or practice: common practice, no source",
            )
        for key, said in self.d.items():
            form = _form_broken(key, said)
            if form:
                what, todo = form
                faults.add("table-form", place_of(said), f'table {self.id}: "{key}" {what}', todo)
        values = self.d.get("values")
        if "across" in self.d and isinstance(values, dict) and len(values) > 1:
            faults.add(
                "table-across",
                place_of(self.d["across"]),
                f"table {self.id} runs across and has {len(values)} values",
                "a table that runs across has one value; write a column for each",
            )

    def _read_key(self, key: str, said: Text, faults: Collector) -> None:
        """Which way a look-up goes along *key*, and the unit that it goes in."""
        how = next((h for h in DIRECTIONS if said == h or said.startswith(h + " ")), None)
        if how is None:
            faults.add(
                "table-direction",
                place_of(said),
                f'key "{key}" does not say which way a look-up goes',
                "begin with: " + ", ".join(DIRECTIONS),
            )
            return
        unit = said[len(how) :].strip() or None
        if unit and unit not in UNITS and unit not in POINTS:
            what = f'no unit is called "{unit}"'
            faults.add("unknown-unit", place_of(said), what, _unit_meant(unit))
        if how != EXACT and not unit:
            what = f'key "{key}" goes between rows and has no unit'
            faults.add("table-direction", place_of(said), what, "add the unit, or count")
        self.keys[key] = how, unit

    def _read_no_row(self, key: str, said: Text, faults: Collector) -> None:
        """Which choices of *key* have no row, and why: A | B: why; C: why."""
        reasons = [part.partition(": ") for part in said.split("; ")]
        if key not in self.keys or not all(why.strip() for _, _, why in reasons):
            faults.add(
                "table-form",
                place_of(said),
                f'table {self.id}: "no row" is of a key, and says why',
                TABLE_FORMS["no row"] if key in self.keys else suggest(key, self.keys),
            )
        self.no_row[key] = {
            choice.strip(): why.strip()
            for choices, _, why in reasons
            for choice in choices.split(" | ")
        }

    # ---- reading its file
    def _read(self, folder: Path, across: list[str], faults: Collector) -> None:
        """Read the rows; *across* are the keys that stand in the header."""
        shown, text = self._file(folder)
        header, lines = read_csv(text, shown)
        self._see_columns(header, across, shown, faults)
        faults.stop()
        if across:
            self._read_across(header, lines, across, shown, faults)
        else:
            self._read_down(header, lines, shown, faults)

    def _file(self, folder: Path) -> tuple[str, str]:
        """The file of the rows, as it is shown, and its text. It lies in the folder of the pack,
        so that a pack reads nothing else of the machine.
        """
        said = self.d["file"]
        name, at = str(said), place_of(said, self.at)
        todo = "a table lies in the folder of its YAML"
        if not re.fullmatch(r"[\w.-]+\.csv", name):
            raise Fault("outside-folder", at, f'"{name}" is not a CSV beside this file', todo)
        path = folder / name
        # its name lies in the folder, and what it leads to need not
        if path.is_symlink():
            raise Fault("outside-folder", at, f'"{name}" is a link to elsewhere', todo)
        shown = str(Path(at[0]).parent / name)
        return shown, decode(read_bytes(path, shown), shown)

    def _see_columns(
        self, header: list[str], across: list[str], shown: str, faults: Collector
    ) -> None:
        """See that there is a column for each key and value, and no other."""
        at = Place(shown)
        for key in across:
            if key not in self.keys:
                what, todo = f'"{key}" runs across and is no key', suggest(key, self.keys)
                faults.add("table-across", place_of(self.d["file"], self.at), what, todo)
        needed = [key for key in self.keys if key not in across]
        if not across:
            needed += self.values
            known = {*self.keys, *self.values}
            for head in header:
                if head not in known:
                    what = f'column "{head}" is neither key nor value'
                    faults.add("table-column", at, what, suggest(head, known))
        for need in needed:
            if need not in header:
                what = f'there is no column "{need}"'
                faults.add("table-column", at, what, suggest(need, header))

    def _read_down(self, header: list[str], lines: Lines, shown: str, faults: Collector) -> None:
        """A row is a line of the file."""
        for number, texts in lines:
            cells = dict(zip(header, texts))
            blank = next((column for column, text in cells.items() if text == ""), None)
            if blank is None:
                self._row(cells, Place(shown, number), faults)
            elif any(cells[value] != "" for value in self.values):
                faults.add(
                    "blank-cell",
                    Place(shown, number),
                    f'"{blank}" is blank in this row',
                    "a blank is a row that does not exist: leave the row out",
                )

    def _read_across(
        self, header: list[str], lines: Lines, across: list[str], shown: str, faults: Collector
    ) -> None:
        """A row is a cell of the file: a part of its keys is in the header of its column."""
        only, down = next(iter(self.values)), {*self.keys} - {*across}
        for number, texts in lines:
            lead = {head: text for head, text in zip(header, texts) if head in down}
            for head, text in zip(header, texts):
                if head in down or text == "":
                    continue
                parts = [part.strip() for part in head.split(" / ")]
                if len(parts) != len(across):
                    faults.add(
                        "table-column",
                        Place(shown),
                        f'column "{head}" does not name {" / ".join(across)}',
                        "head it, for instance, copper / 60",
                    )
                    break
                cells = {**lead, **dict(zip(across, parts)), only: text}
                self._row(cells, Place(shown, number), faults)

    def _row(self, cells: dict[str, str], at: Place, faults: Collector) -> None:
        """Add a row, if each of its cells can be read."""
        row: Row = {}
        for column, text in cells.items():
            with faults.catching():
                row[column] = self.typed(column, text, at)
        if len(self.rows) == ROWS:
            raise Fault(
                "too-many-rows",
                at,
                f"this table has more than {ROWS:,} rows",
                "divide it, or leave out what no job needs",
            )
        # a row with a hole would answer look-ups for which it has no cell
        if len(row) == len(cells):
            self.rows.append(row)
            self.lines.append(at)

    # ---- judging its rows
    def _see_same_keys(self, faults: Collector) -> None:
        """See that a question has one answer, and that there is one."""
        seen: dict[tuple[Cell, ...], Place] = {}
        for row, at in zip(self.rows, self.lines):
            keys = tuple(row[key] for key in self.keys)
            if keys in seen:
                what = f"{self.id}: this row has the same keys as {seen[keys]}"
                faults.add("same-keys", at, what, "two answers to one question: keep one")
            seen.setdefault(keys, at)
        # where rows could not be read, that is told already
        if not self.rows and not faults.items:
            what = f"table {self.id} has no rows"
            faults.add("empty-table", self.at, what, "a table needs at least one")

    def _see_no_row(self, faults: Collector) -> None:
        """See that what is said to have no row has none."""
        for key, choices in self.no_row.items():
            there = sorted({row[key] for row in self.rows} & set(choices))
            if there:
                faults.add(
                    "table-no-row",
                    place_of(self.d["no row"], self.at),
                    f'{self.id} has a row for the {key} "{there[0]}"',
                    "take it out of no row:",
                )

    def _see_sorted(self, faults: Collector) -> None:
        """See that rows between which a look-up goes are sorted, or a gap hides in the file."""
        between = [key for key, (how, _) in self.keys.items() if how != EXACT]
        if len(between) > 1:
            what = f"{self.id}: two keys go between rows"
            faults.add("table-direction", self.at, what, "only one may")
        if not between:
            return
        moving, groups = between[0], dict[tuple[Cell, ...], list[tuple[Cell, Place]]]()
        for row, at in zip(self.rows, self.lines):
            others = tuple(row[key] for key in self.keys if key not in between)
            groups.setdefault(others, []).append((row[moving], at))
        for group in groups.values():
            for (before, _), (here, at) in zip(group, group[1:]):
                if not before < here:
                    what = f'{self.id}: "{moving}" is not above the row before'
                    todo = "sort the rows: a look-up goes to the next one"
                    faults.add("unsorted", at, what, todo)

    # ---- what a column is
    def typed(self, column: str, text: str, at: Place) -> Cell:
        """A cell's text as a base value or a word.

        Raises:
            Fault: the column has a unit, and *text* is no quantity that can be given in it.

        >>> from whywire.engine import load
        >>> load().tables["equipment-grounding"].typed("rating", "60", Place())
        Decimal('60')
        """
        unit = self.unit(column)
        return number_of(text, unit, at) if unit else str(text)

    def unit(self, column: str) -> str | None:
        """The unit of a column of numbers; None of one of words.

        >>> from whywire.engine import load
        >>> table = load().tables["equipment-grounding"]
        >>> table.unit("rating"), table.unit("size")
        ('A', None)
        """
        said = self.keys[column][1] if column in self.keys else self.values[column]
        return said if said in UNITS or said in POINTS else None

    def type_of(self, column: str) -> Type:
        """The type of a column, as in words.py; ("word",) for plain text.

        >>> from whywire.engine import load
        >>> table = load().tables["equipment-grounding"]
        >>> table.type_of("size"), table.type_of("material")
        (('row', 'conductor-sizes'), ('word',))
        """
        unit = self.unit(column)
        if unit:
            return ("q", dimension(unit), unit)
        said = self.values.get(column, "")
        if said.startswith("row of "):
            return ("row", said[7:])
        own = column in self.keys and column in ("size", "trade size")
        return ("row", self.id) if own else ("word",)

    # ---- look-ups
    def order(self, column: str) -> dict[Cell, int]:
        """Place of each size in the table, smallest first.

        >>> from whywire.engine import load
        >>> order = load().tables["conductor-sizes"].order("size")
        >>> order["12 AWG"] < order["10 AWG"]
        True
        """
        return {v: i for i, v in enumerate(dict.fromkeys(row[column] for row in self.rows))}

    def find(self, keys: dict[str, Any]) -> Sequence[Row | OffTheTable]:
        """The rows still possible under what is known of *keys*; OFF among them says that the
        answer may lie off the table. There are none where it surely does.

        >>> from whywire.engine import load
        >>> from whywire.engine.basics.units import Decimal
        >>> table = load().tables["ccc-adjustment"]
        >>> [row["factor"] for row in table.find({"current-carrying conductors": Decimal(4)})]
        [Decimal('0.8')]
        >>> table.find({"current-carrying conductors": Range(Decimal(41), None)})[-1]
        OFF
        """
        rows: Sequence[Row | OffTheTable] = self.rows
        for key, (how, _) in self.keys.items():
            value = keys.get(key)
            if value is None:
                continue
            if how == EXACT:
                rows = _alike(rows, key, value)
                continue
            between = _between_rows(rows, key, value, how == UP)
            if between is None:
                return []
            rows = between
        return rows

    def index_of(self, row: Row) -> int:
        """Where *row*, which is one of the table's, stands in it; -1 for any other.

        >>> from whywire.engine import load
        >>> table = load().tables["standard-ratings"]
        >>> table.index_of(table.rows[2]), table.index_of({})
        (2, -1)
        """
        return next((i for i, r in enumerate(self.rows) if r is row), -1)

    def neighbours(self, row: Row) -> tuple[Row | None, Row | None]:
        """The rows before and after *row* that differ from it only in the key between rows (or the
        size).

        >>> from whywire.engine import load
        >>> table = load().tables["equipment-grounding"]
        >>> before, after = table.neighbours(table.rows[0])
        >>> before, table.show("rating", after["rating"])
        (None, '20 A')
        """
        moving = next(
            (key for key, (how, _) in self.keys.items() if how != EXACT), next(iter(self.keys))
        )
        others = [key for key in self.keys if key != moving]
        alike = [r for r in self.rows if all(r[key] == row[key] for key in others)]
        i = next((i for i, r in enumerate(alike) if r is row), None)
        if i is None:
            return None, None
        return (alike[i - 1] if i else None), (alike[i + 1] if i + 1 < len(alike) else None)

    def show(self, column: str, value: Cell) -> str:
        """A cell as a person reads it.

        >>> from whywire.engine import load
        >>> table = load().tables["equipment-grounding"]
        >>> table.show("rating", table.rows[0]["rating"])
        '15 A'
        """
        unit = self.unit(column)
        return show_number(value, unit) if unit else str(value)

    def meaning(self) -> str:
        """Digest of what the table says: keys, directions, exact values; not prose.

        >>> from whywire.engine import load
        >>> len(load().tables["standard-ratings"].meaning())
        16
        """
        if self._meaning is None:
            text = repr(
                (
                    sorted(self.keys.items()),
                    sorted(self.values.items()),
                    [sorted((k, str(v)) for k, v in r.items()) for r in self.rows],
                )
            )
            self._meaning = digest(text)
        return self._meaning

    def places(self, row: Row) -> Place:
        """Where *row* stands; the table's own place for what is none of its rows.

        >>> from whywire.engine import load
        >>> table = load().tables["standard-ratings"]
        >>> table.places(table.rows[0])[1]
        2
        """
        i = self.index_of(row)
        return self.lines[i] if i >= 0 else self.at


def _form_broken(key: str, said: Piece) -> tuple[str, str] | None:
    """What is wrong with the form of what a table says under *key*, and what to do; None where it
    is as it should be.
    """
    if key in ("keys", "values", "no row", "code", "copied", "checked"):
        if isinstance(said, dict) and said and _all_text(said.values()):
            return None
        return "is {name: text, ...}", TABLE_FORMS[key]
    if key == "across":
        if isinstance(said, list) and _all_text(said):
            return None
        return "is a list of keys", "write across: [material, column]"
    return None if isinstance(said, str) else ("is text", f"write {key}: and one line")


def _all_text(pieces: Iterable[Piece]) -> bool:
    return all(isinstance(piece, str) for piece in pieces)


def _alike(rows: Sequence[Row | OffTheTable], key: str, value: Cell) -> Sequence[Row | OffTheTable]:
    """The rows in which *key* is *value*, or may be."""
    if type(value) is not Range:
        return [row for row in rows if not row or row[key] == value]
    # it may turn out to lie between two of them
    return [*_within(rows, key, *ends(value)), OFF]


def _between_rows(
    rows: Sequence[Row | OffTheTable], key: str, value: Quantity, up: bool
) -> Sequence[Row | OffTheTable] | None:
    """The rows that a look-up of *value* may come to, going on to the next row *up* or down; None
    where there is none for any value that it may be.
    """
    lo, hi = ends(value)
    points = sorted({row[key] for row in rows if row})
    if not points:
        return None
    # going up, a value that may be as small as one likes comes to the first row, at the least
    first = points[0] if up and lo is None else _step(points, lo, up)
    last = points[-1] if not up and hi is None else _step(points, hi, up)
    surely, perhaps = (first, last) if up else (last, first)
    if surely is None:
        return None
    found = _within(rows, key, first, last)
    return [*found, OFF] if perhaps is None else found


def _within(
    rows: Sequence[Row | OffTheTable], key: str, lo: Number | None, hi: Number | None
) -> Sequence[Row | OffTheTable]:
    """The rows in which *key* is no smaller than *lo* and no larger than *hi*. What lies off the
    table stays among them: no key is known of it.
    """
    return [
        row
        for row in rows
        if not row or ((lo is None or row[key] >= lo) and (hi is None or row[key] <= hi))
    ]


def _step(points: list[Number], value: Number | None, up: bool) -> Number | None:
    """The point at *value* or next to it; None where there is none, or *value* is open."""
    if value is None:
        return None
    if up:
        return next((point for point in points if point >= value), None)
    return next((point for point in reversed(points) if point <= value), None)


def _unit_meant(written: str) -> str:
    """What to write for a unit that is none."""
    unit = unit_of(written)
    if unit:
        return f"write {unit}"
    return suggest(written, [*UNITS, *POINTS, "word", "row of conductor-sizes"], 40)


def is_table(item: Piece) -> bool:
    """Whether a YAML item is a table.

    >>> is_table({"table": "conductor-sizes"}), is_table({"rule": "no-table"})
    (True, False)
    """
    return isinstance(item, dict) and "table" in item


__all__ = ["OFF", "OffTheTable", "Row", "Table", "is_table", "Text"]
