"""What the front returns, as a notebook shows it: a heading and rows, every text of them escaped.

A job, a pack or a title may hold markup, or signs that turn a line around: they are shown as what
they are, and nothing in a cell of a notebook runs or loads anything.
"""

from __future__ import annotations

from collections.abc import Iterable

MOST_ROWS = 60  # a notebook is read; who wants all of it takes the plain data
NOT_SHOWN = "\N{REPLACEMENT CHARACTER}"  # for a sign that nobody sees, and that may do something


def escaped(text: object) -> str:
    """*text* as a page shows it, letter by letter.

    >>> escaped("<b>48 A</b> & more")
    '&lt;b&gt;48 A&lt;/b&gt; &amp; more'
    """
    import html  # an answer in a terminal needs none of it

    seen = "".join(sign if sign.isprintable() else NOT_SHOWN for sign in str(text))
    return html.escape(seen)


def shown(heading: str, rows: Iterable[Iterable[object]], foot: str = "") -> str:
    """A heading, a table of *rows* and a line below, as HTML; of many rows the rest is counted.

    >>> shown("NO.", [("Because", "32 A < 48 A")])
    '<p><b>NO.</b></p><table><tr><td>Because</td><td>32 A &lt; 48 A</td></tr></table>'
    """
    # escaped here and nowhere else: a caller that forgot would let a job's title run
    every = [[escaped(cell) for cell in row] for row in rows]
    lines = ["<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>" for row in every]
    more = len(lines) - MOST_ROWS
    if more > 0:
        lines = [*lines[:MOST_ROWS], f"<tr><td>and {more} more</td></tr>"]
    table = f"<table>{''.join(lines)}</table>" if lines else ""
    below = f"<p>{escaped(foot)}</p>" if foot else ""
    return f"<p><b>{escaped(heading)}</b></p>{table}{below}"
