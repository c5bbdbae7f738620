"""The maker's breaker against the Code's quarter, and a meter socket that is replaced alone.

The sections are named beside each check, from memory where no page is named.
"""

import pytest
from job_run import Run

from whywire.cli.show_answer import show_answer
from whywire.engine import inspect
from whywire.engine.answering.questions import Why

ALL = ("2017", "2020", "2023", "2026")


def run(load_, breaker=None, edition="2023"):
    body = {"volts": "240 V", "load": load_, "conductors": {"material": "copper"}}
    if breaker:
        body["breaker"] = {"rating": breaker}
    return Run({"x": body}, edition, building="one-family dwelling")


def said(w, rule):
    return w.answer(rule, "circuits.x.breaker")


@pytest.mark.parametrize("edition", ALL)
@pytest.mark.parametrize(
    "load_, maker",
    [
        # 422.13: 125 % of 25 A is 31.25 A
        ({"type": "storage water heater", "current": "25 A"}, "30 A"),
        # 424.3(B), since 2020 424.4(B): 125 % of 16.7 A is 20.9 A
        ({"type": "space heater", "current": "16.7 A"}, "20 A"),
        # 424 or 422, read differently: 125 % of 33.3 A is 41.7 A
        ({"type": "sauna", "current": "33.3 A"}, "40 A"),
        # 210.20(A), of a load that is told to run for hours
        ({"type": "spa", "current": "44 A", "continuous": "yes"}, "50 A"),
    ],
)
def test_the_law_asks_for_more_than_the_maker(load_, maker, edition):
    w = run({**load_, "breaker in the instructions": maker}, maker, edition)
    assert said(w, "breaker-125-percent") == "exception applies"
    assert said(w, "instructions-below-the-load") == "refers"
    assert said(w, "breaker-not-below-the-instructions") == "passes"
    # without instructions the Code's own limit stands
    assert said(run(load_, maker, edition), "breaker-125-percent") == "fails"


def test_a_breaker_under_the_makers_fails_all_the_same():
    load_ = {"type": "storage water heater", "current": "25 A"}
    w = run({**load_, "breaker in the instructions": "30 A"}, "25 A")
    assert said(w, "breaker-not-below-the-instructions") == "fails"


def test_both_breakers_are_shown():
    load_ = {
        "type": "storage water heater",
        "current": "25 A",
        "breaker in the instructions": "30 A",
    }
    body = {"volts": "240 V", "load": load_, "breaker": {"rating": "30 A"}}
    found = inspect({"job": "tank", "edition": "2023", "circuits": {"x": body}})
    answer = Why(found.w, found.whatif).question(["x", "breaker"])
    shown = ["".join(t for t, _ in line) for line in show_answer(answer, 80)]
    assert any(line.startswith("Maker") and "30 A" in line for line in shown)
    assert any(line.startswith("Code") and "125 % of 25 A" in line for line in shown)


@pytest.mark.parametrize("edition", ALL)
def test_the_habit_of_a_tub_gives_way_to_its_instructions(edition):
    # no section names a spa as continuous; 110.3(B)
    tub = {"type": "spa", "current": "44 A"}
    habit = run(tub, "50 A", edition)
    assert said(habit, "breaker-125-percent") == "fails"  # 55 A
    listed = run({**tub, "breaker in the instructions": "50 A"}, "50 A", edition)
    assert listed.fact("circuits.x.load", "noncontinuous load") == 44
    assert said(listed, "breaker-125-percent") == "passes"
    assert said(listed, "instructions-below-the-load") == "does not apply"
    assert said(listed, "breaker-not-below-the-instructions") == "passes"
    open_ = run({**tub, "breaker in the instructions": "50 A"}, None, edition)
    assert open_.fact("circuits.x.breaker", "rating") == 50
    # instructions under the load itself are no habit
    short = run({**tub, "breaker in the instructions": "40 A"}, "40 A", edition)
    assert said(short, "instructions-below-the-load") == "refers"


SPD = ("surge-protector-of-a-dwelling", "surge-protector-at-the-equipment")
MAINS = ("service-of-a-house-at-least", "six-disconnects-at-most", "disconnects-apart")


def service(edition, **told):
    facts = {
        "arrangement": "service",
        "work": "replaced",
        "rating": "60 A",
        "disconnects": "7",
        "disconnects apart": "no",
        "outdoor disconnect": "no",
        **told,
    }
    w = Run({}, edition, building="one-family dwelling", service=facts)
    return lambda rule: w.answer(rule, "service") if rule in w.k.rules else "not there"


def test_a_meter_socket_alone_asks_for_no_surge_protector():
    # 230.67(D) speaks of service equipment, and 230.66 says that a meter socket is none
    socket = {"meter socket alone replaced": "yes", "surge protector": "none"}
    for edition, expected in (
        ("2017", "not there"),
        ("2020", "exception applies"),
        ("2023", "exception applies"),
        ("2026", "exception applies"),
    ):
        assert service(edition, **socket)(SPD[0]) == expected
    assert (
        service("2023", **socket, arrangement="feeder")("surge-protector-of-a-dwelling-on-a-feeder")
        == "exception applies"
    )
    more = {**socket, "meter socket alone replaced": "no"}
    assert service("2023", **more)(SPD[0]) == "fails"


def test_a_surge_protector_that_nobody_asks_for_may_be_anywhere():
    told = {
        "meter socket alone replaced": "yes",
        "surge protector": "type 2",
        "surge protector place": "elsewhere",
        "discharge current": "5 kA",
    }
    says = service("2023", **told)
    assert says(SPD[1]) == says("surge-protector-large-enough") == "exception applies"


def test_2026_is_not_known_and_is_not_concluded_on():
    # a course page on the deletion of 230.85: 230.70 still speaks of replacement
    says = service("2026", **{"meter socket alone replaced": "yes", "surge protector": "none"})
    assert says("meter-socket-alone-in-the-newest-edition") == "refers"
    assert says("outdoor-emergency-disconnect") == "exception applies"
    other = service("2026", **{"meter socket alone replaced": "no", "surge protector": "none"})
    assert other("outdoor-emergency-disconnect") == "fails"


@pytest.mark.parametrize("edition", ALL)
def test_a_meter_socket_alone_leaves_the_mains_as_they_are(edition):
    alone = service(edition, **{"meter socket alone replaced": "yes"})
    whole = service(edition, **{"meter socket alone replaced": "no"})
    for rule in MAINS:
        if alone(rule) != "not there":
            assert (alone(rule), whole(rule)) == ("exception applies", "fails")
