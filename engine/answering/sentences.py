"""What a finding says in a sentence: its two sides, its margin, its check, and templates with their
facts filled in.
"""

from __future__ import annotations

import re
from typing import TypeGuard

from ..basics.sentinels import NONE, NOTHING
from ..basics.units import Range, dimension, ends, faithful, in_unit, number_text
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import JUDGING, Rule
from ..language.things import Thing, members
from ..proving.graph import PUT_TOGETHER, plain, short, show, unit_as_written, unit_shown
from ..running.chain import PASSES, SET_ASIDE, TELL, World
from ..running.program import program_of
from ..running.rerun import Rerun
from .findings import Need, Value, needs


def begun(text: str) -> str:
    """*text* at the beginning of a sentence, its other letters as they are: Kiln conductors at 10
    AWG.
    """
    return text[:1].upper() + text[1:]


def begun_small(text: str) -> str:
    """A sentence that goes on after a colon; a name or a number in capitals stays."""
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


UNNAMED = ("other", "something else")  # choices that name nothing
# what a limit is, by the comparison and whether that is forbidden
LIMITS = {
    (op, forbidden): said
    for ops, forbidden, said in (
        (("<=", "<"), False, "the most"),
        ((">=", ">"), False, "the least"),
        (("<=", "<"), True, "too little"),
        ((">=", ">"), True, "too much"),
        (("=",), False, "required"),
        (("=",), True, "not allowed"),
    )
    for op in ops
}
FACT = re.compile(r"\{([^{}]+)\}")
OPTIONAL = re.compile(r"\[([^\[\]]*\{[^\[\]]*)\]")
MARKED = ("MCA", "MOCP")  # what a maker marks a limit with: the check says so
FAR = 9.0  # what has no limit to be near to, for ordering
OPPOSITE = {">=": "<", ">": "<=", "<=": ">", "<": ">=", "=": "!=", "!=": "="}


def distance(comparison: ex.Expr | None, thing: Thing) -> float:
    """How near a comparison is to its limit, as a share of the limit."""
    if isinstance(comparison, ex.Cmp) and comparison.order is None:
        a, b = comparison.sides(thing, None)
        if plain(a) and plain(b) and b != 0:
            return float(abs(in_unit(a, None) - in_unit(b, None)) / abs(in_unit(b, None)))
    return FAR


class Sentences:
    """Speaks of one finished run: the base of what answers questions (subjects, ways, explain,
    questions), and the fields that all of it shares.
    """

    world: World
    knowledge: Knowledge
    whatif: Rerun  # the same run, to be told otherwise for a while

    def __init__(self, world: World, whatif: Rerun) -> None:
        self.world, self.knowledge, self.whatif = world, world.k, whatif

    def rules_about(self, kind: str, verbs: tuple[str, ...]) -> list[Rule]:
        """The rules about a kind of things that have one of these verbs."""
        return program_of(self.knowledge).rules_about(kind, verbs)

    # ---- the headline
    def sentence(self, rule: Rule, thing: Thing, verdict: str) -> str:
        """What the headline says after its word: the rule's own words, else its numbers."""
        exception = self.world.lifting(rule, thing) if verdict == SET_ASIDE else None
        if exception is not None:
            if exception.verb in JUDGING:
                return self.sentence(exception, thing, PASSES)
            return self.excuse(exception, thing)
        filled = self.own_words(rule, thing, verdict)
        if filled:
            return filled
        if verdict == TELL:
            return self.waits(rule, thing)
        if is_number_test(rule.test):
            have, needed = self.side_texts(rule, thing)
            margin = self.margin(rule, thing)
            forbids = rule.verb == "must not"
            first = rule.test.a
            fact = first.names[-1] if isinstance(first, ex.Path) and first.names else ""
            limit = f"{needed} is {LIMITS.get((rule.test.op, forbids), 'the limit')}"
            margin = f" ({margin})" if margin else ""
            if fact:
                return f"{begun(short(thing))}, {fact}: {have}, where {limit}{margin}."
            # nobody knows of what a number is that no word names
            return f"{rule.said} Here it is {have}; {limit}{margin}."
        return rule.said

    def own_words(self, rule: Rule, thing: Thing, verdict: str) -> str | None:
        """What a rule has written for this verdict, with its facts; None where a fact is not
        known.
        """
        text = rule.d.get("answers", {}).get(template_of(verdict))
        return self.fill(str(text), rule, thing) if text else None

    def waits(self, rule: Rule, thing: Thing) -> str:
        """What keeps a rule from an answer: the facts that decide, or that a number is not there
        at all.
        """
        wanted = self.wanted(rule, thing)
        if is_number_test(rule.test):
            if 0 < len(wanted) <= 2:
                have, needed = self.side_texts(rule, thing)
                anything = have.startswith("0 ") and have.endswith("or more")
                if "unknown" not in (have, needed) and not anything:
                    deciding = " and ".join(need.fact for need in wanted)
                    ending = "s" if len(wanted) == 1 else ""
                    return f"{have} against {needed}: {deciding} decide{ending} it."
            if not wanted and all(_between_numbers(v) for v in rule.test.sides(thing, None)):
                have, needed = self.side_texts(rule, thing)
                return f"{have} against {needed}: the limit lies within it."
        if not wanted:
            return "A number is missing, and the Code gives no default."
        if len(wanted) == 1:
            return "1 fact you didn't give decides this."
        return f"{len(wanted)} facts you didn't give decide this."

    def wanted(self, rule: Rule, thing: Thing) -> list[Need]:
        """What keeps a rule from an answer."""
        return needs(self.world, rule, thing)

    def excuse(self, exception: Rule, thing: Thing) -> str:
        """What a permission says that lets something pass, with the margin of the test that
        decided.
        """
        said, comparison = self.in_short(exception, thing), self.decisive(exception, thing)
        margin = "" if comparison is None else self.margin(exception, thing, comparison)
        return f"{said.rstrip('.')} ({margin})." if margin else said

    def decisive(self, exception: Rule, thing: Thing) -> ex.Cmp | None:
        """The comparison nearest to its limit among the conditions that make a permission hold."""
        parts = [part for condition in exception.when for part in ex.walk(condition)]
        near = [
            (distance(part, thing), place, part)
            for place, part in enumerate(parts)
            if is_number_test(part)
            and part.ev(thing, None) is True
            and "date" not in (part.a.unit, part.b.unit)
        ]
        return min(near)[2] if near else None

    def in_short(self, rule: Rule, thing: Thing) -> str:
        """A rule in a few words, where it has them."""
        said = rule.d.get("answers", {}).get("short")
        return (self.fill(str(said), rule, thing) if said else None) or rule.said

    # ---- templates
    def fill(self, text: str, rule: Rule, thing: Thing) -> str | None:
        """A sentence with its facts filled in; None where one of them is not known.

        What stands in square brackets is left out where one of its own facts is not known.
        """

        def one(found: re.Match[str]) -> str:
            return self.filling(found[1], rule, thing)

        def maybe(found: re.Match[str]) -> str:
            try:
                return FACT.sub(one, found[1])
            except KeyError:
                return ""

        try:
            return FACT.sub(one, OPTIONAL.sub(maybe, text))
        except KeyError:
            return None

    def filling(self, name: str, rule: Rule, thing: Thing) -> str:
        """What stands in a sentence for `{name}`: a side of the test, its margin, or a fact.

        Raises:
            KeyError: it is not known.
        """
        if name in ("have", "needed"):
            if not rule.comparison:
                return ""
            have, needed = self.side_texts(rule, thing)
            return have if name == "have" else needed
        if name == "margin":
            said = self.bare_margin(rule, thing) or None
        else:
            said = self.value_of(thing, name)
        if said is None:
            raise KeyError(name)
        return said

    def bare_margin(self, rule: Rule, thing: Thing) -> str:
        """The margin without the side it is on, which the sentence around it says."""
        margin = self.margin(rule, thing)
        # which way it is off is all that it says
        if rule.comparison and rule.comparison.op == "=":
            return margin
        if margin == "at the limit":
            return "nothing"
        return re.sub(" (to spare|short|under|over)$", "", margin)

    def value_of(self, thing: Thing, path: str) -> str | None:
        """`size of the EGC` as it is shown; None where it is not known or not there."""
        kind = thing[0].kind
        names = self.knowledge.words.spell(
            kind, tuple(name.strip() for name in reversed(path.split(" of ")))
        )
        # the thing itself, named by its kind
        words = self.knowledge.words.kinds[kind].words
        if len(names) > 1 and names[0] == kind and kind not in words:
            names = names[1:]
        return self._at_end_of(list(names), thing)

    def _at_end_of(self, names: list[str], thing: Thing) -> str | None:
        """What a way through parts of a thing ends at; of a list, what all its members share."""
        if not names:
            return None
        name, *rest = names
        word = self.knowledge.words.kinds[thing[0].kind].words.get(name)
        if word is None:
            return None
        value = thing[word.slot]
        if value is None or value is NONE or value is NOTHING:
            return None
        if not rest:
            if word.type[0] == "choice" and value in UNNAMED:
                return thing[0].kind  # nobody says "the other"
            return show(value, unit_shown(thing, name, word.unit), brief=True)
        if word.type[0] == "many":
            said = {self.value_of(part, " of ".join(reversed(rest))) for part in members(value)}
            return said.pop() if len(said) == 1 else None
        return self._at_end_of(rest, value) if isinstance(value, list) else None

    # ---- a comparison
    def side_texts(
        self, rule: Rule, thing: Thing, comparison: ex.Cmp | None = None
    ) -> tuple[str, str]:
        """Both sides of a comparison, by no more figures than keep them apart as they are."""
        compared = compared_in(rule, comparison)
        if compared.order is not None:  # rows of a table go by their names, not by their places
            rows = (side.ev(thing, None) for side in (compared.a, compared.b))
            have, needed = (show(row, None) for row in rows)
            return have, needed
        (a, b), (unit_a, unit_b) = compared.sides(thing, None), units_written(compared, thing)
        sides = ((a, unit_a), (b, unit_b))
        numbers = (
            compared.order is None
            and "date" not in (unit_a, unit_b)
            and all(plain(n) or isinstance(n, Range) for n in (a, b))
            and not {unit_a, unit_b} & PUT_TOGETHER.keys()
        )
        brief = not numbers or faithful(a, b, unit_a, unit_b, True)
        full = numbers and not brief and not faithful(a, b, unit_a, unit_b, False)
        have, needed = (show(n, unit, full, brief) for n, unit in sides)
        return have, needed

    def margin(self, rule: Rule, thing: Thing, comparison: ex.Cmp | None = None) -> str:
        """`5 A short`: how far a comparison of *rule*, its test if no other is named, is from its
        limit, and on which side.
        """
        forbids = comparison is None and rule.verb == "must not"
        compared = comparison or rule.test
        if not is_number_test(compared):
            return ""
        sides = compared.sides(thing, None)
        unit, _ = units_written(compared, thing)
        verdict = compared.ev(thing, None)
        a, b = nearest_ends(compared.op, verdict, *sides)
        if not (plain(a) and plain(b)):
            return ""
        a, b = in_unit(a, unit), in_unit(b, unit)
        gap = abs(a - b)
        if gap == 0:
            return "at the limit" if compared.op != "=" else ""
        size = number_text(gap, brief=True)
        if any(_wide(side, unit) for side in sides):
            size = f"at least {size}"
        if unit and unit != "count":
            size = f"{size} {unit}"
        if compared.op in ("=", "!="):
            # neither side is the safe one; a rule may have words for both
            off = "under" if a < b else "over"
            return f"{size} {rule.d.get('answers', {}).get(off, off)}"
        if verdict is not forbids:
            return f"{size} to spare"
        least = (compared.op in (">=", ">")) is not forbids
        return f"{size} {'short' if least else 'over'}"

    def check(self, rule: Rule, thing: Thing, comparison: ex.Cmp | None = None) -> str:
        """`55 A >= 60 A?  No, 5 A short.` of the test of *rule*, or of another comparison in it;
        yes is what is asked for.
        """
        forbids = comparison is None and rule.verb == "must not"
        have, needed = self.side_texts(rule, thing, comparison)
        margin = self.margin(rule, thing, comparison)
        compared = compared_in(rule, comparison)
        met = compared.ev(thing, None)
        if forbids and met is not None and met is not NOTHING:
            met = not met
        relation = OPPOSITE[compared.op] if forbids else compared.op
        limit = compared.b
        name = limit.names[-1] if isinstance(limit, ex.Path) and limit.names else ""
        named = f"{name} " if name in MARKED else ""
        word = "Yes" if met is True else "Can't tell" if met is None else "No"
        return f"{have} {relation} {named}{needed}?  {word}" + (f", {margin}." if margin else ".")

    def tightness(self, rule: Rule, thing: Thing) -> float:
        """How near a comparison is to its limit: for ordering only."""
        return distance(rule.test, thing)

    def source(self, rule: Rule, thing: Thing) -> str:
        """The section of a rule of the law; a habit of the trade has none."""
        if rule.layer not in ("law", "local"):
            return ""
        return rule.section(self.knowledge.edition, thing) or ""

    def _circuit(self, thing: Thing) -> Thing:
        """The outermost thing below the job that *thing* is part of."""
        while thing[0].whole is not None and thing[0].whole[0].id != "job":
            thing = thing[0].whole
        return thing


def is_number_test(test: object) -> TypeGuard[ex.Cmp]:
    """Whether *test* compares numbers: a comparison of sizes has an order of its own and no
    distance.
    """
    return isinstance(test, ex.Cmp) and test.order is None


def units_written(compared: ex.Cmp, thing: Thing) -> tuple[str | None, str | None]:
    """The units of the two sides of a comparison: one that a person wrote serves for both."""
    first, second = (unit_as_written(side, thing) for side in (compared.a, compared.b))
    if compared.order is not None or first is None or second is None:
        return first, second
    if {first, second} & PUT_TOGETHER.keys() or dimension(first) != dimension(second):
        return first, second
    if second == compared.b.unit:
        return first, first
    return (second, second) if first == compared.a.unit else (first, second)


def compared_in(rule: Rule, comparison: ex.Cmp | None) -> ex.Cmp:
    """*comparison*, or the test of *rule* where no other is named.

    Raises:
        TypeError: the test of *rule* is no comparison; who asks has to know.
    """
    compared = comparison or rule.test
    if not isinstance(compared, ex.Cmp):
        raise TypeError(f"{rule.id} compares nothing")
    return compared


def template_of(verdict: str) -> str:
    """Under which key of `answers:` a rule has its words for a verdict."""
    if verdict in (PASSES, SET_ASIDE):
        return "passes"
    return "cannot tell" if verdict == TELL else "fails"


def nearest_ends(op: str, verdict: object, a: Value, b: Value) -> tuple[Value, Value]:
    """Of two sides that may be intervals, what is sure of their distance: the ends nearest to each
    other.
    """
    if verdict not in (True, False):
        return a, b
    (least_a, most_a), (least_b, most_b) = ends(a), ends(b)
    above = verdict is (op in (">=", ">"))
    return (least_a, most_b) if above else (most_a, least_b)


def _wide(value: object, unit: str | None) -> bool:
    """Whether a value lies between two numbers that are shown apart: more than a root's last
    digit.
    """
    if not isinstance(value, Range) or value.lo is None or value.hi is None:
        return False
    return number_text(in_unit(value.lo, unit)) != number_text(in_unit(value.hi, unit))


def _between_numbers(value: object) -> bool:
    """Whether a value is a number, or an interval with both its ends."""
    if isinstance(value, Range):
        return value.lo is not None and value.hi is not None
    return plain(value)
