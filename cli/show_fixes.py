"""The ways out for a terminal: each fault with its alternatives side by side."""

from __future__ import annotations

import textwrap

from ..engine.front import Fix, Fixes
from .layout import Line, wrap
from .show_note import TAIL, asked_of, design_lines, labelled, that_fit

AID = "A design aid: it approves nothing. Local code and the inspector decide."
PROVEN = "Each was run whole: the fault is gone then, and nothing new fails."
NOTHING = "It takes more than two changes: plan it with whoever does the work."
LABEL = 8
NOT_RIGHT = "NOT RIGHT"


def show_fixes(fixes: Fixes, width: int = 80) -> list[Line]:
    """Everything that is wrong, with what can be done about it."""
    out = _labelled_title(fixes, width)
    out.append([(_headline(fixes), "head")])
    if fixes.fixes:
        out += labelled(f"{fixes.next}.", width, "NEXT: ", style="head")
    for number, fix in enumerate(fixes.fixes, 1):
        out += [[], *_fix(number, fix, width, len(fixes.design) > 1)]
    out.append([])
    if any(fix.ways for fix in fixes.fixes):
        said = PROVEN
        if len(fixes.fixes) > 1:
            said += _all_at_once(fixes)
        out += [[(line, "")] for line in wrap(said, width)]
    out += _what_it_comes_to(fixes, width)
    out.append([(AID, "source")])
    return out


def _what_it_comes_to(fixes: Fixes, width: int) -> list[Line]:
    """What is installed once the first ways are made, what nobody said, and what was assumed."""
    mended = any(fix.fault.mend for fix in fixes.fixes)
    out = design_lines(fixes.design, mended, width) if mended else []
    if fixes.questions:
        first, *others = fixes.questions
        more = f"; and {len(others)} more (whywire inspect)" if others else ""
        asked = f"{asked_of(first, len(fixes.design))}{more}"
        out += labelled(asked, width, f"{'STILL TO ASK':<{TAIL}}")
    if fixes.assumed:
        out += that_fit(fixes.assumed, width, f"{'WE ASSUMED':<{TAIL}}", 2, "inspect --assumed")
    return out


def _all_at_once(fixes: Fixes) -> str:
    """What comes of the first way of each fault, made together."""
    if not fixes.together:
        return " Not all of the first ones can be made at once."
    left = sum(not fix.ways for fix in fixes.fixes)
    if not left:
        return " The first of each, all made at once, leave nothing that fails."
    without = "the one without a way out" if left == 1 else f"the {left} without a way out"
    return f" The first of each, all made at once, leave nothing that fails but {without}."


def _labelled_title(fixes: Fixes, width: int) -> list[Line]:
    """What the job is called, and under which law it was run."""
    room = width - len(fixes.law) - 2
    if room < width // 2:
        lines = [(line, "headline") for line in wrap(fixes.title, width)]
        return [[line] for line in (*lines, *((part, "source") for part in wrap(fixes.law, width)))]
    *before, last = textwrap.wrap(fixes.title, room, break_on_hyphens=False) or [""]
    gap = " " * (width - len(last) - len(fixes.law))
    first: list[Line] = [[(line, "headline")] for line in before]
    return [*first, [(last, "headline"), (gap + fixes.law, "source")]]


def _headline(fixes: Fixes) -> str:
    """How many things are wrong, or that nothing is."""
    about = f" with {fixes.subject}" if fixes.subject else ""
    count = len(fixes.fixes)
    if count and fixes.headline != NOT_RIGHT:
        # nothing is wrong for sure: this is what helps if a look does not
        things = f"{count} thing{'s' if count > 1 else ''}"
        return f"{fixes.headline} a look settles {things}{about}; else this is to be done."
    if count:
        return f"{count} thing{'s' if count > 1 else ''} to fix{about}."
    if fixes.open:
        return f"Nothing is wrong{about} so far; whywire inspect says what is still missing."
    return f"Nothing to fix{about}."


def _fix(number: int, fix: Fix, width: int, several: bool) -> list[Line]:
    """One fault with its alternatives."""
    circuits = fix.fault.circuits
    says = fix.fault.says + (f" ({', '.join(circuits)})" if several else "")
    source = fix.fault.source
    lines = wrap(says, width - 3)
    out: list[Line] = [
        [(f"{number if place == 0 else '':<3}", "label"), (line, "fails")]
        for place, line in enumerate(lines)
    ]
    _flush_right(out, source, width)
    for place, way in enumerate(fix.ways):
        label = ("Look" if way.looks else "Fix") if place == 0 else "Or"
        out += _labelled(label, way.said, way.cost, width)
        if way.advises:
            out += _labelled("", "advice is not met then (whywire inspect says which)", "", width)
    # a fault that says itself what is to be done needs no more
    if not fix.ways and ". " not in fix.fault.says:
        out += _labelled("Next", NOTHING, "", width)
    for half in fix.not_alone:
        end = f"only with {half.only_with}" if half.only_with else half.then
        out += _labelled("Not", f"{half.words} alone ({end.rstrip('.')})", "", width)
    return out


def _labelled(label: str, text: str, right: str, width: int) -> list[Line]:
    """A line behind a label, with what stands at the right edge."""
    room = width - LABEL - 3
    out: list[Line] = [
        [(f"   {label if place == 0 else '':<{LABEL}}", "label"), (line, "")]
        for place, line in enumerate(wrap(text, room))
    ]
    _flush_right(out, right, width)
    return out


def _flush_right(lines: list[Line], text: str, width: int) -> None:
    """Put a text at the right edge of the last line, or of one more."""
    if not text:
        return
    used = sum(len(piece) for piece, _ in lines[-1])
    if used + 2 + len(text) > width:
        lines.append([])
        used = 0
    lines[-1].append((" " * (width - used - len(text)) + text, "source"))
