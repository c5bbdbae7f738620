"""Surface raceway, pull boxes by their rows, air that moves, and the room around outdoor units.

Sources, by what each test says:

* surface metal raceway: "Code Quiz 27" https://www.ecmweb.com/quizzes/code-quiz-27 (4 in x 2 in is
  8 in2, a fifth of it is 1.6 in2, 120 wires of 0.0133 in2; the maker's 255 decide the number);
  "Look Ma, No Fitting" http://ecmweb.com/print/cee-news-archive/look-ma-no-fitting (386.21, 386.22:
  no larger and no more than it is designed for); dry, surface, severe damage, corrosive vapors and
  fastening by its instructions: http://www.codebookcity.com/necquiz/necquiza/quizneca386.htm and
  quizneca388.htm. The 75 % of 386.56 and 250.118(14) are from memory.
* pull boxes: "How to Size Pull Boxes" https://ehow.com/how_7589496_size-pull-boxes.html (3 in
  straight 24 in; 3 and 2 around a corner 20 in, 18 in apart); the exception for a cover that comes
  off: https://forums.mikeholt.com/threads/pull-boxes.114639. Table 312.6(A) is from memory.
* 300.22(C) and its exception: https://forum.nachi.org/t/nm-running-through-a-plenum/57809.
* room in front of an air conditioner's disconnect, 2023: the words of 440.14 in
  https://www.thebuildingcodeforum.com/forum/threads/
  the-nfpa-finally-clarifies-ac-disconnects-under-440-14-readily-accessible-nec-110-26.33730/;
  the inches of 110.26(A) from memory.
* ice-melting cable: "Code Q&A 28" http://ecmweb.com/qampa/code-qa-28 (30 mA, the mineral cable).
* trench depth: 300.5 and the 2.375 in of 2 in PVC, as in test_trench_wireway_and_sizes.
"""

from fractions import Fraction

import pytest
from job_run import Run

ALL = ("2017", "2020", "2023", "2026")
BY_EDITION = pytest.mark.parametrize("edition", ALL)
SURFACE = {"method": "surface metal raceway", "place": "basement", "laid": "on the surface"}
S = "circuits.c.segments.1"


def stretch(edition, told, conductors=None, **more):
    """A circuit of one stretch, as told."""
    wires = {"size": "12 AWG", "material": "copper", "insulation": "THWN-2", "EGC size": "12 AWG"}
    circuit = {
        "volts": "240 V",
        "length": "40 ft",
        "load": {"type": "space heater", "current": "12 A"},
        "breaker": {"rating": "20 A"},
        "conductors": {**wires, **(conductors or {})},
        "segments": [{"length": "40 ft", "location": "dry", "bundle": "none", **told}],
        **more,
    }
    return Run({"c": circuit}, edition=edition)


@BY_EDITION
@pytest.mark.parametrize("allowed,wanted", [("2", "fails"), ("3", "passes"), ("4", "passes")])
def test_its_maker_says_how_many_wires_it_takes(edition, allowed, wanted):
    run = stretch(edition, {**SURFACE, "wires allowed": allowed})
    assert run.answer("surface-raceway-holds-that-many-wires", S) == wanted  # two hots, a ground


@BY_EDITION
@pytest.mark.parametrize("method", ["surface metal raceway", "surface nonmetallic raceway"])
def test_no_larger_wire_than_it_is_made_for(edition, method):
    for size, wanted in (("8 AWG", "passes"), ("10 AWG", "passes"), ("6 AWG", "fails")):
        told = {**SURFACE, "method": method, "biggest wire allowed": "8 AWG"}
        run = stretch(edition, told, {"size": size})
        assert run.answer("surface-raceway-takes-that-wire", S) == wanted


@BY_EDITION
def test_dry_open_and_fastened_as_its_instructions_say(edition):
    told = {"support spacing": "3 ft", "support spacing in its instructions": "2.5 ft"}
    for method in ("surface metal raceway", "surface nonmetallic raceway"):
        wrong = {"method": method, "place": "basement", "laid": "fished", "location": "damp"}
        run = stretch(edition, {**wrong, **told})
        assert run.answer("surface-raceway-kept-dry", S) == "fails"
        assert run.answer("surface-raceway-stays-on-the-surface", S) == "fails"
        assert run.answer("surface-raceway-fastened-as-its-instructions-say", S) == "fails"
    air = stretch(edition, {**SURFACE, "corrosive air": "yes", "corrosion protection": "yes"})
    assert air.answer("surface-metal-raceway-in-corrosive-air", S) == "fails"


# a fifth of 8 in2 is 1.6 in2: 120 wires of 12 AWG THHN at 0.0133 in2
@BY_EDITION
def test_a_roomy_metal_raceway_spares_the_derating(edition):
    assert Fraction("1.6") // Fraction("0.0133") == 120
    for circuits, share, metal, wanted in (
        (4, "20 %", "metal", 1),
        (15, "20 %", "metal", 1),  # 30 wires
        (16, "20 %", "metal", Fraction("0.4")),
        (4, "21 %", "metal", Fraction("0.7")),
        (4, "20 %", "nonmetallic", Fraction("0.7")),
    ):
        told = {**SURFACE, "method": f"surface {metal} raceway", "share filled": share}
        told.update({"inside area": "8 in²", "length": "40 ft", "bundle": "all"})
        names = [f"c{number}" for number in range(circuits)]
        one = {"volts": "240 V", "length": "40 ft", "segments": [told]}
        bundle = {"kind": "raceway", "circuits": names, "length together": "40 ft"}
        run = Run({name: one for name in names}, edition=edition, bundles={"all": bundle})
        assert run.fact("circuits.c0.segments.1", "adjustment factor", "count") == wanted


@BY_EDITION
def test_metal_listed_for_grounding_is_the_ground_and_plastic_never_is(edition):
    told = {**SURFACE, "listed for grounding": "yes"}
    assert stretch(edition, told).fact(S, "serves as EGC") is True
    told["listed for grounding"] = "no"
    assert stretch(edition, told).fact(S, "serves as EGC") is False
    told = {**SURFACE, "method": "surface nonmetallic raceway"}
    assert stretch(edition, told).fact(S, "serves as EGC") is False


def pull_box(edition, wide, pulls, *rows, wire="4/0 AWG"):
    told = {"inside width": f"{wide} in", "inside height": f"{wide} in", "inside depth": "4 in"}
    told["conductors"] = [{"size": wire, "count": "3", "use": "ends here"}]
    told["rows"] = [
        {"wall": wall, "pull": pull, "raceways": [{"trade size": size} for size in sizes]}
        for wall, pull, *sizes in rows
    ]
    told["pulls"] = [{"bigger one": size, "apart": f"{apart} in"} for size, apart in pulls]
    return Run(edition=edition, boxes={"it": told})


@BY_EDITION
def test_straight_eight_times_and_around_a_corner_six_and_the_others(edition):
    for wide, straight, angle in (
        ("24", "passes", "passes"),
        ("23.9", "fails", "passes"),
        ("20", "fails", "passes"),
        ("19.9", "fails", "fails"),
    ):
        rows = (("left", "straight", "3"), ("top", "U", "3", "2"))
        run = pull_box(edition, wide, [("3", "18")], *rows)
        assert run.answer("straight-pull-across-the-box", "boxes.it.rows.1") == straight
        assert run.answer("angle-pull-across-the-box", "boxes.it.rows.2") == angle
        # the box is not asked a second time for what its rows say
        assert run.answer("angle-pull-length", "boxes.it") != "fails"
    for apart, wanted in (("18", "passes"), ("17.9", "fails")):
        run = pull_box(edition, "24", [("3", apart)], ("top", "U", "3", "2"))
        assert run.answer("raceways-of-one-pull-apart", "boxes.it.pulls.1") == wanted


@BY_EDITION
def test_small_wire_needs_no_length_and_a_back_wall_only_its_bend(edition):
    run = pull_box(edition, "6", [], ("left", "straight", "3"), wire="6 AWG")
    assert run.answer("straight-pull-across-the-box", "boxes.it.rows.1") == "does not apply"
    run = pull_box(edition, "6", [], ("back", "angle", "3"))
    assert run.answer("behind-a-cover-that-comes-off", "boxes.it.rows.1") == "passes"
    run = pull_box(edition, "6", [], ("back", "angle", "3"), wire="250 kcmil")
    assert run.answer("behind-a-cover-that-comes-off", "boxes.it.rows.1") == "fails"


def returning(edition, method, building="one-family dwelling", **told):
    place = {"place": "basement", "air there": "in a joist space that returns air", **told}
    circuit = {"volts": "240 V", "segments": [{"method": method, **place}]}
    return Run({"c": circuit}, edition=edition, building=building)


@BY_EDITION
def test_plastic_cable_crosses_a_return_and_never_follows_it(edition):
    rule = "wiring-where-air-returns"
    across = {"crosses straight": "yes"}
    along = {"crosses straight": "no"}
    assert returning(edition, "NM-B", **along).answer(rule, S) == "fails"
    assert returning(edition, "NM-B", **across).answer(rule, S) not in ("fails", "cannot tell")
    assert returning(edition, "NM-B", "other", **across).answer(rule, S) == "fails"
    assert returning(edition, "MC", **along).answer(rule, S) == "passes"
    assert returning(edition, "LFMC", **along).answer(rule, S) == "fails"  # its jacket is plastic
    coated = returning(edition, "MC", **along, **{"plastic outside": "yes"})
    assert coated.answer("no-plastic-over-metal-in-moving-air", S) == "fails"
    duct = returning(edition, "NM-B", **across, **{"air there": "in a duct"})
    assert duct.answer("wiring-in-a-duct", S) == "fails"


def unit(edition, disconnect=None, **load):
    told = {"type": "heat pump", "MCA": "24 A", "MOCP": "35 A", "connection": "hard-wired"}
    circuit = {
        "volts": "240 V",
        "role": "branch circuit",
        "work": "new circuit",
        "load": {**told, **{name.replace("_", " "): said for name, said in load.items()}},
        "disconnect": {"kind": "pull-out", **(disconnect or {})},
    }
    return Run({"c": circuit}, edition=edition)


@BY_EDITION
@pytest.mark.parametrize("which,inches", [("depth", 36), ("width", 30), ("height", 78)])
def test_room_in_front_of_the_pull_out(edition, which, inches):
    for less, wanted in ((0, "passes"), (1, "fails")):
        run = unit(edition, {f"clear {which}": f"{inches - less} in"})
        rule = f"{which}-in-front-of-the-units-disconnect"
        assert run.answer(rule, "circuits.c.disconnect") == wanted


@BY_EDITION
def test_a_receptacle_within_25_feet_on_its_level(edition):  # R-14, from memory
    for feet, wanted in (("25", "passes"), ("26", "fails")):
        run = unit(edition, service_receptacle=f"{feet} ft", service_receptacle_level="no")
        assert run.answer("service-receptacle-near-the-unit", "circuits.c.load") == wanted
        level = run.answer("service-receptacle-on-the-level-of-the-unit", "circuits.c.load")
        assert level == "fails"


@BY_EDITION
def test_ice_melting_cable_behind_thirty_milliamperes(edition):
    rule = "ice-melting-cable-has-equipment-protection"
    for device, mineral, wanted in (
        ("equipment protection", "no", "passes"),
        ("without", "no", "fails"),
        ("without", "yes", "set aside"),
    ):
        load = {"type": "other", "exact appliance": "ice-melting cable", "current": "8 A"}
        load["mineral cable in concrete"] = mineral
        circuit = {"volts": "240 V", "load": load, "cable protection": device}
        run = Run({"c": circuit}, edition=edition)
        got = run.answer(rule, "circuits.c")
        assert got == wanted or (wanted == "set aside" and got not in ("fails", "passes"))


@BY_EDITION
def test_groups_of_elements_within_48_amperes_behind_60(edition):  # D-12, from memory
    for amps, device, wanted in (
        ("48 A", "60 A", "passes"),
        ("49 A", "60 A", "fails"),
        ("48 A", "70 A", "fails"),
    ):
        load = {"type": "space heater", "current": "80 A", "connection": "hard-wired"}
        load.update({"element group current": amps, "element group breaker": device})
        run = Run({"c": {"volts": "240 V", "load": load}}, edition=edition)
        assert run.answer("element-groups-of-forty-eight", "circuits.c.load") == wanted


def test_a_dryer_without_a_breaker_gets_thirty_amperes():  # D-18, common practice, no source
    for watts, wanted in (("5400 W", 30), ("4500 W", 20), ("7500 W", 35)):
        load = {"type": "clothes dryer", "power": watts, "connection": "cord and plug"}
        run = Run({"c": {"volts": "120/240 V", "role": "branch circuit", "load": load}})
        assert run.fact("circuits.c.breaker", "rating", "A") == wanted


@BY_EDITION
def test_special_purpose_device_for_an_outdoor_unit_from_2026(edition):  # G-07, from memory
    load = {"type": "heat pump", "MCA": "24 A", "MOCP": "35 A", "listed": "yes"}
    circuit = {"volts": "240 V", "role": "branch circuit", "outlet at": "outdoors", "load": load}
    device = {"kind": "special purpose", "warning beside it": "yes"}
    run = Run({"c": {**circuit, "GFCI device": device}}, edition=edition)
    got = run.answer("gfci-is-class-a", "circuits.c.GFCI device")
    assert (got == "fails") == (edition != "2026")
