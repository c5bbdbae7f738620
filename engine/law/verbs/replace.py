"""`replace`: a whole rule in the place of another."""

from __future__ import annotations

from ...basics.errors import Fault
from ...basics.reading import Text
from ...language.knowledge import Material
from ...language.rules import CODE_BY, LAYERS
from ...language.words import as_list
from ..edits import CHANGES, NEW_RULE, Edit, came_through
from ..in_words import rule_in_words
from ..meanings import asides, reads, sentence
from ..own_rules import as_rule, seen_through
from ..sections import SECTION, reached
from ..targets import changed
from .verb import Verb
from .withdraw import withdraw_section


class Replace(Verb):
    """Another rule stands under the same name, and keeps the sections of the one it replaces."""

    name = "replace"
    third = "replaces"
    past = "replaced"
    about = "Puts a whole rule in the place of another."
    takes = (*NEW_RULE, "dropping", "counts as", "reaches", "as")
    targets = ("rule", "section")
    form = "write says:, about:, and the whole rule as it shall read"
    whole = True
    writes_a_rule = True

    def what_of(self, edit: Edit) -> str:
        return edit.target

    def carry_out(self, material: Material, edit: Edit, kind: str) -> None:
        """Put the rule in the place of the one that stands.

        Raises:
            Fault: it lacks what the old one has, and does not say that it drops it.
        """
        if kind == "section":
            return _replace_section(material, edit)
        old, rule = material.rules[edit.target], as_rule(edit)
        # It keeps the sources of what it replaces; the ordinance shows as what it came through.
        rule.pop("local", None)
        for key in (*LAYERS, CODE_BY):
            if key in old:
                rule[key] = old[key]
        kept = {str(key) for key in as_list(edit.d.get("dropping"))}
        # prose of the old rule says nothing of the new one, and its examples are of the old lines
        kept |= {"answers", "doubt", "limits", "scope", "examples", "because"}
        lost = [key for key in old if key not in rule and key not in kept]
        if lost:
            keys = " and ".join(f'"{key}"' for key in lost)
            raise Fault(
                "replace-loses",
                edit.at,
                f"the old {edit.target} also has {keys}, and yours does not",
                "write them, or add dropping: [" + ", ".join(lost) + "]",
            )
        seen_through(material, edit, rule)
        changed(material, edit, rule)
        edit.done.update(
            direction=CHANGES,
            short=f"{edit.target} is replaced",
            says=f"{sentence(old)} is replaced. Before, {rule_in_words(old)}."
            f" Now {sentence(rule)}: {rule_in_words(rule)}." + asides(material, rule, 0),
            before=old,
            after=rule,
        )

    def went_and_came(self, edit: Edit, material: Material) -> tuple[str, str]:
        if edit.done.get("before") is None:
            return "", ""
        went, came = (
            " / ".join(f"{label}: {text}" for label, text in reads(edit.done[when]))
            for when in ("before", "after")
        )
        return went, came


def _replace_section(material: Material, edit: Edit) -> None:
    """Take every rule of a section away and put one in their place, which cites the section."""
    names = reached(material, edit)
    rule = as_rule(edit)
    name = str(edit.d.get("as") or names[0])
    if "as" not in edit.d and len(names) > 1:
        raise Fault(
            "edit-lacks",
            edit.at,
            f"replace {edit.target} puts one rule in the place of {len(names)}",
            "add as: and the name of the new one",
        )
    olds = [material.rules[old] for old in names]
    withdraw_section(material, edit, names)
    went = edit.done["says"]
    for key in list(rule):
        if str(key) == "rule":
            rule[key] = Text(name, edit.at)
    code = next((old["code"] for old in olds if "code" in old), None)
    if code is not None:
        rule.pop("local", None)
        rule["code"] = {material.edition: edit.target.removeprefix(SECTION).strip("§ ")}
    for done in (material.withdrawn, material.gone):
        done.pop(name, None)
    # held against what stands once the old ones are gone
    seen_through(material, edit, rule)
    came_through(rule, edit)
    material.rules[name] = rule
    material.trail.setdefault(name, []).append(edit)
    edit.done.update(
        direction=CHANGES,
        reaches=[*names, name],
        short=f"{edit.target} is replaced",
        says=f"{went} In its place {sentence(rule)} ({name}): {rule_in_words(rule)}."
        + asides(material, rule, 0),
        after=rule,
    )
