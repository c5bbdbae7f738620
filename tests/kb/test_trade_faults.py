"""Mistakes of the trade that these rules once made, twelve of them in a first trial. Each is a test
that it is not made again.
"""

import copy

from whywire.engine import inspect, load
from whywire.engine.basics.units import in_unit


def circuit(**more):
    c = {
        "volts": "240 V",
        "length": "40 ft",
        "more than one receptacle": "no",
        "load": {
            "type": "other",
            "current": "40 A",
            "continuous": "no",
            "connection": "hard-wired",
        },
        "breaker": {"rating": "40 A"},
        "conductors": {"size": "8 AWG", "material": "copper"},
        "segments": [
            {
                "method": "NM-B",
                "length": "40 ft",
                "place": "conditioned space",
                "location": "dry",
                "bundle": "none",
            }
        ],
        "receptacle": "none",
    }
    for k, v in more.items():
        c[k.replace("_", " ")] = v
    return copy.deepcopy(c)


def job(**circuits):
    return inspect(
        {
            "job": "trial",
            "edition": "2023",
            "building": "one-family dwelling",
            "circuits": {n.replace("_", " "): c for n, c in circuits.items()},
        }
    )


def answer(found, rule, thing):
    return found.w.answer(found.k.rules[rule], found.w.things[thing])


def amount(found, thing, fact):
    x = found.w.things[thing]
    w = found.k.words.kinds[x[0].kind].words[fact]
    return in_unit(x[w.slot], w.unit)


def hot(*lengths):
    return [
        {
            "method": "NM-B",
            "length": f"{n} ft",
            "place": "attic" if i % 2 == 0 else "conditioned space",
            **({"ambient": "140 °F"} if i % 2 == 0 else {}),
            "location": "dry",
            "bundle": "none",
        }
        for i, n in enumerate(lengths)
    ]


def test_hot_parts_are_taken_together():
    # T1: 9 ft and 9 ft of 140 °F attic in a run of 200 ft are 18 ft, and 39.05 A is what counts
    # (310.14(A)(2) exc.)
    found = job(c=circuit(length="200 ft", segments=hot(9, 91, 9, 91)))
    assert float(amount(found, "circuits.c.conductors", "adjusted ampacity")) == 39.05
    assert answer(found, "load-after-correction", "circuits.c.conductors") == "fails"
    found = job(c=circuit(length="200 ft", segments=hot(5, 95, 5, 95)))  # 10 ft of 200: forgiven
    assert amount(found, "circuits.c.conductors", "adjusted ampacity") == 55


def test_harmonics_do_not_make_a_single_phase_neutral_count():
    # T2: 310.15(E)(3) speaks of four-wire wye systems only
    found = job(
        a=circuit(volts="120/240 V", mostly_nonlinear="yes"),
        b=circuit(volts="208Y/120 V four-wire", mostly_nonlinear="yes"),
        c=circuit(volts="208Y/120 V four-wire", mostly_nonlinear="no"),
    )
    assert [amount(found, f"circuits.{c}", "current-carrying conductors") for c in "abc"] == [
        2,
        4,
        3,
    ]


def test_the_ground_never_exceeds_the_circuit_conductors():
    # T3: 250.122(A): a 35 A heat pump on 12 AWG with a 12 AWG EGC is legal
    found = job(
        c=circuit(
            load={"type": "heat pump", "MCA": "21 A", "MOCP": "35 A", "connection": "hard-wired"},
            breaker={"rating": "35 A"},
            conductors={
                "size": "12 AWG",
                "material": "copper",
                "insulation": "THWN-2",
                "EGC size": "12 AWG",
                "EGC material": "copper",
            },
            supply_termination={"marking": "75 °C"},
            load_termination={"marking": "75 °C"},
            segments=[
                {
                    "method": "EMT",
                    "trade size": "1/2",
                    "length": "30 ft",
                    "place": "conditioned space",
                    "location": "dry",
                    "bundle": "none",
                }
            ],
        )
    )
    assert [f.rule for f in found.findings if f.answer == "fails"] == []


def test_an_unmarked_termination_over_100_amperes_is_read_at_75():
    # T4: 110.14(C)(1)(b): 125 A on 1 AWG copper: 130 A
    found = job(
        c=circuit(
            load={
                "type": "other",
                "current": "120 A",
                "continuous": "no",
                "connection": "hard-wired",
            },
            breaker={"rating": "125 A"},
            conductors={"size": "1 AWG", "material": "copper", "insulation": "THWN-2"},
            segments=[
                {
                    "method": "EMT",
                    "length": "30 ft",
                    "place": "conditioned space",
                    "location": "dry",
                    "bundle": "none",
                }
            ],
        )
    )
    assert amount(found, "circuits.c.conductors", "ampacity at the terminations") == 130
    assert answer(found, "breaker-protects-conductors", "circuits.c.conductors") == "passes"


def test_a_feeder_to_a_shop_with_many_receptacles_may_round_up():
    # T5: 240.4(B)(1) is about branch circuits
    wire = {"size": "6 AWG", "material": "copper"}
    found = job(
        c=circuit(
            role="feeder",
            more_than_one_receptacle="yes",
            breaker={"rating": "60 A"},
            conductors=wire,
        ),
        d=circuit(more_than_one_receptacle="yes", breaker={"rating": "60 A"}, conductors=wire),
    )
    assert (
        answer(found, "breaker-protects-conductors", "circuits.c.conductors") == "exception applies"
    )
    assert answer(found, "breaker-protects-conductors", "circuits.d.conductors") == "fails"


def test_a_feeder_is_judged_by_article_215():
    # T6
    found = job(c=circuit(role="feeder"))
    sources = {f.rule: f.source for f in found.findings if f.on == "circuits.c.conductors"}
    assert "feeder-conductor-125-percent" in sources and sources[
        "feeder-conductor-125-percent"
    ].startswith("215.2")
    assert not any(s.startswith(("210.19(", "210.20(")) for s in sources.values())


def test_sections_are_those_of_the_edition():
    # T7: 210.19(A)(1)(a) is a 2017 and 2020 number
    said = {e: load((), e).section("conductor-125-percent") for e in ("2017", "2020", "2023")}
    assert said == {"2017": "210.19(A)(1)(a)", "2020": "210.19(A)(1)(a)", "2023": "210.19(A)(1)"}
    assert (
        load((), "2017").section("conductor-ampacity") == "Table 310.15(B)(16)"
        and load((), "2020").section("conductor-ampacity") == "Table 310.16"
    )


def test_mca_is_one_rule_for_compressor_and_fan():
    # T8: 440.32 is one compressor, 440.35 a unit with more than one motor: both read the MCA
    k = load()
    mca = [
        r for r in k.rules.values() if "MCA" in str(r.d.get("must", "")) and r.about == "conductors"
    ]
    assert mca and any("440.35" in k.section(r.id) for r in mca)


def test_a_kiln_that_fires_for_hours_is_a_judgement():
    # T9: it is ours, not the Code's
    assert load().rules["kiln-is-continuous"].layer == "practice"


def test_raceway_fill_goes_by_the_number_of_conductors():
    # T10: chapter 9 table 1: 53 %, 31 %, 40 %
    t = load().tables["raceway-fill"]
    assert [(int(r["conductors"]), float(r["share"])) for r in t.rows][:2] == [
        (1, 0.53),
        (2, 0.31),
    ] and float(t.rows[2]["share"]) == 0.4


def test_a_motor_is_judged_by_motor_rules():
    # T11: no green list on a motor with no motor rules
    found = job(
        saw=circuit(
            load={
                "type": "motor",
                "horsepower": "3 hp",
                "current": "12 A",
                "connection": "hard-wired",
            },
            breaker={"rating": "20 A"},
            conductors={"size": "12 AWG", "material": "copper"},
        )
    )
    by_430 = [f for f in found.findings if "430" in f.source]
    assert by_430, "not one rule of Article 430"
    # 3 hp at 230 V: 17 A (Table 430.248) × 125 % = 21.25 A, over the 20 A of 12 AWG NM-B
    assert any(f.answer == "fails" and f.on == "circuits.saw.conductors" for f in by_430)


def test_the_ambient_is_the_hottest_the_space_gets():
    # T12: a thermometer in January gives the wrong answer
    w = load().words.kinds["segment"].words["ambient"]
    assert "hottest" in w.ask and "thermometer" not in w.look


def test_a_feeder_whose_panel_is_not_told_passes_nothing():
    # nobody told what hangs on it: that is not a load of 0 A
    found = job(
        sub=circuit(
            role="feeder",
            volts="120/240 V",
            load={},
            conductors={"size": "6 AWG", "material": "copper"},
            breaker={"rating": "60 A"},
        )
    )
    assert answer(found, "feeder-conductor-125-percent", "circuits.sub.conductors") == "cannot tell"
    assert answer(found, "feeder-breaker-125-percent", "circuits.sub.breaker") == "cannot tell"
