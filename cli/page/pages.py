"""The pages of a surveyed job: its note, its ways out, its parts, its sheets, by the words of the
commands. Each is lines, which a terminal prints and a page draws, and may be taken as one file.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from ...engine.front import Faults, Survey
from ..layout import Line, wrap
from ..show_sheet import FOR, show_sheet
from . import texts

if TYPE_CHECKING:
    from ...engine.front import Opened, SheetMaterial

ASK_FOR_PRICES = (
    "There is no price without your own prices. whywire prices new FILE writes a file to begin"
    " with; write your own prices over it, and open it here."
)
AT_A_TERMINAL = (
    "Options, and what may be found otherwise, are run whole: whywire price and whywire sheet do"
    " it, with the job's file."
)
PRICED = ("price", "office", "customer")  # what needs a file of prices


class Desk(NamedTuple):
    """What a page is made with beside the survey."""

    work: Callable[[Survey], Opened]  # the job of a survey, opened for its work
    prices: str = ""  # the text of a file of prices, where one was handed over
    width: int = texts.WIDE
    day: datetime.date | None = None  # of today, from which an offer holds
    terminal: bool = False  # where a page is called by s and its name


class Page(NamedTuple):
    """A page: what its button says, its heading, and its lines."""

    label: str
    heading: str
    lines: Callable[[Survey, Desk], list[Line]]


def opened(survey: Survey) -> Opened:
    """The job of a survey, opened for its work with the packs that lie on this machine.

    Raises:
        Faults: something is wrong in it.
    """
    from ...engine.front import How, opened_for_work

    return opened_for_work(survey.body, How())


def note(survey: Survey, desk: Desk) -> list[Line]:
    """The note of the job so far."""
    from ...engine.front import note_of
    from ..show_note import show_note

    return show_note(note_of(texts.inspected(survey)), desk.width)[1:]


def walk(survey: Survey, desk: Desk) -> list[Line]:
    """What to look at, place by place."""
    from ...engine.front import note_of
    from ..show_note import show_walk

    return show_walk(note_of(texts.inspected(survey)), desk.width)[1:]


def care(survey: Survey, desk: Desk) -> list[Line]:
    """What may hurt somebody."""
    from ...engine.front import note_of
    from ..show_note import show_care

    found = texts.inspected(survey)
    cautions = [caution["says"] for caution in found.cautions_that_hold]
    return show_care(cautions, note_of(found), desk.width)[2:]


def fix(survey: Survey, desk: Desk) -> list[Line]:
    """What can be done about what is wrong."""
    from ...engine.front import fixes_of, law_of
    from ..show_fixes import show_fixes

    found = texts.inspected(survey)
    return show_fixes(fixes_of(found.standing, "", law_of(found), []), desk.width)[1:]


def parts(survey: Survey, desk: Desk) -> list[Line]:
    """What to load on the truck."""
    from ...engine.front import bought, take_off
    from ..show_parts import show_parts

    job = desk.work(survey)
    off = take_off(job)
    return show_parts(job, off, bought(off), desk.width)[1:]


def order(survey: Survey, desk: Desk) -> list[Line]:
    """What is done first, and what after it."""
    from ...engine.front import tasks_in_order
    from ..show_order import show_order

    job = desk.work(survey)
    return show_order(job, tasks_in_order(job), desk.width)[1:]


def price(survey: Survey, desk: Desk) -> list[Line]:
    """What the job costs, by a person's own prices."""
    from ..show_price import show_price

    material = _material(survey, desk)
    if material.price is None:
        return [[(line, "")] for line in wrap(ASK_FOR_PRICES, desk.width)]
    return [
        *show_price(material.job, material.price, [], material.off, material.buys, desk.width)[1:],
        *_at_a_terminal(desk),
    ]


def _sheet(audience: str) -> Callable[[Survey, Desk], list[Line]]:
    """The sheet for somebody; one that is not to go out says that it is a draft, and why."""

    def lines(survey: Survey, desk: Desk) -> list[Line]:
        from ...engine.front import holds_back, sheet

        material = _material(survey, desk)
        if audience in PRICED and material.price is None:
            return [[(line, "")] for line in wrap(ASK_FOR_PRICES, desk.width)]
        why_not = holds_back(material, audience)
        said: list[Line] = [[(f"A draft, since {why_not}.", "caution")]] if why_not else []
        lines = said + show_sheet(sheet(material, audience, bool(why_not)), desk.width)[1:]
        return lines + (_at_a_terminal(desk) if audience in PRICED else [])

    return lines


def _at_a_terminal(desk: Desk) -> list[Line]:
    """What is not here of a price."""
    return [[], *([(line, "source")] for line in wrap(AT_A_TERMINAL, desk.width))]


def _material(survey: Survey, desk: Desk) -> SheetMaterial:
    """What sheets are cut from."""
    from ...engine.front import (
        SheetMaterial,
        bought,
        priced,
        prices_in,
        take_off,
        tasks_in_order,
    )

    job = desk.work(survey)
    off, done = take_off(job), tasks_in_order(job)
    own = prices_in(desk.prices, "the file of prices", job.knowledge) if desk.prices else None
    material = SheetMaterial(job, off, bought(off, own), done, day=desk.day)
    if own is not None:
        material.prices, material.price = own, priced(off, material.buys, done, own)
    return material


PAGES = {
    "note": Page("The note", "The note", note),
    "walk": Page("The walk", "To carry through the house", walk),
    "care": Page("Care", "What may hurt somebody", care),
    "fix": Page("Ways out", "What can be done about what is wrong", fix),
    "parts": Page("Parts", "What it takes", parts),
    "order": Page("Order of work", "What is done first", order),
    "price": Page("Price", "What it costs", price),
    **{
        audience: Page(label, FOR[audience].capitalize(), _sheet(audience))
        for audience, label in (
            ("helper", "Sheet for the helper"),
            ("inspector", "Sheet for the inspector"),
            ("office", "Sheet for the office"),
            ("customer", "Offer"),
            ("handover", "Handed over"),
        )
    },
}


# what a command calls by a flag, and what the button beside it says
FLAGS = {
    "--walk": PAGES["walk"].label,
    "--care": PAGES["care"].label,
    "--all": "whywire inspect --all with the job's file",
    "--json": "whywire inspect --json with the job's file",
    "--shop": "a pack of your own",
}


def _without_flags(said: str, terminal: bool) -> str:
    """*said* with what can be asked for here in the place of a command's flags."""

    def called(flag: re.Match[str]) -> str:
        if not terminal:
            return FLAGS[flag[0]]
        name = flag[0].removeprefix("--")
        return f"s {name}" if name in PAGES else flag[0]

    return re.sub(r"(?<=[(: ])--(?:walk|care|all|json|shop)\b", called, said)


def lines_of(name: str, survey: Survey, desk: Desk) -> list[Line]:
    """The lines of the page *name*; what is wrong with the job or the prices in its place."""
    try:
        lines = PAGES[name].lines(survey, desk)
        return [
            [(_without_flags(said, desk.terminal), style) for said, style in line] for line in lines
        ]
    except Faults as faults:
        return [[(f"{fault.what}: {fault.todo}.", "caution")] for fault in faults.items]


__all__ = ["ASK_FOR_PRICES", "PAGES", "PRICED", "Desk", "Page", "lines_of", "opened"]
