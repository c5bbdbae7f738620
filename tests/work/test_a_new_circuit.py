"""What nobody knows of a new circuit blanks nothing of its neighbors: their parts and minutes stay,
and a job that asks for more never costs less without a word.
"""

import datetime
from functools import cache
from pathlib import Path

import pytest

from whywire.engine.basics.reading import read_yaml
from whywire.engine.work.buying import bought
from whywire.engine.work.money import Price, priced
from whywire.engine.work.opening import How, opened, with_changes
from whywire.engine.work.price_file import INVENTED, read_prices, starter
from whywire.engine.work.takeoff import take_off, takes_of
from whywire.engine.work.tasks import ordered

WORKSHOP = (
    Path(__file__).resolve().parents[2] / "kb" / "jobs" / "scenarios" / "workshop-feeder.yaml"
)
LAMP = {
    "panel": "shop",
    "volts": "120 V",
    "length": "20 ft",
    "more than one receptacle": "no",
    "load": {"type": "lighting", "current": "4 A", "continuous": "no", "connection": "hard-wired"},
    "breaker": {"rating": "15 A"},
    "conductors": {"material": "copper"},
    "segments": [{"method": "NM-B", "length": "20 ft", "place": "garage", "bundle": "none"}],
}


@cache
def worked(folder: Path, untold: str) -> tuple[dict, dict, Price]:
    """The parts and the minutes of the job's own circuits, and its price: with a lamp of which
    something is not told, or without ("").
    """
    body = read_yaml(WORKSHOP.read_text(), "workshop")
    if untold:
        lamp = {key: value for key, value in LAMP.items() if key != untold}
        lamp["load"] = {key: value for key, value in LAMP["load"].items() if key != untold}
        body = with_changes(body, {"circuits": {"lamp": lamp}})
    job = opened(body, How())
    off, order = take_off(job), ordered(job)
    file = folder / "mine.csv"
    file.write_text(starter(job.knowledge).replace(INVENTED, "ours"))
    prices = read_prices(file, job.knowledge, datetime.date.today())
    takes = list(takes_of(off))
    parts = {(take.of, take.slot): (take.part, take.amount) for take in takes if _own(take.of)}
    minutes = {(task.of, task.rule): task.minutes for task in order.tasks if _own(task.of)}
    return parts, minutes, priced(off, bought(off, prices), order, prices)


def _own(of: str) -> bool:
    return "lamp" not in of and of != "job"


@pytest.mark.parametrize("untold", ["nothing", "continuous", "current", "connection", "length"])
def test_an_unknown_of_a_new_circuit_blanks_no_neighbor(tmp_path_factory, untold):
    folder = tmp_path_factory.getbasetemp()
    parts, minutes, price = worked(folder, "")
    now, then, more = worked(folder, untold)
    for key, (part, amount) in parts.items():
        assert key in now and now[key][1] >= amount, (key, part, now.get(key))
    for key, spent in minutes.items():
        assert key in then and (spent is None or then[key] >= spent), key
    assert more.total > price.total or more.least
    assert more.minutes > price.minutes
