"""A law in a few words: an edition, a day, a place, a pack more or a pack less; and what that comes
to for a job.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from ..basics.errors import Fault, Faults, Place, suggest
from ..basics.reading import Mapping, Text, place_of
from ..basics.units import day
from ..language.rules import EDITIONS
from ..language.words import as_list
from .places import InForce, in_force, known_packs

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
    """The law that *text* names. Raises Faults with everything that is wrong in it."""
    faults, got = [], {"edition": "", "date": "", "place": "", "more": [], "less": []}
    for piece in (p.strip() for p in text.split(",")):
        key = (
            "edition"
            if piece.isdigit()
            else (
                "date"
                if re.match(r"\d", piece)
                else (
                    "more"
                    if piece[:1] == "+"
                    else "less"
                    if piece[:1] in "-−" and piece
                    else "place"
                )
            )
        )
        value = piece[1:].strip() if key in ("more", "less") else piece
        if not value:
            faults.append(
                Fault(
                    "law-form",
                    UNDER,
                    f'"{text}" names nothing' + (f' after "{piece}"' if piece else ""),
                    f"write {GRAMMAR}",
                )
            )
        elif isinstance(got[key], list):
            got[key].append(value)
        elif got[key]:
            faults.append(
                Fault(
                    "law-form",
                    UNDER,
                    f'"{text}" names two of one sort: {got[key]} and {value}',
                    "one law has one edition, one date and one place; say --under twice to"
                    " compare two",
                )
            )
        else:
            got[key] = value
    if got["edition"] and got["edition"] not in EDITIONS:
        faults.append(
            Fault(
                "edition",
                UNDER,
                f'"{got["edition"]}" is no edition',
                suggest(got["edition"], EDITIONS),
            )
        )
    if got["date"]:
        try:
            day(got["date"], UNDER)
        except Fault as f:
            faults.append(f)
    if faults:
        raise Faults(faults)
    return Law(
        text.strip(),
        got["edition"],
        got["date"],
        got["place"],
        tuple(got["more"]),
        tuple(got["less"]),
    )


def law_of(law: Law, body: Mapping, name: str = "job") -> tuple[InForce, Mapping]:
    """What is in force for the job that *body* says under *law*, and the job as told there: its
    date, place and edition.

    Raises Faults where that cannot be known, and where the law names a place or a pack that is not
    there.
    """
    told = _told(law, body)
    if law.place:
        known = known_packs()
        if not any(law.place.lower() in p.names for p in known.values()):
            as_pack = law.place in known or Path(law.place).is_dir()
            raise Faults(
                [
                    Fault(
                        "no-such-place",
                        UNDER,
                        f'there is no pack for a place called "{law.place}"',
                        (
                            f"to add that pack write +{law.place}"
                            if as_pack
                            else suggest(law.place, [p.place for p in known.values() if p.place])
                            or "name a place that has a pack"
                        ),
                    )
                ]
            )
    more = (
        tuple(dict.fromkeys([*map(str, as_list(body.get("packs"))), *law.more])) if law.more else ()
    )
    force = _force(law, told, name, more)
    for said in law.less:
        out = [
            p
            for p in force.packs
            if said == p.name
            or said.lower() in p.names
            or Path(said).is_dir()
            and Path(said).resolve() == p.folder.resolve()
        ]
        if not out:
            raise Faults(
                [
                    Fault(
                        "no-such-pack",
                        UNDER,
                        f'"-{said}" leaves out a pack that is not in force',
                        (
                            suggest(said, [p.name for p in force.packs])
                            if force.packs
                            else "no pack is in force there"
                        ),
                    )
                ]
            )
        force.packs = [p for p in force.packs if p not in out]
    if "edition" in told:
        told = _with(told, edition=force.edition)
    return force, told


def _told(law: Law, body: Mapping) -> Mapping:
    """The job with the date and the place of *law* instead of its own."""
    out = body
    if law.date:
        out = _with(out, without=("permit",), **{"permit date": law.date})
    return _with(out, place=law.place) if law.place else out


def _with(body: Mapping, without: tuple = (), **said: str) -> Mapping:
    out = Mapping((k, v) for k, v in body.items() if k not in said and k not in without)
    out.at = place_of(body)
    for k, v in said.items():
        out[Text(k.replace("_", " "), out.at)] = Text(v, out.at)
    return out


def _force(law: Law, told: Mapping, name: str, more: tuple) -> InForce:
    """What is in force; an edition that the job tells counts only where its place does not say
    which one is.
    """
    if law.edition or not (law.date or law.place or law.more):
        return in_force(told, name, more, law.edition or None)
    if law.more and not (law.date or law.place):  # a pack more changes no edition
        try:
            return in_force(told, name, more, in_force(told, name).edition)
        except Faults:
            return in_force(told, name, more)
    bare = Mapping((k, v) for k, v in told.items() if k != "edition")
    bare.at = place_of(told)
    try:
        return in_force(bare, name, more)
    except Faults as f:
        if "edition" not in told or not {"edition-unknown", "edition-choice"} & {
            x.code for x in f.items
        }:
            raise
        return in_force(told, name, more)


__all__ = ["GRAMMAR", "Law", "read_law", "law_of"]
