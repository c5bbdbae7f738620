"""The record of a job: what there is to keep of it, frozen into a folder, and later compared."""

from __future__ import annotations

import json
import re
from argparse import Namespace
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from ..engine.front import (
    FILE_BYTES,
    JOB_OF_A_RECORD,
    LIST_OF_A_RECORD,
    RECORD,
    Fault,
    Faults,
    How,
    Opened,
    Place,
    SheetMaterial,
    decode,
    files_changed,
    holds_back,
    how_of,
    kept_of,
    law_changed,
    note_of,
    opened_for_work,
    photographs_changed,
    record_digest,
    record_of,
    see_record,
    sheet,
    turned,
    write_once,
)
from .layout import Put, plain
from .show_note import show_note
from .show_record import Compared, compared_as_dict, show_compared, show_kept
from .show_sheet import FORMS
from .wall import json_text

NAME = 40  # signs of the name of a sheet's file
ENDS = {"text": "txt", "html": "html"}


def record(
    a: Namespace,
    put: Put,
    width: int,
    write: Callable[[str], Any],
    material_of: Callable[[Namespace, How, str], SheetMaterial],
    how: How,
) -> int:
    """Show, freeze or compare: a job without --to is shown, a folder is compared. Raises Faults."""
    try:
        if Path(a.job).is_dir():
            return _compare(a, put, width, write)
        return _keep(a, put, width, write, material_of, how)
    except Fault as fault:
        raise Faults([fault]) from None


# ---- frozen


def _keep(
    a: Namespace,
    put: Put,
    width: int,
    write: Callable[[str], Any],
    material_of: Callable[[Namespace, How, str], SheetMaterial],
    how: How,
) -> int:
    file = Path(a.job)
    before = record_digest(file)
    material = material_of(a, how, "office" if a.prices else "helper")
    job = material.job
    kept = kept_of(job, file.parent)
    said = record_of(job, kept, file, how)
    if a.to:
        files = {JOB_OF_A_RECORD: file.read_bytes(), RECORD: json_text(said).encode()}
        files["note.txt"] = (plain(show_note(note_of(job.told))) + "\n").encode()
        files["kept.txt"] = (plain(show_kept(job, kept)) + "\n").encode()
        files |= _sheets(material, name_for(job), a.prices is not None)
        if record_digest(file) != before:
            todo = "say it again when nobody writes it"
            raise Fault("changed-meanwhile", Place(a.job), "the job was changed meanwhile", todo)
        write_once(Path(a.to), files, LIST_OF_A_RECORD)
    if a.json:
        write(json_text(said))
    else:
        put(show_kept(job, kept, width))
        if a.to:
            put([[], [(f"{a.to}: {len(files)} files, as they are today", "headline")]])
    return 1 if kept.unsafe or any(one.fails for one in kept.logs) else 0


def _sheets(material: SheetMaterial, name: str, with_prices: bool) -> dict[str, bytes]:
    """The sheets of a job, each as a page and as text."""
    audiences = ["helper", "inspector", "handover", *(["office", "customer"] * with_prices)]
    out = {}
    for audience in audiences:
        made = sheet(material, audience, bool(holds_back(material, audience)))
        for form, end in ENDS.items():
            out[f"sheets/{name}-{audience}.{end}"] = FORMS[form](made).encode()
    return out


def name_for(job: Opened) -> str:
    """What the files of a job are called: after whom and where it is for, or what it is.

    Small letters, digits and hyphens alone: a name may hold whatever a person wrote.
    """
    head = job.told.job.beside.head
    said = " ".join((head.get("customer") or head.get("address") or [job.title])[:1])
    plain_ = re.sub(r"[^a-z0-9]+", "-", said.lower()).strip("-")
    return plain_[:NAME].strip("-") or "job"


# ---- compared


def _compare(a: Namespace, put: Put, width: int, write: Callable[[str], Any]) -> int:
    folder = Path(a.job)
    files = files_changed(folder)
    said = _read(folder / RECORD)
    law = _reopened(folder / JOB_OF_A_RECORD, said)
    compared = Compared(said, files, law if isinstance(law, str) else "")
    if not isinstance(law, str):
        compared.law, compared.turned = law_changed(said, law), turned(said, law)
    now = Path(a.now) if a.now else folder.parent / said["job"]["file"]
    compared.job_file = str(now)
    if now.is_file():
        compared.photographs = photographs_changed(said, now.parent)
        compared.job_changed = record_digest(now) != said["job"]["digest"]
        if compared.job_changed:
            again = _reopened(now, said)
            if isinstance(again, str):
                compared.job_unread = again
            else:
                compared.of_job = [one for one in turned(said, again) if one not in compared.turned]
    elif a.now:
        raise Fault("not-read", Place(a.now), "there is no such file", "name the job's file")
    else:
        compared.job_gone = True
    if a.json:
        write(json_text(compared_as_dict(compared)))
    else:
        put(show_compared(compared, width))
    return 1 if compared.is_other else 0


def _read(path: Path) -> dict[str, Any]:
    """What a record says. Raises Fault where it is none."""
    name, todo = str(path), "whywire record JOB --to FOLDER writes one"
    try:
        data = path.read_bytes()
        if len(data) > FILE_BYTES:
            raise Fault("record-form", Place(name), "this is larger than any record", todo)
        return see_record(json.loads(decode(data, name)), name)
    except (OSError, json.JSONDecodeError, RecursionError):
        raise Fault("record-form", Place(name), "this is no record", todo) from None


def _reopened(path: Path, said: dict[str, Any]) -> Opened | str:
    """A job under today's law, as it was opened then; or why it cannot be read any more."""
    try:
        return opened_for_work(path, replace(how_of(said)))
    except Faults as faults:
        return "; ".join(f"{one.what}: {one.todo}" for one in faults.items)
