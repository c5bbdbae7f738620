"""Named edits: what a pack changes in what stands below it, one verb an edit, its keys closed and
its dates real.

An edit never names a line number or a path: it names a rule, a value, or a row and column of a
table, and strikes words there. What counts is the date of the permit: an edit is in force from its
`from` up to, not including, its `until`. What each verb does is in `verbs`, a file
each; `applying` carries edits out in their order.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date as Date
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from ..basics.errors import Collector, Place
from ..basics.reading import Mapping, place_of, straight
from ..basics.units import day, unit_of
from ..language.forms import RULE
from ..language.rules import CODE_BY, NO_WORK, plain_text

if TYPE_CHECKING:
    from typing import Protocol

    from ..language.knowledge import Knowledge, Material

    class Holder(Protocol):
        """Who makes an edit: a pack, or what stands for one (a belief, a name kept in a cache)."""

        @property
        def name(self) -> str: ...
        @property
        def title(self) -> str: ...
        @property
        def place(self) -> str: ...
        @property
        def where(self) -> str: ...
        @property
        def layer(self) -> str: ...
        @property
        def rank(self) -> tuple[int, int]: ...
        @property
        def start(self) -> str: ...
        @property
        def end(self) -> str: ...
        @property
        def head(self) -> dict: ...


COMMON = (
    "cite",
    "reason",
    "from",
    "until",
    "corrected",
    "of",
    "meaning",
    "relieves",
    "examples",
    "notes",
)
NEW_RULE = tuple(
    k
    for k in RULE
    if k
    not in (
        "rule",
        "code",
        CODE_BY,
        "local",
        "manufacturer",
        "practice",
        "because",
        "examples",
    )
)


# which way an edit goes: some jobs fail that passed, some pass that failed, or some of both
STRICTER, LAXER, BOTH, CHANGES = "STRICTER", "LAXER", "BOTH", "CHANGES"
WAYS = (STRICTER, LAXER, BOTH, CHANGES)


# Later than every ISO date: of what has no end.
NEVER = "9999"


def day_before(end: str) -> str:
    """The last day of what ends before *end*."""
    return (Date.fromisoformat(end) - timedelta(days=1)).isoformat() if end else ""


@dataclass(eq=False)
class Edit:
    """One edit of one pack, its form checked."""

    pack: Holder
    number: int
    verb: str
    target: str
    d: Mapping
    at: Place
    start: str
    end: str
    redated: tuple[str, ...] = ()  # the days that a redate gives
    cite: str = ""  # the ordinance and its section
    sound: bool = True  # its form has no fault, nor have the days of its pack
    written: str | None = None  # its days as written, where a later pack gave it others
    # while its pack is checked: what it meant each time it was carried out; what its writer kept is
    # then held against all of that at once
    meant: list[str] | None = None
    # what it did when it was last applied: before, after, direction, says
    done: dict[str, Any] = field(default_factory=dict)

    def __getstate__(self) -> dict[str, Any]:
        """What a cache keeps: enough to name it."""
        from types import SimpleNamespace

        pack = SimpleNamespace(
            name=self.pack.name,
            title=self.pack.title,
            place=self.pack.place,
            where=self.pack.where,
            layer=self.pack.layer,
            rank=self.pack.rank,
            start=self.pack.start,
            end=self.pack.end,
        )
        return {
            **self.__dict__,
            "pack": pack,
            "d": plain_text(self.d),
            "meant": None,
            "done": {k: v for k, v in self.done.items() if isinstance(v, str)},
        }

    @property
    def name(self) -> str:
        return f"{self.pack.name}: {self.verb} {self.target}"

    def holds_on(self, date: str | None) -> bool:
        """Whether it is in force for a permit of *date*; with no date, only what has no dates
        is.
        """
        if date is None:
            return not self.first_day and self._end == NEVER
        return self.first_day <= date < self._end

    @property
    def _end(self) -> str:
        """The first day on which it no longer holds, of its own or of its pack's."""
        return min(self.end or NEVER, self.pack.end or NEVER)

    @property
    def last_day(self) -> str:
        return day_before(self._end) if self._end != NEVER else ""

    @property
    def first_day(self) -> str:
        return max(self.start, self.pack.start)

    def window(self) -> str:
        """Its days in words: "from 2025-07-01, last day 2026-12-31"."""
        if not self.last_day:
            return f"from {self.first_day}" if self.first_day else ""
        begins = f"from {self.first_day}, " if self.first_day else "up to its "
        return f"{begins}last day {self.last_day}"


def copy_of(item: Mapping, said: dict | None = None) -> Mapping:
    """A copy of a rule, a value or the head of a table, with its place and what it came through;
    where *said* is given, it says that.
    """
    out = Mapping(item if said is None else said)
    out.__dict__.update(item.__dict__)
    return out


def came_through(item: Mapping, edit: Edit) -> None:
    """Note on *item* that it came through *edit*: answers cite the ordinance beside the section."""
    item.through = f"{item.through} and {edit.cite}" if item.through else edit.cite


def withdrawn_by(known: Material | Knowledge, rule: str) -> Edit | None:
    """The edit that took a rule away."""
    # the language keeps it, and does not know what an edit is
    edits: dict[str, Any] = known.withdrawn
    return edits.get(rule)


# ---- reading -------------------------------------------------------------------------------------

_SIGNS = {
    "≥": ">=",
    "≤": "<=",
    "is at least": ">=",
    "at least": ">=",
    "no less than": ">=",
    "is at most": "<=",
    "at most": "<=",
    "no more than": "<=",
    "is more than": ">",
    "more than": ">",
    "is less than": "<",
    "less than": "<",
}


def _sign_pattern(sign: str) -> str:
    if not sign[0].isalpha():
        return sign
    # a fact may be called "more than one receptacle": only before a number is it a sign
    number = r"(?=\s+[\d(])" if re.search("(?<!no )(more|less) than", sign) else ""
    return f"\\b{sign}\\b{number}"


_SIGN = re.compile("|".join(map(_sign_pattern, _SIGNS)))
_UNIT = re.compile(r"(?<![\w.])(\d[\d,.]*)\s*([^\W\d_]{3,}|\")(?!\w)")


def words(text: object) -> str:
    """A line, or a piece of one, as the grammar writes it: plain quotes and spaces, its signs, its
    units.

    >>> words("length  ≤ 50 feet")
    'length <= 50 ft'
    """
    line = " ".join(straight(str(text)).split())
    if line.count('"') == 2 and line[0] == line[-1] == '"':
        line = line[1:-1]
    line = _SIGN.sub(lambda sign: _SIGNS[sign[0]], line)
    return _UNIT.sub(lambda m: f"{m[1]} {unit_of(m[2]) or m[2]}", line)


def read_window(d: dict, faults: Collector) -> tuple[str, str]:
    """`from` and `until` of *d* as ISO dates, "" where it has none; `2026-10-01 (permit)` names the
    date that counts.
    """
    start, end = (_read_day(d, key, faults) for key in ("from", "until"))
    if not start or not end or start < end:
        return start, end
    how = "on the day it begins" if start == end else f"before it begins on {start}"
    faults.add(
        "window-empty",
        place_of(d.get("until"), place_of(d)),
        f"it ends on {end}, {how}",
        "until: is the first day on which it no longer holds",
    )
    return start, ""


def _read_day(d: dict, key: str, faults: Collector) -> str:
    """The day that *key* says, as an ISO date; "" where it says none, or what is no day."""
    text = str(d.get(key, "")).strip()
    at = place_of(d.get(key), place_of(d))
    if named := re.fullmatch(r"(\S+)\s*\((.*)\)", text):
        text, which = named.groups()
        if which.strip() not in ("permit", "permit date", "by permit"):
            faults.add(
                "which-date",
                at,
                f'"{which}" is not the date that picks the rules',
                "the date of the permit is; write the day alone, and say in notes: what else"
                " hangs on another day",
            )
    if text:
        with faults.catching():
            return day(text, at).isoformat()
    return ""


# ---- what may have been meant by a key -----------------------------------------------------------

_A_DAY = re.compile(
    r"\d{4}-\d|\d+/\d+/"
    r"|(January|February|March|April|May|June|July|August|September|October|November|December)\b"
)
_ENDS = ("untill", "through", "expires", "ends", "to date", "end", "expiry", "sunset", "to")
_BEGINS = ("effective", "starts", "start", "since", "begin", "begins", "on")
_CONDITIONS = ("when", "except", "where", "only where", "unless", "only when", "if")
_OTHER_KEYS = {
    "because": "write reason:",
    "shall": "write must:",
    "shall not": "write must not:",
    "sets aside": "write exception to:",
    "law": "write cite: for the ordinance; the code's own sections stay with the rule",
    "edition": "write adopts: [{edition: 2023, from: 2025-07-01}]",
    "effective date": "write from: and the first day",
}


def other_way(key: str, value: object, elsewhere: str) -> str:
    """What a person may have wanted with a key that the verb, or the head of a pack, does not
    take; *elsewhere* says how to write a condition there.
    """
    dated = bool(_A_DAY.match(str(value)))
    if key in _ENDS and (dated or key == "untill"):
        return "write until: and the first day on which it no longer holds"
    if key in _BEGINS or (dated and key == "when"):
        return "write from: and the first day"
    if key in _CONDITIONS:
        return elsewhere
    if key in ("asks", "ask"):
        return NO_WORK["asks"]
    return _OTHER_KEYS.get(key, "")


__all__ = [
    "Edit",
    "COMMON",
    "NEW_RULE",
    "day_before",
    "read_window",
    "other_way",
    "words",
    "STRICTER",
    "LAXER",
    "BOTH",
    "CHANGES",
    "WAYS",
]
