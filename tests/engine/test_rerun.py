"""A run told otherwise is the job run anew with that told: cell by cell, whatever was told and taken back before.

WHYWIRE_RERUN=1 runs all sequences on shipped jobs; every day a tenth of them, drawn with a seed, is enough.
"""

import os
import random
import sys
from functools import cache
from pathlib import Path

import pytest

from whywire.engine import load
from whywire.engine.basics.reading import read_yaml
from whywire.engine.basics.units import parse_quantity
from whywire.engine.running.chain import World, every_thing
from whywire.engine.running.durable import answers_of, cells_of, picked_of
from whywire.engine.running.job import mapping_of, read_job
from whywire.engine.running.rerun import LOOKED, Rerun, tell

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "differential"))
import random_programs as rp  # noqa: E402

JOBS = sorted((Path(__file__).resolve().parents[2] / "kb" / "jobs").rglob("*.yaml"))
SEQUENCES = 1_000
EVERY = 1 if os.environ.get("WHYWIRE_RERUN") else 10
PROGRAMS = 40
STEPS = 6
K = load()


@cache
def body(path: Path):
    return read_yaml(path.read_text(), path.name)


def state(w: World) -> dict:
    """Everything that a run leaves: cells of things and of rows tried, answers, picks, disputes, what is told."""
    told = {
        (x[0].id, x[0].plane, fact): repr(v) if not isinstance(v, list) else ""
        for x in every_thing(w)
        for fact, v in x[0].told.items()
    }
    looked = {x[0].id: sorted(x[0].looked) for x in every_thing(w)}
    return {
        "cells": cells_of(w),
        "answers": answers_of(w),
        "picked": picked_of(w),
        "disputes": set(w.disputes),
        "rows": {pick: [x[0].id for x in rows] for pick, rows in w.tried.items()},
        "told": told,
        "looked": looked,
    }


def differences(one: dict, two: dict) -> list:
    out = []
    for part in one:
        if one[part] != two[part]:
            a, b = one[part], two[part]
            if isinstance(a, dict):
                out += [
                    (part, key, a.get(key), b.get(key))
                    for key in {**a, **b}
                    if a.get(key) != b.get(key)
                ][:5]
            else:
                out.append((part, a ^ b))
    return out


def values(k, word, rng: random.Random):
    """A value that a fact may have; None where one cannot be drawn."""
    sort = word.type[0]
    if sort == "flag":
        return rng.random() < 0.5
    if sort == "choice":
        return rng.choice(word.type[1])
    if sort == "row":
        table = k.tables[word.type[1]]
        return rng.choice(
            [*table.order("size" if "size" in table.keys else next(iter(table.keys)))]
        )
    if sort == "q":
        return (
            parse_quantity(
                f"{rng.choice((0, 1, 2, 5, 12, 20, 24, 48, 60, 120, 240))} {word.unit}", word.unit
            )[0]
            if word.unit not in ("date", "count", "°")
            else None
        )
    return None


def drawn(k, w: World, rng: random.Random) -> tuple:
    """One change: a fact set, unset, or looked for."""
    while True:
        kind = rng.choice([kind for kind, xs in w.by_kind.items() if xs])
        x = rng.choice(w.by_kind[kind])
        word = rng.choice([*k.words.kinds[kind].words.values()])
        if word.type[0] in ("ref", "many", "text"):
            continue
        if rng.random() < 0.25 and word.name in x[0].told:
            return x[0].id, word.name, None
        if rng.random() < 0.1:
            return x[0].id, word.name, LOOKED
        v = values(k, word, rng)
        if v is not None and (k.order.readers.get((kind, word.name)) or rng.random() < 0.1):
            return x[0].id, word.name, v


def walked(k, body_, name: str, rng: random.Random) -> None:
    """Set, unset and undo in turn, and compare with a fresh run each time."""
    rerun = Rerun(World(k, read_job(body_, k, name)).run())
    first, made = state(rerun.world), []
    for _ in range(STEPS):
        if made and rng.random() < 0.3:
            rerun.undo()
            made.pop()
        else:
            changes = [drawn(k, rerun.world, rng) for _ in range(rng.choice((1, 1, 2)))]
            rerun.change(changes)
            made.append(changes)
        job = read_job(body_, k, name)
        for changes in made:
            tell(job, changes)
        assert differences(state(rerun.world), state(World(k, job).run())) == [], (name, made)
    rerun.undo_all()
    assert differences(state(rerun.world), first) == [], (name, "undone")


@pytest.mark.parametrize("part", range(10))
def test_any_sequence_of_told_taken_back_and_undone_is_a_fresh_run(part):
    for seed in range(part, SEQUENCES, 10 * EVERY):
        path = JOBS[seed % len(JOBS)]
        walked(K, body(path), path.name, random.Random(seed))


@pytest.mark.parametrize("part", range(4))
def test_the_same_of_random_programs(part):
    for seed in range(part, PROGRAMS * (10 // EVERY), 4):
        p, k = rp.draw(seed)
        walked(k, mapping_of(p.job(0)), f"program {p.seed}", random.Random(seed))
