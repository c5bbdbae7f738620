"""A key for which a table has no row is worked and cited like any other, on every table that rules
read.
"""

import functools

import pytest

from whywire.engine import inspect
from whywire.engine.answering.working import Working
from whywire.engine.checking.examples import Stub, each
from whywire.engine.language import expressions as ex
from whywire.engine.language.words import as_list
from whywire.engine.law.library import load
from whywire.engine.running.chain import World

PIPES = [
    ("EMT", "3/8", "358.30"),
    ("RMC", "3/8", "344.30"),
    ("PVC 40", "3/8", "Table 352.30"),
    ("LFNC", "4", "356.30"),
]


@functools.cache
def knowledge():
    return load((), "2023")


def off_the_table(e: ex.Look) -> list[tuple]:
    """(a value off its table, or None for not known; the look-up with a key that is so)."""
    out = []
    for key, by in e.keys:
        here = [row[key] for row in e.table.rows]
        some = [max(here) * 10 + 1, min(here) / 2 - 1] if by.t[0] == "q" else ["no such row"]
        for v in (*some, None):
            keys = [(n, ex.Word_(by.t, v) if n == key else old) for n, old in e.keys]
            out.append((v, ex.Look(e.t, e.table, e.column, keys, e.where)))
    return out


def test_what_is_off_a_table_is_worked_and_cited():
    k = knowledge()
    w = World.__new__(World)
    w.k, w.fired, w.things = k, 0, {}
    read, off = set(), set()
    for r in k.rules.values():
        things = [
            Stub(k).thing(r.about, given)
            for d in as_list(r.d.get("examples"))[:6]
            for given in each(d["given"])
        ]
        for e in {id(e): e for top in r.exprs() for e in ex.walk(top)}.values():
            if not isinstance(e, ex.Look):
                continue
            read.add(e.table.id)
            for v, look in off_the_table(e):
                if any(isinstance(by, ex.Path) and by.member for _, by in look.keys):
                    continue  # read on the members of a list
                for x in things:
                    rows = look.rows(x, None)
                    if v is not None and rows is not None and not any(rows):
                        off.add(e.table.id)
                    work = Working(w)
                    section = work.cell_section(look, x)
                    assert section or not k.section(e.table.id), (r.id, e.table.id, v)
                    work.work(look, x)
                    look.ev(x, None)
    assert len(read) > 40
    assert not read - off


@pytest.mark.parametrize("method, size, section", PIPES)
def test_a_size_the_table_of_supports_does_not_have(method, size, section):
    """Found by reading: a pipe in a trade size that its row has not ended in a traceback."""
    job = {
        "job": "a run of pipe to a pump",
        "edition": "2023",
        "circuits": {
            "pump": {
                "segments": [
                    {
                        "method": method,
                        "trade size": size,
                        "support spacing": "8 ft",
                        "place": "garage",
                        "laid": "on the surface",
                    }
                ]
            }
        },
    }
    got = inspect(job).why("pump segment 1", "raceway-support-spacing")
    assert got.word == "CAN'T TELL."
    assert [row.source for row in got.rows if row.label == "Most"] == [section]
