"""What is wrong with a job, by cause: what one mend mends is one thing to fix, and so is the same
fault on several circuits.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from typing import Any, TypeAlias

from ..language.rules import JUDGING
from ..language.things import Thing
from ..proving.graph import Explainer, short
from ..running.chain import FAILS, World
from ..running.rerun import Change
from .findings import Finding
from .questions import Why
from .standing import Standing
from .ways import Way

HARMS = "harm-of-faults"  # the table of what a fault may do to somebody
MOST_WAYS = 2  # out of one fault, that a note shows
Failing: TypeAlias = frozenset[tuple[str, str]]  # of (rule, thing)


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

    def as_dict(self) -> dict[str, Any]:
        """The fault as plain data."""
        said = {k: v for k, v in asdict(self).items() if k not in ("ways", "mend")}
        return {**said, "ways": [way.said for way in self.ways]}


class Causes(Why):
    """Sorts the faults of a job that stands as it stands."""

    def __init__(self, stand: Standing) -> None:
        super().__init__(stand.world, stand.whatif)
        self.stand = stand
        self.whole = Failing((f.rule, f.on) for f in stand.findings if f.answer == "fails")

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
        left = sorted(self.stand.faults, key=self.rank)
        items = []
        while left:
            head = left[0]
            ways = self.fixes(head)
            gone = ways[0].mends if ways else self.of_one_cause(head)
            with_it = [f for f in left if f is head or (f.rule, f.on) in gone]
            left = [f for f in left if f not in with_it]
            items.append(self.fault(head, with_it, ways))
        self.make_together(items)
        return self.together(items)

    def fixes(self, finding: Finding) -> list[Way]:
        """What can be done about a fault; to find that something is marked is no fix."""
        rule, on = self.knowledge.rules[finding.rule], self.world.things[finding.on]
        return [way for way in self.ways_out(rule, on) if not way.looks][:MOST_WAYS]

    def make_together(self, items: list[Fault]) -> None:
        """Take the first ways for done, as far as all of them can be built together."""
        done: tuple[Change, ...] = ()
        for item in items:
            for way in item.ways:
                if self.failing((*done, *way.changes)) <= self.failing(done) - way.mends:
                    item.mend = way.changes
                    done += way.changes
                    break

    def fault(self, head: Finding, with_it: list[Finding], ways: list[Way]) -> Fault:
        """One fault, in the words of the worst of what it is found by."""
        rule, on = self.knowledge.rules[head.rule], self.world.things[head.on]
        return Fault(
            says=self.sentence(rule, on, FAILS),
            source=self.source(rule, on),
            layer=head.layer,
            harm=self.harm(head.rule),
            circuits=[self._called(on)],
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
        told = self.told_under(head)
        return Failing(
            (f.rule, f.on)
            for f in self.stand.faults
            if f is head or f.on == head.on and told & self.told_under(f)
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

    def told_under(self, finding: Finding) -> set[tuple[str, str]]:
        """What was told of the thing that fails for the numbers that are compared of it."""
        return {
            key for key in self._compared(self, finding.rule, finding.on) if key[0] == finding.on
        }

    def _compared(self, speaker: Why, rule: str, name: str) -> set[tuple[str, str]]:
        """(thing, fact) of what a requirement compares of its own thing, else of others, with what
        was told for it.
        """
        on = speaker.world.things[name]
        compared = [
            (path.holder(on, None), path.names[-1])
            for path in speaker.read_by(self.knowledge.rules[rule])
            if path.names and not path.member
        ]
        held = [(holder, fact) for holder, fact in compared if isinstance(holder, list)]
        out: set[tuple[str, str]] = set()
        for holder, fact in [one for one in held if one[0] is on] or held:
            out |= {(holder[0].id, fact), *_told_under(speaker.world, holder, fact)}
        return out


def failing_in(world: World) -> Failing:
    """(rule, thing) of what fails."""
    return Failing(
        (rule.id, thing[0].id)
        for kind, things in world.by_kind.items()
        if things
        for rule in world.k.rules.values()
        if rule.about == kind and rule.verb in JUDGING and rule.verb != "should"
        for thing in things
        if world.answer(rule, thing) == FAILS
    )


def _told_under(world: World, thing: Thing, fact: str) -> set[tuple[str, str]]:
    """What was told of a thing for one of its facts to be worked out from."""
    explainer = Explainer(world)
    explainer.fact(thing, fact)
    return {
        (thing[0].id, str(node.data["is"]))
        for node in explainer.g.nodes.values()
        if node.kind == "fact" and node.data["of"] == thing[0].id and node.data["origin"] == "told"
    }


def _both(mine: list[Way], others: list[Way]) -> list[Way]:
    """The ways of one fault that are, in the same words, ways of the same fault elsewhere."""
    words = {way.words for way in others}
    return [way for way in mine if way.words in words]
