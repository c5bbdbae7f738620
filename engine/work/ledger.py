"""What a price is made of, as a graph: every quantity, minute and amount is an item that says how
it comes from those below it, down to facts of the job and rows of the price file.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from .cutting import Purchase

FACT, ROW, NUMBER = "fact", "row", "number"  # leaves: of the job, of the price file, of the order
SUM, PRODUCT, QUOTIENT, REST = "sum", "product", "quotient", "rest"
ROUNDED, LARGER, PACKS = "rounded", "larger", "packs"
MONEY = ""  # the unit of an amount: the currency of the price file
SHARE = "%"  # the unit of a share; its value is 3/10 for 30 %


@dataclass(frozen=True)
class Item:
    """One number. *value* is exact; *below* names what it comes from, in the order it is read."""

    id: str
    op: str
    value: Fraction
    unit: str
    text: str  # what it is
    below: tuple[str, ...] = ()
    data: dict[str, Any] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        """The item for a program: its number as exact text."""
        said = {"id": self.id, "is": self.op, "text": self.text, "unit": self.unit}
        return {**said, "value": str(self.value), "below": list(self.below), "data": self.data}


class Ledger:
    """The items of one price, each made from those that are there: so it has no circle."""

    def __init__(self) -> None:
        self.items: dict[str, Item] = {}

    def __getitem__(self, name: str) -> Item:
        return self.items[name]

    def _put(
        self,
        name: str,
        op: str,
        value: Fraction,
        unit: str,
        text: str,
        below: Sequence[Item] = (),
        data: dict[str, Any] | None = None,
    ) -> Item:
        item = Item(name, op, value, unit, text, tuple(one.id for one in below), data or {})
        return self.items.setdefault(name, item)

    # ---- leaves
    def fact(
        self, of: str, name: str, value: Fraction, unit: str, text: str, rule: str = ""
    ) -> Item:
        """A fact of the job, or the least that it is; *rule* is whose it is."""
        data = {"of": of, "is": name, "rule": rule}
        return self._put(f"fact:{of}/{name}", FACT, value, unit, text, (), data)

    def row(self, name: str, value: Fraction, unit: str, pack: Fraction | None = None) -> Item:
        """A row of the price file: a rate, or what a pack of a part costs."""
        of_pack = "" if pack is None else f", pack of {float(pack):g}"
        data = {"row": name, "pack": None if pack is None else str(pack)}
        return self._put(f"row:{name}{of_pack}", ROW, value, unit, f"{name}{of_pack}", (), data)

    def number(self, name: str, value: Fraction, text: str) -> Item:
        """A number that neither the job nor the price file says."""
        return self._put(f"number:{name}", NUMBER, value, "count", text)

    # ---- what comes from them
    def sum(self, name: str, unit: str, text: str, of: Sequence[Item]) -> Item:
        total = sum((one.value for one in of), Fraction())
        return self._put(name, SUM, total, unit, text, of)

    def product(self, name: str, unit: str, text: str, *of: Item) -> Item:
        value = Fraction(1)
        for one in of:
            value *= one.value
        return self._put(name, PRODUCT, value, unit, text, of)

    def quotient(self, name: str, unit: str, text: str, over: Item, under: Item) -> Item:
        return self._put(name, QUOTIENT, over.value / under.value, unit, text, (over, under))

    def rest(self, name: str, text: str, share: Item) -> Item:
        """What a share leaves of the whole."""
        return self._put(name, REST, 1 - share.value, SHARE, text, (share,))

    def rounded(self, name: str, text: str, value: Fraction, of: Item) -> Item:
        """An amount as it is printed: *value* is *of* to the cent."""
        return self._put(name, ROUNDED, value, MONEY, text, (of,))

    def larger(self, name: str, text: str, one: Item, other: Item) -> Item:
        return self._put(name, LARGER, max(one.value, other.value), MONEY, text, (one, other))

    def packs(
        self, name: str, text: str, amount: Item, prices: Sequence[Item], got: Purchase, used: bool
    ) -> Item:
        """What the packs of a part cost, or the share of them that is used."""
        data = {
            "packs": [[str(pack.size), many] for pack, many in got.packs],
            "cuts": [
                [str(cut.pack.size), str(cut.feet), [str(piece) for piece in cut.pieces]]
                for cut in got.cuts
            ],
            "used": used,
        }
        cost = got.cost if got.cost is not None else Fraction()
        return self._put(name, PACKS, cost, MONEY, text, (amount, *prices), data)

    # ---- read
    def under(self, name: str) -> list[Item]:
        """An item and all it comes from, each once."""
        found: dict[str, Item] = {}
        left = [name]
        while left:
            at = left.pop()
            if at not in found:
                found[at] = self.items[at]
                left += self.items[at].below
        return list(found.values())
