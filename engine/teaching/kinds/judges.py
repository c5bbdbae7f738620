"""`judges`: whether a rule is met, and by how much."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...answering.verdicts import verdict_on
from ...running.chain import World
from ..asked import Model
from ..questions import Value
from .kind import (
    rule_of,
)
from .valued import Valued

if TYPE_CHECKING:
    pass


class Judges(Valued):
    """`RULE on THING`: the verdict with the two numbers it rests on."""

    name = "judges"

    def about(self, model: Model) -> str:
        return rule_of(self.lines(model)[0])

    def concluded(
        self, model: Model, world: World, lawful: bool, off_counts: bool
    ) -> tuple[Value, str]:
        return verdict_on(world, str(model.d["judges"]), lawful, off_counts), ""
