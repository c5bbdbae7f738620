"""What a clerk is told where something is amiss between packs, days, jobs and tables: one message
each, at his own line, with what to write.
"""

import json
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine.comparing import amendments
from whywire.engine.law.library import Library

PLACES = Path(__file__).resolve().parents[2] / "kb" / "places"
HEAD = """pack: alder-creek
title: Alder Creek ordinance
authority: The Board
cite: Ordinance 7
layer: county
place: Alder Creek
adopts: {edition: 2023, from: 2025-01-01}
"""
DEEPER = """- amend: working-space-depth
  cite: {cite}
  reason: Shelves stand there.
  says: In front of equipment of 150 V or less to ground the clear space is at least {deep} in deep.
  strike: 36 in
  insert: {deep} in
"""
ROOM = """place: Alder Creek
permit date: 2026-03-01
working spaces:
  kiln shed: {voltage to ground: 120 V, depth: 44 in, width: 32 in, equipment width: 14 in}
"""


def a_pack(folder, edits, head=HEAD):
    folder.mkdir()
    (folder / "pack.yaml").write_text(head)
    (folder / "ordinance.yaml").write_text(edits)
    return folder


def told(folder):
    """The faults of a pack, at their files: (file, code, what, what to do)."""
    got = amendments.review(folder)
    return [(f.at[0], f.code, f.what, f.todo) for f in got.faults.items]


@pytest.fixture
def versions(tmp_path, monkeypatch):
    """A pack on the shelf, a new version of it beside, and a job that the two judge otherwise."""
    shelf = tmp_path / "shelf"
    shelf.mkdir()
    a_pack(shelf / "alder-creek", DEEPER.format(cite="§1", deep=42))
    a_pack(tmp_path / "new", DEEPER.format(cite="§1", deep=48))
    (tmp_path / "job.yaml").write_text(ROOM)
    monkeypatch.setenv("WHYWIRE_PACKS", str(shelf))
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    "under",
    [
        ["-alder-creek,+new"],
        ["Alder Creek", "Alder Creek,-alder-creek,+new"],
        ["+new,-alder-creek"],
    ],
)
def test_a_pack_left_out_and_another_named_are_two_versions_of_it(under, versions, capsys):
    laws = [word for law in under for word in ("--under", law)]
    assert main(["compare", "job.yaml", *laws, "--json"]) == 0
    got = json.loads(capsys.readouterr().out)
    moved = [
        (d["rule"], d["a"]["answer"], d["b"]["answer"]) for d in got["groups"][0]["differences"]
    ]
    assert moved == [("working-space-depth", "passes", "fails")]
    says = [cause["says"] for cause in got["groups"][0]["causes"]]
    assert ["42 in" in says[0], "48 in" in says[1]] == [True, True]


def test_two_versions_that_read_alike_differ_in_nothing(versions, capsys):
    (versions / "new" / "ordinance.yaml").write_text(DEEPER.format(cite="§1", deep=42))
    assert main(["compare", "job.yaml", "--under", "-alder-creek,+new"]) == 0
    assert "No outcomes differ." in capsys.readouterr().out


def test_both_versions_may_bring_the_same_words_and_rules(versions, capsys):
    words = "words:\n  job:\n    flood zone: {is: yes or no, ask: Is it in a flood zone?}\n"
    rule = (
        "- rule: dry-shed\n  says: A shed stands dry.\n  about: job\n  must not: flood zone\n"
        "  local: Ordinance 7 §9\n"
    )
    for folder in (versions / "shelf" / "alder-creek", versions / "new"):
        (folder / "words.yaml").write_text(words)
        (folder / "own.yaml").write_text(rule)
        words = words.replace("Is it in", "Does it stand in")
    job = versions / "job.yaml"
    job.write_text(ROOM + "flood zone: yes\n")
    assert main(["compare", "job.yaml", "--under", "-alder-creek,+new", "--json"]) == 0
    got = json.loads(capsys.readouterr().out)
    rules = {d.get("rule") for g in got["groups"] for d in g["differences"]}
    assert rules == {"working-space-depth"}


def test_of_jobs_that_could_not_be_compared_nothing_is_concluded(versions, capsys):
    (versions / "new" / "ordinance.yaml").write_text(
        DEEPER.format(cite="§1", deep=48).replace("strike: 36 in", "strike: 37 in")
    )
    jobs = versions / "jobs"
    jobs.mkdir()
    for name in ("one", "two"):
        (jobs / f"{name}.yaml").write_text(ROOM)
    code = main(["compare", "jobs", "--under", "-alder-creek,+new"])
    out, err = capsys.readouterr()
    assert "No outcomes differ" not in out and "Traceback" not in out + err
    assert "No job could be compared." in out and "one.yaml, two.yaml could not" in out
    assert code != 0


def test_a_job_in_the_folder_of_a_pack_is_under_that_pack(tmp_path, monkeypatch, capsys):
    pack = a_pack(tmp_path / "alder", DEEPER.format(cite="§1", deep=48))
    (pack / "jobs").mkdir()
    (pack / "jobs" / "shed.yaml").write_text(ROOM)
    monkeypatch.chdir(tmp_path)
    main(["inspect", "alder/jobs/shed.yaml", "--json"])
    findings = json.loads(capsys.readouterr().out)["findings"]
    (found,) = [f for f in findings if f["rule"] == "working-space-depth"]
    assert found["answer"] == "fails" and "Ordinance 7 §1" in found["source"]


def test_a_place_without_a_pack_is_told_before_an_edition_is_asked_for(tmp_path, capsys):
    (tmp_path / "job.yaml").write_text(ROOM.replace("Alder Creek", "Nowhere Hollow"))
    main(["inspect", str(tmp_path / "job.yaml")])
    err = capsys.readouterr().err
    first, then = err.find("there is no pack for Nowhere Hollow here"), err.find("write edition:")
    assert 0 <= first < then


def test_a_circle_in_a_pack_is_one_fault_in_that_file(tmp_path):
    own = (
        "- add: circular\n  cite: §3\n  reason: x\n  says: Round.\n  about: conductors\n"
        "  counts as: yes\n  gives: {ampacity: 2 × ampacity}\n"
    )
    amended = (
        "- amend: ampacity\n  cite: §3\n  reason: x\n  strike: adjusted ampacity\n"
        "  insert: ampacity\n"
    )
    for name, edits in (("own", own), ("amended", amended)):
        pack = a_pack(tmp_path / name, edits)
        circles = [(Path(at).name, code) for at, code, *_ in told(pack) if "circle" in code]
        others = [at for at, *_ in told(pack) if "ordinance.yaml" not in at]
        assert circles == [("ordinance.yaml", "circle")]
        assert others == []


def test_every_fault_is_told_in_one_round(tmp_path):
    edits = (
        "- amend: working-space-depth\n  cite: §1\n  reason: x\n  strike: 37 in\n  insert: 4 in\n"
        "- withdraw: next-size-upp\n  cite: §2\n  reason: x\n"
        "- add: circular\n  cite: §3\n  reason: x\n  says: Round.\n  about: conductors\n"
        "  counts as: yes\n  gives: {ampacity: 2 × ampacity}\n"
        "- add: misread\n  cite: §4\n  reason: x\n  says: It has 30 in.\n  about: working space\n"
        "  must: depth >= 42 in\n"
        "- add: misspelt\n  cite: §5\n  reason: x\n  says: It is deep.\n  about: working space\n"
        "  must: depht >= 42 in\n"
        "- withdraw: next-size-up\n  reason: x\n  from: 2026-02-30\n"
        "- add: unlike\n  cite: §6\n  reason: x\n  says: It is deep.\n  about: working space\n"
        "  must: depth >= 42 A\n"
        "- repeal: room\n  cite: §9\n  reason: x\n"
    )
    pack = a_pack(tmp_path / "many", edits, HEAD + "form: x\n")
    codes = {code for _, code, *_ in told(pack)}
    assert {
        "not-there",
        "no-such-item",
        "circle",
        "says-other",
        "edit-lacks",
        "no-such-date",
        "item-form",
        "pack-key",
    } <= codes
    what = [text for *_, text, _ in told(pack)]
    assert any('no "depht"' in text for text in what)
    assert any("cannot compare in and A" in text for text in what)
    near = [todo for _, code, _, todo in told(pack) if code == "no-such-item"]
    assert "next-size-up" in near[0]


def test_a_row_that_breaks_the_order_of_its_table_is_asked_about(tmp_path):
    edits = (
        "- amend: equipment-grounding\n  cite: §2\n  reason: x\n  column: size\n"
        "  row: {rating: 100 A, material: copper}\n  strike: 8 AWG\n  insert: 14 AWG\n"
    )
    got = amendments.review(a_pack(tmp_path / "row", edits))
    assert any("rises from row to row, and now" in what for _, what in got.asked)


def test_amended_is_said_where_it_made_the_answer():
    from whywire.engine import inspect

    found = inspect(PLACES / "kestrel-county" / "jobs" / "kiln.yaml")
    rows = found.why("kiln", "egc-follows-the-breaker").rows
    labels = {row.text.split(" (")[0]: row.label for row in rows if row.edit}
    made, rests = labels.items()
    # 10 AWG is too small for 8 AWG, and was enough for 10 AWG; the new row serves smaller breakers
    assert "10 AWG became 8 AWG" in made[0] and made[1] == "Amended"
    assert "has a row rating 40 A" in rests[0] and rests[1] == "Local text"
    assert any("the answer is the same without it" in row.text for row in rows if row.edit)


def test_a_line_to_paste_says_which_promise_of_the_base_it_gives_up(tmp_path):
    pack = a_pack(tmp_path / "deeper", DEEPER.format(cite="§1", deep=42))
    pasted = [todo for _, code, _, todo in told(pack) if code == "example-moved"]
    assert pasted
    for line in pasted:
        assert 'note: "working-space-depth promised passes"' in line


def test_a_value_that_was_given_by_days_is_answered_with_its_edits(tmp_path):
    edits = (
        "- set: unit lighting load\n  cite: §5\n  reason: x\n"
        "  to: {2026-01-01: 4 VA, 2027-01-01: 5 VA}\n"
    )
    (todo,) = [t for _, _, what, t in told(a_pack(tmp_path / "days", edits)) if "one value" in what]
    assert "- {set: unit lighting load, to: 4 VA, from: 2026-01-01, until: 2027-01-01}" in todo
    assert "- {set: unit lighting load, to: 5 VA, from: 2027-01-01}" in todo


def test_an_edit_over_a_base_that_moves_is_answered_with_the_two(tmp_path):
    head = HEAD.replace(
        "{edition: 2023, from: 2025-01-01}",
        "[{edition: 2023, from: 2025-01-01, until: 2026-01-01}, {edition: 2026, from: 2026-01-01}]",
    )
    edits = (
        "- amend: working-space-depth\n  cite: §2\n  reason: x\n  until: 2025-07-01\n"
        "  strike: 36 in\n  insert: 40 in\n"
        "  says: In front of equipment of 150 V or less the space is at least 40 in deep.\n"
        "- amend: working-space-depth\n  cite: §1\n  reason: x\n"
        "  strike: voltage to ground <= 150 V\n  insert: voltage to ground <= 120 V\n"
        "  says: In front of equipment of 120 V or less the space is deep enough.\n"
    )
    moved = [t for _, c, _, t in told(a_pack(tmp_path / "moves", edits, head)) if "moved" in c]
    assert any(
        "- {amend: working-space-depth, until: 2025-07-01, ...} and"
        " - {amend: working-space-depth, from: 2025-07-01, ...}" in todo
        for todo in moved
    )


CITED = (
    DEEPER.format(cite="§1", deep=48) + "- withdraw: next-size-up\n  cite: §2\n  reason: x\n"
    "- set: unit lighting load\n  cite: §3\n  reason: x\n  to: 4 VA\n"
    "- amend: equipment-grounding\n  cite: §4\n  reason: x\n  column: size\n"
    "  row: {rating: 100 A, material: copper}\n  strike: 8 AWG\n  insert: 6 AWG\n"
)


def test_a_changed_citation_shows_in_the_digest(tmp_path):
    library = Library((a_pack(tmp_path / "cited", CITED),), examples=False)

    def digest():
        return library.in_force("2023", "2026-01-01").digest

    first = digest()
    digests = {first}
    edits = library.packs[1].edits
    for edit in edits:
        was, edit.cite = edit.cite, "Ordinance 7 §99"
        digests.add(digest())
        edit.cite = was
    assert len(digests) == 1 + len(edits) and digest() == first


ASKED = """- add: deep-spaces
  cite: §5
  reason: Shelves stand there.
  says: There is 42 in of space.
  about: working space
  must: depth >= 42 in
  examples:
    - {given: {depth: 3 in}, answer: fails}
"""


@pytest.mark.parametrize("answer, written", [("y", True), ("n", False), ("", False)])
def test_the_case_is_asked_about_on_a_terminal_and_joins_the_examples(
    answer, written, tmp_path, capsys, monkeypatch
):
    import io

    pack = a_pack(tmp_path / "asked", ASKED)
    monkeypatch.setattr("sys.stdin", io.StringIO(f"perhaps\n{answer}\n"))
    code = main(["check", str(pack), "--ask"])
    out, err = capsys.readouterr()
    assert '"perhaps" is neither y nor n.' in out and "Is that what was voted?" in out
    text = (pack / "ordinance.yaml").read_text()
    assert ("{given: {depth: 42 in}, answer: passes}" in text) == written
    assert text.count("{given: {depth: 3 in}, answer: fails}") == 1
    assert ("does what was not voted" in err) == (answer == "n")
    assert code == (0 if written else 2)
