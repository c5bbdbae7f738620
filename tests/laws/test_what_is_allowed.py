"""What an exception allows where it could hurt is said, and nothing else; each circuit's own word
stands beside something that is not looked at; and no note cuts a word off.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from sweeps import tenth

from whywire.cli.layout import plain
from whywire.cli.show_note import show_note
from whywire.engine import inspect
from whywire.engine.answering.note import note_of
from whywire.engine.running.chain import FAILS, SET_ASIDE

ROOT = Path(__file__).resolve().parents[2]
JOBS = sorted((ROOT / "kb" / "jobs").rglob("*.yaml"))
OLD = ROOT / "kb" / "jobs" / "old-work"
DRAWN = tenth(JOBS, lambda path: path.parent, "allowed")
pytestmark = pytest.mark.sweep


@cache
def noted(path: Path):
    found = inspect(str(path))
    return found, note_of(found)


def test_a_frame_on_the_neutral_is_allowed_in_so_many_words():
    _, note = noted(OLD / "dryer-swapped-on-three-wires.yaml")
    (one,) = note.allowed
    assert one.exception == "three-wire-appliance-needs-no-other-ground" and one.harm == "shock"
    assert "the neutral grounds the frame, as long as" in one.says
    said = plain(show_note(note))
    assert note.headline == "RIGHT" and "ALLOWED        no ground: the neutral" in said
    assert "250.140 exc." in said
    assert note.as_dict()["allowed"][0]["says"] == one.says


@pytest.mark.parametrize("path", DRAWN, ids=lambda path: path.stem)
def test_all_that_could_hurt_and_stands_by_an_exception_is_said_and_nothing_else(path):
    found, note = noted(path)
    stand = found.standing
    harm = {str(row["rule"]) for row in found.k.tables["harm-of-faults"].rows}
    said = {(rule, on) for one in note.allowed for rule in one.rules for on in one.on}
    assert {rule for rule, _ in said} <= harm
    if note.mended:
        return  # said of the job as it is fixed
    for finding in stand.findings:
        rule, thing = found.k.rules[finding.rule], stand.world.things[finding.on]
        if stand.world.answer(rule, thing) != SET_ASIDE or rule.id not in harm:
            continue
        by = stand.world.lifting(rule, thing)
        if by.verb != "refers" and thing[found.k.slots[rule.id]] == FAILS:
            assert (finding.rule, finding.on) in said


@pytest.mark.parametrize("path", DRAWN, ids=lambda path: path.stem)
@pytest.mark.parametrize("width", [80, 40])
def test_no_word_is_cut_off(path, width):
    _, note = noted(path)
    lines = plain(show_note(note, width)).split("\n")
    assert not any("…" in line or len(line) > width for line in lines)
    said = " ".join(" ".join(lines).split())
    assert f"NEXT: {' '.join(note.next.split())}." in said
    for fault in note.faults:
        for way in fault.ways[:1]:
            assert " ".join(way.words.split()) in said, way.words


def test_each_circuit_has_its_own_word_beside_what_is_not_looked_at():
    segment = {"length": "30 ft", "place": "conditioned space", "location": "dry", "bundle": "none"}
    welder = {
        "volts": "240 V",
        "load": {"type": "welder", "current": "25 A", "connection": "hard-wired"}
        | {"resistance welder": "yes"},
        "breaker": "40 A",
        "conductors": {"size": "8 AWG", "material": "copper"},
        "segments": [{"method": "NM-B", **segment}],
    }
    oven = {**welder, "breaker": "30 A", "conductors": {"size": "10 AWG", "material": "copper"}}
    oven["load"] = {"type": "wall oven", "current": "20 A", "connection": "hard-wired"}
    oven["volts"] = "120/240 V"
    job = {"job": "two", "edition": "2023", "building": "one-family dwelling"}
    note = note_of(inspect({**job, "circuits": {"spot welder": welder, "oven": oven}}))
    assert note.headline == "NOT LOOKED AT"
    assert {line.name: line.word for line in note.design} == {
        "spot welder": "NOT LOOKED AT",
        "oven": "RIGHT",
    }
    assert "oven         RIGHT · 30 A 2-pole" in plain(show_note(note))
