"""Load packs, or take them over from the last time: a cache keyed by the state of the files, and safe to delete.

What is kept is the checked knowledge with its emitted code. It lies in the user's own folder, and is read only where
that folder and file belong to this user and nobody else may write there: what is read back is code.
"""

from __future__ import annotations

import hashlib
import os
import re
import sys
from pathlib import Path

from . import library, pieces
from .knowledge import KB, Knowledge
from .library import pack_files

_LOADED: dict[tuple, Knowledge] = {}


def load(folders: tuple[Path | str, ...] = (), edition: str = "2023", date: str | None = None) -> Knowledge:
    """The knowledge in force: as `library.load`, from the cache where nothing has changed since.

    Two dates between which no pack names a day have one knowledge.
    """
    date = since(folders, date)
    key = stamp(folders, f"{edition} {date}")
    if key in _LOADED:
        return _LOADED[key]
    path = place(key)
    k = _read(path) if path is not None else None
    if k is None:
        k = library.load(folders, edition, date)
        if path is not None:
            _write(path, k)
    _LOADED[key] = k
    return k


def since(folders, date: str | None) -> str | None:
    """The last day up to *date* that a file of the packs names: what is in force has not changed since."""
    if not folders or date is None:
        return None
    days = {d for folder in map(Path, folders) for p in pack_files(folder) for d in re.findall(r"\b\d{4}-\d\d-\d\d\b", p.read_text("utf-8", "replace"))}
    return max((d for d in days if d <= date), default="0001-01-01")


def stamp(folders, edition: str) -> str:
    """Digest of what tells that nothing has changed: this engine's files and the packs', this Python, where messages point.

    A file is taken to be as it was while its name, size, number on its disk and times of change (which the system keeps
    to some thousandths of a second) are: reading every byte at every start would take longer than the answer.
    """
    h = hashlib.sha256(f"{edition}\n{sys.version}\n{Path.cwd() if folders else ''}\n".encode())
    for folder in [Path(__file__).parent, KB / "base", *map(Path, folders)]:
        h.update(f"\0{folder}\0".encode())
        for line in sorted(_files(os.fspath(folder))):
            h.update(line.encode("utf-8", "surrogateescape"))
    return h.hexdigest()[:32]


def _files(folder: str):
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
            yield f"{e.path}:{s.st_size}:{s.st_ino}:{s.st_mtime_ns}:{s.st_ctime_ns}\n"


def place(key: str) -> Path | None:
    """The cache file for *key*; None where this user has no folder that is safe."""
    if os.environ.get("WHYWIRE_CACHE") == "off" or not hasattr(os, "getuid"):
        return None
    base = Path(os.environ.get("WHYWIRE_CACHE") or os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    folder = base if os.environ.get("WHYWIRE_CACHE") else base / "whywire"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        s = folder.lstat()
    except OSError:
        return None
    if s.st_uid != os.getuid() or s.st_mode & 0o022:
        return None
    return folder / f"{key}.knowledge"


def _read(path: Path) -> Knowledge | None:
    try:
        fd = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0))
    except OSError:
        return None
    with os.fdopen(fd, "rb") as f:
        s = os.fstat(f.fileno())
        if s.st_uid != os.getuid() or s.st_mode & 0o022:
            return None
        try:
            return pieces.read(f.read())
        except Exception:   # a torn or foreign file is no knowledge: it is made anew
            return None


def _write(path: Path, k: Knowledge) -> None:
    import tempfile

    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as f:
            f.write(pieces.written(k))
        os.replace(f.name, path)
        for old in sorted(path.parent.glob("*.knowledge"), key=lambda p: p.stat().st_mtime)[:-12]:
            old.unlink(missing_ok=True)
    except OSError:
        return
