"""The quiz commands: make a paper, take it here, find the belief behind an answer, practise what
was missed.
"""

from __future__ import annotations

import contextlib
import datetime
import itertools
import json
import os
import sys
import textwrap
from pathlib import Path

from ..engine.basics.errors import Fault, Faults, Place, suggest
from .wall import json_text, seen


def run(a, put, width: int) -> int:
    """Run one quiz command; *put* prints lines. Raises Faults."""
    try:
        return {
            "make": _make,
            "take": _take,
            "diagnose": _diagnose,
            "review": _review,
            "beliefs": _beliefs,
        }[a.quiz](a, put, width)
    except Fault as f:
        raise Faults([f]) from None


def _maker(edition, place, date, packs, other=None):
    """(maker, models, what is in force as a dict)."""
    from ..engine.language.rules import EDITIONS
    from ..engine.law.places import in_force
    from ..engine.running.cache import load
    from ..engine.teaching.beliefs import read_beliefs
    from ..engine.teaching.instances import Maker
    from ..engine.teaching.models import compared, read_models

    _known(place, "--place")
    force = in_force(
        {}, "quiz", tuple(packs), edition or (None if place or packs else "2023"), date, place
    )
    k = load(force.folders, force.edition, force.date)
    there, said = None, ""
    if other in EDITIONS:
        there, said = load((), other), f"the {other} edition"
    elif other:
        _known(other, "--compare", EDITIONS)
        elsewhere = in_force({}, "quiz", (), None, date, other)
        there, said = (
            load(elsewhere.folders, elsewhere.edition, elsewhere.date),
            f"the rules of {elsewhere.place or other}, over the {elsewhere.edition} edition",
        )
    models = read_models(k)
    law = {
        "edition": force.edition,
        "packs": [p.title for p in force.packs],
        "names": [str(p.folder) if p.name not in _shelf() else p.name for p in force.packs],
        "place": force.place,
        "date": force.date or "",
        "compare": other or "",
        "digest": k.digest,
    }
    here = f"the rules of {force.place}, over the {force.edition} edition" if force.place else ""
    return (
        Maker(k, read_beliefs(), there, here, said),
        models | (compared(models, k, there) if there else {}),
        law,
    )


def _known(place: str | None, said: str, also=()) -> None:
    """Raise Fault where *place* is asked for and there is no pack for it."""
    if place and not any(place.strip().lower() in p.names for p in _shelf().values()):
        known = [*also, *(p.place for p in _shelf().values() if p.place)]
        raise Fault(
            "no-such-place",
            Place(said),
            f'there is no pack for "{place}" here' + (", and it is no edition" if also else ""),
            suggest(place, known),
        )


def _shelf():
    from ..engine.law.places import known_packs

    return known_packs()


def _make(a, put, width: int) -> int:
    from ..engine.teaching.papers import markdown, page, taken
    from ..engine.teaching.qti import package
    from ..engine.teaching.quiz import make, quiz_as_plain

    maker, models, law = _maker(a.edition, a.place, a.date, a.pack, a.compare)
    if not 1 <= a.number <= 500:
        raise Fault(
            "quiz-size", Place("--number"), f"{a.number} questions are not made", "ask for 1 to 500"
        )
    quiz = make(
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
    )
    paper, sheet = markdown(maker, quiz)
    if not a.out:
        put([[(line, "")] for line in paper.splitlines()])
        return 0
    out = Path(a.out)
    files = {
        "paper.md": paper.encode(),
        "answers.md": sheet.encode(),
        "quiz.html": page(maker, quiz).encode(),
        "quiz.json": (
            (json_text(quiz_as_plain(maker, quiz) | {"taken": taken(maker, quiz)})).encode()
        ),
        "quiz-qti-2.1.zip": package(maker, quiz, "2.1"),
        "quiz-qti-3.0.zip": package(maker, quiz, "3.0"),
    }
    with _writing(a.out, "name another folder"):
        taken = [
            n for n, data in files.items() if (out / n).exists() and (out / n).read_bytes() != data
        ]
        if taken:
            raise Fault(
                "already-there",
                Place(str(out / taken[0])),
                "a file of that name is there, and nothing is written over",
                "name another folder",
            )
        out.mkdir(parents=True, exist_ok=True)
        begun: list[Path] = []
        try:
            for n, data in files.items():
                if not (out / n).exists():
                    begun.append(out / n)
                (out / n).write_bytes(data)
        except BaseException:  # half a paper is none
            for whole in begun:
                whole.unlink(missing_ok=True)
            raise
    put(
        [
            [(f"{len(quiz.questions)} questions in {out}: " + ", ".join(files), "")],
            [(f"Take it: whywire quiz take {out / 'quiz.json'} --results answers.json", "source")],
        ]
    )
    return 0


@contextlib.contextmanager
def _writing(path, todo: str):
    """Raise Fault where the system does not let *path* be written."""
    try:
        yield
    except OSError as e:
        raise Fault(
            "not-writable", Place(str(path)), f"this cannot be written: {e.strerror or e}", todo
        ) from None


def _read(path: str, what: str, shape: dict, todo: str) -> dict:
    """What a JSON file of ours holds, once it is of *shape*. Raises Fault where it is not: it may
    have been edited.
    """
    from ..engine.basics.reading import read_bytes
    from ..engine.basics.shapes import filled, wrong

    try:
        data = json.loads(read_bytes(Path(path), path).decode("utf-8"))
    except (ValueError, RecursionError) as e:
        raise Fault(
            "not-json", Place(path), f"this is no {what}: {str(e)[:80]}", "is this the right file?"
        ) from None
    if not isinstance(data, dict):
        raise Fault("not-json", Place(path), f"this is no {what}", "is this the right file?")
    if said := list(itertools.islice(wrong(data, shape), 3)):
        raise Fault("not-json", Place(path), f"this is no {what}: " + "; ".join(said), todo)
    return filled(data, shape)


def _results(path: str) -> dict:
    """What a results file keeps. Raises Fault."""
    from ..engine.teaching.files import RESULTS

    todo = "name a file that `whywire quiz take --results` wrote, as it wrote it"
    return _read(path, "results file", RESULTS, todo)


def _all_results(paths: list[str]) -> list[dict]:
    """What several results files keep; one that is named twice counts once."""
    return [_results(p) for p in {Path(p).resolve(): p for p in paths}.values()]


def _keep(path: Path, data: dict) -> None:
    """Write a results file whole, or leave the one that is there."""
    new = path.with_name(path.name + ".new")
    with _writing(path, "may you write it, and in its folder?"):
        try:
            new.write_text(json_text(data), "utf-8")
            os.replace(new, path)
        except BaseException:
            with contextlib.suppress(OSError):
                new.unlink()
            raise


def _may_keep(path: Path) -> None:
    """Raise Fault where the answers could not be kept: before the first is given."""
    new = path.with_name(path.name + ".new")
    with _writing(path, "name a file in a folder that is there, and that you may write"):
        if path.is_dir():
            raise IsADirectoryError(21, "it is a folder")
        new.touch()
        new.unlink()


def _take(a, put, width: int) -> int:
    from ..engine.teaching.diagnosis import diagnose, same, typed
    from ..engine.teaching.files import QUIZ
    from ..engine.teaching.papers import TAKEN
    from ..engine.teaching.quiz import explained, letter, picks_several, right

    todo = "name the quiz.json that `whywire quiz make` wrote, as it wrote it"
    quiz = _read(a.file, "quiz", QUIZ, todo)
    law = quiz["law"]
    maker, models, now = _maker(
        law["edition"] if not law.get("names") else None,
        law.get("place") or None,
        law.get("date") or None,
        law.get("names", []),
        law.get("compare") or None,
    )
    if now["digest"] != law["digest"]:
        put(
            [
                [
                    (
                        (
                            "The rules have changed since this quiz was made; what they say now"
                            " counts."
                        ),
                        "caution",
                    )
                ]
            ]
        )
    path = Path(a.results)
    kept = (
        _results(a.results)
        if path.exists()
        else {
            "quiz": quiz["digest"],
            "title": quiz["quiz"],
            "name": a.name,
            "law": law,
            "answers": [],
        }
    )
    if kept.get("quiz") != quiz["digest"]:
        raise Fault(
            "already-there",
            Place(a.results),
            "this file keeps the answers to another quiz",
            "name another file",
        )
    if a.name and kept.get("name") and a.name != kept["name"]:
        raise Fault(
            "already-there",
            Place(a.results),
            f'this file keeps the answers of "{kept["name"]}", and not of "{a.name}"',
            "name another file",
        )
    kept["name"] = kept.get("name") or a.name
    _may_keep(path)
    put([[(line, "")] for line in textwrap.wrap(quiz["caution"], width)] + [[]])
    if quiz.get("taken") and not path.exists():
        put(
            [
                [(TAKEN, "source")],
                *[
                    [(("  " if not i else "    ") + line, "source")]
                    for text in quiz["taken"]
                    for i, line in enumerate(textwrap.wrap(text, width - 4))
                ],
                [],
            ]
        )
    done = {x["question"] for x in kept["answers"]}
    if done:
        put([[(f"Going on after question {len(done)}.", "source")], []])
    for n, d in enumerate(quiz["questions"], 1):
        if d["question"] in done:
            continue
        q = maker.again(models, d["question"])
        put(
            [
                [(line, "head" if not i else "")]
                for i, line in enumerate(textwrap.wrap(f"{n}. {q.stem}", width))
            ]
        )
        if q.stem != d["stem"] or [o.text for o in q.options] != [o["text"] for o in d["options"]]:
            put(
                [
                    [
                        (
                            (
                                "(This question has changed since the quiz was made; it is asked as"
                                " it is now.)"
                            ),
                            "caution",
                        )
                    ]
                ]
            )
        for i, o in enumerate(q.options):
            put(
                [
                    [(("   " if not n else "      ") + line, "")]
                    for n, line in enumerate(textwrap.wrap(f"{letter(i)}. {o.text}", width - 6))
                ]
            )
        several = picks_several(q) or q.model.kind == "order"
        broken: KeyboardInterrupt | None = None
        try:
            value, said = _asked(q, typed, put, several)
        except KeyboardInterrupt as e:
            value, said, broken = None, "", e
        if value is None:
            so_far = f"the answers so far are in {path}." if kept["answers"] else ""
            put([[], [("Stopped; " + (so_far or "nothing was answered."), "source")]])
            if broken:
                raise broken
            return 0
        ok = value == _wanted(q, right) if several else same(q, value, q.key.value)
        given = (
            tuple(o.value for i, o in enumerate(q.options) if i in value)
            if picks_several(q)
            else value
        )
        beliefs = [] if ok else [b for group in diagnose(maker, q, given) for b in group]
        # no one belief picks just these: those behind what was added and left out
        if not beliefs and not ok and picks_several(q):
            beliefs = [
                b
                for i, o in enumerate(q.options)
                if o.right is not (i in value)
                for b in (o.belief or o.missed,)
                if b
            ]
        about = explained(maker, q)
        said_right = (
            " ".join(letter(i) for i in _wanted(q, right))
            if several
            else f"{letter(q.position)}. {q.key.text}"
        )
        put(
            [
                [(line, "passes" if ok else "fails")]
                for line in (
                    ["Right."] if ok else textwrap.wrap(f"Not so. It is {said_right}", width)
                )
            ]
        )
        _explain(maker, q, about, beliefs, put, width)
        kept["answers"].append(
            {
                "question": q.name,
                "chosen": said,
                "right": ok,
                "rule": about["rule"],
                "beliefs": list(dict.fromkeys(beliefs)),
                "options": [o.text for o in q.options],
                "on": datetime.date.today().isoformat(),
            }
        )
        _keep(path, kept)
    _closing(maker, kept, put, width)
    return 0


def _wanted(q, right):
    if q.model.kind == "order":
        return tuple(
            sorted(range(len(q.options)), key=lambda i: q.key.value.index(q.options[i].value))
        )
    return tuple(right(q))


def _asked(q, typed, put, several: bool):
    """The learner's answer and how it reads; (None, "") at the end of input, or where it is put
    off.
    """
    while True:
        sys.stdout.write(
            "Letters, as in A C (order counts): "
            if q.model.kind == "order"
            else "Letters, as in A C: "
            if several
            else "Letter or value: "
        )
        sys.stdout.flush()
        line = sys.stdin.readline()
        if not line:
            return None, ""
        line = line.strip()
        if line.lower() in ("q", "quit"):
            return None, ""
        if not line:
            continue
        if several:
            letters = [c for c in line.upper() if c.isalpha()]
            if (
                letters
                and all(c in "ABCDEFGH"[: len(q.options)] for c in letters)
                and len(set(letters)) == len(letters)
            ):
                places = tuple("ABCDEFGH".index(c) for c in letters)
                return (places if q.model.kind == "order" else tuple(sorted(places))), " ".join(
                    letters
                )
            put([[("write the letters of your choice, or q to stop", "source")]])
            continue
        try:
            v = typed(q, line)
        except Fault as f:
            put([[(f"{f.what}; {f.todo}", "source")]])
            continue
        return v, next((o.text for o in q.options if o.value == v), line)


def _explain(maker, q, about: dict, beliefs: list[str], put, width: int) -> None:
    from ..engine.teaching.papers import chain_of

    lines = (
        [
            f"{about['says']} {about['because']}".strip()
            + (f" [{about['section']}]" if about["section"] else "")
        ]
        if about["says"]
        else []
    )
    lines += [
        f"{x['option']}: {x['says']}" + (f" [{x['section']}]" if x["section"] else "")
        for x in about["sections"]
    ]
    lines += chain_of(maker, q)
    for b in dict.fromkeys(beliefs[:2]):
        belief = maker.beliefs[b]
        lines.append(
            f"That answer comes of believing: {belief.says} {belief.corrected} (whywire rules"
            f" {belief.offends})"
        )
    for text in lines:
        put(
            [
                [(("  " if not i else "    ") + line, "")]
                for i, line in enumerate(textwrap.wrap(text, width - 4))
            ]
        )
    put([[]])


def _closing(maker, kept: dict, put, width: int) -> None:
    got = kept["answers"]
    put([[(f"{sum(x['right'] for x in got)} of {len(got)} right.", "head")]])
    missed = list(dict.fromkeys(x["rule"] for x in got if not x["right"] and x["rule"]))
    held = list(dict.fromkeys(b for x in got for b in x["beliefs"]))
    if missed:
        put([[("Read again: " + "; ".join(f"whywire rules {r}" for r in missed), "")]])
    for b in held:
        belief = maker.beliefs.get(b)
        if belief:
            put(
                [
                    [(line, "")]
                    for line in textwrap.wrap(f"{b}: {belief.says} {belief.corrected}", width)
                ]
            )


def _diagnose(a, put, width: int) -> int:
    from ..engine.teaching.diagnosis import diagnose, of_class, same, typed

    if a.results:
        got = of_class(_all_results(a.results))
        if a.json:
            sys.stdout.write(json_text(got))
            return 0
        lines = [f"{got['learners']} learners."] + [f"{n} times: {b}" for b, n in got["beliefs"]]
        lines += (
            [f"Nobody got right: {', '.join(got['nobody right'])}"] if got["nobody right"] else []
        )
        lines += [f"{q}: hardly chosen: {', '.join(ts)}" for q, ts in got["hardly chosen"].items()]
        lines += [
            f"{q}: {d['wrong']} of {d['of']} wrong ({d['rests on']})"
            for q, d in got["difficulty"].items()
        ]
        put([[(line, "")] for text in lines for line in textwrap.wrap(text, width)])
        return 0
    if len(a.what) < 2:
        raise Fault(
            "not-an-answer",
            Place("diagnose"),
            "a question and an answer are wanted",
            "write whywire quiz diagnose MODEL:SEED ANSWER, or --results FILES",
        )
    maker, models, _ = _maker(a.edition, a.place, a.date, a.pack, a.compare)
    q = maker.again(models, a.what[0])
    value = typed(q, " ".join(a.what[1:]))
    found = diagnose(maker, q, value)
    ok = same(q, value, q.key.value)
    if a.json:
        sys.stdout.write(
            json_text(
                {
                    "question": q.name,
                    "stem": q.stem,
                    "key": q.key.text,
                    "right": ok,
                    "beliefs": [list(g) for g in found],
                },
            )
        )
        return 0
    put([[(line, "")] for line in textwrap.wrap(q.stem, width)])
    if ok:
        put([[("That is right: " + q.key.text, "passes")]])
    elif not found:
        put([[(f"None known: no belief here gives that answer. It is {q.key.text}.", "")]])
    for group in found:
        for b in group:
            belief = maker.beliefs[b]
            put(
                [
                    [(line, "")]
                    for line in textwrap.wrap(
                        f"{b}: {belief.says} Why people hold it: {belief.held_because} Rather:"
                        f" {belief.corrected} ({belief.offends})",
                        width,
                    )
                ]
            )
    return 0


def _review(a, put, width: int) -> int:
    from ..engine.basics.units import day
    from ..engine.teaching.practice import cards_of, due

    on = day(a.on, Place("--on")) if a.on else datetime.date.today()
    cards = cards_of(_all_results(a.results))
    today = due(cards, on)
    if a.json:
        sys.stdout.write(
            json_text(
                {
                    "on": on.isoformat(),
                    "due": today,
                    "cards": {
                        m: {
                            "stability": round(c.stability, 4),
                            "difficulty": round(c.difficulty, 4),
                            "due": c.due.isoformat(),
                        }
                        for m, c in sorted(cards.items())
                    },
                },
            )
        )
        return 0
    put([[(f"To practise on {on}: {len(today)}", "head")]])
    put([[(f"  {m} (known with {cards[m].known(on):.0%})", "")] for m in today])
    later = sorted((c.due, m) for m, c in cards.items() if m not in today)
    put([[(f"  {m}: again on {d}", "source")] for d, m in later])
    return 0


def _beliefs(a, put, width: int) -> int:
    from ..engine.teaching.beliefs import read_beliefs

    bs = read_beliefs()
    if a.json:
        sys.stdout.write(
            json_text(
                [
                    {
                        "belief": b.name,
                        "says": b.says,
                        "held because": b.held_because,
                        "offends": b.offends,
                        "corrected": b.corrected,
                        "room": b.room,
                    }
                    for b in bs.values()
                ],
            )
        )
        return 0
    for b in bs.values():
        put(
            [
                [(b.name, "rule"), (f"  {b.offends}", "source")],
                *[
                    [("    " + line, "")]
                    for line in textwrap.wrap(f"{b.says} Rather: {b.corrected}", width - 4)
                ],
            ]
        )
    return 0
