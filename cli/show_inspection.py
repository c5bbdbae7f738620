"""An inspection for a person: in force, the design, findings, cautions, what was taken, what was
not checked.
"""

from __future__ import annotations

import textwrap

from ..engine.answering.inspection import DESIGN_AID
from .layout import Line, row

TAG = {"law": "law", "maker": "maker", "local": "local", "practice": "practice"}


def show_inspection(found, width: int = 80, everything: bool = False) -> list[Line]:
    """The whole report. What passes is counted by thing unless *everything* is asked for."""
    out: list[Line] = [[(found.job.title or found.name, "headline")]]
    out += [[(line, "source")] for line in textwrap.wrap(in_force(found), width)]
    out += _design(found, width)
    groups = {
        a: [f for f in found.findings if f.answer == a]
        for a in ("fails", "cannot tell", "advice", "passes")
    }
    for answer, title in (("fails", "FAILS"), ("advice", "ADVICE")):
        if groups[answer]:
            out += [[], [(f"{title} ({len(groups[answer])})", "head")]]
            for f in groups[answer]:
                out += _finding(found, f, width)
    out += _undecided(found, groups["cannot tell"], width)
    if found.disputes:
        out += [
            [],
            [("IN DISPUTE: two answers for one fact; nothing is concluded from either", "head")],
        ]
        for d in found.disputes:
            out += row(
                "",
                f"{d['is']} of {d['of']}: "
                + "; ".join(f"{v['value']} ({v['by']})" for v in d["values"]),
                "",
                width,
                4,
            )
    out += _passes(found, groups["passes"], width, everything)
    out += _cautions(found.cautions, width)
    out += _taken(found, width)
    if found.not_checked:
        out += [[], [("NOT CHECKED, for want of rules", "head")]]
        for n in found.not_checked:
            out += [
                [(("  " if i else "- ") + line, "")]
                for i, line in enumerate(
                    textwrap.wrap(
                        n["says"]
                        + (
                            f" ({n['source']})"
                            if n["source"] and n["source"] not in n["says"]
                            else ""
                        ),
                        width - 2,
                    )
                )
            ]
    out += [[], *[[(line, "source")] for line in textwrap.wrap(DESIGN_AID, width)]]
    return out


def in_force(found) -> str:
    """What the answers rest on, in a few lines: the edition, the packs over it with their days, and
    one digest.
    """
    packs = found.in_force
    how = {
        "told": "as the job says",
        "asked for": "as asked for",
        "place": f"adopted in {found.force.adopted_in or 'its place'}",
    }[packs[0]["edition from"]]
    said = [f"In force: NEC {packs[0]['edition']} ({how})"]
    for p in packs[1:]:
        early, late = (
            p["from"] > (p["date"] or "9999"),
            p["until"] and p["until"] <= (p["date"] or ""),
        )
        days = (
            f"not before {p['from']}"
            if early
            else (
                f"no longer since {p['until']}"
                if late
                else ", ".join(
                    d
                    for d in (
                        f"from {p['from']}" if p["from"] else "",
                        f"until {p['until']}" if p["until"] else "",
                    )
                    if d
                )
            )
        )
        said.append(f"{p['title']}" + (f" ({days})" if days else ""))
    text = "; over it ".join([said[0], ", then ".join(said[1:])]) if len(said) > 1 else said[0]
    text += (
        f", permit of {packs[0]['date']}" if packs[0]["date"] else ""
    ) + f"; digest {packs[0]['digest']}."
    return " ".join(
        [
            text,
            *found.force.notes,
            "Chained by durable-rules and the plain chainer, which agree."
            if found.chainer == "both"
            else "Chained by the plain chainer alone.",
        ]
    )


def _design(found, width: int) -> list[Line]:
    things: dict[str, list] = {}
    for d in found.design:
        things.setdefault(d["of"], []).append(d)
    out: list[Line] = []
    for thing, ds in things.items():
        said = []
        for d in ds:
            mark = {"assumed": " (assumed)", "designed": " (designed)"}.get(d["origin"], "")
            said.append(f"{d['says']} {d['value']}{mark}")
        out += [
            [(("  " if i else "") + line, "label" if not i else "")]
            for i, line in enumerate(
                textwrap.wrap(
                    f"{_short(found, thing)}: " + "; ".join(said), width - 2, subsequent_indent="  "
                )
            )
        ]
    return [[], [("WHAT IT NEEDS", "head")], *out] if out else []


def _short(found, thing: str) -> str:
    from ..engine.proving.graph import short

    return short(found.thing(thing))


def _finding(found, f, width: int) -> list[Line]:
    tag = TAG[f.layer]
    head = f"{_short(found, f.on)}: {f.says}"
    out = row("- ", head, f"{f.source} · {tag}" if f.layer in ("law", "local") else tag, width, 3)
    for line in out:
        line[0] = (line[0][0][:2], line[0][1])
    out = _flush(head, f"{f.source} · {tag}" if f.layer in ("law", "local") else tag, width)
    r = found.k.rules[f.rule]
    from ..engine.answering.questions import Why
    from ..engine.language import expressions as ex

    why = Why(found.w, found.whatif)
    if isinstance(r.test, ex.Cmp) and f.answer in ("fails", "advice", "cannot tell"):
        out.append([("    " + why.check(r, found.thing(f.on)), f.answer)])
    for u in f.unless:
        text = (
            f"unless {u['exception']}: tell " + ", ".join(u["tell"])
            if "exception" in u
            else "unless " + " and ".join(u["if"])
        )
        out += [[("    " + line, "")] for line in textwrap.wrap(text, width - 4)]
    for n in f.needs[:3]:
        out += [
            [("    " + line, "")]
            for line in textwrap.wrap(f"tell {n.said}: {n.ask} ({n.look})", width - 4)
        ]
    if len(f.needs) > 3:
        out.append([(f"    and {len(f.needs) - 3} more to tell: --json", "")])
    from ..engine.answering.amended import told

    for e in f.through:
        out += [
            [("    " + line, "source")]
            for line in textwrap.wrap(f"by {e.cite}: {told(e)}", width - 4, subsequent_indent="  ")
        ]
    for i, e in f.withdrawn:
        out += [
            [("    " + line, "source")]
            for line in textwrap.wrap(
                f"{i} is withdrawn by {e.cite} ({e.pack.where}"
                + (f", last day {e.last_day})" if e.last_day else ")"),
                width - 4,
                subsequent_indent="  ",
            )
        ]
    if f.doubt:
        out += [
            [("    " + line, "source")] for line in textwrap.wrap("doubt: " + f.doubt, width - 4)
        ]
    return out


def _undecided(found, undecided: list, width: int) -> list[Line]:
    """What cannot be told, by the fact that the most of it needs."""
    if not undecided:
        return []
    refused = [f for f in undecided if not f.needs]
    waiting: dict[tuple, list] = {}
    asked: dict[tuple, object] = {}
    for f in undecided:
        for n in f.needs:
            waiting.setdefault((n.of, n.fact), []).append(f)
            asked[n.of, n.fact] = n
    out: list[Line] = [[], [(f"CANNOT TELL ({len(undecided)})", "head")]]
    for f in refused:
        out += _finding(found, f, width)
    left = {id(f) for f in undecided if f.needs}
    while left:  # the question that the most waits for first
        key = max(
            waiting, key=lambda k: (sum(id(f) in left for f in waiting[k]), -asked[k].effort, k)
        )
        mine = [f for f in waiting.pop(key) if id(f) in left]
        if not mine:
            continue
        left -= {id(f) for f in mine}
        n = asked[key]
        out += _flush(
            f"{n.ask} Tell {n.fact} of {_short(found, n.of)}. Look: {n.look}."
            + (f" {n.careful}" if n.careful else ""),
            "",
            width,
        )
        names = list(dict.fromkeys(f.rule for f in mine))
        text = f"needed by: {', '.join(names[:6])}" + (
            f" and {len(names) - 6} more" if len(names) > 6 else ""
        )
        out += [
            [("    " + line, "cannot tell")]
            for line in textwrap.wrap(text, width - 4, break_on_hyphens=False)
        ]
    return out


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


def _passes(found, passes: list, width: int, everything: bool) -> list[Line]:
    if not passes:
        return []
    out: list[Line] = [[], [(f"PASSES ({len(passes)})", "head")]]
    if everything:
        for f in passes:
            tail = (
                f" By exception: {f.exception}."
                if f.exception
                else f" Whatever the {f.whichever} is."
                if f.whichever
                else ""
            )
            out += _flush(
                f"{_short(found, f.on)}: {f.says}{tail}",
                f.source if f.layer in ("law", "local") else TAG[f.layer],
                width,
            )
        return out
    things: dict[str, list] = {}
    for f in passes:
        things.setdefault(f.on, []).append(f)
    for thing, fs in things.items():
        text = f"{_short(found, thing)}: " + ", ".join(
            f.rule
            + (f" (by {f.exception})" if f.exception else " (either way)" if f.whichever else "")
            for f in fs
        )
        out += [
            [(("- " if i == 0 else "  ") + line, "")]
            for i, line in enumerate(textwrap.wrap(text, width - 2, break_on_hyphens=False))
        ]
    return out


def _cautions(cautions: list, width: int) -> list[Line]:
    """What to take care of, a paragraph for each step of the work; what two cautions say alike is
    said once.
    """
    steps: dict[str, dict] = {}
    for c in cautions:
        steps.setdefault(c["step"], {})[c["says"]] = None
    out: list[Line] = [[], [("TAKE CARE", "head")]] if steps else []
    for step, says in steps.items():
        first, *more = textwrap.wrap(f"{step}: {' '.join(says)}", width - 2)
        out += [
            [(step, "caution"), (first[len(step) :], "")],
            *([("  " + line, "")] for line in more),
        ]
    return out


def _taken(found, width: int) -> list[Line]:
    """Lawful defaults and designs a line each; the trade's own defaults in one paragraph."""
    law, habit = {}, {}
    for t in found.assumptions:
        lawful = (
            t["source"] and not t["source"][0].islower() and found.k.rules[t["by"]].layer == "law"
        )
        (law if lawful or t["origin"] == "designed" else habit).setdefault(
            (t["is"], t["value"], t["origin"], t["source"] if lawful else "practice", t["looked"]),
            [],
        ).append(_short(found, t["of"]))
    if not law and not habit:
        return []
    out: list[Line] = [[], [("TAKEN, not told", "head")]]
    for (fact, value, origin, source, looked), things in law.items():
        out += _flush(
            f"{fact} {value} ({'no marking found' if looked else origin}): {', '.join(things)}",
            source,
            width,
        )
    if habit:
        said = [f"{fact} {value}" for fact, value, *_ in habit]
        out += [
            [(("- " if i == 0 else "  ") + line, "")]
            for i, line in enumerate(
                textwrap.wrap(
                    "By trade practice: " + "; ".join(dict.fromkeys(said)) + ".",
                    width - 2,
                    break_on_hyphens=False,
                )
            )
        ]
    return out
