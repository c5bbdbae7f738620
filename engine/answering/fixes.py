"""What can be done about each thing that is wrong with a job: whole alternatives side by side, each
run whole, and what is not enough alone.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from ..basics.notebook import shown
from ..language.things import Thing
from ..mending.search import RUNS
from ..proving.graph import exact_text
from .asking import Question
from .causes import Fault
from .design import DesignLine
from .findings import Finding, word_of
from .note import Writer
from .standing import NOT_RIGHT, Standing
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
            "not enough alone": [
                {"words": half.words, "only with": half.only_with, "then": half.then}
                for half in self.not_alone
            ],
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
    # whether the first ways, all made at once, leave nothing that fails of what they are for
    together: bool
    subject: str
    next: str  # the one thing to do now
    design: list[DesignLine]  # what it comes to once the first ways are made
    questions: list[Question]  # what nobody said and decides
    assumed: list[str]

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str, str]] = []
        for number, fix in enumerate(self.fixes, 1):
            rows.append((str(number), fix.fault.says, fix.fault.source))
            rows += [
                ("or" if place else "fix", way.said, way.cost) for place, way in enumerate(fix.ways)
            ]
            rows += [("not alone", half.words, half.then) for half in fix.not_alone]
        return shown(f"{self.title} ({self.law}): {self.headline}", rows)

    def as_dict(self) -> dict[str, Any]:
        """The whole as plain data."""
        return {
            "job": self.title,
            "law": self.law,
            "headline": self.headline,
            "subject": self.subject,
            "next": self.next,
            "design": [asdict(line) for line in self.design],
            "questions": [asdict(question) for question in self.questions],
            "assumed": self.assumed,
            "fixes": [fix.as_dict() for fix in self.fixes],
            "first ways together leave nothing that fails": (
                self.together and all(fix.ways for fix in self.fixes)
            ),
        }


class Fixing(Writer):
    """Lists the ways out of what is wrong with a job that stands as it stands."""

    def fixed(self, words: list[str]) -> Fixes:
        """The ways out of everything that is wrong, or of what is wrong with the thing that *words*
        name.

        Raises:
            Unclear: nothing is called so.
        """
        subject = self.thing(words)[0] if words else None
        faults = [fault for fault in self.faults() if self._concerns(fault, subject)]
        mends = [change for fault in faults for change in fault.mend]
        made = [fault for fault in faults if fault.mend]
        with_ways = sum(bool(fault.ways) for fault in faults)
        mended = {on for fault in made for on in self._findings(fault)}
        fixes = [self.fix(fault) for fault in faults]
        for fault, fix in zip(faults, fixes):
            fault.ways = fault.ways or fix.ways
        questions, assumed = self.questions(), self.assumed()
        # what a look may settle is looked at first
        first = faults if self.stand.headline == NOT_RIGHT else []
        design = self.design(mends)
        self.say_what_is_done(design, faults)
        if subject is not None:
            design = [line for line in design if line.of == self._circuit(subject)[0].id]
        return Fixes(
            self.title,
            self.law,
            self.stand.headline,
            self.stand.exit_code,
            fixes,
            len(self.stand.undecided),
            not (self.failing(mends) & mended) and len(made) == with_ways,
            " ".join(words),
            self.next(first, questions, self.walk(), assumed),
            design,
            questions,
            assumed,
        )

    @property
    def failed(self) -> list[Finding]:
        """What is wrong, and what is until somebody has looked."""
        return [*self.stand.faults, *self.stand.turnable]

    def fix(self, fault: Fault) -> Fix:
        """One fault with its alternatives: on several circuits those that each of them has."""
        ways: list[Way] = []
        for place, findings in enumerate(self._by_circuit(fault)):
            found = self._of_all(findings)
            words = {way.words for way in found}
            ways = found if place == 0 else [way for way in ways if way.words in words]
        ways = ways or fault.ways
        rule, on = fault.rules[0], fault.on[0]
        # what is not enough alone is of interest where it would have been less work
        halves = self.not_alone(self.knowledge.rules[rule], self.world.things[on])
        halves = [half for half in halves if not ways or half.weight < ways[0].weight][:2]
        told = [[self._told(*change) for change in way.changes] for way in ways]
        return Fix(fault, ways, told, halves)

    def _of_all(self, findings: list[tuple[str, str]]) -> list[Way]:
        """The ways after which all of these findings are gone and nothing that compares what they
        change fails, the cheapest first.
        """
        out: dict[str, Way] = {}
        for rule, on in findings:
            requirement, thing = self.knowledge.rules[rule], self.world.things[on]
            for way in self.ways_out(requirement, thing, MOST_FIXES, RUNS):
                if way.mends.issuperset(findings) and (way.looks or self._whole(way)):
                    out.setdefault(way.words, way)
        return sorted(out.values(), key=lambda way: way.weight)[:MOST_FIXES]

    def _by_circuit(self, fault: Fault) -> list[list[tuple[str, str]]]:
        """What a fault was found by, circuit by circuit."""
        out: dict[str, list[tuple[str, str]]] = {}
        for rule, on in self._findings(fault):
            circuit = self._circuit(self.world.things[on])[0].id
            out.setdefault(circuit, []).append((rule, on))
        return [*out.values()]

    def _told(self, of: str, fact: str, value: Any) -> dict[str, Any]:
        """A change as plain data; null where a fact is not as it was told any more."""
        unit = word_of(self.world, of, fact).unit
        said = None if value is None else exact_text(value, unit)
        return {"of": of, "is": fact, "value": said, "unit": unit or ""}

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
    return Fixing(stand, title, law, []).fixed(words)


__all__ = ["Fix", "Fixes", "fixes_of"]
