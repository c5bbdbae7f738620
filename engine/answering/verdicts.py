"""What is said of a requirement as an option shows it: the verdict with the two numbers it rests
on, and how values are written.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from ..basics.sentinels import NONE
from ..basics.units import Range, in_unit, number_text
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..proving.graph import show, unit_as_written
from ..running.chain import ADVICE, OFF, PASSES, SET_ASIDE, TELL, World

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


def text_of(v, unit: str) -> str:
    """A value as an option shows it."""
    return verdict_text(v) if isinstance(v, Verdict) else show(v, unit or None)


def same_text(a, b, unit: str) -> bool:
    """Whether two values are one answer: equal as they are shown, so that nobody errs by a digit
    that is not asked for.
    """
    if (
        isinstance(a, tuple)
        and not isinstance(a, Verdict)
        or isinstance(b, tuple)
        and not isinstance(b, Verdict)
    ):
        return a == b
    if (
        isinstance(a, Verdict)
        and isinstance(b, Verdict)
        and (a.answer, a.relation, a.because) != (b.answer, b.relation, b.because)
    ):
        return False
    if (
        _apart(a, b)
        or isinstance(a, Verdict)
        and isinstance(b, Verdict)
        and (_apart(a.have, b.have) or _apart(a.needed, b.needed))
    ):
        return False
    return a == b or text_of(a, unit) == text_of(b, unit)


def _apart(a, b) -> bool:
    """Whether two numbers differ by more than any digit that is left out: what is shown need not be
    written to know it.
    """
    return (
        a.__class__ in NUMBERS
        and b.__class__ in NUMBERS
        and abs(Fraction(a) - Fraction(b)) * 200 > abs(Fraction(a)) + abs(Fraction(b))
    )


WORDS = {">=": "at least", ">": "more than", "<=": "at most", "<": "less than", "=": "exactly"}
OTHER_WAY = {
    "at least": "less than",
    "more than": "no more than",
    "at most": "more than",
    "less than": "no less than",
    "exactly": "not",
}


def verdict_text(v: Verdict, digits: int | None = None) -> str:
    """A verdict in a sentence: `No: 55 A, and at least 60 A is needed.`"""
    word = "Yes" if v.answer in (*PASSED, OFF) else "No"
    if v.answer == OFF:
        return f"Yes: {small(v.because)}" if v.because else "Yes: no such requirement applies."
    if not v.relation:
        return f"{word}: {small(v.because)}" if v.because else f"{word}."
    have, needed = (
        _with_digits(
            x,
            v.unit,
            (
                digits
                if digits is not None
                else (
                    _digits([v.have, v.needed], v.unit)
                    if is_plain(v.have, v.unit) and is_plain(v.needed, v.unit)
                    else 4
                )
            ),
        )
        for x in (v.have, v.needed)
    )
    have, needed = (
        f"{text} ({size})" if size else text for text, size in zip((have, needed), v.sizes)
    )
    if v.answer == SET_ASIDE:
        return f"Yes, though {have} is {OTHER_WAY[v.relation]} {needed}: {small(v.because)}"
    end = (
        "is advised"
        if v.answer == ADVICE or v.because == "advice"
        else "is needed"
        if v.relation in ("at least", "more than", "exactly")
        else "is allowed"
    )
    return (
        f"{word}{', though that is advice and not law' if v.answer == ADVICE else ''}: {have}, and"
        f" {v.relation} {needed} {end}."
    )


def small(text: str) -> str:
    """A sentence after a colon: its first letter small, unless it begins with an abbreviation."""
    return (
        text
        if len(text) < 2 or text[1].isupper() or not text[1].isalpha()
        else text[0].lower() + text[1:]
    )


def _with_digits(v, unit: str | None, digits: int) -> str:
    return f"{rounded(v, unit, digits)} {unit}" if is_plain(v, unit) else show(v, unit)


def rounded(v, unit: str | None, digits: int) -> str:
    whole, _, rest = number_text(round(in_unit(v, unit), digits)).partition(".")
    return whole + ("." + rest.ljust(digits, "0") if digits else "")


def _digits(values, unit: str | None) -> int:
    """How many places behind the point numbers are shown with: all they have, or what leaves the
    smallest three figures.
    """
    texts = [number_text(in_unit(v, unit)) for v in values]
    digits = max((len(t.partition(".")[2]) for t in texts), default=0)
    if digits > 3:
        least = min((abs(in_unit(v, unit)) for v in values if v), default=1)
        digits = 0 if least >= 1000 else 2 if least >= 1 else 3 if least * 10 >= 1 else digits
    return digits


def is_plain(v, unit: str | None) -> bool:
    return not (
        isinstance(v, (str, bool, Range, list))
        or v is NONE
        or not unit
        or unit in ("date", "count", "°")
    )


def alike(options: list, unit: str) -> int | None:
    """Write numbers with the same unit and the same digits; how many places, where they are plain
    numbers.
    """
    verdicts = [o.value for o in options if isinstance(o.value, Verdict) and o.value.relation]
    if verdicts:
        unit = verdicts[0].unit
        digits = _digits(
            [x for v in verdicts for x in (v.have, v.needed) if is_plain(x, unit)], unit
        )
        for o in options:
            o.text = verdict_text(o.value, digits)
        return None
    values = [o.value for o in options]
    if not unit or any(isinstance(v, (str, bool, Verdict)) for v in values) or unit == "date":
        return None
    digits = _digits(values, unit)
    for o in options:
        t = rounded(o.value, unit, digits)
        o.text = t if unit == "count" else f"{t} {unit}" if unit != "°" else f"{t}°"
    return digits


def short_of(k: Knowledge, rule: str) -> str:
    """A rule in a few words."""
    r = k.rules[rule]
    said = str(r.d.get("answers", {}).get("short") or "")
    return said if said and "{" not in said else str(r.d["says"])


# ---- read off a run ------------------------------------------------------------------------------


def answer_on(w: World, said: str) -> str | None:
    """What the run says of `RULE on THING`; None where there is no such thing."""
    rule, _, thing = said.partition(" on ")
    r, x = w.k.rules.get(rule.strip()), w.things.get(thing.strip())
    return None if x is None else OFF if r is None else str(w.answer(r, x))


def verdict_on(w: World, said: str, lawful: bool, off_counts: bool = False) -> Verdict | None:
    """The verdict on `RULE on THING`; None where it cannot be told, or under the law where the rule
    does not apply.
    """
    a = answer_on(w, said)
    if a is None or a == TELL:
        return None
    rule, _, thing = (p.strip() for p in said.partition(" on "))
    r, x = w.k.rules.get(rule), w.things[thing]
    # who does not know the rule is stopped by nothing
    if a == OFF and (r is None or isinstance(r.test, ex.Cmp) or not _turning(r, x)):
        return None if lawful and not off_counts else Verdict(OFF)
    exception = e.id if a == SET_ASIDE and (e := w.lifting(r, x)) is not None else ""
    because = short_of(w.k, exception) if exception else "advice" if r.verb == "should" else ""
    c = r.test
    if not isinstance(c, ex.Cmp):
        return Verdict(a, because=because if exception else _turning(r, x))
    have, needed = c.a.ev(x, None), c.b.ev(x, None)
    if have is None or needed is None:
        return None
    relation = WORDS.get(c.op, "")
    if r.verb == "must not":
        relation = {">=": "less than", ">": "at most", "<=": "more than", "<": "at least"}.get(
            c.op, ""
        )
    return Verdict(
        a,
        have,
        relation,
        needed,
        unit_as_written(c.a, x) if c.order is None else None,
        because,
        _sizes(w.k, c.a.unit, have, needed),
    )


def _sizes(k: Knowledge, unit: str | None, *areas) -> tuple:
    """The conductors that have these areas, where they are areas of conductors."""
    if unit != "cmil":
        return "", ""
    named = {row["area"]: str(row["size"]) for row in k.tables["conductor-sizes"].rows}
    return tuple(named.get(a, "") if not isinstance(a, Range) else "" for a in areas)


def _turning(r, x) -> str:
    """The number on which it turns whether a rule without a comparison of its own applies, in
    words.
    """
    for c in r.when:
        if isinstance(c, ex.Cmp) and c.order is None and c.op in WORDS:
            have, needed, so = c.a.ev(x, None), c.b.ev(x, None), c.ev(x, None)
            if so in (True, False):
                unit = unit_as_written(c.a, x)
                return (
                    f"{show(have, unit)} is {WORDS[c.op] if so else OTHER_WAY[WORDS[c.op]]}"
                    f" {show(needed, unit)}."
                )
    return ""
