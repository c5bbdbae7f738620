"""A fault: what is wrong in something a person wrote, where it stands, and what to do about it.

Faults are gathered, so that a person sees all of them at once; a traceback is only ever ours.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from types import TracebackType
from typing import Self

from .limits import FAULT, FAULTS
from .notebook import shown


class Place(tuple[str, int, int]):
    """Where a piece of text stands: file, line, column (both from 1)."""

    __slots__ = ()

    def __new__(cls, file: str = "?", line: int = 1, column: int = 1) -> Self:
        return tuple.__new__(cls, (file, line, column))

    def __getnewargs__(self) -> tuple:
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

    def __new__(cls, at: Place, before: int, length: int) -> Self:
        return Place.__new__(cls, *at)

    def __init__(self, at: Place, before: int, length: int) -> None:
        self.before, self.length = before, length

    def __getnewargs__(self) -> tuple:
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
        # the same fault found on two ways (a line is read for each edition) is told once
        seen: dict[tuple, Fault] = {}
        for fault in items:
            seen.setdefault((fault.code, tuple(fault.at), fault.what), fault)
        self.items = sorted(seen.values(), key=lambda f: (f.at, f.code, f.what))
        super().__init__(self.items)

    def __str__(self) -> str:
        return "\n".join(map(str, self.items))

    def _repr_html_(self) -> str:
        return shown("faults", [(fault.at, fault.what, fault.todo) for fault in self.items])


class TooMany(Faults):
    """So many faults that the rest is not read."""


class Collector:
    """Gathers faults, so that one mistake does not hide the next."""

    def __init__(self) -> None:
        self.items: list[Fault] = []

    def add(self, code: str, at: Place, what: str, todo: str = "") -> None:
        self.take(Fault(code, at, what, todo))

    def take(self, *faults: Fault) -> None:
        """Note faults; past FAULTS of them the rest tells nothing new.

        Raises:
            TooMany: there are FAULTS of them.
        """
        self.items.extend(faults)
        if len(self.items) >= FAULTS:
            enough = Fault(
                "too-many-faults",
                max(f.at for f in self.items),
                f"{FAULTS} faults are enough: what follows is not read",
                "mend these first",
            )
            raise TooMany([*self.items, enough])

    def catching(self) -> "Catching":
        """Note a fault raised inside and go on after it."""
        return Catching(self)

    def stop(self) -> None:
        """Go no further with what cannot be judged.

        Raises:
            Faults: what was gathered, if anything was.
        """
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

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> bool:
        if isinstance(fault, Fault):
            self.faults.take(fault)
        elif isinstance(fault, Faults) and not isinstance(fault, TooMany):
            self.faults.take(*fault.items)
        else:
            return False
        return True


# Beginnings that turn a word into its opposite: *ungrounded* is one slip of the pen from
# *grounded*, and never meant by it.
TURNED = (
    ("", "un"),
    ("", "non"),
    ("", "in"),
    ("", "im"),
    ("", "dis"),
    ("", "de"),
    ("", "re"),
    ("", "ab"),
    ("", "a"),
    ("in", "ex"),
    ("in", "de"),
    ("in", "out"),
    ("im", "ex"),
    ("at", "de"),
    ("max", "min"),
    ("over", "under"),
    ("up", "down"),
    ("with", "without"),
)
# The same for words that share no ending.
OPPOSITES = ({"ungrounded", "ground"}, {"wet", "dry"}, {"line", "load"}, {"open", "closed"})


def opposite_words(one: str, other: str) -> bool:
    """Whether one of two words is the other turned round: grounded and ungrounded, interior and
    exterior.

    >>> opposite_words("ungrounded", "grounded")
    True
    """
    if {one, other} in OPPOSITES:
        return True
    return any(
        _turns(one, other, plain, turned) or _turns(other, one, plain, turned)
        for plain, turned in TURNED
    )


def _turns(one: str, other: str, plain: str, turned: str) -> bool:
    """Whether two words differ in nothing but that one begins with *plain*, the other *turned*."""
    return (
        one.startswith(plain)
        and other.startswith(turned)
        and one[len(plain) :] == other[len(turned) :]
    )


def _tokens(text: str) -> list[str]:
    return [t for t in re.split(r"[\s\-_/,.]+", text) if t]


def _slip(written: str, known: str) -> bool:
    """Whether *written* is *known* with a slip of the pen: a letter or two of a plain word, never a
    number or an abbreviation.

    ENT is no misspelt EMT, an RLA no LRA, a THWN no THHN, and 80 is not 40: they are other things.
    """
    one, other = written.lower(), known.lower()
    if one == other:
        return True
    short = min(len(one), len(other))
    if short < 4 or not (one.isalpha() and other.isalpha()) or known.isupper():
        return False
    if opposite_words(one, other):
        return False
    if _plural(one, other) or _plural(other, one):
        return True
    most = 2 if short > 7 else 1
    return abs(len(one) - len(other)) <= most and _steps(one, other) <= most


def _plural(many: str, one: str) -> bool:
    return many in (one + "s", one + "es")


def _steps(one: str, other: str) -> int:
    """How many letters were left out, put in, changed, or swapped with the next between two
    words.
    """
    rows = [list(range(len(other) + 1))]
    for i, letter in enumerate(one, 1):
        row = [i]
        for j, beside in enumerate(other, 1):
            row.append(min(rows[-1][j] + 1, row[-1] + 1, rows[-1][j - 1] + (letter != beside)))
            swapped = i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == beside
            if swapped:
                row[j] = min(row[j], rows[-2][j - 2] + 1)
        rows.append(row)
    return rows[-1][-1]


def _misspelt(word: str, known: str) -> int:
    """How far *word* is from *known*, where it can be no more than a misspelling of it; -1 where it
    may mean something else.
    """
    written, there = _tokens(word), _tokens(known)
    if "".join(written).lower() == "".join(there).lower():
        return 0  # parted otherwise: setback, set-back
    if len(written) != len(there) or not all(map(_slip, written, there)):
        return -1
    return sum(_steps(w.lower(), t.lower()) for w, t in zip(written, there))


HINTS = ("did you mean", "which is it")  # how a hint begins that names something


def suggest(word: str, known: Iterable[str], most: int = 20) -> str:
    """What a person may have meant by *word*: the one of *known* that it misspells, those that it
    is a part of, or the whole list while it is short.

    A hint that is followed must not change what was said. So nothing is offered that says more or
    less than *word*, its opposite, another number or another abbreviation; where several hold it,
    which of them is asked.

    >>> suggest("braker", ["breaker", "panel"])
    'did you mean "breaker"?'
    >>> suggest("size", ["conductor size", "trade size", "load"])
    'which is it: "conductor size", "trade size"?'
    >>> suggest("grounded", ["ungrounded", "bonded"])
    'known here: bonded, ungrounded'
    """
    word, names = str(word), sorted({str(k) for k in known})
    if len(word) > 80:  # nobody's misspelling
        return "known here: " + ", ".join(names[:most]) if names else "is this the right file?"
    alike = [name for name in names if name.lower() == word.lower()]
    if len(alike) == 1 and alike != [word]:
        return f'did you mean "{alike[0]}"?'
    near = _nearest(word, names)
    if len(near) == 1:
        return f'did you mean "{near[0]}"?'
    several = near or _holding(word, names)
    if len(several) > 1:
        return "which is it: " + ", ".join(f'"{name}"' for name in several[:5]) + "?"
    return _list_of([*several, *(name for name in names if name not in several)], most)


def nearest(word: str, known: Iterable[str], most: int = 5) -> list[str]:
    """The *most* names that look most like *word*, the nearest first; never its opposite.

    >>> nearest("wire sise", ["panel", "size", "wire size", "material"], 2)
    ['wire size', 'size']
    >>> nearest("grounded", ["ungrounded", "bonded"])
    ['bonded']
    """
    written = _tokens(str(word)[:80].lower())
    names = [n for n in dict.fromkeys(map(str, known)) if not turned(str(word), n)]
    return sorted(names, key=lambda name: (_unlike(written, _tokens(name.lower())), name))[:most]


def _unlike(written: list[str], known: list[str]) -> float:
    """How unlike two names are: each word against the one most like it, both ways."""
    return _apart(written, known) + _apart(known, written) / 2


def _apart(some: list[str], others: list[str]) -> float:
    return sum(
        min((_steps(one, other) / max(len(one), len(other)) for other in others), default=1.0)
        for one in some
    )


def turned(word: str, name: str) -> bool:
    """Whether a word of the one name is the opposite of one of the other's."""
    ours, theirs = _tokens(word.lower()), _tokens(name.lower())
    extra, lacking = {*ours} - {*theirs}, {*theirs} - {*ours}
    if {"not", "no", "without"} & (extra ^ lacking):
        return True
    return any(opposite_words(one, other) for one in extra for other in lacking)


# words of a name that only join the others
JOINING = {"a", "an", "the", "of", "to", "in", "for", "at", "is", "and"}
# after one of these a name says where or when, and no longer what
SAYING_WHERE = {"above", "at", "before", "below", "beside", "between", "by", "for", "from", "in"}
SAYING_WHERE |= {"into", "of", "on", "over", "past", "through", "to", "under", "while", "with"}


def near_misses(word: str, known: Iterable[str]) -> list[str]:
    """The names that *word* may be a slip of: misspelt, in another order, in the plural, or a part
    of what it is called. Opposites are among them: who writes one of these says something known.

    >>> near_misses("lenght", ["length", "panel"]), near_misses("size of wire", ["wire size"])
    (['length'], ['wire size'])
    >>> near_misses("paint", ["connected through paint", "material"])
    []
    """
    written = _tokens(str(word).lower())
    if not written or len(str(word)) > 80:
        return []
    return [name for name in known if _may_be_meant(written, _tokens(str(name).lower()))]


def _may_be_meant(written: list[str], known: list[str]) -> bool:
    if _loosely("".join(written), "".join(known)) or _all_loosely(written, known):
        return True
    plain = [t for t in written if t not in JOINING]
    if _all_loosely(sorted(plain), sorted(t for t in known if t not in JOINING)):
        return True
    what = known[: next((i for i, t in enumerate(known) if t in SAYING_WHERE), len(known))]
    if not plain or len(plain) >= len(known) or not what:
        return False
    return any(_alike(plain, piece) for piece in (what[: len(plain)], what[-len(plain) :]))


def _alike(some: list[str], others: list[str]) -> bool:
    """Whether two names are the same but for a plural."""
    return len(some) == len(others) and all(
        one == other or _plural(one, other) or _plural(other, one)
        for one, other in zip(some, others)
    )


def _all_loosely(some: list[str], others: list[str]) -> bool:
    return len(some) == len(others) > 0 and all(map(_loosely, some, others))


def _loosely(one: str, other: str) -> bool:
    """Whether one may be a slip of the other, abbreviations too: what is only asked about may be
    asked about more freely than what is offered.
    """
    if one == other or _plural(one, other) or _plural(other, one):
        return True
    short = min(len(one), len(other))
    if short < 3:
        return short == 2 == max(len(one), len(other)) and one == other[::-1]
    if any(c.isdigit() for c in one + other):
        return False
    if opposite_words(one, other):
        return True
    most = 2 if short > 7 else 1
    return abs(len(one) - len(other)) <= most and _steps(one, other) <= most


def _nearest(word: str, names: list[str]) -> list[str]:
    """Those of *names* that *word* most likely misspells. Two that are as near are both kept, for
    nobody knows which is meant.
    """
    far = {name: _misspelt(word, name) for name in names if name != word}
    least = min((steps for steps in far.values() if steps >= 0), default=None)
    near = {name for name, steps in far.items() if steps == least}
    if least == 0 and " " in word.strip():
        # "main s" may be "mains", parted, and as well "main is" with a letter left out
        near |= {name for name in names if " " in name and _steps(word.lower(), name.lower()) == 1}
    return sorted(near)


def _list_of(names: list[str], most: int) -> str:
    """The names that there are, or the first of them and how many more."""
    if len(names) <= most:
        return "known here: " + ", ".join(names) if names else ""
    return "known here: " + ", ".join(names[:most]) + f" and {len(names) - most} more"


def _holding(word: str, names: list[str]) -> list[str]:
    """Those of *names* in which the words of *word* stand, one after the other."""
    part = _tokens(word.lower())
    return [name for name in names if part and _holds(_tokens(name.lower()), part)]


def _holds(tokens: list[str], part: list[str]) -> bool:
    """Whether *part* stands in *tokens*, one after the other."""
    return any(tokens[i : i + len(part)] == part for i in range(len(tokens) - len(part) + 1))


def or_list(names: list[str]) -> str:
    """Names as one says a choice between them.

    >>> or_list(["EMT", "RMC", "IMC"])
    'EMT, RMC or IMC'
    """
    *first, last = names
    return f"{', '.join(first)} or {last}" if first else last
