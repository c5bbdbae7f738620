"""Every pack that was named, read once: its head, words, rules, values, tables and edits, not yet
in force anywhere.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, field
from pathlib import Path

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.limits import EDITS, EDITS_OF_ONE, FILE_BYTES, FILES, PACK_BYTES, PACK_ITEMS, PIECES
from ..basics.reading import (
    Mapping,
    all_kept,
    decode,
    pieces,
    place_of,
    read_bytes,
    read_yaml,
    set_aside,
)
from ..basics.units import day
from ..language.knowledge import ITEMS, KB, Knowledge, Material, Pool, assemble, gather
from ..language.rules import EDITIONS
from ..language.words import Words, as_list
from .applying import apply
from .edits import OTHER_VERBS, VERBS, Edit, other_way, read_edit, read_window

HEAD_KEYS = (
    "pack",
    "title",
    "authority",
    "cite",
    "layer",
    "place",
    "also",
    "within",
    "adopts",
    "choice",
    "from",
    "until",
    "editions",
    "documents",
    "says",
    "notes",
    "written",
)
# the order in which packs over the base are applied
LAYERS = (
    "state",
    "county",
    "city",
    "utility",
    "owner",
)
SKIPPED = ("withdrawn", "jobs")


@dataclass
class Window:
    """One edition that a place adopts, for permits from `start` up to, not including, `end` (ISO
    dates, or "").
    """

    edition: str
    start: str
    end: str
    at: Place


@dataclass
class Pack:
    """The head of a pack, checked."""

    name: str
    folder: Path
    head: Mapping
    at: Place
    start: str = ""
    end: str = ""
    dated: bool = True  # its days have no fault
    layer: str = ""
    deep: int = 0  # how many packs of its own layer it lies within
    adopts: list[Window] = field(default_factory=list)
    edits: list[Edit] = field(default_factory=list)

    @property
    def title(self) -> str:
        return str(self.head.get("title", self.name))

    @property
    def place(self) -> str:
        return str(self.head.get("place", ""))

    @property
    def names(self) -> set[str]:
        """What its place is called, in small letters."""
        return {
            str(n).strip().lower()
            for n in (*as_list(self.head.get("place")), *as_list(self.head.get("also")))
        }

    @property
    def rank(self) -> tuple[int, int]:
        """(0, 0) for a base; packs of a higher layer, and what lies within another, are applied
        later and may change what a lower one said.
        """
        return LAYERS.index(self.layer) + 1 if self.layer in LAYERS else 0, self.deep

    @property
    def where(self) -> str:
        return self.place or self.title


def nest(packs: list[Pack]) -> None:
    """Say of each of *packs* how many of its own layer it lies within: those are applied before it,
    whatever their names.
    """
    called = {n: p for p in packs for n in p.names} | {p.name.lower(): p for p in packs}
    for p in packs:
        q, seen, p.deep = p, {p.name}, 0
        while (
            q := called.get(str(q.head.get("within", "")).strip().lower())
        ) and q.name not in seen:
            p.deep += q.layer == p.layer
            seen.add(q.name)


def read_head(body: Mapping, folder: Path, faults: Collector) -> Pack:
    """The head of a pack from what its file says; every fault in it noted."""
    at = place_of(body["pack"], place_of(body))
    pack = Pack(str(body["pack"]), folder, body, at)
    for k in body:
        if k not in HEAD_KEYS:
            faults.add(
                "pack-key",
                place_of(k),
                f'a pack takes no "{k}"',
                other_way("", str(k), body[k]) or suggest(str(k), (*HEAD_KEYS, "words", "edits")),
            )
    for k in (
        "pack",
        "title",
        "authority",
        "cite",
        "layer",
        "place",
        "within",
        "choice",
        "says",
        "notes",
        "written",
    ):
        if k in body and not isinstance(body[k], str):
            faults.add(
                "pack-form",
                place_of(body[k]),
                f'"{k}" of a pack is one line',
                f"write {k}: and one line",
            )
    for e in as_list(body.get("editions")):
        if str(e) not in EDITIONS:
            faults.add("edition", place_of(e), f'"{e}" is no edition', suggest(str(e), EDITIONS))
    # two names, or one with a comma in it
    if isinstance(body.get("also"), str) and re.search("[,;]", body["also"]):
        faults.add(
            "pack-form",
            place_of(body["also"]),
            f'"also" is one name here: "{body["also"]}"',
            "write also: ["
            + ", ".join(s.strip() for s in re.split("[,;]", body["also"]) if s.strip())
            + "]; a name that has a comma itself stands in quotes in such a list",
        )
    pack.layer = str(body.get("layer", ""))
    if pack.layer and pack.layer not in LAYERS:
        faults.add(
            "pack-layer",
            place_of(body["layer"]),
            f'"{pack.layer}" is no layer',
            "write one of: " + ", ".join(LAYERS),
        )
    if pack.place and not pack.layer:
        faults.add(
            "pack-layer",
            at,
            f'pack "{pack.name}" has a place and no layer',
            "add layer: one of " + ", ".join(LAYERS),
        )
    if pack.layer:
        for need in ("authority", "cite"):
            if not body.get(need):
                faults.add(
                    "pack-lacks",
                    at,
                    f'pack "{pack.name}" does not say "{need}:"',
                    {
                        "authority": "add authority: and who made this law",
                        "cite": "add cite: and the ordinance, as in Ordinance 2025-14",
                    }[need],
                )
    before = len(faults.items)
    pack.start, pack.end = read_window(body, faults)
    pack.dated = len(faults.items) == before
    pack.adopts = _adopted(body, faults)
    return pack


def _adopted(body: Mapping, faults: Collector) -> list[Window]:
    out: list[Window] = []
    said = body.get("adopts", [])
    for d in said if isinstance(said, list) else [said]:
        if not isinstance(d, dict) or "edition" not in d:
            faults.add(
                "adopts-form",
                place_of(d, place_of(body)),
                '"adopts" lists editions and their dates',
                "write adopts: [{edition: 2023, from: 2025-07-01}]",
            )
            continue
        for k in d:
            if k not in ("edition", "from", "until"):
                faults.add(
                    "adopts-form",
                    place_of(k),
                    f'an adopted edition takes no "{k}"',
                    suggest(str(k), ("edition", "from", "until")),
                )
        if str(d["edition"]) not in EDITIONS:
            faults.add(
                "edition",
                place_of(d["edition"]),
                f'"{d["edition"]}" is no edition',
                suggest(str(d["edition"]), EDITIONS),
            )
            continue
        out.append(Window(str(d["edition"]), *read_window(d, faults), place_of(d)))
    for i, a in enumerate(out):
        for b in out[:i]:
            if (
                a.start < (b.end or "9999")
                and b.start < (a.end or "9999")
                and not body.get("choice")
            ):
                faults.add(
                    "windows-overlap",
                    a.at,
                    f"{a.edition} and {b.edition} (at {b.at}) are both adopted from"
                    f" {max(a.start, b.start) or 'the first day'}",
                    "end one where the other begins, or add choice: and who may choose, as in"
                    " choice: permit holder",
                )
    return out


def _walk(folder: Path) -> list[Path]:
    """What lies in a pack, in the order of its paths; nothing behind a link, nothing hidden. Raises
    Fault for what is no pack at all.
    """
    out: list[Path] = []
    most = None if is_base(folder) else FILES
    for here, folders, names in os.walk(folder):
        folders[:] = sorted(f for f in folders if f not in SKIPPED and not f.startswith("."))
        out += [Path(here) / n for n in (*folders, *names) if not n.startswith(".")]
        if most and len(out) > most:
            raise Fault(
                "pack-too-large",
                Place(str(folder)),
                f"this folder holds more than {most} files",
                "name the folder of one pack, and keep what is no rule elsewhere",
            )
    return sorted(out)


def pack_files(folder: Path) -> list[Path]:
    """The YAML files of a pack, in the order of their names; links to elsewhere are not
    followed.
    """
    return [p for p in _walk(folder) if p.suffix == ".yaml" and not p.is_symlink()]


# what an editor makes of ordinance.yaml that adds an ending of its own
_TEXT_OF_YAML = re.compile(r"\.ya?ml\.(txt|text|rtf|docx?|odt)$", re.I)


def unread(there: list[Path]) -> list[tuple[Path, str, str]]:
    """Files that somebody may think are read, and are not: what they are, and what to do."""
    out = []
    for p in there:
        if p.suffix.lower() in (".yaml", ".yml") and p.suffix != ".yaml" and not p.is_dir():
            out.append((p, f'a file ending in "{p.suffix}" is not read', f"name it {p.stem}.yaml"))
        elif _TEXT_OF_YAML.search(p.name) and not p.is_dir():
            out.append(
                (
                    p,
                    f'a file ending in "{p.suffix}" is not read',
                    (
                        f"name it {_TEXT_OF_YAML.sub('', p.name)}.yaml, as plain text; a system"
                        " that hides endings may show it so already"
                    ),
                )
            )
        elif p.is_symlink() and (p.suffix == ".yaml" or p.is_dir()):
            out.append(
                (
                    p,
                    "this is a link, and a pack reads nothing through links",
                    "put the file itself here",
                )
            )
    return out


def amends(folder: Path | str) -> bool:
    """Whether a pack has edits, or says whose law it is, as far as its text tells."""
    verbs = re.compile(r"^\s*(?:-\s*)?\{?\s*(?:" + "|".join(VERBS) + r"|edits|layer)\s*:", re.M)
    return Path(folder).is_dir() and any(
        verbs.search(p.read_text("utf-8", "replace"))
        for p in pack_files(Path(folder))
        if p.is_file() and p.stat().st_size <= FILE_BYTES
    )


def is_base(folder: Path | str) -> bool:
    """Whether *folder* is the base pack, by whatever path it is called."""
    return os.path.realpath(folder) == os.path.realpath(KB / "base")


def shown_name(path: Path) -> str:
    """How a file of a pack is called in messages: kb/base/… for ours, as given for others."""
    # most are, and to resolve each takes as long as to read it
    if path.parts[: len(KB.parts)] == KB.parts and ".." not in path.parts:
        return os.path.join("kb", *path.parts[len(KB.parts) :])
    for root, lead in ((KB, Path("kb")), (Path.cwd(), Path())):
        try:
            return str(lead / path.resolve().relative_to(root))
        except ValueError:
            continue
    return str(path)


class Library:
    """The base pack and the packs in *folders*, read and held until it is asked what is in force.

    The *examples* of the base are two thirds of its text, and only those who look at rules want
    them. Raises Faults with everything that is wrong in their form; what is wrong in what they say
    is told by `in_force`.
    """

    def __init__(
        self,
        folders: tuple[Path | str, ...] = (),
        faults: Collector | None = None,
        examples: bool = True,
    ) -> None:
        self.faults, self._examples = faults or Collector(), examples
        self.words, self.packs, self.pool = Words(), [], Pool()
        self._items: list[tuple[Mapping, Path]] = []
        self._raw_edits: list[tuple[Mapping, Path]] = []
        self._gathered: Material | None = None
        whole = True
        # the base is read once, whoever names it
        laid = (Path(f) for f in folders if not is_base(f))
        for folder in dict.fromkeys([KB / "base", *laid]):
            whole &= self._read(folder)
        for d, folder in self._raw_edits:
            pack = next((p for p in self.packs if p.folder == folder), None)
            if pack is not None:
                with self.faults.catching():
                    pack.edits.append(read_edit(d, pack, len(pack.edits) + 1, self.faults))
        before = len(self.faults.items)
        for pack in self.packs:
            self._few(pack)
        whole &= len(self.faults.items) == before
        if not whole:  # what is missing would be missed everywhere else
            self.faults.stop()
        nest(self.packs)
        # named in any order, they are one law
        self.packs[1:] = sorted(self.packs[1:], key=lambda p: (p.rank, p.name))
        self.words.finish(self.faults)

    # ---- reading
    def _read(self, folder: Path) -> bool:
        """Read one pack; False where a file could not be read at all: what is in it is missing
        everywhere else.
        """
        faults = self.faults
        if not folder.is_dir():
            faults.add(
                "no-such-pack",
                Place(str(folder)),
                (
                    "this is a file, and a pack is a folder"
                    if folder.exists()
                    else "there is no such folder"
                ),
                "name the folder of a pack"
                + (
                    f"; what a job comes to, whywire inspect {folder} says"
                    if folder.is_file()
                    else ""
                ),
            )
            return True
        heads, whole, left = 0, True, PIECES
        over = folder != KB / "base"  # the base is ours; what is laid over it may be anybody's
        try:
            there = _walk(folder)
        except Fault as f:
            faults.take(f)
            return False
        sizes = (
            [p.lstat().st_size for p in there if p.suffix in (".yaml", ".csv") and not p.is_dir()]
            if over
            else []
        )
        # one that is too large by itself is told when it is read
        if over and (size := sum(sizes)) > PACK_BYTES and max(sizes) <= FILE_BYTES:
            faults.add(
                "pack-too-large",
                Place(str(folder)),
                f"the files of this pack hold {size:,} bytes, and {PACK_BYTES:,} are read",
                "divide it into packs",
            )
            return False
        for path, what, todo in unread(there):
            faults.add("not-read", Place(shown_name(path)), what, todo)
        for path in pack_files(folder):
            name, before = shown_name(path), len(faults.items)
            body = None
            with faults.catching():
                text = decode(read_bytes(path, name), name)
                body = read_yaml(
                    text if over or self._examples else set_aside(text, "examples"), name
                )
            left -= pieces(body) if body is not None and over else 0
            if left < 0:
                faults.add(
                    "pack-too-large",
                    Place(name),
                    f"the files of this pack hold more than {PIECES:,} pieces together",
                    "divide it into packs",
                )
                return False
            if body is None:
                whole = False
            else:
                head = 0
                with faults.catching():
                    head = self._sort(body, path, folder)
                if head and heads:
                    faults.add(
                        "two-heads",
                        place_of(body),
                        "this pack has a head already",
                        "say pack: once; another pack has a folder of its own",
                    )
                heads += head
            heads += path.name == "pack.yaml" and len(faults.items) > before and not heads
        if not heads:
            faults.add(
                "no-pack-head",
                Place(str(folder)),
                "no file of this folder says which pack it is",
                "add pack.yaml with pack: its name",
            )
        return whole

    def _few(self, pack: Pack) -> None:
        """See that a pack over the base has no more in it than can be looked at."""
        items = (
            sum(pack.folder in (folder, *folder.parents) for _, folder in self._items)
            if pack is not self.packs[0]
            else 0
        )
        if items > PACK_ITEMS:
            self.faults.add(
                "pack-too-large",
                pack.at,
                f"this pack holds {items:,} rules, values, tables and ways, and {PACK_ITEMS:,} are"
                " read",
                "divide it into packs",
            )
        if len(pack.edits) > EDITS:
            self.faults.add(
                "pack-too-large",
                pack.at,
                f"this pack makes {len(pack.edits):,} edits, and {EDITS} are read",
                "divide it into packs",
            )
        count: dict[str, int] = {}
        for e in pack.edits:
            count[e.target] = count.get(e.target, 0) + 1
            if count[e.target] == EDITS_OF_ONE + 1:
                self.faults.add(
                    "pack-too-large",
                    e.at,
                    f"this pack edits {e.target} more than {EDITS_OF_ONE} times",
                    "write what it comes to, in one edit for each of its days",
                )

    def _sort(self, body, path: Path, folder: Path) -> int:
        """Put what one file says where it belongs; 1 if it was the head of a pack."""
        if isinstance(body, dict) and "pack" in body:
            inside = body.pop("edits", [])  # a small pack may be one file: its head, and its edits
            said = body.pop("words", None)
            pack = read_head(body, folder, self.faults)
            if any(pack.name == p.name for p in self.packs):
                self.faults.add(
                    "id-in-use",
                    pack.at,
                    f'another pack is called "{pack.name}"',
                    "give it a name of its own",
                )
            self.packs.append(pack)
            if said is not None:
                self._take_words(said)
            self._take_items(inside if isinstance(inside, list) else [inside], path, folder)
            return 1
        if (
            isinstance(body, dict)
            and "words" in body
            and len(body) == 1
            and isinstance(body["words"], dict)
        ):
            self._take_words(body["words"])
        elif isinstance(body, list):
            self._take_items(body, path, folder)
        else:
            edit = next((v for v in VERBS if v in body), "") if isinstance(body, dict) else ""
            if isinstance(body, dict) and path.name.lower() == "pack.yaml":
                self.faults.add(
                    "no-pack-head",
                    place_of(body),
                    "this file does not say which pack it is",
                    "add pack: and its name",
                )
            else:
                self.faults.add(
                    "file-form",
                    place_of(body),
                    "a file of a pack is a list of rules, values, tables and edits, or words:",
                    (
                        f"begin each edit with a dash and a space: - {edit}:"
                        if edit
                        else "see kb/README.md; a job stands in a folder called jobs"
                    ),
                )
        return 0

    def _take_words(self, body) -> None:
        if isinstance(body, dict):
            self.words.read(body, self.faults)
        else:
            self.faults.add(
                "words-form",
                place_of(body),
                '"words" names kinds and their facts',
                "write words: {circuit: {fact: {is: yes or no, ask: ...}}}",
            )

    def _take_items(self, body: list, path: Path, folder: Path) -> None:
        for d in body:
            if isinstance(d, dict) and any(k in d for k in ITEMS):
                self._items.append((d, path.parent))
            elif isinstance(d, dict) and any(k in d for k in VERBS):
                self._raw_edits.append((d, folder))
            else:
                said = ", ".join(str(k) for k in d) if isinstance(d, dict) else str(d)
                meant = (
                    next((OTHER_VERBS[k] for k in d if k in OTHER_VERBS), None)
                    if isinstance(d, dict)
                    else None
                )
                self.faults.add(
                    "item-form",
                    place_of(d),
                    f'this item ("{said[:60]}") is no rule, value, table, way or edit',
                    self._verb_meant(d)
                    or (
                        f"for {next(k for k in d if k in OTHER_VERBS)}: write {meant}:"
                        if meant
                        else "begin it with rule:, value:, table: or way:, or with one of: "
                        + ", ".join(f"{v}:" for v in VERBS)
                    ),
                )

    @staticmethod
    def _verb_meant(d) -> str:
        """The verb that the first key of an item is a misspelling of."""
        first = next(iter(d), "") if isinstance(d, dict) else ""
        near = suggest(str(first), VERBS) if str(first) not in OTHER_VERBS else ""
        return f"write {near.split(chr(34))[1]}:" if near.startswith("did you mean") else ""

    # ---- what is in force
    def dates(self, packs=None) -> list[str]:
        """Every day on which something here begins or ends, in order; of the *packs* named alone,
        where some are.
        """
        mine = [p for p in self.packs if packs is None or p.name in packs]
        out = {
            d
            for p in mine
            for d in (p.start, p.end, *(t for w in p.adopts for t in (w.start, w.end)))
            if d
        }
        out |= {d for p in mine for e in p.edits for d in (e.start, e.end, *e.redated) if d}
        return sorted(out)

    def material(
        self,
        edition: str,
        date: str | None,
        without=(),
        faults: Collector | None = None,
        packs=None,
        wrote: dict | None = None,
    ) -> Material:
        """What is in force in *edition* for a permit of *date* (ISO; None: of no known day),
        *without* some edits.

        *packs* are the names of those that count, beside the base, where not all do; their words
        are known all the same. What each edit changed is noted in *wrote*, if that is wanted.
        """
        faults = faults or self.faults
        if self._gathered is None:
            self._gathered = gather(
                self._items, self.words, [p.head for p in self.packs], edition, self.faults
            )
        m = self._gathered.copy()
        m.edition = edition
        mine = [p for p in self.packs if packs is None or p is self.packs[0] or p.name in packs]
        m.packs = [p.head for p in mine]
        for p in self.packs if len(mine) < len(self.packs) else ():
            if p not in mine:
                self._leave_out(m, p.folder)
        apply(m, [e for p in mine for e in p.edits if e not in without], date, faults, wrote)
        return m

    def _leave_out(self, m: Material, folder: Path) -> None:
        """Take away the rules and ways that the pack in *folder* brings; a value or a table does
        nothing by itself.
        """
        theirs = [d for d, where in self._items if folder in (where, *where.parents)]
        for d in theirs:
            if "rule" in d:
                m.rules.pop(str(d["rule"]), None)
        m.ways = [w for w in m.ways if not any(w is d for d in theirs)]

    def pack_of(self, d: Mapping) -> Pack:
        """The pack whose file says the item *d*."""
        where = next(where for x, where in self._items if x is d)
        return next(p for p in self.packs if p.folder in (where, *where.parents))

    def in_force(
        self,
        edition: str = "2023",
        date: str | None = None,
        without=(),
        faults: Collector | None = None,
    ) -> Knowledge:
        """The knowledge in force; Raises Faults with everything that is wrong."""
        if date is not None:
            day(date)
        faults = faults or self.faults
        return assemble(self.material(str(edition), date, without, faults), faults, self.pool)


def load(
    folders: tuple[Path | str, ...] = (),
    edition: str = "2023",
    date: str | None = None,
    examples: bool = True,
) -> Knowledge:
    """Load the base pack and *folders* beside it, as in force in *edition* for a permit of *date*
    (ISO), with its *examples* or without.

    Raises Faults with everything that is wrong in them. Editions: 2017, 2020, 2023, 2026 (as far as
    it is known).
    """
    with all_kept():
        return Library(folders, examples=examples).in_force(edition, date)


__all__ = ["Library", "Pack", "Window", "load", "pack_files", "Fault"]
