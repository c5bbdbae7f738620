"""What an answer says fits the job it is said of: the cable that is there, the load that runs, the
box that is named.
"""

import re

import pytest

from whywire.engine import inspect

CABLES = ["NM-B", "UF-B", "MC", "AC", "SE", "TC-ER-JP"]
ROUTE = {
    "length": "20 ft",
    "bundle": "none",
    "in direct sun": "yes",
    "exposed": "yes",
    "subject to damage": "yes",
    "support spacing": "9 ft",
    "first support": "20 in",
    "edge distance": "1 in",
    "bend radius": "1 in",
    "cable diameter": "0.5 in",
}
PLACES = [
    {"place": "garage", "location": "dry", "laid": "along framing"},
    {"place": "attic", "location": "dry", "laid": "through bored holes"},
    {"place": "underground", "location": "wet", "laid": "buried"},
    {"place": "basement", "location": "dry", "laid": "embedded"},
    {"place": "basement", "location": "damp", "laid": "above an accessible ceiling"},
    {"place": "attic", "location": "dry", "laid": "across framing"},
]


def job(method, **circuit):
    return inspect(
        {
            "job": "one",
            "edition": "2023",
            "building": "one-family dwelling",
            "circuits": {
                "it": {
                    "volts": "240 V",
                    "length": "120 ft",
                    "receptacle": "none",
                    "load": {
                        "type": "tankless water heater",
                        "current": "40 A",
                        "connection": "hard-wired",
                        "continuous": "no",
                    },
                    "breaker": {"rating": "45 A"},
                    "conductors": {"size": "8 AWG", "material": "copper"},
                    "segments": [{**ROUTE, **p, "method": method} for p in PLACES],
                    **circuit,
                }
            },
        }
    )


@pytest.mark.parametrize("method", CABLES)
def test_no_answer_about_one_cable_names_another(method):
    """Reasons, sentences and arguments; what would pass instead is another method, and rules of
    several name them all.
    """
    i = job(
        method,
        length="400 ft",
        conductors=(
            {
                "size": "6 AWG",
                "material": "copper",
                "EGC size": "10 AWG",
                "minimum size": "8 AWG",
            }
            if method != "AC"
            else {"size": "6 AWG", "material": "copper"}
        ),
    )
    answers = {
        f.rule: i.why(f.on.removeprefix("circuits.").replace(".", " "), f.rule) for f in i.findings
    }
    said = {
        rule: " ".join(
            [a.sentence, *(r.text for r in a.rows if r.label in ("Why", "Won't help", "Means", ""))]
        )
        for rule, a in answers.items()
    }
    others = {
        rule: text
        for rule, text in said.items()
        if method not in text
        and any(re.search(rf"(?<![\w-]){c}(?![\w-])", text) for c in CABLES if c != method)
    }
    assert len(said) > 25 and others == {}


def test_a_rule_of_several_cables_names_the_one_that_is_there():
    said = {
        m: job(m).why("it segment 1", "along-the-framing-from-the-edge").sentence
        for m in ("UF-B", "MC", "FMC")
    }
    assert said == {
        m: f"{m} is 1 in from the edge and needs 1.25 in, or steel over it." for m in said
    }
    assert (
        job("UF-B").why("it segment 1", "cable-support-spacing").sentence
        == "Secured every 9 ft; 4.5 ft is the most for UF-B."
    )


@pytest.mark.parametrize(
    ("more", "least"), [({"continuous": "no"}, "40 A"), ({"continuous": "yes"}, "50 A")]
)
def test_what_the_next_size_up_does_not_do_is_said_in_the_load_s_own_number(more, least):
    """40 A × 125 % = 50 A where it runs for hours, by 210.19(A)(1); where it does not there is no
    125 %.
    """
    got = job(
        "NM-B",
        load={"type": "other", "current": "40 A", "connection": "hard-wired", **more},
        conductors={"size": "10 AWG", "material": "copper"},
    ).why("it", "conductor-125-percent")
    assert f"Next size up: a breaker step, never wire under {least}." in [r.text for r in got.rows]


def test_an_air_conditioner_is_not_told_of_a_load_of_hours():
    got = job(
        "NM-B",
        load={
            "type": "air conditioner",
            "MCA": "35 A",
            "MOCP": "45 A",
            "connection": "hard-wired",
            "listed": "yes",
        },
        conductors={"size": "10 AWG", "material": "copper"},
    ).why("it", "conductors-carry-the-mca")
    assert got.word == "NO." and not any("125 %" in r.text for r in got.rows if r.label != "Why")
    assert "Next size up: a breaker step, never wire under 35 A." in [r.text for r in got.rows]


def boxed(size, wires):
    return inspect(
        {
            "job": "a box",
            "edition": "2023",
            "boxes": {
                "it": {
                    "trade size": size,
                    "internal clamps": "no",
                    "conductors": [{"count": wires, "size": "14 AWG", "use": "ends here"}],
                    "EGCs": [{"count": 2, "size": "14 AWG"}],
                    "devices": [{"gangs": 1, "conductor": "14 AWG"}],
                }
            },
        }
    )


def test_a_box_of_one_piece_needs_no_count_of_its_sections():
    """Table 314.16(A): 13.0 in³ for 4 x 2-1/8 x 1-7/8. 14 AWG takes 2 in³: 2 wires, a device of two
    and the grounds make 10, 4 wires 14.
    """
    assert [boxed("4 x 2-1/8 x 1-7/8 device", n).why("it").word for n in (2, 4)] == ["YES.", "NO."]


def test_a_box_that_may_be_ganged_has_the_room_of_one_section_at_least():
    """Table 314.16(A): 14.0 in³ for 3 x 2 x 2-3/4, and twice that where two are ganged."""
    assert [boxed("3 x 2 x 2-3/4 device", n).why("it").word for n in (4, 5)] == [
        "YES.",
        "NO.",  # a box of the table is one gang unless somebody says that two are ganged
    ]


def asked(i, rule, on):
    return [n.fact for f in i.findings if f.rule == rule and f.on == on for n in f.needs]


@pytest.mark.parametrize(
    ("load", "rule", "on"),
    [
        # 210.19(C) asks from 8-3/4 kW
        (
            {"type": "range", "current": "35 A"},
            "range-circuit-at-least-forty-amperes",
            "circuits.it.breaker",
        ),
        (
            {"type": "space heater", "power": "9 kW", "connection": "hard-wired"},
            "load-after-correction",
            "circuits.it.conductors",
        ),
    ],
)
def test_amps_or_watts_are_enough_and_the_voltage_is_asked_for(load, rule, on):
    i = inspect(
        {
            "job": "one",
            "edition": "2023",
            "building": "one-family dwelling",
            "circuits": {
                "it": {
                    "length": "40 ft",
                    "receptacle": "none",
                    "load": load,
                    "breaker": {"rating": "30 A"},
                    "conductors": {"size": "10 AWG", "material": "copper"},
                    "segments": [
                        {
                            "method": "NM-B",
                            "length": "40 ft",
                            "place": "basement",
                            "location": "dry",
                            "bundle": "none",
                        }
                    ],
                }
            },
        }
    )
    assert "supply" in asked(i, rule, on) and not {"power", "current"} & set(asked(i, rule, on))


def test_a_box_whose_size_is_told_is_asked_for_nothing_more():
    """A box of the table has its gangs and its volume."""
    i = boxed("3 x 2 x 2-3/4 device", 5)
    assert [f.answer for f in i.findings if f.rule == "box-volume"] == ["fails"]
    assert asked(i, "box-volume", "boxes.it") == []


@pytest.mark.parametrize(
    ("said", "method"),
    [
        ("thinwall", "EMT"),
        ("Electrical metallic tubing", "EMT"),
        ("rigid", "RMC"),
        ("schedule 40 PVC", "PVC 40"),  # "PVC pipe" may be either schedule, and is asked
        ("flexible metal conduit", "FMC"),
        ("metal-clad cable", "MC"),
        ("service-entrance cable", "SE"),
    ],
)
def test_what_people_call_a_method(said, method):
    i = job(said)
    assert (
        i.w.things["circuits.it.segments.1"][i.k.words.kinds["segment"].words["method"].slot]
        == method
    )


@pytest.mark.parametrize(
    ("watts", "word"), [("4800.001", "No"), ("4799.999", "Yes"), ("4800", "Yes")]
)
def test_a_hair_over_the_limit_is_not_printed_as_the_limit(watts, word):
    """12 AWG at 60 °C carries 20 A (Table 310.16): 4800 W at 240 V, and not a thousandth of a watt
    more.
    """
    i = job(
        "NM-B",
        load={
            "type": "other",
            "power": f"{watts} W",
            "connection": "hard-wired",
            "continuous": "no",
        },
        breaker={"rating": "20 A"},
        conductors={"size": "12 AWG", "material": "copper"},
    )
    got = i.why("it", "conductor-125-percent")
    check = next(r.text for r in got.rows if r.label == "Check")
    assert (
        f"?  {word}" in check
        and (got.word == "YES.") == (word == "Yes")
        and ("20 A >= 20 A" in check) == (watts == "4800")
        and not re.search(r"\b0 A (short|to spare)", check + got.sentence)
    )


def test_a_small_number_has_three_figures_where_it_is_not_exact():
    """400 VA at 240 V are 1.666... A."""
    got = job(
        "NM-B",
        load={"type": "other", "power": "400 W", "connection": "hard-wired", "continuous": "no"},
        conductors={"size": "12 AWG", "material": "copper"},
    ).why("it", "conductor-125-percent")
    assert "20 A >= 1.67 A?  Yes, 18.33 A to spare." in [r.text for r in got.rows]
