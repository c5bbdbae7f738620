"""The files of a quiz, as the commands read and keep them: whole or not at all, and never over
somebody else's.
"""

from __future__ import annotations

import contextlib
import itertools
import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..engine.front import Fault, Place
from .wall import json_text

if TYPE_CHECKING:
    from ..engine.front import Shape


@contextlib.contextmanager
def writing(path: Path | str, todo: str) -> Iterator[None]:
    """What writes *path*.

    Raises:
        Fault: the system does not let it be written.
    """
    try:
        yield
    except OSError as e:
        raise Fault(
            "not-writable", Place(str(path)), f"this cannot be written: {e.strerror or e}", todo
        ) from None


def write_all(folder: Path, files: dict[str, bytes]) -> None:
    """Write *files* into a folder: all of them, or none.

    Raises:
        Fault: another file of one of the names is there, or the system does not let them be
            written.
    """
    with writing(folder, "name another folder"):
        for name, data in files.items():
            path = folder / name
            if path.exists() and path.read_bytes() != data:
                raise Fault(
                    "already-there",
                    Place(str(path)),
                    "a file of that name is there, and nothing is written over",
                    "name another folder",
                )
        folder.mkdir(parents=True, exist_ok=True)
        begun: list[Path] = []
        try:
            for name, data in files.items():
                if not (folder / name).exists():
                    begun.append(folder / name)
                (folder / name).write_bytes(data)
        except BaseException:  # half a paper is none
            for path in begun:
                path.unlink(missing_ok=True)
            raise


def read_quiz(path: str) -> dict[str, Any]:
    """What `quiz make` wrote.

    Raises:
        Fault: it is no quiz, or no longer as it was written.
    """
    from ..engine.front import QUIZ

    todo = "name the quiz.json that `whywire quiz make` wrote, as it wrote it"
    return _read(path, "quiz", QUIZ, todo)


def read_results(path: str) -> dict[str, Any]:
    """What `quiz take --results` kept.

    Raises:
        Fault: it is no results file, or no longer as it was written.
    """
    from ..engine.front import RESULTS

    todo = "name a file that `whywire quiz take --results` wrote, as it wrote it"
    return _read(path, "results file", RESULTS, todo)


def read_all_results(paths: list[str]) -> list[dict[str, Any]]:
    """What several results files keep; one that is named twice counts once."""
    return [read_results(path) for path in {Path(path).resolve(): path for path in paths}.values()]


def _read(path: str, what: str, shape: dict[str, Shape], todo: str) -> dict[str, Any]:
    """What a JSON file of ours holds, once it is of *shape*: it may have been edited."""
    from ..engine.front import filled_in, read_bytes, wrong_in

    try:
        data = json.loads(read_bytes(Path(path), path).decode("utf-8"))
    except (ValueError, RecursionError) as e:
        raise Fault(
            "not-json", Place(path), f"this is no {what}: {str(e)[:80]}", "is this the right file?"
        ) from None
    if not isinstance(data, dict):
        raise Fault("not-json", Place(path), f"this is no {what}", "is this the right file?")
    said = list(itertools.islice(wrong_in(data, shape), 3))
    if said:
        raise Fault("not-json", Place(path), f"this is no {what}: " + "; ".join(said), todo)
    read: dict[str, Any] = filled_in(data, shape)
    return read


def keep(path: Path, data: dict[str, Any]) -> None:
    """Write a results file whole, or leave the one that is there.

    Raises:
        Fault: the system does not let it be written.
    """
    new = path.with_name(path.name + ".new")
    with writing(path, "may you write it, and in its folder?"):
        try:
            new.write_text(json_text(data), "utf-8")
            os.replace(new, path)
        except BaseException:
            with contextlib.suppress(OSError):
                new.unlink()
            raise


def see_writable(path: Path) -> None:
    """See that the answers can be kept, before the first is given.

    Raises:
        Fault: they could not.
    """
    new = path.with_name(path.name + ".new")
    with writing(path, "name a file in a folder that is there, and that you may write"):
        if path.is_dir():
            raise IsADirectoryError(21, "it is a folder")
        new.touch()
        new.unlink()
