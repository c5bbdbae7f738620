"""Questions from the trade, line by line: what stands in each line of an answer, in which order,
in twelve lines at most of eighty columns.

Numbers were worked by hand beside each; the sections are those of the 2023 edition, the tables
310.16, 310.15(B)(1)(1), 250.122, 314.16(A) and (B), and 8 of Chapter 9.
"""

from __future__ import annotations

import re

import pytest
from prompt import typed

from whywire.engine.asking.job_file import job_text

WORDS = ("YES.", "NO.", "NOT YET.", "CAN'T TELL.")
NM = {"method": "NM-B", "length": "40 ft", "place": "basement", "location": "dry", "bundle": "none"}


def of_one(name: str, **circuit) -> dict:
    """A job of one circuit."""
    job = {"job": f"A question about the {name}", "edition": "2023"}
    return {**job, "circuits": {name: {"volts": "240 V", **circuit}}}


def kiln(**more) -> dict:
    """48 A, continuous: 48 × 1.25 = 60 A; 6 AWG copper is 55 A at 60 °C and 65 A at 75 °C."""
    told = {
        "length": "40 ft",
        "more than one receptacle": "no",
        "load": {"type": "kiln", "current": "48 A", "connection": "hard-wired"},
        "breaker": {"rating": "60 A"},
        "conductors": {"size": "6 AWG", "material": "copper", "EGC size": "10 AWG"},
        "segments": [NM],
        "receptacle": "none",
    }
    return of_one("kiln", **told | more)


def in_pipe() -> dict:
    pipe = {**NM, "method": "EMT", "trade size": "3/4"}
    wire = {"size": "6 AWG", "material": "copper", "insulation": "THWN-2"}
    return kiln(segments=[pipe], conductors=wire)


def attic(load: dict, **more) -> dict:
    """55 A × 0.71 at 140 °F is 39.05 A of 8 AWG; × 0.76 at 131 °F 41.8 A; 75 × 0.71 = 53.25 A."""
    hot = {**NM, "length": "60 ft", "place": "attic", "ambient": "140 °F"}
    return of_one(
        "heater",
        length="60 ft",
        load=load,
        breaker={"rating": "40 A"},
        conductors={"size": "8 AWG", "material": "copper"},
        segments=[hot],
        **more,
    )


TANKLESS = attic(
    {"type": "tankless water heater", "power": "9600 W", "continuous": "no"},
    **{"receptacle": "none", "more than one receptacle": "no"},
)
UNKNOWN = attic(
    {"type": "other", "current": "30 A", "continuous": "no", "motor operated": "no"}
    | {"hermetic": "no"}
)
# 10,380 × 26,240 ÷ 16,510 = 16,497.35 cmil; 8 AWG has 16,510, 10 AWG 6,117.35 too few
GROUND = of_one(
    "shop",
    length="140 ft",
    load={"type": "other", "current": "40 A", "continuous": "no", "connection": "hard-wired"}
    | {"motor operated": "no", "hermetic": "no", "power factor": "1"},
    breaker={"rating": "40 A"},
    conductors={"size": "6 AWG", "material": "copper", "insulation": "THWN-2"}
    | {"EGC size": "8 AWG", "EGC material": "copper"},
    segments=[{"method": "PVC 40", "trade size": "3/4", "length": "140 ft"}
    | {"place": "underground", "location": "wet", "bundle": "none"}],
    receptacle="none",
)  # fmt: skip
IN_THE_BOX = {
    "trade size": "4-11/16 x 2-1/8 square",
    "conductors": [{"count": 3, "size": "6 AWG", "use": "ends here"}],
    "EGCs": [{"count": 1, "size": "10 AWG"}],
    "devices": [{"gangs": 2, "conductor": "6 AWG"}],
}
# 3 × 5 + 4 × 5 + 5 + 2.5 = 42.5 in³ in 42.0
BOXES = {
    "job": "A range receptacle in its box",
    "edition": "2023",
    "boxes": {"seen": {**IN_THE_BOX, "internal clamps": "yes"}, "not seen": IN_THE_BOX},
}
HEAT_PUMP = of_one(
    "heat pump",
    length="30 ft",
    load={"type": "heat pump", "MCA": "21 A", "MOCP": "35 A", "current": "17 A"}
    | {"connection": "hard-wired", "device on the plate": "fuse or breaker"},
    breaker={"rating": "35 A", "kind": "inverse-time breaker"},
    conductors={"size": "12 AWG", "material": "copper", "insulation": "THWN-2"},
    segments=[{**NM, "method": "EMT", "trade size": "1/2", "length": "30 ft"}
    | {"place": "conditioned space"}],
    receptacle="none",
    **{"supply termination": {"marking": "75 °C"}, "load termination": {"marking": "75 °C"}},
)  # fmt: skip

# what is asked of which job, and what stands in the answer: the headline, then (label, what is in
# that line) in this order; a label of "" is a further line of the row before
SITUATIONS = {
    "48 A kiln, 6 AWG NM-B, 60 A breaker: good?": (
        kiln(),
        ("why", "kiln"),
        "NO. 6 AWG NM-B is 5 A too small for this kiln. The 60 A breaker is right.",
        [
            ("Load", "125 % × continuous load 48 A = 60 A", "210.19(A)(1)"),
            ("Wire", "6 AWG, copper, 60 °C column (NM-B): 55 A", "334.80, Table 310.16"),
            ("Check", "55 A >= 60 A?  No, 5 A short."),
            ("Won't help", "Next size up", "never wire under 60 A", "240.4(B)"),
            ("", "NM-B stays in the 60 °C column", "334.80"),
            ("Fix", "70 A (10 A to spare)"),
            ("", "6 AWG THWN-2 in EMT", "marked 75 °C: 65 A", "(5 A"),
            ("Why", "terminals"),
            ("Based on", "48 A (you said)", "kiln", "three hours"),
        ],
    ),
    "why not 8 AWG? the attic's 140 °F": (
        TANKLESS,
        ("whynot", "heater", "size=8 AWG"),
        "NO. 8 AWG carries 39.05 A there and the tankless water heater draws 40 A.",
        [
            ("Load", "9600 W ÷ line voltage 240 V = 40 A"),
            ("Wire", "8 AWG, copper, 90 °C column (NM-B): 55 A", "334.80, Table 310.16"),
            ("", "140 °F: factor 0.71; 55 × 0.71 = 39.05 A", "Table 310.15(B)(1)(1)"),
            ("Check", "39.05 A >= 40 A?  No, 0.95 A short.", "210.19(A)(2)"),
            ("Won't help", "Next size up", "240.4(B)"),
            ("", "75 °C terminations", "334.80"),
            ("Passes", "6 AWG: 53.25 A (13.25 A to spare)"),
            ("", "8 AWG at ambient 131 °F or less: 41.8 A"),
            ("", "8 AWG with 6 ft or less of the run in the heat (310.14(A)(2) exc.)"),
            ("Why", "heat"),
        ],
    ),
    "the same attic, and nobody said what it feeds": (
        UNKNOWN,
        ("why", "heater", "breaker"),
        "NOT YET. The 40 A breaker is 0.95 A over what 8 AWG may carry.",
        [
            ("Wire", "8 AWG, copper, 90 °C column (NM-B): 55 A"),
            ("", "55 × 0.71 = 39.05 A", "310.15(B)(1)"),
            ("Check", "39.05 A >= 40 A?  No, 0.95 A short.", "240.4"),
            ("Unless", "Next size up", "240.4(B)"),
            ("But", "more than one receptacle", "240.4(B)(1)"),
            ("Tell me", "more than one receptacle? Yes: fails. No: passes."),
            ("Right", "8 AWG carries the load", "210.19(A)(2)"),
            ("Fix", "a 35 A breaker"),
            ("Why", "wire"),
        ],
    ),
    "why is my ground 8 AWG?": (
        GROUND,
        ("why", "shop", "ground"),
        "YES. 8 AWG, because the hots went from 8 AWG up to 6 AWG.",
        [
            ("Need", "10 AWG: area 10,380 cmil"),
            ("", "26,240 cmil ÷ 16,510 cmil = 1.5893; 10,380 cmil × 1.5893 = 16,497.35"),
            ("Check", "16,510 cmil >= 16,497.35 cmil?  Yes, 12.65 cmil to spare.", "250.122(B)"),
            ("Start", "40 A breaker: 10 AWG by Table 250.122, 6117.35 cmil short"),
            ("Hots", "drop 2.29 %", "3 % is advice, the ground is law"),
            ("Means", "jacket", "(250.118)"),
            ("Why", "fault current"),
        ],
    ),
    "why does the box fail by half a cubic inch?": (
        BOXES,
        ("why", "seen"),
        "NO. The box is 42 in³ and needs 42.5 in³: 0.5 in³ short.",
        [
            ("Contents", "3 × 5 in³ = 15 in³", "314.16(B)(1)"),
            ("", "2 gangs", "2 × 2 × 5 in³ = 20 in³", "314.16(B)(4)"),
            ("", "clamp", "5 in³", "314.16(B)(2)"),
            ("", "10 AWG", "2.5 in³", "314.16(B)(5)"),
            ("", "together 42.5 in³"),
            ("Check", "42 in³ >= 42.5 in³?  No, 0.5 in³ short.", "314.16(A)"),
            ("Won't help", "pigtails", "nothing"),
            ("Fix", "clamp outside the box: 37.5 in³ (4.5 in³ to spare)"),
            ("Why", "Packed wire"),
        ],
    ),
    "the same box, and nobody looked for clamps": (
        BOXES,
        ("why", "not seen"),
        "CAN'T TELL. 42 in³ against 37.5 in³ or more: internal clamps",
        [
            ("Contents", "15 in³"),
            ("", "20 in³"),
            ("", "2.5 in³"),
            ("Look", "clamps inside the box?", "Look: the box"),
            ("If yes", "fails, 0.5 in³ short"),
            ("If no", "passes, 4.5 in³ to spare"),
        ],
    ),
    "why is a 35 A breaker all right on 12 AWG?": (
        HEAT_PUMP,
        ("why", "heat pump", "breaker"),
        "YES. The heat pump's nameplate sets this breaker: 35 A is its maximum.",
        [
            ("Check", "35 A <= MOCP 35 A?  Yes, at the limit.", "440.22"),
            ("Check", "25 A >= MCA 21 A?  Yes, 4 A to spare.", "440.35"),
            ("Allowed", "limit of 12 AWG", "240.4(G)"),
            ("", "125 % into the MCA; do not add it twice", "440"),
            ("Why", "maker"),
            ("Based on", "86 °F", "NEC 2023"),
        ],
    ),
    "6 AWG in pipe, and nobody read the terminals": (
        in_pipe(),
        ("why", "kiln"),
        "NOT YET. Two temperature ratings nobody has read decide this; until then, no.",
        [
            ("Load", "125 % × continuous load 48 A = 60 A", "210.19(A)(1)"),
            ("Unread", "counts as 60 °C: 55 A, 5 A short", "110.14(C)(1)(a)"),
            ("If 75", "both marked 75 °C: 65 A, 5 A to spare. Passes."),
            ("Look", "1 supply termination", "2 load termination", "75 °C", "BOTH", "Power off"),
            ("No mark?", "4 AWG: 70 A passes either way"),
            ("Won't help", "90 °C on the wire", "110.14(C)"),
            ("Why", "terminals"),
        ],
    ),
    "why not 4 AWG and a 70 A breaker?": (
        kiln(),
        ("whynot", "kiln", "size=4 AWG", "rating=70 A"),
        "YES. Nothing rejects size 4 AWG of kiln conductors and rating 70 A of kiln",
        [
            ("Check", "70 A >= 70 A?  Yes, at the limit.", "240.4"),
            ("With it", "EGC size 8 AWG, not the 10 AWG"),
            ("Mends", "6 AWG NM-B is 5 A too small for this kiln."),
        ],
    ),
    "why not a 70 A breaker on what is there?": (
        in_pipe(),
        ("whynot", "kiln", "rating=70 A"),
        "NO. Rating 70 A of kiln breaker: ",
        [("Fails", "55 A >= 70 A?  No, 15 A short.", "240.4"), ("Why", "wire")],
    ),
    "what if the attic is only 120 °F?": (
        TANKLESS,
        ("whynot", "heater", "ambient=120 °F"),
        "YES. Nothing rejects ambient 120 °F of heater segment 1.",
        [
            ("Check", "40 A >= 40 A?  Yes, at the limit.", "240.4"),
            ("Check", "45.1 A >= 40 A?  Yes, 5.1 A to spare.", "210.19(A)(2)"),
            ("Check", "120 °F < 194 °F?  Yes, 74 °F to spare."),
            ("Mends", "8 AWG carries 39.05 A there and the tankless water heater draws 40 A."),
        ],
    ),
}


def asked(job: dict, words: tuple[str, ...], tmp_path, *more: str) -> str:
    path = tmp_path / "job.yaml"
    path.write_text(job_text(job), encoding="utf-8")
    command, *rest = words
    code, out, err = typed(command, path, *rest, "--chainer", "plain", *more)
    assert code == 0 and not err, err
    return out


@pytest.mark.parametrize("question", SITUATIONS)
def test_a_situation_reads_line_by_line(question, tmp_path):
    job, words, headline, wanted = SITUATIONS[question]
    out = asked(job, words, tmp_path)
    lines = out.splitlines()
    assert len(lines) <= 12 and all(len(line) <= 80 for line in lines), out
    assert out.startswith(headline) and out.startswith(WORDS), out
    # each row from its label to the next that is wanted: what it must say stands there
    at = len(lines[0])
    for place, (label, *texts) in enumerate(wanted):
        begin = out.find(f"\n{label}", at) if label else at
        assert begin >= 0, (label, out)
        following = [later for later, *_ in wanted[place + 1 :] if later][:1]
        end = out.find(f"\n{following[0]}", begin + 1) if following else len(out)
        assert end > 0, (following, out)
        flat = " ".join(out[begin:end].split())
        for text in texts:
            assert " ".join(text.split()) in flat, (label, text, out)
        at = begin + len(label) if label else at


@pytest.mark.parametrize("question", [q for q in SITUATIONS if SITUATIONS[q][1][0] == "why"])
def test_a_homeowner_is_told_without_the_trade(question, tmp_path):
    """What is wrong, how bad, what will be done or bought; no cmil, no section but who says so."""
    job, words, headline, _ = SITUATIONS[question]
    out = asked(job, words, tmp_path, "--plain")
    word = next(word for word in WORDS if headline.startswith(word))
    lead = "We don't know yet." if word == "CAN'T TELL." else word.capitalize()
    assert out.startswith(lead), out
    before, _, who = out.partition("Who says so:")
    assert "cmil" not in before and not re.search(r"\d{3}\.\d", before), out
    assert "National Electrical Code 2023" in " ".join(who.split()), out
    if word == "NO.":
        assert re.search(r"What will be done:", before), out


def test_what_no_rule_judges_names_the_rule_that_does(tmp_path):
    """Nobody judges a conductor's material; nor an end of a circuit by itself."""
    out = asked(kiln(), ("why", "kiln", "material"), tmp_path)
    assert out.startswith("YES. Material of kiln conductors: copper (you said).")
    assert re.search(r"\nDecides +[a-z-]+-[a-z-]+ (passes|fails)", out), out
    out = asked(kiln(), ("why", "kiln supply termination"), tmp_path)
    assert out.startswith(WORDS)
    assert "conductor-125-percent" in out, out
