"""What a step of a survey costs: in runs of its job, which are counted, since a clock is not to be
trusted on a machine that does other things beside.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from whywire.cli.surveys import answered, read_answers
from whywire.engine import opened
from whywire.engine.answering import standing
from whywire.engine.asking.cards import read_cards
from whywire.engine.asking.survey import Survey
from whywire.engine.running.chain import World

ANSWERS = Path(__file__).parent / "answers"
HEAD = {"job": "A survey", "edition": "2023"}
CARDS = read_cards()
K = opened({**HEAD, "circuits": {"x": {"volts": "240 V"}}})[2]
# the job as it is told, as it stands with what is taken for granted and put in, and with a place in
# each list that an answer would tell; every answer that is tried is told to one of them
RUNS = 4


@pytest.mark.parametrize("name", ["kiln-at-its-worst", "range", "charger", "dryer-swapped", "shed"])
def test_a_step_runs_its_job_a_few_times_however_many_answers_are_tried(name, monkeypatch):
    path = str(ANSWERS / f"{name}.yaml")
    survey = answered(Survey(CARDS, K, HEAD), read_answers(path), path)
    runs = []
    run = World.run
    monkeypatch.setattr(World, "run", lambda self: runs.append(self) or run(self))
    for count in range(1, len(survey.answers) + 1):
        step = Survey(CARDS, K, HEAD, survey.answers[:count])
        runs.clear()
        assert step.pieces is not None and (step.card or True)
        assert 0 < len(runs) <= RUNS, survey.answers[count - 1]


def test_the_guesses_are_tried_only_where_somebody_asks(monkeypatch):
    step = Survey(CARDS, K, HEAD).answer("Range").answer("No, all new").answer("12 kW")
    step = step.answer("3 40").answer("That is the panel")
    assert step.line
    runs = []
    run = World.run
    monkeypatch.setattr(World, "run", lambda self: runs.append(self) or run(self))
    assert step.assumed and not runs
    assert len([*step.flips()]) == len(step.assumed) and len(runs) >= len(step.assumed)


def test_no_finding_is_written_between_cards(monkeypatch):
    """Sixty milliseconds of a phone, which nobody reads: the line and the next card need none."""

    def none(*_: object) -> list:
        raise AssertionError("findings were written")

    monkeypatch.setattr(standing, "findings", none)
    path = str(ANSWERS / "kiln.yaml")
    survey = answered(Survey(CARDS, K, HEAD), read_answers(path), path)
    assert survey.line and survey.card is None
