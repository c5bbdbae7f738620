"""What an exception allows where it could hurt: what stands in a job only because a rule whose
fault could hurt somebody is set aside, by what, and as long as what.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from ..language.rules import JUDGING, Rule
from ..language.things import Thing
from ..running.chain import FAILS, SET_ASIDE, TELL
from ..running.rerun import Change
from .design import Design
from .questions import Why

HARMS_IN_ORDER = ("shock", "fire")  # which of what is allowed stands first


@dataclass
class Allowed:
    """One thing that is allowed: what, by which exception, on which circuits, and what it would be
    against without it.
    """

    says: str
    source: str
    harm: str
    exception: str
    circuits: list[str]
    rules: list[str]
    on: list[str]

    def take_in(self, other: Allowed) -> None:
        """Make another thing that is allowed by the same words one with this."""
        for mine, others in (
            (self.circuits, other.circuits),
            (self.rules, other.rules),
            (self.on, other.on),
        ):
            mine += [one for one in others if one not in mine]

    def as_dict(self) -> dict[str, Any]:
        """It as plain data."""
        return asdict(self)


class Allowing(Design):
    """Says what is allowed."""

    def allowed(self, mends: list[Change]) -> list[Allowed]:
        """What is allowed in the job with what is shown mended, each thing once; what can shock
        somebody first. What would pass without an exception is not allowed by it; and of what
        somebody has to be asked about, nobody knows yet whether it is.
        """
        out: dict[tuple[str, str], Allowed] = {}
        with self.other(mends) as other:
            for finding in self.stand.findings:
                rule = self.knowledge.rules[finding.rule]
                thing = other.world.things.get(finding.on)
                if thing is None or not self.harm(rule.id):
                    continue
                exception = self.letting(other, rule, thing)
                if exception is None:
                    continue
                one = Allowed(
                    says=self.what_is_allowed(other, exception, thing),
                    source=self.source(exception, thing),
                    harm=self.harm(rule.id),
                    exception=exception.id,
                    circuits=[self._called(thing)],
                    rules=[rule.id],
                    on=[finding.on],
                )
                first = out.setdefault((exception.id, one.says), one)
                if first is not one:
                    first.take_in(one)
        return sorted(out.values(), key=lambda one: HARMS_IN_ORDER.index(one.harm))

    def letting(self, speaker: Why, rule: Rule, thing: Thing) -> Rule | None:
        """The exception without which a requirement would not be met on a thing; None where none
        is needed.
        """
        if speaker.world.answer(rule, thing) != SET_ASIDE:
            return None
        exception = speaker.world.lifting(rule, thing)
        if exception is None or exception.verb == "refers":
            return None
        # what takes the place of a requirement allows what the other forbids
        without = (FAILS,) if exception.verb in JUDGING else (FAILS, TELL)
        return exception if thing[self.knowledge.slots[rule.id]] in without else None

    def what_is_allowed(self, speaker: Why, exception: Rule, thing: Thing) -> str:
        """What an exception allows here, as long as what: in its own words for that, else as the
        rule says it, with its limits.
        """
        text = exception.d.get("answers", {}).get("allowed")
        said = speaker.fill(str(text), exception, thing) if text else None
        if said is None:
            limits = f" {exception.d['limits']}" if "limits" in exception.d else ""
            said = exception.said + limits
        return said.rstrip(".")
