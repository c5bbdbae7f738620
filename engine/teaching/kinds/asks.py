"""`asks`: what a fact is worth."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...basics.errors import Fault, suggest
from ...basics.reading import place_of
from ...basics.sentinels import NONE
from ...basics.units import Range
from ...language.knowledge import Knowledge
from ...language.things import NodeId
from ...proving.graph import Explainer, unit_shown
from ...running.chain import World
from ..asked import Model, place
from ..questions import Value
from .kind import (
    fact_node,
)
from .valued import Valued

if TYPE_CHECKING:
    pass


class Asks(Valued):
    """`FACT of THING`: a number, a size, a word."""

    name = "asks"
    takes_a_value = True

    def rules_asked(self, model: Model) -> list[str]:
        return []

    def starts(self, model: Model, knowledge: Knowledge) -> list[NodeId]:
        """The fact that is asked about.

        Raises:
            Fault: there is no such fact.
        """
        node = fact_node(str(model.d["asks"]), model, knowledge)
        words = knowledge.words.kinds[node[1]].words
        if node[2] not in words:
            raise Fault(
                "question-word",
                place_of(model.d["asks"], model.at),
                f'{node[1]} has no "{node[2]}"',
                suggest(node[2], words),
            )
        return [node]

    def concluded(
        self, model: Model, world: World, lawful: bool, off_counts: bool
    ) -> tuple[Value, str]:
        """The value of the fact and the unit it is shown in; None where it is not one plain
        value.
        """
        fact, thing = place(str(model.d["asks"]), model, " of ")
        x = world.things.get(thing)
        if x is None:
            return None, ""
        word = world.k.words.kinds[x[0].kind].words[fact]
        value = x[word.slot]
        if value is None or value is NONE or isinstance(value, (Range, list)):
            return None, ""
        return value, str(model.d.get("unit", "")) or unit_shown(x, fact, word.unit) or ""

    def derive(self, explainer: Explainer, model: Model) -> None:
        for said in self.lines(model):
            fact, thing = place(said, model, " of ")
            explainer.fact(explainer.w.things[thing], fact)
