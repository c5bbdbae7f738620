"""Spaced practice: when a question should come again, by FSRS-6, an open algorithm (MIT), with its
published default weights.

Two grades are used, wrong (again) and right (good), and whole days. The tests compare it with the
algorithm's reference package, review by review. What is scheduled is a question model: its facts
are drawn anew each time.
"""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass

WEIGHTS = (
    0.212,
    1.2931,
    2.3065,
    8.2956,
    6.4133,
    0.8334,
    3.0194,
    0.001,
    1.8722,
    0.1666,
    0.796,
    1.4835,
    0.0614,
    0.2629,
    1.6483,
    0.6014,
    1.8729,
    0.5425,
    0.0912,
    0.0658,
    0.1542,
)
RETENTION = 0.9  # how likely it should still be known on the day it comes again
LONGEST = 36500  # days
AGAIN, GOOD, EASY = 1, 3, 4
_DECAY = -WEIGHTS[20]
_FACTOR = RETENTION ** (1 / _DECAY) - 1


@dataclass
class Card:
    """How well one question model is known: stability in days, difficulty from 1 to 10, and the day
    it comes again.
    """

    stability: float = 0.0
    difficulty: float = 0.0
    last: datetime.date | None = None
    due: datetime.date | None = None

    def known(self, on: datetime.date) -> float:
        """How likely it is still known on a day, 0 to 1."""
        if self.last is None:
            return 0.0
        return (1 + _FACTOR * max(0, (on - self.last).days) / self.stability) ** _DECAY

    def review(self, right: bool, on: datetime.date) -> Card:
        """The card after one answer on a day."""
        grade = GOOD if right else AGAIN
        if self.last is None:
            stability, difficulty = WEIGHTS[grade - 1], _bounded(_first_difficulty(grade))
        else:
            stability = self._stability_after(grade, (on - self.last).days, self.known(on))
            difficulty = self._difficulty_after(grade)
        stability = max(stability, 0.001)
        days = min(max(round(stability / _FACTOR * (RETENTION ** (1 / _DECAY) - 1)), 1), LONGEST)
        return Card(stability, difficulty, on, on + datetime.timedelta(days=days))

    def _stability_after(self, grade: int, days: int, known: float) -> float:
        """How stable it is after an answer, so many days after the last one, that was likely to be
        *known*.
        """
        if days < 1:
            return self.stability * _same_day(self.stability, grade)
        if grade == GOOD:
            return self.stability * (
                1
                + math.exp(WEIGHTS[8])
                * (11 - self.difficulty)
                * self.stability ** -WEIGHTS[9]
                * (math.exp((1 - known) * WEIGHTS[10]) - 1)
            )
        # what was forgotten is never more stable than it was
        return min(
            WEIGHTS[11]
            * self.difficulty ** -WEIGHTS[12]
            * ((self.stability + 1) ** WEIGHTS[13] - 1)
            * math.exp((1 - known) * WEIGHTS[14]),
            self.stability / math.exp(WEIGHTS[17] * WEIGHTS[18]),
        )

    def _difficulty_after(self, grade: int) -> float:
        """How difficult it is after an answer: drawn a little to what is easy at first."""
        step = -WEIGHTS[6] * (grade - 3)
        return _bounded(
            WEIGHTS[7] * _first_difficulty(EASY)
            + (1 - WEIGHTS[7]) * (self.difficulty + (10 - self.difficulty) * step / 9)
        )


def _first_difficulty(grade: int) -> float:
    return WEIGHTS[4] - math.exp(WEIGHTS[5] * (grade - 1)) + 1


def _same_day(stability: float, grade: int) -> float:
    up = math.exp(WEIGHTS[17] * (grade - 3 + WEIGHTS[18])) * stability ** -WEIGHTS[19]
    return max(up, 1.0) if grade >= 2 else up


def _bounded(difficulty: float) -> float:
    return min(max(difficulty, 1.0), 10.0)


def cards_of(results: list[dict]) -> dict[str, Card]:
    """The card of every question model that a learner's result files speak of, their answers taken
    in the order of their days.
    """
    # those of one day in the order in which they were given
    answers = sorted(
        ((a["on"], n, a) for r in results for n, a in enumerate(r.get("answers", []))),
        key=lambda answer: answer[:2],
    )
    out: dict[str, Card] = {}
    for on, _, answer in answers:
        model = str(answer["question"]).split(":")[0]
        card = out.get(model, Card())
        out[model] = card.review(bool(answer["right"]), datetime.date.fromisoformat(on))
    return out


def due(cards: dict[str, Card], on: datetime.date) -> list[str]:
    """The models to practise on a day, the least known first."""
    ready = [name for name, card in cards.items() if card.due is not None and card.due <= on]
    return sorted(ready, key=lambda name: (cards[name].known(on), name))
