"""`replace`: a whole rule in the place of another."""

from __future__ import annotations

from ...basics.errors import Fault
from ...language.knowledge import Material
from ...language.rules import CODE_BY, LAYERS
from ...language.words import as_list
from ..edits import CHANGES, NEW_RULE, Edit
from ..in_words import rule_in_words
from ..meanings import asides, reads, sentence
from ..own_rules import as_rule, seen_through
from ..targets import changed
from .verb import Verb


class Replace(Verb):
    """Another rule stands under the same name, and keeps the sections of the one it replaces."""

    name = "replace"
    third = "replaces"
    past = "replaced"
    about = "Puts a whole rule in the place of another."
    takes = (*NEW_RULE, "dropping", "counts as")
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
