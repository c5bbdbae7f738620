"""Which belief made a wrong answer: of one number, of one learner over several questions, of a
class.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field
from itertools import combinations

from ..basics.errors import Fault, Place
from ..basics.units import parse_quantity, unit_of
from .instances import Instance, Maker
from .models import Model
from .quiz import picks_several

SLIP = 0.1  # how often a learner errs without any belief: taken, not measured
# how likely a learner is taken, before any answer, to hold one belief; two are as much rarer again
RARE = 0.02
LEAST_CHOSEN = 0.05


def typed(q: Instance, text: str):
    """A learner's answer as a value: an option's letter, a number with or without its unit, a size.
    Raises Fault.
    """
    said = text.strip()
    if picks_several(q):
        letters = [c for c in said.upper() if c.isalpha()]
        if not letters or any(c not in "ABCDEFGH"[: len(q.options)] for c in letters):
            raise Fault(
                "not-an-answer",
                Place(q.name),
                f'"{said}" is no answer here',
                "write the letters of all that apply, as in A C",
            )
        return tuple(o.value for c, o in zip("ABCDEFGH", q.options) if c in letters)
    if len(said) == 1 and said.upper() in "ABCDEFGH"[: len(q.options)] and q.options:
        return q.options["ABCDEFGH".index(said.upper())].value
    if isinstance(q.key.value, (str, tuple)) or not q.unit:
        low = {o.text.lower().rstrip("."): o.value for o in q.options}
        if said.lower().rstrip(".") in low:
            return low[said.lower().rstrip(".")]
        number = said.removeprefix("#").removeprefix("No. ")
        if (
            isinstance(q.key.value, str)
            and "AWG" in q.key.text
            and number.replace("/0", "").isdigit()
        ):
            return f"{number} AWG"
        if isinstance(q.key.value, str) and q.model.kind in ("asks", "under"):
            return said
        raise Fault(
            "not-an-answer",
            Place(q.name),
            f'"{said}" is no answer here',
            "write the letter of an option",
        )
    return parse_quantity(
        said, q.unit, Place("answer"), bare=unit_of(said.lstrip("0123456789.,/- ")) is None
    )[0]


def same(q: Instance, a, b) -> bool:
    """Whether two values are one answer, equal as they are shown."""
    return q.same(a, b)


def foretold(maker: Maker, q: Instance, *beliefs: str) -> list:
    """What somebody who holds those beliefs would answer: values any of which fits; [] where that
    cannot be told.
    """
    return maker.chooses(q, *beliefs)


def diagnose(maker: Maker, q: Instance, value) -> list[tuple[str, ...]]:
    """The beliefs that yield *value* on the facts of *q*; pairs of them where no single one does;
    none known: [].
    """
    if q.model.kind == "order" or same(q, value, q.key.value):
        return []

    def yields(*names: str) -> bool:
        return any(same(q, v, value) for v in foretold(maker, q, *names))

    names = maker.relevant(q.model)
    alone = [(n,) for n in names if yields(n)]
    return alone or [pair for pair in combinations(names, 2) if yields(*pair)]


@dataclass
class Learner:
    """What a learner's answers say of the beliefs held: Bayes' rule over none, each single one and
    pairs of those that are not ruled out.

    A pair answers as its two beliefs make the rules together, which is not the one or the other.
    """

    maker: Maker
    seen: list[tuple[Instance, object]] = field(default_factory=list)
    # belief(s) -> how likely each answer was for who holds them
    _alone: dict[tuple, list[float]] = field(default_factory=dict)

    @property
    def asked(self) -> int:
        return len(self.seen)

    def saw(self, q: Instance, value) -> None:
        """Take note of one answer."""
        self.seen.append((q, value))
        for held in [
            *self._alone,
            *((n,) for n in self.maker.relevant(q.model) if (n,) not in self._alone),
        ]:
            self._note(held)

    def _note(self, held: tuple) -> list[float]:
        """How likely each answer so far was for somebody who holds *held*, reckoned as far as it
        was not yet.
        """
        got = self._alone.setdefault(held, [])
        for q, value in self.seen[len(got) :]:
            names = tuple(n for n in held if n in self.maker.relevant(q.model))
            got.append(self._likely(q, value, names))
        return got

    def _likely(self, q: Instance, value, names: tuple) -> float:
        would = foretold(self.maker, q, *names) if names else [q.key.value]
        if not would:  # who cannot tell guesses
            return 1 / max(2, len(q.options))
        others = max(1, len(q.options) - len(would))
        return (1 - SLIP) / len(would) if any(same(q, v, value) for v in would) else SLIP / others

    def likelihoods(self) -> dict[tuple, float]:
        """How likely each set of beliefs is, after all answers; () is holding none. They add up to
        one.
        """

        def score(held: tuple) -> float:
            return sum(map(math.log, self._note(held))) + len(held) * math.log(RARE)

        scores = {
            (): score(()),
            **{held: score(held) for held in list(self._alone) if len(held) == 1},
        }
        likely = sorted((h for h in scores if h), key=lambda h: (-scores[h], h))[:12]
        for a, b in combinations([h[0] for h in likely], 2):
            scores[tuple(sorted((a, b)))] = score(tuple(sorted((a, b))))
        top = max(scores.values())
        weights = {h: math.exp(s - top) for h, s in scores.items()}
        total = sum(weights.values())
        return {h: v / total for h, v in weights.items()}

    def named(self, most: int = 2) -> list[str]:
        """The beliefs that are likelier held than not, the likeliest first."""
        held: Counter = Counter()
        for h, p in self.likelihoods().items():
            for n in h:
                held[n] += p
        return [n for n, p in sorted(held.items(), key=lambda t: (-t[1], t[0])) if p > 0.5][:most]

    def next(self, models: list[Model], rng, tries: int = 6) -> Instance | None:
        """The question whose answer tells most apart what may still be held, of a few that could be
        asked.
        """
        chances = self.likelihoods() if self.seen else {}
        open_ = [h for h, p in sorted(chances.items(), key=lambda t: (-t[1], t[0])) if p > 0.01][:6]
        best, most = None, 0.0
        about = {n for h in open_ for n in h}
        fit = (
            [
                m
                for m in models
                if m.kind not in ("order", "under") and about & set(self.maker.relevant(m))
            ]
            if about
            else []
        )
        rng.shuffle(fit)
        for m in fit[:tries]:
            q = self.maker.instance(
                m,
                rng.randrange(1, 10**6),
                None,
                rng.choice(sorted(about & set(self.maker.relevant(m)))),
            )
            if q is None:
                continue
            parts: list[list] = []  # an answer, and how likely it is
            for h in open_:
                names = tuple(n for n in h if n in self.maker.relevant(q.model))
                v = next(iter(foretold(self.maker, q, *names) if names else [q.key.value]), None)
                part = next(
                    (
                        p
                        for p in parts
                        if p[0] is v or v is not None and p[0] is not None and same(q, p[0], v)
                    ),
                    None,
                )
                if part is None:
                    parts.append(part := [v, 0.0])
                part[1] += chances[h]
            gain = -sum(p * math.log(p) for _, p in parts if p > 0)
            if gain > most:
                best, most = q, gain
        return best


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
