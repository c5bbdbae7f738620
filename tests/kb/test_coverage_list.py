"""What of the trade's list works, by id: coverage.tsv names for each rule of it a shipped job and
the rule that says something there, or `example` where the example beside that rule is all there is.
A row that `works` is run: its rule fails in that job, advises, asks somebody, sets another rule
aside, or fills the fact that it is there to fill. What does not work, or in part, says why. The
list leaves out what belongs to the rest of the job: prices, tasks, tools and the handover.
"""

import csv
from collections import defaultdict
from functools import cache
from pathlib import Path

import pytest
from known import known

from whywire.engine import inspect
from whywire.engine.checking.examples import run_example
from whywire.engine.running.chain import SET_ASIDE

ROOT = Path(__file__).resolve().parents[2]
HEAD = ["id", "weight", "works|part|missing", "job file", "rule it turns", "why not more"]
EXAMPLE = "example"
NO_JOB = "-"
AT_LEAST = 430  # of the rows that belong here
BELONGS = 460
OF_THE_REST = "QCIHK"  # letters of ids that belong to the rest of the job
# what a rule that judges says where it matters; one that fills a fact or sets aside holds
TURNS = {"fails", "advice", "refers", "warns", "holds", SET_ASIDE}
# what an example writes of a rule that says something
SAYS = {"fails", "advice", "applies"}


@cache
def rows() -> tuple[list[str], ...]:
    """Every row, its head left out."""
    with open(Path(__file__).with_name("coverage.tsv"), encoding="utf-8", newline="") as file:
        head, *found = csv.reader(file, delimiter="\t")
    assert head == HEAD
    return tuple(found)


@cache
def by_job() -> dict[str, list[tuple[str, str, str]]]:
    """Job file -> (id, state, rule) of each row that names it."""
    out: dict[str, list[tuple[str, str, str]]] = defaultdict(list)
    for name, _, state, job, rule, _ in rows():
        out[job].append((name, state, rule))
    return out


def jobs() -> list[str]:
    return sorted(set(by_job()) - {EXAMPLE, NO_JOB})


def turned(found, name: str) -> bool:
    """Whether the rule says what it is there for, of some thing of the job."""
    rule = found.k.rules[name]
    return any(found.w.answer(rule, x) in TURNS for x in found.w.targets(rule.about, ""))


def says(example) -> bool:
    """Whether this example is of a rule that says something."""
    return (
        example.get("answer") in SAYS
        or str(example.get("holds")) == "yes"
        or "gives" in example
        or "sets aside" in example
    )


def example_turns(name: str) -> bool:
    """Whether an example beside the rule shows it say something, and comes out as written."""
    for edition in ("2023", "2026", "2020", "2017"):
        k = known(edition)
        if name in k.rules:
            rule = k.rules[name]
            shown = [
                run_example(k, rule, example, number).ok
                for number, example in enumerate(rule.d.get("examples", []), 1)
                if says(example)
            ]
            return bool(shown) and all(shown)
    return False


def test_no_id_is_listed_twice():
    ids = [row[0] for row in rows()]
    assert len(ids) == len(set(ids))


def test_what_does_not_work_says_why():
    for name, weight, state, job, rule, why in rows():
        assert state in ("works", "part", "missing"), name
        assert weight in ("1", "2", "3"), name
        assert (job == NO_JOB) == (rule == NO_JOB), name
        assert state != "missing" or job == NO_JOB, name
        assert state == "works" or why, f"{name} does not say why it is not whole"


def test_nearly_all_of_the_trades_list_works():
    here = [row for row in rows() if row[0][0] not in OF_THE_REST]
    assert len(here) == BELONGS
    assert sum(row[2] == "works" for row in here) >= AT_LEAST


@pytest.mark.parametrize("job", jobs())
def test_what_works_is_turned_in_a_shipped_job(job):
    found = inspect(ROOT / job)  # once for all the rows that name it
    for name, state, rule in by_job()[job]:
        assert rule in found.k.rules, f"{name}: {rule} is no rule in {job}"
        assert state != "works" or turned(found, rule), f"{name}: {rule} says nothing in {job}"


def test_what_works_by_an_example_is_shown_by_it():
    lacking = [
        (name, rule)
        for name, state, rule in by_job()[EXAMPLE]
        if state == "works" and not example_turns(rule)
    ]
    assert not lacking


def test_what_is_met_weekly_works_in_a_job():
    """Few of the rules that are met weekly have no job of their own, and these have an example."""
    weekly = [row for row in rows() if row[1] == "3"]
    assert len(weekly) > 200
    assert sum(row[3] == EXAMPLE for row in weekly) <= 12
