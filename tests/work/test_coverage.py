"""What of the trade's list of the work works, by id: coverage.tsv names for each a shipped job, a
command, and what it prints. A row that `works` is run; what is of weight 3 works.
"""

import csv
import shlex
from functools import cache
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine.language.knowledge import KB
from whywire.engine.running.cache import load
from whywire.engine.work.price_file import INVENTED, starter

HEAD = ["id", "weight", "works|part|missing", "job", "command", "what it shows"]
NOTHING = "-"


@cache
def rows() -> tuple[list[str], ...]:
    with open(Path(__file__).with_name("coverage.tsv"), encoding="utf-8", newline="") as file:
        head, *found = csv.reader(file, delimiter="\t", quoting=csv.QUOTE_NONE)
    assert head == HEAD
    return tuple(found)


@pytest.fixture(scope="module")
def said(tmp_path_factory):
    """What a command prints of a job, in one line; each is run once."""
    prices = tmp_path_factory.mktemp("prices") / "mine.csv"
    prices.write_text(starter(load((KB / "work",), "2023")).replace(INVENTED, "ours"))
    known: dict[tuple[str, str], str] = {}

    def ran(job: str, command: str, capsys) -> str:
        if (job, command) not in known:
            named = {"JOB": str(KB / "jobs" / f"{job}.yaml"), "MINE": str(prices)}
            main([named.get(word, word) for word in shlex.split(command)])
            known[job, command] = " ".join(capsys.readouterr().out.split())
        return known[job, command]

    return ran


def test_every_row_of_the_five_lists_is_here_once():
    ids = [row[0] for row in rows()]
    numbers = {"Q": 27, "C": 29, "I": 11, "H": 10, "K": 12}
    assert sorted(ids) == sorted(
        f"{letter}-{number:02}"
        for letter, last in numbers.items()
        for number in range(1, last + 1)
        if (letter, number) != ("C", 22)  # the list has none
    )


def test_what_is_of_weight_three_works():
    assert [row[0] for row in rows() if row[1] == "3" and row[2] != "works"] == []


@pytest.mark.parametrize("row", rows(), ids=lambda row: row[0])
def test_what_works_is_printed(row, said, capsys):
    _, weight, state, job, command, shows = row
    assert weight in ("1", "2", "3") and state in ("works", "part", "missing")
    if state == "works":
        assert " ".join(shows.split()) in said(job, command, capsys)
    else:
        assert (job, command) == (NOTHING, NOTHING) and len(shows) > 8  # what is missing
