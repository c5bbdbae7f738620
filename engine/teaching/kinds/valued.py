"""Questions of one value: what they share who ask for a number, a word or a verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...answering.verdicts import same_text
from ..questions import Draw, Made, Value
from .kind import (
    Kind,
    believed_option,
    key_option,
    order_of,
)

if TYPE_CHECKING:
    from ..instances import Maker


class Valued(Kind):
    """What is asked has one value, and each wrong option is another belief's on the same facts."""

    under_another_law = True

    def make(self, maker: Maker, draw: Draw) -> Made | None:
        """A number or a verdict: each wrong option is another belief's value on the same facts."""
        model, body, facts, rng, only = draw.model, draw.body, draw.facts, draw.rng, draw.only
        value, unit = maker.valued(model, body, facts)
        if value is None:
            return None
        wrong: dict[Value, str] = {}
        for n in maker.in_turn(model, rng, only):
            other = maker.valued(model, body, facts, n)[0]
            if other is None or same_text(other, value, unit):
                if n == only:
                    return None
                continue
            if not any(same_text(other, o, unit) for o in wrong):
                wrong[other] = n
            # three are offered; the rest leaves a choice for the place of the key
            if len(wrong) > 4:
                break
        options = [believed_option(maker, n, o, unit) for o, n in wrong.items()]
        return Made(key_option(value, unit), options, order_of(maker.k, model, value), unit)
