"""Edits of a table: a cell struck and written anew, a row put in or taken out, typed as the table
has it.
"""

from __future__ import annotations

from ..basics.errors import Fault, Place, suggest
from ..basics.reading import Mapping, place_of
from ..basics.units import parse_quantity
from ..language.knowledge import Material
from ..language.tables import Table
from .edits import CHANGES, Edit
from .meanings import keys_text, row_text, serves


def amend_table(m: Material, e: Edit) -> None:
    t = m.tables[e.target]
    if "force" in e.d:
        raise Fault(
            "edit-key",
            place_of(e.d["force"], e.at),
            f'{e.target} is a table and takes no "force"',
            "write row:, column:, strike: and insert:",
        )
    if "insert row" in e.d or "strike row" in e.d:
        return _row(m, e, t)
    row, column = e.d.get("row"), str(e.d.get("column", ""))
    for need in ("row", "column", "strike", "insert"):
        if need not in e.d:
            raise Fault(
                "edit-lacks",
                e.at,
                f'amend {e.target} does not say "{need}:"',
                "write row: {key: value}, column:, strike: and insert:",
            )
    if column not in t.values:
        raise Fault(
            "unknown-column",
            place_of(e.d["column"], e.at),
            f'table {e.target} has no value column "{column}"',
            suggest(column, t.values),
        )
    i = _find_row(t, row, e)
    old = t.rows[i][column]
    said, insert = str(e.d["strike"]), e.d["insert"]
    struck = _cell(t, column, said, place_of(e.d["strike"], e.at), m)
    if struck != old:
        o = next((o for o in m.trail.get(e.target, ()) if o.done.get("cell") == (i, column)), None)
        by = f", by {o.pack.where} (at {o.at})" if o else ""
        raise Fault(
            "struck-before" if o else "not-there",
            place_of(e.d["strike"], e.at),
            f'that cell of {e.target} says {t.show(column, old)}, not "{said}"{by}',
            f"strike {t.show(column, old)} if that is meant",
        )
    new = _cell(t, column, str(insert), place_of(insert, e.at), m)
    after = copied(t)
    after.rows[i] = {**t.rows[i], column: new}
    after.lines[i] = place_of(insert, e.at)
    _through(after, t, e)
    m.tables[e.target] = after
    e.done.update(
        cell=(i, column),
        at=str(after.lines[i]),
        short=f"{e.target}, {row_text(t, i)}: {t.show(column, old)} became {t.show(column, new)}",
        direction=CHANGES,
        before=t,
        after=after,
        says=(
            f"{e.target}, row {row_text(t, i)}: {column} {t.show(column, old)} becomes"
            f" {t.show(column, new)}."
        )
        + serves(t, i),
    )


def copied(t: Table) -> Table:
    after = object.__new__(Table)
    after.__dict__.update(t.__dict__)
    after.rows, after.lines, after._meaning = [*t.rows], [*t.lines], None
    return after


def _through(after: Table, t: Table, e: Edit) -> None:
    d = Mapping(t.d)
    d.__dict__.update(t.d.__dict__)
    d.through = " and ".join([*([d.through] if getattr(d, "through", "") else []), e.cite])
    after.d = d


def _cell(t: Table, column: str, text: str, at: Place, m: Material):
    """A cell's text, typed as the table has it: a row of a table must be one, a number has the
    column's unit.
    """
    what = t.values.get(column, "") or ""
    if what.startswith("row of "):
        other = m.tables[what[7:]]
        order = other.order("size" if "size" in other.keys else next(iter(other.keys)))
        if text not in order:
            raise Fault(
                "no-such-row", at, f'"{text}" is no row of {other.id}', suggest(text, order)
            )
        return text
    unit = t.unit(column)
    if unit:
        value = parse_quantity(text, unit, at)[0]
        if value < 0 and all(r[column] >= 0 for r in t.rows if r[column] is not None):
            raise Fault("negative", at, f'"{text}" is less than nothing', "take the sign away")
        return value
    known = {r[column] for r in t.rows}
    if text not in known:
        raise Fault(
            "cell-word",
            at,
            f'"{text}" is a word that column "{column}" of {t.id} never has',
            suggest(text, known),
        )
    return text


def _find_row(t: Table, row, e: Edit) -> int:
    at = place_of(row, e.at)
    if not isinstance(row, dict):
        raise Fault(
            "edit-form",
            at,
            f'"row" of {e.target} gives its keys',
            "write row: {" + ", ".join(f"{k}: ..." for k in t.keys) + "}",
        )
    want = {}
    for k, v in row.items():
        if k not in t.keys:
            raise Fault(
                "unknown-column",
                place_of(k, at),
                f'table {t.id} has no key "{k}"',
                suggest(str(k), t.keys),
            )
        unit = t.unit(str(k))
        if unit:
            want[str(k)] = parse_quantity(str(v), unit, place_of(v, at))[0]
        else:
            want[str(k)] = _cell_key(t, str(k), str(v), place_of(v, at))
    found = [i for i, r in enumerate(t.rows) if all(r[k] == v for k, v in want.items())]
    if len(found) == 1:
        return found[0]
    near = [i for i in found or range(len(t.rows))][:12]
    raise Fault(
        "no-such-row" if not found else "stands-twice",
        at,
        f"{len(found) or 'no'} rows of {t.id} are {keys_text(t, want)}",
        ("name more keys; " if found else "")
        + "rows here: "
        + "; ".join(row_text(t, i) for i in near)
        + (" ..." if len(near) == 12 else ""),
    )


def _row(m: Material, e: Edit, t: Table) -> None:
    after = copied(t)
    if "insert row" in e.d and "strike row" in e.d:
        raise Fault(
            "edit-verb", e.at, f"amend {e.target} both inserts and strikes a row", "write two edits"
        )
    if "strike row" in e.d:
        i = _find_row(t, e.d["strike row"], e)
        del after.rows[i], after.lines[i]
        at, short = "every row", f"{e.target} lost the row {row_text(t, i)}"
        says = f"{e.target} no longer has the row {row_text(t, i)}."
    else:
        said = e.d["insert row"]
        if not isinstance(said, dict) or {str(k) for k in said} != {*t.keys, *t.values}:
            raise Fault(
                "edit-form",
                place_of(said, e.at),
                f"a row of {t.id} has " + ", ".join([*t.keys, *t.values]),
                "write insert row: {" + ", ".join(f"{k}: ..." for k in [*t.keys, *t.values]) + "}",
            )
        row = {}
        for k, v in said.items():
            k = str(k)
            if k in t.values:
                row[k] = _cell(t, k, str(v), place_of(v, e.at), m)
            elif unit := t.unit(k):
                row[k] = parse_quantity(str(v), unit, place_of(v, e.at))[0]
            else:
                row[k] = _cell_key(t, k, str(v), place_of(v, e.at))
        row = {k: row[k] for k in (*t.keys, *t.values)}
        if any(all(r[k] == row[k] for k in t.keys) for r in t.rows):
            raise Fault(
                "same-keys",
                place_of(said, e.at),
                f"{t.id} has a row {keys_text(t, {k: row[k] for k in t.keys})} already",
                "strike its cell: row:, column:, strike:, insert:",
            )
        moving = next((k for k, (how, _) in t.keys.items() if how != "exact"), None)
        others = [k for k in t.keys if k != moving]
        i = len(t.rows)
        if moving:  # rows between which a look-up goes stay sorted
            alike = [j for j, r in enumerate(t.rows) if all(r[k] == row[k] for k in others)]
            i = next(
                (j for j in alike if t.rows[j][moving] > row[moving]),
                (alike[-1] + 1) if alike else i,
            )
        after.rows.insert(i, row)
        after.lines.insert(i, place_of(said, e.at))
        at, short = (
            str(place_of(said, e.at)),
            f"{e.target} has a row {keys_text(t, {k: row[k] for k in t.keys})}",
        )
        says = (
            f"{e.target} has a new row {row_text(after, i)}: "
            + ", ".join(f"{k} {t.show(k, row[k])}" for k in t.values)
            + "."
            + serves(after, i)
        )
    _through(after, t, e)
    m.tables[e.target] = after
    e.done.update(direction=CHANGES, before=t, after=after, says=says, at=at, short=short)


def _cell_key(t: Table, k: str, text: str, at: Place) -> str:
    known = {r[k] for r in t.rows}
    if text not in known:
        raise Fault("cell-word", at, f'no row of {t.id} has the {k} "{text}"', suggest(text, known))
    return text
