"""Totals, counts, smallest and largest of a list against every way its members may turn out to be:
what may count or not, what is known in part, and what nobody listed. And the proof's own fold,
which shares no code, says the same."""

import random
from decimal import Decimal as D
from fractions import Fraction as F
from itertools import product
from math import inf

import pytest

from whywire.engine.basics.sentinels import NOTHING
from whywire.engine.basics.units import Range, between, ends
from whywire.engine.language.expressions import fold
from whywire.engine.proving import proof_values

KINDS = ("total", "count", "smallest", "largest")


def drawn(rng: random.Random):
    """A number, a range open or closed, or nothing known."""
    a, b = sorted(rng.choices(range(-4, 6), k=2))
    return {
        "number": D(a),
        "closed": between(D(a), D(b)),
        "from": Range(D(a), None),
        "to": Range(None, D(b)),
        "unknown": None,
    }[rng.choice(["number", "number", "number", "closed", "from", "to", "unknown"])]


def case(seed: int, fn: str):
    """What may be taken, is the list open, and the default; drawn by *seed*."""
    rng = random.Random(f"{fn} {seed}")
    taken = [
        (rng.choice([True, True, None]), D(1) if fn == "count" else drawn(rng))
        for _ in range(rng.randint(0, 3))
    ]
    default = (
        rng.choice([None, None, D(0), D(-3), D(4), Range(D(1), None)])
        if fn in ("smallest", "largest")
        else None
    )
    return taken, rng.random() < 0.3, default


def some_of(v):
    """A few numbers that a value may be."""
    lo, hi = ends(v)
    lo, hi = (
        (lo if lo is not None else (hi - 7 if hi is not None else D(-20))),
        (hi if hi is not None else (lo + 7 if lo is not None else D(20))),
    )
    return {lo, hi, (lo + hi) / 2}


def worth(fn: str, amounts: list, default):
    if fn in ("total", "count"):
        return sum(amounts, D(0))
    return (min if fn == "smallest" else max)(amounts) if amounts else default


@pytest.mark.parametrize("fn", KINDS)
def test_nothing_that_a_list_may_be_worth_is_left_out(fn):
    decided = 0
    for seed in range(3000):
        taken, open_, default = case(seed, fn)
        got = fold(fn, taken, open_, default)
        decided += isinstance(got, D)
        # what is not known is not below nothing
        unlisted = [[], [D(1)], *([[D(30)]] if fn != "count" else [])] if open_ else [[]]
        for members in product(
            *([*([None] if ok is None else []), *some_of(v)] for ok, v in taken)
        ):
            for more in unlisted:
                amounts = [m for m in members if m is not None] + more
                for v in some_of(default) if not amounts and default is not None else (None,):
                    exact = worth(fn, amounts, v)
                    # none counts, and there is no default: nothing may have been concluded
                    if exact is None:
                        assert got is NOTHING or ends(got) == (None, None), (taken, open_)
                    else:
                        lo, hi = ends(got)
                        assert (
                            got is not NOTHING
                            and (lo is None or lo <= exact)
                            and (hi is None or exact <= hi)
                        ), (taken, open_, default, exact)
    assert decided > 300


def as_proof(v):
    lo, hi = ends(v)
    return (
        proof_values.NOTHING
        if v is NOTHING
        else (-inf if lo is None else F(lo), inf if hi is None else F(hi))
    )


@pytest.mark.parametrize("least", [D(0), None], ids=["never below nothing", "degrees"])
@pytest.mark.parametrize("fn", KINDS)
def test_the_proof_says_the_same(fn, least):
    for seed in range(3000):
        taken, open_, default = case(seed, fn)
        ours = fold(fn, taken, open_, default, least)
        theirs = proof_values.fold(
            fn,
            [(ok, as_proof(v)) for ok, v in taken],
            open_,
            None if default is None else as_proof(default),
            -inf if least is None else F(least),
        )
        assert as_proof(ours) == theirs, (taken, open_, default)
