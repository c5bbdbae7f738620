"""The drop of a load that is on one leg, against twice the length at 120 V."""

import pytest
from job_run import EDITIONS, Run

BY_EDITION = pytest.mark.parametrize("edition", (*EDITIONS, "2026"))


def branch(edition="2023", type_="lighting", volts="120/240 V", **more):
    facts = {
        "volts": volts,
        "length": "100 ft",
        "load": {"type": type_, "current": "16 A", "power factor": "1"},
        "conductors": {"size": "12 AWG", "material": "copper"},
        **more,
    }
    return Run({"one": facts}, edition)


def drop(w, circuit="one"):
    x = f"circuits.{circuit}.conductors"
    return float(w.fact(x, "voltage drop", "V")), round(
        float(w.fact(x, "voltage drop percent", "%")), 2
    )


# Chapter 9 Table 8: 12 AWG copper 1.98 Ω/kft; 16 A over 100 ft and back are 6.336 V (VD-12 of the
# notes has half of it, 3.17 V)
@BY_EDITION
@pytest.mark.parametrize("leg", ["A", "B"])
def test_a_load_on_one_leg_drops_out_of_120_volts(edition, leg):
    assert drop(branch(edition, leg=leg)) == drop(branch(edition, volts="120 V")) == (6.336, 5.28)
    assert drop(branch(edition, leg="both")) == (6.336, 2.64)


@pytest.mark.parametrize(
    "type_, percent",
    [("lighting", 5.28), ("cord-and-plug load", 5.28), ("range", 2.64), ("clothes dryer", 2.64)],
)
def test_a_leg_that_nobody_told_is_taken_by_the_load(type_, percent):
    assert drop(branch(type_=type_))[1] == percent


@pytest.mark.parametrize("b, percent", [(None, 5.28), (8, 3.96), (16, 2.64)])
def test_a_feeder_whose_legs_are_unlike(b, percent):
    # 12 AWG, 100 ft: 16 A on leg A, b on leg B, the difference back on the neutral; computed leg by
    # leg
    def kettle(leg, amperes):
        load = {
            "type": "lighting",
            "current": f"{amperes} A",
            "continuous": "no",
            "motor operated": "no",
            "hermetic": "no",
        }
        return {"panel": "shop", "volts": "120 V", "leg": leg, "load": load}

    circuits = {
        "feeder": {
            "panel": "house",
            "volts": "120/240 V",
            "length": "100 ft",
            "load": {"power factor": "1"},
            "conductors": {"size": "12 AWG", "material": "copper"},
        },
        "a": kettle("A", 16),
        **({"b": kettle("B", b)} if b else {}),
    }
    panels = {
        "house": {"feeder": "none"},
        "shop": {"feeder": "feeder", "all circuits described": "yes"},
    }
    assert drop(Run(circuits, panels=panels), "feeder")[1] == percent
