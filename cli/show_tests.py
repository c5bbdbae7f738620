"""How well the rules are tested, in lines and as plain data: what no example shows, which changes
no example notices.
"""

from __future__ import annotations

from .layout import Line


def show_coverage(got) -> list[Line]:
    """Every example that is lacking, with one to paste, and the totals."""
    out: list[Line] = []
    for lack in got.lacks:
        out.append([(f"{lack.at}: ", "label"), (f"{lack.rule}: no example {lack.what}", "fault")])
        if lack.example:
            out.append([(f"    {lack.example}", "")])
    out += _stale(got.stale, "an example shows this now")
    for name, (shown, there) in (("conditions", got.conditions), ("thresholds", got.thresholds)):
        out.append(
            [
                (f"{name} {shown} of {there}", "headline"),
                (
                    {
                        "conditions": ": seen true and seen false",
                        "thresholds": ": seen just under, at and just over",
                    }[name],
                    "",
                ),
            ]
        )
    if got.excused:
        out.append(
            [
                (
                    (
                        f"{len(got.excused)} sides that no example can show, each with its reason"
                        " in untested.csv"
                    ),
                    "",
                )
            ]
        )
    return out


def coverage_as_dict(got) -> dict:
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


def show_mutation(got) -> list[Line]:
    """Every change that no example notices, with one that would, and the counts by the sort of
    change.
    """
    out: list[Line] = []
    for i, m in enumerate(got.survivors):
        out.append([(f"{m.at}: ", "label"), (f"{m.of}: no example notices: {m.change}", "fault")])
        if i in got.examples:
            out.append([(f"    {got.examples[i]}", "")])
    out += _stale(got.stale, "an example notices this now, or nothing is changed so")
    for t in got.tables:
        if t["unread"]:
            out.append(
                [
                    (f"{t['at']}: ", "label"),
                    (f"table {t['table']}: no example reads " + ", ".join(t["unread"]), "fault"),
                ]
            )
    for sort, (caught, there) in got.by_sort().items():
        out.append([(f"  {sort:<20}", "label"), (f"{caught} of {there} caught", "")])
    rows, read = (sum(t[key] for t in got.tables) for key in ("rows", "read"))
    out.append(
        [
            (
                (
                    f"tables: {read} of {rows} rows stand alone behind an example; their cells were"
                    " changed"
                ),
                "",
            )
        ]
    )
    out.append(
        [
            (f"{got.caught} of {len(got.mutants)} changes caught ({got.share})", "headline"),
            (
                (
                    f", {got.refused} of them when the rule is read; {len(got.excused)} survive"
                    f" with a reason in untested.csv, {len(got.survivors)} without"
                ),
                "",
            ),
        ]
    )
    return out


def mutation_as_dict(got) -> dict:
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


def _stale(reasons, why: str) -> list[Line]:
    return [[(f"{q.at}: ", "label"), (f"{q.of}: {q.what}: {why}", "fault")] for q in reasons] + (
        [[("    take the line out of untested.csv", "")]] if reasons else []
    )


def _of(pair) -> dict:
    return {"seen": pair[0], "of": pair[1]}


def _reason(q) -> dict:
    return {"of": q.of, "what": q.what, "why": q.why, "at": str(q.at)}
