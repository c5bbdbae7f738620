"""`adopt`: a rule taken over from another edition."""

from __future__ import annotations

from ...basics.errors import Fault, suggest
from ...basics.reading import Mapping, Text, place_of
from ...language.knowledge import Material
from ...language.rules import EDITIONS, by_case, cited, section_of
from ...language.words import as_list
from ..edits import Edit, copy_of
from ..in_words import rule_in_words
from ..meanings import as_direction, flat, listed, role, sentence
from ..targets import changed
from .verb import Verb


class Adopt(Verb):
    """A rule that is not in force in this edition is, as in the edition that is named."""

    name = "adopt"
    third = "adopts"
    past = "adopted"
    about = "Takes a rule over from another edition."
    takes = ("edition", "ends")
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
        _end_predecessors(material, edit, rule, edition)


def _end_predecessors(material: Material, edit: Edit, rule: Mapping, edition: str) -> None:
    """Withdraw what the adopted rule took the place of in its edition, and still stands in this
    one.

    Raises:
        Fault: the edit does not say whether that goes.
    """
    before = _predecessors(material, rule, edition)
    said = [str(name) for name in as_list(edit.d.get("ends"))]
    ends = [] if said == ["none"] else said
    strange = next((name for name in ends if name not in material.rules), None)
    if strange is not None:
        raise Fault(
            "no-such-rule",
            place_of(edit.d["ends"], edit.at),
            f'{edit.name} ends "{strange}", and there is no such rule',
            suggest(strange, before or material.rules),
        )
    unsaid = [name for name in before if name not in ends]
    if unsaid and said != ["none"]:
        names = listed(unsaid)
        raise Fault(
            "adopt-beside",
            edit.at,
            f"{edit.target} took the place of {names} in {edition}, and here both would stand",
            f"add ends: [{', '.join(before)}], or ends: none where both are meant",
        )
    for name in ends:
        material.withdrawn[name] = edit
        material.gone[name] = material.rules.pop(name)
        material.trail.setdefault(name, []).append(edit)
    if ends:
        gone = listed([sentence(material.gone[name]) for name in ends])
        edit.done["says"] += f" With it goes {gone}."
        edit.done["reaches"] = [edit.target, *ends]


def _predecessors(material: Material, rule: Mapping, edition: str) -> list[str]:
    """The rules of the same section about the same thing that the adopted edition has no more."""
    section = {_bare(one) for one in (cited(rule, edition) or "").split("; ")}
    return sorted(
        name
        for name, other in material.rules.items()
        if "code" in other
        and name != str(rule["rule"])
        and str(other.get("about")) == str(rule.get("about"))
        and section_of(other, material.edition) is not None
        and section_of(other, edition) is None
        and any(_bare(one) in section for one in (cited(other, material.edition) or "").split("; "))
    )


def _bare(section: str) -> str:
    """A section without its last parts: what takes a rule's place may stand in another of them."""
    return section.split("(")[0].strip() + "".join(section.partition("(")[1:])[:3]
