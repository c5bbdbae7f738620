"""Telling more never changes or blurs a known answer, unless the fact contradicts what the answer
assumed (decision 3).
"""

import copy
import random
from fractions import Fraction
from pathlib import Path

import pytest

from whywire.engine import load
from whywire.engine.basics.errors import Faults
from whywire.engine.basics.reading import read_yaml
from whywire.engine.basics.sentinels import NONE
from whywire.engine.basics.units import Range
from whywire.engine.language.rules import JUDGING
from whywire.engine.proving.graph import Explainer
from whywire.engine.running.chain import OFF, PASSES, SET_ASIDE, TELL, World
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
                # met: by itself, by an exception, or because it does not apply
                met = a in (PASSES, SET_ASIDE) and b in (PASSES, SET_ASIDE, OFF)
                if a in (TELL, OFF) or a == b or met:
                    compared += 1
                    continue
                assert assumes(less, lambda e, r=r, x=x: e.rule(r, x)) or more.disputes, (
                    f"{r.id} on {thing}: {a} became {b}"
                )
    assert compared > 5


@pytest.mark.parametrize(
    "panel, poles",
    [
        # where the feeder of the shop starts, nobody said: at the house's panel it takes two poles
        ({}, (None, Fraction(0))),
        ({"panel": "house"}, (Fraction(2), Fraction(0))),
        ({"panel": "none"}, (Fraction(0), Fraction(0))),
    ],
    ids=["not told", "at the house", "at the service"],
)
def test_what_nobody_hung_may_hang_on_what_does_not_hang_on_it(panel, poles):
    """A feeder whose start is not told may start at any panel but the one it feeds."""
    feeder = {"role": "feeder", "volts": "120/240 V", "work": "new circuit", **panel}
    job = {
        "job": "a shop behind a house",
        "edition": "2023",
        "panels": {"house": {"feeder": "none"}, "shop": {"feeder": "shop feeder"}},
        "circuits": {"shop feeder": feeder},
    }
    things = World(K, read_job(job, K)).run().things
    slot = K.words.kinds["panel"].words["new poles"].slot
    assert (things["panels.house"][slot], things["panels.shop"][slot]) == poles


def test_what_a_panel_hangs_on_by_way_of_another_is_not_fed_by_it():
    """The main feeder is above the house's panel and, by way of the shop's feeder, the shop's."""
    feeder = {"role": "feeder", "volts": "120/240 V", "work": "new circuit"}
    job = {
        "job": "a shop behind a house",
        "edition": "2023",
        "panels": {"house": {"feeder": "main feeder"}, "shop": {"feeder": "shop feeder"}},
        "circuits": {"main feeder": feeder, "shop feeder": {**feeder, "panel": "house"}},
    }
    things = World(K, read_job(job, K)).run().things
    slot = K.words.kinds["panel"].words["new poles"].slot
    assert (things["panels.house"][slot], things["panels.shop"][slot]) == (2, 0)
    del job["circuits"]["shop feeder"]["panel"]  # either may start at the other's panel
    things = World(K, read_job(job, K)).run().things
    assert things["panels.house"][slot] is None and things["panels.shop"][slot] is None
