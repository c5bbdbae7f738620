"""Counts where rules and tables come from, by the marks that stand beside them; nothing is typed by
hand. `python tests/sources.py` prints the sentences that README.md has.

A rule that cites a law, a maker or a place is

    published       named by a published check whose source is an example or a page
    cross-checked   named by a check that was computed, or is a colleague's word
    memory          named by no check from outside, or by one from memory

and is counted by the best that names it: the rule itself, or a fact whose value it gave in that
check's own job. A check that only passes through it does not count. The other rules cite a
practice: habit, arithmetic, what words mean. A table is counted in the same way, where it says
itself that it was checked against something else than memory as cross-checked.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from functools import cache
from pathlib import Path

TESTS = Path(__file__).resolve().parent
sys.path += [str(TESTS), str(TESTS / "published")]

# these two folders are no packages: found only once they are on the path
from checking_cases import EDITIONS, bears_out, cases, checks  # noqa: E402
from job_run import knowledge  # noqa: E402

PUBLISHED, CROSS_CHECKED, MEMORY, PRACTICE = "published", "cross-checked", "memory", "practice"
ORDER = (PUBLISHED, CROSS_CHECKED, MEMORY)  # the best first
LEVELS = {
    "published example": PUBLISHED,
    "page confirms value": PUBLISHED,
    "page confirms rule": PUBLISHED,
    "colleague's word": CROSS_CHECKED,
    "computed": CROSS_CHECKED,
    "memory": MEMORY,
}
PARAGRAPH = re.compile(r"(?s)(?<=<!-- counted by tests/sources.py -->\n).*?(?=<!-- -->)")


@cache
def borne_out() -> dict[tuple[str, str], str]:
    """(rule or table, name) -> the best level of the checks that speak of it."""
    levels = {case["case"]: LEVELS[case["kind"]] for case in cases()}
    out: dict[tuple[str, str], str] = {}
    seen: set[tuple[str, int]] = set()
    for check in checks():
        # what gives a fact is the same rule in nearly every edition: the first will do
        if (check.case, check.number) not in seen:
            seen.add((check.case, check.number))
            for key in bears_out(check):
                out[key] = min(levels[check.case], out.get(key, MEMORY), key=ORDER.index)
    return out


def of_rules() -> Counter[str]:
    """How many rules, of all editions, come from where."""
    by, seen = borne_out(), {}
    for edition in EDITIONS:
        for name, rule in knowledge(edition).rules.items():
            cites = PRACTICE if "practice" in rule.d else by.get(("rule", name), MEMORY)
            seen[name] = cites
    return Counter(seen.values())


def of_tables() -> Counter[str]:
    """How many tables come from where."""
    by, seen = borne_out(), {}
    for edition in EDITIONS:
        for name, table in knowledge(edition).tables.items():
            level = by.get(("table", name), MEMORY)
            against = str(table.d.get("checked", {}).get("against", ""))
            if "practice" in table.d:
                level = PRACTICE
            elif level == MEMORY and against and "memory" not in against:
                level = CROSS_CHECKED
            seen[name] = level
    return Counter(seen.values())


def sentence(what: str, found: Counter[str]) -> str:
    """What was counted, in words."""
    cite = sum(found[level] for level in ORDER)
    return (
        f"* {what}: {sum(found.values()):,}. {cite:,} cite a law, a maker or a standard. Of these"
        f" {found[PUBLISHED]:,} are named by a published\n  example or page that bears them out,"
        f" {found[CROSS_CHECKED]:,} are cross-checked, {found[MEMORY]:,} are from memory. The other"
        f" {found[PRACTICE]:,} are habit, words\n  and arithmetic.\n"
    )


def paragraph() -> str:
    """The lines that README.md has of it."""
    return sentence("Rules", of_rules()) + sentence("Tables", of_tables())


if __name__ == "__main__":
    print(paragraph(), end="")
