"""What to ask of a person at the site: what decides, each once for the whole job, and what each
answer gives.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from ..running.chain import FAILS, PASSES, TELL
from ..running.rerun import Change
from .causes import Causes
from .findings import Finding, Need, turning, values_of, word_of
from .standing import value_of_text

MOST_QUESTIONS = 5
MORE = "more to ask"


@dataclass
class Question:
    """What a person at the site can see, once for the whole job, and what the answer gives."""

    ask: str
    look: str
    careful: str
    fact: str
    of: list[str]
    names: list[str]
    gives: list[str] = field(default_factory=list)


class Asking(Causes):
    """Asks what decides."""

    def questions(self) -> list[Question]:
        """What decides, each once for the whole job: what costs the most where it is wrong, then
        what takes the least looking.
        """
        asked: dict[tuple[str, str], list[Need]] = {}
        waiting: dict[tuple[str, str], list[Finding]] = {}
        for finding, needs in self._waiting():
            for need in needs:
                key = self.world.things[need.of][0].kind, need.fact
                if need.of not in [n.of for n in asked.setdefault(key, [])]:
                    asked[key].append(need)
                waiting.setdefault(key, []).append(finding)

        def cost(key: tuple[str, str]) -> tuple[Any, ...]:
            worst = min(self.rank(finding)[:2] for finding in waiting[key])
            return (*worst, asked[key][0].effort, -len(waiting[key]), key)

        return [
            self.asked_once(asked[key], waiting[key] if n < MOST_QUESTIONS else [])
            for n, key in enumerate(sorted(asked, key=cost))
        ]

    def _waiting(self) -> list[tuple[Finding, list[Need]]]:
        """What is not decided, with the questions that would decide it."""
        out = [(one.finding, list(one.needs)) for one in self.stand.undecided]
        for finding in self.stand.turnable:
            on = self.world.things[finding.on]
            for of, fact, _ in self._turning(finding):
                word = word_of(self.world, of, fact)
                need = Need(of, fact, word.ask, word.look, word.careful, word.effort)
                out.append((finding, [need]))
            out.append((finding, self.stand.exceptions_wait_for(on, finding)))
        return out

    def asked_once(self, needs: list[Need], waiting: list[Finding]) -> Question:
        """One question, with the places it is asked of and what each answer gives."""
        first = needs[0]
        of = [need.of for need in needs]
        names = list(dict.fromkeys(self._called(self.world.things[name]) for name in of))
        return Question(
            ask=first.ask,
            look=self.look(first, of),
            careful=first.careful,
            fact=first.fact,
            of=of,
            names=names,
            gives=self.gives(needs, waiting),
        )

    def look(self, need: Need, of: list[str]) -> str:
        """Where to look: of several parts of one thing, where each of them is."""
        parts: dict[str, None] = {}
        for name in of:
            whole = self.world.things[name][0].whole
            words = self.knowledge.words.kinds[whole[0].kind].words if whole is not None else {}
            part = words.get(name.rpartition(".")[2])
            if part is not None and part.part == "one" and part.look:
                parts[part.look] = None
        return "; ".join(parts) if len(parts) > 1 else need.look

    def gives(self, needs: list[Need], waiting: list[Finding]) -> list[str]:
        """What each of a few answers gives, where they differ."""
        word = word_of(self.world, needs[0].of, needs[0].fact)
        values = values_of(self.world, needs[0])
        if not values and word.try_instead and waiting:
            values = [(text, value_of_text(word, text)) for text in word.try_instead]
        if not values or not waiting:
            return []
        on = {(finding.rule, finding.on) for finding in waiting}
        outcomes = []
        for said, value in values:
            changes = [(need.of, need.fact, value) for need in needs]
            outcomes.append((said, self.comes_to(changes, on)))
        if word.try_instead:
            outcomes.append(("otherwise", self.comes_to([], on)))
        if len({outcome for _, outcome in outcomes}) == 1 and len(outcomes) > 1:
            return []
        return [f"{said}: {outcome}" for said, outcome in outcomes if outcome != MORE]

    def comes_to(self, changes: list[Change], on: set[tuple[str, str]]) -> str:
        """What becomes of what waited, once something is told: the worst of it."""
        with self.other(changes) as other:
            verdicts = {
                (rule, name): other.world.answer(
                    self.knowledge.rules[rule], other.world.things[name]
                )
                for rule, name in on
            }
            fails = sorted(key for key, verdict in verdicts.items() if verdict == FAILS)
            if fails:
                rule, thing = self.knowledge.rules[fails[0][0]], other.world.things[fails[0][1]]
                margin = other.margin(rule, thing)
                why = margin or self.source(rule, thing)
                return f"not right ({why})" if why else "not right"
            if any(verdict == TELL for verdict in verdicts.values()):
                return MORE
            numbers = [
                other.margin(self.knowledge.rules[rule], other.world.things[name])
                for (rule, name), verdict in verdicts.items()
                if verdict == PASSES
            ]
            margin = next(iter(sorted(filter(None, numbers), key=len)), "")
            return f"right ({margin})" if margin else "right"

    def _turning(self, finding: Finding) -> list[Change]:
        """The lawful defaults that, told otherwise, would let a finding pass."""
        rule, on = self.knowledge.rules[finding.rule], self.world.things[finding.on]
        return turning(self.world, rule, on, self.whatif)
