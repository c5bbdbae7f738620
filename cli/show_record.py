"""What there is to keep of a job, and what has changed since, for a terminal."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from ..engine.front import Kept, Opened, Turned
from .layout import Line, wrap
from .show_parts import AID, head

SIGN = "Told to: ____________________  Signature: ____________________  Day: __________"
NOTHING = "No reading, no photograph, no correction is told, and nothing unsafe was found."
MOST = 40  # findings that turned, shown; a program reads all


def show_kept(job: Opened, kept: Kept, width: int = 80) -> list[Line]:
    """The logs, the photographs, the corrections with their rules, what is to be signed for."""
    out = head(job, width)
    for what, lines in job.told.job.beside.head.items():
        for said in lines:
            out += _text(f"{what.capitalize()}: {said}", width, 0, "source")
    for log in dict.fromkeys(one.log for one in kept.logs):
        out += _title(log)
        for logged in kept.logs:
            if logged.log == log:
                style = "fault" if logged.fails else ""
                out += _text(f"{logged.of}: {', '.join(logged.facts)}", width, 2, style)
                for verdict in logged.verdicts:
                    out += _text(verdict, width, 4, "fails" if logged.fails else "source")
    out += _title("Photographs") if kept.photographs else []
    for one in kept.photographs:
        there = "" if one.digest else "  NOT THERE"
        out += _text(f"{one.file}: {one.shows}{there}", width, 2, "" if one.digest else "caution")
    out += _title("An inspector wrote") if kept.corrections else []
    for written, meant in kept.corrections:
        out += _text(f'"{written}"', width, 2, "headline")
        if not meant:
            out += _text("no rule here has that section, or those words", width, 4, "caution")
        for rule in meant:
            out += _meant(rule, width)
    out += _title("Found unsafe, to be signed for") if kept.unsafe else []
    for found in kept.unsafe:
        out += _text(f"{found.says} [{found.source}]", width, 2, "fault")
        out += _text(f"{found.harm}, at {', '.join(found.on)}", width, 4, "source")
    if kept.unsafe:
        out += [[], [(SIGN, "")]]
    if not (kept.logs or kept.photographs or kept.corrections or kept.unsafe):
        out += [[], *_text(NOTHING, width, 0)]
    return [*out, [], [(AID, "source")]]


def _meant(rule: Any, width: int) -> list[Line]:
    """A rule that a correction may mean, and what it came to here."""
    out = _text(f"{rule.says} [{rule.section}]", width, 4)
    by = f"{rule.rule}: by {rule.by}"
    if rule.edition:
        by += f" of {rule.edition}"
    words = f"{rule.words} of its words" if rule.words else "none of its words"
    by += "" if rule.by == "its words" else f", and {words}"
    out += _text(by, width, 6, "source")
    if not rule.answers:
        return out + _text("here: it applies to nothing that was told", width, 6, "source")
    for answer in dict.fromkeys(answer for _, answer in rule.answers):
        where = ", ".join(on for on, each in rule.answers if each == answer)
        style = "fails" if answer == "fails" else "source"
        out += _text(f"here: {answer} ({where})", width, 6, style)
    return out


# ---- compared


@dataclass
class Compared:
    """A record beside what is now."""

    record: dict[str, Any]
    files: list[str]  # of the folder, that are not as they were written
    unread: str = ""  # why the job as it was cannot be read under the law of today
    law: list[str] = field(default_factory=list)
    turned: list[Turned] = field(default_factory=list)  # of the job as it was
    job_file: str = ""
    job_gone: bool = False
    job_changed: bool = False
    job_unread: str = ""
    of_job: list[Turned] = field(default_factory=list)  # of the job as it is, beside those
    photographs: list[str] = field(default_factory=list)

    @property
    def is_other(self) -> bool:
        """Whether anything is not what it was."""
        return bool(
            self.files
            or self.unread
            or self.law
            or self.turned
            or self.job_changed
            or self.photographs
        )


def show_compared(compared: Compared, width: int = 80) -> list[Line]:
    """What has changed since a record was made."""
    record = compared.record
    said = f"{record['job']['title']}, as it was on {record['day']}: {record['headline']}"
    out: list[Line] = [[(line, "headline")] for line in wrap(said, width)]
    out += _section("The folder", compared.files, "every file is as it was written", width)
    law = compared.law or ([compared.unread] if compared.unread else [])
    out += _section("The law", law, f"as it was ({record['law']['digest'][:12]})", width)
    if compared.unread:
        out += _text("The job cannot be read under the law of today.", width, 2, "fault")
    else:
        out += _title("What it finds of the job as it was")
        out += _turned(compared.turned, width)
    if compared.job_gone:
        text = f"{compared.job_file} is not there: --now FILE names the job as it is"
        out += [*_title("The job"), *_text(text, width, 2, "caution")]
    elif not compared.job_changed:
        out += [*_title("The job"), *_text(f"{compared.job_file} is as it was", width, 2)]
    else:
        out += [*_title("The job"), *_text(f"{compared.job_file} was changed", width, 2, "caution")]
        if compared.job_unread:
            out += _text(f"it cannot be read: {compared.job_unread}", width, 2, "fault")
        else:
            out += _turned(compared.of_job, width)
    if record["photographs"] and not compared.job_gone:
        out += _section("Photographs", compared.photographs, "as they were", width)
    return [*out, [], [(AID, "source")]]


def _turned(turned: list[Turned], width: int) -> list[Line]:
    """Findings that are not what they were, with rule and words."""
    if not turned:
        return _text("no finding turns", width, 2)
    out: list[Line] = []
    for one in turned[:MOST]:
        style = "fails" if one.now == "fails" else "passes" if one.now == "passes" else ""
        change = f"{one.was or 'no finding'} → {one.now or 'no finding'}"
        out += _text(f"{one.on}: {change}", width, 2, style)
        out += _text(f"{one.says} [{one.source}]", width, 4)
        out += _text(f"{one.rule}: {one.by}", width, 4, "source")
    if len(turned) > MOST:
        out += _text(f"and {len(turned) - MOST} more: --json has all", width, 2, "source")
    return out


def _section(title: str, said: list[str], otherwise: str, width: int) -> list[Line]:
    lines = [line for each in said for line in _text(each, width, 2, "caution")]
    return [*_title(title), *(lines or _text(otherwise, width, 2))]


def _title(text: str) -> list[Line]:
    return [[], [(text.upper(), "label")]]


def _text(text: str, width: int, indent: int, style: str = "") -> list[Line]:
    return [[(" " * indent + line, style)] for line in wrap(text, width - indent)]


def compared_as_dict(compared: Compared) -> dict[str, Any]:
    """What has changed, for a program."""
    return {
        "day": compared.record["day"],
        "headline": compared.record["headline"],
        "files": compared.files,
        "law": compared.law,
        "not read under the law of today": compared.unread,
        "turned": [vars(one) for one in compared.turned],
        "job": {
            "file": compared.job_file,
            "there": not compared.job_gone,
            "changed": compared.job_changed,
            "not read": compared.job_unread,
            "turned": [vars(one) for one in compared.of_job],
        },
        "photographs": compared.photographs,
        "changed": compared.is_other,
    }
