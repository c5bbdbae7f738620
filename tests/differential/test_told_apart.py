"""Where the two chainers leave anything otherwise it is told: a cell, an answer, a row picked."""

from pathlib import Path

import pytest

from whywire.engine import load
from whywire.engine.basics.reading import read_yaml
from whywire.engine.running import durable
from whywire.engine.running.chain import FAILS, PASSES, World
from whywire.engine.running.job import read_job

pytestmark = pytest.mark.skipif(
    not durable.available(), reason="durable-rules does not import here"
)
KILN = Path(__file__).resolve().parents[2] / "kb" / "jobs" / "kiln.yaml"
WIRES = "circuits.kiln.conductors"


@pytest.fixture
def run():
    k = load()
    body = read_yaml(KILN.read_text(), KILN.name)
    return k, body, World(k, read_job(body, k)).run()


def test_what_is_the_same_is_no_difference(run):
    k, body, world = run
    assert durable.agree(k, body, world) == []


def test_a_fact_is_told_apart(run):
    k, body, world = run
    slot = k.words.kinds["conductors"].words["minimum size"].slot
    world.things[WIRES][slot] = "1 AWG"
    (told,) = durable.agree(k, body, world)
    assert told.startswith(f"cells of ('{WIRES}', '', {slot}): '1 AWG' by the plain chainer")


def test_an_answer_is_told_apart(run):
    k, body, world = run
    slot = k.slots["conductor-125-percent"]
    assert world.things[WIRES][slot] == FAILS
    world.things[WIRES][slot] = PASSES
    told = durable.agree(k, body, world)
    assert [line.split(" of ")[0] for line in told] == ["cells", "answers"]


def test_a_row_that_was_tried_is_told_apart(run):
    k, body, world = run
    rows = next(rows for rows in world.tried.values() if rows and rows[0][0].kind == "conductors")
    slot = k.slots["conductor-125-percent"]
    rows[0][slot] = None
    assert any(rows[0][0].id in line for line in durable.agree(k, body, world))


def test_a_thing_of_one_chainer_alone_is_told(run):
    k, body, world = run
    rows = next(rows for rows in world.tried.values() if rows)
    gone = rows.pop()
    assert any(
        gone[0].id in line and "one chainer only" in line for line in durable.agree(k, body, world)
    )
