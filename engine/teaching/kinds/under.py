"""`under`: what another law says of the same facts."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ...answering.verdicts import same_text, text_of
from ...basics.reading import Mapping
from ...language.knowledge import Knowledge
from ...language.things import NodeId
from ...proving.graph import Explainer
from ...running.chain import World
from ..asked import Model
from ..questions import Draw, Made, Option, Value
from .asks import Asks
from .findings import Elsewhere, Findings, picked
from .judges import Judges
from .kind import (
    Kind,
    believed_option,
    key_option,
    order_of,
)

if TYPE_CHECKING:
    from ..instances import Maker


class Under(Kind):
    """Another kind of question asked of another law: the answer of the law at hand is a wrong
    option, and what beliefs make there.
    """

    name = "under"
    needs_another_law = True
    believed = False
    asks_what_is_open = True
    takes_a_value = True
    stem_says = ("other",)

    def asked(self, model: Model) -> Kind:
        """What is asked of the other law."""
        return next(kind for kind in _OF_ANOTHER_LAW if kind.name in model.d)

    def as_asked(self, model: Model) -> Model:
        """The model as the other law answers it: its question, without the comparison."""
        return replace(model, kind=self.asked(model).name)

    def lines(self, model: Model) -> list[str]:
        return self.asked(model).lines(model)

    def picks_several_of(self, model: Model) -> bool:
        return self.asked(model).picks_several

    def rules_asked(self, model: Model) -> list[str]:
        return self.asked(model).rules_asked(model)

    def about(self, model: Model) -> str:
        return self.asked(model).about(model)

    def starts(self, model: Model, knowledge: Knowledge) -> list[NodeId]:
        return self.asked(model).starts(model, knowledge)

    def concluded(
        self, model: Model, world: World, lawful: bool, off_counts: bool
    ) -> tuple[Value, str]:
        return self.asked(model).concluded(model, world, lawful, off_counts)

    def concludes(self, maker: Maker, model: Model, body: Mapping, *names: str) -> Value:
        return maker.elsewhere.concludes(self.as_asked(model), body, *names)

    def law_of(self, maker: Maker) -> Maker:
        return maker.elsewhere

    def derive(self, explainer: Explainer, model: Model) -> None:
        self.asked(model).derive(explainer, model)

    def make(self, maker: Maker, draw: Draw) -> Made | None:
        """The answer of the other law, the answer of this one among the wrong ones."""
        model, body, rng, only = draw.model, draw.body, draw.rng, draw.only
        if maker.there is None:
            return None
        there, asked = maker.there, self.as_asked(model)
        if self.asked(model).picks_several:
            failing = maker.concluded(asked, maker.settled(asked, body).lawful(), True)[0]
            if failing is None:
                return None
            # the same draw, asked as the other law has it; its random numbers go on from here
            of_findings = draw._replace(model=asked)
            return picked(there, of_findings, Elsewhere(maker.said, failing))
        settled = there.settled(asked, body)
        v, unit = there.concluded(asked, settled.lawful(), True, True)
        here = maker.concluded(asked, maker.settled(asked, body).lawful(), True, True)[0]
        # the same answer under both laws asks nothing about the difference
        if v is None or here is None or same_text(v, here, unit):
            return None
        wrong = [Option(text_of(here, unit), here, says=f"That is the answer under {maker.said}.")]
        for n, other in there.believed(asked, settled, body, rng, only):
            if other is not None and not any(
                same_text(other, value, unit) for value in (v, *(o.value for o in wrong))
            ):
                wrong.append(believed_option(maker, n, other, unit))
        return Made(key_option(v, unit), wrong, order_of(there.k, model, v), unit)


_OF_ANOTHER_LAW: tuple[Kind, ...] = (Asks(), Judges(), Findings())
