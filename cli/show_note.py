"""The note for a terminal: the headline, what to fix, what to look at, the design, and what else a
person must know; each of the rest on a page of its own.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator
from enum import IntEnum

from ..engine.front import DesignLine, JobFault, Note, Question, Walk, Way
from .layout import Line

AID = "A design aid: it approves nothing. Local code and the inspector decide."
LOOK, TAIL = 7, 15  # the widths of labels: before what to do, and before the last lines
LINES = 32  # of a note that has something to fix
MOST_FAULTS, MOST_CIRCUITS = 5, 6  # for which that is enough; each more has lines of its own
MOST_ALLOWED = 2  # of what is allowed, where a note is long
WIDE = 80  # columns from which so many lines are enough
LOOKS_FRAME = 2  # lines around what to look at: a blank one, and how many more there are
MOST_LINES = 3  # of a fault
MOST_BETTER = 2
UNIT, KEPT = re.compile(r"(\d) (°|%|AWG|[A-Za-z]{1,3}\b)"), "\0"
MOST_SAID = 12  # of what a person also said
MOST_NAMES = 4  # of circuits, beside a question
MOST_NAME = 24  # columns of the name of a circuit, before what it comes to


class Tight(IntEnum):
    """How short a note is that is long: each step is made beside those before it."""

    NOT = 0
    REST = 1  # what was assumed and what is not looked at, in a line each
    ADVICE = 2  # one piece of advice, in one line
    ASKED = 3  # what somebody else has to say, in one line
    DESIGN = 4  # what a circuit comes to without what can be spared
    GIVES = 5  # a question without what its answers give
    FREE = 6  # no line left free before what to look at and what it comes to


def show_note(note: Note, width: int = 80) -> list[Line]:
    """The whole note: where it is long, what is said at the side gives way, the last first."""
    room = LINES + MOST_LINES * max(len(note.faults) - MOST_FAULTS, 0)
    room += 2 * max(len(note.design) - MOST_CIRCUITS, 0)
    # counted at the usual width: what is said alike takes more lines of a narrower screen
    room = room * WIDE // min(width, WIDE)
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
    tail = _design(note, width, tight >= Tight.DESIGN)
    tail += _allowed(note, width, MOST_ALLOWED if tight >= Tight.ADVICE else 99)
    tail += _rest(note, width, 1 if tight >= Tight.REST else 2)
    tail += labelled(AID, width, style="source")
    if tight >= Tight.FREE and tail[0] == []:
        del tail[0]
    # what is to be fixed goes before what is to be looked at
    left = room - len(head) - len(tail) - len(asked) if note.faults or tight else LINES
    brief = tight >= Tight.GIVES
    looks = [*_looks(note, width, left, brief), *asked]
    free: list[Line] = [[]] if looks and tight < Tight.FREE else []
    return [*head, *free, *looks, *tail]


def _head(note: Note, width: int) -> list[Line]:
    """What was looked at, under which law, the one word, and what is next: beside it, if there is
    room.
    """
    room = width - len(note.law) - 2
    if len(note.law) > width // 2:
        first = [*labelled(note.title, width, style="headline"), *labelled(note.law, width)]
    else:
        *before, last = textwrap.wrap(
            note.title, room, break_on_hyphens=False, subsequent_indent="  "
        ) or [""]
        gap = " " * (width - len(last) - len(note.law))
        first = [[(line, "headline")] for line in before]
        first.append([(last, "headline"), (gap + note.law, "source")])
    for said in note.law_notes:
        first += labelled(said, width, style="source")
    apart = ": " if note.headline == "NOT RIGHT" else " "
    said = f"{note.headline}{apart if note.what else '.'}{note.what}"
    next_ = f"NEXT: {note.next}."
    if len(said) + 1 + len(next_) <= width:
        stands = labelled(f"{said} {next_}", width, style="head")
    else:
        stands = labelled(said, width, style="head")
        stands += labelled(f"{note.next}.", width, "NEXT: ", style="head")
    return [*first, *stands, *_also_said(note, width)]


def _also_said(note: Note, width: int) -> list[Line]:
    """What a person said that nothing here uses; and what was written shortly, as it was read."""
    out: list[Line] = []
    if note.also_said:
        said = "; ".join(note.also_said[:MOST_SAID])
        more = len(note.also_said) - MOST_SAID
        uses = "it" if len(note.also_said) == 1 else "them"
        said += f"; and {more} more" if more > 0 else ""
        out += labelled(f"You also said: {said}. Nothing here uses {uses}.", width)
    if note.read_as:
        out += that_fit([f"Read: {note.read_as[0]}", *note.read_as[1:]], width, "", 2, "--json")
    return out


def _fault(number: int, fault: JobFault, width: int, several: bool) -> list[Line]:
    """One thing to fix, its section once at the right, and what to do: of what has no room what to
    do goes first, as the way out says it.
    """
    where = _where(fault.circuits) if several else ""
    most = _most(width, MOST_LINES - min(len(fault.ways), 1))
    label = f"{number:<3}"
    for said in _shorter(fault.says) if fault.ways else [fault.says]:
        out = _flush(label, said + where, fault.source, width)
        if len(out) <= most:
            break
    for place, way in enumerate(fault.ways):
        lines = _way(f"   {'Fix' if place == 0 else 'Or':<5}", way, width)
        if place == 0 or len(out) + len(lines) <= _most(width, MOST_LINES):
            out += lines
    return out


def _most(width: int, lines: int) -> int:
    """So many lines at most, where a line is as long as they are counted for."""
    return lines if width >= WIDE else 99


def _shorter(says: str) -> Iterator[str]:
    """What is said, and the same without its last sentences, one after the other."""
    sentences = re.split(r"(?<=[a-z)][.:;]) (?=[A-Z])", says)
    for end in range(len(sentences), 0, -1):
        yield " ".join(sentences[:end])


def _way(label: str, way: Way, width: int) -> list[Line]:
    """One way out, with its numbers where they find room in a line."""
    # nobody buys by the circular mil
    said = way.words if "cmil" in way.numbers else way.said
    if len(labelled(said, width, label)) > 1 and width >= WIDE:
        said = way.words
    return labelled(said, width, label)


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
        out += labelled(says, width, f"{'BETTER' if place == 0 else '':<8}")
    if len(note.better) > most:
        out += labelled(f"and {len(note.better) - most} more (--all)", width, " " * 8)
    return out


def _looks(note: Note, width: int, room: int, brief: bool) -> list[Line]:
    """What to look at, each once, and what the answers give, unless it has to be *brief*; one at
    least, and as many more as find room.
    """
    out: list[Line] = []
    for place, dispute in enumerate(note.disputes):
        out += labelled(dispute, width, f"{'Which' if place == 0 else '':<{LOOK}}")
    shown = 0
    for number, question in enumerate(note.questions, 1):
        label = f"{'Look' if number == 1 else '':<{LOOK}}"
        lines = labelled(asked_of(question, len(note.design)), width, f"{label}{number} ")
        if question.gives and not brief:
            lines += labelled("; ".join(question.gives) + ".", width, " " * (LOOK + 2))
        if shown and len(out) + len(lines) + LOOKS_FRAME > room:
            break
        out += lines
        shown += 1
    more = note.more_questions + len(note.questions) - shown
    if more:
        _add_more(out, f"and {more} more (--all)", width, " " * (LOOK + 2))
    return out


def _add_more(out: list[Line], said: str, width: int, label: str) -> None:
    """How many more there are, behind the last line or on one of its own."""
    used = sum(len(piece) for piece, _ in out[-1])
    if used + 2 + len(said) <= width:
        out[-1].append((" " * (width - used - len(said)) + said, "source"))
    else:
        out += labelled(said, width, label)


def _referred(note: Note, width: int, most: int) -> list[Line]:
    """What somebody else has to be asked: so many things of it at most."""
    out: list[Line] = []
    for place, (says, source) in enumerate(note.referred[:most]):
        label = f"{'Ask' if place == 0 else '':<{LOOK}}"
        out += _flush(label, says.removeprefix("Ask "), source, width)
    if len(note.referred) > most:
        out += labelled(f"and {len(note.referred) - most} more (--all)", width, " " * LOOK)
    return out


def asked_of(question: Question, circuits: int) -> str:
    names = [name for name in question.names if name != "the job"]
    where = question.look
    if names and 1 < circuits != len(names):
        where = (
            f"{', '.join(names) if len(names) <= MOST_NAMES else f'{len(names)} circuits'}: {where}"
        )
    return f"{question.ask} ({where})"


def _design(note: Note, width: int, brief: bool) -> list[Line]:
    """A line for each circuit, with what is to be fixed as it is fixed; where something else is not
    looked at, with how it stands. *brief* leaves out what can be spared.
    """
    out = design_lines(note.design, note.mended, width, brief)
    left = [str(number) for number, fault in enumerate(note.faults, 1) if not fault.mend]
    if out and note.mended and left:
        _add_more(out, f"Still wrong then: {', '.join(left)}.", width, "")
    if note.right_then:
        usual = f", if the work is done the usual way (--walk: {_count(note.workmanship)})"
        out += labelled(f"It is RIGHT then{usual if note.workmanship else ''}.", width)
    return [[], *out] if out else []


def design_lines(
    design: list[DesignLine], mended: bool, width: int, brief: bool = False
) -> list[Line]:
    """What each circuit comes to, as it is told or once it is fixed."""
    label = "FIXED" if mended else "JOB"
    names = min(max((len(line.name) for line in design), default=0), MOST_NAME)
    out: list[Line] = []
    for place, line in enumerate(design):
        head = f"{label if place == 0 else '':<7}{line.name:<{names}}  "
        pieces = [*([line.word] if line.word else []), *line.pieces]
        pieces += [] if brief else line.done
        said = " · ".join(pieces)
        # a narrow screen has no room for anything: there a line goes on below, and loses nothing
        if brief or len(head) + len(said) > width >= WIDE:
            said = " · ".join(piece for piece in pieces if piece not in line.spare)
        out += labelled(said, width, head)
    return out


def _allowed(note: Note, width: int, most: int) -> list[Line]:
    """What could hurt and stands by an exception, each with its section; so much of it at most."""
    out: list[Line] = []
    for place, one in enumerate(note.allowed[:most]):
        says = one.says + (_where(one.circuits) if len(note.design) > 1 else "")
        out += _flush(f"{'ALLOWED' if place == 0 else '':<{TAIL}}", says, one.source, width)
    if len(note.allowed) > most:
        out += labelled(f"and {len(note.allowed) - most} more (--all)", width, " " * TAIL)
    return out


def _count(things: int) -> str:
    return f"{things} thing{'' if things == 1 else 's'}"


def _things(count: int) -> str:
    return f"{_count(count)} to look at"


def _rest(note: Note, width: int, most: int = 2) -> list[Line]:
    """What nobody has seen, what was assumed, what is not looked at, what to take care of; each in
    so many lines at most.
    """
    out: list[Line] = []
    if note.workmanship and not note.right_then and "--walk" not in note.next:
        said = f"taken as done the usual way: {_things(note.workmanship)} (--walk)"
        out += labelled(said, width, f"{'UNSEEN':<{TAIL}}")
    if note.assumed:
        out += that_fit(note.assumed, width, f"{'WE ASSUMED':<{TAIL}}", most, "--assumed")
    if note.file_assumed:
        out += that_fit(note.file_assumed, width, f"{'FILE ASSUMED':<{TAIL}}", most, "--assumed")
    if note.as_said:
        as_said = ["not measured: " + note.as_said[0], *note.as_said[1:]]
        out += that_fit(as_said, width, f"{'AS YOU SAID':<{TAIL}}", most, "--all")
    if note.not_looked_at:
        lacks = note.not_looked_at
        out += that_fit(lacks, width, f"{'NOT LOOKED AT':<{TAIL}}", most, "--all")
    for says in note.care[:1]:
        more = f" ({len(note.care) - 1} more: --care)" if len(note.care) > 1 else ""
        # nobody is warned by half a sentence
        out += labelled(says + more, width, f"{'CARE':<{TAIL}}")
    return out


# ---- pages of their own --------------------------------------------------------------------------


def show_left_out(note: Note, width: int = 80) -> list[Line]:
    """All of what a note may have no room for, whole, as the note says it."""
    several = len(note.design) > 1
    out: list[Line] = _better(note, width, len(note.better))
    for number, question in enumerate([*note.questions, *note.further_questions], 1):
        label = f"{'Look' if number == 1 else '':<{LOOK}}"
        out += labelled(asked_of(question, len(note.design)), width, f"{label}{number} ")
        if question.gives:
            out += labelled("; ".join(question.gives) + ".", width, " " * (LOOK + 2))
    out += _referred(note, width, len(note.referred))
    out += _allowed(note, width, len(note.allowed))
    out += _listed("READ", note.read_as, width)
    out += _listed("YOU ALSO SAID", note.also_said, width)
    out += _listed("AS YOU SAID", note.as_said, width)
    out += _listed("NOT LOOKED AT", note.not_looked_at, width)
    for number, fault in enumerate(note.faults, 1):
        where = _where(fault.circuits) if several else ""
        for place, way in enumerate(fault.ways):
            out += labelled(way.said + where, width, f"{'Or' if place else 'Fix'} {number}  ")
    return [[], [("THE NOTE, WITH WHAT IT HAS NO ROOM FOR", "head")], *out] if out else []


def _listed(label: str, items: list[str], width: int) -> list[Line]:
    """Things beside a label, each on lines of its own."""
    out: list[Line] = []
    for place, says in enumerate(items):
        out += labelled(says, width, f"{label if place == 0 else '':<{TAIL}}")
    return out


def show_walk(note: Note, width: int = 80) -> list[Line]:
    """What is taken for done as usual, to carry through the building: place by place."""
    out: list[Line] = [[(note.title, "headline")]]
    if not note.walk:
        return [*out, [("Nothing is left to look at.", "")]]
    out.append([(f"UNSEEN, taken as done the usual way: {_things(note.workmanship)}.", "head")])
    for place in note.walk:
        out += [[], *_place(place, width)]
    return out


def _place(place: Walk, width: int) -> Iterator[Line]:
    yield [(place.place[:1].upper() + place.place[1:], "label")]
    for says, source in place.says:
        yield from _flush("[ ] ", says, source, width)


def show_care(cautions: list[str], note: Note, width: int = 80) -> list[Line]:
    """Every caution of the job, and those that may be of it, each with when it is."""
    out: list[Line] = [[(note.title, "headline")], [("CARE", "head")]]
    for says in cautions:
        out += labelled(says, width, "- ")
    if note.care_if:
        out += [[], [("IF THIS APPLIES", "head")]]
        for so, says in note.care_if:
            out += labelled(f"{says} ({so.rstrip('.')})", width, "- ")
    return out


def show_assumed(note: Note, width: int = 80) -> list[Line]:
    """What was filled in because nobody said."""
    out: list[Line] = [[(note.title, "headline")], [("WE ASSUMED", "head")]]
    for says in note.assumed or ["nothing"]:
        out += labelled(says, width, "- ")
    if note.file_assumed:
        out += [[], [("FILE ASSUMED", "head")]]
    for says in note.file_assumed:
        out += labelled(says, width, "- ")
    return out


# ---- lines ---------------------------------------------------------------------------------------


def labelled(text: str, width: int, label: str = "", style: str = "") -> list[Line]:
    """Text beside a label, all of it: a word that is cut may be a number, a part or a condition."""
    # a number stays with its unit
    text = UNIT.sub(lambda found: f"{found[1]}{KEPT}{found[2]}", text)
    body = textwrap.wrap(text, width - len(label), break_on_hyphens=False) or [""]
    return [
        [(label if place == 0 else " " * len(label), "label"), (line.replace(KEPT, " "), style)]
        for place, line in enumerate(body)
    ]


def that_fit(items: list[str], width: int, label: str, most: int, rest: str) -> list[Line]:
    """Several things beside a label, so many of them as find room in so many lines, each whole; and
    how many more there are, with where.
    """
    for count in range(len(items), -1, -1):
        left = len(items) - count
        more = f"; and {left} more ({rest})" if count else f"{_count(left)} ({rest})"
        said = "; ".join(items[:count]) + (more if left else "")
        out = labelled(said, width, label)
        if len(out) <= _most(width, most):
            break
    return out


def _flush(label: str, text: str, source: str, width: int) -> list[Line]:
    """Text beside a label, with its section once at the right: of its last line, or of one more."""
    out = labelled(text, width, label)
    last = sum(len(piece) for piece, _ in out[-1])
    section = source.split(",")[0] if len(source) > 28 else source
    if not section:
        return out
    if last + 2 + len(section) <= width:
        out[-1].append((" " * (width - last - len(section)) + section, "source"))
    else:
        out += [[(line.rjust(width), "source")] for line in textwrap.wrap(section, width)]
    return out
