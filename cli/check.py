"""`whywire check`: are the packs sound, and do the examples beside the rules come out as written?"""

from __future__ import annotations

from ..engine.examples import lacking, run_examples
from ..engine.knowledge import load


def check(packs: tuple[str, ...], edition: str, only: str | None = None) -> dict:
    """Load, run every example, list the examples that are missing. Raises Faults where the packs do not load."""
    k = load(packs, edition)
    outcomes, faults = run_examples(k, only)
    faults.stop()
    missing = {r.id: (r.at, need) for r in k.rules.values() if (not only or r.id == only) and (need := lacking(k, r))}
    return {"knowledge": k, "outcomes": outcomes, "wrong": [o for o in outcomes if not o.ok], "missing": missing}
