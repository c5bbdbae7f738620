"""A day's knowledge without some edits, for running examples: only what those edits touch is
carried out and checked anew.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from ..basics.errors import Collector
from ..language.knowledge import Knowledge, Material, exceptions_only
from ..law.applying import apply
from ..law.edits import Edit
from ..law.library import Library, Pack

ITEMS = ("rules", "values", "tables", "gone", "withdrawn", "trail")  # what a material holds by name


@dataclass
class OneDay:
    """What is in force on one day with a pack, and what each edit did there."""

    library: Library
    pack: Pack
    edits: list[Edit]  # of every pack, in their order; none that is faulty
    edition: str
    day: str
    m: Material
    k: Knowledge
    # an edit (its pack and number) -> what it changed
    wrote: dict[tuple, set] = field(default_factory=dict)
    done: dict[int, dict] = field(default_factory=dict)  # an edit's id -> what it did

    @cached_property
    def bare(self) -> Material:
        """What stands below every pack."""
        return self.library.material(
            self.edition,
            self.day,
            without=[e for p in self.library.packs for e in p.edits],
            faults=Collector(),
        )

    @cached_property
    def below(self) -> Material:
        """What stands below the pack."""
        return self.library.material(
            self.edition, self.day, without=self.pack.edits, faults=Collector()
        )

    @cached_property
    def _below(self) -> Knowledge:
        return exceptions_only(self.k, self.below, Collector(), self.library.pool)

    def without(self, edits: list[Edit]) -> Knowledge:
        """The knowledge without some edits; without the whole pack where others stand on them."""
        faults = Collector()
        with faults.catching():
            k = exceptions_only(self.k, self._material(edits, faults), faults, self.library.pool)
        return self._below if faults.items else k

    def _material(self, edits: list[Edit], faults: Collector) -> Material:
        """What is in force without *edits*: the edits that touch what these touch are carried out
        anew, and all else is as it is.
        """
        names = set().union(*(self._touched(e, self.wrote) for e in edits))
        while True:
            near = [
                e for e in self.edits if e not in edits and names & self._touched(e, self.wrote)
            ]
            m, mine, wrote = self.bare.copy(), Collector(), {}
            apply(m, near, self.day, mine, wrote)
            more = set().union(
                *(self._touched(e, self.wrote) | self._touched(e, wrote) for e in near)
            )
            if more <= names:
                break
            names |= more
        faults.take(*mine.items)
        out = self.m.copy()
        for items in ITEMS:
            now, then = getattr(out, items), getattr(m, items)
            for n in names:
                now.pop(n, None)
                if n in then:
                    now[n] = then[n]
        return out

    def _touched(self, e: Edit, wrote: dict) -> set[str]:
        return {e.target} | wrote.get((e.pack.name, e.number), set())


__all__ = ["OneDay"]
