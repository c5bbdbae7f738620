"""Rates that are said beforehand: of what a job may want and nobody can count; by the contractor's
own price file, and no part of a total.
"""

from pathlib import Path

from whywire.cli.main import main
from whywire.engine.language.knowledge import KB
from whywire.engine.work.beforehand import said_beforehand
from whywire.engine.work.opening import How, opened
from whywire.engine.work.price_file import Prices, read_prices

JOBS = KB / "jobs"
WORKSHOP, KILN = JOBS / "scenarios" / "workshop-feeder.yaml", JOBS / "kiln.yaml"


def said(capsys, job: Path, prices: str, audience: str) -> str:
    main(["sheet", str(job), "--for", audience, "--prices", prices, "--draft"])
    return " ".join(capsys.readouterr().out.split())


def test_a_job_hears_the_rates_that_it_may_want(mine):
    names = {}
    for path in (WORKSHOP, KILN):
        job = opened(path, How())
        rates = said_beforehand(job, read_prices(mine, job.knowledge))
        names[path] = {rate.name for rate in rates}
        assert all(rate.amount is not None and rate.called for rate in rates)
    assert names[WORKSHOP] == {"rock in a trench", "foot of trench beside", "slot in a full panel"}
    assert names[KILN] == {"hole bored beside", "slot in a full panel"}


def test_a_rate_is_on_the_offer_and_in_no_total(capsys, mine, tmp_path):
    out = said(capsys, WORKSHOP, mine, "customer")
    assert "rock in the trench that has to be broken out (feeder segment 1) 14.00 a foot" in out
    dear = tmp_path / "dear.csv"
    dear.write_text(Path(mine).read_text().replace("a trench,ft,,14.00", "a trench,ft,,99.00"))
    other = said(capsys, WORKSHOP, str(dear), "customer")
    assert "99.00 a foot" in other and out.replace("14.00 a foot", "99.00 a foot") == other


def test_a_rate_that_the_file_lacks_is_told_to_the_office_alone(capsys, mine, tmp_path):
    file = tmp_path / "few.csv"
    lines = Path(mine).read_text().splitlines(keepends=True)
    file.write_text("".join(line for line in lines if not line.startswith("rock in")))
    assert 'the price file has no line "rock in a trench"' in said(
        capsys, WORKSHOP, str(file), "office"
    )
    assert "rock in the trench that" not in said(capsys, WORKSHOP, str(file), "customer")
    job = opened(WORKSHOP, How())
    assert all(rate.amount is None for rate in said_beforehand(job, Prices()))
