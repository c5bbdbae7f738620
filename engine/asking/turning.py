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
from ..running.rerun import LOOKED, Change, Rerun
from .cards import ROUTE, Card
from .places import UNKNOWN, Facts, Keys, put, value_at
from .said import facts_of

if TYPE_CHECKING:
    from .survey import Survey

JOB = "job"  # the thing that a job is
Judgment: TypeAlias = tuple[str, str, str]  # rule, on what, what it comes to


class Outcome(NamedTuple):
    """The results, what fails, what is open that decides, and what is put in."""

    results: tuple[tuple[str, str], ...]
    judged: frozenset[Judgment]
    built: frozenset[tuple[str, str]]


def judged(world: World) -> frozenset[Judgment]:
    """What fails, and what is open that decides."""
    return frozenset(
        (rule.id, thing[0].id, answer)
        for rule in world.k.rules.values()
        if rule.verb in JUDGING
        for thing in world.by_kind.get(rule.about, ())
        for answer in [world.answer(rule, thing)]
        if answer == FAILS or answer == TELL and tier_of_open(world, rule, thing)[0] == DECIDES
    )


def outcome_of(survey: Survey, world: World) -> Outcome:
    """What comes of a survey in a run of its job."""
    built = frozenset((one.of, one.fact) for one in survey.standing.built)
    return Outcome(tuple(sorted(survey.results_in(world))), judged(world), built)


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
            return answered.outcome() != self.survey.outcome()
        now = self.now  # seen before anything is told
        with self.run.told(changes) as world:
            return outcome_of(self.survey, world) != now

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


__all__ = ["Judgment", "Outcome", "Turning", "judged", "outcome_of"]
