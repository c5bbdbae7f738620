"""What a worked job says must come out: `expect:` in its file, compared with what did.

expect:
  kiln conductors: {conductor-125-percent: fails, minimum size: 4 AWG}
"""

from __future__ import annotations

from ..basics.errors import Place
from ..basics.reading import Text, place_of
from ..basics.sentinels import NONE
from ..basics.units import Range, parse_quantity
from ..proving.graph import show, unit_shown
from .answers import Unclear
from .questions import Why


def unmet(found) -> list[str]:
    """Every expectation of an inspected job that is not met, with its place. *found* is an
    Inspection.
    """
    out = []
    expected = found.body.get("expect") if isinstance(found.body, dict) else None
    if not isinstance(expected, dict):
        return out
    why = Why(found.w, found.whatif)
    for name, wants in expected.items():
        try:
            x, rest = why.thing(str(name).split())
        except Unclear as e:
            out.append(f"{place_of(name)}: {e}")
            continue
        if rest:
            out.append(f'{place_of(name)}: nothing is called "{name}"')
            continue
        for what, want in wants.items():
            got = outcome(found, why, x, str(what), want)
            if got is not None:
                out.append(
                    f"{place_of(want, place_of(name))}: {what} of {name}: expected {want}, and it"
                    f" is {got}"
                )
    return out


def outcome(found, why: Why, x: list, what: str, want: Text) -> str | None:
    """None where *what* of *x* is as wanted, else what it is."""
    k = found.k
    if what in k.words.kinds[x[0].kind].words:
        w = k.words.kinds[x[0].kind].words[what]
        v = x[w.slot]
        if (
            w.type[0] == "q"
            and v is not None
            and v is not NONE
            and not isinstance(v, Range)
            and str(want) not in ("unknown", "none")
        ):
            target, unit = parse_quantity(str(want), w.unit, place_of(want, Place()))
            return None if v == target or show(v, unit) == str(want) else show(v, unit)
        got = show(v, unit_shown(x, what, w.unit))
        return None if got == str(want) else got
    if what in k.rules:
        r = k.rules[what]
        if r.about != x[0].kind:
            return f"a rule about {r.about}"
        f = next((f for f in found.findings if f.rule == what and f.on == x[0].id), None)
        got = f.answer if f is not None and f.whichever else found.w.answer(r, x)
        wanted = str(want)
        if got == "exception applies" and wanted == "passes":
            return None
        if wanted == "fails unless":
            return None if f is not None and f.answer == "fails" and f.unless else got
        return None if got == wanted else got
    return "no such fact or rule"
