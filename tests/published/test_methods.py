"""Wiring methods: whole jobs against requirements published elsewhere.

The source of each figure stands beside its check. Where it says "from memory", the check finds a
slip of the pen in the rule, not a memory shared by both.
"""

import pytest
from job_run import Run


class Segment(Run):
    """A job with one circuit of one segment, and what is concluded of that segment."""

    def __init__(
        self, segment, circuit=None, conductors=None, building="one-family dwelling", **job
    ):
        super().__init__(
            {
                "a": {
                    "supply": "240 V",
                    "load": {"type": "storage water heater", "current": "20 A", "continuous": "no"},
                    "breaker": {"rating": "30 A"},
                    "conductors": {"size": "10 AWG", "material": "copper", **(conductors or {})},
                    "segments": [{"bundle": "none", **segment}],
                    **(circuit or {}),
                }
            },
            building=building,
            **job,
        )

    def says(self, rule):
        return self.answer(rule, "circuits.a.segments.1")

    def has(self, fact, unit=None):
        return self.fact("circuits.a.segments.1", fact, unit)


# ---- a roof: 310.15(B)(2) as restated by a continuing-education page and an article on
# 310.15(B)(3)(c): under 7/8 in of
# clearance 33 °C are added, at 7/8 in or more nothing, XHHW-2 is exempt. Factors: ambient
# correction table.

ROOF = {
    "method": "EMT",
    "place": "rooftop",
    "in direct sun": "yes",
    "ambient": "38 °C",
    "length": "20 ft",
}


@pytest.mark.parametrize(
    "clearance, insulation, ambient, factor, ampacity",
    [
        ("0.5 in", "THWN-2", 71, 0.50, 20.0),  # published case: 71 °C, 0.50, 40 A × 0.50 = 20 A
        ("1 in", "THWN-2", 38, 0.91, 36.4),  # published case: nothing added, 40 A × 0.91 = 36.4 A
        ("7/8 in", "THWN-2", 38, 0.91, 36.4),  # "less than 7/8 in" is the published limit
        ("0.5 in", "XHHW-2", 38, 0.91, 36.4),  # published note: XHHW-2 is exempt
    ],
)
def test_roof(clearance, insulation, ambient, factor, ampacity):
    r = Segment(ROOF | {"roof clearance": clearance}, conductors={"insulation": insulation})
    assert float(r.has("design ambient", "°C")) == ambient
    assert float(r.has("correction factor", "count")) == factor
    assert float(r.fact("circuits.a.conductors", "adjusted ampacity", "A")) == pytest.approx(
        ampacity
    )


def test_roof_with_unknown_clearance_concludes_nothing():
    r = Segment(ROOF, conductors={"insulation": "THWN-2"})
    # 20 A: between the two cases above
    assert r.answer("load-after-correction", "circuits.a.conductors") == "cannot tell"


def test_the_air_of_an_attic_gets_nothing_added():
    r = Segment(
        {"method": "EMT", "place": "attic", "location": "dry", "ambient": "38 °C"},
        conductors={"insulation": "THWN-2"},
    )
    # ambient correction table, 36-40 °C, 90 °C column
    assert float(r.has("correction factor", "count")) == 0.91


# ---- AC cable in insulation: 320.80(A), from memory


@pytest.mark.parametrize("wrapped, limit", [("yes", 60), ("no", 90)])
def test_ac_cable_in_insulation(wrapped, limit):
    r = Segment(
        {
            "method": "AC",
            "place": "attic",
            "location": "dry",
            "in insulation": wrapped,
            "ambient": "30 °C",
        }
    )
    assert r.has("cable temperature limit", "°C") == limit
    assert r.has("derating temperature", "°C") == 90


def test_ac_cable_when_nobody_knows_of_insulation():
    r = Segment({"method": "AC", "place": "attic", "location": "dry", "ambient": "30 °C"})
    assert r.has("cable temperature limit") is None


# ---- NM-B cable: 334.10 and 334.12, from memory


@pytest.mark.parametrize(
    "building, location, construction, answer",
    [
        ("one-family dwelling", "dry", None, "passes"),
        ("one-family dwelling", "damp", None, "fails"),
        ("one-family dwelling", None, None, "cannot tell"),
        ("unit in a multifamily dwelling", "dry", "type V", "passes"),
        ("unit in a multifamily dwelling", "dry", "type I II", "fails"),
        ("unit in a multifamily dwelling", "dry", None, "cannot tell"),
        ("other", "dry", "type V", "cannot tell"),  # 334.10(3): concealed behind a 15 minute finish
    ],
)
def test_where_nm_is_permitted(building, location, construction, answer):
    r = Segment(
        {"method": "NM-B", "place": "basement", "location": location},
        building=building,
        construction=construction,
    )
    assert r.says("nm-only-where-permitted") == answer


def test_nm_in_a_buried_pipe_is_in_a_wet_place():
    # forum answers and 300.5(B): the inside of an underground raceway is a wet location
    r = Segment({"method": "NM-B", "place": "underground"})
    assert r.says("nm-only-where-permitted") == "fails"


@pytest.mark.parametrize(
    "fact, answer",
    [
        ({"laid": "fished", "in reach": "no"}, "exception applies"),
        ({"laid": "fished", "in reach": "yes", "support spacing": "8 ft"}, "fails"),
        ({"laid": "fished", "support spacing": "8 ft"}, "fails"),
        ({"laid": "fished"}, "cannot tell"),
    ],
)
def test_fished_cable(fact, answer):
    # "NEC 334.30 Securement Requirements" (a trade forum): unsupported fishing between access
    # points is allowed
    r = Segment({"method": "NM-B", "place": "conditioned space", "location": "dry"} | fact)
    assert r.says("cable-support-spacing") == answer


ATTIC = {"method": "NM-B", "place": "attic", "location": "dry", "ambient": "40 °C"}


@pytest.mark.parametrize(
    "facts, answer",
    [
        # "Installing Type AC cable in accessible attic spaces" (a trade magazine): to 7 ft where
        # stairs are permanent
        (
            {
                "laid": "across framing",
                "attic access": "permanent stairs or ladder",
                "height above joists": "6 ft",
                "guard strips": "no",
            },
            "fails",
        ),
        (
            {
                "laid": "across framing",
                "attic access": "permanent stairs or ladder",
                "height above joists": "7.5 ft",
                "guard strips": "no",
            },
            "passes",
        ),
        # the same article: along the side of a joist no strips
        (
            {
                "laid": "along framing",
                "attic access": "permanent stairs or ladder",
                "guard strips": "no",
            },
            "does not apply",
        ),
        # 320.23(A), from memory: within 6 ft of a scuttle
        (
            {
                "laid": "across framing",
                "attic access": "scuttle",
                "distance to scuttle": "5 ft",
                "height above joists": "0 ft",
                "guard strips": "no",
            },
            "fails",
        ),
        (
            {
                "laid": "across framing",
                "attic access": "scuttle",
                "distance to scuttle": "7 ft",
                "height above joists": "0 ft",
                "guard strips": "no",
            },
            "passes",
        ),
    ],
)
def test_attic_guard_strips(facts, answer):
    assert Segment(ATTIC | facts).says("attic-guard-strips") == answer


@pytest.mark.parametrize("edge, answer", [("1.25 in", "passes"), ("1.2 in", "fails")])
def test_along_a_joist_in_the_attic(edge, answer):
    # the same article: a parallel run relies on the 1-1/4 in of 300.4(D)
    assert (
        Segment(ATTIC | {"laid": "along framing", "edge distance": edge}).says(
            "along-the-framing-from-the-edge"
        )
        == answer
    )


@pytest.mark.parametrize(
    "size, supply, answer",
    [
        ("12 AWG", "120 V", "fails"),  # published: 12-2 across the joist bottoms is not allowed
        ("8 AWG", "120/240 V", "passes"),  # published: 8-3 is allowed
        ("8 AWG", "240 V", "fails"),  # 334.15(C), from memory: two conductors must be 6 AWG
        ("6 AWG", "240 V", "passes"),
        ("10 AWG", "120/240 V", "fails"),
    ],
)
def test_under_basement_joists(size, supply, answer):
    # "NM cable in unfinished basements" (a trade forum)
    r = Segment(
        {
            "method": "NM-B",
            "place": "basement",
            "location": "dry",
            "laid": "across framing",
            "exposed": "yes",
        },
        {"supply": supply},
        {"size": size},
    )
    assert r.says("cable-under-basement-joists") == answer


@pytest.mark.parametrize("radius, answer", [("3 in", "passes"), ("2.9 in", "fails")])
def test_bend_of_nm(radius, answer):
    # 334.24, from memory: five times the diameter, 3 in for a 0.6 in cable
    r = Segment(
        {
            "method": "NM-B",
            "place": "basement",
            "location": "dry",
            "cable diameter": "0.6 in",
            "bend radius": radius,
        }
    )
    assert r.says("cable-bend-radius") == answer


@pytest.mark.parametrize("distance, answer", [("1.5 in", "passes"), ("1.4 in", "fails")])
def test_under_a_metal_roof_deck(distance, answer):
    # 300.4(E), from memory
    r = Segment(
        {
            "method": "NM-B",
            "place": "garage",
            "location": "dry",
            "roof deck": "metal deck",
            "distance below deck": distance,
        }
    )
    assert r.says("below-a-metal-roof-deck") == answer


# ---- under ground: "Code Q&A 3" (a trade magazine) for the yard; the rest of Table 300.5 from
# memory

COVER = {
    "elsewhere": {"UF-B": 24, "RMC": 6, "PVC 40": 18, "GFCI": 12},
    "dwelling driveway": {"UF-B": 18, "RMC": 18, "PVC 40": 18, "GFCI": 12},
    "under 2 in concrete in the trench": {"UF-B": 18, "RMC": 6, "PVC 40": 12, "GFCI": 6},
}
CASES = [(p, m, d) for p, row in COVER.items() for m, d in row.items()]


@pytest.mark.parametrize("place, method, depth", CASES)
def test_cover(place, method, depth):
    small = {"supply": "120 V", "breaker": {"rating": "20 A"}}
    facts = {"method": "UF-B", "GFCI ahead": "yes"} if method == "GFCI" else {"method": method}
    seg = facts | {"place": "underground", "cover location": place}
    circuit = small if method == "GFCI" else {}
    got = [
        Segment(seg | {"cover": f"{d} in"}, circuit).says("deep-enough")
        for d in (depth - 0.1, depth)
    ]
    assert got == ["fails", "exception applies" if method == "GFCI" else "passes"]


def test_uf_to_a_pump():
    # published: 240 V, 30 A, 14 in of cover is not enough, 24 in are; the 12 in are for 120 V, 20 A
    # and GFCI only
    seg = {"method": "UF-B", "place": "underground", "cover location": "yard", "GFCI ahead": "yes"}
    assert Segment(seg | {"cover": "14 in"}).says("deep-enough") == "fails"
    assert Segment(seg | {"cover": "24 in"}).says("deep-enough") == "passes"


def test_120_volts_at_25_amperes_gets_no_relief():
    seg = {
        "method": "UF-B",
        "place": "underground",
        "cover location": "yard",
        "GFCI ahead": "yes",
        "cover": "14 in",
    }
    # Table 300.5, from memory
    assert (
        Segment(seg, {"supply": "120 V", "breaker": {"rating": "25 A"}}).says("deep-enough")
        == "fails"
    )


def test_a_basement_is_not_asked_about_trenches():
    r = Segment({"method": "NM-B", "place": "basement", "location": "dry"})
    asked = {
        i
        for i in (
            "deep-enough",
            "ribbon-in-the-trench",
            "protected-above-grade",
            "sealed-at-the-building",
            "attic-guard-strips",
            "pvc-expansion-fitting",
            "below-a-metal-roof-deck",
            "sunlight-marking",
        )
        if r.says(i) != "does not apply"
    }
    assert asked == set()


def test_emergence():
    # 300.5(D)(1), from memory: from 18 in below to 8 ft above
    seg = {"method": "UF-B", "place": "underground", "cover location": "yard", "emerges": "yes"}
    deep = Segment(seg | {"protected below grade": "18 in", "protected above grade": "8 ft"})
    short = Segment(seg | {"protected below grade": "17 in", "protected above grade": "7.5 ft"})
    for rule in ("protected-below-grade", "protected-above-grade"):
        assert (deep.says(rule), short.says(rule)) == ("passes", "fails")


# ---- raceways

# Table 352.30, from memory: 3 ft for 1/2 to 1, 5 ft for 1-1/4 to 2, 6 ft for 2-1/2 and 3, 7 ft for
# 3-1/2 and 4
SPACING = {"1/2": 3, "1": 3, "1-1/4": 5, "2": 5, "2-1/2": 6, "3": 6, "3-1/2": 7, "4": 7}


@pytest.mark.parametrize("size, feet", SPACING.items())
def test_pvc_supports(size, feet):
    seg = {
        "method": "PVC 40",
        "place": "garage",
        "location": "dry",
        "laid": "on the surface",
        "trade size": size,
    }
    got = [
        Segment(seg | {"support spacing": f"{d} ft"}).says("raceway-support-spacing")
        for d in (feet, feet + 0.1)
    ]
    assert got == ["passes", "fails"]


def test_pvc_first_strap():
    seg = {"method": "PVC 40", "place": "garage", "location": "dry", "laid": "on the surface"}
    got = [
        Segment(seg | {"first support": f"{d} in"}).says("raceway-first-support") for d in (36, 37)
    ]
    assert got == ["passes", "fails"]  # 352.30(A), from memory: 3 ft


def test_pvc_expansion():
    # "PVC Expansion Fittings" (a trade forum): 4.06 in per 100 ft per 100 F°, fitting from 1/4 in;
    # 20 ft and 100 F° give 0.81 in
    seg = {
        "method": "PVC 40",
        "place": "outdoors",
        "straight length": "20 ft",
        "temperature swing": "100 F°",
    }
    r = Segment(seg | {"expansion fitting": "no"})
    assert round(float(r.has("expansion", "in")), 2) == 0.81
    assert r.says("pvc-expansion-fitting") == "fails"
    assert (
        Segment(seg | {"straight length": "6 ft", "expansion fitting": "no"}).says(
            "pvc-expansion-fitting"
        )
        == "does not apply"
    )
    hundred = Segment(seg | {"straight length": "100 ft"}).has("expansion", "in")
    assert float(hundred) == pytest.approx(4.06, abs=0.005)


@pytest.mark.parametrize("size, answer", [("4 AWG", "fails"), ("6 AWG", "does not apply")])
def test_bushing(size, answer):
    # 300.4(G), from memory: 4 AWG and larger
    seg = {"method": "EMT", "place": "basement", "location": "dry", "bushing": "no"}
    assert Segment(seg, conductors={"size": size}).says("bushing-for-large-conductors") == answer


@pytest.mark.parametrize(
    "insulation, answer", [("THHN", "fails"), ("THWN-2", "passes"), ("TW", "passes")]
)
def test_wet_pipe(insulation, answer):
    # 310.10(C) and 300.9, from memory
    assert (
        Segment(
            {"method": "PVC 40", "place": "outdoors"}, conductors={"insulation": insulation}
        ).says("wet-rated-insulation")
        == answer
    )


# ---- conductors


def test_white_conductor_on_240_volts():
    # 200.7(C)(1), from memory
    nm = {"method": "NM-B", "place": "basement", "location": "dry"}
    c = "circuits.a"
    assert Segment(nm).answer("white-re-identified", c) == "cannot tell"
    assert Segment(nm, {"white re-identified": "no"}).answer("white-re-identified", c) == "fails"
    assert Segment(nm, {"supply": "120/240 V"}).answer("white-re-identified", c) == "does not apply"
    assert (
        Segment({"method": "EMT", "place": "basement", "location": "dry"}).answer(
            "white-re-identified", c
        )
        == "does not apply"
    )


def test_smallest_conductors():
    # Table 310.106(A), from memory: 14 AWG copper
    seg = {"method": "EMT", "place": "basement", "location": "dry"}
    got = [
        Segment(seg, conductors={"size": s}).answer("smallest-copper", "circuits.a.conductors")
        for s in ("14 AWG", "16 AWG")
    ]
    assert got == ["passes", "fails"]
