"""A survey that goes on where a job's file stands: what the file says, as answers to the cards.

What no card asks, or says in other words, stays in the job as it is; a card that it answers already
is not put.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from ..basics.errors import Fault, Faults, Place
from ..language.knowledge import Knowledge
from .cards import ROUTE, Card, Cards, Facts, Kind
from .job_file import alike, plain
from .survey import KIND, MORE, NO, OF_THE_JOB, YES, Answer, File, Survey, value_at

ASSUMED, CIRCUITS = "assumed", "circuits"


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
    job, told = _without_assumed(job, circuit)
    kind = _kind_of(cards, told)
    if kind is None:
        return Survey(cards, knowledge, {}, (), File(circuit, job))
    answers = (Answer(KIND, kind.say), *_answers(cards, kind, job, told))
    said = Survey(cards, knowledge, {}, answers, File(circuit, {}))
    # what is only assumed there may have been told in the file, and then it stays told
    known, _ = _without_assumed(said.body, circuit)
    return Survey(cards, knowledge, {}, answers, File(circuit, _less(job, known)))


def _without_assumed(job: Facts, circuit: str) -> tuple[Facts, Facts]:
    """The job without what a survey assumed of the circuit, and what is left of that."""
    head = f"{CIRCUITS}.{circuit}"
    ours = [one for one in job.get(ASSUMED) or [] if one.startswith((f"{head}.", f"{head}/"))]
    told = dict(job.get(CIRCUITS, {}).get(circuit) or {})
    for one in ours:
        told = _less_path(told, one.removeprefix(head).strip("./").replace(".", "/"))
    others = [one for one in job.get(ASSUMED) or [] if one not in ours]
    left = {**job, CIRCUITS: {**job.get(CIRCUITS, {}), circuit: told}}
    left.pop(ASSUMED, None)
    return ({**left, ASSUMED: others} if others else left), told


def _less_path(body: Facts, path: str) -> Facts:
    first, _, rest = path.partition("/")
    inner = body.get(first)
    if not rest:
        return {key: value for key, value in body.items() if key != first}
    return {**body, first: _less_path(inner, rest)} if isinstance(inner, dict) else body


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


def _kind_of(cards: Cards, told: Facts) -> Kind | None:
    """The kind of job that says the most of what is told, and nothing else."""
    fitting = [kind for kind in cards.kinds.values() if told and _says(told, {}, kind.sets)]
    return max(fitting, key=lambda kind: len(kind.sets), default=None)


def _says(told: Facts, job: Facts, facts: Facts) -> bool:
    """Whether all of *facts* is told, of the circuit or of the job."""
    return all(
        alike(
            value_at(job, path.removeprefix(OF_THE_JOB))
            if path.startswith(OF_THE_JOB)
            else value_at(told, path),
            value,
        )
        for path, value in facts.items()
    )


def _answers(cards: Cards, kind: Kind, job: Facts, told: Facts) -> Iterator[Answer]:
    """What the file says to each card of the kind that it says in the card's own words."""
    for id_ in kind.ask:
        if id_ == ROUTE:
            yield from _route(cards.route, told)
            continue
        card = cards.cards[id_]
        said = _choice(card, job, told) if card.choices else _numbers(card, told)
        if said is not None:
            yield Answer(id_, said)


def _choice(card: Card, job: Facts, told: Facts) -> str | None:
    """The choice of which everything is told: of several the one that says the most."""
    fitting = [
        choice for choice, facts in card.choices.items() if facts and _says(told, job, facts)
    ]
    return max(fitting, key=lambda choice: len(card.choices[choice]), default=None)


def _numbers(card: Card, told: Facts) -> str | None:
    said = []
    for entry in card.entry:
        found = [
            " ".join(str(value).replace(unit, f" {unit}").split())
            for unit, fact in entry.units.items()
            if (value := value_at(told, fact)) is not None and str(value).endswith(unit)
        ]
        if not found:
            return None
        said.append(min(found, key=len))
    return ", ".join(said)


def _route(card: Card, told: Facts) -> Iterator[Answer]:
    """The stretches, where each of them is one that the card knows."""
    segments = told.get("segments")
    if not isinstance(segments, list):
        return
    said = []
    for segment in segments:
        facts = {key: value for key, value in segment.items() if key != "length"}
        place = next((one for one, known in card.choices.items() if alike(facts, known)), None)
        if place is None or "length" not in segment:
            return
        said.append(f"{place} · {segment['length']}")
    for number, one in enumerate(said):
        if number:
            yield Answer(MORE, NO)
        yield Answer(ROUTE, one)
    yield Answer(MORE, YES)


__all__ = ["resumed"]
