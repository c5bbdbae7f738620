"""Vehicle charging in the load of a service and of a feeder, read both ways where it is argued."""

import pytest
from job_run import EDITIONS, Run
from test_service import BASIC, FULL, PEAK, carries, number, run

from whywire.engine.answering.findings import needs

ALL = (*EDITIONS, "2026")
BY_EDITION = pytest.mark.parametrize("edition", ALL)


def charger(amperes, **more):
    load = {"type": "EV charger", "current": f"{amperes} A", "connection": "hard-wired"}
    return {
        "car": {
            "volts": "240 V",
            "load": {**load, **{k.replace("_", " "): v for k, v in more.items()}},
        }
    }


# 1500 ft² and BASIC are 29,700 VA of general loads: by either edition's first part, with nothing
# else, computed here.
# A charger of 11,520 VA: among the rest 40 % of it, whole all of it; 6,912 VA, 29 A, lie between.
@pytest.mark.parametrize(
    "edition, among, whole",
    [("2017", 94, 123), ("2020", 94, 123), ("2023", 94, 123), ("2026", 86, 115)],
)
def test_both_readings_are_made(edition, among, whole):
    w = run(BASIC, edition, charger(48), floor_area="1500 ft²", rating="100 A")
    assert number(w, "optional amperes", "A") == (among, whole)
    assert number(w, "amperes with charging pooled", "A") == among
    assert number(w, "amperes with charging whole", "A") == whole


# 220.82(B)(3) and 220.57: which reading is right is argued (doubts, LOAD-10)
@BY_EDITION
@pytest.mark.parametrize(
    "rating, more, said, argued",
    [
        ("150 A", {}, "passes", False),  # both readings fit
        ("100 A", {}, "cannot tell", True),  # they part
        ("100 A", {"kiln": ("kiln", 40)}, "fails", False),  # neither fits
    ],
)
def test_the_verdict_follows_both_readings(edition, rating, more, said, argued):
    w = run({**BASIC, **more}, edition, charger(48), floor_area="1500 ft²", rating=rating)
    assert carries(w) == said
    assert (w.answer("charging-is-argued", "service") == "refers") is argued


def test_an_existing_dwelling_is_read_both_ways_too():
    # 220.83(A): 8 kVA and 40 % of 33,220 VA are 89 A; with the charger whole 118 A; computed
    standing = {"existing dwelling": "yes", "work": "left as it is", "floor_area": "1500 ft²"}
    for rating, said, argued in (
        ("100 A", "cannot tell", True),
        ("120 A", "exception applies", False),
        ("125 A", "passes", False),
    ):
        w = run(BASIC, "2023", charger(48), rating=rating, **standing)
        assert number(w, "existing amperes", "A") == (89, 118)
        assert carries(w) == said, rating
        assert (w.answer("charging-is-argued", "service") == "refers") is argued, rating


def test_what_is_missing_is_asked_before_a_reading_is_chosen():
    w = run(BASIC, "2023", charger(48), rating="100 A")
    assert carries(w) == "cannot tell"
    assert w.answer("charging-is-argued", "service") in ("cannot tell", False)
    assert "floor area" in {
        n.fact for n in needs(w.w, w.k.rules["service-carries-its-load"], w.things["service"])
    }


@BY_EDITION
def test_a_measured_peak_is_not_withheld_because_of_a_charger(edition):
    # 220.87: 125 % of 12.4 kW and 7,680 VA on 240 V are 97 A; trade forum, "Peak Demand NEC 220.87"
    w = run(FULL, edition, charger(32), **PEAK)
    assert number(w, "measured amperes", "A") == 97
    assert carries(w) == "exception applies"
    assert w.answer("charging-is-argued", "service") != "refers"


@pytest.mark.parametrize(
    "change", [{"on-site sources": "yes"}, {"peak record": "other"}, {"peak demand": "13.2 kW"}]
)
def test_its_own_conditions_still_withhold_it(change):
    assert carries(run(FULL, "2023", charger(32), **{**PEAK, **change})) == "fails"


@pytest.mark.parametrize(
    "edition, amperes, volt_amperes",
    [
        ("2017", 16, 3840),
        ("2020", 16, 3840),
        ("2023", 16, 7200),
        ("2026", 16, 7200),
        ("2023", 30, 7200),
        ("2023", 48, 11520),
    ],
)
def test_the_least_load_of_a_charger(edition, amperes, volt_amperes):
    # 220.57 of 2023 (course page, doubts section 2): 7,200 VA or the nameplate, whichever is larger
    w = run({}, edition, charger(amperes), floor_area="1500 ft²")
    assert number(w, "charging load") == volt_amperes
    kilowatts = amperes * 240 / 1000
    w = run({"car": ("EV charger", kilowatts)}, edition, floor_area="1500 ft²")
    assert number(w, "charging load") == volt_amperes


@pytest.mark.parametrize(
    "edition, setting, volt_amperes",
    [
        ("2017", 40, 11520),
        ("2020", 40, 9600),
        ("2023", 40, 9600),
        ("2023", 16, 7200),
        ("2026", 16, 7200),
    ],
)
def test_a_restricted_setting_counts_at_the_service(edition, setting, volt_amperes):
    # 625.42 since 2020 (S14 of the notes); 220.57 keeps its floor whatever the setting
    told = {"restricted_setting": "yes", "setting": f"{setting} A"}
    assert number(run({}, edition, charger(48, **told)), "charging load") == volt_amperes
    told["restricted_setting"] = "no"
    assert number(run({}, edition, charger(48, **told)), "charging load") == 11520


@pytest.mark.parametrize(
    "edition, setting, amperes",
    [("2020", 16, 16), ("2023", 16, 30), ("2023", 40, 40), ("2017", 40, 48)],
)
def test_a_restricted_setting_counts_at_the_feeder(edition, setting, amperes):
    circuits = charger(48, restricted_setting="yes", setting=f"{setting} A")
    circuits["car"]["panel"] = "shop"
    circuits["feeder"] = {"volts": "120/240 V", "panel": "house"}
    panels = {
        "house": {"feeder": "none"},
        "shop": {"feeder": "feeder", "all circuits described": "yes"},
    }
    w = Run(circuits, edition, panels=panels)
    assert float(w.fact("circuits.feeder.load", "continuous load", "A")) == amperes


@BY_EDITION
def test_a_restricted_setting_counts_for_the_drop(edition):
    w = Run(charger(48, restricted_setting="yes", setting="24 A"), edition)
    assert float(w.fact("circuits.car.load", "drop current", "A")) == (
        48 if edition == "2017" else 24
    )
    assert (
        float(
            Run(charger(48, restricted_setting="no", setting="24 A"), edition).fact(
                "circuits.car.load", "drop current", "A"
            )
        )
        == 48
    )


@pytest.mark.parametrize(
    "load, size", [(10, 100), (20, 125), (25, 150), (30, 200), (45, 225), (50, 400)]
)
def test_a_service_is_proposed_in_a_size_that_is_sold(load, size):
    # common practice, no source: meter sockets and panels of houses; 110 A and 175 A are not among
    # them
    w = run({"heat": ("heat storage", load)}, floor_area="1500 ft²")
    assert number(w, "least rating", "A") == size, number(w, "optional amperes", "A")
