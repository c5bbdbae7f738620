"""A job as it was on a day, kept to be compared: what was told, the laws it was judged by, what
they found, what was read and photographed; and later what has changed since.
"""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..answering.findings import Finding
from ..basics.errors import Fault, Place
from ..basics.shapes import wrong
from ..language.knowledge import KB
from ..language.tables import Row as TableRow
from ..law.library import pack_files
from ..proving.wording import short, show, unit_shown
from .corrections import Meant, meant_by
from .opening import WORK_PACK, How, Opened

KEPT = "kept-readings"  # the table of what is read, and into which log it goes
HARM, SIGNED = "harm-of-faults", "harms-to-sign"  # how bad a fault is, and which one signs for
EVERY_FACT = "*"
RECORD, JOB, LIST = "record.json", "job.yaml", "files.txt"
FORM = 1  # of a record: a later one may be another
SHAPE: dict[str, Any] = {
    "form": int,
    "day": str,
    "job": {"file": str, "digest": str, "title": str},
    "how": {"packs": [str], "shops": [str], "edition": str, "date": str, "place": str},
    "law": {"digest": str, "edition": str, "packs": [{"pack": str, "edition": str, "digest": str}]},
    "headline": str,
    "findings": [
        {"rule": str, "on": str, "answer": str, "says": str, "source": str, "meaning": str}
    ],
    "photographs": [{"file": str, "shows": str, "digest": str}],
}


@dataclass(frozen=True)
class Logged:
    """One line of a log: what was read, and what the rules say to it."""

    log: str
    of: str
    facts: tuple[str, ...]
    verdicts: tuple[str, ...]  # what is not as it should be, in sentences; "passes" where all is
    fails: bool


@dataclass(frozen=True)
class Photograph:
    """A photograph: its file beside the job, what it shows, the digest of what it is; "" of one
    that is not there.
    """

    file: str
    shows: str
    digest: str


@dataclass(frozen=True)
class Unsafe:
    """What was found and may hurt somebody."""

    says: str
    source: str
    harm: str
    on: tuple[str, ...]


@dataclass
class Kept:
    """What a record holds beside the job and its sheets."""

    logs: list[Logged]
    photographs: list[Photograph]
    corrections: list[tuple[str, list[Meant]]]  # as it is written, and the rules that it may mean
    unsafe: list[Unsafe]


def kept_of(job: Opened, folder: Path) -> Kept:
    """What there is to keep of a job whose file lies in *folder*."""
    beside = job.told.job.beside
    photographs = [
        Photograph(name, shows, digest_of(folder / name))
        for name, shows in beside.photographs.items()
    ]
    corrections = [
        (" ".join(filter(None, (one.section, one.says))), meant_by(one, job))
        for one in beside.corrections
    ]
    return Kept(list(logged(job)), photographs, corrections, list(unsafe(job)))


# ---- what was read


def logged(job: Opened) -> Iterator[Logged]:
    """Every reading of a job with its verdict, log by log."""
    on: dict[str, list[Finding]] = {}
    for finding in job.told.standing.findings:
        on.setdefault(finding.on, []).append(finding)
    decides = {(one.finding.rule, one.finding.on) for one in job.told.standing.undecided}
    for row in job.knowledge.tables[KEPT].rows:
        for thing in job.told.w.by_kind.get(str(row["kind"]), ()):
            facts = tuple(_facts(job, thing, row))
            if facts:
                verdicts, fails = _verdicts(on.get(thing[0].id, []), decides)
                yield Logged(str(row["log"]), short(thing), facts, verdicts, fails)


def _facts(job: Opened, thing: Any, row: TableRow) -> Iterator[str]:
    """What was told of a thing, of the facts that its log keeps."""
    words = job.knowledge.words.kinds[thing[0].kind].words
    wanted = str(row["facts"])
    names = list(thing[0].told) if wanted == EVERY_FACT else wanted.split("|")
    for name in names:
        word = words.get(name)
        if word is not None and name in thing[0].told and not word.part and word.ask:
            value = thing[word.slot]
            shown = short(value) if isinstance(value, list) else None
            yield f"{name} {shown or show(value, unit_shown(thing, name, word.unit))}"


def _verdicts(
    findings: list[Finding], decides: set[tuple[str, str]]
) -> tuple[tuple[str, ...], bool]:
    """What the rules say to a reading; a reading that no rule judges has no verdict."""
    bad = [one for one in findings if one.answer == "fails"]
    open_ = [one for one in findings if (one.rule, one.on) in decides]
    advice = [one for one in findings if one.answer == "advice"]
    said = [f"FAILS: {one.says} [{one.source}]" for one in bad]
    said += [f"advice: {one.says} [{one.source}]" for one in advice]
    said += [f"cannot tell: {one.says} [{one.source}]" for one in open_]
    passing = [one for one in findings if one.answer == "passes"]
    if not said:
        left = [one for one in findings if one.answer == "cannot tell"]
        said = ["passes"] if passing else [f"cannot tell: {one.says}" for one in left]
    said = said or ["no rule here judges it"]
    return tuple(said), bool(bad)


# ---- what is unsafe


def unsafe(job: Opened) -> Iterator[Unsafe]:
    """What was found wrong, as told, and may hurt somebody: the worst first."""
    harms = [str(row["harm"]) for row in job.knowledge.tables[SIGNED].rows]
    of = {str(row["rule"]): str(row["harm"]) for row in job.knowledge.tables[HARM].rows}
    grouped: dict[tuple[int, str, str, str], list[str]] = {}
    standing = job.told.standing
    for finding in standing.faults:
        harm = of.get(finding.rule, "")
        if harm in harms:
            key = harms.index(harm), finding.says, finding.source, harm
            grouped.setdefault(key, []).append(short(standing.world.things[finding.on]))
    for (_, says, source, harm), where in sorted(grouped.items()):
        yield Unsafe(says, source, harm, tuple(where))


# ---- frozen


def digest_of(path: Path) -> str:
    """The digest of a file; "" where there is none that can be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""


def _law(job: Opened) -> dict[str, Any]:
    """The packs in force, each with a digest of its files."""
    force, knowledge = job.told.force, job.knowledge
    folders = {"base": KB / "base", WORK_PACK.name: WORK_PACK}
    folders |= {pack.name: pack.folder for pack in force.packs}
    packs = [
        {
            "pack": str(head["pack"]),
            "edition": knowledge.edition,
            "digest": _digest_of_pack(folders.get(str(head["pack"]))),
        }
        for head in knowledge.packs
    ]
    return {"digest": knowledge.digest, "edition": knowledge.edition, "packs": packs}


def _digest_of_pack(folder: Path | None) -> str:
    """A digest of all files of a pack; "" where it is not known where they lie."""
    if folder is None:
        return ""
    said = hashlib.sha256()
    for path in sorted(pack_files(folder)):
        said.update(f"{path.relative_to(folder).as_posix()} {digest_of(path)}\n".encode())
    return said.hexdigest()


def findings_of(job: Opened) -> list[dict[str, str]]:
    """What was found of a job as it was told, each with a digest of what its rule means."""
    rules = job.knowledge.rules
    return [
        {
            "rule": one.rule,
            "on": one.on,
            "answer": one.answer,
            "says": one.says,
            "source": one.source,
            "meaning": rules[one.rule].meaning() if one.rule in rules else "",
        }
        for one in job.told.standing.findings
    ]


def record_of(
    job: Opened, kept: Kept, file: Path, how: How, day: datetime.date | None = None
) -> dict[str, Any]:
    """The record of a job as plain data: what is compared later, and what people read of it."""
    return {
        "form": FORM,
        "day": (day or datetime.date.today()).isoformat(),
        "job": {"file": file.name, "digest": digest_of(file), "title": job.title},
        "how": {
            "packs": list(how.packs),
            "shops": list(how.shops),
            "edition": how.edition or "",
            "date": how.date or "",
            "place": how.place or "",
        },
        "law": _law(job),
        "headline": job.note.headline,
        "findings": findings_of(job),
        "logs": [
            {"log": one.log, "of": one.of, "facts": one.facts, "verdicts": one.verdicts}
            for one in kept.logs
        ],
        "photographs": [vars(one) for one in kept.photographs],
        "corrections": [
            {"written": written, "rules": [one.rule for one in meant]}
            for written, meant in kept.corrections
        ],
        "unsafe": [vars(one) for one in kept.unsafe],
    }


def how_of(record: dict[str, Any]) -> How:
    """Under which law a recorded job was opened."""
    how = record["how"]
    return How(
        tuple(how["packs"]),
        tuple(how["shops"]),
        how["edition"] or None,
        how["date"] or None,
        how["place"] or None,
    )


# ---- compared


@dataclass(frozen=True)
class Turned:
    """A finding that is not what it was."""

    rule: str
    on: str
    was: str  # "" where there was none
    now: str  # "" where there is none any more
    says: str
    source: str
    by: str  # what moved it, in a few words


def see_record(record: Any, name: str) -> dict[str, Any]:
    """A record that was read back, seen to be one. Raises Fault."""
    if isinstance(record, dict) and record.get("form") not in (None, FORM):
        raise Fault(
            "record-form",
            Place(name),
            f"this record has the form {record['form']}, and {FORM} is read here",
            "read it with the whywire that wrote it",
        )
    said = next(wrong(record, SHAPE), "")
    if said:
        raise Fault("record-form", Place(name), f"this is no record: {said}", "name its folder")
    return dict(record)


def law_changed(record: dict[str, Any], job: Opened) -> list[str]:
    """What of the law is not what it was, in a sentence each."""
    was, now = record["law"], _law(job)
    out = []
    if was["edition"] != now["edition"]:
        out.append(f"the edition was {was['edition']}, and is {now['edition']}")
    before = {pack["pack"]: pack["digest"] for pack in was["packs"]}
    after = {pack["pack"]: pack["digest"] for pack in now["packs"]}
    out += [f"the pack {name} is no longer in force" for name in before if name not in after]
    out += [f"the pack {name} is in force now" for name in after if name not in before]
    out += [
        f"the pack {name} is not as it was: {before[name][:12]}, now {after[name][:12]}"
        for name in before
        if name in after and before[name] != after[name]
    ]
    if not out and was["digest"] != now["digest"]:
        out.append(f"what is in force was {was['digest'][:12]}, and is {now['digest'][:12]}")
    return out


def turned(record: dict[str, Any], job: Opened) -> list[Turned]:
    """The findings that are not what they were, those that fail now first."""
    was = {(one["rule"], one["on"]): one for one in record["findings"]}
    now = {(one["rule"], one["on"]): one for one in findings_of(job)}
    out = []
    for key in dict.fromkeys((*now, *was)):
        before, after = was.get(key), now.get(key)
        if before and after and before["answer"] == after["answer"]:
            continue
        said = after or before or {}
        out.append(
            Turned(
                rule=key[0],
                on=key[1],
                was=before["answer"] if before else "",
                now=after["answer"] if after else "",
                says=said["says"],
                source=said["source"],
                by=_by(before, after, key[0], job),
            )
        )
    weights = ("fails", "cannot tell", "advice", "passes", "")
    return sorted(out, key=lambda one: (weights.index(one.now), one.rule, one.on))


def _by(before: dict[str, str] | None, after: dict[str, str] | None, rule: str, job: Opened) -> str:
    """What moved a finding: its rule, or what it reads."""
    if after is None:
        there = job.knowledge.rules.get(rule)
        return "there is no such rule any more" if there is None else "it does not apply any more"
    if before is None:
        return "there was no such finding"
    if before["meaning"] != after["meaning"]:
        return f'its rule is not what it was ("{before["says"]}")'
    return "its rule is what it was; what it reads is not"


def photographs_changed(record: dict[str, Any], folder: Path) -> list[str]:
    """The photographs that are not there, or not what they were, in a sentence each."""
    out = []
    for one in record["photographs"]:
        now = digest_of(folder / one["file"])
        if one["digest"] and not now:
            out.append(f"{one['file']} is not there any more: {one['shows']}")
        elif one["digest"] and now != one["digest"]:
            out.append(f"{one['file']} is not what it was: {one['shows']}")
        elif not one["digest"] and now:
            out.append(f"{one['file']} is there now: {one['shows']}")
    return out


def files_changed(folder: Path) -> list[str]:
    """What in the folder of a record is not as it was written, in a sentence each. Raises Fault
    where it is none.
    """
    try:
        listed = (folder / LIST).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        raise Fault(
            "no-record",
            Place(str(folder)),
            "this folder holds no record",
            "whywire record JOB --to FOLDER writes one",
        ) from None
    lines = [line.partition(" ") for line in listed.splitlines()]
    known = {name: digest for digest, _, name in lines}
    there = {
        path.relative_to(folder).as_posix(): path for path in folder.rglob("*") if path.is_file()
    }
    out = [f"{name} is gone" for name in known if name not in there]
    out += [
        f"{name} is not as it was written"
        for name, digest in known.items()
        if name in there and digest_of(there[name]) != digest
    ]
    return out + [f"{name} was added" for name in _others(there, known)]


def _others(there: Iterable[str], known: Iterable[str]) -> list[str]:
    return sorted(set(there) - set(known) - {LIST})
