"""Conductors all alike, one ground for several circuits: verdict, size and lines agree.

Chapter 9, Table 1, note 7 (a fifth of a conductor may lack where all are alike) from memory;
areas of Tables 4 and 5.
"""

from fractions import Fraction

import pytest
from job_run import Run

from whywire.cli.show_answer import show_answer
from whywire.engine import inspect


def heater(egc, size="12 AWG", volts="240 V", bundle="pipe", trade=None):
    segment = {"method": "EMT", "length": "30 ft", "bundle": bundle}
    return {
        "volts": volts,
        "load": {"type": "space heater", "current": "16 A"},
        "breaker": {"rating": "20 A"},
        "conductors": {
            "size": size,
            "material": "copper",
            "insulation": "THWN-2",
            "EGC size": egc,
            "EGC type": "wire",
        },
        "segments": [{**segment, **({"trade size": trade} if trade else {})}],
    }


@pytest.mark.parametrize("edition", ["2017", "2026"])
@pytest.mark.parametrize("shared", ["yes", "no"])
def test_verdict_and_smallest_trade_size_agree_wherever_all_are_alike(shared, edition):
    for size in ("12 AWG", "8 AWG"):
        for count in range(1, 5):
            names = [f"c{i}" for i in range(count)]
            pipe = {"kind": "raceway", "circuits": names, "shared EGC": shared}
            for trade in ("1/2", "3/4", "1"):
                run = Run(
                    {n: heater(size, size, trade=trade) for n in names},
                    bundles={"pipe": pipe},
                    edition=edition,
                )
                x = "circuits.c0.segments.1"
                fits = run.answer("raceway-not-overfilled", x) in ("passes", "exception applies")
                least = run.fact(x, "minimum trade size")
                order = ["1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2"]
                assert fits == (order.index(least) <= order.index(trade)), (size, count, trade)


def test_a_fifth_of_a_wire_may_lack_in_the_design_as_well():
    # 12 AWG in 1 in EMT: 25.98 wires count as 26: thirteen 120 V pairs less their grounds would do.
    names = [f"c{i}" for i in range(13)]
    wires = {**heater("12 AWG")["conductors"], "EGC type": "metal raceway"}
    run = Run(
        {n: {**heater("12 AWG"), "conductors": wires} for n in names},
        bundles={"pipe": {"kind": "raceway", "circuits": names, "shared EGC": "no"}},
    )
    x = "circuits.c0.segments.1"
    assert run.fact(x, "fill count", "count") == 26
    room = Fraction("0.4") * Fraction("0.864")
    assert run.fact(x, "fill area", "in²") == Fraction("0.3458") > room
    assert run.fact(x, "minimum trade size") == "1" == run.fact(x, "trade size")


def test_the_lines_of_a_shared_ground_add_up():
    job = {
        "edition": "2023",
        "bundles": {"pipe": {"kind": "raceway", "circuits": ["a", "b"], "shared EGC": "yes"}},
        "circuits": {"a": heater("12 AWG", trade="1/2"), "b": heater("10 AWG", trade="1/2")},
    }
    answer = inspect(job).why("b segment 1", "raceway-not-overfilled")
    lines = [r.text for r in answer.rows if " in²" in r.text]
    at = next(i for i, t in enumerate(lines) if t.startswith("together"))
    addends = [Fraction(t.split()[-2]) for t in lines[1:at]]
    assert sum(addends) == Fraction(lines[at].split()[1]) == Fraction("0.0743")
    shown = "\n".join("".join(t for t, _ in line) for line in show_answer(answer))
    assert "0.0211" in shown or "left out here" in shown
