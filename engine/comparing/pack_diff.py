"""Two versions of a pack as a council reads them: each edit in words before and after, whom it
concerns, its days, and the findings of jobs that turn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ..basics.errors import Collector, Fault, Faults
from ..basics.reading import Mapping, Text, decode, read_bytes, read_yaml
from ..language.knowledge import KB, Knowledge
from ..language.rules import plain_text
from ..language.words import a_noun
from ..law.edits import Edit
from ..law.in_words import when_in_words
from ..law.meanings import listed
from ..law.places import in_force
from ..law.there import TWIN, twins_of
from .amendments import Review, review
from .compare import Comparison, Difference, Told, Under, differ_of, jobs_in

NEW, GONE, CHANGED, DAYS, CITED = "new", "gone", "changed", "other days", "cited otherwise"
# what of an edit does nothing: what was kept of it, and who says so
KEPT = ("of", "meaning", "examples", "notes", "reason", "relieves", "corrected")


@dataclass
class Turn:
    """An edit that is not the same in both versions; None on the side that has none."""

    kind: str
    old: Edit | None
    new: Edit | None
    before: str  # what it meant, "" where there was none
    after: str
    concerns: str  # whom

    @property
    def edit(self) -> Edit:
        """The edit as it is, or was where it is gone."""
        edit = self.new or self.old
        assert edit is not None
        return edit

    def as_dict(self) -> dict[str, Any]:
        return {
            "kind": self.kind,
            "verb": self.edit.verb,
            "of": self.edit.target,
            "before": self.before,
            "after": self.after,
            "concerns": self.concerns,
            "cite": {"before": _cite(self.old), "after": _cite(self.new)},
            "days": {"before": _days(self.old), "after": _days(self.new)},
            "reason": str(self.edit.d.get("reason", "")),
        }


@dataclass
class PackDiff:
    """What differs between two versions of a pack."""

    title: str
    authority: str
    versions: tuple[str, str]  # the digests of what the two do
    edition: str
    day: str
    turns: list[Turn] = field(default_factory=list)
    head: list[tuple[str, str, str]] = field(default_factory=list)  # key, before, after
    jobs: int = 0
    # the findings that have another answer, and how many keep theirs with another number behind it
    differences: list[Difference] = field(default_factory=list)
    keep: int = 0
    unread: dict[str, str] = field(default_factory=dict)  # job -> why it was not compared

    @property
    def same(self) -> bool:
        """Whether both versions are one law."""
        return not self.turns and not self.head

    def as_dict(self) -> dict[str, Any]:
        return {
            "title": self.title,
            "authority": self.authority,
            "versions": [*self.versions],
            "edition": self.edition,
            "day": self.day,
            "head": [{"key": key, "before": old, "after": new} for key, old, new in self.head],
            "edits": [turn.as_dict() for turn in self.turns],
            "jobs": self.jobs,
            "kept with another number": self.keep,
            "turned": [difference.as_dict() for difference in self.differences],
            "not compared": self.unread,
        }


def pack_diff(old: Path, new: Path, jobs: Sequence[str] = (), day: str = "") -> PackDiff:
    """What the pack in *new* does otherwise than the one in *old*, shown on the shipped jobs, on
    those of the packs and on *jobs*, for a permit of *day* (the last on which something changes).

    Raises:
        Faults: one of the two does not hold together.
    """
    reviews = [review(Path(folder)) for folder in (old, new)]
    faults = [fault for got in reviews for fault in got.faults.items if fault.code in _BREAKS]
    if faults or not all(got.sound for got in reviews):
        every = [fault for got in reviews for fault in got.faults.items]
        raise Faults(faults or every)
    before, after = reviews
    turns = _turns(before, after)
    edition, day = _when(after, turns, day)
    pack = after.pack
    out = PackDiff(
        pack.title,
        str(pack.head.get("authority", "")),
        (_digest(before, edition, day), _digest(after, edition, day)),
        edition,
        day,
        turns,
        _head(before, after),
    )
    _run_jobs(out, (before, after), jobs)
    return out


# what keeps a pack from being put together; what is only wanted of it does not
_BREAKS = {
    "not-there",
    "stale",
    "no-such-item",
    "edits-clash",
    "edit-form",
    "edit-key",
    "edit-verb",
    "circle",
    "locked",
    "maker-limit",
}


def _digest(got: Review, edition: str, day: str) -> str:
    with_it = got.library.in_force(edition, day, without=got.unsound, faults=Collector())
    return with_it.digest


def _head(before: Review, after: Review) -> list[tuple[str, str, str]]:
    """What the heads say otherwise, but for prose."""
    prose = ("notes", "written", "documents", "title")
    heads = [
        {str(key): _flat(said) for key, said in got.pack.head.items() if key not in prose}
        for got in (before, after)
    ]
    keys = dict.fromkeys([*heads[0], *heads[1]])
    return [
        (key, heads[0].get(key, ""), heads[1].get(key, ""))
        for key in keys
        if heads[0].get(key) != heads[1].get(key)
    ]


def _flat(said: object) -> str:
    plain = plain_text(said)
    if isinstance(plain, list):
        return "; ".join(_flat(one) for one in plain)
    if isinstance(plain, dict):
        return ", ".join(f"{key} {_flat(one)}" for key, one in plain.items())
    return str(plain)


# ---- which edit became which ---------------------------------------------------------------------


def _does(edit: Edit) -> str:
    """What an edit does, whatever its days and its section."""
    apart = (*KEPT, "cite", "from", "until")
    return repr(sorted((str(k), str(plain_text(v))) for k, v in edit.d.items() if k not in apart))


def _law(got: Review) -> Knowledge:
    """What is in force with a version of the pack on the last day that it names."""
    return got.library.in_force(*got.sound[-1], without=got.unsound, faults=Collector())


def _turns(before: Review, after: Review) -> list[Turn]:
    """The edits that are not the same in both, in the order of the new version; last what is
    gone.
    """
    left = [*before.pack.edits]
    out = []
    pairs: list[tuple[Edit | None, Edit]] = []
    # first those that do the same; then those that do something else to the same
    rest = []
    for new in after.pack.edits:
        old = next((o for o in left if _does(o) == _does(new)), None)
        if old is not None:
            left.remove(old)
            pairs.append((old, new))
        else:
            rest.append(new)
    for new in rest:
        alike = [o for o in left if o.target == new.target]
        old = next((o for o in alike if o.verb == new.verb), alike[0] if alike else None)
        if old is not None:
            left.remove(old)
        pairs.append((old, new))
    pairs.sort(key=lambda pair: pair[1].number)
    laws = {id(got): _law(got) for got in (before, after)}
    for old, new in pairs:
        kind = _kind(old, new)
        if kind:
            out.append(_turn(kind, old, new, (before, after), laws))
    return out + [_turn(GONE, old, None, (before, after), laws) for old in left]


def _kind(old: Edit | None, new: Edit) -> str:
    """How an edit differs from what it was; "" where it does not."""
    if old is None:
        return NEW
    if _does(old) != _does(new):
        return CHANGED
    if _days(old) != _days(new):
        return DAYS
    return CITED if old.cite != new.cite else ""


def _turn(
    kind: str,
    old: Edit | None,
    new: Edit | None,
    versions: tuple[Review, Review],
    laws: dict[int, Knowledge],
) -> Turn:
    before, after = versions
    was = before.said.get(old.number, "") if old else ""
    comes = after.said.get(new.number, "") if new else ""
    got, edit = (after, new) if new else (before, old)
    assert edit is not None
    return Turn(kind, old, new, was, comes, concerns(edit, laws[id(got)]))


def concerns(edit: Edit, k: Knowledge) -> str:
    """Whom an edit concerns: the things that its rule is about, and under which conditions."""
    rule = k.rules.get(edit.target)
    d = rule.d if rule is not None else k.gone.get(edit.target)
    where = when_in_words(edit.d.get("where")) if isinstance(edit.d.get("where"), str) else ""
    if d is not None:
        when = when_in_words(d.get("when"))
        return f"{a_noun(str(d.get('about')))}, {f'if {when}' if when else 'always'}"
    reached = edit.done.get("reaches") or [
        rule.id
        for rule in k.rules.values()
        if edit.target in rule.reads_values or edit.target in rule.reads_tables
    ]
    kinds = sorted({a_noun(k.rules[name].about) for name in reached if name in k.rules})
    said = f"{listed(kinds)}, by {listed(reached, 4)}" if kinds else "nobody by itself"
    return said + (f", if {where}" if where else "")


def _cite(edit: Edit | None) -> str:
    return edit.cite if edit else ""


def _days(edit: Edit | None) -> str:
    return (edit.window() or "on every day") if edit else ""


def _when(after: Review, turns: list[Turn], asked: str) -> tuple[str, str]:
    """The edition and the day on which jobs are run: the day asked for, or the last on which
    something that differs holds.
    """
    days = list(after.sound)
    if asked:
        fits = [when for when in days if when[1] <= asked]
        return (fits or days)[-1][0], asked
    edits = [edit for turn in turns for edit in (turn.old, turn.new) if edit is not None]
    held = [when for when in days if any(edit.holds_on(when[1]) for edit in edits)]
    return (held or days)[-1]


# ---- the jobs ------------------------------------------------------------------------------------


def _run_jobs(out: PackDiff, reviews: tuple[Review, Review], jobs: Sequence[str]) -> None:
    """Run the jobs under both versions, as if each lay in the pack's place on the day."""
    folders = [KB / "jobs", *(got.pack.folder / "jobs" for got in reviews)]
    paths = [path for folder in folders for path in sorted(folder.rglob("*.yaml"))]
    paths += [path for one in jobs for path in jobs_in(one)]
    told: list[Told] = []
    names: set[str] = set()
    for path in paths:
        # both versions may have the same jobs beside them; a page is nobody's to name folders on
        name = f"{path.resolve().parent.name}/{path.stem}"
        if name in names:
            continue
        names.add(name)
        try:
            told.append(_under_both(out, reviews, path, name))
        except (Fault, Faults) as fault:
            out.unread[name] = str(fault).split("\n")[0]
    found = Comparison()
    differ_of(found, told)
    for job, faults in found.faults:
        out.unread[job] = faults.items[0].what
    out.jobs = found.jobs
    moved = _as_one([d for d in found.differences if d.kind == "finding"])
    out.differences = [d for d in moved if d.a.answer != d.b.answer]
    out.keep = len(moved) - len(out.differences)


def _as_one(moved: list[Difference]) -> list[Difference]:
    """The findings that moved, without those of the part of a rule that was said twice, for some
    and for the rest, where the other part tells what comes of it.
    """
    whole = {(d.job, d.on, d.name) for d in moved}
    twins = {twin: name for _, _, name in whole for twin in twins_of({d.name for d in moved}, name)}
    out = []
    for d in moved:
        of = twins.get(d.name) or (d.name.split(TWIN)[0] if TWIN in d.name else "")
        asks_nothing = {d.a.answer, d.b.answer} <= {"passes", "does not apply", "not in force"}
        if not of or not ((d.job, d.on, of) in whole or asks_nothing):
            out.append(d)
    return out


def _under_both(out: PackDiff, reviews: tuple[Review, Review], path: Path, name: str) -> Told:
    body = read_yaml(decode(read_bytes(path, name), name), name)
    if not isinstance(body, Mapping):
        raise Faults([Fault("job-form", reviews[0].pack.at, "this file is no job", "see README")])
    apart = ("permit", "permit date", "edition", "place", "packs")
    kept = Mapping((key, said) for key, said in body.items() if key not in apart)
    kept.__dict__.update(body.__dict__)
    kept[Text("permit date")] = Text(out.day)
    sides = []
    for said, got in zip(("as it was", "as it is to be"), reviews):
        chain = [pack.folder for pack in got.library.packs[1:]]
        force = in_force(kept, name, chain, out.edition)
        sides.append(Under(said, force, _with_edition(kept, out.edition)))
    return Told(name, sides)


def _with_edition(body: Mapping, edition: str) -> Mapping:
    out = Mapping({**body, Text("edition"): Text(edition)})
    out.__dict__.update(body.__dict__)
    return out


__all__ = ["CHANGED", "CITED", "DAYS", "GONE", "NEW", "PackDiff", "Turn", "concerns", "pack_diff"]
