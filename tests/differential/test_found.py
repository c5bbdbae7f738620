"""Programs on which a long comparison once found two answers, reduced to what made the difference.
Each is compared in every way a program can be run: emitted code, the general evaluator,
durable-rules, and knowledge kept between starts."""

import pickle
from decimal import Decimal

import pytest
import random_programs as rp

from whywire.engine.basics.errors import Collector
from whywire.engine.basics.units import Range
from whywire.engine.language.knowledge import build
from whywire.engine.language.words import Words
from whywire.engine.running import durable
from whywire.engine.running.chain import World
from whywire.engine.running.job import mapping_of, read_job

WORDS = {
    "job": {"has": {"runs": "many run"}},
    "run": {
        n: {"is": u}
        for n, u in {
            "number": "count",
            "net": "count",
            "amps": "A",
            "share": "A",
            "factor": "count",
        }.items()
    },
}


def program(*rules: dict):
    """Rules about a run, through the loader."""
    faults, words = Collector(), Words()
    words.read(mapping_of(WORDS), faults)
    (rp.FOLDER / "found.csv").write_text("amount,factor\n5,1\n10,0.8\n")
    table = {
        "table": "steps",
        "file": "found.csv",
        "keys": {"amount": "exact A"},
        "values": {"factor": "count"},
        **rp.ITEM,
    }
    items = [
        table,
        *(
            {"rule": f"rule-{letter}", "about": "run", **r, **rp.ITEM}
            for letter, r in zip("abcd", rules)
        ),
    ]
    return build([(mapping_of(d), rp.FOLDER) for d in items], words, [], "2023", faults=faults)


def every_way(k, told: dict) -> World:
    """The run by emitted code, after all others were found to be the same."""
    body = mapping_of({"runs": {"one": told}})
    w = World(k, read_job(body, k)).run()
    kept = pickle.loads(pickle.dumps(k))
    for other in (
        World(k, read_job(body, k), fast=False).run(),
        World(kept, read_job(body, kept)).run(),
        World(kept, read_job(body, kept), fast=False).run(),
    ):
        assert durable.cells_of(other) == durable.cells_of(w)
    if durable.available():
        assert durable.agree(k, body, w) == []
    return w


def value(w: World, fact: str):
    x = w.things["runs.one"]
    return x[w.k.words.kinds["run"].words[fact].slot]


NET = {"gives": {"net": "number - 12"}}


# Found by programs 1152000, 3252000 and 8331001 of random_programs: the general evaluator took what
# is divided by a number
# below nothing for unknown, and the emitted code carried it out.
@pytest.mark.parametrize(("number", "share"), [("8", "-5"), ("14", "10"), ("12", None)])
def test_an_amount_divided_by_what_is_less_than_nothing(number, share):
    w = every_way(
        program(NET, {"gives": {"share": "amps ÷ net"}}), {"number": number, "amps": "20 A"}
    )
    assert value(w, "share") == (None if share is None else Decimal(share))


def test_an_amount_divided_by_what_may_be_anything_below_a_number():
    w = every_way(
        program({"gives": {"net": "0 - 4 - number"}}, {"gives": {"share": "amps ÷ net"}}),
        {"amps": "20 A"},
    )
    assert value(w, "net") == Range(None, Decimal(-4)) and value(w, "share") == Range(
        Decimal(-5), Decimal(0)
    )


# Knowledge read from a file took an unknown amount for one known to be 0 or more, and a search
# among the rows of a key
# then began at the first row of the table; so did a search by an amount known in part.
SEARCH = {"gives": {"factor": "smallest factor from steps by amount = share where factor >= 0.5"}}


@pytest.mark.parametrize("giver", [{"assumes": {"net": "1"}}, {"gives": {"share": "amps + 5 A"}}])
def test_a_search_by_an_amount_that_is_not_known(giver):
    assert value(every_way(program(giver, SEARCH), {}), "factor") is None


def test_a_search_by_a_known_amount():
    assert value(every_way(program(SEARCH), {"share": "10 A"}), "factor") == Decimal("0.8")


# Found by program 607000: the emitted text of a search by a key that is looked up itself was no
# Python.
def test_a_search_by_an_amount_that_is_looked_up():
    rule = {
        "gives": {
            "number": (
                "smallest factor from steps by amount = (5 A × factor from steps by amount = share)"
                " where factor >= 0.5"
            )
        }
    }
    assert value(every_way(program(rule), {"share": "5 A"}), "number") == Decimal(1)
    assert value(every_way(program(rule), {"share": "7 A"}), "number") is None
