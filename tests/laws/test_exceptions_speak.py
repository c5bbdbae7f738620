"""Where an exception lets something pass, the answer is the exception's; one whose own test fails
sets nothing aside.
"""

from __future__ import annotations

import pytest
from known import known
from sweeps import sweep

from whywire.engine import inspect
from whywire.engine.answering.questions import Why
from whywire.engine.checking.examples import Stub
from whywire.engine.language import expressions as ex
from whywire.engine.language.rules import JUDGING
from whywire.engine.running.chain import ADVICE, FAILS, PASSES, SET_ASIDE, World
from whywire.engine.running.durable import agree
from whywire.engine.running.job import read_job
from whywire.engine.running.rerun import Rerun

EDITIONS = ("2017", "2020", "2023", "2026")
KNOWN = {edition: known(edition) for edition in EDITIONS}  # with examples
LIFTED = [
    (edition, r.id, e.id)
    for edition, k in KNOWN.items()
    for r in k.rules.values()
    if r.verb in JUDGING
    for e in k.order.exceptions.get(r.id, ())
]


def given(k, r, e) -> list[dict]:
    """Facts under which *e* holds and *r* by itself fails: those of an example of each put
    together.
    """

    def of(rule, wanted) -> list[dict]:
        return [
            dict(d.get("given", {}))
            for d in rule.d.get("examples", [])
            if wanted(d) and not any(" | " in str(v) for v in d.get("given", {}).values())
        ]

    good = of(e, lambda d: d.get("holds") == "yes" or d.get("answer") == "passes" or "gives" in d)
    bad = of(r, lambda d: d.get("answer") in ("fails", "advice"))
    return [{**b, **g} for g in good for b in bad] + good


def lifted(k, r, e):
    """A thing on which *e* sets *r* aside though *r* by itself fails; or where *r* passes, if there
    is no such.
    """
    for facts in given(k, r, e):
        w = World.__new__(World)
        w.k, w.fired, w.emitted = k, 0, None
        w.by_kind, w.things = {}, {}
        try:
            x = Stub(k).thing(r.about, facts)
        except Exception:  # the two examples contradict each other
            continue

        def fire(one) -> None:
            for d in k.order.exceptions.get(one.id, ()):
                if d.id != one.id:
                    fire(d)
            w.fire(one, x)

        fire(r)
        if w.lifting(r, x) is e and x[k.slots[r.id]] == FAILS:
            return w, x
    return None


@sweep("edition, rule, exception", LIFTED, lambda c: (c[0], KNOWN[c[0]].rules[c[2]].verb))
def test_the_sentence_over_what_is_lifted_is_the_exceptions(edition, rule, exception):
    k = KNOWN[edition]
    r, e = k.rules[rule], k.rules[exception]
    found = lifted(k, r, e)
    if found is None:
        pytest.skip("no example of the two fits together")
    w, x = found
    why = Why(w, Rerun(w))
    assert w.answer(r, x) == SET_ASIDE
    said = why.sentence(r, x, SET_ASIDE)
    passes = r.d.get("answers", {}).get("passes")
    assert passes is None or said != why.fill(str(passes), r, x)
    assert said != r.said
    if e.verb in JUDGING:
        assert said == why.sentence(e, x, PASSES)
        margin = why.margin(e, x) if isinstance(e.test, ex.Cmp) and e.test.order is None else ""
    else:
        c = why.decisive(e, x)
        assert said.startswith((why.in_short(e, x).rstrip("."), why.in_short(e, x)))
        margin = why.margin(e, x, c) if c is not None else ""
        assert not margin or f"({margin})" in said
    assert " short" not in margin and " over" not in margin
    plain = why.plain_lines(r, x, SET_ASIDE)
    own = r.d.get("answers", {}).get("plain", {}).get("passes")
    assert own is None or not plain[0].endswith(str(own))


def test_most_exceptions_are_seen_to_speak():
    """The test above looks at something: of the pairs of a rule and its exception few do not fit
    together.
    """
    k = KNOWN["2023"]
    pairs = [(k.rules[r], k.rules[e]) for edition, r, e in LIFTED if edition == "2023"]
    assert sum(lifted(k, r, e) is not None for r, e in pairs) > len(pairs) // 2


def test_no_other_rule_has_a_sentence_that_passes_over_its_exception():
    """Every rule with both is among those that are looked at."""
    k = KNOWN["2023"]
    both = {
        r.id
        for r in k.rules.values()
        if k.order.exceptions.get(r.id) and r.verb in JUDGING and "passes" in r.d.get("answers", {})
    }
    assert len(both) > 20 and both <= {r for edition, r, _ in LIFTED if edition == "2023"}


# ---- an exception that is itself a requirement

INSTEAD = [(edition, e, r) for edition, r, e in LIFTED if KNOWN[edition].rules[e].verb in JUDGING]


@sweep("edition, exception, rule", INSTEAD, lambda c: (c[0], KNOWN[c[0]].rules[c[1]].verb))
def test_what_takes_the_place_of_another_takes_it_only_where_it_is_met(edition, exception, rule):
    k = KNOWN[edition]
    e, seen = k.rules[exception], set()
    for d in e.d.get("examples", []):
        w = World.__new__(World)
        w.k, w.fired = k, 0
        facts = dict(d.get("given", {}))
        if any(" | " in str(v) for v in facts.values()):
            continue
        x = Stub(k).thing(e.about, facts)
        for f in k.order.exceptions.get(e.id, ()):
            x[k.holds[f.id]] = False
        w.fire(e, x)
        answer = x[k.slots[e.id]]
        seen.add(answer)
        if answer != PASSES:
            assert w.holds(e, x) is not True, (d, answer)
        if answer == FAILS:
            assert w.holds(e, x) is False, d
    assert {PASSES, ADVICE if e.verb == "should" else FAILS} <= seen


def feeder(size: str) -> dict:
    return {
        "job": "the feeder of a whole house",
        "edition": "2023",
        "circuits": {
            "main": {
                "role": "feeder",
                "volts": "120/240 V",
                "length": "30 ft",
                "serves the whole dwelling": "yes",
                "breaker": {"rating": "200 A"},
                "conductors": {"size": size, "material": "aluminum", "insulation": "XHHW-2"},
                "supply termination": {"temperature rating": "75 °C"},
                "load termination": {"temperature rating": "75 °C"},
                "segments": [
                    {
                        "method": "EMT",
                        "length": "30 ft",
                        "place": "basement",
                        "location": "dry",
                        "ambient": "86 °F",
                        "bundle": "none",
                    }
                ],
            }
        },
    }


@pytest.mark.parametrize("size, met", [("4/0 AWG", True), ("3/0 AWG", False)])
def test_83_percent_lets_a_breaker_be_only_over_wire_that_carries_83_percent(size, met):
    """310.12: 4/0 AWG aluminum carries 180 A, 83 % of 200 A is 166 A; 3/0 AWG carries 155 A."""
    found = inspect(feeder(size))
    said = {f.rule: f for f in found.findings if f.on == "circuits.main.conductors"}
    other = said["breaker-protects-conductors"]
    if met:
        assert (said["dwelling-83-percent"].answer, other.answer) == ("passes", "passes")
        assert other.exception == "dwelling-83-percent"
        answer = found.why("main conductors", "breaker-protects-conductors")
        assert answer.sentence == found.why("main conductors", "dwelling-83-percent").sentence
    else:
        assert (said["dwelling-83-percent"].answer, other.answer) == ("fails", "fails")
        assert not other.exception and found.exit_code == 1


def test_both_chainers_agree_where_an_exception_is_not_met():
    pytest.importorskip("durable")
    k = KNOWN["2023"]
    for size in ("4/0 AWG", "3/0 AWG"):
        body = feeder(size)
        w = World(k, read_job(body, k, "job")).run()
        assert not agree(k, body, w)
        slow = World(k, read_job(body, k, "job"), fast=False).run()
        for x in w.things.values():
            for r in k.rules.values():
                if r.about == x[0].kind:
                    assert w.answer(r, x) == slow.answer(r, slow.things[x[0].id]), r.id


def test_gfci_is_not_said_to_be_there_where_an_exception_lets_it_be_without():
    found = inspect("kb/jobs/editions/outdoors-hard-wired.yaml", edition="2023")
    over = [
        f
        for f in found.findings
        if f.exception and f.rule.startswith("gfci") and f.answer == "passes"
    ]
    for f in over:
        assert f.says == found.k.rules[f.exception].said
        assert "has GFCI" not in found.why(f.rule).sentence
