"""`narrow`: a rule holds only when something is so."""

from __future__ import annotations

import re

from ...basics.errors import Fault
from ...basics.reading import Mapping, place_of
from ...language.knowledge import Material
from ...language.words import as_list
from ..edits import Edit, copy_of
from ..in_words import when_in_words
from ..meanings import as_direction, line_text, listed, role, sentence
from ..own_rules import in_signs, list_of
from ..targets import changed, given_by_none_else
from .verb import Verb, put_answers, put_given_sentence


class Narrow(Verb):
    """A rule asks one thing more before it holds."""

    name = "narrow"
    third = "narrows"
    past = "narrowed"
    about = "The rule holds only when something is so."
    takes = ("only when", "says", "answers")
    ways = (("only when",),)
    form = "write only when: and a condition"
    also_written = ("restrict", "limit")
    moves_lines = True
    asks_more = True

    def elsewhere(self, target: str) -> str:
        return "write only when: and the condition under which it still holds"

    def carry_out(self, material: Material, edit: Edit, kind: str) -> None:
        """Let a rule hold only when something is so."""
        rule = material.rules[edit.target]
        # as a clerk writes them, so that a word processor's signs are read as meant
        lines = [in_signs(line) for line in _new_conditions(edit)]
        after = copy_of(rule)
        after["when"] = list_of([*as_list(rule.get("when")), *lines], edit.at)
        put_given_sentence(edit, after)
        put_answers(edit, after)
        way = role(material, rule)
        # before it is changed: what other rules give is asked of those that stand
        elsewhere = _said_elsewhere(material, edit.target, rule, way)
        changed(material, edit, after)
        when = when_in_words(lines)
        edit.done.update(
            direction=as_direction(-way),
            before=rule,
            after=after,
            short=f"{edit.target} holds only if {when}",
            says=f"{sentence(rule)} now holds only if {when}." + elsewhere,
        )

    def went_and_came(self, edit: Edit, material: Material) -> tuple[str, str]:
        return "", "only when " + " and ".join(map(line_text, as_list(edit.d["only when"])))


def _new_conditions(edit: Edit) -> list:
    """The conditions that a narrow adds, as written."""
    lines = as_list(edit.d["only when"])
    for line in lines:
        is_junction = (
            isinstance(line, dict)
            and len(line) == 1
            and re.fullmatch(r"(any|all|at least \d+) of", str(next(iter(line))))
        )
        if not isinstance(line, str) and not is_junction:
            raise Fault(
                "edit-form",
                place_of(line, edit.at),
                '"only when" is a condition, or a list of conditions that must all be so',
                "write only when: stories of job <= 2, or only when: {any of: [line, line]}",
            )
    return lines


def _said_elsewhere(material: Material, name: str, rule: Mapping, way: int) -> str:
    """What comes of a narrowed rule where its new condition is not so, or is not told."""
    if way == 1:
        return (
            " Elsewhere it requires nothing. Where a job doesn't say, the answer is: cannot tell."
        )
    if way == -1:
        targets = listed([str(t) for t in as_list(rule.get("exception to"))])
        return (
            f" Everywhere else {targets} stands without it. Where a job doesn't say, the"
            " permission is not earned."
        )
    alone = given_by_none_else(material, name, rule)
    if alone:
        return f" Elsewhere nothing gives {listed(alone)}: what reads it cannot tell."
    return " Where a job doesn't say, nothing follows from it."
