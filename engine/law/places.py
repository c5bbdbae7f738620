"""What is in force for a job: by its place and the date of its permit, or by the packs and the
edition it names.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ..basics.errors import Collector, Fault, Faults, Place, suggest
from ..basics.reading import Mapping, decode, place_of, read_bytes, read_yaml
from ..basics.units import said_day
from ..language.knowledge import KB
from ..language.rules import EDITIONS
from ..language.words import a_noun, as_list

if TYPE_CHECKING:  # what reads packs is imported when one is named
    from .library import Pack

# What people call the edition, as the vocabulary has it: which is read when the edition is known.
EDITION_CALLED = ("edition", "code", "code year", "NEC")
# What to write where a job says nothing of where and when it is.
# how many folders above a job a pack is looked for
DEEP_IN_A_PACK = 3
ANYWHERE = "write edition: 2023, or place: and permit date:"


class InForce:
    """The edition, where it is known from, the date that counts, and the packs over the base in the
    order they apply.
    """

    def __init__(
        self,
        edition: str,
        edition_from: str,
        date: str | None = None,
        place: str = "",
        packs: list[Pack] | None = None,
    ) -> None:
        self.edition, self.date, self.place = edition, date, place
        self.edition_from = edition_from  # told | asked for | place
        self.packs = packs or []  # of library.Pack: what reads packs is imported when one is named
        self.notes: list[str] = []

    @property
    def folders(self) -> tuple[Path, ...]:
        """Where the packs lie, for `load`."""
        return tuple(p.folder for p in self.packs)

    @property
    def has_place(self) -> bool:
        """Whether one of the packs is for the place."""
        return any(self.place.strip().lower() in p.names for p in self.packs)

    @property
    def adopted_in(self) -> str:
        """Where the edition was adopted: in the place itself, unless no pack is for it."""
        return (
            self.place
            if self.has_place
            else next((p.where for p in reversed(self.packs) if p.adopts), self.place)
        )


def out_of_force(start: str, end: str, date: str | None) -> str:
    """Why a pack with these days changes nothing of a permit of *date*: "" where it may."""
    # a job without a date is after every first day and before every last one
    if start > (date or "9999"):
        return f"not before {start}"
    return f"no longer since {end}" if end and end <= (date or "") else ""


def shelves() -> list[Path]:
    """The folders in which packs of places lie: the shipped ones, and those named in
    WHYWIRE_PACKS.
    """
    return [
        KB / "places",
        *(Path(p) for p in os.environ.get("WHYWIRE_PACKS", "").split(os.pathsep) if p),
    ]


def known_packs() -> dict[str, Pack]:
    """Every pack on the shelves by its name; only the heads are read.

    A folder of jobs asks with each of them: while the files are as they were, their heads are not
    read again.

    Raises:
        Faults: a head is faulty.
    """
    from copy import copy  # a job that names no place needs none

    paths = [
        path
        for shelf in shelves()
        for path in sorted([*shelf.glob("pack.yaml"), *shelf.glob("*/pack.yaml")])
    ]
    now = (Path.cwd(), *map(_state, paths))
    if now not in _KNOWN:
        # one state is kept: what changed once on a shelf will not change back
        _KNOWN.clear()
        _KNOWN[now] = _heads(paths)
    # what lies within what is noted on them
    return {name: copy(pack) for name, pack in _KNOWN[now].items()}


# the state of the files -> the packs whose heads they are
_KNOWN: dict[tuple, dict[str, Pack]] = {}


def _state(path: Path) -> tuple:
    """What tells that a file is as it was."""
    try:
        state = path.stat()
    except OSError:  # its head says why it cannot be read
        return path, None
    return path, state.st_size, state.st_ino, state.st_mtime_ns, state.st_ctime_ns


def _heads(paths: list[Path]) -> dict[str, Pack]:
    """The packs whose heads are in *paths*, by name."""
    faults = Collector()
    out: dict[str, Pack] = {}
    for path in paths:
        with faults.catching():
            pack = head_of(path.parent, faults)
            if pack.name in out:
                faults.add(
                    "id-in-use",
                    pack.at,
                    f'another pack is called "{pack.name}" (in {out[pack.name].folder})',
                    "give it a name of its own",
                )
            # the first keeps the name, so that what lies within it is told of no second slip
            out.setdefault(pack.name, pack)
    faults.stop()
    if out:
        from .library import nest

        nest(list(out.values()))
    return out


def head_of(folder: Path, faults: Collector) -> Pack:
    """The head of the pack in *folder*; what is wrong in it is noted.

    Raises:
        Fault: there is none.
    """
    from .library import read_head, shown_name

    path = folder / "pack.yaml"
    name = shown_name(path)
    body = read_yaml(decode(read_bytes(path, name), name), name)
    if not isinstance(body, Mapping) or "pack" not in body:
        raise Fault(
            "no-pack-head",
            Place(name),
            "this file does not say which pack it is",
            "add pack: and its name",
        )
    # its edits and words are read when the pack is in force, and their faults told then
    head = Mapping((k, v) for k, v in body.items() if k not in ("edits", "words"))
    head.at = place_of(body)
    return read_head(head, folder, faults)


def in_force(
    body: object,
    name: str = "job",
    packs: Sequence[str | Path] = (),
    edition: str | None = None,
    date: str | None = None,
    place: str | None = None,
) -> InForce:
    """What is in force for the job that *body* says, or for other *packs*, *edition*, *date* or
    *place* than it names.

    Raises:
        Faults: that cannot be known; nothing is concluded from an edition nobody told.
    """
    job: dict = body if isinstance(body, dict) else {}
    faults, here = Collector(), Place(name)
    told = told_law(job)
    date = _date_that_counts(job, date, here, faults)
    place = place if place is not None else told.get("place", "")
    chosen, known = _packs_chosen(job, packs, place, here, faults)
    faults.stop()
    got = InForce(
        edition or told.get("edition", ""),
        "asked for" if edition else "told",
        date,
        place,
        sorted(chosen, key=lambda pack: (pack.rank, pack.name)),
    )
    if place and not got.has_place:
        got.notes.append(_no_pack_for(place, known))
    _see_date(got, here, faults)
    if not edition:
        _edition(got, told, here, job, faults)
    if got.edition and got.edition not in EDITIONS:
        faults.add(
            "edition",
            Place("edition") if edition else _at_edition(job, here),
            f'"{got.edition}" is no edition',
            suggest(got.edition, EDITIONS),
        )
    faults.stop()
    if got.edition == "2026":
        got.notes.append(
            "The 2026 edition is known here only in part: what no rule marks otherwise is taken"
            " over from 2023."
        )
    return got


def told_law(job: dict) -> dict[str, str]:
    """The place and the edition that a job tells, under the names that people give them."""
    told = {}
    for name, keys in (("place", ("place",)), ("edition", EDITION_CALLED)):
        said = next((job[key] for key in keys if isinstance(job.get(key), str)), None)
        if said is not None and not _unsaid(said):
            told[name] = str(said)
    if year := re.fullmatch(r"(?:NEC )?(20\d\d)(?: NEC)?", told.get("edition", ""), re.I):
        told["edition"] = year[1]
    return told


def _at_edition(job: dict, here: Place) -> Place:
    """Where a job tells the edition."""
    return next((place_of(job[key], here) for key in EDITION_CALLED if key in job), here)


def _see_date(got: InForce, here: Place, faults: Collector) -> None:
    """Note that the date of the permit is missing, where a pack's law hangs on it."""
    lawful = [pack.where for pack in got.packs if pack.layer]
    if got.date is None and lawful:
        faults.add(
            "permit-date-unknown",
            here,
            f"what is in force in {' and '.join(lawful)} hangs on the date of the permit, and the"
            " job does not tell it",
            "write permit date: 2025-09-02",
        )


def _unsaid(text: object) -> bool:
    """Whether a person wrote that he does not know."""
    return str(text).strip().lower() in ("unknown", "?", "")


def _date_that_counts(job: dict, asked: str | None, here: Place, faults: Collector) -> str | None:
    """The date of the permit, as a day of the calendar: the one asked for, or the job's own.

    What is no date is kept as it was written, beside its fault: `faults` stops it later.
    """
    said = next((job[key] for key in ("permit date", "permit") if key in job), None)
    if asked is not None:
        with faults.catching():
            return said_day(str(asked).strip(), Place("--date")).isoformat()
        return asked
    if said is not None and str(said).strip().lower() not in ("unknown", "?"):
        with faults.catching():
            return said_day(str(said), place_of(said, here)).isoformat()
    return None


def _packs_chosen(
    job: dict, asked: Sequence[str | Path], place: str, here: Place, faults: Collector
) -> tuple[list[Pack], dict[str, Pack]]:
    """The packs that are named and those of the place with what they lie within; and all known."""
    named = list(asked) or _packs_named(job, here, faults)
    known = known_packs() if place or any(not Path(one).is_dir() for one in named) else {}
    chosen: dict[str, Pack] = {}
    for one in named:
        with faults.catching():
            pack = known.get(str(one)) or _in_folder(one, known, faults)
            chosen[pack.name] = pack
    around = None if named else _pack_around(here[0], place)
    if around is not None:
        chosen |= {link.name: link for link in chain_of(around, known, faults)}
    here_too = [pack for pack in known.values() if place and place.strip().lower() in pack.names]
    for pack in here_too:
        # one that is named by its folder is the version that is meant
        chosen = {link.name: link for link in chain_of(pack, known, faults)} | chosen
    if chosen and not faults.items:
        from .library import nest

        nest(list(chosen.values()))
    return list(chosen.values()), known


def _pack_around(job: str, place: str) -> Pack | None:
    """The pack of a place in whose folder a job of that place lies; of several the nearest."""
    if not place:
        return None
    for folder in Path(job).resolve().parents[:DEEP_IN_A_PACK]:
        if (folder / "pack.yaml").is_file():
            found = Collector()
            with found.catching():
                pack = head_of(folder, found)
                return pack if place.strip().lower() in pack.names else None
    return None


def _packs_named(job: dict, here: Place, faults: Collector) -> list[str]:
    """The packs that a job names."""
    named = as_list(job.get("packs"))
    wrong = [one for one in named if not isinstance(one, str)]
    if wrong:
        faults.add(
            "job-form",
            place_of(job["packs"], place_of(wrong[0], here)),
            '"packs" names packs',
            "write packs: [name of a pack]",
        )
    return [one for one in named if isinstance(one, str)]


def _no_pack_for(place: str, known: dict[str, Pack]) -> str:
    """The note of a place that no pack is for, with the one whose name is near."""
    called = [
        str(name).strip()
        for pack in known.values()
        for name in (pack.place, *as_list(pack.head.get("also")))
    ]
    # A name is no word that has an opposite: the nearest is asked about, and no more.
    import difflib

    near = difflib.get_close_matches(place.strip().lower(), map(str.lower, called), 1, 0.8)
    meant = next((name for name in called if name.lower() in near), "")
    return f"There is no pack for {place} here: its local amendments are not known." + (
        f" Did you mean {meant}?" if meant else ""
    )


def with_all_above(packs: Iterable[str | Path]) -> tuple[Path, ...]:
    """The folders of *packs* (names or folders) and of what they lie within, lowest first, whatever
    the day.

    Raises:
        Faults: one of them is not there, or lies within what it cannot.
    """
    from .library import nest

    faults, known = Collector(), known_packs()
    chosen: dict[str, Pack] = {}
    for named in packs:
        with faults.catching():
            pack = known.get(str(named)) or _in_folder(named, known, faults)
            chosen |= {link.name: link for link in chain_of(pack, known, faults)}
    faults.stop()
    nest(list(chosen.values()))
    ordered = sorted(chosen.values(), key=lambda pack: (pack.rank, pack.name))
    return tuple(pack.folder for pack in ordered)


def _in_folder(named: str | Path, known: dict[str, Pack], faults: Collector) -> Pack:
    """The pack in the folder that is *named*."""
    from .library import Pack

    path = Path(named)
    if path.is_dir() and (path / "pack.yaml").is_file():
        return head_of(path, faults)
    if path.is_dir():
        # its head may be in a file of another name; it is read with the rest
        return Pack(path.name, path, Mapping(), Place(str(named)))
    what = "no folder and no pack on the shelf"
    todo = suggest(str(named), known) if known else "name the folder of a pack"
    if path.exists():
        what, todo = "a file, and a pack is a folder", "name the folder of a pack"
    raise Fault("no-such-pack", place_of(named, Place(str(named))), f'"{named}" is {what}', todo)


def chain_of(pack: Pack, known: dict[str, Pack], faults: Collector) -> list[Pack]:
    """*pack* and the packs it lies within, the nearest first; where the chain breaks off, a fault
    is noted.
    """
    out = [pack]
    while inside := str(out[-1].head.get("within", "")):
        inner, outer = out[-1], known.get(inside) or _called(inside, known)
        if outer is None:
            faults.add(
                "no-such-pack",
                place_of(inner.head["within"], inner.at),
                f'"{inside}" is no pack on the shelf',
                suggest(inside, known),
            )
            break
        if outer in out:
            faults.add(
                "within-circle",
                inner.at,
                f"{inner.name} lies within {outer.name}, which lies within it",
                "let one of them lie within nothing",
            )
            break
        if not _may_lie_within(inner, outer, faults):
            break
        out.append(outer)
    return out


def _called(place: str, known: dict[str, Pack]) -> Pack | None:
    """The pack of a place, by any of its names."""
    name = place.strip().lower()
    return next((pack for pack in known.values() if name in pack.names), None)


def _may_lie_within(inner: Pack, outer: Pack, faults: Collector) -> bool:
    """See that a pack lies within none that is applied after it."""
    from .library import LAYERS

    if inner.layer not in LAYERS or outer.layer not in LAYERS:
        return True
    if LAYERS.index(outer.layer) <= LAYERS.index(inner.layer):
        return True
    faults.add(
        "within-layer",
        place_of(inner.head["within"], inner.at),
        f"{inner.name} is the law of {a_noun(inner.layer)}, and lies within {outer.name}, the law"
        f" of {a_noun(outer.layer)}, which applies after it",
        "a pack lies within one of its own layer or of one before it: " + ", ".join(LAYERS),
    )
    return False


def _edition(got: InForce, told: dict, here: Place, job: dict, faults: Collector) -> None:
    """The edition a place adopts on the date, against what the job says."""
    adopting = next((pack for pack in reversed(got.packs) if pack.adopts), None)
    said = told.get("edition", "")
    if adopting is None:
        if not said:
            missing = (
                "which edition of the code is in force cannot be known from what the job tells"
            )
            if got.place and not got.has_place:
                # the nearer cause first: with a pack for the place nothing more would be asked
                missing = f"there is no pack for {got.place} here; {missing}"
            faults.add(
                "edition-unknown",
                here,
                missing,
                ("write edition: 2023" if got.place or got.packs else ANYWHERE) + _places(),
            )
        return
    if got.date is None:
        return  # the date is asked for already
    at = _at_edition(job, here)
    windows = [w for w in adopting.adopts if (w.start or "0") <= got.date < (w.end or "9999")]
    if len(windows) == 1:
        _only_edition(got, windows[0].edition, said, adopting.where, at, faults)
    elif not windows:
        _no_edition(got, adopting, said, here, faults)
    else:
        _choice_of_editions(got, adopting, windows, said, at, faults)


def _only_edition(
    got: InForce, edition: str, said: str, where: str, at: Place, faults: Collector
) -> None:
    if said and said != edition:
        faults.add(
            "edition-mismatch",
            at,
            f"{where} has {edition} in force on {got.date}, and the job says {said}",
            f"write edition: {edition} or leave it out; --edition {said} asks what that one"
            " would say",
        )
    got.edition, got.edition_from = edition, "place"


def _no_edition(got: InForce, adopting: Pack, said: str, here: Place, faults: Collector) -> None:
    unknown = f"he pack of {adopting.where} does not say which edition was in force on {got.date}"
    if said:
        got.notes.append(f"T{unknown}; the job says {said}.")
        return
    first = min((w.start for w in adopting.adopts if w.start), default="")
    faults.add(
        "edition-unknown",
        here,
        f"t{unknown}" + (f": it begins on {first}" if first else ""),
        "write edition: and the one the building department names",
    )


def _choice_of_editions(
    got: InForce, adopting: Pack, windows: list, said: str, at: Place, faults: Collector
) -> None:
    """Where two editions overlap somebody may choose, and the job must say what was chosen."""
    editions = sorted(w.edition for w in windows)
    who = str(adopting.head.get("choice", "permit holder"))
    choice = (
        f"n {adopting.where} the {who} may choose between {' and '.join(editions)} on {got.date}"
    )
    if said in editions:
        got.notes.append(f"I{choice}; the job says {said}.")
        return
    until = min(w.end for w in windows if w.end)
    faults.add(
        "edition-choice",
        at,
        f"i{choice} (until {until})",
        " or ".join(f"write edition: {edition}" for edition in editions),
    )


def _places() -> str:
    """The places that have a pack, where they can be told."""
    try:
        names = sorted(pack.where for pack in known_packs().values() if pack.place)
    except Faults:
        return ""
    return f" (places known here: {', '.join(names)})" if names else ""


__all__ = ["InForce", "in_force", "known_packs", "shelves", "head_of", "Faults"]
