"""The rules of the work themselves: every example in every edition, what none of them may do."""

import random
from fractions import Fraction
from functools import cache

import pytest

from whywire.engine.checking.examples import run_example
from whywire.engine.language.knowledge import KB
from whywire.engine.law import library
from whywire.engine.work.opening import How, opened, with_changes
from whywire.engine.work.takeoff import take_off

EDITIONS = ("2017", "2020", "2023", "2026")


@cache
def known(edition: str):
    return library.load((KB / "work",), edition)


def of_the_work(edition: str):
    return [r for r in known(edition).rules.values() if str(r.at).startswith("kb/work")]


@pytest.mark.parametrize("edition", EDITIONS)
def test_every_example(edition):
    wrong = [
        f"{outcome.at}: expected {outcome.wanted}, and it is {outcome.got}"
        for rule in of_the_work(edition)
        for number, example in enumerate(rule.d.get("examples", []), 1)
        for outcome in [run_example(known(edition), rule, example, number)]
        if not outcome.ok
    ]
    assert wrong == []


def test_each_rule_has_examples_a_source_and_a_fact_of_its_own():
    base = library.load((), "2023")
    for rule in of_the_work("2023"):
        assert len(rule.d.get("examples", [])) >= 1, rule.id
        assert rule.layers, rule.id
        for fill in rule.fills:
            if (rule.about, fill.word.name) in base.order.givers:
                # what the base gives nobody else gives: no finding rests on a habit
                assert rule.verb == "assumes", rule.id


def test_no_rule_of_the_work_judges():
    for rule in of_the_work("2023"):
        assert rule.verb in ("gives", "reckons", "assumes", "lacks"), rule.id


def body(length: Fraction, boxes: int, spacing: int) -> dict:
    segment = {
        "method": "NM-B",
        "length": f"{float(length):g} ft",
        "place": "basement",
        "location": "dry",
        "bundle": "none",
        "laid": "along framing" if spacing % 2 else "through bored holes",
        "framing": "wood",
        "member spacing": f"{spacing} in",
        "edge distance": "1 in",
        "faces near": "2",
    }
    return {
        "job": "Outlets along a pottery's wall",
        "edition": "2023",
        "building": "one-family dwelling",
        "circuits": {
            "wheel": {
                "volts": "120 V",
                "length": f"{float(length):g} ft",
                "more than one receptacle": "yes",
                "boxes entered": str(boxes),
                "load": {"type": "cord-and-plug load", "connection": "cord and plug"},
                "breaker": {"rating": "20 A"},
                "conductors": {"size": "12 AWG", "material": "copper"},
                "receptacle": {"configuration": "5-20", "location": "dry"},
                "segments": [segment],
            }
        },
    }


def test_nothing_shrinks_when_a_run_gets_longer_or_a_box_more():
    draw = random.Random(3)
    for _ in range(12):
        length, boxes = Fraction(draw.randint(50, 900), 10), draw.randint(2, 9)
        spacing = draw.randint(12, 24)
        before = body(length, boxes, spacing)
        changes = {
            "circuits": {
                "wheel": body(length + Fraction(draw.randint(1, 99), 10), boxes, spacing)[
                    "circuits"
                ]["wheel"]
            }
        }
        more_boxes = {"circuits": {"wheel": {"boxes entered": str(boxes + 1)}}}
        was = {line.part: line.amount for line in take_off(opened(before, How())).lines}
        for change in (changes, more_boxes):
            now = take_off(opened(with_changes(before, change), How()))
            grown = {line.part: line.amount for line in now.lines}
            for part, amount in was.items():
                assert grown[part] >= amount >= 0, part
