"""The reason of an outcome: the fewest elements that it holds with, everything else withheld.

Sufficient: with all that is not in it withheld, the outcome is the same. Necessary: with any one of
it withheld, too, it is not. Of several reasons it is the one that is hardest to change, by the
vocabulary's `change`. The search withholds half of what may go, the easiest to change first, and
puts it back where the outcome went with it; each step is the run before, with a little less told.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple, TypeAlias

from ..basics.units import Range
from ..language.rules import JUDGING, Rule
from ..language.things import Thing
from ..proving.graph import Explainer, Graph, fact_name, kind_of, parts_of, whole_of
from ..running.chain import PASSES, SET_ASIDE, TELL, World
from ..running.rerun import Rerun
from .elements import (
    WHOLE,
    Cone,
    Element,
    cone_of,
    cone_of_fact,
    elements_of,
    with_facts,
)

MOST_VALUES = 14  # an element of more values is not split into cases
FEW = 24  # of a reason that is larger no part is shown one by one: it is left as it was found
MOST_CASES = 24  # joint values of the elements that leave a reason by cases


class Outcome(NamedTuple):
    """What a reason is asked for: the answer of a rule on a thing, a row that is tried too; or,
    without a rule, what a fact of it is worth.
    """

    thing: str
    rule: str = ""
    fact: str = ""
    pick: str = ""  # of a row: which pick tries it

    @classmethod
    def at(cls, root: str) -> Outcome | None:
        """The outcome that a node of a graph stands for; None where it stands for none."""
        kind = kind_of(root)
        first, second = parts_of(root)
        if kind == "fact":
            return cls(first, fact=second)
        return cls(second, first) if kind == "rule" else None

    @property
    def root(self) -> str:
        """The node of the graph that it is."""
        if self.rule:
            return f"rule:{self.rule}@{self.thing}"
        return fact_name(self.thing, self.fact)


class Reason:
    """What an outcome rests on."""

    def __init__(self, outcome: Outcome, answer: Any, graph: Graph) -> None:
        self.outcome, self.answer, self.graph = outcome, answer, graph
        self.elements: list[Element] = []
        # elements that were in it, and turn nothing whichever of their values they have
        self.whatever: list[Element] = []
        self.runs = 0  # how many runs it took to find

    @property
    def facts(self) -> frozenset[tuple[str, str]]:
        """(thing id, fact) of each element."""
        return frozenset((element.thing, element.fact) for element in self.elements)


class Reasons:
    """Finds the reasons of the outcomes of one settled run."""

    def __init__(self, rerun: Rerun) -> None:
        self.rerun, self.world = rerun, rerun.world

    def of(self, outcome: Outcome) -> Reason | None:
        """The reason of an outcome; None where what nobody said decides it."""
        thing = self.thing(outcome)
        if thing is None:
            return None
        answer = self.now(outcome)
        graph = self._graph(outcome, thing)
        reason = Reason(outcome, answer, graph)
        cone = self._cone(outcome, thing)
        elements = elements_of(self.world, cone)
        with self._search(outcome, thing, cone, answer) as search:
            # what the derivation names is nearly always enough, and far less than what could bear:
            # to begin with it saves most runs
            found = search.fewest_of(elements, list(with_facts(elements, _told_in(graph))))
            if found is None:
                return None
            reason.elements, cases = list(found), []
            if len(found) <= FEW:
                cases = _Cases(self.world, self.rerun, search).split(reason)
            reason.runs = search.runs
        # the search kept up to date only what bore on the outcome as told; with another value
        # something else may bear
        if cases and not self._confirmed(reason, cases):
            reason.elements, reason.whatever = found, []
        return reason

    def _confirmed(self, reason: Reason, cases: list[Case]) -> bool:
        """Whether the outcome is the same in each case, with all kept up to date that may bear on
        it then: what was unknown may be known with another value told.
        """
        outcome = reason.outcome
        thing = self.thing(outcome)
        assert thing is not None
        cone, kept = self._cone(outcome, thing, otherwise=True), set(reason.elements)
        others = [one for one in elements_of(self.world, cone) if one not in kept]
        with self._search(outcome, thing, cone, reason.answer, otherwise=True) as search:
            told = [(one.thing, one.fact) for one in others]
            self.rerun.withhold(told)
            sure = _Cases(self.world, self.rerun, search).all_hold(cases)
            reason.runs += search.runs
        return sure

    def holds_with(self, outcome: Outcome, elements: Iterable[Element]) -> bool:
        """Whether an outcome is the same with no more than *elements* known."""
        thing = self.thing(outcome)
        assert thing is not None
        kept, cone = set(elements), self._cone(outcome, thing)
        others = [one for one in elements_of(self.world, cone) if one not in kept]
        with self._search(outcome, thing, cone, self.now(outcome)) as search:
            return search.held_without(others)

    def _cone(self, outcome: Outcome, thing: Thing, otherwise: bool = False) -> Cone:
        readers = self.rerun.readers
        if outcome.rule:
            rule = self.world.k.rules[outcome.rule]
            return cone_of(self.world, readers, rule, thing, otherwise)
        return cone_of_fact(self.world, readers, thing, outcome.fact, otherwise)

    @contextmanager
    def _search(
        self, outcome: Outcome, thing: Thing, cone: Cone, answer: Any, otherwise: bool = False
    ) -> Iterator[_Search]:
        world = self.world
        rule = world.k.rules[outcome.rule] if outcome.rule else None
        never = rule is not None and rule.verb in JUDGING and self._never_applied(rule, thing)
        # the rows of other picks cannot bear while nothing is told otherwise
        rows = None if otherwise else thing[0].plane
        with self.rerun.withholding(cone.nodes, rows) as withheld:
            if never:
                withheld.never_applied.add((outcome.rule, thing[0].id))
            yield _Search(self.rerun, lambda: self._is_so(outcome, answer))

    def _is_so(self, outcome: Outcome, answer: Any) -> bool:
        """Whether an outcome is still what it was. What an exception excuses is no fault as long as
        the exception holds, whatever would be said without it.
        """
        # an outcome that is excused is called so whatever the requirement itself would come to
        if outcome.rule and answer == SET_ASIDE:
            thing = self.thing(outcome)
            rule = self.world.k.rules[outcome.rule]
            return thing is not None and self.world.set_aside(rule, thing) is True
        return _alike(self.now(outcome), answer)

    def _never_applied(self, rule: Rule, thing: Thing) -> bool:
        """Whether a rule passes on a thing though nobody knows if it applies."""
        # it passes either way, met or not applying: to withhold what is behind its conditions would
        # turn that into cannot tell
        passes = thing[self.world.k.slots[rule.id]] is PASSES
        return passes and any(condition.ev(thing, None) is None for condition in rule.when)

    def thing(self, outcome: Outcome) -> Thing | None:
        """The thing of an outcome, or the row that is tried on one; None while it is not tried."""
        name = outcome.thing
        if name in self.world.things:
            return self.world.things[name]
        whole = whole_of(name)
        for (pick, slot), rows in self.world.rows_of.items():
            if slot == whole and outcome.pick in ("", pick):
                for row in rows:
                    if row[0].id == name:
                        return row
        return None

    def now(self, outcome: Outcome) -> Any:
        """What an outcome is at the moment."""
        thing = self.thing(outcome)
        if thing is None:
            return TELL if outcome.rule else None
        if outcome.rule:
            return self.world.answer(self.world.k.rules[outcome.rule], thing)
        return thing[self.world.k.words.kinds[thing[0].kind].words[outcome.fact].slot]

    def _graph(self, outcome: Outcome, thing: Thing) -> Graph:
        explainer = Explainer(self.world)
        if outcome.rule:
            explainer.g.root = explainer.rule(self.world.k.rules[outcome.rule], thing)
        else:
            explainer.g.root = explainer.fact(thing, outcome.fact)
        return explainer.g


def _told_in(graph: Graph) -> frozenset[tuple[str, str]]:
    """The facts of the things of the job that a derivation names."""
    return frozenset(
        (whole_of(node.data["of"]), node.data["is"])
        for node in graph.nodes.values()
        if node.kind == "fact"
    )


def _alike(one: Any, two: Any) -> bool:
    # True equals 1, and a word may equal nothing else than itself
    return one is two or (one.__class__ is two.__class__ and bool(one == two))


class _Search:
    """One outcome, while more and more is withheld."""

    def __init__(self, rerun: Rerun, same: Callable[[], bool]) -> None:
        self.rerun, self.same, self.runs = rerun, same, 0
        self.first = len(rerun.branches)

    def without(self, elements: Iterable[Element]) -> bool:
        """Withhold some more; put back again where the outcome is not the same."""
        self.rerun.withhold((one.thing, one.fact) for one in elements)
        self.runs += 1
        if self.same():
            return True
        self.rerun.undo()
        return False

    def held_without(self, elements: Iterable[Element]) -> bool:
        """Whether the outcome is the same with some more withheld; they are put back."""
        held = self.without(elements)
        if held:
            self.rerun.undo()
        return held

    def fewest_of(self, elements: list[Element], likely: list[Element]) -> list[Element] | None:
        """The fewest of *elements* that the outcome holds with, the rest withheld; most of them are
        mostly among the *likely* ones. None where it holds with nothing, or only with what is none.
        """
        chosen = set(likely)
        pool = likely if self.without([e for e in elements if e not in chosen]) else elements
        return self.fewest(pool) or None

    def fewest(self, elements: list[Element], needed: bool = False) -> list[Element]:
        """The fewest of *elements*, the last of them sooner gone, with the others withheld;
        *needed* where it is known that not all of them can go.
        """
        if not elements:
            return []
        if not needed and self.without(elements):
            return []
        if len(elements) == 1:
            return elements
        half = len(elements) // 2
        # halves, as a delta is debugged: of n elements of which k stay, some k log n runs and not n
        easy = self.fewest(elements[half:])
        # where the second half could go whole the first cannot: that run is saved
        return self.fewest(elements[:half], needed=not easy) + easy


# an element, and all the values that it may have
Case: TypeAlias = tuple[Element, tuple[Any, ...]]


class _Cases:
    """Lets elements of few values leave a reason where each of their values has the outcome."""

    def __init__(self, world: World, rerun: Rerun, search: _Search) -> None:
        self.world, self.rerun, self.search = world, rerun, search
        self.gone: list[Case] = []

    def split(self, reason: Reason) -> list[Case]:
        """Take out of a reason what turns nothing, easiest to change first, and then what it alone
        rested on; give the cases. All but the reason is withheld.
        """
        for element in reversed(list(reason.elements)):
            if self.gone and self.all_hold(self.gone, [element]):
                self._drop(reason, element)
                continue
            values = values_of(self.world, element)
            # joint values, for two facts may turn together what neither turns alone
            cases = math.prod(len(values) for _, values in self.gone) * len(values)
            if values and cases <= MOST_CASES and self.all_hold([*self.gone, (element, values)]):
                self.gone.append((element, values))
                reason.elements.remove(element)
        if not self.gone:
            return []
        for element in reversed(list(reason.elements)):
            if self.all_hold(self.gone, [element]):
                self._drop(reason, element)
        reason.whatever = [element for element, _ in reversed(self.gone)]
        return self.gone

    def _drop(self, reason: Reason, element: Element) -> None:
        """Take out of a reason what nothing rests on any more."""
        reason.elements.remove(element)
        self.rerun.withhold([(element.thing, element.fact)])

    def all_hold(self, cases: list[Case], without: Iterable[Element] = ()) -> bool:
        """Whether the outcome is the same with all joint values of some elements."""
        withheld = [(one.thing, one.fact) for one in without]
        for values in itertools.product(*(values for _, values in cases)):
            told = [(one.thing, one.fact, value) for (one, _), value in zip(cases, values)]
            self.rerun.withhold(withheld, told)
            self.search.runs += 1
            same = self.search.same()
            self.rerun.undo()
            if not same:
                return False
        return True


def values_of(world: World, element: Element) -> tuple[Any, ...]:
    """All values that an element may have: each of few, or all that is usual at once as a range;
    none where there may be others.
    """
    if element.sort == WHOLE:
        return ()
    word = world.k.words.kinds[world.things[element.thing][0].kind].words[element.fact]
    if word.type[0] == "flag":
        return True, False
    if word.type[0] == "choice" and len(word.type[1]) <= MOST_VALUES:
        return tuple(word.type[1])
    if word.usual is not None and word.usual.least < word.usual.most:
        # all that is usual at once: an answer that holds for the range holds for each value in it
        return (Range(word.usual.least, word.usual.most),)
    return ()


__all__ = ["Outcome", "Reason", "Reasons", "values_of"]
