"""Where there is little memory whywire says so, and is never ended by the system: many files in one
process take no more than a few of them, and the second chainer, whose library ends the process that
it gets no memory in, is not begun where there is no room for it.
"""

import gc
import os
import subprocess
import sys
import weakref
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine.answering.inspection import Inspection
from whywire.engine.basics import reading
from whywire.engine.basics.errors import Fault
from whywire.engine.running import cache, durable
from whywire.engine.running.program import program_of

ROOT = Path(__file__).resolve().parents[2]
JOBS = sorted((ROOT / "kb" / "jobs").rglob("*.yaml"))
KILN = str(ROOT / "kb" / "jobs" / "kiln.yaml")

second = pytest.mark.skipif(not durable.available(), reason="durable-rules does not import here")

# several editions on several sorts of job: a plan of the second chainer for each
MANY = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (400 << 20, 400 << 20))
from whywire.engine.answering.inspection import Inspection
from whywire.engine.running.cache import load
for edition in ("2017", "2020", "2023"):
    for path in sys.argv[1:]:
        print(Inspection(path, load(edition=edition), "fitting").chainer)
"""


@second
@pytest.mark.skipif(sys.platform != "linux", reason="the system counts addresses otherwise")
def test_many_jobs_in_one_process_end_by_themselves():
    """Of each edition the plans of up to eight sorts of jobs were kept, and a state of the library
    took a hundred megabytes: a gigabyte and more.
    """
    sorts = [
        str(path)
        for path in JOBS
        if path.stem in ("kiln", "workshop-feeder", "welder-and-compressor")
    ]
    ended = subprocess.run([sys.executable, "-c", MANY, *sorts], capture_output=True, text=True)
    assert (ended.returncode, ended.stderr[-500:]) == (0, "")
    assert ended.stdout.split() == ["both"] * 9


@pytest.fixture
def no_room(monkeypatch):
    """A system that gives no more addresses."""
    monkeypatch.setattr(durable, "_there_is", lambda size: False)


@second
def test_without_room_the_plain_chainer_serves_alone_and_says_so(no_room, capsys):
    assert main(["inspect", "--all", KILN]) == 1
    assert "Chained by the plain chainer alone." in " ".join(capsys.readouterr().out.split())
    assert main(["why", KILN, "kiln"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "there is too little memory for the second one" in said


@second
@pytest.mark.parametrize("words", [["inspect", KILN], ["why", KILN, "kiln"]])
def test_who_asks_for_both_without_room_is_told(no_room, words, capsys):
    assert main([*words, "--chainer", "both"]) == 2
    assert "MB more than there are" in " ".join(capsys.readouterr().err.split())


@second
def test_room_is_made_by_letting_plans_go(monkeypatch):
    k = cache.load()
    assert Inspection(KILN, k, "both").chainer == "both"
    assert program_of(k).plans
    monkeypatch.setattr(durable, "_there_is", lambda size: not program_of(k).plans)
    durable.make_room(1 << 20)
    assert not program_of(k).plans
    monkeypatch.setattr(durable, "_there_is", lambda size: False)
    with pytest.raises(Fault, match="MB more than there are"):
        durable.make_room(1 << 20)


@second
def test_plans_are_few_whatever_the_number_of_rule_books():
    books = [cache.load(edition=edition) for edition in ("2020", "2023")]
    for k in books:
        for n in range(4):  # what some answers rest on: a plan for each
            durable.plan_of(k, frozenset({"circuit"}), frozenset({k.order.sequence[n]}))
    assert len(program_of(books[-1]).plans) == durable.MOST_PLANS
    assert sum(len(program_of(k).plans) for k in books) <= durable.MOST_PLANS


class Ring:
    """Garbage that only a look at it finds, as large as what the check of a pack makes."""

    def __init__(self) -> None:
        self.things = [[self] for _ in range(400_000)]


def test_what_many_readings_leave_behind_is_looked_for_by_how_much_it_is():
    """After every sixteenth reading, however much each had made: a hundred packs that were checked
    in one process took over a gigabyte.
    """
    rings = []
    for _ in range(8):
        with reading.all_kept():
            rings.append(weakref.ref(Ring()))
    assert sum(ring() is not None for ring in rings) * 400_000 <= reading.LOOK_AFTER


def test_rule_books_are_let_go_of(monkeypatch, tmp_path):
    monkeypatch.setenv("WHYWIRE_CACHE", str(tmp_path / "cache"))
    monkeypatch.setattr(cache, "_LOADED", {})
    monkeypatch.setattr(cache, "MOST_LOADED", 2)
    first = cache.load(edition="2017")
    emitted = program_of(first).emitted()
    emitted.runs(next(iter(emitted.parts())))
    for edition in ("2020", "2023", "2023", "2026"):
        cache.load(edition=edition)
    assert [k.edition for k, _ in cache._LOADED.values()] == ["2023", "2026"]
    # what it had emitted is not lost
    again = cache.load(edition="2017")
    assert again is not first
    emitted = program_of(again).emitted()
    emitted.runs(next(iter(emitted.parts())))
    assert not emitted.fresh
    gc.collect()
    assert os.listdir(tmp_path / "cache")
