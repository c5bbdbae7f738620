"""What becomes of a job under some changes, run whole: what they mend, break and leave open.

A trial is one incremental re-run (`running.rerun`), and looks at what that moved alone: whatever
did not move is judged as before.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple, TypeAlias

from ..language.rules import JUDGING, Rule
from ..language.things import NodeId, Thing
from ..proving.leaves import facts_under
from ..reasons.elements import cone_of
from ..running.chain import ADVICE, FAILS, LACKS, OFF, PASSES, REFERS, SET_ASIDE, TELL, World
from ..running.rerun import Rerun, text_of
from .catalogue import Change, Key, Value

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
        self._looked_at: dict[tuple[frozenset[tuple[str, str, str]], On], Reason | None] = {}
        self._cones: dict[On, frozenset[NodeId]] = {}
        self._judging = _judging(self.world)
        with whatif.told() as world:
            self.standing = {
                (rule.id, x[0].id): verdict
                for rule, x in self._every()
                if (verdict := world.answer(rule, x)) in (FAILS, TELL, ADVICE, REFERS, LACKS)
            }
            self._compared = self._compared_by_what_waits(world)
        self._small: dict[On, bool] = {}  # of what waits, whether for workmanship alone

    def _compared_by_what_waits(self, world: World) -> dict[Key, list[On]]:
        """Of what cannot be told, the facts that it compares."""
        out: dict[Key, list[On]] = {}
        for (name, on), verdict in self.standing.items():
            rule = world.k.rules[name]
            if verdict == TELL and rule.verb in ("must", "must not"):
                for key in operands(rule, world.things[on]):
                    out.setdefault(key, []).append((name, on))
        return out

    def _waiting(self, told: dict[Key, Value]) -> list[On]:
        """What cannot be told, is no workmanship and compares what is changed: who changes that
        does not know whether it is enough.
        """
        found = dict.fromkeys(on for key in told for on in self._compared.get(key, ()))
        left = [on for on in found if on not in self._small]
        if left:
            with self.whatif.told() as world:
                for name, on in left:
                    rule, thing = world.k.rules[name], world.things[on]
                    self._small[name, on] = self.small(world, rule, thing)
        return [on for on in found if not self._small[on]]

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

    def why_not(self, told: dict[Key, Value], on: On) -> Reason | None:
        """Why changes leave a fault as it is; None where it is gone. Only what the fault rests on
        is run: most of what is tried mends nothing.
        """
        changes = tuple((*key, value) for key, value in sorted(told.items()))
        key = _key_of(changes)
        if (key, on) not in self._looked_at:
            if key not in self._tried:
                self.runs += 1
            rule, thing = self.world.k.rules[on[0]], self.world.things[on[1]]
            with self.whatif.told_in_part(changes, self._cone(on)) as world:
                gone = world.answer(rule, thing) in (PASSES, SET_ASIDE, OFF)
                self._looked_at[key, on] = None if gone else self._reason(world, on, told)
        return self._looked_at[key, on]

    def _cone(self, on: On) -> frozenset[NodeId]:
        """The nodes of the order that a verdict may rest on, whatever is told."""
        if on not in self._cones:
            rule, thing = self.world.k.rules[on[0]], self.world.things[on[1]]
            with self.whatif.told() as world:
                cone = cone_of(world, self.whatif.readers, rule, thing, otherwise=True)
            self._cones[on] = cone.nodes
        return self._cones[on]

    def outcome(self, told: dict[Key, Value], on: On | None = None) -> Outcome:
        """What becomes of the job under changes; with the reason why they are no way out of *on*,
        where they are none and that is asked.
        """
        changes = tuple((*key, value) for key, value in sorted(told.items()))
        key = _key_of(changes)
        got = self._tried.get(key)
        if got is not None and (on is None or got.against(on) in (None, *got.reasons)):
            return got
        waiting = self._waiting(told) if got is None else []
        with self.whatif.told(changes) as world:
            if got is None:
                if (key, on) not in self._looked_at:
                    self.runs += 1
                got = self._tried[key] = self._read_off(world)
                got.opens += [
                    on
                    for on in waiting
                    if world.answer(world.k.rules[on[0]], world.things[on[1]]) == TELL
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


def _key_of(changes: Iterable[Change]) -> frozenset[tuple[str, str, str]]:
    """What tells changes apart."""
    return frozenset((thing, fact, text_of(value)) for thing, fact, value in changes)


def operands(rule: Rule, thing: Thing) -> frozenset[Key]:
    """(thing, fact) of what the test of a rule reads of a thing and of those that it leads to."""
    out = set()
    for path in rule.tested():
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
