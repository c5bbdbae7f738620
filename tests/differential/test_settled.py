"""A run is settled: no rule and no fact comes out otherwise where it is run once more on what the
run left. So nothing was read before it was what it is.
"""

import random
import sys
from pathlib import Path

import pytest

from whywire.engine.basics.errors import Collector, Faults
from whywire.engine.language.knowledge import build
from whywire.engine.language.words import Words
from whywire.engine.running import durable
from whywire.engine.running.chain import World, every_thing
from whywire.engine.running.durable import cells_of
from whywire.engine.running.job import mapping_of, read_job

sys.path.insert(0, str(Path(__file__).parent))
import random_programs as rp  # noqa: E402

WORDS = {
    "job": {"has": {"panels": "many panel", "circuits": "many circuit"}},
    "panel": {
        "feeder": {"is": "upstream link circuit"},
        "fed circuits": {"is": "downstream many circuit", "back": "panel"},
        "far": {"is": "A"},
        # Of two kinds, what is about the one with more facts comes first where nothing is against
        # it: what reads the circuits would be run before them.
        "bus": {"is": "A"},
        "main": {"is": "A"},
        "spaces": {"is": "count"},
        "legs": {"is": "count"},
    },
    "circuit": {
        "panel": {"is": "link panel"},
        "neighbour": {"is": "link circuit"},
        "fed panels": {"is": "downstream many panel", "back": "feeder"},
        "amps": {"is": "A"},
        "far": {"is": "A"},
    },
}
# A main panel feeds a sub-panel by one circuit; each panel has circuits of its own.
JOB = {
    "panels": {"main": {"feeder": "none"}, "sub": {"feeder": "riser"}},
    "circuits": {
        "riser": {"panel": "main", "amps": "1 A"},
        "kiln": {"panel": "sub", "amps": "5 A"},
        "wheel": {"panel": "sub", "amps": "7 A"},
        "lights": {"panel": "main", "amps": "20 A"},
    },
}


def program(**lines: str):
    """Rules that give `far`: of a circuit, and of a panel."""
    faults, words = Collector(), Words()
    words.read(mapping_of(WORDS), faults)
    rules = [
        {"rule": f"far-of-{kind}", "about": kind, "gives": {"far": line}, **rp.ITEM}
        for kind, line in lines.items()
    ]
    return build([(mapping_of(d), rp.FOLDER) for d in rules], words, [], "2023", faults=faults)


def same(one, other) -> bool:
    """Whether two cells are one; things and lists of things by who they are: no rule makes one."""
    if isinstance(one, list) or one is other:
        return one is other
    return type(one) is type(other) and one == other


def unsettled(w: World) -> list[tuple]:
    """The rules and facts that come out otherwise on what the run left."""
    k, out = w.k, []
    for x in every_thing(w):
        meta = x[0]
        for rule in k.rules.values():
            if ("rule", rule.id, meta.plane) in k.order.needs and rule.about == meta.kind:
                before = x[:]
                w.fire(rule, x)
                if not all(map(same, x, before)):
                    out.append((rule.id, meta.id))
                x[:] = before
        for word in k.words.kinds[meta.kind].words.values():
            if not meta.plane and k.order.givers.get((meta.kind, word.name)):
                value = w.settle(meta.kind, word.name, x)[0]
                if not same(value, x[word.slot]):
                    out.append((meta.id, word.name))
    return out


def every_way(k, body) -> World:
    """The run by emitted code, after the general evaluator and durable-rules were found to agree
    with it, and all of them to be settled.
    """
    w = World(k, read_job(body, k)).run()
    others = [World(k, read_job(body, k), fast=False)]
    if durable.available():
        others.append(durable.DurableWorld(k, read_job(body, k)))
    for other in others:
        other.run()
        assert cells_of(other) == cells_of(w)
        assert unsettled(other) == []
    assert unsettled(w) == []
    return w


FROM_THE_LOADS = {
    "circuit": "amps + total far of panel over fed panels",
    "panel": "total far of circuit over fed circuits",
}


def test_what_comes_along_the_feeders_is_reckoned_from_what_hangs_on_each_panel():
    k = program(**FROM_THE_LOADS)
    w = every_way(k, mapping_of(JOB))
    far = {
        name: int(x[k.words.kinds[x[0].kind].words["far"].slot])
        for name, x in w.things.items()
        if x[0].kind in ("circuit", "panel")
    }
    assert far == {
        "panels.main": 33,
        "panels.sub": 12,
        "circuits.riser": 13,
        "circuits.kiln": 5,
        "circuits.wheel": 7,
        "circuits.lights": 20,
    }


@pytest.mark.parametrize(
    "lines",
    [
        # what is climbed to is read at one's own turn too
        {"circuit": "far of feeder of panel + far of neighbour"},
        # up and down in one line
        {
            **FROM_THE_LOADS,
            "circuit": "far of feeder of panel + total far of panel over fed panels",
        },
    ],
)
def test_a_circle_that_closes_beside_the_feeders_is_told(lines):
    with pytest.raises(Faults) as told:
        program(**lines)
    assert {f.code for f in told.value.items} == {"circle"}


@pytest.mark.parametrize("seed", [142, 394, *random.Random(1).sample(range(400), 40)])
def test_random_programs_are_settled(seed):
    p, k = rp.draw(seed)
    every_way(k, mapping_of(p.job(0)))
