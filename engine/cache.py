"""Load packs, or take them over from the last time: a cache of the state the files were in, safe to delete.

What is kept is the checked knowledge with its emitted code. It lies in the user's own folder, and is read only where
that folder and file belong to this user and nobody else may write there: what is read back is code.
"""

from __future__ import annotations

import os
import re
import sys
import zlib
from pathlib import Path

from . import pieces
from .knowledge import KB, Knowledge
from .reading import all_kept

_LOADED: dict[str, Knowledge] = {}
MOST_KEPT = 12     # files: one for each set of packs, edition and date that is asked for


def load(folders: tuple[Path | str, ...] = (), edition: str = "2023", date: str | None = None) -> Knowledge:
    """The knowledge in force: as `library.load`, from the cache where nothing has changed since.

    Two dates between which no pack names a day have one knowledge.
    """
    said = f"{edition} {since(folders, date)}\n{sys.version}\n{Path.cwd() if folders else ''}\n{KB}\n" + "".join(f"{folder}\n" for folder in folders)
    now = said + state(folders)
    if now in _LOADED:
        return _LOADED[now]
    path = place(f"{zlib.crc32(said.encode('utf-8', 'surrogateescape')):08x}")
    k = _read(path, now) if path is not None else None
    if k is None:
        from . import library

        k = library.load(folders, edition, date)
        if path is not None:
            _write(path, now, k)
    _LOADED[now] = k
    return k


def since(folders, date: str | None) -> str | None:
    """The last day up to *date* that a file of the packs names: what is in force has not changed since."""
    if not folders or date is None:
        return None
    from .library import pack_files

    days = {d for folder in map(Path, folders) for p in pack_files(folder) for d in re.findall(r"\b\d{4}-\d\d-\d\d\b", p.read_text("utf-8", "replace"))}
    return max((d for d in days if d <= date), default="0001-01-01")


def state(folders) -> str:
    """What tells that nothing has changed: a line for each file of this engine and of the packs.

    A file is taken to be as it was while its name, size, number on its disk and times of change (which the system keeps
    to some thousandths of a second) are: reading every byte at every start would take longer than the answer.
    """
    return "".join(line for folder in (Path(__file__).parent, KB / "base", *folders) for line in sorted(_files(os.fspath(folder))))


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


def place(name: str) -> Path | None:
    """The cache file called *name*; None where this user has no folder that is safe."""
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
    return folder / f"{name}.knowledge"


def _read(path: Path, now: str) -> Knowledge | None:
    """The knowledge in a file, if it was made from files as they are *now*."""
    try:
        fd = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0))
    except OSError:
        return None
    with os.fdopen(fd, "rb") as f:
        s = os.fstat(f.fileno())
        if s.st_uid != os.getuid() or s.st_mode & 0o022:
            return None
        try:
            data, mine = f.read(), now.encode("utf-8", "surrogateescape")
            with all_kept():
                return pieces.read(data[len(mine):]) if data.startswith(mine) else None
        except Exception:   # a torn or foreign file is no knowledge: it is made anew
            return None


def _write(path: Path, now: str, k: Knowledge) -> None:
    import tempfile

    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as f:
            f.write(now.encode("utf-8", "surrogateescape") + pieces.written(k))
        os.replace(f.name, path)
        for old in sorted(path.parent.glob("*.knowledge"), key=lambda p: p.stat().st_mtime)[:-MOST_KEPT]:
            old.unlink(missing_ok=True)
    except OSError:
        return
