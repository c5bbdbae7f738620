"""What a finding says in a sentence: its two sides, its margin, its check, and templates with their
facts filled in.
"""

from __future__ import annotations

import re

from ..basics.sentinels import NONE, NOTHING
from ..basics.units import Range, ends, faithful, in_unit, number_text
from ..language import expressions as ex
from ..language.rules import JUDGING, Rule
from ..language.things import members
from ..proving.graph import PUT_TOGETHER, plain, short, show, unit_as_written, unit_shown
from ..running.chain import PASSES, SET_ASIDE, TELL, World
from ..running.rerun import Rerun
from .findings import needs


def begun(text: str) -> str:
    """*text* at the beginning of a sentence, its other letters as they are: Kiln conductors at 10
    AWG.
    """
    return text[:1].upper() + text[1:]


FAR = 9.0  # what has no limit to be near to, for ordering
OPPOSITE = {">=": "<", ">": "<=", "<=": ">", "<": ">=", "=": "!=", "!=": "="}


def distance(c: ex.Expr | None, x: list) -> float:
    """How near a comparison is to its limit, as a share of the limit."""
    if isinstance(c, ex.Cmp) and c.order is None:
        a, b = c.sides(x, None)
        if plain(a) and plain(b) and b != 0:
            return float(abs(in_unit(a, None) - in_unit(b, None)) / abs(in_unit(b, None)))
    return FAR


class Sentences:
    """Speaks of one finished run; what answers questions is built on it (subjects, ways, explain,
    questions).
    """

    def __init__(self, w: World, whatif: Rerun) -> None:
        self.w, self.k, self.whatif = w, w.k, whatif
        self._read: dict[str, list] = {}  # rule id -> the facts its test reads

    def sentence(self, r: Rule, x: list, a: str) -> str:
        """What the headline says after its word."""
        if a == SET_ASIDE and (e := self.w.lifting(r, x)) is not None:
            return self.sentence(e, x, PASSES) if e.verb in JUDGING else self.excuse(e, x)
        said = r.d.get("answers", {})
        key = "passes" if a in (PASSES, SET_ASIDE) else "cannot tell" if a == TELL else "fails"
        text = said.get(key)
        if text:
            filled = self.fill(str(text), r, x)
            if filled:
                return filled
        if a == TELL:
            ns = needs(self.w, r, x)
            if isinstance(r.test, ex.Cmp) and r.test.order is None and 0 < len(ns) <= 2:
                have, needed = self.side_texts(r, x)
                if "unknown" not in (have, needed) and not (
                    have.startswith("0 ") and have.endswith("or more")
                ):
                    return (
                        f"{have} against {needed}: {' and '.join(n.fact for n in ns)}"
                        f" decide{'s' if len(ns) == 1 else ''} it."
                    )
            if (
                not ns
                and isinstance(r.test, ex.Cmp)
                and r.test.order is None
                and all(
                    isinstance(v, Range) and None not in (v.lo, v.hi) or plain(v)
                    for v in r.test.sides(x, None)
                )
            ):
                return "{} against {}: the limit lies within it.".format(*self.side_texts(r, x))
            return (
                f"{len(ns)} fact{'s' if len(ns) != 1 else ''} nobody told"
                f" decide{'' if len(ns) != 1 else 's'} this."
                if ns
                else "A number is missing, and the Code gives no default."
            )
        if isinstance(r.test, ex.Cmp) and r.test.order is None:
            have, needed = self.side_texts(r, x)
            m = self.margin(r, x)
            return f"{begun(short(x))}: {have} against {needed}" + (f", {m}." if m else ".")
        return r.said

    def excuse(self, e: Rule, x: list) -> str:
        """What a permission says that lets something pass, with the margin of the test that
        decided.
        """
        said, c = self.in_short(e, x), self.decisive(e, x)
        m = self.margin(e, x, c) if c is not None else ""
        return f"{said.rstrip('.')} ({m})." if m else said

    def decisive(self, e: Rule, x: list) -> ex.Cmp | None:
        """The comparison nearest to its limit among the conditions that make a permission hold."""
        near = [
            (distance(c, x), n, c)
            for n, c in enumerate(p for w in e.when for p in ex.walk(w))
            if isinstance(c, ex.Cmp)
            and c.order is None
            and c.ev(x, None) is True
            and "date" not in (c.a.unit, c.b.unit)
        ]
        return min(near)[2] if near else None

    def in_short(self, r: Rule, x: list) -> str:
        """A rule in a few words, where it has them."""
        said = r.d.get("answers", {}).get("short")
        return (self.fill(str(said), r, x) if said else None) or r.said

    def fill(self, text: str, r: Rule, x: list) -> str | None:
        """A sentence with its facts filled in; None where one of them is not known."""
        have, needed = self.side_texts(r, x) if isinstance(r.test, ex.Cmp) else ("", "")

        def one(m):
            name = m[1]
            if name in ("have", "needed"):
                return {"have": have, "needed": needed}[name]
            if name == "margin":
                m = self.margin(r, x)
                if not m:
                    raise KeyError(name)
                if r.test.op == "=":
                    return m  # which way it is off is all that it says
                return (
                    "nothing"
                    if m == "at the limit"
                    else re.sub(" (to spare|short|under|over)$", "", m)
                )
            v = self.value_of(x, name)
            if v is None:
                raise KeyError(name)
            return v

        def maybe(m):
            try:
                return re.sub(r"\{([^{}]+)\}", one, m[1])
            except KeyError:
                return ""

        try:
            return re.sub(r"\{([^{}]+)\}", one, re.sub(r"\[([^\[\]]*\{[^\[\]]*)\]", maybe, text))
        except KeyError:
            return None

    def value_of(self, x: list, path: str) -> str | None:
        names = self.k.words.spell(
            x[0].kind, tuple(n.strip() for n in reversed(path.split(" of ")))
        )
        # the thing itself, named by its kind
        names = names[
            len(names) > 1
            and names[0] == x[0].kind
            and names[0] not in self.k.words.kinds[x[0].kind].words :
        ]
        o = x
        for i, n in enumerate(names):
            w = self.k.words.kinds[o[0].kind].words.get(n)
            v = o[w.slot] if w is not None else None
            if v is None or v is NONE or v is NOTHING:
                return None
            if i == len(names) - 1:
                return show(v, unit_shown(o, n, w.unit), brief=True)
            if w.type[0] == "many":  # of a list: what all its members share
                said = {self.value_of(y, " of ".join(reversed(names[i + 1 :]))) for y in members(v)}
                return said.pop() if len(said) == 1 else None
            if not isinstance(v, list):
                return None
            o = v
        return None

    def side_texts(self, r: Rule, x: list, c: ex.Cmp | None = None) -> tuple[str, str]:
        """Both sides of a comparison, by no more figures than keep them apart as they are."""
        c = c or r.test
        sides = [(e.ev(x, None), unit_as_written(e, x)) for e in (c.a, c.b)]
        (a, u), (b, v) = sides
        numbers = (
            c.order is None
            and "date" not in (u, v)
            and all(plain(n) or isinstance(n, Range) for n in (a, b))
            and not {u, v} & PUT_TOGETHER.keys()
        )
        brief = not numbers or faithful(a, b, u, v, True)
        full = numbers and not brief and not faithful(a, b, u, v, False)
        have, needed = (show(n, unit, full, brief) for n, unit in sides)
        return have, needed

    def margin(self, r: Rule, x: list, c: ex.Cmp | None = None) -> str:
        """`5 A short`: how far a comparison of *r*, its test if no other is named, is from its
        limit, and on which side.
        """
        forbids = c is None and r.verb == "must not"
        c = c or r.test
        if not isinstance(c, ex.Cmp) or c.order is not None:
            return ""
        a, b = c.sides(x, None)
        unit = c.a.unit
        # more than a root's last digit
        between = any(
            isinstance(v, Range)
            and None not in (v.lo, v.hi)
            and number_text(in_unit(v.lo, unit)) != number_text(in_unit(v.hi, unit))
            for v in (a, b)
        )
        if c.ev(x, None) in (True, False):  # of a range what is sure: the nearest ends
            (al, ah), (bl, bh) = ends(a), ends(b)
            a, b = (al, bh) if c.ev(x, None) is (c.op in (">=", ">")) else (ah, bl)
        if not (plain(a) and plain(b)):
            return ""
        gap = abs(in_unit(a, unit) - in_unit(b, unit))
        ok = c.ev(x, None) is not forbids
        if gap == 0:
            return "at the limit" if c.op != "=" else ""
        size = (
            ("at least " if between else "")
            + number_text(gap, brief=True)
            + (f" {unit}" if unit and unit != "count" else "")
        )
        if c.op in ("=", "!="):  # neither side is the safe one; a rule may have words for both
            off = "under" if in_unit(a, unit) < in_unit(b, unit) else "over"
            return f"{size} {r.d.get('answers', {}).get(off, off)}"
        least = (c.op in (">=", ">")) is not forbids
        return f"{size} {'to spare' if ok else 'short' if least else 'over'}"

    def check(self, r: Rule, x: list, c: ex.Cmp | None = None) -> str:
        """`55 A >= 60 A?  No, 5 A short.` of the test of *r*, or of another comparison in it; yes
        is what is asked for.
        """
        forbids = c is None and r.verb == "must not"
        have, needed = self.side_texts(r, x, c)
        m = self.margin(r, x, c)
        c = c or r.test
        v = c.ev(x, None)
        if forbids and v is not None and v is not NOTHING:
            v = not v
        what = ""
        if isinstance(c.b, ex.Path) and c.b.names and c.b.names[-1] in ("MCA", "MOCP"):
            what = c.b.names[-1] + " "
        return (
            f"{have} {OPPOSITE[c.op] if forbids else c.op} {what}{needed}?  "
            + ("Yes" if v is True else "Can't tell" if v is None else "No")
            + (f", {m}." if m else ".")
        )

    def tightness(self, r: Rule, x: list) -> float:
        """How near a comparison is to its limit: for ordering only."""
        return distance(r.test, x)

    def source(self, r: Rule, x: list) -> str:
        return r.section(self.k.edition, x) or "" if r.layer in ("law", "local") else ""

    def _circuit(self, x: list) -> list:
        while x[0].whole is not None and x[0].whole[0].id != "job":
            x = x[0].whole
        return x
