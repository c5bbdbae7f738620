"""The jobs that the laws of the note are tried on, each inspected and noted once a process: shipped
ones, the same with a fact or two left out, circuits drawn from a seed, and a few scenes.
"""

from __future__ import annotations

import os
import random
from functools import cache
from pathlib import Path

from drawn_jobs import JOBS, PLACED, facts_of, plainly, room, without
from sweeps import examples, tenth

from whywire.engine import Faults, inspect
from whywire.engine.answering.inspection import Inspection
from whywire.engine.answering.note import Note, note_of
from whywire.engine.basics.reading import read_yaml

# WHYWIRE_NOTES=2000 before a release
DRAWS = int(os.environ.get("WHYWIRE_NOTES", 0)) or examples(120)
# those of the shipped jobs that are drawn, some of every room
SHIPPED = tenth([*JOBS, *PLACED], room, "note")


@cache
def body(path: Path) -> dict:
    return plainly(read_yaml(path.read_text(), path.name))


@cache
def shipped(path: Path) -> Inspection:
    return inspect(str(path))


@cache
def note_at(path: Path) -> Note:
    """The note of a shipped job."""
    return note_of(shipped(path))


def a_circuit(rng: random.Random) -> dict:
    """A circuit as somebody might describe it, with some of it left out."""
    method = rng.choice(["NM-B", "EMT", "UF-B", "PVC 40"])
    segment = {
        "method": method,
        "length": f"{rng.randint(8, 160)} ft",
        "place": rng.choice(["basement", "attic", "garage", "conditioned space", "crawl space"]),
        "location": "dry",
        "bundle": "none",
    }
    circuit = {
        "volts": rng.choice(["240 V", "120/240 V"]),
        "load": {
            "type": rng.choice(
                ["kiln", "range", "clothes dryer", "space heater", "sauna", "other"]
            ),
            "current": f"{rng.randint(10, 60)} A",
            "connection": rng.choice(["hard-wired", "cord and plug"]),
        },
        "breaker": {"rating": f"{rng.choice([20, 30, 40, 50, 60])} A"},
        "conductors": {
            "size": f"{rng.choice([14, 12, 10, 8, 6, 4])} AWG",
            "material": rng.choice(["copper", "copper", "aluminum"]),
        },
        "segments": [segment],
    }
    for way in rng.sample(sorted(facts_of(circuit), key=repr), rng.randint(0, 3)):
        circuit = without(circuit, [way])
    return circuit


@cache
def drawn() -> list[tuple[dict, Inspection]]:
    """Jobs with a fact or two left out, and circuits drawn from a seed: what can be read."""
    rng, out = random.Random(12), []
    while len(out) < DRAWS:
        if rng.random() < 0.5:
            circuits = {f"c{n}": a_circuit(rng) for n in range(rng.randint(1, 3))}
            job = {"job": "drawn", "edition": rng.choice(["2017", "2020", "2023", "2026"])}
            job |= {"building": "one-family dwelling", "circuits": circuits}
        else:
            whole = body(rng.choice(JOBS))
            ways = rng.sample(sorted(facts_of(whole), key=repr), rng.randint(1, 2))
            job = {k: v for k, v in without(whole, ways).items() if k != "expect"}
        try:
            out.append((job, inspect(job)))
        except Faults:
            continue
    return out


@cache
def noted() -> list[tuple[str, Inspection, Note]]:
    """(name, inspected, note) of every case."""
    made = [(path.stem, shipped(path), note_at(path)) for path in SHIPPED]
    cases = [(f"draw {n}", found) for n, (_, found) in enumerate(drawn())]
    # in any draw: what is right, what is mended, and what is not looked at
    cases.append(("right", inspect(oven())))
    cases.append(("small", inspect(oven(conductors={"size": "12 AWG", "material": "copper"}))))
    cases.append(("not looked at", inspect(tub() | {"fountain": {"depth": "4 ft"}})))
    return made + [(name, found, note_of(found)) for name, found in cases]


def oven(**more) -> dict:
    """A small oven for a bakery's van, wired in a basement; *more* goes over what is told."""
    circuit = {
        "volts": "240 V",
        "length": "30 ft",
        "load": {"type": "kiln", "current": "30 A", "connection": "hard-wired"},
        "breaker": {"rating": "40 A"},
        "conductors": {"size": "8 AWG", "material": "copper"},
        "receptacle": "none",
        "disconnect": {"kind": "breaker with lock-off", "in sight": "no", "locks open": "yes"},
        "outlet at": "indoors",
        "segments": [{"method": "NM-B", "length": "30 ft", "place": "basement", "location": "dry"}],
    }
    return {
        "job": "test oven",
        "edition": "2023",
        "building": "one-family dwelling",
        "circuits": {"oven": circuit | more},
    }


WALL_RECEPTACLE = {
    "distance": "9 ft",
    "height": "20 in",
    "GFCI": "yes",
    "volts": "120 V",
    "rating": "20 A",
    "feeds alone": "no",
}


def tub() -> dict:
    """A hot tub on a pad: all that is told of it is right."""
    job = oven(load={"type": "spa", "current": "30 A", "connection": "hard-wired"})
    job["circuits"]["oven"] |= {"GFCI protection": "yes", "outlet at": "outdoors"}
    job["circuits"]["oven"]["disconnect"] |= {
        "in sight": "yes",
        "readily accessible": "yes",
        "distance to the water": "6 ft",
    }
    job["circuits"]["oven"]["tub"] = {
        "listed as": "self-contained above ground",
        "manual followed": "yes",
        "sits": "on a pad",
        "rim height": "34 in",
        "nearest metal": "7 ft",
        "lights near": "no",
        "switches near": "no",
        "wires overhead near": "no",
        "receptacles": {"by the door": WALL_RECEPTACLE},
    }
    return job
