"""A class: points by learner and topic, what stands in whose way and what is gone, who needs what
next, and the next paper, on which nobody's name stands.
"""

import json

import pytest

from whywire.cli.main import main
from whywire.engine.running.cache import load
from whywire.engine.teaching.beliefs import read_beliefs
from whywire.engine.teaching.classroom import classroom, needs, next_paper
from whywire.engine.teaching.instances import Maker
from whywire.engine.teaching.models import read_models

K = load()
MAKER = Maker(K, read_beliefs())
MODELS = read_models(K)
LAW = {"edition": "2023", "packs": [], "digest": K.digest}
GROUNDS = "counts-each-ground"
ROOM_FOR_GROUNDS = "room-for-grounds"  # a question which that belief answers wrongly
NM = "size-for-nm-cable"


def answer(model, right, on, beliefs=(), points="", seed=1):
    return {
        "question": f"{model}:{seed}",
        "right": right,
        "on": on,
        **({"points": points} if points else {}),
        "beliefs": list(beliefs),
        "rule": MODELS[model].rule if model in MODELS else "",
        "chosen": "",
        "options": [],
    }


def result(name, *answers):
    return {"quiz": "q", "title": "", "name": name, "law": LAW, "answers": list(answers)}


def of(*results):
    return classroom([(r["name"], r) for r in results], MODELS, MAKER)


def test_the_question_these_tests_rest_on():
    assert GROUNDS in MAKER.relevant(MODELS[ROOM_FOR_GROUNDS])
    assert MODELS[ROOM_FOR_GROUNDS].room == "boxes"


def test_points_by_topic_and_by_week():
    found = of(
        result(
            "Ada",
            answer(ROOM_FOR_GROUNDS, True, "2026-03-01"),  # a Sunday
            answer(ROOM_FOR_GROUNDS, False, "2026-03-02", points="2/3"),
            answer("a-question-that-was", True, "2026-03-08"),
        ),
        result("ben", answer(ROOM_FOR_GROUNDS, False, "2026-03-03", points="0")),
    )
    ada, ben = found.pupils
    assert (ada.topics["boxes"].points, ada.topics["boxes"].asked) == (pytest.approx(5 / 3), 2)
    assert found.topics == ["boxes", "no longer asked"]
    assert [(d.isoformat(), t.asked) for d, t in ada.weeks.items()] == [
        ("2026-02-23", 1),
        ("2026-03-02", 2),
    ]
    assert "no longer asked" not in ben.topics


def test_what_is_answered_rightly_twice_since_is_gone():
    wrong = answer(ROOM_FOR_GROUNDS, False, "2026-03-02", [GROUNDS])
    rights = [answer(ROOM_FOR_GROUNDS, True, f"2026-03-1{n}") for n in (0, 1)]
    assert of(result("Ada", wrong)).in_the_way[0][0] == GROUNDS
    once = of(result("Ada", wrong, rights[0]))
    assert [name for name, _ in once.in_the_way] == [GROUNDS] and not once.gone
    # over two papers, in whichever order they are named
    twice = of(result("Ada", *rights), result("Ada", wrong))
    assert twice.gone == {GROUNDS: ["Ada"]} and not twice.in_the_way
    again = answer(ROOM_FOR_GROUNDS, False, "2026-04-01", [GROUNDS])
    assert of(result("Ada", wrong, *rights, again)).in_the_way[0][1][0][1].times == 2


def test_what_most_hold_comes_first():
    other = next(n for n in MAKER.beliefs if n != GROUNDS)
    found = of(
        result("a", answer(ROOM_FOR_GROUNDS, False, "2026-03-02", [GROUNDS])),
        result("b", answer(ROOM_FOR_GROUNDS, False, "2026-03-02", [GROUNDS])),
        result("c", *[answer(ROOM_FOR_GROUNDS, False, "2026-03-02", [other])] * 5),
    )
    assert [name for name, _ in found.in_the_way] == [GROUNDS, other]


def test_who_needs_what():
    """Beliefs first; then a topic too little was got of, though no belief explains it; and what
    others were asked.
    """
    conductors = next(m.name for m in MODELS.values() if m.room == "conductors")
    found = of(
        result(
            "Ada",
            answer(ROOM_FOR_GROUNDS, False, "2026-03-02", [GROUNDS]),
            answer(conductors, False, "2026-03-02"),
            answer(conductors, False, "2026-03-02"),
        ),
        result("ben", *[answer(ROOM_FOR_GROUNDS, True, "2026-03-02")] * 3),
    )
    first, weak, never = needs(found.pupils[0], found.topics, MAKER)
    assert [held.belief for held in first] == [GROUNDS] and weak == ["conductors"] and not never
    assert needs(found.pupils[1], found.topics, MAKER) == ([], [], ["conductors"])
    # one answer says little
    assert not of(result("Ada", answer(conductors, False, "2026-03-02"))).weak_topics


def test_the_next_paper_asks_what_stands_in_the_way():
    conductors = next(m.name for m in MODELS.values() if m.room == "conductors")
    found = of(
        result(
            "Ada",
            answer(ROOM_FOR_GROUNDS, False, "2026-03-02", [GROUNDS]),
            answer(conductors, False, "2026-03-02"),
            answer(conductors, False, "2026-03-02"),
        )
    )
    quiz = next_paper(found, MAKER, MODELS, LAW, 6, 1, "")
    assert len(quiz.questions) == 6
    offers = [q for q in quiz.questions if any(o.belief == GROUNDS for o in q.options)]
    assert len(offers) >= 3
    assert sum("conductors" in q.model.rooms for q in quiz.questions) >= 1
    asked = {"boxes", "conductors"}
    assert all(q in offers or not q.model.rooms.isdisjoint(asked) for q in quiz.questions)
    names = [q.name for q in quiz.questions]
    assert names == [q.name for q in next_paper(found, MAKER, MODELS, LAW, 6, 1, "").questions]
    assert len({(q.model.name, tuple(q.facts.items())) for q in quiz.questions}) == 6


@pytest.fixture
def files(tmp_path):
    """Ada's answers to two papers, and those of one who gave no name."""
    for name, data in {
        "ada-1": result("Ada Ohm", answer(ROOM_FOR_GROUNDS, False, "2026-03-02", [GROUNDS])),
        "ada-2": result("ada ohm", answer(ROOM_FOR_GROUNDS, False, "2026-03-12", [GROUNDS])),
        "volt": result("", answer(ROOM_FOR_GROUNDS, True, "2026-03-02")),
    }.items():
        (tmp_path / f"{name}.json").write_text(json.dumps(data))
    return [str(path) for path in sorted(tmp_path.glob("*.json"))]


def test_a_class_on_the_screen(files, capsys):
    assert main(["quiz", "class", *files]) == 0
    said = capsys.readouterr().out
    belief = MAKER.beliefs[GROUNDS]
    assert "2 learners, 1 paper, 3 answers" in said
    assert f"“{belief.says}” Ada Ohm (2 answers)" in said and "volt" in said
    assert belief.corrected.split(";")[0] in " ".join(said.split()) and GROUNDS not in said
    assert "[314.16(B)(5)]" in said
    assert "volt: nothing stands out" in said
    assert max(map(len, said.splitlines())) <= 80


def test_nobodys_name_is_on_what_is_given_out(files, tmp_path, capsys):
    out = tmp_path / "next"
    assert main(["quiz", "class", *files, "--next", str(out), "--number", "3"]) == 0
    assert "Ada" in capsys.readouterr().out
    written = [path for path in out.iterdir() if path.is_file()]
    assert len(written) >= 10
    for path in written:
        assert b"Ada" not in path.read_bytes() and b"ohm" not in path.read_bytes(), path
    assert main(["quiz", "class", *files, "--no-names"]) == 0
    said = capsys.readouterr().out
    assert "Learner 01" in said and "Ada" not in said and "volt" not in said


def test_a_class_as_data(files, capsys):
    assert main(["quiz", "class", *files, "--json"]) == 0
    got = json.loads(capsys.readouterr().out)
    ada, volt = got["learners"]
    assert ada["topics"] == {"boxes": {"points": "0", "asked": 2}}
    assert ada["held"] == [{"belief": GROUNDS, "times": 2, "last": "2026-03-12", "right since": 0}]
    assert got["in the way"] == {GROUNDS: ["Ada Ohm"]} and volt["held"] == []


@pytest.mark.parametrize("number", ["0", "101"])
def test_a_next_paper_of_a_number_that_is_not_made(files, tmp_path, number, capsys):
    assert main(["quiz", "class", *files, "--next", str(tmp_path / "n"), "--number", number]) == 2
    assert "--number" in capsys.readouterr().err and not (tmp_path / "n").exists()


def test_what_to_ask_again_is_said_by_topic(files, capsys):
    assert main(["quiz", "review", files[0], "--on", "2026-03-20"]) == 0
    said = capsys.readouterr().out
    assert "Go back to boxes:" in said and "quiz make --room boxes" in said
    assert ROOM_FOR_GROUNDS not in said and "%" not in said
    assert main(["quiz", "review", files[0], "--on", "2026-03-02"]) == 0
    assert "Nothing needs asking again before 2026-03-03." in capsys.readouterr().out
