"""The facts that an answer rests on, and nothing about how: what a search asks for time and again.

It is the support that `graph` reads off a run, made narrower where one piece decides alone: a rule
that does not apply rests on the condition that is not met, a size that was rejected on the test
that rejects it. As long as none of these facts is told otherwise, the answer stays as it is.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, TypeAlias

from ..basics.units import Range
from ..language import expressions as ex
from ..language.rules import Rule
from ..language.things import Thing
from ..running.chain import OFF, PASSES, World

Key: TypeAlias = tuple[str, str]  # (thing id, fact)
Member: TypeAlias = Any  # a thing of a list, a row of a table, or None where neither is looked at


def facts_under(world: World, rule: Rule, thing: Thing) -> frozenset[Key]:
    """Every fact, by its thing, that the answer of *rule* on *thing* rests on."""
    walk = _Walk(world)
    walk.rule(rule, thing)
    return frozenset(walk.facts)


class UnderFacts:
    """What several facts of one run are worked out from: each fact under them where it is first
    met, and never again.
    """

    def __init__(self, world: World) -> None:
        self._walk = _Walk(world)

    def more(self, thing: Thing, fact: str) -> frozenset[Key]:
        """What a fact of *thing* is worked out from, without what was met before."""
        walk = self._walk
        walk.facts = set()
        walk.fact(thing, fact)
        return frozenset(walk.facts)


def unknown_under(world: World, rule: Rule, thing: Thing) -> list[Key]:
    """What nobody told and a person can be asked, that the answer of *rule* on *thing* waits for:
    the nearest first.
    """
    walk = _UnknownWalk(world)
    walk.rule(rule, thing)
    return list(dict.fromkeys(walk.asked))


def unknown_under_fact(world: World, thing: Thing, fact: str) -> list[Key]:
    """What nobody told and a person can be asked, that a fact of *thing* waits for: the nearest
    first.
    """
    walk = _UnknownWalk(world)
    walk.givers_of(thing, fact)
    return list(dict.fromkeys(walk.asked))


class _Walk:
    """A walk back from an answer, to each fact and each rule once."""

    def __init__(self, world: World) -> None:
        self.world, self.k = world, world.k
        self.facts: set[Key] = set()
        self._seen: set[tuple[Any, ...]] = set()

    # ---- rules
    def rule(self, rule: Rule, thing: Thing) -> None:
        """What the answer of a rule rests on."""
        key = rule.id, id(thing)
        if key in self._seen:
            return
        self._seen.add(key)
        against = next((c for c in rule.when if ex.is_unmet(c.ev(thing, None))), None)
        if against is not None:
            self.line(against, thing, None)
            return
        for condition in rule.when:
            self.line(condition, thing, None)
        if rule.test is not None:
            self.line(rule.test, thing, None)
        for fill in rule.fills:
            self.line(fill.expr, thing, None)
        for exception in self.k.order.exceptions.get(rule.id, ()):
            self.rule(exception, thing)

    # ---- lines
    def line(self, expression: ex.Expr, thing: Thing, member: Member) -> None:
        """What a piece of a line rests on."""
        if isinstance(expression, ex.Path):
            self.path(expression, thing, member)
            return
        for spot in expression.rests_on(thing, member):
            self.line(*spot)

    def path(self, path: ex.Path, thing: Thing, member: Member) -> None:
        """The fact at the end of a path, and the links on the way."""
        here = member if path.member else thing
        if not isinstance(here, list):
            return
        for slot, name in zip(path.slots, path.names):
            self.fact(here, name)
            here = here[slot]
            if not isinstance(here, list):
                return

    # ---- facts
    def fact(self, thing: Thing, name: str) -> None:
        """A fact, and what the rules rest on that give it."""
        key = id(thing), name
        if key in self._seen:
            return
        self._seen.add(key)
        meta = thing[0]
        givers = self.k.order.givers.get((meta.kind, name), ())
        if meta.plane:
            if name == self.k.rules[meta.plane].tried.name:
                return
            word = self.k.words.kinds[meta.kind].words[name]
            if any(g.verb in ("tries", "designs") for g in givers) or not givers:
                if word.comes_with == self.k.rules[meta.plane].tried.name:
                    self.facts.add((meta.slot[0].id, name))
                else:
                    self.fact(meta.slot, name)
                return
            self.facts.add((meta.slot[0].id, name))
        else:
            self.facts.add((meta.id, name))
        told = name in meta.told
        for giver in givers:
            if giver.verb == "tries":
                if not told:
                    self.pick(giver, thing)
            elif not told or giver.verb == "gives":
                self.rule(giver, thing)

    def pick(self, pick: Rule, thing: Thing) -> None:
        """What a pick rests on: the keys of its rows, what rejects each row before the one that is
        taken, and what that one passes.
        """
        for by in pick.tries_keys.values():
            self.line(by, thing, None)
        first, _ = self.world.picked.get((pick.id, thing[0].id), (None, []))
        tests = self.k.order.tests[pick.id]
        for row in self.world.rows_of.get((pick.id, thing[0].id), ()):
            for test in self.deciding(tests, row):
                self.rule(test, row)
            if row is first:
                return

    def deciding(self, tests: Iterable[Rule], row: Thing) -> list[Rule]:
        """The tests that decide about a row: one that rejects it, else all of them."""
        every = list(tests)
        if self.world.row_passes(every, row) is not False:
            return every
        for test in every:
            if self.world.answer(test, row) not in (PASSES, OFF):
                if self.world.row_passes([test], row) is False:
                    return [test]
        return every


class _UnknownWalk(_Walk):
    """A walk through what is not known alone, as far as the questions that are nearest."""

    def __init__(self, world: World) -> None:
        super().__init__(world)
        self.asked: list[Key] = []

    def rule(self, rule: Rule, thing: Thing) -> None:
        if any(ex.is_unmet(condition.ev(thing, None)) for condition in rule.when):
            return
        for condition in rule.when:
            if condition.ev(thing, None) is not True:
                self.line(condition, thing, None)
        for line in (rule.test, *(fill.expr for fill in rule.fills)):
            if line is not None:
                self.line(line, thing, None)

    def fact(self, thing: Thing, name: str) -> None:
        word = self.k.words.kinds[thing[0].kind].words[name]
        value = thing[word.slot]
        if not (value is None or isinstance(value, Range) or getattr(value, "open", False)):
            return
        if word.ask:
            self.asked.append((thing[0].id, name))
        elif word.type[0] not in ("ref", "many"):
            self.givers_of(thing, name)

    def givers_of(self, thing: Thing, name: str) -> None:
        """What the rules wait for that may give a fact."""
        key = id(thing), name
        if key in self._seen:
            return
        self._seen.add(key)
        for giver in self.k.order.givers.get((thing[0].kind, name), ()):
            if giver.verb != "tries":
                self.rule(giver, thing)
            else:
                self.pick(giver, thing)


__all__ = ["Key", "UnderFacts", "facts_under", "unknown_under", "unknown_under_fact"]
