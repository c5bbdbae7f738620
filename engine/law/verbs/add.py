"""`add`: a rule of the pack's own."""

from __future__ import annotations

from ...basics.errors import Fault
from ...basics.reading import Mapping, place_of
from ...language.knowledge import Material
from ...language.words import as_list
from ..edits import CHANGES, NEW_RULE, Edit
from ..in_words import rule_in_words
from ..meanings import as_direction, asides, listed, role, see_as_meant, sentence
from ..own_rules import as_rule, in_the_place_of, seen_through
from .verb import Verb


class Add(Verb):
    """A rule is put beside those that stand: it names nothing that is there."""

    name = "add"
    third = "adds"
    past = "added"
    about = "Adds a rule of this pack's own."
    takes = (*NEW_RULE, "instead of", "counts as")
    form = "write says:, about:, and must: or another verb"
    also_written = ("insert", "new")
    targets = ()
    makes_anew = True
    writes_a_rule = True

    def what_of(self, edit: Edit) -> str:
        return edit.target

    def carry_out(self, material: Material, edit: Edit, kind: str) -> None:
        """Put the rule beside those that stand.

        Raises:
            Fault: its name is taken, or it loosens a manufacturer's limit.
        """
        _see_name_is_free(material, edit)
        rule = as_rule(edit)
        seen_through(material, edit, rule)
        for target in map(str, as_list(rule.get("exception to"))):
            if "manufacturer" in material.rules.get(target, ()):
                raise Fault(
                    "maker-limit",
                    edit.at,
                    f"{edit.target} is an exception to {target}, which is a manufacturer's limit",
                    "an ordinance may be stricter than the manufacturer, never laxer",
                )
        said = in_the_place_of(material, edit, rule)
        material.rules[edit.target] = rule
        material.trail.setdefault(edit.target, []).append(edit)
        way = role(material, rule)
        edit.done.update(
            direction=CHANGES if said else as_direction(way),
            short=f"{edit.target} is added",
            says=f"{sentence(rule)} is added. Its lines: {rule_in_words(rule)}."
            + f"{_set_aside(material, rule)}{said}"
            + asides(material, rule, 0 if said else way),
            after=rule,
        )
        see_as_meant(edit)


def _set_aside(material: Material, rule: Mapping) -> str:
    """What a rule sets aside, by sentence and name."""
    names = [str(name) for name in as_list(rule.get("exception to"))]
    stand = [sentence(material.rules[name]) for name in names if name in material.rules]
    return f" There it sets aside {listed(stand)}." if stand else ""


def _see_name_is_free(material: Material, edit: Edit) -> None:
    """See that nothing else has the name of a rule that is added."""
    name = edit.target
    if name in material.values or name in material.tables:
        raise Fault(
            "id-in-use",
            place_of(edit.d["add"], edit.at),
            f'"{name}" is a {"value" if name in material.values else "table"} already',
            "give the rule a name of its own",
        )
    if name not in material.rules and name not in material.gone:
        return
    added = (other for other in material.trail.get(name, ()) if other.verb == "add")
    by = next(added, None)
    if by is not None:
        stands = f"by {by.pack.name} at {by.at}"
    else:
        stands = f"at {place_of(material.rules.get(name) or material.gone[name])}"
    raise Fault(
        "id-in-use",
        place_of(edit.d["add"], edit.at),
        f'"{name}" is a rule already, {stands}',
        f"to put yours in its place write replace: {name}; otherwise give it a name of its own",
    )
