"""Money: exact fractions inside, each printed line rounded once, half away from zero; totals add
what is printed. And the price of a job, line by line, each with its arithmetic.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from ..basics.units import number_text
from ..language.lowering import fact_of
from .buying import USED, Bought
from .ledger import MONEY, SHARE, Item, Ledger
from .price_file import Prices
from .takeoff import Take, TakeOff
from .tasks import Order

CREW = ("licensed", "helper")  # one of each works; both are paid for every minute of theirs


def cents(amount: Fraction) -> Fraction:
    """An amount to the cent, half away from zero.

    >>> cents(Fraction(335, 1000)), cents(Fraction(-125, 1000))
    (Fraction(17, 50), Fraction(-13, 100))
    """
    whole = math.floor(abs(amount) * 100 + Fraction(1, 2))
    return Fraction(whole if amount >= 0 else -whole, 100)


def said(amount: Fraction) -> str:
    """An amount as it is printed.

    >>> said(Fraction(244526, 100)), said(Fraction(-74768, 100))
    ('2,445.26', '−747.68')
    """
    whole = int(abs(cents(amount)) * 100)
    sign = "−" if amount < 0 and whole else ""
    return f"{sign}{whole // 100:,}.{whole % 100:02d}"


def percent(share: Fraction) -> str:
    """A share as percent, to the hundredth.

    >>> percent(Fraction(3, 10)), percent(Fraction(3, 7))
    ('30 %', '42.86 %')
    """
    return f"{number_text(Fraction(round(share * 10000), 100))} %"


@dataclass(frozen=True)
class Charge:
    """One printed line of a price."""

    name: str
    item: Item  # whose amount is whole cents
    worked: str
    least: bool = False

    @property
    def amount(self) -> Fraction:
        return self.item.value


@dataclass
class Price:
    """What a job costs and what is asked for it."""

    currency: str
    parts: list[tuple[Bought, Fraction]]  # with the printed cents of each
    missing: list[tuple[str, str]]  # what has no price, and why
    cost: list[Charge]  # parts, consumables, work, overhead
    price: Charge
    after: list[Charge]  # tax and fees, which carry no margin
    minutes: Fraction
    visits: int
    tax_known: bool
    least: bool
    invented: bool
    margin: Fraction
    book: Ledger  # where every number of it comes from

    @property
    def total(self) -> Fraction:
        """The sum of what is printed."""
        return self.price.amount + sum((charge.amount for charge in self.after), Fraction())

    @property
    def is_whole(self) -> bool:
        """Whether it is a price, and not the least of one."""
        return not self.least and self.tax_known

    @property
    def markup(self) -> Fraction | None:
        """What the margin is as a share of cost; None of no cost."""
        cost = sum((charge.amount for charge in self.cost), Fraction())
        return self.price.amount / cost - 1 if cost else None


def burdened(prices: Prices, whose: str, book: Ledger | None = None) -> Item:
    """What a billed hour of somebody costs: the wage with what is paid on it, over the share of the
    hours that is billed. Not rounded.
    """
    book = book or Ledger()
    hour = f"an hour of the {whose}"
    wage = _rate(book, prices, f"wage of the {whose}")
    of_wage = _rate(book, prices, "taxes and insurance")
    taxes = book.product(f"{hour}, taxes", MONEY, f"taxes and insurance of {hour}", wage, of_wage)
    others = [_rate(book, prices, name) for name in ("benefits", "vehicle and tools")]
    paid = book.sum(f"{hour}, paid", MONEY, f"{hour} that is paid", [wage, taxes, *others])
    share = _rate(book, prices, "billable share")
    return book.quotient(hour, MONEY, f"{hour} that is billed", paid, share)


def _rate(book: Ledger, prices: Prices, name: str) -> Item:
    return book.row(name, prices.rates[name], SHARE if name in prices.shares else MONEY)


def priced(off: TakeOff, buys: list[Bought], order: Order, prices: Prices) -> Price:
    """The price of a job, by a contractor's own prices."""
    book = Ledger()
    printed = [(one, _part(book, one)) for one in buys if one.cost is not None]
    missing = [(one.line.part, one.missing) for one in buys if one.cost is None]
    if not off.lines and not order.minutes:
        # what nothing is known of would else cost the way there
        missing.append(("the work itself", "nothing here says what it takes"))
    parts_least = off.least or bool(missing) or any(one.line.least for one in buys)
    sum_of_parts = book.sum("parts", MONEY, "parts", [item for _, item in printed])
    cost = [Charge("Parts", sum_of_parts, f"{len(printed)} lines as printed", parts_least)]
    consumables = _consumables(book, prices, sum_of_parts)
    share = prices.rates["consumables"]
    if share:
        worked = f"{percent(share)} × {said(sum_of_parts.value)}"
        cost.append(Charge("Consumables", consumables, worked, parts_least))
    work, overhead, minutes = _labor(book, order, prices)
    cost += [work, overhead]
    sum_of_cost = book.sum("cost", MONEY, "cost", [charge.item for charge in cost])
    least = any(charge.least for charge in cost)
    price = _price(book, sum_of_cost, prices, least)
    taxed = book.sum("parts and consumables", MONEY, "what is taxed", [sum_of_parts, consumables])
    after, tax_known = _after(book, price.item, taxed, prices, least, missing)
    book.sum("total", MONEY, "total", [price.item, *(charge.item for charge in after)])
    return Price(
        currency=prices.currency,
        parts=[(one, item.value) for one, item in printed],
        missing=missing,
        cost=cost,
        price=price,
        after=after,
        minutes=minutes,
        visits=order.visits,
        tax_known=tax_known,
        least=least or bool(missing),
        invented=prices.invented,
        margin=prices.rates["margin"],
        book=book,
    )


def _printed(book: Ledger, name: str, text: str, of: Item) -> Item:
    """An amount as it is printed."""
    return book.rounded(name, text, cents(of.value), of)


def _part(book: Ledger, one: Bought) -> Item:
    """What a part costs: of each thing so much, all of it in packs, those at their prices."""
    line, got = one.line, one.purchase
    assert got is not None
    amount = book.sum(
        f"of {line.part}",
        line.unit,
        line.part,
        [_take(book, take, line.unit) for take in line.takes],
    )
    rows = [
        book.row(line.part, pack.price, MONEY, pack.size)
        for pack, _ in got.packs
        if pack.price is not None
    ]
    used = line.charge == USED
    packs = book.packs(f"packs of {line.part}", f"{line.part} in packs", amount, rows, got, used)
    return _printed(book, line.part, line.part, packs)


def _take(book: Ledger, take: Take, unit: str) -> Item:
    """So much of a part for one thing."""
    text = f"{take.slot} of {take.called}"
    if take.each is None:
        name = fact_of(take.slot, "count")
        return book.fact(take.of, name, take.count, unit, text, take.rule)
    many, each = fact_of(take.slot, "pieces"), fact_of(take.slot, "each")
    pieces = book.fact(take.of, many, take.count, "count", f"pieces of {text}", take.rule)
    long = book.fact(take.of, each, take.each, "ft", f"each piece of {text}", take.rule)
    return book.product(f"{take.slot} of {take.of}", "ft", text, pieces, long)


def _consumables(book: Ledger, prices: Prices, parts: Item) -> Item:
    share = _rate(book, prices, "consumables")
    exact = book.product("consumables, exact", MONEY, "consumables, exact", share, parts)
    return _printed(book, "consumables", "consumables", exact)


def _labor(book: Ledger, order: Order, prices: Prices) -> tuple[Charge, Charge, Fraction]:
    """The hours of the crew at their burdened rate, and the overhead they carry."""
    tasks = [
        book.fact(t.of, fact_of(t.rule, "minutes"), t.minutes, "min", t.in_words, t.rule)
        for t in order.tasks
        if not t.outside and t.minutes is not None
    ]
    at_work = book.sum("minutes at work", "min", "minutes at work", tasks)
    travel = book.row("travel", prices.rates["travel"], "min")
    visits = book.number("visits", Fraction(order.visits), "visits")
    on_the_way = book.product("minutes on the way", "min", "minutes on the way", visits, travel)
    minutes = book.sum("minutes", "min", "minutes", [at_work, on_the_way])
    sixty = book.number("minutes of an hour", Fraction(60), "minutes of an hour")
    hours = book.quotient("hours", "h", "hours", minutes, sixty)
    each = [burdened(prices, whose, book) for whose in CREW]
    rate = book.sum("an hour of both", MONEY, "an hour of both", each)
    said_visits = f"{order.visits} visit{'s' if order.visits > 1 else ''}"
    worked = (
        f"({_number(order.minutes)} min + {said_visits} × {_number(travel.value)} min)"
        f" = {_number(hours.value)} h × {_number(rate.value)} an hour of both"
    )
    exact = book.product("work, exact", MONEY, "work, exact", hours, rate)
    work = Charge("Work", _printed(book, "work", "work", exact), worked, order.least)
    over = _rate(book, prices, "overhead")
    people = book.number("people", Fraction(len(CREW)), "people")
    exact = book.product("overhead, exact", MONEY, "overhead, exact", hours, people, over)
    worked = f"{_number(hours.value)} h × {len(CREW)} people × {said(over.value)}"
    carried = Charge("Overhead", _printed(book, "overhead", "overhead", exact), worked, order.least)
    return work, carried, minutes.value


def _number(number: Fraction) -> str:
    return number_text(Fraction(round(number * 10000), 10000))


def _price(book: Ledger, cost: Item, prices: Prices, least: bool) -> Charge:
    """What is asked: cost over what the margin leaves of the price, or the minimum charge."""
    margin = _rate(book, prices, "margin")
    left = book.rest("what the margin leaves", "what the margin leaves of the price", margin)
    exact = book.quotient("price by cost, exact", MONEY, "price by cost, exact", cost, left)
    price = _printed(book, "price by cost", "price by cost", exact)
    worked = f"{said(cost.value)} ÷ (100 % − margin {percent(margin.value)})"
    if "minimum charge" in prices.rates:
        minimum = _rate(book, prices, "minimum charge")
        printed = _printed(book, "minimum charge", "minimum charge", minimum)
        if price.value < minimum.value:
            # a minimum makes no whole price of one that is not
            worked = f"minimum charge; by cost {said(price.value)}"
        price = book.larger("price", "price", price, printed)
    return Charge("Price", price, worked, least)


def _after(
    book: Ledger,
    price: Item,
    taxed: Item,
    prices: Prices,
    least: bool,
    missing: list[tuple[str, str]],
) -> tuple[list[Charge], bool]:
    """Tax and fees, without margin; and whether the tax is known."""
    out = []
    use, sales = prices.rates.get("use tax on parts"), prices.rates.get("sales tax")
    if use is not None:
        rate = _rate(book, prices, "use tax on parts")
        exact = book.product("use tax, exact", MONEY, "use tax, exact", rate, taxed)
        worked = f"{percent(use)} × {said(taxed.value)} of parts and consumables"
        out.append(Charge("Use tax", _printed(book, "use tax", "use tax", exact), worked, least))
    elif sales is not None:
        rate = _rate(book, prices, "sales tax")
        exact = book.product("sales tax, exact", MONEY, "sales tax, exact", rate, price)
        worked = f"{percent(sales)} × {said(price.value)}"
        printed = _printed(book, "sales tax", "sales tax", exact)
        out.append(Charge("Sales tax", printed, worked, least))
    known = use is not None or sales is not None or "no tax" in prices.told
    if "permit" in prices.rates:
        fee = _printed(book, "permit", "permit", _rate(book, prices, "permit"))
        out.append(Charge("Permit", fee, "passed on as it is"))
    else:
        missing.append(("permit", "no price in the file; write 0 where none is wanted"))
    return out, known
