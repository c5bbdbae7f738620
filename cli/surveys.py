"""A survey at the terminal: plain numbered lines, read well by a screen reader and from a pipe.

Nothing moves the cursor and nothing is drawn over. A person types the number of an answer or its
words, `?` where it is not known, `w` to hear why it is asked, `c` to change an earlier answer, `b`
to take the last one back, `q` to stop: what was said until then is written all the same.
"""

from __future__ import annotations

import os
import textwrap
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..engine.front import Fault, Faults, Place
from .page import texts

if TYPE_CHECKING:
    from ..engine.front import Asked, Inspection, Survey

Put = Callable[[str], None]
BACK, STOP, WHY, CHANGE = "b", "q", "w", "c"


def begun(edition: str | None, date: str | None, place: str | None, title: str) -> Survey:
    """A survey without answers, under the law of *place* on *date*, or an *edition*.

    Raises:
        Faults: nothing says which law is in force.
    """
    from ..engine.front import Survey, in_force, load, read_cards

    head = {"job": title, "place": place, "permit date": date, "edition": edition}
    head = {key: said for key, said in head.items() if said}
    force = in_force(head, "survey", (), edition, date, place)
    return Survey(read_cards(), load(force.folders, force.edition, force.date), head)


def gone_on(path: str, circuit: str | None) -> Survey:
    """The survey of a job whose file is there, from where it stands.

    Raises:
        Faults: the job is faulty, or nothing says which of its circuits is meant.
    """
    from ..engine.front import opened, read_cards, resumed

    body, _, knowledge = opened(path)
    return resumed(read_cards(), knowledge, body, circuit, path)


def asked_in_person(survey: Survey, read: Callable[[], str], put: Put, width: int) -> Survey:
    """Put each card, and read its answer, until none is left or the person stops."""
    from ..engine.front import Wrong

    if survey.line:
        put("  So far: " + " · ".join(survey.line))
    while (card := survey.card) is not None:
        for line in card_lines(card, width):
            put(line)
        before = survey
        try:
            said = read().strip()
            if said == STOP:
                return survey
            if said == WHY:
                for line in _hanging(survey, card.card, width):
                    put(line)
                continue
            if said == BACK:
                survey = survey.taken_back()
                continue
            survey = _changed(survey, read, put, width) if said == CHANGE else survey.answer(said)
        except EOFError:
            put("")
            return survey
        except Wrong as wrong:
            put(f"  {wrong}")
            continue
        for told in (*texts.moved(before, survey), *texts.unused(survey)):
            put(f"  {told}")
        if survey.line:
            put("  So far: " + " · ".join(survey.line))
    return survey


def _changed(survey: Survey, read: Callable[[], str], put: Put, width: int) -> Survey:
    """The survey with one of its answers given anew.

    Raises:
        Wrong: there is no such answer, or the card does not take what is said.
        EOFError: nothing more is read.
    """
    from ..engine.front import Wrong

    for number, answer in enumerate(survey.answers, 1):
        for line in _hung(f"{number}  ", f"{survey.asked(answer.card).ask} {answer.said}", width):
            put(line)
    put("  Which one? Its number.")
    said = read().strip()
    if not (said.isascii() and said.isdigit()) or not 0 < int(said) <= len(survey.answers):
        raise Wrong("there is no such answer")
    place = int(said) - 1
    for line in card_lines(survey.asked(survey.answers[place].card), width):
        put(line)
    return survey.said_again(place, read().strip())


def _hanging(survey: Survey, card: str, width: int) -> Iterator[str]:
    """Why a card is asked: what hangs on it."""
    hangs = survey.hangs_on(card)
    if hangs.waiting or not hangs.answers:
        names = ", ".join(hangs.waiting) or "the rest of the design"
        yield from _hung("", f"Without it these stay open: {names}.", width)
    elif hangs.same:
        said = "So far every answer leads to the same. It is asked for what comes after it."
        yield from _hung("", said, width)
    for answer, line, sentences in () if hangs.same else hangs.answers:
        told = "; ".join([" · ".join(line) or "nothing yet", *sentences])
        yield from _hung(f"{answer}: ", told, width)


def answered(survey: Survey, answers: dict[str, list[str]], name: str) -> Survey:
    """The survey as *answers* (card -> what is said to it, each time it is put) answer it; what
    they do not say is not known.

    Raises:
        Faults: a card does not take what is said to it, or an answer is of no card that was put.
    """
    from ..engine.front import Wrong

    left = {card: list(said) for card, said in answers.items()}
    faults = []
    while (card := survey.card) is not None:
        said = left[card.card].pop(0) if left.get(card.card) else ""
        try:
            survey = survey.answer(said)
        except Wrong as wrong:
            what = f"{card.card}: {card.ask} does not take {said!r}: {wrong}"
            faults.append(Fault("answer", Place(name), what, "answers: " + "; ".join(card.choices)))
            survey = survey.answer("")
    for card_id, rest in left.items():
        if rest:
            what = f"nobody asked for {card_id}: {rest[0]}"
            todo = f"asked were: {', '.join(dict.fromkeys(a.card for a in survey.answers))}"
            faults.append(Fault("answer", Place(name), what, todo))
    if faults:
        raise Faults(faults)
    return survey


def read_answers(path: str) -> dict[str, list[str]]:
    """A file of answers: card, and what is said to it (a list where it is put more than once).

    Raises:
        Faults: it is no such file.
    """
    from ..engine.front import decode, read_bytes, read_yaml

    try:
        body = read_yaml(decode(read_bytes(Path(path), path), path), path)
    except Fault as fault:
        raise Faults([fault]) from None
    if not isinstance(body, dict):
        raise Faults([Fault("answers", Place(path), "this names no answers", "plate: 48 A")])
    return {
        str(card): [str(one) for one in (said if isinstance(said, list) else [said])]
        for card, said in body.items()
    }


def card_lines(card: Asked, width: int) -> Iterator[str]:
    """A card as lines of text."""
    yield ""
    yield from textwrap.wrap(card.ask, width)
    yield from _hung("Look: ", card.look, width)
    for number, choice in enumerate(card.choices, 1):
        yield from _hung(f"{number}  ", choice, width)
    yield from _hung("", _how(card), width)


def _how(card: Asked) -> str:
    """How the card is answered, and what it costs not to."""
    entry = " and ".join(card.entry)
    if card.choices and card.entry:
        type_ = f"A number and the {entry}, as in 2 35."
    elif card.choices:
        type_ = "A number."
    else:
        type_ = f"Type {entry}."
    return f"{type_} ? if you don't know: {card.unknown}. w: why do you ask?"


def _hung(lead: str, text: str, width: int) -> list[str]:
    indent = "  " + " " * len(lead)
    return textwrap.wrap(
        text, width, initial_indent="  " + lead, subsequent_indent=indent, break_on_hyphens=False
    )


def end_lines(survey: Survey, written: str) -> Iterable[str]:
    """What came of a survey before its note: where the job was written."""
    if not survey.line:
        yield "Nothing can be worked out yet."
    if written:
        yield f"Written to {written}. To go on: whywire why, fix and inspect {written}"


def written(survey: Survey, path: str) -> None:
    """Write the job of a survey into its file: a new one, or the one it went on from, in which what
    is alike stays as it was written.

    Raises:
        FileExistsError: the file is there, and the survey did not go on from it.
    """
    from ..engine.front import job_text, job_updated

    file = Path(path)
    if survey.file is None:
        with file.open("x", encoding="utf-8") as new:
            new.write(job_text(survey.body))
        return
    said = job_updated(file.read_text(encoding="utf-8"), survey.body)
    beside = file.with_name(f".{file.name}.{os.getpid()}")
    beside.write_text(said, encoding="utf-8")
    beside.replace(file)  # all of it or nothing


def inspected(survey: Survey) -> Inspection:
    """The job of a survey, inspected."""
    from ..engine.front import inspect

    return inspect(survey.body)


def as_dict(survey: Survey) -> dict[str, Any]:
    """A survey as plain data: every card in the order in which it was put, and the job."""
    cards, at = [], survey
    for _ in survey.answers:
        at = at.taken_back()
        card = at.card
        assert card is not None, "an answer has a card that it was said to"
        cards.append(
            {
                "card": card.card,
                "ask": card.ask,
                "choices": list(card.choices),
                "said": survey.answers[len(at.answers)].said,
            }
        )
    return {
        "cards": cards[::-1],
        "line": survey.line,
        "results": survey.results,
        "assumed": [g._asdict() for g in survey.assumed],
        "job": survey.body,
    }
