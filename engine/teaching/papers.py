"""A quiz on paper: Markdown and printable HTML, a paper and its answer sheet."""

from __future__ import annotations

import html
import random
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from ..answering.verdicts import text_of
from ..drawing.pictures import drawn
from .fairness import assumed_in
from .instances import Maker
from .kinds.registry import kind_asked
from .questions import Instance
from .quiz import (
    CAUTION,
    Quiz,
    asks_for_an_order,
    explained,
    key_places,
    letter,
    picks_several,
    right,
)
from .stems import stems

if TYPE_CHECKING:
    from ..answering.answers import Row

TAKEN = "Where a question does not say otherwise:"
# what `why` may be asked of: where a question says several of these, it is asked of the first
ASKED_WHY = ("asks", "judges", "mends", "missing")
MOST_LINES = 6
# how who marks a paper gives the points that a program gives
SHARED = (
    "A question is worth a point. Where all that apply are picked, the right letters share it, and"
    " the wrong ones share what is taken off, down to nought; an order is right as a whole."
)
ORDER = "Number them in the order in which each rests on the one before."


def law_line(quiz: Quiz) -> str:
    """What was in force, as every paper prints it."""
    law = quiz.law
    over = "; over it " + ", then ".join(law["packs"]) if law.get("packs") else ""
    place = f", {law['place']}" if law.get("place") else ""
    date = f", permit of {law['date']}" if law.get("date") else ""
    return (
        f"In force: NEC {law['edition']}{over}{place}{date}; digest {law['digest']}."
        f" Quiz {quiz.digest}, seed {quiz.seed}."
    )


def taken(maker: Maker, quiz: Quiz) -> list[str]:
    """What is taken for granted behind these questions where nobody tells it, in words for who
    answers them.
    """
    said = stems()["taken"]
    assumed = (rule for question in quiz.questions for rule in assumed_in(maker, question))
    lines = (said.get(i, maker.k.rules[i].said) for i in assumed if i in maker.k.rules)
    return list(dict.fromkeys(str(line) for line in lines if line))


FORMS = ("A", "B")


def in_form(quiz: Quiz, form: str) -> Quiz:
    """The quiz as one form of its paper: the first as it was made; another with its questions in
    another order, and the options of each where they stand in none.
    """
    if form == FORMS[0]:
        return quiz
    rng = random.Random(f"{quiz.digest}:{form}")
    questions = [_in_another_order(question, rng) for question in quiz.questions]
    rng.shuffle(questions)
    return replace(quiz, questions=questions)


def _in_another_order(question: Instance, rng: random.Random) -> Instance:
    """A question with its options in another order; numbers keep theirs."""
    if all(NUMBER_FIRST.match(option.text) for option in question.options):
        return question
    options = question.options[:]
    rng.shuffle(options)
    return replace(question, options=options, kept={})


# an option that begins with its number, or with what a limit is called by
NUMBER_FIRST = re.compile(r"(at least |at most |exactly |more than |less than )?\d")


def head_line(quiz: Quiz) -> str:
    """Where who answers a paper writes the name, and its teacher the points."""
    return f"Name: {BLANK}  Date: {BLANK}  Points: ____ of {len(quiz.questions)}"


BLANK = "_" * 20


def markdown(maker: Maker, quiz: Quiz, form: str = "A") -> tuple[str, str]:
    """(paper, answer sheet) of one form."""
    quiz = in_form(quiz, form)
    title = f"{_no_markup(quiz.title)} (form {form})"
    law = ["", _no_markup(law_line(quiz)), "", f"*{CAUTION}*", ""]
    assumed = taken(maker, quiz)
    if assumed:
        law += [TAKEN, "", *(f"- {_no_markup(line)}" for line in assumed), ""]
    differing = [] if not quiz.differing else [_no_markup(quiz.differing), ""]
    paper = [f"# {title}", "", head_line(quiz), *law, *differing]
    shared = [SHARED, ""] if _has_parts(quiz) else []
    sheet = [f"# {title}: answers", *law, *differing, *shared]
    for number, question in enumerate(quiz.questions, 1):
        mark = f"**{number}.**"
        paper += [
            f"{mark} {_no_markup(question.in_words)}"
            + (f" {ORDER}" if asks_for_an_order(question) else ""),
            "",
            *[
                f"   {letter(i)}. {_no_markup(option.text)}"
                for i, option in enumerate(question.options)
            ],
            "",
        ]
        first, *rest = _answers(maker, question, number)
        sheet += [mark + _no_markup(first[len(mark) :]), *map(_no_markup, rest)]
    return "\n".join(paper).rstrip() + "\n", "\n".join(sheet).rstrip() + "\n"


def _has_parts(quiz: Quiz) -> bool:
    """Whether an answer of a quiz may be worth a part of a point."""
    return any(picks_several(question) for question in quiz.questions)


def _no_markup(text: str) -> str:
    r"""*text* in which nothing makes an element, a link or a picture of Markdown or HTML; a lone <
    stays.

    >>> print(_no_markup("<b>kiln</b> of < 60 A, see [here](x) & ![](y)"))
    \<b>kiln\</b> of < 60 A, see \[here](x) & !\[](y)
    """
    # first: one that stands before a mark would undo ours
    text = text.replace("\\", "\\\\")
    text = re.sub(r"<(?=[A-Za-z/!?])", r"\<", text)
    text = re.sub(r"&(?=#?\w+;)", r"\&", text)
    return re.sub(r"\[(?=[^\[\]]*\]\s*[(\[:])", r"\[", text)


def _answers(maker: Maker, question: Instance, number: int) -> list[str]:
    """One question on the answer sheet: the key, why it is right, and why the rest is wrong."""
    said = explained(maker, question)
    out = [f"**{number}.** {_key_of(question)} ({question.name})", ""]
    if said["says"]:
        out += [cited(f"   {said['says']} {said['because']}".rstrip(), said["section"]), ""]
    out += [f"   - {line}" for line in chain_of(maker, question)]
    out += [
        cited(f"   - {way['option']}: {way['says']}", way["section"]) for way in said["sections"]
    ]
    out += [f"   - {_explained(wrong)}" for wrong in said["wrong"]]
    if asks_for_an_order(question):
        out.append("   - Here an order is wrong, and no misconception is known for it.")
    return [*out, ""]


def _key_of(question: Instance) -> str:
    """The letters of the key; of one that is chosen, with what it says."""
    if asks_for_an_order(question):
        return " ".join(letter(i) for i in key_places(question))
    return "; ".join(
        f"{letter(i)}. {question.options[i].text.rstrip('.')}" for i in right(question)
    )


def _explained(option: dict[str, Any]) -> str:
    """Why an option is wrong, or who leaves it out that is right."""
    held = f'"{option["says"]}" ({option["held because"]}) Rather: {option["corrected"]}'
    if option["right"] and option["belief"]:
        return f"{option['option']} is left out by who believes: {held}"
    if option["right"]:
        return f"{option['option']}: {option['says']}"
    why = f"Who believes: {held}"
    if not option["belief"]:
        why = f"No misconception known. {option['says']}"
    return f"{option['option']}. {ended(option['text'])} {why}"


def cited(line: str, source: str) -> str:
    return f"{line} [{source}]" if source else line


def ended(text: str) -> str:
    """An option as a sentence: with a full stop, unless it ends with a mark of its own."""
    return text if text.endswith(("?", "!", ".")) else f"{text}."


def chain_of(maker: Maker, q: Instance) -> list[str]:
    """The numbers that lead to the key, as `why` tells them."""
    if "chain" not in q.kept:
        q.kept["chain"] = _chain_of(maker, q)
    return q.kept["chain"]


def _chain_of(maker: Maker, question: Instance) -> list[str]:
    rows = _why(maker, question)
    if not rows:
        return []
    judges = "judges" in question.model.d
    # a size was chosen: what the one below it fails decides
    refused = (row.label.removeprefix("Not ") for row in rows if row.label.startswith("Not "))
    below = next(refused, "")
    told = _labels_told(question, below)
    lines: list[str] = []
    for row in rows:
        if "asks" in question.model.d and row.text.endswith(" unknown"):
            # what would be judged by the number that is asked for is no step to it
            continue
        # what the size below it is rated tells nothing of the key
        shown = row.label in told and row.text != f"rating {below}"
        if shown or row.label.startswith("Not "):
            label = question.key.text if row.label == "This one" else row.label
            lines.append(cited(f"{label}: {row.text}", row.source))
        elif not row.label and not (lines and lines[-1].startswith("Not ")):
            # what else that size fails may be set aside for the key
            lines.append(cited(row.text, row.source))
    # what is judged ends in the verdict: the last number alone may read as another
    # where its options are numbers alone, in full
    in_full = text_of(question.key.value, "") if question.asks else question.key.text
    verdict = [in_full] if judges and lines else []
    return lines[:MOST_LINES] + verdict


def _why(maker: Maker, question: Instance) -> list[Row]:
    """The rows of the answer to `why` the key is as it is; none where it has none."""
    from ..answering.answers import Unclear
    from ..answering.questions import Why
    from ..running.chain import World
    from ..running.job import read_job
    from ..running.rerun import Rerun

    asked = question.model.d
    said = next((str(asked[key]) for key in ASKED_WHY if asked.get(key)), "")
    if not said:
        return []
    k = kind_asked(question.model).law_of(maker).k
    what, _, thing_id = said.partition(" of " if "asks" in asked else " on ")
    world = World(k, read_job(question.body, k, "question")).run()
    try:
        thing = world.things[thing_id.strip()]
        why = Why(world, Rerun(world))
        if "asks" in asked:
            return why.fact(thing, what.strip()).rows
        return why.rule_on(k.rules[what.strip()], thing).rows
    except (Unclear, KeyError):
        return []


def _labels_told(question: Instance, below: str) -> set[str]:
    """The rows that lead to the number which is asked for; *below* is the size that was refused."""
    judges = "judges" in question.model.d
    # where the current is told, what is to be seen is how it is checked
    current_told = "{current}" in question.model.d["stem"]
    said = stems()
    out = {*said["rows"]}
    if below or judges or current_told:
        out.add(said["judged"])
    if judges or current_told:
        out.add(said["checked"])
    return out


def page(maker: Maker, quiz: Quiz, form: str = "A", look: str = "") -> str:
    """One form of the paper as a printable HTML page in the look of every page, without scripts and
    without a key.
    """
    quiz = in_form(quiz, form)
    name = html.escape(head_line(quiz))
    out = [
        *_begin(maker, quiz, f"{quiz.title} (form {form})", look, f'<p class="blanks">{name}</p>')
    ]
    out.append('<ol class="questions">')
    out += [_question_item(question, at) for at, question in enumerate(quiz.questions, 1)]
    return _end(out)


def key_page(maker: Maker, quiz: Quiz, form: str = "A", look: str = "") -> str:
    """The answer sheet of one form as a page of its own."""
    quiz = in_form(quiz, form)
    shared = f"<p>{html.escape(SHARED)}</p>" if _has_parts(quiz) else ""
    out = [*_begin(maker, quiz, f"{quiz.title} (form {form}): answers", look, shared)]
    out.append('<ol class="questions">')
    for number, question in enumerate(quiz.questions, 1):
        out.append(_answer_item(_answers(maker, question, number)))
    return _end(out)


def _begin(maker: Maker, quiz: Quiz, title: str, look: str, below: str) -> list[str]:
    """A page down to its questions: what is in force, and what is taken for granted."""
    e = html.escape
    out = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{e(title)}</title><style>{look}</style></head><body><main>",
        f"<h1>{e(title)}</h1>",
        below,
        f'<p class="quiet">{e(law_line(quiz))}</p><p class="quiet">{e(CAUTION)}</p>',
    ]
    assumed = taken(maker, quiz)
    if assumed:
        lines = "".join(f"<li>{e(line)}</li>" for line in assumed)
        out.append(f'<p class="quiet">{e(TAKEN)}</p><ul class="quiet">{lines}</ul>')
    if quiz.differing:
        out.append(f"<p>{e(quiz.differing)}</p>")
    return out


def _end(out: list[str]) -> str:
    return "\n".join([*filter(None, out), "</ol></main></body></html>"]) + "\n"


def _question_item(question: Instance, number: int) -> str:
    """One question of the paper as an item of a list, with its picture."""
    e = html.escape
    order = f" <em>{e(ORDER)}</em>" if asks_for_an_order(question) else ""
    options = "".join(f"<li>{e(option.text)}</li>" for option in question.options)
    shown = drawn(question.picture, f"picture-{number}") if question.picture else ""
    return f'<li><p>{e(question.stem)}{order}</p>{shown}<ol class="options">{options}</ol></li>'


def _answer_item(answers: list[str]) -> str:
    """One question of the answer sheet as an item of a list."""
    e = html.escape
    first, _, *rest = answers
    lines = [line.strip().removeprefix("- ") for line in rest if line.strip()]
    # the list numbers them
    key = first.split("** ", 1)[1]
    return f'<li><p class="key">{e(key)}</p>' + "".join(f"<p>{e(x)}</p>" for x in lines) + "</li>"
