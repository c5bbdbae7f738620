"""How a job stands: what is wrong, what nobody told and in which tier, what no rule here knows; and
the one word that it comes to.

What nobody told and the trade takes for granted (that a run is alone in its hole) is taken so in a
run of its own, and shown: the findings of the job itself never rest on it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

from ..language.knowledge import Knowledge
from ..language.noted import guess_from
from ..language.rules import Rule
from ..language.things import Thing
from ..language.words import Word
from ..proving.leaves import facts_under
from ..running.chain import FAILS, LACKS, REFERS, TELL, World
from ..running.job import Job
from ..running.rerun import Change, Rerun, tell
from .built import Built, built_as, lay_on, value_of_text, wanted
from .findings import Finding, Need, disputes, findings, judged, word_of
from .tiers import (
    DECIDES,
    REMOTE,
    is_so,
    questions_of,
    questions_of_exception,
    tier_of,
    tier_of_open,
)

RIGHT, RIGHT_IF, NOT_RIGHT, NOT_LOOKED_AT = "RIGHT", "RIGHT IF", "NOT RIGHT", "NOT LOOKED AT"
CODES = {RIGHT: 0, NOT_RIGHT: 1, RIGHT_IF: 3, NOT_LOOKED_AT: 3}
CHOICES = 8  # of a fact that are all tried, to see whether one settles what waits for it
# the tables of what a note says of what is missing here: in a few words, and at the head of it
SHORT, FIRST = "not-looked-at", "articles-not-here"


class Lack(NamedTuple):
    """What no rule here looks at: in a few words, and in a sentence where it stands first."""

    rule: str
    short: str
    first: str
    on: tuple[str, ...]


class Open(NamedTuple):
    """A finding that nobody can tell, with its tier and the questions that decide it."""

    finding: Finding
    tier: str
    needs: tuple[Need, ...]


class Guess(NamedTuple):
    """What a fact is taken for that nobody told."""

    of: str
    fact: str
    value: Any


class Standing:
    """A job as it stands. *source* is an `Inspection`, of which only the run is read."""

    def __init__(self, world: World, whatif: Rerun, found: list[Finding] | None, body: Any) -> None:
        self.guesses, self._told, self.body = guesses(world), world, body
        self.built = wanted(world)
        self.open: list[Open] = []
        if self.guesses or self.built:
            whatif, found = self._anew(), None
        self._stand(whatif, found)
        self._see_what_is_built()
        self.open = list(map(self._unasked, self.open))
        self.disputes = disputes(self.world)
        self.lacks = lacks_of(self.world)

    def _stand(self, whatif: Rerun, found: list[Finding] | None = None) -> None:
        self.world, self.whatif, self.knowledge = whatif.world, whatif, whatif.world.k
        self.findings = findings(self.world, whatif) if found is None else found
        self.faults: list[Finding] = []
        self.turnable: list[Finding] = []
        self.advice: list[Finding] = []
        self.open = []
        for finding in self.findings:
            self._sort(finding)

    def _unasked(self, one: Open) -> Open:
        """What waits, without what whoever builds it puts in if it is required: whether it is
        required is asked.
        """
        left = tuple(need for need in one.needs if not self._is_built(need))
        if len(left) == len(one.needs):
            return one
        rule, on = self.knowledge.rules[one.finding.rule], self.world.things[one.finding.on]
        if not left and one.tier == DECIDES:
            whole = questions_of(self.world, rule, on, lists=True)
            left = tuple(need for need in whole if not self._is_built(need))
        return one._replace(needs=left or one.needs)

    def _is_built(self, need: Need) -> bool:
        """Whether whoever builds it puts that in where it is required, so that nobody is asked."""
        thing, word = self.world.things[need.of], word_of(self.world, need.of, need.fact)
        return built_as(self.world, thing, word) is not None

    @property
    def taken(self) -> list[Change]:
        """What is taken for granted."""
        return [(guess.of, guess.fact, guess.value) for guess in self.guesses]

    def laid(self) -> Job:
        """The job read anew, not run yet, with what is taken for granted and what is put in."""
        job = Job(self._told.k, self.body, self._told.job.name)
        lay_on(job, self.taken, self.built)
        return job

    def _anew(self) -> Rerun:
        return Rerun(World(self._told.k, self.laid()).run())

    def _see_what_is_built(self) -> None:
        """Put in also what is known to be required only by what is taken for granted or put in, and
        nothing by which something fails: that is a question after all.
        """
        there = {(one.of, one.fact) for one in self.built}
        more = [one for one in wanted(self.world) if (one.of, one.fact) not in there]
        if more:
            self.built += more
            self._stand(self._anew())
        if not self.built:
            return
        told, rules = self._told, self.knowledge.rules
        worse = [
            f
            for f in self.findings
            if f.answer == "fails"
            and (f.on not in told.things or told.answer(rules[f.rule], told.things[f.on]) != FAILS)
        ]
        suspects = [one for one in self.built if any(_touches(one, f) for f in worse)]
        if suspects:
            self._leave_out(suspects, worse)

    def _leave_out(self, suspects: list[Built], worse: list[Finding]) -> None:
        """Build nothing of *suspects*, where without them less fails than *worse*."""
        before, built = self.whatif, self.built
        self.built = [one for one in built if one not in suspects]
        without = self._anew()
        answers = {
            (f.rule, f.on): without.world.answer(
                self.knowledge.rules[f.rule], without.world.things[f.on]
            )
            for f in worse
            if f.on in without.world.things
        }
        if all(answers.get((f.rule, f.on)) == FAILS for f in worse):
            # it fails by what is taken for granted, whatever is put in
            self.whatif, self.built = before, built
            return
        self._stand(without)

    def _sort(self, finding: Finding) -> None:
        if finding.answer == "fails":
            turning = self._turning_guesses(finding)
            if turning:
                # what only fails by what was taken for granted is asked for
                self.open.append(Open(finding, DECIDES, turning))
                return
            (self.turnable if self._may_turn(finding) else self.faults).append(finding)
        elif finding.answer == "advice":
            self.advice.append(finding)
        elif finding.answer == "cannot tell":
            self.open.append(self._open(finding))

    def _may_turn(self, finding: Finding) -> bool:
        """Whether something likely could turn a fault: a default nobody looked behind, or an
        exception that rests on nothing remote.
        """
        for way in finding.unless:
            if "if" in way:
                return True
            on = self.world.things[finding.on]
            wanted = questions_of_exception(self.world, way["exception"], on)
            if wanted and all(tier_of(self.world, need) != REMOTE for need in wanted):
                return True
        return False

    def _turning_guesses(self, finding: Finding) -> tuple[Need, ...]:
        """Of what was taken for granted, what would let a fault pass were it otherwise."""
        rule = self.knowledge.rules[finding.rule]
        told = self._told.things.get(finding.on)
        if told is None or self._told.answer(rule, told) == FAILS:
            return ()
        # what a fault does not rest on turns nothing of it
        under = facts_under(self.world, rule, self.world.things[finding.on])
        return tuple(
            Need(guess.of, guess.fact, word.ask, word.look, word.careful, word.effort)
            for guess in self.guesses
            if (guess.of, guess.fact) in under
            for word in [word_of(self.world, guess.of, guess.fact)]
            if any(self._passes(rule, finding.on, guess, value) for value in _others(word))
        )

    def _passes(self, rule: Rule, on: str, guess: Guess, value: Any) -> bool:
        with self.whatif.told([(guess.of, guess.fact, value)]) as world:
            return bool(world.answer(rule, world.things[on]) != FAILS)

    def exceptions_wait_for(self, thing: Thing, finding: Finding) -> list[Need]:
        """What the exceptions that could turn a fault wait for; of those that rest on what is
        remote, nothing.
        """
        out: list[Need] = []
        for way in finding.unless:
            if "exception" in way:
                wanted = questions_of_exception(self.world, way["exception"], thing)
                if all(tier_of(self.world, need) != REMOTE for need in wanted):
                    out += wanted
        return out

    def _open(self, finding: Finding) -> Open:
        rule, on = self.knowledge.rules[finding.rule], self.world.things[finding.on]
        tier, wanted = tier_of_open(self.world, rule, on)
        if tier == DECIDES:
            wanted = self._first_asked(rule, on, wanted)
        return Open(finding, tier, wanted)

    def _first_asked(self, rule: Rule, thing: Thing, wanted: tuple[Need, ...]) -> tuple[Need, ...]:
        """Of several questions those that come first: what is behind one whose answer may settle
        it is asked when it has not.
        """
        for place, need in enumerate(wanted[:-1]):
            for value in self._choices(need):
                with self.whatif.told([(need.of, need.fact, value)]) as world:
                    if world.answer(rule, thing) not in (TELL, REFERS):
                        return wanted[: place + 1]
        return wanted

    def _choices(self, need: Need) -> Iterable[Any]:
        word = word_of(self.world, need.of, need.fact)
        if word.type[0] == "flag":
            return (True, False)
        if word.type[0] == "choice" and len(word.type[1]) <= CHOICES:
            return tuple(word.type[1])
        return ()

    # ---- what it comes to
    @property
    def undecided(self) -> list[Open]:
        """What is not told and decides."""
        return [one for one in self.open if one.tier == DECIDES]

    @property
    def headline(self) -> str:
        """The one word."""
        if self.faults:
            return NOT_RIGHT
        if any(lack.first for lack in self.lacks):
            return NOT_LOOKED_AT
        return RIGHT_IF if self.turnable or self.undecided or self.disputes else RIGHT

    @property
    def exit_code(self) -> int:
        """What the headline is to a program."""
        return CODES[self.headline]


# ---- what the trade takes for granted ------------------------------------------------------------


def guesses(world: World) -> list[Guess]:
    """What words say that they are taken for, of every thing of which nobody told it and no rule
    gives it.
    """
    out = []
    for kind, things in world.by_kind.items():
        for word in world.k.words.kinds[kind].words.values():
            if not word.guess:
                continue
            for thing in things:
                meta = thing[0]
                if (
                    thing[word.slot] is not None
                    or word.name in meta.told
                    or (word.name in meta.looked)
                ):
                    continue
                if not is_so(world, thing, word.guess_where):
                    continue
                value = _guessed(world.k, word, thing)
                if value is not None:
                    out.append(Guess(meta.id, word.name, value))
    return out


def _others(word: Word) -> tuple[Any, ...]:
    """What a word may be: its choices, and of a quantity the least and the most that is usual."""
    if word.type[0] == "flag":
        return (True, False)
    if word.type[0] == "choice":
        return tuple(word.type[1])
    return (word.usual.least, word.usual.most) if word.usual and not word.usual.table else ()


def _guessed(knowledge: Knowledge, word: Word, thing: Thing) -> Any:
    """The value that `guess:` gives: itself, or the cell of a table by another fact of the thing;
    None where there is no such row.
    """
    source = guess_from(word.guess)
    if source is None:
        return value_of_text(word, word.guess)
    column, table, key, link = source
    holder = thing[knowledge.words.kinds[word.kind].words[link].slot] if link else thing
    cell = holder[knowledge.words.kinds[holder[0].kind].words[key].slot]
    there = knowledge.tables.get(table)
    rows = there.rows if there and cell is not None else ()
    return next((row[column] for row in rows if row[key] == cell), None)


def _touches(built: Built, finding: Finding) -> bool:
    """Whether a finding is of what something is put in to, or of a part of it."""
    return f"{finding.on}.".startswith(f"{built.of}.") or built.of.startswith(f"{finding.on}.")


def with_guesses(world: World, body: Any, taken: list[Guess]) -> World:
    """The job run anew with what is taken for granted told."""
    job = Job(world.k, body, world.job.name)
    changes: list[Change] = [(guess.of, guess.fact, guess.value) for guess in taken]
    tell(job, changes)
    return World(world.k, job).run()


# ---- what is missing here ------------------------------------------------------------------------


def lacks_of(world: World) -> list[Lack]:
    """What no rule here looks at, with what a note says of it."""
    shorts, firsts = _column(world, SHORT, "short"), _column(world, FIRST, "first")
    out: dict[str, Lack] = {}
    for rule, thing, verdict in judged(world):
        if rule.verb != "lacks" or verdict != LACKS:
            continue
        lack = out.get(rule.id)
        on = (*(lack.on if lack else ()), thing[0].id)
        short = shorts.get(rule.id, str(rule.d["lacks"]))
        out[rule.id] = Lack(rule.id, short, firsts.get(rule.id, ""), on)
    return list(out.values())


def _column(world: World, table: str, column: str) -> dict[str, str]:
    """What a table says of rules."""
    said = world.k.tables.get(table)
    return {str(row["rule"]): str(row[column]) for row in said.rows} if said else {}
