"""What a JSON file of ours must hold, declared as data: a file may have been edited since it was
written.

A shape is a type (``str``, ``bool``, ``int``), a `Text` that a pattern or a check narrows, a list
with one shape for all of its items, or a dict from key to shape. A key that ends in "?" may be
missing; `filled` puts in what it is then.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

Shape = Any  # type | Text | list | dict, as said above
NAMES = {str: "a text", bool: "true or false", int: "a whole number"}
LONGEST = 100_000  # characters of a text, items of a list


@dataclass(frozen=True)
class Text:
    """A text that is more than any text: *said* tells a person what it is."""

    said: str
    pattern: str = ""
    check: Callable[[str], object] | None = None  # raises where the text is none

    def holds(self, text: str) -> bool:
        """Whether *text* is one."""
        if not re.fullmatch(self.pattern or ".*", text, re.DOTALL):
            return False
        try:
            if self.check:
                self.check(text)
        except Exception:
            return False
        return True


def wrong(data: object, shape: Shape, at: str = "") -> Iterator[str]:
    """Everything in which *data* is not of *shape*, a sentence each.

    >>> list(wrong({"right": 1, "on": []}, {"right": bool, "on?": [str], "chosen": str}))
    ['"chosen" is missing', '"right" is not true or false']
    """
    if isinstance(shape, dict):
        if not isinstance(data, dict):
            yield f"{at or 'it'} is not a list of keys and values"
            return
        where = f"{at}, " if at else ""
        # what is missing before what is wrong: a key written otherwise is one slip, and no two
        for key in shape:
            if not key.endswith("?") and key not in data:
                yield f'{where}"{key}" is missing'
        for key, below in shape.items():
            if key.rstrip("?") in data:
                yield from wrong(data[key.rstrip("?")], below, f'{where}"{key.rstrip("?")}"')
    elif isinstance(shape, list):
        if not isinstance(data, list) or len(data) > LONGEST:
            yield f"{at or 'it'} is not a list" + (
                f" of at most {LONGEST:,}" if isinstance(data, list) else ""
            )
            return
        for n, item in enumerate(data, 1):
            yield from wrong(item, shape[0], f"{at} {n}" if at else f"item {n}")
    elif isinstance(shape, Text):
        if not isinstance(data, str) or len(data) > LONGEST or not shape.holds(data):
            yield f"{at} is not {shape.said}"
    # by the very type: true is a number to Python, and no number to whoever reads the file
    elif type(data) is not shape or isinstance(data, str) and len(data) > LONGEST:
        yield f"{at} is not {NAMES[shape]}"


def filled(data: Any, shape: Shape) -> Any:
    """*data*, which is of *shape*, with an empty value for each key that is missing and may be.

    >>> filled({"right": True}, {"right": bool, "rule?": str, "beliefs?": [str]})
    {'right': True, 'rule': '', 'beliefs': []}
    """
    if isinstance(shape, dict):
        out = dict(data)
        for key, below in shape.items():
            name = key.rstrip("?")
            out[name] = filled(data[name], below) if name in data else _empty(below)
        return out
    return [filled(item, shape[0]) for item in data] if isinstance(shape, list) else data


def _empty(shape: Shape) -> Any:
    if isinstance(shape, dict):
        return filled({}, shape)
    return [] if isinstance(shape, list) else "" if isinstance(shape, Text) else shape()


__all__ = ["Text", "filled", "wrong"]
