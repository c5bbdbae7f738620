"""A survey at the terminal: plain numbered lines, read well by a screen reader and from a pipe.

Nothing moves the cursor and nothing is drawn over. A person types the number of an answer or its
words, `?` where it is not known, `w` to hear why it is asked, `a` for what is assumed and where it
flips, `s` to see a page of the job so far, `c` to change an earlier answer, `b` to take the last
one back, `n` at the end for another circuit, `q` to stop: what was said until then is written all
the same.
"""

from __future__ import annotations

import datetime
import os
import textwrap
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..engine.front import Fault, Faults, Place
from .layout import Line
from .page import texts

if TYPE_CHECKING:
    from ..engine.front import Asked, Inspection, Survey

Put = Callable[[str], None]
Section = dict[str, list[str]]  # card -> what is said to it, each time that it is put
Sections = list[Section]  # one a circuit
END = (
    "",
    "That is all that has to be asked.",
    "  Enter to end; n for another circuit, a for what is assumed, c to change an answer,",
    "  s for the note, the ways out, the parts and the sheets.",
)
BACK, STOP, WHY, CHANGE, ASSUMED, NEXT, SEE = "b", "q", "w", "c", "a", "n", "s"


def begun(
    edition: str | None,
    date: str | None,
    place: str | None,
    title: str,
    packs: tuple[str, ...] = (),
) -> Survey:
    """A survey without answers, under the law of *place* on *date*, or an *edition*; *packs* are
    named in the job, as a contractor's own.

    Raises:
        Faults: nothing says which law is in force.
    """
    from ..engine.front import Survey, in_force, load, read_cards

    head: dict[str, Any] = {"job": title, "place": place, "permit date": date, "edition": edition}
    head = {key: said for key, said in head.items() if said}
    if packs:
        head["packs"] = list(packs)
    force = in_force(head, "survey", packs, edition, date, place)
    return Survey(read_cards(), load(force.folders, force.edition, force.date), head)


def gone_on(path: str, circuit: str | None) -> Survey:
    """The survey of a job whose file is there, from where it stands.

    Raises:
        Faults: the job is faulty, or nothing says which of its circuits is meant.
    """
    from ..engine.front import opened, read_cards, resumed

    body, _, knowledge = opened(path)
    return resumed(read_cards(), knowledge, body, circuit, path)


def asked_in_person(survey: Survey, read: Callable[[], str], put: Put, width: int) -> Survey:
    """Put each card, and read its answer, until none is left or the person stops."""
    from ..engine.front import Wrong

    if survey.line:
        put("  So far: " + " · ".join(survey.line))
    while True:
        before, card = survey, survey.card
        for line in card_lines(card, width) if card else END:
            put(line)
        try:
            said = read().strip()
            if said == STOP or not card and not said:
                return survey
            survey = _answered_to(survey, said, read, put, width)
        except EOFError:
            put("")
            return survey
        except Wrong as wrong:
            put(f"  {wrong}")
            continue
        if survey is before:
            continue
        for told in (*texts.moved(before, survey), *texts.unused(survey)):
            put(f"  {told}")
        if survey.line:
            put("  So far: " + " · ".join(survey.line))


def _answered_to(
    survey: Survey, said: str, read: Callable[[], str], put: Put, width: int
) -> Survey:
    """The survey after what a person typed at its card, or behind the last.

    Raises:
        Wrong: the card does not take that.
        EOFError: nothing more is read.
    """
    from ..engine.front import Wrong

    card = survey.card
    if said == BACK:
        return survey.taken_back()
    if said.split()[:1] == [SEE]:
        for line in seen(survey, said.split()[1:], width):
            put(line)
        return survey
    if said == CHANGE:
        return _changed(survey, read, put, width)
    if said == ASSUMED or said == WHY and card:
        for line in (
            assumed_lines(survey, width)
            if said == ASSUMED
            else _hanging(survey, card.card if card else "", width)
        ):
            put(line)
        return survey
    if card:
        return survey.answer(said)
    if said == NEXT:
        return survey.another()
    raise Wrong("n, a, s, c, b or q; or nothing, to end")


def seen(survey: Survey, words: list[str], width: int) -> Iterator[str]:
    """A page of the job so far, by the *words* behind `s`: its name, for what needs prices with
    their file; `why` and the place of a word in the line, `whynot` and another value. With the name
    of a file of HTML behind it, it is written there, to share or to print.

    Raises:
        Wrong: there is no such page, or no such word; or the file is there already.
    """
    *asked, file = words or [""]
    if not asked or not file.endswith(".html"):
        shown = _told(*_page_of(survey, words, width)) if words else _pages_there_are(survey, width)
        yield from shown
        return
    heading, lines = _page_of(survey, asked, texts.WIDE)
    _write_page(survey, file, heading, lines)
    yield from _hung("", f"Written to {file}, to share or to print.", width)


def _write_page(survey: Survey, file: str, heading: str, lines: list[Line]) -> None:
    """Write a page of the job as one file. Raises Wrong where it cannot be written."""
    from ..engine.front import Wrong
    from .look import look
    from .page.screen import as_file, lines_html

    whole = as_file(survey, heading, lines_html(lines), look())
    try:
        with Path(file).open("x", encoding="utf-8") as new:
            new.write(whole)
    except FileExistsError:
        raise Wrong(f"{file} is there already; name another file") from None
    except OSError as error:
        raise Wrong(f"{file} cannot be written: {error.strerror}") from None


def _page_of(survey: Survey, words: list[str], width: int) -> texts.Found:
    """The page that the *words* ask for: its heading, and its lines. Raises Wrong."""
    from ..engine.front import Wrong
    from .page import pages

    name, *more = words
    if name in ("why", "whynot"):
        return _word_of_line(survey, name, more, width)
    if name in pages.PAGES and survey.kind:
        prices = _prices_in(" ".join(more)) if more and name in pages.PRICED else ""
        desk = pages.Desk(pages.opened, prices, width, datetime.date.today(), True)
        return pages.PAGES[name].heading, pages.lines_of(name, survey, desk)
    raise Wrong(f"s with one of {', '.join(pages.PAGES)}, why, whynot")


def _pages_there_are(survey: Survey, width: int) -> Iterator[str]:
    """What can be asked for by `s`."""
    from .page import pages

    names = ", ".join(f"s {one}" for one in pages.PAGES)
    priced = ", ".join(pages.PRICED)
    yield from _hung("", f"{names}; {priced} with the file of your prices.", width)
    said = " · ".join(f"{n} {said}" for n, said in enumerate(survey.line, 1))
    if said:
        yield from _hung("", f"s why and a number, s whynot 2 8 AWG: {said}", width)
    said = "With the name of a file behind it, as in s note note.html, it is one to share or print."
    yield from _hung("", said, width)


def _word_of_line(survey: Survey, question: str, more: list[str], width: int) -> texts.Found:
    from ..engine.front import Wrong

    number = more[0] if more else ""
    if not (number.isascii() and number.isdigit()) or not 0 < int(number) <= len(survey.pieces):
        raise Wrong(f"s {question} and the number of a word of the line; s alone shows them")
    fact = survey.pieces[int(number) - 1][1]
    if question == "why":
        return texts.why(survey, fact, width)
    if not more[1:]:
        raise Wrong("s whynot, a number, and the other value, as in s whynot 2 8 AWG")
    return texts.why_not(survey, fact, " ".join(more[1:]), width)


def _prices_in(path: str) -> str:
    """What a file of prices says. Raises Wrong where it cannot be read."""
    from ..engine.front import Wrong, decode, read_bytes

    try:
        return decode(read_bytes(Path(path), path), path)
    except Fault as fault:
        raise Wrong(f"{fault.what}: {fault.todo}") from None


def _told(heading: str, lines: list[Line]) -> Iterator[str]:
    yield heading
    yield from ("".join(said for said, _ in line).rstrip() for line in lines)


def _changed(survey: Survey, read: Callable[[], str], put: Put, width: int) -> Survey:
    """The survey with one of its answers given anew.

    Raises:
        Wrong: there is no such answer, or the card does not take what is said.
        EOFError: nothing more is read.
    """
    from ..engine.front import Wrong

    for number, answer in enumerate(survey.answers, 1):
        for line in _hung(f"{number}  ", f"{survey.asked(answer.card).ask} {answer.said}", width):
            put(line)
    put("  Which one? Its number.")
    said = read().strip()
    if not (said.isascii() and said.isdigit()) or not 0 < int(said) <= len(survey.answers):
        raise Wrong("there is no such answer")
    place = int(said) - 1
    for line in card_lines(survey.asked(survey.answers[place].card), width):
        put(line)
    return survey.said_again(place, read().strip())


def _hanging(survey: Survey, card: str, width: int) -> Iterator[str]:
    """Why a card is asked: what hangs on it."""
    hangs = survey.hangs_on(card)
    if hangs.waiting or not hangs.answers:
        names = ", ".join(hangs.waiting) or "the rest of the design"
        yield from _hung("", f"Without it these stay open: {names}.", width)
    elif hangs.same:
        said = "So far every answer leads to the same. It is asked for what comes after it."
        yield from _hung("", said, width)
    for answer, line, sentences in () if hangs.same else hangs.answers:
        told = "; ".join([" · ".join(line) or "nothing yet", *sentences])
        yield from _hung(f"{answer}: ", told, width)


def answered(survey: Survey, answers: Sections, name: str) -> Survey:
    """The survey as *answers* answer it, a section (card -> what is said to it, each time it is
    put) a circuit; what they do not say is not known. What is said to a card that was not put is
    kept: it is a fact of the job where its kind has such a card, and else unused.

    Raises:
        Faults: a card does not take what is said to it, or there is no such card.
    """
    faults: list[Fault] = []
    for number, section in enumerate(answers):
        survey = _section(survey.another() if number else survey, section, name, faults)
    if faults:
        raise Faults(faults)
    return survey


def _section(survey: Survey, said: Section, name: str, faults: list[Fault]) -> Survey:
    from ..engine.front import KIND, MORE, ROUTE, Wrong

    left = {card: list(texts_) for card, texts_ in said.items()}
    while (card := survey.card) is not None:
        text = left[card.card].pop(0) if left.get(card.card) else ""
        if card.card == MORE and not text:
            # whether there is more of the way to tell is seen
            text = left[ROUTE].pop(0) if left.get(ROUTE) else card.alone[0]
        try:
            survey = survey.answer(text)
        except Wrong as wrong:
            faults.append(_not_taken(card, text, str(wrong), name))
            if card.card != KIND:
                survey = survey.answer("")
        if survey.kind is None:  # it would be asked for ever
            faults = faults or [_not_taken(card, text, "nothing can be asked without it", name)]
            raise Faults(faults)
    for id_, rest in left.items():
        for text in rest:
            try:
                survey = survey.with_answers([(id_, text)])
            except Wrong as wrong:
                known = survey.cards.cards
                if id_ in known:
                    faults.append(_not_taken(survey.asked(id_), text, str(wrong), name))
                    continue
                asked = ", ".join(dict.fromkeys(a.card for a in survey.answers))
                faults.append(Fault("answer", Place(name), f"{wrong}", f"asked were: {asked}"))
    return survey


def _not_taken(card: Asked, text: str, wrong: str, name: str) -> Fault:
    what = f"{card.card}: {card.ask} does not take {text!r}: {wrong}"
    return Fault("answer", Place(name), what, "answers: " + "; ".join(card.choices or card.entry))


def read_answers(path: str) -> Sections:
    """A file of answers: card, and what is said to it (a list where it is put more than once); or
    a list of those, one a circuit.

    Raises:
        Faults: it is no such file.
    """
    from ..engine.front import decode, read_bytes, read_yaml

    try:
        body = read_yaml(decode(read_bytes(Path(path), path), path), path)
    except Fault as fault:
        raise Faults([fault]) from None
    sections = body if isinstance(body, list) else [body]
    if not all(isinstance(section, dict) for section in sections) or not sections:
        raise Faults([Fault("answers", Place(path), "this names no answers", "plate: 48 A")])
    return [
        {
            str(card): [str(one) for one in (said if isinstance(said, list) else [said])]
            for card, said in section.items()
        }
        for section in sections
    ]


def card_lines(card: Asked, width: int) -> Iterator[str]:
    """A card as lines of text."""
    yield ""
    yield from textwrap.wrap(card.ask, width)
    yield from _hung("Look: ", card.look, width)
    for number, choice in enumerate(card.choices, 1):
        yield from _hung(f"{number}  ", choice, width)
    yield from _hung("", _how(card), width)


def _how(card: Asked) -> str:
    """How the card is answered, and what it costs not to."""
    entry = " and ".join(card.entry)
    if card.several:
        type_ = "All that fit, as in 1 3 4."
    elif card.choices and card.entry:
        by_itself = "".join(f"; {card.choices.index(one) + 1} by itself" for one in card.alone)
        type_ = f"A number and the {entry}, as in 2 35{by_itself}."
    elif card.choices:
        type_ = "A number."
    elif card.entry[1:]:
        type_ = f"Type {entry}; ? for one that you don't know."
    else:
        type_ = f"Type {entry}."
    return f"{type_} ? if you don't know: {card.unknown}. w: why do you ask?"


def assumed_lines(survey: Survey, width: int) -> Iterator[str]:
    """What nobody said and is taken for granted: why, and what it would be otherwise."""
    if not survey.kind:
        return
    for flip in survey.flips():
        one = flip.assumed
        other = " · ".join(flip.line) or "nothing moves"
        said = f"{one.fact}: {one.value}, {one.why}. If {one.habit.other}: {other}."
        yield from _hung("", said, width)
    for said in texts.assumed_besides(survey):
        yield from _hung("", said, width)


def _hung(lead: str, text: str, width: int) -> list[str]:
    indent = "  " + " " * len(lead)
    return textwrap.wrap(
        text, width, initial_indent="  " + lead, subsequent_indent=indent, break_on_hyphens=False
    )


def end_lines(survey: Survey, written: str) -> Iterable[str]:
    """What came of a survey before its note: what was said for nothing, where the job stands."""
    yield from texts.unused(survey)
    if not survey.line:
        yield "Nothing can be worked out yet."
    if written:
        yield f"Written to {written}. To go on: whywire why, fix and inspect {written}"


def written(survey: Survey, path: str) -> None:
    """Write the job of a survey into its file: a new one, or the one it went on from, in which what
    is alike stays as it was written.

    Raises:
        FileExistsError: the file is there, and the survey did not go on from it.
    """
    from ..engine.front import job_text, job_updated

    file = Path(path)
    if survey.file is None:
        with file.open("x", encoding="utf-8") as new:
            new.write(job_text(survey.body))
        return
    said = job_updated(file.read_text(encoding="utf-8"), survey.body)
    beside = file.with_name(f".{file.name}.{os.getpid()}")
    beside.write_text(said, encoding="utf-8")
    beside.replace(file)  # all of it or nothing


def inspected(survey: Survey) -> Inspection:
    """The job of a survey, inspected."""
    from ..engine.front import inspect

    return inspect(survey.body)


def as_dict(survey: Survey) -> dict[str, Any]:
    """A survey as plain data: every card in the order in which it was put, and the job."""
    from ..engine.front import ANOTHER, MORE, ROUTE

    cards: list[dict[str, Any]] = []
    beside: list[dict[str, Any]] = []
    at = survey
    for answer in reversed(survey.answers):
        at = at.taken_back()
        put = at.card
        # what says where the way goes on is said to a card of its own
        takes = {put.card, ROUTE} if put and put.card == MORE else {put.card} if put else set()
        was_put = answer.card in takes
        asked = put if put and was_put else survey.asked(answer.card)
        (cards if was_put or answer.card == ANOTHER else beside).append(
            {
                "card": asked.card,
                "ask": asked.ask,
                "choices": list(asked.choices),
                "said": answer.said,
            }
        )
    return {
        "cards": cards[::-1],
        "said beside": beside[::-1],
        "unused": [answer._asdict() for answer in survey.unused] if survey.kind else [],
        "line": survey.line,
        "results": survey.results,
        "assumed": [one.as_dict() for one in survey.assumed],
        "job": survey.body,
    }
