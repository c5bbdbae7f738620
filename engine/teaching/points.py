"""What an answer is worth: a point a question, and a part of it where all that apply are picked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import Any

from .questions import Instance
from .quiz import key_places, picks_several


def shares(question: Instance) -> list[Fraction]:
    """What picking each option of a question adds, where all that apply are picked.

    Those that are right share the point, and those that are wrong share what is taken off: so who
    picks all of them, or leaves it to chance, gains nothing by it.
    """
    good = sum(option.right for option in question.options)
    bad = len(question.options) - good
    return [Fraction(1, good) if o.right else Fraction(-1, bad) for o in question.options]


def points(question: Instance, chosen: Sequence[int]) -> Fraction:
    """What an answer is worth, from 0 to 1: the places of the options *chosen*, in the order in
    which they were chosen.

    An order is right as a whole: where two reasons are swapped, one rests on what comes after it.
    """
    key = key_places(question)
    if not picks_several(question):
        return Fraction(list(chosen) == key)
    if set(chosen) == set(key):
        return Fraction(1)
    each = shares(question)
    return max(Fraction(0), sum((each[place] for place in set(chosen)), Fraction(0)))


def kept(answer: Mapping[str, Any]) -> Fraction:
    """What an answer is worth that a results file keeps; one that was kept before parts of a point
    were counted is right or wrong.
    """
    return Fraction(answer.get("points") or int(answer["right"]))


def said(worths: Iterable[Fraction]) -> str:
    """What several answers are worth together, in at most two digits behind the point.

    >>> said([Fraction(1), Fraction(2, 3)])
    '1.67'
    """
    return f"{float(sum(worths, Fraction(0))):.2f}".rstrip("0").rstrip(".")
