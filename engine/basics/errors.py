"""A fault: what is wrong in something a person wrote, where it stands, and what to do about it.

Faults are gathered, so that a person sees all of them at once; a traceback is only ever ours.
"""

from __future__ import annotations

from collections.abc import Iterable

from .limits import FAULT, FAULTS


class Place(tuple):
    """Where a piece of text stands: file, line, column (both from 1)."""

    __slots__ = ()

    def __new__(cls, file: str = "?", line: int = 1, column: int = 1) -> "Place":
        return tuple.__new__(cls, (file, line, column))

    def __getnewargs__(self):
        return tuple(self)

    def __str__(self) -> str:
        return f"{self[0]}:{self[1]}:{self[2]}"

    def along(self, offset: int) -> "Place":
        """The place *offset* characters into the piece of text that stands here."""
        return Place(self[0], self[1], self[2] + offset)


class PutIn(Place):
    """Where words stand that are put into a line of another file, *before* characters into it: what
    is wrong in that line is told here.
    """

    def __new__(cls, at: Place, before: int, length: int) -> "PutIn":
        return Place.__new__(cls, *at)

    def __init__(self, at: Place, before: int, length: int) -> None:
        self.before, self.length = before, length

    def __getnewargs__(self):
        return Place(*self), self.before, self.length

    def along(self, offset: int) -> Place:
        return Place(self[0], self[1], self[2] + min(max(0, offset - self.before), self.length))


NOWHERE = Place()


class Fault(Exception):
    """One thing wrong. *code* names the sort of fault, *todo* says what to do."""

    def __init__(self, code: str, at: Place, what: str, todo: str = "") -> None:
        if len(what) > FAULT:
            what = f"{what[: FAULT // 2]} … {what[-60:]}"
        super().__init__(code, at, what, todo)
        self.code, self.at, self.what, self.todo = code, at, what, todo

    def __str__(self) -> str:
        return f"{self.at}: {self.what}" + (f"\n    {self.todo}" if self.todo else "")


class Faults(Exception):
    """All the faults of one reading, in the order of their places."""

    def __init__(self, items: Iterable[Fault]) -> None:
        seen: dict[tuple, Fault] = {}
        for fault in items:
            seen.setdefault((fault.code, tuple(fault.at), fault.what), fault)
        self.items = sorted(seen.values(), key=lambda f: (f.at, f.code, f.what))
        super().__init__(self.items)

    def __str__(self) -> str:
        return "\n".join(map(str, self.items))


class TooMany(Faults):
    """So many faults that the rest is not read."""


class Collector:
    """Gathers faults, so that one mistake does not hide the next."""

    def __init__(self) -> None:
        self.items: list[Fault] = []

    def add(self, code: str, at: Place, what: str, todo: str = "") -> None:
        self.take(Fault(code, at, what, todo))

    def take(self, *faults: Fault) -> None:
        """Note faults; past FAULTS of them raise, since the rest tells nothing new."""
        self.items.extend(faults)
        if len(self.items) >= FAULTS:
            at = max(f.at for f in self.items)
            raise TooMany(
                [
                    *self.items,
                    Fault(
                        "too-many-faults",
                        at,
                        f"{FAULTS} faults are enough: what follows is not read",
                        "mend these first",
                    ),
                ]
            )

    def catching(self) -> "Catching":
        """Note a fault raised inside and go on after it."""
        return Catching(self)

    def stop(self) -> None:
        """Raise what was gathered, if anything was."""
        if self.items:
            raise Faults(self.items)


class Catching:
    """What `Collector.catching` gives to `with`; entered for every line of every pack, so it is no
    generator.
    """

    __slots__ = ("faults",)

    def __init__(self, faults: Collector) -> None:
        self.faults = faults

    def __enter__(self) -> None:
        pass

    def __exit__(self, kind, fault, trace) -> bool:
        if isinstance(fault, Fault):
            self.faults.take(fault)
        elif isinstance(fault, Faults) and not isinstance(fault, TooMany):
            self.faults.take(*fault.items)
        else:
            return False
        return True


# Words that are near in spelling and opposite in meaning are never offered for each other.
OPPOSITES = (
    {"ungrounded", "grounded"},
    {"ungrounded", "ground"},
    {"continuous", "noncontinuous"},
    {"continuous load", "noncontinuous load"},
)


def suggest(word: str, known: Iterable[str], most: int = 20) -> str:
    """What a person may have meant by *word*: the nearest of *known*, or the whole list while it is
    short.
    """
    word, names = str(word), sorted({str(k) for k in known})
    if len(word) > 80:  # nobody's misspelling
        return "known here: " + ", ".join(names[:most]) if names else "is this the right file?"
    low = {n.lower(): n for n in names}
    if word.lower() in low and low[word.lower()] != word:
        return f'did you mean "{low[word.lower()]}"?'
    import difflib

    # 2022 is no slip for 2026
    near = [
        m
        for m in difflib.get_close_matches(word, names, 3, 0.6)
        if {word, m} not in OPPOSITES and not (word.isdigit() and m.isdigit())
    ]
    inside = [n for n in names if word and (word in n.split() or n in word.split())]
    if near:
        return f'did you mean "{near[0]}"?'
    if inside:
        return "did you mean " + " or ".join(f'"{n}"' for n in inside[:3]) + "?"
    if len(names) <= most:
        return "known here: " + ", ".join(names) if names else ""
    return "known here: " + ", ".join(names[:most]) + f" and {len(names) - most} more"
