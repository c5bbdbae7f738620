"""What is drawn on a sheet: the run with its lengths, the box against what is in it, the service
against its load; every number is one that a rule of the job came to.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from ..answering.findings import Finding
from ..basics.sentinels import NONE, NOTHING
from ..basics.units import Range, in_unit, number_text
from ..language.things import Thing, members
from ..language.words import Word
from ..proving.wording import plain, short, show, unit_shown
from ..running.chain import OFF, TELL
from .opening import Opened
from .takeoff import TakeOff, takes_of

PICTURES, PARTS = "pictures", "parts-drawn"  # tables
AMOUNT, START, END, WHOLE = "amount", "start", "end", "whole"  # what a row of the second says
NO_ONE = "-"
FACT = re.compile(r"\{([^}]+)\}")

Row = dict[str, Any]


class Pictured:
    """Puts pictures together from the settled run of a job."""

    def __init__(self, job: Opened, off: TakeOff) -> None:
        self.job, self.world, self.knowledge = job, job.world, job.knowledge
        self.takes = list(takes_of(off))
        self.findings = {(one.rule, one.on): one for one in job.built.standing.findings}

    def pictures(self, audience: str) -> list[Row]:
        """The pictures of a sheet, in the order of the table and of the things."""
        out = []
        for row in self.knowledge.tables[PICTURES].rows:
            if audience in str(row["for"]).split():
                out += [self._picture(row, thing) for thing in self._things(str(row["rule"]))]
        return [picture for picture in out if picture is not None]

    def _things(self, name: str) -> Iterator[Thing]:
        """The things of which a rule says something: it judges them, or takes a part for them."""
        rule = self.knowledge.rules.get(name)
        if rule is None:
            return
        taken = {take.of for take in self.takes if take.rule == name}
        for thing in self.world.by_kind.get(rule.about, ()):
            judged = (name, thing[0].id) in self.findings
            if (judged or thing[0].id in taken) and self.world.answer(rule, thing) not in (
                OFF,
                TELL,
            ):
                yield thing

    def _picture(self, row: Row, thing: Thing) -> Row | None:
        """One picture; None where a number of it is not known: nothing is drawn of a guess."""
        finding = self.findings.get((str(row["rule"]), thing[0].id))
        limit = self._amount(thing, str(row["limit"]))
        rows = [each for each in self.knowledge.tables[PARTS].rows if each["parts"] == row["parts"]]
        parts = self._parts(rows, thing, finding)
        if limit is None or not parts:
            return None
        rest = limit["number"] - sum((part["number"] for part in parts), Fraction())
        unit = self._word(thing, str(row["limit"])).unit
        says = str(row["limit says"]).replace("{rest}", f"{number_text(rest)} {unit}")
        return {
            "form": str(row["form"]),
            "says": str(row["says"]).replace("{thing}", short(thing)),
            "start": self._at(rows, START, thing),
            "amounts": parts,
            "limit": {"says": says, **limit},
            "end": self._at(rows, END, thing),
        }

    def _word(self, thing: Thing, fact: str) -> Word:
        return self.knowledge.words.kinds[thing[0].kind].words[fact]

    def _parts(self, rows: list[Row], thing: Thing, finding: Finding | None) -> list[Row]:
        """The parts that are amounts; none where one of them is not known."""
        out: list[Row] = []
        covered: list[Row] = []
        whole = next((row for row in rows if row["is"] == WHOLE), None)
        for row in rows:
            if row["is"] != AMOUNT or not _counts(row, finding):
                continue
            found = [self._part(row, one) for one in self._members(row, thing, finding)]
            known = [part for part in found if part is not None]
            if len(known) != len(found):
                return []
            if finding is not None and row["of"] != NO_ONE:
                known = [{**part, "decides": _decides(row, finding)} for part in known]
            if whole is not None and row["what"] in str(whole["of"]).split():
                covered += known
            out += known
        if whole is not None:
            out = self._or_whole(out, covered, self._part(whole, thing))
        return [part for part in out if part["number"]]

    def _or_whole(self, parts: list[Row], covered: list[Row], whole: Row | None) -> list[Row]:
        """The parts, or the whole in the place of those it covers where they do not come to it: no
        picture says what no rule does.
        """
        if whole is None:
            return []
        if sum((part["number"] for part in covered), Fraction()) == whole["number"]:
            return parts
        at = parts.index(covered[0])
        return [*parts[:at], whole, *(part for part in parts[at:] if part not in covered)]

    def _members(self, row: Row, thing: Thing, finding: Finding | None) -> list[Thing]:
        if row["of"] == NO_ONE or finding is not None:
            return [thing]
        word = self._word(thing, str(row["of"]))
        return members(thing[word.slot])

    def _part(self, row: Row, thing: Thing) -> Row | None:
        amount = self._amount(thing, str(row["what"]))
        if amount is None:
            return None
        return {"says": self._said(str(row["says"]), thing), **amount}

    def _amount(self, thing: Thing, fact: str) -> Row | None:
        """A number and how it is written; None where it is not one number."""
        word = self._word(thing, fact)
        value = thing[word.slot]
        if not plain(value):
            return None
        return {"number": in_unit(value, word.unit), "amount": show(value, word.unit)}

    def _said(self, text: str, thing: Thing) -> str:
        """A label with facts filled in; a piece of which one is not known is left out."""
        out = []
        for piece in text.split(", "):
            said = FACT.sub(lambda found: self._value(thing, found[1]), piece)
            if said := " ".join(said.split()):
                out.append(said)
        return ", ".join(out)

    def _value(self, thing: Thing, fact: str) -> str:
        """A fact as it is written, also of a part (`type of load`); "" where it is not known."""
        fact, _, part = fact.partition(" of ")
        if part:
            holder = thing[self._word(thing, part).slot]
            return self._value(holder, fact) if isinstance(holder, list) and holder else ""
        word = self._word(thing, fact)
        value = thing[word.slot]
        if value is None or value is NONE or value is NOTHING or isinstance(value, Range):
            return ""
        if isinstance(value, list):
            return ", ".join(short(one) for one in members(value))
        return show(value, unit_shown(thing, fact, word.unit), brief=True)

    def _at(self, rows: list[Row], which: str, thing: Thing) -> list[str]:
        """The parts on the list that stand at one end of a thing, and what is said of that end."""
        out = []
        for row in rows:
            if row["is"] != which:
                continue
            out += [
                f"{number_text(take.count)} × {take.part}" if take.count != 1 else take.part
                for take in self.takes
                if take.slot == row["what"] and self._near(take.of, thing)
            ]
            if row["says"] != NO_ONE and (said := self._said(str(row["says"]), thing)):
                out.append(said)
        return out

    def _near(self, of: str, thing: Thing) -> bool:
        """Whether a part is of a thing, or of what belongs to it."""
        return of == thing[0].id or of.startswith(thing[0].id + ".")


def _counts(row: Row, finding: Finding | None) -> bool:
    """Whether a row is drawn: of several ways to judge one thing, that of the rule and that of the
    exception it stands on.
    """
    if finding is None or row["of"] == NO_ONE:
        return True
    return bool({finding.rule, finding.exception} & set(str(row["of"]).split()))


def _decides(row: Row, finding: Finding) -> bool:
    """Whether a finding stands on the way of this row."""
    return (finding.exception or finding.rule) in str(row["of"]).split()


def pictures_of(job: Opened, off: TakeOff, audience: str) -> list[Row]:
    """The pictures of a sheet, as data that `drawing` draws."""
    return Pictured(job, off).pictures(audience)
