"""`whywire fix`: whole alternatives side by side, exit codes as of inspect, and as plain data."""

import json
from pathlib import Path

import pytest

from whywire.cli.main import main

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
KILN = str(JOBS / "kiln.yaml")


def run(capsys, *words: str) -> tuple[int, str]:
    code = main([*words])
    return code, capsys.readouterr().out


def test_the_kiln_has_two_ways_out_the_cheaper_first(capsys):
    code, out = run(capsys, "fix", KILN)
    assert code == 1
    lines = [" ".join(line.split()) for line in out.splitlines()]
    assert "1 thing to fix." in lines
    assert "Fix 4-3 NM-B (8 AWG ground): 70 A (10 A to spare) cable" in lines
    assert any(line.startswith("Or 6 AWG THWN-2 in EMT (10 AWG ground) if") for line in lines)
    assert all(len(line) <= 80 for line in out.splitlines())


def test_the_same_as_plain_data_with_what_is_to_be_told(capsys):
    code, out = run(capsys, "fix", KILN, "--json")
    data = json.loads(out)
    (fix,) = data["fixes"]
    first, second = fix["ways"]
    assert code == 1 and data["headline"] == "NOT RIGHT"
    assert data["first ways together leave nothing that fails"] is True
    assert {(c["of"], c["is"]): c["value"] for c in first["changes"]} == {
        ("circuits.kiln.conductors", "size"): "4 AWG",
        ("circuits.kiln.conductors", "EGC size"): None,
    }
    assert (first["cost"], second["cost"]) == ("cable", "pipe")
    assert first["mends"] == [{"rule": "conductor-125-percent", "on": "circuits.kiln.conductors"}]


def test_of_one_thing_alone_and_of_what_is_not_there(capsys):
    job = str(JOBS / "interactions" / "water-heater-four-limits.yaml")
    code, out = run(capsys, "fix", job, "on 35")
    assert code == 1 and "1 thing to fix with on 35." in out
    assert "a 30 A breaker and 10-2 NM-B (10 AWG ground): 30 A (at the limit)" in out
    assert "a 30 A breaker alone (only with 10-2 NM-B (10 AWG ground))" in " ".join(out.split())
    assert main(["fix", job, "sauna"]) == 2


def test_a_circuit_that_is_right_is_not_named(capsys):
    code, out = run(capsys, "fix", str(JOBS / "interactions" / "upsizing-and-the-ground.yaml"))
    assert code == 1 and "(pipe" not in out


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("what would be found by looking", "Look    both ends marked 75 °C: 65 A (5 A to spare)"),
        ("and what is done where it is not so", "Or      4 AWG wire in the pipe (10 AWG ground)"),
    ],
)
def test_what_nobody_has_read_is_looked_at_first(said, expected, capsys):
    code, out = run(capsys, "fix", str(JOBS / "answers" / "kiln-in-pipe.yaml"))
    assert code == 3 and expected in out, said


def test_a_crowded_hole_is_one_thing_to_fix(capsys):
    code, out = run(capsys, "fix", str(JOBS / "interactions" / "five-cables-in-a-foamed-hole.yaml"))
    assert code == 1 and "1 thing to fix." in out and "(a, b, c, d, e)" in out
    assert "Fix     a hole of its own for e: 20 A (at the limit)" in out
