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

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.limits import EXAMPLES
from ..basics.reading import Mapping, place_of, straight
from ..basics.units import day, unit_of
from ..language.rules import CODE_BY, KEYS, plain_text

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
NEEDS = {
    "narrow": "only when",
    "widen": "drop",
    "alias": "code",
    "adopt": "edition",
    "redate": "to",
}
STRICTER, LAXER, CHANGES = "STRICTER", "LAXER", "CHANGES"
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


def day_before(end: str) -> str:
    """The last day of what ends before *end*."""
    return (Date.fromisoformat(end) - timedelta(days=1)).isoformat() if end else ""


@dataclass(eq=False)
class Edit:
    """One edit of one pack, its form checked."""

    pack: object
    number: int
    verb: str
    target: str
    d: Mapping
    at: Place
    start: str
    end: str
    redated: tuple = ()
    cite: str = ""  # the ordinance and its section
    sound: bool = True  # its form has no fault, nor have the days of its pack
    written: str | None = None  # its days as written, where a later pack gave it others
    # what it did when it was last applied: before, after, direction, says
    done: dict = field(default_factory=dict)

    def __getstate__(self):
        """What a cache keeps: enough to name it."""
        from types import SimpleNamespace

        p = self.pack
        pack = SimpleNamespace(
            name=p.name,
            title=p.title,
            place=p.place,
            where=p.where,
            layer=p.layer,
            rank=p.rank,
            start=p.start,
            end=p.end,
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
        start, end = (
            max(self.start, self.pack.start),
            min(self.end or "9999", self.pack.end or "9999"),
        )
        if date is None:
            return not start and end == "9999"
        return start <= date < end

    @property
    def last_day(self) -> str:
        end = min(self.end or "9999", self.pack.end or "9999")
        return day_before(end) if end != "9999" else ""

    @property
    def first_day(self) -> str:
        return max(self.start, self.pack.start)

    def window(self) -> str:
        """Its days in words: "from 2025-07-01, last day 2026-12-31"."""
        if not self.last_day:
            return f"from {self.first_day}" if self.first_day else ""
        return (
            f"from {self.first_day}, " if self.first_day else "up to its "
        ) + f"last day {self.last_day}"


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
# a fact may be called "more than one receptacle"
_SIGN = re.compile(
    "|".join(
        (
            f"\\b{s}\\b" + (r"(?=\s+[\d(])" if re.search("(?<!no )(more|less) than", s) else "")
            if s[0].isalpha()
            else s
        )
        for s in _SIGNS
    )
)
_UNIT = re.compile(r"(?<![\w.])(\d[\d,.]*)\s*([^\W\d_]{3,}|\")(?!\w)")


def words(text: str) -> str:
    """A line, or a piece of one, as the grammar writes it: plain quotes and spaces, its signs, its
    units.
    """
    text = " ".join(straight(str(text)).split())
    text = text[1:-1] if text.count('"') == 2 and text[0] == text[-1] == '"' else text
    return _UNIT.sub(
        lambda m: f"{m[1]} {unit_of(m[2]) or m[2]}", _SIGN.sub(lambda m: _SIGNS[m[0]], text)
    )


def read_window(d: Mapping, faults: Collector) -> tuple[str, str]:
    """`from` and `until` of *d* as ISO dates, "" where it has none; `2026-10-01 (permit)` names the
    date that counts.
    """
    out = []
    for key in ("from", "until"):
        text, read = str(d.get(key, "")).strip(), ""
        at = place_of(d.get(key), place_of(d))
        if m := re.fullmatch(r"(\S+)\s*\((.*)\)", text):
            text = m[1]
            if m[2].strip() not in ("permit", "permit date", "by permit"):
                faults.add(
                    "which-date",
                    at,
                    f'"{m[2]}" is not the date that picks the rules',
                    "the date of the permit is; write the day alone, and say in notes: what else"
                    " hangs on another day",
                )
        if text:
            with faults.catching():
                read = day(text, at).isoformat()
        out.append(read)
    if all(out) and out[0] >= out[1]:
        said = "on the day" if out[0] == out[1] else "before"
        faults.add(
            "window-empty",
            place_of(d.get("until"), place_of(d)),
            f"it ends on {out[1]}, {said} it begins"
            + (f" on {out[0]}" if said == "before" else ""),
            "until: is the first day on which it no longer holds",
        )
        return out[0], ""
    return out[0], out[1]


def read_edit(d: Mapping, pack, number: int, faults: Collector) -> Edit:
    """One edit from its YAML; its keys closed, its dates real. What it does is seen when it is
    applied.

    Raises Fault where nothing could be carried out; what is amiss beside that is noted in *faults*.
    """
    verbs = [v for v in VERBS if v in d]
    at = place_of(d)
    if len(verbs) != 1:
        raise Fault(
            "edit-verb",
            at,
            "one edit has two verbs: " + " and ".join(f'"{v}"' for v in verbs),
            "begin each with a dash of its own",
        )
    verb, before = verbs[0], len(faults.items)
    if not isinstance(d[verb], str) or not d[verb]:
        raise Fault(
            "edit-form",
            place_of(d[verb], at),
            f'"{verb}" names one rule, value or table',
            f"write {verb}: and its name",
        )
    e = Edit(pack, number, verb, str(d[verb]), d, at, *read_window(d, faults))
    whole, own = str(pack.head.get("cite", "")), str(d.get("cite", ""))
    # "§4" is of the pack's ordinance, "Ordinance 9 §1" of another
    e.cite = own if not whole or own.split()[:1] == whole.split()[:1] else f"{whole} {own}"
    takes = (verb, *COMMON, *VERBS[verb])
    for k in d:
        if k not in takes:
            faults.add(
                "edit-key",
                place_of(k),
                f'{verb} takes no "{k}"',
                other_way(verb, str(k), d[k], e.target) or suggest(str(k), takes),
            )
    for need in ("cite", "reason"):
        if need not in d or isinstance(d[need], str) and not d[need].strip():
            faults.add(
                "edit-lacks",
                at,
                f'{verb} {e.target} does not say "{need}:"',
                {
                    "cite": "add cite: and the section of the ordinance",
                    "reason": "add reason: and one sentence",
                }[need],
            )
    if not pack.layer:
        faults.add(
            "edit-without-law",
            at,
            f'pack "{pack.name}" edits {e.target}, and does not say whose law it is',
            "add layer:, authority: and cite: to the head of the pack",
        )
    for k in ("relieves", "counts as"):
        if k in takes and k in d and str(d[k]) not in ("yes", "no"):
            faults.add(
                "edit-form",
                place_of(d[k], at),
                f'"{k}" is yes or no',
                {
                    "relieves": "write relieves: yes where the edit asks less than before",
                    "counts as": "write counts as: yes where a rule may say what a person is asked",
                }[k],
            )
    if verb in FORM and not any(k in d for k in VERBS[verb]) or NEEDS.get(verb, verb) not in d:
        raise Fault("edit-form", at, f"{verb} {e.target} does not say what changes", FORM[verb])
    for k in ONE_LINE:
        if k in d and k in takes and not isinstance(d[k], str):
            raise Fault(
                "edit-form",
                place_of(d[k], at),
                f'"{k}" of {verb} {e.target} is one line',
                f"write {k}: and one line; two edits begin with a dash each",
            )
    if verb == "set" and not isinstance(d.get("to", ""), str):
        raise Fault(
            "edit-form",
            place_of(d["to"], at),
            f'"to" of set {e.target} is one value',
            "write to: and the value with its unit; a value of other days is an edit of its own,"
            " with from: and until:",
        )
    if verb == "redate":
        to = d.get("to")
        if not isinstance(to, dict) or not to or set(to) - {"from", "until"}:
            raise Fault(
                "edit-form",
                place_of(to, at),
                f'"to" of redate {e.target} gives dates',
                FORM["redate"],
            )
        e.redated = read_window(to, faults)
    if isinstance(d.get("examples"), list) and len(d["examples"]) > EXAMPLES:
        faults.add(
            "edit-form",
            place_of(d["examples"], at),
            f"{verb} {e.target} has {len(d['examples']):,} examples, and {EXAMPLES} are read",
            "keep those that show most",
        )
    e.sound = len(faults.items) == before and getattr(pack, "dated", True)
    return e


def other_way(verb: str, key: str, value, target: str = "") -> str:
    """What a person may have wanted with a key that the verb, or the head of a pack, does not
    take.
    """
    dated = bool(
        re.match(
            r"\d{4}-\d|\d+/\d+/|(January|February|March|April|May|June|July|August|September"
            r"|October|November|December)\b",
            str(value),
        )
    )
    if key in (
        "untill",
        "through",
        "expires",
        "ends",
        "to date",
        "end",
        "expiry",
        "sunset",
        "to",
    ) and (dated or key == "untill"):
        return "write until: and the first day on which it no longer holds"
    if key in ("effective", "starts", "start", "since", "begin", "begins", "on") or (
        dated and key == "when"
    ):
        return "write from: and the first day"
    if key in ("when", "except", "where", "only where", "unless", "only when", "if"):
        return {
            "amend": "strike acts everywhere; for some places only, add a rule with when:",
            "withdraw": (
                f"a rule is withdrawn everywhere; to keep it for some, write narrow: {target}, only"
                " when: and the condition"
            ),
            "narrow": "write only when: and the condition under which it still holds",
            "set": "a value is set everywhere; for some places only, add a rule",
        }.get(verb, "write only when: in a narrow, or when: in a rule that is added")
    if key in ("asks", "ask"):
        return (
            "to ask a person, give the fact ask: under words:; to demand it, write must:; refers:"
            " is for what no fact can settle"
        )
    return {
        "because": "write reason:",
        "shall": "write must:",
        "shall not": "write must not:",
        "sets aside": "write exception to:",
        "law": "write cite: for the ordinance; the code's own sections stay with the rule",
        "edition": "write adopts: [{edition: 2023, from: 2025-07-01}]",
        "effective date": "write from: and the first day",
    }.get(key, "")


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
