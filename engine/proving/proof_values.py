"""The values of the proof check: ranges, answers in three values, rows of tables that are still
possible, and how a node writes them.

A number is (lowest, highest) in base, with no end where it is infinite; a word is text, yes and no
are True and False. What is not known is None, or WHOLE where it is a number.
"""

from __future__ import annotations

from fractions import Fraction as F
from math import inf, prod
from typing import Any, NamedTuple, TypeAlias

from ..basics.units import POINT, POINTS, UNITS, dimension, number_text

NONE, NOTHING = "(none)", "(nothing)"  # told to be absent; what lies beyond something absent

Amount: TypeAlias = tuple[Any, Any]  # its two ends: fractions, or endless
# True, False, None where it is not known; NOTHING where nothing is compared
Answer: TypeAlias = Any
Value: TypeAlias = Any  # an amount, an answer, a word, a `Many`, None, NONE or NOTHING
Type: TypeAlias = tuple[Any, ...]  # as in words.py; ("word",) for text of a table
Row: TypeAlias = dict[str, Any]  # a row of a table; an empty one stands for what lies off it
Knowledge: TypeAlias = Any  # what is in force: read as data, and never asked to work anything out
Table: TypeAlias = Any  # a table in force, likewise

# any number; SOME itself is an amount nobody knows anything of, not a range that was worked out
WHOLE: Amount = (-inf, inf)
SOME: Amount = (F(0), inf)
ZERO: Amount = (F(0), F(0))


class Many(NamedTuple):
    """A list of things, by their ids; *open* where it may hold more."""

    ids: tuple[str, ...]
    open: bool


# ---- numbers


def arith(op: str, a: Amount, b: Amount) -> Amount:
    """Interval arithmetic. Zero times an unknown amount is zero; nothing is divided by what may be
    zero.
    """
    (al, ah), (bl, bh) = a, b
    if op == "±":
        return al - bh, ah + bh
    if op == "+":
        return al + bl, ah + bh
    if op == "-":
        return al - bh, ah - bl
    if op == "÷":
        if may_be_zero(b):
            return WHOLE
        b = inverted(bh), inverted(bl)
    return product_of(a, b)


def may_be_zero(b: Amount) -> bool:
    """Is a divisor one that nothing can be said of: may it be zero, or any amount from zero up?"""
    low, high = b
    return low < 0 <= high or (low == 0 and high in (0, inf))


def inverted(end: Any) -> Any:
    """One over an end of a range; endless over zero, zero over an endless one."""
    if abs(end) == inf:
        return F(0)
    return 1 / end if end else inf


def product_of(a: Amount, b: Amount) -> Amount:
    """The product of two ranges: it lies between the products of their ends."""
    if (0, 0) in (a, b) and WHOLE not in (a, b):
        return ZERO
    ends = (*a, *b)
    if min(a[0], b[0]) < 0 and (inf in ends or -inf in ends):
        return WHOLE
    # zero times endless is zero here, and no number to Python
    corners = [p * q if p and q else F(0) for p in a for q in b]
    return min(corners), max(corners)


def fold(
    fn: str, taken: list[tuple[Answer, Amount]], open_: bool, default: Value, least: Any
) -> Value:
    """Total, count, smallest or largest of (surely counted?, amount); no amount is below
    *least*.
    """
    if fn in ("total", "count"):
        return total(taken, open_)
    if not taken and not open_:
        return NOTHING if default is None else default
    sure = [amount for counts, amount in taken if counts is True]
    # none of them may count, and then there is none
    if not sure and default is None:
        return WHOLE
    # what it is where none counts
    spare = [] if sure else [WHOLE if default == NOTHING else default]
    every = [amount for _, amount in taken] + spare
    return smallest(sure, every, open_) if fn == "smallest" else largest(sure, every, open_, least)


def smallest(sure: list[Amount], every: list[Amount], open_: bool) -> Amount:
    """The smallest of amounts of which the *sure* ones count for certain."""
    low = -inf if open_ else min(low for low, _ in every)
    return low, min((high for _, high in sure), default=inf)


def largest(sure: list[Amount], every: list[Amount], open_: bool, least: Any) -> Amount:
    """The largest of amounts of which the *sure* ones count for certain."""
    lows = [low for low, _ in every] + [least] * open_
    low = max(low for low, _ in sure) if sure else min(lows)
    return low, inf if open_ else max(high for _, high in every)


def total(taken: list[tuple[Answer, Amount]], open_: bool) -> Amount:
    """The total of (surely counted?, amount); what may not count adds at most itself, and at least
    nothing.
    """
    low = sum((lo if sure is True else min(lo, 0) for sure, (lo, _) in taken), F(0))
    high = sum((hi if sure is True else max(hi, 0) for sure, (_, hi) in taken), F(0))
    if not open_ and high < inf:
        return low, high
    # what is not listed or has no end may make up for what is below zero
    return low if all(lo >= 0 for _, (lo, _) in taken) else -inf, inf


# ---- answers


def compare(op: str, a: Value, b: Value) -> Answer:
    """Yes or no where the ranges decide it, None where they overlap."""
    if NOTHING in (a, b):
        return NOTHING
    # the difference, as far as it is known
    least, most = a[0] - b[1], a[1] - b[0]
    same, apart = least == most == 0, least > 0 or most < 0
    yes, no = {
        ">=": (least >= 0, most < 0),
        "<": (most < 0, least >= 0),
        ">": (least > 0, most <= 0),
        "<=": (most <= 0, least > 0),
        "=": (same, apart),
        "!=": (apart, same),
    }[op]
    return True if yes else False if no else None


def both(answers: list[Answer]) -> bool | None:
    """Are all of them so? What lies beyond something absent is not."""
    if False in answers or NOTHING in answers:
        return False
    return None if None in answers else True


def either(answers: list[Answer]) -> bool | None:
    """Is one of them so?"""
    if True in answers:
        return True
    return None if None in answers else False


def opposite(answer: Answer) -> Answer:
    """The other answer; what is not known or lies beyond something absent stays so."""
    return answer if answer in (None, NOTHING) else not answer


# ---- tables


def near(points: list[Any], q: Any, up: bool) -> Any:
    """The next of the ascending *points* at or above (below) *q*; endlessly far where there is
    none.
    """
    if up:
        return next((p for p in points if p >= q), inf)
    return next((p for p in reversed(points) if p <= q), -inf)


def find(table: Table, rows: list[Row], keys: dict[str, Value]) -> list[Row]:
    """The rows of a table that are still possible; an empty one stands for what lies off the
    table.
    """
    for key, (how, _) in table.keys.items():
        v = keys.get(key)
        if isinstance(v, tuple) and how != "exact":
            rows = rows_between(rows, key, v, how == "next row up")
        elif v is not None:
            low, high = v if isinstance(v, tuple) else (v, v)
            # or between two rows
            off: list[Row] = [{}] if low != high else []
            rows = [row for row in rows if not row or low <= row[key] <= high] + off
    return rows


def rows_between(rows: list[Row], key: str, amount: Amount, up: bool) -> list[Row]:
    """The rows that an amount may lead to by a key that goes to the next row up, or down."""
    points = sorted({row[key] for row in rows if row})
    first, last = (near(points, end, up) for end in amount)
    if abs(first if up else last) == inf:
        return []
    off: list[Row] = [{}] if inf in (-first, last) else []
    return [row for row in rows if row and first <= row[key] <= last] + off


def cell_of(rows: list[Row], column: str, t: Type) -> Value:
    """What the rows still possible agree on."""
    values = list(dict.fromkeys(row.get(column) for row in rows))
    if t[0] == "q":
        known = [v for v in values if v is not None]
        if values and len(known) == len(values):
            return min(known), max(known)
        return SOME if len(values) > 1 and t[1] != POINT else WHOLE
    v = values[0] if len(values) == 1 else None
    return v == "yes" if t[0] == "flag" and v is not None else v


def label(table: Table, row: Row) -> str:
    """What a row of a table is called."""
    return ", ".join(table.show(key, row[key]) for key in table.keys)


# ---- how a node writes it


def measure(unit: str | None, t: Type) -> tuple[F, F | int]:
    """(factor, offset) of the unit of a number of type *t*; where it has no name it is put
    together, as A·V^2/in.

    Raises:
        ValueError: the unit does not measure this.
    """
    known = unit in UNITS or unit in POINTS
    if unit is not None and known and dimension(unit) == t[1]:
        return POINTS.get(unit) or (UNITS[unit][0], 0)
    up, down = (
        [b if abs(n) == 1 else f"{b}^{abs(n)}" for b, n in t[1] if n * sign > 0] for sign in (1, -1)
    )
    if known or unit != "/".join(["·".join(up) or "1", *down]):
        raise ValueError(f'"{unit}" does not measure this')
    bases = {"K": "C°", "deg": "°"}
    return prod((UNITS[bases.get(b, b)][0] ** n for b, n in t[1]), start=F(1)), 0


def text(v: Value, t: Type, unit: str | None) -> str:
    """A value of type *t* as a node has it, in *unit*.

    Raises:
        ValueError: the unit does not measure this.
    """
    if t[0] != "q" and unit:
        raise ValueError(f"{unit} belongs to a number")
    factor, offset = measure(unit, t) if t[0] == "q" else (1, 0)
    if v is None or v is SOME or v == WHOLE:
        return "unknown"
    if isinstance(v, tuple) and t[0] == "q":
        ends = ["" if abs(q) == inf else number_text((q - offset) / factor, True) for q in v]
        return ends[0] if v[0] == v[1] else "..".join(ends)
    if isinstance(v, Many):
        return ", ".join(v.ids)
    return str({True: "yes", False: "no", NONE: "none", NOTHING: "none"}.get(v, v))
