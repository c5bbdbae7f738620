"""`cites`: in which section a rule stands."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from ...basics.reading import Mapping
from ...language.words import as_list
from ...running.chain import World
from ..asked import Model
from ..questions import Draw, Made, Option, Value
from .kind import Kind, key_option

if TYPE_CHECKING:
    from ..instances import Maker


# a section of the code, and no practice or arithmetic
IN_THE_CODE = re.compile(r"(Table )?\d+\.\d")


class Cites(Kind):
    """Of the rules that a model lists, `{about}` is drawn; wrong are the sections of the others."""

    name = "cites"
    believed = False
    asks_what_is_open = True

    def rules_named(self, model: Model) -> list:
        return as_list(model.d["cites"])

    def rules_asked(self, model: Model) -> list[str]:
        return []

    def lines(self, model: Model) -> list[str]:
        return []

    def starts(self, model: Model, knowledge: object) -> list:
        return []

    def concluded(
        self, model: Model, world: World, lawful: bool, off_counts: bool
    ) -> tuple[Value, str]:
        return None, ""

    def concludes(self, maker: Maker, model: Model, body: Mapping, *names: str) -> Value:
        """Nothing: what a person believes of a rule does not say where it stands."""
        return None

    def make(self, maker: Maker, draw: Draw) -> Made | None:
        """The section of the rule that is drawn, among those of other rules of the subject."""
        k = maker.k
        sections = {
            str(rule): k.rules[str(rule)].section(k.edition)
            for rule in draw.model.d["cites"]
            if str(rule) in k.rules
            and IN_THE_CODE.match(k.rules[str(rule)].section(k.edition) or "")
        }
        key = sections.get(draw.facts["about"])
        if not key:
            return None
        others = [
            Option(section, section, says=f"That is where this stands: {k.rules[rule].said}")
            for rule, section in sections.items()
            # a rule of several sections holds one of another's: it would be half right
            if section and not {*_parts(section)} & {*_parts(key)}
        ]
        draw.rng.shuffle(others)
        return Made(key_option(key, text=key), list({o.text: o for o in others}.values()))


def _parts(section: str) -> list[str]:
    return [part.strip() for part in section.split(",")]
