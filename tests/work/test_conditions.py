"""Conditions found: each is tied to the very fact, and costs the difference of two whole runs."""

import re
from fractions import Fraction as F
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine.work.buying import bought
from whywire.engine.work.conditions import MOST, conditions_of, run_whole
from whywire.engine.work.money import priced
from whywire.engine.work.opening import How, opened
from whywire.engine.work.price_file import read_prices
from whywire.engine.work.takeoff import take_off
from whywire.engine.work.tasks import ordered

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
KILN = JOBS / "kiln.yaml"
SAMPLE = (
    KILN,  # mended
    JOBS / "scenarios" / "range-in-pipe.yaml",
    JOBS / "scenarios" / "workshop-feeder.yaml",  # the least there can be
    JOBS / "scenarios" / "kiln-studio.yaml",
    JOBS / "vehicles" / "carport-post.yaml",
)


def found(path: Path, mine: str):
    job = opened(path, How())
    prices = read_prices(mine, job.knowledge)
    off, order = take_off(job), ordered(job)
    price = priced(off, bought(off, prices), order, prices)
    return job, price, prices, conditions_of(path, How(), job, price, prices, off, order)


@pytest.mark.parametrize("path", SAMPLE, ids=lambda path: path.stem)
def test_a_condition_is_the_difference_of_two_whole_runs(path, mine):
    job, price, prices, conditions = found(path, mine)
    # where a price is the least there can be, and stays so whatever is found, all is asked
    assert conditions.priced or price.least and conditions.asked
    assert len(conditions.priced) <= MOST
    for one in conditions.priced:
        whole = run_whole(path, How(), one, job, price, prices)
        assert (one.delta, one.total, one.parts) == (whole.delta, whole.total, whole.parts), one
        if one.delta is not None:
            assert one.delta == whole.total - price.total and price.is_whole
        assert one.says and one.ask and one.called
    again = priced(take_off(job), bought(take_off(job), prices), ordered(job), prices)
    assert again.total == price.total  # the job is as it was


def test_what_is_found_is_what_the_same_job_costs_when_it_is_told(mine, capsys, tmp_path):
    """The condition beside the offer, against a job that says so from the beginning."""
    _, price, _, conditions = found(KILN, mine)
    box = next(one for one in conditions.priced if one.fact == "boxes entered")
    assert box.changes == (("circuits.kiln", "boxes entered", F(2)),)
    job = tmp_path / "job.yaml"
    text = KILN.read_text().split("expect:")[0]
    job.write_text(text.replace("    volts: 240 V", "    boxes entered: 2\n    volts: 240 V"))
    main(["price", str(job), "--prices", mine])
    total = re.search(r"^TOTAL +([\d,.]+)", capsys.readouterr().out, re.M)[1]
    assert F(total.replace(",", "")) - price.total == box.delta == F("3.70")


def test_a_fact_that_is_told_is_no_condition(mine, tmp_path):
    job = tmp_path / "job.yaml"
    text = KILN.read_text().split("expect:")[0]
    told = "    boxes entered: 2\n    measured: on the plan\n    rises: 9 ft\n    volts: 240 V"
    job.write_text(text.replace("    volts: 240 V", told))
    _, _, _, conditions = found(job, mine)
    assert {one.fact for one in conditions.priced} == {"plastic boxes"}


def test_a_condition_stands_on_the_sheets_of_office_and_customer(mine, capsys):
    for audience in ("office", "customer"):
        assert main(["sheet", str(KILN), "--for", audience, "--prices", mine]) == 0
        out = capsys.readouterr().out
        part = out[out.index("IF IT IS FOUND") :]
        assert re.search(r"If one box more is entered \(kiln\) +\+3\.70", part)
        assert ("cable connector: 2 → 3" in out) == (audience == "office")
        assert "NOT IN THE PRICE" in out and "patching and painting" in out
    for audience in ("helper", "inspector"):
        main(["sheet", str(KILN), "--for", audience])
        assert "IF IT IS FOUND" not in capsys.readouterr().out


def test_an_old_circuit_whose_ground_nobody_told_has_no_price_by_a_guess(mine):
    """Beside a price that is the least it can be stands no difference, and a word why."""
    path = JOBS / "old-work" / "den-outlet-replaced.yaml"
    _, price, _, conditions = found(path, mine)
    assert price.least
    assert all(one.delta is None for one in conditions.priced)
    assert all(one.stops or one.total is not None for one in conditions.priced)
    assert {one.fact for one in conditions.asked} >= {"boxes entered"}


def test_what_is_left_out_follows_from_what_is_not_done(mine, capsys, tmp_path):
    job = tmp_path / "job.yaml"
    text = KILN.read_text().split("expect:")[0]
    job.write_text(text + "closed walls: no\n")
    main(["sheet", str(job), "--for", "customer", "--prices", mine])
    assert "patching and painting" not in capsys.readouterr().out
    job.write_text(text.replace("    volts: 240 V", "    work: left as it is\n    volts: 240 V"))
    main(["sheet", str(job), "--for", "customer", "--prices", mine, "--draft"])
    assert "kiln: it stays as it is; nothing of it is done" in capsys.readouterr().out
