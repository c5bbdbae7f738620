"""Rules about kinds of things that a job has not are neither read nor chained, by either chainer,
whatever is asked.
"""

from pathlib import Path

import pytest

from whywire.engine.answering.inspection import Inspection
from whywire.engine.law import library
from whywire.engine.running import durable, pieces
from whywire.engine.running.chain import World
from whywire.engine.running.job import read_job
from whywire.engine.running.program import program_of

KILN = Path(__file__).resolve().parents[2] / "kb" / "jobs" / "kiln.yaml"
DATA = pieces.written(library.load(examples=False))


def strangers(k, kinds: set) -> list[str]:
    """The rules that were read and the stretches that were emitted though they are about none of
    *kinds*.
    """
    read = [r.id for r in k.rules.values() if "_read" not in r.__dict__ and r.about not in kinds]
    made = [
        str(s)
        for s in program_of(k).emitted().parts()
        if s.runs is not None and s.kind not in kinds
    ]
    return read + made


def kinds_of(job) -> set:
    return {kind for kind, things in job.by_kind.items() if things}


def test_a_job_is_inspected_and_asked_without_a_rule_about_what_it_has_not():
    k = pieces.read(DATA)
    found = Inspection(str(KILN), k)
    kinds = kinds_of(found.job)
    assert sum(r.about not in kinds for r in k.rules.values()) > 200
    found.as_dict()
    found.why("kiln")
    found.why("kiln", "length")
    found.why_not("kiln", "size=8", "AWG")
    found.why_not("kiln", "length=90", "ft")
    assert strangers(k, kinds) == []


@pytest.mark.skipif(not durable.available(), reason="durable-rules does not import here")
def test_the_second_chainer_is_given_no_such_rule_either():
    k = pieces.read(DATA)
    job = read_job(str(KILN), k)
    plain, kinds = World(k, job).run(), kinds_of(job)
    assert durable.agree(k, str(KILN), plain) == []
    (plan,) = program_of(k).plans.values()
    assert {k.rules[node[1]].about for node in plan.nodes.values()} <= kinds
    assert strangers(k, kinds) == []
