"""The note: what a person who has to act on a job needs of it, as plain data; the worst first.

Whatever stands in it was run: what is wrong once its mend is made, what each answer to a question
gives, and the design as it is with the mends that are shown, made together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, field
from fractions import Fraction
from typing import Any, TypeAlias

from ..basics.sentinels import NONE, NOTHING
from ..basics.units import Range, in_unit
from ..language.knowledge import Knowledge
from ..language.rules import JUDGING
from ..language.things import Thing
from ..language.words import Kind, Word
from ..proving.graph import Explainer, plain, short, show, unit_shown
from ..running.chain import FAILS, PASSES, TELL, World
from ..running.rerun import Change
from .findings import Finding, Need, cautions, values_of, word_of
from .questions import Why
from .standing import (
    CODES,
    NOT_LOOKED_AT,
    NOT_RIGHT,
    RIGHT,
    WORKMANSHIP,
    Guess,
    Standing,
    is_so,
)
from .ways import value_as_told

MOST_QUESTIONS = 5
MORE = "more to ask"
HARMS, FIRST_CAUTIONS = "harm-of-faults", "first-cautions"
Failing: TypeAlias = frozenset[tuple[str, str]]  # of (rule, thing)


@dataclass
class Mend:
    """What a person may do about a fault: in words, as it is bought, and as changes of the job."""

    words: str
    changes: tuple[Change, ...]
    source: str = ""


@dataclass
class Fault:
    """One thing to fix: what is wrong, who says so, on which circuits, and what to do."""

    says: str
    source: str
    layer: str
    harm: str
    circuits: list[str]
    rules: list[str]
    on: list[str]
    ways: list[Mend] = field(default_factory=list)
    mend: tuple[Change, ...] = ()  # what is taken for done in the design

    def as_dict(self) -> dict[str, Any]:
        """The fault as plain data."""
        said = {k: v for k, v in asdict(self).items() if k not in ("ways", "mend")}
        return {**said, "ways": [way.words for way in self.ways]}


@dataclass
class Question:
    """What a person at the site can see, once for the whole job, and what the answer gives."""

    ask: str
    look: str
    careful: str
    fact: str
    of: list[str]
    names: list[str]
    gives: list[str] = field(default_factory=list)


@dataclass
class DesignLine:
    """What one thing of the job comes to, in a line."""

    name: str
    pieces: list[str]
    spare: list[str] = field(default_factory=list)  # of them, what goes where there is no room


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
    questions: list[Question]
    more_questions: int
    mended: bool
    right_then: bool  # whether nothing is left to fix once what is shown is done
    design: list[DesignLine]
    workmanship: int
    walk: list[Walk]
    assumed: list[str]
    not_looked_at: list[str]
    care: list[str]
    care_if: list[tuple[str, str]]
    also_said: list[str]
    tiers: list[dict[str, str]]

    @property
    def exit_code(self) -> int:
        """What the headline is to a program."""
        return CODES[self.headline]

    def as_dict(self) -> dict[str, Any]:
        """The note as plain data."""
        return {
            "headline": self.headline,
            "what": self.what,
            "faults": [fault.as_dict() for fault in self.faults],
            "better": [fault.as_dict() for fault in self.better],
            "questions": [asdict(question) for question in self.questions],
            "design": [asdict(line) for line in self.design],
            "mended": self.mended,
            "workmanship": [asdict(walk) for walk in self.walk],
            "assumed": self.assumed,
            "not looked at": self.not_looked_at,
            "care": self.care,
            "also said": self.also_said,
            "open": self.tiers,
        }


class Writer(Why):
    """Writes the note of a job that stands as it stands."""

    def __init__(self, standing: Standing, title: str, law: str, law_notes: list[str]) -> None:
        super().__init__(standing.world, standing.whatif)
        self.stand, self.title, self.law, self.law_notes = standing, title, law, law_notes
        self.whole = Failing((f.rule, f.on) for f in self.stand.findings if f.answer == "fails")

    def note(self) -> Note:
        """The whole note."""
        standing = self.stand
        faults = self.faults()
        questions = self.questions()
        mends = [change for fault in faults for change in fault.mend]
        sure, maybe = self.care()
        walk = self.walk()
        return Note(
            title=self.title,
            law=self.law,
            law_notes=self.law_notes,
            headline=standing.headline,
            what=self.what(faults, questions),
            faults=faults,
            better=self.better(),
            questions=questions[:MOST_QUESTIONS],
            more_questions=max(len(questions) - MOST_QUESTIONS, 0),
            mended=bool(mends),
            right_then=bool(mends) and self.right_then(mends),
            design=self.design(mends),
            workmanship=sum(len(place.says) for place in walk),
            walk=walk,
            assumed=self.assumed(),
            not_looked_at=[lack.short for lack in standing.lacks],
            care=sure,
            care_if=maybe,
            also_said=[],
            tiers=[
                {"rule": one.finding.rule, "on": one.finding.on, "tier": one.tier}
                for one in standing.open
            ],
        )

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
        """What a job is right if it is so."""
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
            q for q in questions if not (said and word_of(self.world, q.of[0], q.fact).right_if)
        ]
        if rest or not said:
            said["what is open comes out right" if not said else "the rest comes out right"] = None
        return " and ".join(said) + "."

    def _turning(self, finding: Finding) -> list[Change]:
        """The lawful defaults that, told otherwise, would let a finding pass."""
        from .findings import turning

        rule, on = self.knowledge.rules[finding.rule], self.world.things[finding.on]
        return turning(self.world, rule, on, self.whatif)

    # ---- faults
    def harm(self, rule: str) -> str:
        """What a fault may do to somebody; nothing where it hurts nobody by itself."""
        table = self.knowledge.tables.get(HARMS)
        rows = table.rows if table else ()
        return next((str(row["harm"]) for row in rows if row["rule"] == rule), "")

    def rank(self, finding: Finding) -> tuple[bool, bool, bool, int, str]:
        """Worst first: what can hurt, what is unlawful, what lies nearest to its rule's number."""
        rule, on = self.knowledge.rules[finding.rule], self.world.things[finding.on]
        spoken = finding.rule in self.knowledge.rules and bool(
            rule.d.get("answers", {}).get("fails")
        )
        return (
            not self.harm(finding.rule),
            finding.layer not in ("law", "local", "maker"),
            not spoken,
            list(self.world.things).index(self._circuit(on)[0].id),
            finding.rule,
        )

    def faults(self) -> list[Fault]:
        """What is wrong, by cause: what one mend mends is one fault, and so is the same fault on
        several circuits.
        """
        left = sorted(self.stand.faults, key=self.rank)
        items = []
        while left:
            head = left[0]
            mend = self.mend(head)
            with_it = [f for f in left if f is head or (f.rule, f.on) in self.mended_by(head, mend)]
            left = [f for f in left if f not in with_it]
            items.append(self.fault(head, with_it, mend))
        return self.together(items)

    def fault(self, head: Finding, with_it: list[Finding], mend: tuple[Change, ...]) -> Fault:
        """One fault, in the words of the worst of what it is found by."""
        rule, on = self.knowledge.rules[head.rule], self.world.things[head.on]
        return Fault(
            says=self.sentence(rule, on, FAILS),
            source=self.source(rule, on),
            layer=head.layer,
            harm=self.harm(head.rule),
            circuits=[self._called(on)],
            rules=list(dict.fromkeys(f.rule for f in with_it)),
            on=list(dict.fromkeys(f.on for f in with_it)),
            mend=mend,
        )

    def _called(self, thing: Thing) -> str:
        """What the circuit of a thing, or whatever else it is part of, is called."""
        return short(self._circuit(thing))

    def together(self, items: list[Fault]) -> list[Fault]:
        """The same fault on several circuits made one."""
        out: dict[tuple[str, tuple[str, ...]], Fault] = {}
        for item in items:
            key = item.says, tuple(sorted(item.rules))
            first = out.setdefault(key, item)
            if first is not item:
                first.circuits += [name for name in item.circuits if name not in first.circuits]
                first.on += item.on
                first.mend += item.mend
        return list(out.values())

    def better(self) -> list[Fault]:
        """Advice that is not met, each sentence once."""
        items = [self.fault(f, [f], ()) for f in sorted(self.stand.advice, key=self.rank)]
        return self.together(items)

    # ---- what is taken for mended in the design
    def mend(self, finding: Finding) -> tuple[Change, ...]:
        """The sizes the design itself would have in place of those told, where they mend a finding
        and nothing new fails; nothing where they don't.
        """
        on = self.world.things[finding.on]
        if self._circuit(on)[0].id == "job":
            return ()
        options = self._designed(self._circuit(on))
        tries: list[tuple[list[Change], ...]] = [(option,) for option in options]
        if len(options) > 1:
            tries.append(tuple(options))
        for some in tries:
            changes = tuple(change for option in some for change in option)
            failing = self.failing(changes)
            if (finding.rule, finding.on) not in failing and failing <= self.whole:
                return changes
        return ()

    def _designed(self, circuit: Thing) -> list[list[Change]]:
        """Of each size told on a circuit the one that is designed, where that is another; what
        comes with a size is designed anew with it.
        """
        out = []
        for part in [circuit, *self.within(circuit)]:
            words = self.knowledge.words.kinds[part[0].kind].words
            for fact, told in part[0].told.items():
                value = self._design_of(part, fact)
                if value is None or value is NONE or value == told:
                    continue
                with_it: list[Change] = [
                    (part[0].id, word.name, None)
                    for word in words.values()
                    if word.comes_with == fact and word.name in part[0].told
                ]
                out.append([(part[0].id, fact, value), *with_it])
        return out

    def _design_of(self, thing: Thing, fact: str) -> Any:
        """What the design gives a fact, were it not told."""
        for giver in self.knowledge.order.givers.get((thing[0].kind, fact), ()):
            if giver.verb != "designs" or self.world.holds(giver, thing) is not True:
                continue
            for fill in giver.fills:
                value = fill.expr.ev(thing, None) if fill.word.name == fact else None
                if value is not None and not isinstance(value, Range):
                    return value
        return None

    def failing(self, changes: Iterable[Change]) -> Failing:
        """What fails once *changes* are made."""
        said = tuple(changes)
        key = ("failing", *((on, fact, repr(value)) for on, fact, value in said))
        if key not in self.whatif.remembered:
            with self.whatif.told(said) as world:
                self.whatif.remembered[key] = _failing(world)
        failing: Failing = self.whatif.remembered[key]
        return failing

    def mended_by(self, head: Finding, mend: tuple[Change, ...]) -> Failing:
        """What no longer fails once a mend is made."""
        if mend:
            return self.whole - self.failing(mend)
        told = self.told_under(head)
        return Failing(
            (f.rule, f.on)
            for f in self.stand.faults
            if f is head or f.on == head.on and told & self.told_under(f)
        )

    def told_under(self, finding: Finding) -> set[tuple[str, str]]:
        """What was told of the thing that fails for the numbers that are compared of it."""
        return {
            key for key in self._compared(self, finding.rule, finding.on) if key[0] == finding.on
        }

    # ---- the design
    def design(self, mends: list[Change]) -> list[DesignLine]:
        """A line for each thing that the vocabulary has a line for, with what is shown mended; what
        still fails is no value to build by.
        """
        with self.other(mends) as other:
            wrong = self.wrong(other)
            lines = []
            for kind in self.knowledge.words.kinds.values():
                for thing in other.world.by_kind[kind.name] if kind.line else ():
                    pieces = Pieces(other, thing, wrong)
                    said = pieces.said(kind)
                    if said:
                        lines.append(DesignLine(short(thing), said, pieces.spare))
            return lines

    def wrong(self, other: Why) -> set[tuple[str, str]]:
        """(thing, fact) of what still fails: the numbers that a failing requirement compares of its
        own thing, with what was told for them.
        """
        out: set[tuple[str, str]] = set()
        turnable = {(finding.rule, finding.on) for finding in self.stand.turnable}
        for rule, name in _failing(other.world) - turnable:
            out |= self._compared(other, rule, name)
        return out

    def _compared(self, speaker: Why, rule: str, name: str) -> set[tuple[str, str]]:
        """(thing, fact) of what a requirement compares of its own thing, else of others, with what
        was told for it.
        """
        on = speaker.world.things[name]
        compared = [
            (path.holder(on, None), path.names[-1])
            for path in speaker.read_by(self.knowledge.rules[rule])
            if path.names and not path.member
        ]
        held = [(holder, fact) for holder, fact in compared if isinstance(holder, list)]
        out: set[tuple[str, str]] = set()
        for holder, fact in [one for one in held if one[0] is on] or held:
            out |= {(holder[0].id, fact), *_told_under(speaker.world, holder, fact)}
        return out

    def other(self, changes: list[Change]) -> Any:
        """Who speaks of the job under *changes*."""
        return Why(self.world, self.whatif).other(changes)

    def right_then(self, mends: list[Change]) -> bool:
        """Whether a job is right with what is shown mended: nothing fails, and nothing decides that
        is not told.
        """
        standing = self.stand
        waiting = standing.turnable or standing.undecided or standing.disputes
        first = any(lack.first for lack in standing.lacks)
        return not waiting and not first and not self.failing(mends)

    # ---- questions
    def questions(self) -> list[Question]:
        """What decides, each once for the whole job: what costs the most where it is wrong, then
        what takes the least looking.
        """
        asked: dict[tuple[str, str], list[Need]] = {}
        waiting: dict[tuple[str, str], list[Finding]] = {}
        for finding, needs in self._waiting():
            for need in needs:
                key = self.world.things[need.of][0].kind, need.fact
                if need.of not in [n.of for n in asked.setdefault(key, [])]:
                    asked[key].append(need)
                waiting.setdefault(key, []).append(finding)

        def cost(key: tuple[str, str]) -> tuple[Any, ...]:
            worst = min(self.rank(finding)[:2] for finding in waiting[key])
            return (*worst, asked[key][0].effort, -len(waiting[key]), key)

        return [
            self.asked_once(asked[key], waiting[key] if n < MOST_QUESTIONS else [])
            for n, key in enumerate(sorted(asked, key=cost))
        ]

    def _waiting(self) -> list[tuple[Finding, list[Need]]]:
        """What is not decided, with the questions that would decide it."""
        out = [(one.finding, list(one.needs)) for one in self.stand.undecided]
        for finding in self.stand.turnable:
            on = self.world.things[finding.on]
            for of, fact, _ in self._turning(finding):
                word = word_of(self.world, of, fact)
                need = Need(of, fact, word.ask, word.look, word.careful, word.effort)
                out.append((finding, [need]))
            out.append((finding, self.stand.exceptions_wait_for(on, finding)))
        return out

    def asked_once(self, needs: list[Need], waiting: list[Finding]) -> Question:
        """One question, with the places it is asked of and what each answer gives."""
        first = needs[0]
        of = [need.of for need in needs]
        names = list(dict.fromkeys(self._called(self.world.things[name]) for name in of))
        return Question(
            ask=first.ask,
            look=self.look(first, of),
            careful=first.careful,
            fact=first.fact,
            of=of,
            names=names,
            gives=self.gives(needs, waiting),
        )

    def look(self, need: Need, of: list[str]) -> str:
        """Where to look: of several parts of one thing, where each of them is."""
        parts: dict[str, None] = {}
        for name in of:
            whole = self.world.things[name][0].whole
            words = self.knowledge.words.kinds[whole[0].kind].words if whole is not None else {}
            part = words.get(name.rpartition(".")[2])
            if part is not None and part.part == "one" and part.look:
                parts[part.look] = None
        return "; ".join(parts) if len(parts) > 1 else need.look

    def gives(self, needs: list[Need], waiting: list[Finding]) -> list[str]:
        """What each of a few answers gives, where they differ."""
        word = word_of(self.world, needs[0].of, needs[0].fact)
        values = values_of(self.world, needs[0])
        if not values and word.try_instead and waiting:
            values = [(text, value_as_told(word, text)) for text in word.try_instead]
        if not values or not waiting:
            return []
        on = {(finding.rule, finding.on) for finding in waiting}
        outcomes = []
        for said, value in values:
            changes = [(need.of, need.fact, value) for need in needs]
            outcomes.append((said, self.comes_to(changes, on)))
        if word.try_instead:
            outcomes.append(("otherwise", self.comes_to([], on)))
        if len({outcome for _, outcome in outcomes}) == 1 and len(outcomes) > 1:
            return []
        return [f"{said}: {outcome}" for said, outcome in outcomes if outcome != MORE]

    def comes_to(self, changes: list[Change], on: set[tuple[str, str]]) -> str:
        """What becomes of what waited, once something is told: the worst of it."""
        with self.other(changes) as other:
            verdicts = {
                (rule, name): other.world.answer(
                    self.knowledge.rules[rule], other.world.things[name]
                )
                for rule, name in on
            }
            fails = sorted(key for key, verdict in verdicts.items() if verdict == FAILS)
            if fails:
                rule, thing = self.knowledge.rules[fails[0][0]], other.world.things[fails[0][1]]
                margin = other.margin(rule, thing)
                return f"not right ({', '.join(filter(None, (margin, self.source(rule, thing))))})"
            if any(verdict == TELL for verdict in verdicts.values()):
                return MORE
            numbers = [
                other.margin(self.knowledge.rules[rule], other.world.things[name])
                for (rule, name), verdict in verdicts.items()
                if verdict == PASSES
            ]
            margin = next(iter(sorted(filter(None, numbers), key=len)), "")
            return f"right ({margin})" if margin else "right"

    # ---- what else a person must know
    def assumed(self) -> list[str]:
        """What was filled in and could matter, as words say it."""
        said: dict[str, None] = {}
        for kind in self.knowledge.words.kinds.values():
            for word in kind.words.values():
                if not word.assumed_as:
                    continue
                for thing in self.world.by_kind[kind.name]:
                    if self._is_assumed(thing, word):
                        said[self._assumption(thing, word)] = None
        return list(said)

    def _is_assumed(self, thing: Thing, word: Word) -> bool:
        if Guess(thing[0].id, word.name, thing[word.slot]) in self.stand.guesses:
            return True
        if thing[word.slot] is None or word.name in thing[0].looked:
            return False
        return bool(
            self.world.settle(thing[0].kind, word.name, thing).origin == "assumed"
            and word.name not in thing[0].told
        )

    def _assumption(self, thing: Thing, word: Word) -> str:
        """A template of `assumed as:` with the value, in a unit where it names one, and other facts
        of the thing.
        """
        from .sentences import FACT

        def one(found: Any) -> str:
            name = found[1]
            if name == "value":
                return show(thing[word.slot], word.unit)
            if name in self.knowledge.words.kinds[thing[0].kind].words:
                return self.value_of(thing, name) or name
            if name == "circuit":
                return self._called(thing)
            return show(thing[word.slot], name, brief=True)

        return FACT.sub(one, word.assumed_as)

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


class Pieces:
    """The line of one thing: what `line:` of its kind says, with facts filled in."""

    def __init__(self, speaker: Why, thing: Thing, wrong: set[tuple[str, str]]) -> None:
        self.speaker, self.thing, self.wrong = speaker, thing, wrong
        self.knowledge: Knowledge = speaker.knowledge
        self.spare: list[str] = []

    def said(self, kind: Kind) -> list[str]:
        """The pieces that are known; of alternatives the first."""
        out = []
        for alternatives in kind.line:
            text = next(filter(None, map(self.piece, alternatives)), "")
            if text:
                out.append(text)
        return out

    def piece(self, spec: Any) -> str:
        """One piece; nothing where a fact is not known, or stands against a rule."""
        from ..language.words import tests_of
        from .sentences import FACT

        text = str(spec["says"]) if isinstance(spec, dict) else str(spec)
        if isinstance(spec, dict) and "where" in spec:
            if not is_so(self.speaker.world, self.thing, tests_of(str(spec["where"]))):
                return ""
        try:
            said = FACT.sub(lambda found: self.value(found[1]), text)
        except KeyError:
            return ""
        if isinstance(spec, dict) and spec.get("if room") == "yes":
            self.spare.append(said)
        return said

    def value(self, path: str) -> str:
        """The value at the end of a path, of a list what its members share. Raises KeyError."""
        kind = self.thing[0].kind
        names = self.knowledge.words.spell(
            kind, tuple(name.strip() for name in reversed(path.split(" of ")))
        )
        said = {self._shown(holder, names[-1]) for holder in self._holders(names[:-1])}
        if len(said) != 1 or None in said:
            raise KeyError(path)
        return str(said.pop())

    def _holders(self, names: list[str]) -> list[Thing]:
        return self.speaker.holders(self.thing, names)

    def _shown(self, holder: Thing, fact: str) -> str | None:
        word = self.knowledge.words.kinds[holder[0].kind].words.get(fact)
        if word is None or (holder[0].id, fact) in self.wrong:
            return None
        value = holder[word.slot]
        if value is None or value is NONE or value is NOTHING or isinstance(value, Range):
            return None
        if word.unit == "%" and plain(value):
            return f"{two_digits(in_unit(value, '%'))} %"
        return show(value, unit_shown(holder, fact, word.unit), brief=True)


def two_digits(number: Fraction) -> str:
    """A number with two figures, as people say a percent.

    >>> two_digits(Fraction(7856, 10000)), two_digits(Fraction(296, 100)), two_digits(Fraction(12))
    ('0.79', '3.0', '12')
    """
    size = abs(number)
    if size >= 10 or number == int(number):
        return str(round(number))
    return f"{float(number):.1f}" if size >= 1 else f"{float(number):.2f}"


def _failing(world: World) -> Failing:
    """(rule, thing) of what fails."""
    return Failing(
        (rule.id, thing[0].id)
        for kind, things in world.by_kind.items()
        if things
        for rule in world.k.rules.values()
        if rule.about == kind and rule.verb in JUDGING and rule.verb != "should"
        for thing in things
        if world.answer(rule, thing) == FAILS
    )


def _told_under(world: World, thing: Thing, fact: str) -> set[tuple[str, str]]:
    """What was told of a thing for one of its facts to be worked out from."""
    explainer = Explainer(world)
    explainer.fact(thing, fact)
    return {
        (thing[0].id, str(node.data["is"]))
        for node in explainer.g.nodes.values()
        if node.kind == "fact" and node.data["of"] == thing[0].id and node.data["origin"] == "told"
    }


def note_of(found: Any, writer: Callable[..., Writer] = Writer) -> Note:
    """The note of an inspected job."""
    title = found.job.title or found.name
    return writer(found.standing, title, law_of(found), list(found.force.notes)).note()


def law_of(found: Any) -> str:
    """What is in force, in a few words: the edition, and the packs over it."""
    base, *over = found.in_force
    adopted = f" (adopted in {found.force.adopted_in or 'its place'})"
    edition = f"NEC {base['edition']}{adopted if base['edition from'] == 'place' else ''}"
    return "; ".join([edition, *(str(pack["title"]) for pack in over)])


__all__ = ["Note", "Fault", "Question", "note_of"]
