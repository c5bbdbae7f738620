"""What can be done about each thing that is wrong with a job: whole alternatives side by side, each
run whole, and what is not enough alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ..language.things import Thing
from ..proving.graph import exact_text
from .causes import Causes, Fault
from .findings import word_of
from .standing import Standing
from .ways import NotAlone, Way

MOST_FIXES = 4  # alternatives of one fault


@dataclass
class Fix:
    """One thing that is wrong, every alternative that was found, and what is not enough alone."""

    fault: Fault
    ways: list[Way]
    told: list[list[dict[str, Any]]]  # of each way, what it tells otherwise
    not_alone: list[NotAlone]

    def as_dict(self) -> dict[str, Any]:
        """The fault and its ways out as plain data."""
        return {
            "says": self.fault.says,
            "source": self.fault.source,
            "circuits": self.fault.circuits,
            "rules": self.fault.rules,
            "on": self.fault.on,
            "ways": [
                {
                    "words": way.words,
                    "numbers": way.numbers,
                    "cost": way.cost,
                    "looks": way.looks,
                    "changes": told,
                    "mends": [{"rule": rule, "on": on} for rule, on in sorted(way.mends)],
                    "advice not met then": [rule for rule, _ in way.advises],
                    "source": way.source,
                }
                for way, told in zip(self.ways, self.told)
            ],
            "not enough alone": [half._asdict() for half in self.not_alone],
        }


@dataclass
class Fixes:
    """What can be done about a job, or about a thing of it."""

    title: str
    law: str
    headline: str
    code: int
    fixes: list[Fix]
    open: int  # how many questions decide, beside the faults
    together: bool  # whether the first ways, all made at once, leave nothing that fails
    subject: str = ""

    def as_dict(self) -> dict[str, Any]:
        """The whole as plain data."""
        return {
            "job": self.title,
            "law": self.law,
            "headline": self.headline,
            "subject": self.subject,
            "fixes": [fix.as_dict() for fix in self.fixes],
            "first ways together leave nothing that fails": self.together,
        }


class Fixing(Causes):
    """Lists the ways out of what is wrong with a job that stands as it stands."""

    def fixed(self, title: str, law: str, words: list[str]) -> Fixes:
        """The ways out of everything that is wrong, or of what is wrong with the thing that *words*
        name.

        Raises:
            Unclear: nothing is called so.
        """
        subject = self.thing(words)[0] if words else None
        faults = [fault for fault in self.faults() if self._concerns(fault, subject)]
        mends = [change for fault in faults for change in fault.mend]
        mended = {tuple(on) for fault in faults for on in self._findings(fault)}
        return Fixes(
            title,
            law,
            self.stand.headline,
            self.stand.exit_code,
            [self.fix(fault) for fault in faults],
            len(self.stand.undecided),
            bool(faults) and not (self.failing(mends) & mended),
            " ".join(words),
        )

    def fix(self, fault: Fault) -> Fix:
        """One fault with its alternatives: on several circuits those that each of them has."""
        ways: list[Way] = []
        for place, (rule, on) in enumerate(self._heads(fault)):
            found = self.ways_out(self.knowledge.rules[rule], self.world.things[on], MOST_FIXES)
            words = {way.words for way in found}
            ways = found if place == 0 else [way for way in ways if way.words in words]
        rule, on = fault.rules[0], fault.on[0]
        halves = self.not_alone(self.knowledge.rules[rule], self.world.things[on], 2)
        return Fix(
            fault, ways, [[self._told(*change) for change in w.changes] for w in ways], halves
        )

    def _told(self, of: str, fact: str, value: Any) -> dict[str, Any]:
        """A change as plain data; null where a fact is not as it was told any more."""
        unit = word_of(self.world, of, fact).unit
        said = None if value is None else exact_text(value, unit)
        return {"of": of, "is": fact, "value": said, "unit": unit or ""}

    def _heads(self, fault: Fault) -> list[tuple[str, str]]:
        """Of each circuit the finding that speaks for the fault there."""
        rule = fault.rules[0]
        failing = [(rule, on) for on in fault.on if (rule, on) in self.whole]
        circuits = [self._circuit(self.world.things[on])[0].id for _, on in failing]
        return [on for place, on in enumerate(failing) if circuits[place] not in circuits[:place]]

    def _findings(self, fault: Fault) -> list[tuple[str, str]]:
        """What a fault was found by."""
        return [(rule, on) for rule in fault.rules for on in fault.on if (rule, on) in self.whole]

    def _concerns(self, fault: Fault, subject: Thing | None) -> bool:
        """Whether a fault is one of a thing: found on it, on a part of it, or by its numbers."""
        if subject is None:
            return True
        mine = {subject[0].id, *(part[0].id for part in self.within(subject))}
        return any(
            on in mine
            or self.operand(self.knowledge.rules[rule], self.world.things[on], mine)
            or self._circuit(self.world.things[on]) is subject
            for rule, on in self._findings(fault)
        )


def fixes_of(stand: Standing, title: str, law: str, words: list[str]) -> Fixes:
    """What can be done about what is wrong with a job, or with the thing that *words* name."""
    return Fixing(stand).fixed(title, law, words)


__all__ = ["Fix", "Fixes", "fixes_of"]
