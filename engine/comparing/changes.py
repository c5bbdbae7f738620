"""What a pack changes against what it is laid over: which findings and sizes of jobs come out
otherwise, both with their numbers.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from ..answering.findings import judged
from ..basics.errors import Collector, Fault, Faults
from ..basics.reading import Mapping, Text, decode, read_bytes, read_yaml
from ..basics.sentinels import NOTHING
from ..checking.examples import show
from ..language import expressions as ex
from ..language.knowledge import KB, Knowledge, assemble
from ..language.rules import Rule
from ..law.edits import Edit
from ..law.library import shown_name
from ..running.chain import OFF, World
from ..running.job import read_job
from .amendments import Review


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
    mine = Collector()
    within, without = (
        assemble(library.material(edition, day, left_out, mine), mine, library.pool)
        for left_out in (got.unsound, edits)
    )
    known = library.words.kinds["job"].words
    told = {Text(k): Text(v) for k, v in (("edition", edition), ("permit date", day)) if k in known}
    out = Changes(edition, day, [e for e in edits if e.holds_on(day) and e not in got.unsound])
    for path in [
        *sorted((KB / "jobs").rglob("*.yaml")),
        *sorted((got.pack.folder / "jobs").rglob("*.yaml")),
    ]:
        name = shown_name(path)
        try:
            body = read_yaml(decode(read_bytes(path, name), name), name)
            body = Mapping(
                {**{k: v for k, v in body.items() if k not in ("permit", "edition")}, **told}
            )
            a, b = (came_out(k, body, name) for k in (without, within))
        except (Fault, Faults) as fault:
            out.unread[name] = str(fault).split("\n")[0]
            continue
        out.jobs += 1
        nothing = (OFF, "")
        moved = [
            Move(
                key[0],
                key[1],
                " ".join(a.get(key, nothing)).strip(),
                " ".join(b.get(key, nothing)).strip(),
            )
            for key in dict.fromkeys([*a, *b])
            if a.get(key, nothing) != b.get(key, nothing)
        ]
        if moved:
            out.moves[name] = moved
    return out


def came_out(k: Knowledge, body: Mapping, name: str) -> dict[tuple, tuple]:
    """(thing, rule or fact) -> what comes out, and the numbers behind it."""
    w = World(k, read_job(body, k, name)).run()
    out = {
        (x[0].id, r.id): (a, numbers(r, x))
        for r, x, a in judged(w)
        if r.verb not in ("warns", "lacks")
    }
    for kind, xs in w.by_kind.items():
        for word in k.words.kinds[kind].words.values():
            if word.design and word.type[0] in ("q", "row"):
                out |= {(x[0].id, word.name): (show(x[word.slot], word.unit), "") for x in xs}
    return out


def numbers(r: Rule, x: list) -> str:
    """Both sides of a rule's comparison on a thing, "" where it has none."""
    c = r.test
    if not isinstance(c, ex.Cmp):
        return ""
    a, b = (None if v is NOTHING else v for v in (c.a.ev(x, None), c.b.ev(x, None)))
    unit = next((e.t[2] for e in (c.a, c.b) if e.t[0] == "q" and e.t[2]), None)
    # a range narrower than is shown
    return re.sub(
        r"([(= ])(\S+ \S+) to \2(?=[) ])", r"\1\2", f"({show(a, unit)} {c.op} {show(b, unit)})"
    )


__all__ = ["Changes", "Move", "changes"]
