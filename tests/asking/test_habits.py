"""What a survey takes for granted: shown with why and where it flips, amended by a contractor's own
pack. That 50 A and 6-3 are pulled for every range is a scene; the checks are of the asking.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.cli.surveys import answered, begun, read_answers
from whywire.engine import inspect, opened
from whywire.engine.asking.cards import read_cards
from whywire.engine.asking.habits import ALWAYS, ANY, TABLE
from whywire.engine.asking.survey import Survey

CARDS = read_cards()
ANSWERS = Path(__file__).parent / "answers"
HEAD = {"job": "A survey", "edition": "2023"}
K = opened({**HEAD, "circuits": {"x": {"volts": "240 V"}}})[2]
PACK = """
pack: our-habits
title: What we always do
authority: our shop
cite: shop book
layer: owner
from: 2020-01-01
"""
EDITS = """
- amend: usual-heat
  row: {place: attic}
  column: ambient
  strike: 130 °F
  insert: 140 °F
  cite: page 1
  reason: measured under our roofs
- amend: habits
  insert row:
    {kind: range, fact: conductors/size, where: always, value: 6 AWG, why: OURS, else: 8 AWG}
  cite: page 2
  reason: one reel on the truck
- amend: habits
  insert row: {kind: range, fact: breaker/rating, where: always, value: 50 A, why: OURS, else: 40 A}
  cite: page 3
  reason: one reel on the truck
"""


@pytest.fixture
def our_pack(tmp_path) -> str:
    folder = tmp_path / "ours"
    folder.mkdir()
    (folder / "pack.yaml").write_text(PACK, encoding="utf-8")
    edits = EDITS.replace("OURS", "we always pull 6-3 for a range")
    (folder / "habits.yaml").write_text(edits, encoding="utf-8")
    return str(folder)


def of(file: str, packs: tuple[str, ...] = ()) -> Survey:
    path = str(ANSWERS / f"{file}.yaml")
    survey = begun("2023", "2026-01-05", None, "A survey", packs)
    return answered(survey, read_answers(path), path)


def test_a_contractors_own_pack_says_what_is_taken_for_granted(our_pack):
    plain, ours = of("range"), of("range", (our_pack,))
    assert plain.line[:2] == ["40 A 2-pole", "8-3 NM-B"]
    assert ours.line[:2] == ["50 A 2-pole", "6-3 NM-B"]
    by_path = {one.path: one for one in ours.assumed}
    size = by_path["circuits.range.conductors/size"]
    assert (size.value, size.why) == ("6 AWG", "we always pull 6-3 for a range")
    # and it stays assumed, in the job and in what is said of it
    told = inspect(ours.body)
    assert told.job.origin("circuits.range.conductors", "size") == "assumed"
    assert "circuits.range.conductors/size" in ours.body["assumed"]
    # it fits no other kind of job
    assert of("dryer", (our_pack,)).line == of("dryer").line


def test_a_pack_says_how_hot_its_attics_get(our_pack):
    """NM-B of 10 AWG keeps its 30 A up to 140 °F (90 °C wire: 0.71 × 40 A = 28.4 A holds 22.5 A);
    whose attic is said is told beside.
    """
    for packs, heat in (((), "130 °F"), ((our_pack,), "140 °F")):
        survey = begun("2023", "2026-01-05", None, "A survey", packs).answer("Dryer")
        for said in ("No, all new", "5500 W", "2 40", "That is the panel"):
            while survey.card.card not in ("work", "plate", "route", "more"):
                survey = survey.answer("?")
            survey = survey.answer(said)
        from whywire.engine.answering.note import note_of

        assumed = note_of(inspect(survey.body)).assumed
        assert any(f"attic air {heat}" in one for one in assumed)


def test_the_job_names_the_pack_and_stands_by_it(our_pack, tmp_path, capsys):
    job = tmp_path / "range.yaml"
    law = ["--edition", "2023", "--date", "2026-01-05", "--pack", our_pack]
    answers = str(ANSWERS / "range.yaml")
    assert main(["survey", str(job), "--answers", answers, *law, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["job"]["packs"] == [our_pack]
    assert inspect(str(job)).exit_code == inspect(told["job"]).exit_code


def test_each_guess_is_shown_with_what_it_would_be_otherwise():
    """In pipe the wires are singles, and a pipe is named: common practice, no source. One
    receptacle or several move nothing in a line.
    """
    flips = {flip.assumed.fact: flip for flip in of("range").flips()}
    assert "8 AWG THWN-2 in 3/4 EMT" in flips["method, basement ceiling, open joists"].line
    assert "aluminum" in flips["material"].line
    assert flips["more than one receptacle"].line == ()
    assert all(flip.assumed.why and flip.assumed.habit.other for flip in flips.values())


def test_the_terminal_shows_the_guesses_where_somebody_asks(tmp_path, capsys, monkeypatch):
    lines = iter(["Kiln", "48 A", "a", "q"])
    monkeypatch.setattr("builtins.input", lambda: next(lines))
    assert main(["survey", "--edition", "2023"]) == 3
    told = " ".join(capsys.readouterr().out.split())
    assert "material: copper, most house wiring is copper. If aluminum:" in told


def test_every_habit_is_of_a_kind_and_a_fact_that_a_job_can_tell():
    """What stands in the table is laid on: of each row the survey of its kind shows it, or another
    row goes before it; the value tried beside is another one.
    """
    rows = K.tables[TABLE].rows
    stretches = {*CARDS.route.choices}
    for row in rows:
        assert str(row["kind"]) == ANY or str(row["kind"]) in CARDS.kinds, row
        assert row["value"] != row["else"], row
        where = str(row["where"])
        assert where == ALWAYS or where in stretches or " is " in where, row
    seen = set()
    for kind in CARDS.kinds.values():
        survey = Survey(CARDS, K, HEAD).answer(kind.say)
        seen |= {(kind.id, one.habit.fact) for one in survey.assumed}
    always = {
        (str(row["kind"]), str(row["fact"]))
        for row in rows
        if row["where"] == ALWAYS and str(row["kind"]) != ANY
    }
    assert always <= seen


def test_what_is_said_goes_before_a_habit():
    survey = Survey(CARDS, K, HEAD).answer("Range").answer("Yes, swap the appliance")
    survey = survey.with_answers([("inside_there", "Aluminum, insulated wires only")])
    assert "circuits.range.conductors/material" not in {one.path for one in survey.assumed}
    assert survey.body["circuits"]["range"]["conductors"]["material"] == "aluminum"
