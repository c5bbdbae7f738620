"""`whywire page`: the survey in a browser, served on this machine."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from ...engine.front import (
    EDITIONS,
    Cards,
    Fault,
    Faults,
    Knowledge,
    Place,
    Survey,
    in_force,
    known_packs,
    load,
    read_cards,
)
from ..look import look
from . import pages
from .front import Front
from .server import Server

MOST_OF_ONE_NAME = 100
MOST_LAWS = 16  # heads of jobs whose law is remembered


def front() -> Front:
    """The page over the places and editions that are known here."""
    places = sorted({pack.place for pack in known_packs().values() if pack.place})
    return Front(begun, pages.opened, places, [str(edition) for edition in EDITIONS], look())


@cache
def cards() -> Cards:
    """The cards, which are read once: a step is to be felt as none."""
    return read_cards()


def begun(head: dict[str, Any]) -> Survey:
    """A survey without answers, under the law that its head says.

    Raises:
        Faults: nothing says which law is in force.
    """
    said: dict[str, Any] = dict(head)
    told = tuple((key, one) for key, one in said.items() if isinstance(one, str))
    return Survey(cards(), knowledge(told), said)


@lru_cache(MOST_LAWS)
def knowledge(told: tuple[tuple[str, str], ...]) -> Knowledge:
    """The knowledge in force by what a job's head *told*: found once, since to see whether a file
    of the packs was changed takes longer than an answer. What is changed while a page is served is
    read when it is served anew.

    Raises:
        Faults: nothing says which law is in force.
    """
    force = in_force(dict(told), "the page")
    return load(force.folders, force.edition, force.date)


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
        """Write *text* and say where.

        Raises:
            FileExistsError: too many files have that name already.
        """
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


def build_page(
    to: str, pyodide: str, editions: list[str], places: list[str], date: str | None
) -> Iterator[str]:
    """Write the page that needs no server into *to*; says what was written.

    Raises:
        Faults: what is needed is not there, no law is told, or one that nobody knows.
    """
    from .build import build

    laws = [*({"edition": one} for one in editions), *({"place": one} for one in places)]
    if not laws:
        todo = "--edition 2023, or --place with the name of a town"
        raise Faults([Fault("no-law", Place("page build"), "whose law does the page hold?", todo)])
    day = datetime.date.today()
    if date is not None:
        try:
            day = datetime.date.fromisoformat(date)
        except ValueError:
            what = f"{date} is no date"
            raise Faults([Fault("date", Place("--date"), what, "2026-01-05")]) from None
    files = build(Path(to), Path(pyodide), laws, day)
    size = sum(file.stat().st_size for file in files if file.suffix != ".html") / 1_000_000
    yield f"Written to {to}: {len(files)} files of {size:.1f} MB, for a host that speaks https."
    yield f"{Path(to) / 'whywire.html'} is the same in one file, opened without any host."
