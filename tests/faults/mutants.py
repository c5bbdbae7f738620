"""Files that are spoilt the ways files are: text that was lost, doubled or moved, values of another
kind, names that are nearly right, links that run in circles.

Everything is drawn from a seed, so that each spoilt file can be made again:
`python tests/faults/mutants.py jobs 17` prints the one of that seed. As a process of its own, held
to 1 GB, it runs the command on many of them and says which ended otherwise than they may
(tests/faults/test_mutants.py).
"""

from __future__ import annotations

import contextlib
import io
import json
import random
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from whywire.cli.main import main

ROOT = Path(__file__).resolve().parents[2]
JOBS = sorted(
    [*(ROOT / "kb" / "jobs").rglob("*.yaml"), *(ROOT / "kb" / "places").rglob("jobs/*.yaml")]
)
PACKS = [
    *sorted(p for p in (ROOT / "kb" / "places").iterdir() if (p / "pack.yaml").exists()),
    ROOT / "tests" / "packs" / "clerk",
]
MAY_END = (0, 1, 2, 3)
SECONDS = 5
MEMORY = 1 << 30
NASTY = [
    "",
    "~",
    "null",
    "none",
    "unknown",
    "yes",
    "[]",
    "{}",
    "[[[]]]",
    "{a: {b: c}}",
    "-1 A",
    "0",
    "0 A",
    "1e999",
    "1e-999 A",
    ".inf",
    "nan",
    "9" * 60,
    "9" * 30 + " ft",
    "1/0",
    "3/0 AWG",
    "1-1/2 in",
    "2026-02-30",
    "0000-00-00",
    "2023",
    "12:30:45",
    "0x1F",
    "0o17",
    "!!binary aGk=",
    "!!python/object:os.system x",
    "&a [*a]",
    "*nowhere",
    "<<",
    "<<: {a: b}",
    '"\\u202e"',
    '"\\x00"',
    "'",
    '"',
    "|",
    ">-",
    "%",
    "@x",
    "`x`",
    "\t",
    "{braces}",
    "{length} {0} {}",
    "[bold red]x[/]",
    "é" * 80,
    "\U0001f525",
    "x" * 5000,
    "a: b: c",
    "- - - -",
    "? x",
    "# nothing",
    "the first of circuits",
    "circuits",
    "job",
    "itself",
]


def spoilt(text: str, rng: random.Random, others: list[str]) -> bytes:
    """*text* with one to four things done to it; *others* lend lines and values. What finds nothing
    to spoil (a link in a file that has none) is no spoilt file, and is done again otherwise.
    """
    whole = data = text.encode("utf-8", "surrogatepass")
    while data == whole:
        again = text
        for _ in range(rng.choice((1, 1, 1, 2, 2, 3, 4))):
            again = rng.choice(WAYS)(again, rng, others)
        data = again.encode("utf-8", "surrogatepass")
        if rng.random() < 0.04 and data:
            at = rng.randrange(len(data))
            data = data[:at] + bytes([rng.randrange(256)]) + data[at + 1 :]
    return data


def _place(lines: list[str], rng: random.Random) -> int:
    return rng.randrange(len(lines)) if lines else 0


def _line_lost(text: str, rng: random.Random, others: list[str]) -> str:
    lines = text.splitlines(True)
    del lines[_place(lines, rng) : _place(lines, rng) + rng.choice((1, 1, 3))]
    return "".join(lines)


def _line_doubled(text: str, rng: random.Random, others: list[str]) -> str:
    lines = text.splitlines(True)
    at = _place(lines, rng)
    return "".join(lines[: at + 1] + lines[at : at + rng.choice((1, 1, 4))] + lines[at + 1 :])


def _line_moved(text: str, rng: random.Random, others: list[str]) -> str:
    lines = text.splitlines(True)
    if lines:
        line = lines.pop(_place(lines, rng))
        lines.insert(_place(lines, rng), line)
    return "".join(lines)


def _line_of_another(text: str, rng: random.Random, others: list[str]) -> str:
    lines, lent = text.splitlines(True), rng.choice(others).splitlines(True)
    lines.insert(_place(lines, rng), rng.choice(lent or ["\n"]))
    return "".join(lines)


def _indented(text: str, rng: random.Random, others: list[str]) -> str:
    lines = text.splitlines(True)
    at = _place(lines, rng)
    for i in range(at, min(len(lines), at + rng.choice((1, 1, 5)))):
        lines[i] = rng.choice(
            ("  " + lines[i], "\t" + lines[i], lines[i].lstrip(" "), lines[i][1:])
        )
    return "".join(lines)


def _value_spoilt(text: str, rng: random.Random, others: list[str]) -> str:
    values = [*re.finditer(r"(?<=: )[^\n{}\[\],]+", text)]
    return _put(text, rng.choice(values), rng.choice(NASTY)) if values else text


def _value_of_another(text: str, rng: random.Random, others: list[str]) -> str:
    values = [*re.finditer(r"(?<=: )[^\n{}\[\],]+", text)]
    lent = re.findall(r"(?<=: )[^\n{}\[\],]+", rng.choice(others))
    return _put(text, rng.choice(values), rng.choice(lent)) if values and lent else text


def _name_spoilt(text: str, rng: random.Random, others: list[str]) -> str:
    names = [*re.finditer(r"[A-Za-z][\w -]*(?=:)", text)]
    if not names:
        return text
    name = rng.choice(names)
    at = rng.randrange(len(name[0]))
    near = name[0][:at] + name[0][at + 1 :]
    return _put(text, name, rng.choice((near, name[0] + "s", rng.choice(names)[0], *NASTY[:8])))


def _sign_spoilt(text: str, rng: random.Random, others: list[str]) -> str:
    signs = [*re.finditer(r"[{}\[\]:,|\"'#&*-]", text)]
    return (
        _put(text, rng.choice(signs), rng.choice(("", "{", "}", "[", "]", ":", ",", " ")))
        if (signs)
        else text
    )


def _number_spoilt(text: str, rng: random.Random, others: list[str]) -> str:
    numbers = [*re.finditer(r"\d+(\.\d+)?", text)]
    new = ("0", "-7", "1000000", "0.0000001", "9" * 25, "1/3", "1,2", "٣", "½", "1e6")
    return _put(text, rng.choice(numbers), rng.choice(new)) if numbers else text


def _link_turned(text: str, rng: random.Random, others: list[str]) -> str:
    """A link to something else in the file, which may lead round in a circle."""
    links = [*re.finditer(r"(?:(?<=feeder: )|(?<=panel: )|(?<=within: ))[^\n{}\[\],]+", text)]
    names = re.findall(r"^ +([a-z][\w -]*):", text, re.M)
    return _put(text, rng.choice(links), rng.choice(names)) if links and names else text


def _cut(text: str, rng: random.Random, others: list[str]) -> str:
    return text[: rng.randrange(len(text) + 1)]


def _put(text: str, found: re.Match, new: str) -> str:
    return text[: found.start()] + new + text[found.end() :]


WAYS = [
    _line_lost,
    _line_doubled,
    _line_moved,
    _line_of_another,
    _indented,
    _value_spoilt,
    _value_spoilt,
    _value_spoilt,
    _value_of_another,
    _value_of_another,
    _name_spoilt,
    _sign_spoilt,
    _number_spoilt,
    _number_spoilt,
    _link_turned,
    _cut,
]


def job_of(seed: int, folder: Path) -> list[str]:
    """A spoilt job in *folder*, and the command that reads it."""
    rng = random.Random(f"job {seed}")
    text = JOBS[seed % len(JOBS)].read_text("utf-8")
    path = folder / "job.yaml"
    path.write_bytes(spoilt(text, rng, [rng.choice(JOBS).read_text("utf-8") for _ in range(3)]))
    how = ["--edition", rng.choice(("2017", "2020", "2023", "2026"))] if rng.random() < 0.3 else []
    return rng.choice(
        (
            ["inspect", str(path), *how],
            ["inspect", str(path), "--json", *how],
            ["why", str(path), "circuits", *how],
            ["why", str(path), rng.choice(("breaker", "conductors", "job")), "--json", *how],
        )
    )


def pack_of(seed: int, folder: Path) -> list[str]:
    """A spoilt pack in *folder*, and the command that reads it."""
    rng = random.Random(f"pack {seed}")
    pack = folder / "pack"
    shutil.rmtree(pack, ignore_errors=True)
    home = PACKS[seed % len(PACKS)]
    shutil.copytree(home, pack)
    files = sorted(p for p in pack.rglob("*") if p.is_file() and "jobs" not in p.parts)
    others = [p.read_text("utf-8") for p in files]
    path = rng.choice(files)
    path.write_bytes(spoilt(path.read_text("utf-8"), rng, others))
    jobs = sorted(home.glob("jobs/*.yaml")) or [ROOT / "kb" / "jobs" / "kiln.yaml"]
    if rng.random() < 0.5:
        return ["check", str(pack)]
    return ["inspect", str(rng.choice(jobs)), "--pack", str(pack)]


MADE = {"jobs": job_of, "packs": pack_of}


class TooLong(BaseException):
    """No Exception, so that nothing on the way takes it for a fault of the file."""


def _too_long(*_) -> None:
    raise TooLong


def run(words: list[str]) -> tuple[str, int | None, float]:
    """What was wrong with how the command ended, nothing where it may end so; its exit code, where
    it has one; and its seconds of processor.
    """
    out, err, begin = io.StringIO(), io.StringIO(), time.process_time()
    code: object = None
    raised = ""
    signal.setitimer(signal.ITIMER_VIRTUAL, SECONDS)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main(words)
    except TooLong:
        raised = f"takes over {SECONDS} s"
    except SystemExit as end:
        code = end.code
    except BaseException as e:  # whatever comes out is what is looked for
        raised = f"raises {type(e).__name__}: {e}"
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
    said = out.getvalue() + err.getvalue()
    wrong = raised or ("" if code in MAY_END else f"ends with {code}")
    if not wrong and "Traceback" in said:
        wrong = "prints a traceback"
    if not wrong and not said.strip():
        wrong = "says nothing"
    ended = code if isinstance(code, int) else None
    shown = f"{wrong}: {err.getvalue()[-300:]}" if wrong else ""
    return shown, ended, time.process_time() - begin


def each(sort: str, seeds: list[int]) -> Iterator[tuple[int, str, int | None, float]]:
    """(seed, what was wrong or nothing, exit code, seconds) of each spoilt file."""
    signal.signal(signal.SIGVTALRM, _too_long)
    with tempfile.TemporaryDirectory() as folder:
        for seed in seeds:
            words = MADE[sort](seed, Path(folder))
            yield seed, *run(words)


if __name__ == "__main__":
    sort, *told = sys.argv[1:]
    if told:
        with tempfile.TemporaryDirectory() as folder:
            words = MADE[sort](int(told[0]), Path(folder))
            print(*words)
            for path in sorted(p for p in Path(folder).rglob("*") if p.is_file()):
                print(f"--- {path}\n{path.read_bytes().decode('utf-8', 'backslashreplace')}")
    else:
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        for seed, wrong, code, seconds in each(sort, json.load(sys.stdin)):
            print(json.dumps([seed, wrong, code, round(seconds, 2)]), flush=True)
