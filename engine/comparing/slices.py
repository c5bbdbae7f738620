"""A slice of the law: one requirement with what sets it aside and what fills the facts it reads,
cut out so that it can be run on a made-up case by itself, under two laws.

A case is the facts that the slice reads and does not reckon itself, each with its value. It needs
no job: a little thing is made that has those facts, as an example of a rule has.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from typing import Any, NamedTuple, TypeAlias

from ..basics.errors import Fault
from ..basics.sentinels import NONE, NOTHING
from ..basics.units import Range
from ..checking.examples import Stub
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import FILLING, JUDGING, Rule
from ..language.things import Members, OpenMembers, Thing, members
from ..language.words import Word
from ..law.there import twins_of
from ..running.chain import OFF, World
from .edit_examples import ASKS, of_both

# the links from a thing to one of its facts, each with the kind that has it; the fact last
Way: TypeAlias = tuple[tuple[str, str], ...]
Case: TypeAlias = dict[Way, Any]  # a fact -> its value; one that is not there is not told
Cell: TypeAlias = tuple[str, str]  # a kind and a fact of it

# what stands for a list, or for a part that is there or not, in a case
ONE, EMPTY = "one", "none"
DEEP = 5  # how many rules one after the other are reckoned through
FAILS = ASKS["fails"]


class Spot(NamedTuple):
    """A piece of a line, with the ways to the thing it is about and to the member of a list."""

    piece: ex.Expr
    here: Way
    member: Way

    def ways(self) -> Iterator[Way]:
        """The ways of every fact that the piece reads."""
        for spot in spots(self.piece, self.here, self.member):
            if isinstance(spot.piece, ex.Path) and spot.piece.names:
                yield spot.way

    @property
    def way(self) -> Way:
        """The way to the fact that a path reads."""
        path = self.piece
        assert isinstance(path, ex.Path)
        base = self.member if path.member else self.here
        return (*base, *zip(path.kinds, path.names, strict=True))


def spots(piece: ex.Expr, here: Way = (), member: Way = ()) -> Iterator[Spot]:
    """Every piece of a line, with the ways that lead to what it reads."""
    yield Spot(piece, here, member)
    for kid, stands in piece.placed():
        if stands is ex.Stands.ALONE:
            yield from spots(kid, here)
        elif stands is ex.Stands.EACH and piece.things is not None:
            yield from spots(kid, here, Spot(piece.things, here, member).way)
        else:
            yield from spots(kid, here, member)


class Law:
    """One law as slices of it are run: what fills what, and a world without a job."""

    def __init__(self, k: Knowledge) -> None:
        self.k = k
        self.world = World.__new__(World)
        self.world.k, self.world.fired = k, 0

    @cached_property
    def givers(self) -> dict[Cell, list[Rule]]:
        """The rules that fill each fact; asked only where an edit is felt through one."""
        out: dict[Cell, list[Rule]] = {}
        for rule in self.k.rules.values():
            for fill in rule.fills:
                out.setdefault((rule.about, fill.word.name), []).append(rule)
        return out

    def fire(self, rule: Rule, thing: Thing) -> None:
        """Run a rule on a thing, and first whatever sets it aside."""
        for exception in self.k.order.exceptions.get(rule.id, ()):
            self.fire(exception, thing)
        self.world.fire(rule, thing)

    def settle(self, cell: Cell, thing: Thing) -> None:
        """Fill a fact from the rules that give it, as a run does where nobody told it."""
        known, is_open, fallback = [], False, None
        for rule in self.givers.get(cell, ()):
            self.fire(rule, thing)
            applies = thing[self.k.slots[rule.id]]
            aside = self.world.set_aside(rule, thing)
            if applies is False or aside is True:
                continue
            value = thing[self.k.results[rule.id, cell[1]]]
            if rule.verb != "gives":
                fallback = value if applies is True and fallback is None else fallback
            elif applies is True and aside is False:
                known.append(value)
            else:
                is_open = True
        word = self.k.words.kinds[cell[0]].words[cell[1]]
        if known and all(value == known[0] for value in known):
            thing[word.slot] = known[0]
        elif not known and not is_open:
            thing[word.slot] = fallback

    def verdict(self, rules: Iterable[str], thing: Thing) -> dict[str, str]:
        """What each of some rules says of a thing; one that is not there does not apply."""
        out = {}
        for name in rules:
            rule = self.k.rules.get(name)
            if rule is None or rule.verb not in JUDGING:
                out[name] = OFF
            else:
                self.fire(rule, thing)
                out[name] = str(self.world.answer(rule, thing))
        return out


class Slice:
    """Some requirements about one kind of thing under two laws, and all that they hang on."""

    def __init__(self, laws: tuple[Law, Law], judges: list[str], through: set[Cell]) -> None:
        self.laws, self.judges = laws, judges
        rules = [law.k.rules[name] for law in laws for name in judges if name in law.k.rules]
        self.about = rules[0].about
        self.words = laws[0].k.words
        self.leaves: dict[Way, Word] = {}
        self.spots: list[Spot] = []
        # what is reckoned, in its order: a fact, and the way to the thing that has it
        self.reckoned: dict[Way, None] = {}
        self.rules: dict[str, tuple[Rule, Way]] = {}  # every rule of it, the nearest first
        self._through = through
        self.runs = 0  # how many cases were made, under either law
        for rule in rules:
            self._cut(rule, (), 0)

    def _cut(self, rule: Rule, base: Way, deep: int) -> None:
        """Take in a rule, what sets it aside, and what fills the facts it reads."""
        kept = self.rules.get(rule.id)
        if kept is not None and kept[0] is rule:
            return
        self.rules.setdefault(rule.id, (rule, base))
        for line in rule.exprs():
            for spot in spots(line, base, base):
                self.spots.append(spot)
                if isinstance(spot.piece, ex.Path) and spot.piece.names:
                    self._read(spot.way, deep)
        for law in self.laws:
            for exception in law.k.order.exceptions.get(rule.id, ()):
                self._cut(exception, base, deep)

    def _read(self, way: Way, deep: int) -> None:
        """Take in a fact that is read: reckoned, where it hangs on what is otherwise, or told."""
        cell = way[-1]
        if cell in self._through and deep < DEEP:
            if way in self.reckoned:
                return
            for law in self.laws:
                for giver in law.givers.get(cell, ()):
                    self._cut(giver, way[:-1], deep + 1)
            self.reckoned[way] = None
            self.leaves.pop(way, None)
        elif way not in self.reckoned:
            self.leaves[way] = self.words.kinds[cell[0]].words[cell[1]]

    # ---- a case run
    def thing(self, law: Law, case: Case) -> Thing:
        """The thing that has the facts of a case, with all that is reckoned from them."""
        thing = self._made(law, case)
        for way in self.reckoned:
            for holder in _at(thing, way[:-1], self.words):
                law.settle(way[-1], holder)
        return thing

    def _made(self, law: Law, case: Case) -> Thing:
        """The thing with what is told of it, and nothing reckoned yet."""
        self.runs += 1
        stub = Stub(law.k)
        thing = stub.thing(self.about, {})
        # the short ways first: where there is no such part, nothing is told of it
        for way, value in sorted(case.items(), key=lambda told: len(told[0])):
            holder = self._holder(stub, thing, way[:-1])
            if holder is not None:
                self._tell(stub, holder, way[-1], value)
        return thing

    def _holder(self, stub: Stub, thing: Thing, links: Way) -> Thing | None:
        """The thing to which links lead, made where it is not there; None beyond a none."""
        for kind, name in links:
            word = self.words.kinds[kind].words[name]
            there = thing[word.slot]
            if there is NONE or (isinstance(there, Members) and not there):
                return None
            if there is None:
                there = stub.thing(word.type[1], {}, name)
                if word.type[0] == "many":
                    there = Members([there])
                thing[word.slot] = there
            thing = members(there)[0] if word.type[0] == "many" else there
        return thing

    def _tell(self, stub: Stub, holder: Thing, cell: Cell, value: Any) -> None:
        word = self.words.kinds[cell[0]].words[cell[1]]
        if word.type[0] == "many" and value in (ONE, EMPTY):
            one = stub.thing(word.type[1], {}, word.name)
            holder[word.slot] = Members([one] if value == ONE else [])
        elif word.type[0] == "many":
            holder[word.slot] = OpenMembers()
        elif word.type[0] == "ref":
            there = stub.thing(word.type[1], {}, word.name)
            holder[word.slot] = NONE if value == EMPTY else there
        else:
            holder[word.slot] = value

    def answers(self, law: Law, case: Case) -> dict[str, str]:
        """What each requirement says of a case; nothing where its numbers outgrow."""
        try:
            return as_one(law.verdict(self.judges, self.thing(law, case)))
        except (Fault, TypeError):
            return {}

    def asks(self, answers: dict[str, str]) -> int | None:
        """How much is asked of a case, all requirements together; None where it cannot be told."""
        worst = [ASKS.get(answer, ASKS["cannot tell"]) for answer in answers.values()]
        if FAILS in worst:
            return FAILS
        return None if ASKS["cannot tell"] in worst else max(worst, default=0)

    def worth(self, law: Law, case: Case, spot: Spot, pieces: Sequence[ex.Expr]) -> list[Any]:
        """What pieces of a line come to in a case; None of each that is no plain amount."""
        try:
            thing = self.thing(law, case)
            here = next(iter(_at(thing, spot.here, self.words)), None)
            member = next(iter(_at(thing, spot.member, self.words)), None)
            if here is None:
                return [None] * len(pieces)
            return [_plain(piece.ev(here, member)) for piece in pieces]
        except (Fault, TypeError, AttributeError, KeyError, IndexError):
            return [None] * len(pieces)

    def filled(self, law: Law, case: Case) -> dict[Way, Any]:
        """What is reckoned in a case, as far as it is known."""
        try:
            thing = self.thing(law, case)
        except (Fault, TypeError):
            return {}
        out = {}
        for way in self.reckoned:
            slot = self.words.kinds[way[-1][0]].words[way[-1][1]].slot
            for holder in _at(thing, way[:-1], self.words):
                if holder[slot] is not None:
                    out[way] = holder[slot]
        return out


def as_one(answers: dict[str, str]) -> dict[str, str]:
    """What rules say that were said twice, for some and for the rest, as of one rule each."""
    twins = {twin: name for name in answers for twin in twins_of(answers, name)}
    out = {name: answer for name, answer in answers.items() if name not in twins}
    for twin, name in twins.items():
        if name in out:
            out[name] = of_both(out[name], answers[twin])
    return out


def _plain(value: Any) -> Any:
    is_plain = value is not NOTHING and value is not NONE and not isinstance(value, Range)
    return value if is_plain else None


def _at(thing: Thing, links: Way, words: Any) -> list[Thing]:
    """The things to which links lead from a thing."""
    found = [thing]
    for kind, name in links:
        word = words.kinds[kind].words[name]
        beyond: list[Thing] = []
        for one in found:
            there = one[word.slot]
            if isinstance(there, list) and word.type[0] == "many":
                beyond += members(there)
            elif there is not None and there is not NONE:
                beyond.append(there)
        found = beyond
    return found


def roots(laws: tuple[Law, Law], rule: Rule) -> list[str]:
    """The rules at which a rule is felt: itself, and whatever it sets aside, near or far."""
    out, todo = [], [rule.id]
    while todo:
        name = todo.pop()
        if name in out:
            continue
        out.append(name)
        for law in laws:
            if name in law.k.rules:
                todo += law.k.rules[name].exception_to
    return out


def felt(k: Knowledge, cells: set[Cell], most: int) -> list[tuple[str, set[Cell]]]:
    """The nearest requirements that hang on some facts, each with the facts through which it does;
    those that ask by themselves and those that an exception sets aside by turns.
    """
    asks: dict[str, set[Cell]] = {}
    forgiven: dict[str, set[Cell]] = {}
    through: dict[Cell, set[Cell]] = {cell: {cell} for cell in cells}
    todo, seen = sorted(cells), set()
    while todo and min(len(asks), len(forgiven)) < most:
        cell = todo.pop(0)
        for name in sorted(k.order.readers.get(cell, ())):
            rule = k.rules.get(name)
            if rule is None or name in seen:
                continue
            seen.add(name)
            way = through[cell]
            if rule.verb in JUDGING:
                asks.setdefault(name, way)
            for other in rule.exception_to:
                if other in k.rules and k.rules[other].verb in JUDGING:
                    forgiven.setdefault(other, way)
            if rule.verb in FILLING and len(way) < DEEP:
                for fill in rule.fills:
                    beyond = (rule.about, fill.word.name)
                    if beyond not in through:
                        through[beyond] = way | {beyond}
                        todo.append(beyond)
    turns = itertools.zip_longest(asks.items(), forgiven.items())
    return list(dict((n, w) for pair in turns for n, w in filter(None, pair)).items())[:most]


__all__ = ["Case", "Cell", "EMPTY", "FAILS", "Law", "ONE", "Slice", "Spot", "Way", "felt", "roots"]
