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

    Raises Fault where the folder holds anything else: a file that is not on its list, or is not as
    it was written.
    """
    old = ours(folder)
    for path in old:
        path.unlink()
    for below in sorted({p.parent for p in old} - {folder}, reverse=True):
        if not any(below.iterdir()):
            below.rmdir()
    listed = "".join(f"{digest(text, 64)} {name}\n" for name, text in sorted(files.items()))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        # the list first: what a full disk cuts short is still known as ours
        for name, text in {
            LIST: listed,
            **files,
        }.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text.encode())
    except OSError as e:
        raise Fault(
            "not-writable",
            Place(str(folder)),
            f"this folder cannot be written: {e.strerror or e}",
            "name another folder",
        ) from None


def ours(folder: Path) -> list[Path]:
    """The files of an older book in *folder*, its list last. Raises Fault for what is no book of
    ours.
    """
    if not folder.exists() and not folder.is_symlink():
        return []
    if not folder.is_dir():
        raise Fault(
            "not-ours",
            Place(str(folder)),
            "this is no folder",
            "name a folder that is empty or not there yet",
        )
    there = sorted(folder.rglob("*"))
    known: dict[str, str] = {}
    if (folder / LIST).is_file() and not (folder / LIST).is_symlink():
        known = {
            name: said
            for said, _, name in (
                line.partition(" ")
                for line in (folder / LIST).read_bytes().decode("utf-8", "replace").splitlines()
            )
        }
    for p in there:
        below = p.relative_to(folder).as_posix()
        if p.is_symlink() or not (p.is_dir() or p.is_file()):
            raise Fault(
                "not-ours",
                Place(str(p)),
                "this folder holds what whywire did not write",
                "name a folder that is empty or not there yet",
            )
        if (
            p.is_file()
            and below != LIST
            and (
                below not in known
                or digest(p.read_bytes().decode("utf-8", "replace"), 64) != known[below]
            )
        ):
            what = (
                "this file was changed since it was written"
                if below in known
                else "this folder holds what whywire did not write"
            )
            raise Fault(
                "not-ours",
                Place(str(p)),
                what,
                "name a folder that is empty or not there yet; nothing was written over",
            )
        if p.is_dir() and not any(name.startswith(below + "/") for name in known):
            raise Fault(
                "not-ours",
                Place(str(p)),
                "this folder holds what whywire did not write",
                "name a folder that is empty or not there yet; nothing was written over",
            )
    return [
        *(p for p in there if p.is_file() and p.name != LIST),
        *([folder / LIST] if (folder / LIST).is_file() else []),
    ]


__all__ = ["LIST", "ours", "write_folder"]
