"""Article 680, thing by thing, beyond the check values of the collections.

Each page stands beside its test: course pages on 680.21(C), (D) and 680.9(A), a forum thread that
quotes 680.11 of 2017, another on the four conditions of 680.42(B), a town's page on receptacles.
What is from memory says so.
"""

import pytest
from job_run import Run

ALL = ("2017", "2020", "2023", "2026")
BY_EDITION = pytest.mark.parametrize("edition", ALL)
SPARED = {
    "listed as": "self-contained above ground",
    "manual followed": "yes",
    "sits": "on a pad",
    "rim height": "30 in",
    "ring": "none",
}


def pump(edition, **circuit):
    """A pool pump of 1 hp, hard-wired."""
    told = {
        "volts": "240 V",
        "pool part": "pump",
        "load": {"type": "motor", "horsepower": "1 hp", "connection": "hard-wired"},
        "receptacle": "none",
        "outlet at": "outdoors",
    }
    return Run({"it": told | circuit}, edition, job="A pool pump", building="one-family dwelling")


def tub(edition, building="one-family dwelling", place="outdoors", **around):
    """A hard-wired hot tub, and what is told of its surroundings."""
    told = {
        "volts": "240 V",
        "load": {"type": "hot tub", "current": "40 A", "connection": "hard-wired"},
        "receptacle": "none",
        "outlet at": place,
        "tub": {name.replace("_", " "): said for name, said in around.items()},
    }
    return Run({"it": told}, edition, job="A hot tub", building=building)


def on_pump(job, rule):
    return job.answer(rule, "circuits.it")


def on_tub(job, rule):
    return job.answer(rule, "circuits.it.tub")


# electricallicenserenewal.com, NEC-Content sectionID=958 (680.21(D) is new in 2020)
@pytest.mark.parametrize("gfci, says", [("yes", "passes"), ("no", "fails")])
@pytest.mark.parametrize("edition", ALL[1:])
def test_a_pump_that_is_replaced_gets_a_gfci_since_2020(edition, gfci, says):
    job = pump(edition, work="appliance swapped", **{"GFCI protection": gfci})
    assert on_pump(job, "gfci-replaced-pool-pump") == says
    assert on_pump(job, "gfci-pool-pump") == "does not apply"


def test_a_pump_that_is_replaced_in_2017_needs_none():
    job = pump("2017", work="appliance swapped", **{"GFCI protection": "no"})
    assert "gfci-replaced-pool-pump" not in job.k.rules
    assert on_pump(job, "gfci-pool-pump") == "does not apply"


# a page of a maker of receptacles on the change of 2014, in force since
@BY_EDITION
@pytest.mark.parametrize("gfci, says", [("yes", "passes"), ("no", "fails")])
def test_a_new_pump_is_on_a_gfci(edition, gfci, says):
    job = pump(edition, work="new circuit", **{"GFCI protection": gfci})
    assert on_pump(job, "gfci-pool-pump") == says


# forums.mikeholt.com/threads/open-bottom-splice-box-near-pool.2552767 quotes 680.11
@pytest.mark.parametrize(
    "method, says",
    [
        ("UF-B", "fails"),
        ("PVC 40", "passes"),
        ("RMC", "passes"),
        ("MC", "passes"),
        ("EMT", "fails"),
    ],
)
def test_what_may_be_buried_to_a_pool_in_2017(method, says):
    run = {"method": method, "length": "40 ft", "place": "underground", "location": "wet"}
    job = pump("2017", segments=[run | {"bundle": "none"}])
    assert job.answer("buried-run-to-the-water-in-pipe", "circuits.it.segments.1") == says


# from memory: since 2020 only within 5 ft of the water
@pytest.mark.parametrize("edition", ALL[1:])
@pytest.mark.parametrize("near, says", [("5 ft", "fails"), ("5.1 ft", "does not apply")])
def test_what_may_be_buried_near_the_water_since_2020(edition, near, says):
    run = {"method": "UF-B", "length": "40 ft", "place": "underground", "location": "wet"}
    job = pump(edition, segments=[run | {"bundle": "none", "distance to the water": near}])
    assert job.answer("buried-run-near-the-water-in-pipe", "circuits.it.segments.1") == says


# expertce.com, "How are 2023 NEC pool wiring clearance rules different?"
def test_wires_in_a_pipe_over_the_water_by_edition():
    wires = {"w": {"kind": "in a pipe", "distance": "2 ft", "height": "9 ft"}}
    job = tub("2020", overhead_wires=wires)
    over = "circuits.it.tub.overhead wires.w"
    assert job.answer("pipe-over-water-before-its-exception", over) == "refers"
    assert "pipe-over-water-before-its-exception" not in tub("2023", overhead_wires=wires).k.rules


# forums.mikeholt.com/threads/680-42-b-4-spa-bonding-exception.2565632: all four conditions
@BY_EDITION
@pytest.mark.parametrize(
    "fact, value",
    [
        ("listed as", "self-contained indoors only"),
        ("listed as", "packaged"),
        ("manual followed", "no"),
        ("sits", "sunk"),
        ("rim height", "27 in"),
    ],
)
def test_one_condition_less_and_the_ground_is_bonded(edition, fact, value):
    rule = "ground-around-the-water-is-bonded"
    assert on_tub(tub(edition, **SPARED), rule) == "does not apply"
    assert on_tub(tub(edition, **SPARED | {fact: value}), rule) == "fails"


@pytest.mark.parametrize("fact", [name for name in SPARED if name != "ring"])
def test_a_condition_that_nobody_told_spares_nothing(fact):
    told = {name: value for name, value in SPARED.items() if name != fact}
    rule = "ground-around-the-water-is-bonded"
    assert on_tub(tub("2023", **told), rule) == "cannot tell"


# republicmo.com/449: 125 V of 15 and 20 A within 20 ft; 2023 to 60 A and 250 V, from memory
@pytest.mark.parametrize(
    "edition, volts, says",
    [
        ("2020", "120 V", "gfci-within-twenty-feet-of-water"),
        ("2023", "120 V", "gfci-near-water-to-sixty-amperes"),
        ("2023", "240 V", "gfci-near-water-to-sixty-amperes"),
    ],
)
def test_receptacles_within_twenty_feet_of_an_outdoor_tub(edition, volts, says):
    for distance, answer in (("20 ft", "fails"), ("20.1 ft", "does not apply")):
        one = {"distance": distance, "volts": volts, "rating": "20 A", "GFCI": "no"}
        job = tub(edition, receptacles={"r": one})
        assert job.answer(says, "circuits.it.tub.receptacles.r") == answer


# a course page on 680.41 (one-family dwellings are left out); a townhouse is argued
@BY_EDITION
@pytest.mark.parametrize(
    "building, says",
    [
        ("one-family dwelling", "does not apply"),
        ("two-family dwelling", "fails"),
        ("unit in a multifamily dwelling", "fails"),
        ("townhouse", "does not apply"),
    ],
)
def test_the_stop_of_a_tub_by_its_building(edition, building, says):
    job = tub(edition, building=building, stop_switch="no")
    assert on_tub(job, "tub-has-an-emergency-stop") == says
    asked = on_tub(job, "stop-of-a-tub-at-a-townhouse")
    assert (asked == "refers") == (building == "townhouse")


def test_nothing_told_of_what_is_around_passes_nothing():
    """A tub of which nobody measured anything is neither right nor wrong."""
    job = tub("2023")
    for rule in (
        "ground-around-the-water-is-bonded",
        "metal-near-the-water-is-bonded",
        "receptacle-near-the-water",
        "lights-near-are-measured",
        "switches-near-are-measured",
        "wires-near-are-measured",
    ):
        assert on_tub(job, rule) == "cannot tell"


def test_a_kiln_is_asked_about_no_water():
    kiln = {"volts": "240 V", "load": {"type": "kiln", "current": "40 A"}}
    job = Run({"it": kiln}, "2023", job="A kiln")
    assert on_tub(job, "ground-around-the-water-is-bonded") == "does not apply"
    assert job.fact("circuits.it", "at the water") is False
