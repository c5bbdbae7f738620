"""Readings as somebody brings them: without the meter's error, of a heat pump, with what is under
called under.

What an ordinary meter is off is common practice, no source; the limits are those of
test_testing.py.
"""

from fractions import Fraction

import pytest
from job_run import EDITIONS, Run

from whywire.cli.show_answer import show_answer
from whywire.cli.show_inspection import show_inspection
from whywire.engine import inspect
from whywire.engine.answering.questions import Why

ALL = (*EDITIONS, "2026")


def reading(facts, circuits=None, edition="2023"):
    w = Run(circuits or {}, edition, measurements={"m": facts})
    return lambda rule: w.answer(rule, "measurements.m"), w


@pytest.mark.parametrize(
    "facts, error, rule, said",
    [
        (
            {"test": "supply voltage", "nominal voltage": "240 V", "voltage": "242 V"},
            ("voltage error", "3.93"),
            "supply-not-over-range-A",
            "passes",
        ),
        (
            {"test": "supply voltage", "nominal voltage": "240 V", "voltage": "250 V"},
            ("voltage error", "4.05"),
            "supply-not-over-range-A",
            "cannot tell",
        ),
        (
            {"test": "supply voltage", "nominal voltage": "240 V", "voltage": "210 V"},
            ("voltage error", "3.45"),
            "supply-not-under-range-B",
            "fails",
        ),
        (
            {"test": "GFCI trip current", "device class": "Class A", "trip current": "5 mA"},
            ("trip current error", "0.5"),
            "GFCI-trips-by-six",
            "passes",
        ),
        (
            {"test": "GFCI trip current", "device class": "Class A", "trip current": "5.6 mA"},
            ("trip current error", "0.56"),
            "GFCI-trips-by-six",
            "cannot tell",
        ),
        (
            {"test": "electrode resistance", "ohms": "18 Ω", "alone": "yes"}
            | {"electrode method": "fall of potential"},
            ("ohms error", "1"),
            "electrode-of-twenty-five-ohms",
            "passes",
        ),
        (
            {"test": "EGC continuity", "ohms": "0.4 Ω"},
            ("ohms error", "0.12"),
            "EGC-not-over-an-ohm",
            "passes",
        ),
        (
            {"test": "insulation resistance", "megohms": "110 MΩ"},
            ("megohms error", "11"),
            "new-wiring-reads-high",
            "cannot tell",
        ),
        (
            {"test": "standing leakage", "leakage": "1 mA"},
            ("leakage error", "0.2"),
            "standing-leakage",
            "passes",
        ),
        (
            {"test": "thermal rise", "rise": "14 C°"},
            ("rise error", "2"),
            "no-rise-to-repair-at-once",
            "cannot tell",
        ),
    ],
)
def test_a_reading_without_the_meters_error_takes_an_assumed_one(facts, error, rule, said):
    says, w = reading(facts)
    assert w.fact("measurements.m", error[0]) == Fraction(error[1])
    assert says(rule) == said


def test_trip_time_and_load_current_take_one_too():
    says, _ = reading(
        {"test": "GFCI trip time", "device class": "Class A", "fault current": "264 mA"}
        | {"trip time": "0.018 s"}
    )
    assert says("GFCI-trip-time") == "passes"
    kiln = {"k": {"volts": "240 V", "load": {"type": "kiln", "current": "48 A"}}}
    says, w = reading({"test": "load current", "circuit": "k", "amps": "47 A"}, kiln)
    assert w.fact("measurements.m", "amps error") == Fraction("1.71")
    assert says("load-current-not-under") == says("load-current-not-over") == "passes"


def job(**told):
    return inspect(
        {"job": "readings", "edition": "2023", "building": "one-family dwelling", **told}
    )


def measured(**facts):
    return job(measurements={"m": {key.replace("_", " "): v for key, v in facts.items()}})


def text(lines):
    """Lines of a screen as one line of words."""
    return " ".join(" ".join("".join(t for t, _ in line) for line in lines).split())


def answer(found, asked):
    return text(show_answer(Why(found.w, found.whatif).question([asked]), 80))


def test_the_assumed_error_is_shown_and_the_told_one_takes_its_place():
    facts = {"test": "supply voltage", "nominal_voltage": "240 V", "voltage": "242 V"}
    shown = text(show_inspection(measured(**facts)))
    assert "voltage error 3.93 V" in shown.split("ASSUMED, because you didn't say")[1]
    assert "voltage error" not in text(show_inspection(measured(**facts, voltage_error="1 V")))


HEAT_PUMP = {
    "type": "heat pump",
    "MCA": "30 A",
    "MOCP": "50 A",
    "connection": "hard-wired",
}


@pytest.mark.parametrize("edition", ALL)
@pytest.mark.parametrize(
    "load_, amps, said",
    [
        (HEAT_PUMP, "22 A", "cannot tell"),  # the MCA says nothing of it: the plate is asked for
        ({**HEAT_PUMP, "RLA": "22 A"}, "22 A", "passes"),
        ({**HEAT_PUMP, "RLA": "22 A"}, "15 A", "passes"),  # a mild day
        ({**HEAT_PUMP, "RLA": "22 A"}, "27 A", "advice"),  # under the MCA, and far over its plate
    ],
)
def test_a_heat_pumps_current_is_compared_with_its_plate(load_, amps, said, edition):
    facts = {"test": "load current", "circuit": "hp", "amps": amps, "amps error": "0.2 A"}
    says, _ = reading(facts, {"hp": {"volts": "240 V", "load": load_}}, edition)
    assert says("running-current-of-cooling-equipment") == said
    for rule in ("load-current-not-under", "load-current-not-over"):
        assert says(rule) in ("passes", "exception applies")


def test_a_plugged_room_unit_goes_by_the_amps_on_its_plate():
    load_ = {"type": "air conditioner", "connection": "cord and plug", "current": "10 A"}
    facts = {"test": "load current", "circuit": "ac", "amps": "13 A", "amps error": "0.2 A"}
    says, _ = reading(facts, {"ac": {"volts": "120 V", "load": load_}})
    assert says("running-current-of-cooling-equipment") == "does not apply"
    assert says("load-current-not-over") == "advice"


def test_rated_load_amps_are_what_runs_through_the_wire():
    w = Run({"hp": {"volts": "240 V", "load": {**HEAT_PUMP, "RLA": "22 A"}}})
    assert w.fact("circuits.hp.load", "current") == 22
    assert (
        Run({"hp": {"volts": "240 V", "load": HEAT_PUMP}}).fact("circuits.hp.load", "current") == 30
    )


def test_a_charger_that_is_set_lower_is_not_half_dead():
    load_ = {
        "type": "EV charger",
        "current": "48 A",
        "setting": "24 A",
        "restricted setting": "yes",
    }
    facts = {"test": "load current", "circuit": "ev", "amps": "24 A"}
    says, _ = reading(facts, {"ev": {"volts": "240 V", "load": load_}})
    assert says("load-current-not-under") == "exception applies"
    assert says("running-current-of-a-set-charger") == "passes"


def test_a_feeder_that_draws_little_has_nothing_dead():
    feeder = {"f": {"role": "feeder", "volts": "240 V", "load": {"current": "60 A"}}}
    says, _ = reading({"test": "load current", "circuit": "f", "amps": "12 A"}, feeder)
    assert says("load-current-not-under") == "exception applies"


@pytest.mark.parametrize("torque, side", [(40, "10 lb-in loose"), (60, "10 lb-in tight")])
def test_loose_is_under_and_tight_is_over(torque, side):
    lug = {"label torque": "50 lb-in", "torque": f"{torque} lb-in", "torque means": "by feel"}
    found = job(connections={"lug": lug})
    assert f"No, {side}." in text(show_inspection(found))
    said = answer(found, "lug")
    assert f"Tightened to {torque} lb-in" in said and f"{side}." in said


@pytest.mark.parametrize(
    "facts, side",
    [
        (
            {"test": "GFCI trip current", "device_class": "Class A", "trip_current": "8 mA"},
            "over the 6 mA",
        ),
        (
            {"test": "electrode resistance", "ohms": "60 Ω", "alone": "yes"}
            | {"electrode_method": "clamp-on"},
            "over 25 Ω",
        ),
        (
            {"test": "neutral isolation", "megohms": "0.2 MΩ", "neutral_lifted": "yes"}
            | {"energized": "no"},
            "under what",
        ),
        ({"test": "EGC continuity", "ohms": "3 Ω", "energized": "no"}, "over an ohm"),
        (
            {"test": "supply voltage", "nominal_voltage": "240 V", "voltage": "210 V"},
            "under the range",
        ),
        (
            {"test": "supply voltage", "nominal_voltage": "240 V", "voltage": "270 V"},
            "over the range",
        ),
        ({"test": "terminal rise", "rise": "50 C°"}, "too warm: 30 C° over the air is the most"),
    ],
)
def test_a_reading_is_said_on_its_own_side(facts, side):
    said = answer(measured(**facts), "m")
    assert side in said
    assert "Reading" in said
