"""Nothing is concluded against nothing: a feeder's told load counts, and a list is empty only where
somebody said so.
"""

import pytest
from job_run import EDITIONS, Run

BY_EDITION = pytest.mark.parametrize("edition", (*EDITIONS, "2026"))
HOUSE = {"feeder": "none"}


def run(edition="2023", load=None, told="yes", panel="shop", **circuits):
    """A 60 A feeder of 6 AWG copper to a shop; *told* says whether all circuits of the shop are
    described.
    """
    feeder = {
        "panel": "house",
        "role": "feeder",
        "volts": "120/240 V",
        "breaker": {"rating": "60 A"},
        "conductors": {"size": "6 AWG", "material": "copper"},
    }
    panels = {"house": HOUSE}
    if panel:
        panels["shop"] = {"feeder": "feeder", **({"all circuits described": told} if told else {})}
    return Run(
        {"feeder": {**feeder, **({"load": load} if load else {})}, **circuits},
        edition,
        panels=panels,
    )


def sized(w, circuit="feeder"):
    """The continuous and the noncontinuous load that the feeder is sized for."""
    return tuple(
        float(v) if not isinstance(v, tuple) and v is not None else v
        for v in (
            w.fact(f"circuits.{circuit}.load", f"{n} load", "A")
            for n in ("continuous", "noncontinuous")
        )
    )


def breaker(w):
    return w.answer("feeder-breaker-125-percent", "circuits.feeder.breaker")


KILN = {"panel": "shop", "volts": "240 V", "load": {"type": "kiln", "current": "40 A"}}


# 215.3: 125 % of what runs for hours and the rest; 80 A told are 100 A, whatever is listed behind
# them. Computed.
@BY_EDITION
@pytest.mark.parametrize(
    "told, panel", [("yes", "shop"), ("no", "shop"), (None, "shop"), (None, None)]
)
@pytest.mark.parametrize("load", [{"current": "80 A"}, {"power": "19.2 kW"}])
def test_a_told_load_counts_where_nothing_is_listed(edition, told, panel, load):
    w = run(edition, load, told, panel)
    assert sized(w) == (80, 0)
    assert breaker(w) == "fails"
    w = run(edition, {**load, "continuous": "no"}, told, panel)
    assert sized(w) == (0, 80)
    assert breaker(w) == "fails"


def test_a_told_load_is_added_as_far_as_it_is_more_than_the_circuits():
    assert sized(run(load={"current": "30 A"}, kiln=KILN)) == (40, 0)
    assert sized(run(load={"current": "40 A"}, kiln=KILN)) == (40, 0)
    assert sized(run(load={"current": "70 A"}, kiln=KILN)) == (70, 0)
    assert sized(run(load={"current": "70 A", "continuous": "no"}, kiln=KILN)) == (40, 30)


@pytest.mark.parametrize("told, panel", [("no", "shop"), (None, "shop"), (None, None)])
def test_where_nothing_is_told_nothing_is_concluded(told, panel):
    assert breaker(run(None or "2023", None, told, panel)) == "cannot tell"


def test_an_empty_panel_is_empty_where_somebody_says_so():
    w = run()
    assert sized(w) == (0, 0)
    assert breaker(w) == "passes"


@pytest.mark.parametrize("told", ["yes", "no"])
def test_a_told_load_counts_at_the_feeder_before_it_too(told):
    loft = {
        "panel": "shop",
        "role": "feeder",
        "volts": "120/240 V",
        "load": {"current": "50 A"},
    }
    panels = {
        "house": HOUSE,
        "shop": {"feeder": "feeder", "all circuits described": "yes"},
        "loft": {"feeder": "loft feeder", "all circuits described": told},
    }
    feeder = {"panel": "house", "volts": "120/240 V", "breaker": {"rating": "60 A"}}
    w = Run({"feeder": feeder, "loft feeder": loft}, panels=panels)
    assert sized(w, "loft feeder") == (50, 0)
    assert sized(w) == (50, 0)
    assert breaker(w) == "fails"
