"""A quiz: instances chosen by room, difficulty, kind or belief, from one seed, with what was in
force when it was made.
"""

from __future__ import annotations

import hashlib
import random
from dataclasses import dataclass, field

from ..basics.errors import Fault, Place, suggest
from ..language.knowledge import Knowledge
from ..language.words import as_list
from ..running.job import read_job
from .fairness import other_readings
from .instances import Instance, Maker
from .models import Model

CAUTION = (
    "A quiz teaches; it approves nothing. Local code, the manufacturer's instructions and the"
    " authority having jurisdiction decide, and licensed people do the work. Dead until tested"
    " dead."
)
# kinds that are answered with several options, so that no place is the key's
SEVERAL = (
    "findings",
    "order",
)


@dataclass
class Quiz:
    """Questions with the law they were made under."""

    title: str
    seed: int
    law: dict  # edition, packs, place, date, digest: printed on every paper
    questions: list[Instance] = field(default_factory=list)

    @property
    def digest(self) -> str:
        """Which quiz this is: its questions and what was in force."""
        said = "\n".join([str(self.law.get("digest", "")), *(q.name for q in self.questions)])
        return hashlib.sha256(said.encode()).hexdigest()[:12]


def make(
    maker: Maker,
    models: dict[str, Model],
    number: int,
    seed: int,
    law: dict,
    rooms=(),
    kinds=(),
    difficulty: int = 0,
    belief: str = "",
    title: str = "",
) -> Quiz:
    """*number* questions from *seed*. Raises Fault where nothing answers to what was asked for."""
    for said, known, what in (
        (rooms, {m.room for m in models.values()}, "room"),
        (kinds, {m.kind for m in models.values()}, "kind"),
    ):
        for r in said:
            if r not in known:
                raise Fault(
                    "no-such-question",
                    Place("quiz"),
                    f'no question is of the {what} "{r}"',
                    suggest(r, known),
                )
    if belief and belief not in maker.beliefs:
        raise Fault(
            "no-such-belief",
            Place("quiz"),
            f'no belief is called "{belief}"',
            suggest(belief, maker.beliefs),
        )
    pool = sorted(
        (
            m
            for m in models.values()
            if (not rooms or m.room in rooms)
            and (not kinds or m.kind in kinds)
            and (not difficulty or m.difficulty == difficulty)
            and (not belief or belief in maker.relevant(m) and m.kind != "order")
            and (m.kind != "under" or maker.there is not None)
        ),
        key=lambda m: m.name,
    )
    if not pool:
        raise Fault(
            "no-such-question",
            Place("quiz"),
            "no question answers to all that was asked for",
            "ask for less: fewer rooms, kinds or a difficulty less",
        )
    rng = random.Random(f"quiz:{seed}")
    quiz, seen, line = Quiz(title or "What does the job require?", seed, law), set(), []
    missed, cannot = 0, set()
    while len(quiz.questions) < number and missed < 50 + 10 * number:
        place = rng.randrange(4)
        if not line:
            line = pool[:]
            rng.shuffle(line)
        made = None
        for m in [*line]:  # the next in line whose key can stand there
            n, at = (
                rng.randrange(1, 1_000_000),
                place if m.kind not in SEVERAL and "findings" not in m.d else None,
            )
            if (m.name, at) in cannot:
                continue
            made = maker.instance(m, n, at, belief)
            if made is None:
                cannot.add((m.name, at))
            if (
                made is not None
                and (m.name, tuple(made.facts.items())) not in seen
                and not other_readings(maker, made)
            ):
                line.remove(m)
                break
            made = None
        if made is None:
            missed += 1
            line = []
            continue
        seen.add((made.model.name, tuple(made.facts.items())))
        quiz.questions.append(made)
    if len(quiz.questions) < number:
        raise Fault(
            "too-few-questions",
            Place("quiz"),
            f"only {len(quiz.questions)} different questions come of this",
            f"ask for {len(quiz.questions)}, or for more rooms",
        )
    return quiz


# ---- what a question says of itself --------------------------------------------------------------


def letter(i: int) -> str:
    return "ABCDEFGH"[i]


def right(q: Instance) -> list[int]:
    """The places of the options that are right: one, or all that fail."""
    return [i for i, o in enumerate(q.options) if o.right]


def picks_several(q: Instance) -> bool:
    """Whether all that apply are to be picked."""
    return "findings" in q.model.d


def explained(maker: Maker, q: Instance) -> dict:
    """Why the key is right and each wrong option is wrong, with the rule and its section; and who
    leaves a right one out.
    """
    k = maker.there.k if q.model.kind == "under" else maker.k
    asked = next(
        (
            str(as_list(q.model.d[kind])[0])
            for kind in ("judges", "missing", "mends")
            if kind in q.model.d
        ),
        "",
    )
    rule = (
        q.model.rule
        or (str(q.key.value) if isinstance(q.key.value, str) and q.key.value in k.rules else "")
        or asked.partition(" on ")[0]
    )
    d = k.rules[rule].d if rule in k.rules else {}
    wrong = []
    for i, o in enumerate(q.options):
        if o.right and not o.missed and not o.says:
            continue
        b = maker.beliefs.get(o.belief or o.missed)
        wrong.append(
            {
                "option": letter(i),
                "text": o.text,
                "right": o.right,
                "belief": b.name if b else "",
                "says": b.says if b else o.says,
                "held because": b.held_because if b else "",
                "corrected": b.corrected if b else "",
                "rule": b.offends if b else "",
            }
        )
    sections = [
        {
            "option": letter(i),
            "rule": o.value,
            "says": k.rules[o.value].said,
            "section": _section(k, q, o.value),
        }
        for i, o in enumerate(q.options)
        if o.right and isinstance(o.value, str) and o.value in k.rules and o.value != rule
    ]
    return {
        "rule": rule,
        "says": k.rules[rule].said if rule in k.rules else "",
        "section": _section(k, q, rule) if d else "",
        "because": str(d.get("because", "")),
        "sections": sections,
        "wrong": wrong,
    }


def _section(k: Knowledge, q: Instance, rule: str) -> str:
    """The section of a rule, for the things the question is about where sections differ."""
    r = k.rules[rule]
    said = (
        {r.section(k.edition, x) for x in read_job(q.body, k, "question").by_kind[r.about]}
        if r.cited_by is not None
        else set()
    )
    return (said.pop() if len(said) == 1 else r.section(k.edition)) or ""


def as_plain(maker: Maker, q: Instance) -> dict:
    """One question as plain data."""
    return {
        "question": q.name,
        "model": q.model.name,
        "room": q.model.room,
        "kind": q.model.kind,
        "difficulty": q.model.difficulty,
        "stem": q.stem,
        "facts": q.facts,
        "options": [
            {"text": o.text, "belief": o.belief, "left out by": o.missed} for o in q.options
        ],
        "right": (
            right(q) if q.model.kind != "order" else [q.key.value.index(o.value) for o in q.options]
        ),
        "key": q.key.text,
        "unit": q.unit,
        **{"explained": explained(maker, q)},
    }


def quiz_as_plain(maker: Maker, quiz: Quiz) -> dict:
    """The quiz as plain data: what `whywire quiz take` reads."""
    return {
        "quiz": quiz.title,
        "seed": quiz.seed,
        "digest": quiz.digest,
        "law": quiz.law,
        "caution": CAUTION,
        "questions": [as_plain(maker, q) for q in quiz.questions],
    }
