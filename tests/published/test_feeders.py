"""Feeders and the panels they feed, run through the engine. Each check names its source."""

import pytest
from job_run import EDITIONS, Run

FEEDER = {
    "volts": "120/240 V",
    "conductors": {"material": "copper"},
    "segments": [
        {
            "method": "PVC 40",
            "length": "100 ft",
            "place": "underground",
            "location": "wet",
            "bundle": "none",
        }
    ],
}
KILN = {"volts": "240 V", "panel": "shop", "load": {"type": "kiln", "current": "40 A"}}


def run(circuits, panels=None, edition="2023"):
    return Run(
        {"feeder": FEEDER, **circuits},
        edition,
        building="garage or accessory building",
        panels=panels or {"shop": {"feeder": "feeder", "all circuits described": "yes"}},
    )


def amperes(w, name, circuit="feeder"):
    v = w.fact(f"circuits.{circuit}.load", name, "A")
    return v if v is None or isinstance(v, tuple) else float(v)


def loads(w, circuit="feeder"):
    return tuple(
        amperes(w, n, circuit) for n in ("current", "continuous load", "noncontinuous load")
    )


def motor(horsepower, volts="240 V", **more):
    return {
        "volts": volts,
        "panel": "shop",
        "load": {"type": "motor", "horsepower": horsepower},
        **more,
    }


@pytest.mark.parametrize("edition", EDITIONS)
def test_one_continuous_load(edition):
    # arithmetic; 215.2(A)(1) and 215.3: 40 A for hours want 50 A
    w = run({"kiln": KILN}, edition=edition)
    assert loads(w) == (40, 40, 0)
    assert w.fact("circuits.feeder.breaker", "minimum rating", "A") == 50


def test_a_quarter_of_the_largest_motor_is_added():
    # 430.24 (from memory) with Table 430.248: 2 hp and 1 hp at 230 V draw 12 A and 8 A; 12 + 8 + 25
    # % of 12 = 23 A
    w = run({"saw": motor("2 hp"), "lathe": motor("1 hp")})
    assert loads(w) == (20, 0, 23)


def test_no_motor_adds_nothing():
    # the largest of none is nothing
    light = {
        "volts": "120 V",
        "leg": "A",
        "panel": "shop",
        "load": {"type": "lighting", "power": "1200 VA", "continuous": "no"},
    }
    assert loads(run({"light": light})) == (10, 0, 10)


def test_the_heavier_leg_sets_the_size():
    # arithmetic of the 120/240 V system: leg A 12 A, leg B 20 A
    def at(leg, watts):
        return {
            "volts": "120 V",
            "leg": leg,
            "panel": "shop",
            "load": {"type": "lighting", "power": f"{watts} VA", "continuous": "no"},
        }

    assert loads(run({"one": at("A", 1440), "two": at("B", 2400)})) == (20, 0, 20)
    assert loads(run({"one": at("B", 1440), "two": at("A", 2400)})) == (20, 0, 20)
    assert loads(run({"one": at("A", 1440), "two": at("A", 2400)})) == (32, 0, 32)


def test_the_leg_that_is_sized_heavier_is_taken():
    # arithmetic: leg A 20 A for hours (25 A with the quarter) against 24 A of short loads on leg B
    def at(leg, watts, long):
        return {
            "volts": "120 V",
            "leg": leg,
            "panel": "shop",
            "load": {"type": "lighting", "power": f"{watts} VA", "continuous": long},
        }

    assert loads(run({"one": at("A", 2400, "yes"), "two": at("B", 2880, "no")})) == (24, 20, 0)


def test_a_leg_not_told_is_asked_for():
    light = {
        "volts": "120 V",
        "panel": "shop",
        "load": {"type": "lighting", "power": "1200 VA", "continuous": "no"},
    }
    w = run({"light": light})
    assert not isinstance(amperes(w, "noncontinuous load"), float)
    assert w.answer("feeder-breaker-125-percent", "circuits.feeder.breaker") in (
        "cannot tell",
        "does not apply",
    )


@pytest.mark.parametrize("told", [{}, {"all circuits described": "no"}])
def test_a_panel_half_told_gives_no_load(told):
    # nothing is concluded from circuits that nobody described
    w = run({"kiln": KILN}, {"shop": {"feeder": "feeder", **told}})
    assert not isinstance(amperes(w, "continuous load"), float)


@pytest.mark.parametrize("power, noncontinuous", [("4.5 kW", 5000 / 240), ("5.5 kW", 5500 / 240)])
def test_a_dryer_counts_five_kilovolt_amperes_at_least(power, noncontinuous):
    # 220.54: Annex D example D1(a) takes 5,500 VA by nameplate; the 5,000 VA floor (from memory)
    dryer = {
        "volts": "120/240 V",
        "panel": "shop",
        "load": {"type": "clothes dryer", "power": power},
    }
    assert amperes(run({"dryer": dryer}), "noncontinuous load") == pytest.approx(noncontinuous)


def test_a_range_counts_its_demand():
    # Table 220.55 column C (from memory): 12 kW counts 8 kW
    cooking = {"volts": "120/240 V", "panel": "shop", "load": {"type": "range", "power": "12 kW"}}
    assert amperes(run({"range": cooking}), "noncontinuous load") == pytest.approx(8000 / 240)


def test_a_told_load_wins():
    # a feeder whose load somebody else has worked out
    w = run({"feeder": {**FEEDER, "load": {"current": "70 A"}}, "kiln": KILN})
    assert amperes(w, "current") == 70


def test_a_panel_behind_a_panel():
    # arithmetic; 40 A kiln, 1 hp 115 V motor (16 A, Table 430.248) on leg A beyond the second
    # panel; 2 hp at 230 V (12 A)
    # and 10 A of long lighting on leg B at the first: A 40 x 1.25 + 28 + 4 = 82 A, B 50 x 1.25 + 12
    # + 3 = 77.5 A
    circuits = {
        "sub": {**FEEDER, "panel": "shop"},
        "kiln": {**KILN, "panel": "loft"},
        "fan": motor("1 hp", "120 V", leg="A", panel="loft"),
        "saw": motor("2 hp"),
        "light": {
            "volts": "120 V",
            "leg": "B",
            "panel": "shop",
            "load": {"type": "lighting", "power": "1200 VA", "continuous": "yes"},
        },
    }
    panels = {
        "shop": {"feeder": "feeder", "all circuits described": "yes"},
        "loft": {"feeder": "sub", "all circuits described": "yes"},
    }
    w = run(circuits, panels)
    assert loads(w, "sub") == (56, 40, 20)
    assert loads(w) == (68, 40, 32)
    backwards = run(dict(reversed(circuits.items())), dict(reversed(panels.items())))
    assert loads(backwards) == (68, 40, 32)


def test_three_panels_deep():
    # arithmetic: what the last panel draws, every feeder above it carries
    circuits = {
        "second": {**FEEDER, "panel": "shop"},
        "third": {**FEEDER, "panel": "loft"},
        "kiln": {**KILN, "panel": "attic"},
    }
    panels = {
        "shop": {"feeder": "feeder", "all circuits described": "yes"},
        "loft": {"feeder": "second", "all circuits described": "yes"},
        "attic": {"feeder": "third", "all circuits described": "yes"},
    }
    w = run(circuits, panels)
    assert [loads(w, n) for n in ("third", "second", "feeder")] == [(40, 40, 0)] * 3
    panels["attic"] = {"feeder": "third"}
    half = run(circuits, panels)
    assert not isinstance(amperes(half, "continuous load"), float)


# ---- the panel itself ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "facts, rule, expected",
    [
        # 408.36 (from memory)
        ({"bus rating": "100 A"}, "bus-not-overloaded", "passes"),
        ({"bus rating": "60 A"}, "bus-not-overloaded", "fails"),
        # 250.142(B), 408.40 (from memory)
        ({"neutral bonded": "yes"}, "neutral-floats-in-a-subpanel", "fails"),
        ({"neutral bonded": "no"}, "neutral-floats-in-a-subpanel", "passes"),
        ({}, "neutral-floats-in-a-subpanel", "cannot tell"),
        ({"grounding bar bonded": "no"}, "grounding-bar-is-bonded", "fails"),
        # 250.32(A), 225.31, 225.39 (from memory)
        (
            {"building": "separate", "grounding electrodes": "no"},
            "electrodes-at-a-separate-building",
            "fails",
        ),
        (
            {"building": "same", "grounding electrodes": "no"},
            "electrodes-at-a-separate-building",
            "does not apply",
        ),
        (
            {"building": "separate", "building disconnect": "no"},
            "disconnect-at-a-separate-building",
            "fails",
        ),
        (
            {"building": "separate", "disconnect rating": "50 A"},
            "disconnect-rating-at-a-separate-building",
            "fails",
        ),
        (
            {"building": "separate", "disconnect rating": "60 A"},
            "disconnect-rating-at-a-separate-building",
            "passes",
        ),
    ],
)
def test_subpanel(facts, rule, expected):
    w = run(
        {
            "feeder": {**FEEDER, "breaker": {"rating": "100 A"}},
            "kiln": KILN,
            "saw": motor("2 hp"),
            "lathe": motor("1 hp"),
        },
        {"shop": {"feeder": "feeder", "all circuits described": "yes", **facts}},
    )
    assert w.answer(rule, "panels.shop") == expected


@pytest.mark.parametrize(
    "egc, expected", [("yes", "passes"), ("no", "fails"), ("unknown", "cannot tell")]
)
def test_separate_building_needs_an_egc(egc, expected):
    # 250.32(B)(1) (from memory)
    w = run(
        {"feeder": {**FEEDER, "brings an EGC": egc}, "kiln": KILN},
        {"shop": {"feeder": "feeder", "building": "separate"}},
    )
    assert w.answer("feeder-to-a-separate-building-brings-an-egc", "panels.shop") == expected
