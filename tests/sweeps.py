"""Sweeps, all by all: a seeded tenth of each by default, the whole where WHYWIRE_WHOLE=1, one in
three where WHYWIRE_SHARE=3.

WHYWIRE_SEED draws another share, and a run in which something fails
says with which it drew (tests/conftest.py).
"""

from __future__ import annotations

import os
import random
from collections.abc import Callable, Hashable, Iterable
from pathlib import Path
from typing import Any, TypeVar

import pytest

ROOT = Path(__file__).resolve().parents[1]
Case = TypeVar("Case")
WHOLE = os.environ.get("WHYWIRE_WHOLE") == "1"
SEED = int(os.environ.get("WHYWIRE_SEED") or 11)
SHARE = int(os.environ.get("WHYWIRE_SHARE") or 10)  # one in so many is drawn


def tenth(
    cases: Iterable[Case], of: Callable[[Case], Hashable] = lambda case: "", turn: str = ""
) -> list[Case]:
    """Every one of *cases* in a whole run, otherwise one in SHARE, drawn with the seed.

    *of* says of which kind a case is: of every kind there is at least one, and of a large kind its
    share, so that what is drawn is spread over all there is. Sweeps over the same cases that name
    a *turn* draw others each. The order is kept. Every process of a run draws the same, which what
    shares tests among processes relies on.
    """
    every = list(cases)
    if WHOLE:
        return every
    kinds: dict[Hashable, list[int]] = {}
    for at, case in enumerate(every):
        kind = of(case)
        if isinstance(kind, Path):  # the same is drawn wherever the project lies
            kind = kind.relative_to(ROOT)
        kinds.setdefault(kind, []).append(at)
    drawn: set[int] = set()
    for kind, places in kinds.items():
        rng = random.Random(f"{SEED} {turn} {kind} {len(places)}")
        drawn |= set(rng.sample(places, max(1, round(len(places) / SHARE))))
    return [case for at, case in enumerate(every) if at in drawn]


def sweep(
    names: str,
    cases: Iterable[Any],
    of: Callable[[Any], Hashable] = lambda case: "",
    turn: str = "",
    **more: Any,
):
    """As `pytest.mark.parametrize`, over a tenth of *cases* unless the run is whole; marks the test
    as a sweep.
    """
    drawn = pytest.mark.parametrize(names, tenth(cases, of, turn), **more)
    return lambda test: pytest.mark.sweep(drawn(test))


def examples(number: int) -> int:
    """How many examples or rounds a sweep of *number* runs: its share unless it is whole."""
    return number if WHOLE else max(1, number // SHARE)
