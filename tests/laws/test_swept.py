"""What the whole sweeps of the laws found, each kept as the smallest job that shows it."""

from __future__ import annotations

import copy
from pathlib import Path

import pytest
from drawn_jobs import JOBS, body
from test_hints import a_job, knowledge
from test_twelve_laws import fails_of

from whywire.engine import inspect
from whywire.engine.answering.note import note_of
from whywire.engine.running.chain import World
from whywire.engine.running.rerun import tell


def shipped(name: str) -> dict:
    """What the file of a shipped job says."""
    path: Path = next(path for path in JOBS if path.stem == name)
    return copy.deepcopy(body(path))


def proven(found, note) -> None:
    """Each way shown, and all mends made together, leave nothing new that fails."""
    before = {(f.rule, f.on) for f in found.standing.findings if f.answer == "fails"}
    made = [change for fault in note.faults for change in fault.mend]
    for changes in [*(way.changes for fault in note.faults for way in fault.ways), made]:
        job = found.standing.laid()
        tell(job, changes)
        assert fails_of(World(found.k, job).run()) <= before, changes


@pytest.mark.parametrize("edition", ["2020", "2023"])
def test_a_size_is_not_right_over_the_ground_that_comes_with_it(edition):
    """A told 70 A breaker wants an 8 AWG ground; the 8 AWG cable brings 10 AWG."""
    job = shipped("welder-and-compressor")
    job["circuits"]["compressor"]["breaker"] = {"rating": "70 A"}
    found = inspect(job, edition=edition)
    answer = found.why("compressor", "conductors", "size")
    assert answer.word == "NO." and "10 AWG ground is too small" in answer.sentence
    del job["circuits"]["compressor"]["breaker"]
    answer = inspect(job, edition=edition).why("compressor", "conductors", "size")
    assert answer.word == "YES." and answer.sentence.startswith("8 AWG is the smallest")


def test_what_may_be_two_words_with_a_slip_is_asked():
    """`main s` is `mains` parted (how many there are), or `main is` (where it is)."""
    fault = a_job()._unknown.refused(knowledge().words.kinds["service"], None, "main s", "x", None)
    assert fault.todo.startswith("which is it") and {"mains", "main is"} <= {
        one for one in fault.todo.split('"')
    }


def test_what_has_to_go_before_is_said_and_made_with_it():
    """A 125 A breaker on a feeder of 4 AWG is no way out before the feeder is larger."""
    found = inspect(shipped("two-vans-under-a-gadget"))
    note = note_of(found)
    breaker = next(f for f in note.faults if "feeder-breaker-125-percent" in f.rules)
    wire = next(f for f in note.faults if "feeder-conductor-125-percent" in f.rules)
    (way,) = breaker.ways
    assert way.words.endswith(f", once {note.faults.index(wire) + 1} is fixed")
    assert set(wire.mend) < set(way.changes)
    proven(found, note)


def test_what_a_load_manager_turns_off_is_called_as_it_was_said():
    note = note_of(inspect(shipped("two-vans-under-a-gadget")))
    assert "The load manager may turn off the fire alarm." in {fault.says for fault in note.faults}


def test_a_mend_that_takes_the_place_of_another_is_one_with_it():
    """A kiln of 26 A on 10 AWG and 50 A: 40 A and 8 AWG mend all of it, and nobody pulls 6 AWG."""
    segment = {"method": "NM-B", "length": "65 ft", "place": "basement", "location": "dry"}
    kiln = {
        "volts": "240 V",
        "load": {"type": "kiln", "current": "26 A", "connection": "hard-wired"},
        "breaker": {"rating": "50 A"},
        "conductors": {"size": "10 AWG", "material": "copper"},
        "segments": [segment],
    }
    building = "one-family dwelling"
    found = inspect(
        {"job": "kiln", "edition": "2023", "building": building, "circuits": {"c": kiln}}
    )
    note = note_of(found)
    (fault,) = note.faults
    assert {"appliance-breaker-ceiling", "conductor-125-percent"} <= set(fault.rules)
    assert [way.words for way in fault.ways] == ["a 40 A breaker and 8-2 NM-B (10 AWG ground)"]
    proven(found, note)


def test_where_a_feeder_is_told_no_panel_is_taken_to_be_at_the_service():
    """Which panel a circuit starts from makes nothing less known of its drop: with a feeder in the
    job it is not known before.
    """
    segment = {"method": "NM-B", "length": "41 ft", "place": "basement", "location": "dry"}
    kiln = {
        "volts": "240 V",
        "load": {"type": "kiln", "current": "15 A", "connection": "hard-wired"},
        "breaker": {"rating": "30 A"},
        "conductors": {"size": "10 AWG", "material": "copper"},
        "segments": [segment],
    }
    feeder = {"role": "feeder", "volts": "120/240 V", "breaker": {"rating": "40 A"}}
    panels = {"main": {"feeder": "none"}, "shop": {"feeder": "feeder"}}
    job = {"job": "x", "edition": "2023", "building": "one-family dwelling"}
    told = {**kiln, "panel": "shop"}
    answers = [
        {f.rule: f.answer for f in inspect(job | more).findings if f.on == "circuits.c.conductors"}
        for more in (
            {"circuits": {"c": kiln}},
            {"circuits": {"c": kiln, "feeder": feeder}, "panels": panels},
            {"circuits": {"c": told, "feeder": feeder}, "panels": panels},
        )
    ]
    assert [one["combined-voltage-drop"] for one in answers] == [
        "passes",
        "cannot tell",
        "cannot tell",
    ]


def test_a_bare_neutral_and_a_missing_ground_are_mended_by_a_new_cable():
    found = inspect(shipped("range-behind-a-bare-subpanel"))
    note = note_of(found)
    assert [fault.circuits for fault in note.faults] == [["range"], ["dryer"]]
    for fault in note.faults:
        assert "cable with an insulated neutral and a ground" in fault.ways[0].words
    assert note.next.startswith("fix 1, which can shock somebody: a new NM-B cable")
    proven(found, note)
