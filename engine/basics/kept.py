"""Files of the user's own that hold what took long to make: safe to delete, and never taken from
another user.

A file begins with a digest of all that follows, then with what it was made from: it is read only
where both are as they were, so that a bit that turned over on the disk is made anew and not run.
What is read back may be code, and whoever can write a file can write its digest too. Against that
helps only who may write there: the folder and the file must belong to this user, and nobody else
may write to either. Where the system tells no owners (Windows) the folder must lie inside the
profile of this user, which the system closes to others.
"""

from __future__ import annotations

import io
import os
import pickle
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from .reading import all_kept

# files: one for each set of packs, edition and date that is asked for; one a job
MOST = {
    ".knowledge": 12,
    ".job": 200,
}
DIGEST = 32  # bytes
OTHERS_WRITE = 0o022
# What keeps this start from keeping anything, as the user should hear it; "" where nothing does.
_trouble = ""


def trouble() -> str:
    """Why nothing is kept for the next start, in a sentence; "" where it is, or where that is
    wished so.
    """
    return _trouble


def _doubt(said: str) -> None:
    """Note the first thing that keeps us from keeping anything."""
    global _trouble
    _trouble = _trouble or said


def short(text: str) -> str:
    """A short name for a file; two that share one take turns, since a file is read only by all that
    it begins with.
    """
    return f"{zlib.crc32(as_bytes(text)):08x}"


def as_bytes(text: str) -> bytes:
    """*text* as it is written in a file, names of files that are no UTF-8 included."""
    return text.encode("utf-8", "surrogateescape")


def digest(data: bytes) -> bytes:
    """The digest of *data*. The module below hashlib: to import that takes longer than a whole file
    to digest.
    """
    try:
        from _blake2 import blake2b
    except ImportError:  # a Python that is put together otherwise
        from hashlib import blake2b
    return blake2b(data, digest_size=DIGEST).digest()


def folder_for(kind: str) -> Path:
    """Where this user's files of a *kind* ("cache" or "state") belong, whether or not it is there.

    Raises:
        RuntimeError: nobody knows where this user's files are.
    """
    if told := os.environ.get(f"XDG_{kind.upper()}_HOME"):
        return Path(told) / "whywire"
    if not hasattr(os, "getuid") and (told := os.environ.get("LOCALAPPDATA")):
        return Path(told) / "whywire" / kind
    return Path.home() / {"cache": ".cache", "state": ".local/state"}[kind] / "whywire"


def why_not_safe(folder: Path) -> str:
    """What speaks against reading back what lies in *folder*, which is there; "" where nothing
    does.

    Raises:
        OSError: the system does not say.
    """
    s = folder.lstat()
    if not hasattr(os, "getuid"):
        # No owners are told. The profile of a user is closed to others by the system itself.
        try:
            home = Path.home().resolve()
        except RuntimeError:
            return "nobody knows whose it is"
        inside = folder.resolve().is_relative_to(home)
        return "" if inside else f"it is not inside of {home}, so others may write there"
    if s.st_uid != os.getuid():
        return "it belongs to somebody else"
    return "others may write there" if s.st_mode & OTHERS_WRITE else ""


def place(name: str) -> Path | None:
    """The file called *name*; None where this user has no folder that is safe."""
    told = os.environ.get("WHYWIRE_CACHE")
    if told == "off":
        return None
    try:
        folder = Path(told) if told else folder_for("cache")
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        doubt = why_not_safe(folder)
    except (OSError, RuntimeError) as e:
        _doubt(f"its folder cannot be had ({getattr(e, 'strerror', None) or e})")
        return None
    if doubt:
        _doubt(f"{folder} is not used: {doubt}")
        return None
    return folder / name


def read(path: Path | None, now: bytes, made_of: Callable[[bytes], Any]) -> Any:
    """What *made_of* makes of the rest of a file that begins with *now*; None where there is none,
    or any doubt of it.
    """
    if path is None:
        return None
    try:
        flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
        with os.fdopen(os.open(path, flags), "rb") as f:
            s = os.fstat(f.fileno())
            if hasattr(os, "getuid") and (s.st_uid != os.getuid() or s.st_mode & OTHERS_WRITE):
                return None
            data = f.read()
    except FileNotFoundError:
        return None
    except OSError as e:
        # one that somebody put there is replaced, and is no trouble
        if not path.is_symlink():
            _doubt(f"{path} cannot be read ({e.strerror or e})")
        return None
    begun = DIGEST + len(now)
    if data[DIGEST:begun] != now or digest(data[DIGEST:]) != data[:DIGEST]:
        return None
    try:
        with all_kept():
            return made_of(data[begun:])
    except Exception:  # whole, and yet not what this Python makes of it: it is made anew
        return None


def write(path: Path | None, now: bytes, said: bytes) -> None:
    """Keep *said*, made from what is *now*; where that cannot be done it is made anew the next
    time.

    Raises whatever breaks off while it writes, but for what the system says: nothing half written
    is left.
    """
    import contextlib
    import tempfile

    if path is None:
        return
    beside = ""
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as f:
            beside = f.name
            f.write(digest(now + said) + now + said)
        os.replace(beside, path)
        for old in sorted(path.parent.glob(f"*{path.suffix}"), key=_age)[: -MOST[path.suffix]]:
            old.unlink(missing_ok=True)
    except BaseException as e:
        # a full disk, or somebody who breaks off, leaves nothing behind
        if beside:
            with contextlib.suppress(OSError):
                os.unlink(beside)
        if not isinstance(e, OSError):
            raise
        # Another start may hold the file open, which some systems do not let us replace: its turn.
        if not isinstance(e, PermissionError) or not path.exists():
            _doubt(f"{path.parent} cannot be written ({e.strerror or e})")


def _age(path: Path) -> float:
    """When *path* was written; long ago where another start has deleted it meanwhile."""
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0


class Unpickler(pickle.Unpickler):
    """Reads back what is made of our own classes and of numbers, and imports nothing else.

    Files of others are never read; this is for the case that one is read all the same.
    """

    OURS = ("whywire.engine.",)
    # what was found and is ours: a file names the same few classes time and again
    _found: dict[tuple[str, str], Any] = {}
    PLAIN = {
        ("decimal", "Decimal"),
        ("fractions", "Fraction"),
        ("datetime", "date"),
        ("builtins", "set"),
        ("builtins", "frozenset"),
        ("builtins", "slice"),
        ("builtins", "complex"),
        ("builtins", "bytearray"),
        ("builtins", "object"),
        ("collections", "OrderedDict"),
        ("collections", "defaultdict"),
        ("copyreg", "_reconstructor"),
    }

    def find_class(self, module: str, name: str) -> Any:
        """The class a file names. Raises UnpicklingError for one that is not ours."""
        found = self._found.get((module, name))
        if found is not None:
            return found
        ours = module.startswith(self.OURS)
        if "." not in name and (ours or (module, name) in self.PLAIN):
            got = super().find_class(module, name)
            # What a module of ours imports from elsewhere is not ours.
            if not ours or str(getattr(got, "__module__", "")).startswith(self.OURS):
                self._found[module, name] = got
                return got
        raise pickle.UnpicklingError(f"{module}.{name} has no business here")


def unpickled(data: bytes) -> Any:
    """What was pickled as *data*, of our own classes alone. Raises whatever a foreign file leads
    to.
    """
    return Unpickler(io.BytesIO(data)).load()


__all__ = [
    "Unpickler",
    "as_bytes",
    "digest",
    "folder_for",
    "place",
    "read",
    "short",
    "trouble",
    "unpickled",
    "why_not_safe",
    "write",
]
