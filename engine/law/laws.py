"""A law in a few words: an edition, a day, a place, a pack more or a pack less; and what that comes
to for a job.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from ..basics.errors import Fault, Faults, Place, suggest
from ..basics.reading import Mapping, Text, place_of
from ..basics.units import day
from ..language.rules import EDITIONS
from ..language.words import as_list
from .places import InForce, in_force, known_packs

if TYPE_CHECKING:  # what reads packs is imported when one is named
    from .library import Pack

GRAMMAR = (
    "an edition (2017), the date of the permit (2026-01-01), a place (Kestrel County), +PACK or"
    " -PACK by its name or folder, or several of them joined by commas (Kestrel County, 2026-01-01,"
    " -kestrel-county)"
)
UNDER = Place("--under")


@dataclass(frozen=True)
class Law:
    """What a person said of a law; what it does not say is as the job has it."""

    said: str = ""
    edition: str = ""
    date: str = ""
    place: str = ""
    more: tuple[str, ...] = ()
    less: tuple[str, ...] = ()


def read_law(text: str) -> Law:
    """The law that *text* names.

    Raises:
        Faults: everything that is wrong in it.
    """
    # everything that is wrong in a law is told at once, as in a file
    faults: list[Fault] = []
    one: dict[str, str] = {}
    packs: dict[str, list[str]] = {"more": [], "less": []}
    for piece in (part.strip() for part in text.split(",")):
        key = _sort_of(piece)
        value = piece[1:].strip() if key in packs else piece
        if not value:
            what = f'"{text}" names nothing' + (f' after "{piece}"' if piece else "")
            faults.append(Fault("law-form", UNDER, what, f"write {GRAMMAR}"))
        elif key in packs:
            packs[key].append(value)
        elif key in one:
            faults.append(
                Fault(
                    "law-form",
                    UNDER,
                    f'"{text}" names two of one sort: {one[key]} and {value}',
                    "one law has one edition, one date and one place; say --under twice to"
                    " compare two",
                )
            )
        else:
            one[key] = value
    if "edition" in one and one["edition"] not in EDITIONS:
        what = f'"{one["edition"]}" is no edition'
        faults.append(Fault("edition", UNDER, what, suggest(one["edition"], EDITIONS)))
    if "date" in one:
        try:
            day(one["date"], UNDER)
        except Fault as fault:
            faults.append(fault)
    if faults:
        raise Faults(faults)
    return Law(text.strip(), **one, more=tuple(packs["more"]), less=tuple(packs["less"]))


def _sort_of(piece: str) -> str:
    """Which field of a law a piece of its text is for."""
    if piece.isdigit():
        return "edition"
    if re.match(r"\d", piece):
        return "date"
    if piece[:1] == "+":
        return "more"
    # a word processor makes a minus of a hyphen
    return "less" if piece[:1] in ("-", "−") else "place"


def law_of(law: Law, body: Mapping, name: str = "job") -> tuple[InForce, Mapping]:
    """What is in force for the job that *body* says under *law*, and the job as told there: its
    date, place and edition.

    Raises:
        Faults: that cannot be known, or the law names a place or a pack that is not there.
    """
    told = _told(law, body)
    if law.place:
        _see_place_is_known(law.place)
    more: tuple[str, ...] = ()
    if law.more:
        more = tuple(dict.fromkeys([*map(str, as_list(body.get("packs"))), *law.more]))
    force = _force(law, told, name, more)
    for said in law.less:
        _leave_out(force, said, law.more)
    if "edition" in told:
        told = _with(told, edition=force.edition)
    return force, told


def _see_place_is_known(place: str) -> None:
    """See that there is a pack for a place."""
    known = known_packs()
    if any(place.lower() in pack.names for pack in known.values()):
        return
    if place in known or Path(place).is_dir():
        # a pack is often called by its name where its place is meant; what it says then is another
        # law
        todo = f"to add that pack write +{place}"
    else:
        near = suggest(place, [pack.place for pack in known.values() if pack.place])
        todo = near or "name a place that has a pack"
    raise Faults(
        [Fault("no-such-place", UNDER, f'there is no pack for a place called "{place}"', todo)]
    )


def _leave_out(force: InForce, said: str, more: tuple[str, ...]) -> None:
    """Take from what is in force the packs that *said* names, but for those that are put there by
    their folders: `-name,+folder` is a pack and its new version.
    """
    new = {Path(folder).resolve() for folder in more if Path(folder).is_dir()}
    out = [
        pack
        for pack in force.packs
        if _names(said, pack) and (pack.folder.resolve() not in new or said in more)
    ]
    # the new version has taken its place already
    replaced = any(_names(said, pack) and pack.folder.resolve() in new for pack in force.packs)
    if not out and not replaced:
        near = suggest(said, [pack.name for pack in force.packs])
        raise Faults(
            [
                Fault(
                    "no-such-pack",
                    UNDER,
                    f'"-{said}" leaves out a pack that is not in force',
                    near if force.packs else "no pack is in force there",
                )
            ]
        )
    # what a pack within it says stays: to leave out a county leaves its town
    force.packs = [pack for pack in force.packs if pack not in out]


def _names(said: str, pack: Pack) -> bool:
    """Whether a person means *pack*: by its name, by its place, or by its folder."""
    if said == pack.name or said.lower() in pack.names:
        return True
    # last, for it asks the disk
    return Path(said).is_dir() and Path(said).resolve() == pack.folder.resolve()


def _told(law: Law, body: Mapping) -> Mapping:
    """The job with the date and the place of *law* instead of its own."""
    out = body
    if law.date:
        # a job may tell its date under its permit: two dates would be refused
        out = _with(out, without=("permit",), **{"permit date": law.date})
    return _with(out, place=law.place) if law.place else out


def _with(body: Mapping, without: tuple[str, ...] = (), **said: str) -> Mapping:
    """A job that tells *said*, and not what is named in *without*."""
    out = Mapping((k, v) for k, v in body.items() if k not in said and k not in without)
    out.at = place_of(body)
    for key, value in said.items():
        out[Text(key.replace("_", " "), out.at)] = Text(value, out.at)
    return out


def _force(law: Law, told: Mapping, name: str, more: tuple[str, ...]) -> InForce:
    """What is in force; an edition that the job tells counts only where its place does not say
    which one is.
    """
    if law.edition or not (law.date or law.place or law.more):
        return in_force(told, name, more, law.edition or None)
    if not law.date and not law.place:
        return _with_more(told, name, more)
    # a job that was written for one edition is asked what another place or day makes of it: the
    # edition it tells is then what is looked for, and no fact
    bare = _with(told, without=("edition",))
    try:
        return in_force(bare, name, more)
    except Faults as faults:
        codes = {fault.code for fault in faults.items}
        # only where the place leaves it open does the job's own edition count; any other fault is
        # of the law that was named
        if "edition" not in told or not codes & {"edition-unknown", "edition-choice"}:
            raise
        return in_force(told, name, more)


def _with_more(told: Mapping, name: str, more: tuple[str, ...]) -> InForce:
    """What is in force with a pack more, which changes no edition."""
    try:
        # the edition of the job as it is, so that a pack more changes what it says and nothing else
        return in_force(told, name, more, in_force(told, name).edition)
    except Faults:
        return in_force(told, name, more)


__all__ = ["GRAMMAR", "Law", "read_law", "law_of"]
