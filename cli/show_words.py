"""Words of the vocabulary to read: how to say it in a job, what it means, which rules read it."""

from __future__ import annotations

import textwrap
from typing import Any

from ..engine.front import Found, Lexicon
from .layout import Line

LABEL = 10
MOST_ALSO, MOST_MEANS, MOST_RULES = 8, 12, 6
OVERVIEW_LINES = 48  # two screens
NO_BREAK = "\N{NO-BREAK SPACE}"


def show_words(
    lexicon: Lexicon, found: list[Found], rules: list[tuple[str, str, str]], width: int = 80
) -> list[Line]:
    """The likeliest word whole, the next ones a line each, then rules and tables."""
    out: list[Line] = []
    if found:
        out += _whole(lexicon, found[0], width)
    if found[1:]:
        out += [[], [("or did you mean", "head")]]
        for other in found[1:]:
            text = f"{other.name}: {other.word.ask or lexicon.values(other.word)}"
            out += _item(text, width)
    if rules:
        out += [[], [("rules and tables (whywire rules NAME)", "head")]]
        for sort, name, says in rules:
            out += _item(f"{name} ({sort}): {says}", width)
    return out


def _whole(lexicon: Lexicon, one: Found, width: int) -> list[Line]:
    kind, word = one.kind, one.word
    out: list[Line] = [[(one.name, "headline")]]
    if word.ask:
        out += _labelled("asks", word.ask, width)
    if word.look:
        out += _labelled("look", word.look, width)
    if word.careful:
        out += _labelled("careful", word.careful, width)
    if word.ask or word.part:
        out += _labelled("in a job", lexicon.example(kind, word), width)
        if word.name in kind.said_alone:
            part = next((p for p, _ in reversed(lexicon.way_to(kind.name))), kind.name)
            out += _labelled("", f"or shorter: {part}: {lexicon.value_of(word)}", width)
    else:
        out += _labelled("in a job", "seldom told: the rules work it out", width)
    out += _labelled("may be", lexicon.values(word), width)
    if word.may_be:
        out += _labelled("", f"{word.may_be}, where somebody looked and there is none", width)
    also = lexicon.also(kind, word)
    if also:
        out += _labelled("called", ", ".join(also[:MOST_ALSO]), width)
    means = [f"{said} = {choice}" for said, choice in lexicon.meanings(word) if said != choice]
    if means:
        more = f" and {len(means) - MOST_MEANS} more" if len(means) > MOST_MEANS else ""
        out += _labelled("said as", "; ".join(means[:MOST_MEANS]) + more, width)
    readers = lexicon.readers(kind, word)
    if readers:
        more = f" and {len(readers) - MOST_RULES} more" if len(readers) > MOST_RULES else ""
        out += _labelled("read by", ", ".join(readers[:MOST_RULES]) + more, width)
    return out


def _labelled(label: str, text: str, width: int) -> list[Line]:
    body = textwrap.wrap(text, width - LABEL, break_on_hyphens=False) or [""]
    return [[(f"{'' if i else label:<{LABEL}}", "label"), (t, "")] for i, t in enumerate(body)]


def _item(text: str, width: int) -> list[Line]:
    lines = textwrap.wrap(text, width - 2, break_on_hyphens=False)
    return [[(("  " if i else "- ") + line, "")] for i, line in enumerate(lines)]


def show_overview(lexicon: Lexicon, width: int = 80) -> list[Line]:
    """The kinds of things that a job tells and their main words, on two screens at most: what does
    not fit there, told of few jobs, is named without its words.
    """
    head = "What you can say in a job, thing by thing. whywire words WORD says how."
    out: list[Line] = [[(line, "headline")] for line in textwrap.wrap(head, width)]
    named = [
        (kind.name, _main_words(kind.name, words, width)) for kind, words in lexicon.overview()
    ]
    room = OVERVIEW_LINES - len(out)
    rest: list[str] = []
    last = _also_named(rest, width)
    while sum(len(lines) for _, lines in named) + len(last) > room:
        rest.insert(0, named.pop()[0])
        last = _also_named(rest, width)
    return [*out, *(line for _, lines in named for line in lines), *last]


def _main_words(kind: str, names: list[str], width: int) -> list[Line]:
    """A kind with the first of its words: two lines of a thing that most jobs have, one of any
    other.
    """
    label = f"{kind}: "
    room = 2 * width - len(label) - 12
    said: list[str] = []
    for name in names:
        if len(", ".join([*said, name])) > room:
            break
        said.append(name)
    more = f", {len(names) - len(said)} more" if len(names) > len(said) else ""
    text = label + ", ".join(said) + more
    lines = textwrap.wrap(text, width, subsequent_indent="  ", break_on_hyphens=False)
    if len(names) < 10 and len(lines) > 1:
        lines = [textwrap.shorten(text, width, placeholder=" ...")]
    first: Line = [(lines[0][: len(label)], "label"), (lines[0][len(label) :], "")]
    return [first, *([(line, "")] for line in lines[1:2])]


def _also_named(kinds: list[str], width: int) -> list[Line]:
    """Kinds by their names alone."""
    # a name of two words is not parted between two lines
    said = ", ".join(kind.replace(" ", NO_BREAK) for kind in kinds)
    lines = textwrap.wrap(f"and of: {said}", width, break_on_hyphens=False) if kinds else []
    return [[(line.replace(NO_BREAK, " "), "")] for line in lines]


def words_as_dict(
    lexicon: Lexicon, found: list[Found], rules: list[tuple[str, str, str]]
) -> dict[str, Any]:
    """What was found as plain data."""
    return {
        "edition": lexicon.k.edition,
        "found": [
            {
                "of": one.kind.name,
                "is": one.word.name,
                "ask": one.word.ask,
                "look": one.word.look,
                "in a job": lexicon.example(one.kind, one.word),
                "may be": lexicon.values(one.word),
                "unit": one.word.unit or "",
                "called": lexicon.also(one.kind, one.word),
                "said as": dict(lexicon.meanings(one.word)),
                "read by": lexicon.readers(one.kind, one.word),
            }
            for one in found
        ],
        "rules": [{"kind": sort, "name": name, "says": says} for sort, name, says in rules],
    }
