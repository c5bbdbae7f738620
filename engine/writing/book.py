"""The rule book: a page for each rule, table, value and pack, and two indexes, as plain data; how a
page looks is not known here.

A page is a list of blocks. Text that leads to another page is a Link, which names the page and not
where it lies.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeAlias

from ..answering.amended import as_plain
from ..basics.errors import Collector
from ..basics.reading import Mapping, digest
from ..checking.examples import came_out, in_edition
from ..language.entries import Entry, entries, entry, plain_entry
from ..language.knowledge import Knowledge
from ..language.names import FORMERLY
from ..language.rules import Rule
from ..language.words import as_list
from ..law.edits import Edit, withdrawn_by
from ..law.in_words import when_in_words
from ..law.library import Library, Pack
from ..law.meanings import said_back
from ..law.own_rules import as_rule
from ..law.places import InForce, known_packs
from ..law.verbs.registry import verb_of

INDEX, SECTIONS, LOCAL = ("", "index"), ("", "sections"), ("", "local-law")
CAUTION = (
    "A design aid: it approves nothing. Local code, the manufacturer's instructions and the"
    " authority having jurisdiction decide; licensed people do the work."
)


@dataclass(frozen=True)
class Link:
    """Text that leads to the page called *page*, to a place in it where one is named."""

    text: str
    page: tuple[str, str]
    anchor: str = ""


# A paragraph, an item of a list or a cell of a table: text and links in their order.
Parts: TypeAlias = list[str | Link]


@dataclass
class Heading:
    text: str
    level: int = 2
    anchor: str = ""


@dataclass
class Words:
    """A paragraph."""

    parts: Parts
    strong: bool = False


@dataclass
class Lines:
    """Lines as they are written, each with its key ("" where it goes on)."""

    lines: list[tuple[str, str]]


@dataclass
class Items:
    """A list."""

    items: list[Parts]


@dataclass
class Grid:
    """A table with a caption; the first *lead* cells of a row are its heading."""

    caption: str
    header: list[str]
    rows: list[list[Parts]]
    lead: int = 1


Block: TypeAlias = Heading | Words | Lines | Items | Grid


@dataclass
class Page:
    key: tuple[str, str]  # its kind ("" for an index) and its name
    title: str
    blocks: list[Block] = field(default_factory=list)


@dataclass
class Book:
    title: str
    law: str  # the edition, the place and the date, in a line
    pages: list[Page] = field(default_factory=list)


def _place_in(edit: Edit) -> str:
    """Where an edit stands in its pack: a book names no folder of anybody's."""
    return f"{Path(edit.at[0]).name}:{edit.at[1]}"


class _Maker:
    """Makes the pages of a book."""

    def __init__(self, library: Library, k: Knowledge, force: InForce, shelf: list[Pack]) -> None:
        self.k, self.force, self.library = k, force, library
        # those in force; of a book of the base alone, all there are
        self.packs = library.packs[1:] or shelf
        done = {(e.pack.name, e.number): e for edits in k.trail.values() for e in edits}
        # as they were carried out, where they were
        self.edits: list[Edit] = [
            done.get((edit.pack.name, edit.number), edit)
            for pack in self.packs
            for edit in pack.edits
        ]
        gone = {("rule", name): d for name, d in k.gone.items()}
        self.items = dict(sorted({**gone, **entries(k)}.items()))
        self.behind: dict[str, list[Edit]] = {}
        of_all = not force.packs and force.date is None
        for edit in self.edits:
            if of_all or self.holds(edit):
                for name in dict.fromkeys([edit.target, *self.touched(edit)]):
                    self.behind.setdefault(name, []).append(edit)

    def holds(self, edit: Edit) -> bool:
        return edit.holds_on(self.force.date)

    @staticmethod
    def touched(edit: Edit) -> list[str]:
        """The rules that a rule which is added stands in the place of, or is an exception to."""
        if not verb_of(edit).makes_anew:
            return []
        keys = ("instead of", "exception to")
        return [str(name) for key in keys for name in as_list(edit.d.get(key))]

    # ---- links
    def to(self, kind: str, name: str) -> str | Link:
        """The name of a thing, leading to its page where it has one."""
        return Link(name, (kind, name)) if (kind, name) in self.items else name

    def any(self, name: str) -> str | Link:
        """The name of a rule, a table or a value, leading to its page where it has one."""
        kinds = (kind for kind in ("rule", "table", "value") if (kind, name) in self.items)
        kind = next(kinds, None)
        return Link(name, (kind, name)) if kind else name

    # ---- pages
    def page(self, kind: str, name: str) -> Page:
        """The page of a rule, a table or a value, from what it says to where it is written."""
        item = entry(self.k, kind, name)
        about = f" about {item.about}" if item.about else ""
        blocks: list[Block] = []
        if item.says:
            blocks.append(Words([item.says], strong=True))
        blocks.append(Words([f"A {kind}{about}. {self.standing(item)}"]))
        blocks += [Heading("Source"), *self.source(item)]
        blocks += self.prose(item)
        if item.lines:
            blocks += [Heading("As written"), Lines(item.lines)]
        blocks += self.rows(item)
        blocks += self.exceptions(item)
        blocks += self.mended(item)
        blocks += self.reads(item)
        blocks += self.readers(item)
        if item.examples or kind == "rule":
            blocks += [Heading("Examples"), *self.examples(item)]
        blocks += [Heading("Amendments"), *self.amendments(name)]
        blocks += [Heading("Where it is written"), Words([item.written])]
        return Page((kind, name), name, blocks)

    def standing(self, item: Entry) -> str:
        """Whether it is in force, and if not, since when it is gone."""
        if item.kind != "rule" or item.in_force:
            cited = self.k.section(item.name)
            section = f" as {cited}" if cited and item.sections else ""
            return f"In force in {self.k.edition}{section}."
        by = withdrawn_by(self.k, item.name)
        if by is not None:
            return f"Not in force here: withdrawn by {by.cite} ({by.pack.where})."
        return f"Not in force in {self.k.edition}."

    @staticmethod
    def source(item: Entry) -> list[Block]:
        """The sections by edition, the other sources, what was checked against what."""
        out: list[Block] = []
        if item.sections:
            out.append(
                Grid(
                    "Sections by edition; each holds until the next that is listed",
                    ["Edition", "Section"],
                    [[[edition], [section]] for edition, section in item.sections],
                )
            )
        if item.sources:
            out.append(Items([[f"{layer}: {text}"] for layer, text in item.sources]))
        if item.proof:
            out.append(Items([[f"{label}: {text}"] for label, text in item.proof]))
        return out

    @staticmethod
    def prose(item: Entry) -> list[Block]:
        """Why it is so, what it never does, what is unsure, what a reader should know."""
        out: list[Block] = []
        said = dict(item.prose)
        for key, title in (
            ("because", "Why"),
            ("limits", "What it never does"),
            ("doubt", "Doubt"),
            ("notes", "Notes"),
            (FORMERLY, "Called before"),
        ):
            if said.get(key):
                out += [Heading(title), Words([said[key]])]
        return out

    @staticmethod
    def rows(item: Entry) -> list[Block]:
        """The rows of a table, under what is to be known of them all."""
        if not item.rows:
            return []
        return [
            Heading("Rows"),
            *(Words([f"{label[0].upper()}{label[1:]}: {text}."]) for label, text in item.facts),
            Grid(
                f"{item.name}: {item.says}",
                [*item.keys, *item.columns],
                [[[cell] for cell in row] for row in item.rows],
                len(item.keys),
            ),
        ]

    def exceptions(self, item: Entry) -> list[Block]:
        """What it sets aside, and what sets it aside."""
        out: list[Block] = []
        if item.sets_aside:
            names: list[Parts] = [[self.to("rule", name)] for name in item.sets_aside]
            out += [Words(["It sets aside:"]), Items(names)]
        if item.set_aside:
            by: list[Parts] = [
                [self.to("rule", name), f": {said}"] for name, said in item.set_aside
            ]
            out += [Words(["It is set aside by:"]), Items(by)]
        return [Heading("Exceptions"), *out] if out else []

    @staticmethod
    def mended(item: Entry) -> list[Block]:
        """What a person can do about a failing of it."""
        if not item.mended_by:
            return []
        return [
            Heading("What may mend it"),
            Words(["Each changes something that the answer rests on; whywire fix tries it."]),
            Items([[f"{said} ({facts})"] for said, facts in item.mended_by]),
        ]

    def reads(self, item: Entry) -> list[Block]:
        """The tables and values that it reads."""
        items: list[Parts] = [["table ", self.to("table", name)] for name in item.tables]
        items += [["value ", self.to("value", name)] for name in item.values]
        return [Heading("Reads"), Items(items)] if items else []

    def readers(self, item: Entry) -> list[Block]:
        """The rules that read a table or a value."""
        if item.kind == "rule" or not item.read_by:
            return []
        items: list[Parts] = [
            [self.to("rule", name), ": " + str(self.items["rule", name].get("says", ""))]
            for name in item.read_by
        ]
        return [Heading("Read by"), Items(items)]

    def examples(self, item: Entry) -> list[Block]:
        """The examples of a rule, and of the edits that changed it, each with what comes out."""
        if not item.examples:
            return [Words(["None are written."])]
        said = [
            x
            for x in as_list(self.items[item.kind, item.name].get("examples"))
            if isinstance(x, dict)
        ]
        rule = self.k.rules.get(item.name)
        more = self.examples_of_edits(item.name) if rule else []
        texts = [
            *item.examples,
            *plain_entry("rule", item.name, Mapping({"examples": more})).examples,
        ]
        rows: list[list[Parts]] = []
        # what has no text of its own is left out at the end
        for example, (given, then) in zip([*said, *more], texts, strict=False):
            got = self.came_out(item.name, rule, example)
            rows.append([[str(len(rows) + 1)], [given], [then], [got]])
        return [
            Grid(
                f"Examples of {item.name} as they come out in {self.k.edition}",
                ["No.", "Given", "Expected", "Comes out"],
                rows,
            )
        ]

    def examples_of_edits(self, name: str) -> list[dict]:
        """The examples of edits of a rule that say how this rule comes out."""
        edits = [
            edit
            for edit in self.behind.get(name, ())
            if self.holds(edit) and edit.target == name and not verb_of(edit).writes_a_rule
        ]
        return [
            x
            for edit in edits
            for x in as_list(edit.d.get("examples"))
            if isinstance(x, dict) and "job" not in x and x.get("rule", name) == name
        ]

    def came_out(self, name: str, rule: Rule | None, example: dict) -> str:
        """What comes out of an example of the rule called *name*, or why it was not run."""
        if rule is None and name in self.k.gone:
            return "not run: the rule is withdrawn here"
        if rule is None:
            return f"not run: the rule is not in force in {self.k.edition}"
        if not in_edition(self.k, example):
            return "not run: it speaks of another edition"
        aside = [str(other) for other in as_list(example.get("sets aside"))]
        lost = [other for other in aside if other in self.k.gone]
        if lost:
            return f"not run: {' and '.join(lost)} is withdrawn here"
        return " / ".join(came_out(self.k, rule, example))

    def amendments(self, name: str) -> list[Block]:
        """What packs change in a rule, a table or a value."""
        found = self.behind.get(name, ())
        if not found and self.force.packs:
            return [Words(["None in force here."])]
        if not found:
            return [Words(["No pack on the shelf changes it."])]
        rows: list[list[Parts]] = [
            [
                [edit.pack.where],
                [
                    Link(
                        f"{edit.verb} {edit.target}",
                        ("pack", edit.pack.name),
                        f"edit-{edit.number}",
                    ),
                    f": {self.meaning(edit)}",
                ],
                [edit.cite],
                [edit.window() or "on every day"],
                [str(edit.d.get("reason", ""))],
            ]
            for edit in found
        ]
        return [
            Grid(
                f"What packs change in {name}",
                ["Place", "Edit", "Ordinance", "Permits", "Reason"],
                rows,
            )
        ]

    def meaning(self, edit: Edit) -> str:
        """What an edit means: as it was carried out here, or as its writer kept it."""
        if edit.done.get("says") and edit.done.get("direction"):
            return said_back(edit)
        kept, says = edit.d.get("meaning"), edit.d.get("says", "")
        # sentences by rule are of no use without the edit's effect
        if not isinstance(says, str):
            return str(edit.d.get("meaning", ""))
        return str(kept or says or edit.d.get("reason", ""))

    def pack(self, pack: Pack) -> Page:
        """The page of a pack: its head, the editions it adopts, its edits one by one."""
        keys = ("authority", "cite", "layer", "place", "within", "choice", "says", "notes")
        head: list[Parts] = [[f"{key}: {pack.head[key]}"] for key in keys if pack.head.get(key)]
        for window in pack.adopts:
            days = f"from {window.start}" if window.start else "of any day"
            days += f", before {window.end}" if window.end else ""
            head.append([f"has NEC {window.edition} in force for permits {days}"])
        blocks: list[Block] = [Words([pack.title], strong=True), Items(head)]
        for edit in self.edits:
            if edit.pack.name == pack.name:
                blocks += self.edit(edit)
        return Page(("pack", pack.name), pack.title, blocks)

    def edit(self, edit: Edit) -> list[Block]:
        """One edit on the page of its pack."""
        has_page = not verb_of(edit).makes_anew or ("rule", edit.target) in self.items
        days = f"for permits {edit.window() or 'of every day'}"
        if self.force.date and self.holds(edit):
            days += "; in force"
        elif self.force.date:
            days += f"; not in force on {self.force.date}"
        out: list[Block] = [
            Heading(f"{edit.number}. {edit.verb} {edit.target}", 2, f"edit-{edit.number}"),
            Words([self.any(edit.target) if has_page else edit.target, f": {self.meaning(edit)}"]),
            Items(
                [
                    [f"ordinance: {edit.cite}"],
                    [f"reason: {as_plain(edit)['reason']}"],
                    [days],
                    [f"written at {_place_in(edit)}"],
                ]
            ),
        ]
        if verb_of(edit).writes_a_rule:
            out.append(Lines(plain_entry("rule", edit.target, as_rule(edit)).lines))
        return out

    # ---- the local law
    def local_law(self) -> Page:
        """What packs make of the book here, in plain words, and what was in force when."""
        on = f" for a permit of {self.force.date}" if self.force.date else ""
        held = [edit for edit in self.edits if self.holds(edit)]
        blocks: list[Block] = [
            Words(
                [f"What local law changes here{on}: {len(held)} amendments in force."], strong=True
            ),
            Words([CAUTION]),
        ]
        for pack in self.packs:
            mine = [edit for edit in held if edit.pack.name == pack.name]
            if not mine:
                continue
            blocks.append(Heading(f"{pack.title} ({pack.where})"))
            blocks.append(Items([self.in_plain_words(edit) for edit in mine]))
        return Page(LOCAL, "The local law in plain words", [*blocks, *self.timeline()])

    def in_plain_words(self, edit: Edit) -> Parts:
        """An amendment as its people would say it: its sentence, why, by which section, and a link
        to where it is said exactly.
        """
        says, where = edit.d.get("says"), ""
        rule = self.k.rules.get(edit.target)
        if isinstance(says, str):
            text = says
            where = f" Where: {when_in_words(edit.d['where'])}." if "where" in edit.d else ""
        elif rule is not None and not isinstance(edit.d.get("against"), str):
            text = str(rule.d.get("says", edit.target))
        else:
            text = re.sub(r"^[A-Z]+: ", "", self.meaning(edit)).split(" In force ")[0]
        reason = str(edit.d.get("reason", ""))
        link = Link(edit.cite, ("pack", edit.pack.name), f"edit-{edit.number}")
        return [f"{text.rstrip('.')}.{where} {reason} (", link, ")"]

    def timeline(self) -> list[Block]:
        """What was in force when: each day on which something of the packs here begins or ends. The
        day on which a correction was written down is no day of this.
        """
        rows: dict[str, list[Parts]] = {}
        for pack in self.packs:
            days = [(pack.start, f"{pack.title} begins"), (pack.end, f"{pack.title} ends")]
            for window in pack.adopts:
                days.append((window.start, f"NEC {window.edition} is adopted in {pack.where}"))
                days.append((window.end, f"NEC {window.edition} is adopted no longer"))
            for day, what in days:
                if day:
                    rows.setdefault(day, []).append([what])
            for edit in pack.edits:
                link = Link(
                    f"{edit.verb} {edit.target}", ("pack", pack.name), f"edit-{edit.number}"
                )
                # one that begins or ends with its pack is told with it
                if edit.start and edit.start != pack.start:
                    rows.setdefault(edit.start, []).append([link, f" begins ({edit.cite})"])
                for day in edit.redated:
                    if day:
                        rows.setdefault(day, []).append([link, f" moves to this day ({edit.cite})"])
                if edit.end and edit.end != pack.end:
                    rows.setdefault(edit.end, []).append([link, f" ends ({edit.cite})"])
        if not rows:
            return []
        cells: list[list[Parts]] = [
            [[day], what] for day, all_ in sorted(rows.items()) for what in all_
        ]
        out: list[Block] = [
            Heading("What was in force when"),
            Grid("Days of effect, by the date of the permit", ["From", "What"], cells),
        ]
        written: list[Parts] = [
            [f"{pack.title}: {pack.head['written']}"]
            for pack in self.packs
            if pack.head.get("written")
        ]
        notes: list[Parts] = [
            [f"{edit.verb} {edit.target}: {edit.d['corrected']}"]
            for pack in self.packs
            for edit in pack.edits
            if "corrected" in edit.d
        ]
        if written or notes:
            out += [Heading("When it was written down, or corrected"), Items([*written, *notes])]
        return out

    # ---- indexes
    def index(self, title: str, law: str) -> Page:
        """The first page: every rule under its chapter, every table, value and pack."""
        blocks: list[Block] = [
            Words([law], strong=True),
            Words([CAUTION]),
            *(Words([note]) for note in self.force.notes),
            *([Words([Link("The local law in plain words", LOCAL)])] if self.force.packs else []),
            Words([Link("By section of the code", SECTIONS)]),
        ]
        groups: dict[tuple[str, str], list[str]] = {}
        for kind, name in self.items:
            if kind == "rule":
                groups.setdefault(chapter(self.items[kind, name].at[0]), []).append(name)
        last = ""
        for (group, sub), names in sorted(groups.items()):
            if group != last:
                blocks.append(Heading(group))
            last = group
            blocks += [Heading(sub, 3), Items([self.line("rule", name) for name in names])]
        for kind, heading in (("table", "Tables"), ("value", "Values")):
            lines = [self.line(kind, name) for k, name in self.items if k == kind]
            blocks += [Heading(heading), Items(lines)]
        if self.packs:
            packs: list[Parts] = [
                [Link(pack.title, ("pack", pack.name)), f": {pack.where}"] for pack in self.packs
            ]
            blocks += [Heading("Packs"), Items(packs)]
        return Page(INDEX, title, blocks)

    def line(self, kind: str, name: str) -> Parts:
        """A rule, a table or a value in one line of the index."""
        note = ""
        if kind == "rule" and name not in self.k.rules:
            note = " (not in force)"
        elif self.k.section(name):
            note = f" ({self.k.section(name)})"
        return [self.to(kind, name), f"{note}: {self.items[kind, name].get('says', '')}"]

    def sections(self) -> Page:
        """The second index: what each section of the code stands behind."""
        found: dict[str, dict[str, list[tuple[str, str]]]] = {}
        for kind, name in self.items:
            if kind != "rule" or name in self.k.rules:
                for heading, section in self.cited(kind, name):
                    found.setdefault(heading, {}).setdefault(section, []).append((kind, name))
        blocks: list[Block] = [
            Words([f"Every section of NEC {self.k.edition} that a rule, a table or a value names."])
        ]
        for heading in sorted(found, key=natural):
            behind = found[heading]
            ordered = sorted(behind, key=lambda section: (natural(section), section))
            items = [self.section_line(section, behind[section]) for section in ordered]
            blocks += [Heading(heading), Items(items)]
        return Page(SECTIONS, "By section of the code", blocks)

    def cited(self, kind: str, name: str) -> list[tuple[str, str]]:
        """The sections that a thing cites, each under its heading; its other source, where it has
        no section of the code.
        """
        d = self.items[kind, name]
        if isinstance(d.get("code"), dict):
            return [(article(section), section) for section in parted(self.k.section(name))]
        sources = (f"{key}: {d[key]}" for key in ("manufacturer", "local", "practice") if key in d)
        return [("Other sources", next(sources, ""))]

    def section_line(self, section: str, things: list[tuple[str, str]]) -> Parts:
        """A section with what it stands behind."""
        out: Parts = [f"{section}: "]
        for kind, name in things:
            if len(out) > 1:
                out.append(", ")
            out.append(self.to(kind, name))
        return out


def chapter(file: str) -> tuple[str, str]:
    """The group and the chapter of a rule, by the file it is written in."""
    path = Path(file)
    group = path.parent.name if path.parent.name != "base" else path.stem
    return named(group), named(path.stem)


def named(file: str) -> str:
    return file.replace("-", " ").capitalize()


def parted(section: str) -> list[str]:
    """The sections that one citation names, without the ordinance that amends them."""
    return (
        re.split(
            r"(?:, | and )(?=\d{2}|Table|Article|Chapter|Annex)", section.rpartition("amending ")[2]
        )
        if section
        else []
    )


def article(section: str) -> str:
    """The heading a section stands under."""
    if m := re.match(r"(?:Table |Article )?(\d{2,3})\b", section):
        return f"Article {m[1]}"
    m = re.match(r"(Chapter|Annex) \w+", section)
    return m[0] if m else "Other sources"


def natural(text: str) -> list:
    """A key that sorts 90.1 before 110.3, and a table with the section of its number."""
    return [
        (0, int(t), "") if t.isdigit() else (1, 0, t)
        for t in re.findall(r"[0-9]+|[^0-9]+", re.sub(r"^(Table|Article) ", "", text))
    ]


def make_book(force: InForce) -> Book:
    """The book of what is in force. With packs it holds what they make of the base; of the base
    alone, what every pack on the shelf would change.

    Raises:
        Faults: everything that is wrong in the packs.
    """
    library = Library(force.folders)
    k = library.in_force(force.edition, force.date)
    shelf: list[Pack] = []
    if not force.packs:
        shelf = Library(tuple(pack.folder for pack in known_packs().values())).packs[1:]
    maker = _Maker(library, k, force, shelf)
    places = [*([force.place] if force.place else []), *(pack.where for pack in force.packs)]
    where = " and ".join(dict.fromkeys(places))
    law = (
        f"NEC {k.edition}"
        + (f", {where}" if where else "")
        + (f", for a permit of {force.date}" if force.date else "")
        + f"; digest {k.digest}"
    )
    title = "Rule book" + (f" of {force.place or where}" if where else "")
    book = Book(title, law, [maker.index(title, law), maker.sections()])
    if force.packs:
        book.pages.append(maker.local_law())
    faults = Collector()
    for kind, name in maker.items:
        with faults.catching():
            book.pages.append(maker.page(kind, name))
    faults.stop()
    book.pages += [maker.pack(pack) for pack in maker.packs]
    return book


def paths(book: Book) -> dict[tuple[str, str], str]:
    """Where each page lies, without its ending: short, in plain letters, and each its own on every
    file system.
    """
    out: dict[tuple[str, str], str] = {}
    taken: set[str] = set()
    for page in book.pages:
        kind, name = page.key
        bare = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60]
        if bare != name.replace(" ", "-") or f"{kind}/{bare}" in taken:
            bare = f"{bare or 'page'}-{digest(name, 8)}"
        taken.add(f"{kind}/{bare}")
        out[page.key] = f"{kind}s/{bare}" if kind else bare
    return out


def rule_index(k: Knowledge) -> str:
    """Every rule in a line: its name, its section, its sentence; under the group and the chapter it
    is written in.
    """
    groups: dict[tuple[str, str], list[str]] = {}
    for name, r in k.rules.items():
        groups.setdefault(chapter(r.at[0]), []).append(f"* `{name}` ({k.section(name)}): {r.said}")
    lines = [
        f"# Every rule in force in NEC {k.edition}",
        "",
        (
            "Written by the tests (`WHYWIRE_UPDATE=1 pytest -q tests/cli/test_book.py`); `whywire"
            " rules NAME` shows a rule whole, `whywire book` all of them."
        ),
    ]
    last = ""
    for (group, sub), names in sorted(groups.items()):
        lines += ([""] + [f"## {group}"] if group != last else []) + [
            "",
            f"### {sub}",
            "",
            *sorted(names),
        ]
        last = group
    return "\n".join(lines) + "\n"


__all__ = [
    "Book",
    "Grid",
    "Heading",
    "Items",
    "Lines",
    "Link",
    "Page",
    "Words",
    "make_book",
    "paths",
    "rule_index",
]
