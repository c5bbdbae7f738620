"""Telling more never changes or blurs a known answer, unless the fact contradicts what the answer
assumed (decision 3).
"""

import copy
import random
from pathlib import Path

import pytest

from whywire.engine import load
from whywire.engine.basics.errors import Faults
from whywire.engine.basics.reading import read_yaml
from whywire.engine.basics.sentinels import NONE
from whywire.engine.basics.units import Range
from whywire.engine.language.rules import JUDGING
from whywire.engine.proving.graph import Explainer
from whywire.engine.running.chain import OFF, PASSES, TELL, World
from whywire.engine.running.job import read_job

JOBS = sorted((Path(__file__).resolve().parents[2] / "kb" / "jobs").rglob("*.yaml"))
K = load()


def cut(v, rng, share):
    if isinstance(v, dict):
        for k in list(v):
            if isinstance(v[k], (dict, list)):
                cut(v[k], rng, share)
            elif rng.random() < share and str(v[k]) != "none":
                del v[k]
    elif isinstance(v, list):
        for x in v:
            cut(x, rng, share)
    return v


def assumes(w: World, node_of) -> bool:
    """Does an answer rest on a default, a design, or an exception that is not proven?"""
    e = Explainer(w)
    node_of(e)
    for n in e.g.nodes.values():
        if n.kind == "fact" and n.data["origin"] in ("assumed", "designed"):
            return True
        if (
            n.kind == "rule"
            and n.data["answer"] == TELL
            and any(b == n.id and role == "exception" for _, b, role in e.g.edges)
        ):
            return True
    return False


@pytest.mark.parametrize("seed", range(40))
def test_more_facts_never_blur(seed):
    rng = random.Random(seed)
    path = rng.choice(JOBS)
    whole = read_yaml(path.read_text(), path.name)
    whole.pop("expect", None)
    try:
        less = World(K, read_job(cut(copy.deepcopy(whole), rng, 0.25), K)).run()
    except Faults:
        return
    more = World(K, read_job(whole, K)).run()
    compared = 0
    for thing, x in less.things.items():
        y = more.things[thing]
        kind = x[0].kind
        for word in K.words.kinds[kind].words.values():
            a, b = x[word.slot], y[word.slot]
            if (
                word.type[0] in ("ref", "many")
                or a is None
                or isinstance(a, Range)
                or a is NONE
                or a == b
            ):
                compared += a is not None
                continue
            assert (thing, word.name) in more.disputes or assumes(
                less, lambda e, w=word, x=x: e.fact(x, w.name)
            ), f"{word.name} of {thing}: {a} became {b}"
        for r in K.rules.values():
            if r.about == kind and r.verb in JUDGING:
                a, b = less.answer(r, x), more.answer(r, y)
                # met, whether or not it applies
                if a in (TELL, OFF) or a == b or (a, b) == (PASSES, OFF):
                    compared += 1
                    continue
                assert assumes(less, lambda e, r=r, x=x: e.rule(r, x)) or more.disputes, (
                    f"{r.id} on {thing}: {a} became {b}"
                )
    assert compared > 5
