"""What each command does, as plain data: no printing, no colours."""

from __future__ import annotations

from ..engine import load
from ..engine.errors import Fault, Faults, suggest


class Unusable(Exception):
    """A question that cannot be answered as it was put; the message says what to do."""


def inspection(job: str, packs: tuple[str, ...], edition: str | None, chainer: str | None, whole: bool = True, date: str | None = None, place: str | None = None):
    """Inspect a job, with both chainers where both run (unless not *whole*: then each answer is confirmed by itself).

    Raises Faults, or Unusable where the chainers differ.
    """
    from ..engine import opened
    from ..engine.inspection import Disagreement, Inspection

    _, force, k = opened(job, packs, edition, date, place)
    try:
        return Inspection(job, k, (chainer or default_chainer()) if whole else "plain", force)
    except Disagreement as d:
        raise _differ(d) from None


def default_chainer() -> str:
    """Both chainers where durable-rules imports, the plain one elsewhere."""
    from ..engine import durable

    return "both" if durable.available() else "plain"


def _differ(d) -> Unusable:
    said = "\n".join(f"  {line}" for line in map(str, d.differences[:12]))
    return Unusable(f"The two chainers differ on {d.job}, so there is no answer. This is a defect of whywire.\n{said}\nPlease report it with the job's file and this text (DEVELOPERS.md, reporting).")


def answer(found, question: str, words: list[str], chainer: str | None = None):
    """The answer to a question about an inspected job, confirmed by the second chainer where it runs."""
    from ..engine.answers import Unclear
    from ..engine.inspection import Disagreement

    try:
        if question == "why" and not words:
            words = [_first_subject(found)]
        got = getattr(found, question)(*words)
        if (chainer or default_chainer()) == "both":
            found.confirm(got)
        return got
    except Unclear as e:
        raise Unusable(str(e)) from None
    except Disagreement as d:
        raise _differ(d) from None


def _first_subject(found) -> str:
    worst = next((f for f in found.findings if f.answer == "fails"), None) or next((f for f in found.findings if f.answer == "cannot tell"), None) or next(iter(found.findings), None)
    if worst is None:
        raise Unusable("this job has no findings to ask about")
    return worst.on


def find_rules(words: list[str], packs: tuple[str, ...], edition: str):
    """Rules, tables and values whose name or words match all of *words*; the exact name alone is one hit."""
    from ..engine.library import load as load_anew   # what is kept between starts has no examples

    k = load_anew(packs, edition)
    items = {**{i: ("rule", r.d) for i, r in {**k.rules, **k.absent}.items()}, **{i: ("table", t.d) for i, t in k.tables.items()}, **{i: ("value", d) for i, d in k.value_items.items()}}
    name = "-".join(words)
    for n in (name, " ".join(words)):
        if n in items:
            return k, [(n, *items[n])], True
    low = [w.lower() for w in words]

    def text(i: str, d) -> str:
        parts = [i, str(d.get("says", "")), str(d.get("because", "")), str(d.get("about", "")), str(d.get("limits", "")), *(str(v) for v in (d.get("code") or {}).values())]
        return " ".join(parts).lower()

    hits = [(i, *items[i]) for i in sorted(items) if all(w in text(i, items[i][1]) for w in low)]
    if not hits:
        raise Faults([Fault("no-such-rule", _place(), f'no rule, table or value answers to "{" ".join(words)}"', suggest(name, items))])
    return k, hits, False


def _place():
    from ..engine.errors import Place

    return Place("rules")


def check(packs: tuple[str, ...], edition: str, only: str | None = None) -> dict:
    """Load, run every example, list the examples that are missing. Raises Faults where the packs do not load."""
    from ..engine.examples import lacking, run_examples
    from ..engine.library import load as load_anew

    k = load_anew(packs, edition)
    outcomes, faults = run_examples(k, only)
    faults.stop()
    missing = {r.id: (r.at, need) for r in k.rules.values() if (not only or r.id == only) and (need := lacking(k, r))}
    return {"knowledge": k, "outcomes": outcomes, "wrong": [o for o in outcomes if not o.ok], "missing": missing}
