"""`whywire check` of a pack of edits: every fault, each edit said back, what it changes, and the lines it adds."""

import json
import shutil
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine import changes, library, places
from whywire.engine.reading import read_yaml

HERE = Path(__file__).resolve().parent
SMALL = HERE.parent / "faults" / "edits" / "kb"
HEAD = "pack: mine\ntitle: Mine\nauthority: The Board\ncite: Ordinance 1\nlayer: county\nadopts: {edition: 2023, from: 2025-01-01}\n"
EXAMPLES = """  examples:
  - {rule: guarded, given: {breaker: 20 A, ampacity of wire: 15 A, class: other}, answer: fails}
  - {rule: guarded, given: {breaker: 15 A, ampacity of wire: 15 A, class: other}, answer: passes}
"""
WITHDRAWN = "- withdraw: next-size   # the county wants the breaker at or under the wire\n  cite: §1\n  reason: \"Costs: none\"\n" + EXAMPLES
SAID = "STRICTER: “A breaker may be up to 20 A where the wire carries less” (next-size) is withdrawn: guarded stands without it."


@pytest.fixture
def pack(tmp_path, monkeypatch):
    """A pack over a base small enough to amend."""
    monkeypatch.delenv("WHYWIRE_PACKS", raising=False)
    for module in (library, places, changes):
        monkeypatch.setattr(module, "KB", SMALL)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pack").mkdir()
    (tmp_path / "pack" / "pack.yaml").write_text(HEAD)
    return tmp_path / "pack"


def test_every_fault_in_the_files_order_and_each_edit_said_back(pack, capsys):
    (pack / "trial.yaml").write_text(WITHDRAWN + "- withdraw: nothing\n  cite: §2\n- amend: room\n  cite: §3\n  reason: x\n  strike: 30 in\n  insert: 42 in\n")
    assert main(["check", "pack"]) == 2
    out, err = capsys.readouterr()
    places_told = [[int(n) for n in line.split(": ")[0].split(":")[1:]] for line in err.splitlines() if line.startswith("pack/")]
    assert places_told == sorted(places_told) and len(places_told) == 5
    assert '"nothing" is no rule, value or table' in err and '"30 in" stands nowhere in the lines of room' in err and 'does not say "reason:"' in err
    assert SAID in " ".join(out.split()) and "3 edits, 5 faults" in out
    assert main(["check", "pack", "--json"]) == 2
    told = json.loads(capsys.readouterr().out)
    assert [e["direction"] for e in told["edits"]] == ["STRICTER", None, None] and len(told["faults"]) == 5
    assert told["examples"][0] == {"edit": "next-size", "number": 1, "rule": "guarded", "without": "exception applies", "with": "fails"}


def test_a_pack_on_the_shelf_is_called_by_its_name(pack, capsys):
    assert main(["check", "shire"]) == 2   # it keeps no meaning: lines
    assert "withdraw next-size" in capsys.readouterr().out
    assert main(["check", "shyre"]) == 2 and "no such folder" in capsys.readouterr().err


def test_a_sound_pack_says_its_last_day(pack, capsys):
    (pack / "trial.yaml").write_text(WITHDRAWN + "  until: 2027-01-01\n")
    assert main(["check", "pack", "--write"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert f"{SAID} In force up to its last day 2026-12-31." in out and "1 edit, 0 faults" in out


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_only_the_lines_that_are_missing_are_added(pack, capsys, end):
    text = "\ufeff# Ours.\n" + WITHDRAWN + "# in braces\n- {alias: guarded, cite: §2, reason: Old numbers., code: {2023: 3-2}}   # kept\n- set: spare share\n  meaning: mine to keep\n  cite: §3\n  reason: x\n  as in: 2017\n"
    path = pack / "trial.yaml"
    path.write_bytes(text.replace("\n", end).encode())
    assert main(["check", "pack", "--write"]) == 2   # what a person wrote as the meaning of the last is not its meaning
    out, err = capsys.readouterr()
    assert "4 lines added" in out and "now means" in err
    after = path.read_bytes().decode()
    added = [line for line in after.split(end) if line.startswith(("  of: ", "  meaning: \""))]
    assert len(added) == 2 and f'  meaning: "{SAID}"' in added
    braces = "{alias: guarded, of: must=72adb8, meaning: \"CHANGES: guarded is cited as 3-2 (2023); it says the same.\", cite: §2, reason: Old numbers., code: {2023: 3-2}}   # kept"
    assert braces in after
    kept = end.join(line for line in after.split(end) if line not in added).replace(braces, "{alias: guarded, cite: §2, reason: Old numbers., code: {2023: 3-2}}   # kept")
    assert kept.encode() == text.replace("\n", end).encode()
    assert main(["check", "pack", "--write"]) == 2 and "lines added" not in capsys.readouterr().out and path.read_bytes().decode() == after


def test_nothing_is_written_where_the_file_would_say_something_else(pack, capsys):
    text = WITHDRAWN.replace("- withdraw: next-size   #", "- ? withdraw\n  : next-size   #")   # the key and its value on two lines
    (pack / "trial.yaml").write_text(text)
    main(["check", "pack", "--write"])
    assert (pack / "trial.yaml").read_text() == text and "lines added" not in capsys.readouterr().out


def test_what_a_pack_changes_in_jobs(pack, capsys):
    (pack / "trial.yaml").write_text(WITHDRAWN)
    (pack / "jobs").mkdir()
    (pack / "jobs" / "shed.yaml").write_text("job: A shed\ncircuits: {shed: {breaker: 20 A, current: 12 A, class: other, wire: {size: 14 AWG}}, barn: {breaker: 15 A, current: 12 A, class: other, wire: {size: 14 AWG}}}\n")
    assert main(["check", "pack", "--write", "--changes"]) == 0
    out = capsys.readouterr().out
    assert "Jobs run with and without: 1; findings move in 1" in out
    assert "circuits.shed  guarded  exception applies (20 A <= 15 A) -> fails (20 A <= 15 A)" in out and "barn" not in out
    assert main(["check", "pack", "--changes", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["changes"]
    assert told["edition"] == "2023" and list(told["moves"]) == ["pack/jobs/shed.yaml"] and told["edits"] == ["mine: withdraw next-size"]


def test_the_shipped_jobs_that_the_ordinance_moves(capsys, monkeypatch, tmp_path):
    """d: no next size up but for motors. The kiln's 55 A wire on its 60 A breaker, and both numbers."""
    shutil.copytree(HERE / "clerk", tmp_path / "clerk")
    assert main(["check", str(tmp_path / "clerk"), "--changes", "--json"]) == 0
    moves = json.loads(capsys.readouterr().out)["changes"]["moves"]["kb/jobs/kiln.yaml"]
    assert {"on": "circuits.kiln.conductors", "what": "breaker-protects-conductors", "before": "exception applies (55 A >= 60 A)", "after": "fails (55 A >= 60 A)"} in moves
    assert read_yaml((tmp_path / "clerk" / "ordinance.yaml").read_text(), "x") == read_yaml((HERE / "clerk" / "ordinance.yaml").read_text(), "x")
