"""Things that come before one another: one order of them, the arrows that are needed, a circle."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from typing import Any, Generic, TypeVar

Name = TypeVar("Name", bound=Hashable)


class Circle(Exception):
    """The arrows go in a circle; `names` are those on it, each before the next."""

    def __init__(self, names: list[Any]) -> None:
        super().__init__("a circle")
        self.names = names


class Sequence(Generic[Name]):
    """Some *names*, and of each those that come before it.

    >>> sequence = Sequence("abc", {"c": ["a", "b"], "b": ["a"]})
    >>> sequence.in_order(str), sorted(sequence.needed())
    (['a', 'b', 'c'], [('a', 'b'), ('b', 'c')])
    """

    def __init__(self, names: Iterable[Name], before: Mapping[Name, Iterable[Name]]) -> None:
        self.before = {name: list(before.get(name, ())) for name in names}
        self.after: dict[Name, list[Name]] = {name: [] for name in self.before}
        for name, others in self.before.items():
            for other in others:
                self.after[other].append(name)

    def in_order(self, key: Callable[[Name], Any]) -> list[Name]:
        """Each after what comes before it; of those that may come next, the least by *key*.

        Raises:
            Circle: there is no such order.
        """
        place = {name: number for number, name in enumerate(self.before)}
        waits = {name: len(others) for name, others in self.before.items()}
        ready = [(key(name), place[name], name) for name, count in waits.items() if not count]
        heapq.heapify(ready)
        out: list[Name] = []
        while ready:
            *_, name = heapq.heappop(ready)
            out.append(name)
            for later in self.after[name]:
                waits[later] -= 1
                if not waits[later]:
                    heapq.heappush(ready, (key(later), place[later], later))
        if len(out) < len(waits):
            raise Circle(self._circle({name for name, count in waits.items() if count}))
        return out

    def _circle(self, left: set[Name]) -> list[Name]:
        """A circle among those that wait: each waits for another, so going back comes round."""
        seen: dict[Name, int] = {}
        name = next(name for name in self.before if name in left)
        while name not in seen:
            seen[name] = len(seen)
            name = next(other for other in self.before[name] if other in left)
        return [each for each, at in seen.items() if at >= seen[name]][::-1]

    def needed(self) -> Iterator[tuple[Name, Name]]:
        """The arrows, one before other, that do not follow from others. There must be no circle."""
        place = {name: number for number, name in enumerate(self.in_order(lambda name: 0))}
        far: dict[Name, set[Name]] = {}  # all that come before
        for name in sorted(self.before, key=place.__getitem__):
            mine: set[Name] = set()
            for other in sorted(self.before[name], key=place.__getitem__, reverse=True):
                if other not in mine:
                    yield other, name
                mine |= {other, *far[other]}
            far[name] = mine


__all__ = ["Circle", "Sequence"]
