"""The usual mistakes of each group of the trade, by usual_mistakes.tsv: each fails in a shipped job
of its own, and the same work put right is RIGHT there, with nothing that decides left to be asked.
"""

import csv
from collections import Counter
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

from whywire.engine import inspect

ROOT = Path(__file__).resolve().parents[2]
GROUPS = {
    "vehicle charging",
    "Article 220",
    "the service",
    "electrodes and bonds",
    "neutral, cable, breaker, terminal",
    "old work",
    "water",
    "second sources",
    "outdoor units and heaters",
    "routes",
    "permit and people",
    "readings",
}
AT_LEAST = 2  # mistakes a group
SPEAKS = {"passes", "exception applies"}  # the rule looked at the twin, and is content


class Mistake(NamedTuple):
    group: str
    says: str
    rule: str
    wrong: str
    right: str


@cache
def mistakes() -> tuple[Mistake, ...]:
    """The rows of the list."""
    with open(Path(__file__).with_name("usual_mistakes.tsv"), encoding="utf-8", newline="") as file:
        _, *rows = csv.reader(file, delimiter="\t")
    return tuple(Mistake(*row) for row in rows)


@cache
def answers(job: str) -> tuple[str, int, dict[str, set[str]]]:
    """The headline and exit code of a shipped job, and what each listed rule says of its things."""
    found = inspect(ROOT / "kb" / "jobs" / f"{job}.yaml")
    listed = {m.rule for m in mistakes() if job in (m.wrong, m.right)}
    rules = [found.k.rules[name] for name in sorted(listed)]
    said = {
        rule.id: {found.w.answer(rule, x) for x in found.w.targets(rule.about, "")}
        for rule in rules
    }
    return found.standing.headline, found.exit_code, said


def test_each_group_has_its_mistakes():
    count = Counter(m.group for m in mistakes())
    assert count.keys() == GROUPS
    assert min(count.values()) >= AT_LEAST
    assert len({(m.rule, m.wrong) for m in mistakes()}) == len(mistakes())


@pytest.mark.parametrize("mistake", mistakes(), ids=lambda m: m.says.replace(" ", "-"))
def test_a_mistake_fails_and_its_twin_is_right(mistake):
    headline, _, said = answers(mistake.wrong)
    assert headline == "NOT RIGHT"
    assert "fails" in said[mistake.rule]
    headline, exit_code, said = answers(mistake.right)
    assert (headline, exit_code) == ("RIGHT", 0)
    assert said[mistake.rule] & SPEAKS
    assert "fails" not in said[mistake.rule]
