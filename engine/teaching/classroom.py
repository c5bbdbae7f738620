"""A class over the weeks: what each learner got of each topic, which wrong beliefs stand in the way
and which are gone, who needs what next, and the next paper for all of them.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from ..basics.errors import Fault
from .asked import Model
from .instances import Maker
from .points import kept
from .quiz import Quiz, make

ELSEWHERE = "no longer asked"  # the topic of a question that is none any longer
SINCE = 2  # right answers to what a belief gets wrong, after which it is taken to be gone
WEAK = Fraction(7, 10)  # of the points of a topic, below which it is to be asked again
FEW = 2  # answers in a topic, below which they say little
MOST_NEEDED = 3  # things that one learner is told to work at next


@dataclass
class Tally:
    """Points of so many answers."""

    points: Fraction = Fraction(0)
    asked: int = 0

    def add(self, worth: Fraction) -> None:
        self.points += worth
        self.asked += 1

    @property
    def is_weak(self) -> bool:
        return self.asked >= FEW and self.points < WEAK * self.asked


@dataclass
class Held:
    """A belief behind a learner's wrong answers: how many, on which day the last of them, and how
    often what it gets wrong was answered rightly since.
    """

    belief: str
    times: int = 0
    last: datetime.date = datetime.date.min
    right_since: int = 0

    @property
    def is_gone(self) -> bool:
        return self.right_since >= SINCE


@dataclass
class Pupil:
    """One learner of a class."""

    name: str
    topics: dict[str, Tally] = field(default_factory=dict)
    weeks: dict[datetime.date, Tally] = field(default_factory=dict)  # by their Monday
    held: dict[str, Held] = field(default_factory=dict)

    @property
    def still_held(self) -> list[Held]:
        """The beliefs that stand in the way, those behind most answers first."""
        still = [held for held in self.held.values() if not held.is_gone]
        return sorted(still, key=lambda held: (-held.times, -held.last.toordinal(), held.belief))

    @property
    def weak_topics(self) -> list[str]:
        """The topics of which too little was got, the weakest first."""
        weak = [name for name, tally in self.topics.items() if tally.is_weak]
        return sorted(weak, key=lambda name: self.topics[name].points / self.topics[name].asked)

    def took(self, worth: Fraction, topic: str, on: datetime.date) -> None:
        """Count the points of one answer."""
        monday = on - datetime.timedelta(days=on.weekday())
        self.topics.setdefault(topic, Tally()).add(worth)
        self.weeks.setdefault(monday, Tally()).add(worth)

    def erred(self, beliefs: Iterable[str], on: datetime.date) -> None:
        """Take note of the beliefs that make a wrong answer."""
        for name in dict.fromkeys(beliefs):
            held = self.held.setdefault(name, Held(name))
            held.times, held.last, held.right_since = held.times + 1, on, 0

    def knew(self, beliefs: Iterable[str]) -> None:
        """Take note that what these beliefs get wrong was answered rightly."""
        for name in beliefs:
            if name in self.held:
                self.held[name].right_since += 1


@dataclass
class Classroom:
    """All learners, in the order of their names."""

    pupils: list[Pupil]

    @property
    def topics(self) -> list[str]:
        return sorted({topic for pupil in self.pupils for topic in pupil.topics})

    @property
    def weeks(self) -> list[datetime.date]:
        return sorted({monday for pupil in self.pupils for monday in pupil.weeks})

    @property
    def in_the_way(self) -> list[tuple[str, list[tuple[str, Held]]]]:
        """Each belief that somebody still holds, with who does: what most hold comes first."""
        who: dict[str, list[tuple[str, Held]]] = {}
        for pupil in self.pupils:
            for held in pupil.still_held:
                who.setdefault(held.belief, []).append((pupil.name, held))
        return sorted(
            who.items(),
            key=lambda item: (-len(item[1]), -sum(held.times for _, held in item[1]), item[0]),
        )

    @property
    def gone(self) -> dict[str, list[str]]:
        """The beliefs that were held, with who has answered rightly since."""
        out: dict[str, list[str]] = {}
        for pupil in self.pupils:
            for held in pupil.held.values():
                if held.is_gone:
                    out.setdefault(held.belief, []).append(pupil.name)
        return dict(sorted(out.items()))

    @property
    def weak_topics(self) -> list[str]:
        """The topics in which most learners are weak first."""
        weak = Counter(topic for pupil in self.pupils for topic in pupil.weak_topics)
        return sorted(weak, key=lambda topic: (-weak[topic], topic))


def classroom(
    results: list[tuple[str, dict[str, Any]]], models: dict[str, Model], maker: Maker
) -> Classroom:
    """The class whose results these are: each a learner's name and a file of answers. One learner
    may have several, and what was answered first counts first.
    """
    asked_about: dict[str, list[str]] = {}
    answers = [
        (answer["on"], number, name, answer)
        for name, result in results
        for number, answer in enumerate(result["answers"])
    ]
    pupils = {name: Pupil(name) for name, _ in results}
    for day, _, name, answer in sorted(answers, key=lambda each: each[:3]):
        pupil, on = pupils[name], datetime.date.fromisoformat(day)
        model = str(answer["question"]).split(":")[0]
        topic = models[model].room if model in models else ELSEWHERE
        pupil.took(kept(answer), topic, on)
        if not answer["right"]:
            pupil.erred(answer.get("beliefs", []), on)
        elif model in models:
            if model not in asked_about:
                asked_about[model] = maker.relevant(models[model])
            pupil.knew(asked_about[model])
    return Classroom([pupils[name] for name in sorted(pupils, key=str.casefold)])


def needs(
    pupil: Pupil, topics: Iterable[str], maker: Maker
) -> tuple[list[Held], list[str], list[str]]:
    """What a learner needs next: beliefs to be put right; weak topics that none of them is of; and
    *topics* that were asked of others alone.
    """
    first = [held for held in pupil.still_held if held.belief in maker.beliefs][:MOST_NEEDED]
    of_beliefs = {maker.beliefs[held.belief].room for held in first}
    weak = [topic for topic in pupil.weak_topics if topic not in of_beliefs | {ELSEWHERE}]
    never = [topic for topic in topics if topic not in pupil.topics]
    return first, weak[: MOST_NEEDED - len(first)], never


def next_paper(
    found: Classroom,
    maker: Maker,
    models: dict[str, Model],
    law: dict[str, Any],
    number: int,
    seed: int,
    title: str,
) -> Quiz:
    """A paper for the whole class: half of it about the beliefs that stand in the way, in their
    order; of the rest, as much as there is from weak topics, and then from any of those asked.
    """
    quiz = Quiz(title, seed, law)
    asked = {name for model in models.values() for name in maker.relevant(model)}
    beliefs = [name for name, _ in found.in_the_way if name in asked]
    rooms = {model.room for model in models.values()}
    known = [topic for topic in found.topics if topic in rooms]
    weak = [topic for topic in found.weak_topics if topic in rooms]

    def add(most: int, at: int, **chosen: Any) -> None:
        """Add as many as *most*, none that is there already."""
        there = {_draw_of(question) for question in quiz.questions}
        try:
            made = make(maker, models, most, seed + at, law, **chosen)
        except Fault as fault:
            # of a belief, or a topic, there may be no question that gives nothing away
            if fault.code != "too-few-questions":
                raise
            return
        quiz.questions += [each for each in made.questions if _draw_of(each) not in there]

    half = -(-number // 2) if weak or len(beliefs) < number else number
    # each belief once, and again from the first where there is room
    for at in range(half if beliefs else 0):
        add(1, at, belief=beliefs[at % len(beliefs)])
    at = half
    while len(quiz.questions) < number and at < 10 * number + half:
        # by turns: a topic that is weak, and any that was asked
        wanted = weak if weak and at % 2 else known
        rooms_now = (wanted[at // 2 % len(wanted)],) if wanted else ()
        add(1, at, rooms=rooms_now)
        at += 1
    return quiz


def _draw_of(question: Any) -> tuple:
    """What makes two questions one: the same model with the same facts."""
    return question.model.name, tuple(question.facts.items())
