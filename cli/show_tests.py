"""How well the rules are tested, in lines and as plain data: what no example shows, which changes
no example notices.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from .layout import Line

if TYPE_CHECKING:  # one of the two is asked for, and only that is loaded
    from ..engine.front import Coverage, MutantVerdict, Reason

SEEN = {
    "conditions": ": seen true and seen false",
    "thresholds": ": seen just under, at and just over",
}


def show_coverage(got: Coverage) -> list[Line]:
    """Every example that is lacking, with one to paste, and the totals."""
    out: list[Line] = []
    for lack in got.lacks:
        out.append([(f"{lack.at}: ", "label"), (f"{lack.rule}: no example {lack.what}", "fault")])
        if lack.example:
            out.append([(f"    {lack.example}", "")])
    out += _stale(got.stale, "an example shows this now")
    for name, (shown, there) in (("conditions", got.conditions), ("thresholds", got.thresholds)):
        out.append([(f"{name} {shown} of {there}", "headline"), (SEEN[name], "")])
    if got.excused:
        sides = f"{len(got.excused)} sides that no example can show"
        out.append([(f"{sides}, each with its reason in untested.csv", "")])
    return out


def coverage_as_dict(got: Coverage) -> dict[str, Any]:
    """The same as plain data."""
    return {
        "conditions": _of(got.conditions),
        "thresholds": _of(got.thresholds),
        "lacking": [
            {"rule": x.rule, "at": str(x.at), "no example": x.what, "paste": x.example or None}
            for x in got.lacks
        ],
        "excused": [_reason(q) for q in got.excused],
        "stale": [_reason(q) for q in got.stale],
    }


def show_mutation(got: MutantVerdict) -> list[Line]:
    """Every change that no example notices, with one that would, and the counts by the sort of
    change.
    """
    out: list[Line] = []
    for i, mutant in enumerate(got.survivors):
        said = f"{mutant.of}: no example notices: {mutant.change}"
        out.append([(f"{mutant.at}: ", "label"), (said, "fault")])
        if i in got.examples:
            out.append([(f"    {got.examples[i]}", "")])
    out += _stale(got.stale, "an example notices this now, or nothing is changed so")
    for table in got.tables:
        if table["unread"]:
            said = f"table {table['table']}: no example reads " + ", ".join(table["unread"])
            out.append([(f"{table['at']}: ", "label"), (said, "fault")])
    for sort, (caught, there) in got.by_sort().items():
        out.append([(f"  {sort:<20}", "label"), (f"{caught} of {there} caught", "")])
    rows, read = (sum(table[key] for table in got.tables) for key in ("rows", "read"))
    alone = f"tables: {read} of {rows} rows stand alone behind an example"
    out.append([(f"{alone}; their cells were changed", "")])
    caught_of_all = f"{got.caught} of {len(got.mutants)} changes caught ({got.share})"
    rest = (
        f", {got.refused} of them when the rule is read; {len(got.excused)} survive"
        f" with a reason in untested.csv, {len(got.survivors)} without"
    )
    out.append([(caught_of_all, "headline"), (rest, "")])
    return out


def mutation_as_dict(got: MutantVerdict) -> dict[str, Any]:
    """The same as plain data."""
    return {
        "changes": len(got.mutants),
        "caught": got.caught,
        "refused when read": got.refused,
        "by sort": {
            sort: {"caught": caught, "of": there} for sort, (caught, there) in got.by_sort().items()
        },
        "survivors": [
            {
                "of": m.of,
                "at": str(m.at),
                "sort": m.sort,
                "change": m.change,
                "paste": got.examples.get(i),
            }
            for i, m in enumerate(got.survivors)
        ],
        "excused": [_reason(q) for _, q in got.excused],
        "stale": [_reason(q) for q in got.stale],
        "tables": [{**t, "at": str(t["at"])} for t in got.tables],
    }


def _stale(reasons: list[Reason], why: str) -> list[Line]:
    return [[(f"{q.at}: ", "label"), (f"{q.of}: {q.what}: {why}", "fault")] for q in reasons] + (
        [[("    take the line out of untested.csv", "")]] if reasons else []
    )


def _of(pair: list[int]) -> dict[str, int]:
    return {"seen": pair[0], "of": pair[1]}


def _reason(reason: Reason) -> dict[str, str]:
    return {"of": reason.of, "what": reason.what, "why": reason.why, "at": str(reason.at)}
