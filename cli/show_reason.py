"""A reason as a person reads it: a tree of text, or a picture of the same lines."""

from __future__ import annotations

import textwrap
from typing import Any

from ..engine.reasons.tree import READ, TAKEN, Entry
from .layout import Line

# what was assumed and what was read in a table stands out on a terminal
STYLE = {TAKEN: "assumed", READ: "table"}
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
    said, source = _fitted(entry, width - len(lead) - len(mark))
    line: Line = [(lead + mark, "label"), (said, STYLE.get(entry.kind, ""))]
    if source:
        room = width - len(lead) - len(mark) - len(said) - len(source)
        line.append((" " * room + source, "source"))
    lines = [line]
    for place, below in enumerate(entry.under):
        inner = lead + ("   " if last else "│  ")
        lines += _branch(below, inner, place == len(entry.under) - 1, width)
    return lines


def _fitted(entry: Entry, room: int) -> tuple[str, str]:
    """What a line says and who says so, in so many columns: what matters least goes first."""
    whole, brief = entry.said, entry.said.replace(f" = {entry.note}", "") if entry.note else ""
    sources = [entry.source, _short_source(entry.source, max(LEAST_SOURCE, room // 3))]
    sources.append(entry.source.partition(",")[0])
    for said in filter(None, (whole, brief)):
        for source in sources:
            if len(said) + len(source) + 2 <= room:
                return said, source
    said, source = brief or whole, min(sources, key=len)
    return said[: max(room - len(source) - 3, 1)].rstrip() + "…", source


def _short_source(source: str, room: int) -> str:
    return source if len(source) <= room else source[: room - 1].rstrip(" ,;") + "…"


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


FORMS: dict[str, Any] = {}

__all__ = ["show_reason"]
