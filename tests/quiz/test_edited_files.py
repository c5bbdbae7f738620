"""Files of a quiz that somebody edited: told with the place, or read as they are; a traceback
never.
"""

import copy
import io
import json
import random

import pytest

from whywire.cli.main import main

ODD = (
    None,
    3,
    -1.5,
    True,
    "",
    "x",
    [],
    {},
    [[]],
    [{}],
    {"a": 1},
    "9999-12-31",
    "2026-02-30",
    "a:²",
)


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """A quiz of two questions as it was written, and the results of somebody who took it."""
    folder = tmp_path_factory.mktemp("quiz")
    made = ["quiz", "make", "--number", "2", "--seed", "4", "--room", "boxes", "--kind", "asks"]
    assert main([*made, "--out", str(folder / "quiz")]) == 0
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.stdin", io.StringIO("A\nA\n"))
        take = ["quiz", "take", str(folder / "quiz/quiz.json"), "--results", str(folder / "r.json")]
        assert main(take) == 0
    return json.loads((folder / "quiz/quiz.json").read_text()), json.loads(
        (folder / "r.json").read_text()
    )


def spots(data, path=()):
    """Every place in a file."""
    yield path
    items = data.items() if isinstance(data, dict) else ()
    items = enumerate(data) if isinstance(data, list) else items
    for key, value in items:
        yield from spots(value, (*path, key))


def edited(data, path, new, gone: bool):
    """*data* with something else at *path*, or nothing there."""
    if not path:
        return new
    out = copy.deepcopy(data)
    inner = out
    for key in path[:-1]:
        inner = inner[key]
    if gone:
        del inner[path[-1]]
    else:
        inner[path[-1]] = new
    return out


def edits(data, number: int, seed: int):
    rng, places = random.Random(seed), [*spots(data)]
    for _ in range(number):
        yield edited(data, rng.choice(places), rng.choice(ODD), rng.random() < 0.25)


def test_edited_results(files, tmp_path, capsys):
    path, codes = tmp_path / "r.json", []
    for data in edits(files[1], 80, 1):
        path.write_text(json.dumps(data))
        for words in (["class"], ["review"]):
            codes.append(main(["quiz", *words, str(path)]))
            err = capsys.readouterr().err
            assert codes[-1] in (0, 2), (data, err)
            assert codes[-1] == 0 or str(path) in err
    assert 16 < codes.count(2) < 144, "some edits leave a file that can be read, and some do not"


def test_results_taken_up_again_after_an_edit(files, tmp_path, monkeypatch, capsys):
    quiz, path = tmp_path / "quiz.json", tmp_path / "r.json"
    quiz.write_text(json.dumps(files[0]))
    codes = []
    for data in edits(files[1], 40, 2):
        path.write_text(json.dumps(data))
        monkeypatch.setattr("sys.stdin", io.StringIO(""))
        codes.append(main(["quiz", "take", str(quiz), "--results", str(path)]))
        assert codes[-1] in (0, 2), (data, capsys.readouterr().err)
    assert {0, 2} == {*codes}


def test_an_edited_quiz(files, tmp_path, monkeypatch, capsys):
    quiz, codes = tmp_path / "quiz.json", []
    for n, data in enumerate(edits(files[0], 40, 3)):
        quiz.write_text(json.dumps(data))
        monkeypatch.setattr("sys.stdin", io.StringIO("A\n"))
        codes.append(main(["quiz", "take", str(quiz), "--results", str(tmp_path / f"{n}.json")]))
        assert codes[-1] in (0, 2), (data, capsys.readouterr().err)
    assert {0, 2} == {*codes}


@pytest.mark.parametrize(
    ("key", "new", "said"),
    [
        ("right", "yes", '"right" is not true or false'),
        ("on", "yesterday", '"on" is not a day'),
        ("on", "9999-12-31", '"on" is not a day'),
        ("question", 3, '"question" is not a question'),
        ("beliefs", {"a": 1}, '"beliefs" is not a list'),
    ],
)
def test_what_is_wrong_is_told_with_its_place(files, tmp_path, capsys, key, new, said):
    data = copy.deepcopy(files[1])
    data["answers"][1][key] = new
    (tmp_path / "r.json").write_text(json.dumps(data))
    assert main(["quiz", "review", str(tmp_path / "r.json")]) == 2
    err = capsys.readouterr().err
    assert f'"answers" 2, {said}' in err and "as it wrote it" in err


def test_a_question_is_called_by_plain_digits(capsys):
    assert main(["quiz", "diagnose", "box-fill:²", "A"]) == 2
    assert main(["quiz", "diagnose", "carriers-of-a-circuit:" + "9" * 5000, "A"]) == 2
