"""Cables that share a hole, a bundle or insulation are one thing, however they were told.

Published values: CAB-01, CAB-03, CAB-04 (forum and advice pages on 334.80), AMP-21 ("Bundling
NM"), CAB-06 (a 2002 trade
page on SE cable). That two cables over 24 in keep the general factor is a reading of 310.15(C)(1)
beside 334.80.
"""

import pytest
from job_run import EDITIONS, Run

ROW = {"method": "NM-B", "length": "40 ft", "place": "conditioned space", "location": "dry"}


def cable(bundle, size="12 AWG", **more):
    return {
        "volts": "120 V",
        "length": "40 ft",
        "more than one receptacle": "yes",
        "load": {"type": "cord-and-plug load", "current": "16 A", "continuous": "no"},
        "breaker": {"rating": "20 A"},
        "conductors": {"size": size, "material": "copper"},
        "segments": [{**ROW, "bundle": bundle, **more}],
    }


HOLE = {"kind": "hole", "crosses": "wall plate", "filled": "yes", "what passes": "cable"}


def told_by_circuits(count):
    names = [f"c{i}" for i in range(count)]
    return Run(
        {n: cable("hole") for n in names},
        bundles={"hole": {"kind": "sealed hole in wood", "circuits": names}},
    )


def told_by_count(count):
    return Run(
        {"c0": cable("hole")},
        bundles={"hole": {"kind": "sealed hole in wood", "circuits": ["c0"], "cables": count}},
    )


def told_by_opening(count):
    return Run(
        {"c0": cable("hole")},
        bundles={"hole": {"circuits": ["c0"]}},
        openings={"plate": {**HOLE, "NM cables": count, "bundle": "hole"}},
    )


# CAB-01: four 12-2 in one sealed hole are eight: 21 A. CAB-04: two take nothing off.
@pytest.mark.parametrize("told", [told_by_circuits, told_by_count, told_by_opening])
def test_the_cables_of_a_hole_reach_the_ampacity_however_they_were_told(told):
    for count, amperes in ((2, 30), (3, 24), (4, 21), (5, 15)):
        run = told(count)
        assert run.fact("circuits.c0.conductors", "adjusted ampacity", "A") == amperes, count
        assert run.fact("circuits.c0.segments.1", "current-carrying conductors", "count") == (
            2 * count
        )


def test_a_filled_hole_that_no_circuit_names_is_asked_about():
    run = Run({"c0": cable("none")}, openings={"plate": {**HOLE, "NM cables": 4}})
    assert run.answer("cables-of-a-filled-hole-counted", "openings.plate") == "cannot tell"
    run = Run({"c0": cable("none")}, openings={"plate": {**HOLE, "NM cables": 2}})
    assert run.answer("cables-of-a-filled-hole-counted", "openings.plate") == "does not apply"


def refused(run):
    return run.answer("bundle-told-in-two-ways", "bundles.hole")


def test_two_tales_of_one_hole_are_a_dispute():
    # the count of the opening against that of the bundle: both are shown, nothing is concluded
    run = Run(
        {"c0": cable("hole")},
        bundles={"hole": {"circuits": ["c0"], "cables": 2}},
        openings={"plate": {**HOLE, "NM cables": 4, "bundle": "hole"}},
    )
    assert ("bundles.hole", "cables") in run.w.disputes
    # an open hole against a sealed bundle is no dispute; a filled hole against a raceway is
    run = Run(
        {"c0": cable("hole")},
        bundles={"hole": {"circuits": ["c0"], "kind": "raceway"}},
        openings={"plate": {**HOLE, "NM cables": 2, "bundle": "hole"}},
    )
    assert ("bundles.hole", "kind") in run.w.disputes
    # the list of the bundle against the routes
    hole = {"kind": "sealed hole in wood", "circuits": ["a", "b"]}
    run = Run({"a": cable("hole"), "b": cable("none")}, bundles={"hole": hole})
    assert refused(run) == "refers"
    run = Run({n: cable("hole") for n in "abc"}, bundles={"hole": hole})
    assert refused(run) == "refers"
    run = Run({n: cable("hole") for n in "ab"}, bundles={"hole": {**hole, "cables": 1}})
    assert refused(run) == "refers"
    run = Run({n: cable("hole") for n in "ab"}, bundles={"hole": hole})
    assert refused(run) != "refers"


@pytest.mark.parametrize("kind", ["cables in contact with insulation", "sealed hole in wood"])
@pytest.mark.parametrize("inches,factor", [(24, 1), (25, 0.8)])
def test_two_cables_side_by_side_for_long_keep_the_general_factor(kind, inches, factor):
    both = {n: cable("hole") for n in "ab"}
    told = {"kind": kind, "circuits": ["a", "b"], "length together": f"{inches} in"}
    run = Run(both, bundles={"hole": told})
    assert float(run.fact("circuits.a.segments.1", "adjustment factor", "count")) == factor


@pytest.mark.parametrize("edition", [*EDITIONS, "2026"])
@pytest.mark.parametrize("kind", ["sealed hole in wood", "cables in contact with insulation"])
def test_the_exception_for_short_parts_is_not_offered_at_a_hole(kind, edition):
    names = list("abcde")
    told = {"hole": {"kind": kind, "circuits": names, "length together": "4 in"}}
    run = Run({n: cable("hole") for n in names}, bundles=told, edition=edition)
    x = "circuits.a.conductors"
    short = "part once lowered" if edition == "2017" else "part that may be lowered"
    assert run.answer("load-after-correction", x) == "fails"
    assert run.fact("circuits.a", short, "ft") is None
    run = Run({"a": cable("none", place="attic", ambient="160 °F")}, edition=edition)
    assert run.answer("load-after-correction", x) == "fails"
    assert run.fact("circuits.a", short, "ft") == 4


# CAB-06 has the columns of SE cable; 338.10(B)(4): 10 AWG and smaller in insulation end at 60 °C,
# 30 A copper.
@pytest.mark.parametrize("edition", [*EDITIONS, "2026"])
@pytest.mark.parametrize(
    "rule,load,breaker",
    [
        ("motor-conductors", {"type": "motor", "horsepower": "5 hp"}, "50 A"),
        (
            "conductors-carry-the-mca",
            {"type": "air conditioner", "MCA": "31 A", "MOCP": "50 A"},
            "50 A",
        ),
    ],
)
def test_the_cap_of_se_cable_belongs_to_the_column(rule, load, breaker, edition):
    c = {
        "volts": "240 V",
        "length": "40 ft",
        "load": {**load, "connection": "hard-wired"},
        "breaker": {"rating": breaker},
        "conductors": {"size": "10 AWG", "material": "copper", "insulation": "XHHW-2"},
        "segments": [
            {**ROW, "method": "SE", "place": "attic", "ambient": "86 °F", "bundle": "none"}
        ],
        "supply termination": {"temperature rating": "75 °C"},
        "load termination": {"temperature rating": "75 °C"},
    }
    x = "circuits.c.conductors"
    for inside, amperes in (("yes", 30), ("no", 35)):
        c["segments"][0]["in insulation"] = inside
        run = Run({"c": c}, edition=edition)
        assert run.fact(x, "ampacity", "A") == amperes
        assert run.answer(rule, x) == ("fails" if inside == "yes" else "passes")
    c["conductors"]["size"], c["segments"][0]["in insulation"] = "8 AWG", "yes"
    assert Run({"c": c}, edition=edition).fact(x, "ampacity", "A") == 50
