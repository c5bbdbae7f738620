"""Which belief made a wrong answer: of one number, of one learner over several questions, of a
class.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from dataclasses import dataclass, field
from itertools import combinations
from typing import TypeAlias

from ..basics.errors import Fault, Place
from ..basics.units import parse_quantity, unit_of
from .asked import Model
from .instances import Maker
from .kinds.registry import kind_asked
from .questions import Instance, Value
from .quiz import picks_several

Beliefs: TypeAlias = tuple[str, ...]  # held together; () is holding none

SLIP = 0.1  # how often a learner errs without any belief: taken, not measured
# how likely a learner is taken, before any answer, to hold one belief; two are as much rarer again
RARE = 0.02
LEAST_CHOSEN = 0.05


LETTERS = "ABCDEFGH"  # of the options, in their order


def typed(q: Instance, text: str) -> Value:
    """A learner's answer as a value: an option's letter, a number with or without its unit, a size.

    Raises:
        Fault: *text* is no answer to this question.
    """
    said = text.strip()
    letters = LETTERS[: len(q.options)]
    if picks_several(q):
        return _all_that_apply(q, said, letters)
    if len(said) == 1 and said.upper() in letters:
        return q.options[letters.index(said.upper())].value
    if isinstance(q.key.value, (str, tuple)) or not q.unit:
        return _in_words(q, said)
    number_alone = unit_of(said.lstrip("0123456789.,/- ")) is None
    return parse_quantity(said, q.unit, Place("answer"), bare=number_alone)[0]


def _all_that_apply(q: Instance, said: str, letters: str) -> tuple[Value, ...]:
    """Several letters, in whatever way they are written."""
    chosen = [c for c in said.upper() if c.isalpha()]
    if not chosen or any(c not in letters for c in chosen):
        raise _no_answer(q, said, "write the letters of all that apply, as in A C")
    return tuple(option.value for c, option in zip(LETTERS, q.options) if c in chosen)


def _in_words(q: Instance, said: str) -> Value:
    """An option in its own words, or a size as one says it: 6, #6, No. 6."""
    options = {option.text.lower().rstrip("."): option.value for option in q.options}
    words = said.lower().rstrip(".")
    if words in options:
        return options[words]
    if isinstance(q.key.value, str):
        number = said.removeprefix("#").removeprefix("No. ")
        if "AWG" in q.key.text and number.replace("/0", "").isdigit():
            return f"{number} AWG"
        if kind_asked(q.model).takes_a_value:
            return said
    raise _no_answer(q, said, "write the letter of an option")


def _no_answer(q: Instance, said: str, todo: str) -> Fault:
    return Fault("not-an-answer", Place(q.name), f'"{said}" is no answer here', todo)


def same(q: Instance, a: Value, b: Value) -> bool:
    """Whether two values are one answer, equal as they are shown."""
    return q.same(a, b)


def foretold(maker: Maker, q: Instance, *beliefs: str) -> list[Value]:
    """What somebody who holds those beliefs would answer: values any of which fits; [] where that
    cannot be told.
    """
    return maker.chooses(q, *beliefs)


def diagnose(maker: Maker, q: Instance, value: Value) -> list[tuple[str, ...]]:
    """The beliefs that yield *value* on the facts of *q*; pairs of them where no single one does;
    none known: [].
    """
    if kind_asked(q.model).is_ordered or same(q, value, q.key.value):
        return []

    def yields(*names: str) -> bool:
        return any(same(q, v, value) for v in foretold(maker, q, *names))

    names = maker.relevant(q.model)
    alone: list[tuple[str, ...]] = [(name,) for name in names if yields(name)]
    return alone or [pair for pair in combinations(names, 2) if yields(*pair)]


@dataclass
class Learner:
    """What a learner's answers say of the beliefs held: Bayes' rule over none, each single one and
    pairs of those that are not ruled out.

    A pair answers as its two beliefs make the rules together, which is not the one or the other.
    """

    maker: Maker
    seen: list[tuple[Instance, Value]] = field(default_factory=list)
    # belief(s) -> how likely each answer was for who holds them
    _alone: dict[Beliefs, list[float]] = field(default_factory=dict)

    @property
    def asked(self) -> int:
        return len(self.seen)

    def saw(self, q: Instance, value: Value) -> None:
        """Take note of one answer."""
        self.seen.append((q, value))
        relevant: list[Beliefs] = [(name,) for name in self.maker.relevant(q.model)]
        for held in [*self._alone, *(one for one in relevant if one not in self._alone)]:
            self._note(held)

    def _note(self, held: Beliefs) -> list[float]:
        """How likely each answer so far was for somebody who holds *held*, reckoned as far as it
        was not yet.
        """
        got = self._alone.setdefault(held, [])
        for q, value in self.seen[len(got) :]:
            got.append(self._likely(q, value, held))
        return got

    def _would(self, q: Instance, held: Beliefs) -> list[Value]:
        """What somebody who holds *held* would answer, as far as it bears on the question."""
        relevant = self.maker.relevant(q.model)
        names = [name for name in held if name in relevant]
        return foretold(self.maker, q, *names) if names else [q.key.value]

    def _likely(self, q: Instance, value: Value, held: Beliefs) -> float:
        would = self._would(q, held)
        # who cannot tell guesses
        if not would:
            return 1 / max(2, len(q.options))
        others = max(1, len(q.options) - len(would))
        return (1 - SLIP) / len(would) if any(same(q, v, value) for v in would) else SLIP / others

    def likelihoods(self) -> dict[Beliefs, float]:
        """How likely each set of beliefs is, after all answers; () is holding none. They add up to
        one.
        """

        def score(held: Beliefs) -> float:
            return sum(map(math.log, self._note(held))) + len(held) * math.log(RARE)

        scores: dict[Beliefs, float] = {(): score(())}
        scores |= {held: score(held) for held in list(self._alone) if len(held) == 1}
        likely = sorted((h for h in scores if h), key=lambda h: (-scores[h], h))[:12]
        for a, b in combinations([h[0] for h in likely], 2):
            scores[tuple(sorted((a, b)))] = score(tuple(sorted((a, b))))
        top = max(scores.values())
        weights = {h: math.exp(s - top) for h, s in scores.items()}
        total = sum(weights.values())
        return {h: v / total for h, v in weights.items()}

    def named(self, most: int = 2) -> list[str]:
        """The beliefs that are likelier held than not, the likeliest first."""
        likely: dict[str, float] = {}
        for held, chance in self.likelihoods().items():
            for name in held:
                likely[name] = likely.get(name, 0) + chance
        in_turn = sorted(likely.items(), key=lambda item: (-item[1], item[0]))
        return [name for name, chance in in_turn if chance > 0.5][:most]

    def next(self, models: list[Model], rng: random.Random, tries: int = 6) -> Instance | None:
        """The question whose answer tells most apart what may still be held, of a few that could be
        asked.
        """
        chances = self._still_likely()
        about = {name for held in chances for name in held}
        fit = [m for m in models if about and self._is_about(m, about)]
        rng.shuffle(fit)
        best, most = None, 0.0
        for m in fit[:tries]:
            seed = rng.randrange(1, 10**6)
            belief = rng.choice(sorted(about & set(self.maker.relevant(m))))
            q = self.maker.instance(m, seed, None, belief)
            gain = 0.0 if q is None else self._tells_apart(q, chances)
            if gain > most:
                best, most = q, gain
        return best

    def _still_likely(self) -> dict[Beliefs, float]:
        """The few sets of beliefs that may still be held, the likeliest first."""
        if not self.seen:
            return {}
        in_turn = sorted(self.likelihoods().items(), key=lambda item: (-item[1], item[0]))
        return dict([item for item in in_turn if item[1] > 0.01][:6])

    def _is_about(self, m: Model, beliefs: set[str]) -> bool:
        """Whether a model has an option that one of *beliefs* makes under the law at hand."""
        return kind_asked(m).believed and not beliefs.isdisjoint(self.maker.relevant(m))

    def _tells_apart(self, q: Instance, chances: dict[Beliefs, float]) -> float:
        """How much the answer to a question is expected to tell, in nats: the entropy of the
        answers.
        """
        answers: list[Value] = []
        likely: list[float] = []
        for held, chance in chances.items():
            answer = next(iter(self._would(q, held)), None)
            same_as = (i for i, other in enumerate(answers) if _one_answer(q, other, answer))
            at = next(same_as, None)
            if at is None:
                answers.append(answer)
                likely.append(chance)
            else:
                likely[at] += chance
        return -sum(p * math.log(p) for p in likely if p > 0)


def _one_answer(q: Instance, a: Value, b: Value) -> bool:
    """Whether two answers are one; None is that of who cannot tell."""
    return a is b or (a is not None and b is not None and same(q, a, b))


# ---- a class -------------------------------------------------------------------------------------


def of_class(results: list[dict]) -> dict:
    """What the results of a class say: beliefs, rules nobody got right, options nobody chose, how
    hard each question was.

    *results* are the files of `whywire quiz take`. Difficulty is the share of wrong answers among
    those given, with how many there were: with few it says little, and so it is told.
    """
    beliefs: Counter = Counter()
    given: dict[str, list] = {}
    options: dict[str, Counter] = {}
    rules: dict[str, list] = {}
    texts: dict[str, list] = {}
    for r in results:
        for a in r.get("answers", []):
            q = a["question"]
            given.setdefault(q, []).append(a["right"])
            rules.setdefault(a.get("rule", ""), []).append(a["right"])
            texts.setdefault(q, a.get("options", []))
            options.setdefault(q, Counter())[a.get("chosen", "")] += 1
            for b in a.get("beliefs", []):
                beliefs[b] += 1
    unchosen = {
        q: [t for t in texts[q] if options[q][t] / len(given[q]) < LEAST_CHOSEN]
        for q in given
        if len(given[q]) >= 20
    }
    return {
        "learners": len(results),
        "beliefs": beliefs.most_common(),
        "nobody right": sorted(r for r, xs in rules.items() if r and not any(xs)),
        "hardly chosen": {q: ts for q, ts in unchosen.items() if ts},
        "difficulty": {
            q: {
                "wrong": len(xs) - sum(xs),
                "of": len(xs),
                "share": round(1 - sum(xs) / len(xs), 2),
                "rests on": (
                    f"{len(xs)} answers" + ("" if len(xs) >= 20 else ", too few to say much")
                ),
            }
            for q, xs in sorted(given.items())
        },
    }


__all__ = ["Learner", "diagnose", "foretold", "of_class", "same", "typed"]
