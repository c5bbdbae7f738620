"""Short answers: YES / NO / NOT YET / CAN'T TELL first, then needed, have, check, what won't help,
what passes, why.

Every number in an answer is a node of the derivation graph.
"""

from __future__ import annotations

from ..basics.sentinels import NOTHING
from ..language import expressions as ex
from ..language.rules import JUDGING, Rule
from ..proving.graph import Explainer, plain, say, short, show, support, unit_shown
from ..running.chain import ADVICE, FAILS, LACKS, OFF, PASSES, REFERS, SET_ASIDE, TELL
from .amended import through, told, withdrawn_from
from .answers import Answer, Row
from .findings import (
    Need,
    needs,
    passes_under,
    settling,
    turning,
    unless,
    values_of,
    whichever,
    word_of,
)
from .sentences import OPPOSITE, begun
from .ways import Ways
from .working import Working


def cite_short(e) -> str:
    """The section of an ordinance, to print at the right edge."""
    return str(e.d.get("cite", "")) or e.cite


def cite(source: str) -> str:
    """A section to print at the right edge; a habit of the trade has none."""
    return source if source and not source[0].islower() else ""


class Explain(Ways):
    """Answers for one rule on one thing, or for a thing as a whole."""

    # ---- a subject as a whole
    def subject(self, x: list) -> Answer:
        """Is it right, and what decides it?"""
        found, refused = (
            self.judged(x),
            [(r, y) for r, y, a in self.judged(x, ("refers",)) if a == REFERS],
        )
        if refused and (not found or found[0][2] not in (FAILS, TELL)):
            return self.refused(refused)
        if not found:
            ns = [
                f
                for f in self.k.words.kinds[x[0].kind].words
                if self.k.words.kinds[x[0].kind].words[f].type[0] not in ("ref", "many")
            ]
            lacks = [
                Row("Not checked" if n == 0 else "", str(r.d["lacks"]), self.source(r, y))
                for n, (r, y, _) in enumerate(self.judged(x, ("lacks",))[:3])
            ]
            return Answer(
                "NOTHING IS JUDGED",
                f"about {short(x)}.",
                [*lacks, Row("Ask", "why " + short(x) + " " + (ns[0] if ns else ""))],
            )
        r, y, a = found[0]
        undecided = [(r, y) for r, y, a in found if a == TELL]
        if a == TELL and len(undecided) > 1:
            passes = sum(a == PASSES for *_, a in found)
            answer = Answer(
                "CAN'T TELL.",
                f"{len(undecided)} requirements on {short(x)} wait for what nobody told"
                + (f"; {passes} {'passes' if passes == 1 else 'pass'}." if passes else "."),
                root=f"rule:{r.id}@{y[0].id}",
                rule=r.id,
                on=y[0].id,
            )
            answer.plain = ["Nobody can say yet whether this is right."]
            self.settling(answer, undecided)
            self.taken(answer, r, y, Working(self.w))
            self.refusals(answer, refused)
            return answer
        if a in (FAILS, TELL):
            # what nothing could turn comes first
            r, y = next(
                (
                    (t, z)
                    for t, z, b in found
                    if b == FAILS and not unless(self.w, t, z, self.whatif)
                ),
                (r, y),
            )
            answer = self.finding(r, y)
            self.refusals(answer, refused)
            fails = [t.id for t, z, b in found if b == FAILS and (t, z) != (r, y)]
            if fails:
                answer.rows.append(
                    Row(
                        "Also",
                        "; ".join(f"{i} fails" for i in fails[:3])
                        + (f" and {len(fails) - 3} more" if len(fails) > 3 else ""),
                        rank=6,
                    )
                )
            self.settling(answer, undecided)
            return answer
        return self.all_pass(x, found)

    def refused(self, refused: list) -> Answer:
        """Nothing fails, and a rule refuses to conclude: what has to be done first."""
        (r, x), *others = refused
        answer = Answer("CAN'T TELL.", r.said, root=f"rule:{r.id}@{x[0].id}", rule=r.id, on=x[0].id)
        self.refusals(answer, [(r, x), *others])
        answer.rows += [Row("Why", str(r.d.get("because", "")), rank=2)]
        self.taken(answer, r, x, Working(self.w))
        answer.plain = [str(r.d["refers"])]
        return answer

    def refusals(self, answer: Answer, refused: list) -> None:
        """What the rules that refuse to conclude want done."""
        for n, (r, y) in enumerate(refused[:2]):
            answer.rows.append(
                Row("Refused" if n == 0 else "", str(r.d["refers"]), self.source(r, y), rank=1)
            )
            for label, text in r.d.get("answers", {}).get("rows", {}).items():
                if (filled := self.fill(str(text), r, y)) is not None:
                    answer.rows.append(Row(str(label), filled, rank=1))

    def settling(self, answer: Answer, undecided: list) -> None:
        """Of much that cannot be told: the one or two questions that would settle the most of
        it.
        """
        said = " ".join(row.text for row in answer.rows)
        for q in settling(self.w, self.whatif, undecided):
            n = q.need
            count = str(q.most) if q.least == q.most else f"{q.least} to {q.most}"
            ask = (
                ""
                if n.ask in said
                else f" {n.ask} Look: {n.look}." + (f" {n.careful}" if n.careful else "")
            )
            answer.rows.append(
                Row(
                    "Tell",
                    f"{n.fact} of {short(self.w.things[n.of])}: settles {count} of the"
                    f" {len(undecided)} that cannot be told.{ask}",
                    rank=3 if answer.word == "CAN'T TELL." else 7,
                )
            )
            answer.plain += (
                [n.ask] if answer.word == "CAN'T TELL." and n.ask not in answer.plain else []
            )

    def all_pass(self, x: list, found: list) -> Answer:
        """YES: the checks it passes, the tightest first, and the rules that are set aside."""
        good = [
            t
            for t in found
            if t[0].d.get("answers", {}).get("passes")
            and t[2] == PASSES
            and self.tightness(*t[:2]) < 9
        ]
        # of a circuit people ask for its wire and its breaker
        head = next(
            (t for t in good if t[0].about in ("breaker", "conductors")), good[0] if good else None
        )
        if head is None and (
            lifted := next(
                (
                    (r, y)
                    for r, y, a in found
                    if r.d.get("answers", {}).get("passes") and a == SET_ASIDE
                ),
                None,
            )
        ):
            # nothing speaks for the thing but what an exception lifts: its numbers are the answer
            return self.finding(*lifted)
        head = head or next(((r, y, a) for r, y, a in found if a == PASSES), found[0])
        if head[2] != PASSES:  # advice that is not met is no yes; what is lifted speaks for itself
            return self.finding(*head[:2])
        advised = [r.said for r, _, a in found if a == ADVICE]
        answer = Answer(
            "YES.",
            self.sentence(head[0], head[1], PASSES) + (" Advice is not met." if advised else ""),
            root=f"rule:{head[0].id}@{head[1][0].id}",
            rule=head[0].id,
            on=head[1][0].id,
        )
        shown, assumed = 0, []
        work = Working(self.w)
        beside = self.beside_things(*head[:2])
        for r, y, a in found + [(r, y, self.w.answer(r, y)) for r, y in beside]:
            if (
                a == PASSES
                and r.verb != "should"
                and isinstance(r.test, ex.Cmp)
                and shown < 4
                and (self.tightness(r, y) < 9 or (r, y) in beside)
            ):
                # of several it must say which
                of = (
                    f"{r.test.a.names[-1]} "
                    if isinstance(r.test.a, ex.Path) and r.test.a.names
                    else ""
                )
                answer.rows.append(
                    Row("Check", of + self.check(r, y), self.source(r, y), rank=1 + (shown > 1))
                )
                shown += 1
                assumed += self.sizes_assumed(r, y)
            elif a == ADVICE:
                check = f" {self.check(r, y)}" if isinstance(r.test, ex.Cmp) else ""
                answer.rows.append(Row("Advice", f"{r.said}{check}", self.source(r, y), rank=0))
        things = [x] + [y for _, y in beside]
        aside = [
            (r, y)
            for y in things
            for r in self.k.rules.values()
            if r.about == y[0].kind and r.verb in JUDGING and self.w.answer(r, y) == SET_ASIDE
        ]
        lifted: dict[str, tuple] = {}  # what each exception lifts, by the exception
        for r, y in aside:
            e = self.w.lifting(r, y)
            if e is not head[0]:
                lifted.setdefault(e.id, (e, y, []))[2].append(r)
        for n, (e, y, rules) in enumerate(list(lifted.values())[:3]):
            named = [
                self.in_short(r, y).rstrip(".")
                for r in rules
                if r.d.get("answers", {}).get("short")
            ] or [rules[0].said.rstrip(".")]
            answer.rows.append(
                Row(
                    "Set aside" if n == 0 else "",
                    f"{'; '.join(named)}. {self.in_short(e, y)}",
                    self.source(e, y),
                    rank=3,
                )
            )
        answer.rows.append(Row("Why", str(head[0].d.get("because", "")), rank=3))
        # a circuit is more than what is looked at here
        if x[0].kind == "circuit" and (
            lacks := [r for r, _, a in self.judged(x, ("lacks",)) if a == LACKS and r.when]
        ):
            answer.rows.append(
                Row(
                    "Not checked",
                    "; ".join(dict.fromkeys(str(r.d["lacks"]) for r in lacks[:2])) + ".",
                    rank=5,
                )
            )
        self.taken(answer, head[0], head[1], work, assumed)
        answer.rows = [row for row in answer.rows if row.text]
        answer.plain = self.plain_lines(head[0], head[1], PASSES)
        answer.plain += [f"It is allowed, and we advise better: {said}" for said in advised[:1]]
        return answer

    # ---- one finding
    def finding(self, r: Rule, x: list) -> Answer:
        """Answer for one judging rule on one thing (or on a row that is tried)."""
        a = self.w.answer(r, x)
        flips = unless(self.w, r, x, self.whatif) if a == FAILS else []
        word = {
            PASSES: "YES.",
            SET_ASIDE: "YES.",
            FAILS: "NOT YET." if flips else "NO.",
            TELL: "CAN'T TELL.",
            ADVICE: "ADVICE.",
        }[a]
        unread = [f for f in flips if "assumed" in f]
        either = whichever(self.w, r, x, self.whatif) if a == TELL else None
        if either:
            word = "YES."
        answer = Answer(
            word,
            (
                self.undecided(unread[0])
                if unread
                else f"It passes either way: {either.ask}"
                if either
                else self.sentence(r, x, a)
            ),
            root=f"rule:{r.id}@{x[0].id}",
            rule=r.id,
            on=x[0].id,
        )
        work = Working(self.w)
        lifting = self.w.lifting(r, x) if a == SET_ASIDE else None
        instead = lifting is not None and lifting.verb in JUDGING  # its numbers are the answer
        if not either:
            self.sides(answer, lifting if instead else r, x, work)
        # what is there is told twice below: as it counts now, and as it would if it were read
        if unread:
            answer.rows = [
                row
                for row in answer.rows
                if row.label in ("Need", str(r.d.get("answers", {}).get("needed", "Needed")))
            ]
        elif lifting is not None:
            self.lifted(answer, r, lifting, x)
        elif isinstance(r.test, ex.Cmp) and not either:
            answer.rows.append(Row("Check", self.check(r, x), self.source(r, x), rank=0))
        elif a != PASSES:
            answer.rows.append(Row("Rule", r.said, self.source(r, x), rank=0))
        if either:
            self.by_value(answer, r, x, [either])
        elif a == TELL:
            self.look_up(answer, r, x, needs(self.w, r, x))
        for flip in flips:
            self.flip(answer, r, x, flip)
        if a == FAILS and not unread:
            self.beside(answer, r, x)
        if a in (FAILS,):
            self.wont_help(answer, r, x, flips, work)
        if a in (FAILS, ADVICE) and not unread:
            self.passes(answer, r, x, flips)
        for label, text in r.d.get("answers", {}).get("rows", {}).items():
            if not unread and (filled := self.fill(str(text), r, x)) is not None:
                answer.rows.append(Row(str(label), filled, rank=3))
        self.amended(answer, r, x, a)
        because = str((lifting or r).d.get("because", ""))
        if because:
            answer.rows.append(Row("Why", because, rank=2))
        self.taken(answer, r, x, work)
        self.doubts(answer, lifting if instead else r, work)
        answer.plain = self.plain_lines(r, x, PASSES if either else a, bool(flips))
        return answer

    def lifted(self, answer: Answer, r: Rule, e: Rule, x: list) -> None:
        """What passes by *e*: its test decides; what *r* says by itself stands beside it."""
        c = e.test if e.verb in JUDGING else self.decisive(e, x)
        alone = self.check(r, x) if isinstance(r.test, ex.Cmp) else ""
        if e.verb in JUDGING:
            answer.rows.append(Row("Rule", e.said, self.source(e, x), rank=1))
        else:
            answer.rows.append(Row("Without it", alone or r.said, self.source(r, x), rank=1))
            answer.rows.append(Row("Exception", e.said, self.source(e, x), rank=1))
        if isinstance(c, ex.Cmp):
            said = self.check(e, x, None if c is e.test else c)
            answer.rows.append(Row("Check", said, self.source(e, x), rank=0))
        if e.verb in JUDGING:
            answer.rows.append(Row("Instead of", f"{r.said} {alone}", self.source(r, x), rank=4))

    def sides(self, answer: Answer, r: Rule, x: list, work: Working) -> None:
        """What is needed, and what there is: each side of the comparison carried out."""
        said = r.d.get("answers", {})
        for name, s in r.steps.items():
            lines = work.unfold(s.of, x, None, self.source(r, x))
            if lines:
                answer.rows.append(Row(begun(name)[:12], lines[-1][0], lines[-1][1], rank=2))
        if not isinstance(r.test, ex.Cmp):
            return
        for label, e, default in (
            (said.get("needed"), r.test.b, "Needed"),
            (said.get("have"), r.test.a, "Have"),
        ):
            if isinstance(e, (ex.Num, ex.Word_)):
                continue
            if isinstance(e, ex.Path):
                lines = work.unfold(e, x, None, "")
            else:
                lines = [
                    (
                        (
                            work.carried_out(e, x)
                            if not isinstance(e, (ex.Look, ex.Num, ex.Step))
                            else work.unfold(e, x)[0][0]
                        ),
                        (
                            self.source(r, x)
                            if not isinstance(e, ex.Look)
                            else work.cell_section(e, x)
                        ),
                    )
                ]
                for p in ex.walk(e):
                    if isinstance(p, ex.Path) and p.names:
                        o = p.holder(x, None)
                        if isinstance(o, list):
                            work.unfold(p, x)
            bare = (
                len(lines) == 1
                and isinstance(e, ex.Path)
                and not any(f" {op} " in lines[0][0] for op in "+−×÷=:")
            )
            # An addend that is left out makes a sum that does not add up: it goes after the reason.
            middle = 2 if lines and lines[-1][0].startswith("together ") else 3
            # a number that stands in the check as it was told is said there
            for i, (text, src) in enumerate(lines):
                answer.rows.append(
                    Row(
                        str(label or default) if i == 0 else "",
                        text,
                        cite(src),
                        rank=6 if bare else 1 if i == 0 or i == len(lines) - 1 else middle,
                        lines=2 if middle == 2 and len(text) > 60 else 0,
                    )
                )

    @staticmethod
    def undecided(flip: dict) -> str:
        """The headline of a NOT YET that rests on what nobody has read."""
        facts = [f.split(" of ")[0] for f in flip["assumed"]]
        number = {1: "One", 2: "Two", 3: "Three"}.get(len(facts), str(len(facts)))
        return (
            f"{number} {facts[0]}{'s' if len(facts) > 1 else ''} nobody has read"
            f" decide{'' if len(facts) > 1 else 's'} this; until then, no."
        )

    def beside_things(self, r: Rule, x: list) -> list[tuple[Rule, list]]:
        """The rules that *r* names `beside:` it, on the things of the same circuit where they pass.

        What fails in some other way is not called right.
        """

        def wrong(y: list) -> bool:
            return any(
                self.w.answer(o, z) == FAILS
                for o in self.k.rules.values()
                if o.verb in JUDGING
                for z in self.w.by_kind[o.about]
                if (o is not r or z is not x) and (z is y or self.operand(o, z, {y[0].id}))
            )

        out = []
        for i in r.d.get("answers", {}).get("beside", []):
            other = self.k.rules.get(str(i))
            for y in self.w.by_kind.get(other.about, ()) if other is not None else ():
                if (
                    self._circuit(y) is self._circuit(x[0].slot or x)
                    and self.w.answer(other, y) == PASSES
                    and not wrong(y)
                ):
                    out.append((other, y))
        return out

    def beside(self, answer: Answer, r: Rule, x: list) -> None:
        """What is right and would otherwise be "mended": the rules that `beside:` names, where they
        pass.
        """
        for other, y in self.beside_things(r, x):
            said = other.d.get("answers", {}).get("right")
            said = self.fill(str(said), other, y) if said else self.sentence(other, y, PASSES)
            if len(f"{answer.word} {answer.sentence} {said}") <= 80:
                answer.sentence += f" {said}"
            else:
                answer.rows.append(Row("Right", said, self.source(other, y), rank=2))

    def look_up(self, answer: Answer, r: Rule, x: list, ns: list[Need]) -> None:
        """What to look for, and what each answer would mean."""
        for n in ns[:3]:
            answer.rows.append(
                Row(
                    "Look",
                    f"{n.ask} Look: {n.look}." + (f" {n.careful}" if n.careful else ""),
                    rank=1,
                )
            )
        self.by_value(answer, r, x, ns)

    def by_value(self, answer: Answer, r: Rule, x: list, ns: list[Need]) -> None:
        """What each value of the one fact that it waits for would mean."""
        if len(ns) == 1 and not x[0].plane:
            n = ns[0]
            for said, v in values_of(self.w, n):
                with self.other([(n.of, n.fact, v)]) as other:
                    a = other.w.answer(r, x)
                    m = other.margin(r, x)
                    checked = (
                        f" ({other.check(r, x).split('?')[0]})"
                        if isinstance(r.test, ex.Cmp) and a in (PASSES, FAILS)
                        else ""
                    )
                answer.rows.append(
                    Row(
                        f"If {said}",
                        ("passes" if a in (PASSES, SET_ASIDE) else a)
                        + (f", {m}" if m and a != OFF else "")
                        + checked,
                        rank=2,
                    )
                )

    def flip(self, answer: Answer, r: Rule, x: list, flip: dict) -> None:
        if "exception" in flip:
            e = self.k.rules[flip["exception"]]
            answer.rows.append(Row("Unless", self.in_short(e, x), self.source(e, x), rank=1))
            for d in self.k.order.exceptions.get(e.id, ()):
                if self.w.holds(d, x) is None:
                    answer.rows.append(Row("But", self.in_short(d, x), self.source(d, x), rank=2))
            for ask, outcome in zip(dict.fromkeys(flip["ask"]), self.outcomes(r, x, e)):
                answer.rows.append(Row("Tell me", f"{ask} {outcome}".strip(), rank=1))
            return
        changes = turning(self.w, r, x, self.whatif)
        with self.other(changes) as other:
            then = f"{other.side_texts(r, x)[0]}, {other.margin(r, x)}"
        t0, f0, v0 = changes[0]
        word = word_of(self.w, t0, f0)
        now = self.w.things[t0][word.slot]
        e = Explainer(self.w)
        _, by = e.origin(self.w.things[t0], f0)
        src = self.k.section(by, self.w.things[t0]) if by else ""
        kind = short(self.w.things[t0]).split(" ")[-1]
        answer.rows.append(
            Row(
                "Unread",
                f"counts as {show(now, word.unit)}: {self.side_texts(r, x)[0]},"
                f" {self.margin(r, x)}",
                src,
                rank=1,
            )
        )
        answer.rows.append(
            Row(
                f"If {show(v0, word.unit).split()[0]}",
                f"{'both' if len(changes) == 2 else 'the ' + kind} marked {show(v0, word.unit)}:"
                f" {then}. Passes.",
                rank=1,
            )
        )

        def in_its_circuit(thing: list) -> str:
            return short(thing).removeprefix(self._circuit(thing)[0].name + " ")

        looks = [
            f"{i} {in_its_circuit(self.w.things[t])}: {self.look_of(t, f)}."
            for i, (t, f, _) in enumerate(changes, 1)
        ]
        want = (
            f' Want "{show(v0, word.unit)}" at BOTH; the lower end decides.'
            if len(changes) == 2
            else ""
        )
        answer.rows.append(
            Row(
                "Look",
                " ".join(looks) + want + (f" {word.careful}" if word.careful else ""),
                rank=1,
                lines=4,
            )
        )
        self.no_mark(answer, r, x)

    def outcomes(self, r: Rule, x: list, e: Rule) -> list[str]:
        """What each answer to an exception's open question would mean."""
        ns = needs(self.w, e, x) or [
            n for d in self.k.order.exceptions.get(e.id, ()) for n in needs(self.w, d, x)
        ]
        out = []
        for n in ns:
            w = word_of(self.w, n.of, n.fact)
            yes, no = (
                (self.outcome(r, x, (n.of, n.fact, v)) for v in (True, False))
                if w.type[0] == "flag" and not x[0].plane
                else ("", "")
            )
            # where both come to one it is not the only open question
            out.append(f"Yes: {yes}. No: {no}." if yes != no else "")
        return out

    def outcome(self, r: Rule, x: list, change: tuple) -> str:
        """What a rule comes to on the thing of *x* once one fact is told."""
        with self.whatif.told([change]) as w:
            a = w.answer(r, x)
        if a in (PASSES, SET_ASIDE) and not passes_under(r, x, self.whatif, [change]):
            return "somebody else must decide"
        return {PASSES: "passes", SET_ASIDE: "passes", OFF: "does not apply"}.get(a, str(a))

    def look_of(self, thing: str, fact: str) -> str:
        """Where to look: as the part's own question says, else as the fact's."""
        x = self.w.things[thing]
        if x[0].whole is not None:
            part = self.k.words.kinds[x[0].whole[0].kind].words.get(x[0].name)
            if part is not None and part.look:
                return part.look
        return word_of(self.w, thing, fact).look

    def no_mark(self, answer: Answer, r: Rule, x: list) -> None:
        """What to do when the look finds nothing: the size that passes anyway."""
        best = self.chosen(r, x)
        if best is not None:
            y, p = best
            answer.rows.append(
                Row(
                    "No mark?",
                    "Then the default stands. Use"
                    f" {show(y[0].row, p.tries_table.unit(p.tried.name))}:"
                    f" {self.side_texts(r, y)[0]} passes either way.",
                    rank=2,
                )
            )

    def wont_help(self, answer: Answer, r: Rule, x: list, flips: list[dict], work: Working) -> None:
        """The rules a person is about to argue with, and the defaults that change nothing."""
        said = []
        argued = [str(i) for i in r.d.get("answers", {}).get("argued", [])]
        # here a person argues with the marking, not with the breaker
        if any("assumed" in f for f in flips):
            argued = []
        for i in [*argued, *reversed(work.used)]:
            e = self.k.rules.get(i)
            if (
                e is None
                or not e.d.get("limits")
                or e.id == r.id
                or any(f.get("exception") == e.id for f in flips)
            ):
                continue
            against = (
                e.d.get("answers", {}).get("against")
                if isinstance(r.test, ex.Cmp) and plain(r.test.b.ev(x, None))
                else None
            )
            said.append(
                Row(
                    "",
                    self.fill(str(against or ""), r, x) or str(e.d["limits"]),
                    self.source(e, x),
                    rank=3 if i in argued else 4,
                )
            )
        for n, row in enumerate(said[: 2 if argued else 1]):
            row.label = "Won't help" if n == 0 else ""
            answer.rows.append(row)

    def amended(self, answer: Answer, r: Rule, x: list, a: str) -> None:
        """What came through a pack: the edits the answer rests on, and the exceptions that were
        withdrawn.
        """
        if not self.k.trail:
            return
        gone = withdrawn_from(self.k, r.id) if a in (FAILS, TELL) else []
        edits = through(self.w, r, x)
        for n, (i, e) in enumerate(gone[:2]):
            answer.rows.append(
                Row(
                    "Withdrawn" if n == 0 else "",
                    told(e).removesuffix(")").replace(" is withdrawn (", ": not here (", 1) + ")",
                    cite_short(e),
                    rank=1,
                )
            )
        for n, e in enumerate(edits[:3]):
            answer.rows.append(Row("Amended" if n == 0 else "", told(e), cite_short(e), rank=1))

    def sizes_assumed(self, r: Rule, x: list) -> list[str]:
        """The sizes of conductors that nobody told and a check rests on."""
        facts = [
            n.data
            for n in support(self.w, r, x).nodes.values()
            if n.kind == "fact"
            and n.data["origin"] == "assumed"
            and "looked" not in n.data
            and n.data["of"] in self.w.things
        ]
        words = [(d, word_of(self.w, d["of"], d["is"])) for d in facts]
        return [
            f"{w.name} {show(self.w.things[d['of']][w.slot], w.unit)} (assumed)"
            for d, w in words
            if w.kind == "conductors" and w.type[0] == "row"
        ]

    def taken(
        self, answer: Answer, r: Rule, x: list, work: Working, more: tuple | list = ()
    ) -> None:
        """What was taken rather than measured, where it could matter; and the edition."""
        said = [*more]
        for thing, fact in work.leaves:
            if thing[0].plane:
                continue
            word = self.k.words.kinds[thing[0].kind].words[fact]
            origin, by = Explainer(self.w).origin(thing, fact)
            v = show(thing[word.slot], unit_shown(thing, fact, word.unit))
            if origin == "assumed" and word.type[0] == "q" and not word.try_instead:
                said.append(f"{fact} {v} ({'assumed'})")
            elif origin == "told" and word.type[0] == "q" and thing[0].kind == "load":
                said.append(f"{fact} {v} told")
            elif origin == "told" and fact == "ambient":
                said.append(f"{fact} {v} told")
        for i in self.support_rules(r, x):
            e = self.k.rules[i]
            if (
                e.layer == "practice"
                and e.verb == "gives"
                and any(isinstance(f.expr, ex.Word_) for f in e.fills)
                and e.id != r.id
            ):
                said.append(e.said.rstrip("."))
        said = list(dict.fromkeys(said))[:3]
        over = [
            str(p.get("place") or p.get("title", p["pack"])) for p in self.k.packs if p.get("layer")
        ]
        answer.rows.append(
            Row(
                "Taken",
                "; ".join(
                    said
                    + [
                        f"NEC {self.k.edition}"
                        + (f" and the law of {', '.join(over)}" if over else "")
                    ]
                )
                + ".",
                rank=5,
            )
        )

    def support_rules(self, r: Rule, x: list) -> list[str]:
        g = support(self.w, r, x)
        given = {b for a, b, role in g.edges if role == "given by"}
        return [n.data["rule"] for i, n in g.nodes.items() if n.kind == "rule" and i in given]

    def doubts(self, answer: Answer, r: Rule, work: Working) -> None:
        """The doubt of the rule, or of what its numbers come from."""
        for i in (r.id, *work.used):
            d = (
                self.k.rules[i].d
                if i in self.k.rules
                else self.k.tables[i].d
                if i in self.k.tables
                else self.k.value_items.get(i, {})
            )
            if d.get("doubt"):
                answer.rows.append(Row("Doubt", str(d["doubt"]), rank=5 if i == r.id else 7))
                return

    def plain_lines(self, r: Rule, x: list, a: str, turned: bool = False) -> list[str]:
        """For a homeowner: the answer, what the code means by it, why, and who says so."""
        lifting = self.w.lifting(r, x) if a == SET_ASIDE else None
        if lifting is not None and lifting.verb in JUDGING:
            return self.plain_lines(lifting, x, PASSES)
        p = r.d.get("answers", {}).get("plain", {})
        lead = {
            PASSES: "Yes.",
            SET_ASIDE: "Yes.",
            FAILS: "Not yet." if turned else "No.",
            TELL: "We don't know yet.",
            ADVICE: "It is allowed, and we advise better.",
        }[a]
        key = "passes" if a in (PASSES, SET_ASIDE) else "cannot tell" if a == TELL else "fails"
        out = [
            (
                f"{lead} An exception lets it be. {self.in_short(lifting, x)}"
                if lifting is not None
                else f"{lead} "
                + (
                    self.fill(str(p[key]), r, x) or str(r.said)
                    if key in p
                    else self._plain_default(r, a)
                )
            )
        ]
        if p.get("means"):
            out.append(self.fill(str(p["means"]), r, x) or "")
        e = lifting or r
        if (
            lifting is None
            and isinstance(r.test, ex.Cmp)
            and self.w.answer(r, x) != TELL
            and r.test.order is None
        ):
            have, needed = self.side_texts(r, x)
            op = OPPOSITE[r.test.op] if r.verb == "must not" else r.test.op
            out.append(
                {
                    ">=": f"It needs {needed}, and there is {have}.",
                    ">": f"It needs more than {needed}, and there is {have}.",
                    "=": f"It should be {needed}, and it is {have}.",
                }.get(op, f"The most allowed is {needed}, and there is {have}.")
            )
        if turned or a == TELL:
            out.append(
                "A look settles it; your electrician will read it. Please don't open a panel or"
                " take a cover off yourself."
            )
        out.append(str((not lifting and p.get("why")) or e.d.get("because", "")))
        e = e if e.layer == r.layer else r
        if r.layer == "law":
            out.append(
                f"Who says so: National Electrical Code {self.k.edition}, section"
                f" {e.section(self.k.edition, x)}."
            )
        elif r.layer == "local":
            out.append(f"Who says so: {r.section(self.k.edition, x)}.")
        elif r.layer == "practice":
            out.append("Who says so: this is our advice; the law does not demand it.")
        return [line for line in out if line]

    @staticmethod
    def _plain_default(r: Rule, a: str) -> str:
        said = r.said
        return (
            said
            if a in (PASSES, SET_ASIDE)
            else (
                f"This is what should be so, and is not yet shown: {said}"
                if a == TELL
                else f"This should be so, and is not: {said}"
            )
        )

    # ---- rules that do not judge, or do not apply
    def not_judged(self, r: Rule, x: list) -> Answer:
        a = self.w.answer(r, x)
        if a == REFERS:
            return self.refused([(r, x)])
        root = f"rule:{r.id}@{x[0].id}"
        rows = [Row("Rule", r.said, self.source(r, x), rank=0)]
        if a == OFF:
            for c, text in zip(r.when, r.when_text):
                v = c.ev(x, None)
                if v is False or v is NOTHING:
                    rows.append(Row("Because", f"{text}: not so ({say(c, x)})", rank=0))
            if len(rows) == 1 and r.test is not None:
                rows.append(Row("Because", f"what it compares is not there: {say(r.test, x)}"))
            if r.exception_to:
                rows.append(
                    Row("So", "what it would set aside stands: " + ", ".join(r.exception_to))
                )
            return Answer(
                "DOES NOT APPLY.", f"to {short(x)}.", rows, root=root, rule=r.id, on=x[0].id
            )
        if a == SET_ASIDE:
            e = self.w.lifting(r, x)
            rows.append(Row("Exception", e.said, self.source(e, x), rank=0))
            return Answer(
                "SET ASIDE.",
                f"{r.id} gives way to {e.id} on {short(x)}.",
                rows,
                root=root,
                rule=r.id,
                on=x[0].id,
            )
        word = {"holds": "IT APPLIES.", TELL: "CAN'T TELL."}.get(a, a.upper() + ".")
        for c, text in zip(r.when, r.when_text):
            v = c.ev(x, None)
            rows.append(
                Row(
                    "When",
                    f"{text}: {'so' if v is True else 'not known' if v is None else 'not so'}"
                    f" ({say(c, x)})",
                    rank=1,
                )
            )
        for f in r.fills:
            work = Working(self.w)
            lines = work.unfold(f.expr, x, None, self.source(r, x))
            rows += [
                Row(
                    "Gives" if i == 0 else "",
                    f"{f.word.name}: {t}" if i == 0 else t,
                    s,
                    rank=1 if i == 0 else 3,
                )
                for i, (t, s) in enumerate(lines)
            ]
        if r.exception_to:
            rows.append(Row("Sets aside", ", ".join(r.exception_to), rank=2))
        if a == TELL:
            rows += [
                Row("Look", f"{n.ask} Look: {n.look}.", rank=2) for n in needs(self.w, r, x)[:3]
            ]
        if r.d.get("limits"):
            rows.append(Row("Never", str(r.d["limits"]), rank=3))
        if r.d.get("because"):
            rows.append(Row("Why", str(r.d["because"]), rank=2))
        return Answer(word, f"{short(x)}.", rows, root=root, rule=r.id, on=x[0].id)
