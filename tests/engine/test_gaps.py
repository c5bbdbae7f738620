"""A choice of a word reaches every table that rules look up by it: what has no row is told, unless
the table says why.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from whywire.engine.basics.errors import Collector
from whywire.engine.checking.gaps import gaps, note_gaps, unlisted
from whywire.engine.law.library import load

ROOT = Path(__file__).resolve().parents[2]


def whywire(words, kb: Path = ROOT / "kb") -> subprocess.CompletedProcess:
    env = {**os.environ, "WHYWIRE_KB": str(kb), "WHYWIRE_CACHE": "off"}
    command = [sys.executable, "-m", "whywire.cli.main", *words]
    return subprocess.run(command, capture_output=True, text=True, env=env, cwd=ROOT)


def told_by(kb: Path) -> str:
    """What is told of the tables of a base that lies elsewhere."""
    program = (
        "from whywire.engine.basics.errors import Collector\n"
        "from whywire.engine.checking.gaps import note_gaps\n"
        "from whywire.engine.law.library import load\n"
        "faults = Collector()\n"
        "note_gaps(load((), '2023', examples=False), faults)\n"
        "faults.stop()\n"
    )
    env = {**os.environ, "WHYWIRE_KB": str(kb)}
    run = [sys.executable, "-c", program]
    return subprocess.run(run, capture_output=True, text=True, env=env).stderr


@pytest.fixture
def base(tmp_path):
    """The knowledge base in a place where it can be changed."""
    kb = tmp_path / "kb"
    shutil.copytree(ROOT / "kb" / "base", kb / "base")

    def change(file: str, old: str, new: str) -> Path:
        path = kb / "base" / file
        assert path.read_text().count(old) == 1
        path.write_text(path.read_text().replace(old, new))
        return kb

    return change


def test_a_wiring_method_without_rows_is_told(base):
    kb = base(
        "words.yaml",
        'method: {said: "{}", is: NM-B | UF',
        'method: {said: "{}", is: NM-B | MI | UF',
    )
    got = whywire(["check", "--only", "raceway-support-spacing"], kb)  # all that `check` does
    assert got.returncode == 2
    for table in ("cable-supports", "cable-grounds", "raceway-areas", "wiring-method-kinds"):
        assert f"table {table} has no row for the " in got.stderr
    assert 'no row: {method: "MI: why"}' in got.stderr


def test_every_gap_of_the_base_has_its_reason():
    for edition in ("2017", "2020", "2023", "2026"):
        k, faults = load((), edition), Collector()
        note_gaps(k, faults)
        faults.stop()
        assert {g.table.id for g in gaps(k)} >= {"raceway-supports", "insulation-wet"}


@pytest.mark.parametrize(
    "said, told",
    [
        ('{kind: "NM-B | UF-B | MC | AC | SE: a cable"}', "no row for the kind TC-ER-JP"),
        ('{kind: "NM-B | UF-B | MC | AC | SE | TC-ER-JP"}', '"no row" is of a key, and says why'),
        ('{method: "NM-B: a cable"}', '"no row" is of a key, and says why'),
        ('{kind: "EMT: forgotten"}', 'raceway-supports has a row for the kind "EMT"'),
        (
            '{kind: "NM-B | UF-B | MC | AC | SE | TC-ER-JP | MJ: a cable"}',
            'no rule looks up the kind "MJ" there',
        ),
    ],
)
def test_a_reason_that_does_not_hold_is_told(said, told, base):
    reason = (
        '{kind: "NM-B | UF-B | MC | AC | SE | TC-ER-JP: a cable is in cable-supports; surface metal'
        " raceway | surface nonmetallic raceway: its instructions say how it is fastened"
        '"}'
    )
    got = told_by(
        base("tables/raceways.yaml", f"  no row: {reason}", f"  no row: {said}"),
    )
    assert told in got


def test_a_pack_is_told_of_tables_that_lack_its_choice(tmp_path):
    pack = tmp_path / "pack"
    pack.mkdir()
    (pack / "pack.yaml").write_text(
        "pack: mine\ntitle: Mine\nauthority: The Board\ncite: Ordinance 1\nlayer: county\n"
        "edits:\n  - {amend: raceway-first-support, strike: 36 in, insert: 30 in, cite: §1,"
        " reason: Ours.}\n"
    )
    (pack / "words.yaml").write_text("words:\n  segment:\n    method: {also choices: MI}\n")
    got = whywire(["check", str(pack)])
    assert "Table cable-supports has no row for the method MI: there " in " ".join(
        got.stdout.split()
    )


@pytest.mark.parametrize("name", ["kb/base", str(ROOT / "kb" / ".." / "kb" / "base")])
def test_the_base_may_be_named(name):
    """It was refused: more bytes than are read of a pack over the base."""
    plain, named = (
        whywire(["check", *more, "--only", "raceway-support-spacing"]) for more in ([], [name])
    )
    assert named.returncode == 0 and named.stdout == plain.stdout
    assert load((name,), "2023").digest == load((), "2023").digest


def test_a_table_that_could_not_be_read_is_told_and_no_more(base):
    """Whoever read it by its keys ended in a traceback."""
    got = whywire(
        ["inspect", "kb/jobs/kiln.yaml"],
        base(
            "tables/conductors.yaml",
            "  keys: {insulation: exact}\n  values: {wet",
            "  keys: insulation\n  values: {wet",
        ),
    )
    assert got.returncode == 2 and 'table insulation-wet: "keys" is {name: text, ...}' in got.stderr
    assert "Traceback" not in got.stderr


def test_a_choice_that_hardly_any_list_of_rules_has_is_told(tmp_path):
    pack = tmp_path / "mine"
    pack.mkdir()
    (pack / "pack.yaml").write_text("pack: mine\ntitle: Mine\n")
    (pack / "words.yaml").write_text(
        "words: {segment: {method: {also choices: ENT}, place: {also choices: crawl attic}}}\n"
    )
    (pack / "rules.yaml").write_text(
        "- rule: ent-stays-below-four-floors\n  says: x\n  about: segment\n"
        "  when: method is ENT\n  must: location is dry\n  practice: ours\n"
    )
    told = unlisted(load((pack,)))
    # one rule of its own is no reading of the lists
    assert '"ENT", a method of a segment, is named in 1 of' in told[0]
    assert '"crawl attic", a place of a segment, is named in 0 of' in told[1] and len(told) == 2
    (pack / "rules.yaml").unlink()
    told = unlisted(load((pack,)))
    assert ['"ENT", a method of a segment' in note for note in told] == [True, False]
    # a rule that lists methods by hand is named, to be read
    assert any(rule in told[0] for rule in ("attic-guard-strips", "burial-marking"))


@pytest.mark.parametrize("edition", ["2017", "2026"])
def test_no_choice_of_the_base_is_left_out_of_the_lists(edition):
    assert unlisted(load((), edition, examples=False)) == []
