"""What people write is read: a thing by its values alone, several facts in one word, a unit by the
name of the fact, a sum of bends; and what may mean two things is asked.

The forms are those of the shelf and the jobsite: how cable is called (size, insulated wires, with
ground), how a breaker and a receptacle are, dual prints on wire, plate voltages of motors (NEMA
MG 1: 115 V and 230 V for nominal 120 V and 240 V). Common practice, no source, where none is named.
"""

import pytest

from whywire.engine import Faults, inspect
from whywire.engine.basics.units import show_number
from whywire.engine.law.library import load
from whywire.engine.running.job import read_job

K = load((), "2023", examples=False)


def job(**circuit):
    return read_job({"job": "x", "circuits": {"a": circuit}}, K)


def told(read, thing: str, fact: str):
    x = read.things[thing]
    value = x[0].told.get(fact)
    word = K.words.kinds[x[0].kind].words[fact]
    return show_number(value, word.unit) if word.type[0] == "q" and value is not None else value


def faults(**circuit) -> list:
    with pytest.raises(Faults) as caught:
        job(**circuit)
    return caught.value.items


A = "circuits.a"


@pytest.mark.parametrize(
    "part, written, thing, fact, value",
    [
        ("breaker", "40 A", "breaker", "rating", "40 A"),
        ("breaker", "40", "breaker", "rating", "40 A"),
        ("breaker", "40 A 2-pole", "breaker", "rating", "40 A"),
        ("breaker", "a 40 amp breaker", "breaker", "rating", "40 A"),
        ("receptacle", "14-30", "receptacle", "configuration", "14-30"),
        ("receptacle", "NEMA 14-30R", "receptacle", "configuration", "14-30"),
        ("load", "EVSE", "load", "type", "EV charger"),
        ("load", "48 A kiln", "load", "current", "48 A"),
        ("wire", "6/3", "conductors", "size", "6 AWG"),
        ("wire", "6/3", "conductors", "insulated wires", "3"),
        ("wire", "10/2 NM-B", "segments.1", "method", "NM-B"),
        ("wire", "#6", "conductors", "size", "6 AWG"),
        ("wire", "6 gauge cu", "conductors", "material", "copper"),
        ("wire", "1/0 al", "conductors", "size", "1/0 AWG"),
        ("wire", "1/0 al", "conductors", "material", "aluminum"),
        ("wire", "8 AWG THHN/THWN-2", "conductors", "insulation", "THHN/THWN-2"),
        ("wire", "#6 THHN in 3/4 EMT", "conductors", "size", "6 AWG"),
        ("wire", "THHN in 3/4 in EMT", "segments.1", "trade size", "3/4"),
        ("conduit", '3/4" EMT', "segments.1", "trade size", "3/4"),
        ("conduit", "1/2 in EMT", "segments.1", "trade size", "1/2"),
        ("box", "4 11/16 x 2 1/8", None, "trade size", "4-11/16 x 2-1/8 square"),
        ("wire", "6 AWG stranded copper", "conductors", "stranded", True),
        ("wire", "12 AWG solid", "conductors", "stranded", False),
        ("receptacle", "5-20 duplex WR", "receptacle", "weather-resistant", True),
        ("ground", "10 AWG", "conductors", "EGC size", "10 AWG"),
    ],
)
def test_a_part_is_told_by_its_values_alone(part, written, thing, fact, value):
    read = job(**{part: written})
    assert told(read, f"{A}.{thing}" if thing else "boxes.a box", fact) == value


def test_a_cable_as_it_is_sold():
    read = job(wire="12/2 NM-B with ground", length="40 ft")
    assert told(read, f"{A}.conductors", "size") == "12 AWG"
    assert told(read, f"{A}.conductors", "insulated wires") == "2"
    assert told(read, A, "brings an EGC") is True
    assert told(read, f"{A}.segments.1", "method") == "NM-B"
    assert told(read, f"{A}.segments.1", "length") == "40 ft"
    (shown,) = read.read_as
    assert shown.text == "12/2 NM-B with ground" and "size 12 AWG" in shown.told
    written = read.things[f"{A}.conductors"][0].written["size"]
    assert written[2] == shown.at


def test_the_wires_of_a_cable_are_its_insulated_ones_and_its_ground():
    found = inspect(
        {
            "job": "x",
            "edition": "2023",
            "circuits": {
                "dryer": {
                    "volts": "120/240 V",
                    "load": "dryer",
                    "wire": "10/2 NM-B with ground",
                    "breaker": "30 A",
                    "receptacle": "14-30",
                }
            },
        }
    )
    facts = {(f["of"], f["is"]): f["value"] for f in found.facts}
    assert facts["circuits.dryer.conductors", "wires"] == "3"
    fails = {f.rule for f in found.findings if f.answer == "fails"}
    assert {"a-wire-for-each-purpose", "a-wire-for-each-contact"} <= fails


@pytest.mark.parametrize(
    "load, fact, value",
    [
        ({"kW": "9.6"}, "power", "9,600 VA"),
        ({"watts": "9600"}, "power", "9,600 VA"),
        ({"power": "9.6 kW"}, "power", "9,600 VA"),
        ({"amps": "48"}, "current", "48 A"),
        ({"hp": "1 1/2"}, "horsepower", "1.5 hp"),
        ({"horsepower": "3"}, "horsepower", "3 hp"),
        ({"volts": "230"}, "rated voltage", "230 V"),
        ({"hard-wired": "yes"}, "connection", "hard-wired"),
    ],
)
def test_the_name_of_a_fact_says_its_unit_or_its_choice(load, fact, value):
    got = told(job(load=load), f"{A}.load", fact)
    assert got.replace(",", "") == value.replace(",", "")


@pytest.mark.parametrize(
    "written, degrees",
    [
        ("270", 270),
        ("270 degrees", 270),
        ("3 x 90", 270),
        ("3x90", 270),
        ("two 45s", 90),
        ("three 90s", 270),
        ("90 + 45 + 45", 180),
        ("2 90s and a 45".replace("a 45", "45"), 225),
    ],
)
def test_bends_are_added_up(written, degrees):
    read = job(segments=[{"method": "EMT", "bends": written}])
    assert told(read, f"{A}.segments.1", "bends between pull points") == f"{degrees}°"
    assert told(job(bends=written), f"{A}.segments.1", "bends between pull points")


@pytest.mark.parametrize("written, nominal", [("230 V", "240 V"), ("115 V", "120 V")])
def test_the_voltage_of_a_plate_is_kept_beside_the_nominal_one(written, nominal):
    read = job(volts=written, load="motor")
    assert told(read, A, "supply") == nominal
    assert told(read, f"{A}.load", "rated voltage") == written


@pytest.mark.parametrize(
    "length", ["62 feet", "62'", "62 ft", "61' 12\"", "61 ft 12 in", "744 inches"]
)
def test_lengths_as_they_are_taken_on_site(length):
    assert told(job(length=length), A, "length") == "62 ft"


@pytest.mark.parametrize(
    "said, value",
    [("yes", True), ("y", True), ("true", True), ("no", False), ("n", False), ("none", False)],
)
def test_yes_and_no(said, value):
    assert told(job(GFCI=said), A, "GFCI protection") is value


def test_a_receptacle_and_its_place():
    read = job(receptacle={"place": "garage", "gfci": "y"})
    places = f"{A}.receptacle.places.1"
    assert told(read, places, "place") == "garage or accessory building"
    assert told(read, A, "GFCI protection") is True
    read = job(receptacle={"places": ["barn", "deck"]})
    assert told(read, places, "place") == "garage or accessory building"
    assert told(read, places.replace("1", "2"), "place") == "outdoors"


def test_a_gfci_breaker_protects_its_circuit():
    read = job(breaker="20 A GFCI")
    assert told(read, A, "GFCI protection") is True
    assert told(job(breaker="20 A"), A, "GFCI protection") is None


@pytest.mark.parametrize(
    "circuit, code, asks",
    [
        ({"conduit": "3/4 in PVC"}, "not-a-choice", "write PVC 40 (schedule 40 PVC) or PVC 80"),
        ({"volts": "220 V"}, "not-a-choice", "or 120/240 V"),
        ({"load": "48"}, "describes-none", "write load"),
        ({"breaker": "40 A no GFCI"}, "describes-none", "rating: 40 A"),
        ({"wire": "12/2 NMB"}, "describes-none", "NM-B"),
        ({"wire": "6 AWG copper-clad aluminum"}, "describes-none", "size: 6 AWG"),
        ({"segments": [{"method": "EMT", "bends": "90 2"}]}, "unknown-unit", "°"),
        ({"wire": "12/2 NM"}, "describes-none", "write NM-B where it is one"),
        ({"segments": ["NM-B", "20 ft"]}, "describes-none", "method: NM-B"),
        ({"wire": "12/2 with ground", "brings an EGC": "no"}, "told-two-ways", "keep the one"),
        (
            {"bends": "270", "segments": [{"method": "EMT"}, {"method": "EMT"}]},
            "which-of-several",
            "tell bends between pull points of the segment",
        ),
        (
            {"wire": {"size": "10 AWG", "ground": "12 AWG"}, "EGC": "10 AWG"},
            "told-two-ways",
            "keep the one",
        ),
    ],
)
def test_what_may_mean_two_things_is_asked(circuit, code, asks):
    found = faults(**circuit)[0]
    assert found.code == code and asks in f"{found.what}\n{found.todo}"


@pytest.mark.parametrize(
    "written, day",
    [("9/25/2025", "2025-09-25"), ("Sept 2, 2025", "2025-09-02"), ("2 Sep 2025", "2025-09-02")],
)
def test_a_date_with_one_reading_is_read(written, day):
    found = inspect({"job": "x", "edition": "2023", "permit date": written, "circuits": {"a": {}}})
    assert found.in_force[0]["date"] == day


def test_a_date_with_two_readings_is_asked():
    with pytest.raises(Faults) as caught:
        inspect({"job": "x", "edition": "2023", "permit": "3/2/2026", "circuits": {"a": {}}})
    (found,) = caught.value.items
    assert found.code == "date-unclear"
    assert "2 March" in found.what and "3 February" in found.what


@pytest.mark.parametrize("said", [{"code": "NEC 2020"}, {"NEC": "2020"}, {"edition": "2020 NEC"}])
def test_the_edition_as_people_name_it(said):
    found = inspect({"job": "x", "circuits": {"a": {}}} | said)
    assert found.k.edition == "2020"


def test_a_dual_print_is_read_by_the_place():
    def derated(location):
        segment = {"method": "EMT", "location": location, "place": "garage", "length": "20 ft"}
        wire = {"size": "6 AWG", "material": "copper", "insulation": "THHN/THWN"}
        found = inspect(
            {
                "job": "x",
                "edition": "2023",
                "circuits": {"a": {"wire": wire, "segments": [segment]}},
            }
        )
        return next(
            f["shown"]
            for f in found.facts
            if (f["of"], f["is"]) == (f"{A}.segments.1", "derating temperature")
        )

    # NEC Table 310.4(1) (from memory): THHN 90 °C dry, THWN 75 °C wet
    assert derated("dry") == "90 °C" and derated("wet") == "75 °C"


def test_a_thing_is_described_where_it_is_named():
    read = read_job(
        {
            "job": "x",
            "panels": {"barn": {"bus": "125 A", "feeder": {"breaker": "60 A", "length": "150 ft"}}},
            "circuits": {"lights": {"panel": "barn", "load": "lights"}},
        },
        K,
    )
    assert told(read, "circuits.barn feeder.breaker", "rating") == "60 A"
    assert told(read, "panels.barn", "feeder")[0].id == "circuits.barn feeder"


def test_a_box_told_at_its_circuit_and_among_the_boxes_is_one_thing():
    with pytest.raises(Faults) as caught:
        read_job(
            {
                "job": "x",
                "boxes": {"dryer box": {"volume": "30.3 in³"}},
                "circuits": {"dryer": {"box": "two gang, 34 cu in"}},
            },
            K,
        )
    (found,) = caught.value.items
    assert found.code == "written-twice" and "same thing" in found.todo


def test_a_job_is_not_changed_by_being_read():
    body = {"job": "x", "circuits": {"a": {"breaker": "40 A", "wire": "12/2 NM-B"}}}
    read_job(body, K)
    assert body == {"job": "x", "circuits": {"a": {"breaker": "40 A", "wire": "12/2 NM-B"}}}
