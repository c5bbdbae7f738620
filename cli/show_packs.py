"""The packs there are, what is in force for a job and why, and the chain of packs behind one
thing.
"""

from __future__ import annotations

import textwrap

from .layout import Line


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


def show_behind(got, width: int = 80) -> list[Line]:
    """What the base says, then every edit in its order, then what it comes to."""
    out: list[Line] = [[(f"{got.name} ({got.kind})", "headline")]]
    if got.says:
        out += _wrapped(got.says, width)
    out += [
        [],
        *_wrapped(
            f"1. {got.pack}: "
            + "; ".join(f"from {e} {s}" if e.isdigit() else s for e, s in got.sections.items()),
            width,
            "   ",
            "rule",
            first="",
        ),
    ]
    for part, text in got.base:
        out += _wrapped(f"{part}: {text}", width, "   ", "source")
    for n, e in enumerate(got.steps, 2):
        out += _step(f"{n}. ", e, width)
    if not got.steps:
        out += [[], [("No pack changes it" + (" here." if got.edition else "."), "")]]
    elif not got.edition:
        out += [
            [],
            *_wrapped("Name a job, or --place and --date, to see what of it is in force.", width),
        ]
    if got.edition:
        day = f" for a permit of {got.date}" if got.date else ""
        said = (
            "withdrawn"
            if got.withdrawn
            else f"in force as {got.section}"
            if got.section
            else "not in force"
        )
        out += [[], *_wrapped(f"NEC {got.edition}{day}: {said}", width, style="check")]
        for part, text in got.now:
            out += _wrapped(f"{part}: {text}", width, "   ", "source")
    if got.beside:
        out += [[], [("Its exceptions are edited too:", "head")]]
        for e in got.beside:
            out += _step("- ", e, width)
    if got.other_days:
        out += [[], [("Not in force on that day:", "head")]]
        for e in got.other_days:
            out += _wrapped(
                f"- {e['place']} {e['source']} {e['verb']} {e['of']}{_days(e)}",
                width,
                "  ",
                first="",
            )
    return out


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
