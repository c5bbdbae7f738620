"""Two laws compared, for a person: each change, and under it every outcome that it moves, with both
numbers.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, NamedTuple

from .layout import Line

if TYPE_CHECKING:  # a screen of another command need not wait for what compares
    from ..engine.front import (
        Change,
        Cited,
        Comparison,
        Difference,
        Faults,
        Group,
        InForce,
        Pair,
        Said,
    )

PLACES = 3  # jobs that are named where an outcome is the same in many
MOST = 8  # outcomes of one change that are listed of many jobs, unless all are asked for
ORDER = {"finding": 0, "caution": 2, "not checked": 3, "fact": 4}


class Screen(NamedTuple):
    """What the rows are made for: how wide they may be, of many jobs or one, and whether all are
    asked for.
    """

    width: int
    many: bool
    everything: bool

    @property
    def whole(self) -> bool:
        """Whether nothing is only counted: of one job everything has room."""
        return self.everything or not self.many


def show_compare(
    got: Comparison, title: str, width: int = 80, everything: bool = False
) -> list[Line]:
    """The laws, the count, and each change with what it moves."""
    screen = Screen(width, got.jobs > 1, everything)
    out: list[Line] = [[(title, "headline")]]
    out += _laws(got, width)
    out += _not_compared(got, width)
    if got.jobs:
        out += [[], [(_how_many(got), "check")]]
    else:
        out += [[], [("No job could be compared.", "fault")]]
    for group in got.groups:
        out += _group(group, screen)
    if got.cited:
        out += _cited_otherwise(got.cited, screen)
    return out


# ---- above the changes ---------------------------------------------------------------------------


def _laws(got: Comparison, width: int) -> list[Line]:
    """The two laws of each pair, and what is to be said of how they were found."""
    out: list[Line] = []
    for pair in got.pairs:
        if len(got.pairs) > 1:
            out.append([(_jobs_of(pair), "label")])
        for letter, said, force in zip("AB", pair.said, pair.force):
            line = f"{letter}: {said}: {law(force, got.jobs == 1)}"
            out += _wrapped(line, width, "source", "   ")
    forces = [force for pair in got.pairs for force in pair.force]
    for note in dict.fromkeys(note for force in forces for note in force.notes):
        out += _wrapped(note, width, "source")
    return out


def _jobs_of(pair: Pair) -> str:
    """The jobs that one pair of laws is about, the first of them by name."""
    first = ", ".join(pair.jobs[:3])
    more = " ..." if len(pair.jobs) > 3 else ""
    return f"{_count(len(pair.jobs), 'job', 'jobs')}: {first}{more}"


def law(force: InForce, dated: bool = True) -> str:
    """What a law comes to for a job, in a line."""
    said = [f"NEC {force.edition}", *(p.title for p in force.packs)]
    return ", then ".join(said) + (f"; permit of {force.date}" if force.date and dated else "")


def _not_compared(got: Comparison, width: int) -> list[Line]:
    """The jobs that could not be read under both laws, with their faults; those that have the same
    ones together.
    """
    out: list[Line] = []
    alike: dict[tuple[str, ...], tuple[list[str], Faults]] = {}
    for job, faults in got.faults:
        alike.setdefault(tuple(map(str, faults.items)), ([], faults))[0].append(job)
    for jobs, faults in alike.values():
        out += [[], *_wrapped(f"{', '.join(jobs)} could not be compared", width, "fault")]
        for fault in faults.items:
            said = f"{fault.what}; {fault.todo}" if fault.todo else fault.what
            out += _wrapped(said, width, "", "  ")
    return out


def _how_many(got: Comparison) -> str:
    """How many outcomes differ, and in how many jobs where there are several."""
    differ = _count(len(got.differences), "outcome differs", "outcomes differ")
    return (
        f"{differ}, in {got.jobs - got.same} of {got.jobs} jobs." if got.jobs > 1 else differ + "."
    )


# ---- one change and what it moves ----------------------------------------------------------------


def _group(group: Group, screen: Screen) -> list[Line]:
    """One change, or several that only together move something, over the outcomes they move."""
    outcomes = [d for d in group.differences if d.kind != "fact" or d.design]
    on_the_way = [d for d in group.differences if d.kind == "fact" and not d.design]
    rows: dict[str, list[Difference]] = {}
    for difference in sorted(outcomes, key=_weight):
        rows.setdefault(outcome(difference), []).append(difference)
    shown = list(rows.items())[: None if screen.whole else MOST]

    out: list[Line] = [[], *_wrapped(_because_of(group), screen.width, "head")]
    for said, differences in shown:
        out += _rows(said, differences, screen)
    if len(rows) > len(shown):
        out.append([(f"  and {len(rows) - len(shown)} more: --all lists them", "label")])
    return out + (_on_the_way(on_the_way, screen) if on_the_way else [])


def _because_of(group: Group) -> str:
    """The changes that a group of outcomes comes of."""
    said = "; and ".join(change.says + _in(change) for change in group.causes)
    return ("Together: " if len(group.causes) > 1 else "") + said + ":"


def _in(change: Change) -> str:
    return "" if change.side is None else f", only under {'AB'[change.side]}"


def _weight(difference: Difference) -> tuple[bool, int]:
    """What is read first: whatever fails on a side, then what is designed, then the rest."""
    fails = "fails" in (difference.a.answer, difference.b.answer)
    return not fails, 1 if difference.design else ORDER[difference.kind]


def _rows(said: str, differences: list[Difference], screen: Screen) -> list[Line]:
    """One outcome, and what it is the outcome of: a thing, or things of many jobs."""
    if not screen.many:
        return [
            line
            for difference in differences
            for line in _item(f"{difference.of}: {said}", screen.width)
        ]
    if len(differences) == 1:
        only = differences[0]
        return _item(f"{only.job}: {only.of}: {said}", screen.width)
    text = f"{said}: {len(differences)} times, in {_places(differences, screen.everything)}"
    return _item(text, screen.width)


def _places(differences: list[Difference], everything: bool) -> str:
    """The jobs in which one outcome is the same: a few by name, or all with their things."""
    jobs: dict[str, list[str]] = {}
    for difference in differences:
        jobs.setdefault(difference.job, []).append(difference.of)
    if everything:
        return "; ".join(f"{job} ({', '.join(of)})" for job, of in jobs.items())
    # one job more than may be named is named: to count it would take as much room
    named = list(jobs)[: PLACES if len(jobs) > PLACES + 1 else None]
    more = len(jobs) - len(named)
    return "; ".join(named) + (f" and {more} jobs more" if more else "")


def _on_the_way(facts: list[Difference], screen: Screen) -> list[Line]:
    """The facts that differ between a change and the outcomes it moves."""
    if not screen.whole:
        return [[(f"  on the way: {_count(len(facts), 'fact', 'facts')}", "source")]]
    said = [
        (f"{d.job}: " if screen.many else "") + f"{d.name} of {d.of} {d.a.answer} -> {d.b.answer}"
        for d in facts
    ]
    return _wrapped("on the way: " + "; ".join(said), screen.width, "source", "  ", "  ")


def outcome(difference: Difference) -> str:
    """One outcome that differs, with both answers and both numbers."""
    a, b = difference.a, difference.b
    numbers = _numbers(a, b)
    others = ", ".join(change.item for change in difference.also)
    return (
        f"{difference.design or difference.name} {_answer(a)} -> {_answer(b)}"
        + (f", {numbers}" if numbers else "")
        + (f" (or by {others}: either alone)" if others else "")
    )


def _answer(side: Said) -> str:
    return side.answer + (f" by {side.exception}" if side.exception else "")


def _numbers(a: Said, b: Said) -> str:
    """What there is against what is needed, under both laws; once where they agree or only one has
    numbers.
    """
    first, second = (f"{side.have} against {side.needed}" if side.have else "" for side in (a, b))
    if first == second or not second:
        return first
    return f"{first} -> {second}" if first else second


# ---- what is only cited otherwise ----------------------------------------------------------------


def _cited_otherwise(cited: list[Cited], screen: Screen) -> list[Line]:
    """The rules that conclude the same under another section; too many are only counted."""
    listed = screen.everything or len(cited) <= MOST
    is_cited = f"{'is' if len(cited) == 1 else 'are'} cited otherwise"
    end = "" if screen.everything else ":" if listed else ": --all lists them"
    says = _count(len(cited), "rule says", "rules say")
    out: list[Line] = [[], [(f"{says} the same and {is_cited}{end}", "head")]]
    for one in cited if listed else ():
        by = "; ".join(change.says for change in one.causes if change.edit)
        out += _item(f"{one.rule}: {one.a} -> {one.b}" + (f" ({by})" if by else ""), screen.width)
    return out


# ---- lines ---------------------------------------------------------------------------------------


def _count(n: int, one: str, many: str) -> str:
    return f"{n or 'No'} {one if n == 1 else many}"


def _item(text: str, width: int) -> list[Line]:
    """One item of a list, its further lines under its first."""
    return _wrapped(text, width, "", "  ", "- ")


def _wrapped(
    text: str, width: int, style: str = "", indent: str = "", first: str = ""
) -> list[Line]:
    return [
        [(line, style)]
        for line in textwrap.wrap(
            text, width, initial_indent=first, subsequent_indent=indent, break_on_hyphens=False
        )
    ]
