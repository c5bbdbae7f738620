"""`withdraw`: a rule taken away, everywhere."""

from __future__ import annotations

from ...basics.reading import Mapping
from ...language.knowledge import Material
from ...language.words import as_list
from ..edits import CHANGES, Edit
from ..meanings import as_direction, role, sentence
from ..sections import reached
from ..targets import given_by_none_else
from .verb import Verb


class Withdraw(Verb):
    """A rule is in force no longer; what was an exception to it, or read what it gave, is told."""

    name = "withdraw"
    third = "withdraws"
    past = "withdrawn"
    about = "Takes a rule away, everywhere."
    also_written = ("repeal", "delete", "remove", "drop")
    whole = True
    # what is gone has no meaning to compare with
    moves_the_meaning = False
    needs_one_alone = False

    def elsewhere(self, target: str) -> str:
        return (
            f"a rule is withdrawn everywhere; to keep it for some, write narrow: {target}, only"
            " when: and the condition"
        )

    takes = ("reaches",)
    targets = ("rule", "section")
    form = ""

    def what_of(self, edit: Edit) -> str:
        return edit.target

    def carry_out(self, material: Material, edit: Edit, kind: str) -> None:
        if kind == "section":
            return withdraw_section(material, edit, reached(material, edit))
        rule = material.rules[edit.target]
        way = role(material, rule)
        edit.done.update(
            direction=as_direction(-way),
            says=_said_withdrawn(material, edit.target, rule, way),
            short=f"{edit.target} is withdrawn",
            before=rule,
        )
        material.withdrawn[edit.target] = edit
        material.gone[edit.target] = material.rules.pop(edit.target)


def withdraw_section(material: Material, edit: Edit, names: list[str]) -> None:
    """Take every rule of a section away."""
    said, ways = [], set()
    for name in names:
        rule = material.rules[name]
        way = role(material, rule)
        ways.add(as_direction(-way))
        said.append(_said_withdrawn(material, name, rule, way))
        material.withdrawn[name] = edit
        material.gone[name] = material.rules.pop(name)
        material.trail.setdefault(name, []).append(edit)
    edit.done.update(
        direction=ways.pop() if len(ways) == 1 else CHANGES,
        reaches=names,
        says=f"{edit.target[0].upper()}{edit.target[1:]} goes. {' '.join(said)}",
        short=f"{edit.target} is withdrawn",
    )


def _said_withdrawn(material: Material, name: str, rule: Mapping, way: int) -> str:
    """What comes of a rule's being withdrawn: what stands without it, what nothing gives any more,
    which exceptions go with it.
    """
    targets = ", ".join(str(t) for t in as_list(rule.get("exception to")))
    says = f"{sentence(rule)} is withdrawn"
    says += f": {targets} stands without it." if way == -1 else "."
    alone = given_by_none_else(material, name, rule)
    if alone:
        says += (
            f" Nothing gives {' or '.join(alone)} any more: where nobody tells it, what reads it"
            " cannot tell."
        )
    lost = [
        other
        for other, d in material.rules.items()
        if [str(t) for t in as_list(d.get("exception to"))] == [name]
    ]
    if len(lost) == 1:
        says += f" With it {lost[0]} loses what it is an exception to."
    elif lost:
        says += f" With it {', '.join(lost)} lose what they are exceptions to."
    return says
