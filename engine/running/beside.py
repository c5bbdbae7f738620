"""What a job's file says beside the things of the job, for people alone: its head, its photographs,
what an inspector wrote. No rule reads it, so that no finding can rest on it.
"""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass, field
from typing import Any

from ..basics.errors import Collector, Place
from ..basics.forms import DAY, LISTED, OTHER, PROSE, Form, Key
from ..basics.reading import Mapping, place_of

HEAD, PHOTOGRAPHS, CORRECTIONS = BESIDE = ("head", "photographs", "corrections")
DATES = "dates"

MOST_SIGNS = 1000  # of one line: more is no line of a sheet
MOST_LINES = 200  # of one list
FORM = Form(
    "the head of a job has no",
    "head-key",
    {
        "customer": Key("Whom the work is for."),
        "address": Key("Where it is done."),
        "contractor": Key("Who does it."),
        "license": Key("The contractor's license, as it has to stand on a paper."),
        "call": Key("Whom to call, and how."),
        "visits": Key("The days of the visits, each with what it is for.", LISTED),
        DATES: Key("Other days by name: {offered: 2026-12-01}.", OTHER),
        "access": Key("How to get in; what is in the way.", PROSE),
        "notes": Key("For the shop alone.", PROSE),
    },
)
CORRECTION = Form(
    "a correction has no",
    "correction-key",
    {
        "section": Key("The section as it is written."),
        "says": Key("The words as they are written.", PROSE),
        "day": Key("The day it was written.", DAY),
        "by": Key("Who wrote it."),
    },
)


@dataclass(frozen=True)
class Correction:
    """What an inspector wrote."""

    section: str
    says: str
    day: str = ""
    by: str = ""


@dataclass
class Beside:
    """Everything of it, as lines of text."""

    head: dict[str, list[str]] = field(default_factory=dict)
    photographs: dict[str, str] = field(default_factory=dict)  # name of the file -> what it shows
    corrections: list[Correction] = field(default_factory=list)


class _Reading:
    """Reads it, and goes on after each fault."""

    def __init__(self, faults: Collector, at: Place) -> None:
        self.faults, self.at = faults, at

    def fault(self, piece: Any, what: str, todo: str) -> None:
        self.faults.add("beside-form", place_of(piece, self.at), what, todo)

    def line(self, piece: Any, what: str) -> str:
        """One line of text; "" with a fault where it is none."""
        if isinstance(piece, (dict, list)) or piece is None:
            self.fault(piece, f"{what} is no line of text", f"write {what}: and its words")
            return ""
        text = " ".join(str(piece).split())
        if len(text) > MOST_SIGNS:
            said = f"{what} has {len(text):,} signs, and more than {MOST_SIGNS:,} are no line"
            self.fault(piece, said, "write it shorter")
        elif not text:
            self.fault(piece, f"{what} says nothing", "write it, or leave the line out")
        return text

    def lines(self, piece: Any, what: str) -> list[str]:
        """One line, or a list of lines."""
        listed = piece if isinstance(piece, list) else [piece]
        if len(listed) > MOST_LINES:
            self.fault(piece, f"{what} has more than {MOST_LINES} lines", "write fewer")
            return []
        return [self.line(each, what) for each in listed]

    def day(self, piece: Any, what: str) -> str:
        """A day; "" with a fault where it is none."""
        text = self.line(piece, what)
        try:
            datetime.date.fromisoformat(text)
        except ValueError:
            if text:
                self.fault(piece, f'{what}: "{text}" is no day', "write it as 2026-11-25")
            return ""
        return text

    def head(self, said: Any) -> dict[str, list[str]]:
        if not isinstance(said, dict):
            todo = "write head: {customer: ..., address: ...}"
            self.fault(said, '"head" says for whom and where a job is', todo)
            return {}
        FORM.see(said, self.faults, place_of(said, self.at))
        out: dict[str, list[str]] = {}
        for key, piece in said.items():
            if key == DATES:
                out[DATES] = self.dates(piece)
            elif key in FORM:
                out[str(key)] = self.lines(piece, str(key))
        return {key: out[key] for key in FORM if out.get(key)}

    def dates(self, said: Any) -> list[str]:
        if not isinstance(said, dict):
            self.fault(said, '"dates" are days by name', "write dates: {offered: 2026-12-01}")
            return []
        return [f"{name} {self.day(day, str(name))}" for name, day in said.items()]

    def photographs(self, said: Any) -> dict[str, str]:
        if not isinstance(said, dict):
            todo = "write photographs: {before.jpg: what it shows}"
            self.fault(said, '"photographs" are files, each with what it shows', todo)
            return {}
        for name in said:
            if not _below(str(name)):
                what = f'"{name}" is no file beside the job'
                self.fault(name, what, "name a file in the folder of the job, or below it")
        return {str(name): self.line(piece, str(name)) for name, piece in said.items()}

    def corrections(self, said: Any) -> list[Correction]:
        out = []
        for each in said if isinstance(said, list) else [said]:
            if not isinstance(each, dict) or not ("section" in each or "says" in each):
                todo = 'write corrections: [{section: "110.14(D)", says: what is written}]'
                self.fault(each, "a correction has a section, its words, or both", todo)
                continue
            CORRECTION.see(each, self.faults, place_of(each, self.at))
            words = {
                key: self.day(each[key], key) if key == "day" else self.line(each[key], key)
                for key in CORRECTION
                if key in each
            }
            out.append(Correction(**{"section": "", "says": "", **words}))
        return out


def _below(name: str) -> bool:
    """Whether a name is that of a file in a folder or below it, and leads nowhere else."""
    parts = re.split(r"[/\\]", name)
    return bool(name) and ":" not in name and not any(part in ("", ".", "..") for part in parts)


def beside_of(body: Mapping, faults: Collector, at: Place) -> Beside:
    """What a job's file says beside its things; what is wrong in it goes to *faults*."""
    reading, out = _Reading(faults, at), Beside()
    if HEAD in body:
        out.head = reading.head(body[HEAD])
    if PHOTOGRAPHS in body:
        out.photographs = reading.photographs(body[PHOTOGRAPHS])
    if CORRECTIONS in body:
        out.corrections = reading.corrections(body[CORRECTIONS])
    return out
