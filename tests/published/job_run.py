"""A job run through the engine, its answers and facts by the names of things. What the tests of
this folder share.
"""

from functools import cache

from whywire.engine import load
from whywire.engine.basics.units import Range, in_unit
from whywire.engine.running.chain import World
from whywire.engine.running.job import read_job

EDITIONS = ("2017", "2020", "2023")


@cache
def knowledge(edition: str = "2023"):
    """The base pack of one edition."""
    return load(edition=edition)


class Run:
    """One job, run: its circuits, and whatever else it describes."""

    def __init__(self, circuits: dict | None = None, edition: str = "2023", **more) -> None:
        self.k = knowledge(edition)
        self.w = World(
            self.k, read_job({**({"circuits": circuits} if circuits else {}), **more}, self.k)
        ).run()
        self.things = self.w.things

    def answer(self, rule: str, thing: str) -> str:
        return self.w.answer(self.k.rules[rule], self.things[thing])

    def fact(self, thing: str, name: str, unit: str | None = None):
        """A number in *unit* (the fact's own where none is said), the two ends of a range, or the
        word.
        """
        x = self.things[thing]
        word = self.k.words.kinds[x[0].kind].words[name]
        v, unit = x[word.slot], unit or word.unit
        if isinstance(v, Range):
            return tuple(None if e is None else in_unit(e, unit) for e in (v.lo, v.hi))
        return v if unit is None or v is None else in_unit(v, unit)
