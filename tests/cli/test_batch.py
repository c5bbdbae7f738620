"""Many jobs at once: each as it would be alone, in their order, and no faulty one stops another."""

import io
import json
import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from whywire.cli import batch, main
from whywire.cli.layout import plain
from whywire.cli.show_batch import show_outcome
from whywire.engine import inspect
from whywire.engine.basics.errors import Fault

KB = Path(__file__).resolve().parents[2] / "kb"
WHYWIRE = [sys.executable, "-m", "whywire.cli.main"]


def kiln(current: str = "40 A", size: str = "6 AWG", **more) -> dict:
    circuit = {
        "volts": "240 V",
        "length": "40 ft",
        "load": {"type": "kiln", "current": current},
        "breaker": {"rating": "50 A"},
        "conductors": {"size": size, "material": "copper"},
    }
    return {"job": "kiln", "edition": "2023", "circuits": {"kiln": circuit}, **more}


def lines(*jobs) -> str:
    return "".join((j if isinstance(j, str) else json.dumps(j)) + "\n" for j in jobs)


def run(monkeypatch, capsys, text: str, *words) -> tuple[int, str, str]:
    monkeypatch.setattr("sys.stdin", io.StringIO(text))
    code = main.main(["inspect", "-", *words])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_each_line_is_as_the_job_alone(monkeypatch, capsys):
    jobs = [kiln(), kiln("44 A"), kiln(size="10 AWG"), kiln("30 A", "8 AWG")]
    code, out, _ = run(monkeypatch, capsys, lines(*jobs), "--json", "--workers", "1")
    got = [json.loads(line) for line in out.splitlines()]
    assert [d["name"] for d in got] == ["line 1", "line 2", "line 3", "line 4"]
    for n, (d, job) in enumerate(zip(got, jobs), 1):
        alone = inspect(job)
        assert d.pop("name") and d.pop("exit") == alone.exit_code
        said = json.dumps(d).replace(f'"-:{n}:1"', '"job:1:1"')  # where it was told
        assert json.loads(said) == json.loads(json.dumps(alone.as_dict()))
    assert code == batch.worst(inspect(j).exit_code for j in jobs)


@pytest.fixture(scope="module")
def many() -> list:
    jobs: list = [kiln(f"{n} A") for n in range(20, 42)]
    jobs[3] = '{"job": 3'
    jobs[7] = kiln("48 mA")
    jobs[12] = "[1, 2]"
    return jobs


def test_two_processes_keep_the_order_and_faulty_jobs_stop_nobody(many, monkeypatch, capsys):
    one = run(monkeypatch, capsys, lines(*many), "--json", "--workers", "1")
    two = run(monkeypatch, capsys, lines(*many), "--json", "--workers", "2")
    assert one == two and two[0] == 2
    got = [json.loads(line) for line in two[1].splitlines()]
    assert [d["name"] for d in got] == [f"line {n}" for n in range(1, 23)]
    assert [n for n, d in enumerate(got) if d["exit"] == 2] == [3, 7, 12]
    assert got[7]["faults"][0]["code"] == "not-usual" and got[7]["faults"][0]["line"] == 8


def killing(monkeypatch) -> None:
    """A job called `killer` takes the process along that inspects it, one called `defect` raises
    what nobody expects.
    """
    real = batch._inspected

    def deadly(name, source, how):
        if b"killer" in source:
            os.kill(os.getpid(), signal.SIGKILL)
        if b"defect" in source:
            raise KeyError("kind")
        return real(name, source, how)

    monkeypatch.setattr(batch, "_inspected", deadly)


def test_a_process_that_dies_takes_one_job_along(monkeypatch, capsys, tmp_path):
    killing(monkeypatch)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    jobs = [kiln(f"{n} A") for n in range(20, 40)]
    jobs[4]["job"], jobs[11]["job"] = "killer", "defect"
    code, out, _ = run(monkeypatch, capsys, lines(*jobs), "--json", "--workers", "2")
    got = [json.loads(line) for line in out.splitlines()]
    assert code == 70 and [n for n, d in enumerate(got) if d["exit"] == 70] == [4, 11]
    assert [d["name"] for d in got] == [f"line {n}" for n in range(1, 21)]
    assert "died" in got[4]["faults"][0]["what"] and "KeyError" in got[11]["faults"][0]["what"]
    reports = [*(tmp_path / "whywire/reports").iterdir()]  # a second where it was begun again
    assert reports and all("KeyError" in r.read_text() for r in reports)
    assert any(str(r) in got[11]["faults"][0]["todo"] for r in reports)


@pytest.mark.parametrize(
    ("codes", "code"),
    [([0, 0], 0), ([0, 3], 3), ([3, 1, 0], 1), ([1, 2], 2), ([2, 70, 1], 70), ([], 0)],
)
def test_the_worst_decides(codes, code):
    assert batch.worst(codes) == code


def test_a_folder(tmp_path, capsys):
    (tmp_path / "below").mkdir()
    (tmp_path / "a.yaml").write_text(json.dumps(kiln()))
    (tmp_path / "below/b.yaml").write_text("job: x\nedition: 2023\ncircuits: {k: {lod: {}}}\n")
    (tmp_path / "c.txt").write_text("no job")
    assert main.main(["inspect", str(tmp_path)]) == 2
    out = capsys.readouterr().out
    assert out.index("a.yaml") < out.index("below/b.yaml") and "c.txt" not in out
    assert "FAULTY" in out and "2 jobs: 1 faulty, 1 " in out and "plain chainer alone" in out
    assert main.main(["inspect", str(tmp_path / "below"), "--json"]) == 2
    (line,) = capsys.readouterr().out.splitlines()
    assert json.loads(line)["faults"][0]["file"].endswith("below/b.yaml")


def test_a_folder_without_a_job(tmp_path, capsys):
    assert main.main(["inspect", str(tmp_path)]) == 2
    assert "no job in this folder" in capsys.readouterr().err


def test_standard_input_without_a_job(monkeypatch, capsys):
    assert run(monkeypatch, capsys, "")[0] == 2


def test_shipped_jobs_are_as_they_are_alone(capsys):
    folder = KB / "jobs/answers"
    code = main.main(["inspect", str(folder), "--json"])
    got = {d["name"]: d for d in map(json.loads, capsys.readouterr().out.splitlines())}
    assert len(got) == len([*folder.glob("*.yaml")]) > 2
    for path in sorted(folder.glob("*.yaml"))[:3]:
        alone = inspect(path)
        assert got[str(path)]["exit"] == alone.exit_code
        assert got[str(path)]["findings"] == [f.as_dict() for f in alone.findings]
    assert code == batch.worst(d["exit"] for d in got.values())


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ('{"job": "x", "job": "y"}', "written-twice"),
        ('{"edition": "2023", "circuits": NaN}', "job-form"),
        ("[" * 3000 + "]" * 3000, "too-deep"),
        # what the reader of JSON takes, and nobody after it
        ('{"job": ' + "[" * 500 + "]" * 500 + "}", "too-deep"),
        ('{"circuits": ' + '{"a": ' * 350 + "1" + "}" * 351, "too-deep"),
        ('"x"', "job-form"),
        ("\x00", "not-text"),
        ('{"edition": "2023", "circuits": {"a": 0.1}}', "describes-none"),
    ],
)
def test_odd_lines(line, code, monkeypatch, capsys):
    got, out, err = run(monkeypatch, capsys, lines(line, kiln()), "--json")
    one, two = map(json.loads, out.splitlines())
    assert got == 2 and one["exit"] == 2 and two["exit"] in (1, 3) and err == ""
    assert all((f["line"], f["code"]) == (1, code) for f in one["faults"]), one


def test_bytes_that_are_no_text():
    p = subprocess.run([*WHYWIRE, "inspect", "-"], input=b'{"job": "\xff"}\n', capture_output=True)
    assert p.returncode == 2 and b"FAULTY" in p.stdout and p.stderr == b""


def test_a_number_is_taken_as_it_is_written(monkeypatch, capsys):
    job = kiln()
    job["circuits"]["kiln"]["load"]["power factor"] = 0.1 + 0.2  # 0.30000000000000004
    text = json.dumps(job).replace("0.30000000000000004", "0.95")
    _, out, _ = run(monkeypatch, capsys, text + "\n", "--json")
    facts = json.loads(out)["facts"]
    assert [f["value"] for f in facts if f["is"] == "power factor"] == ["0.95"]


def test_a_row_names_what_fails_first_and_counts_the_rest():
    o = batch.Outcome("line 1", 1, "Kiln", {"fails": 5}, [(f"rule-{n}", "kiln") for n in range(5)])
    text = plain(show_outcome(o, 40))
    assert "Kiln" in text and "rule-2" in text and "and 2 more" in text and "rule-3" not in text


def test_ctrl_c_ends_all_processes(tmp_path):
    (tmp_path / "jobs").write_text(lines(*[kiln(f"{20 + n % 20} A") for n in range(400)]))
    p = subprocess.Popen(
        [sys.executable, "-c", BROKEN_OFF, "inspect", "-", "--json", "--workers", "2"],
        stdin=(tmp_path / "jobs").open("rb"),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    p.stdout.readline()
    os.killpg(p.pid, signal.SIGINT)
    _, err = p.communicate(timeout=60)
    assert p.returncode == 130 and err == b""
    with pytest.raises(ProcessLookupError):
        os.killpg(p.pid, 0)


BROKEN_OFF = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
from whywire.cli.main import main
sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.parametrize("line", ['{"job": "a kiln', '{"job": "a\tkiln"}', '{"job"'])
def test_what_is_no_json_is_said_in_words(line):
    with pytest.raises(Fault) as found:
        batch.job_of_line(line.encode() + b"\n", "line 1")
    assert re.fullmatch(r"this line is no JSON: [A-Z].*(?<! at) at character \d+", found.value.what)
