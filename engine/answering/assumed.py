"""What was taken for granted because nobody said it: in words, and where the answer flips."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction
from math import ceil, floor
from typing import Any

from ..basics.units import in_unit, to_base
from ..language.rules import JUDGING, Rule
from ..language.things import Thing
from ..language.words import Word
from ..proving.as_said import all_as_said
from ..proving.graph import short, show
from ..proving.leaves import UnderFacts, facts_under
from ..proving.wording import phrase
from ..running.chain import FAILS, REFERS, TELL, World
from ..running.rerun import Rerun
from .built import Built
from .findings import Need, unless, word_of
from .sentences import FACT
from .standing import FAULT, MET, TURNS, Guess, Place, Standing, guessable
from .subjects import Judged, On
from .tiers import DECIDES, tier_of_open
from .ways import Ways

FEW_RUNS = 10  # to look for a way out of what stands beside something open
MOST_FLIPPED = 2  # places of one assumption whose turning point is looked for: ten runs of each


class Assumed(Ways):
    """Speaks of a job as it stands."""

    def __init__(self, world: World, whatif: Rerun, stand: Standing | None = None) -> None:
        super().__init__(world, whatif)
        self.stand = stand if stand is not None else Standing(world, whatif)

    def stand_of(self, rule: Rule, thing: Thing, answer: str) -> Place:
        """How a requirement that comes out as *answer* stands on a thing."""
        if not self.whatif.telling:
            return self.stand.place(rule, thing, answer)
        # what is told for a while has no standing of its own
        if answer in (TELL, REFERS):
            return Place(*tier_of_open(self.world, rule, thing))
        if answer != FAILS:
            return Place(MET)
        ways = unless(self.world, rule, thing, self.whatif)
        turns = any(self.stand.may_turn(way, thing) for way in ways)
        return Place(TURNS if turns else FAULT)

    def wanted(self, rule: Rule, thing: Thing) -> list[Need]:
        """What keeps a rule from an answer: where that decides, what is to be asked of it first."""
        place = self.stand_of(rule, thing, TELL)
        return list(place.needs) if place.needs else super().wanted(rule, thing)

    # ---- how far a way out is looked for
    def runs_for(self, rule: Rule, thing: Thing) -> int:
        """In how many runs a way out is looked for: where something else is open that is compared
        by the same facts of the same thing, whatever is changed is not known to be enough until
        that is told. What closes it is found soon, or not at all.
        """
        if thing[0].plane:
            return super().runs_for(rule, thing)
        mine = self.told_under(rule.id, thing[0].id)
        for other in self.rules_about(thing[0].kind, JUDGING):
            if self.world.answer(other, thing) != TELL:
                continue
            if mine & self.told_under(other.id, thing[0].id):
                if self.stand_of(other, thing, self.verdict(other, thing)).sort == DECIDES:
                    return FEW_RUNS
        return super().runs_for(rule, thing)

    def told_under(self, rule: str, on: str) -> set[tuple[str, str]]:
        """What was told of a thing for the numbers that a requirement compares of it."""
        return {key for key in self.compared(self, rule, on) if key[0] == on}

    def compared(self, speaker: Ways, rule: str, name: str) -> set[tuple[str, str]]:
        """(thing, fact) of what a requirement compares of its own thing, else of others, with what
        was told for it.
        """
        key = "compared", rule, name
        if self.whatif.changed:
            return self._comparing(speaker, rule, name)
        if key not in self.whatif.remembered:
            self.whatif.remembered[key] = self._comparing(speaker, rule, name)
        found: set[tuple[str, str]] = self.whatif.remembered[key]
        return found

    def _comparing(self, speaker: Ways, rule: str, name: str) -> set[tuple[str, str]]:
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

    # ---- what an answer rests on that nobody said
    def assumed_under(self, found: Iterable[Judged]) -> list[tuple[Thing, Word]]:
        """What was taken for granted of which these verdicts make use, of the words that have
        words for it: what a rule assumes in every such case, and a guess, where without it they
        would be others.
        """
        used: dict[tuple[str, str], None] = {}
        guessed = {(guess.of, guess.fact) for guess in self.stand.guesses}
        for rule, thing, verdict in found:
            if thing[0].plane:
                continue
            under = facts_under(self.world, rule, thing)
            if under & guessed and self.stand.as_told(rule, thing) == verdict:
                under -= guessed
            used |= dict.fromkeys(sorted(under))
        out = []
        for of, fact in used:
            thing, word = self.world.things[of], word_of(self.world, of, fact)
            if word.assumed_as and self.is_assumed(thing, word):
                out.append((thing, word))
        return out

    def is_assumed(self, thing: Thing, word: Word) -> bool:
        """Whether a fact was taken for granted: guessed, or by a default nobody looked behind."""
        if self.is_guess(thing, word):
            return True
        if (word.kind, word.name) in self.stand.bearing:
            # what only says whether something is put in, and nothing is
            if not any(built.of == thing[0].id for built in self.stand.built):
                return False
        if thing[word.slot] is None or word.name in thing[0].looked or word.name in thing[0].told:
            return False
        settled = self.world.settle(thing[0].kind, word.name, thing)
        return bool(settled.origin == "assumed")

    def assumptions(
        self, assumed: Iterable[tuple[Thing, Word]], failing: Iterable[On] = ()
    ) -> list[str]:
        """What was taken for granted in words, each with where the answer flips; *failing* is what
        fails by it.
        """
        fails = list(failing)
        said: dict[str, list[Thing]] = {}
        words: dict[str, Word] = {}
        for thing, word in assumed:
            text = self.assumption(thing, word)
            said.setdefault(text, []).append(thing)
            words[text] = word
        return [text + self.flips(words[text], things, fails) for text, things in said.items()]

    def is_guess(self, thing: Thing, word: Word) -> bool:
        """Whether only a note took a fact for granted."""
        return Guess(thing[0].id, word.name, thing[word.slot]) in self.stand.guesses

    def bearing(self, assumed: Iterable[tuple[Thing, Word]]) -> list[tuple[Thing, Word]]:
        """Of what rules assume in every such case, what could turn something: of a quantity, where
        another that is likely would.
        """
        return [
            (thing, word) for thing, word in assumed if not word.unit or self.flips(word, [thing])
        ]

    def assumed_in_the_job(self, found: Iterable[Judged]) -> list[str]:
        """Of what the job's own file names as assumed, what these verdicts rest on."""
        there = self.world.job.assumed - {(guess.of, guess.fact) for guess in self.stand.guesses}
        used: set[tuple[str, str]] = set()
        for rule, thing, _ in found if there else ():
            if not thing[0].plane:
                used |= facts_under(self.world, rule, thing) & there
        said = dict.fromkeys(self.taken_fact(*one) for one in sorted(used))
        return [f"{one} (your file assumes it)" for one in said]

    def put_in_under(self, found: Iterable[Judged]) -> list[str]:
        """What these verdicts rest on that nobody said is there, and is put in because it is
        required.
        """
        there = self.world.job.put_in
        used: set[tuple[str, str]] = set()
        for rule, thing, _ in found if there else ():
            used |= facts_under(self.world, rule, thing) & there
        return [
            self.said_of_built(built)
            for built in self.stand.built
            if not used.isdisjoint((of, fact) for of, fact, _ in built.changes)
        ]

    def said_of_built(self, built: Built) -> str:
        """What is put in, in words: of a part, what is so of it."""
        if not built.is_part:
            return self.taken_fact(built.of, built.fact)
        said = [
            self.taken_fact(of, fact) for of, fact, value in built.changes if value is not False
        ]
        return f"{built.fact} ({', '.join(said)})"

    def taken_fact(self, of: str, fact: str) -> str:
        """A fact that nobody said and the job's file tells all the same, in words."""
        thing = self.world.things[of]
        word = word_of(self.world, of, fact)
        shown = show(thing[word.slot], word.unit)
        if word.said:
            return phrase(word.said, shown)
        return fact if thing[word.slot] is True else f"{fact} {shown}"

    def as_said(self) -> list[str]:
        """What was told outright where an inspector measures, thing by thing."""
        said: dict[str, list[str]] = {}
        for thing, word in all_as_said(self.world):
            said.setdefault(short(thing), []).append(self.taken_fact(thing[0].id, word.name))
        return [f"{name}: {', '.join(facts)}" for name, facts in said.items()]

    def assumption(self, thing: Thing, word: Word) -> str:
        """A template of `assumed as:` with the value, in a unit where it names one, and other facts
        of the thing.
        """

        def one(found: Any) -> str:
            name = found[1]
            if name == "value":
                return show(thing[word.slot], word.unit)
            if name in self.knowledge.words.kinds[thing[0].kind].words:
                return self.value_of(thing, name) or name
            if name == "circuit":
                return short(self._circuit(thing))
            return show(thing[word.slot], name, brief=True)

        return FACT.sub(one, word.assumed_as)

    def flips(self, word: Word, things: list[Thing], failing: Iterable[On] = ()) -> str:
        """Where a quantity that was taken for granted makes something fail that does not, or lets
        all of what is *failing* pass.
        """
        of = [thing[0].id for thing in things]
        if not of or not word.unit or len(of) > MOST_FLIPPED:
            return ""

        def good(world: World) -> bool:
            told = {(thing, fact): value for thing, fact, value in self.whatif.telling}
            fails = any(world.answer(rule, thing) == FAILS for rule, thing in failing)
            return not fails and not self.mending.trials.outcome(told).breaks

        at = self.turning_point(of, word.name, good)
        if at is None:
            return ""
        last, unit, small_is_good = at
        return f" (right {'up to' if small_is_good else 'from'} {last} {unit})"

    def turning_point(
        self, of: list[str], fact: str, good: Callable[[World], bool | None]
    ) -> tuple[int, str, bool] | None:
        """Between which two whole numbers of its unit a quantity of these things turns an answer:
        the last that is good, its unit, and whether what is less is good. None where it turns none
        of what is usual.
        """
        word = word_of(self.world, of[0], fact)
        if word.usual is None or word.usual.table or not word.unit:
            return None
        unit = str(word.said_in)

        def at(number: int) -> bool | None:
            value = to_base(Fraction(number), unit)
            with self.whatif.told([(thing, fact, value) for thing in of]) as world:
                return good(world)

        likely = guessable(self.knowledge, word) or (word.usual.least, word.usual.most)
        low = ceil(in_unit(max(word.usual.least, likely[0]), unit))
        high = floor(in_unit(min(word.usual.most, likely[1]), unit))
        least, most = at(low) is True, at(high) is True
        if least == most:
            return None
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if (at(middle) is True) == least else (low, middle)
        # beside the last that is good it must be bad, and not only off some table
        if at(high if least else low) is not False:
            return None
        return (low if least else high), unit, least


def _told_under(world: World, thing: Thing, fact: str) -> set[tuple[str, str]]:
    """What was told of a thing for one of its facts to be worked out from."""
    told = thing[0].told
    under = UnderFacts(world).more(thing, fact)
    return {key for key in under if key[0] == thing[0].id and key[1] in told}
