"""The instances of a question model, each from a seed: the facts are drawn, and the key is what the
rules in force conclude.

No answer is typed in. A wrong option is what the same rules conclude under a belief; where a kind
of question has no belief to offer, an option says what is wrong with it and names none. The same
seed gives the same question, byte for byte.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple, TypeAlias

from ..answering.findings import needs
from ..answering.verdicts import (
    PASSED,
    Verdict,
    alike,
    answer_on,
    is_plain,
    rounded,
    same_text,
    small,
    text_of,
    verdict_on,
)
from ..basics.errors import Fault, Faults, Place, suggest
from ..basics.reading import Mapping, place_of
from ..basics.sentinels import NONE
from ..basics.units import Range
from ..language.knowledge import Knowledge
from ..language.rules import Rule
from ..language.things import Type
from ..language.words import Word, as_list
from ..proving.graph import Explainer, Graph, unit_shown
from ..running.chain import ADVICE, FAILS, OFF, TELL, WARNS, World
from ..running.job import Job, read_job
from ..running.rerun import run_part, tell
from .beliefs import Belief, held
from .draws import Settled
from .models import Model, cone, kind_of, place, read_anew, starts

TRIES = 25  # draws of facts before a seed is given up
KEPT = 4  # runs of a model that are kept, where its draws are not all of the same things
MOST_WRONG = 3
NOTHING_FAILS = "nothing"


Value: TypeAlias = Any  # what is concluded: a number, a text, a verdict, rules, an order
Order: TypeAlias = Callable[[Any], Any]  # by what the options of a question are put in order


@dataclass
class Option:
    """One answer to choose: its text, its exact value, whether it is right, and whose belief makes
    it, if anybody's.
    """

    text: str
    value: Value
    right: bool = False
    belief: str = ""  # who holds this chooses it
    says: str = ""  # what is wrong with it, where no belief makes it
    missed: str = ""  # who holds this leaves it out, though it is right


@dataclass
class Instance:
    """One question: stem, options in their order, the key among them."""

    model: Model
    seed: int
    facts: dict[str, str]
    stem: str
    key: Option
    options: list[Option] = field(default_factory=list)
    body: Mapping = field(default_factory=Mapping)
    unit: str = ""
    place: int | None = None  # where the key was asked to be
    only: str = ""  # the belief that was asked for
    digits: int | None = None  # how many places behind the point its numbers are shown with
    # what was worked out of it for one form of the paper, and serves the others
    kept: dict = field(default_factory=dict, repr=False, compare=False)

    def same(self, a: Value, b: Value) -> bool:
        """Whether two values are one answer, as this question shows them."""
        if self.digits is not None and self._is_number(a) and self._is_number(b):
            return rounded(a, self.unit, self.digits) == rounded(b, self.unit, self.digits)
        return same_text(a, b, self.unit)

    def _is_number(self, v: Value) -> bool:
        """Whether a value is shown with the digits of this question: a verdict has its own."""
        return not isinstance(v, tuple) and is_plain(v, self.unit)

    @property
    def name(self) -> str:
        """What makes this question again: its model, its seed, where its key was asked to be, and
        which belief was asked for.
        """
        return (
            f"{self.model.name}:{self.seed}"
            + (f":{self.place}" if self.place is not None else "")
            + (f":{self.only}" if self.only else "")
        )

    @property
    def position(self) -> int:
        return next(i for i, o in enumerate(self.options) if o.right)

    @property
    def thing(self) -> str:
        """The thing it asks about."""
        d = self.model.d
        said = next(str(as_list(d[kind])[0]) for kind in OF_A_THING if kind in d)
        return re.split(" of | on ", said, maxsplit=1)[1].strip()


def filled(template: Any, facts: dict[str, str]) -> Any:
    """*template*, a part of a job or a text, with every {fact} written out."""
    if isinstance(template, dict):
        out = Mapping((k, filled(v, facts)) for k, v in template.items())
        out.at = place_of(template)
        return out
    if isinstance(template, list):
        return [filled(v, facts) for v in template]
    return re.sub(r"\{([^{}]+)\}", lambda m: facts.get(m[1], m[0]), str(template))


def with_articles(text: str) -> str:
    """*text* with `an` before what is spoken with a vowel: an 8 AWG wire, an EMT, an RMC. An `A`
    within a sentence is amperes.
    """
    return re.sub(
        r"(\ba|(?:^|(?<=[.:] ))A) (?=8|1[18]\b|un(?!i)|(?!one\b|one-)[aeioAEIO]|[FHLMNRSX][A-Z-])",
        r"\1n ",
        text,
    )


def drawn(m: Model, rng: random.Random) -> dict[str, str]:
    """One draw of a model's facts."""
    facts: dict[str, str] = {}
    for name, values in m.draws.items():
        v = rng.choice(values)
        facts.update(v if isinstance(v, dict) else {name: v})
    return facts


class Made(NamedTuple):
    """What one draw comes to: the key, and what stands beside it."""

    key: Option
    options: list[Option]  # the wrong ones; or all, in their order
    order: Order | None = None  # what the options are put in order by, where they have one
    unit: str = ""
    all_offered: bool = False  # nothing is chosen or placed: all that apply, or an order


class Held(NamedTuple):
    """The law as somebody has it who holds beliefs."""

    k: Knowledge | None  # None where they cannot be held
    changed: frozenset[str] | None  # the rules it has otherwise; None: its cells lie elsewhere


# What a question says of the rules whose failing it asks about.
ASKED = ("judges", "governs", "findings", "mends", "missing")
# What a question says of the thing that it asks about.
OF_A_THING = ("asks", *ASKED, "order")


class Maker:
    """Makes instances of models under one law and a set of beliefs; what a belief does to the rules
    is worked out once.
    """

    def __init__(
        self,
        k: Knowledge,
        beliefs: dict[str, Belief],
        other: Knowledge | None = None,
        said: str = "",
        other_said: str = "",
    ) -> None:
        self.k, self.beliefs, self.said = k, beliefs, said or f"the {k.edition} edition"
        # the same under another law
        self.there = Maker(other, beliefs, said=other_said) if other else None
        self._held: dict[tuple[str, ...], Held] = {}
        self._nodes: dict[tuple[str, frozenset], frozenset] = {}
        self._runs: dict[str, list[Settled]] = {}
        # a draw and a belief -> what it comes to
        self._valued: dict[tuple, tuple[Value, str]] = {}
        self._wholes: dict[str, Settled] = {}  # of a model, its whole job as it was run last
        # kind -> the requirements on its things
        self._musts: dict[str, list[Rule]] = {}
        for r in k.rules.values():
            if r.verb in ("must", "must not"):
                self._musts.setdefault(r.about, []).append(r)
        # the facts told and the kinds there are -> the nodes behind every requirement on those
        self._required: dict[tuple[frozenset, frozenset], frozenset] = {}
        # a job -> the requirements that fail on it, each with its thing
        self._failures: dict[str, frozenset[tuple[str, str]]] = {}
        # the facts that were settled last, of which model, and where
        self._at: tuple[Mapping, str, Settled] | None = None
        # model -> the facts that its draws vary, as `fairness` found them
        self.varied: dict[str, frozenset[tuple[str, str]]] = {}
        # kind -> the facts that a rule fills only where nobody told them
        self._filled: dict[str, set[str]] | None = None

    # ---- beliefs
    def held(self, *names: str) -> Knowledge | None:
        """The knowledge under beliefs; None where they cannot be held under this law."""
        return self._believed(names)[0]

    def _believed(self, names: tuple[str, ...]) -> Held:
        """The knowledge under beliefs, and the rules it has otherwise."""
        if names not in self._held:
            try:
                k = held(self.k, *(self.beliefs[n] for n in names))
            except (Fault, Faults):
                self._held[names] = Held(None, None)
            else:
                self._held[names] = Held(k, self._otherwise(k))
        return self._held[names]

    def _otherwise(self, k: Knowledge) -> frozenset[str] | None:
        """The rules that *k* has otherwise; None where its cells lie elsewhere."""
        if k.slots is not self.k.slots:
            return None
        return frozenset(i for i in k.rules if k.rules[i] is not self.k.rules.get(i))

    def relevant(self, m: Model) -> list[str]:
        """The beliefs that could change the answer of a model."""
        named = [str(n) for n in as_list(m.d.get("beliefs"))]
        if named:
            return [n for n in named if n in self.beliefs]
        return [n for n, belief in self.beliefs.items() if belief.touches & m.touched]

    # ---- runs
    def nodes(self, m: Model, told: frozenset) -> frozenset:
        """The nodes of the order that a model rests on, under the law and under its beliefs, where
        some facts are *told*.
        """
        if (m.name, told) not in self._nodes:
            read = set()
            for n in self.relevant(m):
                k, changed = self._believed((n,))
                if k is not None and changed:
                    read |= read_anew(self.k, k, changed)
            self._nodes[m.name, told] = cone(self.k, [*starts(m, self.k), *read], told)
        return self._nodes[m.name, told]

    def settled(self, m: Model, body: Mapping) -> Settled:
        """The run of *body*, as far as *m* asks: one that was kept and takes over these facts, or a
        new one.
        """
        if self._at is not None and self._at[0] is body and self._at[1] == m.name:
            return self._at[2]
        s = self._settle(m, body)
        self._at = body, m.name, s
        return s

    def _settle(self, m: Model, body: Mapping) -> Settled:
        runs = self._runs.setdefault(m.name, [])
        for s in runs:
            if s.tells(body):
                return s
        job = read_job(body, self.k, "question")
        told = self._told(job)
        nodes = self.nodes(m, told)
        for s in runs:
            if s.nodes is nodes and s.takes(job):
                return s
        runs.append(Settled(self.k, job, nodes))
        del runs[:-KEPT]
        return runs[-1]

    def _told(self, job: Job) -> frozenset[tuple[str, str]]:
        """The facts that every thing of their kind is told, of those that something would fill
        otherwise.
        """
        filled_in = self._filled
        if filled_in is None:
            filled_in = self._filled = {}
            for (kind, fact), givers in self.k.order.givers.items():
                if any(g.verb != "gives" for g in givers):
                    filled_in.setdefault(kind, set()).add(fact)
        told: set[tuple[str, str]] = set()
        for kind, facts in filled_in.items():
            things = job.by_kind[kind]
            if things:
                by_all = facts.intersection(*(x[0].told for x in things))
                told.update((kind, fact) for fact in by_all)
        return frozenset(told)

    def under(self, s: Settled, m: Model, body: Mapping, *names: str) -> World | None:
        """The run as somebody has it who holds beliefs; None where they cannot be held."""
        if not names:
            return s.lawful()
        k, changed = self._believed(names)
        if k is None:
            return None
        # put together anew: its cells lie elsewhere
        if changed is None:
            return run_part(k, read_job(body, k, "question"), cone(k, starts(m, k)))
        return s.under(k, changed)

    # ---- what is concluded
    def concludes(self, m: Model, body: Mapping, *names: str) -> Value:
        """What *m* asks, as the rules have it under beliefs: a value, a verdict, rules that fail;
        None where it cannot be told.
        """
        if m.kind == "mends":
            return self._mending(m, body, *names)
        if m.kind == "under":
            return self.elsewhere.concludes(_as_asked(m), body, *names)
        w = self.under(self.settled(m, body), m, body, *names)
        return None if w is None else self.concluded(m, w, not names)[0]

    @property
    def elsewhere(self) -> Maker:
        """The maker under the other law: who asks what that law says has one."""
        assert self.there is not None
        return self.there

    def valued(
        self, m: Model, body: Mapping, facts: dict[str, str], *names: str
    ) -> tuple[Value, str]:
        """What a question of one value comes to under a belief, and its unit: worked out once for a
        draw, which may come again.
        """
        key = m.name, names, *facts.items()
        if key not in self._valued:
            w = self.under(self.settled(m, body), m, body, *names)
            self._valued[key] = (None, "") if w is None else self.concluded(m, w, not names)
        return self._valued[key]

    def believed(
        self, m: Model, s: Settled, body: Mapping, rng: random.Random, only: str
    ) -> Iterator[tuple[str, Value]]:
        """Each belief in its turn with what *m* asks as a believer has it; None where that cannot
        be told.
        """
        for name in self.in_turn(m, rng, only):
            w = self.under(s, m, body, name)
            yield name, None if w is None else self.concluded(m, w, False)[0]

    def concluded(
        self, m: Model, w: World, lawful: bool, off_counts: bool = False
    ) -> tuple[Value, str]:
        """(what is concluded, its unit)."""
        if "asks" in m.d:
            return _fact_asked(m, w)
        if "judges" in m.d:
            return verdict_on(w, str(m.d["judges"]), lawful, off_counts), ""
        if m.kind == "missing":
            return _asked_for(w, str(m.d["missing"])), ""
        if m.kind == "order":
            return _steps(w, m), ""
        return _failing(m, w), ""

    def _mending(self, m: Model, body: Mapping, *names: str) -> tuple[str, ...] | None:
        """The changes after which the rule passes, as somebody sees it who holds beliefs."""
        said = str(m.d["mends"])
        w = self.under(self.settled(m, body), m, body, *names)
        # to whom it is right as it stands mends nothing
        if w is None or answer_on(w, said) not in (FAILS, ADVICE):
            return None
        good = (*PASSED, OFF) if names else PASSED
        mending = []
        for text, change in m.d["options"].items():
            after = changed(body, change)
            mended = self.under(self.settled(m, after), m, after, *names)
            if mended is not None and answer_on(mended, said) in good:
                mending.append(str(text))
        return tuple(mending)

    def chooses(self, q: Instance, *names: str) -> list[Value]:
        """What somebody who holds beliefs would choose of a question: the values any of which fits;
        [] where nothing does.
        """
        kind = q.model.kind
        got = self.concludes(_with_options(q) if kind == "mends" else q.model, q.body, *names)
        if got is None:
            return []
        if kind == "governs":
            return [got[0]] if len(got) == 1 else [NOTHING_FAILS] if not got else []
        return list(got) if kind == "mends" else [got]

    def kept(self, m: Model, s: Settled) -> bool:
        """Whether a draw is one that a job would have: the rules that the model `keeps` pass on
        it.
        """
        return "keeps" not in m.d or all(
            answer_on(s.lawful(), str(said)) in PASSED for said in as_list(m.d["keeps"])
        )

    def sound(self, m: Model, body: Mapping) -> bool:
        """Whether nothing fails on the whole job but what *m* asks about: a key that the job's own
        inspection contradicts teaches what is wrong.
        """
        said = [str(one) for kind in ASKED for one in as_list(m.d.get(kind))]
        asked = {tuple(part.strip() for part in one.split(" on ")) for one in said}
        return self._failures_on(m, body) <= asked

    def _failures_on(self, m: Model, body: Mapping) -> frozenset[tuple[str, str]]:
        """The requirements that fail on the whole job, each with its thing. A job may come again,
        and of another model: it is the same job.
        """
        job = repr(body)
        if job not in self._failures:
            w = self._whole(m, body)
            self._failures[job] = frozenset(
                (r.id, x[0].id)
                for kind, things in w.by_kind.items()
                if things
                for r in self._musts.get(kind, ())
                for x in things
                # the answer that is shown is asked only where the cell says that it may fail
                if x[self.k.slots[r.id]] == FAILS and w.answer(r, x) == FAILS
            )
        return self._failures[job]

    def _whole(self, m: Model, body: Mapping) -> World:
        """The whole job run: of one model's jobs only what the facts of the next move."""
        s = self._wholes.get(m.name)
        if s is None or not s.tells(body):
            job = read_job(body, self.k, "question")
            nodes = self._behind_requirements(job)
            if s is None or s.nodes is not nodes or not s.takes(job):
                self._wholes[m.name] = s = Settled(self.k, job, nodes)
        return s.lawful()

    def _behind_requirements(self, job: Job) -> frozenset:
        """The nodes that the requirements on the things of a job rest on: no others are run, since
        none of them can make one fail.
        """
        told = self._told(job)
        kinds = frozenset(kind for kind, things in job.by_kind.items() if things)
        if (told, kinds) not in self._required:
            asked = [("rule", r.id, "") for kind in kinds for r in self._musts.get(kind, ())]
            self._required[told, kinds] = cone(self.k, asked, told)
        return self._required[told, kinds]

    # ---- one instance
    def instance(
        self, m: Model, seed: int, position: int | None = None, only: str = ""
    ) -> Instance | None:
        """The instance of *m* from *seed*; None where no draw gives a key and two wrong options
        that differ.

        *position* asks for the place of the key among the options, *only* for a belief that must be
        among them.
        """
        rng = random.Random(f"{m.name}:{seed}:{position}:{only}")
        for _ in range(TRIES):
            facts = drawn(m, rng)
            body = filled(m.job, facts)
            if "keeps" in m.d and not self.kept(m, self.settled(m, body)):
                continue
            made = _MAKERS[m.kind](self, m, body, facts, rng, only)
            chosen = made and _chosen(made, position, only, rng)
            if made is None or chosen is None:
                continue
            digits = alike(chosen, made.unit)
            texts = {option.text for option in chosen}
            # the whole job last: it is the dearest to run
            if len(texts) == len(chosen) and self.sound(m, body):
                said = {"edition": self.k.edition, "other": self.there.said if self.there else ""}
                stem = with_articles(filled(m.stem, {**facts, **said}))
                return Instance(
                    m, seed, facts, stem, made.key, chosen, body, made.unit, position, only, digits
                )
        return None

    def again(self, models: dict[str, Model], name: str) -> Instance:
        """The question called *name* (model:seed, and perhaps :place and :belief), made again.

        Raises:
            Fault: *name* is the name of no question.
        """
        model, *rest = name.split(":")
        if model not in models:
            raise Fault(
                "no-such-question",
                Place(name),
                f'no question model is called "{model}"',
                suggest(model, models),
            )
        only = rest.pop() if len(rest) > 1 and rest[-1] in self.beliefs else ""
        if not 1 <= len(rest) <= 2 or not all(r.isdecimal() and len(r) <= 18 for r in rest):
            raise Fault(
                "no-such-question",
                Place(name),
                "a question is called by its model and its seed",
                f"write {model}:1",
            )
        got = self.instance(
            models[model], int(rest[0]), int(rest[1]) if len(rest) == 2 else None, only
        )
        if got is None:
            raise Fault(
                "no-such-question",
                Place(name),
                "no question comes of this seed under this law",
                "take another seed",
            )
        return got

    def in_turn(self, m: Model, rng: random.Random, only: str) -> list[str]:
        """The beliefs of a model in the order in which they are tried."""
        names = self.relevant(m)
        rng.shuffle(names)
        return [only, *(n for n in names if n != only)] if only else names


# ---- choosing and placing options ----------------------------------------------------------------


def _chosen(made: Made, position: int | None, only: str, rng: random.Random) -> list[Option] | None:
    """The options that are offered, in their order; None where the key cannot stand there."""
    if made.all_offered:
        return made.options
    wrong = _fit(made.options, only)
    return _placed(made, wrong, position, only, rng) if len(wrong) > 1 else None


def _fit(options: list[Option], only: str) -> list[Option]:
    """Those made by beliefs before those that are not, and the one that is asked for first."""
    return sorted(
        options,
        key=lambda o: (
            o.belief != only if only else False,
            not o.belief and not o.says.startswith("That is the answer"),
        ),
    )


def _placed(
    made: Made, wrong: list[Option], position: int | None, only: str, rng: random.Random
) -> list[Option] | None:
    """Two or three wrong options with the key among them: in numeric order where there is one, the
    key at *position*.
    """
    if not _offers(wrong, only):
        return None
    if made.order is None:
        return _anywhere(made.key, wrong, position, rng)
    order = _by_value_in(made.order)
    if position is None:
        return sorted([made.key, *wrong[:MOST_WRONG]], key=order)
    return _between(made.key, wrong, position, order, only)


def _offers(options: list[Option], only: str) -> bool:
    """Whether the belief that was asked for, if any, makes one of *options*."""
    return not only or any(option.belief == only for option in options)


def _by_value_in(order: Order) -> Callable[[Option], Any]:
    return lambda option: order(option.value)


def _anywhere(
    key: Option, wrong: list[Option], position: int | None, rng: random.Random
) -> list[Option] | None:
    """Wrong options in no order, the key at *position* or wherever chance puts it."""
    made = sum(bool(option.belief) for option in wrong)
    few = wrong[: max(2, min(MOST_WRONG, made))]
    if position is not None and position > len(few):
        few = wrong[:MOST_WRONG]
    rng.shuffle(few)
    at = rng.randrange(len(few) + 1) if position is None else position
    return None if at > len(few) else [*few[:at], key, *few[at:]]


def _between(
    key: Option, wrong: list[Option], position: int, order: Callable[[Option], Any], only: str
) -> list[Option] | None:
    """The key at *position* of a numeric order, with as many wrong options below it."""
    low = sorted((o for o in wrong if order(o) < order(key)), key=order)
    high = sorted((o for o in wrong if order(o) > order(key)), key=order)
    if len(low) < position:
        return None
    below = _taking(low, position, only)
    above = _taking(high, min(MOST_WRONG - position, len(high)), only)
    if len(below) + len(above) < 2 or not _offers(below + above, only):
        return None
    return [*below, key, *above]


def _taking(options: list[Option], n: int, only: str) -> list[Option]:
    first = sorted(options, key=lambda o: o.belief != only)[:n]
    return [o for o in options if o in first]


def _order_of(k: Knowledge, m: Model, v: Value) -> Order | None:
    """How the values of what is asked are ordered: as numbers, or as the rows of their table."""
    if "asks" in m.d and isinstance(v, str):
        fact, thing = place(str(m.d["asks"]), m, " of ")
        type_ = k.words.kinds[kind_of(thing, k)].words[fact].type
        if type_[0] == "row":
            return _rows_of(k, type_).get
    return None if isinstance(v, (str, bool, Verdict)) else (lambda x: x)


def _rows_of(k: Knowledge, type_: Type) -> dict[str, int]:
    """The values of a word that is a row of a table, in their order."""
    table = k.tables[type_[1]]
    return table.order("size" if "size" in table.keys else next(iter(table.keys)))


def _key(v: Value, unit: str = "", text: str = "") -> Option:
    return Option(text or text_of(v, unit), v, True)


def _believed_option(maker: Maker, name: str, v: Value, unit: str = "", text: str = "") -> Option:
    return Option(text or text_of(v, unit), v, False, name, maker.beliefs[name].says)


# ---- what is concluded, by what is asked ---------------------------------------------------------


def _fact_asked(m: Model, w: World) -> tuple[Value, str]:
    """The value of a fact and the unit it is shown in; None where it is not one plain value."""
    fact, thing = place(str(m.d["asks"]), m, " of ")
    x = w.things.get(thing)
    if x is None:
        return None, ""
    word = w.k.words.kinds[x[0].kind].words[fact]
    v = x[word.slot]
    if v is None or v is NONE or isinstance(v, (Range, list)):
        return None, ""
    return v, str(m.d.get("unit", "")) or unit_shown(x, fact, word.unit) or ""


def _answers(m: Model, w: World) -> dict[str, str | None]:
    """The answer of each rule that a model lists, by `RULE on THING`."""
    return {said: answer_on(w, said) for said in map(str, as_list(m.d[m.kind]))}


def _rule_of(said: str) -> str:
    """The rule of `RULE on THING`."""
    return said.partition(" on ")[0].strip()


def _failing(m: Model, w: World) -> tuple[str, ...] | None:
    """The rules that fail or warn, of those that a model lists; None while one cannot tell."""
    answers = _answers(m, w)
    if any(answer is None or answer == TELL for answer in answers.values()):
        return None
    failing = [_rule_of(said) for said, answer in answers.items() if answer in (FAILS, WARNS)]
    return tuple(dict.fromkeys(failing))


# ---- the kinds of questions ----------------------------------------------------------------------


def _by_value(
    maker: Maker, m: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """A number or a verdict: each wrong option is another belief's value on the same facts."""
    v, unit = maker.valued(m, body, facts)
    if v is None:
        return None
    wrong: dict[Value, str] = {}
    for n in maker.in_turn(m, rng, only):
        other = maker.valued(m, body, facts, n)[0]
        if other is None or same_text(other, v, unit):
            if n == only:
                return None
            continue
        if not any(same_text(other, o, unit) for o in wrong):
            wrong[other] = n
        if len(wrong) > 4:
            break
    options = [_believed_option(maker, n, o, unit) for o, n in wrong.items()]
    return Made(_key(v, unit), options, _order_of(maker.k, m, v), unit)


def _governs(
    maker: Maker, m: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """Which rule governs: the one that fails while all others pass; wrong is what fails for a
    believer, or that nothing does.
    """
    s = maker.settled(m, body)
    got = maker.concluded(m, s.lawful(), True)[0]
    if got is None or len(got) != 1:
        return None
    answers = {_rule_of(said): answer for said, answer in _answers(m, s.lawful()).items()}
    passing = [i for i, answer in answers.items() if answer in PASSED and i != got[0]]
    found = _governing_to_believers(maker.believed(m, s, body, rng, only), got)
    if not found:
        return None

    def text(i: str) -> str:
        if i == NOTHING_FAILS:
            return "None of them: it is right as planned."
        return _label(m, maker.k.rules[i])

    wrong = [_believed_option(maker, n, i, text=text(i)) for i, n in found.items()]
    rest = [Option(text(i), i, says="It passes on these facts.") for i in passing if i not in found]
    rng.shuffle(rest)
    return Made(_key(got[0], text=text(got[0])), wrong + rest)


def _governing_to_believers(
    believed: Iterator[tuple[str, Value]], got: tuple[str, ...]
) -> dict[str, str]:
    """What alone fails, or that nothing does, as believers have it, each with its first one."""
    found: dict[str, str] = {}
    for name, other in believed:
        if other is not None and len(other) < 2 and other != got:
            found.setdefault(other[0] if other else NOTHING_FAILS, name)
    return found


def _findings(
    maker: Maker, m: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """Pick all that fail (or all cautions that belong there)."""
    return _picked(maker, m, body, rng, only)


class Elsewhere(NamedTuple):
    """What applies under another law, which a learner may still have in mind."""

    law: str
    failing: tuple[str, ...]


def _picked(
    maker: Maker,
    m: Model,
    body: Mapping,
    rng: random.Random,
    only: str,
    elsewhere: Elsewhere | None = None,
) -> Made | None:
    """All that apply: a wrong one is what a belief adds; of a right one it is said which belief
    leaves it out.
    """
    s = maker.settled(m, body)
    failing = maker.concluded(m, s.lawful(), True)[0]
    if not failing:
        return None
    adds, drops = _apart_from(failing, maker.believed(m, s, body, rng, only))
    if only and only not in (*adds.values(), *drops.values()):
        return None
    # where neither a belief nor another law errs, nothing is wrong for a reason
    errs = bool(adds or drops) if elsewhere is None else elsewhere.failing != failing
    offered = _offered(maker, m, s, adds, elsewhere)
    if not errs or len(offered) < 3 or len(failing) == len(offered):
        return None
    rules = {i: maker.k.rules.get(i) or maker.k.absent[i] for i in offered}
    options = [
        Option(
            _label(m, rule),
            i,
            right=i in failing,
            belief=adds.get(i, ""),
            says=_said_of(i, rule, failing, adds, elsewhere),
            missed=drops.get(i, ""),
        )
        for i, rule in rules.items()
    ]
    text = "; ".join(option.text for option in options if option.right)
    return Made(Option(text, failing, True), options, all_offered=True)


def _apart_from(
    failing: tuple[str, ...], believed: Iterator[tuple[str, Value]]
) -> tuple[dict[str, str], dict[str, str]]:
    """What believers add to the rules that fail, and what of them they leave out, each with the
    first who does.
    """
    adds: dict[str, str] = {}
    drops: dict[str, str] = {}
    for name, other in believed:
        if other is None:
            continue
        for i in other:
            if i not in failing:
                adds.setdefault(i, name)
        for i in failing:
            if i not in other:
                drops.setdefault(i, name)
    return adds, drops


def _offered(
    maker: Maker, m: Model, s: Settled, adds: dict[str, str], elsewhere: Elsewhere | None
) -> list[str]:
    """The rules that are offered: what does not apply is none of them, but for a caution, which is
    of other work then, and for what somebody else would pick.
    """
    answers = {
        _rule_of(said): answer_on(s.lawful(), said) for said in map(str, as_list(m.d["findings"]))
    }

    def warns(i: str) -> bool:
        return i in maker.k.rules and maker.k.rules[i].verb == "warns"

    return [
        i
        for i, answer in answers.items()
        if answer in (FAILS, WARNS, *PASSED)
        or i in adds
        or elsewhere is not None
        or (answer == OFF and warns(i))
    ]


def _said_of(
    i: str,
    rule: Rule,
    failing: tuple[str, ...],
    adds: dict[str, str],
    elsewhere: Elsewhere | None,
) -> str:
    """What is said of an option that no belief explains."""
    there = elsewhere is not None and i in elsewhere.failing
    if i in failing:
        return f"That is not so under {elsewhere.law}." if elsewhere and not there else ""
    if i in adds:
        return ""
    if elsewhere and there:
        return f"That is so under {elsewhere.law}."
    if rule.d.get("warns"):
        return "It does not belong to this work."
    return "It is met, or does not apply."


def _label(m: Model, r: Rule) -> str:
    """What a rule is called among options: as the model says, since the rule's own sentence may
    hold the number that is asked for.
    """
    return str((m.d.get("options") or {}).get(r.id) or r.d.get("warns") or r.said)


def _asked_for(w: World, said: str) -> tuple[str, str] | None:
    """What must be learned before `RULE on THING` is decided: ("ask", question), or ("told",
    answer); None where it is several.
    """
    rule, _, thing = said.partition(" on ")
    r, x = w.k.rules.get(rule.strip()), w.things.get(thing.strip())
    if x is None:
        return None
    answer = OFF if r is None else w.answer(r, x)
    if r is None or answer != TELL:
        return "told", "passes" if answer in (*PASSED, OFF) else "fails"
    missing = needs(w, r, x)
    return ("ask", missing[0].ask) if len(missing) == 1 and missing[0].ask else None


def _turns(maker: Maker, m: Model, s: Settled, body: Mapping, facts: dict[str, str]) -> bool:
    """Whether what is missing can turn the answer: told each value it can have, the rule passes (or
    does not apply) with one and fails with another.

    What a quantity could be the model says under `told`; where it does not, nothing is tried.
    """
    said = str(m.d["missing"])
    if "told" in m.d:
        answers = {
            answer_on(maker.settled(m, changed(body, filled(change, facts))).lawful(), said)
            for change in m.d["told"]
        }
    else:
        rule, _, thing = said.partition(" on ")
        need = needs(s.lawful(), maker.k.rules[rule.strip()], s.w.things[thing.strip()])[0]
        kind = s.w.things[need.of][0].kind
        values = _could_be(maker.k, maker.k.words.kinds[kind].words[need.fact])
        if values is None:
            return True
        answers = set()
        for v in values:
            job = read_job(body, maker.k, "question")
            tell(job, [(need.of, need.fact, v)])
            answers.add(answer_on(run_part(maker.k, job, s.nodes), said))
    return not answers.isdisjoint((FAILS, ADVICE)) and not answers.isdisjoint((*PASSED, OFF))


def _could_be(k: Knowledge, word: Word) -> list[Value] | None:
    """Every value that a fact can have; None where it is a quantity."""
    if word.type[0] == "row":
        return list(_rows_of(k, word.type))
    if word.type[0] == "flag":
        return [True, False]
    return list(word.type[1]) if word.type[0] == "choice" else None


# What is answered where nothing more need be asked.
TOLD = {
    ("told", "passes"): "Nothing more: it passes as it is told.",
    ("told", "fails"): "Nothing more: it fails as it is told.",
}


def _missing(
    maker: Maker, m: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """What is missing: the one question that settles it; wrong is what a believer would ask, or
    that nothing need be asked.
    """
    s = maker.settled(m, body)
    got = maker.concluded(m, s.lawful(), True)[0]
    if got is None or got[0] != "ask" or not _turns(maker, m, s, body, facts):
        return None
    found: dict[tuple[str, str], str] = {}
    for n, other in maker.believed(m, s, body, rng, only):
        if other is not None and other != got:
            found.setdefault(other, n)
    wrong = [_believed_option(maker, n, v, text=TOLD.get(v) or v[1]) for v, n in found.items()]
    for question, change in _others_asked(m, facts, rng):
        if len(wrong) >= MOST_WRONG:
            break
        if ("ask", question) in found:
            continue
        learned = changed(body, change)
        # only what leaves the answer open is wrong to ask
        if maker.concluded(m, maker.settled(m, learned).lawful(), True)[0] == got:
            says = "With that told as well, the answer is still open."
            wrong.append(Option(question, ("ask", question), says=says))
    if not found and maker.relevant(m):
        return None
    return Made(_key(got, text=got[1]), wrong)


def _others_asked(m: Model, facts: dict[str, str], rng: random.Random) -> list[tuple[str, Mapping]]:
    """What else one might ask, by the model, each with what would be learned; in a drawn order."""
    options = m.d.get("options") or {}
    others = [(str(question), filled(change, facts)) for question, change in options.items()]
    rng.shuffle(others)
    return others


def _under(
    maker: Maker, m: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """What another law says of the same facts: the answer of the law at hand is a wrong option, and
    what beliefs make there.
    """
    if maker.there is None:
        return None
    there, asked = maker.there, _as_asked(m)
    if asked.kind == "findings":
        failing = maker.concluded(asked, maker.settled(asked, body).lawful(), True)[0]
        if failing is None:
            return None
        return _picked(there, asked, body, rng, only, Elsewhere(maker.said, failing))
    s = there.settled(asked, body)
    v, unit = there.concluded(asked, s.lawful(), True, True)
    here = maker.concluded(asked, maker.settled(asked, body).lawful(), True, True)[0]
    if v is None or here is None or same_text(v, here, unit):
        return None
    wrong = [Option(text_of(here, unit), here, says=f"That is the answer under {maker.said}.")]
    for n, other in there.believed(asked, s, body, rng, only):
        if other is not None and not any(
            same_text(other, value, unit) for value in (v, *(o.value for o in wrong))
        ):
            wrong.append(_believed_option(maker, n, other, unit))
    return Made(_key(v, unit), wrong, _order_of(there.k, m, v), unit)


def _as_asked(m: Model) -> Model:
    """The model as the other law answers it: its question, without the comparison."""
    return replace(m, kind=next(kind for kind in ("asks", "judges", "findings") if kind in m.d))


def _filled_options(m: Model, facts: dict[str, str]) -> dict[str, Mapping]:
    """The changes that a question offers on a draw, by what is said of each."""
    return {filled(text, facts): filled(change, facts) for text, change in m.d["options"].items()}


def _with_options(q: Instance) -> Model:
    """The model of a question about changes, with those changes alone that the question offers."""
    offered = {option.value for option in q.options}
    every = _filled_options(q.model, q.facts)
    options = {text: change for text, change in every.items() if text in offered}
    return replace(q.model, kind="mends", d=Mapping({**q.model.d, "options": options}))


def _mends(
    maker: Maker, m: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """What would make it legal: each option is a change to the job; one of those offered lets the
    rule pass, others do for a believer.
    """
    said = str(m.d["mends"])
    s = maker.settled(m, body)
    if answer_on(s.lawful(), said) not in (FAILS, ADVICE):
        return None
    # to others nothing is to be mended
    names = [
        n
        for n in maker.in_turn(m, rng, only)
        if _answer_under(maker, s, m, body, n) in (FAILS, ADVICE)
    ]
    right: list[str] = []
    found: dict[str, str] = {}
    rest: list[str] = []
    for text, change in _filled_options(m, facts).items():
        after = changed(body, change)
        s = maker.settled(m, after)
        if answer_on(s.lawful(), said) in PASSED:
            right.append(text)
            continue
        passes = (n for n in names if _answer_under(maker, s, m, after, n) in (*PASSED, OFF))
        holder = next(passes, "")
        if holder:
            found[text] = holder
        else:
            rest.append(text)
    says = f"It fails as before: {small(maker.k.rules[_rule_of(said)].said)}"
    fails = [Option(text, text, says=says) for text in rest]
    rng.shuffle(fails)
    if not right or (not found and maker.relevant(m)):
        return None
    key = rng.choice(right)
    wrong = [_believed_option(maker, n, text, text=text) for text, n in found.items()]
    return Made(_key(key, text=key), wrong + fails)


def _answer_under(maker: Maker, s: Settled, m: Model, body: Mapping, name: str) -> str | None:
    """The answer on what is to be mended, as a believer has it; None where none can be had."""
    w = maker.under(s, m, body, name)
    return None if w is None else answer_on(w, str(m.d["mends"]))


def changed(body: Mapping, change: dict[str, Any]) -> Mapping:
    """*body* with what *change* says put over it, at any depth; a list takes the change in its
    first item.
    """
    out = Mapping(body)
    for key, v in change.items():
        old = next((o for o in out if str(o) == str(key)), key)
        if isinstance(v, dict) and isinstance(out.get(old), dict):
            out[old] = changed(out[old], v)
        elif isinstance(v, dict) and isinstance(out.get(old), list) and out[old]:
            out[old] = [changed(out[old][0], v), *out[old][1:]]
        else:
            out[old] = v
    return out


# ---- the order of reasons ------------------------------------------------------------------------


def _steps(w: World, m: Model) -> tuple[str, ...] | None:
    """The longest chain of the rules that a model names in which each rests on the one before, and
    not the other way round.
    """
    fact, thing = place(str(m.d["order"]), m, " of ")
    x = w.things.get(thing)
    if x is None or x[w.k.words.kinds[x[0].kind].words[fact].slot] is None:
        return None
    e = Explainer(w, bare=True)
    e.fact(x, fact)
    at = _standing(e.g, [str(rule) for rule in as_list(m.d["options"])])
    down: dict[str, list[str]] = {i: [] for i in e.g.nodes}
    for above, below, _ in e.g.edges:
        down[above].append(below)
    rests = {rule: _met(down, at, rule) for rule in at}
    before = {a: [b for b in at if b in rests[a] and a not in rests[b]] for a in at}
    longest: dict[str, tuple[str, ...]] = {}

    def chain(rule: str) -> tuple[str, ...]:
        if rule not in longest:
            longest[rule] = (*max(map(chain, before[rule]), key=len, default=()), rule)
        return longest[rule]

    return max((chain(rule) for rule in at if at[rule]), key=len, default=())


def _standing(graph: Graph, rules: list[str]) -> dict[str, list[str]]:
    """The nodes of a derivation at which each of *rules* stands with an answer."""
    at: dict[str, list[str]] = {rule: [] for rule in rules}
    for i, node in graph.nodes.items():
        is_rule = node.kind in ("rule", "pick") and node.data["rule"] in at
        if is_rule and node.data.get("answer") not in (OFF, TELL):
            at[node.data["rule"]].append(i)
    return at


def _met(down: dict[str, list[str]], at: dict[str, list[str]], rule: str) -> set[str]:
    """Of the rules that stand *at* nodes of a derivation, those that *rule* rests on in any number
    of steps, wherever it stands.
    """
    where = {i: r for r, nodes in at.items() for i in nodes}
    seen: set[str] = set()
    stack = list(at[rule])
    while stack:
        for below in down[stack.pop()]:
            for n in at[where[below]] if below in where else (below,):
                if n not in seen:
                    seen.add(n)
                    stack.append(n)
    return {where[i] for i in seen if i in where}


def _ordered(
    maker: Maker, m: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """Order the reasons: what is wrong here is an order, and no option."""
    rules = maker.concluded(m, maker.settled(m, body).lawful(), True)[0]
    if rules is None or len(rules) < 3:
        return None
    options = [Option(maker.k.rules[i].said, i, True) for i in rules]
    key = Option(" / ".join(option.text for option in options), rules, True)
    rng.shuffle(options)
    return Made(key, options, all_offered=True)


MakesOne: TypeAlias = Callable[
    [Maker, Model, Mapping, dict[str, str], random.Random, str], Made | None
]
_MAKERS: dict[str, MakesOne] = {
    "asks": _by_value,
    "judges": _by_value,
    "governs": _governs,
    "findings": _findings,
    "missing": _missing,
    "under": _under,
    "mends": _mends,
    "order": _ordered,
}
