"""A bench of people who know tests and nothing of the trade: none does better than chance, or
worse, on the papers that are made.
"""

import os
import random

import pytest
from guessers import GUESSERS, scored, table
from sweeps import SEED, WHOLE

from whywire.engine.running.cache import load
from whywire.engine.teaching.beliefs import read_beliefs
from whywire.engine.teaching.instances import Maker
from whywire.engine.teaching.models import read_models
from whywire.engine.teaching.quiz import make

K = load()
# the whole bench is 20,000 instances of all models; by default a few papers of one model in five,
# drawn with the seed, since what a model needs to be set up is what is dear
NUMBER = int(os.environ.get("WHYWIRE_GUESS") or (20_000 if WHOLE else 100))
ALL = NUMBER >= 1000
PAPER = 60 if ALL else 50
ONE_IN = 5


@pytest.fixture(scope="module")
def questions():
    """The questions of papers from seeds that follow one another."""
    maker, models = Maker(K, read_beliefs()), read_models(K)
    if not ALL:
        few = random.Random(SEED).sample(sorted(models), len(models) // ONE_IN)
        models = {name: models[name] for name in few}
    law = {"edition": K.edition, "packs": [], "digest": K.digest}
    papers = [make(maker, models, PAPER, SEED * 1000 + s, law) for s in range(-(-NUMBER // PAPER))]
    return [q for paper in papers for q in paper.questions if q.model.kind != "order"]


@pytest.mark.sweep
@pytest.mark.xdist_group("guessers")
def test_nobody_gets_anywhere_by_guessing(questions):
    """Each guesser within chance by three standard deviations, of questions with one key and of
    those with several.
    """
    one = [q for q in questions if "findings" not in q.model.d]
    several = [q for q in questions if "findings" in q.model.d]
    print(f"\none key\n{table(one)}\n\nall that apply\n{table(several)}")
    off = {
        (kind, name): round(scored(some, name).sigmas, 2)
        for kind, some in (("one key", one), ("all that apply", several))
        for name in GUESSERS
        if abs(scored(some, name).sigmas) > 3
    }
    assert not off


def test_a_guesser_is_caught_who_is_told_the_key(questions):
    """The bench can fail: where every key is made the longest option, the one who takes the longest
    is found out.
    """
    few = [q for q in questions if "findings" not in q.model.d][:60]
    assert len(few) > 40
    was = [(q, q.key.text) for q in few]
    for q in few:
        q.key.text += " and that is so, as a careful author of a key would add"
    try:
        assert scored(few, "longest").sigmas > 3
    finally:
        for q, text in was:
            q.key.text = text
