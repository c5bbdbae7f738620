"""Pictures beside a question: drawn from the numbers of its job, with the same in words; questions
that look a section up; what the questions lack.
"""

import re
import xml.etree.ElementTree as ET

import pytest

from whywire.engine.drawing.pictures import FORMS, drawn, shown_in_words
from whywire.engine.running.cache import load
from whywire.engine.teaching.beliefs import read_beliefs
from whywire.engine.teaching.instances import Maker
from whywire.engine.teaching.lacking import lacking
from whywire.engine.teaching.models import read_models
from whywire.engine.teaching.papers import markdown, page
from whywire.engine.teaching.quiz import Quiz

K = load()
MODELS = read_models(K)
MAKER = Maker(K, read_beliefs())
LAW = {"edition": "2023", "packs": [], "digest": K.digest}
DRAWN = [m for m in MODELS.values() if "picture" in m.d]
CITES = [m for m in MODELS.values() if m.kind == "cites"]


def test_every_form_is_drawn_by_a_question():
    assert {str(m.d["picture"]["form"]) for m in DRAWN} == set(FORMS)


@pytest.mark.parametrize("m", DRAWN, ids=lambda m: m.name)
def test_a_picture_says_the_numbers_of_its_job(m):
    """Each number that is drawn and not in the stem stands in the picture and in its words, and the
    picture is well-formed with a title and a description.
    """
    for seed in range(1, 6):
        q = MAKER.instance(m, seed)
        svg = drawn(q.picture, "it")
        root = ET.fromstring(svg)
        shown = " ".join(root.itertext())
        title, words = root[0].text, root[1].text
        assert root.get("role") == "img" and title and words == shown_in_words(q.picture)
        assert root.get("aria-labelledby") == "it-t it-d"
        for value in q.facts.values():
            # a number with its unit: what a thing is called by here is no fact of the learner's
            if re.match(r"\d", value) and value not in q.stem:
                assert value in shown and value in q.in_words, (q.name, value)
        # a number that is asked for, and not judged, is not in it
        assert m.kind != "asks" or q.key.text not in shown


def test_a_picture_stands_on_the_page_and_its_words_on_the_paper():
    q = MAKER.instance(MODELS["box-in-a-picture"], 2)
    quiz = Quiz("Boxes", 2, LAW, [q])
    assert "<svg" in page(MAKER, quiz) and "(Box: " in markdown(MAKER, quiz)[0]
    assert drawn(q.picture, "a") == drawn(q.picture, "a")


@pytest.mark.parametrize("m", CITES, ids=lambda m: m.name)
@pytest.mark.parametrize("edition", ["2017", "2026"])
def test_a_section_is_the_one_of_its_rule(m, edition):
    """In the edition that is asked of, and none of the wrong ones is it."""
    k = load((), edition)
    q = Maker(k, MAKER.beliefs).instance(read_models(k)[m.name], 3)
    assert q.key.text == k.rules[q.facts["about"]].section(edition)
    for option in q.options:
        assert option.right or (option.text != q.key.text and option.says)


def test_no_belief_is_left_unasked_and_no_room_without_practice():
    assert lacking(K) == []
