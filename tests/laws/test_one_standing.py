"""`why` answers in the world of the note: of everything in the lines of its design the same word,
size, ground and questions, and the same that was assumed.

Shipped jobs, surveyed jobs, circuits drawn from a seed and jobs with a fact or two left out.
"""

from __future__ import annotations

import re
from functools import cache

import pytest
from noted_jobs import noted, oven
from survey_scenes import SURVEYS, surveyed
from sweeps import WHOLE

from whywire.engine import inspect
from whywire.engine.answering.note import note_of
from whywire.engine.answering.questions import Why
from whywire.engine.language.rules import JUDGING
from whywire.engine.proving.graph import short
from whywire.engine.running.chain import ADVICE, FAILS, PASSES, SET_ASIDE

pytestmark = pytest.mark.sweep
WORDS = {"YES.", "NO.", "NOT YET.", "CAN'T TELL."}
PARTS = ("breaker", "conductors", "load", "receptacle")
ASKED = ("Look", "Tell me")


def hot_attic() -> dict:
    """8 AWG in a pipe through an attic of which nobody said how hot it gets, for a load of 45 A:
    55 A × 0.76 at 130 °F is 41.8 A (Table 310.15(B)(1)(1)), × 0.82 at 122 °F 45.1 A.
    """
    pipe = {"method": "EMT", "length": "40 ft", "trade size": "3/4"}
    return oven(
        load={"type": "other", "current": "45 A", "continuous": "no", "motor operated": "no"}
        | {"connection": "hard-wired"},
        breaker={"rating": "50 A"},
        conductors={"size": "8 AWG", "material": "copper", "insulation": "THWN-2"},
        segments=[pipe | {"place": "attic", "location": "dry", "bundle": "none"}],
    )


@cache
def cases() -> list[tuple]:
    """(name, inspected, note, who answers) of every case."""
    more = [(f"survey {name}", inspect(surveyed(name).body)) for name in TAKEN]
    more.append(("attic", inspect(hot_attic())))
    made = noted() + [(name, found, note_of(found)) for name, found in more]
    return [(name, found, note, speaker(found)) for name, found, note in made]


TAKEN = list(SURVEYS) if WHOLE else list(SURVEYS)[::2]


def speaker(found) -> Why:
    stand = found.standing
    return Why(stand.world, stand.whatif, stand)


def in_the_lines(found, note):
    """The things that the lines of the design are about, with their parts that people ask about."""
    names = {line.name for line in note.design}
    kinds = found.k.words.kinds.values()
    for thing in [
        x for kind in kinds if kind.line for x in found.standing.world.by_kind[kind.name]
    ]:
        if short(thing) in names:
            yield thing
            words = found.k.words.kinds[thing[0].kind].words
            for part in PARTS:
                cell = thing[words[part].slot] if part in words else None
                if isinstance(cell, list) and cell and hasattr(cell[0], "kind"):
                    yield cell


def concerning(why: Why, thing) -> set[tuple[str, str]]:
    judged = why.judged(thing, (*JUDGING, "refers"))
    return {(rule.id, part[0].id) for rule, part, _ in judged}


def expected(found, why: Why, thing) -> set[str]:
    """The word that the note's own lists come to for one thing; read off the lists, not asked."""
    stand, on = found.standing, concerning(why, thing)
    fails = {(f.rule, f.on) for f in stand.findings if f.answer == FAILS} & on
    undecided = {(one.finding.rule, one.finding.on) for one in stand.undecided} & on
    mine = {thing[0].id, *(part[0].id for part in why.within(thing))}
    if {(f.rule, f.on) for f in stand.faults} & on:
        return {"NO."}
    if fails:
        return {"NOT YET."}
    if undecided or any(lack.first and mine & {*lack.on} for lack in stand.lacks):
        return {"CAN'T TELL."}
    judged = {f.answer for f in stand.findings if (f.rule, f.on) in on}
    if PASSES in judged:
        return {"YES."}
    return {"NO."} if ADVICE in judged else {"CAN'T TELL."}


def test_the_word_is_that_of_the_note():
    seen = set()
    for name, found, note, why in cases():
        for thing in in_the_lines(found, note):
            answer = why.subject(thing)
            assert {answer.word} == expected(found, why, thing), (
                name,
                thing[0].id,
                answer.sentence,
            )
            seen.add(answer.word)
        # what one circuit comes to alone is what the whole job comes to
        circuits = found.standing.world.by_kind["circuit"]
        if len(circuits) == 1 and not found.standing.disputes:
            word = why.subject(circuits[0]).word
            assert (word == "NO.") <= (note.headline == "NOT RIGHT"), name
            assert (word == "YES.") >= (note.headline == "RIGHT"), name
    assert seen == WORDS


def test_a_fault_that_only_something_remote_could_turn_is_a_fault():
    """No NOT YET over what the note calls wrong, and no way out is shown there that it has not."""
    faults = 0
    for name, found, _, why in cases():
        stand = found.standing
        for finding in stand.faults:
            answer = why.finding(found.k.rules[finding.rule], stand.world.things[finding.on])
            assert answer.word == "NO.", (name, finding.rule, finding.on)
            assert not any(row.label == "Unless" for row in answer.rows), (name, finding.rule)
            faults += 1
        for finding in stand.turnable:
            answer = why.finding(found.k.rules[finding.rule], stand.world.things[finding.on])
            assert answer.word == "NOT YET.", (name, finding.rule, finding.on)
    assert faults > len(cases()) / 4


def text_of(answer) -> str:
    return " ".join([answer.sentence, *(row.text for row in answer.rows)])


def test_the_sizes_are_those_of_the_design():
    """Breaker, wire and ground of a circuit without a mend stand in its line as `why` says them."""
    seen = {"size": 0, "EGC size": 0, "rating": 0}
    for name, found, note, why in cases():
        mended = {of.split(".")[1] for fault in note.faults for of, _, _ in fault.mend if "." in of}
        lines = {line.name: " · ".join(line.pieces) for line in note.design}
        for circuit in found.standing.world.by_kind["circuit"]:
            if circuit[0].name in mended or short(circuit) not in lines:
                continue
            line = lines[short(circuit)]
            for fact, shown in (
                ("size", r"(?:^|· )(\d+(?:/0)?)(?:-\d| AWG)"),
                ("EGC size", r"ground (\d+(?:/0)? AWG)"),
                ("rating", r"(?:^|· )(\d+ A)(?![A-Z])"),
            ):
                there = re.search(shown, line)
                if there is None:
                    continue
                part = "breaker" if fact == "rating" else "conductors"
                answer = found.why(circuit[0].id, part, fact)
                assert answer.word in WORDS
                wanted = rf"(?<!\d){re.escape(there[1])}(?!\d)"
                assert re.search(wanted, text_of(answer)), (name, fact, line, text_of(answer))
                seen[fact] += 1
    assert min(seen.values()) > 5, seen


def test_what_is_open_is_what_the_note_has_open():
    """Every question of an answer is one that decides, and what decides on a circuit is asked."""
    asked = 0
    for name, found, note, why in cases():
        stand = found.standing
        for thing in in_the_lines(found, note):
            answer, on = why.subject(thing), concerning(why, thing)
            wanted = {
                need.ask
                for one in stand.undecided
                if (one.finding.rule, one.finding.on) in on
                for need in one.needs
            }
            if answer.word != "CAN'T TELL.":
                continue
            said = {row.text.split("?")[0] for row in answer.rows if row.label in ASKED}
            assert said <= {ask.split("?")[0] for ask in wanted}, (name, thing[0].id, said)
            assert said or not wanted or any(r.label == "Refused" for r in answer.rows), name
            asked += len(said)
    assert asked > len(cases()) / 4


def test_a_yes_that_rests_on_a_guess_names_it():
    """Law: never a stronger YES than the note's. What passes with a guess and is open without it
    says the guess, in the words of the note.
    """
    named = 0
    for name, found, note, why in cases():
        stand = found.standing
        if not stand.guesses:
            continue
        texts = {said.split(" (right")[0] for said in note.assumed}
        for thing in in_the_lines(found, note):
            answer = why.subject(thing)
            rests = [
                (rule, part)
                for rule, part, verdict in why.judged(thing)
                if verdict in (PASSES, SET_ASIDE) and stand.as_told(rule, part) != verdict
            ]
            used = why.assumed_under([(*on, PASSES) for on in rests])
            guessed = [
                why.assumption(x, word)
                for x, word in used
                if (x[0].id, word.name) in {(g.of, g.fact) for g in stand.guesses}
            ]
            if answer.word != "YES." or not guessed:
                continue
            assumed = " ".join(row.text for row in answer.rows if row.label == "We assumed")
            for said in guessed:
                assert said in assumed and said in texts, (name, thing[0].id, said, assumed)
                named += 1
    assert named > 3


def test_what_fails_by_a_guess_alone_is_not_yet_and_says_where_to_look():
    job = hot_attic()
    for end in ("supply termination", "load termination"):
        job["circuits"]["oven"][end] = {"marking": "75 °C"}
    found = inspect(job)
    assert found.standing.headline == "RIGHT IF"
    answer = found.why("oven")
    assert (answer.word, answer.rule) == ("NOT YET.", "load-after-correction")
    rows = {row.label: row.text for row in answer.rows}
    assert rows["We assumed"].startswith("attic air 130 °F (right up to 122 °F)")
    assert rows["Look"].startswith("How hot does the air around this segment get")
    assert "41.8 A >= 45 A?  No, 3.2 A short." in rows["Check"]
    job["circuits"]["oven"]["segments"][0]["ambient"] = "120 °F"
    assert inspect(job).why("oven", "load-after-correction").word == "YES."
