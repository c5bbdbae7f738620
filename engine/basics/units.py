"""Exact numbers with units, ranges, and arithmetic that knows the unknown.

A number is a ``Decimal`` where it terminates and a ``Fraction`` where it does not; both compare
exactly and neither is ever a float. Values are kept in bases chosen so that every unit's factor
terminates: a third of a volt (an ohm per thousand feet is three twelve-thousandths of a base), a
ninth of a Celsius degree (both degrees are whole numbers of it). Factors: NIST SP 811, appendix B;
checked against pint in the tests.
"""

from __future__ import annotations

import datetime
import decimal
import functools
import re
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from math import gcd, isqrt
from typing import Any, TypeAlias

from .errors import NOWHERE, Fault, Place, suggest
from .limits import DIGITS, VALUE
from .sentinels import NOTHING, NothingThere

# Every operation in this context is exact or raises: the fast path leaves the rest to the general
# evaluator.
EXACT = decimal.Context(
    prec=60,
    Emax=10**6,
    Emin=-(10**6),
    traps=[decimal.Inexact, decimal.InvalidOperation, decimal.DivisionByZero, decimal.Overflow],
)
Number: TypeAlias = Decimal | Fraction
# (base, power) pairs, sorted; POINT for a temperature and DAY for a date, which have no powers
Dimension: TypeAlias = tuple[Any, ...]
# what is known of a quantity: a number, a range, not known, or what lies beyond a `none`
Quantity: TypeAlias = "Number | Range | NothingThere | None"
# an answer to a test: yes, no, not known, or a test on what lies beyond a `none`
Truth: TypeAlias = bool | NothingThere | None
MOST_BITS = VALUE * 10 // 3  # ten bits are three digits
POINT: Dimension = ("temperature",)
NONE_DIM: Dimension = ()
DAY: Dimension = ("day",)  # of the calendar: compared, never added

_F = Fraction
UNITS: dict[str, tuple[Fraction, Dimension]] = {}
for _names, _factor, _dims in [
    ("A", _F(1), {"A": 1}),
    ("mA", _F(1, 1000), {"A": 1}),
    ("kA", _F(1000), {"A": 1}),
    ("V", _F(3), {"V": 1}),
    ("VA W", _F(3), {"A": 1, "V": 1}),
    ("kVA kW", _F(3000), {"A": 1, "V": 1}),
    ("Ω", _F(3), {"V": 1, "A": -1}),
    ("mΩ", _F(3, 1000), {"V": 1, "A": -1}),
    ("MΩ", _F(3000000), {"V": 1, "A": -1}),
    ("Ω/kft", _F(3, 12000), {"V": 1, "A": -1, "in": -1}),
    ("hp", _F(1), {"hp": 1}),
    ("in", _F(1), {"in": 1}),
    ("ft", _F(12), {"in": 1}),
    ("in²", _F(1), {"in": 2}),
    ("ft²", _F(144), {"in": 2}),
    ("in³", _F(1), {"in": 3}),
    ("cmil", _F(1), {"cmil": 1}),
    ("C°", _F(9), {"K": 1}),
    ("F°", _F(5), {"K": 1}),
    ("per_F°", _F(1, 5), {"K": -1}),
    ("s", _F(1), {"s": 1}),
    ("min", _F(60), {"s": 1}),
    ("min/ft", _F(60, 12), {"s": 1, "in": -1}),
    ("h", _F(3600), {"s": 1}),
    ("°", _F(1), {"deg": 1}),
    ("lb-in", _F(1), {"lb-in": 1}),
    ("count", _F(1), {}),
    ("%", _F(1, 100), {}),
]:
    for _n in _names.split():
        UNITS[_n.replace("_", " ")] = (_factor, tuple(sorted(_dims.items())))
# base = factor × degrees + offset
POINTS = {
    "°C": (_F(9), _F(0)),
    "°F": (_F(5), _F(-160)),
    "date": (_F(1), _F(0)),
}
SHOWN_AS = {POINT: "°C", DAY: "date", NONE_DIM: "count"}
for _n, (_f, _d) in UNITS.items():
    SHOWN_AS.setdefault(_d, _n)

# What people write for a unit. One meaning each.
WRITTEN = {
    "amp": "A",
    "amps": "A",
    "ampere": "A",
    "amperes": "A",
    "a": "A",
    "milliamps": "mA",
    "ma": "mA",
    "ka": "kA",
    "volt": "V",
    "volts": "V",
    "v": "V",
    "vac": "V",
    "watt": "W",
    "watts": "W",
    "w": "W",
    "va": "VA",
    "kw": "kW",
    "kva": "kVA",
    "kilowatts": "kW",
    "ohm": "Ω",
    "ohms": "Ω",
    "milliohm": "mΩ",
    "milliohms": "mΩ",
    "mohm": "mΩ",
    "megohm": "MΩ",
    "megohms": "MΩ",
    "Mohm": "MΩ",
    "Mohms": "MΩ",
    "MOhm": "MΩ",
    "MOhms": "MΩ",
    "mohms": "mΩ",
    "feet": "ft",
    "foot": "ft",
    "'": "ft",
    "’": "ft",
    "′": "ft",
    "inch": "in",
    "inches": "in",
    '"': "in",
    "”": "in",
    "″": "in",
    "in2": "in²",
    "sq in": "in²",
    "in^2": "in²",
    "ft2": "ft²",
    "sq ft": "ft²",
    "ft^2": "ft²",
    "square feet": "ft²",
    "in3": "in³",
    "cu in": "in³",
    "in^3": "in³",
    "cubic inches": "in³",
    "f": "°F",
    "F": "°F",
    "deg f": "°F",
    "deg F": "°F",
    "degf": "°F",
    "degrees f": "°F",
    "degrees F": "°F",
    "ºF": "°F",
    "c": "°C",
    "C": "°C",
    "deg c": "°C",
    "deg C": "°C",
    "degc": "°C",
    "degrees c": "°C",
    "degrees C": "°C",
    "ºC": "°C",
    "percent": "%",
    "HP": "hp",
    "horsepower": "hp",
    "˚F": "°F",
    "˚C": "°C",
    "° F": "°F",
    "° C": "°C",
    "\u2126": "Ω",
    "hours": "h",
    "hour": "h",
    "seconds": "s",
    "degrees": "°",
    "deg": "°",
    "in-lb": "lb-in",
}


# No unit here, and an ordinance may give them: how one is written in a unit that is.
METRIC = {
    w: f"write it in in or ft: 1 in is {inch}"
    for inch, ws in {
        "25.4 mm": "mm millimeter millimeters",
        "2.54 cm": "cm centimeter centimeters",
        "0.0254 m": "m meter meters",
    }.items()
    for w in ws.split()
}


def exact(q: Fraction) -> Number:
    """*q* as a terminating decimal where it is one, unchanged where it is not.

    >>> exact(Fraction(3, 8))
    Decimal('0.375')
    >>> exact(Fraction(1, 3))
    Fraction(1, 3)
    """
    return _ratio(q.numerator, q.denominator)


def _ratio(n: int, d: int) -> Number:
    """*n* over *d* (positive), which share no factor, as a terminating decimal where it is one."""
    if d == 1:
        return Decimal(n)
    # without its twos
    rest = d >> ((d & -d).bit_length() - 1)
    while rest % 5 == 0:
        rest //= 5
    if rest == 1:
        try:
            return EXACT.divide(Decimal(n), Decimal(d))
        except decimal.DecimalException:
            pass
    return Fraction(n, d)


def multiply_dims(a: Dimension, b: Dimension, sign: int = 1) -> Dimension:
    """The dimension of a product (*sign* 1) or a quotient (*sign* -1).

    >>> multiply_dims(dimension("V"), dimension("A")) == dimension("W")
    True
    >>> multiply_dims(dimension("V"), dimension("A"), -1) == dimension("Ω")
    True
    """
    powers = dict(a)
    for base, power in b:
        powers[base] = powers.get(base, 0) + sign * power
    return tuple(sorted((base, power) for base, power in powers.items() if power))


def dimension(unit: str) -> Dimension:
    """What *unit* measures.

    >>> dimension("kVA")
    (('A', 1), ('V', 1))
    >>> dimension("°F")
    ('temperature',)
    """
    if unit == "date":
        return DAY
    return POINT if unit in POINTS else UNITS[unit][1]


def to_base(q: Fraction, unit: str) -> Number:
    """*q* of *unit* in the base of its dimension.

    >>> to_base(Fraction(2), "ft")
    Decimal('24')
    >>> to_base(Fraction(86), "°F") == to_base(Fraction(30), "°C")
    True
    """
    if unit in POINTS:
        factor, offset = POINTS[unit]
        return exact(q * factor + offset)
    return exact(q * UNITS[unit][0])


def in_unit(value: Number, unit: str | None) -> Fraction:
    """A base value as a number of *unit*.

    >>> in_unit(Decimal(24), "ft")
    Fraction(2, 1)
    """
    if not unit:
        return Fraction(value)
    if unit in POINTS:
        factor, offset = POINTS[unit]
        return (Fraction(value) - offset) / factor
    return Fraction(value) / UNITS[unit][0]


_QUANTITY = re.compile(
    r"\s*([-+]?)\s*(\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+\.(?!\d)|\d*\.?\d+)(?:\s*[-"
    r" ]\s*(\d+)\s*/\s*(\d+)|\s*/\s*(\d+))?\s*(\D.*)?\s*"
)
_FEET_INCHES = re.compile(
    r"\s*(\d+)\s*(?:ft|feet|foot|'|’|′)\.?\s*(\d+(?:\.\d+)?)(?:["
    r" -](\d+)/(\d+))?\s*(?:inches|inch|in|\"|”|″)\.?\s*"
)
_NOT_FINITE = re.compile(r"[-+]?\s*\.?(nan|inf|infinity)\b.*", re.I)


def number_of(text: str, unit: str, at: Place = NOWHERE) -> Number:
    """The base value of a cell of a table, as `parse_quantity`: a number without a unit is in
    *unit*.

    Raises:
        Fault: the cell is no quantity, or measures something else.

    >>> number_of("1-1/4", "in")
    Decimal('1.25')
    """
    try:
        return _cell(str(text), unit)
    except Fault:  # told again, with its place
        return parse_quantity(text, unit, at, bare=True)[0]


@functools.lru_cache(5000)
def _cell(text: str, unit: str) -> Number:
    return parse_quantity(text, unit, bare=True)[0]


def parse_quantity(
    text: str, unit: str, at: Place = NOWHERE, bare: bool = False
) -> tuple[Number, str]:
    """Read ``35 ft``, ``35'``, ``6 ft 7 in``, ``1-1/2 hp``, ``30 amps``, ``80 F``: the base value,
    and the unit written.

    *unit* is the unit the fact is kept in. A number without a unit is taken only where *bare*
    (tables) or where the fact is a count.

    Raises:
        Fault: *text* is no quantity, or measures something else.

    >>> parse_quantity("6 ft 7 in", "ft")
    (Decimal('79'), 'in')
    >>> parse_quantity("30 amps", "A")
    (Decimal('30'), 'A')
    >>> parse_quantity("30", "A")
    Traceback (most recent call last):
    whywire.engine.basics.errors.Fault: ?:1:1: "30" has no unit
        write 30 A
    """
    text = str(text)
    if unit == "date":
        return Decimal(day(text, at).toordinal()), unit
    if len(text) > DIGITS:
        raise Fault(
            "number-too-long",
            at,
            f"a number of {len(text)} characters is not read",
            f"write it in {unit}",
        )
    inches = _inches(text) if unit in ("ft", "in") else None
    if inches is not None:
        return inches, "in"
    said = _QUANTITY.fullmatch(text)
    if said is None:
        todo = _example(unit)
        if _NOT_FINITE.fullmatch(text.strip()):
            todo = "a number that is not finite is unknown: leave the line out"
        raise Fault("not-a-quantity", at, f'"{text}" is not a quantity', todo)
    amount = _amount(said, unit, at)
    written = (said[6] or "").strip().rstrip(".")
    if written:
        meant = _unit_meant(text, written, unit, at)
    elif bare or unit == "count":
        meant = unit
    else:
        raise Fault("unit-missing", at, f'"{text}" has no unit', _lacking(text, amount, unit))
    return to_base(amount, meant), meant


def _inches(text: str) -> Number | None:
    """Feet and inches, in inches: what is written so is read by nothing else."""
    said = _FEET_INCHES.fullmatch(text)
    if said is None:
        return None
    feet, inches, top, bottom = said.groups()
    whole = Fraction(feet) * 12 + Fraction(inches)
    if not bottom:
        return exact(whole)
    return exact(whole + Fraction(int(top), int(bottom))) if int(bottom) else None


def _amount(said: re.Match[str], unit: str, at: Place) -> Fraction:
    """The number of a quantity: 1,500, 1-1/2, 3/4."""
    sign, whole, top, bottom, under, _ = said.groups()
    amount = Fraction(whole.replace(",", "").rstrip("."))
    if any(part is not None and int(part) == 0 for part in (bottom, under)):
        what = f'"{said.string}" divides by zero'
        raise Fault("division-by-zero", at, what, _example(unit))
    if bottom:
        amount += Fraction(int(top), int(bottom))
    elif under:
        amount /= int(under)
    return -amount if sign == "-" else amount


def _lacking(text: str, amount: Fraction, unit: str) -> str:
    """What to do about a number without a unit."""
    # one of the two is a hundredfold slip, and who wrote it knows which
    if unit == "%" and 0 < amount < 1:
        share = show_number(amount, unit, full=True)
        return f"{share} or {text.strip()} %? Write the one that is meant"
    return f"write {text.strip()} {unit}" + (" (or °F)" if unit == "°C" else "")


def _unit_meant(text: str, written: str, unit: str, at: Place) -> str:
    """The unit that is written, which must measure what *unit* does."""
    meant = unit_of(written)
    if meant is None:
        todo = _odd_number(text, written, unit)
        if todo:
            raise Fault("not-a-quantity", at, f'"{text}" is not one plain number', todo)
        what = f'"{text}": no unit is called "{written}"'
        raise Fault("unknown-unit", at, what, _units_like(written, unit))
    if dimension(meant) != dimension(unit):
        what = f'"{text}" is in {meant}, and this is kept in {unit}'
        raise Fault("wrong-unit", at, what, f"write it in {unit}")
    return meant


def day(text: str, at: Place = NOWHERE) -> datetime.date:
    """A day of the calendar, written 2025-09-02: 9/2/2025 has two readings.

    Raises:
        Fault: *text* is no such day.

    >>> day("2025-09-02")
    datetime.date(2025, 9, 2)
    """
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        raise Fault("date-form", at, f'"{text}" is not a date', "write the date as 2025-09-02")
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise Fault(
            "no-such-date",
            at,
            f'"{text}" is no day of the calendar',
            "write the date as 2025-09-02",
        ) from None


def _calendar_day(text: str, year: int, month: int, number: int, at: Place) -> datetime.date:
    try:
        return datetime.date(year, month, number)
    except ValueError:
        what = f'"{text}" is no day of the calendar'
        raise Fault("no-such-date", at, what, "write the date as 2025-09-02") from None


MONTHS = "jan feb mar apr may jun jul aug sep oct nov dec".split()


def said_day(text: str, at: Place = NOWHERE) -> datetime.date:
    """A day as people write it: 2025-09-02, Sept 2, 2025, 9/25/2025. Of 9/2/2025 it is asked which
    of its two readings is meant.

    Raises:
        Fault: *text* is no such day, or may be two.

    >>> said_day("Sept 2, 2025"), said_day("9/25/2025")
    (datetime.date(2025, 9, 2), datetime.date(2025, 9, 25))
    >>> said_day("3/2/2026")
    Traceback (most recent call last):
    whywire.engine.basics.errors.Fault: ?:1:1: "3/2/2026" may be 2 March or 3 February
        write 2026-03-02 or 2026-02-03
    """
    text = text.strip()
    named = re.fullmatch(r"([A-Za-z]{3,9})\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})", text)
    turned = re.fullmatch(r"(\d{1,2})(?:st|nd|rd|th)?\s+([A-Za-z]{3,9})\.?,?\s+(\d{4})", text)
    month = (named[1] if named else turned[2] if turned else "")[:3].lower()
    if month in MONTHS:
        said = named or turned
        assert said is not None
        number = named[2] if named else said[1]
        return _calendar_day(text, int(said[3]), MONTHS.index(month) + 1, int(number), at)
    parted = re.fullmatch(r"(\d{1,2})[/.](\d{1,2})[/.](\d{4})", text)
    if parted is None:
        return day(text, at)
    one, other, year = map(int, parted.groups())
    if one != other and 1 <= one <= 12 and 1 <= other <= 12:
        both = [_calendar_day(text, year, *pair, at) for pair in ((one, other), (other, one))]
        said_so = " or ".join(f"{d.day} {d:%B}" for d in both)
        todo = "write " + " or ".join(d.isoformat() for d in both)
        raise Fault("date-unclear", at, f'"{text}" may be {said_so}', todo)
    month_, day_ = (one, other) if one <= 12 else (other, one)
    return _calendar_day(text, year, month_, day_, at)


def unit_of(written: str) -> str | None:
    """The unit that a person means by *written*; None where it is none, or could be two.

    >>> unit_of("amps"), unit_of("sq in"), unit_of("furlong")
    ('A', 'in²', None)
    """
    if written in UNITS or written in POINTS and written != "date":
        return written
    # MOHM: a milliohm or a million of them
    if written[:1] == "M" and written.lower() in ("mohm", "mohms") and written not in WRITTEN:
        return None
    return WRITTEN.get(written) or WRITTEN.get(written.lower())


def _example(unit: str) -> str:
    if unit == "count":
        return "write a number, as in 10"
    return f"write a number and its unit, as in 10 {unit}"


def _odd_number(text: str, written: str, unit: str) -> str:
    """What to do about a number that goes on where its unit should stand: 1e3, 1,5 ft, 30 to 40
    ft.
    """
    if re.match(r"(to|or|and|–|-|/|\.\.)\s*\d", written):
        return "write one amount: the one that is worst for the conductors"
    if re.match(r"[,.]\d+", written):
        comma = "write a decimal with a point: 1.5, and thousands as 1,500"
        return comma if "," in text else _example(unit)
    if re.match(r"[eExX_]\d|x[0-9a-f]", written):
        return "write the number out in full, without signs inside it"
    return ""


def _units_like(written: str, unit: str) -> str:
    """What a person may have meant by a unit that is none, among those that measure the same."""
    alike = _alike(unit)
    # one letter or two are a slip of anything
    if len(written) > 2:
        names = [*alike, *(name for name, u in WRITTEN.items() if u in alike)]
        near = suggest(written, names, 0)
        if near.startswith("did you mean"):
            return near
    if "in" in alike and written in METRIC:
        return METRIC[written]
    if alike:
        return "write it in " + " or ".join(alike)
    if unit == "count":
        return "write the number alone"
    return "units here: " + ", ".join(u for u in [*UNITS, *POINTS] if u != "date")


def _alike(unit: str) -> list[str]:
    """The units that measure what *unit* does, and are written."""
    if unit not in UNITS and unit not in POINTS:
        return []
    every = [u for u in [*UNITS, *POINTS] if u not in ("date", "count")]
    return [u for u in every if dimension(u) == dimension(unit)]


def number_text(q: Fraction, full: bool = False, brief: bool = False) -> str:
    """A number as a person writes it: exact up to four places, thousands marked; *full* gives it
    exactly, *brief* by three figures where it is not.

    >>> number_text(Fraction(12500)), number_text(Fraction(2, 3)), number_text(Fraction(2, 3), True)
    ('12,500', '0.6667', '2/3')
    """
    number = exact(q)
    if full:
        if isinstance(number, Decimal):
            return f"{number:f}"
        return f"{q.numerator}/{q.denominator}"
    if not isinstance(number, Decimal) or _places_of(number) > 4:
        places = _places(q, brief)
        number = Decimal(round(q * 10**places)).scaleb(-places)
    text = f"{number:,f}" if abs(q) >= 10000 else f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _places_of(number: Decimal) -> int:
    """How many places *number* has behind the point."""
    exponent = number.as_tuple().exponent
    # text for what is not finite, never here
    return -exponent if isinstance(exponent, int) else 0


def _places(q: Fraction, brief: bool) -> int:
    """How many places behind the point a number is rounded to: in short what leaves it three
    figures.
    """
    if abs(q) >= 10:
        return 2
    if not brief:
        return 4
    return next(p for p in range(2, DIGITS) if abs(q) * 10**p >= 100 or p == DIGITS - 1)


def faithful(a: Quantity, b: Quantity, unit_a: str | None, unit_b: str | None, brief: bool) -> bool:
    """Whether two values, each as it is printed, stand to each other as they do: none prints as the
    other, or on its other side.

    >>> faithful(Decimal("29.99996"), Decimal(30), "A", "A", brief=False)
    False
    """
    return all(
        _order(p, q) == _order(_printed(p, unit_a, brief), _printed(q, unit_b, brief))
        for p in ends(a)
        for q in ends(b)
        if p is not None and q is not None
    )


def _order(p: Number, q: Number) -> int:
    """Below, the same or above: -1, 0 or 1."""
    return (p > q) - (p < q)


def _printed(value: Number, unit: str | None, brief: bool) -> Number:
    """What a reader takes *value* for, who sees it printed."""
    text = number_text(in_unit(value, unit), brief=brief)
    return to_base(Fraction(text.replace(",", "")), unit or "count")


def show_number(value: Number, unit: str | None, full: bool = False, brief: bool = False) -> str:
    """A base value in *unit*, as in ``55 A``, ``120 °F``, ``125 %``, ``8 in³``, ``2025-09-02``.

    >>> show_number(Decimal(24), "ft"), show_number(Decimal("1.25"), "%")
    ('2 ft', '125 %')
    """
    if unit == "date":
        return datetime.date.fromordinal(int(value)).isoformat()
    text = number_text(in_unit(value, unit), full, brief)
    if not unit or unit == "count":
        return text
    return f"{text}°" if unit == "°" else f"{text} {unit}"


# ---- ranges, and what lies beyond a `none` -------------------------------------------------------


class Range:
    """A quantity known to lie between two numbers; an end that is None is open.

    >>> Range(Decimal(10), Decimal(12)) == Range(10, 12), Range(Decimal(10), None)
    (True, Range(10, None))
    """

    __slots__ = ("lo", "hi")

    def __init__(self, lo: Number | None, hi: Number | None) -> None:
        self.lo, self.hi = lo, hi

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Range) and (self.lo, self.hi) == (other.lo, other.hi)

    def __hash__(self) -> int:
        return hash((self.lo, self.hi))

    def __repr__(self) -> str:
        return f"Range({self.lo}, {self.hi})"

    def __reduce__(self) -> str | tuple:
        # knowledge that was kept still knows the unknown
        return "SOME" if self is SOME else (Range, (self.lo, self.hi))


SOME = Range(Decimal(0), None)  # an unknown quantity that cannot be negative


def ends(value: Quantity) -> tuple[Number | None, Number | None]:
    """The two ends of a value; None where it is open or unknown.

    >>> ends(Decimal(5))
    (Decimal('5'), Decimal('5'))
    >>> ends(SOME)
    (Decimal('0'), None)
    """
    if value is None or value is NOTHING:
        return None, None
    if type(value) is Range:
        return value.lo, value.hi
    # a number, since NOTHING is gone: mypy takes no `is` for that
    return value, value  # type: ignore[return-value]


def between(lo: Number | None, hi: Number | None) -> Number | Range | None:
    """The value between two ends: unknown, one number, or a range.

    >>> between(Decimal(1), Decimal(2))
    Range(1, 2)
    >>> between(Decimal(1), Decimal(1))
    Decimal('1')
    """
    if lo is None and hi is None:
        return None
    return lo if lo == hi else Range(lo, hi)


def _op(name: str, a: Number, b: Number) -> Number:
    """*a* and *b* added, multiplied or divided, exactly."""
    if type(a) is Decimal and type(b) is Decimal:
        try:
            return getattr(EXACT, name)(a, b)
        except decimal.DecimalException:
            pass
    # a Fraction for every step takes three times as long
    (n, d), (m, e) = a.as_integer_ratio(), b.as_integer_ratio()
    if name == "multiply":
        n, d = n * m, d * e
    elif name == "divide":
        n, d = (n * e, d * m) if m > 0 else (-n * e, -d * m)
    else:
        n, d = n * e + (m if name == "add" else -m) * d, d * e
    g = gcd(n, d)
    if max(n.bit_length(), d.bit_length()) > MOST_BITS:
        raise Fault(
            "value-too-long",
            NOWHERE,
            f"what is reckoned here has more than {VALUE:,} digits",
            "is the formula meant so?",
        )
    return _ratio(n // g, d // g)


def add(a: Quantity, b: Quantity) -> Quantity:
    """Sum; an open end stays open.

    >>> add(Decimal(1), SOME)
    Range(1, None)
    """
    if a is NOTHING or b is NOTHING:
        return NOTHING
    (a_low, a_high), (b_low, b_high) = ends(a), ends(b)
    return between(
        None if a_low is None or b_low is None else _op("add", a_low, b_low),
        None if a_high is None or b_high is None else _op("add", a_high, b_high),
    )


def negate(a: Quantity) -> Quantity:
    """Minus *a*.

    >>> negate(Range(Decimal(1), None))
    Range(None, -1)
    """
    if a is NOTHING:
        return a
    lo, hi = ends(a)
    return between(None if hi is None else -hi, None if lo is None else -lo)


def multiply(a: Quantity, b: Quantity) -> Quantity:
    """Product; zero times a range is zero, an open one too.

    >>> multiply(Decimal(0), SOME)
    Decimal('0')
    >>> multiply(Range(Decimal(-1), Decimal(2)), Decimal(3))
    Range(-3, 6)
    """
    if a is NOTHING or b is NOTHING:
        return NOTHING
    # before any range: nothing of what is not known is nothing all the same
    if a is not None and b is not None and (a == 0 or b == 0):
        return Decimal(0)
    (a_low, a_high), (b_low, b_high) = ends(a), ends(b)
    if a_low is None or b_low is None:
        return None
    if a_low < 0 or b_low < 0:
        return _corners(a_low, a_high, b_low, b_high)
    low = _op("multiply", a_low, b_low)
    if a_high is None or b_high is None:
        return Range(low, None)
    # the same object at both ends is one plain number: no range of one point is made of it
    if a_low is a_high and b_low is b_high:
        return low
    return between(low, _op("multiply", a_high, b_high))


def _corners(
    a_low: Number, a_high: Number | None, b_low: Number, b_high: Number | None
) -> Number | Range | None:
    """A product of which a side may lie below zero: there the ends change places, so that nothing
    is known where one of them is open.
    """
    if a_high is None or b_high is None:
        return None
    corners = [_op("multiply", x, y) for x in (a_low, a_high) for y in (b_low, b_high)]
    return between(min(corners), max(corners))


def invert(a: Quantity) -> Quantity:
    """One over *a*; unknown where it could be zero or change sign.

    >>> invert(Range(Decimal(2), Decimal(4)))
    Range(0.25, 0.5)
    >>> invert(Range(Decimal(-1), Decimal(1))) is None
    True
    """
    if a is NOTHING:
        return a
    lo, hi = ends(a)
    if hi is not None and hi < 0:
        return negate(invert(negate(a)))
    if lo is None or lo < 0 or (lo == 0 and (hi is None or hi == 0)):
        return None
    one = Decimal(1)
    return between(
        Decimal(0) if hi is None else _op("divide", one, hi),
        None if lo == 0 else _op("divide", one, lo),
    )


def root(a: Quantity, places: int) -> Quantity:
    """Square root as an enclosure that holds the true value, *places* decimals wide.

    >>> root(Decimal(2), 3)
    Range(1.414, 1.415)
    >>> root(Decimal(9), 3)
    Decimal('3')
    """
    if a is NOTHING:
        return a
    lo, hi = ends(a)
    if hi is not None and hi < 0:
        return None
    return between(
        Decimal(0) if lo is None else _root(max(lo, Decimal(0)), places, False),
        None if hi is None else _root(hi, places, True),
    )


def _root(q: Number, places: int, up: bool) -> Number:
    """The square root of a number to so many places, down or *up*."""
    k = 10**places
    n = Fraction(q) * k * k
    r = isqrt(n.numerator // n.denominator)
    return exact(Fraction(r + (1 if up and r * r != n else 0), k))


def year_of(a: Quantity) -> Quantity:
    """The calendar year of a date.

    >>> year_of(parse_quantity("2026-12-01", "date")[0])
    Decimal('2026')
    """
    if a is NOTHING:
        return a
    lo, hi = ends(a)
    return between(None if lo is None else _year(lo), None if hi is None else _year(hi))


def _year(day: Number) -> Number | None:
    """The year of a day; None of what no calendar has."""
    ordinal = int(day)
    if not 1 <= ordinal <= datetime.date.max.toordinal():
        return None
    return Decimal(datetime.date.fromordinal(ordinal).year)


def round_to(a: Quantity, step: Number, how: str) -> Quantity:
    """*a* rounded ``up``, ``down`` or ``half up`` to a multiple of *step*; a range is exact when
    both ends round alike.

    >>> round_to(Decimal("7.5"), Decimal(1), "half up")
    Decimal('8')
    >>> round_to(Range(Decimal("7.1"), Decimal("7.9")), Decimal(1), "up")
    Decimal('8')
    """
    if a is NOTHING:
        return a
    lo, hi = ends(a)
    return between(
        None if lo is None else _round(lo, step, how),
        None if hi is None else _round(hi, step, how),
    )


def _round(value: Number, step: Number, how: str) -> Number:
    """A number rounded to a multiple of *step*."""
    q = Fraction(value) / Fraction(step)
    if how == "down":
        n = q.numerator // q.denominator
    elif how == "up":
        n = -(-q.numerator // q.denominator)
    else:
        n = (2 * q.numerator + q.denominator) // (2 * q.denominator)
    return exact(n * Fraction(step))


def compare(op: str, a: Any, b: Any) -> Truth:
    """True, False, None (the ranges overlap) or NOTHING. With = and != words, sizes and flags are
    compared, too.

    >>> compare(">=", Decimal(20), Range(Decimal(10), Decimal(15)))
    True
    >>> compare("<", Decimal(12), Range(Decimal(10), Decimal(15))) is None
    True
    >>> compare("=", "EMT", NOTHING)
    NOTHING
    """
    if a is NOTHING or b is NOTHING:
        return NOTHING
    if op == "=":
        return _same(a, b)
    if op == ">=":
        return _at_least(a, b)
    if op == "<=":
        return _at_least(b, a)
    # the other three are each the opposite of one of these
    if op == "!=":
        same = _same(a, b)
        return None if same is None else not same
    at_least = _at_least(a, b) if op == "<" else _at_least(b, a)
    return None if at_least is None else not at_least


def _same(a: Any, b: Any) -> bool | None:
    """Whether two values are the same one; not known while either might be another."""
    if a is None or b is None or type(a) is Range or type(b) is Range:
        (a_low, a_high), (b_low, b_high) = ends(a), ends(b)
        below = a_high is not None and b_low is not None and a_high < b_low
        above = b_high is not None and a_low is not None and b_high < a_low
        return False if below or above else None
    return a == b


def _at_least(a: Quantity, b: Quantity) -> bool | None:
    """Whether *a* is as large as *b* wherever in their ranges they are."""
    (a_low, a_high), (b_low, b_high) = ends(a), ends(b)
    if a_low is not None and b_high is not None and a_low >= b_high:
        return True
    if a_high is not None and b_low is not None and a_high < b_low:
        return False
    return None


def both(values: Iterable[Truth]) -> bool | None:
    """And, in three answers; a test on nothing is not met.

    >>> both([True, None]), both([None, False]), both([])
    (None, False, True)
    """
    out: bool | None = True
    for answer in values:
        if answer is False or answer is NOTHING:
            return False
        if answer is None:
            out = None
    return out


def either(values: Iterable[Truth]) -> bool | None:
    """Or, in three answers.

    >>> either([False, None]), either([None, True]), either([])
    (None, True, False)
    """
    out: bool | None = False
    for answer in values:
        if answer is True:
            return True
        if answer is None:
            out = None
    return out


def opposite(answer: Truth) -> Truth:
    """Not, in three answers; not of nothing is nothing.

    >>> opposite(False), opposite(None), opposite(NOTHING)
    (True, None, NOTHING)
    """
    return answer if answer is None or answer is NOTHING else not answer
