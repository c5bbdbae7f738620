"""A kind of question is one file: what is known of it stands there and nowhere else."""

import ast
from pathlib import Path

import pytest
from named import asks_by_name

from whywire.engine.teaching.kinds.kind import Kind
from whywire.engine.teaching.kinds.registry import EVERY, KINDS

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "engine" / "teaching" / "kinds"
SHARED = {"__init__", "kind", "valued", "registry"}


def test_each_file_of_the_folder_is_one_kind():
    homes = [type(kind).__module__.rsplit(".", 1)[1] for kind in EVERY]
    assert sorted(homes) == sorted(p.stem for p in FOLDER.glob("*.py") if p.stem not in SHARED)
    assert homes == [kind.name for kind in EVERY] and len(KINDS) == len(EVERY)


@pytest.mark.parametrize("kind", EVERY, ids=lambda kind: kind.name)
def test_a_kind_says_all_that_is_asked_of_it(kind):
    mine = type(kind)
    assert mine.make is not Kind.make and mine.__doc__
    # what is concluded of it, or what mends it: one of the two is its own
    assert mine.concluded is not Kind.concluded or mine.concludes is not Kind.concludes
    assert not (kind.picks_several and kind.is_ordered)
    # readings are told apart by what one value, or one rule, comes to
    assert kind.asks_what_is_open or mine.concluded is not Kind.concluded


def test_nobody_else_asks_which_kind_a_question_is():
    paths = [*ROOT.glob("engine/teaching/*.py"), *ROOT.glob("cli/*.py")]
    asking = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in paths
        for node in ast.walk(ast.parse(path.read_text()))
        if asks_by_name(node, "kind", {*KINDS})
    ]
    assert asking == []
