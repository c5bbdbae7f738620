"""The packs there are, what is in force for a job and why, and the chain of packs behind one
thing.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from .layout import Line

if TYPE_CHECKING:  # the shelf alone is plain data
    from ..engine.front import Behind


def show_shelf(packs: list[dict], width: int = 80) -> list[Line]:
    """Every pack: its place and layer, the editions it adopts with their last days, how many
    edits.
    """
    out: list[Line] = [
        [
            (
                f"{len(packs)} packs on the shelf" if len(packs) != 1 else "1 pack on the shelf",
                "headline",
            )
        ]
    ]
    for p in packs:
        where = f"{p['layer']} of {p['place']}" if p["place"] else p["layer"]
        out += [
            [],
            [
                (p["pack"], "rule"),
                (
                    f"  {p['title']}"
                    + (
                        f" ({where}" + (f", within {p['within']}" if p["within"] else "") + ")"
                        if where
                        else ""
                    ),
                    "",
                ),
            ],
        ]
        for w in p["adopts"]:
            out += _wrapped(f"NEC {w['edition']}{_days(w)}", width, "  ")
        if p["choice"]:
            out += _wrapped(f"where both are in force the {p['choice']} chooses", width, "  ")
        n = p["edits"]
        out += _wrapped(
            f"{n} {'edit' if n == 1 else 'edits'}: {p['authority']}, {p['cite']}{_days(p)}",
            width,
            "  ",
        )
    return out


def show_in_force(got: dict, title: str, width: int = 80) -> list[Line]:
    """The edition and the packs in force, in their order, each with its reason."""
    out: list[Line] = [[(title, "headline")]]
    out += _wrapped(
        f"NEC {got['edition']}: {got['why']}"
        + (f"; permit of {got['date']}" if got["date"] else ""),
        width,
    )
    for n, p in enumerate(got["packs"], 1):
        out += [[], *_wrapped(f"{n}. {p['title']} ({p['pack']})", width, "   ", "rule", first="")]
        text = f"in force because {p['why']}" if n > 1 else p["why"]
        if n > 1:
            text += (
                f": {p['authority']}, {p['cite']}{_days(p)}; {p['edits in force']} of {p['edits']}"
                " edits hold" + (f", the next begins on {p['first day']}" if p["first day"] else "")
            )
        out += _wrapped(text, width, "   ")
    if got["notes"]:
        out.append([])
    for note in got["notes"]:
        out += _wrapped(note, width)
    if got["amends"]:
        out += [
            [],
            *_wrapped(
                "Amended here: "
                + ", ".join(got["amends"])
                + ". whywire packs --behind NAME shows the chain.",
                width,
            ),
        ]
    return out


def show_behind(got: Behind, width: int = 80) -> list[Line]:
    """What the base says, then every edit in its order, then what it comes to."""
    out: list[Line] = [[(f"{got.name} ({got.kind})", "headline")]]
    if got.says:
        out += _wrapped(got.says, width)
    out += [[], *_wrapped(f"1. {got.pack}: {_sections(got)}", width, "   ", "rule", first="")]
    out += _parts(got.base, width)
    for number, edit in enumerate(got.steps, 2):
        out += _step(f"{number}. ", edit, width)
    if not got.steps:
        out += [[], [("No pack changes it" + (" here." if got.edition else "."), "")]]
    elif not got.edition:
        todo = "Name a job, or --place and --date, to see what of it is in force."
        out += [[], *_wrapped(todo, width)]
    if got.edition:
        out += [[], *_wrapped(_comes_to(got), width, style="check"), *_parts(got.now, width)]
    if got.beside:
        out += [[], [("Its exceptions are edited too:", "head")]]
    for edit in got.beside:
        out += _step("- ", edit, width)
    if got.other_days:
        out += [[], [("Not in force on that day:", "head")]]
    for edit in got.other_days:
        text = f"- {edit['place']} {edit['source']} {edit['verb']} {edit['of']}{_days(edit)}"
        out += _wrapped(text, width, "  ", first="")
    return out


def _sections(got: Behind) -> str:
    """Where the base says it, by edition; a value has a source and no edition."""
    return "; ".join(
        f"from {edition} {section}" if edition.isdigit() else section
        for edition, section in got.sections.items()
    )


def _parts(parts: list[tuple[str, str]], width: int) -> list[Line]:
    """What one text says, part by part."""
    return [
        line for part, text in parts for line in _wrapped(f"{part}: {text}", width, "   ", "source")
    ]


def _comes_to(got: Behind) -> str:
    """What is in force after every edit."""
    day = f" for a permit of {got.date}" if got.date else ""
    in_force = f"in force as {got.section}" if got.section else "not in force"
    return f"NEC {got.edition}{day}: {'withdrawn' if got.withdrawn else in_force}"


def _step(lead: str, e: dict, width: int) -> list[Line]:
    out: list[Line] = [
        [],
        *_wrapped(
            f"{lead}{e['title']}, {e['source']} ({e['authority']}){_days(e)}",
            width,
            "   ",
            "rule",
            first="",
        ),
    ]
    out += _wrapped(e["says"] or f"{e['verb']} {e['of']}", width, "   ")
    if e["was"] or e["becomes"]:
        out += _wrapped(
            (
                f"“{e['was']}” -> “{e['becomes']}”"
                if e["was"] and e["becomes"]
                else f"gone: “{e['was']}”"
                if e["was"]
                else f"new: “{e['becomes']}”"
            ),
            width,
            "   ",
            "source",
        )
    return out + (_wrapped(f"reason: {e['reason']}", width, "   ") if e["reason"] else [])


def _days(d: dict) -> str:
    said = ", ".join(
        x
        for x in (
            f"from {d['from']}" if d.get("from") else "",
            f"last day {d['last day']}" if d.get("last day") else "",
        )
        if x
    )
    return f", {said}" if said else ""


def _wrapped(
    text: str, width: int, indent: str = "", style: str = "", first: str | None = None
) -> list[Line]:
    return [
        [(line, style)]
        for line in textwrap.wrap(
            text,
            width,
            initial_indent=indent if first is None else first,
            subsequent_indent=indent,
            break_on_hyphens=False,
        )
    ]
