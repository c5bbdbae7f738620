"""README's table of what is looked at and what is not, load by load: the job that it calls right is
RIGHT, the other is NOT RIGHT, both are about that load, and what the table says is not looked at is
what the note of the right one says.
"""

from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

from whywire.engine import inspect
from whywire.engine.front import note_of

ROOT = Path(__file__).resolve().parents[2]
HEADING = "## What is looked at, and what is not"
# what no note of a usual job looks at, said once above the table
EVERYWHERE = {"room outlets", "the house load", "the instructions"}
LOADS = {  # each load of the table -> (kind of thing, fact, values that say it is that load)
    "vehicle receptacle": ("load", "type", {"EV charger"}),
    "wired charger": ("load", "type", {"EV charger"}),
    "range": ("load", "type", {"range"}),
    "dryer": ("load", "type", {"clothes dryer"}),
    "water heater": ("load", "type", {"storage water heater"}),
    "heat pump": ("load", "type", {"heat pump"}),
    "kiln": ("load", "type", {"kiln"}),
    "sauna": ("load", "type", {"sauna"}),
    "hot tub": ("load", "type", {"spa"}),
    "welder": ("load", "type", {"welder"}),
    "compressor": ("load", "type", {"air compressor"}),
    "well pump": ("load", "type", {"well pump"}),
    "generator inlet": ("generator", None, set()),
    "subpanel": ("panel", "building", {"same building as the service"}),
    "detached building": ("panel", "building", {"separate building"}),
    "panel replacement": ("panel as built", None, set()),
    "service replacement": ("service", "work", {"replaced"}),
}


class Row(NamedTuple):
    load: str
    looked_at: str
    not_looked_at: str
    right: str
    not_right: str


@cache
def rows() -> tuple[Row, ...]:
    """The rows of the table."""
    _, after = (ROOT / "README.md").read_text("utf-8").split(HEADING, 1)
    lines = [line for line in after.split("\n## ", 1)[0].splitlines() if line.startswith("| ")]
    return tuple(Row(*(cell.strip() for cell in line.strip("|").split("|"))) for line in lines[1:])


@cache
def inspected(name: str):
    return inspect(ROOT / "kb" / "jobs" / f"{name}.yaml")


def is_about(found, load: str) -> bool:
    """Whether a job has such a load."""
    kind, fact, values = LOADS[load]
    things = found.w.by_kind.get(kind, ())
    if fact is None:
        return bool(things)
    slot = found.k.words.kinds[kind].words[fact].slot
    return any(str(thing[slot]) in values for thing in things)


def test_every_load_of_the_mission_has_its_row():
    assert [row.load for row in rows()] == list(LOADS)
    assert all(row.looked_at for row in rows())


@pytest.mark.parametrize("row", rows(), ids=lambda row: row.load)
def test_one_job_is_right_and_one_is_not(row):
    right, wrong = inspected(row.right), inspected(row.not_right)
    assert right.standing.headline == "RIGHT" and right.exit_code == 0
    assert wrong.standing.headline == "NOT RIGHT" and wrong.exit_code == 1
    assert is_about(right, row.load) and is_about(wrong, row.load)


@pytest.mark.parametrize("row", rows(), ids=lambda row: row.load)
def test_the_table_says_what_the_note_does_not_look_at(row):
    said = set(note_of(inspected(row.right)).not_looked_at) - EVERYWHERE
    assert said == ({row.not_looked_at} - {"-"})
