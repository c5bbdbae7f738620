"""Holes and notches: whole jobs against building-code figures published elsewhere.

The source of each figure stands beside its check; "from memory" says what it says.
"""

import pytest
from job_run import Run


class Opening(Run):
    """A job with one opening, and what is concluded of it."""

    def __init__(self, **facts):
        super().__init__(openings={"h": {k.replace("_", " "): v for k, v in facts.items()}})

    def says(self, rule):
        return self.answer(rule, "openings.h")

    def inches(self, fact):
        return float(self.fact("openings.h", fact, "in"))


# IRC R602.6 and R502.8.1. The nonbearing 2x4 (1.4 in notch, 2.1 in hole) is printed in a county's
# list of common defects
# and on a page of the 2018 IRC; the rest is arithmetic on the shares, from memory.
HOLES = [
    ("nonbearing stud", "2x4", 2.1),
    ("nonbearing stud", "2x6", 3.3),
    ("bearing or exterior stud", "2x4", 1.4),
    ("bearing or exterior stud", "2x6", 2.2),
    ("doubled bearing stud", "2x4", 2.1),
    ("joist", "2x12", 3.75),
]


@pytest.mark.parametrize("member, nominal, largest", HOLES)
def test_largest_hole(member, nominal, largest):
    got = [
        Opening(kind="hole", member=member, nominal=nominal, hole_diameter=f"{d} in").says(
            "hole-in-wood"
        )
        for d in (largest, largest + 0.01)
    ]
    assert got == ["passes", "fails"]


NOTCHES = [
    ("nonbearing stud", "2x4", 1.4),
    ("bearing or exterior stud", "2x4", 0.875),
    ("bearing or exterior stud", "2x6", 1.375),
]


@pytest.mark.parametrize("member, nominal, deepest", NOTCHES)
def test_deepest_notch_in_a_stud(member, nominal, deepest):
    got = [
        Opening(kind="notch", member=member, nominal=nominal, notch_depth=f"{d} in").says(
            "notch-in-a-stud"
        )
        for d in (deepest, deepest + 0.01)
    ]
    assert got == ["passes", "fails"]


@pytest.mark.parametrize("part, deepest", [("end", 2.31), ("outer third", 1.54)])
def test_notch_in_a_2x10(part, deepest):
    # 2x10: 1.54 in and 2.31 in, from memory
    got = [
        Opening(
            kind="notch", member="joist", nominal="2x10", span_part=part, notch_depth=f"{d} in"
        ).says("notch-in-a-joist")
        for d in (deepest, deepest + 0.01)
    ]
    assert got == ["passes", "fails"]


def test_no_notch_in_mid_span():
    assert (
        Opening(
            kind="notch",
            member="joist",
            nominal="2x10",
            span_part="middle third",
            notch_depth="0.25 in",
        ).says("notch-in-a-joist")
        == "fails"
    )


def test_legal_wood_and_too_near_the_edge():
    """1-1/8 in centred in a 2x4: 32 % of the stud, 1-3/16 in to either face (geometry; 1-1/4 in is
    300.4(A)(1)).
    """
    hole = dict(
        kind="hole",
        member="bearing or exterior stud",
        nominal="2x4",
        hole_diameter="1-1/8 in",
        centered="yes",
        what_passes="NM-B",
    )
    r = Opening(**hole, plates="one face")
    assert r.inches("edge distance") == r.inches("far edge distance") == 1.1875
    assert r.says("hole-in-wood") == r.says("wood-at-the-edge") == "passes"
    assert r.says("plate-on-the-near-face") == "passes"
    assert r.says("plates-on-both-faces") == "fails"
    assert Opening(**hole, plates="both faces").says("plates-on-both-faces") == "passes"
    assert Opening(**hole, plates="no plate").says("plate-on-the-near-face") == "fails"
    assert Opening(**hole).says("plates-on-both-faces") == "cannot tell"
    # 300.4(A)(1) exception 1, from memory
    steel = Opening(**(hole | {"what_passes": "EMT"}), plates="no plate")
    assert steel.says("plate-on-the-near-face") == "does not apply"


def test_one_inch_is_the_largest_without_plates():
    r = Opening(
        kind="hole",
        member="bearing or exterior stud",
        nominal="2x4",
        hole_diameter="1 in",
        centered="yes",
        what_passes="cable",
        plates="no plate",
    )
    # 3.5 − 2 × 1.25 = 1.0
    assert r.says("plate-on-the-near-face") == r.says("plates-on-both-faces") == "does not apply"


def test_small_joist_has_two_limits():
    # 2x6: a third is 1.83 in, but 2 in from either edge leaves 1.5 in (arithmetic on R502.8.1)
    r = Opening(kind="hole", member="joist", nominal="2x6", hole_diameter="1.75 in", centered="yes")
    assert (r.says("hole-in-wood"), r.says("wood-at-the-edge")) == ("passes", "fails")


def test_engineered_member_is_the_makers_business():
    # IRC R502.8.2, R802.10.4, from memory: no general rule
    r = Opening(kind="hole", member="engineered member", hole_diameter="1 in", edge_distance="4 in")
    assert r.says("engineered-members") == "refers"
    assert r.says("hole-in-wood") == r.says("wood-at-the-edge") == "does not apply"
    assert (
        Opening(kind="hole", member="engineered member", chart_allows_it="yes").says(
            "engineered-members"
        )
        == "exception applies"
    )


@pytest.mark.parametrize(
    "facts, answer",
    [
        ({}, "refers"),
        ({"listed_system": "no"}, "refers"),
        ({"listed_system": "yes"}, "exception applies"),
    ],
)
def test_rated_wall_refers_until_the_system_is_told(facts, answer):
    # IRC R302.4.1 and 300.21, from memory
    assert (
        Opening(kind="hole", crosses="rated assembly", **facts).says("system-to-be-named") == answer
    )


@pytest.mark.parametrize(
    "area, gap, answer",
    [("16 in²", "1/8 in", "passes"), ("18 in²", "1/8 in", "fails"), ("16 in²", "1/4 in", "fails")],
)
def test_steel_box_in_a_rated_wall(area, gap, answer):
    # IRC R302.4.2, from memory: 16 in², 100 in² in 100 ft², 1/8 in
    r = Opening(
        kind="box opening",
        crosses="rated assembly",
        listed_for_the_assembly="no",
        box_metal="yes",
        box_area=area,
        summed_area="100 in²",
        gap=gap,
    )
    assert r.says("box-in-a-rated-wall") == answer


def test_garage_wall_is_filled_and_not_rated():
    # IRC R302.5.3, from memory: filled as fireblocking is
    r = Opening(kind="hole", crosses="garage wall", filled="yes")
    assert r.says("garage-separation-filled") == "passes"
    assert r.says("rated-penetration") == r.says("system-to-be-named") == "does not apply"


@pytest.mark.parametrize("cables, answer", [("2", "does not apply"), ("3", "warns")])
def test_foam_and_cables(cables, answer):
    # 334.80, from memory: more than two cables
    assert (
        Opening(kind="hole", crosses="top plate", filled="yes", NM_cables=cables).says(
            "filled-hole-heats-the-cables"
        )
        == answer
    )


def test_post_tensioned_slab():
    # common practice of the trade, no source
    slab = {"kind": "hole", "crosses": "slab", "post-tensioned": "yes"}
    assert Opening(**slab).says("post-tensioned-slab") == "refers"
    assert Opening(**slab, scanned="yes").says("post-tensioned-slab") == "exception applies"
