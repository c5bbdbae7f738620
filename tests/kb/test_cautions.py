"""Cautions: each at its step of the work, on the jobs it is meant for, and none that can kill left
out.
"""

from functools import cache

import pytest

from whywire.cli.show_inspection import show_inspection
from whywire.engine import inspect, load
from whywire.engine.answering.findings import MOMENTS, cautions
from whywire.engine.language.knowledge import KB
from whywire.engine.running.chain import World
from whywire.engine.running.job import read_job

K = load()
KILN = KB / "jobs" / "kiln.yaml"
RULES = [r for r in K.rules.values() if r.verb == "warns"]


@cache
def of(**segment):
    """The ids of what is warned of on a circuit with one such part."""
    found = inspect(
        {
            "edition": "2023",
            "building": "one-family dwelling",
            "circuits": {
                "one": {"segments": [{key.replace("_", " "): v for key, v in segment.items()}]}
            },
        }
    )
    return {c["rule"] for c in found.cautions}


def shown(found) -> list[str]:
    """The part of the report that warns, line by line."""
    lines = ["".join(text for text, _ in line) for line in show_inspection(found, 80)]
    start = lines.index("TAKE CARE") + 1
    return lines[start : lines.index("", start)]


def test_every_moment_has_its_place_in_the_work():
    order = [row["moment"] for row in K.tables[MOMENTS].rows]
    assert {str(r.d["at"]) for r in RULES} == set(order)
    steps = [row["step"] for row in K.tables[MOMENTS].rows]
    assert steps == sorted(steps, key=steps.index), "a step stands in two places"


def test_a_report_warns_step_by_step_and_once():
    found = inspect(KILN)
    steps = [line for line in shown(found) if not line.startswith(" ")]
    assert [s.split(":")[0] for s in steps] == [
        "Planning",
        "Running cable",
        "Opening up",
        "Before you touch",
        "Making up",
        "Energizing",
        "In use",
    ]
    text = " ".join(line.strip() for line in shown(found))
    assert all(text.count(c["says"]) == 1 for c in found.cautions)


# What must not be missing wherever there is a circuit: common practice, no source.
@pytest.mark.parametrize(
    "rule",
    [
        "off-and-locked",
        "live-dead-live",
        "main-off-lugs-live",
        "live-work",
        "torque-before-the-cover",
        "before-energizing",
        "order-of-work",
    ],
)
def test_what_can_kill_is_said_on_every_job_with_a_circuit(rule):
    assert rule in of(method="EMT", place="conditioned space")


def test_the_closing_line_defers_to_those_who_decide():
    lines = " ".join(
        "".join(text for text, _ in line) for line in show_inspection(inspect(KILN), 80)[-2:]
    )
    assert inspect(KILN).as_dict()["caution"] == lines
    assert all(
        who in lines
        for who in (
            "Local code",
            "manufacturer's instructions",
            "authority having jurisdiction",
            "licensed people",
        )
    )


@pytest.mark.parametrize(
    ("segment", "there", "not_there"),
    [
        (
            {"place": "attic", "method": "NM-B"},
            {"hot-attic", "attic-footing", "ladder-set"},
            {"masonry-dust", "trench-walls", "crawl-space-air"},
        ),
        (
            {"place": "underground", "method": "UF-B"},
            {"trench-walls", "ask-before-digging"},
            {"hot-attic", "masonry-dust"},
        ),
        (
            {"place": "basement", "laid": "through bored holes"},
            {"cords-on-the-site"},
            {"masonry-dust", "hot-attic"},
        ),
        ({"place": "basement", "laid": "on a masonry wall"}, {"masonry-dust"}, {"hot-attic"}),
        ({"place": "basement"}, {"masonry-dust"}, set()),  # nobody told how it runs
        (
            {"place": "rooftop", "method": "EMT"},
            {"fall-from-six-feet", "weather-on-the-roof"},
            {"hot-attic"},
        ),
    ],
)
def test_a_caution_goes_with_what_the_job_has(segment, there, not_there):
    got = of(**segment)
    assert there <= got and not not_there & got


def test_a_moment_that_only_a_pack_knows_comes_last_and_is_its_own_step(monkeypatch):
    monkeypatch.setitem(K.rules["warm-plug"].d, "at", "before the glaze")
    last = cautions(
        World(
            K, read_job({"circuits": {"one": {"receptacle": {"configuration": "6-50"}}}}, K)
        ).run()
    )[-1]
    assert (last["rule"], last["step"]) == ("warm-plug", "Before the glaze")
