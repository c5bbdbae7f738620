"""A paper about one belief, where a key can stand in one place alone: what there is, is asked; and
the next paper of a class goes on where nothing is.
"""

from types import SimpleNamespace

import pytest

from whywire.engine.basics.errors import Fault
from whywire.engine.running.cache import load
from whywire.engine.teaching.beliefs import read_beliefs
from whywire.engine.teaching.classroom import next_paper
from whywire.engine.teaching.instances import Maker
from whywire.engine.teaching.models import read_models
from whywire.engine.teaching.quiz import make

K = load()
MODELS = read_models(K)
MAKER = Maker(K, read_beliefs())
LAW = {"edition": "2023", "digest": K.digest}


@pytest.mark.parametrize(
    "belief", ["counts-the-inverter-alone", "counts-half-of-the-garage", "counts-each-range-alone"]
)
def test_a_belief_whose_key_has_one_place_is_asked(belief):
    """The key of such a question is always the largest number."""
    quiz = make(MAKER, MODELS, 2, 1, LAW, belief=belief)
    assert len(quiz.questions) == 2
    assert all(belief in {o.belief for o in q.options} for q in quiz.questions)


def test_a_class_goes_on_where_there_is_no_question(monkeypatch):
    asked = []

    def none_of_the_first(maker, models, most, seed, law, **chosen):
        asked.append(chosen)
        if chosen.get("belief") == "counts-each-ground":
            raise Fault("too-few-questions", MODELS["two-rods"].at, "only 0", "")
        return make(maker, models, most, seed, law, **chosen)

    monkeypatch.setattr("whywire.engine.teaching.classroom.make", none_of_the_first)
    found = SimpleNamespace(
        in_the_way=[("counts-each-ground", []), ("puts-rods-side-by-side", [])],
        topics=["boxes", "electrodes"],
        weak_topics=["boxes"],
    )
    quiz = next_paper(found, MAKER, MODELS, LAW, 4, 1, "Next")
    assert {"belief": "counts-each-ground"} in asked
    assert len(quiz.questions) == 4
