"""What the wires of a circuit pass on their way, and what else its list asks: a switch whose mark
nobody read, a plugged load beside other outlets, a hole through a plate, old aluminum.
"""

import pytest
from one_circuit import EDITIONS, knowledge

from whywire.engine import inspect
from whywire.engine.front import note_of
from whywire.engine.running.chain import World
from whywire.engine.running.job import read_job

BY_EDITION = pytest.mark.parametrize("edition", EDITIONS)
MARKED = {"marking": "75 °C"}
KILN = {
    "volts": "240 V",
    "length": "40 ft",
    "conductors together": "yes",
    "more than one receptacle": "no",
    "load": {"type": "kiln", "current": "48 A", "connection": "hard-wired", "listed": "yes"},
    "breaker": {"rating": "60 A"},
    "conductors": {
        "size": "6 AWG",
        "material": "copper",
        "insulation": "THWN-2",
        "EGC size": "10 AWG",
        "EGC material": "copper",
        "stranded": "yes",
    },
    "supply termination": MARKED,
    "load termination": MARKED,
    "segments": [
        {
            "method": "EMT",
            "trade size": "3/4",
            "length": "40 ft",
            "place": "basement",
            "ambient": "86 °F",
            "location": "dry",
            "bundle": "none",
            "bends": "180°",
        }
    ],
    "receptacle": "none",
}


def kiln_behind(**disconnect) -> dict:
    """A kiln on 6 AWG, which 60 °C would not carry, behind such a disconnect."""
    told = {"in sight": "yes", "locks open": "yes", "rating": "60 A", **disconnect}
    circuit = {**KILN, "disconnect": told}
    return {"job": "kiln", "edition": "2023", "circuits": {"kiln": circuit}}


def answer(rule: str, thing: str, edition: str, **job) -> str:
    """What a rule says of a thing in a job of a one-family dwelling."""
    k = knowledge(edition)
    world = World(k, read_job({"building": "one-family dwelling", **job}, k)).run()
    return world.answer(k.rules[rule], world.things[thing])


def assumed(note) -> str:
    return " ".join(map(str, note.as_dict()["assumed"]))


def test_an_unread_switch_is_taken_for_one_of_75_and_said_to_be():
    found = inspect(kiln_behind(kind="switch"))
    assert not [f for f in found.findings if f.answer == "fails"]
    assert "the disconnect takes wire at 75 °C" in assumed(note_of(found))


def test_a_switch_of_60_lets_the_wire_carry_less():
    found = inspect(kiln_behind(kind="switch", **{"wire temperature": "60 °C"}))
    assert "conductor-125-percent" in {f.rule for f in found.findings if f.answer == "fails"}


def test_a_breaker_with_a_lock_is_no_joint_on_the_way():
    found = inspect(kiln_behind(kind="breaker with lock-off"))
    assert "the disconnect takes wire" not in assumed(note_of(found))


@BY_EDITION
@pytest.mark.parametrize(("amperes", "wanted"), [("16 A", "passes"), ("17 A", "fails")])
def test_one_plug_beside_other_outlets_takes_four_fifths_at_most(edition, amperes, wanted):
    load = {"type": "cord-and-plug load", "current": amperes, "connection": "cord and plug"}
    circuit = {
        "role": "branch circuit",
        "breaker": {"rating": "20 A"},
        "load": load,
        "more than one receptacle": "no",
        "also feeds other outlets": "yes",
    }
    name = "one-plugged-load-on-a-shared-circuit"
    assert answer(name, "circuits.it.load", edition, circuits={"it": circuit}) == wanted


@BY_EDITION
def test_a_small_hole_in_a_plate_asks_for_no_notch(edition):
    plate = {
        "kind": "hole",
        "crosses": "wall plate",
        "load-bearing plate": "yes",
        "depth": "3.5 in",
        "hole diameter": "0.75 in",
    }
    name = "tie-over-a-cut-plate"
    assert answer(name, "openings.it", edition, openings={"it": plate}) == "does not apply"


def test_the_mark_for_old_aluminum_waits_for_the_metal():
    """Whether a receptacle is marked CO/ALR is no question before the wire is known to be one."""
    circuit = {
        "volts": "120 V",
        "work": "device replaced",
        "load": {"type": "cord-and-plug load", "current": "8 A"},
        "breaker": {"rating": "15 A"},
        "conductors": {"size": "12 AWG"},
        "receptacle": {"configuration": "5-15", "places": [{"place": "den"}]},
        "segments": [{"method": "NM-B", "length": "30 ft", "place": "basement"}],
    }
    found = inspect({"job": "den", "edition": "2023", "circuits": {"den": circuit}})
    (finding,) = [f for f in found.findings if f.rule == "receptacle-on-aluminum"]
    assert finding.answer == "cannot tell"
    assert [need.fact for need in finding.needs] == ["material"]
    circuit["conductors"]["material"] = "aluminum"
    found = inspect({"job": "den", "edition": "2023", "circuits": {"den": circuit}})
    (finding,) = [f for f in found.findings if f.rule == "receptacle-on-aluminum"]
    assert {need.fact for need in finding.needs} == {"marked CO-ALR", "on copper pigtails"}
