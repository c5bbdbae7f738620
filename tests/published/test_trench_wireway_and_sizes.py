"""What is measured where (along the sheath, to the top of the pipe), and sizes that exist.

Sources: CVR-01 and CVR-02 (trade question page, arithmetic), PAN-10 ("Code Quiz 67", 312.8),
376.22 and 376.56 from memory,
314.17(C) from memory, 334.104 from memory; solid resistances by ASTM B193 resistivity at 75 °C.
"""

from fractions import Fraction

import pytest
from job_run import EDITIONS, Run

from whywire.engine import Faults

ALL = [*EDITIONS, "2026"]
S, C = "circuits.c.segments.1", "circuits.c.conductors"


def run_of(segment, edition="2023", **more):
    c = {
        "volts": "240 V",
        "length": "40 ft",
        "load": {"type": "space heater", "current": "16 A", "continuous": "yes"},
        "breaker": {"rating": "20 A"},
        "conductors": {"size": "12 AWG", "material": "copper"},
        "segments": [{"length": "40 ft", "bundle": "none", **segment}],
        **more,
    }
    return Run({"c": c}, edition=edition)


@pytest.mark.parametrize("edition", ALL)
@pytest.mark.parametrize(
    "along,straight,wanted",
    [
        ("8 in", "5 in", "passes"),
        ("12 in", "5 in", "fails"),
        (None, "5 in", "cannot tell"),
        (None, "9 in", "fails"),
    ],
)
def test_a_clampless_box_goes_by_the_length_along_the_sheath(along, straight, wanted, edition):
    segment = {"method": "NM-B", "place": "basement", "clampless box": "yes"}
    segment["first support"] = straight
    if along:
        segment["cable to first support"] = along
    assert run_of(segment, edition).answer("clampless-box", S) == wanted
    for inches, answer in (("0.25 in", "passes"), ("0.2 in", "fails")):
        run = run_of({**segment, "sheath in the box": inches}, edition)
        assert run.answer("sheath-into-a-clampless-box", S) == answer


@pytest.mark.parametrize("edition", ALL)
def test_a_trench_is_deeper_than_its_cover(edition):
    pipe = {"method": "PVC 40", "trade size": "2", "place": "underground"}
    pipe.update({"cover location": "elsewhere", "trench depth": "20 in"})
    run = run_of({**pipe, "bedding": "0 in"}, edition)  # CVR-01
    assert run.fact(S, "cover", "in") == Fraction("17.625")
    assert run.fact(S, "least trench", "in") == Fraction("20.375")
    assert run.answer("deep-enough", S) == "fails"
    # not a word of what lies under it: the cover is that much at most
    assert run_of({**pipe, "trench depth": "19 in"}, edition).answer("deep-enough", S) == "fails"
    cable = {"method": "UF-B", "cable diameter": "0.5 in", "place": "underground"}
    cable.update({"cover location": "elsewhere", "trench depth": "24 in", "bedding": "2 in"})
    run = run_of(cable, edition)  # CVR-02
    assert run.fact(S, "cover", "in") == Fraction("21.5")
    assert run.fact(S, "least trench", "in") == Fraction("26.5")
    assert run.answer("deep-enough", S) == "fails"


def test_trench_depth_is_no_other_word_for_cover():
    segment = {"method": "PVC 40", "place": "underground", "trade size": "1"}
    run = run_of({**segment, "trench depth": "18 in"})
    assert run.fact(S, "cover", "in") != 18
    with pytest.raises(Faults):  # of what, nobody can tell
        run_of({**segment, "depth": "18 in"})


@pytest.mark.parametrize("edition", ALL)
def test_the_fill_of_wiring_spaces(edition):
    def answers(**gutter):
        told = {k.replace("_", " "): v for k, v in gutter.items()}
        run = Run(edition=edition, gutters={"g": told})
        rules = ("cabinet-conductor-share", "wireway-conductor-share", "wiring-space-splice-share")
        return [run.answer(r, "gutters.g") for r in rules]

    space = {"cross-section": "16 in²", "conductor_area": "0.6474 in²", "feed-through": "no"}
    # PAN-10: 2.2099 in² of 12 with the connector
    spliced = {**space, "spliced": "yes", "connector_area": "1.5625 in²"}
    assert answers(**spliced) == ["passes", "does not apply", "passes"]
    spliced["connector_area"] = "11.4 in²"
    assert answers(**spliced) == ["passes", "does not apply", "fails"]
    wireway = {"kind": "metal wireway", "feed-through": "no"}
    full = answers(**wireway, conductor_share="21 %", spliced="no")
    assert full[1:] == ["fails", "does not apply"]
    assert answers(**wireway, conductor_share="20 %", spliced="yes", splice_share="75 %")[1:] == [
        "passes",
        "passes",
    ]


@pytest.mark.parametrize("edition", ALL)
def test_no_nm_cable_over_2_awg_is_designed(edition):
    segment = {"method": "NM-B", "place": "conditioned space", "location": "dry"}
    for amperes, breaker, wanted in (("64 A", "80 A", "2 AWG"), ("80 A", "100 A", None)):
        load = {"type": "space heater", "current": amperes, "continuous": "yes"}
        run = run_of(
            segment,
            edition,
            load=load,
            breaker={"rating": breaker},
            conductors={"material": "copper"},
            **{"more than one receptacle": "no"},
        )
        size = run.fact(C, "size to install")
        assert size == wanted if wanted else run.answer("no-size-passes", C) == "refers"
    run = run_of(segment, edition, conductors={"size": "1 AWG", "material": "copper"})
    assert run.answer("largest-nm-cable", C) == "fails"


@pytest.mark.parametrize("metal", ["copper", "aluminum"])
def test_the_range_of_a_lug_is_compared_at_every_size(metal):
    # 10 AWG is no larger than it has to be here, and the terminal still ends at 12 AWG
    run = run_of(
        {"method": "EMT", "place": "conditioned space", "location": "dry"},
        conductors={"size": "10 AWG", "material": metal, "insulation": "THWN-2"},
        breaker={"rating": "25 A"},
        load={"type": "space heater", "current": "20 A", "continuous": "yes"},
        **{"load termination": {"conductor range": "12 AWG"}},
    )
    assert run.answer("upsized-wire-fits-the-terminal", "circuits.c.load termination") == "fails"


# Table 8, solid, uncoated copper and aluminum at 75 °C
@pytest.mark.parametrize(
    "size,metal,ohms,stranded",
    [
        ("14 AWG", "copper", "3.07", "3.14"),
        ("12 AWG", "copper", "1.93", "1.98"),
        ("10 AWG", "copper", "1.21", "1.24"),
    ],
)
def test_small_conductors_of_cable_are_solid(size, metal, ohms, stranded):
    wire = {"size": size, "material": metal}
    run = run_of({"method": "NM-B"}, conductors=wire)
    assert run.fact(C, "resistance per length", "Ω/kft") == Fraction(ohms)
    run = run_of({"method": "NM-B"}, conductors={**wire, "stranded": "yes"})
    assert run.fact(C, "resistance per length", "Ω/kft") == Fraction(stranded)
    run = run_of({"method": "EMT"}, conductors={**wire, "insulation": "THWN-2"})
    assert run.fact(C, "resistance per length", "Ω/kft") == Fraction(stranded)
    area = {"14 AWG": 4110, "12 AWG": 6530, "10 AWG": 10380}[size]
    assert abs(10.371 / area * 1000 * (1 + 55 * 0.00393) - float(Fraction(ohms))) < 0.006
