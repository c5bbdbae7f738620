"""Every quantity, minute and amount of a price is an item that follows from those below it, down to
the job's own derivation, the price file and the order; whoever did not make it finds what does not.
"""

import dataclasses
import json
from fractions import Fraction as F
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine.work.audit import audit
from whywire.engine.work.buying import bought
from whywire.engine.work.ledger import FACT, NUMBER, PACKS, ROW, Ledger
from whywire.engine.work.money import priced
from whywire.engine.work.opening import How, opened
from whywire.engine.work.price_file import read_prices
from whywire.engine.work.takeoff import take_off
from whywire.engine.work.tasks import ordered

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
SAMPLE = (
    "kiln.yaml",
    "scenarios/workshop-feeder.yaml",  # several runs share a coil; it is the least there can be
    "scenarios/range-in-pipe.yaml",
    "vehicles/carport-post.yaml",
    "old-work/den-outlet-replaced.yaml",
)


def made(path: Path, mine: str):
    job = opened(path, How())
    prices = read_prices(mine, job.knowledge)
    off, order = take_off(job), ordered(job)
    return job, priced(off, bought(off, prices), order, prices), prices, order


@pytest.mark.parametrize("name", SAMPLE)
def test_every_number_of_a_price_follows(name, mine):
    job, price, prices, order = made(JOBS / name, mine)
    assert audit(job, price, prices, order.visits) == []
    ops = {item.op for item in price.book.items.values()}
    assert {FACT, ROW, NUMBER, PACKS} <= ops
    # nothing is printed that is no item
    printed = [*(c for c in price.cost), price.price, *price.after]
    assert all(price.book[charge.item.id].value == charge.amount for charge in printed)
    assert price.book["total"].value == price.total
    for one, amount in price.parts:
        assert price.book[one.line.part].value == amount
    facts = {item.id for item in price.book.items.values() if item.op == FACT}
    taken = sum(len(one.line.takes) for one, _ in price.parts)
    worked = sum(1 for task in order.tasks if not task.outside and task.minutes is not None)
    assert len(facts) >= taken + worked  # every quantity and every minute


def test_a_number_that_is_off_is_found_wherever_it_is(mine):
    """Each item in its turn, moved by a cent: the item itself is named, and nothing is let pass."""
    job, price, prices, order = made(JOBS / "kiln.yaml", mine)
    missed = []
    sound = price.book.items
    for name, item in sound.items():
        book = Ledger()
        book.items = {**sound, name: dataclasses.replace(item, value=item.value + F(1, 100))}
        price.book = book
        wrong = audit(job, price, prices, order.visits)
        if not any(said.startswith(f"{name}:") for said in wrong):
            missed.append(name)
    assert len(sound) > 80 and missed == []


def test_packs_that_do_not_hold_the_pieces_are_found(mine):
    job, price, prices, order = made(JOBS / "scenarios/workshop-feeder.yaml", mine)
    sound = price.book.items
    cut = next(item for item in sound.values() if item.op == PACKS and item.data["cuts"])
    size, feet, pieces = cut.data["cuts"][0]
    for cuts in (
        [[size, feet, [*pieces, "1"]], *cut.data["cuts"][1:]],  # a piece nobody needs
        [[size, str(F(feet) - F(feet) + 1), pieces], *cut.data["cuts"][1:]],  # of too short a coil
        cut.data["cuts"][1:] or [[size, feet, []]],  # one is not cut at all
    ):
        price.book.items = {
            **sound,
            cut.id: dataclasses.replace(cut, data={**cut.data, "cuts": cuts}),
        }
        wrong = audit(job, price, prices, order.visits)
        assert [said for said in wrong if said.startswith(cut.id)], cuts


def test_the_derivation_of_the_job_is_checked_with_it(mine, monkeypatch):
    from whywire.engine.work import audit as auditing

    job, price, prices, order = made(JOBS / "kiln.yaml", mine)
    graph = auditing.derivation(job, price.book)
    told = next(n for n in graph["nodes"] if n["id"] == "fact:circuits.kiln/length")
    told["value"] = "41"
    monkeypatch.setattr(auditing, "derivation", lambda *_: graph)
    assert any("fact:circuits.kiln/length" in said for said in audit(job, price, prices, 2))


def test_why_shows_a_line_of_a_price(capsys, mine):
    kiln = str(JOBS / "kiln.yaml")
    assert main(["why", kiln, "price", "4-3", "NM-B", "--prices", mine]) == 0
    out = capsys.readouterr().out
    assert "1 × pack of 100" in out and "each piece of cable of kiln" in out and "55 ft" in out
    assert "A run of NM-B takes one uncut piece" in out and max(map(len, out.split("\n"))) <= 80
    assert main(["why", kiln, "price", "work", "--prices", mine, "--json"]) == 0
    got = json.loads(capsys.readouterr().out)
    names = {item["id"] for item in got["items"]}
    assert all(below in names for item in got["items"] for below in item["below"])
    assert "fact:circuits.kiln/pull-the-cable minutes" in names and "parts" not in names
    assert main(["why", kiln, "price", "labour", "--prices", mine]) == 2
    assert 'no line of this price is called "labour"' in capsys.readouterr().err


def test_a_minimum_charge_is_the_larger_of_two(tmp_path, mine):
    file = tmp_path / "mine.csv"
    text = Path(mine).read_text().replace("minimum charge,job,,150.00", "minimum charge,job,,9000")
    file.write_text(text)
    job, price, prices, order = made(JOBS / "kiln.yaml", str(file))
    assert price.price.amount == 9000 and "minimum charge; by cost" in price.price.worked
    assert audit(job, price, prices, order.visits) == []
