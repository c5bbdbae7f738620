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
from decimal import Decimal
from fractions import Fraction
from math import gcd, isqrt

from .errors import NOWHERE, Fault, Place, suggest
from .limits import DIGITS, VALUE
from .sentinels import NOTHING

# Every operation in this context is exact or raises: the fast path leaves the rest to the general
# evaluator.
EXACT = decimal.Context(
    prec=60,
    Emax=10**6,
    Emin=-(10**6),
    traps=[decimal.Inexact, decimal.InvalidOperation, decimal.DivisionByZero, decimal.Overflow],
)
Number = Decimal | Fraction
Dimension = tuple  # of (base, power) pairs, sorted; POINT for a temperature
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
    """*q* as a terminating decimal where it is one, unchanged where it is not."""
    return _ratio(q.numerator, q.denominator)


def _ratio(n: int, d: int) -> Number:
    """*n* over *d* (positive), which share no factor, as a terminating decimal where it is one."""
    if d == 1:
        return Decimal(n)
    rest = d >> ((d & -d).bit_length() - 1)  # without its twos
    while rest % 5 == 0:
        rest //= 5
    if rest == 1:
        try:
            return EXACT.divide(Decimal(n), Decimal(d))
        except decimal.DecimalException:
            pass
    return Fraction(n, d)


def multiply_dims(a: Dimension, b: Dimension, sign: int = 1) -> Dimension:
    """The dimension of a product (*sign* 1) or a quotient (*sign* -1)."""
    d = dict(a)
    for k, e in b:
        d[k] = d.get(k, 0) + sign * e
    return tuple(sorted((k, e) for k, e in d.items() if e))


def dimension(unit: str) -> Dimension:
    """What *unit* measures."""
    return DAY if unit == "date" else POINT if unit in POINTS else UNITS[unit][1]


def to_base(q: Fraction, unit: str) -> Number:
    """*q* of *unit* in the base of its dimension."""
    if unit in POINTS:
        factor, offset = POINTS[unit]
        return exact(q * factor + offset)
    return exact(q * UNITS[unit][0])


def in_unit(v: Number, unit: str | None) -> Fraction:
    """A base value as a number of *unit*."""
    if not unit:
        return Fraction(v)
    if unit in POINTS:
        factor, offset = POINTS[unit]
        return (Fraction(v) - offset) / factor
    return Fraction(v) / UNITS[unit][0]


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
    (tables) or where the fact is a count. Raises Fault for what is no quantity, or measures
    something else.
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
    if (m := _FEET_INCHES.fullmatch(text)) and unit in ("ft", "in") and (not m[4] or int(m[4])):
        return (
            exact(
                Fraction(m[1]) * 12
                + Fraction(m[2])
                + (Fraction(int(m[3]), int(m[4])) if m[4] else 0)
            ),
            "in",
        )
    m = _QUANTITY.fullmatch(text)
    if not m:
        todo = (
            "a number that is not finite is unknown: leave the line out"
            if _NOT_FINITE.fullmatch(text.strip())
            else _example(unit)
        )
        raise Fault("not-a-quantity", at, f'"{text}" is not a quantity', todo)
    sign, whole, top, bottom, under, written = m.groups()
    q = Fraction(whole.replace(",", "").rstrip("."))
    for d in (bottom, under):
        if d is not None and int(d) == 0:
            raise Fault("division-by-zero", at, f'"{text}" divides by zero', _example(unit))
    if bottom:
        q += Fraction(int(top), int(bottom))
    elif under:
        q /= int(under)
    q = -q if sign == "-" else q
    written = (written or "").strip().rstrip(".")
    if not written:
        if not bare and unit != "count":
            todo = f"write {text.strip()} {unit}" + (" (or °F)" if unit == "°C" else "")
            # one of the two is a hundredfold slip, and who wrote it knows which
            if unit == "%" and 0 < q < 1:
                todo = (
                    f"{show_number(q, unit, full=True)} or {text.strip()} %? Write the one that is"
                    " meant"
                )
            raise Fault("unit-missing", at, f'"{text}" has no unit', todo)
        written = unit
    u = unit_of(written)
    if u is None and (todo := _odd_number(text, written, unit)):
        raise Fault("not-a-quantity", at, f'"{text}" is not one plain number', todo)
    if u is None:
        raise Fault(
            "unknown-unit",
            at,
            f'"{text}": no unit is called "{written}"',
            _units_like(written, unit),
        )
    if dimension(u) != dimension(unit):
        raise Fault(
            "wrong-unit",
            at,
            f'"{text}" is in {u}, and this is kept in {unit}',
            f"write it in {unit}",
        )
    return to_base(q, u), u


def day(text: str, at: Place = NOWHERE) -> datetime.date:
    """A day of the calendar, written 2025-09-02. Raises Fault for anything else: 9/2/2025 has two
    readings.
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


def unit_of(written: str) -> str | None:
    """The unit that a person means by *written*; None where it is none, or could be two."""
    if written in UNITS or written in POINTS and written != "date":
        return written
    # MOHM: a milliohm or a million of them
    if written[:1] == "M" and written.lower() in ("mohm", "mohms") and written not in WRITTEN:
        return None
    return WRITTEN.get(written) or WRITTEN.get(written.lower())


def _example(unit: str) -> str:
    return (
        "write a number, as in 10"
        if unit == "count"
        else f"write a number and its unit, as in 10 {unit}"
    )


def _odd_number(text: str, written: str, unit: str) -> str:
    """What to do about a number that goes on where its unit should stand: 1e3, 1,5 ft, 30 to 40
    ft.
    """
    if re.match(r"(to|or|and|–|-|/|\.\.)\s*\d", written):
        return "write one amount: the one that is worst for the conductors"
    if re.match(r"[,.]\d+", written):
        return (
            "write a decimal with a point: 1.5, and thousands as 1,500"
            if "," in text
            else _example(unit)
        )
    if re.match(r"[eExX_]\d|x[0-9a-f]", written):
        return "write the number out in full, without signs inside it"
    return ""


def _units_like(written: str, unit: str) -> str:
    """What a person may have meant by a unit that is none, among those that measure the same."""
    alike = [
        u
        for u in [*UNITS, *POINTS]
        if u != "date"
        and unit in (*UNITS, *POINTS)
        and dimension(u) == dimension(unit)
        and u != "count"
    ]
    near = (
        suggest(written, [*alike, *(w for w, u in WRITTEN.items() if u in alike)], 0)
        if len(written) > 2
        else ""
    )
    if near.startswith("did you mean"):
        return near
    if "in" in alike and written in METRIC:
        return METRIC[written]
    return (
        "write it in " + " or ".join(alike)
        if alike
        else (
            "write the number alone"
            if unit == "count"
            else "units here: " + ", ".join(u for u in [*UNITS, *POINTS] if u != "date")
        )
    )


def number_text(q: Fraction, full: bool = False, brief: bool = False) -> str:
    """A number as a person writes it: exact up to four places, thousands marked; *full* gives it
    exactly, *brief* by three figures where it is not.
    """
    d = exact(q)
    if full:
        return f"{d:f}" if isinstance(d, Decimal) else f"{q.numerator}/{q.denominator}"
    if not isinstance(d, Decimal) or -d.as_tuple().exponent > 4:
        places = _places(q, brief)
        d = Decimal(round(q * 10**places)).scaleb(-places)
    text = f"{d:,f}" if abs(q) >= 10000 else f"{d:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _places(q: Fraction, brief: bool) -> int:
    """How many places behind the point a number is rounded to: in short what leaves it three
    figures.
    """
    if abs(q) >= 10:
        return 2
    return (
        next(p for p in range(2, DIGITS) if abs(q) * 10**p >= 100 or p == DIGITS - 1)
        if brief
        else 4
    )


def faithful(a, b, unit_a: str | None, unit_b: str | None, brief: bool) -> bool:
    """Whether two values, each as it is printed, stand to each other as they do: none prints as the
    other, or on its other side.
    """

    def printed(v, unit):
        return to_base(
            Fraction(number_text(in_unit(v, unit), brief=brief).replace(",", "")), unit or "count"
        )

    pairs = [(p, q) for p in ends(a) for q in ends(b) if p is not None and q is not None]
    return all(
        (p > q) - (p < q) == (x > y) - (x < y)
        for p, q in pairs
        for x, y in [(printed(p, unit_a), printed(q, unit_b))]
    )


def show_number(v: Number, unit: str | None, full: bool = False, brief: bool = False) -> str:
    """A base value in *unit*, as in ``55 A``, ``120 °F``, ``125 %``, ``8 in³``, ``2025-09-02``."""
    if unit == "date":
        return datetime.date.fromordinal(int(v)).isoformat()
    text = number_text(in_unit(v, unit), full, brief)
    return (
        text if not unit or unit == "count" else f"{text} {unit}" if not unit == "°" else f"{text}°"
    )


# ---- ranges, and what lies beyond a `none` -------------------------------------------------------


class Range:
    """A quantity known to lie between two numbers; an end that is None is open."""

    __slots__ = ("lo", "hi")

    def __init__(self, lo: Number | None, hi: Number | None) -> None:
        self.lo, self.hi = lo, hi

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Range) and (self.lo, self.hi) == (other.lo, other.hi)

    def __hash__(self) -> int:
        return hash((self.lo, self.hi))

    def __repr__(self) -> str:
        return f"Range({self.lo}, {self.hi})"

    def __reduce__(self):
        # knowledge that was kept still knows the unknown
        return "SOME" if self is SOME else (Range, (self.lo, self.hi))


SOME = Range(Decimal(0), None)  # an unknown quantity that cannot be negative


def ends(v) -> tuple:
    """The two ends of a value; None where it is open or unknown."""
    if v is None or v is NOTHING:
        return None, None
    return (v.lo, v.hi) if type(v) is Range else (v, v)


def between(lo, hi):
    """The value between two ends: unknown, one number, or a range."""
    if lo is None and hi is None:
        return None
    return lo if lo == hi else Range(lo, hi)


def _op(name: str, a: Number, b: Number) -> Number:
    if type(a) is Decimal and type(b) is Decimal:
        try:
            return getattr(EXACT, name)(a, b)
        except decimal.DecimalException:
            pass
    # a Fraction for every step takes three times as long
    (n, d), (m, e) = (
        a.as_integer_ratio(),
        b.as_integer_ratio(),
    )
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


def add(a, b):
    """Sum; an open end stays open."""
    if a is NOTHING or b is NOTHING:
        return NOTHING
    (al, ah), (bl, bh) = ends(a), ends(b)
    return between(
        None if al is None or bl is None else _op("add", al, bl),
        None if ah is None or bh is None else _op("add", ah, bh),
    )


def negate(a):
    """Minus *a*."""
    if a is NOTHING:
        return a
    lo, hi = ends(a)
    return between(None if hi is None else -hi, None if lo is None else -lo)


def multiply(a, b):
    """Product; zero times the unknown is zero."""
    if a is NOTHING or b is NOTHING:
        return NOTHING
    if a is not None and b is not None and (a == 0 or b == 0):
        return Decimal(0)
    (al, ah), (bl, bh) = ends(a), ends(b)
    if None not in (al, ah, bl, bh) and (al < 0 or bl < 0):
        corners = [_op("multiply", x, y) for x in (al, ah) for y in (bl, bh)]
        return between(min(corners), max(corners))
    if al is not None and bl is not None and al >= 0 and bl >= 0:
        low = _op("multiply", al, bl)
        return between(
            low,
            (
                None
                if ah is None or bh is None
                else low
                if al is ah and bl is bh
                else _op("multiply", ah, bh)
            ),
        )
    return None


def invert(a):
    """One over *a*; unknown where it could be zero or change sign."""
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


def root(a, places: int):
    """Square root as an enclosure that holds the true value, *places* decimals wide."""
    if a is NOTHING:
        return a
    k = 10**places

    def one(q, up):
        n = Fraction(q) * k * k
        r = isqrt(n.numerator // n.denominator)
        return exact(Fraction(r + (1 if up and r * r != n else 0), k))

    lo, hi = ends(a)
    if hi is not None and hi < 0:
        return None
    return between(
        one(max(lo, Decimal(0)), False) if lo is not None else Decimal(0),
        None if hi is None else one(hi, True),
    )


def round_to(a, step: Number, how: str):
    """*a* rounded ``up``, ``down`` or ``half up`` to a multiple of *step*; a range is exact when
    both ends round alike.
    """
    if a is NOTHING:
        return a

    def one(v):
        q = Fraction(v) / Fraction(step)
        n = (
            q.numerator // q.denominator
            if how == "down"
            else (
                -(-q.numerator // q.denominator)
                if how == "up"
                else ((2 * q.numerator + q.denominator) // (2 * q.denominator))
            )
        )
        return exact(n * Fraction(step))

    lo, hi = ends(a)
    return between(None if lo is None else one(lo), None if hi is None else one(hi))


def compare(op: str, a, b):
    """True, False, None (the ranges overlap) or NOTHING."""
    if a is NOTHING or b is NOTHING:
        return NOTHING
    if op in ("=", "!="):
        if a is None or b is None or type(a) is Range or type(b) is Range:
            (al, ah), (bl, bh) = ends(a), ends(b)
            apart = (ah is not None and bl is not None and ah < bl) or (
                bh is not None and al is not None and bh < al
            )
            return (op == "!=") if apart else None
        return (a == b) == (op == "=")
    if op in ("<", "<="):
        a, b, op = b, a, {"<": ">", "<=": ">="}[op]
    (al, ah), (bl, bh) = ends(a), ends(b)
    if op == ">=":
        if al is not None and bh is not None and al >= bh:
            return True
        return False if ah is not None and bl is not None and ah < bl else None
    if al is not None and bh is not None and al > bh:
        return True
    return False if ah is not None and bl is not None and ah <= bl else None


def both(values):
    """And, in three answers; a test on nothing is not met."""
    out = True
    for v in values:
        if v is False or v is NOTHING:
            return False
        if v is None:
            out = None
    return out


def either(values):
    """Or, in three answers."""
    out = False
    for v in values:
        if v is True:
            return True
        if v is None:
            out = None
    return out


def opposite(v):
    """Not, in three answers; not of nothing is nothing."""
    return v if v is None or v is NOTHING else not v
