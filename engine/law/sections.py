"""A section of the book as what an edit is about: the rules that it reaches, each by its name."""

from __future__ import annotations

import re

from ..basics.errors import Fault
from ..basics.reading import place_of
from ..language.knowledge import Material
from ..language.rules import section_of
from ..language.words import as_list
from .edits import Edit
from .meanings import listed

SECTION = "section "  # how an edit names one, before its number


def rules_of(material: Material, section: str) -> list[str]:
    """The rules in force whose section is *section*, or a part of it.

    Of 210.12 these are the rules of 210.12, 210.12(A) and 210.12(D), and none of 210.125.
    """
    part = re.compile(rf"(?<![\w.]){re.escape(section)}(?![\w.])")
    return sorted(
        name
        for name, rule in material.rules.items()
        if "local" not in rule and part.search(section_of(rule, material.edition) or "")
    )


def reached(material: Material, edit: Edit) -> list[str]:
    """The rules that an edit of a section reaches; it names each, so that none goes unseen.

    Raises:
        Fault: there is none, or it names others.
    """
    section = edit.target.removeprefix(SECTION).strip("§ ")
    there = rules_of(material, section)
    if not there:
        raise Fault(
            "no-such-item",
            place_of(edit.d[edit.verb], edit.at),
            f"no rule here is of section {section} in {material.edition}",
            "write the section as the edition has it; whywire rules and a word finds a rule",
        )
    named = [str(name) for name in as_list(edit.d.get("reaches"))]
    if sorted(named) != there:
        missing = [name for name in there if name not in named]
        strange = [name for name in named if name not in there]
        said = [f"does not name {listed(missing)}"] if missing else []
        said += [f"names {listed(strange)}, which it does not reach"] if strange else []
        raise Fault(
            "section-reaches",
            place_of(edit.d.get("reaches"), edit.at),
            f"{edit.verb} {edit.target} reaches {len(there)} rule{'s' * (len(there) > 1)}, and"
            f" {' and '.join(said)}",
            f"read each, and write reaches: [{', '.join(there)}]",
        )
    return there


__all__ = ["SECTION", "reached", "rules_of"]
