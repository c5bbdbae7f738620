"""What an edit means, said back in one sentence with its direction: what its writer can object to.

STRICTER, LAXER or CHANGES is read off the rule and the line alone; where that cannot be told, examples tell it.
"""

from __future__ import annotations

from fractions import Fraction

from .edits import CHANGES, LAXER, STRICTER, Edit
from .errors import Fault
from .knowledge import Material
from .lines import parse_line
from .reading import Mapping
from .rules import FILLING, JUDGING
from .tables import Table
from .units import dimension, to_base
from .words import as_list


def said_back(e: Edit) -> str:
    """What an edit means, in one sentence, with its direction and its days: what a clerk keeps as `meaning:`."""
    days = e.window()
    return f"{e.done['direction']}: {e.done['says']}" + (f" In force {days}." if days else "")


def quoted(text: str) -> str:
    """*text* as a YAML value."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def flat(v) -> str:
    if isinstance(v, dict):
        return "{" + ", ".join(f"{k}: {flat(x)}" for k, x in v.items()) + "}"
    return "[" + " | ".join(flat(x) for x in v) + "]" if isinstance(v, list) else f"“{v}”"


def sentence(d: Mapping) -> str:
    return f"“{str(d.get('says', d.get('rule'))).rstrip('.')}” ({d.get('rule')})"


def size_test(d: Mapping) -> str:
    return " It also decides which sizes are lawful." if str(d.get("about")) == "conductors" and any(v in d for v in ("must", "must not")) else ""


def unless(d: Mapping, way: int) -> str:
    return " Where its conditions are not told, the answer is: cannot tell." if way == 1 and "when" in d else " Where its conditions are not told, it is not earned." if way == -1 and "when" in d else ""


def role(m: Material, d: Mapping, deep: int = 0) -> int:
    """1 where the rule demands, -1 where it forgives, 0 where neither can be said."""
    if any(v in d for v in JUDGING):
        return 1 if "exception to" not in d else 0
    if any(v in d for v in FILLING) or "exception to" not in d or deep > 9:
        return 0
    ways = {role(m, m.rules.get(str(t)) or m.gone[str(t)], deep + 1) for t in as_list(d["exception to"]) if str(t) in m.rules or str(t) in m.gone}
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
    """1 where condition *b* is harder to meet than *a*, -1 where easier, None where it cannot be told."""
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
    """1 where formula *b* is larger than *a* in every case (nothing in them is negative), -1 where smaller."""
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
        if a[3] == b[3]:
            return _grows(a[2], b[2])
    return None


def keys_text(t: Table, want: dict) -> str:
    return ", ".join(f"{k} {t.show(k, v)}" for k, v in want.items())


def row_text(t: Table, i: int) -> str:
    return keys_text(t, {k: t.rows[i][k] for k in t.keys})


def serves(t: Table, i: int) -> str:
    """Which keys a row answers where a look-up goes between rows: 60 A serves over 40 A up to 60 A."""
    key = next((k for k, (how, _) in t.keys.items() if how != "exact"), None)
    if key is None:
        return ""
    before, after = t.neighbours(t.rows[i])
    up = t.keys[key][0] == "next row up"
    if up and before is not None:
        return f" That row serves everything over {t.show(key, before[key])} up to {t.show(key, t.rows[i][key])}."
    if not up and after is not None:
        return f" That row serves everything from {t.show(key, t.rows[i][key])} to below {t.show(key, after[key])}."
    return ""
