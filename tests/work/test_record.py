"""The record of a job: frozen whole or not at all, never over anything; later it tells what has
changed since, and what of it.
"""

import json
import os
import shutil
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.cli.records import name_for
from whywire.engine.basics import folders
from whywire.engine.basics.errors import Fault
from whywire.engine.language.rules import Rule
from whywire.engine.running.beside import Correction
from whywire.engine.work.corrections import meant_by
from whywire.engine.work.opening import How, opened

MARKUP = '<script>alert("1")</script><img src=x onerror=y>*b* [a](b) `c` &amp;'
JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
TOWN = Path(__file__).resolve().parents[2] / "kb" / "places"
RANGE = JOBS / "scenarios" / "range-in-pipe.yaml"
LUGS = JOBS / "readings" / "terminals-and-testers-that-fail.yaml"


def said(capsys, *words: str) -> tuple[int, str, str]:
    code = main([*words])
    out = capsys.readouterr()
    return code, out.out, out.err


@pytest.fixture
def job(tmp_path) -> Path:
    file = tmp_path / "kiln.yaml"
    text = (JOBS / "kiln.yaml").read_text().split("expect:")[0]
    file.write_text(
        text
        + "head: {customer: Row Hill Pottery}\n"
        + "photographs: {before.jpg: the panel, after.jpg: the lug}\n"
        + 'corrections: [{section: "110.14(D)", says: torque not recorded}]\n'
    )
    (tmp_path / "before.jpg").write_bytes(b"a photograph")
    return file


@pytest.fixture
def kept(job, capsys) -> Path:
    code, out, _ = said(capsys, "record", str(job), "--to", str(job.parent / "kept"))
    assert code == 1 and "as they are today" in out  # the job has something to sign for
    return job.parent / "kept"


def test_a_record_holds_the_job_the_law_what_was_found_and_the_sheets(kept, job):
    assert (kept / "job.yaml").read_bytes() == job.read_bytes()
    record = json.loads((kept / "record.json").read_text())
    assert record["headline"] == "NOT RIGHT" and record["law"]["edition"] == "2023"
    assert {pack["pack"] for pack in record["law"]["packs"]} >= {"base", "work"}
    assert all(len(pack["digest"]) == 64 for pack in record["law"]["packs"])
    failing = [one["rule"] for one in record["findings"] if one["answer"] == "fails"]
    assert failing == ["conductor-125-percent"]
    assert sorted(path.name for path in (kept / "sheets").iterdir()) == [
        f"row-hill-pottery-{audience}.{end}"
        for audience in ("handover", "helper", "inspector")
        for end in ("html", "txt")
    ]
    assert "NOT RIGHT" in (kept / "note.txt").read_text()
    assert str(job.parent) not in "".join(
        path.read_text() for path in kept.rglob("*") if path.is_file()
    )


def test_with_prices_the_office_and_the_offer_are_kept(job, capsys, mine):
    said(capsys, "record", str(job), "--to", str(job.parent / "kept"), "--prices", mine)
    names = {path.name for path in (job.parent / "kept" / "sheets").iterdir()}
    assert {"row-hill-pottery-office.html", "row-hill-pottery-customer.html"} <= names


def test_nothing_is_written_over(kept, job, capsys):
    before = {path: path.read_bytes() for path in kept.rglob("*") if path.is_file()}
    code, _, err = said(capsys, "record", str(job), "--to", str(kept))
    assert code == 2 and "this is there already" in err
    assert {path: path.read_bytes() for path in kept.rglob("*") if path.is_file()} == before
    empty = job.parent / "empty"
    empty.mkdir()
    code, _, err = said(capsys, "record", str(job), "--to", str(empty))
    assert code == 2 and not any(empty.iterdir())


def test_a_record_is_there_whole_or_not_at_all(tmp_path, monkeypatch):
    """The disk fills up at the last file; and somebody takes the name meanwhile."""
    files = {"a/one.txt": b"1", "two.txt": b"2"}
    write = Path.write_bytes

    def full(path, data):
        if path.name == "two.txt":
            raise OSError(28, "No space left on device")
        return write(path, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(Fault, match="No space left"):
        folders.write_once(tmp_path / "kept", files, "list.txt")
    assert not any(tmp_path.iterdir())
    monkeypatch.undo()

    def taken(one, other):
        (tmp_path / "kept").mkdir()
        (tmp_path / "kept" / "theirs.txt").write_text("theirs")
        return rename(one, other)

    rename = os.rename
    monkeypatch.setattr(os, "rename", taken)
    with pytest.raises(Fault, match="cannot be written"):
        folders.write_once(tmp_path / "kept", files, "list.txt")
    assert [path.name for path in tmp_path.rglob("*.txt")] == ["theirs.txt"]


def test_nothing_has_changed(kept, capsys):
    code, out, _ = said(capsys, "record", str(kept))
    assert code == 0 and "every file is as it was written" in out and "no finding turns" in out
    assert "is as it was" in out and "PHOTOGRAPHS" in out


def test_a_file_of_a_record_that_was_changed_added_or_taken_is_told(kept, capsys):
    (kept / "note.txt").write_text("RIGHT")
    (kept / "more.txt").write_text("more")
    (kept / "kept.txt").unlink()
    code, out, _ = said(capsys, "record", str(kept))
    assert code == 1
    for line in ("note.txt is not as it was written", "more.txt was added", "kept.txt is gone"):
        assert line in out


def test_a_job_that_was_changed_tells_which_findings_turn(kept, job, capsys):
    job.write_text(job.read_text().replace("size: 6 AWG", "size: 4 AWG"))
    code, out, _ = said(capsys, "record", str(kept), "--json")
    got = json.loads(out)
    assert code == 1 and got["job"]["changed"] and got["turned"] == [] and got["law"] == []
    turned = {one["rule"]: one for one in got["job"]["turned"]}
    one = turned["conductor-125-percent"]
    assert (one["was"], one["now"]) == ("fails", "passes")
    assert one["says"] and one["source"] == "210.19(A)(1)" and "what it reads is not" in one["by"]
    job.unlink()
    code, out, _ = said(capsys, "record", str(kept))
    assert code == 0 and "is not there: --now FILE" in " ".join(out.split())
    code, _, err = said(capsys, "record", str(kept), "--now", str(job))
    assert code == 2 and "no such file" in err


def test_a_law_that_was_changed_tells_which_findings_turn(job, tmp_path, capsys):
    """A town asks for more of the same rule from one day to the next."""
    town = tmp_path / "town"
    town.mkdir()
    (town / "pack.yaml").write_text(
        "pack: our-town\ntitle: Our town\nauthority: The council\ncite: Ordinance 7\n"
        "layer: city\nplace: Our Town\nadopts: [{edition: 2023, from: 2024-01-01}]\n"
    )
    text = RANGE.read_text().split("expect:")[0]
    job.write_text(text)
    said(capsys, "record", str(job), "--to", str(tmp_path / "kept"), "--pack", str(town))
    code, out, _ = said(capsys, "record", str(tmp_path / "kept"), "--json")
    assert code == 0, out
    (town / "ordinance.yaml").write_text(
        "- add: range-on-sixty\n  cite: 1\n  reason: Ranges grow.\n"
        "  says: A range stands on a breaker of 60 A or more.\n  about: overcurrent device\n"
        "  when: [type of load of circuit is range]\n  must: rating >= 60 A\n"
        "  examples:\n"
        "    - {given: {type of load of circuit: range, rating: 60 A}, answer: passes}\n"
        "    - {given: {type of load of circuit: range, rating: 59 A}, answer: fails}\n"
        "    - {given: {type of load of circuit: kiln}, answer: does not apply}\n"
    )
    code, out, _ = said(capsys, "record", str(tmp_path / "kept"), "--json")
    got = json.loads(out)
    assert code == 1 and any("our-town is not as it was" in one for one in got["law"])
    assert [(one["rule"], one["was"], one["now"]) for one in got["turned"]] == [
        ("range-on-sixty", "", "fails")
    ]
    assert got["turned"][0]["says"] == "A range stands on a breaker of 60 A or more."
    shutil.rmtree(town)
    code, out, _ = said(capsys, "record", str(tmp_path / "kept"))
    assert code == 1 and "cannot be read under the law of today" in out


def test_a_rule_that_means_something_else_is_told_as_the_cause(kept, capsys, monkeypatch):
    record = json.loads((kept / "record.json").read_text())
    for one in record["findings"]:
        if one["rule"] == "conductor-125-percent":
            one |= {"answer": "passes", "meaning": "what it was", "says": "It said this."}
    (kept / "record.json").write_text(json.dumps(record))
    _, out, _ = said(capsys, "record", str(kept))
    assert "passes → fails" in out and 'is not what it was ("It said this.")' in out.replace(
        "\n    ", " "
    )


def test_what_is_no_record_is_told(tmp_path, kept, capsys):
    code, _, err = said(capsys, "record", str(tmp_path / "kept" / "sheets"))
    assert code == 2 and "holds no record" in err
    for text in ("[1, 2", "[]", '{"form": 2}', '{"form": 1}'):
        (kept / "record.json").write_text(text)
        code, _, err = said(capsys, "record", str(kept))
        assert code == 2 and "record" in err and "Traceback" not in err


# ---- what is kept


def test_photographs_are_linked_by_name_and_those_that_are_missing_are_told(kept, job, capsys):
    _, out, _ = said(capsys, "record", str(job))
    assert "before.jpg: the panel\n" in out and "after.jpg: the lug  NOT THERE" in out
    (job.parent / "before.jpg").write_bytes(b"another")
    (job.parent / "after.jpg").write_bytes(b"taken later")
    code, out, _ = said(capsys, "record", str(kept))
    assert code == 1 and "before.jpg is not what it was: the panel" in out
    assert "after.jpg is there now: the lug" in out
    assert not [path for path in kept.rglob("*.jpg")]  # linked, and not copied


def test_a_torque_log_shows_what_the_label_says(capsys):
    code, out, _ = said(capsys, "record", str(LUGS))
    assert code == 1
    lug = " ".join(out[out.index("feeder lug:") : out.index("READINGS")].split())
    assert "label torque 35 lb-in, label torque at most 40 lb-in, torque 30 lb-in" in lug
    assert "FAILS: A terminal whose label gives a range is tightened to its lower end" in lug
    assert "protector: test surge protector lamp, lit no" in out
    unsafe = " ".join(out[out.index("FOUND UNSAFE") :].split())
    assert unsafe.index("shock, at deck GFCI") < unsafe.index("fire, at feeder lug")


def test_what_may_hurt_somebody_is_listed_for_a_signature(job, capsys):
    _, out, _ = said(capsys, "record", str(job))
    unsafe = out[out.index("FOUND UNSAFE") :]
    assert "[210.19(A)(1)]" in unsafe and "fire, at kiln conductors" in unsafe
    assert "Signature: ____" in unsafe
    _, out, _ = said(capsys, "record", str(RANGE))
    assert "Signature" not in out


@pytest.mark.parametrize(
    "section, says, rule, by",
    [
        ("110.14(D)", "torque values not recorded", "torque-recorded", "its words"),
        ("NEC 110.14(D)", "tighten to the marked torque", "torque-by-the-label", "the section"),
        ("300.4(A)(1)", "nail plates missing", "plate-on-the-near-face", "the section"),
        ("", "210.19(A)(1): wire too small for continuous load", "conductor-125-percent", None),
        ("210.19", "too small for continuous load", "conductor-125-percent", None),
    ],
)
def test_a_correction_is_matched_to_its_rules(section, says, rule, by):
    meant = meant_by(Correction(section, says), opened(JOBS / "kiln.yaml", How()))
    found = {one.rule: one for one in meant}
    assert rule in found and (by is None or found[rule].by == by)
    assert len(meant) <= 5


def test_a_correction_that_no_rule_has_is_matched_to_none():
    job = opened(JOBS / "kiln.yaml", How())
    assert meant_by(Correction("", "water your plants"), job) == []
    assert meant_by(Correction("999.99(Z)", "plants"), job) == []


def test_a_section_of_another_edition_is_found_and_said_so():
    job = opened(JOBS / "kiln.yaml", How(edition="2017"))
    rule: Rule = job.knowledge.rules["conductor-125-percent"]
    then, now = rule.section("2017"), rule.section("2023")
    assert then != now
    meant = meant_by(Correction(str(now), "continuous load"), job)
    assert ("conductor-125-percent", "2023") in {(one.rule, one.edition) for one in meant}


def test_the_name_of_a_sheet_is_plain_whatever_a_customer_is_called(tmp_path):
    body = {"edition": "2023", "circuits": {"kiln": {"load": {"type": "kiln"}}}}
    for customer, name in (
        ("../../etc/passwd", "etc-passwd"),
        (MARKUP, "script-alert-1-script-img-src-x-onerror"),
        ("Ýß", "job"),
        ("A" * 100, "a" * 40),
    ):
        job = opened({**body, "head": {"customer": customer}}, How())
        assert name_for(job) == name
