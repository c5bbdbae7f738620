"""A pack as one file: its version, a digest of what is in it, and every file, so that whoever has
it can see that his own is the same.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path

from ..basics.errors import Fault, Faults, Place
from ..basics.limits import PACK_BYTES
from ..basics.reading import Mapping, decode, digest, place_of, read_bytes, read_yaml
from ..law.library import Library, pack_files
from ..law.places import with_all_above

_VERSION = re.compile(r"[A-Za-z0-9][A-Za-z0-9 .-]{0,40}")


@dataclass
class Published:
    """A published pack: its name, version and digest, and its files by their paths in the pack."""

    name: str
    version: str
    digest: str
    files: dict[str, str] = field(default_factory=dict)


@dataclass
class Against:
    """How a pack compares with what was published."""

    published: Published
    same: list[str]
    changed: list[str]
    missing: list[str]  # published, and not there
    more: list[str]  # there, and not published

    @property
    def is_same(self) -> bool:
        return not (self.changed or self.missing or self.more)


def publish(folder: Path, version: str) -> str:
    """The text of a file that holds the pack in *folder* as *version*.

    Raises:
        Faults: the pack cannot be read, or the version is none.
    """
    if not _VERSION.fullmatch(version):
        what = f'"{version}" is no version'
        raise Faults([Fault("version", Place("--version"), what, "write 3, 2026.1, or the like")])
    library = Library((*with_all_above([folder])[:-1], folder))
    library.faults.stop()
    pack = library.packs[-1]
    files = _files_of(folder)
    lines = [
        f"# {pack.title}, version {version}: one file for all of the pack.",
        f"published: {pack.name}",
        f'version: "{version}"',
        f"digest: {_digest(pack.name, version, files)}",
        "files:",
    ]
    for name, text in files.items():
        lines += [f'  "{name}": |2', *(f"    {line}".rstrip() for line in text.split("\n"))]
    return "\n".join(lines).rstrip("\n") + "\n"


def _files_of(folder: Path) -> dict[str, str]:
    """The text of every file that makes a pack, by its path there; line ends as one writes them
    here.
    """
    paths = [*pack_files(folder), *sorted(folder.rglob("*.csv"))]
    out = {}
    for path in paths:
        name = path.relative_to(folder).as_posix()
        text = decode(read_bytes(path, name), name)
        lines = [line.rstrip() for line in text.replace("\r\n", "\n").split("\n")]
        out[name] = "\n".join(lines).rstrip("\n") + "\n"
    return out


def _digest(name: str, version: str, files: dict[str, str]) -> str:
    """A digest of what is published; a blank at the end of a line does not count."""
    parts = [name, version, *(f"{path}\n{text}" for path, text in sorted(files.items()))]
    return digest("\n".join(parts), 24)


def read_published(path: Path) -> Published:
    """What a published file holds, its digest seen to be of what is in it.

    Raises:
        Faults: it is none, or was changed since.
    """
    name = path.name
    body = read_yaml(decode(read_bytes(path, str(path)), name), name)
    keys = {"published", "version", "digest", "files"}
    if not isinstance(body, Mapping) or {str(key) for key in body} != keys:
        what = "this file is no published pack"
        todo = "whywire pack publish FOLDER --version N --to FILE writes one"
        raise Faults([Fault("published-form", Place(name), what, todo)])
    files = body["files"]
    if not isinstance(files, dict) or not all(isinstance(text, str) for text in files.values()):
        what = '"files" holds the text of each file by its name'
        raise Faults([Fault("published-form", place_of(files), what, "publish the pack anew")])
    said = {
        str(one): "\n".join(line.rstrip() for line in str(text).split("\n")).rstrip("\n") + "\n"
        for one, text in files.items()
    }
    got = Published(str(body["published"]), str(body["version"]), str(body["digest"]), said)
    _see_paths(path.name, got)
    counted = _digest(got.name, got.version, got.files)
    if counted != got.digest:
        raise Faults(
            [
                Fault(
                    "published-changed",
                    place_of(body["digest"]),
                    f"the digest of what is in this file is {counted}, and it says {got.digest}: it"
                    " was changed since it was published",
                    "ask for the file anew where it was published",
                )
            ]
        )
    return got


def _see_paths(name: str, got: Published) -> None:
    """See that no file of what was published leads out of its folder, and that it is no more than
    a pack may be.
    """
    for path, text in got.files.items():
        parts = path.split("/")
        is_odd = not re.fullmatch(r"[\w][\w .-]*", parts[-1]) or any(
            not re.fullmatch(r"[\w-]+", part) for part in parts[:-1]
        )
        if is_odd or not path.endswith((".yaml", ".csv")) or len(text) > PACK_BYTES:
            what = f'"{path[:60]}" is no file of a pack'
            raise Faults([Fault("published-form", Place(name), what, "publish the pack anew")])


def against(folder: Path, path: Path) -> Against:
    """How the pack in *folder* compares with what was published at *path*."""
    got = read_published(path)
    here = _files_of(folder)
    both = [name for name in got.files if name in here]
    return Against(
        got,
        [name for name in both if here[name] == got.files[name]],
        [name for name in both if here[name] != got.files[name]],
        [name for name in got.files if name not in here],
        [name for name in here if name not in got.files],
    )


def unpack(path: Path, folder: Path) -> Published:
    """Write what was published at *path* into a folder that is not there yet.

    Raises:
        Faults: it was changed since, or the folder is there.
    """
    got = read_published(path)
    if folder.exists():
        what = "this folder is there already, and nothing is written over"
        raise Faults([Fault("there-already", Place(str(folder)), what, "name a new one")])
    for name, text in got.files.items():
        to = folder / name
        to.parent.mkdir(parents=True, exist_ok=True)
        to.write_text(text, encoding="utf-8", newline="\n")
    return got


__all__ = ["Against", "Published", "against", "publish", "read_published", "unpack"]
