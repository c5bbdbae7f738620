"""What if a fact were otherwise: the same job read again, one or more facts told anew, and run."""

from __future__ import annotations

from ..basics.limits import KEPT_THINGS, TRIED_THINGS
from ..basics.reading import Mapping
from ..basics.sentinels import NONE
from ..language.knowledge import Knowledge
from .chain import World
from .job import Job, read_job

# (thing id, fact, value in the base of its unit, a word, yes/no; None takes a told fact back)
Change = tuple


def tell(job: Job, changes) -> None:
    """Tell *job* each change, over whatever was told."""
    for thing, fact, value in changes:
        x = job.things[thing]
        w = job.k.words.kinds[x[0].kind].words[fact]
        x[w.slot] = value
        x[0].looked.discard(fact)
        if value is None:
            x[0].told.pop(fact, None)
        else:
            x[0].told[fact] = value


class WhatIf:
    """Runs of one job with something changed. *body* is the job as it was read."""

    def __init__(self, k: Knowledge, body: Mapping, name: str = "job") -> None:
        self.k, self.body, self.name = k, body, name
        self.seen: dict[tuple, World] = {}
        self.left = (
            TRIED_THINGS  # how many things the search for what could turn a finding may still walk
        )
        self.stopped = False  # that search was cut short

    def may_try(self) -> bool:
        """Whether the search for what could turn a finding may go on; a job of ordinary size never
        comes to its end.
        """
        self.stopped |= self.left <= 0
        return not self.stopped

    def anew(self) -> None:
        """Search as far for the next question as for the first: an answer does not depend on what
        was asked before it.
        """
        self.left, self.stopped = TRIED_THINGS, False

    def made(self, w: World) -> bool:
        """Whether *w* is the job with something told otherwise."""
        return any(kept is w for changes, kept in self.seen.items() if changes)

    def run(self, changes=()) -> World:
        """The world of the job under *changes* (kept, so that the same question costs once)."""
        key = tuple(sorted((t, f, repr(v)) for t, f, v in changes))
        if key not in self.seen:
            job = read_job(self.body, self.k, self.name)
            tell(job, changes)
            while self.seen and len(job.things) * (len(self.seen) + 1) > KEPT_THINGS:
                del self.seen[next(iter(self.seen))]
            self.left -= len(job.things)
            self.seen[key] = World(self.k, job).run()
        return self.seen[key]


__all__ = ["WhatIf", "tell", "NONE", "Change"]
