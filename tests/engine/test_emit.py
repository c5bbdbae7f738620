"""The emitted code and the general evaluator never answer differently, however much of a job is
told.
"""

import copy
import random
from pathlib import Path

from known import known
from sweeps import sweep

from whywire.engine.basics.errors import Faults
from whywire.engine.basics.reading import read_yaml
from whywire.engine.language.things import members
from whywire.engine.running.chain import World, every_thing
from whywire.engine.running.job import read_job

JOBS = sorted((Path(__file__).resolve().parents[2] / "kb" / "jobs").rglob("*.yaml"))
K = known()


def plainly(v):
    if isinstance(v, list):
        return v[0].id if v and type(v) is list else [y[0].id for y in members(v)]
    return v


def state(w: World) -> dict:
    """Every cell of every thing, tried rows and rules' slots too."""
    return {(x[0].id, x[0].plane): [plainly(v) for v in x[1:]] for x in every_thing(w)}


def both_ways(body) -> tuple[dict, dict, World]:
    fast = World(K, read_job(body, K)).run()
    slow = World(K, read_job(body, K), fast=False).run()
    return state(fast), state(slow), fast


@sweep("path", JOBS, lambda p: p.parent.name, "emit", ids=lambda p: p.stem)
def test_shipped_jobs(path):
    a, b, w = both_ways(read_yaml(path.read_text(), path.name))
    assert a == b
    assert w.bailed < w.fired, "the emitted code answered nothing"


def test_most_instances_of_a_told_job_need_no_general_evaluator():
    path = next(p for p in JOBS if p.stem == "kiln")
    _, _, w = both_ways(read_yaml(path.read_text(), path.name))
    assert w.bailed < w.fired / 4


def cut(v, rng: random.Random, share: float):
    """A job with some of its facts left out."""
    if isinstance(v, dict):
        for k in list(v):
            if isinstance(v[k], (dict, list)):
                cut(v[k], rng, share)
            elif rng.random() < share:
                del v[k]
    elif isinstance(v, list):
        for x in v:
            cut(x, rng, share)
    return v


@sweep("seed", range(60))
def test_with_facts_left_out(seed):
    rng = random.Random(seed)
    path = rng.choice(JOBS)
    body = cut(
        copy.deepcopy(read_yaml(path.read_text(), path.name)), rng, rng.choice((0.1, 0.3, 0.6))
    )
    try:
        a, b, _ = both_ways(body)
    except Faults:  # leaving a line out can leave a name without its thing
        return
    assert a == b
