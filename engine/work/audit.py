"""A price checked by whoever did not make it: every item anew from what those below it claim, every
leaf against the job's own derivation (by the proof check), the price file and the order.
"""

from __future__ import annotations

import math
from collections import Counter
from fractions import Fraction
from typing import Any

from ..proving.graph import Explainer
from ..proving.proof import Proof
from .ledger import (
    FACT,
    LARGER,
    NUMBER,
    PACKS,
    PRODUCT,
    QUOTIENT,
    REST,
    ROUNDED,
    ROW,
    SUM,
    Item,
    Ledger,
)
from .money import Price
from .opening import Opened
from .price_file import Prices

CENTS = 100
CONSTANTS = {"minutes of an hour": 60, "people": 2}


def audit(job: Opened, price: Price, prices: Prices, visits: int) -> list[str]:
    """A sentence for everything in a price that does not follow; none where all of it does."""
    book = price.book
    graph = derivation(job, book)
    faults = list(Proof(job.knowledge).check(graph, job.world.job)) if graph["nodes"] else []
    nodes = {node["id"]: node for node in graph["nodes"]}
    for item in book.items.values():
        try:
            said = _wrong(item, book, nodes, prices, visits)
        except (LookupError, ValueError, ArithmeticError) as error:
            said = f"it cannot be worked out ({type(error).__name__}: {error})"
        if said:
            faults.append(f"{item.id}: {said}")
    if book["total"].value != price.total:
        faults.append("total: another is printed")
    return faults


def derivation(job: Opened, book: Ledger) -> dict[str, Any]:
    """The derivation of every fact that a price stands on, as one graph."""
    explainer = Explainer(job.world)
    for item in book.items.values():
        if item.op == FACT:
            thing = job.world.things[item.data["of"]]
            node = explainer.fact(thing, item.data["is"])
            explainer.g.root = explainer.g.root or node
    return explainer.g.as_dict()


def _wrong(item: Item, book: Ledger, nodes: dict[str, Any], prices: Prices, visits: int) -> str:
    """What is wrong with an item; "" where nothing is."""
    if item.op == FACT:
        there = nodes[item.id]["value"].split("..")[0]
        return "" if Fraction(there or 0) == item.value else f"the job says {there}"
    if item.op == ROW:
        return "" if _row(item, prices) == item.value else "the price file says something else"
    if item.op == NUMBER:
        name = item.id.partition(":")[2]
        wanted = visits if name == "visits" else CONSTANTS[name]
        return "" if item.value == wanted else f"it is {wanted}"
    below = [book[name] for name in item.below]
    if item.op == PACKS:
        return _packs(item, below, book)
    worth = _worth(item.op, [one.value for one in below])
    return "" if worth == item.value else f"it comes to {worth}"


def _row(item: Item, prices: Prices) -> Fraction | None:
    """What the price file says in a row."""
    name, pack = item.data["row"], item.data["pack"]
    if pack is None:
        return prices.rates.get(name)
    sizes = {one.size: one.price for one in prices.packs.get(name, [])}
    return sizes.get(Fraction(pack))


def _worth(op: str, below: list[Fraction]) -> Fraction:
    """What comes of some numbers."""
    if op == SUM:
        return sum(below, Fraction())
    if op == PRODUCT:
        return math.prod(below, start=Fraction(1))
    if op == QUOTIENT:
        return below[0] / below[1]
    if op == REST:
        return 1 - below[0]
    if op == LARGER:
        return max(below)
    if op == ROUNDED:
        # by whole numbers alone: twice the cents and one, halved downward
        over, under = abs(below[0]).numerator * 2 * CENTS, below[0].denominator
        whole = (over + under) // (2 * under)
        return Fraction(whole if below[0] >= 0 else -whole, CENTS)
    raise ValueError(op)


def _packs(item: Item, below: list[Item], book: Ledger) -> str:
    """What is wrong with the packs of a part: pieces that do not fit, too few, another cost."""
    amount, *rows = below
    price = {Fraction(row.data["pack"]): row.value for row in rows}
    packs = [(Fraction(size), many) for size, many in item.data["packs"]]
    cuts = [
        (Fraction(size), Fraction(feet), [Fraction(each) for each in pieces])
        for size, feet, pieces in item.data["cuts"]
    ]
    bought = sum((size * many for size, many in packs), Fraction())
    if cuts:
        if Counter(each for _, _, pieces in cuts for each in pieces) != _pieces(amount, book):
            return "other pieces are cut than are needed"
        for size, feet, pieces in cuts:
            if sum(pieces) > feet or feet not in (size, feet if size == 1 else size):
                return f"pieces of {float(sum(pieces)):g} ft come from {float(feet):g} ft"
        if bought != sum(feet for _, feet, _ in cuts):
            return "other packs are bought than are cut"
    elif bought < amount.value:
        return f"{float(bought):g} are bought, and {float(amount.value):g} are needed"
    cost = sum((price[size] * many for size, many in packs), Fraction())
    if item.data["used"] and bought:
        cost = cost * amount.value / bought
    return "" if cost == item.value else f"the packs cost {cost}"


def _pieces(amount: Item, book: Ledger) -> Counter[Fraction]:
    """The pieces that a line is made of: of each take so many of one length."""
    out: Counter[Fraction] = Counter()
    for name in amount.below:
        many, each = (book[below].value for below in book[name].below)
        out[each] += int(many)
    return out
