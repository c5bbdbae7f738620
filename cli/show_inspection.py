"""An inspection for a person: in force, the design, findings, cautions, what was taken, what was
not checked.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any

from ..engine.front import DESIGN_AID, Finding, Inspection, Need, out_of_force
from .layout import Line, row

TAG = {"law": "law", "maker": "maker", "local": "local", "practice": "practice"}
MOST_SAID = 12  # of what a person also said
CITED = ("law", "local")  # the layers whose sections one can look up


def show_inspection(found: Inspection, width: int = 80, everything: bool = False) -> list[Line]:
    """The whole report. What passes is counted by thing unless *everything* is asked for."""
    by_answer: dict[str, list[Finding]] = {}
    for finding in found.findings:
        by_answer.setdefault(finding.answer, []).append(finding)

    out: list[Line] = [[(found.job.title or found.name, "headline")]]
    out += [[(line, "source")] for line in textwrap.wrap(in_force(found), width)]
    out += _also_said(found, width)
    out += _design(found, width)
    for answer in ("fails", "advice"):
        out += _answered(found, by_answer.get(answer, []), width)
    out += _undecided(found, by_answer.get("cannot tell", []), width)
    out += _disputes(found, width)
    out += _passes(found, by_answer.get("passes", []), width, everything)
    out += _cautions(found.cautions, width)
    out += _taken(found, width)
    out += _as_said(found, width)
    out += _not_checked(found, width)
    out += [[], *[[(line, "source")] for line in textwrap.wrap(DESIGN_AID, width)]]
    return out


# ---- what the answers rest on, and what is designed ----------------------------------------------


def in_force(found: Inspection) -> str:
    """What the answers rest on, in a few lines: the edition, the packs over it with their days, and
    one digest.
    """
    base, *over = found.in_force
    how = {
        "told": "as the job says",
        "asked for": "as asked for",
        "place": f"adopted in {found.force.adopted_in or 'its place'}",
    }[base["edition from"]]
    text = f"In force: NEC {base['edition']} ({how})"
    if over:
        text += "; over it " + ", then ".join(_pack(pack) for pack in over)
    if base["date"]:
        text += f", permit of {base['date']}"
    chained = (
        "Chained by durable-rules and the plain chainer, which agree."
        if found.chainer == "both"
        else "Chained by the plain chainer alone."
    )
    return " ".join([f"{text}; digest {base['digest']}.", *found.force.notes, chained])


def _also_said(found: Inspection, width: int) -> list[Line]:
    """What a person said and nothing here uses; and what was written shortly, as it was read."""
    out: list[Line] = []
    said = [
        " ".join(filter(None, (one.key, one.text))) + f", of {_the(found, one.of)}"
        for one in found.job.also_said[:MOST_SAID]
    ]
    if said:
        more = len(found.job.also_said) - len(said)
        said += [f"and {more} more (--json)"] if more else []
        uses = "it" if len(said) == 1 else "them"
        text = f"You also said: {'; '.join(said)}. Nothing here uses {uses}."
        out += [[(line, "caution")] for line in textwrap.wrap(text, width)]
    for one in found.job.read_as:
        text = f'Read: {one.fact} "{one.text}" as {", ".join(one.told)}.'
        out += [[(line, "source")] for line in textwrap.wrap(text, width)]
    return [[], *out] if out else []


def _the(found: Inspection, thing: str) -> str:
    """What a person calls a thing, in a sentence."""
    return "the job" if thing == "job" else f"the {_short(found, thing)}"


def _pack(pack: dict[str, Any]) -> str:
    """A pack over the base with its days, and whether the permit lies beside them."""
    first, after = pack["from"], pack["until"]
    days = out_of_force(first, after, pack["date"])
    if not days:
        said = (f"from {first}" if first else "", f"until {after}" if after else "")
        days = ", ".join(filter(None, said))
    return f"{pack['title']} ({days})" if days else pack["title"]


def _design(found: Inspection, width: int) -> list[Line]:
    """What was designed and derived, a paragraph for each thing."""
    things: dict[str, list[str]] = {}
    for part in found.design:
        mark = {"assumed": " (we assumed)", "designed": " (designed)"}.get(part["origin"], "")
        things.setdefault(part["of"], []).append(f"{part['says']} {part['value']}{mark}")
    out: list[Line] = []
    for thing, said in things.items():
        text = f"{_short(found, thing)}: " + "; ".join(said)
        first, *more = textwrap.wrap(text, width - 2, subsequent_indent="  ")
        out += [[(first, "label")], *([("  " + line, "")] for line in more)]
    return [[], [("WHAT IT NEEDS", "head")], *out] if out else []


# ---- findings ------------------------------------------------------------------------------------


def _answered(found: Inspection, findings: list[Finding], width: int) -> list[Line]:
    """The findings of one answer, each with its check and what would change it."""
    if not findings:
        return []
    out: list[Line] = [[], [(f"{findings[0].answer.upper()} ({len(findings)})", "head")]]
    for finding in findings:
        out += _finding(found, finding, width)
    return out


def _finding(found: Inspection, finding: Finding, width: int) -> list[Line]:
    """One finding: who says it, the numbers, what would let it pass, and what was done to its
    rule.
    """
    tag = TAG[finding.layer]
    source = f"{finding.source} · {tag}" if finding.layer in CITED else tag
    out = _flush(f"{_short(found, finding.on)}: {finding.says}", source, width)
    out += _check(found, finding)
    for unless in finding.unless:
        out += _under(_unless(unless), width)
    for need in finding.needs[:3]:
        out += _under(f"tell {need.said}: {need.ask} ({need.look})", width)
    if len(finding.needs) > 3:
        out.append([(f"    and {len(finding.needs) - 3} more to tell: --json", "")])
    out += _edited(finding, width)
    if finding.doubt:
        out += _under("doubt: " + finding.doubt, width, "source")
    return out


def _check(found: Inspection, finding: Finding) -> list[Line]:
    """The two numbers that a comparison came out by."""
    from ..engine.front import Cmp, Why

    rule = found.k.rules[finding.rule]
    if finding.answer == "passes" or not isinstance(rule.test, Cmp):
        return []
    said = Why(found.w, found.whatif).check(rule, found.thing(finding.on))
    return [[("    " + said, finding.answer)]]


def _unless(unless: dict[str, Any]) -> str:
    """An exception that would let it pass, and what must be told for it."""
    if "exception" in unless:
        return f"unless {unless['exception']}: tell " + ", ".join(unless["tell"])
    return "unless " + " and ".join(unless["if"])


def _edited(finding: Finding, width: int) -> list[Line]:
    """The edits that a finding rests on, and the exceptions that were withdrawn from it."""
    from ..engine.front import told_of_amendments

    out: list[Line] = []
    for edit in finding.through:
        out += _under(f"by {edit.cite}: {told_of_amendments(edit)}", width, "source", "  ")
    for exception, edit in finding.withdrawn:
        last = f", last day {edit.last_day}" if edit.last_day else ""
        text = f"{exception} is withdrawn by {edit.cite} ({edit.pack.where}{last})"
        out += _under(text, width, "source", "  ")
    return out


def _undecided(found: Inspection, undecided: list[Finding], width: int) -> list[Line]:
    """What cannot be told, by the fact that the most of it needs."""
    if not undecided:
        return []
    out: list[Line] = [[], [(f"CANNOT TELL ({len(undecided)})", "head")]]
    for finding in undecided:
        if not finding.needs:
            out += _finding(found, finding, width)
    for need, findings in _most_needed_first(undecided):
        out += _question(found, need, findings, width)
    return out


def _most_needed_first(undecided: list[Finding]) -> Iterator[tuple[Need, list[Finding]]]:
    """Each question with the findings that wait for it: the one that the most waits for first, and
    each finding under one question only.
    """
    waiting: dict[tuple[str, str], list[Finding]] = {}
    asked: dict[tuple[str, str], Need] = {}
    for finding in undecided:
        for need in finding.needs:
            waiting.setdefault((need.of, need.fact), []).append(finding)
            asked[need.of, need.fact] = need
    left = {id(finding) for finding in undecided if finding.needs}

    def weight(key: tuple[str, str]) -> tuple[int, int, tuple[str, str]]:
        return sum(id(f) in left for f in waiting[key]), -asked[key].effort, key

    while left:
        key = max(waiting, key=weight)
        here = [finding for finding in waiting.pop(key) if id(finding) in left]
        if here:
            left -= {id(finding) for finding in here}
            yield asked[key], here


def _question(found: Inspection, need: Need, findings: list[Finding], width: int) -> list[Line]:
    """One question, where its answer is found, and the rules that wait for it."""
    careful = f" {need.careful}" if need.careful else ""
    tell = f"Tell {need.fact} of {_short(found, need.of)}."
    out = _flush(f"{need.ask} {tell} Look: {need.look}.{careful}", "", width)
    names = list(dict.fromkeys(finding.rule for finding in findings))
    more = f" and {len(names) - 6} more" if len(names) > 6 else ""
    text = f"needed by: {', '.join(names[:6])}{more}"
    return out + [
        [("    " + line, "cannot tell")]
        for line in textwrap.wrap(text, width - 4, break_on_hyphens=False)
    ]


def _disputes(found: Inspection, width: int) -> list[Line]:
    """The facts that have two values, with who says which."""
    if not found.disputes:
        return []
    title = "IN DISPUTE: two answers for one fact; nothing is concluded from either"
    out: list[Line] = [[], [(title, "head")]]
    for dispute in found.disputes:
        values = "; ".join(f"{v['value']} ({v['by']})" for v in dispute["values"])
        out += row("", f"{dispute['is']} of {dispute['of']}: {values}", "", width, 4)
    return out


def _passes(found: Inspection, passes: list[Finding], width: int, everything: bool) -> list[Line]:
    """What passes: each in a paragraph of its own, or by thing with nothing but its name."""
    if not passes:
        return []
    out: list[Line] = [[], [(f"PASSES ({len(passes)})", "head")]]
    if everything:
        for finding in passes:
            source = finding.source if finding.layer in CITED else TAG[finding.layer]
            text = f"{_short(found, finding.on)}: {finding.says}{_how(finding)}"
            out += _flush(text, source, width)
        return out
    things: dict[str, list[str]] = {}
    for finding in passes:
        things.setdefault(finding.on, []).append(finding.rule + _shortly_how(finding))
    for thing, said in things.items():
        out += _item(f"{_short(found, thing)}: " + ", ".join(said), width, on_hyphens=False)
    return out


def _how(finding: Finding) -> str:
    """By what it passes, where it is not by its own test."""
    if finding.exception:
        return f" By exception: {finding.exception}."
    return f" Whatever the {finding.whichever} is." if finding.whichever else ""


def _shortly_how(finding: Finding) -> str:
    if finding.exception:
        return f" (by {finding.exception})"
    return " (either way)" if finding.whichever else ""


# ---- what else a person must know ----------------------------------------------------------------


def _cautions(cautions: list[dict[str, Any]], width: int) -> list[Line]:
    """What to take care of, a paragraph for each step of the work; what two cautions say alike is
    said once.
    """
    steps: dict[str, dict[str, None]] = {}
    for caution in cautions:
        steps.setdefault(caution["step"], {})[caution["says"]] = None
    out: list[Line] = [[], [("TAKE CARE", "head")]] if steps else []
    for step, says in steps.items():
        first, *more = textwrap.wrap(f"{step}: {' '.join(says)}", width - 2)
        out += [
            [(step, "caution"), (first[len(step) :], "")],
            *([("  " + line, "")] for line in more),
        ]
    return out


def _taken(found: Inspection, width: int) -> list[Line]:
    """Lawful defaults and designs a line each; the trade's own defaults in one paragraph."""
    law: dict[tuple[str, str, bool, str], list[str]] = {}
    habit: dict[str, None] = {}
    for taken in found.assumptions:
        said, source = taken["source"], "practice"
        # a source that begins small is no section, but who has the habit
        rule = found.k.rules[taken["by"]] if taken["by"] else None
        lawful = rule and said and not said[0].islower() and rule.layer == "law"
        if lawful:
            source = said
        if lawful or taken["origin"] == "designed":
            key = f"{taken['is']} {taken['value']}", taken["origin"], taken["looked"], source
            law.setdefault(key, []).append(_short(found, taken["of"]))
        else:
            habit[f"{taken['is']} {taken['value']}"] = None
    if not law and not habit:
        return []
    out: list[Line] = [[], [("ASSUMED, because you didn't say", "head")]]
    for (said, origin, looked, source), things in law.items():
        how = "no marking found" if looked else origin
        out += _flush(f"{said} ({how}): {', '.join(things)}", source, width)
    if habit:
        text = "By trade practice: " + "; ".join(habit) + "."
        out += _item(text, width, on_hyphens=False)
    return out


def _as_said(found: Inspection, width: int) -> list[Line]:
    """What was said outright where an inspector measures."""
    said = [f"{_short(found, one['of'])}: {one['is']} {one['value']}" for one in found.as_said]
    if not said:
        return []
    out: list[Line] = [[], [("AS YOU SAID, not measured", "head")]]
    return out + _item("; ".join(said) + ".", width, on_hyphens=False)


def _not_checked(found: Inspection, width: int) -> list[Line]:
    """What no rule of ours looks at: a report that is silent of it would seem to approve it."""
    if not found.not_checked:
        return []
    out: list[Line] = [[], [("NOT CHECKED, for want of rules", "head")]]
    for one in found.not_checked:
        source, says = one["source"], one["says"]
        cited = f" ({source})" if source and source not in says else ""
        out += _item(f"{says}{cited}", width)
    return out


# ---- lines ---------------------------------------------------------------------------------------


def _short(found: Inspection, thing: str) -> str:
    """What a person calls a thing."""
    from ..engine.front import short

    return short(found.thing(thing))


def _item(text: str, width: int, on_hyphens: bool = True) -> list[Line]:
    """One item of a list, its further lines under its first."""
    lines = textwrap.wrap(text, width - 2, break_on_hyphens=on_hyphens)
    return [[(("  " if i else "- ") + line, "")] for i, line in enumerate(lines)]


def _under(text: str, width: int, style: str = "", indent: str = "") -> list[Line]:
    """Lines under a finding."""
    lines = textwrap.wrap(text, width - 4, subsequent_indent=indent)
    return [[("    " + line, style)] for line in lines]


def _flush(text: str, source: str, width: int) -> list[Line]:
    body = textwrap.wrap(text, width - 2, break_on_hyphens=False) or [""]
    out: list[Line] = [[("- " if i == 0 else "  ", "label"), (t, "")] for i, t in enumerate(body)]
    last = len(body[-1]) + 2
    if not source:
        return out
    if last + 2 + len(source) <= width:
        out[-1].append((" " * (width - last - len(source)) + source, "source"))
    else:
        out.append([(" " * max(2, width - len(source)) + source, "source")])
    return out
