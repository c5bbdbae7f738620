"""The jobs that the laws of the note are tried on, each inspected and noted once a process: shipped
ones, the same with a fact or two left out, circuits drawn from a seed, and a few scenes.
"""

from __future__ import annotations

import os
import random
from functools import cache
from pathlib import Path

from drawn_jobs import JOBS, PLACED, body, in_one, room, some_left_out
from sweeps import examples, tenth

from whywire.engine import Faults, inspect
from whywire.engine.answering.inspection import Inspection
from whywire.engine.answering.note import Note, note_of

# WHYWIRE_NOTES=2000 before a release
DRAWS = int(os.environ.get("WHYWIRE_NOTES", 0)) or examples(120)
# those of the shipped jobs that are drawn, some of every room
SHIPPED = tenth([*JOBS, *PLACED], room, "note")


@cache
def shipped(path: Path) -> Inspection:
    return inspect(str(path))


@cache
def note_at(path: Path) -> Note:
    """The note of a shipped job."""
    return note_of(shipped(path))


@cache
def drawn() -> list[tuple[dict, Inspection]]:
    """Jobs with a fact or two left out, and circuits drawn from a seed: what can be read."""
    rng, out = random.Random(12), []
    while len(out) < DRAWS:
        if rng.random() < 0.5:
            number = rng.randint(1, 3)
            circuits = {f"c{n}": some_left_out(rng, in_one(rng), 0, 3) for n in range(number)}
            job = {"job": "drawn", "edition": rng.choice(["2017", "2020", "2023", "2026"])}
            job |= {"building": "one-family dwelling", "circuits": circuits}
        else:
            job = some_left_out(rng, body(rng.choice(JOBS)))
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
