"""Those who know nothing of the trade and much of tests: what each would choose of a question, and
how often that is right, against chance.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from whywire.engine.teaching.questions import Instance

NUMBER = re.compile(r"\d[\d,]*(?:\.\d+)?(?:-\d+/\d+|/\d+)?")
Guess = set[int]  # the places of the options among which a guesser is undecided


def numbers(text: str) -> list[float]:
    """The numbers of a text, a fraction as written by the trade: 1-1/4 is one and a quarter."""
    out = []
    for said in NUMBER.findall(text):
        whole, _, part = said.replace(",", "").rpartition("-")
        top, _, below = part.partition("/")
        value = float(top) / float(below) if below and float(below) else float(top)
        out.append(value + (float(whole) if whole else 0))
    return out


def words(text: str) -> set[str]:
    """What a stem and an option could have in common: words of four letters, and numbers."""
    return set(re.findall(r"[a-z]{4,}|\d[\d.,/]*", text.lower()))


def best(scores: list[float]) -> Guess:
    """Those that score highest."""
    return {i for i, score in enumerate(scores) if score == max(scores)}


def those(texts: list[str], like: Callable[[str], bool]) -> Guess:
    """Those that are *like* something; all, where none is."""
    return {i for i, text in enumerate(texts) if like(text)} or {*range(len(texts))}


def odd_one(features: list) -> Guess:
    """The one that differs where all others are alike; all, where there is none."""
    counts = Counter(features)
    alone = [i for i, feature in enumerate(features) if counts[feature] == 1]
    return {*alone} if len(counts) == 2 and len(alone) == 1 else {*range(len(features))}


def by_size(texts: list[str], sign: int) -> Guess:
    """The smallest or the largest, where each option begins with one number or ends in one."""
    found = [numbers(text) for text in texts]
    if not all(found):
        return {*range(len(texts))}
    return best([sign * each[-1] for each in found])


def most_like(texts: list[str]) -> Guess:
    """The one that shares most with the others: wrong options are often made from the key."""
    own = [words(text) | set(re.findall(r"[a-z]+", text.lower())) for text in texts]
    return best(
        [
            sum(len(a & b) for j, b in enumerate(own) if j != i) / len(a or {1})
            for i, a in enumerate(own)
        ]
    )


def form_of(text: str) -> str:
    """How an option is written: its words without its numbers."""
    return NUMBER.sub("#", text)


GUESSERS: dict[str, Callable[[str, list[str], int], Guess]] = {
    "longest": lambda stem, texts, last: best([len(t) for t in texts]),
    "shortest": lambda stem, texts, last: best([-len(t) for t in texts]),
    "first": lambda stem, texts, last: {0},
    "last": lambda stem, texts, last: {len(texts) - 1},
    "middle": lambda stem, texts, last: {(len(texts) - 1) // 2, len(texts) // 2},
    "smallest": lambda stem, texts, last: by_size(texts, -1),
    "largest": lambda stem, texts, last: by_size(texts, 1),
    "odd one out": lambda stem, texts, last: odd_one([form_of(t) for t in texts]),
    "odd first word": lambda stem, texts, last: odd_one([re.split(r"\W", t)[0] for t in texts]),
    "only one with a number": lambda stem, texts, last: odd_one([bool(numbers(t)) for t in texts]),
    "Yes": lambda stem, texts, last: those(texts, lambda t: t.startswith("Yes")),
    "No": lambda stem, texts, last: those(texts, lambda t: t.startswith(("No:", "No.", "None"))),
    "the last key": lambda stem, texts, last: {min(last, len(texts) - 1)},
    "not the last key": lambda stem, texts, last: {*range(len(texts))} - {last},
    "a word of the stem": lambda stem, texts, last: best(
        [len(words(t) & words(stem)) for t in texts]
    ),
    "no word of the stem": lambda stem, texts, last: best(
        [-len(words(t) & words(stem)) for t in texts]
    ),
    "most like the others": lambda stem, texts, last: most_like(texts),
    "nothing more": lambda stem, texts, last: those(texts, lambda t: "othing" in t),
}


@dataclass
class Score:
    """What a guesser had right, against what chance gives."""

    asked: int = 0  # questions in which it was not undecided between all
    got: float = 0
    chance: float = 0
    variance: float = 0

    @property
    def sigmas(self) -> float:
        """How many standard deviations it is from chance."""
        return (self.got - self.chance) / math.sqrt(self.variance) if self.variance else 0.0

    def add(self, guess: Guess, right: Guess, among: int) -> None:
        """One question of *among* options: one of those guessed is taken at random."""
        undecided, hits = len(guess), len(right)
        if undecided == among:
            return
        chance = hits / among
        self.asked += 1
        self.got += len(guess & right) / undecided
        self.chance += chance
        # drawing without putting back: what the mean of those guessed varies by
        self.variance += chance * (1 - chance) / undecided * (among - undecided) / max(1, among - 1)


def scored(questions: Iterable[Instance], name: str) -> Score:
    """How one guesser does on *questions* that are answered by choosing."""
    out, last = Score(), 0
    for question in questions:
        texts = [option.text for option in question.options]
        right = {i for i, option in enumerate(question.options) if option.right}
        if len(right) == len(texts):
            continue
        out.add(GUESSERS[name](question.stem, texts, last), right, len(texts))
        last = min(right)
    return out


def table(questions: list[Instance]) -> str:
    """The bench as a table: each guesser, how often it guessed, right, by chance, apart."""
    lines = [f"{'guesser':24}{'guessed':>9}{'right':>9}{'chance':>9}{'sigma':>8}"]
    for name in GUESSERS:
        s = scored(questions, name)
        share, by_chance = (x / s.asked if s.asked else 0.0 for x in (s.got, s.chance))
        lines.append(f"{name:24}{s.asked:9}{share:9.1%}{by_chance:9.1%}{s.sigmas:8.2f}")
    return "\n".join(lines)
