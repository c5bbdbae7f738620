"""What nobody can mean: a rule whose conditions are never so together, and two rules that give one
fact two values on one thing.

Only conditions that one fact decides are looked at, each by a value of every sort that it tells
apart: what is found is so, and comes with the values that show it. What hangs on more (a look-up, a
list, arithmetic) is taken to be possible.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations, product
from typing import Any, NamedTuple, TypeAlias

from ..basics.errors import Collector, Place
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import Rule
from ..language.things import Thing
from ..law.verbs.registry import verb_of
from .examples import Stub, applies, rows_of, show

Way: TypeAlias = list[tuple[ex.Expr, str]]  # conditions that are met together, and their lines

MOST = 200  # ways in which the conditions of a rule can be met: `any of` multiplies


class Never(NamedTuple):
    """A rule that no thing can meet, and the lines that exclude each other."""

    rule: Rule
    lines: list[str]


class Clash(NamedTuple):
    """Two rules that give *fact* two values on one thing, and the facts of such a thing."""

    first: Rule
    second: Rule
    fact: str
    values: tuple[str, str]
    where: dict[str, str]


def never(r: Rule, k: Knowledge) -> Never | None:
    """That the conditions of *r* exclude each other."""
    found: list[str] = []
    for way in _ways(r):
        clash = next(
            (
                lines
                for conditions in _by_fact(way).values()
                for lines in [_excluded(conditions, k)]
                if lines
            ),
            None,
        )
        if clash is None:
            return None
        found += [text for text in clash if text not in found]
    return Never(r, found) if found else None


def clashes(k: Knowledge, of: set[str] | None = None) -> Iterator[Clash]:
    """Every pair of rules that give one fact two values on one thing; only those with a rule *of*
    these, if any are named.
    """
    for (kind, fact), givers in k.order.givers.items():
        given = [
            (r, f.expr.value)
            for r in givers
            if r.verb == "gives"
            for f in r.fills
            if f.word.name == fact and isinstance(f.expr, (ex.Word_, ex.Num, ex.Dated))
        ]
        for (a, v), (b, u) in combinations(given, 2):
            if (
                v == u
                or of is not None
                and not {a.id, b.id} & of
                # one of them is meant to win there, and says so
                or a.id in b.exception_to
                or b.id in a.exception_to
            ):
                continue
            # one way in which both hold is enough to show them apart
            for one, two in product(_ways(a), _ways(b)):
                if (values := _shown(k, a, b, [*one, *two])) is not None:
                    unit = k.words.kinds[kind].words[fact].unit
                    yield Clash(
                        a,
                        b,
                        fact,
                        (show(v, unit), show(u, unit)),
                        {said: show(x, p.unit) for said, (p, x) in values.items()},
                    )
                    break


def note_never(r: Rule, k: Knowledge, at: Place, faults: Collector) -> bool:
    """Tell where the conditions of *r* exclude each other."""
    found = never(r, k)
    if found:
        lines = " and ".join(f'"{line}"' for line in found.lines)
        faults.add(
            "never-so",
            at,
            f"{r.id} never applies: {lines}"
            f" {'are never so together' if len(found.lines) > 1 else 'is never so'}",
            "leave one of them out, or write any of: [line, line] where one is enough",
        )
    return found is not None


def note_clashes(
    k: Knowledge, of: set[str] | None, places: dict[str, Place], faults: Collector
) -> None:
    """Tell where two rules give one fact two values; at the place of the one that came last, if
    *places* has it.
    """
    for c in clashes(k, of):
        r, other = (
            (c.second, c.first)
            if c.second.id in places or c.first.id not in places
            else (c.first, c.second)
        )
        # told at the rule that came last: whoever wrote it can mend it
        mine, theirs = c.values if r is c.first else c.values[::-1]
        added = any(verb_of(edit).makes_anew for edit in k.trail.get(r.id, ()))
        wins = "instead of" if added else "exception to"
        where = ", ".join(f"{said} {v}" for said, v in c.where.items()) or "nothing is told"
        faults.add(
            "two-answers",
            places.get(r.id, r.at),
            f"where {where}: {r.id} gives {c.fact} {mine}, and {other.id} (at {other.at}) gives"
            f" {theirs}",
            f"give them conditions that are never so together, or add {wins}: {other.id} to {r.id},"
            " if that is to win",
        )


def _shown(
    k: Knowledge, a: Rule, b: Rule, conditions: Way
) -> dict[str, tuple[ex.Path, Any]] | None:
    """The facts of a thing on which both rules hold and nothing sets either aside: as it is said ->
    (path, value).
    """
    # only conditions that one fact decides are looked at; a clash that this thing does not show is
    # not told, so that none is told that is none
    values: dict[str, tuple[ex.Path, Any]] = {}
    for same in _by_fact(conditions).values():
        if not (fit := [v for v in _tried(same, k) if all(_so(c, v) for c, _ in same)]):
            return None
        path = _deciding(same)
        values[path.said] = path, fit[0]
    # shown on a thing and not argued: the other conditions, and every exception, have their say
    x = _thing(k, a.about, values.values())
    if not all(
        applies(r, x) is True
        and all(applies(e, x) is False for e in k.order.exceptions.get(r.id, ()))
        for r in (a, b)
    ):
        return None
    return values


def _thing(k: Knowledge, kind: str, values: Iterable[tuple[ex.Path, Any]]) -> Thing:
    """A thing that has these facts and no others."""
    stub = Stub(k)
    x = stub.thing(kind, {})
    for p, v in values:
        o = x
        for name in p.names[:-1]:
            link = k.words.kinds[o[0].kind].words[name]
            if o[link.slot] is None:
                o[link.slot] = stub.thing(link.type[1], {}, name)
            o = o[link.slot]
        o[p.slots[-1]] = v
    return x


def leaves(r: Rule, path: ex.Path, v: Any) -> bool:
    """Whether the conditions of *r* leave it something to say where the fact at *path* is *v*."""
    return any(all(_so(c, v) for c, _ in _by_fact(way).get(path.slots, ())) for way in _ways(r))


# ---- conditions that one fact decides ------------------------------------------------------------


def _ways(r: Rule) -> list[Way]:
    """Every way in which the conditions of a rule can be met: a list of (condition, its line)."""
    ways: list[Way] = [[]]
    for c, line in zip(r.when, r.when_text):
        ways = [[*way, *more] for way in ways for more in _met(c, line)]
        if len(ways) > MOST:
            # it can be met somehow
            return [[]]
    return ways


def _met(c: ex.Expr, line: str) -> list[Way]:
    """Every way in which one condition can be met."""
    if not isinstance(c, ex.Junction):
        return [[(c, line)]]
    parts = [_met(e, line) for e in c.xs]
    return (
        # all of: one way of each part together; any of: any way of any part
        [[c for way in ways for c in way] for ways in product(*parts)]
        if c.all
        else [way for ways in parts for way in ways]
    )


def _by_fact(way: Way) -> dict[tuple[int, ...], Way]:
    """The conditions that one fact decides, by that fact."""
    out: dict[tuple[int, ...], Way] = {}
    for c, line in way:
        if p := c.deciding:
            out.setdefault(p.slots, []).append((c, line))
    return out


def _deciding(conditions: Way) -> ex.Path:
    """The one fact that decides all of these."""
    path = conditions[0][0].deciding
    # what no fact decides alone is not among them
    assert path is not None
    return path


def _excluded(conditions: Way, k: Knowledge) -> list[str] | None:
    """The lines about one fact that exclude each other; None where it can have a value that meets
    them all.
    """
    if any(all(_so(c, v) for c, _ in conditions) for v in _tried(conditions, k)):
        return None
    # two lines that exclude each other say it better than five, of which three have nothing to do
    # with it
    pair = next(
        (
            (a, b)
            for (a, b) in combinations(conditions, 2)
            if not any(_so(a[0], v) and _so(b[0], v) for v in _tried([a, b], k))
        ),
        None,
    )
    return list(dict.fromkeys(line for _, line in pair or conditions))


def _tried(conditions: Way, k: Knowledge) -> list[Any]:
    """A value of every sort that conditions about one fact tell apart."""
    sort, *of = _deciding(conditions).t
    if sort == "flag":
        return [True, False]
    if sort == "choice":
        return list(of[0])
    if sort == "row" and of[0] in k.tables:
        return rows_of(k, of[0])
    if sort != "q":
        return [
            *sorted({w for c, _ in conditions if isinstance(c, ex.Is) for w in c.words}),
            "something else",
        ]
    # each with a number: no other comparison is decided by one fact
    compared: list[Any] = [c for c, _ in conditions]
    # under, at, between and over every limit: of numbers no other are told apart by comparisons
    limits = sorted({c.b.value for c in compared})
    return [
        limits[0] - 1,
        *limits,
        *((a + b) / 2 for a, b in zip(limits, limits[1:])),
        limits[-1] + 1,
    ]


def _so(condition: ex.Expr, value: Any) -> bool:
    """Whether a condition that one fact decides is so where the fact is *value*."""
    holder: Any = value
    fact = condition.deciding
    assert fact is not None
    for slot in reversed(fact.slots):
        holder = [*[None] * slot, holder]
    return condition.ev(holder, None) is True
