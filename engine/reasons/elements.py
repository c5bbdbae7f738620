"""What a reason is made of: what somebody said, what is whole, and what may be assumed or
designed; and what of all that an outcome may rest on.

An element is a permission, not a value: *assumed* and *designed* are the leave to fill what nobody
said, whatever it is filled with. That a thing is there, and what it is a part of, is no element.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple, TypeAlias

from ..basics.sentinels import NONE
from ..language.rules import FILLING, Rule
from ..language.things import Members, NodeId, Thing, members
from ..language.words import NEVER, Word
from ..running.chain import World
from ..running.rerun import Readers

TOLD, WHOLE, ASSUMED, DESIGNED = "told", "whole", "assumed", "designed"
# of two reasons the one is shown that has less of what comes last here
SORTS = (TOLD, WHOLE, ASSUMED, DESIGNED)

FactOf: TypeAlias = tuple[str, str]  # (thing id, fact)


class Element(NamedTuple):
    """A fact that was said, a list that is whole, or the leave to assume or to design a fact."""

    sort: str
    thing: str
    fact: str


class Cone(NamedTuple):
    """All that may bear on an outcome, known or not."""

    nodes: frozenset[NodeId]  # of the order
    facts: frozenset[FactOf]  # of the things of the job


def cone_of(
    world: World, readers: Readers, rule: Rule, thing: Thing, otherwise: bool = False
) -> Cone:
    """All that the answer of a rule on a thing may rest on, while no more is told; *otherwise*,
    whatever else may be told, too.
    """
    behind = _Behind(world, readers, otherwise)
    behind.rule(rule, thing[0].slot or thing, thing[0].plane)
    return behind.all()


def cone_of_fact(
    world: World, readers: Readers, thing: Thing, fact: str, otherwise: bool = False
) -> Cone:
    """All that a fact may rest on, as with `cone_of`."""
    behind = _Behind(world, readers, otherwise)
    behind.fact(thing[0].slot or thing, fact, thing[0].plane)
    return behind.all()


class _Behind:
    """Gathers what may bear on something: back along the ways that rules read on.

    Unless something is told *otherwise*, what is unknown with nothing withheld stays so, and a fact
    that is filled is filled by nothing that comes later: none of that is gone behind.
    """

    def __init__(self, world: World, readers: Readers, otherwise: bool) -> None:
        self.world, self.readers, self.otherwise = world, readers, otherwise
        self.order, self.kinds = world.k.order, world.k.words.kinds
        self.facts: set[FactOf] = set()
        self.nodes: set[NodeId] = set()
        self.seen: set[tuple[str, ...]] = set()  # what was gone behind
        self.todo: list[tuple[Rule, Thing, str]] = []

    def all(self) -> Cone:
        """Whatever lies behind what was begun with."""
        while self.todo:
            rule, thing, plane = self.todo.pop()
            for exception in self.order.exceptions.get(rule.id, ()):
                self.rule(exception, thing, plane)
            for (_, fact), ways in self.readers.ways(rule.id).items():
                for way in ways:
                    for end in self._ends(thing, way):
                        self.fact(end, fact, "" if way else plane)
        return Cone(frozenset(self.nodes), frozenset(self.facts))

    def rule(self, rule: Rule, thing: Thing, plane: str) -> None:
        """Go behind a rule on a thing, or on the rows that a pick tries on it."""
        key = rule.id, thing[0].id, plane
        if key not in self.seen:
            self.seen.add(key)
            self.nodes.add(("rule", rule.id, plane))
            self.todo.append((rule, thing, plane))

    def fact(self, thing: Thing, fact: str, plane: str) -> None:
        """Go behind a fact of a thing, or of the rows that a pick tries on it."""
        kind = thing[0].kind
        node = "cell", kind, fact, plane
        # a fact of a row that does not change with the row is that of the thing it is tried for
        if plane and node not in self.readers.place:
            node, plane = ("cell", kind, fact, ""), ""
        key = thing[0].id, fact, plane
        unknown = not plane and thing[self.kinds[kind].words[fact].slot] is None
        # what is unknown with nothing withheld is not known with more of it withheld: nothing lies
        # behind it
        if key in self.seen or unknown and not self.otherwise:
            return
        self.seen.add(key)
        self.nodes.add(node)
        self.facts.add((thing[0].id, fact))
        for giver in self._givers(thing, fact, plane):
            if giver.verb != "tries":
                self.rule(giver, thing, plane)
            elif plane:
                self.fact(thing, fact, "")
            else:
                self._pick(giver, thing)

    def _givers(self, thing: Thing, fact: str, plane: str) -> list[Rule]:
        """The rules that may give a fact what it is, or another value."""
        givers: list[Rule] = self.order.givers.get((thing[0].kind, fact), [])
        if plane or self.otherwise:
            return givers
        # a size that is told is not picked, so no test of the pick bears on it
        if any(giver.verb == "tries" for giver in givers):
            return [] if fact in thing[0].told else givers
        if all(giver.verb == FILLING[0] for giver in givers):
            return givers
        # what fills only where nothing before it did (reckons, assumes, designs) bears on a fact as
        # far as the one that filled it, and no further
        settled = self.world.settle(thing[0].kind, fact, thing)
        verb = self.world.k.rules[settled.rule].verb if settled.rule else FILLING[0]
        return [g for g in givers if FILLING.index(g.verb) <= FILLING.index(verb)]

    def _pick(self, pick: Rule, thing: Thing) -> None:
        """Go behind a pick: what says which rows there are, and each test of them."""
        self.nodes |= {("try", pick.id), ("pick", pick.id)}
        for test in self.order.tests[pick.id]:
            self.rule(test, thing, pick.id)
        for (_, fact), ways in self.readers.ways(pick.id).items():
            for way in ways:
                for end in self._ends(thing, way):
                    self.fact(end, fact, "")

    def _ends(self, thing: Thing, way: tuple[FactOf, ...]) -> list[Thing]:
        """The things to which a way leads."""
        ends, kinds = [thing], self.world.k.words.kinds
        for kind, link in way:
            slot = kinds[kind].words[link].slot
            ends = [y for end in ends for y in _led_to(end[slot])]
        return ends


def _led_to(value: object) -> list[Thing]:
    if isinstance(value, Members):
        return members(value)
    return [value] if isinstance(value, list) else []


def elements_of(world: World, cone: Cone) -> list[Element]:
    """The elements of a cone, what is hardest to change first; in the order of the vocabulary where
    that does not tell, so that no answer changes with the order of a file.
    """
    kinds = world.k.words.kinds
    turn = {kind: place for place, kind in enumerate(kinds)}
    found = []
    for thing, fact in cone.facts:
        x = world.things[thing]
        kind = x[0].kind
        sort = _sort_of(world, x, kinds[kind].words[fact])
        if sort and (sort != TOLD or world.k.words.change(kind, fact) != NEVER):
            hard = world.k.words.change(kind, fact) if sort == TOLD else 0
            # the search lets go of the last first: what is easy to change leaves a reason sooner
            # than what is built
            place = SORTS.index(sort), -hard, turn[kind], kinds[kind].words[fact].slot, thing
            found.append((place, Element(sort, thing, fact)))
    return [element for _, element in sorted(found)]


def _sort_of(world: World, x: Thing, word: Word) -> str:
    """Which sort of element a fact of a thing is; nothing where it is none."""
    meta = x[0]
    if word.name in meta.told:
        value = meta.told[word.name]
        if word.type[0] == "many":
            # a list that may hold more tells nothing by its end; a whole one says that there is no
            # other
            return "" if getattr(value, "open", False) else WHOLE
        if word.type[0] == "ref":
            return TOLD if _said(x, word, value) else ""
        return TOLD
    givers = world.k.order.givers.get((meta.kind, word.name), ())
    if any(giver.verb in (ASSUMES, DESIGNS) for giver in givers):
        origin = world.settle(meta.kind, word.name, x).origin
        return origin if origin in (ASSUMED, DESIGNED) else ""
    return ""


ASSUMES, DESIGNS = "assumes", "designs"


def _said(x: Thing, word: Word, value: object) -> bool:
    """Whether where a link leads was said, rather than how things lie in one another."""
    # how the job is built of its parts is nothing that a person could be wrong about
    if word.part == "one" or value is x[0].whole:
        return False
    written = bool(x[0].written.get(word.name))
    if isinstance(value, list):
        return written
    return value is not NONE or x[0].whole is None or written or bool(word.part or word.ask)


def with_facts(elements: Iterable[Element], facts: frozenset[FactOf]) -> Iterator[Element]:
    """Those of *elements* whose facts are among *facts*."""
    return (element for element in elements if (element.thing, element.fact) in facts)


__all__ = [
    "ASSUMED",
    "DESIGNED",
    "TOLD",
    "WHOLE",
    "Cone",
    "Element",
    "cone_of",
    "cone_of_fact",
    "elements_of",
    "with_facts",
]
