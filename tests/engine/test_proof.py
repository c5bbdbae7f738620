"""The proof check accepts every graph of an honest run and rejects every graph that was tampered
with.

Honest: every answer of every rule and every fact of every thing, in the shipped jobs and in jobs
made to be awkward. Tampered: one lie at a time, drawn with a fixed seed. A lie that says the same
as before in other words (a zero in another unit) is counted apart. And lies told all the way down:
whole graphs that are right of another job, another edition, or other rules.
"""

from __future__ import annotations

import ast
import copy
import json
import random
import re
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

import pytest
from sweeps import SEED, examples, tenth

from whywire.engine.answering.inspection import body_of
from whywire.engine.basics import units
from whywire.engine.basics.reading import Text
from whywire.engine.language import expressions, order, tables
from whywire.engine.language.knowledge import KB
from whywire.engine.law.library import load
from whywire.engine.proving import proof, proof_grounds, proof_steps, proof_values
from whywire.engine.proving.graph import Explainer
from whywire.engine.proving.proof import Proof
from whywire.engine.running import chain
from whywire.engine.running.chain import World
from whywire.engine.running.job import read_job

JOBS = sorted(p for p in (KB / "jobs").rglob("*.yaml") if p.name != "kiln.yaml")
TAMPERINGS = examples(5100)

ROUTE = [
    {"method": "NM-B", "length": "40 ft", "place": "basement", "location": "dry", "bundle": "none"}
]
AWKWARD = {
    "nothing is known": {"circuits": {"a": {}}},
    "the size is left open": {
        "circuits": {
            "a": {
                "volts": "240 V",
                "load": {"type": "kiln", "current": "40 A"},
                "conductors": {"material": "copper"},
                "segments": ROUTE,
                "receptacle": "none",
            }
        }
    },
    "the rating is left open and the material unknown": {
        "circuits": {
            "a": {"volts": "240 V", "load": {"type": "kiln", "power": "9.6 kW"}, "segments": ROUTE}
        }
    },
    "next size up, and what forbids it": {
        "circuits": {
            "up": {
                "volts": "240",
                "more than one receptacle": False,
                "load": {"type": "range", "current": "40 amps", "continuous": "no"},
                "breaker": {"rating": "60 A"},
                "conductors": {"size": "#6", "material": "Cu"},
                "segments": ROUTE,
            },
            "no": {
                "volts": "240 V",
                "more than one receptacle": True,
                "load": {"type": "range", "current": "40 A", "continuous": "no"},
                "breaker": {"rating": "60 A"},
                "conductors": {"size": "6", "material": "copper"},
                "segments": ROUTE,
            },
            "or": {
                "volts": "240 V",
                "load": {"type": "range", "current": "40 A", "continuous": "no"},
                "breaker": {"rating": "60 A"},
                "conductors": {"size": "6 AWG", "material": "copper"},
                "segments": ROUTE,
            },
        }
    },
    "told and given are in dispute": {
        "circuits": {
            "a": {
                "volts": "240 V",
                "role": "feeder",
                "load": {"type": "kiln", "current": "48 A", "continuous": "no"},
                "conductors": {"size": "6 AWG", "material": "copper"},
                "breaker": {"rating": "60 A"},
                "segments": ROUTE,
            }
        }
    },
    "marked, looked at and not marked": {
        "circuits": {
            "a": {
                "volts": "240 V",
                "load": {"type": "kiln", "current": "48 A"},
                "breaker": {"rating": "60 A"},
                "supply termination": {"marking": "none found"},
                "load termination": {"mark": "167 F"},
                "conductors": {"size": "4", "material": "copper", "ground": "10 AWG"},
                "segments": ROUTE,
            }
        }
    },
    "a list that may go on": {
        "circuits": {
            "a": {
                "volts": "240 V",
                "load": {"type": "kiln", "current": "48 A"},
                "breaker": {"rating": "60 A"},
                "length": "6 ft 7 in",
                "conductors": {"size": "6 AWG", "material": "copper"},
                "segments": [*ROUTE, {"length": "35'"}, "and more"],
            }
        }
    },
    "a feeder, and circuits in one bundle": {
        "panels": {"shop": {"feeder": "up", "bus rating": "100 A"}},
        "bundles": {
            "b": {"circuits": ["one", "two", "three"], "kind": "bundle", "length": "30 in"}
        },
        "circuits": {
            "up": {
                "volts": "120/240 V",
                "load": {"power": "12 kVA"},
                "conductors": {"size": "3 AWG", "material": "copper"},
            },
            **{
                n: {
                    "volts": v,
                    "panel": "shop",
                    "load": {"type": "kiln", "current": "20 A"},
                    "breaker": {"rating": "30 A"},
                    "conductors": {"size": "10 AWG", "material": "copper"},
                    "segments": [
                        {
                            "method": "NM-B",
                            "length": "20 ft",
                            "ambient": "104 °F",
                            "location": "dry",
                            "bundle": "b",
                        },
                        {
                            "method": "EMT",
                            "length": "1-1/2 ft",
                            "place": "attic",
                            "location": "dry",
                            "bundle": "none",
                        },
                    ],
                }
                for n, v in (("one", "240 V"), ("two", "120 V"), ("three", "208Y/120 V"))
            },
        },
    },
    "conductors in pipe": {
        "circuits": {
            "a": {
                "volts": "208Y/120 V four-wire",
                "nonlinear": "yes",
                "load": {"type": "lighting", "current": "30 A"},
                "breaker": {"rating": "40 A"},
                "conductors": {"size": "8 AWG", "material": "copper", "insulation": "THWN-2"},
                "segments": [
                    {
                        "method": "PVC 40",
                        "length": "80 ft",
                        "ambient": "38 °C",
                        "location": "wet",
                        "bundle": "none",
                    }
                ],
            }
        }
    },
}

# What the language can say and few rules of the base say: every operation, on a kind of thing of
# the test's own.
PACK = """
- rule: crate-area
  says: Width by height.
  about: crate
  gives: {area: width × height}
  practice: arithmetic
- rule: crate-side
  says: A square of that area has sides of three inches.
  about: crate
  steps: {side: square root to 4 places of area, wide: width}
  must: side >= 3 in
  practice: a test
  when: [wide > 0 in]
- rule: crate-slats-sound
  says: Every slat is sound.
  about: crate
  must: every slats where sound of slat
  code: {2017: "1.1", 2020: "1.2", 2023: "1.3"}
- rule: crate-slats-long
  says: Some slat is long.
  about: crate
  should: some slats where length of slat > 5 in
  manufacturer: a leaflet
- rule: crate-no-split
  says: No slat is short and unsound.
  about: crate
  must not: some slats where length of slat < width
  local: a by-law
- rule: crate-none-hot
  says: No slat of a red crate is over a foot.
  about: crate
  when: {any of: [color is red, not fragile]}
  must: no slats where length of slat >= 1 ft
  practice: a test
- rule: crate-longest
  says: The longest sound slat, or the lid's width.
  about: crate
  gives:
    longest: largest length of slat over slats where sound of slat or (width of lid)
    shortest: smallest length of slat over slats
    slats counted: how many slats where sound of slat
  practice: a test
- rule: crate-slats-both-ways
  says: Slats that are sound and long, and the smallest wire that is large enough both ways.
  about: crate
  gives:
    long sound slats: how many slats where sound of slat and length of slat > 2 in
    wider wire: smallest size from conductor-sizes where area >= metal and area >= 5000 cmil
  practice: a test
- rule: crate-not-old
  says: A crate is opened within three years of its making.
  about: crate
  when: no slats where sound of slat and length of slat > 1 ft
  must: year of opened - year of made <= 3
  practice: a test
- rule: crate-all-slats
  says: All slats together, in whole inches, and one way or the other.
  about: crate
  gives:
    evened: total length of slat over slats rounded half up to 1 in
    play: larger of (width and height) ± 5 % × width
    whole: (width rounded up to 1 in) - (height rounded down to 1 in)
  practice: a test
- rule: crate-wire
  says: The smallest wire with that much metal.
  about: crate
  gives: {wire: smallest size from conductor-sizes where area >= metal × crate factor}
  practice: a test
- rule: crate-wire-small
  says: A small wire.
  about: crate
  must: wire is 10 AWG or smaller
  practice: a test
- rule: crate-wire-order
  says: No smaller than the one tied to it.
  about: crate
  must: wire <= tied wire
  practice: a test
- rule: crate-rating
  says: A standard rating, and no more than the next one down.
  about: crate
  when: [rating is not among standard-ratings]
  must: rating <= rating stepped down in standard-ratings
  practice: a test
- rule: crate-rating-allowed
  says: One of the ratings for that circuit.
  about: crate
  must: rating is among receptacle rating from receptacle-ratings-allowed by circuit rating = circuit rating
  practice: a test
- rule: crate-rise
  says: Not much hotter inside.
  about: crate
  must: inside - outside <= 10 C°
  code: {2020: "2.1"}
- rule: crate-hot
  says: Never over a limit.
  about: crate
  must: inside < 50 °C
  practice: a test
- rule: crate-no-lid
  says: A crate without a lid may be hot.
  about: crate
  exception to: [crate-hot, crate-rise]
  when: lid is none
  practice: a test
- rule: crate-lid-later
  says: Unless it is fragile.
  about: crate
  exception to: crate-no-lid
  when: fragile
  practice: a test
- rule: crate-lid-fits
  says: The lid covers it.
  about: crate
  must: width of lid >= width
  practice: a test
- rule: crate-red
  says: A fragile crate is red.
  about: crate
  when: fragile
  gives: {color: red}
  practice: a test
- rule: crate-blue
  says: A wide crate is blue.
  about: crate
  when: width >= 10 in
  gives: {color: blue}
  practice: a test
- rule: crate-refers
  says: Crates as big as rooms are for someone else.
  about: crate
  when: area > 10000 in²
  refers: Ask a carpenter.
  practice: a test
- rule: crate-warns
  says: Mind the splinters.
  about: crate
  when: not every slats where sound of slat
  warns: Wear gloves.
  at: before lifting
  practice: a test
- rule: crate-lacks
  says: Crates of metal are not treated.
  about: crate
  when: color is blue
  lacks: metal crates
  practice: a test
- rule: strap-metal
  says: Enough metal.
  about: strap
  must: area from conductor-sizes by size >= metal
  practice: a test
- rule: strap-no-thin
  says: Never thin.
  about: strap
  when: not old
  must not: size is 16 AWG or smaller
  practice: a test
- rule: strap-old
  says: An old strap may have less metal.
  about: strap
  exception to: strap-metal
  when: [old, size is 14 AWG or larger]
  practice: a test
- rule: strap-ground
  says: A ground no larger than the strap.
  about: strap
  must: ground <= size
  practice: a test
- rule: least-strap
  says: The smallest that passes.
  about: strap
  tries: {size: from conductor-sizes}
  picks: least size
  practice: a test
- rule: strap-left-open
  says: The least size is taken.
  about: strap
  designs: {size: least size}
  practice: a test
- rule: strap-load
  says: Loaded with what it is told, or with its metal.
  about: strap
  assumes: {metal: 5000 cmil}
  practice: a test
- value: crate factor
  says: A dated number.
  is: {2017: 1.5, 2023: 1.25}
  practice: a test
"""  # noqa: E501
WORDS = """
words:
  job:
    has: {crates: many crate, straps: many strap}
  strap:
    size: {is: row of conductor-sizes}
    least size: {is: row of conductor-sizes}
    ground: {is: row of conductor-sizes, comes with: size}
    metal: {is: cmil}
    old: {is: yes or no}
  crate:
    has: {slats: many slat, lid: optional lid}
    width: {is: in}
    height: {is: in}
    area: {is: in²}
    longest: {is: in}
    shortest: {is: in}
    slats counted: {is: count}
    evened: {is: in}
    play: {is: in}
    whole: {is: in}
    long sound slats: {is: count}
    wider wire: {is: row of conductor-sizes}
    made: {is: date}
    opened: {is: date}
    metal: {is: cmil}
    wire: {is: row of conductor-sizes}
    tied wire: {is: row of conductor-sizes}
    rating: {is: A}
    circuit rating: {is: A}
    inside: {is: °C}
    outside: {is: °C}
    color: {is: red | blue, means: {crimson: red}}
    fragile: {is: yes or no}
  slat:
    length: {is: in}
    sound: {is: yes or no}
  lid:
    width: {is: in}
"""
CRATES = {
    "crates": {
        "a": {
            "width": "3 in",
            "height": "4 in",
            "made": "2022-12-31",
            "opened": "2026-01-01",
            "metal": "6000 cmil",
            "tied wire": "12",
            "rating": "18 A",
            "circuit rating": "20 A",
            "inside": "40 °C",
            "outside": "80 F",
            "color": "crimson",
            "fragile": "yes",
            "lid": "none",
            "slats": [
                {"length": "6 in", "sound": "yes"},
                {"length": "2-1/2 in"},
                {"length": "1 ft", "sound": "no"},
            ],
        },
        "b": {
            "width": "12 in",
            "height": "1/3 in",
            "made": "2023-01-01",
            "opened": "2026-12-31",
            "metal": "9000000 cmil",
            "rating": "20 A",
            "circuit rating": "20 A",
            "inside": "60 °C",
            "outside": "10 °C",
            "fragile": "no",
            "lid": {"width": "11 in"},
            "slats": "none",
        },
        "c": {
            "width": "120 in",
            "height": "100 in",
            "fragile": "yes",
            "lid": {},
            "inside": "50 °C",
            "slats": [{"length": "3 in", "sound": "yes"}, "and more"],
        },
        "d": {"lid": "none", "fragile": "no", "inside": "70 °C", "rating": "1 A"},
        "e": {"height": "7 in", "made": "2023-01-01"},
    },
    "straps": {
        "new": {"old": "no", "metal": "7000 cmil"},
        "old": {"old": "yes", "size": "12 AWG", "ground": "14 AWG"},
        "of an unknown age": {},
    },
}


class Run:
    """One job run, its graphs, and the proof check of what was in force."""

    def __init__(
        self,
        source,
        edition: str = "2023",
        folders: tuple = (),
        date: str | None = None,
        name: str = "job",
    ) -> None:
        self.k, self.proof = loaded(edition, folders, date)
        self.job = read_job(
            body_of(source)[0], self.k, str(source) if isinstance(source, Path) else name
        )
        self.w = World(self.k, self.job).run()
        self.roots = [
            ("rule", r, x)
            for x in self.w.things.values()
            for r in self.k.rules.values()
            if r.about == x[0].kind and r.verb != "tries"
        ]
        self.roots += [
            ("fact", n, x)
            for x in self.w.things.values()
            for n in self.k.words.kinds[x[0].kind].words
        ]

    def graph(self, roots) -> dict:
        e = Explainer(self.w)
        for what, which, x in roots:
            e.g.root = e.rule(which, x) if what == "rule" else e.fact(x, which)
        return json.loads(json.dumps(e.g.as_dict()))

    def why(self, rule: str, thing: str) -> dict:
        """The graph of one rule's answer."""
        return self.graph([("rule", self.k.rules[rule], self.w.things[thing])])

    def check(self, graph: dict) -> list[str]:
        return self.proof.check(graph, self.job)


@lru_cache(maxsize=None)
def loaded(edition: str, folders: tuple, date: str | None) -> tuple:
    k = load(folders, edition, date)
    return k, Proof(k)


@pytest.fixture(scope="module")
def crates(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("crates")
    (folder / "pack.yaml").write_text("pack: crates\ntitle: A test\n")
    (folder / "rules.yaml").write_text(PACK)
    (folder / "words.yaml").write_text(WORDS)
    return folder


@pytest.fixture(scope="module")
def runs(crates) -> list[Run]:
    kiln = KB / "jobs" / "kiln.yaml"
    every = [kiln, *tenth(JOBS, lambda p: p.parent.name, "proof"), *AWKWARD.values(), CRATES]
    return [
        *(Run(s, "2023", (crates,)) for s in every),
        *(Run(s, "2017", (crates,)) for s in (kiln, CRATES)),
    ]


@pytest.mark.sweep
def test_every_answer_and_every_fact_of_honest_runs_is_accepted(runs):
    met, seen = {}, []
    for run in runs:
        g = run.graph(run.roots)
        assert run.check(g) == [], run.job.name
        seen.append(len(g["nodes"]))
        # every fact and every answer has its node
        assert seen[-1] >= len(run.roots) and (seen[-1] > 100 or not run.w.by_kind["circuit"]), (
            run.job.name
        )
        for n in g["nodes"]:
            d = n.get("data", {})
            for key in (
                ("kind", n["kind"]),
                ("answer", d.get("answer")),
                ("origin", d.get("origin")),
                ("op", d.get("op")),
            ):
                met[key] = met.get(key, 0) + 1
    assert sum(seen) > examples(100_000)
    for key, values in {
        "kind": "fact rule step cell value pick row".split(),
        "origin": "told unknown derived assumed designed picked tried disputed".split(),
        "answer": [
            "passes",
            "fails",
            "cannot tell",
            "does not apply",
            "exception applies",
            "advice",
            "holds",
            "refers",
            "warns",
            "not checked",
        ],
        "op": [
            "+",
            "-",
            "×",
            "÷",
            "±",
            "smaller",
            "larger",
            "total",
            "count",
            "smallest",
            "largest",
            "look-up",
            "root",
            "not",
            "any",
            ">=",
            "<=",
            "<",
            ">",
            "=",
            "gauge",
            "is",
            "among",
            "every",
            "some",
            "no",
            "stepped up",
            "stepped down",
            "rounded half up",
            "rounded up",
            "rounded down",
        ],
    }.items():
        for v in values:
            assert met.get((key, v)), f"no graph of this test has {key} {v}"


def test_graphs_of_one_question_are_accepted(runs):
    rng = random.Random(1)
    for run in rng.choices(runs, k=40):
        assert run.check(run.graph([rng.choice(run.roots)])) == []


def test_what_is_no_graph_is_refused_in_words(runs):
    run = runs[0]
    for spoil in (
        lambda g: g.update(root="fact:nowhere/nothing"),
        lambda g: g["nodes"].append(g["nodes"][0]),
        lambda g: g["nodes"][0].pop("data"),
        lambda g: g["nodes"][0].update(id="rule:no-such-rule@circuits.kiln"),
        lambda g: g["nodes"][0].update(value=None),
        lambda g: g["edges"].append(
            {"from": g["edges"][0]["to"], "to": g["edges"][0]["from"], "role": "when"}
        ),
    ):
        g = run.why("conductor-125-percent", "circuits.kiln.conductors")
        assert run.check(g) == []
        spoil(g)
        faults = run.check(g)
        assert faults and all(": " in f for f in faults)


# ---- independence

MAY_IMPORT = {
    "lines": {"parse_line"},
    "words": {"as_list"},
    "units": {
        "POINT",
        "POINTS",
        "UNITS",
        "dimension",
        "multiply_dims",
        "number_text",
        "parse_quantity",
        "to_base",
    },
}


def test_the_check_shares_no_evaluation_with_the_chainers():
    mine = {
        m.__name__.rsplit(".", 1)[1]: m for m in (proof, proof_grounds, proof_steps, proof_values)
    }
    for module in mine.values():
        source = Path(module.__file__).read_text(encoding="utf-8")
        # Small enough to be read whole by somebody who trusts nothing else here.
        assert len(source.splitlines()) < 600
        for n in ast.walk(ast.parse(source)):
            if isinstance(n, ast.ImportFrom) and n.level:
                assert (module := n.module.rsplit(".")[-1]) in mine or {
                    a.name for a in n.names
                } <= MAY_IMPORT[module]
            if isinstance(n, ast.Import):
                assert not any(a.name.startswith("whywire") for a in n.names)
            # what a Knowledge, a table or a job could be asked to work out
            if isinstance(n, ast.Attribute):
                assert n.attr not in (
                    "ev",
                    "find",
                    "neighbours",
                    "holder",
                    "taken",
                    "fire",
                    "plan",
                    "program",
                    "emitted",
                    "exprs",
                )


def test_the_check_stands_when_the_chainers_evaluators_are_broken(runs, monkeypatch):
    graphs = [(run, run.graph(random.Random(3).sample(run.roots, 5))) for run in runs[::6]]

    def broken(*_, **__):
        raise AssertionError("the check used an evaluator of the chainers")

    for cls in [c for c in vars(expressions).values() if isinstance(c, type) and "ev" in vars(c)]:
        monkeypatch.setattr(cls, "ev", broken)
    for module in (expressions, units, chain):
        for name in (
            "add",
            "negate",
            "multiply",
            "invert",
            "root",
            "round_to",
            "compare",
            "both",
            "either",
            "opposite",
            "between",
            "ends",
            "apply_op",
            "extreme",
            "fold",
            "cell_of",
        ):
            if hasattr(module, name):
                monkeypatch.setattr(module, name, broken)
    for owner in (World, Explainer):
        for name in [n for n, f in vars(owner).items() if callable(f) and not n.startswith("__")]:
            monkeypatch.setattr(owner, name, broken)
    for owner, names in (
        (tables.Table, ("find", "neighbours")),
        (order, ("find_order", "reads_of")),
    ):
        for name in names:
            monkeypatch.setattr(owner, name, broken)
    for run, g in graphs:
        assert run.check(g) == []


def test_a_range_holds_whatever_the_unknown_turns_out_to_be():
    """The arithmetic of the check against plain numbers: every way in which the unknown may turn
    out lies in the range.
    """
    rng, inf, seen = random.Random(5), float("inf"), {"decided": 0, "folded": 0}

    def amount(low=-9):
        a, b = sorted(
            (Fraction(rng.randint(2 * low, 18), 2), Fraction(rng.randint(2 * low, 18), 2))
        )
        return rng.choice(
            [(a, a), (a, b), (a, inf), (Fraction(low), inf)] + [(-inf, b), (-inf, inf)] * (low < 0)
        )

    def inside(v):
        lo, hi = max(v[0], Fraction(-40)), min(v[1], Fraction(40))
        return rng.choice([lo, hi, lo + (hi - lo) / 3])

    plain = {
        "+": lambda x, y: x + y,
        "-": lambda x, y: x - y,
        "×": lambda x, y: x * y,
        "÷": lambda x, y: x / y if y else None,
    }
    for _ in range(4000):
        a, b = amount(), amount()
        x, y = inside(a), inside(b)
        for op, exact in plain.items():
            lo, hi = proof_values.arith(op, a, b)
            assert exact(x, y) is None or lo <= exact(x, y) <= hi, (op, a, b, x, y)
        for op, so in (
            (">=", x >= y),
            (">", x > y),
            ("<=", x <= y),
            ("<", x < y),
            ("=", x == y),
            ("!=", x != y),
        ):
            answer = proof_values.compare(op, a, b)
            assert answer in (None, so), (op, a, b, x, y)
            seen["decided"] += answer is not None
    for _ in range(8000):
        fn, open_, least = (
            rng.choice(("total", "count", "smallest", "largest")),
            rng.random() < 0.3,
            rng.choice((0, -9)),
        )
        default = amount(least) if fn in ("smallest", "largest") and rng.random() < 0.5 else None
        taken = [
            (
                rng.choice((True, None)),
                (Fraction(1), Fraction(1)) if fn == "count" else amount(least),
            )
            for _ in range(rng.randint(0, 3))
        ]
        amounts = [inside(v) for ok, v in taken if ok or rng.random() < 0.5]
        amounts += [
            (
                Fraction(1)
                if fn == "count"
                else Fraction(rng.randint(0 if fn == "total" else least, 30))
            )
            for _ in range(rng.randint(0, 2) if open_ else 0)
        ]
        got = proof_values.fold(fn, taken, open_, default, Fraction(least) if least == 0 else -inf)
        if fn in ("total", "count"):
            assert got[0] <= sum(amounts) <= got[1], (fn, taken, open_, amounts)
        elif amounts or default:
            x = (min if fn == "smallest" else max)(amounts) if amounts else inside(default)
            assert got[0] <= x <= got[1], (fn, taken, open_, default, amounts)
        assert got != proof_values.NOTHING or not (taken or open_ or default)
        seen["folded"] += got[0] == got[1]
    # a look-up between rows, by the one row that a plain reading of its direction gives
    for run_table in loaded("2023", (), None)[0].tables.values():
        between = [k for k, (how, _) in run_table.keys.items() if how != "exact"]
        for row in run_table.rows if between else ():
            others = {
                k: row[k] for k in run_table.keys if k not in between and not run_table.unit(k)
            }
            rows = [
                r
                for r in loaded("2023", (), None)[1].rows[run_table.id]
                if all(r[k] == v for k, v in others.items())
            ]
            up, q = (
                run_table.keys[between[0]][0] == "next row up",
                Fraction(row[between[0]]) + rng.choice((-1, 0, 1, 100000)),
            )
            beyond = [
                r[between[0]] for r in rows if (r[between[0]] >= q if up else r[between[0]] <= q)
            ]
            sure = [r for r in rows if beyond and r[between[0]] == (min if up else max)(beyond)]
            assert proof_values.find(run_table, rows, {between[0]: (q, q)}) == sure
            assert all(
                r in proof_values.find(run_table, rows, {between[0]: (q - 3, q + 3)}) for r in sure
            )
            seen["found"] = seen.get("found", 0) + 1
    assert seen["decided"] > 2500 and seen["found"] > 50 and seen["folded"] > 500, seen


# ---- one lie at a time


def number_in(text: str, rng) -> str | None:
    """*text* with one digit changed."""
    at = [i for i, c in enumerate(text) if c.isdigit()]
    if not at:
        return None
    i = rng.choice(at)
    return text[:i] + rng.choice([d for d in "123456789" if d != text[i]]) + text[i + 1 :]


def edges(g, rng, role=None):
    return rng.choice([e for e in g["edges"] if role is None or e["role"] == role] or [None])


def node(g, rng, *kinds, having=None):
    return rng.choice(
        [
            n
            for n in g["nodes"]
            if n["kind"] in kinds and (having is None or having in n.get("data", {}))
        ]
        or [None]
    )


def edge_removed(g, rng):
    e = edges(g, rng)
    return e and g["edges"].remove(e) is None


def edge_redirected(g, rng):
    e, n = edges(g, rng), rng.choice(g["nodes"])["id"]
    if e is None or n == e["to"]:
        return False
    e["to"] = n
    return True


def edge_renamed(g, rng):
    e, f = edges(g, rng), edges(g, rng)
    if e is None or e["role"] == f["role"]:
        return False
    e["role"] = f["role"]
    return True


def edge_added(g, rng):
    a, b, e = rng.choice(g["nodes"])["id"], rng.choice(g["nodes"])["id"], edges(g, rng)
    if e is None or any((o["from"], o["to"], o["role"]) == (a, b, e["role"]) for o in g["edges"]):
        return False
    g["edges"].append({"from": a, "to": b, "role": e["role"]})
    return True


def exception_removed(g, rng):
    e = edges(g, rng, "exception")
    return e and g["edges"].remove(e) is None


def node_removed(g, rng):
    n = rng.choice(g["nodes"])
    g["nodes"].remove(n)
    g["edges"] = [e for e in g["edges"] if n["id"] not in (e["from"], e["to"])]
    return True


def value_changed(g, rng):
    n = node(g, rng, "fact", "step", "cell", "value", "pick", "row")
    new = n and (
        number_in(n["value"], rng)
        or {"yes": "no", "no": "yes", "unknown": "7", "none": "unknown"}.get(
            n["value"], n["value"] + "x"
        )
    )
    if not n:
        return False
    n["value"] = new
    return True


def data_number_changed(g, rng):
    n = rng.choice(g["nodes"])
    keys = [
        k
        for k in ("left", "right", "margin", "row before", "row after", "as written")
        if k in n.get("data", {})
    ]
    k = rng.choice(keys or [None])
    new = k and (number_in(n["data"][k], rng) or n["data"][k] + "7")
    if not k:
        return False
    n["data"][k] = new
    return True


def gift_changed(g, rng):
    n = node(g, rng, "rule", having="gives")
    if not n:
        return False
    f = rng.choice(list(n["data"]["gives"]))
    old = n["data"]["gives"][f]
    n["data"]["gives"][f] = number_in(old, rng) or {"yes": "no", "unknown": "0"}.get(old, "unknown")
    return True


ANSWERS = [
    "passes",
    "fails",
    "cannot tell",
    "does not apply",
    "exception applies",
    "advice",
    "holds",
]


def answer_flipped(g, rng):
    n = node(g, rng, "rule", "row")
    if not n:
        return False
    new = rng.choice(
        [a for a in ANSWERS[: 3 if n["kind"] == "row" else None] if a != n["data"]["answer"]]
    )
    n["data"]["answer"] = new
    if n["kind"] == "rule":
        n["value"] = new
    return True


def own_answer_flipped(g, rng):
    n = node(g, rng, "rule", having="own answer")
    if not n:
        return False
    n["data"]["own answer"] = rng.choice([a for a in ANSWERS[:4] if a != n["data"]["own answer"]])
    return True


def section_swapped(g, rng):
    n, m = (
        node(g, rng, "rule", "cell", "value", "pick"),
        node(g, rng, "rule", "cell", "value", "pick"),
    )
    if not n or n["data"]["section"] == m["data"]["section"]:
        return False
    n["data"]["section"] = m["data"]["section"]
    return True


def source_changed(g, rng):
    n = node(g, rng, "rule", "cell", "value", "pick", having="at")
    k = rng.choice(
        [k for k in ("at", "edition", "layer", "verb") if n and k in n["data"]] or [None]
    )
    if not k:
        return False
    n["data"][k] = {
        "edition": "1999",
        "layer": "hearsay",
        "verb": "may",
        "at": n["data"]["at"] + "7",
    }[k]
    return True


def origin_changed(g, rng):
    n = node(g, rng, "fact")
    if not n:
        return False
    n["data"]["origin"] = rng.choice(
        [
            o
            for o in ("told", "assumed", "derived", "unknown", "designed", "picked", "disputed")
            if o != n["data"]["origin"]
        ]
    )
    return True


def giver_changed(g, rng):
    n, m = node(g, rng, "fact", having="by"), node(g, rng, "rule")
    if not n or not m or m["data"]["rule"] == n["data"]["by"]:
        return False
    n["data"]["by"] = m["data"]["rule"]
    return True


SAME_MEASURE = [
    {"A", "mA", "kA"},
    {"VA", "W", "kVA", "kW"},
    {"in", "ft"},
    {"count", "%"},
    {"°C", "°F"},
    {"Ω", "mΩ", "MΩ"},
    {"C°", "F°"},
]


def unit_changed(g, rng):
    n = node(g, rng, "fact", "step", "cell", "value", "row")
    if not n:
        return False
    old, new = (
        n["unit"],
        rng.choice(
            [
                u
                for u in ("A", "mA", "V", "VA", "W", "ft", "in", "°C", "°F", "%", "count", "")
                if u != n["unit"]
            ]
        ),
    )
    n["unit"] = new
    alike = any({old, new} <= s for s in SAME_MEASURE)
    return (
        "nothing"
        if alike
        and n["kind"] == "step"
        and (n["value"] in ("unknown", "none", "0", "0..") or {old, new} == {"VA", "W"})
        else True
    )


def operation_changed(g, rng):
    n = node(g, rng, "step", having="op")
    if not n:
        return False
    k = rng.choice([k for k in ("op", "line", "compares") if k in n["data"]])
    n["data"][k] = {
        "op": rng.choice(
            [o for o in ("+", "×", "total", "smaller", ">=", "not") if o != n["data"]["op"]]
        ),
        "line": n["data"]["line"] + ".0",
        "compares": "!=",
    }[k]
    return True


def member_dropped(g, rng):
    n = node(g, rng, "step", having="members")
    if not n or not n["data"]["members"]:
        return False
    gone = n["data"]["members"].pop(rng.randrange(len(n["data"]["members"])))["of"]
    if rng.random() < 0.5:  # and what it added with it
        name = gone.rsplit(".", 1)[-1]
        g["edges"] = [
            e
            for e in g["edges"]
            if e["from"] != n["id"] or e["role"] not in (f"of {name}", f"counts {name}")
        ]
    return True


def member_changed(g, rng):
    n = node(g, rng, "step", having="members")
    if not n or not n["data"]["members"]:
        return False
    m = rng.choice(n["data"]["members"])
    k = rng.choice(("counts", "adds"))
    m[k] = (
        {"yes": "unknown", "unknown": "yes"}[m[k]] if k == "counts" else number_in(m[k], rng) or "1"
    )
    return True


def list_changed(g, rng):
    n = node(g, rng, "fact", having="open")
    if not n:
        return False
    if rng.random() < 0.5 or not n["value"]:
        n["data"]["open"] = not n["data"]["open"]
    else:
        n["value"] = ", ".join(n["value"].split(", ")[1:])
    return True


def row_key_changed(g, rng):
    n = node(g, rng, "cell")
    if not n:
        return False
    k = rng.choice(list(n["data"]["keys"]))
    n["data"]["keys"][k] = number_in(n["data"]["keys"][k], rng) or n["data"]["keys"][k] + "x"
    return True


def test_changed(g, rng):
    n = node(g, rng, "row")
    said = n and rng.choice(
        [
            t
            for t, a in n["data"]["tests"].items()
            if n["data"]["answer"] != "fails" or a not in ("passes", "does not apply")
        ]
        or [None]
    )
    if not said:
        return False
    n["data"]["tests"][said] = rng.choice([a for a in ANSWERS[:5] if a != n["data"]["tests"][said]])
    return True


test_changed.__test__ = False


def wording_changed(g, rng):
    n = node(g, rng, "rule", "cell", "pick")
    if not n:
        return False
    n["text"] = (
        number_in(n["text"], rng)
        or n["text"].replace("The", "No", 1).replace("A ", "No ", 1).replace("is", "is not", 1)
        + "."
    )
    return n["kind"] != "pick" or "not" in n["text"] or n["text"].endswith(".")


def ends_exchanged(g, rng):
    """Two edges of one node change places."""
    e = edges(g, rng)
    f = e and rng.choice(
        [
            f
            for f in g["edges"]
            if f["from"] == e["from"] and f["to"] != e["to"] and f["role"] != e["role"]
        ]
        or [None]
    )
    if not f:
        return False
    e["to"], f["to"] = f["to"], e["to"]
    return True


def values_exchanged(g, rng):
    n = node(g, rng, "fact", "step", "cell")
    m = n and rng.choice(
        [
            m
            for m in g["nodes"]
            if m["kind"] == n["kind"] and m["unit"] == n["unit"] and m["value"] != n["value"]
        ]
        or [None]
    )
    if not m:
        return False
    n["value"], m["value"] = m["value"], n["value"]
    return True


def told_otherwise(g, rng):
    """Another number, and the same number in what was written."""
    n = node(g, rng, "fact", having="as written")
    new = n and number_in(n["value"], rng)
    if not new:
        return False
    n["data"]["as written"] = n["data"]["as written"].replace(n["value"], new)
    n["value"] = new
    return True


def cell_rewritten(g, rng):
    """Another number in a cell, and the same number in how it is worded."""
    n = node(g, rng, "cell")
    new = n and number_in(n["value"], rng)
    if not new:
        return False
    n["text"], n["value"] = n["text"].rpartition(": ")[0] + f": {new} {n['unit']}", new
    return True


def reason_left_out(g, rng):
    """A node and everything that only it rests on, and every edge there: nothing dangles."""
    e = edges(g, rng)
    if not e:
        return False
    g["edges"] = [f for f in g["edges"] if (f["from"], f["to"]) != (e["from"], e["to"])]
    kept, todo = set(), [g["root"]]
    while todo:
        at = todo.pop()
        if at not in kept:
            kept.add(at)
            todo += [f["to"] for f in g["edges"] if f["from"] == at]
    g["nodes"] = [n for n in g["nodes"] if n["id"] in kept]
    g["edges"] = [f for f in g["edges"] if f["from"] in kept]
    return True


def row_left_out(g, rng):
    """A pick that never tried one of its rows."""
    e = edges(g, rng, "tries")
    if not e:
        return False
    g["edges"] = [f for f in g["edges"] if e["to"] not in (f["from"], f["to"])]
    g["nodes"] = [n for n in g["nodes"] if n["id"] != e["to"]]
    return True


def pick_changed(g, rng):
    n = node(g, rng, "pick")
    if not n:
        return False
    k = rng.choice(("value", "unit", "text", "layer", "edition", "section", "on"))
    if k in ("value", "unit", "text"):
        n[k] = {
            "value": number_in(n["value"], rng) or "4 AWG",
            "unit": "A",
            "text": "Any " + n["text"],
        }[k]
    else:
        n["data"][k] += "x"
    return True


def kind_changed(g, rng):
    n = node(g, rng, "fact", "value", "cell", "rule", "pick", "step", "row")
    n["kind"] = rng.choice(
        [k for k in ("fact", "value", "cell", "rule", "pick", "step", "row") if k != n["kind"]]
    )
    return True


def facts_exchanged(g, rng):
    """All that two facts say, each under the other's name."""
    n = node(g, rng, "fact")
    m = n and rng.choice(
        [m for m in g["nodes"] if m["kind"] == "fact" and m["id"] != n["id"]] or [None]
    )
    if not m:
        return False
    n["id"], m["id"] = m["id"], n["id"]
    return True


def test_left_out(g, rng):
    """A row that never underwent one of its tests."""
    n = node(g, rng, "row")
    if not n:
        return False
    gone = rng.choice(list(n["data"]["tests"]))
    del n["data"]["tests"][gone]
    rule = f"rule:{gone}@{n['id'][4:].partition('?')[0]}"
    g["edges"] = [e for e in g["edges"] if (e["from"], e["to"]) != (n["id"], rule)]
    return True


test_left_out.__test__ = False


def step_added(g, rng):
    """A step that nothing rests on."""
    n = node(g, rng, "step", "row")
    if not n:
        return False
    g["nodes"].append(
        {**n, "id": n["id"].replace("#", "#steps.", 1) if "#" in n["id"] else n["id"] + "s"}
    )
    return True


LIES = [
    edge_removed,
    edge_redirected,
    edge_renamed,
    edge_added,
    exception_removed,
    node_removed,
    value_changed,
    data_number_changed,
    gift_changed,
    answer_flipped,
    own_answer_flipped,
    section_swapped,
    source_changed,
    origin_changed,
    giver_changed,
    unit_changed,
    operation_changed,
    member_dropped,
    member_changed,
    list_changed,
    row_key_changed,
    test_changed,
    wording_changed,
    ends_exchanged,
    values_exchanged,
    told_otherwise,
    cell_rewritten,
    reason_left_out,
    row_left_out,
    pick_changed,
    kind_changed,
    facts_exchanged,
    test_left_out,
    step_added,
]


@pytest.mark.sweep
def test_every_lie_is_found(runs):
    rng = random.Random(20251125 + SEED)
    told, idle, pool = dict.fromkeys(LIES, 0), 0, []
    # a pick, and lists, in every stage of being known
    for run in [r for r in runs if "straps" in r.job.body]:
        pool += [
            (run, json.dumps(run.graph([root])))
            for root in run.roots
            if root[1] in ("least size", "longest", "evened", "slats counted")
        ]
    while len(pool) < 150:
        run = rng.choice(
            runs if rng.random() < 0.8 else [r for r in runs if "straps" in r.job.body]
        )
        g = run.graph([rng.choice(run.roots)])
        if 5 <= len(g["nodes"]) <= (300 if len(pool) % 8 == 0 else 45):
            assert run.check(g) == []
            pool.append((run, json.dumps(g)))
    fresh: dict = {}
    for turn in range(TAMPERINGS):
        lie, did = LIES[turn % len(LIES)], False
        while not did:
            i = rng.randrange(len(pool))
            run, text = pool[i]
            g = fresh.pop(i, None) or json.loads(text)
            did = lie(g, rng)
            if not did:
                fresh[i] = g
        faults = run.check(g)
        if did == "nothing":
            assert faults == []
            idle += 1
            continue
        assert faults, (
            lie.__name__,
            g["root"],
            [n for n in g["nodes"] if n not in json.loads(text)["nodes"]],
            [e for e in g["edges"] if e not in json.loads(text)["edges"]],
            [e for e in json.loads(text)["edges"] if e not in g["edges"]],
        )
        assert all(isinstance(f, str) and ": " in f for f in faults)
        told[lie] += 1
    assert (
        len(LIES) == len(told) and sum(told.values()) >= examples(2000) and idle < 0.02 * TAMPERINGS
    ), (
        told,
        idle,
    )
    assert min(told.values()) >= examples(50), told


# ---- lies told all the way down


def test_a_lie_told_all_the_way_down_is_found_at_the_job(runs):
    """A told current changed wherever it shows, to one that carries: only the job can say
    otherwise.
    """
    run = next(r for r in runs if r.job.name.endswith("kiln.yaml"))
    g = json.loads(json.dumps(run.graph(run.roots)).replace("48 A", "40 A"))
    for n in g["nodes"]:
        if n["id"] == "fact:circuits.kiln.load/current":
            n["value"] = "40"
    assert any("fact:circuits.kiln.load/current" in f for f in run.check(g))


def told_other(body, path: list, text: str):
    """A job's body with one fact told otherwise, at the very place where it was told."""
    out = copy.copy(body)
    out[path[0]] = (
        Text(text, body[path[0]].at)
        if len(path) == 1
        else told_other(body[path[0]], path[1:], text)
    )
    return out


def test_a_graph_that_is_right_of_another_job_is_refused():
    """Facts of the kiln told otherwise in turn: what rests on one is right of that job, and of no
    other.
    """
    kiln, refused = KB / "jobs" / "kiln.yaml", 0
    run, at = Run(kiln), ["circuits", "kiln"]
    for path, fact, text in (
        (["volts"], "supply", "208 V"),
        (["load", "current"], "current", "40 A"),
        (["breaker", "rating"], "rating", "50 A"),
        (["length"], "length", "90 ft"),
        (["conductors", "size"], "size", "4 AWG"),
        (["conductors", "EGC size"], "EGC size", "8 AWG"),
        (["conductors", "material"], "material", "aluminum"),
        (["segments", 0, "method"], "method", "MC"),
        (["load", "connection"], "connection", "cord and plug"),
        (["more than one receptacle"], None, "yes"),
    ):
        other = Run(told_other(body_of(kiln)[0], at + path, text), name=run.job.name)
        steps = [str(p + 1) if isinstance(p, int) else p for p in path[:-1]]
        node = f"fact:{'.'.join(at + steps)}/{fact or path[0]}"
        for root in [r for r in other.roots if r[0] == "rule"][::15]:
            g = other.graph([root])
            if any(n["id"] == node for n in g["nodes"]):
                assert other.check(g) == [] and any(f.startswith(node) for f in run.check(g)), (
                    node,
                    g["root"],
                )
                refused += 1
    assert refused > 25, refused


def test_a_graph_that_is_right_in_another_edition_is_refused(runs):
    old, new = (
        next(r for r in runs if r.job.name.endswith("kiln.yaml") and r.k.edition == e)
        for e in ("2017", "2023")
    )
    for root in old.roots[::10]:
        g = old.graph([root])
        assert old.check(g) == []
        assert bool(new.check(g)) == any(n["data"].get("edition") for n in g["nodes"]), g["root"]


@pytest.fixture(scope="module")
def shire(tmp_path_factory) -> Path:
    """A county that asks for something else: in a line, in a cell, in a value, and where a rule
    applies.
    """
    folder = tmp_path_factory.mktemp("shire")
    (folder / "pack.yaml").write_text(
        """
pack: shire
title: The shire
authority: The board of the shire
cite: Ordinance 7
layer: county
edits:
- {amend: conductor-125-percent, cite: §1, reason: A test., strike: 125 %, insert: 130 %, says: A third of the continuous load is added., from: 2025-01-01}
- {amend: conductor-ampacity, cite: §2, reason: A test., row: {size: 6 AWG, material: copper, column: 60 °C}, column: ampacity, strike: 55 A, insert: 52 A}
- {set: branch voltage drop target, cite: §3, reason: A test., to: 2 %, says: {branch-voltage-drop: A branch circuit should drop less than elsewhere., measured-drop-within-the-target: The drop that was measured should be less than elsewhere., run-thick-enough-for-its-length: The full load should drop less along the run than elsewhere.}}
- {narrow: load-after-correction, cite: §4, reason: A test., only when: role of circuit is branch circuit}
- {withdraw: breaker-125-percent, cite: §5, reason: A test.}
""",  # noqa: E501
        encoding="utf-8",
    )
    return folder


def test_amended_rules_are_proven_as_amended(shire):
    kiln, wire = KB / "jobs" / "kiln.yaml", "circuits.kiln.conductors"
    here, before, base = (
        Run(kiln, folders=(shire,), date="2025-09-02"),
        Run(kiln, folders=(shire,), date="2024-09-02"),
        Run(kiln),
    )
    g = here.why("conductor-125-percent", wire)
    said = {n["id"]: n for n in g["nodes"]}
    n = said[f"rule:conductor-125-percent@{wire}"]["data"]
    assert n["section"] == "Ordinance 7 §1, amending 210.19(A)(1)" and n["layer"] == "local"
    assert said["cell:conductor-ampacity[6 AWG, copper, 60 °C]/ampacity"]["value"] == "52"
    for run in (here, before, base):
        for root in run.roots[::12]:
            assert run.check(run.graph([root])) == []
    assert base.check(g) and before.check(g)  # amended, where nothing is
    # and the other way round
    assert here.check(base.why("conductor-125-percent", wire)) and here.check(
        before.why("conductor-125-percent", wire)
    )
    assert here.check(base.why("breaker-125-percent", "circuits.kiln.breaker"))  # withdrawn
    assert here.check(base.why("load-after-correction", wire))  # narrowed
    # set
    assert here.check(base.why("branch-voltage-drop", wire)) and not here.check(
        here.why("branch-voltage-drop", wire)
    )
    for lie in ("210.19(A)(1)", "Ordinance 7 §1", "Ordinance 7 §2, amending 210.19(A)(1)"):
        n["section"] = lie
        assert here.check(g)


def another(line: str, step: dict, rng) -> str | None:
    """The line of a step with a number changed that the step shows: what is compared with a limit,
    or a share of something known.
    """
    d, number = step["data"], None
    if (
        d["op"] == "×"
        and line.count("×") == 1
        and re.fullmatch(r"\d+(\.\d+)?", step["value"])
        and step["value"] != "0"
    ):
        number = re.search(r"\d+(?= % ×)", line)
    elif re.fullmatch(r"\d+(\.\d+)?", d.get("right", "")) and line.count(d["compares"]) == 1:
        number = re.search(r"(?<=" + d["compares"] + r" )\d+(?= [^\d+×÷-]+$)", line)
    return (
        number
        and line[: number.start()]
        + str(int(number[0]) + rng.choice((1, 2, 5)))
        + line[number.end() :]
    )


def rewritten(proof: Proof, step: dict, rng) -> Proof | None:
    """The check with a number of this step's line changed."""
    rule, _, at = step["id"][5:].partition("@")
    key, *name = at.partition("#")[2].split("[")[0].split(".")
    d = copy.copy(proof.rules[rule])
    d.__dict__.update(proof.rules[rule].__dict__)
    line = d.get(key)
    name = name[0] if isinstance(line, dict) and name and name[0] in line else None
    line = line[name] if name else line
    if not isinstance(line, str) or not (new := another(line, step, rng)):
        return None
    d[key] = {**d[key], name: new} if name else new
    out = copy.copy(proof)
    out.rules = {**proof.rules, rule: d}
    return out


def corrected(proof: Proof, cell: dict) -> Proof:
    """The check with this cell's number changed."""
    t, column = proof.k.tables[cell["data"]["table"]], cell["data"]["column"]
    out, rows = copy.copy(proof), [dict(r) for r in proof.rows[t.id]]
    next(
        r
        for r, told in zip(rows, t.rows)
        if cell["id"] == f"cell:{t.id}[{proof_values.label(t, told)}]/{column}"
    )[column] += Fraction(1, 7)
    out.rows = {**proof.rows, t.id: rows}
    return out


def test_a_graph_of_rules_that_were_otherwise_is_refused(runs):
    """Numbers of the rules and the tables changed behind honest graphs that show them."""
    rng, lines, cells = random.Random(11), 0, 0
    for run in [r for r in runs if r.k.edition == "2023"]:
        judged = [r for r in run.roots if r[0] == "rule"]
        g = run.graph(rng.sample(judged, min(25, len(judged))))
        others = [
            (n, p)
            for n in g["nodes"]
            if n["kind"] == "step" and (p := rewritten(run.proof, n, rng))
        ]
        for n, other in rng.sample(others, min(8, len(others))):
            assert other.check(g, run.job), n["id"]
            lines += 1
        read = [n for n in g["nodes"] if n["kind"] == "cell" and n["unit"]]
        for n in rng.sample(read, min(2, len(read))):
            assert corrected(run.proof, n).check(g, run.job), n["id"]
            cells += 1
    assert lines > 60 and cells > 25, (lines, cells)
