"""whywire: what a wiring job requires, and why.

>>> from whywire.engine import inspect
>>> found = inspect({"job": "kiln", "circuits": {"kiln": {"volts": "240 V", "load": {"type": "kiln", "current": "48 A"},
...     "breaker": {"rating": "60 A"}, "conductors": {"size": "6 AWG", "material": "copper", "EGC size": "10 AWG"},
...     "segments": [{"method": "NM-B", "place": "basement", "location": "dry", "length": "40 ft", "bundle": "none"}]}}})
>>> print(found.why("kiln", "conductor-125-percent").word)
NO.

Nothing inside imports this module; names are loaded when they are first asked for.
"""

from __future__ import annotations

__all__ = ["load", "inspect", "Knowledge", "Inspection", "Answer", "Graph", "Fault", "Faults", "Disagreement", "Unclear"]

_HOME = {"load": "cache", "Knowledge": "knowledge", "Inspection": "inspection", "Disagreement": "inspection", "Answer": "answers", "Unclear": "answers", "Graph": "graph", "Fault": "errors", "Faults": "errors"}


def __getattr__(name: str):
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(f".{_HOME[name]}", __name__), name)
    raise AttributeError(name)


def inspect(source, packs: tuple[str, ...] = (), edition: str | None = None, chainer: str = "plain"):
    """Inspect a job: a file's path, or a dict of the same form with amounts as text ("48 A", "35 ft").

    *packs* are folders of packs beside the base; *edition* (2017, 2020, 2023, 2026) overrides the job's own. *chainer*
    is ``plain`` or ``both`` (durable-rules too, where it imports). Returns an Inspection; raises Faults with everything
    that is wrong in the job or the packs, and Disagreement where the two chainers differ.
    """
    from .cache import load
    from .errors import Fault, Faults
    from .inspection import Inspection, body_of, edition_of

    try:
        body, _ = body_of(source)
    except Fault as f:
        raise Faults([f]) from None
    told, how = edition_of(body)
    return Inspection(source, load(tuple(packs), edition or told), chainer, "asked for" if edition else how)
