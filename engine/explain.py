"""Short answers: YES / NO / NOT YET / CAN'T TELL first, then needed, have, check, what won't help, what passes, why.

An answer is plain data (rows of label, text, section); a terminal, a page or a program shows it. Every number in it
is a node of the derivation graph.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from . import expressions as ex
from .chain import ADVICE, FAILS, OFF, PASSES, SET_ASIDE, TELL, World
from .errors import suggest
from .expressions import NONE, members
from .findings import Need, needs, needs_of_fact, passes_under, turning, unless, word_of
from .graph import Explainer, plain, say, short, show, unit_shown
from .rules import JUDGING, Rule
from .units import NOTHING, Range, in_unit, number_text, parse_quantity
from .whatif import WhatIf
from .working import Working, flatten


@dataclass
class Row:
    """One line of an answer: its label, what it says, and who says so."""

    label: str
    text: str
    source: str = ""
    rank: int = 5            # what is left out first when the answer is too long: the highest


@dataclass
class Answer:
    """An answer to one question."""

    word: str
    sentence: str
    rows: list[Row] = field(default_factory=list)
    plain: list[str] = field(default_factory=list)
    root: str = ""           # the node of the graph it answers from
    rule: str = ""
    on: str = ""

    def as_dict(self) -> dict:
        return {"answer": self.word, "sentence": self.sentence, "rows": [{"label": r.label, "text": r.text, "source": r.source} for r in self.rows], "plain": self.plain, "root": self.root, "rule": self.rule, "on": self.on}


class Unclear(Exception):
    """A question that names something that is not there; the message says what is."""


SEVERITY = {FAILS: 0, TELL: 1, ADVICE: 2, PASSES: 3, SET_ASIDE: 3}
TITLES = {"law": "NEC", "local": "", "maker": "", "practice": ""}


class Why:
    """Answers questions about one finished run."""

    def __init__(self, w: World, whatif: WhatIf) -> None:
        self.w, self.k, self.whatif = w, w.k, whatif

    # ---- finding what is asked about
    def thing(self, words: list[str]) -> tuple[list, list[str]]:
        """The thing that *words* name, and the words left over."""
        for n in range(len(words), 0, -1):
            said = " ".join(words[:n]).replace(".", " ").replace("'s", "").lower()
            hit = self._things(said)
            if len(hit) == 1 or (hit and n == len(words)):
                return hit[0], words[n:]
            if hit:
                best = [x for x in hit if " ".join(x[0].id.lower().split(".")[1:]) == said or x[0].name.lower() == said]
                return (best or hit)[0], words[n:]
        names = [short(x) for xs in self.w.by_kind.values() for x in xs if x[0].id != "job"]
        raise Unclear(f'nothing in this job is called "{" ".join(words)}"\n    {suggest(" ".join(words), names, 40)}')

    def _things(self, said: str) -> list[list]:
        out = []
        for xs in self.w.by_kind.values():
            for x in xs:
                full = x[0].id.lower().replace(".", " ")
                tail = " ".join(full.split(" ")[1:]) if " " in full else full
                names = {full, tail, short(x).lower(), x[0].name.lower()} | {tail.replace(x[0].kind.lower(), a.lower()) for a in self.k.words.kinds[x[0].kind].also}
                if x[0].id.startswith("circuits.") and len(x[0].id.split(".")) > 2:
                    part = x[0].id.split(".", 2)[2].replace(".", " ").lower()
                    circuit = x[0].id.split(".")[1].lower()
                    for a in self.k.words.kinds[x[0].kind].also + (self.k.words.kinds[x[0].kind].name,):
                        names.add(f"{circuit} {a.lower()}")
                    names.add(f"{circuit} {part.rstrip('s')}")
                if said in names:
                    out.append(x)
        return sorted(out, key=lambda x: (len(x[0].id), x[0].id))

    def question(self, words: list[str]) -> Answer:
        """Answer `why SUBJECT [ATTRIBUTE or RULE]`."""
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
            holder = x if x[0].kind == rule.about else next((y for y in self.w.by_kind[rule.about] if y[0].id.startswith(x[0].id + ".")), x)
            return self.fact(holder, rule.picks.name)
        if rule is not None:
            return self.rule_on(rule, x)
        if what in self.k.absent:
            return self.absent(what)
        fact, holder = self.fact_of(x, what)
        if fact is None:
            raise Unclear(f'{short(x)} has no "{what}", and no rule is called so\n    {suggest(what, [*self.k.words.known(x[0].kind), *[r.id for r in self.k.rules.values() if r.about == x[0].kind]])}')
        return self.fact(holder, fact)

    def fact_of(self, x: list, what: str) -> tuple[str | None, list]:
        """A fact of *x*, or of one of its own parts, under any of its names."""
        return next(iter(self.facts_of(x, what)), (None, x))

    def facts_of(self, x: list, what: str) -> list[tuple[str, list]]:
        """Every fact that *what* may mean: the name itself before other names for it, the thing before its parts."""
        things = [x] + [x[w.slot] for w in self.k.words.kinds[x[0].kind].words.values() if w.part in ("one", "optional") and isinstance(x[w.slot], list)]
        low, out = what.lower(), []
        for alias in (False, True):
            for y in things:
                kind = self.k.words.kinds[y[0].kind]
                names = {n.lower(): t for n, t in kind.aliases.items() if t not in kind.short} if alias else {n.lower(): n for n in kind.words}
                if low in names and (names[low], y) not in out:
                    out.append((names[low], y))
        return out

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
        return Answer("NOT IN FORCE.", f"{rule_id} is not in the {self.k.edition} edition.", [Row("Says", r.said), Row("In", ", ".join(f"{e}: {s}" for e, s in r.d.get("code", {}).items()))], rule=rule_id)

    def rule_on(self, r: Rule, x: list) -> Answer:
        """A rule asked about on a thing, or on the part of it that the rule is about."""
        if r.about != x[0].kind:
            inside = [y for y in self.w.by_kind[r.about] if y[0].id.startswith(x[0].id + ".") or x[0].id.startswith(y[0].id + ".")]
            if not inside:
                raise Unclear(f"{r.id} is about {r.about}, and {short(x)} has none\n    ask about: " + ", ".join(short(y) for y in self.w.by_kind[r.about]) if self.w.by_kind[r.about] else f"{r.id} is about {r.about}, and this job has none")
            x = min(inside, key=lambda y: SEVERITY.get(self.w.answer(r, y), 9))
        if r.verb in JUDGING and self.w.answer(r, x) not in (OFF,):
            return self.finding(r, x)
        return self.not_judged(r, x)

    # ---- a subject as a whole
    def judged(self, x: list) -> list[tuple[Rule, list, str]]:
        """Everything judged about *x* and its parts, the worst first."""
        out = []
        for kind, ys in self.w.by_kind.items():
            for y in ys:
                if y is x or y[0].id.startswith(x[0].id + ".") or self._hangs_on(y, x):
                    for r in self.k.rules.values():
                        if r.about == kind and r.verb in JUDGING and (a := self.w.answer(r, y)) != OFF:
                            out.append((r, y, a))
        return sorted(out, key=lambda t: (SEVERITY[t[2]], self.tightness(t[0], t[1]), t[0].id))

    def _hangs_on(self, y: list, x: list) -> bool:
        link = self.k.words.kinds[y[0].kind].words.get(x[0].kind)
        return link is not None and not link.part and y[0].kind != "job" and x[0].id != "job" and y[link.slot] is x

    def tightness(self, r: Rule, x: list) -> float:
        """How near a comparison is to its limit: for ordering only."""
        c = r.test
        if isinstance(c, ex.Cmp) and c.order is None:
            a, b = c.sides(x, None)
            if plain(a) and plain(b) and b != 0:
                return float(abs(in_unit(a, None) - in_unit(b, None)) / abs(in_unit(b, None)))
        return 9.0

    def subject(self, x: list) -> Answer:
        """Is it right, and what decides it?"""
        found = self.judged(x)
        if not found:
            ns = [f for f in self.k.words.kinds[x[0].kind].words if self.k.words.kinds[x[0].kind].words[f].type[0] not in ("ref", "many")]
            return Answer("NOTHING IS JUDGED", f"about {short(x)}.", [Row("Ask", "why " + short(x) + " " + (ns[0] if ns else ""))])
        r, y, a = found[0]
        if a in (FAILS, TELL):
            answer = self.finding(r, y)
            more = [t for t in found[1:] if t[2] in (FAILS, TELL)]
            if more:
                answer.rows.append(Row("Also", "; ".join(f"{t[0].id} {t[2]}" for t in more[:3]) + (f" and {len(more) - 3} more" if len(more) > 3 else ""), rank=6))
            return answer
        return self.all_pass(x, found)

    def all_pass(self, x: list, found: list) -> Answer:
        """YES: the checks it passes, the tightest first, and the rules that are set aside."""
        head = next(((r, y, a) for r, y, a in found if r.d.get("answers", {}).get("passes") and a == PASSES and self.tightness(r, y) < 9), next(((r, y, a) for r, y, a in found if a == PASSES), found[0]))
        answer = Answer("YES.", self.sentence(head[0], head[1], PASSES), root=f"rule:{head[0].id}@{head[1][0].id}", rule=head[0].id, on=head[1][0].id)
        shown = 0
        work = Working(self.w)
        for r, y, a in found:
            if a == PASSES and isinstance(r.test, ex.Cmp) and shown < 4 and self.tightness(r, y) < 9:
                answer.rows.append(Row("Check", self.check(r, y), self.source(r), rank=1 + shown))
                shown += 1
            elif a == ADVICE:
                answer.rows.append(Row("Advice", f"{r.said} {self.check(r, y) if isinstance(r.test, ex.Cmp) else ''}".strip(), self.source(r), rank=6))
        aside = [(r, y) for r, y, a in found if a == SET_ASIDE]
        for r, y in aside[:3]:
            e = next(e for e in self.k.order.exceptions[r.id] if self.w.holds(e, y) is True)
            answer.rows.append(Row("Set aside", f"{r.said} But: {e.said}", self.source(e), rank=4))
        answer.rows.append(Row("Why", str(head[0].d.get("because", "")), rank=3))
        self.taken(answer, head[0], head[1], work)
        answer.rows = [row for row in answer.rows if row.text]
        answer.plain = self.plain_lines(head[0], head[1], PASSES)
        return answer

    # ---- one finding
    def finding(self, r: Rule, x: list) -> Answer:
        """Answer for one judging rule on one thing (or on a row that is tried)."""
        a = self.w.answer(r, x)
        flips = unless(self.w, r, x, self.whatif) if a == FAILS else []
        word = {PASSES: "YES.", SET_ASIDE: "YES.", FAILS: "NOT YET." if flips else "NO.", TELL: "CAN'T TELL.", ADVICE: "ADVICE."}[a]
        unread = [f for f in flips if "assumed" in f]
        answer = Answer(word, self.undecided(unread[0]) if unread else self.sentence(r, x, a), root=f"rule:{r.id}@{x[0].id}", rule=r.id, on=x[0].id)
        work = Working(self.w)
        self.sides(answer, r, x, work)
        if isinstance(r.test, ex.Cmp):
            answer.rows.append(Row("Check", self.check(r, x), self.source(r), rank=0))
        elif a != PASSES:
            answer.rows.append(Row("Rule", r.said, self.source(r), rank=0))
        if a == SET_ASIDE:
            e = next(e for e in self.k.order.exceptions[r.id] if self.w.holds(e, x) is True)
            answer.rows.append(Row("Exception", e.said, self.source(e), rank=1))
        if a == TELL:
            self.look_up(answer, r, x, needs(self.w, r, x))
        for flip in flips:
            self.flip(answer, r, x, flip)
        if a == FAILS:
            self.beside(answer, r, x)
        if a in (FAILS,):
            self.wont_help(answer, r, x, flips, work)
        if a in (FAILS, ADVICE) and not unread:
            self.passes(answer, r, x, flips)
        because = str(r.d.get("because", ""))
        if because:
            answer.rows.append(Row("Why", because, rank=2))
        self.taken(answer, r, x, work)
        self.doubts(answer, r, work)
        answer.plain = self.plain_lines(r, x, a, bool(flips))
        return answer

    def source(self, r: Rule) -> str:
        return r.section(self.k.edition) or "" if r.layer in ("law", "local") else ""

    def sentence(self, r: Rule, x: list, a: str) -> str:
        """What the headline says after its word."""
        said = r.d.get("answers", {})
        key = "passes" if a in (PASSES, SET_ASIDE) else "cannot tell" if a == TELL else "fails"
        text = said.get(key)
        if text:
            filled = self.fill(str(text), r, x)
            if filled:
                return filled
        if a == TELL:
            ns = needs(self.w, r, x)
            return f"{len(ns)} fact{'s' if len(ns) != 1 else ''} nobody told decide{'' if len(ns) != 1 else 's'} this." if ns else "A number is missing, and the Code gives no default."
        if isinstance(r.test, ex.Cmp) and r.test.order is None:
            have, needed = self.side_texts(r, x)
            m = self.margin(r, x)
            return f"{short(x).capitalize()}: {have} against {needed}" + (f", {m}." if m else ".")
        return r.said

    def fill(self, text: str, r: Rule, x: list) -> str | None:
        """A sentence with its facts filled in; None where one of them is not known."""
        have, needed = self.side_texts(r, x) if isinstance(r.test, ex.Cmp) else ("", "")

        def one(m):
            name = m[1]
            if name in ("have", "needed"):
                return {"have": have, "needed": needed}[name]
            if name == "margin":
                return self.margin(r, x).rsplit(" ", 1)[0] if isinstance(r.test, ex.Cmp) and self.margin(r, x) not in ("at the limit", "") else "nothing"
            v = self.value_of(x, name)
            if v is None:
                raise KeyError(name)
            return v

        def maybe(m):
            try:
                return re.sub(r"\{([^{}]+)\}", one, m[1])
            except KeyError:
                return ""

        try:
            return re.sub(r"\{([^{}]+)\}", one, re.sub(r"\[([^\[\]]*\{[^\[\]]*)\]", maybe, text))
        except KeyError:
            return None

    def value_of(self, x: list, path: str) -> str | None:
        names = self.k.words.spell(x[0].kind, tuple(n.strip() for n in reversed(path.split(" of "))))
        o = x
        for i, n in enumerate(names):
            w = self.k.words.kinds[o[0].kind].words.get(n)
            v = o[w.slot] if w is not None else None
            if v is None or v is NONE or v is NOTHING:
                return None
            if i == len(names) - 1:
                return show(v, unit_shown(o, n, w.unit))
            if w.type[0] == "many":   # of a list: what all its members share
                said = {self.value_of(y, " of ".join(reversed(names[i + 1:]))) for y in members(v)}
                return said.pop() if len(said) == 1 else None
            if not isinstance(v, list):
                return None
            o = v
        return None

    def side_texts(self, r: Rule, x: list) -> tuple[str, str]:
        c = r.test
        work = Working(self.w)
        return show(c.a.ev(x, None), work.unit(c.a, x)), show(c.b.ev(x, None), work.unit(c.b, x) if not isinstance(c.b, ex.Arith) else c.b.unit)

    def margin(self, r: Rule, x: list) -> str:
        c = r.test
        if not isinstance(c, ex.Cmp) or c.order is not None:
            return ""
        a, b = c.sides(x, None)
        if not (plain(a) and plain(b)):
            return ""
        unit = c.a.unit
        gap = abs(in_unit(a, unit) - in_unit(b, unit))
        ok = c.ev(x, None)
        if r.verb == "must not":
            ok = not ok
        if gap == 0:
            return "at the limit"
        size = number_text(gap) + (f" {unit}" if unit and unit != "count" else "")
        least = c.op in (">=", ">")
        return f"{size} {'to spare' if ok else 'short' if least else 'over'}"

    def check(self, r: Rule, x: list) -> str:
        """`55 A >= 60 A?  No, 5 A short.`"""
        have, needed = self.side_texts(r, x)
        v = r.test.ev(x, None)
        if r.verb == "must not" and v is not None and v is not NOTHING:
            v = not v
        m = self.margin(r, x)
        what = ""
        if isinstance(r.test.b, ex.Path) and r.test.b.names and r.test.b.names[-1] in ("MCA", "MOCP"):
            what = r.test.b.names[-1] + " "
        return f"{have} {r.test.op} {what}{needed}?  " + ("Yes" if v is True else "Can't tell" if v is None else "No") + (f", {m}." if m else ".")

    # ---- rows
    def sides(self, answer: Answer, r: Rule, x: list, work: Working) -> None:
        """What is needed, and what there is: each side of the comparison carried out."""
        said = r.d.get("answers", {})
        for name, s in r.steps.items():
            lines = work.unfold(s.of, x, None, self.source(r))
            if lines:
                answer.rows.append(Row(name.capitalize()[:12], lines[-1][0], lines[-1][1], rank=2))
        if not isinstance(r.test, ex.Cmp):
            return
        for label, e, default in ((said.get("needed"), r.test.b, "Needed"), (said.get("have"), r.test.a, "Have")):
            if isinstance(e, (ex.Num, ex.Word_)):
                continue
            if isinstance(e, ex.Path):
                lines = work.unfold(e, x, None, "")
            else:
                v = e.ev(x, None)
                lines = [(f"{work.work(e, x)} = {show(v, e.unit)}" if not isinstance(e, (ex.Look, ex.Num)) else work.unfold(e, x)[0][0], self.source(r) if not isinstance(e, ex.Look) else self.k.section(e.table.id))]
                for p in ex.walk(e):
                    if isinstance(p, ex.Path) and p.names:
                        o = p.holder(x, None)
                        if isinstance(o, list):
                            work.unfold(p, x)
            for i, (text, src) in enumerate(lines):
                answer.rows.append(Row(str(label or default) if i == 0 else "", text, src, rank=1 if i == 0 or i == len(lines) - 1 else 3))

    @staticmethod
    def undecided(flip: dict) -> str:
        """The headline of a NOT YET that rests on what nobody has read."""
        facts = [f.split(" of ")[0] for f in flip["assumed"]]
        number = {1: "One", 2: "Two", 3: "Three"}.get(len(facts), str(len(facts)))
        return f"{number} {facts[0]}{'s' if len(facts) > 1 else ''} nobody has read decide{'' if len(facts) > 1 else 's'} this; until then, no."

    def beside(self, answer: Answer, r: Rule, x: list) -> None:
        """What is right and would otherwise be "mended": the rules that `beside:` names, where they pass."""
        for i in r.d.get("answers", {}).get("beside", []):
            other = self.k.rules.get(str(i))
            for y in self.w.by_kind.get(other.about, ()) if other is not None else ():
                if self._circuit(y) is self._circuit(x[0].slot or x) and self.w.answer(other, y) == PASSES:
                    said = other.d.get("answers", {}).get("right")
                    said = self.fill(str(said), other, y) if said else self.sentence(other, y, PASSES)
                    if len(f"{answer.word} {answer.sentence} {said}") <= 80:
                        answer.sentence += f" {said}"
                    else:
                        answer.rows.append(Row("Right", said, self.source(other), rank=3))

    def look_up(self, answer: Answer, r: Rule, x: list, ns: list[Need]) -> None:
        """What to look for, and what each answer would mean."""
        for n in ns[:3]:
            answer.rows.append(Row("Look", f"{n.ask} Look: {n.look}." + (f" {n.careful}" if n.careful else ""), rank=1))
        if len(ns) == 1 and not x[0].plane:
            n = ns[0]
            w = word_of(self.w, n.of, n.fact)
            values = [("yes", True), ("no", False)] if w.type[0] == "flag" else [(c, c) for c in w.type[1]] if w.type[0] == "choice" and len(w.type[1]) <= 4 else []
            for said, v in values:
                other = Why(self.whatif.run([(n.of, n.fact, v)]), self.whatif)
                y = other.w.things.get(x[0].id)
                if y is None:
                    continue
                a = other.w.answer(r, y)
                m = other.margin(r, y)
                answer.rows.append(Row(f"If {said}", f"{'passes' if a in (PASSES, SET_ASIDE) else 'does not apply' if a == OFF else a}" + (f", {m}" if m and a != OFF else "") + (f" ({other.check(r, y).split('?')[0]})" if isinstance(r.test, ex.Cmp) and a in (PASSES, FAILS) else ""), rank=2))

    def flip(self, answer: Answer, r: Rule, x: list, flip: dict) -> None:
        if "exception" in flip:
            e = self.k.rules[flip["exception"]]
            answer.rows.append(Row("Unless", e.said, self.source(e), rank=1))
            for d in self.k.order.exceptions.get(e.id, ()):
                if self.w.holds(d, x) is None:
                    answer.rows.append(Row("But", d.said, self.source(d), rank=2))
            for ask, outcome in zip(dict.fromkeys(flip["ask"]), self.outcomes(r, x, e)):
                answer.rows.append(Row("Tell me", f"{ask} {outcome}".strip(), rank=1))
            return
        changes = turning(self.w, r, x, self.whatif)
        other = Why(self.whatif.run(changes), self.whatif)
        y = other.w.things[x[0].id]
        things = " and ".join(short(self.w.things[t]) for t, _, _ in changes)
        t0, f0, v0 = changes[0]
        word = word_of(self.w, t0, f0)
        now = self.w.things[t0][word.slot]
        e = Explainer(self.w)
        _, by = e.origin(self.w.things[t0], f0)
        src = self.k.section(by) if by else ""
        kind = short(self.w.things[t0]).split(" ")[-1]
        answer.rows.append(Row("Unread", f"counts as {show(now, word.unit)}: {self.side_texts(r, x)[0]}, {self.margin(r, x)}", src, rank=1))
        answer.rows.append(Row(f"If {show(v0, word.unit).split()[0]}", f"{'both' if len(changes) == 2 else 'the ' + kind} marked {show(v0, word.unit)}: {other.side_texts(r, y)[0]}, {other.margin(r, y)}. Passes.", rank=1))
        looks = [f"{i} {short(self.w.things[t]).removeprefix(self._circuit(self.w.things[t])[0].name + ' ')}: {self.look_of(t, f)}." for i, (t, f, _) in enumerate(changes, 1)]
        answer.rows.append(Row("Look", f"{word.careful} " * bool(word.careful) + " ".join(looks) + (f" Want {show(v0, word.unit)} at BOTH: the lower end decides." if len(changes) == 2 else ""), rank=1))
        self.no_mark(answer, r, x)

    def outcomes(self, r: Rule, x: list, e: Rule) -> list[str]:
        """What each answer to an exception's open question would mean."""
        ns = needs(self.w, e, x) or [n for d in self.k.order.exceptions.get(e.id, ()) for n in needs(self.w, d, x)]
        out = []
        for n in ns:
            w = word_of(self.w, n.of, n.fact)
            said = ""
            if w.type[0] == "flag" and not x[0].plane:
                yes, no = (passes_under(r, x, self.whatif, [(n.of, n.fact, v)]) for v in (True, False))
                said = f"Yes: {'passes' if yes else 'fails'}. No: {'passes' if no else 'fails'}."
            out.append(said)
        return out

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
            answer.rows.append(Row("No mark?", f"Then the default stands. Use {show(y[0].row, p.tries_table.unit(p.tried.name))}: {self.side_texts(r, y)[0]} passes either way.", rank=2))

    def chosen(self, r: Rule, x: list):
        """The row a pick took for the thing of *x*, if *r* is one of the tests it passed."""
        slot = x[0].slot or x
        for p in self.k.rules.values():
            if p.verb == "tries" and p.about == r.about and r in self.k.order.tests[p.id]:
                row, waiting = self.w.picked.get((p.id, slot[0].id), (None, []))
                if row is not None and not waiting and row[0].row != (x[0].row if x[0].plane else x[p.tried.slot]):
                    return row, p
        return None

    def wont_help(self, answer: Answer, r: Rule, x: list, flips: list[dict], work: Working) -> None:
        """The rules a person is about to argue with, and the defaults that change nothing."""
        said = []
        argued = [str(i) for i in r.d.get("answers", {}).get("argued", [])]
        for i in [*argued, *reversed(work.used)]:
            e = self.k.rules.get(i)
            if e is None or not e.d.get("limits") or e.id == r.id or any(f.get("exception") == e.id for f in flips):
                continue
            said.append(Row("", str(e.d["limits"]), self.source(e), rank=3 if i in argued else 4))
        for n, row in enumerate(said[:2]):
            row.label = "Won't help" if n == 0 else ""
            answer.rows.append(row)

    def passes(self, answer: Answer, r: Rule, x: list, flips: list[dict]) -> None:
        """What would pass, each with its own number."""
        ways: list[str] = []
        best = self.chosen(r, x)
        if best is not None and not any("assumed" in f for f in flips):
            y, p = best
            ways.append(f"{show(y[0].row, p.tries_table.unit(p.tried.name))}: {self.with_margin(self, r, y)}")
        if not x[0].plane or r.about:
            ways += self.ways_out(r, x)
        ways += self.thresholds(r, x)
        for hint in r.d.get("answers", {}).get("hints", []):
            if (text := self.fill(str(hint), r, x)) is not None:
                ways.append(text)
        for i, w in enumerate(ways[:3]):
            answer.rows.append(Row("Passes" if i == 0 else "", w, rank=2 + i))
        if not ways:
            slot = (x[0].slot or x)[0].id
            for p in self.k.rules.values():
                if p.verb == "tries" and p.about == r.about and r in self.k.order.tests[p.id] and self.w.picked.get((p.id, slot), (None, [1]))[0] is None and self.w.rows_of.get((p.id, slot)) and not self.w.picked[p.id, slot][1]:
                    answer.rows.append(Row("Passes", f"no {p.tried.name} in this wiring method passes every test", rank=3))
                    break

    @staticmethod
    def with_margin(why: "Why", r: Rule, y: list) -> str:
        if isinstance(r.test, ex.Cmp):
            m = why.margin(r, y)
            return why.side_texts(r, y)[0] + (f" ({m})" if m else "")
        return "passes"

    def ways_out(self, r: Rule, x: list) -> list[str]:
        """Single changes of facts it rests on, and the ways out that the packs name, tried by running the job again."""
        out = []
        slot = x[0].slot or x
        extra = [(slot[0].id, w.name, x[0].row) for w in self.k.words.kinds[x[0].kind].words.values() if x[0].plane and w.slot and w is self.k.rules[x[0].plane].tried]
        for way in self.k.ways:
            if str(way.get("about")) != x[0].kind or (r.id not in [str(i) for i in way.get("for", [r.id])]):
                continue
            changes = self.changes_of(slot, way["change"])
            if not changes or all(self._is(c) for c in changes):
                continue
            other = Why(self.whatif.run(changes + extra), self.whatif)
            y = other.w.things[slot[0].id]
            if other.w.answer(r, y) in (PASSES, SET_ASIDE) and not self._worse(other.w, slot, r):
                out.append(f"{self.fill_size(str(way['way']), y)}: {self.with_margin(other, r, y)}")
        return out

    def fill_size(self, text: str, y: list) -> str:
        def one(m):
            return self.value_of(y, m[1]) or m[1]

        return re.sub(r"\{([^{}]+)\}", one, text)

    def _worse(self, other: World, slot: list, r: Rule) -> bool:
        """Does a way out break something of this thing that passed before?"""
        for t in self.k.rules.values():
            if t.about == slot[0].kind and t.verb in ("must", "must not") and t is not r:
                before, after = self.w.answer(t, slot), other.answer(t, other.things[slot[0].id])
                if after == FAILS and before != FAILS:
                    return True
        return False

    def _is(self, change) -> bool:
        t, f, v = change
        return self.w.things[t][word_of(self.w, t, f).slot] == v

    def changes_of(self, x: list, change: dict) -> list[tuple]:
        """A way's changes as (thing, fact, value): paths from the thing, a list meaning each of its members."""
        out = []
        for path, text in change.items():
            names = self.k.words.spell(x[0].kind, tuple(n.strip() for n in reversed(str(path).split(" of "))))
            holders = [x]
            for n in names[:-1]:
                nxt = []
                for h in holders:
                    v = h[self.k.words.kinds[h[0].kind].words[n].slot]
                    nxt += [v] if isinstance(v, list) and v and hasattr(v[0], "kind") else members(v)
                holders = nxt
            for h in holders:
                w = self.k.words.kinds[h[0].kind].words[names[-1]]
                out.append((h[0].id, names[-1], parse_quantity(str(text), w.unit)[0] if w.unit else {"yes": True, "no": False}.get(str(text), str(text)) if w.type[0] == "flag" else str(text)))
        return out

    def thresholds(self, r: Rule, x: list) -> list[str]:
        """Where the answer flips: a told number moved to the rows of the tables it is looked up in, or to the limit itself."""
        out = []
        for thing, fact, points in self.turning_points(r, x):
            word = word_of(self.w, thing, fact)
            unit = unit_shown(self.w.things[thing], fact, word.unit)
            for v in points:
                slot = x[0].slot or x
                extra = [(slot[0].id, self.k.rules[x[0].plane].tried.name, x[0].row)] if x[0].plane else []
                other = Why(self.whatif.run([(thing, fact, v)] + extra), self.whatif)
                y = other.w.things[slot[0].id]
                if other.w.answer(r, y) in (PASSES, SET_ASIDE):
                    lower = v < self.w.things[thing][word.slot]
                    size = f"{show(x[0].row, None)} " if x[0].plane else ""
                    at = show(v, unit) if unit != "°F" else f"{number_text(in_unit(v, unit).__floor__() if lower else in_unit(v, unit))} °F"
                    out.append(f"{size}at {fact} {at} or {'less' if lower else 'more'}: {self.with_margin(other, r, y)}")
                    break
        return out

    def turning_points(self, r: Rule, x: list) -> list[tuple]:
        """(thing, fact, values to try, nearest first) of told numbers that reach the answer through a table between rows."""
        out = []
        e = Explainer(self.w)
        e.rule(r, x)
        looked = {n for a, n, role in e.g.edges if role.startswith("by ") and e.g.nodes[a].kind == "step"}
        for node in looked:
            n = e.g.nodes[node]
            if n.kind != "fact" or n.data["origin"] not in ("told", "assumed") or "@" in n.data["of"]:
                continue
            thing, fact = n.data["of"], n.data["is"]
            word = word_of(self.w, thing, fact)
            v = self.w.things[thing][word.slot]
            if word.type[0] != "q" or not plain(v):
                continue
            points: set = set()
            for t in self.k.tables.values():
                for key, (how, unit) in t.keys.items():
                    if how != "exact" and key == fact and unit == word.unit:
                        points |= {row[key] for row in t.rows}
            out.append((thing, fact, sorted((p for p in points if p < v), reverse=True)))
        return out

    def taken(self, answer: Answer, r: Rule, x: list, work: Working) -> None:
        """What was taken rather than measured, where it could matter; and the edition."""
        said = []
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
            if e.layer == "practice" and e.verb in ("gives", "assumes") and any(isinstance(f.expr, ex.Word_) for f in e.fills) and e.id != r.id:
                said.append(e.said.rstrip("."))
        said = list(dict.fromkeys(said))[:3]
        answer.rows.append(Row("Taken", "; ".join(said + [f"NEC {self.k.edition}"]) + ".", rank=5))

    def support_rules(self, r: Rule, x: list) -> list[str]:
        e = Explainer(self.w)
        e.rule(r, x)
        given = {b for a, b, role in e.g.edges if role == "given by"}
        return [n.data["rule"] for i, n in e.g.nodes.items() if n.kind == "rule" and i in given]

    def doubts(self, answer: Answer, r: Rule, work: Working) -> None:
        """The doubt of the rule, or of what its numbers come from."""
        for i in (r.id, *work.used):
            d = self.k.rules[i].d if i in self.k.rules else self.k.tables[i].d if i in self.k.tables else self.k.value_items.get(i, {})
            if d.get("doubt"):
                answer.rows.append(Row("Doubt", str(d["doubt"]), rank=5 if i == r.id else 7))
                return

    def plain_lines(self, r: Rule, x: list, a: str, turned: bool = False) -> list[str]:
        """For a homeowner: the answer, what the code means by it, why, and who says so."""
        p = r.d.get("answers", {}).get("plain", {})
        lead = {PASSES: "Yes.", SET_ASIDE: "Yes.", FAILS: "Not yet." if turned else "No.", TELL: "We don't know yet.", ADVICE: "It is allowed, and we advise better."}[a]
        key = "passes" if a in (PASSES, SET_ASIDE) else "cannot tell" if a == TELL else "fails"
        out = [f"{lead} " + (self.fill(str(p[key]), r, x) or str(r.said) if key in p else self._plain_default(r, a))]
        if p.get("means"):
            out.append(self.fill(str(p["means"]), r, x) or "")
        if isinstance(r.test, ex.Cmp) and a != TELL and r.test.order is None:
            have, needed = self.side_texts(r, x)
            out.append({">=": f"It needs {needed}, and there is {have}.", ">": f"It needs more than {needed}, and there is {have}."}.get(r.test.op, f"The most allowed is {needed}, and there is {have}."))
        if turned or a == TELL:
            out.append("A look settles it; your electrician will read it. Please don't open a panel or take a cover off yourself.")
        out.append(str(p.get("why") or r.d.get("because", "")))
        if r.layer == "law":
            out.append(f"Who says so: National Electrical Code {self.k.edition}, section {r.section(self.k.edition)}.")
        elif r.layer == "practice":
            out.append("Who says so: this is our advice; the law does not demand it.")
        return [line for line in out if line]

    @staticmethod
    def _plain_default(r: Rule, a: str) -> str:
        said = r.said
        return said if a in (PASSES, SET_ASIDE) else f"This is what should be so, and is not yet shown: {said}" if a == TELL else f"This should be so, and is not: {said}"

    # ---- rules that do not judge, or do not apply
    def not_judged(self, r: Rule, x: list) -> Answer:
        a = self.w.answer(r, x)
        root = f"rule:{r.id}@{x[0].id}"
        rows = [Row("Rule", r.said, self.source(r), rank=0)]
        if a == OFF:
            for c, text in zip(r.when, r.when_text):
                v = c.ev(x, None)
                if v is False or v is NOTHING:
                    rows.append(Row("Because", f"{text}: not so ({say(c, x)})", rank=0))
            if len(rows) == 1 and r.test is not None:
                rows.append(Row("Because", f"what it compares is not there: {say(r.test, x)}"))
            if r.exception_to:
                rows.append(Row("So", "what it would set aside stands: " + ", ".join(r.exception_to)))
            return Answer("DOES NOT APPLY.", f"to {short(x)}.", rows, root=root, rule=r.id, on=x[0].id)
        if a == SET_ASIDE:
            e = next(e for e in self.k.order.exceptions[r.id] if self.w.holds(e, x) is True)
            rows.append(Row("Exception", e.said, self.source(e), rank=0))
            return Answer("SET ASIDE.", f"{r.id} gives way to {e.id} on {short(x)}.", rows, root=root, rule=r.id, on=x[0].id)
        word = {"holds": "IT APPLIES.", TELL: "CAN'T TELL."}.get(a, a.upper() + ".")
        for c, text in zip(r.when, r.when_text):
            v = c.ev(x, None)
            rows.append(Row("When", f"{text}: {'so' if v is True else 'not known' if v is None else 'not so'} ({say(c, x)})", rank=1))
        for f in r.fills:
            work = Working(self.w)
            lines = work.unfold(f.expr, x, None, self.source(r))
            rows += [Row("Gives" if i == 0 else "", f"{f.word.name}: {t}" if i == 0 else t, s, rank=1 if i == 0 else 3) for i, (t, s) in enumerate(lines)]
        if r.exception_to:
            rows.append(Row("Sets aside", ", ".join(r.exception_to), rank=2))
        if a == TELL:
            rows += [Row("Look", f"{n.ask} Look: {n.look}.", rank=2) for n in needs(self.w, r, x)[:3]]
        if r.d.get("limits"):
            rows.append(Row("Never", str(r.d["limits"]), rank=3))
        if r.d.get("because"):
            rows.append(Row("Why", str(r.d["because"]), rank=2))
        return Answer(word, f"{short(x)}.", rows, root=root, rule=r.id, on=x[0].id)

    # ---- facts
    def fact(self, x: list, fact: str) -> Answer:
        """Why a fact is what it is; a size that was told is judged, one left open shows the step below."""
        w = self.k.words.kinds[x[0].kind].words[fact]
        v = x[w.slot]
        e = Explainer(self.w)
        origin, by = e.origin(x, fact)
        root = f"fact:{x[0].id}/{fact}"
        tested = [p for p in self.k.rules.values() if p.verb == "tries" and p.about == x[0].kind and fact in (p.tried.name, p.picks.name)]
        if fact in {p.tried.name for p in tested} and origin == "told":
            found = [t for t in self.judged(x) if t[1] is x]
            if found and found[0][2] in (FAILS, TELL):
                return self.finding(found[0][0], x)
            if found:
                return self.all_pass(x, found)
        pick = next((p for p in tested if p.id == by or p.picks.name == fact), None) or next((p for p in tested if origin == "designed" and self._designed_by(by, p)), None)
        if pick is not None:
            return self.picked(pick, x, fact)
        shown = show(v, unit_shown(x, fact, w.unit))
        if origin == "disputed":
            rows = [Row("Told", show(x[0].told[fact], w.unit))] if fact in x[0].told else []
            rows += [Row("Rule", f"{g.id}: {show(x[self.k.results[g.id, fact]], w.unit)}", self.source(g)) for g in self.k.order.givers[x[0].kind, fact] if x[self.k.slots[g.id]] is True]
            return Answer("IN DISPUTE.", f"Two answers for the {fact} of {short(x)}; nothing is concluded from either.", rows + [Row("So", "find out which is right, and tell only that one.")], root=root)
        rows, work = [], Working(self.w)
        judging = self.judging_fact(x, fact)
        if judging is not None and origin not in ("unknown",):
            answer = self.finding(*judging)
            if answer.word in ("YES.", "NO.", "NOT YET.") and self.w.answer(*judging) != OFF:
                answer.sentence = f"{shown}. {answer.sentence}" if origin != "told" else answer.sentence
                return answer
        for i, (text, src) in enumerate(work.fact(x, fact)):
            rows.append(Row("From" if i == 0 else "", text, src, rank=1 if i == 0 else 2))
        if v is None or isinstance(v, Range):
            for n in needs_of_fact(self.w, x, fact)[:4]:
                rows.append(Row("Look", f"{n.ask} Look: {n.look}.", rank=1))
        if origin == "told":
            text, _, at = x[0].written.get(fact, (shown, None, ""))
            rows = [Row("Told", f'"{text}" at {at}')]
        if by and by in self.k.rules:
            r = self.k.rules[by]
            rows.append(Row("Rule", r.said, self.source(r), rank=2))
            if r.d.get("because"):
                rows.append(Row("Why", str(r.d["because"]), rank=2))
            if r.d.get("limits"):
                rows.append(Row("Never", str(r.d["limits"]), rank=4))
        word = "NOT KNOWN." if v is None else f"{shown}." if not isinstance(v, bool) else ("YES." if v else "NO.")
        answer = Answer(word, f"{fact} of {short(x)} ({origin}).", rows, root=root, on=x[0].id)
        answer.plain = [f"{fact} of {short(x)}: {shown}."] + [r.text for r in rows if r.label == "Why"]
        return answer

    def judging_fact(self, x: list, fact: str):
        """A rule of this thing whose comparison is about *fact*."""
        for r in self.k.rules.values():
            if r.about == x[0].kind and r.verb in ("must", "must not") and isinstance(r.test, ex.Cmp) and self.w.answer(r, x) != OFF:
                for p in ex.walk(r.test.a):
                    if isinstance(p, ex.Path) and p.names == (fact,) and not p.member:
                        return r, x
        return None

    def _designed_by(self, rule_id: str | None, p: Rule) -> bool:
        r = self.k.rules.get(rule_id or "")
        return r is not None and any(isinstance(f.expr, ex.Path) and f.expr.names[-1] == p.picks.name for f in r.fills)

    def picked(self, p: Rule, x: list, fact: str) -> Answer:
        """Why this size: the step below and what it fails, then what this one carries."""
        first, waiting = self.w.picked.get((p.id, x[0].id), (None, []))
        rows_of = self.w.rows_of.get((p.id, x[0].id))
        unit = p.tries_table.unit(p.tried.name)
        root = f"pick:{p.id}@{x[0].id}"
        if rows_of is None:
            ns = needs_of_fact(self.w, x, fact)
            return Answer("CAN'T TELL.", f"The {p.tried.name} of {short(x)} waits for a fact.", [Row("Look", f"{n.ask} Look: {n.look}.") for n in ns[:4]], root=root, on=x[0].id)
        if first is None and not waiting:
            y = rows_of[-1]
            bad = self.rejections(y)
            return Answer("NONE.", f"No {p.tried.name} passes every test.", [Row("Even", f"{show(y[0].row, unit)}: {r.id}: {self.check(r, y) if isinstance(r.test, ex.Cmp) else r.said}", self.source(r)) for r in bad[:3]], root=root, on=x[0].id)
        if waiting:
            ns = needs_of_fact(self.w, x, p.picks.name)
            sure = f"{show(first[0].row, unit)} is surely enough; " if first is not None else ""
            return Answer("CAN'T TELL.", f"{sure}{', '.join(show(y[0].row, unit) for y in waiting[:3])} might do.", [Row("Look", f"{n.ask} Look: {n.look}.") for n in ns[:4]], root=root, on=x[0].id)
        i = next(i for i, y in enumerate(rows_of) if y is first)
        answer = Answer(f"{show(first[0].row, unit)}.", f"The smallest {p.tried.name} that passes every requirement.", root=root, on=x[0].id)
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
                    answer.rows.append(Row(f"Not {show(below[0].row, unit)}"[:12], self.check(deciding, below), self.source(deciding), rank=0))
                for r in bad[1:3]:
                    answer.rows.append(Row("", f"{r.id}: {self.check(r, below) if isinstance(r.test, ex.Cmp) else r.said}", self.source(r), rank=4))
                answer.rows.append(Row("This one", self.check(deciding, first) if isinstance(deciding.test, ex.Cmp) else "passes", rank=1))
                answer.rule = deciding.id
        else:
            answer.rows.append(Row("Smallest", f"the first in {p.tries_table.id.replace('-', ' ')}", rank=1))
        also = [t for t in self.k.order.tests[p.id] if t.verb == "should"]
        if deciding is not None and deciding.verb == "should" and also:
            answer.rows.append(Row("Advice", "this is advice, not law; the minimum by law is " + show(self._minimum(x, p), None), rank=1))
        r = deciding or next(iter(self.k.order.tests[p.id]), None)
        if r is not None and r.d.get("because"):
            answer.rows.append(Row("Why", str(r.d["because"]), rank=2))
        if r is not None:
            self.taken(answer, r, rows_of[i - 1] if i else first, Working(self.w))
        answer.plain = [f"{show(first[0].row, unit)} is the smallest that meets the code here."] + ([str(r.d.get("answers", {}).get("plain", {}).get("why") or r.d.get("because", ""))] if r is not None else [])
        return answer

    def _minimum(self, x: list, p: Rule):
        for q in self.k.rules.values():
            if q.verb == "tries" and q.about == p.about and q.tried is p.tried and not q.also:
                return x[q.picks.slot]
        return None

    def rejections(self, y: list) -> list[Rule]:
        """The tests that reject a tried row, the nearest failing comparison first."""
        p = self.k.rules[y[0].plane]
        bad = [t for t in self.k.order.tests[p.id] if y[self.k.slots[t.id]] in (FAILS, ADVICE, TELL) and self.w.set_aside(t, y) is not True]
        return sorted(bad, key=lambda t: (t.verb == "should", self.tightness(t, y), t.id))

    # ---- why not
    def why_not(self, words: list[str]) -> Answer:
        """Answer `whynot SUBJECT ATTRIBUTE=VALUE`, or `whynot SUBJECT RULE`."""
        text = " ".join(words)
        if "=" not in text:
            x, rest = self.thing(words)
            rule = self.k.rules.get(" ".join(rest)) or self.k.rules.get("-".join(rest))
            if rule is None:
                if " ".join(rest) in self.k.absent:
                    return self.absent(" ".join(rest))
                raise Unclear("write ATTRIBUTE=VALUE (size=6 AWG) or the name of a rule\n    rules about it: " + ", ".join(r.id for r in self.k.rules.values() if r.about == x[0].kind))
            return self.rule_on(rule, x)
        left, value = text.split("=", 1)
        x, rest = self.thing(left.split())
        what = " ".join(rest)
        candidates = self.facts_of(x, what) if what else []
        if not candidates:
            raise Unclear(f'{short(x)} has no "{what}"\n    {suggest(what, self.k.words.known(x[0].kind))}')
        first: Unclear | None = None
        for fact, holder in candidates:
            try:
                return self.why_not_value(holder, fact, value.strip())
            except Unclear as e:   # "size" is the conductors' before it is the breaker's, where the value says so
                first = first or e
        raise first

    def why_not_value(self, x: list, fact: str, text: str) -> Answer:
        from .errors import Fault, Place
        from .job import Job

        w = self.k.words.kinds[x[0].kind].words[fact]
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
        pick = next((p for p in self.k.rules.values() if p.verb == "tries" and p.about == x[0].kind and p.tried.name == fact), None)
        shown = show(value, w.unit)
        if pick is not None:
            y = next((y for y in self.w.rows_of.get((pick.id, x[0].id), ()) if y[0].row == value), None)
            if y is not None:
                return self.why_not_row(pick, x, y, fact, shown)
        return self.why_not_told(x, fact, value, shown)

    def why_not_row(self, p: Rule, x: list, y: list, fact: str, shown: str) -> Answer:
        bad = self.rejections(y)
        law = [r for r in bad if r.verb != "should"]
        if not bad:
            chosen = x[p.picks.slot]
            tail = f"Nothing rejects {shown}." + (f" {show(chosen, p.tries_table.unit(p.tried.name))} is the smallest that passes." if chosen not in (None, NONE, y[0].row) else "")
            tight = min((t for t in self.k.order.tests[p.id] if y[self.k.slots[t.id]] == PASSES and isinstance(t.test, ex.Cmp)), key=lambda t: self.tightness(t, y), default=None)
            rows = [Row("Tightest", self.check(tight, y), self.source(tight))] if tight is not None else []
            return Answer("YES.", tail, rows + [Row("Taken", f"NEC {self.k.edition}.")], root=f"row:{y[0].id}?{p.id}", on=y[0].id)
        answer = self.finding(bad[0], y)
        others = bad[1:]
        if not law:
            answer.word = "ADVICE."
        for i, r in enumerate(others[:3]):
            answer.rows.insert(len(answer.rows) - 2 if len(answer.rows) > 2 else len(answer.rows), Row("Also" if i == 0 else "", f"{self.check(r, y) if isinstance(r.test, ex.Cmp) else r.said}", self.source(r), rank=3))
        answer.root = f"row:{y[0].id}?{p.id}"
        return answer

    def why_not_told(self, x: list, fact: str, value, shown: str) -> Answer:
        """A value that is not tried: tell it, run again, and show what then fails that did not before."""
        other = Why(self.whatif.run([(x[0].id, fact, value)]), self.whatif)
        rows, worst = [], None
        y = other.w.things[x[0].id]
        kind = self.k.words.kinds[x[0].kind]
        if self.k.order.givers.get((x[0].kind, fact)) and (x[0].id, fact) in other.w.disputes:
            work = Working(self.w)
            for i, (text, src) in enumerate(work.fact(x, fact)):
                rows.append(Row("Stands" if i == 0 else "against", text, src, rank=i))
            return Answer("NO.", f"{fact} of {short(x)} is {show(x[kind.words[fact].slot], kind.words[fact].unit)}, and rules say so.", rows, root=f"fact:{x[0].id}/{fact}", on=x[0].id)
        near = [(r, t, a) for r, t, a in other.judged(other._circuit(y)) if a == FAILS]
        before = {(r.id, t[0].id): a for r, t, a in self.judged(self._circuit(x))}
        new = [t for t in near if before.get((t[0].id, t[1][0].id)) != FAILS]
        for r, t, _ in (new or near)[:4]:
            worst = worst or (r, t)
            rows.append(Row("Fails" if not rows else "", f"{r.said} {other.check(r, t) if isinstance(r.test, ex.Cmp) else ''}".strip(), other.source(r), rank=len(rows)))
        bound = self._bound(x, fact)
        if not near:
            return Answer("YES.", f"Nothing rejects {fact} {shown} of {short(x)}.", ([Row("But", bound[0], bound[1])] if bound else []) + [Row("Taken", f"NEC {self.k.edition}; everything else as told.")], root=f"fact:{x[0].id}/{fact}", on=x[0].id)
        head = f"{fact} {shown} of {short(x)}: " + (f"{len(new)} requirement{'s' if len(new) != 1 else ''} would newly fail." if new else "it would not mend what fails.")
        answer = Answer("NO.", head, rows, root=f"rule:{worst[0].id}@{worst[1][0].id}", rule=worst[0].id, on=worst[1][0].id)
        if bound:
            answer.rows.append(Row("Binds", bound[0], bound[1], rank=2))
        if worst[0].d.get("because"):
            answer.rows.append(Row("Why", str(worst[0].d["because"]), rank=2))
        return answer

    def _bound(self, x: list, fact: str):
        """For a fact that enters a `smaller of`: which operand binds instead."""
        for kind, ys in self.w.by_kind.items():
            for r in self.k.rules.values():
                if r.about != kind:
                    continue
                for f in r.fills:
                    if isinstance(f.expr, ex.Extreme):
                        for y in ys:
                            for e in f.expr.xs:
                                for p in ex.walk(e):
                                    if isinstance(p, ex.Path) and p.names and p.names[-1] == fact and not p.member and p.holder(y, None) is x:
                                        work = Working(self.w)
                                        bound = work.binding(f.expr, y)
                                        if bound is not e and p not in list(ex.walk(bound)):
                                            lines = work.unfold(bound, y, None, self.source(r))
                                            if lines:
                                                return f"{f.word.name} is {show(y[f.word.slot], f.word.unit)} by {lines[-1][0]}", lines[-1][1]
        return None

    def _circuit(self, x: list) -> list:
        while x[0].whole is not None and x[0].whole[0].id != "job":
            x = x[0].whole
        return x


__all__ = ["Why", "Answer", "Row", "Unclear", "flatten"]
