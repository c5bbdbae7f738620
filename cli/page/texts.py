"""What a page says of a survey, as plain lines: the words that the terminal prints, not wrapped."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from ...engine.front import Inspection, Survey, job_text
from ..layout import Line

SHORT = 12  # characters of a digest that a person compares
WIDE = 10_000  # columns: a paragraph is broken by what shows it
Found = tuple[str, list[Line]]  # a heading, and lines


def law(survey: Survey) -> str:
    """Which law a survey is under: `NEC 2023, Kestrel County`."""
    place = survey.head.get("place")
    return f"NEC {survey.k.edition}" + (f", {place}" if place else "")


def law_of_day(survey: Survey) -> str:
    """Of which day the law of a survey is, and what tells its rules from others."""
    day = survey.head.get("permit date")
    lead = f"Law for a permit of {day}" if day else "No permit date: law of any day"
    return f"{lead}, rules {survey.k.digest[:SHORT]}"


def line(survey: Survey) -> list[tuple[str, str]]:
    """The design so far: what it says, and the fact that it is."""
    return survey.pieces


def moved(before: Survey, after: Survey) -> Iterator[str]:
    """What an answer moved in the design: `30 A 2-pole, was 60 A 2-pole`."""
    if before.kind is None or after.kind is not before.kind:
        return
    yield from moved_from(before.pieces, after)


def moved_from(pieces: Iterable[tuple[str, str]], after: Survey) -> Iterator[str]:
    """What is otherwise than in *pieces*, the line before an answer."""
    was = {fact: said for said, fact in pieces}
    for said, fact in after.pieces:
        if was.get(fact, said) != said:
            yield f"{said}, was {was[fact]}."


def assumed_besides(survey: Survey) -> list[str]:
    """What a note takes for granted beyond what the survey does, with where the answer flips."""
    from ...engine.front import note_of

    return [one for one in note_of(inspected(survey)).assumed if "right " in one]


def unused(survey: Survey) -> Iterator[str]:
    """What was said and no longer counts."""
    if survey.kind is None:
        return
    asked = {*survey.kind.ask}
    for answer in survey.unused:
        lead = "No longer used" if answer.card in asked else "Not used"
        yield f"{lead}: {survey.asked(answer.card).ask} {answer.said}."


def why(survey: Survey, fact: str, width: int = WIDE) -> Found:
    """Why a word of the line is so."""
    return _answered(survey, fact, None, width)


def why_not(survey: Survey, fact: str, value: str, width: int = WIDE) -> Found:
    """Why another *value* is not in the place of what the line says."""
    return _answered(survey, fact, value, width)


def _answered(survey: Survey, fact: str, value: str | None, width: int) -> Found:
    from ...engine.front import Unclear
    from ..show_answer import show_answer

    if fact not in [known for _, known in line(survey)]:
        return "Why?", [[("Nothing of that name is in the line.", "")]]
    assert survey.kind is not None, "a line is of a kind of job"
    name, _, of = fact.partition(" of ")
    words = [survey.kind.of or survey.name, *([of] if of else [])]
    found = inspected(survey)
    try:
        if value is None:
            answer = found.why(*words, name)
        else:
            answer = found.why_not(*words, f"{name}={value}")
    except Unclear as unclear:
        return "Why not?", [[(str(said), "")] for said in str(unclear).splitlines()]
    head, *rest = show_answer(answer, width)
    return "".join(said for said, _ in head), rest


def job(survey: Survey) -> str:
    """The job as its file."""
    return job_text(survey.body)


def file_name(survey: Survey) -> str:
    """What the file of the job is called: `kiln-studio.yaml`.

    >>> from types import SimpleNamespace
    >>> file_name(SimpleNamespace(head={"job": "Kiln, north studio"}))
    'kiln-north-studio.yaml'
    """
    name = re.sub(r"[^a-z0-9]+", "-", str(survey.head.get("job", "")).lower()).strip("-")[:60]
    return f"{name or 'survey'}.yaml"


def inspected(survey: Survey) -> Inspection:
    """The job so far, inspected under the law of its survey."""
    return Inspection(survey.body, survey.k)
