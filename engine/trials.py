"""One job run again and again: told otherwise or believed otherwise, and only what that moves is run.

The cells of a finished run are kept. What is told anew, or a rule that is believed to say something else, is run again
with whatever needs it, and where a node comes out as it was, nothing behind it is run. So a wrong answer costs the few
rules between a belief and the question (tests/quiz compares each with the whole job run from the beginning).
"""

from __future__ import annotations

import decimal

from .chain import World
from .job import Job
from .knowledge import Knowledge
from .units import EXACT

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
        k._programs[key] = [n for n in k.program(kinds) if n in nodes or n[0] == "block" and nodes & set(n[2])]
    return k._programs[key]


class Settled:
    """A job run under one law, as far as some nodes of the order go, and kept for other facts and other beliefs."""

    def __init__(self, k: Knowledge, job: Job, nodes: frozenset) -> None:
        self.k, self.nodes, self.w = k, nodes, run(k, job, nodes)
        self.program = _program(k, self.w, nodes)
        self._behind: dict[frozenset, list] = {}     # what is moved -> the nodes behind it, in their order
        self._writes: dict[tuple, tuple] = {}        # node -> (kind, plane, slots)
        self._undo: list = []                        # how to put back what a belief has moved

    # ---- told otherwise
    def takes(self, job: Job) -> bool:
        """Take over what *job* tells of the same things, and run what it moves; False where it has other things or links."""
        self.lawful()
        w, moved = self.w, []
        if job.things.keys() != w.things.keys():
            return False
        for name, y in job.things.items():
            x = w.things[name]
            old, new = x[0].told, y[0].told
            facts = [f for f in old.keys() | new.keys() if not _alike(old.get(f), new.get(f)) or (f in x[0].looked) is not (f in y[0].looked)]
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
        forced |= {n for n in self.program if n[0] == "try" and self.k.rules[n[1]].about in kinds}
        forced |= {m for n in self.program if n[0] == "block" for m in n[2] if m[0] == "try" and self.k.rules[m[1]].about in kinds}
        self._again(frozenset(forced), None)
        return True

    # ---- believed otherwise
    def under(self, k: Knowledge, changed: frozenset) -> World:
        """The run under *k*, which is the law but for the rules *changed*; good until something else is asked of this."""
        self.lawful()
        if changed:
            self.w.k, self.w.emitted = k, k.emitted()
            self._again(frozenset(n for n in self._nodes() if n[0] != "cell" and n[1] in changed), self._undo)
        return self.w

    def lawful(self) -> World:
        """The run under the law itself."""
        for put_back in reversed(self._undo):
            put_back()
        self._undo.clear()
        self.w.k, self.w.emitted = self.k, self.k.emitted()
        return self.w

    # ---- what is moved
    def _nodes(self):
        for n in self.program:
            yield from n[2] if n[0] == "block" else (n,)

    def _reached(self, forced: frozenset) -> list:
        got = self._behind.get(forced)
        if got is None:
            needs, reached, got = self.k.order.needs, set(forced), []
            for n in self.program:
                parts = n[2] if n[0] == "block" else (n,)
                hit = [m for m in parts if m in forced or not reached.isdisjoint(needs.get(m, _NOTHING))]
                if hit:
                    reached.update(o for m in parts for o in self._settled_by(m))
                    got.append((n, parts))
            self._behind[forced] = got
        return got

    def _again(self, forced: frozenset, undo: list | None) -> None:
        """Run *forced* again and whatever needs what came out otherwise; a rule whose exception did counts as otherwise itself."""
        needs, moved = self.k.order.needs, set(forced)
        with decimal.localcontext(EXACT):
            for n, parts in self._reached(forced):
                if any(m in forced or not moved.isdisjoint(needs.get(m, _NOTHING)) for m in parts):
                    kept = [self._keep(m) for m in parts]
                    self.w.step(n)
                    for m, (compare, put_back) in zip(parts, kept):
                        if compare() or m[0] == "rule" and any(("rule", e.id, m[2]) in moved for e in self.k.order.exceptions.get(m[1], ())):
                            moved.update(self._settled_by(m))
                        if undo is not None:
                            undo.append(put_back)

    def _keep(self, n: tuple):
        """Clear what node *n* writes: (whether it came out otherwise, how to put it back)."""
        w = self.w
        if n[0] == "try":
            rows, by_thing = w.tried[n[1]], {key: v for key, v in w.rows_of.items() if key[0] == n[1]}
            w.tried[n[1]] = []

            def rows_back():
                w.tried[n[1]] = rows
                w.rows_of.update(by_thing)
            return (lambda: True), rows_back
        if n not in self._writes:
            self._writes[n] = self._written_by(n)
        kind, plane, slots = self._writes[n]
        xs = w.tried[plane] if plane else w.by_kind[kind]
        old = [[x[s] for s in slots] for x in xs]
        picked = {key: v for key, v in w.picked.items() if key[0] == n[1]} if n[0] == "pick" else {}
        if n[0] == "cell":
            slot, fact = slots[0], n[2]
            for x in xs:
                x[slot] = x[0].told.get(fact)

        def otherwise() -> bool:
            return any(not _alike(a, x[s]) for x, was in zip(xs, old) for a, s in zip(was, slots))

        def put_back() -> None:
            for x, was in zip(xs, old):
                for s, v in zip(slots, was):
                    x[s] = v
            w.picked.update(picked)
        return otherwise, put_back

    def _settled_by(self, n: tuple) -> tuple:
        """A node, and the cell that a pick writes, which is no step of its own."""
        return (n, ("cell", self.k.rules[n[1]].about, self.k.rules[n[1]].picks.name, "")) if n[0] == "pick" else (n,)

    def _written_by(self, n: tuple) -> tuple:
        k = self.k
        if n[0] == "cell":
            return n[1], n[3], (k.words.kinds[n[1]].words[n[2]].slot,)
        r = k.rules[n[1]]
        if n[0] == "pick":
            return r.about, "", (r.picks.slot,)
        return r.about, n[2], (k.slots[r.id], *((k.holds[r.id],) if r.id in k.holds else ()), *(k.results[r.id, f.word.name] for f in r.fills))


def _is_thing(v) -> bool:
    return isinstance(v, list)


def _alike(a, b) -> bool:
    """Whether two values are one; things and lists of things by their names, whichever run they belong to."""
    if a is b:
        return True
    if isinstance(a, list) or isinstance(b, list):
        return isinstance(a, list) and isinstance(b, list) and _named(a) == _named(b)
    return a.__class__ is b.__class__ and a == b


def _named(v: list):
    if len(v) and hasattr(list.__getitem__(v, 0), "kind"):
        return v[0].id
    return v.__class__, [_named(x) if isinstance(x, list) else x for x in list.__iter__(v)]   # a list that is open may not be walked plainly
