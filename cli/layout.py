"""Lines of text for a terminal: labels, wrapping, sections at the right edge. Plain data in, styled
lines out.

A line is a list of (text, style) pieces; styles are names that only `main` knows how to colour.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator
from typing import TypeAlias

Line: TypeAlias = list[tuple[str, str]]  # of (text, style)
Put: TypeAlias = Callable[[list[Line]], None]  # how lines are printed, which only `main` knows
LABEL = 9


def plain(lines: list[Line]) -> str:
    """The lines as text without colour."""
    return "\n".join("".join(t for t, _ in line).rstrip() for line in lines)


def wrap(text: str, width: int, first: int = 0) -> list[str]:
    """*text* broken at words to *width*, the first line shorter by *first*."""
    out = textwrap.wrap(
        " " * first + text if first else text,
        max(width, 20),
        break_long_words=True,
        break_on_hyphens=False,
        drop_whitespace=not first,
    )
    return [line.rstrip() for line in out] or [""]


def row(label: str, text: str, source: str, width: int, most: int = 2) -> list[Line]:
    """A labelled row, its source at the right edge where there is room. Of a text that takes more
    than *most* lines whole pieces are left out, and never a part of one: what is cut may be a
    number or a condition.
    """
    head = f"{label:<{LABEL}}" if len(label) < LABEL else f"{label}  "
    body = _beside(head, text, width)
    if len(body) > most:
        shorter = (_beside(head, said, width) for said in in_fewer_pieces(text))
        body = next((lines for lines in shorter if len(lines) <= most), body)
    style = "check" if label == "Check" else ""
    lines: list[Line] = [
        [(" " * LABEL if i else head, "label"), (line, style)] for i, line in enumerate(body)
    ]
    if source:
        _at_the_edge(lines, source, width, most)
    return lines


def in_fewer_pieces(text: str) -> Iterator[str]:
    """*text* with fewer and fewer of its pieces, and how many were left out; nothing where it is
    of one piece.

    >>> list(in_fewer_pieces("dry; 86 °F; copper."))
    ['dry; 86 °F; and 1 more.', 'dry; and 2 more.']
    """
    pieces = text.rstrip(".").split("; ")
    for kept in range(len(pieces) - 1, 0, -1):
        yield f"{'; '.join(pieces[:kept])}; and {len(pieces) - kept} more."


def _beside(head: str, text: str, width: int) -> list[str]:
    """The lines of *text* beside a label: a long label takes room from its first line only."""
    lines = textwrap.wrap(text, max(width - len(head), 24), break_on_hyphens=False) or [""]
    if len(lines) == 1 or len(head) <= LABEL:
        return lines
    rest = text[len(lines[0]) :].strip()
    return [lines[0], *textwrap.wrap(rest, width - LABEL, break_on_hyphens=False)]


def _at_the_edge(lines: list[Line], source: str, width: int, most: int) -> None:
    """Put a source at the right edge: of the last line, of one more line where a row may have one,
    or what of it finds room.
    """
    last = sum(len(text) for text, _ in lines[-1])
    if last + 2 + len(source) <= width:
        lines[-1].append((" " * (width - last - len(source)) + source, "source"))
    elif len(source) <= width - LABEL and len(lines) < most:
        lines.append([(" " * (width - len(source)) + source, "source")])
    else:
        # the section first, then what else the source says: the section is what one looks up
        section, room = source.split(",")[0], width - last - 2
        if len(section) <= room:
            lines[-1].append((" " * (width - last - len(section)) + section, "source"))
        else:
            # a line more, rather than a row that nobody stands behind
            lines += [[(f"{part:>{width}}", "source")] for part in wrap(source, width - LABEL)]
