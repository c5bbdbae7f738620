"""What a run is not let know: facts withheld, and what it knew before they were.

*Unknown now and known before* is withheld, and must stay unknown: no default steps in for it, and
nothing undecided passes, fails or is set aside over it. *Unknown before, too* is what nobody said,
and whatever the rules make of that stays. So a run that is let know less never concludes anything
else, only less: what a reason is rests on that (engine/reasons).
"""

from __future__ import annotations

from collections.abc import Iterable

from ..language.things import Thing


class Withheld:
    """Facts withheld from a run, and its cells as they stood with nothing withheld."""

    def __init__(self, things: Iterable[Thing]) -> None:
        # two picks may try rows of one name
        self._before = {(x[0].plane, x[0].id): x[:] for x in things}
        self.facts: set[tuple[str, str]] = set()  # (thing id, fact)
        # (rule, thing id) of what passed though nobody knew whether it applies
        self.never_applied: set[tuple[str, str]] = set()

    def before(self, thing: Thing) -> Thing | None:
        """The cells of a thing as they stood; None of a row that was not tried."""
        return self._before.get((thing[0].plane, thing[0].id))

    def known_before(self, thing: Thing, slot: int) -> bool:
        """Whether a cell that is unknown now was known before."""
        before = self.before(thing)
        return before is None or before[slot] is not None

    def otherwise_before(self, thing: Thing, slot: int, value: object) -> bool:
        """Whether another value than *value* stood in a cell before."""
        before = self.before(thing)
        return before is None or before[slot] is not value

    def holds_back(self, thing: Thing, fact: str) -> bool:
        """Whether a fact is withheld: of a row that is tried, on the thing whose row it is."""
        return ((thing[0].slot or thing)[0].id, fact) in self.facts


__all__ = ["Withheld"]
