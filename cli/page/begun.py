"""A job that a person opened on the page: its file read, and what a page keeps of it.

A page keeps what no card asks as JSON in a hidden field, beside the answers; nothing of it is a
name of a file. A job that names packs is not gone on with here: they are folders on a machine.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Any

from ...engine.front import (
    Fault,
    Faults,
    Place,
    Survey,
    SurveyFile,
    mapping_alone,
    plain_body,
    read_yaml,
    resumed,
)

Begun = Callable[[dict[str, Any]], Survey]
MOST_FILE = 60_000  # characters of a job's file, far more than a house has
MOST_DEEP = 12  # of what is kept: a job's file is five deep
NAME = "the file"


class Several(Exception):
    """The job has several circuits; `names` are what they are called."""

    def __init__(self, names: list[str]) -> None:
        super().__init__("which circuit?")
        self.names = names


def opened(text: str, circuit: str, anew: bool, begun: Begun) -> Survey:
    """The survey that goes on where the file *text* stands; *circuit* is which is meant, or one is
    begun *anew*.

    Raises:
        Several: nothing says which circuit is meant.
        Faults: it is no job, or one that this page cannot go on with.
    """
    if len(text) > MOST_FILE:
        raise _not_here("this file is longer than a job is", "is this the right file?")
    try:
        body = plain_body(mapping_alone(read_yaml(text, NAME), NAME))
    except Fault as fault:
        raise Faults([fault]) from None
    _see(body)
    there = body.get("circuits")
    names = [*there] if isinstance(there, dict) else []
    if not circuit and len(names) > 1:
        raise Several(names)
    bare = begun(body)
    if anew or not names:
        return Survey(bare.cards, bare.k, {}, (), SurveyFile("", body)).another()
    found = resumed(bare.cards, bare.k, body, circuit or names[0], NAME)
    return Survey(bare.cards, bare.k, {}, found.answers, found.begun_as)


def kept(survey: Survey) -> str:
    """What a page keeps of the file that a survey went on from; "" where there was none."""
    file = survey.begun_as
    return json.dumps({"circuit": file.circuit, "rest": file.rest}) if file else ""


def from_kept(said: str, head: Mapping[str, str], begun: Begun) -> Survey:
    """The survey without answers that a page kept with `kept`.

    Raises:
        Faults: it was not kept so, or nothing says which law is in force.
    """
    try:
        told = json.loads(said)
        circuit, rest = told["circuit"], told["rest"]
        shallow = _depth(rest) <= MOST_DEEP
    except (ValueError, KeyError, TypeError, RecursionError):
        shallow = False
    if not shallow or not isinstance(rest, dict) or not isinstance(circuit, str):
        raise _not_here("this page kept no job that can be gone on with", "open the file again")
    rest = plain_body(rest)
    _see(rest)
    bare = begun({**rest, **head})
    return Survey(bare.cards, bare.k, dict(head), (), SurveyFile(circuit, rest))


def _see(body: Any) -> None:
    """See that nothing in a job names a folder. Raises Faults."""
    if isinstance(body, dict) and "packs" in body:
        todo = "go on with it at a terminal: whywire survey, with the job's file"
        raise _not_here("this job names packs, which are folders on a machine", todo)


def _not_here(what: str, todo: str) -> Faults:
    return Faults([Fault("not-here", Place(NAME), what, todo)])


def _depth(said: Any) -> int:
    if isinstance(said, dict):
        return 1 + max(map(_depth, said.values()), default=0)
    if isinstance(said, list):
        return 1 + max(map(_depth, said), default=0)
    return 0


__all__ = ["MOST_FILE", "Several", "from_kept", "kept", "opened"]
