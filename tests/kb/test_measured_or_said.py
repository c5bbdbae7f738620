"""What an inspector measures follows from the number; said outright it counts and is shown as said;
where the two part, nothing is concluded.

The limits are those of the sections beside each rule (examples there); here it is seen that each
verdict is decided by its number, at the rule that judges it.
"""

import pytest

from whywire.cli.show_answer import show_answer
from whywire.cli.show_inspection import show_inspection
from whywire.cli.show_note import show_note
from whywire.engine import inspect
from whywire.engine.answering.note import note_of
from whywire.engine.answering.questions import Why


def job(**told):
    return inspect(
        {"job": "measured", "edition": "2023", "building": "one-family dwelling", **told}
    )


def panel(**facts):
    return job(panels={"barn": {"as built": {k.replace("_", " "): v for k, v in facts.items()}}})


def space(**facts):
    return job(**{"working spaces": {"front": {k.replace("_", " "): v for k, v in facts.items()}}})


def service(**facts):
    told = {"work": "new", "arrangement": "service"}
    return job(service=told | {k.replace("_", " "): v for k, v in facts.items()})


def said(found, rule):
    """The answers of a rule, wherever it is about something."""
    about = found.k.rules[rule].about
    return {found.w.answer(found.k.rules[rule], thing) for thing in found.w.by_kind[about]}


def text(lines):
    return " ".join(" ".join("".join(t for t, _ in line) for line in lines).split())


# the rule that judges, its job with a number that is right, one that is not, and the yes outright
VERDICTS = [
    (
        "neutral-one-per-hole",
        panel,
        {"neutrals_in_the_fullest_hole": 1},
        2,
        {"neutrals_alone": "yes"},
    ),
    (
        "breakers-listed-for-the-panel",
        panel,
        {"unlisted_breakers": 0},
        1,
        {"breakers_listed_for_it": "yes"},
    ),
    ("directory-complete", panel, {"unnamed_circuits": 0}, 1, {"directory_complete": "yes"}),
    ("spares-marked", panel, {"unmarked_spares": 0}, 1, {"spare_spaces_marked": "yes"}),
    (
        "panel-openings-closed",
        panel,
        {"open_slots": 0, "open_knockouts": 0},
        1,
        {"openings_closed": "yes"},
    ),
    ("panel-door-opens", space, {"door_opens_to": "90 °"}, "89 °", {"door_opens": "yes"}),
    ("no-foreign-pipes", space, {"pipe_above_the_panel": "6 ft"}, "5 ft", {"foreign_pipes": "no"}),
    (
        "room-before-the-service",
        service,
        {"clear_depth_before_it": "36 in"},
        "35 in",
        {"clear_space_before_it": "yes"},
    ),
]
IDS = [row[0] for row in VERDICTS]


@pytest.mark.parametrize("rule, of, right, wrong, outright", VERDICTS, ids=IDS)
def test_the_number_decides(rule, of, right, wrong, outright):
    assert said(of(**right), rule) == {"passes"}
    assert said(of(**(right | {next(iter(right)): wrong})), rule) == {"fails"}
    assert said(of(), rule) == {"cannot tell"}


@pytest.mark.parametrize("rule, of, right, wrong, outright", VERDICTS, ids=IDS)
def test_said_outright_it_counts_and_is_marked(rule, of, right, wrong, outright):
    found = of(**outright)
    assert said(found, rule) == {"passes"}
    fact = next(iter(outright)).replace("_", " ")
    assert [one["is"] for one in found.as_said] == [fact]
    assert "AS YOU SAID not measured" in text(show_note(note_of(found)))
    assert "AS YOU SAID, not measured" in text(show_inspection(found))
    assert of(**right).as_said == []
    assert "AS YOU SAID" not in text(show_note(note_of(of(**right))))


@pytest.mark.parametrize("rule, of, right, wrong, outright", VERDICTS, ids=IDS)
def test_where_word_and_number_part_nothing_is_concluded(rule, of, right, wrong, outright):
    found = of(**(right | {next(iter(right)): wrong} | outright))
    assert said(found, rule) == {"cannot tell"}
    assert found.disputes


@pytest.mark.parametrize("rule, of, right, wrong, outright", VERDICTS, ids=IDS)
def test_what_is_asked_for_is_the_number(rule, of, right, wrong, outright):
    """No question asks for the verdict any more."""
    kind = of().k.words.kinds[of().k.rules[rule].about]
    word = kind.words[next(iter(outright)).replace("_", " ")]
    assert not word.ask
    assert all(
        kind.words[measure].ask and kind.words[measure].usual for measure in word.measured_by
    )


def test_why_says_whose_word_it_is():
    found = panel(neutrals_alone="yes")
    shown = text(show_answer(Why(found.w, found.whatif).question(["barn.as built", IDS[0]]), 80))
    assert "as you said, not measured" in shown
    measured = panel(neutrals_in_the_fullest_hole=1)
    shown = text(
        show_answer(Why(measured.w, measured.whatif).question(["barn.as built", IDS[0]]), 80)
    )
    assert "not measured" not in shown


@pytest.mark.parametrize(
    "edition, feet, doorway, listed",
    [
        ("2017", "6 ft", "no", True),
        ("2017", "6 ft", "yes", False),
        ("2020", "6 ft", "yes", True),
        ("2023", "6 ft", "yes", True),
        ("2026", "6 ft", "yes", True),
        ("2017", "6.1 ft", "no", False),
        ("2020", "6.1 ft", "no", False),
        ("2023", "6.1 ft", "no", False),
    ],
)
@pytest.mark.parametrize("measure", ["feet to the sink", "feet to the tub"])
def test_feet_to_the_sink_put_an_outlet_on_the_list(edition, feet, doorway, listed, measure):
    """210.8(A): 6 ft from a sink, tub or shower; in 2017 a doorway ends it (a cross-check of the
    places that are called so in test_ground_fault.py)."""
    place = {"place": "bedroom", measure: feet, "beyond a doorway": doorway}
    found = inspect(
        {
            "job": "sink",
            "edition": edition,
            "building": "one-family dwelling",
            "circuits": {"one": {"volts": "120 V", "receptacle": {"places": [place]}}},
        }
    )
    thing = found.w.by_kind["outlet place"][0]
    word = found.k.words.kinds["outlet place"].words["GFCI listed"]
    assert thing[word.slot] is listed


@pytest.mark.parametrize(
    "facts, there",
    [
        ({}, False),  # nobody said: there is none but those in the list
        ({"distance to the second rod": "6 ft"}, True),
        ({"distance to the second rod": "5.9 ft"}, False),
        ({"second rod": "yes"}, True),
        ({"second rod": "yes", "distance to the second rod": "5 ft"}, None),
    ],
)
def test_a_second_rod_by_its_distance(facts, there):  # 250.53(A)(3)
    found = service(electrodes=[{"kind": "rod"}], **facts)
    thing = found.w.by_kind["service"][0]
    assert thing[found.k.words.kinds["service"].words["second rod"].slot] is there
