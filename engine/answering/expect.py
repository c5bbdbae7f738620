"""What a worked job says must come out: `expect:` in its file, compared with what did.

expect:
  kiln conductors: {conductor-125-percent: fails, minimum size: 4 AWG}
"""

from __future__ import annotations

from ..basics.errors import Place
from ..basics.reading import Mapping, Text, place_of
from ..basics.sentinels import NONE
from ..basics.units import Range, parse_quantity
from ..language.knowledge import Knowledge
from ..language.rules import Rule
from ..language.things import Thing
from ..proving.graph import show, unit_shown
from ..running.chain import FAILS, PASSES, SET_ASIDE
from .answers import Unclear
from .inspection import Inspection
from .questions import Why


def unmet(found: Inspection) -> list[str]:
    """Every expectation of an inspected job that is not met, with its place."""
    expected = found.body.get("expect") if isinstance(found.body, dict) else None
    if not isinstance(expected, dict):
        return []
    why = Why(found.w, found.whatif)
    out = []
    for name, wants in expected.items():
        out += unmet_of(found, why, name, wants)
    return out


def unmet_of(found: Inspection, why: Why, name: Text, wants: Mapping) -> list[str]:
    """What is expected of one thing and is not so."""
    try:
        thing, rest = why.thing(str(name).split())
    except Unclear as slip:
        return [f"{place_of(name)}: {slip}"]
    if rest:
        return [f'{place_of(name)}: nothing is called "{name}"']
    out = []
    for what, want in wants.items():
        got = outcome(found, why, thing, str(what), want)
        if got is not None:
            at = place_of(want, place_of(name))
            out.append(f"{at}: {what} of {name}: expected {want}, and it is {got}")
    return out


def outcome(found: Inspection, why: Why, thing: Thing, what: str, want: Text) -> str | None:
    """None where *what* of *thing* is as wanted, else what it is."""
    knowledge = found.k
    kind = knowledge.words.kinds[thing[0].kind]
    what = kind.formerly.get(what, knowledge.called(what))
    if what in kind.words:
        return fact_outcome(knowledge, thing, what, want)
    if what in knowledge.rules:
        return rule_outcome(found, knowledge.rules[what], thing, str(want))
    return "no such fact or rule"


def fact_outcome(knowledge: Knowledge, thing: Thing, fact: str, want: Text) -> str | None:
    """None where a fact is as wanted: a number in any unit, anything else as it is written."""
    word = knowledge.words.kinds[thing[0].kind].words[fact]
    value = thing[word.slot]
    number = word.type[0] == "q" and value is not None and value is not NONE
    if number and not isinstance(value, Range) and str(want) not in ("unknown", "none"):
        target, unit = parse_quantity(str(want), word.unit or "", place_of(want, Place()))
        got = show(value, unit)
        return None if value == target or got == str(want) else got
    got = show(value, unit_shown(thing, fact, word.unit))
    return None if got == str(want) else got


def rule_outcome(found: Inspection, rule: Rule, thing: Thing, wanted: str) -> str | None:
    """None where a rule comes out as wanted."""
    if rule.about != thing[0].kind:
        return f"a rule about {rule.about}"
    finding = next((f for f in found.findings if f.rule == rule.id and f.on == thing[0].id), None)
    got: str = found.w.answer(rule, thing)
    if finding is not None and finding.whichever:
        got = finding.answer
    if wanted == "fails unless":
        return None if finding is not None and finding.answer == FAILS and finding.unless else got
    if got == SET_ASIDE and wanted == PASSES:
        return None
    return None if got == wanted else got
