"""What is bought of each line of a take-off: its packs, and by prices what they cost."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from .cutting import Pack, Purchase, buy
from .price_file import Prices
from .takeoff import Line, TakeOff

USED = "used"


@dataclass
class Bought:
    """One part of the list, with the packs it is bought in."""

    line: Line
    purchase: Purchase | None  # None where nobody sells such a part here
    missing: str  # why it has no cost; "" where it has one

    @property
    def cost(self) -> Fraction | None:
        """What it costs, not rounded yet."""
        return self.purchase.cost if self.purchase is not None and not self.missing else None


def bought(off: TakeOff, prices: Prices | None = None) -> list[Bought]:
    """The packs of every line; by *prices* the cheapest, else the least."""
    return [_bought(line, prices) for line in off.lines]


def _bought(line: Line, prices: Prices | None) -> Bought:
    if not line.packs:
        return Bought(line, None, "no such part is on the shelf")
    sold = [Pack(size) for size in line.packs]
    if prices is not None:
        own = prices.packs.get(line.part, [])
        if not own:
            return Bought(line, buy(line.pieces, line.amount, sold, False), "no price in the file")
        sizes = {pack.size for pack in own}
        sold = [*own, *(pack for pack in sold if pack.size not in sizes)]
    got = buy(line.pieces, line.amount, sold, line.charge == USED)
    if got.too_long is not None:
        feet = float(got.too_long)
        return Bought(
            line, got, f"no coil holds a piece of {feet:g} ft: by the foot, or a box in between"
        )
    return Bought(line, got, "" if got.cost is not None else "no price in the file")
