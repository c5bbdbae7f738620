"""`judges`: whether a rule is met, and by how much."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...answering.verdicts import (
    OFF,
    PASSED,
    Verdict,
    amount_text,
    limit_text,
    pair_text,
    verdict_on,
)
from ...basics.units import Range
from ...running.chain import SET_ASIDE, World
from ..asked import Model
from ..questions import Draw, Made, Option, Value
from .kind import (
    rule_of,
)
from .valued import Valued

if TYPE_CHECKING:
    from ..instances import Maker


class Judges(Valued):
    """`RULE on THING`: the verdict with the two numbers it rests on."""

    name = "judges"

    def about(self, model: Model) -> str:
        return rule_of(self.lines(model)[0])

    def concluded(
        self, model: Model, world: World, lawful: bool, off_counts: bool
    ) -> tuple[Value, str]:
        # that a rule of this law does not apply is an answer, too
        off_counts = off_counts or self.about(model) in world.k.rules
        return verdict_on(world, str(model.d["judges"]), lawful, off_counts), ""

    def make(self, maker: Maker, draw: Draw) -> Made | None:
        """Verdicts among which both yes and no stand; where all would be one of them, or as chance
        has it, the numbers alone, in their order.
        """
        made = super().make(maker, draw)
        return None if made is None else in_a_form(made, draw)


# how often words are among the forms where the one that says another is not the key
ALONE_IS_WRONG = 0.6


def in_a_form(made: Made, draw: Draw) -> Made | None:
    """The options of a verdict in one of the forms in which all of them could be right."""
    key, wrong, only = made.key, made.options, draw.only
    limits = [o for o in wrong if _differs_by(key.value, o.value, "needed")]
    amounts = [o for o in wrong if _differs_by(key.value, o.value, "have")]
    # that no rule applies stands out beside numbers, and is right too seldom to be offered there
    if key.value.relation:
        wrong = [o for o in wrong if o.value.relation or o.belief == only]
    others = [o for o in wrong if _word(o.value) != _word(key.value)]
    forms = []
    if _offering(limits, only):
        forms.append(made._replace(options=limits, order=_needed, asks="limit", written=limit_text))
    if _offering(amounts, only):
        forms.append(
            made._replace(options=amounts, order=_have, asks="amount", written=amount_text)
        )
    if others and _offering(wrong, only):
        # those that say the other word first: the options are cut from behind
        mixed = sorted(wrong, key=lambda o: (o.belief != only, o not in others))
        # a limit that lies between two wrong ones shares its word with one of them: were it asked
        # so as often as not, the one that says another word would hardly ever be right
        if not forms or len(others) > 1 or draw.rng.random() < ALONE_IS_WRONG:
            forms.append(made._replace(options=mixed))
    elif not forms and only and _offering(wrong, only) and key.value.relation:
        forms.append(made._replace(asks="pair", written=pair_text))
    return draw.rng.choice(forms) if forms else None


def _offering(options: list[Option], only: str) -> bool:
    """Whether there are two, and among them that of the belief which was asked for."""
    return len(options) > 1 and (not only or any(o.belief == only for o in options))


def _word(verdict: Verdict) -> bool:
    """Whether a verdict says yes."""
    return verdict.answer in (*PASSED, OFF)


def _differs_by(key: Verdict, other: Verdict, part: str) -> bool:
    """Whether two verdicts are of one kind and differ in one number alone, *part*."""
    same_part = "have" if part == "needed" else "needed"
    plain = all(
        verdict.relation
        and verdict.answer != SET_ASIDE
        and not isinstance(getattr(verdict, part), (Range, str, bool))
        for verdict in (key, other)
    )
    return bool(
        plain
        and (key.relation, key.because, key.unit) == (other.relation, other.because, other.unit)
        and getattr(key, same_part) == getattr(other, same_part)
        and getattr(key, part) != getattr(other, part)
    )


def _needed(verdict: Verdict) -> Value:
    return verdict.needed


def _have(verdict: Verdict) -> Value:
    return verdict.have
