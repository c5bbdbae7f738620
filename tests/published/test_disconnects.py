"""What shuts a motor or an appliance off: a breaker without a lock-off, a plug, and who must have a
disconnect at all.

The section is named beside each check; what the sections say is from memory.
"""

import pytest
from job_run import EDITIONS, Run

ALL = (*EDITIONS, "2026")


def run(load_, disconnect=None, edition="2023", **circuit):
    """The job of one circuit called x, its breaker in another room."""
    body = {
        "volts": "240 V",
        "more than one receptacle": "no",
        "load": load_,
        "conductors": {"material": "copper"},
        **({"disconnect": disconnect} if disconnect else {}),
        **circuit,
    }
    return Run({"x": body}, edition, building="one-family dwelling")


def on_the_circuit(w, rule):
    return w.answer(rule, "circuits.x")


def on_the_load(w, rule):
    return w.answer(rule, "circuits.x.load")


FAR = {"visible": "no", "distance": "60 ft"}
NEAR = {"visible": "yes", "distance": "6 ft"}
PANEL_BREAKER = {"kind": "breaker", **FAR}
LOCK_OFF = {"kind": "breaker with lock-off", **FAR}
WATER_HEATER = {"type": "storage water heater", "power": "4.5 kW", "connection": "hard-wired"}


@pytest.mark.parametrize("edition", ALL)
@pytest.mark.parametrize(
    "disconnect, said",
    [
        (PANEL_BREAKER, "fails"),  # 422.31(B): out of sight it must lock
        ({"kind": "breaker", **NEAR}, "passes"),  # in sight it need not
        (LOCK_OFF, "cannot tell"),  # 110.25: does the lock-off stay there without its lock?
        ({**LOCK_OFF, "locks open": "yes"}, "passes"),
        ({**LOCK_OFF, "locks open": "no"}, "fails"),  # a clip that is carried away
    ],
)
def test_breaker_in_the_panel_disconnects_an_appliance(disconnect, said, edition):
    w = run(WATER_HEATER, disconnect, edition)
    assert on_the_load(w, "appliance-has-a-disconnect") == "passes"
    assert on_the_load(w, "disconnect-in-sight-or-locked") == said


@pytest.mark.parametrize("edition", ALL)
@pytest.mark.parametrize(
    "load_",
    [
        # 424.19 for heaters that warm a room; 422.30 and 422.31 for appliances
        {"type": "space heater", "power": "4 kW"},
        {"type": "sauna", "power": "8 kW"},
        {"type": "other", "exact appliance": "dishwasher", "current": "10 A"},
        {"type": "other", "exact appliance": "waste disposer", "current": "8 A"},
        {"type": "other", "current": "20 A", "motor operated": "no", "hermetic": "no"},
    ],
)
def test_fixed_equipment_has_a_disconnect(load_, edition):
    load_ = {**load_, "connection": "hard-wired"}
    assert on_the_load(run(load_, "none", edition), "appliance-has-a-disconnect") == "fails"
    far = run(load_, PANEL_BREAKER, edition)
    assert on_the_load(far, "appliance-has-a-disconnect") == "passes"
    assert on_the_load(far, "disconnect-in-sight-or-locked") == "fails"


def test_load_of_another_kind_is_asked_what_is_in_it():
    w = run({"type": "other", "current": "20 A", "connection": "hard-wired"}, "none")
    assert on_the_load(w, "appliance-has-a-disconnect") == "cannot tell"


def test_plug_of_a_sauna_heater_is_in_reach():
    load_ = {"type": "sauna", "power": "3 kW", "connection": "cord and plug"}
    assert on_the_load(run({**load_, "plug in reach": "no"}), "plug-is-the-disconnect") == "fails"
    assert on_the_load(run({**load_, "plug in reach": "yes"}), "plug-is-the-disconnect") == "passes"


@pytest.mark.parametrize(
    "disconnect, said",
    [
        (PANEL_BREAKER, "fails"),
        ({**PANEL_BREAKER, "impracticable in sight": "yes"}, "fails"),  # it does not lock
        ({**LOCK_OFF, "impracticable in sight": "yes"}, "fails"),  # nor is this one known to
        ({**LOCK_OFF, "impracticable in sight": "yes", "locks open": "no"}, "fails"),
        # 430.102(B)(2) exc.; the disconnect of 430.102(A) may be any that locks
        (
            {**LOCK_OFF, "impracticable in sight": "yes", "locks open": "yes"},
            "exception applies",
        ),
        (
            {"kind": "switch", **FAR, "impracticable in sight": "yes", "locks open": "yes"},
            "exception applies",
        ),
    ],
)
def test_motor_out_of_sight_of_its_disconnect(disconnect, said):
    w = run({"type": "motor", "horsepower": "2 hp", "connection": "hard-wired"}, disconnect)
    assert on_the_circuit(w, "motor-disconnect-in-sight") == said


@pytest.mark.parametrize("kind", ["breaker", "breaker with lock-off"])
def test_breaker_out_of_sight_never_serves_a_condenser(kind):
    # 440.14: its exception 1 is for industrial process equipment, so a lock does not help
    w = run(
        {"type": "heat pump", "MCA": "21 A", "MOCP": "35 A", "connection": "hard-wired"},
        {"kind": kind, **FAR, "locks open": "yes"},
    )
    assert on_the_circuit(w, "equipment-disconnect-in-sight") == "fails"


def test_motor_operated_appliance_out_of_sight():
    # 422.31(C): in sight, or locked open
    disposer = {
        "type": "other",
        "exact appliance": "waste disposer",
        "motor operated": "yes",
        "horsepower": "3/4 hp",
        "connection": "hard-wired",
    }
    locked = run(disposer, {**LOCK_OFF, "locks open": "yes"})
    assert on_the_circuit(locked, "motor-disconnect-in-sight") == "exception applies"
    assert on_the_circuit(run(disposer, PANEL_BREAKER), "motor-disconnect-in-sight") == "fails"


SAW = {"type": "motor", "connection": "cord and plug", "starts automatically": "no"}
NOT_ONE = {"plugged appliance": "no", "portable": "no"}


@pytest.mark.parametrize("edition", ALL)
@pytest.mark.parametrize("disconnect", [None, "none", {"kind": "cord and plug", **NEAR}])
@pytest.mark.parametrize(
    "told, said",
    [
        # 430.109(F)
        ({"horsepower": "3 hp", **NOT_ONE, "plug horsepower": "0 hp"}, "fails"),
        ({"horsepower": "3 hp", **NOT_ONE, "plug horsepower": "2 hp"}, "fails"),
        ({"horsepower": "3 hp", **NOT_ONE, "plug horsepower": "3 hp"}, "passes"),
        ({"horsepower": "3 hp", **NOT_ONE}, "cannot tell"),
        ({"horsepower": "3 hp", "portable": "yes", "plugged appliance": "no"}, "cannot tell"),
        ({"horsepower": "1/3 hp", "portable": "yes"}, "exception applies"),
        (
            {"horsepower": "1/3 hp", "portable": "no", "plugged appliance": "no"},
            "cannot tell",
        ),
        ({"horsepower": "3/4 hp", "exact appliance": "waste disposer"}, "exception applies"),
    ],
)
def test_plug_disconnects_a_motor_by_its_horsepower(told, said, disconnect, edition):
    w = run({**SAW, **told}, disconnect, edition)
    assert on_the_circuit(w, "plug-of-a-motor-by-its-horsepower") == said


def test_plug_that_is_no_disconnect_leaves_the_motor_without_one():
    told = {**SAW, "horsepower": "3 hp", **NOT_ONE, "plug horsepower": "0 hp"}
    assert on_the_circuit(run(told, "none"), "motor-has-a-disconnect") == "fails"
    rated = run({**told, "plug horsepower": "3 hp"}, "none")
    assert on_the_circuit(rated, "motor-has-a-disconnect") == "exception applies"


def test_switch_beside_a_plugged_motor_relieves_the_plug():
    told = {**SAW, "horsepower": "3 hp", **NOT_ONE, "plug horsepower": "0 hp"}
    w = run(told, {"kind": "switch", **NEAR, "horsepower rating": "3 hp"})
    assert on_the_circuit(w, "plug-of-a-motor-by-its-horsepower") == "exception applies"
    assert on_the_circuit(w, "motor-disconnect-in-sight") == "passes"
    assert on_the_circuit(w, "motor-disconnect-horsepower") == "passes"


def test_room_air_conditioner_is_disconnected_by_its_plug():
    # 440.13, 440.63: no horsepower is asked of it
    w = run({"type": "air conditioner", "current": "10 A", "connection": "cord and plug"}, "none")
    assert on_the_circuit(w, "equipment-has-a-disconnect") == "exception applies"
    assert on_the_circuit(w, "plug-of-a-motor-by-its-horsepower") == "does not apply"


@pytest.mark.parametrize("edition", ALL)
def test_hard_wired_welder_has_a_disconnect(edition):
    welder = {"type": "welder", "current": "50 A", "duty cycle": "40 %"}  # 630.13
    wired = {**welder, "connection": "hard-wired"}
    rule = "welder-has-a-disconnect"
    assert on_the_circuit(run(wired, "none", edition), rule) == "fails"
    assert on_the_circuit(run(wired, PANEL_BREAKER, edition), rule) == "passes"
    plugged = run({**welder, "connection": "cord and plug"}, "none", edition)
    assert on_the_circuit(plugged, rule) == "does not apply"
