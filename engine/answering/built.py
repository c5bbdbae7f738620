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
from ..language import expressions as ex
from ..language.noted import BuiltAs
from ..language.rules import Rule
from ..language.things import Thing
from ..language.words import Word, Words
from ..running.chain import TELL, World
from ..running.job import Job
from ..running.program import program_of
from ..running.rerun import Change, tell
from .findings import word_of
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


def wanted(world: World) -> list[Built]:
    """What is put in because a requirement that is known to apply waits for it."""
    asked: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for rule, paths in _asking(world):
        for thing in world.by_kind[rule.about]:
            if world.answer(rule, thing) != TELL:
                continue
            if all(condition.ev(thing, None) is True for condition in rule.when):
                for key in _waited_for(world, paths, thing):
                    asked.setdefault(key, []).append((rule.id, thing[0].id))
    out = []
    for (of, fact), by in asked.items():
        word = word_of(world, of, fact)
        said = built_as(world, world.things[of], word)
        if said is not None:
            changes = _changes(world, of, word, said)
            out.append(Built(of, fact, changes, bool(word.part), tuple(by)))
    return out


def _asking(world: World) -> list[tuple[Rule, list[ex.Path]]]:
    """The rules about kinds of things that the job has, in their order, whose test comes by what
    may be built, each with the paths to it.
    """
    # few rules of many ask so, and one job is of the same kinds as the next: looked for once
    remembered = program_of(world.k).remembered
    kinds = frozenset(kind for kind, things in world.by_kind.items() if things)
    if ("built", kinds) not in remembered:
        remembered["built", kinds] = found = []
        for rule in world.k.rules.values():
            if rule.verb in ("must", "must not") and rule.about in kinds:
                paths = _to_what_is_built(world, rule)
                if paths:
                    found.append((rule, paths))
    asking: list[tuple[Rule, list[ex.Path]]] = remembered["built", kinds]
    return asking


def _to_what_is_built(world: World, rule: Rule) -> list[ex.Path]:
    """The paths in the test of a rule that come by a word that may be built."""
    kinds = world.k.words.kinds
    return [
        path
        for path in rule.tested()
        if any(
            kind in kinds and name in kinds[kind].words and kinds[kind].words[name].built
            for kind, name in zip(path.kinds, path.names)
        )
    ]


def _waited_for(world: World, paths: Iterable[ex.Path], thing: Thing) -> set[tuple[str, str]]:
    """(thing, fact) of the first fact on each path that is not known."""
    out = set()
    for path in paths:
        holder: Any = thing
        for name, slot in zip(path.names, path.slots):
            value = holder[slot]
            if value is None:
                out.add((holder[0].id, name))
            if not isinstance(value, list) or not hasattr(value[0], "kind"):
                break
            holder = value
    return out


def lay_on(job: Job, taken: Iterable[Change], built: Iterable[Built]) -> None:
    """Tell a job, which is not run yet, what is taken for granted and what is put in."""
    for one in built:
        if one.is_part:
            job.add_part(one.of, one.fact)
    tell(job, [*taken, *(change for one in built for change in one.changes)])
