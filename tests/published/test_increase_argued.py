"""250.122(B) asks how far the hots exceed their minimum, and not in which column that is read.

Two readings, both fair: by the marked terminals, or by the 60 °C column that holds until somebody
reads a label. Where they differ nothing is concluded. GND-12 (forum on 250.122(B)) has 8 to 4 AWG
behind 50 A; the argument is our own.
"""

import pytest
from job_run import EDITIONS, Run

MARKED = {"temperature rating": "75 °C"}
X, C = "circuits.c", "circuits.c.conductors"


def pipe(size, egc, breaker=50, marked=True, current=None):
    return {
        "volts": "240 V",
        "length": "40 ft",
        "more than one receptacle": "no",
        "load": {
            "type": "space heater",
            "current": f"{current or breaker * 0.76} A",
            "continuous": "yes",
            "connection": "hard-wired",
        },
        "breaker": {"rating": f"{breaker} A"},
        "conductors": {
            "size": size,
            "material": "copper",
            "insulation": "THWN-2",
            "EGC type": "wire",
            **({"EGC size": egc} if egc else {}),
        },
        "segments": [
            {
                "method": "EMT",
                "length": "40 ft",
                "place": "conditioned space",
                "location": "dry",
                "bundle": "none",
            }
        ],
        **({"supply termination": MARKED, "load termination": MARKED} if marked else {}),
    }


def verdict(run):
    if run.answer("increase-is-argued", X) == "refers":
        assert run.answer("egc-grows-with-the-hots", X) == "does not apply"
        return "argued"
    return run.answer("egc-grows-with-the-hots", X)


@pytest.mark.parametrize("edition", [*EDITIONS, "2026"])
def test_six_on_fifty_where_eight_would_have_done_is_argued(edition):
    run = Run({"c": pipe("6 AWG", "10 AWG")}, edition=edition)
    assert run.fact(C, "minimum size") == "8 AWG" and verdict(run) == "argued"
    assert run.fact(C, "EGC to install") == "8 AWG"  # what nobody argues about is what is designed
    assert verdict(Run({"c": pipe("6 AWG", "8 AWG")}, edition=edition)) == "passes"
    # 4 AWG is more than either reading asks for: 8 AWG by the mild one, 6 AWG by the strict one
    for egc, wanted in (("10 AWG", "fails"), ("8 AWG", "argued"), ("6 AWG", "exception applies")):
        assert verdict(Run({"c": pipe("4 AWG", egc)}, edition=edition)) == wanted


def test_reading_the_marks_never_makes_a_good_ground_bad():
    for breaker in (20, 30, 40, 50, 60, 70, 80, 90, 100):
        for size in ("8 AWG", "6 AWG", "4 AWG", "3 AWG", "2 AWG", "1 AWG"):
            for egc in ("12 AWG", "10 AWG", "8 AWG", "6 AWG"):
                before = Run({"c": pipe(size, egc, breaker, marked=False)})
                if before.answer("egc-follows-the-breaker", X) != "passes":
                    continue
                if verdict(before) == "fails":
                    continue
                after = Run({"c": pipe(size, egc, breaker)})
                assert verdict(after) != "fails", (breaker, size, egc)


def test_wire_taken_larger_for_the_drop_still_needs_its_ground():
    # 8 to 3 AWG on 50 A is an increase in either column; over 100 A the 75 °C column is the only
    # one
    assert verdict(Run({"c": pipe("3 AWG", "10 AWG")})) == "fails"
    assert verdict(Run({"c": pipe("3/0 AWG", "6 AWG", breaker=125)})) == "fails"
