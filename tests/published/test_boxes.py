"""Box fill against values from outside: each check names its source; `from memory` where there is
no other.
"""

from fractions import Fraction

import pytest
from job_run import Run

ALLOWANCES = "trade-press and teaching pages on box sizing"
MEMORY = "from memory"
Z13 = "3 × 5.00 + 4 × 5.00 + 5.00 + 2.50, computed from the table of allowances"


class Box(Run):
    """A job with one box, and what is concluded of it."""

    def __init__(self, facts, edition="2023"):
        super().__init__(boxes={"one": facts}, edition=edition)

    def has(self, fact):
        return self.fact("boxes.one", fact)

    def says(self, rule="box-volume"):
        return self.answer(rule, "boxes.one")


KILN = {
    "conductors": [{"size": "6 AWG", "count": 3}],
    "EGCs": [{"size": "10 AWG", "count": 1}],
    "devices": [{"gangs": 2, "conductor": "6 AWG"}],
    "trade size": "4-11/16 x 2-1/8 square",
}


@pytest.mark.parametrize("edition", ["2017", "2020", "2023"])
def test_a_50_A_receptacle_is_half_an_inch_over(edition):  # Z13
    one = Box(KILN | {"internal clamps": "yes"}, edition)
    assert one.has("conductor fill") == 15, Z13
    assert one.has("device fill") == 20, Z13
    assert one.has("clamp fill") == 5, Z13
    assert one.has("EGC fill") == Fraction("2.5"), Z13
    assert one.has("required volume") == Fraction("42.5"), Z13
    assert one.has("usable volume") == 42, "Table 314.16(A), " + ALLOWANCES
    assert one.says() == "fails", Z13


def test_connectors_outside_make_it_fit():  # Z13
    one = Box(KILN | {"internal clamps": "no"})
    assert one.has("required volume") == Fraction("37.5"), Z13
    assert one.says() == "passes", Z13


def test_clamps_nobody_looked_at_are_not_taken_as_none():  # Z13
    one = Box(KILN)
    assert one.has("required volume") == (Fraction("37.5"), None), Z13
    assert one.says() == "cannot tell", Z13


def test_a_box_too_small_without_clamps_fails_whatever_they_are():
    # 29.5 in³, below the least fill 37.5
    one = Box(KILN | {"trade size": "4-11/16 x 1-1/2 square"})
    assert one.says() == "fails", Z13


@pytest.mark.parametrize(
    ("size", "allowance"),
    [
        ("18", "1.5"),
        ("16", "1.75"),
        ("14", "2"),
        ("12", "2.25"),
        ("10", "2.5"),
        ("8", "3"),
        ("6", "5"),
    ],
)
def test_allowances(size, allowance):  # BOX-01
    one = Box(
        {"conductors": [{"size": size + " AWG", "count": 1}], "EGCs": "none", "devices": "none"}
    )
    assert one.fact("boxes.one.conductors.1", "volume needed") == Fraction(allowance), ALLOWANCES


@pytest.mark.parametrize(
    ("trade_size", "counts"),
    [
        ("4 x 1-1/2 square", {"14": 10, "12": 9, "10": 8, "8": 7, "6": 4}),  # BOX-03
        ("4-11/16 x 2-1/8 square", {"14": 21, "12": 18, "10": 16, "8": 14, "6": 8}),  # BOX-05
    ],
)
@pytest.mark.parametrize("edition", ["2017", "2023"])
def test_as_many_conductors_of_one_size_and_not_one_more(trade_size, counts, edition):
    for size, most in counts.items():
        for n, wanted in ((most, "passes"), (most + 1, "fails")):
            one = Box(
                {
                    "trade size": trade_size,
                    "conductors": [{"size": size + " AWG", "count": n}],
                    "EGCs": "none",
                    "devices": "none",
                    "internal clamps": "no",
                },
                edition,
            )
            assert one.says() == wanted, f"{n} × {size} AWG, {ALLOWANCES}"


def two_cables(**more):
    return {
        "volume": "18 in³",
        "conductors": [{"size": "12 AWG", "count": 4}],
        "EGCs": [{"size": "12 AWG", "count": 2}],
        "devices": [{"gangs": 1, "conductor": "12 AWG"}],
        "internal clamps": "yes",
    } | more


def test_exactly_full_passes():  # BOX-08
    one = Box(two_cables())
    got = [
        one.has(n)
        for n in ("conductor fill", "EGC fill", "device fill", "clamp fill", "required volume")
    ]
    assert got == [9, Fraction("2.25"), Fraction("4.5"), Fraction("2.25"), 18], MEMORY
    assert one.says() == "passes", MEMORY
    one = Box(two_cables(volume="17.9 in³"))
    assert one.says() == "fails", MEMORY


def test_four_grounds_count_once():  # BOX-10
    facts = {
        "volume": "32 in³",
        "conductors": [{"size": "12 AWG", "count": 9}],
        "EGCs": [{"size": "12 AWG", "count": 4}],
        "devices": [{"gangs": 1, "conductor": "12 AWG"}, {"gangs": 1, "conductor": "12 AWG"}],
        "internal clamps": "no",
    }
    one = Box(facts)
    got = [one.has(n) for n in ("conductor fill", "EGC fill", "device fill", "required volume")]
    assert got == [Fraction("20.25"), Fraction("2.25"), 9, Fraction("31.5")], MEMORY
    assert one.says() == "passes", MEMORY
    del facts["volume"]
    one = Box(facts | {"trade size": "4 x 2-1/8 square"})
    assert one.has("usable volume") == Fraction("30.3")
    assert one.says() == "fails", MEMORY


@pytest.mark.parametrize(
    ("edition", "wanted"), [("2017", "2.5"), ("2020", "3.125"), ("2023", "3.125")]
)
def test_five_grounds_by_edition(edition, wanted):  # BOX-12
    one = Box(
        {
            "conductors": "none",
            "devices": "none",
            "EGCs": [{"size": "10 AWG", "count": 1}, {"size": "12 AWG", "count": 4}],
        },
        edition,
    )
    assert one.has("EGC fill") == Fraction(wanted), "a trade forum on counting grounds, 2020 change"


def test_a_dryer_receptacle_takes_two_gangs():  # BOX-15
    one = Box(
        {
            "conductors": [{"size": "10 AWG", "count": 3}],
            "EGCs": [{"size": "10 AWG", "count": 1}],
            "devices": [{"gangs": 2, "conductor": "10 AWG"}],
            "internal clamps": "no",
        }
    )
    assert one.has("required volume") == 20, MEMORY
    assert one.says() == "cannot tell", "no volume is told"


@pytest.mark.parametrize(
    ("barrier", "taken"),
    [("metal unmarked", "0.5"), ("nonmetallic unmarked", "1"), ("without", "0")],
)
def test_a_barrier_takes_room(barrier, taken):  # BOX-22
    one = Box({"trade size": "4 x 2-1/8 square", "barrier": barrier})
    assert one.has("usable volume") == Fraction("30.3") - Fraction(taken), (
        "a trade-press page on box fill in 2023"
    )


def test_pass_through_loops_and_pigtails():
    def volume(use, count=2):
        one = Box({"conductors": [{"size": "12 AWG", "count": count, "use": use}]})
        return one.fact("boxes.one.conductors.1", "volume needed")

    # 314.16(B)(1), from memory: unbroken once, a long loop twice, a pigtail never
    assert volume("unbroken straight through") == Fraction("4.5")
    assert volume("unbroken long loop") == 9
    assert volume("pigtail") == 0


def test_a_clamp_is_counted_by_the_largest_conductor_once():
    one = Box(
        {
            "conductors": [{"size": "14 AWG", "count": 2}, {"size": "10 AWG", "count": 2}],
            "EGCs": "none",
            "devices": "none",
            "internal clamps": "yes",
        }
    )
    assert one.has("clamp fill") == Fraction("2.5"), "314.16(B)(2), from memory"


def test_unlisted_contents_never_pass():
    one = Box({"trade size": "4 x 2-1/8 square", "internal clamps": "no"})
    assert one.says() == "cannot tell"


# 314.28, from memory: 8 × straight, 6 × and the others at an angle
def test_big_conductors_go_by_length():
    facts = {
        "conductors": [{"size": "4 AWG", "count": 3}],
        "EGCs": [{"size": "8 AWG", "count": 1}],
        "devices": "none",
        "volume": "20 in³",
    }
    one = Box(facts | {"pull": "straight", "biggest raceway": "2 in", "pull distance": "16 in"})
    assert one.says() == "does not apply"
    assert one.says("straight-pull-length") == "passes"
    one = Box(facts | {"pull": "straight", "biggest raceway": "2 in", "pull distance": "15 in"})
    assert one.says("straight-pull-length") == "fails"
    one = Box(
        facts
        | {
            "pull": "angle",
            "biggest raceway": "2 in",
            "other raceways": "1.5 in",
            "pull distance": "13.5 in",
        }
    )
    assert one.says("angle-pull-length") == "passes"
    assert one.says("straight-pull-length") == "does not apply"


# 300.15, 334.40(B), from memory
def test_a_splice_in_open_air_fails_and_a_fished_repair_need_not():
    run = Run(
        splices=[
            {
                "enclosure": "open air",
                "buried": "no",
                "concealed": "yes",
                "rewiring existing": "yes",
                "fished": "yes",
            },
            {
                "enclosure": "tap kit",
                "buried": "no",
                "concealed": "yes",
                "rewiring existing": "yes",
                "fished": "yes",
            },
            {
                "enclosure": "tap kit",
                "buried": "no",
                "concealed": "yes",
                "rewiring existing": "no",
                "fished": "yes",
            },
        ]
    )
    got = [run.answer("splice-in-a-box", f"splices.{n}") for n in (1, 2, 3)]
    assert got == ["fails", "exception applies", "fails"]
