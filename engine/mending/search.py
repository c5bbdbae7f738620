"""The ways out of a fault: the cheapest sets of one or two actions after which it is gone, nothing
newly fails and nothing but workmanship is newly open.

A set is run only where it touches every reason that is known: what the fault rests on in the job as
it is told, and what it, or the first thing that newly fails, rests on under each set that was run
and was no way. So most of what could be tried is never run, and nothing that mends is passed over.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from ..running.chain import FAILS, OFF, World
from ..running.rerun import Rerun
from .catalogue import MANY, Change, Key, Offer, Step, Value, offers
from .trials import On, Outcome, Reason, Small, Trials

MOST = 4  # ways that are looked for
RUNS = 160  # that one fault may take


class Way(NamedTuple):
    """One way out of a fault, proven by a whole run."""

    rule: str  # of the fault it was looked for
    on: str  # the thing that fails it
    words: tuple[str, ...]  # what to do, one for each action, as it is bought
    changes: tuple[Change, ...]  # (thing id, fact, value; None leaves it untold)
    cost: str  # the dearest class of work in it, a row of the table costs-of-work
    weight: Fraction  # what orders ways, the cheapest first
    looks: bool  # whether all of it is found by looking, and nothing is done
    mends: frozenset[On]  # every fault that is gone then: (rule, thing id)
    on_rule: str  # what the rule says then: passes, an exception applies, or does not apply
    advises: tuple[On, ...]  # advice that is not met then, and was before


class Half(NamedTuple):
    """What mends a fault and is not enough alone."""

    words: tuple[str, ...]
    only_with: tuple[str, ...]  # what has to come along; nothing where no such thing was found
    then: On  # what fails, or is open, without that
    weight: Fraction


class Found(NamedTuple):
    """What was found for one fault."""

    ways: tuple[Way, ...]
    halves: tuple[Half, ...]
    runs: int


class _Tried(NamedTuple):
    """A step of an offer that was run, after which the fault is gone."""

    offer: Offer
    step: Step
    outcome: Outcome


class Mending:
    """Looks for ways out of what fails in one settled run."""

    def __init__(self, whatif: Rerun, small: Small) -> None:
        self.whatif, self.world = whatif, whatif.world
        self.trials = Trials(whatif, small)
        self._offers: list[Offer] = []
        self._found: dict[On, tuple[int, Found]] = {}  # in how many runs at most, and what

    @property
    def offers(self) -> list[Offer]:
        """Everything that can be done in the job as it is told, the cheapest first."""
        if not self._offers:
            with self.whatif.told() as world:
                self._offers = sorted(offers(world), key=lambda offer: offer.steps[0].cost)
        return self._offers

    @property
    def faults(self) -> list[On]:
        """What fails in the job as it is told."""
        return [on for on, verdict in self.trials.standing.items() if verdict == FAILS]

    def found(self, on: On, runs: int = RUNS) -> Found:
        """The ways out of one fault, the cheapest first, and what is not enough alone; found in so
        many *runs* at most, or in more that were taken before.
        """
        taken, found = self._found.get(on, (0, None))
        if found is None or taken < runs and found.runs >= taken:
            found = _Search(self, on, runs).found()
            self._found[on] = runs, found
        return found


class _Search:
    """The search for one fault."""

    def __init__(self, mending: Mending, on: On, most: int) -> None:
        self.mending, self.trials, self.on, self.most = mending, mending.trials, on, most
        self.reasons: list[Reason] = [self.trials.reason(on)]
        self.before = self.trials.runs
        self.ways: list[Way] = []
        self.halves: list[_Tried] = []
        self.half_done: list[Half] = []
        self.used: list[frozenset[int]] = []  # the offers of each way
        self.taken: list[dict[Key, Value]] = []  # what each way tells

    def found(self) -> Found:
        """Look for single actions, then for pairs."""
        for offer in self.mending.offers:
            if self.out_of_runs:
                break
            self.alone(offer)
        for half in sorted(self.halves, key=lambda half: half.step.cost):
            if self.out_of_runs:
                break
            self.with_another(half)
        if not self.ways:
            self.of_two()
        # to meet a requirement goes before getting out of its reach
        met = [way for way in self.ways if way.on_rule != OFF]
        ways = met or self.ways
        # what leaves the thing failing something else is shown where nothing leaves it right
        whole = [way for way in ways if self.others_on_it <= way.mends]
        self.ways = sorted(whole or ways, key=lambda way: way.weight)
        halves = sorted(self.half_done, key=lambda half: half.weight)
        return Found(tuple(self.ways[:MOST]), tuple(halves), self.trials.runs - self.before)

    @property
    def others_on_it(self) -> set[On]:
        """Whatever the same thing fails in the job as it is told."""
        return {on for on in self.mending.faults if on[1] == self.on[1]}

    @property
    def out_of_runs(self) -> bool:
        return self.trials.runs - self.before >= self.most

    def touches_all(self, told: dict[Key, Value]) -> bool:
        """Whether changes touch every reason that is known."""
        return all(self.trials.touches(told, reason) for reason in self.reasons)

    # ---- one action
    def alone(self, offer: Offer) -> None:
        """Try the steps of an offer for the nearest after which the fault is gone."""
        if offer.keys.isdisjoint(self.reasons[0].facts):
            return
        tried = self.nearest(offer, {})
        if tried is None:
            return
        if tried.outcome.is_clean:
            self.take([tried])
            return
        self.halves.append(tried)
        # a further step may be clean where the nearest is not
        at = offer.steps.index(tried.step)
        for step in offer.steps[at + 1 : at + MANY]:
            outcome = self.run(step.told)
            if outcome is not None and self.on in outcome.mends and outcome.is_clean:
                self.take([_Tried(offer, step, outcome)])
                return

    def nearest(self, offer: Offer, told: dict[Key, Value]) -> _Tried | None:
        """The nearest step of an offer after which, beside what is *told*, the fault is gone."""
        steps = offer.steps
        if len(steps) > MANY:
            steps = self.halved(offer, told)
        for step in steps:
            if self.out_of_runs:
                return None
            outcome = self.run({**step.told, **told})
            if outcome is not None and self.on in outcome.mends:
                return _Tried(offer, step, outcome)
        return None

    def halved(self, offer: Offer, told: dict[Key, Value]) -> list[Step]:
        """Of many steps the nearest after which the fault is gone, and those beside it."""

        def gone(at: int) -> bool:
            return self.trials.why_not({**offer.steps[at].told, **told}, self.on) is None

        low, high = -1, len(offer.steps) - 1
        if not gone(high):
            return offer.steps[:1]
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if gone(middle) else (middle, high)
        return offer.steps[max(0, high - 1) : high + 2]

    def run(self, told: dict[Key, Value]) -> Outcome | None:
        """Run changes, unless a reason is known that they do not touch; where they are no way, why
        not is one more reason.
        """
        if not self.touches_all(told):
            return None
        why_not = self.trials.why_not(told, self.on)
        if why_not is not None:
            self.reasons.append(why_not)
            return None
        outcome = self.trials.outcome(told, self.on)
        against = outcome.against(self.on)
        if against is not None:
            self.reasons.append(outcome.reasons[against])
        return outcome

    # ---- two actions
    def with_another(self, half: _Tried) -> None:
        """Look for what has to come along with an action that mends, and breaks something."""
        first = half.outcome.against(self.on)
        if first is None:  # it contradicts what rules are sure of
            return
        problem = half.outcome.reasons[first]
        partner: tuple[str, ...] = ()
        for offer in self.mending.offers:
            if self.out_of_runs:
                break
            if offer.keys.isdisjoint(problem.facts) or not offer.keys.isdisjoint(half.offer.keys):
                continue
            if self.holds_a_way(half.offer, offer):
                continue
            for step in offer.steps[:MANY]:
                outcome = self.run({**half.step.told, **step.told})
                if outcome is not None and self.on in outcome.mends and outcome.is_clean:
                    tried = _Tried(offer, step, outcome)
                    self.take([half, tried])
                    partner = partner or self.said([tried]) or ()
                    break
            if partner:
                break
        words = self.said([half])
        if words is not None and half.outcome.mends[self.on] != OFF:
            self.half_done.append(Half(words, partner, first, half.step.cost))

    def of_two(self) -> None:
        """Look for two actions of which neither mends alone."""
        touching = [
            offer
            for offer in self.mending.offers
            if not offer.keys.isdisjoint(self.reasons[0].facts)
        ]
        pairs = [
            (one, two)
            for place, one in enumerate(touching)
            for two in touching[:place]
            if one.keys.isdisjoint(two.keys)
        ]
        pairs.sort(key=lambda pair: pair[0].steps[0].cost + pair[1].steps[0].cost)
        for one, two in pairs:
            for step in one.steps[:3]:
                if self.ways or self.out_of_runs:
                    return
                tried = self.nearest(two, step.told)
                if tried is not None and tried.outcome.is_clean:
                    self.take([_Tried(one, step, tried.outcome), tried])

    def holds_a_way(self, *tried: Offer) -> bool:
        """Whether some of these offers are a way by themselves."""
        mine = {id(offer) for offer in tried}
        return any(used <= mine for used in self.used)

    # ---- what was found
    def take(self, tried: list[_Tried]) -> None:
        """Take a way that was proven."""
        outcome, words = tried[-1].outcome, self.said(tried)
        if words is None:  # what is bought must be sold
            return
        told = {key: value for each in tried for key, value in each.step.told.items()}
        if any(told.items() >= way.items() for way in self.taken):  # more than is needed
            return
        self.taken.append(told)
        dearest = max(tried, key=lambda each: each.offer.action.weight).offer.action
        self.used.append(frozenset(id(each.offer) for each in tried))
        self.ways.append(
            Way(
                *self.on,
                words,
                tuple((thing, fact, value) for (thing, fact), value in told.items()),
                dearest.cost,
                Fraction(sum(each.step.cost for each in tried)),
                all(each.offer.action.is_found for each in tried),
                frozenset(outcome.mends),
                outcome.mends[self.on],
                tuple(outcome.advises),
            )
        )

    def said(self, tried: list[_Tried]) -> tuple[str, ...] | None:
        """What to do, as it is said once it is done; None where a part of it is not sold."""
        told = {key: value for each in tried for key, value in each.step.told.items()}
        with self.mending.whatif.told([(*key, value) for key, value in told.items()]) as world:
            words = [each.offer.said(world, each.step) for each in tried]
        return tuple(word for word in words if word) if all(words) else None


__all__ = ["Found", "Half", "Mending", "Way", "World"]
