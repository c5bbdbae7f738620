"""What an edit means, said back in one sentence with its direction: what its writer can object to.

What is read off the rule and the line alone is proven to be STRICTER or LAXER, or CHANGES where
that cannot be told; which way it goes is found by running (`comparing`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any, NamedTuple, TypeAlias

from ..basics.errors import Fault
from ..basics.reading import Mapping, place_of, straight
from ..basics.units import POINTS, UNITS, WRITTEN, dimension, to_base, unit_of
from ..language.knowledge import Material
from ..language.lines import names_in, parse_line
from ..language.rules import FILLING, JUDGING, MEANT
from ..language.tables import Table
from ..language.words import as_list
from .edits import CHANGES, LAXER, STRICTER, WAYS, Edit

# A parsed line, or a piece of one: what it is, then its parts (`lines`).
Tree: TypeAlias = tuple[Any, ...]


# The keys of a rule that a person reads as its lines, in their order.
READ = (
    "when",
    *JUDGING,
    *FILLING,
    "tries",
    "picks",
    "refers",
    "warns",
    "lacks",
    "exception to",
    "steps",
)


def said_back(edit: Edit, way: str = "") -> str:
    """What an edit means, with its direction and its days: what a clerk keeps as `meaning:`.

    The direction is the *way* that was found by running, or the one that was kept, or what can be
    read off the lines.
    """
    days = edit.window() if edit.written is None else edit.written
    said = f"{way or kept_way(edit) or edit.done['direction']}: {edit.done['says']}"
    return f"{said} In force {days}." if days else said


def see_as_meant(edit: Edit) -> None:
    """See that what the writer kept as its meaning is what it means now: a base that moved speaks
    up.

    Of an edit whose form has a fault nothing is said: what it means with half of it read is what
    nobody meant.

    Raises:
        Fault: it means something else now.
    """
    means = said_back(edit)
    if edit.meant is not None:
        edit.meant.append(without_way(means))
        return
    if not edit.sound or not edit.d.get("meaning"):
        return
    kept = " ".join(str(edit.d["meaning"]).split())
    # which way it goes is found by running, which `check` does
    if without_way(kept) != without_way(means):
        raise Fault(
            "meaning-moved",
            place_of(edit.d["meaning"], edit.at),
            f"{edit.name} now means: {means}",
            f"if that is what is meant, write meaning: {quoted(means)}",
        )


def kept_way(edit: Edit) -> str:
    """Which way the writer of an edit kept that it goes; "" where nothing of it is kept."""
    way = str(edit.d.get("meaning", "")).partition(":")[0].strip()
    return way if way in WAYS else ""


def without_way(meaning: str) -> str:
    """What is kept as the meaning of an edit, but for which way it goes."""
    way, _, rest = meaning.partition(": ")
    return rest if way in WAYS else meaning


def quoted(text: str) -> str:
    """*text* as a YAML value."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def flat(said: object) -> str:
    """What a key of a rule says, in one line."""
    if isinstance(said, dict):
        return "{" + ", ".join(f"{key}: {flat(x)}" for key, x in said.items()) + "}"
    if isinstance(said, list):
        return "[" + " | ".join(flat(x) for x in said) + "]"
    return f"“{said}”"


def reads(item: Mapping) -> list[tuple[str, str]]:
    """The lines of a rule, or the worth of a value, each with its key."""
    out = []
    for key in ("is", *READ):
        said = item.get(key)
        if isinstance(said, dict):
            out += [(key, f"{name}: {line_text(text)}") for name, text in said.items()]
        elif said is not None:
            out += [(key, line_text(text)) for text in as_list(said)]
    return out


def line_text(said: object) -> str:
    """What a key says, as a person reads it in one line."""
    if isinstance(said, dict):
        return "; ".join(f"{key}: {line_text(text)}" for key, text in said.items())
    return " | ".join(map(line_text, said)) if isinstance(said, list) else str(said)


def sentence(rule: Mapping) -> str:
    """A rule by its sentence and its name."""
    return f"“{str(rule.get('says', rule.get('rule'))).rstrip('.')}” ({rule.get('rule')})"


def listed(names: Iterable[str], most: int = 4) -> str:
    """A, B and C; what is beyond *most* is counted.

    >>> listed(["A", "B", "C", "D", "E"])
    'A, B, C and 2 more'
    """
    said = list(names)
    if len(said) > most:
        said = [*said[: most - 1], f"{len(said) - most + 1} more"]
    return said[0] if len(said) == 1 else ", ".join(said[:-1]) + " and " + said[-1]


def asides(material: Material, rule: Mapping, way: int) -> str:
    """What else a rule that a pack wrote does, for its writer to object to."""
    said = (
        size_test(material, rule),
        judges(material, rule),
        fills(rule),
        gauges(material, rule),
        unless(rule, way),
    )
    return "".join(f" {text}" for text in said if text)


def tried_by(material: Material, rule: Mapping) -> list[Mapping]:
    """The picks that a rule is a test of."""
    if not any(verb in rule for verb in ("must", "must not")):
        return []
    return [
        pick
        for pick in material.rules.values()
        if "picks" in pick
        and isinstance(pick.get("tries"), dict)
        and str(pick.get("about")) == str(rule.get("about"))
        and str(rule["rule"]) not in map(str, as_list(pick.get("leaving out")))
    ]


def size_test(material: Material, rule: Mapping) -> str:
    """That a must about what is tried is a test of every size tried, and who reads what is picked
    by it.
    """
    picks = tried_by(material, rule)
    if not picks:
        return ""
    tried = " and ".join(sorted({str(next(iter(pick["tries"]))) for pick in picks}))
    readers = _readers_of_picks(material, {str(pick["picks"]) for pick in picks})
    said = f"It also decides which {tried} is lawful"
    if not readers:
        return said + "."
    return f"{said}, and {listed(readers)} {'reads' if len(readers) == 1 else 'read'} that."


def _readers_of_picks(material: Material, picked: set[str]) -> list[str]:
    """The rules that read a fact that is picked, but for those that pick or design themselves."""
    return sorted(
        {
            str(rule["rule"])
            for rule in material.rules.values()
            if "tries" not in rule
            and "designs" not in rule
            and any(_reads(rule, fact) for fact in picked)
        }
    )


def _reads(rule: Mapping, fact: str) -> bool:
    """Whether a rule reads a fact. To look for its name first saves parsing nearly every line."""
    return any(
        fact in line and any(fact in path for path in paths(line)) for line in lines_of(rule)
    )


def paths(line: object) -> set[tuple]:
    """Every path a line reads, the thing last; none where the line cannot be read."""
    try:
        return names_in(parse_line(str(line), "cond"))
    except Fault:
        return set()


def lines_of(rule: Mapping) -> list[str]:
    """Every line of a rule."""
    return [line for key in rule if key in MEANT for line in _texts(rule[key])]


def _texts(said: object) -> Iterator[str]:
    """Every text in a value of YAML."""
    if isinstance(said, (dict, list)):
        for x in said.values() if isinstance(said, dict) else said:
            yield from _texts(x)
    else:
        yield str(said)


def judges(material: Material, rule: Mapping) -> str:
    """That a requirement changes no value: to calculate with another figure is another verb."""
    verb = next((v for v in JUDGING if v in rule), None)
    if verb is None or tried_by(material, rule):
        return ""
    what = "It is advice" if verb == "should" else "It judges"
    return f"{what}; it changes no value that another rule reads."


def fills(rule: Mapping) -> str:
    """Where a rule that gives something steps in."""
    for verb, where in (
        ("assumes", "Only where nothing else tells or gives {}; it shows as an assumption."),
        ("designs", "Only where the job leaves {} open."),
        ("reckons", "Only where the job doesn't say {}."),
    ):
        if isinstance(rule.get(verb), dict):
            return where.format(listed([str(fact) for fact in rule[verb]]))
    return ""


def gauges(material: Material, rule: Mapping) -> str:
    """Which sizes "8 AWG or smaller" means: gauge numbers run backwards."""
    said = []
    for line in lines_of(rule):
        try:
            tree = parse_line(line, "cond")
        except Fault:
            continue
        for _, _, size, way in found(tree, "gauge"):
            more = _sizes_beyond(material, size, way)
            if more:
                said.append(
                    f"{size} or {way} is {size} and every"
                    f" {'thinner' if way == 'smaller' else 'thicker'} one:"
                    f" {', '.join(more[:3])}{' ...' if len(more) > 3 else ''}."
                )
    return " ".join(dict.fromkeys(said))


def _sizes_beyond(material: Material, size: str, way: str) -> list[str]:
    """The sizes smaller, or larger, than *size* in the first table that lists it, the nearest
    first.
    """
    for table in material.tables.values():
        order = list(table.order("size")) if "size" in table.keys else []
        if size in order:
            i = order.index(size)
            return order[:i][::-1] if way == "smaller" else order[i + 1 :]
    return []


def found(tree: object, kind: str) -> list[Tree]:
    """Every node of one kind in a parsed line."""
    if not isinstance(tree, tuple):
        return []
    own = [tree] if tree[:1] == (kind,) else []
    return own + [node for part in tree for node in found(part, kind)]


def unless(rule: Mapping, way: int) -> str:
    """What comes of it where its conditions are not told."""
    if "when" not in rule:
        return ""
    return {
        1: "Where a job doesn't give its conditions, the answer is: cannot tell.",
        -1: "Where a job doesn't give its conditions, it is not earned.",
    }.get(way, "")


# ---- amounts in lines and sentences --------------------------------------------------------------


class Amount(NamedTuple):
    """A number with a unit, in a line or a sentence."""

    measure: Any  # the dimension of its unit; "size" for a gauge
    size: Any  # in base units; a gauge as it is called
    text: str  # as written

    @property
    def compared(self) -> tuple[Any, Any]:
        """What makes two amounts the same, however they are written."""
        return self.measure, self.size


# Words of two letters and less are no units in a sentence: "in" and "a" are words there.
_SPELLED = sorted([*UNITS, *POINTS, *(w for w in WRITTEN if len(w) > 2)], key=len, reverse=True)
_AMOUNT = re.compile(
    r"(?<![\w.§-])((?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?)\s?("
    + "|".join(re.escape(unit) for unit in _SPELLED if unit not in ("count", "date"))
    + r"|kcmil|AWG)(?![\w²³°/])"
)


def amounts(text: object) -> list[Amount]:
    """Every number with a unit in a line or a sentence."""
    return [_amount(match) for match in _AMOUNT.finditer(straight(str(text)))]


def _amount(match: re.Match[str]) -> Amount:
    number = Fraction(match[1].replace(",", ""))
    if match[2] in ("AWG", "kcmil"):
        return Amount("size", f"{number} {match[2]}", match[0])
    # the pattern finds no other words than those of units
    unit = unit_of(match[2]) or match[2]
    return Amount(dimension(unit), Fraction(to_base(number, unit)), match[0])


def stale_amounts(says: object, old: Iterable[object], new: Iterable[object]) -> list[str]:
    """The amounts of a sentence that stood in the old lines and stand in the new ones no longer, as
    the sentence has them.
    """
    stays = {a.compared for line in new for a in amounts(line)}
    gone = {a.compared for line in old for a in amounts(line)} - stays
    return [a.text for a in amounts(says) if a.compared in gone]


def strange_amounts(says: object, lines: Iterable[object]) -> list[str]:
    """The amounts of a sentence that its lines should have and do not: others of the same measure
    are there.
    """
    there = {a.compared for line in lines for a in amounts(line)}
    measured = {measure for measure, _ in there}
    return [a.text for a in amounts(says) if a.measure in measured and a.compared not in there]


# ---- which way it goes ---------------------------------------------------------------------------


def as_direction(way: int) -> str:
    """In a word what asks more (1), asks less (-1), or can be said to do neither (0)."""
    return {1: STRICTER, -1: LAXER}.get(way, CHANGES)


def role(material: Material, rule: Mapping, deep: int = 0) -> int:
    """1 where the rule demands, -1 where it forgives, 0 where neither can be said."""
    if any(verb in rule for verb in JUDGING):
        return 1 if "exception to" not in rule else 0
    if any(verb in rule for verb in FILLING) or "exception to" not in rule or deep > 9:
        return 0
    targets = [
        material.rules.get(name) or material.gone[name]
        for name in map(str, as_list(rule["exception to"]))
        if name in material.rules or name in material.gone
    ]
    ways = {role(material, target, deep + 1) for target in targets}
    return -ways.pop() if len(ways) == 1 else 0


def direction(material: Material, rule: Mapping, path: tuple[Any, ...], old: str, new: str) -> str:
    """Which way a changed line goes, where that can be told from the line alone."""
    try:
        before, after = parse_line(old, "cond"), parse_line(new, "cond")
    except Fault:
        return CHANGES
    key = path[0]
    way = _harder(before, after)
    if way is None or key not in (*JUDGING, "when"):
        return CHANGES
    sign = role(material, rule)
    if key == "when":
        # a condition harder to meet lets a demand hold in fewer places
        return as_direction(-way * sign)
    if sign == 0:
        return CHANGES
    return as_direction(-way if key == "must not" else way)


_AT_LEAST, _AT_MOST = (">=", ">"), ("<=", "<")
# To change one sign into another between the same sides: the border itself goes or comes.
_HARDER_SIGN = {(">=", ">"): 1, (">", ">="): -1, ("<=", "<"): 1, ("<", "<="): -1}


def _harder(old: Tree, new: Tree) -> int | None:
    """1 where condition *new* is harder to meet than *old*, -1 where easier, None where it cannot
    be told.
    """
    if old[0] == new[0] == "cmp":
        return _harder_comparison(old, new)
    if old[0] == new[0] == "is" and old[1:3] == new[1:3]:
        return _harder_choice(bool(old[1]), set(old[3]), set(new[3]))
    return None


def _harder_comparison(old: Tree, new: Tree) -> int | None:
    """The same of two comparisons: ("cmp", sign, left, right)."""
    if old[1] == new[1] and old[1] in (*_AT_LEAST, *_AT_MOST):
        up = 1 if old[1] in _AT_LEAST else -1
        right = _grows(old[3], new[3]) if old[2] == new[2] else None
        if right:
            return up * right
        left = _grows(old[2], new[2]) if old[3] == new[3] else None
        if left:
            return -up * left
    return _HARDER_SIGN.get((old[1], new[1])) if old[2:] == new[2:] else None


def _harder_choice(negated: bool, old: set[str], new: set[str]) -> int | None:
    """The same of a fact that is, or is not, one of several words: of more words it is easier to be
    one.
    """
    if old < new:
        return 1 if negated else -1
    if new < old:
        return -1 if negated else 1
    return None


def _grows(old: Tree, new: Tree) -> int | None:
    """1 where formula *new* is never smaller than *old* (nothing in them is negative), -1 where
    never larger, None where it cannot be told.
    """
    if old[0] == new[0] == "num":
        return _greater_number(old, new)
    if old[0] == new[0] == "bin" and old[1] == new[1]:
        operand = _operand_grows(old, new)
        if operand:
            return operand
    # the larger of two is no smaller for one of them being larger
    if old[0] == new[0] in ("most", "least") and len(old[1]) == len(new[1]):
        moved = [(x, y) for x, y in zip(old[1], new[1], strict=True) if x != y]
        if len(moved) == 1:
            return _grows(*moved[0])
    return _made_more(old, new) or -_made_more(new, old) or None


def _greater_number(old: Tree, new: Tree) -> int | None:
    """The same of two numbers: ("num", number, unit)."""
    if "date" in (old[2], new[2]):
        return (new[1] > old[1]) - (new[1] < old[1]) if old[2] == new[2] else None
    if dimension(old[2] or "count") != dimension(new[2] or "count"):
        return None
    before, after = _in_base(old), _in_base(new)
    return (after > before) - (after < before)


def _in_base(number: Tree) -> Fraction:
    return Fraction(to_base(Fraction(number[1]), number[2] or "count"))


def _operand_grows(old: Tree, new: Tree) -> int | None:
    """The same of two formulas with the same sign in the middle, ("bin", sign, left, right), of
    which one side is the same.
    """
    right = _grows(old[3], new[3]) if old[2] == new[2] else None
    if right:
        return {"+": right, "×": right, "-": -right, "÷": -right}.get(old[1])
    return _grows(old[2], new[2]) if old[3] == new[3] else None


def _made_more(old: Tree, new: Tree) -> int:
    """1 where *new* is *old* with something added that cannot make it smaller, -1 where it cannot
    make it larger, 0 otherwise.

    What may be negative (a difference) is no larger for being multiplied, and a constant alone is
    known to be more than nothing.
    """
    if new[0] in ("most", "least") and old in new[1]:
        return 1 if new[0] == "most" else -1
    if new[0] != "bin":
        return 0
    sign, base, by = new[1:]
    if sign in ("+", "×") and by == old:
        base, by = by, base
    if base != old or by[0] != "num" or by[2] == "date" or _in_base(by) <= 0:
        return 0
    more = _more_by(sign, by, old)
    return more if sign in ("+", "×") else -more


def _more_by(sign: str, by: Tree, old: Tree) -> int:
    """1 where it makes *old* larger to add the number *by*, or to multiply by it; -1 where that
    makes it smaller.
    """
    if sign in ("+", "-"):
        # a temperature is a point, and no amount that is added
        return 0 if by[2] in POINTS else 1
    if sign in ("×", "÷") and not dimension(by[2] or "count") and not _takes_away(old):
        return (_in_base(by) > 1) - (_in_base(by) < 1)
    return 0


def _takes_away(tree: Tree) -> bool:
    """Whether something is taken away in a formula, so that it may be negative."""
    return any(node[1] in "-±" for node in found(tree, "bin"))


# ---- rows of tables ------------------------------------------------------------------------------


def keys_text(table: Table, want: dict[str, Any]) -> str:
    """Keys of a row with their values, as a person says them."""
    return ", ".join(f"{key} {table.show(key, value)}" for key, value in want.items())


def row_text(table: Table, i: int) -> str:
    """A row by its keys."""
    return keys_text(table, {key: table.rows[i][key] for key in table.keys})


def serves(table: Table, i: int) -> str:
    """Which keys a row answers where a look-up goes between rows: 60 A serves over 40 A up to 60
    A.
    """
    key = next((k for k, (how, _) in table.keys.items() if how != "exact"), None)
    if key is None:
        return ""
    row = table.rows[i]
    before, after = table.neighbours(row)
    up = table.keys[key][0] == "next row up"
    here = table.show(key, row[key])
    if up and before is not None:
        return f" That row serves everything over {table.show(key, before[key])} up to {here}."
    if not up and after is not None:
        return f" That row serves everything from {here} to below {table.show(key, after[key])}."
    return ""
