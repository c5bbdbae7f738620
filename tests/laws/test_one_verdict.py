"""One verdict a finding: what `why` answers, what an inspection lists, its JSON and its exit code
say the same.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from drawn_jobs import room
from sweeps import sweep

from whywire.engine import inspect
from whywire.engine.answering.questions import Why
from whywire.engine.answering.subjects import SEVERITY
from whywire.engine.language.rules import JUDGING

JOBS = sorted(str(p) for p in Path("kb/jobs").rglob("*.yaml"))
PLACED = sorted(str(p) for p in Path("kb/places").rglob("jobs/*.yaml"))
CASES = [
    *(
        (job, edition)
        for n, job in enumerate(JOBS)
        for edition in (("2020", "2026")[n % 2], "2023")
    ),
    *((job, None) for job in PLACED),
]


def kind_of(case: tuple) -> str:
    """Of which room a job is; each is there in two editions."""
    return room(Path(case[0]))


WORD = {"passes": "YES.", "cannot tell": "CAN'T TELL.", "advice": "NO."}


@cache
def inspected(job: str, edition: str | None):
    return inspect(job, edition=edition) if edition else inspect(job)


def speaker(found) -> Why:
    """Who speaks of a job as it stands."""
    return Why(found.standing.world, found.standing.whatif, found.standing)


def word_of(stand, f) -> str:
    """The word at the head of a short answer about a finding."""
    if f.answer != "fails":
        return WORD[f.answer]
    return "NO." if f in stand.faults else "NOT YET."


@sweep("job, edition", CASES, kind_of)
def test_why_says_of_each_finding_what_the_inspection_says(job, edition):
    found = inspected(job, edition)
    why, stand = speaker(found), found.standing
    assert stand.findings
    for f in stand.findings:
        answer = why.rule_on(found.k.rules[f.rule], stand.world.things[f.on])
        assert answer.word == word_of(stand, f), (f.rule, f.on)


@sweep("job, edition", CASES, kind_of)
def test_the_exit_code_and_the_json_agree_with_the_findings(job, edition):
    found = inspected(job, edition)
    said = found.as_dict()
    fails = [f for f in said["findings"] if f["answer"] == "fails"]
    undecided = said["disputes"] or any(f["answer"] == "cannot tell" for f in said["findings"])
    # 1 only over a fault; 0 only without one; what may still turn a fault, or is open, is 3
    assert found.exit_code in ((1, 3) if fails else (0, 3))
    assert (
        found.exit_code != 3 or any(f["unless"] for f in fails) or undecided or said["not checked"]
    )
    assert [(f["rule"], f["on"], f["answer"]) for f in said["findings"]] == [
        (f.rule, f.on, f.answer) for f in found.findings
    ]


@sweep("job, edition", CASES, kind_of)
def test_no_thing_is_right_over_a_fault_in_which_it_is_compared(job, edition):
    """YES never stands over a requirement on the thing, or one that compares a number of it, that
    fails or is open.
    """
    found = inspected(job, edition)
    why, stand = speaker(found), found.standing
    verdicts = {(f.rule, f.on): f.answer for f in stand.findings}
    wrong = [(f.rule, f.on) for f in stand.findings if f.answer == "fails"]
    wrong += [(one.finding.rule, one.finding.on) for one in stand.undecided]
    for x in stand.world.things.values():
        if x[0].kind == "job":
            continue
        against = [
            (rule, on)
            for rule, on in wrong
            if found.k.rules[rule].verb in JUDGING
            and (
                on == x[0].id or why.operand(found.k.rules[rule], stand.world.things[on], {x[0].id})
            )
        ]
        advice = [r for (r, on), a in verdicts.items() if a == "advice" and on == x[0].id]
        answer = why.subject(x)
        if against:
            assert answer.word in ("NO.", "NOT YET.", "CAN'T TELL."), (x[0].id, against)
            assert not answer.plain or not answer.plain[0].startswith("Yes"), (x[0].id, against)
        if advice and answer.word == "YES.":
            assert any(row.label == "Advice" for row in answer.rows), (x[0].id, advice)
            assert "Advice is not met" in answer.sentence


@sweep("job, edition", CASES, kind_of)
def test_no_number_is_right_over_a_fault_that_compares_it(job, edition):
    found = inspected(job, edition)
    why, stand = speaker(found), found.standing
    fails = [f for f in stand.findings if f.answer == "fails"]
    for f in fails:
        r, y = found.k.rules[f.rule], stand.world.things[f.on]
        for p in why.read_by(r):
            o = p.holder(y, None) if p.names and not p.member else None
            if isinstance(o, list) and p.t[0] in ("q", "row"):
                answer = why.fact(o, p.names[-1])
                assert answer.word != "YES.", (f.rule, o[0].id, p.names[-1])


@sweep("job, edition", CASES, kind_of)
def test_the_design_agrees_with_the_findings(job, edition):
    """A size that was told stands with its row: it fails a test of its own where the row does, and
    only there.
    """
    found = inspected(job, edition)
    w = found.w
    for p in (r for r in found.k.rules.values() if r.verb == "tries"):
        for x in w.by_kind[p.about]:
            told = x[0].told.get(p.tried.name)
            rows = w.rows_of.get((p.id, x[0].id), ())
            row = next((y for y in rows if told is not None and y[0].row == told), None)
            if row is None:
                continue
            for t in found.k.order.tests[p.id]:
                one, other = w.answer(t, row), w.answer(t, x)
                assert SEVERITY.get(one, 9) == SEVERITY.get(other, 9), (p.id, x[0].id, t.id)


def test_a_breaker_over_its_wire_is_not_right(tmp_path):
    """25 A on 12 AWG copper: 240.4 and 240.4(D) are about the wire and decide about the breaker."""
    found = inspect(
        {
            "job": "kiln on thin wire",
            "edition": "2023",
            "circuits": {
                "oven": {
                    "volts": "240 V",
                    "length": "30 ft",
                    "load": {"type": "kiln", "current": "18 A"},
                    "breaker": {"rating": "25 A"},
                    "conductors": {"size": "12 AWG", "material": "copper"},
                    "segments": [
                        {
                            "method": "NM-B",
                            "length": "30 ft",
                            "place": "basement",
                            "location": "dry",
                            "bundle": "none",
                        }
                    ],
                }
            },
        }
    )
    for words in (["oven", "breaker"], ["oven", "breaker", "rating"]):
        answer = found.why(*words)
        assert (answer.word, answer.rule) == ("NO.", "breaker-protects-conductors"), words
        assert answer.sentence == "The 25 A breaker is 5 A over what 12 AWG may carry."
        assert answer.plain[0].startswith("No. The breaker is too big")
    assert "is right" not in found.why("oven").sentence


def test_an_answer_does_not_depend_on_what_was_asked_before():
    found = inspect("kb/jobs/editions/receptacles-by-place.yaml", edition="2023")
    first = found.why("games room breaker", "breaker-125-percent").word
    found.whatif.left = 0  # as after many questions
    assert found.why("games room breaker", "breaker-125-percent").word == first == "YES."


def told(**more) -> dict:
    return {
        "job": "a kiln, looked at",
        "edition": "2023",
        "circuits": {"kiln": {"volts": "240 V", "load": {"type": "kiln"}}},
    } | more


def test_advice_that_is_not_met_is_never_yes():
    """Legs that differ by 4 % under load: what else is said of the reading passes, or does not
    apply.
    """
    reading = {"test": "leg balance", "leg difference": "4 %", "legs move apart": "no"}
    found = inspect(told(measurements={"legs": reading}))
    for words in (["legs"], ["legs", "legs-differ"]):
        answer = found.why(*words)
        assert (answer.word, answer.sentence.split(":")[0]) == ("NO.", "Good practice, not law"), (
            words
        )
        assert not answer.plain[0].startswith("Yes")


def test_a_yes_does_not_hide_advice():
    """A contact of 8 W whose terminal is at the torque of its label."""
    contact = {
        "resistance": "5 mΩ",
        "current": "40 A",
        "torque": "50 lb-in",
        "label torque": "50 lb-in",
        "torque recorded": "yes",
        "torque means": "calibrated torque tool",
    }
    answer = inspect(told(connections={"blade": contact})).why("blade")
    assert answer.sentence.endswith("Advice is not met.")
    assert any(row.label == "Advice" and row.rank == 0 for row in answer.rows)
    assert any("advise" in line for line in answer.plain)
