"""A package against the published structure of QTI 3.0 (1EdTech): elements, their order, attributes
that must be there.

The schemas could not be had here. What is checked was written down from memory of the information
models: the content of each element that we write, in its order, and its required attributes. It is
less than a schema, and it can fail. Whether others read and score it is tried in
tests/browser/test_qti_players.py.
"""

import io
import re
import zipfile
from dataclasses import replace
from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest

from whywire.engine.running.cache import load
from whywire.engine.teaching.beliefs import read_beliefs
from whywire.engine.teaching.instances import Maker
from whywire.engine.teaching.models import read_models
from whywire.engine.teaching.papers import ORDER, SHARED, key_page, markdown
from whywire.engine.teaching.points import kept, points, shares
from whywire.engine.teaching.qti import package
from whywire.engine.teaching.quiz import key_places, make

K = load()
MAKER = Maker(K, read_beliefs())
MODELS = read_models(K)
LAW = {"edition": "2023", "packs": [], "digest": K.digest}
QUIZ = make(MAKER, MODELS, 12, 3, LAW, kinds=("asks", "findings", "order"))

# element, without its qti- -> (its content as a pattern over the names of its children, its
# required attributes)
STRUCTURE = {
    "assessment-item": (
        (
            "(response-declaration )+(outcome-declaration )*(stylesheet )*(item-body"
            " )?(response-processing )?(modal-feedback )*"
        ),
        {"identifier", "title", "adaptive", "time-dependent"},
    ),
    "response-declaration": (
        "(default-value )?(correct-response )?(mapping )?",
        {"identifier", "cardinality", "base-type"},
    ),
    "correct-response": ("(value )+", set()),
    "mapping": ("(map-entry )+", {"default-value"}),
    "map-entry": ("", {"map-key", "mapped-value"}),
    "value": ("", set()),
    "default-value": ("(value )+", set()),
    "outcome-declaration": ("(default-value )?", {"identifier", "cardinality", "base-type"}),
    "item-body": ("(p |div |choice-interaction |order-interaction |rubric-block )+", set()),
    "choice-interaction": (
        "(prompt )?(simple-choice )+",
        {"response-identifier", "shuffle", "max-choices"},
    ),
    "order-interaction": ("(prompt )?(simple-choice )+", {"response-identifier", "shuffle"}),
    "prompt": ("", set()),
    "simple-choice": ("", {"identifier"}),
    "response-processing": ("(response-condition |set-outcome-value )+", set()),
    "response-condition": ("response-if (response-else-if )*(response-else )?", set()),
    "response-if": ("match (set-outcome-value )+", set()),
    "response-else": ("(set-outcome-value )+", set()),
    "match": ("variable correct ", set()),
    "variable": ("", {"identifier"}),
    "correct": ("", {"identifier"}),
    "set-outcome-value": ("base-value |variable |map-response |sum ", {"identifier"}),
    "base-value": ("", {"base-type"}),
    "map-response": ("", {"identifier"}),
    "modal-feedback": ("content-body ", {"outcome-identifier", "identifier", "show-hide"}),
    "p": ("", set()),
    "assessment-test": (
        "(outcome-declaration )*(time-limits )?(test-part )+(outcome-processing )?",
        {"identifier", "title"},
    ),
    "outcome-processing": ("(set-outcome-value )+", set()),
    "sum": ("(test-variables )+", set()),
    "test-variables": ("", {"variable-identifier"}),
    "test-part": (
        "(item-session-control )?(assessment-section )+",
        {"identifier", "navigation-mode", "submission-mode"},
    ),
    "item-session-control": ("", set()),
    "assessment-section": (
        "(item-session-control )?(ordering )?(selection )?(rubric-block )*(assessment-item-ref )*",
        {"identifier", "title", "visible"},
    ),
    "assessment-item-ref": ("", {"identifier", "href"}),
    "rubric-block": ("content-body ", {"use", "view"}),
    "content-body": ("(p |div )+", set()),
}
VALUES = {
    "cardinality": "single|multiple|ordered",
    "base-type": "identifier|float",
    "adaptive": "true|false",
    "time-dependent": "true|false",
    "shuffle": "true|false",
    "visible": "true|false",
    "navigation-mode": "linear|nonlinear",
    "submission-mode": "individual|simultaneous",
    "max-choices": "[0-9]+",
    "max-attempts": "[0-9]+",
    "show-feedback": "true|false",
    "show-hide": "show|hide",
    "identifier": "[A-Za-z_][A-Za-z0-9_.-]*",
    "view": "candidate",
    "use": "instructions",
    "response-identifier": "RESPONSE",
    "mapped-value": r"-?[01]\.[0-9]+",
}
SPACE = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"


def faults(root) -> list[str]:
    """What is not as the structure has it."""
    out, choices = [], set()
    for e in root.iter():
        space, _, tag = e.tag[1:].rpartition("}")
        if space != SPACE:
            out.append(f"{tag} is in {space}")
        if tag not in ("p", "div") and not tag.startswith("qti-"):
            out.append(f"{tag} is not how the standard writes it")
        name = tag.removeprefix("qti-")
        if name not in STRUCTURE:
            out.append(f"{tag} is not known")
            continue
        content, wanted = STRUCTURE[name]
        children = "".join(c.tag.rpartition("}")[2].removeprefix("qti-") + " " for c in e)
        if not re.fullmatch(content, children):
            out.append(f"{tag} holds {children}")
        out += [f"{tag} has no {a}" for a in sorted(wanted - e.attrib.keys())]
        out += [
            f"{tag} {a} is {v}"
            for a, v in e.attrib.items()
            if a in VALUES and not re.fullmatch(VALUES[a], v)
        ]
        if name == "simple-choice":
            if e.get("identifier") in choices:
                out.append(f"two choices are {e.get('identifier')}")
            choices.add(e.get("identifier"))
    return out + named(root, choices)


def named(root, choices: set) -> list[str]:
    """What is named that is not there: a choice, or a variable."""

    def those(name):
        return list(root.iter(f"{{{SPACE}}}qti-{name}"))

    declared = {
        e.get("identifier") for e in those("response-declaration") + those("outcome-declaration")
    }
    out = [
        f"{v.text} is no choice"
        for e in those("correct-response")
        for v in e
        if v.text not in choices
    ]
    out += [
        f"{e.get('map-key')} is no choice"
        for e in those("map-entry")
        if e.get("map-key") not in choices
    ]
    read = [e.get("identifier") for n in ("set-outcome-value", "variable") for e in those(n)]
    read += [e.get("outcome-identifier") for e in those("modal-feedback")]
    return out + [f"{name} is not declared" for name in read if name not in declared]


def unpacked() -> dict:
    with zipfile.ZipFile(io.BytesIO(package(MAKER, QUIZ))) as z:
        return {n: ET.fromstring(z.read(n)) for n in z.namelist()}


def test_items_and_test_have_the_published_structure():
    for name, root in unpacked().items():
        if name != "imsmanifest.xml":
            assert faults(root) == [], name


def test_the_manifest_names_every_file():
    files = unpacked()
    root = files.pop("imsmanifest.xml")
    local = [e.tag.rpartition("}")[2] for e in root]
    assert local == ["metadata", "organizations", "resources"] and root.get("identifier")
    about = {e.tag.rpartition("}")[2]: e.text for e in root[0]}
    assert list(about) == ["schema", "schemaversion"] and about["schemaversion"] == "3.0.0"
    resources = {e.get("identifier"): e for e in root[2]}
    assert {e.get("href") for e in resources.values()} == files.keys()
    for e in resources.values():
        kinds = [c.tag.rpartition("}")[2] for c in e]
        assert e.get("type") in ("imsqti_item_xmlv3p0", "imsqti_test_xmlv3p0")
        assert kinds == sorted(kinds, key=("file", "dependency").index)
        assert all(
            c.get("href") in files if k == "file" else c.get("identifierref") in resources
            for c, k in zip(e, kinds)
        )


def test_a_package_says_what_the_quiz_says():
    """Stem, options, the key in its order, and what each wrong option comes of."""
    files = unpacked()
    for number, question in enumerate(QUIZ.questions, 1):
        root = files[f"q{number}.xml"]
        text = {
            name: [e.text for e in root.iter(f"{{{SPACE}}}qti-{name}")]
            for name in ("prompt", "simple-choice")
        }
        order = f" {ORDER}" if question.model.kind == "order" else ""
        assert text["prompt"] == [question.in_words + order]
        assert text["simple-choice"] == [option.text for option in question.options]
        key = [v.text for v in next(root.iter(f"{{{SPACE}}}qti-correct-response"))]
        assert key == [f"O{place + 1}" for place in key_places(question)]
        told = " ".join(root.itertext())
        for option in question.options:
            belief = MAKER.beliefs.get(option.belief or option.missed)
            assert belief is None or belief.corrected in told, (question.name, option.text)


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        (lambda r: r.remove(r[0]), "holds"),
        (lambda r: r.attrib.pop("title"), "has no title"),
        (lambda r: r.append(r[0]), "holds"),
        (lambda r: r.set("adaptive", "no"), "adaptive is no"),
        (lambda r: setattr(r[0][0][0], "text", "O9"), "O9 is no choice"),
        (lambda r: setattr(r[0], "tag", r[0].tag.replace("response", "answer")), "is not known"),
        (lambda r: r[-1].set("outcome-identifier", "OTHER"), "OTHER is not declared"),
    ],
)
def test_the_check_can_fail(wrong, told):
    root = unpacked()["q1.xml"]
    wrong(root)
    assert told in " ".join(faults(root))


# ---- points --------------------------------------------------------------------------------------


def one(kind):
    return make(MAKER, MODELS, 1, 3, LAW, kinds=(kind,)).questions[0]


def test_one_option_and_an_order_are_right_or_wrong():
    for question in (one("asks"), one("order")):
        key = key_places(question)
        assert points(question, key) == 1
        assert points(question, key[::-1] if len(key) > 1 else [key[0] - 1]) == 0
        assert points(question, []) == 0


def test_all_that_apply_are_worth_a_part_each():
    """Who picks all of them, or any at random, gains nothing: below nought is nought."""
    tried = 0
    for question in (q for q in QUIZ.questions if q.model.kind == "findings"):
        good = key_places(question)
        bad = [i for i in range(len(question.options)) if i not in good]
        assert points(question, good) == 1 and points(question, []) == 0
        assert points(question, good[:1]) == Fraction(1, len(good))
        if bad:
            assert points(question, [*good, *bad]) == 0
            assert points(question, [*good, bad[0]]) == 1 - Fraction(1, len(bad))
            assert sum(shares(question)) == 0
            tried += 1
    assert tried


def test_what_was_kept_before_parts_were_counted_is_right_or_wrong():
    assert kept({"right": True}) == kept({"right": True, "points": ""}) == 1
    assert kept({"right": False}) == 0 and kept({"right": False, "points": "2/3"}) == Fraction(2, 3)


def test_the_answer_sheet_tells_its_marker_how_points_are_shared():
    both = markdown(MAKER, QUIZ)[1], key_page(MAKER, QUIZ)
    assert all(SHARED in text for text in both)
    alone = replace(QUIZ, questions=[q for q in QUIZ.questions if q.model.kind == "asks"])
    assert SHARED not in markdown(MAKER, alone)[1] + key_page(MAKER, alone)
