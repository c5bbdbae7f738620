"""Which way an edit is said to go is which way it goes: cases drawn by another hand, around the
limits of its rules, under the law with it and the law without it.
"""

import random
from pathlib import Path

import pytest
from sweeps import sweep

from whywire.cli.main import main
from whywire.engine.basics.errors import Fault
from whywire.engine.checking.variations import Variations
from whywire.engine.comparing import amendments, witnesses
from whywire.engine.comparing.edit_examples import ASKS, verdict
from whywire.engine.language.rules import JUDGING
from whywire.engine.law.library import KB

PLACES = sorted(p.parent for p in (KB / "places").glob("*/pack.yaml"))
CLERK = Path(__file__).resolve().parent / "clerk"
DRAWN, REACH = 3000, 20
HEAD = """pack: drawn
title: Drawn
authority: The Board
cite: Ordinance 9
layer: county
place: Drawn County
adopts: {edition: 2023, from: 2025-01-01}
"""


def looked_at(folder):
    """The review of a pack, and of each edit the laws with it and without it."""
    seen, one = [], amendments._look

    def noted(edit, there, partly, got):
        one(edit, there, partly, got)
        seen.append((edit, there.k, there.without([edit])))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(amendments, "_look", noted)
        return amendments.review(folder), seen


def shown_by_cases(edit, within, bare):
    """(which ways cases went, how many the edit reached) of the requirements it touches itself."""
    names = [edit.target]
    for k in (within, bare):
        rule = k.rules.get(edit.target)
        names += rule.exception_to if rule is not None else []
        names += [
            rule.id
            for rule in k.rules.values()
            if edit.target in rule.reads_values | rule.reads_tables
        ]
    laws = (bare, within)
    judged = [
        name
        for name in dict.fromkeys(names)
        if any(name in k.rules and k.rules[name].verb in JUDGING for k in laws)
    ]
    ways, reached = set(), 0
    for name in judged:
        for k in laws:
            if name not in k.rules:
                continue
            for _, given in zip(range(DRAWN), Variations(k, k.rules[name]).near()):
                try:
                    answers = [
                        [str(verdict(law, one, {"given": given, "answer": ""})) for one in judged]
                        for law in laws
                    ]
                except (Fault, AttributeError, TypeError, KeyError):
                    continue
                reached += answers[0] != answers[1]
                asked = [_asked(said) for said in answers]
                if None not in asked and asked[0] != asked[1]:
                    ways.add("STRICTER" if asked[1] > asked[0] else "LAXER")
    return ways, reached


def _asked(answers):
    worst = [ASKS.get(answer, ASKS["cannot tell"]) for answer in answers]
    if ASKS["fails"] in worst:
        return ASKS["fails"]
    return None if ASKS["cannot tell"] in worst else max(worst, default=0)


def check(got, seen):
    """Each edit that touches a requirement by itself: what is said is what cases show."""
    looked = 0
    for edit, within, bare in seen:
        ways, reached = shown_by_cases(edit, within, bare)
        if not ways:
            continue
        said = got.said[edit.number].partition(":")[0]
        assert ways <= ({"STRICTER", "LAXER"} if said == "BOTH" else {said}), (edit.name, ways)
        found = got.found[edit.number]
        # what the search reached counts with what was drawn here; of a rule on one yes or no there
        # are not twenty cases, and all of them are looked at
        assert found.whole or reached + found.reached >= REACH, (edit.name, reached, found.reached)
        looked += 1
    return looked


@sweep("folder", [*PLACES, CLERK], turn="no fault", ids=lambda p: p.name)
def test_a_shipped_edit_goes_the_way_it_is_said_to(folder):
    got, seen = looked_at(folder)
    check(got, seen)


def test_an_edit_drawn_at_random_goes_the_way_it_is_said_to(tmp_path):
    draw = random.Random(16)
    edits = []
    for number, name in enumerate(["depth", "floor", "width"] * 3):
        low = draw.randrange(20, 60)
        sign = draw.choice([">=", "<=", ">", "<"])
        verb = draw.choice(["must", "must not"])
        letters = "abcdefghi"[number]
        if name == "floor":
            edits.append(
                f"- add: drawn-{letters}\n  cite: §1\n  reason: x\n  says: x\n  about: working"
                f" space\n  exception to: working-space-depth\n  when: depth {sign} {low} in\n"
            )
        else:
            edits.append(
                f"- add: drawn-{letters}\n  cite: §1\n  reason: x\n  says: x\n  about: working"
                f" space\n  {verb}: {name} {sign} {low} in\n"
            )
    edits.append(
        "- amend: working-space-width\n  cite: §2\n  reason: x\n  strike: larger of (30 in"
        " and equipment width)\n  insert: 36 in\n"
    )
    (tmp_path / "pack.yaml").write_text(HEAD)
    (tmp_path / "drawn.yaml").write_text("".join(edits))
    # an exception that reaches no case that fails moves nothing
    assert check(*looked_at(tmp_path)) >= 6


def test_every_case_of_a_small_grid_is_looked_at_and_a_larger_one_is_said_to_be_drawn():
    """Of 48 cases all; of an exception among many others those around its limits."""
    got, _ = looked_at(CLERK)
    seen = {edit.target: got.found[edit.number] for edit in got.edits}
    small, large = seen["no-nm-in-tall-or-old-houses"], seen["next-size-up"]
    assert small.whole and small.seen.startswith("All 48 cases looked at")
    assert not large.whole and "drawn around its limits" in large.seen
    assert small.stricter and not small.laxer and seen["further EGC share"].laxer
    assert large.cases <= witnesses.MOST


VOTED = """
- add: no-nm-above-two-stories
  cite: §7
  reason: Tall wooden houses burned.
  says: NM-B cable is not used in a building of more than two stories.
  about: segment
  when: stories of job > 2
  must not: method is NM-B
- withdraw: next-size-up
  cite: §8
  reason: The breaker is at or under the wire.
  examples:
  - {rule: breaker-protects-conductors, given: {ampacity: 55 A,
      rating of breaker: 60 A, more than one receptacle of circuit: no}, answer: fails}
"""


@pytest.mark.parametrize(("answer", "left"), [("y", 0), ("n", 1)])
def test_the_answers_become_the_examples_and_a_withdrawal_needs_no_case_it_leaves_alone(
    answer, left, tmp_path, capsys, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    pack = tmp_path / "pack"
    pack.mkdir()
    (pack / "pack.yaml").write_text(HEAD)
    (pack / "voted.yaml").write_text(VOTED)
    (tmp_path / "answers").write_text(f"no-nm-above-two-stories: {answer}\n")
    main(["check", "pack"])
    out, _ = capsys.readouterr()
    main(["check", "pack", "--answers", "answers"])
    _, err = capsys.readouterr()
    asked = " ".join(out.split())
    for told in (
        "A segment with ",
        "method NM-B",
        "stories of job 3",
        ": not allowed; before: nothing is asked of it.",
        "The same with stories of job 2: nothing is asked of it. Is that what was voted?",
    ):
        assert told in asked, asked
    assert ("does what was not voted" in err) is (answer == "n")
    got = amendments.review(pack)
    codes = [fault.code for fault in got.faults.items]
    assert codes.count("example-needed") == 2 * left, [str(f) for f in got.faults.items]
