"""What is wrong with a job, by cause: what one mend mends is one thing to fix, and so is the same
fault on several circuits.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from ..language.things import Thing
from ..proving.graph import short
from ..running.chain import FAILS, TELL, World
from ..running.rerun import Change, Rerun, tell
from .findings import Finding
from .questions import Why
from .standing import Failing, Standing, failing_in
from .ways import Way

HARMS = "harm-of-faults"  # the table of what a fault may do to somebody
MOST_WAYS = 2  # out of one fault, that a note shows


@dataclass
class Fault:
    """One thing to fix: what is wrong, who says so, on which circuits, and what to do."""

    says: str
    source: str
    layer: str
    harm: str
    circuits: list[str]
    rules: list[str]
    on: list[str]
    # what to do about it, the cheapest first; on several circuits the same on each
    ways: list[Way] = field(default_factory=list)
    mend: tuple[Change, ...] = ()  # what is taken for done in the design
    after: tuple[Change, ...] = ()  # what of other mends has to be done for its own

    def mends_all_of(self, other: Fault) -> bool:
        """Whether what is done first about this mends all of another."""
        mends = self.ways[0].mends if self.ways else Failing()
        return mends.issuperset((rule, on) for rule in other.rules for on in other.on)

    def take_in(self, other: Fault) -> None:
        """Make another fault one with this: the words of this, the mend of the other."""
        for mine, others in (
            (self.rules, other.rules),
            (self.on, other.on),
            (self.circuits, other.circuits),
        ):
            mine += [one for one in others if one not in mine]
        self.ways = other.ways

    def as_dict(self) -> dict[str, Any]:
        """The fault as plain data."""
        said = {k: v for k, v in vars(self).items() if k not in ("ways", "mend", "after")}
        return {**said, "ways": [way.said for way in self.ways]}


class Causes(Why):
    """Sorts the faults of a job that stands as it stands."""

    def __init__(self, stand: Standing) -> None:
        super().__init__(stand.world, stand.whatif, stand)
        # (rule, part, what is told) -> the circuit on which ways out were looked for, and those
        self._fixed: dict[tuple[str, str, str], tuple[str, list[Way]]] = {}

    @property
    def worst(self) -> str | None:
        """The circuit, or whatever else, that is asked about first: that of the worst fault, else
        of what a look may turn, else of what is open; None where nothing is judged.
        """
        stand = self.stand
        found = sorted(stand.faults or stand.turnable, key=self.rank)
        found += [one.finding for one in stand.undecided]
        first = next(iter([*found, *stand.findings]), None)
        if first is None:
            return None
        name: str = self._circuit(self.world.things[first.on])[0].id
        return name

    @cached_property
    def whole(self) -> Failing:
        """All that fails in the job."""
        return Failing((f.rule, f.on) for f in self.stand.findings if f.answer == "fails")

    def other(self, changes: list[Change]) -> Any:
        """Who speaks of the job under *changes*."""
        return Why(self.world, self.whatif).other(changes)

    def harm(self, rule: str) -> str:
        """What a fault may do to somebody; nothing where it hurts nobody by itself."""
        table = self.knowledge.tables.get(HARMS)
        rows = table.rows if table else ()
        return next((str(row["harm"]) for row in rows if row["rule"] == rule), "")

    def rank(self, finding: Finding) -> tuple[bool, bool, bool, int, str]:
        """Worst first: what can hurt, what is unlawful, what lies nearest to its rule's number."""
        rule, on = self.knowledge.rules[finding.rule], self.world.things[finding.on]
        spoken = finding.rule in self.knowledge.rules and bool(
            rule.d.get("answers", {}).get("fails")
        )
        return (
            not self.harm(finding.rule),
            finding.layer not in ("law", "local", "maker"),
            not spoken,
            list(self.world.things).index(self._circuit(on)[0].id),
            finding.rule,
        )

    def faults(self) -> list[Fault]:
        """What is wrong, by cause: what one mend mends is one fault, and so is the same fault on
        several circuits.
        """
        left = sorted(self.failed, key=self.rank)
        items = []
        while left:
            head = left[0]
            ways = self.fixes(head)
            gone = ways[0].mends if ways else self.without_ways(self.of_one_cause(head))
            with_it = [f for f in left if f is head or (f.rule, f.on) in gone]
            left = [f for f in left if f not in with_it]
            # another way mends no less than the first: else it leaves what stands here unmended
            ways = [way for way in ways if way.mends >= ways[0].mends]
            items.append(self.fault(head, with_it, ways))
        items = self.of_one_mend(items)
        done = self.make_together(items)
        changed = {self._circuit(self.world.things[on])[0].id for on, _, _ in done}
        bare = [
            item
            for item in items
            if not item.ways and self._circuit(self.world.things[item.on[0]])[0].id in changed
        ]
        for item in bare:
            items = self.look_again(item, items)
        return self.in_turn(self.together(items))

    def without_ways(self, found: Failing) -> Failing:
        """Those of some findings that have no way out: the others are mended by theirs."""
        return Failing(
            (f.rule, f.on) for f in self.failed if (f.rule, f.on) in found and not self.fixes(f)
        )

    @staticmethod
    def of_one_mend(items: list[Fault]) -> list[Fault]:
        """The faults without those that the mend of another, met further down, mends as well: that
        one then stands where the first of them stood, in the words of the worst.
        """
        out: list[Fault] = []
        for item in items:
            also = [other for other in out if item.mends_all_of(other)]
            if not also:
                out.append(item)
                continue
            first, *rest = also
            for other in (*rest, item):  # the last is the one whose mend mends them all
                first.take_in(other)
            out = [other for other in out if other is first or other not in rest]
        return out

    @property
    def failed(self) -> list[Finding]:
        """What is wrong whatever is still to be told."""
        return self.stand.faults

    def look_again(self, item: Fault, items: list[Fault]) -> list[Fault]:
        """Look for a way out of what had none, where the others are made already; the faults then,
        without those that it mends in the place of a mend of their own.
        """
        done = tuple(change for other in items for change in other.mend)
        job = self.stand.laid()
        tell(job, done)
        fresh = World(self.knowledge, job).run()
        speaker = Why(fresh, Rerun(fresh))
        rule, on = self.knowledge.rules[item.rules[0]], fresh.things[item.on[0]]
        if fresh.answer(rule, on) != FAILS:
            return items
        for way in speaker.ways_out(rule, on):
            replaced = self._replaced(way, item, items)
            moved = way._replace(changes=(*done, *way.changes))
            if (
                replaced is None
                or way.looks
                or not self._whole(moved)
                or not self._builds(done, way)
            ):
                continue
            items = [other for other in items if other not in replaced]
            after = self._needed(way, item, items)
            moved = way._replace(changes=(*after, *way.changes))
            for other in replaced:
                item.take_in(other)
            item.ways, item.mend, item.after = [moved], way.changes, after
            break
        return items

    @staticmethod
    def _replaced(way: Way, item: Fault, items: list[Fault]) -> list[Fault] | None:
        """The faults whose mend a way takes the place of; None where it undoes a part of one."""
        changed = {change[:2] for change in way.changes}
        mends = [(other, {change[:2] for change in other.mend}) for other in items]
        met = [(other, mend) for other, mend in mends if other is not item and mend & changed]
        return None if any(mend - changed for _, mend in met) else [other for other, _ in met]

    def _needed(self, way: Way, item: Fault, items: list[Fault]) -> tuple[Change, ...]:
        """Those of the mends of other faults without which a way breaks something."""
        mends = [other.mend for other in items if other is not item and other.mend]
        for mend in list(mends):
            fewer = [other for other in mends if other is not mend]
            made = self.failing((*(change for other in fewer for change in other), *way.changes))
            if made <= self.whole - way.mends:
                mends = fewer
        return tuple(change for mend in mends for change in mend)

    @staticmethod
    def in_turn(items: list[Fault]) -> list[Fault]:
        """The faults, each way that another has to go before with the number of that one."""
        for item in items:
            first = [
                str(number)
                for number, other in enumerate(items, 1)
                if other is not item and set(other.mend) & set(item.after)
            ]
            if first:
                once = f", once {' and '.join(first)} {'is' if len(first) == 1 else 'are'} fixed"
                item.ways = [way._replace(words=way.words + once) for way in item.ways]
        return items

    def _builds(self, done: tuple[Change, ...], way: Way) -> bool:
        """Whether a way can be made beside others: what it mends is gone, nothing else fails."""
        return self.failing((*done, *way.changes)) <= self.failing(done) - way.mends

    def fixes(self, finding: Finding) -> list[Way]:
        """What can be done about a fault; to find that something is marked is no fix, nor is what
        leaves a further fault on what it changes.

        The same fault on a circuit like another is tried with the ways of that one first: to look
        for ways takes a hundred runs, and to prove one takes one.
        """
        rule, on = self.knowledge.rules[finding.rule], self.world.things[finding.on]
        circuit = self._circuit(on)[0].id
        key = finding.rule, finding.on.removeprefix(circuit), self._told_on(circuit)
        if key in self._fixed:
            other, known = self._fixed[key]
            moved = [self._moved(way, other, circuit, finding) for way in known]
            if all((finding.rule, finding.on) in way.mends for way in moved):
                return moved
        ways = self.ways_out(rule, on)
        ways = [way for way in ways if not way.looks and self._whole(way)]
        # what good practice has no quarrel with goes first
        ways.sort(key=lambda way: bool(way.advises))
        self._fixed.setdefault(key, (circuit, ways[:MOST_WAYS]))
        return ways[:MOST_WAYS]

    def _told_on(self, circuit: str) -> str:
        """All that was told of a circuit and its parts, so that two alike are known to be."""
        told = [
            (part[0].id.removeprefix(circuit), fact, repr(value))
            for part in [self.world.things[circuit], *self.within(self.world.things[circuit])]
            for fact, value in part[0].told.items()
            if not isinstance(value, list)
        ]
        return repr(sorted(told))

    def _moved(self, way: Way, circuit: str, other: str, finding: Finding) -> Way:
        """A way out on one circuit made on another, and run there; where it is none, it mends
        nothing.
        """
        changes = tuple(
            (other + on.removeprefix(circuit), fact, value)
            for on, fact, value in way.changes
            if on == circuit or on.startswith(f"{circuit}.")
        )
        there = all(on in self.world.things for on, _, _ in changes)
        if not there or len(changes) < len(way.changes):
            return way._replace(changes=changes, mends=Failing())
        failing = self.failing(changes)
        mends = self.whole - failing if failing <= self.whole else Failing()
        moved = way._replace(changes=changes, mends=mends)
        return (
            moved
            if self._opens_nothing(moved, (finding.rule, finding.on)) and self._whole(moved)
            else way._replace(changes=changes, mends=Failing())
        )

    def _opens_nothing(self, way: Way, fault: tuple[str, str]) -> bool:
        """Whether nothing but workmanship is newly open."""
        told = {(on, fact): value for on, fact, value in way.changes}
        return bool(self.mending.trials.outcome(told, fault).is_clean)

    def _whole(self, way: Way) -> bool:
        """Whether nothing that compares what a way changes fails still, or is still open: a larger
        breaker is no fix of what is too large already, or may be.
        """
        changed = {(on, fact) for on, fact, _ in way.changes}
        open_ = [(one.finding.rule, one.finding.on) for one in self.stand.undecided]
        rules = self.knowledge.rules
        with self.whatif.told(way.changes) as world:
            still = {
                key for key in open_ if world.answer(rules[key[0]], world.things[key[1]]) == TELL
            }
        return not any(
            changed & self._operands(rule, on) or changed & self.compared(self, rule, on)
            for rule, on in self.failing(way.changes) | still
        )

    def _operands(self, rule: str, name: str) -> set[tuple[str, str]]:
        """(thing, fact) of everything that the test of a requirement reads."""
        on = self.world.things[name]
        held = [
            (path.holder(on, None), path.names[-1])
            for path in self.read_by(self.knowledge.rules[rule])
            if path.names and not path.member
        ]
        return {(holder[0].id, fact) for holder, fact in held if isinstance(holder, list)}

    def make_together(self, items: list[Fault]) -> tuple[Change, ...]:
        """Take the first ways for done, as far as all of them can be built together; all that is
        changed then.
        """
        done: tuple[Change, ...] = ()
        for item in items:
            for way in item.ways:
                if self._builds(done, way):
                    item.mend = way.changes
                    done += way.changes
                    break
        return done

    def fault(self, head: Finding, with_it: list[Finding], ways: list[Way]) -> Fault:
        """One fault, in the words of the worst of what it is found by."""
        things = self.world.things
        rule, on = self.knowledge.rules[head.rule], things[head.on]
        return Fault(
            says=self.sentence(rule, on, FAILS),
            source=self.source(rule, on),
            layer=head.layer,
            harm=self.harm(head.rule),
            circuits=list(dict.fromkeys(self._called(things[f.on]) for f in with_it)),
            rules=list(dict.fromkeys(f.rule for f in with_it)),
            on=list(dict.fromkeys(f.on for f in with_it)),
            ways=ways,
        )

    def _called(self, thing: Thing) -> str:
        """What the circuit of a thing, or whatever else it is part of, is called."""
        return short(self._circuit(thing))

    def together(self, items: list[Fault]) -> list[Fault]:
        """The same fault on several circuits made one."""
        out: dict[tuple[str, tuple[str, ...]], Fault] = {}
        for item in items:
            key = item.says, tuple(sorted(item.rules))
            first = out.setdefault(key, item)
            if first is not item:
                first.circuits += [name for name in item.circuits if name not in first.circuits]
                first.on += item.on
                first.mend += item.mend
                first.ways = _both(first.ways, item.ways)
        return list(out.values())

    def better(self) -> list[Fault]:
        """Advice that is not met, each sentence once."""
        items = [self.fault(f, [f], []) for f in sorted(self.stand.advice, key=self.rank)]
        return self.together(items)

    def of_one_cause(self, head: Finding) -> Failing:
        """What fails on the same thing by what was told of the same facts."""
        told = self.told_under(head.rule, head.on)
        return Failing(
            (f.rule, f.on)
            for f in self.failed
            if f is head or f.on == head.on and told & self.told_under(f.rule, f.on)
        )

    def failing(self, changes: Iterable[Change]) -> Failing:
        """What fails once *changes* are made."""
        said = tuple(changes)
        key = ("failing", *((on, fact, repr(value)) for on, fact, value in said))
        if key not in self.whatif.remembered:
            with self.whatif.told(said) as world:
                self.whatif.remembered[key] = failing_in(world)
        failing: Failing = self.whatif.remembered[key]
        return failing


def _both(mine: list[Way], others: list[Way]) -> list[Way]:
    """The ways of one fault that are, in the same words, ways of the same fault elsewhere."""
    words = {way.words for way in others}
    return [way for way in mine if way.words in words]
