"""Lines of text for a terminal: labels, wrapping, sections at the right edge. Plain data in, styled
lines out.

A line is a list of (text, style) pieces; styles are names that only `main` knows how to colour.
"""

from __future__ import annotations

import textwrap

Line = list  # of (text, style)
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
    """A labelled row, its source at the right edge where there is room."""
    head = f"{label:<{LABEL}}" if len(label) < LABEL else f"{label}  "
    room = width - len(head)
    body = textwrap.wrap(text, max(room, 24), break_on_hyphens=False) or [""]
    if len(body) > 1 and len(head) > LABEL:  # a long label takes room from its first line only
        first = textwrap.wrap(text, max(room, 24), break_on_hyphens=False)[0]
        rest = text[len(first) :].strip()
        body = [first] + textwrap.wrap(rest, width - LABEL, break_on_hyphens=False)
    if len(body) > most:
        kept = " ".join(body[most - 1 :])
        cut = textwrap.shorten(
            kept,
            max(room if most == 1 else width - LABEL, 24),
            placeholder=" …",
            break_on_hyphens=False,
        )
        body = body[: most - 1] + [cut]
    lines: list[Line] = []
    for i, t in enumerate(body):
        lines.append(
            [(head if i == 0 else " " * LABEL, "label"), (t, "check" if label == "Check" else "")]
        )
    if source:
        last = "".join(t for t, _ in lines[-1])
        if len(last) + 2 + len(source) <= width:
            lines[-1].append((" " * (width - len(last) - len(source)) + source, "source"))
        elif len(source) <= width - LABEL and len(lines) < most:
            lines.append([(" " * (width - len(source)) + source, "source")])
        else:
            short = (
                textwrap.shorten(
                    source.split(",")[0], max(width - len(last) - 2, 0), placeholder=" …"
                )
                if width - len(last) > 8
                else ""
            )
            if short:
                lines[-1].append((" " * (width - len(last) - len(short)) + short, "source"))
            else:  # a narrow terminal: a line more, rather than a row that nobody stands behind
                lines += [[(f"{t:>{width}}", "source")] for t in wrap(source, width - LABEL)]
    return lines
