"""Files of the user's own that hold what took long to make: safe to delete, and never taken from
another user.

A file begins with what it was made from, and is read only where all of that is as it was. What is
read back may be code: so the folder and the file must belong to this user, and nobody else may
write there.
"""

from __future__ import annotations

import os
import zlib
from collections.abc import Callable
from pathlib import Path

from .reading import all_kept

# files: one for each set of packs, edition and date that is asked for; one a job
MOST = {
    ".knowledge": 12,
    ".job": 200,
}


def short(text: str) -> str:
    """A short name for a file; two that share one take turns, since a file is read only by all that
    it begins with.
    """
    return f"{zlib.crc32(as_bytes(text)):08x}"


def as_bytes(text: str) -> bytes:
    """*text* as it is written in a file, names of files that are no UTF-8 included."""
    return text.encode("utf-8", "surrogateescape")


def place(name: str) -> Path | None:
    """The file called *name*; None where this user has no folder that is safe."""
    if os.environ.get("WHYWIRE_CACHE") == "off" or not hasattr(os, "getuid"):
        return None
    base = Path(
        os.environ.get("WHYWIRE_CACHE")
        or os.environ.get("XDG_CACHE_HOME")
        or Path.home() / ".cache"
    )
    folder = base if os.environ.get("WHYWIRE_CACHE") else base / "whywire"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        s = folder.lstat()
    except OSError:
        return None
    if s.st_uid != os.getuid() or s.st_mode & 0o022:
        return None
    return folder / name


def read(path: Path | None, now: bytes, made_of: Callable):
    """What *made_of* makes of the rest of a file that begins with *now*; None where there is
    none.
    """
    try:
        fd = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0)) if path is not None else None
    except OSError:
        fd = None
    if fd is None:
        return None
    with os.fdopen(fd, "rb") as f:
        s = os.fstat(f.fileno())
        if s.st_uid != os.getuid() or s.st_mode & 0o022:
            return None
        try:
            data = f.read()
            with all_kept():
                return made_of(data[len(now) :]) if data.startswith(now) else None
        except Exception:  # a torn or foreign file says nothing: it is made anew
            return None


def write(path: Path | None, now: bytes, said: bytes) -> None:
    """Keep *said*, made from what is *now*; where that cannot be done it is made anew the next
    time.
    """
    import tempfile

    if path is None:
        return
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as f:
            f.write(now + said)
        os.replace(f.name, path)
        for old in sorted(path.parent.glob(f"*{path.suffix}"), key=lambda p: p.stat().st_mtime)[
            : -MOST[path.suffix]
        ]:
            old.unlink(missing_ok=True)
    except OSError:
        return


__all__ = ["short", "as_bytes", "place", "read", "write"]
