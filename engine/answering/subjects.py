"""What a person means by a few words: a thing of the job, a fact of it, and everything that is
judged about it.
"""

from __future__ import annotations

from ..basics.errors import suggest
from ..language import expressions as ex
from ..language.rules import JUDGING, Rule
from ..language.things import members
from ..proving.graph import short
from ..running.chain import ADVICE, FAILS, OFF, PASSES, REFERS, SET_ASIDE, TELL
from .answers import Unclear
from .findings import whichever
from .sentences import Sentences

SEVERITY = {FAILS: 0, REFERS: 1, TELL: 1, ADVICE: 2, PASSES: 3, SET_ASIDE: 3}


class Subjects(Sentences):
    """Finds what is asked about."""

    def thing(self, words: list[str]) -> tuple[list, list[str]]:
        """The thing that *words* name, and the words left over."""
        for n in range(len(words), 0, -1):
            said = " ".join(words[:n]).replace(".", " ").replace("'s", "").lower()
            hit = self._things(said)
            if len(hit) == 1 or (hit and n == len(words)):
                return hit[0], words[n:]
            if hit:
                best = [
                    x
                    for x in hit
                    if " ".join(x[0].id.lower().split(".")[1:]) == said or x[0].name.lower() == said
                ]
                return (best or hit)[0], words[n:]
        names = [short(x) for xs in self.w.by_kind.values() for x in xs if x[0].id != "job"]
        raise Unclear(
            f'nothing in this job is called "{" ".join(words)}"\n   '
            f" {suggest(' '.join(words), names, 40)}"
        )

    def _things(self, said: str) -> list[list]:
        out = []
        for xs in self.w.by_kind.values():
            for x in xs:
                full = x[0].id.lower().replace(".", " ")
                tail = " ".join(full.split(" ")[1:]) if " " in full else full
                names = {full, tail, short(x).lower(), x[0].name.lower()} | {
                    tail.replace(x[0].kind.lower(), a.lower())
                    for a in self.k.words.kinds[x[0].kind].also
                }
                if x[0].id.startswith("circuits.") and len(x[0].id.split(".")) > 2:
                    part = x[0].id.split(".", 2)[2].replace(".", " ").lower()
                    circuit = x[0].id.split(".")[1].lower()
                    for a in self.k.words.kinds[x[0].kind].also + (
                        self.k.words.kinds[x[0].kind].name,
                    ):
                        names.add(f"{circuit} {a.lower()}")
                    names.add(f"{circuit} {part.rstrip('s')}")
                if said in names:
                    out.append(x)
        return sorted(out, key=lambda x: (len(x[0].id), x[0].id))

    def fact_of(self, x: list, what: str) -> tuple[str | None, list]:
        """A fact of *x*, or of one of its own parts, under any of its names."""
        return next(iter(self.facts_of(x, what)), (None, x))

    def facts_of(self, x: list, what: str) -> list[tuple[str, list]]:
        """Every fact that *what* may mean: the name itself before other names for it, the thing
        before its parts.
        """
        low, out = what.lower(), []
        for alias in (False, True):
            for y in self.with_parts(x):
                kind = self.k.words.kinds[y[0].kind]
                names = (
                    {n.lower(): t for n, t in kind.aliases.items() if t not in kind.short}
                    if alias
                    else {n.lower(): n for n in kind.words}
                )
                if low in names and (names[low], y) not in out:
                    out.append((names[low], y))
        return out

    def with_parts(self, x: list) -> list[list]:
        """*x* and its own parts; of a list of parts the one that stands in it alone."""
        parts = [
            (w, x[w.slot])
            for w in self.k.words.kinds[x[0].kind].words.values()
            if w.part and isinstance(x[w.slot], list)
        ]
        return [
            x,
            *(v for w, v in parts if w.part in ("one", "optional")),
            *(
                members(v)[0]
                for w, v in parts
                if w.part in ("many", "open") and len(members(v)) == 1
            ),
        ]

    def judged(self, x: list, verbs: tuple = JUDGING) -> list[tuple[Rule, list, str]]:
        """Everything judged about *x* and its parts, and by their numbers about others, the worst
        first.
        """
        out = []
        mine = {x[0].id, *(y[0].id for y in self.within(x))}
        for kind, ys in self.w.by_kind.items():
            rules = [r for r in self.k.rules.values() if r.about == kind and r.verb in verbs]
            for y in ys:
                about = y[0].id in mine or self._hangs_on(y, x)
                for r in rules:
                    if about or r.verb in JUDGING and self.operand(r, y, mine):
                        if (a := self.w.answer(r, y)) != OFF:
                            out.append(
                                (
                                    r,
                                    y,
                                    (
                                        PASSES
                                        if a == TELL
                                        and r.verb in JUDGING
                                        and whichever(self.w, r, y, self.whatif)
                                        else a
                                    ),
                                )
                            )
        return sorted(
            out, key=lambda t: (SEVERITY.get(t[2], 4), self.tightness(t[0], t[1]), t[0].id)
        )

    def within(self, x: list) -> list[list]:
        """What is part of *x*, and of its parts."""
        return [
            y for ys in self.w.by_kind.values() for y in ys if y[0].id.startswith(x[0].id + ".")
        ]

    def operand(self, r: Rule, y: list, mine: set[str], fact: str = "") -> bool:
        """Whether the test of *r* on *y* reads a fact (this one, if it is named) of a thing among
        *mine*.

        A requirement about a wire may decide about its breaker: that of which a number is compared
        is judged.
        """
        return any(
            p.names
            and not p.member
            and fact in ("", p.names[-1])
            and isinstance(o := p.holder(y, None), list)
            and o[0].id in mine
            for p in self.read_by(r)
        )

    def read_by(self, r: Rule) -> list[ex.Path]:
        """The facts that the test of *r* reads; the test is walked once."""
        if r.id not in self._read:
            self._read[r.id] = [p for p in ex.walk(r.test) if isinstance(p, ex.Path)]
        return self._read[r.id]

    def _hangs_on(self, y: list, x: list) -> bool:
        link = self.k.words.kinds[y[0].kind].words.get(x[0].kind)
        return (
            link is not None
            and not link.part
            and y[0].kind != "job"
            and x[0].id != "job"
            and y[link.slot] is x
        )
