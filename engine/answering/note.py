"""The note: what a person who has to act on a job needs of it, as plain data; the worst first.

Whatever stands in it was run: what is wrong once its mend is made, what each answer to a question
gives, and the design as it is with the mends that are shown, made together.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from ..basics.notebook import shown
from ..language.things import Thing
from ..law.places import out_of_force
from ..proving.graph import short, show
from ..running.chain import FAILS, PASSES
from .allowed import Allowed, Allowing
from .asking import MOST_QUESTIONS, Question
from .built import Built
from .causes import Fault
from .design import DesignLine
from .explain import HEADWORD
from .findings import cautions, word_of
from .inspection import DESIGN_AID
from .sentences import begun, begun_small
from .standing import CODES, NOT_LOOKED_AT, NOT_RIGHT, RIGHT, RIGHT_IF, Standing
from .tiers import WORKMANSHIP

MOST_DECIDING = 2  # of what decides, that a headline names
HURTS = {"shock": "shock somebody", "fire": "start a fire"}  # what a fault may do, as a verb
TO_ASK = "what to ask below"  # of a headline that also rests on what somebody else has to say
FIRST_CAUTIONS = "first-cautions"  # the table of cautions that a note itself has room for


@dataclass
class Walk:
    """What to look at in one place of the building: what has to be so, and who says it."""

    place: str
    says: list[tuple[str, str]]


@dataclass
class Note:
    """What `whywire inspect` prints."""

    title: str
    law: str
    law_notes: list[str]
    headline: str
    what: str
    faults: list[Fault]
    better: list[Fault]
    disputes: list[str]  # facts with two values, each with who says it
    questions: list[Question]
    further_questions: list[Question]  # that decide as well, and have no room
    referred: list[tuple[str, str]]  # what somebody else has to say, and the section
    mended: bool
    right_then: bool  # whether nothing is left to fix once what is shown is done
    design: list[DesignLine]
    allowed: list[Allowed]  # what could hurt and stands by an exception
    workmanship: int
    walk: list[Walk]
    assumed: list[str]
    file_assumed: list[str]  # what the job's own file names as assumed
    as_said: list[str]  # what was said outright where an inspector measures
    not_looked_at: list[str]
    care: list[str]
    care_if: list[tuple[str, str]]
    also_said: list[str]
    read_as: list[str]  # what was written shortly, and how it was read
    tiers: list[dict[str, str]]
    built: list[Built]  # what whoever builds it puts in because it is required
    next: str  # the one thing to do now

    @property
    def more_questions(self) -> int:
        """How many questions have no room."""
        return len(self.further_questions)

    @property
    def exit_code(self) -> int:
        """What the headline is to a program."""
        return CODES[self.headline]

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str, str]] = []
        for number, fault in enumerate(self.faults, 1):
            rows.append((str(number), fault.says, fault.source))
            rows += [
                ("or" if place else "fix", way.said, "") for place, way in enumerate(fault.ways)
            ]
        rows += [("better", advice.says, advice.source) for advice in self.better]
        rows += [("which", dispute, "") for dispute in self.disputes]
        rows += [("look", f"{one.ask} ({one.look})", "") for one in self.questions]
        rows += [("ask", says, source) for says, source in self.referred]
        label = "fixed" if self.mended else "job"
        rows += [(label, f"{line.name}: {' · '.join(line.pieces)}", "") for line in self.design]
        rows += [("allowed", one.says, one.source) for one in self.allowed]
        rows += [("not looked at", lack, "") for lack in self.not_looked_at]
        heading = f"{self.title} ({self.law}): {self.headline}. {self.what}".strip()
        return shown(heading, rows, DESIGN_AID)

    def as_dict(self) -> dict[str, Any]:
        """The note as plain data."""
        return {
            "headline": self.headline,
            "what": self.what,
            "next": self.next,
            "faults": [fault.as_dict() for fault in self.faults],
            "better": [fault.as_dict() for fault in self.better],
            "disputes": self.disputes,
            "questions": [asdict(question) for question in self.questions],
            "referred": [{"says": says, "source": source} for says, source in self.referred],
            "design": [asdict(line) for line in self.design],
            "mended": self.mended,
            "allowed": [one.as_dict() for one in self.allowed],
            "workmanship": [asdict(walk) for walk in self.walk],
            "assumed": [*self.assumed, *self.file_assumed],
            "file assumed": self.file_assumed,
            "as said": self.as_said,
            "not looked at": self.not_looked_at,
            "care": self.care,
            "also said": self.also_said,
            "read as": self.read_as,
            "open": self.tiers,
            "built": [
                {"of": one.of, "is": one.fact, "rules": [rule for rule, _ in one.asked_by]}
                for one in self.built
            ],
        }


class Writer(Allowing):
    """Writes the note of a job that stands as it stands."""

    def __init__(self, standing: Standing, title: str, law: str, law_notes: list[str]) -> None:
        super().__init__(standing)
        self.title, self.law, self.law_notes = title, law, law_notes
        self.job = standing.world.job

    def note(self) -> Note:
        """The whole note."""
        standing = self.stand
        faults = self.faults()
        questions = self.questions()
        mends = [change for fault in faults for change in fault.mend]
        sure, maybe = self.care()
        walk = self.walk()
        assumed = self.assumed()
        design = self.design(mends)
        self.say_what_is_done(design, faults)
        self.say_how_each_stands(design)
        return Note(
            title=self.title,
            law=self.law,
            law_notes=self.law_notes,
            headline=standing.headline,
            what=self.what(faults, questions),
            faults=faults,
            better=self.better(),
            disputes=[self.dispute(one) for one in standing.disputes],
            questions=questions[:MOST_QUESTIONS],
            further_questions=questions[MOST_QUESTIONS:],
            referred=self.referred(),
            mended=bool(mends),
            right_then=bool(mends) and self.right_then(mends),
            design=design,
            allowed=self.allowed(mends),
            workmanship=sum(len(place.says) for place in walk),
            walk=walk,
            assumed=assumed,
            file_assumed=self.file_assumed(),
            as_said=self.as_said(),
            not_looked_at=list(dict.fromkeys(lack.short for lack in standing.lacks)),
            care=sure,
            care_if=maybe,
            also_said=[self.unused(one) for one in self.job.also_said],
            read_as=[
                f'{one.fact} "{one.text}" as {", ".join(one.told)}' for one in self.job.read_as
            ],
            tiers=[
                {"rule": one.finding.rule, "on": one.finding.on, "tier": one.tier}
                for one in standing.open
            ],
            built=standing.built,
            next=self.next(faults, questions, walk, assumed),
        )

    def referred(self) -> list[tuple[str, str]]:
        """What no rule decides and somebody else has to be asked, each once."""
        said: dict[str, str] = {}
        for open_ in self.stand.open:
            if self.knowledge.rules[open_.finding.rule].verb == "refers":
                said.setdefault(open_.finding.says, open_.finding.source)
        return list(said.items())

    # ---- what each circuit comes to, and what is next
    def say_what_is_done(self, design: list[DesignLine], faults: list[Fault]) -> None:
        """Say in the line of a circuit also the mends that none of its pieces shows: a charger that
        is to be set lower stands there as surely as a breaker.
        """
        for fault in faults:
            done = next((way.words for way in fault.ways if way.changes == fault.mend), "")
            for line in design if done else ():
                mine = [
                    change for change in fault.mend if f"{change[0]}.".startswith(f"{line.of}.")
                ]
                if mine and not self._is_shown(line, fault):
                    line.done.append(done)

    def _is_shown(self, line: DesignLine, fault: Fault) -> bool:
        """Whether what a circuit comes to is otherwise without a mend."""
        for of, fact, _ in fault.mend:
            part = of.removeprefix(line.of).lstrip(".")
            if (f"{fact} of {part}" if part else fact) in line.facts:
                return True
        without, made = self.line_as_it_is(line.of, []), self.line_as_it_is(line.of, [*fault.mend])
        return without != made

    def say_how_each_stands(self, design: list[DesignLine]) -> None:
        """Where something is not looked at and other things of the job were judged, give each the
        word that `why` has for it.
        """
        stand = self.stand
        if len(design) < 2 or stand.headline not in (NOT_LOOKED_AT, NOT_RIGHT):
            return
        missing = {self._of(on) for lack in stand.lacks if lack.first for on in lack.on}
        for line in design:
            if line.of in missing:
                line.word = NOT_LOOKED_AT
            elif stand.headline == NOT_LOOKED_AT:
                right = self.subject(self.world.things[line.of]).word == HEADWORD[PASSES]
                line.word = RIGHT if right else RIGHT_IF

    def _of(self, on: str) -> str:
        """The outermost thing that one is part of."""
        name: str = self._circuit(self.world.things[on])[0].id
        return name

    def next(
        self, faults: list[Fault], questions: list[Question], walk: list[Walk], assumed: list[str]
    ) -> str:
        """The one thing to do now: what is worst is mended first, what decides is settled next, and
        what was taken for granted is looked at last.
        """
        if faults:
            return self._next_of_faults(faults)
        if self.stand.disputes:
            return f"settle which it is: {self.dispute(self.stand.disputes[0])}"
        if questions:
            return f"answer Look 1: {questions[0].look}"
        missing = [lack for lack in self.stand.lacks if lack.first]
        if missing:
            return f"have somebody who knows it look at this: {missing[0].short}"
        if referred := self.referred():
            return begun_small(referred[0][0]).rstrip(".")
        things = sum(len(place.says) for place in walk)
        if things:
            many = f"{things} things that are" if things > 1 else "1 thing that is"
            return f"look at {many} taken as done the usual way (--walk)"
        if assumed:
            return f"check what we assumed: {assumed[0]}"
        if in_file := self.file_assumed():
            return f"check what your file assumes: {in_file[0]}"
        return "have it inspected; nothing is left open here"

    def _next_of_faults(self, faults: list[Fault]) -> str:
        """Which fault to mend first, and how; of what can hurt, that it can."""
        for number, fault in enumerate(faults, 1):
            if fault.ways and not fault.after:
                danger = f", which can {HURTS[fault.harm]}" if fault.harm in HURTS else ""
                return f"fix {number}{danger}: {fault.ways[0].words}"
        danger = f", which can {HURTS[faults[0].harm]}" if faults[0].harm in HURTS else ""
        # what the fault itself says is to be done
        _, _, do = faults[0].says.partition(". ")
        said = begun_small(do.rstrip(".")) or "plan it with whoever does the work"
        return f"fix 1{danger}: {said}"

    # ---- the headline
    def what(self, faults: list[Fault], questions: list[Question]) -> str:
        """What stands behind the word."""
        headline = self.stand.headline
        if headline == NOT_RIGHT:
            return f"{len(faults)} thing{'s' if len(faults) > 1 else ''} to fix."
        if headline == NOT_LOOKED_AT:
            return self._missing()
        if headline == RIGHT:
            return ""
        return self._condition(questions)

    def _missing(self) -> str:
        """Which articles are missing here, and how far the rest is looked at."""
        stand = self.stand
        said = dict.fromkeys(lack.first for lack in stand.lacks if lack.first)
        open_ = stand.turnable or stand.undecided or stand.disputes
        rest = "What is known here is right; that is not enough to call the job right."
        return " ".join(["where it matters.", *said, *([] if open_ else [rest])])

    def _condition(self, questions: list[Question]) -> str:
        """What a job is right if it is so: what decides, two of it by name."""
        said: dict[str, None] = {}
        for finding in self.stand.turnable:
            for on, fact, value in self._turning(finding):
                word = word_of(self.world, on, fact)
                if not word.right_if:
                    break
                shown = show(value, word.unit)
                circuit = self._circuit(self.world.things[on])[0].name
                said[word.right_if.replace("{value}", shown).replace("{circuit}", circuit)] = None
        if self.stand.disputes:
            said["it is settled which of two values holds"] = None
        rest = [
            self._topic(q)
            for q in questions
            if not (said and word_of(self.world, q.of[0], q.fact).right_if)
        ]
        referred = self.referred()
        if not rest and not said:
            return (
                "those to ask (below) have nothing against it."
                if referred
                else "what is open checks out."
            )
        rest += [TO_ASK] if referred else []
        return _deciding(list(said), list(dict.fromkeys(rest))) + "."

    def _topic(self, question: Question) -> str:
        """What a headline calls that which a question asks for."""
        word = word_of(self.world, question.of[0], question.fact)
        return word.called or f"the {word.name}"

    def unused(self, one: Any) -> str:
        """What a person said and nothing here uses, with what they said it of."""
        said = " ".join(filter(None, (one.key, one.text)))
        if one.of == "job" or one.of not in self.world.things:
            return said
        return f"{said} ({short(self.world.things[one.of])})"

    def dispute(self, dispute: dict[str, Any]) -> str:
        """A fact that has two values, with who says each."""
        thing = self.world.things[dispute["of"]]
        said = []
        for value in dispute["values"]:
            by = value["by"]
            who = "you said" if by == "told" else self.source(self.knowledge.rules[by], thing)
            said.append(f"{value['value']} ({who})" if who else str(value["value"]))
        return f"{begun(short(thing))}, {dispute['is']}: {' or '.join(said)}?"

    # ---- what else a person must know
    def assumed(self) -> list[str]:
        """What was filled in and could matter, as words say it, with where the answer flips."""
        by_note = [
            (thing, word)
            for kind in self.knowledge.words.kinds.values()
            for word in kind.words.values()
            if word.assumed_as
            for thing in self.world.by_kind[kind.name]
            if self.is_assumed(thing, word)
        ]
        rules, things = self.knowledge.rules, self.world.things
        by_guess = [
            (rules[one.finding.rule], things[one.finding.on])
            for one in self.stand.open
            if one.finding.answer == FAILS
        ]
        return self.assumptions(by_note, by_guess)

    def file_assumed(self) -> list[str]:
        """What the job's own file names as assumed: nobody said it, a survey wrote it down."""
        guessed = {(guess.of, guess.fact) for guess in self.stand.guesses}
        there = sorted(self.world.job.assumed - guessed)
        return list(dict.fromkeys(self.taken_fact(*one) for one in there))

    def care(self) -> tuple[list[str], list[tuple[str, str]]]:
        """The cautions that a note has room for, of those whose conditions are known to be so, the
        gravest first; and those that may hold, each with what must be so for it.
        """
        table = self.knowledge.tables.get(FIRST_CAUTIONS)
        first = {row["rule"]: row["place"] for row in table.rows} if table else {}
        sure: dict[str, str] = {}
        maybe: dict[tuple[str, str], None] = {}
        for caution in cautions(self.world):
            rule = self.knowledge.rules[caution["rule"]]
            holds = [
                self.world.holds(rule, self.world.things[on])
                if rule.id in self.knowledge.holds
                else self.world.things[on][self.knowledge.slots[rule.id]]
                for on in caution["on"]
            ]
            if any(value is True for value in holds):
                sure[rule.id] = caution["says"]
            else:
                maybe[rule.said, caution["says"]] = None
        order = sorted((first[rule], says) for rule, says in sure.items() if rule in first)
        return [says for _, says in order], list(maybe)

    def walk(self) -> list[Walk]:
        """What is taken for done as usual, by the place where a person looks at it."""
        places: dict[str, dict[tuple[str, str], None]] = {}
        for one in self.stand.open:
            if one.tier != WORKMANSHIP:
                continue
            thing = self.world.things[one.finding.on]
            rule = self.knowledge.rules[one.finding.rule]
            places.setdefault(self.place(thing), {})[rule.said, self.source(rule, thing)] = None
        return [Walk(place, list(says)) for place, says in sorted(places.items())]

    def place(self, thing: Thing) -> str:
        """Where in the building a person stands before a thing."""
        said = self.knowledge.words.kinds[thing[0].kind].found
        filled = self.fill(said, next(iter(self.knowledge.rules.values())), thing) if said else None
        return filled or self._called(thing)


def _deciding(clauses: list[str], topics: list[str]) -> str:
    """What has to be so, and what has to check out, as one sentence: two of it, and how many more.

    >>> _deciding(["both ends are marked 75 °C"], [])
    'both ends are marked 75 °C'
    >>> _deciding(["both ends are marked 75 °C"], ["the building", "the disconnect"])
    'both ends are marked 75 °C, and the building and 1 more check out'
    >>> _deciding([], ["the building"])
    'the building checks out'
    >>> _deciding([], ["the building", "the disconnect", "the place", "the load"])
    'the building, the disconnect and 2 more check out'
    """
    clauses, more = clauses[:MOST_DECIDING], max(len(clauses) - MOST_DECIDING, 0)
    named = topics[: MOST_DECIDING - len(clauses)]
    more += len(topics) - len(named)
    if not named and not more:
        return " and ".join(clauses)
    rest = _joined([*named, *([f"{more} more"] if more else [])])
    rest += " checks out" if len(named) + more == 1 else " check out"
    return ", and ".join([*([" and ".join(clauses)] if clauses else []), rest])


def _joined(texts: list[str]) -> str:
    """Texts in a row, the last after `and`."""
    *others, last = texts
    return f"{', '.join(others)} and {last}" if others else last


def note_of(found: Any) -> Note:
    """The note of an inspected job."""
    title = found.job.title or found.name
    return Writer(found.standing, title, law_of(found), list(found.force.notes)).note()


def law_of(found: Any, without: str = "") -> str:
    """What is in force, in a few words: the edition, and the packs over it, but the one *without*
    which it is told.
    """
    base, *over = (pack for pack in found.in_force if pack["pack"] != without)
    adopted = f" (adopted in {found.force.adopted_in or 'its place'})"
    edition = f"NEC {base['edition']}{adopted if base['edition from'] == 'place' else ''}"
    return "; ".join([edition, *map(_pack_over, over)])


def _pack_over(pack: dict[str, Any]) -> str:
    """A pack over the base by its title, and whether the permit lies before or after its days."""
    days = out_of_force(pack["from"], pack["until"], pack["date"])
    return f"{pack['title']} ({days})" if days else str(pack["title"])


__all__ = ["Note", "Fault", "Question", "note_of"]
