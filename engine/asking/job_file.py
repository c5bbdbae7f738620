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


__all__ = ["job_text"]
