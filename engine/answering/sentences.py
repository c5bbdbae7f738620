"""What a finding says in a sentence: its two sides, its margin, its check, and templates with their
facts filled in.
"""

from __future__ import annotations

import re

from ..basics.units import NOTHING, Range, ends, faithful, in_unit, number_text
from ..language import expressions as ex
from ..language.expressions import NONE, members
from ..language.rules import Rule
from ..proving.graph import PUT_TOGETHER, plain, short, show, unit_as_written, unit_shown
from ..running.chain import PASSES, SET_ASIDE, TELL, World
from ..running.rerun import Rerun
from .findings import needs


def begun(text: str) -> str:
    """*text* at the beginning of a sentence, its other letters as they are: Kiln conductors at 10
    AWG.
    """
    return text[:1].upper() + text[1:]


class Sentences:
    """Speaks of one finished run; what answers questions is built on it (subjects, ways, explain,
    questions).
    """

    def __init__(self, w: World, whatif: Rerun) -> None:
        self.w, self.k, self.whatif = w, w.k, whatif

    def sentence(self, r: Rule, x: list, a: str) -> str:
        """What the headline says after its word."""
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
                return (
                    "nothing"
                    if m == "at the limit"
                    else m.removesuffix(" to spare").removesuffix(" short").removesuffix(" over")
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

    def side_texts(self, r: Rule, x: list) -> tuple[str, str]:
        """Both sides of a comparison, by no more figures than keep them apart as they are."""
        sides = [(e.ev(x, None), unit_as_written(e, x)) for e in (r.test.a, r.test.b)]
        (a, u), (b, v) = sides
        numbers = (
            r.test.order is None
            and "date" not in (u, v)
            and all(plain(n) or isinstance(n, Range) for n in (a, b))
            and not {u, v} & PUT_TOGETHER.keys()
        )
        brief = not numbers or faithful(a, b, u, v, True)
        full = numbers and not brief and not faithful(a, b, u, v, False)
        have, needed = (show(n, unit, full, brief) for n, unit in sides)
        return have, needed

    def margin(self, r: Rule, x: list) -> str:
        c = r.test
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
        ok = c.ev(x, None)
        if r.verb == "must not":
            ok = not ok
        if gap == 0:
            return "at the limit"
        size = (
            ("at least " if between else "")
            + number_text(gap, brief=True)
            + (f" {unit}" if unit and unit != "count" else "")
        )
        least = c.op in (">=", ">")
        return f"{size} {'to spare' if ok else 'short' if least else 'over'}"

    def check(self, r: Rule, x: list) -> str:
        """`55 A >= 60 A?  No, 5 A short.`"""
        have, needed = self.side_texts(r, x)
        v = r.test.ev(x, None)
        if r.verb == "must not" and v is not None and v is not NOTHING:
            v = not v
        m = self.margin(r, x)
        what = ""
        if (
            isinstance(r.test.b, ex.Path)
            and r.test.b.names
            and r.test.b.names[-1] in ("MCA", "MOCP")
        ):
            what = r.test.b.names[-1] + " "
        return (
            f"{have} {r.test.op} {what}{needed}?  "
            + ("Yes" if v is True else "Can't tell" if v is None else "No")
            + (f", {m}." if m else ".")
        )

    def tightness(self, r: Rule, x: list) -> float:
        """How near a comparison is to its limit: for ordering only."""
        c = r.test
        if isinstance(c, ex.Cmp) and c.order is None:
            a, b = c.sides(x, None)
            if plain(a) and plain(b) and b != 0:
                return float(abs(in_unit(a, None) - in_unit(b, None)) / abs(in_unit(b, None)))
        return 9.0

    def source(self, r: Rule, x: list) -> str:
        return r.section(self.k.edition, x) or "" if r.layer in ("law", "local") else ""

    def _circuit(self, x: list) -> list:
        while x[0].whole is not None and x[0].whole[0].id != "job":
            x = x[0].whole
        return x
