"""The parts of a job for a terminal: the list for the truck, and why a part is on it."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from ..engine.front import Bought, Cut, Opened, Take, TakeOff, Unsure, number_text, said_packs
from .layout import Line, wrap

NO_SOURCE = "Lengths left for making up, waste and packs are common practice, without a source."
AID = "A design aid: it approves nothing. Local code and the inspector decide."
LABEL = 9


def head(job: Opened, width: int) -> list[Line]:
    """The title with the law, and how the job stands: no list hides what is wrong."""
    law = job.law
    gap = max(width - len(job.title) - len(law), 2)
    out: list[Line] = [[(job.title, "headline"), (" " * gap + law, "source")]]
    out += standing(job, width)
    return out


def standing(job: Opened, width: int) -> list[Line]:
    """How the job stands as it was told, and as it is to be built."""
    said = f"{job.note.headline}: {job.note.what}" if job.note.what else job.note.headline
    out: list[Line] = [
        [(line, "head" if not at else "")] for at, line in enumerate(wrap(said, width))
    ]
    if job.mends:
        mended = "; ".join(
            fault.ways[0].words for fault in job.note.faults if fault.mend and fault.ways
        )
        text = f"What follows is of the job as mended: {mended}. It is {job.headline} then."
        out += [[(line, "caution")] for line in wrap(text, width)]
        if job.measured_before:
            text = (
                f"Told of what is not bought now, measure again: {'; '.join(job.measured_before)}."
            )
            out += [[(line, "caution")] for line in wrap(text, width)]
    elif job.holds_back:
        text = "What follows is of the job as it was told: nobody should build that."
        out += [[(line, "fault")] for line in wrap(text, width)]
    return out


def feet(number: Fraction) -> str:
    """A number as people write it, to the hundredth."""
    return number_text(Fraction(round(number * 100), 100))


def amount(one: Bought) -> str:
    """How much of a part."""
    number = feet(one.line.amount) + (" ft" if one.line.unit == "ft" else "")
    return f"{number} or more" if one.line.least else number


def packs(one: Bought) -> str:
    """In which packs it is bought, and what comes out of them."""
    if one.purchase is None or (one.purchase.too_long is not None):
        return one.missing
    if one.line.least and one.line.pieces:
        return "which coil waits for the length"
    if one.line.use == "each" and all(pack.size == 1 for pack, _ in one.purchase.packs):
        return ""
    said = said_packs(one.purchase.packs)
    if one.line.use == "uncut":
        return f"{_coils(one)}: {_pieces(one)}"
    unit = "ft" if one.line.unit == "ft" else "pack"
    return f"{said} ({unit})"


def _coils(one: Bought) -> str:
    """The coils of a line, and what is cut off by the foot."""
    assert one.purchase is not None
    coils = [(pack, many) for pack, many in one.purchase.packs if pack.size != 1]
    loose = sum(many for pack, many in one.purchase.packs if pack.size == 1)
    out = [f"coil {said_packs(coils)}"] if coils else []
    if loose:
        out.append(f"{loose} ft by the foot")
    return ", ".join(out)


def _pieces(one: Bought) -> str:
    """The pieces that are cut, equal ones together."""
    count: dict[Fraction, int] = {}
    for piece in one.line.pieces:
        count[piece] = count.get(piece, 0) + 1
    said = [
        f"{many} × {feet(piece)} ft" if many > 1 else f"{feet(piece)} ft"
        for piece, many in count.items()
    ]
    return " + ".join(said)


def show_parts(job: Opened, off: TakeOff, buys: list[Bought], width: int = 80) -> list[Line]:
    """The list for the truck, then what nobody can tell, what goes by hand, what was assumed."""
    out = head(job, width)
    out += [[], [("PARTS", "label")]]
    out += part_rows(buys, width)
    out += not_counted(off, buys, width)
    if off.brought:
        out += [[], [("COMES ALONG", "label")]]
        out += [row for one in off.brought for row in _hanging(one, width, 2)]
    if off.assumed:
        said = "; ".join(f"{what} ({', '.join(whose)})" for what, whose in off.assumed.items())
        out += [[], *_labelled("WE ASSUMED", said, width)]
    if off.least:
        out.append([("This is the least it can be.", "caution")])
    out += [[(line, "source")] for line in wrap(NO_SOURCE, width)]
    out.append([(AID, "source")])
    return out


def not_counted(off: TakeOff, buys: list[Bought], width: int) -> list[Line]:
    """What is on no line: of which nobody can tell, and what no rule takes off."""
    out = not_sure([*off.unsure, *_open_amounts(buys)], width)
    if off.by_hand:
        out += [[], [("BY HAND", "label")]]
        out += [row for one in off.by_hand for row in _hanging(one, width, 2)]
    return out


def part_rows(buys: list[Bought], width: int) -> list[Line]:
    """A row a part: how much, what, in which packs."""
    wide = max((len(amount(one)) for one in buys), default=4)
    name = max((len(one.line.part) for one in buys), default=10)
    out: list[Line] = []
    for one in buys:
        lead = f"  {amount(one):>{wide}}  {one.line.part:<{name}}"
        beside = packs(one)
        if len(lead) + 2 + len(beside) <= width:
            out.append([(lead, ""), (f"  {beside}", "source")])
        else:
            out.append([(lead.rstrip(), "")])
            out += [
                [(" " * (wide + 6) + line, "source")] for line in wrap(beside, width - wide - 6)
            ]
    return out


def _open_amounts(buys: list[Bought]) -> list[Unsure]:
    """What waits for a fact to be more than the least."""
    return [
        Unsure(f"how many {take.slot}", take.of, take.called, "how many", take.rule, take.waits)
        for one in buys
        for take in one.line.takes
        if take.least and take.waits
    ]


def not_sure(unsure: list[Unsure], width: int) -> list[Line]:
    """What nobody can tell: by the question that would settle it, each once."""
    if not unsure:
        return []
    out: list[Line] = [[], [("CANNOT TELL", "label")]]
    by_question: dict[str, list[Unsure]] = {}
    for one in unsure:
        by_question.setdefault(one.waits[0].ask if one.waits else "", []).append(one)
    for question, ones in by_question.items():
        whats: dict[str, list[str]] = {}
        for one in ones:
            what = one.what if question else f"{one.what}: {one.says}"
            whats.setdefault(what, []).append(one.waits[0].of if question else one.called)
        if question:
            whose = dict.fromkeys(who for each in whats.values() for who in each)
            out += _hanging(f"{question} ({', '.join(whose)})", width, 2)
            out += _hanging(f"then: {', '.join(whats)}", width, 6)
        else:
            for what, called in whats.items():
                out += _hanging(f"{what} ({', '.join(dict.fromkeys(called))})", width, 2)
    return out


def _hanging(text: str, width: int, indent: int) -> list[Line]:
    lines = wrap(text, width - indent - 2)
    return [[(" " * (indent + (2 if at else 0)) + line, "")] for at, line in enumerate(lines)]


def _labelled(label: str, text: str, width: int) -> list[Line]:
    head_ = f"{label}  "
    lines = wrap(text, width, len(head_))
    lines[0] = lines[0].strip()
    return [[(head_ if not at else "", "label"), (line, "")] for at, line in enumerate(lines)]


# ---- why


def show_why_parts(
    job: Opened, hits: list[Bought], unsure: list[Unsure], width: int = 80
) -> list[Line]:
    """Why a part is on the list: whose it is, the arithmetic, the rule, the packs not taken."""
    out: list[Line] = standing(job, width) if job.mends or job.holds_back else []
    for one in hits:
        out += [*([[]] if out else []), *_why_part(job, one, width)]
    out += not_sure(unsure, width)
    return out


def _why_part(job: Opened, one: Bought, width: int) -> list[Line]:
    total = f"{amount(one)}" + (" of" if one.line.unit == "ft" else "")
    beside = packs(one)
    first = f"{total} {one.line.part}" + (f"; {beside}" if beside else "") + "."
    out: list[Line] = [[(line, "headline")] for line in wrap(first, width)]
    for take in one.line.takes:
        out += _row(take.called, f"{_worked(take)}", width)
        out += _row("", take.says + (f"  [{take.source}]" if take.source else ""), width)
        if take.sold_as:
            out += _row("", f"· {take.sold_as}", width)
        for said, source in job_facts(job, take):
            out += _row("", f"· {said}" + (f"  [{source}]" if source else ""), width)
        for ask in take.waits:
            out += _row("Waits", f"{ask.ask} ({ask.of})", width)
    purchase = one.purchase
    if purchase is None:
        return out
    for cut in purchase.cuts if len(purchase.cuts) > 1 or len(one.line.takes) > 1 else []:
        out += _row("Cut", _cut(cut, one), width)
    for other in purchase.rejected:
        cost = f" at {money(other.cost)}" if other.cost is not None else ""
        out += _row("Not", f"{other.packs}{cost}: {other.why}", width)
    if purchase.cuts and not one.line.least:
        rest = [cut.rest for cut in purchase.cuts if not cut.by_the_foot]
        if rest:
            out += _row("Rest", " + ".join(f"{feet(each)} ft" for each in rest), width)
    if purchase.step is not None:
        more, then = purchase.step
        out += _row(
            "Turns", f"{feet(more)} ft more in the fullest coil, and it costs {money(then)}", width
        )
    if not purchase.proven:
        out += _row("", "Not proven to be the cheapest cut: there are many pieces.", width)
    return out


def job_facts(job: Opened, take: Take) -> list[tuple[str, str]]:
    """How the numbers of a formula come about, one step down."""
    from ..engine.front import FactRead, Taking, pieces_of_a_line

    taking = Taking(job)
    rule = job.knowledge.rules[take.rule]
    thing = job.world.things[take.of]
    fill = next(fill for fill in rule.fills if fill.text == take.formula)
    out: dict[tuple[str, str], None] = {}
    for path in pieces_of_a_line(fill.expr):
        if isinstance(path, FactRead) and path.names and not path.member:
            holder = path.holder(thing, None)
            if isinstance(holder, list):
                for text, source in taking.working.fact(holder, path.names[-1]):
                    out.setdefault((text, source))
    return [item for item in out if item[0] not in take.worked]


def _worked(take: Take) -> str:
    if take.each is not None:
        many = f"{feet(take.count)} pieces, each " if take.count != 1 else "1 piece: "
        return many + take.worked
    return take.worked


def _cut(cut: Cut, one: Bought) -> str:
    """One coil, whose pieces come out of it, and the rest."""
    owners = [(piece, take.called) for take in one.line.takes for piece in take.pieces]
    said = []
    for piece in cut.pieces:
        at = next(i for i, (length, _) in enumerate(owners) if length == piece)
        said.append(f"{owners.pop(at)[1]} {feet(piece)} ft")
    what = f"{feet(cut.feet)} ft by the foot" if cut.by_the_foot else f"coil of {feet(cut.feet)} ft"
    return f"{what}: {', '.join(said)}, rest {feet(cut.rest)} ft"


def money(cost: Fraction) -> str:
    """Money for a terminal; what is no whole cent is rounded half away from zero."""
    from ..engine.front import money_said

    return money_said(cost)


def _row(label: str, text: str, width: int) -> list[Line]:
    lines = wrap(text, width - LABEL)
    head_ = f"{label:<{LABEL}}" if len(label) < LABEL else f"{label} "
    if len(label) >= LABEL:
        lines = wrap(text, width, len(head_))
        lines[0] = lines[0].strip()
    return [
        [(head_ if not at else " " * LABEL, "label"), (line, "")] for at, line in enumerate(lines)
    ]


# ---- plain data


def parts_as_dict(job: Opened, off: TakeOff, buys: list[Bought]) -> dict[str, Any]:
    """The parts for a program: numbers as exact text."""
    return {
        "job": job.title,
        "headline": job.note.headline,
        "mended": bool(job.mends),
        "as built": job.headline,
        "parts": [part_as_dict(one) for one in buys],
        "cannot tell": [
            {
                "part": one.what,
                "of": one.of,
                "says": one.says,
                "rule": one.rule,
                "asks": [{"of": ask.of, "fact": ask.fact, "ask": ask.ask} for ask in one.waits],
            }
            for one in off.unsure
        ],
        "by hand": off.by_hand,
        "comes along": off.brought,
        "assumed": off.assumed,
        "at least": off.least,
    }


def part_as_dict(one: Bought) -> dict[str, Any]:
    """One part for a program."""
    purchase = one.purchase
    return {
        "part": one.line.part,
        "unit": one.line.unit,
        "amount": str(one.line.amount),
        "at least": one.line.least,
        "pieces": [str(piece) for piece in one.line.pieces],
        "packs": [[str(pack.size), many] for pack, many in purchase.packs] if purchase else [],
        "cost": str(one.cost) if one.cost is not None else None,
        "missing": one.missing,
        "why": [
            {"of": take.of, "rule": take.rule, "source": take.source, "worked": take.worked}
            for take in one.line.takes
        ],
    }
