"""The difference that an option makes is that of two whole runs, printed; and every price adds up
at the cent. Prices, rates, the job and its option are drawn; 500 draws in a whole run.
"""

import random
from fractions import Fraction
from pathlib import Path

import pytest
from priced_kiln import FOUR, KILN, PIPE, RATES, kiln_body, lines, of, prices
from sweeps import SEED, examples

from whywire.engine.work.money import Price, said
from whywire.engine.work.opening import How, with_changes
from whywire.engine.work.options import run_option

DRAWS = 500
A_BASE = 10  # options tried on one base


def printed(amount: Fraction) -> Fraction:
    """What a reader reads off the page."""
    return Fraction(said(amount).replace(",", "").replace("−", "-"))


def adds_up(price: Price, margin: Fraction) -> None:
    """Each printed line is whole cents, and each sum is the sum of what is printed above it."""
    amounts = {charge.name: charge.amount for charge in [*price.cost, price.price, *price.after]}
    for amount in [*amounts.values(), *(each for _, each in price.parts)]:
        assert (amount * 100).denominator == 1 and printed(amount) == amount
    assert sum(each for _, each in price.parts) == amounts["Parts"]
    cost = sum(charge.amount for charge in price.cost)
    assert abs(amounts["Price"] * (1 - margin) - cost) <= Fraction(1, 200) * (1 - margin)
    assert price.total == amounts["Price"] + sum(charge.amount for charge in price.after)
    assert printed(price.total) == price.total


def a_length(draw: random.Random) -> str:
    return f"{draw.randint(120, 880) / 10:g} ft"


def as_cable(draw: random.Random) -> dict:
    length = a_length(draw)
    segment = {"method": "NM-B", "length": length, "place": "basement", "location": "dry"}
    own = {"length": length, "segments": [{**segment, "bundle": "none", "laid": "along framing"}]}
    return with_changes(FOUR, {"circuits": {"kiln": own}})


def in_pipe(draw: random.Random) -> dict:
    length = a_length(draw)
    (segment,) = PIPE["circuits"]["kiln"]["segments"]
    own = {"length": length, "segments": [{**segment, "length": length}]}
    return with_changes(PIPE, {"circuits": {"kiln": own}})


def higher(draw: random.Random) -> dict:
    rises = {"measured": "on the plan", "rises": f"{draw.randint(0, 450) / 10:g} ft"}
    return {"circuits": {"kiln": rises}}


def lived_in(draw: random.Random) -> dict:
    return {"lived in": draw.choice(["yes", "no"])}


def drawn_prices(draw: random.Random, folder: Path):
    """Prices in odd cents, one of the parts sometimes without any."""
    rates = {**RATES, "margin": str(draw.randint(0, 60)), "consumables": f"{draw.randint(0, 9)}.5"}
    rates["use tax on parts"] = f"{draw.randint(0, 1100) / 100:g}"
    parts = {part: f"{draw.randint(7, 60000) / 100:.2f}" for part in KILN}
    if draw.random() < 0.2:
        del parts["lock-off", "1"]
    return prices(folder, lines(rates, parts)), Fraction(rates["margin"]) / 100


@pytest.mark.sweep
def test_an_option_makes_the_difference_of_two_whole_runs(tmp_path):
    draw = random.Random(SEED)
    told = whole = cheaper = 0
    for _ in range(max(1, examples(DRAWS) // A_BASE)):
        own, margin = drawn_prices(draw, tmp_path)
        body = kiln_body(draw.choice([as_cable, in_pipe])(draw))
        base, price = of(body, own)
        adds_up(price, margin)
        for _ in range(A_BASE):
            changes = draw.choice([as_cable, in_pipe, higher, lived_in])(draw)
            option = run_option(body, How(), "another", changes, base, price, own)
            _, alone = of(with_changes(body, changes), own)
            adds_up(alone, margin)
            assert option.price.total == alone.total
            told += 1
            if price.is_whole and alone.is_whole:
                assert option.delta == alone.total - price.total
                assert printed(option.delta) == printed(alone.total) - printed(price.total)
                whole += 1
                cheaper += option.delta < 0
            else:
                assert option.delta is None  # the least less anything is no number
    assert told > whole > cheaper > 0 or told < 100, (told, whole, cheaper)
