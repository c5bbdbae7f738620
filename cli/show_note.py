"""The note for a terminal: the headline, what to fix, what to look at, the design, and what else a
person must know; each of the rest on a page of its own.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator
from enum import IntEnum

from ..engine.front import JobFault, Note, Question, Walk, Way
from .layout import Line

AID = "A design aid: it approves nothing. Local code and the inspector decide."
LOOK, TAIL = 7, 15  # the widths of labels: before what to do, and before the last lines
LINES = 32  # of a note that has something to fix
MOST_FAULTS, MOST_CIRCUITS = 5, 3  # for which that is enough; each more has lines of its own
LOOKS_FRAME = 2  # lines around what to look at: a blank one, and how many more there are
MOST_LINES = 3  # of a fault
MOST_BETTER = 2
UNIT, KEPT = re.compile(r"(\d) (°|%|AWG|[A-Za-z]{1,3}\b)"), "\0"
MOST_SAID = 12  # of what a person also said
MOST_NAMES = 4  # of circuits, beside a question


class Tight(IntEnum):
    """How short a note is that is long: each step is made beside those before it."""

    NOT = 0
    REST = 1  # what was assumed and what is not looked at, in a line each
    ADVICE = 2  # one piece of advice, in one line
    ASKED = 3  # what somebody else has to say, in one line
    DESIGN = 4  # a line a circuit


def show_note(note: Note, width: int = 80) -> list[Line]:
    """The whole note: where it is long, what is said at the side gives way, the last first."""
    room = LINES + MOST_LINES * max(len(note.faults) - MOST_FAULTS, 0)
    room += 2 * max(len(note.design) - MOST_CIRCUITS, 0)
    for tight in Tight:
        out = _laid_out(note, width, tight, room)
        if len(out) <= room:
            break
    return out


def _laid_out(note: Note, width: int, tight: Tight, room: int) -> list[Line]:
    """The note, with what is said at the side as short as *tight* says."""
    head = _head(note, width)
    if note.faults or note.better:
        head.append([])
    for number, fault in enumerate(note.faults, 1):
        head += _fault(number, fault, width, len(note.design) > 1)
    head += _better(note, width, 1 if tight >= Tight.ADVICE else MOST_BETTER)
    # what somebody else has to say follows what is looked at
    asked = _referred(note, width, 1 if tight >= Tight.ASKED else MOST_LINES)
    tail = _design(note, width, 1 if tight >= Tight.DESIGN else 3)
    tail += _rest(note, width, 1 if tight >= Tight.REST else 2)
    # what is to be fixed goes before what is to be looked at
    left = room - len(head) - len(tail) - len(asked) if note.faults or tight else LINES
    looks = [*_looks(note, width, left), *asked]
    return [*head, *([[], *looks] if looks else []), *tail]


def _head(note: Note, width: int) -> list[Line]:
    """What was looked at, under which law, and the one word."""
    room = width - len(note.law) - 2
    if len(note.law) > width // 2:
        first = [*_lines(note.title, width, style="headline"), *_lines(note.law, width)]
    else:
        title = textwrap.shorten(note.title, room, placeholder=" …")
        gap = " " * (width - len(title) - len(note.law))
        first = [[(title, "headline"), (gap + note.law, "source")]]
    for said in note.law_notes:
        first += _lines(said, width, style="source")
    apart = ": " if note.headline == "NOT RIGHT" else " "
    said = f"{note.headline}{apart if note.what else '.'}{note.what}"
    return [*first, *_lines(said, width, style="head"), *_also_said(note, width)]


def _also_said(note: Note, width: int) -> list[Line]:
    """What a person said that nothing here uses; and what was written shortly, as it was read."""
    out: list[Line] = []
    if note.also_said:
        said = "; ".join(note.also_said[:MOST_SAID])
        more = len(note.also_said) - MOST_SAID
        uses = "it" if len(note.also_said) == 1 else "them"
        said += f"; and {more} more" if more > 0 else ""
        out += _lines(f"You also said: {said}. Nothing here uses {uses}.", width)
    if note.read_as:
        out += _lines(f"Read: {'; '.join(note.read_as)}.", width, style="source", most=2)
    return out


def _fault(number: int, fault: JobFault, width: int, several: bool) -> list[Line]:
    """One thing to fix, its section once at the right, and what to do."""
    says = fault.says + (_where(fault.circuits) if several else "")
    out: list[Line] = _flush(
        f"{number:<3}", says, fault.source, width, MOST_LINES - min(len(fault.ways), 1)
    )
    for place, way in enumerate(fault.ways):
        label = f"   {'Fix' if place == 0 else 'Or':<5}"
        room, last = MOST_LINES - len(out), place == len(fault.ways) - 1
        if room:
            out += _way(label, way, width, room if last else 1)
    return out


def _way(label: str, way: Way, width: int, most: int) -> list[Line]:
    """One way out, with its numbers where they find room."""
    # nobody buys by the circular mil
    said = way.words if "cmil" in way.numbers else way.said
    if len(_lines(said, width, label)) > most:
        said = way.words
    return _lines(said, width, label, most=most)


def _where(circuits: list[str]) -> str:
    """Where a fault is, in brackets behind it."""
    *others, last = circuits
    if not others:
        return f" ({last})"
    return f" (circuits {', '.join(others)} and {last})"


def _better(note: Note, width: int, most: int) -> list[Line]:
    """Advice that is not met, so much of it at most."""
    out: list[Line] = []
    for place, advice in enumerate(note.better[:most]):
        says = advice.says + (_where(advice.circuits) if len(note.design) > 1 else "")
        out += _lines(says, width, f"{'BETTER' if place == 0 else '':<8}", most=most)
    if len(note.better) > most:
        out += _lines(f"and {len(note.better) - most} more (--all)", width, " " * 8)
    return out


def _looks(note: Note, width: int, room: int) -> list[Line]:
    """What to look at, each once, and what the answers give; one at least, and as many more as find
    room.
    """
    out: list[Line] = []
    for place, dispute in enumerate(note.disputes):
        out += _lines(dispute, width, f"{'Which' if place == 0 else '':<{LOOK}}", most=2)
    shown = 0
    for number, question in enumerate(note.questions, 1):
        label = f"{'Look' if number == 1 else '':<{LOOK}}"
        lines = _lines(_question(question, len(note.design)), width, f"{label}{number} ", most=2)
        if question.gives:
            lines += _lines("; ".join(question.gives) + ".", width, " " * (LOOK + 2), most=1)
        if shown and len(out) + len(lines) + LOOKS_FRAME > room:
            break
        out += lines
        shown += 1
    more = note.more_questions + len(note.questions) - shown
    if more:
        out += _lines(f"and {more} more (--all)", width, " " * (LOOK + 2))
    return out


def _referred(note: Note, width: int, most: int) -> list[Line]:
    """What somebody else has to be asked, each in so many lines at most."""
    out: list[Line] = []
    for place, (says, source) in enumerate(note.referred):
        label = f"{'Ask' if place == 0 else '':<{LOOK}}"
        out += _flush(label, says.removeprefix("Ask "), source, width, most)
    return out


def _question(question: Question, circuits: int) -> str:
    names = [name for name in question.names if name != "the job"]
    where = question.look
    if names and 1 < circuits != len(names):
        where = (
            f"{', '.join(names) if len(names) <= MOST_NAMES else f'{len(names)} circuits'}: {where}"
        )
    return f"{question.ask} ({where})"


def _design(note: Note, width: int, most: int) -> list[Line]:
    """A line for each circuit, with what is to be fixed as it is fixed."""
    label = "THEN" if note.mended else "IT IS"
    names = max((len(line.name) for line in note.design), default=0)
    out: list[Line] = []
    for place, line in enumerate(note.design):
        head = f"{label if place == 0 else '':<7}{line.name:<{min(names, 20)}}  "
        said = " · ".join(line.pieces)
        if len(head) + len(said) > width:
            said = " · ".join(piece for piece in line.pieces if piece not in line.spare)
        out += _lines(said, width, head, most=most)
    if note.right_then:
        usual = f", if the work is done the usual way (--walk: {_count(note.workmanship)})"
        out += _lines(f"It is RIGHT then{usual if note.workmanship else ''}.", width)
    return [[], *out] if out else []


def _count(things: int) -> str:
    return f"{things} thing{'' if things == 1 else 's'}"


def _things(count: int) -> str:
    return f"{_count(count)} to look at"


def _rest(note: Note, width: int, most: int = 2) -> list[Line]:
    """What was taken for granted, what is not looked at, what to take care of; each in so many
    lines at most.
    """
    out: list[Line] = []
    if note.workmanship and not note.right_then:
        said = f"the work is done the usual way: {_things(note.workmanship)} (--walk)"
        out += _lines(said, width, f"{'TAKEN':<{TAIL}}")
    if note.assumed:
        out += _lines("; ".join(note.assumed), width, f"{'ASSUMED':<{TAIL}}", most=most)
    if note.as_said:
        said = "not measured: " + "; ".join(note.as_said)
        out += _lines(said, width, f"{'AS YOU SAID':<{TAIL}}", most=most)
    if note.not_looked_at:
        out += _lines("; ".join(note.not_looked_at), width, f"{'NOT LOOKED AT':<{TAIL}}", most=most)
    for says in note.care[:1]:
        more = f" ({len(note.care) - 1} more: --care)" if len(note.care) > 1 else ""
        # nobody is warned by half a sentence
        out += _lines(says + more, width, f"{'CARE':<{TAIL}}")
    return [*out, *_lines(AID, width, style="source")]


# ---- pages of their own --------------------------------------------------------------------------


def show_walk(note: Note, width: int = 80) -> list[Line]:
    """What is taken for done as usual, to carry through the building: place by place."""
    out: list[Line] = [[(note.title, "headline")]]
    if not note.walk:
        return [*out, [("Nothing is left to look at.", "")]]
    out.append([(f"TAKEN as done the usual way: {_things(note.workmanship)}.", "head")])
    for place in note.walk:
        out += [[], *_place(place, width)]
    return out


def _place(place: Walk, width: int) -> Iterator[Line]:
    yield [(place.place[:1].upper() + place.place[1:], "label")]
    for says, source in place.says:
        yield from _flush("[ ] ", says, source, width, 3)


def show_care(cautions: list[str], note: Note, width: int = 80) -> list[Line]:
    """Every caution of the job, and those that may be of it, each with when it is."""
    out: list[Line] = [[(note.title, "headline")], [("CARE", "head")]]
    for says in cautions:
        out += _lines(says, width, "- ")
    if note.care_if:
        out += [[], [("IF THIS APPLIES", "head")]]
        for so, says in note.care_if:
            out += _lines(f"{says} ({so.rstrip('.')})", width, "- ")
    return out


def show_assumed(note: Note, width: int = 80) -> list[Line]:
    """What was filled in because nobody said."""
    out: list[Line] = [[(note.title, "headline")], [("ASSUMED", "head")]]
    for says in note.assumed or ["nothing"]:
        out += _lines(says, width, "- ")
    return out


# ---- lines ---------------------------------------------------------------------------------------


def _lines(text: str, width: int, label: str = "", style: str = "", most: int = 99) -> list[Line]:
    """Text beside a label, in so many lines at most."""
    # a number stays with its unit
    text = UNIT.sub(lambda found: f"{found[1]}{KEPT}{found[2]}", text)
    room = width - len(label)
    body = textwrap.wrap(text, room, break_on_hyphens=False) or [""]
    if len(body) > most:
        body = [
            *body[: most - 1],
            textwrap.shorten(
                " ".join(body[most - 1 :]), room, placeholder=" …", break_on_hyphens=False
            ),
        ]
    return [
        [(label if place == 0 else " " * len(label), "label"), (line.replace(KEPT, " "), style)]
        for place, line in enumerate(body)
    ]


def _flush(label: str, text: str, source: str, width: int, most: int) -> list[Line]:
    """Text beside a label, with its section once at the right: of its last line, or of one more."""
    out = _lines(text, width, label, most=most)
    last = sum(len(piece) for piece, _ in out[-1])
    section = source.split(",")[0] if len(source) > 28 else source
    if not section:
        return out
    if last + 2 + len(section) <= width:
        out[-1].append((" " * (width - last - len(section)) + section, "source"))
    elif len(out) < most:
        out.append([(" " * (width - len(section)) + section, "source")])
    else:
        # the section counts for more than the last words
        room = width - len(label) - len(section) - 2
        short = textwrap.shorten(out[-1][1][0], room, placeholder=" …")
        out[-1] = [out[-1][0], (short, "")]
        gap = width - sum(len(piece) for piece, _ in out[-1]) - len(section)
        out[-1].append((" " * gap + section, "source"))
    return out
