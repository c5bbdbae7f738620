"""Two laws compared, for a person: each change, and under it every outcome that it moves, with both numbers."""

from __future__ import annotations

import textwrap

from .layout import Line

PLACES = 3  # jobs that are named where an outcome is the same in many
MOST = 8  # outcomes of one change that are listed of many jobs, unless all are asked for
ORDER = {"finding": 0, "caution": 2, "not checked": 3, "fact": 4}


def show_compare(got, title: str, width: int = 80, everything: bool = False) -> list[Line]:
    """The laws, the count, and each change with what it moves."""
    out: list[Line] = [[(title, "headline")]]
    for pair in got.pairs:
        if len(got.pairs) > 1:
            out.append(
                [
                    (
                        f"{_count(len(pair.jobs), 'job', 'jobs')}: {', '.join(pair.jobs[:3])}{' ...' if len(pair.jobs) > 3 else ''}",
                        "label",
                    )
                ]
            )
        for letter, said, force in zip("AB", pair.said, pair.force):
            out += _wrapped(
                f"{letter}: {said}: {law(force, got.jobs == 1)}", width, "source", "   "
            )
    for note in dict.fromkeys(n for p in got.pairs for f in p.force for n in f.notes):
        out += _wrapped(note, width, "source")
    for job, faults in got.faults:
        out += [[], [(f"{job} could not be compared", "fault")]]
        for f in faults.items:
            out += _wrapped(f"{f.what}; {f.todo}" if f.todo else f.what, width, "", "  ")
    many = got.jobs > 1
    n = len(got.differences)
    out += [
        [],
        [
            (
                f"{_count(n, 'outcome differs', 'outcomes differ')}{f', in {got.jobs - got.same} of {got.jobs} jobs' if many else ''}.",
                "check",
            )
        ],
    ]
    for g in got.groups:
        out += [
            [],
            *_wrapped(
                ("Together: " if len(g.causes) > 1 else "")
                + "; and ".join(c.says + _in(c) for c in g.causes)
                + ":",
                width,
                "head",
            ),
        ]
        rows: dict[str, list] = {}
        for d in sorted(
            (d for d in g.differences if d.kind != "fact" or d.design),
            key=lambda d: (
                "fails" not in (d.a.answer, d.b.answer),
                1 if d.design else ORDER[d.kind],
            ),
        ):
            rows.setdefault(outcome(d), []).append(d)
        shown = [*rows.items()][: None if everything or not many else MOST]
        for said, ds in shown:
            out += _rows(said, ds, width, many, everything)
        if len(rows) > len(shown):
            out.append([(f"  and {len(rows) - len(shown)} more: --all lists them", "label")])
        on_the_way = [d for d in g.differences if d.kind == "fact" and not d.design]
        if on_the_way and (everything or not many):
            out += _wrapped(
                "on the way: "
                + "; ".join(
                    f"{(d.job + ': ') if many else ''}{d.name} of {d.of} {d.a.answer} -> {d.b.answer}"
                    for d in on_the_way
                ),
                width,
                "source",
                "  ",
                "  ",
            )
        elif on_the_way:
            out.append([(f"  on the way: {_count(len(on_the_way), 'fact', 'facts')}", "source")])
    if got.cited:
        more = ": --all lists them" if len(got.cited) > MOST else ":"
        rest = "" if everything else more
        out += [
            [],
            [
                (
                    f"{_count(len(got.cited), 'rule says', 'rules say')} the same and {'is' if len(got.cited) == 1 else 'are'} cited otherwise{'' if everything else ': --all lists them' if len(got.cited) > MOST else ':'}",
                    "head",
                )
            ],
        ]
        for c in got.cited if everything or len(got.cited) <= MOST else ():
            by = [x.says for x in c.causes if x.edit]
            out += _wrapped(
                f"{c.rule}: {c.a} -> {c.b}" + (f" ({'; '.join(by)})" if by else ""),
                width,
                "",
                "  ",
                "- ",
            )
    return out


def _rows(said: str, ds: list, width: int, many: bool, everything: bool) -> list[Line]:
    """One outcome, and what it is the outcome of: a thing, or things of many jobs."""
    if not many:
        return [line for d in ds for line in _wrapped(f"{d.of}: {said}", width, "", "  ", "- ")]
    if len(ds) == 1:
        return _wrapped(f"{ds[0].job}: {ds[0].of}: {said}", width, "", "  ", "- ")
    jobs: dict[str, list[str]] = {}
    for d in ds:
        jobs.setdefault(d.job, []).append(d.of)
    places = [f"{job} ({', '.join(of)})" if everything else job for job, of in jobs.items()]
    more = len(places) - PLACES if not everything and len(places) > PLACES + 1 else 0
    return _wrapped(
        f"{said}: {len(ds)} times, in {'; '.join(places[: len(places) - more])}"
        + (f" and {more} jobs more" if more else ""),
        width,
        "",
        "  ",
        "- ",
    )


def law(force, dated: bool = True) -> str:
    """What a law comes to for a job, in a line."""
    said = [f"NEC {force.edition}", *(p.title for p in force.packs)]
    return ", then ".join(said) + (f"; permit of {force.date}" if force.date and dated else "")


def _in(c) -> str:
    return "" if c.side is None else f", only under {'AB'[c.side]}"


def outcome(d) -> str:
    """One outcome that differs, with both answers and both numbers."""
    a, b = d.a, d.b
    sides = [f"{s.have} against {s.needed}" if s.have else "" for s in (a, b)]
    numbers = (
        sides[0]
        if sides[0] == sides[1] or not sides[1]
        else sides[1]
        if not sides[0]
        else " -> ".join(sides)
    )
    also = f" (or by {', '.join(c.item for c in d.also)}: either alone)" if d.also else ""
    return (
        f"{d.design or d.name} {_answer(a)} -> {_answer(b)}"
        + (f", {numbers}" if numbers else "")
        + also
    )


def _answer(s) -> str:
    return s.answer + (f" by {s.exception}" if s.exception else "")


def _count(n: int, one: str, many: str) -> str:
    return f"{n or 'No'} {one if n == 1 else many}"


def _wrapped(
    text: str, width: int, style: str = "", indent: str = "", first: str = ""
) -> list[Line]:
    return [
        [(line, style)]
        for line in textwrap.wrap(
            text, width, initial_indent=first, subsequent_indent=indent, break_on_hyphens=False
        )
    ]
