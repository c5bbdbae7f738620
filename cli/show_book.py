"""The rule book in a form: HTML that stands alone (no scripts, nothing fetched, fit for paper) or
Markdown.
"""

from __future__ import annotations

import html
import posixpath
import re
from collections.abc import Callable, Sequence
from typing import TypeAlias

from ..engine.front import (
    CAUTION,
    INDEX,
    SECTIONS,
    Book,
    Grid,
    Heading,
    Items,
    Lines,
    Link,
    Page,
    Words,
    paths,
)
from .look import look

Key: TypeAlias = tuple[str, str]  # of a page: its kind and its name
Parts: TypeAlias = Sequence[str | Link]  # words and links in their order
Block: TypeAlias = Heading | Words | Lines | Items | Grid
Way: TypeAlias = Callable[[Link], str]  # where a link leads, from the page it stands on


def show_book(book: Book, form: str) -> dict[str, str]:
    """Every file of the book, by its path: *form* is html or markdown."""
    at = paths(book)
    one, ending = FORMS[form]
    return {at[page.key] + ending: one(book, page, _ways(at, page, ending)) for page in book.pages}


def _ways(at: dict[Key, str], page: Page, ending: str) -> Way:
    """Where the links of a page lead."""
    folder = posixpath.dirname(at[page.key]) or "."

    def way(link: Link) -> str:
        path = posixpath.relpath(at[link.page] + ending, folder)
        return path + (f"#{link.anchor}" if link.anchor else "")

    return way


def _lines(block: Lines) -> str:
    """Lines under their keys, the keys in a column."""
    wide = max((len(key) for key, _ in block.lines), default=0)
    return "\n".join(f"{key:<{wide}}  {' '.join(text.split())}" for key, text in block.lines)


# ---- HTML ----------------------------------------------------------------------------------------


def _html(book: Book, page: Page, way: Way) -> str:
    """A page as one file: its head, the way back, its blocks, and what it rests on."""
    escape = html.escape
    contents, sections = Link(book.title, INDEX), Link("By section of the code", SECTIONS)
    out = [
        "<!DOCTYPE html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(_title(book, page))}</title>",
        f"<style>{look()}</style>",
        "</head>",
        "<body>",
        '<a class="skip" href="#text">To the text</a>',
        (
            f'<nav aria-label="Book">{_html_said([contents], way)} |'
            f" {_html_said([sections], way)}</nav>"
        ),
        '<main id="text">',
        f"<h1>{escape(page.title)}</h1>",
    ]
    for block in page.blocks:
        out += _html_block(block, way)
    out += [
        "</main>",
        f"<footer><p>{escape(book.law)}. {escape(CAUTION)}</p></footer>",
        "</body>",
        "</html>",
    ]
    return "\n".join(out) + "\n"


def _title(book: Book, page: Page) -> str:
    """What a window that shows the page is called."""
    if page.key == INDEX:
        return page.title
    kind = f" ({page.key[0]})" if page.key[0] else ""
    return f"{page.title}{kind} - {book.title}"


def _html_block(block: Block, way: Way) -> list[str]:
    """The lines of one block."""
    if isinstance(block, Heading):
        anchor = f' id="{html.escape(block.anchor)}"' if block.anchor else ""
        return [f"<h{block.level}{anchor}>{html.escape(block.text)}</h{block.level}>"]
    if isinstance(block, Words):
        text = _html_said(block.parts, way)
        return [f"<p><strong>{text}</strong></p>" if block.strong else f"<p>{text}</p>"]
    if isinstance(block, Lines):
        return [f"<pre><code>{html.escape(_lines(block))}</code></pre>"]
    if isinstance(block, Items):
        items = [f"<li>{_html_said(item, way)}</li>" for item in block.items]
        return ["<ul>", *items, "</ul>"]
    return _html_table(block, way)


def _html_table(grid: Grid, way: Way) -> list[str]:
    """A table whose header and leading columns say what they head: it is read aloud, too."""

    def heads(scope: str, parts: Parts) -> str:
        return f'<th scope="{scope}">{_html_said(parts, way)}</th>'

    def row(cells: Sequence[Parts]) -> str:
        lead = [heads("row", cell) for cell in cells[: grid.lead]]
        return "".join([*lead, *(f"<td>{_html_said(c, way)}</td>" for c in cells[grid.lead :])])

    return [
        # a table that is wider than a phone is moved by itself, with the keys too
        f'<div class="wide" role="region" tabindex="0" aria-label="{html.escape(grid.caption)}">',
        "<table>",
        f"<caption>{html.escape(grid.caption)}</caption>",
        "<thead><tr>" + "".join(heads("col", [text]) for text in grid.header) + "</tr></thead>",
        "<tbody>",
        *(f"<tr>{row(cells)}</tr>" for cells in grid.rows),
        "</tbody>",
        "</table></div>",
    ]


def _html_said(parts: Parts, way: Way) -> str:
    """Words and links in a line."""
    escape = html.escape
    return "".join(
        escape(part)
        if isinstance(part, str)
        else f'<a href="{escape(way(part))}">{escape(part.text)}</a>'
        for part in parts
    )


# ---- Markdown ------------------------------------------------------------------------------------


def _markdown(book: Book, page: Page, way: Way) -> str:
    """A page as one file: its title, the way back, its blocks, and what it rests on."""
    out = [f"# {_plain(page.title)}", ""]
    if page.key != INDEX:
        contents, sections = Link(book.title, INDEX), Link("By section of the code", SECTIONS)
        back = f"{_markdown_said([contents], way)} / {_markdown_said([sections], way)}"
        out += [back, ""]
    for block in page.blocks:
        out += [*_markdown_block(block, way), ""]
    return "\n".join([*out, "---", "", _plain(f"{book.law}. {CAUTION}")]) + "\n"


def _markdown_block(block: Block, way: Way) -> list[str]:
    """The lines of one block."""
    if isinstance(block, Heading):
        anchor = [f'<a id="{html.escape(block.anchor)}"></a>', ""] if block.anchor else []
        return [*anchor, "#" * block.level + f" {_plain(block.text)}"]
    if isinstance(block, Words):
        text = _starts_nothing(_markdown_said(block.parts, way))
        return [f"**{text}**" if block.strong else text]
    if isinstance(block, Lines):
        # indented: no mark inside can end it
        return ["    " + line for line in _lines(block).split("\n")]
    if isinstance(block, Items):
        return ["* " + _starts_nothing(_markdown_said(item, way)) for item in block.items]
    rows = [
        [_plain(text) for text in block.header],
        ["---"] * len(block.header),
        *([_markdown_said(cell, way) for cell in cells] for cells in block.rows),
    ]
    table = ["| " + " | ".join(cells) + " |" for cells in rows]
    return [f"*{_plain(block.caption)}*", "", *table]


def _markdown_said(parts: Parts, way: Way) -> str:
    """Words and links in a line."""
    return "".join(
        _plain(part) if isinstance(part, str) else f"[{_plain(part.text)}]({way(part)})"
        for part in parts
    )


def _plain(text: str) -> str:
    """*text* on one line, in which nothing is a mark of Markdown or of HTML."""
    return re.sub(r"([\\`*_\[\]<>|~#$&{}!])", r"\\\1", " ".join(text.split()))


def _starts_nothing(text: str) -> str:
    """*text* where a line begins: no list, no heading, no rule."""
    return re.sub(r"^(\d+)([.)])", r"\1\\\2", re.sub(r"^([-+=])", r"\\\1", text))


# the forms a book comes in: what makes a page of it, and how the page's file ends
FORMS: dict[str, tuple[Callable[[Book, Page, Way], str], str]] = {
    "html": (_html, ".html"),
    "markdown": (_markdown, ".md"),
}
