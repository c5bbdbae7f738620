"""Article 220 (120 from 2026) for one dwelling: the standard calculation, step by step.

Sources stand beside each check. "Annex D" is the annex of the Code's own examples as printed on
flylib.com (extract of a pocket guide); "course" and "column" are pages named in the collections of
check values (ids STD and LOAD). What is ours is said to be ours.
"""

import pytest
from job_run import Run
from test_service import BASIC, FIVE_ROOMS, carries, number, run

ALL = ("2017", "2020", "2023", "2026")
BY_EDITION = pytest.mark.parametrize("edition", ALL)
BEFORE_2026 = pytest.mark.parametrize("edition", ALL[:3])  # 2026 takes 2 VA a square foot


def steps(job, *names):
    return tuple(number(job, name) for name in names)


# ---- whole examples ------------------------------------------------------------------------------


@BEFORE_2026
def test_annex_d_example_one_a(edition):
    # LOAD-01: Annex D, D1(a): 1500 ft², a 12 kW range, a 5.5 kW dryer; 18,600 VA, 77.5 A, taken as
    # 78 A; neutral 14,550 VA, 61 A
    job = run(
        {"range": ("range", 12), "dryer": ("dryer", 5.5)},
        edition,
        floor_area="1500 ft²",
        rating="100 A",
    )
    assert steps(job, "floor load", "lighting demand") == (9000, 5100)
    assert steps(job, "cooking demand", "dryer demand") == (8000, 5500)
    assert (number(job, "standard load"), number(job, "standard amperes", "A")) == (18600, 78)
    assert (number(job, "neutral load"), number(job, "neutral amperes", "A")) == (14550, 61)
    assert carries(job) == "passes"  # the example's least service: 100 A


@BEFORE_2026
def test_the_neutral_of_annex_d_example_two_a(edition):
    # LOAD-03: Annex D, D2(a): neutral 15,400 VA, 64 A: lighting 5,100, range 5,600, dryer 3,500,
    # dishwasher 1,200
    loads = {name: load for name, load in BASIC.items() if name != "dishwasher"}
    loads |= {"dishwasher": ("dishwasher", 10, 120), **FIVE_ROOMS}
    volts = {"water heater": 240, **dict.fromkeys(FIVE_ROOMS, 240)}
    job = run({**loads, "cooler": ("air conditioner", 6, 230)}, edition, floor_area="1500 ft²")
    assert number(job, "general load") == 29700
    # the plates of the other loads give watts and no volts: told here
    told = with_volts(loads | {"cooler": ("air conditioner", 6, 230)}, volts)
    job = run_told(told, edition, floor_area="1500 ft²")
    assert (number(job, "neutral load"), number(job, "neutral amperes", "A")) == (15400, 64)


@BEFORE_2026
def test_the_neutral_of_annex_d_example_two_b(edition):
    # LOAD-04: Annex D, D2(b): two ovens of 4 kW and a cooktop of 5.1 kW are 55 % of 13.1 kW (7.2 kW
    # as printed, 7,205 VA unrounded); neutral 14,840 VA as printed, 62 A
    told = with_volts(
        {
            "oven one": ("wall oven", 4),
            "oven two": ("wall oven", 4),
            "cooktop": ("cooktop", 5.1),
            "water heater": ("water heater", 4.5),
            "dishwasher": ("dishwasher", 1.2),
            "dryer": ("dryer", 5),
        },
        {"water heater": 240, "dishwasher": 120},
    )
    job = run_told(told, edition, floor_area="1500 ft²")
    assert number(job, "cooking demand") == 7205
    assert (number(job, "neutral load"), number(job, "neutral amperes", "A")) == (14843.5, 62)


@BEFORE_2026
@pytest.mark.parametrize(
    "neutral, said, asked",
    [
        ("6 AWG", "fails", "does not apply"),  # 65 A
        ("4 AWG", "passes", "refers"),  # 85 A
        ("3 AWG", "passes", "does not apply"),  # 100 A
    ],
)
def test_a_neutral_between_two_readings_is_not_decided(edition, neutral, said, asked):
    # LOAD-02: Annex D, D1(b), leg by leg: a neutral of 83 or 84 A by the printing. Spread over both
    # legs, as D2(a) and D2(b) do, it is 75 A; with every 120 V load on one leg 90 A (ours)
    loads = {
        "range": ("range", 12),
        "dryer": ("dryer", 5.5),
        "cooler": ("air conditioner", 6, 230),
        "bedroom cooler": ("air conditioner", 12, 115),
        "dishwasher": ("dishwasher", 10, 120),
        "disposer": ("disposer", 8, 120),
    }
    wire = {"size": "2 AWG", "material": "copper", "insulation": "XHHW-2", "neutral": neutral}
    job = run(
        loads,
        edition,
        floor_area="1500 ft²",
        rating="110 A",
        conductors={**wire, "terminals": "75 °C"},
    )
    assert steps(job, "neutral load") == (18090,)
    one_leg = number(job, "neutral amperes on one leg", "A")
    assert (number(job, "neutral amperes", "A"), one_leg) == (75, 90)
    assert job.answer("service-neutral-for-its-load", "service") == said
    assert job.answer("service-neutral-leg-by-leg", "service") == asked


HOUSE_OF_A_COLUMN = {
    "disposer": ("disposer", 0.94),
    "dishwasher": ("dishwasher", 1.25),
    "compactor": ("appliance", 1.1),
    "water heater": ("water heater", 4.5),
    "dryer": ("dryer", 4),
    "cooktop": ("cooktop", 6),
    "oven one": ("wall oven", 3),
    "oven two": ("wall oven", 3),
    "heater one": ("separate heater", 3),
    "heater two": ("separate heater", 3),
    "heater three": ("separate heater", 3),
    "cooler": ("air conditioner", 6.44),
}


def test_a_whole_house_of_a_trade_column():
    # STD-11: a trade column, "Dwelling Unit Feeder/Service Conductor Calculations"; inputs and
    # steps are the page's, the totals are ours
    job = run(HOUSE_OF_A_COLUMN, "2017", floor_area="1500 ft²", rating="150 A")
    assert number(job, "lighting demand") == 5100
    assert number(job, "fastened demand") == 5842.5
    assert number(job, "dryer demand") == 5000
    assert number(job, "cooking demand") == 9300  # 4,500 by column A and 4,800 by column B
    assert steps(job, "heating counted", "cooling counted") == (9000, 6440)
    assert number(job, "standard load") == 34242.5
    assert number(job, "standard amperes", "A") == 143
    assert carries(job) in ("passes", "exception applies")


@pytest.mark.parametrize("edition", ["2020", "2023"])
def test_the_motor_that_is_left_out_is_read_both_ways(edition):
    # STD-11 and STD-12: one of three readings since 2020 adds a quarter of the air conditioner:
    # 1,610 VA, 35,852.5 VA in all
    job = run(HOUSE_OF_A_COLUMN, edition, floor_area="1500 ft²", rating="150 A")
    assert number(job, "standard load") == (34242.5, 35852.5)
    assert number(job, "standard amperes", "A") == (143, 149)


@BY_EDITION
def test_the_neutral_of_that_house(edition):
    # STD-14: 17,577.5 VA, 73.2 A with 3 VA a square foot; ours, 70 % lines as in Annex D, D1(a)
    volts = {"water heater": 240, "cooler": 240}
    volts |= {name: 120 for name in ("disposer", "dishwasher", "compactor")}
    volts |= {f"heater {number_}": 240 for number_ in ("one", "two", "three")}
    job = run_told(with_volts(HOUSE_OF_A_COLUMN, volts), edition, floor_area="1500 ft²")
    light = 525 if edition == "2026" else 0  # 35 % of 1,500 VA that 2 VA a square foot leaves out
    assert number(job, "neutral load") == 17577.5 - light


def with_volts(loads, volts):
    told = {}
    for name, (what, *size) in loads.items():
        one = {"type": what}
        if len(size) == 1:
            one["power"] = f"{size[0]} kW"
        else:
            one |= {"current": f"{size[0]} A", "volts": f"{size[1]} V"}
        if name in volts:
            one["volts"] = f"{volts[name]} V"
        told[name] = one
    return told


def run_told(loads, edition, **more):
    return run({}, edition, loads=loads, **more)


# ---- step by step --------------------------------------------------------------------------------


@BEFORE_2026
@pytest.mark.parametrize(
    "feet, kitchen, floor, demand",
    [
        (2500, 2, 12000, 6150),  # STD-01: a page's worked lines
        (3000, 2, 13500, 6675),  # STD-02: a page to the subtotal, the last figure ours
        (3800, 3, 17400, 8040),  # STD-03: coursework; a third kitchen circuit counts
    ],
)
def test_the_lighting_demand(edition, feet, kitchen, floor, demand):
    job = run({}, edition, floor_area=f"{feet} ft²", **{"small-appliance circuits": f"{kitchen}"})
    assert steps(job, "floor load", "lighting demand") == (floor, demand)


def test_the_lighting_demand_of_2026():  # STD-16: 2 VA a square foot at the service, a course page
    assert number(run({}, "2026", floor_area="2000 ft²"), "floor load") == 4000 + 4500
    assert number(run({}, "2023", floor_area="2000 ft²"), "floor load") == 6000 + 4500


@BY_EDITION
def test_four_fastened_appliances_come_down(edition):  # STD-04: a trade forum
    loads = {
        "heater": ("water heater", 4.5),
        "dishwasher": ("dishwasher", 1.5),
        "disposer": ("disposer", 1),
        "compactor": ("appliance", 0.8),
    }
    assert number(run(loads, edition), "fastened demand") == 5850
    del loads["compactor"]
    assert number(run(loads, edition), "fastened demand") == 7000


@pytest.mark.parametrize(
    "edition, demand", [("2017", 5047.5), ("2020", 6730), ("2023", 6730), ("2026", 6730)]
)
def test_a_small_fan_makes_no_four_since_2020(edition, demand):  # STD-07: a course page
    loads = {
        "heater": ("water heater", 4.5),
        "dishwasher": ("dishwasher", 1.2),
        "disposer": ("disposer", 0.94),
        "fan": ("appliance", 0.09),
    }
    assert number(run(loads, edition), "fastened demand") == pytest.approx(demand, abs=0.5)


@BY_EDITION
def test_a_charger_is_not_among_the_four(edition):  # STD-08: a trade forum
    loads = {
        "heater": ("water heater", 4.5),
        "dishwasher": ("dishwasher", 1.2),
        "disposer": ("disposer", 0.94),
        "car": ("EV charger", 11.52),
    }
    job = run(loads, edition, floor_area="1500 ft²")
    assert number(job, "fastened demand") == 6640
    assert number(job, "charging load") == 11520


@BY_EDITION
@pytest.mark.parametrize(
    "units, demand",
    [
        ([("range", 12)], 8000),  # Annex D, D1(a)
        ([("range", 14)], 8800),  # STD-20: a question-and-answer page
        ([("range", 9)], 8000),
        ([("cooktop", 6), ("wall oven", 3), ("wall oven", 3)], 9300),  # STD-11: a trade column
        ([("wall oven", 4), ("wall oven", 4), ("cooktop", 5.1)], 7205),  # Annex D, D2(b)
        ([("range", 12), ("range", 12)], 11000),  # column C, two units (STD-10: a trade column)
        ([("range", 7)], 5600),  # 80 % by column B is less than 8 kW; ours, by the table
        ([("cooktop", 1.5)], 0),  # under the table: an appliance
        ([], 0),
    ],
)
def test_cooking_by_its_table(edition, units, demand):
    loads = {f"unit {'abc'[at]}": unit for at, unit in enumerate(units)}
    assert number(run(loads, edition), "cooking demand") == demand


@BY_EDITION
def test_a_cooking_circuit_of_the_job_counts_like_one_of_the_list(edition):
    circuits = {"range": {"volts": "120/240 V", "load": {"type": "range", "power": "14 kW"}}}
    assert number(run({}, edition, circuits), "cooking demand") == 8800
    circuits = {"dryer": {"volts": "120/240 V", "load": {"type": "dryer", "power": "4 kW"}}}
    assert number(run({}, edition, circuits), "dryer demand") == 5000


@BY_EDITION
def test_space_heat_counts_whole(edition):  # STD-13: a trade column, seven heaters of 3,000 W
    loads = {f"heater {letter}": ("separate heater", 3) for letter in "abcdefg"}
    assert number(run(loads, edition), "heating counted") == 21000


@BY_EDITION
def test_strips_that_wait_for_the_compressor(edition):  # 220.60; ours
    loads = {"pump": ("heat pump", 5.76), "strips": ("heat strips", 15)}
    assert number(run(loads, edition), "heating counted") == 20760
    held = run(loads, edition, strips_wait_for_the_compressor="yes")
    assert number(held, "heating counted") == 15000


@BY_EDITION
def test_the_largest_motor_brings_a_quarter(edition):  # 430.24; ours
    loads = {"pump": ("well pump", 2), "other": ("motor", 1)}
    assert number(run(loads, edition), "motor quarter") == 500
    loads |= {"cooler": ("air conditioner", 4)}
    assert number(run(loads, edition), "motor quarter") == 1000


# ---- the verdict ---------------------------------------------------------------------------------


@BY_EDITION
def test_a_small_service_goes_by_the_standard_calculation(edition):
    # 220.82 begins at 100 A; ours: D1(a)'s house on 60 A and on 80 A
    for rating, said in (("60 A", "fails"), ("80 A", "passes")):
        job = run(
            {"range": ("range", 12), "dryer": ("dryer", 5.5)},
            edition,
            floor_area="1500 ft²",
            rating=rating,
        )
        assert job.answer("small-service-carries-its-load", "service") == said
        assert carries(job) == "does not apply"


def test_either_calculation_will_do():
    # ours: two large ranges come down further by their table than with 40 %
    loads = {f"range {letter}": ("range", 16) for letter in "ab"}
    loads |= {"dryer": ("dryer", 5), "car": ("EV charger", 7.2)}
    job = run(loads, "2023", floor_area="6000 ft²", rating="150 A")
    assert number(job, "optional amperes", "A") == (136, 154)
    assert number(job, "standard amperes", "A") == 147
    assert carries(job) == "exception applies"
    assert job.answer("charging-is-argued", "service") == "does not apply"


# ---- a panel told by a plain list ----------------------------------------------------------------


@pytest.mark.parametrize(
    "edition, charging", [("2017", 3840), ("2020", 3840), ("2023", 7200), ("2026", 7200)]
)
def test_a_panel_and_a_house_read_the_same_least_loads(edition, charging):
    # 220.54: a dryer of 5,000 VA at least; 220.57 of 2023: a charger of 7,200 VA (EVC-01)
    loads = {
        "range": {"type": "range", "power": "14 kW"},
        "dryer": {"type": "dryer", "power": "4 kW"},
        "car": {"type": "EV charger", "power": "3.84 kW"},
    }
    panels = {
        "house": {"feeder": "none"},
        "cottage": {"feeder": "feeder", "small-appliance circuits": "2", "loads": loads},
    }
    job = Run(
        {"feeder": {"volts": "120/240 V", "role": "feeder", "panel": "house"}},
        edition,
        panels=panels,
    )
    assert float(job.fact("panels.cottage", "listed cooking", "VA")) == 8800
    assert float(job.fact("panels.cottage", "listed charging", "VA")) == charging
    # 2 × 1,500 VA, the dryer's 5,000 and the range's 8,800
    assert float(job.fact("panels.cottage", "listed rest", "VA")) == 16800
    assert float(job.fact("circuits.feeder.load", "continuous load", "A")) == charging / 240
    assert float(job.fact("circuits.feeder.load", "noncontinuous load", "A")) == 70
    house = run_told(loads, edition, floor_area="1500 ft²")
    assert steps(house, "dryer demand", "cooking demand") == (5000, 8800)
    assert number(house, "charging load") == charging


def test_a_list_beside_circuits_is_not_taken_for_all():
    panels = {
        "house": {"feeder": "none"},
        "barn": {"feeder": "feeder", "loads": {"kiln": {"type": "kiln", "power": "9.6 kW"}}},
    }
    circuits = {
        "feeder": {"volts": "120/240 V", "role": "feeder", "panel": "house"},
        "saw": {"volts": "240 V", "panel": "barn", "load": {"type": "motor", "horsepower": "3 hp"}},
    }
    job = Run(circuits, "2023", panels=panels)
    assert job.fact("circuits.feeder", "list alone") is not True
