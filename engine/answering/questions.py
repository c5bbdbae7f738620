"""The questions themselves: why SUBJECT [ATTRIBUTE or RULE], whynot SUBJECT ATTRIBUTE=VALUE."""

from __future__ import annotations

import re

from ..basics.errors import Fault, Place, suggest
from ..basics.sentinels import NONE
from ..basics.units import Range, dimension, parse_quantity
from ..language import expressions as ex
from ..language.rules import JUDGING, Rule, section_of
from ..proving.graph import Explainer, short, show, support, unit_shown
from ..running.chain import ADVICE, FAILS, LACKS, OFF, PASSES, SET_ASIDE, TELL
from ..running.job import SAID_ALONE, Job
from .answers import Answer, Row, Unclear
from .explain import Explain
from .findings import needs, needs_of_fact, unless, whichever
from .sentences import FAR, begun
from .subjects import SEVERITY
from .working import Working

BARE = re.compile(r"\d+(\.\d+)?")
ONE_UNIT = ("A", "V", "hp")  # what people measure in one unit: a breaker of 60 is one of 60 A
PEOPLE_WRITE = ("ft", "in", "°F", "°C", "W", "kW")


class Why(Explain):
    """Answers questions about one finished run."""

    def question(self, words: list[str]) -> Answer:
        """Answer `why SUBJECT [ATTRIBUTE or RULE]`."""
        if (
            words
            and (gone := words[-1] if words[-1] in self.k.withdrawn else "-".join(words[1:]))
            in self.k.withdrawn
        ):
            return self.withdrawn(gone)
        if len(words) == 1 and (words[0] in self.k.rules or words[0] in self.k.absent):
            return self.rule_anywhere(words[0])
        x, rest = self.thing(words)
        if not rest:
            return self.subject(x)
        what = " ".join(rest)
        rule = self.k.rules.get(what) if "-" in what else None
        if rule is None and self.fact_of(x, what)[0] is None:
            rule = self.k.rules.get(what.replace(" ", "-"))
        if rule is not None and rule.verb == "tries":
            holder = (
                x
                if x[0].kind == rule.about
                else next(
                    (y for y in self.w.by_kind[rule.about] if y[0].id.startswith(x[0].id + ".")), x
                )
            )
            return self.fact(holder, rule.picks.name)
        if rule is not None:
            return self.rule_on(rule, x)
        if what in self.k.absent:
            return self.absent(what)
        fact, holder = self.fact_of(x, what)
        if fact is None:
            rules = [r.id for r in self.k.rules.values() if r.about == x[0].kind]
            todo = suggest(what, [*self.k.words.known(x[0].kind), *rules])
            raise Unclear(f'{short(x)} has no "{what}", and no rule is called so\n    {todo}')
        return self.fact(holder, fact)

    def rule_anywhere(self, rule_id: str) -> Answer:
        if rule_id in self.k.absent:
            return self.absent(rule_id)
        r = self.k.rules[rule_id]
        xs = self.w.by_kind[r.about]
        if not xs:
            raise Unclear(f"{rule_id} is about {r.about}, and this job has none")
        return self.rule_on(r, min(xs, key=lambda x: SEVERITY.get(self.w.answer(r, x), 9)))

    def absent(self, rule_id: str) -> Answer:
        r = self.k.absent[rule_id]
        return Answer(
            "NOT IN FORCE.",
            f"{rule_id} is not in the {self.k.edition} edition.",
            [
                Row("Says", r.said),
                Row("In", ", ".join(f"{e}: {s}" for e, s in r.d.get("code", {}).items())),
            ],
            rule=rule_id,
        )

    def withdrawn(self, rule_id: str) -> Answer:
        """A rule that the law of the place took away: who did, until when, why, and what it
        said.
        """
        e, d = self.k.withdrawn[rule_id], self.k.gone[rule_id]
        days = f" until {e.end}" if e.end else ""
        rows = [
            Row("By", f"{e.cite}: {e.d.get('reason', '')}"),
            Row("It said", str(d.get("says", "")), section_of(d, self.k.edition) or ""),
            Row("So", str(e.done.get("says", ""))),
        ]
        if e.window():
            rows.append(Row("In force", e.window()))
        return Answer(
            "WITHDRAWN.", f"{rule_id} is withdrawn in {e.pack.where}{days}.", rows, rule=rule_id
        )

    def rule_on(self, r: Rule, x: list) -> Answer:
        """A rule asked about on a thing, or on the part of it that the rule is about."""
        if r.about != x[0].kind:
            inside = [
                y
                for y in self.w.by_kind[r.about]
                if y[0].id.startswith(x[0].id + ".") or x[0].id.startswith(y[0].id + ".")
            ]
            if not inside:
                raise Unclear(
                    f"{r.id} is about {r.about}, and {short(x)} has none\n    ask about: "
                    + ", ".join(short(y) for y in self.w.by_kind[r.about])
                    if self.w.by_kind[r.about]
                    else f"{r.id} is about {r.about}, and this job has none"
                )
            x = min(inside, key=lambda y: SEVERITY.get(self.w.answer(r, y), 9))
        if r.verb in JUDGING and self.w.answer(r, x) not in (OFF,):
            return self.finding(r, x)
        return self.not_judged(r, x)

    # ---- facts
    def fact(self, x: list, fact: str) -> Answer:
        """Why a fact is what it is; a size that was told is judged, one left open shows the step
        below.
        """
        w = self.k.words.kinds[x[0].kind].words[fact]
        v = x[w.slot]
        e = Explainer(self.w)
        origin, by = e.origin(x, fact)
        root = f"fact:{x[0].id}/{fact}"
        tested = [
            p
            for p in self.k.rules.values()
            if p.verb == "tries" and p.about == x[0].kind and fact in (p.tried.name, p.picks.name)
        ]
        if fact in {p.tried.name for p in tested} and origin == "told":
            found = [t for t in self.judged(x) if t[1] is x or self.operand(t[0], t[1], {x[0].id})]
            if found and found[0][2] in (FAILS, TELL):
                return self.finding(*found[0][:2])
            if found:
                return self.all_pass(x, found)
        pick = next((p for p in tested if p.id == by or p.picks.name == fact), None) or next(
            (p for p in tested if origin == "designed" and self._designed_by(by, p)), None
        )
        if pick is not None:
            return self.picked(pick, x, fact)
        shown = show(v, unit_shown(x, fact, w.unit))
        if origin == "disputed":
            rows = [Row("Told", show(x[0].told[fact], w.unit))] if fact in x[0].told else []
            rows += [
                Row(
                    "Rule",
                    f"{g.id}: {show(x[self.k.results[g.id, fact]], w.unit)}",
                    self.source(g, x),
                )
                for g in self.k.order.givers[x[0].kind, fact]
                if x[self.k.slots[g.id]] is True
            ]
            return Answer(
                "IN DISPUTE.",
                f"Two answers for the {fact} of {short(x)}; nothing is concluded from either.",
                rows + [Row("So", "find out which is right, and tell only that one.")],
                root=root,
            )
        rows, work = [], Working(self.w)
        judging = self.judging_fact(x, fact)
        if judging is not None and origin != "unknown":
            judging = self.worst_of(x, fact, judging)
            answer = self.finding(*judging)
            if answer.word in ("YES.", "NO.", "NOT YET.", "ADVICE."):
                if origin != "told" and not answer.sentence.startswith(shown):
                    answer.sentence = f"{shown}. {answer.sentence}"
                if origin == "designed" and answer.word == "YES.":
                    said = {row.text for row in answer.rows}
                    made = self.designed(x, fact, by)
                    answer.rows[:0] = [row for row in made if row.text not in said]
                return answer
        for i, (text, src) in enumerate(work.fact(x, fact)):
            rows.append(Row("From" if i == 0 else "", text, src, rank=1 if i == 0 else 2))
        if v is None or isinstance(v, Range):
            for n in needs_of_fact(self.w, x, fact)[:4]:
                rows.append(Row("Look", f"{n.ask} Look: {n.look}.", rank=1))
        if origin == "told":
            text, _, at = x[0].written.get(fact, (shown, None, ""))
            told = Row("Told", f'"{text}" at {at}', rank=4)
            tests, found = self.deciding(x, fact)
            # what a thing is bears on much, and a number or a size mostly on one
            if tests and w.type[0] != "choice":
                answer = self.finding(*found[0][:2])
                answer.rows += [told, *self.others(found[1:])]
                return answer
            rows = [told, *self.others(found, "Decides")]
        if by and by in self.k.rules:
            r = self.k.rules[by]
            rows.append(Row("Rule", r.said, self.source(r, x), rank=2))
            if r.d.get("because"):
                rows.append(Row("Why", str(r.d["because"]), rank=2))
            if r.d.get("limits"):
                rows.append(Row("Never", str(r.d["limits"]), rank=4))
        word = (
            "NOT KNOWN."
            if v is None
            else f"{shown}."
            if not isinstance(v, bool)
            else ("YES." if v else "NO.")
        )
        answer = Answer(word, f"{fact} of {short(x)} ({origin}).", rows, root=root, on=x[0].id)
        answer.plain = [f"{fact} of {short(x)}: {shown}."] + [
            r.text for r in rows if r.label == "Why"
        ]
        return answer

    def judging_fact(self, x: list, fact: str):
        """A rule that judges *fact*: one that says so (`answers: asked:`), or one whose comparison
        begins with it.
        """
        for r in self.k.rules.values():
            if self.w.by_kind[r.about] and fact in [
                str(i) for i in r.d.get("answers", {}).get("asked", [])
            ]:
                for y in self.w.by_kind[r.about]:
                    if (y is x or self._circuit(y) is self._circuit(x)) and self.w.answer(
                        r, y
                    ) != OFF:
                        return r, y
        # of what an exception lifts nothing is read off, where another requirement judges it
        judging = [
            r
            for r in self.k.rules.values()
            if r.about == x[0].kind
            and r.verb in ("must", "must not")
            and isinstance(r.test, ex.Cmp)
            and self.w.answer(r, x) != OFF
            and any(
                isinstance(p, ex.Path) and p.names == (fact,) and not p.member
                for p in ex.walk(r.test.a)
            )
        ]
        return next(
            ((r, x) for r in sorted(judging, key=lambda r: self.w.answer(r, x) == SET_ASIDE)), None
        )

    def designed(self, x: list, fact: str, by: str) -> list[Row]:
        """How a value comes about that nobody told: its formula carried out, with the step to a
        standard rating.
        """
        r = self.k.rules[by]
        fill = next(f for f in r.fills if f.word.name == fact)
        if isinstance(fill.expr, (ex.Path, ex.Word_)):
            return []
        work = Working(self.w)
        lines = [
            line
            for p in ex.walk(fill.expr)
            if isinstance(p, ex.Path) and p.t[0] == "q"
            for line in work.unfold(p, x)[-1:]
        ] + work.unfold(fill.expr, x, None, self.source(r, x))
        return [Row("Designed", *line, rank=0) for line in dict.fromkeys(lines)]

    def worst_of(self, x: list, fact: str, judging: tuple) -> tuple:
        """*judging*, or what else is judged by the number of a fact where that passes and this does
        not.
        """
        if SEVERITY[self.w.answer(*judging)] < SEVERITY[PASSES]:
            return judging
        found = [
            (r, y)
            for r in self.k.rules.values()
            if r.verb in JUDGING
            for y in self.w.by_kind[r.about]
            if self.operand(r, y, {x[0].id}, fact)
            and SEVERITY.get(self.w.answer(r, y), 9) < SEVERITY[PASSES]
            and not (self.w.answer(r, y) == TELL and whichever(self.w, r, y, self.whatif))
        ]
        return min(
            found,
            key=lambda t: (SEVERITY[self.w.answer(*t)], self.tightness(*t), t[0].id),
            default=judging,
        )

    def deciding(self, x: list, fact: str) -> tuple[bool, list[tuple]]:
        """What was judged nearest to a told fact, the worst first: does a test rest on it (or
        conditions alone), and (rule, thing, answer) of each.
        """
        node, mine, seen = f"fact:{x[0].id}/{fact}", self._circuit(x), set()
        facts = {(x[0].kind, fact)}
        while facts:
            seen |= facts
            rules = [
                self.k.rules[i]
                for i in sorted({i for f in facts for i in self.k.order.readers.get(f, ())})
                if self.w.by_kind[self.k.rules[i].about]
            ]
            found = [
                (r, y, a)
                for r in rules
                if r.verb in JUDGING
                for y in self.w.by_kind[r.about]
                if self._circuit(y) is mine
                and (a := self.w.answer(r, y)) != OFF
                and node in support(self.w, r, y).nodes
            ]
            names = {f for _, f in facts}
            tests = [
                t
                for t in found
                if any(
                    isinstance(p, ex.Path) and p.names and p.names[-1] in names
                    for p in ex.walk(t[0].test)
                )
            ]
            if found:
                return bool(tests), sorted(
                    tests or found,
                    key=lambda t: (SEVERITY[t[2]], self.tightness(t[0], t[1]), t[0].id),
                )
            facts = {(r.about, f.word.name) for r in rules for f in r.fills} - seen
        return False, []

    @staticmethod
    def others(found: list[tuple], label: str = "Also") -> list[Row]:
        """What else is judged by the same fact."""
        said = list(dict.fromkeys(f"{r.id} {a}" for r, _, a in found))
        return (
            [
                Row(
                    label,
                    "; ".join(said[:4]) + (f" and {len(said) - 4} more" if len(said) > 4 else ""),
                    rank=6,
                )
            ]
            if said
            else []
        )

    def picked(self, p: Rule, x: list, fact: str) -> Answer:
        """Why this size: the step below and what it fails, then what this one carries."""
        first, waiting = self.w.picked.get((p.id, x[0].id), (None, []))
        rows_of = self.w.rows_of.get((p.id, x[0].id))
        unit = p.tries_table.unit(p.tried.name)
        root = f"pick:{p.id}@{x[0].id}"
        if rows_of is None:
            ns = needs_of_fact(self.w, x, fact)
            return Answer(
                "CAN'T TELL.",
                f"The {p.tried.name} of {short(x)} waits for a fact.",
                [Row("Look", f"{n.ask} Look: {n.look}.") for n in ns[:4]],
                root=root,
                on=x[0].id,
            )
        if first is None and not waiting:
            y = rows_of[-1]
            bad = self.rejections(y)
            return Answer(
                "NONE.",
                f"No {p.tried.name} passes every test.",
                [
                    Row(
                        "Even",
                        f"{show(y[0].row, unit)}: {r.id}:"
                        f" {self.check(r, y) if isinstance(r.test, ex.Cmp) else r.said}",
                        self.source(r, y),
                    )
                    for r in bad[:3]
                ],
                root=root,
                on=x[0].id,
            )
        if waiting:
            ns = needs_of_fact(self.w, x, p.picks.name)
            sure = f"{show(first[0].row, unit)} is surely enough; " if first is not None else ""
            return Answer(
                "CAN'T TELL.",
                f"{sure}{', '.join(show(y[0].row, unit) for y in waiting[:3])} might do.",
                [Row("Look", f"{n.ask} Look: {n.look}.") for n in ns[:4]],
                root=root,
                on=x[0].id,
            )
        i = next(i for i, y in enumerate(rows_of) if y is first)
        answer = Answer(
            f"{show(first[0].row, unit)}.",
            f"The smallest {p.tried.name} that passes every requirement.",
            root=root,
            on=x[0].id,
        )
        deciding = None
        if i:
            below = rows_of[i - 1]
            bad = self.rejections(below)
            deciding = bad[0] if bad else None
            if deciding is not None:
                sub = Answer("", "")
                work = Working(self.w)
                self.sides(sub, deciding, below, work)
                answer.rows += sub.rows
                if isinstance(deciding.test, ex.Cmp):
                    answer.rows.append(
                        Row(
                            f"Not {show(below[0].row, unit)}"[:12],
                            self.check(deciding, below),
                            self.source(deciding, below),
                            rank=0,
                        )
                    )
                for r in bad[1:3]:
                    answer.rows.append(
                        Row(
                            "",
                            f"{r.id}:"
                            f" {self.check(r, below) if isinstance(r.test, ex.Cmp) else r.said}",
                            self.source(r, below),
                            rank=4,
                        )
                    )
                answer.rows.append(
                    Row(
                        "This one",
                        (
                            self.check(deciding, first)
                            if isinstance(deciding.test, ex.Cmp)
                            else "passes"
                        ),
                        rank=1,
                    )
                )
                answer.rule = deciding.id
        else:
            answer.rows.append(
                Row("Smallest", f"the first in {p.tries_table.id.replace('-', ' ')}", rank=1)
            )
            deciding = self.tightest(p, first)
            if deciding is not None:
                self.sides(answer, deciding, first, Working(self.w))
                check = self.check(deciding, first)
                answer.rows.append(Row("Tightest", check, self.source(deciding, first), rank=0))
                answer.rule = deciding.id
        also = [t for t in self.k.order.tests[p.id] if t.verb == "should"]
        if deciding is not None and deciding.verb == "should" and also:
            answer.rows.append(
                Row(
                    "Advice",
                    "this is advice, not law; the minimum by law is "
                    + show(self._minimum(x, p), None),
                    rank=1,
                )
            )
        r = deciding or next(iter(self.k.order.tests[p.id]), None)
        if r is not None and r.d.get("because"):
            answer.rows.append(Row("Why", str(r.d["because"]), rank=2))
        if r is not None:
            self.taken(answer, r, rows_of[i - 1] if i else first, Working(self.w))
        answer.plain = [f"{show(first[0].row, unit)} is the smallest that meets the code here."] + (
            [str(r.d.get("answers", {}).get("plain", {}).get("why") or r.d.get("because", ""))]
            if r is not None
            else []
        )
        return answer

    def tightest(self, p: Rule, y: list) -> Rule | None:
        """The test that a tried row passes with the least to spare."""
        return min(
            (
                t
                for t in self.k.order.tests[p.id]
                if self.w.answer(t, y) == PASSES and self.tightness(t, y) < FAR
            ),
            key=lambda t: self.tightness(t, y),
            default=None,
        )

    def _designed_by(self, rule_id: str | None, p: Rule) -> bool:
        r = self.k.rules.get(rule_id or "")
        return r is not None and any(
            isinstance(f.expr, ex.Path) and f.expr.names[-1] == p.picks.name for f in r.fills
        )

    def _minimum(self, x: list, p: Rule):
        for q in self.k.rules.values():
            if q.verb == "tries" and q.about == p.about and q.tried is p.tried and not q.also:
                return x[q.picks.slot]
        return None

    def rejections(self, y: list) -> list[Rule]:
        """The tests that reject a tried row, the nearest failing comparison first."""
        p = self.k.rules[y[0].plane]
        bad = [
            t
            for t in self.k.order.tests[p.id]
            if y[self.k.slots[t.id]] in (FAILS, ADVICE, TELL) and self.w.set_aside(t, y) is not True
        ]
        return sorted(
            bad,
            key=lambda t: (
                t.verb == "should",
                y[self.k.slots[t.id]] == TELL,
                self.tightness(t, y),
                t.id,
            ),
        )

    # ---- why not
    def why_not(self, words: list[str]) -> Answer:
        """Answer `whynot SUBJECT ATTRIBUTE=VALUE`, or `whynot SUBJECT RULE`."""
        text = " ".join(words)
        if "=" not in text:
            x, rest = self.thing(words)
            said = " ".join(rest)
            rule = self.k.rules.get(said) or self.k.rules.get("-".join(rest))
            if rule is not None:
                return self.rule_on(rule, x)
            if said in self.k.absent:
                return self.absent(said)
            return self.why_not_alone(x, said)
        left, value = text.split("=", 1)
        x, rest = self.thing(left.split())
        what = " ".join(rest)
        if not what:
            return self.why_not_alone(x, value.strip())
        candidates = self.facts_of(x, what)
        if not candidates:
            raise Unclear(
                f'{short(x)} has no "{what}"\n    {suggest(what, self.k.words.known(x[0].kind))}'
            )
        first: Unclear | None = None
        for fact, holder in candidates:
            try:
                return self.why_not_value(holder, fact, value.strip())
            except Unclear as e:
                # "size" is the conductors' before it is the breaker's, where the value says so
                first = first or e
        raise first

    def why_not_alone(self, x: list, value: str) -> Answer:
        """A value of which nobody said whose it is: of a breaker `50 A` is its rating, of a circuit
        `10 AWG` can only be its conductors' size.
        """
        if BARE.fullmatch(value):
            return self.why_not_number(x, value)
        could = [
            (w.name, y)
            for y in self.with_parts(x)
            if value
            and (w := self.w.job.told_alone(self.k.words.kinds[y[0].kind], value)) is not None
        ]
        could = [(fact, y) for fact, y in could if fact in SAID_ALONE] or could
        if could and (len(could) == 1 or could[0][1] is x):
            return self.why_not_value(could[0][1], could[0][0], value)
        if could:
            raise Unclear(
                f"whose is {value}? write "
                + " or ".join(f'"{short(y)} {fact}={value}"' for fact, y in could)
            )
        meant = suggest(value, self.k.rules, 0)
        raise Unclear(
            (
                f'"{value}" is neither a value of {short(x)} nor a rule'
                if value
                else f"what of {short(x)}?"
            )
            + "\n    "
            + (
                meant
                if value and meant.startswith("did you mean")
                else "write ATTRIBUTE=VALUE, as in size=6 AWG, or the name of a rule"
            )
        )

    def why_not_number(self, x: list, value: str) -> Answer:
        """A number alone: of a breaker its rating; of what has several such facts it is said how to
        write each.
        """
        could = [
            (w, y)
            for y in self.with_parts(x)
            for w in self.k.words.kinds[y[0].kind].words.values()
            if w.name in SAID_ALONE and w.type[0] == "q"
        ]
        if len(could) == 1 or could and could[0][1] is x and could[1][1] is not x:
            return self.why_not_value(could[0][1], could[0][0].name, value)
        what = (
            " or ".join(f'"{short(y)} {w.name}={value} {w.unit}"' for w, y in could)
            or "ATTRIBUTE=VALUE and its unit, as in length=60 ft"
        )
        raise Unclear(f"{value} of what?\n    write {what}")

    def why_not_value(self, x: list, fact: str, text: str) -> Answer:
        w = self.k.words.kinds[x[0].kind].words[fact]
        if w.type[0] == "q" and w.unit != "count" and BARE.fullmatch(text):
            if w.unit not in ONE_UNIT:
                others = [u for u in PEOPLE_WRITE if dimension(u) == dimension(w.unit)] or [w.unit]
                raise Unclear(
                    f'"{text}" has no unit\n    write '
                    + " or ".join(f'"{short(x)} {fact}={text} {u}"' for u in others)
                )
            answer = self.why_not_value(x, fact, f"{text} {w.unit}")
            answer.rows.append(Row("Read", f"{text} is read as {text} {w.unit}.", rank=1))
            return answer
        try:
            if w.type[0] == "q":
                value = parse_quantity(text, w.unit, Place("the question"))[0]
            elif w.type[0] == "row":
                value = Job._row(self.w.job, w, text, Place("the question"))
            elif w.type[0] == "choice":
                value = Job._choice(self.w.job, w, text, Place("the question"), x[0])
            elif w.type[0] == "flag":
                value = {"yes": True, "no": False}[text]
            else:
                raise Unclear(f'"{fact}" is not a value one can try')
        except Fault as f:
            raise Unclear(f"{f.what}\n    {f.todo}") from None
        except KeyError:
            raise Unclear(f'"{fact}" is yes or no') from None
        pick = next(
            (
                p
                for p in self.k.rules.values()
                if p.verb == "tries" and p.about == x[0].kind and p.tried.name == fact
            ),
            None,
        )
        shown = show(value, w.unit)
        if pick is not None:
            y = next(
                (y for y in self.w.rows_of.get((pick.id, x[0].id), ()) if y[0].row == value), None
            )
            told = [(x[0].id, fact, value)]
            if y is not None and (
                self.rejections(y)
                or not self.worse(x, told)
                and not self.unsettled(x, told)
                and not self.advised(x, told)
            ):
                return self.why_not_row(pick, x, y, fact, shown)
        return self.why_not_told(x, fact, value, shown)

    def why_not_row(self, p: Rule, x: list, y: list, fact: str, shown: str) -> Answer:
        bad = self.rejections(y)
        law = [r for r in bad if r.verb != "should"]
        if not bad:
            chosen = x[p.picks.slot]
            # it passes its own tests; the circuit must bear it too
            smaller = chosen not in (None, NONE, y[0].row) and not self.worse(
                x, [(x[0].id, fact, chosen)]
            )
            tail = f"Nothing rejects {shown}." + (
                f" {show(chosen, p.tries_table.unit(p.tried.name))} is the smallest that passes."
                if smaller
                else ""
            )
            tight = self.tightest(p, y)
            rows = (
                [Row("Tightest", self.check(tight, y), self.source(tight, y))]
                if tight is not None
                else []
            )
            return Answer(
                "YES.",
                tail,
                rows + [Row("Taken", f"NEC {self.k.edition}.")],
                root=f"row:{y[0].id}?{p.id}",
                on=y[0].id,
            )
        answer = self.finding(bad[0], y)
        others = bad[1:]
        if not law:
            answer.word = "ADVICE."
        for i, r in enumerate(others[:3]):
            answer.rows.insert(
                len(answer.rows) - 2 if len(answer.rows) > 2 else len(answer.rows),
                Row(
                    "Also" if i == 0 else "",
                    f"{self.check(r, y) if isinstance(r.test, ex.Cmp) else r.said}",
                    self.source(r, y),
                    rank=3,
                ),
            )
        answer.root = f"row:{y[0].id}?{p.id}"
        return answer

    def why_not_told(self, x: list, fact: str, value, shown: str) -> Answer:
        """A value that is not tried: tell it, run again, and show what then fails that did not
        before.
        """
        changes = [(x[0].id, fact, value)]
        with self.whatif.told(changes) as w:
            disputed = (x[0].id, fact) in w.disputes
        if self.k.order.givers.get((x[0].kind, fact)) and disputed:
            return self._stands(x, fact)
        before = self._extremes()
        with self.other(changes) as other:
            return self._so_told(other, x, fact, shown, changes, before)

    def _stands(self, x: list, fact: str) -> Answer:
        """A fact of which rules are sure, and sure of another value."""
        word = self.k.words.kinds[x[0].kind].words[fact]
        rows = [
            Row("Stands" if i == 0 else "against", text, src, rank=i)
            for i, (text, src) in enumerate(Working(self.w).fact(x, fact))
        ]
        return Answer(
            "NO.",
            f"{fact} of {short(x)} is {show(x[word.slot], word.unit)}, and rules say so.",
            rows,
            root=f"fact:{x[0].id}/{fact}",
            on=x[0].id,
        )

    def _so_told(
        self, other: Why, x: list, fact: str, shown: str, changes: list[tuple], before: dict
    ) -> Answer:
        """The answer while a value is told; *before* is what each smaller-of and larger-of was."""
        new, open_ = self.worse(x, changes), self.unsettled(x, changes)
        rows: list[Row] = []
        root = f"fact:{x[0].id}/{fact}"
        failing = [(r, t) for r, t, a in other.judged(other._circuit(x)) if a == FAILS]
        # what fails for another reason says nothing of this value
        rejects = new or [(r, t) for r, t in failing if root in support(other.w, r, t).nodes]
        bound = other._bound(x, fact, before)
        if open_ and not rejects:
            r, n = open_[0], len(open_)
            refused = r[0].verb == "refers"
            rows = [
                Row(
                    "Refused" if refused else "Waits",
                    (
                        str(r[0].d["refers"])
                        if refused
                        else "; ".join(dict.fromkeys(r.id for r, _ in open_[:4]))
                    ),
                    other.source(*r) if refused else "",
                    rank=0,
                )
            ]
            rows += [
                Row("Look", f"{m.ask} Look: {m.look}.", rank=2)
                for m in (() if refused else needs(other.w, *r)[:2])
            ]
            alone = all(t.verb == "should" for t, _ in open_)
            tail = (
                "no law rejects it; advice could then not be told."
                if alone
                else f"{n} requirement{'s' if n != 1 else ''} could then not be told."
            )
            return Answer(
                "CAN'T TELL.",
                f"{begun(fact)} {shown} of {short(x)}: {tail}",
                rows,
                root=root,
                on=x[0].id,
            )
        beyond = self._beyond(x, fact, changes)
        if beyond and not rejects:
            rows = [
                Row("Not checked" if n == 0 else "", str(r.d["lacks"]), self.source(r, t), rank=n)
                for n, (r, t) in enumerate(beyond[:2])
            ]
            return Answer(
                "CAN'T TELL.",
                f"{begun(fact)} {shown} of {short(x)}: what judged it is not for this value, and"
                " nothing here takes its place.",
                rows,
                root=root,
                on=x[0].id,
            )
        advice = [
            Row(
                "Advice" if n == 0 else "",
                f"{r.said} {other.check(r, t) if isinstance(r.test, ex.Cmp) else ''}".strip(),
                other.source(r, t),
                rank=3 + n,
            )
            for n, (r, t) in enumerate(self.advised(x, changes)[:2])
        ]
        if not rejects:
            now = {(r.id, t[0].id) for r, t in failing}
            mended = [
                key[0]
                for key, a in self.standing(x, JUDGING).items()
                if a == FAILS and key not in now
            ]
            rows = [Row("Mends", "; ".join(dict.fromkeys(mended)), rank=1)] if mended else []
            rows += advice
            rows += [Row("But", bound[0], bound[1])] if bound else []
            rows += (
                [
                    Row(
                        "Besides",
                        "; ".join(f"{i} fails" for i in dict.fromkeys(r.id for r, _ in failing[:4]))
                        + ", whatever this is",
                        rank=6,
                    )
                ]
                if failing
                else []
            )
            return Answer(
                "YES.",
                f"Nothing rejects {fact} {shown} of {short(x)}.",
                rows + [Row("Taken", f"NEC {self.k.edition}; everything else as told.")],
                root=root,
                on=x[0].id,
            )
        for r, t in rejects[:4]:
            rows.append(
                Row(
                    "Fails" if not rows else "",
                    f"{r.said} {other.check(r, t) if isinstance(r.test, ex.Cmp) else ''}".strip(),
                    other.source(r, t),
                    rank=len(rows),
                )
            )
        turned = [next((f for f in unless(other.w, r, t, None)), None) for r, t in rejects]
        worst = rejects[0]
        head = f"{begun(fact)} {shown} of {short(x)}: " + (
            f"{len(new)} requirement{'s' if len(new) != 1 else ''} would newly fail."
            if new
            else "it would not mend what fails."
        )
        answer = Answer(
            "NOT YET." if all(turned) else "NO.",
            head,
            rows,
            root=f"rule:{worst[0].id}@{worst[1][0].id}",
            rule=worst[0].id,
            on=worst[1][0].id,
        )
        # an exception that nobody has shown
        for e, y in {f["exception"]: t for f, (_, t) in zip(turned, rejects) if f}.items():
            answer.rows.append(
                Row(
                    "Unless",
                    other.in_short(self.k.rules[e], y),
                    self.source(self.k.rules[e], y),
                    rank=2,
                )
            )
        if bound:
            answer.rows.append(Row("Binds", bound[0], bound[1], rank=2))
        if worst[0].d.get("because"):
            answer.rows.append(Row("Why", str(worst[0].d["because"]), rank=2))
        return answer

    def _beyond(self, x: list, fact: str, changes: list[tuple]) -> list[tuple[Rule, list]]:
        """Where a requirement that compares a fact no longer applies under *changes*: what is not
        checked there and was before.
        """
        before = self.standing(x, ("lacks",))
        with self.other(changes) as other:
            now = {(r.id, t[0].id) for r, t, _ in other.judged(other._circuit(x))}
            lacking = [
                (r, t) for r, t, a in other.judged(other._circuit(x), ("lacks",)) if a == LACKS
            ]
        with self.other([]) as told:
            if not any(
                self.k.rules[rule].verb != "should"
                and told.compares(self.k.rules[rule], self.w.things[thing], x[0].id, fact)
                for rule, thing in self.standing(x, JUDGING)
                if (rule, thing) not in now
            ):
                return []
        return [(r, t) for r, t in lacking if before.get((r.id, t[0].id)) != LACKS]

    def _extremes(self) -> dict[tuple, object]:
        """(thing, fact) -> what every fact is worth that is the smaller or the larger of
        something.
        """
        return {
            (y[0].id, f.word.name): y[f.word.slot]
            for r in self.k.rules.values()
            if (ys := self.w.by_kind[r.about])
            for f in r.fills
            if isinstance(f.expr, ex.Extreme)
            for y in ys
        }

    def _bound(self, x: list, fact: str, before: dict):
        """For a fact that enters a `smaller of`, whose worth is what it was *before*: which operand
        binds instead.
        """
        for kind, ys in self.w.by_kind.items():
            for r in self.k.rules.values() if ys else ():
                if r.about != kind:
                    continue
                for f in r.fills:
                    if isinstance(f.expr, ex.Extreme):
                        for y in ys:
                            for e in (
                                f.expr.xs
                                if y[f.word.slot] is not None
                                and y[f.word.slot] == before[y[0].id, f.word.name]
                                else ()
                            ):
                                for p in ex.walk(e):
                                    if (
                                        isinstance(p, ex.Path)
                                        and p.names
                                        and p.names[-1] == fact
                                        and not p.member
                                        and p.holder(y, None) is x
                                    ):
                                        work = Working(self.w)
                                        bound = work.binding(f.expr, y)
                                        if (
                                            bound is not e
                                            and not isinstance(bound, ex.Num)
                                            and p not in list(ex.walk(bound))
                                        ):
                                            lines = work.unfold(bound, y, None, self.source(r, y))
                                            if lines:
                                                return (
                                                    (
                                                        f"{f.word.name} is"
                                                        f" {show(y[f.word.slot], f.word.unit)} by"
                                                        f" {lines[-1][0]}"
                                                    ),
                                                    lines[-1][1],
                                                )
        return None
