"""The file of a surveyed job: plain lines that a person reads and goes on with."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

# What YAML takes for text as it stands, between the signs of a list or a mapping too.
PLAIN = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9 ./°%+²³()\"'-]*[A-Za-z0-9.°%²³)\"'])?")
WIDE = 96


def job_text(body: Mapping[str, Any]) -> str:
    """*body*, the job of a survey, as its file.

    >>> print(job_text({"job": "Kiln", "circuits": {"kiln": {"volts": "240 V"}}}), end="")
    job: Kiln
    circuits:
      kiln: {volts: 240 V}
    """
    return "\n".join(_lines(body, "")) + "\n"


def _lines(body: Mapping[str, Any], margin: str) -> Iterator[str]:
    for key, value in body.items():
        line = f"{margin}{_text(key)}: {_flow(value)}"
        if isinstance(value, Mapping) and (len(line) > WIDE or _nested(value) or not margin):
            yield f"{margin}{_text(key)}:"
            yield from _lines(value, margin + "  ")
        elif isinstance(value, list):
            yield f"{margin}{_text(key)}:"
            yield from (f"{margin}  - {_flow(item)}" for item in value)
        else:
            yield line


def _nested(value: Mapping[str, Any]) -> bool:
    """Whether a mapping holds things with parts of their own, which stand on lines of their own."""
    return any(isinstance(inner, (Mapping, list)) for inner in value.values())


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_text(k)}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return _text(value)


def _text(value: Any) -> str:
    text = str(value)
    if PLAIN.fullmatch(text):
        return text
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def updated(text: str, body: Mapping[str, Any]) -> str:
    """The file *text* saying what *body* does; what is alike stays as it was written, comments too.

    >>> print(updated("job: Kiln  # north\\n", {"job": "Kiln", "volts": "240 V"}), end="")
    job: Kiln  # north
    volts: 240 V
    """
    from io import StringIO

    from ruamel.yaml import YAML  # knows where comments belong, and few commands write a file

    yaml = YAML()
    yaml.width, yaml.preserve_quotes = 4096, True
    yaml.indent(mapping=2, sequence=4, offset=2)
    job = yaml.load(text)
    _put_in(job, body)
    out = StringIO()
    yaml.dump(job, out)
    return out.getvalue()


def _put_in(there: Any, said: Mapping[str, Any]) -> None:
    """Make the mapping *there* say what *said* does, and leave what is alike."""
    for key in [key for key in there if str(key) not in said]:
        del there[key]
    named = {str(key): key for key in there}
    for key, value in said.items():
        old = there[named[key]] if key in named else None
        if isinstance(value, Mapping) and isinstance(old, Mapping):
            _put_in(old, value)
        elif key not in named or not alike(old, value):
            there[named.get(key, key)] = plain(value)


def plain(said: Any) -> Any:
    """What a file says without the places at which it says it."""
    if isinstance(said, Mapping):
        return {str(key): plain(value) for key, value in said.items()}
    if isinstance(said, list):
        return [plain(one) for one in said]
    return None if said is None else str(said)


def alike(one: Any, other: Any) -> bool:
    """Whether two texts, or what is made of texts, differ in their spaces alone: 48A and 48 A."""
    return _spaced(one) == _spaced(other)


def _spaced(said: Any) -> Any:
    if isinstance(said, Mapping):
        return {str(key): _spaced(value) for key, value in said.items()}
    if isinstance(said, (list, tuple)):
        return [_spaced(one) for one in said]
    return "".join(str(said).split())


__all__ = ["alike", "job_text", "plain", "updated"]
