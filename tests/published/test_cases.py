"""Every published check value is held against the program, or stands in the list of what today's
rules do not cover: cases/*.yaml, read and run by checking_cases.py.
"""

from functools import cache

import pytest
from checking_cases import FOLDER, KINDS, Check, cases, checks, differences, left_out

KEYS = {"case", "kind", "source", "editions", "says", "in part", "doubt", "checks"}
KEYS_OF_A_GAP = {"case", "kind", "source", "missing", "group"}
GROUPS = (  # what has to become sayable before such a case can be run
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
    "none",  # no work of this trade, or none that is planned
)


@cache
def by_case() -> dict[str, list[Check]]:
    """The checks of each case, in each of their editions."""
    out: dict[str, list[Check]] = {}
    for check in checks():
        out.setdefault(check.case, []).append(check)
    return out


@pytest.mark.parametrize("case", [case["case"] for case in cases()])
def test_the_program_says_what_the_source_says(case):
    assert by_case()[case], "a case checks something"
    assert [line for check in by_case()[case] for line in differences(check)] == []


def test_no_case_is_missing_and_none_is_twice():
    lines = (FOLDER / "all.txt").read_text("utf-8").splitlines()
    everyone = [f"{head}-{n}" for head, *numbers in map(str.split, lines) for n in numbers]
    assert len(everyone) == len(set(everyone)) == 304
    listed = [case["case"] for case in (*cases(), *left_out())]
    assert sorted(listed) == sorted(everyone)


@pytest.mark.parametrize("case", cases(), ids=lambda case: case["case"])
def test_a_case_says_where_it_comes_from(case):
    assert case.keys() <= KEYS
    assert case["kind"] in KINDS and case["source"] and case["editions"] and case["says"]
    assert all(case.get(key, "-") for key in ("in part", "doubt"))
    if case["kind"] == "memory":
        assert "memory" in case["source"]
    elif case["kind"] != "computed":
        assert "://" in case["source"] or case["case"] in WITHOUT_ADDRESS


# Sources that are named and not addressed: where they were seen would name a product.
WITHOUT_ADDRESS = ("EVC-05",)


@pytest.mark.parametrize("case", left_out(), ids=lambda case: case["case"])
def test_what_is_not_covered_has_its_reason(case):
    assert case.keys() == KEYS_OF_A_GAP
    assert case["kind"] in KINDS and case["source"] and case["missing"]
    assert case["group"] in GROUPS


KILN = {
    "kiln": {
        "building": "one-family dwelling",
        "circuits": {
            "it": {
                "volts": "240 V",
                "load": {"type": "kiln", "current": "40 A"},
                "breaker": {"rating": "50 A"},
            }
        },
    }
}


@pytest.mark.parametrize(
    "body",
    [
        {"job": "kiln", "comes out": {"breaker": {"minimum rating": "60 A"}}},
        {"job": "kiln", "comes out": {"breaker": {"breaker-125-percent": "fails"}}},
        {"job": "kiln", "comes out": {"breaker": {"conductor-125-percent": "passes"}}},
        {"job": "kiln", "comes out": {"breaker": {"breaker-150-percent": "not in force"}}},
        {"job": "kiln", "comes out": {"load": {"continuous": "no"}}},
        {"job": "kiln", "comes out": {"load": {"current": "≈40.01 A"}}},
        {"job": "kiln", "comes out": {"fuse": {"minimum rating": "50 A"}}},
        {"job": "kiln", "comes out": {}},
        {"rule": "breaker-125-percent", "given": {"rating": "50 A"}, "answer": "passes"},
        {"rule": "breaker-125-percent", "given": {"rating": "50 A"}},
        {"rule": "no-such-rule", "given": {}, "answer": "passes"},
        {
            "table": "box-allowances",
            "gives": "allowance",
            "by": "size",
            "rows": {"14 AWG": "2.25 in³"},
        },
        {
            "table": "box-allowances",
            "gives": "allowance",
            "by": "size",
            "rows": {"14 AWG": "off the table"},
        },
        {"table": "box-allowances", "gives": "allowance", "by": "size", "rows": {"1 AWG": "5 in³"}},
        {"table": "box-allowances", "gives": "allowance", "by": "size", "rows": {}},
        {"value": "least standard rating", "is": "15 A"},
    ],
    ids=str,
)
def test_a_check_that_is_wrong_is_told(body):
    assert differences(Check("wrong", 1, "2023", body, KILN))


@pytest.mark.parametrize(
    "body",
    [
        {"job": "kiln", "comes out": {"breaker": {"minimum rating": "50 A"}}},
        {"job": "kiln", "circuit": {"breaker": ""}, "comes out": {"breaker": {"rating": "50 A"}}},
        {
            "job": "kiln",
            "circuit": {"load": {"current": "41 A"}},
            "comes out": {"breaker": {"breaker-125-percent": "fails"}},
        },
    ],
    ids=str,
)
def test_a_change_is_laid_over_a_job(body):
    assert differences(Check("right", 1, "2023", body, KILN)) == []
