"""The outer wall: whatever happens inside, a person is told in a line what it was and what to do.

A slip of a person is a fault and told by `main`; here is what is nobody's slip: the terminal or the
disk that does not take what there is to say, a command that is broken off, and a defect of ours, of
which a report is written.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from typing import TextIO

from .start import BROKEN_OFF

DEFECT = 70  # of ours: sysexits' EX_SOFTWARE
UNSAID = 74  # what there was to say could not be written: EX_IOERR
# What JSON lets stand and a terminal obeys or hides: the second row of control codes, marks that
# turn or join a line,
# and halves of characters.
ACTS = r"[\x7f-\x9f\u00ad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ud800-\udfff]"
REPORTS = 1000  # files of one second and one process: more are not tried
WHAT_TO_DO = (
    "Please read it, and report it with the file you asked about (DEVELOPERS.md, Reporting)."
)


def behind(command: Callable[[list[str]], int], args: list[str]) -> int:
    """Run *command* on *args*; the exit code, whatever happens."""
    if not _can_speak():
        return UNSAID
    try:
        try:
            return command(args)
        finally:  # also where argparse has said what it had to, and ends the program
            if sys.exc_info()[0] in (None, SystemExit):
                sys.stdout.flush()
    except KeyboardInterrupt:
        _flush_or_forget()
        return BROKEN_OFF
    except BrokenPipeError:  # whoever reads has read enough
        _forget(sys.stdout)
        return 0
    except OSError as e:
        return _disk(e, args)
    except MemoryError:
        _forget(sys.stdout)
        _tell("whywire: there is not enough memory for this. Divide the job, or the folder.")
        return DEFECT
    except Exception as e:
        return _defect(e, args)


def seen(text: str) -> str:
    r"""*text* without what would act on a terminal: a file's name may hold anything, and colours
    are ours to choose.

    >>> ascii(seen("kiln\x1b[2J.yaml"))
    "'kiln\\ufffd[2J.yaml'"
    """
    if text.isprintable():
        return text
    unseen = "\N{REPLACEMENT CHARACTER}"
    return "".join(c if c.isprintable() else " " if c.isspace() else unseen for c in text)


def json_text(data: object) -> str:
    r"""*data* as JSON, a key a line; what would act on a terminal is escaped, and reads back as it
    was.

    >>> json_text(["\x9b2J"])
    '[\n "\\u009b2J"\n]\n'
    """
    return _harmless(data, 1)


def json_line(data: object) -> str:
    """*data* as JSON on one line, with the same care."""
    return _harmless(data, None)


def _harmless(data: object, indent: int | None) -> str:
    import json
    import re

    text = json.dumps(data, ensure_ascii=False, indent=indent)
    return re.sub(ACTS, lambda m: f"\\u{ord(m[0]):04x}", text) + "\n"


def speak_utf8() -> None:
    """Write and read UTF-8 whatever the locale: sections, degrees and dashes are in every answer.

    What no UTF-8 can say (half a character in a file's name) is written as an escape, which JSON
    reads back.
    """
    for stream, errors in (
        (sys.stdout, "backslashreplace"),
        (sys.stderr, "backslashreplace"),
        (sys.stdin, "replace"),
    ):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors=errors)


def _can_speak() -> bool:
    """Whether there is anywhere to write to. Python leaves a stream out that was closed before it
    began.
    """
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")
    if sys.stdin is None:
        sys.stdin = open(os.devnull, encoding="utf-8")
    speak_utf8()
    if sys.stdout is not None:
        return True
    sys.stdout = open(os.devnull, "w", encoding="utf-8")
    _tell(
        "whywire: there is nowhere to write to, since standard output is closed. Open it, or send"
        " it to a file."
    )
    return False


def _disk(e: OSError, args: list[str]) -> int:
    """What the system refused: a file a person named, or what we had to say."""
    if e.filename is not None:
        _flush_or_forget()
        said = f"{e.filename}: {e.strerror or e}"
        _tell(f"whywire: the system does not let this be read or written: {said}")
        return 2
    # made by a library, not by the system
    if e.errno is None:
        return _defect(e, args)
    _forget(sys.stdout)
    _tell(
        f"whywire: what there is to say cannot be written ({e.strerror}). Make room, or send it"
        " elsewhere."
    )
    return UNSAID


def _defect(e: Exception, args: list[str]) -> int:
    """A defect of ours: what was said so far goes out, and a report is written."""
    _flush_or_forget()
    short = f"{type(e).__name__}: {e}".replace("\n", " ")[:200]
    text = report(e, args)
    path = keep_report(text)
    if path:
        _tell(f"whywire: a defect of ours ({short}). A report is in {path}. {WHAT_TO_DO}")
    else:
        _tell(f"whywire: a defect of ours ({short}), and no report could be kept. {WHAT_TO_DO}")
        for line in text.splitlines():
            _tell("    " + line)
    return DEFECT


def report(e: BaseException, args: list[str]) -> str:
    """What helps to find a defect: versions, the command and the traceback, with the home folder as
    ~. Nothing else.
    """
    import platform
    import traceback

    from . import __version__

    text = "\n".join(
        [
            f"whywire {__version__}, Python {platform.python_version()}, {sys.platform}",
            "command: " + " ".join(map(repr, ["whywire", *args])),
            "",
            "".join(traceback.format_exception(e)).rstrip(),
            "",
        ]
    )
    home = os.path.expanduser("~")
    return text.replace(home, "~") if len(home) > 1 and home != "~" else text


def keep_report(text: str) -> str:
    """Write a report to a file of its own in a folder of this user; its path, or "" where none can
    be had.

    No file is written over, and nobody else may read it: a command may say more than its writer
    thinks of. Raises nothing of its own: a report that cannot be kept must not hide the defect.
    """
    import datetime
    import tempfile
    from pathlib import Path

    from ..engine.front import folder_for, why_not_safe

    def ours() -> Path:
        """The folder of this user.

        Raises:
            PermissionError: others may write into it, or it is somebody else's.
        """
        folder = folder_for("state") / "reports"
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if doubt := why_not_safe(folder):
            raise PermissionError(doubt)
        return folder

    stem = f"defect-{datetime.datetime.now():%Y-%m-%d-%H%M%S}-{os.getpid()}"
    for folder_of in (ours, lambda: Path(tempfile.mkdtemp(prefix="whywire-"))):
        try:
            folder = folder_of()
            for n in range(REPORTS):
                path = folder / (f"{stem}.txt" if not n else f"{stem}-{n}.txt")
                try:
                    fd = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
                except FileExistsError:
                    continue
                try:
                    with os.fdopen(fd, "w", encoding="utf-8", errors="backslashreplace") as f:
                        f.write(text)
                except OSError:
                    path.unlink(missing_ok=True)
                    raise
                return str(path)
        except (OSError, RuntimeError):
            continue
    return ""


def _tell(line: str) -> None:
    """A line to standard error, where that can be written to."""
    try:
        sys.stderr.write(seen(line) + "\n")
        sys.stderr.flush()
    except (OSError, ValueError):
        pass


def _flush_or_forget() -> None:
    """Write what was said so far; where that cannot be done, forget it."""
    try:
        sys.stdout.flush()
    except (OSError, ValueError):
        _forget(sys.stdout)


def _forget(stream: TextIO) -> None:
    """Let what *stream* holds back go nowhere: Python would try once more at its end, and tell of
    it in its own way.
    """
    original = sys.__stdout__
    if original is None or stream is not original:
        return
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, original.fileno())
        os.close(nowhere)
    except (OSError, ValueError):
        pass
