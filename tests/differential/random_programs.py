"""Random small knowledge bases and jobs, read by the real loader: the vocabulary, tables, rules and
what a job tells.

Everything comes from one ``random.Random``; the same seed makes the same program. A program whose
rules need each other in a circle is refused by the loader, as it should be, and the next one is
drawn.
"""

from __future__ import annotations

import random
import tempfile
from pathlib import Path

from whywire.engine.basics.errors import Collector, Faults
from whywire.engine.language.knowledge import Knowledge, build
from whywire.engine.language.words import Words
from whywire.engine.running import durable
from whywire.engine.running.job import mapping_of

SIZES = ["14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG"]
METALS = ["copper", "aluminum"]
CHOICES = ["red", "green", "blue"]
UNITS = ["A", "ft", "count"]
LETTERS = "abcd"
FOLDER = Path(tempfile.mkdtemp(prefix="programs"))
ITEM = {"says": "Generated.", "practice": "generated"}


class Program:
    """One knowledge base as plain data, and the means to draw jobs for it."""

    def __init__(self, seed: int, rich: bool = True) -> None:
        self.rng = random.Random(seed)
        self.seed, self.rich = seed, rich
        # kind -> fact -> unit, "choice", "flag" or "size"
        self.facts: dict[str, dict[str, str]] = {}
        self.given: dict[tuple, int] = {}  # (kind, fact) -> how late it is given
        self.words = self.vocabulary()
        self.tables = self.draw_tables()
        self.rules: list[dict] = []
        self.draw_rules()

    # ---- vocabulary
    def vocabulary(self) -> dict:
        rng = self.rng
        words: dict[str, dict] = {
            "job": {"has": {"panels": "many panel", "runs": "many run"}},
            "panel": {
                "feeder": {"is": "upstream link run"},
                "fed runs": {"is": "downstream many run", "back": "panel"},
            },
            "run": {
                "has": {
                    "load": "load",
                    "fixture": "optional fixture",
                    "wire": "wire",
                    "pieces": rng.choice(["many piece", "open many piece"]),
                },
                "panel": {"is": "link panel"},
                "neighbour": {"is": "link run"},
                "fed panels": {"is": "downstream many panel", "back": "feeder"},
            },
            "load": {},
            "fixture": {},
            "piece": {},
            "wire": {
                "size": {"is": "row of sizes"},
                "least size": {"is": "row of sizes"},
                "ground size": {"is": "row of sizes", "comes with": "size"},
                "metal": {"is": " | ".join(METALS)},
                "cap": {"is": "A"},
            },
        }
        self.facts = {k: {} for k in words if k != "job"}
        self.facts["wire"] = {
            "metal": "metal",
            "cap": "A",
            "ground size": "size",
            "size": "size",
            "least size": "size",
        }
        for kind in self.facts:
            for c in LETTERS[: rng.randint(2, 4)]:
                t = rng.choice(UNITS + UNITS + ["choice", "flag"])
                name = (
                    {
                        "A": "amps",
                        "ft": "feet",
                        "count": "number",
                        "choice": "colour",
                        "flag": "so",
                    }[t]
                    + " "
                    + kind[0]
                    + c
                )
                self.facts[kind][name] = t
                words[kind][name] = {
                    "is": {"choice": " | ".join(CHOICES), "flag": "yes or no"}.get(t, t)
                }
        return {"words": words}

    def draw_tables(self) -> list[dict]:
        rng = self.rng
        n = rng.randrange(12)
        local = random.Random(n)  # a dozen sets of files serve every program
        amount = [local.randint(10, 30) + 8 * i for i in range(len(SIZES))]
        lines = ["size,metal,cap,mark"] + [
            f"{s},{m},{a - (4 if m == 'aluminum' else 0)},{local.choice(CHOICES)}"
            for m in METALS
            for s, a in zip(SIZES, amount)
            if (s, m) != ("14 AWG", "aluminum")
        ]
        steps = ["amount,factor"] + [
            f"{a},{f}" for a, f in zip((5, 10, 20, 40), (1, 0.8, 0.7, 0.5))
        ]
        ratings = ["rating,mark"] + [f"{r},{local.choice(CHOICES)}" for r in (10, 15, 20, 30, 40)]
        grid = ["rating,size,cap"] + [
            f"{r},{z},{local.randint(5, 30)}" for r in (5, 10, 20) for z in SIZES
        ]
        for name, text in (
            ("sizes", lines),
            ("steps", steps),
            ("ratings", ratings),
            ("grid", grid),
        ):
            f = FOLDER / f"{name}-{n}.csv"
            if not f.exists():
                f.write_text("\n".join(text) + "\n")
        return [
            {
                "table": "sizes",
                "file": f"sizes-{n}.csv",
                "keys": {"size": "exact", "metal": "exact"},
                "values": {"cap": "A", "mark": "word"},
                **ITEM,
            },
            {
                "table": "steps",
                "file": f"steps-{n}.csv",
                "keys": {"amount": rng.choice(["next row up", "next row down"]) + " A"},
                "values": {"factor": "count"},
                **ITEM,
            },
            {
                "table": "grid",
                "file": f"grid-{n}.csv",
                "keys": {"rating": "exact A", "size": "exact"},
                "values": {"cap": "A"},
                **ITEM,
            },
            {
                "table": "ratings",
                "file": f"ratings-{n}.csv",
                "keys": {"rating": "exact A"},
                "values": {"mark": "word"},
                **ITEM,
            },
        ]

    # ---- paths
    LINKS = {
        "run": [
            ("load", "load"),
            ("fixture", "fixture"),
            ("wire", "wire"),
            ("panel", "panel"),
            ("neighbour", "run"),
        ],
        "load": [("run", "run")],
        "fixture": [("run", "run")],
        "wire": [("run", "run")],
        "piece": [("run", "run")],
        "panel": [("feeder", "run")],
    }
    LISTS = {"run": [("pieces", "piece"), ("fed panels", "panel")], "panel": [("fed runs", "run")]}

    def path(self, kind: str, want: str, late: int, hops: int = 3) -> str | None:
        """A fact of type *want*, at most *hops* links away, given earlier than *late*."""
        for _ in range(6):
            k, steps = kind, []
            while self.rng.random() < 0.45 and len(steps) < hops:
                link, k = self.rng.choice(self.LINKS[k])
                steps.append(link)
            fits = [
                f
                for f, t in self.facts[k].items()
                if t == want and self.given.get((k, f), -1) < late
            ]
            if fits:
                return " of ".join([self.rng.choice(fits), *reversed(steps)])
        return None

    # ---- formulas
    def number(self, unit: str) -> str:
        n = self.rng.choice([0, 1, 2, 3, 5, 8, 10, 12.5, 20, 40])
        return f"{n}" if unit == "count" else f"{n} {unit}"

    def sum(self, kind: str, unit: str, late: int, depth: int = 0) -> str:
        rng = self.rng
        p = self.path(kind, unit, late)
        how = rng.random()
        if depth > 2 or how < 0.42:
            return p or self.number(unit)
        again = lambda u=unit: self.sum(kind, u, late, depth + 1)  # noqa: E731
        if how < 0.50:
            return f"({again()} {rng.choice('+-')} {again()})"
        if how < 0.58:
            return f"({rng.choice(['1.25', '0.5', '2', '80 %'])} × {again()})"
        if how < 0.62:
            return f"({again()} × {again('count')})"
        if how < 0.65:
            # by a fact that may be nothing; by 0 itself is a slip
            return f"({again()} ÷ {self.path(kind, 'count', late) or 4})"
        if how < 0.72:
            return f"{rng.choice(['smaller', 'larger'])} of ({again()} and {again()})"
        if how < 0.76 and unit == "A":
            return f"(1 A × factor from steps by amount = ({again()}))"
        if how < 0.80 and unit == "A":
            return f"({again()} stepped {rng.choice(['up', 'down'])} in ratings)"
        if how < 0.84 and unit != "count":
            return f"({again()} rounded {rng.choice(['up', 'down', 'half up'])} to 1 {unit})"
        if how < 0.88 and unit == "A":
            return self.search(kind, late, depth)
        if 0.88 <= how < 0.90:
            return (
                f"({again()} ± {again()})"
                if rng.random() < 0.4 or unit != "count"
                else f"(square root to 2 places of {again()})"
            )
        if how < 0.93 and unit == "A" and kind == "run":
            sizes = (
                ["size", "least size"]
                if self.given.get(("wire", "least size"), -1) < late
                else ["size"]
            )
            return (
                f"(cap from sizes by size = ({rng.choice(sizes)} of wire) and metal = (metal of"
                " wire))"
            )
        return self.over(kind, unit, late) or p or self.number(unit)

    def search(self, kind: str, late: int, depth: int) -> str:
        """A look-up backwards: among every row of a table, those of a metal, or those of a rating
        that may be known in part.
        """
        least = f"cap >= {self.sum(kind, 'A', late, depth + 2)}"
        wire = {"run": " of wire", "wire": ""}.get(kind)
        return self.rng.choice(
            [f"(smallest cap from sizes by metal = (metal{wire}) where {least})"]
            * (wire is not None)
            + [
                (
                    f"(smallest cap from grid by rating = ({self.sum(kind, 'A', late, depth + 2)})"
                    f" where {least})"
                ),
                (
                    "(smallest amount from steps where factor <="
                    f" {self.rng.choice(['0.75', '1', '0.1'])})"
                ),
            ]
        )

    def over(self, kind: str, unit: str, late: int) -> str | None:
        if kind not in self.LISTS:
            return None
        rng = self.rng
        name, of = rng.choice(self.LISTS[kind])
        if of == kind:
            return None
        where = f" where {self.member_tests(of, late)}" if rng.random() < 0.5 else ""
        if unit == "count" and rng.random() < 0.6:
            return f"(how many {name}{where})"
        fits = [
            f for f, t in self.facts[of].items() if t == unit and self.given.get((of, f), -1) < late
        ]
        if not fits:
            return None
        fn = rng.choice(["total", "total", "smallest", "largest"])
        default = (
            f" or {self.number(unit)}" if fn != "total" and not where and rng.random() < 0.5 else ""
        )
        return f"({fn} {rng.choice(fits)} of {of} over {name}{where}{default})"

    def member_tests(self, of: str, late: int) -> str:
        """One condition of a member, or two that must both be so."""
        first = self.member_test(of, late)
        return f"{first} and {self.member_test(of, late)}" if self.rng.random() < 0.3 else first

    def member_test(self, of: str, late: int) -> str:
        for _ in range(6):
            f, t = self.rng.choice(list(self.facts[of].items()))
            if self.given.get((of, f), -1) >= late:
                continue
            if t == "flag":
                return f"{f} of {of}"
            if t == "choice":
                return f"{f} of {of} is {self.rng.choice(CHOICES)}"
            if t in UNITS:
                return f"{f} of {of} {self.rng.choice(['>=', '<', '>', '<='])} {self.number(t)}"
        return "1 >= 0"

    # ---- conditions
    def test(self, kind: str, late: int, literal: bool = False):
        rng = self.rng
        for _ in range(8):
            how = rng.random() * (0.45 if literal else 1)
            if how < 0.25 and (p := self.path(kind, "choice", late)):
                negated = rng.choice(["", "", "not "])
                return f"{p} is {negated}{' | '.join(rng.sample(CHOICES, rng.choice([1, 1, 2])))}"
            if how < 0.45 and (p := self.path(kind, "flag", late)):
                return rng.choice(["", "not "]) + p
            if literal:
                continue
            if how < 0.75:
                u = rng.choice(UNITS)
                return (
                    f"{self.sum(kind, u, late, 1)} {rng.choice(['>=', '<=', '>', '<', '=', '!='])}"
                    f" {self.sum(kind, u, late, 2)}"
                )
            if how < 0.80 and (p := self.path(kind, "size", late)):
                return f"{p} is {rng.choice(SIZES)} or {rng.choice(['smaller', 'larger'])}"
            if how < 0.84 and (p := self.path(kind, "A", late)):
                by_metal = (
                    " by metal = (metal of wire)" if kind == "run" and rng.random() < 0.5 else ""
                )
                return (
                    f"{p} is {rng.choice(['', 'not '])}among"
                    f" {f'cap from sizes{by_metal}' if by_metal else 'ratings'}"
                )
            if how < 0.90 and kind in self.LISTS:
                name, of = rng.choice(self.LISTS[kind])
                return (
                    f"{rng.choice(['every', 'some', 'no'])} {name} where"
                    f" {self.member_tests(of, late)}"
                )
            if how < 0.93 and kind == "run":
                return f"fixture is {rng.choice(['', 'not '])}none"
            if how < 1 and self.rich:
                return {"any of": [self.test(kind, late, True), self.test(kind, late, True)]}
        return "1 >= 0"

    def when(self, kind: str, late: int) -> dict:
        n = self.rng.choice([0, 1, 1, 2])
        return (
            {"when": [self.test(kind, late, self.rng.random() < 0.6) for _ in range(n)]}
            if n
            else {}
        )

    # ---- rules
    def draw_rules(self) -> None:
        rng = self.rng
        cells = [
            (k, f)
            for k in self.facts
            for f in self.facts[k]
            if f not in ("size", "least size", "ground size", "metal")
        ]
        rng.shuffle(cells)
        given = cells[: rng.randint(3, 8)]
        for i, cell in enumerate(given):
            self.given[cell] = 2 * i
        picks = rng.random() < 0.6
        if picks:
            self.given["wire", "least size"] = 2 * rng.randint(0, len(given))
        late: dict[str, int] = {}  # rule id -> what it may read
        targets: list[dict] = []

        def rule(name: str, about: str, late_: int, **verb) -> dict:
            d = {"rule": name, "about": about, **ITEM, **self.when(about, late_), **verb}
            self.rules.append(d)
            late[name] = late_
            targets.append(d)
            return d

        for i, (kind, fact) in enumerate(given):
            for j in range(rng.choice([1, 1, 1, 2, 3])):
                verb = rng.choice(["gives", "gives", "gives", "reckons", "assumes", "designs"])
                rule(
                    f"fill-{LETTERS[j]}-{'abcdefghijkl'[i]}",
                    kind,
                    2 * i,
                    **{verb: {fact: self.value(kind, fact, 2 * i)}},
                )
        if rng.random() < 0.5:
            self.feeders(rule)
        if picks:
            l = self.given["wire", "least size"]
            self.rules.append(
                {
                    "rule": "cap-of-wire",
                    "about": "wire",
                    **ITEM,
                    "gives": {"cap": "cap from sizes by size and metal"},
                }
            )
            self.rules.append(
                {
                    "rule": "size-of-wire",
                    "about": "wire",
                    **ITEM,
                    "tries": {"size": "from sizes by metal"},
                    "picks": "least size",
                }
            )
            for j in range(rng.randint(1, 3)):
                # A test of a tried size may read what was given before the pick, and the cap of the
                # size that is tried.
                test = rng.choice(
                    [
                        f"cap >= {self.sum('wire', 'A', l, 1)}",
                        self.test("wire", l),
                        f"size is {rng.choice(SIZES[:3])} or larger",
                        "ground size is 10 AWG or larger",
                    ]
                )
                rule(
                    f"test-{LETTERS[j]}",
                    "wire",
                    l,
                    **{rng.choice(["must", "must", "must not"]): test},
                )
            self.given["wire", "cap"] = (
                99  # nothing below the pick may read what the tests are made of
            )
        last = 50
        for j in range(rng.randint(1, 5)):
            kind = rng.choice([k for k in self.facts if k != "wire"])
            verb = rng.choice(["must", "must", "must not", "should", "warns", "refers", "lacks"])
            body = self.test(kind, last) if verb in ("must", "must not", "should") else "Take care."
            rule(
                f"judge-{'abcde'[j]}",
                kind,
                last,
                **{verb: body},
                **({"at": "wiring"} if verb == "warns" else {}),
            )
        for j in range(rng.randint(0, 4)):  # exceptions, and exceptions to them
            of = rng.choice(targets)
            verb = rng.choice(["", "", "must", "must not", "should"])  # or what takes its place
            rule(
                f"except-{'abcd'[j]}",
                of["about"],
                late[of["rule"]],
                **({verb: self.test(of["about"], late[of["rule"]])} if verb else {}),
                **{"exception to": [of["rule"]]},
            )

    def value(self, kind: str, fact: str, late: int) -> str:
        t = self.facts[kind][fact]
        if t == "flag":
            p = self.test(kind, late)
            return (
                p
                if isinstance(p, str) and self.rng.random() < 0.6
                else self.rng.choice(["yes", "no"])
            )
        if t == "choice":
            return (
                self.path(kind, "choice", late) if self.rng.random() < 0.3 else None
            ) or self.rng.choice(CHOICES)
        return self.sum(kind, t, late)

    def feeders(self, rule) -> None:
        """Facts that climb the feeders, or come down them: a circle that closes through a link of
        the job.
        """
        for kind in ("run", "panel"):
            self.facts[kind]["far"] = "A"
            self.words["words"][kind]["far"] = {"is": "A"}
        self.given["run", "far"] = self.given["panel", "far"] = 40
        own = self.sum("run", "A", 20, 2)
        if self.rng.random() < 0.5:
            rule("far-of-run", "run", 20, gives={"far": f"far of panel + {own}"})
            rule("far-of-panel", "panel", 20, gives={"far": "far of feeder"})
            rule("far-at-the-start", "panel", 20, assumes={"far": "0 A"})
        else:
            rule(
                "far-of-run",
                "run",
                20,
                gives={"far": f"{own} + total far of panel over fed panels"},
            )
            rule("far-of-panel", "panel", 20, gives={"far": "total far of run over fed runs"})

    # ---- reading
    def items(self, rng: random.Random | None = None) -> Knowledge:
        """The program through the loader, its items and words in another order where *rng* says so.
        Raises Faults.
        """
        faults, words = Collector(), Words()
        parts = [{k: v} for k, v in self.words["words"].items()]
        every = [*self.tables, *self.rules]
        if rng is not None:
            parts = [{k: shuffled(v, rng) for k, v in p.items()} for p in parts]
            rng.shuffle(parts)
            rng.shuffle(every)
        words.read(mapping_of({k: {} for p in parts for k in p}), faults)
        for p in parts:
            words.read(mapping_of(p), faults)
        return build([(mapping_of(d), FOLDER) for d in every], words, [], "2023", faults=faults)

    # ---- jobs
    def job(self, seed: int) -> dict:
        """What a person may tell: more or less of it, with the links between."""
        rng = random.Random(f"{self.seed} {seed}")
        share = rng.choice([0.3, 0.6, 0.9, 1.0])
        panels = [f"p{c}" for c in LETTERS[: rng.randint(0, 3)]]
        runs = [f"r{c}" for c in LETTERS[: rng.randint(1, 4)]]
        body: dict = {"job": "generated", "runs": {}, "panels": {}}
        if not panels:
            del body["panels"]
        for n in runs:
            r = body["runs"][n] = self.told("run", rng, share)
            if panels and rng.random() < 0.8:
                r["panel"] = rng.choice(panels)
            if rng.random() < 0.5:
                r["neighbour"] = rng.choice(runs)
            r["load"] = self.told("load", rng, share)
            r["wire"] = self.told("wire", rng, share)
            fixture = rng.random()
            if fixture < 0.7:
                r["fixture"] = (
                    self.told("fixture", rng, share)
                    if fixture < 0.4
                    else rng.choice(["none", "unknown"])
                )
            if rng.random() < 0.8:
                r["pieces"] = {
                    f"s{c}": self.told("piece", rng, share) for c in LETTERS[: rng.randint(0, 3)]
                } or "none"
        # a panel is fed by a run of an earlier panel, so that nothing feeds itself
        for i, n in enumerate(panels):
            p = body["panels"][n] = self.told("panel", rng, share)
            ups = [r for r in runs if body["runs"][r].get("panel") in panels[:i]]
            if ups and rng.random() < 0.8:
                p["feeder"] = rng.choice(ups)
        return body

    def told(self, kind: str, rng: random.Random, share: float) -> dict:
        out: dict = {}
        for f, t in self.facts[kind].items():
            chance = share * (0.3 if (kind, f) in self.given or f == "least size" else 1)
            if rng.random() >= chance:
                continue
            if t in UNITS:
                n = rng.choice([0, 1, 2, 3, 5, 8, 10, 12, 16, 20, 30, 48])
                out[f] = str(n) if t == "count" else f"{n} {t}"
            else:
                out[f] = rng.choice(
                    {"choice": CHOICES, "flag": ["yes", "no"], "size": SIZES, "metal": METALS}[t]
                )
        return out


def shuffled(v, rng: random.Random):
    """The same mapping in another order, at every depth."""
    if isinstance(v, dict):
        keys = list(v)
        rng.shuffle(keys)
        return {k: shuffled(v[k], rng) for k in keys}
    return v


def draw(seed: int, rich: bool = True) -> tuple[Program, Knowledge]:
    """The first program at or after *seed* × 1000 that the loader takes, and durable-rules where it
    is here.
    """
    for n in range(50):
        p = Program(seed * 1000 + n, rich)
        try:
            k = p.items()
            if durable.available():
                durable.plan_of(k)
            return p, k
        except Faults as f:
            if not {x.code for x in f.items} <= {"circle", "durable-limit"}:
                raise
    raise AssertionError(f"no program without a circle near seed {seed}")
