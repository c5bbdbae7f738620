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

    def _is_number(self, value: Value) -> bool:
        """Whether a value is shown with the digits of this question: a verdict has its own."""
        return not isinstance(value, tuple) and is_plain(value, self.unit)

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
        out = Mapping((key, filled(value, facts)) for key, value in template.items())
        out.at = place_of(template)
        return out
    if isinstance(template, list):
        return [filled(value, facts) for value in template]
    return re.sub(r"\{([^{}]+)\}", lambda match: facts.get(match[1], match[0]), str(template))


def with_articles(text: str) -> str:
    """*text* with `an` before what is spoken with a vowel: an 8 AWG wire, an EMT, an RMC. An `A`
    within a sentence is amperes.
    """
    return re.sub(
        r"(\ba|(?:^|(?<=[.:] ))A) (?=8|1[18]\b|un(?!i)|(?!one\b|one-)[aeioAEIO]|[FHLMNRSX][A-Z-])",
        r"\1n ",
        text,
    )


def drawn(model: Model, rng: random.Random) -> dict[str, str]:
    """One draw of a model's facts."""
    facts: dict[str, str] = {}
    for name, values in model.draws.items():
        value = rng.choice(values)
        facts.update(value if isinstance(value, dict) else {name: value})
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
        knowledge: Knowledge,
        beliefs: dict[str, Belief],
        other: Knowledge | None = None,
        said: str = "",
        other_said: str = "",
    ) -> None:
        self.k, self.beliefs = knowledge, beliefs
        self.said = said or f"the {knowledge.edition} edition"
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
        for r in knowledge.rules.values():
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
                knowledge = held(self.k, *(self.beliefs[n] for n in names))
            except (Fault, Faults):
                self._held[names] = Held(None, None)
            else:
                self._held[names] = Held(knowledge, self._otherwise(knowledge))
        return self._held[names]

    def _otherwise(self, knowledge: Knowledge) -> frozenset[str] | None:
        """The rules that *knowledge* has otherwise; None where its cells lie elsewhere."""
        if knowledge.slots is not self.k.slots:
            return None
        return frozenset(
            i for i in knowledge.rules if knowledge.rules[i] is not self.k.rules.get(i)
        )

    def relevant(self, model: Model) -> list[str]:
        """The beliefs that could change the answer of a model."""
        named = [str(n) for n in as_list(model.d.get("beliefs"))]
        if named:
            return [n for n in named if n in self.beliefs]
        return [n for n, belief in self.beliefs.items() if belief.touches & model.touched]

    # ---- runs
    def nodes(self, model: Model, told: frozenset) -> frozenset:
        """The nodes of the order that a model rests on, under the law and under its beliefs, where
        some facts are *told*.
        """
        if (model.name, told) not in self._nodes:
            read = set()
            for n in self.relevant(model):
                knowledge, changed = self._believed((n,))
                if knowledge is not None and changed:
                    read |= read_anew(self.k, knowledge, changed)
            self._nodes[model.name, told] = cone(self.k, [*starts(model, self.k), *read], told)
        return self._nodes[model.name, told]

    def settled(self, model: Model, body: Mapping) -> Settled:
        """The run of *body*, as far as *model* asks: one that was kept and takes over these facts,
        or a new one.
        """
        if self._at is not None and self._at[0] is body and self._at[1] == model.name:
            return self._at[2]
        settled = self._settle(model, body)
        self._at = body, model.name, settled
        return settled

    def _settle(self, model: Model, body: Mapping) -> Settled:
        runs = self._runs.setdefault(model.name, [])
        for settled in runs:
            if settled.tells(body):
                return settled
        job = read_job(body, self.k, "question")
        told = self._told(job)
        nodes = self.nodes(model, told)
        for settled in runs:
            if settled.nodes is nodes and settled.takes(job):
                return settled
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

    def under(self, settled: Settled, model: Model, body: Mapping, *names: str) -> World | None:
        """The run as somebody has it who holds beliefs; None where they cannot be held."""
        if not names:
            return settled.lawful()
        knowledge, changed = self._believed(names)
        if knowledge is None:
            return None
        # put together anew: its cells lie elsewhere
        if changed is None:
            return run_part(
                knowledge,
                read_job(body, knowledge, "question"),
                cone(knowledge, starts(model, knowledge)),
            )
        return settled.under(knowledge, changed)

    # ---- what is concluded
    def concludes(self, model: Model, body: Mapping, *names: str) -> Value:
        """What *model* asks, as the rules have it under beliefs: a value, a verdict, rules that
        fail; None where it cannot be told.
        """
        if model.kind == "mends":
            return self._mending(model, body, *names)
        if model.kind == "under":
            return self.elsewhere.concludes(_as_asked(model), body, *names)
        world = self.under(self.settled(model, body), model, body, *names)
        return None if world is None else self.concluded(model, world, not names)[0]

    @property
    def elsewhere(self) -> Maker:
        """The maker under the other law: who asks what that law says has one."""
        assert self.there is not None
        return self.there

    def valued(
        self, model: Model, body: Mapping, facts: dict[str, str], *names: str
    ) -> tuple[Value, str]:
        """What a question of one value comes to under a belief, and its unit: worked out once for a
        draw, which may come again.
        """
        key = model.name, names, *facts.items()
        if key not in self._valued:
            world = self.under(self.settled(model, body), model, body, *names)
            self._valued[key] = (
                (None, "") if world is None else self.concluded(model, world, not names)
            )
        return self._valued[key]

    def believed(
        self, model: Model, settled: Settled, body: Mapping, rng: random.Random, only: str
    ) -> Iterator[tuple[str, Value]]:
        """Each belief in its turn with what *model* asks as a believer has it; None where that
        cannot be told.
        """
        for name in self.in_turn(model, rng, only):
            world = self.under(settled, model, body, name)
            yield name, None if world is None else self.concluded(model, world, False)[0]

    def concluded(
        self, model: Model, world: World, lawful: bool, off_counts: bool = False
    ) -> tuple[Value, str]:
        """(what is concluded, its unit)."""
        if "asks" in model.d:
            return _fact_asked(model, world)
        if "judges" in model.d:
            return verdict_on(world, str(model.d["judges"]), lawful, off_counts), ""
        if model.kind == "missing":
            return _asked_for(world, str(model.d["missing"])), ""
        if model.kind == "order":
            return _steps(world, model), ""
        return _failing(model, world), ""

    def _mending(self, model: Model, body: Mapping, *names: str) -> tuple[str, ...] | None:
        """The changes after which the rule passes, as somebody sees it who holds beliefs."""
        said = str(model.d["mends"])
        world = self.under(self.settled(model, body), model, body, *names)
        # to whom it is right as it stands mends nothing
        if world is None or answer_on(world, said) not in (FAILS, ADVICE):
            return None
        good = (*PASSED, OFF) if names else PASSED
        mending = []
        for text, change in model.d["options"].items():
            after = changed(body, change)
            mended = self.under(self.settled(model, after), model, after, *names)
            if mended is not None and answer_on(mended, said) in good:
                mending.append(str(text))
        return tuple(mending)

    def chooses(self, question: Instance, *names: str) -> list[Value]:
        """What somebody who holds beliefs would choose of a question: the values any of which fits;
        [] where nothing does.
        """
        kind = question.model.kind
        got = self.concludes(
            _with_options(question) if kind == "mends" else question.model, question.body, *names
        )
        if got is None:
            return []
        if kind == "governs":
            return [got[0]] if len(got) == 1 else [NOTHING_FAILS] if not got else []
        return list(got) if kind == "mends" else [got]

    def kept(self, model: Model, settled: Settled) -> bool:
        """Whether a draw is one that a job would have: the rules that the model `keeps` pass on
        it.
        """
        return "keeps" not in model.d or all(
            answer_on(settled.lawful(), str(said)) in PASSED for said in as_list(model.d["keeps"])
        )

    def sound(self, model: Model, body: Mapping) -> bool:
        """Whether nothing fails on the whole job but what *model* asks about: a key that the job's
        own inspection contradicts teaches what is wrong.
        """
        said = [str(one) for kind in ASKED for one in as_list(model.d.get(kind))]
        asked = {tuple(part.strip() for part in one.split(" on ")) for one in said}
        return self._failures_on(model, body) <= asked

    def _failures_on(self, model: Model, body: Mapping) -> frozenset[tuple[str, str]]:
        """The requirements that fail on the whole job, each with its thing. A job may come again,
        and of another model: it is the same job.
        """
        job = repr(body)
        if job not in self._failures:
            world = self._whole(model, body)
            self._failures[job] = frozenset(
                (r.id, x[0].id)
                for kind, things in world.by_kind.items()
                if things
                for r in self._musts.get(kind, ())
                for x in things
                # the answer that is shown is asked only where the cell says that it may fail
                if x[self.k.slots[r.id]] == FAILS and world.answer(r, x) == FAILS
            )
        return self._failures[job]

    def _whole(self, model: Model, body: Mapping) -> World:
        """The whole job run: of one model's jobs only what the facts of the next move."""
        settled = self._wholes.get(model.name)
        if settled is None or not settled.tells(body):
            job = read_job(body, self.k, "question")
            nodes = self._behind_requirements(job)
            if settled is None or settled.nodes is not nodes or not settled.takes(job):
                self._wholes[model.name] = settled = Settled(self.k, job, nodes)
        return settled.lawful()

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
        self, model: Model, seed: int, position: int | None = None, only: str = ""
    ) -> Instance | None:
        """The instance of *model* from *seed*; None where no draw gives a key and two wrong options
        that differ.

        *position* asks for the place of the key among the options, *only* for a belief that must be
        among them.
        """
        rng = random.Random(f"{model.name}:{seed}:{position}:{only}")
        for _ in range(TRIES):
            facts = drawn(model, rng)
            body = filled(model.job, facts)
            if "keeps" in model.d and not self.kept(model, self.settled(model, body)):
                continue
            made = _MAKERS[model.kind](self, model, body, facts, rng, only)
            chosen = made and _chosen(made, position, only, rng)
            if made is None or chosen is None:
                continue
            digits = alike(chosen, made.unit)
            texts = {option.text for option in chosen}
            # the whole job last: it is the dearest to run
            if len(texts) == len(chosen) and self.sound(model, body):
                said = {"edition": self.k.edition, "other": self.there.said if self.there else ""}
                stem = with_articles(filled(model.stem, {**facts, **said}))
                return Instance(
                    model,
                    seed,
                    facts,
                    stem,
                    made.key,
                    chosen,
                    body,
                    made.unit,
                    position,
                    only,
                    digits,
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

    def in_turn(self, model: Model, rng: random.Random, only: str) -> list[str]:
        """The beliefs of a model in the order in which they are tried."""
        names = self.relevant(model)
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


def _order_of(knowledge: Knowledge, model: Model, value: Value) -> Order | None:
    """How the values of what is asked are ordered: as numbers, or as the rows of their table."""
    if "asks" in model.d and isinstance(value, str):
        fact, thing = place(str(model.d["asks"]), model, " of ")
        type_ = knowledge.words.kinds[kind_of(thing, knowledge)].words[fact].type
        if type_[0] == "row":
            return _rows_of(knowledge, type_).get
    return None if isinstance(value, (str, bool, Verdict)) else (lambda x: x)


def _rows_of(knowledge: Knowledge, type_: Type) -> dict[str, int]:
    """The values of a word that is a row of a table, in their order."""
    table = knowledge.tables[type_[1]]
    return table.order("size" if "size" in table.keys else next(iter(table.keys)))


def _key(value: Value, unit: str = "", text: str = "") -> Option:
    return Option(text or text_of(value, unit), value, True)


def _believed_option(
    maker: Maker, name: str, value: Value, unit: str = "", text: str = ""
) -> Option:
    return Option(text or text_of(value, unit), value, False, name, maker.beliefs[name].says)


# ---- what is concluded, by what is asked ---------------------------------------------------------


def _fact_asked(model: Model, world: World) -> tuple[Value, str]:
    """The value of a fact and the unit it is shown in; None where it is not one plain value."""
    fact, thing = place(str(model.d["asks"]), model, " of ")
    x = world.things.get(thing)
    if x is None:
        return None, ""
    word = world.k.words.kinds[x[0].kind].words[fact]
    value = x[word.slot]
    if value is None or value is NONE or isinstance(value, (Range, list)):
        return None, ""
    return value, str(model.d.get("unit", "")) or unit_shown(x, fact, word.unit) or ""


def _answers(model: Model, world: World) -> dict[str, str | None]:
    """The answer of each rule that a model lists, by `RULE on THING`."""
    return {said: answer_on(world, said) for said in map(str, as_list(model.d[model.kind]))}


def _rule_of(said: str) -> str:
    """The rule of `RULE on THING`."""
    return said.partition(" on ")[0].strip()


def _failing(model: Model, world: World) -> tuple[str, ...] | None:
    """The rules that fail or warn, of those that a model lists; None while one cannot tell."""
    answers = _answers(model, world)
    if any(answer is None or answer == TELL for answer in answers.values()):
        return None
    failing = [_rule_of(said) for said, answer in answers.items() if answer in (FAILS, WARNS)]
    return tuple(dict.fromkeys(failing))


# ---- the kinds of questions ----------------------------------------------------------------------


def _by_value(
    maker: Maker, model: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """A number or a verdict: each wrong option is another belief's value on the same facts."""
    value, unit = maker.valued(model, body, facts)
    if value is None:
        return None
    wrong: dict[Value, str] = {}
    for n in maker.in_turn(model, rng, only):
        other = maker.valued(model, body, facts, n)[0]
        if other is None or same_text(other, value, unit):
            if n == only:
                return None
            continue
        if not any(same_text(other, o, unit) for o in wrong):
            wrong[other] = n
        if len(wrong) > 4:
            break
    options = [_believed_option(maker, n, o, unit) for o, n in wrong.items()]
    return Made(_key(value, unit), options, _order_of(maker.k, model, value), unit)


def _governs(
    maker: Maker, model: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """Which rule governs: the one that fails while all others pass; wrong is what fails for a
    believer, or that nothing does.
    """
    settled = maker.settled(model, body)
    got = maker.concluded(model, settled.lawful(), True)[0]
    if got is None or len(got) != 1:
        return None
    answers = {_rule_of(said): answer for said, answer in _answers(model, settled.lawful()).items()}
    passing = [i for i, answer in answers.items() if answer in PASSED and i != got[0]]
    found = _governing_to_believers(maker.believed(model, settled, body, rng, only), got)
    if not found:
        return None

    def text(i: str) -> str:
        if i == NOTHING_FAILS:
            return "None of them: it is right as planned."
        return _label(model, maker.k.rules[i])

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
    maker: Maker, model: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """Pick all that fail (or all cautions that belong there)."""
    return _picked(maker, model, body, rng, only)


class Elsewhere(NamedTuple):
    """What applies under another law, which a learner may still have in mind."""

    law: str
    failing: tuple[str, ...]


def _picked(
    maker: Maker,
    model: Model,
    body: Mapping,
    rng: random.Random,
    only: str,
    elsewhere: Elsewhere | None = None,
) -> Made | None:
    """All that apply: a wrong one is what a belief adds; of a right one it is said which belief
    leaves it out.
    """
    settled = maker.settled(model, body)
    failing = maker.concluded(model, settled.lawful(), True)[0]
    if not failing:
        return None
    adds, drops = _apart_from(failing, maker.believed(model, settled, body, rng, only))
    if only and only not in (*adds.values(), *drops.values()):
        return None
    # where neither a belief nor another law errs, nothing is wrong for a reason
    errs = bool(adds or drops) if elsewhere is None else elsewhere.failing != failing
    offered = _offered(maker, model, settled, adds, elsewhere)
    if not errs or len(offered) < 3 or len(failing) == len(offered):
        return None
    rules = {i: maker.k.rules.get(i) or maker.k.absent[i] for i in offered}
    options = [
        Option(
            _label(model, rule),
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
    maker: Maker, model: Model, settled: Settled, adds: dict[str, str], elsewhere: Elsewhere | None
) -> list[str]:
    """The rules that are offered: what does not apply is none of them, but for a caution, which is
    of other work then, and for what somebody else would pick.
    """
    answers = {
        _rule_of(said): answer_on(settled.lawful(), said)
        for said in map(str, as_list(model.d["findings"]))
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
        return f"That holds under {elsewhere.law}."
    if rule.d.get("warns"):
        return "It does not belong to this work."
    return "It is met, or does not apply."


def _label(model: Model, r: Rule) -> str:
    """What a rule is called among options: as the model says, since the rule's own sentence may
    hold the number that is asked for.
    """
    return str((model.d.get("options") or {}).get(r.id) or r.d.get("warns") or r.said)


def _asked_for(world: World, said: str) -> tuple[str, str] | None:
    """What must be learned before `RULE on THING` is decided: ("ask", question), or ("told",
    answer); None where it is several.
    """
    rule, _, thing = said.partition(" on ")
    r, x = world.k.rules.get(rule.strip()), world.things.get(thing.strip())
    if x is None:
        return None
    answer = OFF if r is None else world.answer(r, x)
    if r is None or answer != TELL:
        return "told", "passes" if answer in (*PASSED, OFF) else "fails"
    missing = needs(world, r, x)
    return ("ask", missing[0].ask) if len(missing) == 1 and missing[0].ask else None


def _turns(
    maker: Maker, model: Model, settled: Settled, body: Mapping, facts: dict[str, str]
) -> bool:
    """Whether what is missing can turn the answer: told each value it can have, the rule passes (or
    does not apply) with one and fails with another.

    What a quantity could be the model says under `told`; where it does not, nothing is tried.
    """
    said = str(model.d["missing"])
    if "told" in model.d:
        answers = {
            answer_on(maker.settled(model, changed(body, filled(change, facts))).lawful(), said)
            for change in model.d["told"]
        }
    else:
        rule, _, thing = said.partition(" on ")
        need = needs(
            settled.lawful(), maker.k.rules[rule.strip()], settled.w.things[thing.strip()]
        )[0]
        kind = settled.w.things[need.of][0].kind
        values = _could_be(maker.k, maker.k.words.kinds[kind].words[need.fact])
        if values is None:
            return True
        answers = set()
        for value in values:
            job = read_job(body, maker.k, "question")
            tell(job, [(need.of, need.fact, value)])
            answers.add(answer_on(run_part(maker.k, job, settled.nodes), said))
    return not answers.isdisjoint((FAILS, ADVICE)) and not answers.isdisjoint((*PASSED, OFF))


def _could_be(knowledge: Knowledge, word: Word) -> list[Value] | None:
    """Every value that a fact can have; None where it is a quantity."""
    if word.type[0] == "row":
        return list(_rows_of(knowledge, word.type))
    if word.type[0] == "flag":
        return [True, False]
    return list(word.type[1]) if word.type[0] == "choice" else None


# What is answered where nothing more need be asked.
TOLD = {
    ("told", "passes"): "Nothing more: it passes as described.",
    ("told", "fails"): "Nothing more: it fails as described.",
}


def _missing(
    maker: Maker, model: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """What is missing: the one question that settles it; wrong is what a believer would ask, or
    that nothing need be asked.
    """
    settled = maker.settled(model, body)
    got = maker.concluded(model, settled.lawful(), True)[0]
    if got is None or got[0] != "ask" or not _turns(maker, model, settled, body, facts):
        return None
    found: dict[tuple[str, str], str] = {}
    for n, other in maker.believed(model, settled, body, rng, only):
        if other is not None and other != got:
            found.setdefault(other, n)
    wrong = [
        _believed_option(maker, n, value, text=TOLD.get(value) or value[1])
        for value, n in found.items()
    ]
    for question, change in _others_asked(model, facts, rng):
        if len(wrong) >= MOST_WRONG:
            break
        if ("ask", question) in found:
            continue
        learned = changed(body, change)
        # only what leaves the answer open is wrong to ask
        if maker.concluded(model, maker.settled(model, learned).lawful(), True)[0] == got:
            says = "With that told as well, the answer is still open."
            wrong.append(Option(question, ("ask", question), says=says))
    if not found and maker.relevant(model):
        return None
    return Made(_key(got, text=got[1]), wrong)


def _others_asked(
    model: Model, facts: dict[str, str], rng: random.Random
) -> list[tuple[str, Mapping]]:
    """What else one might ask, by the model, each with what would be learned; in a drawn order."""
    options = model.d.get("options") or {}
    others = [(str(question), filled(change, facts)) for question, change in options.items()]
    rng.shuffle(others)
    return others


def _under(
    maker: Maker, model: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """What another law says of the same facts: the answer of the law at hand is a wrong option, and
    what beliefs make there.
    """
    if maker.there is None:
        return None
    there, asked = maker.there, _as_asked(model)
    if asked.kind == "findings":
        failing = maker.concluded(asked, maker.settled(asked, body).lawful(), True)[0]
        if failing is None:
            return None
        return _picked(there, asked, body, rng, only, Elsewhere(maker.said, failing))
    settled = there.settled(asked, body)
    v, unit = there.concluded(asked, settled.lawful(), True, True)
    here = maker.concluded(asked, maker.settled(asked, body).lawful(), True, True)[0]
    if v is None or here is None or same_text(v, here, unit):
        return None
    wrong = [Option(text_of(here, unit), here, says=f"That is the answer under {maker.said}.")]
    for n, other in there.believed(asked, settled, body, rng, only):
        if other is not None and not any(
            same_text(other, value, unit) for value in (v, *(o.value for o in wrong))
        ):
            wrong.append(_believed_option(maker, n, other, unit))
    return Made(_key(v, unit), wrong, _order_of(there.k, model, v), unit)


def _as_asked(model: Model) -> Model:
    """The model as the other law answers it: its question, without the comparison."""
    return replace(
        model, kind=next(kind for kind in ("asks", "judges", "findings") if kind in model.d)
    )


def _filled_options(model: Model, facts: dict[str, str]) -> dict[str, Mapping]:
    """The changes that a question offers on a draw, by what is said of each."""
    return {
        filled(text, facts): filled(change, facts) for text, change in model.d["options"].items()
    }


def _with_options(question: Instance) -> Model:
    """The model of a question about changes, with those changes alone that the question offers."""
    offered = {option.value for option in question.options}
    every = _filled_options(question.model, question.facts)
    options = {text: change for text, change in every.items() if text in offered}
    return replace(
        question.model, kind="mends", d=Mapping({**question.model.d, "options": options})
    )


def _mends(
    maker: Maker, model: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """What would make it legal: each option is a change to the job; one of those offered lets the
    rule pass, others do for a believer.
    """
    said = str(model.d["mends"])
    settled = maker.settled(model, body)
    if answer_on(settled.lawful(), said) not in (FAILS, ADVICE):
        return None
    # to others nothing is to be mended
    names = [
        n
        for n in maker.in_turn(model, rng, only)
        if _answer_under(maker, settled, model, body, n) in (FAILS, ADVICE)
    ]
    right: list[str] = []
    found: dict[str, str] = {}
    rest: list[str] = []
    for text, change in _filled_options(model, facts).items():
        after = changed(body, change)
        settled = maker.settled(model, after)
        if answer_on(settled.lawful(), said) in PASSED:
            right.append(text)
            continue
        passes = (
            n for n in names if _answer_under(maker, settled, model, after, n) in (*PASSED, OFF)
        )
        holder = next(passes, "")
        if holder:
            found[text] = holder
        else:
            rest.append(text)
    says = f"It fails as before: {small(maker.k.rules[_rule_of(said)].said)}"
    fails = [Option(text, text, says=says) for text in rest]
    rng.shuffle(fails)
    if not right or (not found and maker.relevant(model)):
        return None
    key = rng.choice(right)
    wrong = [_believed_option(maker, n, text, text=text) for text, n in found.items()]
    return Made(_key(key, text=key), wrong + fails)


def _answer_under(
    maker: Maker, settled: Settled, model: Model, body: Mapping, name: str
) -> str | None:
    """The answer on what is to be mended, as a believer has it; None where none can be had."""
    world = maker.under(settled, model, body, name)
    return None if world is None else answer_on(world, str(model.d["mends"]))


def changed(body: Mapping, change: dict[str, Any]) -> Mapping:
    """*body* with what *change* says put over it, at any depth; a list takes the change in its
    first item.
    """
    out = Mapping(body)
    for key, value in change.items():
        old = next((o for o in out if str(o) == str(key)), key)
        if isinstance(value, dict) and isinstance(out.get(old), dict):
            out[old] = changed(out[old], value)
        elif isinstance(value, dict) and isinstance(out.get(old), list) and out[old]:
            out[old] = [changed(out[old][0], value), *out[old][1:]]
        else:
            out[old] = value
    return out


# ---- the order of reasons ------------------------------------------------------------------------


def _steps(world: World, model: Model) -> tuple[str, ...] | None:
    """The longest chain of the rules that a model names in which each rests on the one before, and
    not the other way round.
    """
    fact, thing = place(str(model.d["order"]), model, " of ")
    x = world.things.get(thing)
    if x is None or x[world.k.words.kinds[x[0].kind].words[fact].slot] is None:
        return None
    e = Explainer(world, bare=True)
    e.fact(x, fact)
    at = _standing(e.g, [str(rule) for rule in as_list(model.d["options"])])
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
    maker: Maker, model: Model, body: Mapping, facts: dict[str, str], rng: random.Random, only: str
) -> Made | None:
    """Order the reasons: what is wrong here is an order, and no option."""
    rules = maker.concluded(model, maker.settled(model, body).lawful(), True)[0]
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
