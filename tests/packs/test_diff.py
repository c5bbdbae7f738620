"""A change as a council reads it: two versions of a pack side by side, a pack as one file that can
be checked against, what lies within a state, and the local law of a place in plain words.
"""

import json
import re
import shutil
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine.basics.errors import Faults
from whywire.engine.comparing import amendments
from whywire.engine.writing.published import against, publish, read_published, unpack

ROOT = Path(__file__).resolve().parents[2]
KESTREL = ROOT / "kb" / "places" / "kestrel-county"
JOB = """job: A pottery's panel
working spaces:
  shed: {voltage to ground: 120 V, depth: 44 in, width: 32 in, equipment width: 14 in}
"""


@pytest.fixture
def new(tmp_path):
    """A copy of a shipped pack, to be changed."""
    shutil.copytree(KESTREL, tmp_path / "new")
    (tmp_path / "job.yaml").write_text(JOB)
    return tmp_path / "new"


def rewritten(folder, *changes):
    path = folder / "ordinance.yaml"
    text = path.read_text()
    for old, to in changes:
        assert old in text
        text = text.replace(old, to, 1)
    path.write_text(text)


def test_each_edit_is_told_before_and_after_with_the_jobs_that_turn(new, tmp_path, capsys):
    rewritten(
        new,
        ("  insert: 42 in\n", "  insert: 48 in\n"),
        ("clear space is at least 42 in deep.", "clear space is at least 48 in deep."),
        ("  until: 2027-01-01\n", "  until: 2028-01-01\n"),
        ("  cite: §4-7\n", "  cite: §4-8\n"),
    )
    text = (new / "ordinance.yaml").read_text()
    text = re.sub(r"^  meaning: .*\n", "", text, flags=re.M)
    (new / "ordinance.yaml").write_text(
        text + "\n- set: unit lighting load\n  cite: §9\n  reason: Big rooms.\n  to: 4 VA\n"
    )
    page = tmp_path / "page.html"
    job = str(tmp_path / "job.yaml")
    args = ["pack", "diff", str(KESTREL), str(new), "--job", job, "--page", str(page)]
    assert main([*args, "--json", "--date", "2026-03-01"]) == 1
    got = json.loads(capsys.readouterr().out)
    kinds = {(e["kind"], e["of"]) for e in got["edits"]}
    assert kinds == {
        ("changed", "working-space-depth"),
        ("other days", "next-size-up"),
        ("cited otherwise", "no-nm-above-two-stories"),
        ("new", "unit lighting load"),
    }
    depth = next(e for e in got["edits"] if e["of"] == "working-space-depth")
    assert "reads “depth >= 42 in”" in depth["before"] and "“depth >= 48 in”" in depth["after"]
    assert depth["concerns"] == "a working space, if voltage to ground is at most 150 V"
    cited = next(e for e in got["edits"] if e["kind"] == "cited otherwise")
    assert [cited["cite"][when][-4:] for when in ("before", "after")] == ["§4-7", "§4-8"]
    days = next(e for e in got["edits"] if e["kind"] == "other days")["days"]
    assert days["before"].endswith("2026-12-31") and days["after"].endswith("2027-12-31")
    mine = [d for d in got["turned"] if d["job"].endswith("/job")]
    moved = [(d["rule"], d["a"]["answer"], d["b"]["answer"]) for d in mine]
    assert moved == [("working-space-depth", "passes", "fails")]
    assert got["versions"][0] != got["versions"][1] and got["jobs"] > 100
    html = page.read_text()
    assert "<script" not in html and "http" not in html and str(tmp_path) not in html
    assert html.count("<h2>") == 5 and "“depth &gt;= 48 in”" in html


def test_a_pack_is_no_other_than_itself(capsys):
    assert main(["pack", "diff", str(KESTREL), str(KESTREL)]) == 0
    assert "Nothing: both versions are one law." in capsys.readouterr().out


# ---- one file ------------------------------------------------------------------------------------


def test_a_pack_is_published_as_one_file_and_checked_against_it(new, tmp_path):
    file = tmp_path / "kestrel.yaml"
    file.write_text(publish(KESTREL, "3"))
    got = read_published(file)
    assert (got.name, got.version, len(got.digest)) == ("kestrel-county", "3", 24)
    assert against(KESTREL, file).is_same and against(new, file).is_same
    out = tmp_path / "out"
    unpack(file, out)
    assert against(out, file).is_same
    assert amendments.review(out).faults.items == []
    # ends of lines and blanks there are no other law
    crlf = (out / "ordinance.yaml").read_text().replace("\n", "  \r\n")
    (out / "ordinance.yaml").write_bytes(crlf.encode())
    assert against(out, file).is_same
    rewritten(new, ("42 in", "48 in"))
    (new / "more.yaml").write_text("[]\n")
    (new / "pack.yaml").rename(new / "head.yaml")
    found = against(new, file)
    assert found.changed == ["ordinance.yaml"] and found.missing == ["pack.yaml"]
    assert found.more == ["head.yaml", "more.yaml"] and not found.is_same


@pytest.mark.parametrize(
    "old, to, code",
    [
        ("insert: 42 in", "insert: 24 in", "published-changed"),
        ('version: "3"', 'version: "4"', "published-changed"),
        ("published: kestrel-county", "published: other", "published-changed"),
        ('"ordinance.yaml"', '"../ordinance.yaml"', "published-form"),
        ('"ordinance.yaml"', '"/etc/x.yaml"', "published-form"),
        ('"ordinance.yaml"', '"ordinance.py"', "published-form"),
        ("digest:", "digests:", "published-form"),
    ],
)
def test_a_file_that_was_changed_or_leads_elsewhere_is_refused(old, to, code, tmp_path):
    file = tmp_path / "kestrel.yaml"
    text = publish(KESTREL, "3")
    assert old in text
    file.write_text(text.replace(old, to, 1))
    with pytest.raises(Faults) as caught:
        unpack(file, tmp_path / "out")
    assert [f.code for f in caught.value.items] == [code]
    assert caught.value.items[0].todo and not (tmp_path / "out").exists()


def test_nothing_is_written_over(tmp_path, capsys):
    file = tmp_path / "kestrel.yaml"
    assert main(["pack", "publish", str(KESTREL), "--version", "3", "--to", str(file)]) == 0
    assert main(["pack", "publish", str(KESTREL), "--version", "4", "--to", str(file)]) == 2
    assert "nothing is written over" in capsys.readouterr().err
    assert main(["pack", "verify", str(KESTREL), str(file)]) == 0
    assert "The same as published" in capsys.readouterr().out
    with pytest.raises(Faults):
        unpack(file, tmp_path)


# ---- what lies within, and the book --------------------------------------------------------------


def test_a_state_is_looked_at_with_what_lies_within_it(tmp_path):
    state = tmp_path / "tamarack"
    shutil.copytree(ROOT / "kb" / "places" / "tamarack-state", state)
    got = amendments.review(state)
    assert [str(f) for f in got.faults.items if f.code == "within-not-fit"] == []
    assert any("loon-lakes-township" in n and "looked at with it" in n for n in got.notices)
    rules = state / "rules.yaml"
    rules.write_text(
        rules.read_text() + "\n- lock: cover-depths\n  cite: part 13\n  reason: x\n  against: any\n"
    )
    told = [f for f in amendments.review(state).faults.items if f.code == "within-not-fit"]
    assert len(told) == 1 and "cover-depths is locked by Tamarack State" in told[0].what
    assert "loon-lakes-township lies within it" in told[0].what


def test_the_book_of_a_place_begins_with_its_local_law(tmp_path, capsys):
    to = tmp_path / "book"
    args = ["--place", "Kestrel County", "--date", "2026-03-01", "--as", "markdown"]
    assert main(["book", *args, "--to", str(to)]) == 0
    text = (to / "local-law.md").read_text()
    assert "Tall wooden houses burned." in text
    assert "NM-B cable is not used in a building of more than two stories." in text
    when = text.split("What was in force when")[1]
    days = re.findall(r"\d{4}-\d\d-\d\d", when.split("---", 2)[-1])
    assert days[:-1] == sorted(days[:-1]) and "2025-07-01" in days and "2027-01-01" in days
    assert "local-law.md" in (to / "index.md").read_text()
    pack = (to / "packs" / "kestrel-county.md").read_text()
    assert "written at ordinance.yaml:" in pack.replace("\\", "")
    paths = re.compile(re.escape(str(ROOT)) + "|" + re.escape(str(tmp_path)))
    assert not [p for p in to.rglob("*.md") if paths.search(p.read_text())]


def test_a_day_of_correction_is_no_day_of_effect(new, tmp_path, monkeypatch):
    from whywire.engine.law.places import in_force
    from whywire.engine.writing.book import make_book

    rewritten(new, ("  insert: 42 in\n", "  insert: 42 in\n  corrected: 2026-05-05\n"))
    force = in_force({}, "book", (new,), None, "2026-03-01", None)
    page = next(p for p in make_book(force).pages if p.key == ("", "local-law"))
    blocks = [str(block) for block in page.blocks]
    days = next(b for b in blocks if "Days of effect" in b)
    assert "2026-05-05" not in days and any("2026-05-05" in b for b in blocks)
