"""Article 625 and load management, thing by thing.

Values are those of the second collection of check values (ids EVC), each with its page: the
disconnect from forum threads on 625.43 and a course page on 2026; the plug from a page that prints
625.44 of 2020 and a course page on 2026; the air from a building-code forum, its table from memory;
the load manager from a course page and a trade column on 220.70, and a page on Article 750.
"""

import pytest
from job_run import Run
from test_service import BASIC, HOUSE, carries, number, run

ALL = ("2017", "2020", "2023", "2026")
BY_EDITION = pytest.mark.parametrize("edition", ALL)


def charger(edition, current=48, circuit=None, **load):
    told = {"type": "EV charger", "current": f"{current} A", "connection": "hard-wired"}
    return Run(
        {
            "car": {
                "volts": "240 V",
                "role": "branch circuit",
                **({"receptacle": "none"} if "receptacle" not in (circuit or {}) else {}),
                **(circuit or {}),
                "load": {**told, **{name.replace("_", " "): said for name, said in load.items()}},
            }
        },
        edition,
    )


def on_circuit(job, rule):
    return job.answer(rule, "circuits.car")


def on_load(job, rule):
    return job.answer(rule, "circuits.car.load")


@BY_EDITION
@pytest.mark.parametrize("current, before", [(48, False), (60, False), (80, True)])
def test_which_charger_has_a_disconnect(edition, current, before):  # EVC-07
    job = charger(edition, current, {"disconnect": "none"})
    wanted = before or edition == "2026"
    assert on_circuit(job, "charger-has-a-disconnect") == ("fails" if wanted else "does not apply")


@BY_EDITION
def test_how_that_disconnect_is_made(edition):  # EVC-07; the plaque since 2020 from memory
    far = {"kind": "breaker", "in sight": "no", "readily accessible": "no", "plaque": "no"}
    job = charger(edition, 80, {"disconnect": far})
    assert on_circuit(job, "charger-has-a-disconnect") == "passes"
    assert on_circuit(job, "charger-disconnect-in-reach") == "fails"
    assert on_circuit(job, "charger-disconnect-locks-open") == "fails"
    if edition != "2017":
        assert on_circuit(job, "charger-says-where-its-disconnect-is") == "fails"
    near = {**far, "in sight": "yes", "locks open": "yes", "readily accessible": "yes"}
    job = charger(edition, 80, {"disconnect": near})
    assert on_circuit(job, "charger-disconnect-in-reach") == "passes"
    assert on_circuit(job, "charger-disconnect-locks-open") == "passes"
    if edition != "2017":
        assert on_circuit(job, "charger-says-where-its-disconnect-is") == "passes"


@BY_EDITION
@pytest.mark.parametrize(
    "where, rule, least",
    [
        ("garage", "coupler-height-indoors", 18),
        ("indoors", "coupler-height-indoors", 18),
        ("outdoors", "coupler-height-outdoors", 24),
    ],
)
def test_the_height_of_the_plug(edition, where, rule, least):
    # 625.50: 24 in outdoors, a page for a licence examination; 18 in indoors from memory
    for height, said in ((least - 1, "fails"), (least, "passes"), (least + 1, "passes")):
        job = charger(edition, 40, {"outlet at": where}, coupler_height=f"{height} in")
        assert on_load(job, rule) == said, height


def test_a_cord_set_that_is_carried_about_has_no_height():
    plug = {"outlet at": "outdoors", "receptacle": {"configuration": "6-50"}}
    for portable, said in (("yes", "exception applies"), ("no", "fails")):
        job = charger(
            "2023", 32, plug, connection="cord and plug", portable=portable, coupler_height="6 in"
        )
        assert on_load(job, "coupler-height-outdoors") == said


@pytest.mark.parametrize(
    "volts, amperes, least",
    [
        (240, 15, 74),
        (240, 20, 99),
        (240, 30, 148),
        (240, 40, 197),
        (240, 50, 246),
        (240, 60, 296),
        (240, 100, 493),
        (120, 15, 37),
        (120, 20, 49),
        (120, 30, 74),
    ],
)
def test_how_much_air_a_charger_wants(volts, amperes, least):  # EVC-10, the table from memory
    circuit = {
        "volts": f"{volts} V",
        "breaker": {"rating": f"{amperes} A"},
        "outlet at": "garage",
    }
    for air, said in ((least - 1, "fails"), (least, "passes")):
        job = charger(
            "2023", 12, circuit, ventilation_mark="required", fan_airflow=air, fan_interlocked="yes"
        )
        assert on_load(job, "fan-moves-enough-air") == said, air
        assert on_load(job, "fan-runs-with-the-charger") == "passes"


def test_a_listed_charger_wants_no_air_unless_marked():  # EVC-10, first line
    job = charger("2023", 40, {"outlet at": "garage"}, listed="yes")
    assert on_load(job, "fan-moves-enough-air") == "does not apply"


@BY_EDITION
@pytest.mark.parametrize("rating, before", [(50, "passes"), (60, "fails")])
def test_the_largest_receptacle_of_a_charger(edition, rating, before):
    # a page that prints 625.44 of 2020; 2026 is reported to name 30, 50 and 60 A
    job = charger(
        edition,
        24,
        {"receptacle": {"rating": f"{rating} A", "existing": "no"}},
        connection="cord and plug",
    )
    if edition != "2026":
        assert job.answer("charger-on-a-plug-of-fifty-at-most", "circuits.car.receptacle") == before


def test_the_plug_has_a_quarter_to_spare_in_2026():  # EVC-12
    for current, said in ((40, "passes"), (41, "fails")):
        job = charger(
            "2026",
            current,
            {"receptacle": {"configuration": "6-50", "existing": "no"}},
            connection="cord and plug",
        )
        rule = "plug-of-a-charger-has-a-quarter-to-spare"
        assert job.answer(rule, "circuits.car.receptacle") == said


@pytest.mark.parametrize("edition", ["2020", "2023", "2026"])
@pytest.mark.parametrize(
    "access, label, amperes",
    [
        ("a cover that takes a tool", "yes", 40),
        ("a password for qualified people", "yes", 40),
        ("app", "yes", 60),
        ("a lock", "no", 60),
    ],
)
def test_who_may_change_the_setting_sizes_the_wire(edition, access, label, amperes):  # EVC-13
    job = charger(edition, 48, setting="32 A", access_to_the_setting=access, setting_label=label)
    assert float(job.fact("circuits.car.breaker", "minimum rating", "A")) == amperes


def test_in_2017_no_setting_counts():
    job = charger("2017", 48, setting="32 A", access_to_the_setting="a lock", setting_label="yes")
    assert float(job.fact("circuits.car.breaker", "minimum rating", "A")) == 60


@pytest.mark.parametrize(
    "edition, breaker, wired, said",
    [
        ("2017", 50, True, "does not apply"),
        ("2020", 50, True, "refers"),
        ("2023", 60, True, "does not apply"),
        ("2023", 50, True, "refers"),
        ("2026", 60, True, "refers"),
        ("2026", 80, True, "does not apply"),
    ],
)
def test_maker_against_code_only_where_the_code_asks(edition, breaker, wired, said):  # G-12
    # 210.8(F): outdoor outlets to 50 A in 2020 and 2023, to 60 A in 2026
    job = charger(
        edition,
        breaker * 0.8,
        {"outlet at": "outdoors", "breaker": {"rating": f"{breaker} A"}, "GFCI": "no"},
        instructions_forbid_GFCI="yes",
    )
    assert on_circuit(job, "gfci-against-the-instructions") == "does not apply"
    if edition != "2017":
        assert on_circuit(job, "gfci-outdoors-against-the-instructions") == said


# ---- load managers -------------------------------------------------------------------------------

SOUND = {
    "listed": "yes",
    "access to the setting": "a lock",
    "without its signal": "stops",
}


def pair(edition, **manager):
    """Two chargers of 48 A in a barn, held by one load manager."""
    car = {
        "volts": "240 V",
        "panel": "barn",
        "load manager": "watchman",
        "load": {"type": "EV charger", "current": "48 A", "connection": "hard-wired"},
    }
    told = {"holds": "the chargers", "limit": "48 A", "chargers": 2, "chargers on one panel": "yes"}
    return Run(
        {"left": car, "right": car, "feeder": {"volts": "120/240 V", "panel": "house"}},
        edition,
        panels={
            "house": {"feeder": "none"},
            "barn": {"feeder": "feeder", "all circuits described": "yes"},
        },
        **{"load managers": {"watchman": {**told, **SOUND, **manager}}},
    )


@BY_EDITION
def test_chargers_that_are_held_together_count_with_the_limit(edition):
    # 625.42: the most that the load management lets them take; 48 A of 96 A
    job = pair(edition)
    assert float(job.fact("circuits.feeder.load", "continuous load", "A")) == 48


@BY_EDITION
@pytest.mark.parametrize(
    "change",
    [
        {"listed": "no"},
        {"access to the setting": "anybody"},
        {"without its signal": "goes on"},
        {"chargers on one panel": "no"},
    ],
)
def test_what_is_not_sure_is_no_limit(edition, change):
    job = pair(edition, **change)
    assert float(job.fact("circuits.feeder.load", "continuous load", "A")) == 96


@pytest.mark.parametrize(
    "edition, amperes", [("2017", 20), ("2020", 20), ("2023", 30), ("2026", 30)]
)
def test_a_low_limit_counts_with_the_least_load_once(edition, amperes):  # 220.57, EVC-01
    job = pair(edition, limit="20 A")
    assert float(job.fact("circuits.feeder.load", "continuous load", "A")) == amperes


def held(edition, limit, **manager):
    """A house of 29,700 VA of general loads, a heat pump of 2,880 VA and a charger of 11,520 VA."""
    loads = {name: {"type": what, "power": f"{kw} kW"} for name, (what, kw) in BASIC.items()}
    loads["pump"] = {"type": "heat pump", "power": "2.88 kW"}
    house = {**HOUSE, "rating": "100 A", "floor area": "1500 ft²", "loads": loads}
    told = {"holds": "the service", "limit": limit, "chargers": 1}
    return Run(
        {
            "car": {
                "volts": "240 V",
                "load manager": "watchman",
                "load": {"type": "EV charger", "current": "48 A", "connection": "hard-wired"},
            }
        },
        edition,
        building="one-family dwelling",
        service=house,
        **{"load managers": {"watchman": {**told, **SOUND, **manager}}},
    )


@pytest.mark.parametrize("edition, without", [("2023", "fails"), ("2026", "cannot tell")])
def test_a_service_that_is_held(edition, without):
    # EVC-14: the set point is the load, a continuous one: 80 A on 100 A, and no more
    assert carries(held(edition, "80 A")) == "exception applies"
    assert carries(held(edition, "81 A")) == without
    assert carries(held(edition, "80 A", **{"access to the setting": "anybody"})) == without
    assert carries(held(edition, "80 A", **{"without its signal": "goes on"})) == without


@pytest.mark.parametrize("edition", ["2017", "2020"])
def test_before_the_book_said_so_it_is_asked(edition):  # EVC-14: no section
    job = held(edition, "80 A")
    assert job.answer("service-held-before-the-book-says-so", "service") == "refers"
    assert carries(job) != "passes"


@pytest.mark.parametrize(
    "what, said",
    [
        ("elevator", "fails"),
        ("ventilation of a hazardous place", "fails"),
        ("water heater", "passes"),
        ("something else", "passes"),
    ],
)
@BY_EDITION
def test_what_a_load_manager_may_turn_off(edition, what, said):  # EVC-16
    job = pair(edition, **{"shed loads": {"one": {"what": what}}})
    assert job.answer("what-must-stay-on", "load managers.watchman.shed loads.one") == said


def test_both_readings_of_the_house_in_the_collection():
    # EVC-04: 29,700 VA of general loads and 11,520 VA of charging come to 22,488 VA among the rest
    w = run(
        BASIC,
        "2023",
        {"car": {"volts": "240 V", "load": {"type": "EV charger", "current": "48 A"}}},
        floor_area="1500 ft²",
        rating="100 A",
    )
    assert number(w, "load with charging pooled") == 22488
    # and LOAD-10's amperes by the method for existing dwellings stand in test_service.py
    assert number(w, "load with charging whole") == 29400
