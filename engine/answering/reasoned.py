"""The reason of an answer, as a tree: what it rests on and nothing else."""

from __future__ import annotations

from ..reasons.minimal import Outcome, Reasons
from ..reasons.tree import Entry, tree_of
from ..running.rerun import Rerun
from .answers import Answer


def reason_of(rerun: Rerun, answer: Answer) -> Entry | None:
    """What an answer rests on; None where there is no more to say than the answer says."""
    outcome = Outcome.at(answer.root)
    if outcome is None:
        return None
    reason = Reasons(rerun).of(outcome)
    if reason is None:
        return None
    return tree_of(rerun.world, reason, f"{answer.word} {answer.sentence}".strip())


__all__ = ["reason_of"]
