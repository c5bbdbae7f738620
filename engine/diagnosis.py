"""Which belief made a wrong answer: of one number, of one learner over several questions, of a class."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field
from itertools import combinations

from .chain import OFF, PASSES, SET_ASIDE, TELL
from .errors import Fault, Place
from .models import Instance, Maker, Model, Trial, text_of
from .units import parse_quantity, unit_of

SLIP = 0.1       # how often a learner errs without any belief: taken, not measured
LEAST_CHOSEN = 0.05


def typed(q: Instance, text: str):
    """A learner's answer as a value: an option's letter, a number with or without its unit, a size. Raises Fault."""
    said = text.strip()
    if len(said) == 1 and said.upper() in "ABCDEFGH"[: len(q.options)] and q.options:
        return q.options["ABCDEFGH".index(said.upper())].value
    if isinstance(q.key.value, str):
        low = {o.text.lower().rstrip("."): o.value for o in q.options}
        low |= {"yes": PASSES, "no": "fails"} if q.model.kind == "judges" else {}
        if said.lower().rstrip(".") in low:
            return low[said.lower().rstrip(".")]
        number = said.removeprefix("#").removeprefix("No. ")
        return f"{number} AWG" if number.replace("/0", "").isdigit() and "AWG" in q.key.text else said
    if not q.unit:
        raise Fault("not-an-answer", Place(q.name), f'"{said}" is no answer here', "write the letter of an option")
    return parse_quantity(said, q.unit, Place("answer"), bare=unit_of(said.lstrip("0123456789.,/- ")) is None)[0]


def same(q: Instance, a, b) -> bool:
    """Whether two values are one answer: equal as they are shown, so that nobody errs by a digit that is not asked for."""
    return a == b or text_of(a, q.unit) == text_of(b, q.unit)


def under(maker: Maker, q: Instance, *beliefs: str):
    """The value of a question as those beliefs make it; None where they make none."""
    k = maker.held(*beliefs)
    return None if k is None else maker.value(q.model, Trial(maker.k, q.body), k)[0]


def diagnose(maker: Maker, q: Instance, value) -> list[tuple[str, ...]]:
    """The beliefs that yield *value* on the facts of *q*; pairs of them where no single one does; none known: []."""
    if q.model.kind not in ("asks", "judges") or same(q, value, q.key.value):
        return []
    names = maker.relevant(q.model)
    alone = [(n,) for n in names if (v := under(maker, q, n)) is not None and same(q, v, value)]
    return alone or [pair for pair in combinations(names, 2) if (v := under(maker, q, *pair)) is not None and same(q, v, value)]


@dataclass
class Learner:
    """What a learner's answers say of the beliefs held: a plain Bayes count over single beliefs and pairs."""

    maker: Maker
    scores: Counter = field(default_factory=Counter)     # belief(s) -> log of how much better they explain than slips do
    asked: int = 0

    def saw(self, q: Instance, value) -> None:
        """Take note of one answer."""
        self.asked += 1
        right = same(q, value, q.key.value)
        for n in self.maker.relevant(q.model):
            v = under(self.maker, q, n)
            if v is None or v in (OFF, TELL):
                continue
            foreseen = same(q, v, value)
            differs = not same(q, v, q.key.value)
            if differs:   # a belief that foretells another answer than the key is borne out, or spoken against
                self.scores[n] += math.log((1 - SLIP) / (SLIP / 3)) if foreseen else math.log(SLIP / (1 - SLIP)) if right else math.log(SLIP * 2)

    def named(self, most: int = 2) -> list[str]:
        """The beliefs that explain the answers better than slips would, the likeliest first."""
        return [n for n, s in sorted(self.scores.items(), key=lambda p: (-p[1], p[0])) if s > 0][:most]

    def next(self, models: list[Model], rng) -> Instance | None:
        """The question that tells most apart what is still open: about the likeliest belief not yet settled, else anything new."""
        open_ = [n for n, s in sorted(self.scores.items(), key=lambda p: (-p[1], p[0])) if 0 < s < 5]
        for n in open_[:2]:
            fit = [m for m in models if m.kind in ("asks", "judges") and n in self.maker.relevant(m)]
            rng.shuffle(fit)
            for m in fit[:3]:
                if (q := self.maker.instance(m, rng.randrange(1, 10**6), None, n)) is not None:
                    return q
        return None


# ---- a class ----------------------------------------------------------------------------------------------------------

def of_class(results: list[dict]) -> dict:
    """What the results of a class say: beliefs, rules nobody got right, options nobody chose, how hard each question was.

    *results* are the files of `whywire quiz take`. Difficulty is the share of wrong answers among those given, with
    how many there were: with few it says little, and so it is told.
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
    unchosen = {q: [t for t in texts[q] if options[q][t] / len(given[q]) < LEAST_CHOSEN] for q in given if len(given[q]) >= 20}
    return {"learners": len(results), "beliefs": beliefs.most_common(), "nobody right": sorted(r for r, xs in rules.items() if r and not any(xs)),
            "hardly chosen": {q: ts for q, ts in unchosen.items() if ts},
            "difficulty": {q: {"wrong": len(xs) - sum(xs), "of": len(xs), "share": round(1 - sum(xs) / len(xs), 2), "rests on": f"{len(xs)} answers" + ("" if len(xs) >= 20 else ", too few to say much")} for q, xs in sorted(given.items())}}


__all__ = ["diagnose", "typed", "same", "under", "Learner", "of_class", "SET_ASIDE"]
