"""The rule book: a page for each rule, table, value and pack, and two indexes, as plain data; how a
page looks is not known here.

A page is a list of blocks. Text that leads to another page is a Link, which names the page and not
where it lies.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path

from ..answering.amended import as_plain
from ..basics.errors import Collector
from ..basics.reading import digest
from ..checking.examples import came_out, in_edition
from ..language.entries import Entry, entries, entry, plain_entry
from ..language.knowledge import Knowledge
from ..language.words import as_list
from ..law.edits import Edit
from ..law.library import Library, Pack
from ..law.meanings import said_back
from ..law.own_rules import as_rule
from ..law.places import InForce, known_packs

INDEX, SECTIONS = ("", "index"), ("", "sections")
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


@dataclass
class Heading:
    text: str
    level: int = 2
    anchor: str = ""


@dataclass
class Words:
    """A paragraph: text and links in their order."""

    parts: list[str | Link]
    strong: bool = False


@dataclass
class Lines:
    """Lines as they are written, each with its key ("" where it goes on)."""

    lines: list[tuple[str, str]]


@dataclass
class Items:
    """A list, each item text and links."""

    items: list[list[str | Link]]


@dataclass
class Grid:
    """A table with a caption; the first *lead* cells of a row are its heading."""

    caption: str
    header: list[str]
    rows: list[list[list[str | Link]]]
    lead: int = 1


@dataclass
class Page:
    key: tuple[str, str]  # its kind ("" for an index) and its name
    title: str
    blocks: list = field(default_factory=list)


@dataclass
class Book:
    title: str
    law: str  # the edition, the place and the date, in a line
    pages: list[Page] = field(default_factory=list)


class _Maker:
    def __init__(self, library: Library, k: Knowledge, force: InForce, shelf: list[Pack]) -> None:
        self.k, self.force, self.library = k, force, library
        # those in force; of a book of the base alone, all there are
        self.packs = [p for p in library.packs[1:]] or shelf
        done = {(e.pack.name, e.number): e for es in k.trail.values() for e in es}
        self.edits = [done.get((e.pack.name, e.number), e) for p in self.packs for e in p.edits]
        gone = {("rule", i): d for i, d in k.gone.items()}
        self.items = {key: d for key, d in sorted({**gone, **entries(k)}.items())}
        self.behind: dict[str, list[Edit]] = {}
        for e in self.edits:
            if not force.packs and force.date is None or self.holds(e):
                for name in dict.fromkeys([e.target, *self.touched(e)]):
                    self.behind.setdefault(name, []).append(e)

    def holds(self, e: Edit) -> bool:
        return e.holds_on(self.force.date)

    @staticmethod
    def touched(e: Edit) -> list[str]:
        """The rules that a rule which is added stands in the place of, or is an exception to."""
        return (
            [str(t) for key in ("instead of", "exception to") for t in as_list(e.d.get(key))]
            if e.verb == "add"
            else []
        )

    # ---- links
    def to(self, kind: str, name: str) -> str | Link:
        """The name of a thing, leading to its page where it has one."""
        return Link(name, (kind, name)) if (kind, name) in self.items else name

    def any(self, name: str) -> str | Link:
        return next(
            (
                Link(name, (kind, name))
                for kind in ("rule", "table", "value")
                if (kind, name) in self.items
            ),
            name,
        )

    # ---- pages
    def page(self, kind: str, name: str) -> Page:
        e = entry(self.k, kind, name)
        b: list = [Words([e.says], strong=True)] if e.says else []
        b.append(
            Words(
                [f"A {kind}" + (f" about {e.about}" if e.about else "") + f". {self.standing(e)}"]
            )
        )
        b += [Heading("Source"), *self.source(e)]
        for key, title in (
            ("because", "Why"),
            ("limits", "What it never does"),
            ("doubt", "Doubt"),
            ("notes", "Notes"),
        ):
            if text := dict(e.prose).get(key):
                b += [Heading(title), Words([text])]
        if e.lines:
            b += [Heading("As written"), Lines(e.lines)]
        if e.rows:
            b += [
                Heading("Rows"),
                *(Words([f"{label[0].upper()}{label[1:]}: {text}."]) for label, text in e.facts),
                Grid(
                    f"{name}: {e.says}",
                    [*e.keys, *e.columns],
                    [[[c] for c in row] for row in e.rows],
                    len(e.keys),
                ),
            ]
        if e.sets_aside or e.set_aside:
            b.append(Heading("Exceptions"))
            b += (
                [Words(["It sets aside:"]), Items([[self.to("rule", t)] for t in e.sets_aside])]
                if e.sets_aside
                else []
            )
            b += (
                [
                    Words(["It is set aside by:"]),
                    Items([[self.to("rule", by), f": {said}"] for by, said in e.set_aside]),
                ]
                if e.set_aside
                else []
            )
        if e.tables or e.values:
            b += [
                Heading("Reads"),
                Items(
                    [
                        [f"{kind} ", self.to(kind, n)]
                        for kind, names in (("table", e.tables), ("value", e.values))
                        for n in names
                    ]
                ),
            ]
        if kind != "rule" and e.read_by:
            b += [
                Heading("Read by"),
                Items(
                    [
                        [self.to("rule", n), ": " + str(self.items["rule", n].get("says", ""))]
                        for n in e.read_by
                    ]
                ),
            ]
        if e.examples or kind == "rule":
            b += [Heading("Examples"), *self.examples(e)]
        b += [Heading("Amendments"), *self.amendments(name)]
        return Page((kind, name), name, [*b, Heading("Where it is written"), Words([e.written])])

    def standing(self, e: Entry) -> str:
        if e.kind != "rule" or e.in_force:
            cited = self.k.section(e.name)
            return f"In force in {self.k.edition}" + (
                f" as {cited}." if cited and e.sections else "."
            )
        by = self.k.withdrawn.get(e.name)
        return (
            f"Not in force here: withdrawn by {by.cite} ({by.pack.where})."
            if by
            else f"Not in force in {self.k.edition}."
        )

    @staticmethod
    def source(e: Entry) -> list:
        out: list = []
        if e.sections:
            out.append(
                Grid(
                    "Sections by edition; each holds until the next that is listed",
                    ["Edition", "Section"],
                    [[[edition], [section]] for edition, section in e.sections],
                )
            )
        if e.sources:
            out.append(Items([[f"{layer}: {text}"] for layer, text in e.sources]))
        if e.proof:
            out.append(Items([[f"{label}: {text}"] for label, text in e.proof]))
        return out

    def examples(self, e: Entry) -> list:
        if not e.examples:
            return [Words(["None are written."])]
        r, rows = self.k.rules.get(e.name), []
        said = [
            x for x in as_list(self.items[e.kind, e.name].get("examples")) if isinstance(x, dict)
        ]
        more = (
            [
                x
                for o in self.behind.get(e.name, ())
                if self.holds(o) and o.target == e.name and o.verb not in ("add", "replace")
                for x in as_list(o.d.get("examples"))
                if isinstance(x, dict) and "job" not in x and x.get("rule", e.name) == e.name
            ]
            if r
            else []
        )
        texts = [*e.examples, *plain_entry("rule", e.name, {"examples": more}).examples]
        for n, (x, (given, then)) in enumerate(zip([*said, *more], texts), 1):
            if r is None:
                got = (
                    "not run: the rule is withdrawn here"
                    if e.name in self.k.gone
                    else f"not run: the rule is not in force in {self.k.edition}"
                )
            elif not in_edition(self.k, x):
                got = "not run: it speaks of another edition"
            elif lost := [str(i) for i in as_list(x.get("sets aside")) if str(i) in self.k.gone]:
                got = f"not run: {' and '.join(lost)} is withdrawn here"
            else:
                got = " / ".join(came_out(self.k, r, x))
            rows.append([[str(n)], [given], [then], [got]])
        return [
            Grid(
                f"Examples of {e.name} as they come out in {self.k.edition}",
                ["No.", "Given", "Expected", "Comes out"],
                rows,
            )
        ]

    def amendments(self, name: str) -> list:
        found = self.behind.get(name, ())
        if not found:
            return [
                Words(
                    [
                        (
                            "None in force here."
                            if self.force.packs
                            else "No pack on the shelf changes it."
                        )
                    ]
                )
            ]
        rows = [
            [
                [e.pack.where],
                [
                    Link(f"{e.verb} {e.target}", ("pack", e.pack.name), f"edit-{e.number}"),
                    f": {self.meaning(e)}",
                ],
                [e.cite],
                [e.window() or "on every day"],
                [str(e.d.get("reason", ""))],
            ]
            for e in found
        ]
        return [
            Grid(
                f"What packs change in {name}",
                ["Place", "Edit", "Ordinance", "Permits", "Reason"],
                rows,
            )
        ]

    def meaning(self, e: Edit) -> str:
        """What an edit means: as it was carried out here, or as its writer kept it."""
        if e.done.get("says") and e.done.get("direction"):
            return said_back(e)
        return (
            str(e.d.get("meaning") or e.d.get("says") or e.d.get("reason", ""))
            if isinstance(e.d.get("says", ""), str)
            else str(e.d.get("meaning", ""))
        )

    def pack(self, p: Pack) -> Page:
        said = [
            (k, str(p.head.get(k, "")))
            for k in ("authority", "cite", "layer", "place", "within", "choice", "says", "notes")
        ]
        b: list = [
            Words([p.title], strong=True),
            Items(
                [[f"{k}: {v}"] for k, v in said if v]
                + [
                    [
                        f"has NEC {w.edition} in force for permits "
                        + (f"from {w.start}" if w.start else "of any day")
                        + (f", before {w.end}" if w.end else "")
                    ]
                    for w in p.adopts
                ]
            ),
        ]
        for e in (e for e in self.edits if e.pack.name == p.name):
            plain = as_plain(e)
            b += [
                Heading(f"{e.number}. {e.verb} {e.target}", 2, f"edit-{e.number}"),
                Words(
                    [
                        (
                            self.any(e.target)
                            if e.verb != "add" or ("rule", e.target) in self.items
                            else e.target
                        ),
                        f": {self.meaning(e)}",
                    ]
                ),
            ]
            b.append(
                Items(
                    [
                        [f"ordinance: {e.cite}"],
                        [f"reason: {plain['reason']}"],
                        [
                            f"for permits {e.window() or 'of every day'}"
                            + (
                                ""
                                if not self.force.date
                                else (
                                    "; in force"
                                    if self.holds(e)
                                    else f"; not in force on {self.force.date}"
                                )
                            )
                        ],
                        [f"written at {e.at}"],
                    ]
                )
            )
            if e.verb in ("add", "replace"):
                b.append(Lines(plain_entry("rule", e.target, as_rule(e)).lines))
        return Page(("pack", p.name), p.title, b)

    # ---- indexes
    def index(self, title: str, law: str) -> Page:
        b: list = [
            Words([law], strong=True),
            Words([CAUTION]),
            *(Words([n]) for n in self.force.notes),
            Words([Link("By section of the code", SECTIONS)]),
        ]
        groups: dict[tuple[str, str], list[str]] = {}
        for kind, name in self.items:
            if kind == "rule":
                groups.setdefault(chapter(self.items[kind, name].at[0]), []).append(name)
        last = ""
        for (group, sub), names in sorted(groups.items()):
            b += [Heading(group)] if group != last else []
            last = group
            b += [Heading(sub, 3), Items([self.line("rule", n) for n in names])]
        for kind, heading in (("table", "Tables"), ("value", "Values")):
            b += [Heading(heading), Items([self.line(kind, n) for k, n in self.items if k == kind])]
        if self.packs:
            b += [
                Heading("Packs"),
                Items([[Link(p.title, ("pack", p.name)), f": {p.where}"] for p in self.packs]),
            ]
        return Page(INDEX, title, b)

    def line(self, kind: str, name: str) -> list[str | Link]:
        d = self.items[kind, name]
        section = "" if kind == "rule" and name not in self.k.rules else self.k.section(name)
        return [
            self.to(kind, name),
            (
                f" ({section})"
                if section
                else " (not in force)"
                if kind == "rule" and name not in self.k.rules
                else ""
            )
            + f": {d.get('says', '')}",
        ]

    def sections(self) -> Page:
        found: dict[str, dict[str, list]] = {}
        for kind, name in self.items:
            d = self.items[kind, name]
            if kind == "rule" and name not in self.k.rules:
                continue
            section = self.k.section(name)
            for s in (
                parted(section)
                if isinstance(d.get("code"), dict)
                else [
                    next(
                        (f"{k}: {d[k]}" for k in ("manufacturer", "local", "practice") if k in d),
                        "",
                    )
                ]
            ):
                found.setdefault(
                    article(s) if isinstance(d.get("code"), dict) else "Other sources", {}
                ).setdefault(s, []).append((kind, name))
        b: list = [
            Words([f"Every section of NEC {self.k.edition} that a rule, a table or a value names."])
        ]
        for head in sorted(found, key=natural):
            b += [
                Heading(head),
                Items(
                    [
                        [
                            f"{s}: ",
                            *(
                                x
                                for n, (kind, name) in enumerate(things)
                                for x in ([", "] if n else []) + [self.to(kind, name)]
                            ),
                        ]
                        for s, things in sorted(
                            found[head].items(), key=lambda x: (natural(x[0]), x[0])
                        )
                    ]
                ),
            ]
        return Page(SECTIONS, "By section of the code", b)


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
    """The book of what is in force. Raises Faults with everything that is wrong in the packs.

    With packs it holds what they make of the base; of the base alone, what every pack on the shelf
    would change.
    """
    library = Library(force.folders)
    k = library.in_force(force.edition, force.date)
    shelf = (
        [] if force.packs else Library(tuple(p.folder for p in known_packs().values())).packs[1:]
    )
    maker = _Maker(library, k, force, shelf)
    where = " and ".join(
        dict.fromkeys([*([force.place] if force.place else []), *(p.where for p in force.packs)])
    )
    law = (
        f"NEC {k.edition}"
        + (f", {where}" if where else "")
        + (f", for a permit of {force.date}" if force.date else "")
        + f"; digest {k.digest}"
    )
    title = "Rule book" + (f" of {force.place or where}" if where else "")
    book = Book(title, law, [maker.index(title, law), maker.sections()])
    faults = Collector()
    for kind, name in maker.items:
        with faults.catching():
            book.pages.append(maker.page(kind, name))
    faults.stop()
    book.pages += [maker.pack(p) for p in maker.packs]
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
