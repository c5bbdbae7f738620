"""Work on a circuit that is there: what of it is bought and done, what an extension starts from,
and what may be found behind an old outlet, priced before.
"""

import json
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine.work.opening import How, opened
from whywire.engine.work.takeoff import take_off
from whywire.engine.work.tasks import ordered

GLAZE = """
job: Two old outlets in the glaze room
edition: 2023
building: one-family dwelling
circuits:
  glaze:
    supply: 120 V
    work: {work}
    length: 40 ft
    added length: 12 ft
    added outlets: yes
    more than one receptacle: yes
    boxes entered: 2
    measured: taped where it lies
    plastic boxes: yes
    GFCI protection: {GFCI}
    AFCI protection: yes
    load: {{type: cord-and-plug load, current: 8 A, continuous: no, connection: cord and plug}}
    breaker: {{rating: 15 A}}
    conductors: {{size: 14 AWG, material: copper}}
    segments: [{{method: NM-B, length: 52 ft, place: conditioned space, location: dry,
                 bundle: none, laid: along framing}}]
    receptacle: {{configuration: 5-15, duplex: yes, terminals: screw, places: [{{place: den}}],
                  location: dry}}
"""


def glaze(tmp_path: Path, work: str, gfci: str = "no") -> Path:
    path = tmp_path / "glaze.yaml"
    path.write_text(GLAZE.format(work=work, GFCI=gfci))
    return path


def found(capsys, job: Path, mine: str, *words: str) -> list[dict]:
    main(["sheet", str(job), "--for", "office", "--prices", mine, "--json", "--draft", *words])
    made = json.loads(capsys.readouterr().out)["sections"]
    return next((each["rows"] for each in made if each["title"] == "If it is found"), [])


def test_a_replaced_receptacle_takes_no_cable_and_opens_no_wall(tmp_path):
    """Two receptacles at 15 min, 12 min of tests, two plates at 5 min."""
    job = opened(glaze(tmp_path, "receptacle replaced"), How())
    listed = {line.part: line.amount for line in take_off(job).lines}
    assert listed == {"5-15 receptacle": 2, "one-gang plate": 2}
    order = ordered(job)
    assert order.gaps == [] and order.visits == 1
    minutes = {task.rule: task.minutes for task in order.tasks if task.of != "job"}
    assert minutes == {"swap-the-devices": 30, "dead-tests-of-old-work": 12, "cover-and-trim": 10}


@pytest.mark.parametrize("work", ["appliance swapped", "panel replaced", "left as it is"])
def test_nothing_is_pulled_where_nothing_is_laid(tmp_path, work):
    job = opened(glaze(tmp_path, work), How())
    assert not any("NM-B" in line.part for line in take_off(job).lines)
    order = ordered(job)
    assert order.gaps == []
    done = {task.rule for task in order.tasks}
    assert done.isdisjoint({"lay-out-the-route", "pull-the-cable", "rough-inspection"})
    assert done.isdisjoint({"land-on-the-breaker", "make-up-the-far-end", "cover-and-trim"})
    assert ("move-to-the-new-panel" in done) == (work == "panel replaced")


def test_an_extension_starts_at_a_box(tmp_path):
    """(12 + 3 + 3 × (2 × 2 - 1)) × 1.1 = 26.4 ft; it is tied in there, and on no breaker."""
    job = opened(glaze(tmp_path, "extended"), How())
    cable = next(line for line in take_off(job).lines if line.part == "14-2 NM-B")
    assert float(cable.amount) == pytest.approx(26.4)
    order = ordered(job)
    number = {task.rule: task.number for task in order.tasks}
    assert "land-on-the-breaker" not in number and order.gaps == []
    assert number["turn-off-and-prove-dead"] < number["tie-into-the-old-circuit"]
    assert number["tie-into-the-old-circuit"] < number["dead-tests"]


def test_one_plate_is_that_of_the_guard(tmp_path):
    job = opened(glaze(tmp_path, "receptacle replaced", "yes"), How())
    listed = {line.part: line.amount for line in take_off(job).lines}
    assert listed == {
        "5-15 GFCI receptacle": 1,
        "5-15 receptacle": 1,
        "one-gang GFCI plate": 1,
        "one-gang plate": 1,
    }


def test_no_ground_in_the_box_is_priced_before_anybody_looks(tmp_path, capsys, mine):
    """The difference of two whole runs: the job as it is, and with a GFCI receptacle, marked."""
    job = glaze(tmp_path, "receptacle replaced")
    (row,) = [one for one in found(capsys, job, mine) if "no ground in its box" in one["text"]]
    assert row["right"].startswith("+") and "+ 5-15 GFCI receptacle" in row["under"]

    def total(text: str) -> float:
        job.write_text(text)
        main(["price", str(job), "--prices", mine, "--json"])
        return float(json.loads(capsys.readouterr().out)["total"].replace(",", ""))

    text = job.read_text()
    then = text.replace("GFCI protection: no", "GFCI protection: yes").replace(
        "terminals: screw", "terminals: screw, EGC in the box: no, ground label: yes"
    )
    assert round(total(then) - total(text), 2) == float(row["right"].replace(",", ""))


def test_no_ground_in_the_old_cable_is_a_new_one_from_the_panel(tmp_path, capsys, mine):
    job = glaze(tmp_path, "extended")
    (row,) = [one for one in found(capsys, job, mine) if "no ground" in one["text"]]
    # beside a price that is the least it can be stands the whole of the other, and no difference
    assert row["right"].endswith("in all") and "+ cable staple" in row["under"]
    assert any(each.startswith("14-2 NM-B: 26.4 →") for each in row["under"])
    job.write_text(
        job.read_text().replace("    work: ext", "    brings an EGC: yes\n    work: ext")
    )
    assert not any("no ground" in one["text"] for one in found(capsys, job, mine))


def test_what_is_not_counted_stands_beside_the_price(tmp_path, capsys, mine):
    job = glaze(tmp_path, "extended")
    main(["price", str(job), "--prices", mine])
    said = " ".join(capsys.readouterr().out.split())
    assert "BY HAND" in said and "connectors and pipe of what is added" in said
    main(["sheet", str(job), "--for", "office", "--prices", mine, "--draft"])
    assert "NOT COUNTED" in capsys.readouterr().out
