"""The questions themselves: why SUBJECT [ATTRIBUTE or RULE]."""

from __future__ import annotations

import re

from ..basics.errors import suggest
from ..basics.sentinels import NONE, NOTHING
from ..basics.units import Range
from ..language import expressions as ex
from ..language.rules import JUDGING, Rule, section_of
from ..language.things import Thing
from ..proving.as_said import is_as_said
from ..proving.graph import Explainer, short, show, unit_shown
from ..proving.leaves import facts_under
from ..running.chain import ADVICE, FAILS, OFF, PASSES, SET_ASIDE, TELL
from ..running.program import program_of
from .amended import Edit
from .answers import Answer, Row, Unclear
from .explain import HEADWORD, NEXT, NO_WAY, TO_DO, UNSEEN, Explain
from .findings import Need, Value, needs_of_fact, word_of
from .sentences import FACT, FAR, begun
from .subjects import SEVERITY, On
from .tiers import DECIDES
from .working import Working

# where a fact came from, as people say it
CAME_FROM = {"told": "you said", "derived": "works out to that", "picked": "picked"}


NUMBERS = ("q", "row")  # types of what is compared


def headword_of_value(value: Value) -> str:
    """The word that an answer about a fact begins with."""
    if value is None:
        return HEADWORD[TELL]
    return HEADWORD[FAILS if value is False or value is NONE else PASSES]


def begins_with(test: ex.Expr | None, fact: str) -> bool:
    """Whether a comparison has a fact of the thing itself on its left."""
    return isinstance(test, ex.Cmp) and any(
        path.own_fact and path.names == (fact,) for path in ex.paths(test.a)
    )


def plainly_known(value: Value) -> bool:
    """Whether a value is one that can be written down."""
    return not (value is None or value is NONE or value is NOTHING or isinstance(value, Range))


class Why(Explain):
    """Answers questions about one finished run."""

    def question(self, words: list[str]) -> Answer:
        """Answer `why SUBJECT [ATTRIBUTE or RULE]`.

        Raises:
            Unclear: nothing is called so.
        """
        answer = self.answer_to(words)
        self.say_what_is_next(answer)
        said = self.said_under(answer)
        if said:
            answer.rows.append(Row("As said", f"{said}: as you said, not measured", rank=2))
        return answer

    def say_what_is_next(self, answer: Answer) -> None:
        """What to do now, where no row of an answer says it: what has to be looked at is said by
        *Look*, and what is to be done by *Fix*.
        """
        if answer.word == HEADWORD[PASSES]:
            unseen = next((row for row in answer.rows if row.label == UNSEEN), None)
            if unseen is None:
                answer.rows.append(Row(NEXT, "nothing to change here; have it inspected.", rank=6))
            else:
                unseen.rank = 6
                unseen.text = f"{unseen.text.rstrip('.')}. Next: whywire inspect --walk."
        elif answer.word == HEADWORD[FAILS] and answer.on in self.world.things:
            told = any(row.label in (*TO_DO, "Advice") for row in answer.rows)
            # a sentence that says itself what is to be done needs no more
            if not told and not re.search(r"[.:;] ", answer.sentence):
                answer.rows.append(Row(NEXT, NO_WAY, rank=2))

    def said_under(self, answer: Answer) -> str:
        """What an answer rests on that was said outright where an inspector measures."""
        if not answer.rule or answer.on not in self.world.things:
            return ""
        rule, things = self.knowledge.rules[answer.rule], self.world.things
        under = sorted(facts_under(self.world, rule, things[answer.on]))
        return "; ".join(
            self.taken_fact(of, fact)
            for of, fact in under
            if of in things and is_as_said(things[of], word_of(self.world, of, fact))
        )

    def answer_to(self, words: list[str]) -> Answer:
        """The answer itself, before what of it was only said is marked.

        Raises:
            Unclear: nothing here is called so, or several things are.
        """
        gone = self.named_withdrawn(words)
        if gone is not None:
            return self.withdrawn(gone)
        knowledge = self.knowledge
        words = [knowledge.called(word) for word in words]
        if len(words) == 1 and (words[0] in knowledge.rules or words[0] in knowledge.absent):
            return self.rule_anywhere(words[0])
        try:
            thing, rest = self.thing(words)
        except Unclear:
            thing, rest = self.of_some_circuit(words)
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
        called = self.knowledge.called(what.replace(" ", "-"))
        return rules.get(called) if self.fact_of(thing, what)[0] is None else None

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
            HEADWORD[FAILS],
            f"{rule_id} is not in force: it is not in the {self.knowledge.edition} edition.",
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
        return Answer(HEADWORD[FAILS], sentence, rows, rule=rule_id)

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
                return self.begin_with(judged, self.shown(thing, fact))
        pick = self.picked_by(tested, fact, origin, by)
        if pick is not None:
            # a size that passes by itself is no YES over what fails by it: a ground that comes with
            # the cable, and is too small behind a breaker that was told
            return self.against_number(thing, fact, (FAILS,)) or self.picked(pick, thing, fact)
        if origin == "disputed":
            return self.disputed(thing, fact)
        put_in = self.why_put_in(thing, fact)
        if put_in is not None:
            return put_in
        if origin != "unknown":
            answer = self.judged_by_fact(thing, fact, origin, by)
            if answer is not None:
                return answer
        return self.fact_itself(thing, fact, origin, by)

    @staticmethod
    def begin_with(answer: Answer, shown: str) -> Answer:
        """An answer that names what was asked about."""
        if shown not in answer.sentence:
            answer.sentence = f"{shown}: {answer.sentence}"
        return answer

    def why_put_in(self, thing: Thing, fact: str) -> Answer | None:
        """Why something is put in: the requirement that asks for it."""
        for built in self.stand.built:
            if (thing[0].id, fact) in {(of, told) for of, told, _ in built.changes}:
                rule, on = built.asked_by[0]
                answer = self.finding(self.knowledge.rules[rule], self.world.things[on])
                return self.begin_with(answer, begun(self.taken_fact(thing[0].id, fact)))
        return None

    def picks_of(self, thing: Thing, fact: str) -> list[Rule]:
        """The picks that try a fact, or that give it."""
        return [
            pick
            for pick in self.rules_about(thing[0].kind, ("tries",))
            if fact in (pick.tried.name, pick.picks.name)
        ]

    def size_judged(self, thing: Thing) -> Answer | None:
        """What is judged of a size that was told: the worst, or that all of it passes."""
        mine = {thing[0].id}
        judged = [
            on for on in self.judged(thing) if on[1] is thing or self.operand(on[0], on[1], mine)
        ]
        found, usual = self.weighed(judged)
        if not found:
            return None
        rule, part, verdict = found[0]
        if verdict in (FAILS, TELL):
            return self.finding(rule, part)
        answer = self.all_pass(thing, found)
        answer.rows += self.usual_rows(rule for rule, *_ in usual)
        return answer

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
            HEADWORD[TELL],
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
            return self.against_number(thing, fact)
        answer = self.finding(*self.worst_of(thing, fact, judging))
        if answer.word == HEADWORD[TELL]:
            return None
        if answer.word == HEADWORD[PASSES]:
            advised = self.compared_by(thing, fact, (ADVICE,))
            answer.rows += [self.advice_row(*on) for on in advised[:1]]
            answer.sentence += " Advice is not met." if advised else ""
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
        rows = self.made_rows(thing, fact, origin, by)
        if value is None or isinstance(value, Range):
            rows += self.unknown_rows(thing, fact)
        sized = word.type[0] == "row" and plainly_known(value)
        if origin == "told" and value is not NONE or sized:
            told = self.told_rows(thing, fact)
            tests, found = self.deciding(thing, fact)
            # what a thing is bears on much, and a number or a size mostly on one
            if tests and word.type[0] != "choice":
                answer = self.finding(*found[0][:2])
                answer.rows += [*told, *self.others(found[1:])]
                return self.begin_with(answer, self.shown(thing, fact)) if sized else answer
            if origin == "told":
                rows = [*told, *self.others(found, "Decides")]
        rows += self.giver_rows(by, thing)
        what = self.said_of_fact(thing, fact, origin)
        instead = self.designed_instead(thing, fact) if value is None else None
        if instead is not None:
            what += f"; {instead} {self.shown(thing, instead)}"
            rows += self.from_rows(thing, instead)
        shown = self.shown(thing, fact)
        answer = Answer(
            headword_of_value(value),
            f"{begun(fact)} of {short(thing)}: {what}.",
            rows,
            root=f"fact:{thing[0].id}/{fact}",
            on=thing[0].id,
        )
        reasons = [row.text for row in rows if row.label == "Why"]
        answer.plain = [f"{fact} of {short(thing)}: {shown}.", *reasons]
        return answer

    def made_rows(self, thing: Thing, fact: str, origin: str, by: str | None) -> list[Row]:
        """How a fact comes about; of what was designed, its formula and its limit first."""
        rows = self.from_rows(thing, fact)
        if origin != "designed" or not by:
            return rows
        said = {row.text for row in rows}
        made = [row for row in self.designed(thing, fact, by) if row.text not in said]
        return made + self.limit_rows(thing, fact) + rows

    def unknown_rows(self, thing: Thing, fact: str) -> list[Row]:
        """What a fact waits for, and whether anybody waits for it."""
        wanted = needs_of_fact(self.world, thing, fact)[:4]
        rows = [Row("Look", f"{need.ask} Look: {need.look}.", rank=1) for need in wanted]
        if not self.is_waited_for(thing, wanted):
            rows.append(Row("So far", "nothing that is checked here waits for it.", rank=1))
        return rows

    def is_waited_for(self, thing: Thing, wanted: list[Need]) -> bool:
        """Whether something that decides on the circuit of a thing waits for one of these."""
        facts = {(need.of, need.fact) for need in wanted}
        return any(
            (need.of, need.fact) in facts
            for on in self.judged(self._circuit(thing))
            if on[2] in (TELL, FAILS)
            for need in self.stand_of(*on).needs
        )

    def designed_instead(self, thing: Thing, fact: str) -> str | None:
        """The fact that stands in the line of a design where this one is not known."""
        kinds = self.knowledge.words.kinds
        words = kinds[thing[0].kind].words
        for alternatives in [each for kind in kinds.values() for each in kind.line]:
            texts = [str(one["says"]) if "says" in one else str(one) for one in alternatives]
            paths = [path for text in texts for path in FACT.findall(text)]
            named = [path.partition(" of ")[0] for path in paths]
            for other in named if fact in named else ():
                if other in words and plainly_known(thing[words[other].slot]):
                    return other
        return None

    def said_of_fact(self, thing: Thing, fact: str, origin: str) -> str:
        """A fact in words, with where it came from."""
        shown = self.shown(thing, fact)
        if origin == "unknown":
            return "not known"
        if origin == "told" and fact not in thing[0].written:  # that it is not there follows
            return shown
        return f"{shown} ({CAME_FROM.get(origin, origin)})"

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

    @staticmethod
    def told_rows(thing: Thing, fact: str) -> list[Row]:
        """What was written of a fact, and where; nothing of what only follows from something."""
        if fact not in thing[0].written:
            return []
        text, _, at = thing[0].written[fact]
        return [Row("Told", f'"{text}" at {at}', rank=4)]

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
        for rule in self._asked_for(fact):
            for part in self.world.by_kind[rule.about]:
                near = part is thing or self._circuit(part) is circuit
                if near and self.world.answer(rule, part) != OFF:
                    return rule, part
        return None

    def _asked_for(self, fact: str) -> list[Rule]:
        """The rules about things of this job that say they are asked for by a fact, in their order;
        which say so of what is found once for a kind of things.
        """
        found: list[Rule] = []
        remembered = program_of(self.knowledge).remembered
        for kind in [kind for kind, parts in self.world.by_kind.items() if parts]:
            if ("asked", kind) not in remembered:
                asked: dict[str, list[Rule]] = {}
                for rule in self.knowledge.rules.values():
                    said = rule.d.get("answers", {}).get("asked", ()) if rule.about == kind else ()
                    for name in map(str, said):
                        asked.setdefault(name, []).append(rule)
                remembered["asked", kind] = asked
            found += remembered["asked", kind].get(fact, ())
        if len(found) < 2:
            return found
        return [rule for rule in self.knowledge.rules.values() if rule in found]

    def comparing(self, thing: Thing, fact: str) -> On | None:
        """A requirement whose comparison begins with a fact of *thing*.

        Of what an exception lifts nothing is read off, where another requirement judges it.
        """
        judging = [
            rule
            for rule in self.rules_about(thing[0].kind, ("must", "must not"))
            if begins_with(rule.test, fact) and self.world.answer(rule, thing) != OFF
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
            for path in ex.paths(fill.expr)
            if path.t[0] == "q"
            for line in work.unfold(path, thing)[-1:]
        ] + work.unfold(fill.expr, thing, None, self.source(r, thing))
        return [Row("Designed", *line, rank=0) for line in dict.fromkeys(lines)]

    def worst_of(self, thing: Thing, fact: str, judging: On) -> On:
        """*judging*, or what else is judged by the number of a fact where that passes and this does
        not.
        """
        if SEVERITY[self.world.answer(*judging)] < SEVERITY[PASSES]:
            return judging
        return next(iter(self.compared_by(thing, fact, (FAILS, TELL))), judging)

    def against_number(
        self, thing: Thing, fact: str, verdicts: tuple[str, ...] = (FAILS, TELL)
    ) -> Answer | None:
        """What compares a number and is not met, where nothing begins with it: a number that is too
        much is no YES.
        """
        word = self.knowledge.words.kinds[thing[0].kind].words[fact]
        against = self.compared_by(thing, fact, verdicts) if word.type[0] in NUMBERS else []
        if not against:
            return None
        return self.begin_with(self.finding(*against[0]), self.shown(thing, fact))

    def compared_by(self, thing: Thing, fact: str, verdicts: tuple[str, ...]) -> list[On]:
        """The requirements that compare a fact and come out so, the worst first; of what cannot be
        told what decides.
        """
        mine = {thing[0].id}
        found = [
            (rule, part)
            for kind, parts in self.world.by_kind.items()
            if parts
            for rule in self.rules_about(kind, JUDGING)
            for part in parts
            if self.operand(rule, part, mine, fact)
            and self.world.answer(rule, part) in verdicts
            and self.is_against(rule, part)
        ]
        return sorted(
            found,
            key=lambda on: (SEVERITY[self.world.answer(*on)], self.tightness(*on), on[0].id),
        )

    def is_against(self, rule: Rule, part: Thing) -> bool:
        """Whether a rule does not pass on a thing; what cannot be told is only against it where
        that decides.
        """
        verdict = self.verdict(rule, part)
        if verdict != TELL:
            return SEVERITY.get(verdict, 9) < SEVERITY[PASSES]
        return self.stand_of(rule, part, verdict).sort == DECIDES

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
            answer.word, answer.sentence = HEADWORD[FAILS], f"No {pick.tried.name} passes."
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
        return self.check(rule, candidate) if rule.comparison else rule.said

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
        answer.word = HEADWORD[PASSES]
        answer.sentence = f"{size} is the smallest {pick.tried.name} that passes every requirement."
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
        if deciding.comparison:
            label = f"Not {self.size_of(pick, below)}"[:12]
            check = self.check(deciding, below)
            answer.rows.append(Row(label, check, self.source(deciding, below), rank=0))
        for rule in bad[1:3]:
            said = f"{rule.id}: {self.check_or_said(rule, below)}"
            answer.rows.append(Row("", said, self.source(rule, below), rank=4))
        passes = self.check(deciding, first) if deciding.comparison else "passes"
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
        for other in self.rules_about(pick.about, ("tries",)):
            if other.tried is pick.tried and not other.also:
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
