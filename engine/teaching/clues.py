"""What a question gives away to somebody who knows tests and not the trade, and a paper drawn so
that it gives away nothing.

A key that is more often the longest option, or says "Yes", or repeats a word of the stem, is found
without knowing anything. Of each question it is drawn which of its options might as well be the
key; what stands on the paper in its place is a question whose key shows the same clues as that
option. So a clue leads to the key as often as chance has it, and no less often either.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Collection
from typing import TypeAlias

from .questions import Instance

Balance: TypeAlias = tuple[float, ...]  # of each clue: how often it led to the key, less chance

NUMBER = re.compile(r"\d[\d,.]*(?:[-/]\d+)*")


def _longest(stem: str, texts: list[str]) -> list[float]:
    return [len(text) for text in texts]


def _shortest(stem: str, texts: list[str]) -> list[float]:
    return [-len(text) for text in texts]


def _says_yes(stem: str, texts: list[str]) -> list[float]:
    return [text.startswith("Yes") for text in texts]


def _says_no(stem: str, texts: list[str]) -> list[float]:
    return [text.startswith(("No:", "No.")) for text in texts]


def _says_nothing(stem: str, texts: list[str]) -> list[float]:
    return [bool(re.match(r"Nothing|None", text)) for text in texts]


def _without_a_number(stem: str, texts: list[str]) -> list[float]:
    return [not NUMBER.search(text) for text in texts]


def _odd_form(stem: str, texts: list[str]) -> list[float]:
    """The one that is written otherwise than all others, where these are written alike."""
    return _alone([NUMBER.sub("#", text) for text in texts])


def _odd_beginning(stem: str, texts: list[str]) -> list[float]:
    return _alone([re.split(r"\W", text)[0] for text in texts])


def _alone(features: list[str]) -> list[float]:
    counts = Counter(features)
    if len(counts) != 2 or min(counts.values()) != 1:
        return [0.0] * len(features)
    return [counts[feature] == 1 for feature in features]


def _of_the_stem(stem: str, texts: list[str]) -> list[float]:
    return [len(_words(text) & _words(stem)) for text in texts]


def _not_of_the_stem(stem: str, texts: list[str]) -> list[float]:
    return [-score for score in _of_the_stem(stem, texts)]


def _like_the_rest(stem: str, texts: list[str]) -> list[float]:
    """How much an option shares with the others: what is made from a key resembles it."""
    own = [set(re.findall(r"[a-z]+|[\d.,/]*\d", text.lower())) for text in texts]
    return [
        sum(len(mine & other) for j, other in enumerate(own) if j != i) / max(1, len(mine))
        for i, mine in enumerate(own)
    ]


def _largest(stem: str, texts: list[str]) -> list[float]:
    numbers = [NUMBER.findall(text) for text in texts]
    if not all(numbers):
        return [0.0] * len(texts)
    return [_value(found[-1]) for found in numbers]


def _smallest(stem: str, texts: list[str]) -> list[float]:
    return [-value for value in _largest(stem, texts)]


def _value(number: str) -> float:
    """A number as written, as far as its size goes: 1-1/4 is one and a quarter."""
    whole, _, part = number.replace(",", "").rstrip(".").rpartition("-")
    top, _, below = part.partition("/")
    share = float(top) / float(below) if below.strip("0") else float(top)
    return share + (float(whole) if whole.replace(".", "").isdigit() else 0.0)


def _words(text: str) -> set[str]:
    return set(re.findall(r"[a-z]{4,}|\d[\d.,/]*", text.lower()))


CLUES: tuple[Callable[[str, list[str]], list[float]], ...] = (
    _longest,
    _shortest,
    _says_yes,
    _says_no,
    _says_nothing,
    _without_a_number,
    _odd_form,
    _odd_beginning,
    _of_the_stem,
    _not_of_the_stem,
    _like_the_rest,
    _largest,
    _smallest,
)
NONE_GIVEN: Balance = (0.0,) * len(CLUES)


def given_away(question: Instance, right: Collection[int]) -> Balance:
    """How far each clue leads to the options at the places *right*, less what chance does."""
    leads = question.kept.get("clues")
    if leads is None:
        texts = [option.text for option in question.options]
        leads = question.kept["clues"] = [_best(clue(question.stem, texts)) for clue in CLUES]
    chance = len(right) / len(question.options)
    return tuple(sum(i in right for i in best) / len(best) - chance for best in leads)


def _best(scores: list[float]) -> list[int]:
    """The places of those that score highest."""
    most = max(scores)
    return [i for i, score in enumerate(scores) if score == most]


def apart(a: Balance, b: Balance) -> float:
    """How far two balances are from each other."""
    return sum((x - y) ** 2 for x, y in zip(a, b))


def plus(a: Balance, b: Balance, sign: int = 1) -> Balance:
    """The two together, or what the first is without the second."""
    return tuple(x + sign * y for x, y in zip(a, b))
