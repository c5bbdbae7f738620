"""Quizzes: every key is the engine's answer, every wrong option is what its belief makes, and nobody's luck shows in the order."""

import datetime
import io
import json
import os
import random
import zipfile

import pytest

from whywire.cli.main import main
from whywire.engine.beliefs import held, read_beliefs
from whywire.engine.cache import load
from whywire.engine.chain import FAILS, OFF, PASSES, SET_ASIDE, World
from whywire.engine.diagnosis import Learner, diagnose, of_class, same, typed
from whywire.engine.errors import Fault
from whywire.engine.job import read_job
from whywire.engine.models import Maker, Trial, filled, read_models, text_of
from whywire.engine.papers import markdown, page
from whywire.engine.practice import Card
from whywire.engine.qti import package, read_back
from whywire.engine.quiz import make, right

MANY = int(os.environ.get("WHYWIRE_QUIZ", 0))    # instances of the long comparison: 20000 before a release
K = load()
BELIEFS = read_beliefs()
MODELS = read_models(K)
MAKER = Maker(K, BELIEFS)
LAW = {"edition": "2023", "packs": [], "digest": K.digest}
VALUED = [m for m in MODELS.values() if m.kind in ("asks", "judges")]


def anew(k, m, body):
    """What is asked, from the whole job run in full: no cone, no cell put back."""
    w = World(k, read_job(body, k, "anew")).run()
    if "asks" in m.d:
        fact, _, thing = str(m.d["asks"]).partition(" of ")
        x = w.things[thing.strip()]
        return x[k.words.kinds[x[0].kind].words[fact.strip()].slot]
    rule, _, thing = str(m.d["judges"]).partition(" on ")
    a = w.answer(k.rules[rule.strip()], w.things[thing.strip()])
    return PASSES if a == SET_ASIDE or a == OFF and k is not K else a


def instances(per_model: int):
    for m in MODELS.values():
        if m.kind == "under":
            continue
        for seed in range(1, per_model + 1):
            if (q := MAKER.instance(m, seed)) is not None:
                yield q


@pytest.mark.parametrize("name", sorted(MODELS))
def test_a_model_makes_questions(name):
    m = MODELS[name]
    maker = Maker(K, BELIEFS, load((), "2017")) if m.kind == "under" else MAKER
    made = [q for q in (maker.instance(m, s) for s in range(1, 9)) if q is not None]
    assert len(made) >= 4, f"{name}: only {len(made)} of 8 seeds give a question"
    for q in made:
        assert "{" not in q.stem
        texts = [o.text for o in q.options]
        assert len(set(texts)) == len(texts) and 2 <= len(texts) <= 5
        if m.kind not in ("findings", "order"):
            assert len(right(q)) == 1


@pytest.mark.parametrize("m", VALUED, ids=lambda m: m.name)
def test_keys_and_wrong_options_come_of_the_whole_engine(m):
    for seed in range(1, 1 + max(5, MANY // len(VALUED))):
        q = MAKER.instance(m, seed)
        if q is None:
            continue
        assert same(q, anew(K, m, q.body), q.key.value), q.name
        for o in q.options:
            if o.belief:
                k = held(K, BELIEFS[o.belief])
                assert same(q, anew(k, m, q.body), o.value), (q.name, o.belief)
                assert not same(q, o.value, q.key.value)
        values = [o.value for o in q.options]
        if not isinstance(values[0], (str, bool)):
            assert values == sorted(values)
            assert len({len(o.text.split(" ")[0].partition(".")[2]) for o in q.options}) == 1   # the same digits


def test_the_same_seed_gives_the_same_bytes():
    def one():
        maker = Maker(K, read_beliefs())
        quiz = make(maker, read_models(K), 8, 11, LAW)
        return [*markdown(maker, quiz), page(maker, quiz), package(quiz, "2.1"), package(quiz, "3.0")]
    assert one() == one()


def test_the_place_of_the_key_is_nobodys_clue():
    """Chi-square over the places of the key where it was free, against evenly many: p > 0.01 (critical value 11.34, 3 degrees of freedom)."""
    counts = [0] * 4
    n = max(60, MANY // 2)
    for s in range(n // 20):
        quiz = make(MAKER, MODELS, 20, 1000 + s, LAW, kinds=("asks", "governs", "mends", "missing"))
        for q in quiz.questions:
            counts[q.position] += 1
    total = sum(counts)
    chi = sum((c - total / 4) ** 2 / (total / 4) for c in counts)
    assert chi < 11.34, counts


def test_every_paper_says_what_it_rests_on():
    quiz = make(MAKER, MODELS, 5, 2, LAW)
    for text in (*markdown(MAKER, quiz), page(MAKER, quiz)):
        assert "NEC 2023" in text and K.digest in text and "approves nothing" in text and "tested dead" in text
    with zipfile.ZipFile(io.BytesIO(package(quiz))) as z:
        assert "NEC 2023" in z.read("test.xml").decode() and "approves nothing" in z.read("test.xml").decode()


@pytest.mark.parametrize("version", ["2.1", "3.0"])
def test_a_package_reads_back_equal(version):
    quiz = make(MAKER, MODELS, 15, 5, LAW)
    got = read_back(package(quiz, version))
    assert [(g["question"], g["stem"], g["options"]) for g in got] == [(q.name, q.stem, [o.text for o in q.options]) for q in quiz.questions]
    for g, q in zip(got, quiz.questions):
        assert g["right"] == ([q.options.index(next(o for o in q.options if o.value == v)) for v in q.key.value] if q.model.kind == "order" else right(q))


# ---- beliefs --------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("edition", ["2017", "2020", "2023"])
def test_beliefs_can_be_held_under_every_edition(edition):
    k = load((), edition)
    assert len(BELIEFS) >= 50
    for b in BELIEFS.values():
        assert b.offends in k.rules or b.offends in k.absent, b.name
        if all(e.target in k.rules or e.target in k.values or e.target in k.tables for e in b.edits):
            assert held(k, b).digest != k.digest


def test_a_belief_bears_no_section():
    for b in BELIEFS.values():
        k = held(K, b)
        for e in b.edits:
            if e.target in k.rules:
                assert k.section(e.target).startswith(f"belief {b.name}"), b.name


def test_a_wrong_number_is_diagnosed():
    q = MAKER.instance(MODELS["drop-in-volts"], 3)
    for o in q.options:
        found = diagnose(MAKER, q, o.value)
        assert (found == []) if not o.belief else ((o.belief,) in found)
    assert diagnose(MAKER, q, typed(q, "77 V")) == []
    assert typed(q, q.key.text) is not None and same(q, typed(q, q.key.text), q.key.value)
    with pytest.raises(Fault):
        typed(q, "eleven")


def test_simulated_learners_are_found_out():
    """Learners who hold one belief, and slip in one answer of ten: named within twelve questions, nine times of ten."""
    useful = sorted({str(n) for m in VALUED for n in m.d.get("beliefs", []) if str(n) in BELIEFS})
    rng, named, n = random.Random(4), 0, max(10, MANY // 500)
    for i in range(n):
        belief = rng.choice(useful)
        learner = Learner(MAKER)
        todo = [m for m in VALUED if belief in MAKER.relevant(m)]   # a quiz on what the learner has just been taught
        for _ in range(12):
            q = learner.next(VALUED, rng) or MAKER.instance(rng.choice(todo), rng.randrange(10**6))
            if q is None:
                continue
            v = MAKER.value(q.model, Trial(K, q.body), MAKER.held(belief))[0]
            if rng.random() < 0.1:
                v = rng.choice(q.options).value
            learner.saw(q, q.key.value if v is None else v)
        named += belief in learner.named(2)
    assert named >= 0.9 * n, f"{named} of {n}"


def test_a_class_is_read():
    results = [{"answers": [{"question": "q:1", "chosen": "A" if i else "B", "right": bool(i), "rule": "r", "beliefs": [] if i else ["b"], "options": ["A", "B", "C"]}]} for i in range(25)]
    got = of_class(results)
    assert got["beliefs"] == [("b", 1)] and got["hardly chosen"] == {"q:1": ["B", "C"]} and got["nobody right"] == []
    assert got["difficulty"]["q:1"] == {"wrong": 1, "of": 25, "share": 0.04, "rests on": "25 answers"}


# ---- practice --------------------------------------------------------------------------------------------------------

def test_practice_is_the_published_algorithm():
    """FSRS-6 with its default weights, review by review against the algorithm's reference package (fsrs, MIT)."""
    fsrs = pytest.importorskip("fsrs")
    scheduler = fsrs.Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    rng = random.Random(1)
    for _ in range(60):
        mine, theirs, day = Card(), fsrs.Card(), datetime.date(2026, 1, 1)
        for _ in range(12):
            ok = rng.random() < 0.7
            mine = mine.review(ok, day)
            when = datetime.datetime.combine(day, datetime.time(12), datetime.timezone.utc)
            theirs, _ = scheduler.review_card(theirs, fsrs.Rating.Good if ok else fsrs.Rating.Again, when)
            assert mine.stability == pytest.approx(theirs.stability, rel=1e-9) and mine.difficulty == pytest.approx(theirs.difficulty, rel=1e-9)
            assert mine.due == theirs.due.date()
            day = mine.due + datetime.timedelta(days=rng.choice((0, 0, 1, 5)))


# ---- on the command line ----------------------------------------------------------------------------------------------

def test_made_taken_broken_off_and_gone_on_with(tmp_path, monkeypatch, capsys):
    out, results = tmp_path / "quiz", tmp_path / "ada.json"
    assert main(["quiz", "make", "--number", "4", "--seed", "9", "--room", "boxes", "--out", str(out)]) == 0
    quiz = json.loads((out / "quiz.json").read_text())
    keys = ["ABCD"[q["right"][0]] for q in quiz["questions"]]
    wrong = next(c for c in "ABC" if c != keys[1])
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{keys[0]}\n{wrong}\n"))
    assert main(["quiz", "take", str(out / "quiz.json"), "--results", str(results), "--name", "ada"]) == 0
    assert len(json.loads(results.read_text())["answers"]) == 2 and "Stopped" in capsys.readouterr().out
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{keys[2]}\n{keys[3]}\n"))
    assert main(["quiz", "take", str(out / "quiz.json"), "--results", str(results)]) == 0
    said = capsys.readouterr().out
    assert "Going on after question 2." in said and "3 of 4 right." in said
    got = json.loads(results.read_text())
    assert [a["right"] for a in got["answers"]] == [True, False, True, True] and got["answers"][1]["beliefs"]
    assert main(["quiz", "review", str(results), "--on", "2099-01-01"]) == 0
    (out / "paper.md").write_text("mine\n")
    assert main(["quiz", "make", "--number", "4", "--seed", "9", "--room", "boxes", "--out", str(out)]) == 2
    assert (out / "paper.md").read_text() == "mine\n"   # what a person wrote is not written over


@pytest.mark.parametrize("args", [["make", "--room", "bxes"], ["make", "--belief", "x"], ["diagnose", "nothing:1", "3"], ["diagnose", "drop-in-volts:x", "3"], ["take", "none.json", "--results", "r.json"], ["make", "--number", "0"]])
def test_a_slip_is_told(args, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["quiz", *args]) == 2
    assert capsys.readouterr().err.strip()


__all__ = ["FAILS", "filled", "text_of"]
