"""GFCI and AFCI by place, appliance and edition against values from outside; `from memory` where
there is no other.
"""

import pytest
from job_run import EDITIONS, Run


class Circuit(Run):
    """A job with one circuit, and what is concluded of it."""

    def __init__(self, facts, edition, job=None):
        super().__init__({"one": facts}, edition, **(job or {}))

    def says(self, rule):
        return self.answer(rule, "circuits.one")


def by_place(facts, edition):
    """What the receptacle rule of the edition says."""
    one = Circuit(facts, edition)
    return one.says("gfci-receptacles" if edition != "2017" else "gfci-small-receptacles")


def asks(answer):
    """A rule that fails without protection is one that asks for it."""
    return {"fails": True, "does not apply": False}[answer]


@pytest.mark.parametrize(("edition", "wanted"), list(zip(EDITIONS, (False, False, True))))
# GFI-03: a trade-press article on the 2020 and 2023 kitchens
def test_a_range_receptacle_8_ft_from_the_sink(edition, wanted):
    facts = {
        "supply": "120/240 V",
        "GFCI": "no",
        "load": {"type": "cord-and-plug load"},
        "breaker": {"rating": "50 A"},
        "receptacle": {"configuration": "14-50", "places": [{"place": "kitchen elsewhere"}]},
    }
    assert asks(by_place(facts, edition)) is wanted


@pytest.mark.parametrize(("edition", "wanted"), list(zip(EDITIONS, (False, False, True))))
def test_a_hard_wired_wall_oven(edition, wanted):  # GFI-05: a builders' association summary of 2023
    one = Circuit(
        {
            "supply": "240 V",
            "GFCI": "no",
            "receptacle": "none",
            "breaker": {"rating": "30 A"},
            "load": {"type": "wall oven", "power": "4.5 kW"},
        },
        edition,
    )
    assert asks(one.says("gfci-named-appliance")) is wanted


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(
    ("place", "who"),
    [
        ("unfinished basement", "GFI-08, from memory"),
        ("garage", "GFI-14, a ceiling receptacle for a door opener, from memory"),
    ],
)
def test_120_V_receptacles_in_every_edition(edition, place, who):
    facts = {
        "supply": "120 V",
        "GFCI": "no",
        "breaker": {"rating": "20 A"},
        "receptacle": {"configuration": "5-20", "places": [{"place": place}]},
    }
    assert by_place(facts, edition) == "fails", who
    assert by_place(facts | {"GFCI": "yes"}, edition) == "passes", who
    del facts["GFCI"]
    assert by_place(facts, edition) == "cannot tell", "nobody said whether it is protected"


@pytest.mark.parametrize(("edition", "wanted"), list(zip(EDITIONS, (False, True, True))))
# X-23; 2020 took in 250 V and every size, from memory
def test_a_240_V_receptacle_in_a_workshop(edition, wanted):
    facts = {
        "supply": "240 V",
        "GFCI": "no",
        "breaker": {"rating": "50 A"},
        "receptacle": {"configuration": "6-50", "places": [{"place": "garage"}]},
    }
    assert asks(by_place(facts, edition)) is wanted


@pytest.mark.parametrize(("edition", "wanted"), list(zip(EDITIONS, (False, True, True))))
def test_a_finished_basement(edition, wanted):  # the word unfinished went in 2020, from memory
    facts = {
        "supply": "120 V",
        "GFCI": "no",
        "breaker": {"rating": "15 A"},
        "receptacle": {"configuration": "5-15", "places": [{"place": "finished basement"}]},
    }
    assert asks(by_place(facts, edition)) is wanted


@pytest.mark.parametrize("edition", EDITIONS)
# GFI-12: a licensing course and a trade journal; the section moved in 2020
def test_lighting_in_a_crawl_space(
    edition,
):
    one = Circuit(
        {
            "supply": "120 V",
            "GFCI": "no",
            "receptacle": "none",
            "breaker": {"rating": "15 A"},
            "load": {"type": "lighting"},
            "rooms": [{"place": "crawl space"}],
        },
        edition,
    )
    assert one.says("gfci-crawl-space-lighting") == "fails"
    assert one.k.section("gfci-crawl-space-lighting") == (
        "210.8(E)" if edition == "2017" else "210.8(C)"
    )


def test_one_listed_place_of_several_is_enough():  # 210.8(A), from memory
    facts = {
        "supply": "120 V",
        "GFCI": "no",
        "breaker": {"rating": "15 A"},
        "receptacle": {
            "configuration": "5-15",
            "places": [{"place": "living room"}, {"place": "within 6 ft of a sink"}],
        },
    }
    assert by_place(facts, "2023") == "fails"


@pytest.mark.parametrize(
    ("edition", "wanted"), list(zip(EDITIONS, ("not in force", "fails", "fails")))
)
def test_hard_wired_outdoors(edition, wanted):  # 210.8(F), from memory: receptacles only in 2017
    one = Circuit(
        {
            "supply": "240 V",
            "GFCI": "no",
            "receptacle": "none",
            "outlet at": "outdoors",
            "breaker": {"rating": "40 A"},
            "load": {"type": "heat pump", "instructions forbid GFCI": "no"},
            "HVAC relief": "no",
        },
        edition,
    )
    got = (
        one.says("gfci-outdoor-outlets")
        if "gfci-outdoor-outlets" in one.k.rules
        else "not in force"
    )
    assert got == wanted


@pytest.mark.parametrize(
    ("permit", "wanted"), [("2026-08-31", "exception applies"), ("2026-09-01", "fails")]
)
# 210.8(F) exc. 2 of 2023, a licensing course and a trade journal
def test_the_relief_for_heat_pumps_ends_on_its_day(permit, wanted):
    facts = {
        "supply": "240 V",
        "GFCI": "no",
        "receptacle": "none",
        "outlet at": "outdoors",
        "breaker": {"rating": "40 A"},
        "load": {"type": "heat pump", "listed": "yes", "instructions forbid GFCI": "no"},
    }
    one = Circuit(facts, "2023", {"permit date": permit})
    assert one.says("gfci-outdoor-outlets") == wanted
    one = Circuit(
        {**facts, "load": {"type": "spa", "listed": "yes"}}, "2023", {"permit date": permit}
    )
    # the relief is for heating and cooling alone
    assert one.says("gfci-outdoor-outlets") == "fails"


# 210.8(F), from memory for 2020
def test_relief_is_earned_by_a_date_and_in_2020_by_an_adopted_amendment():
    facts = {
        "supply": "240 V",
        "GFCI": "no",
        "receptacle": "none",
        "outlet at": "outdoors",
        "breaker": {"rating": "40 A"},
        "load": {"type": "heat pump", "listed": "yes", "instructions forbid GFCI": "no"},
    }
    one = Circuit(facts, "2023")  # no permit date: not earned
    assert one.says("gfci-outdoor-outlets") == "fails"
    one = Circuit(facts, "2020", {"permit date": "2024-03-01"})
    assert one.says("gfci-outdoor-outlets") == "fails"
    assert one.says("hvac-relief-by-date") == "refers"
    one = Circuit(facts | {"HVAC relief": "yes"}, "2020")
    assert one.says("gfci-outdoor-outlets") == "exception applies"


def test_maker_against_code_is_referred_and_neither_is_picked():  # Z19
    facts = {
        "supply": "240 V",
        "GFCI": "no",
        "breaker": {"rating": "50 A"},
        "load": {"type": "kiln", "instructions forbid GFCI": "yes"},
        "receptacle": {"configuration": "6-50", "places": [{"place": "garage"}]},
    }
    one = Circuit(facts, "2023")
    assert one.says("gfci-against-the-instructions") == "refers"
    assert one.says("gfci-receptacles") == "exception applies"
    one = Circuit({**facts, "load": {"type": "kiln", "instructions forbid GFCI": "no"}}, "2023")
    assert one.says("gfci-receptacles") == "fails"


@pytest.mark.parametrize("edition", EDITIONS)
def test_no_afci_for_a_30_A_240_V_dryer(edition):  # AFC-02: a trade-press answer on AFCI
    one = Circuit(
        {
            "supply": "120/240 V",
            "breaker": {"rating": "30 A"},
            "AFCI": "no",
            "load": {"type": "clothes dryer"},
            "rooms": [{"place": "laundry"}],
        },
        edition,
    )
    assert one.says("afci-protection") == "does not apply"
    assert one.fact("circuits.one", "AFCI required") is False


@pytest.mark.parametrize("edition", EDITIONS)
def test_afci_for_a_bedroom_and_not_for_a_bathroom(edition):  # 210.12, from memory
    def got(place, **more):
        one = Circuit(
            {
                "supply": "120 V",
                "breaker": {"rating": "15 A"},
                "AFCI": "no",
                "rooms": [{"place": place}],
            }
            | more,
            edition,
        )
        return one.says("afci-protection")

    assert got("bedroom") == "fails"
    assert got("bathroom") == "does not apply"
    assert got("other") == "cannot tell"
    short = {"work": "extended", "added length": "6 ft", "added outlets": "no"}
    assert got("bedroom", **short) == "exception applies"
    assert got("bedroom", **short | {"added length": "6.1 ft"}) == "fails"
