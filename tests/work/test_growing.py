"""While sizes are held, nothing shrinks when a job grows: a run gets longer, a box another cable,
a hole another plate. Many circuits in one job, each grown in its own way; 2,000 draws in a whole
run; each circuit is compared with itself, and the job with the job.
"""

import random
from collections import defaultdict
from fractions import Fraction
from typing import Any

import pytest
from as_told import held
from sweeps import SEED, examples

from whywire.engine.work.opening import How, Opened, with_changes
from whywire.engine.work.takeoff import take_off, takes_of
from whywire.engine.work.tasks import ordered

IN_A_JOB = 20  # circuits of one job
DRAWS = 2000


def feet(number: Fraction) -> str:
    return f"{float(number):g} ft"


def circuit(draw: random.Random) -> dict[str, Any]:
    """A circuit of one of the kinds that are taken off."""
    length = Fraction(draw.randint(30, 900), 10)
    boxes = draw.randint(2, 9)
    segment: dict[str, Any] = {"length": feet(length), "location": "dry", "bundle": "none"}
    kind = draw.choice(["along", "holes", "fished", "pipe", "buried", "armored"])
    if kind in ("along", "holes", "fished"):
        segment |= {"method": "NM-B", "place": draw.choice(["basement", "attic", "crawl space"])}
        segment["laid"] = {
            "along": "along framing",
            "holes": "through bored holes",
            "fished": "fished",
        }[kind]
        segment |= {"framing": draw.choice(["wood", "metal"])}
        segment |= {"member spacing": f"{draw.randint(12, 24)} in", "edge distance": "1 in"}
        segment |= {"faces near": draw.choice(["1", "2"])}
    elif kind == "pipe":
        segment |= {"method": "EMT", "trade size": "3/4", "place": "basement"}
        segment |= {"strap spacing": "8 ft", "bends": f"{draw.choice([0, 90, 180, 270])}°"}
    elif kind == "buried":
        segment |= {"method": "UF-B", "place": "underground", "cover": "24 in", "location": "wet"}
    else:
        segment |= {"method": "MC", "place": "basement", "laid": "along framing"}
    size, rating = draw.choice([("12 AWG", "20 A"), ("14 AWG", "15 A")])
    conductors = {"size": size, "material": "copper"}
    if kind == "pipe":
        conductors |= {"insulation": "THWN-2", "EGC size": size, "EGC material": "copper"}
    return {
        "volts": "120 V",
        "length": feet(length),
        "measured": "on the plan",
        "rises": feet(Fraction(draw.randint(0, 120), 10)),
        "more than one receptacle": "yes",
        "boxes entered": str(boxes),
        "load": {"type": "cord-and-plug load", "connection": "cord and plug"},
        "breaker": {"rating": rating},
        "conductors": conductors,
        "receptacle": {"configuration": "5-15" if rating == "15 A" else "5-20", "location": "dry"},
        "segments": [segment],
    }


def longer(told: dict, draw: random.Random) -> dict:
    more = Fraction(draw.randint(1, 400), 10)
    (segment,) = told["segments"]
    length = feet(Fraction(told["length"].split()[0]) + more)
    return {**told, "length": length, "segments": [{**segment, "length": length}]}


def another_box(told: dict, draw: random.Random) -> dict:
    return {**told, "boxes entered": str(int(told["boxes entered"]) + draw.randint(1, 3))}


def another_plate(told: dict, draw: random.Random) -> dict:
    """A hole near both faces, or members closer together."""
    (segment,) = told["segments"]
    if "faces near" not in segment:
        return longer(told, draw)
    inches = int(segment["member spacing"].split()[0])
    closer = f"{max(inches - draw.randint(0, 6), 8)} in"
    return {**told, "segments": [{**segment, "faces near": "2", "member spacing": closer}]}


def higher(told: dict, draw: random.Random) -> dict:
    up = Fraction(told["rises"].split()[0]) + Fraction(draw.randint(1, 90), 10)
    return {**told, "rises": feet(up)}


GROWN = [longer, another_box, another_plate, higher]


def job_of(circuits: dict[str, Any], holes: int = 1) -> dict[str, Any]:
    hole = {"kind": "hole", "member": "bearing or exterior stud", "crosses": "wall plate"}
    return {
        "openings": {f"hole {at}": dict(hole) for at in range(holes)},
        "job": "Outlets along the walls of a pottery",
        "edition": "2023",
        "building": "one-family dwelling",
        "circuits": circuits,
    }


def measured(job: Opened) -> tuple[dict, dict, dict]:
    """Of each circuit how much of each part, and how many minutes; of the job how much of each."""
    off = take_off(job)
    amounts: dict[tuple[str, str], Fraction] = defaultdict(Fraction)
    minutes: dict[str, Fraction] = defaultdict(Fraction)
    for take in takes_of(off):
        assert take.amount >= 0, take
        amounts[".".join(take.of.split(".")[:2]), take.slot] += take.amount
    for task in ordered(job).tasks:
        if task.minutes is not None:
            minutes[".".join(task.of.split(".")[:2])] += task.minutes
    return amounts, minutes, {line.part: line.amount for line in off.lines}


@pytest.mark.sweep
def test_nothing_shrinks_when_a_job_grows():
    draw = random.Random(SEED)
    grew = dict.fromkeys((one.__name__ for one in GROWN), 0)
    draws = max(examples(DRAWS), 4 * IN_A_JOB)
    for _ in range(draws // IN_A_JOB):
        before = {f"run-{at}": circuit(draw) for at in range(IN_A_JOB)}
        kinds = {name: draw.choice(GROWN) for name in before}
        after = {name: kinds[name](told, draw) for name, told in before.items()}
        holes = draw.randint(1, 5)
        was, minutes, lines = measured(held(job_of(before, holes)))
        now, then, all_of_it = measured(held(job_of(after, holes + draw.randint(1, 4))))
        assert was and minutes and all_of_it["sealant tube"] > lines["sealant tube"] > 0
        for (of, slot), amount in was.items():
            name = of.split(".")[-1]
            said = of, slot, kinds.get(name), before.get(name), after.get(name)
            assert now[of, slot] >= amount, said
        for of, spent in minutes.items():
            name = of.split(".")[-1]
            assert then[of] >= spent >= 0, (of, kinds.get(name), before.get(name), after.get(name))
        for part, amount in lines.items():
            assert all_of_it[part] >= amount, part
        for name, kind in kinds.items():
            of = f"circuits.{name}"
            some_more = any(now[key] > was[key] for key in now if key[0] == of)
            grew[kind.__name__] += some_more or then[of] > minutes[of]
    assert all(grew.values()), grew  # each way of growing does make something more


def test_a_job_that_is_held_is_the_job_that_is_opened():
    """What is compared above is what the commands list."""
    from whywire.engine.work.opening import opened

    draw = random.Random(5)
    body = job_of({f"run-{at}": circuit(draw) for at in range(4)})
    job = opened(body, How())
    assert job.mends == []
    assert measured(job) == measured(held(with_changes(body, {})))
