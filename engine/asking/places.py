"""Where the facts of a survey stand in a job: paths as cards write them, put in and read.

A path is `load/current` of the circuit, `service: rating` of an area of the job that the cards
name, `segments/method` of every stretch of the way.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple, TypeAlias

Facts: TypeAlias = dict[str, Any]  # path of a fact ("load/current") -> what it is, as a job says it
Keys: TypeAlias = tuple[str, ...]
AREA = ": "  # what parts the area of a job from the path in it
CIRCUITS, SEGMENTS = "circuits", "segments"
OF_SEGMENTS = f"{SEGMENTS}/"
JOB = "job"  # the thing that a job is
UNKNOWN = "unknown"  # what was looked at and not made out: no habit stands in for it


class Named(NamedTuple):
    """The names that a survey fills in: its circuit's, and those of what was there."""

    areas: Mapping[str, str]
    names: Mapping[str, str]  # "name" -> what the circuit is called

    def fill(self, said: Any) -> Any:
        """*said* with the names in it."""
        if not isinstance(said, str):
            return said
        for name, called in self.names.items():
            said = said.replace(f"{{{name}}}", called)
        return said

    def keys(self, path: str) -> Keys:
        """The keys of a job's file that lead to a fact.

        >>> named = Named({"house": "panels.{house}"}, {"name": "kiln", "house": "main"})
        >>> named.keys("load/current"), named.keys("house: room")
        (('circuits', 'kiln', 'load', 'current'), ('panels', 'main', 'room'))
        """
        area, apart, rest = path.partition(AREA)
        if not apart:
            return (CIRCUITS, self.names["name"], *path.split("/"))
        return (*filter(None, self.fill(self.areas[area]).split(".")), *rest.split("/"))

    def told_as(self, path: str) -> str:
        """A fact as the list of what is assumed names it: `circuits.kiln.conductors/material`."""
        *things, fact = self.keys(path)
        return f"{'.'.join(things) or JOB}/{fact}"


def keys_told(path: str) -> Keys:
    """The keys of a job's file that lead to a fact of the list of what is assumed.

    >>> keys_told("circuits.kiln.conductors/material"), keys_told("job/building")
    (('circuits', 'kiln', 'conductors', 'material'), ('building',))
    """
    thing, _, fact = path.rpartition("/")
    return (*(() if thing == JOB else thing.split(".")), fact)


def put(body: Facts, keys: Keys, value: Any) -> None:
    """Set what *keys* lead to; nothing where the part is not there, as in `receptacle: none`."""
    first, *rest = keys
    if not rest:
        body[first] = value
        return
    part = body.setdefault(first, {})
    if isinstance(part, dict):
        put(part, tuple(rest), value)


def value_at(body: Any, keys: Iterable[str]) -> Any:
    """What *body* says at the end of *keys*; None where it says nothing.

    >>> value_at({"load": {"current": "48 A"}}, ("load", "current"))
    '48 A'
    """
    value: Any = body
    for key in keys:
        if not isinstance(value, Mapping):
            return None
        value = value.get(key)
    return value


def values_at(body: Any, keys: Keys) -> Iterator[Any]:
    """All that *body* says at the end of *keys*, of a list each of its members."""
    if isinstance(body, list):
        for member in body:
            yield from values_at(member, keys)
    elif not keys:
        if body is not None:
            yield body
    elif isinstance(body, Mapping) and keys[0] in body:
        yield from values_at(body[keys[0]], keys[1:])


def over(below: Mapping[str, Any], above: Mapping[str, Any]) -> Facts:
    """*below* with what *above* says put over it, part by part."""
    out = dict(below)
    for key, value in above.items():
        there = out.get(key)
        if isinstance(there, Mapping) and isinstance(value, Mapping):
            out[key] = over(there, value)
        else:
            out[key] = value
    return out


def without(body: Any, keys: Keys) -> Any:
    """*body* without the fact at the end of *keys*; of a list the place is counted from 1."""
    first, *rest = keys
    if isinstance(body, list):
        if not first.isdecimal() or not 0 < int(first) <= len(body):
            return body
        place = int(first) - 1
        return [*body[:place], without(body[place], tuple(rest)), *body[place + 1 :]]
    if not isinstance(body, Mapping):
        return body
    if not rest:
        return {key: value for key, value in body.items() if key != first}
    if first not in body:
        return dict(body)
    return {**body, first: without(body[first], tuple(rest))}


__all__ = [
    "AREA",
    "CIRCUITS",
    "JOB",
    "OF_SEGMENTS",
    "SEGMENTS",
    "UNKNOWN",
    "Facts",
    "Keys",
    "Named",
    "keys_told",
    "over",
    "put",
    "value_at",
    "values_at",
    "without",
]
