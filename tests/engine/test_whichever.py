"""A requirement that passes whatever the one untold fact is, passes; and nothing does that one of
its values would fail.
"""

import copy
import random
from pathlib import Path

import pytest

from whywire.engine import inspect, opened
from whywire.engine.answering.inspection import Inspection

JOBS = sorted((Path(__file__).resolve().parents[2] / "kb" / "jobs").rglob("*.yaml"))
CABLE = {
    "method": "NM-B",
    "length": "40 ft",
    "place": "basement",
    "location": "dry",
    "bundle": "none",
}


def saw(current: str, size: str = "6 AWG", breaker: str = "40 A"):
    """A load of which nobody says whether it runs for hours; 6 AWG copper NM-B is 55 A in the 60 °C
    column (Table 310.16).
    """
    return inspect(
        {
            "job": "shop",
            "edition": "2023",
            "circuits": {
                "saw": {
                    "volts": "240 V",
                    "length": "40 ft",
                    "load": {"type": "other", "current": current, "motor operated": "no"},
                    "breaker": {"rating": breaker},
                    "conductors": {"size": size, "material": "copper"},
                    "segments": [CABLE],
                }
            },
        }
    )


def finding(i, rule):
    return next(f for f in i.findings if f.rule == rule)


@pytest.mark.parametrize(
    ("current", "answer"),
    [
        ("30 A", "passes"),
        ("44 A", "passes"),
        ("44.1 A", "cannot tell"),
        ("55 A", "cannot tell"),
        ("56 A", "cannot tell"),
    ],
)
def test_wire_that_carries_a_load_of_hours_carries_one_of_minutes(current, answer):
    """210.19(A)(1): 125 % of 44 A is 55 A, exactly what the wire has. Over 55 A both fail; what
    fails for whichever reason is still asked about.
    """
    i = saw(current, breaker="60 A")
    f = finding(i, "conductor-125-percent")
    assert (f.answer, f.whichever) == (
        answer,
        "continuous of circuits.saw.load" if answer == "passes" else "",
    )
    got = i.why("saw", "conductor-125-percent")
    assert (got.word == "YES.") == (answer == "passes")
    if answer == "passes":
        assert got.sentence.startswith(
            "It passes either way: Can it run at full draw for three hours"
        )
        assert {r.label for r in got.rows} >= {"If yes", "If no"} and not any(
            r.label == "Look" for r in got.rows
        )
        assert f.as_dict()["whichever"] == f.whichever and not f.as_dict()["needs"]


def leaves(v, path=()):
    if isinstance(v, dict):
        for k, x in v.items():
            yield from leaves(x, (*path, k))
    elif not isinstance(v, list):
        yield path, v


def other(body, path, value=None):
    """*body* with another value at the end of *path*, or without it."""
    b = copy.deepcopy(body)
    inside = b
    for p in path[:-1]:
        inside = inside[p]
    if value is None:
        del inside[path[-1]]
    else:
        inside[path[-1]] = value
    return b


@pytest.mark.parametrize("path", JOBS[::4], ids=lambda p: p.stem)
def test_whatever_is_left_out_each_of_its_values_passes(path):
    body, force, k = opened(path)
    few = {
        w.name: ("yes", "no") if w.type[0] == "flag" else w.type[1]
        for kind in k.words.kinds.values()
        for w in kind.words.values()
        if w.type[0] == "flag" or w.type[0] == "choice" and len(w.type[1]) <= 4
    }
    told = [p for p, v in leaves(body) if str(p[-1]) in few and str(v) in few[str(p[-1])]]
    random.Random(path.stem).shuffle(told)
    for at in told[:4]:
        i = Inspection(other(body, at), k, force=force)
        found = [
            f for f in i.findings if f.whichever and f.whichever.split(" of ")[0] == str(at[-1])
        ]
        runs = (
            [Inspection(other(body, at, v), k, force=force) for v in few[str(at[-1])]]
            if found
            else []
        )
        for f in found:
            assert {run.w.answer(k.rules[f.rule], run.w.things[f.on]) for run in runs} <= {
                "passes",
                "exception applies",
            }, f.rule
            assert i.why(f.on, f.rule).word == "YES."
