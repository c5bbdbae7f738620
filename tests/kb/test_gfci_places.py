"""GFCI by its own conditions: charging receptacles, snow melting, tubs, old outlets, and places
that follow from rooms.

Vehicles: EVC-11 and EVC-12, https://forums.mikeholt.com/threads/evse.2573359/page-2, the reports of
the final ballot of 2026, and the course page on 625.44 (electricallicenserenewal.com,
sectionID=1973). Tubs: TUB-09, a trade-press answer on 680.44 (ecmweb.com, code-qa-21). The rest is
from memory where no source is named.
"""

import pytest
from one_circuit import EDITIONS, OneCircuit

VAN = {
    "supply": "240 V",
    "load": {
        "type": "EV charger",
        "current": "32 A",
        "two-way charger": "no",
        "instructions forbid GFCI": "no",
    },
    "breaker": {"rating": "40 A"},
    "GFCI protection": "no",
    "also feeds other outlets": "no",
    "more than one receptacle": "no",
    "receptacle": {"configuration": "14-50", "places": [{"place": "bedroom"}]},
}
HARD_WIRED = {
    **{k: v for k, v in VAN.items() if k != "receptacle"},
    "load": {**VAN["load"], "connection": "hard-wired"},
}


def charging(edition):
    return "gfci-small-vehicle-receptacle" if edition == "2017" else "gfci-vehicle-receptacle"


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("place", ["bedroom", "garage", "outdoors", "attic"])
def test_a_receptacle_for_charging_wherever_it_is(edition, place):  # EVC-11, first outlet
    job = OneCircuit(VAN, edition, receptacle__places=[{"place": place}])
    assert job.says(charging(edition)) == "fails"
    assert "625.54" in job.source(charging(edition))
    job = OneCircuit(VAN, edition, receptacle__places=[{"place": place}], GFCI_protection="yes")
    assert job.says(charging(edition)) == "passes"


@pytest.mark.parametrize("edition", EDITIONS)
def test_it_is_for_charging_whatever_the_load_is_called(edition):
    job = OneCircuit(
        VAN, edition, load__type="cord-and-plug load", receptacle__special_use="vehicle charging"
    )
    assert job.says(charging(edition)) == "fails"
    job = OneCircuit(VAN, edition, load__type="kiln")
    assert job.says(charging(edition)) == "does not apply"
    told = {k: v for k, v in VAN["load"].items() if k != "type"}
    assert OneCircuit({**VAN, "load": told}, edition).says(charging(edition)) == "cannot tell"


def test_over_fifty_amperes_in_2017_and_after():  # the limit of 2017 from memory
    big = {"receptacle__configuration": "14-60", "breaker__rating": "60 A"}
    assert OneCircuit(VAN, "2017", **big).says("gfci-small-vehicle-receptacle") == "does not apply"
    assert OneCircuit(VAN, "2020", **big).says("gfci-vehicle-receptacle") == "fails"


@pytest.mark.parametrize(
    ("edition", "garage", "outdoors"),
    [("2017", False, False), ("2020", False, True), ("2023", False, True), ("2026", True, True)],
)
def test_hard_wired_chargers(edition, garage, outdoors):  # EVC-11, second and third outlet
    rules = (
        "gfci-hard-wired-vehicle-outlet",
        "gfci-outdoor-outlets",
        "gfci-outdoor-outlets-to-sixty",
    )

    def asked(job):
        return any(job.says(r) == "fails" for r in rules)

    inside = {"outlet_at": "garage", "breaker__rating": "60 A", "load__current": "48 A"}
    assert asked(OneCircuit(HARD_WIRED, edition, **inside)) is garage
    outside = {"outlet_at": "outdoors", "breaker__rating": "50 A"}
    assert asked(OneCircuit(HARD_WIRED, edition, **outside)) is outdoors
    # a circuit of 60 A outdoors is in from 2026 only
    outside["breaker__rating"] = "60 A"
    assert asked(OneCircuit(HARD_WIRED, edition, **outside)) is (edition == "2026")


def test_what_2026_leaves_out():
    for two_way, wanted in (("no", "fails"), ("yes", "does not apply")):
        told = {**HARD_WIRED["load"], "two-way charger": two_way}
        job = OneCircuit({**HARD_WIRED, "load": told}, "2026", outlet_at="garage")
        assert job.says("gfci-hard-wired-vehicle-outlet") == wanted


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_maker_that_forbids_a_gfci_is_shown_beside_the_law(edition):
    told = {**VAN["load"], "instructions forbid GFCI": "yes"}
    job = OneCircuit({**VAN, "load": told}, edition)
    assert job.says("gfci-against-the-instructions") == "refers"
    assert job.says(charging(edition)) != "fails"


@pytest.mark.parametrize("edition", EDITIONS)
def test_fifty_on_forty(edition):  # EVC-12; row 3 of the doubts
    rule = "no-fifty-ampere-charging-on-forty"
    assert OneCircuit(VAN, edition).says(rule) == ("fails" if edition == "2026" else "not in force")
    assert OneCircuit(VAN, edition, load__type="range").says(rule) != "fails"
    assert OneCircuit(VAN, edition, breaker__rating="50 A").says(rule) != "fails"
    # the pairing itself stays lawful
    assert OneCircuit(VAN, edition).says("single-receptacle-not-below-the-circuit") == "passes"


@pytest.mark.parametrize(
    ("configuration", "listed", "wanted"),
    [("14-50", "no", "fails"), ("14-50", "yes", "passes"), ("6-20", "no", "does not apply")],
)
def test_listed_for_charging_from_2026(configuration, listed, wanted):
    job = OneCircuit(
        VAN,
        "2026",
        receptacle__configuration=configuration,
        receptacle__listed_for_vehicle_charging=listed,
    )
    assert job.says("charging-receptacle-is-made-for-it") == wanted
    assert OneCircuit(VAN, "2023").says("charging-receptacle-is-made-for-it") == "not in force"


GUTTER = {
    "supply": "120 V",
    "load": {"type": "other", "current": "8 A"},
    "breaker": {"rating": "20 A"},
    "GFCI protection": "no",
    "also feeds other outlets": "no",
    "more than one receptacle": "no",
    "receptacle": {
        "configuration": "5-20",
        "special use": "snow melting alone",
        "readily accessible": "no",
        "places": [{"place": "outdoors"}],
    },
}


def receptacles(edition):
    return "gfci-small-receptacles" if edition == "2017" else "gfci-receptacles"


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(
    "change",
    [
        {"receptacle__readily_accessible": "yes"},
        {"also_feeds_other_outlets": "yes"},
        {"more_than_one_receptacle": "yes"},
        {"receptacle__places": [{"place": "garage"}]},
        {"receptacle__special_use": "ordinary"},
    ],
)
def test_snow_melting_by_its_conditions(edition, change):  # 210.8(A)(3) exc., from memory
    assert OneCircuit(GUTTER, edition).says(receptacles(edition)) not in ("fails", "cannot tell")
    assert OneCircuit(GUTTER, edition, **change).says(receptacles(edition)) == "fails"


TUB = {
    "supply": "240 V",
    "load": {
        "type": "spa",
        "current": "32 A",
        "integral GFCI": "yes",
        "connection": "hard-wired",
        "instructions forbid GFCI": "no",
    },
    "breaker": {"rating": "50 A"},
    "outlet at": "outdoors",
    "GFCI protection": "no",
}


@pytest.mark.parametrize("edition", EDITIONS)
# TUB-09 and 210.8(F): both readings, no verdict
def test_a_tub_with_its_own_gfci_outdoors(edition):
    outdoor = "gfci-outdoor-outlets-to-sixty" if edition == "2026" else "gfci-outdoor-outlets"
    job = OneCircuit(TUB, edition)
    assert job.says("spa-with-its-own-gfci-outdoors") == "refers"
    assert job.says(outdoor) not in ("fails", "passes")
    without = OneCircuit(TUB, edition, load__integral_GFCI="no")
    assert without.says("gfci-spa") == "fails"
    if edition != "2017":
        assert without.says(outdoor) == "fails"


OLD = {
    "supply": "120 V",
    "load": {"type": "cord-and-plug load", "exact appliance": "something else"},
    "breaker": {"rating": "20 A"},
    "GFCI protection": "no",
    "AFCI protection": "no",
    "rooms": [{"place": "finished basement"}],
    "receptacle": {
        "configuration": "5-20",
        "existing": "yes",
        "special use": "ordinary",
        "location": "wet",
        "weather-resistant": "no",
        "cover": "in-use cover",
        "places": [{"place": "garage"}],
    },
}


@pytest.mark.parametrize("edition", EDITIONS)
def test_an_old_outlet_is_referred_and_a_touched_one_judged(edition):
    old = OneCircuit(OLD, edition)
    assert old.says("lawful-when-it-was-made") == "refers"
    assert old.says("old-outlet-in-the-rain") == "refers"
    for rule in (receptacles(edition), "weather-resistant", "afci-protection"):
        assert old.says(rule) not in ("fails", "passes")
    touched = OneCircuit(OLD, edition, work="extended or modified")
    assert touched.says(receptacles(edition)) == "fails"
    assert touched.says("weather-resistant") == "fails"
    new = OneCircuit(OLD, edition, receptacle__existing="no")
    assert new.says(receptacles(edition)) == "fails"


ROOM = {
    "supply": "120 V",
    "load": {"type": "cord-and-plug load", "exact appliance": "something else"},
    "breaker": {"rating": "20 A"},
    "GFCI protection": "no",
    "receptacle": {"configuration": "5-20", "special use": "ordinary"},
}


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(
    ("rooms", "since"),
    [
        (["finished basement"], "2020"),
        (["kitchen counter"], "2017"),
        (["laundry"], "2017"),
        (["bathroom", "finished basement"], "2020"),
        (["kitchen elsewhere"], "2023"),
    ],
)
def test_places_follow_from_the_rooms(edition, rooms, since):
    job = OneCircuit(ROOM, edition, rooms=[{"place": r} for r in rooms])
    # an unlisted room says nothing of a sink within 6 ft: there the place is asked for
    assert job.says(receptacles(edition)) == ("fails" if edition >= since else "cannot tell")


@pytest.mark.parametrize("edition", EDITIONS)
def test_places_follow_from_the_outlet_and_are_asked_elsewhere(edition):
    assert OneCircuit(ROOM, edition, outlet_at="outdoors").says(receptacles(edition)) == "fails"
    assert (
        OneCircuit(ROOM, edition, rooms=[{"place": "bedroom"}]).says(receptacles(edition))
        == "cannot tell"
    )
    some = [{"place": "bathroom"}, {"place": "bedroom"}]
    assert OneCircuit(ROOM, edition, rooms=some).says(receptacles(edition)) == "cannot tell"
    # what is told of the receptacle itself goes before the rooms of its circuit
    told = OneCircuit(
        ROOM, edition, rooms=[{"place": "bathroom"}], receptacle__places=[{"place": "bedroom"}]
    )
    assert told.says(receptacles(edition)) == "does not apply"
