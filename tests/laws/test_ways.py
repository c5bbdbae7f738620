"""Law 5: every way out is proven. Applied to the job's own file and run from the beginning, the
fault is gone and nothing new fails; nothing cheaper of one action is passed over.

The shipped jobs are a seeded sample, and all of them with WHYWIRE_WHOLE=1.
"""

import os
import random
from pathlib import Path

import pytest
from changed import changed_body

from whywire.engine import Faults, inspect
from whywire.engine.answering.fixes import fixes_of
from whywire.engine.answering.note import law_of
from whywire.engine.answering.tiers import is_small
from whywire.engine.answering.whynot import WhyNot
from whywire.engine.language.rules import JUDGING
from whywire.engine.running.chain import ADVICE, FAILS, OFF, PASSES, REFERS, SET_ASIDE, TELL

KB = Path(__file__).resolve().parents[2] / "kb"
EVERY = sorted(path for path in KB.rglob("jobs/**/*.yaml") if "expect" in path.read_text())
WHOLE = os.environ.get("WHYWIRE_WHOLE") == "1"
MET = (PASSES, SET_ASIDE)


def sample(share: int, seed: int) -> list[Path]:
    """One job in *share*, always the same; all of them in the whole sweep."""
    return EVERY if WHOLE else random.Random(seed).sample(EVERY, len(EVERY) // share)


def named(path: Path) -> str:
    return f"{path.parent.parent.name}-{path.stem}"


def verdicts(found) -> dict:
    """What is said of everything, of a job run from the beginning."""
    w = found.w
    return {
        (r.id, x[0].id): w.answer(r, x)
        for kind, xs in w.by_kind.items()
        for r in w.k.rules.values()
        if r.about == kind and r.verb in (*JUDGING, "refers")
        for x in xs
    }


def worse(before: dict, found) -> dict:
    """What newly fails, or newly cannot be told and is no workmanship."""
    after = verdicts(found)
    return {
        on: now
        for on, now in after.items()
        if now != before.get(on)
        and (
            now in (FAILS, REFERS)
            or now == TELL
            and before.get(on) != FAILS
            and not is_small(found.w, found.k.rules[on[0]], found.w.things[on[1]])
        )
    }


@pytest.mark.parametrize("path", sample(4, 5), ids=named)
def test_a_way_out_written_into_the_job_mends_it_and_breaks_nothing(path):
    found = inspect(path)
    before, why = verdicts(found), WhyNot(found.w, found.whatif)
    for finding in found.findings:
        if finding.answer != "fails":
            continue
        on = finding.rule, finding.on
        for way in why.ways_out(found.k.rules[finding.rule], found.w.things[finding.on], 4):
            again = inspect(changed_body(path, found, way.changes))
            assert again.disputes == found.disputes
            now = verdicts(again)
            assert now[on] in (*MET, OFF), (on, way.words, now[on])
            assert worse(before, again) == {}, (on, way.words)
            gone = {key for key in before if before[key] == FAILS and now[key] in (*MET, OFF)}
            assert gone == way.mends, (on, way.words)
            assert {
                key for key, now in verdicts(again).items() if now == ADVICE != before[key]
            } == (set(way.advises))


@pytest.mark.parametrize("path", sample(8, 6), ids=named)
def test_no_single_action_is_cheaper_than_the_first_way_shown(path):
    """Every step of every action is run, whether or not it could matter."""
    found = inspect(path)
    mending = WhyNot(found.w, found.whatif).mending
    faults = [(f.rule, f.on) for f in found.findings if f.answer == "fails"]
    best: dict = {}
    for offer in mending.offers if faults else ():
        for step in offer.steps:
            outcome = mending.trials.outcome(step.told)
            if not outcome.is_clean:
                continue
            with found.whatif.told(step.changes) as world:
                words = offer.said(world, step)
            for on, verdict in outcome.mends.items() if words else ():
                whole = {other for other in faults if other[1] == on[1]} <= outcome.mends.keys()
                key = verdict == OFF, not whole, step.cost
                best[on] = min(best.get(on, (key, words)), (key, words))
    for on in faults:
        ways = mending.found(on).ways
        if on in best:
            (off, part, cost), words = best[on]
            assert ways, (on, words)
            left = {other for other in faults if other[1] == on[1]} - ways[0].mends
            better = (off and ways[0].on_rule != OFF) or (part and not left)
            assert ways[0].weight <= cost or better, (on, words)


@pytest.mark.parametrize("path", sample(4, 7), ids=named)
def test_the_first_ways_of_all_faults_can_be_made_at_once(path):
    found = inspect(path)
    fixes = fixes_of(found.standing, "job", law_of(found), [])
    mends = [change for fix in fixes.fixes for change in fix.fault.mend]
    mended = {
        (rule, on)
        for fix in fixes.fixes
        if fix.fault.mend
        for rule in fix.fault.rules
        for on in fix.fault.on
    }
    with found.standing.whatif.told() as world:
        before = {on for on, said in _said(world).items() if said == FAILS}
    with found.standing.whatif.told(mends) as world:
        after = {on for on, said in _said(world).items() if said == FAILS}
    assert after <= before and not after & mended
    for fix in fixes.fixes:
        # it is shown that nothing known mends it, or it is mended with the others
        assert fix.fault.mend or not fix.ways or all(way.looks for way in fix.ways), fix.fault.says


def _said(world) -> dict:
    return {
        (r.id, x[0].id): world.answer(r, x)
        for kind, xs in world.by_kind.items()
        for r in world.k.rules.values()
        if r.about == kind and r.verb in JUDGING
        for x in xs
    }


@pytest.mark.parametrize("path", sample(6, 8), ids=named)
def test_what_an_answer_says_would_pass_is_a_way_out_or_a_number_that_was_run(path):
    """Law 9 for the screens of `why`: no line under Passes leads to a job that fails."""
    found = inspect(path)
    why = WhyNot(found.w, found.whatif)
    for finding in found.findings:
        if finding.answer != "fails":
            continue
        rule, on = found.k.rules[finding.rule], found.w.things[finding.on]
        ways = [way.said for way in why.ways_out(rule, on)]
        proven = [*ways, *why.thresholds(rule, on)]
        hints = [
            why.fill(str(hint), rule, on) for hint in rule.d.get("answers", {}).get("hints", [])
        ]
        rows = why.finding(rule, on).rows
        at = next((i for i, row in enumerate(rows) if row.label == "Passes"), len(rows))
        said = [rows[at].text] if at < len(rows) else []
        for row in rows[at + 1 :]:
            if row.label:
                break
            said.append(row.text)
        for line in said:
            assert line in proven or line in hints or line.startswith("no "), (finding.rule, line)


def test_a_fault_that_no_action_mends_says_so():
    with pytest.raises(Faults):
        inspect({"job": "x"})
    found = inspect(KB / "jobs" / "scenarios" / "plug-of-a-large-kiln.yaml")
    fixes = fixes_of(found.standing, "job", law_of(found), ["kiln"])
    (fix,) = [f for f in fixes.fixes if "single-receptacle-not-below-the-circuit" in f.fault.rules]
    assert fix.ways == [] and fix.fault.mend == ()
