"""What of the trade's list works, by id: coverage.tsv names a shipped job for each, and the rule
that says something there. A row that `works` is run: its rule fails in that job, advises, asks
somebody, sets another rule aside, or fills the fact that it is there to fill.
"""

import csv
from functools import cache
from pathlib import Path

import pytest

from whywire.engine import inspect

ROOT = Path(__file__).resolve().parents[2]
HEAD = ["id", "works|part|missing", "job file", "rule it turns"]
# what a rule that judges says where it matters; one that fills a fact or sets aside holds
TURNS = {"fails", "advice", "refers", "warns", "holds"}


@cache
def rows() -> tuple[list[str], ...]:
    """Every row, its head left out."""
    with open(Path(__file__).with_name("coverage.tsv"), encoding="utf-8", newline="") as file:
        head, *found = csv.reader(file, delimiter="\t")
    assert head == HEAD
    return tuple(found)


@cache
def inspected(path: str):
    return inspect(ROOT / path)


def turned(path: str, name: str) -> bool:
    """Whether the rule says what it is there for, of some thing of the job."""
    found = inspected(path)
    rule = found.k.rules[name]
    for thing in found.w.by_kind.get(rule.about, ()):
        answer = found.w.answer(rule, thing)
        if answer in TURNS:
            return True
    return False


def test_no_id_is_listed_twice():
    ids = [row[0] for row in rows()]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("row", rows(), ids=lambda row: row[0])
def test_what_works_is_turned_in_a_shipped_job(row):
    _, state, path, name = row
    assert state in ("works", "part", "missing")
    if state == "missing":
        assert (path, name) == ("-", "-")
    else:
        assert name in inspected(path).k.rules
    if state == "works":
        assert turned(path, name), f"{name} says nothing in {path}"
