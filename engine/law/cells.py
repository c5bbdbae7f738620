"""Edits of a table: a cell struck and written anew, a row put in or taken out, typed as the table
has it.
"""

from __future__ import annotations

from typing import Any, TypeAlias

from ..basics.errors import Fault, Place, suggest
from ..basics.reading import place_of
from ..basics.units import parse_quantity
from ..language.knowledge import Material
from ..language.tables import Table
from .edits import CHANGES, Edit, came_through, copy_of
from .meanings import keys_text, row_text, serves

# A row of a table, or some keys of one: column -> number in base units, or word.
Cells: TypeAlias = dict[str, Any]


def amend_table(material: Material, edit: Edit) -> None:
    """Change one cell of a table, or put a row in or take one out.

    Raises:
        Fault: it cannot be done to the table as it is in force.
    """
    table = material.tables[edit.target]
    if "force" in edit.d:
        raise Fault(
            "edit-key",
            place_of(edit.d["force"], edit.at),
            f'{edit.target} is a table and takes no "force"',
            "write row:, column:, strike: and insert:",
        )
    if "insert row" in edit.d and "strike row" in edit.d:
        raise Fault(
            "edit-verb",
            edit.at,
            f"amend {edit.target} both inserts and strikes a row",
            "write two edits",
        )
    if "strike row" in edit.d:
        _strike_row(material, edit, table)
    elif "insert row" in edit.d:
        _insert_row(material, edit, table)
    else:
        _change_cell(material, edit, table)


def copied(table: Table) -> Table:
    """A copy of a table whose rows may be changed."""
    after = object.__new__(Table)
    after.__dict__.update(table.__dict__)
    # rows are changed in place below; the table of the base may be shared by other laws
    after.rows, after.lines, after._meaning = [*table.rows], [*table.lines], None
    return after


def _put(material: Material, edit: Edit, before: Table, after: Table, **done: object) -> None:
    """Put *after* in the place of *before*, citing the edit, and note what was *done*."""
    after.d = copy_of(before.d)
    came_through(after.d, edit)
    material.tables[edit.target] = after
    edit.done.update(direction=CHANGES, before=before, after=after, **done)


# ---- a cell --------------------------------------------------------------------------------------


def _change_cell(material: Material, edit: Edit, table: Table) -> None:
    column = str(edit.d.get("column", ""))
    _see_cell_is_named(edit, table, column)
    i = _find_row(table, edit.d.get("row"), edit)
    old, insert = table.rows[i][column], edit.d["insert"]
    _see_struck_stands(material, edit, table, (i, column))
    new = _value_cell(material, table, column, str(insert), place_of(insert, edit.at))
    after = copied(table)
    after.rows[i] = {**table.rows[i], column: new}
    after.lines[i] = place_of(insert, edit.at)
    where, was, comes = row_text(table, i), table.show(column, old), table.show(column, new)
    _put(
        material,
        edit,
        table,
        after,
        cell=(i, column),
        at=str(after.lines[i]),
        short=f"{edit.target}, {where}: {was} became {comes}",
        says=f"{edit.target}, row {where}: {column} {was} becomes {comes}." + serves(table, i),
    )


def _see_cell_is_named(edit: Edit, table: Table, column: str) -> None:
    """See that an edit of a cell says which, and what comes into it."""
    for need in ("row", "column", "strike", "insert"):
        if need not in edit.d:
            raise Fault(
                "edit-lacks",
                edit.at,
                f'amend {edit.target} does not say "{need}:"',
                "write row: {key: value}, column:, strike: and insert:",
            )
    if column not in table.values:
        raise Fault(
            "unknown-column",
            place_of(edit.d["column"], edit.at),
            f'table {edit.target} has no value column "{column}"',
            suggest(column, table.values),
        )


def _see_struck_stands(material: Material, edit: Edit, table: Table, cell: tuple[int, str]) -> None:
    """See that a cell says what is struck; an edit before may have changed it."""
    i, column = cell
    said, at = str(edit.d["strike"]), place_of(edit.d["strike"], edit.at)
    old = table.rows[i][column]
    if _value_cell(material, table, column, said, at) == old:
        return
    earlier = (o for o in material.trail.get(edit.target, ()) if o.done.get("cell") == cell)
    other = next(earlier, None)
    by = f", by {other.pack.where} (at {other.at})" if other else ""
    raise Fault(
        "struck-before" if other else "not-there",
        at,
        f'that cell of {edit.target} says {table.show(column, old)}, not "{said}"{by}',
        f"strike {table.show(column, old)} if that is meant",
    )


def _value_cell(material: Material, table: Table, column: str, text: str, at: Place) -> Any:
    """A cell's text, typed as the table has it: a row of a table must be one, a number has the
    column's unit.
    """
    what = table.values.get(column, "") or ""
    if what.startswith("row of "):
        other = material.tables[what[7:]]
        # a size may be one of several keys of its table: it is the one that rows are called by
        order = other.order("size" if "size" in other.keys else next(iter(other.keys)))
        if text not in order:
            raise Fault(
                "no-such-row", at, f'"{text}" is no row of {other.id}', suggest(text, order)
            )
        return text
    unit = table.unit(column)
    if unit:
        value = parse_quantity(text, unit, at)[0]
        others = [row[column] for row in table.rows if row[column] is not None]
        # a column that has numbers below nothing, as of temperatures, may have another
        if value < 0 and all(other >= 0 for other in others):
            raise Fault("negative", at, f'"{text}" is less than nothing', "take the sign away")
        return value
    known = {row[column] for row in table.rows}
    if text not in known and not table.takes_new_words:
        raise Fault(
            "cell-word",
            at,
            f'"{text}" is a word that column "{column}" of {table.id} never has',
            suggest(text, known),
        )
    return text


def _key_cell(table: Table, key: str, text: str, at: Place) -> Any:
    """A key's text, typed as the table has it: a word must be one that a row has, if the table
    takes no new ones.
    """
    unit = table.unit(key)
    if unit:
        return parse_quantity(text, unit, at)[0]
    known = {row[key] for row in table.rows}
    if text not in known and not table.takes_new_words:
        raise Fault(
            "cell-word", at, f'no row of {table.id} has the {key} "{text}"', suggest(text, known)
        )
    return text


# ---- a row ---------------------------------------------------------------------------------------


def _find_row(table: Table, row: object, edit: Edit) -> int:
    """The one row that has the keys that *row* gives."""
    at = place_of(row, edit.at)
    if not isinstance(row, dict):
        raise Fault(
            "edit-form",
            at,
            f'"row" of {edit.target} gives its keys',
            "write row: {" + ", ".join(f"{key}: ..." for key in table.keys) + "}",
        )
    want: Cells = {}
    for key, said in row.items():
        if key not in table.keys:
            raise Fault(
                "unknown-column",
                place_of(key, at),
                f'table {table.id} has no key "{key}"',
                suggest(str(key), table.keys),
            )
        want[str(key)] = _key_cell(table, str(key), str(said), place_of(said, at))
    found = [i for i, row in enumerate(table.rows) if _has(row, want)]
    if len(found) == 1:
        return found[0]
    # so many fit on a screen; who wants more opens the file
    near = (found or range(len(table.rows)))[:12]
    raise Fault(
        "no-such-row" if not found else "stands-twice",
        at,
        f"{len(found) or 'no'} rows of {table.id} are {keys_text(table, want)}",
        ("name more keys; " if found else "")
        + "rows here: "
        + "; ".join(row_text(table, i) for i in near)
        + (" ..." if len(near) == 12 else ""),
    )


def _has(row: Cells, want: Cells) -> bool:
    return all(row[key] == value for key, value in want.items())


def _strike_row(material: Material, edit: Edit, table: Table) -> None:
    i = _find_row(table, edit.d["strike row"], edit)
    after = copied(table)
    del after.rows[i], after.lines[i]
    _put(
        material,
        edit,
        table,
        after,
        says=f"{edit.target} no longer has the row {row_text(table, i)}.",
        at="every row",
        short=f"{edit.target} lost the row {row_text(table, i)}",
    )


def _insert_row(material: Material, edit: Edit, table: Table) -> None:
    said = edit.d["insert row"]
    at = place_of(said, edit.at)
    row = _new_row(material, edit, table, said)
    keys = {key: row[key] for key in table.keys}
    if any(_has(other, keys) for other in table.rows):
        raise Fault(
            "same-keys",
            at,
            f"{table.id} has a row {keys_text(table, keys)} already",
            "strike its cell: row:, column:, strike:, insert:",
        )
    after, i = copied(table), _where_it_goes(table, row)
    after.rows.insert(i, row)
    after.lines.insert(i, at)
    cells = ", ".join(f"{column} {table.show(column, row[column])}" for column in table.values)
    _put(
        material,
        edit,
        table,
        after,
        says=f"{edit.target} has a new row {row_text(after, i)}: {cells}." + serves(after, i),
        at=str(at),
        short=f"{edit.target} has a row {keys_text(table, keys)}",
    )


def _new_row(material: Material, edit: Edit, table: Table, said: object) -> Cells:
    """A whole row as an edit writes it, its cells in the order of the table."""
    columns = [*table.keys, *table.values]
    if not isinstance(said, dict) or {str(key) for key in said} != {*columns}:
        raise Fault(
            "edit-form",
            place_of(said, edit.at),
            f"a row of {table.id} has " + ", ".join(columns),
            "write insert row: {" + ", ".join(f"{column}: ..." for column in columns) + "}",
        )
    row: Cells = {}
    for column, text in said.items():
        name, at = str(column), place_of(text, edit.at)
        if name in table.values:
            row[name] = _value_cell(material, table, name, str(text), at)
        else:
            row[name] = _key_cell(table, name, str(text), at)
    # in the order of the table: what is compared and printed goes by it
    return {column: row[column] for column in columns}


def _where_it_goes(table: Table, row: Cells) -> int:
    """Where a new row stands: rows between which a look-up goes stay sorted."""
    moving = next((key for key, (how, _) in table.keys.items() if how != "exact"), None)
    if moving is None:
        return len(table.rows)
    others = {key: row[key] for key in table.keys if key != moving}
    alike = [i for i, other in enumerate(table.rows) if _has(other, others)]
    # among rows that are otherwise alike: elsewhere the same number is in another part of the table
    for i in alike:
        if table.rows[i][moving] > row[moving]:
            return i
    return alike[-1] + 1 if alike else len(table.rows)


# ---- the order of a column -----------------------------------------------------------------------


def out_of_order(after: Table, before: Table, row: Cells, column: str) -> str:
    """How a cell of a new row breaks the order in which its column rose or fell before; "" where it
    does not, or where there was none.
    """
    moving = next((key for key, (how, _) in after.keys.items() if how != "exact"), None)
    if moving is None:
        return ""
    others = {key: row[key] for key in after.keys if key != moving}
    then = [r[column] for r in before.rows if _has(r, others)]
    places = _ranks(after, column, [*then, row[column]])
    # of two rows any two numbers rise or fall, and nobody can mean an order by it
    if places is None or len(then) < 3:
        return ""
    was = [places[cell] for cell in then]
    # a column that never had an order is broken by no row
    way = 1 if was == sorted(was) else -1 if was == sorted(was, reverse=True) else 0
    rows = [r for r in after.rows if _has(r, others)]
    at = next(i for i, r in enumerate(rows) if r is row)
    beside = [(rows[at - 1], row)] if at else []
    beside += [(row, rows[at + 1])] if at + 1 < len(rows) else []
    for one, two in beside:
        if way * (places[two[column]] - places[one[column]]) < 0:
            return (
                f"{column} of {after.id} {'rises' if way > 0 else 'falls'} from row to row, and now"
                f" {after.show(moving, one[moving])} has {after.show(column, one[column])} and"
                f" {after.show(moving, two[moving])} has {after.show(column, two[column])}"
            )
    return ""


def _ranks(table: Table, column: str, cells: list[Any]) -> dict[Any, Any] | None:
    """What orders the cells of a column: numbers themselves, sizes by their area as it is written;
    None of words.
    """
    if None in cells:
        return None
    cells = [*cells, *(r[column] for r in table.rows if r[column] is not None)]
    if table.unit(column):
        return {cell: cell for cell in cells}
    if not table.values[column].startswith("row of "):
        return None
    ranks = {cell: _size_rank(str(cell)) for cell in cells}
    return None if None in ranks.values() else ranks


def _size_rank(size: str) -> float | None:
    """Where a wire size stands among others: 14 AWG before 12 AWG before 1/0 AWG before 250 kcmil.

    >>> [_size_rank(size) for size in ("14 AWG", "1 AWG", "2/0 AWG", "250 kcmil", "1/2")]
    [-14.0, -1.0, 1.0, 250.0, None]
    """
    number, _, unit = size.partition(" ")
    if unit == "kcmil":
        return float(number)
    if unit != "AWG":
        return None
    return float(number.split("/")[0]) - 1 if "/" in number else -float(number)
