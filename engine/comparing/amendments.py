"""A pack of edits looked at as its writer should see it: on every day it names, each edit said
back, each shown to do something.

An edit is right when it means what was meant. Nobody but its writer knows that, so this says back
what was understood, asks for an example that comes out otherwise because of the edit and one that
does not, and runs both with and without.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date as Date
from functools import cached_property
from pathlib import Path

from ..basics.errors import Collector, Fault, Faults, Place, suggest
from ..basics.reading import place_of
from ..checking.clashes import note_clashes, note_never
from ..checking.coverage import lacking
from ..checking.examples import ANSWERS, HOLDS, Stub, run_example, run_examples, show
from ..checking.gaps import gaps
from ..language.knowledge import KB, Knowledge, assemble
from ..language.order import reads_of
from ..language.rules import EDITIONS, FILLING, JUDGING
from ..language.words import a_noun, as_list
from ..law.applying import fingerprint
from ..law.edits import CHANGES, LAXER, STRICTER, Edit, day_before
from ..law.library import Library, Pack, pack_files, shown_name
from ..law.meanings import listed, said_back
from ..law.places import known_packs
from ..running.chain import OFF, SET_ASIDE, World
from .without import OneDay

EXAMPLE_KEYS = ("rule", "given", "answer", "gives", "because", "note")
# The kinds of thing that most jobs have, offered to whoever writes a word of a kind that none has.
USUAL_KINDS = {"job", "circuit", "panel", "load", "segment", "box", "working space"}


@dataclass
class Move:
    """One example of an edit: what comes out with the edit, and what without."""

    edit: Edit
    number: int
    rule: str
    without: str
    within: str

    @property
    def moved(self) -> bool:
        return self.without != self.within

    @property
    def direction(self) -> str:
        """Which way the answer went."""
        worse = {
            "passes": 0,
            OFF: 0,
            "exception applies": 0,
            "advice": 1,
            "cannot tell": 2,
            "fails": 3,
        }
        a, b = worse.get(self.without), worse.get(self.within)
        return CHANGES if a is None or b is None or a == b else STRICTER if b > a else LAXER


@dataclass
class Review:
    """What `check` says of a pack."""

    pack: Pack
    editions: list[str]
    days: list[str]
    edits: list[Edit] = field(default_factory=list)
    said: dict[int, str] = field(default_factory=dict)  # an edit's number -> what it means
    # an edit's number -> what it was written over
    prints: dict[int, str] = field(default_factory=dict)
    moves: list[Move] = field(default_factory=list)
    notices: list[str] = field(default_factory=list)
    faults: Collector = field(default_factory=Collector)
    library: Library | None = None
    # the editions and days on which it can be put together
    sound: list[tuple[str, str]] = field(default_factory=list)
    # the edits that could not be carried out on some day
    unsound: list[Edit] = field(default_factory=list)

    @cached_property
    def restated(self) -> dict[str, list]:
        """The facts of every example in the pack's edits, by the rule it is an example of."""
        out: dict[str, list] = {}
        for e in self.pack.edits:
            for d in as_list(e.d.get("examples")):
                if isinstance(d, dict):
                    out.setdefault(str(d.get("rule", e.target)), []).append(d.get("given"))
        return out


def review(folder: Path) -> Review:
    """Look at the pack in *folder* on every day it names. Raises Faults where it cannot be read at
    all.
    """
    folder, faults = Path(folder), Collector()
    below = _below(folder, faults)
    library = Library((*below, folder), faults)
    pack = next((p for p in library.packs if p.folder.resolve() == folder.resolve()), None)
    if pack is None:
        faults.stop()
    got = Review(pack, _editions(pack, library), [], pack.edits, faults=faults, library=library)
    got.days = _days(library, pack)
    got.notices += (
        _out_of_reach(pack)
        + _without_edition(pack)
        + ([] if faults.items else _nothing_in_it(library, pack))
    )
    seen: dict[str, tuple[Fault, list]] = {}
    tried: dict[tuple, tuple[OneDay, set]] = {}
    idle: set[tuple] = set()
    for edition in got.editions:
        for day in got.days:
            if _adopted(library, edition, day):
                there, left_out, found = _as_far_as_sound(library, pack, edition, day)
                idle |= {(id(e), edition, day) for e in pack.edits if e.done.get("idle")}
                for f in found:
                    seen.setdefault(f"{f.code} {f.at} {f.what}", (f, []))[1].append((edition, day))
                if there is not None:
                    tried[edition, day] = there, left_out
    last = [(ed, d) for ed in got.editions for d in got.days if _adopted(library, ed, d)][-1:]
    for f, when in seen.values():  # what is amiss on some days only, names one
        faults.take(
            f
            if last[0] in when
            else Fault(f.code, f.at, f"{f.what} (for a permit of {when[0][1]})", f.todo)
        )
    for e in pack.edits:
        at = [
            when
            for when, (_, left_out) in tried.items()
            if e.holds_on(when[1]) and id(e) not in left_out
        ]
        busy = [when for when in at if (id(e), *when) not in idle]
        if busy and e.sound:
            when = _telling(e, library, busy)
            _look(e, tried[when][0], bool(tried[when][1]), got)
        elif not at and not any(
            e.holds_on(d) and _adopted(library, ed, d) for ed in got.editions for d in got.days
        ):
            faults.add(
                "edit-never",
                e.at,
                f"{e.name} is in force on no day for which an edition is adopted",
                "look at its from: and until:, and at those of the pack",
            )
        if at and not busy:
            faults.add(
                "no-op-edit",
                e.at,
                f"{e.name} changes nothing in"
                f" {' and '.join(dict.fromkeys(when[0] for when in at))}",
                "leave the edit out",
            )
    _beside(got, below, set(seen))
    got.sound, wrong = list(tried), {i for _, left_out in tried.values() for i in left_out}
    got.unsound = [e for e in pack.edits if id(e) in wrong]
    if tried:
        k = next(reversed(tried.values()))[0].k
        got.notices += _new_words(library, pack, k) + _gaps(pack, k)
        _reachable(library, pack, faults)
        _own_rules(pack, k, faults)
        files = {shown_name(p) for p in pack_files(pack.folder)}
        places = {i: r.at for i, r in k.rules.items() if r.at[0] in files} | {
            e.target: e.at for e in pack.edits if e.target in k.rules
        }
        for there, _ in tried.values():
            on_a_day = Collector()
            note_clashes(there.k, {*places} & there.k.rules.keys(), places, on_a_day)
            faults.take(*[f for f in on_a_day.items if str(f) not in map(str, faults.items)])
    faults.items.sort(key=lambda f: (f.at, f.code, f.what))
    return got


def _out_of_reach(pack: Pack) -> list[str]:
    """That no place of a job brings in a pack which is the law of one."""
    if pack.layer not in ("state", "county", "city") or any(pack.names):
        return []
    return [
        f"This {pack.layer} pack has no place:, so that no job is there: it is in force only where"
        " a job or --pack names it, or another pack lies within it. Add place: and the name that a"
        " job writes."
    ]


def _nothing_in_it(library: Library, pack: Pack) -> list[str]:
    """That a pack amends nothing: its ordinance may lie in a file that is not read."""
    if pack.edits or any(pack.folder in (where, *where.parents) for _, where in library._items):
        return []
    return ["This pack amends nothing: no file of it that ends in .yaml has an edit."]


def _without_edition(pack: Pack) -> list[str]:
    """The days on which a pack is in force and adopts no edition, though it does on others."""
    if not pack.adopts or not pack.start or not pack.dated:
        return []
    gaps, covered, end = [], pack.start, pack.end or "9999"
    for w in sorted(pack.adopts, key=lambda w: w.start):
        if covered < min(w.start, end):
            gaps.append(f"from {covered} up to {day_before(min(w.start, end))}")
        covered = max(covered, w.end or "9999")
    if covered < end:
        gaps.append(
            f"from {covered} up to {day_before(pack.end)}" if pack.end else f"from {covered} on"
        )
    return [
        f"This pack is in force {gap}, and adopts no edition then: a job of those days must say"
        " edition: itself."
        for gap in gaps
    ]


def _own_rules(pack: Pack, k: Knowledge, faults: Collector) -> None:
    """The examples of the rules that a pack brings beside its edits."""
    files = {shown_name(p) for p in pack_files(pack.folder)}
    for r in k.rules.values():
        if r.at[0] not in files or any(e.verb == "add" for e in k.trail.get(r.id, ())):
            continue
        if note_never(r, k, r.at, faults):
            continue
        outcomes, wrong = run_examples(k, r.id)
        faults.take(*wrong.items)
        for o in outcomes:
            if not o.ok:
                faults.add(
                    "example-wrong",
                    o.at,
                    f"{r.id}, example {o.number}: expected {o.wanted}, and it is {o.got}",
                    "correct the example, or the rule",
                )
        if need := lacking(k, r):
            faults.add(
                "example-needed", r.at, f"{r.id} lacks {'; '.join(need)}", "add it to its examples:"
            )


def _as_far_as_sound(
    library: Library, pack: Pack, edition: str, day: str
) -> tuple[OneDay | None, set, list[Fault]]:
    """What is in force on one day, without the edits that are faulty; which those are, and every
    fault.
    """
    left_out: set[int] = set()
    found: list[Fault] = []

    def blamed(faults: list[Fault]) -> set[int]:
        places = {_edit_at(pack, f.at) for f in faults}
        return {id(e) for e in pack.edits if e.at in places}

    while True:
        mine, wrote = Collector(), {}
        m = library.material(
            edition,
            day,
            without=[e for e in pack.edits if id(e) in left_out],
            faults=mine,
            wrote=wrote,
        )
        here = blamed(mine.items)
        k = None
        with mine.catching():
            k = assemble(m, Collector(), library.pool)
        new = [f for f in mine.items if not any(f is o or str(f) == str(o) for o in found)]
        found += new
        more = blamed(new) - left_out
        if k is not None:
            edits = [e for p in library.packs for e in p.edits if id(e) not in left_out]
            return (
                OneDay(
                    library, pack, edits, edition, day, m, k, wrote, {id(e): e.done for e in edits}
                ),
                left_out | here,
                found,
            )
        if not more:
            return None, left_out, found
        left_out |= more


def _edit_at(pack: Pack, at: Place) -> Place | None:
    """Where the edit begins that holds the place *at*."""
    return max((e.at for e in pack.edits if e.at[0] == at[0] and e.at <= at), default=None)


def _new_words(library: Library, pack: Pack, k: Knowledge) -> list[str]:
    """What jobs written before the pack cannot tell: they stay as they are, or outside."""
    files = {shown_name(p) for p in pack_files(pack.folder)}
    out, new = [], []
    for kind in library.words.kinds.values():
        for w in kind.words.values():
            if w.ask and w.at[0] in files:
                new.append(f'"{w.name}" of {a_noun(kind.name)}')
            for choice, at in w.choices_at.items():
                if at[0] in files:
                    n = sum(
                        1
                        for r in k.rules.values()
                        if any(
                            k2 == kind.name and f == w.name for k2, f, _, _ in reads_of(r, k.words)
                        )
                        and pack.name not in {e.pack.name for e in k.trail.get(r.id, ())}
                    )
                    out.append(
                        f'"{choice}" is a new choice of "{w.name}" of {a_noun(kind.name)}: jobs'
                        " written before say something else and stay outside what is written about"
                        f" it; {n} rule{'s' * (n != 1)} of others read {w.name} and name it"
                        " nowhere."
                    )
    if new:
        out.insert(
            0,
            f"Jobs written before do not tell {listed(new, 9)}: what depends on that cannot tell"
            " there, until it is told.",
        )
    return out


def _gaps(pack: Pack, k: Knowledge) -> list[str]:
    """The choices for which a table has no row, where the pack brings the table or the choice, and
    which rule looks them up.
    """
    files, out = {shown_name(p) for p in pack_files(pack.folder)}, {}
    for gap in gaps(k):
        mine = gap.table.at[0] in files
        added = gap.word.choices_at
        lacking = [c for c in gap.choices if mine or c in added and added[c][0] in files]
        if lacking := [c for c in lacking if c not in gap.table.no_row.get(gap.key, {})]:
            out[
                f"Table {gap.table.id} has no row for the {gap.key} {listed(lacking)}: there"
                f" {gap.rule} cannot tell."
            ] = None
    return [*out]


def _reachable(library: Library, pack: Pack, faults: Collector) -> None:
    """See that a job can have each kind of thing that the pack brings words of."""
    files, kinds = {shown_name(p) for p in pack_files(pack.folder)}, library.words.kinds
    had = {
        "job",
        *(
            w.type[1]
            for kind in kinds.values()
            for w in kind.words.values()
            if w.type[0] in ("ref", "many")
        ),
    }
    for name, kind in kinds.items():
        mine = [w for w in kind.words.values() if w.at[0] in files]
        if mine and name not in had:
            faults.add(
                "words-nowhere",
                mine[0].at,
                f'no job has {a_noun(name)}, so that nobody can tell "{mine[0].name}" of it',
                "write it of a thing that is there"
                f" ({', '.join(sorted(had & USUAL_KINDS))} ...), or add to job:"
                f" has: {{{name}: optional {name}}}",
            )


def _below(folder: Path, faults: Collector) -> list[Path]:
    """The packs that the one in *folder* lies within, lowest first."""
    from ..law.places import chain_of, head_of

    try:
        head = head_of(folder, Collector())
    except (Fault, Faults):  # told when the pack itself is read
        return []
    if not head.head.get("within"):
        return []
    known = {}
    with faults.catching():
        known = {n: p for n, p in known_packs().items() if p.folder.resolve() != folder.resolve()}
    return [p.folder for p in reversed(chain_of(head, known, faults)[1:])]


def _beside(got: Review, below: list[Path], told: set[str]) -> None:
    """The packs that are for the same place and stand in no order to this one: a job there is under
    all of them, so together they must hold.
    """
    from ..law.places import chain_of

    pack, shelf, others, folders = got.pack, {}, [], list(below)
    heads = Collector()
    with heads.catching():  # what is faulty in the heads of others is theirs
        shelf = known_packs()
    got.faults.take(
        *[
            f
            for f in heads.items
            if f.code == "id-in-use" and f.what.startswith(f'another pack is called "{pack.name}"')
        ]
    )
    for o in shelf.values():
        chain = chain_of(o, shelf, Collector())
        if (
            o.names & pack.names
            and o.name != pack.name
            and o.folder not in below
            and pack.name not in {p.name for p in chain}
        ):
            others.append(o)
            folders += [p.folder for p in reversed(chain)]
    if not others:
        return
    names = listed([o.name for o in others])
    got.notices.append(
        f"{names} {'is' if len(others) == 1 else 'are'} for the same place: a job there is under"
        f" {'both' if len(others) == 1 else 'all of them'}. Where one applies after the other,"
        " write within: and its name."
    )
    together = None
    with Collector().catching():
        together = Library((*dict.fromkeys(folders), pack.folder), Collector(), examples=False)
    for edition, day in (
        [(ed, d) for ed in got.editions for d in together.dates() if _adopted(got.library, ed, d)]
        if together
        else ()
    ):
        mine, theirs = Collector(), Collector()
        together.material(edition, day, faults=mine)
        together.material(
            edition, day, faults=theirs, packs={p.name for p in together.packs} - {pack.name}
        )
        for f in mine.items:
            key = f"{f.code} {f.at} {f.what}"
            if key not in told and str(f) not in map(str, theirs.items):
                told.add(key)
                here = f.at[0] in {e.at[0] for e in pack.edits}
                got.faults.add(
                    f.code,
                    f.at if here else pack.at,
                    f"{f.what}, and {names} {'is' if len(others) == 1 else 'are'} for the same"
                    " place" + ("" if here else f" (seen at {f.at})"),
                    "write within: and the name of the other in the head of the one that applies"
                    " later, and check it again; or let them be for places of their own",
                )


def _editions(pack: Pack, library: Library) -> list[str]:
    adopting = next((p for p in reversed(library.packs) if p.adopts), None)
    said = (
        [w.edition for w in adopting.adopts]
        if adopting
        else [str(e) for e in as_list(pack.head.get("editions"))]
        or [e for e in EDITIONS if e != "2026"]
    )
    return sorted(dict.fromkeys(said))


def _days(library: Library, pack: Pack) -> list[str]:
    """Every day on which something begins, and the one before the first; of the packs below too."""
    named = library.dates()
    if not named:
        return [Date(2026, 1, 1).isoformat()]
    return [day_before(named[0]), *named]


def _adopted(library: Library, edition: str, day: str) -> bool:
    adopting = next((p for p in reversed(library.packs) if p.adopts), None)
    return adopting is None or any(
        w.edition == edition and (w.start or "0") <= day < (w.end or "9999")
        for w in adopting.adopts
    )


def _telling(e: Edit, library: Library, at: list[tuple[str, str]]) -> tuple[str, str]:
    """The edition and day on which an edit shows: the last of its own; where it re-dates another,
    one on which that makes a difference.
    """
    moved = e.d.get("edit of")
    other = next(
        (
            o
            for p in library.packs
            for o in p.edits
            if moved and p.name == str(moved) and o.target == e.target
        ),
        None,
    )
    if other is None:
        return at[-1]
    after = replace(other, start=e.redated[0] or other.start, end=e.redated[1] or other.end)
    return ([w for w in at if other.holds_on(w[1]) != after.holds_on(w[1])] or at)[-1]


def _look(e: Edit, there: OneDay, partly: bool, got: Review) -> None:
    """See that one edit says what it was written over, what it means, and shows what it does."""
    faults, relieves = got.faults, str(e.d.get("relieves", ""))
    e.done = there.done[id(e)]  # on this day
    means = got.said[e.number] = said_back(e)
    if e.verb != "add" and not any(
        o.verb == "add" and o.pack is e.pack for o in there.m.trail.get(e.target, ())
    ):
        got.prints[e.number] = fingerprint(there.bare, e.target) or fingerprint(
            there.below, e.target
        )
        if not e.d.get("of"):
            faults.add(
                "of-missing",
                e.at,
                f"{e.name} does not say what it was written over",
                f"read {e.target} (whywire rules {e.target}) and add of: {got.prints[e.number]}",
            )
    if not e.d.get("meaning"):
        faults.add(
            "meaning-missing",
            e.at,
            f"{e.name} was understood so: {means}",
            "if that is what is meant, keep it as meaning: (whywire check --write adds it)",
        )
    before = len(faults.items)
    moves = _moves(e, there, partly, got)
    # with an example: once it is mended it may be the one that is wanted
    amiss = len(faults.items) > before
    e.done = there.done[id(e)]
    got.moves += moves
    ways = {x.direction for x in moves if x.moved} - {CHANGES}
    told = e.done.get("direction")
    laxer = told == LAXER or LAXER in ways
    if laxer and relieves != "yes":
        shown = next((x for x in moves if x.direction == LAXER), None)
        why = (
            f"by its example {shown.number}: {shown.rule} was {shown.without}, and is"
            f" {shown.within}"
            if shown and told != LAXER
            else "than what stands below it"
        )
        faults.add(
            "relieves", e.at, f"{e.name} asks less {why}", "if that is meant, add relieves: yes"
        )
    elif relieves == "yes" and not laxer and STRICTER in (told, *ways):
        shown = next((x for x in moves if x.direction == STRICTER), None)
        why = (
            f": by its example {shown.number} {shown.rule} was {shown.without}, and is"
            f" {shown.within}"
            if shown and told != STRICTER
            else ""
        )
        faults.add(
            "relieves",
            place_of(e.d["relieves"], e.at),
            f"{e.name} says that it relieves, and it asks more{why}",
            "leave relieves: out, or look at what the edit does",
        )
    _size_matters(e, there.k, faults)
    if e.done.get("same"):
        return
    r = there.k.rules.get(e.target)
    # of what never applies there is no example
    hidden = (
        amiss
        or partly
        and e.d.get("examples")
        or r is not None
        and note_never(r, there.k, e.at, faults)
    )
    if not any(x.moved for x in moves) and not hidden:
        faults.add(
            "example-needed",
            e.at,
            f"no example of {e.name} comes out otherwise because of it",
            f"add to its examples: one that does, as in - {{rule: {_rule_of(e, there.k)}, given:"
            " {...}, answer: fails}",
        )
    if not any(not x.moved for x in moves) and not hidden:
        faults.add(
            "example-needed",
            e.at,
            f"no example of {e.name} shows a case that it leaves alone",
            f"add to its examples: one that comes out as before, as in {_left_alone(e, there)}",
        )
    if not partly:
        _old_examples(e, there, got)


def _size_matters(e: Edit, k: Knowledge, faults: Collector) -> None:
    """A must about what is tried tests every size: one that depends on none would pass them all, or
    leave none.
    """
    r = k.rules.get(e.target)
    if r is None or not (e.verb in ("add", "replace") or "force" in e.d):
        return
    idle: list[str] = []
    for pick in [p for p, tests in k.order.tests.items() if r in tests]:
        tried = ("cell", r.about, k.rules[pick].tried.name, pick)
        todo, seen = [("rule", r.id, pick)], set()
        while todo and tried not in seen:
            n = todo.pop()
            if n not in seen:
                seen.add(n)
                todo += k.order.needs.get(n, ())
        if tried not in seen:
            idle.append(pick)
    if idle:
        what = k.rules[idle[0]].tried.name
        faults.add(
            "size-no-matter",
            e.at,
            f"as a must about {r.about}, {r.id} is a test of every {what} that {listed(idle)}"
            f" {'tries' if len(idle) == 1 else 'try'}, and depends on none: no {what} could mend"
            " it, and none would be lawful",
            (
                "write it about the circuit, with of conductors where that is meant"
                if r.about == "conductors"
                else f"write it about what the {r.about} belongs to"
            ),
        )


def _rule_of(e: Edit, k: Knowledge) -> str:
    """A rule whose answer the edit may change."""
    d = k.rules[e.target].d if e.target in k.rules else k.gone.get(e.target)
    if d is not None:
        return str(next(iter(as_list(d.get("exception to"))), e.target))
    return next(
        (
            r.id
            for r in k.rules.values()
            if e.target in r.reads_values or e.target in r.reads_tables
        ),
        "RULE",
    )


def _left_alone(e: Edit, there: OneDay) -> str:
    """An example to paste that an edit leaves alone: of the rules it reaches, or of another about
    the same kind.
    """
    k, bare = there.k, there.without([e])
    first = k.rules.get(e.target) or bare.rules.get(_rule_of(e, k))
    about = first.about if first else ""
    reached = [
        r
        for r in k.rules.values()
        if r is first or e.target in r.reads_values or e.target in r.reads_tables
    ]
    for r in (*reached, *sorted(k.rules.values(), key=lambda r: r.about != about)):
        for n, d in enumerate(r.d.get("examples", []), 1):
            if not isinstance(d, dict) or not d.get("given") or "edition" in d or "answer" not in d:
                continue
            try:
                if (
                    r.id in bare.rules
                    and run_example(k, r, d, n).ok
                    and run_example(bare, bare.rules[r.id], d, n).ok
                    and verdict(k, r.id, d) == verdict(bare, r.id, d) == str(d["answer"])
                ):
                    return pasted(
                        {} if r.id == e.target else {"rule": r.id},
                        d["given"],
                        "answer",
                        d["answer"],
                    )
            except Fault:
                continue
    return "- {rule: ..., given: {...}, answer: ...}"


def pasted(before: dict, given: dict, key: str, value) -> str:
    """An example as it is written."""
    return (
        "- {"
        + "".join(f"{k}: {v}, " for k, v in before.items())
        + "given: {"
        + ", ".join(f"{k}: {v}" for k, v in given.items())
        + f"}}, {key}: {value}}}"
    )


def _moves(e: Edit, there: OneDay, partly: bool, got: Review) -> list[Move]:
    """The examples of an edit, run with it and without it."""
    out: list[Move] = []
    said = e.d.get("examples", [])
    if not isinstance(said, list):
        got.faults.add(
            "example-form",
            place_of(said, e.at),
            f'{e.name}: "examples" is a list',
            "write each with a dash: - {given: {...}, answer: fails}",
        )
        return out
    # what these do is for their own examples
    later = [o for o in got.pack.edits if o.target == e.target and o.number > e.number]
    within = there.without(later) if later and said else there.k
    bare = None
    for n, d in enumerate(said, 1):
        at = place_of(d, e.at)
        if not isinstance(d, dict):
            got.faults.add(
                "example-form",
                at,
                f"{e.name}: an example is {{given: ..., answer: ...}}",
                "see kb/README.md, Packs",
            )
            continue
        for key in d:
            if key not in (*EXAMPLE_KEYS, "holds"):
                got.faults.add(
                    "example-key",
                    place_of(key),
                    f'an example takes no "{key}"',
                    suggest(str(key), EXAMPLE_KEYS),
                )
        rule = str(d.get("rule", e.target))
        if bare is None and not (e.verb == "add" and rule == e.target):
            bare = there.without([e, *later])
        with got.faults.catching():
            if rule not in within.rules and (bare is None or rule not in bare.rules):
                raise Fault(
                    "no-such-rule",
                    place_of(d.get("rule"), at),
                    f'the example names "{rule}", and there is no such rule',
                    suggest(rule, within.rules),
                )
            want = wanted(d, e, at)
            comes, without = (
                verdict(within, rule, d),
                verdict(bare, rule, d) if bare else missing(d),
            )
            if comes != want and not partly:
                got.faults.add(
                    "example-otherwise",
                    at,
                    f"{e.name}, example {n}: {rule} was to come out as {want}, and comes out as"
                    f" {comes}",
                    "correct the example, or the edit",
                )
            out.append(Move(e, n, rule, without, comes))
    return out


def wanted(d, e: Edit, at) -> str:
    """What an example of an edit expects, as text."""
    for key, may_be in (("answer", (*ANSWERS, SET_ASIDE)), ("holds", HOLDS)):
        if key in d and str(d[key]) not in may_be:
            raise Fault(
                "example-value",
                place_of(d[key], at),
                f'{e.name}: "{key}" of an example is never "{d[key]}"',
                suggest(str(d[key]), may_be),
            )
        if key in d:
            return str(d[key]) if key == "answer" else f"holds: {d[key]}"
    if isinstance(d.get("gives"), dict):
        return ", ".join(f"{f}: {v}" for f, v in d["gives"].items())
    raise Fault(
        "example-form", at, f"{e.name}: this example expects nothing", "add answer: or gives:"
    )


def missing(d) -> str:
    """What an example comes to where its rule is not there."""
    return (
        "holds: no"
        if "holds" in d
        else OFF
        if "answer" in d
        else ", ".join(f"{f}: unknown" for f in d.get("gives", {}))
    )


def verdict(k: Knowledge, rule: str, d) -> str:
    """What *rule* says of the things that an example gives, exceptions and all: an answer, or what
    it fills.
    """
    r = k.rules.get(rule)
    if r is None:
        return missing(d)
    w = World.__new__(World)
    w.k, w.fired = k, 0
    x = Stub(k).thing(r.about, d.get("given", {}))

    def fire(one) -> None:
        for e in k.order.exceptions.get(one.id, ()):
            fire(e)
        w.fire(one, x)

    fire(r)
    if "holds" in d:
        v = x[k.holds[r.id]] if r.id in k.holds else x[k.slots[r.id]]
        return "holds: " + {True: "yes", False: "no", None: "cannot tell"}[v]
    if r.verb in JUDGING:
        return str(w.answer(r, x))
    if r.verb in FILLING and isinstance(d.get("gives"), dict):
        said = []
        for fact in d["gives"]:
            word = k.words.kinds[r.about].words.get(str(fact))
            if word is None or (r.id, str(fact)) not in k.results:
                raise Fault(
                    "example-word",
                    place_of(fact),
                    f'{r.id} does not fill "{fact}"',
                    suggest(str(fact), [f.word.name for f in r.fills]),
                )
            aside = w.set_aside(r, x)
            v = (
                x[k.results[r.id, word.name]]
                if x[k.slots[r.id]] is not False and aside is not True
                else None
            )
            said.append(f"{fact}: {show(v, word.unit)}")
        return ", ".join(said)
    return (
        "applies"
        if x[k.slots[r.id]] is True and w.set_aside(r, x) is not True
        else OFF
        if x[k.slots[r.id]] is False or w.set_aside(r, x) is True
        else "cannot tell"
    )


def _old_examples(e: Edit, there: OneDay, got: Review) -> None:
    """The examples of the rules that an edit reaches, run under it: those that are true no more
    must be restated in the edit.

    One that moves as an example of the edit already shows (from passes to fails, say) needs no line
    of its own.
    """
    k = there.k
    shown = {(x.rule, x.without, x.within) for x in got.moves if x.edit is e and x.moved}
    if e.verb in ("amend", "narrow", "widen", "redate") and e.target in k.rules:
        reached = [k.rules[e.target]]
    elif e.verb in ("set", "amend"):
        reached = [
            r for r in k.rules.values() if e.target in r.reads_values or e.target in r.reads_tables
        ]
    else:
        return
    bare = None
    for r in reached:
        for n, d in enumerate(r.d.get("examples", []), 1):
            if not isinstance(d, dict) or d.get("given") in got.restated.get(r.id, ()):
                continue
            try:
                o = run_example(k, r, d, n)
            except Fault:
                continue
            if o.ok or "gives" not in d and (r.id, o.wanted, o.got) in shown:
                continue
            # an example that does not tell the new condition
            if e.verb == "narrow" and ("cannot tell" in o.got or "unknown" in o.got):
                continue
            bare = bare or there.without([e])  # another edit may be the one that moved it
            if r.id in bare.rules and not run_example(bare, bare.rules[r.id], d, n).ok:
                continue
            given = ", ".join(f"{a}: {b}" for a, b in d.get("given", {}).items())
            key = "answer" if "answer" in d else "holds" if "holds" in d else "gives"
            rule = "" if r.id == e.target else f"rule: {r.id}, "
            got.faults.add(
                "example-moved",
                e.at,
                f"an example of {r.id} itself (at {o.at}) is true no more: it said {o.wanted}, and"
                f" now {o.got} comes out",
                f"if that is meant, add to its examples: - {{{rule}given: {{{given}}}, "
                + (
                    f"{key}: {{{o.got}}}}}"
                    if key == "gives"
                    else f"{key}: {o.got.removeprefix('holds: ')}}}"
                ),
            )


__all__ = ["Review", "Move", "review", "verdict", "KB"]
