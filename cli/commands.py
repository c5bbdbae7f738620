"""What each command does, as plain data: no printing, no colours."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from ..engine.front import Fault, Faults, suggest

if TYPE_CHECKING:
    from ..engine.front import (
        Against,
        Answer,
        Collector,
        Disagreement,
        Fixes,
        InForce,
        Inspection,
        Knowledge,
        Lexicon,
        Mapping,
        Note,
        PackDiff,
        Place,
        Published,
        Reason,
        Review,
        Scene,
    )

# the knowledge, (name, sort, as written) of each that was found, and whether it was named exactly
Found: TypeAlias = "tuple[Knowledge, list[tuple[str, str, Mapping]], bool]"

# what a person said of a scene: what is asked about, the answer, and where it stands
Told: TypeAlias = "tuple[str, str, Place]"


class Unusable(Exception):
    """A question that cannot be answered as it was put; the message says what to do."""


def inspection(
    job: str,
    packs: tuple[str, ...],
    edition: str | None,
    chainer: str | None,
    whole: bool = True,
    date: str | None = None,
    place: str | None = None,
) -> Inspection:
    """Inspect a job, with both chainers where both run (unless not *whole*: then each answer is
    confirmed by itself).

    Raises Faults, or Unusable where the chainers differ.
    """
    from ..engine.front import Disagreement, Inspection, opened

    body, force, k = opened(job, packs, edition, date, place)
    try:
        return Inspection(body, k, (chainer or "fitting") if whole else "plain", force)
    except Disagreement as d:
        raise _differ(d) from None


def fixes(found: Inspection, words: list[str]) -> Fixes:
    """What can be done about what is wrong with an inspected job, or with a thing of it.

    Raises Unusable where nothing is called so.
    """
    from ..engine.front import Unclear, fixes_of, law_of

    try:
        return fixes_of(found.standing, found.job.title or found.name, law_of(found), words)
    except Unclear as e:
        raise Unusable(str(e)) from None


def noted(found: Inspection) -> Note:
    """The note of an inspected job."""
    from ..engine.front import note_of

    return note_of(found)


def _differ(d: Disagreement) -> Unusable:
    said = "\n".join(f"  {line}" for line in map(str, d.differences[:12]))
    return Unusable(
        f"The two chainers differ on {d.job}, so there is no answer. This is a defect of"
        f" whywire.\n{said}\nPlease report it with the job's file and this text (DEVELOPERS.md,"
        " reporting)."
    )


def answer(
    found: Inspection, question: str, words: list[str], chainer: str | None = None
) -> Answer:
    """The answer to a question about an inspected job, confirmed by the second chainer where it
    runs.

    Raises:
        Unusable: the question is not clear, or the chainers differ.
    """
    from ..engine.front import Disagreement, Unclear

    try:
        if question == "why" and not words:
            words = [_first_subject(found)]
        got: Answer = getattr(found, question)(*words)
        if chainer == "both" or chainer is None and found.second_fits:
            found.confirm(got, asked=chainer == "both")
        if chainer is None and not found.second_fits:
            got.chained = f"Chained by the plain chainer alone: {found.alone}."
        return got
    except Unclear as e:
        raise Unusable(str(e)) from None
    except Disagreement as d:
        raise _differ(d) from None


def _first_subject(found: Inspection) -> str:
    worst = found.worst
    if worst is None:
        raise Unusable("this job has no findings to ask about")
    return worst


def packs(
    job: str | None,
    name: str | None,
    named: tuple[str, ...],
    edition: str | None,
    date: str | None,
    place: str | None,
) -> tuple[str, Any]:
    """("shelf", every pack), ("in force", what is in force and why) or ("behind", the chain of
    packs behind *name*). Raises Faults.
    """
    from ..engine.front import behind, body_of, in_force, in_force_for, shelf

    asked = job or named or edition or date or place
    try:
        body, where = body_of(job) if job else ({}, "packs")
    except Fault as f:
        raise Faults([f]) from None
    force = in_force(body, where, named, edition, date, place) if asked else None
    if force and place and not force.packs:
        raise Faults([_no_place(force)])
    return (
        ("behind", behind(name, force))
        if name
        else ("in force", in_force_for(force))
        if force
        else ("shelf", shelf())
    )


def find_words(
    words: list[str], packs: tuple[str, ...], edition: str
) -> tuple[Lexicon, list, list]:
    """The vocabulary to look things up in, and what *words* may mean: words, rules and tables.

    Raises Faults where they mean nothing known.
    """
    from ..engine.front import Lexicon, load

    lexicon = Lexicon(load(packs, edition))
    phrase = " ".join(words)
    found = lexicon.find(phrase) if phrase else []
    rules = lexicon.rules_and_tables(phrase) if phrase else []
    if phrase and not found and not rules:
        near = lexicon.nearest(phrase)
        raise Faults(
            [
                Fault(
                    "no-such-word",
                    _place(),
                    f'nothing here is called "{phrase}"',
                    "nearest here: " + ", ".join(near),
                )
            ]
        )
    return lexicon, found, rules


def find_rules(words: list[str], packs: tuple[str, ...], edition: str) -> Found:
    """Rules, tables and values whose name or words match all of *words*; the exact name alone is
    one hit.

    With *packs*, as those have them on the day on which most of what they change holds.

    Raises:
        Faults: there is none, or it is withdrawn.
    """
    # what is kept between starts has no examples
    from ..engine.front import entries, load_anew

    k = load_anew(*_fullest(packs, edition)) if packs else load_anew((), edition)
    items = {name: (kind, d) for (kind, name), d in entries(k).items()}
    name = k.called("-".join(words))
    for n in (name, " ".join(words)):
        if n in items:
            return k, [(n, *items[n])], True
    low = [w.lower() for w in words]

    def text(i: str, d: Mapping) -> str:
        rows = k.tables[i] if i in k.tables else None
        parts = [
            i,
            str(d.get("says", "")),
            str(d.get("because", "")),
            str(d.get("about", "")),
            str(d.get("limits", "")),
            *(str(v) for v in (d.get("code") or {}).values()),
            *(
                sorted({str(r[key]) for r in rows.rows for key in rows.keys if not rows.unit(key)})
                if rows
                else ()
            ),
        ]
        return " ".join(parts).lower()

    hits = [(i, *items[i]) for i in sorted(items) if all(w in text(i, items[i][1]) for w in low)]
    if not hits and name in k.withdrawn:
        e = k.withdrawn[name]
        raise Faults(
            [
                Fault(
                    "already-withdrawn",
                    _place(),
                    f"{name} is withdrawn by {e.pack.where}, {e.cite}"
                    + (f", {e.window()}" if e.window() else ""),
                    f"whywire rules {name} shows it as it stands elsewhere",
                )
            ]
        )
    if not hits:
        raise Faults(
            [
                Fault(
                    "no-such-rule",
                    _place(),
                    f'no rule, table or value answers to "{" ".join(words)}"',
                    suggest(name, items),
                )
            ]
        )
    return k, hits, False


def book(
    packs: tuple[str, ...],
    edition: str | None,
    date: str | None,
    place: str | None,
    form: str,
    folder: str,
) -> int:
    """Write the rule book of what is in force into *folder*; how many pages. Raises Faults."""
    from ..engine.front import Collector, in_force, make_book, ours, write_folder
    from .show_book import show_book

    faults = Collector()
    with faults.catching():
        ours(Path(folder))
    with faults.catching():
        force = in_force({}, "book", packs, edition or (None if place else "2023"), date, place)
        if not edition and any(p.adopts for p in force.packs):
            # a pack that adopts an edition says which
            force = in_force({}, "book", packs, None, date, place)
        if place and not force.packs:
            faults.take(_no_place(force))
    faults.stop()
    files = show_book(make_book(force), form)
    with faults.catching():
        write_folder(Path(folder), files)
    faults.stop()
    return len(files)


def new_pack(
    name: str,
    place: str | None,
    edition: str,
    layer: str,
    within: str,
    start: str | None,
    into: str,
) -> Path:
    """Write a pack to begin with into a folder of its own in *into*; its folder. Raises Faults;
    nothing is written over.
    """
    from datetime import date

    from ..engine.front import Collector, Place, known_packs, starter, write_starter

    faults, known, folder = Collector(), known_packs(), Path(into) / name
    with faults.catching():
        if name in known:
            raise Fault(
                "id-in-use",
                Place("NAME"),
                f'another pack is called "{name}" (in {known[name].folder})',
                "give it a name of its own",
            )
    with faults.catching():
        if within and within not in known:
            raise Fault(
                "no-such-pack",
                Place("--within"),
                f'"{within}" is no pack on the shelf',
                suggest(within, known),
            )
    with faults.catching():
        files = starter(
            name,
            place or name.replace("-", " ").title(),
            edition,
            layer,
            within,
            start or date.today().isoformat(),
        )
    faults.stop()
    with faults.catching():
        write_starter(folder, files)
    faults.stop()
    # of: and meaning: of the amendment that is in force
    reviewed(str(folder), False, True)[0].faults.stop()
    return folder


def difference_of_packs(old: str, new: str, jobs: tuple[str, ...], day: str) -> PackDiff:
    """What one version of a pack does otherwise than another. Raises Faults."""
    from ..engine.front import pack_diff, said_day

    if not new:
        raise Unusable("pack diff takes two: whywire pack diff OLD NEW")
    on = said_day(day, _at("--date")).isoformat() if day else ""
    return pack_diff(Path(folder_of(old)), Path(folder_of(new)), jobs, on)


def published(pack: str, version: str) -> str:
    """A pack as one file. Raises Faults."""
    from ..engine.front import publish

    if not version:
        raise Unusable("a published pack has a version: add --version and a number")
    return publish(Path(folder_of(pack)), version)


def verified(pack: str, file: str) -> Against:
    """How a pack compares with what was published. Raises Faults."""
    from ..engine.front import against

    if not file:
        raise Unusable("pack verify takes two: whywire pack verify FOLDER FILE")
    return against(Path(folder_of(pack)), Path(file))


def unpacked(file: str, folder: str) -> Published:
    """Write what was published into a new folder, called as the pack unless one is named."""
    from ..engine.front import read_published, unpack

    return unpack(Path(file), Path(folder or read_published(Path(file)).name))


def write_new(path: str, text: str) -> None:
    """Write a file that is not there yet. Raises Faults where it is, or may not be written."""
    at = _at(path)
    if Path(path).exists():
        what = "this file is there already, and nothing is written over"
        raise Faults([Fault("there-already", at, what, "name another, or take it away")])
    try:
        Path(path).write_text(text, encoding="utf-8", newline="\n")
    except OSError as e:
        what = f"this file cannot be written: {e.strerror or e}"
        raise Faults([Fault("not-writable", at, what, "may you write in that folder?")]) from None


def _at(name: str) -> Place:
    from ..engine.front import Place

    return Place(name)


def formatted(paths: tuple[str, ...], write: bool) -> tuple:
    """The files that are not in form, of those named or in the folders named, put in form where
    *write*; and the faults of those that cannot be.

    Of a folder nothing hidden is touched, and nothing that a link leads to: it may be anybody's.
    """
    from ..engine.front import Collector, Place, decode, in_form, put_in_place, read_bytes

    faults, out = Collector(), []

    def inside(folder: Path) -> list[Path]:
        return [
            p
            for p in sorted(folder.rglob("*.yaml"))
            if not p.is_dir()
            and not p.is_symlink()
            and not any(part.startswith(".") for part in p.relative_to(folder).parts)
        ]

    for folder in (f for f in map(Path, paths) if f.is_dir() and not any(f.rglob("*.yaml"))):
        faults.add(
            "no-such-file",
            Place(str(folder)),
            "there is no YAML file in this folder",
            "name a file that ends in .yaml, or a folder that holds one",
        )
    for path in (
        p for name in map(Path, paths) for p in (inside(name) if name.is_dir() else [name])
    ):
        with faults.catching():
            data = read_bytes(path, str(path))
            text = in_form(decode(data, str(path)), str(path))
            if text.encode() != data:
                if write:
                    put_in_place(path, text)
                out.append(str(path))
    return out, faults


def schema(what: str, packs: tuple[str, ...], edition: str) -> dict:
    """The JSON Schema of a ``job`` or of the files of a ``pack``, with the words of *packs* beside
    those of the base.

    A pack may be half written: what is faulty in it is left out. Raises Faults for a pack that is
    not there.
    """
    from ..engine.front import (
        Collector,
        Library,
        job_schema,
        known_packs,
        pack_schema,
        with_all_above,
    )

    library = Library(with_all_above(packs), Collector(), examples=False)
    material = library.material(edition, None)
    if what == "pack":
        return pack_schema(library, material)
    return job_schema(
        library.words, material.tables, [p.place for p in known_packs().values() if p.place]
    )


def _no_place(force: InForce) -> Fault:
    from ..engine.front import Place

    return Fault(
        "no-such-place", Place("--place"), force.notes[0], "whywire packs lists the packs there are"
    )


def _place() -> Place:
    from ..engine.front import Place

    return Place("rules")


def check(packs: tuple[str, ...], edition: str, only: str | None = None) -> dict:
    """Load, run every example, list the examples that are missing. Raises Faults where the packs do
    not load.
    """
    from ..engine.front import (
        Library,
        all_kept,
        cover,
        lacking,
        note_clashes,
        note_gaps,
        note_never,
        run_examples,
        unlisted,
    )

    with all_kept():
        library = Library(packs)
        k = library.in_force(edition)
    outcomes, faults = run_examples(k, k.called(only) if only else None)
    for r in k.rules.values():
        note_never(r, k, r.at, faults)
    note_clashes(k, None, {}, faults)
    note_gaps(k, faults)
    reasons = _reasons(packs, faults)
    faults.stop()
    missing: dict[str, list] = {}
    for lack in cover(k, {k.called(only)} if only else None, reasons).lacks:
        missing.setdefault(lack.rule, []).append(lack)
    return {
        "knowledge": k,
        "outcomes": outcomes,
        "wrong": [o for o in outcomes if not o.ok],
        "missing": missing,
        # what is asked is asked of the base: a pack has no questions of its own
        "notes": [
            *library.old_names_in(),
            *unlisted(k),
            *([] if packs or only else lacking(k)),
        ],
    }


def _reasons(packs: tuple[str, ...], faults: Collector) -> list[Reason]:
    """What the packs say that no example can show."""
    from ..engine.front import KB, read_reasons

    with faults.catching():
        return read_reasons([KB / "base", *map(Path, packs)])
    return []


def folder_of(pack: str) -> str:
    """The folder of a pack that may be called by its name on the shelf."""
    if not Path(pack).exists():
        from ..engine.front import known_packs

        if found := known_packs().get(pack):
            return str(found.folder)
    return pack


def _asked_about(got: Review) -> dict[str, Scene]:
    """What is asked about each edit, by its target; of several edits of one target, by its section
    too.
    """
    targets = [scene.edit.target for scene in got.scenes]
    return {
        target if targets.count(target) == 1 else f"{target} {scene.edit.cite}": scene
        for target, scene in zip(targets, got.scenes)
    }


def _voted(got: Review, said: Iterable[Told]) -> tuple[dict[int, list[str]], list[Fault]]:
    """The examples of the edits whose scene was answered with yes; a no is a fault of the edit."""
    scenes = _asked_about(got)
    shown: dict[int, list[str]] = {}
    refused: list[Fault] = []
    for name, answer, at in said:
        if name not in scenes:
            todo = suggest(name, scenes) or "nothing is asked any more"
            raise Faults([Fault("no-scene", at, f'nothing is asked about "{name}"', todo)])
        scene = scenes[name]
        if answer not in ("y", "yes", "n", "no"):
            raise Faults([Fault("no-answer", at, f'"{answer}" is no answer', f"write {name}: y")])
        if answer in ("n", "no"):
            what = f"{scene.edit.name} does what was not voted: {scene.says}"
            todo = "look at its lines and at the day from which it holds"
            refused.append(Fault("not-voted", scene.edit.at, what, todo))
        else:
            shown[scene.edit.number] = scene.examples()
    return shown, refused


def _answers_in(answers: str) -> Iterator[Told]:
    """The answers that a file gives, a line an edit."""
    from ..engine.front import Place, decode, read_bytes

    lines = decode(read_bytes(Path(answers), answers), answers).splitlines()
    for row, line in enumerate(lines, 1):
        # a section may have a colon in it, and an answer has none
        name, _, said = (part.strip() for part in line.rpartition(":"))
        if name and not name.startswith("#"):
            yield name, said.lower(), Place(answers, row, 1)


def reviewed(
    pack: str,
    changes: bool,
    write: bool,
    answers: str = "",
    ask: Callable[[str], str] | None = None,
) -> tuple:
    """A pack of edits as its writer should see it: (review, what it changes or None, the files that
    were written to). *answers* is a file that says of each edit whether its scene is what was
    voted, *ask* puts the question to a person ("" leaves it open); where it is, its examples are
    written too.

    Raises Faults where it cannot be read at all, or the answers cannot.
    """
    from ..engine.front import Place, review

    got, written = review(Path(pack)), []
    said = [*_answers_in(answers)] if answers else []
    if ask is not None:
        for name, scene in _asked_about(got).items():
            if answer := ask(f"{scene.edit.name}. {scene.says}").strip().lower():
                said.append((name, answer, Place("answer")))
    if write or answers or said:
        from ..engine.front import fill_in

        shown, refused = _voted(got, said)
        if written := fill_in(Path(pack), got.edits, got.said, got.prints, shown):
            got = review(Path(pack))
        # what was refused stays so until the edit is another
        got.faults.take(*refused)
    if not changes:
        return got, None, written
    from ..engine.front import what_it_changes

    return got, what_it_changes(got), written


def _fullest(packs: tuple[str, ...], edition: str) -> tuple:
    """The folders of *packs* and of what they lie within, an edition that is adopted there, and the
    day on which most of their edits hold: today, if it is one.
    """
    from datetime import date

    from ..engine.front import Library, with_all_above

    folders = with_all_above(packs)
    library, mine = Library(folders, examples=False), {Path(p).resolve() for p in packs}
    edits = [e for p in library.packs if p.folder.resolve() in mine for e in p.edits]
    adopted = [w.edition for p in library.packs for w in p.adopts]
    days = [date.today().isoformat(), *sorted({e.first_day for e in edits if e.first_day})]
    return (
        folders,
        edition if edition in adopted or not adopted else max(adopted),
        max(days, key=lambda d: sum(e.holds_on(d) for e in edits)),
    )


def tested(
    packs: tuple[str, ...],
    edition: str,
    only: str | None,
    coverage: bool,
    mutation: bool,
    sample: int | None,
    seed: int,
) -> tuple:
    """How well the examples test the rules, of packs that are named those they bring or change:
    (coverage or None, mutation or None).

    What a pack changes is taken over the packs it lies within, as of the day on which most of it
    holds. Raises Faults where an example of the base is wrong: that is mended first.
    """
    from ..engine.front import cover, load_anew, pack_files, ready, run_examples, shown_name

    folders, edition, day = _fullest(packs, edition) if packs else ((), edition, None)
    k = load_anew(folders, edition, day)
    only = k.called(only) if only else None
    if only is not None and only not in k.rules:
        raise Faults(
            [
                Fault(
                    "no-such-rule",
                    _place(),
                    f'no rule in force is called "{only}"',
                    suggest(only, k.rules),
                )
            ]
        )
    outcomes, faults = run_examples(k, only)
    mine = {shown_name(p) for folder in packs for p in pack_files(Path(folder))}
    if packs:  # what an edit does to the examples of others, whywire check tells at the edit
        outcomes, faults.items = (
            [o for o in outcomes if o.at[0] in mine],
            [f for f in faults.items if f.at[0] in mine],
        )
    for o in outcomes:
        if not o.ok and o.rule not in k.trail:
            faults.add(
                "example-wrong",
                o.at,
                f"{o.rule}, example {o.number}: expected {o.wanted}, and it is {o.got}",
                "mend it first: whywire check",
            )
    reasons = _reasons(packs, faults)
    faults.stop()
    rules = (
        {only}
        if only
        else (
            {
                r.id
                for r in k.rules.values()
                if r.at[0] in mine or any(e.at[0] in mine for e in k.trail.get(r.id, ()))
            }
            if packs
            else None
        )
    )
    mutated = None
    if mutation:
        from ..engine.front import mutate

        mutated = mutate(k, rules, sample, seed, reasons)
    return cover(k, rules, reasons, ready) if coverage else None, mutated
