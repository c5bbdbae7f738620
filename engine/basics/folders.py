"""A folder of files of our own making: written whole, and never over anything a person put there or
changed.
"""

from __future__ import annotations

from pathlib import Path

from .errors import Fault, Place
from .reading import digest

LIST = "written-by-whywire.txt"


def write_folder(folder: Path, files: dict[str, str]) -> None:
    """Make *folder* hold *files* (path below it to text) and a list of them with a digest each; an
    older book of ours goes.

    Raises:
        Fault: the folder cannot be written, or holds anything else: a file that is not on its
            list, or is not as it was written.
    """
    old = ours(folder)
    for path in old:
        path.unlink()
    for below in sorted({p.parent for p in old} - {folder}, reverse=True):
        if not any(below.iterdir()):
            below.rmdir()
    listed = "".join(f"{digest(text, 64)} {name}\n" for name, text in sorted(files.items()))
    # the list first: what a full disk cuts short is still known as ours
    every = {LIST: listed, **files}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in every.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text.encode())
    except OSError as error:
        raise Fault(
            "not-writable",
            Place(str(folder)),
            f"this folder cannot be written: {error.strerror or error}",
            "name another folder",
        ) from None


def write_once(folder: Path, files: dict[str, bytes], listed: str) -> None:
    """Make *folder*, which is not there yet, of *files* (path below it to what it holds) and the
    file *listed* with a digest of each: whole, or not at all.

    Raises:
        Fault: there is something of that name already, or it cannot be written.
    """
    import hashlib
    import os
    import shutil
    import tempfile

    if folder.exists() or folder.is_symlink():
        todo = "name a folder that is not there yet; nothing was written over"
        raise Fault("is-there", Place(str(folder)), "this is there already", todo)
    digests = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    lines = "".join(f"{digests[name]} {name}\n" for name in sorted(files))
    made = None
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        # beside it, so that it is put in its place in one step
        made = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=folder.parent))
        for name, data in {**files, listed: lines.encode()}.items():
            path = made / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        made.chmod(0o755)
        os.rename(made, folder)
    except OSError as error:
        raise Fault(
            "not-writable",
            Place(str(folder)),
            f"this folder cannot be written: {error.strerror or error}",
            "name another folder",
        ) from None
    finally:
        if made is not None and made.exists():
            shutil.rmtree(made, ignore_errors=True)


def ours(folder: Path) -> list[Path]:
    """The files of an older book in *folder*, its list last.

    Raises:
        Fault: *folder* is no folder, or holds what is no book of ours.
    """
    if not folder.exists() and not folder.is_symlink():
        return []
    if not folder.is_dir():
        raise _not_ours(folder, "this is no folder", "name a folder that is empty or not there yet")
    known = _listed(folder / LIST)
    there = sorted(folder.rglob("*"))
    for path in there:
        _see_that_ours(path, path.relative_to(folder).as_posix(), known)
    files = [path for path in there if path.is_file() and path.name != LIST]
    return [*files, folder / LIST] if (folder / LIST).is_file() else files


def _listed(path: Path) -> dict[str, str]:
    """The files that an older book's list names, each with its digest; none where it has none."""
    if not path.is_file() or path.is_symlink():
        return {}
    lines = [line.partition(" ") for line in _text(path).splitlines()]
    return {name: said for said, _, name in lines}


def _see_that_ours(path: Path, below: str, known: dict[str, str]) -> None:
    """Refuse what we did not write, or what was changed since: writing over it would lose it."""
    foreign = "this folder holds what whywire did not write"
    todo = "name a folder that is empty or not there yet; nothing was written over"
    if path.is_symlink() or not (path.is_dir() or path.is_file()):
        raise _not_ours(path, foreign, "name a folder that is empty or not there yet")
    if path.is_dir():
        if not any(name.startswith(below + "/") for name in known):
            raise _not_ours(path, foreign, todo)
    elif below != LIST:
        if below not in known:
            raise _not_ours(path, foreign, todo)
        if digest(_text(path), 64) != known[below]:
            raise _not_ours(path, "this file was changed since it was written", todo)


def _not_ours(path: Path, what: str, todo: str) -> Fault:
    return Fault("not-ours", Place(str(path)), what, todo)


def _text(path: Path) -> str:
    """What a file says, whatever it holds: it is only compared."""
    return path.read_bytes().decode("utf-8", "replace")


__all__ = ["LIST", "ours", "write_folder", "write_once"]
