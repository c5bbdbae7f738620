"""A pack of edits looked at as its writer should see it: on every day it names, each edit said
back, each shown to do something.

An edit is right when it means what was meant. Nobody but its writer knows that, so this says back
what was understood, asks for an example that comes out otherwise because of the edit and one that
does not, and runs both with and without.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date as Date
from functools import cached_property
from pathlib import Path
from typing import Any, TypeAlias

from ..basics.errors import Collector, Fault, Faults, Place
from ..basics.reading import Mapping, all_kept, place_of
from ..checking.clashes import note_clashes, note_never
from ..checking.coverage import lacking
from ..checking.examples import Outcome, run_example, run_examples
from ..checking.gaps import gaps
from ..language import expressions as ex
from ..language.knowledge import KB, Knowledge, assemble
from ..language.order import reads_of
from ..language.rules import EDITIONS, Rule
from ..language.things import NodeId
from ..language.words import Kind, Word, Words, a_noun, as_list
from ..law.cells import out_of_order
from ..law.edits import BOTH, CHANGES, LAXER, STRICTER, Edit, day_before
from ..law.library import Library, Pack, pack_files, shown_name
from ..law.likeness import differences, strange_days
from ..law.meanings import listed, quoted, said_back, without_way
from ..law.places import chain_of, head_of, known_packs
from ..law.targets import fingerprint
from ..law.verbs.registry import verb_of
from .edit_examples import EditExamples, Move, pasted, verdict
from .scenes import Scene, scene_of
from .table_examples import examples_of
from .without import OneDay
from .witnesses import MOST, Found, find

When: TypeAlias = tuple[str, str]  # an edition, and a day (ISO)
MANY_READERS = 9  # of more rules that read the same it is only said how many they are
# how many cases are made for all edits of a pack together, and for each of very many
RUNS, LEAST_RUNS = 20_000, 120
# The kinds of thing that most jobs have, offered to whoever writes a word of a kind that none has.
USUAL_KINDS = {"job", "circuit", "panel", "load", "segment", "box", "working space"}


@dataclass
class Review:
    """What `check` says of a pack."""

    pack: Pack
    library: Library
    editions: list[str]
    days: list[str]
    edits: list[Edit] = field(default_factory=list)
    said: dict[int, str] = field(default_factory=dict)  # an edit's number -> what it means
    # an edit's number -> what it was written over
    prints: dict[int, str] = field(default_factory=dict)
    moves: list[Move] = field(default_factory=list)
    # an edit's number -> the cases that it turns
    found: dict[int, Found] = field(default_factory=dict)
    scenes: list[Scene] = field(default_factory=list)  # what to ask its writer
    asked: list[tuple[int, str]] = field(default_factory=list)  # an edit's number, a question
    beside: dict[int, str] = field(default_factory=dict)  # an edit's number -> who else reads that
    notices: list[str] = field(default_factory=list)
    faults: Collector = field(default_factory=Collector)
    # the editions and days on which it can be put together
    sound: list[When] = field(default_factory=list)
    # the edits that could not be carried out on some day
    unsound: list[Edit] = field(default_factory=list)

    @cached_property
    def restated(self) -> dict[str, list]:
        """The facts of every example in the pack's edits, by the rule it is an example of."""
        out: dict[str, list] = {}
        for edit in self.pack.edits:
            for example in as_list(edit.d.get("examples")):
                if isinstance(example, dict):
                    rule = str(example.get("rule", edit.target))
                    out.setdefault(rule, []).append(example.get("given"))
        return out


def review(folder: Path) -> Review:
    """Look at the pack in *folder* on every day it names.

    Raises:
        Faults: it cannot be read at all.
    """
    with all_kept():
        return _reviewed(Path(folder), Collector())


def _reviewed(folder: Path, faults: Collector) -> Review:
    below = _below(folder, faults)
    library = Library((*below, folder), faults)
    pack = next((p for p in library.packs if p.folder.resolve() == folder.resolve()), None)
    if pack is None:
        faults.stop()
        raise AssertionError("a pack that has no head is told as a fault")
    got = Review(pack, library, _editions(pack, library), _days(library), pack.edits, faults=faults)
    got.notices += _out_of_reach(pack) + _without_edition(pack)
    if not faults.items:
        got.notices += _nothing_in_it(library, pack)
        got.notices += library.old_names_in(_files_of(pack))
    for edit in pack.edits:
        edit.meant = []
    days = _EveryDay(got)
    days.tell()
    for edit in pack.edits:
        days.see_edit(edit)
    on_shelf = _on_shelf(got)
    _beside(got, on_shelf, below, set(days.seen))
    _within(got, on_shelf, below)
    got.sound = list(days.sound)
    wrong = {edit for left_out in days.left_out.values() for edit in left_out}
    got.unsound = [edit for edit in pack.edits if id(edit) in wrong]
    if days.sound:
        _see_whole(got, list(days.sound.values()))
    faults.items.sort(key=lambda f: (f.at, f.code, f.what))
    return got


def _see_whole(got: Review, days: list[OneDay]) -> None:
    """Note what shows of the pack as a whole, once its edits are looked at; last come the days."""
    pack, library, faults, k = got.pack, got.library, got.faults, days[-1].k
    got.notices += _new_words(library, pack, k) + _gaps(pack, k)
    _reachable(library, pack, faults)
    _own_rules(pack, k, faults)
    files = _files_of(pack)
    places = {rule.id: rule.at for rule in k.rules.values() if rule.at[0] in files}
    places |= {edit.target: edit.at for edit in pack.edits if edit.target in k.rules}
    for there in days:
        on_a_day = Collector()
        note_clashes(there.k, {*places} & there.k.rules.keys(), places, on_a_day)
        faults.take(*[f for f in on_a_day.items if str(f) not in map(str, faults.items)])


class _EveryDay:
    """The editions and days on which a pack is looked at: what is in force on each, and what is
    amiss.
    """

    def __init__(self, got: Review) -> None:
        self.got = got
        self.adopted: list[When] = [
            (edition, day)
            for edition in got.editions
            for day in got.days
            if _adopted(got.library, edition, day)
        ]
        # as far as it can be put together, and the edits (by id) that had to be left out
        self.sound: dict[When, OneDay] = {}
        self.left_out: dict[When, set[int]] = {}
        self.idle: set[tuple[int, When]] = set()  # an edit (by id) that changes nothing on a day
        self.meant: dict[int, dict[When, str]] = {}  # an edit (by id) -> what it means, by day
        # a fault as text -> the fault, and when it shows
        self.seen: dict[str, tuple[Fault, list[When]]] = {}
        for when in self.adopted:
            self._look_at(when)

    def _look_at(self, when: When) -> None:
        """Put together what is in force on one day, and note what is amiss there."""
        got = self.got
        there, left_out, found = _as_far_as_sound(got.library, got.pack, *when)
        for edit in got.pack.edits:
            if edit.meant:
                self.meant.setdefault(id(edit), {})[when] = edit.meant[-1]
            edit.meant = []
        # what an edit did is noted on it, and forgotten on the next day
        self.idle |= {(id(edit), when) for edit in got.pack.edits if edit.done.get("idle")}
        for fault in found:
            self.seen.setdefault(_text_of(fault), (fault, []))[1].append(when)
        if there is not None:
            self.sound[when], self.left_out[when] = there, left_out

    def tell(self) -> None:
        """Note the faults of all days; what is amiss on some days only, names one."""
        told: set[tuple[str, Place, str]] = set()
        for fault, days in self.seen.values():
            # a condition of where: stands in two rules, in one of them denied
            once = fault.code, fault.at, fault.what.split('": ', 1)[-1]
            if once in told:
                continue
            told.add(once)
            if self.adopted[-1] not in days:
                what = f"{fault.what} (for a permit of {days[0][1]})"
                fault = Fault(fault.code, fault.at, what, fault.todo)
            self.got.faults.take(fault)

    def see_edit(self, edit: Edit) -> None:
        """Look at one edit on a day on which it shows; note where there is none."""
        faults = self.got.faults
        at = [
            when
            for when in self.sound
            if edit.holds_on(when[1]) and id(edit) not in self.left_out[when]
        ]
        busy = [when for when in at if (id(edit), when) not in self.idle]
        if busy and edit.sound:
            when = _telling(edit, self.got.library, busy)
            _look(edit, self.sound[when], bool(self.left_out[when]), self.got)
            self._see_one_meaning(edit, when, busy)
        elif not at and not any(edit.holds_on(day) for _, day in self.adopted):
            faults.add(
                "edit-never",
                edit.at,
                f"{edit.name} is in force on no day for which an edition is adopted",
                "look at its from: and until:, and at those of the pack",
            )
        if at and not busy:
            editions = " and ".join(dict.fromkeys(edition for edition, _ in at))
            faults.add(
                "no-op-edit",
                edit.at,
                f"{edit.name} changes nothing in {editions}",
                "leave the edit out",
            )

    def _see_one_meaning(self, edit: Edit, when: When, busy: list[When]) -> None:
        """See that what was said back of one day is what the edit means on every other."""
        told = without_way(self.got.said.get(edit.number, ""))
        meant = self.meant.get(id(edit), {})
        other = next((day for day in busy if meant.get(day, told) != told), None)
        if other is not None:
            later = (at for at in busy if at[1] > other[1])
            turns = min((at[1] for at in later if meant.get(at, told) == told), default="")
            self.got.faults.add(
                "meaning-moved",
                place_of(edit.d.get("meaning"), edit.at),
                f"{edit.name} means something else for a permit of {other[1]} ({other[0]}):"
                f" {meant[other]}",
                "write two edits, each over what stands on its days: "
                + _in_two(edit, turns or max(when[1], other[1])),
            )


def _in_two(edit: Edit, day: str) -> str:
    """An edit as the two that hold up to a day and from it on, without what is to be written
    anew.
    """
    begins = f", from: {edit.start}" if edit.start else ""
    ends = f", until: {edit.end}" if edit.end else ""
    first = f"- {{{edit.verb}: {edit.target}{begins}, until: {day}, ...}}"
    return f"{first} and - {{{edit.verb}: {edit.target}, from: {day}{ends}, ...}}"


def _text_of(fault: Fault) -> str:
    """A fault without what to do: what is amiss on several days is one fault."""
    return f"{fault.code} {fault.at} {fault.what}"


def _files_of(pack: Pack) -> set[str]:
    """What the files of a pack are called in places."""
    return {shown_name(path) for path in pack_files(pack.folder)}


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
    without, covered, end = [], pack.start, pack.end or "9999"
    for window in sorted(pack.adopts, key=lambda w: w.start):
        if covered < min(window.start, end):
            without.append(f"from {covered} up to {day_before(min(window.start, end))}")
        covered = max(covered, window.end or "9999")
    if covered < end:
        until = f" up to {day_before(pack.end)}" if pack.end else " on"
        without.append(f"from {covered}{until}")
    return [
        f"This pack is in force {days}, and adopts no edition then: a job of those days must say"
        " edition: itself."
        for days in without
    ]


def _own_rules(pack: Pack, k: Knowledge, faults: Collector) -> None:
    """Run the examples of the rules that a pack brings beside its edits, and note what they
    lack.
    """
    files = _files_of(pack)
    for rule in k.rules.values():
        added = any(verb_of(edit).makes_anew for edit in k.trail.get(rule.id, ()))
        if rule.at[0] not in files or added or note_never(rule, k, rule.at, faults):
            continue
        outcomes, wrong = run_examples(k, rule.id)
        faults.take(*wrong.items)
        for outcome in outcomes:
            if not outcome.ok:
                faults.add(
                    "example-wrong",
                    outcome.at,
                    f"{rule.id}, example {outcome.number}: expected {outcome.wanted}, and it is"
                    f" {outcome.got}",
                    "correct the example, or the rule",
                )
        needed = lacking(k, rule)
        if needed:
            faults.add(
                "example-needed",
                rule.at,
                f"{rule.id} lacks {'; '.join(needed)}",
                "add it to its examples:",
            )


def _as_far_as_sound(
    library: Library, pack: Pack, edition: str, day: str
) -> tuple[OneDay | None, set[int], list[Fault]]:
    """What is in force on one day, without the edits that are faulty; which those are (by id), and
    every fault.
    """
    left_out: set[int] = set()
    found: list[Fault] = []
    # one edit that is left out may lay the fault of another bare, so this goes on until what is
    # left fits together, or nobody is to blame for what does not
    while True:
        faults = Collector()
        wrote: dict[tuple[str, int], set[str]] = {}
        without = [edit for edit in pack.edits if id(edit) in left_out]
        material = library.material(edition, day, without=without, faults=faults, wrote=wrote)
        blamed_here = _blamed(pack, faults.items)
        k = None
        with faults.catching():
            k = assemble(material, Collector(), library.pool)
        new = [fault for fault in faults.items if not _among(fault, found)]
        found += new
        if k is not None:
            edits = [e for p in library.packs for e in p.edits if id(e) not in left_out]
            done = {id(edit): edit.done for edit in edits}
            there = OneDay(library, pack, edits, edition, day, material, k, wrote, done)
            return there, left_out | blamed_here, found
        more = _blamed(pack, new) - left_out
        if not more:
            return None, left_out, found
        left_out |= more


def _among(fault: Fault, found: list[Fault]) -> bool:
    return any(fault is other or str(fault) == str(other) for other in found)


def _blamed(pack: Pack, faults: list[Fault]) -> set[int]:
    """The edits (by id) in which *faults* have their places."""
    places = {_edit_at(pack, fault.at) for fault in faults}
    return {id(edit) for edit in pack.edits if edit.at in places}


def _edit_at(pack: Pack, at: Place) -> Place | None:
    """Where the edit begins that holds the place *at*."""
    begin = (edit.at for edit in pack.edits if edit.at[0] == at[0] and edit.at <= at)
    return max(begin, default=None)


def _new_words(library: Library, pack: Pack, k: Knowledge) -> list[str]:
    """What jobs written before the pack cannot tell: they stay as they are, or outside."""
    files = _files_of(pack)
    words = [(kind, word) for kind in library.words.kinds.values() for word in kind.words.values()]
    new = [
        f'"{word.name}" of {a_noun(kind.name)}'
        for kind, word in words
        if word.ask and word.at[0] in files
    ]
    out = []
    if new:
        out.append(
            f"Jobs written before do not give {listed(new, 9)}: what depends on that cannot tell"
            " there, until they do."
        )
    for kind, word in words:
        brought = [choice for choice, at in word.choices_at.items() if at[0] in files]
        out += [_new_choice(choice, kind, word, pack, k) for choice in brought]
    return out


def _new_choice(choice: str, kind: Kind, word: Word, pack: Pack, k: Knowledge) -> str:
    """That the rules of others know nothing of a choice which the pack brings."""
    readers = [rule for rule in k.rules.values() if _reads(rule, kind, word, k)]
    others = sum(
        pack.name not in {edit.pack.name for edit in k.trail.get(rule.id, ())} for rule in readers
    )
    return (
        f'"{choice}" is a new choice of "{word.name}" of {a_noun(kind.name)}: jobs written before'
        f" say something else and stay outside what is written about it; {others}"
        f" rule{'s' * (others != 1)} of others read {word.name} and name it nowhere."
    )


def _reads(rule: Rule, kind: Kind, word: Word, k: Knowledge) -> bool:
    """Whether a rule reads a word of a kind."""
    return any(of == kind.name and fact == word.name for of, fact, _, _ in reads_of(rule, k.words))


def _gaps(pack: Pack, k: Knowledge) -> list[str]:
    """The choices for which a table has no row, where the pack brings the table or the choice, and
    which rule looks them up.
    """
    files = _files_of(pack)
    # one line each, however many of its paths lead a rule there
    out: dict[str, None] = {}
    for gap in gaps(k):
        of_the_pack = gap.choices
        if gap.table.at[0] not in files:
            added = gap.word.choices_at
            of_the_pack = [c for c in gap.choices if c in added and added[c][0] in files]
        # a table may say why it has none
        meant = gap.table.no_row.get(gap.key, {})
        without = [choice for choice in of_the_pack if choice not in meant]
        if without:
            told = (
                f"Table {gap.table.id} has no row for the {gap.key} {listed(without)}: there"
                f" {gap.rule} cannot tell."
            )
            out[told] = None
    return list(out)


def _reachable(library: Library, pack: Pack, faults: Collector) -> None:
    """See that a job can have each kind of thing that the pack brings words of."""
    files, kinds = _files_of(pack), library.words.kinds
    had = {"job"} | {
        word.type[1]
        for kind in kinds.values()
        for word in kind.words.values()
        if word.type[0] in ("ref", "many")
    }
    for name, kind in kinds.items():
        brought = [word for word in kind.words.values() if word.at[0] in files]
        if brought and name not in had:
            faults.add(
                "words-nowhere",
                brought[0].at,
                f'no job has {a_noun(name)}, so that nobody can tell "{brought[0].name}" of it',
                "write it of a thing that is there"
                f" ({', '.join(sorted(had & USUAL_KINDS))} ...), or add to job:"
                f" has: {{{name}: optional {name}}}",
            )


# ---- the packs below, and those beside -----------------------------------------------------------


def _below(folder: Path, faults: Collector) -> list[Path]:
    """The packs that the one in *folder* lies within, lowest first."""
    try:
        head = head_of(folder, Collector())
    except (Fault, Faults):  # told when the pack itself is read
        return []
    if not head.head.get("within"):
        return []
    known: dict[str, Pack] = {}
    with faults.catching():
        known = {n: p for n, p in known_packs().items() if p.folder.resolve() != folder.resolve()}
    return _folders(chain_of(head, known, faults)[1:])


def _folders(nearest_first: Iterable[Pack]) -> list[Path]:
    """Where the packs of a chain lie, the lowest first."""
    return [pack.folder for pack in nearest_first][::-1]


def _beside(got: Review, on_shelf: dict[str, Pack], below: list[Path], told: set[str]) -> None:
    """The packs that are for the same place and stand in no order to this one: a job there is under
    all of them, so together they must hold.
    """
    pack = got.pack
    others, folders = [], [*below]
    for other in on_shelf.values():
        chain = chain_of(other, on_shelf, Collector())
        in_order = other.folder in below or pack.name in {p.name for p in chain}
        if other.names & pack.names and other.name != pack.name and not in_order:
            others.append(other)
            folders += _folders(chain)
    if not others:
        return
    names = listed([other.name for other in others])
    is_, all_ = ("is", "both") if len(others) == 1 else ("are", "all of them")
    got.notices.append(
        f"{names} {is_} for the same place: a job there is under {all_}. Where one applies after"
        " the other, write within: and its name."
    )
    together = None
    # what is faulty in them by themselves is theirs
    with Collector().catching():
        together = Library((*dict.fromkeys(folders), pack.folder), Collector(), examples=False)
    if together is not None:
        _see_together(got, together, f"{names} {is_} for the same place", told)


def _within(got: Review, on_shelf: dict[str, Pack], below: list[Path]) -> None:
    """Look at the packs that lie within this one: what they amend must still stand as it is
    here.
    """
    pack = got.pack
    inner = []
    for other in on_shelf.values():
        chain = chain_of(other, on_shelf, Collector())
        if other.name != pack.name and pack.name in {p.name for p in chain[1:]}:
            inner.append((other, chain))
    for other, chain in inner:
        # the pack as it is here takes the place of the one on the shelf
        between = [p.folder for p in chain[::-1] if p.name != pack.name and p.folder not in below]
        whole = None
        with Collector().catching():
            whole = Library((*below, pack.folder, *between), Collector(), examples=False)
        if whole is not None:
            _see_fits(got, whole, other)
    if inner:
        names = listed([other.name for other, _ in inner])
        lie, were = ("lies", "was") if len(inner) == 1 else ("lie", "were")
        got.notices.append(f"{names} {lie} within it, and {were} looked at with it.")


def _see_fits(got: Review, whole: Library, other: Pack) -> None:
    """Note what of a pack that lies within does not fit, for which this one may be the reason."""
    files = {edit.at[0] for p in whole.packs if p.name == other.name for edit in p.edits}
    seen: set[str] = set()
    for edition in got.editions:
        for day in whole.dates():
            if not _adopted(whole, edition, day):
                continue
            faults = Collector()
            whole.material(edition, day, faults=faults)
            for fault in faults.items:
                if fault.at[0] in files and _text_of(fault) not in seen:
                    seen.add(_text_of(fault))
                    got.faults.add(
                        "within-not-fit",
                        got.pack.at,
                        f"{other.name} lies within it and does not fit: {fault.what} (at"
                        f" {fault.at}, for a permit of {day})",
                        fault.todo,
                    )


def _on_shelf(got: Review) -> dict[str, Pack]:
    """The packs on the shelf, none where a head is faulty; note where another has this one's
    name.
    """
    found: dict[str, Pack] = {}
    heads = Collector()
    # what is faulty in the heads of others is theirs
    with heads.catching():
        found = known_packs()
    taken = f'another pack is called "{got.pack.name}"'
    got.faults.take(*[f for f in heads.items if f.code == "id-in-use" and f.what.startswith(taken)])
    return found


def _see_together(got: Review, together: Library, why: str, told: set[str]) -> None:
    """Note the faults that show only where this pack and those beside it are in force at once."""
    pack = got.pack
    theirs = {p.name for p in together.packs} - {pack.name}
    files = {edit.at[0] for edit in pack.edits}
    for when in [(edition, day) for edition in got.editions for day in together.dates()]:
        if not _adopted(got.library, *when):
            continue
        with_all, without_this = Collector(), Collector()
        together.material(*when, faults=with_all)
        together.material(*when, faults=without_this, packs=theirs)
        for fault in with_all.items:
            if _text_of(fault) in told or str(fault) in map(str, without_this.items):
                continue
            told.add(_text_of(fault))
            here = fault.at[0] in files
            seen = "" if here else f" (seen at {fault.at})"
            got.faults.add(
                fault.code,
                fault.at if here else pack.at,
                f"{fault.what}, and {why}{seen}",
                "write within: and the name of the other in the head of the one that applies"
                " later, and check it again; or let them be for places of their own",
            )


# ---- the days ------------------------------------------------------------------------------------


def _adopting(library: Library) -> Pack | None:
    """The pack that says which editions hold: the last one that adopts any."""
    return next((pack for pack in reversed(library.packs) if pack.adopts), None)


def _editions(pack: Pack, library: Library) -> list[str]:
    """The editions to look at: those adopted; else those that the pack is for; else the usual."""
    adopting = _adopting(library)
    if adopting:
        said = [window.edition for window in adopting.adopts]
    else:
        said = [str(edition) for edition in as_list(pack.head.get("editions"))]
        said = said or [edition for edition in EDITIONS if edition != "2026"]
    return sorted(dict.fromkeys(said))


def _days(library: Library) -> list[str]:
    """Every day on which something begins, and the one before the first; of the packs below too."""
    named = library.dates()
    if not named:
        return [Date(2026, 1, 1).isoformat()]
    return [day_before(named[0]), *named]


def _adopted(library: Library, edition: str, day: str) -> bool:
    adopting = _adopting(library)
    return adopting is None or any(
        window.edition == edition and (window.start or "0") <= day < (window.end or "9999")
        for window in adopting.adopts
    )


def _telling(edit: Edit, library: Library, at: list[When]) -> When:
    """The edition and day on which an edit shows: the last of its own; where it re-dates another,
    one on which that makes a difference.
    """
    other = _re_dated_by(edit, library)
    if other is None:
        return at[-1]
    start, end = edit.redated
    after = replace(other, start=start or other.start, end=end or other.end)
    moved = [when for when in at if other.holds_on(when[1]) != after.holds_on(when[1])]
    return (moved or at)[-1]


def _re_dated_by(edit: Edit, library: Library) -> Edit | None:
    """The edit of another pack to which an edit gives other days."""
    pack = edit.d.get("edit of")
    if not pack:
        return None
    edits = (other for p in library.packs if p.name == str(pack) for other in p.edits)
    return next((other for other in edits if other.target == edit.target), None)


# ---- one edit ------------------------------------------------------------------------------------


def _look(edit: Edit, there: OneDay, partly: bool, got: Review) -> None:
    """See that one edit says what it was written over, what it means, and shows what it does."""
    _Looking(edit, there, partly, got).see()


class _Looking:
    """One edit on one day: whether it says what it was written over, what it means, and shows what
    it does.
    """

    def __init__(self, edit: Edit, there: OneDay, partly: bool, got: Review) -> None:
        self.edit, self.there, self.got, self.faults = edit, there, got, got.faults
        # some edit could not be carried out on this day: no example tells for sure
        self.partly = partly
        self.moves: list[Move] = []

    def see(self) -> None:
        """Note what the edit means, and everything that it lacks."""
        edit, there = self.edit, self.there
        edit.done = there.done[id(edit)]
        self._says_over_what()
        before = len(self.faults.items)
        self.moves = EditExamples(edit, there, self.faults, self.partly).run()
        # with an example: once it is mended it may be the one that is wanted
        amiss = len(self.faults.items) > before
        # examples ran without the edit and with it: what it does on this day is what counts
        edit.done = there.done[id(edit)]
        self.got.moves += self.moves
        self.found = self._found()
        if not verb_of(edit).changes_nothing:
            self.got.found[edit.number] = self.found
        self._says_what_is_meant()
        self._reads_too()
        self._says_which_way()
        self._says_its_lines()
        self._keeps_the_order()
        _size_matters(edit, there.k, self.faults)
        if edit.done.get("same"):
            return
        if not self._needs_no_example(amiss):
            self._has_examples()
        if not self.partly:
            self._see_old_examples()

    def _says_over_what(self) -> None:
        """See that an edit of what others wrote has the fingerprint of that."""
        edit, there = self.edit, self.there
        added_here = (
            verb_of(other).makes_anew and other.pack is edit.pack
            for other in there.m.trail.get(edit.target, ())
        )
        if verb_of(edit).makes_anew or any(added_here):
            return
        over = fingerprint(there.bare, edit.target) or fingerprint(there.below, edit.target)
        if not over:  # a fact, or a section, has no text of its own
            return
        self.got.prints[edit.number] = over
        if not edit.d.get("of"):
            self.faults.add(
                "of-missing",
                edit.at,
                f"{edit.name} does not say what it was written over",
                f"read {edit.target} (whywire rules {edit.target}) and add of: {over}",
            )

    def _found(self) -> Found:
        """The cases that the edit turns, as far as they can be sought on this day."""
        if self.edit.done.get("same"):
            return Found()
        # a long pack is looked at in the time of a few
        most = max(LEAST_RUNS, min(MOST, RUNS // len(self.got.edits)))
        return find(self.edit, self.there.k, self.bare, most)

    @cached_property
    def ways(self) -> set[str]:
        """Which ways it goes: by the cases that were found and by its examples; where neither
        decides, by what its lines alone prove.
        """
        found = self.found
        shown = {STRICTER} if found.stricter else set()
        shown |= {LAXER} if found.laxer else set()
        shown |= {move.direction for move in self.moves if move.decides} & {STRICTER, LAXER}
        if shown:
            return shown
        told = self.edit.done.get("direction")
        return {told} if told in (STRICTER, LAXER) else set()

    def _says_what_is_meant(self) -> None:
        edit = self.edit
        way = BOTH if len(self.ways) > 1 else next(iter(self.ways), CHANGES)
        means = self.got.said[edit.number] = said_back(edit, way)
        if not edit.d.get("meaning"):
            self.faults.add(
                "meaning-missing",
                edit.at,
                f"{edit.name} was understood so: {means}",
                "if that is what is meant, keep it as meaning: (whywire check --write adds it)",
            )
        elif edit.sound and " ".join(str(edit.d["meaning"]).split()) != means:
            self.faults.add(
                "meaning-moved",
                place_of(edit.d["meaning"], edit.at),
                f"{edit.name} now means: {means}",
                f"if that is what is meant, write meaning: {quoted(means)}",
            )

    def _says_which_way(self) -> None:
        """See that an edit says that it relieves where something fails without it and not with it,
        and nowhere else.
        """
        edit = self.edit
        relieves = str(edit.d.get("relieves", "")) == "yes"
        why = self._relieved()
        if why and not relieves:
            self.faults.add(
                "relieves",
                edit.at,
                f"{edit.name} asks less {why}",
                "if that is meant, add relieves: yes",
            )
        elif relieves and LAXER not in self.ways and STRICTER in self.ways:
            self.faults.add(
                "relieves",
                place_of(edit.d["relieves"], edit.at),
                f"{edit.name} says that it relieves, and it asks more{self._tightened()}",
                "leave relieves: out, or look at what the edit does",
            )

    def _says_its_lines(self) -> None:
        """See that a sentence of the writer's own says what the lines do; ask where it is not
        clear.
        """
        edit, rule = self.edit, self.there.k.rules.get(self.edit.target)
        if rule is not None and "strike" in edit.d and "says" not in edit.d:
            stays = f"its sentence stays as it was: “{str(rule.d.get('says', '')).rstrip('.')}”"
            self.got.asked.append((edit.number, f"{stays}. Does it say what the lines say now?"))
        own = verb_of(edit).writes_a_rule or isinstance(edit.d.get("says"), str)
        if rule is None or not own:
            return
        apart = {str(edit.d.get("choice until", ""))}
        days = {edit.start, edit.end, edit.pack.start, edit.pack.end, *apart} - {"", None}
        days |= {day_before(day) for day in (edit.end, edit.pack.end) if day}
        for day in strange_days(rule.d, days):
            what = f'the sentence has "{day}", and nothing begins or ends on that day'
            self.got.asked.append((edit.number, f"{what}. Is that meant?"))
        for difference in differences(rule.d, self.there.k.words, apart):
            if difference.is_fault:
                at = place_of(edit.d.get("says"), edit.at)
                todo = "write the same in the sentence and in the lines"
                self.faults.add("says-other", at, f"{edit.name}: {difference.what}", todo)
            else:
                self.got.asked.append((edit.number, f"{difference.what}. Is that meant?"))

    def _keeps_the_order(self) -> None:
        """Ask about a cell that breaks the order in which a table rises from row to row."""
        after = self.there.k.tables.get(self.edit.target)
        before = self.bare.tables.get(self.edit.target)
        if after is None or before is None:
            return
        for row in (row for row in after.rows if row not in before.rows):
            for column in after.values:
                out = out_of_order(after, before, row, column)
                if out:
                    self.got.asked.append((self.edit.number, f"{out}. Is that meant?"))

    def _reads_too(self) -> None:
        """Note who else reads what the edit is about: whom it reaches, and whom it does not."""
        edit, k = self.edit, self.there.k
        rule = k.rules.get(edit.target)
        if verb_of(edit).changes_nothing or (rule is None and edit.target in k.gone):
            return
        if rule is None:
            readers = sorted(r.id for r in k.rules.values() if _reads_what(edit, r))
            said = f"It is read by {listed(readers)}." if readers else "No rule reads it."
        elif rule.fills:
            facts = {(rule.about, fill.word.name) for fill in rule.fills}
            said = self._others(facts, "What it gives is read by {}.")
        elif rule.test is not None:
            pieces = [path for path in ex.paths(rule.test) if path.names]
            facts = {(p.kinds[-1], p.names[-1]) for p in pieces}
            said = self._others(facts, "Not reached, though it reads the same: {}.")
        else:
            return
        if said:
            self.got.beside[edit.number] = said

    def _others(self, facts: set[tuple[str, str]], said: str) -> str:
        """The other rules that read some facts, as they are told."""
        k, own = self.there.k, {self.edit.target}
        own |= {rule.id for rule in k.order.exceptions.get(self.edit.target, ())}
        own |= {*self.edit.done.get("reaches", ())}
        readers = {name for fact in facts for name in k.order.readers.get(fact, ())} - own
        if len(readers) > MANY_READERS:
            return said.format(f"{len(readers)} other rules")
        return said.format(listed(sorted(readers))) if readers else ""

    def _relieved(self) -> str:
        """What fails without the edit and passes with it; "" where nothing does."""
        shown = next((m for m in self.moves if m.decides and m.without == "fails"), None)
        if shown is not None and shown.direction == LAXER:
            return f"by its example {shown.number}: {shown.rule} was fails, and is {shown.within}"
        witness = self.found.relieves
        if witness is not None:
            alone = Found(laxer=witness, slices=self.found.slices, grids=self.found.grids)
            scene = scene_of(self.edit, alone)
            return f"than what stands below it: {scene.says}" if scene else ""
        told_alone = not self.found.decided and self.ways == {LAXER}
        return "than what stands below it" if told_alone else ""

    def _tightened(self) -> str:
        """The first example that went the other way."""
        shown = next((m for m in self.moves if m.direction == STRICTER), None)
        if shown is None or self.edit.done.get("direction") == STRICTER:
            return ""
        return (
            f": by its example {shown.number} {shown.rule} was {shown.without}, and is"
            f" {shown.within}"
        )

    def _needs_no_example(self, amiss: bool) -> bool:
        """Whether an example may be wanting: one is *amiss*, or cannot tell on this day, or the
        rule never applies.
        """
        edit, k = self.edit, self.there.k
        if amiss or (self.partly and edit.d.get("examples")):
            return True
        rule = k.rules.get(edit.target)
        return rule is not None and note_never(rule, k, edit.at, self.faults)

    def _fills_always(self) -> bool:
        """Whether the edit adds a rule that works a fact out for whatever it is about."""
        rule = self.there.k.rules.get(self.edit.target)
        if rule is None or not verb_of(self.edit).makes_anew:
            return False
        return bool(rule.fills) and not rule.when

    def _has_examples(self) -> None:
        """See that one example comes out otherwise because of the edit, and one as before; ask
        about the cases that were found where none does.
        """
        edit = self.edit
        lacks = [
            text
            for text, is_there in (
                (
                    f"no example of {edit.name} comes out otherwise because of it",
                    any(move.moved for move in self.moves),
                ),
                (
                    f"no example of {edit.name} shows a case that it leaves alone",
                    # of what is gone everywhere there is no such case to be found, nor of what
                    # is always worked out so
                    not verb_of(edit).needs_one_alone
                    or self._fills_always()
                    or not all(move.asks_otherwise for move in self.moves),
                ),
            )
            if not is_there
        ]
        if not lacks:
            return
        scene = scene_of(edit, self.found)
        lines = scene.examples() if scene else []
        if scene is not None:
            self.got.scenes.append(scene)
        rule = _rule_of(edit, self.there.k)
        form = f"- {{rule: {rule}, given: {{...}}, answer: fails}}"
        fills = self.there.k.rules[rule].fills if rule in self.there.k.rules else ()
        if fills:
            form = f"- {{rule: {rule}, given: {{...}}, gives: {{{fills[0].word.name}: ...}}}}"
        paste = [
            f"add to its examples: one that does, as in {form}",
            f"add to its examples: one that comes out as before, as in {self._left_alone()}",
        ]
        if scene is not None and lines:
            paste[0] = f"{scene.says} If that was voted, add to its examples: {lines[0]}"
        if len(lines) > 1:
            paste[1] = f"add to its examples: {lines[1]}"
        if not lines and {edit.target} <= self.there.k.tables.keys() & self.bare.tables.keys():
            for i, line in enumerate(examples_of(edit.target, self.there.k, self.bare)):
                paste[i] = f"add to its examples: {line}" if line else paste[i]
        for text in lacks:
            self.faults.add("example-needed", edit.at, text, paste["leaves alone" in text])

    @cached_property
    def bare(self) -> Knowledge:
        """The day without this edit."""
        return self.there.without([self.edit])

    def _left_alone(self) -> str:
        """An example to paste that the edit leaves alone: of the rules it reaches, or of another
        about the same kind.
        """
        edit, k = self.edit, self.there.k
        first = k.rules.get(edit.target) or self.bare.rules.get(_rule_of(edit, k))
        about = first.about if first else ""
        reached = [r for r in k.rules.values() if r is first or _reads_what(edit, r)]
        # the rules it reaches may have none that it leaves alone
        others = sorted(k.rules.values(), key=lambda r: r.about != about)
        for rule in (*reached, *others):
            for number, example in enumerate(rule.d.get("examples", []), 1):
                if self._comes_as_before(rule, example, number):
                    return pasted(
                        {} if rule.id == edit.target else {"rule": rule.id},
                        example["given"],
                        "answer",
                        example["answer"],
                    )
        return "- {rule: ..., given: {...}, answer: ...}"

    def _comes_as_before(self, rule: Rule, example: Any, number: int) -> bool:
        """Whether an example that expects an answer has it with the edit and without it."""
        k, bare = self.there.k, self.bare
        if not isinstance(example, dict) or not example.get("given"):
            return False
        if "edition" in example or "answer" not in example or rule.id not in bare.rules:
            return False
        try:
            return (
                run_example(k, rule, example, number).ok
                and run_example(bare, bare.rules[rule.id], example, number).ok
                and verdict(k, rule.id, example)
                == verdict(bare, rule.id, example)
                == str(example["answer"])
            )
        except Fault:
            return False

    def _see_old_examples(self) -> None:
        """Run the examples of the rules that the edit reaches under it: those that are true no more
        must be restated in the edit.

        One that moves as an example of the edit already shows (from passes to fails, say) needs no
        line of its own.
        """
        shown = {(move.rule, move.without, move.within) for move in self.moves if move.moved}
        for rule in self._reached():
            for number, example in enumerate(rule.d.get("examples", []), 1):
                outcome = self._true_no_more(rule, example, number)
                if outcome is None:
                    continue
                if "gives" not in example and (rule.id, outcome.wanted, outcome.got) in shown:
                    continue
                if self._was_true(rule.id, example, number):
                    self._must_be_restated(rule, example, outcome)

    def _reached(self) -> list[Rule]:
        """The rules whose own examples an edit may make untrue."""
        edit, rules = self.edit, self.there.k.rules
        # its own examples alone: those of the rules that read what it gives are run where those
        # rules are looked at
        if verb_of(edit).moves_lines and edit.target in rules:
            return [rules[edit.target]]
        if verb_of(edit).moves_readers:
            return [rule for rule in rules.values() if _reads_what(edit, rule)]
        return []

    def _true_no_more(self, rule: Rule, example: Any, number: int) -> Outcome | None:
        """What comes out of an example that is not restated, where that is not what it says."""
        if not isinstance(example, dict):
            return None
        # the edit says itself what comes out of these facts now
        if example.get("given") in self.got.restated.get(rule.id, ()):
            return None
        try:
            outcome = run_example(self.there.k, rule, example, number)
        except Fault:
            return None
        # an example that does not tell the new condition
        untold = "cannot tell" in outcome.got or "unknown" in outcome.got
        asks_more = verb_of(self.edit).asks_more or "where" in self.edit.d
        asks_more = asks_more or "choice until" in self.edit.d
        return None if outcome.ok or (asks_more and untold) else outcome

    def _was_true(self, rule: str, example: Mapping, number: int) -> bool:
        """Whether an example is true without the edit: another may be the one that moved it."""
        bare = self.bare
        return rule not in bare.rules or run_example(bare, bare.rules[rule], example, number).ok

    def _must_be_restated(self, rule: Rule, example: Mapping, outcome: Outcome) -> None:
        key = next((key for key in ("answer", "holds") if key in example), "gives")
        now = outcome.got
        restated = pasted(
            {} if rule.id == self.edit.target else {"rule": rule.id},
            example.get("given", {}),
            key,
            f"{{{now}}}" if key == "gives" else now.removeprefix("holds: "),
            # who signs the line should see what of the base he gives up
            note=f"{rule.id} promised {outcome.wanted}",
        )
        self.faults.add(
            "example-moved",
            self.edit.at,
            f"an example of {rule.id} itself (at {outcome.at}) is true no more: it said"
            f" {outcome.wanted}, and now {now} comes out",
            f"if that is meant, add to its examples: {restated}",
        )


def _reads_what(edit: Edit, rule: Rule) -> bool:
    """Whether a rule reads the value or the table that an edit is about, or is reached by it."""
    if rule.id in edit.done.get("reaches", ()):
        return True
    return edit.target in rule.reads_values or edit.target in rule.reads_tables


def _size_matters(edit: Edit, k: Knowledge, faults: Collector) -> None:
    """A must about what is tried tests every size: one that depends on none would pass them all, or
    leave none.
    """
    rule = k.rules.get(edit.target)
    if rule is None or not (verb_of(edit).writes_a_rule or "force" in edit.d):
        return
    idle = [
        pick
        for pick, tests in k.order.tests.items()
        if rule in tests and not _depends_on_size(rule, pick, k)
    ]
    if idle:
        what = k.rules[idle[0]].tried.name
        faults.add(
            "size-no-matter",
            edit.at,
            f"as a must about {rule.about}, {rule.id} is a test of every {what} that {listed(idle)}"
            f" {'tries' if len(idle) == 1 else 'try'}, and depends on none: no {what} could mend"
            " it, and none would be lawful",
            (
                f"write it about the {whole}, with of {rule.about} where that is meant"
                if (whole := _whole_of(rule.about, k.words))
                else f"write it about what the {rule.about} belongs to"
            ),
        )


def _whole_of(part: str, words: Words) -> str:
    """The kind of thing of which each has one such part; "" where there is none, or several."""
    wholes = {
        kind.name
        for kind in words.kinds.values()
        for word in kind.words.values()
        if word.part == "one" and word.type[1] == part
    }
    return wholes.pop() if len(wholes) == 1 else ""


def _depends_on_size(rule: Rule, pick: str, k: Knowledge) -> bool:
    """Whether a test of a pick rests, near or far, on what the pick tries."""
    tried: NodeId = ("cell", rule.about, k.rules[pick].tried.name, pick)
    todo: list[NodeId] = [("rule", rule.id, pick)]
    seen: set[NodeId] = set()
    while todo and tried not in seen:
        node = todo.pop()
        if node not in seen:
            seen.add(node)
            todo += k.order.needs.get(node, ())
    return tried in seen


def _rule_of(edit: Edit, k: Knowledge) -> str:
    """A rule whose answer the edit may change."""
    rule = k.rules.get(edit.target)
    item = rule.d if rule is not None else k.gone.get(edit.target)
    if item is not None:
        return str(next(iter(as_list(item.get("exception to"))), edit.target))
    return next((r.id for r in k.rules.values() if _reads_what(edit, r)), "RULE")


__all__ = ["KB", "Move", "Review", "review", "verdict"]
