"""How values, things and lines are said: as exact text for machines, and as people read them."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any, TypeAlias, TypeGuard

from ..basics.sentinels import NONE, NOTHING
from ..basics.units import POINTS, UNITS, Number, Range, in_unit, number_text, show_number
from ..language import expressions as ex
from ..language.expressions import as_word
from ..language.things import Thing, members
from ..language.things import unit_shown as unit_shown

Value: TypeAlias = Any  # whatever a cell or an evaluation may be (`sentinels` lists what is none)
Member: TypeAlias = Any  # a thing of a list, a row of a table, or None where neither is looked at

# unit of a product that has no name, as in V/in: how much it is in base
PUT_TOGETHER: dict[str, Fraction] = {}
# what a dimension calls the unit that stands for it in a product
BASES = {"K": "C°", "deg": "°"}


# ---- values


def unit_of(expression: ex.Expr) -> str | None:
    """The unit a piece of a line is shown in; put together of V, A, in and the like where it has no
    name.
    """
    if expression.t[0] != "q" or expression.unit:
        return expression.unit
    dimension = expression.t[1]
    up, down = (
        [b if abs(n) == 1 else f"{b}^{abs(n)}" for b, n in dimension if n * sign > 0]
        for sign in (1, -1)
    )
    name = "/".join(["·".join(up) or "1", *down])
    PUT_TOGETHER[name] = math.prod(
        (UNITS[base if base in UNITS else BASES[base]][0] ** power for base, power in dimension),
        start=Fraction(1),
    )
    return name


def measured(value: Number, unit: str | None) -> Fraction:
    """A base value as a number of *unit*."""
    if unit in PUT_TOGETHER:
        return Fraction(value) / PUT_TOGETHER[unit]
    return in_unit(value, unit)


def scale(unit: str | None) -> Fraction:
    """How much one of *unit* (one degree of it) is in base.

    >>> scale("ft")
    Fraction(12, 1)
    """
    if unit is None:
        return Fraction(1)
    if unit in UNITS:
        return UNITS[unit][0]
    if unit in POINTS:
        return POINTS[unit][0]
    return PUT_TOGETHER.get(unit, Fraction(1))


def plain(value: Value) -> TypeGuard[Number]:
    """Is this one known number?

    >>> plain(Fraction(3)), plain(None), plain("yes"), plain(Range(1, 2))
    (True, False, False, False)
    """
    return (
        value is not None
        and value is not NOTHING
        and value is not NONE
        and not isinstance(value, (Range, str, bool, list))
    )


def exact_text(value: Value, unit: str | None = None) -> str:
    """A value as exact text: numbers in *unit* as decimals or fractions, ranges as `a..b`.

    >>> exact_text(Fraction(18), "ft"), exact_text(Range(Fraction(6), None)), exact_text(None)
    ('1.5', '6..', 'unknown')
    """
    word = as_word(value)
    if word is not None:
        return word
    if isinstance(value, Range):
        low, high = (
            "" if end is None else number_text(measured(end, unit), True)
            for end in (value.lo, value.hi)
        )
        return f"{low}..{high}"
    if isinstance(value, list):
        if _is_thing(value):
            return str(value[0].id)
        return ", ".join(thing[0].id for thing in members(value))
    return number_text(measured(value, unit), True)


def _is_thing(value: list[Any]) -> bool:
    # a thing is a bare list of cells; the lists of a job are of classes of their own
    return bool(value) and type(value) is list


def show(value: Value, unit: str | None = None, full: bool = False, brief: bool = False) -> str:
    """A value as people read it.

    >>> show(Fraction(18), "ft"), show(Range(None, Fraction(12)), "ft"), show(True)
    ('1.5 ft', '1 ft or less', 'yes')
    """
    word = as_word(value)
    if word is not None:
        return word
    if isinstance(value, Range):
        return _show_range(value, unit, full, brief)
    if isinstance(value, list):
        is_thing = bool(value) and hasattr(value[0], "kind")
        return str(value[0].name) if is_thing else f"{len(members(value))} listed"
    return amount(value, unit, full, brief)


def _show_range(value: Range, unit: str | None, full: bool, brief: bool) -> str:
    ends = [amount(end, unit, full, brief) for end in (value.lo, value.hi) if end is not None]
    if value.hi is None:
        return f"{ends[0]} or more"
    if value.lo is None:
        return f"{ends[0]} or less"
    low, high = ends
    # the two ends of a root lie closer together than is shown
    if low == high:
        return low
    return f"{low.removesuffix(' ' + unit) if unit else low} to {high}"


def amount(value: Number, unit: str | None, full: bool = False, brief: bool = False) -> str:
    """One number as people read it.

    >>> amount(Fraction(30), "A")
    '30 A'
    """
    if unit in PUT_TOGETHER:
        return f"{number_text(measured(value, unit), full, brief)} {unit}"
    return show_number(value, unit, full, brief)


# ---- things and facts


def phrase(said: str, value: str) -> str:
    """What the vocabulary says of a value.

    >>> phrase("carries {}", "55 A"), phrase("long runs | short runs", "no")
    ('carries 55 A', 'short runs')
    """
    if "|" in said:
        yes, no = (part.strip() for part in said.split("|"))
        return yes if value == "yes" else no
    return said.replace("{}", value)


def unit_as_written(expression: ex.Expr, thing: Thing, member: Member = None) -> str | None:
    """The unit a piece of a line is shown in: as the fact was written, where it is one."""
    return expression.unit_on(thing, member)


def short(thing: Thing) -> str:
    """How a person would call a thing: `kiln conductors`, `segment 2 of the kiln circuit`."""
    meta = thing[0]
    if meta.id == "job":
        return "the job"
    called, tried, row = meta.id.partition("@")
    parts = called.split(".")
    # the job's only one of its kind
    if len(parts) == 1:
        return str(meta.id)
    behind = f" at {row}" if tried else ""
    return _short_name(parts, meta.kind, _of_a_lone_whole(meta)) + behind


def _of_a_lone_whole(meta: Any) -> bool:
    """Is it part of a thing of which the job has only one?"""
    return meta.whole is not None and "." not in meta.whole[0].id and meta.whole[0].id != "job"


def _short_name(parts: list[str], kind: str, of_a_lone_whole: bool) -> str:
    """The name in the pieces of a thing's id; *kind* goes before what is only numbered."""
    if of_a_lone_whole:
        return f"{parts[0]} {parts[-1]}"
    if len(parts) == 2:
        return f"{kind} {parts[1]}" if parts[1].isdigit() else parts[1]
    if parts[0] != "circuits":
        return " ".join(parts[1:])
    if parts[-1].isdigit():
        return f"{parts[1]} {parts[-2].rstrip('s')} {parts[-1]}"
    return f"{parts[1]} {parts[-1]}"


# ---- lines


def say(expression: ex.Expr, thing: Thing, member: Member = None) -> str:
    """A line with its values filled in."""
    return expression.say(show, thing, member)
