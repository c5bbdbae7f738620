"""Reasons of known jobs: what they hold, and that looking for them leaves the run as it was."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from whywire.engine import inspect
from whywire.engine.basics.units import in_unit
from whywire.engine.language.knowledge import KB
from whywire.engine.reasons.minimal import Outcome, Reasons
from whywire.engine.reasons.moving import bounds_of, simplest
from whywire.engine.reasons.sizes import reason_of_size
from whywire.engine.reasons.unknowns import fewest_that_settle
from whywire.engine.running.chain import PASSES, TELL, every_thing

JOBS = Path(KB) / "jobs"
TOO_SMALL = Outcome("circuits.kiln.conductors", "conductor-125-percent")


@pytest.fixture(scope="module")
def kiln():
    return inspect(JOBS / "kiln.yaml")


def facts(elements) -> set:
    return {(one.sort, one.thing.removeprefix("circuits.kiln"), one.fact) for one in elements}


def test_the_cable_is_too_small_whatever_the_terminals_are_marked(kiln):
    reason = Reasons(kiln.whatif).of(TOO_SMALL)
    assert facts(reason.elements) == {
        ("told", ".conductors", "size"),
        ("told", ".segments.1", "method"),
        ("told", ".load", "type"),
        ("told", ".load", "current"),
        ("whole", "", "segments"),
        ("whole", "", "fed panels"),
        ("assumed", "", "role"),
        ("assumed", ".breaker", "listed for full load"),
    }
    # 334.80 holds the cable to 60 °C: the marks of the terminals turn nothing, nor do those of a
    # joint or a switch on the way, of which the smallest counts as well
    assert {one.fact for one in reason.whatever} == {
        "temperature rating",
        "joint limit",
        "disconnect limit",
    }


def test_it_holds_with_its_reason_and_with_nothing_less(kiln):
    reasons = Reasons(kiln.whatif)
    reason = reasons.of(Outcome("circuits.kiln.breaker", "breaker-125-percent"))
    assert not reason.whatever
    assert reasons.holds_with(reason.outcome, reason.elements)
    for element in reason.elements:
        less = [one for one in reason.elements if one != element]
        assert not reasons.holds_with(reason.outcome, less), element


def test_looking_for_a_reason_leaves_the_run_as_it_was(kiln):
    def state() -> list:
        return [[repr(cell) for cell in x[1:] if type(cell) is not list] for x in every_thing(w)]

    w = kiln.w
    before, told = state(), {x[0].id: dict(x[0].told) for x in every_thing(w)}
    rows = {pick: [x[0].id for x in tried] for pick, tried in w.tried.items()}
    Reasons(kiln.whatif).of(TOO_SMALL)
    assert state() == before and w.withheld is None and not kiln.whatif.changed
    assert {x[0].id: dict(x[0].told) for x in every_thing(w)} == told
    assert {pick: [x[0].id for x in tried] for pick, tried in w.tried.items()} == rows


def test_what_an_exception_excuses_rests_on_the_exception():
    found = inspect(JOBS / "scenarios/welder-and-compressor.yaml")
    outcome = Outcome("circuits.compressor.conductors", "breaker-protects-conductors")
    reason = Reasons(found.whatif).of(outcome)
    assert {one.fact for one in reason.elements} == {"type", "role", "fed panels"}


def test_a_size_is_what_it_is_because_the_next_smaller_fails(kiln):
    pick = next(
        r for r in kiln.k.rules.values() if r.verb == "tries" and r.picks.name == "minimum size"
    )
    thing = kiln.w.things["circuits.kiln.conductors"]
    reason = reason_of_size(Reasons(kiln.whatif), pick, thing)
    assert reason.outcome.thing == "circuits.kiln.conductors@6 AWG"
    assert reason.outcome.rule == "conductor-125-percent"
    assert "size" not in {one.fact for one in reason.elements}


def test_how_far_the_current_may_move(kiln):
    """55 A carry 44 A that run three hours or more: 55 A ÷ 125 %, 210.19(A)(1)."""
    reason = Reasons(kiln.whatif).of(TOO_SMALL)
    current = next(one for one in reason.elements if one.fact == "current")
    (bound,) = bounds_of(kiln.whatif, reason, current)
    assert in_unit(bound.value, "A") == 44 and bound.over and not bound.itself
    for amount, answer in ((44, PASSES), (Fraction("44.001"), "fails")):
        told = [("circuits.kiln.load", "current", amount), ("circuits.kiln.load", "power", None)]
        with kiln.whatif.told(told) as world:
            rule = kiln.k.rules[TOO_SMALL.rule]
            assert world.answer(rule, world.things[TOO_SMALL.thing]) == answer


def test_the_simplest_number_of_an_interval():
    assert simplest(Fraction("43.99991"), Fraction("44.00003")) == 44
    assert simplest(Fraction("9371.8"), Fraction("9372.1")) == 9372
    assert simplest(Fraction(0), Fraction(0)) == 0


def test_what_cannot_be_told_waits_for_the_fewest_facts_that_settle_it():
    found = inspect(JOBS / "answers/kiln-in-pipe.yaml")
    outcome = Outcome("circuits.kiln", "all-conductors-together")
    fact = ("circuits.kiln", "conductors together")
    others = [("circuits.kiln", "white as hot"), fact]
    settling = fewest_that_settle(found.whatif, outcome, others)
    assert settling.facts == (fact,) and settling.always
    assert settling.answers == {(True,): "passes", (False,): "fails"}


def test_a_fact_whose_every_answer_leaves_it_open_settles_nothing():
    found = inspect(JOBS / "answers/kiln-in-pipe.yaml")
    outcome = Outcome("circuits.kiln", "all-conductors-together")
    assert found.w.answer(found.k.rules[outcome.rule], found.w.things[outcome.thing]) == TELL
    assert fewest_that_settle(found.whatif, outcome, [("circuits.kiln", "white as hot")]) is None


def test_a_rule_that_gives_in_the_place_of_another_is_open_while_it_is_withheld():
    """Were it a motor, its drop would be worked out otherwise: that it is none is a part."""
    found = inspect(JOBS / "scenarios/multiwire-receptacles.yaml")
    outcome = Outcome("circuits.bench.conductors", "branch-voltage-drop")
    reason = Reasons(found.whatif).of(outcome)
    assert "motor operated" in {one.fact for one in reason.elements}
