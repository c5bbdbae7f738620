"""What is said of a requirement as an option shows it: the verdict with the two numbers it rests
on, and how values are written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from ..basics.sentinels import NONE
from ..basics.units import Range, in_unit, number_text
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import Rule
from ..language.things import Thing
from ..proving.graph import show, unit_as_written
from ..running.chain import ADVICE, OFF, PASSES, SET_ASIDE, TELL, World
from .findings import Value

PASSED = (PASSES, SET_ASIDE)
NUMBERS = (Decimal, Fraction)


class Verdict(NamedTuple):
    """What is said of a requirement, with the two numbers it rests on."""

    answer: str
    have: object = None
    relation: str = ""  # at least, at most, exactly
    needed: object = None
    unit: str | None = None
    because: str = ""  # the exception that lets it pass, or the condition that is not so
    sizes: tuple = ("", "")  # what the two are called, where they are areas of conductors


# ---- the text of an option -----------------------------------------------------------------------


def text_of(value: Value, unit: str) -> str:
    """A value as an option shows it."""
    return verdict_text(value) if isinstance(value, Verdict) else show(value, unit or None)


def same_text(a: Value, b: Value, unit: str) -> bool:
    """Whether two values are one answer: equal as they are shown, so that nobody errs by a digit
    that is not asked for.
    """
    if _is_bare_tuple(a) or _is_bare_tuple(b):
        return bool(a == b)
    if isinstance(a, Verdict) and isinstance(b, Verdict):
        if (a.answer, a.relation, a.because) != (b.answer, b.relation, b.because):
            return False
        if _apart(a.have, b.have) or _apart(a.needed, b.needed):
            return False
    if _apart(a, b):
        return False
    return bool(a == b) or text_of(a, unit) == text_of(b, unit)


def _is_bare_tuple(value: Value) -> bool:
    """Whether a value is several values, and no verdict (which is a tuple, too)."""
    return isinstance(value, tuple) and not isinstance(value, Verdict)


def _apart(a: Value, b: Value) -> bool:
    """Whether two numbers differ by more than any digit that is left out: what is shown need not be
    written to know it.
    """
    return (
        a.__class__ in NUMBERS
        and b.__class__ in NUMBERS
        and abs(Fraction(a) - Fraction(b)) * 200 > abs(Fraction(a)) + abs(Fraction(b))
    )


WORDS = {">=": "at least", ">": "more than", "<=": "at most", "<": "less than", "=": "exactly"}
# what a forbidden comparison asks for
FORBIDDEN = {">=": "less than", ">": "at most", "<=": "more than", "<": "at least"}
OTHER_WAY = {
    "at least": "less than",
    "more than": "no more than",
    "at most": "more than",
    "less than": "no less than",
    "exactly": "not",
}


def verdict_text(verdict: Verdict, digits: int | None = None) -> str:
    """A verdict in a sentence: `No: 55 A, and at least 60 A is needed.`"""
    word = "Yes" if verdict.answer in (*PASSED, OFF) else "No"
    if verdict.answer == OFF:
        because = small(verdict.because) if verdict.because else "no such requirement applies."
        return f"Yes: {because}"
    if not verdict.relation:
        return f"{word}: {small(verdict.because)}" if verdict.because else f"{word}."
    have, needed = _number_texts(verdict, digits)
    if verdict.answer == SET_ASIDE:
        beyond = OTHER_WAY[verdict.relation]
        return f"Yes, though {have} is {beyond} {needed}: {small(verdict.because)}"
    end = "is allowed"
    if verdict.answer == ADVICE or verdict.because == "advice":
        end = "is advised"
    elif verdict.relation in ("at least", "more than", "exactly"):
        end = "is needed"
    advice = ", though that is advice and not law" if verdict.answer == ADVICE else ""
    return f"{word}{advice}: {have}, and {verdict.relation} {needed} {end}."


def limit_text(verdict: Verdict, digits: int | None = None) -> str:
    """What a verdict is judged by, without the judgement: `at least 60 A`."""
    return f"{verdict.relation} {_number_texts(verdict, digits)[1]}"


def amount_text(verdict: Verdict, digits: int | None = None) -> str:
    """What a verdict holds against its limit: `55 A`."""
    return _number_texts(verdict, digits)[0]


def pair_text(verdict: Verdict, digits: int | None = None) -> str:
    """Both numbers of a verdict, without the judgement: `55 A, where at least 60 A is needed`."""
    text = verdict_text(verdict, digits).removeprefix("Yes").removeprefix("No")
    return text.lstrip(":, ").replace(", and ", ", where ", 1).rstrip(".")


def _number_texts(verdict: Verdict, digits: int | None) -> tuple[str, str]:
    """The two numbers of a verdict, with the same digits and the conductors they stand for."""
    numbers, unit = (verdict.have, verdict.needed), verdict.unit
    if digits is None:
        both_plain = all(is_plain(number, unit) for number in numbers)
        digits = _digits(numbers, unit) if both_plain else 4
    have, needed = (
        f"{_with_digits(number, unit, digits)} ({size})"
        if size
        else _with_digits(number, unit, digits)
        for number, size in zip(numbers, verdict.sizes)
    )
    return have, needed


def small(text: str) -> str:
    """A sentence after a colon: its first letter small, unless it begins with an abbreviation."""
    return (
        text
        if len(text) < 2 or text[1].isupper() or not text[1].isalpha()
        else text[0].lower() + text[1:]
    )


def _with_digits(value: Value, unit: str | None, digits: int) -> str:
    return f"{rounded(value, unit, digits)} {unit}" if is_plain(value, unit) else show(value, unit)


def rounded(value: Value, unit: str | None, digits: int) -> str:
    """A number with so many places behind the point."""
    whole, _, rest = number_text(round(in_unit(value, unit), digits)).partition(".")
    return whole + ("." + rest.ljust(digits, "0") if digits else "")


def _digits(values: Iterable[Value], unit: str | None) -> int:
    """How many places behind the point numbers are shown with: all they have, or what leaves the
    smallest three figures.
    """
    texts = [number_text(in_unit(v, unit)) for v in values]
    digits = max((len(t.partition(".")[2]) for t in texts), default=0)
    if digits > 3:
        least = min((abs(in_unit(v, unit)) for v in values if v), default=1)
        digits = 0 if least >= 1000 else 2 if least >= 1 else 3 if least * 10 >= 1 else digits
    return digits


def is_plain(value: Value, unit: str | None) -> bool:
    """Whether a value is one number with a unit that it is written in."""
    return not (
        isinstance(value, (str, bool, Range, list))
        or value is NONE
        or not unit
        or unit in ("date", "count", "°")
    )


def alike(
    options: list[Any], unit: str | None, written: Callable[..., str] = verdict_text
) -> int | None:
    """Write numbers with the same unit and the same digits, verdicts as *written*; how many places,
    where they are plain numbers.
    """
    verdicts = [
        option.value
        for option in options
        if isinstance(option.value, Verdict) and option.value.relation
    ]
    if verdicts:
        _verdicts_alike(options, verdicts, written)
        return None
    values = [option.value for option in options]
    words = any(isinstance(value, (str, bool, Verdict)) for value in values)
    if not unit or words or unit == "date":
        return None
    digits = _digits(values, unit)
    for option in options:
        option.text = _in_unit_text(rounded(option.value, unit, digits), unit)
    return digits


def _verdicts_alike(
    options: list[Any], verdicts: list[Verdict], written: Callable[..., str]
) -> None:
    """Write verdicts with the same digits, those that all their numbers need."""
    unit = verdicts[0].unit
    numbers = [number for verdict in verdicts for number in (verdict.have, verdict.needed)]
    digits = _digits([number for number in numbers if is_plain(number, unit)], unit)
    for option in options:
        option.text = written(option.value, digits)


def _in_unit_text(text: str, unit: str) -> str:
    """A number with its unit; degrees stand close, a count has none."""
    if unit == "count":
        return text
    return f"{text}°" if unit == "°" else f"{text} {unit}"


def short_of(knowledge: Knowledge, rule: str) -> str:
    """A rule in a few words."""
    r = knowledge.rules[rule]
    said = str(r.d.get("answers", {}).get("short") or "")
    return said if said and "{" not in said else str(r.d["says"])


# ---- read off a run ------------------------------------------------------------------------------


def answer_on(world: World, said: str) -> str | None:
    """What the run says of `RULE on THING`; None where there is no such thing."""
    rule, _, thing = said.partition(" on ")
    r, x = world.k.rules.get(rule.strip()), world.things.get(thing.strip())
    return None if x is None else OFF if r is None else str(world.answer(r, x))


def verdict_on(world: World, said: str, lawful: bool, off_counts: bool = False) -> Verdict | None:
    """The verdict on `RULE on THING`; None where it cannot be told, or under the law where the rule
    does not apply.
    """
    answer = answer_on(world, said)
    if answer is None or answer == TELL:
        return None
    name, _, on = (part.strip() for part in said.partition(" on "))
    rule, thing = world.k.rules.get(name), world.things[on]
    # who does not know the rule is stopped by nothing
    if rule is None:
        return None if lawful and not off_counts else Verdict(OFF)
    compared = rule.comparison
    if answer == OFF and (compared or not _turning(rule, thing)):
        return None if lawful and not off_counts else Verdict(OFF)
    exception = world.lifting(rule, thing) if answer == SET_ASIDE else None
    because = "advice" if rule.verb == "should" else ""
    if exception is not None:
        because = short_of(world.k, exception.id)
    if compared is None:
        said_why = because if exception is not None else _turning(rule, thing)
        return Verdict(answer, because=said_why)
    have, needed = compared.a.ev(thing, None), compared.b.ev(thing, None)
    if have is None or needed is None:
        return None
    return Verdict(
        answer,
        have,
        (FORBIDDEN if rule.verb == "must not" else WORDS).get(compared.op, ""),
        needed,
        unit_as_written(compared.a, thing) if compared.order is None else None,
        because,
        _sizes(world.k, compared.a.unit, have, needed),
    )


def _sizes(knowledge: Knowledge, unit: str | None, have: Value, needed: Value) -> tuple[str, str]:
    """The conductors that have these areas, where they are areas of conductors."""
    if unit != "cmil":
        return "", ""
    named = {row["area"]: str(row["size"]) for row in knowledge.tables["conductor-sizes"].rows}
    first, second = (
        "" if isinstance(area, Range) else named.get(area, "") for area in (have, needed)
    )
    return first, second


def _turning(rule: Rule, thing: Thing) -> str:
    """The number on which it turns whether a rule without a comparison of its own applies, in
    words.
    """
    for condition in rule.when:
        if not isinstance(condition, ex.Cmp) or condition.order is not None:
            continue
        # a comparison that reads no fact is how a belief says never: it turns on nothing
        if all(isinstance(side, ex.Num) for side in condition.kids()):
            continue
        relation = WORDS.get(condition.op)
        met = condition.ev(thing, None)
        if relation is None or met not in (True, False):
            continue
        unit = unit_as_written(condition.a, thing)
        have = show(condition.a.ev(thing, None), unit)
        needed = show(condition.b.ev(thing, None), unit)
        return f"{have} is {relation if met else OTHER_WAY[relation]} {needed}."
    return ""
