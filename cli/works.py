"""The commands of the work: parts, their why, the order, the price, the sheets."""

from __future__ import annotations

from argparse import Namespace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..engine.front import (
    Bought,
    Fault,
    Faults,
    How,
    Opened,
    Place,
    Prices,
    TakeOff,
    bought,
    opened_for_work,
    priced,
    suggest,
    take_off,
    tasks_in_order,
)
from . import show_parts as sp
from .layout import Put
from .wall import json_text

if TYPE_CHECKING:
    from collections.abc import Callable

    from ..engine.front import Price, SheetMaterial, WorkOption


def run(a: Namespace, put: Put, width: int, write: Callable[[str], Any]) -> int:
    """Run one command of the work; *put* prints lines, *write* plain text. Raises Faults."""
    return _COMMANDS[a.command](a, put, width, write)


def why(a: Namespace, put: Put, width: int, write: Callable[[str], Any]) -> int:
    """Answer `why JOB parts NAME`. Raises Faults."""
    return _WHYS[a.words[0]](a, put, width, write)


def _how(a: Namespace) -> How:
    return How(tuple(a.pack), tuple(getattr(a, "shop", ())), a.edition, a.date, a.place)


def _opened(a: Namespace) -> tuple[Opened, TakeOff, Prices | None, list[Bought]]:
    """The job, what it takes, the prices where some are named, and what is bought."""
    job = opened_for_work(a.job, _how(a))
    off = take_off(job)
    named = getattr(a, "prices", None)
    prices = None
    if named:
        from ..engine.front import read_prices  # a list for the truck waits for no reader of prices

        prices = read_prices(named, job.knowledge)
    return job, off, prices, bought(off, prices)


# ---- parts


def _parts(a: Namespace, put: Put, width: int, write: Callable[[str], Any]) -> int:
    job, off, _, buys = _opened(a)
    if a.json:
        write(json_text(sp.parts_as_dict(job, off, buys)))
    else:
        put(sp.show_parts(job, off, buys, width))
    return 3 if off.least else 0


def _why_parts(a: Namespace, put: Put, width: int, write: Callable[[str], Any]) -> int:
    job, off, _, buys = _opened(a)
    name = " ".join(a.words[1:]).lower()
    hits = [one for one in buys if name in _names(one)]
    hits = hits or [one for one in buys if any(name in called for called in _names(one))]
    unsure = [one for one in off.unsure if name in one.what.lower()]
    if not name or not (hits or unsure):
        every = sorted({*(one.line.part for one in buys), *(one.what for one in off.unsure)})
        todo = suggest(name, every) if name else "name one of: " + ", ".join(every)
        raise Faults(
            [Fault("no-such-part", Place("parts"), f'no part of this job is called "{name}"', todo)]
        )
    if a.json:
        write(json_text(sp.parts_as_dict(job, off, hits)))
    else:
        put(sp.show_why_parts(job, hits, unsure, width))
    return 0


def _names(one: Bought) -> set[str]:
    return {one.line.part.lower(), *(take.slot.lower() for take in one.line.takes)}


# ---- order


def _order(a: Namespace, put: Put, width: int, write: Callable[[str], Any]) -> int:
    from . import show_order as so

    job = opened_for_work(a.job, _how(a))
    order = tasks_in_order(job)
    if a.json:
        write(json_text(so.order_as_dict(job, order)))
    else:
        put(so.show_order(job, order, width, a.audience == "helper"))
    return 3 if order.least or order.gaps else 0


def _why_order(a: Namespace, put: Put, width: int, write: Callable[[str], Any]) -> int:
    from . import show_order as so

    job = opened_for_work(a.job, _how(a))
    order = tasks_in_order(job)
    name = " ".join(a.words[1:]).lower()
    hits = [
        task for task in order.tasks if name in (str(task.number), task.says.lower(), task.rule)
    ]
    hits = hits or [task for task in order.tasks if name in task.in_words.lower()]
    if not name or not hits:
        every = list(dict.fromkeys(task.says for task in order.tasks))
        todo = suggest(name, every) if name else "name one of: " + ", ".join(every)
        raise Faults(
            [Fault("no-such-task", Place("order"), f'no task of this job is called "{name}"', todo)]
        )
    if a.json:
        write(json_text(so.order_as_dict(job, order)))
    else:
        put(so.show_why_order(job, hits, width))
    return 0


# ---- price


def _price(a: Namespace, put: Put, width: int, write: Callable[[str], Any]) -> int:
    from . import show_price as sm

    job, off, prices, buys = _opened(a)
    if prices is None:
        raise Faults([_no_prices()])
    price = priced(off, buys, tasks_in_order(job), prices)
    options = _options(a, _how(a), job, price, prices)
    if a.json:
        write(json_text(sm.price_as_dict(job, price, options)))
    else:
        put(sm.show_price(job, price, options, off, buys, width))
    return 1 if job.holds_back else 0 if price.is_whole else 3


def _options(a: Namespace, how: How, job: Opened, price: Price, prices: Prices) -> list[WorkOption]:
    """The options of the job, each run whole."""
    from ..engine.front import options_of, run_option

    return [
        run_option(a.job, how, name, changes, job, price, prices)
        for name, changes in options_of(a.job).items()
    ]


def _why_price(a: Namespace, put: Put, width: int, write: Callable[[str], Any]) -> int:
    from . import show_price as sm

    job, off, prices, buys = _opened(a)
    if prices is None:
        raise Faults([_no_prices()])
    price = priced(off, buys, tasks_in_order(job), prices)
    name = " ".join(a.words[1:]).lower()
    if not name:
        put(sm.price_rows(price, width))
        return 0
    hits = [item for item in price.book.items if name == item.lower()]
    hits = hits or [item for item, one in price.book.items.items() if name == one.text.lower()]
    if not hits:
        every = [one.text for one in price.book.items.values() if one.op == "rounded"]
        todo = suggest(name, ["total", *every])
        what = f'no line of this price is called "{name}"'
        raise Faults([Fault("no-such-line", Place("price"), what, todo)])
    if a.json:
        items = [one.as_dict() for one in price.book.under(hits[0])]
        write(json_text({"line": hits[0], "currency": price.currency, "items": items}))
    else:
        put(sm.show_why_price(job, price, hits[0], width))
    return 0


def _no_prices() -> Fault:
    todo = "whywire prices new FILE writes a file to begin with; then --prices FILE"
    return Fault("no-prices", Place("--prices"), "there is no price without your own prices", todo)


def _prices(a: Namespace, put: Put, width: int, write: Callable[[str], Any]) -> int:
    """Write a price file to begin with; nothing is written over."""
    from ..engine.front import KB, load, price_starter

    if Path(a.file).exists():
        todo = "name a file that is not there yet"
        raise Faults([Fault("is-there", Place(a.file), "this file is there already", todo)])
    text = price_starter(load((KB / "work",), "2023"))
    with open(a.file, "x", encoding="utf-8") as file:
        file.write(text)
    said = f"{a.file}: every rate and part, at invented prices; write your own over them"
    put([[(said, "headline")]])
    return 0


# ---- sheets


def _material(a: Namespace, how: How, audience: str) -> SheetMaterial:
    """What the sheet for somebody is cut from. Raises Faults."""
    from ..engine.front import CUSTOMER, OFFICE, SheetMaterial

    job, off, prices, buys = _opened(a)
    order = tasks_in_order(job)
    material = SheetMaterial(job, off, buys, order, day=date.today())
    if audience in (OFFICE, CUSTOMER):
        if prices is None:
            raise Faults([_no_prices()])
        material.prices, material.price = prices, priced(off, buys, order, prices)
        from ..engine.front import conditions_of

        material.options = _options(a, how, job, material.price, prices)
        material.conditions = conditions_of(a.job, how, job, material.price, prices, off, order)
    return material


def _record(a: Namespace, put: Put, width: int, write: Callable[[str], Any]) -> int:
    from .records import record

    return record(a, put, width, write, _material, _how(a))


def _sheet(a: Namespace, put: Put, width: int, write: Callable[[str], Any]) -> int:
    from ..engine.front import holds_back, sheet
    from .show_sheet import FORMS, show_sheet

    material = _material(a, _how(a), a.audience)
    why_not = holds_back(material, a.audience)
    if why_not and not a.draft:
        put([[(f"No sheet: {why_not}. With --draft it is printed, and says so.", "fault")]])
        return 1
    made = sheet(material, a.audience, bool(why_not or a.draft))
    if a.json:
        write(json_text(made.as_dict()))
    elif a.form == "text":
        put(show_sheet(made, width))
    else:
        write(FORMS[a.form](made))
    return 0


_COMMANDS = {
    "parts": _parts,
    "order": _order,
    "price": _price,
    "prices": _prices,
    "sheet": _sheet,
    "record": _record,
}
_WHYS = {"parts": _why_parts, "order": _why_order, "price": _why_price}
