"""The sheets of a job, as plain data: for a helper, an inspector, the office or a customer.

All are cut from one run. None hides how the job stands.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from ..answering.findings import Finding
from ..answering.standing import RIGHT
from ..basics.units import number_text
from ..drawing.pictures import shown_in_words as in_words
from ..language.rules import Rule
from ..proving.leaves import facts_under
from ..proving.wording import short, show, unit_shown
from .beforehand import said_beforehand
from .buying import Bought
from .cutting import said_lengths
from .handover import HANDED, LEFT_OUT, Sayings, answer_to
from .money import Price, percent, said
from .opening import Opened
from .pictured import pictures_of
from .price_file import Prices
from .takeoff import TakeOff
from .tasks import STAGES, Order, Task, in_short

if TYPE_CHECKING:
    from .conditions import Conditions
    from .options import Option

HELPER, INSPECTOR, OFFICE, CUSTOMER, HANDOVER = AUDIENCES = (
    "helper",
    "inspector",
    "office",
    "customer",
    "handover",  # to the customer, when it is done
)
SEEN = "seen"  # the table of when a requirement can be seen
LOOK = "look"
QUESTIONS = 4
MOST_FACTS = 4  # told, that a requirement shows an inspector
BEFOREHAND_SAID = "Said beforehand, no part of the price"
# what of the head of a job stands on whose sheet; what is noted for the shop goes to nobody else
ON_SITE = ("customer", "address", "visits", "access")
BETWEEN = ("customer", "address", "contractor", "license", "call", "visits", "dates")
HEAD_FOR = {
    HELPER: (*ON_SITE, "notes"),
    INSPECTOR: ("customer", "address", "contractor", "license", "call"),
    OFFICE: (*BETWEEN, "access", "notes"),
    CUSTOMER: BETWEEN,
    HANDOVER: BETWEEN,
}
NOTHING_READ = "No reading is kept: nothing here says that it was tested."
AID = "A design aid: it approves nothing. Local code and the inspector decide."
NO_SOURCE = "Lengths left for making up, waste, packs and minutes are common practice, no source."


@dataclass
class Row:
    """One line of a sheet, what stands at its right, and what stands under it."""

    text: str
    right: str = ""
    under: list[str] = field(default_factory=list)
    strong: bool = False


@dataclass
class Section:
    """A part of a sheet."""

    title: str
    rows: list[Row]
    pictures: list[dict[str, Any]] = field(default_factory=list)


@dataclass
class Sheet:
    """One sheet: whoever it is for sees first how the job stands."""

    title: str
    law: str
    audience: str
    headline: str
    standing: list[str]
    draft: bool
    sections: list[Section]
    ends: list[str]
    head: list[tuple[str, str]] = field(default_factory=list)  # for whom, where, by whom

    def as_dict(self) -> dict[str, Any]:
        """The sheet for a program."""
        return {
            "title": self.title,
            "law": self.law,
            "for": self.audience,
            "head": [list(each) for each in self.head],
            "headline": self.headline,
            "standing": self.standing,
            "draft": self.draft,
            "sections": [
                {
                    "title": section.title,
                    "rows": [
                        {"text": row.text, "right": row.right, "under": row.under}
                        for row in section.rows
                    ],
                    **(
                        {"pictures": [in_words(one) for one in section.pictures]}
                        if section.pictures
                        else {}
                    ),
                }
                for section in self.sections
            ],
            "ends": self.ends,
        }


@dataclass
class Material:
    """What sheets are cut from."""

    job: Opened
    off: TakeOff
    buys: list[Bought]
    order: Order
    price: Price | None = None
    prices: Prices | None = None
    options: list[Option] = field(default_factory=list)
    conditions: Conditions | None = None
    day: datetime.date | None = None


def holds_back(material: Material, audience: str) -> str:
    """Why a sheet is not to go out as it is; "" where nothing keeps it."""
    job, price = material.job, material.price
    if audience == HANDOVER and job.note.headline != RIGHT:
        # what is handed over is there: no mend of a plan makes it right
        return f"the job as it is told is {job.note.headline}"
    if job.holds_back:
        return f"the job is {job.headline}"
    if audience == CUSTOMER and price is not None:
        if price.invented:
            return "its prices are invented"
        if price.least:
            return "its price is the least it can be, and no offer"
        if not price.tax_known:
            return "nobody told its tax"
    return ""


def sheet(material: Material, audience: str, draft: bool) -> Sheet:
    """The sheet for somebody."""
    job = material.job
    sections = {
        HELPER: _helper,
        INSPECTOR: _inspector,
        OFFICE: _office,
        CUSTOMER: _customer,
        HANDOVER: _handover,
    }[audience](material)
    drawn = Section("In pictures", [], pictures_of(job, material.off, audience))
    sections.insert(1, drawn)
    ends = [AID] if audience in (CUSTOMER, HANDOVER) else [NO_SOURCE, AID]
    return Sheet(
        title=job.title,
        law=job.law,
        audience=audience,
        headline=job.headline,
        standing=standing_of(job),
        draft=draft,
        sections=[section for section in sections if section.rows or section.pictures],
        ends=ends,
        head=head_for(job, audience),
    )


def head_for(job: Opened, audience: str) -> list[tuple[str, str]]:
    """The head of a job, as far as it stands on somebody's sheet: (what, a line)."""
    head = job.told.job.beside.head
    return [(key, line) for key in HEAD_FOR[audience] for line in head.get(key, ())]


def standing_of(job: Opened) -> list[str]:
    """How the job stands as it was told, and as it is to be built."""
    note = job.note
    said = f"{note.headline}: {note.what}" if note.what else f"{note.headline}."
    out = [f"As told: {said}" if job.mends else said]
    if job.mends:
        mended = "; ".join(f.ways[0].words for f in note.faults if f.mend and f.ways)
        out.append(f"This sheet is of the job as mended: {mended}. It is {job.headline} then.")
    if job.measured_before:
        out.append(f"Measure again on what is bought: {'; '.join(job.measured_before)}.")
    return [line.strip() for line in out]


# ---- pieces that several sheets have


def feet(number: Fraction) -> str:
    return number_text(Fraction(round(number * 100), 100))


def _parts(material: Material) -> list[Row]:
    """The list for the truck."""
    return [*(Row(_so_many(one), _packs(one)) for one in material.buys), *_not_counted(material)]


def _not_counted(material: Material) -> list[Row]:
    """What is on no line: of which nobody can tell, and what no rule takes off."""
    out: list[Row] = []
    # by what is to be found out, each once, with what waits for it
    waiting: dict[str, dict[str, list[str]]] = {}
    for unsure in material.off.unsure:
        why = unsure.waits[0].ask if unsure.waits else unsure.says
        whose = waiting.setdefault(why, {}).setdefault(unsure.what, [])
        if unsure.called not in whose:
            whose.append(unsure.called)
    for why, parts in waiting.items():
        out.append(
            Row(f"?  {why}", "", [f"{part} ({', '.join(whose)})" for part, whose in parts.items()])
        )
    return [*out, *(Row(f"by hand  {one}") for one in material.off.by_hand)]


def _so_many(one: Bought) -> str:
    """How many of a part, or how many feet of it."""
    more = ", or more" if one.line.least else ""
    between = " ft of" if one.line.unit == "ft" else " ×"
    return f"{feet(one.line.amount)}{between} {one.line.part}{more}"


def _packs(one: Bought) -> str:
    if one.purchase is None or one.purchase.too_long is not None:
        return one.missing
    if one.line.use == "each":
        return ""
    return said_lengths(one.purchase.packs)


def cautions_at(job: Opened, task: Task) -> list[str]:
    """What to take care of at a task: the cautions of its moment, on what it is about."""
    if not task.moment:
        return []
    return [
        str(caution["says"])
        for caution in job.cautions
        if caution["at"] == task.moment
        and any(_near(of, one) for of in caution["on"] for one in (task.of, *task.members))
    ]


def _near(one: str, other: str) -> bool:
    """Whether two things are parts of one circuit, or one is the job."""
    return "job" in (one, other) or one.split(".")[:2] == other.split(".")[:2]


def _task_row(task: Task, reasons: bool) -> Row:
    hold = "STOP: " if task.hold else ""
    perhaps = " (perhaps)" if task.perhaps else ""
    minutes = (
        "" if task.outside else "? min, " if task.minutes is None else f"{feet(task.minutes)} min, "
    )
    under = [
        f"Why after {before.number}? {in_short(each[:1], before.number)}"
        for before, each in task.after
    ]
    text = f"{task.number}. {hold}{task.in_words}{perhaps}"
    return Row(text, minutes + task.by, under if reasons else [], task.hold)


# ---- helper


def _helper(material: Material) -> list[Section]:
    """Parts, order with the why of each arrow, cautions, four questions."""
    cared: set[str] = set()
    tasks = []
    for task in material.order.tasks:
        row = _task_row(task, True)
        for caution in cautions_at(material.job, task):
            if caution not in cared:
                cared.add(caution)
                row.under.append(f"CAREFUL: {caution}")
        tasks.append(row)
    asked, answers = _questions(material)
    return [
        Section("On the truck", _parts(material)),
        Section("In this order", tasks),
        Section(
            "Four questions before lunch" if len(asked) == QUESTIONS else "Before lunch", asked
        ),
        Section("Answers, for whoever asks", answers),
    ]


def _questions(material: Material) -> tuple[list[Row], list[Row]]:
    """Questions from this very job, and what its rules answer."""
    asked: dict[str, tuple[str, str]] = {}
    for line in material.off.lines:
        for take in line.takes:
            if take.asks and take.asks not in asked:
                packs = next(_packs(one) for one in material.buys if one.line is line)
                worked = f"{take.part}: {take.worked}" + (f", {packs}" if packs else "")
                asked[take.asks] = take.called, f"{worked}. {take.says} [{take.source}]"
    for task in material.order.tasks:
        if len(asked) >= QUESTIONS:
            break
        if task.after and not task.perhaps:
            before, reasons = task.after[0]
            question = f"Why does {task.number} come after {before.number}?"
            asked[question] = task.called, in_short(reasons, before.number)
    chosen = list(asked.items())[:QUESTIONS]
    questions = [
        Row(f"{number}. {question} ({called})")
        for number, (question, (called, _)) in enumerate(chosen, 1)
    ]
    answers = [Row(f"{number}. {answer}") for number, (_, (_, answer)) in enumerate(chosen, 1)]
    return questions, answers


# ---- inspector


def _inspector(material: Material) -> list[Section]:
    """By stage what to look at: rule, section, where, and the facts that were told. No price."""
    job = material.job
    rules = job.knowledge.rules
    seen = {str(row["where"]): row for row in job.knowledge.tables[SEEN].rows}
    stages = [str(row["stage"]) for row in job.knowledge.tables[STAGES].rows]
    rows: dict[tuple[str, str], list[Row]] = {}
    grouped: dict[str, list[Finding]] = {}
    for finding in job.built.standing.findings:
        grouped.setdefault(finding.rule, []).append(finding)
    for name, findings in grouped.items():
        where = _seen(seen, rules[name])
        key = (str(where["stage"]), str(where["how"])) if where else ("", LOOK)
        rows.setdefault(key, []).append(_requirement(job, rules[name], findings))
    out = []
    for stage in [*stages, ""]:
        title = f"Look at: {stage}" if stage else "Look at: stage not said"
        out.append(Section(title, rows.get((stage, LOOK), [])))
    reckoned = [row for (_, how), each in rows.items() if how != LOOK for row in each]
    out.append(Section("Reckoned from what was told", reckoned))
    lacks = [Row(one) for one in job.note.not_looked_at]
    return [*out, Section("Nobody here looked at", lacks)]


def _seen(seen: dict[str, Any], rule: Rule) -> Any:
    """When a requirement can be seen: by its name, else by the longest path of its file."""
    if rule.id in seen:
        return seen[rule.id]
    path = rule.at[0].removesuffix(".yaml")
    while path:
        if path in seen:
            return seen[path]
        path = path.rpartition("/")[0]
    return None


def _requirement(job: Opened, rule: Rule, findings: list[Finding]) -> Row:
    """One requirement with all its places: the worst answer, and what was told for it."""
    worst = next(
        (
            f
            for answer in ("fails", "cannot tell", "advice")
            for f in findings
            if f.answer == answer
        ),
        findings[0],
    )
    places = ", ".join(dict.fromkeys(short(job.world.things[f.on]) for f in findings))
    mark = {"fails": "FAILS ", "cannot tell": "NOT TOLD ", "advice": "ADVICE "}.get(
        worst.answer, ""
    )
    under = [f"at {places}"]
    facts = _told(job, rule, worst)
    if facts:
        under.append("by: " + "; ".join(facts))
    under += [f"look: {need.look or need.ask}" for need in worst.needs[:1]]
    return Row(f"{mark}{rule.said}", worst.source, under, worst.answer == "fails")


def _told(job: Opened, rule: Rule, finding: Finding) -> list[str]:
    """What was told, or is mended so, that a requirement rests on."""
    thing = job.world.things[finding.on]
    out = []
    for of, fact in sorted(facts_under(job.world, rule, thing)):
        holder = job.world.things.get(of)
        if holder is None or fact not in holder[0].told:
            continue
        word = job.knowledge.words.kinds[holder[0].kind].words[fact]
        if word.type[0] not in ("ref", "many"):
            out.append(f"{fact} {show(holder[word.slot], unit_shown(holder, fact, word.unit))}")
    return list(dict.fromkeys(out))[:MOST_FACTS]


# ---- office and customer


def _office(material: Material) -> list[Section]:
    """The price with its reasons, what is missing, what waits for an answer."""
    price = material.price
    assert price is not None
    parts = [
        Row(
            _so_many(one),
            said(amount),
            [t.worked for t in one.line.takes],
        )
        for one, amount in price.parts
    ]
    charges = [*price.cost, price.price, *price.after]
    rows = [
        Row(c.name + (" at least" if c.least else ""), said(c.amount), [c.worked]) for c in charges
    ]
    if price.markup is not None:
        rows.append(Row(f"Margin {percent(price.margin)} is a markup of {percent(price.markup)}"))
    rows.append(Row(_total(price), said(price.total), strong=True))
    missing = [Row(f"{name}: {why}") for name, why in price.missing]
    return [
        Section(f"Parts in {price.currency}", parts),
        Section("No price for", missing),
        Section("Not counted", _not_counted(material)),
        Section("Price", rows),
        Section("Options", _options(material)),
        Section("Taken for granted", _assumed(material)),
        Section("If it is found", _conditions(material, OFFICE)),
        Section(BEFOREHAND_SAID, _beforehand(material, OFFICE)),
        Section("Not in the price", [Row(one) for one in _left_out(material)]),
        Section("Tasks", [_task_row(task, False) for task in material.order.tasks]),
    ]


def _total(price: Price) -> str:
    return (
        "Total"
        + ("" if price.tax_known else " before tax")
        + (" at least" if price.least else "")
        + (" (INVENTED PRICES)" if price.invented else "")
    )


def _options(material: Material) -> list[Row]:
    out = []
    for option in material.options:
        if option.stops or option.job.holds_back:
            out.append(Row(option.name, "not offered", option.stops or [option.job.headline]))
        elif option.delta is None:
            out.append(Row(option.name, "no difference can be told"))
        else:
            sign = "+" if option.delta > 0 else ""
            out.append(Row(option.name, sign + said(option.delta), option.changes))
    return out


def _assumed(material: Material) -> list[Row]:
    """What was taken for granted for the price."""
    return [Row(f"{what} ({', '.join(whose)})") for what, whose in material.off.assumed.items()]


def _beforehand(material: Material, audience: str) -> list[Row]:
    """Rates for what nobody can count yet; to the office also those that the price file lacks."""
    assert material.prices is not None
    return [
        Row(rate.in_words, f"{said(rate.amount)} {rate.by}")
        if rate.amount is not None
        else Row(rate.in_words, "no rate", [f'the price file has no line "{rate.name}"'])
        for rate in said_beforehand(material.job, material.prices)
        if rate.amount is not None or audience == OFFICE
    ]


def _conditions(material: Material, audience: str) -> list[Row]:
    """What may be found, with the difference of two whole runs; to the office also what changes
    nothing, and what is only asked.
    """
    found = material.conditions
    if found is None:
        return []
    rows: list[Row] = []
    same: dict[str, list[str]] = {}
    for one in found.priced:
        text = f"If {one.says} ({', '.join(one.called)})"
        under = list(one.parts) if audience == OFFICE else []
        if one.stops:
            rows.append(Row(text, "no price", [one.stops]))
        elif one.delta is None:
            rows.append(Row(text, f"{said(one.total or Fraction())} in all", under))
        elif one.delta:
            sign = "+" if one.delta > 0 else ""
            rows.append(Row(text, sign + said(one.delta), under))
        else:
            same.setdefault(one.ask if one.is_answer else "", []).append(one.says)
    if audience != OFFICE:
        return rows
    for ask, each in same.items():
        if ask:
            answers = ", ".join(says.removeprefix(answer_to(ask)) for says in each)
            rows.append(Row(f"Nothing changes if {answer_to(ask)}one of these: {answers}"))
        else:
            rows.append(Row(f"Nothing changes if {'; or if '.join(dict.fromkeys(each))}"))
    return [*rows, *(Row(f"{one.ask} ({', '.join(one.called)})", "asked") for one in found.asked)]


def _customer(material: Material) -> list[Section]:
    """The offer: what is done, what is put in, what it costs; no formula."""
    price, prices = material.price, material.prices
    assert price is not None and prices is not None
    design = [Row(f"{line.name}: {', '.join(line.pieces)}") for line in material.job.note.design]
    # each once, whatever it is done to: where everything runs is on the helper's sheet
    every = [task.says for task in material.order.tasks if not task.outside]
    done = [Row(says) for says in dict.fromkeys(every)]
    # the tax that the contractor pays on parts is no tax of the customer: it is in the price
    fees = [charge for charge in price.after if charge.name in ("Sales tax", "Permit")]
    inside = price.total - sum((fee.amount for fee in fees), Fraction())
    rows = [Row("Work and parts", said(inside)), *(Row(fee.name, said(fee.amount)) for fee in fees)]
    rows.append(Row(_total(price), f"{said(price.total)} {price.currency}", strong=True))
    holds = int(prices.rates.get("offer holds", Fraction(15)))
    when = [
        Row(f"This offer holds {holds} days" + (f" from {material.day}" if material.day else ""))
    ]
    return [
        Section("What you get", design),
        Section("What we do", done),
        Section("Not in the price", [Row(one) for one in _left_out(material)]),
        Section("Price", rows),
        Section(
            "Options",
            [Row(row.text, row.right) for row in _options(material) if row.right != "not offered"],
        ),
        Section("The price rests on", _assumed(material)),
        Section("If it is found", _conditions(material, CUSTOMER)),
        Section(BEFOREHAND_SAID, _beforehand(material, CUSTOMER)),
        Section("Nobody here looked at", [Row(one) for one in material.job.note.not_looked_at]),
        Section("How long", when),
    ]


def _left_out(material: Material) -> list[str]:
    """What is not done, and so is no part of an offer: by a table, and of what others do."""
    said = Sayings(material.job, LEFT_OUT, built=True).parts()
    rows = {str(row["row"]) for row in material.job.knowledge.tables[LEFT_OUT].rows}
    others = [
        task.in_words
        for task in material.order.tasks
        if task.by == "others" and task.rule not in rows
    ]
    return [*(line for lines in said.values() for line in lines), *others]


# ---- handed over


def _handover(material: Material) -> list[Section]:
    """What was put in, how to live with it, what was read, whom to call, what is not covered."""
    from .record import logged  # reads the laws' files besides: no other sheet waits for that

    job = material.job
    design = [Row(f"{line.name}: {', '.join(line.pieces)}") for line in job.note.design]
    handed = Sayings(job, HANDED).parts()
    said = [Section(part, [Row(text) for text in lines]) for part, lines in handed.items()]
    read = [
        Row(f"{one.of}: {', '.join(one.facts)}", "", list(one.verdicts), one.fails)
        for one in logged(job)
    ]
    head = job.told.job.beside.head
    call = [Row(line) for key in ("contractor", "license", "call") for line in head.get(key, ())]
    lacks = [*_left_out(material), *job.note.not_looked_at]
    return [
        Section("What was put in", design),
        *said,
        Section("What was read", read or [Row(NOTHING_READ)]),
        Section("Whom to call", call),
        Section("Not covered", [Row(one) for one in lacks]),
    ]
