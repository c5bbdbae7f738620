"""The code keeps the house's form: how wide, how branched, and what the types say.

The other measures are printed by `python tests/house.py` and judged by nobody but a reader.
"""

from pathlib import Path

import house

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
