"""An answer about a circuit looks at the whole of it: what is refused, what fails for good, what a
way out leaves failing.
"""

from whywire.engine import inspect

CABLE = {
    "method": "NM-B",
    "length": "40 ft",
    "place": "basement",
    "location": "dry",
    "bundle": "none",
}


def job(**circuit):
    return inspect(
        {
            "job": "one circuit",
            "edition": "2023",
            "building": "one-family dwelling",
            "circuits": {
                "it": {
                    "volts": "240 V",
                    "length": "40 ft",
                    "receptacle": "none",
                    "segments": [CABLE],
                    **circuit,
                }
            },
        }
    )


def rows(answer):
    return {r.label: r.text for r in answer.rows}


def test_a_rule_that_refuses_is_no_yes():
    """A heater for 120 V on 240 V draws four times the watts; nothing else here fails."""
    i = job(
        load={
            "type": "space heater",
            "power": "3 kW",
            "rated voltage": "120 V",
            "connection": "hard-wired",
        },
        breaker={"rating": "20 A"},
        conductors={"size": "12 AWG", "material": "copper"},
    )
    got = i.why("it")
    assert got.word == "CAN'T TELL." and rows(got)["Refused"].startswith("Order the appliance")
    # 3 kW of another voltage are not divided by this one
    assert i.why("it", "current").word == "CAN'T TELL."


def test_what_nobody_told_decides_nothing():
    """The insulation of 8 AWG in a pipe is not told: no breaker is right yet, and 400 A is none."""
    pipe = {
        "method": "EMT",
        "trade size": "3/4",
        "length": "40 ft",
        "place": "basement",
        "location": "dry",
        "bundle": "none",
    }
    i = job(
        load={"type": "other", "current": "40 A", "continuous": "no", "connection": "hard-wired"},
        breaker={"rating": "50 A"},
        conductors={"size": "8 AWG", "material": "copper"},
        segments=[pipe],
        **{"supply termination": {"marking": "75 °C"}, "load termination": {"marking": "75 °C"}},
    )
    assert i.why_not("it", "breaker", "400 A").word == "CAN'T TELL."


def test_a_way_out_leaves_nothing_failing():
    """14 AWG in a pipe has 20 A at 75 °C, and 240.4(D) stops it at 15 A all the same."""
    i = job(
        volts="120 V",
        load={
            "type": "lighting",
            "current": "10 A",
            "continuous": "no",
            "connection": "hard-wired",
        },
        breaker={"rating": "20 A"},
        conductors={"size": "14 AWG", "material": "copper"},
    )
    got = i.why("it", "conductors")
    assert (
        got.word == "NO."
        and rows(got)["Fix"] == "a 15 A breaker: 15 A (at the limit)"
        and any(r.text.startswith("12-") and "20 A (at the limit)" in r.text for r in got.rows)
        and not any("14 AWG" in r.text and "THWN" in r.text for r in got.rows)
    )


def test_a_way_out_says_its_own_number():
    """Table 310.16: 4 AWG copper at 75 °C is 85 A, as much as the 3 AWG that is there has at 60
    °C.
    """
    pipe = {
        "method": "EMT",
        "trade size": "1",
        "length": "40 ft",
        "place": "basement",
        "location": "dry",
        "bundle": "none",
    }
    i = job(
        load={"type": "other", "current": "84 A", "continuous": "no", "connection": "hard-wired"},
        breaker={"rating": "90 A"},
        conductors={"size": "3 AWG", "material": "copper", "insulation": "THHN"},
        segments=[pipe],
    )
    assert "4 AWG with both ends marked 75 °C: 85 A (1 A to spare)" in [
        r.text for r in i.why_not("it", "size=4 AWG").rows
    ]


def test_what_fails_for_good_comes_before_what_a_fact_could_turn():
    pump = {
        "type": "well pump",
        "horsepower": "1-1/2 hp",
        "connection": "hard-wired",
        "overload": "absent",
    }
    buried = {
        "method": "UF-B",
        "length": "350 ft",
        "place": "underground",
        "location": "wet",
        "bundle": "none",
        "cover": "24 in",
        "cover location": "elsewhere",
    }
    found = job(
        load=pump,
        breaker={"rating": "30 A"},
        conductors={"size": "14 AWG", "material": "copper"},
        segments=[buried],
        length="350 ft",
    )
    got = found.why("it")
    assert got.word == "NO." and got.rule == "motor-breaker-limit"
    # what else is wrong is said in words, the first of it, and how much more there is
    others = len(found.standing.faults) - 2
    also = rows(got)["Also"]
    assert (
        also == f"With no overload protection, 30 A is too much for this wire. And {others} more."
    )


def test_the_nearest_size_is_offered_and_advice_is_said():
    unit = {
        "type": "air conditioner",
        "MCA": "22.3 A",
        "MOCP": "35 A",
        "connection": "hard-wired",
        "listed": "yes",
    }
    i = job(
        load=unit, breaker={"rating": "35 A"}, conductors={"size": "10 AWG", "material": "copper"}
    )
    assert rows(i.why_not("it", "breaker", "40 A"))["Passes"] == "35 A (at the limit)"
    got = i.why_not("it", "breaker", "15 A")
    assert got.word == "YES." and "15 A >= MCA 22.3 A" in rows(got)["Advice"]


def test_cable_behind_a_gfci_comes_up_from_its_own_depth():
    """300.5(D)(1) asks for 18 in or the required cover, which Table 300.5 column 4 makes 12 in
    here.
    """

    def pipe(below: str, gfci: str):
        return (
            job(
                volts="120 V",
                load={"type": "cord-and-plug load", "current": "12 A"},
                breaker={"rating": "20 A"},
                conductors={"size": "12 AWG", "material": "copper"},
                segments=[
                    {
                        "method": "UF-B",
                        "length": "40 ft",
                        "place": "underground",
                        "location": "wet",
                        "bundle": "none",
                        "cover": "12 in",
                        "cover location": "elsewhere",
                        "emerges": "yes",
                        "protected below grade": below,
                        "GFCI ahead": gfci,
                    }
                ],
            )
            .why("it", "protected-below-grade")
            .word
        )

    assert [pipe("12 in", "yes"), pipe("11 in", "yes"), pipe("12 in", "no")] == [
        "YES.",
        "NO.",
        "NO.",
    ]


def test_no_yes_stands_over_what_is_not_looked_at():
    spa = {
        "type": "spa",
        "current": "40 A",
        "connection": "hard-wired",
        "listed": "yes",
        "no GFCI in manual": "no",
        "integral GFCI": "no",
        "field assembled": "no",
    }
    buried = {
        "method": "UF-B",
        "length": "60 ft",
        "place": "underground",
        "location": "wet",
        "bundle": "none",
        "cover": "24 in",
        "cover location": "elsewhere",
        "emerges": "yes",
        "protected below grade": "18 in",
        "protected above grade": "8 ft",
        "GFCI ahead": "no",
        "bend radius": "6 in",
        "cable diameter": "0.8 in",
        "warning ribbon": "yes",
    }
    got = job(
        volts="120/240 V",
        load=spa,
        breaker={"rating": "50 A"},
        conductors={"size": "6 AWG", "material": "copper"},
        segments=[buried],
        length="60 ft",
        GFCI="yes",
        **{
            "outlet at": "outdoors",
            "disconnect": {
                "kind": "switch",
                "in sight": "yes",
                "distance to the water": "6 ft",
                "readily accessible": "yes",
                "rating": "60 A",
            },
        },
    ).why("it")
    # what was not looked at once is judged now: the ground of this cable is bare
    assert got.word == "NO." and "insulated" in got.sentence
    spot = {"type": "welder", "current": "30 A", "resistance welder": "yes"}
    got = job(
        volts="240 V",
        length="40 ft",
        breaker={"rating": "50 A"},
        conductors={"size": "6 AWG", "material": "copper"},
        segments=[buried | {"method": "NM-B", "place": "basement", "location": "dry"}],
        load=spot,
    ).why("it")
    assert got.word == "CAN'T TELL."


def test_workmanship_that_nobody_looked_at_is_taken_as_usual_and_said_so():
    """The radius of a bend, and how much slack is left: who does the work does that right."""
    told = {
        "laid": "along framing",
        "edge distance": "1.5 in",
        "exposed": "no",
        "corrosive air": "no",
        "first support": "10 in",
        "support spacing": "4 ft",
        "in insulation": "no",
    }
    i = job(
        load={"type": "water heater", "power": "4500 W", "connection": "hard-wired"},
        breaker={"rating": "30 A"},
        conductors={"size": "10 AWG", "material": "copper", "EGC size": "10 AWG"},
        segments=[{**CABLE, "place": "conditioned space", **told}],
        disconnect={"kind": "breaker with lock-off", "in sight": "no", "locks open": "yes"},
        **{
            "white as hot": "yes",
            "white re-identified": "yes",
            "outlet at": "indoors",
            "GFCI protection": "no",
        },
    )
    got = i.why("it")
    assert got.word == "YES." and rows(got)["Unseen"].startswith("taken as done the usual way")


def test_a_way_that_an_exception_allows_is_not_called_short():
    """8 wires on a hot roof: 8 AWG has 55 × 0.5 × 0.7 = 19.25 A, and 240.4(B) allows 20 A on it."""
    pipe = {
        "method": "EMT",
        "trade size": "1",
        "length": "60 ft",
        "place": "rooftop",
        "location": "wet",
        "bundle": "pipe",
        "ambient": "105 °F",
        "in direct sun": "yes",
        "roof clearance": "0 in",
    }
    one = {
        "volts": "240 V",
        "load": {"type": "space heater", "power": "1.5 kW", "connection": "hard-wired"},
        "breaker": {"rating": "20 A"},
        "conductors": {"size": "10 AWG", "material": "copper", "insulation": "THWN-2"},
        "receptacle": "none",
        "supply termination": {"marking": "75 °C"},
        "load termination": {"marking": "75 °C"},
        "segments": [pipe],
    }
    names = ["a", "b", "c", "d"]
    i = inspect(
        {
            "job": "roof",
            "edition": "2023",
            "building": "one-family dwelling",
            "bundles": {"pipe": {"kind": "raceway", "circuits": names, "length together": "60 ft"}},
            "circuits": {n: one for n in names},
        }
    )
    got = i.why("a")
    assert (
        got.word == "NO."
        and rows(got)["Fix"] == "a 15 A breaker: 15 A (allowed by 240.4(B))"
        and any("19.25 A (allowed by 240.4(B))" in r.text for r in got.rows)
    )


def test_each_of_several_checks_says_what_it_is_about():
    space = {
        "panel": "p",
        "depth": "36 in",
        "width": "30 in",
        "equipment width": "14.5 in",
        "height": "78 in",
        "equipment height": "72 in",
        "door opens": "yes",
        "existing dwelling": "no",
        "storage": "no",
        "floor flat": "yes",
        "lit": "yes",
        "manual light": "yes",
        "foreign pipes": "no",
        "clear way out": "30 in",
        "way out height": "80 in",
        "equipment in": "elsewhere",
        "voltage to ground": "120 V",
    }
    got = inspect(
        {
            "job": "space",
            "edition": "2023",
            "building": "one-family dwelling",
            "panels": {"p": {"feeder": "none"}},
            "working spaces": {"w": space},
        }
    ).why("w")
    assert {
        "depth 36 in >= 36 in?  Yes, at the limit.",
        "height 78 in >= 78 in?  Yes, at the limit.",
    } <= {r.text for r in got.rows if r.label == "Check"}
