"""Every example beside every rule comes out as it is written: a test for each file of rules, which
names every one that does not (tests/engine/test_coverage.py: does a rule lack any?).
"""

from functools import cache

import pytest
from known import known

from whywire.engine.basics.errors import Fault
from whywire.engine.checking.examples import run_example
from whywire.engine.language.knowledge import KB

FILES = sorted(
    path.relative_to(KB).as_posix()
    for path in (KB / "base").rglob("*.yaml")
    if any(line.startswith("- rule: ") for line in path.read_text("utf-8").splitlines())
)


@cache
def rules_by_file() -> dict:
    """File -> its rules, each in the first of these editions that it is in force in."""
    seen: set[str] = set()
    out: dict[str, list] = {}
    for edition in ("2023", "2020", "2017", "2026"):
        k = known(edition)
        for rule in k.rules.values():
            if rule.id not in seen:
                seen.add(rule.id)
                out.setdefault(str(rule.at[0]).removeprefix("kb/"), []).append((k, rule))
    return out


def wrong(k, rule, number: int, example) -> str:
    """What is not as it is written of one example; nothing where all is."""
    try:
        outcome = run_example(k, rule, example, number)
    except Fault as fault:
        return f"{rule.id}: {fault}"
    if outcome.ok:
        return ""
    return f"{outcome.at}: {rule.id}: expected {outcome.wanted}, and it is {outcome.got}"


@pytest.mark.parametrize("file", FILES)
def test_examples(file):
    told = [
        said
        for k, rule in rules_by_file()[file]
        for number, example in enumerate(rule.d.get("examples", []), 1)
        if (said := wrong(k, rule, number, example))
    ]
    assert not told, "\n".join(told)


def test_every_rule_is_in_one_of_the_files():
    assert sorted(rules_by_file()) == FILES
    examples = [
        rule.d.get("examples", []) for rules in rules_by_file().values() for _, rule in rules
    ]
    assert sum(map(len, examples)) > 5000


def test_an_example_that_does_not_come_out_is_told():
    k, rule = next(
        (k, rule)
        for rules in rules_by_file().values()
        for k, rule in rules
        if rule.d.get("examples", [{}])[0].get("answer") == "passes"
    )
    example = rule.d["examples"][0]
    assert not wrong(k, rule, 1, example)
    assert "expected fails" in wrong(k, rule, 1, {**example, "answer": "fails"})
