"""What of an answer came through a pack: the edits it rests on, and what was withdrawn that might
have mattered.

An edit is an `edits.Edit`; what makes one is imported only where a pack has edits.
"""

from __future__ import annotations

from typing import Any, TypeAlias

from ..language.knowledge import Knowledge
from ..language.rules import Rule
from ..language.things import Thing
from ..language.words import as_list
from ..proving.graph import supporting
from ..running.chain import OFF, World

# an `edits.Edit`, or what a cache kept of one: its pack has little more than a name there
Edit: TypeAlias = Any


def through(world: World, rule: Rule, thing: Thing) -> list[Edit]:
    """The edits that the answer of *rule* on *thing* rests on: of the rule, of what gives its
    facts, of the cells it reads.
    """
    trail = world.k.trail
    if not trail:
        return []
    out: dict[int, Edit] = {}
    # one that an edit keeps from holding matters too
    forgiving = {thing.id for thing in world.k.order.exceptions.get(rule.id, ())}
    for n in supporting(world, rule, thing):
        if n.kind == "rule" and (
            n.data.get("answer") != OFF or n.data["rule"] == rule.id or n.data["rule"] in forgiving
        ):
            found = trail.get(n.data["rule"], ())
        elif n.kind == "cell":
            # of a table, only the cell that was changed; a row that was struck shows in every look-
            # up
            found = [
                o
                for o in trail.get(n.data["table"], ())
                if o.done.get("at") in (n.data["at"], "every row")
            ]
        elif n.kind == "value":
            found = trail.get(n.id.partition(":")[2], ())
        else:
            continue
        out.update((id(o), o) for o in found)
    return list(out.values())


def withdrawn_from(knowledge: Knowledge, rule_id: str) -> list[tuple[str, Edit]]:
    """The exceptions to a rule that were withdrawn here: their ids, and by which edit."""
    return [
        (i, e)
        for i, e in knowledge.withdrawn.items()
        if rule_id in [str(t) for t in as_list(knowledge.gone[i].get("exception to"))]
    ]


def told(edit: Edit) -> str:
    """An edit in a few words for an answer: what it changed, where, and its last day."""
    days = f", last day {edit.last_day}" if edit.last_day else ""
    what = edit.done.get("short") or edit.verb + " " + edit.target
    return f"{what} ({edit.pack.where}{days})"


def as_plain(edit: Edit) -> dict[str, str]:
    """An edit as plain data for a program."""
    return {
        "pack": edit.pack.name,
        "place": edit.pack.where,
        "verb": edit.verb,
        "of": edit.target,
        "source": edit.cite,
        "reason": str(edit.d.get("reason", "")),
        "from": edit.first_day,
        "last day": edit.last_day,
        "says": str(edit.done.get("says", "")),
        "at": str(edit.at),
    }
