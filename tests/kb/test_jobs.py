"""The worked jobs that are shipped: what each says must come out, comes out; and every question has
a short answer.
"""

from functools import cache
from pathlib import Path

import pytest
from sweeps import sweep

from whywire.cli.show_answer import show_answer, show_plain
from whywire.cli.show_inspection import show_inspection
from whywire.engine import inspect
from whywire.engine.answering.answers import Unclear
from whywire.engine.answering.expect import unmet
from whywire.engine.answering.questions import Why
from whywire.engine.running.chain import OFF

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
EVERY = sorted(JOBS.rglob("*.yaml"))
NAMES = [str(p.relative_to(JOBS).with_suffix("")) for p in EVERY]


@cache
def inspected(path: Path):
    return inspect(path)


@pytest.fixture(scope="module", params=EVERY, ids=NAMES)
def found(request):
    return inspected(request.param)


def test_expectations(found):
    assert unmet(found) == []


def test_an_expectation_on_the_wrong_thing_is_told():
    """A rule about conductors says nothing of the circuit they are in: what is there at its place
    belongs to another rule.
    """
    body = {
        "job": "one",
        "edition": "2023",
        "circuits": {"it": {"volts": "240 V"}},
        "expect": {"it": {"conductor-125-percent": "passes"}},
    }
    assert [line.split(": ", 1)[1] for line in unmet(inspect(body))] == [
        "conductor-125-percent of it: expected passes, and it is a rule about conductors"
    ]


def test_every_job_says_what_it_expects(found):
    assert "expect" in found.body, "a shipped job is a worked example: it says what must come out"


def test_the_report_is_whole(found):
    text = ["".join(t for t, _ in line) for line in show_inspection(found, 80, True)]
    assert all(len(line) <= 80 for line in text), max(text, key=len)
    for f in found.findings:
        assert f.answer in ("passes", "fails", "cannot tell", "advice")
        assert f.layer in ("law", "maker", "local", "practice") and f.source
        assert f.answer != "cannot tell" or f.needs or found.disputes or _off_table(found, f), (
            f"{f.rule} on {f.on} cannot tell and does not say what would settle it"
        )


def _off_table(found, f) -> bool:
    """A refusal says what to do instead of what to tell; a look-up beyond its table has nothing to
    tell either.
    """
    r = found.k.rules[f.rule]
    return r.verb == "refers" or "look-up" in {
        n.data.get("op") for n in found.graph(f"rule:{f.rule}@{f.on}").nodes.values()
    }


@sweep("path", EVERY, lambda p: p.parent.name, "questions", ids=lambda p: p.stem)
def test_every_question_has_an_answer_of_at_most_twelve_lines(path):
    found = inspected(path)
    why = Why(found.w, found.whatif)
    asked = 0
    for xs in found.w.by_kind.values():
        for x in xs:
            questions = [lambda x=x: why.subject(x)]
            for r in found.k.rules.values():
                if r.about == x[0].kind and r.verb != "tries":
                    questions.append(lambda r=r, x=x: why.rule_on(r, x))
            for w in found.k.words.kinds[x[0].kind].words.values():
                if w.type[0] not in ("ref", "many"):
                    questions.append(lambda w=w, x=x: why.fact(x, w.name))
            for q in questions[:: 1 if len(found.w.things) < 40 else 7]:
                try:
                    answer = q()
                except Unclear:
                    continue
                asked += 1
                lines = ["".join(t for t, _ in line) for line in show_answer(answer, 80)]
                # what is left out may be counted on a line of its own
                assert 1 <= len(lines) - lines[-1].startswith("… ") <= 12, lines
                assert all(len(line) <= 80 for line in lines), max(lines, key=len)
                assert all(
                    len("".join(t for t, _ in line)) <= 80 for line in show_plain(answer, 80)
                )
    assert asked > 10


@sweep("path", EVERY, lambda p: p.parent.name, "graphs", ids=lambda p: p.stem)
def test_every_judged_answer_leads_to_its_graph(path):
    found = inspected(path)
    for f in found.findings[::3]:
        g = found.graph(f"rule:{f.rule}@{f.on}")
        assert g.root in g.nodes
        assert all(a in g.nodes and b in g.nodes for a, b, _ in g.edges)
    assert OFF not in {f.answer for f in found.findings}
