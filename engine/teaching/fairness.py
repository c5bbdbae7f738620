"""Whether a question can be read in another fair way: what its job tells and its stem does not say,
told otherwise.

What the job of a model states and its stem leaves out a reader may take otherwise. Each such fact
is told otherwise, and an option that would be right then is no wrong option. What the rules assume
where nobody tells is printed on the paper.
"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass

from ..basics.sentinels import NONE
from ..basics.units import POINTS
from ..language.words import Word, as_list
from ..proving.graph import Explainer, show
from ..running.job import read_job
from ..running.whatif import tell
from .instances import Instance, Maker, Option, drawn, filled
from .models import KINDS, place
from .trials import Settled, run

# how a stem says a fact that it does not spell out: (fact, value) or fact -> a pattern
SAID = {
    ("continuous", True): "for hours|can run",
    ("continuous", False): "not for hours|do(es)? not run|cannot|cycles",
    "continuous load": "for hours",
    "bundle": r"\balone\b|together|nothing else",
    ("location", "dry"): "dry|conditioned|attic|basement|indoors|kitchen|wall",
    ("location", "wet"): "underground|trench|conduit|outdoors|wet",
    "place": "attic|conditioned|basement|underground|trench|conduit|on a wall",
    "connection": "hard-wired|wired-in|plugged|cord|kiln|range|motor",
    "more than one receptacle": "hard-wired|of its own|single",
    "receptacle": "hard-wired|wired-in|of its own",
    "building": "dwelling|house",
    "role": "branch circuit|circuit|kiln|heater|sauna",
    "type": ".",
    "material": "copper|aluminum",
    "test": ".",
    "gangs": "one receptacle|yoke",
    "supply": "two hots, one neutral",
    "EGC type": "equipment grounding conductor",
    "cover location": "yard|soil",
    "method": "conduit",
    "listed with both marks": "no appliance marked",
    "internal clamps": "clamps",
    "use": "end there|splice|joins",
    "devices": "device|receptacle|nothing else",
    "crosses": "nothing but wood|framing|stud|joist",
    "kind": "hole|notch|breaker|GFCI",
}


@dataclass
class Reading:
    """A fact told otherwise, and the wrong option that it makes right."""

    of: str
    fact: str
    value: str
    option: Option


def other_readings(maker: Maker, q: Instance) -> list[Reading]:
    """The readings of a question under which an option that is offered as wrong would be right."""
    # what is open there is the question itself
    if q.model.kind in (
        "order",
        "under",
        "mends",
        "missing",
    ):
        return []
    k, m, out = maker.k, q.model, []
    nodes = maker.nodes(m, frozenset())
    kept: Settled | None = None
    if m.name not in maker.varied:
        maker.varied[m.name] = _varied(maker, q)
    varied = maker.varied[m.name]
    for x in read_job(q.body, k, "question").things.values():
        for word in k.words.kinds[x[0].kind].words.values():
            v = x[word.slot]
            if (
                word.name not in x[0].told
                or v is None
                or v is NONE
                or isinstance(v, list)
                or (x[0].id, word.name) in varied
                or said_in(q, x, word, v)
            ):
                continue
            for other in others(k, word, v):
                job = read_job(q.body, k, "question")
                tell(job, [(x[0].id, word.name, other)])
                if kept is None or not kept.takes(job):
                    kept = Settled(k, job, nodes)
                got = maker.concluded(m, kept.lawful(), True)[0]
                out += [
                    Reading(x[0].id, word.name, show(other, word.unit), o)
                    for o in q.options
                    if not o.right and got is not None and _makes_right(m, q, got, o)
                ]
    return out


def _varied(maker: Maker, q: Instance) -> frozenset:
    """The facts that are drawn: a stem says every draw (`models` sees to it)."""
    told, rng = {}, random.Random(q.model.name)
    for _ in range(8):
        for x in read_job(
            filled(q.model.job, drawn(q.model, rng)), maker.k, "question"
        ).things.values():
            for fact, v in x[0].told.items():
                told.setdefault((x[0].id, fact), []).append(v)
    return frozenset(
        key
        for key, vs in told.items()
        if not isinstance(vs[0], list) and any(v != vs[0] for v in vs)
    )


def _makes_right(m, q: Instance, got, o: Option) -> bool:
    if m.kind == "findings":
        return o.value in got
    return got == (o.value,) if m.kind == "governs" else q.same(got, o.value)


def said_in(q: Instance, x: list, word: Word, v) -> bool:
    """Whether the stem says a fact: its value in so many words, or in those in which one says
    it.
    """
    written = x[0].written.get(word.name)
    texts = [show(v, word.unit), *([written[0]] if written else [])]
    if any(
        t and re.search(rf"(?<!\w){re.escape(t)}(?!\w)", q.stem, re.I)
        for t in texts
        if not isinstance(v, bool)
    ):
        return True
    if isinstance(v, bool) and word.name in q.stem:
        return True
    pattern = SAID.get((word.name, v)) or SAID.get(word.name)
    return bool(pattern and re.search(pattern, q.stem, re.I))


def others(k, word: Word, v) -> list:
    """The values a fact could have instead, of its kind."""
    t = word.type
    if isinstance(v, bool):
        return [not v]
    if t[0] == "choice":
        return [c for c in t[1] if c != v]
    # half of a temperature means nothing: a column of the ampacity table more or less
    if t[0] == "q" and word.unit in POINTS:
        step = int(15 * POINTS["°C"][0])
        return [v + step, v - step]
    if t[0] == "q" and not isinstance(v, str):
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
    maker, d = maker.there if q.model.kind == "under" else maker, q.model.d
    e = Explainer(
        run(maker.k, read_job(q.body, maker.k, "question"), maker.nodes(q.model, frozenset()))
    )
    for kind in KINDS:
        for said in as_list(d[kind]) if kind in d and kind != "under" else ():
            what, thing = place(str(said), q.model, " of " if kind in ("asks", "order") else " on ")
            if kind in ("asks", "order"):
                e.fact(e.w.things[thing], what)
            elif what in maker.k.rules and thing in e.w.things:
                e.rule(maker.k.rules[what], e.w.things[thing])
    return list(
        dict.fromkeys(
            n.data["by"]
            for n in e.g.nodes.values()
            if n.kind == "fact" and n.data.get("origin") == "assumed"
        )
    )


__all__ = ["Reading", "assumed_in", "other_readings"]
