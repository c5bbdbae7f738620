"""A survey at the terminal: plain numbered lines, read well by a screen reader and from a pipe.

Nothing moves the cursor and nothing is drawn over. A person types the number of an answer or its
words, `?` where it is not known, `b` to take the last answer back, `q` to stop: what was said
until then is written all the same.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..engine.front import Fault, Faults, Place

if TYPE_CHECKING:
    from ..engine.front import Asked, Inspection, Survey

Put = Callable[[str], None]
BACK, STOP = "b", "q"


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


def asked_in_person(survey: Survey, read: Callable[[], str], put: Put, width: int) -> Survey:
    """Put each card, and read its answer, until none is left or the person stops."""
    from ..engine.front import Wrong

    while (card := survey.card) is not None:
        for line in card_lines(card, width):
            put(line)
        try:
            said = read().strip()
        except EOFError:
            put("")
            return survey
        if said == STOP:
            return survey
        if said == BACK:
            survey = survey.taken_back()
            continue
        try:
            survey = survey.answer(said)
        except Wrong as wrong:
            put(f"  {wrong}")
            continue
        if survey.line:
            put("  So far: " + " · ".join(survey.line))
    return survey


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
    return f"{type_} ? if you don't know: {card.unknown}."


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
