"""What a person said outright where an inspector measures: it counts, and is marked as theirs."""

from __future__ import annotations

from ..language.things import Thing
from ..language.words import Word
from ..running.chain import World


def is_as_said(thing: Thing, word: Word) -> bool:
    """Whether *word* of a thing was told and nothing by which it is measured was."""
    told = thing[0].told
    return (
        word.name in told
        and bool(word.measured_by)
        and not any(measure in told for measure in word.measured_by)
    )


def all_as_said(world: World) -> list[tuple[Thing, Word]]:
    """Everything of a job that was said and not measured, in the order of its kinds and things."""
    return [
        (thing, word)
        for kind in world.k.words.kinds.values()
        for word in kind.words.values()
        if word.measured_by
        for thing in world.by_kind[kind.name]
        if is_as_said(thing, word)
    ]
