"""Surveys written down as answers: to a design in a dozen cards, and the job that comes of them.

The routes and plates are invented scenes. The sizes are what the rules say of the same facts in a
file, so the checks from outside are those of tests/published; here it is the asking that is tried.
"""

from __future__ import annotations

import json

import pytest
from survey_scenes import (
    ANSWERS,
    CARDS,
    HEAD,
    MOST,
    SURVEYS,
    K,
    asked_by,
    sort_of,
    surveyed,
)
from sweeps import sweep

from whywire.cli.main import main
from whywire.engine import Faults, inspect
from whywire.engine.answering.note import note_of
from whywire.engine.asking.cards import ROUTE, read_cards
from whywire.engine.asking.job_file import alike, job_text
from whywire.engine.asking.resumed import resumed
from whywire.engine.asking.said import Wrong
from whywire.engine.asking.survey import KIND, MORE, Answer, Survey
from whywire.engine.basics.reading import read_yaml
from whywire.engine.language.knowledge import KB

KILN = {"plate": "48 A", "instr": "No", "cords": "Wired straight in"}
KILN[ROUTE] = "Basement ceiling, open joists · 40 ft"


def sixty(unit: str) -> str:
    """Sixty of a unit; there is no wire of 60 AWG."""
    return f"{6 if unit == 'AWG' else 60} {unit}"


def by_kind(kind: str, said: dict[str, str]) -> Survey:
    survey = Survey(CARDS, K, HEAD).answer(CARDS.kinds[kind].say)
    while (card := survey.card) is not None:
        survey = survey.answer(said.get(card.card, ""))
    return survey


def test_every_file_of_answers_is_tried_and_they_are_of_fifteen_kinds_at_least():
    assert {path.stem for path in ANSWERS.glob("*.yaml")} == {*SURVEYS}
    assert len({surveyed(name).kind.id for name in SURVEYS}) >= 15


@pytest.mark.parametrize("name", SURVEYS)
def test_so_many_questions_lead_to_the_design(name):
    line, count = SURVEYS[name]
    survey = surveyed(name)
    assert survey.line[: len(line)] == line
    assert len(survey.answers) == count <= MOST[sort_of(survey)]
    assert not survey.unused
    assert all(answer.said != "don't know" for answer in survey.answers)
    assert asked_by(survey) == asked_by(surveyed.__wrapped__(name))  # and so each time


@pytest.mark.parametrize("name", SURVEYS)
def test_what_the_trade_would_call_silly_is_not_asked(name):
    """The list beside the kinds of job (`never`): what is designed, and workmanship that does not
    exist yet. What is there may be asked for; what is new may not.
    """
    survey = surveyed(name)
    if sort_of(survey) != "new":
        return
    told = {path for card in asked_by(survey)[1:] for path in facts_told(survey, card)}
    inlet = {"breaker/rating"} if survey.kind.id == "generator inlet" else set()
    assert CARDS.never and not told & {*CARDS.never} - inlet


def facts_told(survey: Survey, card: str) -> set[str]:
    if card == MORE:
        return set()
    known = survey._card(card)
    told = {path for facts in known.choices.values() for path in facts}
    return told | {path for entry in known.entry for path in entry.units.values()}


# Cards of which every answer leads to the same here, in the edition of these surveys, and why each
# is asked all the same.
ASKED_ALL_THE_SAME = {("charger", "work"): "whether what is there is asked for at all"}


def outcome(survey: Survey) -> tuple:
    """What a person sees of it: the headline, the line, what fails and what is asked."""
    standing = inspect(survey.body).standing
    faults = frozenset((one.rule, one.on) for one in standing.faults)
    asked = frozenset((need.of, need.fact) for one in standing.undecided for need in one.needs)
    return standing.headline, tuple(survey.line), faults, asked


@sweep("name", SURVEYS, turn="leads elsewhere")
def test_some_answer_of_every_card_leads_elsewhere(name):
    survey = surveyed(name)
    for place, answer in enumerate(survey.answers):
        asked = survey.asked(answer.card)
        if answer.card in (KIND, MORE) or not asked.choices:
            continue
        feet = " 40" if asked.entry else ""
        outcomes = set()
        for said in ("?", *(choice + feet for choice in asked.choices)):
            outcomes.add(outcome(survey.said_again(place, said)))
            if len(outcomes) > 1:
                break
        same = (name, answer.card) in ASKED_ALL_THE_SAME
        assert (len(outcomes) > 1) is not same, (name, answer.card)


@pytest.mark.parametrize("name", SURVEYS)
def test_the_line_of_a_survey_is_that_of_its_note(name):
    survey = surveyed(name)
    lines = note_of(inspect(survey.body)).design
    if survey.kind.of:
        assert lines == []  # a note has no line of a service
        return
    (line,) = lines
    assert survey.line == line.pieces or survey.standing.headline == "NOT RIGHT"


@pytest.mark.parametrize("name", SURVEYS)
def test_the_file_says_what_was_answered(name):
    """A survey that is answered equals the same facts in a file."""
    survey = surveyed(name)
    read = read_yaml(job_text(survey.body), "survey.yaml")
    found, of_file = inspect(survey.body), inspect(read)
    assert [f.as_dict() for f in found.findings] == [f.as_dict() for f in of_file.findings]
    assert found.exit_code == of_file.exit_code
    of_survey, of_file_too = (
        [{**fact, "source": ""} if fact["by"] is None else fact for fact in one.facts]
        for one in (found, of_file)
    )  # where a told fact stands differs: in no file, or in one
    assert of_survey == of_file_too


def test_what_was_assumed_is_never_shown_as_said():
    survey = surveyed("kiln")
    assumed = [a for a in inspect(survey.body).assumptions if a["by"] is None]
    assert [(a["of"], a["is"], a["value"]) for a in assumed] == [
        ("circuits.kiln", "more than one receptacle", "no"),
        ("circuits.kiln.conductors", "material", "copper"),
        ("circuits.kiln.segments.1", "method", "NM-B"),
    ]


def test_every_answer_of_every_card_tells_what_a_job_can_have():
    tried = set()
    for kind in CARDS.kinds.values():
        start = Survey(CARDS, K, HEAD, (Answer(KIND, kind.say),))
        thing = kind.of or "circuits." + kind.id
        assert start.world.things[thing]
        for id_ in {*kind.ask} - tried:
            tried.add(id_)
            if id_ == ROUTE:
                said = [f"{place} · 40 ft" for place in CARDS.route.choices]
            else:
                card = CARDS.cards[id_]
                numbers = ", ".join(sixty(next(iter(e.units))) for e in card.entry)
                said = [
                    choice if choice in card.alone else f"{choice} {numbers}".strip()
                    for choice in card.choices or ("",)
                ]
            for text in said:
                assert start.with_answers([(id_, text)]).world.things[thing]


def test_a_kind_that_asks_a_card_that_is_not_there_is_told(tmp_path):
    for name in ("cards.yaml", "kinds.yaml"):
        (tmp_path / name).write_text((KB / "survey" / name).read_text())
    kinds = (KB / "survey" / "kinds.yaml").read_text()
    assert kinds.count("ask: [plate, ")
    (tmp_path / "kinds.yaml").write_text(kinds.replace("ask: [plate, ", "ask: [plte, ", 1))
    with pytest.raises(Faults) as caught:
        read_cards(tmp_path)
    fault = caught.value.items[0]
    assert [f.code for f in caught.value.items] == ["no-card"] and "plte" in fault.what
    assert fault.at[1] == kinds[: kinds.index("ask: [plate, ")].count("\n") + 1
    assert fault.todo.startswith(f"known: {ROUTE}, plate")


def test_a_card_is_put_only_where_an_answer_changes_something():
    """Marks of 75 °C move nothing where plastic cable holds the wire to 60 °C (334.80), and do in
    pipe with the kiln of 48 A (110.14(C), Table 310.16: 55 A against 65 A)."""
    cable = {**KILN}
    pipe = {**cable, ROUTE: "On the wall surface (garage, shop) · 40 ft"}
    assert "marked75" not in [a.card for a in by_kind("kiln", cable).answers]
    assert "marked75" in [a.card for a in by_kind("kiln", pipe).answers]


def test_not_knowing_never_blocks():
    for kind in CARDS.kinds:
        survey = by_kind(kind, {})
        assert all(a.said == "don't know" for a in survey.answers[1:])


@pytest.mark.parametrize("text", ["48", "forty", "48 hp", "48 A 3 A", "-3 A"])
def test_a_slip_is_asked_back(text):
    survey = Survey(CARDS, K, HEAD).answer("Kiln")
    with pytest.raises(Wrong):
        survey.answer(text)


def test_the_command_writes_the_job_and_asks_no_more(tmp_path, capsys, monkeypatch):
    answers, job = tmp_path / "answers.yaml", tmp_path / "kiln.yaml"
    said = {KIND: "Kiln", **KILN}
    answers.write_text(job_text(said), encoding="utf-8")
    law = ["--edition", "2023"]
    assert main(["survey", str(job), "--answers", str(answers), *law, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [c["card"] for c in told["cards"]][:3] == [KIND, "plate", "instr"]
    assert inspect(str(job)).exit_code == 3  # workmanship and the shut-off are open
    lines = iter(["Kiln", "nonsense", "48 A", "b", "48 A", "q"])
    monkeypatch.setattr("builtins.input", lambda: next(lines))
    other = tmp_path / "other.yaml"
    assert main(["survey", str(other), *law]) == 3
    assert "current: 48 A" in other.read_text(encoding="utf-8")
    assert "\x1b" not in capsys.readouterr().out


def test_answers_that_fit_no_card_are_all_told(tmp_path, capsys):
    answers = tmp_path / "answers.yaml"
    answers.write_text(job_text({KIND: "Kiln", "plate": "soon", "sink": "yes"}), encoding="utf-8")
    assert main(["survey", "--answers", str(answers), "--edition", "2023"]) == 2
    told = capsys.readouterr().err
    assert "plate" in told and "sink" in told


def test_what_is_assumed_has_to_be_told_and_no_slip_is_told_twice(tmp_path, capsys):
    """A line of `assumed:` that names nothing is a fault of its own, not one of another slip."""
    text = job_text(surveyed("kiln").body)
    job = tmp_path / "kiln.yaml"
    job.write_text(text.replace("conductors/material", "conductors/metal"), encoding="utf-8")
    assert main(["inspect", str(job)]) == 2
    assert "conductors/metal" in capsys.readouterr().err
    job.write_text(text.replace("circuits:", "circuts:"), encoding="utf-8")
    assert main(["inspect", str(job)]) == 2
    said = capsys.readouterr().err
    assert "circuts" in said and "conductors/material" not in said


@pytest.mark.parametrize("kind", CARDS.kinds)
def test_whatever_is_answered_a_note_can_be_written(kind):
    """A plug that no breaker fits, a motor of 20 hp on a kitchen wall: absurd, and no defect. A
    breaker known to lie in a range is one from which no step leads up or down."""
    for place in (0, -1):
        survey = Survey(CARDS, K, HEAD).answer(CARDS.kinds[kind].say)
        while (card := survey.card) is not None:
            known = CARDS.cards[card.card].entry if card.card in CARDS.cards else ()
            numbers = ", ".join(sixty(list(e.units)[place]) for e in known)
            said = card.choices[place] if card.choices else ""
            if card.card == MORE and len(survey.answers) > 20:
                said = card.alone[0]
            if said in card.alone:
                numbers = ""
            elif card.card in (ROUTE, MORE):
                numbers = "30 ft"
            survey = survey.answer(f"{said} {numbers}".strip())
        assert note_of(inspect(survey.body)).headline


@pytest.mark.parametrize("name", SURVEYS)
def test_a_file_is_gone_on_with_from_where_it_stands(name):
    survey = surveyed(name)
    if survey.kind.of:
        return  # a file without a circuit: --circuit names one to begin with
    again = resumed(CARDS, K, read_yaml(job_text(survey.body), "job.yaml"), None, "job.yaml")
    assert again.body == survey.body and again.line == survey.line
    known = {answer for answer in survey.answers if answer.said != "don't know"}
    lost = {answer.card for answer in known - set(again.answers)}
    assert lost <= {"instr", "stands"}  # of which a file may say nothing: no, and no receptacle


def test_what_a_person_wrote_stays_and_what_no_card_asks_too(tmp_path, monkeypatch, capsys):
    """The shipped kiln, which is told in more words than any card has."""
    said = (KB / "jobs" / "kiln.yaml").read_text(encoding="utf-8")
    said = said.replace("circuits:", "# walked on a Monday\ncircuits:", 1)
    job = tmp_path / "kiln.yaml"
    job.write_text(said, encoding="utf-8")
    lines = iter(["w", "c", "2", "40 A", "q"])
    monkeypatch.setattr("builtins.input", lambda: next(lines))
    assert main(["survey", str(job)]) in (0, 3)
    told = capsys.readouterr().out
    assert "Do its instructions name a breaker size?" in told and "What are you feeding?" in told
    before, after = (read_yaml(text, "job.yaml") for text in (said, job.read_text()))
    assert "# walked on a Monday" in job.read_text(encoding="utf-8")
    assert after["circuits"]["kiln"]["load"]["current"] == "40 A"
    assert after["expect"] == before["expect"]
    assert "conductors/material" not in job.read_text(encoding="utf-8")  # told, so not assumed
    for part in ("breaker", "conductors", "segments", "disconnect"):
        assert alike(after["circuits"]["kiln"][part], before["circuits"]["kiln"][part])


def test_another_circuit_joins_a_job(tmp_path, capsys):
    answers, job = tmp_path / "answers.yaml", tmp_path / "house.yaml"
    law = ["--edition", "2023"]
    for name, file in (("kiln", "kiln"), ("spa", "hot-tub")):
        answers.write_text((ANSWERS / f"{file}.yaml").read_text("utf-8"), encoding="utf-8")
        more = [] if name == "kiln" else ["--circuit", name]
        assert main(["survey", str(job), "--answers", str(answers), *law, *more]) == 0
    found = inspect(str(job))
    assert {"circuits.kiln", "circuits.spa"} <= set(found.w.things)
    capsys.readouterr()
    assert main(["survey", str(job), "--answers", str(answers)]) == 2
    assert "--circuit with one of kiln, spa" in capsys.readouterr().err
