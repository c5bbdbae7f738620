"""whywire: what a wiring job requires, and why.

>>> from whywire.engine import inspect
>>> kiln = {
...     "volts": "240 V",
...     "load": {"type": "kiln", "current": "48 A"},
...     "breaker": {"rating": "60 A"},
...     "conductors": {"size": "6 AWG", "material": "copper", "EGC size": "10 AWG"},
...     "segments": [{"method": "NM-B", "place": "basement", "length": "40 ft", "bundle": "none"}],
... }
>>> found = inspect({"job": "kiln", "edition": "2023", "circuits": {"kiln": kiln}})
>>> print(found.why("kiln", "conductor-125-percent").word)
NO.

Nothing inside imports this module; names are loaded when they are first asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .answering.inspection import Inspection, Source
    from .basics.reading import Mapping
    from .language.knowledge import Knowledge
    from .law.places import InForce

__all__ = [
    "load",
    "inspect",
    "opened",
    "Knowledge",
    "Inspection",
    "Answer",
    "Graph",
    "Fault",
    "Faults",
    "Disagreement",
    "Unclear",
]

_HOME = {
    "load": "running.cache",
    "Knowledge": "language.knowledge",
    "Inspection": "answering.inspection",
    "Disagreement": "answering.inspection",
    "Answer": "answering.answers",
    "Unclear": "answering.answers",
    "Graph": "proving.graph",
    "Fault": "basics.errors",
    "Faults": "basics.errors",
}


def __getattr__(name: str) -> Any:
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(f".{_HOME[name]}", __name__), name)
    raise AttributeError(name)


def opened(
    source: Source,
    packs: tuple[str, ...] = (),
    edition: str | None = None,
    date: str | None = None,
    place: str | None = None,
) -> tuple[Mapping, InForce, Knowledge]:
    """The job that *source* says, what is in force for it, and that knowledge: (body, InForce,
    Knowledge).

    Raises Faults with everything that is wrong; where the edition cannot be known, what else is
    wrong in the job too.
    """
    from .answering.inspection import body_of
    from .basics.errors import Fault, Faults
    from .law.places import in_force
    from .running.cache import load

    try:
        body, name = body_of(source)
    except Fault as f:
        raise Faults([f]) from None
    try:
        force = in_force(body, name, tuple(packs), edition, date, place)
    except Faults as faults:
        from .running.job import read_job

        try:
            read_job(body, load(), name)
        except Faults as more:
            raise Faults(
                [*more.items, *(f for f in faults.items if f.at not in {m.at for m in more.items})]
            ) from None
        raise
    return body, force, load(force.folders, force.edition, force.date)


def inspect(
    source: Source,
    packs: tuple[str, ...] = (),
    edition: str | None = None,
    chainer: str = "plain",
) -> Inspection:
    """Inspect a job: a file's path, or a dict of the same form with amounts as text ("48 A", "35
    ft").

    What is in force follows from the job's place and permit date, or from the packs and edition it
    names; *packs* (folders, or names of packs on the shelf) and *edition* (2017, 2020, 2023, 2026)
    go before what it says. *chainer* is ``plain`` or ``both`` (durable-rules too, where it
    imports). Returns an Inspection; raises Faults with everything that is wrong in the job or the
    packs, or where the edition cannot be known, and Disagreement where the two chainers differ.
    """
    from .answering.inspection import Inspection

    body, force, k = opened(source, packs, edition)
    return Inspection(body, k, chainer, force)
