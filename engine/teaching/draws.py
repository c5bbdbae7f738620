"""The job of a question, run as far as the question asks, which takes over the facts of the next
draw and is believed otherwise.

A wrong answer costs the few rules between a belief and the question, and a draw what it tells
otherwise: what runs again is `running.rerun`, and here is only what two draws of one job differ in.
tests/quiz compares each with a whole run.
"""

from __future__ import annotations

from collections.abc import Iterator

from ..basics.errors import Fault, Place
from ..basics.reading import Items, Mapping, Text
from ..language.knowledge import Knowledge
from ..language.things import Meta
from ..running.chain import World
from ..running.job import Job, read_job
from ..running.rerun import LOOKED, Change, Rerun, run_part


class Settled:
    """A job run under one law, as far as some nodes of the order go, and kept for other facts and
    other beliefs.
    """

    def __init__(self, k: Knowledge, job: Job, nodes: frozenset) -> None:
        self.k, self.nodes, self.job, self.body = k, nodes, job, job.body
        self.w = run_part(k, job, nodes)
        self.rerun = Rerun(self.w, nodes=nodes)
        # Where a value stands in the job -> (the thing, the word) that it tells.
        self._leaves: dict[tuple, tuple] | None = None

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
        if not all(path in leaves for path, _ in other):
            return False
        told = []
        for path, text in other:
            x, w = leaves[path]
            y = [Meta(x, w.kind, "")] + [None] * self.k.width[w.kind]
            try:
                self.job.fact(y, w, path[-1], text)
            except Fault:
                return False
            if w.name not in y[0].told or w.name in self.w.things[x][0].looked:
                return False
            told.append((self.w.things[x], w.name, y[0]))
        for x, fact, said in told:
            x[0].written[fact] = said.written[fact]
        self._take([(x[0].id, fact, said.told[fact]) for x, fact, said in told])
        self.body = body
        return True

    def takes(self, job: Job) -> bool:
        """Take over what *job* tells of the same things, and run what it moves; False where it has
        other things or links.
        """
        if job.things.keys() != self.w.things.keys():
            return False
        changes: list[Change] = []
        for name, y in job.things.items():
            was, now = self.w.things[name][0], y[0]
            for fact in {**was.told, **now.told} | dict.fromkeys((*was.looked, *now.looked)):
                old, new = was.told.get(fact), now.told.get(fact)
                if _alike(old, new) and (fact in was.looked) is (fact in now.looked):
                    continue
                if isinstance(old, list) or isinstance(new, list):
                    return False
                changes.append((name, fact, LOOKED if fact in now.looked else new))
        for name, y in job.things.items():
            self.w.things[name][0].written = y[0].written
        self._take(changes)
        self.body, self._leaves = job.body, None
        return True

    def _take(self, changes: list[Change]) -> None:
        """Let *changes* be what the job tells, for good."""
        self.lawful()
        self.rerun.change(changes)
        self.rerun.keep()

    # ---- believed otherwise
    def under(self, k: Knowledge, changed: frozenset) -> World:
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


def _differing(a, b, path: tuple) -> Iterator[tuple]:
    """(where, the text of *b*) of every value in which two jobs of one form differ; where None
    stands they differ in more.
    """
    if isinstance(a, dict) and isinstance(b, dict) and a.keys() == b.keys():
        for key, v in a.items():
            yield from _differing(v, b[key], (*path, key))
    elif isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        for i, v in enumerate(a):
            yield from _differing(v, b[i], (*path, i))
    elif not (isinstance(a, str) and isinstance(b, str)):
        yield None, ""
    elif a != b:
        yield path, b


def _leaves(body: Mapping, k: Knowledge) -> dict[tuple, tuple]:
    """Where each value of a job stands -> (the thing, the word) that it tells: read off the job
    with its values marked.
    """
    paths: list[tuple] = []

    def marked(v, path: tuple):
        if isinstance(v, dict):
            return Mapping((key, marked(x, (*path, key))) for key, x in v.items())
        if isinstance(v, list):
            return Items(marked(x, (*path, i)) for i, x in enumerate(v))
        paths.append(path)
        return Text(str(v), Place("value", len(paths)))

    job = read_job(marked(body, ()), k, "question")
    return {
        paths[at[1] - 1]: (x[0].id, w)
        for x in job.things.values()
        for fact, (_, _, at) in x[0].written.items()
        if at[0] == "value"
        and (w := k.words.kinds[x[0].kind].words[fact]).type[0] not in ("ref", "many")
    }


def _alike(a, b) -> bool:
    """Whether two values are one; things and lists of things by their names, whichever run they
    belong to.
    """
    if a is b:
        return True
    if isinstance(a, list) or isinstance(b, list):
        return isinstance(a, list) and isinstance(b, list) and _named(a) == _named(b)
    return a.__class__ is b.__class__ and a == b


def _named(v: list):
    if len(v) and hasattr(list.__getitem__(v, 0), "kind"):
        return v[0].id
    # a list that is open may not be walked plainly
    return v.__class__, [_named(x) if isinstance(x, list) else x for x in list.__iter__(v)]
