"""Load packs, or take them over from the last time: the checked knowledge, and what code of it was
emitted, is kept by the state of the files.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from ..basics import kept
from ..basics.units import day
from ..language.knowledge import KB, Knowledge
from . import pieces
from .program import program_of

# Of a process that reads many packs one after another; each takes some thirty megabytes.
MOST_LOADED = 8
# by what it was made from: the knowledge, and the file it is kept in; the last asked for last
_LOADED: dict[str, tuple[Knowledge, Path | None]] = {}


def load(
    folders: tuple[Path | str, ...] = (), edition: str = "2023", date: str | None = None
) -> Knowledge:
    """The knowledge in force: as `library.load` without examples, from the cache where nothing has
    changed since.

    Two dates between which no pack names a day have one knowledge.
    """
    said = (
        f"{edition} {since(folders, date)}\n{sys.version}\n{Path.cwd() if folders else ''}\n{KB}\n"
        + "".join(f"{folder}\n" for folder in folders)
    )
    now = said + state(folders)
    if now in _LOADED:
        _LOADED[now] = _LOADED.pop(now)
        return _LOADED[now][0]
    path = kept.place(f"{kept.short(said)}.knowledge")
    k = kept.read(path, kept.as_bytes(now), pieces.read)
    if k is None:
        from ..law import library

        k = library.load(folders, edition, date, examples=False)
        if path is not None:
            kept.write(path, kept.as_bytes(now), pieces.written(k))
    _LOADED[now] = k, path
    while len(_LOADED) > MOST_LOADED:
        old = next(iter(_LOADED))
        _keep_code_of(old, *_LOADED.pop(old))
    return k


def keep_code() -> None:
    """Keep what code was emitted since knowledge was loaded, for the next start."""
    for now, (k, path) in _LOADED.items():
        _keep_code_of(now, k, path)


def _keep_code_of(now: str, k: Knowledge, path: Path | None) -> None:
    # nothing was emitted that is not kept: the file is as it should be
    code = program_of(k).code
    if code is None or not code.fresh:
        return
    fresh, code.fresh = code.fresh, {}
    said = kept.read(path, kept.as_bytes(now), lambda data: pieces.with_code(data, fresh))
    if said is not None:
        kept.write(path, kept.as_bytes(now), said)


def since(folders: Iterable[Path | str], date: str | None) -> str | None:
    """The last day up to *date* that a file of the packs names: what is in force has not changed
    since.
    """
    if date is not None:
        # before it is compared with others: 2026-02-30 lies between two days that are real
        day(date)
    if not folders or date is None:
        return None
    from ..law.library import pack_files

    days = {
        d
        for folder in map(Path, folders)
        for p in pack_files(folder)
        for d in re.findall(r"\b\d{4}-\d\d-\d\d\b", p.read_text("utf-8", "replace"))
    }
    return max((d for d in days if d <= date), default="0001-01-01")


def state(folders: Iterable[Path | str]) -> str:
    """What tells that nothing has changed: a line for each file of this engine and of the packs.

    A file is taken to be as it was while its name, size, number on its disk and times of change
    (which the system keeps to some thousandths of a second) are: reading every byte at every start
    would take longer than the answer. Where the system keeps no time of change (Windows: a file put
    back may be as old and as long as the one before) every byte is read.
    """
    return "".join(
        line
        for folder in (Path(__file__).parents[1], KB / "base", *folders)
        for line in sorted(_files(os.fspath(folder)))
    )


def _files(folder: str) -> Iterator[str]:
    """A line for every file of code or knowledge in *folder*, at any depth."""
    try:
        entries = list(os.scandir(folder))
    except OSError:
        return
    for e in entries:
        if e.is_dir(follow_symlinks=False):
            yield from _files(e.path)
        elif e.name.endswith((".yaml", ".yml", ".csv", ".py")):
            s = e.stat(follow_symlinks=False)
            line = f"{e.path}:{s.st_size}:{s.st_ino}:{s.st_mtime_ns}:{s.st_ctime_ns}"
            yield f"{line}:{_bytes_of(e.path)}\n" if not hasattr(os, "getuid") else f"{line}\n"


def _bytes_of(path: str) -> str:
    """A digest of what a file holds; "" for one that cannot be read, which loading tells of."""
    try:
        with open(path, "rb") as f:
            return kept.digest(f.read()).hex()
    except OSError:
        return ""
