"""Things of a job while it runs, and their lists.

A thing is its cells in a list: cell 0 says who it is (a `Meta`), then stand its facts in the order
of the vocabulary, then a slot or two for each rule about its kind. A list and not an object,
because nine tenths of all steps of a run read a cell, and emitted code reads it by its number.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NoReturn, TypeAlias

Thing: TypeAlias = list[Any]
NodeId: TypeAlias = tuple[Any, ...]  # ("rule", id, plane) · ("cell", kind, fact, plane) · ...
Type: TypeAlias = tuple[Any, ...]  # ("q", dimension, unit) · ("choice", words) · ... (`words`)

NO_UNITS: dict[str, str] = {}  # shared by the things of every kind that has none, never written to


class Meta:
    """Who a thing is, and what was told of it."""

    __slots__ = (
        *("id", "kind", "name", "told", "written", "units", "looked", "whole", "slot", "plane"),
        "row",
    )

    def __init__(self, id_: str, kind: str, name: str) -> None:
        self.id, self.kind, self.name = id_, kind, name
        self.told: dict[str, Any] = {}  # fact -> value
        # fact -> (text as written, unit as written, place)
        self.written: dict[str, tuple[Any, Any, Any]] = {}
        # fact -> the unit people say it in, of what is kept in another
        self.units: dict[str, str] = NO_UNITS
        self.looked: set[str] = set()  # facts looked for and not found
        self.whole: Thing | None = None
        self.slot: Thing | None = None  # for a row that is tried: the thing it stands for
        self.plane = ""  # for a row that is tried: the rule that tries it
        self.row: Any = None

    def __repr__(self) -> str:
        return f"<{self.id}>"


def unit_shown(thing: Thing | None, fact: str, unit: str | None) -> str | None:
    """The unit a person wrote this fact in, where they did; else the one that people say it in."""
    if not isinstance(thing, list):
        return unit
    written = thing[0].written.get(fact)
    said: str | None = thing[0].units.get(fact, unit)
    return written[1] if written and written[1] else said


class Members(list[Thing]):
    """The things of one list of the job."""

    open = False

    def __repr__(self) -> str:
        # who they are: what stands in the cells of a thing is the whole job
        return f"<{self.__class__.__name__} {' '.join(thing[0].id for thing in _plainly(self))}>"


class OpenMembers(Members):
    """A list that may hold more than was written: only the general evaluator may walk it."""

    open = True

    def __iter__(self) -> NoReturn:
        raise TypeError("this list is open")


def members(v: object) -> list[Thing]:
    """The things in a list cell, open or not."""
    return list(_plainly(v)) if isinstance(v, list) else []


def _plainly(v: list[Thing]) -> Iterator[Thing]:
    # past the guard of a list that is open
    return list.__iter__(v)
