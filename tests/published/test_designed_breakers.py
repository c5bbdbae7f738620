"""What is said of a breaker that was designed, not told: the rule that made it, with its
numbers.
"""

import pytest

from whywire.cli.show_answer import show_answer
from whywire.engine import inspect
from whywire.engine.answering.questions import Why


def rating_of(load_):
    body = {"volts": "240 V", "load": load_, "conductors": {"material": "copper"}}
    found = inspect({"job": "one motor", "edition": "2023", "circuits": {"saw": body}})
    answer = Why(found.w, found.whatif).question(["saw", "breaker", "rating"])
    return " ".join(
        " ".join("".join(t for t, _ in line) for line in show_answer(answer, 80)).split()
    )


@pytest.mark.parametrize(
    "horsepower, current, share, breaker",
    [
        # Table 430.248 at 230 V (a wire maker's reprint, MTR-01) and 175 % of it, stepped up to
        # Table 240.6(A); that 175 % is what is bought is common practice, no source
        ("3 hp", "17 A", "29.75 A", "30 A"),
        ("5 hp", "28 A", "49 A", "50 A"),
    ],
)
def test_a_designed_motor_breaker_shows_its_share_and_the_step(horsepower, current, share, breaker):
    said = rating_of({"type": "motor", "horsepower": horsepower, "connection": "hard-wired"})
    assert f"175 % × motor current {current} = {share}" in said
    assert f"rating {breaker} (designed)" in said
    assert "430.52(C)(1)" in said and "210.20(A)" not in said


def test_the_step_is_named_where_there_is_one():
    said = rating_of({"type": "motor", "horsepower": "3 hp", "connection": "hard-wired"})
    assert "30 A" in said


def test_a_designed_breaker_of_cooling_equipment_shows_its_plate():
    said = rating_of({"type": "heat pump", "MCA": "30 A", "MOCP": "50 A"})
    assert "MOCP 50 A" in said and "210.20(A)" not in said
