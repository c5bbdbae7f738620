"""What a person says to a card, as the card takes it: choices by number or in words, numbers with
their units. A slip is asked back.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from .cards import Card

SKIPPED = "don't know"
OPEN = "?"  # of several numbers the one that is not known
APART, AND = " · ", " + "  # a place from its feet; what was told at once
# a number as people write it, fractions too, and its unit
NUMBER = re.compile(r"(\d+[- ]\d+/\d+|\d+/\d+|\d+(?:\.\d+)?|\?)\s*([A-Za-z%²]+)?")


class Wrong(Exception):
    """An answer that a card cannot take; the message says what it takes."""


def taken(card: Card, text: str) -> str:
    """*text* as *card* takes it.

    Raises:
        Wrong: it does not.
    """
    text = " ".join(text.split())
    if not text.strip(f"{OPEN}, ") or text.lower() == SKIPPED:
        return SKIPPED
    if card.several:
        return AND.join(_several(card, text))
    choice, rest = _choice(card, text)
    if not card.entry:
        if choice is None or rest:
            raise Wrong("say the number of an answer, or ? where you don't know")
        return choice
    if card.choices:
        if choice is None:
            entry = " and ".join(one.say for one in card.entry)
            raise Wrong(f"say the number of an answer and the {entry}, as in 2 35")
        if choice in card.alone:
            if rest:
                raise Wrong(f"no number belongs to that: {choice}")
            return choice
        return f"{choice}{APART}{_numbers(card, rest)}"
    return _numbers(card, text)


def _choice(card: Card, text: str) -> tuple[str | None, str]:
    """The choice that *text* begins with, and what is left of it."""
    for choice in sorted(card.choices, key=len, reverse=True):
        after = text[len(choice) : len(choice) + 1]
        if text.lower().startswith(choice.lower()) and not after.isalnum():
            return choice, text[len(choice) :].strip(" ,·")
    number, _, rest = text.partition(" ")
    number = number.rstrip(",")
    if number.isdecimal() and 0 < int(number) <= len(card.choices):
        return [*card.choices][int(number) - 1], rest.strip(" ,")
    return None, text


def _several(card: Card, text: str) -> Iterator[str]:
    """The choices that *text* names, each once, in the order of the card."""
    named = set()
    rest = text
    while rest:
        choice, rest = _choice(card, rest)
        if choice is None:
            raise Wrong("say the numbers of all that fit, as in 1 3 4; ? where you don't know")
        named.add(choice)
        rest = re.sub(r"^(?:[+;,·]|and\b)\s*", "", rest)
    yield from (choice for choice in card.choices if choice in named)


def _numbers(card: Card, text: str) -> str:
    """The numbers of an entry, each with its unit (the only one that a card knows, if none); of
    several that are asked for one may be OPEN.
    """
    found = NUMBER.findall(text)
    if len(found) != len(card.entry) or NUMBER.sub("", text).strip(" ,"):
        wanted = " and ".join(f"{e.say} ({' or '.join(e.units)})" for e in card.entry)
        raise Wrong(f"type {wanted}")
    out = []
    for (number, unit), entry in zip(found, card.entry):
        if number == OPEN:
            out.append(OPEN)
            continue
        units = {u.lower(): u for u in entry.units}
        if unit and unit.lower() not in units or not unit and len(units) > 1:
            least = next(iter(entry.units))
            raise Wrong(f"{entry.say}: type it with {' or '.join(entry.units)}, as in 48 {least}")
        number = re.sub(r"(\d) (\d+/)", r"\1-\2", number)
        out.append(f"{number} {units.get(unit.lower()) or next(iter(entry.units))}")
    return ", ".join(out)


def facts_of(card: Card, said: str) -> Iterator[tuple[str, Any]]:
    """The facts that an answer tells: path -> value."""
    if said == SKIPPED:
        return
    numbers = said
    if card.choices:
        chosen, _, numbers = said.partition(APART)
        for choice in chosen.split(AND) if card.several else [chosen]:
            yield from card.choices[choice].items()
    for entry, number in zip(card.entry, numbers.split(", ") if numbers else ()):
        if number != OPEN:
            yield entry.units[number.split()[-1]], number


__all__ = ["AND", "APART", "OPEN", "SKIPPED", "Wrong", "facts_of", "taken"]
