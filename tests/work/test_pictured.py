"""The pictures of a sheet: every number is one that a rule came to, and the parts come to the
whole; what is not known is not drawn.
"""

import json
import re
import xml.etree.ElementTree as ET
from fractions import Fraction
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine.drawing.pictures import OF_AMOUNTS, drawn, shown_in_words
from whywire.engine.language.knowledge import KB
from whywire.engine.running.cache import load
from whywire.engine.work.opening import How, opened
from whywire.engine.work.pictured import pictures_of
from whywire.engine.work.sheets import AUDIENCES
from whywire.engine.work.takeoff import take_off

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"


def pictured(name: str, audience: str, changes: dict | None = None) -> dict[str, dict]:
    job = opened(JOBS / f"{name}.yaml", How(), changes or {})
    return {one["says"]: one for one in pictures_of(job, take_off(job), audience)}


def amounts(picture: dict) -> list[tuple[str, str]]:
    return [(part["amount"], part["says"]) for part in picture["amounts"]]


def test_the_run_of_a_range_from_its_breaker_to_its_outlet():
    run = pictured("scenarios/range-in-pipe", "helper")["The run of range"]
    assert run["start"] == ["2-pole 50 A breaker"]
    assert amounts(run) == [
        ("7 ft", "to make up at the panel"),
        ("35 ft", "EMT 3/4, conditioned space"),
        ("3 ft", "to make up at its end"),
    ]
    # (7 + 35 + 3) × 1.05 = 47.25, as the list has it
    assert (run["limit"]["amount"], run["limit"]["says"]) == (
        "47.25 ft",
        "for each wire, 2.25 ft of it for waste",
    )
    assert run["end"][1:] == ["14-50 receptacle", "range"]


def test_a_feeder_comes_out_of_the_ground_and_ends_at_its_panel():
    run = pictured("scenarios/workshop-feeder", "helper")["The run of feeder"]
    assert ("13 ft", "above the trench") in amounts(run) and run["end"] == ["shop"]
    # (7 + 130 + 13 + 7) × 1.05
    assert run["limit"]["number"] == 157 * Fraction("1.05")


def test_of_what_is_added_the_whole_is_drawn_and_not_the_old_stretch():
    """12 ft are added of 60: the stretch of 60 ft stands on no list, and in no picture."""
    bedroom = {"boxes entered": "2", "more than one receptacle": "yes"}
    changes = {"circuits": {"bedroom": bedroom}}
    run = pictured("editions/an-old-circuit-extended", "helper", changes)["The run of bedroom"]
    assert ("12 ft", "along the route") in amounts(run)
    assert not any("60 ft" in said for said, _ in amounts(run))


def test_what_is_not_known_is_not_drawn():
    """Two boxes or more: the make-up is 9 ft or more, and no picture says 9."""
    assert "The run of receptacles" not in pictured("scenarios/workshop-feeder", "helper")


def test_a_box_as_its_stacked_volumes():
    box = pictured("answers/box-of-a-range-receptacle", "inspector")["What is in range box"]
    # 3 × 6 AWG at 5, a ground at 2.5, a device of two gangs at 2 × 2 × 5, in 42 in³
    assert amounts(box) == [("15 in³", "wires"), ("2.5 in³", "grounds"), ("20 in³", "devices")]
    assert box["limit"]["number"] == 42
    bought = pictured("scenarios/range-in-pipe", "helper")["Each box of range"]
    assert sum(part["number"] for part in bought["amounts"]) == 21
    assert bought["limit"]["number"] == Fraction("30.3")


def test_of_two_ways_to_judge_a_service_the_one_it_stands_on_is_said():
    """121 A by the optional method is too much for 100 A; the measured peak says 85 A."""
    load_ = pictured("scenarios/kiln-on-a-small-service", "inspector")[
        "The load of the house against its main"
    ]
    assert [(part["amount"], part["decides"]) for part in load_["amounts"]] == [
        ("121 A", False),
        ("85 A", True),
    ]
    assert "85 A by the peak that was measured (this one counts)" in shown_in_words(load_)
    no_peak = {"service": {"peak demand": "unknown"}}
    alone = pictured("scenarios/kiln-on-a-small-service", "inspector", no_peak)
    (only,) = alone.values()
    assert [part["amount"] for part in only["amounts"]] == ["121 A"]


EVERY = [
    "kiln",
    "scenarios/range-in-pipe",
    "scenarios/workshop-feeder",
    "scenarios/kiln-on-a-small-service",
    "answers/box-of-a-range-receptacle",
]


@pytest.mark.parametrize("name", EVERY)
def test_a_picture_says_in_words_what_it_shows(name):
    job = opened(JOBS / f"{name}.yaml", How())
    off = take_off(job)
    found = [one for each in AUDIENCES for one in pictures_of(job, off, each)]
    assert found
    for picture in found:
        svg = drawn(picture, "it")
        root = ET.fromstring(svg)
        words = shown_in_words(picture)
        assert root.get("role") == "img" and root[0].text and root[1].text == words
        shown = " ".join(root.itertext())
        for part in [*picture["amounts"], picture["limit"]]:
            assert part["amount"] in words and part["amount"].split()[0] in shown
        # everything stays within its frame, and no colour of its own says anything
        height = float(root.get("viewBox", "").split()[3])
        assert all(float(y) <= height for y in re.findall(r' y="([\d.]+)"', svg))
        assert not re.search(r"#[0-9a-f]{3}|rgb|(fill|stroke):(?!none|currentColor)", svg)


def test_what_is_too_much_stands_out_of_the_box():
    box = pictured("answers/box-of-a-range-receptacle", "inspector")["What is in range box"]
    small = {**box, "limit": {**box["limit"], "number": Fraction(30), "amount": "30 in³"}}
    frames = re.findall(r'height="([\d.]+)" class="(?:mark|light|thick)"', drawn(small, "it"))
    *parts, frame = map(float, frames)
    assert sum(parts) > frame  # 37.5 of what 30 hold
    assert "room to spare" not in drawn(small, "it") and "room to spare" in drawn(box, "it")


def test_every_form_is_one_that_a_sheet_has():
    knowledge = load((KB / "work",), "2023")
    rows = knowledge.tables["pictures"].rows
    assert {str(row["form"]) for row in rows} == set(OF_AMOUNTS)
    kinds = {str(row["parts"]) for row in knowledge.tables["parts-drawn"].rows}
    for row in rows:
        assert str(row["rule"]) in knowledge.rules and str(row["parts"]) in kinds
        assert set(str(row["for"]).split()) <= set(AUDIENCES)


def test_pictures_are_on_the_page_and_in_words_in_the_data(capsys):
    words = ["sheet", str(JOBS / "scenarios/range-in-pipe.yaml"), "--for", "helper"]
    assert main([*words, "--as", "html"]) == 0
    page = capsys.readouterr().out
    assert page.count("<svg") == page.count("<figure>") == 2
    assert 'aria-labelledby="p1-t p1-d"' in page and 'id="p2-d"' in page
    main([*words, "--json"])
    sections = {one["title"]: one for one in json.loads(capsys.readouterr().out)["sections"]}
    assert sections["In pictures"]["pictures"][0].startswith("The run of range: 2-pole 50 A")
    main(words)
    assert "IN PICTURES" not in capsys.readouterr().out
