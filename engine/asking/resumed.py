"""A survey that goes on where a job's file stands: what the file says, as answers to the cards.

What no card asks, or says in other words, stays in the job as it is; a card that it answers already
is not put.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from ..basics.errors import Fault, Faults, Place
from ..language.knowledge import Knowledge
from .cards import ROUTE, Card, Cards, Kind
from .job_file import alike, plain
from .places import CIRCUITS, OF_SEGMENTS, SEGMENTS, UNKNOWN, Facts, keys_told, value_at, without
from .said import AND, APART, OPEN
from .survey import KIND, MORE, Answer, File, Survey

ASSUMED = "assumed"


def resumed(
    cards: Cards, knowledge: Knowledge, body: Mapping[str, Any], circuit: str | None, name: str
) -> Survey:
    """The survey of a circuit of the job *body*, whose file is called *name*; of the only one, or
    of a new one that *circuit* names.

    Raises:
        Faults: there are several, and nothing says which.
    """
    job = plain(body)
    circuits = job.get(CIRCUITS) or {}
    if circuit is None:
        if len(circuits) != 1:
            what = f"there are {len(circuits)} circuits here" if circuits else "no circuit is here"
            todo = f"--circuit with one of {', '.join(circuits)}, or a new name"
            raise Faults([Fault("which-circuit", Place(name), what, todo)])
        circuit = next(iter(circuits))
    job = _without_assumed(job, circuit)
    bare = Survey(cards, knowledge, {}, (), File(circuit, job))
    kind = _kind_of(bare, job)
    if kind is None:
        return bare
    answers = (Answer(KIND, kind.say), *_answers(bare, kind, job))
    said = Survey(cards, knowledge, {}, answers, File(circuit, {}))
    # what is only assumed there may have been told in the file, and then it stays told
    known = _without_assumed(said.body, circuit)
    return Survey(cards, knowledge, {}, answers, File(circuit, _less(job, known)))


def _without_assumed(job: Facts, circuit: str) -> Facts:
    """The job without what a survey assumed of the circuit, and of what is beside it: a circuit of
    another name keeps its own.
    """
    others = []
    for one in job.get(ASSUMED) or []:
        keys = keys_told(str(one))
        if keys[:1] == (CIRCUITS,) and keys[1:2] != (circuit,):
            others.append(one)
        else:
            job = without(job, keys)
    left = {key: value for key, value in job.items() if key != ASSUMED}
    return {**left, ASSUMED: others} if others else left


def _less(job: Facts, known: Mapping[str, Any]) -> Facts:
    """*job* without what *known* says alike."""
    out = {}
    for key, value in job.items():
        other = known.get(key)
        if isinstance(value, dict) and isinstance(other, Mapping):
            if left := _less(value, other):
                out[key] = left
        elif alike(value, other):
            continue
        else:
            out[key] = value
    return out


def _kind_of(survey: Survey, job: Facts) -> Kind | None:
    """The kind of job that says the most of what is told, and nothing else but what one of its own
    cards may tell otherwise: of a plug with four pins that there is a neutral.
    """
    fitting = []
    for kind in survey.cards.kinds.values():
        cards = [survey.cards.cards[id_] for id_ in kind.ask if id_ != ROUTE]
        told = {path for card in cards for facts in card.choices.values() for path in facts}
        own = {path: said for path, said in kind.sets.items() if path not in told}
        if _says(survey, job, own):
            fitting.append(kind)
    return max(fitting, key=lambda kind: len(kind.sets), default=None)


def _says(survey: Survey, job: Facts, facts: Mapping[str, Any]) -> bool:
    """Whether *job* tells all of *facts*."""
    named = survey.named
    return all(
        _tells(value_at(job, named.keys(path)), named.fill(value)) for path, value in facts.items()
    )


def _tells(there: Any, said: Any) -> bool:
    """Whether what is there says the same, and of parts at least all that is said."""
    if isinstance(there, Mapping) and isinstance(said, Mapping):
        return all(_tells(there.get(key), value) for key, value in said.items())
    return alike(there, said)


def _answers(survey: Survey, kind: Kind, job: Facts) -> Iterator[Answer]:
    """What the file says to each card of the kind that it says in the card's own words."""
    way = value_at(job, survey.named.keys(SEGMENTS))
    of_each: Facts = {}  # what an answer says of every stretch
    for id_ in kind.ask:
        if id_ == ROUTE:
            yield from _route(survey.cards.route, survey.cards.more.end, way, of_each)
            continue
        card = survey.cards.cards[id_]
        if any(path.startswith(OF_SEGMENTS) for told in card.choices.values() for path in told):
            said = _of_the_way(card, way)
            of_each |= _of_each(card, said) if said else {}
        elif card.choices:
            said = _chosen(survey, card, job)
        else:
            said = _numbers(survey, card, job)
        if said is not None:
            yield Answer(id_, said)


def _of_the_way(card: Card, way: Any) -> str | None:
    """The choice that every stretch of the way says; none of what was looked at in vain."""
    if not isinstance(way, list):
        return None
    for choice in card.choices:
        told = {key: said for key, said in _of_each(card, choice).items() if said != UNKNOWN}
        if told and all(_tells(segment, told) for segment in way):
            return choice
    return None


def _of_each(card: Card, choice: str) -> Facts:
    """What a choice says of every stretch."""
    return {
        path.removeprefix(OF_SEGMENTS): value
        for path, value in card.choices[choice].items()
        if path.startswith(OF_SEGMENTS)
    }


def _chosen(survey: Survey, card: Card, job: Facts) -> str | None:
    """The choice that the job tells, with the numbers that belong to it."""
    choice = _choice(survey, card, job)
    if choice is None or not card.entry or choice in card.alone:
        return choice
    numbers = _numbers(survey, card, job)
    return None if numbers is None else f"{choice}{APART}{numbers}"


def _choice(survey: Survey, card: Card, job: Facts) -> str | None:
    """The choice of which everything is told: of several the one that says the most, or all of
    those that may be told at once.
    """
    fitting = [
        choice for choice, facts in card.choices.items() if facts and _says(survey, job, facts)
    ]
    if card.several:
        return AND.join(fitting) or None
    return max(fitting, key=lambda choice: len(card.choices[choice]), default=None)


def _numbers(survey: Survey, card: Card, job: Facts) -> str | None:
    """The numbers that the job tells; None where it tells none of them."""
    said = []
    for entry in card.entry:
        found = [
            " ".join(str(value).replace(unit, f" {unit}").split())
            for unit, fact in entry.units.items()
            if (value := value_at(job, survey.named.keys(fact))) is not None
            and str(value).endswith(unit)
        ]
        said.append(min(found, key=len, default=OPEN))
    return ", ".join(said) if {*said} != {OPEN} else None


def _route(card: Card, end: str, way: Any, of_each: Facts) -> Iterator[Answer]:
    """The stretches and the *end* of the way, where each of them is one that the card knows, and
    says no more than that and what is said *of_each*.
    """
    if not isinstance(way, list):
        return
    said = []
    for segment in way:
        facts = {
            key: value
            for key, value in segment.items()
            if key != "length" and not alike(of_each.get(key), value)
        }
        place = next((one for one, known in card.choices.items() if alike(facts, known)), None)
        if place is None or "length" not in segment:
            return
        said.append(f"{place}{APART}{segment['length']}")
    yield from (Answer(ROUTE, one) for one in said)
    yield Answer(MORE, end)


__all__ = ["resumed"]
