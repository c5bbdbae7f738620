"""`mends`: which change lets a rule pass that fails."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ...answering.verdicts import PASSED, answer_on, small
from ...basics.reading import Mapping
from ...running.chain import ADVICE, FAILS, OFF
from ..asked import Model, changed, filled
from ..questions import Draw, Instance, Made, Option, Value
from .kind import (
    Kind,
    believed_option,
    key_option,
    rule_of,
)

if TYPE_CHECKING:
    from ..draws import Settled
    from ..instances import Maker


class Mends(Kind):
    """Each option is a change to the job; one of those offered lets the rule pass, others do for a
    believer.
    """

    name = "mends"
    asks_what_is_open = True

    def about(self, model: Model) -> str:
        return rule_of(self.lines(model)[0])

    def concludes(self, maker: Maker, model: Model, body: Mapping, *names: str) -> Value:
        """The changes after which the rule passes, as somebody sees it who holds beliefs."""
        said = str(model.d["mends"])
        world = maker.under(maker.settled(model, body), model, body, *names)
        # to whom it is right as it stands mends nothing
        if world is None or answer_on(world, said) not in (FAILS, ADVICE):
            return None
        good = (*PASSED, OFF) if names else PASSED
        mending = []
        for text, change in model.d["options"].items():
            after = changed(body, change)
            mended = maker.under(maker.settled(model, after), model, after, *names)
            if mended is not None and answer_on(mended, said) in good:
                mending.append(str(text))
        return tuple(mending)

    def chooses(self, maker: Maker, question: Instance, *names: str) -> list[Value]:
        got = self.concludes(maker, _with_options(question), question.body, *names)
        return [*got] if got is not None else []

    def make(self, maker: Maker, draw: Draw) -> Made | None:
        """What would make it legal, among what would not, and what only a believer takes for it."""
        model, body, facts, rng, only = draw.model, draw.body, draw.facts, draw.rng, draw.only
        said = str(model.d["mends"])
        settled = maker.settled(model, body)
        if answer_on(settled.lawful(), said) not in (FAILS, ADVICE):
            return None
        # to others nothing is to be mended
        names = [
            n
            for n in maker.in_turn(model, rng, only)
            if _answer_under(maker, settled, model, body, n) in (FAILS, ADVICE)
        ]
        right: list[str] = []
        found: dict[str, str] = {}
        rest: list[str] = []
        for text, change in _filled_options(model, facts).items():
            after = changed(body, change)
            settled = maker.settled(model, after)
            if answer_on(settled.lawful(), said) in PASSED:
                right.append(text)
                continue
            passes = (
                n for n in names if _answer_under(maker, settled, model, after, n) in (*PASSED, OFF)
            )
            holder = next(passes, "")
            if holder:
                found[text] = holder
            else:
                rest.append(text)
        says = f"It fails as before: {small(maker.k.rules[rule_of(said)].said)}"
        fails = [Option(text, text, says=says) for text in rest]
        rng.shuffle(fails)
        # where beliefs could err and none does, every wrong option would be without a reason
        if not right or (not found and maker.relevant(model)):
            return None
        # one key: of several changes that mend only one is offered, so that no second option is
        # right
        key = rng.choice(right)
        wrong = [believed_option(maker, n, text, text=text) for text, n in found.items()]
        return Made(key_option(key, text=key), wrong + fails)


def _filled_options(model: Model, facts: dict[str, str]) -> dict[str, Mapping]:
    """The changes that a question offers on a draw, by what is said of each."""
    return {
        filled(text, facts): filled(change, facts) for text, change in model.d["options"].items()
    }


def _with_options(question: Instance) -> Model:
    """The model of a question about changes, with those changes alone that the question offers."""
    offered = {option.value for option in question.options}
    every = _filled_options(question.model, question.facts)
    options = {text: change for text, change in every.items() if text in offered}
    return replace(
        question.model, kind="mends", d=Mapping({**question.model.d, "options": options})
    )


def _answer_under(
    maker: Maker, settled: Settled, model: Model, body: Mapping, name: str
) -> str | None:
    """The answer on what is to be mended, as a believer has it; None where none can be had."""
    world = maker.under(settled, model, body, name)
    return None if world is None else answer_on(world, str(model.d["mends"]))
