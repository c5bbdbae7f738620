"""whynot: what would reject another value, or several at once, or that nothing does; and what such
a change mends and breaks.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sized
from contextlib import contextmanager
from itertools import pairwise
from typing import Any, NamedTuple

from ..basics.errors import Fault, Place, suggest
from ..basics.sentinels import NONE
from ..basics.units import dimension, parse_quantity
from ..language import expressions as ex
from ..language.rules import JUDGING, Fill, Rule
from ..language.things import Thing
from ..language.words import Word
from ..mending.catalogue import brought_along
from ..proving.graph import short, show, support
from ..proving.leaves import facts_under
from ..running.chain import FAILS, LACKS, PASSES
from ..running.job import Job
from .answers import Answer, Row, Unclear
from .explain import HEADWORD, NEXT, NO_WAY, TO_DO, UNBOUGHT
from .findings import Change, Value, needs, unless, word_of
from .questions import Why
from .sentences import FAR, begun, is_number_test
from .subjects import On
from .tiers import is_small
from .ways import Ways
from .working import Working

BARE = re.compile(r"\d+(\.\d+)?")
ONE_UNIT = ("A", "V", "hp")  # what people measure in one unit: a breaker of 60 is one of 60 A
PEOPLE_WRITE = ("ft", "in", "°F", "°C", "W", "kW")
YES_OR_NO = {"yes": True, "no": False}
MOST_CHECKS = 3  # numbers that stand beside a YES
MOST_MENDED = 2  # faults that are named of those a change mends


class Asked(NamedTuple):
    """One value that is asked about."""

    thing: Thing
    fact: str
    value: Value
    unit: str | None  # in which it was asked, and is answered
    note: str = ""  # how it was read, where that was not said

    @property
    def key(self) -> tuple[str, str]:
        """Of which fact it is a value."""
        return self.thing[0].id, self.fact

    @property
    def shown(self) -> str:
        """The value as it was asked."""
        return show(self.value, self.unit)


def number_of(things: Sized, what: str) -> str:
    """How many, with the plural where there is not one.

    >>> number_of([1, 2], "requirement")
    '2 requirements'
    """
    return f"{len(things)} {what}{'' if len(things) == 1 else 's'}"


def said_and_checked(why: Ways, rule: Rule, part: Thing) -> str:
    """What is wrong, in the rule's own words where it has some, and its check where it compares;
    nobody buys by the circular mil.
    """
    said = why.own_words(rule, part, FAILS) or rule.said
    check = why.check(rule, part) if rule.comparison else ""
    return said if UNBOUGHT in check and said != rule.said else f"{said} {check}".strip()


class WhyNot(Why):
    """Answers what another value would come to."""

    # ---- what is asked
    def why_not(self, words: list[str]) -> Answer:
        """Answer `whynot SUBJECT ATTRIBUTE=VALUE ...`, or `whynot SUBJECT RULE`.

        Raises:
            Unclear: nothing is called so, or the value is none of that fact.
        """
        text = " ".join(words)
        if "=" not in text:
            return self.why_not_said(words)
        first, *rest = (piece.strip() for piece in text.split("="))
        thing, what = self.thing(first.split())
        if not what and len(rest) == 1:
            return self.why_not_alone(thing, rest[0])
        asked, due = [], self.named(thing, what)
        for piece, _ in pairwise([*rest, ""]):
            if piece is rest[-1]:
                asked.append(self.read_any(due, piece))
            else:
                value, following = self.parted(thing, piece.split())
                asked.append(self.read_any(due, value))
                due = following
        return self.why_not_values(asked)

    def named(self, thing: Thing, what: list[str]) -> list[tuple[str, Thing]]:
        """The facts that *what* may mean, of a thing or of one of its parts.

        Raises:
            Unclear: there is none.
        """
        if found := self.facts_or_parts(thing, what):
            return found
        said, known = " ".join(what), self.knowledge.words.known(thing[0].kind)
        raise Unclear(f'{short(thing)} has no "{said}"\n    {suggest(said, known)}')

    def facts_or_parts(self, thing: Thing, what: list[str]) -> list[tuple[str, Thing]]:
        """The facts that *what* may mean: of a thing, of a part of it that is named before the
        fact, and the same of the circuit that it is part of.
        """
        out: list[tuple[str, Thing]] = []
        for near in (thing, self._circuit(thing)):
            facts, parts = [], [near] if not what else []
            for fact, holder in self.facts_of(near, " ".join(what)):
                if self.knowledge.words.kinds[holder[0].kind].words[fact].part:
                    parts += self.holders_of(holder, fact)
                else:
                    facts.append((fact, holder))
            found = facts or [own for part in parts for own in self.asked_of_part(part)]
            out += [own for own in found or self._of_a_part(near, what) if own not in out]
        return out

    def holders_of(self, thing: Thing, part: str) -> list[Thing]:
        """The part of a thing that is called so, where there is one."""
        found = thing[self.knowledge.words.kinds[thing[0].kind].words[part].slot]
        return [found] if type(found) is list else []

    def _of_a_part(self, thing: Thing, what: list[str]) -> list[tuple[str, Thing]]:
        """A fact named behind the part that it is of, as in `breaker rating`; of a part alone all
        its facts.
        """
        try:
            part, rest = self.thing([*short(thing).split(), *what])
        except Unclear:
            return []
        if part is thing:
            return []
        return self.facts_of(part, " ".join(rest)) if rest else self.asked_of_part(part)

    def asked_of_part(self, part: Thing) -> list[tuple[str, Thing]]:
        """Every fact that a value alone may be of, those first that are mostly said alone."""
        kind = self.knowledge.words.kinds[part[0].kind]
        words = (word for word in kind.words.values() if word.ask)
        asked = sorted(words, key=lambda word: word.name not in kind.said_first)
        return [(word.name, part) for word in asked]

    def parted(self, thing: Thing, words: list[str]) -> tuple[str, list[tuple[str, Thing]]]:
        """A value and the fact named behind it: `4 AWG EGC size` of a circuit.

        Raises:
            Unclear: nothing behind the value is a fact.
        """
        for place in range(1, len(words)):
            behind = words[place:]
            if found := self.facts_or_parts(thing, behind):
                return " ".join(words[:place]).rstrip(",;"), found
        said = " ".join(words)
        raise Unclear(
            f'"{said}" is not a value and the name of another fact of {short(thing)}\n    write'
            " each as ATTRIBUTE=VALUE, as in size=6 AWG rating=50 A"
        )

    def read_any(self, facts: list[tuple[str, Thing]], text: str) -> Asked:
        """A value of the first of these facts that it can be a value of.

        Raises:
            Unclear: it is none of any.
        """
        # "size" is the conductors' before it is the breaker's, where the value says so
        unclear: list[Unclear] = []
        for fact, holder in facts:
            try:
                return self.read(holder, fact, text)
            except Unclear as slip:
                unclear.append(slip)
        raise unclear[0]

    def read(self, thing: Thing, fact: str, text: str) -> Asked:
        """A value of a fact; a number without a unit is read in that which people measure it in,
        and that is said.

        Raises:
            Unclear: it is no value of that fact.
        """
        word, note = self.knowledge.words.kinds[thing[0].kind].words[fact], ""
        if word.type[0] == "q" and word.unit != "count" and BARE.fullmatch(text):
            whole = f"{text} {self.unit_of_bare(thing, word, text)}"
            text, note = whole, f"{text} is read as {whole}."
        value = self.read_value(thing, word, text)
        unit = word.unit
        if word.type[0] == "q":
            unit = parse_quantity(text, str(word.unit), Place("the question"))[1]
        return Asked(thing, fact, value, unit, note)

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
            return self.why_not_values([self.read(holder, fact, value)])
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
        first = [(fact, part) for fact, part in could if fact in kinds[part[0].kind].said_first]
        return first or could

    def why_not_number(self, thing: Thing, value: str) -> Answer:
        """A number alone: of a breaker its rating; of what has several such facts it is said how to
        write each.

        Raises:
            Unclear: it has none or several, or *value* is no value of the one it has.
        """
        could = [
            (w, y)
            for y in self.with_parts(thing)
            for w in self.knowledge.words.kinds[y[0].kind].words.values()
            if w.name in self.knowledge.words.kinds[w.kind].said_first and w.type[0] == "q"
        ]
        if len(could) == 1 or could and could[0][1] is thing and could[1][1] is not thing:
            return self.why_not_values([self.read(could[0][1], could[0][0].name, value)])
        what = (
            " or ".join(f'"{short(y)} {w.name}={value} {w.unit}"' for w, y in could)
            or "ATTRIBUTE=VALUE and its unit, as in length=60 ft"
        )
        raise Unclear(f"{value} of what?\n    write {what}")

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

    # ---- one value or several
    def why_not_values(self, asked: list[Asked]) -> Answer:
        """What would reject these values, all at once."""
        with self._in_units_asked(asked):
            answer = self._answered(asked)
            answer.rows += self.next_rows(answer, asked)
        answer.rows += [Row("Read", one.note, rank=1) for one in asked if one.note]
        return answer

    def next_rows(self, answer: Answer, asked: list[Asked]) -> list[Row]:
        """What to do now: with a value that nothing rejects, or in place of one that is rejected.
        What is still to be looked at says so itself.
        """
        if answer.word == HEADWORD[PASSES]:
            shown = " and ".join(one.shown for one in asked)
            return [Row(NEXT, f"put {shown} in the job, then whywire inspect.", rank=4)]
        if answer.word != HEADWORD[FAILS] or any(row.label in TO_DO for row in answer.rows):
            return []
        judged = self.judged(self._circuit(asked[0].thing))
        wrong = [(rule, part) for rule, part, verdict in judged if verdict == FAILS]
        if not wrong:
            return [Row(NEXT, f"{self.as_it_is(asked)}.", rank=2)]
        ways = [way for way in self.ways_out(*wrong[0]) if not way.looks]
        return [Row("Fix", way.said, rank=2) for way in ways[:1]] or [Row(NEXT, NO_WAY, rank=2)]

    def as_it_is(self, asked: list[Asked]) -> str:
        """That what was told is kept, as it was told; or that what is asked is not taken."""
        kept = [
            show(told, word_of(self.world, *one.key).unit)
            for one in asked
            if (told := self.world.things[one.key[0]][0].told.get(one.key[1])) is not None
            and told is not NONE
        ]
        if len(kept) < len(asked):
            return "take another value; the note says what this circuit comes to"
        return f"stay with {' and '.join(kept)}, which the job has"

    def _answered(self, asked: list[Asked]) -> Answer:
        first, brought = asked[0], self.brought(asked)
        changes: list[Change] = [(*one.key, one.value) for one in asked]
        changes += [(of, fact, None) for of, fact, _ in brought]
        pick = next((p for p in self.picks_of(first.thing, first.fact)), None)
        if len(asked) == 1 and pick is not None and pick.tried.name == first.fact:
            candidate = self.candidate_of(pick, first.thing, first.value)
            if candidate is not None and (
                self.rejections(candidate) or self.is_right(asked, changes)
            ):
                return self.why_not_row(pick, first, candidate, changes, brought)
        return self.why_not_told(asked, changes, brought)

    @contextmanager
    def _in_units_asked(self, asked: list[Asked]) -> Iterator[None]:
        """Every answer in the units that were asked."""
        before = [(one.thing[0].written, dict(one.thing[0].written)) for one in asked]
        for one in asked:
            if one.unit:
                one.thing[0].written[one.fact] = (one.shown, one.unit, Place("the question"))
        try:
            yield
        finally:
            for written, was in before:
                written.clear()
                written.update(was)

    def brought(self, asked: list[Asked]) -> list[Change]:
        """What comes along with what is asked, as the ground of a cable does: (thing, fact, what
        was told of it).
        """
        keys = {one.key for one in asked}
        along = [key for one in asked for key in brought_along(self.world, one.thing, one.fact)]
        things = self.world.things
        return [(*key, things[key[0]][0].told[key[1]]) for key in along if key not in keys]

    def with_it(self, other: WhyNot, brought: list[Change]) -> list[Row]:
        """What comes along, where that is not what was told."""
        rows = []
        for of, fact, was in brought:
            thing, word = other.world.things[of], word_of(other.world, of, fact)
            now = thing[word.slot]
            if now is not None and now is not NONE and now != was:
                said = f"{fact} {other.shown(thing, fact)}, not the {show(was, word.unit)} told"
                rows.append(Row("With it", said, rank=1))
        return rows[:2]

    def is_borne(self, thing: Thing, told: list[Change]) -> bool:
        """Whether nothing comes out worse under a change."""
        return not (self.breaks(told) or self.unsettled(thing, told) or self.advised(thing, told))

    def is_right(self, asked: list[Asked], changes: list[Change]) -> bool:
        """Whether nothing comes out worse, and nothing that compares these values fails already."""
        if not self.is_borne(asked[0].thing, changes):
            return False
        with self.other(changes) as other:
            return not self._still_failing(other, asked, mends=True)

    def breaks(self, changes: list[Change]) -> list[On]:
        """What newly fails anywhere in the job."""
        outcome = self.mending.trials.outcome({(of, fact): v for of, fact, v in changes})
        rules, things = self.knowledge.rules, self.world.things
        return [(rules[rule], things[on]) for rule, on in outcome.breaks]

    def mended_rows(self, changes: list[Change]) -> list[Row]:
        """What fails as the job is told, and would no longer."""
        outcome = self.mending.trials.outcome({(of, fact): v for of, fact, v in changes})
        with self.other([]) as told:
            said = [
                told.sentence(self.knowledge.rules[rule], self.world.things[on], FAILS)
                for rule, on in outcome.mends
            ]
        said = list(dict.fromkeys(said))
        more = f" And {len(said) - MOST_MENDED} more." if len(said) > MOST_MENDED else ""
        text = " ".join(said[:MOST_MENDED]) + more
        return [Row("Mends", text, rank=1, lines=3)] if said else []

    # ---- a size that was tried
    def why_not_row(
        self,
        pick: Rule,
        asked: Asked,
        candidate: Thing,
        changes: list[Change],
        brought: list[Change],
    ) -> Answer:
        """Why a row that was tried is not the one: what rejects it, or that nothing does."""
        bad = self.rejections(candidate)
        if not bad:
            return self.row_passes(pick, asked, candidate, changes, brought)
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

    def row_passes(
        self,
        pick: Rule,
        asked: Asked,
        candidate: Thing,
        changes: list[Change],
        brought: list[Change],
    ) -> Answer:
        """A row that passes its own tests, beside the smallest that does."""
        thing = asked.thing
        sentence = f"Nothing rejects {asked.shown}."
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
        with self.other(changes) as other:
            rows += self.with_it(other, brought)
        rows += self.mended_rows(changes)
        rows.append(Row("Based on", f"NEC {self.knowledge.edition}."))
        root = f"row:{candidate[0].id}?{pick.id}"
        return Answer("YES.", sentence, rows, root=root, on=candidate[0].id)

    # ---- values that are told
    def why_not_told(
        self, asked: list[Asked], changes: list[Change], brought: list[Change]
    ) -> Answer:
        """Values that are not tried: tell them, run again, and show what then fails that did not
        before.
        """
        with self.whatif.told(changes) as w:
            disputed = [one for one in asked if one.key in w.disputes]
        for one in disputed:
            if self.knowledge.order.givers.get((one.thing[0].kind, one.fact)):
                return self._stands(one.thing, one.fact)
        before = self._extremes()
        with self.other(changes) as other:
            return self._so_told(other, asked, changes, brought, before)

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

    @staticmethod
    def _failing_beside(other: WhyNot, asked: list[Asked]) -> list[On]:
        """What fails on the circuit while values are told."""
        judged = other.judged(other._circuit(asked[0].thing))
        return [(rule, part) for rule, part, verdict in judged if verdict == FAILS]

    def _still_failing(self, other: WhyNot, asked: list[Asked], mends: bool) -> list[On]:
        """What fails all the same while values are told; what fails for another reason says nothing
        of them. Where they mend something, what does not compare them fails whatever they are.
        """
        roots = [f"fact:{on}/{fact}" for on, fact in (one.key for one in asked)]
        failing = self._failing_beside(other, asked)
        if mends:
            return [on for on in failing if any(other.compares(*on, *one.key) for one in asked)]
        return [
            on for on in failing if not support(other.world, *on).nodes.keys().isdisjoint(roots)
        ]

    def _so_told(
        self,
        other: WhyNot,
        asked: list[Asked],
        changes: list[Change],
        brought: list[Change],
        before: dict[tuple[str, str], Value],
    ) -> Answer:
        """The answer while values are told; *before* is what each smaller-of and larger-of was."""
        thing = asked[0].thing
        new = self.breaks(changes)
        unsettled = [on for one in asked for on in self.unsettled(one.thing, changes)]
        unsettled = list({(rule.id, part[0].id): (rule, part) for rule, part in unsettled}.values())
        usual = [on for on in unsettled if on[0].verb != "should" and is_small(other.world, *on)]
        unsettled = [on for on in unsettled if on not in usual]
        root = f"fact:{asked[0].key[0]}/{asked[0].key[1]}"
        subject = self.subject_of(asked)
        mends = self.mended_rows(changes)
        rejects = new or self._still_failing(other, asked, bool(mends))
        # of several values nobody can say which of them another number binds instead of
        bound = other._bound(thing, asked[0].fact, before) if len(asked) == 1 else None
        answer = Answer("CAN'T TELL.", "", root=root, on=thing[0].id)
        if rejects:
            self.told_fails(answer, other, rejects, bound)
            would = "it would not mend what fails."
            if new:
                would = f"{number_of(new, 'requirement')} would newly fail."
            answer.sentence = f"{begun(subject)}: {would}"
            answer.rows += self.with_it(other, brought) + self.mended_rows(changes)
            answer.rows.append(Row("Based on", self.everything_else(other, rejects), rank=4))
            return answer
        beyond: list[On] = []
        for one in [] if unsettled else asked:
            beyond += self._beyond(one.thing, one.fact, changes)
        if unsettled:
            answer.sentence = f"{begun(subject)}: {self.then_open(unsettled)}"
            answer.rows = self.waiting_rows(other, unsettled)
        elif beyond:
            answer.sentence = (
                f"{begun(subject)}: what judged it is not for this value, and nothing here takes"
                " its place."
            )
            answer.rows = self.beyond_rows(beyond)
        else:
            answer.word = "YES."
            answer.sentence = f"Nothing rejects {subject}."
            answer.rows = self.yes_rows(
                other, asked, changes, brought, self._failing_beside(other, asked)
            )
            answer.rows += [Row("But", *bound)] if bound else []
            answer.rows += self.usual_rows(rule for rule, *_ in usual)
            answer.rows.append(Row("Based on", self.everything_else(other, []), rank=4))
        return answer

    def everything_else(self, other: WhyNot, rejects: list[On]) -> str:
        """What an answer rests on beside the values that are asked about: what nobody told of it,
        and the edition.
        """
        under: set[tuple[str, str]] = set()
        for rule, part in rejects:
            under |= facts_under(other.world, rule, part)
        taken = dict.fromkeys(
            other.assumption(other.world.things[guess.of], word)
            for guess in self.stand.guesses
            if (guess.of, guess.fact) in under
            and (word := word_of(other.world, guess.of, guess.fact)).assumed_as
        )
        assumed = f"{', '.join(taken)} (we assumed); " if taken else ""
        return f"{assumed}NEC {self.knowledge.edition}; everything else as told."

    @staticmethod
    def subject_of(asked: list[Asked]) -> str:
        """What is asked about, in words: `size 4 AWG of kiln conductors and rating 70 A of ...`."""
        return " and ".join(f"{one.fact} {one.shown} of {short(one.thing)}" for one in asked)

    def yes_rows(
        self,
        other: WhyNot,
        asked: list[Asked],
        changes: list[Change],
        brought: list[Change],
        failing: list[On],
    ) -> list[Row]:
        """What stands beside a YES: the numbers, what comes along, what it mends."""
        return [
            *self.number_rows(other, asked),
            *self.with_it(other, brought),
            *self.mended_rows(changes),
            *self.advice_rows(other, asked[0].thing, changes),
            *self.besides_rows(other, failing),
        ]

    def number_rows(self, other: WhyNot, asked: list[Asked]) -> list[Row]:
        """The checks that rest on what is asked and pass, those with the least to spare first."""
        keys = {one.key for one in asked}
        circuit = other._circuit(asked[0].thing)
        near = [
            (rule, part)
            for rule, part, verdict in other.judged(circuit)
            if verdict == PASSES
            and rule.verb != "should"
            and is_number_test(rule.test)
            and other.tightness(rule, part) < FAR
            and not keys.isdisjoint(facts_under(other.world, rule, part))
        ]
        return [
            other.check_passed_row(rule, part, 1 + (place > 0))
            for place, (rule, part) in enumerate(near[:MOST_CHECKS])
        ]

    @staticmethod
    def then_open(unsettled: list[On]) -> str:
        """How much could not be told; of advice alone, that the law has nothing against it."""
        if all(rule.verb == "should" for rule, _ in unsettled):
            return "no law rejects it; advice would still be open."
        return f"{number_of(unsettled, 'check')} would still be open."

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
                "Not looked at" if place == 0 else "",
                str(rule.d["lacks"]),
                self.source(rule, part),
                rank=place,
            )
            for place, (rule, part) in enumerate(beyond[:2])
        ]

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

    def besides_rows(self, other: WhyNot, failing: list[On]) -> list[Row]:
        """What fails whatever these values are."""
        if not failing:
            return []
        said = list(dict.fromkeys(other.sentence(rule, part, FAILS) for rule, part in failing))
        more = f" And {len(said) - 2} more." if len(said) > 2 else ""
        return [Row("Besides", f"Whatever this is: {' '.join(said[:2])}{more}", rank=6)]

    def told_fails(
        self, answer: Answer, other: WhyNot, rejects: list[On], bound: tuple[str, str] | None
    ) -> None:
        """What a value fails, the exceptions that nobody has shown, and what binds instead."""
        for place, (rule, part) in enumerate(rejects[:4]):
            said, source = said_and_checked(other, rule, part), other.source(rule, part)
            answer.rows.append(Row("Fails" if place == 0 else "", said, source, rank=place))
        turned = [next(other.likely_turns(*on), None) for on in rejects]
        excuses = {flip["exception"]: on[1] for flip, on in zip(turned, rejects) if flip}
        for name, part in excuses.items():
            exception = self.knowledge.rules[name]
            said = other.in_short(exception, part)
            answer.rows.append(Row("Unless", said, self.source(exception, part), rank=2))
        if bound and UNBOUGHT not in bound[0]:
            answer.rows.append(Row("Binds", *bound, rank=2))
        rule, part = rejects[0]
        if rule.d.get("because"):
            answer.rows.append(Row("Why", str(rule.d["because"]), rank=2))
        answer.word = "NOT YET." if all(turned) else "NO."
        answer.root = f"rule:{rule.id}@{part[0].id}"
        answer.rule, answer.on = rule.id, part[0].id

    def likely_turns(self, rule: Rule, part: Thing) -> Iterator[dict[str, Any]]:
        """The exceptions that nobody has shown and that could turn a fault; of those that rest on
        what is remote, none.
        """
        ways = unless(self.world, rule, part, None)
        return (way for way in ways if self.stand.may_turn(way, part))

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
        for path in ex.paths(operand):
            if not path.names or path.names[-1] != fact:
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
