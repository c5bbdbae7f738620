"""Named edits: what a pack changes in what stands below it, one verb an edit, its keys closed and
its dates real.

An edit never names a line number or a path: it names a rule, a value, or a row and column of a
table, and strikes words there. What counts is the date of the permit: an edit is in force from its
`from` up to, not including, its `until`. What it does is carried out by `applying`, and said back
by `meanings`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date as Date
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.limits import EXAMPLES
from ..basics.reading import Mapping, place_of, straight
from ..basics.units import day, unit_of
from ..language.rules import CODE_BY, KEYS, plain_text

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


COMMON = ("cite", "reason", "from", "until", "of", "meaning", "relieves", "examples", "notes")
NEW_RULE = tuple(
    k
    for k in KEYS
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
VERBS = {
    "add": (*NEW_RULE, "instead of", "counts as"),
    "withdraw": (),
    "replace": (*NEW_RULE, "dropping", "counts as"),
    "amend": (
        "strike",
        "insert",
        "says",
        "because",
        "limits",
        "force",
        "row",
        "column",
        "insert row",
        "strike row",
    ),
    "set": ("to", "as in", "says", "because", "limits"),
    "redate": ("to", "edit of"),
    "alias": ("code",),
    "narrow": ("only when", "says"),
    "widen": ("drop", "says"),
    "adopt": ("edition",),
}
# What a clerk may write for a verb, and which one it is.
OTHER_VERBS = {
    "repeal": "withdraw",
    "delete": "withdraw",
    "remove": "withdraw",
    "drop": "withdraw",
    "in": "amend",
    "change": "amend",
    "edit": "amend",
    "correct": "amend",
    "strike": "amend",
    "raise": "set",
    "lower": "set",
    "value": "set",
    "restrict": "narrow",
    "limit": "narrow",
    "extend": "redate",
    "rename": "alias",
    "insert": "add",
    "new": "add",
}
# Keys whose value is one line, whatever the verb.
ONE_LINE = (
    "cite",
    "reason",
    "from",
    "until",
    "of",
    "meaning",
    "relieves",
    "strike",
    "insert",
    "force",
    "column",
    "as in",
    "edit of",
    "drop",
    "edition",
    "counts as",
)
# What a verb cannot do without, beside its target.
NEEDS = {
    "narrow": "only when",
    "widen": "drop",
    "alias": "code",
    "adopt": "edition",
    "redate": "to",
}
STRICTER, LAXER, CHANGES = "STRICTER", "LAXER", "CHANGES"
YES_OR_NO = {
    "relieves": "write relieves: yes where the edit asks less than before",
    "counts as": "write counts as: yes where a rule may say what a person is asked",
}
# What to write where a verb is there and nothing that it does.
FORM = {
    "amend": "write strike: and insert:, or row: and column: for a table, or force: must",
    "set": "write to: and the value with its unit, or as in: 2017",
    "redate": "write to: {until: 2025-09-01}",
    "alias": "write code: {2023: section}",
    "narrow": "write only when: and a condition",
    "widen": "write drop: and the condition that no longer counts",
    "adopt": "write edition: 2026",
    "add": "write says:, about:, and must: or another verb",
    "replace": "write says:, about:, and the whole rule as it shall read",
}


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
            "done": {k: v for k, v in self.done.items() if isinstance(v, str)},
        }

    @property
    def name(self) -> str:
        return f"{self.pack.name}: {self.verb} {self.target}"

    @property
    def whole(self) -> bool:
        """Whether it is about the whole rule rather than a part of it."""
        return self.verb in ("withdraw", "replace", "adopt")

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


def read_edit(d: Mapping, pack: Holder, number: int, faults: Collector) -> Edit:
    """One edit from its YAML; its keys closed, its dates real. What it does is seen when it is
    applied, and what is amiss but leaves something to carry out is noted in *faults*.

    Raises:
        Fault: nothing could be carried out.
    """
    verb = _verb_of(d)
    before = len(faults.items)
    edit = Edit(pack, number, verb, str(d[verb]), d, place_of(d), *read_window(d, faults))
    edit.cite = _cited(d, pack)
    _see_keys(edit, faults)
    _see_grounds(edit, faults)
    _see_yes_or_no(edit, faults)
    _see_it_changes_something(edit)
    _see_one_line(edit)
    if verb == "redate":
        edit.redated = _new_days(edit, faults)
    _see_examples_few(edit, faults)
    # beliefs stand for packs here, and have no days that could be faulty
    edit.sound = len(faults.items) == before and getattr(pack, "dated", True)
    return edit


def _verb_of(d: Mapping) -> str:
    """The one verb of an edit, which names one target."""
    verbs = [verb for verb in VERBS if verb in d]
    if len(verbs) != 1:
        raise Fault(
            "edit-verb",
            place_of(d),
            "one edit has two verbs: " + " and ".join(f'"{verb}"' for verb in verbs),
            "begin each with a dash of its own",
        )
    verb = verbs[0]
    if not isinstance(d[verb], str) or not d[verb]:
        raise Fault(
            "edit-form",
            place_of(d[verb], place_of(d)),
            f'"{verb}" names one rule, value or table',
            f"write {verb}: and its name",
        )
    return verb


def _cited(d: Mapping, pack: Holder) -> str:
    """The ordinance of an edit and its section.

    "§4" is of the pack's ordinance, "Ordinance 9 §1" of another.
    """
    whole, own = str(pack.head.get("cite", "")), str(d.get("cite", ""))
    return own if not whole or own.split()[:1] == whole.split()[:1] else f"{whole} {own}"


def _keys_of(verb: str) -> tuple[str, ...]:
    """The keys that an edit of this verb takes."""
    return verb, *COMMON, *VERBS[verb]


def _see_keys(edit: Edit, faults: Collector) -> None:
    """Note the keys that the verb does not take, with what may have been meant."""
    takes = _keys_of(edit.verb)
    for key in edit.d:
        if key not in takes:
            faults.add(
                "edit-key",
                place_of(key),
                f'{edit.verb} takes no "{key}"',
                other_way(edit.verb, str(key), edit.d[key], edit.target)
                or suggest(str(key), takes),
            )


def _see_grounds(edit: Edit, faults: Collector) -> None:
    """Note what is missing of who says so, and why."""
    for need, todo in (
        ("cite", "add cite: and the section of the ordinance"),
        ("reason", "add reason: and one sentence"),
    ):
        said = edit.d.get(need, "")
        if isinstance(said, str) and not said.strip():
            faults.add(
                "edit-lacks",
                edit.at,
                f'{edit.verb} {edit.target} does not say "{need}:"',
                todo,
            )
    if not edit.pack.layer:
        faults.add(
            "edit-without-law",
            edit.at,
            f'pack "{edit.pack.name}" edits {edit.target}, and does not say whose law it is',
            "add layer:, authority: and cite: to the head of the pack",
        )


def _see_yes_or_no(edit: Edit, faults: Collector) -> None:
    """Note what is neither yes nor no where one of the two is meant."""
    for key, todo in YES_OR_NO.items():
        if key in _keys_of(edit.verb) and str(edit.d.get(key, "no")) not in ("yes", "no"):
            faults.add("edit-form", place_of(edit.d[key], edit.at), f'"{key}" is yes or no', todo)


def _see_it_changes_something(edit: Edit) -> None:
    """Raise a fault where the verb stands alone."""
    says_what = edit.verb not in FORM or any(key in edit.d for key in VERBS[edit.verb])
    if not says_what or NEEDS.get(edit.verb, edit.verb) not in edit.d:
        raise Fault(
            "edit-form",
            edit.at,
            f"{edit.verb} {edit.target} does not say what changes",
            FORM[edit.verb],
        )


def _see_one_line(edit: Edit) -> None:
    """Raise a fault where a list or a mapping stands for one line."""
    takes = _keys_of(edit.verb)
    for key in ONE_LINE:
        if key in takes and not isinstance(edit.d.get(key, ""), str):
            raise Fault(
                "edit-form",
                place_of(edit.d[key], edit.at),
                f'"{key}" of {edit.verb} {edit.target} is one line',
                f"write {key}: and one line; two edits begin with a dash each",
            )
    if edit.verb == "set" and not isinstance(edit.d.get("to", ""), str):
        raise Fault(
            "edit-form",
            place_of(edit.d["to"], edit.at),
            f'"to" of set {edit.target} is one value',
            "write to: and the value with its unit; a value of other days is an edit of its own,"
            " with from: and until:",
        )


def _new_days(edit: Edit, faults: Collector) -> tuple[str, str]:
    """The days that a redate gives."""
    to = edit.d.get("to")
    if not isinstance(to, dict) or not to or set(to) - {"from", "until"}:
        raise Fault(
            "edit-form",
            place_of(to, edit.at),
            f'"to" of redate {edit.target} gives dates',
            FORM["redate"],
        )
    return read_window(to, faults)


def _see_examples_few(edit: Edit, faults: Collector) -> None:
    """Note that an edit has more examples than are read."""
    examples = edit.d.get("examples")
    if isinstance(examples, list) and len(examples) > EXAMPLES:
        faults.add(
            "edit-form",
            place_of(examples, edit.at),
            f"{edit.verb} {edit.target} has {len(examples):,} examples, and {EXAMPLES} are read",
            "keep those that show most",
        )


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


def other_way(verb: str, key: str, value: object, target: str = "") -> str:
    """What a person may have wanted with a key that the verb, or the head of a pack, does not
    take.
    """
    dated = bool(_A_DAY.match(str(value)))
    if key in _ENDS and (dated or key == "untill"):
        return "write until: and the first day on which it no longer holds"
    if key in _BEGINS or (dated and key == "when"):
        return "write from: and the first day"
    if key in _CONDITIONS:
        return _other_condition(verb, target)
    if key in ("asks", "ask"):
        return (
            "to ask a person, give the fact ask: under words:; to demand it, write must:; refers:"
            " is for what no fact can settle"
        )
    return _OTHER_KEYS.get(key, "")


def _other_condition(verb: str, target: str) -> str:
    """How to say in an edit of this verb that something holds only where something is so."""
    return {
        "amend": "strike acts everywhere; for some places only, add a rule with when:",
        "withdraw": (
            f"a rule is withdrawn everywhere; to keep it for some, write narrow: {target}, only"
            " when: and the condition"
        ),
        "narrow": "write only when: and the condition under which it still holds",
        "set": "a value is set everywhere; for some places only, add a rule",
    }.get(verb, "write only when: in a narrow, or when: in a rule that is added")


__all__ = [
    "Edit",
    "VERBS",
    "COMMON",
    "NEW_RULE",
    "FORM",
    "OTHER_VERBS",
    "day_before",
    "read_edit",
    "read_window",
    "other_way",
    "words",
    "STRICTER",
    "LAXER",
    "CHANGES",
]
