"""A paper that compares, and one of a place, is about what differs: three of four questions, or it
says how many there are.
"""

import re

import pytest

from whywire.cli.quizzes import _laid_over, _maker
from whywire.engine.teaching.kinds.registry import KINDS
from whywire.engine.teaching.papers import markdown
from whywire.engine.teaching.quiz import make

UNDER = KINDS["under"]
LAW = {"edition": "2023", "packs": [], "digest": ""}


@pytest.mark.parametrize(("other", "enough"), [("2017", True), ("2020", False)])
def test_a_comparison_is_about_what_differs(other, enough):
    maker, models, _ = _maker("2023", None, None, (), other)
    quiz = make(maker, models, 4, 2, LAW)
    differ = [
        q
        for q in quiz.questions
        if q.model.kind == "under"
        and not q.same(maker.concludes(UNDER.as_asked(q.model), q.body), q.key.value)
    ]
    if len(differ) < 3:
        assert re.match(rf"{len(differ)} of these 4 ", quiz.differing)
        assert quiz.differing in markdown(maker, quiz)[0]
    assert not enough or (len(differ) >= 3 and not quiz.differing)


def test_a_paper_of_a_place_is_about_its_law():
    maker, models, law = _maker(None, "Kestrel County", "2026-10-01", (), None)
    beside = _laid_over(maker, models)
    quiz = make(maker, models, 4, 2, law, beside=beside)
    differ = [
        q for q in quiz.questions if not q.same(beside[0].concludes(q.model, q.body), q.key.value)
    ]
    assert len(differ) >= 3 and not quiz.differing
