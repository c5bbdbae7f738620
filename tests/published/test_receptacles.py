"""Receptacles and disconnects, run through the engine, against values from outside. Each check
names its source.
"""

import pytest
from job_run import EDITIONS, Run


def run(
    receptacle,
    breaker,
    load_=None,
    supply="240 V",
    edition="2023",
    building="one-family dwelling",
    **more,
):
    """A world with one circuit of copper."""
    circuit = {
        "volts": supply,
        "load": load_ or {"type": "other", "current": "10 A", "continuous": "no"},
        "receptacle": receptacle,
        "breaker": {"rating": f"{breaker} A"},
        "conductors": {"material": "copper"},
        **{key.replace("_", " "): facts for key, facts in more.items()},
    }
    return Run({"x": circuit}, edition, building=building)


def answer(w, rule, thing="circuits.x.receptacle"):
    return w.answer(rule, thing)


@pytest.mark.parametrize(
    "configuration, amperes, volts",
    [
        # NEMA WD 6 (from memory; the page found confirms the series, not each row)
        ("5-15", 15, 125),
        ("5-20", 20, 125),
        ("6-20", 20, 250),
        ("6-30", 30, 250),
        ("6-50", 50, 250),
        ("10-30", 30, 250),
        ("10-50", 50, 250),
        ("14-30", 30, 250),
        ("14-50", 50, 250),
    ],
)
def test_configuration_gives_rating_and_voltage(configuration, amperes, volts):
    w = run({"configuration": configuration}, 20)
    assert w.fact("circuits.x.receptacle", "rating", "A") == amperes
    assert w.fact("circuits.x.receptacle", "rated voltage", "V") == volts


@pytest.mark.parametrize(
    "configuration, rating, breaker, supply, expected",
    [
        # 210.21(B)(1): trade forum, "NEC Table 210.21(B)(3)", and a trade magazine, "210-21(b)
        # Receptacles"
        ("5-15", 15, 20, "120 V", "fails"),
        ("5-20", 20, 15, "120 V", "passes"),  # a floor only; some inspectors still refuse it
        ("14-50", 50, 40, "120/240 V", "passes"),
        ("6-50", 50, 60, "240 V", "fails"),
        ("6-30", 30, 40, "240 V", "fails"),
        ("14-50", 50, 50, "120/240 V", "passes"),
    ],
)
@pytest.mark.parametrize("edition", EDITIONS)
def test_single_receptacle(configuration, rating, breaker, supply, expected, edition):
    w = run(
        {"configuration": configuration},
        breaker,
        supply=supply,
        edition=edition,
        more_than_one_receptacle="no",
    )
    assert answer(w, "single-receptacle-not-below-the-circuit") == expected


@pytest.mark.parametrize(
    "configuration, breaker, supply, expected",
    [
        # Table 210.21(B)(3): the same forum thread and magazine
        ("5-15", 20, "120 V", "passes"),
        ("5-20", 15, "120 V", "fails"),
        ("5-20", 20, "120 V", "passes"),
        ("14-50", 40, "120/240 V", "passes"),
        ("6-30", 40, "240 V", "fails"),
        ("6-50", 50, "240 V", "passes"),
    ],
)
def test_several_receptacles(configuration, breaker, supply, expected):
    w = run(
        {"configuration": configuration}, breaker, supply=supply, more_than_one_receptacle="yes"
    )
    assert answer(w, "several-receptacles-by-the-table") == expected
    assert answer(w, "single-receptacle-not-below-the-circuit") == "does not apply"


def test_duplex_counts_as_two():
    # the same forum thread: a 15 A duplex alone on 20 A is allowed, because it is two receptacles
    w = run({"configuration": "5-15", "duplex": "yes"}, 20, supply="120 V")
    assert answer(w, "several-receptacles-by-the-table") == "passes"
    assert answer(w, "single-receptacle-not-below-the-circuit") == "does not apply"
    # nobody told whether it is a duplex: neither rule may be taken for met
    w = run({"configuration": "5-15"}, 20, supply="120 V")
    assert answer(w, "single-receptacle-not-below-the-circuit") == "cannot tell"


def test_welder_receptacle_is_not_bound_to_the_breaker():
    # 210.21(B)(1) exc. 2 (from memory)
    w = run({"configuration": "6-50"}, 60, {"type": "welder", "current": "33 A"})
    assert answer(w, "single-receptacle-not-below-the-circuit") == "exception applies"


@pytest.mark.parametrize(
    "horsepower, expected",
    [("1/4 hp", "exception applies"), ("1/3 hp", "exception applies"), ("1/2 hp", "fails")],
)
def test_small_portable_motor(horsepower, expected):
    # 210.21(B)(1) exc. 1 with 430.81(B): 1/3 hp (from memory)
    w = run(
        {"configuration": "5-15"},
        20,
        {"type": "motor", "horsepower": horsepower},
        "120 V",
        more_than_one_receptacle="no",
    )
    assert answer(w, "single-receptacle-not-below-the-circuit") == expected


@pytest.mark.parametrize("type_", ["clothes dryer", "range"])
def test_three_wire_outlet_is_not_put_in(type_):
    # 250.140: trade forum, "250.140" and "upgrading dryer and range 240 volt circuits"
    load_ = {"type": type_, "power": "5 kW"}
    assert (
        answer(run({"configuration": "10-30"}, 30, load_, "120/240 V"), "new-outlet-has-a-ground")
        == "fails"
    )
    assert (
        answer(run({"configuration": "14-30"}, 30, load_, "120/240 V"), "new-outlet-has-a-ground")
        == "passes"
    )
    old = run({"configuration": "10-30", "existing": "yes"}, 30, load_, "120/240 V")
    assert answer(old, "new-outlet-has-a-ground") == "does not apply"
    # its own conditions decide (250.140), and whether a ground comes to its box is asked first
    assert answer(old, "existing-ungrounded-outlet") == "does not apply"
    assert answer(old, "three-wire-outlet-where-a-ground-is") == "cannot tell"


@pytest.mark.parametrize(
    "configuration, supply, rule, expected",
    [
        # the 6 series has no neutral, the 5 series is 125 V (NEMA WD 6, from memory)
        ("14-50", "240 V", "receptacle-needs-its-neutral", "fails"),
        ("14-50", "120/240 V", "receptacle-needs-its-neutral", "passes"),
        ("6-50", "240 V", "receptacle-needs-its-neutral", "does not apply"),
        ("5-20", "240 V", "receptacle-voltage-not-below", "fails"),
        ("6-20", "120 V", "receptacle-voltage-not-above", "fails"),
        ("6-20", "208 V", "receptacle-voltage-not-above", "passes"),
        ("14-30", "120 V", "receptacle-with-two-hots", "fails"),
    ],
)
def test_configuration_fits_the_supply(configuration, supply, rule, expected):
    assert answer(run({"configuration": configuration}, 20, supply=supply), rule) == expected


def test_tamper_resistant():
    # 406.12 (from memory): 250 V 20 A in the garage of a dwelling is included since 2017
    rule = "tamper-resistant"
    assert (
        answer(
            run(
                {
                    "configuration": "6-20",
                    "height": "3 ft",
                    "appliance space": "no",
                    "tamper-resistant": "no",
                },
                20,
            ),
            rule,
        )
        == "fails"
    )
    # over 5-1/2 ft
    assert (
        answer(run({"configuration": "6-20", "height": "6 ft", "tamper-resistant": "no"}, 20), rule)
        == "exception applies"
    )
    assert (
        answer(run({"configuration": "6-30", "tamper-resistant": "no"}, 30), rule)
        == "does not apply"
    )
    assert answer(run({"configuration": "6-20"}, 20), rule) == "cannot tell"


@pytest.mark.parametrize(
    "configuration, facts, rule, expected",
    [
        # 406.9 (from memory)
        ("5-20", {"location": "wet", "cover": "closes without a plug"}, "in-use-cover", "fails"),
        ("5-20", {"location": "wet", "cover": "in-use cover"}, "in-use-cover", "passes"),
        ("5-20", {"location": "damp", "weather-resistant": "no"}, "weather-resistant", "fails"),
        (
            "5-20",
            {"location": "dry", "weather-resistant": "no"},
            "weather-resistant",
            "does not apply",
        ),
        (
            "6-50",
            {"location": "wet", "unattended": "yes", "cover": "closes without a plug"},
            "large-receptacle-in-the-rain",
            "fails",
        ),
        (
            "6-50",
            {"location": "wet", "unattended": "no", "cover": "closes without a plug"},
            "large-receptacle-in-the-rain-attended",
            "passes",
        ),
    ],
)
def test_damp_and_wet(configuration, facts, rule, expected):
    assert answer(run({"configuration": configuration, **facts}, 20), rule) == expected


@pytest.mark.parametrize(
    "size, breaker, expected",
    [("14 AWG", 15, "passes"), ("12 AWG", 20, "fails"), ("14 AWG", 20, "fails")],
)
def test_push_in_terminals(size, breaker, expected):
    # listing of the device: solid 14 AWG copper on 15 A (from memory)
    w = run(
        {"configuration": "5-15", "terminals": "push-in"},
        breaker,
        supply="120 V",
        conductors={"material": "copper", "size": size, "stranded": "no"},
    )
    assert answer(w, "push-in-terminals") == expected


@pytest.mark.parametrize(
    "disconnect, has, sight",
    [
        # 422.31(B) (from memory): in sight, or a device that locks open
        ("none", "fails", "does not apply"),
        ({"kind": "switch", "visible": "yes", "distance": "10 ft"}, "passes", "passes"),
        ({"kind": "switch", "visible": "no", "locks open": "no"}, "passes", "fails"),
        ({"kind": "breaker with lock-off", "locks open": "yes"}, "passes", "passes"),
        ({"kind": "switch"}, "passes", "cannot tell"),
    ],
)
def test_disconnect_of_a_hard_wired_appliance(disconnect, has, sight):
    w = run("none", 30, {"type": "storage water heater", "power": "4.5 kW"}, disconnect=disconnect)
    assert answer(w, "appliance-has-a-disconnect", "circuits.x.load") == has
    assert answer(w, "disconnect-in-sight-or-locked", "circuits.x.load") == sight


def test_plug_that_can_be_reached_is_the_disconnect():
    # 422.33 (from memory)
    told = {"type": "range", "power": "12 kW", "plug in reach": "yes"}
    w = run({"configuration": "14-50"}, 40, told, "120/240 V")
    assert answer(w, "plug-is-the-disconnect", "circuits.x.load") == "passes"
    assert answer(w, "appliance-has-a-disconnect", "circuits.x.load") == "does not apply"
    hidden = run({"configuration": "14-50"}, 40, {**told, "plug in reach": "no"}, "120/240 V")
    assert answer(hidden, "plug-is-the-disconnect", "circuits.x.load") == "fails"


@pytest.mark.parametrize("amperes, expected", [(40, "passes"), (41, "advice")])
def test_long_load_on_a_plug_is_advice(amperes, expected):
    # 80 % of 50 A (listing of plug-connected vehicle supply equipment; otherwise common practice,
    # no source)
    w = run({"configuration": "6-50"}, 60, {"type": "kiln", "current": f"{amperes} A"})
    assert answer(w, "steady-load-on-a-plug") == expected
