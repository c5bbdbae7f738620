"""Small programs, each with the one way on which a change reaches what it moves."""

import sys
from decimal import Decimal
from pathlib import Path

import pytest

from whywire.engine.basics.errors import Collector
from whywire.engine.language.knowledge import Knowledge, build
from whywire.engine.language.words import Words
from whywire.engine.running.chain import World
from whywire.engine.running.durable import answers_of, cells_of, picked_of
from whywire.engine.running.job import mapping_of, read_job
from whywire.engine.running.rerun import Change, Rerun, tell

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "differential"))
import random_programs as rp  # noqa: E402

WORDS = {
    "job": {"has": {"runs": "many run"}},
    "run": {"has": {"load": "load", "wire": "wire"}},
    "load": {"amps": {"is": "A"}},
    "wire": {
        "size": {"is": "row of sizes"},
        "least size": {"is": "row of sizes"},
        "cap": {"is": "A"},
        "reserve": {"is": "A"},
        "short": {"is": "yes or no"},
    },
}
SIZES = "size,cap\n14 AWG,10\n12 AWG,20\n10 AWG,30\n"
PICK = [
    {"rule": "cap-of-wire", "about": "wire", "gives": {"cap": "cap from sizes by size"}},
    {
        "rule": "size-of-wire",
        "about": "wire",
        "tries": {"size": "from sizes"},
        "picks": "least size",
    },
]
JOB = {"runs": {"one": {"load": {"amps": "15 A"}, "wire": {"short": "no"}}}}
WIRE = "runs.one.wire"


def program(*rules: dict) -> Knowledge:
    """Rules about wires of which the smallest that passes is picked, through the loader."""
    faults, words = Collector(), Words()
    words.read(mapping_of(WORDS), faults)
    (rp.FOLDER / "rerun-sizes.csv").write_text(SIZES)
    table = {
        "table": "sizes",
        "file": "rerun-sizes.csv",
        "keys": {"size": "exact"},
        "values": {"cap": "A"},
    }
    items = [{**item, **rp.ITEM} for item in (table, *PICK, *rules)]
    return build([(mapping_of(d), rp.FOLDER) for d in items], words, [], "2023", faults=faults)


def picked(world: World) -> str | None:
    x = world.things[WIRE]
    return x[world.k.words.kinds["wire"].words["least size"].slot]


def told_and_fresh(k: Knowledge, change: Change) -> tuple[str | None, str | None]:
    """What is picked as the job stands and with *change*: told over the run, and the same as the
    job run anew.
    """
    body = mapping_of(JOB)
    rerun = Rerun(World(k, read_job(body, k)).run())
    before = picked(rerun.world)
    job = read_job(body, k)
    tell(job, [change])
    fresh = World(k, job).run()
    with rerun.told([change]) as w:
        assert picked(w) == picked(fresh)
        assert cells_of(w) == cells_of(fresh)
        assert answers_of(w) == answers_of(fresh)
        assert picked_of(w) == picked_of(fresh)
        after = picked(w)
    assert picked(rerun.world) == before
    return before, after


def test_what_is_designed_for_the_thing_is_that_of_each_row_tried_on_it():
    """A design is made once, for the thing: a row has no rule of its own that would bring it."""
    k = program(
        {"rule": "reserve", "about": "wire", "designs": {"reserve": "amps of load of run"}},
        {"rule": "carries", "about": "wire", "must": "cap >= reserve"},
    )
    assert told_and_fresh(k, ("runs.one.load", "amps", Decimal(25))) == ("12 AWG", "10 AWG")
    assert told_and_fresh(k, ("runs.one.load", "amps", Decimal(5))) == ("12 AWG", "14 AWG")


@pytest.mark.parametrize("verb", [{}, {"must": "cap >= 5 A"}])
def test_a_test_that_is_set_aside_moves_the_size_though_it_answers_as_before(verb):
    """The test has one answer on every row, whether its exception holds or not."""
    k = program(
        {"rule": "carries", "about": "wire", "must": "cap >= amps of load of run"},
        {
            "rule": "short-wire",
            "about": "wire",
            "when": ["short"],
            "exception to": ["carries"],
            **verb,
        },
    )
    assert told_and_fresh(k, (WIRE, "short", True)) == ("12 AWG", "14 AWG")


def test_an_exception_of_an_exception_moves_the_size_as_well():
    k = program(
        {"rule": "carries", "about": "wire", "must": "cap >= amps of load of run"},
        {"rule": "any-wire", "about": "wire", "exception to": ["carries"]},
        {"rule": "long-wire", "about": "wire", "when": ["short"], "exception to": ["any-wire"]},
    )
    assert told_and_fresh(k, (WIRE, "short", True)) == ("14 AWG", "12 AWG")
