"""Every kind of job, whatever is said: so many questions at most, none that the trade would call
silly there, always in one order; and a job that is what a file of the same facts would be, of which
an answer that is missing only opens more.

The numbers are those that were set for it: 12 to the design of a circuit, 20 for a service or a
panel, 15 where what is there is judged. What is silly is common practice, no source.
"""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
from collections.abc import Iterator
from functools import cache

import pytest
from survey_scenes import ANSWERS, CARDS, HEAD, MOST, SURVEYS, K, sort_of, surveyed
from sweeps import sweep

from whywire.engine import inspect
from whywire.engine.asking.cards import ROUTE
from whywire.engine.asking.job_file import job_text
from whywire.engine.asking.places import keys_told, without
from whywire.engine.asking.said import SKIPPED, Wrong, facts_of
from whywire.engine.asking.survey import KIND, MORE, Answer, Survey
from whywire.engine.basics.reading import read_yaml

STRETCHES = 2  # of the way to the panel: a usual one
FEET = (5, 20, 60)
NUMBERS = {"A": (16, 24, 48), "AWG": (12, 8, 6), "hp": (1, 3, 5), "ft²": (1400, 2600), "kW": (4,)}
SETTLED = ("passes", "fails")
WALKS = 10  # of each kind


def an_answer(survey: Survey, rng: random.Random) -> str:
    """Something that a person may say to the next card, and knows."""
    asked = survey.card
    assert asked is not None
    walked = sum(answer.card == ROUTE for answer in survey.own)
    if asked.card == MORE:
        choices = [*asked.alone] if walked >= STRETCHES else [*asked.choices[1:]]
    else:
        choices = [*asked.choices] or [""]
    choice = rng.choice(choices)
    if asked.card in (ROUTE, MORE):
        return choice if choice in asked.alone else f"{choice} {rng.choice(FEET)} ft"
    entry = () if choice in asked.alone or asked.card == KIND else CARDS.cards[asked.card].entry
    units = [rng.choice([*one.units]) for one in entry]
    numbers = ", ".join(f"{rng.choice(NUMBERS.get(unit, (30,)))} {unit}" for unit in units)
    return f"{choice} {numbers}".strip()


@cache
def walked(kind: str, number: int) -> Survey:
    """A survey of a kind in which everything is known: answers drawn by *number*."""
    rng = random.Random(f"{kind} {number}")
    survey = Survey(CARDS, K, HEAD).answer(CARDS.kinds[kind].say)
    while survey.card is not None:
        try:
            survey = survey.answer(an_answer(survey, rng))
        except Wrong:  # a charger of 60 hp: asked back, and so no answer of a survey
            survey = survey.answer(SKIPPED)
    return survey


def every_walk() -> Iterator[tuple[str, int]]:
    return ((kind, number) for kind in CARDS.kinds for number in range(WALKS))


def of_kind(case: tuple[str, int]) -> str:
    return case[0]


def test_there_are_answers_to_every_kind_of_job():
    assert {surveyed(name).kind.id for name in SURVEYS} == {*CARDS.kinds}


@sweep(("kind", "number"), every_walk(), of_kind, "questions")
def test_so_many_questions_at_most_whatever_is_answered(kind, number):
    survey = walked(kind, number)
    asked = [answer.card for answer in survey.answers]
    assert len(asked) <= MOST[sort_of(survey)], asked
    assert len({*asked}) + asked.count(ROUTE) - 1 == len(asked) or kind.endswith("replacement")


@pytest.mark.parametrize("kind", CARDS.kinds)
def test_no_card_of_a_kind_asks_what_the_trade_would_call_silly_there(kind):
    """The list stands beside each kind (`never`): whatever card it has, none tells such a fact, and
    each is one that a job could tell, so that a card could.
    """
    of, never = CARDS.kinds[kind], CARDS.kinds[kind].never
    told = set()
    for id_ in {*of.ask} - {ROUTE}:
        card = CARDS.cards[id_]
        told |= {path for choice in card.choices for path, _ in facts_of(card, choice)}
        told |= {path for entry in card.entry for path in entry.units.values()}
    assert never and not told & {*never}
    words = {name for kind_ in K.words.kinds.values() for name in kind_.words} | {"volts"}
    assert {path.rpartition("/")[2].rpartition(": ")[2] for path in never} <= words


def test_the_cards_come_in_one_order_however_sets_are_kept(tmp_path):
    """Of a process of its own with another seed for what has no order."""
    told = []
    for seed in ("1", "2"):
        command = [sys.executable, "-m", "whywire.cli.main", "survey", "--json"]
        command += ["--edition", "2023", "--answers", str(ANSWERS / "charger-moved.yaml")]
        env = {**os.environ, "PYTHONHASHSEED": seed}
        done = subprocess.run(command, capture_output=True, text=True, env=env, check=False)
        told.append([card["card"] for card in json.loads(done.stdout)["cards"]])
    put, survey = [], Survey(CARDS, K, HEAD)
    for answer in surveyed("charger-moved").answers:
        put.append(survey.card.card)
        survey = survey.answer(answer.said)
    assert told[0] == told[1] == put and survey.card is None


@sweep(("kind", "number"), every_walk(), of_kind, "file")
def test_what_was_answered_is_what_a_file_of_the_same_facts_says(kind, number):
    body = walked(kind, number).body
    read = read_yaml(job_text(body), "survey.yaml")
    found, of_file = inspect(body), inspect(read)
    assert [f.as_dict() for f in found.findings] == [f.as_dict() for f in of_file.findings]
    assert found.exit_code == of_file.exit_code


def told_alone(body: dict) -> dict:
    """The job without what nobody said."""
    for path in body.get("assumed", []):
        body = without(body, keys_told(path))
    return {key: said for key, said in body.items() if key != "assumed"}


@sweep(("kind", "number"), every_walk(), of_kind, "unknown")
def test_an_answer_that_is_missing_only_opens_more(kind, number):
    """What is settled by fewer answers is settled so by more of them: of what was told, since what
    is taken for granted in the place of an answer is nobody's word.
    """
    whole = walked(kind, number)
    rng = random.Random(number)
    place = rng.randrange(1, len(whole.answers))
    answer = whole.answers[place]
    less = [*whole.answers]
    if answer.card in (ROUTE, MORE):
        less = [one for one in less if one.card not in (ROUTE, MORE)]
        answer = Answer(ROUTE, answer.said)
    else:
        del less[place]
    fewer = Survey(CARDS, K, HEAD, (*less, Answer(answer.card, SKIPPED)))
    settled, known = (
        {(one.rule, one.on): one.answer for one in inspect(told_alone(one.body)).findings}
        for one in (whole, fewer)
    )
    assert known
    for on, said in known.items():
        if said in SETTLED and on in settled:
            assert settled[on] == said, (on, answer)
    opened = {on for on, said in settled.items() if said in SETTLED} - {
        on for on, said in known.items() if said in SETTLED
    }
    gained = {on for on, said in known.items() if said in SETTLED} - {*settled}
    assert not gained or opened, (gained, answer)
