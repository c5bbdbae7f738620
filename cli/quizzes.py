"""The quiz commands: make a paper, take it here, find the belief behind an answer, see what a class
knows and needs next, practise what was missed.
"""

from __future__ import annotations

import datetime
import sys
import textwrap
from argparse import Namespace
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..engine.front import Fault, Faults, Place, suggest
from .layout import Line, Put
from .look import look
from .quiz_files import read_all_results, read_quiz, write_all
from .wall import json_text, seen

if TYPE_CHECKING:
    from ..engine.front import InForce, Knowledge, Maker, Model, Pack, Quiz


def run(a: Namespace, put: Put, width: int) -> int:
    """Run one quiz command; *put* prints lines.

    Raises:
        Faults: what was asked for cannot be done.
    """
    commands = {
        "make": _make,
        "take": _take,
        "diagnose": _diagnose,
        "class": _class,
        "review": _review,
        "beliefs": _beliefs,
    }
    try:
        return commands[a.quiz](a, put, width)
    except Fault as f:
        raise Faults([f]) from None


def _maker(
    edition: str | None,
    place: str | None,
    date: str | None,
    packs: Iterable[str],
    other: str | None = None,
) -> tuple[Maker, dict[str, Model], dict[str, Any]]:
    """(maker, models, what is in force as a quiz keeps it)."""
    from ..engine.front import Maker, compared, in_force, load, read_beliefs, read_models

    packs = tuple(packs)
    _known(place, "--place")
    force = in_force(
        {}, "quiz", packs, edition or (None if place or packs else "2023"), date, place
    )
    k = load(force.folders, force.edition, force.date)
    there, said = _elsewhere(other, date)
    models = read_models(k)
    if there:
        models |= compared(models, k, there)
    here = f"the rules of {force.place}, over the {force.edition} edition" if force.place else ""
    return Maker(k, read_beliefs(), there, here, said), models, _as_kept(force, other, k.digest)


def _laid_over(maker: Maker, models: dict[str, Model]) -> tuple[Maker, frozenset[str]]:
    """A maker under the edition alone that a place's law is laid over, and the names of what may
    come out otherwise there.
    """
    from ..engine.front import Maker, compared, load

    base = load((), maker.k.edition)
    said = f"the {base.edition} edition as it is printed"
    return Maker(base, maker.beliefs, said=said), frozenset(compared(models, maker.k, base))


def _elsewhere(other: str | None, date: str | None) -> tuple[Knowledge | None, str]:
    """The law that is compared with, an edition's or a place's, and what it is called."""
    from ..engine.front import EDITIONS, in_force, load

    if not other:
        return None, ""
    if other in EDITIONS:
        return load((), other), f"the {other} edition"
    _known(other, "--compare", EDITIONS)
    force = in_force({}, "quiz", (), None, date, other)
    there = load(force.folders, force.edition, force.date)
    return there, f"the rules of {force.place or other}, over the {force.edition} edition"


def _as_kept(force: InForce, other: str | None, digest: str) -> dict[str, Any]:
    """What is in force, so that `take` can put the same together again."""
    shelf = _shelf()
    return {
        "edition": force.edition,
        "packs": [pack.title for pack in force.packs],
        # a pack that is not on the shelf is found by its folder alone
        "names": [pack.name if pack.name in shelf else str(pack.folder) for pack in force.packs],
        "place": force.place,
        "date": force.date or "",
        "compare": other or "",
        "digest": digest,
    }


def _known(place: str | None, said: str, also: Iterable[str] = ()) -> None:
    """Raise Fault where *place* is asked for and there is no pack for it."""
    if place and not any(place.strip().lower() in p.names for p in _shelf().values()):
        known = [*also, *(p.place for p in _shelf().values() if p.place)]
        raise Fault(
            "no-such-place",
            Place(said),
            f'there is no pack for "{place}" here' + (", and it is no edition" if also else ""),
            suggest(place, known),
        )


def _shelf() -> dict[str, Pack]:
    from ..engine.front import known_packs

    return known_packs()


def _make(a: Namespace, put: Put, width: int) -> int:
    from ..engine.front import make_quiz, paper_markdown

    maker, models, law = _maker(a.edition, a.place, a.date, a.pack, a.compare)
    if not 1 <= a.number <= 500:
        raise Fault(
            "quiz-size", Place("--number"), f"{a.number} questions are not made", "ask for 1 to 500"
        )
    quiz = make_quiz(
        maker,
        models,
        a.number,
        a.seed,
        law,
        tuple(a.room),
        tuple(a.kind),
        a.difficulty,
        a.belief,
        seen(a.title),
        _laid_over(maker, models) if law["packs"] and not a.compare else None,
    )
    if not a.out:
        put([[(line, "")] for line in paper_markdown(maker, quiz)[0].splitlines()])
        return 0
    _write_paper(Path(a.out), maker, quiz, put)
    return 0


def _write_paper(folder: Path, maker: Maker, quiz: Quiz, put: Put) -> None:
    """Write a quiz in every form it is given out in, and say how to take it."""
    from ..engine.front import (
        key_page,
        paper_markdown,
        paper_page,
        qti_package,
        quiz_as_plain,
        taken_on_paper,
    )

    paper, sheet = paper_markdown(maker, quiz)
    plain = quiz_as_plain(maker, quiz) | {"taken": taken_on_paper(maker, quiz)}
    other, other_sheet = paper_markdown(maker, quiz, "B")
    files = {
        "paper.md": paper.encode(),
        "answers.md": sheet.encode(),
        "paper-b.md": other.encode(),
        "answers-b.md": other_sheet.encode(),
        "paper.html": paper_page(maker, quiz, "A", look()).encode(),
        "answers.html": key_page(maker, quiz, "A", look()).encode(),
        "paper-b.html": paper_page(maker, quiz, "B", look()).encode(),
        "answers-b.html": key_page(maker, quiz, "B", look()).encode(),
        "quiz.json": json_text(plain).encode(),
        "quiz-qti.zip": qti_package(maker, quiz),
    }
    write_all(folder, files)
    there = f"{len(quiz.questions)} questions in {folder}: " + ", ".join(files)
    take = f"Take it: whywire quiz take {folder / 'quiz.json'} --results answers.json"
    put([[(there, "")], [(take, "source")]])


def _take(a: Namespace, put: Put, width: int) -> int:
    from .sitting import Sitting, results_of

    quiz = read_quiz(a.file)
    law = quiz["law"]
    maker, models, now = _maker(
        law["edition"] if not law.get("names") else None,
        law.get("place") or None,
        law.get("date") or None,
        law.get("names", []),
        law.get("compare") or None,
    )
    # what was right when the paper was made may be wrong today: the rules decide, not the file
    if now["digest"] != law["digest"]:
        changed = "The rules have changed since this quiz was made; what they say now counts."
        put([[(changed, "caution")]])
    kept = results_of(a.results, quiz, a.name)
    Sitting(quiz, kept, Path(a.results), maker, models, put, width).run()
    return 0


def _diagnose(a: Namespace, put: Put, width: int) -> int:
    from ..engine.front import diagnose, same_answer, typed_answer

    if len(a.what) < 2:
        raise Fault(
            "not-an-answer",
            Place("diagnose"),
            "a question and an answer are wanted",
            "write whywire quiz diagnose MODEL:SEED ANSWER",
        )
    maker, models, _ = _maker(a.edition, a.place, a.date, a.pack, a.compare)
    question = maker.again(models, a.what[0])
    value = typed_answer(question, " ".join(a.what[1:]))
    found = diagnose(maker, question, value)
    is_right = same_answer(question, value, question.key.value)
    if a.json:
        said = {
            "question": question.name,
            "stem": question.stem,
            "key": question.key.text,
            "right": is_right,
            "beliefs": [list(group) for group in found],
        }
        sys.stdout.write(json_text(said))
        return 0
    put(_wrapped(question.stem, width))
    if is_right:
        put([[("That is right: " + question.key.text, "passes")]])
    elif not found:
        none = f"None known: no belief here gives that answer. It is {question.key.text}."
        put([[(none, "")]])
    for name in (name for group in found for name in group):
        belief = maker.beliefs[name]
        why = f"{name}: {belief.says} Why people hold it: {belief.held_because}"
        put(_wrapped(f"{why} Rather: {belief.corrected} ({belief.offends})", width))
    return 0


def _class(a: Namespace, put: Put, width: int) -> int:
    """What a class knows by learner and topic, what stands in whose way, and what comes next."""
    from ..engine.front import classroom, next_paper
    from .show_class import class_as_dict, show_class

    results = read_all_results(a.results)
    maker, models, law = _law_of_class(a, results)
    named = _by_name(a.results, results, a.no_names)
    found = classroom(named, models, maker)
    if a.json:
        sys.stdout.write(json_text(class_as_dict(found, maker, named)))
    else:
        put(show_class(found, maker, named, width))
    if a.next:
        if not 1 <= a.number <= 100:
            raise Fault(
                "quiz-size", Place("--number"), f"{a.number} questions are not made", "ask 1 to 100"
            )
        # nobody's name is on it: it is given out
        quiz = next_paper(found, maker, models, law, a.number, a.seed, seen(a.title))
        _write_paper(Path(a.next), maker, quiz, put if not a.json else _nothing)
    return 0


def _nothing(lines: list[Line]) -> None:
    """Where what is printed is data, nothing else is."""


def _law_of_class(
    a: Namespace, results: list[dict[str, Any]]
) -> tuple[Maker, dict[str, Model], dict[str, Any]]:
    """What is in force as it was asked for, or else as it was for the last of the papers."""
    if a.edition or a.place or a.pack:
        return _maker(a.edition, a.place, a.date, a.pack)
    files = {Path(path).resolve(): path for path in a.results}
    dated = [
        (max(answer["on"] for answer in result["answers"]), path, result["law"])
        for path, result in zip(files.values(), results, strict=True)
        if result["answers"] and result["law"]["edition"]
    ]
    if not dated:
        return _maker(None, None, None, ())
    _, path, last = max(dated, key=lambda each: each[:2])
    date = a.date or last["date"] or None
    try:
        if not last["names"]:
            return _maker(last["edition"], None, a.date, ())
        return _maker(None, last["place"] or None, date, last["names"])
    except (Fault, Faults) as e:
        what = e.what if isinstance(e, Fault) else e.items[0].what
        raise Fault(
            "not-json",
            Place(path),
            f"what was in force for this paper is not to be had: {what}",
            "say what is in force: --edition, --place or --pack",
        ) from None


def _by_name(
    paths: list[str], results: list[dict[str, Any]], no_names: bool
) -> list[tuple[str, dict[str, Any]]]:
    """Each file of results with whose it is: by the name in it, or else by the file's own."""
    files = {Path(path).resolve(): path for path in paths}
    names = [
        seen(result["name"]).strip() or Path(path).stem
        for path, result in zip(files.values(), results, strict=True)
    ]
    # one who is called Ada is not another where ada is written
    first = {name.casefold(): name for name in reversed(names)}
    names = [first[name.casefold()] for name in names]
    if no_names:
        numbers = {name: n for n, name in enumerate(sorted(set(names), key=str.casefold), 1)}
        names = [f"Learner {numbers[name]:02}" for name in names]
    return list(zip(names, results, strict=True))


def _wrapped(text: str, width: int) -> list[Line]:
    return [[(line, "")] for line in textwrap.wrap(text, width)]


def _review(a: Namespace, put: Put, width: int) -> int:
    from ..engine.front import day, practice_cards, practice_due
    from .show_class import practice_as_dict, show_practice

    on = day(a.on, Place("--on")) if a.on else datetime.date.today()
    results = read_all_results(a.results)
    maker, models, _ = _maker(None, None, None, ())
    known = practice_cards(results)
    today = practice_due(known, on)
    if a.json:
        sys.stdout.write(json_text(practice_as_dict(known, today, on)))
        return 0
    put(show_practice(known, today, on, models, maker, width))
    return 0


def _beliefs(a: Namespace, put: Put, width: int) -> int:
    from ..engine.front import read_beliefs

    beliefs = read_beliefs().values()
    if a.json:
        plain = [
            {
                "belief": belief.name,
                "says": belief.says,
                "held because": belief.held_because,
                "offends": belief.offends,
                "corrected": belief.corrected,
                "room": belief.room,
            }
            for belief in beliefs
        ]
        sys.stdout.write(json_text(plain))
        return 0
    for belief in beliefs:
        put([[(belief.name, "rule"), (f"  {belief.offends}", "source")]])
        said = textwrap.wrap(f"{belief.says} Rather: {belief.corrected}", width - 4)
        put([[("    " + line, "")] for line in said])
    return 0
