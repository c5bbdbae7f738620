"""Every example beside every rule is a test of its own, named by the rule
(tests/engine/test_coverage.py: does a rule lack any?).
"""

import pytest
from known import known

from whywire.engine.checking.examples import run_example

BY_EDITION = {e: known(e) for e in ("2017", "2020", "2023", "2026")}


def _cases():
    """Every example of every rule, run in the first of these editions that the rule is in force
    in.
    """
    seen = set()
    for edition in ("2023", "2020", "2017", "2026"):
        for r in BY_EDITION[edition].rules.values():
            if r.id not in seen:
                seen.add(r.id)
                for n, d in enumerate(r.d.get("examples", []), 1):
                    yield pytest.param(edition, r.id, n, d, id=f"{r.id}-{n}")


@pytest.mark.parametrize("edition, rule, number, example", list(_cases()))
def test_example(edition, rule, number, example):
    k = BY_EDITION[edition]
    o = run_example(k, k.rules[rule], example, number)
    assert o.ok, f"{o.at}: expected {o.wanted}, and it is {o.got}"
