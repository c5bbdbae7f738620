"""A verb of an edit is one file: what is known of it stands there and nowhere else."""

import ast
from pathlib import Path

import pytest
from named import asks_by_name

from whywire.engine.law.verbs.registry import EVERY, OTHER_VERBS, VERBS
from whywire.engine.law.verbs.verb import Verb

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "engine" / "law" / "verbs"


def test_each_file_of_the_folder_is_one_verb():
    shared = {"__init__", "verb", "registry"}
    homes = [type(verb).__module__.rsplit(".", 1)[1] for verb in EVERY]
    assert sorted(homes) == sorted(p.stem for p in FOLDER.glob("*.py") if p.stem not in shared)
    assert len(VERBS) == len(EVERY)


@pytest.mark.parametrize("verb", EVERY, ids=lambda verb: verb.name)
def test_a_verb_says_all_that_is_asked_of_it(verb):
    assert verb.third and verb.past and verb.about.endswith(".")
    assert type(verb).carry_out is not Verb.carry_out
    assert {key for way in verb.ways for key in way} <= {*verb.takes}
    assert set(verb.may_name or verb.targets) <= {"rule", "value", "table", "fact", "section"}
    assert verb.makes_anew != bool(verb.targets)
    # what has a key that it needs says what to write where that is missing
    assert verb.form or not verb.ways


def test_no_word_of_a_clerk_is_a_verb_itself_or_means_two():
    words = [word for verb in EVERY for word in verb.also_written]
    assert len(words) == len(OTHER_VERBS) and not {*words} & {*VERBS}


def test_nobody_else_asks_which_verb_an_edit_has():
    asking = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in [*ROOT.glob("engine/**/*.py"), *ROOT.glob("cli/*.py")]
        if path.parent != FOLDER
        for node in ast.walk(ast.parse(path.read_text()))
        if asks_by_name(node, "verb", {*VERBS})
    ]
    assert asking == []
