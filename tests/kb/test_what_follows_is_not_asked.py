"""A fact that follows is not asked, saying more never makes less known, and a luminaire is no fixed
equipment.

210.23(A)(2): equipment fastened in place, luminaires apart (from memory); the other cases are what
the words mean.
"""

import pytest
from one_circuit import EDITIONS, OneCircuit

from whywire.engine import inspect
from whywire.engine.basics.sentinels import NONE

CHARGER = {
    "supply": "240 V",
    "load": {"type": "vehicle charger", "current": "32 A"},
    "breaker": {"rating": "40 A"},
    "conductors": {"size": "8 AWG", "material": "copper"},
}


def asked(circuit, **job):
    """Every fact that an inspection asks for, with the thing it is of."""
    body = {"job": "trial", "edition": "2023", "building": "one-family dwelling", **job}
    if circuit is not None:
        body["circuits"] = {"one": circuit}
    report = inspect(body).as_dict()
    return {(n["of"].split(".")[-1], n["is"]) for f in report["findings"] for n in f["needs"]}


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("kind", ["vehicle charger", "kiln", "other", "cord-and-plug load"])
@pytest.mark.parametrize("panel", [{}, {"bus rating": "200 A"}, {"feeder": "none"}])
def test_naming_the_panel_makes_no_feeder_of_a_charger(edition, kind, panel):
    job = OneCircuit(CHARGER, edition, {"panels": {"house": panel}}, panel="house", load__type=kind)
    assert job.fact("circuits.one", "role") == "branch circuit"


def test_what_feeds_a_panel_is_a_feeder_whatever_its_load_is_called():
    panels = {"panels": {"house": {}, "shop": {"feeder": "one"}}}
    job = OneCircuit(CHARGER, "2023", panels, panel="house", load__type="other")
    assert job.fact("circuits.one", "role") == "feeder"


def test_a_circuit_of_which_nothing_is_told_may_still_feed_the_panel():
    nothing = {k: v for k, v in CHARGER.items() if k != "load"}
    assert (
        OneCircuit(nothing, "2023", {"panels": {"house": {}}}).fact("circuits.one", "role") is None
    )


def test_a_hard_wired_load_has_no_receptacle():
    job = OneCircuit(CHARGER, load__connection="hard-wired")
    assert (
        job.w.things["circuits.one"][job.k.words.kinds["circuit"].words["receptacle"].slot] is NONE
    )
    told = {**CHARGER, "load": {**CHARGER["load"], "connection": "hard-wired"}}
    assert ("one", "receptacle") not in asked(told)
    assert ("one", "receptacle") in asked(CHARGER)
    # where it feeds other outlets too, one of those may be a receptacle
    assert ("one", "receptacle") in asked({**told, "also feeds other outlets": "yes"})


def in_pipe(kind, more=True):
    wires = {"size": "12 AWG", "material": "copper", "insulation": "THWN-2", "EGC type": kind}
    one = {
        "supply": "120 V",
        "load": {"type": "cord-and-plug load", "current": "8 A"},
        "breaker": {"rating": "20 A"},
        "conductors": wires,
        "segments": [{"method": "EMT", "trade size": "1/2", "length": "20 ft", "bundle": "pipe"}],
    }
    names = ("one", "two") if more else ("one",)
    return {
        "circuits": {n: one for n in names},
        "bundles": {"pipe": {"kind": "raceway", "circuits": list(names)}},
    }


def test_pipes_and_single_circuits_share_no_ground():
    def shared(job):
        return OneCircuit(CHARGER, "2023", job).fact("bundles.pipe", "shared EGC")

    assert shared(in_pipe("wire")) is None
    assert shared(in_pipe("metal raceway")) is False
    assert shared(in_pipe("wire", more=False)) is False


@pytest.mark.parametrize(
    ("size", "gangs"),
    [
        ("3 x 2 x 2-3/4 device", 1),
        ("3-3/4 x 2 x 3-1/2 masonry", 1),
        ("4 x 2-1/8 x 1-7/8 device", 1),
        ("FS multiple gang", None),
    ],
)
def test_a_box_of_the_table_has_its_gangs(size, gangs):
    job = OneCircuit(CHARGER, "2023", {"boxes": {"here": {"trade size": size}}})
    assert job.fact("boxes.here", "ganged sections") == gangs
    told = {"boxes": {"here": {"trade size": "3 x 2 x 2-3/4 device", "ganged sections": "2"}}}
    # Table 314.16(A): 14 in³ a gang
    assert OneCircuit(CHARGER, "2023", told).fact("boxes.here", "volume") == 28


BEDSIDE = {
    "supply": "120 V",
    "load": {"type": "cord-and-plug load", "exact appliance": "something else"},
    "breaker": {"rating": "15 A"},
    "AFCI protection": "no",
    "GFCI protection": "yes",
    "also feeds other outlets": "no",
    "receptacle": {"configuration": "5-15", "duplex": "no", "places": [{"place": "bedroom"}]},
}


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_room_follows_from_the_receptacle(edition):
    job = OneCircuit(BEDSIDE, edition)
    assert job.says("afci-protection") == "fails"
    garage = OneCircuit(
        BEDSIDE, edition, receptacle__places=[{"place": "garage"}], more_than_one_receptacle="no"
    )
    assert garage.says("afci-protection") == "does not apply"
    # a circuit that goes on to other outlets may reach a room that is listed
    goes_on = OneCircuit(
        BEDSIDE, edition, receptacle__places=[{"place": "garage"}], also_feeds_other_outlets="yes"
    )
    assert goes_on.says("afci-protection") == "cannot tell"
    # and a room that is told goes before what would follow
    told = OneCircuit(
        BEDSIDE,
        edition,
        receptacle__places=[{"place": "garage"}],
        more_than_one_receptacle="no",
        rooms=[{"place": "bedroom"}],
    )
    assert told.says("afci-protection") == "fails"


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(
    ("kind", "wanted"), [("lighting", "does not apply"), ("space heater", "fails")]
)
def test_a_luminaire_is_no_equipment_fastened_in_place(edition, kind, wanted):
    shared = {
        "supply": "120 V",
        "load": {"type": kind, "current": "12 A", "connection": "hard-wired"},
        "breaker": {"rating": "20 A"},
        "also feeds other outlets": "yes",
    }
    assert OneCircuit(shared, edition).says("fixed-equipment-on-a-shared-circuit") == wanted
