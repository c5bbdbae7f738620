"""`findings`: all that fail, or all cautions that belong there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from ...answering.verdicts import PASSED, answer_on
from ...language.rules import Rule
from ...language.words import as_list
from ...running.chain import FAILS, OFF, WARNS, World
from ..asked import Model
from ..questions import Draw, Instance, Made, Option, Value
from .kind import (
    Kind,
    failing_in,
    label_of,
    rule_of,
)

if TYPE_CHECKING:
    from ..draws import Settled
    from ..instances import Maker


class Findings(Kind):
    """Of several rules all that fail or warn are picked."""

    name = "findings"
    under_another_law = True
    picks_several = True

    def concluded(
        self, model: Model, world: World, lawful: bool, off_counts: bool
    ) -> tuple[Value, str]:
        return failing_in(self.lines(model), world), ""

    def makes_right(self, question: Instance, got: Value, option: Option) -> bool:
        return option.value in got

    def make(self, maker: Maker, draw: Draw) -> Made | None:
        return picked(maker, draw)


class Elsewhere(NamedTuple):
    """What applies under another law, which a learner may still have in mind."""

    law: str
    failing: tuple[str, ...]


def picked(maker: Maker, draw: Draw, elsewhere: Elsewhere | None = None) -> Made | None:
    """All that apply: a wrong one is what a belief adds; of a right one it is said which belief
    leaves it out.
    """
    model, body, rng, only = draw.model, draw.body, draw.rng, draw.only
    settled = maker.settled(model, body)
    failing = maker.concluded(model, settled.lawful(), True)[0]
    if not failing:
        return None
    adds, drops = _apart_from(failing, maker.believed(model, settled, body, rng, only))
    # the belief that was asked for errs on this draw no more than the law
    if only and only not in (*adds.values(), *drops.values()):
        return None
    # where neither a belief nor another law errs, nothing is wrong for a reason
    errs = bool(adds or drops) if elsewhere is None else elsewhere.failing != failing
    offered = _offered(maker, model, settled, adds, elsewhere)
    # all of them right is no question, and of two one is guessed
    if not errs or len(offered) < 3 or len(failing) == len(offered):
        return None
    rules = {i: maker.k.rules.get(i) or maker.k.absent[i] for i in offered}
    options = [
        Option(
            label_of(model, rule),
            i,
            right=i in failing,
            belief=adds.get(i, ""),
            says=_said_of(i, rule, failing, adds, elsewhere),
            missed=drops.get(i, ""),
        )
        for i, rule in rules.items()
    ]
    text = "; ".join(option.text for option in options if option.right)
    return Made(Option(text, failing, True), options, all_offered=True)


def _apart_from(
    failing: tuple[str, ...], believed: Iterator[tuple[str, Value]]
) -> tuple[dict[str, str], dict[str, str]]:
    """What believers add to the rules that fail, and what of them they leave out, each with the
    first who does.
    """
    adds: dict[str, str] = {}
    drops: dict[str, str] = {}
    for name, other in believed:
        if other is None:
            continue
        for i in other:
            if i not in failing:
                adds.setdefault(i, name)
        for i in failing:
            if i not in other:
                drops.setdefault(i, name)
    return adds, drops


def _offered(
    maker: Maker, model: Model, settled: Settled, adds: dict[str, str], elsewhere: Elsewhere | None
) -> list[str]:
    """The rules that are offered: what does not apply is none of them, but for a caution, which is
    of other work then, and for what somebody else would pick.
    """
    answers = {
        rule_of(said): answer_on(settled.lawful(), said)
        for said in map(str, as_list(model.d["findings"]))
    }

    def warns(i: str) -> bool:
        return i in maker.k.rules and maker.k.rules[i].verb == "warns"

    return [
        i
        for i, answer in answers.items()
        if answer in (FAILS, WARNS, *PASSED)
        or i in adds
        or elsewhere is not None
        or (answer == OFF and warns(i))
    ]


def _said_of(
    i: str,
    rule: Rule,
    failing: tuple[str, ...],
    adds: dict[str, str],
    elsewhere: Elsewhere | None,
) -> str:
    """What is said of an option that no belief explains."""
    there = elsewhere is not None and i in elsewhere.failing
    if i in failing:
        return f"That is not so under {elsewhere.law}." if elsewhere and not there else ""
    if i in adds:
        return ""
    if elsewhere and there:
        return f"That holds under {elsewhere.law}."
    if rule.d.get("warns"):
        return "It does not belong to this work."
    return "It is met, or does not apply."
