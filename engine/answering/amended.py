"""What of an answer came through a pack: the edits it rests on, and what was withdrawn that might
have mattered.

An edit is an `edits.Edit`; what makes one is imported only where a pack has edits.
"""

from __future__ import annotations

from ..language.knowledge import Knowledge
from ..language.rules import Rule
from ..language.words import as_list
from ..proving.graph import support
from ..running.chain import OFF, World


def through(w: World, r: Rule, x: list) -> list:
    """The edits that the answer of *r* on *x* rests on: of the rule, of what gives its facts, of
    the cells it reads.
    """
    trail = w.k.trail
    if not trail:
        return []
    out: dict[int, object] = {}
    # one that an edit keeps from holding matters too
    forgiving = {x.id for x in w.k.order.exceptions.get(r.id, ())}
    for n in support(w, r, x).nodes.values():
        if n.kind == "rule" and (
            n.data.get("answer") != OFF or n.data["rule"] == r.id or n.data["rule"] in forgiving
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


def withdrawn_from(k: Knowledge, rule_id: str) -> list[tuple]:
    """The exceptions to a rule that were withdrawn here: their ids, and by which edit."""
    return [
        (i, e)
        for i, e in k.withdrawn.items()
        if rule_id in [str(t) for t in as_list(k.gone[i].get("exception to"))]
    ]


def told(e) -> str:
    """An edit in a few words for an answer: what it changed, where, and its last day."""
    days = f", last day {e.last_day}" if e.last_day else ""
    what = e.done.get("short") or e.verb + " " + e.target
    return f"{what} ({e.pack.where}{days})"


def as_plain(e) -> dict:
    """An edit as plain data for a program."""
    return {
        "pack": e.pack.name,
        "place": e.pack.where,
        "verb": e.verb,
        "of": e.target,
        "source": e.cite,
        "reason": str(e.d.get("reason", "")),
        "from": e.first_day,
        "last day": e.last_day,
        "says": str(e.done.get("says", "")),
        "at": str(e.at),
    }
