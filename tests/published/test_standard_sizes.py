"""Standard ratings by edition, what is stocked, and the conductors of a 400 A dwelling."""

import pytest
from job_run import EDITIONS, Run

BY_EDITION = pytest.mark.parametrize("edition", (*EDITIONS, "2026"))


# PAN-15: 10 A is a standard rating from 2023, Table 240.6(A); a lesson on breaker ratings,
# expertce.com
@pytest.mark.parametrize(
    "edition, said", [("2017", "passes"), ("2020", "passes"), ("2023", "fails"), ("2026", "fails")]
)
def test_the_next_standard_rating_over_ten_amperes(edition, said):
    # 14 AWG copper, 60 °C column 15 A; nine hundred feet of company bring it under 10 A: 15 × 0.5 =
    # 7.5 A
    company = {
        f"other {n}": {"volts": "240 V", "conductors": {"size": "12 AWG", "material": "copper"}}
        for n in range(5)
    }
    names = ["one", *company]
    w = Run(
        {
            "one": {
                "volts": "240 V",
                "more than one receptacle": "no",
                "breaker": {"rating": "15 A"},
                "conductors": {"size": "14 AWG", "material": "copper", "insulation": "TW"},
                "segments": [
                    {
                        "method": "EMT",
                        "length": "90 ft",
                        "ambient": "30 °C",
                        "location": "dry",
                        "bundle": "all",
                    }
                ],
            },
            **company,
        },
        edition,
        bundles={"all": {"kind": "raceway", "circuits": names, "length together": "90 ft"}},
    )
    assert float(w.fact("circuits.one.conductors", "ampacity", "A")) == 7.5
    answer = w.answer("breaker-protects-conductors", "circuits.one.conductors")
    assert answer == {"passes": "exception applies", "fails": "fails"}[said]


@BY_EDITION
@pytest.mark.parametrize("amperes", [3, 8, 10])
def test_no_breaker_is_designed_that_nobody_stocks(edition, amperes):
    # common practice, no source: small loads are put on 15 A
    load = {
        "type": "other",
        "current": f"{amperes} A",
        "continuous": "no",
        "motor operated": "no",
        "hermetic": "no",
    }
    w = Run({"one": {"volts": "240 V", "load": load}}, edition)
    assert float(w.fact("circuits.one.breaker", "rating", "A")) == 15


# SVG-01: the dwelling table, "Electrical Feeder Size Chart: 100-400 Amps (NEC 310.12)",
# learnmetrics.com
SIZES = {
    "copper": {
        200: "2/0 AWG",
        225: "3/0 AWG",
        300: "250 kcmil",
        350: "350 kcmil",
        400: "400 kcmil",
    },
    "aluminum": {
        200: "4/0 AWG",
        225: "250 kcmil",
        300: "350 kcmil",
        350: "500 kcmil",
        400: "600 kcmil",
    },
}


@BY_EDITION
@pytest.mark.parametrize("material, rating", [(m, r) for m in SIZES for r in SIZES[m]])
def test_the_conductors_of_a_dwelling(edition, material, rating):
    w = Run(
        {
            "main": {
                "role": "feeder",
                "volts": "120/240 V",
                "serves the whole dwelling": "yes",
                "load": {"current": "100 A", "continuous": "no"},
                "breaker": {"rating": f"{rating} A"},
                "conductors": {"material": material, "insulation": "XHHW-2"},
                "supply termination": {"marking": "75 °C"},
                "load termination": {"marking": "75 °C"},
                "segments": [
                    {
                        "method": "PVC 40",
                        "length": "20 ft",
                        "ambient": "30 °C",
                        "location": "wet",
                        "bundle": "none",
                    }
                ],
            }
        },
        edition,
    )
    assert w.fact("circuits.main.conductors", "minimum size") == SIZES[material][rating]
