"""Rules that nobody can mean are found: conditions that are never so together, and one fact given
two values; with no false alarm.
"""

import pytest

from whywire.engine.basics.errors import Collector
from whywire.engine.basics.reading import Mapping, Text
from whywire.engine.checking.clashes import _by_fact, _so, _tried, _ways, clashes, never
from whywire.engine.checking.examples import came_out
from whywire.engine.language import expressions as ex
from whywire.engine.language.rules import EDITIONS, Rule
from whywire.engine.language.words import as_list
from whywire.engine.law.library import load

K = load()


def changed(r: Rule, **other) -> Rule:
    """*r* with something other in it, checked anew."""
    d = Mapping(r.d | {k.replace("_", " "): v for k, v in other.items()})
    faults = Collector()
    new = Rule(d, K.words, K.tables, K.values, {*K.rules, *K.absent}, faults)
    faults.stop()
    return new


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_base_has_none(edition):
    k = load((), edition, examples=False)
    assert [r.id for r in k.rules.values() if never(r, k)] == [] and list(clashes(k)) == []


def opposite(c: ex.Expr, line: str) -> str | None:
    """A line that is so only where *c* is not."""
    p = c.deciding
    if isinstance(c, ex.Not):
        return p.said
    if isinstance(c, ex.Flag):
        return f"not {p.said}"
    if isinstance(c, ex.Is):
        return (
            line.replace(" is not ", " is ", 1)
            if c.negated
            else line.replace(" is ", " is not ", 1)
        )
    if isinstance(c, ex.Cmp) and c.order is None and isinstance(c.b, ex.Num):
        return (
            f"{p.said} {({'>=': '<', '>': '<=', '<=': '>', '<': '>=', '=': '!=', '!=': '='})[c.op]}"
            f" {c.b.text}"
        )
    return None


def seeded():
    for r in K.rules.values():
        for c, line in zip(r.when, r.when_text):
            if c.deciding and isinstance(r.d["when"], (str, list)) and (no := opposite(c, line)):
                yield r, line, no


SEEDED = list(seeded())


def test_there_are_enough_of_them():
    assert len(SEEDED) >= 400 and len({type(r.when[0]) for r, *_ in SEEDED}) >= 4


@pytest.mark.parametrize("kind", sorted({r.about for r, *_ in SEEDED}))
def test_a_condition_and_its_opposite_are_found(kind):
    missed, wrong = [], []
    for r, line, no in SEEDED:
        if r.about != kind:
            continue
        found = never(changed(r, when=[*as_list(r.d["when"]), Text(no)]), K)
        if not (found and no in found.lines and len(found.lines) <= 2):
            missed.append((r.id, no))
        # the same line twice is no contradiction
        if never(changed(r, when=[*as_list(r.d["when"]), Text(line)]), K):
            wrong.append((r.id, line))
    assert (missed, wrong) == ([], [])


def twice():
    """Every rule that gives a yes or a choice where single facts decide it, and one that gives
    another there.
    """
    for r in K.rules.values():
        for f in (
            r.fills
            if r.verb == "gives"
            and all(c.deciding for c in r.when)
            and r.id not in K.order.exceptions
            else ()
        ):
            if f.word.type[0] in ("flag", "choice") and isinstance(f.expr, ex.Word_):
                other = next(
                    v
                    for v in ((True, False) if f.word.type[0] == "flag" else f.word.type[1])
                    if v != f.expr.value
                )
                yield pytest.param(
                    r,
                    f.word.name,
                    {True: "yes", False: "no"}.get(other, other),
                    id=f"{r.id}: {f.word.name}".replace(" ", "-"),
                )


TWICE = list(twice())


def test_there_are_rules_to_contradict():
    assert len(TWICE) >= 20


@pytest.mark.parametrize(("r", "fact", "value"), TWICE)
def test_another_value_for_the_same_things_is_found_with_a_thing_that_shows_it(r, fact, value):
    new = changed(r, rule=Text("the-other-way"), gives={fact: Text(value)})
    new.exception_to = []
    order = type(K.order)(exceptions=K.order.exceptions)
    order.givers = K.order.givers | {(r.about, fact): [*K.order.givers[r.about, fact], new]}
    k = K.but(
        rules=K.rules | {new.id: new},
        order=order,
        slots=K.slots | {new.id: K.width[r.about]},
        holds=K.holds | {new.id: K.width[r.about] + 1},
        results=K.results | {(new.id, fact): K.width[r.about] + 2},
        width=K.width | {r.about: K.width[r.about] + 3},
    )
    found = next(c for c in clashes(k, {new.id}) if {c.first.id, c.second.id} == {r.id, new.id})
    shown = [
        came_out(
            k,
            one,
            {"given": {p: Text(v) for p, v in found.where.items()}, "gives": {fact: Text(v)}},
        )
        for one, v in zip((found.first, found.second), found.values)
    ]
    assert shown == [[f"{fact}: {v}"] for v in found.values] and found.values[0] != found.values[1]


@pytest.mark.parametrize(
    ("when", "is_never"),
    [
        (["length >= 10 ft", "length < 10 ft"], True),
        (["length >= 10 ft", "length <= 10 ft"], False),
        (["length > 10 ft", "length < 120 in"], True),
        (["length >= 10 ft", "length = 120 in"], False),
        (
            [
                {"any of": ["role is feeder", "length < 5 ft"]},
                "role is branch circuit",
                "length > 6 ft",
            ],
            True,
        ),
        ([{"any of": ["role is feeder", "length < 5 ft"]}, "role is branch circuit"], False),
        (["supply is 240 V", "supply is not 240 V | 120 V"], True),
        (["size of conductors is 6 AWG or larger", "size of conductors is 8 AWG or smaller"], True),
        (
            ["size of conductors is 6 AWG or larger", "size of conductors is 6 AWG or smaller"],
            False,
        ),
        (["current of load > 5 A", "length < 5 ft"], False),
        (["permit date of job < 2026-01-01", "permit date of job >= 2026-01-01"], True),
    ],
)
def test_limits_and_alternatives(when, is_never):
    """A limit that both lines allow is met; 120 in are 10 ft; other facts of other things exclude
    nothing.
    """
    d = Mapping(
        {
            "rule": Text("trial"),
            "says": Text("x"),
            "about": Text("circuit"),
            "when": [
                Text(w) if isinstance(w, str) else {k: [Text(x) for x in v] for k, v in w.items()}
                for w in when
            ],
            "must": Text("length <= 100 ft"),
            "practice": Text("made up for this test"),
        }
    )
    faults = Collector()
    r = Rule(d, K.words, K.tables, K.values, set(), faults)
    faults.stop()
    assert (never(r, K) is not None) is is_never


def test_what_is_tried_of_a_fact_meets_each_of_its_conditions_and_misses_it():
    """A condition that no tried value met, or that none missed, would hide a rule that can be, or
    that never is.
    """
    for r in K.rules.values():
        for way in _ways(r):
            for same in _by_fact(way).values():
                for c, line in same:
                    said = {_so(c, v) for v in _tried([(c, line)], K)}
                    asks_only_whether_it_is_told = (
                        isinstance(c, ex.Is)
                        and set(c.words) == set(c.deciding.t[1])
                        or isinstance(c, ex.Gauge)
                        and not c.smaller
                        and c.order[c.size] == min(c.order.values())
                    )
                    assert said == ({True} if asks_only_whether_it_is_told else {True, False}), (
                        r.id,
                        line,
                    )
