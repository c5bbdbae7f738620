"""How a job stands: what is wrong, what nobody told and in which tier, what no rule here knows; and
the one word that it comes to.

What nobody told and the trade takes for granted (that a run is alone in its hole) is taken so in a
run of its own, and shown: the findings of the job itself never rest on it. Whoever asks how a job
stands (the note, why, whynot, fix) asks this one, of the whole job or of one thing of it.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import Any, NamedTuple, TypeAlias

from ..language.knowledge import Knowledge
from ..language.noted import guess_from
from ..language.rules import JUDGING, Rule
from ..language.things import Thing
from ..language.words import Word
from ..proving.leaves import facts_under
from ..running.chain import ADVICE, FAILS, LACKS, REFERS, TELL, World
from ..running.job import Job
from ..running.program import program_of
from ..running.rerun import Change, Rerun, tell
from .built import Built, built_as, built_where, lay_on, value_of_text, wanted
from .findings import Finding, Need, disputes, findings, judged, unless, word_of
from .tiers import (
    ADVISED,
    DECIDES,
    REMOTE,
    WORKMANSHIP,
    is_so,
    questions_of,
    questions_of_exception,
    tier_of,
    tier_of_open,
)

RIGHT, RIGHT_IF, NOT_RIGHT, NOT_LOOKED_AT = "RIGHT", "RIGHT IF", "NOT RIGHT", "NOT LOOKED AT"
CODES = {RIGHT: 0, NOT_RIGHT: 1, RIGHT_IF: 3, NOT_LOOKED_AT: 3}
ASKING = tuple(verb for verb in JUDGING if verb != "should")  # what is advised is not asked for
CHOICES = 8  # of a fact that are all tried, to see whether one settles what waits for it
# the tables of what a note says of what is missing here: in a few words, and at the head of it
SHORT, FIRST = "not-looked-at", "articles-not-here"
TIERS = (DECIDES, WORKMANSHIP, REMOTE, ADVISED)
MET, FAULT, TURNS = "met", "fault", "may turn"
Failing: TypeAlias = frozenset[tuple[str, str]]  # of (rule, thing)


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


class Place(NamedTuple):
    """How a requirement stands on a thing: met, a fault, a fault that a look may turn, or open in
    one of the tiers; with the questions that decide it.
    """

    sort: str
    needs: tuple[Need, ...] = ()


class Standing:
    """A job as it stands: one for everybody who says how it does.

    *body* is what the job's file says; without it nothing is taken for granted or put in, and the
    run is taken as it is. *mended* are changes told over that. What is asked about one thing is
    sorted for that thing alone. A run that is *spare* is nobody else's: what is taken for granted
    is told to it, which takes a fraction of another run, and a survey asks at each step.
    """

    def __init__(
        self,
        world: World,
        whatif: Rerun,
        found: list[Finding] | None = None,
        body: Any = None,
        mended: tuple[Change, ...] = (),
        spare: bool = False,
    ) -> None:
        self._told, self.body, self.mended = world, body, mended
        self.guesses = guesses(world) if body is not None else []
        self.built = wanted(world) if body is not None else []
        self._failing_told: frozenset[tuple[str, str]] = frozenset()
        if self.guesses or self.built:
            self._failing_told = failing_in(world)
            over = self._told_over(whatif) if spare and not mended else None
            whatif, found = over or self._anew(), None
        self._stand(whatif, found)
        if body is not None:
            self._see_what_is_built()

    def _stand(self, whatif: Rerun, found: list[Finding] | None = None) -> None:
        self.world, self.whatif, self.knowledge = whatif.world, whatif, whatif.world.k
        self._findings = found
        self._places: dict[tuple[str, str], Place] = {}

    def laid(self) -> Job:
        """The job read anew, not run yet, with what is taken for granted and what is put in: nobody
        said it, and no answer shows it as said.
        """
        job = Job(self._told.k, self.body, self._told.job.name)
        lay_on(job, [(guess.of, guess.fact, guess.value) for guess in self.guesses], self.built)
        # a way out that was taken goes before all else; what it is made on may not be put in yet
        tell(job, [change for change in self.mended if change[0] in job.things])
        job.assumed |= {(guess.of, guess.fact) for guess in self.guesses}
        job.put_in |= {(of, fact) for one in self.built for of, fact, _ in one.changes}
        return job

    def _told_over(self, whatif: Rerun) -> Rerun | None:
        """The run with what is taken for granted and put in told to it for good; None where that
        takes a part of a thing that there is not.
        """
        if any(one.is_part for one in self.built):
            return None
        changes = [(guess.of, guess.fact, guess.value) for guess in self.guesses]
        changes += [change for one in self.built for change in one.changes]
        if not all(of in self._told.things for of, _, _ in changes):
            return None
        job = self._told.job
        job.assumed |= {(guess.of, guess.fact) for guess in self.guesses}
        job.put_in |= {(of, fact) for one in self.built for of, fact, _ in one.changes}
        whatif.change(tuple(changes))
        whatif.keep()
        return whatif

    # ---- what whoever builds it puts in
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
        worse = failing_in(self.world) - self._failing_told
        suspects = [one for one in self.built if any(_touches(one, on) for _, on in worse)]
        if suspects:
            self._leave_out(suspects, worse)

    def _leave_out(self, suspects: list[Built], worse: frozenset[tuple[str, str]]) -> None:
        """Build nothing of *suspects*, where without them less fails than *worse*."""
        built = self.built
        self.built = [one for one in built if one not in suspects]
        without = self._anew()
        if worse <= failing_in(without.world):
            # it fails by what is taken for granted, whatever is put in
            self.built = built
            return
        self._stand(without)

    def _unasked(self, rule: Rule, thing: Thing, place: Place) -> Place:
        """What waits, without what whoever builds it puts in if it is required: whether it is
        required is asked.
        """
        left = tuple(need for need in place.needs if not self._is_built(need))
        if len(left) == len(place.needs):
            return place
        if not left and place.sort == DECIDES:
            whole = questions_of(self.world, rule, thing, lists=True)
            left = tuple(need for need in whole if not self._is_built(need))
        return place._replace(needs=left or place.needs)

    def _is_built(self, need: Need) -> bool:
        """Whether whoever builds it puts that in where it is required, so that nobody is asked."""
        thing, word = self.world.things[need.of], word_of(self.world, need.of, need.fact)
        return built_as(self.world, thing, word) is not None

    # ---- all of it
    @property
    def findings(self) -> list[Finding]:
        """Every requirement that applies, on everything it applies to."""
        if self._findings is None:
            self._findings = findings(self.world, self.whatif)
        return self._findings

    @cached_property
    def faults(self) -> list[Finding]:
        """What is wrong, whatever is still to be told."""
        return self._sorted(FAULT)

    @cached_property
    def turnable(self) -> list[Finding]:
        """What is wrong until somebody has looked."""
        # a survey asks at each step, and mostly nothing fails: then no finding is written for it
        return self._sorted(TURNS) if failing_in(self.world) else []

    @cached_property
    def advice(self) -> list[Finding]:
        """Advice that is not met."""
        return [finding for finding in self.findings if finding.answer == ADVICE]

    @cached_property
    def open(self) -> list[Open]:
        """What is not told, with its tier."""
        placed = [(finding, self._place_of(finding)) for finding in self.findings]
        return [Open(one, at.sort, at.needs) for one, at in placed if at.sort in TIERS]

    @cached_property
    def disputes(self) -> list[dict[str, Any]]:
        """The facts that have two values."""
        return disputes(self.world)

    @cached_property
    def bearing(self) -> set[tuple[str, str]]:
        """(kind, fact) of what says by itself whether something is put in."""
        return built_where(self.knowledge.words)

    @cached_property
    def lacks(self) -> list[Lack]:
        """What no rule here looks at."""
        return lacks_of(self.world)

    def _sorted(self, sort: str) -> list[Finding]:
        return [finding for finding in self.findings if self._place_of(finding).sort == sort]

    # ---- one requirement on one thing
    def as_told(self, rule: Rule, thing: Thing) -> str:
        """What a requirement comes to with nothing taken for granted."""
        there = self._told.things.get(thing[0].id)
        return "" if there is None else str(self._told.answer(rule, there))

    def _place_of(self, finding: Finding) -> Place:
        rule, on = self.knowledge.rules[finding.rule], self.world.things[finding.on]
        return self.place(rule, on, finding.answer, finding.unless)

    def place(
        self, rule: Rule, thing: Thing, answer: str, ways: list[dict[str, Any]] | None = None
    ) -> Place:
        """How a requirement that comes out as *answer* stands on a thing of the job; *ways*, where
        they are known, are what could turn it.
        """
        key = rule.id, thing[0].id
        if key not in self._places:
            self._places[key] = self._placed(rule, thing, answer, ways)
        return self._places[key]

    def _placed(
        self, rule: Rule, thing: Thing, answer: str, ways: list[dict[str, Any]] | None
    ) -> Place:
        if answer == FAILS:
            # what only fails by what was taken for granted is asked for
            turning = self._turning_guesses(rule, thing)
            if turning:
                return Place(DECIDES, turning)
            if ways is None:
                ways = unless(self.world, rule, thing, self.whatif)
            return Place(TURNS if any(self.may_turn(way, thing) for way in ways) else FAULT)
        if answer not in (TELL, REFERS):
            return Place(MET)
        tier, wanted = tier_of_open(self.world, rule, thing)
        if tier == DECIDES:
            wanted = self._first_asked(rule, thing, wanted)
        return self._unasked(rule, thing, Place(tier, wanted))

    def may_turn(self, way: dict[str, Any], thing: Thing) -> bool:
        """Whether it is likely that something could turn a fault: a default nobody looked behind,
        or an exception that rests on nothing remote.
        """
        return "if" in way or bool(self.likely_wanted(way, thing))

    def likely_wanted(self, way: dict[str, Any], thing: Thing) -> list[Need]:
        """What an exception that could turn a fault waits for; nothing where that is remote."""
        wanted = questions_of_exception(self.world, way["exception"], thing)
        if any(tier_of(self.world, need) == REMOTE for need in wanted):
            return []
        return wanted

    def _turning_guesses(self, rule: Rule, thing: Thing) -> tuple[Need, ...]:
        """Of what was taken for granted, what would let a fault pass were it otherwise."""
        if not self.guesses or thing[0].plane or self.as_told(rule, thing) == FAILS:
            return ()
        # what a fault does not rest on turns nothing of it
        under = facts_under(self.world, rule, thing)
        return tuple(
            Need(guess.of, guess.fact, word.ask, word.look, word.careful, word.effort)
            for guess in self.guesses
            if (guess.of, guess.fact) in under
            for word in [word_of(self.world, guess.of, guess.fact)]
            if any(self._passes(rule, thing[0].id, guess, value) for value in _others(word))
        )

    def _passes(self, rule: Rule, on: str, guess: Guess, value: Any) -> bool:
        """Whether a fault is gone with another value, and that is not a fault by itself: THHN in a
        wet pipe lets nobody keep a wire that is too small.
        """
        with self.whatif.told([(guess.of, guess.fact, value)]) as world:
            if world.answer(rule, world.things[on]) == FAILS:
                return False
            there = failing_in(world)
        return there <= self._failing

    @cached_property
    def _failing(self) -> Failing:
        """What fails with what is taken for granted and put in."""
        with self.whatif.told() as world:
            return failing_in(world)

    def exceptions_wait_for(self, thing: Thing, finding: Finding) -> list[Need]:
        """What the exceptions that could turn a fault wait for; of those that rest on what is
        remote, nothing.
        """
        ways = [way for way in finding.unless if "exception" in way]
        return [need for way in ways for need in self.likely_wanted(way, thing)]

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
    @cached_property
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
        for word in _words_guessed(world.k, kind) if things else ():
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


def _words_guessed(knowledge: Knowledge, kind: str) -> list[Word]:
    """The words of a kind that say what they are taken for: few of many, and looked for once."""
    remembered = program_of(knowledge).remembered
    if ("guessable", kind) not in remembered:
        words = knowledge.words.kinds[kind].words.values()
        remembered["guessable", kind] = [word for word in words if word.guess]
    found: list[Word] = remembered["guessable", kind]
    return found


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


def guessable(knowledge: Knowledge, word: Word) -> tuple[Any, Any] | None:
    """The least and the most that is likely of a quantity that is guessed from a table: as far
    beyond the usual as the usual goes.
    """
    source = guess_from(word.guess)
    table = knowledge.tables.get(source.table) if source else None
    if not word.unit or source is None or table is None:
        return None
    usual = [row[source.column] for row in table.rows]
    span = max(usual) - min(usual)
    return min(usual) - span, max(usual) + span


def _touches(built: Built, on: str) -> bool:
    """Whether something is put in to a thing, or to a part of it."""
    return f"{on}.".startswith(f"{built.of}.") or built.of.startswith(f"{on}.")


def with_guesses(world: World, body: Any, taken: list[Guess]) -> World:
    """The job run anew with what is taken for granted told."""
    job = Job(world.k, body, world.job.name)
    lay_on(job, [(guess.of, guess.fact, guess.value) for guess in taken], ())
    return World(world.k, job).run()


def failing_in(world: World) -> Failing:
    """(rule, thing) of what fails."""
    return Failing(
        (rule.id, thing[0].id)
        for kind, things in world.by_kind.items()
        if things
        for rule in program_of(world.k).rules_about(kind, ASKING)
        for thing in things
        if world.answer(rule, thing) == FAILS
    )


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
