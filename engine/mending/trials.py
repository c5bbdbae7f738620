"""What becomes of a job under some changes, run whole: what they mend, break and leave open.

A trial is one incremental re-run (`running.rerun`), and looks at what that moved alone: whatever
did not move is judged as before.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple, TypeAlias

from ..language import expressions as ex
from ..language.rules import JUDGING, Rule
from ..language.things import Thing
from ..proving.leaves import facts_under
from ..running.chain import ADVICE, FAILS, LACKS, OFF, PASSES, REFERS, SET_ASIDE, TELL, World
from ..running.rerun import Rerun, text_of
from .catalogue import Key, Value

On: TypeAlias = tuple[str, str]  # (rule, thing id)
Judged: TypeAlias = tuple[Rule, Thing]
# whether what cannot be told of a rule on a thing waits for workmanship alone
Small: TypeAlias = Callable[[World, Rule, Thing], bool]

SAYING = (*JUDGING, "refers", "lacks")


class Reason(NamedTuple):
    """What a verdict rests on: facts, and what was told otherwise where it was found."""

    facts: frozenset[Key]
    told: dict[Key, Value]


class Outcome:
    """What becomes of a job under some changes."""

    def __init__(self) -> None:
        self.mends: dict[On, str] = {}  # what failed, and what is said of it now
        self.breaks: list[On] = []  # what fails, and did not
        self.opens: list[On] = []  # what is refused, not checked or cannot be told, and was not
        self.advises: list[On] = []  # what good practice would have otherwise, and had not
        self.contradicts = False  # what is told contradicts what rules are sure of
        self.reasons: dict[On, Reason] = {}

    def against(self, on: On) -> On | None:
        """The first thing that keeps this from being a way out of *on*: that itself, what newly
        fails, what is newly open; None where it is one.
        """
        if on not in self.mends:
            return on
        return next(iter((*self.breaks, *self.opens)), None)

    @property
    def is_clean(self) -> bool:
        """Whether nothing is worse than before."""
        return not (self.breaks or self.opens or self.contradicts)


class Trials:
    """Tries changes on one settled run; each set of changes once."""

    def __init__(self, whatif: Rerun, small: Small) -> None:
        self.whatif, self.world, self.small = whatif, whatif.world, small
        self.runs = 0
        self._tried: dict[frozenset[tuple[str, str, str]], Outcome] = {}
        self._judging = _judging(self.world)
        with whatif.told() as world:
            self.standing = {
                (rule.id, x[0].id): verdict
                for rule, x in self._every()
                if (verdict := world.answer(rule, x)) in (FAILS, TELL, ADVICE, REFERS, LACKS)
            }
            self.waiting = self._waiting(world)

    def _waiting(self, world: World) -> dict[On, frozenset[Key]]:
        """Of what cannot be told and is no workmanship the facts that it compares: who changes one
        of them does not know whether that is enough.
        """
        out = {}
        for (name, on), verdict in self.standing.items():
            rule, x = world.k.rules[name], world.things[on]
            if verdict != TELL or rule.verb not in ("must", "must not"):
                continue
            if not self.small(world, rule, x):
                out[name, on] = operands(rule, x)
        return out

    def _every(self) -> Iterator[Judged]:
        """Whatever says something of a thing of the job."""
        rules: dict[str, list[Rule]] = {}
        for rule in self.world.k.rules.values():
            if rule.verb in SAYING:
                rules.setdefault(rule.about, []).append(rule)
        for kind, things in self.world.by_kind.items():
            for x in things:
                for rule in rules.get(kind, ()):
                    yield rule, x

    def outcome(self, told: dict[Key, Value], on: On | None = None) -> Outcome:
        """What becomes of the job under changes; with the reason why they are no way out of *on*,
        where they are none and that is asked.
        """
        changes = tuple((*key, value) for key, value in sorted(told.items()))
        # by text: 20 A is one value however it is held, and a Fraction and a Decimal hash alike but
        # a list of members does not hash at all
        key = frozenset((thing, fact, text_of(value)) for thing, fact, value in changes)
        got = self._tried.get(key)
        if got is not None and (on is None or got.against(on) in (None, *got.reasons)):
            return got
        with self.whatif.told(changes) as world:
            if got is None:
                self.runs += 1
                got = self._tried[key] = self._read_off(world)
                got.opens += [
                    on
                    for on, compared in self.waiting.items()
                    if not compared.isdisjoint(told)
                    and world.answer(world.k.rules[on[0]], world.things[on[1]]) == TELL
                ]
            against = None if on is None else got.against(on)
            if against is not None and against not in got.reasons:
                got.reasons[against] = self._reason(world, against, told)
        return got

    def reason(self, on: On) -> Reason:
        """What a verdict of the job as it is told rests on."""
        with self.whatif.told() as world:
            return self._reason(world, on, {})

    def _reason(self, world: World, on: On, told: dict[Key, Value]) -> Reason:
        rule, thing = on
        facts = facts_under(world, world.k.rules[rule], world.things[thing])
        return Reason(facts, dict(told))

    def touches(self, told: dict[Key, Value], reason: Reason) -> bool:
        """Whether changes leave something that a verdict rests on otherwise than it was there."""
        # a fact that neither side tells otherwise is the same on both, and is most of them
        for key in reason.facts & (told.keys() | reason.told.keys()):
            if self._told(key, told) != self._told(key, reason.told):
                return True
        return False

    def _told(self, key: Key, told: dict[Key, Value]) -> Value:
        thing, fact = key
        return told[key] if key in told else self.world.things[thing][0].told.get(fact)

    def _read_off(self, world: World) -> Outcome:
        """What is judged otherwise than in the job as it is told."""
        out = Outcome()
        # a dispute on a row that is tried is no contradiction of the job: the row is one of many
        # and is not taken then
        out.contradicts = any(
            dispute in world.disputes and "@" not in dispute[0]
            for branch in self.whatif.branches
            for dispute in branch.disputes
        )
        for rule, x in self._moved(world):
            on = rule.id, x[0].id
            was, now = self.standing.get(on), world.answer(rule, x)
            if was == now:
                continue
            if was == FAILS and now in (PASSES, SET_ASIDE, OFF):
                out.mends[on] = now
            elif now == FAILS:
                out.breaks.append(on)
            # workmanship that is newly open is looked at anyway; to count it would leave no way out
            # of most faults
            elif now in (REFERS, LACKS) or now == TELL and not self.small(world, rule, x):
                out.opens.append(on)
            elif now == ADVICE:
                out.advises.append(on)
        return out

    def _moved(self, world: World) -> list[Judged]:
        """What may be judged otherwise, by the cells that moved."""
        found: dict[On, Judged] = {}
        for branch in self.whatif.branches:
            for x, slot, _ in branch.cells:
                # the verdict on a row that is tried is no verdict on the job
                if x[0].plane:
                    continue
                for rule in self._judging.get((x[0].kind, slot), ()):
                    found[rule.id, x[0].id] = rule, x
        return list(found.values())


def operands(rule: Rule, thing: Thing) -> frozenset[Key]:
    """(thing, fact) of what the test of a rule reads of a thing and of those that it leads to."""
    out = set()
    for path in ex.walk(rule.test) if rule.test is not None else ():
        if isinstance(path, ex.Path) and path.names and not path.member:
            holder = path.holder(thing, None)
            if isinstance(holder, list):
                out.add((holder[0].id, path.names[-1]))
    return frozenset(out)


def _judging(world: World) -> dict[tuple[str, int], list[Rule]]:
    """(kind, slot) -> the rules whose verdict is read off that cell of a thing."""
    out: dict[tuple[str, int], list[Rule]] = {}
    for rule in world.k.rules.values():
        if rule.verb not in SAYING:
            continue
        cells = [world.k.slots[rule.id]]
        # an exception that comes to hold moves the verdict, and leaves the cell of the rule as it
        # is
        cells += [world.k.holds[e.id] for e in world.k.order.exceptions.get(rule.id, ())]
        for cell in cells:
            out.setdefault((rule.about, cell), []).append(rule)
    return out


__all__ = ["Judged", "On", "Outcome", "Reason", "Small", "Trials"]
