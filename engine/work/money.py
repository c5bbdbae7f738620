"""Money: exact fractions inside, each printed line rounded once, half away from zero; totals add
what is printed. And the price of a job, line by line, each with its arithmetic.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from ..basics.units import number_text
from .buying import Bought
from .price_file import Prices
from .takeoff import TakeOff
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
    amount: Fraction  # whole cents
    worked: str
    least: bool = False


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


def burdened(prices: Prices, whose: str) -> Fraction:
    """What a billed hour of somebody costs: the wage with what is paid on it, over the share of the
    hours that is billed. Not rounded.
    """
    wage = prices.rates[f"wage of the {whose}"]
    paid = wage * (1 + prices.rates["taxes and insurance"])
    paid += prices.rates["benefits"] + prices.rates["vehicle and tools"]
    return paid / prices.rates["billable share"]


def priced(off: TakeOff, buys: list[Bought], order: Order, prices: Prices) -> Price:
    """The price of a job, by a contractor's own prices."""
    parts = [(one, cents(one.cost)) for one in buys if one.cost is not None]
    missing = [(one.line.part, one.missing) for one in buys if one.cost is None]
    parts_least = off.least or bool(missing) or any(one.line.least for one in buys)
    sum_of_parts = sum((amount for _, amount in parts), Fraction())
    cost = [Charge("Parts", sum_of_parts, f"{len(parts)} lines as printed", parts_least)]
    share = prices.rates["consumables"]
    consumables = cents(sum_of_parts * share)
    if share:
        worked = f"{percent(share)} × {said(sum_of_parts)}"
        cost.append(Charge("Consumables", consumables, worked, parts_least))
    work, overhead, minutes = _labor(order, prices)
    cost += [work, overhead]
    sum_of_cost = sum((charge.amount for charge in cost), Fraction())
    least = any(charge.least for charge in cost)
    price = _price(sum_of_cost, prices, least)
    after, tax_known = _after(price.amount, sum_of_parts + consumables, prices, least, missing)
    return Price(
        currency=prices.currency,
        parts=parts,
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
    )


def _labor(order: Order, prices: Prices) -> tuple[Charge, Charge, Fraction]:
    """The hours of the crew at their burdened rate, and the overhead they carry."""
    travel = prices.rates["travel"]
    minutes = order.minutes + travel * order.visits
    hours = minutes / 60
    rate = sum((burdened(prices, whose) for whose in CREW), Fraction())
    visits = f"{order.visits} visit{'s' if order.visits > 1 else ''}"
    worked = (
        f"({_number(order.minutes)} min + {visits} × {_number(travel)} min) = {_number(hours)} h"
        f" × {_number(rate)} an hour of both"
    )
    work = Charge("Work", cents(hours * rate), worked, order.least)
    over = prices.rates["overhead"]
    carried = Charge(
        "Overhead",
        cents(hours * len(CREW) * over),
        f"{_number(hours)} h × {len(CREW)} people × {said(over)}",
        order.least,
    )
    return work, carried, minutes


def _number(number: Fraction) -> str:
    return number_text(Fraction(round(number * 10000), 10000))


def _price(cost: Fraction, prices: Prices, least: bool) -> Charge:
    """What is asked: cost over what the margin leaves of the price, or the minimum charge."""
    margin = prices.rates["margin"]
    price = cents(cost / (1 - margin))
    worked = f"{said(cost)} ÷ (100 % − margin {percent(margin)})"
    minimum = prices.rates.get("minimum charge", Fraction())
    if price < minimum:
        # a minimum makes no whole price of one that is not
        return Charge("Price", cents(minimum), f"minimum charge; by cost {said(price)}", least)
    return Charge("Price", price, worked, least)


def _after(
    price: Fraction,
    parts: Fraction,
    prices: Prices,
    least: bool,
    missing: list[tuple[str, str]],
) -> tuple[list[Charge], bool]:
    """Tax and fees, without margin; and whether the tax is known."""
    out = []
    use, sales = prices.rates.get("use tax on parts"), prices.rates.get("sales tax")
    if use is not None:
        worked = f"{percent(use)} × {said(parts)} of parts and consumables"
        out.append(Charge("Use tax", cents(use * parts), worked, least))
    elif sales is not None:
        out.append(
            Charge("Sales tax", cents(sales * price), f"{percent(sales)} × {said(price)}", least)
        )
    known = use is not None or sales is not None or "no tax" in prices.told
    permit = prices.rates.get("permit")
    if permit is None:
        missing.append(("permit", "no price in the file; write 0 where none is wanted"))
    else:
        out.append(Charge("Permit", cents(permit), "passed on as it is"))
    return out, known
