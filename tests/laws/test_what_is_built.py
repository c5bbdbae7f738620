"""What whoever builds it puts in is designed and asked of nobody: a GFCI breaker where the place
wants one, a lock-off, a disconnect in sight. What is there already, and what may not be required,
is asked for as before.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from whywire.cli.layout import plain
from whywire.cli.show_note import show_note
from whywire.engine import Faults, inspect
from whywire.engine.answering.note import note_of
from whywire.engine.answering.standing import RIGHT, RIGHT_IF
from whywire.engine.law.library import load

BENCH = {
    "volts": "120 V",
    "length": "30 ft",
    "load": {"type": "cord-and-plug load", "current": "12 A", "continuous": "no"},
    "breaker": {"rating": "20 A"},
    "conductors": {"size": "12 AWG", "material": "copper"},
    "receptacle": {"configuration": "5-20", "places": ["garage"], "tamper-resistant": "yes"},
    "more than one receptacle": "no",
    "also feeds other outlets": "no",
    "segments": [{"method": "NM-B", "length": "30 ft", "place": "basement", "location": "dry"}],
}


def job(**more) -> dict:
    return {
        "job": "a bench for glazing pots",
        "edition": "2023",
        "building": "one-family dwelling",
        "circuits": {"bench": BENCH | more},
    }


def asked(note) -> set[str]:
    return {question.fact for question in note.questions}


def line(note) -> str:
    return " · ".join(note.design[0].pieces)


def test_a_new_receptacle_in_a_garage_gets_its_gfci():
    found = inspect(job())
    note = note_of(found)
    assert "GFCI protection" not in asked(note) and not note.more_questions
    assert "GFCI breaker or receptacle, since garage or accessory building" in line(note)
    assert note.headline == RIGHT, (note.questions, note.faults)
    assert "a new circuit" in note.assumed
    # the findings of the job as it is told still wait: nobody said that it is there
    assert any(f.rule == "gfci-receptacles" and f.answer == "cannot tell" for f in found.findings)
    built = note.as_dict()["built"]
    assert {"of": "circuits.bench", "is": "GFCI protection", "rules": ["gfci-receptacles"]} in built


def test_what_needs_none_gets_none():
    indoors = BENCH["receptacle"] | {"places": ["hallway"]}
    note = note_of(inspect(job(receptacle=indoors)))
    assert "GFCI" not in line(note)


@pytest.mark.parametrize("work", ["left as it is", "extended or modified"])
def test_what_is_there_already_is_asked_for(work):
    note = note_of(inspect(job(work=work)))
    if work == "left as it is":
        assert "GFCI protection" in asked(note) and "GFCI" not in line(note)
        assert note.headline == RIGHT_IF
    else:
        assert "GFCI protection" not in asked(note) and "GFCI breaker" in line(note)


def test_what_is_told_not_to_be_there_is_wrong():
    note = note_of(inspect(job(GFCI="no")))
    assert [fault.rules for fault in note.faults] == [["gfci-receptacles"]]


def test_where_nobody_knows_whether_it_is_required_the_place_is_asked_for():
    bare = {key: value for key, value in BENCH["receptacle"].items() if key != "places"}
    note = note_of(inspect(job(receptacle=bare)))
    assert note.headline == RIGHT_IF
    assert asked(note) & {"places", "outlet at", "rooms"}
    assert "GFCI protection" not in asked(note) and "GFCI" not in line(note)


HEATER = {
    "volts": "240 V",
    "load": {"type": "space heater", "current": "20 A", "connection": "hard-wired"},
    "breaker": {"rating": "30 A"},
    "conductors": {"size": "10 AWG", "material": "copper"},
    "receptacle": "none",
}


def test_a_hard_wired_heater_gets_a_lock_off():
    note = note_of(inspect(job(**HEATER)))
    assert note.headline == RIGHT
    assert "lock-off on the breaker" in line(note) and "disconnect" not in asked(note)
    note = note_of(inspect(job(**HEATER, disconnect="none")))
    assert any("appliance-has-a-disconnect" in fault.rules for fault in note.faults)


def test_a_heat_pump_gets_a_disconnect_in_sight():
    load = {"type": "heat pump", "MCA": "18 A", "MOCP": "30 A", "connection": "hard-wired"}
    note = note_of(inspect(job(**HEATER | {"load": load})))
    assert "a disconnect in sight" in line(note) and "disconnect" not in asked(note)


def test_what_makes_something_fail_is_no_design():
    """A maker who rules out a GFCI ahead of it is asked about, and nothing is put in over him."""
    load = BENCH["load"] | {"instructions forbid GFCI": "yes"}
    found = inspect(job(load=load))
    fails = {f.rule for f in found.standing.findings if f.answer == "fails"}
    before = {f.rule for f in found.findings if f.answer == "fails"}
    assert fails <= before


def test_the_wire_of_a_new_branch_circuit_is_copper_and_that_is_said():
    bare = job(conductors={"size": "12 AWG"})
    note = note_of(inspect(bare))
    assert "copper wire" in note.assumed and "material" not in asked(note)
    old = note_of(inspect(job(conductors={"size": "12 AWG"}, work="left as it is")))
    assert "material" in asked(old) and "copper wire" not in old.assumed


def test_the_wire_of_a_new_pipe_is_what_is_sold_for_it():
    pipe = [{"method": "EMT", "length": "30 ft", "place": "basement", "location": "dry"}]
    note = note_of(inspect(job(segments=pipe)))
    assert "THWN-2 in the pipe" in note.assumed and "insulation" not in asked(note)
    assert "12 AWG THWN-2 in" in line(note)
    cable = note_of(inspect(job()))
    assert not any("in the pipe" in said for said in cable.assumed)
    old = note_of(inspect(job(segments=pipe, work="left as it is")))
    assert "insulation" in asked(old) and "THWN-2" not in line(old)


def test_a_tub_gets_its_disconnect_clear_of_the_water():
    load = {"type": "spa", "current": "30 A", "connection": "hard-wired"}
    note = note_of(inspect(job(**HEATER | {"load": load}, **{"outlet at": "outdoors"})))
    assert "5 ft or more from the water" in line(note) and "disconnect" not in asked(note)
    assert "GFCI breaker, since outdoors" in line(note)


def test_rooms_say_whether_an_outlet_is_indoors():
    bare = {key: value for key, value in BENCH["receptacle"].items() if key != "places"}
    note = note_of(inspect(job(receptacle=bare, rooms=["bedroom", "hallway"])))
    assert "outlet at" not in asked(note)


def test_a_named_appliance_is_not_asked_whether_it_is_a_motor():
    load = {"type": "other", "exact appliance": "sump pump", "current": "9 A"}
    note = note_of(inspect(job(load=load | {"connection": "cord and plug"})))
    assert not asked(note) & {"motor operated", "hermetic", "horsepower", "service factor"}


def test_a_feeder_is_asked_about_in_a_feeders_words():
    feeder = {
        "role": "feeder",
        "volts": "120/240 V",
        "breaker": {"rating": "60 A"},
        "conductors": {"size": "6 AWG", "material": "copper"},
        "segments": BENCH["segments"],
    }
    note = note_of(inspect(job() | {"circuits": {"shop": feeder}}))
    asks = [question.ask for question in note.questions]
    assert "How many amps does the load on this feeder come to?" in asks
    assert not any("nameplate" in ask or "receptacle" in ask for ask in asks)


# ---- what a word says of it names what there is --------------------------------------------------


def faults_of(folder: Path, said: str) -> list:
    """The faults of a pack whose words say that of a fact, in the third line of a file."""
    (folder / "pack.yaml").write_text("pack: mine\n")
    text = f"words:\n  segment:\n    summer heat: {{is: °C, ask: How hot?, {said}}}\n"
    (folder / "words.yaml").write_text(text)
    with pytest.raises(Faults) as slip:
        load((folder,), "2023")
    return list(slip.value.items)


@pytest.mark.parametrize(
    "said, what",
    [
        ("guess: ambient from usual-heet by place", "no such table"),
        ("guess: ambiant from usual-heat by place", 'no column "ambiant"'),
        ("guess: ambient from usual-heat by plaice", "no such fact of segment"),
        ("guess: 20 A", "20 A"),
        ("built: [{as: 20 A}]", "20 A"),
        ("built: 20 °C", '"built" is no list'),
        ("built: [{as: 20 °C, where: method of segmint is EMT}]", 'nothing is "of segmint"'),
        ("built: [{as: 20 °C, when: method is EMT}]", 'takes no "when"'),
        ("asked: [{ask: How hot?}]", '"asked" does not say what'),
        ("asked: [{ask: How hot?, where: mathod is EMT}]", 'no "mathod"'),
        ("guess: 20 °C, guess where: method EMT", "does not say where"),
    ],
)
def test_a_slip_in_what_a_note_reads_is_told_with_its_place(tmp_path, said, what):
    faults = faults_of(tmp_path, said)
    assert [one for one in faults if what in str(one) and "words.yaml:3" in str(one)], faults


def test_a_misspelt_table_of_a_guess_is_hinted_at(tmp_path):
    (fault,) = faults_of(tmp_path, "guess: ambient from usual-heet by place")
    assert "usual-heat" in fault.todo


def test_the_note_shows_what_is_put_in():
    screen = plain(show_note(note_of(inspect(job()))))
    assert "since garage" in " ".join(screen.split())
