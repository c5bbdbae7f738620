"""`widen`: a rule no longer asks one of its conditions."""

from __future__ import annotations

from ...basics.errors import Fault
from ...basics.reading import place_of
from ...language.knowledge import Material
from ...language.words import as_list
from ..edits import Edit, copy_of, words
from ..in_words import line_in_words, rule_in_words
from ..meanings import as_direction, flat, role, sentence
from ..own_rules import list_of
from ..targets import changed
from .verb import Verb, put_given_sentence


class Widen(Verb):
    """A rule asks one thing less before it holds."""

    name = "widen"
    third = "widens"
    past = "widened"
    about = "The rule no longer asks a condition."
    takes = ("drop", "says")
    ways = (("drop",),)
    form = "write drop: and the condition that no longer counts"
    moves_lines = True

    def carry_out(self, material: Material, edit: Edit, kind: str) -> None:
        """Take a condition from a rule.

        Raises:
            Fault: the rule has no such condition.
        """
        rule = material.rules[edit.target]
        drop = words(edit.d["drop"]) if isinstance(edit.d["drop"], str) else ""
        when = as_list(rule.get("when"))
        found = [i for i, line in enumerate(when) if isinstance(line, str) and words(line) == drop]
        if len(found) != 1:
            raise Fault(
                "not-there",
                place_of(edit.d["drop"], edit.at),
                f'"{edit.d["drop"]}" is no condition of {edit.target}',
                "its conditions: " + (" / ".join(flat(line) for line in when) or "it has none"),
            )
        after = copy_of(rule)
        rest = [line for i, line in enumerate(when) if i != found[0]]
        if rest:
            after["when"] = list_of(rest, edit.at)
        else:
            del after["when"]
        put_given_sentence(edit, after)
        way = role(material, rule)
        changed(material, edit, after)
        edit.done.update(
            direction=as_direction(way),
            before=rule,
            after=after,
            short=f"{edit.target} no longer asks whether {drop}",
            says=f"{sentence(rule)} no longer asks whether {line_in_words(drop)}."
            f" Now, {rule_in_words(after)}.",
        )

    def went_and_came(self, edit: Edit, material: Material) -> tuple[str, str]:
        return str(edit.d["drop"]), ""
