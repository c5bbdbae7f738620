"""The list of what the trade asks for (coverage.tsv): a line that says `works` names a worked job
and the rule that it turns, and that rule speaks there - a requirement fails, anything else holds.
"""

from functools import cache
from pathlib import Path

import pytest

from whywire.engine import inspect
from whywire.engine.running.chain import ADVICE, FAILS, REFERS, SET_ASIDE, WARNS

HERE = Path(__file__).resolve()
LINES = HERE.with_name("coverage.tsv").read_text("utf-8").splitlines()
ROWS = [line.split("\t") for line in LINES[1:]]
TURNED = (FAILS, ADVICE, REFERS, WARNS, SET_ASIDE, "holds")


@cache
def inspected(job: str):
    return inspect(HERE.parents[2] / job)


def test_the_list_is_in_form():
    assert LINES[0].split("\t") == ["id", "works|part|missing", "job file", "rule it turns"]
    assert len({row[0] for row in ROWS}) == len(ROWS)
    for row in ROWS:
        assert len(row) == 4 and row[1] in ("works", "part", "missing"), row
        assert row[1] != "works" or (row[2] and row[3]), row


@pytest.mark.parametrize("row", [r for r in ROWS if r[2] and r[3]], ids=lambda row: row[0])
def test_its_rule_turns_there(row):
    found = inspected(row[2])
    rule = found.k.rules[row[3]]
    answers = {found.w.answer(rule, x) for x in found.w.targets(rule.about, "")}
    wanted = (FAILS, ADVICE) if rule.verb in ("must", "must not", "should") else TURNED
    assert answers & set(wanted), f"{row[3]} says {sorted(answers)} in {row[2]}"
