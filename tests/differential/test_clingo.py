"""Both chainers against clingo, which is given the meaning of the rules written a second time
(asp.py).

WHYWIRE_FUZZ=... runs 2,000 programs instead of the few of every day.
"""

import functools
import os
import sys
from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest

from whywire.engine.basics.errors import Faults
from whywire.engine.basics.sentinels import NONE
from whywire.engine.basics.units import Range
from whywire.engine.running import durable
from whywire.engine.running.chain import World
from whywire.engine.running.job import read_job

sys.path.insert(0, str(Path(__file__).parent))
import asp  # noqa: E402

clingo = pytest.importorskip("clingo")
PROGRAMS = 2000 if os.environ.get("WHYWIRE_FUZZ") else 40
BATCH = 20
ANSWERS = {
    "passes": "passes",
    "fails": "fails",
    "tell": "cannot tell",
    "advice": "advice",
    "aside": "exception applies",
    "off": "does not apply",
}


def draw(seed: int):
    for n in range(50):
        p = asp.Program(seed * 100 + n)
        try:
            k = p.knowledge()
            if durable.available():
                durable.plan_of(k)
            return p, k
        except Faults as f:
            assert {x.code for x in f.items} <= {"circle", "durable-limit"}, f
    raise AssertionError("no program without a circle")


def by_clingo(p, body) -> dict:
    """(thing, what) -> value, from the one model of the logic program."""
    control = clingo.Control(["--warn=none"])
    control.add("base", [], "\n".join(asp.Translation(p).out + asp.facts_of(p, body)))
    control.ground([("base", [])])
    models: list = []
    control.solve(on_model=lambda m: models.append(m.symbols(atoms=True)))
    assert len(models) == 1
    cells = {f"c_{kind}_{asp.word(f)}": f for kind, facts in p.facts.items() for f in facts}
    out: dict = {}

    def put(key, value):
        assert key not in out or out[key] == value, f"the logic program gives {key} two values"
        out[key] = value

    for a in models[0]:
        if a.name in cells:
            put((a.arguments[0].string, cells[a.name]), value_of(a.arguments[1]))
        elif a.name == "answer":
            put((a.arguments[1].string, a.arguments[0].string), ANSWERS[a.arguments[2].name])
        elif a.name == "answerr":
            put(
                ("@".join(s.string for s in a.arguments[1].arguments), a.arguments[0].string),
                ANSWERS[a.arguments[2].name],
            )
    return out


@functools.lru_cache(50)
def case(seed: int) -> tuple:
    """The program, its knowledge, its job and what clingo makes of it."""
    p, k = draw(seed)
    body = p.job(seed)
    return p, k, body, by_clingo(p, body)


def value_of(s):
    if s.type is clingo.SymbolType.String:
        return s.string
    if s.name != "iv":
        return {"yes": True, "no": False, "none": "none"}[s.name]
    lo, hi = (None if e.type is clingo.SymbolType.Function else e.number for e in s.arguments)
    return lo if lo == hi else (lo, hi)


def by_chainer(w: World, p) -> dict:
    """The same of a run: known cells, the answer of every requirement on every thing and every row
    tried.
    """
    out = {}
    for kind, facts in p.facts.items():
        for x in w.by_kind[kind]:
            for f, t in facts.items():
                v = x[w.k.words.kinds[kind].words[f].slot]
                if isinstance(v, Range):
                    v = (
                        None
                        if (v.lo, v.hi) == (0, None)
                        else tuple(None if e is None else int(e) for e in (v.lo, v.hi))
                    )
                elif v is NONE:
                    v = "none"
                elif t == "number" and v is not None:
                    assert Fraction(v).denominator == 1
                    v = int(v)
                if v is not None:
                    out[x[0].id, f] = v
    for r in w.k.rules.values():
        if r.verb in ("must", "must not", "should"):
            rows = (
                w.tried.get("size-of-wire", []) if r.about == "wire" and r.verb != "should" else []
            )
            for x in [*w.by_kind[r.about], *rows]:
                out[x[0].id, r.id] = w.answer(r, x)
    return out


@pytest.mark.parametrize("first", range(0, PROGRAMS, BATCH))
def test_random_programs(first):
    for seed in range(first, first + BATCH):
        p, k, body, want = case(seed)
        for chainer in (World, durable.DurableWorld) if durable.available() else (World,):
            got = by_chainer(chainer(k, read_job(body, k)).run(), p)
            assert {
                key: (want.get(key), got.get(key))
                for key in {**want, **got}
                if want.get(key) != got.get(key)
            } == {}, f"program {seed}, {chainer.__name__}: clingo, chainer"


def test_the_random_programs_reach_what_they_are_for():
    seen: Counter = Counter()
    for seed in range(40):
        _, k, _, model = case(seed)
        for (_, what), v in model.items():
            seen[v if what in k.rules else "range" if type(v) is tuple else type(v).__name__] += 1
            seen["picked"] += what == "least size" and v != "none"
    assert all(
        seen[n] >= 2 for n in [*ANSWERS.values(), "range", "int", "bool", "str", "picked"]
    ), seen
