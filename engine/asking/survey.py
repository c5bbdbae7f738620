"""A survey: from the answers so far to the next card, the line that grows, and the job.

The state is the answers and nothing else: no screen, no clock, no chance. An answer can be taken
back or given anew, and the survey is worked out again; a job of one circuit takes milliseconds.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from typing import Any, NamedTuple, TypeAlias

from ..answering.design import Design
from ..answering.inspection import Inspection
from ..answering.standing import guesses, with_guesses
from ..answering.tiers import DECIDES, tier_of_open
from ..basics.sentinels import NONE
from ..language.knowledge import Knowledge
from ..language.rules import JUDGING
from ..proving.wording import show
from ..running.chain import FAILS, TELL, World
from ..running.job import mapping_of, read_job
from .cards import ROUTE, Card, Cards, Facts, Guess, Kind

KIND, MORE = "kind", "more"
OF_THE_JOB = "job: "  # what a path begins with that leads to a fact of the job
YES, NO, SKIPPED = "Yes", "No, one more stretch", "don't know"
NUMBER = re.compile(r"(\d+(?:\.\d+)?)\s*([A-Za-z%]+)?")  # and its unit


class Answer(NamedTuple):
    """What a person said to a card."""

    card: str
    said: str


Judgment: TypeAlias = tuple[str, str, Any]  # rule, on what, what it comes to


class Asked(NamedTuple):
    """A card as it is put to a person: its question, where to look, and what may be answered."""

    card: str
    ask: str
    look: str
    choices: tuple[str, ...]
    entry: tuple[str, ...]  # numbers to type, each as it is called
    unknown: str


class Assumed(NamedTuple):
    """What nobody said and the trade takes for granted."""

    of: str  # the part of the circuit, as in "conductors"; "" for the circuit itself
    fact: str
    value: str
    why: str

    def path(self, circuit: str) -> str:
        """The fact as a job's file names it: `circuits.kiln.conductors/material`."""
        return f"{circuit}.{self.of}/{self.fact}" if self.of else f"{circuit}/{self.fact}"


class Hangs(NamedTuple):
    """What hangs on a card: of each answer the line it leads to, and what it breaks or opens."""

    answers: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...]  # answer, line, sentences
    waiting: tuple[str, ...]  # the results that wait for it, where its answer is typed
    same: bool  # whether every answer leads to the same


class Wrong(Exception):
    """An answer that a card cannot take; the message says what it takes."""


class File(NamedTuple):
    """A job that was begun before: what it says beyond the cards is kept as it is."""

    circuit: str  # which of its circuits is surveyed
    rest: Facts  # what no card asks


class Survey:
    """One survey of one circuit: *answers* under the *knowledge* in force.

    *head* is what the job's file begins with: its title, place, permit date, edition; *file* is the
    job that was there before.
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
        self.file = file

    # ---- answers
    @cached_property
    def kind(self) -> Kind | None:
        """The kind of job, once it is said."""
        said = self._said(KIND)
        return next((k for k in self.cards.kinds.values() if k.say == said), None)

    def answer(self, text: str) -> Survey:
        """The survey with *text* said to its next card.

        Raises:
            Wrong: the card does not take that.
        """
        asked = self.card
        assert asked is not None, "the survey has no card left"
        return self._with(Answer(asked.card, self._taken(asked, text)))

    def said_again(self, place: int, text: str) -> Survey:
        """The survey with the answer at *place* (from 0) given anew; the later ones stay, and those
        that no longer belong to it are `unused`.

        Raises:
            Wrong: the card does not take that.
        """
        card = self.answers[place].card
        again = Answer(card, self._taken(self.asked(card), text))
        return self._but((*self.answers[:place], again, *self.answers[place + 1 :]))

    def with_answers(self, answers: Iterable[tuple[str, str]]) -> Survey:
        """The survey with *answers* that came from outside, as from a page: each is looked at.

        Raises:
            Wrong: there is no such card, or it does not take what is said to it.
        """
        survey = self
        for card, text in answers:
            if card not in (KIND, MORE, ROUTE) and card not in self.cards.cards:
                raise Wrong(f"no card is called {card}")
            survey = survey._with(Answer(card, self._taken(self.asked(card), text)))
        return survey

    def _with(self, answer: Answer) -> Survey:
        return self._but((*self.answers, answer))

    def _but(self, answers: tuple[Answer, ...]) -> Survey:
        return Survey(self.cards, self.k, self.head, answers, self.file)

    @cached_property
    def used(self) -> tuple[Answer, ...]:
        """The answers that the job rests on: of cards its kind asks, and whose `when` is so."""
        if self.kind is None:
            return ()
        asks = {KIND, MORE, *self.kind.ask}
        used: list[Answer] = []
        for answer in self.answers:
            told = dict(self._told_by(used))
            if answer.card in asks and _is_so(self._when(answer.card), told):
                used.append(answer)
        return tuple(used)

    @property
    def unused(self) -> list[Answer]:
        """What was said and no longer counts, since an earlier answer was changed."""
        used = set(self.used)
        return [answer for answer in self.answers if answer not in used]

    def _when(self, card: str) -> Facts:
        return {} if card in (KIND, MORE) else self._card(card).when

    def taken_back(self) -> Survey:
        """The survey without its last answer."""
        return self._but(self.answers[:-1])

    def _said(self, card: str) -> str | None:
        return next((a.said for a in self.answers if a.card == card), None)

    def _taken(self, asked: Asked, text: str) -> str:
        """*text* as the card takes it: a choice by its number or its words, numbers with units."""
        text = " ".join(text.split())
        if not text or text == "?" or text.lower() == SKIPPED:
            return SKIPPED
        choice, rest = self._choice(asked, text)
        if not asked.entry:
            if choice is None or rest:
                raise Wrong("say the number of an answer, or ? where you don't know")
            return choice
        if asked.choices:
            if choice is None:
                raise Wrong("say the number of an answer and the feet, as in 2 35")
            return f"{choice} · {self._numbers(asked, rest)}"
        return self._numbers(asked, text)

    @staticmethod
    def _choice(asked: Asked, text: str) -> tuple[str | None, str]:
        """The choice that *text* begins with, and what is left of it."""
        for choice in sorted(asked.choices, key=len, reverse=True):
            if text.lower().startswith(choice.lower()):
                return choice, text[len(choice) :].strip(" ,·")
        number, _, rest = text.partition(" ")
        number = number.rstrip(",")
        if number.isdecimal() and 0 < int(number) <= len(asked.choices):
            return asked.choices[int(number) - 1], rest.strip(" ,")
        return None, text

    def _numbers(self, asked: Asked, text: str) -> str:
        """The numbers of an entry, each with its unit (the first one a card knows, if none)."""
        entries = self._card(asked.card).entry
        found = NUMBER.findall(text)
        if len(found) != len(entries) or NUMBER.sub("", text).strip(" ,"):
            wanted = " and ".join(f"{e.say} ({' or '.join(e.units)})" for e in entries)
            raise Wrong(f"type {wanted}")
        out = []
        for (number, unit), entry in zip(found, entries):
            units = {u.lower(): u for u in entry.units}
            if unit and unit.lower() not in units or not unit and len(units) > 1:
                raise Wrong(f"{entry.say}: type it with {' or '.join(entry.units)}, as in 48 A")
            out.append(f"{number} {units.get(unit.lower()) or next(iter(entry.units))}")
        return ", ".join(out)

    def _card(self, id_: str) -> Card:
        return self.cards.route if id_ == ROUTE else self.cards.cards[id_]

    # ---- the job that the answers describe
    @property
    def name(self) -> str:
        """What the circuit is called in the job."""
        if self.file is not None:
            return self.file.circuit
        return self.kind.id if self.kind else "circuit"

    @property
    def body(self) -> dict[str, Any]:
        """The job as its file says it: what was said, what is assumed, and which of it is which."""
        circuit, assumed = self._circuit()
        told = {**self.head, **self._of_the_job(), "circuits": {self.name: circuit}}
        body = over(self.file.rest if self.file else {}, told)
        if assumed:
            others = body.get("assumed", [])
            body["assumed"] = [*others, *(one.path(f"circuits.{self.name}") for one in assumed)]
        return body

    def _of_the_job(self) -> dict[str, Any]:
        """What was said of the whole job, as of its building."""
        told: dict[str, Any] = {}
        for path, value in self._facts() if self.kind else ():
            if path.startswith(OF_THE_JOB):
                _put(told, path.removeprefix(OF_THE_JOB), value)
        return told

    @property
    def assumed(self) -> list[Assumed]:
        """What the job rests on that nobody said."""
        return self._circuit()[1]

    def _circuit(self) -> tuple[dict[str, Any], list[Assumed]]:
        circuit: dict[str, Any] = {}
        assumed: list[Assumed] = []
        kind = self.kind
        if kind is None:
            return circuit, assumed
        for path, value in self._facts():
            if not path.startswith(OF_THE_JOB):
                _put(circuit, path, value)
        segments = list(self._segments())
        if segments:
            circuit["segments"] = segments
        there = self._there
        for guess in (*kind.guesses, *self.cards.guesses):
            _guess(circuit, guess, assumed, there)
        if any(segment["method"] != self.cards.not_pipe for segment in segments):
            _guess(circuit, self.cards.in_pipe, assumed, there)
        return circuit, assumed

    @property
    def _there(self) -> Facts:
        """What the file says of the circuit beyond the cards."""
        circuits = self.file.rest.get("circuits", {}) if self.file else {}
        there = circuits.get(self.name, {})
        return there if isinstance(there, dict) else {}

    def _facts(self) -> Iterator[tuple[str, Any]]:
        return self._told_by(self.used)

    def _told_by(self, answers: Iterable[Answer]) -> Iterator[tuple[str, Any]]:
        """The facts that *answers* tell, after those that the kind of job does."""
        assert self.kind is not None
        yield from self.kind.sets.items()
        for card, said in answers:
            if card in (KIND, MORE, ROUTE) or said == SKIPPED:
                continue
            known = self.cards.cards[card]
            if known.choices:
                yield from known.choices[said].items()
            for entry, number in zip(known.entry, said.split(", ")):
                yield entry.units[number.split()[-1]], number

    def _segments(self) -> Iterator[dict[str, Any]]:
        for card, said in self.used:
            if card == ROUTE and said != SKIPPED:
                place, _, feet = said.partition(" · ")
                yield {**self.cards.route.choices[place], "length": feet}

    # ---- what comes of it
    @cached_property
    def world(self) -> World:
        """The job so far, run, with what a note takes for granted where nobody said."""
        body = mapping_of(self.body)
        world = World(self.k, read_job(body, self.k, "survey")).run()
        taken = guesses(world)
        return with_guesses(world, body, taken) if taken else world

    @cached_property
    def results(self) -> dict[str, str]:
        """What the survey is for, as far as it is known: name of the result -> value."""
        return {
            name: value
            for name, path in self.cards.results.items()
            if (value := self._result(path)) is not None
        }

    def _result(self, path: str) -> str | None:
        part, _, fact = path.partition("/")
        thing = self.world.things.get(f"circuits.{self.name}.{part}")
        if thing is None:
            return None
        word = self.k.words.kinds[thing[0].kind].words[fact]
        value = thing[word.slot]
        return None if value is None or value is NONE else show(value, word.unit)

    @property
    def line(self) -> list[str]:
        """The design so far in a few words each, as the note says it: `60 A 2-pole`, `4-3 NM-B`."""
        return [said for said, _ in self.pieces]

    @cached_property
    def pieces(self) -> list[tuple[str, str]]:
        """The pieces of the line, each with the fact that it says, as `why` takes it."""
        if self.kind is None:
            return []
        found = Inspection(mapping_of(self.body), self.k)
        lines = Design(found.standing).design([])
        return next(
            (list(zip(line.pieces, line.facts)) for line in lines if line.name == self.name), []
        )

    def _outcome(self) -> tuple[tuple[tuple[str, str], ...], frozenset[Judgment]]:
        """The results, what fails, and what is open that decides: what an answer must change to be
        worth asking for.
        """
        return tuple(sorted(self.results.items())), self._judged()

    def _judged(self) -> frozenset[Judgment]:
        """What fails, and what is open that decides."""
        world = self.world
        return frozenset(
            (rule.id, thing[0].id, answer)
            for rule in self.k.rules.values()
            if rule.verb in JUDGING
            for thing in world.by_kind.get(rule.about, ())
            for answer in [world.answer(rule, thing)]
            if answer == FAILS or answer == TELL and tier_of_open(world, rule, thing)[0] == DECIDES
        )

    # ---- the next card
    @cached_property
    def card(self) -> Asked | None:
        """What is asked next; None where nothing is left that would change anything."""
        if self.kind is None:
            return self.asked(KIND)
        last = self.answers[-1]
        if last.card == ROUTE and last.said != SKIPPED:
            return self.asked(MORE)
        if last == Answer(MORE, NO):
            return self.asked(ROUTE)
        return next((self.asked(id_) for id_ in self._left()), None)

    def _left(self) -> Iterator[str]:
        """The cards that are left to put, in the order of the walk."""
        assert self.kind is not None
        told = dict(self._facts())
        said = {answer.card for answer in self.used}
        for id_ in self.kind.ask:
            if id_ in said or not _is_so(self._when(id_), told) or self._in_file(id_):
                continue
            if id_ not in self.kind.turns or self._turns(self._card(id_)):
                yield id_

    def _in_file(self, id_: str) -> bool:
        """Whether the file says what a card asks, in words that are not the card's."""
        if self.file is None:
            return False
        if id_ == ROUTE:
            return "segments" in self._there
        card = self._card(id_)
        facts = [fact for told in card.choices.values() for fact in told]
        facts += [fact for entry in card.entry for fact in entry.units.values()]
        return any(is_there(self._there, fact) for fact in facts)

    def asked(self, id_: str) -> Asked:
        """The card of that name as it is put to a person."""
        if id_ == KIND:
            kinds = tuple(k for group in self.cards.groups.values() for k in group)
            say = tuple(self.cards.kinds[k].say for k in kinds)
            look = "what you were called for"
            return Asked(KIND, "What are you feeding?", look, say, (), "nothing can be worked out")
        if id_ == MORE:
            ask, look = self.cards.more
            return Asked(MORE, ask, look, (YES, NO), (), "counts as yes")
        return self._put(self._card(id_))

    def _put(self, card: Card) -> Asked:
        entry = ("feet",) if card.id == ROUTE else tuple(e.say for e in card.entry)
        return Asked(card.id, card.ask, card.look, tuple(card.choices), entry, card.unknown)

    def _turns(self, card: Card) -> bool:
        """Does an answer lead to other results than none, or settle something that decides?"""
        now = self._outcome()
        answers = (Answer(card.id, choice) for choice in card.choices)
        return any(self._with(answer)._outcome() != now for answer in answers)

    # ---- why it is asked
    def hangs_on(self, id_: str) -> Hangs:
        """What hangs on the card *id_*: found by running the job with each of its answers."""
        asked = self.asked(id_)
        if id_ == KIND or asked.entry:
            names = (name for name in self.cards.results if name not in self.results)
            return Hangs((), tuple(names), False)
        runs = [(choice, self._with(Answer(id_, choice))) for choice in asked.choices]
        now = self._judged()
        answers = tuple(
            (choice, tuple(run.line), tuple(run._new_judgments(now))) for choice, run in runs
        )
        return Hangs(answers, (), len({answer[1:] for answer in answers}) < 2)

    def _new_judgments(self, before: frozenset[Judgment]) -> Iterator[str]:
        """What is judged otherwise than *before*, in the rules' sentences, with their sections."""
        for id_, on, answer in sorted(self._judged() - before):
            lead = "fails" if answer == FAILS else "stays open"
            section = self.k.section(id_, self.world.things[on])
            yield f"{lead}: {self.k.rules[id_].said.rstrip('.')} ({section})"


def _is_so(when: Facts, told: Facts) -> bool:
    """Is what a card is for so?"""
    return all(told.get(fact) == value for fact, value in when.items())


def _put(body: dict[str, Any], path: str, value: Any) -> None:
    """Set what a path leads to, in a job's form: `load/current` is `load: {current: ...}`."""
    first, _, rest = path.partition("/")
    if not rest:
        body[first] = value
        return
    part = body.setdefault(first, {})
    if isinstance(part, dict):  # or it is not there, as in `receptacle: none`
        _put(part, rest, value)


def over(below: Mapping[str, Any], above: Mapping[str, Any]) -> dict[str, Any]:
    """*below* with what *above* says put over it, part by part."""
    out = dict(below)
    for key, value in above.items():
        there = out.get(key)
        if isinstance(there, Mapping) and isinstance(value, Mapping):
            out[key] = over(there, value)
        else:
            out[key] = value
    return out


def is_there(body: Mapping[str, Any], path: str) -> bool:
    """Whether *body* says the fact at the end of *path* (`load/current`).

    >>> is_there({"load": {"current": "48 A"}}, "load/current"), is_there({}, "load/current")
    (True, False)
    """
    return value_at(body, path) is not None


def value_at(body: Mapping[str, Any], path: str) -> Any:
    """What *body* says at the end of *path*; None where it says nothing."""
    first, _, rest = path.partition("/")
    value = body.get(first)
    if not rest or value is None:
        return value
    return value_at(value, rest) if isinstance(value, Mapping) else None


def _guess(body: dict[str, Any], guess: Guess, assumed: list[Assumed], file: Facts) -> None:
    """Fill in a guess where nothing is said."""
    first, _, rest = guess.fact.partition("/")
    if is_there(file, guess.fact) or isinstance(file.get(first), str):
        return
    there = body.get(first)
    if rest and isinstance(there, str) or there is not None and not rest:
        return  # the part is not there, as in "receptacle: none"; or it was said
    if rest and isinstance(there, Mapping) and rest in there:
        return
    _put(body, guess.fact, guess.value)
    part, _, fact = guess.fact.rpartition("/")
    assumed.append(Assumed(part, fact, guess.value, guess.why))


__all__ = [
    "Answer",
    "Asked",
    "Assumed",
    "File",
    "Hangs",
    "Survey",
    "Wrong",
    "is_there",
    "over",
    "value_at",
]
