"""Whatever happens inside or outside, a person reads a line and what to do: no traceback, and an
exit code that says it.
"""

import json
import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from whywire.cli import commands, main, wall

ROOT = Path(__file__).resolve().parents[2]
KILN = str(ROOT / "kb/jobs/kiln.yaml")
WHYWIRE = [sys.executable, "-m", "whywire.cli.main"]


@pytest.fixture
def state(tmp_path, monkeypatch):
    """A home of one's own, in which a report lands."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("WHYWIRE_CACHE", "off")
    return tmp_path / "state/whywire/reports"


def raising(monkeypatch, e: BaseException) -> None:
    def fails(*a, **how):
        raise e

    monkeypatch.setattr(commands, "inspection", fails)


# ---- a defect of ours


def test_a_defect_is_one_line_a_report_and_what_to_do(state, monkeypatch, capsys):
    raising(monkeypatch, KeyError(f"kind of {Path.home()}/jobs"))
    assert main.main(["why", KILN, "kiln"]) == 70
    said = capsys.readouterr()
    assert said.out == "" and said.err.count("\n") == 1 and "Traceback" not in said.err
    (report,) = state.iterdir()
    assert str(report) in said.err and "report it" in said.err
    text = report.read_text()
    assert "Traceback" in text and "KeyError" in text and "'why'" in text and "Python 3" in text
    assert str(Path.home()) not in text, "whose home it is nobody needs to know"
    assert report.stat().st_mode & 0o777 == 0o600 and state.stat().st_mode & 0o777 == 0o700


def test_no_report_is_written_over(state, monkeypatch, capsys):
    raising(monkeypatch, ZeroDivisionError("x"))
    for n in range(1, 4):
        assert main.main(["inspect", KILN]) == 70
        assert len([*state.iterdir()]) == n


def test_a_report_goes_into_no_folder_that_others_may_write_to(state, monkeypatch, capsys):
    state.mkdir(parents=True)
    state.chmod(0o777)
    raising(monkeypatch, ZeroDivisionError("x"))
    assert main.main(["inspect", KILN]) == 70
    assert not [*state.iterdir()]
    path = re.search(r"A report is in (\S+\.txt)", capsys.readouterr().err)[1]
    assert Path(path).parent.stat().st_mode & 0o777 == 0o700
    Path(path).unlink()
    Path(path).parent.rmdir()


def test_where_no_report_can_be_kept_it_is_printed(state, monkeypatch, capsys):
    monkeypatch.setenv("XDG_STATE_HOME", "/dev/null/state")
    monkeypatch.setattr("tempfile.mkdtemp", lambda **how: "/dev/null/none")
    raising(monkeypatch, ZeroDivisionError("x"))
    assert main.main(["inspect", KILN]) == 70
    err = capsys.readouterr().err
    assert "no report could be kept" in err and "ZeroDivisionError" in err


def test_the_line_of_a_defect_says_nothing_to_the_terminal(state, monkeypatch, capsys):
    raising(monkeypatch, ValueError("\x1b[2J\nsecond line\x9b"))
    assert main.main(["inspect", KILN]) == 70
    err = capsys.readouterr().err
    assert "\x1b" not in err and "\x9b" not in err and err.count("\n") == 1


# ---- whatever the locale


@pytest.mark.parametrize("encoding", ["ascii", "cp437", "cp1252", "utf-16"])
@pytest.mark.parametrize("words", [["why", KILN, "kiln"], ["inspect", KILN, "--json"]])
def test_output_is_utf8(encoding, words):
    plain, other = (
        subprocess.run(
            [*WHYWIRE, *words], capture_output=True, env={**os.environ, "PYTHONIOENCODING": e}
        )
        for e in ("utf-8", encoding)
    )
    assert plain.stdout == other.stdout and plain.stderr == other.stderr
    assert plain.returncode == other.returncode in (0, 1)
    assert "×" in plain.stdout.decode() or "°" in plain.stdout.decode()


def test_what_no_utf8_can_say_is_an_escape_that_json_reads_back(tmp_path):
    path = os.fsencode(tmp_path) + b"/kiln-\xff.yaml"
    p = subprocess.run(
        [*map(os.fsencode, WHYWIRE), b"inspect", path, b"--json"], capture_output=True
    )
    assert p.returncode == 2 and b"Traceback" not in p.stderr
    assert json.loads(p.stdout)["faults"][0]["file"] == os.fsdecode(path)


# ---- broken off


@pytest.mark.parametrize(
    "words",
    [
        ["inspect", KILN],
        ["why", KILN, "kiln"],
        ["compare", KILN, "--under", "2017"],
        ["check"],
        ["rules", "kiln"],
        ["packs"],
        ["quiz", "make"],
        ["schema", "job"],
    ],
    ids=lambda words: words[0],
)
def test_ctrl_c_is_130_everywhere(words, monkeypatch, capsys):
    def broken(a):
        raise KeyboardInterrupt

    monkeypatch.setattr(main, "_" + words[0], broken)
    assert main.main(words) == 130
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(
    "words", [["check"], ["compare", str(ROOT / "kb/jobs"), "--under", "2017"]]
)
def test_ctrl_c_in_the_midst_of_it(words):
    p = subprocess.Popen(
        # A shell may have told its children to let the signal pass; a person's does not.
        [sys.executable, "-c", RUN, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert p.stdout.readline() == "ready\n"
    p.send_signal(signal.SIGINT)
    _, err = p.communicate(timeout=60)
    assert p.returncode == 130 and err == ""


RUN = """
import signal, sys, threading
signal.signal(signal.SIGINT, signal.default_int_handler)
from whywire.cli import main, commands
real = main._check, main._compare
def test_ctrl_c_is_130_while_modules_are_read(monkeypatch):
    class Unread(types.ModuleType):
        def __getattr__(self, name):
            raise KeyboardInterrupt

    monkeypatch.setitem(sys.modules, "whywire.cli.main", Unread("main"))
    assert start() == 130


def ready(a, real):
    print("ready", flush=True)
    return real(a)
main._check, main._compare = (lambda a, f=f: ready(a, f) for f in real)
sys.exit(main.main(sys.argv[1:]))
"""


# ---- nowhere to write to


@pytest.mark.parametrize("words", [["why", KILN, "kiln"], ["inspect", KILN, "--json"], ["--help"]])
@pytest.mark.parametrize(
    ("where", "said"), [(">&-", "nowhere to write"), (">/dev/full", "cannot be written")]
)
def test_what_cannot_be_said_is_told(words, where, said):
    p = subprocess.run(
        ["sh", "-c", f'exec "$@" {where}', "sh", *WHYWIRE, *words], capture_output=True, text=True
    )
    assert p.returncode == 74, p.stderr
    assert said in p.stderr and p.stderr.count("\n") == 1 and "Traceback" not in p.stderr


def test_with_nothing_open_it_ends_quietly():
    p = subprocess.run(["sh", "-c", 'exec "$@" <&- >&- 2>&-', "sh", *WHYWIRE, "why", KILN])
    assert p.returncode == 74


def test_whoever_reads_may_stop():
    p = subprocess.run(
        ["bash", "-c", 'set -o pipefail; "$@" | true', "sh", *WHYWIRE, "inspect", KILN, "--json"],
        capture_output=True,
        text=True,
    )
    assert p.stderr == "" and p.returncode in (0, 1)


# ---- what would act on a terminal


def test_json_escapes_what_a_terminal_obeys():
    said = ["\x9b2J", "\u202egnol", "\x7f", "°"]
    text = wall.json_text(said)
    assert json.loads(text) == said
    assert all(c.isprintable() or c == "\n" for c in text) and "°" in text


@pytest.mark.parametrize(
    "words", [["inspect", KILN, "\x1b[2J"], ["\x1b[2J"], ["why", "\x1b]0;x\x07.yaml"]]
)
def test_no_error_lets_an_escape_through(words, capsys):
    try:
        code = main.main(words)
    except SystemExit as e:
        code = e.code
    said = capsys.readouterr()
    assert code == 2 and not re.search("[\x1b\x07\x9b]", said.out + said.err)


def test_the_cache_that_cannot_be_had_is_told(tmp_path):
    (tmp_path / "file").write_text("mine")
    open_to_all = tmp_path / "open"
    open_to_all.mkdir()
    open_to_all.chmod(0o777)
    for cache, said in (
        (tmp_path / "file", "cannot be had"),
        (tmp_path / "file/below", "cannot be had"),
        (open_to_all, "others may write there"),
    ):
        p = subprocess.run(
            [*WHYWIRE, "why", KILN, "kiln"],
            capture_output=True,
            text=True,
            env={**os.environ, "WHYWIRE_CACHE": str(cache)},
        )
        assert p.returncode == 0 and p.stdout.startswith("NO."), p.stderr
        assert said in p.stderr and p.stderr.count("\n") == 1
    assert not [*open_to_all.iterdir()]
