"""`redate`: the days that a rule names, or those of another pack's edit, moved."""

from __future__ import annotations

import re
from dataclasses import replace

from ...basics.errors import Collector, Fault
from ...basics.reading import Mapping, Text, place_of
from ...language.knowledge import Material
from ..edits import CHANGES, Edit, read_window
from ..meanings import direction, see_as_meant, sentence
from ..targets import Path, changed, lines_at, put
from .verb import Verb


class Redate(Verb):
    """Either a rule names the day it begins or ends, or an edit of a lower layer has days."""

    name = "redate"
    third = "re-dates"
    past = "redated"
    about = "Moves a date of a rule, or of another pack's edit."
    takes = ("to", "edit of")
    ways = (("to",),)
    form = "write to: {until: 2025-09-01}"
    also_written = ("extend",)
    # an edit that is moved may be of anything
    may_name = ("rule", "value", "table")
    once = True
    moves_lines = True
    gives_days = True

    def read_own(self, edit: Edit, faults: Collector) -> None:
        """Take the days that it gives.

        Raises:
            Fault: they are no days.
        """
        to = edit.d.get("to")
        if not isinstance(to, dict) or not to or set(to) - {"from", "until"}:
            raise Fault(
                "edit-form",
                place_of(to, edit.at),
                f'"to" of redate {edit.target} gives dates',
                self.form,
            )
        edit.redated = read_window(to, faults)

    def moves_an_edit(self, edit: Edit) -> bool:
        return bool(edit.d.get("edit of"))

    def moved(self, edit: Edit, edits: list[Edit], faults: Collector) -> tuple[Edit, Edit] | None:
        other = _edit_to_move(edit, edits, faults)
        return None if other is None else (other, _on_other_days(edit, other, faults))

    def carry_out(self, material: Material, edit: Edit, kind: str) -> None:
        """Move the days that a rule itself names."""
        rule = after = material.rules[edit.target]
        said, way = [], CHANGES
        for key, new in zip(("from", "until"), edit.redated, strict=True):
            if not new:
                continue
            path, text, date = _date_of(edit, after, key)
            line = Text(
                text[: date.start(3)] + new + text[date.end(3) :], place_of(edit.d["to"], edit.at)
            )
            way = direction(material, after, path, text, str(line))
            after = put(after, path, line)
            said.append(f"{key} {date[3]} becomes {new}")
            if date[3] in str(after.get("says", "")):
                after["says"] = Text(
                    str(after["says"]).replace(date[3], new), place_of(after["says"])
                )
        changed(material, edit, after)
        edit.done.update(
            direction=way,
            before=rule,
            after=after,
            short=f"{edit.target}: {', '.join(said)}".replace("becomes", "became"),
            says=f"{sentence(rule)}: {', '.join(said)}.",
        )


def _edit_to_move(edit: Edit, edits: list[Edit], faults: Collector) -> Edit | None:
    """The edit of a lower layer that *edit* re-dates; None, with a fault noted, where there is none
    or several.
    """
    theirs = [
        other
        for other in edits
        if str(other.pack.head.get("pack")) == str(edit.d["edit of"])
        and other.target == edit.target
        and other is not edit
    ]
    if len(theirs) != 1:
        faults.add(
            "no-such-edit",
            place_of(edit.d["edit of"], edit.at),
            f"{edit.d['edit of']} has {len(theirs) or 'no'} edits of {edit.target}",
            "name the pack and the rule that it edits",
        )
        return None
    other = theirs[0]
    # else two packs of one layer could each say when the other holds
    if other.pack.rank[0] >= edit.pack.rank[0]:
        faults.add(
            "edits-clash",
            edit.at,
            f"{edit.pack.name} is no layer above {other.pack.name}, and re-dates what it does",
            "let the later layer do so",
        )
        return None
    return other


def _on_other_days(edit: Edit, other: Edit, faults: Collector) -> Edit:
    """*other* on the days that *edit* gives it."""
    to = edit.d["to"]
    later = replace(
        other,
        start=edit.redated[0] if "from" in to else other.start,
        end=edit.redated[1] if "until" in to else other.end,
        written=other.window(),
    )
    if (later.start, later.end) == (other.start, other.end):
        faults.add(
            "no-op-edit",
            edit.at,
            f"{edit.name}: these are its dates already",
            "leave the edit out",
        )
    edit.done.update(
        direction=CHANGES,
        short=f"{other.target}: other dates",
        says=(
            f"What {other.pack.where} did to {other.target} now holds"
            f" {later.window() or 'on every day'}."
        ),
    )
    with faults.catching():
        see_as_meant(edit)
    return later


_DATED = re.compile(r"(permit date(?: of [\w ]+?)?\s*(<|>=)\s*)(\d{4}-\d\d-\d\d)")


def _date_of(edit: Edit, rule: Mapping, key: str) -> tuple[Path, str, re.Match[str]]:
    """The one line of a rule that names its first day (`from`) or the day it ends (`until`)."""
    # the first day is in it and the day it ends is not, as of every pack and edit
    sign = ">=" if key == "from" else "<"
    found = []
    for path, text in lines_at(rule):
        date = _DATED.search(text)
        if date and date[2] == sign:
            found.append((path, text, date))
    if len(found) != 1:
        raise Fault(
            "no-date",
            edit.at,
            f'{edit.target} has no date of the permit to "{key}"',
            "write edit of: and a pack to re-date what that pack does, or from: and until: on"
            " an edit of your own",
        )
    return found[0]
