"""A sheet as text, Markdown or one HTML file without script or network."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from itertools import count

from ..engine.front import Sheet, SheetRow, drawn
from .layout import Line, plain, wrap
from .look import look

WIDTH = 80
HEAD_LABEL = 12  # columns
FOR = {
    "helper": "FOR THE HELPER",
    "inspector": "FOR THE INSPECTOR",
    "office": "FOR THE OFFICE",
    "customer": "OFFER",
    "handover": "HANDED OVER",
}
DRAFT = "DRAFT: not to be built or signed by."


def show_sheet(sheet: Sheet, width: int = WIDTH) -> list[Line]:
    """A sheet for a terminal, or for a printer of plain text."""
    gap = max(width - len(sheet.title) - len(sheet.law), 2)
    out: list[Line] = [[(sheet.title, "headline"), (" " * gap + sheet.law, "source")]]
    out.append([(FOR[sheet.audience], "label")])
    for what, said in sheet.head:
        lines = wrap(said, width - HEAD_LABEL)
        label = f"{what.capitalize():<{HEAD_LABEL}}"
        out += [
            [(label if not at else " " * HEAD_LABEL, "label"), (line, "")]
            for at, line in enumerate(lines)
        ]
    if sheet.draft:
        out.append([(DRAFT, "fault")])
    for at, said in enumerate(sheet.standing):
        out += [[(line, "head" if not at else "caution")] for line in wrap(said, width)]
    for section in (one for one in sheet.sections if one.rows):
        out += [[], [(section.title.upper(), "label")]]
        for row in section.rows:
            out += _row(row, width)
    out.append([])
    return out + [[(line, "source")] for end in sheet.ends for line in wrap(end, width)]


def _row(row: SheetRow, width: int) -> list[Line]:
    """A row, what stands at its right on its first line where there is room."""
    style = "headline" if row.strong else ""
    room = width - 2 - (len(row.right) + 2 if row.right else 0)
    beside = room >= width // 3
    # the second line of a row stands two columns further in
    lines = wrap(row.text, min(room, width - 4) if beside else width - 4)
    first = f"  {lines[0]}"
    out: list[Line] = [[(first, style)]]
    if row.right and beside:
        out[0].append((" " * (width - len(first) - len(row.right)) + row.right, "source"))
    out += [[(f"    {line}", style)] for line in lines[1:]]
    if row.right and not beside:
        out += [[(f"    {line}", "source")] for line in wrap(row.right, width - 4)]
    for said in row.under:
        out += [[(f"      {line}", "source")] for line in wrap(said, width - 6)]
    return out


def as_text(sheet: Sheet) -> str:
    return plain(show_sheet(sheet)) + "\n"


def as_markdown(sheet: Sheet) -> str:
    """A sheet as Markdown."""
    out = [f"# {_mark(sheet.title)}", "", f"{FOR[sheet.audience]} · {_mark(sheet.law)}", ""]
    out += [f"- {what.capitalize()}: {_mark(said)}" for what, said in sheet.head]
    out += [""] if sheet.head else []
    if sheet.draft:
        out += [f"**{DRAFT}**", ""]
    out += [f"> {_mark(said)}" for said in sheet.standing]
    for section in (one for one in sheet.sections if one.rows):
        out += ["", f"## {_mark(section.title)}", ""]
        for row in section.rows:
            text = f"**{_mark(row.text)}**" if row.strong else _mark(row.text)
            out.append(f"- {text}" + (f" — {_mark(row.right)}" if row.right else ""))
            out += [f"  - {_mark(said)}" for said in row.under]
    return "\n".join([*out, "", *(_mark(end) for end in sheet.ends), ""])


def _mark(text: str) -> str:
    """Text whose signs are none of Markdown's."""
    out = "".join(f"\\{letter}" if letter in "\\`*_[]<>#|&~!" else letter for letter in text)
    # a number and a point at the beginning would be a list of Markdown's own
    head, point, rest = out.partition(". ")
    return f"{head}\\. {rest}" if point and head.isdigit() else out


def as_html(sheet: Sheet) -> str:
    """A sheet as one page: no script, nothing fetched; it prints without cutting a row."""
    title = f"{sheet.title}: {FOR[sheet.audience].lower()}"
    out = [
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(title)}</title><style>{look()}</style></head>",
        f'<body class="sheet"><main><h1>{escape(sheet.title)}</h1>',
        f'<p class="quiet">{FOR[sheet.audience]} · {escape(sheet.law)}</p>',
    ]
    if sheet.head:
        rows = (
            f"<dt>{escape(what.capitalize())}</dt><dd>{escape(said)}</dd>"
            for what, said in sheet.head
        )
        out.append(f'<dl class="head">{"".join(rows)}</dl>')
    if sheet.draft:
        out.append(f'<p class="draft">{DRAFT}</p>')
    out.append('<div class="standing">')
    out += [f"<p>{escape(said)}</p>" for said in sheet.standing]
    out.append("</div>")
    numbers = count(1)
    for section in sheet.sections:
        out.append(f"<section><h2>{escape(section.title)}</h2>")
        if section.rows:
            out += ['<ul class="rows">', *(_item(row) for row in section.rows), "</ul>"]
        out += [f"<figure>{drawn(one, f'p{next(numbers)}')}</figure>" for one in section.pictures]
        out.append("</section>")
    out += [f'<p class="quiet">{escape(end)}</p>' for end in sheet.ends]
    return "\n".join([*out, "</main></body></html>", ""])


def _item(row: SheetRow) -> str:
    """One line, what stands at its right, what stands under it."""
    right = f'<span class="right">{escape(row.right)}</span>' if row.right else ""
    under = "".join(f'<div class="under">{escape(said)}</div>' for said in row.under)
    strong = " strong" if row.strong else ""
    text = f"<span>{escape(row.text)}</span>"
    return f'<li><div class="sides{strong}">{text}{right}</div>{under}</li>'


FORMS: dict[str, Callable[[Sheet], str]] = {
    "text": as_text,
    "markdown": as_markdown,
    "html": as_html,
}
