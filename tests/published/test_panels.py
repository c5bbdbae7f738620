"""Panels and the room in front of them against values from outside; `from memory` where there is no
other.
"""

import pytest
from job_run import EDITIONS, Run, knowledge


def run(job, edition="2023"):
    return Run(edition=edition, **job).answer


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(
    ("existing", "bus", "wanted"),
    [("yes", "200 A", "exception applies"), ("yes", "225 A", "fails"), ("no", "200 A", "fails")],
)
# PNL-04: a trade forum quoting 110.26(A)(3) exc. 1
def test_headroom_of_an_existing_dwelling(edition, existing, bus, wanted):
    says = run(
        {
            "panels": {"main": {"feeder": "none", "bus rating": bus}},
            "working spaces": [
                {
                    "panel": "main",
                    "height": "6 ft",
                    "equipment height": "66 in",
                    "existing dwelling": existing,
                }
            ],
        },
        edition,
    )
    assert says("working-space-height", "working spaces.1") == wanted


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(
    ("room", "allowed"),
    [
        ("bathroom", False),
        ("clothes closet", False),
        ("over stair steps", False),
        ("bedroom", True),
        ("laundry room", True),
    ],
)
# PNL-05: a trade forum quoting the residential code
def test_where_a_panel_may_be(edition, room, allowed):
    says = run(
        {"panels": {"main": {"feeder": "none", "room": room, "new location": "yes"}}}, edition
    )
    got = [
        says(r, "panels.main")
        for r in ("panel-in-a-bathroom", "panel-in-a-clothes-closet", "panel-over-steps")
    ]
    assert ("fails" not in got) is allowed
    assert got.count("passes") == (3 if allowed else 2)


@pytest.mark.parametrize(
    ("height", "wanted"), [("79 in", "passes"), ("6 ft 7 in", "passes"), ("80 in", "fails")]
)
def test_the_highest_handle(height, wanted):  # PNL-06, PNL-07: from memory
    says = run({"panels": {"main": {"feeder": "none", "as built": {"top handle": height}}}})
    assert says("top-handle", "panels.main.as built") == wanted


def test_two_neutrals_under_one_screw():  # PNL-10: from memory
    says = run(
        {
            "panels": {
                "main": {
                    "feeder": "none",
                    "as built": {
                        "neutrals alone": "no",
                        "EGCs in one hole": "2",
                        "EGCs allowed in one hole": "2",
                    },
                }
            }
        }
    )
    assert says("neutral-one-per-hole", "panels.main.as built") == "fails"
    assert says("EGCs-per-hole", "panels.main.as built") == "passes"


def test_tandems_where_the_label_has_none():  # PNL-11: a trade site on half-size breakers
    says = run(
        {
            "panels": {
                "main": {
                    "feeder": "none",
                    "as built": {
                        "tandems": "2",
                        "tandem positions": "0",
                        "poles in it": "22",
                        "circuits on the label": "20",
                    },
                }
            }
        }
    )
    assert says("tandems-at-most", "panels.main.as built") == "fails"
    assert says("circuits-on-the-label", "panels.main.as built") == "fails"


def test_storage_in_the_working_space():  # PNL-16: a trade forum quoting the residential code
    says = run({"working spaces": [{"storage": "yes", "lit": "yes", "manual light": "no"}]})
    assert says("no-storage-in-the-working-space", "working spaces.1") == "fails"
    assert says("light-not-automatic-alone", "working spaces.1") == "fails"


@pytest.mark.parametrize(
    ("facts", "wanted"),
    [
        ({"depth": "36 in"}, "passes"),
        ({"depth": "35.9 in"}, "fails"),
        ({}, "cannot tell"),
        ({"depth": "36 in", "voltage to ground": "277 V"}, "does not apply"),
    ],
)
def test_depth(facts, wanted):  # 110.26(A)(1), from memory
    says = run({"working spaces": [facts]})
    assert says("working-space-depth", "working spaces.1") == wanted


def test_a_breaker_that_clips_in_proves_nothing():  # 110.3(B), from memory
    says = run({"panels": {"main": {"feeder": "none", "as built": {"top handle": "70 in"}}}})
    assert says("breakers-listed-for-the-panel", "panels.main.as built") == "cannot tell"


def test_the_floor_came_with_2023():  # from memory
    assert "flat-floor" not in knowledge("2020").rules
    assert (
        run({"working spaces": [{"floor flat": "no"}]})("flat-floor", "working spaces.1") == "fails"
    )


def test_a_panel_nobody_inspected_is_not_asked_about():
    assert not Run(panels={"main": {"feeder": "none", "room": "garage"}}).w.by_kind[
        "panel as built"
    ]
