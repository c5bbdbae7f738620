"""A job, or many, under two laws: every outcome that differs, grouped by the changes of the law
that cause it.

What causes a difference is found by trying it: under the second law with a change taken back, does
the outcome of the first law return? One change that does so is the cause; where none does alone,
the fewest that do together.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations
from pathlib import Path

from ..answering.amended import as_plain
from ..basics.errors import Fault, Faults, Place
from ..basics.reading import Mapping, decode, read_bytes, read_yaml
from ..basics.units import parse_quantity
from ..language import expressions as ex
from ..language.rules import JUDGING, Rule, cited
from ..law.laws import Law, law_of, read_law
from ..law.library import Library
from ..law.places import InForce
from ..proving.graph import exact_text, short, show, unit_of, unit_shown
from ..running.chain import ADVICE, FAILS, LACKS, OFF, PASSES, REFERS, SET_ASIDE, TELL, WARNS, World
from ..running.job import read_job
from ..running.rerun import Branch, Rerun, tell
from .between import A, B, Between, Change, Middle, Side

MANY = 6  # jobs under one pair of laws from which emitting code pays
MOST_PAIRS = 12  # changes that matter by themselves: among more, pairs are not tried one by one
TOLD = ("permit date", "place", "edition")  # facts of a job that a law tells otherwise


@dataclass(frozen=True)
class Said:
    """What comes out of one thing under one law."""

    answer: str  # of a finding: passes, fails ...; of a fact: its value as people read it
    exception: str = ""
    have: str = ""
    needed: str = ""
    exact: tuple = ()  # the same two numbers, or the value, as exact text with their units
    source: str = ""
    by: str = ""

    def as_dict(self, kind: str) -> dict:
        out = {"answer" if kind != "fact" else "shown": self.answer}
        if kind == "fact":
            out.update(
                value=self.exact[0] if self.exact else "",
                unit=self.exact[1] if self.exact else "",
                by=self.by or None,
            )
        elif self.exact:
            out.update(have=self.exact[0], needed=self.exact[2], unit=self.exact[1])
        return {
            **out,
            **({"exception": self.exception} if self.exception else {}),
            **({"source": self.source} if self.source else {}),
        }


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
    causes: tuple[Change, ...] = ()
    also: tuple[Change, ...] = ()  # other changes that restore it just as well, each alone

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

    causes: tuple[Change, ...]
    differences: list[Difference] = field(default_factory=list)


@dataclass
class Cited:
    """A rule that says the same and is cited otherwise, and what it was found on."""

    rule: str
    a: str
    b: str
    causes: tuple[Change, ...]
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
            "laws": [
                {
                    "jobs": p.jobs,
                    "under": [_law_as_dict(said, f) for said, f in zip(p.said, p.force)],
                }
                for p in self.pairs
            ],
            "groups": [
                {
                    "together": len(g.causes) > 1,
                    "causes": [change_as_dict(c) for c in g.causes],
                    "differences": [d.as_dict() for d in g.differences],
                }
                for g in self.groups
            ],
            "cited otherwise": [
                {
                    "rule": c.rule,
                    "a": c.a,
                    "b": c.b,
                    "causes": [change_as_dict(x) for x in c.causes],
                    "on": [{"job": j, "on": x} for j, x in c.on],
                }
                for c in self.cited
            ],
            "not compared": [
                {
                    "job": j,
                    "faults": [
                        {"code": f.code, "at": str(f.at), "what": f.what, "todo": f.todo}
                        for f in faults.items
                    ],
                }
                for j, faults in self.faults
            ],
        }


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
    """The job, or every job in a folder and the folders in it."""
    path = Path(path)
    if not path.is_dir():
        return [path]

    def of_a_pack(p: Path) -> bool:
        """Whether a file belongs to a pack rather than to the jobs beside it."""
        around = next((d for d in p.parents if (d / "pack.yaml").is_file()), None)
        return around is not None and "jobs" not in p.relative_to(around).parts

    found = [
        p
        for p in sorted(path.rglob("*.yaml"))
        if not of_a_pack(p) and not any(part.startswith(".") for part in p.relative_to(path).parts)
    ]
    if not found:
        raise Faults(
            [
                Fault(
                    "no-such-file",
                    Place(str(path)),
                    "there is no job in this folder",
                    "a job is a file that ends in .yaml",
                )
            ]
        )
    return found


def compare(path: str | Path, under: list[str] | tuple[str, ...]) -> Comparison:
    """Compare the job at *path*, or all jobs of a folder, under two laws; one alone is compared
    with what is in force.

    Raises Faults with everything that is wrong in the laws, or in the job where there is one.
    """
    if not 1 <= len(under) <= 2:
        raise Faults(
            [
                Fault(
                    "law-form",
                    Place("--under"),
                    f"{len(under)} laws are named",
                    "name one, to compare with what is in force for the job, or two",
                )
            ]
        )
    laws = ([Law()] if len(under) == 1 else []) + [read_law(u) for u in under]
    paths = jobs_in(path)
    out = Comparison()
    told = []
    for p in paths:
        try:
            told.append(_told(p, str(p.relative_to(path)) if len(paths) > 1 else str(p), laws))
        except (Fault, Faults) as f:
            faults = f if isinstance(f, Faults) else Faults([f])
            if len(paths) == 1:
                raise faults from None
            out.faults.append((str(p.relative_to(path)), faults))
    if out.faults and not told:
        raise Faults([f for _, faults in out.faults for f in faults.items])
    _Comparing(out, told).run(alone=len(paths) == 1)
    return out


def _told(path: Path, name: str, laws: list[Law]) -> tuple:
    """(name, for each law: what it is called, what is in force, the job as told there)."""
    body = read_yaml(decode(read_bytes(path, str(path)), str(path)), str(path))
    if not isinstance(body, Mapping):
        raise Fault(
            "job-form", Place(str(path)), "this file is no job", "a job is a mapping: see README.md"
        )
    return name, [(law.said or "what is in force", *law_of(law, body, str(path))) for law in laws]


class _Comparing:
    """Compares jobs; what is loaded for one serves all."""

    def __init__(self, out: Comparison, told: list[tuple]) -> None:
        self.out, self.told = out, told
        self.libraries: dict[frozenset, Library] = {}
        self.groups: dict[frozenset, Group] = {}
        self.cited: dict[tuple, Cited] = {}

    def run(self, alone: bool) -> None:
        pairs: dict[tuple, list] = {}
        for name, sides in self.told:
            try:
                library = self._library({p.folder for _, force, _ in sides for p in force.packs})
                key = (id(library), *(_side(library, force) for _, force, _ in sides))
                pairs.setdefault(key, [library]).append((name, sides))
            except Faults as f:
                self._fault(name, f, alone)
        for (_, a, b), (library, *jobs) in pairs.items():
            try:
                between = Between(library, a, b)
            except Faults as f:
                for name, _ in jobs:
                    self._fault(name, f, alone)
                continue
            first = jobs[0][1]
            pair = Pair(
                tuple(said for said, _, _ in first),
                tuple(force for _, force, _ in first),
                between,
                [name for name, _ in jobs],
            )
            self.out.pairs.append(pair)
            fast = len(jobs) >= MANY
            if not fast:
                between.first.k._emitted = None
            for name, sides in jobs:
                try:
                    self._one(name, between, [told for _, _, told in sides], fast)
                except Faults as f:
                    self._fault(name, f, alone)
        self.out.groups = sorted(self.groups.values(), key=_first)
        self.out.cited = [c for _, c in sorted(self.cited.items(), key=lambda kc: kc[0])]

    def _fault(self, name: str, faults: Faults, alone: bool) -> None:
        if alone:
            raise faults
        self.out.faults.append((name, faults))

    def _library(self, folders: set[Path]) -> Library:
        """Every pack that any job needs, read once; packs whose words do not go together are read
        by themselves.
        """
        every = frozenset(
            p.folder for _, sides in self.told for _, force, _ in sides for p in force.packs
        )
        for wanted in (every, frozenset(folders)):
            if wanted not in self.libraries:
                try:
                    library = Library(tuple(sorted(wanted)), examples=False)
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
        for d in found.differences:
            self.groups.setdefault(
                frozenset(c.key for c in d.causes), Group(d.causes)
            ).differences.append(d)
        for rule, a, b, causes, things in found.cited:
            self.cited.setdefault(
                (rule, a, b, *(c.key for c in causes)), Cited(rule, a, b, causes)
            ).on.extend((name, x) for x in things)
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
    names = tuple(p.name for p in force.packs)
    days = library.dates(names)
    date = (
        max((d for d in days if d <= force.date), default="0001-01-01")
        if force.date and days
        else None
    )
    return Side(force.edition, date, names)


# ---- one job -------------------------------------------------------------------------------------


class Job:
    """One job under both laws: what differs, and why."""

    def __init__(
        self, name: str, between: Between, bodies: list[Mapping], fast: bool = False
    ) -> None:
        self.name, self.between = name, between
        first = read_job(bodies[A], between.first.k, name)
        self.told = self._told_otherwise(bodies)
        self.w = World(between.first.k, first, fast).run()
        if between.order is not None:
            self.turning = Turned(between, self.w)
        else:
            self.turning = _Anew(between, bodies[A], name, self.w)
        self.facts = [
            Change(
                "fact",
                "fact",
                fact,
                f"the {'date of the permit' if fact == 'permit date' else fact} that the job tells",
            )
            for fact in self.told
        ]
        self.differences: list[Difference] = []
        self.cited: list[tuple] = []
        self._compare()

    def _told_otherwise(self, bodies: list[Mapping]) -> dict[str, tuple]:
        """The facts of the job itself that the two laws tell otherwise and that a rule reads:
        (under the first, under the second).
        """
        at, order = Place(self.name), self.between.order
        worth = {
            f: [
                (
                    parse_quantity(str(b[f]), "date", at)[0]
                    if f == "permit date" and f in b
                    else b.get(f)
                )
                for b in bodies
            ]
            for f in TOLD
        }
        return {
            f: tuple(v)
            for f, v in worth.items()
            if v[A] != v[B] and (order is None or order.readers.get(("job", f)))
        }

    # ---- comparing
    def _compare(self) -> None:
        b, t = self.between, self.turning
        told = {f: v[B] for f, v in self.told.items()}
        undo = t.turn(b.second, told)
        keys = self._touched(t.visited)
        after = {key: self.weigh(key) for key in keys}
        t.back(undo)
        differ = {key: was for key in keys if (was := self.weigh(key)) != after[key]}
        before, answered = {key: self.said(key) for key in differ}, self._answered()
        if not differ and not answered:
            return
        t.turn(b.second, told)
        causes = self._causes(differ)
        for key in differ:
            self.differences.append(
                self._difference(key, before[key], self.said(key), *causes[key])
            )
        self._cite(answered, differ)

    def _touched(self, visited: dict[tuple, bool]) -> list[tuple]:
        """The outcomes that may differ: the findings of rules that ran again, and the facts that
        came out otherwise.
        """
        out: dict[tuple, None] = {}
        for n, moved in visited.items():
            if n[0] == "rule" and not n[2]:
                r = self._rule(n[1])
                if r.verb in (*JUDGING, "refers", "warns", "lacks"):
                    out.update(((n[1], x[0].id, ""), None) for x in self.w.by_kind[r.about])
            elif n[0] == "cell" and not n[3] and moved:
                if self.between.words.kinds[n[1]].words[n[2]].type[0] not in ("ref", "many"):
                    out.update((("", x[0].id, n[2]), None) for x in self.w.by_kind[n[1]])
        return list(out)

    def _rule(self, name: str) -> Rule:
        return next(v[name] for v in reversed(self.between.versions) if name in v)

    def weigh(self, key: tuple) -> tuple:
        """What comes out now, as far as it makes a difference: of a rule on a thing, or of a fact
        of it.
        """
        rule, thing, fact = key
        x = self.w.things[thing]
        if not rule:
            v = x[self.between.words.kinds[x[0].kind].words[fact].slot]
            return (
                ("in dispute",)
                if (thing, fact) in self.w.disputes
                else ()
                if v is None
                else (_plain(v),)
            )
        answer, exception = self._answer(rule, x)
        test = self.w.k.rules[rule].test if answer else None
        return (
            ()
            if not answer
            else (
                answer,
                exception,
                *(
                    (_plain(test.a.ev(x, None)), _plain(test.b.ev(x, None)))
                    if isinstance(test, ex.Cmp)
                    else ()
                ),
            )
        )

    def _answer(self, rule: str, x: list) -> tuple[str, str]:
        """What a rule says of a thing now and by which exception; nothing where it has nothing to
        say.
        """
        w, r = self.w, self.w.k.rules.get(rule)
        a = OFF if r is None else w.answer(r, x)
        if (
            a == OFF
            or r.verb == "refers"
            and a != REFERS
            or r.verb in ("warns", "lacks")
            and a not in (WARNS, LACKS, TELL)
        ):
            return "", ""
        exception = e.id if a == SET_ASIDE and (e := w.lifting(r, x)) is not None else ""
        return (
            PASSES
            if a == SET_ASIDE
            else (
                TELL
                if a == REFERS
                else {
                    "warns": "to be taken care of",
                    "lacks": "not checked",
                }.get(r.verb, a)
            )
        ), exception

    def said(self, key: tuple) -> Said:
        """What comes out now, for people and programs."""
        rule, thing, fact = key
        x, k = self.w.things[thing], self.w.k
        if not rule:
            return self._fact(x, fact)
        answer, exception = self._answer(rule, x)
        if not answer:
            return Said(OFF if rule in k.rules else "not in force")
        r = k.rules[rule]
        source = r.section(k.edition, x) or ""
        if not isinstance(r.test, ex.Cmp):
            return Said(answer, exception, source=source)
        left, right = (e.ev(x, None) for e in (r.test.a, r.test.b))
        units = [unit_of(e) for e in (r.test.a, r.test.b)]
        return Said(
            answer,
            exception,
            show(left, units[0]),
            show(right, units[1]),
            (exact_text(left, units[0]), units[0] or "", exact_text(right, units[1])),
            source,
        )

    def _fact(self, x: list, fact: str) -> Said:
        word = self.between.words.kinds[x[0].kind].words[fact]
        v = x[word.slot]
        if v is None:
            return Said("in dispute" if (x[0].id, fact) in self.w.disputes else "unknown")
        _, _, by = self.w.settle(x[0].kind, fact, x)
        source = self.w.k.rules[by].section(self.w.k.edition, x) or "" if by else ""
        return Said(
            show(v, unit_shown(x, fact, word.unit)),
            exact=(exact_text(v, word.unit), word.unit or ""),
            source=source,
            by=by or "",
        )

    def _difference(self, key: tuple, a: Said, b: Said, causes: tuple, also: tuple) -> Difference:
        rule, thing, fact = key
        x = self.w.things[thing]
        if not rule:
            return Difference(
                self.name,
                thing,
                short(x),
                "fact",
                fact,
                "",
                self.between.words.kinds[x[0].kind].words[fact].design,
                a,
                b,
                causes,
                also,
            )
        r = self._rule(rule)
        return Difference(
            self.name,
            thing,
            short(x),
            {"warns": "caution", "lacks": "not checked"}.get(r.verb, "finding"),
            rule,
            r.said,
            "",
            a,
            b,
            causes,
            also,
        )

    # ---- causes
    def _causes(self, differ: dict[tuple, tuple]) -> dict[tuple, tuple]:
        """For each outcome that differs, the changes that cause it, and others that would do
        alone.
        """
        if not differ:
            return {}
        every = {key: self._within_reach(key) for key in differ}
        tried: dict[frozenset, set] = {}

        def restored(back: frozenset) -> set:
            """The outcomes that return when *back* is taken back."""
            if back not in tried:
                tried[back] = self._restored(back, differ)
            return tried[back]

        singles = sorted({c for near in every.values() for c in near}, key=lambda c: c.key)
        alone: dict[tuple, list[Change]] = {key: [] for key in differ}
        for c in singles:
            for key in restored(frozenset([c])):
                alone[key].append(c)
        out = {}
        for key in differ:
            near = every[key]
            if alone[key]:
                best, *others = sorted(alone[key], key=lambda c: (near.get(c, 99), c.key))
                out[key] = (best,), tuple(others)
            else:
                out[key] = self._together(key, near, restored), ()
        return out

    def _within_reach(self, key: tuple) -> dict[Change, int]:
        """The changes that an outcome can rest on, and how many steps away each is."""
        b, (rule, thing, fact) = self.between, key
        if b.order is None:
            return dict.fromkeys([*sorted(b.effective, key=lambda c: c.key), *self.facts], 0)
        reach = b.reach(
            ("rule", rule, "") if rule else ("cell", self.w.things[thing][0].kind, fact, "")
        )
        kinds = {kind for kind, xs in self.w.by_kind.items() if xs}
        return {
            c: n
            for c, n in reach.items()
            if isinstance(c, Change) and any(self._rule(i).about in kinds for i in b.users(c))
        } | {c: reach[c.item] for c in self.facts if c.item in reach}

    def _restored(self, back: frozenset, differ: dict[tuple, tuple]) -> set:
        m = self.between.middle(back - {*self.facts})
        if m is None:
            return set()
        undo = self.turning.turn(
            m, {c.item: self.told[c.item][A] for c in back if c.cause == "fact"}
        )
        got = {key for key, was in differ.items() if self.weigh(key) == was}
        self.turning.back(undo)
        return got

    def _together(self, key: tuple, near: dict[Change, int], restored) -> tuple[Change, ...]:
        """The fewest changes that restore an outcome together: the pairs of those that matter, or
        what cannot be spared.
        """
        far = sorted(near, key=lambda c: (-near[c], c.key))
        matter = [c for c in far if self._matters(c)]
        if len(matter) <= MOST_PAIRS:
            for pair in combinations(reversed(matter), 2):
                if key in restored(frozenset(pair)):
                    return tuple(sorted(pair, key=lambda c: c.key))
        left = next((some for some in (matter, far) if key in restored(frozenset(some))), None)
        # what an outcome rests on is what it reaches: taken back whole, the first law's outcome
        # returns
        if left is None:
            raise AssertionError(f"{self.name}: nothing explains {key}")
        for c in list(left):
            if len(left) > 1 and key in restored(frozenset(left) - {c}):
                left = [o for o in left if o is not c]
        return tuple(sorted(left, key=lambda c: c.key))

    def _matters(self, c: Change) -> bool:
        """Whether taking a change back by itself changes anything at all in this job."""
        if c.cause == "fact" or any(
            "exception to" in self._rule(i).d for i in self.between.users(c)
        ):
            return True
        m = self.between.middle(frozenset([c]))
        if m is None:
            return False
        undo = self.turning.turn(m)
        moved = any(self.turning.visited.values())
        self.turning.back(undo)
        return moved

    # ---- what is only cited otherwise
    def _answered(self) -> set[tuple]:
        """The findings under the first law of rules that the second cites otherwise."""
        b = self.between
        if not hasattr(b, "recited"):
            a_, b_ = b.first.k, b.second.k
            b.recited = [
                i
                for i, r in a_.rules.items()
                if i in b_.rules
                and r.verb in JUDGING
                and (r.section(a_.edition), cited(r.d, a_.edition))
                != (b_.rules[i].section(b_.edition), cited(b_.rules[i].d, b_.edition))
            ]
        return {
            (i, x[0].id)
            for i in b.recited
            for x in self.w.by_kind[b.first.k.rules[i].about]
            if self.w.answer(b.first.k.rules[i], x) != OFF
        }

    def _cite(self, answered: set[tuple], differ: dict) -> None:
        b = self.between
        for i in b.recited:
            things: dict[tuple, list] = {}
            for x in self.w.by_kind[b.second.k.rules[i].about]:
                s, t = (side.k.rules[i].section(side.k.edition, x) for side in (b.first, b.second))
                if (
                    s != t
                    and (i, x[0].id) in answered
                    and (i, x[0].id, "") not in differ
                    and self.w.answer(b.second.k.rules[i], x) != OFF
                ):
                    things.setdefault((s, t), []).append(x[0].id)
            self.cited += [
                (
                    i,
                    s,
                    t,
                    tuple(
                        c
                        for c in b.changes
                        if c.kind == "rule" and any(item.name == i for item in b.items_of[c])
                    ),
                    xs,
                )
                for (s, t), xs in things.items()
            ]


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
        """Be as before the turn that gave *turned*, which is the last."""
        if self.rerun.undo() is not turned:
            raise AssertionError("turns are taken back the last first")
        self.laws.pop()


class _Anew:
    """The same as `Turned`, for laws that have no order in common: every run is made anew."""

    def __init__(self, between: Between, body: Mapping, name: str, w: World) -> None:
        self.between, self.body, self.name, self.w, self.told = between, body, name, w, {}

    def turn(self, to: Middle, told: dict | None = None) -> list:
        undo = [self.w.__dict__, self.told]
        self.told = self.told | (told or {})
        job = read_job(self.body, to.k, self.name)
        tell(job, [("job", fact, value) for fact, value in self.told.items()])
        self.w.__dict__ = World(to.k, job, False).run().__dict__
        self.visited = {
            n: True
            for m in (self.between.first, self.between.second)
            for node in m.k.order.sequence
            for n in (node[2] if node[0] == "block" else (node,))
        }
        return undo

    def back(self, undo: list) -> None:
        self.w.__dict__, self.told = undo


def _plain(v):
    """A value by which two outcomes are told apart."""
    return (
        type(v).__name__ if isinstance(v, (bool, str)) else "",
        v if not isinstance(v, list) else tuple(y[0].id for y in v if isinstance(y, list)),
    )


__all__ = ["Comparison", "Difference", "Group", "Said", "Turned", "compare", "ADVICE", "InForce"]
