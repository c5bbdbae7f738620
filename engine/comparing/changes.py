"""What a pack changes against what it is laid over: which findings and sizes of jobs come out
otherwise, both with their numbers.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeAlias

from ..answering.findings import judged
from ..basics.errors import Collector, Fault, Faults
from ..basics.reading import Mapping, Text, decode, read_bytes, read_yaml
from ..basics.sentinels import NOTHING
from ..checking.examples import show
from ..language.knowledge import KB, Knowledge, assemble
from ..language.rules import Rule
from ..language.things import Thing
from ..law.edits import Edit
from ..law.library import shown_name
from ..running.chain import OFF, World
from ..running.job import read_job
from .amendments import Review

# (thing, rule or fact) -> what comes out, and the numbers behind it
CameOut: TypeAlias = dict[tuple[str, str], tuple[str, str]]


@dataclass
class Move:
    """One finding, or one fact of the design, that comes out otherwise."""

    on: str
    what: str  # the rule, or the fact
    before: str
    after: str

    @property
    def in_silence(self) -> bool:
        """Whether it asked for nothing before, and asks for nothing now."""
        return all(t.startswith(("passes", OFF)) for t in (self.before, self.after))


@dataclass
class Changes:
    """What a pack changes for a permit of one day."""

    edition: str
    day: str
    edits: list[Edit]  # those in force on that day
    jobs: int = 0
    moves: dict[str, list[Move]] = field(default_factory=dict)  # job -> what moves in it
    # job -> why it could not be read with the pack
    unread: dict[str, str] = field(default_factory=dict)


def changes(got: Review) -> Changes | None:
    """Run the shipped jobs and the pack's own with the pack and without its edits; None where it
    cannot be put together.

    Each job is run as if it lay in the pack's place and its permit were of the day on which most of
    its edits hold.
    """
    library, edits = got.library, got.pack.edits
    days = [(sum(e.holds_on(day) for e in edits), day, edition) for edition, day in got.sound]
    if not days:
        return None
    _, day, edition = max(days)
    faults = Collector()
    within, without = (
        assemble(library.material(edition, day, left_out, faults), faults, library.pool)
        for left_out in (got.unsound, edits)
    )
    facts = library.words.kinds["job"].words
    told = {"edition": edition, "permit date": day}
    told_here: dict[str, Text] = {
        Text(fact): Text(worth) for fact, worth in told.items() if fact in facts
    }
    out = Changes(edition, day, [e for e in edits if e.holds_on(day) and e not in got.unsound])
    for path in _jobs_beside(got.pack.folder):
        name = shown_name(path)
        try:
            body = _told_as(read_yaml(decode(read_bytes(path, name), name), name), told_here)
            before, after = (came_out(k, body, name) for k in (without, within))
        except (Fault, Faults) as fault:
            out.unread[name] = str(fault).split("\n")[0]
            continue
        out.jobs += 1
        moved = _moves(before, after)
        if moved:
            out.moves[name] = moved
    return out


def _jobs_beside(folder: Path) -> list[Path]:
    """The shipped jobs, and those of the pack itself."""
    return [path for of in (KB, folder) for path in sorted((of / "jobs").rglob("*.yaml"))]


def _told_as(body: Mapping, told: dict[str, Text]) -> Mapping:
    """A job as if its permit were another: with what is *told* of that."""
    kept = {key: said for key, said in body.items() if key not in ("permit", "edition")}
    return Mapping({**kept, **told})


def _moves(before: CameOut, after: CameOut) -> list[Move]:
    """What comes out otherwise."""
    nothing = (OFF, "")
    out = []
    for of in dict.fromkeys([*before, *after]):
        was, is_ = before.get(of, nothing), after.get(of, nothing)
        if was != is_:
            out.append(Move(*of, " ".join(was).strip(), " ".join(is_).strip()))
    return out


def came_out(k: Knowledge, body: Mapping, name: str) -> CameOut:
    """(thing, rule or fact) -> what comes out, and the numbers behind it.

    Raises:
        Faults: the job cannot be read under this knowledge.
    """
    world = World(k, read_job(body, k, name)).run()
    out = {
        (thing[0].id, rule.id): (answer, numbers(rule, thing))
        for rule, thing, answer in judged(world)
        if rule.verb not in ("warns", "lacks")
    }
    for kind, things in world.by_kind.items():
        for word in k.words.kinds[kind].words.values():
            if word.design and word.type[0] in ("q", "row"):
                out |= {(x[0].id, word.name): (show(x[word.slot], word.unit), "") for x in things}
    return out


def numbers(r: Rule, x: Thing) -> str:
    """Both sides of a rule's comparison on a thing, "" where it has none."""
    test = r.comparison
    if test is None:
        return ""
    sides = (test.a, test.b)
    left, right = (None if v is NOTHING else v for v in (side.ev(x, None) for side in sides))
    unit = next((side.t[2] for side in sides if side.t[0] == "q" and side.t[2]), None)
    said = f"({show(left, unit)} {test.op} {show(right, unit)})"
    # a range narrower than is shown
    return re.sub(r"([(= ])(\S+ \S+) to \2(?=[) ])", r"\1\2", said)


__all__ = ["Changes", "Move", "changes"]
