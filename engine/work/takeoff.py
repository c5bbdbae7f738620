"""What a job takes: each part that a rule asks for, of which thing, how much of it and why; the
same parts together in a line.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

from ..answering.working import Working
from ..basics.errors import Fault, Faults
from ..basics.sentinels import NONE, NOTHING
from ..basics.units import Range, in_unit
from ..language.knowledge import KB
from ..language.lowering import COMES_WITH, TAKES, fact_of
from ..language.rules import Rule
from ..language.things import Thing
from ..language.words import Word, as_list
from ..proving.leaves import UnderFacts, unknown_under, unknown_under_fact
from ..proving.wording import say, short
from ..running.chain import OFF, TELL, World
from .opening import WORK_PACK, Opened

PARTS = "parts"  # the table of every part there is
UNCUT, JOINED = "uncut", "joined"
MOST_ASKED = 3  # questions that are said of one open amount


@dataclass(frozen=True)
class Ask:
    """A fact that an amount waits for: of which thing, and the question."""

    of: str
    fact: str
    ask: str
    thing: str = ""  # by its place in the job


@dataclass
class Take:
    """So much of a part for one thing of the job, and the rule that says so."""

    part: str  # as it is sold; where that is not known, what it is
    slot: str  # what it is, whichever is bought
    of: str
    called: str
    rule: str
    says: str
    source: str
    count: Fraction  # how many, or how many feet, or how many pieces
    each: Fraction | None  # of a piece, its length in feet
    least: bool  # whether it may be more
    sold: bool  # whether the part is known by name
    formula: str
    worked: str  # the formula with its numbers, as far as it is carried out
    asks: str
    sold_as: str  # how the part was looked up; "" where it is one part
    waits: tuple[Ask, ...] = ()

    @property
    def pieces(self) -> list[Fraction]:
        """The lengths that are cut; none where nothing is."""
        return [self.each] * int(self.count) if self.each is not None else []

    @property
    def amount(self) -> Fraction:
        """How many, or how many feet in all."""
        return self.count * self.each if self.each is not None else self.count


@dataclass
class Line:
    """All of one part."""

    part: str
    unit: str  # ft or each
    use: str  # uncut, joined or each
    packs: tuple[Fraction, ...]
    charge: str  # whole packs, or what is used of them
    takes: list[Take] = field(default_factory=list)

    @property
    def amount(self) -> Fraction:
        return sum((take.amount for take in self.takes), Fraction())

    @property
    def pieces(self) -> list[Fraction]:
        return [piece for take in self.takes for piece in take.pieces]

    @property
    def least(self) -> bool:
        return any(take.least for take in self.takes)


@dataclass(frozen=True)
class Unsure:
    """A part of which nobody can say whether, how many or which it is."""

    what: str
    of: str
    called: str
    says: str  # what is not known
    rule: str
    waits: tuple[Ask, ...] = ()


@dataclass
class TakeOff:
    """Everything a job takes."""

    lines: list[Line]
    unsure: list[Unsure]
    by_hand: list[str]  # what no rule takes off, in a sentence each
    brought: list[str]  # what comes with another part, and is not bought
    assumed: dict[str, list[str]]  # what was taken for granted, and of which things
    rests: list[tuple[str, str]] = field(default_factory=list)  # the same: (thing, fact)

    @property
    def least(self) -> bool:
        """Whether it may be more than is listed."""
        return bool(self.unsure or self.by_hand) or any(line.least for line in self.lines)


class Taking:
    """Reads what a job takes off its settled run."""

    def __init__(self, job: Opened, world: World | None = None, bare: bool = False) -> None:
        self.world = world or job.world
        self.bare = bare  # amounts alone, and nothing of how they come about
        self.knowledge = job.knowledge
        self.working = Working(self.world)
        self.table = self.knowledge.tables[PARTS]
        self.rows = {str(row["part"]): row for row in self.table.rows}
        self.unsure: list[Unsure] = []
        self.assumed: dict[str, list[str]] = {}
        self.rests: dict[tuple[str, str], None] = {}
        self._under = UnderFacts(self.world)

    def take_off(self) -> TakeOff:
        """Every part of the job, in the order of the rules and of the things."""
        lines: dict[str, Line] = {}
        for (kind, slot), rules in self._slots().items():
            for thing in self.world.by_kind.get(kind, ()):
                take = self._take(slot, rules, thing)
                if take is not None:
                    self._line(lines, take).takes.append(take)
        return TakeOff(
            list(lines.values()),
            self.unsure,
            self._by_hand(),
            self._brought(),
            self.assumed,
            list(self.rests),
        )

    def _slots(self) -> dict[tuple[str, str], list[Rule]]:
        """(kind, what is taken) -> the rules that take it, in the order they are written in."""
        out: dict[tuple[str, str], list[Rule]] = {}
        for rule in sorted(self.knowledge.rules.values(), key=_as_written):
            for slot in (*as_list(rule.d.get(TAKES)), *as_list(rule.d.get(COMES_WITH))):
                out.setdefault((rule.about, str(slot)), []).append(rule)
        return out

    def _line(self, lines: dict[str, Line], take: Take) -> Line:
        if take.part not in lines:
            row = self.rows.get(take.part)
            if row is None:
                lines[take.part] = Line(take.part, "each", "each", (), "whole")
            else:
                packs = tuple(Fraction(pack) for pack in str(row["packs"]).split())
                lines[take.part] = Line(
                    take.part, str(row["unit"]), str(row["use"]), packs, str(row["charge"])
                )
        return lines[take.part]

    # ---- one part of one thing
    def _take(self, slot: str, rules: list[Rule], thing: Thing) -> Take | None:
        """So much of a part for a thing; None where it takes none, or nobody can tell whether."""
        answers = [(rule, self.world.answer(rule, thing)) for rule in rules]
        live = [rule for rule, answer in answers if answer not in (OFF, TELL)]
        if not live:
            open_ = [rule for rule, answer in answers if answer == TELL]
            if open_:
                waits = self._waits(unknown_under(self.world, open_[0], thing))
                self._not_sure(slot, thing, open_[0], "whether it takes one", waits)
            return None
        rule = live[0]
        key = "pieces" if "pieces" in _amounts(rule, slot) else "count"
        fact = fact_of(slot, key)
        count, least = self._number(thing, fact)
        if (thing[0].id, fact) in self.world.disputes:
            names = " and ".join(sorted(each.id for each in live))
            self._not_sure(slot, thing, rule, f"how many: {names} say different numbers", ())
            return None
        waits = self._waits_of(thing, fact)
        if count is None:
            self._not_sure(slot, thing, rule, "how many", waits)
            return None
        each = None
        if key == "pieces":
            each, open_each = self._number(thing, fact_of(slot, "each"))
            least = least or open_each
            more = self._waits_of(thing, fact_of(slot, "each"))
            waits = tuple(dict.fromkeys((*waits, *more)))
            if each is None:
                self._not_sure(slot, thing, rule, "how long", waits)
                return None
        see_not_negative(rule, thing, min(count, each or count))
        if count == 0 and not least:
            self._note_assumed(thing, slot, key)  # that there is none may be taken for granted
            return None
        part = self._part(slot, rule, thing)
        if part is None:
            return None
        formula, worked = self._worked(rule, slot, thing, key)
        source = self.knowledge.section(rule.id, thing) or ""
        self._note_assumed(thing, slot, key)
        return Take(
            part=part,
            slot=slot,
            of=thing[0].id,
            called=short(thing),
            rule=rule.id,
            says=rule.said,
            source=source,
            count=count,
            each=each,
            least=least,
            sold=part in self.rows,
            formula=formula,
            worked=worked,
            asks=str(rule.d.get("asks", "")),
            sold_as=self._sold_as(rule, slot, thing),
            waits=waits if least else (),
        )

    def _number(self, thing: Thing, fact: str) -> tuple[Fraction | None, bool]:
        """The least that a fact can be, and whether it may be more; None where nothing is known."""
        word = self.knowledge.words.kinds[thing[0].kind].words[fact]
        value = thing[word.slot]
        if value is None or value is NONE or value is NOTHING:
            return None, True
        if isinstance(value, Range):
            return (None if value.lo is None else in_unit(value.lo, word.unit)), True
        return in_unit(value, word.unit), False

    def _part(self, slot: str, rule: Rule, thing: Thing) -> str | None:
        """How a part is called at the counter; None, with a note, where nobody knows."""
        fact = fact_of(slot, "part")
        if fact not in _amounts(rule, slot).values():
            return slot
        word = self.knowledge.words.kinds[thing[0].kind].words[fact]
        value = thing[word.slot]
        if isinstance(value, str):
            return value
        waits = self._waits(unknown_under_fact(self.world, thing, fact))
        what = "which one" if waits else f"none is on the shelf for {self._keys(rule, fact, thing)}"
        self._not_sure(slot, thing, rule, what, waits)
        return None

    def _keys(self, rule: Rule, fact: str, thing: Thing) -> str:
        """By what a part was looked up."""
        fill = next(fill for fill in rule.fills if fill.word.name == fact)
        keys = getattr(fill.expr, "keys", ())
        return ", ".join(self.working.shown(key.ev(thing, None), key.unit) for _, key in keys)

    def _not_sure(
        self, slot: str, thing: Thing, rule: Rule, says: str, waits: tuple[Ask, ...]
    ) -> None:
        self.unsure.append(Unsure(slot, thing[0].id, short(thing), says, rule.id, waits))

    def _waits_of(self, thing: Thing, fact: str) -> tuple[Ask, ...]:
        return () if self.bare else self._waits(unknown_under_fact(self.world, thing, fact))

    def _waits(self, facts: Any) -> tuple[Ask, ...]:
        """Of the facts that something rests on those nobody told and a person can look up."""
        out = []
        for of, fact in facts:
            thing = self.world.things.get(of)
            if thing is not None:
                word = self.knowledge.words.kinds[thing[0].kind].words[fact]
                out.append(Ask(short(thing), fact, str(word.ask), of))
        return tuple(out[:MOST_ASKED])

    def _worked(self, rule: Rule, slot: str, thing: Thing, key: str) -> tuple[str, str]:
        """The formula of an amount, and the same with its numbers."""
        if self.bare:
            return "", ""
        wanted = fact_of(slot, "each" if key == "pieces" else key)
        fill = next(fill for fill in rule.fills if fill.word.name == wanted)
        return fill.text, self.working.carried_out(fill.expr, thing)

    def _sold_as(self, rule: Rule, slot: str, thing: Thing) -> str:
        """By what a part was looked up, and where."""
        fact = fact_of(slot, "part")
        fill = next((fill for fill in rule.fills if fill.word.name == fact), None)
        if fill is None or not hasattr(fill.expr, "keys"):
            return ""
        return say(fill.expr, thing)

    def _note_assumed(self, thing: Thing, slot: str, key: str) -> None:
        """Note what an amount rests on that a rule of the work took for granted."""
        if self.bare:
            return
        # what another amount rests on as well is noted already
        facts = self._under.more(thing, fact_of(slot, key))
        if key == "pieces":
            facts |= self._under.more(thing, fact_of(slot, "each"))
        for of, fact in sorted(facts):
            holder = self.world.things.get(of)
            if holder is None:
                continue
            word = self.knowledge.words.kinds[holder[0].kind].words[fact]
            settled = self.world.settle(holder[0].kind, fact, holder)
            by = self.knowledge.rules.get(settled.rule or "")
            if settled.origin == "assumed" and word.ask and by and _of_the_work(by):
                value = self.working.shown(settled.value, word.unit)
                self.rests.setdefault((of, fact))
                said = self.assumed.setdefault(f"{fact}: {value}", [])
                if short(holder) not in said:
                    said.append(short(holder))

    def _brought(self) -> list[str]:
        """What comes with another part: said, so that nobody misses it on the list."""
        out: dict[str, None] = {}
        for rule in sorted(self.knowledge.rules.values(), key=_as_written):
            others = as_list(rule.d.get(COMES_WITH))
            for thing in self.world.by_kind.get(rule.about, ()) if others else ():
                if self.world.answer(rule, thing) not in (OFF, TELL):
                    what = ", ".join(map(str, others))
                    out.setdefault(f"{short(thing)}: 0 {what}, which come with the {rule.d[TAKES]}")
        return list(out)

    def _by_hand(self) -> list[str]:
        """What a rule of the work says that it does not take off."""
        out: dict[str, None] = {}
        for rule in sorted(self.knowledge.rules.values(), key=_as_written):
            if rule.verb != "lacks" or not _of_the_work(rule):
                continue
            for thing in self.world.by_kind.get(rule.about, ()):
                if self.world.answer(rule, thing) not in (OFF,):
                    out.setdefault(f"{short(thing)}: {rule.d['lacks']}")
        return list(out)


def see_not_negative(rule: Rule, thing: Thing, number: Fraction | None) -> None:
    """See that a rule takes no less than nothing. Raises Faults."""
    if number is not None and number < 0:
        what = f"{rule.id} comes to less than nothing at {short(thing)}: {float(number):g}"
        todo = "write larger of (0 and ...) where that can happen"
        raise Faults([Fault("work-negative", rule.at, what, todo)])


def _amounts(rule: Rule, slot: str) -> dict[str, str]:
    """Which of the amounts a rule fills: the key, and its fact."""
    filled = {fill.word.name for fill in rule.fills}
    return {
        key: fact_of(slot, key)
        for key in ("pieces", "each", "part", "count")
        if fact_of(slot, key) in filled
    }


def _of_the_work(written: Rule | Word) -> bool:
    """Whether a rule or a word stands in the pack of the work."""
    return Path(written.at[0]).parts[:2] == (KB.name, WORK_PACK.name)


def no_law_reads(job: Opened, of: str, fact: str) -> bool:
    """Whether a fact is a word of the work alone: no finding can rest on it."""
    thing = job.world.things[of]
    return _of_the_work(job.knowledge.words.kinds[thing[0].kind].words[fact])


def _as_written(rule: Rule) -> tuple[str, int]:
    """Rules by their files and lines: an order that stays when another rule is added elsewhere."""
    return rule.at[0], rule.at[1] or 0


def take_off(job: Opened, bare: bool = False) -> TakeOff:
    """Everything a job takes as it is to be built; *bare*, the amounts and nothing of how they come
    about.
    """
    off = Taking(job, bare=bare).take_off()
    if job.mends:
        as_told = Taking(job, job.told.standing.world, bare=True).take_off()
        if _amounts_of(off) == _amounts_of(as_told):
            # the list would look as if nothing were to be mended
            off.by_hand += [
                f"the mend: {fault.ways[0].words}; nothing on this list is of it"
                for fault in job.note.faults
                if fault.mend and fault.ways and not fault.ways[0].looks
            ]
    return off


def _amounts_of(off: TakeOff) -> dict[str, Fraction]:
    return {line.part: line.amount for line in off.lines}


def takes_of(off: TakeOff) -> Iterator[Take]:
    """Every take, line by line."""
    for line in off.lines:
        yield from line.takes
