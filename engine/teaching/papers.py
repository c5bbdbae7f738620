"""A quiz on paper: Markdown and printable HTML, a paper and its answer sheet."""

from __future__ import annotations

import html
import re

from .fairness import assumed_in
from .quiz import CAUTION, Quiz, explained, letter, right

TAKEN = "Where a question does not say otherwise:"
# the rows of an answer to `why` that lead to a number
SHOWN = (
    "Wire",
    "From",
    "Needed",
    "Have",
    "Need",
    "Passes",
    "Rule",
    "Table",
    "Room",
    "Box",
    "Breaker",
    "This one",
    "Smallest",
)
ORDER = "Number them in the order in which each rests on the one before."


def law_line(quiz: Quiz) -> str:
    """What was in force, as every paper prints it."""
    law = quiz.law
    over = "; over it " + ", then ".join(law["packs"]) if law.get("packs") else ""
    return (
        f"In force: NEC {law['edition']}{over}"
        + (f", {law['place']}" if law.get("place") else "")
        + (f", permit of {law['date']}" if law.get("date") else "")
        + f"; digest {law['digest']}. Quiz {quiz.digest}, seed {quiz.seed}."
    )


def taken(maker, quiz: Quiz) -> list[str]:
    """What the rules assume behind these questions where nobody tells it."""
    return list(
        dict.fromkeys(
            maker.k.rules[i].said
            for q in quiz.questions
            for i in assumed_in(maker, q)
            if i in maker.k.rules
        )
    )


def markdown(maker, quiz: Quiz) -> tuple[str, str]:
    """(paper, answer sheet)."""
    title = _no_markup(quiz.title)
    head = [f"# {title}", "", _no_markup(law_line(quiz)), "", f"*{CAUTION}*", ""]
    if said := taken(maker, quiz):
        head += [TAKEN, "", *(f"- {_no_markup(line)}" for line in said), ""]
    paper, sheet = head[:], [f"# {title}: answers", *head[1:]]
    for n, q in enumerate(quiz.questions, 1):
        paper += [
            f"**{n}.** {_no_markup(q.stem)}" + (f" {ORDER}" if q.model.kind == "order" else ""),
            "",
            *[f"   {letter(i)}. {_no_markup(o.text)}" for i, o in enumerate(q.options)],
            "",
        ]
        first, *rest = _answers(maker, q, n)
        sheet += [first[: len(f"**{n}.**")] + _no_markup(first[len(f"**{n}.**") :])]
        sheet += [_no_markup(line) for line in rest]
    return "\n".join(paper).rstrip() + "\n", "\n".join(sheet).rstrip() + "\n"


def _no_markup(text: str) -> str:
    r"""*text* in which nothing makes an element, a link or a picture of Markdown or HTML; a lone <
    stays.

    >>> print(_no_markup("<b>kiln</b> of < 60 A, see [here](x) & ![](y)"))
    \<b>kiln\</b> of < 60 A, see \[here](x) & !\[](y)
    """
    text = text.replace("\\", "\\\\")  # first: one that stands before a mark would undo ours
    text = re.sub(r"<(?=[A-Za-z/!?])", r"\<", text)
    text = re.sub(r"&(?=#?\w+;)", r"\&", text)
    return re.sub(r"\[(?=[^\[\]]*\]\s*[(\[:])", r"\[", text)


def _answers(maker, q, n: int) -> list[str]:
    said = explained(maker, q)
    if q.model.kind == "order":
        key = " ".join(
            letter(i)
            for i in sorted(
                range(len(q.options)), key=lambda i: q.key.value.index(q.options[i].value)
            )
        )
    else:
        key = "; ".join(f"{letter(i)}. {q.options[i].text.rstrip('.')}" for i in right(q))
    out = [f"**{n}.** {key} ({q.name})", ""]
    if said["says"]:
        out += [
            f"   {said['says']} {said['because']}".rstrip()
            + (f" [{said['section']}]" if said["section"] else ""),
            "",
        ]
    for line in chain_of(maker, q):
        out.append(f"   - {line}")
    for w in said["sections"]:
        out.append(
            f"   - {w['option']}: {w['says']}" + (f" [{w['section']}]" if w["section"] else "")
        )
    for w in said["wrong"]:
        held = f'"{w["says"]}" ({w["held because"]}) Rather: {w["corrected"]}'
        if w["right"]:
            out.append(
                f"   - {w['option']} is left out by who believes: {held}"
                if w["belief"]
                else f"   - {w['option']}: {w['says']}"
            )
        else:
            out.append(
                f"   - {w['option']}. {ended(w['text'])} "
                + (
                    f"Who believes: {held}"
                    if w["belief"]
                    else f"No misconception known. {w['says']}"
                )
            )
    if q.model.kind == "order":
        out.append("   - Here an order is wrong, and no misconception is known for it.")
    return [*out, ""]


def ended(text: str) -> str:
    """An option as a sentence: with a full stop, unless it ends with a mark of its own."""
    return text if text.endswith(("?", "!", ".")) else f"{text}."


def chain_of(maker, q) -> list[str]:
    """The numbers that lead to the key, as `why` tells them."""
    if "chain" not in q.kept:
        q.kept["chain"] = _chain_of(maker, q)
    return q.kept["chain"]


def _chain_of(maker, q) -> list[str]:
    from ..answering.answers import Unclear
    from ..answering.questions import Why
    from ..running.chain import World
    from ..running.job import read_job
    from ..running.rerun import Rerun

    d = q.model.d
    said = str(d.get("asks") or d.get("judges") or d.get("mends") or d.get("missing") or "")
    if not said:
        return []
    maker = maker.there if q.model.kind == "under" else maker
    what, _, thing = said.partition(" of " if "asks" in d else " on ")
    w = World(maker.k, read_job(q.body, maker.k, "question")).run()
    try:
        x = w.things[thing.strip()]
        why = Why(w, Rerun(w))
        got = (
            why.fact(x, what.strip())
            if "asks" in d
            else why.rule_on(maker.k.rules[what.strip()], x)
        )
    except (Unclear, KeyError):
        return []
    # a size was chosen: what the one below it fails decides
    below = next((r.label.removeprefix("Not ") for r in got.rows if r.label.startswith("Not ")), "")
    told = {
        *SHOWN,
        *(("Load",) if below or "judges" in d or "{current}" in d["stem"] else ()),
        *(("Check",) if "judges" in d or "{current}" in d["stem"] else ()),
    }
    lines = []
    for r in got.rows:
        if r.label in told and r.text != f"rating {below}" or r.label.startswith("Not "):
            lines.append(
                f"{q.key.text if r.label == 'This one' else r.label}: {r.text}"
                + (f" [{r.source}]" if r.source else "")
            )
        elif not r.label and not (lines and lines[-1].startswith("Not ")):
            # what else that size fails may be set aside for the key
            lines.append(r.text + (f" [{r.source}]" if r.source else ""))
    # what is judged ends in the verdict: the last number alone may read as another
    return [*lines[:6], *([q.key.text] if "judges" in d and lines else [])]


STYLE = (
    "body{font:11pt/1.4 Georgia,serif;max-width:46em;margin:2em auto;padding:0 1em}ol.q>li{margin:0"
    " 0 1.4em;break-inside:avoid}ol.o{list-style:upper-alpha}"
    ".law,.care{font-size:9pt;color:#333}.care{border:1px"
    " solid #999;padding:.5em}.page{break-before:page}.key{font-weight:bold}"
)


def page(maker, quiz: Quiz) -> str:
    """Paper and answer sheet as one printable HTML page, without scripts."""
    e = html.escape
    out = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">',
        f"<title>{e(quiz.title)}</title><style>{STYLE}</style></head><body>",
        f"<h1>{e(quiz.title)}</h1>",
        f'<p class="law">{e(law_line(quiz))}</p>',
        f'<p class="care">{e(CAUTION)}</p>',
    ]
    if said := taken(maker, quiz):
        out.append(
            f'<div class="law">{e(TAKEN)}<ul>'
            + "".join(f"<li>{e(line)}</li>" for line in said)
            + "</ul></div>"
        )
    out.append('<ol class="q">')
    for q in quiz.questions:
        out.append(
            f"<li><p>{e(q.stem)}"
            + (f" <em>{e(ORDER)}</em>" if q.model.kind == "order" else "")
            + '</p><ol class="o">'
            + "".join(f"<li>{e(o.text)}</li>" for o in q.options)
            + "</ol></li>"
        )
    out += [
        "</ol>",
        '<section class="page">',
        f"<h1>{e(quiz.title)}: answers</h1>",
        f'<p class="law">{e(law_line(quiz))}</p>',
        f'<p class="care">{e(CAUTION)}</p>',
        '<ol class="q">',
    ]
    for n, q in enumerate(quiz.questions, 1):
        first, _, *rest = _answers(maker, q, n)
        out.append(
            f'<li><p class="key">{e(first.split("** ", 1)[1])}</p>'
            + "".join(
                f"<p>{e(line.strip().removeprefix('- '))}</p>" for line in rest if line.strip()
            )
            + "</li>"
        )
    return "\n".join([*out, "</ol></section></body></html>"]) + "\n"
