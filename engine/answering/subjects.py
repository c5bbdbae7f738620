"""What a person means by a few words: a thing of the job, a fact of it, and everything that is
judged about it.
"""

from __future__ import annotations

from typing import TypeAlias

from ..basics.errors import suggest
from ..language import expressions as ex
from ..language.rules import JUDGING, Rule
from ..language.things import Thing, members
from ..language.words import Word
from ..proving.graph import short, supporting
from ..running.chain import ADVICE, FAILS, OFF, PASSES, REFERS, SET_ASIDE, TELL
from ..running.program import program_of
from .answers import Unclear
from .findings import whichever
from .sentences import Sentences

MOST_NAMES = 6  # of things that are called alike
SEVERITY = {FAILS: 0, REFERS: 1, TELL: 1, ADVICE: 2, PASSES: 3, SET_ASIDE: 3}


On: TypeAlias = tuple[Rule, Thing]
Judged: TypeAlias = tuple[Rule, Thing, str]  # with its verdict


def below_list(name: str, between: str) -> str:
    """The name of a thing without the list it stands in.

    >>> below_list("circuits.kiln.breaker", ".")
    'kiln breaker'
    """
    return " ".join(name.split(between)[1:])


def which_of(names: list[str]) -> str:
    """What to ask where several things are called so."""
    shown = ", ".join(f'"{name}"' for name in names[:MOST_NAMES])
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return f"which is it: {shown}{more}?"


class Subjects(Sentences):
    """Finds what is asked about."""

    def thing(self, words: list[str]) -> tuple[Thing, list[str]]:
        """The thing that *words* name, and the words left over.

        Raises:
            Unclear: nothing is called so.
        """
        for count in range(len(words), 0, -1):
            said = " ".join(words[:count]).replace(".", " ").replace("'s", "").lower()
            hit = self._things(said)
            if len(hit) > 1 and count == len(words):
                self._one_of_these(said, hit)
            if len(hit) == 1 or (hit and count == len(words)):
                return hit[0], words[count:]
            if hit:
                best = [
                    thing
                    for thing in hit
                    if said in (below_list(thing[0].id.lower(), "."), thing[0].name.lower())
                ]
                return (best or hit)[0], words[count:]
        said = " ".join(words)
        raise Unclear(f'nothing in this job is called "{said}"\n    {self._known_here(said)}')

    def _known_here(self, said: str) -> str:
        """The names of things that are nearest to what somebody said."""
        names = [
            short(thing)
            for things in self.world.by_kind.values()
            for thing in things
            if thing[0].id != "job"
        ]
        return suggest(said, names, 40)

    def _one_of_these(self, said: str, hit: list[Thing]) -> None:
        """See that one of these is meant rather than another: none speaks for all the others.

        Raises:
            Unclear: they are parts of several circuits.
        """
        alike = [thing for thing in hit if thing[0].kind == hit[0][0].kind]
        named = [thing for thing in alike if said in (short(thing).lower(), thing[0].id.lower())]
        if not named and len({self._circuit(thing)[0].id for thing in alike}) > 1:
            raise Unclear(which_of([short(thing) for thing in alike]))

    def of_some_circuit(self, words: list[str]) -> tuple[Thing, list[str]]:
        """What *words* may mean of a circuit that nobody named: a part of it, or (thing, fact).

        Raises:
            Unclear: no circuit has such a thing, or several have.
        """
        said = " ".join(words)
        kind = self._kind_called(said)
        alike = self.world.by_kind[kind] if kind else []
        meant = self._meant(said, bool(alike))
        if len(meant) > 1 or not meant and len(alike) > 1:
            names = [f"{short(self._circuit(holder))} {said}" for _, holder in meant]
            raise Unclear(which_of(names or [short(thing) for thing in alike]))
        if meant:
            return self._part_or_fact(*meant[0])
        if alike:
            return alike[0], []
        if kind:
            raise Unclear(f"nothing is said here of a {kind}\n    {self._known_here(said)}")
        return self.thing(words)

    def _meant(self, said: str, known: bool) -> list[tuple[str, Thing]]:
        """(fact, thing) of what is called so in each outermost thing; lists of parts only where
        nothing else is *known* to be called so.
        """
        every = [thing for things in self.world.by_kind.values() for thing in things]
        outermost = [x for x in every if x[0].whole is not None and x[0].whole[0].id == "job"]
        meant = [own for thing in outermost for own in self._own_facts(thing, said)[:1]]
        # one part that is called so goes before a fact of a part, and that before a list of parts
        single = [own for own in meant if self._word(*own).type[0] != "many"]
        whole = [own for own in single if self._word(*own).part]
        return whole or single or ([] if known else meant)

    def _part_or_fact(self, fact: str, holder: Thing) -> tuple[Thing, list[str]]:
        """A part itself; of anything else what it is a fact of, and its name."""
        word = self._word(fact, holder)
        cell = holder[word.slot]
        is_part = word.part and isinstance(cell, list) and word.type[0] == "ref"
        return (cell, []) if is_part else (holder, [fact])

    def _own_facts(self, thing: Thing, said: str) -> list[tuple[str, Thing]]:
        """The facts that are called so, of a thing and its parts; no links to what is around."""
        found = self.facts_of(thing, said)
        return [own for own in found if self._word(*own).part or self._word(*own).type[0] != "ref"]

    def _word(self, fact: str, holder: Thing) -> Word:
        return self.knowledge.words.kinds[holder[0].kind].words[fact]

    def _kind_called(self, said: str) -> str:
        """The kind of thing that people call so; nothing where there is none."""
        for kind in self.knowledge.words.kinds.values():
            if said.lower() in (kind.name.lower(), *(other.lower() for other in kind.also)):
                return kind.name
        return ""

    def _things(self, said: str) -> list[Thing]:
        """The things that are called so, those with the shortest name first."""
        out = [
            thing
            for things in self.world.by_kind.values()
            for thing in things
            if said in self.names_of(thing)
        ]
        return sorted(out, key=lambda thing: (len(thing[0].id), thing[0].id))

    def names_of(self, thing: Thing) -> set[str]:
        """What a thing may be called: by where it stands, by its name, by other names of its
        kind.
        """
        meta, kind = thing[0], self.knowledge.words.kinds[thing[0].kind]
        full = meta.id.lower().replace(".", " ")
        tail = below_list(full, " ") if " " in full else full
        names = {full, tail, short(thing).lower(), meta.name.lower()}
        others: tuple[str, ...] = kind.also
        names |= {tail.replace(meta.kind.lower(), other.lower()) for other in others}
        where = meta.id.split(".", 2)
        if where[0] == "circuits" and len(where) > 2:
            circuit, part = where[1].lower(), where[2].replace(".", " ").lower()
            names |= {f"{circuit} {other.lower()}" for other in (*others, kind.name)}
            names.add(f"{circuit} {part.rstrip('s')}")
        return names

    def fact_of(self, thing: Thing, what: str) -> tuple[str | None, Thing]:
        """A fact of *thing*, or of one of its own parts, under any of its names."""
        return next(iter(self.facts_of(thing, what)), (None, thing))

    def facts_of(self, thing: Thing, what: str) -> list[tuple[str, Thing]]:
        """Every fact that *what* may mean: the name itself before other names for it, the thing
        before its parts.
        """
        low = what.lower()
        out: list[tuple[str, Thing]] = []
        for alias in (False, True):
            for part in self.with_parts(thing):
                kind = self.knowledge.words.kinds[part[0].kind]
                if alias:
                    names = {n.lower(): t for n, t in kind.aliases.items() if t in kind.words}
                else:
                    names = {n.lower(): n for n in kind.words}
                if low in names and (names[low], part) not in out:
                    out.append((names[low], part))
        return out

    def with_parts(self, thing: Thing) -> list[Thing]:
        """*thing* and its own parts; of a list of parts the one that stands in it alone."""
        parts = [
            (word, thing[word.slot])
            for word in self.knowledge.words.kinds[thing[0].kind].words.values()
            if word.part and isinstance(thing[word.slot], list)
        ]
        single = [cell for word, cell in parts if word.part in ("one", "optional")]
        lists = [members(cell) for word, cell in parts if word.part in ("many", "open")]
        return [thing, *single, *(listed[0] for listed in lists if len(listed) == 1)]

    def judged(self, thing: Thing, verbs: tuple[str, ...] = JUDGING) -> list[Judged]:
        """Everything judged about *thing* and its parts, and by their numbers about others, the
        worst first.
        """
        mine = {thing[0].id, *(part[0].id for part in self.within(thing))}
        out = []
        for kind, parts in self.world.by_kind.items():
            rules = self.rules_about(kind, verbs) if parts else []
            for part in parts:
                about = part[0].id in mine or self._hangs_on(part, thing)
                for rule in rules:
                    if about or rule.verb in JUDGING and self.operand(rule, part, mine):
                        verdict = self.verdict(rule, part)
                        if verdict != OFF:
                            out.append((rule, part, verdict))
        return sorted(
            out, key=lambda on: (SEVERITY.get(on[2], 4), self.tightness(on[0], on[1]), on[0].id)
        )

    def verdict(self, rule: Rule, part: Thing) -> str:
        """What a rule says of a thing; where it passes whatever is still to be told, that it
        passes.
        """
        verdict: str = self.world.answer(rule, part)
        if verdict == TELL and rule.verb in JUDGING:
            if whichever(self.world, rule, part, self.whatif):
                return PASSES
        return verdict

    def within(self, thing: Thing) -> list[Thing]:
        """What is part of *thing*, and of its parts."""
        inside = f"{thing[0].id}."
        return [
            part
            for parts in self.world.by_kind.values()
            for part in parts
            if part[0].id.startswith(inside)
        ]

    def operand(self, rule: Rule, part: Thing, mine: set[str], fact: str = "") -> bool:
        """Whether the test of *rule* on *part* reads a fact (this one, if it is named) of a thing
        among *mine*.

        A requirement about a wire may decide about its breaker: that of which a number is compared
        is judged.
        """
        for path in self.read_by(rule):
            if path.names and not path.member and fact in ("", path.names[-1]):
                holder = path.holder(part, None)
                if isinstance(holder, list) and holder[0].id in mine:
                    return True
        return False

    def read_by(self, rule: Rule) -> list[ex.Path]:
        """The facts that the test of *rule* reads; the test is walked once."""
        remembered = program_of(self.knowledge).remembered
        read: list[ex.Path] | None = remembered.get(("read by", rule))
        if read is None:
            read = list(ex.paths(rule.test)) if rule.test is not None else []
            remembered["read by", rule] = read
        return read

    def deciding(self, thing: Thing, fact: str) -> tuple[bool, list[Judged]]:
        """What was judged nearest to a told fact, the worst first: does a test rest on it (or
        conditions alone), and (rule, thing, answer) of each.
        """
        node, circuit = f"fact:{thing[0].id}/{fact}", self._circuit(thing)
        facts, seen = {(thing[0].kind, fact)}, set()
        advised: list[Judged] | None = None
        while facts:
            seen |= facts
            rules = self.readers_of(facts)
            found = self.resting_on(node, rules, circuit)
            if advised is None and found and all(on[0].verb == "should" for on in found):
                advised, found = found, []  # what the law asks further on goes before advice
            names = {name for _, name in facts}
            tests = [judged for judged in found if reads_any(judged[0].test, names)]
            if found:
                nearest = tests or found
                nearest.sort(
                    key=lambda on: (SEVERITY[on[2]], self.tightness(on[0], on[1]), on[0].id)
                )
                return bool(tests), nearest
            facts = {(rule.about, fill.word.name) for rule in rules for fill in rule.fills} - seen
        return bool(advised), advised or []

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
                under = supporting(self.world, rule, part) if verdict != OFF else ()
                if any(one.id == node for one in under):
                    out.append((rule, part, verdict))
        return out

    def _hangs_on(self, part: Thing, thing: Thing) -> bool:
        """Whether *part* has a link to *thing* without being part of it, as a segment of conduit
        has to what runs in it.
        """
        link = self.knowledge.words.kinds[part[0].kind].words.get(thing[0].kind)
        return (
            link is not None
            and not link.part
            and part[0].kind != "job"
            and thing[0].id != "job"
            and part[link.slot] is thing
        )


def reads_any(test: ex.Expr | None, names: set[str]) -> bool:
    """Whether a test reads a fact that is called so."""
    return test is not None and any(
        isinstance(part, ex.Path) and bool(part.names) and part.names[-1] in names
        for part in ex.walk(test)
    )
