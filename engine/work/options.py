"""Options of a job: each is a change that is run whole; its difference is that of two printed
totals.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ..answering.inspection import Source, body_of
from ..basics.errors import Fault, Faults
from ..basics.reading import place_of
from .buying import bought
from .money import Price, priced
from .opening import OPTIONS, How, Opened, opened
from .price_file import Prices
from .takeoff import take_off
from .tasks import ordered


@dataclass
class Option:
    """One option, run whole."""

    name: str
    job: Opened
    price: Price
    stops: list[str]  # what it goes against that the job without it does not
    delta: Fraction | None  # of the two printed totals; None where one of them is "at least"
    changes: list[str]  # parts that come, go or change


def options_of(source: Source) -> dict[str, Any]:
    """The options that a job names. Raises Faults where they are none."""
    try:
        body, _ = body_of(source)
    except Fault as fault:
        raise Faults([fault]) from None
    said = body.get(OPTIONS)
    if said is None:
        return {}
    if not isinstance(said, dict) or not all(isinstance(each, dict) for each in said.values()):
        raise Faults(
            [
                Fault(
                    "options-form",
                    place_of(said, place_of(body)),
                    '"options" names changes of the job',
                    "write options: {in pipe: {circuits: {kiln: {segments: [...]}}}}",
                )
            ]
        )
    return dict(said)


def run_option(
    source: Source,
    how: How,
    name: str,
    changes: dict[str, Any],
    base: Opened,
    against: Price,
    prices: Prices,
) -> Option:
    """One option beside the job as it is."""
    job = opened(source, how, changes)
    off = take_off(job)
    price = priced(off, bought(off, prices), ordered(job), prices)
    whole = price.is_whole and against.is_whole
    failing = {(fault.rule, fault.on) for fault in base.told.standing.faults}
    stops = [
        f"{job.knowledge.rules[fault.rule].said} [{job.knowledge.section(fault.rule)}]"
        for fault in job.told.standing.faults
        if (fault.rule, fault.on) not in failing
    ]
    return Option(
        name=name,
        job=job,
        price=price,
        stops=list(dict.fromkeys(stops)),
        delta=price.total - against.total if whole else None,
        changes=part_changes(against, price),
    )


def part_changes(before: Price, after: Price) -> list[str]:
    """Parts that come, go, or are more or fewer."""
    was = {one.line.part: one.line.amount for one, _ in before.parts}
    now = {one.line.part: one.line.amount for one, _ in after.parts}
    out = [f"+ {part}" for part in now if part not in was]
    out += [f"− {part}" for part in was if part not in now]
    out += [
        f"{part}: {float(was[part]):g} → {float(now[part]):g}"
        for part in now
        if part in was and was[part] != now[part]
    ]
    return out
