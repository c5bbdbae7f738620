"""The order of files, of rules, of words and of what a person wrote changes nothing in what comes
out.
"""

import json
import random
import sys
from fractions import Fraction
from pathlib import Path

import pytest
from sweeps import sweep

from whywire.engine.answering.inspection import Inspection
from whywire.engine.basics.reading import Items, Mapping, read_yaml
from whywire.engine.basics.units import Range
from whywire.engine.language.things import Members, members
from whywire.engine.law import library as kn
from whywire.engine.running.chain import World, every_thing
from whywire.engine.running.job import read_job

sys.path.insert(0, str(Path(__file__).parent))
import random_programs as rp  # noqa: E402

SHIPPED = sorted((kn.KB / "jobs").rglob("*.yaml"))


def exact(v):
    """A cell as text that does not depend on how the number was reached."""
    if isinstance(v, Members):
        return [v.open, sorted(y[0].id for y in members(v))]
    if isinstance(v, list):
        return v[0].id
    if isinstance(v, Range):
        return [exact(v.lo), exact(v.hi)]
    if v is None or isinstance(v, (bool, str)):
        return v
    return repr(v) if not hasattr(v, "as_integer_ratio") else str(Fraction(v))


def canonical(w: World) -> str:
    """Everything a run concludes, by name, as one line of JSON with sorted keys."""
    k, out = w.k, {}
    for x in every_thing(w):
        m = x[0]
        cells = {n: exact(x[word.slot]) for n, word in k.words.kinds[m.kind].words.items()}
        answers = {
            r.id: w.answer(r, x)
            for r in k.rules.values()
            if r.about == m.kind and r.verb != "tries" and ("rule", r.id, m.plane) in k.order.needs
        }
        out[f"{m.id}?{m.plane}"] = [cells, answers]
    picked = {
        f"{p} {t}": [row and row[0].id, [y[0].id for y in waiting]]
        for (p, t), (row, waiting) in w.picked.items()
    }
    return json.dumps([out, picked, sorted(map(list, w.disputes)), k.digest], sort_keys=True)


@pytest.mark.parametrize("first", range(0, 20, 10))
def test_random_programs(first):
    for seed in range(first, first + 10):
        p, k = rp.draw(seed)
        for j in range(2):
            body = p.job(j)
            want = canonical(World(k, read_job(body, k)).run())
            for again in range(2):
                rng = random.Random(f"{seed} {j} {again}")
                other = p.items(rng)
                assert (
                    canonical(World(other, read_job(rp.shuffled(body, rng), other)).run()) == want
                ), f"program {p.seed}, job {j}"


def mixed(v, rng: random.Random):
    """A job as read, its mappings in another order; lists are numbered by their order, and stay."""
    if isinstance(v, dict):
        keys = list(v)
        rng.shuffle(keys)
        keys.sort(key=lambda k: k != "has")  # what is asked about a part stands after the part
        out = Mapping((k, mixed(v[k], rng)) for k in keys)
    elif isinstance(v, list):
        out = Items(mixed(x, rng) for x in v)
    else:
        return v
    out.at = v.at
    return out


def sorted_through(v):
    """Plain data with every list in one order."""
    if isinstance(v, dict):
        return {k: sorted_through(x) for k, x in v.items()}
    if isinstance(v, (list, tuple)):
        return sorted(
            (sorted_through(x) for x in v), key=lambda x: json.dumps(x, sort_keys=True, default=str)
        )
    return v


@pytest.fixture(scope="module")
def packs_in_another_order():
    """The base pack with its files, the items of each file and the facts of each kind of thing in
    another order.
    """
    rng = random.Random(4)
    with pytest.MonkeyPatch.context() as m:
        files, reader = kn.pack_files, kn.read_yaml
        m.setattr(kn, "pack_files", lambda folder: rng.sample(found := files(folder), len(found)))

        def read(text, name):
            body = reader(text, name)
            if isinstance(body, list):
                rng.shuffle(body)
            elif isinstance(body, dict) and "words" in body:
                return mixed(body, rng)
            return body

        m.setattr(kn, "read_yaml", read)
        return kn.load()


@pytest.fixture(scope="module")
def packs():
    return kn.load()


def test_digest_of_packs(packs_in_another_order, packs):
    k = packs
    assert list(packs_in_another_order.words.kinds) != list(k.words.kinds), "nothing was mixed"
    assert packs_in_another_order.digest == k.digest
    assert packs_in_another_order.order.sequence == k.order.sequence


@sweep("path", SHIPPED, lambda p: p.parent.name, "order", ids=lambda p: p.stem)
def test_shipped_jobs(path, packs_in_another_order, packs):
    def plainly(k, body):
        found = Inspection(body, k)
        return canonical(found.w), json.dumps(
            sorted_through(found.as_dict()), sort_keys=True, default=str
        )

    body = read_yaml(path.read_text(), path.name)
    assert plainly(packs_in_another_order, mixed(body, random.Random(5))) == plainly(packs, body)
