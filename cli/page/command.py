"""`whywire page`: the survey in a browser, served on this machine."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import Any

from ...engine.asking.cards import read_cards
from ...engine.asking.survey import Survey
from ...engine.basics.errors import Fault, Faults, Place
from ...engine.language.rules import EDITIONS
from ...engine.law.places import in_force, known_packs
from ...engine.running.cache import load
from .front import Front
from .server import Server

MOST_OF_ONE_NAME = 100


def front() -> Front:
    """The page over the places and editions that are known here."""
    places = sorted({pack.place for pack in known_packs().values() if pack.place})
    return Front(begun, places, [str(edition) for edition in EDITIONS])


def begun(head: dict[str, str]) -> Survey:
    """A survey without answers, under the law that its head says.

    Raises:
        Faults: nothing says which law is in force.
    """
    said: dict[str, Any] = dict(head)
    date, place = head.get("permit date"), head.get("place")
    force = in_force(said, "the page", (), head.get("edition"), date, place)
    return Survey(read_cards(), load(force.folders, force.edition, force.date), said)


def serve(folder: str, put: Callable[[str], None]) -> None:
    """Serve the survey until it is broken off; jobs are written into *folder*.

    Raises:
        Faults: *folder* is none.
    """
    where = Path(folder)
    if not where.is_dir():
        todo = "name a folder that is there"
        raise Faults([Fault("no-folder", Place(folder), "this is no folder", todo)])
    server = Server(front(), lambda: datetime.date.today().isoformat(), saver(where))
    put(f"Open {server.address}")
    put(f"Jobs are saved in {where}. Ctrl-C ends it.")
    with server:
        server.serve_forever()


def saver(folder: Path) -> Callable[[str, str], str]:
    """Writes a job into *folder* under a name that no file has yet, and says which."""

    def saved(name: str, text: str) -> str:
        stem = Path(name).stem
        for number in range(1, MOST_OF_ONE_NAME):
            path = folder / (f"{stem}-{number}.yaml" if number > 1 else f"{stem}.yaml")
            try:
                with path.open("x", encoding="utf-8") as file:
                    file.write(text)
            except FileExistsError:
                continue
            return str(path)
        raise FileExistsError(f"there are {MOST_OF_ONE_NAME} jobs of that name already")

    return saved
