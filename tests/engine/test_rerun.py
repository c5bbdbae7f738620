"""A run told otherwise is the job run anew with that told: cell by cell, whatever was told and
taken back before.

WHYWIRE_RERUN=1 runs all sequences, a thousand on shipped jobs and 400 on random programs; every day
a hundredth of the first and a tenth of the others, drawn with a seed, are enough.
"""

import os
import random
import sys
from functools import cache
from pathlib import Path

import pytest

from whywire.cli import commands
from whywire.cli.show_answer import show_answer
from whywire.engine import load
from whywire.engine.answering.inspection import Inspection
from whywire.engine.basics.reading import read_yaml
from whywire.engine.basics.sentinels import NONE
from whywire.engine.basics.units import parse_quantity
from whywire.engine.running import durable
from whywire.engine.running.chain import World, every_thing
from whywire.engine.running.durable import answers_of, cells_of, picked_of
from whywire.engine.running.job import mapping_of, read_job
from whywire.engine.running.rerun import LOOKED, Rerun, tell

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "differential"))
import random_programs as rp  # noqa: E402

JOBS = sorted((Path(__file__).resolve().parents[2] / "kb" / "jobs").rglob("*.yaml"))
SEQUENCES = 1_000
PROGRAMS = 400
WHOLE = bool(os.environ.get("WHYWIRE_RERUN"))
KILN = next(path for path in JOBS if path.name == "kiln.yaml")
STEPS = 6
K = load()


# Four circuits as people write them: some of it told, much of it not.
USUAL = [
    {
        "volts": "240 V",
        "length": "40 ft",
        "load": {"type": "kiln", "current": "48 A", "connection": "hard-wired"},
        "breaker": {"rating": "60 A"},
        "conductors": {"size": "6 AWG", "material": "copper", "insulation": "THHN"},
        "segments": [{"method": "EMT", "length": "40 ft", "place": "basement", "location": "dry"}],
    },
    {
        "volts": "120/240 V",
        "load": {"type": "range", "power": "11.1 kW", "connection": "cord and plug"},
        "breaker": {"rating": "40 A"},
        "conductors": {"size": "10 AWG", "material": "copper"},
        "segments": [{"method": "EMT", "length": "35 ft"}],
    },
    {
        "volts": "240 V",
        "length": "60 ft",
        "load": {"type": "air compressor", "horsepower": "5 hp", "connection": "hard-wired"},
        "breaker": {"rating": "50 A"},
        "conductors": {"size": "10 AWG", "material": "copper"},
        "segments": [{"method": "NM-B", "length": "60 ft", "place": "garage"}],
    },
    {
        "volts": "120/240 V",
        "load": {"type": "dryer", "power": "5.6 kW"},
        "breaker": {"rating": "30 A"},
        "conductors": {"size": "12 AWG", "material": "copper"},
        "segments": [{"method": "NM-B", "length": "30 ft", "bundle": "none"}],
        "receptacle": {"configuration": "14-30"},
    },
]


def house(circuits: int, first: int = 0):
    """A house of so many circuits with usual gaps: c0, c1 ..."""
    return mapping_of(
        {
            "building": "one-family dwelling",
            "circuits": {f"c{i}": USUAL[i % 4] for i in range(first, first + circuits)},
        }
    )


@cache
def body(path: Path):
    return read_yaml(path.read_text(), path.name)


def state(w: World) -> dict:
    """Everything that a run leaves: cells of things and of rows tried, answers, picks, disputes,
    what is told.
    """
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


def share(seeds: range, of: int) -> list[int]:
    """All of *seeds*, or every day one in *of*, always the same."""
    return [*seeds] if WHOLE else random.Random(seeds.start).sample(seeds, len(seeds) // of)


@pytest.mark.parametrize("part", range(10))
def test_any_sequence_of_told_taken_back_and_undone_is_a_fresh_run(part):
    for seed in share(range(part, SEQUENCES, 10), 100):
        path = JOBS[seed % len(JOBS)]
        walked(K, body(path), path.name, random.Random(seed))


def test_what_is_told_for_a_while_is_put_back_whatever_happens_meanwhile():
    rerun = Rerun(World(K, read_job(body(KILN), K, "kiln")).run())
    first, told = state(rerun.world), [("circuits.kiln.conductors", "size", "4 AWG")]
    with pytest.raises(ZeroDivisionError), rerun.told(told) as w:
        assert w.things["circuits.kiln.conductors"][0].told["size"] == "4 AWG"
        changed = state(w)
        with rerun.told() as base:
            assert differences(state(base), first) == []
        with rerun.told([("circuits.kiln", "length", None)]):
            assert rerun.changed
        assert differences(state(w), changed) == []
        raise ZeroDivisionError
    assert differences(state(rerun.world), first) == [] and not rerun.changed
    with rerun.told(told) as w:  # kept, and not run again
        assert differences(state(w), changed) == []
    with pytest.raises(ValueError, match="is a part of it"):
        rerun.change(
            [("circuits.kiln.conductors", "size", "2 AWG"), ("circuits.kiln", "load", NONE)]
        )
    assert differences(state(rerun.world), first) == []


def test_a_link_that_leads_elsewhere_is_a_fresh_run():
    """A cable taken out of a crowded hole: the job is written so, and run from the beginning."""
    path = next(path for path in JOBS if path.stem == "five-cables-in-a-foamed-hole")
    rerun = Rerun(World(K, read_job(body(path), K, "holes")).run())
    first, things = state(rerun.world), rerun.world.things
    runs, circuits = (
        things["bundles.hole"][K.words.kinds["bundle"].words[name].slot]
        for name in ("runs", "circuits")
    )
    out = [
        ("circuits.e.segments.1", "bundle", NONE),
        ("bundles.hole", "runs", type(runs)(runs[:-1])),
        ("bundles.hole", "circuits", type(circuits)(circuits[:-1])),
    ]
    written = plain(body(path))
    written["bundles"]["hole"]["circuits"].remove("e")
    written["circuits"]["e"]["segments"][0]["bundle"] = "none"
    with rerun.told(out) as w:
        fresh = World(K, read_job(mapping_of(written), K, "holes")).run()
        assert differences(state(w), state(fresh)) == []
        assert not any(key[0] == "circuits.a.conductors" for key in w.disputes)
    assert differences(state(rerun.world), first) == [] and not rerun.changed


def plain(v):
    if isinstance(v, dict):
        return {str(k): plain(x) for k, x in v.items()}
    return [plain(x) for x in v] if isinstance(v, list) else str(v)


def test_a_row_that_comes_back_is_the_same_row():
    rerun = Rerun(World(K, read_job(body(KILN), K, "kiln")).run())
    rows = rerun.world.rows_of["minimum-size", "circuits.kiln.conductors"]
    with rerun.told([("circuits.kiln.conductors", "material", "aluminum")]) as w:
        other = w.rows_of["minimum-size", "circuits.kiln.conductors"]
        assert {y[0].row for y in other} != {y[0].row for y in rows}
        assert all(y in rows for y in other if y[0].row in {z[0].row for z in rows})
    assert rerun.world.rows_of["minimum-size", "circuits.kiln.conductors"] is rows


def test_one_changed_fact_costs_what_it_moves():
    """Of a house of twelve circuits: every yes-or-no and every choice told once. Work is counted,
    and no clock.
    """
    rerun = Rerun(World(K, read_job(house(12), K)).run())
    settled = moved = 0
    for x in rerun.world.things.values():
        for word in K.words.kinds[x[0].kind].words.values():
            if word.type[0] in ("flag", "choice"):
                value = True if word.type[0] == "flag" else word.type[1][0]
                branch = rerun.change([(x[0].id, word.name, value)])
                settled, moved = settled + branch.settled, moved + len(branch.cells)
                rerun.undo()
    assert moved > 10_000
    assert settled <= 3 * moved


def test_each_finding_of_a_circuit_among_forty_is_that_of_the_circuit_alone():
    """What could turn it and what it waits for too: no search ends because the file is large."""
    many = Inspection(house(40), K).findings
    for i in (0, 1, 2, 3, 36, 39):
        name = f"circuits.c{i}"
        alone = [f.as_dict() for f in Inspection(house(1, i), K).findings if of(f, name)]
        among = [f.as_dict() for f in many if of(f, name)]
        assert alone and among == alone, name
    turned = {f.on.split(".")[1] for f in many if any("assumed" in u for u in f.unless)}
    assert turned == {f"c{i}" for i in range(0, 40, 4)}, "of each kiln the same default is unread"


def of(finding, name: str) -> bool:
    return finding.on == name or finding.on.startswith(name + ".")


def test_the_second_chainer_confirms_or_the_answer_says_that_it_did_not():
    small, large = Inspection(house(1), K, "fitting"), Inspection(house(40), K, "fitting")
    got = commands.answer(large, "why", ["c0"])
    assert large.chainer == "plain" and "331 things" in got.chained
    assert "alone" in "".join(text for line in show_answer(got) for text, _ in line)
    if durable.available():
        assert small.chainer == "both" and commands.answer(small, "why", ["c0"]).chained == ""


@pytest.mark.parametrize("part", range(4))
def test_the_same_of_random_programs(part):
    for seed in share(range(part, PROGRAMS, 4), 10):
        p, k = rp.draw(seed)
        walked(k, mapping_of(p.job(0)), f"program {p.seed}", random.Random(seed))


def test_a_flag_that_an_exception_of_a_test_reads_moves_the_picked_sizes_as_a_fresh_run_does():
    """On shipped jobs, where such a flag may move much else on the way; that the exception alone is
    enough is shown by small programs (test_rerun_programs.py).
    """
    asides = {
        e.id for p in K.order.tests.values() for t in p for e in K.order.exceptions.get(t.id, ())
    }
    moved = 0
    for name in ("welder-and-compressor.yaml", "well-pump.yaml", "kiln.yaml"):
        path = next(path for path in JOBS if path.name == name)
        rerun = Rerun(World(K, read_job(body(path), K, name)).run())
        first = picked_of(rerun.world)
        for x in rerun.world.things.values():
            for word in K.words.kinds[x[0].kind].words.values():
                read = K.order.readers.get((x[0].kind, word.name), set())
                if word.type[0] != "flag" or not read & asides:
                    continue
                change = [(x[0].id, word.name, True)]
                job = read_job(body(path), K, name)
                tell(job, change)
                with rerun.told(change) as w:
                    fresh = World(K, job).run()
                    assert differences(state(w), state(fresh)) == [], (name, change)
                    moved += picked_of(w) != first
    assert moved


def test_a_row_that_is_gone_is_in_no_dispute():
    p, k = rp.draw(348)
    body_, change = mapping_of(p.job(0)), [("runs.rb.wire", "metal", None)]
    rerun, job = Rerun(World(k, read_job(body_, k)).run()), read_job(body_, k)
    assert any("@" in thing for thing, _ in rerun.world.disputes)
    tell(job, change)
    with rerun.told(change) as w:
        assert differences(state(w), state(World(k, job).run())) == []
