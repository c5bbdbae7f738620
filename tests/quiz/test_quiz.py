"""Quizzes: every key is the engine's answer, every wrong option is what its belief makes, and
nobody's luck shows in the order.
"""

import datetime
import io
import json
import os
import random
import re
import zipfile
from dataclasses import replace

import pytest
from sweeps import sweep

from whywire.cli.main import main
from whywire.engine.answering.findings import needs
from whywire.engine.answering.verdicts import Verdict, same_text, text_of
from whywire.engine.basics.errors import Fault
from whywire.engine.language.expressions import Cmp
from whywire.engine.language.knowledge import KB
from whywire.engine.law.places import in_force
from whywire.engine.running.cache import load
from whywire.engine.running.chain import FAILS, OFF, PASSES, SET_ASIDE, WARNS, World
from whywire.engine.running.job import read_job
from whywire.engine.running.rerun import run_part
from whywire.engine.teaching.asked import changed, drawn, filled
from whywire.engine.teaching.beliefs import held, read_beliefs
from whywire.engine.teaching.diagnosis import Learner, diagnose, of_class, same, typed
from whywire.engine.teaching.fairness import assumed_in, other_readings
from whywire.engine.teaching.instances import Maker
from whywire.engine.teaching.models import compared, read_models
from whywire.engine.teaching.papers import TAKEN, markdown, page
from whywire.engine.teaching.practice import Card
from whywire.engine.teaching.qti import package
from whywire.engine.teaching.quiz import make, right

# instances of the long comparison: 20000 before a release
MANY = int(os.environ.get("WHYWIRE_QUIZ", 0))
K = load()
BELIEFS = read_beliefs()
MODELS = read_models(K)
MAKER = Maker(K, BELIEFS)
LAW = {"edition": "2023", "packs": [], "digest": K.digest}
OTHER = Maker(K, BELIEFS, load((), "2017"))  # where a model compares, it compares with 2017


def anew(k, m, body):
    """What is asked, from the whole job run in full: no cone, no run that was kept. A verdict is
    its answer and its two numbers.
    """
    w = World(k, read_job(body, k, "anew")).run()
    d = m.d
    if "asks" in d:
        fact, _, thing = str(d["asks"]).partition(" of ")
        x = w.things[thing.strip()]
        return x[k.words.kinds[x[0].kind].words[fact.strip()].slot]
    if "judges" in d or "mends" in d:
        rule, _, thing = str(d.get("judges") or d["mends"]).partition(" on ")
        r, x = k.rules[rule.strip()], w.things[thing.strip()]
        a = w.answer(r, x)
        if "mends" in d or a == OFF or not isinstance(r.test, Cmp):
            return (a,)
        return a, r.test.a.ev(x, None), r.test.b.ev(x, None)
    said = [str(s) for s in d.get("governs") or d.get("findings")]
    return tuple(
        dict.fromkeys(
            s.partition(" on ")[0]
            for s in said
            if s.partition(" on ")[0] in k.rules
            and w.answer(k.rules[s.partition(" on ")[0]], w.things[s.partition(" on ")[2]])
            in (FAILS, WARNS)
        )
    )


NOTHING_MORE = (("told", "passes"), ("told", "fails"))
VALUED = [m for m in MODELS.values() if m.kind in ("asks", "judges")]


def as_anew(v):
    """A value of a question in the form of `anew`."""
    if not isinstance(v, Verdict):
        return v
    return (v.answer, v.have, v.needed) if v.relation else (v.answer,)


def maker_of(m):
    return OTHER if m.kind == "under" else MAKER


@sweep("name", sorted(MODELS), lambda n: (MODELS[n].kind, MODELS[n].room), "questions")
def test_a_model_makes_questions(name):
    m = MODELS[name]
    made = [q for q in (maker_of(m).instance(m, s) for s in range(1, 9)) if q is not None]
    assert len(made) >= 6, f"{name}: only {len(made)} of 8 seeds give a question"
    for q in made:
        assert "{" not in q.stem
        texts = [o.text for o in q.options]
        assert len(set(texts)) == len(texts) and 3 <= len(texts) <= 6
        if m.kind != "order" and "findings" not in m.d:
            assert len(right(q)) == 1 and len(texts) <= 4
        # an order has no wrong options; everywhere else a misconception is at work, or the other
        # edition
        # where nothing is missing, what is asked for nothing is wrong by itself
        if m.kind not in ("order", "cites") and q.key.value not in NOTHING_MORE:
            assert any(o.belief or o.missed or "edition" in o.says for o in q.options), q.name
            assert all(o.right or o.belief or o.says for o in q.options), q.name


@sweep(
    "m",
    [m for m in MODELS.values() if m.kind != "order"],
    lambda m: (m.kind, m.room),
    "keys",
    ids=lambda m: m.name,
)
def test_keys_and_wrong_options_come_of_the_whole_engine(m):
    """Each key is what the whole engine says, and each wrong option what it says under the belief
    that is named: run from the beginning.
    """
    maker = maker_of(m)
    law, believed = maker.there.k if m.kind == "under" else K, {}
    for seed in range(1, 1 + max(5, MANY // len(MODELS))):
        q = maker.instance(m, seed)
        if q is None:
            continue
        kind = (
            q.model.kind
            if q.model.kind != "under"
            else "findings"
            if "findings" in m.d
            else "asks"
            if "asks" in m.d
            else "judges"
        )
        for n in {n for o in q.options for n in (o.belief, o.missed)} - {"", *believed}:
            believed[n] = held(law, BELIEFS[n])
        if kind in ("asks", "judges"):
            got = anew(law, m, q.body)
            assert (
                got == as_anew(q.key.value)
                or not isinstance(q.key.value, Verdict)
                and same_text(got, q.key.value, q.unit)
            ), q.name
            for o in q.options:
                assert o.right or not same_text(o.value, q.key.value, q.unit)
                if o.belief:
                    got = anew(believed[o.belief], m, q.body)
                    # no numbers of its own: the answer, and on which number it turns
                    if o.value.__class__ is Verdict and not o.value.relation:
                        assert got[0] == o.value.answer, (q.name, o.belief)
                        continue
                    assert (
                        got == as_anew(o.value)
                        or not isinstance(o.value, Verdict)
                        and same_text(got, o.value, q.unit)
                    ), (q.name, o.belief)
        elif kind in ("governs", "findings"):
            assert anew(law, m, q.body) == (
                q.key.value
                if kind == "findings"
                else (() if q.key.value == "nothing" else (q.key.value,))
            ), q.name
            for o in q.options:
                if o.belief:
                    got = anew(believed[o.belief], m, q.body)
                    assert (
                        o.value in got
                        if kind == "findings"
                        else got == (() if o.value == "nothing" else (o.value,))
                    ), (q.name, o.belief)
                if o.missed:
                    assert o.value not in anew(believed[o.missed], m, q.body), (q.name, o.missed)
        elif kind == "mends":
            assert anew(law, m, q.body)[0] in (FAILS, "advice")
            for o in q.options:
                after = mended(m, q, o)
                assert (anew(law, m, after)[0] in (PASSES, SET_ASIDE)) is o.right, (q.name, o.text)
                if o.belief:
                    assert anew(believed[o.belief], m, after)[0] in (PASSES, SET_ASIDE, OFF), (
                        q.name,
                        o.belief,
                    )
        elif kind == "missing":
            rule, _, thing = str(m.d["missing"]).partition(" on ")
            w = World(K, read_job(q.body, K, "anew")).run()
            asked = [n.ask for n in needs(w, K.rules[rule], w.things[thing])]
            open_yet = w.answer(K.rules[rule], w.things[thing]) == "cannot tell"
            said = w.answer(K.rules[rule], w.things[thing])
            assert open_yet or q.key.value == ("told", said), q.name
            # where nothing need be learned, test_keys tries every value it could have
            assert q.key.value in NOTHING_MORE or open_yet and asked == [q.key.value[1]], q.name
            for o in q.options:
                if o.belief:
                    k = believed[o.belief]
                    w = World(k, read_job(q.body, k, "anew")).run()
                    assert (w.answer(k.rules[rule], w.things[thing]) != "cannot tell") is (
                        o.value[0] == "told"
                    ), (q.name, o.belief)
        values = [o.value for o in q.options]
        if kind == "asks" and not isinstance(values[0], (str, bool)):
            assert values == sorted(values)
            # the same digits
            assert len({len(o.text.split(" ")[0].partition(".")[2]) for o in q.options}) == 1


def mended(m, q, o):
    """The job after the change that an option names."""
    return changed(
        q.body,
        next(
            filled(c, q.facts) for t, c in m.d["options"].items() if filled(t, q.facts) == o.value
        ),
    )


def test_what_changes_in_a_county_is_asked():
    """Questions of a county's own law: the key is what its law makes, and what the base makes is
    among the wrong options.
    """
    force = in_force({}, "quiz", (), None, "2026-10-01", "Kestrel County")
    there = load(force.folders, force.edition, force.date)
    here = load((), force.edition)
    maker, models = (
        Maker(here, BELIEFS, there, other_said="the rules of Kestrel County"),
        compared(MODELS, here, there),
    )
    assert models and len(models) < len(MODELS)
    # Most only rest on a rule that is otherwise there, and no draw of theirs comes out otherwise:
    # all are tried, since a few of them may be those that are never asked.
    asked = [q for m in models.values() if (q := maker.instance(m, 1)) is not None]
    assert len(asked) >= 5
    for q in asked:
        assert q.stem.startswith("Under the rules of Kestrel County: ")
        if "findings" in q.model.d:
            assert anew(there, q.model, q.body) == q.key.value != anew(
                here, q.model, q.body
            ) and any("edition" in o.says for o in q.options), q.name
        else:
            got = anew(there, q.model, q.body)
            assert (
                got == as_anew(q.key.value)
                or not isinstance(q.key.value, Verdict)
                and same_text(got, q.key.value, q.unit)
            ), q.name
            assert any("edition" in o.says for o in q.options), q.name


@pytest.mark.parametrize(
    "name",
    [n for n, m in MODELS.items() if m.kind in ("governs", "findings") and m.room != "cautions"],
)
def test_no_option_tells_the_number_that_is_asked_for(name):
    """Where a rule stands among the options, it does not say the limit that a misconception has
    otherwise.
    """
    q = maker_of(MODELS[name]).instance(MODELS[name], 1)
    assert not any(re.search(r"\d+(\.\d+)? ?(in|ft|%|Ω|V)\b|\d %", o.text) for o in q.options), [
        o.text for o in q.options
    ]


def test_every_room_has_questions():
    # a room without a rule (what a note says, what a mend costs) has nothing to ask
    rooms = {
        room.name
        for room in (KB / "base").iterdir()
        if any(re.search(r"(?m)^- rule:", p.read_text()) for p in room.glob("**/*.yaml"))
    }
    assert len(rooms) >= 16
    assert rooms == {m.room for m in MODELS.values()}
    assert all(sum(m.room == r for m in MODELS.values()) >= 2 for r in rooms)


def test_the_same_seed_gives_the_same_bytes():
    def one():
        maker = Maker(K, read_beliefs())
        quiz = make(maker, read_models(K), 8, 11, LAW)
        return [
            *markdown(maker, quiz),
            page(maker, quiz),
            package(maker, quiz),
        ]

    assert one() == one()


def test_the_place_of_the_key_is_nobodys_clue():
    """Chi-square over the places of the key among so many options, against evenly many: p > 0.01
    (critical values 9.21, 11.34, 13.28 at 2, 3 and 4 degrees of freedom).
    """
    counts = {n: [0] * n for n in (3, 4, 5)}
    n = max(100, MANY // 2)
    for s in range(n // 50):
        quiz = make(
            MAKER,
            MODELS,
            50,
            1000 + s,
            LAW,
            kinds=("asks", "judges", "governs", "mends", "missing"),
        )
        for q in quiz.questions:
            counts[len(q.options)][q.position] += 1
    assert sum(map(sum, counts.values())) >= 100
    for n, critical in ((3, 9.21), (4, 11.34), (5, 13.28)):
        even = sum(counts[n]) / n
        # fewer than five to a place tell nothing
        assert even < 5 or sum((c - even) ** 2 / even for c in counts[n]) < critical, counts


def test_every_paper_says_what_it_rests_on():
    quiz = make(MAKER, MODELS, 5, 2, LAW)
    for text in (*markdown(MAKER, quiz), page(MAKER, quiz)):
        assert (
            "NEC 2023" in text
            and K.digest in text
            and "approves nothing" in text
            and "tested dead" in text
            and TAKEN in text
        )
    with zipfile.ZipFile(io.BytesIO(package(MAKER, quiz))) as z:
        assert (
            "NEC 2023" in z.read("test.xml").decode()
            and "approves nothing" in z.read("test.xml").decode()
        )


# ---- beliefs -------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", ["2017", "2020", "2023"])
def test_beliefs_can_be_held_under_every_edition(edition):
    k = load((), edition)
    assert len(BELIEFS) >= 50
    for b in BELIEFS.values():
        assert b.offends in k.rules or b.offends in k.absent, b.name
        if all(
            e.target in k.rules or e.target in k.values or e.target in k.tables for e in b.edits
        ):
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


def test_a_wrong_choice_is_diagnosed_in_every_kind():
    for m in MODELS.values():
        q = maker_of(m).instance(m, 2)
        for o in q.options if q is not None and m.kind != "order" and "findings" not in m.d else ():
            found = diagnose(maker_of(m), q, o.value)
            assert (found == []) if o.right or not o.belief else ((o.belief,) in found), (
                q.name,
                o.text,
                found,
            )
        if q is not None and m.kind == "findings":
            for n in maker_of(m).relevant(m):
                picked = MAKER.chooses(q, n)
                assert picked and (
                    picked[0] == q.key.value or (n,) in diagnose(MAKER, q, picked[0])
                ), (q.name, n)


def test_runs_that_are_kept_come_out_as_runs_from_the_beginning():
    """Every cell of every thing, fact by fact and belief by belief, through draws that follow one
    another.
    """
    for name in (
        "conductor-for-hours-in-nm-cable",
        "nm-cable-in-a-hot-attic",
        "breaker-over-the-wire",
        "feeder-on-its-heavier-leg",
        "smallest-pipe",
        "box-big-enough",
        "conductors-of-a-motor",
        "which-rule-stops-the-size",
    ):
        m, rng = MODELS[name], random.Random(7)
        for _ in range(3):
            body = filled(m.job, drawn(m, rng))
            s = MAKER.settled(m, body)
            for n in (None, *rng.sample(MAKER.relevant(m), min(3, len(MAKER.relevant(m)))), None):
                k = MAKER.held(n) if n else K
                kept = cells(MAKER.under(s, m, body, *((n,) if n else ())))
                assert kept == cells(run_part(k, read_job(body, k, "anew"), s.nodes)), (name, n)


def cells(w):
    return {
        (x[0].id, i): v
        for xs in (*w.by_kind.values(), *w.tried.values())
        for x in xs
        for i, v in enumerate(x)
        if i and not isinstance(v, list)
    }


def a_learner(rng, *beliefs, models=VALUED):
    """Twelve answers of a learner who holds *beliefs* and slips in one of ten, on a quiz about what
    was just taught.
    """
    learner = Learner(MAKER)
    for i in range(12):
        taught = beliefs[i // 2 % len(beliefs)]
        todo = [m for m in models if taught in MAKER.relevant(m)]
        q = (learner.next(models, rng) if i % 2 else None) or MAKER.instance(
            rng.choice(todo), rng.randrange(10**6), None, taught
        )
        if q is None:
            continue
        would = MAKER.chooses(q, *(n for n in beliefs if n in MAKER.relevant(q.model)))
        v = rng.choice(would) if would else q.key.value
        if rng.random() < 0.1:
            v = rng.choice([o.value for o in q.options])
        learner.saw(q, v)
    return learner.named()


@pytest.mark.parametrize(
    "belief", ["gives-every-electrode-four", "carries-the-125-percent-through-the-heat"]
)
def test_what_one_question_alone_was_to_find_out_is_found_out(belief):
    """No draw offered these: their questions failed for something else, or had no second wrong
    option beside them.
    """
    assert belief in a_learner(random.Random(4), belief)


def test_simulated_learners_are_found_out():
    """Learners who hold one belief or two, and slip in one answer of ten: all they hold is named
    within twelve questions, nine times of ten.
    """
    useful = sorted({str(n) for m in VALUED for n in m.d.get("beliefs", []) if str(n) in BELIEFS})
    rng, n = random.Random(4), max(10, MANY // 100)
    named = {1: 0, 2: 0}
    for i in range(n):
        for many in (1, 2):
            beliefs = rng.sample(useful, many)
            named[many] += set(beliefs) <= set(a_learner(rng, *beliefs))
    print(f"named of {n} learners: {named[1]} who hold one belief, {named[2]} who hold two")
    assert named[1] >= 0.9 * n and named[2] >= 0.9 * n, (named, n)


def test_learners_are_found_out_by_questions_of_every_kind():
    """What can be held is named nine times of ten by whatever is asked about it; of two that are
    held the one may hide the other.
    """
    models = [m for m in MODELS.values() if m.kind not in ("order", "under")]
    useful = sorted({str(n) for m in models for n in m.d.get("beliefs", []) if str(n) in BELIEFS})
    assert len(useful) >= 150
    rng, n = random.Random(4), max(20, MANY // 100)
    alone = sum([b] == a_learner(rng, b, models=models)[:1] for b in rng.sample(useful, n))
    both = sum(
        len({a, b} & set(a_learner(rng, a, b, models=models)))
        for a, b in (rng.sample(useful, 2) for _ in range(n))
    )
    print(
        f"named of {n} learners: {alone} who hold one belief; of the {2 * n} that others hold two"
        f" of: {both}"
    )
    assert alone >= 0.9 * n and both >= 0.9 * 2 * n, (alone, both, n)


@sweep(
    "m",
    [m for m in MODELS.values() if m.kind in ("asks", "judges", "governs", "findings")],
    lambda m: (m.kind, m.room),
    "readings",
    ids=lambda m: m.name,
)
def test_no_wrong_option_is_right_under_another_reading(m):
    """What the job tells and the stem does not say is told otherwise: no option that is offered as
    wrong is right then.
    """
    for seed in range(1, 1 + max(1, MANY // 2000)):
        q = MAKER.instance(m, 100 + seed)
        assert q is None or not other_readings(MAKER, q), (q.name, other_readings(MAKER, q))


def test_another_reading_is_seen():
    """A stem that says less than its answer rests on is caught: here the temperature marks are
    taken out of it.
    """
    m = MODELS["copper-conductor-in-pipe"]
    shorter = replace(
        m,
        stem=m.stem.replace(", all terminations marked {mark}", ""),
        draws={n: v for n, v in m.draws.items() if n != "mark"},
        job=filled(m.job, {"mark": "75 °C"}),
        name="unsaid",
    )
    found = [
        x
        for s in range(1, 9)
        if (got := MAKER.instance(shorter, s)) is not None
        for x in other_readings(MAKER, got)
    ]
    assert any(x.fact == "marking" or "temperature" in x.fact for x in found), found
    # and a quiz has only such draws of it as come out alike by every reading
    try:
        asked = make(MAKER, {shorter.name: shorter}, 3, 1, {}).questions
    except Fault as too_few:
        assert too_few.code == "too-few-questions"
        asked = []
    assert not [q.name for q in asked if other_readings(MAKER, q)]


def test_what_is_assumed_is_printed():
    q = MAKER.instance(MODELS["conductor-for-hours-in-nm-cable"], 1)
    assert {"ordinary-breaker", "ambient-of-conditioned-space"} <= set(assumed_in(MAKER, q))


def test_a_class_is_read():
    results = [
        {
            "answers": [
                {
                    "question": "q:1",
                    "chosen": "A" if i else "B",
                    "right": bool(i),
                    "rule": "r",
                    "beliefs": [] if i else ["b"],
                    "options": ["A", "B", "C"],
                }
            ]
        }
        for i in range(25)
    ]
    got = of_class(results)
    assert (
        got["beliefs"] == [("b", 1)]
        and got["hardly chosen"] == {"q:1": ["B", "C"]}
        and got["nobody right"] == []
    )
    assert got["difficulty"]["q:1"] == {
        "wrong": 1,
        "of": 25,
        "share": 0.04,
        "rests on": "25 answers",
    }


# ---- practice ------------------------------------------------------------------------------------


def test_practice_is_the_published_algorithm():
    """FSRS-6 with its default weights, review by review against the algorithm's reference package
    (fsrs, MIT).
    """
    fsrs = pytest.importorskip("fsrs")
    scheduler = fsrs.Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    rng = random.Random(1)
    for _ in range(60):
        mine, theirs, day = Card(), fsrs.Card(), datetime.date(2026, 1, 1)
        for _ in range(12):
            ok = rng.random() < 0.7
            mine = mine.review(ok, day)
            when = datetime.datetime.combine(day, datetime.time(12), datetime.timezone.utc)
            theirs, _ = scheduler.review_card(
                theirs, fsrs.Rating.Good if ok else fsrs.Rating.Again, when
            )
            assert mine.stability == pytest.approx(
                theirs.stability, rel=1e-9
            ) and mine.difficulty == pytest.approx(theirs.difficulty, rel=1e-9)
            assert mine.due == theirs.due.date()
            day = mine.due + datetime.timedelta(days=rng.choice((0, 0, 1, 5)))


# ---- on the command line -------------------------------------------------------------------------


def test_made_taken_broken_off_and_gone_on_with(tmp_path, monkeypatch, capsys):
    out, results = tmp_path / "quiz", tmp_path / "ada.json"
    assert (
        main(["quiz", "make", "--number", "4", "--seed", "9", "--room", "boxes", "--out", str(out)])
        == 0
    )
    quiz = json.loads((out / "quiz.json").read_text())
    keys = ["ABCD"[q["right"][0]] for q in quiz["questions"]]
    wrong = next("ABCD"[i] for i, o in enumerate(quiz["questions"][1]["options"]) if o["belief"])
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{keys[0]}\n{wrong}\n"))
    assert (
        main(["quiz", "take", str(out / "quiz.json"), "--results", str(results), "--name", "ada"])
        == 0
    )
    assert (
        len(json.loads(results.read_text())["answers"]) == 2
        and "Stopped" in capsys.readouterr().out
    )
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{keys[2]}\n{keys[3]}\n"))
    assert main(["quiz", "take", str(out / "quiz.json"), "--results", str(results)]) == 0
    said = capsys.readouterr().out
    assert "Going on after question 2." in said and "3 of 4 right." in said
    got = json.loads(results.read_text())
    assert [a["right"] for a in got["answers"]] == [True, False, True, True] and got["answers"][1][
        "beliefs"
    ]
    assert main(["quiz", "review", str(results), "--on", "2099-01-01"]) == 0
    (out / "paper.md").write_text("mine\n")
    assert (
        main(["quiz", "make", "--number", "4", "--seed", "9", "--room", "boxes", "--out", str(out)])
        == 2
    )
    assert (out / "paper.md").read_text() == "mine\n"  # what a person wrote is not written over


@pytest.mark.parametrize(
    "args",
    [
        ["make", "--room", "bxes"],
        ["make", "--belief", "x"],
        ["diagnose", "nothing:1", "3"],
        ["diagnose", "drop-in-volts:x", "3"],
        ["take", "none.json", "--results", "r.json"],
        ["make", "--number", "0"],
    ],
)
def test_a_slip_is_told(args, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["quiz", *args]) == 2
    assert capsys.readouterr().err.strip()


__all__ = ["FAILS", "filled", "text_of"]
