"""Short answers: YES / NO / NOT YET / CAN'T TELL first, then needed, have, check, what won't help,
what passes, why.

Every number in an answer is a node of the derivation graph.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from ..basics.sentinels import NOTHING
from ..language import expressions as ex
from ..language.rules import JUDGING, Fill, Rule
from ..language.things import Thing
from ..law.places import out_of_force
from ..proving.graph import (
    Explainer,
    givers_under,
    plain,
    say,
    short,
    show,
    supporting,
    unit_shown,
)
from ..running.chain import ADVICE, FAILS, LACKS, OFF, PASSES, REFERS, SET_ASIDE, TELL, WARNS
from .amended import Edit, through, told, withdrawn_from
from .answers import Answer, Row
from .assumed import Assumed
from .findings import (
    Change,
    Need,
    needs,
    passes_under,
    turning,
    unless,
    values_of,
    whichever,
    word_of,
)
from .sentences import FAR, OPPOSITE, begun, begun_small, is_number_test, template_of
from .standing import FAULT, Place
from .subjects import SEVERITY, Judged, On
from .tiers import DECIDES
from .working import Working

UNBOUGHT = "cmil"  # the unit in which tables count metal, and nobody buys it
LESS_THAN_NOTHING = re.compile(r"-\d[\d,.]* \S+ (short|over|under|to spare)")
MOST_CHECKS = 4  # of what passes
MOST_ASKED = 3  # questions about a thing of which much is open
HEADWORD = {
    PASSES: "YES.",
    SET_ASIDE: "YES.",
    FAILS: "NO.",
    TELL: "CAN'T TELL.",
    ADVICE: "NO.",
}
# of a rule that judges nothing: the word of its answer, and how it is said to apply
APPLYING = {
    "holds": ("YES.", "applies to"),
    WARNS: ("YES.", "is a caution for"),
    LACKS: ("CAN'T TELL.", "is about what no rule here checks on"),
    TELL: ("CAN'T TELL.", "may apply to"),
}
ADVISED = "Good practice, not law: "  # what an answer about advice that is not met begins with
PLAIN_LEAD = {
    PASSES: "Yes.",
    SET_ASIDE: "Yes.",
    FAILS: "No.",
    TELL: "We don't know yet.",
    ADVICE: "It is allowed, and we advise better.",
}
LOOK_SETTLES = (
    "A look settles it; your electrician will read it. Please don't open a panel or take a cover"
    " off yourself."
)


def cite_short(edit: Edit) -> str:
    """The section of an ordinance, to print at the right edge."""
    return str(edit.d.get("cite", "")) or edit.cite


def cite(source: str) -> str:
    """A section to print at the right edge; a habit of the trade has none."""
    return source if source and not source[0].islower() else ""


def headword(verdict: str, turned: bool) -> str:
    """The word an answer begins with; *turned*: something could turn a *fails*."""
    if verdict == FAILS and turned:
        return "NOT YET."
    return HEADWORD[verdict]


def asked(need: Need) -> str:
    """A question, where to look, and what to take care of there."""
    return f"{need.ask} Look: {need.look}." + (f" {need.careful}" if need.careful else "")


def also_wrong(sentences: list[str]) -> Row:
    """What else is wrong, the first of it in words."""
    more = f" And {len(sentences) - 1} more." if len(sentences) > 1 else ""
    return Row("Also", sentences[0] + more, rank=1)


def reckoned(text: str) -> bool:
    """Whether a line shows an operation, or sets something equal."""
    return any(f" {op} " in text for op in "+−×÷=:")


UNSEEN, NEXT = "Unseen", "Next"  # labels: what nobody looked at; what to do now
TO_DO = ("Fix", "Or", "Look", "Passes", "Tell me", NEXT)  # labels of rows that say what to do
NO_WAY = "plan it with whoever does the work; no way out of one or two changes is known here."
AMENDED = "Amended"  # the label of a row about an edit, where that makes the answer


class Case(NamedTuple):
    """One finding as an answer looks at it."""

    rule: Rule
    thing: Thing
    verdict: str
    place: Place
    flips: list[dict[str, Any]]  # what could turn it
    unread: dict[str, Any] | None  # of them, defaults that nobody looked behind
    either: Need | None  # what is not told, and it passes with every value of that
    lifting: Rule | None  # the exception that applies
    work: Working

    @property
    def judge(self) -> Rule:
        """Whose numbers are the answer."""
        lifted = self.lifting is not None and self.lifting.verb in JUDGING
        return self.lifting if lifted and self.lifting is not None else self.rule


class Explain(Assumed):
    """Answers for one rule on one thing, or for a thing as a whole."""

    # ---- a subject as a whole
    def subject(self, thing: Thing) -> Answer:
        """Is it right, and what decides it?"""
        every = self.judged(thing, (*JUDGING, "refers"))
        found, usual = self.weighed(on for on in every if on[0].verb in JUDGING)
        refused = [
            (rule, part)
            for rule, part, verdict in every
            if verdict == REFERS and self.stand_of(rule, part, verdict).sort == DECIDES
        ]
        undecided = [on for on in found if on[2] == TELL]
        # what surely fails goes before what refuses to conclude, and that before what is open: the
        # first that is so decides, whatever else could be learned
        if found and found[0][2] == FAILS:
            answer = self.worst_first(found, undecided, refused)
        elif refused:
            answer = self.refused(refused)
        elif len(undecided) > 1:
            answer = self.many_undecided(thing, found, undecided)
        # a single question is put as the answer of its rule, with the numbers there are
        elif undecided:
            answer = self.worst_first(found, undecided, refused)
        elif not found:
            answer = self.nothing_judged(thing)
        else:
            answer = self.all_pass(thing, found)
        answer.rows += self.usual_rows(rule for rule, *_ in usual)
        return answer

    def weighed(self, judged: Iterable[Judged]) -> tuple[list[Judged], list[Judged]]:
        """What is judged, with what surely fails before what a look may turn; and, apart from it,
        what is not told and decides nothing.
        """
        found: list[tuple[bool, Judged]] = []
        usual: list[Judged] = []
        for on in judged:
            sort = self.stand_of(*on).sort
            if on[2] in (TELL, REFERS) and sort != DECIDES:
                usual.append(on)
            else:
                found.append((on[2] == FAILS and sort != FAULT, on))
        fails = [on for turns, on in found if on[2] == FAILS and not turns]
        turned = [on for turns, on in found if turns]
        rest = [on for _, on in found if on[2] != FAILS]
        return [*fails, *turned, *rest], usual

    def usual_rows(self, usual: Iterable[Rule]) -> list[Row]:
        """What is to be looked at, and is taken as done the usual way."""
        names = list(dict.fromkeys(rule.said.rstrip(".") for rule in usual))
        if not names:
            return []
        more = f" and {len(names) - 1} more" if len(names) > 1 else ""
        return [Row(UNSEEN, f"taken as done the usual way: {begun_small(names[0])}{more}.", rank=8)]

    def nothing_judged(self, thing: Thing) -> Answer:
        """No requirement has something to say: what rests on its facts, what is missing here, and
        what may be asked.
        """
        words = self.knowledge.words.kinds[thing[0].kind].words
        facts = [name for name in words if words[name].type[0] not in ("ref", "many")]
        resting = [on for name in facts for on in self.deciding(thing, name)[1]]
        resting.sort(key=lambda on: SEVERITY[on[2]])
        lacks = [
            Row(
                "Not checked" if place == 0 else "",
                str(rule.d["lacks"]),
                self.source(rule, part),
            )
            for place, (rule, part, _) in enumerate(self.judged(thing, ("lacks",))[:3])
        ]
        ask = [Row("Ask", f"why {short(thing)} {fact}") for fact in facts[:1]]
        said = f"No rule here judges {short(thing)} by itself."
        rows = [*self.others(resting, "Decides"), *lacks, *ask]
        return Answer(HEADWORD[TELL], said, rows, on=thing[0].id)

    @staticmethod
    def others(found: list[Judged], label: str = "Also") -> list[Row]:
        """What else is judged by the same fact: what is decided goes before what is open, which
        of a thing's type is much that is far away.
        """
        decided = sorted(found, key=lambda on: on[2] == TELL)
        said = list(dict.fromkeys(f"{rule.id} {verdict}" for rule, _, verdict in decided))
        if not said:
            return []
        more = f" and {len(said) - 4} more" if len(said) > 4 else ""
        return [Row(label, "; ".join(said[:4]) + more, rank=6)]

    def many_undecided(self, thing: Thing, found: list[Judged], undecided: list[Judged]) -> Answer:
        """Nothing fails and much cannot be told: the questions that decide it."""
        rule, part, _ = undecided[0]
        passes = sum(verdict in (PASSES, SET_ASIDE) for *_, verdict in found)
        passing = f"; {passes} {'passes' if passes == 1 else 'pass'}." if passes else "."
        answer = Answer(
            HEADWORD[TELL],
            f"{len(undecided)} checks on {short(thing)} need something from you{passing}",
            root=f"rule:{rule.id}@{part[0].id}",
            rule=rule.id,
            on=part[0].id,
        )
        answer.plain = ["Nobody can say yet whether this is right."]
        self.deciding_rows(answer, undecided)
        self.taken(answer, rule, part, Working(self.world))
        return answer

    def worst_first(
        self, found: list[Judged], undecided: list[Judged], refused: list[On]
    ) -> Answer:
        """The worst of what is judged, and what else fails or decides."""
        rule, part, _ = found[0]
        answer = self.finding(rule, part)
        self.refusals(answer, refused)
        fails = [
            self.sentence(other, place, FAILS)
            for other, place, verdict in found
            if verdict == FAILS and (other, place) != (rule, part)
        ]
        if fails:
            answer.rows.append(also_wrong(list(dict.fromkeys(fails))))
        self.deciding_rows(answer, [on for on in undecided if on[:2] != (rule, part)])
        return answer

    def refused(self, refused: list[On]) -> Answer:
        """Nothing fails, and a rule refuses to conclude: what has to be done first."""
        (r, x), *others = refused
        answer = Answer("CAN'T TELL.", r.said, root=f"rule:{r.id}@{x[0].id}", rule=r.id, on=x[0].id)
        self.refusals(answer, [(r, x), *others])
        answer.rows += [Row("Why", str(r.d.get("because", "")), rank=2)]
        self.taken(answer, r, x, Working(self.world))
        answer.plain = [str(r.d["refers"])]
        return answer

    def refusals(self, answer: Answer, refused: list[On]) -> None:
        """What the rules that refuse to conclude want done."""
        for n, (r, y) in enumerate(refused[:2]):
            answer.rows.append(
                Row("Refused" if n == 0 else "", str(r.d["refers"]), self.source(r, y), rank=1)
            )
            for label, text in r.d.get("answers", {}).get("rows", {}).items():
                if (filled := self.fill(str(text), r, y)) is not None:
                    answer.rows.append(Row(str(label), filled, rank=1))

    def deciding_rows(self, answer: Answer, undecided: list[Judged]) -> None:
        """Of what cannot be told: the questions that decide it, those first for which the most
        waits.
        """
        said = " ".join(row.text for row in answer.rows)
        waiting: dict[tuple[str, str], list[Need]] = {}
        for on in undecided:
            for need in self.stand_of(*on).needs:
                waiting.setdefault((need.of, need.fact), []).append(need)
        wanted = sorted(waiting.values(), key=lambda needs: (-len(needs), needs[0].effort))
        open_ = answer.word == HEADWORD[TELL]
        asked_once = list(dict.fromkeys(asked(needs[0]) for needs in wanted))
        asked_once = [ask for ask in asked_once if ask not in said]
        for place, ask in enumerate(asked_once[:MOST_ASKED]):
            label = "" if place else "Look" if open_ else "And ask"
            answer.rows.append(Row(label, ask, rank=2 if open_ else 7))
            if open_:
                answer.plain.append(ask)
        if open_ and len(asked_once) > MOST_ASKED:
            more = f"and {len(asked_once) - MOST_ASKED} more that whywire inspect asks"
            answer.rows.append(Row("", more, rank=6))

    def all_pass(self, thing: Thing, found: list[Judged]) -> Answer:
        """YES: the checks it passes, the tightest first, the rules that are set aside, and what of
        it nobody said; and no YES where what matters here is not looked at.
        """
        rule, part, verdict = self.head_of(found)
        if verdict != PASSES:  # advice that is not met is no yes; what is lifted speaks for itself
            answer = self.finding(rule, part)
            unmet = [(advice, on) for advice, on, said in found if said == ADVICE]
            if verdict == SET_ASIDE and unmet:
                answer.rows += [self.advice_row(*one) for one in unmet]
                answer.sentence += " Advice is not met."
            answer.rows += self.assumed_rows(found)
            return self.not_over_what_is_missing(answer, thing)
        advised = [advice.said for advice, _, verdict in found if verdict == ADVICE]
        answer = Answer(
            "YES.",
            self.sentence(rule, part, PASSES) + (" Advice is not met." if advised else ""),
            root=f"rule:{rule.id}@{part[0].id}",
            rule=rule.id,
            on=part[0].id,
        )
        beside = self.beside_things(rule, part)
        checked, assumed = self.checks_passed(found, beside)
        answer.rows += checked
        answer.rows += self.assumed_rows(found)
        answer.rows += self.set_aside_rows([thing, *(place for _, place in beside)], rule)
        answer.rows.append(Row("Why", str(rule.d.get("because", "")), rank=3))
        answer.rows += self.not_checked_rows(thing)
        assumed = [*self.defaults_taken(found), *assumed]
        self.taken(answer, rule, part, Working(self.world), assumed)
        answer.rows = [row for row in answer.rows if row.text]
        answer.plain = self.plain_lines(rule, part, PASSES)
        answer.plain += [f"It is allowed, and we advise better: {said}" for said in advised[:1]]
        return self.not_over_what_is_missing(answer, thing)

    def assumed_rows(self, found: list[Judged]) -> list[Row]:
        """What only a note took for granted that a verdict rests on, with where it flips."""
        failing = [on[:2] for on in found if on[2] == FAILS]
        guessed = [on for on in self.assumed_under(found) if self.is_guess(*on)]
        said = self.assumptions(guessed, failing)
        rows = [Row("We assumed", "; ".join(said) + ".", rank=1)] if said else []
        put_in = self.put_in_under(found)
        return rows + ([Row("Put in", "; ".join(put_in) + ".", rank=6)] if put_in else [])

    def defaults_taken(self, found: list[Judged]) -> list[str]:
        """What a verdict rests on that rules assume in every such case, where it may turn, and that
        a job's own file names as assumed.
        """
        taken = [on for on in self.assumed_under(found) if not self.is_guess(*on)]
        return [*self.assumptions(self.bearing(taken)), *self.assumed_in_the_job(found)]

    def not_over_what_is_missing(self, answer: Answer, thing: Thing) -> Answer:
        """No YES to a thing, all of it, of which a whole article is missing here that it calls
        for.
        """
        mine = {thing[0].id, *(part[0].id for part in self.within(thing))}
        missing = [lack for lack in self.stand.lacks if lack.first and not mine.isdisjoint(lack.on)]
        if answer.word != HEADWORD[PASSES] or not missing:
            return answer
        answer.rows.insert(0, Row("So far", answer.sentence, rank=1))
        answer.word, answer.sentence = HEADWORD[TELL], " ".join(lack.first for lack in missing)
        answer.plain = [f"{PLAIN_LEAD[TELL]} {answer.sentence}", *answer.plain[1:]]
        return answer

    def head_of(self, found: list[Judged]) -> Judged:
        """What the headline speaks of where nothing fails: what has words for it and a number,
        what people ask about first before all; then what an exception lifts; then anything that
        passes.
        """
        passing = [judged for judged in found if judged[2] == PASSES]
        spoken = filter(lambda on: self.speaks(on[0]), passing)
        good = [judged for judged in spoken if self.tightness(*judged[:2]) < FAR]
        # of a circuit people ask for its wire
        asked_for = [judged for judged in good if self.asked_first(judged[0].about)]
        # where nothing speaks for the thing but what an exception lifts, its numbers are the answer
        lifted = [on for on in found if on[2] == SET_ASIDE and self.speaks(on[0])]
        return (asked_for or good or lifted or passing or found)[0]

    @staticmethod
    def speaks(rule: Rule) -> bool:
        """Whether a rule has words for what passes."""
        return bool(rule.d.get("answers", {}).get("passes"))

    def asked_first(self, kind: str) -> bool:
        """Whether a kind of thing is what people ask about first, as the knowledge says."""
        return self.knowledge.words.kinds[kind].asked_first

    def checks_passed(self, found: list[Judged], beside: list[On]) -> tuple[list[Row], list[str]]:
        """The checks of what passes, a few, and all advice; and the sizes that those rest on and
        nobody told.
        """
        rows: list[Row] = []
        assumed: list[str] = []
        checked = 0
        besides = [(rule, part, self.world.answer(rule, part)) for rule, part in beside]
        for rule, part, verdict in [*found, *besides]:
            if verdict == ADVICE:
                rows.append(self.advice_row(rule, part))
            if checked == MOST_CHECKS or verdict != PASSES or rule.verb == "should":
                continue
            near = self.tightness(rule, part) < FAR or (rule, part) in beside
            if near and rule.comparison:
                rows.append(self.check_passed_row(rule, part, 1 + (checked > 1)))
                assumed += self.sizes_assumed(rule, part)
                checked += 1
        return rows, assumed

    def check_passed_row(self, rule: Rule, part: Thing, rank: int) -> Row:
        """One check of several, so that it must say of what it is."""
        left = rule.comparison.a.path if rule.comparison else None
        of = f"{left.names[-1]} " if left and left.names else ""
        return Row("Check", of + self.check(rule, part), self.source(rule, part), rank=rank)

    def advice_row(self, rule: Rule, part: Thing) -> Row:
        """Advice that is not met, with its numbers."""
        check = f" {self.check(rule, part)}" if rule.comparison else ""
        return Row("Advice", f"{rule.said}{check}", self.source(rule, part), rank=0)

    def set_aside_rows(self, things: list[Thing], head: Rule) -> list[Row]:
        """What exceptions lift on *things*, by the exception; that of the headline is said
        there.
        """
        lifted: dict[str, tuple[Rule, Thing, list[Rule]]] = {}
        for part in things:
            for rule in self.rules_about(part[0].kind, JUDGING):
                if self.world.answer(rule, part) != SET_ASIDE:
                    continue
                exception = self.world.lifting(rule, part)
                if exception is not None and exception is not head:
                    lifted.setdefault(exception.id, (exception, part, []))[2].append(rule)
        return [
            Row(
                "Allowed" if place == 0 else "",
                f"{self.lifted_names(rules, part)}. {self.in_short(exception, part)}",
                self.source(exception, part),
                rank=3,
            )
            for place, (exception, part, rules) in enumerate(list(lifted.values())[:3])
        ]

    def lifted_names(self, rules: list[Rule], part: Thing) -> str:
        """The rules that one exception lifts, in few words; where none has such, the first."""
        named = [
            self.in_short(rule, part).rstrip(".")
            for rule in rules
            if rule.d.get("answers", {}).get("short")
        ]
        return "; ".join(named) or rules[0].said.rstrip(".")

    def not_checked_rows(self, thing: Thing) -> list[Row]:
        """What no rule looks at on a circuit: it is more than what is looked at here."""
        if thing[0].kind != "circuit":
            return []
        lacks = [
            str(rule.d["lacks"])
            for rule, _, verdict in self.judged(thing, ("lacks",))
            if verdict == LACKS and rule.when
        ]
        said = "; ".join(dict.fromkeys(lacks[:2]))
        return [Row("Not looked at", f"{said}.", rank=5)] if lacks else []

    # ---- one finding
    def finding(self, rule: Rule, thing: Thing) -> Answer:
        """Answer for one judging rule on one thing (or on a row that is tried)."""
        case = self.case(rule, thing)
        answer = Answer(
            "YES." if case.either else headword(case.verdict, case.place.sort != FAULT),
            self.headline_of(case),
            root=f"rule:{rule.id}@{thing[0].id}",
            rule=rule.id,
            on=thing[0].id,
        )
        self.numbers(answer, case)
        self.what_decides(answer, case)
        self.what_helps(answer, case)
        self.amended(answer, rule, thing, case.verdict)
        self.why_and_what_from(answer, case)
        passes = PASSES if case.either else case.verdict
        answer.plain = self.plain_lines(rule, thing, passes, answer.word == "NOT YET.")
        if self.is_settled(case):
            put_in = self.put_in_under([(rule, thing, case.verdict)])
            answer.plain[1:1] = [f"Put in for that: {said}." for said in put_in]
        return answer

    def case(self, rule: Rule, thing: Thing) -> Case:
        """What a rule comes to on a thing, with all that its answer is written from."""
        verdict = self.world.answer(rule, thing)
        place = self.stand_of(rule, thing, verdict)
        flips: list[dict[str, Any]] = []
        # an exception that rests on what is remote turns nothing
        if verdict == FAILS and place.sort != FAULT:
            ways = unless(self.world, rule, thing, self.whatif)
            flips = [way for way in ways if self.stand.may_turn(way, thing)]
        return Case(
            rule,
            thing,
            verdict,
            place,
            flips,
            next((flip for flip in flips if "assumed" in flip), None),
            whichever(self.world, rule, thing, self.whatif) if verdict == TELL else None,
            self.world.lifting(rule, thing) if verdict == SET_ASIDE else None,
            Working(self.world),
        )

    def headline_of(self, case: Case) -> str:
        """What stands behind the word."""
        if case.unread is not None:
            return self.undecided(case.unread)
        if case.either is not None:
            return f"It passes either way: {case.either.ask}"
        said = self.sentence(case.rule, case.thing, case.verdict)
        return ADVISED + said if case.verdict == ADVICE else said

    def numbers(self, answer: Answer, case: Case) -> None:
        """Both sides of the comparison and how it comes out, or the rule that compares nothing."""
        rule, thing = case.rule, case.thing
        if case.either is None:
            self.sides(answer, case.judge, thing, case.work)
        if case.unread is not None:
            # what is there is told twice below: as it counts now, and as it would if it were read
            needed = ("Need", str(rule.d.get("answers", {}).get("needed", "Needed")))
            answer.rows = [row for row in answer.rows if row.label in needed]
        elif case.lifting is not None:
            self.lifted(answer, rule, case.lifting, thing)
        elif rule.comparison and case.either is None:
            check = self.check(rule, thing)
            answer.rows.append(Row("Check", check, self.source(rule, thing), rank=0))
        elif case.verdict != PASSES:
            answer.rows.append(Row("Rule", rule.said, self.source(rule, thing), rank=0))

    def what_decides(self, answer: Answer, case: Case) -> None:
        """What is not told and would decide it, or could turn it; and what it rests on that only
        a note took for granted.
        """
        rule, thing = case.rule, case.thing
        if case.either is not None:
            self.by_value(answer, rule, thing, [case.either])
        elif case.verdict == TELL:
            self.look_up(answer, rule, thing, self.wanted(rule, thing))
        for flip in case.flips:
            self.flip(answer, rule, thing, flip)
        if case.verdict == FAILS and case.place.sort == DECIDES:
            answer.rows += [Row("Look", asked(need), rank=1) for need in case.place.needs[:2]]
        if self.is_settled(case):
            answer.rows += self.assumed_rows([(rule, thing, case.verdict)])

    def is_settled(self, case: Case) -> bool:
        """Whether a verdict is one of the job as it stands, and no open one."""
        return case.verdict in (PASSES, FAILS, SET_ASIDE) and not self.whatif.telling

    def what_helps(self, answer: Answer, case: Case) -> None:
        """Of what fails or is advised: what is right beside it, what will not help, what would."""
        rule, thing, flips = case.rule, case.thing, case.flips
        if case.verdict == FAILS:
            if case.unread is None:
                self.beside(answer, rule, thing)
            self.wont_help(answer, rule, thing, flips, case.work)
        if case.unread is None:
            if case.verdict in (FAILS, ADVICE):
                self.passes(answer, rule, thing, flips)
            answer.rows += self.own_rows(rule, thing, 3)

    def why_and_what_from(self, answer: Answer, case: Case) -> None:
        """Why the rule is there, what was taken rather than measured, and what is in doubt."""
        rule, thing = case.rule, case.thing
        because = str((case.lifting or rule).d.get("because", ""))
        if because:
            answer.rows.append(Row("Why", because, rank=2))
        found = [(rule, thing, case.verdict)] if self.is_settled(case) else []
        self.taken(answer, rule, thing, case.work, self.defaults_taken(found))
        self.doubts(answer, case.judge, case.work)

    def own_rows(self, rule: Rule, thing: Thing, rank: int) -> list[Row]:
        """The rows that a rule writes for itself, as far as their facts are known; none that is
        short by less than nothing.
        """
        written = rule.d.get("answers", {}).get("rows", {})
        filled = [
            (str(label), self.fill(str(text), rule, thing)) for label, text in written.items()
        ]
        return [
            Row(label, text, rank=rank)
            for label, text in filled
            if text is not None and not LESS_THAN_NOTHING.search(text)
        ]

    def lifted(self, answer: Answer, rule: Rule, exception: Rule, thing: Thing) -> None:
        """What passes by *exception*: its test decides; what *rule* says by itself stands beside
        it.
        """
        c = exception.test if exception.verb in JUDGING else self.decisive(exception, thing)
        alone = self.check(rule, thing) if rule.comparison else ""
        if exception.verb in JUDGING:
            answer.rows.append(Row("Rule", exception.said, self.source(exception, thing), rank=1))
        else:
            answer.rows.append(
                Row("Without it", alone or rule.said, self.source(rule, thing), rank=1)
            )
            answer.rows.append(
                Row("Allowed", exception.said, self.source(exception, thing), rank=1)
            )
        if isinstance(c, ex.Cmp):
            said = self.check(exception, thing, None if c is exception.test else c)
            answer.rows.append(Row("Check", said, self.source(exception, thing), rank=0))
        if exception.verb in JUDGING:
            answer.rows.append(
                Row("Instead of", f"{rule.said} {alone}", self.source(rule, thing), rank=4)
            )

    def sides(self, answer: Answer, rule: Rule, thing: Thing, work: Working) -> None:
        """What is needed, and what there is: each side of the comparison carried out."""
        answer.rows += self.step_rows(rule, thing, work)
        compared = rule.comparison
        if compared is None:
            return
        said = rule.d.get("answers", {})
        needed, have = said.get("needed") or "Needed", said.get("have") or "Have"
        answer.rows += self.side_rows(str(needed), compared.b, rule, thing, work)
        answer.rows += self.side_rows(str(have), compared.a, rule, thing, work)

    def step_rows(self, rule: Rule, thing: Thing, work: Working) -> list[Row]:
        """What each step of a rule comes to."""
        rows = []
        for name, step in rule.steps.items():
            lines = work.unfold(step.of, thing, None, self.source(rule, thing))
            if lines:
                text, section = lines[-1]
                rows.append(Row(begun(name)[:12], text, section, rank=2))
        return rows

    def side_rows(
        self, label: str, side: ex.Expr, rule: Rule, thing: Thing, work: Working
    ) -> list[Row]:
        """One side of a comparison, line by line."""
        if side.written:
            return []
        lines = self.side_lines(side, rule, thing, work)
        # a number that stands in the check as it was told is said there
        if len(lines) == 1 and isinstance(side, ex.Path) and not reckoned(lines[0][0]):
            return [Row(label, lines[0][0], cite(lines[0][1]), rank=6)]
        # An addend that is left out makes a sum that does not add up: it goes after the reason.
        summed = bool(lines) and lines[-1][0].startswith("together ")
        last = len(lines) - 1
        return [
            Row(
                label if place == 0 else "",
                text,
                cite(section),
                rank=1 if place in (0, last) else 2 if summed else 3,
                lines=2 if summed and len(text) > 60 else 0,
            )
            for place, (text, section) in enumerate(lines)
        ]

    def side_lines(
        self, side: ex.Expr, rule: Rule, thing: Thing, work: Working
    ) -> list[tuple[str, str]]:
        """How one side of a comparison comes about: a fact unfolded, anything else in one line."""
        if isinstance(side, ex.Path):
            return work.unfold(side, thing, None, "")
        if isinstance(side, (ex.Look, ex.Step)):
            text = work.unfold(side, thing)[0][0]
        else:
            text = work.carried_out(side, thing)
        source = self.source(rule, thing)
        if isinstance(side, ex.Look):
            source = work.cell_section(side, thing)
        for path in ex.paths(side):
            # only for what it rests on
            if path.names and isinstance(path.holder(thing, None), list):
                work.unfold(path, thing)
        return [(text, source)]

    @staticmethod
    def undecided(flip: dict) -> str:
        """The headline of a NOT YET that rests on what nobody has read."""
        facts = [f.split(" of ")[0] for f in flip["assumed"]]
        number = {1: "One", 2: "Two", 3: "Three"}.get(len(facts), str(len(facts)))
        return (
            f"{number} {facts[0]}{'s' if len(facts) > 1 else ''} nobody has read"
            f" decide{'' if len(facts) > 1 else 's'} this; until then, no."
        )

    def beside_things(self, rule: Rule, thing: Thing) -> list[On]:
        """The rules that *rule* names `beside:` it, on the things of the same circuit where they
        pass.

        What fails in some other way is not called right.
        """
        circuit = self._circuit(thing[0].slot or thing)
        out = []
        for name in rule.d.get("answers", {}).get("beside", []):
            other = self.knowledge.rules.get(str(name))
            if other is None:
                continue
            for part in self.world.by_kind.get(other.about, ()):
                if self._circuit(part) is not circuit or self.world.answer(other, part) != PASSES:
                    continue
                if not self.fails_otherwise(part, rule, thing):
                    out.append((other, part))
        return out

    def fails_otherwise(self, part: Thing, rule: Rule, thing: Thing) -> bool:
        """Whether *part* fails by another test than that of *rule* on *thing*, its own or one that
        compares its number.
        """
        return any(
            self.world.answer(other, place) == FAILS
            for kind, places in self.world.by_kind.items()
            if places
            for other in self.rules_about(kind, JUDGING)
            for place in places
            if (other is not rule or place is not thing)
            and (place is part or self.operand(other, place, {part[0].id}))
        )

    def beside(self, answer: Answer, rule: Rule, thing: Thing) -> None:
        """What is right and would otherwise be "mended": the rules that `beside:` names, where they
        pass.
        """
        for other, part in self.beside_things(rule, thing):
            template = other.d.get("answers", {}).get("right")
            right = self.fill(str(template), other, part) if template else None
            said = right or self.sentence(other, part, PASSES)
            if len(f"{answer.word} {answer.sentence} {said}") <= 80:
                answer.sentence += f" {said}"
            else:
                answer.rows.append(Row("Right", said, self.source(other, part), rank=2))

    def look_up(self, answer: Answer, rule: Rule, thing: Thing, wanted: list[Need]) -> None:
        """What to look for, and what each answer would mean."""
        answer.rows += [Row("Look", asked(need), rank=1) for need in wanted[:3]]
        self.by_value(answer, rule, thing, wanted)

    def by_value(self, answer: Answer, rule: Rule, thing: Thing, wanted: list[Need]) -> None:
        """What each value of the one fact that it waits for would mean."""
        if len(wanted) != 1 or thing[0].plane:
            return
        need = wanted[0]
        for said, value in values_of(self.world, need):
            answer.rows.append(self.value_row(rule, thing, said, (need.of, need.fact, value)))

    def value_row(self, rule: Rule, thing: Thing, said: str, change: Change) -> Row:
        """What a rule comes to with one value of a fact, and by how much."""
        with self.other([change]) as other:
            verdict = other.world.answer(rule, thing)
            margin = other.margin(rule, thing)
            checked = ""
            if rule.comparison and verdict in (PASSES, FAILS):
                checked = f" ({other.check(rule, thing).split('?')[0]})"
        word = "passes" if verdict in (PASSES, SET_ASIDE) else verdict
        by = f", {margin}" if margin and verdict != OFF else ""
        return Row(f"If {said}", f"{word}{by}{checked}", rank=2)

    def flip(self, answer: Answer, rule: Rule, thing: Thing, flip: dict[str, Any]) -> None:
        """What could turn a *fails*: an exception not shown, or a marking that nobody has read."""
        if "exception" in flip:
            exception = self.knowledge.rules[flip["exception"]]
            answer.rows += self.exception_rows(rule, thing, exception, flip["ask"])
            return
        changes = turning(self.world, rule, thing, self.whatif)
        answer.rows.append(self.unread_row(rule, thing, changes))
        answer.rows.append(self.marked_row(rule, thing, changes))
        answer.rows.append(self.markings_row(changes))
        self.no_mark(answer, rule, thing)

    def exception_rows(
        self, rule: Rule, thing: Thing, exception: Rule, asks: list[str]
    ) -> list[Row]:
        """An exception that might lift a rule, what might set that aside, and what to tell."""
        source = self.source(exception, thing)
        rows = [Row("Unless", self.in_short(exception, thing), source, rank=1)]
        for against in self.knowledge.order.exceptions.get(exception.id, ()):
            if self.world.holds(against, thing) is None:
                said = self.in_short(against, thing)
                rows.append(Row("But", said, self.source(against, thing), rank=2))
        outcomes = self.outcomes(rule, thing, exception)
        for ask, outcome in zip(dict.fromkeys(asks), outcomes):
            rows.append(Row("Tell me", f"{ask} {outcome}".strip(), rank=1))
        return rows

    def unread_row(self, rule: Rule, thing: Thing, changes: list[Change]) -> Row:
        """What an unread marking counts as, and what the rule makes of that."""
        on, fact, _ = changes[0]
        marked, word = self.world.things[on], word_of(self.world, on, fact)
        _, by = Explainer(self.world).origin(marked, fact)
        have, margin = self.side_texts(rule, thing)[0], self.margin(rule, thing)
        return Row(
            "Unread",
            f"counts as {show(marked[word.slot], word.unit)}: {have}, {margin}",
            self.knowledge.section(by, marked) if by else "",
            rank=1,
        )

    def marked_row(self, rule: Rule, thing: Thing, changes: list[Change]) -> Row:
        """What the rule would make of the marking that is hoped for."""
        on, fact, value = changes[0]
        with self.other(changes) as other:
            then = f"{other.side_texts(rule, thing)[0]}, {other.margin(rule, thing)}"
        text = show(value, word_of(self.world, on, fact).unit)
        last = short(self.world.things[on]).split(" ")[-1]
        which = "both" if len(changes) == 2 else f"the {last}"
        return Row(f"If {text.split()[0]}", f"{which} marked {text}: {then}. Passes.", rank=1)

    def markings_row(self, changes: list[Change]) -> Row:
        """Where to look for each marking, and what it has to be."""
        on, fact, value = changes[0]
        word = word_of(self.world, on, fact)
        looks = [
            f"{place} {self.name_in_circuit(self.world.things[thing])}:"
            f" {self.look_of(thing, name)}."
            for place, (thing, name, _) in enumerate(changes, 1)
        ]
        said = " ".join(looks)
        if len(changes) == 2:
            said += f' Want "{show(value, word.unit)}" at BOTH; the lower end decides.'
        if word.careful:
            said += f" {word.careful}"
        return Row("Look", said, rank=1, lines=4)

    def name_in_circuit(self, thing: Thing) -> str:
        """What a thing is called among those of its circuit."""
        return short(thing).removeprefix(f"{self._circuit(thing)[0].name} ")

    def outcomes(self, rule: Rule, thing: Thing, exception: Rule) -> list[str]:
        """What each answer to an exception's open question would mean."""
        wanted = needs(self.world, exception, thing)
        if not wanted:
            for against in self.knowledge.order.exceptions.get(exception.id, ()):
                wanted += needs(self.world, against, thing)
        return [self.yes_and_no(rule, thing, need) for need in wanted]

    def yes_and_no(self, rule: Rule, thing: Thing, need: Need) -> str:
        """What yes and no would mean; nothing where both come to one, for then it is not the only
        open question.
        """
        word = word_of(self.world, need.of, need.fact)
        if word.type[0] != "flag" or thing[0].plane:
            return ""
        yes, no = (self.outcome(rule, thing, (need.of, need.fact, v)) for v in (True, False))
        return f"Yes: {yes}. No: {no}." if yes != no else ""

    def outcome(self, rule: Rule, thing: Thing, change: tuple) -> str:
        """What a rule comes to on *thing* once one fact is told."""
        with self.whatif.told([change]) as w:
            a = w.answer(rule, thing)
        if a in (PASSES, SET_ASIDE) and not passes_under(rule, thing, self.whatif, [change]):
            return "somebody else must decide"
        return {PASSES: "passes", SET_ASIDE: "passes", OFF: "does not apply"}.get(a, str(a))

    def look_of(self, thing: str, fact: str) -> str:
        """Where to look: as the part's own question says, else as the fact's."""
        x = self.world.things[thing]
        if x[0].whole is not None:
            part = self.knowledge.words.kinds[x[0].whole[0].kind].words.get(x[0].name)
            if part is not None and part.look:
                return part.look
        return word_of(self.world, thing, fact).look

    def no_mark(self, answer: Answer, rule: Rule, thing: Thing) -> None:
        """What to do when the look finds nothing: the size that passes anyway."""
        best = self.chosen(rule, thing)
        if best is not None:
            y, p = best
            answer.rows.append(
                Row(
                    "No mark?",
                    "Then the default stands. Use"
                    f" {show(y[0].row, p.tries_table.unit(p.tried.name))}:"
                    f" {self.side_texts(rule, y)[0]} passes either way.",
                    rank=2,
                )
            )

    def wont_help(
        self,
        answer: Answer,
        rule: Rule,
        thing: Thing,
        flips: list[dict[str, Any]],
        work: Working,
    ) -> None:
        """The rules a person is about to argue with, and the defaults that change nothing."""
        argued = [str(name) for name in rule.d.get("answers", {}).get("argued", [])]
        # here a person argues with the marking, not with the breaker
        if any("assumed" in flip for flip in flips):
            argued = []
        turning_ = {flip.get("exception") for flip in flips}
        said = []
        for name in [*argued, *reversed(work.used)]:
            limiting = self.knowledge.rules.get(name)
            if limiting is None or not limiting.d.get("limits"):
                continue
            if limiting.id != rule.id and limiting.id not in turning_:
                said.append(self.limit_row(limiting, rule, thing, 3 if name in argued else 4))
        for place, row in enumerate(said[: 2 if argued else 1]):
            row.label = "Won't help" if place == 0 else ""
            answer.rows.append(row)

    def limit_row(self, limiting: Rule, rule: Rule, thing: Thing, rank: int) -> Row:
        """What a rule never does, against the numbers of *rule* where it has words for that."""
        against = ""
        if rule.comparison and plain(rule.comparison.b.ev(thing, None)):
            against = str(limiting.d.get("answers", {}).get("against") or "")
        said = self.fill(against, rule, thing) or str(limiting.d["limits"])
        return Row("", said, self.source(limiting, thing), rank=rank)

    def amended(self, answer: Answer, rule: Rule, thing: Thing, verdict: str) -> None:
        """What came through a pack: the edits the answer rests on, and the exceptions that were
        withdrawn.
        """
        if not self.knowledge.trail:
            return
        gone = withdrawn_from(self.knowledge, rule.id) if verdict in (FAILS, TELL) else []
        edits = through(self.world, rule, thing)
        for n, (i, e) in enumerate(gone[:2]):
            answer.rows.append(
                Row(
                    "Withdrawn" if n == 0 else "",
                    told(e).removesuffix(")").replace(" is withdrawn (", ": not here (", 1) + ")",
                    cite_short(e),
                    rank=1,
                )
            )
        for e in edits[:3]:
            row = Row(AMENDED, told(e), cite_short(e), rank=1)
            row.edit = e.pack.name, e.number
            answer.rows.append(row)

    def sizes_assumed(self, rule: Rule, thing: Thing) -> list[str]:
        """The sizes of conductors that nobody told and a check rests on."""
        facts = [
            n.data
            for n in supporting(self.world, rule, thing)
            if n.kind == "fact"
            and n.data["origin"] == "assumed"
            and "looked" not in n.data
            and n.data["of"] in self.world.things
        ]
        words = [(d, word_of(self.world, d["of"], d["is"])) for d in facts]
        return [
            f"{w.name} {show(self.world.things[d['of']][w.slot], w.unit)} (we assumed)"
            for d, w in words
            if self.asked_first(w.kind) and w.type[0] == "row"
        ]

    def taken(
        self,
        answer: Answer,
        rule: Rule,
        thing: Thing,
        work: Working,
        more: tuple[str, ...] | list[str] = (),
    ) -> None:
        """What was taken rather than measured, where it could matter; and the edition."""
        said = [*more, *filter(None, (self.leaf_taken(*leaf) for leaf in work.leaves))]
        said += self.habits_taken(rule, thing)
        said = list(dict.fromkeys(said))[:3]
        answer.rows.append(Row("Based on", "; ".join([*said, self.in_force()]) + ".", rank=4))

    def leaf_taken(self, thing: Thing, fact: str) -> str:
        """A number that was assumed or told, where a reader may doubt it; else nothing."""
        if thing[0].plane:
            return ""
        word = self.knowledge.words.kinds[thing[0].kind].words[fact]
        origin, _ = Explainer(self.world).origin(thing, fact)
        said = f"{fact} {show(thing[word.slot], unit_shown(thing, fact, word.unit))}"
        number = word.type[0] == "q"
        if origin == "assumed" and number and not (word.try_instead or word.assumed_as):
            return f"{said} (we assumed)"
        if origin == "told" and (fact == "ambient" or number and thing[0].kind == "load"):
            return f"{said} (you said)"
        return ""

    def habits_taken(self, rule: Rule, thing: Thing) -> list[str]:
        """The habits of the trade that gave a word to an answer."""
        under = givers_under(self.world, rule, thing)
        given = [self.knowledge.rules[name] for name in under]
        return [
            habit.said[:1].lower() + habit.said[1:].rstrip(".")
            for habit in given
            if habit.layer == "practice"
            and habit.verb == "gives"
            and habit.id != rule.id
            and any(isinstance(fill.expr, ex.Word_) for fill in habit.fills)
        ]

    def in_force(self) -> str:
        """The edition, and whose law goes over it on the day that counts."""
        date = self.value_of(self.world.things["job"], "permit date")
        over = [
            str(pack.get("place") or pack.get("title", pack["pack"]))
            for pack in self.knowledge.packs
            if pack.get("layer")
            and not out_of_force(str(pack.get("from", "")), str(pack.get("until", "")), date)
        ]
        law = f" and the law of {', '.join(over)}" if over else ""
        return f"NEC {self.knowledge.edition}{law}"

    def doubts(self, answer: Answer, rule: Rule, work: Working) -> None:
        """The doubt of the rule, or of what its numbers come from."""
        for name in (rule.id, *work.used):
            doubt = self.entry(name).get("doubt")
            if doubt:
                answer.rows.append(Row("Doubt", str(doubt), rank=5 if name == rule.id else 7))
                return

    def entry(self, name: str) -> Mapping[str, Any]:
        """A rule, a table or a value as it is written."""
        knowledge = self.knowledge
        if name in knowledge.rules:
            return knowledge.rules[name].d
        if name in knowledge.tables:
            return knowledge.tables[name].d
        return knowledge.value_items.get(name) or {}

    def plain_lines(
        self, rule: Rule, thing: Thing, verdict: str, turned: bool = False
    ) -> list[str]:
        """For a homeowner: the answer, what the code means by it, why, and who says so."""
        lifting = self.world.lifting(rule, thing) if verdict == SET_ASIDE else None
        if lifting is not None and lifting.verb in JUDGING:
            return self.plain_lines(lifting, thing, PASSES)
        written = rule.d.get("answers", {}).get("plain", {})
        lines = [self.plain_answer(rule, thing, verdict, turned, lifting)]
        if written.get("means"):
            lines.append(self.fill(str(written["means"]), rule, thing) or "")
        if lifting is None:
            lines.append(self.plain_numbers(rule, thing))
        lines += self.plain_next(rule, thing, verdict, turned)
        says_why = lifting or rule
        own_why = "" if lifting is not None else written.get("why")
        lines.append(str(own_why or says_why.d.get("because", "")))
        lines.append(self.plain_source(rule, says_why, thing))
        return [line for line in lines if line]

    def plain_next(self, rule: Rule, thing: Thing, verdict: str, turned: bool) -> list[str]:
        """What happens next: somebody looks, or the first way out is done."""
        if turned or verdict == TELL:
            return [LOOK_SETTLES]
        if verdict != FAILS or thing[0].plane or self.whatif.telling:
            return []
        ways = [way for way in self.ways_out(rule, thing) if not way.looks]
        return [f"What will be done: {way.words}." for way in ways[:1]]

    def plain_answer(
        self, rule: Rule, thing: Thing, verdict: str, turned: bool, lifting: Rule | None
    ) -> str:
        """The answer in plain words, by the rule's own where it has some."""
        lead = PLAIN_LEAD[verdict]
        if verdict == FAILS and turned:
            lead = "Not yet."
        if lifting is not None:
            return f"{lead} An exception lets it be. {self.in_short(lifting, thing)}"
        written = rule.d.get("answers", {}).get("plain", {})
        key = template_of(verdict)
        if key not in written:
            return f"{lead} {self._plain_default(rule, verdict)}"
        return f"{lead} {self.fill(str(written[key]), rule, thing) or str(rule.said)}"

    def plain_numbers(self, rule: Rule, thing: Thing) -> str:
        """The two numbers of a rule in plain words; nothing where they are not known."""
        if not is_number_test(rule.test) or self.world.answer(rule, thing) == TELL:
            return ""
        have, needed = self.side_texts(rule, thing)
        if UNBOUGHT in needed:  # nobody buys by it
            return ""
        op = OPPOSITE[rule.test.op] if rule.verb == "must not" else rule.test.op
        return {
            ">=": f"It needs {needed}, and there is {have}.",
            ">": f"It needs more than {needed}, and there is {have}.",
            "=": f"It should be {needed}, and it is {have}.",
        }.get(op, f"The most allowed is {needed}, and there is {have}.")

    def plain_source(self, rule: Rule, says_why: Rule, thing: Thing) -> str:
        """Who says so: the code, the law of a place, or nobody but us."""
        edition = self.knowledge.edition
        if rule.layer == "law":
            citing = says_why if says_why.layer == rule.layer else rule
            return (
                f"Who says so: National Electrical Code {edition}, section"
                f" {citing.section(edition, thing)}."
            )
        if rule.layer == "local":
            return f"Who says so: {rule.section(edition, thing)}."
        if rule.layer == "practice":
            return "Who says so: this is our advice; the law does not demand it."
        return ""

    @staticmethod
    def _plain_default(rule: Rule, verdict: str) -> str:
        """What a rule says, where it has no plain words for a verdict."""
        if verdict in (PASSES, SET_ASIDE):
            return rule.said
        if verdict == TELL:
            return f"This is what should be so, and is not yet shown: {rule.said}"
        return f"This should be so, and is not: {rule.said}"

    # ---- rules that do not judge, or do not apply
    def not_judged(self, rule: Rule, thing: Thing) -> Answer:
        """Answer for a rule that gives, assumes or sets aside, or that does not apply."""
        verdict = self.world.answer(rule, thing)
        if verdict == REFERS:
            return self.refused([(rule, thing)])
        root = f"rule:{rule.id}@{thing[0].id}"
        answer = Answer("", "", [], root=root, rule=rule.id, on=thing[0].id)
        exception = self.world.lifting(rule, thing) if verdict == SET_ASIDE else None
        answer.rows.append(Row("Rule", rule.said, self.source(rule, thing), rank=0))
        if verdict == OFF:
            answer.word = HEADWORD[FAILS]
            answer.sentence = f"{rule.id} does not apply to {short(thing)}."
            answer.rows += self.unmet_rows(rule, thing)
        elif exception is not None:
            answer.word = HEADWORD[FAILS]
            answer.sentence = f"{rule.id} gives way to {exception.id} on {short(thing)}."
            source = self.source(exception, thing)
            answer.rows.append(Row("Exception", exception.said, source, rank=0))
        else:
            answer.word, said = APPLYING.get(verdict, APPLYING[TELL])
            answer.sentence = f"{rule.id} {said} {short(thing)}."
            answer.rows += self.applying_rows(rule, thing, verdict)
        return answer

    def unmet_rows(self, rule: Rule, thing: Thing) -> list[Row]:
        """Why a rule does not apply, and what stands because of that."""
        rows = []
        for condition, text in zip(rule.when, rule.when_text):
            met = condition.ev(thing, None)
            if met is False or met is NOTHING:
                said = f"{text}: not so ({say(condition, thing)})"
                rows.append(Row("Because", said, rank=0))
        if not rows and rule.test is not None:
            rows.append(Row("Because", f"what it compares is not there: {say(rule.test, thing)}"))
        if rule.exception_to:
            stands = ", ".join(rule.exception_to)
            rows.append(Row("So", f"still required: {stands}"))
        return rows

    def applying_rows(self, rule: Rule, thing: Thing, verdict: str) -> list[Row]:
        """When a rule applies, what it gives and sets aside, what it waits for, and why it is
        there.
        """
        rows = [self.condition_row(c, text, thing) for c, text in zip(rule.when, rule.when_text)]
        for fill in rule.fills:
            rows += self.fill_rows(fill, rule, thing)
        if rule.exception_to:
            rows.append(Row("Overrides", ", ".join(rule.exception_to), rank=2))
        if verdict == TELL:
            wanted = needs(self.world, rule, thing)[:3]
            rows += [Row("Look", f"{need.ask} Look: {need.look}.", rank=2) for need in wanted]
        if rule.d.get("limits"):
            rows.append(Row("Never", str(rule.d["limits"]), rank=3))
        if rule.d.get("because"):
            rows.append(Row("Why", str(rule.d["because"]), rank=2))
        return rows

    def condition_row(self, condition: ex.Expr, text: str, thing: Thing) -> Row:
        """A condition of a rule, and whether it is so."""
        met = condition.ev(thing, None)
        so = "so" if met is True else "not known" if met is None else "not so"
        return Row("When", f"{text}: {so} ({say(condition, thing)})", rank=1)

    def fill_rows(self, fill: Fill, rule: Rule, thing: Thing) -> list[Row]:
        """What a rule gives a fact, carried out."""
        work = Working(self.world)
        lines = work.unfold(fill.expr, thing, None, self.source(rule, thing))
        return [
            Row("Gives", f"{fill.word.name}: {text}", section, rank=1)
            if place == 0
            else Row("", text, section, rank=3)
            for place, (text, section) in enumerate(lines)
        ]
