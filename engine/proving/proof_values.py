"""The values of the proof check: ranges, answers in three values, rows of tables that are still
possible, and how a node writes them.

A number is (lowest, highest) in base, with no end where it is infinite; a word is text, yes and no
are True and False. What is not known is None, or WHOLE where it is a number.
"""

from __future__ import annotations

from collections import namedtuple
from fractions import Fraction as F
from math import inf, prod

from ..basics.units import POINT, POINTS, UNITS, dimension, number_text

NONE, NOTHING = "(none)", "(nothing)"  # told to be absent; what lies beyond something absent
# any number; SOME itself is an amount nobody knows anything of, not a range that was worked out
WHOLE, SOME = (
    (-inf, inf),
    (F(0), inf),
)
Many = namedtuple("Many", "ids open")  # a list of things


def arith(op: str, a, b):
    """Interval arithmetic. Zero times an unknown amount is zero; nothing is divided by what may be
    zero.
    """
    if op == "±":
        return arith("-", a, b)[0], arith("+", a, b)[1]
    (al, ah), (bl, bh) = a, b
    if op in "+-":
        return (al + bl, ah + bh) if op == "+" else (al - bh, ah - bl)
    if op == "÷":
        if bl < 0 <= bh or bl == 0 and bh in (0, inf):
            return WHOLE
        b = bl, bh = tuple(F(0) if abs(q) == inf else 1 / q if q else inf for q in (bh, bl))
    if (0, 0) in (a, b) and WHOLE not in (a, b):
        return F(0), F(0)
    if min(al, bl) < 0 and inf in (-al, ah, -bl, bh):
        return WHOLE
    corners = [p * q if p and q else F(0) for p in (al, ah) for q in (bl, bh)]
    return min(corners), max(corners)


def fold(fn: str, taken: list, open_: bool, default, least):
    """Total, count, smallest or largest of (surely counted?, amount); no amount is below
    *least*.
    """
    amounts, sure = [v for _, v in taken], [v for ok, v in taken if ok is True]
    if fn in ("total", "count"):
        low = sum((lo if ok is True else min(lo, 0) for ok, (lo, _) in taken), F(0))
        high = (
            inf if open_ else sum((hi if ok is True else max(hi, 0) for ok, (_, hi) in taken), F(0))
        )
        return low if high < inf or all(lo >= 0 for lo, _ in amounts) else -inf, high
    if not taken and not open_:
        return NOTHING if default is None else default
    if not sure and default is None:  # none of them may count, and then there is none
        return WHOLE
    # what it is where none counts
    spare = [] if sure else [WHOLE if default == NOTHING else default]
    if fn == "smallest":
        return -inf if open_ else min(lo for lo, _ in amounts + spare), min(
            (hi for _, hi in sure), default=inf
        )
    low = (
        max(lo for lo, _ in sure)
        if sure
        else min([lo for lo, _ in amounts + spare] + [least] * open_)
    )
    return low, inf if open_ else max(hi for _, hi in amounts + spare)


def compare(op: str, a, b):
    """Yes or no where the ranges decide it, None where they overlap."""
    if NOTHING in (a, b):
        return NOTHING
    least, most = a[0] - b[1], a[1] - b[0]  # the difference, as far as it is known
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


def both(vs: list):
    return False if False in vs or NOTHING in vs else None if None in vs else True


def either(vs: list):
    return True if True in vs else None if None in vs else False


def opposite(v):
    return v if v in (None, NOTHING) else not v


def near(points: list, q: F, up: bool):
    """The next of the ascending *points* at or above (below) *q*; endlessly far where there is
    none.
    """
    return (
        next((p for p in points if p >= q), inf)
        if up
        else next((p for p in reversed(points) if p <= q), -inf)
    )


def find(t, rows: list[dict], keys: dict) -> list[dict]:
    """The rows of a table that are still possible; an empty one stands for what lies off the
    table.
    """
    for k, (how, _) in t.keys.items():
        v, up = keys.get(k), how == "next row up"
        if isinstance(v, tuple) and how != "exact":
            points = sorted({r[k] for r in rows if r})
            first, last = (near(points, q, up) for q in v)
            rows = (
                [r for r in rows if r and first <= r[k] <= last] + [{}] * (inf in (-first, last))
                if abs(first if up else last) < inf
                else []
            )
        elif v is not None:
            lo, hi = v if isinstance(v, tuple) else (v, v)
            # or between two rows
            rows = [r for r in rows if not r or lo <= r[k] <= hi] + [{}] * (lo != hi)
    return rows


def cell_of(rows: list[dict], column: str, t: tuple):
    """What the rows still possible agree on."""
    values = list(dict.fromkeys(r.get(column) for r in rows))
    if t[0] == "q":
        return (
            (min(values), max(values))
            if values and None not in values
            else SOME
            if len(values) > 1 and t[1] != POINT
            else WHOLE
        )
    v = values[0] if len(values) == 1 else None
    return v == "yes" if t[0] == "flag" and v is not None else v


def measure(unit: str, t: tuple) -> tuple:
    """(factor, offset) of the unit of a number of type *t*; where it has no name it is put
    together, as A·V^2/in.
    """
    known = unit in UNITS or unit in POINTS
    if known and dimension(unit) == t[1]:
        return POINTS.get(unit) or (UNITS[unit][0], 0)
    up, down = (
        [b if abs(n) == 1 else f"{b}^{abs(n)}" for b, n in t[1] if n * sign > 0] for sign in (1, -1)
    )
    if known or unit != "/".join(["·".join(up) or "1", *down]):
        raise ValueError(f'"{unit}" does not measure this')
    return prod(UNITS[{"K": "C°", "deg": "°"}.get(b, b)][0] ** n for b, n in t[1]), 0


def text(v, t: tuple, unit: str | None) -> str:
    """A value of type *t* as a node has it, in *unit*."""
    if t[0] != "q" and unit:
        raise ValueError(f"{unit} belongs to a number")
    factor, offset = measure(unit, t) if t[0] == "q" else (1, 0)
    if v is None or v is SOME or v == WHOLE:
        return "unknown"
    if isinstance(v, tuple) and t[0] == "q":
        ends = ["" if abs(q) == inf else number_text((q - offset) / factor, True) for q in v]
        return ends[0] if v[0] == v[1] else "..".join(ends)
    return (
        ", ".join(v.ids)
        if isinstance(v, Many)
        else {True: "yes", False: "no", NONE: "none", NOTHING: "none"}.get(v, v)
    )


def label(t, row: dict) -> str:
    """What a row of a table is called."""
    return ", ".join(t.show(k, row[k]) for k in t.keys)
