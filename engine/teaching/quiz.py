"""A quiz: instances chosen by room, difficulty, kind or belief, from one seed, with what was in
force when it was made.
"""

from __future__ import annotations

import hashlib
import random
from collections import Counter
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field
from typing import Any

from ..basics.errors import Fault, Place, suggest
from ..language.knowledge import Knowledge
from ..running.job import read_job
from .asked import Model
from .clues import NONE_GIVEN, Balance, apart, given_away, plus
from .fairness import other_readings
from .instances import TRIES, Maker
from .kinds.registry import kind_asked
from .questions import Instance, Option

CAUTION = (
    "A quiz teaches; it approves nothing. Local code, the manufacturer's instructions and the"
    " authority having jurisdiction decide, and licensed people do the work. Dead until tested"
    " dead."
)

MOST_MISSED = 30  # rounds in which nothing came, before no more differences are looked for
ENOUGH = 3  # questions of a model after which its forms are known
MOST_TRIED = 24  # how much is tried for one on the paper: a question that fits counts for four
MOST_KEPT = 40  # of those that were made before, that are looked at
NEAR = 0.05  # how far what a key shows may be from what was drawn for it


@dataclass
class Quiz:
    """Questions with the law they were made under."""

    title: str
    seed: int
    law: dict[str, Any]  # edition, packs, place, date, digest: printed on every paper
    questions: list[Instance] = field(default_factory=list)
    differing: str = ""  # of how many questions the answer differs from another law's, where told

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
    law: dict[str, Any],
    rooms: Collection[str] = (),
    kinds: Collection[str] = (),
    difficulty: int = 0,
    belief: str = "",
    title: str = "",
    beside: tuple[Maker, Collection[str]] | None = None,
) -> Quiz:
    """*number* questions from *seed*. *beside* is a maker under the law that a place's own is laid
    over, and the names of what is asked of both: then most answers are such as differ from it.

    Raises:
        Fault: nothing answers to what was asked for, or fewer questions than *number*.
    """
    _known("room", rooms, {room for m in models.values() for room in m.rooms})
    _known("kind", kinds, {m.kind for m in models.values()})
    if belief and belief not in maker.beliefs:
        raise Fault(
            "no-such-belief",
            Place("quiz"),
            f'no belief is called "{belief}"',
            suggest(belief, maker.beliefs),
        )
    pool = _pool(maker, models, rooms, kinds, difficulty, belief)
    quiz = Quiz(title or "What does the job require?", seed, law)
    rng = random.Random(f"quiz:{seed}")
    drawing = _Drawing(maker, pool, belief, rng)
    if maker.there is not None:
        differing = [m for m in pool if kind_asked(m).needs_another_law]
        apart = _Drawing(maker, differing, belief, rng)
        _add_differing(quiz, apart, number, maker.there.said)
    elif beside is not None:
        differing = [m for m in pool if f"{m.name}-elsewhere" in beside[1]]
        apart = _Drawing(maker, differing, belief, rng, beside[0])
        _add_differing(quiz, apart, number, beside[0].said)
    drawing.seen |= {_draw_of(question) for question in quiz.questions}
    # a pool may have fewer different draws than are asked for: it is given up after some rounds in
    # which nothing came
    _fill(quiz, drawing.question, number, 50 + 10 * number)
    if belief or not quiz.questions:
        # of few models no key can stand wherever a fair paper has it: what there is, is asked
        _fill(quiz, drawing.unmatched, number, MOST_MISSED)
    if maker.there is not None or beside is not None:
        # what differs stands among the rest, and not before it
        rng.shuffle(quiz.questions)
    if len(quiz.questions) < number:
        raise Fault(
            "too-few-questions",
            Place("quiz"),
            f"only {len(quiz.questions)} different questions come of this",
            f"ask for {len(quiz.questions)}, or for more rooms",
        )
    return quiz


def _pool(
    maker: Maker,
    models: dict[str, Model],
    rooms: Collection[str],
    kinds: Collection[str],
    difficulty: int,
    belief: str,
) -> list[Model]:
    """The models that answer to all that was asked for.

    Raises:
        Fault: none does.
    """
    pool = [
        m
        for m in sorted(models.values(), key=lambda m: m.name)
        if _fits(m, rooms, kinds, difficulty) and _can_be_asked(maker, m, belief)
    ]
    if not pool:
        raise Fault(
            "no-such-question",
            Place("quiz"),
            "no question answers to all that was asked for",
            "ask for less: fewer rooms, kinds or a difficulty less",
        )
    return pool


def _fill(quiz: Quiz, draw: Callable[[], Instance | None], number: int, most_missed: int) -> None:
    """Draw questions until there are *number*, or nothing came so many times."""
    missed = 0
    while len(quiz.questions) < number and missed < most_missed:
        made = draw()
        if made is None:
            missed += 1
        else:
            quiz.questions.append(made)


OF_A_COMPARISON = 3, 4  # so many of so many questions of a comparison have another answer elsewhere


def _add_differing(quiz: Quiz, drawing: _Drawing, number: int, elsewhere: str) -> None:
    """The questions whose answer differs under another law: three of four, or as many as are found,
    and then the paper says how many.
    """
    # a model only rests on what is otherwise there: of most no draw comes out otherwise
    drawing.pool = [m for m in drawing.pool if drawing.differs_at_all(m)]
    wanted = -(-number * OF_A_COMPARISON[0] // OF_A_COMPARISON[1])
    if drawing.pool:
        _fill(quiz, drawing.question, wanted, MOST_MISSED)
    found = len(quiz.questions)
    if found < wanted:
        have = "question has" if found == 1 else "questions have"
        quiz.differing = (
            f"{found} of these {number} {have} another answer under {elsewhere}:"
            " no more were found that differ."
        )


def _known(what: str, said: Collection[str], known: set[str]) -> None:
    """See to it that all that was asked for is there."""
    for one in said:
        if one not in known:
            raise Fault(
                "no-such-question",
                Place("quiz"),
                f'no question is of the {what} "{one}"',
                suggest(one, known),
            )


def _fits(m: Model, rooms: Collection[str], kinds: Collection[str], difficulty: int) -> bool:
    """Whether a model is of the rooms, the kinds and the difficulty that were asked for, if any."""
    if (rooms and m.rooms.isdisjoint(rooms)) or (kinds and m.kind not in kinds):
        return False
    return not difficulty or m.difficulty == difficulty


def _can_be_asked(maker: Maker, m: Model, belief: str) -> bool:
    """Whether a model can be asked here, and about a belief where one is to be found out: an order
    of reasons has no option that a belief makes.
    """
    if belief and (belief not in maker.relevant(m) or kind_asked(m).is_ordered):
        return False
    return maker.there is not None or not kind_asked(m).needs_another_law


class _Drawing:
    """Questions drawn from a pool of models: each model in its turn, no draw twice, and none whose
    key shows more than chance has it.
    """

    def __init__(
        self,
        maker: Maker,
        pool: list[Model],
        belief: str,
        rng: random.Random,
        beside: Maker | None = None,
    ) -> None:
        self.maker, self.pool, self.belief, self.rng = maker, pool, belief, rng
        self.beside = beside  # under whose law the answer has to be another, if anybody's
        self.line: list[Model] = []  # those whose turn has not come
        self.seen: set[tuple] = set()  # a model and its facts, that were asked
        self.cannot: set[tuple[str, int | None]] = set()  # a model and a spot, that gave nothing
        # what the questions so far gave away beyond what was drawn for them: set off by the next
        self.owed = {False: NONE_GIVEN, True: NONE_GIVEN}  # of one key, and of all that apply
        # model -> the forms its questions had
        self.forms: dict[str, Counter[tuple]] = {}
        # places of a key that were drawn for a form, and found nothing yet
        self.waiting: dict[tuple, list[int]] = {}
        # made and not asked, by form and place of the key: another may be like one of them
        self.reserve: dict[tuple[tuple, int | None], list[Instance]] = {}

    def question(self) -> Instance | None:
        """A question of the next in line, or of one whose key shows what was drawn for that one;
        None where nothing comes of it.
        """
        first = self._next()
        pattern = self._made(first, None)
        if pattern is None:
            return None
        places = [*range(len(pattern.options))]
        if asks_for_an_order(pattern):
            return self._taken(pattern, first)
        # any of its options might as well be the key, as far as somebody can see who knows nothing
        drawn = self.rng.sample(places, len(right(pattern)))
        waiting = self.waiting.get(_form(pattern))
        if waiting:
            drawn = [waiting.pop()]
        owed = self.owed[picks_several(pattern)]
        wanted = plus(given_away(pattern, drawn), owed, -1)
        spot = None if picks_several(pattern) else 10 * len(places) + drawn[0]
        best = self._nearest(self._like(pattern, spot), wanted)
        if best is None:
            # dropped, a place where few keys can stand would be rarer than chance has it
            if spot is not None:
                self.waiting.setdefault(_form(pattern), []).append(drawn[0])
            return None
        self.owed[picks_several(pattern)] = plus(given_away(best, right(best)), wanted, -1)
        return self._taken(best, first)

    def unmatched(self) -> Instance | None:
        """A question of the next in line, wherever its key stands; None where nothing comes of it
        that cannot be read in another fair way.
        """
        first = self._next()
        made = self._made(first, None)
        return (
            None if made is None or other_readings(self.maker, made) else self._taken(made, first)
        )

    def _next(self) -> Model:
        """The model whose turn it is."""
        if not self.line:
            self.line = self.pool[:]
            self.rng.shuffle(self.line)
        return self.line.pop(0)

    def _differs(self, made: Instance) -> bool:
        """Whether the answer is another one beside; True where nothing is compared."""
        if self.beside is None:
            return True
        other = self.beside.concludes(made.model, made.body)
        return other is not None and not made.same(other, made.key.value)

    def differs_at_all(self, model: Model) -> bool:
        """Whether one of a few draws of a model makes a question here."""
        return self._made(model, None) is not None

    def _nearest(self, questions: Iterator[Instance], wanted: Balance) -> Instance | None:
        """The question whose key shows most nearly what is *wanted*, of those that cannot be read
        in another fair way.
        """
        looked: list[tuple[float, int, Instance]] = []
        for number, made in enumerate(questions):
            far = apart(given_away(made, right(made)), wanted)
            # last, for it runs the question under every other reading
            if far < NEAR and not other_readings(self.maker, made):
                return made
            looked.append((far, number, made))
        near_first = (made for _, _, made in sorted(looked))
        return next((made for made in near_first if not other_readings(self.maker, made)), None)

    def _like(self, pattern: Instance, spot: int | None) -> Iterator[Instance]:
        """Questions with options of the form of *pattern*: its own model's first, then those next
        in line.
        """
        form, tried = _form(pattern), 0
        at = None if spot is None else spot % 10
        for kept in self.reserve.get((form, at), [])[-MOST_KEPT:]:
            if kept.model in self.line or kept.model is pattern.model:
                yield kept
        for model in [pattern.model, pattern.model, *self.line, *self.pool]:
            known = self.forms.setdefault(model.name, Counter())
            # a model that never had options of this form will hardly have them now
            if (known.total() >= ENOUGH and not known[form]) or not self._may(model, spot):
                continue
            made = self._made(model, spot)
            fits = made is not None and _form(made) == form
            if made is not None and fits:
                yield made
            tried += 4 if fits else 1
            if tried >= MOST_TRIED:
                return

    def _may(self, model: Model, spot: int | None) -> bool:
        """Whether a model can be asked for a spot: one that is answered otherwise is not."""
        if _is_placed(model) is not (spot is not None) or kind_asked(model).is_ordered:
            return False
        return self.maker.stands(model, spot, self.belief)

    def _taken(self, made: Instance, turn: Model) -> Instance:
        """*made*, as a question that was asked when it was the *turn* of a model."""
        if made.model in self.line:
            # whose turn it was waits where this one stood
            self.line[self.line.index(made.model)] = turn
        self.seen.add(_draw_of(made))
        place = made.position if _is_placed(made.model) else None
        kept = self.reserve[_form(made), place]
        kept[:] = [each for each in kept if _draw_of(each) not in self.seen]
        return made

    def _made(self, m: Model, spot: int | None) -> Instance | None:
        """A question that was not asked yet, its key at a spot; compared, one that differs."""
        if (m.name, spot) in self.cannot:
            return None
        made = None
        # few draws come out otherwise where two laws differ in a corner
        for _ in range(TRIES if self.beside else 1):
            made = self.maker.instance(m, self.rng.randrange(1, 1_000_000), spot, self.belief)
            if made is None or self._differs(made):
                break
        if made is None or not self._differs(made):
            # another seed would most likely take as long and give as little
            self.cannot.add((m.name, spot))
            return None
        if _draw_of(made) in self.seen:
            return None
        self.forms.setdefault(m.name, Counter())[_form(made)] += 1
        place = made.position if _is_placed(m) else None
        self.reserve.setdefault((_form(made), place), []).append(made)
        return made


def _is_placed(model: Model) -> bool:
    """Whether one option is the key, and has a place."""
    kind = kind_asked(model)
    return not kind.picks_several_of(model) and not kind.is_ordered


def _form(q: Instance) -> tuple:
    """What the options of a question look like, whatever they say: numbers in their order, or
    texts, and how many.
    """
    numbers = all(option.text[:1].isdigit() for option in q.options)
    words = frozenset(option.text.partition(":")[0] for option in q.options)
    yes_or_no = bool(words & {"Yes", "No", "Yes.", "No."})
    return len(q.options), q.asks, numbers, yes_or_no, len(right(q))


def _draw_of(q: Instance) -> tuple:
    """What makes two questions one: the same model with the same facts."""
    return q.model.name, tuple(q.facts.items())


# ---- what a question says of itself --------------------------------------------------------------


def letter(i: int) -> str:
    return "ABCDEFGH"[i]


def right(q: Instance) -> list[int]:
    """The places of the options that are right: one, or all that fail."""
    return [i for i, o in enumerate(q.options) if o.right]


def picks_several(q: Instance) -> bool:
    """Whether all that apply are to be picked."""
    return kind_asked(q.model).picks_several_of(q.model)


def asks_for_an_order(q: Instance) -> bool:
    """Whether the options are put in an order."""
    return kind_asked(q.model).is_ordered


def key_places(q: Instance) -> list[int]:
    """The places of the options that are the answer, in its order where that counts."""
    if not asks_for_an_order(q):
        return right(q)
    key: Any = q.key.value  # what the options are worth, as they rest on each other
    return sorted(range(len(q.options)), key=lambda i: key.index(q.options[i].value))


def explained(maker: Maker, q: Instance) -> dict[str, Any]:
    """Why the key is right and each wrong option is wrong, with the rule and its section; and who
    leaves a right one out.
    """
    k = kind_asked(q.model).law_of(maker).k
    rule = _asked_about(k, q)
    known = k.rules.get(rule)
    return {
        "rule": rule,
        "says": known.said if known else "",
        "section": _section(k, q, rule) if known and known.d else "",
        "because": str(known.d.get("because", "")) if known else "",
        "sections": _sections(k, q, rule),
        "wrong": [
            _wrong(maker, letter(i), option)
            for i, option in enumerate(q.options)
            if not option.right or option.missed or option.says
        ],
    }


def _asked_about(k: Knowledge, q: Instance) -> str:
    """The rule that a question is about: its model says which, or its key is one, or it is judged,
    mended or missing something.
    """
    if q.model.rule:
        return q.model.rule
    if isinstance(q.key.value, str) and q.key.value in k.rules:
        return str(q.key.value)
    return kind_asked(q.model).about(q.model)


def _wrong(maker: Maker, its_letter: str, option: Option) -> dict[str, Any]:
    """What is wrong with an option, or with leaving a right one out, and who believes it."""
    belief = maker.beliefs.get(option.belief or option.missed)
    return {
        "option": its_letter,
        "text": option.text,
        "right": option.right,
        "belief": belief.name if belief else "",
        "says": belief.says if belief else option.says,
        "held because": belief.held_because if belief else "",
        "corrected": belief.corrected if belief else "",
        "rule": belief.offends if belief else "",
    }


def _sections(k: Knowledge, q: Instance, rule: str) -> list[dict[str, Any]]:
    """The rules besides *rule* that right options are, each with its section."""
    rules = {
        letter(i): str(option.value)
        for i, option in enumerate(q.options)
        if option.right and isinstance(option.value, str) and option.value in k.rules
    }
    return [
        {"option": at, "rule": i, "says": k.rules[i].said, "section": _section(k, q, i)}
        for at, i in rules.items()
        if i != rule
    ]


def _section(k: Knowledge, q: Instance, rule: str) -> str:
    """The section of a rule, for the things the question is about where sections differ."""
    r = k.rules[rule]
    if r.cited_by is not None:
        things = read_job(q.body, k, "question").by_kind[r.about]
        said = {r.section(k.edition, x) for x in things}
        if len(said) == 1:
            return said.pop() or ""
    return r.section(k.edition) or ""


def as_plain(maker: Maker, q: Instance) -> dict[str, Any]:
    """One question as plain data."""
    return {
        "question": q.name,
        "model": q.model.name,
        "room": q.model.room,
        "kind": q.model.kind,
        "difficulty": q.model.difficulty,
        "stem": q.in_words,
        "facts": q.facts,
        "options": [
            {"text": o.text, "belief": o.belief, "left out by": o.missed} for o in q.options
        ],
        "right": (
            [q.key.value.index(o.value) for o in q.options] if asks_for_an_order(q) else right(q)
        ),
        "key": q.key.text,
        "unit": q.unit,
        "explained": explained(maker, q),
    }


def quiz_as_plain(maker: Maker, quiz: Quiz) -> dict[str, Any]:
    """The quiz as plain data: what `whywire quiz take` reads."""
    return {
        "quiz": quiz.title,
        "seed": quiz.seed,
        "digest": quiz.digest,
        "law": quiz.law,
        "caution": CAUTION,
        "questions": [as_plain(maker, q) for q in quiz.questions],
    }
