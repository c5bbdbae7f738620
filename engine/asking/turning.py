"""Whether a card is worth asking: whether one of its answers leads to other sizes, breaks something
or settles something that decides. Found by telling the job each of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

from ..answering.built import lay_on, value_of_text
from ..answering.tiers import DECIDES, tier_of_open
from ..language.rules import JUDGING
from ..running.chain import FAILS, TELL, World
from ..running.job import Job, mapping_of
from ..running.program import program_of
from ..running.rerun import LOOKED, Change, Rerun
from .cards import ROUTE, Card
from .places import JOB, UNKNOWN, Facts, Keys, put, value_at
from .said import facts_of

if TYPE_CHECKING:
    from .survey import Survey

On: TypeAlias = tuple[str, str]  # a rule, or a fact, and of what thing
Judgment: TypeAlias = tuple[str, str, str]  # rule, on what, what it comes to


class Outcome(NamedTuple):
    """The results, what fails, what is open, and what is put in."""

    results: tuple[tuple[str, str], ...]
    failing: frozenset[On]
    open: frozenset[On]
    built: frozenset[On]


def outcome_of(survey: Survey, world: World) -> Outcome:
    """What comes of a survey in a run of its job."""
    built = frozenset((one.of, one.fact) for one in survey.standing.built)
    failing, left = _answers(world)
    return Outcome(tuple(sorted(survey.results_in(world))), failing, left, built)


def _answers(world: World) -> tuple[frozenset[On], frozenset[On]]:
    """What fails, and what is open."""
    said: dict[str, set[On]] = {FAILS: set(), TELL: set()}
    program = program_of(world.k)
    for kind, things in world.by_kind.items():
        for rule in program.rules_about(kind, JUDGING) if things else ():
            for thing in things:
                answer = world.answer(rule, thing)
                if answer in said:
                    said[answer].add((rule.id, thing[0].id))
    return frozenset(said[FAILS]), frozenset(said[TELL])


def decides(world: World, on: On) -> bool:
    """Whether what is open there decides: workmanship and what is remote do not."""
    rule, thing = world.k.rules[on[0]], world.things[on[1]]
    return bool(tier_of_open(world, rule, thing)[0] == DECIDES)


def judged(world: World) -> frozenset[Judgment]:
    """What fails, and what is open that decides."""
    failing, left = _answers(world)
    return frozenset(
        {(*on, FAILS) for on in failing} | {(*on, TELL) for on in left if decides(world, on)}
    )


class Turning:
    """The cards that are left of one survey, tried on one run of its job."""

    def __init__(self, survey: Survey) -> None:
        self.survey = survey

    def turns(self, card: Card) -> bool:
        """Whether some answer to *card* leads elsewhere than not knowing does."""
        return any(self.with_answer(card, choice) for choice in card.choices)

    def with_answer(self, card: Card, choice: str) -> bool:
        """Whether an answer leads elsewhere: told to the run that there is, where it tells plain
        facts of what there is; else found by a run of its own.
        """
        changes = self._changes(card, choice)
        if changes is None:
            answered = self.survey.with_answer(card.id, choice)
            now, then = self.survey.outcome(), answered.outcome()
            opened = self._opened(now, then, answered.world)
            return opened or self._elsewhere(now, then, self.survey.world)
        now = self.now  # seen before anything is told
        with self.run.told(changes) as world:
            then = outcome_of(self.survey, world)
            opened = self._opened(now, then, world)
        return opened or self._elsewhere(now, then, self.run.world)

    @staticmethod
    def _opened(now: Outcome, then: Outcome, world: World) -> bool:
        """Whether an answer opens what decides; *world* is the run with it."""
        return any(decides(world, on) for on in then.open - now.open)

    @staticmethod
    def _elsewhere(now: Outcome, then: Outcome, world: World) -> bool:
        """Whether an answer leads to other sizes or faults, or settles what decides in *world*."""
        if then._replace(open=now.open) != now:
            return True
        return any(decides(world, on) for on in now.open - then.open)

    @cached_property
    def run(self) -> Rerun:
        """The run of the job as it stands, with an open member in each list of which an answer
        would tell the only one.
        """
        survey, standing = self.survey, self.survey.standing
        job = deepcopy(survey.job)
        lists = [*self._lists(job)]
        if not lists:
            return standing.whatif
        for keys, member in lists:
            put(job, keys, [dict.fromkeys(member, UNKNOWN)])
        read = Job(survey.k, mapping_of(job), "survey")
        lay_on(read, [(one.of, one.fact, one.value) for one in standing.guesses], standing.built)
        return Rerun(World(survey.k, read).run())

    @cached_property
    def now(self) -> Outcome:
        """What comes of the survey in that run."""
        return outcome_of(self.survey, self.run.world)

    def _lists(self, job: Facts) -> Iterator[tuple[Keys, Facts]]:
        """The lists of which the cards that are left would tell the only member."""
        survey = self.survey
        assert survey.kind is not None
        for id_ in survey.kind.turns:
            card = survey.cards.cards[id_] if id_ != ROUTE else survey.cards.route
            for path, said in (fact for told in card.choices.values() for fact in told.items()):
                keys = survey.named.keys(path)
                if _lone(said) and value_at(job, keys) is None and not _is_missing(job, keys):
                    yield keys, said[0]

    def _changes(self, card: Card, choice: str) -> list[Change] | None:
        """The facts of an answer as changes of the run; None where one of them is no plain fact."""
        out: list[Change] = []
        for path, said in facts_of(card, choice):
            keys = self.survey.named.keys(path)
            if _is_missing(self.survey.job, keys):
                continue  # of a part that is not there, as of `receptacle: none`, nothing is told
            member = said[0] if _lone(said) else None
            facts = {(*keys, "1", key): text for key, text in member.items()} if member else {}
            for way, text in (facts or {keys: said}).items():
                change = self._change(".".join(way[:-1]) or JOB, way[-1], text)
                if change is None:
                    return None
                out.append(change)
        return out

    def _change(self, of: str, fact: str, said: Any) -> Change | None:
        """One fact as a change; None where it is no plain fact of a thing that there is."""
        knowledge = self.survey.k
        thing = self.run.world.things.get(of)
        word = knowledge.words.kinds[thing[0].kind].words.get(fact) if thing else None
        if word is None or not isinstance(said, str):
            return None
        text = self.survey.named.fill(said)
        if text == "none":
            return (of, fact, LOOKED) if word.may_be else None
        if word.type[0] == "choice" and text not in word.type[1]:
            return None  # a word of people's own, or one of several
        return of, fact, value_of_text(word, text)


def _lone(said: Any) -> bool:
    """Whether what is said is a list of one thing."""
    return isinstance(said, list) and len(said) == 1 and isinstance(said[0], dict)


def _is_missing(job: Facts, keys: Keys) -> bool:
    """Whether the job says that a part on the way is not there."""
    return any(value_at(job, keys[:end]) == "none" for end in range(1, len(keys)))


__all__ = ["Judgment", "Outcome", "Turning", "decides", "judged", "outcome_of"]
