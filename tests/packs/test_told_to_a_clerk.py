"""What is said to a clerk beside the fault itself: the border that was voted, lines to paste that
come out as they say, and how a word is brought.
"""

from types import SimpleNamespace

import pytest

from whywire.cli import show_diff
from whywire.engine import inspect
from whywire.engine.comparing import amendments

HEAD = """pack: millrace
title: Millrace
authority: The Board
cite: Ordinance 1
layer: county
place: Millrace
adopts: {edition: 2023, from: 2025-01-01}
words: {job: {new rules: {is: yes or no, ask: Which rules were chosen?}}}
"""
SOUND = """
- take: ambient of segment
  as at least: 130 °F
  where: place is attic
- amend: working-space-depth
  strike: 36 in
  insert: 42 in
  choice until: 2027-01-01
  chosen by: new rules of job
  says: In front of equipment of 150 V or less to ground the clear space is at least 42 in deep.
- amend: equipment-grounding
  row: {rating: 100 A, material: copper}
  column: size
  strike: 8 AWG
  insert: 6 AWG
- add: fee-of-a-permit
  says: A permit costs 45 dollars.
  about: permit card
  counts as: yes
  gives: {days until applied: 45}
- amend: ambient-on-a-roof
  strike: ambient + roof step
  insert: (larger of (ambient and 45 °C)) + roof step
- add: old-attics
  says: In a house more than fifty years old at the permit NM-B cable is not used in an attic.
  about: segment
  when: [age at the permit of job > 50, place is attic]
  must not: method is NM-B
"""
ROUTINE = {"meaning-missing", "of-missing", "relieves", "example-moved"}


def pack(folder, edits):
    folder.mkdir()
    (folder / "pack.yaml").write_text(HEAD)
    written = edits.replace("\n- ", "\n  cite: §1\n  reason: x\n- ").removeprefix(
        "\n  cite: §1\n  reason: x"
    )
    (folder / "ordinance.yaml").write_text(f"{written}  cite: §1\n  reason: x\n")
    return folder


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    folder = pack(tmp_path_factory.mktemp("told") / "millrace", SOUND)
    return folder, amendments.review(folder)


def test_the_nearest_case_lies_beyond_the_border_and_its_number_comes_out_even(sound):
    _, got = sound
    says = {scene.edit.target: scene.says for scene in got.scenes}
    depth = says["working-space-depth"]
    assert "depth 36 in" in depth and "The same with depth 42 in: allowed." in depth
    # 130 °F is no even number of the other degrees
    assert "130 °F: allowed." in says["ambient of segment"] and "54.4" not in str(says)


def test_the_lines_to_paste_for_a_cell_come_out_as_they_say(sound, tmp_path):
    folder, got = sound
    (edit,) = [e for e in got.edits if e.target == "equipment-grounding"]
    lines = [
        f.todo.partition("add to its examples: ")[2]
        for f in got.faults.items
        if f.code == "example-needed" and "equipment-grounding" in f.what
    ]
    assert [line.startswith("- {rule: table-egc, given: {EGC rating: ") for line in lines] == [
        True,
        True,
    ]
    text = (folder / "ordinance.yaml").read_text()
    pasted = "  insert: 6 AWG\n  examples:\n" + "".join(f"  {line}\n" for line in lines)
    new = pack(tmp_path / "pasted", SOUND)
    (new / "ordinance.yaml").write_text(text.replace("  insert: 6 AWG\n", pasted))
    again = amendments.review(new).faults.items
    assert [
        str(f) for f in again if "equipment-grounding" in f.what and f.code not in ROUTINE
    ] == []


def test_what_is_always_worked_out_needs_no_case_that_it_leaves_alone(sound):
    _, got = sound
    lacks = [f.what for f in got.faults.items if f.code == "example-needed" and "fee-of" in f.what]
    assert len(lacks) == 1 and "comes out otherwise" in lacks[0]


def test_a_sentence_that_stays_over_other_lines_is_asked_about(sound):
    _, got = sound
    asked = [what for _, what in got.asked]
    assert [what for what in asked if what.startswith("its sentence stays as it was")] == [
        "its sentence stays as it was: “On a roof the ambient is the outdoor air plus what the roof"
        " adds”. Does it say what the lines say now?"
    ]
    # a day that the edit says for itself is not missed in the sentence
    assert not any("2027-01-01" in what for what in asked)


@pytest.mark.parametrize(
    "built, permit, answer",
    [(1975, "2026-03-01", "fails"), (1976, "2026-12-31", None), (1976, "2027-01-01", "fails")],
)
def test_a_house_is_as_old_as_at_its_permit(built, permit, answer, sound):
    folder, _ = sound
    job = {
        "permit date": permit,
        "year built": str(built),
        "circuits": {
            "kiln": {
                "supply": "240 V",
                "load": {"type": "kiln", "current": "20 A"},
                "segments": [{"method": "NM-B", "length": "20 ft", "place": "attic"}],
            }
        },
    }
    found = inspect({**job, "place": "Millrace"}, packs=[folder])
    answers = [f.answer for f in found.findings if f.rule == "old-attics"]
    assert answers == ([answer] if answer else [])


UNSOUND = """
- add: out-of-the-flood
  says: A panel is high.
  about: panel
  when: [flood zone of job, district of job is Old Mill]
  must: height above the floor >= 4 ft
- add: extended
  says: It has a GFCI.
  about: circuit
  when: work is extended or modified
  must: GFCI protection
- amend: working-space-depth
  strike: 36 in
  insert: 42 in
  where: floodway of job
  says: The clear space is at least 42 in deep.
"""


def test_a_word_to_bring_is_written_as_the_line_uses_it(tmp_path):
    faults = amendments.review(pack(tmp_path / "unsound", UNSOUND)).faults.items
    todo = {f.what.split(": ")[-1]: f.todo for f in faults}
    for what, word in (
        ('a job has no "flood zone"', "{job: {flood zone: {is: yes or no, ask: ...}}}"),
        ('a job has no "district"', "{job: {district: {is: Old Mill | ..., ask: ...}}}"),
        (
            'a panel has no "height above the floor"',
            "{panel: {height above the floor: {is: ft, ask: ...}}}",
        ),
    ):
        assert f"a pack may bring a word of its own: words: {word}" in todo[what]
    assert "is 'old or new'" in todo['"or" does not part choices']
    # once, though a condition of where: stands in two rules
    assert len([f for f in faults if "floodway" in f.what]) == 1


def test_a_fault_of_the_new_version_is_told_once_for_all_jobs():
    unread = {name: "the new version has a fault" for name in ("one", "two", "three", "four")}
    got = SimpleNamespace(differences=[], jobs=0, keep=0, unread={**unread, "five": "another"})
    labels = [piece.label for piece in show_diff._turned(got) if "not be compared" in piece.text]
    assert labels == ["one, two, three and 1 more", "five"]
