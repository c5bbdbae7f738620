"""The job of a question, run as far as the question asks, which takes over the facts of the next
draw and is believed otherwise.

A wrong answer costs the few rules between a belief and the question, and a draw what it tells
otherwise: what runs again is `running.rerun`, and here is only what two draws of one job differ in.
tests/quiz compares each with a whole run.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, TypeAlias

from ..basics.errors import Fault, Place
from ..basics.reading import Items, Mapping, Text
from ..language.knowledge import Knowledge
from ..language.things import Meta, NodeId, Thing
from ..language.words import Word
from ..running.chain import World
from ..running.job import Job, read_job
from ..running.rerun import LOOKED, Change, Rerun, run_part

Where: TypeAlias = tuple[Any, ...]  # the keys and numbers that lead to a value of a job
Leaves: TypeAlias = dict[Where, tuple[str, Word]]  # where -> (the thing, the word) that it tells


class Settled:
    """A job run under one law, as far as some nodes of the order go, and kept for other facts and
    other beliefs.
    """

    def __init__(self, k: Knowledge, job: Job, nodes: frozenset[NodeId]) -> None:
        self.k, self.nodes, self.job, self.body = k, nodes, job, job.body
        self.w = run_part(k, job, nodes)
        self.rerun = Rerun(self.w, nodes=nodes)
        self._leaves: Leaves | None = None  # found when it is first wanted

    # ---- told otherwise
    def tells(self, body: Mapping) -> bool:
        """Take over *body* where it tells the same facts of the same things, with other values;
        False where more is otherwise.

        What `takes` does, without reading the whole job again.
        """
        other = list(_differing(self.body, body, ()))
        if other and self._leaves is None:
            self._leaves = _leaves(self.body, self.k)
        leaves = self._leaves or {}
        if not all(where in leaves for where, _ in other):
            return False
        told: list[tuple[Thing, str, Meta]] = []
        for where, text in other:
            name, word = leaves[where]
            # a thing that is read, and thrown away: what the run holds is as it was until all of
            # it is known to be readable
            said = Meta(name, word.kind, "")
            try:
                self.job.fact([said] + [None] * self.k.width[word.kind], word, where[-1], text)
            except Fault:
                return False
            thing = self.w.things[name]
            if word.name not in said.told or word.name in thing[0].looked:
                return False
            told.append((thing, word.name, said))
        for thing, fact, said in told:
            thing[0].written[fact] = said.written[fact]
        self._take([(thing[0].id, fact, said.told[fact]) for thing, fact, said in told])
        self.body = body
        return True

    def takes(self, job: Job) -> bool:
        """Take over what *job* tells of the same things, and run what it moves; False where it has
        other things or links.
        """
        if job.things.keys() != self.w.things.keys():
            return False
        changes: list[Change] = []
        for name, thing in job.things.items():
            was, now = self.w.things[name][0], thing[0]
            for fact in {**was.told, **now.told} | dict.fromkeys((*was.looked, *now.looked)):
                old, new = was.told.get(fact), now.told.get(fact)
                if _alike(old, new) and (fact in was.looked) is (fact in now.looked):
                    continue
                # a link that leads elsewhere changes which things there are for others
                if isinstance(old, list) or isinstance(new, list):
                    return False
                changes.append((name, fact, LOOKED if fact in now.looked else new))
        for name, thing in job.things.items():
            self.w.things[name][0].written = thing[0].written
        self._take(changes)
        self.body, self._leaves = job.body, None
        return True

    def _take(self, changes: list[Change]) -> None:
        """Let *changes* be what the job tells, for good."""
        # what is told is changed under the law alone: a belief is laid over it afterwards
        self.lawful()
        self.rerun.change(changes)
        self.rerun.keep()

    # ---- believed otherwise
    def under(self, k: Knowledge, changed: frozenset[str]) -> World:
        """The run under *k*, which is the law but for the rules *changed*; good until something
        else is asked of this.
        """
        self.lawful()
        if changed:
            self.rerun.turn(k, changed)
        return self.w

    def lawful(self) -> World:
        """The run under the law itself."""
        self.rerun.undo_all()
        return self.w


def _differing(a: object, b: object, where: Where) -> Iterator[tuple[Where, Any]]:
    """(where, the text of *b*) of every value in which two jobs of one form differ; () where
    they differ in more.
    """
    if isinstance(a, dict) and isinstance(b, dict) and a.keys() == b.keys():
        for key, value in a.items():
            yield from _differing(value, b[key], (*where, key))
    elif isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        for i, value in enumerate(a):
            yield from _differing(value, b[i], (*where, i))
    elif not (isinstance(a, str) and isinstance(b, str)):
        yield (), ""
    elif a != b:
        yield where, b


def _leaves(body: Mapping, k: Knowledge) -> Leaves:
    """Where each value of a job stands, and what it tells: read off the job with its values
    marked by their number as if that were their line.
    """
    places: list[Where] = []

    def marked(value: Any, where: Where) -> Any:
        if isinstance(value, dict):
            return Mapping((key, marked(each, (*where, key))) for key, each in value.items())
        if isinstance(value, list):
            return Items(marked(each, (*where, i)) for i, each in enumerate(value))
        places.append(where)
        return Text(str(value), Place("value", len(places)))

    out: Leaves = {}
    for thing in read_job(marked(body, ()), k, "question").things.values():
        meta: Meta = thing[0]
        for fact, (_, _, at) in meta.written.items():
            if at[0] != "value":
                continue
            word = k.words.kinds[meta.kind].words[fact]
            if word.type[0] not in ("ref", "many"):
                out[places[at[1] - 1]] = meta.id, word
    return out


def _alike(a: object, b: object) -> bool:
    """Whether two values are one; things and lists of things by their names, whichever run they
    belong to.
    """
    if a is b:
        return True
    if isinstance(a, list) or isinstance(b, list):
        return isinstance(a, list) and isinstance(b, list) and _named(a) == _named(b)
    return a.__class__ is b.__class__ and a == b


def _named(things: list[Any]) -> Any:
    if len(things) and hasattr(list.__getitem__(things, 0), "kind"):
        return things[0].id
    # a list that is open may not be walked plainly
    every = list.__iter__(things)
    return things.__class__, [_named(each) if isinstance(each, list) else each for each in every]
