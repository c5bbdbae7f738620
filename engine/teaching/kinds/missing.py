"""`missing`: what must be learned before a rule can be judged."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

from ...answering.findings import needs
from ...answering.verdicts import PASSED, answer_on
from ...basics.reading import Mapping
from ...language.knowledge import Knowledge
from ...language.words import Word
from ...running.chain import ADVICE, FAILS, OFF, TELL, World
from ...running.job import read_job
from ...running.rerun import run_part, tell
from ..asked import Model, changed, filled
from ..questions import MOST_WRONG, Draw, Made, Option, Value
from .kind import (
    Kind,
    believed_option,
    key_option,
    rows_of,
    rule_of,
)

if TYPE_CHECKING:
    from ..draws import Settled
    from ..instances import Maker


# What is answered where nothing more need be asked.
TOLD = {
    ("told", "passes"): "Nothing more: it passes as described.",
    ("told", "fails"): "Nothing more: it fails as described.",
}


class Missing(Kind):
    """One question settles `RULE on THING`; wrong is what else one might ask, or nothing."""

    name = "missing"
    asks_what_is_open = True

    def about(self, model: Model) -> str:
        return rule_of(self.lines(model)[0])

    def concluded(
        self, model: Model, world: World, lawful: bool, off_counts: bool
    ) -> tuple[Value, str]:
        return _asked_for(world, str(model.d["missing"])), ""

    def make(self, maker: Maker, draw: Draw) -> Made | None:
        """What is missing: the one question that settles it, or nothing; wrong is what a believer
        would ask, or would not.
        """
        model, body, facts, rng, only = draw.model, draw.body, draw.facts, draw.rng, draw.only
        settled = maker.settled(model, body)
        raw = maker.concluded(model, settled.lawful(), True)[0]
        got = _settled_by(maker, model, settled, body, facts, raw)
        if got is None or raw is None:
            return None
        asks = got[0] == "ask"
        found: dict[tuple[str, str], str] = {}
        for n, other in maker.believed(model, settled, body, rng, only):
            if other is not None and other not in (got, raw):
                found.setdefault(other, n)
        wrong = [
            believed_option(maker, n, value, text=TOLD.get(value) or value[1])
            for value, n in found.items()
        ]
        if raw != got:
            says = "Whatever the answer to that is, it comes out the same."
            wrong.insert(0, Option(raw[1], raw, says=says))
        for question, change in _others_asked(model, facts, rng):
            if len(wrong) >= MOST_WRONG:
                break
            # a believer asks it already, and says why
            if ("ask", question) in found:
                continue
            learned = changed(body, change)
            # only what leaves the answer open is wrong to ask
            if maker.concluded(model, maker.settled(model, learned).lawful(), True)[0] == raw:
                says = (
                    f"With that told as well, the answer is {'still open' if asks else 'the same'}."
                )
                wrong.append(Option(question, ("ask", question), says=says))
        # where beliefs could err and none does, the draw is not worth asking
        if asks and not found and maker.relevant(model):
            return None
        return Made(key_option(got, text=TOLD.get(got) or got[1]), wrong)


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


def _settled_by(
    maker: Maker,
    model: Model,
    settled: Settled,
    body: Mapping,
    facts: dict[str, str],
    got: tuple[str, str] | None,
) -> tuple[str, str] | None:
    """What has to be learned, or that nothing has, where the rule passes or fails with every value
    which that can have; None where there is no saying.

    What a quantity could be the model says under `told`.
    """
    said = str(model.d["missing"])
    if got is None or got[0] != "ask":
        return got
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
            return got
        answers = set()
        for value in values:
            job = read_job(body, maker.k, "question")
            tell(job, [(need.of, need.fact, value)])
            answers.add(answer_on(run_part(maker.k, job, settled.nodes), said))
    if answers <= {*PASSED}:
        return "told", "passes"
    if answers == {FAILS}:
        return "told", "fails"
    decides = not answers.isdisjoint((FAILS, ADVICE)) and not answers.isdisjoint((*PASSED, OFF))
    return got if decides else None


def _could_be(knowledge: Knowledge, word: Word) -> list[Value] | None:
    """Every value that a fact can have; None where it is a quantity."""
    if word.type[0] == "row":
        return list(rows_of(knowledge, word.type))
    if word.type[0] == "flag":
        return [True, False]
    return list(word.type[1]) if word.type[0] == "choice" else None


def _others_asked(
    model: Model, facts: dict[str, str], rng: random.Random
) -> list[tuple[str, Mapping]]:
    """What else one might ask, by the model, each with what would be learned; in a drawn order."""
    options = model.d.get("options") or {}
    others = [(str(question), filled(change, facts)) for question, change in options.items()]
    rng.shuffle(others)
    return others
