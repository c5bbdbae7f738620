"""Whether a question can be read in another fair way: what its job tells and its stem does not say,
told otherwise.

What the job of a model states and its stem leaves out a reader may take otherwise. Each such fact
is told otherwise, and an option that would be right then is no wrong option. What the rules assume
where nobody tells is printed on the paper.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from dataclasses import dataclass

from ..basics.sentinels import NONE
from ..basics.units import POINTS
from ..language.knowledge import Knowledge
from ..language.things import Thing
from ..language.words import Word
from ..proving.graph import Explainer, show
from ..running.job import read_job
from ..running.rerun import run_part, tell
from .asked import drawn, filled
from .draws import Settled
from .instances import Maker
from .kinds.registry import kind_asked
from .questions import Instance, Option, Value
from .stems import stems


@dataclass
class Reading:
    """A fact told otherwise, and the wrong option that it makes right."""

    of: str
    fact: str
    value: str
    option: Option


def other_readings(maker: Maker, q: Instance) -> list[Reading]:
    """The readings of a question under which an option that is offered as wrong would be right."""
    if kind_asked(q.model).asks_what_is_open:
        return []
    m, nodes = q.model, maker.nodes(q.model, frozenset())
    kept: Settled | None = None
    out: list[Reading] = []
    for of, word, other in _told_otherwise(maker, q):
        job = read_job(q.body, maker.k, "question")
        tell(job, [(of, word.name, other)])
        if kept is None or not kept.takes(job):
            kept = Settled(maker.k, job, nodes)
        got = maker.concluded(m, kept.lawful(), True)[0]
        if got is None:
            continue
        out += [
            Reading(of, word.name, show(other, word.unit), option)
            for option in q.options
            if not option.right and kind_asked(q.model).makes_right(q, got, option)
        ]
    return out


def _told_otherwise(maker: Maker, q: Instance) -> Iterator[tuple[str, Word, Value]]:
    """Each fact that the job tells and the stem does not say, with each value a reader might take
    it to have.
    """
    if q.model.name not in maker.varied:
        maker.varied[q.model.name] = _varied(maker, q)
    varied = maker.varied[q.model.name]
    for x in read_job(q.body, maker.k, "question").things.values():
        for word in maker.k.words.kinds[x[0].kind].words.values():
            v = x[word.slot]
            if word.name not in x[0].told or v is None or v is NONE or isinstance(v, list):
                continue
            if (x[0].id, word.name) not in varied and not said_in(q, x, word, v):
                for other in others(maker.k, word, v):
                    yield x[0].id, word, other


def _varied(maker: Maker, q: Instance) -> frozenset[tuple[str, str]]:
    """The facts that are drawn: a stem says every draw (`models` sees to it)."""
    told: dict[tuple[str, str], list[Value]] = {}
    rng = random.Random(q.model.name)
    for _ in range(8):
        body = filled(q.model.job, drawn(q.model, rng))
        for x in read_job(body, maker.k, "question").things.values():
            for fact, v in x[0].told.items():
                told.setdefault((x[0].id, fact), []).append(v)
    return frozenset(
        key
        for key, values in told.items()
        if not isinstance(values[0], list) and any(v != values[0] for v in values)
    )


def said_in(q: Instance, x: Thing, word: Word, v: Value) -> bool:
    """Whether the stem says a fact: its value in so many words, or in those in which one says
    it.
    """
    written = x[0].written.get(word.name)
    texts = [show(v, word.unit), *([written[0]] if written else [])]
    if isinstance(v, bool):
        # a yes or no is said by the name of the fact
        if word.name in q.in_words:
            return True
    elif any(t and re.search(rf"(?<!\w){re.escape(t)}(?!\w)", q.in_words, re.I) for t in texts):
        return True
    said = stems()["said"].get(word.name)
    pattern = said.get(show(v, word.unit)) if isinstance(said, dict) else said
    return bool(pattern and re.search(pattern, q.in_words, re.I))


def others(k: Knowledge, word: Word, v: Value) -> list[Value]:
    """The values a fact could have instead, of its kind."""
    if isinstance(v, bool):
        return [not v]
    if word.type[0] == "choice":
        return [choice for choice in word.type[1] if choice != v]
    # half of a temperature means nothing: a column of the ampacity table more or less
    if word.type[0] == "q" and word.unit in POINTS:
        step = int(15 * POINTS["°C"][0])
        return [v + step, v - step]
    if word.type[0] == "q" and not isinstance(v, str):
        return [v * 2, v / 2]
    return []


def assumed_in(maker: Maker, q: Instance) -> list[str]:
    """What the rules assume behind a question because nobody tells it: the rules that say so, as a
    paper prints them.
    """
    if "assumed" not in q.kept:
        q.kept["assumed"] = _assumed_in(maker, q)
    return q.kept["assumed"]


def _assumed_in(maker: Maker, q: Instance) -> list[str]:
    kind = kind_asked(q.model)
    maker = kind.law_of(maker)
    job = read_job(q.body, maker.k, "question")
    e = Explainer(run_part(maker.k, job, maker.nodes(q.model, frozenset())))
    kind.derive(e, q.model)
    by = [
        node.data["by"]
        for node in e.g.nodes.values()
        if node.kind == "fact" and node.data.get("origin") == "assumed"
    ]
    return list(dict.fromkeys(by))


__all__ = ["Reading", "assumed_in", "other_readings"]
