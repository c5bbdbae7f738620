"""`adopt`: a rule taken over from another edition."""

from __future__ import annotations

from ...basics.errors import Fault, suggest
from ...basics.reading import Text, place_of
from ...language.knowledge import Material
from ...language.rules import EDITIONS, by_case, cited, section_of
from ..edits import Edit, copy_of
from ..in_words import rule_in_words
from ..meanings import as_direction, flat, role, sentence
from ..targets import changed
from .verb import Verb


class Adopt(Verb):
    """A rule that is not in force in this edition is, as in the edition that is named."""

    name = "adopt"
    third = "adopts"
    past = "adopted"
    about = "Takes a rule over from another edition."
    takes = ("edition",)
    ways = (("edition",),)
    form = "write edition: 2026"
    whole = True
    moves_the_meaning = False
    leaves_nothing_idle = True
    wakes = True

    def what_of(self, edit: Edit) -> str:
        return f"{edit.target} as in {edit.d['edition']}" if edit.done.get("short") else edit.target

    def carry_out(self, material: Material, edit: Edit, kind: str) -> None:
        """Take a rule over from another edition.

        Raises:
            Fault: the edition is none, or has not the rule either.
        """
        rule, edition = material.rules[edit.target], str(edit.d.get("edition", ""))
        if edition not in EDITIONS:
            raise Fault(
                "edition",
                place_of(edit.d.get("edition"), edit.at),
                f'"{edition}" is no edition',
                suggest(edition, EDITIONS),
            )
        edit.done.update(
            direction=as_direction(role(material, rule)),
            before=rule,
            short=f"{edit.target} holds as in {edition}",
            says=f"{sentence(rule)} holds as in {edition}: {rule_in_words(rule)}.",
        )
        if section_of(rule, material.edition) is not None:
            # in this edition; it may do something in another that the place adopts
            edit.done["idle"] = "yes"
            return
        section = cited(rule, edition)
        if section is None:
            raise Fault(
                "not-in-edition",
                edit.at,
                f"{edit.target} is not in force in {edition} either",
                "sections: " + flat(rule.get("code", {})),
            )
        sections = section.split("; ") if by_case(section) else [section]
        after = copy_of(rule)
        after["code"] = {
            **(rule.get("code") or {}),
            material.edition: Text("; ".join(f"{s} of {edition}" for s in sections), edit.at),
        }
        changed(material, edit, after)
        edit.done["after"] = after
