"""No key that the whole engine contradicts: of every instance the complete job is run, anew, and
nothing fails but what is asked.
"""

import html
import io
import re
import zipfile

import pytest
from sweeps import sweep

from whywire.engine.answering.verdicts import text_of
from whywire.engine.language.words import as_list
from whywire.engine.running.cache import load
from whywire.engine.running.chain import FAILS, World
from whywire.engine.running.job import read_job
from whywire.engine.teaching.beliefs import read_beliefs
from whywire.engine.teaching.instances import Maker
from whywire.engine.teaching.models import read_models
from whywire.engine.teaching.papers import chain_of, in_form, key_page, markdown, page
from whywire.engine.teaching.qti import package
from whywire.engine.teaching.quiz import make

K = load()
MODELS = read_models(K)
MAKER = Maker(K, read_beliefs())
LAW = {"edition": "2023", "digest": K.digest}
ASKS = ("judges", "governs", "findings", "mends", "missing")


@sweep(
    "m",
    [m for m in MODELS.values() if m.kind != "under"],
    lambda m: (m.kind, m.room),
    "beside",
    ids=lambda m: m.name,
)
def test_nothing_fails_beside_what_is_asked(m):
    asked = {
        tuple(p.strip() for p in str(s).split(" on ")) for a in ASKS for s in as_list(m.d.get(a))
    }
    made = [q for seed in range(20, 26) if (q := MAKER.instance(m, seed)) is not None]
    assert made
    for q in made:
        w = World(K, read_job(q.body, K, "anew")).run()
        fails = {
            (r.id, x[0].id)
            for r in K.rules.values()
            if r.verb in ("must", "must not")
            for x in w.by_kind.get(r.about, ())
            if w.answer(r, x) == FAILS
        }
        assert not fails - asked, (q.name, q.facts)


def test_a_package_says_nothing_of_the_keys():
    quiz = make(MAKER, MODELS, 12, 3, LAW)
    secrets = {q.model.name for q in quiz.questions} | {q.only for q in quiz.questions if q.only}
    with zipfile.ZipFile(io.BytesIO(package(MAKER, quiz))) as z:
        for name in z.namelist():
            text = z.read(name).decode()
            said = re.findall(r'(?:title|identifier|href|identifierref)="([^"]*)"', text)
            assert not [s for s in said for secret in secrets if secret in s], name


@pytest.mark.parametrize("form", ["A", "B"])
def test_paper_and_key_are_pages_of_their_own(form):
    """Nothing of a key stands on the paper, and both forms ask the same."""
    quiz = make(MAKER, MODELS, 6, 4, LAW)
    paper, key = page(MAKER, quiz, form), key_page(MAKER, quiz, form)
    assert f"(form {form})" in paper and f"(form {form}): answers" in key
    assert "Name: ___" in paper and "of 6" in paper
    assert 'class="key"' not in paper and key.count('class="key"') == 6
    for q in quiz.questions:
        assert q.name not in paper and q.name in key
        assert html.escape(q.stem) in paper


def test_form_b_has_other_letters_and_the_same_keys():
    """Its questions stand in another order, options that are no numbers too, and the sheet gives
    the letters of that form.
    """
    quiz = make(MAKER, MODELS, 12, 6, LAW)
    other = in_form(quiz, "B")
    assert in_form(quiz, "A") is quiz
    assert [q.name for q in other.questions] != [q.name for q in quiz.questions]
    assert sorted(q.name for q in other.questions) == sorted(q.name for q in quiz.questions)
    moved = 0
    for q in other.questions:
        first = next(each for each in quiz.questions if each.name == q.name)
        texts = [o.text for o in first.options]
        moved += texts != [o.text for o in q.options]
        assert sorted(texts) == sorted(o.text for o in q.options)
        assert {o.text for o in q.options if o.right} == {o.text for o in first.options if o.right}
    assert moved
    sheet = markdown(MAKER, quiz, "B")[1]
    for number, q in enumerate(other.questions, 1):
        if q.model.kind not in ("order",) and "findings" not in q.model.d:
            assert f"**{number}.** {'ABCDEF'[q.position]}. " in sheet


@sweep(
    "m",
    [m for m in MODELS.values() if "judges" in m.d],
    lambda m: (m.kind, m.room),
    "worked line",
    ids=lambda m: m.name,
)
def test_the_worked_line_ends_in_the_verdict(m):
    """And what `why` says of the rule on the whole job is that verdict."""
    if m.kind == "under":
        pytest.skip("it asks of two laws")
    for seed in range(30, 33):
        if (q := MAKER.instance(m, seed)) is None or not (lines := chain_of(MAKER, q)):
            continue
        # where its options are the numbers alone, the verdict is said in full
        assert lines[-1] == (text_of(q.key.value, "") if q.asks else q.key.text)
        rule, _, thing = str(m.d["judges"]).partition(" on ")
        w = World(K, read_job(q.body, K, "anew")).run()
        assert w.answer(K.rules[rule.strip()], w.things[thing.strip()]) == q.key.value.answer


def test_no_step_to_a_number_is_unknown():
    """What somebody would go on to judge by the number was told as unknown, below the number."""
    made = [
        question
        for model in MODELS.values()
        if "asks" in model.d
        for seed in range(1, 3)
        if (question := MAKER.instance(model, seed, None, "")) is not None
    ]
    assert len(made) > 50
    assert not [q.name for q in made for line in chain_of(MAKER, q) if " unknown" in line]
