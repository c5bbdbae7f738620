"""Run the rules on a job: one fixed order, no agenda. This is the plain chainer, and what both
chainers share.

Each rule leaves an answer on each thing it is about (`fire`); each fact settles after its last
giver (`settle`). A run takes the emitted straight-line code, a stretch of the order at a time,
where everything is plainly known, and these two where it is not: they never answer differently
(tests/engine/test_emit.py).
"""

from __future__ import annotations

import decimal

from ..basics.errors import NOWHERE, Fault
from ..basics.sentinels import NONE, NOTHING
from ..basics.units import EXACT, SOME, Range, both, compare, opposite
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import FILLING, JUDGING, Rule
from ..language.things import Meta, members
from .emit import Stretch
from .job import Job

PASSES, FAILS, TELL, ADVICE, OFF, SET_ASIDE, REFERS, WARNS, LACKS = (
    "passes",
    "fails",
    "cannot tell",
    "advice",
    "does not apply",
    "exception applies",
    "refers",
    "warns",
    "not checked",
)
FALLBACKS = FILLING[1:]  # what fills a fact that nothing told or gave, in this order


class World:
    """One run of the rules over one job."""

    def __init__(self, k: Knowledge, job: Job, fast: bool = True) -> None:
        self.k, self.job = k, job
        self.emitted = k.emitted() if fast else None
        self.by_kind: dict[str, list] = {}
        self.things: dict[str, list] = {}
        # pick -> rows of all slots
        self.tried: dict[str, list] = {r.id: [] for r in k.rules.values() if r.verb == "tries"}
        self.rows_of: dict[tuple, list] = {}  # (pick, thing id) -> its rows
        self.picked: dict[tuple, tuple] = {}  # (pick, thing id) -> (row chosen, rows waiting)
        self.disputes: set = set()  # (thing id, fact)
        self.only: int | None = None  # the depth along the feeders a block is at
        self.depths: dict[str, int] = {}
        # (rule, thing id) -> the graph under its answer, as `graph.support` read it off
        self.supports: dict[tuple, object] = {}
        self.fired = self.bailed = 0
        self.job_image()

    def job_image(self) -> None:
        """Take over the job's things as told. A job is run once: its cells are this world's
        cells.
        """
        self.by_kind, self.things = self.job.by_kind, self.job.things

    # ---- one rule on one thing, in general
    def holds(self, r: Rule, x: list):
        """Does an exception or a filler hold: its conditions, its own test if it judges, and
        nothing that sets it aside.
        """
        return x[self.k.holds[r.id]]

    def fire(self, r: Rule, x: list) -> None:
        """Answer rule *r* on thing *x*; the authority for every case. Raises Fault where its
        numbers outgrow what is reckoned with.
        """
        try:
            self._fire(r, x)
        except Fault as f:
            if f.at is not NOWHERE:
                raise
            raise Fault(f.code, r.at, f"{r.id} on {x[0].id}: {f.what}", f.todo) from None

    def _fire(self, r: Rule, x: list) -> None:
        k = self.k
        applies = True
        for c in r.when:
            v = c.ev(x, None)
            if v is False or v is NOTHING:
                applies = False
                break
            if v is None:
                applies = None
        holds = applies
        if r.verb in JUDGING:
            answer = OFF
            if applies is not False:
                v = r.test.ev(x, None)
                if v is not NOTHING:
                    if r.verb == "must not":
                        v = opposite(v)
                    answer = (
                        PASSES
                        if v is True
                        else (
                            TELL
                            if v is None or applies is None
                            else ADVICE
                            if r.verb == "should"
                            else FAILS
                        )
                    )
                # What takes the place of another requirement takes it only where it is met itself.
                holds = both([applies, False if v is NOTHING else v])
        else:
            answer = applies
            for f in r.fills:
                v = f.expr.ev(x, None) if applies is not False else None
                x[k.results[r.id, f.word.name]] = (
                    None
                    if (type(v) is Range and v == SOME)
                    or (v is NOTHING and f.word.type[0] != "row")
                    else NONE
                    if v is NOTHING
                    else v
                )
        x[k.slots[r.id]] = answer
        if r.id in k.holds:
            x[k.holds[r.id]] = both(
                [holds, *(opposite(x[k.holds[e.id]]) for e in k.order.exceptions.get(r.id, ()))]
            )

    def set_aside(self, r: Rule, x: list):
        """True, False or None: is *r* set aside on *x* by an exception?"""
        out = False
        for e in self.k.order.exceptions.get(r.id, ()):
            v = x[self.k.holds[e.id]]
            if v is True:
                return True
            if v is None:
                out = None
        return out

    def lifting(self, r: Rule, x: list) -> Rule | None:
        """The exception that sets *r* aside on *x*; of several the one that is itself a
        requirement, met.
        """
        by = [e for e in self.k.order.exceptions.get(r.id, ()) if x[self.k.holds[e.id]] is True]
        return next((e for e in by if e.verb in JUDGING), by[0] if by else None)

    def answer(self, r: Rule, x: list) -> str:
        """What *r* says of *x* in the end, exceptions and all."""
        a = x[self.k.slots[r.id]]
        if r.verb in JUDGING:
            if a is OFF or a is None:
                return OFF
            by = [e for e in self.k.order.exceptions.get(r.id, ()) if x[self.k.holds[e.id]] is True]
            # A bare permission is not announced for what passes anyway; a rule that takes the place
            # of this one is.
            return (
                SET_ASIDE
                if by and not (a is PASSES and all(e.verb == "exception" for e in by))
                else a
            )
        if a is False:
            return OFF
        if self.set_aside(r, x) is True:
            return SET_ASIDE
        if r.verb == "refers":
            return REFERS if a is True else TELL
        if r.verb == "warns":
            return WARNS
        if r.verb == "lacks":
            return LACKS if a is True else TELL
        return "holds" if a is True and self.set_aside(r, x) is False else TELL

    # ---- facts
    def settle(self, kind: str, fact: str, x: list):
        """The value of a fact after its givers, and where it came from: (value, origin, rule
        id).
        """
        k = self.k
        meta: Meta = x[0]
        w = k.words.kinds[kind].words[fact]
        told = meta.told.get(fact)
        if meta.plane:
            p = k.rules[meta.plane]
            if fact == p.tried.name:
                return meta.row, "tried", p.id
        live, open_, fallback = [], [], None
        for g in k.order.givers.get((kind, fact), ()):
            if g.verb == "tries":
                if meta.plane:
                    return meta.slot[w.slot], "picked", g.id
                row, waiting = self.picked.get((g.id, meta.id), (None, []))
                if told is not None:
                    return told, "told", None
                rows = self.rows_of.get((g.id, meta.id))
                v = None if waiting or rows is None else NONE if row is None else row[0].row
                return v, "picked" if v is not None else "unknown", g.id
            a, r = x[k.slots[g.id]], x[k.results[g.id, fact]]
            if a is False or self.set_aside(g, x) is True:
                continue
            if g.verb != "gives":
                if (
                    a is True
                    and r is not None
                    and (
                        fallback is None
                        or FALLBACKS.index(g.verb) < FALLBACKS.index(fallback[0].verb)
                    )
                ):
                    fallback = (g, r)
            elif x[k.holds[g.id]] is True or (a is True and not g.exception_to):
                live.append((g, r))
            elif not g.exception_to:
                open_.append((g, r))
        values = [r for _, r in live]
        known = []
        for v in values:
            if v is not None and v not in known:
                known.append(v)
        if told is not None:
            if any(self._apart(told, v) for v in known):
                return None, "disputed", None
            return told, "told", None
        if len(known) > 1:
            return None, "disputed", None
        if known and None not in values and all(r == known[0] for _, r in open_):
            return known[0], "derived", live[0][0].id
        if not live and not open_ and fallback is not None:
            g, r = fallback
            return (
                r,
                {"reckons": "derived", "assumes": "assumed", "designs": "designed"}[g.verb],
                g.id,
            )
        return None, "unknown", None

    @staticmethod
    def _apart(told, v) -> bool:
        if isinstance(v, Range) or isinstance(told, Range):
            return compare("=", told, v) is False
        return told != v

    # ---- candidates
    def try_rows(self, p: Rule) -> None:
        """Every row of the table that the keys allow becomes a thing of its own: NAME@ROW."""
        for x in self.targets(p.about, ""):
            if (found := self.rows_found(p, x)) is not None:
                rows = self.rows_of[p.id, x[0].id] = self.candidates(p, x, found)
                self.tried[p.id].extend(rows)

    def rows_found(self, p: Rule, x: list) -> list | None:
        """The sizes that pick *p* has to try on *x*; None while one of its keys is not known."""
        keys = {}
        for name, e in p.tries_keys.items():
            v = e.ev(x, None)
            keys[name] = None if v is SOME or v is NOTHING or v is NONE else v
        if None in keys.values():
            return None
        return [row[p.tried.name] for row in p.tries_table.find(keys) if row]

    def told_of_rows(self, p: Rule, x: list) -> tuple[dict, dict]:
        """What is told of the row of the size that *x* was told to have, and of every other row.

        What comes with a size, as the count of its strands, was told of that size alone.
        """
        told = {f: v for f, v in x[0].told.items() if f != p.tried.name}
        words = self.k.words.kinds[p.about].words
        other = {f: v for f, v in told.items() if words[f].comes_with != p.tried.name}
        return told, other if len(other) < len(told) else told

    def candidates(self, p: Rule, x: list, sizes: list) -> list[list]:
        """A thing for each of *sizes*, with what is told of *x*, and nothing derived yet."""
        k, meta = self.k, x[0]
        words = k.words.kinds[p.about].words
        told_size = meta.told.get(p.tried.name)
        images = []
        for facts in self.told_of_rows(p, x):
            image: list = [None] * k.width[p.about]
            for f, v in facts.items():
                image[words[f].slot] = v
            images.append((facts, image))
        rows = []
        for size in sizes:
            facts, image = images[0 if size == told_size else 1]
            y = image[:]
            m = y[0] = Meta("", p.about, meta.name)
            m.id = f"{meta.id}@{k.label(p, size)}"
            m.told, m.written, m.looked, m.whole, m.slot, m.plane, m.row = (
                facts,
                meta.written,
                meta.looked,
                meta.whole,
                x,
                p.id,
                size,
            )
            y[p.tried.slot] = size
            rows.append(y)
        return rows

    def pick(self, p: Rule) -> None:
        """Take the first row that is proven to pass every test, for each thing."""
        for x in self.targets(p.about, ""):
            self.pick_for(p, x)

    def pick_for(self, p: Rule, x: list) -> None:
        """Take the first row tried on *x* that is proven to pass every test, and note those before
        it that may.
        """
        tests = self.k.order.tests[p.id]
        first, waiting = None, []
        for y in self.rows_of.get((p.id, x[0].id), ()):
            st = self.row_passes(tests, y)
            if st is True:
                first = y
                break
            if st is None:
                waiting.append(y)
        self.picked[p.id, x[0].id] = first, waiting
        x[p.picks.slot] = self.settle(p.about, p.picks.name, x)[0]

    def row_passes(self, tests, y):
        """Does a tried row pass: True, False, or None where a test cannot tell."""
        slots = self.k.slots
        out = True
        for t in tests:
            a = y[slots[t.id]]
            if a is PASSES or a is OFF:
                continue
            if self.set_aside(t, y) is True:
                continue
            if a is TELL:
                out = None
            else:
                return False
        return out

    # ---- the order
    def targets(self, kind: str, plane: str) -> list:
        xs = self.tried[plane] if plane else self.by_kind[kind]
        if self.only is None:
            return xs
        return [x for x in xs if self.depth(x[0].slot or x) == self.only]

    def depth(self, x: list) -> int:
        """How many feeders lie above a thing."""
        got = self.depths.get(x[0].id)
        if got is None:
            self.depths[x[0].id] = 0
            got = 0
            k = self.k.words.kinds[x[0].kind]
            if x[0].whole is not None and x[0].kind != "job":
                got = self.depth(x[0].whole) if x[0].whole[0].kind != "job" else 0
            for w in k.words.values():
                y = x[w.slot] if w.type[0] == "ref" and not w.part else None
                if isinstance(y, list) and y is not x[0].whole and y[0].kind != "job":
                    if w.up:
                        got = max(got, self.depth(y) + 1)
                    elif any(v.up for v in self.k.words.kinds[y[0].kind].words.values()):
                        got = max(got, self.depth(y))
            self.depths[x[0].id] = got
        return got

    def go(self, s: Stretch) -> None:
        """Run one stretch of the order by its emitted code."""
        if s.way:
            self.along(s.way, s.nodes, self.go)
        elif s.nodes[0][0] in ("rule", "cell"):
            if xs := self.targets(s.kind, s.plane):
                self.fired += len(xs) * s.rules
                for run in s.runs or self.emitted.runs(s):
                    run(xs, self)
        elif self.by_kind[s.kind]:
            self.step(s.nodes[0])

    def along(self, way: str, parts: tuple, run) -> None:
        """Run the parts of a block thing by thing along the feeders, up or down."""
        for self.only in sorted(
            {self.depth(x) for xs in self.by_kind.values() for x in xs}, reverse=way == "down"
        ):
            for part in parts:
                run(part)
        self.only = None

    def step(self, n: tuple) -> None:
        """Run one node of the order."""
        if n[0] == "rule":
            r = self.k.rules[n[1]]
            self.fire_all(n, self.targets(r.about, n[2]))
        elif n[0] == "cell":
            self.settle_node(n)
        elif n[0] == "try":
            self.try_rows(self.k.rules[n[1]])
        elif n[0] == "pick":
            self.pick(self.k.rules[n[1]])
        else:
            self.along(n[1], n[2], self.step)

    def fire_all(self, n: tuple, xs: list) -> None:
        """Answer the rule of a node on each of *xs*."""
        if self.emitted is None:
            for x in xs:
                self.fire(self.k.rules[n[1]], x)
        elif xs:
            self.emitted.run(n)(xs, self)
        self.fired += len(xs)

    def settle_node(self, n: tuple) -> None:
        """Settle the fact of a node on everything it is about."""
        if not self.k.idle(n):
            self.settle_all(n, self.targets(n[1], n[3]))

    def settle_all(self, n: tuple, xs: list) -> None:
        """Settle the fact of a node on each of *xs*, in whose cells stands what was told of it."""
        if not xs:
            return
        if self.emitted is not None:
            self.emitted.run(n)(xs, self)
            return
        _, kind, fact, plane = n
        word = self.k.words.kinds[kind].words[fact]
        givers = self.k.order.givers.get((kind, fact), ())
        if plane and any(g.verb in ("tries", "designs") for g in givers):
            comes = word.comes_with == self.k.rules[plane].tried.name
            for y in xs:
                y[word.slot] = y[0].told.get(fact) if comes else y[0].slot[word.slot]
        else:
            for x in xs:
                self.settle_again(kind, fact, x)

    # ---- what emitted code leaves to the general evaluator
    def in_general(self, rule: str, x: list) -> None:
        """Answer a rule on one thing where what it needs is not plainly known."""
        self.bailed += 1
        self.fire(self.k.rules[rule], x)

    def settle_again(self, kind: str, fact: str, x: list) -> None:
        """Settle a fact of one thing in full."""
        v, origin, _ = self.settle(kind, fact, x)
        x[self.k.words.kinds[kind].words[fact].slot] = v
        if origin == "disputed":
            self.disputes.add((x[0].id, fact))

    def run(self) -> "World":
        """Run everything in order."""
        with decimal.localcontext(EXACT):
            if self.emitted is None:
                for n in self.k.order.sequence:
                    self.step(n)
            else:
                for s in self.emitted.stretches:
                    self.go(s)
        return self


def every_thing(w: World):
    """The things of the job and the rows that were tried, in a fixed order."""
    for xs in w.by_kind.values():
        yield from xs
    for xs in w.tried.values():
        yield from xs


__all__ = ["World", "members", "FILLING", "ex"]
