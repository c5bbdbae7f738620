"""Where durable-rules is not installed the plain chainer serves alone, and says so."""

import tomllib
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine import inspect
from whywire.engine.basics.errors import Faults
from whywire.engine.running import durable

ROOT = Path(__file__).resolve().parents[2]
KILN = str(ROOT / "kb/jobs/kiln.yaml")


@pytest.fixture
def missing(monkeypatch):
    def library():
        raise ImportError("No module named 'durable_rules_engine'")

    monkeypatch.setattr(durable, "_library", library)


def test_an_inspection_says_who_chained_it(missing, capsys):
    assert main(["inspect", "--all", KILN]) == 1
    assert "Chained by the plain chainer alone." in " ".join(capsys.readouterr().out.split())
    assert main(["why", KILN, "kiln"]) == 0


@pytest.mark.parametrize("words", [["inspect", KILN], ["why", KILN, "kiln"]])
def test_who_asks_for_both_is_told_what_to_do(missing, words, capsys):
    assert main([*words, "--chainer", "both"]) == 2
    err = capsys.readouterr().err
    assert "durable-rules does not import here" in err and "extra named second" in err


def test_a_program_is_told_too(missing):
    with pytest.raises(Faults, match="nothing can be chained twice"):
        inspect(KILN, chainer="both")


def test_no_install_asks_for_a_compiler():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert not [d for d in project["dependencies"] if "durable" in d]
    (second,) = project["optional-dependencies"]["second"]
    assert second.startswith("durable-rules==")
    assert not [d for d in project["optional-dependencies"]["test"] if "durable" in d]


def test_the_sdist_names_every_folder_of_the_repository():
    said = (ROOT / ".ci/sdist.in").read_text()
    folders = {p.name for p in ROOT.iterdir() if p.is_dir() and not p.name.startswith(".")}
    ours = folders - {"build", "dist"} - {n for n in folders if n.endswith(".egg-info")}
    assert ours == {"kb", "engine", "cli", "tests"}
    assert all(f"graft {name}" in said.splitlines() for name in [*ours, ".ci"])
