"""Units against pint, and arithmetic of ranges against every number in them: a range never leaves
out what could be.
"""

import copy
import math
import pickle
import random
from decimal import Decimal
from fractions import Fraction as F

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from whywire.engine.basics import units as u
from whywire.engine.basics.errors import Fault
from whywire.engine.basics.sentinels import NOTHING
from whywire.engine.basics.units import SOME, Range

REGISTRY = pint.UnitRegistry(non_int_type=F)
PINT = {
    "A": "ampere",
    "mA": "milliampere",
    "kA": "kiloampere",
    "V": "volt",
    "VA": "volt * ampere",
    "W": "watt",
    "kVA": "kilovolt * ampere",
    "kW": "kilowatt",
    "Ω": "ohm",
    "mΩ": "milliohm",
    "MΩ": "megaohm",
    "Ω/kft": "ohm / kilofoot",
    "in": "inch",
    "ft": "foot",
    "in²": "inch ** 2",
    "ft²": "foot ** 2",
    "in³": "inch ** 3",
    "C°": "delta_degC",
    "F°": "delta_degF",
    "per F°": "1 / delta_degF",
    "s": "second",
    "min": "minute",
    "min/ft": "minute / foot",
    "h": "hour",
    "count": "dimensionless",
    "%": "percent",
}
# each is the only unit of what it measures: there is nothing to convert
ALONE = {
    "hp",
    "cmil",
    "°",
    "lb-in",
}


# ---- units ---------------------------------------------------------------------------------------


def test_every_unit_is_compared_or_stands_alone():
    assert set(PINT) | ALONE == set(u.UNITS)
    for name in ALONE:
        assert [n for n in u.UNITS if u.dimension(n) == u.dimension(name)] == [name]


@pytest.mark.parametrize("a", PINT)
def test_conversion_is_pints_exactly(a):
    one = REGISTRY.Quantity(F(1), PINT[a])
    for b in PINT:
        ours = u.dimension(a) == u.dimension(b)
        other = REGISTRY.Quantity(F(1), PINT[b])
        assert ours == (one.dimensionality == other.dimensionality), b
        if ours:
            theirs = F(one.to(PINT[b]).magnitude)
            assert u.in_unit(u.to_base(F(1), a), b) == theirs, b


@given(st.fractions(-459, 10_000, max_denominator=1000))
def test_temperatures_are_pints_exactly(t):
    kelvin = F(REGISTRY.Quantity(t, "degF").to("kelvin").magnitude)
    assert F(u.to_base(t, "°F")) / 9 + F("273.15") == kelvin
    assert u.in_unit(u.to_base(t, "°F"), "°C") == (t - 32) * F(5, 9)
    assert u.in_unit(u.to_base(t, "°C"), "°F") == t * F(9, 5) + 32


@pytest.mark.parametrize(
    "product, unit",
    [
        (("V", "A"), "VA"),
        (("Ω", "A"), "V"),
        (("Ω/kft", "ft"), "Ω"),
        (("in", "in²"), "in³"),
        (("count", "A"), "A"),
        (("%", "A"), "A"),
        (("per F°", "F°"), "count"),
    ],
)
def test_products_have_the_dimension_they_must(product, unit):
    a, b = product
    assert u.multiply_dims(u.dimension(a), u.dimension(b)) == u.dimension(unit)
    assert u.multiply_dims(u.dimension(unit), u.dimension(b), -1) == u.dimension(a)


def test_a_third_of_a_volt_and_a_ninth_of_a_degree_terminate():
    for name in [*u.UNITS, *u.POINTS]:
        if name == "date":
            continue
        assert isinstance(u.to_base(F(1), name), Decimal) and isinstance(
            u.to_base(F("0.001"), name), Decimal
        )


# ---- exact numbers -------------------------------------------------------------------------------

numbers = st.fractions(-1000, 1000, max_denominator=60)


@given(numbers)
def test_a_number_is_a_decimal_where_it_terminates_and_never_a_float(q):
    d, rest = u.exact(q), q.denominator
    for p in (2, 5):
        while rest % p == 0:
            rest //= p
    assert F(d) == q and isinstance(d, Decimal if rest == 1 else F)


@given(numbers, numbers)
def test_arithmetic_is_exact(a, b):
    x, y = u.exact(a), u.exact(b)
    assert F(u.add(x, y)) == a + b and F(u.multiply(x, y)) == a * b and F(u.negate(x)) == -a
    if a:
        assert F(u.invert(x)) == 1 / a


@given(st.integers(1, 10**80), st.integers(1, 10**80))
def test_arithmetic_stays_exact_past_the_digits_of_a_decimal(a, b):
    assert F(u.multiply(u.exact(F(a)), u.exact(F(b)))) == a * b
    assert F(u.add(u.exact(F(a)), u.exact(F(1, b)))) == a + F(1, b)


# ---- ranges: every number in them ----------------------------------------------------------------


@st.composite
def ranges(draw, lowest=-100, highest=100):
    """A value (unknown, a number, a range open or closed) and numbers that it may be."""
    a, b = sorted(
        (
            draw(st.fractions(lowest, highest, max_denominator=12)),
            draw(st.fractions(lowest, highest, max_denominator=12)),
        )
    )
    how = draw(
        st.sampled_from(
            ["number", "closed", "from", "to", "unknown"]
            if lowest < 0
            else ["number", "closed", "from"]
        )
    )
    lo = None if how in ("to", "unknown") else a
    hi = None if how in ("from", "unknown") else a if how == "number" else b
    v = (
        u.exact(a)
        if how == "number"
        else u.between(*(None if e is None else u.exact(e) for e in (lo, hi)))
    )
    inside = [
        x
        for x in (a, b, (a + b) / 2, a * F(2, 3) + b * F(1, 3))
        if (lo is None or x >= lo) and (hi is None or x <= hi)
    ]
    if lo is None:
        inside += [(hi if hi is not None else b) - n for n in (1, 1000)]
    if hi is None:
        inside += [(lo if lo is not None else a) + n for n in (1, 1000)]
    return v, inside


def holds(v, x) -> bool:
    lo, hi = u.ends(v)
    return (lo is None or F(lo) <= x) and (hi is None or x <= F(hi))


@given(ranges(), ranges())
def test_a_sum_holds_every_sum(a, b):
    got = u.add(a[0], b[0])
    assert all(holds(got, x + y) for x in a[1] for y in b[1])


@given(ranges())
def test_a_negative_holds_every_negative(a):
    got = u.negate(a[0])
    assert all(holds(got, -x) for x in a[1])


@settings(max_examples=300)
@given(ranges(), ranges())
def test_a_product_holds_every_product(a, b):
    got = u.multiply(a[0], b[0])
    assert all(holds(got, x * y) for x in a[1] for y in b[1])


@given(ranges(lowest=0), ranges(lowest=0))
def test_a_product_of_what_cannot_be_negative_keeps_its_lower_end(a, b):
    got = u.multiply(a[0], b[0])
    assert all(holds(got, x * y) for x in a[1] for y in b[1])
    assert u.ends(got)[0] is not None and u.ends(got)[0] >= 0


@given(ranges())
def test_one_over_holds_every_one_over(a):
    got = u.invert(a[0])
    assert all(holds(got, 1 / x) for x in a[1] if x)


@pytest.mark.parametrize(
    "v",
    [
        Decimal(0),
        SOME,
        Range(Decimal(-1), Decimal(1)),
        Range(None, Decimal(3)),
        Range(Decimal(-2), None),
        None,
    ],
)
def test_one_over_what_may_be_zero_is_unknown(v):
    assert u.invert(v) is None


def test_one_over_what_is_open_keeps_the_end_it_has():
    assert u.invert(Range(Decimal(4), None)) == Range(Decimal(0), Decimal("0.25"))
    assert u.invert(Range(Decimal(0), Decimal(4))) == Range(Decimal("0.25"), None)
    assert u.invert(Range(None, Decimal(-4))) == Range(Decimal("-0.25"), Decimal(0))
    assert u.invert(Range(Decimal(-4), Decimal(-2))) == Range(Decimal("-0.5"), Decimal("-0.25"))


def test_the_unknown_stays_itself_where_knowledge_is_kept():
    assert pickle.loads(pickle.dumps(SOME)) is copy.deepcopy(SOME) is SOME
    assert pickle.loads(pickle.dumps(Range(Decimal(0), Decimal(1)))) == Range(
        Decimal(0), Decimal(1)
    )
    assert pickle.loads(pickle.dumps(NOTHING)) is NOTHING


def test_zero_times_what_is_open_is_zero_and_the_rest_is_unknown():
    assert u.multiply(Decimal(0), SOME) == 0 and u.multiply(SOME, Decimal(0)) == 0
    assert u.multiply(Decimal(2), None) is None and u.add(Decimal(2), None) is None


@given(st.fractions(0, 10**6, max_denominator=1000), st.integers(0, 12))
def test_a_root_encloses_the_true_root(q, places):
    lo, hi = u.ends(u.root(u.exact(q), places))
    lo, hi, width = F(lo), F(hi), F(1, 10**places)
    assert lo * lo <= q <= hi * hi and 0 <= hi - lo <= width
    if math.isqrt(q.numerator) ** 2 == q.numerator and q.denominator == 1:
        assert lo == hi == math.isqrt(q.numerator)


@given(ranges(lowest=0), st.integers(0, 6))
def test_a_root_of_a_range_encloses_every_root(a, places):
    lo, hi = u.ends(u.root(a[0], places))
    for x in a[1]:
        assert (lo is None or F(lo) ** 2 <= x) and (hi is None or x <= F(hi) ** 2)


def test_a_root_of_what_is_below_nothing_is_unknown():
    assert u.root(Decimal(-1), 3) is None and u.root(Range(Decimal(-4), Decimal(4)), 3) == Range(
        Decimal(0), Decimal(2)
    )


@given(numbers, st.sampled_from([F(1), F(5), F(1, 10), F(1, 3)]))
def test_rounding_goes_where_it_says(q, step):
    x, s = u.exact(q), u.exact(step)
    down, up, half = (F(u.round_to(x, s, how)) for how in ("down", "up", "half up"))
    for r in (down, up, half):
        assert (r / step).denominator == 1
    assert down <= q < down + step and up - step < q <= up
    assert half in (down, up) and abs(half - q) <= step / 2
    if q - down == step / 2:
        assert half == up


@pytest.mark.parametrize(
    "q, step, how, out",
    [
        ("55.4", "1", "half up", "55"),
        ("55.5", "1", "half up", "56"),
        ("-0.5", "1", "half up", "0"),
        ("51", "5", "up", "55"),
        ("55", "5", "up", "55"),
        ("54.99", "5", "down", "50"),
        ("0.82", "0.1", "half up", "0.8"),
    ],
)
def test_rounding_at_the_edge(q, step, how, out):
    assert u.round_to(Decimal(q), Decimal(step), how) == Decimal(out)


@given(ranges(), st.sampled_from(["up", "down", "half up"]))
def test_a_rounded_range_holds_every_rounded_number(a, how):
    got = u.round_to(a[0], Decimal(5), how)
    assert all(holds(got, F(u.round_to(u.exact(x), Decimal(5), how))) for x in a[1])


PYTHON = {
    ">=": F.__ge__,
    ">": F.__gt__,
    "<=": F.__le__,
    "<": F.__lt__,
    "=": F.__eq__,
    "!=": F.__ne__,
}


@settings(max_examples=400)
@given(ranges(), ranges(), st.sampled_from(sorted(PYTHON)))
def test_a_comparison_never_answers_what_may_be_otherwise(a, b, op):
    got = u.compare(op, a[0], b[0])
    answers = {PYTHON[op](x, y) for x in a[1] for y in b[1]}
    assert got is None or answers == {got}


@given(numbers, numbers, st.sampled_from(sorted(PYTHON)))
def test_a_comparison_of_two_numbers_is_always_decided(a, b, op):
    assert u.compare(op, u.exact(a), u.exact(b)) is PYTHON[op](a, b)


@given(ranges(), ranges())
def test_opposite_comparisons_are_opposite(a, b):
    for one, other in ((">=", "<"), (">", "<="), ("=", "!=")):
        assert u.opposite(u.compare(one, a[0], b[0])) is u.compare(other, a[0], b[0])


@pytest.mark.parametrize(
    "op, a, b, out",
    [
        (">=", Range(Decimal(55), None), Decimal(55), True),
        (">", Range(Decimal(55), None), Decimal(55), None),
        (">=", SOME, Decimal(0), True),
        (">", SOME, Decimal(0), None),
        ("<", SOME, Decimal(0), False),
        ("=", Range(Decimal(1), Decimal(2)), Decimal(3), False),
        ("!=", Range(Decimal(1), Decimal(2)), Decimal(3), True),
        ("=", None, Decimal(3), None),
        (">=", None, None, None),
    ],
)
def test_a_comparison_at_the_edge_of_a_range(op, a, b, out):
    assert u.compare(op, a, b) is out


def test_beyond_none_lies_nothing():
    one = Decimal(1)
    for got in (
        u.add(NOTHING, one),
        u.multiply(one, NOTHING),
        u.negate(NOTHING),
        u.invert(NOTHING),
        u.root(NOTHING, 2),
        u.round_to(NOTHING, one, "up"),
        u.compare(">=", NOTHING, one),
        u.compare("=", one, NOTHING),
        u.opposite(NOTHING),
    ):
        assert got is NOTHING
    assert not NOTHING and u.both([True, NOTHING]) is False and u.either([NOTHING, False]) is False


@pytest.mark.parametrize(
    "values, both, either",
    [
        ([True, True], True, True),
        ([True, None], None, True),
        ([False, None], False, None),
        ([None], None, None),
        ([], True, False),
        ([False, True], False, True),
    ],
)
def test_three_answers(values, both, either):
    assert u.both(values) is both and u.either(values) is either


# ---- what is written and what is shown -----------------------------------------------------------


@pytest.mark.parametrize(
    "text, unit, amount",
    [
        ("35 ft", "ft", "35"),
        ("35'", "ft", "35"),
        ("35’", "ft", "35"),
        ("35 feet", "ft", "35"),
        ("1 foot", "ft", "1"),
        ("420 in", "ft", "35"),
        ('420"', "ft", "35"),
        ("6 ft 7 in", "in", "79"),
        ("6'7\"", "in", "79"),
        ("6' 7 1/2\"", "in", "79.5"),
        ("6 ft 7 1/2 in", "in", "79.5"),
        ("1-1/2 hp", "hp", "1.5"),
        ("1 1/2 hp", "hp", "1.5"),
        ("1/2 hp", "hp", "0.5"),
        ("30 amps", "A", "30"),
        ("30A", "A", "30"),
        ("5 mA", "A", "0.005"),
        ("5.6 kW", "VA", "5600"),
        ("5,600 W", "VA", "5600"),
        ("10,000,000 W", "W", "10000000"),
        (".5 A", "A", "0.5"),
        ("5. A", "A", "5"),
        ("+5 A", "A", "5"),
        ("80 F", "°F", "80"),
        ("80°F", "°F", "80"),
        ("80 ° F", "°F", "80"),
        ("27C", "°C", "27"),
        ("-40 °C", "°F", "-40"),
        ("3 %", "count", "0.03"),
        ("12 in³", "in³", "12"),
        ("12 cu in", "in³", "12"),
        ("2", "count", "2"),
        ("100 MΩ", "Ω", "100000000"),
        ("100 mΩ", "Ω", "0.1"),
        ("3 \u2126", "Ω", "3"),
        ("2 hours", "s", "7200"),
    ],
)
def test_amounts_as_people_write_them(text, unit, amount):
    v, written = u.parse_quantity(text, unit)
    assert u.in_unit(v, unit) == F(amount) and u.dimension(written) == u.dimension(unit)


@pytest.mark.parametrize(
    "text, unit, code",
    [
        ("", "A", "not-a-quantity"),
        ("A", "A", "not-a-quantity"),
        ("ten A", "A", "not-a-quantity"),
        ("nan", "A", "not-a-quantity"),
        ("-inf A", "A", "not-a-quantity"),
        ("1e3 A", "A", "not-a-quantity"),
        ("1,5 A", "A", "not-a-quantity"),
        ("10,00 A", "A", "not-a-quantity"),
        ("30 to 40 A", "A", "not-a-quantity"),
        ("30-40 A", "A", "not-a-quantity"),
        ("0x10 A", "A", "not-a-quantity"),
        ("1/0 hp", "hp", "division-by-zero"),
        ("1-1/0 hp", "hp", "division-by-zero"),
        ("10", "A", "unit-missing"),
        ("10 furlongs", "ft", "unknown-unit"),
        ("10 m", "ft", "unknown-unit"),
        ("10 V", "A", "wrong-unit"),
        ("10 ft", "°C", "wrong-unit"),
        ("9" * 60, "A", "number-too-long"),
        ("6 ft 7 in", "A", "unknown-unit"),
        ("6' 7 1/0\"", "in", "unknown-unit"),
        ("30 amp breaker", "A", "unknown-unit"),
    ],
)
def test_what_is_no_amount_is_told(text, unit, code):
    with pytest.raises(Fault) as caught:
        u.parse_quantity(text, unit)
    assert caught.value.code == code and caught.value.todo


def test_milli_and_mega_are_never_taken_for_each_other():
    assert u.parse_quantity("1 mΩ", "Ω")[0] * 10**9 == u.parse_quantity("1 MΩ", "Ω")[0]
    assert u.parse_quantity("1 megohm", "Ω")[0] == u.parse_quantity("1 MΩ", "Ω")[0]
    assert u.parse_quantity("1 Mohm", "Ω")[0] == u.parse_quantity("1 MΩ", "Ω")[0]
    assert u.parse_quantity("1 mohm", "Ω")[0] == u.parse_quantity("1 mΩ", "Ω")[0]
    # all in capitals it could be either: never a billionth of what is meant
    with pytest.raises(Fault, match="no unit is called"):
        u.parse_quantity("1 MOHM", "Ω")


@pytest.mark.parametrize(
    "v, unit, text",
    [
        ("55", "A", "55 A"),
        ("55.50", "A", "55.5 A"),
        ("0.3333333", "A", "0.3333 A"),
        ("16500", "cmil", "16,500 cmil"),
        ("9999", "cmil", "9999 cmil"),
        ("1.25", "count", "1.25"),
        ("12.3456789", "A", "12.35 A"),
        ("90", "°", "90°"),
        ("1.25", "%", "1.25 %"),
    ],
)
def test_a_number_is_shown_as_people_write_it(v, unit, text):
    assert u.show_number(u.to_base(F(v), unit), unit) == text


@given(st.fractions(0, 10**6, max_denominator=997))
def test_what_is_shown_is_near_and_in_full_exact(q):
    shown = u.number_text(q).replace(",", "")
    assert abs(F(shown) - q) <= F(1, 2) * (F(1, 100) if q >= 10 else F(1, 10_000))
    assert F(u.number_text(q, full=True)) == q


@given(
    st.sampled_from(sorted({*u.UNITS, *u.POINTS} - {"date"})),
    st.integers(0, 10**9),
    st.integers(0, 4),
)
def test_what_is_shown_is_read_back(unit, n, places):
    q = F(n, 10**places)
    text = u.show_number(u.to_base(q, unit), unit, full=True)
    assert u.in_unit(u.parse_quantity(text, unit, bare=True)[0], unit) == q


@given(st.dates())
def test_a_date_is_read_back_and_keeps_its_order(day):
    v = u.parse_quantity(day.isoformat(), "date")[0]
    assert u.show_number(v, "date") == day.isoformat()
    assert u.compare("<", v, u.parse_quantity("2026-09-01", "date")[0]) is (
        day.isoformat() < "2026-09-01"
    )


@pytest.mark.parametrize(
    "text", ["9/1/2026", "2026-9-1", "September 1, 2026", "2026-02-30", "2026"]
)
def test_a_date_has_one_way_of_writing(text):
    with pytest.raises(Fault, match="2025-09-02"):
        u.parse_quantity(text, "date")


def test_three_figures_where_the_number_is_not_exact():
    said = {
        F(5, 3): "1.67",
        F(1, 7000): "0.000143",
        F(7, 16): "0.4375",
        F(29999, 3000): "10",
        F(100, 3): "33.33",
        F(2, 3): "0.667",
        F(3): "3",
        F(123456, 7): "17,636.57",
    }
    assert {q: u.number_text(q, brief=True) for q in said} == said
    assert u.number_text(F(5, 3)) == "1.6667"  # where the arithmetic is carried out


def test_what_is_printed_of_two_numbers_stands_as_they_do():
    """Pairs that lie close: the first of three ways to print them that is faithful keeps their
    order, and the last always is.
    """
    rng, seen = random.Random(5), set()
    for _ in range(4000):
        a = F(rng.randint(1, 40000), rng.choice((1, 3, 7, 1000)))
        b = a + rng.choice((0, 1, -1)) * F(1, rng.choice((1, 10, 300, 7000, 10**6, 3 * 10**9)))
        brief = u.faithful(a, b, None, None, True)
        full = not brief and not u.faithful(a, b, None, None, False)
        x, y = (F(u.number_text(q, full, brief).replace(",", "")) for q in (a, b))
        assert (a > b, a == b) == (x > y, x == y)
        seen.add((brief, full))
    assert len(seen) == 3
