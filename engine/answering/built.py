"""What whoever builds a thing anew puts in, because a requirement waits for it: a GFCI breaker, a
disconnect. It is designed, stands in the line of the design, and nobody is asked for it.

What may be built stands with the word (`built:`); a requirement asks for it where its conditions
are known to be met and its test waits for that fact. Where no requirement is known to, it is left
open, and what is asked is whether one does (`Where is the outlet?`), never whether it is there.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

from ..basics.sentinels import NONE
from ..basics.units import parse_quantity
from ..language.noted import BuiltAs
from ..language.rules import Rule
from ..language.things import Thing
from ..language.words import Word, Words
from ..running.chain import World
from ..running.job import Job
from ..running.rerun import Change, tell
from .findings import Need, word_of
from .tiers import is_so


class Built(NamedTuple):
    """One thing that is put in, what is so of it then, and each requirement that asks for it."""

    of: str
    fact: str
    changes: tuple[Change, ...]
    is_part: bool  # whether it is a part that nobody spoke of
    asked_by: tuple[tuple[str, str], ...]  # (rule, thing)


def built_as(world: World, thing: Thing, word: Word) -> BuiltAs | None:
    """What a word says is put in on a thing where a requirement asks for it; None where nobody
    builds it, or somebody told it.
    """
    meta = thing[0]
    if thing[word.slot] is not None or word.name in meta.told or word.name in meta.looked:
        return None
    return next((one for one in word.built if is_so(world, thing, one.where)), None)


def value_of_text(word: Word, text: str) -> Any:
    """What a text of the vocabulary says of a fact, as a value."""
    if text == "none":
        return NONE
    if word.unit:
        return parse_quantity(text, word.unit)[0]
    return {"yes": True, "no": False}.get(text, text) if word.type[0] == "flag" else text


def _changes(world: World, of: str, word: Word, said: BuiltAs) -> tuple[Change, ...]:
    if not isinstance(said.value, dict):
        return ((of, word.name, value_of_text(word, said.value)),)
    facts = world.k.words.kinds[word.type[1]].words
    return tuple(
        (f"{of}.{word.name}", name, value_of_text(facts[name], text))
        for name, text in said.value.items()
    )


def built_where(words: Words) -> set[tuple[str, str]]:
    """(kind, fact) of what says by itself whether something is put in."""
    return {
        (kind.name, path[0])
        for kind in words.kinds.values()
        for word in kind.words.values()
        for one in word.built
        for path, _, _ in one.where
        if len(path) == 1
    }


class Building:
    """Finds what is built in a job, of what its open requirements wait for."""

    def __init__(self, world: World) -> None:
        self.world = world

    def is_built(self, need: Need) -> bool:
        """Whether whoever builds it puts that in where it is required, so that nobody is asked."""
        return self._as(need.of, need.fact) is not None

    def _as(self, of: str, fact: str) -> BuiltAs | None:
        return built_as(self.world, self.world.things[of], word_of(self.world, of, fact))

    def wanted(self, waiting: Iterable[tuple[Rule, Thing, Iterable[Need]]]) -> list[Built]:
        """What is put in because something that is known to be required waits for it."""
        asked: dict[tuple[str, str], list[tuple[str, str]]] = {}
        for rule, thing, needs in waiting:
            if all(condition.ev(thing, None) is True for condition in rule.when):
                for need in needs:
                    if self.is_built(need):
                        asked.setdefault((need.of, need.fact), []).append((rule.id, thing[0].id))
        out = []
        for (of, fact), by in asked.items():
            word, said = word_of(self.world, of, fact), self._as(of, fact)
            if said is not None:
                changes = _changes(self.world, of, word, said)
                out.append(Built(of, fact, changes, bool(word.part), tuple(by)))
        return out


def lay_on(job: Job, taken: Iterable[Change], built: Iterable[Built]) -> None:
    """Tell a job, which is not run yet, what is taken for granted and what is put in."""
    for one in built:
        if one.is_part:
            job.add_part(one.of, one.fact)
    tell(job, [*taken, *(change for one in built for change in one.changes)])
