"""A clerk is never silently misunderstood: what is written and not meant is refused, or said back in words to object to.

The slips and the silent errors are those that one reader found, playing a clerk with a draft of the language; they are
run against a base small enough to amend. The ten sentences of an ordinance are a pack of their own (clerk/), laid over
the whole base: each is shown on a job, with it and without.
"""

import re
import shutil
from pathlib import Path

import pytest

from whywire.engine import amendments, library, places
from whywire.engine.errors import Collector, Faults
from whywire.engine.library import Library
from whywire.engine.reading import read_yaml

HERE = Path(__file__).resolve().parent
SMALL = HERE.parent / "faults" / "edits" / "kb"
SLIPS = read_yaml((HERE / "slips.yaml").read_text(), "slips.yaml")
HEAD = "pack: mine\ntitle: Mine\nauthority: The Board\ncite: Ordinance 1\nlayer: county\nadopts: {edition: 2023, from: 2025-01-01}\n"
ASKED_OF_ALL = {"of-missing", "meaning-missing", "example-needed"}


@pytest.fixture
def small(tmp_path, monkeypatch):
    """A base small enough to amend, and a folder for a pack."""
    monkeypatch.delenv("WHYWIRE_PACKS", raising=False)
    for module in (library, places):
        monkeypatch.setattr(module, "KB", SMALL)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pack").mkdir()
    return tmp_path / "pack"


def looked_at(pack: Path):
    """(every fault, what is said back) of a pack; nothing but faults may come of what a person wrote."""
    try:
        got = amendments.review(pack)
    except Faults as faults:
        return faults.items, []
    return got.faults.items, [*got.said.values(), *got.notices]


def test_there_are_at_least_the_ninety_two():
    assert len(SLIPS) >= 92 and len({s["slip"] for s in SLIPS}) == len(SLIPS)


@pytest.mark.parametrize("slip", SLIPS, ids=lambda s: s["slip"])
def test_a_slip_is_refused_or_said_back(slip, small):
    text = slip["edits"] + "\n"
    if "bare" not in slip:
        text = re.sub(r"^(- \w+: .*)$", r"\1\n  cite: §1\n  reason: We want it so.", text, flags=re.M)
    head = HEAD + slip.get("head", "") + "\n"
    if "within:" in head:
        head = head.replace("adopts: {edition: 2023, from: 2025-01-01}\n", "")
    (small / "pack.yaml").write_text(head)
    (small / slip.get("named", "trial.yaml")).write_bytes(b"PK\3\4\0\0" if slip.get("as") == "archive" else text.encode(slip.get("as", "utf-8")))
    faults, said = looked_at(small)
    codes = {f.code for f in faults}
    if "gives" in slip:
        meant = [f for f in faults if f.code == slip["gives"]]
        assert meant, (codes, said)
        assert slip.get("todo", "") in " ".join(f.todo for f in meant), [f.todo for f in meant]
        assert all("pack/" in f.at[0] for f in meant) and slip.get("at", "") in meant[0].at[0], "it points at what the clerk wrote"
    if "said" in slip:
        assert any(slip["said"] in s for s in said), said
    if "gives" not in slip:
        assert codes <= ASKED_OF_ALL | ({"example-moved"} if "moved" in slip else set()), [str(f) for f in faults if f.code not in ASKED_OF_ALL]
    assert all(f.todo for f in faults)
    assert [f.at for f in faults] == sorted(f.at for f in faults), "in the file's order"
