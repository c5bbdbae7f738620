"""What a job takes, worked out by hand: six shipped jobs, and scenes of our own.

Lengths for making up (7 ft in a panel, 3 ft in a box), waste (cable 10 %, wire 5 %) and what is on
a shelf are common practice without a source; what is checked here is that the list is their
arithmetic.
"""

from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from whywire.engine.basics.reading import read_yaml
from whywire.engine.proving.graph import Explainer
from whywire.engine.proving.proof import Proof
from whywire.engine.work.buying import bought
from whywire.engine.work.cutting import said_packs
from whywire.engine.work.opening import How, Opened, opened, with_changes
from whywire.engine.work.takeoff import TakeOff, take_off

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"


@cache
def shipped(name: str) -> tuple[Opened, TakeOff]:
    job = opened(JOBS / f"{name}.yaml", How())
    return job, take_off(job)


def told(name: str, changes: dict) -> TakeOff:
    """What a shipped job takes with some changes."""
    body = read_yaml((JOBS / f"{name}.yaml").read_text(), name)
    return take_off(opened(with_changes(body, changes), How()))


def amounts(off: TakeOff) -> dict[str, tuple[Fraction, bool]]:
    """Each part: how much, and whether it may be more."""
    return {line.part: (line.amount, line.least) for line in off.lines}


def exactly(**parts: str) -> dict[str, tuple[Fraction, bool]]:
    return {name: (Fraction(number), False) for name, number in parts.items()}


def test_a_kiln_as_mended():
    """Told with 6 AWG, which is too small; what is bought is 4 AWG, sold with three wires alone."""
    job, off = shipped("kiln")
    assert job.note.headline == "NOT RIGHT" and job.headline == "RIGHT"
    assert amounts(off) == exactly(
        **{
            "4-3 NM-B": "55",  # (40 + 7 + 3 × (2 × 1 − 1)) × 1.1 = 50 × 1.1
            "wire cap": "2",  # 3 wires bought − 2 needed = 1, at both ends
            "cable connector": "2",  # the panel and one metal box
            "cable staple": "2",  # bored holes hold the rest
            "2-pole 60 A breaker": "1",
            "lock-off": "1",
            "label sheet": "1",
        }
    )
    assert [line.pieces for line in off.lines if line.pieces] == [[55]]
    assert not off.least and not off.unsure


def test_a_workshop_told_along_its_framing():
    """Three runs on framing and a feeder in a trench."""
    along = [{"method": "NM-B", "place": "garage", "laid": "along framing", "ambient": "86 °F"}]
    run = {**along[0], "location": "dry", "bundle": "none"}
    off = told(
        "scenarios/workshop-feeder",
        {
            "circuits": {
                "saw": {
                    "segments": [{**run, "length": "30 ft"}],
                    "receptacle": {"configuration": "6-30", "location": "dry"},
                },
                "receptacles": {
                    "boxes entered": "4",
                    "load": {"connection": "cord and plug"},
                    "receptacle": {"configuration": "5-20", "location": "dry"},
                    "segments": [{**run, "length": "40 ft"}],
                },
                "heater": {"segments": [{**run, "length": "30 ft"}]},
            }
        },
    )
    got = {part: number for part, (number, _) in amounts(off).items()}
    # each (30 + 7 + 3) × 1.1; the receptacles (40 + 7 + 3 × (2 × 4 − 1)) × 1.1 = 68 × 1.1
    assert got["10-2 NM-B"] == 88 and got["12-2 NM-B"] == Fraction("74.8")
    # a route of 130 ft, 2 × (18 in + 60 in) of risers, a panel at both ends, 5 %: 157 × 1.05
    assert got["4 AWG THHN/THWN-2 copper"] == 3 * Fraction("164.85") == Fraction("494.55")
    assert got["8 AWG THHN/THWN-2 copper green"] == Fraction("164.85")
    assert got["PVC 40 1-1/4"] == 143 and got["warning ribbon"] == 130
    # (30 − 2) ÷ 4.5 = 6.2, up to 7, and 1; twice; (40 − 2) ÷ 4.5 = 8.4, up to 9, and 1
    assert got["cable staple"] == 8 + 10 + 8
    # two for each run of one box, 1 + 4 for the receptacles
    assert got["cable connector"] == 2 + 5 + 2
    # each riser of 5 ft: 5 ÷ 5 ft spacing = 1, and 1; at both ends
    assert got["PVC strap 1-1/4"] == 4
    assert got["PVC elbow 1-1/4"] == 2 and got["insulating bushing 1-1/4"] == 2  # 180°; 4 AWG
    assert got["ground rod"] == got["rod clamp"] == 2 and got["grounding bar"] == 1
    # 7 ft in the panel, 10 to the first rod, 6 on to the second; one pound of seal for both ends
    assert got["6 AWG bare copper"] == 23 and got["duct seal"] == 1
    # 143 ft are more than a fish tape of 100 ft reaches: a line, 3 ft to hold at both ends
    assert got["pull line"] == 149
    # (2 wires × 2 cables + 1 ground + 2 device + 1 clamps) × 2.25 in³ = 18 in³
    assert got["one-gang box 18 in³"] == 4 and got["5-20 receptacle"] == 4
    assert got["one-gang plate"] == 4
    assert got["6-30 receptacle"] == got["2-pole 30 A breaker"] == 1
    assert not off.unsure and not off.least


def test_what_no_shelf_has_is_said_and_not_left_out():
    """The law lets the saw have the 45 A that it is told with, which no shelf has."""
    off = told("scenarios/workshop-feeder", {"circuits": {"saw": {"breaker": {"rating": "45 A"}}}})
    assert ("breaker", "saw", "none is on the shelf for plain, 2, 45 A") in [
        (one.what, one.called, one.says) for one in off.unsure
    ]


def test_sticks_are_not_bought_for_waste_that_an_offcut_covers():
    _, off = shipped("scenarios/workshop-feeder")
    pipe = next(one for one in bought(off) if one.line.part == "PVC 40 1-1/4")
    assert said_packs(pipe.purchase.packs) == "15 × 10"  # 143 ft; with 5 % more it would be 16


def test_a_range_in_pipe():
    _, off = shipped("scenarios/range-in-pipe")
    assert amounts(off) == exactly(
        **{
            "2-pole 50 A breaker": "1",
            # (3 wires × 1 cable + 1 ground + 2 device + 1 clamps) × 3.00 in³ = 21 in³
            "4 in square box with two-gang ring 30.3 in³": "1",
            "14-50 receptacle": "1",
            "two-gang plate": "1",
            "label sheet": "1",
            "8 AWG THHN/THWN-2 copper": "94.5",  # 2 hots × (35 + 7 + 3) × 1.05
            "8 AWG THHN/THWN-2 copper white": "47.25",
            "10 AWG THHN/THWN-2 copper green": "47.25",
            "EMT 3/4": "35",
            "EMT coupling 3/4": "3",  # 4 sticks − 1
            "EMT connector 3/4": "2",
            "EMT strap 3/4": "4",  # (35 − 6) ÷ 10 = 2.9, up to 3, and 1
        }
    )


def test_a_van_on_a_plug():
    _, off = shipped("vehicles/van-on-a-plug")
    assert amounts(off) == exactly(
        **{
            "2-pole 50 A GFCI breaker": "1",
            "weatherproof two-gang box 31 in³": "1",  # (2 + 4) × 3.00 = 18 in³, and a damp place
            "6-50 receptacle": "1",
            "self-closing cover": "1",
            "label sheet": "1",
            "8 AWG THHN/THWN-2 copper": "92.4",  # 2 × (34 + 7 + 3) × 1.05
            "10 AWG THHN/THWN-2 copper green": "46.2",
            "EMT 3/4": "34",
            "EMT coupling 3/4": "3",
            "EMT connector 3/4": "2",
            "EMT strap 3/4": "4",  # (34 − 6) ÷ 10 = 2.8, up to 3, and 1
        }
    )


def test_a_charger_on_a_carport_post():
    _, off = shipped("vehicles/carport-post")
    assert amounts(off) == exactly(
        **{
            "2-pole 60 A breaker": "1",  # the maker forbids a GFCI ahead of it
            "lock-off": "1",
            "label sheet": "1",
            "6 AWG THHN/THWN-2 copper": "151.2",  # 2 × (62 + 7 + 3) × 1.05
            "10 AWG THHN/THWN-2 copper green": "75.6",
            "EMT 3/4": "62",
            "EMT coupling 3/4": "6",  # 7 sticks − 1
            "EMT connector 3/4": "2",
            "EMT strap 3/4": "7",  # (62 − 6) ÷ 10 = 5.6, up to 6, and 1
        }
    )


def test_a_welder_and_a_compressor():
    job, off = shipped("scenarios/welder-and-compressor")
    got = {part: number for part, (number, _) in amounts(off).items()}
    assert got == {
        "10-2 NM-B": 55,  # (40 + 7 + 3) × 1.1
        "8-2 NM-B": 55,
        "cable connector": 4,
        "2-pole 50 A GFCI breaker": 1,
        "2-pole 50 A breaker": 1,  # what its file expects; 28 A × 250 % = 70 A at most
        "6-50 receptacle": 1,
        "label sheet": 1,
    }
    asked = {(one.what, one.waits[0].fact) for one in off.unsure}
    assert ("cable staple", "laid") in asked and ("lock-off", "kind") in asked
    assert ("outlet box", "location") in asked and ("plate", "cover") in asked
    assert off.least


# ---- scenes of our own

OVEN = {
    "job": "A bread oven in a bakery's back room",
    "edition": "2023",
    "building": "garage or accessory building",
    "circuits": {
        "oven": {
            "volts": "240 V",
            "length": "30 ft",
            "more than one receptacle": "no",
            "load": {"type": "kiln", "current": "20 A", "connection": "hard-wired"},
            "breaker": {"rating": "30 A"},
            "conductors": {"size": "10 AWG", "material": "copper"},
            "segments": [
                {
                    "method": "NM-B",
                    "length": "30 ft",
                    "place": "garage",
                    "location": "dry",
                    "bundle": "none",
                    "laid": "along framing",
                }
            ],
            "receptacle": "none",
            "disconnect": {"kind": "breaker with lock-off", "locks open": "yes"},
        }
    },
}


def oven(**segment: str) -> TakeOff:
    """What the oven takes with its stretch told otherwise."""
    own = {**OVEN["circuits"]["oven"]["segments"][0], **segment}
    circuit = {"segments": [own]}
    if "length" in segment:
        circuit["length"] = segment["length"]
    return take_off(opened(with_changes(OVEN, {"circuits": {"oven": circuit}}), How()))


def number(off: TakeOff, part: str) -> Fraction | None:
    return next((line.amount for line in off.lines if line.part == part), None)


@pytest.mark.parametrize(
    "length, staples",
    [
        ("30 ft", 8),  # (30 − 2) ÷ 4.5 = 6.2, up to 7, and 1 more than there are spaces
        ("29 ft", 7),  # exactly 6, and 1
        ("29.01 ft", 8),
        ("2 ft", 1),  # none below one
        ("1 ft", 1),
    ],
)
def test_fence_posts(length, staples):
    assert number(oven(length=length), "cable staple") == staples


@pytest.mark.parametrize(
    "edge, faces, plates",
    [
        ("1.125 in", "2", 60),  # 30 ft at 12 in: 30 members, both faces
        ("1.24 in", "1", 30),
        ("1.25 in", "2", None),
    ],
)
def test_plates_by_geometry(edge, faces, plates):
    off = oven(
        laid="through bored holes",
        framing="wood",
        **{"member spacing": "12 in", "edge distance": edge, "faces near": faces},
    )
    assert number(off, "nail plate") == plates


def test_feet_and_inches():
    """8 ft 6 in is 8.5 ft; ten such runs are 85 ft, and not 86."""
    cable = (Fraction("8.5") + 10) * Fraction("1.1")
    assert number(oven(length="8 ft 6 in"), "10-2 NM-B") == cable
    assert number(oven(length="8.6 ft"), "10-2 NM-B") == cable + Fraction("0.11")


def test_make_up_at_every_box_it_enters_and_leaves():
    """Four boxes: 3 × (2 × 4 − 1) = 21 ft and not 12; with the panel's 7 and 40 ft, 68 × 1.1."""
    off = told("scenarios/workshop-feeder", {"circuits": {"receptacles": {"boxes entered": "4"}}})
    assert number(off, "12-2 NM-B") == Fraction("74.8")


def test_more_than_one_receptacle_is_two_boxes_or_more():
    _, off = shipped("scenarios/workshop-feeder")
    line = next(line for line in off.lines if line.part == "12-2 NM-B")
    assert line.least and line.amount == (40 + 7 + 9) * Fraction("1.1")
    assert line.takes[0].waits[0].fact == "boxes entered"


def test_an_unknown_length_is_at_least_its_make_up():
    circuit = {**OVEN["circuits"]["oven"]}
    del circuit["length"]
    segment = {key: value for key, value in circuit["segments"][0].items() if key != "length"}
    body = {**OVEN, "circuits": {"oven": {**circuit, "segments": [segment]}}}
    off = take_off(opened(body, How()))
    cable = next(line for line in off.lines if line.part == "10-2 NM-B")
    assert (cable.amount, cable.least) == (11, True)  # (0 + 7 + 3) × 1.1 or more


def test_a_feeder_with_a_neutral_has_three_pieces_and_a_ground():
    _, off = shipped("scenarios/workshop-feeder")
    wires = [line for line in off.lines if "THHN" in line.part]
    assert [len(line.pieces) for line in wires] == [3, 1]


def test_a_ground_for_all_circuits_in_one_pipe():
    """Three circuits on 60, 30 and 20 A: one 10 AWG (by the 60 A), not three grounds."""
    pipe = {"method": "EMT", "trade size": "1", "length": "30 ft", "place": "garage"}
    run = {**pipe, "location": "dry", "bundle": "shared"}
    metal = {"material": "copper"}
    circuits = {
        name: {
            "volts": "240 V",
            "length": "30 ft",
            "more than one receptacle": "no",
            "load": {"type": "space heater", "current": current, "connection": "hard-wired"},
            "breaker": {"rating": rating},
            "conductors": {"size": size, "insulation": "THWN-2", "EGC size": ground} | metal,
            "supply termination": {"marking": "75 °C"},
            "load termination": {"marking": "75 °C"},
            "segments": [run],
            "receptacle": "none",
        }
        for name, current, rating, size, ground in [
            ("one", "40 A", "60 A", "4 AWG", "10 AWG"),
            ("two", "20 A", "30 A", "10 AWG", "10 AWG"),
            ("three", "12 A", "20 A", "12 AWG", "12 AWG"),
        ]
    }
    bundle = {"kind": "raceway", "circuits": ["one", "two", "three"]}
    off = take_off(
        opened(
            {
                "job": "Three kilns in a shed",
                "edition": "2023",
                "building": "garage or accessory building",
                "bundles": {"shared": bundle},
                "circuits": circuits,
            },
            How(),
        )
    )
    greens = [line for line in off.lines if line.part.endswith("green")]
    assert [(line.part, len(line.pieces)) for line in greens] == [
        ("10 AWG THHN/THWN-2 copper green", 1)
    ]
    assert off.by_hand == []
    assert number(off, "EMT 1") == 30


def test_two_rules_that_fill_one_slot_otherwise_are_a_dispute(tmp_path):
    """A cable that brings its connectors, and connectors beside it: nobody buys them twice."""
    (tmp_path / "pack.yaml").write_text(
        "pack: own-habits\ntitle: Own habits\nauthority: the shop\ncite: shop book\nlayer: shop\n"
    )
    (tmp_path / "habits.yaml").write_text(
        "- add: whip-brings-its-connectors\n  cite: p 3\n  reason: Our whips come with them.\n"
        "  says: A wired whip brings its connectors.\n  about: circuit\n"
        "  takes: cable connector\n  count: 0\n"
    )
    off = take_off(opened(OVEN, How(shops=(str(tmp_path),))))
    (one,) = [one for one in off.unsure if one.what == "cable connector"]
    assert one.says == (
        "how many: connectors-of-a-cable and whip-brings-its-connectors say different numbers"
    )
    assert number(off, "cable connector") is None


def whip(tmp_path, brings: str) -> TakeOff:
    """The oven, moved to a whip by a shop's own rule, its cable's connectors withdrawn."""
    (tmp_path / "pack.yaml").write_text(
        "pack: own-habits\ntitle: Own habits\nauthority: the shop\ncite: shop book\nlayer: shop\n"
    )
    (tmp_path / "habits.yaml").write_text(
        "- add: whip-to-an-oven\n  cite: p 3\n  reason: Ovens are moved.\n"
        "  says: An oven has a wired whip.\n  about: circuit\n"
        f"  takes: lock-off\n  count: 1\n  comes with: [{brings}]\n"
    )
    return take_off(opened(OVEN, How(shops=(str(tmp_path),))))


def test_what_comes_along_is_said_and_not_bought(tmp_path):
    off = whip(tmp_path, "stud bushing")
    assert off.brought == ["oven: 0 stud bushing, which come with the lock-off"]
    assert number(off, "stud bushing") is None


def test_what_comes_along_is_not_bought_a_second_time(tmp_path):
    off = whip(tmp_path, "cable connector")
    (one,) = [one for one in off.unsure if one.what == "cable connector"]
    assert "connectors-of-a-cable and whip-to-an-oven say different numbers" in one.says
    assert number(off, "cable connector") is None


def test_a_guard_in_the_equipment_is_not_bought_again_in_the_breaker():
    guarded = {"GFCI protection": "yes", "GFCI at": "equipment"}
    job = with_changes(OVEN, {"circuits": {"oven": guarded}})
    assert number(take_off(opened(job, How())), "2-pole 30 A breaker") == 1
    job = with_changes(OVEN, {"circuits": {"oven": {"GFCI protection": "yes"}}})
    assert number(take_off(opened(job, How())), "2-pole 30 A GFCI breaker") == 1


def test_of_an_extension_only_what_is_added_is_bought():
    job, off = shipped("editions/an-old-circuit-extended")
    # 12 ft added of 60, 3 and 3 to make up, or more: (12 + 3) × 1.1 where no box is told
    cable = next(line for line in off.lines if line.part == "14-2 NM-B")
    assert cable.least and cable.amount == 15 * Fraction("1.1")
    assert any(one.startswith("bedroom: staples, plates, boxes") for one in off.by_hand)
    assert "the mend: an AFCI breaker; nothing on this list is of it" in off.by_hand


def test_one_untold_fact_of_a_new_circuit_blanks_no_part_of_its_neighbors():
    """An advice on the wire of the saw waits for a lamp: the list goes on with the size by law."""
    lamp = {
        "panel": "shop",
        "volts": "120 V",
        "length": "20 ft",
        "more than one receptacle": "no",
        "load": {"type": "lighting", "current": "4 A", "connection": "hard-wired"},
        "segments": [{"method": "NM-B", "length": "20 ft", "place": "garage", "bundle": "none"}],
        "conductors": {"material": "copper"},
    }
    before = amounts(shipped("scenarios/workshop-feeder")[1])
    after = amounts(told("scenarios/workshop-feeder", {"circuits": {"lamp": lamp}}))
    for part, (many, _) in before.items():
        assert after[part][0] >= many, part


def test_what_was_measured_on_the_old_cable_does_not_judge_the_new():
    job, _ = shipped("kiln")
    assert job.measured_before == [
        "cable diameter of kiln segment 1, 0.7 in",
        "bend radius of kiln segment 1, 4 in",
    ]
    findings = {(one.rule, one.answer) for one in job.built.findings}
    assert ("cable-bend-radius", "passes") not in findings


def test_every_take_is_a_node_that_the_proof_accepts():
    job, off = shipped("scenarios/range-in-pipe")
    proof = Proof(job.knowledge)
    for line in off.lines:
        for take in line.takes:
            explainer = Explainer(job.told.w)
            word = f"{take.slot} {'each' if take.each is not None else 'taken'}"
            explainer.g.root = explainer.fact(job.told.w.things[take.of], word)
            assert explainer.g.root.startswith("fact:") and len(explainer.g.nodes) > 1
            assert proof.check(explainer.g.as_dict(), job.told.job) == []


def test_every_part_that_a_table_names_is_a_part_that_is_sold():
    job, _ = shipped("kiln")
    tables = job.knowledge.tables
    known = {str(row["part"]) for row in tables["parts"].rows}
    named = {
        (table, str(row[column]))
        for table, columns in {
            "wires-sold": ["part"],
            "breakers-sold": ["part"],
            "pipes-sold": ["pipe", "coupling", "end", "strap", "elbow", "bushing"],
            "receptacles-sold": ["part", "plate"],
            "outlet-boxes-sold": ["part"],
            "panels-sold": ["part"],
            "cables-sold": ["called"],
        }.items()
        for column in columns
        for row in tables[table].rows
    }
    assert {one for one in named if one[1] not in known} == set()
    fixed = {
        str(rule.d["takes"])
        for rule in job.knowledge.rules.values()
        if "takes" in rule.d and f"{rule.d['takes']} as sold" not in rule.d["gives"]
    }
    assert fixed <= known


def test_a_whip_a_cord_and_a_conduit_body_when_they_are_told():
    """A fan on a whip, whose wires and connectors come with it; a range whose cord does not."""
    fan = {"circuits": {"oven": {"whip": "yes"}}}
    off = take_off(opened(with_changes(OVEN, fan), How()))
    assert number(off, "wired whip") == 1
    assert "oven: 0 whip connector, whip wire, which come with the wired whip" in off.brought
    cord = {"circuits": {"range": {"cord to buy": "yes"}}}
    off = told("scenarios/range-in-pipe", cord)
    assert number(off, "appliance cord 50 A") == number(off, "strain relief") == 1
    _, plain = shipped("scenarios/range-in-pipe")
    assert number(plain, "appliance cord 50 A") is None and number(plain, "EMT body 3/4") is None
    pipe = {"method": "EMT", "trade size": "3/4", "conduit bodies": "1"}
    off = oven(**pipe, bends="180°")
    assert number(off, "EMT body 3/4") == 1 and number(off, "EMT connector 3/4") == 2
