"""The one screen of a survey: what was sent, in; HTML, out. No file, no clock, no network.

What a page sends is the whole state: the head of the job and every answer, in hidden fields. So a
step back, a reload and a page that is sent to the office work by themselves, and a server keeps
nothing. Every text that came from outside goes through `text`, the one function that escapes.
"""

from __future__ import annotations

import datetime
import html
import json
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import quote

from ...engine.front import AND, SKIPPED, Asked, Hangs, Survey, Wrong
from ..layout import Line
from . import begun as begun_files
from . import pages, texts

if TYPE_CHECKING:
    from ...engine.front import Opened

Fields = Sequence[tuple[str, str]]  # what a form sends, in its order
Saved = Callable[[str, str], str]  # keeps a file under a name; returns where it is now
ANSWER, CARD, CHOICE, ENTRY, DO = "a", "card", "choice", "entry", "do"
WAS = "line"  # that a page shows, which the next compares with
NUMBERS = ", "  # between what is typed to one card
APART = "|"  # between a card and what was said to it; no card is called so
HEAD = ("job", "place", "permit date", "edition")  # of a job, in the order of its file
UNKNOWN = "Don't know"
NEXT = "another"
KEPT, FILE, PRICES, CIRCUIT = "begun", "job file", "prices", "circuit"  # a job begun before
A_NEW_ONE = "a new one"
FIRST = ("note", "walk", "care", "fix")  # pages that stand before what was said
MOST_TITLE = 200  # characters of what a person calls the job


class Shown(NamedTuple):
    """What is shown beside the next card: a heading, and HTML below it; the name of the file that
    it may be taken as, where it is a page of the job.
    """

    heading: str
    body: str
    file: str = ""
    more: str = ""  # what can be asked for from there


def text(said: object) -> str:
    """*said* as text of a page, whatever stands in it."""
    return html.escape(str(said), quote=True)


def answers_in(fields: Fields) -> Iterator[tuple[str, str]]:
    """The answers that a page kept, in the order in which they were given."""
    for name, value in fields:
        if name == ANSWER:
            card, _, said = value.partition(APART)
            yield card, said


def head_in(fields: Fields) -> dict[str, str]:
    """The head of the job that a page kept."""
    sent = dict(fields)
    return {key: sent[key].strip()[:MOST_TITLE] for key in HEAD if sent.get(key, "").strip()}


class Last:
    """The survey that a page showed last, where the page is one person's own and no server's: what
    was run for it need not be run again to take the next answer.
    """

    def __init__(self) -> None:
        self.survey: Survey | None = None

    def again(self, begun: Survey, answers: list[tuple[str, str]]) -> Survey | None:
        """The survey of these *answers*, if it is the one that was shown."""
        was = self.survey
        if was is None or was.k is not begun.k or [*was.answers] != answers:
            return None
        return was if (was.head, was.begun_as) == (begun.head, begun.begun_as) else None


class Around(NamedTuple):
    """What a screen needs beside what was sent.

    *kept* goes into every form as it is (the mark of a server); *saved* keeps the job's file, where
    there is a folder for it; *age* is said of the law; *work* opens a job for its work; *look* goes
    into a page that is taken as a file; an offer holds from *today*; *last* is the survey that was
    shown last, where one is kept.
    """

    work: Callable[[Survey], Opened]
    kept: Fields = ()
    saved: Saved | None = None
    age: str = ""
    look: str = ""
    today: str = ""
    last: Last | None = None


def screen(begun: Survey, fields: Fields, around: Around) -> str:
    """The inside of the page: the line so far, what was asked for, the next card, the answers.

    *begun* is the survey without answers under the law in force.
    """
    try:
        survey = _told(begun, [*answers_in(fields)], around.last)
    except Wrong as wrong:
        return _wrong(f"This page was kept from an older survey: {wrong}.")
    sent, before, wrong_said = dict(fields), survey, ""
    # each number that is typed is sent by itself, and each choice of what may be told at once
    sent[ENTRY] = NUMBERS.join(value for name, value in fields if name == ENTRY and value.strip())
    sent[CHOICE] = AND.join(value for name, value in fields if name == CHOICE)
    do = sent.get(DO, "")
    again = None
    try:
        survey = _stepped(survey, sent, do)
        if do.startswith("again "):
            again = _place(do, len(survey.answers))
    except Wrong as wrong:
        wrong_said = str(wrong)
        again = _number(sent.get("again", ""), len(survey.answers))
    form = _Forms(survey, around)
    parts = [
        headed(survey, around.age),
        form.line(),
        form.moved(before, sent.get(WAS, "")),
        _wrong(f"That was not taken: {wrong_said}.") if wrong_said else "",
        form.shown(do, sent),
        form.card(again, sent if wrong_said else {}),
        form.answers(),
    ]
    if around.last is not None:
        around.last.survey = survey
    return "\n".join(part for part in parts if part)


def _told(begun: Survey, answers: list[tuple[str, str]], last: Last | None) -> Survey:
    """The survey of the answers that a page kept. Raises Wrong where it is of an older survey."""
    known = last.again(begun, answers) if last is not None else None
    return known or begun.with_answers(answers)


def headed(survey: Survey, age: str = "") -> str:
    """What the job is called, and under which law of which day it is."""
    title = text(survey.job.get("job", "Survey"))
    days = ". ".join(said for said in (texts.law_of_day(survey), age) if said)
    return (
        f"<h1>{title} <small>{text(texts.law(survey))}</small></h1>"
        f'<p class="quiet">{text(days)}</p>'
    )


def _stepped(survey: Survey, sent: dict[str, str], do: str) -> Survey:
    """The survey after what the form does to it.

    Raises:
        Wrong: the card does not take what was said.
    """
    if do == "back":
        return survey.taken_back() if survey.answers else survey
    if do == NEXT and survey.kind and survey.card is None:
        return survey.another()
    if do not in ("next", "unknown") or CARD not in sent:
        return survey
    said = SKIPPED if do == "unknown" else f"{sent.get(CHOICE, '')} {sent.get(ENTRY, '')}".strip()
    place = sent.get("again", "")
    if place:
        return survey.said_again(_place(place, len(survey.answers)), said)
    if not survey.takes(sent[CARD]):
        raise Wrong("this card is not the one that is asked")
    if not said:
        raise Wrong("choose an answer, or say that you don't know")
    return survey.answer_to(sent[CARD], said)


def _place(said: str, count: int) -> int:
    """The number at the end of *said*, as a place in the answers. Raises Wrong where it is none."""
    place = _number(said.rpartition(" ")[2], count)
    if place is None:
        raise Wrong("there is no such answer")
    return place


def _number(said: str, count: int) -> int | None:
    """*said* as a number under *count*."""
    return int(said) if re.fullmatch("[0-9]{1,3}", said) and int(said) < count else None


def _wrong(said: str) -> str:
    return f'<p class="wrong" role="alert">{text(said)}</p>'


class _Forms:
    """The forms of one screen: each holds the whole state."""

    def __init__(self, survey: Survey, around: Around) -> None:
        self.survey, self.around = survey, around
        state = [
            *around.kept,
            *([(KEPT, begun)] if (begun := begun_files.kept(survey)) else []),
            *((key, str(survey.head[key])) for key in HEAD if survey.head.get(key)),
            *((ANSWER, f"{answer.card}{APART}{answer.said}") for answer in survey.answers),
            *([(WAS, json.dumps(survey.pieces))] if survey.kind else []),
        ]
        self.state = _hidden(state)

    def form(self, body: str, file: bool = False) -> str:
        """A form around *body*, one of which is a *file*."""
        kind = ' enctype="multipart/form-data"' if file else ""
        return f'<form method="post" action="/step"{kind}>{self.state}{body}</form>'

    def line(self) -> str:
        """The design so far; every word of it says why."""
        words = [
            f'<button class="word" name="{DO}" value="why {text(path)}"'
            f' aria-label="Why {text(says)}?">{text(says)}</button>'
            for says, path in texts.line(self.survey)
        ]
        said = " · ".join(words) or "Nothing yet: the design grows here with the answers."
        return self.form(f'<p class="line" role="status">{said}</p>')

    def moved(self, before: Survey, was: str) -> str:
        """What the last answer moved in the line that the page kept, and what no longer counts."""
        said = [*texts.unused(self.survey)]
        if before.own != self.survey.own and before.kind is self.survey.kind:
            said = [
                *texts.moved_from(_line_kept(was) if was else before.pieces, self.survey),
                *said,
            ]
        return "".join(f"<p>{text(one)}</p>" for one in said)

    def shown(self, do: str, sent: dict[str, str]) -> str:
        """What was asked for: why, why not, a page of the job."""
        what = self._what(do, sent)
        if what is None:
            return ""
        heading = f'<h2 id="shown">{text(what.heading)}</h2>'
        take = self._taken_as_file(what) if what.file else ""
        return f'<section aria-labelledby="shown">{heading}{what.body}{take}</section>{what.more}'

    def _what(self, do: str, sent: dict[str, str]) -> Shown | None:
        what, _, of = do.partition(" ")
        if what == "ask" and of:
            return self._asked_why(of)
        if what in ("why", "whynot") and of:
            return self._why(of, sent.get("other", "").strip() if what == "whynot" else "")
        if do in pages.PAGES:
            return self._page(do, sent.get(PRICES, ""))
        if do == "save" and self.around.saved:
            where = self.around.saved(texts.file_name(self.survey), texts.job(self.survey))
            return Shown("Saved", f"<p>Written to {text(where)}.</p>")
        if do == "file":
            return Shown("The job as a file", f"<pre>{text(texts.job(self.survey))}</pre>")
        return None

    def _asked_why(self, card: str) -> Shown | None:
        asked = self.survey.card
        answered = any(answer.card == card for answer in self.survey.answers)
        if not answered and (asked is None or asked.card != card):
            return None
        return Shown("Why do you ask?", hanging(self.survey.hangs_on(card)))

    def _why(self, fact: str, other: str) -> Shown:
        """Why a word of the line is so, or why another value is not; and the way to ask that."""
        if other:
            heading, lines = texts.why_not(self.survey, fact, other)
        else:
            heading, lines = texts.why(self.survey, fact)
        name = fact.partition(" of ")[0]
        more = self.form(
            f'<p><label>Why not another {text(name)}? <input class="typed" name="other"'
            f' value="{text(other)}" autocomplete="off" required></label></p>'
            f'<button name="{DO}" value="whynot {text(fact)}">Why not?</button>'
        )
        sort = "why-not" if other else "why"
        file = f"{texts.file_name(self.survey).removesuffix('.yaml')}-{sort}.html"
        return Shown(heading, lines_html(lines), file, more)

    def _page(self, name: str, prices: str) -> Shown:
        """A page of the job; where it needs prices, the way to open a file of them."""
        today = self.around.today
        day = datetime.date.fromisoformat(today) if today else None
        desk = pages.Desk(self.around.work, prices, day=day)
        body = lines_html(pages.lines_of(name, self.survey, desk))
        file = f"{texts.file_name(self.survey).removesuffix('.yaml')}-{name}.html"
        if name not in pages.PRICED:
            return Shown(pages.PAGES[name].heading, body, file)
        more = self.form(
            f'<p><label>Your file of prices <input class="typed" type="file" name="{PRICES}"'
            ' accept=".csv,text/csv" required></label></p>'
            f'<button name="{DO}" value="{name}">Open the prices</button>',
            file=True,
        )
        return Shown(pages.PAGES[name].heading, body, file if prices else "", more)

    def _taken_as_file(self, what: Shown) -> str:
        """A link that takes what is shown as one file, to share or to print."""
        whole = as_file(self.survey, what.heading, what.body, self.around.look, self.around.age)
        return _take("text/html", what.file, whole, "Take this as one file, to share or print")

    def card(self, again: int | None, sent: dict[str, str]) -> str:
        """The next card, or the one that is answered again; at the end, that it is the end."""
        asked = self.survey.card
        now = ""
        if again is not None:
            answer = self.survey.answers[again]
            asked, now = self.survey.asked(answer.card), answer.said
        if asked is None:
            more = f'<div class="row">{_button(NEXT, "Another circuit of this job")}</div>'
            return self.form(f"<h2>That is all that has to be asked.</h2>{more}")
        body = (
            f'<input type="hidden" name="{CARD}" value="{text(asked.card)}">'
            + (f'<input type="hidden" name="again" value="{again}">' if again is not None else "")
            + f"<fieldset><legend>{text(asked.ask)}</legend>"
            f'<p class="quiet">Look: {text(asked.look)}</p>{_choices(asked, now)}'
            f"{_entry(asked, now, sent)}</fieldset>"
            f'<button class="go" name="{DO}" value="next">Next</button>'
            f'<p class="quiet">If you don\'t know: {text(asked.unknown)}.</p>'
            f'<div class="row">{_button("unknown", UNKNOWN)}'
            + _button(f"ask {asked.card}", "Why do you ask?")
            + (_button("back", "Take the last back") if self.survey.answers else "")
            + "</div>"
        )
        return self.form(body)

    def answers(self) -> str:
        """What was said, each to be changed; what is assumed; the pages of the job so far."""
        if not self.survey.kind:
            return ""
        unused = set(self.survey.unused)
        said = "".join(
            f'<div class="said"><span>{text(self.survey.asked(answer.card).ask)}'
            f" <strong>{text(answer.said)}</strong>"
            f"{' <small>(no longer used)</small>' if answer in unused else ''}</span>"
            f'<button name="{DO}" value="again {place}"'
            f' aria-label="Change: {text(self.survey.asked(answer.card).ask)}">Change</button>'
            "</div>"
            for place, answer in enumerate(self.survey.answers)
        )
        assumed = "".join(
            f"<li>{text(guess.fact)}: {text(guess.value)} <small>{text(guess.why)}</small></li>"
            for guess in self.survey.assumed
        )
        labels = {name: page.label for name, page in pages.PAGES.items()}
        first = {name: labels.pop(name) for name in FIRST}
        of_file = {"file": "See the file", **({"save": "Save"} if self.around.saved else {})}
        name, file = texts.file_name(self.survey), texts.job(self.survey)
        take = _take("application/yaml", name, file, "Take the file")
        return self.form(
            f"<h2>The job so far</h2>{_row(first)}<h3>Said</h3>{said}"
            + (f"<h3>Assumed, since nobody said</h3><ul>{assumed}</ul>" if assumed else "")
            + f"<h3>The work</h3>{_row(labels)}<h3>The file of the job</h3>{_row(of_file, take)}"
        )


def as_file(survey: Survey, heading: str, body: str, look: str, age: str = "") -> str:
    """What is shown of a job as one file, under the head of the job and its law."""
    head = f"{headed(survey, age)}<h2>{text(heading)}</h2>"
    title = f"{survey.job.get('job', 'Survey')}: {heading}"
    return page(title, head + body, f"<style>{look}</style>")


def _row(labels: dict[str, str], more: str = "") -> str:
    """Buttons side by side: what each asks for, and what it says."""
    buttons = "".join(_button(do, label) for do, label in labels.items())
    return f'<div class="row">{buttons}{more}</div>'


def _line_kept(was: str) -> list[tuple[str, str]]:
    """The line that a page kept, so that the job before is not run again; none where it did not."""
    try:
        return [(str(said), str(fact)) for said, fact in json.loads(was)]
    except (ValueError, TypeError, RecursionError):
        return []


def _button(do: str, label: str) -> str:
    """A button beside the card, which an answer need not be filled in for."""
    return f'<button name="{DO}" value="{text(do)}" formnovalidate>{text(label)}</button>'


def _take(kind: str, name: str, what: str, label: str) -> str:
    """A link that takes *what* as a file, which no network is asked for."""
    address = f"data:{kind};charset=utf-8,{quote(what)}"
    return f'<a class="take" download="{text(name)}" href="{text(address)}">{text(label)}</a>'


def _choices(asked: Asked, now: str) -> str:
    said = now.split(AND) if asked.several else [now.partition(" · ")[0]]
    # one of several radio buttons has to be pressed; of boxes to tick each may stay empty
    kind = 'type="checkbox"' if asked.several else 'type="radio" required'
    return "".join(
        f'<label class="pick"><input {kind} name="{CHOICE}" value="{text(choice)}"'
        f"{' checked' if choice in said else ''}>{text(choice)}</label>"
        for choice in asked.choices
    )


def _entry(asked: Asked, now: str, sent: dict[str, str]) -> str:
    """A field for each number that is typed."""
    apart = " · " in now or not asked.choices
    said = sent.get(ENTRY, "") or (now.rpartition(" · ")[2] if apart and now != SKIPPED else "")
    needed = "" if asked.alone else " required"  # some answers take no number
    values = [*said.split(NUMBERS), *[""] * len(asked.entry)]
    return "".join(
        f'<label>{text(what[:1].upper() + what[1:])} <input class="typed" name="{ENTRY}"'
        f' value="{text(value)}" autocomplete="off"{needed}></label>'
        for what, value in zip(asked.entry, values)
    )


def hanging(hangs: Hangs) -> str:
    """What hangs on a card, in words."""
    if hangs.waiting or not hangs.answers:
        names = ", ".join(hangs.waiting) or "the rest of the design"
        return f"<p>Without it these stay open: {text(names)}.</p>"
    if hangs.same:
        return "<p>So far every answer leads to the same. It is asked for what comes after it.</p>"
    rows = "".join(
        f"<dt>{text(answer)}</dt><dd>{text(' · '.join(line) or 'nothing yet')}"
        + "".join(f"<br>{text(says)}" for says in sentences)
        + "</dd>"
        for answer, line, sentences in hangs.answers
    )
    return f"<dl>{rows}</dl>"


def lines_html(lines: Iterable[Line]) -> str:
    """Lines of an answer as paragraphs: the words of the terminal, not wrapped."""
    out = []
    for line in lines:
        pieces = [(said.strip(), style) for said, style in line if said.strip()]
        if pieces:
            out.append("<p>" + " ".join(_piece(said, style) for said, style in pieces) + "</p>")
    return f'<div class="text">{"".join(out)}</div>'


def _piece(said: str, style: str) -> str:
    return f'<span class="{text(style)}">{text(said)}</span>' if style else text(said)


def page(title: str, body: str, style: str) -> str:
    """A whole page around the screen; *style* is how it comes by its look."""
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<title>{text(title)}</title><link rel="icon" href="data:,">{style}</head>'
        f"<body><main>{body}</main></body></html>"
    )


class Heads(NamedTuple):
    """What the first screen offers: places, editions, today; *age* is said of the law."""

    places: Sequence[str]
    editions: Sequence[str]
    today: str
    age: str = ""


def head_form(heads: Heads, kept: Fields, problem: str = "") -> str:
    """The first screen: what the job is called and whose law it is under, or a job begun before;
    *problem* is what was wrong about what was sent.
    """
    hidden = _hidden(kept)
    where = "".join(f"<option>{text(name)}</option>" for name in ["", *heads.places])
    which = "".join(f"<option>{text(name)}</option>" for name in ["", *heads.editions])
    age = f'<p class="quiet">{text(heads.age)}</p>' if heads.age else ""
    return (
        f"<h1>A survey of a job</h1>{age}{_wrong(problem) if problem else ''}"
        f'<form method="post" action="/step">{hidden}'
        '<p><label>What do you call the job? <input class="typed" name="job" maxlength="200"'
        ' autocomplete="off" required></label></p>'
        f'<p><label>Town <select name="place">{where}</select></label></p>'
        f'<p><label>or the edition of the code <select name="edition">{which}</select></label></p>'
        '<p><label>Date of the permit <input class="typed" type="date" name="permit date"'
        f' value="{text(heads.today)}"></label></p>'
        f'<button class="go" name="{DO}" value="begin">Begin</button></form>'
        f'<h2>Or go on with a job</h2><form method="post" action="/step"'
        f' enctype="multipart/form-data">{hidden}'
        f'<p><label>The file of the job <input class="typed" type="file" name="{FILE}"'
        ' accept=".yaml,.yml" required></label></p>'
        f'<button name="{DO}" value="open">Open the job</button></form>'
    )


def which_circuit(names: Sequence[str], file: str, kept: Fields) -> str:
    """Asks which circuit of the job that stands in *file* is meant, or a new one."""
    buttons = "".join(
        f'<button name="{CIRCUIT}" value="{text(name)}">{text(label)}</button>'
        for name, label in (*((name, name) for name in names), (A_NEW_ONE, "A new circuit"))
    )
    return (
        "<h1>Which circuit do you go on with?</h1>"
        f'<form method="post" action="/step">{_hidden([*kept, (FILE, file)])}'
        f'<div class="row">{buttons}</div></form>'
    )


def _hidden(fields: Fields) -> str:
    return "".join(
        f'<input type="hidden" name="{text(name)}" value="{text(value)}">' for name, value in fields
    )
