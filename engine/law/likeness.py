"""The sentence of a rule held against its lines: the numbers, the directions and the subjects of
the one that are otherwise in the other.

A sentence is a person's, and is read for little: amounts and small numbers, the words that say on
which side of them something must lie, whether it forbids, and the choices and facts it names.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from typing import Any, NamedTuple

from ..basics.errors import Fault
from ..basics.reading import Mapping, straight
from ..basics.units import dimension, to_base
from ..language.lines import parse_line
from ..language.rules import JUDGING, MEANT
from ..language.words import Kind, Word, Words
from .in_words import OPPOSITE, TURNED
from .meanings import amounts, found

_NUMBERS = {
    word: number
    for number, word in enumerate(
        "two three four five six seven eight nine ten eleven twelve".split(), 2
    )
}
_NUMBER = (
    r"(?P<number>(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?|" + "|".join(_NUMBERS) + r")(?![\w-]|\.\d)"
)
# words before a number -> on which side of it; the longer before the shorter
_LESS = "less|fewer|smaller|lower|shorter|thinner|closer|earlier"
_MORE = "more|greater|larger|longer|higher|deeper|wider|later"
_BEFORE = {
    rf"(?:no|not|never) (?:\w+ )?(?:{_LESS}) than": ">=",
    r"(?:no|not|never) (?:be |is |lie |stand )?(?:below|under|before)": ">=",
    rf"(?:no|not|never) (?:\w+ )?(?:{_MORE}) than": "<=",
    r"(?:no|not|never) (?:be |is )?(?:over|above|beyond|after|exceed(?:s|ing)?)": "<=",
    r"at least|(?:a )?minimum(?: of)?|min\.?": ">=",
    r"at most|up to|(?:a )?maximum(?: of)?|max\.?|within|not exceeding": "<=",
    rf"(?:{_MORE}) than|over|above|beyond": ">",
    r"exceed(?:s|ing)?": ">",
    rf"(?:{_LESS}) than|under|below|before": "<",
}
_AFTER = {
    rf"or (?:{_MORE}|over|above)": ">=",
    r"and (?:up|over)|at least": ">=",
    rf"or (?:{_LESS}|under|below)|at most": "<=",
}
_FORBIDS = re.compile(
    r"\b(?:not|no|never|nothing|none|nobody|neither|without|prohibited|forbidden|banned|cannot)\b"
    r"|n't\b",
    re.I,
)
# words that turn a condition round where they stand
_TURNS = re.compile(r"\b(?:except|unless|but|other than|save|outside|only|instead|rather)\b", re.I)


class Told(NamedTuple):
    """A number in a sentence, with the side of it that is meant; "" where none is said."""

    amount: tuple[Any, Any]
    sign: str
    text: str
    forbids: bool  # another word than those of the number forbids


class Limit(NamedTuple):
    """A number in the lines, with the side of it that is asked for."""

    amount: tuple[Any, Any]
    sign: str
    text: str
    is_asked: bool  # it stands in the test, and not in a condition


class Difference(NamedTuple):
    """Something that the sentence and the lines of a rule say otherwise."""

    is_fault: bool  # one of the two is wrong; otherwise it is a question
    what: str


def differences(rule: Mapping, words: Words) -> list[Difference]:
    """Where the sentence of a rule and its lines part."""
    says = straight(str(rule.get("says", "")))
    limits = list(_limits(rule))
    told = list(_told(says))
    out = [*_directions(told, limits), *_numbers(told, limits, rule)]
    out += _forbidding(says, rule)
    out += _subjects(says, rule, words)
    return out


# ---- numbers and their sides ---------------------------------------------------------------------


def _told(says: str) -> Iterator[Told]:
    """The numbers of a sentence, each with its side."""
    measured = {straight(amount.text): amount.compared for amount in amounts(says)}
    for match in re.finditer(rf"(?<![\w.§$-]){_NUMBER}(?P<unit>\s?[^\s,;:.()]+)?", says, re.I):
        text = match[0].strip()
        known = next((told for told in measured if text.startswith(told)), None)
        if known is not None:
            amount: tuple[Any, Any] = measured[known]
        else:
            amount, known = ("", _number(match["number"])), match["number"]
        sign, used = _side(says[: match.start()], says[match.start() + len(known) :])
        rest = says[: match.start() - used] + says[match.end() :]
        yield Told(amount, sign, known, bool(_FORBIDS.search(rest)))


def _number(text: str) -> Fraction:
    plain = text.lower().replace(",", "")
    return Fraction(_NUMBERS.get(plain) or plain)


def _side(before: str, after: str) -> tuple[str, int]:
    """Which side of a number is meant by the words around it, and how long those before it are."""
    for pattern, sign in _BEFORE.items():
        found_ = re.search(rf"\b(?:{pattern})(?: an? | the | )\s*$", before, re.I)
        if found_:
            return sign, len(found_[0])
    for pattern, sign in _AFTER.items():
        if re.match(rf"\s*(?:[^\W\d]+\s+){{0,2}}?(?:{pattern})\b", after, re.I):
            return sign, 0
    return "", 0


def _limits(rule: Mapping) -> Iterator[Limit]:
    """The numbers in the lines of a rule, each with its side."""
    for key in MEANT:
        turned = key == "must not"
        for line in _texts(rule.get(key)):
            try:
                tree = parse_line(line, "cond")
            except Fault:
                continue
            yield from _limits_of(tree, turned, key in JUDGING)


def _texts(said: object) -> Iterator[str]:
    if isinstance(said, dict):
        for part in said.values():
            yield from _texts(part)
    elif isinstance(said, list):
        for part in said:
            yield from _texts(part)
    elif said is not None:
        yield str(said)


def _limits_of(tree: Any, turned: bool, asked: bool) -> Iterator[Limit]:
    if not isinstance(tree, tuple) or not tree or tree[0] == "path":
        return
    if tree[0] == "not":
        yield from _limits_of(tree[1], not turned, asked)
    elif tree[0] == "cmp":
        for side, sign in ((tree[3], tree[1]), (tree[2], TURNED[tree[1]])):
            for node in _written(side):
                # only where the number is a side by itself does the sign say where it lies
                here = OPPOSITE[sign] if turned else sign
                yield Limit(_amount(node), here if node is side else "", _text(node), asked)
    elif tree[0] == "gauge":
        sign = ">=" if tree[3] == "larger" else "<="
        here = OPPOSITE[sign] if turned else sign
        yield Limit(("size", tree[2]), here, tree[2], asked)
    else:
        if tree[0] in ("num", "size"):
            yield Limit(_amount(tree), "", _text(tree), asked)
        for part in tree[1:]:
            yield from _limits_of(part, turned, asked)


def _written(tree: Any) -> Iterator[Any]:
    """The numbers and sizes in a piece of a line; names of facts are none, whatever they are."""
    if not isinstance(tree, tuple) or not tree or tree[0] in ("path", "word"):
        return
    if tree[0] in ("num", "size"):
        yield tree
        return
    for part in tree:
        yield from _written(part)


def _amount(node: Any) -> tuple[Any, Any]:
    if node[0] == "size":
        return "size", node[1]
    number = node[1].replace(",", "")
    if node[2] == "date":
        return "date", number
    if not node[2]:
        return "", Fraction(number)
    return dimension(node[2]), Fraction(to_base(Fraction(number), node[2]))


def _text(node: Any) -> str:
    return f"{node[1]} {node[2]}" if node[0] == "num" and node[2] else str(node[1])


def _directions(told: list[Told], limits: list[Limit]) -> Iterator[Difference]:
    """A number that lies on one side in the sentence, and on the other in the lines."""
    for one in told:
        here = [limit for limit in limits if limit.amount == one.amount and limit.sign]
        if not here:
            continue
        signs = {limit.sign for limit in here}
        if one.sign == "":
            asked = next((limit for limit in here if limit.sign not in ("=", "!=")), None)
            if asked is not None and asked.sign in ("<", "<=", ">"):
                yield Difference(
                    False,
                    f"the sentence has {one.text} and no word for the side of it; the lines say"
                    f" {_IN_WORDS[asked.sign]} {asked.text}",
                )
            continue
        may_be = {one.sign} | ({OPPOSITE[one.sign]} if one.forbids else set())
        if signs & may_be:
            continue
        near = {one.sign, *signs} in ({">", ">="}, {"<", "<="})
        where = f": at exactly {one.text} they part" if near else ""
        yield Difference(
            True,
            f"the sentence says {_IN_WORDS[one.sign]} {one.text}, and the lines say"
            f" {' and '.join(_IN_WORDS[sign] for sign in sorted(signs))} {one.text}{where}",
        )


_IN_WORDS = {
    ">=": "at least",
    ">": "more than",
    "<=": "at most",
    "<": "less than",
    "=": "exactly",
    "!=": "not exactly",
}


def _numbers(told: list[Told], limits: list[Limit], rule: Mapping) -> Iterator[Difference]:
    """A bare number of the sentence that no line has, or one of the lines that the sentence has
    not.
    """
    said, there = {one.amount for one in told}, {limit.amount for limit in limits}
    bare = {amount for amount in there if amount[0] == ""}
    for one in told:
        if one.amount[0] == "" and one.amount not in there and bare:
            yield Difference(
                bool(one.sign), f'the sentence has "{one.text}", and the lines have not'
            )
    for limit in {limit.amount: limit for limit in limits}.values():
        if limit.amount not in said and limit.amount[1] not in (0, 1):
            alike = [one for one in told if one.amount[0] == limit.amount[0]]
            if not alike:
                yield Difference(False, f"the lines have {limit.text}, and the sentence has not")


# ---- forbidding ----------------------------------------------------------------------------------


def _forbidding(says: str, rule: Mapping) -> Iterator[Difference]:
    """That lines forbid and the sentence does not, or the other way round."""
    forbids = bool(_FORBIDS.search(says))
    not_there = any(re.search(r"\bnone\b|\bnot\b", line) for line in _texts(rule.get("must not")))
    if "must not" in rule and not forbids and not not_there:
        yield Difference(False, "the lines forbid (must not), and the sentence forbids nothing")
    test = next((rule[verb] for verb in ("must", "should") if verb in rule), None)
    if test is None or not forbids or not isinstance(test, str):
        return
    lines = [*_texts(test), *_texts(rule.get("when"))]
    if not any(re.search(r"\bnot\b|\bno\b|\bnone\b|<|!=|>|=", line) for line in lines):
        yield Difference(False, f"the sentence forbids something, and the lines ask for: {test}")


# ---- subjects ------------------------------------------------------------------------------------


def _subjects(says: str, rule: Mapping, words: Words) -> Iterator[Difference]:
    """A choice or a fact that the sentence names, and the lines have otherwise or not at all."""
    kind = words.kinds.get(str(rule.get("about")))
    if kind is None:
        return
    text = " ".join(re.findall(r"[\w/-]+", says.lower()))
    lines = [line for key in MEANT for line in _texts(rule.get(key))]
    joined = " ".join(lines).lower()
    for word, chosen in _chosen(lines, kind, words):
        others = [c for c in word.type[1] if c not in chosen and _named(c, text)]
        others = [c for c in others if not any(c in mine for mine in chosen)]
        mine = [c for c in chosen if _named(c, text)]
        if others and not _TURNS.search(says) and not _FORBIDS.search(says):
            also = "also " if mine else ""
            yield Difference(
                False,
                f"the sentence {also}speaks of {' and '.join(others)}, and the lines ask whether"
                f" {word.name} is {' or '.join(sorted(chosen))}",
            )
    for name in sorted(_facts(kind, words)):
        if " " in name and _named(name, text) and name.lower() not in joined:
            yield Difference(
                False, f'the sentence names "{name}", which is a fact, and no line reads it'
            )


def _named(name: str, text: str) -> bool:
    """Whether a sentence has a word, or its plural."""
    plain = " ".join(re.findall(r"[\w/-]+", name.lower()))
    return len(plain) > 2 and bool(re.search(rf"(?<![\w-]){re.escape(plain)}s?(?![\w-])", text))


def _chosen(lines: list[str], kind: Kind, words: Words) -> Iterator[tuple[Word, set[str]]]:
    """The facts whose choices lines ask for, each with the choices."""
    out: dict[tuple[str, str], tuple[Word, set[str]]] = {}
    for line in lines:
        try:
            tree = parse_line(line, "cond")
        except Fault:
            continue
        for node in found(tree, "is"):
            word = _word_of(node[2], kind, words)
            if word is not None and word.type[0] == "choice":
                out.setdefault((word.kind, word.name), (word, set()))[1].update(node[3])
    yield from out.values()


def _word_of(path: Any, kind: Kind, words: Words) -> Word | None:
    """The fact at the end of a path from a kind."""
    if not isinstance(path, tuple) or path[0] != "path":
        return None
    here: Kind | None = kind
    word = None
    try:
        names = words.spell(kind.name, tuple(reversed(path[1])))
    except Fault:
        return None
    for name in names:
        word = here.words.get(name) if here is not None else None
        if word is None:
            return None
        here = words.kinds.get(word.type[1]) if word.type[0] in ("ref", "many") else None
    return word


def _facts(kind: Kind, words: Words) -> set[str]:
    """The facts that a person is asked, of a thing and of the job."""
    kinds = [kind, words.kinds["job"]] if "job" in words.kinds else [kind]
    return {word.name for one in kinds for word in one.words.values() if word.ask}


__all__ = ["Difference", "differences"]
