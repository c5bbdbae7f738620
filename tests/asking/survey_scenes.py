"""Surveys written down as answers (tests/asking/answers), each with the line that comes of it and
how many questions it takes; and how many it may take.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from whywire.cli.surveys import answered, read_answers
from whywire.engine import opened
from whywire.engine.asking.cards import read_cards
from whywire.engine.asking.survey import Survey

CARDS = read_cards()
HEAD = {"job": "A survey", "edition": "2023"}
K = opened({**HEAD, "circuits": {"x": {"volts": "240 V"}}})[2]
ANSWERS = Path(__file__).parent / "answers"
# a file of answers -> the line that comes of it, and how many questions it takes
SURVEYS = {
    "air-conditioner": (["35 A 2-pole", "10 AWG THWN-2 in 1/2 PVC 80", "ground 10 AWG"], 6),
    "bedroom": (["15 A 1-pole", "14-2 NM-B", "ground 14 AWG"], 9),
    "bench-oven": (["20 A 2-pole", "12-2 NM-B", "ground 12 AWG"], 10),
    "charger-moved": (["50 A 2-pole", "6-3 NM-B", "ground 10 AWG"], 15),
    "charger": (["60 A 2-pole", "6 AWG THWN-2 in 3/4 PVC 40", "ground 10 AWG"], 9),
    "compressor": (["30 A 2-pole", "10 AWG THWN-2 in 1/2 EMT", "ground 10 AWG"], 8),
    "cooktop": (["40 A 2-pole", "8-3 NM-B", "ground 10 AWG"], 8),
    "dryer": (["30 A 2-pole", "10-3 NM-B", "ground 10 AWG"], 7),
    "dryer-swapped": (["30 A 2-pole", "10-3 NM-B", "no ground"], 12),
    "generator": (
        [
            "30 A 2-pole",
            "10 AWG THWN-2 in 1/2 PVC 80, then 10 AWG THWN-2 in 1/2 EMT",
            "ground 10 AWG",
        ],
        7,
    ),
    # the neutral is bonded twice: not right, and no matter of the wire
    "generator-bonded": (["30 A 2-pole", "10 AWG THWN-2 in 1/2 PVC 80", "ground 10 AWG"], 6),
    "generator-by-hand": (["50 A 2-pole", "6 AWG THWN-2 in 1 PVC 80", "ground 10 AWG"], 8),
    "heat-pump": (
        ["45 A 2-pole", "10 AWG THWN-2 in 1/2 PVC 80, then 10-2 NM-B", "ground 10 AWG"],
        7,
    ),
    "hot-tub": (["50 A 2-pole", "8 AWG THWN-2 in 3/4 PVC 40", "ground 10 AWG"], 10),
    "kiln": (["60 A 2-pole", "4-3 NM-B", "ground 8 AWG"], 7),
    "kiln-on-a-wall": (["30 A 2-pole", "10 AWG THWN-2 in surface metal raceway"], 7),
    "kiln-at-its-worst": (
        ["50 A 2-pole", "6 AWG THWN-2 in 3/4 EMT, then 6-2 NM-B", "ground 10 AWG"],
        9,
    ),
    "lift": (["25 A 2-pole", "14 AWG THWN-2 in 1/2 EMT", "ground 14 AWG"], 8),
    "new-panel": (["100 A service", "house 92 A as it is, 97 A as new"], 17),
    "new-service": (["200 A service", "house 92 A as it is, 97 A as new"], 17),
    "old-welder": (["50 A 2-pole", "10-2 NM-B", "ground 10 AWG"], 7),
    "range": (["40 A 2-pole", "8-3 NM-B", "ground 10 AWG"], 8),
    # 8 AWG on 50 A is not shown as a wire to build by
    "range-swapped": (["50 A 2-pole", "ground 10 AWG", "40 ft"], 13),
    "sauna": (
        [
            "breaker not settled: the maker names 40 A, the Code needs more",
            "6-2 NM-B",
            "ground 10 AWG",
        ],
        7,
    ),
    "shed": (["50 A 2-pole", "6 AWG THWN-2 in 3/4 PVC 40", "ground 8 AWG"], 7),
    "subpanel": (["70 A 2-pole", "4-3 NM-B", "ground 8 AWG"], 7),
    "tankless": (["40 A 2-pole", "8-2 NM-B", "ground 10 AWG"], 6),
    "wall-heater": (["15 A 2-pole", "14-2 NM-B", "ground 14 AWG"], 5),
    "wall-oven": (["20 A 2-pole", "12-3 NM-B", "ground 12 AWG"], 7),
    "water-heater": (["25 A 2-pole", "10-2 NM-B", "ground 10 AWG"], 7),
    "welder": (["50 A 2-pole", "10-2 NM-B", "ground 10 AWG"], 7),
    "well-pump": (["20 A 2-pole", "10 AWG THWN-2 in 1/2 PVC 40", "ground 10 AWG"], 6),
}
MOST = {"old": 15, "service": 20, "new": 12}  # questions to the design


@cache
def surveyed(name: str) -> Survey:
    """The survey that a file of answers answers."""
    path = str(ANSWERS / f"{name}.yaml")
    return answered(Survey(CARDS, K, HEAD), read_answers(path), path)


def asked_by(survey: Survey) -> list[str]:
    return [answer.card for answer in survey.answers]


def sort_of(survey: Survey) -> str:
    """What is asked at most so many questions: a service, what is there, a new circuit."""
    if survey.kind.of:
        return "service"
    return "old" if "sizes_there" in asked_by(survey) else "new"
