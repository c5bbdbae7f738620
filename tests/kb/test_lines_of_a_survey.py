"""What an electrician reads in a line: the usual breaker of a motor, a welder by its plate, a run
of cable and pipe piece by piece, and no breaker where maker and Code are at odds.
"""

import pytest

from whywire.engine import inspect
from whywire.engine.answering.note import note_of

HEAD = {"job": "A line", "edition": "2023", "building": "one-family dwelling"}
CELLAR = {"place": "basement", "location": "dry", "bundle": "none"}


def line_of(**circuit) -> list[str]:
    told = {"volts": "240 V", "conductors": {"material": "copper"}, "receptacle": "none"}
    told["segments"] = [{"method": "NM-B", "length": "40 ft", **CELLAR}]
    (line,) = note_of(inspect({**HEAD, "circuits": {"x": {**told, **circuit}}})).design
    return line.pieces


@pytest.mark.parametrize(
    "motor, breaker",
    [
        # 175 % of Table 430.248 (17 A, 28 A), stepped up to Table 240.6(A): common practice, no
        # source; 250 % stays the ceiling (430.52)
        ({"horsepower": "3 hp"}, "30 A 2-pole"),
        ({"horsepower": "5 hp"}, "50 A 2-pole"),
        ({"horsepower": "3 hp", "breaker in the instructions": "40 A"}, "40 A 2-pole"),
        ({"horsepower": "3 hp", "breaker in the instructions": "25 A"}, "25 A 2-pole"),
    ],
)
def test_the_breaker_of_a_compressor_is_the_usual_one(motor, breaker):
    assert line_of(load={"type": "air compressor", "connection": "hard-wired", **motor})[0] == (
        breaker
    )


@pytest.mark.parametrize(
    "plate, wire",
    [
        # 630.11(A): I1eff as marked; else 50 A × 0.45 at 20 % (Table 630.11(A)) = 22.5 A. NM-B of
        # 12 AWG carries 20 A, of 10 AWG 30 A (334.80, Table 310.16)
        ({"maximum current": "47 A", "effective current": "21 A"}, "10-2 NM-B"),
        ({"current": "50 A", "duty cycle": "20 %", "welder kind": "inverter"}, "10-2 NM-B"),
    ],
)
def test_a_welder_is_wired_by_its_plate(plate, wire):
    load = {"type": "welder", "connection": "cord and plug", **plate}
    receptacle = {"configuration": "6-50", "places": [{"place": "unfinished basement"}]}
    assert line_of(load=load, receptacle=receptacle)[:2] == ["50 A 2-pole", wire]


def test_the_drop_of_a_welder_is_that_of_its_arc():
    """At I1max (47 A), not at I1eff (21 A): common practice, no source."""
    load = {"type": "welder", "maximum current": "47 A", "effective current": "21 A"}
    found = inspect({**HEAD, "circuits": {"x": {"volts": "240 V", "load": load}}})
    load_of = found.w.things["circuits.x.load"]
    word = found.k.words.kinds["load"].words["drop current"]
    assert load_of[word.slot] == 47


def test_a_run_of_cable_and_pipe_is_said_piece_by_piece():
    pipe = {"method": "EMT", "length": "10 ft", **CELLAR}
    way = [{"method": "NM-B", "length": "40 ft", **CELLAR}, pipe]
    said = line_of(
        load={"type": "kiln", "current": "40 A", "connection": "hard-wired"},
        conductors={"material": "copper", "insulation": "THWN-2"},
        segments=way,
    )
    assert said[1] == "6-2 NM-B, then 6 AWG THWN-2 in 3/4 EMT"


def test_no_breaker_is_named_where_the_maker_and_the_code_are_at_odds():
    """8 kW at 240 V for hours wants more than the maker's 40 A (125 % of 33.3 A, 210.20(A))."""
    load = {"type": "sauna", "power": "8 kW", "connection": "hard-wired"}
    assert line_of(load=load)[0] == "45 A 2-pole"
    said = line_of(load={**load, "breaker in the instructions": "40 A"})
    assert said[0] == "breaker not settled: the maker names 40 A, the Code needs more"
    assert not any(piece.endswith("-pole") for piece in said)
