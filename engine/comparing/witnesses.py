"""Which way an edit goes, found by running: cases that fail because of it, and cases that pass
because of it, sought over the limits that it and its readers touch.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from ..basics.errors import Fault
from ..checking.examples import Stub, each
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import FILLING, JUDGING, Rule
from ..language.words import as_list
from ..law.edits import BOTH, CHANGES, LAXER, STRICTER, Edit
from ..law.there import twins_of
from ..running.chain import OFF
from .edit_examples import ASKS
from .grid import Grid
from .slices import EMPTY, FAILS, ONE, Case, Cell, Law, Slice, Spot, Way, felt, roots

WHOLE = 2048  # cases up to which every one is looked at
MOST = 600  # cases that are made of a slice, under either law, where there are more
BASES = 10  # cases from which others are made by changing one fact or two
QUIET = 0.8  # of the flags, lists and parts of a case that is drawn, the share that are not so
DRAWS = 3  # how often such a case is drawn
# requirements at the end of a chain that turned; where twice as many were looked at it is enough
ENOUGH = 2
JUDGES = 6  # requirements that are looked at where an edit fills a fact or moves a table


class Witness(NamedTuple):
    """A case that comes out otherwise because of an edit."""

    of: Slice
    case: Case
    without: dict[str, str]
    within: dict[str, str]

    @property
    def rule(self) -> str:
        """The requirement that asks most where the case turned."""
        names = dict.fromkeys([*self.within, *self.without])
        turned = [n for n in names if self.within.get(n) != self.without.get(n)]
        return max(turned, key=lambda n: (self._asks(n), n == self.of.judges[0]))

    def _asks(self, name: str) -> int:
        return max(ASKS.get(said.get(name, ""), 0) for said in (self.without, self.within))


@dataclass
class Found:
    """What was found of one edit: a witness of each kind, and how much was looked at."""

    stricter: Witness | None = None
    laxer: Witness | None = None
    undecided: Witness | None = None  # one that moved to or from "cannot tell"
    cases: int = 0
    reached: int = 0  # of these, cases that came out otherwise
    decided: int = 0  # of these, such as fail or pass on both sides
    whole: bool = True  # every case of the grid was looked at
    slices: list[Slice] = field(default_factory=list)
    grids: list[Grid] = field(default_factory=list)

    @property
    def direction(self) -> str:
        """Which way the edit goes, by what was found."""
        if self.stricter and self.laxer:
            return BOTH
        return STRICTER if self.stricter else LAXER if self.laxer else CHANGES

    @property
    def relieves(self) -> Witness | None:
        """A case that fails without the edit, and with it no more."""
        witness = self.laxer
        if witness is None or FAILS not in _asked(witness):
            return None
        # what is asked under another name elsewhere is no relief: a fact that a rule fills moved
        moved_on = witness.of.reckoned and witness.within[witness.rule] == OFF
        return None if moved_on else witness

    @property
    def seen(self) -> str:
        """How much was looked at, in words."""
        if not self.cases:
            return "No case could be made of what it reads."
        turned = (
            f"{self.reached:,} come out otherwise" if self.reached else "none comes out otherwise"
        )
        if self.whole:
            return f"All {self.cases:,} cases looked at: {turned}."
        return f"{self.cases:,} cases looked at, drawn around its limits: {turned}."


def _asked(witness: Witness) -> list[int | None]:
    return [ASKS.get(answer) for answer in witness.without.values()]


def find(edit: Edit, within: Knowledge, bare: Knowledge, most: int = MOST) -> Found:
    """Seek cases that an edit turns, under the law with it and the law without it."""
    laws = (Law(within), Law(bare))
    out, turned, looked = Found(), 0, 0
    left = ENOUGH * most  # for all requirements at the end of a chain
    for judges, through in _felt(edit, laws):
        try:
            of = Slice(laws, judges, through)
        except (Fault, KeyError):
            continue
        decided = out.decided
        _Search(edit, of, out, min(most, left)).run()
        left -= of.runs if through else 0
        turned += bool(through) and out.decided > decided
        looked += bool(through)
        if (turned >= ENOUGH and looked > 2 * ENOUGH - 1) or (
            out.stricter and out.laxer and not out.whole
        ):
            break
    return out


def _changed(edit: Edit, laws: tuple[Law, Law]) -> list[Rule]:
    """The rules that an edit makes otherwise: its target, those that read it, those that give way
    to it.
    """
    names = [edit.target, *map(str, as_list(edit.d.get("instead of")))]
    names += edit.done.get("reaches", ())
    if not any(edit.target in law.k.rules for law in laws):
        names += [
            rule.id
            for rule in laws[0].k.rules.values()
            if edit.target in rule.reads_values or edit.target in rule.reads_tables
        ]
    found = (law.k.rules.get(name) for law in laws for name in names)
    return list({rule.id: rule for rule in found if rule is not None}.values())


def _felt(edit: Edit, laws: tuple[Law, Law]) -> Iterator[tuple[list[str], set[Cell]]]:
    """The requirements at which an edit is felt, those of one kind of thing together; each with the
    facts through which it is.
    """
    cells: set[Cell] = set()
    done: set[str] = set()
    for rule in _changed(edit, laws):
        # a rule that was said twice is one to whoever asks what it comes to
        names = [rule.id, *(twin for law in laws for twin in twins_of(law.k.rules, rule.id))]
        both = [law.k.rules[name] for name in names for law in laws if name in law.k.rules]
        group = list(dict.fromkeys(name for one in both for name in roots(laws, one)))
        judges = [name for name in group if _judges(name, laws)]
        if judges and not done.issuperset(judges):
            done |= {*judges}
            yield judges, set()
        for name in group:
            for law in laws:
                one = law.k.rules.get(name)
                if one is not None and one.verb in FILLING:
                    cells |= {(one.about, fill.word.name) for fill in one.fills}
    if cells:
        for judge, through in felt(laws[0].k, cells, JUDGES):
            if judge not in done:
                yield [judge], through


def _judges(name: str, laws: tuple[Law, Law]) -> bool:
    return any(name in law.k.rules and law.k.rules[name].verb in JUDGING for law in laws)


class _Search:
    """Witnesses sought in one slice."""

    def __init__(self, edit: Edit, of: Slice, out: Found, most: int) -> None:
        self.edit, self.of, self.out, self.most = edit, of, out, most
        self.grid = Grid(of, _otherwise(edit, of.laws))
        self.seen: set[tuple] = set()
        # by the name of what is edited, so that a run is as the run before
        self.random = random.Random(f"{edit.verb} {edit.target}")
        out.slices.append(of)
        out.grids.append(self.grid)

    def run(self) -> None:
        """Look at every case where they are few, else at those around the limits."""
        sizes = [len(values) + 1 for values in self.grid.values.values()]
        if not self.of.reckoned and not self.grid.moving and math.prod(sizes) <= WHOLE:
            for case in self._every():
                self._see(case)
            return
        self.out.whole = False
        bases = list(self._bases())
        if self.of.reckoned:
            bases = self._moved(bases)
        for cases in (lambda base: [base], self._tuned, self._one_changed, self._two_changed):
            for base in bases:
                for case in cases(base):
                    if self.of.runs >= self.most:
                        return
                    self._see(case)

    def _moved(self, bases: list[Case]) -> list[Case]:
        """The cases, and those with a fact or two changed, in which what is reckoned comes out
        otherwise: elsewhere no requirement can.
        """
        out: list[Case] = []
        changed = (case for base in bases for case in self._static(base))
        for case in itertools.chain(bases, changed):
            if self.of.runs >= self.most // 2 or len(out) >= BASES:
                break
            within, without = (self.of.filled(law, case) for law in self.of.laws)
            if within != without:
                out.append(case)
        judges = [self.of.rules[name][0] for name in self.of.judges]
        drawn = [self._completed(case) for _ in range(DRAWS) for case in out]
        whole = [self._applying(judge, case) for case in drawn for judge in judges]
        return whole + [self._applying(judge, case) for judge in judges for case in out] + out

    def _completed(self, case: Case) -> Case:
        """The case with a value for every fact, drawn; most is not so, and most parts are not
        there.
        """
        out = dict(case)
        there = {way[:n] for way in case for n in range(1, len(way))}
        for way, values in self.grid.values.items():
            quiet = next((value for value in (False, EMPTY) if value in values), None)
            if way in there and quiet == EMPTY:
                out[way] = ONE
            elif way not in out and values:
                is_quiet = quiet is not None and self.random.random() < QUIET
                out[way] = quiet if is_quiet else self.random.choice(list(values))
        return out

    def _static(self, case: Case) -> Iterator[Case]:
        """The case with one fact changed, each in turn, and then with two."""
        changes = [(way, v) for way, values in self.grid.values.items() for v in values]
        yield from ({**case, way: value} for way, value in changes)
        for one, two in itertools.combinations(changes, 2):
            if one[0] != two[0]:
                yield {**case, one[0]: one[1], two[0]: two[1]}

    def _every(self) -> Iterator[Case]:
        ways = list(self.grid.values)
        for told in itertools.product(*([None, *self.grid.values[way]] for way in ways)):
            yield {way: value for way, value in zip(ways, told, strict=True) if value is not None}

    # ---- one case
    def _see(self, case: Case) -> int:
        """Look at one case: 1 where it is asked more of, -1 where less, 0 where neither."""
        key = tuple(sorted((way, str(value)) for way, value in case.items()))
        if key in self.seen:
            return 0
        self.seen.add(key)
        out = self.out
        out.cases += 1
        within, without = (self.of.answers(law, case) for law in self.of.laws)
        if within == without:
            return 0
        out.reached += 1
        now, then = self.of.asks(within), self.of.asks(without)
        witness = Witness(self.of, case, without, within)
        if now is None or then is None:
            out.undecided = out.undecided or witness
            return 0
        out.decided += now != then
        if now > then:
            out.stricter = _plainer(out.stricter, witness)
        elif now < then:
            out.laxer = _plainer(out.laxer, witness)
        return (now > then) - (now < then)

    # ---- cases to begin with
    def _bases(self) -> Iterator[Case]:
        """Cases of the examples that there are, and some in which each rule applies."""
        told = [*itertools.islice(self._of_examples(), 3 * BASES)]
        bases = []
        for rule, _ in self.of.rules.values():
            bases += [self._applying(rule, case) for case in (told[:2] or [{}])]
        bases += told
        unique = {str(sorted(map(str, base.items()))): base for base in bases}
        yield from list(unique.values())[: 2 * BASES]

    def _of_examples(self) -> Iterator[Case]:
        own = [e for e in as_list(self.edit.d.get("examples")) if isinstance(e, dict)]
        for example in own:
            name = str(example.get("rule", self.edit.target))
            if name in self.of.rules:
                yield from self._told(example, *self.of.rules[name])
        for rule, base in self.of.rules.values():
            for example in list(as_list(rule.d.get("examples")))[:4]:
                if isinstance(example, dict):
                    yield from self._told(example, rule, base)

    def _told(self, example: dict[str, Any], rule: Rule, base: Way) -> Iterator[Case]:
        """The facts of an example, as a case of this slice."""
        try:
            for given in itertools.islice(each(example.get("given", {})), 2):
                yield dict(self._facts(given, rule.about, base))
        except (Fault, AttributeError, TypeError, ValueError):
            return

    def _facts(self, given: dict[str, Any], kind: str, base: Way) -> Iterator[tuple[Way, Any]]:
        stub = Stub(self.of.laws[0].k)
        for path, value in given.items():
            way = base
            for word in stub.words(kind, path):
                way = (*way, (word.kind, word.name))
            if word.type[0] == "many" and isinstance(value, list):
                yield way, ONE if value else EMPTY
                if value:
                    yield from self._facts(value[0], word.type[1], way)
            elif word.type[0] == "ref":
                yield way, EMPTY
            elif way in self.of.leaves:
                cell = stub.value(word, value, self.edit.at)
                if cell is not None:
                    yield way, cell

    def _applying(self, rule: Rule, case: Case) -> Case:
        """A case near another in which the conditions of a rule are met, as far as one fact after
        the other can do it.
        """
        base = self.of.rules[rule.id][1]
        for condition in rule.when:
            ways = [w for s in self.of.spots if s.here == base for w in _ways(s, condition)]
            for way in dict.fromkeys(ways):
                if self._met(condition, case, base):
                    break
                for value in self.grid.values.get(way, ()):
                    tried = {**case, way: value}
                    if self._met(condition, tried, base):
                        case = tried
                        break
        return case

    def _met(self, condition: ex.Expr, case: Case, base: Way) -> bool:
        law = self.of.laws[0]
        return self.of.worth(law, case, Spot(condition, base, base), (condition,)) == [True]

    # ---- cases made of others
    def _values(self, case: Case) -> list[tuple[Way, Any]]:
        """Everything that one fact of a case may be changed to, the limits that move with it
        first.
        """
        out: dict[tuple[Way, Any], None] = {}
        for spot in self.grid.moving:
            for law in self.of.laws:
                out.update(dict.fromkeys(self.grid.near(case, law, spot)))
        for way, values in self.grid.values.items():
            out.update(dict.fromkeys((way, value) for value in values))
        return list(out)

    def _one_changed(self, case: Case) -> Iterator[Case]:
        for way, value in self._values(case):
            yield {**case, way: value}

    def _two_changed(self, case: Case) -> Iterator[Case]:
        changes = self._values(case)
        pairs = [(one, two) for one, two in itertools.combinations(changes, 2) if one[0] != two[0]]
        self.random.shuffle(pairs)
        for (one, a), (two, b) in pairs[: self.most // 4]:
            changed = {**case, one: a, two: b}
            yield changed
            yield from itertools.islice(self._tuned(changed), 6)

    def _tuned(self, case: Case) -> Iterator[Case]:
        """The case with one fact at a limit that moved with the others."""
        for spot in self.grid.moving[:3]:
            for law in self.of.laws:
                yield from ({**case, way: v} for way, v in self.grid.near(case, law, spot))


def _ways(spot: Spot, condition: ex.Expr) -> Iterable[Way]:
    return spot.ways() if spot.piece is condition else ()


def _plainer(old: Witness | None, new: Witness) -> Witness:
    """Of two witnesses the one that a person would rather be told: a plain failure, in short."""

    def plain(witness: Witness) -> tuple[bool, int]:
        said = {*witness.without.values(), *witness.within.values()}
        return "fails" not in said, len(witness.case)

    return new if old is None or plain(new) < plain(old) else old


def _otherwise(edit: Edit, laws: tuple[Law, Law]) -> dict[str, list[dict[str, Any]]]:
    """The rows that a table has otherwise under the two laws."""
    here, there = (law.k.tables.get(edit.target) for law in laws)
    if here is None or there is None:
        return {}
    rows = [row for row in here.rows if row not in there.rows]
    rows += [row for row in there.rows if row not in here.rows]
    near = [n for row in rows for table in (here, there) for n in table.neighbours(row) if n]
    return {edit.target: [*rows, *near]}


__all__ = ["Found", "Witness", "find"]
