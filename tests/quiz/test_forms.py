"""Broken beliefs and question models: each fault told with its place, what is wrong, and what to
do.
"""

import pytest

from whywire.engine.basics.errors import Fault, Faults
from whywire.engine.running.cache import load
from whywire.engine.teaching.beliefs import read_beliefs
from whywire.engine.teaching.instances import Maker
from whywire.engine.teaching.models import read_models
from whywire.engine.teaching.quiz import make

K = load()
BELIEF = (
    "- belief: x\n  says: a\n  held because: b\n  offends: next-size-up\n  corrected: c\n  edits:"
    " [{withdraw: next-size-up}]\n"
)
MODEL = (
    "- question: x\n  stem: Is {depth} enough?\n  draws: {depth: 30 in | 36 in}\n  job: {working"
    ' spaces: {one: {depth: "{depth}"}}}\n  judges: working-space-depth on working spaces.one\n'
)


def told(tmp_path, text, read) -> list:
    (tmp_path / "trial.yaml").write_text(text)
    with pytest.raises(Faults) as caught:
        read(tmp_path)
    for f in caught.value.items:
        assert f.todo and f.at[0].endswith("trial.yaml")
    return [f.code for f in caught.value.items]


@pytest.mark.parametrize(
    ("code", "text"),
    [
        ("belief-form", "belief: x\n"),
        ("belief-form", "- says: a\n"),
        ("belief-form", BELIEF.replace("[{withdraw: next-size-up}]", "[]")),
        ("belief-form", BELIEF.replace("withdraw", "adopt")),
        ("belief-key", BELIEF.replace("corrected:", "corected:")),
        ("belief-lacks", BELIEF.replace("  held because: b\n", "")),
        ("id-in-use", BELIEF + BELIEF),
    ],
)
def test_a_broken_belief(tmp_path, code, text):
    assert code in told(tmp_path, text, read_beliefs)


@pytest.mark.parametrize(
    ("code", "text"),
    [
        ("question-form", "question: x\n"),
        ("question-form", "- stem: a\n"),
        ("question-form", MODEL.replace("judges", "note")),
        ("question-form", MODEL.replace("  stem: Is {depth} enough?\n", "")),
        ("question-form", MODEL.replace(" on working spaces.one", "")),
        ("question-key", MODEL.replace("draws:", "drawz: 1\n  draws:")),
        ("question-word", MODEL.replace("Is {depth}", "Is {width}")),
        (
            "question-word",
            MODEL.replace(
                "judges: working-space-depth on working spaces.one",
                "asks: dpth of working spaces.one",
            ),
        ),
        ("question-draw", MODEL.replace("30 in | 36 in", "36 in to 30 in step 1 in")),
        (
            "no-such-rule",
            MODEL.replace("judges: working-space-depth", "judges: working-space-deph"),
        ),
        ("id-in-use", MODEL + MODEL),
        (
            "no-such-rule",
            MODEL.replace(
                "judges: working-space-depth on working spaces.one",
                "order: depth of working spaces.one\n  options: [working-space-deph]",
            ),
        ),
    ],
)
def test_a_broken_model(tmp_path, code, text):
    assert code in told(tmp_path, text, lambda folder: read_models(K, folder))


def test_what_is_not_there_is_told():
    maker, models = Maker(K, read_beliefs()), read_models(K)
    law = {"edition": "2023", "packs": [], "digest": ""}
    for code, ask in (
        ("no-such-question", {"rooms": ("bxes",)}),
        ("no-such-belief", {"belief": "nobody-believes-it"}),
        ("too-few-questions", {"rooms": ("panels",), "kinds": ("findings",), "number": 400}),
    ):
        with pytest.raises(Fault) as caught:
            make(maker, models, ask.pop("number", 3), 1, law, **ask)
        assert caught.value.code == code and caught.value.todo
    with pytest.raises(Fault) as caught:
        maker.again(models, "space-before-a-pannel:1")
    assert caught.value.code == "no-such-question" and "space-before-a-panel" in caught.value.todo
