"""What is said beforehand of what nobody can count yet: a rate for a foot of rock, a hole, a bay,
of the things of the job that may want it, by a table of the knowledge.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from ..proving.wording import short
from .handover import Sayings
from .opening import Opened
from .price_file import RATES, Prices

BEFOREHAND = "said-beforehand"
A_UNIT = {"ft": "a foot", "each": "each"}


@dataclass(frozen=True)
class Rate:
    """A rate that is no part of the total, and holds where its case comes up."""

    name: str  # as the price file calls it
    says: str
    called: tuple[str, ...]  # where it may come up
    unit: str
    amount: Fraction | None  # None where the price file has none

    @property
    def in_words(self) -> str:
        """What it is for, and where it may come up."""
        return f"{self.says} ({', '.join(self.called)})"

    @property
    def by(self) -> str:
        """What the amount is of: a foot, or each."""
        return A_UNIT[self.unit]


def said_beforehand(job: Opened, prices: Prices) -> list[Rate]:
    """The rates that this job may want, in the order of the table."""
    sayings = Sayings(job, BEFOREHAND, built=True)
    units = {str(row["rate"]): str(row["unit"]) for row in job.knowledge.tables[RATES].rows}
    out = []
    for row in job.knowledge.tables[BEFOREHAND].rows:
        things = job.world.by_kind.get(str(row["about"]), ())
        called = [short(thing) for thing in things if sayings.so(row, thing)]
        if called:
            name = str(row["rate"])
            whose = tuple(dict.fromkeys(called))
            out.append(Rate(name, str(row["says"]), whose, units[name], prices.rate(name)))
    return out
