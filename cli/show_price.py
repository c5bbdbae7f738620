"""The price of a job for a terminal: lines, their arithmetic, what is missing, options beside."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from ..engine.front import (
    MONEY,
    SHARE,
    Bought,
    Charge,
    Ledger,
    MoneyItem,
    Opened,
    Price,
    TakeOff,
    WorkOption,
    money_said,
    number_text,
    percent,
)
from .layout import Line, wrap
from .show_parts import AID, amount, head, not_counted

CLOCK = (
    "Work is the clock of one licensed person and one helper together: both are paid for every"
    " minute. Minutes are common practice, without a source."
)
INVENTED = "THE PRICES ARE INVENTED: this is no price, only how one comes about."


def show_price(
    job: Opened,
    price: Price,
    options: list[WorkOption],
    off: TakeOff,
    buys: list[Bought],
    width: int = 80,
) -> list[Line]:
    """The price, from parts to the total, and what is in none of it."""
    out = head(job, width)
    if price.invented:
        out.append([(INVENTED, "fault")])
    out += [[], [(f"PARTS in {price.currency}", "label")]]
    for one, printed in price.parts:
        out.append(_at_the_right(f"  {amount(one)} {one.line.part}", money_said(printed), width))
    for name, why in price.missing:
        out += [[(line, "caution")] for line in wrap(f"  MISSING {name}: {why}", width)]
    out += [[], *price_rows(price, width), *_notes(price, width)]
    if price.least:
        out += not_counted(off, buys, width)
    out += option_rows(price, options, width)
    out.append([(AID, "source")])
    return out


def price_rows(price: Price, width: int) -> list[Line]:
    """From the parts together to the total, each with its arithmetic."""
    out: list[Line] = []
    for charge in price.cost:
        out += _charge(charge, width)
    out += _charge(price.price, width, "headline")
    for charge in price.after:
        out += _charge(charge, width)
    name = (
        "TOTAL" + ("" if price.tax_known else " before tax") + (" at least" if price.least else "")
    )
    out.append(_at_the_right(name, money_said(price.total), width, "head"))
    return out


def _charge(charge: Charge, width: int, style: str = "") -> list[Line]:
    name = charge.name + (" at least" if charge.least else "")
    out = [_at_the_right(name, money_said(charge.amount), width, style)]
    return out + [[("  " + line, "source")] for line in wrap(charge.worked, width - 2)]


def _at_the_right(text: str, number: str, width: int, style: str = "") -> Line:
    gap = max(width - len(text) - len(number), 2)
    return [(text, style), (" " * gap + number, style)]


def _notes(price: Price, width: int) -> list[Line]:
    out: list[Line] = []
    markup = price.markup
    if markup is not None:
        text = (
            f"Margin {percent(price.margin)} of the price is a markup of {percent(markup)} on cost."
        )
        out += [[(line, "source")] for line in wrap(text, width)]
    if not price.tax_known:
        text = "No tax is told: add use tax on parts, sales tax or no tax to the price file."
        out += [[(line, "caution")] for line in wrap(text, width)]
    if price.least:
        out.append([("This is the least it can be, and no offer.", "caution")])
    return out + [[(line, "source")] for line in wrap(CLOCK, width)]


def option_rows(price: Price, options: list[WorkOption], width: int) -> list[Line]:
    """The options, each with the difference of the two printed totals, or why it has none."""
    if not options:
        return []
    out: list[Line] = [[], [("OPTIONS", "label")]]
    for option in options:
        if option.stops or option.job.holds_back:
            out.append(_at_the_right(f"  {option.name}", "NOT OFFERED", width, "fault"))
            for stop in option.stops or [option.job.headline]:
                out += [[("    " + line, "")] for line in wrap(stop, width - 4)]
            continue
        if option.delta is None:
            out.append(_at_the_right(f"  {option.name}", "no difference can be told", width))
            out.append([("    one of the two totals is the least it can be", "source")])
        else:
            sign = "+" if option.delta > 0 else ""
            out.append(_at_the_right(f"  {option.name}", sign + money_said(option.delta), width))
            text = f"{money_said(option.price.total)} − {money_said(price.total)}"
            out.append([(f"    {text}", "source")])
        changes = "; ".join(option.changes) or "changes nothing"
        out += [[("    " + line, "")] for line in wrap(changes, width - 4)]
    return out


DEEP = 4  # steps down that a terminal shows
MANY = 12  # numbers of one sum that it shows


def show_why_price(job: Opened, price: Price, name: str, width: int = 80) -> list[Line]:
    """A number of a price, what it comes from, and that again, down to facts and prices."""
    out = head(job, width)
    if price.invented:
        out.append([(INVENTED, "fault")])
    out.append([])
    out += _tree(job, price, name, 0, width)
    return [*out, [(AID, "source")]]


def _tree(job: Opened, price: Price, name: str, step: int, width: int) -> list[Line]:
    """A number and what it comes from, so many steps down, of a long sum the first few."""
    item = price.book[name]
    out = _item(job, price, step, item, width)
    if step == DEEP:
        return out
    for below in item.below[:MANY]:
        out += _tree(job, price, below, step + 1, width)
    if len(item.below) > MANY:
        left = len(item.below) - MANY
        out.append([("  " * (step + 1) + f"and {left} more: --json has all", "source")])
    return out


def _item(job: Opened, price: Price, step: int, item: MoneyItem, width: int) -> list[Line]:
    """One number: what it is, how it comes, how much."""
    indent = "  " * step
    how = item_said(price.book, item)
    style = "headline" if not step else ""
    out = [_at_the_right(f"{indent}{item.text}", amount_said(item, price.currency), width, style)]
    lines = wrap(how, width - len(indent) - 2) if how else []
    out += [[(f"{indent}  {line}", "source")] for line in lines]
    rule = item.data.get("rule", "")
    if rule:
        section = job.knowledge.section(rule)
        said = f"{job.knowledge.rules[rule].said} [{section}]"
        out += [[(f"{indent}  {line}", "source")] for line in wrap(said, width - len(indent) - 2)]
    return out


def amount_said(item: MoneyItem, currency: str) -> str:
    """A number as people read it: money to the hundredth of a cent, a share in percent."""
    if item.unit == SHARE:
        return percent(item.value)
    exact = item.value * 10000
    number = number_text(Fraction(round(exact), 10000))
    if item.unit == MONEY:
        text = money_said(item.value)
        return text if (item.value * 100).denominator == 1 else f"{number} ({text})"
    unit = "" if item.unit in ("count", "each") else f" {item.unit}"
    return number + unit


def item_said(book: Ledger, item: MoneyItem) -> str:
    """How a number comes from those below it, in a line."""
    below = [book[name] for name in item.below]
    signs = {"sum": " + ", "product": " × ", "quotient": " ÷ "}
    if item.op in signs and len(below) <= MANY:
        return signs[item.op].join(one.text for one in below)
    said = {
        "sum": f"the sum of {len(below)}",
        "rest": "100 % − " + " ".join(one.text for one in below),
        "rounded": "to the cent, half away from zero",
        "larger": "the larger of " + " and ".join(one.text for one in below),
        "row": "the price file",
        "fact": "",
        "number": "",
    }
    if item.op == "packs":
        packs = " + ".join(f"{many} × pack of {size}" for size, many in item.data["packs"])
        return packs + (", by the share that is used" if item.data["used"] else "")
    return said[item.op]


def price_as_dict(job: Opened, price: Price, options: list[WorkOption]) -> dict[str, Any]:
    """The price for a program: money as exact text."""

    def one(charge: Charge) -> dict[str, Any]:
        return {
            "name": charge.name,
            "amount": money_said(charge.amount),
            "worked": charge.worked,
            "at least": charge.least,
        }

    return {
        "job": job.title,
        "headline": job.note.headline,
        "mended": bool(job.mends),
        "as built": job.headline,
        "currency": price.currency,
        "parts": [
            {"part": bought.line.part, "amount": money_said(cost)} for bought, cost in price.parts
        ],
        "missing": [{"what": name, "why": why} for name, why in price.missing],
        "cost": [one(charge) for charge in price.cost],
        "price": one(price.price),
        "after": [one(charge) for charge in price.after],
        "total": money_said(price.total),
        "at least": price.least,
        "before tax": not price.tax_known,
        "invented": price.invented,
        "options": [
            {
                "name": option.name,
                "total": money_said(option.price.total),
                "delta": None if option.delta is None or option.stops else money_said(option.delta),
                "offered": not (option.stops or option.job.holds_back),
                "stops": option.stops,
                "changes": option.changes,
            }
            for option in options
        ],
    }
