"""Many jobs inspected at once, in as many processes as there are cores: a folder of them, or JSON
lines.

A job that is faulty, or in which we have a defect, is told in its place and stops no other. What
comes out is in the order of what went in, whoever was done first. Plain data: `show_batch` makes
lines of it.
"""

from __future__ import annotations

import contextlib
import functools
import itertools
import json
import os
import signal
import sys
from collections.abc import Generator, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..engine.front import DEPTH, FILE_BYTES, PIECES, Fault, Faults, Place
from .show_faults import faults_as_dict
from .wall import DEFECT, keep_report, report

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

    from ..engine.front import Knowledge, Mapping

WORST_FIRST = (DEFECT, 2, 1, 3, 0)  # exit codes
# jobs that go to a process at a time: fewer, and handing over takes longer than a small job
CHUNK = 8
ANSWERS = ("fails", "cannot tell", "advice", "passes")
COUNTED = {2: "faulty", 1: "fail", 3: "cannot tell", 0: "pass", DEFECT: "met a defect of ours"}


@dataclass(frozen=True)
class How:
    """How each job is inspected: what the command line said of all of them."""

    packs: tuple[str, ...] = ()
    edition: str | None = None
    date: str | None = None
    place: str | None = None
    chainer: str = "plain"
    # everything an inspection says, as `inspect --json` has it; else what a table shows
    whole: bool = False


@dataclass
class Outcome:
    """What came of one job."""

    name: str
    code: int
    title: str = ""
    counts: dict[str, int] = field(default_factory=dict)
    failing: list[tuple[str, str]] = field(default_factory=list)  # (rule, thing)
    faults: list[dict[str, Any]] = field(default_factory=list)
    whole: dict[str, Any] | None = None

    def as_dict(self) -> dict[str, Any]:
        """One line of `--json`: the job, its exit code, and all that an inspection of it says, or
        its faults.
        """
        said = {"faults": self.faults} if self.faults else self.whole or {}
        return {"name": self.name, "exit": self.code, **said}


# ---- what is read --------------------------------------------------------------------------------

Task = tuple[str, Path | bytes]  # what a job is called; its file, or its line


def tasks(job: str, lines: Iterable[bytes | str] | None = None) -> Iterator[Task]:
    """Every job of a folder, or of the JSON lines that *lines* holds where *job* is "-".

    Raises:
        Faults: there is none.
    """
    if job != "-":
        from ..engine.front import jobs_in

        for path in jobs_in(job):
            yield str(path), path
        return
    n = 0
    for n, line in enumerate(lines or (), 1):
        if line.strip():
            yield f"line {n}", line if isinstance(line, bytes) else line.encode()
    if not n:
        todo = "send a job a line, as in: whywire inspect - < jobs.jsonl"
        raise Faults([Fault("empty-file", Place("-"), "standard input holds no job", todo)])


def job_of_line(line: bytes, name: str) -> Mapping:
    """The job that a line of JSON says.

    Raises:
        Fault, Faults: it says none; with that line as the place.
    """
    from ..engine.front import decode, deeper, mapping_alone, mapping_of, pieces

    at = Place("-", int(name.rpartition(" ")[2]), 1)
    if len(line) > FILE_BYTES:
        raise Fault("too-large", at, f"this line is longer than {FILE_BYTES:,} bytes", "divide it")

    def once(pairs: list[tuple[str, object]]) -> dict[str, object]:
        """An object of *pairs*.

        Raises:
            Fault: two of them have one name; which of the two is meant nobody can tell.
        """
        out = dict(pairs)
        if len(out) < len(pairs):
            names = [key for key, _ in pairs]
            twice = next(key for key in names if names.count(key) > 1)
            raise Fault("written-twice", at, f'"{twice}" is written twice', "keep one of them")
        return out

    try:  # numbers stay text, as in a YAML file: 0.10 is no float here
        data = json.loads(
            decode(line.rstrip(b"\r\n"), "-"),
            object_pairs_hook=once,
            parse_int=str,
            parse_float=str,
            parse_constant=str,
        )
    except RecursionError:
        raise _too_deep(at) from None
    except ValueError as e:
        said = str(e)
        if isinstance(e, json.JSONDecodeError):
            # some of its messages end with the word themselves
            said = f"{e.msg.removesuffix(' at')} at character {e.pos + 1}"
        what = f"this line is no JSON: {said[:80]}"
        raise Fault("not-json", at, what, "write a job a line, in braces") from None
    if deeper(data, DEPTH):
        raise _too_deep(at)
    if isinstance(data, (dict, list)) and pieces(data) > PIECES:
        raise Fault("too-many-pieces", at, f"more than {PIECES:,} pieces", "divide it")
    body = mapping_of(data, at)
    if not isinstance(body, dict):
        raise Fault("job-form", at, "this line is no job", 'write {"job": ..., "circuits": {...}}')
    return mapping_alone(body, "-")


def _too_deep(at: Place) -> Fault:
    what = f"lists stand more than {DEPTH} deep in this line"
    return Fault("too-deep", at, what, "is this the right file?")


# ---- one job -------------------------------------------------------------------------------------


@functools.lru_cache(maxsize=8)
def _knowledge(folders: tuple[str, ...], edition: str, date: str | None) -> Knowledge:
    """What is in force, read once for all jobs of a process: it does not change while a batch
    runs.
    """
    from ..engine.front import load

    return load(folders, edition, date)


def inspected(task: Task, how: How) -> Outcome:
    """What comes of one job; raises nothing but what ends the program."""
    name, source = task
    try:
        return _inspected(name, source, how)
    except (Fault, Faults) as found:
        faults = found if isinstance(found, Faults) else Faults([found])
        return Outcome(name, 2, faults=faults_as_dict(faults)["faults"])
    except Exception as e:
        path = keep_report(report(e, ["inspect", name]))
        what = f"a defect of ours ({type(e).__name__})"
        todo = f"a report is in {path}" if path else "no report could be kept"
        return Outcome(name, DEFECT, faults=[_as_fault("defect", name, what, todo)])


def _as_fault(code: str, file: str, what: str, todo: str) -> dict[str, Any]:
    return faults_as_dict(Faults([Fault(code, Place(file), what, todo)]))["faults"][0]


def _inspected(name: str, source: Path | bytes, how: How) -> Outcome:
    from ..engine.front import (
        Disagreement,
        Inspection,
        decode,
        in_force,
        mapping_alone,
        read_bytes,
        read_yaml,
    )

    if isinstance(source, bytes):
        body = job_of_line(source, name)
    else:  # past the cache of jobs: it is for one that is asked many questions
        body = mapping_alone(read_yaml(decode(read_bytes(source, name), name), name), name)
    force = in_force(body, name, how.packs, how.edition, how.date, how.place)
    knowledge = _knowledge(force.folders, force.edition, force.date)
    try:
        found = Inspection(body, knowledge, how.chainer, force)
    except Disagreement:
        what = "the two chainers differ on it, so there is no answer: a defect of ours"
        todo = "inspect it alone, and report what that prints"
        return Outcome(name, DEFECT, faults=[_as_fault("differ", name, what, todo)])
    answers = [f.answer for f in found.findings]
    return Outcome(
        name,
        found.exit_code,
        found.job.title,
        {a: answers.count(a) for a in ANSWERS},
        [(f.rule, f.on) for f in found.findings if f.answer == "fails"],
        whole=found.as_dict() if how.whole else None,
    )


# ---- all of them ---------------------------------------------------------------------------------


def cores() -> int:
    """How many processes may run at once."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def outcomes(every: Iterable[Task], how: How, workers: int) -> Generator[Outcome, None, None]:
    """What comes of each job, in their order. A process that dies takes only the job with it that
    killed it.
    """
    every = iter(every)
    first = list(itertools.islice(every, CHUNK))
    if workers == 1 or len(first) < CHUNK:
        for task in itertools.chain(first, every):
            yield inspected(task, how)
        return
    chunks = itertools.chain([first], iter(lambda: list(itertools.islice(every, CHUNK)), []))
    yield from _pooled(chunks, how, workers)


class _Worker:
    """A process that inspects a chunk at a time, and the line to it.

    None of the library's pools: they wait for ever for a process that was killed while it answered.
    """

    def __init__(self, how: How, others: Iterable[_Worker] = ()) -> None:
        from multiprocessing import get_all_start_methods, get_context

        # A fork has what was imported and read already; where there is none each process begins
        # anew.
        forks = "fork" in get_all_start_methods() and sys.platform != "darwin"
        context = get_context("fork" if forks else None)
        self.line, theirs = context.Pipe()
        ours = [self.line, *(w.line for w in others)] if forks else []
        self.process = context.Process(target=_work, args=(theirs, how, ours), daemon=True)
        self.process.start()
        # theirs alone now, so that their end is the end of the line
        theirs.close()
        self.at: int | None = None  # the place of the chunk it has

    def end(self) -> None:
        """End it, whatever it does."""
        self.process.kill()
        self.line.close()
        self.process.join(1)


def _work(line: Connection, how: How, ours: list[Connection]) -> None:
    """What a process does: chunk by chunk, until nobody sends any."""
    # Ctrl-C is for the process that began this one
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for other in ours:
        other.close()
    with contextlib.suppress(EOFError, OSError):
        while True:
            line.send([inspected(task, how) for task in line.recv()])


def _pooled(chunks: Iterator[list[Task]], how: How, workers: int) -> Iterator[Outcome]:
    from multiprocessing.connection import wait

    crew: list[_Worker] = []
    given: dict[int, list[Task]] = {}  # chunks that somebody has, by their place
    done: dict[int, list[Outcome]] = {}
    next_in = next_out = 0
    try:
        while True:
            for chunk in itertools.islice(chunks, max(0, workers - len(given))):
                worker = next((w for w in crew if w.at is None), None)
                if worker is not None and not worker.process.is_alive():
                    # somebody else ended it while it had nothing to do
                    crew.remove(worker)
                    worker.end()
                    worker = None
                if worker is None:
                    crew.append(worker := _Worker(how, crew))
                worker.at, given[next_in] = next_in, chunk
                # it dies just now: told when its answer is read
                with contextlib.suppress(OSError):
                    worker.line.send(chunk)
                next_in += 1
            if not given:
                return
            busy = {w.line: (w, w.at) for w in crew if w.at is not None}
            heard: list[Any] = wait(list(busy))  # of what is listened to, and these are lines
            for line in heard:
                worker, at = busy[line]
                worker.at = None
                chunk = given.pop(at)
                try:
                    done[at] = worker.line.recv()
                except (EOFError, OSError):  # it died over one of them: each by itself
                    crew.remove(worker)
                    worker.end()
                    done[at] = [_alone(task, how, crew) for task in chunk]
            while next_out in done:
                yield from done.pop(next_out)
                next_out += 1
    finally:  # also where somebody breaks off
        for worker in crew:
            worker.end()


def _alone(task: Task, how: How, others: list[_Worker]) -> Outcome:
    """What comes of a job in a process of its own, which may die."""
    worker = _Worker(how, others)
    try:
        worker.line.send([task])
        return worker.line.recv()[0]
    except (EOFError, OSError):
        what = "the process that inspected it died: a defect of ours, or too little memory"
        return Outcome(
            task[0], DEFECT, faults=[_as_fault("defect", task[0], what, "inspect it alone")]
        )
    finally:
        worker.end()


def worst(codes: Iterable[int]) -> int:
    """The worst of some exit codes, in the order 70, 2, 1, 3, 0.

    >>> worst([0, 3, 1, 3]), worst([0, 3]), worst([1, 2, 70])
    (1, 3, 70)
    """
    return min({0, *codes}, key=WORST_FIRST.index)
