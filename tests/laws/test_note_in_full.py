"""Nothing that a note cuts short is lost: `--all` says it whole, and a fault takes three lines."""

from __future__ import annotations

from pathlib import Path

import pytest

from whywire.cli.commands import fixes
from whywire.cli.layout import plain
from whywire.cli.main import main
from whywire.cli.show_fixes import show_fixes
from whywire.cli.show_note import show_assumed, show_note
from whywire.engine import inspect
from whywire.engine.answering.note import note_of

JOBS = Path("kb/jobs")


def joined(text: str) -> str:
    """A screen as one line."""
    return " ".join(text.split())


@pytest.mark.parametrize(
    "name", ["interactions/upsizing-and-the-ground", "measured/barn-panel-as-its-owner-says"]
)
def test_all_says_whatever_has_no_room_in_the_note(name, capsys):
    path = str(JOBS / f"{name}.yaml")
    note = note_of(inspect(path))
    assert "(--all)" in plain(show_note(note))
    main(["inspect", path, "--all"])
    said = joined(capsys.readouterr().out)
    wanted = [one.says for one in (*note.better, *note.allowed)]
    wanted += [one.ask for one in (*note.questions, *note.further_questions)]
    wanted += [*note.as_said, *note.not_looked_at, *(says for says, _ in note.referred)]
    assert len(wanted) > 3
    assert not [one for one in wanted if joined(one).removeprefix("Ask ") not in said]


@pytest.mark.parametrize(
    "name, most",
    [
        ("editions/receptacles-by-place", 32),
        ("interactions/upsizing-and-the-ground", 32),
        ("second-sources/inverter-beside-the-main", 32),
        ("second-sources/inverters-at-both-ends", 32),
    ],
)
def test_a_note_and_each_of_its_faults_is_short(name, most):
    note = note_of(inspect(str(JOBS / f"{name}.yaml")))
    lines = plain(show_note(note)).splitlines()
    assert len(lines) <= most and len(note.faults) <= 5
    starts = [lines.index(line) for n in range(9) for line in lines if line.startswith(f"{n}  ")]
    for start in starts:
        after = [n for n, line in enumerate(lines[start + 1 :], 1) if not line.startswith(" ")]
        assert after[0] <= 3, lines[start : start + after[0]]


def test_fix_cuts_no_word_and_no_name_off():
    """A long title and many circuits are wrapped."""
    segment = {"method": "NM-B", "length": "30 ft", "place": "basement", "location": "dry"}
    one = {
        "volts": "120 V",
        "load": {"type": "lighting", "current": "3 A", "continuous": "no"},
        "breaker": {"rating": "20 A"},
        "conductors": {"size": "14 AWG", "material": "copper"},
        "rooms": ["living room"],
        "receptacle": "none",
        "segments": [segment],
    }
    title = (
        "Twelve lights of a weaving mill, each on a 20 A breaker and 14 AWG of its own, 4 to a beam"
    )
    names = [f"beam {n}" for n in range(1, 13)]
    job = {"job": title, "edition": "2023", "circuits": dict.fromkeys(names, one)}
    said = plain(show_fixes(fixes(inspect(job), [])))
    assert "…" not in said and "..." not in said
    assert all(name in joined(said) for name in names)
    assert joined(title) in joined(said.replace("NEC 2023", ""))


def test_what_a_file_assumed_is_told_apart_from_what_we_assumed():
    circuit = {
        "volts": "240 V",
        "load": {"type": "kiln", "current": "20 A", "connection": "hard-wired"},
        "segments": [{"method": "NM-B", "length": "30 ft", "place": "attic", "location": "dry"}],
    }
    job = {"job": "x", "edition": "2023", "circuits": {"c": circuit}}
    job["assumed"] = ["circuits.c.load/connection"]
    note = note_of(inspect(job))
    assert note.file_assumed and not set(note.file_assumed) & set(note.assumed)
    screen = plain(show_note(note))
    assert "WE ASSUMED" in screen and "FILE ASSUMED" in screen
    assert "FILE ASSUMED" in plain(show_assumed(note))
    assert set(note.file_assumed) < set(note.as_dict()["assumed"])


def test_a_comparison_says_what_is_compared_and_which_way_it_is_short():
    """A rule without words of its own says the fact, and whether the limit is the most or least."""
    note = note_of(inspect(str(JOBS / "editions/panel-in-a-cellar.yaml")))
    said = {fault.says for fault in note.faults}
    assert "Cellar, clear way out: 22 in, where 24 in is the least (2 in short)." in said


def test_an_appliance_that_has_no_name_is_no_other():
    note = note_of(inspect(str(JOBS / "editions/appliances-by-name.yaml")))
    assert not any("the other" in fault.says.lower() for fault in note.faults)
    assert any(fault.says.startswith("The load needs GFCI") for fault in note.faults)


def test_what_a_fault_says_is_to_be_done_is_next():
    note = note_of(inspect(str(JOBS / "readings/terminals-and-testers-that-fail.yaml")))
    assert note.next == "fix 1, which can start a fire: tighten it to 35 lb-in"
    warm = next(fault for fault in note.faults if "30 C°" in fault.says)
    assert warm.says.endswith("Turn it off and remake the connection.")
