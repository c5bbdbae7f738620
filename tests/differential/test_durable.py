"""Both chainers and both evaluators on random knowledge bases and jobs: the same cells, answers,
picks and firings.

WHYWIRE_FUZZ=20000 runs that many programs instead of the few of every day.
"""

import os
import random
import sys
import types
from functools import cache
from pathlib import Path

import pytest
from sweeps import sweep

from whywire.engine.basics.reading import read_yaml
from whywire.engine.language.knowledge import KB
from whywire.engine.law.library import load
from whywire.engine.running import durable
from whywire.engine.running.chain import World
from whywire.engine.running.job import mapping_of, read_job

sys.path.insert(0, str(Path(__file__).parent))
import random_programs as rp  # noqa: E402

pytestmark = pytest.mark.skipif(
    not durable.available(), reason="durable-rules does not import here"
)
PROGRAMS = int(os.environ.get("WHYWIRE_FUZZ", 0)) or 60
BATCH = 20
JOBS_EACH = 2


@pytest.mark.parametrize("first", range(0, PROGRAMS, BATCH))
def test_random_programs(first):
    for seed in range(first, min(first + BATCH, PROGRAMS)):
        p, k = rp.draw(seed)
        for j in range(JOBS_EACH):
            body = mapping_of(p.job(j))
            plain = World(k, read_job(body, k)).run()
            assert durable.agree(k, body, plain) == [], f"program {p.seed}, job {j}"


def test_the_emitted_code_and_the_evaluator_agree_on_random_programs():
    for seed in range(PROGRAMS // 2):
        p, k = rp.draw(seed)
        body = mapping_of(p.job(0))
        one, two = (
            durable.cells_of(World(k, read_job(body, k), fast=fast).run()) for fast in (True, False)
        )
        assert {key: (one[key], two[key]) for key in one if one[key] != two[key]} == {}, (
            f"program {p.seed}: emitted code, evaluator"
        )


def test_the_random_programs_reach_what_they_are_for():
    """Of a few programs: every verb, exceptions that apply, rows picked, disputes, links up and
    down, rules that do not fire.
    """
    answers, verbs, picked, disputes, ways, idle = set(), set(), 0, 0, set(), 0
    for seed in range(50):
        p, k = rp.draw(seed)
        w = durable.DurableWorld(k, read_job(p.job(0), k)).run()
        answers |= set(durable.answers_of(w).values())
        verbs |= {r.verb for r in k.rules.values()}
        picked += sum(row is not None for row, _ in w.picked.values())
        disputes += len(w.disputes)
        ways |= {n[1] for n in k.order.sequence if n[0] == "block"}
        idle += len(durable.answers_of(w)) - w.fired
    assert answers == {
        "passes",
        "fails",
        "cannot tell",
        "advice",
        "does not apply",
        "exception applies",
        "holds",
        "warns",
        "refers",
        "not checked",
    }
    assert verbs == {
        "must",
        "must not",
        "should",
        "gives",
        "reckons",
        "assumes",
        "designs",
        "tries",
        "refers",
        "warns",
        "lacks",
        "exception",
    }
    assert ways == {"up", "down"}
    assert picked > 5 and disputes > 5 and idle > 50


SHIPPED = sorted((KB / "jobs").rglob("*.yaml"))


@sweep("path", SHIPPED, lambda p: p.parent.name, "durable", ids=lambda p: p.stem)
def test_shipped_jobs(path):
    k = knowledge(_edition(path))
    assert durable.agree(k, path) == []


@pytest.mark.parametrize("seed", range(8))
def test_shipped_jobs_with_facts_left_out(seed):
    rng = random.Random(seed)
    path = rng.choice(SHIPPED)
    k = knowledge(_edition(path))
    share = rng.choice([0.1, 0.3, 0.6])

    def cut(v):
        if not isinstance(v, dict):
            return [cut(x) for x in v] if isinstance(v, list) else v
        links = {"panel", "feeder", "fed from", "circuit"}
        return {
            n: cut(x)
            for n, x in v.items()
            if isinstance(x, (dict, list)) or n in links or rng.random() >= share
        }

    assert durable.agree(k, cut(read_yaml(path.read_text(), path.name))) == []


@cache
def knowledge(edition: str):
    return load(edition=edition)


def _edition(path: Path) -> str:
    return str(read_yaml(path.read_text(), path.name).get("edition", "2023"))


# ---- do these tests see a defect? ----------------------------------------------------------------


def _differences(seeds: range) -> int:
    n = 0
    for seed in seeds:
        p, k = rp.draw(seed)
        for j in range(JOBS_EACH):
            try:
                n += bool(durable.agree(k, p.job(j)))
            except durable.DurableError:
                n += 1
    return n


def _no_link_join(monkeypatch):
    real = durable.Pattern.__init__
    monkeypatch.setattr(
        durable.Pattern,
        "__init__",
        lambda self, says, of=None, link=False: real(self, says, 0 if link else of, False),
    )


def _unknown_could_not(monkeypatch):
    real = durable.could
    monkeypatch.setattr(durable, "could", lambda v, test: v is not None and real(v, test))


def _no_rows(monkeypatch):
    monkeypatch.setattr(
        durable.DurableWorld,
        "_enter",
        lambda self, x, cells, kind, plane: None if plane else _ENTER(self, x, cells, kind, plane),
    )


_ENTER = durable.DurableWorld._enter


def _dist(monkeypatch):
    real = durable._library()
    other = types.SimpleNamespace(**vars(real))
    other.create_ruleset = lambda name, text: real.create_ruleset(
        name, text.replace('"dist":0', '"dist":1')
    )
    monkeypatch.setattr(durable, "_library", lambda: other)


@pytest.mark.parametrize(
    "defect",
    [_no_link_join, _unknown_could_not, _no_rows, _dist],
    ids=["links not followed", "unknown taken for no", "tried rows not told", "dist 1"],
)
def test_a_defect_is_seen(defect, monkeypatch):
    defect(monkeypatch)
    assert _differences(range(12)) > 0
