"""The quiz on the command line: every slip is told before anything is lost."""

import io
import json

import pytest

from whywire.cli.main import main


@pytest.fixture(scope="module")
def quiz(tmp_path_factory):
    out = tmp_path_factory.mktemp("made") / "quiz"
    assert (
        main(
            [
                "quiz",
                "make",
                "--number",
                "2",
                "--seed",
                "4",
                "--room",
                "boxes",
                "--kind",
                "asks",
                "--out",
                str(out),
            ]
        )
        == 0
    )
    return out / "quiz.json"


def take(monkeypatch, quiz, results, answers, *more):
    monkeypatch.setattr(
        "sys.stdin", answers if hasattr(answers, "readline") else io.StringIO(answers)
    )
    return main(["quiz", "take", str(quiz), "--results", str(results), *more])


def test_answers_that_could_not_be_kept_are_not_asked_for(quiz, tmp_path, monkeypatch, capsys):
    for results in (tmp_path / "no" / "such" / "a.json", tmp_path):
        assert take(monkeypatch, quiz, results, "A\nA\n") == 2
        said = capsys.readouterr()
        assert str(results) in said.err and "1." not in said.out
    assert not list(tmp_path.iterdir())


class Interrupted(io.StringIO):
    def readline(self, *a):
        line = super().readline(*a)
        if not line:
            raise KeyboardInterrupt
        return line


def test_broken_off(quiz, tmp_path, monkeypatch, capsys):
    """At the end of input and by Ctrl-C alike; a file is named only where there is one."""
    results = tmp_path / "a.json"
    for answers, code in ((io.StringIO(""), 0), (Interrupted(""), 130)):
        assert take(monkeypatch, quiz, results, answers) == code
        assert "Stopped; nothing was answered." in capsys.readouterr().out and not list(
            tmp_path.iterdir()
        )
    assert take(monkeypatch, quiz, results, Interrupted("A\n")) == 130
    assert (
        f"Stopped; the answers so far are in {results}."
        in " ".join(capsys.readouterr().out.split())
        and len(json.loads(results.read_text())["answers"]) == 1
    )


def test_one_file_keeps_the_answers_of_one(quiz, tmp_path, monkeypatch, capsys):
    results = tmp_path / "a.json"
    assert take(monkeypatch, quiz, results, "A\n", "--name", "first") == 0
    kept = results.read_text()
    assert take(monkeypatch, quiz, results, "A\n", "--name", "second") == 2
    err = capsys.readouterr().err
    assert '"first"' in err and '"second"' in err and results.read_text() == kept
    assert take(monkeypatch, quiz, results, "A\n") == 0
    assert (
        json.loads(results.read_text())["name"] == "first"
        and len(json.loads(results.read_text())["answers"]) == 2
    )


def test_a_class_counts_each_file_once(quiz, tmp_path, monkeypatch, capsys):
    results = tmp_path / "a.json"
    assert take(monkeypatch, quiz, results, "A\nA\n") == 0
    capsys.readouterr()
    assert (
        main(
            [
                "quiz",
                "class",
                str(results),
                f"{tmp_path}/../{tmp_path.name}/a.json",
                "--json",
            ]
        )
        == 0
    )
    assert len(json.loads(capsys.readouterr().out)["learners"]) == 1
    for command in (["class"], ["review"]):
        assert main(["quiz", *command, str(quiz)]) == 2
        assert "quiz.json" in capsys.readouterr().err


def test_a_paper_that_cannot_be_written(quiz, tmp_path, capsys):
    (tmp_path / "file").write_text("mine\n")
    for out in (tmp_path / "file", tmp_path / "file" / "below", tmp_path / ("x" * 300)):
        assert main(["quiz", "make", "--number", "1", "--kind", "asks", "--out", str(out)]) == 2
        assert "cannot be written" in capsys.readouterr().err
    assert [p.name for p in tmp_path.iterdir()] == ["file"] and (
        tmp_path / "file"
    ).read_text() == "mine\n"


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["--place", "nonsense"], 'no pack for "nonsense"'),
        (["--place", "Kestrel Cunty", "--date", "2026-01-01"], 'did you mean "Kestrel County"?'),
        (["--place", "nonsense", "--edition", "2023"], "known here"),
        (["--compare", "2018"], "2017"),
        (["--compare", "Kestrel Cunty", "--date", "2026-01-01"], 'did you mean "Kestrel County"?'),
    ],
)
def test_a_place_there_is_not(args, said, capsys):
    assert main(["quiz", "make", *args]) == 2
    err = capsys.readouterr().err
    assert said in err and "cannot be known" not in err and "no-such-place" not in err
