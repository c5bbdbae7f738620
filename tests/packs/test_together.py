"""Packs that are for one place or lie within each other, looked at, tested and read together.

The ordinances are made up: a county, a fire district within it whose name comes first in the
alphabet, and a water district that nobody put in an order.
"""

from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine import inspect
from whywire.engine.basics.errors import Collector, Faults
from whywire.engine.comparing import amendments
from whywire.engine.law.places import chain_of, known_packs

HEAD = (
    "pack: {name}\ntitle: {name} ordinance\nauthority: The Board\ncite: Ordinance {name}\nlayer:"
    " {layer}\nplace: {place}\n{more}"
)
ADOPTS = "adopts: [{edition: 2023, from: 2026-01-01}]\n"


def wider(old: int, new: int) -> str:
    return f"""- amend: way-out-width
  cite: §1
  reason: Firemen carry packs.
  says: With every equipment door open a way out {new} in wide is left.
  strike: {old} in
  insert: {new} in
  examples:
    - {{given: {{clear way out: {new - 1} in}}, answer: fails}}
    - {{given: {{clear way out: 24 in}}, answer: fails}}
    - {{given: {{clear way out: 24.1 in}}, answer: fails}}
    - {{given: {{clear way out: {new} in}}, answer: passes}}
    - {{given: {{clear way out: 20 in}}, answer: fails}}
"""


@pytest.fixture
def shelf(tmp_path, monkeypatch):
    """A shelf, and what puts a pack on it and has its meanings added."""
    monkeypatch.setenv("WHYWIRE_PACKS", str(tmp_path))
    monkeypatch.chdir(tmp_path)

    def put(
        name: str,
        edits: str,
        more: str = ADOPTS + "from: 2026-01-01\n",
        layer: str = "county",
        place: str = "Hazel County",
    ):
        (tmp_path / name).mkdir()
        (tmp_path / name / "pack.yaml").write_text(
            HEAD.format(name=name, layer=layer, place=place, more=more)
        )
        (tmp_path / name / "ordinance.yaml").write_text(edits)
        main(["check", name, "--write"])
        return tmp_path / name

    return put


def width_asked(date: str) -> str:
    job = Path("job.yaml")
    job.write_text(
        f"job: x\nplace: Hazel County\npermit date: {date}\nworking spaces: {{cellar: {{clear way"
        " out: 20 in}}\n"
    )
    (found,) = [f for f in inspect(job).findings if f.rule == "way-out-width"]
    assert found.answer == "fails"
    return found.says.split("a way out ")[1].split(" wide")[0]


def test_what_lies_within_applies_later_whatever_its_name(shelf, capsys):
    shelf("hazel", wider(24, 30))
    shelf("ash-fire", wider(30, 36), "within: hazel\nfrom: 2026-06-01\n")
    assert main(
        ["check", "ash-fire"]
    ) == 0 and "“clear way out >= 30 in” now reads “clear way out >= 36 in”" in " ".join(
        capsys.readouterr().out.split()
    )
    assert [width_asked(d) for d in ("2026-01-01", "2026-05-31", "2026-06-01")] == [
        "30 in",
        "30 in",
        "36 in",
    ]


def test_whole_edits_of_one_layer_have_an_order_where_one_lies_within_the_other(shelf):
    whole = (
        "- set: overall voltage drop target\n  cite: §1\n  reason: x\n  to: {} %\n  says:"
        " {{combined-voltage-drop: x, feeder-leaves-too-little: x}}\n"
    )
    shelf("hazel", whole.format(4))
    within = shelf("ash", whole.format(3), "within: hazel\n")
    assert "edits-clash" not in {f.code for f in amendments.review(within).faults.items}
    (within / "pack.yaml").write_text(
        HEAD.format(name="ash", layer="county", place="Hazel County", more=ADOPTS)
    )
    (within / "ordinance.yaml").write_text(whole.format(3))
    assert {f.code for f in amendments.review(within).faults.items} >= {"edits-clash"}


def test_packs_of_one_place_in_no_order_are_looked_at_together(shelf, capsys):
    """Each is sound alone; a job there would be refused."""
    shelf("hazel", wider(24, 30))
    water = shelf("hazel-water", wider(24, 28), ADOPTS + "from: 2026-06-01\n")
    capsys.readouterr()
    assert main(["check", "hazel-water"]) == 2
    out, err = capsys.readouterr()
    assert "hazel is for the same place: a job there is under both." in " ".join(out.split())
    assert (
        err.startswith('hazel-water/ordinance.yaml:7:11: "24 in" became "30 in"')
        and "hazel is for the same place" in err
        and "write within: and the name of the other" in err
    )
    assert (
        main(["check", "hazel"]) == 2
        and "hazel/pack.yaml:1:7:" in (err := capsys.readouterr().err)
        and "(seen at hazel-water/ordinance.yaml:7:11)" in err
    )
    with pytest.raises(Faults):
        width_asked("2026-06-01")
    text = (water / "ordinance.yaml").read_text()  # as the message says
    (water / "pack.yaml").write_text(
        HEAD.format(
            name="hazel-water",
            layer="county",
            place="Hazel County",
            more="within: hazel\nfrom: 2026-06-01\n",
        )
    )
    (water / "ordinance.yaml").write_text(
        "\n".join(
            line
            for line in (
                text.replace("strike: 24", "strike: 30")
                .replace("insert: 28", "insert: 32")
                .replace("28", "32")
                .replace("27", "31")
                .split("\n")
            )
            if "meaning:" not in line and "  of:" not in line
        )
    )
    capsys.readouterr()
    assert main(["check", "hazel-water", "--write"]) == 0 and main(["check", "hazel"]) == 0
    assert width_asked("2026-06-01") == "32 in"


def test_a_county_does_not_lie_within_a_city(shelf):
    shelf("town", wider(24, 30), layer="city", place="Hazel Town")
    shelf("hazel", wider(24, 30), "within: town\n")
    faults, known = Collector(), known_packs()
    chain_of(known["hazel"], known, faults)
    assert [f.code for f in faults.items] == [
        "within-layer"
    ] and "the law of a county, and lies within town, the law of a city" in faults.items[0].what


def test_the_coverage_of_a_pack_counts_its_examples_and_reads_what_it_lies_within(shelf, capsys):
    shelf("hazel", wider(24, 30))
    shelf("ash-fire", wider(30, 36), "within: hazel\nfrom: 2030-06-01\n")  # not yet in force
    capsys.readouterr()
    assert main(["check", "ash-fire", "--coverage"]) == 1
    out = capsys.readouterr().out
    assert "conditions 1 of 1" in out
    line = (
        out.split("no example just over the limit of: clear way out >= 36 in\n")[1]
        .split("\n")[0]
        .strip()
    )
    path = known_packs()["ash-fire"].folder / "ordinance.yaml"
    path.write_text(path.read_text() + "    " + line + "\n")  # what is printed to paste mends it
    main(["check", "ash-fire", "--coverage"])
    assert "just over the limit" not in capsys.readouterr().out
    assert main(["check", "kestrel-county", "--coverage"]) == 0, (
        "a shipped pack that withdraws a rule which others name in their examples"
    )
    assert "thresholds" in capsys.readouterr().out


def test_a_rule_is_read_as_a_pack_has_it(shelf, capsys):
    shelf("hazel", wider(24, 30))
    shelf("ash-fire", wider(30, 36), "within: hazel\nfrom: 2026-06-01\n")
    capsys.readouterr()
    assert main(["rules", "way-out-width", "--pack", "ash-fire"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert (
        "must clear way out >= 36 in" in out
        and "amended by Ordinance hazel §1 (Hazel County, from 2026-01-01): “clear way out >="
        " 24 in” became “clear way out >= 30 in”"
        in out
    )
    assert "clear way out 36 in → answer: passes" in out and "24 in → answer: passes" not in out, (
        "its examples are those that are true there"
    )
    assert (
        main(["rules", "next-size-up", "--pack", "kestrel-county"]) == 2
        and "next-size-up is withdrawn by Kestrel County, Ordinance 2025-14 §4-12"
        in capsys.readouterr().err
    )


def test_a_pack_that_has_not_begun_is_not_said_to_be_in_force(shelf, tmp_path, capsys):
    shelf("hazel", wider(24, 30))
    shelf("ash-fire", wider(30, 36), "within: hazel\nfrom: 2026-06-01\n")
    (tmp_path / "job.yaml").write_text(
        "job: x\nplace: Hazel County\npermit date: 2026-05-31\nworking spaces: {cellar: {clear way"
        " out: 29 in}}\n"
    )
    capsys.readouterr()
    main(["inspect", "job.yaml", "--all"])
    assert "then ash-fire ordinance (not before 2026-06-01)" in " ".join(
        capsys.readouterr().out.split()
    )
    main(["inspect", "job.yaml"])
    note = " ".join(capsys.readouterr().out.split())
    assert "; hazel ordinance; ash-fire ordinance (not before 2026-06-01) NOT RIGHT" in note
    job = (tmp_path / "job.yaml").read_text()
    (tmp_path / "job.yaml").write_text(job.replace("2026-05-31", "2026-06-01"))
    main(["inspect", "job.yaml"])
    note = " ".join(capsys.readouterr().out.split())
    assert "; hazel ordinance; ash-fire ordinance NOT RIGHT" in note, "its first day"


@pytest.mark.parametrize(
    "said, meant",
    [("Hazel Countie", "Hazel County"), ("hazel  county", "Hazel County"), ("Willow Island", "")],
)
def test_a_place_misspelled_is_not_a_place_without_law(said, meant, shelf, tmp_path):
    shelf("hazel", wider(24, 30))
    job = tmp_path / "job.yaml"
    job.write_text(
        f"job: x\nplace: {said}\nedition: 2023\npermit date: 2026-02-01\nworking spaces: {{cellar:"
        " {clear way out: 29 in}}\n"
    )
    assert inspect(job).force.notes == [
        f"There is no pack for {said} here: its local amendments are not known."
        + (f" Did you mean {meant}?" if meant else "")
    ]


def test_two_packs_of_one_name_are_told_to_their_writer(shelf, tmp_path):
    first = shelf("hazel", wider(24, 30))
    (tmp_path / "second").mkdir()
    (tmp_path / "second" / "pack.yaml").write_text((first / "pack.yaml").read_text())
    assert [f.code for f in amendments.review(first).faults.items] == ["id-in-use"]


def test_a_head_that_changed_is_read_again_and_nothing_is_noted_on_what_is_kept(
    tmp_path, monkeypatch
):
    """A folder of jobs asks for the heads of every pack with each job: they are read anew only when
    a file is another.
    """
    from whywire.engine.law import places

    monkeypatch.setenv("WHYWIRE_PACKS", str(tmp_path))
    head = tmp_path / "pine" / "pack.yaml"
    head.parent.mkdir()
    head.write_text(
        "pack: pine\nplace: Pine\nauthority: The Board\ncite: Ordinance 1\nlayer: county\n"
    )
    reads, real = [], places.head_of
    monkeypatch.setattr(
        places, "head_of", lambda folder, faults: reads.append(folder) or real(folder, faults)
    )
    one = places.known_packs()["pine"]
    read = len(reads)
    assert head.parent in reads
    one.deep = 7
    assert places.known_packs()["pine"].deep == 0 and len(reads) == read
    head.write_text(head.read_text().replace("Ordinance 1", "Ordinance 2"))
    assert places.known_packs()["pine"].head["cite"] == "Ordinance 2" and len(reads) == 2 * read
    head.unlink()
    assert "pine" not in places.known_packs()
