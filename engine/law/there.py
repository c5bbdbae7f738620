"""Edits that hold for some only: the rules that one reaches are said twice, as they stand where its
`where` is not so, and as amended where it is.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable
from typing import Any

from ..basics.errors import Fault
from ..basics.reading import Mapping, Text, place_of
from ..language.knowledge import Material
from ..language.words import as_list
from .edits import Edit, came_through, copy_of
from .in_words import when_in_words
from .own_rules import denied, in_signs, list_of

TWIN = "-there"  # behind the name of a rule, a table: as it is where an edit holds
MORE = "-too"  # behind that, where there are several
# where one rule names others: what holds of a rule holds of its twin
_NAMES = ("exception to", "leaving out", "also")


def where_of(edit: Edit) -> list[Any]:
    """The conditions under which an edit holds, as the grammar writes them; [] where it holds
    everywhere.

    Raises:
        Fault: it is neither a condition nor a list of them.
    """
    said = [in_signs(line) for line in as_list(edit.d.get("where"))]
    if "choice until" in edit.d:
        said.append(_chosen(edit))
    for line in said:
        is_junction = isinstance(line, dict) and len(line) == 1
        if not isinstance(line, str) and not is_junction:
            raise Fault(
                "edit-form",
                place_of(line, edit.at),
                '"where" is a condition, or a list of conditions that must all be so',
                "write where: flood zone of job, or where: [condition, condition]",
            )
    return said


def _chosen(edit: Edit) -> Mapping:
    """That the day is there from which there is no choice, or that the new text was chosen."""
    at = place_of(edit.d["choice until"], edit.at)
    fact = str(edit.d.get("chosen by", "")).strip()
    if not fact:
        raise Fault(
            "edit-lacks",
            edit.at,
            f"{edit.verb} {edit.target} leaves a choice, and no fact says what was chosen",
            "add chosen by: and the yes or no of a job that says so, as in new rules of job; the"
            " pack brings its word",
        )
    lines = [
        Text(f"permit date of job >= {edit.d['choice until']}", at),
        Text(fact, place_of(edit.d["chosen by"], edit.at)),
    ]
    out = Mapping({Text("any of", at): list_of(lines, at)})
    out.at = at
    return out


def in_words(edit: Edit) -> str:
    """Where an edit holds, in words; "" where it holds everywhere."""
    where = where_of(edit)
    return when_in_words(where) if where else ""


def elsewhere(edit: Edit) -> str:
    """What is to be said of what stands where an edit does not hold."""
    if not where_of(edit):
        return ""
    return " Elsewhere it stands as it was. Where a job doesn't say, nothing is concluded."


def split(
    material: Material,
    edit: Edit,
    names: Iterable[str],
    changed: Callable[[Mapping], Mapping],
    seen_from: Callable[[Mapping, Any], Any] = lambda _, line: line,
) -> dict[str, str]:
    """Say each rule in *names* twice: as it is where the edit does not hold, and as *changed* where
    it does; the names of the rules and of their twins. A condition is written as it is *seen from*
    the thing that the rule is about.
    """
    out = {}
    for name in names:
        old = material.rules[name]
        where = [seen_from(old, line) for line in where_of(edit)]
        twin = _free_name(material, name)
        there = changed(copy_of(old))
        there["when"] = list_of([*as_list(there.get("when")), *where], edit.at)
        _call(there, twin)
        for key in ("examples", "was", "formerly"):
            there.pop(key, None)
        here = copy_of(old)
        at = place_of(where[0], edit.at)
        here["when"] = list_of([*as_list(old.get("when")), denied(where, at)], edit.at)
        came_through(there, edit)
        came_through(here, edit)
        material.rules[name], material.rules[twin] = here, there
        for touched in {name, twin} - {edit.target}:
            material.trail.setdefault(touched, []).append(edit)
        out[name] = twin
    _name_with(material, edit, out)
    return out


def twins_of(rules: Container[str], name: str) -> list[str]:
    """The rules that say for some what the rule called *name* says for the rest."""
    out, twin = [], name + TWIN
    while twin in rules:
        out.append(twin)
        twin += MORE
    return out


def _call(rule: Mapping, name: str) -> None:
    key = next(key for key in rule if str(key) == "rule")
    rule[key] = Text(name, place_of(rule[key]))


def _free_name(material: Material, name: str) -> str:
    """A name for the twin of a rule: a second edit of it has another."""
    twin = name + TWIN
    # no digits in names
    while twin in material.rules or twin in material.gone:
        twin += MORE
    return twin


def _name_with(material: Material, edit: Edit, twins: dict[str, str]) -> None:
    """Have every rule that names one of those that were said twice name both."""
    for name, rule in list(material.rules.items()):
        for key in _NAMES:
            named = [str(other) for other in as_list(rule.get(key))]
            more = [twins[other] for other in named if other in twins]
            if more:
                rule = copy_of(rule)
                said = [Text(one, edit.at) for one in more]
                rule[key] = list_of([*as_list(rule[key]), *said], place_of(rule[key]))
                material.rules[name] = rule
                stands = material.trail.setdefault(name, [])
                if edit not in stands and name != edit.target:
                    stands.append(edit)


__all__ = ["TWIN", "elsewhere", "in_words", "split", "twins_of", "where_of"]
