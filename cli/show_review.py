"""A pack of edits, said back to its writer: what each means, which way it goes, its last day, and
what it changes.
"""

from __future__ import annotations

from ..engine.front import Changes, Faults, Review
from .layout import Line, wrap
from .show_faults import faults_as_dict


def show_review(got: Review, width: int) -> list[Line]:
    """Each edit said back in one sentence, then what its writer should know, and the count."""
    out: list[Line] = []
    for e in got.edits:
        if (means := got.said.get(e.number)) is None:
            continue
        out.append(
            [
                (f"{e.at[0]}:{e.at[1]}  ", "label"),
                (f"{e.verb} {e.target}", "rule"),
                (f"  [{e.cite}]", "source"),
            ]
        )
        out += [[("    " + t, "")] for t in wrap(means, width - 4)]
        more = [got.found[e.number].seen] if e.number in got.found else []
        more += [got.beside[e.number]] if e.number in got.beside else []
        out += [[("    " + t, "source")] for t in wrap(" ".join(more), width - 4) if t]
        asked = [what for number, what in got.asked if number == e.number]
        asked += [
            f"{scene.says} Is that what was voted?" for scene in got.scenes if scene.edit is e
        ]
        for question in asked:
            out += [
                [(("    Asked: " if not i else "           ") + t, "caution")]
                for i, t in enumerate(wrap(question, width - 11))
            ]
    for n in got.notices:
        out += [
            [((" " * 6 if i else "Note: ") + t, "caution" if not i else "")]
            for i, t in enumerate(wrap(n, width - 6))
        ]
    days = ", ".join(got.days)
    out.append(
        [
            (
                (
                    f"{got.pack.title}: {_many(len(got.edits), 'edit')},"
                    f" {_many(len(got.faults.items), 'fault')}; editions {', '.join(got.editions)};"
                    f" looked at on {days}"
                ),
                "headline",
            )
        ]
    )
    return out


def show_changes(c: Changes, said: dict[int, str], width: int) -> list[Line]:
    """What the edits in force on one day do to the shipped jobs and the pack's own."""
    out: list[Line] = [
        [
            (
                (
                    f"For a permit of {c.day}, edition {c.edition}: {_many(len(c.edits), 'edit')}"
                    " in force"
                ),
                "head",
            )
        ]
    ]
    for e in c.edits:
        out += [
            [(("  " if not i else "    ") + t, "")]
            for i, t in enumerate(wrap(said.get(e.number, f"{e.verb} {e.target}"), width - 4))
        ]
    out.append([(f"Jobs run with and without: {c.jobs}; findings move in {len(c.moves)}", "head")])
    for name, moves in c.moves.items():
        told = [m for m in moves if not m.in_silence]
        out.append(
            [
                (f"  {name}", "label"),
                (
                    (
                        f"  ({_many(len(moves) - len(told), 'finding')} more that passed or asked"
                        " nothing, and still do)"
                        if len(told) < len(moves)
                        else ""
                    ),
                    "source",
                ),
            ]
        )
        out += [
            [(f"    {m.on}  ", ""), (m.what, "rule"), (f"  {m.before} -> {m.after}", "")]
            for m in told
        ]
    for name, why in c.unread.items():
        out.append([(f"  {name} could not be read with the pack: {why}", "fault")])
    return out


def _many(n: int, what: str) -> str:
    return f"{n} {what}{'' if n == 1 else 's'}"


def review_as_dict(got: Review, c: Changes | None) -> dict:
    """The same as plain data."""
    out = {
        "pack": got.pack.name,
        "editions": got.editions,
        "days": got.days,
        "edits": [
            {
                "verb": e.verb,
                "target": e.target,
                "cite": e.cite,
                "at": str(e.at),
                "first day": e.first_day,
                "last day": e.last_day,
                "means": got.said.get(e.number),
                "direction": (got.said.get(e.number) or "").partition(":")[0] or None,
                "of": got.prints.get(e.number),
                "looked at": got.found[e.number].seen if e.number in got.found else None,
            }
            for e in got.edits
        ],
        "examples": [
            {
                "edit": m.edit.target,
                "number": m.number,
                "rule": m.rule,
                "without": m.without,
                "with": m.within,
            }
            for m in got.moves
        ],
        "asked": [
            {"edit": e.target, "asked": what}
            for e in got.edits
            for what in (
                *(text for number, text in got.asked if number == e.number),
                *(scene.says for scene in got.scenes if scene.edit is e),
            )
        ],
        "notices": got.notices,
        **faults_as_dict(Faults(got.faults.items)),
    }
    if c is not None:
        out["changes"] = {
            "edition": c.edition,
            "day": c.day,
            "edits": [e.name for e in c.edits],
            "jobs": c.jobs,
            "unread": c.unread,
            "moves": {
                n: [{"on": m.on, "what": m.what, "before": m.before, "after": m.after} for m in ms]
                for n, ms in c.moves.items()
            },
        }
    return out
