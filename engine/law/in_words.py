"""The lines of a rule in words: who is concerned first, then what is asked with its limit; an
unmet condition is said as *if ... not*, and no sign of the grammar is left between two sides.
"""

from __future__ import annotations

from typing import Any, TypeAlias

from ..basics.errors import Fault
from ..basics.reading import Mapping
from ..language.lines import parse_line
from ..language.rules import FILLING, JUDGING
from ..language.words import a_noun, as_list

# A parsed line, or a piece of one: what it is, then its parts (`lines`).
Tree: TypeAlias = tuple[Any, ...]

_OP_WORDS = {
    ">=": "at least",
    ">": "more than",
    "<=": "at most",
    "<": "less than",
    "=": "exactly",
    "!=": "not exactly",
}
OPPOSITE = {">=": "<", "<": ">=", "<=": ">", ">": "<=", "=": "!=", "!=": "="}
TURNED = {">=": "<=", "<=": ">=", ">": "<", "<": ">", "=": "=", "!=": "!="}
_AUXILIARY = {"must": "must be", "must not": "must not be", "should": "should be"}


def rule_in_words(rule: Mapping) -> str:
    """What a rule does, in words: of a segment, if method is NM-B: length must be at most 6 ft."""
    about = f"of {a_noun(str(rule.get('about', 'thing')))}"
    when = when_in_words(rule.get("when"))
    return f"{about}, {f'if {when}' if when else 'always'}: {_does(rule)}"


def when_in_words(when: object) -> str:
    """Conditions in words: all must be so, but of those in brackets one is enough."""
    said = [_condition(condition) for condition in as_list(when)]
    if len(said) == 1:
        return said[0].removeprefix("(").removesuffix(")") if _whole(said[0]) else said[0]
    return ", and ".join(said)


def _whole(text: str) -> bool:
    """Whether one pair of brackets holds the whole of a text."""
    deep = 0
    for i, sign in enumerate(text):
        deep += (sign == "(") - (sign == ")")
        if deep == 0:
            return text.startswith("(") and i == len(text) - 1
    return False


def _condition(condition: object) -> str:
    if not isinstance(condition, dict):
        return line_in_words(condition)
    key, parts = next(iter(condition.items()))
    joint = " or " if str(key) == "any of" else " and "
    said = [_condition(part) for part in as_list(parts)]
    return f"({joint.join(said)})" if len(said) > 1 else said[0]


def _does(rule: Mapping) -> str:
    """What a rule does where its conditions are so."""
    out = []
    for verb in JUDGING:
        if verb in rule:
            out.append(_asked(rule[verb], verb))
    for verb, how in zip(FILLING, ("is", "is reckoned as", "is assumed to be", "is designed as")):
        facts = rule.get(verb)
        if isinstance(facts, dict):
            out += [f"{fact} {how} {sum_in_words(text)}" for fact, text in facts.items()]
    for verb, lead in (
        ("refers", "nothing is concluded"),
        ("warns", "it is warned"),
        ("lacks", "it is said that nothing checks"),
    ):
        if verb in rule:
            out.append(f"{lead}: “{rule[verb]}”")
    if "exception to" in rule and not out:
        out.append("what it is an exception to asks nothing")
    return "; ".join(out) or "nothing"


def _asked(said: object, verb: str) -> str:
    """A test in words, as it is asked."""
    if isinstance(said, dict):
        lead = {"must not": "it must not be so that ", "should": "it should be so that "}
        return lead.get(verb, "it must be so that ") + _condition(said)
    return line_in_words(said, verb)


def line_in_words(line: object, verb: str = "") -> str:
    """One condition, or one test, in words; a line that cannot be read stays as it is."""
    try:
        tree = parse_line(str(line), "cond")
    except Fault:
        return str(line)
    return _cond(tree, _AUXILIARY.get(verb, "is"))


def sum_in_words(line: object) -> str:
    """A formula in words."""
    try:
        return _sum(parse_line(str(line), "sum"))
    except Fault:  # yes or no may be given by a condition
        return line_in_words(line)


def _cond(tree: Tree, be: str) -> str:
    kind = tree[0]
    if kind == "not":
        return _denied(tree[1], be)
    if kind == "cmp":
        return f"{_sum(tree[2])} {be} {_OP_WORDS[tree[1]]} {_sum(tree[3])}"
    if kind == "gauge":
        return f"{_sum(tree[1])} {be} {tree[2]} or {tree[3]}"
    if kind == "is":
        return f"{_sum(tree[2])} {_be_not(be) if tree[1] else be} {' or '.join(tree[3])}"
    if kind == "among":
        where = f"in {tree[4]} of {tree[3]}" if tree[4] else f"in {tree[3]}"
        return f"{_sum(tree[2])} {_be_not(be) if tree[1] else be} {where}"
    if kind == "flag":
        return f"{_sum(tree[1])} {be} yes"
    if kind == "quant":
        return f"{_so(be)}for {tree[1]} {_path(tree[2])}, {_cond(tree[3], 'is')}"
    if kind in ("and", "or"):
        return f"{_so(be)}({f' {kind} '.join(_cond(part, 'is') for part in tree[1])})"
    return f"{_so(be)}{tree!r}"


def _so(be: str) -> str:
    return "" if be == "is" else f"it {be} so that "


def _be_not(be: str) -> str:
    """
    >>> [_be_not(be) for be in ("is", "must be", "must not be")]
    ['is not', 'must not be', 'must be']
    """
    if " not " in be:
        return be.replace(" not ", " ")
    return "is not" if be == "is" else be.replace(" be", " not be")


def _denied(tree: Tree, be: str) -> str:
    """What is said where *tree* is not so."""
    if tree[0] == "not":
        return _cond(tree[1], be)
    if tree[0] == "cmp":
        return _cond((tree[0], OPPOSITE[tree[1]], *tree[2:]), be)
    if tree[0] == "flag":
        return f"{_sum(tree[1])} {be} no"
    if tree[0] in ("is", "gauge", "among"):
        return _cond(tree, _be_not(be))
    return f"{_so(be)}not: {_cond(tree, 'is')}"


def _sum(tree: Tree) -> str:
    kind = tree[0]
    if kind == "num":
        return f"{tree[1]} {tree[2]}" if tree[2] and tree[2] != "date" else str(tree[1])
    if kind in ("size", "word"):
        return str(tree[1])
    if kind == "path":
        return _path(tree[1])
    if kind == "bin":
        return f"{_part(tree[2])} {tree[1]} {_part(tree[3])}"
    if kind in ("least", "most"):
        one = "the smaller of" if kind == "least" else "the larger of"
        return f"{one} {' and '.join(_part(part) for part in tree[1])}"
    if kind == "step":
        return f"{_part(tree[2])} stepped {tree[1]} in {tree[3]}"
    if kind == "round":
        return f"{_part(tree[2])} rounded {tree[1]} to {_sum(tree[3])}"
    if kind == "root":
        return f"the square root of {_part(tree[1])}"
    if kind == "year":
        return f"the year of {_sum(tree[1])}"
    if kind == "look":
        return _look(tree)
    return _over(tree) if kind == "over" else str(tree)


def _part(tree: Tree) -> str:
    return f"({_sum(tree)})" if tree[0] in ("bin", "look", "over", "step") else _sum(tree)


def _path(names: tuple[Any, ...]) -> str:
    # the grammar keeps the list that is walked as a piece of its own
    return " of ".join(names[1] if names[0] == "path" and len(names) > 1 else names)


def _look(tree: Tree) -> str:
    _, column, table, keys, where = tree
    by = " and ".join(_key(key, piece) for key, piece in keys)
    only = f", the first row of which {_cond(where, 'is')}" if where else ""
    return f"{column} from {table}{f' by {by}' if by else ''}{only}"


def _key(key: str, piece: Tree | None) -> str:
    if piece is None or piece == ("path", (key,)):
        return key
    return f"{key} ({_sum(piece)})"


def _over(tree: Tree) -> str:
    _, how, body, path, where, default = tree
    what = "number" if body is None else f"{how} {_part(body)}"
    only = f" if {_cond(where, 'is')}" if where else ""
    return f"the {what} over {_path(path)}{only}" + (f", or {_sum(default)}" if default else "")


__all__ = ["OPPOSITE", "TURNED", "line_in_words", "rule_in_words", "sum_in_words", "when_in_words"]
