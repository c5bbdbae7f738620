"""What a job comes to, a line a thing, with what is to be fixed as it is fixed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from ..basics.sentinels import NONE, NOTHING
from ..basics.units import Range, in_unit
from ..language.knowledge import Knowledge
from ..language.noted import tests_of
from ..language.rules import Rule
from ..language.things import Thing, members
from ..language.words import as_list
from ..proving.graph import plain, short, show, unit_shown
from ..running.chain import REFERS
from ..running.program import program_of
from ..running.rerun import Change
from .asking import Asking
from .causes import failing_in
from .questions import Why
from .sentences import FACT
from .tiers import is_so


@dataclass
class DesignLine:
    """What one thing of the job comes to, in a line."""

    name: str
    pieces: list[str]
    spare: list[str] = field(default_factory=list)  # of them, what goes where there is no room
    # of each piece the fact that it says first, as `why` takes it: `size of conductors`
    facts: list[str] = field(default_factory=list)
    of: str = ""  # the thing
    # what is done that no piece shows: `set the charger to 44 A`
    done: list[str] = field(default_factory=list)
    word: str = ""  # how it stands by itself, where the headline speaks of something else


class Design(Asking):
    """Writes the lines of the design."""

    def design(self, mends: list[Change]) -> list[DesignLine]:
        """A line for each thing that the vocabulary has a line for, with what is shown mended; what
        still fails is no value to build by.
        """
        with self.other(mends) as other:
            unsettled = self.left_open(other)
            wrong = self.wrong(other) | {*unsettled}
            lines = []
            for kind in self.knowledge.words.kinds.values():
                for thing in other.world.by_kind[kind.name] if kind.line else ():
                    pieces = Pieces(other, thing, wrong, self.put_in(thing), unsettled)
                    if line := pieces.line(kind.line):
                        line.of = thing[0].id
                        lines.append(line)
            return lines

    def line_as_it_is(self, on: str, mends: list[Change]) -> DesignLine | None:
        """The line of one thing with *mends*, also with what still fails then."""
        with self.other(mends) as other:
            thing = other.world.things[on]
            pieces = Pieces(other, thing, set(), self.put_in(thing), {})
            return pieces.line(self.knowledge.words.kinds[thing[0].kind].line)

    def line_of(self, on: str, said: Iterable[Any] = ()) -> DesignLine | None:
        """The line of one thing as the job stands: what the vocabulary says of its kind, or what is
        *said* in the same form; None where nothing of it is known.
        """
        with self.other([]) as other:
            thing = other.world.things.get(on)
            if thing is None:
                return None
            unsettled = self.left_open(other)
            wrong = self.wrong(other) | {*unsettled}
            pieces = Pieces(other, thing, wrong, self.put_in(thing), unsettled)
            kind = self.knowledge.words.kinds[thing[0].kind]
            return pieces.line([as_list(one) for one in said] or kind.line)

    def put_in(self, thing: Thing) -> dict[str, str]:
        """What is put in to a thing because it is required: fact -> since what; "" where that has
        no short name.
        """
        out = {}
        for built in self.stand.built:
            if built.of == thing[0].id:
                out[built.fact] = next(filter(None, map(self._since, built.asked_by)), "")
        return out

    def _since(self, asked_by: tuple[str, str]) -> str:
        """What a requirement is there for, in a word or two: `outdoors`."""
        rule, on = self.knowledge.rules[asked_by[0]], self.world.things[asked_by[1]]
        for text in as_list(rule.d.get("answers", {}).get("since")):
            said = self.fill(str(text), rule, on)
            if said:
                return said
        return ""

    def wrong(self, other: Why) -> set[tuple[str, str]]:
        """(thing, fact) of what still fails: the numbers that a failing requirement compares of its
        own thing, with what was told for them. What a look may turn, and what fails by what was
        taken for granted alone, is asked about, and stands here as it is.
        """
        out: set[tuple[str, str]] = set()
        failing = failing_in(other.world)
        if not failing:  # a survey asks with each answer, and no finding is written between cards
            return out
        asked = {(finding.rule, finding.on) for finding in self.stand.turnable}
        asked |= {(one.finding.rule, one.finding.on) for one in self.stand.open}
        for rule, name in failing - asked:
            out |= self.compared(other, rule, name)
        return out

    def left_open(self, other: Why) -> dict[tuple[str, str], str]:
        """(thing, fact) that a rule refuses to settle, and what is said in its place."""
        return {
            (on[0].id, str(fact)): other.fill(str(text), rule, on) or ""
            for rule, unsettled in _leaving_open(self.knowledge)
            for fact, text in unsettled.items()
            for on in other.world.by_kind.get(rule.about, ())
            if other.world.answer(rule, on) == REFERS
        }

    def right_then(self, mends: list[Change]) -> bool:
        """Whether a job is right with what is shown mended: nothing fails, and nothing decides that
        is not told.
        """
        standing = self.stand
        waiting = standing.turnable or standing.undecided or standing.disputes
        first = any(lack.first for lack in standing.lacks)
        return not waiting and not first and not self.failing(mends)


def _leaving_open(knowledge: Knowledge) -> list[tuple[Rule, dict[str, Any]]]:
    """The rules that refuse to settle facts, with what each says in their place: few of all that
    there are, found once, since a survey asks with each answer.
    """
    remembered = program_of(knowledge).remembered
    if "leaving open" not in remembered:
        remembered["leaving open"] = [
            (rule, unsettled)
            for rule in knowledge.rules.values()
            if (unsettled := rule.d.get("answers", {}).get("unsettled"))
        ]
    found: list[tuple[Rule, dict[str, Any]]] = remembered["leaving open"]
    return found


class Pieces:
    """The line of one thing: what `line:` of its kind says, with facts filled in."""

    def __init__(
        self,
        speaker: Why,
        thing: Thing,
        wrong: set[tuple[str, str]],
        put_in: dict[str, str],
        unsettled: dict[tuple[str, str], str],
    ) -> None:
        self.speaker, self.thing, self.wrong, self.put_in = speaker, thing, wrong, put_in
        self.unsettled = unsettled
        self.knowledge: Knowledge = speaker.knowledge
        self.spare: list[str] = []
        self.facts: list[str] = []

    def line(self, said: Iterable[Sequence[Any]]) -> DesignLine | None:
        """The line that the pieces make which are known; None where none is."""
        pieces = self.said(said)
        return DesignLine(short(self.thing), pieces, self.spare, self.facts) if pieces else None

    def said(self, line: Iterable[Sequence[Any]]) -> list[str]:
        """The pieces that are known; of alternatives the first."""
        out = []
        for alternatives in line:
            for spec in alternatives:
                if text := self.piece(spec) or self.instead(spec):
                    out.append(text)
                    self.facts.append(first_fact(spec))
                    break
        return out

    def piece(self, spec: Any) -> str:
        """One piece; nothing where a fact is not known, or stands against a rule."""
        if isinstance(spec, dict) and "from" in spec:
            return self.bought(spec)
        if isinstance(spec, dict) and "each" in spec:
            return self.one_by_one(spec)
        text = str(spec["says"]) if isinstance(spec, dict) else str(spec)
        if isinstance(spec, dict) and "where" in spec:
            if not is_so(self.speaker.world, self.thing, tests_of(str(spec["where"]))):
                return ""
        if isinstance(spec, dict) and str(spec.get("not put in")) in self.put_in:
            return ""
        if isinstance(spec, dict) and "put in" in spec:
            facts = [fact.strip() for fact in str(spec["put in"]).split(" and ")]
            if not all(fact in self.put_in for fact in facts):
                return ""
            text += f", since {since}" if (since := self._since(facts)) else ""
        try:
            said = FACT.sub(lambda found: self.value(found[1]), text)
        except KeyError:
            return ""
        if isinstance(spec, dict) and spec.get("if room") == "yes":
            self.spare.append(said)
        return said

    def one_by_one(self, spec: dict[str, Any]) -> str:
        """What is said of each member of a list, as they stand; nothing where of one it is not
        known.
        """
        said: list[str] = []
        for member in self._holders([str(spec["each"])]):
            of_it = Pieces(self.speaker, member, self.wrong, self.put_in, self.unsettled)
            text = next(filter(None, map(of_it.piece, as_list(spec["says"]))), "")
            if not text:
                return ""
            if text not in said[-1:]:
                said.append(text)
        return ", then ".join(said)

    def instead(self, spec: Any) -> str:
        """What is said in place of a fact that is not settled."""
        fact = first_fact(spec)
        if not self.unsettled or not fact:
            return ""
        kind = self.thing[0].kind
        names = self.knowledge.words.spell(kind, tuple(reversed(fact.split(" of "))))
        said = [self.unsettled.get((one[0].id, names[-1])) for one in self._holders(names[:-1])]
        return next(filter(None, said), "")

    def _since(self, facts: list[str]) -> str:
        """Why some facts are put in, each reason once."""
        return " and ".join(dict.fromkeys(filter(None, (self.put_in[fact] for fact in facts))))

    def bought(self, spec: dict[str, Any]) -> str:
        """A cell of a table: of the rows with these values the first that has enough."""
        table = self.knowledge.tables.get(str(spec["from"]))
        try:
            wanted = {key: self.value(str(path)) for key, path in spec["by"].items()}
            least = {
                key: sum(Fraction(self.value(path.strip())) for path in str(paths).split(" + "))
                for key, paths in spec.get("at least", {}).items()
            }
        except KeyError:
            return ""
        for row in table.rows if table else ():
            same = all(str(row[key]) == value for key, value in wanted.items())
            if same and all(row[key] >= value for key, value in least.items()):
                return str(row[str(spec["column"])])
        return ""

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
        """The things that a way through parts leads to, of a list each of its members."""
        holders = [self.thing]
        for name in names:
            cells = [
                holder[word.slot]
                for holder in holders
                if (word := self.knowledge.words.kinds[holder[0].kind].words.get(name))
            ]
            holders = []
            for cell in cells:
                one = isinstance(cell, list) and cell and hasattr(cell[0], "kind")
                holders += [cell] if one else members(cell)
        return holders

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


def first_fact(spec: Any) -> str:
    """The fact that a piece of a line says first; "" where it says none.

    >>> first_fact("{rating of breaker} {ungrounded conductors}-pole")
    'rating of breaker'
    >>> first_fact({"says": "GFCI breaker", "put in": "GFCI protection"})
    'GFCI protection'
    """
    if not isinstance(spec, dict):
        said = str(spec)
    elif "from" in spec:
        return str(spec["by"].get("size", next(iter(spec["by"].values()))))
    elif "each" in spec:
        # each member says it along a way back to the thing
        return first_fact(spec["says"][0]).rpartition(" of ")[0]
    elif "put in" in spec:
        return str(spec["put in"]).split(" and ")[0]
    else:
        said = str(spec["says"])
        if "where" in spec and not FACT.search(said):
            return str(spec["where"]).partition(" is ")[0]
    found = FACT.search(said)
    return found[1] if found else ""


def two_digits(number: Fraction) -> str:
    """A number with two figures, as people say a percent.

    >>> two_digits(Fraction(7856, 10000)), two_digits(Fraction(296, 100)), two_digits(Fraction(12))
    ('0.79', '3.0', '12')
    """
    size = abs(number)
    if size >= 10 or number == int(number):
        return str(round(number))
    return f"{float(number):.1f}" if size >= 1 else f"{float(number):.2f}"
