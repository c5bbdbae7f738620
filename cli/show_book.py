"""The rule book in a form: HTML that stands alone (no scripts, nothing fetched, fit for paper) or
Markdown.
"""

from __future__ import annotations

import html
import posixpath
import re

from ..engine.writing.book import (
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

STYLE = (
    "body{font:11pt/1.45 Georgia,serif;max-width:52em;margin:1.5em auto;padding:0"
    " 1em;color:#111;background:#fff}h1{overflow-wrap:anywhere}a{color:#00457c}"
    "a:focus{outline:2px solid #00457c}nav,footer{font-size:9.5pt}footer{border-top:1px solid"
    " #767676;margin-top:2em;color:#333}.skip{position:absolute;left:-99em}.skip:focus{left:1em}"
    "pre{white-space:pre-wrap;overflow-wrap:anywhere;border-left:3px solid #767676;padding:.2em"
    " .8em;font:10pt/1.5 monospace}table{border-collapse:collapse;margin:1em 0;font-size:10pt}"
    "caption{text-align:left;font-style:italic;padding:.3em 0}th,td{border:1px solid"
    " #767676;padding:.2em .5em;text-align:left;vertical-align:top;overflow-wrap:anywhere}"
    "@media print{nav,.skip{display:none}a{color:inherit;text-decoration:none}"
    "thead{display:table-header-group}tr,li{break-inside:avoid}h2,h3{break-after:avoid}}"
)


def show_book(book: Book, form: str) -> dict[str, str]:
    """Every file of the book, by its path: *form* is html or markdown."""
    at = paths(book)
    one, ending = {"html": (_html, ".html"), "markdown": (_markdown, ".md")}[form]
    return {
        at[p.key] + ending: one(book, p, lambda link, here=p.key: _way(at, here, link, ending))
        for p in book.pages
    }


def _way(at: dict, here: tuple, link: Link, ending: str) -> str:
    """Where a link leads, from the page *here*."""
    path = posixpath.relpath(at[link.page] + ending, posixpath.dirname(at[here]) or ".")
    return path + (f"#{link.anchor}" if link.anchor else "")


# ---- HTML ----------------------------------------------------------------------------------------


def _html(book: Book, page: Page, way) -> str:
    e = html.escape

    def said(parts) -> str:
        return "".join(
            e(p) if isinstance(p, str) else f'<a href="{e(way(p))}">{e(p.text)}</a>' for p in parts
        )

    def cell(tag: str, scope: str, parts) -> str:
        return f"<{tag}{f' scope={chr(34)}{scope}{chr(34)}' if scope else ''}>{said(parts)}</{tag}>"

    title = (
        page.title
        if page.key == INDEX
        else (
            f"{page.title} ({page.key[0]}) - {book.title}"
            if page.key[0]
            else f"{page.title} - {book.title}"
        )
    )
    out = [
        "<!DOCTYPE html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{e(title)}</title>",
        f"<style>{STYLE}</style>",
        "</head>",
        "<body>",
        '<a class="skip" href="#text">To the text</a>',
        (
            f'<nav aria-label="Book">{said([Link(book.title, INDEX)])} |'
            f" {said([Link('By section of the code', SECTIONS)])}</nav>"
        ),
        '<main id="text">',
        f"<h1>{e(page.title)}</h1>",
    ]
    for b in page.blocks:
        if isinstance(b, Heading):
            out.append(
                f"<h{b.level}"
                + (f' id="{e(b.anchor)}"' if b.anchor else "")
                + f">{e(b.text)}</h{b.level}>"
            )
        elif isinstance(b, Words):
            out.append(
                f"<p><strong>{said(b.parts)}</strong></p>"
                if b.strong
                else f"<p>{said(b.parts)}</p>"
            )
        elif isinstance(b, Lines):
            out.append(f"<pre><code>{e(_lines(b))}</code></pre>")
        elif isinstance(b, Items):
            out += ["<ul>", *(f"<li>{said(x)}</li>" for x in b.items), "</ul>"]
        elif isinstance(b, Grid):
            out += [
                "<table>",
                f"<caption>{e(b.caption)}</caption>",
                "<thead><tr>" + "".join(cell("th", "col", [h]) for h in b.header) + "</tr></thead>",
                "<tbody>",
            ]
            out += [
                "<tr>"
                + "".join(
                    cell("th", "row", c) if i < b.lead else cell("td", "", c)
                    for i, c in enumerate(row)
                )
                + "</tr>"
                for row in b.rows
            ]
            out += ["</tbody>", "</table>"]
    return (
        "\n".join(
            [
                *out,
                "</main>",
                f"<footer><p>{e(book.law)}. {e(CAUTION)}</p></footer>",
                "</body>",
                "</html>",
            ]
        )
        + "\n"
    )


def _lines(b: Lines) -> str:
    """Lines under their keys, the keys in a column."""
    wide = max((len(k) for k, _ in b.lines), default=0)
    return "\n".join(f"{k:<{wide}}  {' '.join(t.split())}" for k, t in b.lines)


# ---- Markdown ------------------------------------------------------------------------------------


def _markdown(book: Book, page: Page, way) -> str:
    def said(parts) -> str:
        return "".join(
            _plain(p) if isinstance(p, str) else f"[{_plain(p.text)}]({way(p)})" for p in parts
        )

    out = [f"# {_plain(page.title)}", ""]
    if page.key != INDEX:
        out += [
            (
                f"{said([Link(book.title, INDEX)])} /"
                f" {said([Link('By section of the code', SECTIONS)])}"
            ),
            "",
        ]
    for b in page.blocks:
        if isinstance(b, Heading):
            out += ([f'<a id="{html.escape(b.anchor)}"></a>', ""] if b.anchor else []) + [
                "#" * b.level + f" {_plain(b.text)}",
                "",
            ]
        elif isinstance(b, Words):
            text = _starts_nothing(said(b.parts))
            out += [f"**{text}**" if b.strong else text, ""]
        elif isinstance(b, Lines):
            # indented: no mark inside can end it
            out += ["    " + line for line in _lines(b).split("\n")] + [""]
        elif isinstance(b, Items):
            out += [*("* " + _starts_nothing(said(x)) for x in b.items), ""]
        elif isinstance(b, Grid):
            out += [
                f"*{_plain(b.caption)}*",
                "",
                *(
                    "| " + " | ".join(cells) + " |"
                    for cells in (
                        [_plain(h) for h in b.header],
                        ["---"] * len(b.header),
                        *([said(c) for c in row] for row in b.rows),
                    )
                ),
                "",
            ]
    return "\n".join([*out, "---", "", _plain(f"{book.law}. {CAUTION}")]) + "\n"


def _plain(text: str) -> str:
    """*text* on one line, in which nothing is a mark of Markdown or of HTML."""
    return re.sub(r"([\\`*_\[\]<>|~#$&{}!])", r"\\\1", " ".join(text.split()))


def _starts_nothing(text: str) -> str:
    """*text* where a line begins: no list, no heading, no rule."""
    return re.sub(r"^(\d+)([.)])", r"\1\\\2", re.sub(r"^([-+=])", r"\\\1", text))
