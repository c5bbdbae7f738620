"""How well the examples beside a rule test it: which conditions were seen both ways, which limits
from every side.

A **condition** is a line of `when`, each branch of an `any of` or `all of`, the line that judges, a
yes or no that is worked out, and a `where` on the things of a list. It is *seen* in an example in
which nothing beside it decides already: a line of `when` where no other line is false, a branch of
`any of` where no other branch is true, what comes after `when` where the rule is not off. So the
example that shows it would come out otherwise without it.

A **threshold** (`thresholds`) is seen *at* its limit, and *just* under and over it: where one step
of one fact of the example brings it to the limit or past it, and the two sides lie no more than a
tenth apart. A step is one in the last place that the example writes, a day, another choice, one row
of a table of sizes, or one thing more or less.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

from ..basics.errors import Fault, Place
from ..basics.reading import Mapping, decode, place_of, read_bytes, read_csv
from ..basics.sentinels import NOTHING
from ..basics.units import POINTS, Range
from ..language import expressions as ex
from ..language.knowledge import Knowledge
from ..language.rules import Rule
from ..language.things import Thing
from ..language.words import Word, as_list
from ..running.chain import SET_ASIDE
from .examples import Given, Stub, applies, each, in_edition, rows_of, run_example
from .thresholds import AT, OVER, UNDER, Threshold, threshold_of

APPLIES, OFF, TELL = "applies", "does not apply", "cannot tell"
UNTESTED = "untested.csv"


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


def lines_of(rule: Rule) -> Iterator[tuple[Any, ex.Expr]]:
    """(text, expression) of every line of a rule that is worked out; an `any of` is one line with
    branches.
    """
    steps = {str(name): said for name, said in (rule.d.get("steps") or {}).items()}
    yield from ((steps[name], s.of) for name, s in rule.steps.items())
    yield from zip(as_list(rule.d.get("when")), rule.when)
    if rule.test is not None:
        yield rule.d[rule.verb], rule.test
    fills = {str(name): said for name, said in rule.d[rule.verb].items()} if rule.fills else {}
    yield from ((fills[f.word.name], f.expr) for f in rule.fills)


def pieces(rule: Rule) -> list[Piece]:
    """Every condition and threshold of a rule in the order of its lines, and the answers it can
    give.
    """
    found: dict[tuple[str, int], Piece] = {}

    def add(sort: str, text: str, at: Place, expression: ex.Expr, sides: tuple[Any, ...]) -> None:
        found.setdefault((sort, id(expression)), Piece(rule.id, sort, text, at, expression, sides))

    def inside(expression: ex.Expr, text: str, at: Place) -> None:
        for piece in ex.walk(expression):
            where = piece.where if isinstance(piece, (ex.Over, ex.Quant, ex.Look)) else None
            if where is not None:
                add("condition", f"the where of {text}", at, where, (True, False))
            threshold = threshold_of(piece)
            if threshold is not None:
                said = text if piece is expression else f"{threshold.called} in {text}"
                add("threshold", said, at, piece, threshold.sides)

    def line(expression: ex.Expr, text: Any, at: Place) -> None:
        at = place_of(text, at)
        if isinstance(expression, ex.Junction):
            for branch, part in zip(expression.xs, as_list(next(iter(text.values())))):
                line(branch, part, at)
            return
        if isinstance(expression, ex.Cond):
            add("condition", str(text), at, expression, (True, False))
        inside(expression, str(text), at)

    for text, expression in lines_of(rule):
        line(expression, text, rule.at)
    reads = any(isinstance(p, (ex.Path, ex.Column)) for f in rule.fills for p in ex.walk(f.expr))
    answers = (
        APPLIES,
        *([OFF] if rule.when else []),
        *([TELL] if rule.test is not None or rule.when or reads else []),
    )
    return [Piece(rule.id, "answers", "", rule.at, None, answers), *found.values()]


# ---- what an example shows


def spots(piece: ex.Expr, thing: Thing, member: Any = None) -> Iterator[tuple[ex.Expr, Thing, Any]]:
    """Every piece of a line and what it is looked at on, the members of lists and the rows of
    tables one by one.
    """
    yield piece, thing, member
    for spot in piece.looked_at(thing, member):
        yield from spots(*spot)


def looked_at(rule: Rule, thing: Thing) -> Iterator[tuple[ex.Expr, Thing, Any, bool]]:
    """(piece, thing, member, is it open) of every line; it is not open where what stands beside it
    decides already.
    """

    def leaves(expression: ex.Expr, open_: bool) -> Iterator[tuple[ex.Expr, bool]]:
        if not isinstance(expression, ex.Junction):
            yield expression, open_
            return
        # what is shown of a part shows nothing where the parts beside it decide already
        got = [condition.ev(thing, None) for condition in expression.xs]
        decides = [
            (value is False or value is NOTHING) if expression.all else value is True
            for value in got
        ]
        for number, condition in enumerate(expression.xs):
            yield from leaves(
                condition, open_ and not any(decides[:number] + decides[number + 1 :])
            )

    off = [
        value is False or value is NOTHING
        for value in (condition.ev(thing, None) for condition in rule.when)
    ]
    lines = [
        (condition, not any(off[:number] + off[number + 1 :]))
        for number, condition in enumerate(rule.when)
    ]
    lines += [
        (expression, not any(off))
        for expression in ([rule.test] if rule.test is not None else [f.expr for f in rule.fills])
    ]
    for line, open_ in lines:
        for leaf, leaf_open in leaves(line, open_):
            for piece, on, member in spots(leaf, thing):
                yield piece, on, member, leaf_open


def nudges(knowledge: Knowledge, kind: str, given: Given) -> Iterator[tuple[Given, bool]]:
    """(the same facts with one of them a step further, was the step a row of a table or a thing of
    a list).
    """
    for path, value in given.items():
        try:
            word = Stub(knowledge).words(kind, path)[-1]
        except Fault:
            continue
        for other, leap in _steps(knowledge, word, value):
            yield {**given, path: other}, leap


def _steps(knowledge: Knowledge, word: Word, value: Any) -> Iterator[tuple[Any, bool]]:
    """What is one step from a value, and whether that is a leap."""
    sort = word.type[0]
    if isinstance(value, list):
        yield from _list_steps(knowledge, word, value)
    elif sort == "row":
        rows = rows_of(knowledge, word.type[1])
        if value in rows:
            here = rows.index(value)
            yield from ((rows[j], True) for j in (here - 1, here + 1) if 0 <= j < len(rows))
    elif sort == "choice":
        yield from ((choice, False) for choice in word.type[1] if choice != value)
    elif word.unit == "date" and re.fullmatch(r"\d{4}-\d\d-\d\d", str(value)):
        day = date.fromisoformat(value)
        yield from ((str(day + timedelta(j)), True) for j in (1, -1))
    elif sort == "q":
        yield from ((text, False) for text in _number_steps(str(value), word.unit))


def _list_steps(
    knowledge: Knowledge, word: Word, items: list[Any]
) -> Iterator[tuple[list[Any], bool]]:
    """A list with one thing of it a step further, and with one thing less or more."""
    for number, member in enumerate(items):
        for other, leap in nudges(knowledge, word.type[1], member):
            yield [*items[:number], other, *items[number + 1 :]], leap
    # a limit on how many there are is passed by one thing more, as it is by one less
    for number in range(len(items)):
        yield items[:number] + items[number + 1 :], True
        yield [*items[: number + 1], *items[number:]], True
    if not items:
        yield [{}], True


def _number_steps(text: str, unit: str | None) -> Iterator[str]:
    """A number one in its last place up and down."""
    found = re.fullmatch(r"(-?[\d,]+)(?:\.(\d+))?( ?\D.*)?", text)
    if found is None:
        return
    decimals = found[2] or ""
    number = int((found[1] + decimals).replace(",", ""))
    for stepped in (number + 1, number - 1):
        # only a point on a scale may lie below nothing
        if stepped >= 0 or unit in POINTS:
            yield f"{Decimal(stepped).scaleb(-len(decimals)):f}{found[3] or ''}"


class Spot(NamedTuple):
    """Where a value lies among the limits of a piece, and on what the piece was looked at."""

    place: int | None
    is_open: bool  # does nothing beside it decide already?
    thing: Thing
    member: Any


class Watch:
    """What examples show of the pieces of one rule."""

    def __init__(self, knowledge: Knowledge, rule: Rule) -> None:
        self.k, self.r, self.pieces = knowledge, rule, pieces(rule)
        self.conditions = {id(p.e): p for p in self.pieces if p.sort == "condition"}
        self.limits = {id(p.e): p for p in self.pieces if p.sort == "threshold"}

    def shown(self, given: Given) -> Iterator[tuple[Piece, Any]]:
        """(piece, side) of everything that an example with these facts shows."""
        thing = Stub(self.k).thing(self.r.about, given)
        yield from ((self.pieces[0], side) for side in self._answers(thing))
        yield from self._conditions_shown(thing)
        here = self._places(thing)
        beside: list[tuple[int, int]] = []
        for limit, spots_of in here.items():
            for number, spot in enumerate(spots_of):
                side = _side(self.limits[limit].e, spot)
                if side is not None:
                    yield self.limits[limit], side
                elif _is_beside(self.limits[limit].e, spot):
                    beside.append((limit, number))
        # what a step further shows is only tried where it is still lacking
        if any(s not in self.limits[limit].seen for limit, _ in beside for s in (UNDER, OVER)):
            yield from self._nudged(given, here, beside)

    def _conditions_shown(self, thing: Thing) -> Iterator[tuple[Piece, bool]]:
        for piece, on, member, is_open in looked_at(self.r, thing):
            if is_open and id(piece) in self.conditions:
                value = piece.ev(on, member)
                if isinstance(value, bool):
                    yield self.conditions[id(piece)], value

    def _nudged(
        self, given: Given, here: dict[int, list[Spot]], beside: list[tuple[int, int]]
    ) -> Iterator[tuple[Piece, str]]:
        """The limits that one step of one fact brings a value to or past."""
        for other, leap in nudges(self.k, self.r.about, given):
            try:
                there = self._places(Stub(self.k).thing(self.r.about, other))
            except Fault:  # a number that cannot be
                continue
            for limit, number in beside:
                spot, piece = here[limit][number], self.limits[limit].e
                # a step that makes a list longer or shorter: which spot is which nobody can say
                if len(there.get(limit, ())) != len(here[limit]):
                    continue
                moved = there[limit][number].place
                if moved is None or spot.place is None or moved == spot.place:
                    continue
                if leap or _limit(piece).is_near(spot.thing, spot.member):
                    yield self.limits[limit], UNDER if moved > spot.place else OVER

    def _places(self, thing: Thing) -> dict[int, list[Spot]]:
        """Where the values lie among the limits, by the limit."""
        found: dict[int, list[Spot]] = {}
        for piece, on, member, is_open in looked_at(self.r, thing):
            if id(piece) in self.limits:
                found.setdefault(id(piece), []).append(
                    Spot(_limit(piece).place(on, member), is_open, on, member)
                )
        return found

    def _answers(self, thing: Thing) -> Iterator[str]:
        """The answer that the rule gives."""
        on, test = applies(self.r, thing), self.r.test
        lines = [test] if test is not None else [fill.expr for fill in self.r.fills]
        got = [] if on is False else [line.ev(thing, None) for line in lines]
        unsure = any(value is None or (test is None and isinstance(value, Range)) for value in got)
        if on is False or (test is not None and got[0] is NOTHING):
            yield OFF
        elif on is None or unsure:
            yield TELL
        else:
            yield APPLIES


def _side(piece: Any, spot: Spot) -> str | None:
    """The side of a limit that a value shows where it lies; None where it takes a step to see."""
    if not spot.is_open or spot.place is None:
        return None
    if spot.place % 2:
        return AT
    threshold = _limit(piece)
    if threshold.in_order and threshold.is_near(spot.thing, spot.member):
        return UNDER if spot.place == 0 else OVER
    return None


def _is_beside(piece: Any, spot: Spot) -> bool:
    """Whether a value lies beside a limit, perhaps a step from it."""
    is_between = spot.is_open and spot.place is not None and not spot.place % 2
    return is_between and not _limit(piece).in_order


def _limit(piece: ex.Expr | None) -> Threshold:
    """The threshold of a piece that has one."""
    threshold = threshold_of(piece) if piece is not None else None
    assert threshold is not None
    return threshold


def examples_of(knowledge: Knowledge, r: Rule) -> list[Any]:
    """The examples beside a rule, and those that edits give of it: of an exception, those too on
    which it lets another rule be.
    """
    own = as_list(r.d.get("examples", []))
    edited = [
        (str(d.get("rule", piece.target)), d)
        for edits in getattr(knowledge, "trail", {}).values()
        for piece in edits
        for d in as_list(piece.d.get("examples"))
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
        *(d for d in lets if run_example(knowledge, r, d, 0).ok),
    ]


def _as_exception(rule: str, example: Any) -> Mapping:
    """An example of a rule that an exception sets aside, as one of the exception."""
    out = Mapping({"given": example["given"], "holds": "yes", "sets aside": rule})
    out.at = place_of(example)
    return out


def watch(knowledge: Knowledge, rule: Rule) -> list[Piece]:
    """The pieces of a rule, with what its examples have shown of them; what is tried is seen in
    worked jobs instead.
    """
    if rule.verb == "tries":
        return []
    watched = Watch(knowledge, rule)
    for number, example in enumerate(examples_of(knowledge, rule), 1):
        try:
            for given in each(example.get("given", {})) if in_edition(knowledge, example) else ():
                for piece, side in watched.shown(given):
                    piece.seen.setdefault(side, number)
        except (Fault, AttributeError, TypeError):
            # told as a fault of the example itself
            continue
    return watched.pieces


# ---- a whole pack


def lacking(knowledge: Knowledge, rule: Rule) -> list[str]:
    """The examples that a rule lacks."""
    return [f"one {p.said(side)}" for p in watch(knowledge, rule) for side in p.lacks]


def cover(
    knowledge: Knowledge,
    only: set[str] | None = None,
    reasons: Sequence[Reason] = (),
    ready: Callable[[Knowledge, Rule, Piece, Any], str] | None = None,
) -> Coverage:
    """What the examples of every rule in force show, or of *only* some; *ready* makes the example
    that is lacking.
    """
    out = Coverage([0, 0], [0, 0], [], [], [])
    excuses = in_force(knowledge, "coverage", reasons)
    for rule in knowledge.rules.values():
        if only is not None and rule.id not in only:
            continue
        for piece in watch(knowledge, rule):
            make = partial(ready, knowledge, rule, piece) if ready else _none_made
            _count(out, piece, excuses, make)
    out.stale = [
        reason
        for reason in excuses.values()
        if reason not in out.excused
        and reason.of in knowledge.rules
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


def in_force(
    knowledge: Knowledge, check: str, reasons: Sequence[Reason]
) -> dict[tuple[str, str], Reason]:
    """(rule, what) -> the reason, of those for one check in this edition."""
    return {
        (q.of, q.what): q for q in reasons if q.check in (check, f"{check} {knowledge.edition}")
    }


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
        for number, cells in rows:
            if (
                not re.fullmatch(r"(coverage|mutate)( 20\d\d)?", cells[0])
                or len(cells) != 4
                or not all(cells)
            ):
                raise Fault(
                    "blank-cell",
                    Place(str(path), number),
                    "this line does not say what is untested and why",
                    "write: coverage or mutate (and an edition, if it is so in that one alone), the"
                    " rule, what, why",
                )
            check, of, what, why = cells
            out.append(Reason(check, of, what, why, Place(str(path), number)))
    return out
