"""The command line: call, show. Only this module prints; what each command takes is in `arguments`.

Exit codes: 0 nothing fails and nothing is undecided, 1 something fails, 3 nothing fails but
something is undecided, 2 the input is faulty (or the two chainers differ, which is a defect of
ours), 70 any other defect of ours, 74 what there is to say cannot be written, 130 broken off by
Ctrl-C (`wall`).
"""

from __future__ import annotations

import gc
import os
import sys
from typing import TYPE_CHECKING, Any, TextIO

from .wall import behind, seen

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from ..engine.front import Answer, Entry, Inspection
    from .layout import Line

# Garbage is looked for after so many new things. A command makes much and lets go of little;
# looking all along costs it a third of its time.
NEW_THINGS = 200_000
OF_THE_WORK = ("parts", "order", "price")  # what `why JOB` may ask after beside things of the job
STYLES = {
    "headline": "bold",
    "label": "dim",
    "source": "dim",
    "check": "bold",
    "fails": "bold red",
    "passes": "green",
    "cannot tell": "yellow",
    "advice": "cyan",
    "fault": "bold red",
    "head": "bold underline",
    "caution": "bold yellow",
    "rule": "bold",
    "cell": "green",
    "assumed": "yellow",
    "table": "green",
}


def width() -> int:
    """Columns to write to: the terminal's, at most 100; 80 in a pipe."""
    if not sys.stdout.isatty():
        return 80
    import shutil

    return max(40, min(100, shutil.get_terminal_size((80, 24)).columns))


def put(lines: list[Line], stream: TextIO | None = None) -> None:
    """Print lines: in colour on a terminal that wants it, plain text otherwise."""
    stream = stream or sys.stdout
    lines = [[(seen(t), style) for t, style in line] for line in lines]
    if (
        not stream.isatty()
        or os.environ.get("NO_COLOR") is not None
        or os.environ.get("TERM") == "dumb"
    ):
        for line in lines:
            stream.write("".join(t for t, _ in line).rstrip() + "\n")
        return
    from rich.console import Console
    from rich.text import Text

    console = Console(file=stream, highlight=False, soft_wrap=True)
    for line in lines:
        text = Text()
        for t, style in line:
            text.append(t, STYLES.get(style, ""))
        console.print(text)


def main(argv: list[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    return behind(_run, list(sys.argv[1:] if argv is None else argv))


def _run(args: list[str]) -> int:
    if args[:1] == ["--version"]:
        from . import __version__

        print("whywire", __version__)
        return 0
    gc.set_threshold(NEW_THINGS)
    from .arguments import parser

    p = parser(args[0] if args else "", width)
    a, more = p.parse_known_args(_told_apart(args))
    if more:
        _gather(p, a, more)
    if not a.command:
        p.print_help()
        return 0
    from ..engine.front import Fault, Faults

    try:
        code = getattr(sys.modules[__name__], "_" + a.command)(a)
        sys.stdout.flush()  # what follows is for the next start, and nobody waits for it
        _keep_code()
        _tell_what_is_not_kept()
        return code
    except (Fault, Faults) as found:
        faults = found if isinstance(found, Faults) else Faults([found])
        from .show_faults import faults_as_dict, show_faults

        if getattr(a, "json", False):
            _json(faults_as_dict(faults))
        put(show_faults(faults), sys.stderr)
        return 2


def _keep_code() -> None:
    if cache := sys.modules.get("whywire.engine.running.cache"):
        cache.keep_code()


def _tell_what_is_not_kept() -> None:
    if (kept := sys.modules.get("whywire.engine.basics.kept")) and (said := kept.trouble()):
        put(
            [
                [
                    (
                        (
                            "Note: nothing is kept for the next start, which will take longer:"
                            f" {said}. WHYWIRE_CACHE names another folder, or off."
                        ),
                        "source",
                    )
                ]
            ],
            sys.stderr,
        )


def _told_apart(args: list[str]) -> list[str]:
    """`--under -PACK` as argparse wants it: it would take the pack for an option."""
    out: list[str] = []
    for a in args:
        if out and out[-1] == "--under":
            out[-1] += "=" + a
        else:
            out.append(a)
    return out


def _gather(p: ArgumentParser, a: Namespace, more: list[str]) -> None:
    """Add the words behind an option to those before it, which argparse holds to be the last."""
    words = next(
        (
            v
            for v in (getattr(a, name, None) for name in ("words", "packs", "paths", "what"))
            if isinstance(v, list)
        ),
        None,
    )
    if words is None or any(w.startswith("-") for w in more):
        p.error(f"unrecognized arguments: {' '.join(more)}")
    words.extend(more)


def _json(data: Any) -> None:
    from .wall import json_text

    sys.stdout.write(json_text(data))


def _inspection(a: Namespace, whole: bool = True) -> Inspection | None:
    from .commands import Unusable, inspection

    try:
        return inspection(a.job, tuple(a.pack), a.edition, a.chainer, whole, a.date, a.place)
    except Unusable as e:
        put([[(line, "fault")] for line in str(e).split("\n")], sys.stderr)
        return None


def _inspect_many(a: Namespace) -> int:
    import contextlib

    from .batch import How, cores, outcomes, tasks, worst
    from .show_batch import show_outcome, show_sum
    from .wall import json_line

    how = How(tuple(a.pack), a.edition, a.date, a.place, a.chainer or "plain", a.json)
    lines = getattr(sys.stdin, "buffer", sys.stdin) if a.job == "-" else None
    codes: list[int] = []
    # A count that moves, for somebody who waits; not into what a terminal shows of the lines
    # themselves.
    watched = sys.stderr.isatty() and not sys.stdout.isatty()
    every = outcomes(tasks(a.job, lines), how, max(1, a.workers or cores()))
    with contextlib.closing(every):  # whatever happens here, the processes end with it
        for outcome in every:
            codes.append(outcome.code)
            if a.json:
                sys.stdout.write(json_line(outcome.as_dict()))
            else:
                put(show_outcome(outcome, width()))
            if watched:
                sys.stderr.write(f"\r{len(codes)} inspected")
                sys.stderr.flush()
    if watched:
        sys.stderr.write("\r" + " " * 24 + "\r")
    if not a.json:
        chained = "both chainers" if how.chainer == "both" else "the plain chainer alone"
        put(show_sum(codes, chained, width()))
    return worst(codes)


def _inspect(a: Namespace) -> int:
    if a.job == "-" or os.path.isdir(a.job):
        return _inspect_many(a)
    found = _inspection(a)
    if found is None:
        return 2
    if a.json:
        from .commands import noted

        _json({**found.as_dict(), "note": noted(found).as_dict()})
    else:
        put(_inspected(found, a))
    return found.exit_code


def _inspected(found: Inspection, a: Namespace) -> list[Line]:
    """The lines of an inspected job: the note, or a page of it."""
    if a.all or a.passes:
        from .show_inspection import show_inspection

        out = show_inspection(found, width(), a.all)
        if a.all:
            from . import show_note as sn
            from .commands import noted

            out += sn.show_left_out(noted(found), width())
        return out
    from . import show_note as sn
    from .commands import noted

    note = noted(found)
    if a.walk:
        return sn.show_walk(note, width())
    if a.care:
        return sn.show_care([c["says"] for c in found.cautions_that_hold], note, width())
    if a.assumed:
        return sn.show_assumed(note, width())
    return sn.show_note(note, width())


def _survey(a: Namespace) -> int:
    from . import surveys

    if a.job and os.path.exists(a.job):
        survey = surveys.gone_on(a.job, a.circuit)
    else:
        survey = surveys.begun(a.edition, a.date, a.place, a.title, tuple(a.pack))
    if a.answers:
        survey = surveys.answered(survey, surveys.read_answers(a.answers), a.answers)
    else:
        survey = surveys.asked_in_person(survey, input, print, width())
    if a.job and survey.kind:
        surveys.written(survey, a.job)
    if a.json:
        _json(surveys.as_dict(survey))
    else:
        put([[(line, "")] for line in surveys.end_lines(survey, a.job or "")])
        if survey.line:
            from ..engine.front import note_of
            from .show_note import show_note

            put([[], *show_note(note_of(surveys.inspected(survey)), width())])
    return 0 if survey.card is None else 3


def _page(a: Namespace) -> int:
    if a.page == "build":
        from .page.command import build_page

        for line in build_page(a.to, a.pyodide, a.edition, a.place, a.date):
            print(line)
        return 0
    from .page.command import serve

    serve(a.save, lambda said: print(said, flush=True))
    return 0


def _why(a: Namespace) -> int:
    if a.words and a.words[0] in OF_THE_WORK:
        from .works import why

        return why(a, put, width(), sys.stdout.write)
    return _answer(a, "why")


def _parts(a: Namespace) -> int:
    from .works import run

    return run(a, put, width(), sys.stdout.write)


_order = _price = _prices = _sheet = _record = (
    _parts  # what the work is made of is told by the name of the command
)


def _whynot(a: Namespace) -> int:
    return _answer(a, "why_not")


def _fix(a: Namespace) -> int:
    from .commands import Unusable, fixes
    from .show_fixes import show_fixes

    found = _inspection(a, whole=False)
    if found is None:
        return 2
    try:
        got = fixes(found, a.words)
    except Unusable as e:
        put([[(line, "")] for line in str(e).split("\n")], sys.stderr)
        return 2
    if a.json:
        _json({**got.as_dict(), "packs": found.in_force})
    else:
        put(show_fixes(got, width()))
    return got.code


def _answer(a: Namespace, question: str) -> int:
    from .commands import Unusable, answer

    found = _inspection(a, whole=False)
    if found is None:
        return 2
    try:
        got = answer(found, question, a.words, a.chainer)
    except Unusable as e:
        put([[(line, "")] for line in str(e).split("\n")], sys.stderr)
        return 2
    if a.json:
        _json(_answer_as_dict(a, found, got, question))
        return 0
    if a.form or a.deep:
        return _derivation(a, found, got, question)
    from .show_answer import show_answer, show_plain

    put(show_plain(got, width()) if a.plain else show_answer(got, width()))
    return 0


def _answer_as_dict(a: Namespace, found: Inspection, got: Answer, question: str) -> dict[str, Any]:
    """An answer as plain data, with the graph it rests on."""
    from .show_reason import marked

    g = found.derivation(got) if got.root else None
    return {
        "question": [question.replace("_", ""), *a.words],
        "answer": got.as_dict(),
        "graph": marked(g.as_dict(), _reason(found, got, question)) if g else None,
        "packs": found.in_force,
    }


def _reason(found: Inspection, got: Answer, question: str) -> Entry | None:
    """The reason of an answer; `whynot` asks about a job that is not so, and has none."""
    return found.reason(got) if question == "why" else None


def _derivation(a: Namespace, found: Inspection, got: Answer, question: str) -> int:
    """Show what an answer rests on: its reason, or with --all the whole derivation."""
    reason = None if a.all else _reason(found, got, question)
    if reason is not None:
        from .show_reason import FORMS, show_reason

        if a.form:
            sys.stdout.write(FORMS[a.form](reason))
        else:
            put(show_reason(reason, width()))
        return 0
    if not got.root:
        put([[("there is no derivation to show", "")]], sys.stderr)
        return 2
    from .show_graph import FORMS as WHOLE
    from .show_graph import show_tree

    g = found.derivation(got)
    if a.form:
        sys.stdout.write(WHOLE[a.form](g))
    else:
        put(show_tree(g, width()))
    return 0


def _compare(a: Namespace) -> int:
    from ..engine.front import compare

    got = compare(a.job, a.under)
    if a.json:
        _json(got.as_dict())
    else:
        from .show_compare import show_compare

        put(show_compare(got, a.job, width(), a.all))
    return 2 if got.faults else 0


def _packs(a: Namespace) -> int:
    from . import show_packs as sp
    from .commands import packs

    kind, got = packs(a.job, a.behind, tuple(a.pack), a.edition, a.date, a.place)
    if a.json:
        _json(got.as_dict() if kind == "behind" else {"packs": got} if kind == "shelf" else got)
    else:
        put(
            sp.show_behind(got, width())
            if kind == "behind"
            else (
                sp.show_shelf(got, width())
                if kind == "shelf"
                else sp.show_in_force(got, a.job or "", width())
            )
        )
    return 0


def _rules(a: Namespace) -> int:
    from .commands import find_rules
    from .show_rules import rules_as_dict, show_rules

    k, hits, exact = find_rules(a.words, tuple(a.pack), a.edition)
    if a.json:
        _json(rules_as_dict(k, hits))
    else:
        put(show_rules(k, hits, exact, a.words, width()))
    return 0 if hits else 2


def _words(a: Namespace) -> int:
    from .commands import find_words
    from .show_words import show_overview, show_words, words_as_dict

    lexicon, found, rules = find_words(a.words, tuple(a.pack), a.edition)
    if a.json:
        _json(words_as_dict(lexicon, found, rules))
    elif not a.words:
        put(show_overview(lexicon, width()))
    else:
        put(show_words(lexicon, found, rules, width()))
    return 0


def _book(a: Namespace) -> int:
    from .commands import book

    pages = book(tuple(a.packs), a.edition, a.date, a.place, a.form, a.to)
    put([[(f"{pages} pages in {a.to}", "headline")]])
    return 0


def _pack(a: Namespace) -> int:
    return {
        "new": _pack_new,
        "diff": _pack_diff,
        "publish": _pack_publish,
        "verify": _pack_verify,
        "unpack": _pack_unpack,
    }[a.what](a)


def _pack_new(a: Namespace) -> int:
    from .commands import new_pack

    folder = new_pack(a.name, a.place, a.edition, a.layer, a.within, a.start, a.into)
    said = f"{folder}: pack.yaml, ordinance.yaml and a job. Next: whywire check {folder}"
    put([[(said, "headline")]])
    return 0


def _pack_diff(a: Namespace) -> int:
    from .commands import difference_of_packs, write_new
    from .show_diff import diff_page, show_diff

    got = difference_of_packs(a.name, a.other, tuple(a.jobs), a.date)
    if a.json:
        _json(got.as_dict())
    else:
        put(show_diff(got, width()))
    if a.page:
        write_new(a.page, diff_page(got))
        put([[(f"The same as a page: {a.page}", "headline")]], sys.stderr)
    return 0 if got.same else 1


def _pack_publish(a: Namespace) -> int:
    from .commands import published, write_new

    text = published(a.name, a.version)
    if not a.to:
        put([[(line, "")] for line in text.rstrip("\n").split("\n")])
        return 0
    write_new(a.to, text)
    digest = next(line for line in text.split("\n") if line.startswith("digest: "))
    put([[(f"{a.to}: version {a.version}, {digest}", "headline")]])
    return 0


def _pack_verify(a: Namespace) -> int:
    from .commands import verified
    from .show_diff import against_as_dict, show_against

    got = verified(a.name, a.other)
    if a.json:
        _json(against_as_dict(got))
    else:
        put(show_against(got, width()))
    return 0 if got.is_same else 1


def _pack_unpack(a: Namespace) -> int:
    from .commands import unpacked

    got = unpacked(a.name, a.to)
    put([[(f"{a.to or got.name}: {got.name}, version {got.version}, as published", "headline")]])
    return 0


def _format(a: Namespace) -> int:
    from .commands import formatted

    changed, faults = formatted(tuple(a.paths), not a.check)
    put([[(f"{path}: {'is not in form' if a.check else 'put in form'}", "")] for path in changed])
    faults.stop()
    return 1 if a.check and changed else 0


def _schema(a: Namespace) -> int:
    from .commands import schema

    _json(schema(a.what, tuple(a.packs), a.edition))
    return 0


def _quiz(a: Namespace) -> int:
    from .quizzes import run

    return run(a, put, width())


def _check(a: Namespace) -> int:
    from ..engine.front import amends, is_base
    from .commands import folder_of

    a.packs = [f for f in map(folder_of, a.packs) if not is_base(f)]  # the base is always checked
    if a.coverage or a.mutate:
        return _tested(a)
    if edited := [p for p in a.packs if amends(p)]:
        a.packs = [p for p in a.packs if p not in edited]
        codes = [_review(a, p) for p in edited]
        return max(codes) or (_check(a) if a.packs else 0)
    from .commands import check
    from .show_faults import check_as_dict, show_check

    got = check(tuple(a.packs), a.edition, a.only)
    if a.json:
        _json(check_as_dict(got))
    else:
        put(show_check(got))
    return 1 if got["wrong"] or got["missing"] else 0


def _review(a: Namespace, pack: str) -> int:
    from ..engine.front import Faults
    from .commands import reviewed
    from .show_faults import show_faults
    from .show_review import review_as_dict, show_changes, show_review

    got, changes, written = reviewed(
        pack, a.changes, a.write, a.answers, _ask_of_a_vote if a.ask else None
    )
    if a.json:
        _json(review_as_dict(got, changes))
    else:
        put([[(f"{path}: {n} lines added; read them", "headline")] for path, n in written])
        put(
            show_review(got, width())
            + (show_changes(changes, got.said, width()) if changes else [])
        )
    put(show_faults(Faults(got.faults.items)), sys.stderr)
    return 2 if got.faults.items else 0


def _ask_of_a_vote(question: str) -> str:
    """What a person answers to a scene: y, n, or nothing where it is left open."""
    from .layout import wrap

    for _ in range(3):
        put([[(line, "caution")] for line in wrap(question, width())])
        put([[("Is that what was voted? y/n (nothing leaves it open): ", "label")]])
        sys.stdout.flush()
        said = sys.stdin.readline().strip().lower()
        if said in ("", "y", "yes", "n", "no"):
            return said
        put([[(f'"{said}" is neither y nor n.', "fault")]])
    return ""


def _tested(a: Namespace) -> int:
    from . import show_tests as st
    from .commands import tested

    cover, mutate = tested(
        tuple(a.packs), a.edition, a.only, a.coverage, a.mutate, a.sample, a.seed
    )
    if a.json:
        _json(
            {
                **({"coverage": st.coverage_as_dict(cover)} if cover else {}),
                **({"mutation": st.mutation_as_dict(mutate)} if mutate else {}),
            }
        )
    else:
        put(
            (st.show_coverage(cover) if cover else [])
            + (st.show_mutation(mutate) if mutate else [])
        )
    return (
        1
        if (cover and (cover.lacks or cover.stale))
        or (mutate and (mutate.survivors or mutate.stale or mutate.unread))
        else 0
    )


if __name__ == "__main__":
    sys.exit(main())
