"""The questions themselves: why SUBJECT [ATTRIBUTE or RULE], whynot SUBJECT ATTRIBUTE=VALUE."""

from __future__ import annotations

import re
from collections.abc import Sized

from ..basics.errors import Fault, Place, suggest
from ..basics.sentinels import NONE
from ..basics.units import Range, dimension, parse_quantity
from ..language import expressions as ex
from ..language.rules import JUDGING, Fill, Rule, section_of
from ..language.things import Thing
from ..language.words import Word
from ..proving.graph import Explainer, short, show, support, unit_shown
from ..running.chain import ADVICE, FAILS, LACKS, OFF, PASSES, SET_ASIDE, TELL
from ..running.job import SAID_ALONE, Job
from .amended import Edit
from .answers import Answer, Row, Unclear
from .explain import Explain
from .findings import Change, Value, needs, needs_of_fact, unless, whichever
from .sentences import FAR, begun
from .subjects import SEVERITY, Judged, On
from .ways import Ways
from .working import Working

BARE = re.compile(r"\d+(\.\d+)?")
ONE_UNIT = ("A", "V", "hp")  # what people measure in one unit: a breaker of 60 is one of 60 A
PEOPLE_WRITE = ("ft", "in", "°F", "°C", "W", "kW")
YES_OR_NO = {"yes": True, "no": False}


def number_of(things: Sized, what: str) -> str:
    """How many, with the plural where there is not one.

    >>> number_of([1, 2], "requirement")
    '2 requirements'
    """
    return f"{len(things)} {what}{'' if len(things) == 1 else 's'}"


def said_and_checked(why: Ways, rule: Rule, part: Thing) -> str:
    """What a rule says, and its check where it compares."""
    check = why.check(rule, part) if isinstance(rule.test, ex.Cmp) else ""
    return f"{rule.said} {check}".strip()


def headword_of_value(value: Value, shown: str) -> str:
    """The word that an answer about a fact begins with."""
    if value is None:
        return "NOT KNOWN."
    if isinstance(value, bool):
        return "YES." if value else "NO."
    return f"{shown}."


def begins_with(test: ex.Expr | None, fact: str) -> bool:
    """Whether a comparison has a fact of the thing itself on its left."""
    return isinstance(test, ex.Cmp) and any(
        isinstance(part, ex.Path) and part.names == (fact,) and not part.member
        for part in ex.walk(test.a)
    )


def reads_any(test: ex.Expr | None, names: set[str]) -> bool:
    """Whether a test reads a fact that is called so."""
    return test is not None and any(
        isinstance(part, ex.Path) and bool(part.names) and part.names[-1] in names
        for part in ex.walk(test)
    )


class Why(Explain):
    """Answers questions about one finished run."""

    def question(self, words: list[str]) -> Answer:
        """Answer `why SUBJECT [ATTRIBUTE or RULE]`.

        Raises:
            Unclear: nothing is called so.
        """
        gone = self.named_withdrawn(words)
        if gone is not None:
            return self.withdrawn(gone)
        knowledge = self.knowledge
        if len(words) == 1 and (words[0] in knowledge.rules or words[0] in knowledge.absent):
            return self.rule_anywhere(words[0])
        thing, rest = self.thing(words)
        if not rest:
            return self.subject(thing)
        what = " ".join(rest)
        rule = self.rule_named(thing, what)
        if rule is not None and rule.verb == "tries":
            return self.fact(self.holder_of_pick(rule, thing), rule.picks.name)
        if rule is not None:
            return self.rule_on(rule, thing)
        if what in knowledge.absent:
            return self.absent(what)
        fact, holder = self.fact_of(thing, what)
        if fact is None:
            rules = [r.id for r in knowledge.rules.values() if r.about == thing[0].kind]
            todo = suggest(what, [*knowledge.words.known(thing[0].kind), *rules])
            raise Unclear(f'{short(thing)} has no "{what}", and no rule is called so\n    {todo}')
        return self.fact(holder, fact)

    def named_withdrawn(self, words: list[str]) -> str | None:
        """The rule among *words* that the law of the place took away."""
        if not words:
            return None
        withdrawn = self.knowledge.withdrawn
        name = words[-1] if words[-1] in withdrawn else "-".join(words[1:])
        return name if name in withdrawn else None

    def rule_named(self, thing: Thing, what: str) -> Rule | None:
        """The rule that is called so; a fact of the same words goes before one without hyphens."""
        rules = self.knowledge.rules
        if "-" in what and what in rules:
            return rules[what]
        return rules.get(what.replace(" ", "-")) if self.fact_of(thing, what)[0] is None else None

    def holder_of_pick(self, pick: Rule, thing: Thing) -> Thing:
        """Of which thing a pick is asked about: the part of *thing* that it sizes."""
        if thing[0].kind == pick.about:
            return thing
        inside = f"{thing[0].id}."
        parts = self.world.by_kind[pick.about]
        return next((part for part in parts if part[0].id.startswith(inside)), thing)

    def rule_anywhere(self, rule_id: str) -> Answer:
        """A rule asked about alone: where it comes out worst.

        Raises:
            Unclear: the job has nothing that it is about.
        """
        if rule_id in self.knowledge.absent:
            return self.absent(rule_id)
        rule = self.knowledge.rules[rule_id]
        things = self.world.by_kind[rule.about]
        if not things:
            raise Unclear(f"{rule_id} is about {rule.about}, and this job has none")
        return self.rule_on(rule, self.where_worst(rule, things))

    def where_worst(self, rule: Rule, things: list[Thing]) -> Thing:
        """The first thing on which a rule comes out worst."""
        return min(things, key=lambda thing: SEVERITY.get(self.world.answer(rule, thing), 9))

    def absent(self, rule_id: str) -> Answer:
        """A rule that the edition does not have: what it says, and in which it stands."""
        rule = self.knowledge.absent[rule_id]
        sections = rule.d.get("code", {}).items()
        return Answer(
            "NOT IN FORCE.",
            f"{rule_id} is not in the {self.knowledge.edition} edition.",
            [
                Row("Says", rule.said),
                Row("In", ", ".join(f"{edition}: {section}" for edition, section in sections)),
            ],
            rule=rule_id,
        )

    def withdrawn(self, rule_id: str) -> Answer:
        """A rule that the law of the place took away: who did, until when, why, and what it
        said.
        """
        edit: Edit = self.knowledge.withdrawn[rule_id]
        written = self.knowledge.gone[rule_id]
        days = f" until {edit.end}" if edit.end else ""
        section = section_of(written, self.knowledge.edition) or ""
        rows = [
            Row("By", f"{edit.cite}: {edit.d.get('reason', '')}"),
            Row("It said", str(written.get("says", "")), section),
            Row("So", str(edit.done.get("says", ""))),
        ]
        if edit.window():
            rows.append(Row("In force", edit.window()))
        sentence = f"{rule_id} is withdrawn in {edit.pack.where}{days}."
        return Answer("WITHDRAWN.", sentence, rows, rule=rule_id)

    def rule_on(self, rule: Rule, thing: Thing) -> Answer:
        """A rule asked about on a thing, or on the part of it that the rule is about.

        Raises:
            Unclear: there is no such part.
        """
        if rule.about != thing[0].kind:
            thing = self.where_worst(rule, self.parts_about(rule, thing))
        if rule.verb in JUDGING and self.world.answer(rule, thing) != OFF:
            return self.finding(rule, thing)
        return self.not_judged(rule, thing)

    def parts_about(self, rule: Rule, thing: Thing) -> list[Thing]:
        """What a rule is about, within a thing or around it.

        Raises:
            Unclear: there is none.
        """
        there = self.world.by_kind[rule.about]
        mine = thing[0].id
        inside = [
            part
            for part in there
            if part[0].id.startswith(f"{mine}.") or mine.startswith(f"{part[0].id}.")
        ]
        if inside:
            return inside
        if not there:
            raise Unclear(f"{rule.id} is about {rule.about}, and this job has none")
        raise Unclear(
            f"{rule.id} is about {rule.about}, and {short(thing)} has none\n    ask about: "
            + ", ".join(short(part) for part in there)
        )

    # ---- facts
    def fact(self, thing: Thing, fact: str) -> Answer:
        """Why a fact is what it is; a size that was told is judged, one left open shows the step
        below.
        """
        origin, by = Explainer(self.world).origin(thing, fact)
        tested = self.picks_of(thing, fact)
        if origin == "told" and any(pick.tried.name == fact for pick in tested):
            judged = self.size_judged(thing)
            if judged is not None:
                return judged
        pick = self.picked_by(tested, fact, origin, by)
        if pick is not None:
            return self.picked(pick, thing, fact)
        if origin == "disputed":
            return self.disputed(thing, fact)
        if origin != "unknown":
            answer = self.judged_by_fact(thing, fact, origin, by)
            if answer is not None:
                return answer
        return self.fact_itself(thing, fact, origin, by)

    def picks_of(self, thing: Thing, fact: str) -> list[Rule]:
        """The picks that try a fact, or that give it."""
        return [
            pick
            for pick in self.knowledge.rules.values()
            if pick.verb == "tries"
            and pick.about == thing[0].kind
            and fact in (pick.tried.name, pick.picks.name)
        ]

    def size_judged(self, thing: Thing) -> Answer | None:
        """What is judged of a size that was told: the worst, or that all of it passes."""
        mine = {thing[0].id}
        found = [
            judged
            for judged in self.judged(thing)
            if judged[1] is thing or self.operand(judged[0], judged[1], mine)
        ]
        if not found:
            return None
        rule, part, verdict = found[0]
        if verdict in (FAILS, TELL):
            return self.finding(rule, part)
        return self.all_pass(thing, found)

    def picked_by(self, tested: list[Rule], fact: str, origin: str, by: str | None) -> Rule | None:
        """The pick that a fact comes from: its own, or that of which its design is a copy."""
        for pick in tested:
            if pick.id == by or pick.picks.name == fact:
                return pick
        if origin != "designed":
            return None
        return next((pick for pick in tested if self._designed_by(by, pick)), None)

    def disputed(self, thing: Thing, fact: str) -> Answer:
        """Two answers for one fact: who gives which."""
        word = self.knowledge.words.kinds[thing[0].kind].words[fact]
        rows = []
        if fact in thing[0].told:
            rows.append(Row("Told", show(thing[0].told[fact], word.unit)))
        for giver in self.knowledge.order.givers[thing[0].kind, fact]:
            if thing[self.knowledge.slots[giver.id]] is True:
                value = show(thing[self.knowledge.results[giver.id, fact]], word.unit)
                rows.append(Row("Rule", f"{giver.id}: {value}", self.source(giver, thing)))
        rows.append(Row("So", "find out which is right, and tell only that one."))
        return Answer(
            "IN DISPUTE.",
            f"Two answers for the {fact} of {short(thing)}; nothing is concluded from either.",
            rows,
            root=f"fact:{thing[0].id}/{fact}",
        )

    def judged_by_fact(self, thing: Thing, fact: str, origin: str, by: str | None) -> Answer | None:
        """The requirement that a fact is judged by, where it has an answer; what was designed is
        carried out before it.
        """
        judging = self.judging_fact(thing, fact)
        if judging is None:
            return None
        answer = self.finding(*self.worst_of(thing, fact, judging))
        if answer.word not in ("YES.", "NO.", "NOT YET.", "ADVICE."):
            return None
        shown = self.shown(thing, fact)
        if origin != "told" and not answer.sentence.startswith(shown):
            answer.sentence = f"{shown}. {answer.sentence}"
        if origin == "designed" and by and answer.word == "YES.":
            said = {row.text for row in answer.rows}
            made = self.designed(thing, fact, by)
            answer.rows[:0] = [row for row in made if row.text not in said]
        return answer

    def shown(self, thing: Thing, fact: str) -> str:
        """A fact as it is written."""
        word = self.knowledge.words.kinds[thing[0].kind].words[fact]
        return show(thing[word.slot], unit_shown(thing, fact, word.unit))

    def fact_itself(self, thing: Thing, fact: str, origin: str, by: str | None) -> Answer:
        """A fact that no requirement speaks for: where it comes from, and what it decides."""
        word = self.knowledge.words.kinds[thing[0].kind].words[fact]
        value = thing[word.slot]
        rows = self.from_rows(thing, fact)
        if origin == "designed" and by:
            said = {row.text for row in rows}
            made = [row for row in self.designed(thing, fact, by) if row.text not in said]
            rows = made + self.limit_rows(thing, fact) + rows
        if value is None or isinstance(value, Range):
            wanted = needs_of_fact(self.world, thing, fact)[:4]
            rows += [Row("Look", f"{need.ask} Look: {need.look}.", rank=1) for need in wanted]
        if origin == "told":
            told = self.told_row(thing, fact)
            tests, found = self.deciding(thing, fact)
            # what a thing is bears on much, and a number or a size mostly on one
            if tests and word.type[0] != "choice":
                answer = self.finding(*found[0][:2])
                answer.rows += [told, *self.others(found[1:])]
                return answer
            rows = [told, *self.others(found, "Decides")]
        rows += self.giver_rows(by, thing)
        shown = self.shown(thing, fact)
        answer = Answer(
            headword_of_value(value, shown),
            f"{fact} of {short(thing)} ({origin}).",
            rows,
            root=f"fact:{thing[0].id}/{fact}",
            on=thing[0].id,
        )
        reasons = [row.text for row in rows if row.label == "Why"]
        answer.plain = [f"{fact} of {short(thing)}: {shown}.", *reasons]
        return answer

    def limit_rows(self, thing: Thing, fact: str) -> list[Row]:
        """The requirement by which a designed value was found, where it is met."""
        judging = self.judging_fact(thing, fact)
        if judging is None or self.world.answer(*judging) != PASSES:
            return []
        return [Row("Check", self.check(*judging), self.source(*judging), rank=1)]

    def from_rows(self, thing: Thing, fact: str) -> list[Row]:
        """How a fact comes about, line by line."""
        lines = Working(self.world).fact(thing, fact)
        return [
            Row("From", text, section, rank=1) if place == 0 else Row("", text, section, rank=2)
            for place, (text, section) in enumerate(lines)
        ]

    def told_row(self, thing: Thing, fact: str) -> Row:
        """What was written of a fact, and where."""
        text, _, at = thing[0].written.get(fact, (self.shown(thing, fact), None, ""))
        return Row("Told", f'"{text}" at {at}', rank=4)

    def giver_rows(self, by: str | None, thing: Thing) -> list[Row]:
        """The rule that gave a fact: what it says, why, and what it never does."""
        rule = self.knowledge.rules.get(by or "")
        if rule is None:
            return []
        rows = [Row("Rule", rule.said, self.source(rule, thing), rank=2)]
        if rule.d.get("because"):
            rows.append(Row("Why", str(rule.d["because"]), rank=2))
        if rule.d.get("limits"):
            rows.append(Row("Never", str(rule.d["limits"]), rank=4))
        return rows

    def judging_fact(self, thing: Thing, fact: str) -> On | None:
        """A rule that judges *fact*: one that says so (`answers: asked:`), or one whose comparison
        begins with it.
        """
        return self.asked_of(thing, fact) or self.comparing(thing, fact)

    def asked_of(self, thing: Thing, fact: str) -> On | None:
        """A rule that says it is asked for by a fact, where it applies on the same circuit."""
        circuit = self._circuit(thing)
        for rule in self.knowledge.rules.values():
            parts = self.world.by_kind[rule.about]
            if not parts or fact not in map(str, rule.d.get("answers", {}).get("asked", [])):
                continue
            for part in parts:
                near = part is thing or self._circuit(part) is circuit
                if near and self.world.answer(rule, part) != OFF:
                    return rule, part
        return None

    def comparing(self, thing: Thing, fact: str) -> On | None:
        """A requirement whose comparison begins with a fact of *thing*.

        Of what an exception lifts nothing is read off, where another requirement judges it.
        """
        judging = [
            rule
            for rule in self.knowledge.rules.values()
            if rule.about == thing[0].kind
            and rule.verb in ("must", "must not")
            and begins_with(rule.test, fact)
            and self.world.answer(rule, thing) != OFF
        ]
        judging.sort(key=lambda rule: self.world.answer(rule, thing) == SET_ASIDE)
        return (judging[0], thing) if judging else None

    def designed(self, thing: Thing, fact: str, by: str) -> list[Row]:
        """How a value comes about that nobody told: its formula carried out, with the step to a
        standard rating.
        """
        r = self.knowledge.rules[by]
        fill = next(f for f in r.fills if f.word.name == fact)
        if isinstance(fill.expr, (ex.Path, ex.Word_)):
            return []
        work = Working(self.world)
        lines = [
            line
            for p in ex.walk(fill.expr)
            if isinstance(p, ex.Path) and p.t[0] == "q"
            for line in work.unfold(p, thing)[-1:]
        ] + work.unfold(fill.expr, thing, None, self.source(r, thing))
        return [Row("Designed", *line, rank=0) for line in dict.fromkeys(lines)]

    def worst_of(self, thing: Thing, fact: str, judging: On) -> On:
        """*judging*, or what else is judged by the number of a fact where that passes and this does
        not.
        """
        if SEVERITY[self.world.answer(*judging)] < SEVERITY[PASSES]:
            return judging
        mine = {thing[0].id}
        found = [
            (rule, part)
            for rule in self.knowledge.rules.values()
            if rule.verb in JUDGING
            for part in self.world.by_kind[rule.about]
            if self.operand(rule, part, mine, fact) and self.is_against(rule, part)
        ]
        return min(
            found,
            key=lambda on: (SEVERITY[self.world.answer(*on)], self.tightness(*on), on[0].id),
            default=judging,
        )

    def is_against(self, rule: Rule, part: Thing) -> bool:
        """Whether a rule does not pass on a thing, whatever is still to be told."""
        verdict = self.world.answer(rule, part)
        if SEVERITY.get(verdict, 9) >= SEVERITY[PASSES]:
            return False
        return verdict != TELL or not whichever(self.world, rule, part, self.whatif)

    def deciding(self, thing: Thing, fact: str) -> tuple[bool, list[Judged]]:
        """What was judged nearest to a told fact, the worst first: does a test rest on it (or
        conditions alone), and (rule, thing, answer) of each.
        """
        node, circuit = f"fact:{thing[0].id}/{fact}", self._circuit(thing)
        facts, seen = {(thing[0].kind, fact)}, set()
        while facts:
            seen |= facts
            rules = self.readers_of(facts)
            found = self.resting_on(node, rules, circuit)
            names = {name for _, name in facts}
            tests = [judged for judged in found if reads_any(judged[0].test, names)]
            if found:
                nearest = tests or found
                nearest.sort(
                    key=lambda on: (SEVERITY[on[2]], self.tightness(on[0], on[1]), on[0].id)
                )
                return bool(tests), nearest
            facts = {(rule.about, fill.word.name) for rule in rules for fill in rule.fills} - seen
        return False, []

    def readers_of(self, facts: set[tuple[str, str]]) -> list[Rule]:
        """The rules that read one of these facts, and have something to be about."""
        readers = self.knowledge.order.readers
        names = sorted({name for fact in facts for name in readers.get(fact, ())})
        rules = [self.knowledge.rules[name] for name in names]
        return [rule for rule in rules if self.world.by_kind[rule.about]]

    def resting_on(self, node: str, rules: list[Rule], circuit: Thing) -> list[Judged]:
        """What these rules judge on a circuit, where the answer rests on a fact."""
        out = []
        for rule in rules:
            if rule.verb not in JUDGING:
                continue
            for part in self.world.by_kind[rule.about]:
                if self._circuit(part) is not circuit:
                    continue
                verdict = self.world.answer(rule, part)
                if verdict != OFF and node in support(self.world, rule, part).nodes:
                    out.append((rule, part, verdict))
        return out

    @staticmethod
    def others(found: list[Judged], label: str = "Also") -> list[Row]:
        """What else is judged by the same fact."""
        said = list(dict.fromkeys(f"{rule.id} {verdict}" for rule, _, verdict in found))
        if not said:
            return []
        more = f" and {len(said) - 4} more" if len(said) > 4 else ""
        return [Row(label, "; ".join(said[:4]) + more, rank=6)]

    def picked(self, pick: Rule, thing: Thing, fact: str) -> Answer:
        """Why this size: the step below and what it fails, then what this one carries."""
        first, waiting = self.world.picked.get((pick.id, thing[0].id), (None, []))
        candidates = self.world.rows_of.get((pick.id, thing[0].id))
        root = f"pick:{pick.id}@{thing[0].id}"
        answer = Answer("CAN'T TELL.", "", root=root, on=thing[0].id)
        if candidates is None:
            answer.sentence = f"The {pick.tried.name} of {short(thing)} waits for a fact."
            answer.rows = self.looks(thing, fact)
        elif waiting:
            answer.sentence = self.might_do(pick, first, waiting)
            answer.rows = self.looks(thing, pick.picks.name)
        elif first is None:
            answer.word, answer.sentence = "NONE.", f"No {pick.tried.name} passes every test."
            answer.rows = self.even_rows(pick, candidates[-1])
        else:
            self.smallest(answer, pick, thing, first, candidates)
        return answer

    def looks(self, thing: Thing, fact: str) -> list[Row]:
        """What a fact waits for."""
        wanted = needs_of_fact(self.world, thing, fact)[:4]
        return [Row("Look", f"{need.ask} Look: {need.look}.") for need in wanted]

    @staticmethod
    def size_of(pick: Rule, candidate: Thing) -> str:
        """A row that was tried, as it is written."""
        return show(candidate[0].row, pick.tries_table.unit(pick.tried.name))

    def might_do(self, pick: Rule, first: Thing | None, waiting: list[Thing]) -> str:
        """The row that surely passes, and those before it of which it cannot be told."""
        sure = f"{self.size_of(pick, first)} is surely enough; " if first is not None else ""
        sizes = ", ".join(self.size_of(pick, candidate) for candidate in waiting[:3])
        return f"{sure}{sizes} might do."

    def check_or_said(self, rule: Rule, candidate: Thing) -> str:
        """The check of a rule, or what it says where it compares nothing."""
        return self.check(rule, candidate) if isinstance(rule.test, ex.Cmp) else rule.said

    def even_rows(self, pick: Rule, largest: Thing) -> list[Row]:
        """What even the largest row fails."""
        size = self.size_of(pick, largest)
        return [
            Row(
                "Even",
                f"{size}: {rule.id}: {self.check_or_said(rule, largest)}",
                self.source(rule, largest),
            )
            for rule in self.rejections(largest)[:3]
        ]

    def smallest(
        self, answer: Answer, pick: Rule, thing: Thing, first: Thing, candidates: list[Thing]
    ) -> None:
        """The first row that passes: what the one below it fails, or which test is the tightest."""
        size = self.size_of(pick, first)
        answer.word = f"{size}."
        answer.sentence = f"The smallest {pick.tried.name} that passes every requirement."
        place = next(i for i, candidate in enumerate(candidates) if candidate is first)
        below = candidates[place - 1] if place else None
        if below is None:
            deciding = self.tightest_rows(answer, pick, first)
        else:
            deciding = self.step_below(answer, pick, first, below)
        tests = self.knowledge.order.tests[pick.id]
        advice = any(test.verb == "should" for test in tests)
        if deciding is not None and deciding.verb == "should" and advice:
            by_law = show(self._minimum(thing, pick), None)
            said = f"this is advice, not law; the minimum by law is {by_law}"
            answer.rows.append(Row("Advice", said, rank=1))
        answer.plain = [f"{size} is the smallest that meets the code here."]
        rule = deciding or next(iter(tests), None)
        if rule is None:
            return
        because = rule.d.get("because", "")
        if because:
            answer.rows.append(Row("Why", str(because), rank=2))
        self.taken(answer, rule, first if below is None else below, Working(self.world))
        why = rule.d.get("answers", {}).get("plain", {}).get("why")
        answer.plain.append(str(why or because))

    def step_below(self, answer: Answer, pick: Rule, first: Thing, below: Thing) -> Rule | None:
        """The row before the first that passes: what rejects it, with both sides, and how the first
        fares there.
        """
        bad = self.rejections(below)
        if not bad:
            return None
        deciding = bad[0]
        self.sides(answer, deciding, below, Working(self.world))
        if isinstance(deciding.test, ex.Cmp):
            label = f"Not {self.size_of(pick, below)}"[:12]
            check = self.check(deciding, below)
            answer.rows.append(Row(label, check, self.source(deciding, below), rank=0))
        for rule in bad[1:3]:
            said = f"{rule.id}: {self.check_or_said(rule, below)}"
            answer.rows.append(Row("", said, self.source(rule, below), rank=4))
        passes = self.check(deciding, first) if isinstance(deciding.test, ex.Cmp) else "passes"
        answer.rows.append(Row("This one", passes, rank=1))
        answer.rule = deciding.id
        return deciding

    def tightest_rows(self, answer: Answer, pick: Rule, first: Thing) -> Rule | None:
        """Of the very first row: that it is the first, and the test with the least to spare."""
        table = pick.tries_table.id.replace("-", " ")
        answer.rows.append(Row("Smallest", f"the first in {table}", rank=1))
        deciding = self.tightest(pick, first)
        if deciding is not None:
            self.sides(answer, deciding, first, Working(self.world))
            check = self.check(deciding, first)
            answer.rows.append(Row("Tightest", check, self.source(deciding, first), rank=0))
            answer.rule = deciding.id
        return deciding

    def tightest(self, pick: Rule, candidate: Thing) -> Rule | None:
        """The test that a tried row passes with the least to spare."""
        return min(
            (
                t
                for t in self.knowledge.order.tests[pick.id]
                if self.world.answer(t, candidate) == PASSES and self.tightness(t, candidate) < FAR
            ),
            key=lambda t: self.tightness(t, candidate),
            default=None,
        )

    def _designed_by(self, rule_id: str | None, pick: Rule) -> bool:
        r = self.knowledge.rules.get(rule_id or "")
        return r is not None and any(
            isinstance(f.expr, ex.Path) and f.expr.names[-1] == pick.picks.name for f in r.fills
        )

    def _minimum(self, thing: Thing, pick: Rule) -> Value:
        """What a pick of the same fact that minds the law alone took."""
        for other in self.knowledge.rules.values():
            if other.verb != "tries" or other.about != pick.about or other.also:
                continue
            if other.tried is pick.tried:
                return thing[other.picks.slot]
        return None

    def rejections(self, candidate: Thing) -> list[Rule]:
        """The tests that reject a tried row, the nearest failing comparison first."""
        p = self.knowledge.rules[candidate[0].plane]
        bad = [
            t
            for t in self.knowledge.order.tests[p.id]
            if candidate[self.knowledge.slots[t.id]] in (FAILS, ADVICE, TELL)
            and self.world.set_aside(t, candidate) is not True
        ]
        return sorted(
            bad,
            key=lambda t: (
                t.verb == "should",
                candidate[self.knowledge.slots[t.id]] == TELL,
                self.tightness(t, candidate),
                t.id,
            ),
        )

    # ---- why not
    def why_not(self, words: list[str]) -> Answer:
        """Answer `whynot SUBJECT ATTRIBUTE=VALUE`, or `whynot SUBJECT RULE`.

        Raises:
            Unclear: nothing is called so, or the value is none of that fact.
        """
        text = " ".join(words)
        if "=" not in text:
            return self.why_not_said(words)
        left, value = text.split("=", 1)
        thing, rest = self.thing(left.split())
        what = " ".join(rest)
        if not what:
            return self.why_not_alone(thing, value.strip())
        # "size" is the conductors' before it is the breaker's, where the value says so
        unclear: list[Unclear] = []
        for fact, holder in self.facts_of(thing, what):
            try:
                return self.why_not_value(holder, fact, value.strip())
            except Unclear as slip:
                unclear.append(slip)
        if unclear:
            raise unclear[0]
        known = self.knowledge.words.known(thing[0].kind)
        raise Unclear(f'{short(thing)} has no "{what}"\n    {suggest(what, known)}')

    def why_not_said(self, words: list[str]) -> Answer:
        """A rule, or a value of which nobody said whose it is."""
        thing, rest = self.thing(words)
        said = " ".join(rest)
        rule = self.knowledge.rules.get(said) or self.knowledge.rules.get("-".join(rest))
        if rule is not None:
            return self.rule_on(rule, thing)
        if said in self.knowledge.absent:
            return self.absent(said)
        return self.why_not_alone(thing, said)

    def why_not_alone(self, thing: Thing, value: str) -> Answer:
        """A value of which nobody said whose it is: of a breaker `50 A` is its rating, of a circuit
        `10 AWG` can only be its conductors' size.

        Raises:
            Unclear: it is a value of several things, or of none.
        """
        if BARE.fullmatch(value):
            return self.why_not_number(thing, value)
        could = self.could_be(thing, value) if value else []
        if could and (len(could) == 1 or could[0][1] is thing):
            fact, holder = could[0]
            return self.why_not_value(holder, fact, value)
        if could:
            ways = " or ".join(f'"{short(part)} {fact}={value}"' for fact, part in could)
            raise Unclear(f"whose is {value}? write {ways}")
        write = "write ATTRIBUTE=VALUE, as in size=6 AWG, or the name of a rule"
        if not value:
            raise Unclear(f"what of {short(thing)}?\n    {write}")
        meant = suggest(value, self.knowledge.rules, 0)
        todo = meant if meant.startswith("did you mean") else write
        raise Unclear(f'"{value}" is neither a value of {short(thing)} nor a rule\n    {todo}')

    def could_be(self, thing: Thing, value: str) -> list[tuple[str, Thing]]:
        """Whose value it may be: (fact, thing), those that are mostly said alone before others."""
        told_alone, kinds = self.world.job.told_alone, self.knowledge.words.kinds
        fitting = [
            (told_alone(kinds[part[0].kind], value), part) for part in self.with_parts(thing)
        ]
        could = [(word.name, part) for word, part in fitting if word is not None]
        return [(fact, part) for fact, part in could if fact in SAID_ALONE] or could

    def why_not_number(self, thing: Thing, value: str) -> Answer:
        """A number alone: of a breaker its rating; of what has several such facts it is said how to
        write each.

        Raises:
            Unclear: it has none or several, or *value* is no value of the one it has.
        """
        could = [
            (word, part)
            for part in self.with_parts(thing)
            for word in self.knowledge.words.kinds[part[0].kind].words.values()
            if word.name in SAID_ALONE and word.type[0] == "q"
        ]
        if len(could) == 1 or could and could[0][1] is thing and could[1][1] is not thing:
            return self.why_not_value(could[0][1], could[0][0].name, value)
        what = (
            " or ".join(f'"{short(part)} {word.name}={value} {word.unit}"' for word, part in could)
            or "ATTRIBUTE=VALUE and its unit, as in length=60 ft"
        )
        raise Unclear(f"{value} of what?\n    write {what}")

    def why_not_value(self, thing: Thing, fact: str, text: str) -> Answer:
        """Why a fact is not as *text* says; a number without a unit is read in that which people
        measure it in, and that is said.

        Raises:
            Unclear: it is no value of that fact.
        """
        word = self.knowledge.words.kinds[thing[0].kind].words[fact]
        if word.type[0] == "q" and word.unit != "count" and BARE.fullmatch(text):
            unit = self.unit_of_bare(thing, word, text)
            answer = self.why_not_value(thing, fact, f"{text} {unit}")
            answer.rows.append(Row("Read", f"{text} is read as {text} {unit}.", rank=1))
            return answer
        value = self.read_value(thing, word, text)
        shown = show(value, word.unit)
        pick = next((p for p in self.picks_of(thing, fact) if p.tried.name == fact), None)
        candidate = None if pick is None else self.candidate_of(pick, thing, value)
        if pick is not None and candidate is not None:
            if self.rejections(candidate) or self.is_borne(thing, [(thing[0].id, fact, value)]):
                return self.why_not_row(pick, thing, candidate, fact, shown)
        return self.why_not_told(thing, fact, value, shown)

    def unit_of_bare(self, thing: Thing, word: Word, text: str) -> str:
        """The unit of a number alone, where people measure such a thing in one.

        Raises:
            Unclear: it has to be written.
        """
        unit = str(word.unit)
        if unit in ONE_UNIT:
            return unit
        others = [u for u in PEOPLE_WRITE if dimension(u) == dimension(unit)] or [unit]
        ways = " or ".join(f'"{short(thing)} {word.name}={text} {u}"' for u in others)
        raise Unclear(f'"{text}" has no unit\n    write {ways}')

    def read_value(self, thing: Thing, word: Word, text: str) -> Value:
        """The value of a fact that *text* says.

        Raises:
            Unclear: it says none.
        """
        at, job = Place("the question"), self.world.job
        try:
            if word.type[0] == "q":
                return parse_quantity(text, str(word.unit), at)[0]
            if word.type[0] == "row":
                return Job._row(job, word, text, at)
            if word.type[0] == "choice":
                return Job._choice(job, word, text, at, thing[0])
        except Fault as fault:
            raise Unclear(f"{fault.what}\n    {fault.todo}") from None
        if word.type[0] != "flag":
            raise Unclear(f'"{word.name}" is not a value one can try')
        if text not in YES_OR_NO:
            raise Unclear(f'"{word.name}" is yes or no')
        return YES_OR_NO[text]

    def candidate_of(self, pick: Rule, thing: Thing, value: Value) -> Thing | None:
        """The row of that size among those that were tried."""
        candidates = self.world.rows_of.get((pick.id, thing[0].id), ())
        return next((row for row in candidates if row[0].row == value), None)

    def is_borne(self, thing: Thing, told: list[Change]) -> bool:
        """Whether nothing on the circuit comes out worse under a change."""
        return not (
            self.worse(thing, told) or self.unsettled(thing, told) or self.advised(thing, told)
        )

    def why_not_row(
        self, pick: Rule, thing: Thing, candidate: Thing, fact: str, shown: str
    ) -> Answer:
        """Why a row that was tried is not the one: what rejects it, or that nothing does."""
        bad = self.rejections(candidate)
        if not bad:
            return self.row_passes(pick, thing, candidate, shown)
        answer = self.finding(bad[0], candidate)
        if all(rule.verb == "should" for rule in bad):
            answer.word = "ADVICE."
        for place, rule in enumerate(bad[1:4]):
            said, source = self.check_or_said(rule, candidate), self.source(rule, candidate)
            row = Row("Also" if place == 0 else "", said, source, rank=3)
            # before the reason and what was taken
            at = len(answer.rows) - 2 if len(answer.rows) > 2 else len(answer.rows)
            answer.rows.insert(at, row)
        answer.root = f"row:{candidate[0].id}?{pick.id}"
        return answer

    def row_passes(self, pick: Rule, thing: Thing, candidate: Thing, shown: str) -> Answer:
        """A row that passes its own tests, beside the smallest that does."""
        sentence = f"Nothing rejects {shown}."
        chosen = thing[pick.picks.slot]
        # it passes its own tests; the circuit must bear it too
        if chosen not in (None, NONE, candidate[0].row):
            if not self.worse(thing, [(thing[0].id, pick.tried.name, chosen)]):
                size = show(chosen, pick.tries_table.unit(pick.tried.name))
                sentence += f" {size} is the smallest that passes."
        rows = []
        tight = self.tightest(pick, candidate)
        if tight is not None:
            check = self.check(tight, candidate)
            rows.append(Row("Tightest", check, self.source(tight, candidate)))
        rows.append(Row("Taken", f"NEC {self.knowledge.edition}."))
        root = f"row:{candidate[0].id}?{pick.id}"
        return Answer("YES.", sentence, rows, root=root, on=candidate[0].id)

    def why_not_told(self, thing: Thing, fact: str, value: Value, shown: str) -> Answer:
        """A value that is not tried: tell it, run again, and show what then fails that did not
        before.
        """
        changes = [(thing[0].id, fact, value)]
        with self.whatif.told(changes) as w:
            disputed = (thing[0].id, fact) in w.disputes
        if self.knowledge.order.givers.get((thing[0].kind, fact)) and disputed:
            return self._stands(thing, fact)
        before = self._extremes()
        with self.other(changes) as other:
            return self._so_told(other, thing, fact, shown, changes, before)

    def _stands(self, thing: Thing, fact: str) -> Answer:
        """A fact of which rules are sure, and sure of another value."""
        word = self.knowledge.words.kinds[thing[0].kind].words[fact]
        rows = [
            Row("Stands" if i == 0 else "against", text, src, rank=i)
            for i, (text, src) in enumerate(Working(self.world).fact(thing, fact))
        ]
        return Answer(
            "NO.",
            f"{fact} of {short(thing)} is {show(thing[word.slot], word.unit)}, and rules say so.",
            rows,
            root=f"fact:{thing[0].id}/{fact}",
            on=thing[0].id,
        )

    def _so_told(
        self,
        other: Why,
        thing: Thing,
        fact: str,
        shown: str,
        changes: list[Change],
        before: dict[tuple[str, str], Value],
    ) -> Answer:
        """The answer while a value is told; *before* is what each smaller-of and larger-of was."""
        new, unsettled = self.worse(thing, changes), self.unsettled(thing, changes)
        root = f"fact:{thing[0].id}/{fact}"
        subject = f"{begun(fact)} {shown} of {short(thing)}"
        now = other.judged(other._circuit(thing))
        failing = [(rule, part) for rule, part, verdict in now if verdict == FAILS]
        # what fails for another reason says nothing of this value
        rejects = new or [on for on in failing if root in support(other.world, *on).nodes]
        bound = other._bound(thing, fact, before)
        answer = Answer("CAN'T TELL.", "", root=root, on=thing[0].id)
        if rejects:
            self.told_fails(answer, other, rejects, bound)
            would = "it would not mend what fails."
            if new:
                would = f"{number_of(new, 'requirement')} would newly fail."
            answer.sentence = f"{subject}: {would}"
            return answer
        beyond = [] if unsettled else self._beyond(thing, fact, changes)
        if unsettled:
            answer.sentence = f"{subject}: {self.then_open(unsettled)}"
            answer.rows = self.waiting_rows(other, unsettled)
        elif beyond:
            answer.sentence = (
                f"{subject}: what judged it is not for this value, and nothing here takes its"
                " place."
            )
            answer.rows = self.beyond_rows(beyond)
        else:
            answer.word = "YES."
            answer.sentence = f"Nothing rejects {fact} {shown} of {short(thing)}."
            answer.rows = self.mended_rows(thing, failing)
            answer.rows += self.advice_rows(other, thing, changes)
            answer.rows += [Row("But", *bound)] if bound else []
            answer.rows += self.besides_rows(failing)
            taken = f"NEC {self.knowledge.edition}; everything else as told."
            answer.rows.append(Row("Taken", taken))
        return answer

    @staticmethod
    def then_open(unsettled: list[On]) -> str:
        """How much could not be told; of advice alone, that the law has nothing against it."""
        if all(rule.verb == "should" for rule, _ in unsettled):
            return "no law rejects it; advice could then not be told."
        return f"{number_of(unsettled, 'requirement')} could then not be told."

    def waiting_rows(self, other: Ways, unsettled: list[On]) -> list[Row]:
        """What could not be told, and the facts that it would wait for; a refusal says what to
        do.
        """
        rule, part = unsettled[0]
        if rule.verb == "refers":
            return [Row("Refused", str(rule.d["refers"]), other.source(rule, part), rank=0)]
        waits = "; ".join(dict.fromkeys(waiting.id for waiting, _ in unsettled[:4]))
        wanted = needs(other.world, rule, part)[:2]
        looks = [Row("Look", f"{need.ask} Look: {need.look}.", rank=2) for need in wanted]
        return [Row("Waits", waits, rank=0), *looks]

    def beyond_rows(self, beyond: list[On]) -> list[Row]:
        """What would not be checked."""
        return [
            Row(
                "Not checked" if place == 0 else "",
                str(rule.d["lacks"]),
                self.source(rule, part),
                rank=place,
            )
            for place, (rule, part) in enumerate(beyond[:2])
        ]

    def mended_rows(self, thing: Thing, failing: list[On]) -> list[Row]:
        """What fails as the job is told, and would no longer."""
        now = {(rule.id, part[0].id) for rule, part in failing}
        standing = self.standing(thing, JUDGING)
        mended = [
            key[0] for key, verdict in standing.items() if verdict == FAILS and key not in now
        ]
        return [Row("Mends", "; ".join(dict.fromkeys(mended)), rank=1)] if mended else []

    def advice_rows(self, other: Ways, thing: Thing, changes: list[Change]) -> list[Row]:
        """What good practice would then have otherwise."""
        return [
            Row(
                "Advice" if place == 0 else "",
                said_and_checked(other, rule, part),
                other.source(rule, part),
                rank=3 + place,
            )
            for place, (rule, part) in enumerate(self.advised(thing, changes)[:2])
        ]

    @staticmethod
    def besides_rows(failing: list[On]) -> list[Row]:
        """What fails whatever this value is."""
        if not failing:
            return []
        names = dict.fromkeys(rule.id for rule, _ in failing[:4])
        said = "; ".join(f"{name} fails" for name in names)
        return [Row("Besides", f"{said}, whatever this is", rank=6)]

    def told_fails(
        self, answer: Answer, other: Ways, rejects: list[On], bound: tuple[str, str] | None
    ) -> None:
        """What a value fails, the exceptions that nobody has shown, and what binds instead."""
        for place, (rule, part) in enumerate(rejects[:4]):
            said, source = said_and_checked(other, rule, part), other.source(rule, part)
            answer.rows.append(Row("Fails" if place == 0 else "", said, source, rank=place))
        turned = [next(iter(unless(other.world, *on, None)), None) for on in rejects]
        excuses = {flip["exception"]: on[1] for flip, on in zip(turned, rejects) if flip}
        for name, part in excuses.items():
            exception = self.knowledge.rules[name]
            said = other.in_short(exception, part)
            answer.rows.append(Row("Unless", said, self.source(exception, part), rank=2))
        if bound:
            answer.rows.append(Row("Binds", *bound, rank=2))
        rule, part = rejects[0]
        if rule.d.get("because"):
            answer.rows.append(Row("Why", str(rule.d["because"]), rank=2))
        answer.word = "NOT YET." if all(turned) else "NO."
        answer.root = f"rule:{rule.id}@{part[0].id}"
        answer.rule, answer.on = rule.id, part[0].id

    def _beyond(self, thing: Thing, fact: str, changes: list[Change]) -> list[On]:
        """Where a requirement that compares a fact no longer applies under *changes*: what is not
        checked there and was before.
        """
        before = self.standing(thing, ("lacks",))
        with self.other(changes) as other:
            circuit = other._circuit(thing)
            now = {(rule.id, part[0].id) for rule, part, _ in other.judged(circuit)}
            lacking = [
                (rule, part)
                for rule, part, verdict in other.judged(circuit, ("lacks",))
                if verdict == LACKS
            ]
        no_more = [key for key in self.standing(thing, JUDGING) if key not in now]
        with self.other([]) as told:
            compared = any(
                told.compares(self.knowledge.rules[rule], self.world.things[on], thing[0].id, fact)
                for rule, on in no_more
                if self.knowledge.rules[rule].verb != "should"
            )
        if not compared:
            return []
        return [(r, part) for r, part in lacking if before.get((r.id, part[0].id)) != LACKS]

    def _extremes(self) -> dict[tuple[str, str], Value]:
        """(thing, fact) -> what every fact is worth that is the smaller or the larger of
        something.
        """
        return {
            (part[0].id, fill.word.name): part[fill.word.slot]
            for rule, fill, _ in self.extreme_fills()
            for part in self.world.by_kind[rule.about]
        }

    def extreme_fills(self) -> list[tuple[Rule, Fill, ex.Extreme]]:
        """Whatever rules of this job fill with the smaller or the larger of something."""
        return [
            (rule, fill, fill.expr)
            for rule in self.knowledge.rules.values()
            if self.world.by_kind[rule.about]
            for fill in rule.fills
            if isinstance(fill.expr, ex.Extreme)
        ]

    def _bound(
        self, thing: Thing, fact: str, before: dict[tuple[str, str], Value]
    ) -> tuple[str, str] | None:
        """For a fact that enters a `smaller of`, whose worth is what it was *before*: which operand
        binds instead, and the section.
        """
        kinds = list(self.world.by_kind)
        fills = sorted(self.extreme_fills(), key=lambda found: kinds.index(found[0].about))
        for rule, fill, extreme in fills:
            for part in self.world.by_kind[rule.about]:
                worth = part[fill.word.slot]
                if worth is None or worth != before[part[0].id, fill.word.name]:
                    continue
                for operand in extreme.xs:
                    lines = self.binds_instead(extreme, operand, part, thing, fact, rule)
                    if lines:
                        text, section = lines[-1]
                        shown = show(worth, fill.word.unit)
                        return f"{fill.word.name} is {shown} by {text}", section
        return None

    def binds_instead(
        self,
        extreme: ex.Extreme,
        operand: ex.Expr,
        part: Thing,
        thing: Thing,
        fact: str,
        rule: Rule,
    ) -> list[tuple[str, str]]:
        """The working of the operand that binds, where *operand* reads a fact and another binds."""
        for path in ex.walk(operand):
            if not isinstance(path, ex.Path) or not path.names or path.names[-1] != fact:
                continue
            if path.member or path.holder(part, None) is not thing:
                continue
            work = Working(self.world)
            bound = work.binding(extreme, part)
            if bound is operand or isinstance(bound, ex.Num) or path in list(ex.walk(bound)):
                continue
            lines = work.unfold(bound, part, None, self.source(rule, part))
            if lines:
                return lines
        return []
