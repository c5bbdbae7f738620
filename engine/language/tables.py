"""Published tables: look up a cell and say which row answered, and which rows lay beside it."""

from __future__ import annotations

import re
from pathlib import Path

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.limits import ROWS
from ..basics.reading import Mapping, Text, decode, digest, place_of, read_bytes, read_csv
from ..basics.units import POINTS, UNITS, Range, dimension, ends, number_of, show_number, unit_of

KEYS_OF_A_TABLE = (
    "table",
    "says",
    "code",
    "code by",
    "manufacturer",
    "local",
    "practice",
    "file",
    "keys",
    "across",
    "values",
    "no row",
    "copied",
    "checked",
    "doubt",
    "notes",
)
TABLE_FORMS = {
    "keys": "write keys: {size: exact}",
    "values": "write values: {ampacity: A}",
    "no row": 'write no row: {method: "EMT | RMC: why they have none; AC: why"}',
    "code": "write code: {2017: section}",
    "copied": "write copied: {by: name, date: 2026-11-25}",
    "checked": "write checked: {date: 2026-11-25, against: what it was compared with}",
}
DIRECTIONS = ("exact", "next row up", "next row down")


class Table:
    """One table. ``rows`` are dicts of column to base value or word, in the order of the file."""

    def __init__(self, d: Mapping, folder: Path, faults: Collector) -> None:
        self.id, self.d, self.at, self._meaning = str(d["table"]), d, place_of(d), None
        self.rows: list[dict] = []
        self.lines: list[Place] = []
        self.keys: dict[str, tuple[str, str | None]] = {}
        self.values: dict[str, str] = {}
        self.no_row: dict[str, dict[str, str]] = {}  # of a key, the choices without a row: why
        for k in d:
            if k not in KEYS_OF_A_TABLE:
                faults.add(
                    "table-key", place_of(k), f'a table takes no "{k}"', suggest(k, KEYS_OF_A_TABLE)
                )
        for need in ("says", "file", "keys", "values"):
            if need not in d:
                faults.add(
                    "table-lacks",
                    self.at,
                    f'table {self.id} has no "{need}:"',
                    "see kb/README.md, Tables",
                )
        if not any(k in d for k in ("code", "manufacturer", "local", "practice")):
            faults.add(
                "no-source",
                self.at,
                f"table {self.id} names no source",
                "add code: {2017: ...}, or practice: common practice, no source",
            )
        for k, v in d.items():
            if k in ("keys", "values", "no row", "code", "copied", "checked"):
                if (
                    not isinstance(v, dict)
                    or not v
                    or not all(isinstance(x, str) for x in v.values())
                ):
                    faults.add(
                        "table-form",
                        place_of(v),
                        f'table {self.id}: "{k}" is {{name: text, ...}}',
                        TABLE_FORMS[k],
                    )
            elif k == "across":
                if not isinstance(v, list) or not all(isinstance(x, str) for x in v):
                    faults.add(
                        "table-form",
                        place_of(v),
                        f'table {self.id}: "across" is a list of keys',
                        "write across: [material, column]",
                    )
            elif not isinstance(v, str):
                faults.add(
                    "table-form",
                    place_of(v),
                    f'table {self.id}: "{k}" is text',
                    f"write {k}: and one line",
                )
        if "across" in d and isinstance(d.get("values"), dict) and len(d["values"]) > 1:
            faults.add(
                "table-across",
                place_of(d["across"]),
                f"table {self.id} runs across and has {len(d['values'])} values",
                "a table that runs across has one value; write a column for each",
            )
        if faults.items:
            return
        for k, v in d["keys"].items():
            how = next((h for h in DIRECTIONS if str(v) == h or str(v).startswith(h + " ")), None)
            if how is None:
                faults.add(
                    "table-direction",
                    place_of(v),
                    f'key "{k}" does not say which way a look-up goes',
                    "begin with: " + ", ".join(DIRECTIONS),
                )
                continue
            unit = str(v)[len(how) :].strip() or None
            if unit and unit not in UNITS and unit not in POINTS:
                faults.add(
                    "unknown-unit", place_of(v), f'no unit is called "{unit}"', _unit_meant(unit)
                )
            if how != "exact" and not unit:
                faults.add(
                    "table-direction",
                    place_of(v),
                    f'key "{k}" goes between rows and has no unit',
                    "add the unit, or count",
                )
            self.keys[str(k)] = how, unit
        for k, v in d["values"].items():
            if not (v in UNITS or v in POINTS or v == "word" or str(v).startswith("row of ")):
                faults.add("unknown-unit", place_of(v), f'"{v}" is no unit', _unit_meant(v))
            self.values[str(k)] = str(v)
        for k, v in d.get("no row", {}).items():
            said = [part.partition(": ") for part in str(v).split("; ")]
            if k not in self.keys or not all(why.strip() for _, _, why in said):
                faults.add(
                    "table-form",
                    place_of(v),
                    f'table {self.id}: "no row" is of a key, and says why',
                    TABLE_FORMS["no row"] if k in self.keys else suggest(str(k), self.keys),
                )
            self.no_row[str(k)] = {
                c.strip(): why.strip() for choices, _, why in said for c in choices.split(" | ")
            }
        faults.stop()
        self._read(folder, [str(a) for a in d.get("across") or []], faults)
        self._check(faults)

    def __getstate__(self):
        """What a cache keeps: text without the places of its pieces."""
        kept = dict(self.__dict__)
        d = kept["d"] = Mapping(
            (str(k), str(v) if not isinstance(v, dict) else {str(a): str(b) for a, b in v.items()})
            for k, v in self.d.items()
        )
        d.__dict__.update(self.d.__dict__)  # its place, and what it came through
        return kept

    def _read(self, folder: Path, across: list[str], faults: Collector) -> None:
        name = str(self.d["file"])
        at = place_of(self.d["file"], self.at)
        if not re.fullmatch(r"[\w.-]+\.csv", name):
            raise Fault(
                "outside-folder",
                at,
                f'"{name}" is not a CSV beside this file',
                "a table lies in the folder of its YAML",
            )
        path = folder / name
        if path.is_symlink():
            raise Fault(
                "outside-folder",
                at,
                f'"{name}" is a link to elsewhere',
                "a table lies in the folder of its YAML",
            )
        shown = str(Path(at[0]).parent / name)
        header, raw = read_csv(decode(read_bytes(path, shown), shown), shown)
        plain = {*self.keys, *self.values} - set(across)
        for a in across:
            if a not in self.keys:
                faults.add(
                    "table-across", at, f'"{a}" runs across and is no key', suggest(a, self.keys)
                )
        for h in header:
            if not across and h not in plain:
                faults.add(
                    "table-column",
                    Place(shown),
                    f'column "{h}" is neither key nor value',
                    suggest(h, plain),
                )
        for need in [k for k in self.keys if k not in across] + (
            [] if across else list(self.values)
        ):
            if need not in header:
                faults.add(
                    "table-column",
                    Place(shown),
                    f'there is no column "{need}"',
                    suggest(need, header),
                )
        faults.stop()
        only = next(iter(self.values))
        for n, cells in raw:
            lead, seen = {}, []
            for h, c in zip(header, cells):
                if h in plain and not (across and h not in self.keys):
                    lead[h] = c
                else:
                    seen.append((h, c))
            if not across:
                if any(c == "" for c in lead.values()):
                    if all(lead[v] == "" for v in self.values):
                        continue
                    blank = next(k for k, c in lead.items() if c == "")
                    faults.add(
                        "blank-cell",
                        Place(shown, n),
                        f'"{blank}" is blank in this row',
                        "a blank is a row that does not exist: leave the row out",
                    )
                    continue
                self._row(lead, Place(shown, n), faults)
                continue
            for h, c in seen:
                if c == "":
                    continue
                parts = [p.strip() for p in h.split(" / ")]
                if len(parts) != len(across):
                    faults.add(
                        "table-column",
                        Place(shown),
                        f'column "{h}" does not name {" / ".join(across)}',
                        "head it, for instance, copper / 60",
                    )
                    break
                self._row({**lead, **dict(zip(across, parts)), only: c}, Place(shown, n), faults)

    def _row(self, cells: dict[str, str], at: Place, faults: Collector) -> None:
        row = {}
        for k, c in cells.items():
            with faults.catching():
                row[k] = self.typed(k, c, at)
        if len(self.rows) == ROWS:
            raise Fault(
                "too-many-rows",
                at,
                f"this table has more than {ROWS:,} rows",
                "divide it, or leave out what no job needs",
            )
        if len(row) == len(cells):
            self.rows.append(row)
            self.lines.append(at)

    def typed(self, column: str, text: str, at: Place):
        """A cell's text as a base value or a word."""
        unit = self.unit(column)
        return number_of(text, unit, at) if unit else str(text)

    def unit(self, column: str) -> str | None:
        u = self.keys[column][1] if column in self.keys else self.values[column]
        return u if u in UNITS or u in POINTS else None

    def type_of(self, column: str) -> tuple:
        """The type of a column, as in words.py; ("word",) for plain text."""
        if u := self.unit(column):
            return ("q", dimension(u), u)
        v = self.values.get(column, "")
        if v.startswith("row of "):
            return ("row", v[7:])
        return (
            ("row", self.id)
            if column in self.keys and column in ("size", "trade size")
            else ("word",)
        )

    def _check(self, faults: Collector) -> None:
        seen: dict[tuple, Place] = {}
        between = [k for k, (how, _) in self.keys.items() if how != "exact"]
        for row, at in zip(self.rows, self.lines):
            key = tuple(row[k] for k in self.keys)
            if key in seen:
                faults.add(
                    "same-keys",
                    at,
                    f"{self.id}: this row has the same keys as {seen[key]}",
                    "two answers to one question: keep one",
                )
            seen.setdefault(key, at)
        if not self.rows and not faults.items:
            faults.add(
                "empty-table", self.at, f"table {self.id} has no rows", "a table needs at least one"
            )
        for k, choices in self.no_row.items():
            if there := sorted({r[k] for r in self.rows} & set(choices)):
                faults.add(
                    "table-no-row",
                    place_of(self.d["no row"], self.at),
                    f'{self.id} has a row for the {k} "{there[0]}"',
                    "take it out of no row:",
                )
        if len(between) > 1:
            faults.add(
                "table-direction", self.at, f"{self.id}: two keys go between rows", "only one may"
            )
        if between:  # rows between which a look-up goes must be sorted, or a gap hides in the file
            groups: dict[tuple, list] = {}
            for row, at in zip(self.rows, self.lines):
                groups.setdefault(tuple(row[k] for k in self.keys if k not in between), []).append(
                    (row[between[0]], at)
                )
            for vs in groups.values():
                for (a, _), (b, at) in zip(vs, vs[1:]):
                    if not a < b:
                        faults.add(
                            "unsorted",
                            at,
                            f'{self.id}: "{between[0]}" is not above the row before',
                            "sort the rows: a look-up goes to the next one",
                        )

    # ---- look-ups
    def order(self, column: str) -> dict:
        """Place of each size in the table, smallest first."""
        return {v: i for i, v in enumerate(dict.fromkeys(r[column] for r in self.rows))}

    def find(self, keys: dict) -> list[dict]:
        """The rows still possible under what is known of *keys*; an empty row stands for "off the
        table".
        """
        rows = self.rows
        for k, (how, _) in self.keys.items():
            v = keys.get(k)
            if v is None:
                continue
            lo, hi = ends(v)
            if how == "exact":
                # or between two rows
                rows = (
                    [r for r in rows if not r or r[k] == v]
                    if type(v) is not Range
                    else [
                        r
                        for r in rows
                        if not r or ((lo is None or r[k] >= lo) and (hi is None or r[k] <= hi))
                    ]
                    + [{}]
                )
                continue
            points = sorted({r[k] for r in rows if r})
            a, b = self._step(points, lo, how), self._step(points, hi, how)
            if how == "next row up":
                if lo is None:
                    a = points[0] if points else None
                if a is None:
                    return []
                rows = [r for r in rows if r[k] >= a and (b is None or r[k] <= b)] + (
                    [{}] if b is None else []
                )
            else:
                if hi is None:
                    b = points[-1] if points else None
                if b is None:
                    return []
                rows = [r for r in rows if r[k] <= b and (a is None or r[k] >= a)] + (
                    [{}] if a is None else []
                )
        return rows

    @staticmethod
    def _step(points, v, how):
        if v is None:
            return None
        return (
            next((p for p in points if p >= v), None)
            if how == "next row up"
            else next((p for p in reversed(points) if p <= v), None)
        )

    def index_of(self, row: dict) -> int:
        return next((i for i, r in enumerate(self.rows) if r is row), -1)

    def neighbours(self, row: dict) -> tuple[dict | None, dict | None]:
        """The rows before and after *row* that differ from it only in the key between rows (or the
        size).
        """
        moving = next(
            (k for k, (how, _) in self.keys.items() if how != "exact"), next(iter(self.keys))
        )
        alike = [r for r in self.rows if all(r[k] == row[k] for k in self.keys if k != moving)]
        i = next((i for i, r in enumerate(alike) if r is row), None)
        if i is None:
            return None, None
        return (alike[i - 1] if i else None), (alike[i + 1] if i + 1 < len(alike) else None)

    def show(self, column: str, value) -> str:
        """A cell as a person reads it."""
        unit = self.unit(column)
        return show_number(value, unit) if unit else str(value)

    def meaning(self) -> str:
        """Digest of what the table says: keys, directions, exact values; not prose."""
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

    def places(self, row: dict) -> Place:
        i = self.index_of(row)
        return self.lines[i] if i >= 0 else self.at


def _unit_meant(written: str) -> str:
    """What to write for a unit that is none."""
    unit = unit_of(written)
    return (
        f"write {unit}"
        if unit
        else suggest(written, [*UNITS, *POINTS, "word", "row of conductor-sizes"], 40)
    )


def is_table(item) -> bool:
    """Whether a YAML item is a table."""
    return isinstance(item, dict) and "table" in item


__all__ = ["Table", "is_table", "Text"]
