"""A panel's own main, the disconnect of a separate building, and room for the breakers that
come.
"""

import pytest
from job_run import EDITIONS, Run

BY_EDITION = pytest.mark.parametrize("edition", (*EDITIONS, "2026"))


def run(edition="2023", circuits=None, breaker="100 A", house=None, feeder=None, **panel):
    told = {k.replace("_", " "): v for k, v in panel.items()}
    return Run(
        {
            "feeder": {
                "panel": "house",
                "role": "feeder",
                "volts": "120/240 V",
                "breaker": {"rating": breaker},
                **{k.replace("_", " "): v for k, v in (feeder or {}).items()},
            },
            **(circuits or {}),
        },
        edition,
        panels={"house": {"feeder": "none", **(house or {})}, "shop": {"feeder": "feeder", **told}},
    )


# 408.36: a panelboard is protected by a device ahead of it or within it, rated no higher than its
# bus (from memory)
@BY_EDITION
@pytest.mark.parametrize(
    "main, said",
    [("60 A", "exception applies"), ("70 A", "fails"), ("lugs only", "fails"), (None, "fails")],
)
def test_a_panel_may_be_protected_by_its_own_main(edition, main, said):
    w = run(edition, bus_rating="60 A", **({"main": main} if main else {}))
    assert w.answer("bus-not-overloaded", "panels.shop") == said


@pytest.mark.parametrize(
    "main, said", [("60 A", "passes"), ("50 A", "fails"), (None, "does not apply")]
)
def test_the_main_of_a_subpanel_limits_what_it_feeds(main, said):
    # 215.3: 125 % of 48 A are 60 A; computed
    kiln = {"panel": "shop", "volts": "240 V", "load": {"type": "kiln", "current": "48 A"}}
    w = run("2023", {"kiln": kiln}, all_circuits_told="yes", **({"main": main} if main else {}))
    assert w.answer("main-carries-the-feeder-load", "panels.shop") == said


@pytest.mark.parametrize(
    "main, said", [("200 A", "passes"), ("225 A", "fails"), (None, "does not apply")]
)
def test_the_main_at_the_service_is_no_larger_than_its_bus(main, said):
    house = {"bus rating": "200 A", **({"main": main} if main else {})}
    assert run(house=house).answer("main-protects-the-bus", "panels.house") == said


# 225.39(C): a one-family dwelling, 100 A; (D): all others, 60 A (from memory)
@BY_EDITION
@pytest.mark.parametrize(
    "dwelling, rating, said",
    [
        ("yes", "100 A", "passes"),
        ("yes", "60 A", "fails"),
        ("no", "60 A", "does not apply"),
        (None, "60 A", "cannot tell"),
        (None, "100 A", "passes"),
    ],
)
def test_the_disconnect_of_a_separate_dwelling(edition, dwelling, rating, said):
    feeder = {"serves_the_whole_dwelling": dwelling} if dwelling else {}
    w = run(
        edition,
        feeder=feeder,
        building="separate building",
        building_disconnect="yes",
        disconnect_rating=rating,
    )
    assert w.answer("disconnect-of-a-separate-dwelling", "panels.shop") == said


@pytest.mark.parametrize(
    "told, said", [("yes", "does not apply"), (None, "cannot tell"), ("no", "fails")]
)
def test_the_circuits_of_a_building_are_not_few_because_few_are_described(told, said):
    kiln = {"panel": "shop", "volts": "240 V", "load": {"type": "kiln", "current": "20 A"}}
    facts = {
        "building": "separate building",
        "disconnect_rating": "30 A",
        **({"all_circuits_told": told} if told else {}),
    }
    w = run("2023", {"kiln": kiln}, **facts)
    assert w.answer("disconnect-rating-at-a-separate-building", "panels.shop") == said


@pytest.mark.parametrize(
    "used, said", [("20", "passes"), ("21", "fails"), (None, "does not apply")]
)
def test_more_breakers_than_spaces(used, said):
    # 408.54 and the panel's label; common practice
    house = {"spaces": "20", **({"spaces used": used} if used else {})}
    assert run(house=house).answer("panel-not-overfull", "panels.house") == said


@pytest.mark.parametrize(
    "free, tandems, all_poles, pairs",
    [
        ("3", None, "passes", "passes"),
        ("2", None, "fails", "passes"),
        ("2", "1", "passes", "passes"),
        ("1", "2", "passes", "fails"),  # a tandem makes no room for two poles
        ("0", None, "fails", "fails"),
        (None, None, "does not apply", "does not apply"),
    ],
)
def test_a_full_panel_is_a_failure(free, tandems, all_poles, pairs):
    # a 240 V kiln and a 120 V bench are three poles
    circuits = {
        "kiln": {"panel": "shop", "volts": "240 V", "work": "new circuit"},
        "bench": {"panel": "shop", "volts": "120 V", "work": "new circuit"},
        "old": {"panel": "shop", "volts": "240 V", "work": "extended or modified"},
    }
    facts = {k: v for k, v in {"free_spaces": free, "tandems_to_add": tandems}.items() if v}
    w = run("2023", circuits, **facts)
    assert w.answer("room-for-the-new-breakers", "panels.shop") == all_poles
    assert w.answer("room-for-the-new-paired-breakers", "panels.shop") == pairs
