"""A pack to begin with passes the check as it is written, and so does every amendment in its
comments once it is one.
"""

import re
from pathlib import Path

import pytest

from whywire.cli.commands import new_pack, reviewed
from whywire.engine import inspect
from whywire.engine.basics.errors import Faults
from whywire.engine.law.library import pack_files
from whywire.engine.writing import starter


def codes(**told) -> list[str]:
    with pytest.raises(Faults) as e:
        new_pack(
            **{
                "name": "pine-hollow",
                "place": None,
                "edition": "2023",
                "layer": "city",
                "within": "",
                "start": "2025-07-01",
            }
            | told
        )
    return [f.code for f in e.value.items]


@pytest.mark.parametrize(
    "name, place, edition, layer, within, start",
    [
        ("pine-hollow", None, "2023", "city", "", "2025-07-01"),
        ("st-olga-2", "St. Olga's Harbor-on-Sea", "2017", "county", "", "2018-01-01"),
        ("larch", "Larch", "2023", "city", "kestrel-county", "2025-09-01"),
        ("true", "Yes", "2026", "state", "", "2026-12-31"),
    ],
)
def test_it_is_sound_as_written_and_with_all_of_its_comments(
    tmp_path, monkeypatch, name, place, edition, layer, within, start
):
    folder = new_pack(name, place, edition, layer, within, start, str(tmp_path))
    got, _, _ = reviewed(str(folder), False, False)
    assert got.faults.items == [] and [(e.verb, e.target) for e in got.edits] == [
        ("amend", "working-space-width")
    ]
    monkeypatch.setenv("WHYWIRE_PACKS", str(tmp_path))
    job = folder / "jobs" / "cellar.yaml"
    here = inspect(str(job))
    base = inspect(
        {
            "job": "the same",
            "edition": edition,
            "building": "one-family dwelling",
            "working spaces": {"cellar": {"width": "32 in", "equipment width": "20 in"}},
        }
    )
    assert [
        next(f.answer for f in found.findings if f.rule == "working-space-width")
        for found in (here, base)
    ] == ["fails", "passes"]
    assert here.force.edition == edition and name in [p.name for p in here.force.packs]
    # what lies over it may have changed the same things; and one edition more would show nothing
    # new
    if within or edition == "2026":
        return
    ordinance = folder / "ordinance.yaml"
    text = ordinance.read_text("utf-8")
    ordinance.write_text(re.sub(r"^# (- |  )", r"\1", text, flags=re.M), "utf-8")
    got, _, _ = reviewed(str(folder), False, True)
    assert got.faults.items == [] and len(got.edits) == 1 + len(starter.OTHERS)


def test_nothing_is_written_over(tmp_path):
    folder = new_pack("pine-hollow", None, "2023", "city", "", "2025-07-01", str(tmp_path))
    before = {p: p.read_bytes() for p in pack_files(folder)}
    assert codes(into=str(tmp_path), edition="2017") == ["in-the-way"]
    (tmp_path / "elm").symlink_to(tmp_path / "nowhere")
    assert codes(into=str(tmp_path), name="elm") == ["in-the-way"]
    assert {p: p.read_bytes() for p in pack_files(folder)} == before and not (
        tmp_path / "nowhere"
    ).exists()
    (tmp_path / "a file").write_text("")
    assert codes(into=str(tmp_path / "a file")) == ["not-writable"]


def test_every_slip_is_told_at_once(tmp_path):
    assert codes(into=str(tmp_path), name="Pine Hollow", within="nowhere", start="2025-02-30") == [
        "no-such-date",
        "no-such-pack",
        "pack-name",
    ]
    assert codes(into=str(tmp_path), name="kestrel-county") == ["id-in-use"]
    assert (
        codes(into=str(tmp_path), place="a: b")
        == codes(into=str(tmp_path), place="Null")
        == ["place-name"]
    )
    assert (
        codes(into=str(tmp_path), name="null") == ["pack-name"] and not (tmp_path / "null").exists()
    )
    assert (
        codes(into=str(tmp_path), name="../elsewhere") == ["pack-name"]
        and list(Path(tmp_path).iterdir()) == []
    )
