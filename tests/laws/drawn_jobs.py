"""Jobs that nobody wrote, drawn from a seed: circuits as somebody might describe them with some of
it left out, whole houses with their panel, rooms and a feeder, and any job with a fact or two left
out. Each is a dict, as a file would say it.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from sweeps import SEED

from whywire.engine import Faults, inspect
from whywire.engine.answering.inspection import Inspection
from whywire.engine.basics.reading import read_yaml

ROOT = Path(__file__).resolve().parents[2]
JOBS = sorted((ROOT / "kb" / "jobs").rglob("*.yaml"))
PLACED = sorted((ROOT / "kb" / "places").rglob("jobs/*.yaml"))
EDITIONS = ("2017", "2020", "2023", "2026")
FRAME = ("job", "expect", "edition", "permit date", "place", "packs")  # never left out


def room(path: Path) -> str:
    """Of which kind a shipped job is, for what draws some of every kind: its room; those of places
    are one kind, for a place has one or two.
    """
    return "places" if "places" in path.parts else path.parent.name


def plainly(read: Any) -> Any:
    """What was read of a file, as dicts, lists and text that may be written to."""
    if isinstance(read, dict):
        return {str(k): plainly(v) for k, v in read.items()}
    return [plainly(v) for v in read] if isinstance(read, list) else str(read)


@cache
def body(path: Path) -> dict:
    """What a job's file says, without what must come out."""
    return {
        k: v for k, v in plainly(read_yaml(path.read_text(), path.name)).items() if k != "expect"
    }


def facts_of(part: Any, way: tuple = ()) -> Iterator[tuple]:
    """Where each fact of a job stands that may be left out."""
    for key, value in part.items() if isinstance(part, dict) else enumerate(part):
        if key in FRAME:
            continue
        if isinstance(value, (dict, list)):
            yield from facts_of(value, (*way, key))
        elif isinstance(part, dict):
            yield (*way, key)


def without(job: dict, ways: list[tuple]) -> dict:
    """A job without some of its facts."""
    out = copy.deepcopy(job)
    for *way, last in ways:
        holder: Any = out
        for key in way:
            holder = holder[key]
        holder.pop(last, None)
    return out


def some_left_out(rng: random.Random, job: dict, least: int = 1, most: int = 2) -> dict:
    """A job with a few of its facts left out."""
    ways = sorted(facts_of(job), key=repr)
    return without(job, rng.sample(ways, min(rng.randint(least, most), len(ways))))


# ---- circuits ------------------------------------------------------------------------------------


def in_one(rng: random.Random) -> dict:
    """A circuit as somebody might describe it, its load in one number."""
    segment = {
        "method": rng.choice(["NM-B", "EMT", "UF-B", "PVC 40"]),
        "length": f"{rng.randint(8, 160)} ft",
        "place": rng.choice(["basement", "attic", "garage", "conditioned space", "crawl space"]),
        "location": "dry",
        "bundle": "none",
    }
    return {
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


def a_circuit(rng: random.Random) -> dict:
    """The same, some with a load in two parts, and with up to three facts left out."""
    circuit = in_one(rng)
    if rng.random() < 0.3:  # a load in two parts, whose sum is compared
        amps = {"continuous load": rng.randint(5, 30), "noncontinuous load": rng.randint(3, 20)}
        circuit["load"] |= {"type": "other"} | {part: f"{much} A" for part, much in amps.items()}
        del circuit["load"]["current"]
    return some_left_out(rng, circuit, 0, 3)


def job_of(rng: random.Random, circuits: dict, **more: Any) -> dict:
    return {
        "job": "drawn",
        "edition": rng.choice(EDITIONS),
        "building": "one-family dwelling",
        "circuits": circuits,
        **more,
    }


# ---- houses --------------------------------------------------------------------------------------

ROOMS = ("bedroom", "hallway", "living room", "bathroom", "laundry area", "kitchen countertop")
WIRE = {15: "14 AWG", 20: "12 AWG", 30: "10 AWG", 40: "8 AWG", 50: "6 AWG", 60: "6 AWG"}


def _run(rng: random.Random, method: str = "NM-B") -> list[dict]:
    places = ["basement", "conditioned space", "attic", "crawl space"]
    length = f"{rng.randint(10, 90)} ft"
    return [{"method": method, "length": length, "place": rng.choice(places), "location": "dry"}]


def _lights(rng: random.Random) -> dict:
    rating = rng.choice([15, 20])
    return {
        "volts": "120 V",
        "load": {"type": "lighting", "current": f"{rng.randint(2, 12)} A", "continuous": "no"},
        "breaker": {"rating": f"{rating} A"},
        "conductors": {"size": WIRE[rng.choice([rating, 15])], "material": "copper"},
        "rooms": rng.sample(ROOMS, 2),
        "receptacle": "none",
        "segments": _run(rng),
    }


def _outlets(rng: random.Random) -> dict:
    return {
        "volts": "120 V",
        "load": {"type": "cord-and-plug load", "current": f"{rng.randint(6, 16)} A"},
        "breaker": {"rating": "20 A"},
        "conductors": {"size": rng.choice(["12 AWG", "12 AWG", "14 AWG"]), "material": "copper"},
        "receptacle": {"configuration": "5-20", "places": [rng.choice(ROOMS)]},
        "more than one receptacle": rng.choice(["yes", "no"]),
        "segments": _run(rng),
    }


def _heavy(rng: random.Random) -> dict:
    kind = rng.choice(["range", "clothes dryer", "storage water heater", "kiln", "space heater"])
    rating = rng.choice([30, 40, 50, 60])
    plugged = kind in ("range", "clothes dryer")
    circuit = {
        "volts": "120/240 V" if plugged else "240 V",
        "load": {
            "type": kind,
            "current": f"{rng.randint(rating // 2, rating)} A",
            "connection": "cord and plug" if plugged else "hard-wired",
        },
        "breaker": {"rating": f"{rating} A"},
        "conductors": {"size": WIRE[rng.choice([rating, 30])], "material": "copper"},
        "segments": _run(rng),
    }
    if plugged:
        circuit["receptacle"] = {"configuration": rng.choice(["14-30", "14-50"])}
    return circuit


def _heat_pump(rng: random.Random) -> dict:
    return {
        "volts": "240 V",
        "load": {
            "type": "heat pump",
            "MCA": f"{rng.randint(12, 30)} A",
            "MOCP": f"{rng.choice([30, 40, 50])} A",
            "connection": "hard-wired",
        },
        "breaker": {"rating": f"{rng.choice([30, 40, 50])} A"},
        "conductors": {"size": rng.choice(["10 AWG", "8 AWG"]), "material": "copper"},
        "receptacle": "none",
        "outlet at": "outdoors",
        "segments": _run(rng),
    }


def a_house(rng: random.Random) -> dict:
    """A house with a panel and three to six circuits; of every other one a shop on a feeder."""
    makers = [_lights, _outlets, _heavy, _heavy, _heat_pump]
    circuits = {}
    for number in range(rng.randint(3, 6)):
        circuits[f"c{number}"] = rng.choice(makers)(rng) | {"panel": "main"}
    panels: dict[str, dict] = {"main": {"feeder": "none", "bus rating": "200 A"}}
    if rng.random() < 0.5:
        panels["shop"] = {"feeder": "feeder", "building": "separate building"}
        circuits["feeder"] = {
            "role": "feeder",
            "panel": "main",
            "volts": "120/240 V",
            "length": f"{rng.randint(30, 160)} ft",
            "breaker": {"rating": f"{rng.choice([40, 60, 100])} A"},
            "conductors": {"size": rng.choice(["8 AWG", "6 AWG", "4 AWG"]), "material": "copper"},
            "segments": [
                {
                    "method": "PVC 40",
                    "length": "60 ft",
                    "place": "underground",
                    "location": "wet",
                    "cover": f"{rng.choice([12, 18, 24])} in",
                }
            ],
        }
        for number in range(rng.randint(1, 2)):
            circuits[f"s{number}"] = _heavy(rng) | {"panel": "shop"}
        if rng.random() < 0.5:
            panels["shop"]["all circuits told"] = "yes"
    return job_of(rng, circuits, panels=panels)


# ---- all of them ---------------------------------------------------------------------------------


def drawn(count: int, turn: str, make: Any) -> list[Inspection]:
    """So many jobs that can be read, inspected."""
    rng, out, tries = random.Random(f"{SEED} {turn}"), [], 0
    while len(out) < count:
        tries += 1
        try:
            out.append(inspect(make(rng)))
        except Faults:
            # what is left out may be what a file cannot do without; most can be read
            assert tries < 20 + 3 * count, f"most of what is drawn as {turn} cannot be read"
    return out


def circuits(count: int) -> list[Inspection]:
    """So many random circuits, one to a job."""
    return drawn(count, "circuits", lambda rng: job_of(rng, {"c": a_circuit(rng)}))


def houses(count: int) -> list[Inspection]:
    """So many random houses."""
    return drawn(count, "houses", a_house)


def left_out(count: int) -> list[Inspection]:
    """So many jobs, shipped ones and houses, with a fact or two left out."""

    def one(rng: random.Random) -> dict:
        whole = body(rng.choice(JOBS)) if rng.random() < 0.7 else a_house(rng)
        return some_left_out(rng, whole)

    return drawn(count, "left out", one)
