"""How well the examples beside a rule test it: which conditions were seen both ways, which limits
from every side.

A **condition** is a line of `when`, each branch of an `any of` or `all of`, the line that judges, a
yes or no that is worked out, and a `where` on the things of a list. It is *seen* in an example in
which nothing beside it decides already: a line of `when` where no other line is false, a branch of
`any of` where no other branch is true, what comes after `when` where the rule is not off. So the
example that shows it would come out otherwise without it.

A **threshold** is a comparison of numbers or of sizes, a value that is stepped in a table or
rounded, and a key that goes between the rows of a table. It is seen *at* its limit, and *just*
under and over it: where one step of one fact of the example brings it to the limit or past it, and
the two sides lie no more than a tenth apart. A step is one in the last place that the example
writes, a day, another choice, one row of a table of sizes, or one thing more or less.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple, TypeAlias

from ..basics.errors import Fault, Place
from ..basics.reading import Mapping, decode, place_of, read_bytes, read_csv
from ..basics.sentinels import NONE, NOTHING
from ..basics.units import POINT, POINTS, Range, ends
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import Rule
from ..language.things import Thing, members
from ..language.words import Word, as_list
from ..running.chain import SET_ASIDE
from .examples import Given, Stub, applies, each, in_edition, rows_of, run_example

NEAR = Fraction(1, 10)  # how far apart the two sides of "just" may lie, as a share of the larger
UNDER, AT, OVER = "under", "at", "over"
APPLIES, OFF, TELL = "applies", "does not apply", "cannot tell"
UNTESTED = "untested.csv"

# the value or the two ends of it, and the limits it is measured against
Measured: TypeAlias = tuple[tuple[Any, ...], Sequence[Any]]


@dataclass
class Piece:
    """A condition, a threshold or the answers of a rule; where it stands, and what the examples
    have shown of it.
    """

    rule: str
    sort: str  # "condition", "threshold" or "answers"
    text: str
    at: Place
    e: ex.Expr | None
    sides: tuple[Any, ...]  # those there are: (True, False), (UNDER, AT, OVER), ...
    seen: dict[Any, int] = field(
        default_factory=dict
    )  # side -> number of the first example that shows it

    @property
    def lacks(self) -> list[Any]:
        """The sides that no example shows."""
        return [s for s in self.sides if s not in self.seen]

    def said(self, side: Any) -> str:
        """The example that shows a side, after "an example"."""
        if self.sort == "answers":
            return f"that {side}"
        if self.sort == "condition":
            return f"where this is {'true' if side else 'false'}: {self.text}"
        return f"{side if side == AT else f'just {side}'} the limit of: {self.text}"


@dataclass
class Reason:
    """A line of untested.csv: what no example can show, or no example need catch, and why."""

    check: str  # "coverage" or "mutate"; with an edition behind it where it is so in that one alone
    of: str  # the rule, value or table
    what: str
    why: str
    at: Place


@dataclass
class Lack:
    """An example that a rule lacks, and one to paste where it could be made."""

    rule: str
    at: Place
    what: str
    example: str = ""


@dataclass
class Coverage:
    """What the examples show of all rules."""

    conditions: list[int]  # shown from every side, there are
    thresholds: list[int]
    lacks: list[Lack]
    excused: list[Reason]
    stale: list[Reason]


# ---- what there is to see


def lines_of(r: Rule) -> Iterator[tuple[Any, ex.Expr]]:
    """(text, expression) of every line of a rule that is worked out; an `any of` is one line with
    branches.
    """
    steps = {str(k): v for k, v in (r.d.get("steps") or {}).items()}
    yield from ((steps[name], s.of) for name, s in r.steps.items())
    yield from zip(as_list(r.d.get("when")), r.when)
    if r.test is not None:
        yield r.d[r.verb], r.test
    fills = {str(k): v for k, v in r.d[r.verb].items()} if r.fills else {}
    yield from ((fills[f.word.name], f.expr) for f in r.fills)


def pieces(r: Rule) -> list[Piece]:
    """Every condition and threshold of a rule in the order of its lines, and the answers it can
    give.
    """
    found: dict[tuple[str, int], Piece] = {}

    def add(sort: str, text: str, at: Place, e: ex.Expr, sides: tuple[Any, ...]) -> None:
        found.setdefault((sort, id(e)), Piece(r.id, sort, text, at, e, sides))

    def inside(e: ex.Expr, text: str, at: Place) -> None:
        for n in ex.walk(e):
            where = n.where if isinstance(n, (ex.Over, ex.Quant, ex.Look)) else None
            if where is not None:
                add("condition", f"the where of {text}", at, where, (True, False))
            if has_limit(n):
                add("threshold", text if n is e else f"{called(n)} in {text}", at, n, sides_of(n))

    def line(e: ex.Expr, text: Any, at: Place) -> None:
        at = place_of(text, at)
        if isinstance(e, ex.Junction):
            for c, t in zip(e.xs, as_list(next(iter(text.values())))):
                line(c, t, at)
            return
        if isinstance(e, ex.Cond):
            add("condition", str(text), at, e, (True, False))
        inside(e, str(text), at)

    for text, e in lines_of(r):
        line(e, text, r.at)
    reads = any(isinstance(p, (ex.Path, ex.Column)) for f in r.fills for p in ex.walk(f.expr))
    answers = (
        APPLIES,
        *([OFF] if r.when else []),
        *([TELL] if r.test is not None or r.when or reads else []),
    )
    return [Piece(r.id, "answers", "", r.at, None, answers), *found.values()]


def has_limit(n: ex.Expr) -> bool:
    """Whether *n* has a limit that a value may lie under, at or over."""
    return isinstance(n, (ex.Cmp, ex.Gauge, ex.Step, ex.Round)) or (
        isinstance(n, ex.Look) and between_key(n) is not None
    )


def in_order(n: ex.Expr) -> bool:
    """Whether *n* compares sizes, by their order in a table."""
    return isinstance(n, ex.Gauge) or (isinstance(n, ex.Cmp) and n.order is not None)


def between_key(n: ex.Look) -> str | None:
    """The key of a look-up that goes between the rows."""
    return next((k for k, _ in n.keys if n.table.keys[k][0] != "exact"), None)


def called(n: ex.Expr) -> str:
    """How a threshold inside a line is called."""
    if isinstance(n, ex.Look):
        return f"{n.column} from {n.table.id} by {between_key(n)}"
    if isinstance(n, ex.Step):
        return f"stepped {'up' if n.up else 'down'} in {n.table.id}"
    return f"rounded {n.how}" if isinstance(n, ex.Round) else "comparison"


def sides_of(n: ex.Expr) -> tuple[str, ...]:
    """The sides of a limit that there are: nothing is less than none, and no size beyond the last
    of its table.
    """
    if isinstance(n, ex.Gauge):
        i = n.order[n.size]
        return tuple(
            s for s, there in ((UNDER, i > 0), (AT, True), (OVER, i < len(n.order) - 1)) if there
        )
    if isinstance(n, ex.Cmp) and n.order is None:
        if _is_zero(n.b) and _never_negative(n.a):
            return AT, OVER
        if _is_zero(n.a) and _never_negative(n.b):
            return UNDER, AT
    return UNDER, AT, OVER


def _is_zero(e: ex.Expr) -> bool:
    return isinstance(e, (ex.Num, ex.Dated)) and e.value == 0


def _never_negative(e: ex.Expr) -> bool:
    return isinstance(e, (ex.Path, ex.Over, ex.Look)) and e.t[1] != POINT


# ---- what an example shows


def spots(e: ex.Expr, x: Thing, m: Any = None) -> Iterator[tuple[ex.Expr, Thing, Any]]:
    """Every piece of a line and what it is looked at on, the members of lists and the rows of
    tables one by one.
    """
    yield e, x, m
    if isinstance(e, (ex.Over, ex.Quant)):
        yield from spots(e.list, x, m)
        for y in members(e.list.ev(x, m)):
            for part in (getattr(e, "body", None), e.where):
                if part is not None:
                    yield from spots(part, x, y)
    elif isinstance(e, ex.Look) and e.where is not None:
        for _, key in e.keys:
            yield from spots(key, x, m)
        for row in e.rows(x, m) or ():
            if row:
                yield from spots(e.where, x, row)
    elif isinstance(e, ex.Local):
        yield from spots(e.of, x)
    else:
        for kid in e.kids():
            yield from spots(kid, x, m)


def looked_at(r: Rule, x: Thing) -> Iterator[tuple[ex.Expr, Thing, Any, bool]]:
    """(piece, thing, member, is it open) of every line; it is not open where what stands beside it
    decides already.
    """

    def leaves(e: ex.Expr, open_: bool) -> Iterator[tuple[ex.Expr, bool]]:
        if not isinstance(e, ex.Junction):
            yield e, open_
            return
        got = [c.ev(x, None) for c in e.xs]
        decides = [(v is False or v is NOTHING) if e.all else v is True for v in got]
        for i, c in enumerate(e.xs):
            yield from leaves(c, open_ and not any(decides[:i] + decides[i + 1 :]))

    off = [v is False or v is NOTHING for v in (c.ev(x, None) for c in r.when)]
    lines = [(c, not any(off[:i] + off[i + 1 :])) for i, c in enumerate(r.when)]
    lines += [
        (e, not any(off)) for e in ([r.test] if r.test is not None else [f.expr for f in r.fills])
    ]
    for line, open_ in lines:
        for leaf, leaf_open in leaves(line, open_):
            for n, y, m in spots(leaf, x):
                yield n, y, m, leaf_open


def measured(n: ex.Expr, x: Thing, m: Any) -> Measured | None:
    """(the value or the two ends of it, the limits it is measured against, in order); None where it
    is not known so far.
    """
    if in_order(n):
        return _measured_in_order(n, x, m)
    if isinstance(n, ex.Cmp):
        (al, ah), (bl, bh) = (ends(v) for v in n.sides(x, m))
        if al is None or ah is None or bl is None or bh is None:
            return None
        return (Fraction(al) - Fraction(bh), Fraction(ah) - Fraction(bl)), [0]
    if isinstance(n, ex.Look):
        keys, key = n.known_keys(x, m) or {}, str(between_key(n))
        value = keys.pop(key, None)
        limits = sorted({row[key] for row in n.table.find(keys) if row})
        return ((value,), limits) if plain(value) else None
    if isinstance(n, (ex.Step, ex.Round)):
        value = n.a.ev(x, m)
        if plain(value):
            return ((value,), n.points) if isinstance(n, ex.Step) else _in_steps(n, value)
    return None


def _measured_in_order(n: Any, x: Thing, m: Any) -> Measured | None:
    """How many sizes the two sides lie apart."""
    if isinstance(n, ex.Cmp):
        a, b = n.sides(x, m)
    else:
        a, b = n.order.get(n.a.ev(x, m)), n.order[n.size]
    return ((a - b,), [0]) if plain(a) and plain(b) else None


def _in_steps(n: ex.Round, value: Any) -> Measured:
    """A value in the steps to which it is rounded."""
    steps = Fraction(value) / Fraction(n.step.value)
    steps += Fraction(1, 2) if n.how == "half up" else 0
    return (steps,), range(int(steps) + 2)


def place(n: ex.Expr, x: Thing, m: Any) -> int | None:
    """Where a value lies among the limits of *n*: odd on one, even between two; None where it is on
    no side of them.
    """
    got = measured(n, x, m)
    if got is None or not got[1]:
        return None
    values, limits = got
    if isinstance(limits, range):  # whole steps, perhaps more of them than could be counted through
        v = Fraction(values[0])
        at = [2 * max(0, -(-v.numerator // v.denominator)) + (v.denominator == 1 and v >= 0)]
    else:
        at = [2 * bisect_left(limits, v) + (v in limits) for v in values]
    return next((i for i in at if i % 2), at[0] if at[0] == at[-1] else None)


def plain(v: Any) -> bool:
    """Whether a value is one plain number."""
    return (
        v is not None
        and v is not NOTHING
        and v is not NONE
        and not isinstance(v, (Range, str, list))
    )


def near(n: Any, x: Thing, m: Any) -> bool:
    """Whether the two sides lie near enough for "just": a tenth of the larger, one of a count, one
    row of a table.
    """
    if not isinstance(n, (ex.Cmp, ex.Gauge)):
        return True
    found = measured(n, x, m)
    assert found is not None  # only what has a place among the limits is asked about
    least = min(map(abs, found[0]))
    if isinstance(n, ex.Gauge) or in_order(n):
        return bool(least == 1)
    # every end is known where it has a place among the limits
    most = max(abs(Fraction(q)) for v in n.sides(x, m) for q in ends(v) if q is not None)
    return bool(least == most or least <= NEAR * most or (n.a.t[2] == "count" and least <= 1))


def nudges(k: Knowledge, kind: str, given: Given) -> Iterator[tuple[Given, bool]]:
    """(the same facts with one of them a step further, was the step a row of a table or a thing of
    a list).
    """
    for path, value in given.items():
        try:
            word = Stub(k).words(kind, path)[-1]
        except Fault:
            continue
        for other, leap in _steps(k, word, value):
            yield {**given, path: other}, leap


def _steps(k: Knowledge, word: Word, value: Any) -> Iterator[tuple[Any, bool]]:
    """What is one step from a value, and whether that is a leap."""
    sort = word.type[0]
    if isinstance(value, list):
        yield from _list_steps(k, word, value)
    elif sort == "row":
        rows = rows_of(k, word.type[1])
        if value in rows:
            i = rows.index(value)
            yield from ((rows[j], True) for j in (i - 1, i + 1) if 0 <= j < len(rows))
    elif sort == "choice":
        yield from ((choice, False) for choice in word.type[1] if choice != value)
    elif word.unit == "date" and re.fullmatch(r"\d{4}-\d\d-\d\d", str(value)):
        day = date.fromisoformat(value)
        yield from ((str(day + timedelta(j)), True) for j in (1, -1))
    elif sort == "q":
        yield from ((text, False) for text in _number_steps(str(value), word.unit))


def _list_steps(k: Knowledge, word: Word, items: list[Any]) -> Iterator[tuple[list[Any], bool]]:
    """A list with one thing of it a step further, and with one thing less or more."""
    for i, member in enumerate(items):
        for other, leap in nudges(k, word.type[1], member):
            yield [*items[:i], other, *items[i + 1 :]], leap
    for i in range(len(items)):
        yield items[:i] + items[i + 1 :], True
        yield [*items[: i + 1], *items[i:]], True
    if not items:
        yield [{}], True


def _number_steps(text: str, unit: str | None) -> Iterator[str]:
    """A number one in its last place up and down."""
    found = re.fullmatch(r"(-?[\d,]+)(?:\.(\d+))?( ?\D.*)?", text)
    if found is None:
        return
    decimals = found[2] or ""
    n = int((found[1] + decimals).replace(",", ""))
    for j in (n + 1, n - 1):
        # only a point on a scale may lie below nothing
        if j >= 0 or unit in POINTS:
            yield f"{Decimal(j).scaleb(-len(decimals)):f}{found[3] or ''}"


class Spot(NamedTuple):
    """Where a value lies among the limits of a piece, and on what the piece was looked at."""

    place: int | None
    is_open: bool  # does nothing beside it decide already?
    thing: Thing
    member: Any


class Watch:
    """What examples show of the pieces of one rule."""

    def __init__(self, k: Knowledge, r: Rule) -> None:
        self.k, self.r, self.pieces = k, r, pieces(r)
        self.conditions = {id(p.e): p for p in self.pieces if p.sort == "condition"}
        self.limits = {id(p.e): p for p in self.pieces if p.sort == "threshold"}

    def shown(self, given: Given) -> Iterator[tuple[Piece, Any]]:
        """(piece, side) of everything that an example with these facts shows."""
        thing = Stub(self.k).thing(self.r.about, given)
        yield from ((self.pieces[0], side) for side in self._answers(thing))
        yield from self._conditions_shown(thing)
        here = self._places(thing)
        beside: list[tuple[int, int]] = []
        for i, spots_of in here.items():
            for j, spot in enumerate(spots_of):
                side = _side(self.limits[i].e, spot)
                if side is not None:
                    yield self.limits[i], side
                elif _is_beside(self.limits[i].e, spot):
                    beside.append((i, j))
        # what a step further shows is only tried where it is still lacking
        if any(s not in self.limits[i].seen for i, _ in beside for s in (UNDER, OVER)):
            yield from self._nudged(given, here, beside)

    def _conditions_shown(self, thing: Thing) -> Iterator[tuple[Piece, bool]]:
        for n, y, m, is_open in looked_at(self.r, thing):
            if is_open and id(n) in self.conditions:
                value = n.ev(y, m)
                if isinstance(value, bool):
                    yield self.conditions[id(n)], value

    def _nudged(
        self, given: Given, here: dict[int, list[Spot]], beside: list[tuple[int, int]]
    ) -> Iterator[tuple[Piece, str]]:
        """The limits that one step of one fact brings a value to or past."""
        for other, leap in nudges(self.k, self.r.about, given):
            try:
                there = self._places(Stub(self.k).thing(self.r.about, other))
            except Fault:  # a number that cannot be
                continue
            for i, j in beside:
                spot, n = here[i][j], self.limits[i].e
                if len(there.get(i, ())) != len(here[i]):
                    continue
                moved = there[i][j].place
                if moved is None or spot.place is None or moved == spot.place:
                    continue
                if leap or near(n, spot.thing, spot.member):
                    yield self.limits[i], UNDER if moved > spot.place else OVER

    def _places(self, thing: Thing) -> dict[int, list[Spot]]:
        """Where the values lie among the limits, by the limit."""
        found: dict[int, list[Spot]] = {}
        for n, y, m, is_open in looked_at(self.r, thing):
            if id(n) in self.limits:
                found.setdefault(id(n), []).append(Spot(place(n, y, m), is_open, y, m))
        return found

    def _answers(self, thing: Thing) -> Iterator[str]:
        """The answer that the rule gives."""
        on, test = applies(self.r, thing), self.r.test
        lines = [test] if test is not None else [fill.expr for fill in self.r.fills]
        got = [] if on is False else [line.ev(thing, None) for line in lines]
        unsure = any(v is None or (test is None and isinstance(v, Range)) for v in got)
        if on is False or (test is not None and got[0] is NOTHING):
            yield OFF
        elif on is None or unsure:
            yield TELL
        else:
            yield APPLIES


def _side(n: Any, spot: Spot) -> str | None:
    """The side of a limit that a value shows where it lies; None where it takes a step to see."""
    if not spot.is_open or spot.place is None:
        return None
    if spot.place % 2:
        return AT
    if in_order(n) and near(n, spot.thing, spot.member):
        return UNDER if spot.place == 0 else OVER
    return None


def _is_beside(n: Any, spot: Spot) -> bool:
    """Whether a value lies beside a limit, perhaps a step from it."""
    return spot.is_open and spot.place is not None and not spot.place % 2 and not in_order(n)


def examples_of(k: Knowledge, r: Rule) -> list[Any]:
    """The examples beside a rule, and those that edits give of it: of an exception, those too on
    which it lets another rule be.
    """
    own = as_list(r.d.get("examples", []))
    edited = [
        (str(d.get("rule", e.target)), d)
        for edits in getattr(k, "trail", {}).values()
        for e in edits
        for d in as_list(e.d.get("examples"))
        if isinstance(d, dict)
    ]
    lets = [
        _as_exception(rule, d)
        for rule, d in edited
        if rule in r.exception_to
        and d.get("answer") == SET_ASIDE
        and isinstance(d.get("given"), dict)
    ]
    return [
        *own,
        *(d for rule, d in edited if rule == r.id and not any(d is o for o in own)),
        *(d for d in lets if run_example(k, r, d, 0).ok),
    ]


def _as_exception(rule: str, d: Any) -> Mapping:
    """An example of a rule that an exception sets aside, as one of the exception."""
    out = Mapping({"given": d["given"], "holds": "yes", "sets aside": rule})
    out.at = place_of(d)
    return out


def watch(k: Knowledge, r: Rule) -> list[Piece]:
    """The pieces of a rule, with what its examples have shown of them; what is tried is seen in
    worked jobs instead.
    """
    if r.verb == "tries":
        return []
    w = Watch(k, r)
    for number, d in enumerate(examples_of(k, r), 1):
        try:
            for given in each(d.get("given", {})) if in_edition(k, d) else ():
                for p, side in w.shown(given):
                    p.seen.setdefault(side, number)
        except (Fault, AttributeError, TypeError):
            continue  # told as a fault of the example itself
    return w.pieces


# ---- a whole pack


def lacking(k: Knowledge, r: Rule) -> list[str]:
    """The examples that a rule lacks."""
    return [f"one {p.said(side)}" for p in watch(k, r) for side in p.lacks]


def cover(
    k: Knowledge,
    only: set[str] | None = None,
    reasons: Sequence[Reason] = (),
    ready: Callable[[Knowledge, Rule, Piece, Any], str] | None = None,
) -> Coverage:
    """What the examples of every rule in force show, or of *only* some; *ready* makes the example
    that is lacking.
    """
    out = Coverage([0, 0], [0, 0], [], [], [])
    excuses = in_force(k, "coverage", reasons)
    for rule in k.rules.values():
        if only is not None and rule.id not in only:
            continue
        for piece in watch(k, rule):
            make = partial(ready, k, rule, piece) if ready else _none_made
            _count(out, piece, excuses, make)
    out.stale = [
        reason
        for reason in excuses.values()
        if reason not in out.excused
        and reason.of in k.rules
        and (only is None or reason.of in only)
    ]
    return out


def _none_made(side: Any) -> str:
    """No example is made."""
    return ""


def _count(
    out: Coverage,
    piece: Piece,
    excuses: dict[tuple[str, str], Reason],
    ready: Callable[[Any], str],
) -> None:
    """Count a piece, and note each side that it lacks, or why it may lack it."""
    missing = [side for side in piece.lacks if (piece.rule, piece.said(side)) not in excuses]
    excused = [side for side in piece.lacks if side not in missing]
    out.excused += [excuses[piece.rule, piece.said(side)] for side in excused]
    out.lacks += [Lack(piece.rule, piece.at, piece.said(side), ready(side)) for side in missing]
    if piece.sort != "answers":
        count = out.conditions if piece.sort == "condition" else out.thresholds
        count[0] += not missing
        count[1] += 1


def in_force(k: Knowledge, check: str, reasons: Sequence[Reason]) -> dict[tuple[str, str], Reason]:
    """(rule, what) -> the reason, of those for one check in this edition."""
    return {(q.of, q.what): q for q in reasons if q.check in (check, f"{check} {k.edition}")}


def read_reasons(folders: list[Path]) -> list[Reason]:
    """What untested.csv of each folder says.

    Raises:
        Fault: a file is no such list.
    """
    out = []
    for folder in folders:
        path = folder / UNTESTED
        if not path.exists():
            continue
        header, rows = read_csv(decode(read_bytes(path, str(path)), str(path)), str(path))
        if header != ["check", "rule", "what", "why"]:
            raise Fault(
                "table-column",
                Place(str(path)),
                "this list does not have its columns",
                "its first line is: check,rule,what,why",
            )
        for n, cells in rows:
            if (
                not re.fullmatch(r"(coverage|mutate)( 20\d\d)?", cells[0])
                or len(cells) != 4
                or not all(cells)
            ):
                raise Fault(
                    "blank-cell",
                    Place(str(path), n),
                    "this line does not say what is untested and why",
                    "write: coverage or mutate (and an edition, if it is so in that one alone), the"
                    " rule, what, why",
                )
            check, of, what, why = cells
            out.append(Reason(check, of, what, why, Place(str(path), n)))
    return out
