"""Money: packs that are chosen and not rounded, cents that add up, prices that are missing, and the
mistakes that are usual in it. The prices are invented; what is checked is the arithmetic.
"""

import random
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from priced_kiln import FOUR, KILN, PIPE, RATES, TODAY, kiln_body, knowledge, lines, of, prices

from whywire.engine.basics.errors import Faults
from whywire.engine.work.buying import bought
from whywire.engine.work.cutting import Pack, buy, said_packs
from whywire.engine.work.money import burdened, cents, priced, said
from whywire.engine.work.opening import How, opened
from whywire.engine.work.options import run_option
from whywire.engine.work.price_file import Prices, read_prices, starter
from whywire.engine.work.takeoff import take_off
from whywire.engine.work.tasks import ordered

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
F = Fraction
COILS = [Pack(F(25), F(48)), Pack(F(50), F(79)), Pack(F(100), F(149))]


# ---- packs


def test_a_piece_is_not_a_total():
    """Three runs of 40 ft: 100 + 50, not 100 + 25, which is long enough and cannot be cut."""
    got = buy([F(40)] * 3, F(120), COILS, False)
    assert got.cost == 228 and said_packs(got.packs) == "100 + 50"
    assert (got.rejected[0].packs, got.rejected[0].cost) == ("100 + 25", 197)


def test_runs_share_a_coil_and_dropping_one_saves_what_is_left():
    """44 + 44 ft share one coil of 100 at 149: without one of them it is 50 at 79, 70 less."""
    both, one = buy([F(44)] * 2, F(88), COILS, False), buy([F(44)], F(44), COILS, False)
    assert (both.cost, one.cost, both.cost - one.cost) == (149, 79, 70)


def test_a_bag_has_no_unit_price():
    """2.40 each, 42.00 for 25: seven cost 16.80 and eighteen a bag."""
    packs = [Pack(F(1), F("2.40")), Pack(F(25), F(42))]
    assert buy([], F(7), packs, False).cost == F("16.80")
    assert buy([], F(17), packs, False).cost == F("40.80")
    assert buy([], F(18), packs, False).cost == 42


def test_what_is_used_of_a_box_is_charged_by_its_share():
    assert cents(buy([], F(26), [Pack(F(100), F("11.90"))], True).cost) == F("3.09")


def test_a_step_in_the_price_is_named():
    """Three wires of 164.85 ft come from one reel of 500 ft, with 5.45 ft to spare."""
    packs = [Pack(F(1), F("1.85")), Pack(F(500), F(735))]
    got = buy([F("164.85")] * 3, F("494.55"), packs, False)
    assert got.cost == 735 and got.step == (F("5.45"), F("926.85"))
    # a route of 132 ft: 3 × (132 + 27) × 1.05 = 500.85 ft
    assert buy([F("166.95")] * 3, F("500.85"), packs, False).cost == F("926.85")


def test_no_coil_that_long_is_said():
    got = buy([F("104.5")], F("104.5"), COILS, False)
    assert got.too_long == F("104.5") and got.cost is None


def brute_force(pieces: list[Fraction]) -> Fraction:
    """The cheapest coils by trying every way to deal the pieces out: slow, and plainly right."""
    best = None

    def deal(at: int, groups: list[Fraction]) -> None:
        nonlocal best
        if at == len(pieces):
            costs = [
                min((p.price for p in COILS if p.size >= group), default=None) for group in groups
            ]
            if None not in costs and (best is None or sum(costs) < best):
                best = sum(costs)
            return
        for index in range(len(groups)):
            deal(at + 1, [g + pieces[at] * (i == index) for i, g in enumerate(groups)])
        deal(at + 1, [*groups, pieces[at]])

    deal(0, [])
    return best


@given(st.lists(st.integers(5, 95).map(Fraction), min_size=1, max_size=5))
def test_the_cheapest_cut_is_the_cheapest(pieces):
    assert buy(pieces, sum(pieces), COILS, False).cost == brute_force(pieces)


def test_the_cut_fits_and_longer_is_never_cheaper():
    """500 draws: every piece comes out of one coil, and no price falls when a piece grows."""
    draw = random.Random(20)
    for _ in range(500):
        pieces = [F(draw.randint(12, 95)) for _ in range(draw.randint(1, 4))]
        got = buy(pieces, sum(pieces), COILS, False)
        assert sorted(piece for cut in got.cuts for piece in cut.pieces) == sorted(pieces)
        assert all(cut.rest >= 0 for cut in got.cuts)
        longer = [*pieces]
        longer[draw.randrange(len(longer))] += draw.randint(1, 5)
        if max(longer) <= 100:
            assert buy(longer, sum(longer), COILS, False).cost >= got.cost


def test_many_pieces_fit_and_are_not_called_the_cheapest():
    draw = random.Random(7)
    pieces = [F(draw.randint(12, 95)) for _ in range(30)]
    got = buy(pieces, sum(pieces), COILS, False)
    assert not got.proven and all(cut.rest >= 0 for cut in got.cuts)
    assert sorted(piece for cut in got.cuts for piece in cut.pieces) == sorted(pieces)


# ---- cents


def test_half_a_cent_goes_away_from_zero_on_both_sides():
    assert [said(F(x)) for x in ("0.335", "-0.125", "0.005", "-0.004")] == [
        "0.34",
        "−0.13",
        "0.01",
        "0.00",
    ]


def test_a_sum_adds_what_is_printed():
    assert sum(cents(F("0.335")) for _ in range(3)) == F("1.02")  # fractions say 1.005, 1.01


def test_tax_is_taken_once_of_the_printed_base():
    assert cents(3 * F("10.05") * F("0.07")) == F("2.11")
    assert 3 * cents(F("10.05") * F("0.07")) == F("2.10")


def test_the_burdened_hour():
    """(36.00 + 22 % + 6.50 + 5.00) ÷ 75 % = 55.42 ÷ 0.75, kept as a fraction."""
    own = Prices(
        rates={
            "wage of the licensed": F(36),
            "taxes and insurance": F("0.22"),
            "benefits": F("6.5"),
            "vehicle and tools": F(5),
            "billable share": F("0.75"),
        }
    )
    assert burdened(own, "licensed").value == F("55.42") / F("0.75") == F(5542, 75)


# ---- a whole price


def test_a_kiln_by_hand(tmp_path):
    _, price = of(kiln_body(), prices(tmp_path, lines()))
    parts = {one.line.part: amount for one, amount in price.parts}
    assert parts == {
        "4-3 NM-B": 540,  # 55 ft in one piece: the coil of 100
        "wire cap": F("1.20"),
        "cable connector": F("4.80"),
        "cable staple": F("0.24"),  # 2 of 100 at 11.90: 0.238
        "2-pole 60 A breaker": F("31.75"),
        "lock-off": F("13.50"),
        "label sheet": F("4.80"),
    }
    lines_ = {charge.name: charge.amount for charge in [*price.cost, price.price, *price.after]}
    assert lines_ == {
        "Parts": F("596.29"),
        "Consumables": F("17.89"),  # 3 % × 596.29 = 17.8887
        "Work": F("828.00"),  # (270 + 2 × 45) min = 360 min; 360 ÷ 60 × 138
        "Overhead": F("216.00"),  # 360 ÷ 60 × 2 × 18
        "Price": F("2368.83"),  # 1,658.18 ÷ 0.7 = 2,368.8286
        "Use tax": F("42.99"),  # 7 % × 614.18 = 42.9926
        "Permit": F("85.00"),
    }
    assert price.total == F("2496.82") and price.is_whole
    assert price.total == price.price.amount + sum(charge.amount for charge in price.after)


def test_margin_is_not_markup(tmp_path):
    _, price = of(kiln_body(), prices(tmp_path, lines()))
    cost = sum(charge.amount for charge in price.cost)
    assert price.price.amount == cents(cost / F("0.7")) != cents(cost * F("1.3"))
    assert round(price.markup * 10000) == 4286


def test_a_permit_carries_no_margin_and_no_tax(tmp_path):
    _, with_it = of(kiln_body(), prices(tmp_path, lines()))
    _, without = of(kiln_body(), prices(tmp_path, lines({**RATES, "permit": "0"})))
    assert with_it.total - without.total == 85


def test_a_missing_price_makes_the_total_the_least(tmp_path):
    parts = {key: price for key, price in KILN.items() if key[0] != "2-pole 60 A breaker"}
    _, price = of(kiln_body(), prices(tmp_path, lines(parts=parts)))
    assert price.missing == [("2-pole 60 A breaker", "no price in the file")]
    assert price.least and not price.is_whole
    assert [charge.least for charge in price.cost] == [True, True, False, False]


def test_a_minimum_charge_makes_no_whole_price_of_the_least(tmp_path):
    parts = {key: price for key, price in KILN.items() if key[0] != "2-pole 60 A breaker"}
    text = lines(parts=parts) + "minimum charge,job,,9000.00,2026-11-25\n"
    _, price = of(kiln_body(), prices(tmp_path, text))
    assert price.price.amount == 9000 and price.price.least and not price.is_whole


def test_a_tax_that_nobody_told_leaves_the_total_before_tax(tmp_path):
    rates = {name: rate for name, rate in RATES.items() if name != "use tax on parts"}
    _, price = of(kiln_body(), prices(tmp_path, lines(rates)))
    assert not price.tax_known and not price.is_whole
    _, untaxed = of(kiln_body(), prices(tmp_path, lines(rates) + "no tax,%,,0,2026-11-25\n"))
    assert untaxed.tax_known and untaxed.total == price.total


# ---- options


def option(tmp_path, body, changes):
    own = prices(tmp_path, lines())
    job, price = of(body, own)
    return price, run_option(body, How(), "another", changes, job, price, own)


def test_an_option_is_the_difference_of_two_printed_totals(tmp_path):
    base, other = option(tmp_path, kiln_body(FOUR), PIPE)
    _, alone = of(kiln_body(PIPE), prices(tmp_path, lines()))
    assert not other.stops and other.job.headline == "RIGHT"
    assert other.delta == alone.total - base.total < 0
    # the wires: 2 × (40 + 7 + 3) × 1.05, 53 ft each by the foot; a ground of 53 ft
    parts = {one.line.part: amount for one, amount in other.price.parts}
    assert parts["6 AWG THHN/THWN-2 copper"] == 106 * F("1.28")
    assert parts["10 AWG THHN/THWN-2 copper green"] == 53 * F("0.52")
    assert parts["EMT 3/4"] == 4 * F("13.90")
    assert "− 4-3 NM-B" in other.changes and "+ EMT 3/4" in other.changes


def test_an_illegal_economy_is_not_offered(tmp_path):
    six = {"circuits": {"kiln": {"conductors": {"size": "6 AWG", "EGC size": "10 AWG"}}}}
    _, other = option(tmp_path, kiln_body(FOUR), six)
    assert any("125 %" in stop for stop in other.stops)


def test_a_difference_of_what_is_not_whole_is_refused(tmp_path):
    """A piece that no coil holds has no cost: the total falls, and that is no saving."""
    base, other = option(tmp_path, kiln_body(FOUR), {"circuits": {"kiln": {"rises": "45 ft"}}})
    assert other.price.missing[0][1].startswith("no coil holds a piece of 104.5 ft")
    assert other.price.total < base.total and other.delta is None


def test_an_option_that_changes_nothing_says_so(tmp_path):
    """9 ft more come out of the same coil, but they take time: 9 × 0.6 min."""
    _, same = option(
        tmp_path, kiln_body(FOUR), {"circuits": {"kiln": {"measured": "taped where it lies"}}}
    )
    assert same.delta == 0 and same.changes == []
    _, other = option(tmp_path, kiln_body(FOUR), {"circuits": {"kiln": {"rises": "9 ft"}}})
    assert other.changes == ["4-3 NM-B: 55 → 64.9"]
    assert other.price.minutes - same.price.minutes == F("5.4")


# ---- the file


@pytest.mark.parametrize(
    "line, code, todo",
    [
        ('lock-off,each,1,"1,85",2026-11-25', "price-comma", "write 1.85"),
        ("lock-off,each,1,1,85,2026-11-25", "ragged-row", "a price is written 1.85, with a point"),
        ("lock-off,each,1,-3.00,2026-11-25", "price-negative", "a return is no price"),
        ("nail plaet,each,1,3.00,2026-11-25", "no-such-part", 'did you mean "nail plate"?'),
        ("lock-off,ft,1,3.00,2026-11-25", "price-unit", "write each"),
        ("lock-off,each,0,3.00,2026-11-25", "price-pack", "write how many"),
        ("lock-off,each,1,3.00,25.11.2026", "price-date", "write it as 2026-11-25"),
        ("lock-off,each,1,3.00,2026-12-24", "price-date", "write the day on which"),
        ("lock-off,each,1,3.00,2026-09-25", "price-old", "ask again and write the new day"),
        ("lock-off,each,1,$3.00,2026-11-25", "price-form", "write digits and a point: 1.85"),
        ("wire cap,each,1,0.70,2026-11-25", "price-twice", "leave one out"),
        ("margin,%,,30,2026-11-25", "price-twice", "leave one out"),
        ("sales tax,%,,5,2026-11-25", "price-tax", "the one that place and contract ask for"),
    ],
)
def test_a_slip_in_a_price_file(tmp_path, line, code, todo):
    text = lines(parts={key: price for key, price in KILN.items() if key[0] != "lock-off"})
    with pytest.raises(Faults) as faults:
        prices(tmp_path, text + line + "\n")
    (fault,) = faults.value.items
    assert fault.code == code and todo in str(fault)
    if code != "price-tax":
        assert fault.at[1] == text.count("\n") + 1


def test_every_slip_at_once(tmp_path):
    text = (
        "part,unit,pack,price,date,currency\n"
        "wire cap,each,1,0.60,2026-11-25,USD\n"
        "lock-off,each,1,-1,2026-11-25,USD\n"
        "cable staple,each,100,11.90,2026-11-25,EUR\n"
        'nail plate,ft,1,"0,55",yesterday,USD\n'
    )
    with pytest.raises(Faults) as faults:
        prices(tmp_path, text)
    got = sorted((fault.at[1], fault.code) for fault in faults.value.items)
    assert [(code, line) for line, code in got] == [
        *[("rate-missing", 1)] * 4,
        ("price-negative", 3),
        ("price-currency", 4),
        ("price-comma", 5),
        ("price-date", 5),
        ("price-unit", 5),
    ]


def test_a_missing_column(tmp_path):
    with pytest.raises(Faults) as faults:
        prices(tmp_path, "part,unit,price,day\n")
    assert [fault.code for fault in faults.value.items] == ["price-column"] * 3


def test_a_margin_of_all_there_is(tmp_path):
    with pytest.raises(Faults) as faults:
        prices(tmp_path, lines({**RATES, "margin": "100"}))
    assert [fault.code for fault in faults.value.items] == ["price-margin"]


def test_the_starter_is_read_whole_and_says_that_it_is_invented(tmp_path):
    own = prices(tmp_path, starter(knowledge(), TODAY))
    assert own.invented
    assert set(own.packs) == {str(row["part"]) for row in knowledge().tables["parts"].rows}
    _, price = of(kiln_body(), own)
    assert price.invented and price.missing == []


def test_a_job_of_which_nothing_is_known_to_take_anything_has_no_whole_price(mine):
    """The way there and the permit alone would look like an offer."""
    own = read_prices(mine, knowledge())
    job = opened(JOBS / "permits" / "owner-in-the-own-house.yaml", How())
    off, order = take_off(job), ordered(job)
    price = priced(off, bought(off, own), order, own)
    assert not off.lines and price.least and not price.is_whole
    assert ("the work itself", "nothing here says what it takes") in price.missing
