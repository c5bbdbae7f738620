"""The examples of an edit, run with it and without it: what comes out, and which way it went."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.reading import place_of
from ..checking.examples import ANSWERS, HOLDS, Stub, show
from ..language.knowledge import Knowledge
from ..language.rules import FILLING, JUDGING, Rule
from ..language.things import Thing
from ..law.edits import CHANGES, LAXER, STRICTER, Edit
from ..law.forms import EXAMPLE_OF_AN_EDIT
from ..law.there import twins_of
from ..law.verbs.registry import verb_of
from ..running.chain import OFF, SET_ASIDE, World
from .without import OneDay

# What an example may expect by one word, and which words.
ONE_WORD = {"answer": (*ANSWERS, SET_ASIDE), "holds": tuple(HOLDS)}
# The answers from what asks least of a job to what asks most.
ASKS = {
    "passes": 0,
    OFF: 0,
    "exception applies": 0,
    "advice": 1,
    "cannot tell": 2,
    "fails": 3,
}


@dataclass
class Move:
    """One example of an edit: what comes out with the edit, and what without."""

    edit: Edit
    number: int
    rule: str
    without: str
    within: str

    @property
    def moved(self) -> bool:
        """Whether the edit makes a difference to it."""
        return self.without != self.within

    @property
    def asks_otherwise(self) -> bool:
        """Whether more or less is asked of it: what passes is asked no more than what is not
        looked at.
        """
        before, after = ASKS.get(self.without), ASKS.get(self.within)
        return self.moved if before is None or after is None else before != after

    @property
    def decides(self) -> bool:
        """Whether it shows a way: it can be told with the edit and without it."""
        told = {self.without, self.within} <= ASKS.keys()
        return self.moved and told and "cannot tell" not in (self.without, self.within)

    @property
    def direction(self) -> str:
        """Which way the answer went."""
        before, after = ASKS.get(self.without), ASKS.get(self.within)
        if before is None or after is None or before == after:
            return CHANGES
        return STRICTER if after > before else LAXER


class EditExamples:
    """The examples of one edit on one day, run there; what is amiss with them is noted in
    *faults*.
    """

    def __init__(self, edit: Edit, there: OneDay, faults: Collector, partly: bool) -> None:
        self.edit, self.there, self.faults = edit, there, faults
        # some edit could not be carried out: what an example comes to is not what is written
        self.partly = partly
        # what these do is for their own examples
        self.later = [
            other
            for other in there.pack.edits
            if other.target == edit.target and other.number > edit.number
        ]
        self.within = there.k
        self.bare: Knowledge | None = None

    def run(self) -> list[Move]:
        """Each example with the edit and without it."""
        said = self.edit.d.get("examples", [])
        if not isinstance(said, list):
            self.faults.add(
                "example-form",
                place_of(said, self.edit.at),
                f'{self.edit.name}: "examples" is a list',
                "write each with a dash: - {given: {...}, answer: fails}",
            )
            return []
        if self.later and said:
            self.within = self.there.without(self.later)
        out: list[Move] = []
        for number, example in enumerate(said, 1):
            at = place_of(example, self.edit.at)
            if self._has_form(example, at):
                rule = str(example.get("rule", self.edit.target))
                self._look_without(rule)
                with self.faults.catching():
                    out.append(self._one(example, rule, number, at))
        return out

    def _look_without(self, rule: str) -> None:
        """Put together what would be without the edit, where an example of *rule* asks for it."""
        # a rule that the edit adds is not there without it, whatever else is
        if self.bare is None and not (verb_of(self.edit).makes_anew and rule == self.edit.target):
            self.bare = self.there.without([self.edit, *self.later])

    def _has_form(self, example: object, at: Place) -> bool:
        if not isinstance(example, dict):
            self.faults.add(
                "example-form",
                at,
                f"{self.edit.name}: an example is {{given: ..., answer: ...}}",
                "see kb/README.md, Packs",
            )
            return False
        EXAMPLE_OF_AN_EDIT.see(example, self.faults)
        return True

    def _one(self, example: dict[str, Any], rule: str, number: int, at: Place) -> Move:
        """One example of a rule with the edit and without it."""
        edit, within, bare = self.edit, self.within, self.bare
        if rule not in within.rules and (bare is None or rule not in bare.rules):
            raise Fault(
                "no-such-rule",
                place_of(example.get("rule"), at),
                f'the example names "{rule}", and there is no such rule',
                suggest(rule, within.rules),
            )
        want = wanted(example, edit, at)
        comes = verdict(within, rule, example)
        without = verdict(bare, rule, example) if bare else missing(example)
        if comes != want and not self.partly:
            self.faults.add(
                "example-otherwise",
                at,
                f"{edit.name}, example {number}: {rule} was to come out as {want}, and comes out as"
                f" {comes}",
                "correct the example, or the edit",
            )
        return Move(edit, number, rule, without, comes)


def pasted(
    before: dict[str, str], given: dict[str, Any], key: str, value: object, note: str = ""
) -> str:
    """An example as it is written."""
    lead = "".join(f"{name}: {text}, " for name, text in before.items())
    facts = ", ".join(f"{fact}: {told}" for fact, told in given.items())
    said = note.replace('"', "'")
    more = f', note: "{said}"' if said else ""
    return f"- {{{lead}given: {{{facts}}}, {key}: {value}{more}}}"


def wanted(d: dict[str, Any], e: Edit, at: Place) -> str:
    """What an example of an edit expects, as text.

    Raises:
        Fault: it expects nothing, or what never comes out.
    """
    for key, may_be in ONE_WORD.items():
        if key not in d:
            continue
        if str(d[key]) not in may_be:
            raise Fault(
                "example-value",
                place_of(d[key], at),
                f'{e.name}: "{key}" of an example is never "{d[key]}"',
                suggest(str(d[key]), may_be),
            )
        return str(d[key]) if key == "answer" else f"holds: {d[key]}"
    if isinstance(d.get("gives"), dict):
        return ", ".join(f"{fact}: {worth}" for fact, worth in d["gives"].items())
    raise Fault(
        "example-form", at, f"{e.name}: this example expects nothing", "add answer: or gives:"
    )


def missing(d: dict[str, Any]) -> str:
    """What an example comes to where its rule is not there."""
    if "holds" in d:
        return "holds: no"
    if "answer" in d:
        return OFF
    return ", ".join(f"{fact}: unknown" for fact in d.get("gives", {}))


def of_both(one: str, other: str) -> str:
    """What two rules say of a case of which each is about a part: that which asks more, and what
    does not apply says nothing.
    """
    if one == OFF or other == OFF:
        return other if one == OFF else one
    if one not in ASKS or other not in ASKS:
        return other if one.endswith(": unknown") else one
    return max(one, other, key=lambda answer: ASKS[answer])


def verdict(k: Knowledge, rule: str, d: dict[str, Any]) -> str:
    """What *rule* says of the things that an example gives, exceptions and all: an answer, or what
    it fills; of one that was said twice, for some and for the rest, what both say.

    Raises:
        Fault: the example names what is not there.
    """
    said = _verdict(k, rule, d)
    for twin in twins_of(k.rules, rule):
        said = of_both(said, _verdict(k, twin, d))
    return said


def _verdict(k: Knowledge, rule: str, d: dict[str, Any]) -> str:
    """The same of one rule by itself."""
    r = k.rules.get(rule)
    if r is None:
        return missing(d)
    world, thing = _fired(k, r, d.get("given", {}))
    if "holds" in d:
        held = thing[k.holds[r.id]] if r.id in k.holds else thing[k.slots[r.id]]
        return "holds: " + next(said for said, worth in HOLDS.items() if worth is held)
    if r.verb in JUDGING:
        return str(world.answer(r, thing))
    if r.verb in FILLING and isinstance(d.get("gives"), dict):
        return ", ".join(_filled(world, r, thing, fact) for fact in d["gives"])
    held = thing[k.slots[r.id]]
    if held is False or world.set_aside(r, thing) is True:
        return OFF
    return "applies" if held is True else "cannot tell"


def _fired(k: Knowledge, rule: Rule, given: dict[str, Any]) -> tuple[World, Thing]:
    """A thing of which *given* is told, and a world in which a rule and its exceptions have run on
    it.
    """
    # no job: nothing but the rule runs
    world = World.__new__(World)
    world.k, world.fired = k, 0
    thing = Stub(k).thing(rule.about, given)

    def fire(one: Rule) -> None:
        for exception in k.order.exceptions.get(one.id, ()):
            fire(exception)
        world.fire(one, thing)

    fire(rule)
    return world, thing


def _filled(world: World, rule: Rule, thing: Thing, fact: object) -> str:
    """What a rule fills a fact with, as text."""
    k = world.k
    word = k.words.kinds[rule.about].words.get(str(fact))
    if word is None or (rule.id, str(fact)) not in k.results:
        raise Fault(
            "example-word",
            place_of(fact),
            f'{rule.id} does not fill "{fact}"',
            suggest(str(fact), [fill.word.name for fill in rule.fills]),
        )
    aside = world.set_aside(rule, thing) is True
    idle = aside or thing[k.slots[rule.id]] is False
    return f"{fact}: {show(None if idle else thing[k.results[rule.id, word.name]], word.unit)}"


__all__ = [
    "EditExamples",
    "Move",
    "missing",
    "pasted",
    "verdict",
    "wanted",
]
