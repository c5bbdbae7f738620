"""Conditions found: what a price takes for granted or nobody told, turned to what may be found,
with the difference of two whole runs; each tied to the very fact.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import ExitStack
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ..answering.inspection import Source
from ..answering.standing import CHOICES
from ..basics.units import parse_quantity
from ..language.tables import Row as TableRow
from ..language.things import Thing
from ..proving.wording import plain, short
from ..running.rerun import Change
from .buying import bought
from .handover import NO_CELL, Sayings, answer_to
from .money import Price, priced
from .opening import How, Opened, opened
from .options import part_changes
from .price_file import Prices
from .takeoff import TakeOff, no_law_reads, take_off
from .tasks import Order, ordered

TABLE = "conditions-found"
MORE = "+ "  # before how much more of a number is found
YES_OR_NO = {"yes": True, "no": False}
ALWAYS = "always"  # of a row that stands wherever nobody told the fact, whatever the price rests on
MOST = 12  # conditions that are run: what comes after them is asked, and not priced


@dataclass(frozen=True)
class Condition:
    """Something that may be found otherwise, and what it comes to then."""

    fact: str
    called: tuple[str, ...]  # the things it is of
    says: str  # what is found
    ask: str
    changes: tuple[Change, ...]  # as they are told over the job
    delta: Fraction | None = None  # of the two printed totals; None where one is no whole price
    total: Fraction | None = None  # then; None where that is no whole price
    parts: tuple[str, ...] = ()  # that come, go or change
    stops: str = ""  # why it has no price
    fails: bool = False  # whether the job is not right then, and is without it

    @property
    def is_answer(self) -> bool:
        """Whether it is said by its question alone."""
        return self.says.startswith(answer_to(self.ask))

    @property
    def priced(self) -> bool:
        return self.delta is not None or self.total is not None


@dataclass
class Conditions:
    """What may be found, priced; and what is only asked."""

    priced: list[Condition]
    asked: list[Condition]


Group = tuple[str, str]  # kind, fact


def conditions_of(
    source: Source, how: How, job: Opened, price: Price, prices: Prices, off: TakeOff, order: Order
) -> Conditions:
    """Every condition of a price, each run whole."""
    out = Conditions([], [])
    ran = 0
    sayings = Sayings(job, TABLE, built=True)
    for group, things in _groups(job, off, order, sayings).items():
        rows = _rows(job, group)
        fitting = [row for row in rows if any(sayings.so(row, thing) for thing in things)]
        if rows and not fitting:
            continue  # nothing of the kind can be found there
        found = list(_found(job, group, things, fitting))
        if not found or ran + len(found) > MOST:
            ask = job.knowledge.words.kinds[group[0]].words[group[1]].ask
            out.asked.append(Condition(group[1], _called(things), "", ask, ()))
            continue
        ran += len(found)
        ran_whole = [run(source, how, each, job, price, prices) for each in found]
        if any(one.priced or one.fails for one in ran_whole):
            out.priced += ran_whole
        else:
            out.asked.append(Condition(group[1], _called(things), "", found[0].ask, ()))
    return out


def run(
    source: Source, how: How, condition: Condition, base: Opened, against: Price, prices: Prices
) -> Condition:
    """A condition beside the job as it is: run whole, unless it moves nothing but the work."""
    if all(no_law_reads(base, of, fact) for of, fact, _ in condition.changes):
        # what a whole run finds, mends, takes for granted and puts in is the same then
        runs = {id(each): each.standing.whatif for each in (base.built, base.told)}
        with ExitStack() as stack:
            for whatif in runs.values():
                stack.enter_context(whatif.told(condition.changes))
            return _beside(condition, base, _price(base, prices), base, against)
    return run_whole(source, how, condition, base, against, prices)


def run_whole(
    source: Source, how: How, condition: Condition, base: Opened, against: Price, prices: Prices
) -> Condition:
    """A condition run from the beginning."""
    job = opened(source, how, found=condition.changes)
    return _beside(condition, job, _price(job, prices), base, against)


def _price(job: Opened, prices: Prices) -> Price:
    off = take_off(job, bare=True)
    return priced(off, bought(off, prices), ordered(job), prices)


def _beside(
    condition: Condition, job: Opened, price: Price, base: Opened, against: Price
) -> Condition:
    stops = ""
    fails = job.holds_back and not base.holds_back
    if fails:
        stops = f"the job is {job.headline} then, and is looked at anew"
    elif not price.is_whole:
        stops = "what it takes then cannot be told"
    whole = price.is_whole and not stops
    return Condition(
        condition.fact,
        condition.called,
        condition.says,
        condition.ask,
        condition.changes,
        price.total - against.total if whole and against.is_whole else None,
        price.total if whole else None,
        tuple(part_changes(against, price)),
        stops,
        fails,
    )


# ---- what may be found


def _groups(job: Opened, off: TakeOff, order: Order, sayings: Sayings) -> dict[Group, list[Thing]]:
    """(kind, fact) of all that the price takes for granted or waits for, and of what may be found
    whatever it rests on -> the things it is of.
    """
    keys = dict.fromkeys(off.rests)
    waits = [one.waits for one in off.unsure]
    waits += [take.waits for line in off.lines for take in line.takes if take.least]
    waits += [task.waits for task in order.tasks if task.least]
    keys |= dict.fromkeys((ask.thing, ask.fact) for each in waits for ask in each)
    for one in job.built.standing.undecided:
        keys |= dict.fromkeys((need.of, need.fact) for need in one.needs[:1])
    out: dict[Group, list[Thing]] = {}
    for of, fact in keys:
        thing = job.world.things.get(of)
        if thing is not None:
            out.setdefault((thing[0].kind, fact), []).append(thing)
    for row in job.knowledge.tables[TABLE].rows:
        kind, fact = str(row["kind"]), str(row["fact"])
        for thing in job.world.by_kind.get(kind, ()) if row["asked"] == ALWAYS else ():
            known = out.get((kind, fact), [])
            if fact not in thing[0].told and thing not in known and sayings.so(row, thing):
                out.setdefault((kind, fact), []).append(thing)
    return out


def _called(things: Iterable[Thing]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(short(thing) for thing in things))


def _rows(job: Opened, group: Group) -> list[TableRow]:
    """What the table says of a fact."""
    rows = job.knowledge.tables[TABLE].rows
    return [row for row in rows if (str(row["kind"]), str(row["fact"])) == group]


def _found(
    job: Opened, group: Group, things: list[Thing], rows: list[TableRow]
) -> Iterable[Condition]:
    """The values that a fact may be found to have, of all of these things at once."""
    kind, fact = group
    words = job.knowledge.words.kinds[kind].words
    word = words[fact]
    told = {str(row["found"]): row for row in rows}
    values: dict[str, Any] = {}
    if word.type[0] == "flag":
        values = dict(YES_OR_NO)
    elif word.type[0] == "choice" and len(word.type[1]) <= CHOICES:
        values = {value: value for value in word.type[1]}
    else:
        values = {found: found for found in told if found.startswith(MORE)}
    for said, value in values.items():
        if rows and said not in told:
            continue
        instead = told[said]["instead"] if said in told else NO_CELL
        if instead != NO_CELL:
            done = [each.split(": ", 1) for each in str(instead).split("; ")]
            changes = [
                _done(job, thing, path, YES_OR_NO.get(value, value))
                for thing in things
                for path, value in done
            ]
        else:
            changes = [_change(thing, word, value) for thing in things]
        if said in told and told[said]["also"] != NO_CELL:
            name, amount = str(told[said]["also"]).split(" ", 1)
            changes += [_change(thing, words[name], MORE + amount, Fraction()) for thing in things]
        over = tuple(change for change in changes if change is not None)
        if over:
            says = str(told[said]["says"]) if said in told else f"{answer_to(str(word.ask))}{said}"
            yield Condition(fact, _called(things), says, str(word.ask), over)


def _done(job: Opened, thing: Thing, path: str, value: Any) -> Change | None:
    """A `fact of part` of a thing told as it is then."""
    name, *parts = path.split(" of ")
    kinds = job.knowledge.words.kinds
    for part in reversed(parts):
        thing = thing[kinds[thing[0].kind].words[part].slot]
    return _change(thing, kinds[thing[0].kind].words[name], value)


def _change(thing: Thing, word: Any, value: Any, untold: Fraction | None = None) -> Change | None:
    """A fact told as it may be found; None where it is so already, or nobody knows of what it is
    more: of *untold*, if that is a number.
    """
    now = thing[word.slot]
    if isinstance(value, str) and value.startswith(MORE):
        before = Fraction(now) if plain(now) else untold
        if before is None:
            return None
        value = before + Fraction(parse_quantity(value.removeprefix(MORE), word.unit)[0])
    return None if value == now else (thing[0].id, word.name, value)
