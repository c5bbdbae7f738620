"""The instances of a question model, each from a seed: the facts are drawn, and the key is what the
rules in force conclude.

No answer is typed in. A wrong option is what the same rules conclude under a belief; where a kind
of question has no belief to offer, an option says what is wrong with it and names none. The same
seed gives the same question, byte for byte.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from typing import NamedTuple

from ..answering.verdicts import (
    PASSED,
    alike,
    answer_on,
    limit_text,
)
from ..basics.errors import Fault, Faults, Place, suggest
from ..basics.reading import Mapping
from ..language.knowledge import Knowledge
from ..language.rules import Rule
from ..language.words import as_list
from ..running.chain import FAILS, World
from ..running.job import Job, read_job
from ..running.rerun import run_part
from .asked import Model, cone, drawn, filled, read_anew
from .beliefs import Belief, held
from .draws import Settled
from .kinds.registry import kind_asked
from .models import starts
from .questions import Draw, Instance, Made, Value, chosen
from .stems import stems

TRIES = 25  # draws of facts before a seed is given up
FEW = 12  # draws that come to something, which show where the key of a model can stand
KEPT = 4  # runs of a model that are kept, where its draws are not all of the same things


def with_articles(text: str) -> str:
    """*text* with `an` before what is spoken with a vowel: an 8 AWG wire, an EMT, an RMC. An `A`
    within a sentence is amperes.
    """
    return re.sub(
        r"(\ba|(?:^|(?<=[.:] ))A) (?=8|1[18]\b|un(?!i)|(?!one\b|one-)[aeioAEIO]|[FHLMNRSX][A-Z-])",
        r"\1n ",
        text,
    )


def asked_besides(made: Made) -> str:
    """What a stem asks for besides what its model says: the number, where yes or no would be no
    choice.
    """
    if not made.asks:
        return ""
    said = str(stems()["asks"][made.asks])
    return " " + filled(said, {"limit": limit_text(made.key.value).removesuffix(".")})


class Held(NamedTuple):
    """The law as somebody has it who holds beliefs."""

    k: Knowledge | None  # None where they cannot be held
    changed: frozenset[str] | None  # the rules it has otherwise; None: its cells lie elsewhere


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
        self._stands: dict[tuple[str, int | None, str], bool] = {}
        self._few: dict[tuple[str, str], list[Made]] = {}
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
        # each run kept is a whole job: the draws of a model mostly share one or two shapes
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
                # told of one thing and not of the next, a fact may still be filled: the rule that
                # does so has to run
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
        return kind_asked(model).concludes(self, model, body, *names)

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
        return kind_asked(model).concluded(model, world, lawful, off_counts)

    def chooses(self, question: Instance, *names: str) -> list[Value]:
        """What somebody who holds beliefs would choose of a question: the values any of which fits;
        [] where nothing does.
        """
        return kind_asked(question.model).chooses(self, question, *names)

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
        said = kind_asked(model).rules_asked(model)
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
        # by all that names the question: the same name gives the same question, byte for byte, on
        # any machine
        rng = random.Random(f"{model.name}:{seed}:{position}:{only}")
        for _ in range(TRIES):
            facts = drawn(model, rng)
            body = filled(model.job, facts)
            if "keeps" in model.d and not self.kept(model, self.settled(model, body)):
                continue
            draw = Draw(model, body, facts, rng, only)
            made = kind_asked(model).make(self, draw)
            options = made and chosen(made, position, only, rng)
            if made is None or options is None:
                continue
            digits = alike(options, made.unit, made.written)
            texts = {option.text for option in options}
            # the whole job last: it is the dearest to run
            if len(texts) == len(options) and self.sound(model, body):
                said = {"edition": self.k.edition, "other": self.there.said if self.there else ""}
                stem = with_articles(filled(model.stem, {**facts, **said}))
                stem += asked_besides(made)
                return Instance(
                    model,
                    seed,
                    facts,
                    stem,
                    made.key,
                    options,
                    body,
                    made.unit,
                    position,
                    filled(model.d["picture"], facts) if "picture" in model.d else None,
                    made.asks,
                    only,
                    digits,
                )
        return None

    def stands(self, model: Model, spot: int | None, only: str = "") -> bool:
        """Whether the key of a model can stand at a spot, as far as a few draws of it show."""
        key = model.name, spot, only
        if key not in self._stands:
            rng = random.Random(f"{model.name}:{only}")
            self._stands[key] = any(
                chosen(made, spot, only, rng) is not None for made in self._few_of(model, only)
            )
        return self._stands[key]

    def _few_of(self, model: Model, only: str) -> list[Made]:
        """What a few draws of a model come to, wherever the key is to stand: the same for every
        spot, since running them is what is dear.
        """
        if (model.name, only) not in self._few:
            rng = random.Random(f"{model.name}:few:{only}")
            few = self._few[model.name, only] = []
            for _ in range(2 * TRIES):
                if len(few) == FEW:
                    break
                facts = drawn(model, rng)
                body = filled(model.job, facts)
                if "keeps" not in model.d or self.kept(model, self.settled(model, body)):
                    made = kind_asked(model).make(self, Draw(model, body, facts, rng, only))
                    few += [made] if made is not None else []
        return self._few[model.name, only]

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
