"""Faults and the outcome of a check, a line or two each."""

from __future__ import annotations

from ..engine.front import Faults
from .layout import Line


def show_faults(faults: Faults) -> list[Line]:
    """Every fault: where, what is wrong, what to do."""
    out: list[Line] = []
    for f in faults.items:
        out.append([(f"{f.at}: ", "label"), (f.what, "fault")])
        if f.todo:
            out.append([(f"    {f.todo}", "")])
    return out


def faults_as_dict(faults: Faults) -> dict:
    """Faults as plain data."""
    return {
        "faults": [
            {
                "code": f.code,
                "file": f.at[0],
                "line": f.at[1],
                "column": f.at[2],
                "what": f.what,
                "todo": f.todo,
            }
            for f in faults.items
        ]
    }


def show_check(got: dict) -> list[Line]:
    """Examples that come out otherwise, rules that lack some, and the count."""
    out: list[Line] = []
    for o in got["wrong"]:
        out.append(
            [
                (f"{o.at}: ", "label"),
                (f"{o.rule}, example {o.number}: expected {o.wanted}, and it is {o.got}", "fault"),
            ]
        )
    for rule, lacks in got["missing"].items():
        out.append(
            [
                (f"{lacks[0].at}: ", "label"),
                (f"{rule} lacks " + "; ".join(f"one {x.what}" for x in lacks), "fault"),
            ]
        )
    k = got["knowledge"]
    out += [[("Note: ", "caution"), (note, "")] for note in got["notes"]]
    if got["missing"]:
        out.append([("whywire check --coverage makes the lines to paste", "")])
    out.append(
        [
            (
                (
                    f"{len(k.rules)} rules, {len(k.tables)} tables, {len(got['outcomes'])}"
                    f" examples: {len(got['wrong'])} come out otherwise, {len(got['missing'])}"
                    f" rules lack examples ({k.edition}, digest {k.digest})"
                ),
                "headline",
            )
        ]
    )
    return out


def check_as_dict(got: dict) -> dict:
    """The outcome of a check as plain data."""
    k = got["knowledge"]
    return {
        "edition": k.edition,
        "digest": k.digest,
        "rules": len(k.rules),
        "tables": len(k.tables),
        "examples": len(got["outcomes"]),
        "wrong": [
            {
                "rule": o.rule,
                "example": o.number,
                "at": str(o.at),
                "expected": o.wanted,
                "got": o.got,
            }
            for o in got["wrong"]
        ],
        "lacking": [
            {"rule": i, "at": str(lacks[0].at), "lacks": [f"one {x.what}" for x in lacks]}
            for i, lacks in got["missing"].items()
        ],
        "notes": got["notes"],
    }
