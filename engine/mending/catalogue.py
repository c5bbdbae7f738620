"""The actions of the packs laid on one job: what can be done to which thing, in which steps, and
what each step would tell otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any, TypeAlias

from ..basics.sentinels import NONE, NOTHING
from ..basics.units import Range
from ..language.actions import BRACES, OPTIONAL, TAKEN_OUT, Action, Changed, Path
from ..language.things import Thing, members
from ..language.words import Word
from ..proving.wording import short, show, unit_shown
from ..running.chain import World

Value: TypeAlias = Any  # whatever a cell may hold
Change: TypeAlias = tuple[str, str, Value]  # (thing id, fact, value; None leaves it untold)
Key: TypeAlias = tuple[str, str]  # (thing id, fact)


MANY = 12  # steps of sizes and ratings that are tried in one direction, each by itself


class Step:
    """One step of an offer: what it tells otherwise, and what it costs."""

    def __init__(self, changes: tuple[Change, ...], cost: Fraction, taken_out: str = "") -> None:
        self.changes, self.cost, self.taken_out = changes, cost, taken_out
        self.told = {(thing, fact): value for thing, fact, value in changes}


class Offer:
    """One action on one thing, in one direction: its steps, the nearest first."""

    def __init__(self, action: Action, thing: Thing, up: bool | None, steps: list[Step]) -> None:
        self.action, self.thing, self.up, self.steps = action, thing, up, steps
        self.keys = frozenset(key for step in steps for key in step.told)

    def said(self, world: World, step: Step) -> str | None:
        """What to do, in words, as it is in *world*, in which it is done; None where something in
        it has no name there, as a cable that is not sold.
        """
        x = world.things[self.thing[0].id]

        def filled(found: Any) -> str:
            """What stands for a name.

            Raises:
                KeyError: nothing does.
            """
            text = self._called(world, x, found[1], step)
            if not text:
                raise KeyError(found[1])
            return text

        def maybe(found: Any) -> str:
            try:
                return BRACES.sub(filled, found[1])
            except KeyError:
                return ""

        try:
            return BRACES.sub(filled, OPTIONAL.sub(maybe, self.action.text))
        except KeyError:
            return None

    def _called(self, world: World, thing: Thing, name: str, step: Step) -> str:
        """What stands for a name in braces: what the action calls so, or a fact."""
        if name == TAKEN_OUT and step.taken_out:
            return step.taken_out
        lines = self.action.names.get(name)
        if lines is None:
            names = tuple(step.strip() for step in reversed(name.split(" of ")))
            return _text_at(world, thing, tuple(world.k.words.spell(thing[0].kind, names)))
        known = (line.ev(thing, None) for line in lines)
        return next((show(value) for value in known if value not in (None, NOTHING, NONE)), "")


def brought_along(world: World, thing: Thing, fact: str) -> list[Key]:
    """What comes along when a fact of a thing is changed, and is told: of a cable its ground."""
    return [
        (end[0].id, path[-1])
        for action in world.k.actions
        if action.about == thing[0].kind and action.brings
        if any(changed.path == (fact,) for changed in action.changes)
        if action.makes_sense_on(thing)
        for path in action.brings
        for end in _ends(world, thing, path)
        if path[-1] in end[0].told
    ]


def offers(world: World) -> Iterator[Offer]:
    """Everything that the actions in force offer to do in a job as it is told."""
    for action in world.k.actions:
        for thing in world.by_kind[action.about]:
            if action.makes_sense_on(thing):
                yield from _offers_on(world, action, thing)


def _offers_on(world: World, action: Action, thing: Thing) -> Iterator[Offer]:
    """What an action offers to do on one thing, in each direction there is."""
    untold = tuple(
        (end[0].id, path[-1], None)
        for path in (*action.untells, *action.brings)
        for end in _ends(world, thing, path)
        if path[-1] in end[0].told
    )
    fixed: list[Change] = []
    for changed in (*action.changes, *action.finds):
        if changed.in_steps:
            continue
        ends = _ends(world, thing, changed.path)
        looks = changed in action.finds
        # what somebody looked for and did not find is not offered to be looked for again
        if not ends or looks and any(_is_known(end, changed.word) for end in ends):
            return
        fixed += [(end[0].id, changed.word.name, changed.steps[0]) for end in ends]
    stepping = action.stepping
    if action.takes_out is not None:
        if steps := _taken_out(world, action, thing, action.takes_out):
            yield Offer(action, thing, None, steps)
        return
    if stepping is None:
        # an action that leaves everything as it is would be a way out that costs nothing and does
        # nothing
        if any(not _stands(world, change) for change in fixed):
            cost = Fraction(action.weight)
            yield Offer(action, thing, None, [Step((*fixed, *untold), cost)])
        return
    # steps go from what there is, and of several things there may be several: the first stands for
    # all
    for end in _ends(world, thing, stepping.path)[:1]:
        yield from _stepped(action, thing, end, stepping, (*fixed, *untold))


def _stepped(
    action: Action, thing: Thing, end: Thing, stepping: Changed, more: tuple[Change, ...]
) -> Iterator[Offer]:
    """The offers of an action with steps: up from what there is, and down from it."""
    now, word = end[stepping.word.slot], stepping.word
    if now is NONE or now is None and word.unit or isinstance(now, Range):
        return  # no step leads up or down from what nobody knows
    for up in (True, False):
        if action.direction and up is not (action.direction == "up"):
            continue
        values = _beyond(stepping.steps, now, word, up)
        if not stepping.equal:
            # beyond a dozen sizes nothing is bought to mend a fault; steps of equal length (every
            # 1 in from 6 in to 24 in) are as many as the action says
            values = values[:MANY]
        steps = [
            Step(
                ((end[0].id, word.name, value), *more),
                # the nearer step is the cheaper of two of one action, and no step makes it dearer
                # than the next class of work
                action.weight + Fraction(place, 100),
            )
            for place, value in enumerate(values, 1)
        ]
        if steps:
            yield Offer(action, thing, up, steps)


def _taken_out(world: World, action: Action, thing: Thing, listed: Word) -> list[Step]:
    """What becomes of a list when its last member is led out, its last two, and so on."""
    there, steps = members(thing[listed.slot]), []
    # the last member stays: a list without any is another thing than one with fewer
    for count in range(1, len(there)):
        out, left = there[-count:], there[:-count]
        changes: list[Change] = [(x[0].id, listed.back, NONE) for x in out]
        changes.append((thing[0].id, listed.name, type(thing[listed.slot])(left)))
        # a list of the wholes of what is led out has them no longer, unless another part stays
        gone = {id(x[0].whole) for x in out} - {id(x[0].whole) for x in left}
        for word in world.k.words.kinds[thing[0].kind].words.values():
            now = thing[word.slot]
            if word.type[0] == "many" and not word.back and not word.part and now is not None:
                if any(id(x) in gone for x in members(now)):
                    stay = [x for x in members(now) if id(x) not in gone]
                    changes.append((thing[0].id, word.name, type(now)(stay)))
        for word in action.lessens:
            if word.name in thing[0].told:
                changes.append((thing[0].id, word.name, thing[0].told[word.name] - count))
        names = [short(x[0].whole or x) for x in out]
        said = f"{', '.join(names[:-1])} and {names[-1]}" if names[1:] else names[0]
        steps.append(
            Step(
                tuple(changes),
                Fraction(action.weight * count),
                f"each of {said}" if names[1:] else said,
            )
        )
    return steps


def _beyond(steps: tuple[Value, ...], now: Value, word: Word, up: bool) -> list[Value]:
    """The steps beyond a value, the nearest first."""
    if word.unit:
        beyond = [step for step in steps if (step > now if up else step < now)]
        # a table may list its rows in any order; the nearest is tried first
        return sorted(beyond, reverse=not up)
    if now not in steps:
        # words without an order: whichever comes first
        return list(steps) if up else []
    at = steps.index(now)
    return list(steps[at + 1 :]) if up else list(reversed(steps[:at]))


def _is_known(thing: Thing, word: Word) -> bool:
    """Whether somebody has told a fact, or looked for it and found no marking."""
    return word.name in thing[0].told or word.name in thing[0].looked


def _stands(world: World, change: Change) -> bool:
    """Whether a fact is already what a change would make of it."""
    thing, fact, value = change
    x = world.things[thing]
    return bool(x[world.k.words.kinds[x[0].kind].words[fact].slot] == value)


def _ends(world: World, thing: Thing, path: Path) -> list[Thing]:
    """The things whose fact a path ends at: of a list each of its members."""
    holders = [thing]
    for name in path[:-1]:
        cells = [x[world.k.words.kinds[x[0].kind].words[name].slot] for x in holders]
        holders = [x for cell in cells for x in ([cell] if type(cell) is list else members(cell))]
    return holders


def _text_at(world: World, thing: Thing, path: Path) -> str:
    """What stands at the end of a path, as it is written; of several things what all share."""
    said = set()
    for end in _ends(world, thing, path):
        word = world.k.words.kinds[end[0].kind].words[path[-1]]
        value = end[word.slot]
        # a thing whose size is not known has no name at the counter
        if value is None or value is NONE:
            return ""
        said.add(show(value, unit_shown(end, word.name, word.unit), brief=True))
    # of things that differ nothing can be said in one word, and a wrong word would be bought
    return said.pop() if len(said) == 1 else ""


__all__ = ["Change", "Key", "MANY", "Offer", "Step", "brought_along", "offers"]
