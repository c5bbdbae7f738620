"""The sign is right, sums shown come to the total shown, and an answer shows the test that
decided.
"""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest
from sweeps import examples, tenth

from whywire.engine import inspect
from whywire.engine.answering.questions import Why

NUMBER = r"([\d,]+(?:\.\d+)?)"
SUM = re.compile(
    rf"^(?:{NUMBER} % × )?[a-z][a-zA-Z ]* {NUMBER} (\S+) \+ (?:{NUMBER} % × )?[a-z][a-zA-Z ]*"
    rf" {NUMBER} \3"
    rf" = {NUMBER} \3$"
)
JOBS = [
    "kb/jobs/scenarios/workshop-feeder.yaml",
    "kb/jobs/scenarios/shop-with-a-small-disconnect.yaml",
]


def told(**more) -> dict:
    return {
        "job": "a kiln, looked at",
        "edition": "2023",
        "circuits": {"kiln": {"volts": "240 V", "load": {"type": "kiln"}}},
    } | more


def number(text: str | None) -> Fraction:
    return Fraction((text or "100").replace(",", ""))


@pytest.mark.parametrize("job", JOBS)
def test_sums_shown_come_to_the_total_shown(job):
    found = inspect(job)
    why = Why(found.w, found.whatif)
    seen = 0
    for f in found.findings:
        for row in why.rule_on(found.k.rules[f.rule], found.thing(f.on)).rows:
            if m := SUM.match(row.text.split("; ")[0]):
                seen += 1
                made = number(m[1]) / 100 * number(m[2]) + number(m[4]) / 100 * number(m[5])
                places = len(m[6].partition(".")[2])
                assert round(made, places) == number(m[6]), row.text
    assert seen >= 2


@pytest.mark.parametrize(
    "torque, off", [("30 lb-in", "20 lb-in loose"), ("70 lb-in", "20 lb-in tight")]
)
def test_loose_is_under_and_tight_is_over(torque, off):
    found = inspect(told(connections={"lug": {"torque": torque, "label torque": "50 lb-in"}}))
    answer = found.why("lug", "torque-by-the-label")
    assert (
        answer.word == "NO."
        and f"Tightened to {torque}" in answer.sentence
        and f"{off}." in answer.sentence
    )
    assert any(row.label == "Check" and row.text.endswith(f"No, {off}.") for row in answer.rows)
    assert f"It should be 50 lb-in, and it is {torque}." in answer.plain


@pytest.mark.sweep
def test_to_spare_stands_only_over_what_holds():
    """Of every requirement of the shipped jobs that compares: to spare where it holds, short or
    over where it does not.
    """
    words = 0
    for job in tenth(sorted(Path("kb/jobs").rglob("*.yaml")), lambda p: p.parent.name, "spare"):
        found = inspect(str(job), edition="2023")
        why = Why(found.w, found.whatif)
        for f in found.findings:
            r, x = found.k.rules[f.rule], found.thing(f.on)
            if type(r.test).__name__ != "Cmp" or f.exception or f.whichever:
                continue
            m = why.margin(r, x)
            words += bool(m)
            if f.answer == "passes":
                assert not m.endswith((" short", " over", " under")), (job, f.rule, m)
            elif f.answer in ("fails", "advice"):
                assert not m.endswith(" to spare"), (job, f.rule, m)
    assert words > examples(100)


def test_a_designed_motor_breaker_shows_its_share_and_the_step():
    found = inspect("kb/jobs/scenarios/well-pump.yaml")
    answer = found.why("pump", "breaker", "rating")
    text = " ".join(row.text for row in answer.rows)
    assert (
        answer.word == "YES."
        and answer.rule.startswith("motor-")
        and answer.sentence[:5] == "20 A."
    )
    assert "1.5 hp, 230 V: 10 A" in text  # Table 430.248
    # the usual share is common practice, no source; the most is that of Table 430.52
    assert "175 % × motor current 10 A = 17.5 A; the next standard rating up is 20 A" in text
    assert "250 % × motor current 10 A = 25 A" in text
    assert "0 A or more" not in text


def test_the_smallest_size_shows_the_test_that_decided():
    answer = inspect("kb/jobs/scenarios/well-pump.yaml").why("pump conductors", "minimum size")
    rows = {row.label: row for row in answer.rows}
    assert answer.rule == "motor-conductors" and rows["Tightest"].source == "430.22"
    assert rows["Tightest"].text == "15 A >= 12.5 A?  Yes, 2.5 A to spare."


def test_hot_air_is_not_named_where_the_air_is_not_hot():
    """12 AWG for 48 A at 86 °F, the temperature of the table: it is the current and not the air
    that is too much.
    """
    kiln = {
        "volts": "240 V",
        "length": "40 ft",
        "load": {"type": "kiln", "current": "48 A"},
        "breaker": {"rating": "60 A"},
        "conductors": {"size": "12 AWG", "material": "copper", "insulation": "THWN-2"},
        "segments": [
            {
                "method": "EMT",
                "length": "40 ft",
                "ambient": "86 °F",
                "place": "basement",
                "location": "dry",
                "bundle": "none",
            }
        ],
    }
    found = inspect(
        {
            "job": "a kiln on thin wire",
            "edition": "2023",
            "circuits": {"a": kiln},
        }
    )
    failing = [f for f in found.findings if f.on == "circuits.a.conductors" and f.answer == "fails"]
    assert "load-after-correction" in [f.rule for f in failing]
    for f in failing:
        answer = found.why(*f.on.removeprefix("circuits.").split("."), f.rule)
        said = " ".join([*(row.text for row in answer.rows), *answer.plain]).lower()
        assert "hot air" not in said and "in that heat" not in said, f.rule


def drop(**reading) -> dict:
    return {
        "job": "a drop under load",
        "edition": "2023",
        "panels": {"shop": {"feeder": "feeder"}, "main": {"feeder": "none"}},
        "circuits": {
            "feeder": {
                "role": "feeder",
                "panel": "main",
                "volts": "240 V",
                "length": "100 ft",
                "load": {"current": "60 A", "motor operated": "no"},
                "conductors": {"size": "4 AWG", "material": "copper"},
            },
            "kiln": {
                "panel": "shop",
                "volts": "240 V",
                "length": "100 ft",
                "load": {"type": "kiln", "current": "40 A"},
                "conductors": {"size": "8 AWG", "material": "copper"},
            },
        },
        "measurements": {
            "drop": (
                {
                    "test": "voltage drop",
                    "circuit": "kiln",
                    "current at the time": "20 A",
                    "voltage error": "0 V",
                }
                | reading
            )
        },
    }


def test_a_drop_is_judged_against_the_path_between_its_two_points():
    """Read from the service, the feeder's part belongs to it: the same volts from the panel would
    be a bad joint.
    """
    branch = inspect(drop(**{"voltage": "5 V", "drop start": "its panel"}))
    whole = inspect(
        drop(
            **{"voltage": "5 V", "drop start": "the service", "feeder current at the time": "60 A"}
        )
    )
    open_ = inspect(drop(voltage="5 V"))
    unread = inspect(drop(**{"voltage": "5 V", "drop start": "the service"}))
    said = {
        name: {f.rule: f.answer for f in found.findings if f.on == "measurements.drop"}
        for name, found in (
            ("branch", branch),
            ("whole", whole),
            ("open", open_),
            ("unread", unread),
        )
    }
    assert said["branch"]["drop-as-expected"] == "advice"
    assert said["whole"]["drop-as-expected"] == "passes"
    assert said["open"]["drop-as-expected"] == said["unread"]["drop-as-expected"] == "cannot tell"
    assert "from its panel to the load" in branch.why("drop", "drop-as-expected").sentence
    assert "from the service to the load" in whole.why("drop", "drop-as-expected").sentence
    asked = next(f for f in open_.findings if f.rule == "drop-as-expected").needs
    assert "drop start" in [n.fact for n in asked]
