"""Bad input: every slip is told with its place, what is wrong and what to do. Each file here is one slip, and the
`.txt` beside it the exact message. WHYWIRE_UPDATE=1 writes the messages anew: read the diff.

Jobs are read against the whole base; packs are laid beside a base small enough to load at once (kb/).
"""

import os
import resource
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from whywire.engine import knowledge as kn
from whywire.engine import load
from whywire.engine.errors import Fault, Faults
from whywire.engine.examples import run_examples
from whywire.engine.job import read_job

HERE = Path(__file__).resolve().parent
JOBS = sorted((HERE / "jobs").glob("*.yaml"))
PACKS = sorted((HERE / "packs").glob("*.yaml"))


def compare(path: Path, faults: Faults, here: str) -> None:
    said = "".join(f"{f.code} {f}\n" for f in faults.items).replace(here, "")
    txt = path.with_suffix(".txt")
    if os.environ.get("WHYWIRE_UPDATE"):
        txt.write_text(said)
    assert said == txt.read_text()
    for f in faults.items:
        assert f.todo, f"{path.name}: {f.code} does not say what to do"


@pytest.mark.parametrize("path", JOBS, ids=lambda p: p.stem)
def test_a_broken_job(path):
    with pytest.raises(Faults) as caught:
        read_job(path, load(), path.name)
    compare(path, caught.value, "")


@pytest.mark.parametrize("path", PACKS, ids=lambda p: p.stem)
def test_a_broken_pack(path, tmp_path, monkeypatch):
    monkeypatch.setattr(kn, "KB", HERE / "kb")
    monkeypatch.chdir(tmp_path)
    pack = tmp_path / "pack"
    pack.mkdir()
    if path.stem != "pack-key":
        (pack / "pack.yaml").write_text("pack: mine\n")
    shutil.copy(path, pack / "trial.yaml")
    if path.with_suffix(".csv").exists():
        shutil.copy(path.with_suffix(".csv"), pack / "trial.csv")
    with pytest.raises(Faults) as caught:
        k = kn.load((pack,), "2023")
        run_examples(k)[1].stop()
    compare(path, caught.value, f"{tmp_path}/")


def test_there_are_at_least_sixty_sorts_of_faults():
    codes = {line.split(" ", 1)[0] for p in HERE.glob("*/*.txt") for line in p.read_text().splitlines() if line and not line.startswith(" ")}
    assert len(codes) >= 60, len(codes)


def test_the_small_base_is_sound(monkeypatch):
    monkeypatch.setattr(kn, "KB", HERE / "kb")
    assert len(kn.load((), "2023").rules) == 2


def test_a_pack_that_is_a_link_to_elsewhere_is_not_read(tmp_path, monkeypatch):
    monkeypatch.setattr(kn, "KB", HERE / "kb")
    (tmp_path / "secret.csv").write_text("size,ampacity\n14 AWG,15\n")
    pack = tmp_path / "pack"
    pack.mkdir()
    (pack / "pack.yaml").write_text("pack: mine\n")
    (pack / "trial.yaml").write_text("- table: trial\n  says: x\n  practice: made up\n  file: trial.csv\n  keys: {size: exact}\n  values: {ampacity: A}\n")
    (pack / "trial.csv").symlink_to(tmp_path / "secret.csv")
    with pytest.raises(Faults, match="link to elsewhere"):
        kn.load((pack,), "2023")
    with pytest.raises(Faults, match="no such folder"):
        kn.load((tmp_path / "none",), "2023")


def ask(path: str) -> subprocess.CompletedProcess:
    """`whywire inspect` in a process of its own, with 300 MB and two seconds of processor."""
    def limits():
        resource.setrlimit(resource.RLIMIT_AS, (300_000_000, 300_000_000))

    return subprocess.run([sys.executable, "-m", "whywire.cli.main", "inspect", path, "--chainer", "plain"], capture_output=True, text=True, timeout=60, preexec_fn=limits, stdin=subprocess.DEVNULL)


@pytest.mark.parametrize("make", ["big", "folder", "fifo", "device", "missing", "deep", "bomb"])
def test_what_is_no_job_is_told_at_once(make, tmp_path):
    path = tmp_path / "job.yaml"
    if make == "big":
        path.write_text("job: x\n" * 7_000_000)
    elif make == "folder":
        path.mkdir()
    elif make == "fifo":
        os.mkfifo(path)
    elif make == "device":
        path = Path("/dev/zero")
    elif make == "deep":
        path.write_text("job: " + "[" * 100_000)
    elif make == "bomb":
        path.write_text((HERE / "jobs" / "too-many-pieces.yaml").read_text())
    p = ask(str(path))
    assert p.returncode == 2 and "Traceback" not in p.stderr and f"{path}:" in p.stderr, p.stderr[-500:]
    assert len(p.stderr) < 2000


@pytest.mark.parametrize("name", ["ungrounded", "ground"])
def test_opposites_are_never_offered_for_each_other(name):
    from whywire.engine.errors import suggest

    assert "did you mean" not in suggest("ungrounded", ["ground", "grounded"]) and isinstance(Fault("x", kn.Place(), name), Fault)
