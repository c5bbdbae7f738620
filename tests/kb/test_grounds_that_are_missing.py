"""A ground that is not there, a wire too few, a bare wire as the neutral, by edition.

Sections: 250.114, 250.118, 250.122 and 406.4, 215.6 for feeders (from memory); 250.140 as it is
discussed in https://forums.mikeholt.com/threads/250-140.96005, its 2023 text in a course on the
changes of 2023 (expertce.com).
"""

import copy

import pytest
from one_circuit import EDITIONS, OneCircuit

from whywire.engine import inspect
from whywire.engine.answering.note import note_of

DRYER = {
    "supply": "120/240 V",
    "load": {"type": "clothes dryer", "power": "5.5 kW"},
    "breaker": {"rating": "30 A"},
    "conductors": {"size": "10 AWG", "material": "copper"},
    "receptacle": {"configuration": "14-30", "places": [{"place": "laundry area"}]},
    "segments": [{"method": "NM-B", "length": "30 ft", "bundle": "none"}],
}
SHAVING_BENCH = {
    "supply": "120 V",
    "load": {"type": "cord-and-plug load", "current": "8 A"},
    "breaker": {"rating": "20 A"},
    "conductors": {"size": "12 AWG", "material": "copper"},
    "receptacle": {"configuration": "5-20", "places": [{"place": "den"}]},
    "segments": [{"method": "NM-B", "length": "30 ft", "bundle": "none"}],
}
KILN = {
    "supply": "240 V",
    "load": {"type": "kiln", "current": "24 A", "connection": "hard-wired"},
    "breaker": {"rating": "30 A"},
    "conductors": {"size": "10 AWG", "material": "copper"},
    "receptacle": "none",
    "segments": [{"method": "NM-B", "length": "30 ft", "bundle": "none"}],
}


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("circuit", [DRYER, SHAVING_BENCH, KILN])
def test_a_circuit_that_brings_no_ground_fails_by_its_sections(circuit, edition):
    job = OneCircuit(circuit, edition, brings_an_EGC="no")
    assert job.says("branch-circuit-brings-a-ground") == "fails"
    cited = job.source("branch-circuit-brings-a-ground")
    letter = "(A)" if edition >= "2023" else ""
    for section in ("250.114", f"250.118{letter}", "250.122"):
        assert section in cited
    assert ("250.118(A)" in cited) is (edition >= "2023")
    # 250.122 has nothing to say of a wire that is not there, and above all does not pass
    assert job.says("egc-follows-the-breaker") == "does not apply"
    assert job.says("egc-grows-with-the-hots") == "does not apply"
    assert job.says("strict-reader-of-the-printed-areas") == "does not apply"
    # a new receptacle has nothing to connect its ground contact to
    wanted = "fails" if circuit["receptacle"] != "none" else "does not apply"
    assert job.says("new-receptacle-is-grounded") == wanted
    if wanted == "fails":
        assert "406.4" in job.source("new-receptacle-is-grounded")


@pytest.mark.parametrize("circuit", [DRYER, SHAVING_BENCH, KILN])
def test_a_ground_that_is_told_or_not_told_of_is_as_before(circuit):
    for told in ({"brings_an_EGC": "yes"}, {}):
        job = OneCircuit(circuit, **told)
        assert job.says("branch-circuit-brings-a-ground") == "does not apply"
        assert job.says("new-receptacle-is-grounded") == "does not apply"
        assert job.says("egc-follows-the-breaker") == "passes"


def test_no_ground_is_assumed_in_a_cable_that_is_said_to_have_none():
    wire = "circuits.one.conductors"
    assert OneCircuit(DRYER).fact(wire, "EGC size") == "10 AWG"
    assert OneCircuit(DRYER, brings_an_EGC="no").fact(wire, "EGC size") is None


def test_a_size_of_a_ground_that_is_not_there_is_a_contradiction():
    job = OneCircuit(DRYER, brings_an_EGC="no", conductors__EGC_size="10 AWG")
    assert job.says("ground-told-two-ways") == "refers"


def test_a_box_without_a_ground_is_a_circuit_without_one():
    job = OneCircuit(SHAVING_BENCH, receptacle__EGC_in_the_box="no", GFCI_protection="yes")
    assert job.says("branch-circuit-brings-a-ground") == "fails"
    # 406.4(D)(2) is for replacing a receptacle; a GFCI makes no new outlet lawful
    assert job.says("new-receptacle-is-grounded") == "fails"
    assert job.says("receptacle-without-egc") == "does not apply"


def test_replacing_where_there_is_no_ground():  # OLD-04: a course page on 406.4(D)(2)
    told = {
        "receptacle__existing": "yes",
        "receptacle__EGC_in_the_box": "no",
        "work": "extended or modified",
        "receptacle__ground_label": "yes",
    }
    assert (
        OneCircuit(SHAVING_BENCH, GFCI_protection="yes", **told).says("receptacle-without-egc")
        == "passes"
    )
    assert (
        OneCircuit(SHAVING_BENCH, GFCI_protection="no", **told).says("receptacle-without-egc")
        == "fails"
    )


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_feeder_within_the_building_brings_one(edition):
    feeder = {
        "supply": "120/240 V",
        "breaker": {"rating": "60 A"},
        "conductors": {"size": "6 AWG", "material": "copper"},
        "brings an EGC": "no",
        "segments": [{"method": "NM-B", "length": "30 ft", "bundle": "none"}],
    }
    for building, wanted in (
        ("same building as the service", "fails"),
        # 250.32 and its exception for old feeders speak there
        ("separate building", "does not apply"),
    ):
        job = OneCircuit(
            feeder, edition, {"panels": {"shop": {"feeder": "one", "building": building}}}
        )
        assert job.says("feeder-brings-a-ground") == wanted
        assert job.says("egc-follows-the-breaker") == "does not apply"


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(
    ("configuration", "supply", "wires", "wanted"),
    [  # ANSI/NEMA WD 6 (from memory): contacts, the ground counted
        ("14-30", "120/240 V", "3", "fails"),
        ("14-50", "120/240 V", "3", "fails"),
        ("14-50", "120/240 V", "4", "passes"),
        ("6-50", "240 V", "3", "passes"),
        ("6-50", "240 V", "2", "fails"),
        ("5-20", "120 V", "2", "fails"),
    ],
)
def test_contacts_and_wires(edition, configuration, supply, wires, wanted):
    job = OneCircuit(
        DRYER,
        edition,
        supply=supply,
        receptacle__configuration=configuration,
        conductors__wires=wires,
    )
    assert job.says("a-wire-for-each-contact") == wanted
    assert job.says("a-wire-for-each-purpose") == wanted
    assert OneCircuit(DRYER, edition).says("a-wire-for-each-contact") == "does not apply"


OLD_RANGE = {
    "supply": "120/240 V",
    "work": "left as it is",
    "panel": "house",
    "load": {"type": "range", "current": "40 A"},
    "breaker": {"rating": "50 A"},
    "conductors": {"size": "6 AWG", "material": "aluminum", "bare neutral": "yes"},
    "receptacle": {"configuration": "10-50", "existing": "yes", "places": [{"place": "den"}]},
    "segments": [{"method": "SE", "length": "30 ft", "bundle": "none"}],
}
SERVICE = {"panels": {"house": {"feeder": "none"}}}


def bare(edition):
    return "bare-neutral" if edition < "2023" else "bare-neutral-covered-in-the-panel"


@pytest.mark.parametrize("edition", EDITIONS)
def test_an_old_bare_neutral_from_the_service_may_stay(edition):  # OLD-01
    job = OneCircuit(OLD_RANGE, edition, SERVICE)
    assert job.says(bare(edition)) == "passes"
    assert ("250.140(B)" if edition >= "2023" else "250.140 exc.") in job.source(bare(edition))


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("covered", ["no", "yes"])
# OLD-02; row 13 of the doubts: 2023 differs
def test_the_panel_has_become_a_subpanel(edition, covered):
    old = copy.deepcopy(OLD_RANGE)
    old["starts at the service"] = "no"
    old["conductors"]["bare neutral covered"] = covered
    del old["panel"]
    wanted = "passes" if edition >= "2023" and covered == "yes" else "fails"
    assert OneCircuit(old, edition).says(bare(edition)) == wanted


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(
    "change",
    [
        {"work": "new circuit"},
        {"load__type": "kiln"},
        {"conductors__size": "10 AWG"},  # aluminum: 8 AWG is the least
        {"segments": [{"method": "NM-B", "length": "30 ft", "bundle": "none"}]},
    ],
)
def test_any_other_bare_neutral_fails(edition, change):
    assert OneCircuit(OLD_RANGE, edition, SERVICE, **change).says(bare(edition)) == "fails"


def test_a_neutral_of_which_nothing_is_told_is_not_asked_about():
    job = OneCircuit(DRYER)
    assert job.says(bare("2023")) == "does not apply"


def test_the_report_says_it_and_asks_nothing_that_follows():
    body = {"job": "trial", "edition": "2023", "building": "one-family dwelling"}
    report = inspect({**body, "circuits": {"one": {**DRYER, "brings an EGC": "no"}}}).as_dict()
    failed = {f["rule"] for f in report["findings"] if f["answer"] == "fails"}
    assert {"branch-circuit-brings-a-ground", "new-receptacle-is-grounded"} <= failed
    asked = {n["is"] for f in report["findings"] for n in f["needs"]}
    assert not asked & {"EGC size", "EGC type", "EGC in the box", "bare neutral", "wires"}


@pytest.mark.parametrize("edition", EDITIONS)
# GND-28: insulated neutral, lawful in its day
def test_an_old_dryer_circuit_left_alone_is_referred(edition):
    old = {
        "brings_an_EGC": "no",
        "receptacle__configuration": "10-30",
        "receptacle__existing": "yes",
        "GFCI_protection": "no",
        "AFCI_protection": "no",
    }
    job = OneCircuit(DRYER, edition, **old)
    assert job.says("branch-circuit-brings-a-ground") not in ("fails", "passes", "cannot tell")
    assert job.says("lawful-when-it-was-made") == "refers"
    # its neutral grounds the frame, on the conditions of 250.140; nothing is left to refer there
    assert job.says("existing-ungrounded-outlet") == "does not apply"
    assert job.says("three-wire-outlet-where-a-ground-is") == "passes"
    assert job.says("neutral-of-an-old-three-wire-circuit") == "passes"
    # lengthened, it is judged by today's book
    job = OneCircuit(DRYER, edition, work="extended or modified", **old)
    assert job.says("branch-circuit-brings-a-ground") == "fails"


def test_wires_that_are_not_there_fill_no_pipe():
    pipe = {"method": "EMT", "trade size": "1/2", "length": "30 ft", "bundle": "none"}
    told = {"segments": [pipe], "conductors__insulation": "THWN-2"}
    with_one = OneCircuit(
        DRYER, conductors__EGC_size="10 AWG", conductors__EGC_insulation="THWN-2", **told
    )
    without = OneCircuit(DRYER, brings_an_EGC="no", **told)
    at = ("circuits.one.segments.1", "fill count")
    assert (with_one.fact(*at), without.fact(*at)) == (4, 3)


OLD_DRYER = {**DRYER, "work": "left as it is", "receptacle": {"configuration": "10-30"}}


@pytest.mark.parametrize("edition", EDITIONS)
def test_of_an_old_outlet_without_a_ground_contact_no_ground_is_assumed(edition):
    """It was there, so that it is no new receptacle; and whether a ground comes is asked."""
    job = OneCircuit(OLD_DRYER, edition)
    assert job.says("new-outlet-has-a-ground") == "does not apply"
    body = {"job": "trial", "edition": edition, "building": "one-family dwelling"}
    note = note_of(inspect({**body, "circuits": {"one": OLD_DRYER}}))
    assert note.headline == "RIGHT IF"
    asked = [*note.questions, *note.further_questions]
    assert "brings an EGC" in {question.fact for question in asked}
    # a new cable has one, and a new receptacle has its contact
    new = OneCircuit({**OLD_DRYER, "work": "new circuit"}, edition)
    assert new.says("new-outlet-has-a-ground") == "fails"
