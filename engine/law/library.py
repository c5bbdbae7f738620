"""Every pack that was named, read once: its head, words, rules, values, tables and edits, not yet
in force anywhere.
"""

from __future__ import annotations

import os
import re
from collections.abc import Collection
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.forms import LINE
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
from ..language.knowledge import (
    ITEMS,
    KB,
    Knowledge,
    Material,
    Pool,
    assemble,
    gather,
    present_names,
)
from ..language.lowering import lowered
from ..language.rules import EDITIONS, plain_text
from ..language.words import Words, as_list
from .applying import apply
from .edits import Edit, other_way, read_window
from .forms import HEAD, LAYERS, WINDOW
from .verbs.registry import OTHER_VERBS, VERBS, read_edit
from .verbs.verb import ANYWHERE

SKIPPED = ("withdrawn", "jobs", "work")  # `work` in a place's folder is a pack of its own


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
    def called(self) -> str:
        """Its name as its file has it: where two versions are compared, both are called so."""
        return str(self.head.get("pack", self.name))

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
    called = {name: pack for pack in packs for name in pack.names}
    # the name of a pack before that of a place: two packs may be for one place, and none has
    # another's name
    called |= {pack.called.lower(): pack for pack in packs}
    for pack in packs:
        pack.deep = 0
        seen = {pack.name}  # packs may lie within each other in a circle, which is told elsewhere
        outer = _around(pack, called)
        while outer is not None and outer.name not in seen:
            # a county within a state is of another layer already, and applied later for that alone
            pack.deep += outer.layer == pack.layer
            seen.add(outer.name)
            outer = _around(outer, called)


def _around(pack: Pack, called: dict[str, Pack]) -> Pack | None:
    """The pack that *pack* lies within."""
    return called.get(str(pack.head.get("within", "")).strip().lower())


def read_head(body: Mapping, folder: Path, faults: Collector) -> Pack:
    """The head of a pack from what its file says; every fault in it noted."""
    pack = Pack(str(body["pack"]), folder, body, place_of(body["pack"], place_of(body)))
    _see_head_form(body, faults)
    pack.layer = str(body.get("layer", ""))
    _see_whose_law(pack, faults)
    before = len(faults.items)
    pack.start, pack.end = read_window(body, faults)
    pack.dated = len(faults.items) == before
    pack.adopts = _adopted(body, faults)
    return pack


def _see_head_form(body: Mapping, faults: Collector) -> None:
    """Note the keys that a head does not take, and what stands where a line should."""
    for key in HEAD.strange(body):
        fault = HEAD.fault(key)
        # an edit may have been begun here
        meant = other_way(str(key), body[key], ANYWHERE)
        fault.todo = meant or suggest(str(key), (*HEAD, "words", "edits"))
        faults.take(fault)
    for key in HEAD.of(LINE):
        if not isinstance(body.get(key, ""), str):
            faults.add(
                "pack-form",
                place_of(body[key]),
                f'"{key}" of a pack is one line',
                f"write {key}: and one line",
            )
    for edition in as_list(body.get("editions")):
        if str(edition) not in EDITIONS:
            faults.add(
                "edition",
                place_of(edition),
                f'"{edition}" is no edition',
                suggest(str(edition), EDITIONS),
            )
    # two names, or one with a comma in it
    also = body.get("also")
    if isinstance(also, str) and re.search("[,;]", also):
        names = [name.strip() for name in re.split("[,;]", also) if name.strip()]
        faults.add(
            "pack-form",
            place_of(also),
            f'"also" is one name here: "{also}"',
            f"write also: [{', '.join(names)}]; a name that has a comma itself stands in quotes in"
            " such a list",
        )


def _see_whose_law(pack: Pack, faults: Collector) -> None:
    """Note a layer that is none, and what is missing of whose law a pack is."""
    body = pack.head
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
            pack.at,
            f'pack "{pack.name}" has a place and no layer',
            "add layer: one of " + ", ".join(LAYERS),
        )
    for need, todo in (
        ("authority", "add authority: and who made this law"),
        ("cite", "add cite: and the ordinance, as in Ordinance 2025-14"),
    ):
        if pack.layer and not body.get(need):
            faults.add("pack-lacks", pack.at, f'pack "{pack.name}" does not say "{need}:"', todo)


def _adopted(body: Mapping, faults: Collector) -> list[Window]:
    """The editions that a place adopts, each with its days."""
    said = body.get("adopts", [])
    read = [_window(d, body, faults) for d in (said if isinstance(said, list) else [said])]
    out = [window for window in read if window is not None]
    if not body.get("choice"):
        _see_no_overlap(out, faults)
    return out


def _window(d: object, body: Mapping, faults: Collector) -> Window | None:
    """One edition that a place adopts; None, with a fault noted, where none is named."""
    if not isinstance(d, dict) or "edition" not in d:
        faults.add(
            "adopts-form",
            place_of(d, place_of(body)),
            '"adopts" lists editions and their dates',
            "write adopts: [{edition: 2023, from: 2025-07-01}]",
        )
        return None
    WINDOW.see(d, faults)
    edition = str(d["edition"])
    if edition not in EDITIONS:
        faults.add(
            "edition",
            place_of(d["edition"]),
            f'"{edition}" is no edition',
            suggest(edition, EDITIONS),
        )
        return None
    return Window(edition, *read_window(d, faults), place_of(d))


def _see_no_overlap(windows: list[Window], faults: Collector) -> None:
    """Note two editions that are both adopted on some day."""
    for i, a in enumerate(windows):
        for b in windows[:i]:
            if a.start < (b.end or "9999") and b.start < (a.end or "9999"):
                faults.add(
                    "windows-overlap",
                    a.at,
                    f"{a.edition} and {b.edition} (at {b.at}) are both adopted from"
                    f" {max(a.start, b.start) or 'the first day'}",
                    "end one where the other begins, or add choice: and who may choose, as in"
                    " choice: permit holder",
                )


def _walk(folder: Path) -> list[Path]:
    """What lies in a pack, in the order of its paths; nothing behind a link, nothing hidden. Raises
    Fault for what is no pack at all.
    """
    out: list[Path] = []
    most = None if is_base(folder) else FILES
    for here, folders, names in os.walk(folder):
        # in place: os.walk goes on into what is left in the list
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
    return [(path, *said) for path in there for said in _why_unread(path)]


def _why_unread(path: Path) -> list[tuple[str, str]]:
    """What a file is that is not read though it seems to be, and what to do; [] of others."""
    ending = f'a file ending in "{path.suffix}" is not read'
    if path.suffix.lower() in (".yaml", ".yml") and path.suffix != ".yaml" and not path.is_dir():
        return [(ending, f"name it {path.stem}.yaml")]
    if _TEXT_OF_YAML.search(path.name) and not path.is_dir():
        stem = _TEXT_OF_YAML.sub("", path.name)
        todo = f"name it {stem}.yaml, as plain text; a system that hides endings may show it so"
        return [(ending, f"{todo} already")]
    if path.is_symlink() and (path.suffix == ".yaml" or path.is_dir()):
        return [
            ("this is a link, and a pack reads nothing through links", "put the file itself here")
        ]
    return []


def amends(folder: Path | str) -> bool:
    """Whether a pack has edits, or says whose law it is, as far as its text tells."""
    # by its text alone: this is asked of every folder that is named, and to read YAML takes longer
    # than all else
    verbs = re.compile(r"^\s*(?:-\s*)?\{?\s*(?:" + "|".join(VERBS) + r"|edits|layer)\s*:", re.M)
    return Path(folder).is_dir() and any(
        verbs.search(path.read_text("utf-8", "replace"))
        for path in pack_files(Path(folder))
        if path.is_file() and path.stat().st_size <= FILE_BYTES
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
    them. Two *versions* of one pack may lie side by side where laws are compared: the second has a
    name of its own here, and both are never in force at once.

    Raises:
        Faults: everything that is wrong in their form; what is wrong in what they say is told by
            `in_force`.
    """

    def __init__(
        self,
        folders: tuple[Path | str, ...] = (),
        faults: Collector | None = None,
        examples: bool = True,
        versions: bool = False,
    ) -> None:
        self.faults, self._examples = faults or Collector(), examples
        self._versions = versions
        self.words, self.pool = Words(), Pool()
        self.packs: list[Pack] = []
        self._items: list[tuple[Mapping, Path]] = []
        self._raw_edits: list[tuple[Mapping, Path]] = []
        # by the folders whose items were left out: versions of one pack may say one thing twice
        self._gathered: dict[frozenset[Path], Material] = {}
        # where versions of a pack may say a word twice: what each word is
        self._said_words: dict[tuple[str, str], Any] = {}
        self._taken_words: set[tuple[str, str]] = set()
        # what could not be read at all is missed by everything that names it; to go on would tell
        # of that, too
        whole = True
        # the base is read once, whoever names it
        laid = (Path(f) for f in folders if not is_base(f))
        for folder in dict.fromkeys([KB / "base", *laid]):
            whole &= self._read(folder)
        self._lower()
        self.names = present_names(
            [d for d, _ in self._items], [d for d, _ in self._raw_edits], VERBS, self.faults
        )
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
    def _lower(self) -> None:
        """Put the verbs of the work as facts, with words for these."""
        # before names are looked up: a rule of the work is a rule like any other from here on
        for items in (self._items, self._raw_edits):
            rules, words = lowered((d for d, _ in items), self.faults)
            items[:] = [(d, folder) for d, (_, folder) in zip(rules, items) if d is not None]
            self.words.read(words, self.faults)

    def _read(self, folder: Path) -> bool:
        """Read one pack; False where a file could not be read at all: what is in it is missing
        everywhere else.
        """
        if not folder.is_dir():
            self._no_folder(folder)
            return True
        # the base is ours; what is laid over it may be anybody's, and is measured
        over = folder != KB / "base"
        try:
            there = _walk(folder)
        except Fault as fault:
            self.faults.take(fault)
            return False
        if over and not self._size_is_read(folder, there):
            return False
        for path, what, todo in unread(there):
            self.faults.add("not-read", Place(shown_name(path)), what, todo)
        return self._read_files(folder, over)

    def _no_folder(self, folder: Path) -> None:
        """Note that a pack is no folder."""
        a_file = folder.is_file()
        self.faults.add(
            "no-such-pack",
            Place(str(folder)),
            "this is a file, and a pack is a folder"
            if folder.exists()
            else "there is no such folder",
            "name the folder of a pack"
            + (f"; what a job comes to, whywire inspect {folder} says" if a_file else ""),
        )

    def _size_is_read(self, folder: Path, there: list[Path]) -> bool:
        """See that the files of a pack are not too large together."""
        sizes = [
            path.lstat().st_size
            for path in there
            if path.suffix in (".yaml", ".csv") and not path.is_dir()
        ]
        size = sum(sizes)
        # one that is too large by itself is told when it is read
        if size <= PACK_BYTES or max(sizes) > FILE_BYTES:
            return True
        self.faults.add(
            "pack-too-large",
            Place(str(folder)),
            f"the files of this pack hold {size:,} bytes, and {PACK_BYTES:,} are read",
            "divide it into packs",
        )
        return False

    def _read_files(self, folder: Path, over: bool) -> bool:
        """Read the files of a pack; False where one could not be read, or they are too many pieces
        together.
        """
        heads, whole, left = 0, True, PIECES
        for path in pack_files(folder):
            before = len(self.faults.items)
            body = self._body(path, over)
            if body is None:
                whole = False
            else:
                left -= pieces(body) if over else 0
                if left < 0:
                    self.faults.add(
                        "pack-too-large",
                        Place(shown_name(path)),
                        f"the files of this pack hold more than {PIECES:,} pieces together",
                        "divide it into packs",
                    )
                    return False
                heads += self._sort_once(body, path, folder, heads)
            # a head with a fault in it is a head all the same
            heads += path.name == "pack.yaml" and len(self.faults.items) > before and not heads
        if not heads:
            self.faults.add(
                "no-pack-head",
                Place(str(folder)),
                "no file of this folder says which pack it is",
                "add pack.yaml with pack: its name",
            )
        return whole

    def _body(self, path: Path, over: bool) -> Any:
        """What one file says; None, with its faults noted, where it cannot be read."""
        name = shown_name(path)
        with self.faults.catching():
            text = decode(read_bytes(path, name), name)
            if not over and not self._examples:
                text = set_aside(text, "examples")
            return read_yaml(text, name)
        return None

    def _sort_once(self, body: Any, path: Path, folder: Path, heads: int) -> int:
        """Put what one file says where it belongs; 1 if it was the head of the pack, of which there
        must be one.
        """
        head = 0
        with self.faults.catching():
            head = self._sort(body, path, folder)
        if head and heads:
            self.faults.add(
                "two-heads",
                place_of(body),
                "this pack has a head already",
                "say pack: once; another pack has a folder of its own",
            )
        return head

    def _few(self, pack: Pack) -> None:
        """See that a pack over the base has no more in it than can be looked at."""
        items = 0
        if pack is not self.packs[0]:
            items = sum(pack.folder in (folder, *folder.parents) for _, folder in self._items)
        # what one person cannot read nobody has checked; and each costs time at every start
        if items > PACK_ITEMS:
            self.faults.add(
                "pack-too-large",
                pack.at,
                f"this pack holds {items:,} rules, values, tables and actions, and {PACK_ITEMS:,}"
                " are read",
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
        for edit in pack.edits:
            count[edit.target] = count.get(edit.target, 0) + 1
            # told once, at the first that is too many
            if count[edit.target] == EDITS_OF_ONE + 1:
                self.faults.add(
                    "pack-too-large",
                    edit.at,
                    f"this pack edits {edit.target} more than {EDITS_OF_ONE} times",
                    "write what it comes to, in one edit for each of its days",
                )

    def _sort(self, body: Any, path: Path, folder: Path) -> int:
        """Put what one file says where it belongs; 1 if it was the head of a pack."""
        if isinstance(body, Mapping) and "pack" in body:
            self._take_head(body, path, folder)
            return 1
        if isinstance(body, list):
            self._take_items(body, path, folder)
        elif _is_words(body):
            self._take_words(body["words"])
        else:
            self._no_form(body, path)
        return 0

    def _take_head(self, body: Mapping, path: Path, folder: Path) -> None:
        """Take the head of a pack; a small pack may be one file: its head, its words, its edits."""
        # taken out of the head, which is printed and kept as whose law it is
        inside = body.pop("edits", [])
        said = body.pop("words", None)
        pack = read_head(body, folder, self.faults)
        same = [other for other in self.packs if pack.called == other.called]
        if same and self._versions:
            pack.name += ", other version" + (f" {len(same)}" if len(same) > 1 else "")
        elif same:
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

    def _no_form(self, body: Any, path: Path) -> None:
        """Note that a file is neither a head nor words nor a list."""
        # whoever calls a file so means it for the head, whatever it says
        if isinstance(body, dict) and path.name.lower() == "pack.yaml":
            self.faults.add(
                "no-pack-head",
                place_of(body),
                "this file does not say which pack it is",
                "add pack: and its name",
            )
            return
        edit = next((v for v in VERBS if v in body), "") if isinstance(body, dict) else ""
        self.faults.add(
            "file-form",
            place_of(body),
            "a file of a pack is a list of rules, values, tables and edits, or words:",
            f"begin each edit with a dash and a space: - {edit}:"
            if edit
            else "see kb/README.md; a job stands in a folder called jobs",
        )

    def _take_words(self, body: Any) -> None:
        if isinstance(body, Mapping):
            self.words.read(self._new_words(body) if self._versions else body, self.faults)
        else:
            self.faults.add(
                "words-form",
                place_of(body),
                '"words" names kinds and their facts',
                "write words: {circuit: {fact: {is: yes or no, ask: ...}}}",
            )

    def _new_words(self, body: Mapping) -> Mapping:
        """The words that no other version of a pack has said in the same way."""
        out = Mapping()
        out.__dict__.update(body.__dict__)
        for kind, facts in body.items():
            if not isinstance(facts, Mapping):
                out[kind] = facts
                continue
            new = Mapping()
            new.__dict__.update(facts.__dict__)
            for name, spec in facts.items():
                # to ask for a thing in other words makes no other thing of it
                means = plain_text(spec.get("is", spec) if isinstance(spec, Mapping) else spec)
                if self._said_words.setdefault((str(kind), str(name)), means) != means:
                    new[name] = spec
                elif (str(kind), str(name)) not in self._taken_words:
                    self._taken_words.add((str(kind), str(name)))
                    new[name] = spec
            out[kind] = new
        return out

    def _take_items(self, body: list, path: Path, folder: Path) -> None:
        """Take the rules, values, tables, actions and edits of a list."""
        for d in body:
            if isinstance(d, Mapping) and any(key in d for key in ITEMS):
                self._items.append((d, path.parent))
            elif isinstance(d, Mapping) and any(key in d for key in VERBS):
                self._raw_edits.append((d, folder))
            else:
                said = ", ".join(str(key) for key in d) if isinstance(d, dict) else str(d)
                self.faults.add(
                    "item-form",
                    place_of(d),
                    f'this item ("{said[:60]}") is no rule, value, table, action or edit',
                    _verb_meant(d),
                )

    # ---- what is in force
    def dates(self, packs: Collection[str] | None = None) -> list[str]:
        """Every day on which something here begins or ends, in order; of the *packs* named alone,
        where some are.
        """
        out: set[str] = set()
        for pack in self.packs:
            if packs is not None and pack.name not in packs:
                continue
            out |= {pack.start, pack.end}
            for window in pack.adopts:
                out |= {window.start, window.end}
            for edit in pack.edits:
                out |= {edit.start, edit.end, *edit.redated}
        return sorted(out - {""})

    def material(
        self,
        edition: str,
        date: str | None,
        without: Collection[Edit] = (),
        faults: Collector | None = None,
        packs: Collection[str] | None = None,
        wrote: dict[tuple[str, int], set[str]] | None = None,
    ) -> Material:
        """What is in force in *edition* for a permit of *date* (ISO; None: of no known day),
        *without* some edits.

        *packs* are the names of those that count, beside the base, where not all do; their words
        are known all the same. What each edit changed is noted in *wrote*, if that is wanted.
        """
        faults = faults or self.faults
        material = self._gather(edition, self._said_twice(packs)).copy()
        material.edition = edition
        mine = []
        for pack in self.packs:
            if packs is None or pack is self.packs[0] or pack.name in packs:
                mine.append(pack)
            else:
                self._leave_out(material, pack.folder)
        material.packs = [pack.head for pack in mine]
        edits = [edit for pack in mine for edit in pack.edits if edit not in without]
        apply(material, edits, date, faults, wrote)
        return material

    def _gather(self, edition: str, without: frozenset[Path]) -> Material:
        """Every item by its name, but for those in the folders that are left out."""
        if without not in self._gathered:
            items = self._items
            if without:
                items = [(d, at) for d, at in items if not without & {at, *at.parents}]
            heads = [pack.head for pack in self.packs]
            self._gathered[without] = gather(
                items, self.words, heads, edition, self.faults, self.names
            )
        return self._gathered[without]

    def _said_twice(self, packs: Collection[str] | None) -> frozenset[Path]:
        """The folders of packs that do not count here, and of which another version does."""
        if not self._versions:
            return frozenset()
        count = [p for p in self.packs if packs is None or p.name in packs]
        if packs is None:
            count = list({pack.called: pack for pack in reversed(self.packs)}.values())
        called = {pack.called for pack in count}
        return frozenset(
            pack.folder
            for pack in self.packs
            if pack not in count
            and pack.called in called
            and any(pack.folder in (at, *at.parents) for _, at in self._items)
        )

    def _leave_out(self, material: Material, folder: Path) -> None:
        """Take away the rules and actions that the pack in *folder* brings; a value or a table does
        nothing by itself.
        """
        theirs = [d for d, where in self._items if folder in (where, *where.parents)]
        for d in theirs:
            if "rule" in d:
                material.rules.pop(str(d["rule"]), None)
        material.actions = [
            action for action in material.actions if not any(action is d for d in theirs)
        ]

    def old_names_in(self, files: Collection[str] | None = None) -> list[str]:
        """Who writes a rule, a fact or a choice by a name that it had before, with the present one;
        those in *files* alone, where some are named.
        """
        written = dict.fromkeys([*self.names.written, *self.words.written_old])
        return [str(old) for old in sorted(written) if files is None or old.at[0] in files]

    def pack_in(self, folder: Path) -> Pack | None:
        """The pack that lies in a folder."""
        return next((pack for pack in self.packs if pack.folder == folder), None)

    def pack_of(self, d: Mapping) -> Pack:
        """The pack whose file says the item *d*."""
        where = next(where for x, where in self._items if x is d)
        return next(p for p in self.packs if p.folder in (where, *where.parents))

    def in_force(
        self,
        edition: str = "2023",
        date: str | None = None,
        without: Collection[Edit] = (),
        faults: Collector | None = None,
    ) -> Knowledge:
        """The knowledge in force.

        Raises:
            Faults: everything that is wrong.
        """
        if date is not None:
            day(date)
        faults = faults or self.faults
        return assemble(self.material(str(edition), date, without, faults), faults, self.pool)


def days_alike(folders: tuple[Path | str, ...], date: str) -> tuple[str, str]:
    """The first day and the day after the last on which the law of *folders* is what it is on
    *date*; "" where it has none.
    """
    days = Library(folders, examples=False).dates()
    before = [one for one in days if one <= date]
    after = [one for one in days if one > date]
    return (before[-1] if before else "", after[0] if after else "")


def _is_words(body: Any) -> bool:
    """Whether a file has words, and nothing else."""
    return (
        isinstance(body, dict)
        and "words" in body
        and len(body) == 1
        and isinstance(body["words"], dict)
    )


def _verb_meant(d: Any) -> str:
    """What to write for an item that begins with no word we know: the verb that its first key is a
    misspelling of, or one that says what its key does.
    """
    keys = [str(key) for key in d] if isinstance(d, dict) else []
    first = keys[0] if keys else ""
    near = suggest(first, VERBS) if first not in OTHER_VERBS else ""
    if near.startswith("did you mean"):
        return f"write {near.split(chr(34))[1]}:"
    for key in keys:
        if key in OTHER_VERBS:
            return f"for {key}: write {OTHER_VERBS[key]}:"
    return "begin it with rule:, value:, table: or way:, or with one of: " + ", ".join(
        f"{verb}:" for verb in VERBS
    )


def load(
    folders: tuple[Path | str, ...] = (),
    edition: str = "2023",
    date: str | None = None,
    examples: bool = True,
) -> Knowledge:
    """Load the base pack and *folders* beside it, as in force in *edition* for a permit of *date*
    (ISO), with its *examples* or without. Editions: 2017, 2020, 2023, 2026 (as far as it is known).

    Raises:
        Faults: everything that is wrong in them.
    """
    with all_kept():
        return Library(folders, examples=examples).in_force(edition, date)


__all__ = ["Library", "Pack", "Window", "load", "pack_files", "Fault"]
