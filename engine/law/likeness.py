"""The sentence of a rule held against its lines: the numbers, the directions and the subjects of
the one that are otherwise in the other.

A sentence is a person's, and is read for little: amounts and small numbers, the words that say on
which side of them something must lie, whether it forbids, and the choices and facts it names.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator
from fractions import Fraction
from typing import Any, NamedTuple

from ..basics.errors import Fault
from ..basics.reading import Mapping, straight
from ..basics.units import dimension, said_day, to_base, unit_of
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
_TENS = {
    word: 10 * number
    for number, word in enumerate(
        "twenty thirty forty fifty sixty seventy eighty ninety hundred".split(), 2
    )
}
_WORDED = "|".join([rf"(?:{'|'.join(_TENS)})(?:-(?:one|{'|'.join(_NUMBERS)}))?", *_NUMBERS])
_NUMBER = rf"(?P<number>(?:\d{{1,3}}(?:,\d{{3}})+|\d+)(?:\.\d+)?|{_WORDED})(?![\w-]|\.\d)"
# words before a number -> on which side of it; the longer before the shorter
_LESS = "less|fewer|smaller|lower|shorter|thinner|closer|earlier"
_MORE = "more|greater|larger|longer|higher|deeper|wider|later"
_BEFORE = {
    rf"(?:no|not|never) (?:\w+ )?(?:{_LESS}) than": ">=",
    r"(?:no|not|never) (?:be |is |lie |stand )?(?:below|under|before)": ">=",
    rf"(?:no|not|never) (?:\w+ )?(?:{_MORE}) than": "<=",
    r"(?:no|not|never) (?:be |is )?(?:over|above|beyond|after|exceed(?:s|ing)?)": "<=",
    r"at least every|no less often than every": "<=",
    r"at least|(?:a )?minimum(?: of)?|min\.?|since": ">=",
    r"at most|up to|(?:a )?maximum(?: of)?|max\.?|within|not exceeding": "<=",
    rf"(?:{_MORE}) than|over|above|beyond|after": ">",
    r"exceed(?:s|ing)?": ">",
    rf"(?:{_LESS}) than|under|below|before": "<",
}
_AFTER = {
    rf"or (?:{_MORE}|over|above|after)": ">=",
    r"and (?:up|over)|at least": ">=",
    rf"or (?:{_LESS}|under|below|before)|at most": "<=",
}
_FORBIDS = re.compile(
    r"\b(?:not|no|never|nothing|none|nobody|neither|without|prohibited|forbidden|banned|cannot)\b"
    r"|n't\b",
    re.I,
)
_BANS = re.compile(r"\b(?:not (?:be )?(?:allowed|permitted)|prohibited|forbidden|banned)\b", re.I)
# what denies in a line
_DENIES = re.compile(r"\b(?:not|no|none|without)\b|!=|= 0\b")
_DAY = re.compile(
    r"\b\d{4}-\d\d-\d\d\b|\b(?:January|February|March|April|May|June|July|August|September|October|"
    r"November|December) \d{1,2}, \d{4}\b"
)
_EITHER = re.compile(r"\b(?:or|nor|either|any|each|every|of these|neither)\b|,", re.I)
_ADVISES = re.compile(r"\b(?:should|recommended|advised|advisable|encouraged)\b", re.I)
_ALLOWS = re.compile(
    r"\b(?:is|are) (?:allowed|permitted)\b|\bmay (?!be\b|have\b)|\bneeds? not\b", re.I
)
_DEMANDS = re.compile(r"\b(?:must|shall|is required|are required|has to|have to)\b", re.I)
_EXCEPTS = re.compile(r"\b(?:except|unless|other than|outside an?|save (?:in|for|where))\b", re.I)
_MEASURES = {"deep": "depth", "wide": "width", "high": "height", "tall": "height", "long": "length"}
# words that turn a condition round where they stand
_TURNS = re.compile(r"\b(?:except|unless|but|other than|save|outside|only|instead|rather)\b", re.I)


class Told(NamedTuple):
    """A number in a sentence, with the side of it that is meant; "" where none is said."""

    amount: tuple[Any, Any]
    sign: str
    text: str
    forbids: bool  # another word than those of the number forbids
    bans: bool  # what is on that side is said to be forbidden
    begins: int  # where it stands in the sentence, with the words for its side before it
    ends: int


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


def differences(rule: Mapping, words: Words, apart: Collection[str] = ()) -> list[Difference]:
    """Where the sentence of a rule and its lines part; *apart* are amounts that an edit says beside
    its sentence.
    """
    says = straight(str(rule.get("says", "")))
    limits = [limit for limit in _limits(rule) if limit.text not in apart]
    # the numbers of a day are told by it
    told = list(_told(_DAY.sub(lambda day: " " * len(day[0]), says)))
    out = [*_directions(told, limits), *_numbers(told, limits, rule)]
    out += _forbidding(_without(told, says), rule)
    out += _joining(says, rule) + _forcing(says, rule)
    out += _subjects(says, rule, words)
    return out


def strange_days(rule: Mapping, known: Iterable[str]) -> list[str]:
    """The days of a sentence on which nothing turns: neither one of its lines, nor a *known* one of
    its edit.
    """
    lines = " ".join(line for key in MEANT for line in _texts(rule.get(key)))
    days = {*known, *re.findall(r"\d{4}-\d\d-\d\d", lines)}
    out = []
    for match in _DAY.finditer(straight(str(rule.get("says", "")))):
        try:
            day = said_day(match[0]).isoformat()
        except Fault:
            continue
        if day not in days:
            out.append(match[0])
    return out


def _without(told: list[Told], says: str) -> str:
    """A sentence without its numbers and the words for their sides: what forbids there, and
    not *no more than*, is left.
    """
    for one in reversed(told):
        says = f"{says[: one.begins]} {says[one.ends :]}"
    return says


# ---- numbers and their sides ---------------------------------------------------------------------


def _told(says: str) -> Iterator[Told]:
    """The numbers of a sentence, each with its side."""
    measured = {straight(amount.text): amount.compared for amount in amounts(says)}
    for match in re.finditer(rf"(?<![\w./§$-]){_NUMBER}(?P<unit>\s?[^\s,;:.()]+)?", says, re.I):
        text = match[0].strip()
        known = next((told for told in measured if text.startswith(told)), None)
        unit = unit_of((match["unit"] or "").strip())
        if known is not None:
            amount: tuple[Any, Any] = measured[known]
        elif unit is not None and not match["number"][0].isdigit():
            amount, known = _measured(_number(match["number"]), unit), text
        else:
            amount, known = ("", _number(match["number"])), match["number"]
        sign, used = _side(says[: match.start()], says[match.start() + len(known) :])
        begins, ends = match.start() - used, match.end()
        forbids = bool(_FORBIDS.search(says[:begins] + says[ends:]))
        yield Told(amount, sign, known, forbids, bool(_BANS.search(says[ends:])), begins, ends)


def _number(text: str) -> Fraction:
    plain = text.lower().replace(",", "")
    if plain[0].isdigit():
        return Fraction(plain)
    tens, _, ones = plain.partition("-")
    return Fraction(_TENS.get(tens, _NUMBERS.get(tens, 0)) + (_NUMBERS.get(ones, 1) if ones else 0))


def _measured(number: Fraction, unit: str) -> tuple[Any, Any]:
    return dimension(unit), Fraction(to_base(number, unit))


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
    elif tree[0] == "look":
        # the name of a key is no number, whatever it is called
        for _, piece in tree[3]:
            yield from _limits_of(piece, turned, asked)
        yield from _limits_of(tree[4], turned, asked)
    else:
        if tree[0] in ("num", "size"):
            yield Limit(_amount(tree), "", _text(tree), asked)
        for part in tree[1:] if isinstance(tree[0], str) else tree:
            yield from _limits_of(part, turned, asked)


def _written(tree: Any) -> Iterator[Any]:
    """The numbers and sizes in a piece of a line; names of facts are none, whatever they are."""
    if not isinstance(tree, tuple) or not tree or tree[0] in ("path", "word"):
        return
    if tree[0] in ("num", "size"):
        yield tree
    elif tree[0] == "look":
        for _, piece in tree[3]:
            yield from _written(piece)
        yield from _written(tree[4])
    else:
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
    return _measured(Fraction(number), node[2])


def _text(node: Any) -> str:
    has_unit = node[0] == "num" and node[2] and node[2] != "date"
    return f"{node[1]} {node[2]}" if has_unit else str(node[1])


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
        if one.bans and any(limit.is_asked for limit in here):
            may_be = {OPPOSITE[one.sign]}
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
    if not limits:
        yield from _not_read(told, rule)
    bare = {amount for amount in there if amount[0] == ""}
    for one in told:
        if one.amount[0] == "" and one.amount not in there and bare:
            yield Difference(
                bool(one.sign), f'the sentence has "{one.text}", and the lines have not'
            )
    measured = {amount[0] for amount in there}
    for one in told:
        if one.amount[0] in measured and one.amount not in there and not one.text[0].isdigit():
            if one.amount[0] != "":
                what = f'the sentence has "{one.text}", and the lines have not'
                yield Difference(True, what)
    for limit in {limit.amount: limit for limit in limits}.values():
        if limit.amount not in said and limit.amount[1] not in (0, 1):
            alike = [one for one in told if one.amount[0] == limit.amount[0]]
            if not alike:
                yield Difference(False, f"the lines have {limit.text}, and the sentence has not")


def _not_read(told: list[Told], rule: Mapping) -> Iterator[Difference]:
    """A number with a side, of a sentence over lines that have no number at all: neither one of
    their own, nor one that a table, a choice or a value of that name has.
    """
    lines = [line for key in MEANT for line in _texts(rule.get(key))]
    if not lines or any(re.search(r"\d|\bfrom\b|<|>|=", line) for line in lines):
        return
    for one in told:
        if one.sign:
            yield Difference(
                False,
                f"the sentence says {_IN_WORDS[one.sign]} {one.text}, and no line has a number",
            )


# ---- forbidding ----------------------------------------------------------------------------------


def _forbidding(says: str, rule: Mapping) -> Iterator[Difference]:
    """That lines forbid and the sentence does not, or the other way round."""
    forbids = bool(_FORBIDS.search(says))
    not_there = any(_DENIES.search(line) for line in _texts(rule.get("must not")))
    if "must not" in rule and not forbids and not not_there:
        yield Difference(False, "the lines forbid (must not), and the sentence forbids nothing")
    test = next((rule[verb] for verb in ("must", "should") if verb in rule), None)
    if not isinstance(test, str):
        return
    denies = bool(_DENIES.search(test))
    if denies and not forbids and not _TURNS.search(says):
        yield Difference(False, f"the lines ask for: {test}; and the sentence forbids nothing")
    if not forbids or denies or re.search(r"<|>|=", test):
        return
    if not any(_DENIES.search(line) for line in _texts(rule.get("when"))):
        yield Difference(False, f"the sentence forbids something, and the lines ask for: {test}")


# ---- how conditions are joined, and how much is asked ------------------------------------------


def _joining(says: str, rule: Mapping) -> list[Difference]:
    """That one of several conditions is enough in the lines, and the sentence has no *or*."""
    when = rule.get("when")
    any_of = [
        part["any of"]
        for part in (when if isinstance(when, list) else [when])
        if isinstance(part, dict) and isinstance(part.get("any of"), list)
    ]
    if any(len(parts) > 1 for parts in any_of) and not _EITHER.search(says):
        what = "in the lines one of several conditions is enough, and the sentence has no or"
        return [Difference(False, what)]
    return []


def _forcing(says: str, rule: Mapping) -> list[Difference]:
    """That the lines are law and the sentence advises, or the other way round."""
    if "must" in rule or "must not" in rule:
        if _ADVISES.search(says):
            return [Difference(False, "the lines are law (must), and the sentence advises")]
        if _ALLOWS.search(says) and not _FORBIDS.search(says):
            return [Difference(False, "the lines are law (must), and the sentence allows")]
    if "should" in rule and _DEMANDS.search(says):
        return [Difference(False, "the lines advise (should), and the sentence is law")]
    return []


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
        is_denied = _FORBIDS.search(says) and "must not" not in rule
        if others and not _TURNS.search(says) and not is_denied:
            also = "also " if mine else ""
            yield Difference(
                False,
                f"the sentence {also}speaks of {' and '.join(others)}, and the lines ask whether"
                f" {word.name} is {' or '.join(sorted(chosen))}",
            )
    yield from _not_asked(text, joined, kind, words)
    yield from _another_measure(text, lines, kind, words)
    yield from _excepting(says, rule, lines)
    for name in sorted(_facts(kind, words)):
        if " " in name and _named(name, text) and name.lower() not in joined:
            yield Difference(
                False, f'the sentence names "{name}", which is a fact, and no line reads it'
            )


def _not_asked(text: str, lines: str, kind: Kind, words: Words) -> Iterator[Difference]:
    """A choice that the sentence names as the place or the case in which it holds, of a fact that
    no line reads: a condition that is not there.
    """
    of: dict[str, list[str]] = {}
    for word in _asked(kind, words):
        for choice in word.type[1] if word.type[0] == "choice" else ():
            if _is_a_case(choice, text) and not _named(choice, lines):
                of.setdefault(choice, []).append(f"{word.name} of {word.kind}")
    for choice, facts in of.items():
        if not any(_named(fact.split(" of ")[0], lines) for fact in facts):
            asks = " or ".join(facts)
            yield Difference(False, f'the sentence speaks of "{choice}", and no line asks {asks}')


def _excepting(says: str, rule: Mapping, lines: list[str]) -> Iterator[Difference]:
    """That the sentence leaves something out, and no line does."""
    if "exception to" in rule or "any of" in str(rule.get("when")) or len(lines) < 2:
        return
    if _EXCEPTS.search(says) and not any(_DENIES.search(line) for line in lines):
        yield Difference(False, "the sentence makes an exception, and no line says not")


def _another_measure(text: str, lines: list[str], kind: Kind, words: Words) -> Iterator[Difference]:
    """A measure that the sentence names, and the lines ask for another in the same unit."""
    joined = " ".join(lines)
    for asked in _compared(lines, kind, words):
        if _is_measured(asked.name, text):
            continue
        for other in words.kinds[asked.kind].words.values():
            alike = other.type == asked.type and other.ask and other.name not in joined
            if alike and _is_measured(other.name, text):
                what = f'the sentence speaks of "{other.name}", and the lines ask for {asked.name}'
                yield Difference(False, what)


def _compared(lines: list[str], kind: Kind, words: Words) -> Iterator[Word]:
    """The facts that lines hold against a number."""
    for line in lines:
        try:
            tree = parse_line(line, "cond")
        except Fault:
            continue
        for node in found(tree, "cmp"):
            word = _word_of(node[2], kind, words)
            if word is not None and word.type[0] == "q":
                yield word


def _is_measured(name: str, text: str) -> bool:
    """Whether a sentence names a measure, by its noun or by its adjective."""
    adjectives = [adjective for adjective, noun in _MEASURES.items() if noun == name]
    return any(_named(word, text) for word in (name, *adjectives))


def _is_a_case(choice: str, text: str) -> bool:
    """Whether a sentence says in, on or at which of some places or cases it holds."""
    plain = re.escape(" ".join(re.findall(r"[\w/-]+", choice.lower())))
    where = (
        rf"(?<![\w-])(?:in|on|at|under|inside) (?:(?:an?|any|every|the) {plain}|{plain}s|"
        rf"{plain}(?= (?:an?|the|it|its|no|and|or|where|is|are|has|have)\b|$))(?![\w-])"
    )
    by_itself = rf"(?<![\w-])(?:{plain})(?![\w-])" if choice.endswith("doors") else where
    is_a_name = len(choice) > 4 and not choice.startswith("the ")
    return is_a_name and bool(re.search(by_itself, text))


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
    return {word.name for word in _asked(kind, words)}


def _asked(kind: Kind, words: Words) -> list[Word]:
    kinds = [kind, words.kinds["job"]] if "job" in words.kinds else [kind]
    return [word for one in kinds for word in one.words.values() if word.ask]


__all__ = ["Difference", "differences", "strange_days"]
