"""One job run again and again: told otherwise or believed otherwise, and only what that moves is
run.

The cells of a finished run are kept. What is told anew, or a rule that is believed to say something
else, is run again with whatever needs it, and where a node comes out as it was, nothing behind it
is run. So a wrong answer costs the few rules between a belief and the question (tests/quiz compares
each with the whole job run from the beginning).
"""

from __future__ import annotations

import decimal

from ..basics.errors import Fault, Place
from ..basics.reading import Items, Mapping, Text
from ..basics.units import EXACT
from ..language.knowledge import Knowledge
from ..language.things import Meta
from ..running.chain import World
from ..running.job import Job, read_job

_NOTHING = frozenset()


def run(k: Knowledge, job: Job, nodes: frozenset) -> World:
    """The job under *k*, as far as *nodes* go."""
    w = World(k, job)
    with decimal.localcontext(EXACT):
        for n in _program(k, w, nodes):
            w.step(n)
    return w


def _program(k: Knowledge, w: World, nodes: frozenset) -> list:
    kinds = frozenset(kind for kind, xs in w.by_kind.items() if xs)
    key = (kinds, nodes)
    if key not in k._programs:
        k._programs[key] = [
            (*n[:2], tuple(m for m in n[2] if m in nodes)) if n[0] == "block" else n
            for n in k.program(kinds)
            if n in nodes or n[0] == "block" and nodes & set(n[2])
        ]
    return k._programs[key]


class Settled:
    """A job run under one law, as far as some nodes of the order go, and kept for other facts and
    other beliefs.
    """

    def __init__(self, k: Knowledge, job: Job, nodes: frozenset) -> None:
        self.k, self.nodes, self.job, self.body, self.w = (
            k,
            nodes,
            job,
            job.body,
            run(k, job, nodes),
        )
        self._leaves: dict[tuple, tuple] | None = (
            None  # where a value stands in the job -> (the thing, the fact) that it tells
        )
        self.program = _program(k, self.w, nodes)
        # where nothing feeds another a block is its nodes in turn
        if len({self.w.depth(x) for xs in self.w.by_kind.values() for x in xs}) == 1:
            self.program = [
                m
                for n in self.program
                for m in (n[2] if n[0] == "block" else (n,))
                if not k.idle(m)
            ]
        self._all = [m for n in self.program for m in (n[2] if n[0] == "block" else (n,))]
        self._tries = [(n, k.rules[n[1]].about) for n in self._all if n[0] == "try"]
        self._of: dict[frozenset, frozenset] = {}  # rules -> their nodes
        # what is moved -> the nodes behind it, in their order
        self._behind: dict[frozenset, list] = {}
        self._writes: dict[tuple, tuple] = {}  # node -> (kind, plane, slots)
        self._undo: list = []  # what a belief has moved, as it was

    # ---- told otherwise
    def tells(self, body: Mapping) -> bool:
        """Take over *body* where it tells the same facts of the same things, with other values;
        False where more is otherwise.

        What `takes` does, without reading the whole job again.
        """
        other = list(_differing(self.body, body, ()))
        if other and self._leaves is None:
            self._leaves = _leaves(self.body, self.k)
        if not all(path in self._leaves for path, _ in other):
            return False
        told = []
        for path, text in other:
            x, w = self._leaves[path]
            y = [Meta(x, w.kind, "")] + [None] * self.k.width[w.kind]
            try:
                self.job.fact(y, w, path[-1], text)
            except Fault:
                return False
            if w.name not in y[0].told or w.name in self.w.things[x][0].looked:
                return False
            told.append((self.w.things[x], w, y[0]))
        self.lawful()
        forced = set()
        for x, w, said in told:
            x[0].written[w.name] = said.written[w.name]
            if not _alike(x[0].told.get(w.name), said.told[w.name]):
                x[0].told[w.name] = x[w.slot] = said.told[w.name]
                forced.add(("cell", w.kind, w.name, ""))
        kinds = {kind for _, kind, _, _ in forced}
        forced |= {n for n, about in self._tries if about in kinds}
        self._again(frozenset(forced), None)
        self.body = body
        return True

    def takes(self, job: Job) -> bool:
        """Take over what *job* tells of the same things, and run what it moves; False where it has
        other things or links.
        """
        self.lawful()
        w, moved = self.w, []
        if job.things.keys() != w.things.keys():
            return False
        for name, y in job.things.items():
            x = w.things[name]
            old, new = x[0].told, y[0].told
            facts = [
                f
                for f in old.keys() | new.keys()
                if not _alike(old.get(f), new.get(f))
                or (f in x[0].looked) is not (f in y[0].looked)
            ]
            if any(_is_thing(old.get(f)) or _is_thing(new.get(f)) for f in facts):
                return False
            if facts or x[0].written != y[0].written:
                moved.append((x, y, facts))
        forced = set()
        for x, y, facts in moved:
            told, was = x[0].told, x[0]
            for f in facts:
                if f in y[0].told:
                    told[f] = y[0].told[f]
                else:
                    del told[f]
                x[self.k.words.kinds[was.kind].words[f].slot] = told.get(f)
                forced.add(("cell", was.kind, f, ""))
            was.written, was.looked = y[0].written, y[0].looked
        kinds = {x[0].kind for x, _, facts in moved if facts}
        forced |= {n for n, about in self._tries if about in kinds}
        self._again(frozenset(forced), None)
        self.body, self._leaves = job.body, None
        return True

    # ---- believed otherwise
    def under(self, k: Knowledge, changed: frozenset) -> World:
        """The run under *k*, which is the law but for the rules *changed*; good until something
        else is asked of this.
        """
        self.lawful()
        if changed:
            self.w.k, self.w.emitted = k, k.emitted()
            if changed not in self._of:
                self._of[changed] = frozenset(
                    n for n in self._all if n[0] != "cell" and n[1] in changed
                )
            self._again(self._of[changed], self._undo)
        return self.w

    def lawful(self) -> World:
        """The run under the law itself."""
        for was in reversed(self._undo):
            self._put_back(*was)
        self._undo.clear()
        self.w.k, self.w.emitted = self.k, self.k.emitted()
        return self.w

    # ---- what is moved
    def _reached(self, forced: frozenset) -> list:
        got = self._behind.get(forced)
        if got is None:
            needs, reached, got = self.k.order.needs, set(forced), []
            for n in self.program:
                parts = n[2] if n[0] == "block" else (n,)
                hit = [
                    m
                    for m in parts
                    if m in forced or not reached.isdisjoint(needs.get(m, _NOTHING))
                ]
                if hit:
                    reached.update(o for m in parts for o in self._settled_by(m))
                    got.append((n, parts))
            self._behind[forced] = got
        return got

    def _again(self, forced: frozenset, undo: list | None) -> None:
        """Run *forced* again and whatever needs what came out otherwise; a rule whose exception did
        counts as otherwise itself.
        """
        w, needs, exceptions, moved = (
            self.w,
            self.k.order.needs,
            self.k.order.exceptions,
            set(forced),
        )
        with decimal.localcontext(EXACT):
            for n, parts in self._reached(forced):
                if not any(
                    m in forced or not moved.isdisjoint(needs.get(m, _NOTHING)) for m in parts
                ):
                    continue
                kept = [self._keep(m) for m in parts]
                if n[0] in ("rule", "cell"):
                    if xs := kept[0][1]:
                        w.emitted.run(n)(xs, w)
                else:
                    w.step(n)
                for was in kept:
                    m = was[0]
                    if (
                        self._otherwise(*was)
                        or m[0] == "rule"
                        and m[1] in exceptions
                        and any(("rule", e.id, m[2]) in moved for e in exceptions[m[1]])
                    ):
                        moved.update(self._settled_by(m))
                if undo is not None:
                    undo += kept

    def _keep(self, n: tuple) -> tuple:
        """Clear what node *n* writes: (the node, the things it is about, the slots, what stood
        there, what a pick had chosen).
        """
        w = self.w
        if n[0] == "try":
            rows, w.tried[n[1]] = w.tried[n[1]], []
            return n, rows, (), (), {key: v for key, v in w.rows_of.items() if key[0] == n[1]}
        if n not in self._writes:
            self._writes[n] = self._written_by(n)
        kind, plane, slots = self._writes[n]
        xs = w.tried[plane] if plane else w.by_kind[kind]
        old = [x[s] for x in xs for s in slots]
        if n[0] == "cell":
            slot, fact = slots[0], n[2]
            for x in xs:
                x[slot] = x[0].told.get(fact)
        return (
            n,
            xs,
            slots,
            old,
            {key: v for key, v in w.picked.items() if key[0] == n[1]} if n[0] == "pick" else None,
        )

    @staticmethod
    def _otherwise(n: tuple, xs: list, slots: tuple, old, _) -> bool:
        """Whether what a node writes came out otherwise than it was kept; new rows always are."""
        if n[0] == "try":
            return True
        was = iter(old)
        for x in xs:
            for s in slots:
                a, b = next(was), x[s]
                if a is not b and not _alike(a, b):
                    return True
        return False

    def _put_back(self, n: tuple, xs: list, slots: tuple, old, chosen) -> None:
        """Put back what was kept of a node."""
        if n[0] == "try":
            self.w.tried[n[1]] = xs
            self.w.rows_of.update(chosen)
            return
        was = iter(old)
        for x in xs:
            for s in slots:
                x[s] = next(was)
        if chosen:
            self.w.picked.update(chosen)

    def _settled_by(self, n: tuple) -> tuple:
        """A node, and the cell that a pick writes, which is no step of its own."""
        return (
            (n, ("cell", self.k.rules[n[1]].about, self.k.rules[n[1]].picks.name, ""))
            if n[0] == "pick"
            else (n,)
        )

    def _written_by(self, n: tuple) -> tuple:
        k = self.k
        if n[0] == "cell":
            return n[1], n[3], (k.words.kinds[n[1]].words[n[2]].slot,)
        r = k.rules[n[1]]
        if n[0] == "pick":
            return r.about, "", (r.picks.slot,)
        return (
            r.about,
            n[2],
            (
                k.slots[r.id],
                *((k.holds[r.id],) if r.id in k.holds else ()),
                *(k.results[r.id, f.word.name] for f in r.fills),
            ),
        )


def _differing(a, b, path: tuple):
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


def _is_thing(v) -> bool:
    return isinstance(v, list)


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
