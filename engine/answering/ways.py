"""What would pass: the ways out that were proven (`mending`) with the numbers they give, and where
a number flips the answer.

There is one run, which is told otherwise for a while (`running.rerun`): within `with
self.other(changes)` every cell is as under the changes, so what is said of the job as it is told is
read off before.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from typing import Any, NamedTuple, Self

from ..basics.units import in_unit, number_text
from ..language.rules import JUDGING, Rule
from ..language.things import Thing
from ..mending.search import RUNS, Found, Mending
from ..proving.graph import plain, short, show, support, unit_shown
from ..running.chain import ADVICE, FAILS, PASSES, REFERS, SET_ASIDE, TELL
from .answers import Answer, Row
from .findings import Change, needs, word_of
from .subjects import On, Subjects
from .tiers import is_small

MOST_WAYS = 3  # that an answer shows


class Way(NamedTuple):
    """One way out of a fault: proven by a whole run, after which the fault is gone, nothing newly
    fails, and nothing but workmanship is newly open.
    """

    words: str  # what to do, as it is bought: `a 30 A breaker and 10 AWG cable (10 AWG ground)`
    numbers: str  # what there is then, and the margin: `30 A (at the limit)`; "" without a number
    cost: str  # the dearest class of work in it, a row of the table costs-of-work
    weight: Fraction  # what orders ways by what they cost, the cheapest first
    looks: bool  # whether it is found by looking (a marking), and nothing is done
    changes: tuple[Change, ...]  # what `Rerun.told` is to be given: (thing, fact, value or None)
    mends: frozenset[tuple[str, str]]  # every fault that is gone then: (rule, thing)
    advises: tuple[tuple[str, str], ...]  # advice that is not met then, and was before
    source: str  # the section of the rule that the fault goes against

    @property
    def said(self) -> str:
        """The way in one line: `4 AWG cable (8 AWG ground): 70 A (10 A to spare)`."""
        return f"{self.words}: {self.numbers}" if self.numbers else self.words


class NotAlone(NamedTuple):
    """What mends a fault and breaks something else."""

    words: str
    only_with: str  # what has to come along; "" where nothing known does
    then: str  # what it would break, in words, or what has to be told before it is known
    weight: Fraction  # as of a way


class Ways(Subjects):
    """Looks for ways out."""

    def passes(self, answer: Answer, rule: Rule, thing: Thing, flips: list[dict[str, Any]]) -> None:
        """What would pass, each with its own number."""
        best = self.chosen(rule, thing)
        said: list[str] = []
        ways: list[Way] = []
        if thing[0].plane:
            if best is not None and not any("assumed" in flip for flip in flips):
                said.append(self.chosen_way(rule, thing, *best))
            said += self.found_on_row(rule, thing)
        elif self.world.answer(rule, thing) == FAILS:
            ways = self.ways_out(rule, thing)
        for place, way in enumerate(ways):
            # as in the note: what is done first, what in its place; what is found by looking
            label = "Or" if place else "Look" if way.looks else "Fix"
            answer.rows.append(Row(label, way.said, rank=2 if place < 2 else 3))
        said += self.thresholds(rule, thing)
        hints = rule.d.get("answers", {}).get("hints", [])
        said += [text for hint in hints if (text := self.fill(str(hint), rule, thing)) is not None]
        for place, passing in enumerate(said[: MOST_WAYS - len(ways)]):
            label = "Passes" if place == 0 else ""
            answer.rows.append(Row(label, passing, rank=2 if place + len(ways) < 2 else 3))
        if not said and not ways:
            answer.rows += self.none_passes_rows(rule, thing)

    # ---- ways out
    @property
    def mending(self) -> Mending:
        """Who looks for ways out of what fails in the job as it is told."""
        remembered, key = self.whatif.remembered, ("mending",)
        if key not in remembered:
            remembered[key] = Mending(self.whatif, is_small)
        found: Mending = remembered[key]
        return found

    def ways_out(self, rule: Rule, thing: Thing, most: int = MOST_WAYS, runs: int = 0) -> list[Way]:
        """The ways out of what *rule* finds on *thing* in the job as it is told, the cheapest in a
        finished house first; none where nothing fails there, or nothing known mends it.

        Each was run whole: applied to the job the fault is gone and nothing newly fails; they are
        looked for in so many *runs* at most, or in as many as are worth it there.
        """
        found = self.mending.found((rule.id, thing[0].id), runs or self.runs_for(rule, thing))
        before = self.have(rule, thing)
        out = []
        for way in found.ways[:most]:
            with self.other(list(way.changes)) as other:
                numbers = ""
                there = other.world.things[thing[0].id]
                if way.on_rule in (PASSES, SET_ASIDE) and rule.comparison:
                    numbers = self.with_margin(other, rule, there, before)
            out.append(
                Way(
                    " and ".join(way.words),
                    numbers,
                    way.cost,
                    way.weight,
                    way.looks,
                    way.changes,
                    way.mends,
                    way.advises,
                    self.source(rule, thing),
                )
            )
        return out

    def runs_for(self, rule: Rule, thing: Thing) -> int:
        """In how many runs a way out is worth looking for."""
        return RUNS

    def found_on_row(self, rule: Rule, row: Thing) -> list[str]:
        """What may be found by looking, and lets a row that was tried pass."""
        slot, told, out = row[0].slot, self.row_as_told(row), []
        for offer in self.mending.offers:
            if not offer.action.is_found or self._circuit(offer.thing) is not self._circuit(slot):
                continue
            changes = [*told, *offer.steps[0].changes]
            with self.other(changes) as other:
                passes = other.world.answer(rule, slot) in (PASSES, SET_ASIDE)
                if passes and not self._fails(other, slot, changes):
                    words = offer.said(other.world, offer.steps[0])
                    size = show(row[0].row, None)
                    out.append(f"{size} with {words}: {self.with_margin(other, rule, slot)}")
        return out[:1]

    def not_alone(self, rule: Rule, thing: Thing, most: int = MOST_WAYS) -> list[NotAlone]:
        """What would mend a fault and is not enough alone, with what it would break."""
        found: Found = self.mending.found((rule.id, thing[0].id))
        return [
            NotAlone(
                " and ".join(half.words),
                " and ".join(half.only_with),
                self._keeps_from(*half.then),
                half.weight,
            )
            for half in found.halves[:most]
        ]

    def _keeps_from(self, rule: str, on: str) -> str:
        """Why something is not enough alone: what fails then, or is still to be told."""
        if self.mending.trials.standing.get((rule, on)) == TELL:
            wanted = needs(self.world, self.knowledge.rules[rule], self.world.things[on])
            if wanted:
                return f"first answer: {wanted[0].ask}"
        return f"it would go against: {self.knowledge.rules[rule].said}"

    def chosen_way(self, rule: Rule, thing: Thing, candidate: Thing, pick: Rule) -> str:
        """The row that a pick took, what it carries, and what it asks of the rest."""
        size = show(candidate[0].row, pick.tries_table.unit(pick.tried.name))
        carries = self.with_margin(self, rule, candidate)
        said = carries if carries.startswith(size) else f"{size}: {carries}"
        slot = thing[0].slot or thing
        return said + self.and_with_it(rule, slot, pick, candidate[0].row)

    def none_passes_rows(self, rule: Rule, thing: Thing) -> list[Row]:
        """That no row passes, where a pick tested by *rule* tried all of them and waits for
        none.
        """
        slot = (thing[0].slot or thing)[0].id
        for pick in self.picks_testing(rule):
            first, waiting = self.world.picked.get((pick.id, slot), (None, [1]))
            if first is None and not waiting and self.world.rows_of.get((pick.id, slot)):
                said = f"no {pick.tried.name} in this wiring method passes every test"
                return [Row("Passes", said, rank=3)]
        return []

    def picks_testing(self, rule: Rule) -> list[Rule]:
        """The picks that a requirement is a test of."""
        return [
            pick
            for pick in self.rules_about(rule.about, ("tries",))
            if rule in self.knowledge.order.tests[pick.id]
        ]

    def chosen(self, rule: Rule, thing: Thing) -> tuple[Thing, Rule] | None:
        """The row a pick took for *thing*, if *rule* is one of the tests it passed; where *thing*
        is too large, the largest that passes. And the pick.
        """
        slot = thing[0].slot or thing
        for pick in self.picks_testing(rule):
            row, waiting = self.world.picked.get((pick.id, slot[0].id), (None, []))
            told = thing[0].row if thing[0].plane else thing[pick.tried.slot]
            if row is None or waiting or row[0].row == told:
                continue
            rows = self.world.rows_of[pick.id, slot[0].id]
            at = next((place for place, y in enumerate(rows) if y[0].row == told), 0)
            tests = self.knowledge.order.tests[pick.id]
            below = [y for y in rows[:at] if self.world.row_passes(tests, y) is True]
            return (below[-1] if below else row), pick
        return None

    @contextmanager
    def other(self, changes: list[Change]) -> Iterator[Self]:
        """Who speaks of the job under *changes*, for as long as it is so."""
        with self.whatif.told(changes) as w:
            yield type(self)(w, self.whatif)

    def standing(
        self, thing: Thing, verbs: tuple[str, ...] = (*JUDGING, "refers")
    ) -> dict[tuple[str, str], str]:
        """(rule, thing) -> the answer of what is judged on the circuit of *thing*, as the job is
        told.
        """
        key = "standing", self._circuit(thing)[0].id, verbs
        if key not in self.whatif.remembered:
            with self.other([]) as told:
                self.whatif.remembered[key] = {
                    (r.id, t[0].id): a for r, t, a in told.judged(told._circuit(thing), verbs)
                }
        return self.whatif.remembered[key]

    def worse(self, thing: Thing, changes: list[Change]) -> list[On]:
        """(rule, thing) of what fails under *changes* on the circuit and did not, the worst
        first.
        """
        before = self.standing(thing)
        with self.other(changes) as other:
            now = other.judged(other._circuit(thing), (*JUDGING, "refers"))
        return [
            (rule, part)
            for rule, part, verdict in now
            if verdict == FAILS != before.get((rule.id, part[0].id))
        ]

    def unsettled(self, thing: Thing, changes: list[Change]) -> list[On]:
        """(rule, thing) of what is refused or cannot be told under *changes* on the circuit and was
        not, or compares what is changed.
        """
        before, out = self.standing(thing), []
        with self.other(changes) as other:
            for rule, part, verdict in other.judged(other._circuit(thing), (*JUDGING, "refers")):
                was = before.get((rule.id, part[0].id))
                if verdict == REFERS != was:
                    out.append((rule, part))
                elif verdict == TELL and rule.verb != "refers":
                    if was not in (TELL, FAILS) or (
                        was == TELL
                        and any(other.compares(rule, part, on, fact) for on, fact, _ in changes)
                    ):
                        out.append((rule, part))
        return out

    def compares(self, rule: Rule, part: Thing, thing: str, fact: str) -> bool:
        """Whether the comparison of a rule rests on a fact; where only its conditions do, another
        fact keeps it waiting.
        """
        graph = support(self.world, rule, part)
        below: dict[str, list[str]] = {}
        for node, needed, _ in graph.edges:
            below.setdefault(node, []).append(needed)
        due = [b for a, b, role in graph.edges if a == graph.root and role == rule.verb]
        seen: set[str] = set()
        while due:
            node = due.pop()
            if node not in seen:
                seen.add(node)
                due += below.get(node, ())
        return f"fact:{thing}/{fact}" in seen

    def advised(self, thing: Thing, changes: list[Change]) -> list[tuple[Rule, Thing]]:
        """What good practice would have on the circuit of *thing* under *changes*, and had not
        before.
        """
        before = self.standing(thing)
        with self.other(changes) as other:
            return [
                (r, t)
                for r, t, a in other.judged(other._circuit(thing))
                if a == ADVICE and before.get((r.id, t[0].id)) not in (ADVICE, FAILS)
            ]

    def and_with_it(self, rule: Rule, slot: Thing, pick: Rule, row: str) -> str:
        """What a row that passes asks of the rest of the circuit: a breaker of the next size may
        want a larger wire behind it.
        """
        changes = [(slot[0].id, pick.tried.name, row)]
        new = self.worse(slot, changes)
        if not new:
            for test, part in self.unsettled(slot, changes):
                if self.world.answer(test, part) in (PASSES, SET_ASIDE):
                    return f"; {test.id} would still be open"
            return ""
        test, part = new[0]
        end = part[0].slot or part
        with self.other(changes) as other:
            best = other.chosen(test, part)
        if best is not None and end is not slot:
            larger, other_pick = best
            name, size = other_pick.tried.name, larger[0].row
            if not self.worse(slot, [*changes, (end[0].id, name, size)]):
                shown = show(size, other_pick.tries_table.unit(name))
                return f", with {short(end)} of {shown}"
        return f"; {short(part)} then fails {test.id}"

    def have(self, rule: Rule, thing: Thing) -> str:
        """What there is, before something is told otherwise."""
        return self.side_texts(rule, thing)[0] if rule.comparison else ""

    def with_margin(
        self, why: Subjects, rule: Rule, candidate: Thing, before: str | None = None
    ) -> str:
        """What the changed side then is, and the margin; *before* is what there was."""
        if not rule.comparison:
            return "passes"
        margin, (have, needed) = why.margin(rule, candidate), why.side_texts(rule, candidate)
        if candidate[self.knowledge.slots[rule.id]] == FAILS:
            # short as ever, and an exception lets it pass
            allowing = [
                exception
                for exception in self.knowledge.order.exceptions.get(rule.id, ())
                if why.world.holds(exception, candidate) is True
            ]
            margin = "; ".join(
                f"allowed by {why.source(exception, candidate) or exception.said}"
                for exception in allowing
            )
        unchanged = before == have != needed
        return (needed if unchanged else have) + (f" ({margin})" if margin else "")

    def row_as_told(self, thing: Thing) -> list[Change]:
        """Of a row that is tried: the change that tells it to the thing it stands for."""
        if not thing[0].plane:
            return []
        tried = self.knowledge.rules[thing[0].plane].tried
        return [((thing[0].slot or thing)[0].id, tried.name, thing[0].row)]

    def _fails(self, other: Ways, slot: Thing, changes: list[Change]) -> bool:
        """Does something of this thing fail by a way out, or something of its circuit that did not
        fail before?
        """
        if any(
            t.about == slot[0].kind
            and t.verb in ("must", "must not")
            and other.world.answer(t, slot) == FAILS
            for t in self.knowledge.rules.values()
        ):
            return True
        return bool(self.worse(slot, changes))

    def thresholds(self, rule: Rule, thing: Thing) -> list[str]:
        """Where the answer flips: a told number moved to the rows of the tables it is looked up in,
        or to the limit itself.
        """
        before = self.have(rule, thing)
        found = [
            self.threshold(rule, thing, on, fact, points, before)
            for on, fact, points in self.turning_points(rule, thing)
        ]
        return [text for text in found if text is not None]

    def threshold(
        self, rule: Rule, thing: Thing, on: str, fact: str, points: list[Any], before: str
    ) -> str | None:
        """The nearest of *points* at which a told number lets *rule* pass, and by how much."""
        slot = thing[0].slot or thing
        told = self.world.things[on][word_of(self.world, on, fact).slot]
        for value in points:
            changes = [(on, fact, value), *self.row_as_told(thing)]
            with self.other(changes) as other:
                if other.world.answer(rule, slot) not in (PASSES, SET_ASIDE):
                    continue
                if self._fails(other, slot, changes):
                    continue
                margin = self.with_margin(other, rule, slot, before)
            size = f"{show(thing[0].row, None)} " if thing[0].plane else ""
            at = self.point_text(on, fact, value, value < told)
            return f"{size}at {fact} {at}: {margin}"
        return None

    def point_text(self, on: str, fact: str, value: Any, lower: bool) -> str:
        """`86 °F or less`: a point on the side that passes; degrees are whole, the lower one."""
        thing = self.world.things[on]
        unit = unit_shown(thing, fact, word_of(self.world, on, fact).unit)
        at = show(value, unit)
        if unit == "°F":
            degrees = in_unit(value, unit)
            at = f"{number_text(Fraction(degrees.__floor__()) if lower else degrees)} °F"
        return f"{at} or {'less' if lower else 'more'}"

    def turning_points(self, rule: Rule, thing: Thing) -> list[tuple[str, str, list[Any]]]:
        """(thing, fact, values to try, nearest first) of told numbers that reach the answer through
        a table between rows.
        """
        graph = support(self.world, rule, thing)
        looked = {
            needed
            for node, needed, role in graph.edges
            if role.startswith("by ") and graph.nodes[node].kind == "step"
        }
        out = []
        for name in looked:
            node = graph.nodes[name]
            if node.kind != "fact" or node.data["origin"] not in ("told", "assumed"):
                continue
            on, fact = node.data["of"], node.data["is"]
            if "@" in on:
                continue
            word = word_of(self.world, on, fact)
            value = self.world.things[on][word.slot]
            if word.type[0] == "q" and plain(value):
                below = (point for point in self.points_of(fact, word.unit) if point < value)
                out.append((on, fact, sorted(below, reverse=True)))
        return out

    def points_of(self, fact: str, unit: str | None) -> set[Any]:
        """The numbers at which tables that are looked up by *fact* go from one row to the next."""
        points: set[Any] = set()
        for table in self.knowledge.tables.values():
            how, unit_of_key = table.keys.get(fact, ("exact", None))
            if how != "exact" and unit_of_key == unit:
                points |= {row[fact] for row in table.rows}
        return points
