"""A card of readings, read together: what volts in which slots mean, by sources from outside.

* Open neutral: one line rises as the other sinks, under load ("Spotting loose neutrals by waveform
  capture", ecmweb.com; an open neutral on two lines reads such as 80 V and 160 V, a trade course's
  lesson on open neutrals, lifetradestarter.trade).
* Bootleg ground: next to nothing from neutral to ground means that the two are joined at the
  outlet (a home inspectors' forum, forum.nachi.org/t/192198), every pair of slots reads right all
  the same, and with the polarity reversed the frame is live ("Failures in outlet testing exposed",
  ecmweb.com, 2013-07-15).
* Service volts: ANSI C84.1, as in test_testing.py.
* What a wire drops: Ohm's law and Chapter 9 Table 8 (12 AWG uncoated copper, 1.98 ohms per 1,000 ft
  stranded), worked by hand here.
* The rest is common practice, no source.
"""

from fractions import Fraction

import pytest
from job_run import EDITIONS, Run

ALL = (*EDITIONS, "2026")
METER = {"meter percent": "0.5 %", "meter volts": "0.05 V"}
WHEEL = {
    "volts": "120 V",
    "length": "60 ft",
    "conductors": {"size": "12 AWG", "material": "copper"},
    "receptacle": {"configuration": "5-20"},
    "load": {"type": "cord-and-plug load", "current": "12 A"},
}
ONE = {"circuit": "wheel", "taken at": "receptacle", "all off at rest": "yes", **METER}
GOOD = {
    "line to neutral at rest": "121.4 V",
    "line to ground at rest": "121.4 V",
    "neutral to ground at rest": "0 V",
    "load amps": "12 A",
    "line to neutral loaded": "118.1 V",
    "line to ground loaded": "119.8 V",
    "neutral to ground loaded": "1.3 V",
    "panel at rest": "121.5 V",
    "panel loaded": "120.9 V",
}
# the one fault of each card; all else passes, does not apply, or waits for a reading
FAULTS = {
    "power-at-one-line",
    "power-between-two-lines",
    "neutral-of-one-line-is-whole",
    "neutral-holds-under-load",
    "neutral-of-two-lines-is-whole",
    "lines-stay-apart-under-load",
    "neutral-slot-is-no-line",
    "neutral-among-two-lines-is-no-line",
    "ground-of-one-line-is-whole",
    "ground-of-two-lines-is-whole",
    "no-line-on-the-ground",
    "legs-on-two-phases",
    "legs-on-two-phases-by-the-neutral",
    "both-lines-come",
    "both-lines-come-by-the-neutral",
    "supply-is-the-one-told",
    "utility-not-under-range-B",
    "utility-not-over-range-B",
    "ground-is-no-neutral",
    "run-has-no-loose-joint",
}


def wheel(edition="2023", circuit=WHEEL, **readings):
    told = {**ONE, **{name.replace("_", " "): value for name, value in readings.items()}}
    return Run({"wheel": circuit}, edition, **{"reading cards": {"card": told}})


def good(**other):
    return {**GOOD, **{name.replace("_", " "): value for name, value in other.items()}}


def outlet(configuration, **readings):
    told = {"taken at": "receptacle", "configuration": configuration, "system": "120/240 V"}
    told |= {"all off at rest": "yes", **METER}
    told |= {name.replace("_", " "): value for name, value in readings.items()}
    return Run(**{"reading cards": {"card": told}})


def answers(run):
    return {rule: run.answer(rule, "reading cards.card") for rule in FAULTS}


def failing(run):
    return {rule for rule, answer in answers(run).items() if answer == "fails"}


def undecided(run):
    return {rule for rule, answer in answers(run).items() if answer == "cannot tell"}


@pytest.mark.parametrize("edition", ALL)
def test_a_good_card_fails_nothing_and_leaves_nothing_open(edition):
    run = wheel(edition, **GOOD)
    assert failing(run) == undecided(run) == set()
    assert run.answer("run-thick-enough-for-its-length", "reading cards.card") == "passes"


@pytest.mark.parametrize("missing", sorted(GOOD))
def test_no_card_is_good_for_want_of_a_reading(missing):
    """The panel's readings alone may be missing where the whole drop is no more than the run's."""
    run = wheel(**{name: value for name, value in GOOD.items() if name != missing})
    assert failing(run) == set()
    assert undecided(run) or missing in ("line to ground loaded", "panel at rest", "panel loaded")


# each reading of the outlet, and the one cause that it has
CAUSES = {
    "open neutral": (
        {"line to neutral at rest": "31 V", "neutral to ground at rest": "88 V"},
        "neutral-of-one-line-is-whole",
    ),
    # a load somewhere pulls the open neutral up to the line
    "open neutral under a load": (
        {"line to neutral at rest": "0.3 V", "neutral to ground at rest": "121 V"},
        "neutral-of-one-line-is-whole",
    ),
    "neutral that opens under load": (
        {"line to neutral loaded": "4 V", "neutral to ground loaded": "117 V"},
        "neutral-holds-under-load",
    ),
    "reversed polarity": (
        {"line to ground at rest": "0.2 V", "neutral to ground at rest": "121.3 V"},
        "neutral-slot-is-no-line",
    ),
    "open ground": (
        {"line to ground at rest": "58 V", "neutral to ground at rest": "61 V"},
        "ground-of-one-line-is-whole",
    ),
    "open ground on a meter that loads it": (
        {"line to ground at rest": "0 V", "neutral to ground at rest": "0 V"},
        "ground-of-one-line-is-whole",
    ),
    "bootleg ground": (
        {"neutral to ground loaded": "0 V", "line to ground loaded": "118.1 V"},
        "ground-is-no-neutral",
    ),
    "loose joint": (
        {"line to neutral loaded": "112.6 V", "neutral to ground loaded": "6.9 V"},
        "run-has-no-loose-joint",
    ),
    "no power": (
        {f"{pair} at rest": "0.4 V" for pair in ("line to neutral", "line to ground")},
        "power-at-one-line",
    ),
}


@pytest.mark.parametrize("edition", ALL)
@pytest.mark.parametrize("cause", CAUSES)
def test_one_cause_makes_one_finding(cause, edition):
    readings, rule = CAUSES[cause]
    assert failing(wheel(edition, **(GOOD | readings))) == {rule}


def test_what_the_wire_explains_is_worked_out_as_by_hand():
    # 12 A give or take 0.66 A, 60 ft there and back, 1.98 ohms per 1,000 ft: 2.8512 V in the middle
    low, high = wheel(**GOOD).fact("reading cards.card", "wire drop")
    ohms = Fraction("1.98") * 60 / 1000
    assert (low, high) == (2 * Fraction("11.34") * ohms, 2 * Fraction("12.66") * ohms)


def test_a_supply_that_sags_is_not_laid_on_the_run():
    sags = good(line_to_neutral_loaded="112.6 V", panel_loaded="115.4 V")
    assert wheel(**sags).answer("run-has-no-loose-joint", "reading cards.card") == "passes"
    unread = {name: value for name, value in sags.items() if not name.startswith("panel")}
    assert wheel(**unread).answer("run-has-no-loose-joint", "reading cards.card") == "cannot tell"


def test_a_run_too_thin_for_its_length_has_no_bad_joint():
    thin = {**WHEEL, "length": "110 ft"}
    run = wheel(circuit=thin, **good(line_to_neutral_loaded="115.8 V"))
    assert run.answer("run-has-no-loose-joint", "reading cards.card") == "passes"
    assert run.answer("run-thick-enough-for-its-length", "reading cards.card") == "advice"


def test_a_meter_too_coarse_says_so_and_which_would_do():
    coarse = {**GOOD, "meter percent": "1.5 %", "meter volts": "0.3 V"}
    run = wheel(**coarse)
    assert run.answer("run-has-no-loose-joint", "reading cards.card") == "cannot tell"
    assert run.answer("meter-fine-enough-for-a-joint", "reading cards.card") == "advice"
    low = wheel(**(coarse | {"neutral to ground loaded": "0.2 V"}))
    assert low.answer("ground-is-no-neutral", "reading cards.card") == "cannot tell"
    assert low.answer("meter-fine-enough-for-a-bootleg", "reading cards.card") == "advice"


def test_an_error_that_is_not_told_is_assumed_and_a_told_one_takes_its_place():
    untold = {name: value for name, value in ONE.items() if name not in METER}
    run = Run({"wheel": WHEEL}, **{"reading cards": {"card": untold | GOOD}})
    assert run.fact("reading cards.card", "meter volts") == Fraction("0.3")
    assert wheel(**GOOD).fact("reading cards.card", "meter volts") == Fraction("0.05")


TWO = {
    "line to line at rest": "241 V",
    "line to ground at rest": "120.5 V",
    "second line to ground at rest": "120.5 V",
}
FOUR = TWO | {
    "line to neutral at rest": "120.5 V",
    "second line to neutral at rest": "120.5 V",
    "neutral to ground at rest": "0 V",
}
TEN = {name: value for name, value in FOUR.items() if "ground" not in name}


@pytest.mark.parametrize(
    "configuration, base, readings, rule",
    [
        ("6-20", TWO, {"line to line at rest": "0.1 V"}, "legs-on-two-phases"),
        ("14-50", FOUR, {"line to line at rest": "0 V"}, "legs-on-two-phases"),
        ("10-30", TEN, {"line to line at rest": "0 V"}, "legs-on-two-phases-by-the-neutral"),
        (
            "6-50",
            TWO,
            {"line to line at rest": "30 V", "second line to ground at rest": "25 V"},
            "both-lines-come",
        ),
        (
            "10-50",
            TEN,
            {"line to line at rest": "30 V", "second line to neutral at rest": "25 V"},
            "both-lines-come-by-the-neutral",
        ),
        (
            "14-30",
            FOUR,
            {"line to neutral at rest": "80 V", "second line to neutral at rest": "161 V"},
            "neutral-of-two-lines-is-whole",
        ),
        (
            "6-20",
            TWO,
            {"line to ground at rest": "40 V", "second line to ground at rest": "60 V"},
            "ground-of-two-lines-is-whole",
        ),
        (
            "6-20",
            TWO,
            {"line to ground at rest": "0 V", "second line to ground at rest": "241 V"},
            "no-line-on-the-ground",
        ),
        # a line and the neutral have changed places
        (
            "10-30",
            TEN,
            {"line to line at rest": "120.5 V", "second line to neutral at rest": "241 V"},
            "neutral-among-two-lines-is-no-line",
        ),
        ("14-50", FOUR, {"line to line at rest": "208.7 V"}, "supply-is-the-one-told"),
    ],
)
def test_one_cause_at_two_lines_makes_one_finding(configuration, base, readings, rule):
    told = {name.replace(" ", "_"): value for name, value in (base | readings).items()}
    assert failing(outlet(configuration, **told)) == {rule}


def test_two_lines_on_one_leg_are_not_told_from_an_open_line_with_a_load_on():
    told = {name.replace(" ", "_"): value for name, value in TWO.items()}
    run = outlet("6-20", **(told | {"line_to_line_at_rest": "0 V", "all_off_at_rest": "no"}))
    assert failing(run) == set()
    assert run.answer("read-again-with-everything-off", "reading cards.card") == "refers"


@pytest.mark.parametrize(
    "configuration, lines, neutral, ground, nominal",
    [
        ("5-15", 1, True, True, None),
        ("5-20", 1, True, True, None),
        ("6-20", 2, False, True, 240),
        ("6-50", 2, False, True, 240),
        ("14-30", 2, True, True, 240),
        ("14-50", 2, True, True, 240),
        ("10-30", 2, True, False, 240),
        ("10-50", 2, True, False, 240),
    ],
)
def test_which_slots_a_face_has_and_what_they_should_read(
    configuration, lines, neutral, ground, nominal
):  # ANSI/NEMA WD 6, from memory
    run = outlet(configuration)
    card = "reading cards.card"
    assert run.fact(card, "lines there") == lines
    assert run.fact(card, "neutral there") is neutral
    assert run.fact(card, "ground there") is ground
    found = run.fact(card, "nominal line to line")
    assert found == nominal or nominal is None and not isinstance(found, Fraction | int)


def panel(**readings):
    told = {"taken at": "panel", "system": "120/240 V", "all off at rest": "yes", **METER}
    told |= {name.replace("_", " "): value for name, value in (FOUR | readings).items()}
    return Run(**{"reading cards": {"card": told}})


@pytest.mark.parametrize(
    "volts, answer, advice",
    [
        ("128 V", "fails", "advice"),  # over 127 V, ANSI C84.1 range B
        ("126 V", "passes", "cannot tell"),  # the end of range A, within the meter's error
        ("120 V", "passes", "passes"),
        ("127 V", "cannot tell", "advice"),
    ],
)
def test_the_utilitys_volts_by_both_ranges(volts, answer, advice):
    run = panel(line_to_neutral_at_rest=volts, second_line_to_neutral_at_rest=volts)
    assert run.answer("utility-not-over-range-B", "reading cards.card") == answer
    assert run.answer("utility-not-over-range-A", "reading cards.card") == advice


def test_an_open_neutral_at_the_panel_shows_under_load():
    run = panel(
        load_between="line to neutral",
        line_to_neutral_loaded="80 V",
        second_line_to_neutral_loaded="160 V",
    )
    assert failing(run) == {"lines-stay-apart-under-load"}


def test_a_load_between_the_lines_tries_no_neutral():
    run = panel(load_between="line to line", line_to_line_loaded="239 V")
    assert run.answer("neutral-is-tried-too", "reading cards.card") == "refers"


def test_a_meter_has_the_category_of_the_place():  # IEC 61010, from memory
    for place, category, answer in (
        ("panel", "CAT III", "passes"),
        ("panel", "CAT II", "fails"),
        ("service", "CAT III", "fails"),
        ("service", "CAT IV", "passes"),
    ):
        run = Run(**{"reading cards": {"card": {"taken at": place, "meter category": category}}})
        rule = "meter-for-the-service" if place == "service" else "meter-for-the-place"
        assert run.answer(rule, "reading cards.card") == answer
