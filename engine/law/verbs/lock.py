"""`lock`: a rule, a value or a table that no pack above may change, or may only make stricter."""

from __future__ import annotations

from ...basics.errors import Fault
from ...basics.reading import place_of
from ...language.knowledge import Material
from ..edits import STRICTER, Edit
from .verb import Verb

AGAINST = ("any", "laxer")


class Lock(Verb):
    """What is locked reads as it stands here for every pack of a layer above."""

    name = "lock"
    third = "locks"
    past = "locked"
    about = "Keeps packs of later layers from changing it, or from asking less."
    takes = ("against",)
    ways = (("against",),)
    form = "write against: any, or against: laxer where it may be made stricter"
    also_written = ("preempt", "preempts")
    targets = ("rule", "value", "table")
    may_name = ("rule", "value", "table")
    moves_the_meaning = False
    changes_nothing = True
    cites_only = True
    needs_one_alone = False

    def elsewhere(self, target: str) -> str:
        return "a lock holds everywhere"

    def what_of(self, edit: Edit) -> str:
        return f"{edit.target} against {edit.d['against']}"

    def carry_out(self, material: Material, edit: Edit, kind: str) -> None:
        """Note the lock.

        Raises:
            Fault: *against* is nothing that a lock keeps out.
        """
        against = str(edit.d["against"])
        if against not in AGAINST:
            raise Fault(
                "edit-form",
                place_of(edit.d["against"], edit.at),
                f'"{against}" is nothing that a lock keeps out',
                self.form,
            )
        way = "changed" if against == "any" else "made to ask less"
        edit.done.update(
            direction="CHANGES",
            short=f"{edit.target} is locked",
            same="yes",
            says=f"{edit.target} may not be {way} by any pack that applies after"
            f" {edit.pack.where}.",
        )


def see_not_locked(material: Material, edit: Edit) -> None:
    """See that no pack of a lower layer has locked what *edit* changes.

    Raises:
        Fault: one has.
    """
    names = [edit.target, *map(str, _touched(edit))]
    for name in names:
        for lock in material.trail.get(name, ()):
            if not isinstance(lock.d.get("against"), str) or lock.verb != Lock.name:
                continue
            if lock.pack.rank >= edit.pack.rank or lock is edit:
                continue
            if str(lock.d["against"]) == "laxer" and edit.done.get("direction") == STRICTER:
                continue
            may = (
                "it may be made stricter and this is not known to be"
                if str(lock.d["against"]) == "laxer"
                else "nothing may change it"
            )
            raise Fault(
                "locked",
                edit.at,
                f"{name} is locked by {lock.pack.where} ({lock.cite}, at {lock.at}): {may}",
                "leave this edit out; what the lock does not reach may be asked by a rule of your"
                " own",
            )


def _touched(edit: Edit) -> list[str]:
    """What an edit changes beside its target."""
    out: list[str] = []
    for key in ("exception to", "instead of", "ends", "reaches"):
        said = edit.d.get(key)
        out += [str(one) for one in (said if isinstance(said, list) else [said] if said else [])]
    return out


__all__ = ["Lock", "see_not_locked"]
