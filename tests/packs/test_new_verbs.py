"""What ordinances ask of a fact, of some, of a section, of an older text and of those below: said
back from the lines, with the direction that cases show, and as jobs come out.
"""

import shutil
from pathlib import Path

import pytest

from whywire.engine import inspect
from whywire.engine.basics.errors import Collector
from whywire.engine.comparing import amendments
from whywire.engine.law import library, places
from whywire.engine.law.library import Library

HERE = Path(__file__).resolve().parent
SMALL = HERE.parent / "faults" / "edits" / "kb"
HEAD = (
    "pack: {name}\ntitle: {name}\nauthority: The Board\ncite: Ordinance 1\nlayer: {layer}\n{more}\n"
)
ADOPTS = "adopts: {edition: 2023, from: 2025-01-01}"


@pytest.fixture
def small(tmp_path, monkeypatch):
    """A base small enough to amend, and what makes a pack over it."""
    monkeypatch.delenv("WHYWIRE_PACKS", raising=False)
    for module in (library, places):
        monkeypatch.setattr(module, "KB", SMALL)
    monkeypatch.chdir(tmp_path)

    def make(name, edits, layer="county", more=ADOPTS):
        folder = tmp_path / name
        folder.mkdir()
        (folder / "pack.yaml").write_text(HEAD.format(name=name, layer=layer, more=more))
        written = edits.replace("\n- ", "\n  cite: §1\n  reason: x\n- ")
        (folder / "ordinance.yaml").write_text(f"{written}\n  cite: §1\n  reason: x\n")
        return folder

    return make


SAID = {
    "take at least": (
        "- take: current of circuit\n  as at least: 12 A",
        "STRICTER",
        ["takes it as at least 12 A, whatever is told", "enough", "carries-its-load"],
    ),
    "take at most": (
        "- take: current of circuit\n  as at most: 12 A",
        "LAXER",
        ["takes it as at most 12 A"],
    ),
    "take where": (
        "- take: current of circuit\n  as at least: 12 A\n  where: method is pipe",
        "STRICTER",
        ["at least 12 A if method is pipe", "Elsewhere it stands as it was"],
    ),
    "amend where": (
        "- amend: room\n  strike: 36 in\n  insert: 42 in\n"
        "  where: [stories of job > 2, depth > 1 in]\n"
        "  says: The clear space is at least 42 in deep.",
        "STRICTER",
        ["if stories of job is more than 2, and depth is more than 1 in: “depth >= 36 in”"],
    ),
    "force where": (
        "- amend: guarded\n  force: should\n  where: class is motor",
        "LAXER",
        ["if class is motor is now advice"],
    ),
    "set where": (
        "- set: spare share\n  to: 40 %\n  where: class is motor",
        "STRICTER",
        ["if class is motor: 20 % from 2017 on and 25 % from 2023 on becomes 40 %"],
    ),
    "choice": (
        "- set: spare share\n  to: 40 %\n  choice until: 2027-01-01\n  chosen by: class is motor",
        "STRICTER",
        ["if permit date of job is at least 2027-01-01 or class is motor"],
    ),
    "so many of these": (
        "- narrow: guarded\n  only when: {at least 2 of: [class is motor, method is pipe,"
        " stories of job > 2]}",
        "LAXER",
        ["(class is motor and method is pipe) or (class is motor and stories of job is more"],
    ),
    "a section goes": (
        "- withdraw: section 3.2\n  reaches: [guarded]",
        "LAXER",
        ["Section 3.2 goes.", "(guarded) is withdrawn"],
    ),
    "a section reads as follows": (
        "- replace: section 3.2\n  reaches: [guarded]\n  as: guarded-anew\n  says: It is small.\n"
        "  about: circuit\n  must: breaker <= 10 A",
        "STRICTER",
        ["Section 3.2 goes.", "In its place “It is small” (guarded-anew)", "at most 10 A"],
    ),
}


@pytest.mark.parametrize("name", SAID)
def test_an_edit_is_said_back_from_its_lines_with_its_direction_by_running(name, small):
    edit, way, pieces = SAID[name]
    got = amendments.review(small("mine", edit))
    routine = {"of-missing", "meaning-missing", "example-needed", "relieves", "example-moved"}
    assert [str(f) for f in got.faults.items if f.code not in routine] == []
    (said,) = got.said.values()
    directions = said.split(":")[0]
    # what stands in the place of another may ask more of some and less of others
    assert directions == way or (directions == "BOTH" and name == "a section reads as follows")
    for piece in pieces:
        assert piece in said
    assert got.found[1].seen and " unless " not in said
    relieved = {f.code for f in got.faults.items} & {"relieves"}
    assert bool(relieved) == (directions in ("LAXER", "BOTH"))


def test_a_row_for_some_is_read_by_them_alone(small):
    edit = (
        "- amend: grounds\n  row: {rating: 20 A}\n  column: size\n  strike: 12 AWG\n"
        "  insert: 10 AWG\n  where: method is pipe"
    )
    k = Library((small("mine", edit),)).in_force("2023", "2026-01-01")
    here, there = k.rules["ground-needed"], k.rules["ground-needed-there"]
    assert "not method is pipe" in str(here.d["when"]) and "grounds-there" in k.tables
    assert [*here.reads_tables] == ["grounds"] and [*there.reads_tables] == ["grounds-there"]


def test_two_conditions_of_a_pipe_are_both_asked(small):
    edit = "- withdraw: section 3.2"
    faults = amendments.review(small("mine", edit)).faults.items
    (fault,) = [f for f in faults if f.code == "section-reaches"]
    assert "does not name guarded" in fault.what and "reaches: [guarded]" in fault.todo


@pytest.mark.parametrize(
    "edit, refused",
    [
        ("- withdraw: guarded\n  relieves: yes", True),
        ("- narrow: guarded\n  only when: class is motor\n  relieves: yes", True),
        ("- amend: guarded\n  strike: breaker <=\n  insert: 2 × breaker <=\n  says: x", False),
        ("- withdraw: next-size", False),
        (
            "- add: freed\n  says: x\n  about: circuit\n  when: class is motor\n"
            "  exception to: guarded\n  relieves: yes",
            True,
        ),
        ("- withdraw: section 3.2\n  reaches: [guarded]\n  relieves: yes", True),
    ],
)
@pytest.mark.parametrize("against", ["laxer", "any"])
def test_what_a_state_locks_no_county_may_pass(edit, refused, against, small):
    state = small("state", f"- lock: guarded\n  against: {against}", "state")
    town = small("town", edit, "city", "within: state")
    faults = Collector()
    Library((state, town), faults).material("2023", "2026-01-01", faults=faults)
    refused = refused or (against == "any" and "amend" in edit)
    assert ("locked" in {f.code for f in faults.items}) == refused, [*map(str, faults.items)]
    told = [f for f in faults.items if f.code == "locked"]
    assert all("town" in f.at[0] and "is locked by" in f.what and f.todo for f in told)


def test_the_short_sentences_go_or_come_with_the_text(small):
    for answers, stands in (("none", None), ("{fails: It is too large.}", "It is too large.")):
        folder = small(
            f"pack{len(answers)}",
            f"- amend: guarded\n  force: should\n  answers: {answers}\n  relieves: yes",
        )
        rule = Library((folder,)).in_force("2023", "2026-01-01").rules["guarded"]
        assert rule.d.get("answers", {}).get("fails") == stands


# ---- over the whole base: a place of the shelf ---------------------------------------------------

PLACES = Path(__file__).resolve().parents[2] / "kb" / "places"
SHED = {
    "place": "Saltgrass Parish",
    "permit date": "2026-03-01",
    "working spaces": {
        "shed": {"voltage to ground": "120 V", "depth": "40 in", "width": "32 in"},
    },
}


def answers(job, *rules):
    found = {(f.rule, f.on): f.answer for f in inspect(job).findings}
    return [next((a for (rule, _), a in found.items() if rule == name), None) for name in rules]


@pytest.mark.parametrize(
    "flood, here, there",
    [("yes", None, "fails"), ("no", "passes", None), (None, "passes", "cannot tell")],
)
def test_in_a_flood_zone_one_text_holds_and_elsewhere_the_other(flood, here, there):
    """Where it is not told both are shown, and the one that would fail cannot tell."""
    job = {**SHED, **({"flood zone": flood} if flood else {})}
    assert answers(job, "working-space-depth", "working-space-depth-there") == [here, there]


def test_what_an_adopted_rule_took_the_place_of_is_ended_or_named(tmp_path):
    text = (PLACES / "brightwater-metro" / "code.yaml").read_text()
    ends = "  ends: [gfci-outdoor-outlets, hard-wired-in-the-garage, hvac-relief]\n"
    assert text.count(ends) == 1
    for name, written, code in (
        ("without", "", "adopt-beside"),
        ("beside", "  ends: none\n", None),
        ("ended", ends, None),
    ):
        folder = tmp_path / name
        shutil.copytree(PLACES / "brightwater-metro", folder)
        (folder / "code.yaml").write_text(text.replace(ends, written))
        faults = Collector()
        m = Library((folder,), faults, examples=False).material("2023", "2026-03-01", faults=faults)
        codes = {f.code for f in faults.items} - {"meaning-moved"}
        assert codes == ({code} if code else set())
        assert ("gfci-outdoor-outlets" in m.rules) == (name != "ended")
        if code:
            assert "ends: [gfci-outdoor-outlets" in faults.items[0].todo
