"""What to ask of a person at the site: what decides, each once for the whole job, and what each
answer gives.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from ..proving.graph import short
from ..running.chain import FAILS, OFF, PASSES, REFERS, TELL, World
from ..running.rerun import Change
from .built import value_of_text
from .causes import Causes
from .findings import Finding, Need, turning, values_of, word_of
from .sentences import begun
from .standing import lacks_of
from .tiers import is_so

MOST_QUESTIONS, MOST_NAMED = 5, 3
GOOD, MORE, UNJUDGED = "right", "more to ask", "not looked at here"
AT_THE_LIMIT = "at the limit"


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
        asked: dict[tuple[str, str, str], list[Need]] = {}
        waiting: dict[tuple[str, str, str], list[Finding]] = {}
        for finding, needs in self._waiting():
            for need in map(self.in_its_words, needs):
                key = self.world.things[need.of][0].kind, need.fact, need.ask
                if need.of not in [n.of for n in asked.setdefault(key, [])]:
                    asked[key].append(need)
                waiting.setdefault(key, []).append(finding)
        self._leave_out(asked)

        turnable = [id(finding) for finding in self.stand.turnable]

        def cost(key: tuple[str, str, str]) -> tuple[Any, ...]:
            worst = min(self.rank(finding)[:2] for finding in waiting[key])
            # what fails unless it is looked at goes before what is only open
            turns = any(id(finding) in turnable for finding in waiting[key])
            return (not turns, *worst, asked[key][0].effort, -len(waiting[key]), key)

        return self._of_what(
            [
                self.asked_once(asked[key], waiting[key] if n < MOST_QUESTIONS else [])
                for n, key in enumerate(sorted(asked, key=cost))
            ]
        )

    def _leave_out(self, asked: dict[tuple[str, str, str], list[Need]]) -> None:
        """Take out what is asked with something else of the same thing: the length of a run with
        what it goes through.
        """
        every = {(need.of, need.fact) for needs in asked.values() for need in needs}
        for key, needs in list(asked.items()):
            word = word_of(self.world, needs[0].of, needs[0].fact)
            needs = [
                need
                for need in needs
                if not any((need.of, other) in every for other in word.asked_with)
            ]
            asked[key] = needs
            if not needs:
                del asked[key]

    def in_its_words(self, need: Need) -> Need:
        """A question as it is asked of that thing: a feeder has no nameplate."""
        word, thing = word_of(self.world, need.of, need.fact), self.world.things[need.of]
        for other in word.asked:
            if is_so(self.world, thing, other.where):
                look = other.look or need.look
                return Need(need.of, need.fact, other.ask, look, need.careful, need.effort)
        return need

    def _of_what(self, questions: list[Question]) -> list[Question]:
        """The questions, each of those that are asked of several kinds of things in the same words
        (the watts of a dryer, and of the feeder's load), or of members of a list that a person
        gave names (the loads of a house), with what it is asked of.
        """
        often = Counter(question.ask for question in questions)
        for question in questions:
            if often[question.ask] > 1 or any(map(self._is_named_member, question.of)):
                named = dict.fromkeys(short(self.world.things[name]) for name in question.of)
                said = ", ".join([*named][:MOST_NAMED]) + (
                    " ..." if len(named) > MOST_NAMED else ""
                )
                question.ask = f"{begun(said)}: {question.ask}"
        return questions

    def _is_named_member(self, name: str) -> bool:
        """Whether a thing is one of a list within another, and has a name of its own there."""
        thing = self.world.things[name]
        whole = thing[0].whole
        listed, _, own = name.rpartition(".")
        if whole is None or whole[0].id == "job" or own.isdigit():
            return False
        word = self.knowledge.words.kinds[whole[0].kind].words.get(listed.rpartition(".")[2])
        return word is not None and word.type[0] == "many"

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
        """What each of a few answers gives, where they differ and one of them is good."""
        if not waiting:
            return []
        word = word_of(self.world, needs[0].of, needs[0].fact)
        values = values_of(self.world, needs[0])
        values = values or [(text, value_of_text(word, text)) for text in word.try_instead]
        if not values:
            return self.measured(needs, waiting)
        on = {(finding.rule, finding.on) for finding in waiting}
        answers = [(said, [(n.of, n.fact, value) for n in needs]) for said, value in values]
        outcomes = [(said, self.comes_to(changes, on)) for said, changes in answers]
        if word.try_instead:
            outcomes.append(("otherwise", self.comes_to([], on)))
        return told_apart(outcomes)

    def measured(self, needs: list[Need], waiting: list[Finding]) -> list[str]:
        """Of a question for a quantity, up to where the answer is right, or from where."""
        on = {(finding.rule, finding.on) for finding in waiting}
        of = [need.of for need in needs]
        at = self.turning_point(of, needs[0].fact, lambda world: self._good(world, on))
        if at is None:
            return []
        last, unit, small_is_good = at
        good, bad = ("up to", "over") if small_is_good else ("from", "under")
        at_limit = str(last) if unit == "count" else f"{last} {unit}"
        return [f"{good} {at_limit}: {GOOD}", f"{bad}: not right"]

    def _good(self, world: World, on: set[tuple[str, str]]) -> bool | None:
        """Whether all of this is met; None where some of it cannot be told."""
        answers = {world.answer(self.knowledge.rules[rule], world.things[x]) for rule, x in on}
        return False if FAILS in answers else None if answers & {TELL, REFERS} else True

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
            if OFF in verdicts.values() and self._newly_lacking(other.world):
                # what judged it is not for this answer, and nothing here takes its place
                return UNJUDGED
            margin = next(iter(sorted(filter(None, numbers), key=len)), "")
            # nothing to spare is no part of why something is right
            return f"{GOOD} ({margin})" if margin and margin != AT_THE_LIMIT else GOOD

    def _newly_lacking(self, world: World) -> bool:
        """Whether something is not looked at then that is now."""
        there = {lack.rule for lack in self.stand.lacks}
        return any(lack.rule not in there for lack in lacks_of(world))

    def _turning(self, finding: Finding) -> list[Change]:
        """The lawful defaults that, told otherwise, would let a finding pass."""
        rule, on = self.knowledge.rules[finding.rule], self.world.things[finding.on]
        return turning(self.world, rule, on, self.whatif)


def told_apart(outcomes: list[tuple[str, str]]) -> list[str]:
    """What answers give, of those that decide; nothing where they give the same, or no good.

    >>> told_apart([("yes", "right"), ("no", "not right (5 A short)")])
    ['yes: right', 'no: not right (5 A short)']
    >>> told_apart([("yes", "right"), ("no", "right")])
    []
    >>> told_apart([("indoors", "right"), ("outdoors", "more to ask")])
    ['indoors: right', 'outdoors: more to ask']
    """
    if not any(outcome.startswith(GOOD) for _, outcome in outcomes):
        return []
    if len(outcomes) > 1 and len({outcome for _, outcome in outcomes}) == 1:
        return []
    decided = [(said, outcome) for said, outcome in outcomes if outcome != MORE]
    # where all that decides comes out alike, the difference is what asks for more
    alike = len({outcome for _, outcome in decided}) == 1
    return [f"{said}: {outcome}" for said, outcome in (outcomes if alike else decided)]
