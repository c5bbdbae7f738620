"""The code keeps the house's form: how wide it is, how branched, and that it is typed.

The other measures are printed by `python tests/house.py` and judged by nobody but a reader.
"""

from pathlib import Path

import house
import pytest
import typed

ROOT = Path(__file__).resolve().parents[1]


def test_no_line_is_wider_than_a_hundred_columns():
    paths = [*house.modules(), *sorted((ROOT / "tests").rglob("*.py"))]
    assert len(paths) > 200
    assert house.wide_lines(paths) == []


def test_a_wide_line_is_seen(tmp_path, monkeypatch):
    monkeypatch.setattr(house, "ROOT", tmp_path)
    path = tmp_path / "wide.py"
    path.write_text('x = 1\ny = "' + "y" * 100 + '"\nz = """\n' + "z" * 200 + '\n"""\n')
    assert house.wide_lines([path]) == ["wide.py:2"]


def test_few_functions_branch_much():
    every = house.functions(house.modules())
    assert len(every) > 1000
    over = [f for f in every if f.complexity > 15]
    assert len(over) <= len(every) * 4 // 100, sorted(map(str, over))
    assert [str(f) for f in over if f.complexity > 25] == []


def test_each_branch_is_counted(tmp_path):
    path = tmp_path / "branches.py"
    path.write_text(
        "def f(x):\n    for y in x:\n        if y and x:\n            return [z for z in x if z]\n"
    )
    assert [f.complexity for f in house.functions([path])] == [6]


def test_mypy_finds_nothing():
    pytest.importorskip("mypy", reason="it comes with the extra: style")
    assert typed.found() == []


def test_what_has_no_type_is_found(tmp_path):
    pytest.importorskip("mypy", reason="it comes with the extra: style")
    (tmp_path / "engine").mkdir()
    (tmp_path / "engine" / "one.py").write_text("def half(x):\n    return x / 2\n")
    (said,) = typed.found("probe", (tmp_path / "engine",))
    assert said.replace("\\", "/").startswith(
        "engine/one.py:1: error: Function is missing a type annotation"
    )
