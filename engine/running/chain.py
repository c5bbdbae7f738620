"""Run the rules on a job: one fixed order, no agenda. This is the plain chainer, and what both
chainers share.

Each rule leaves an answer on each thing it is about (`fire`); each fact settles after its last
giver (`settle`). A run takes the emitted straight-line code, a stretch of the order at a time,
where everything is plainly known, and these two where it is not: they never answer differently
(tests/engine/test_emit.py).
"""

from __future__ import annotations

import decimal
from collections.abc import Callable, Iterable, Iterator
from typing import Any, NamedTuple, TypeAlias

from ..basics.errors import NOWHERE, Fault
from ..basics.sentinels import NONE, NOTHING
from ..basics.units import EXACT, SOME, Range, both, compare, opposite
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import FILLING, JUDGING, Fill, Rule
from ..language.things import Meta, NodeId, Thing, members
from .alike import Left
from .emit import Emitted, Stretch
from .job import Job
from .outcomes import ADVICE, FAILS, LACKS, OFF, PASSES, REFERS, SET_ASIDE, TELL, WARNS
from .program import program_of
from .withheld import Withheld

FALLBACKS = FILLING[1:]  # what fills a fact that nothing told or gave, in this order
ORIGIN_OF_FALLBACK = {"reckons": "derived", "assumes": "assumed", "designs": "designed"}

# What a rule left on a thing: one of the words above of a rule that judges, its conditions
# (True, False, None) of any other.
Answer: TypeAlias = str | bool | None
# A rule that fills a fact, and the value it comes to on the thing in question (None: not known).
Given: TypeAlias = tuple[Rule, Any]


class Settled(NamedTuple):
    """What a fact of a thing is worth in the end, where that came from, and by which rule."""

    value: Any
    origin: str
    rule: str | None = None


class Givers(NamedTuple):
    """What the rules come to that may fill a fact of a thing."""

    live: list[Given]  # they give the fact, and hold
    open: list[Given]  # they may turn out to hold once more is known
    fallback: Given | None  # the first that fills what nobody told or gave
    # whether one that goes before that might fill it too, were nothing withheld
    withheld: bool = False

    @property
    def known(self) -> list[Any]:
        """The values that live rules give, each once."""
        values: list[Any] = []
        for _, value in self.live:
            if value is not None and value not in values:
                values.append(value)
        return values

    def agree_on(self, value: object) -> bool:
        """Whether every live rule is sure, and no open one could bring another value."""
        return all(v is not None for _, v in self.live) and all(v == value for _, v in self.open)


class World:
    """One run of the rules over one job."""

    withheld: Withheld | None = None  # what the run is not let know

    def __init__(self, k: Knowledge, job: Job, fast: bool = True) -> None:
        self.k, self.job = k, job
        self.emitted: Emitted | None = program_of(k).emitted() if fast else None
        self.by_kind: dict[str, list[Thing]] = {}
        self.things: dict[str, Thing] = {}
        # pick -> rows of all slots
        self.tried: dict[str, list[Thing]] = {rule: [] for rule in program_of(k).tries()}
        self.rows_of: dict[tuple[str, str], list[Thing]] = {}  # (pick, thing id) -> its rows
        # (pick, thing id) -> (row chosen, rows waiting)
        self.picked: dict[tuple[str, str], tuple[Thing | None, list[Thing]]] = {}
        self.disputes: set[tuple[str, str]] = set()  # (thing id, fact)
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
    def holds(self, r: Rule, x: Thing) -> bool | None:
        """Does an exception or a filler hold: its conditions, its own test if it judges, and
        nothing that sets it aside.
        """
        holds: bool | None = x[self.k.holds[r.id]]
        return holds

    def fire(self, r: Rule, x: Thing) -> None:
        """Answer rule *r* on thing *x*; the authority for every case.

        Raises:
            Fault: its numbers outgrow what is reckoned with.
        """
        self._leave(r, x, self._worked_out(r, x))

    def _worked_out(self, rule: Rule, thing: Thing) -> Left:
        """What a rule leaves on a thing. Raises Fault, with the place of the rule."""
        try:
            applies = self._applies(rule, thing)
            if rule.verb in JUDGING:
                return Left(*self._judged(rule, thing, applies), ())
            return Left(applies, applies, self._filled(rule, thing, applies))
        except Fault as f:
            if f.at is not NOWHERE:
                raise
            raise Fault(f.code, rule.at, f"{rule.id} on {thing[0].id}: {f.what}", f.todo) from None

    def _leave(self, rule: Rule, thing: Thing, left: Left) -> None:
        """Write what a rule came to into the cells of a thing, after what sets the rule aside."""
        k = self.k
        for fill, value in zip(rule.fills, left.values):
            # in the rule's own cells: the fact settles from them
            thing[k.results[rule.id, fill.word.name]] = value
        thing[k.slots[rule.id]] = left.answer
        if rule.id in k.holds:
            holds = left.holds
            for exception in k.order.exceptions.get(rule.id, ()):
                holds = both([holds, opposite(thing[k.holds[exception.id]])])
            thing[k.holds[rule.id]] = holds

    def _applies(self, rule: Rule, thing: Thing) -> bool | None:
        """Whether every condition of a rule is met; beyond a none no condition is."""
        applies: bool | None = True
        for condition in rule.when:
            met = condition.ev(thing, None)
            if met is False or met is NOTHING:
                return False
            if met is None:
                applies = None
        return applies

    def _judged(self, rule: Rule, thing: Thing, applies: bool | None) -> tuple[Answer, bool | None]:
        """The answer of a rule that judges, and whether it holds where it is an exception."""
        if applies is False:
            return OFF, False
        # a rule that judges has a line by which it does, or it would not be in force
        assert rule.test is not None
        met = rule.test.ev(thing, None)
        if met is NOTHING:
            return OFF, False
        if rule.verb == "must not":
            met = opposite(met)
        # What takes the place of another requirement takes it only where it is met itself.
        holds = both([applies, met])
        if met is True:
            return PASSES, holds
        if met is None or applies is None:
            return TELL, holds
        return ADVICE if rule.verb == "should" else FAILS, holds

    def _filled(self, rule: Rule, thing: Thing, applies: bool | None) -> tuple[Any, ...]:
        """What each line of a rule comes to."""
        return tuple(
            _as_cell(fill, fill.expr.ev(thing, None)) if applies is not False else None
            for fill in rule.fills
        )

    def set_aside(self, r: Rule, x: Thing) -> bool | None:
        """True, False or None: is *r* set aside on *x* by an exception?"""
        aside: bool | None = False
        for exception in self.k.order.exceptions.get(r.id, ()):
            holds = x[self.k.holds[exception.id]]
            if holds is True:
                return True
            if holds is None:
                aside = None
        return aside

    def aside_withheld(self, r: Rule, x: Thing, requirements: bool = False) -> bool:
        """Whether it is withheld that an exception to *r* holds on *x*: one of any kind, or one
        that is more than a permission.
        """
        if self.withheld is None:
            return False
        for exception in self.k.order.exceptions.get(r.id, ()):
            slot = self.k.holds[exception.id]
            if x[slot] is None and not (requirements and exception.verb == "exception"):
                if self.withheld.known_before(x, slot):
                    return True
        return False

    def lifting(self, r: Rule, x: Thing) -> Rule | None:
        """The exception that sets *r* aside on *x*; of several the one that is itself a
        requirement, met.
        """
        by = self._lifting_all(r, x)
        return next((e for e in by if e.verb in JUDGING), by[0] if by else None)

    def _lifting_all(self, rule: Rule, thing: Thing) -> list[Rule]:
        """Every exception that is proven to set a rule aside on a thing."""
        holds = self.k.holds
        exceptions = self.k.order.exceptions.get(rule.id, ())
        return [e for e in exceptions if thing[holds[e.id]] is True]

    def answer(self, r: Rule, x: Thing) -> str:
        """What *r* says of *x* in the end, exceptions and all."""
        applies = x[self.k.slots[r.id]]
        if r.verb in JUDGING:
            return self._verdict(r, x)
        if applies is False:
            return OFF
        aside = self.set_aside(r, x)
        if aside is True:
            return SET_ASIDE
        if r.verb == "warns":
            # a caution is shown also where nobody can tell whether it applies
            return WARNS
        if self.aside_withheld(r, x):
            return TELL
        if r.verb in ("refers", "lacks"):
            sure = REFERS if r.verb == "refers" else LACKS
            return sure if applies is True else TELL
        return "holds" if applies is True and aside is False else TELL

    def _verdict(self, rule: Rule, thing: Thing) -> str:
        """What a rule that judges says of a thing in the end."""
        answer: str | None = thing[self.k.slots[rule.id]]
        if answer is OFF or answer is None:
            return OFF
        by = self._lifting_all(rule, thing)
        if self.withheld is not None and self._verdict_withheld(rule, thing, bool(by)):
            return TELL
        if not by:
            return answer
        # A bare permission is not announced for what passes anyway; a rule that takes the place
        # of this one is.
        if answer is PASSES and all(e.verb == "exception" for e in by):
            return answer
        return SET_ASIDE

    def _verdict_withheld(self, rule: Rule, thing: Thing, aside: bool) -> bool:
        """Whether a verdict rests on what is withheld: it would be an answer about ignorance."""
        assert self.withheld is not None
        answer, slot = thing[self.k.slots[rule.id]], self.k.slots[rule.id]
        if answer is TELL:
            # an exception lets pass what would fail: whether it would is withheld
            return aside and self.withheld.otherwise_before(thing, slot, TELL)
        if not aside and self.aside_withheld(rule, thing, requirements=answer is PASSES):
            return True
        # it passes if it applies: whether it does is withheld
        return (
            answer is PASSES
            and (rule.id, thing[0].id) not in self.withheld.never_applied
            and self._applies(rule, thing) is None
        )

    # ---- facts
    def settle(self, kind: str, fact: str, x: Thing) -> Settled:
        """What a fact of *x* is worth after its givers, and where it came from.

        Told beats derived, but never silently: a rule that is sure of another value makes it
        disputed. What is assumed or designed fills only what no rule gives and none might yet give.
        """
        meta: Meta = x[0]
        if meta.plane and fact == self.k.rules[meta.plane].tried.name:
            return Settled(meta.row, "tried", meta.plane)
        told = meta.told.get(fact)
        rules = self.k.order.givers.get((kind, fact), ())
        for rule in rules:
            if rule.verb == "tries":
                return self._settle_picked(rule, x, told)
        givers = self._givers(rules, fact, x)
        known = givers.known
        if told is not None:
            if any(self._apart(told, value) for value in known):
                return Settled(None, "disputed")
            return Settled(told, "told")
        if len(known) > 1:
            return Settled(None, "disputed")
        if known and givers.agree_on(known[0]):
            return Settled(known[0], "derived", givers.live[0][0].id)
        # A default while a rule is still open would be an answer that nobody gave: the open rule
        # may hold once its conditions are known.
        open_ = givers.live or givers.open or givers.withheld
        if givers.fallback is not None and not open_:
            rule, value = givers.fallback
            return Settled(value, ORIGIN_OF_FALLBACK[rule.verb], rule.id)
        return Settled(None, "unknown")

    def _settle_picked(self, pick: Rule, thing: Thing, told: object) -> Settled:
        """What the fact is worth that a pick fills: on a row that is tried, what it is on the thing
        whose row it is.
        """
        meta: Meta = thing[0]
        if meta.slot is not None:
            return Settled(meta.slot[pick.picks.slot], "picked", pick.id)
        if told is not None:
            return Settled(told, "told")
        if self.withheld is not None and self.withheld.holds_back(thing, pick.picks.name):
            return Settled(None, "unknown")
        row, waiting = self.picked.get((pick.id, meta.id), (None, []))
        # While a smaller row may pass, or nobody can say which rows there are, no size is picked.
        if waiting or self.rows_of.get((pick.id, meta.id)) is None:
            return Settled(None, "unknown", pick.id)
        return Settled(NONE if row is None else row[0].row, "picked", pick.id)

    def _givers(self, rules: Iterable[Rule], fact: str, thing: Thing) -> Givers:
        """What each of the *rules* that may fill a fact comes to on a thing."""
        slots, results, holds = self.k.slots, self.k.results, self.k.holds
        live: list[Given] = []
        unsure: list[Given] = []
        fallback: Given | None = None
        back: Given | None = None  # the first that might fill it, were nothing withheld
        for rule in rules:
            applies, value = thing[slots[rule.id]], thing[results[rule.id, fact]]
            # what is surely set aside does not apply: it gives nothing, and leaves nothing open
            if applies is False or self.set_aside(rule, thing) is True:
                continue
            if rule.verb != "gives":
                if self._filling_withheld(rule, fact, thing) and _before(rule, back):
                    back = rule, value
                if applies is True and value is not None and _before(rule, fallback):
                    fallback = rule, value
            # whether an exception takes it away is withheld: with it goes what it would have given
            elif self.aside_withheld(rule, thing):
                unsure.append((rule, None))
            # one that gives in the place of another does so only where it surely holds
            elif thing[holds[rule.id]] is True or (applies is True and not rule.exception_to):
                live.append((rule, value))
            elif not rule.exception_to or self._holding_withheld(rule, thing):
                unsure.append((rule, value))
        # a filler that comes first fills it whatever the withheld one would have done
        if back is not None and fallback is not None and _before(fallback[0], back):
            back = None
        held = self.withheld is not None and self.withheld.holds_back(thing, fact)
        return Givers(live, unsure, fallback, held or back is not None)

    def _holding_withheld(self, rule: Rule, thing: Thing) -> bool:
        """Whether it is withheld that a rule holds which gives in the place of another."""
        slot = self.k.holds[rule.id]
        if self.withheld is None or thing[slot] is not None:
            return False
        return self.withheld.known_before(thing, slot)

    def _filling_withheld(self, rule: Rule, fact: str, thing: Thing) -> bool:
        """Whether it is withheld that a rule fills what nobody told, or with what."""
        if self.withheld is None:
            return False
        if self.aside_withheld(rule, thing):
            return True
        slot, result = self.k.slots[rule.id], self.k.results[rule.id, fact]
        if thing[slot] is None:
            return self.withheld.known_before(thing, slot)
        return thing[result] is None and self.withheld.known_before(thing, result)

    @staticmethod
    def _apart(told: object, value: object) -> bool:
        """Whether two values cannot both be so."""
        if isinstance(value, Range) or isinstance(told, Range):
            return compare("=", told, value) is False
        return told != value

    # ---- candidates
    def try_rows(self, p: Rule) -> None:
        """Every row of the table that the keys allow becomes a thing of its own: NAME@ROW."""
        for x in self.targets(p.about, ""):
            if (found := self.rows_found(p, x)) is not None:
                rows = self.rows_of[p.id, x[0].id] = self.candidates(p, x, found)
                self.tried[p.id].extend(rows)

    def rows_found(self, p: Rule, x: Thing) -> list[Any] | None:
        """The sizes that pick *p* has to try on *x*; None while one of its keys is not known."""
        keys = {}
        for name, e in p.tries_keys.items():
            v = e.ev(x, None)
            keys[name] = None if v is SOME or v is NOTHING or v is NONE else v
        if None in keys.values():
            return None
        return [row[p.tried.name] for row in p.tries_table.find(keys) if row]

    def told_of_rows(self, p: Rule, x: Thing) -> tuple[dict[str, Any], dict[str, Any]]:
        """What is told of the row of the size that *x* was told to have, and of every other row.

        What comes with a size, as the count of its strands, was told of that size alone.
        """
        told = {f: v for f, v in x[0].told.items() if f != p.tried.name}
        words = self.k.words.kinds[p.about].words
        other = {f: v for f, v in told.items() if words[f].comes_with != p.tried.name}
        return told, other if len(other) < len(told) else told

    def candidates(self, p: Rule, x: Thing, sizes: list[Any]) -> list[Thing]:
        """A thing for each of *sizes*, with what is told of *x*, and nothing derived yet."""
        k, meta = self.k, x[0]
        words = k.words.kinds[p.about].words
        told_size = meta.told.get(p.tried.name)
        images = []
        for facts in self.told_of_rows(p, x):
            image: Thing = [None] * k.width[p.about]
            for f, v in facts.items():
                image[words[f].slot] = v
            images.append((facts, image))
        rows, program = [], program_of(k)
        for size in sizes:
            facts, image = images[0 if size == told_size else 1]
            y = image[:]
            m = y[0] = Meta("", p.about, meta.name)
            m.id = f"{meta.id}@{program.label(p, size)}"
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

    def pick_for(self, p: Rule, x: Thing) -> None:
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
        x[p.picks.slot] = self.settle(p.about, p.picks.name, x).value

    def row_passes(self, tests: Iterable[Rule], y: Thing) -> bool | None:
        """Does a tried row pass: True, False, or None where a test cannot tell."""
        slots = self.k.slots
        out: bool | None = True
        for t in tests:
            a = y[slots[t.id]]
            if a is PASSES or a is OFF:
                continue
            if self.set_aside(t, y) is True:
                continue
            if a is TELL or self.aside_withheld(t, y):
                out = None
            else:
                return False
        return out

    # ---- the order
    def targets(self, kind: str, plane: str) -> list[Thing]:
        xs = self.tried[plane] if plane else self.by_kind[kind]
        if self.only is None:
            return xs
        return [x for x in xs if self.depth(x[0].slot or x) == self.only]

    def depth(self, x: Thing) -> int:
        """How many feeders lie above a thing."""
        got = self.depths.get(x[0].id)
        if got is None:
            # a circle of links would climb for ever: on the way a thing counts as lying at the top
            self.depths[x[0].id] = 0
            got = 0
            k = self.k.words.kinds[x[0].kind]
            if x[0].whole is not None and x[0].kind != "job":
                got = self.depth(x[0].whole) if x[0].whole[0].kind != "job" else 0
            # what it links to and is fed itself counts too: a circuit is as deep as its panel
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
                # only a run that has emitted code goes by stretches
                assert self.emitted is not None
                self.fired += len(xs) * s.rules
                for run in s.runs or self.emitted.runs(s):
                    run(xs, self)
        elif self.by_kind[s.kind]:
            self.step(s.nodes[0])

    def along(self, way: str, parts: Iterable[Any], run: Callable[[Any], None]) -> None:
        """Run the parts of a block thing by thing along the feeders, up or down."""
        for self.only in sorted(
            {self.depth(x) for xs in self.by_kind.values() for x in xs}, reverse=way == "down"
        ):
            for part in parts:
                run(part)
        self.only = None

    def step(self, n: NodeId) -> None:
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

    def fire_all(self, n: NodeId, xs: list[Thing]) -> None:
        """Answer the rule of a node on each of *xs*."""
        if self.emitted is None:
            for x in xs:
                self.fire(self.k.rules[n[1]], x)
        elif xs:
            self.emitted.run(n)(xs, self)
        self.fired += len(xs)

    def settle_node(self, n: NodeId) -> None:
        """Settle the fact of a node on everything it is about."""
        if not self.k.idle(n):
            self.settle_all(n, self.targets(n[1], n[3]))

    def settle_all(self, n: NodeId, xs: list[Thing]) -> None:
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
    def in_general(self, rule: str, x: Thing) -> None:
        """Answer a rule on one thing where what it needs is not plainly known."""
        self.bailed += 1
        alike = program_of(self.k).alike(rule)
        key = alike.key(x)
        left = alike.left.get(key) if key is not None else None
        if left is None:
            left = self._worked_out(alike.rule, x)
            if key is not None:
                alike.remember(key, left)
        self._leave(alike.rule, x, left)

    def settle_again(self, kind: str, fact: str, x: Thing) -> None:
        """Settle a fact of one thing in full."""
        settled = self.settle(kind, fact, x)
        x[self.k.words.kinds[kind].words[fact].slot] = settled.value
        if settled.origin == "disputed":
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


def _as_cell(fill: Fill, value: Any) -> Any:
    """The value of a line as a cell holds it."""
    if value is NOTHING:
        # Only a size can be none; of any other fact there is nothing to know.
        return NONE if fill.word.type[0] == "row" else None
    return None if type(value) is Range and value == SOME else value


def _before(rule: Rule, fallback: Given | None) -> bool:
    """Whether a rule fills what nothing told or gave sooner than the one found so far."""
    return fallback is None or FALLBACKS.index(rule.verb) < FALLBACKS.index(fallback[0].verb)


def every_thing(w: World) -> Iterator[Thing]:
    """The things of the job and the rows that were tried, in a fixed order."""
    for xs in w.by_kind.values():
        yield from xs
    for xs in w.tried.values():
        yield from xs


__all__ = ["World", "members", "FILLING", "ex"]
