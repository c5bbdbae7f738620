"""A headline that says RIGHT IF names what decides, in words that a person on the job has: two of
it, and how many more.
"""

from __future__ import annotations

import re

import pytest
from noted_jobs import noted
from test_what_is_built import BENCH, job

from whywire.engine import inspect
from whywire.engine.answering.note import MOST_DECIDING, note_of
from whywire.engine.answering.standing import RIGHT_IF

pytestmark = pytest.mark.sweep
MORE = re.compile(r"(?:^| and )(\d+) more check")


def test_it_names_two_things_and_how_many_more():
    seen = 0
    for name, _, note in noted():
        if note.headline != RIGHT_IF or not note.questions:
            continue
        seen += 1
        assert not re.search(r"what is (left|open)|the rest check", note.what), (name, note.what)
        count = len(note.questions) + note.more_questions
        more = MORE.search(note.what)
        if count > MOST_DECIDING + 1:
            # each is counted once: by its name, or among the others; what several of one name ask
            # for is one
            assert more and 1 <= int(more[1]) <= count - 1, (name, note.what, count)
        else:
            assert not more or int(more[1]) < count, (name, note.what)
    assert seen >= len(noted()) // 30


def test_a_word_that_is_asked_for_often_has_a_name_of_its_own():
    """Else a headline would say `the outlet at`."""
    kinds = inspect(job()).k.words.kinds
    for kind, fact in [
        ("circuit", "outlet at"),
        ("job", "building"),
        ("load", "exact appliance"),
        ("circuit", "rooms"),
        ("circuit", "more than one receptacle"),
        ("load", "connection"),
    ]:
        assert kinds[kind].words[fact].called


def test_one_thing_and_two():
    bare = {key: value for key, value in BENCH["receptacle"].items() if key != "places"}
    note = note_of(inspect(job(receptacle=bare)))
    one = note.what
    assert one.startswith("the place of the outlet") and "more" not in one, one
    without = job(receptacle=bare)
    del without["building"]
    two = note_of(inspect(without)).what
    assert "the place of the outlet" in two or "the kind of building" in two, two
