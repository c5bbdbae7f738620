"""A reason as a person reads it: a tree of text, or a picture of the same lines."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable
from typing import Any

from ..engine.front import READ, RULED, SAID, TAKEN, UNKNOWN, Entry
from .layout import Line
from .picture import as_svg, description_of, title_of, word_of
from .wall import json_text, seen

# what was assumed and what was read in a table stands out on a terminal
STYLE = {TAKEN: "assumed", READ: "table"}
APPLIES = "?applies"  # how the line ends that says that a rule applies
LEAST_SOURCE = 8  # a section shorter than that is never cut


def show_reason(top: Entry, width: int = 80) -> list[Line]:
    """The tree, a line each; the sentence at its head may take two."""
    width = max(width, 40)
    head = textwrap.wrap(top.said, width - len(top.source) - 2, break_on_hyphens=False)
    if len(head) > 1:
        head = textwrap.wrap(top.said, width, break_on_hyphens=False)[:2]
    lines: list[Line] = [[(line, "headline")] for line in head]
    _at_the_edge(lines, top.source, width)
    for place, entry in enumerate(top.under):
        lines += _branch(entry, "", place == len(top.under) - 1, width)
    return lines


def _branch(entry: Entry, lead: str, last: bool, width: int) -> list[Line]:
    mark = "└─ " if last else "├─ "
    inner = lead + ("   " if last else "│  ")
    room = width - len(lead) - len(mark)
    rows, source = _fitted(entry, room)
    line: Line = [(lead + mark, "label"), (rows[0], STYLE.get(entry.kind, ""))]
    if source:
        line.append((" " * (room - len(rows[0]) - len(source)) + source, "source"))
    lines = [line]
    lines += [[(inner, "label"), (more, STYLE.get(entry.kind, ""))] for more in rows[1:]]
    for place, below in enumerate(entry.under):
        lines += _branch(below, inner, place == len(entry.under) - 1, width)
    return lines


def _fitted(entry: Entry, room: int) -> tuple[list[str], str]:
    """What a line says and who says so, in so many columns: what matters least goes first, and
    what matters takes a further line rather than be cut.
    """
    whole, brief = entry.said, entry.said.replace(f" = {entry.note}", "") if entry.note else ""
    asked = entry.kind == UNKNOWN or entry.name.endswith(APPLIES)
    sources = [entry.source, _short_source(entry.source, max(LEAST_SOURCE, room // 3))]
    sources.append(entry.source.partition(",")[0])
    for said in filter(None, (whole,) if asked else (whole, brief)):
        for source in sources:
            if len(said) + len(source) + 2 <= room:
                return [said], source
    said, source = (whole if asked else brief or whole), min(sources, key=len)
    if len(source) > room // 2:
        source = ""  # a narrow screen: what it rests on is said, who says so is in the data
    first, *rest = textwrap.wrap(said, room - len(source) - 2, break_on_hyphens=False)
    return [first, *textwrap.wrap(" ".join(rest), room, break_on_hyphens=False)], source


def _short_source(source: str, room: int) -> str:
    """As many sections of a source as find room, each whole; the first at least."""
    sections = source.split(", ")
    for kept in range(len(sections), 1, -1):
        if len(said := ", ".join(sections[:kept])) <= room:
            return said
    return sections[0]


def _at_the_edge(lines: list[Line], source: str, width: int) -> None:
    """Put the section at the right edge of the head, or on a line of its own."""
    last = len(lines[-1][0][0])
    source = _short_source(source, width - 2)
    if last + 2 + len(source) <= width:
        lines[-1].append((" " * (width - last - len(source)) + source, "source"))
    else:
        lines.append([(f"{source:>{width}}", "source")])


# ---- data
def marked(graph: dict[str, Any], reason: Entry | None) -> dict[str, Any]:
    """A whole derivation as JSON has it, what its reason shows marked `reason: true`; the lines of
    the reason stand beside it.
    """
    if reason is None:
        return graph
    shown = {entry.name for entry in reason.all()}
    for node in graph["nodes"]:
        if node["id"] in shown:
            node["reason"] = True
    graph["reason"] = as_dict(reason)
    return graph


def as_dict(top: Entry) -> dict[str, Any]:
    """The lines of a reason as JSON has them: nodes and edges."""
    numbered = {entry.number: entry.name for entry in top.all() if entry.number}
    return {
        "root": top.name,
        "nodes": [
            {
                "id": entry.name,
                "kind": entry.kind,
                "text": entry.said,
                "source": entry.source,
                "reason": True,
                "folded": entry.folded,
            }
            for entry in top.all()
        ],
        "edges": [
            {"from": entry.name, "to": below}
            for entry in top.all()
            for below in (
                *(under.name for under in entry.under),
                *(numbered[number] for number in entry.also),
            )
        ],
    }


def as_json(top: Entry) -> str:
    """The lines of a reason as JSON."""
    return json_text(as_dict(top))


# ---- pictures that other programs draw
def as_mermaid(top: Entry) -> str:
    """Mermaid flowchart text."""
    shapes = {
        SAID: ("[", "]"),
        TAKEN: ("{{", "}}"),
        READ: ("[(", ")]"),
        RULED: ("([", "])"),
        UNKNOWN: (">", "]"),
    }
    name = _names(top)

    def text(said: str) -> str:
        # Every mark of Mermaid, Markdown or HTML by its number, or a title could bring a link or an
        # element along.
        marks = re.sub(r"[#<>&`\\*_\[\]|]", lambda found: f"#{ord(found[0])};", said)
        return marks.replace('"', "#quot;")

    out = ["flowchart LR", f"  accTitle: {text(_plain(title_of(top)))}"]
    out.append(f"  accDescr: {text(_plain(description_of(top)))}")
    for entry in top.all():
        opens, closes = shapes[entry.kind]
        out.append(f'  {name[entry.name]}{opens}"{text(_label(entry))}"{closes}')
    out += [f"  {name[a]} --> {name[b]}" for a, b in _edges(top)]
    return "\n".join(out) + "\n"


def as_dot(top: Entry) -> str:
    """Graphviz DOT text."""
    shapes = {SAID: "box", TAKEN: "hexagon", READ: "cylinder", RULED: "oval", UNKNOWN: "note"}
    name = _names(top)

    def text(said: str) -> str:
        return '"' + said.replace("\\", "\\\\").replace('"', '\\"') + '"'

    out = ["digraph why {", "  rankdir=LR;", f"  label={text(_plain(title_of(top)))};"]
    out.append(f"  tooltip={text(_plain(description_of(top)))};")
    out += [
        f"  {name[entry.name]} [shape={shapes[entry.kind]}, label={text(_label(entry))}];"
        for entry in top.all()
    ]
    out += [f"  {name[a]} -> {name[b]};" for a, b in _edges(top)]
    return "\n".join([*out, "}"]) + "\n"


def _names(top: Entry) -> dict[str, str]:
    return {entry.name: f"n{place}" for place, entry in enumerate(top.all())}


def _label(entry: Entry) -> str:
    return _plain(f"{entry.said} · {word_of(entry)}")


def _plain(text: str) -> str:
    """Text of one line."""
    return " ".join(seen(text).split())


def _edges(top: Entry) -> list[tuple[str, str]]:
    return [(entry.name, below.name) for entry in top.all() for below in entry.under]


FORMS: dict[str, Callable[[Entry], str]] = {
    "mermaid": as_mermaid,
    "dot": as_dot,
    "json": as_json,
    "svg": as_svg,
}

__all__ = ["FORMS", "as_dict", "marked", "show_reason"]
