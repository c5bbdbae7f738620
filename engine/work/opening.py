"""A job opened for its work: the packs of the work laid over what is in force, and the job as it is
to be built, with the mends that the note shows.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from ..answering.inspection import Inspection, Source, body_of
from ..answering.note import Note, law_of, note_of
from ..answering.standing import NOT_LOOKED_AT, NOT_RIGHT
from ..basics.errors import Collector, Fault, Faults, Place
from ..basics.reading import Mapping, place_of
from ..language.knowledge import KB, Knowledge
from ..language.lowering import HOLD, TAKES, WORK
from ..language.things import Thing
from ..law.places import InForce, in_force
from ..proving.wording import short, show, unit_shown
from ..running.cache import load
from ..running.chain import World
from ..running.rerun import Change

WORK_PACK = KB / "work"
SHOP = "shop"
# one of a list of parts as it is called elsewhere: of what, its kind, which
ONE_OF = re.compile(r"(.+) ([a-z]+) ([1-9]\d?)")
OPTIONS = "options"
MEASURED = "measured-on-what-was-there"  # a table of facts that go with the part they were told of


@dataclass
class Opened:
    """A job with everything its work needs: as it was told, and as it is to be built."""

    told: Inspection
    note: Note  # of the job as it was told
    mends: list[Change]
    built: Inspection  # with the mends made; the same where there are none
    headline: str  # of the job as it is to be built
    measured_before: list[str]  # what was told of a part that is not the one that is bought

    @property
    def knowledge(self) -> Knowledge:
        return self.built.k

    @property
    def world(self) -> World:
        """The run of the job as it is to be built, with what is taken for granted in it."""
        return self.built.standing.world

    @cached_property
    def cautions(self) -> list[dict[str, Any]]:
        """The cautions that are known to hold of the job as it is to be built."""
        return self.built.cautions_that_hold

    @property
    def title(self) -> str:
        return str(self.told.job.title or self.told.name)

    @property
    def law(self) -> str:
        """What is in force, in a few words, with the shop's own packs."""
        return law_of(self.told, WORK_PACK.name)

    @property
    def holds_back(self) -> bool:
        """Whether nobody should build or offer this as it stands."""
        return self.headline in (NOT_RIGHT, NOT_LOOKED_AT)


@dataclass
class How:
    """Under which law and by whose habits a job is opened."""

    packs: tuple[str, ...] = ()
    shops: tuple[str, ...] = ()
    edition: str | None = None
    date: str | None = None
    place: str | None = None


def opened(
    source: Source,
    how: How,
    changes: dict[str, Any] | None = None,
    found: Iterable[Change] = (),
) -> Opened:
    """Open a job for its work; *changes* are an option, told in the job's own form; *found* is
    what is told over it.

    Raises:
        Faults: something is wrong in the job, in a pack, or in an option.
    """
    try:
        body, name = body_of(source)
    except Fault as fault:
        raise Faults([fault]) from None
    body = with_changes(body, in_place(body, changes or {}))
    force = in_force(body, name, how.packs, how.edition, how.date, how.place)
    knowledge = load(folders_of_work(force, how.shops), force.edition, force.date)
    _see_shops(knowledge)
    return opened_under(body, knowledge, force, found)


def opened_under(
    body: Any,
    knowledge: Knowledge,
    force: InForce | None = None,
    found: Iterable[Change] = (),
) -> Opened:
    """Open a job without options for its work, under *knowledge* that holds the packs of the work;
    *found* is told over it.

    Raises:
        Faults: something is wrong in the job.
    """
    over = list(found)
    told = Inspection(body, knowledge, "plain", force, over)
    note = note_of(told)
    mends = [change for fault in note.faults for change in fault.mend]
    dropped = _measured_before(told, mends)
    made = [*over, *mends, *((of, fact, None) for of, fact in dropped)]
    built = Inspection(body, knowledge, "plain", force, made) if mends else told
    before = [_told_before(told, of, fact) for of, fact in dropped]
    return Opened(told, note, mends, built, built.standing.headline, before)


def _measured_before(told: Inspection, mends: list[Change]) -> list[tuple[str, str]]:
    """(thing, fact) of what was told of a part in whose place another is bought: the new one is not
    judged by it.
    """
    table = told.k.tables[MEASURED]
    out = []
    for of, changed, _ in mends:
        kind = told.w.things[of][0].kind
        for row in table.rows:
            if (str(row["of"]), str(row["changed"])) != (kind, changed):
                continue
            for thing in told.w.by_kind.get(str(row["kind"]), ()):
                if str(row["fact"]) in thing[0].told and _together(thing, told.w.things[of]):
                    out.append((thing[0].id, str(row["fact"])))
    return list(dict.fromkeys(out))


def _together(one: Thing, other: Thing) -> bool:
    """Whether two things are the same, or parts of one whole."""
    return one is other or (one[0].whole is not None and one[0].whole is other[0].whole)


def _told_before(told: Inspection, of: str, fact: str) -> str:
    """What was told, in a few words: `cable diameter of kiln segment 1, 0.7 in`."""
    thing = told.w.things[of]
    word = told.k.words.kinds[thing[0].kind].words[fact]
    value = show(thing[word.slot], unit_shown(thing, fact, word.unit))
    return f"{fact} of {short(thing)}, {value}"


def in_place(body: Any, changes: Any) -> Any:
    """Changes to things that are called by their names alone, put where the job has these things;
    a stretch as it is called elsewhere.

    >>> job = {"ways": {"yard": {"pieces": [{"length": "3 ft"}]}}}
    >>> in_place(job, {"yard": {"length": "30 ft"}})
    {'ways': {'yard': {'length': '30 ft'}}}
    >>> in_place(job, {"yard piece 1": {"length": "4 ft"}})
    {'ways': {'yard': {'pieces': [{'length': '4 ft'}]}}}
    """
    if not isinstance(body, dict) or not isinstance(changes, dict):
        return changes
    out = Mapping()
    out.at = place_of(changes)
    for key, value in changes.items():
        put = {key: value} if key in body else _where_it_is(body, str(key), value)
        for holder, inside in put.items():
            told = holder in out and isinstance(out[holder], dict) and isinstance(inside, dict)
            out[holder] = with_changes(out[holder], inside) if told else inside
    return out


def _where_it_is(body: dict[str, Any], name: str, value: Any) -> dict[str, Any]:
    """A change to a thing by its name, in the list of the job that holds it; as it is, where none
    does.
    """
    part = ONE_OF.fullmatch(name)
    for holder, things in body.items():
        if not isinstance(things, dict) or holder == OPTIONS:
            continue
        if name in things:
            return {holder: {name: value}}
        whole = things.get(part[1]) if part else None
        if part is None or not isinstance(whole, dict):
            continue
        told, at = list(whole.get(f"{part[2]}s", ())), int(part[3]) - 1
        if at < len(told):
            told[at] = with_changes(told[at], value)
            return {holder: {part[1]: {f"{part[2]}s": told}}}
    return {name: value}


def with_changes(body: Any, changes: Any) -> Any:
    """A job with some changes in its own form laid over it, and without its options; a list takes
    the place of a list.

    >>> with_changes(Mapping({"a": Mapping({"b": "1", "c": "2"})}), {"a": {"b": "3"}})
    {'a': {'b': '3', 'c': '2'}}
    """
    if not isinstance(body, dict) or not isinstance(changes, dict):
        return changes
    out = Mapping((key, value) for key, value in body.items() if key != OPTIONS)
    out.at = place_of(body)
    for key, value in changes.items():
        out[key] = with_changes(out[key], value) if key in out else value
    return out


def folders_of_work(force: InForce, shops: tuple[str, ...] = ()) -> tuple[Path, ...]:
    """The packs of the law, those of the work over them, a place's own first."""
    faults = Collector()
    for shop in shops:
        if not Path(shop).is_dir():
            faults.add(
                "no-such-pack",
                Place(shop),
                "there is no such folder",
                "name the folder of a shop's pack",
            )
    faults.stop()
    of_places = [folder / "work" for folder in force.folders if (folder / "work").is_dir()]
    return (WORK_PACK, *force.folders, *of_places, *map(Path, shops))


def _see_shops(knowledge: Knowledge) -> None:
    """See that a shop's pack touches its own trade alone: parts, tasks and values of practice.

    Raises Faults: what the law, a place or safety says is not a shop's to change.
    """
    faults = Collector()
    for name, edits in knowledge.trail.items():
        for edit in edits if name not in knowledge.withdrawn else ():
            if edit.pack.layer == SHOP and not _is_habit(knowledge, name, edit):
                faults.add(
                    "not-a-habit",
                    edit.at,
                    f"a shop's pack changes {name}, which is no habit of a shop",
                    "a shop may change values, parts and tasks of practice, not what the law says"
                    " nor what an inspection has to see",
                )
    for name, edit in knowledge.withdrawn.items():
        if edit.pack.layer == SHOP:
            before = knowledge.gone[name]
            if not before.get(TAKES) and not (before.get(WORK) and "practice" in before):
                faults.add(
                    "not-a-habit",
                    edit.at,
                    f"a shop's pack withdraws {name}, which is no habit of a shop",
                    "a shop may withdraw parts and tasks of practice alone",
                )
    faults.stop()


def _is_habit(knowledge: Knowledge, name: str, edit: Any) -> bool:
    if name in knowledge.tables:
        return "practice" in knowledge.tables[name].d
    if name in knowledge.value_items:
        return "practice" in knowledge.value_items[name]
    rule = knowledge.rules.get(name) or knowledge.absent.get(name)
    if rule is None:
        return False
    if str(edit.verb) == "add":
        return TAKES in rule.d or WORK in rule.d or rule.verb in ("gives", "assumes", "reckons")
    if HOLD in rule.d:
        return False
    return TAKES in rule.d or "practice" in rule.d
