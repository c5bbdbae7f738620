"""A survey: from the answers so far to the next card, the line that grows, and the job.

The state is the answers and nothing else: no screen, no clock, no chance. An answer can be taken
back or given anew, and the survey is worked out again; a job of one circuit takes milliseconds.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from copy import deepcopy
from functools import cached_property
from typing import Any, NamedTuple

from ..answering.design import Design
from ..answering.inspection import Inspection
from ..answering.standing import Standing
from ..basics.errors import Faults
from ..basics.sentinels import NONE
from ..basics.units import Range
from ..language.knowledge import Knowledge
from ..language.words import as_list
from ..proving.wording import show
from ..running.chain import FAILS, World
from ..running.job import mapping_of, read_job
from .cards import ROUTE, Card, Cards, Kind
from .habits import Assumed, habits_of, lay_on
from .places import (
    AREA,
    CIRCUITS,
    OF_SEGMENTS,
    SEGMENTS,
    Facts,
    Named,
    keys_told,
    over,
    put,
    value_at,
)
from .said import APART, OPEN, SKIPPED, Wrong, facts_of, taken
from .turning import Judgment, Outcome, Turning, judged, outcome_of

KIND, MORE, ANOTHER = "kind", "more", "another"
OWN_CARDS = (KIND, MORE, ANOTHER)
BEGUN = "Another one"


class Answer(NamedTuple):
    """What a person said to a card."""

    card: str
    said: str


class Asked(NamedTuple):
    """A card as it is put to a person: its question, where to look, and what may be answered."""

    card: str
    ask: str
    look: str
    choices: tuple[str, ...]
    entry: tuple[str, ...]  # numbers to type, each as it is called
    unknown: str
    several: bool = False  # whether all that fit may be told at once
    alone: tuple[str, ...] = ()  # choices to which no number belongs


class Hangs(NamedTuple):
    """What hangs on a card: of each answer the line it leads to, and what it breaks or opens."""

    answers: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...]  # answer, line, sentences
    waiting: tuple[str, ...]  # the results that wait for it, where its answer is typed
    same: bool  # whether every answer leads to the same


class Flip(NamedTuple):
    """What is taken for granted, and what the line would be were it otherwise."""

    assumed: Assumed
    line: tuple[str, ...]  # with the other value; nothing where it is the same line


class File(NamedTuple):
    """A job that was begun before: what it says beyond the cards is kept as it is."""

    circuit: str  # which of its circuits is surveyed
    rest: Facts  # what no card asks


class Survey:
    """A survey of a job, one circuit after the other: *answers* under the *knowledge* in force.

    *head* is what the job's file begins with: its title, place, permit date, edition; *file* is the
    job that was there before. What was surveyed before the last circuit stands like such a job.
    """

    def __init__(
        self,
        cards: Cards,
        knowledge: Knowledge,
        head: Facts,
        answers: tuple[Answer, ...] = (),
        file: File | None = None,
    ) -> None:
        self.cards, self.k, self.head, self.answers = cards, knowledge, head, answers
        self.begun_as, self.own, self.file = file, answers, file
        marks = [place for place, answer in enumerate(answers) if answer.card == ANOTHER]
        if marks:
            before = Survey(cards, knowledge, head, answers[: marks[-1]], file)
            self.own = answers[marks[-1] + 1 :]
            rest = before.body
            self.file = File(self._not_in(rest), rest)

    def _not_in(self, job: Facts) -> str:
        """What the circuit is called beside those that the job has: spa, spa 2."""
        name = self.kind.id if self.kind else "circuit"
        there = job.get(CIRCUITS, {})
        number = 2
        called = name
        while called in there:
            called, number = f"{name} {number}", number + 1
        return called

    # ---- answers
    @cached_property
    def kind(self) -> Kind | None:
        """The kind of job, once it is said."""
        said = next((a.said for a in self.own if a.card == KIND), None)
        return next((k for k in self.cards.kinds.values() if k.say == said), None)

    def answer(self, text: str) -> Survey:
        """The survey with *text* said to its next card.

        Raises:
            Wrong: the card does not take that.
        """
        asked = self.card
        assert asked is not None, "the survey has no card left"
        return self.answer_to(asked.card, text)

    def answer_to(self, card: str, text: str) -> Survey:
        """The survey with *text* said to a card that it `takes`.

        Raises:
            Wrong: the card does not take that.
        """
        return self._with(self._taken(card, text))._run()

    def takes(self, card: str) -> bool:
        """Whether a card may be answered now: one that its kind of job asks, and nobody answered.
        Whether it is the next one would take runs, and was found out when it was put.
        """
        if self.kind is None:
            return card == KIND
        if self._goes_on or card == MORE:
            return self._goes_on and card == MORE
        said = {answer.card for answer in self.used}
        there = card in self.kind.ask and card not in said
        return there and self._is_so(card, self.used) and not self._in_file(card)

    @property
    def _goes_on(self) -> bool:
        """Whether the last answer was a stretch of the way, behind which it may go on."""
        return self.own[-1].card == ROUTE and self.own[-1].said != SKIPPED

    def _run(self) -> Survey:
        """This survey, run, where a job can be what it says.

        Raises:
            Wrong: it cannot, as with 4800 A on a plate.
        """
        if self.kind is not None:
            with self._asked_back():
                self.standing  # noqa: B018
        return self

    @staticmethod
    @contextmanager
    def _asked_back() -> Iterator[None]:
        """What is wrong in a job as what cannot be said. Raises Wrong."""
        try:
            yield
        except Faults as faults:
            said = "; ".join(f"{fault.what} ({fault.todo})" for fault in faults.items)
            raise Wrong(said) from None

    def _seen(self) -> Survey:
        """This survey, where a job can be what it says.

        Raises:
            Wrong: it cannot, as with 4800 A on a plate.
        """
        if self.kind is not None:
            with self._asked_back():
                read_job(mapping_of(self.job), self.k, "survey")
        return self

    def another(self) -> Survey:
        """The survey with one more circuit begun."""
        return self._with(Answer(ANOTHER, BEGUN))

    def said_again(self, place: int, text: str) -> Survey:
        """The survey with the answer at *place* (from 0) given anew; the later ones stay, and those
        that no longer belong to it are `unused`.

        Raises:
            Wrong: the card does not take that.
        """
        card = self.answers[place].card
        again = self._taken(card, text)
        return self._but((*self.answers[:place], again, *self.answers[place + 1 :]))._seen()

    def with_answers(self, answers: Iterable[tuple[str, str]]) -> Survey:
        """The survey with *answers* that came from outside, as from a page: each is looked at.

        Raises:
            Wrong: there is no such card, or it does not take what is said to it.
        """
        told = []
        for card, text in answers:
            if card not in (*OWN_CARDS, ROUTE) and card not in self.cards.cards:
                raise Wrong(f"no card is called {card}")
            told.append(self._taken(card, text))
        return self._but((*self.answers, *told))._seen()

    def _with(self, answer: Answer) -> Survey:
        return self._but((*self.answers, answer))

    def _but(self, answers: tuple[Answer, ...]) -> Survey:
        return Survey(self.cards, self.k, self.head, answers, self.begun_as)

    @cached_property
    def used(self) -> tuple[Answer, ...]:
        """The answers about this circuit that the job rests on: of cards its kind asks, and whose
        `when` is so.
        """
        if self.kind is None:
            return ()
        asks = {KIND, MORE, *self.kind.ask}
        used: list[Answer] = []
        for answer in self.own:
            if answer.card in asks and self._is_so(answer.card, used):
                used.append(answer)
        return tuple(used)

    @property
    def unused(self) -> list[Answer]:
        """What was said of this circuit and no longer counts, since an answer was changed."""
        used = set(self.used)
        return [answer for answer in self.own if answer not in used]

    def _is_so(self, card: str, used: Iterable[Answer]) -> bool:
        """Whether what a card is for is so, by the answers so far and by the file."""
        when = {} if card in OWN_CARDS else self._card(card).when
        if not when:
            return True
        told = dict(self._told_by(used))
        there = self.file.rest if self.file else {}
        return all(
            str(told.get(path) or value_at(there, self.named.keys(path)))
            in map(str, as_list(values))
            for path, values in when.items()
        )

    def taken_back(self) -> Survey:
        """The survey without its last answer."""
        return self._but(self.answers[:-1])

    def _taken(self, card: str, text: str) -> Answer:
        """What is said to a card; where the route goes on, another stretch of it or its end."""
        if card == ANOTHER:
            return Answer(ANOTHER, BEGUN)
        said = taken(self._card(card), text)
        return Answer(ROUTE if card == MORE and APART in said else card, said)

    def _card(self, id_: str) -> Card:
        """The card of that name; those of a survey itself are made of what it knows."""
        route = self.cards.route
        if id_ == KIND:
            says: dict[str, Facts] = {kind.say: {} for kind in self.cards.kinds.values()}
            ask, look = "What are you feeding?", "what you were called for"
            return Card(KIND, ask, look, "nothing can be worked out", {}, says, (), False)
        if id_ == MORE:
            ask, look, end, unknown = self.cards.more
            says = {end: {}, **route.choices}
            return Card(MORE, ask, look, unknown, {}, says, route.entry, False, (end,))
        return route if id_ == ROUTE else self.cards.cards[id_]

    # ---- the job that the answers describe
    @property
    def name(self) -> str:
        """What the circuit is called in the job."""
        if self.file is not None:
            return self.file.circuit
        return self.kind.id if self.kind else "circuit"

    @cached_property
    def named(self) -> Named:
        """The names that cards leave open, and where the facts of each area stand."""
        there = self.file.rest if self.file else {}
        names = {name: called.name_in(there) for name, called in self.cards.names.items()}
        return Named(self.cards.areas, {**names, "name": self.name})

    @property
    def body(self) -> dict[str, Any]:
        """The job as its file says it: what was said, what is assumed, and which of it is which."""
        return deepcopy(self._job[0])

    @property
    def job(self) -> dict[str, Any]:
        """The job as it is worked out, not to be changed; `body` is one of the reader's own."""
        return self._job[0]

    @property
    def assumed(self) -> list[Assumed]:
        """What the job rests on that nobody said of this circuit."""
        return self._job[1]

    @cached_property
    def _job(self) -> tuple[dict[str, Any], list[Assumed]]:
        there = self.file.rest if self.file else {}
        told: dict[str, Any] = dict(self.head)
        if self.kind is None:
            return (over(there, told) if there else {**told, CIRCUITS: {}}), []
        stretches = self._stretches()
        on_each: Facts = {}
        for path, value in self._told_by(self.used):
            if path.startswith(OF_SEGMENTS):
                on_each[path.removeprefix(OF_SEGMENTS)] = value
            else:
                put(told, self.named.keys(path), self.named.fill(deepcopy(value)))
        if stretches:
            segments = [
                {**facts, **({"length": feet} if feet != OPEN else {}), **on_each}
                for _, facts, feet in stretches
            ]
            put(told, self.named.keys(SEGMENTS), segments)
        places = [place for place, _, _ in stretches]
        # where the job is no circuit, none is taken for granted of one
        habits = (
            habit
            for habit in habits_of(self.k, self.kind.id)
            if AREA in habit.fact or not self.kind.of
        )
        assumed = lay_on(told, places, habits, self.named, there)
        body = over(there, told)
        if assumed:
            body["assumed"] = [*there.get("assumed", []), *(one.path for one in assumed)]
        return body, assumed

    def _told_by(self, answers: Iterable[Answer]) -> Iterator[tuple[str, Any]]:
        """The facts that *answers* tell, after those that the kind of job does."""
        assert self.kind is not None
        yield from self.kind.sets.items()
        for card, said in answers:
            if card not in (*OWN_CARDS, ROUTE):
                yield from facts_of(self._card(card), said)

    def _stretches(self) -> list[tuple[str, Facts, str]]:
        """The way, stretch by stretch: what it is called, what that says, and its feet."""
        out = []
        for card, said in self.used:
            if card == ROUTE and said != SKIPPED:
                place, _, feet = said.partition(APART)
                out.append((place, self.cards.route.choices[place], feet))
        return out

    # ---- what comes of it
    @cached_property
    def standing(self) -> Standing:
        """The job so far as it stands, with what a note takes for granted and what is put in."""
        found = Inspection(mapping_of(self.job), self.k)
        return Standing(found.w, found.whatif, None, found.body, spare=True)

    @property
    def world(self) -> World:
        """The run of the job so far, with what a note takes for granted where nobody said."""
        return self.standing.world

    @cached_property
    def results(self) -> dict[str, str]:
        """What the survey is for, as far as it is known: name of the result -> value."""
        return {name: show(value, unit) for name, value, unit in self._values_in(self.world)}

    def results_in(self, world: World) -> Iterator[tuple[str, str]]:
        """The results in a run of this survey's job, those too that are known to lie in a range."""
        for name, value, unit in self._values_in(world, ranges=True):
            yield name, show(value, unit)

    def _values_in(self, world: World, ranges: bool = False) -> Iterator[tuple[str, Any, Any]]:
        for name, path in self.cards.results.items():
            *way, fact = self.named.keys(path)
            thing = world.things.get(".".join(way))
            if thing is None:
                continue
            word = self.k.words.kinds[thing[0].kind].words[fact]
            value = thing[word.slot]
            if value is not None and value is not NONE and (ranges or not isinstance(value, Range)):
                yield name, value, word.unit

    @property
    def line(self) -> list[str]:
        """The design so far in a few words each, as the note says it: `60 A 2-pole`, `4-3 NM-B`."""
        return [said for said, _ in self.pieces]

    @cached_property
    def pieces(self) -> list[tuple[str, str]]:
        """The pieces of the line, each with the fact that it says, as `why` takes it."""
        return self._pieces(self.standing) if self.kind else []

    def _pieces(self, standing: Standing) -> list[tuple[str, str]]:
        assert self.kind is not None
        design = Design(standing)
        if self.kind.of:
            found = design.line_of(self.kind.of, self.kind.line)
        else:
            found = design.line_of(f"{CIRCUITS}.{self.name}")
        return list(zip(found.pieces, found.facts)) if found else []

    # ---- the next card
    @cached_property
    def card(self) -> Asked | None:
        """What is asked next; None where nothing is left that would change anything."""
        if self.kind is None:
            return self.asked(KIND)
        if self._goes_on:
            return self.asked(MORE)
        return next((self.asked(id_) for id_ in self._left()), None)

    def _left(self) -> Iterator[str]:
        """The cards that are left to put, in the order of the walk."""
        assert self.kind is not None
        said = {answer.card for answer in self.used}
        turning = Turning(self)
        for id_ in self.kind.ask:
            if id_ in said or not self._is_so(id_, self.used) or self._in_file(id_):
                continue
            if id_ not in self.kind.turns or turning.turns(self._card(id_)):
                yield id_

    def _in_file(self, id_: str) -> bool:
        """Whether the file says what a card asks, in words that are not the card's."""
        if self.file is None:
            return False
        if id_ == ROUTE:
            return value_at(self.file.rest, self.named.keys(SEGMENTS)) is not None
        card = self._card(id_)
        facts = [fact for told in card.choices.values() for fact in told]
        facts += [fact for entry in card.entry for fact in entry.units.values()]
        return any(
            value_at(self.file.rest, self.named.keys(fact)) is not None
            for fact in facts
            if not fact.startswith(OF_SEGMENTS)
        )

    def asked(self, id_: str) -> Asked:
        """The card of that name as it is put to a person."""
        if id_ == ANOTHER:
            return Asked(ANOTHER, BEGUN, "", (), (), "")
        card = self._card(id_)
        entry = tuple(e.say for e in card.entry)
        choices = tuple(card.choices)
        return Asked(
            card.id, card.ask, card.look, choices, entry, card.unknown, card.several, card.alone
        )

    def outcome(self) -> Outcome:
        """What an answer must change to be worth asking for."""
        return outcome_of(self, self.world)

    def with_answer(self, card: str, said: str) -> Survey:
        """The survey with an answer to a card that may not be the next one."""
        return self._with(Answer(card, said))

    # ---- why it is asked, and what it rests on
    def hangs_on(self, id_: str) -> Hangs:
        """What hangs on the card *id_*: found by running the job with each of its answers."""
        asked = self.asked(id_)
        if id_ in (KIND, ANOTHER) or asked.entry:
            names = (name for name in self.cards.results if name not in self.results)
            return Hangs((), tuple(names), False)
        runs = [(choice, self._with(Answer(id_, choice))) for choice in asked.choices]
        now = judged(self.world)
        answers = tuple(
            (choice, tuple(run.line), tuple(run._new_judgments(now))) for choice, run in runs
        )
        return Hangs(answers, (), len({answer[1:] for answer in answers}) < 2)

    def _new_judgments(self, before: frozenset[Judgment]) -> Iterator[str]:
        """What is judged otherwise than *before*, in the rules' sentences, with their sections."""
        for id_, on, answer in sorted(judged(self.world) - before):
            lead = "fails" if answer == FAILS else "stays open"
            section = self.k.section(id_, self.world.things[on])
            yield f"{lead}: {self.k.rules[id_].said.rstrip('.')} ({section})"

    def flips(self) -> Iterator[Flip]:
        """What is taken for granted, each with the line that the other value would make: found by
        running the job with it, so only where somebody asks.
        """
        for one in self.assumed:
            body = self.body
            *thing, fact = keys_told(one.path)
            holder: Any = body
            for key in thing:
                holder = holder[int(key) - 1] if isinstance(holder, list) else holder[key]
            holder[fact] = self.named.fill(one.habit.other)
            other = self._pieces(Inspection(mapping_of(body), self.k).standing)
            line = tuple(said for said, _ in other)
            yield Flip(one, () if line == tuple(self.line) else line)


__all__ = [
    "ANOTHER",
    "KIND",
    "MORE",
    "SKIPPED",
    "Answer",
    "Asked",
    "Assumed",
    "File",
    "Flip",
    "Hangs",
    "Survey",
    "Wrong",
]
