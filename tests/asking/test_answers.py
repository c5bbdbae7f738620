"""A file of answers: what is said to a card that was not put is kept, and what cannot be is asked
back. Several circuits in one file, and a job that goes on.
"""

from __future__ import annotations

import json

import pytest

from whywire.cli.main import main
from whywire.engine import inspect, opened
from whywire.engine.answering.note import note_of
from whywire.engine.asking.cards import ROUTE, read_cards
from whywire.engine.asking.job_file import job_text
from whywire.engine.asking.resumed import resumed
from whywire.engine.asking.said import Wrong, taken
from whywire.engine.asking.survey import Survey
from whywire.engine.basics.reading import read_yaml

CARDS = read_cards()
HEAD = {"job": "A survey", "edition": "2023"}
K = opened({**HEAD, "circuits": {"x": {"volts": "240 V"}}})[2]
LAW = ["--edition", "2023"]
KILN = {
    "kind": "Kiln",
    "plate": "48 A",
    "instr": "No",
    "cords": "Wired straight in",
    "route": "Basement ceiling, open joists 40 ft",
    "dwelling": "House",
}


def surveyed(tmp_path, capsys, said, *more: str) -> tuple[int, dict]:
    answers = tmp_path / "answers.yaml"
    text = said if isinstance(said, str) else job_text(said)
    answers.write_text(text, encoding="utf-8")
    code = main(["survey", "--answers", str(answers), *LAW, "--json", *more])
    said_back = capsys.readouterr()
    return code, json.loads(said_back.out) if code in (0, 3) else {"err": said_back.err}


def test_an_answer_to_a_card_that_was_not_put_is_a_fact_of_the_job(tmp_path, capsys):
    """Marks of 75 °C turn nothing in plastic cable, so nobody asks; told all the same."""
    _, told = surveyed(tmp_path, capsys, {**KILN, "marked75": "Both"})
    assert [card["card"] for card in told["said beside"]] == ["marked75"]
    assert told["unused"] == []
    assert "marked75" not in [card["card"] for card in told["cards"]]
    supply = told["job"]["circuits"]["kiln"]["supply termination"]
    assert supply == {"temperature rating": "75 °C"}


def test_an_answer_that_no_card_of_the_kind_takes_is_kept_and_told(tmp_path, capsys):
    code, told = surveyed(tmp_path, capsys, {**KILN, "setting": "48 A"})
    assert code == 0
    assert told["unused"] == [{"card": "setting", "said": "48 A"}]
    answers = tmp_path / "answers.yaml"
    assert main(["survey", "--answers", str(answers), *LAW]) == 0
    said = capsys.readouterr().out
    assert "No longer used" not in said and "Not used: How many amps will the charger" in said


def test_only_what_no_card_is_called_and_what_none_takes_are_faults(tmp_path, capsys):
    code, told = surveyed(tmp_path, capsys, {**KILN, "plate": "soon", "sink": "yes"})
    assert code == 2 and "plate" in told["err"] and "sink" in told["err"]


def test_a_plate_that_no_job_can_have_is_asked_back():
    survey = Survey(CARDS, K, HEAD).answer("Kiln")
    with pytest.raises(Wrong, match="not usual"):
        survey.answer("4800 A")
    assert survey.answer("48 A").results["breaker"] == "60 A"


@pytest.mark.parametrize(
    "text, is_",
    [("1-1/2 hp", "1-1/2 hp"), ("1 1/2 hp", "1-1/2 hp"), ("3/4 HP", "3/4 hp"), ("5", "5 hp")],
)
def test_a_motor_is_told_as_its_plate_says(text, is_):
    assert taken(CARDS.cards["plate_motor"], text) == is_


@pytest.mark.parametrize(
    "text", ["1 3 4", "1, 3, 4", "Range, Water heater and Dishwasher", "4 3 1"]
)
def test_all_that_fits_is_told_at_once(text):
    assert taken(CARDS.cards["electric"], text) == "Range + Water heater + Dishwasher"


@pytest.mark.parametrize("text", ["nothing", "1 99", "Range, sink"])
def test_what_does_not_fit_among_them_is_asked_back(text):
    with pytest.raises(Wrong):
        taken(CARDS.cards["electric"], text)


def test_the_way_may_be_told_in_one_list(tmp_path, capsys):
    way = ["Across the attic 30 ft", "Inside a finished wall or ceiling 10 ft"]
    text = job_text({key: said for key, said in KILN.items() if key != ROUTE})
    _, told = surveyed(tmp_path, capsys, text + f"route: {json.dumps(way)}\n")
    segments = told["job"]["circuits"]["kiln"]["segments"]
    assert [segment["length"] for segment in segments] == ["30 ft", "10 ft"]
    assert told["unused"] == []


TWO = """
- {kind: Kiln, plate: 48 A, instr: "No", cords: 2, route: "3 40 ft", dwelling: House}
- {kind: Kiln, plate: 24 A, instr: "No", cords: Wired straight in, route: "3 20 ft"}
- {kind: Replace the panel, main: 200 A, service_wire: 4/0 aluminum, area: 1800}
"""


def test_several_circuits_and_a_panel_are_surveyed_in_one(tmp_path, capsys):
    code, told = surveyed(tmp_path, capsys, TWO)
    assert code == 0
    assert [*told["job"]["circuits"]] == ["kiln", "kiln 2"]
    assert told["job"]["service"]["rating"] == "200 A"
    # the house is asked for once
    assert [card["card"] for card in told["cards"]].count("dwelling") == 1
    lines = {line.name: line.pieces for line in note_of(inspect(told["job"])).design}
    assert lines["kiln"][:2] == ["60 A 2-pole", "4-3 NM-B"]
    assert lines["kiln 2"][:2] == ["30 A 2-pole", "10-2 NM-B"]


def test_the_second_circuit_moves_nothing_of_the_first():
    one = Survey(CARDS, K, HEAD).answer("Kiln").answer("48 A")
    both = one.another().answer("Dryer")
    assert both.body["circuits"]["kiln"] == one.body["circuits"]["kiln"]
    assert [answer.card for answer in both.answers] == ["kind", "plate", "another", "kind"]
    assert both.taken_back().taken_back().body == one.body


def test_a_job_that_was_begun_elsewhere_goes_on_with_its_service_and_panels(tmp_path):
    begun = {
        **HEAD,
        "service": {"rating": "100 A", "floor area": "1500 ft²"},
        "panels": {"cellar": {"feeder": "none", "spaces": "20"}},
        "circuits": {"lights": {"volts": "120 V", "breaker": {"rating": "15 A"}}},
    }
    body = read_yaml(job_text(begun), "job.yaml")
    survey = resumed(CARDS, K, body, "shed", "job.yaml").answer("A panel in another building")
    survey = survey.answer("1 8").answer("Garage")
    job = survey.body
    assert job["service"] == begun["service"] and job["circuits"]["lights"]
    # the feeder starts at the panel that is there, whatever it is called
    assert job["circuits"]["shed"]["panel"] == "cellar"
    assert job["panels"]["cellar"]["spaces"] == "20"
    assert job["panels"]["shed panel"]["feeder"] == "shed"
