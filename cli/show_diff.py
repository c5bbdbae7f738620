"""Two versions of a pack as a council reads them, as text and as one page; and a pack held against
what was published.
"""

from __future__ import annotations

import html
from typing import TYPE_CHECKING, NamedTuple

from .layout import Line, wrap

if TYPE_CHECKING:
    from ..engine.front import Against, PackDiff, Turn

_KINDS = {
    "new": "New",
    "gone": "Gone",
    "changed": "Changed",
    "other days": "Other days",
    "cited otherwise": "Cited otherwise",
}
NAMED = 3  # so many of the jobs that could not be compared are named
SHOWN = 40  # findings that are listed one by one


class Piece(NamedTuple):
    """A line of the whole, with its style: both forms are made of these."""

    style: str  # headline | head | label | text
    label: str
    text: str


def _pieces(got: PackDiff) -> list[Piece]:
    """What is to be said, in its order."""
    out = [
        Piece("headline", "", f"{got.title}: what becomes otherwise"),
        Piece(
            "text",
            "",
            f"{got.authority}. Edition {got.edition}; looked at for a permit of {got.day};"
            f" {got.versions[0]} becomes {got.versions[1]}.",
        ),
    ]
    if got.same:
        return [*out, Piece("text", "", "Nothing: both versions are one law.")]
    for key, old, new in got.head:
        out.append(Piece("head", "", f"The head: {key}"))
        out += [Piece("label", "Before", old or "-"), Piece("label", "After", new or "-")]
    for turn in got.turns:
        out += _turn(turn)
    return out + _turned(got)


def _turn(turn: Turn) -> list[Piece]:
    edit = turn.edit
    out = [Piece("head", "", f"{_KINDS[turn.kind]}: {edit.verb} {edit.target}")]
    if turn.kind == "other days":
        out += [
            Piece("label", "Says", turn.after),
            Piece("label", "Before", f"for permits {turn.old.window() or 'of every day'}")
            if turn.old
            else Piece("label", "Before", "-"),
            Piece("label", "After", f"for permits {edit.window() or 'of every day'}"),
        ]
    elif turn.kind == "cited otherwise":
        old = turn.old.cite if turn.old else ""
        out += [
            Piece("label", "Says", turn.after),
            Piece("label", "Before", old),
            Piece("label", "After", edit.cite),
        ]
    else:
        out += [
            Piece("label", "Before", turn.before or "Nothing was said of it."),
            Piece("label", "After", turn.after or "Nothing is said of it any more."),
            Piece("label", "Days", f"for permits {edit.window() or 'of every day'}"),
        ]
    out.append(Piece("label", "Concerns", turn.concerns))
    out.append(Piece("label", "By", f"{edit.cite}. {edit.d.get('reason', '')}"))
    return out


def _turned(got: PackDiff) -> list[Piece]:
    """The findings of jobs that turn."""
    jobs = len({d.job for d in got.differences})
    many = len(got.differences)
    turn = "finding turns" if many == 1 else "findings turn"
    head = f"{many} {turn}, in {jobs} of {got.jobs} jobs"
    out = [Piece("head", "", f"Jobs looked at with both versions: {head}")]
    for d in got.differences[:SHOWN]:
        numbers = f" ({d.a.have} against {d.a.needed}; {d.b.have} against {d.b.needed})"
        has_numbers = d.a.needed and d.b.needed
        said = f"{d.a.answer} -> {d.b.answer}{numbers if has_numbers else ''}"
        sentence = (d.says or d.name).rstrip(".")
        out.append(Piece("label", d.job, f"{d.of}: {sentence}: {said}"))
    if got.keep:
        said = f"{got.keep} more are held against another number, and their answer stays."
        out.append(Piece("text", "", said))
    if len(got.differences) > SHOWN:
        more = len(got.differences) - SHOWN
        out.append(Piece("text", "", f"and {more} more: --json lists them"))
    # a fault of the new version is the same for every job, and is told once
    reasons: dict[str, list[str]] = {}
    for job, why in got.unread.items():
        reasons.setdefault(why, []).append(job)
    for why, names in reasons.items():
        rest = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
        label = f"{', '.join(names[:NAMED])}{rest}"
        out.append(Piece("label", label, f"could not be compared: {why}"))
    return out


def show_diff(got: PackDiff, width: int) -> list[Line]:
    """The same as lines of a screen."""
    out: list[Line] = []
    for piece in _pieces(got):
        if piece.style == "head":
            out.append([])
        label = f"{piece.label}: " if piece.label else ""
        indent = "  " if piece.style == "label" else ""
        style = {"label": "", "text": "source"}.get(piece.style, piece.style)
        lines = wrap(label + piece.text, width - 4)
        out += [[(indent + ("  " if n else "") + line, style)] for n, line in enumerate(lines)]
    return out


def diff_page(got: PackDiff) -> str:
    """The same as one page that stands alone: no script, nothing fetched, fit for paper."""
    from .look import look

    title = html.escape(f"{got.title}: what becomes otherwise")
    out = [
        "<!DOCTYPE html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{title}</title>",
        f"<style>{look()}</style>",
        "</head>",
        "<body>",
        "<main>",
    ]
    in_list = False
    for piece in _pieces(got):
        if in_list and piece.style != "label":
            out.append("</ul>")
            in_list = False
        text = html.escape(piece.text)
        if piece.style == "headline":
            out.append(f"<h1>{text}</h1>")
        elif piece.style == "head":
            out.append(f"<h2>{text}</h2>")
        elif piece.style == "label":
            if not in_list:
                out.append("<ul>")
                in_list = True
            out.append(f"<li><strong>{html.escape(piece.label)}</strong>: {text}</li>")
        else:
            out.append(f"<p>{text}</p>")
    if in_list:
        out.append("</ul>")
    return "\n".join([*out, "</main>", "</body>", "</html>"]) + "\n"


# ---- against what was published ------------------------------------------------------------------


def show_against(got: Against, width: int) -> list[Line]:
    """Whether a pack is what was published, and where not."""
    one = got.published
    said = f"{one.name}, version {one.version}, digest {one.digest}"
    if got.is_same:
        return [[(f"The same as published: {said}", "headline")]]
    out: list[Line] = [[(f"Not the same as published: {said}", "headline")]]
    for label, names in (
        ("Changed", got.changed),
        ("Not there", got.missing),
        ("Not published", got.more),
    ):
        out += [[(line, "")] for line in wrap(f"{label}: {', '.join(names)}", width) if names]
    return out


def against_as_dict(got: Against) -> dict:
    """The same as plain data."""
    return {
        "pack": got.published.name,
        "version": got.published.version,
        "digest": got.published.digest,
        "the same": got.is_same,
        "changed": got.changed,
        "missing": got.missing,
        "more": got.more,
    }
