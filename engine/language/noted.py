"""What a word says to those who write a note: what whoever builds it puts in, in which other words
it is asked, and what it is taken for; read, and seen to name what there is.

    GFCI protection: {is: yes or no, ask: ..., built: [{as: "yes", where: work is new circuit}]}
    current: {is: A, ask: ..., asked: [{where: role of circuit is feeder, ask: ...}]}
    ambient: {is: °C, ask: ..., guess: ambient from usual-heat by place}
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.reading import Piece, place_of
from ..basics.units import parse_quantity
from .tables import Table

if TYPE_CHECKING:
    from .words import Word, Words

# (path, root first; whether it is so or is not; value): what, where it is told, says something
Test: TypeAlias = tuple[tuple[str, ...], bool, str]


class BuiltAs(NamedTuple):
    """What is put in where it is built anew, and where that is so: a value, or facts of a part."""

    value: str | dict[str, str]
    where: tuple[Test, ...]
    at: Place


class AskedAs(NamedTuple):
    """Other words for a question, where they are the right ones."""

    ask: str
    look: str
    where: tuple[Test, ...]
    at: Place


class GuessFrom(NamedTuple):
    """A guess that is looked up: which column of which table, by which fact of what."""

    column: str
    table: str
    key: str
    link: str


def tests_of(line: str) -> tuple[Test, ...]:
    """The tests that a line joins by `and`; none where one of them is no test.

    >>> tests_of("place of job is home and kind is not kiln")
    ((('job', 'place'), True, 'home'), (('kind',), False, 'kiln'))
    >>> tests_of("connection of load is 'cord and plug'")
    ((('load', 'connection'), True, 'cord and plug'),)
    """
    # what stands in quotes may hold an `and` of its own
    pieces = [piece.strip() for piece in re.split(r" and (?=(?:[^']*'[^']*')*[^']*$)", line)]
    tests = [re.fullmatch(r"(.+?) is (not )?(.+)", piece) for piece in pieces]
    found = [test for test in tests if test is not None]
    if len(found) < len(tests):
        return ()
    return tuple(
        (tuple(reversed(test[1].split(" of "))), not test[2], test[3].replace("'", ""))
        for test in found
    )


def guess_from(guess: str) -> GuessFrom | None:
    """What a guess is looked up by; None of one that is the value itself.

    >>> guess_from("ambient from usual-heat by place of segment").link
    'segment'
    """
    found = re.fullmatch(r"(.+) from (\S+) by (.+?)(?: of (.+))?", guess)
    return None if found is None else GuessFrom(*(text or "" for text in found.groups()))


# ---- reading -------------------------------------------------------------------------------------


def read_built(spec: Piece) -> tuple[BuiltAs, ...]:
    """What `built:` says.

    Raises:
        Fault: it is not a list of what is built and where.
    """
    todo = "write built: [{as: value, where: FACT of LINK is VALUE}]"
    out = []
    for one in _listed(spec, "built", ("as", "where"), todo):
        value = one.get("as")
        if not isinstance(value, (str, dict)):
            raise Fault(
                "words-note", place_of(one, place_of(spec)), '"built" does not say what', todo
            )
        said: Any = {str(k): str(v) for k, v in value.items()} if isinstance(value, dict) else value
        out.append(BuiltAs(said, _where(one, todo), place_of(one, place_of(spec))))
    return tuple(out)


def read_asked(spec: Piece) -> tuple[AskedAs, ...]:
    """What `asked:` says.

    Raises:
        Fault: it is not a list of questions and where they are asked so.
    """
    todo = "write asked: [{where: FACT of LINK is VALUE, ask: question, look: where}]"
    out = []
    for one in _listed(spec, "asked", ("where", "ask", "look"), todo):
        if not one.get("ask") or not one.get("where"):
            raise Fault(
                "words-note", place_of(one, place_of(spec)), '"asked" does not say what', todo
            )
        where, at = _where(one, todo), place_of(one, place_of(spec))
        out.append(AskedAs(str(one["ask"]), str(one.get("look", "")), where, at))
    return tuple(out)


def read_where(said: Piece) -> tuple[Test, ...]:
    """What `guess where:` says. Raises Fault: it is no test."""
    tests = tests_of(str(said))
    if not tests:
        todo = "write guess where: FACT of LINK is VALUE, or several joined by and"
        raise Fault("words-note", place_of(said), f'"{said}" does not say where', todo)
    return tests


def _listed(spec: Piece, key: str, keys: tuple[str, ...], todo: str) -> list[dict[str, Piece]]:
    if not isinstance(spec, list) or not all(isinstance(one, dict) for one in spec):
        raise Fault("words-note", place_of(spec), f'"{key}" is no list', todo)
    for one in spec:
        for name in one:
            if name not in keys:
                what = f'"{key}" takes no "{name}"'
                raise Fault("words-note", place_of(name), what, suggest(str(name), keys))
    return list(spec)


def _where(one: dict[str, Piece], todo: str) -> tuple[Test, ...]:
    said = one.get("where")
    tests = tests_of(str(said)) if said is not None else ()
    if said is not None and not tests:
        raise Fault("words-note", place_of(said), f'"{said}" does not say where', todo)
    return tests


# ---- seeing that all of it is there --------------------------------------------------------------


def see_notes(words: Words, tables: dict[str, Table], faults: Collector) -> None:
    """See that what words say to a note names tables, columns, facts and values that there are."""
    for kind in words.kinds.values():
        for word in kind.words.values():
            with faults.catching():
                _see_guess(word, words, tables)
            for built in word.built:
                with faults.catching():
                    _see_tests(words, kind.name, built.where, built.at)
                    _see_built(word, built, words)
            for name in (*word.asked_with, *word.measured_by):
                with faults.catching():
                    _see_tests(words, kind.name, (((name,), True, ""),), word.at)
            for asked in word.asked:
                with faults.catching():
                    _see_tests(words, kind.name, asked.where, asked.at)
            if word.guess_where:
                with faults.catching():
                    _see_tests(words, kind.name, word.guess_where, word.guess_at or word.at)


def _see_guess(word: Word, words: Words, tables: dict[str, Table]) -> None:
    """See that a guess is a value of its word, or is looked up where it can be.

    Raises:
        Fault: it is none.
    """
    if not word.guess:
        return
    at, source = word.guess_at or word.at, guess_from(word.guess)
    if source is None:
        if word.guess != "none" or word.type[0] not in ("ref", "row"):
            _see_value(word, word.guess, at)
        return
    table = tables.get(source.table)
    said = f'the guess of "{word.name}" is looked up in "{source.table}"'
    if table is None:
        raise Fault(
            "words-note", at, f"{said}, and there is no such table", suggest(source.table, tables)
        )
    if source.column not in table.values:
        what = f'{said}, which has no column "{source.column}"'
        raise Fault("words-note", at, what, suggest(source.column, table.values))
    kind = word.kind
    if source.link:
        kind = _link(words, kind, source.link, at)
    if source.key not in words.kinds[kind].words:
        what = f'{said} by "{source.key}", and there is no such fact of {kind}'
        raise Fault("words-note", at, what, suggest(source.key, words.kinds[kind].words))
    if list(table.keys) != [source.key]:
        what = f'{said} by "{source.key}", and its key is {" and ".join(table.keys)}'
        raise Fault("words-note", at, what, "name the table's own key")


def _see_built(word: Word, built: BuiltAs, words: Words) -> None:
    """See that what is built is a value of the word, or facts of the part. Raises Fault."""
    if not isinstance(built.value, dict):
        _see_value(word, built.value, built.at)
        return
    if word.part != "optional":
        todo = "write as: value"
        raise Fault("words-note", built.at, f'"{word.name}" is no part that is put in', todo)
    facts = words.kinds[word.type[1]].words
    for name, text in built.value.items():
        if name not in facts:
            what = f'{word.type[1]} has no "{name}"'
            raise Fault("words-note", built.at, what, suggest(name, facts))
        _see_value(facts[name], text, built.at)


def _see_value(word: Word, text: str, at: Place) -> None:
    """See that a text may be the value of a word. Raises Fault."""
    if word.unit:
        parse_quantity(text, word.unit, at)
        return
    known: tuple[str, ...] = ()
    if word.type[0] == "flag":
        known = ("yes", "no")
    elif word.type[0] == "choice":
        known = tuple(word.type[1])
    if known and text not in known:
        raise Fault("words-note", at, f'"{text}" is no {word.name}', suggest(text, known))


def _see_tests(words: Words, kind: str, tests: tuple[Test, ...], at: Place) -> None:
    """See that each path of some tests leads over links to a fact. Raises Fault."""
    for path, _, _ in tests:
        here = kind
        for name in path[:-1]:
            here = _link(words, here, name, at)
        if path[-1] not in words.kinds[here].words:
            what = f'{here} has no "{path[-1]}"'
            raise Fault("words-note", at, what, suggest(path[-1], words.kinds[here].words))


def _link(words: Words, kind: str, name: str, at: Place) -> str:
    """The kind of thing that a link leads to. Raises Fault: it is none."""
    word = words.kinds[kind].words.get(name)
    leads = ("ref", "many")
    if word is None or word.type[0] not in leads:
        links = [one.name for one in words.kinds[kind].words.values() if one.type[0] in leads]
        raise Fault("words-note", at, f'nothing is "of {name}" of {kind}', suggest(name, links))
    return str(word.type[1])
