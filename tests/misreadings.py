"""Slips of the pen in edits that were written right: one of a kind at a time, the sentence kept.

Each takes an edit as it is read and says what it makes of it, with what must then be said back.
"""

import copy
import random
import re
from collections.abc import Iterator
from typing import Any, NamedTuple

LINES = ("must", "must not", "should", "when", "only when", "where", "gives", "assumes", "insert")
AMOUNTS = ("to", "as", "as at least", "as at most")
SIDES = {">=": "<=", "<=": ">=", ">": "<", "<": ">"}
BORDERS = {">=": ">", "<=": "<", ">": ">=", "<": "<="}
_NUMBER = re.compile(
    r"(?<![\w.,/§-])(\d+(?:\.\d+)?)(?=\s?(?:[A-Za-z°%Ω]+|$|\)|\]))(?! AWG| kcmil|/)"
)


class Slip(NamedTuple):
    """One misunderstanding, put into an edit."""

    kind: str
    edit: dict[str, Any]
    shows: str  # a piece that what is said back must have now; "" where it must only be otherwise


def slips_of(edit: dict[str, Any], choices: dict[str, list[str]], seed: int) -> Iterator[Slip]:
    """Every kind of slip that this edit can have, one of each, drawn by *seed*."""
    draw = random.Random(f"{seed} {edit}")
    for kind, make in KINDS.items():
        made = list(make(edit, choices))
        if made:
            yield Slip(kind, *draw.choice(made))


def _texts(edit: dict[str, Any], keys: tuple[str, ...]) -> Iterator[tuple[list[Any], str]]:
    """(way to it, text) of every line under some keys."""

    def under(way: list[Any], said: Any) -> Iterator[tuple[list[Any], str]]:
        if isinstance(said, dict):
            for key, part in said.items():
                yield from under([*way, key], part)
        elif isinstance(said, list):
            for i, part in enumerate(said):
                yield from under([*way, i], part)
        else:
            yield way, str(said)

    for key in keys:
        if key in edit:
            yield from under([key], edit[key])


def _put(edit: dict[str, Any], way: list[Any], text: Any) -> dict[str, Any]:
    out = copy.deepcopy(edit)
    here = out
    for step in way[:-1]:
        here = here[step]
    here[way[-1]] = text
    return out


def numbers(edit, choices):
    for way, text in _texts(edit, LINES + AMOUNTS):
        for found in _NUMBER.finditer(text):
            one = found[1]
            for other in (f"{one}0", _turned(one), str(int(float(one)) + 1)):
                if other != one:
                    yield (
                        _put(edit, way, text[: found.start()] + other + text[found.end() :]),
                        other,
                    )


def _turned(number: str) -> str:
    """The first two digits the other way round."""
    if len(number) < 2 or not number[:2].isdigit() or number[1] == "0":
        return f"{number}5"
    return number[1] + number[0] + number[2:]


def units(edit, choices):
    for way, text in _texts(edit, LINES + AMOUNTS):
        for one, other in ((" in", " ft"), (" ft", " in"), (" °C", " °F"), (" A", " mA")):
            found = re.search(rf"(\d){one}\b", text)
            if found:
                # what a table has is said back in the table's own unit
                yield _put(edit, way, text[: found.end(1)] + other + text[found.end() :]), ""


def _signs(edit, signs):
    for way, text in _texts(edit, LINES):
        for found in re.finditer(r">=|<=|>|<", text):
            other = signs[found[0]]
            yield _put(edit, way, text[: found.start()] + other + text[found.end() :]), ""
    for one, other in (("as at least", "as at most"), ("as at most", "as at least")):
        if one in edit and signs is SIDES:
            yield {other if k == one else k: v for k, v in edit.items()}, other.removeprefix("as ")


def sides(edit, choices):
    yield from _signs(edit, SIDES)


def borders(edit, choices):
    yield from _signs(edit, BORDERS)


def negations(edit, choices):
    for one, other in (("must", "must not"), ("must not", "must")):
        if one in edit:
            yield {other if k == one else k: v for k, v in edit.items()}, ""
    for way, text in _texts(edit, LINES):
        if text.startswith("not "):
            yield _put(edit, way, text.removeprefix("not ")), ""
        elif re.fullmatch(r"[\w -]+", text) and way[0] != "insert" and " is " not in text:
            if text not in ("yes", "no"):
                yield _put(edit, way, f"not {text}"), ""


def subjects(edit, choices):
    for way, text in _texts(edit, LINES):
        found = re.fullmatch(r"(?:not )?([\w ]+?) is (?:not )?([^'|]+)", text)
        for other in choices.get(found[1].split(" of ")[0], []) if found else []:
            if other != found[2].strip() and not re.search(r"\b(or|and)\b|^\d", other):
                yield _put(edit, way, text[: found.start(2)] + other), other


def dates(edit, choices):
    for key in ("from", "until"):
        if key in edit:
            day = str(edit[key])
            year, month, number = day.split("-")
            yield {**edit, key: f"{int(year) + 1}-{month}-{number}"}, ""
            if int(number) <= 12 and number != month:
                yield {**edit, key: f"{year}-{number}-{month}"}, ""


def conditions(edit, choices):
    """An exception, a permission or a requirement that is wider than it was meant."""
    for key in ("when", "only when"):
        said = edit.get(key)
        if isinstance(said, list):
            for i in range(len(said) if len(said) > 1 else 0):
                left = [part for j, part in enumerate(said) if j != i]
                yield {**edit, key: left if len(left) > 1 else left[0]}, ""
        elif said is not None and key == "when":
            yield {k: v for k, v in edit.items() if k != key}, "always"
        if isinstance(said, dict) and "any of" in said:
            yield {**edit, key: said["any of"]}, "and"
    if "where" in edit:
        yield {k: v for k, v in edit.items() if k != "where"}, ""


def cells(edit, choices):
    if "row" in edit and "insert" in edit:
        for other in ("12 AWG", "2 AWG"):
            if str(edit["insert"]).endswith("AWG") and other != edit["insert"]:
                yield {**edit, "insert": other}, other
        for key, said in edit["row"].items():
            found = re.match(r"(\d+)( A)", str(said))
            for other in ("15", "60", "100", "200") if found else ():
                if other != found[1]:
                    yield {**edit, "row": {**edit["row"], key: other + found[2]}}, other
    if "insert row" in edit:
        for key, said in edit["insert row"].items():
            found = re.match(r"\d+", str(said))
            if found:
                other = f"{int(found[0]) + 1}{str(said)[found.end() :]}"
                yield {**edit, "insert row": {**edit["insert row"], key: other}}, other


def editions(edit, choices):
    if "adopt" in edit:
        for other in ("2020", "2026"):
            if other != str(edit["edition"]):
                yield {**edit, "edition": other}, other
    if "as in" in edit:
        other = "2020" if str(edit["as in"]) == "2017" else "2017"
        yield {**edit, "as in": other}, ""


def verbs(edit, choices):
    """Law for advice, and the other way round."""
    for one, other in (("must", "should"), ("should", "must")):
        if one in edit:
            yield {other if k == one else k: v for k, v in edit.items()}, ""
    if "force" in edit:
        yield {**edit, "force": "must" if edit["force"] == "should" else "should"}, ""


KINDS = {
    "number": numbers,
    "unit": units,
    "side": sides,
    "border": borders,
    "negation": negations,
    "subject": subjects,
    "date": dates,
    "condition": conditions,
    "cell": cells,
    "edition": editions,
    "force": verbs,
}
