"""The law that an answer says it rests on is that of the day that counts: a pack whose first day is
still to come is not named.
"""

from __future__ import annotations

import pytest

from whywire.cli.layout import plain
from whywire.cli.show_answer import show_answer
from whywire.engine import inspect

JOB = {
    "job": "a kiln in a boathouse",
    "place": "Saltgrass Parish",
    "edition": "2023",
    "building": "one-family dwelling",
    "circuits": {
        "kiln": {
            "volts": "240 V",
            "load": {"type": "kiln", "current": "48 A", "connection": "hard-wired"},
            "breaker": {"rating": "60 A"},
            "conductors": {"size": "6 AWG", "material": "copper"},
            "segments": [{"method": "NM-B", "length": "40 ft", "place": "basement"}],
        }
    },
}


@pytest.mark.parametrize("date, named", [("2024-08-31", False), ("2024-09-01", True)])
def test_a_pack_that_has_not_begun_is_not_named(date, named):
    answer = inspect(JOB | {"permit date": date}).why("kiln")
    screen = " ".join(plain(show_answer(answer)).split())
    assert "NEC 2023" in screen
    assert ("the law of Saltgrass Parish" in screen) is named, screen


def test_a_ground_that_is_in_no_cable_of_that_size_is_advised_against():
    cable = {"size": "6 AWG", "material": "copper", "EGC size": "8 AWG"}
    kiln = JOB["circuits"]["kiln"] | {"conductors": cable}
    found = inspect(JOB | {"permit date": "2025-01-02", "circuits": {"kiln": kiln}})
    (said,) = [f for f in found.findings if f.rule == "told-ground-is-in-the-cable"]
    assert said.answer == "advice"
    kiln["conductors"] = cable | {"EGC size": "10 AWG"}
    found = inspect(JOB | {"permit date": "2025-01-02", "circuits": {"kiln": kiln}})
    (said,) = [f for f in found.findings if f.rule == "told-ground-is-in-the-cable"]
    assert said.answer == "passes"
