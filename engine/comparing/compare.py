"""A job, or many, under two laws: every outcome that differs, grouped by the changes of the law
that cause it.

What causes a difference is found by trying it: under the second law with a change taken back, does
the outcome of the first law return? One change that does so is the cause; where none does alone,
the fewest that do together.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import combinations
from pathlib import Path
from typing import Any, NamedTuple, TypeAlias

from ..answering.amended import as_plain
from ..basics.errors import Fault, Faults, Place
from ..basics.reading import Mapping, decode, read_bytes, read_yaml
from ..basics.units import parse_quantity
from ..language.rules import JUDGING, Rule
from ..language.things import NodeId, Thing
from ..law.laws import Law, law_of, read_law
from ..law.library import Library
from ..law.places import InForce
from ..proving.graph import exact_text, short, show, unit_of, unit_shown
from ..running.chain import ADVICE, FAILS, LACKS, OFF, PASSES, REFERS, SET_ASIDE, TELL, WARNS, World
from ..running.job import read_job
from ..running.program import program_of
from ..running.rerun import Branch, Rerun, tell
from .between import A, B, Between, Change, Middle, Side, nodes_in

# What may come out otherwise: a rule on a thing (rule, thing, ""), or a fact ("", thing, fact)
Key: TypeAlias = tuple[str, str, str]
Causes: TypeAlias = tuple[Change, ...]
MANY = 6  # jobs under one pair of laws from which emitting code pays
FAR = 99  # steps to a change that an outcome does not reach
MOST_PAIRS = 12  # changes that matter by themselves: among more, pairs are not tried one by one
TOLD = ("permit date", "place", "edition")  # facts of a job that a law tells otherwise


@dataclass(frozen=True)
class Said:
    """What comes out of one thing under one law."""

    answer: str  # of a finding: passes, fails ...; of a fact: its value as people read it
    exception: str = ""
    have: str = ""
    needed: str = ""
    # as exact text: what there is, its unit and what is needed; of a fact, its value and unit
    exact: tuple[str, ...] = ()
    source: str = ""
    by: str = ""

    def as_dict(self, kind: str) -> dict:
        """What comes out as plain data; of a fact, its value by itself."""
        out: dict[str, Any] = {"answer" if kind != "fact" else "shown": self.answer}
        if kind == "fact":
            value, unit = self.exact or ("", "")
            out.update(value=value, unit=unit, by=self.by or None)
        elif self.exact:
            have, unit, needed = self.exact
            out.update(have=have, needed=needed, unit=unit)
        if self.exception:
            out["exception"] = self.exception
        if self.source:
            out["source"] = self.source
        return out


@dataclass
class Difference:
    """One outcome that is not the same under both laws."""

    job: str
    on: str
    of: str  # the same thing as a person calls it
    kind: str  # finding | caution | not checked | fact
    name: str  # the rule, or the fact
    says: str
    design: str
    a: Said
    b: Said
    causes: Causes = ()
    also: Causes = ()  # other changes that restore it just as well, each alone

    def as_dict(self) -> dict:
        return {
            "job": self.job,
            "on": self.on,
            "kind": self.kind,
            ("fact" if self.kind == "fact" else "rule"): self.name,
            "a": self.a.as_dict(self.kind),
            "b": self.b.as_dict(self.kind),
            **({"or": [c.says for c in self.also]} if self.also else {}),
        }


@dataclass
class Group:
    """The outcomes that one change causes, or several together."""

    causes: Causes
    differences: list[Difference] = field(default_factory=list)


@dataclass
class Cited:
    """A rule that says the same and is cited otherwise, and what it was found on."""

    rule: str
    a: str
    b: str
    causes: Causes
    on: list[tuple[str, str]] = field(default_factory=list)


@dataclass
class Pair:
    """Two laws that jobs were compared under, as they are called and what they come to."""

    said: tuple[str, str]
    force: tuple[InForce, InForce]
    between: Between
    jobs: list[str] = field(default_factory=list)


@dataclass
class Comparison:
    """What differs between two laws, over all jobs."""

    pairs: list[Pair] = field(default_factory=list)
    groups: list[Group] = field(default_factory=list)
    cited: list[Cited] = field(default_factory=list)
    # jobs that could not be compared
    faults: list[tuple[str, Faults]] = field(default_factory=list)
    jobs: int = 0
    same: int = 0  # jobs on which nothing differs

    @property
    def differences(self) -> list[Difference]:
        return [d for g in self.groups for d in g.differences]

    def as_dict(self) -> dict:
        """The comparison as plain data."""
        return {
            "jobs": self.jobs,
            "the same": self.same,
            "laws": [_pair_as_dict(pair) for pair in self.pairs],
            "groups": [_group_as_dict(group) for group in self.groups],
            "cited otherwise": [_cited_as_dict(cited) for cited in self.cited],
            "not compared": [
                {"job": job, "faults": [_fault_as_dict(f) for f in faults.items]}
                for job, faults in self.faults
            ],
        }


def _pair_as_dict(pair: Pair) -> dict:
    under = [_law_as_dict(said, force) for said, force in zip(pair.said, pair.force)]
    return {"jobs": pair.jobs, "under": under}


def _group_as_dict(group: Group) -> dict:
    return {
        "together": len(group.causes) > 1,
        "causes": [change_as_dict(change) for change in group.causes],
        "differences": [difference.as_dict() for difference in group.differences],
    }


def _cited_as_dict(cited: Cited) -> dict:
    return {
        "rule": cited.rule,
        "a": cited.a,
        "b": cited.b,
        "causes": [change_as_dict(change) for change in cited.causes],
        "on": [{"job": job, "on": thing} for job, thing in cited.on],
    }


def _fault_as_dict(fault: Fault) -> dict:
    return {"code": fault.code, "at": str(fault.at), "what": fault.what, "todo": fault.todo}


def _law_as_dict(said: str, force: InForce) -> dict:
    return {
        "said": said,
        "edition": force.edition,
        "edition from": force.edition_from,
        "date": force.date or "",
        "place": force.place,
        "packs": [p.name for p in force.packs],
        "notes": force.notes,
    }


def change_as_dict(c: Change) -> dict:
    """A change as plain data; of an edit, all that is known of it."""
    return {
        "cause": c.cause,
        "of": c.item,
        "kind": c.kind,
        "says": c.says,
        "in": {A: "a", B: "b", None: ""}[c.side],
        **({"edit": as_plain(c.edit)} if c.edit else {}),
    }


# ---- jobs and laws -------------------------------------------------------------------------------


def jobs_in(path: str | Path) -> list[Path]:
    """The job, or every job in a folder and the folders in it.

    Raises:
        Faults: there is none in the folder.
    """
    path = Path(path)
    if not path.is_dir():
        return [path]
    found = [
        file
        for file in sorted(path.rglob("*.yaml"))
        if not _of_a_pack(file)
        and not any(part.startswith(".") for part in file.relative_to(path).parts)
    ]
    if not found:
        what = "there is no job in this folder"
        todo = "a job is a file that ends in .yaml"
        raise Faults([Fault("no-such-file", Place(str(path)), what, todo)])
    return found


def _of_a_pack(file: Path) -> bool:
    """Whether a file belongs to a pack rather than to the jobs beside it."""
    around = next((d for d in file.parents if (d / "pack.yaml").is_file()), None)
    return around is not None and "jobs" not in file.relative_to(around).parts


def compare(path: str | Path, under: list[str] | tuple[str, ...]) -> Comparison:
    """Compare the job at *path*, or all jobs of a folder, under two laws; one alone is compared
    with what is in force.

    Raises:
        Faults: everything that is wrong in the laws, or in the job where there is one.
    """
    if not 1 <= len(under) <= 2:
        what = f"{len(under)} laws are named"
        todo = "name one, to compare with what is in force for the job, or two"
        raise Faults([Fault("law-form", Place("--under"), what, todo)])
    laws = ([Law()] if len(under) == 1 else []) + [read_law(u) for u in under]
    paths = jobs_in(path)
    out = Comparison()
    told = []
    for file in paths:
        name = str(file.relative_to(path)) if len(paths) > 1 else str(file)
        try:
            told.append(_told(file, name, laws))
        except (Fault, Faults) as f:
            faults = f if isinstance(f, Faults) else Faults([f])
            if len(paths) == 1:
                raise faults from None
            out.faults.append((name, faults))
    if out.faults and not told:
        raise Faults([f for _, faults in out.faults for f in faults.items])
    _Comparing(out, told).run(alone=len(paths) == 1)
    return out


def differ_of(out: Comparison, told: list[Told]) -> None:
    """Compare jobs that are told under two laws, and note in *out* what differs."""
    _Comparing(out, told).run(alone=False)


class Under(NamedTuple):
    """A job under one law: what the law is called, what is in force, the job as told there."""

    said: str
    force: InForce
    body: Mapping


class Told(NamedTuple):
    """A job under both laws."""

    name: str
    sides: list[Under]


def _told(path: Path, name: str, laws: list[Law]) -> Told:
    """The job at *path*, as each of two laws tells it."""
    body = read_yaml(decode(read_bytes(path, str(path)), str(path)), str(path))
    if not isinstance(body, Mapping):
        raise Fault(
            "job-form", Place(str(path)), "this file is no job", "a job is a mapping: see README.md"
        )
    sides = [Under(law.said or "what is in force", *law_of(law, body, str(path))) for law in laws]
    return Told(name, sides)


class _Comparing:
    """Compares jobs; what is loaded for one serves all."""

    def __init__(self, out: Comparison, told: list[Told]) -> None:
        self.out, self.told = out, told
        self.libraries: dict[frozenset[Path], Library] = {}
        self.groups: dict[frozenset[tuple], Group] = {}
        self.cited: dict[tuple, Cited] = {}

    def run(self, alone: bool) -> None:
        """Compare every job; a fault of the one that is *alone* is raised, one of many noted."""
        for library, a, b, jobs in self._by_laws(alone):
            try:
                between = Between(library, a, b)
            except Faults as f:
                for job in jobs:
                    self._fault(job.name, f, alone)
                continue
            self._under(between, jobs, alone)
        self.out.groups = sorted(self.groups.values(), key=_first)
        self.out.cited = [cited for _, cited in sorted(self.cited.items(), key=lambda kc: kc[0])]

    def _by_laws(self, alone: bool) -> list[tuple[Library, Side, Side, list[Told]]]:
        """The jobs by the two laws that they are under: what is made for these serves all."""
        found: dict[tuple, tuple[Library, Side, Side, list[Told]]] = {}
        for job in self.told:
            try:
                library = self._library({p.folder for u in job.sides for p in u.force.packs})
                a, b = (_side(library, under.force) for under in job.sides)
                found.setdefault((id(library), a, b), (library, a, b, []))[-1].append(job)
            except Faults as f:
                self._fault(job.name, f, alone)
        return list(found.values())

    def _under(self, between: Between, jobs: list[Told], alone: bool) -> None:
        """Compare the jobs that are under one pair of laws."""
        a, b = jobs[0].sides
        names = [job.name for job in jobs]
        self.out.pairs.append(Pair((a.said, b.said), (a.force, b.force), between, names))
        fast = len(jobs) >= MANY
        if not fast:
            program_of(between.first.k).code = None
        for job in jobs:
            try:
                self._one(job.name, between, [under.body for under in job.sides], fast)
            except Faults as f:
                self._fault(job.name, f, alone)

    def _fault(self, name: str, faults: Faults, alone: bool) -> None:
        if alone:
            raise faults
        self.out.faults.append((name, faults))

    def _library(self, folders: set[Path]) -> Library:
        """Every pack that any job needs, read once; packs whose words do not go together are read
        by themselves.
        """
        # those of the first law come first: it is the second that brings another version of one
        folder_of = {
            pack.folder: side
            for side in (B, A)
            for job in self.told
            for pack in job.sides[side].force.packs
        }
        every = sorted(folder_of, key=lambda folder: (folder_of[folder], folder))
        for wanted in (frozenset(every), frozenset(folders)):
            if wanted not in self.libraries:
                try:
                    here = tuple(folder for folder in every if folder in wanted)
                    library = Library(here, examples=False, versions=True)
                    library.faults.stop()
                    self.libraries[wanted] = library
                except Faults:
                    if wanted == frozenset(folders):
                        raise
                    continue
            return self.libraries[wanted]
        raise AssertionError

    def _one(self, name: str, between: Between, bodies: list[Mapping], fast: bool) -> None:
        """Compare one job."""
        found = Job(name, between, bodies, fast)
        for difference in found.differences:
            causes = difference.causes
            group = self.groups.setdefault(frozenset(c.key for c in causes), Group(causes))
            group.differences.append(difference)
        for rule, a, b, causes, things in found.cited:
            key = (rule, a, b, *(c.key for c in causes))
            cited = self.cited.setdefault(key, Cited(rule, a, b, causes))
            cited.on.extend((name, thing) for thing in things)
        self.out.jobs += 1
        self.out.same += not found.differences and not found.cited


def _first(g: Group) -> tuple:
    """What a person wants to see first: what fails or fails no more, then what many outcomes come
    from.
    """
    worst = min(
        {"finding": 0, "fact": 2}.get(d.kind, 1) - (FAILS in (d.a.answer, d.b.answer))
        for d in g.differences
    )
    return worst, -len(g.differences), [c.key for c in g.causes]


def _side(library: Library, force: InForce) -> Side:
    """The law that is in force; two days between which none of its packs names one have one."""
    # a version of a pack has a name of its own in the library
    packs = [library.pack_in(p.folder) or p for p in force.packs]
    names = tuple(p.name for p in packs)
    days = library.dates(names)
    date = (
        max((d for d in days if d <= force.date), default="0001-01-01")
        if force.date and days
        else None
    )
    return Side(force.edition, date, names)


# ---- one job -------------------------------------------------------------------------------------


class Recited(NamedTuple):
    """A rule that says the same on some things of a job, and is cited otherwise."""

    rule: str
    a: str
    b: str
    causes: Causes
    things: list[str]


class Job:
    """One job under both laws: what differs, and why."""

    def __init__(
        self, name: str, between: Between, bodies: list[Mapping], fast: bool = False
    ) -> None:
        self.name, self.between = name, between
        first = read_job(bodies[A], between.first.k, name)
        self.told = self._told_otherwise(bodies)
        self.w = World(between.first.k, first, fast).run()
        self.turning: Turned | _Anew
        if between.order is not None:
            self.turning = Turned(between, self.w)
        else:
            self.turning = _Anew(between, bodies[A], name, self.w)
        self.facts = [_told_change(fact) for fact in self.told]
        self.differences: list[Difference] = []
        self.cited: list[Recited] = []
        self._compare()

    def _told_otherwise(self, bodies: list[Mapping]) -> dict[str, tuple]:
        """The facts of the job itself that the two laws tell otherwise and that a rule reads:
        (under the first, under the second).
        """
        order = self.between.order
        # with no order in common each law may read them
        read = [f for f in TOLD if order is None or order.readers.get(("job", f))]
        worth = {fact: tuple(self._worth(body, fact) for body in bodies) for fact in TOLD}
        return {fact: worth[fact] for fact in read if worth[fact][A] != worth[fact][B]}

    def _worth(self, body: Mapping, fact: str) -> Any:
        """What a job tells of a fact of itself."""
        if fact != "permit date" or fact not in body:
            return body.get(fact)
        return parse_quantity(str(body[fact]), "date", Place(self.name))[0]

    # ---- comparing
    def _compare(self) -> None:
        between, turning = self.between, self.turning
        told = {fact: worth[B] for fact, worth in self.told.items()}
        undo: Any = turning.turn(between.second, told)
        keys = self._touched(turning.visited)
        after = {key: self.weigh(key) for key in keys}
        turning.back(undo)
        before = {key: self.weigh(key) for key in keys}
        differ = {key: before[key] for key in keys if before[key] != after[key]}
        said, answered = {key: self.said(key) for key in differ}, self._answered()
        if not differ and not answered:
            return
        turning.turn(between.second, told)
        causes = self._causes(differ)
        for key in differ:
            self.differences.append(self._difference(key, said[key], self.said(key), *causes[key]))
        self._cite(answered, differ)

    def _touched(self, visited: dict[NodeId, bool]) -> list[Key]:
        """The outcomes that may differ: the findings of rules that ran again, and the facts that
        came out otherwise.
        """
        out: dict[Key, None] = {}
        for node, moved in visited.items():
            if node[0] == "rule" and not node[2]:
                out.update(dict.fromkeys(self._findings_of(self._rule(node[1]))))
            elif node[0] == "cell" and not node[3] and moved:
                out.update(dict.fromkeys(self._facts_in(node[1], node[2])))
        return list(out)

    def _findings_of(self, rule: Rule) -> list[Key]:
        if rule.verb not in (*JUDGING, "refers", "warns", "lacks"):
            return []
        return [(rule.id, thing[0].id, "") for thing in self.w.by_kind[rule.about]]

    def _facts_in(self, kind: str, fact: str) -> list[Key]:
        # which things belong to a thing is the job's own, and no outcome
        if self.between.words.kinds[kind].words[fact].type[0] in ("ref", "many"):
            return []
        return [("", thing[0].id, fact) for thing in self.w.by_kind[kind]]

    def _rule(self, name: str) -> Rule:
        """A rule as the second law has it, else the first."""
        return next(rules[name] for rules in reversed(self.between.versions) if name in rules)

    def weigh(self, key: Key) -> tuple:
        """What comes out now, as far as it makes a difference: of a rule on a thing, or of a fact
        of it.
        """
        name, thing_id, fact = key
        thing = self.w.things[thing_id]
        if not name:
            if (thing_id, fact) in self.w.disputes:
                return ("in dispute",)
            worth = thing[self.between.words.kinds[thing[0].kind].words[fact].slot]
            return () if worth is None else (_plain(worth),)
        answer, exception = self._answer(name, thing)
        if not answer:
            return ()
        test = self.w.k.rules[name].comparison
        if test is None:
            return answer, exception
        return answer, exception, (_plain(test.a.ev(thing, None)), _plain(test.b.ev(thing, None)))

    def _answer(self, name: str, thing: Thing) -> tuple[str, str]:
        """What a rule says of a thing now and by which exception; nothing where it has nothing to
        say.
        """
        world, rule = self.w, self.w.k.rules.get(name)
        answer = OFF if rule is None else world.answer(rule, thing)
        if rule is None or answer == OFF or _asks_for_nothing(rule.verb, answer):
            return "", ""
        if answer == SET_ASIDE:
            lifting = world.lifting(rule, thing)
            return PASSES, lifting.id if lifting is not None else ""
        if answer == REFERS:
            return TELL, ""
        return {"warns": "to be taken care of", "lacks": "not checked"}.get(rule.verb, answer), ""

    def said(self, key: Key) -> Said:
        """What comes out now, for people and programs."""
        name, thing_id, fact = key
        thing, k = self.w.things[thing_id], self.w.k
        if not name:
            return self._fact(thing, fact)
        answer, exception = self._answer(name, thing)
        if not answer:
            return Said(OFF if name in k.rules else "not in force")
        rule = k.rules[name]
        source = rule.section(k.edition, thing) or ""
        if rule.comparison is None:
            return Said(answer, exception, source=source)
        sides = (rule.comparison.a, rule.comparison.b)
        left, right = (side.ev(thing, None) for side in sides)
        units = [unit_of(side) for side in sides]
        return Said(
            answer,
            exception,
            show(left, units[0]),
            show(right, units[1]),
            (exact_text(left, units[0]), units[0] or "", exact_text(right, units[1])),
            source,
        )

    def _fact(self, thing: Thing, fact: str) -> Said:
        word = self.between.words.kinds[thing[0].kind].words[fact]
        worth = thing[word.slot]
        if worth is None:
            return Said("in dispute" if (thing[0].id, fact) in self.w.disputes else "unknown")
        _, _, by = self.w.settle(thing[0].kind, fact, thing)
        source = self.w.k.rules[by].section(self.w.k.edition, thing) or "" if by else ""
        return Said(
            show(worth, unit_shown(thing, fact, word.unit)),
            exact=(exact_text(worth, word.unit), word.unit or ""),
            source=source,
            by=by or "",
        )

    def _difference(self, key: Key, a: Said, b: Said, causes: Causes, also: Causes) -> Difference:
        name, thing_id, fact = key
        thing = self.w.things[thing_id]
        if name:
            rule = self._rule(name)
            kind = {"warns": "caution", "lacks": "not checked"}.get(rule.verb, "finding")
            says, design = rule.said, ""
        else:
            kind, says = "fact", ""
            design = self.between.words.kinds[thing[0].kind].words[fact].design
        of = short(thing)
        return Difference(
            self.name, thing_id, of, kind, name or fact, says, design, a, b, causes, also
        )

    # ---- causes
    def _causes(self, differ: dict[Key, tuple]) -> dict[Key, tuple[Causes, Causes]]:
        """For each outcome that differs, the changes that cause it, and others that would do
        alone.
        """
        if not differ:
            return {}
        every = {key: self._within_reach(key) for key in differ}
        tried: dict[frozenset[Change], set[Key]] = {}

        def restored(back: frozenset[Change]) -> set[Key]:
            """The outcomes that return when *back* is taken back."""
            if back not in tried:
                tried[back] = self._restored(back, differ)
            return tried[back]

        singles = sorted({c for near in every.values() for c in near}, key=lambda c: c.key)
        alone: dict[Key, list[Change]] = {key: [] for key in differ}
        for change in singles:
            for key in restored(frozenset([change])):
                alone[key].append(change)
        out: dict[Key, tuple[Causes, Causes]] = {}
        for key, near in every.items():
            if alone[key]:
                # the nearest is the cause that people would name
                best, *others = sorted(alone[key], key=lambda c: (near.get(c, FAR), c.key))
                out[key] = (best,), tuple(others)
            else:
                out[key] = self._together(key, near, restored), ()
        return out

    def _within_reach(self, key: Key) -> dict[Change, int]:
        """The changes that an outcome can rest on, and how many steps away each is."""
        between, (name, thing_id, fact) = self.between, key
        if between.order is None:
            every = sorted(between.effective, key=lambda c: c.key)
            return dict.fromkeys([*every, *self.facts], 0)
        node: NodeId = ("rule", name, "")
        if not name:
            node = ("cell", self.w.things[thing_id][0].kind, fact, "")
        reach = between.reach(node)
        kinds = {kind for kind, things in self.w.by_kind.items() if things}
        out = {
            change: steps
            for change, steps in reach.items()
            if isinstance(change, Change)
            and any(self._rule(i).about in kinds for i in between.users(change))
        }
        return out | {c: reach[c.item] for c in self.facts if c.item in reach}

    def _restored(self, back: frozenset[Change], differ: dict[Key, tuple]) -> set[Key]:
        """The outcomes that are as under the first law when *back* is taken back."""
        middle = self.between.middle(back - {*self.facts})
        if middle is None:
            return set()
        told = {c.item: self.told[c.item][A] for c in back if c.cause == "fact"}
        undo: Any = self.turning.turn(middle, told)
        got = {key for key, was in differ.items() if self.weigh(key) == was}
        self.turning.back(undo)
        return got

    def _together(
        self,
        key: Key,
        near: dict[Change, int],
        restored: Callable[[frozenset[Change]], set[Key]],
    ) -> Causes:
        """The fewest changes that restore an outcome together: the pairs of those that matter, or
        what cannot be spared.
        """
        far = sorted(near, key=lambda c: (-near[c], c.key))
        matter = [change for change in far if self._matters(change)]
        if len(matter) <= MOST_PAIRS:
            for pair in combinations(reversed(matter), 2):
                if key in restored(frozenset(pair)):
                    return tuple(sorted(pair, key=lambda c: c.key))
        left = next((some for some in (matter, far) if key in restored(frozenset(some))), None)
        # what an outcome rests on is what it reaches: taken back whole, the first law's outcome
        # returns
        if left is None:
            raise AssertionError(f"{self.name}: nothing explains {key}")
        for change in list(left):
            if len(left) > 1 and key in restored(frozenset(left) - {change}):
                left = [other for other in left if other is not change]
        return tuple(sorted(left, key=lambda c: c.key))

    def _matters(self, change: Change) -> bool:
        """Whether taking a change back by itself changes anything at all in this job."""
        if change.cause == "fact":
            return True
        if any("exception to" in self._rule(i).d for i in self.between.users(change)):
            return True
        middle = self.between.middle(frozenset([change]))
        if middle is None:
            return False
        undo: Any = self.turning.turn(middle)
        moved = any(self.turning.visited.values())
        self.turning.back(undo)
        return moved

    # ---- what is only cited otherwise
    def _answered(self) -> set[tuple[str, str]]:
        """The findings under the first law of rules that the second cites otherwise."""
        rules = self.between.first.k.rules
        return {
            (name, thing[0].id)
            for name in self.between.recited
            for thing in self.w.by_kind[rules[name].about]
            if self.w.answer(rules[name], thing) != OFF
        }

    def _cite(self, answered: set[tuple[str, str]], differ: dict[Key, tuple]) -> None:
        """Note the rules that say the same on a thing, and are cited otherwise there."""
        between = self.between
        first, second = between.first.k, between.second.k
        for name in between.recited:
            things: dict[tuple, list[str]] = {}
            for thing in self.w.by_kind[second.rules[name].about]:
                thing_id = thing[0].id
                sections = tuple(k.rules[name].section(k.edition, thing) for k in (first, second))
                if (
                    sections[A] != sections[B]
                    and (name, thing_id) in answered
                    and (name, thing_id, "") not in differ
                    and self.w.answer(second.rules[name], thing) != OFF
                ):
                    things.setdefault(sections, []).append(thing_id)
            self.cited += [
                Recited(name, a, b, self._changes_of(name), on) for (a, b), on in things.items()
            ]

    def _changes_of(self, rule: str) -> Causes:
        """The changes of a rule itself."""
        return tuple(
            change
            for change in self.between.changes
            if change.kind == "rule"
            and any(item.name == rule for item in self.between.items_of[change])
        )


def _told_change(fact: str) -> Change:
    """The change that a job tells a fact of itself otherwise."""
    of = "date of the permit" if fact == "permit date" else fact
    return Change("fact", "fact", fact, f"the {of} that the job tells")


def _asks_for_nothing(verb: str, answer: str) -> bool:
    """Whether a rule that refers or warns has nothing to say."""
    if verb == "refers":
        return answer != REFERS
    return verb in ("warns", "lacks") and answer not in (WARNS, LACKS, TELL)


class Turned:
    """A run under the first law, turned in place into the run under any law between, and back."""

    def __init__(self, between: Between, w: World) -> None:
        self.between, self.w = between, w
        self.rerun = Rerun(w, between.readers)
        # the law of the run, and those it was turned into, the last last
        self.laws = [between.first]
        # what the last turn ran: did anything come out otherwise
        self.visited: dict[tuple, bool] = {}

    def turn(self, to: Middle, told: dict | None = None) -> Branch:
        """Be under *to*, with the facts *told* of the job told otherwise, until `back`."""
        first, now = self.laws[0], self.laws[-1]
        apart: frozenset[str] = frozenset()
        if self.rerun.code is not None:
            apart = first.otherwise(to)
            # The code of a rule names the exceptions to it.
            apart |= {
                rule
                for i in apart
                for law in (first, to)
                if i in law.signs
                for rule in law.signs[i][1]
            }
        changes = [("job", fact, value) for fact, value in (told or {}).items()]
        branch = self.rerun.turn(to.k, now.otherwise(to), changes, apart)
        self.laws.append(to)
        # What the laws tell otherwise is a cause of what differs, and no difference itself.
        said = {("cell", "job", fact, "") for fact in told or ()}
        self.visited = {n: moved for n, moved in branch.visited.items() if n not in said}
        return branch

    def back(self, turned: Branch) -> None:
        """Be as before the turn that gave *turned*.

        Raises:
            AssertionError: it was not the last.
        """
        if self.rerun.undo() is not turned:
            raise AssertionError("turns are taken back the last first")
        self.laws.pop()


class _Anew:
    """The same as `Turned`, for laws that have no order in common: every run is made anew."""

    def __init__(self, between: Between, body: Mapping, name: str, w: World) -> None:
        self.between, self.body, self.name, self.w = between, body, name, w
        self.told: dict[str, Any] = {}
        self.visited: dict[NodeId, bool] = {}

    def turn(self, to: Middle, told: dict[str, Any] | None = None) -> list[dict[str, Any]]:
        """Be under *to*, with the facts *told* of the job told otherwise; returns what `back`
        needs.
        """
        undo = [self.w.__dict__, self.told]
        self.told = self.told | (told or {})
        job = read_job(self.body, to.k, self.name)
        tell(job, [("job", fact, value) for fact, value in self.told.items()])
        # the world that others hold becomes the one that ran anew
        self.w.__dict__ = World(to.k, job, False).run().__dict__
        self.visited = {
            inner: True
            for law in (self.between.first, self.between.second)
            for node in law.k.order.sequence
            for inner in nodes_in(node)
        }
        return undo

    def back(self, undo: list[dict[str, Any]]) -> None:
        """Be as before the turn that gave *undo*."""
        self.w.__dict__, self.told = undo


def _plain(value: Any) -> tuple[str, Any]:
    """A value by which two outcomes are told apart."""
    # True is 1 to Python, and a word may read as a number does
    kind = type(value).__name__ if isinstance(value, (bool, str)) else ""
    if isinstance(value, list):
        value = tuple(y[0].id for y in value if isinstance(y, list))
    return kind, value


__all__ = ["Comparison", "Difference", "Group", "Said", "Turned", "compare", "ADVICE", "InForce"]
