"""What an edit means, said back in one sentence with its direction: what its writer can object to.

STRICTER, LAXER or CHANGES is read off the rule and the line alone; where that cannot be told,
examples tell it.
"""

from __future__ import annotations

import re
from fractions import Fraction

from ..basics.errors import Fault
from ..basics.reading import Mapping, straight
from ..basics.units import POINTS, UNITS, WRITTEN, dimension, to_base, unit_of
from ..language.knowledge import Material
from ..language.lines import names_in, parse_line
from ..language.rules import FILLING, JUDGING, MEANT
from ..language.tables import Table
from ..language.words import as_list
from .edits import CHANGES, LAXER, STRICTER, Edit


def said_back(e: Edit) -> str:
    """What an edit means, in one sentence, with its direction and its days: what a clerk keeps as
    `meaning:`.
    """
    days = e.window() if e.written is None else e.written
    return f"{e.done['direction']}: {e.done['says']}" + (f" In force {days}." if days else "")


def quoted(text: str) -> str:
    """*text* as a YAML value."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def flat(v) -> str:
    if isinstance(v, dict):
        return "{" + ", ".join(f"{k}: {flat(x)}" for k, x in v.items()) + "}"
    return "[" + " | ".join(flat(x) for x in v) + "]" if isinstance(v, list) else f"“{v}”"


def sentence(d: Mapping) -> str:
    """A rule by its sentence and its name."""
    return f"“{str(d.get('says', d.get('rule'))).rstrip('.')}” ({d.get('rule')})"


def listed(names: list, most: int = 4) -> str:
    """A, B and C; what is beyond *most* is counted."""
    names = (
        list(names) if len(names) <= most else [*names[: most - 1], f"{len(names) - most + 1} more"]
    )
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def conditions(when) -> str:
    """Conditions in words, each as it counts: all must be so, or one of them is enough."""

    def one(c) -> str:
        if isinstance(c, dict):
            key, parts = next(iter(c.items()))
            said = [one(p) for p in as_list(parts)]
            return (
                " and ".join(said)
                if str(key) == "all of"
                else " or ".join(said) + (" (one is enough)" if len(said) > 1 else "")
            )
        return str(c)

    said = [one(c) for c in as_list(when)]
    return " and ".join(said) + (" (all must be so)" if len(said) > 1 else "")


def asides(m: Material, d: Mapping, way: int) -> str:
    """What else a rule that a pack wrote does, for its writer to object to."""
    return "".join(
        f" {t}"
        for t in (size_test(m, d), judges(m, d), fills(d), gauges(m, d), unless(d, way))
        if t
    )


def tried_by(m: Material, d: Mapping) -> list[Mapping]:
    """The picks that a rule is a test of."""
    if not any(v in d for v in ("must", "must not")):
        return []
    return [
        p
        for p in m.rules.values()
        if isinstance(p.get("tries"), dict)
        and "picks" in p
        and str(p.get("about")) == str(d.get("about"))
        and str(d["rule"]) not in map(str, as_list(p.get("leaving out")))
    ]


def size_test(m: Material, d: Mapping) -> str:
    """That a must about what is tried is a test of every size tried, and who reads what is picked
    by it.
    """
    picks = tried_by(m, d)
    if not picks:
        return ""
    tried = " and ".join(sorted({str(next(iter(p["tries"]))) for p in picks}))
    readers = sorted(
        {
            str(o["rule"])
            for p in picks
            for o in m.rules.values()
            if "tries" not in o and "designs" not in o and _reads(o, str(p["picks"]))
        }
    )
    return f"It also decides which {tried} is lawful" + (
        f", and {listed(readers)} {'reads' if len(readers) == 1 else 'read'} that."
        if readers
        else "."
    )


def _reads(d: Mapping, fact: str) -> bool:
    return any(fact in t and any(fact in path for path in paths(t)) for t in lines_of(d))


def paths(line) -> set[tuple]:
    """Every path a line reads, the thing last; none where the line cannot be read."""
    try:
        return names_in(parse_line(str(line), "cond"))
    except Fault:
        return set()


def lines_of(d: Mapping) -> list[str]:
    """Every line of a rule."""

    def walk(v):
        if isinstance(v, (dict, list)):
            for x in v.values() if isinstance(v, dict) else v:
                yield from walk(x)
        else:
            yield str(v)

    return [t for k in d if k in MEANT for t in walk(d[k])]


def judges(m: Material, d: Mapping) -> str:
    """That a requirement changes no value: to calculate with another figure is another verb."""
    verb = next((v for v in JUDGING if v in d), None)
    if verb is None or tried_by(m, d):
        return ""
    return (
        "It judges; it changes no value that another rule reads."
        if verb != "should"
        else "It is advice; it changes no value that another rule reads."
    )


def fills(d: Mapping) -> str:
    """Where a rule that gives something steps in."""
    for verb, where in (
        ("assumes", "Only where nothing else tells or gives {}; it shows as an assumption."),
        ("designs", "Only where the job leaves {} open."),
        ("reckons", "Only where nobody told {}."),
    ):
        if isinstance(d.get(verb), dict):
            return where.format(listed([str(f) for f in d[verb]]))
    return ""


def gauges(m: Material, d: Mapping) -> str:
    """Which sizes "8 AWG or smaller" means: gauge numbers run backwards."""
    said = []
    for line in lines_of(d):
        try:
            tree = parse_line(line, "cond")
        except Fault:
            continue
        for _, _, size, way in found(tree, "gauge"):
            order = next(
                (
                    list(o)
                    for t in m.tables.values()
                    if "size" in t.keys and size in (o := t.order("size"))
                ),
                [],
            )
            i = order.index(size) if order else 0
            more = order[:i][::-1] if way == "smaller" else order[i + 1 :]
            if more:
                said.append(
                    f"{size} or {way} is {size} and every"
                    f" {'thinner' if way == 'smaller' else 'thicker'} one:"
                    f" {', '.join(more[:3])}{' ...' if len(more) > 3 else ''}."
                )
    return " ".join(dict.fromkeys(said))


def found(tree, kind: str) -> list[tuple]:
    """Every node of one kind in a parsed line."""
    if not isinstance(tree, tuple):
        return []
    return ([tree] if tree[:1] == (kind,) else []) + [x for n in tree for x in found(n, kind)]


def unless(d: Mapping, way: int) -> str:
    """What comes of it where its conditions are not told."""
    if "when" not in d:
        return ""
    return {
        1: "Where its conditions are not told, the answer is: cannot tell.",
        -1: "Where its conditions are not told, it is not earned.",
    }.get(way, "")


_AMOUNT = re.compile(
    r"(?<![\w.§-])((?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?)\s?("
    + "|".join(
        re.escape(u)
        for u in sorted(
            [*UNITS, *POINTS, *(w for w in WRITTEN if len(w) > 2)], key=len, reverse=True
        )
        if u not in ("count", "date")
    )
    + r"|kcmil|AWG)(?![\w²³°/])"
)


def amounts(text) -> list[tuple]:
    """(what it measures, how much, as written) of every number with a unit in a line or a
    sentence.
    """
    out = []
    for m in _AMOUNT.finditer(straight(str(text))):
        unit = m[2] if m[2] in ("AWG", "kcmil") else unit_of(m[2])
        q = Fraction(m[1].replace(",", ""))
        out.append(
            ("size", f"{q} {unit}", m[0])
            if unit in ("AWG", "kcmil")
            else (dimension(unit), Fraction(to_base(q, unit)), m[0])
        )
    return out


def stale_amounts(says, old, new) -> list[str]:
    """The amounts of a sentence that stood in the old lines and stand in the new ones no longer, as
    the sentence has them.
    """
    stays = {a[:2] for t in new for a in amounts(t)}
    gone = {a[:2] for t in old for a in amounts(t)} - stays
    return [a[2] for a in amounts(says) if a[:2] in gone]


def strange_amounts(says, lines) -> list[str]:
    """The amounts of a sentence that its lines should have and do not: others of the same measure
    are there.
    """
    there = [a[:2] for t in lines for a in amounts(t)]
    measured = {a[0] for a in there}
    return [a[2] for a in amounts(says) if a[0] in measured and a[:2] not in there]


def role(m: Material, d: Mapping, deep: int = 0) -> int:
    """1 where the rule demands, -1 where it forgives, 0 where neither can be said."""
    if any(v in d for v in JUDGING):
        return 1 if "exception to" not in d else 0
    if any(v in d for v in FILLING) or "exception to" not in d or deep > 9:
        return 0
    ways = {
        role(m, m.rules.get(str(t)) or m.gone[str(t)], deep + 1)
        for t in as_list(d["exception to"])
        if str(t) in m.rules or str(t) in m.gone
    }
    return -ways.pop() if len(ways) == 1 else 0


def direction(m: Material, d: Mapping, path: tuple, old: str, new: str) -> str:
    """Which way a changed line goes, where that can be told from the line alone."""
    try:
        a, b = parse_line(old, "cond"), parse_line(new, "cond")
    except Fault:
        return CHANGES
    way = _harder(a, b)
    if way is None or path[0] not in (*JUDGING, "when"):
        return CHANGES
    if path[0] == "must not":
        way = -way
    sign = role(m, d)
    if path[0] == "when":
        way = -way * sign
    elif sign == 0:
        return CHANGES
    return {1: STRICTER, -1: LAXER}.get(way, CHANGES)


def _harder(a, b) -> int | None:
    """1 where condition *b* is harder to meet than *a*, -1 where easier, None where it cannot be
    told.
    """
    if a[0] == b[0] == "cmp" and a[1] == b[1] and a[1] in (">=", ">", "<=", "<"):
        up = 1 if a[1] in (">=", ">") else -1
        if a[2] == b[2] and (way := _grows(a[3], b[3])):
            return up * way
        if a[3] == b[3] and (way := _grows(a[2], b[2])):
            return -up * way
    if a[0] == b[0] == "cmp" and a[2:] == b[2:]:
        return {(">=", ">"): 1, (">", ">="): -1, ("<=", "<"): 1, ("<", "<="): -1}.get((a[1], b[1]))
    if a[0] == b[0] == "is" and a[1:3] == b[1:3]:
        more, fewer = set(a[3]) < set(b[3]), set(b[3]) < set(a[3])
        return None if not (more or fewer) else (-1 if more != bool(a[1]) else 1)
    return None


def _grows(a, b) -> int | None:
    """1 where formula *b* is never smaller than *a* (nothing in them is negative), -1 where never
    larger, None where it cannot be told.
    """
    if a[0] == b[0] == "num":
        if a[2] == "date" or b[2] == "date":
            return (b[1] > a[1]) - (b[1] < a[1]) if a[2] == b[2] else None
        if dimension(a[2] or "count") != dimension(b[2] or "count"):
            return None
        x, y = (Fraction(to_base(Fraction(n[1]), n[2] or "count")) for n in (a, b))
        return (y > x) - (y < x)
    if a[0] == b[0] == "bin" and a[1] == b[1]:
        if a[2] == b[2] and (way := _grows(a[3], b[3])):
            return way if a[1] in "+×" else -way if a[1] in "-÷" else None
        if a[3] == b[3] and (way := _grows(a[2], b[2])):
            return way
    # the larger of two is no smaller for one of them being larger
    if a[0] == b[0] in ("most", "least") and len(a[1]) == len(b[1]):
        moved = [(x, y) for x, y in zip(a[1], b[1]) if x != y]
        if len(moved) == 1:
            return _grows(*moved[0])
    if way := _made_more(a, b):
        return way
    return -way if (way := _made_more(b, a)) else None


def _made_more(a, b) -> int:
    """1 where *b* is *a* with something added that cannot make it smaller, -1 where it cannot make
    it larger, 0 otherwise.

    What may be negative (a difference) is no larger for being multiplied, and a constant alone is
    known to be more than nothing.
    """
    if b[0] in ("most", "least") and a in b[1]:
        return 1 if b[0] == "most" else -1
    if b[0] != "bin":
        return 0
    op, x, y = b[1:]
    if op in "+×" and y == a:
        x, y = y, x
    if x != a or y[0] != "num" or y[2] == "date":
        return 0
    n = Fraction(to_base(Fraction(y[1]), y[2] or "count"))
    if op in "+-":
        return 0 if y[2] in POINTS or n <= 0 else 1 if op == "+" else -1
    if op not in "×÷" or dimension(y[2] or "count") or n <= 0 or _takes_away(a):
        return 0
    return ((n > 1) - (n < 1)) * (1 if op == "×" else -1)


def _takes_away(tree) -> bool:
    """Whether something is taken away in a formula, so that it may be negative."""
    return any(n[1] in "-±" for n in found(tree, "bin"))


def keys_text(t: Table, want: dict) -> str:
    return ", ".join(f"{k} {t.show(k, v)}" for k, v in want.items())


def row_text(t: Table, i: int) -> str:
    return keys_text(t, {k: t.rows[i][k] for k in t.keys})


def serves(t: Table, i: int) -> str:
    """Which keys a row answers where a look-up goes between rows: 60 A serves over 40 A up to 60
    A.
    """
    key = next((k for k, (how, _) in t.keys.items() if how != "exact"), None)
    if key is None:
        return ""
    before, after = t.neighbours(t.rows[i])
    up = t.keys[key][0] == "next row up"
    if up and before is not None:
        return (
            f" That row serves everything over {t.show(key, before[key])} up to"
            f" {t.show(key, t.rows[i][key])}."
        )
    if not up and after is not None:
        return (
            f" That row serves everything from {t.show(key, t.rows[i][key])} to below"
            f" {t.show(key, after[key])}."
        )
    return ""
