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
from .between import edit_key

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
    wrote: dict[tuple[str, int], set[str]] = field(default_factory=dict)
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
        names = self._touched(edits, self.wrote)
        while True:
            near = [
                edit
                for edit in self.edits
                if edit not in edits and names & self._touched([edit], self.wrote)
            ]
            anew, mine = self.bare.copy(), Collector()
            wrote: dict[tuple[str, int], set[str]] = {}
            apply(anew, near, self.day, mine, wrote)
            # without *edits* another may touch what it did not before
            more = self._touched(near, self.wrote) | self._touched(near, wrote)
            if more <= names:
                break
            names |= more
        faults.take(*mine.items)
        out = self.m.copy()
        for items in ITEMS:
            now, then = getattr(out, items), getattr(anew, items)
            for name in names:
                now.pop(name, None)
                if name in then:
                    now[name] = then[name]
        return out

    @staticmethod
    def _touched(edits: list[Edit], wrote: dict[tuple[str, int], set[str]]) -> set[str]:
        """What *edits* are about, and what they changed."""
        out = {edit.target for edit in edits}
        return out.union(*(wrote.get(edit_key(edit), set()) for edit in edits))


__all__ = ["OneDay"]
