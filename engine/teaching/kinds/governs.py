"""`governs`: which rule fails while all others pass."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...answering.verdicts import PASSED
from ...running.chain import World
from ..asked import Model
from ..questions import Draw, Instance, Made, Option, Value
from .kind import (
    Kind,
    answers_in,
    believed_option,
    failing_in,
    key_option,
    label_of,
    rule_of,
)

if TYPE_CHECKING:
    from ..instances import Maker


NOTHING_FAILS = "nothing"


class Governs(Kind):
    """One of several rules fails; wrong is what fails for a believer, or that nothing does."""

    name = "governs"

    def concluded(
        self, model: Model, world: World, lawful: bool, off_counts: bool
    ) -> tuple[Value, str]:
        return failing_in(self.lines(model), world), ""

    def chooses(self, maker: Maker, question: Instance, *names: str) -> list[Value]:
        got = self.concludes(maker, question.model, question.body, *names)
        if got is None or len(got) > 1:
            return []
        return [got[0]] if got else [NOTHING_FAILS]

    def makes_right(self, question: Instance, got: Value, option: Option) -> bool:
        return bool(got == (() if option.value == NOTHING_FAILS else (option.value,)))

    def make(self, maker: Maker, draw: Draw) -> Made | None:
        """Which rule governs: the one that fails while all others pass, or that none does; wrong
        is what fails for a believer, or that nothing does.
        """
        model, body, rng, only = draw.model, draw.body, draw.rng, draw.only
        settled = maker.settled(model, body)
        got = maker.concluded(model, settled.lawful(), True)[0]
        if got is None or len(got) > 1:
            return None
        key = got[0] if got else NOTHING_FAILS
        said = answers_in(self.lines(model), settled.lawful())
        answers = {rule_of(line): answer for line, answer in said.items()}
        passing = [i for i, answer in answers.items() if answer in PASSED and i != key]
        found = _governing_to_believers(maker.believed(model, settled, body, rng, only), got)
        # with nobody who would take another rule for it, every wrong option would just pass
        if not found:
            return None

        def text(i: str) -> str:
            if i == NOTHING_FAILS:
                return "None of them: it is right as planned."
            return label_of(model, maker.k.rules[i])

        wrong = [believed_option(maker, n, i, text=text(i)) for i, n in found.items()]
        rest = [
            Option(text(i), i, says="It passes on these facts.") for i in passing if i not in found
        ]
        rng.shuffle(rest)
        return Made(key_option(key, text=text(key)), wrong + rest)


def _governing_to_believers(
    believed: Iterator[tuple[str, Value]], got: tuple[str, ...]
) -> dict[str, str]:
    """What alone fails, or that nothing does, as believers have it, each with its first one."""
    found: dict[str, str] = {}
    for name, other in believed:
        if other is not None and len(other) < 2 and other != got:
            found.setdefault(other[0] if other else NOTHING_FAILS, name)
    return found
