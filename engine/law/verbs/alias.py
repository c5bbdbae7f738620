"""`alias`: another section number for the same thing."""

from __future__ import annotations

from ...basics.errors import Fault, suggest
from ...basics.reading import place_of
from ...language.knowledge import Material
from ...language.rules import EDITIONS, cited, section_of
from ..cells import copied
from ..edits import CHANGES, Edit, copy_of
from ..targets import item_called
from .verb import Verb


class Alias(Verb):
    """A place counts its sections otherwise: what is cited changes, and nothing else."""

    name = "alias"
    third = "renumbers"
    past = "aliased"
    about = "Another section number for the same thing."
    takes = ("code",)
    ways = (("code",),)
    form = "write code: {2023: section}"
    also_written = ("rename",)
    targets = ("rule", "value", "table")
    once = True
    moves_the_meaning = False
    leaves_nothing_idle = True
    cites_only = True

    def carry_out(self, material: Material, edit: Edit, kind: str) -> None:
        """Give another section number to a rule, a value or a table."""
        code = _other_sections(edit)
        item = item_called(material, edit.target)
        after = copy_of(item)
        sections = item.get("code")
        after["code"] = {**(sections if isinstance(sections, dict) else {}), **code}
        said = " and ".join(f"{section} ({edition})" for edition, section in code.items())
        edit.done.update(
            direction=CHANGES,
            before=item,
            after=after,
            says=f"{edit.target} is cited as {said}; it says the same.",
            short=f"cited there as {said}",
            same="yes",
        )
        old, new = cited(item, material.edition), cited(after, material.edition)
        # in this edition; it may be cited otherwise in another that the place adopts
        if old is None or new == old:
            edit.done["idle"] = "yes"
            return
        if edit.target in material.rules:
            material.rules[edit.target] = after
        elif edit.target in material.values:
            material.values[edit.target] = after
        else:
            table = copied(material.tables[edit.target])
            table.d = after
            material.tables[edit.target] = table

    def went_and_came(self, edit: Edit, material: Material) -> tuple[str, str]:
        if edit.done.get("before") is None:
            return "", ""
        went, came = (section_of(edit.done[when], material.edition) for when in ("before", "after"))
        return went or "", came or ""


def _other_sections(edit: Edit) -> dict:
    """The section numbers that an alias gives, by edition."""
    code = edit.d.get("code")
    if not isinstance(code, dict) or not code or not all(isinstance(v, str) for v in code.values()):
        raise Fault(
            "edit-form",
            place_of(code, edit.at),
            f'"code" of alias {edit.target} gives sections',
            Alias.form,
        )
    for edition in code:
        if str(edition) not in EDITIONS:
            raise Fault(
                "edition",
                place_of(edition),
                f'"{edition}" is no edition',
                suggest(str(edition), EDITIONS),
            )
    if "gone" in map(str, code.values()):
        raise Fault(
            "edit-form",
            place_of(code, edit.at),
            "an alias gives another number to what is in force, and takes nothing out of force",
            "write withdraw:",
        )
    return code
