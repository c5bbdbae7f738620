"""Pipe and trenches that several circuits share, worked out by hand: the pipe, its fittings and its
trench once, the wires of all circuits in it, and the order that follows.
"""

import random
from fractions import Fraction
from typing import Any

import pytest
from as_told import held
from sweeps import SEED, examples

from whywire.engine.work.opening import How, Opened, opened
from whywire.engine.work.sheets import cautions_at
from whywire.engine.work.takeoff import TakeOff, take_off
from whywire.engine.work.tasks import ordered

KILNS = [
    # name, current, breaker, size, ground
    ("one", "40 A", "60 A", "4 AWG", "10 AWG"),
    ("two", "20 A", "30 A", "10 AWG", "10 AWG"),
    ("three", "12 A", "20 A", "12 AWG", "12 AWG"),
]
METAL = {"method": "EMT", "trade size": "1-1/4", "length": "30 ft", "place": "garage"}
BURIED = {
    "method": "PVC 40",
    "trade size": "1-1/4",
    "length": "60 ft",
    "place": "underground",
    "cover": "18 in",
    "bends between pull points": "180°",
}


def job(pipe: dict[str, str], kilns: Any = tuple(KILNS), **told: Any) -> dict[str, Any]:
    """Kilns in a shed on one pipe; *told* of the bundle."""
    run = {
        **pipe,
        "location": "wet" if pipe["place"] == "underground" else "dry",
        "bundle": "shared",
    }
    circuits = {
        name: {
            "volts": "240 V",
            "length": pipe["length"],
            "more than one receptacle": "no",
            "load": {"type": "space heater", "current": current, "connection": "hard-wired"},
            "breaker": {"rating": rating},
            "conductors": {
                "size": size,
                "material": "copper",
                "insulation": "THWN-2",
                "EGC size": ground,
            },
            "supply termination": {"marking": "75 °C"},
            "load termination": {"marking": "75 °C"},
            "segments": [run],
            "receptacle": "none",
        }
        for name, current, rating, size, ground in kilns
    }
    return {
        "job": "Three kilns in a shed",
        "edition": "2023",
        "building": "garage or accessory building",
        "bundles": {"shared": {"kind": "raceway", "circuits": list(circuits), **told}},
        "circuits": circuits,
    }


def amounts(off: TakeOff) -> dict[str, Fraction]:
    return {line.part: line.amount for line in off.lines}


def minutes(one: Opened) -> dict[tuple[str, str], Fraction]:
    return {(task.says, task.of): task.minutes for task in ordered(one).tasks}


def test_a_pipe_on_a_wall_is_counted_once():
    """Straps (30 - 6) ÷ 10 ft = 2.4, up 3, + 1 = 4; a bushing at both ends for the 4 AWG."""
    one = opened(job(METAL), How())
    off = take_off(one)
    got = amounts(off)
    assert got["EMT 1-1/4"] == 30 and got["EMT coupling 1-1/4"] == 2
    assert got["EMT connector 1-1/4"] == 2 and got["EMT strap 1-1/4"] == 4
    assert got["insulating bushing 1-1/4"] == 2
    assert off.by_hand == []
    # 20 min to lay out each; 30 × 1.2 + 4 × 2 = 44 min for the pipe; one pull of 30 + 90 × 0.3
    done = minutes(one)
    pipe = [spent for (says, _), spent in done.items() if says == "bend, set and strap the pipe"]
    pulls = [spent for (says, _), spent in done.items() if says == "pull the wires"]
    assert pipe == [44] and pulls == [57]


def test_the_wires_of_every_circuit_are_in_it():
    """(30 + 7 + 3) × 1.05 = 42 ft a piece: two hots each, and one green as the 60 A one needs."""
    lines = {line.part: line.pieces for line in take_off(opened(job(METAL), How())).lines}
    wires = {part: pieces for part, pieces in lines.items() if "THWN" in part}
    assert wires == {
        "4 AWG THHN/THWN-2 copper": [42, 42],
        "10 AWG THHN/THWN-2 copper": [42, 42],
        "12 AWG THHN/THWN-2 copper": [42, 42],
        "10 AWG THHN/THWN-2 copper green": [42],
    }


def test_each_its_own_ground_where_that_is_told():
    lines = take_off(held(job(METAL, **{"shared EGC": "no"}))).lines  # sizes as told
    greens = {line.part: len(line.pieces) for line in lines if line.part.endswith("green")}
    assert greens == {"10 AWG THHN/THWN-2 copper green": 2, "12 AWG THHN/THWN-2 copper green": 1}


def test_no_ground_wire_where_the_pipe_is_the_ground():
    body = job(METAL)
    for circuit in body["circuits"].values():
        del circuit["conductors"]["EGC size"]
        circuit["conductors"]["EGC type"] = "metal raceway"
    lines = take_off(opened(body, How())).lines
    assert [line.part for line in lines if line.part.endswith("green")] == []


def test_all_wires_in_it_fill_it():
    """By the areas of Chapter 9, Table 5: 2 × 0.0824 (4 AWG) + 3 × 0.0211 (10)
    + 2 × 0.0133 (12) = 0.2547 in²; 40 % of 3/4 EMT is 0.2132, of 1 EMT 0.3456.
    """
    for size, answer in (("3/4", "fails"), ("1", "passes")):
        one = opened(job({**METAL, "trade size": size}, **{"shared EGC": "yes"}), How())
        answers = {
            finding.answer
            for finding in one.told.findings
            if finding.rule == "raceway-not-overfilled"
        }
        assert answers == {answer}, (size, answers)


def test_a_trench_is_dug_once_and_its_wires_stand_out_of_it():
    """Above ground 2 × (1.5 + 5) = 13 ft: pipe 73 ft, wires (60 + 13 + 7 + 3) × 1.05 = 87.15 ft,
    the green as long as they are.
    """
    one = opened(job(BURIED), How())
    off = take_off(one)
    got = amounts(off)
    assert got["PVC 40 1-1/4"] == 73 and got["warning ribbon"] == 60
    assert got["PVC elbow 1-1/4"] == 2 and got["PVC terminal adapter with locknut 1-1/4"] == 2
    # PVC of 1-1/4 every 5 ft: at each end 5 ÷ 5 = 1, and 1 near the box
    assert got["PVC strap 1-1/4"] == 4
    pieces = {line.part: line.pieces for line in off.lines if "THWN" in line.part}
    assert {piece for each in pieces.values() for piece in each} == {Fraction("87.15")}
    done = minutes(one)
    spent = {
        says: [each for (said, _), each in done.items() if said == says]
        for says in (
            "have the utilities marked",
            "dig the trench",
            "lay the pipe in the trench",
            "lay the ribbon and backfill",
            "pull the wires",
        )
    }
    assert list(spent.values()) == [[20], [180], [60], [60], [84]]  # 30 + 3 × 60 × 0.3


def test_what_is_done_to_a_pipe_comes_before_every_circuit_in_it():
    one = opened(job(METAL), How())
    order = ordered(one)
    number = {(task.rule, task.of.split(".")[-1]): task.number for task in order.tasks}
    assert order.gaps == []
    for name in ("one", "two", "three"):
        assert (
            number["lay-out-the-route", name]
            < number["set-a-shared-pipe", "shared"]
            < number["pull-the-wires-of-a-shared-pipe", "shared"]
            < number["make-up-the-far-end", name]
        )
    pull = next(task for task in order.tasks if task.says == "pull the wires")
    assert any("ream" in caution for caution in cautions_at(one, pull))


def test_an_old_pipe_is_not_bought_again():
    body = job(METAL)
    body["circuits"]["one"]["work"] = "left as it is"
    one = opened(body, How())
    got = amounts(take_off(one))
    assert not any(part.startswith("EMT") for part in got)
    assert got["12 AWG THHN/THWN-2 copper"] == 84
    says = [task.says for task in ordered(one).tasks]
    assert "bend, set and strap the pipe" not in says and says.count("pull the wires") == 1


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"length": "28 ft"}, "in more than one length"),
        ({"trade size": "1"}, "in more than one trade size"),
        ({"method": "PVC 40"}, "as EMT and as something else"),
    ],
)
def test_a_pipe_that_is_told_in_two_ways_is_said(change, says):
    body = job(METAL)
    (run,) = body["circuits"]["two"]["segments"]
    body["circuits"]["two"]["segments"] = [{**run, **change}]
    off = take_off(opened(body, How()))
    assert [each for each in off.by_hand if says in each], off.by_hand
    assert off.least


def test_a_line_is_blown_through_what_a_fish_tape_does_not_reach():
    """87 + 13 = 100 ft are within a tape of 100 ft; 88 + 13 are not: 101 + 6 = 107 ft of line."""
    assert "pull line" not in amounts(take_off(opened(job({**BURIED, "length": "87 ft"}), How())))
    assert amounts(take_off(opened(job({**BURIED, "length": "88 ft"}), How())))["pull line"] == 107


@pytest.mark.sweep
def test_nothing_shrinks_when_a_shared_pipe_grows():
    """Longer, or with one circuit more in it, the sizes held."""
    draw = random.Random(SEED)
    for _ in range(max(examples(100), 6)):
        pipe, length = draw.choice((METAL, BURIED)), Fraction(draw.randint(50, 1500), 10)
        few = draw.randint(1, 2)
        more = length + Fraction(draw.randint(1, 300), 10)
        was, now = (
            held(job({**pipe, "length": f"{float(feet):g} ft"}, KILNS[:number]))
            for feet, number in ((length, few), (more, few + draw.randint(0, 1)))
        )
        listed = amounts(take_off(now))
        for part, amount in amounts(take_off(was)).items():
            assert listed.get(part, Fraction()) >= amount, (part, length, more)
        assert ordered(now).minutes > ordered(was).minutes
