"""A quiz as a package of the open assessment standard QTI 3.0 (1EdTech), for another program to ask
and to score.

An item gives the points that `points` gives here, part of one for some of all that apply, and tells
after the answer what an option comes of and why the key is right. The test adds up the points and
what there was to have.
"""

from __future__ import annotations

import io
import zipfile
from typing import Any
from xml.etree import ElementTree as ET

from .instances import Maker
from .papers import ORDER, TAKEN, chain_of, cited, ended, law_line, taken
from .points import shares
from .questions import Instance
from .quiz import CAUTION, Quiz, asks_for_an_order, explained, key_places, letter, picks_several

SPACE = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"
PACKAGE = "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1"
# what the language of a text is told by, in every XML
LANGUAGE = "{http://www.w3.org/XML/1998/namespace}lang"
# of every file in the package, so that the same quiz gives the same bytes
_DAY = (1980, 1, 1, 0, 0, 0)
# elements of HTML in an item; all others are the standard's own
HTML = ("p", "div")


def _add(parent: ET.Element, name: str, text: str = "", **attributes: str) -> ET.Element:
    """An element of the standard within another: *name* without its `qti-`, *attributes* with _
    for a hyphen.
    """
    own = name if name in HTML else f"qti-{name}"
    out = ET.SubElement(parent, f"{{{SPACE}}}{own}", _attributes(attributes))
    out.text = text or None
    return out


def _root(name: str, **attributes: str) -> ET.Element:
    return ET.Element(f"{{{SPACE}}}qti-{name}", _attributes(attributes))


def _attributes(said: dict[str, str]) -> dict[str, str]:
    return {name.replace("_", "-"): value for name, value in said.items()}


# ---- an item -------------------------------------------------------------------------------------


def _item(maker: Maker, question: Instance, number: int, said: list[str]) -> bytes:
    """One question, with what is *said* on every paper."""
    # The name of a question says where its key stands, and which belief it asks about.
    root = _root(
        "assessment-item",
        identifier=f"q{number}",
        title=f"Question {number}",
        adaptive="false",
        time_dependent="false",
    )
    root.set(LANGUAGE, "en")
    _declare(root, question)
    _body(root, question, said)
    _scoring(root, question)
    _feedback(root, maker, question)
    return _file(root, SPACE)


def _declare(root: ET.Element, question: Instance) -> None:
    """What is answered and what comes of it: points, the most there are, and what is told then."""
    order = asks_for_an_order(question)
    several = picks_several(question)
    cardinality = "ordered" if order else "multiple" if several else "single"
    response = _add(
        root,
        "response-declaration",
        identifier="RESPONSE",
        cardinality=cardinality,
        base_type="identifier",
    )
    correct = _add(response, "correct-response")
    for place in key_places(question):
        _add(correct, "value", _option(place))
    if several:
        mapping = _add(response, "mapping", lower_bound="0", upper_bound="1", default_value="0")
        for place, share in enumerate(shares(question)):
            worth = f"{float(share):.9f}"
            _add(mapping, "map-entry", map_key=_option(place), mapped_value=worth)
    _outcome(root, "SCORE", "0", normal_minimum="0", normal_maximum="1")
    _outcome(root, "MAXSCORE", "1")
    if not order:
        _add(
            root,
            "outcome-declaration",
            identifier="CHOSEN",
            cardinality=cardinality,
            base_type="identifier",
        )
    _add(
        root,
        "outcome-declaration",
        identifier="ANSWERED",
        cardinality="single",
        base_type="identifier",
    )


def _outcome(root: ET.Element, name: str, value: str, **attributes: str) -> None:
    """A number that comes of the answers, and what it is before any."""
    declared = _add(
        root,
        "outcome-declaration",
        identifier=name,
        cardinality="single",
        base_type="float",
        **attributes,
    )
    _add(_add(declared, "default-value"), "value", value)


def _body(root: ET.Element, question: Instance, said: list[str]) -> None:
    """The stem and the options."""
    order, several = asks_for_an_order(question), picks_several(question)
    body = _add(root, "item-body")
    for line in said:
        _add(body, "p", line)
    picked = {} if order else {"max_choices": "0" if several else "1"}
    asked = _add(
        body,
        "order-interaction" if order else "choice-interaction",
        response_identifier="RESPONSE",
        shuffle="false",
        **picked,
    )
    _add(asked, "prompt", question.in_words + (f" {ORDER}" if order else ""))
    for place, option in enumerate(question.options):
        _add(asked, "simple-choice", option.text, identifier=_option(place))


def _scoring(root: ET.Element, question: Instance) -> None:
    """The point for the key; for some of all that apply, what they add up to."""
    processing = _add(root, "response-processing")
    condition = _add(processing, "response-condition")
    met = _add(condition, "response-if")
    match = _add(met, "match")
    _add(match, "variable", identifier="RESPONSE")
    _add(match, "correct", identifier="RESPONSE")
    _add(_set(met, "SCORE"), "base-value", "1", base_type="float")
    otherwise = _set(_add(condition, "response-else"), "SCORE")
    if picks_several(question):
        _add(otherwise, "map-response", identifier="RESPONSE")
    else:
        _add(otherwise, "base-value", "0", base_type="float")
    if not asks_for_an_order(question):
        _add(_set(processing, "CHOSEN"), "variable", identifier="RESPONSE")
    _add(_set(processing, "ANSWERED"), "base-value", "why", base_type="identifier")


def _set(parent: ET.Element, outcome: str) -> ET.Element:
    return _add(parent, "set-outcome-value", identifier=outcome)


def _feedback(root: ET.Element, maker: Maker, question: Instance) -> None:
    """What is told after the answer: what each option that is wrong comes of, or leaving out one
    that is right; then why the key is right.
    """
    about = explained(maker, question)
    for wrong in about["wrong"]:
        place = next(i for i in range(len(question.options)) if letter(i) == wrong["option"])
        # one that is right is told of where it was not chosen
        told = "hide" if wrong["right"] else "show"
        lines = [_of_option(maker, wrong)]
        _modal(root, "CHOSEN", _option(place), told, "About your answer", lines)
    key = [ended(question.options[place].text) for place in key_places(question)]
    lines = ["The answer: " + " ".join(key)]
    if about["says"]:
        lines.append(cited(f"{about['says']} {about['because']}".strip(), about["section"]))
    lines += [cited(each["says"], each["section"]) for each in about["sections"]]
    lines += chain_of(maker, question)
    _modal(root, "ANSWERED", "why", "show", "Why", lines)


def _of_option(maker: Maker, wrong: dict[str, Any]) -> str:
    """What an option comes of, in words for who chose it."""
    missed = "Left out" if wrong["right"] else "Chosen"
    about = f"{missed}: {ended(wrong['text'])}"
    if not wrong["belief"]:
        return f"{about} {wrong['says']}"
    rule = maker.k.rules.get(wrong["rule"])
    section = (rule.section(maker.k.edition) if rule else "") or ""
    held = f"{about} That comes of believing: {wrong['says']} Rather: {wrong['corrected']}"
    return cited(held, section)


def _modal(
    root: ET.Element, outcome: str, name: str, told: str, title: str, lines: list[str]
) -> None:
    feedback = _add(
        root,
        "modal-feedback",
        outcome_identifier=outcome,
        identifier=name,
        show_hide=told,
        title=title,
    )
    content = _add(feedback, "content-body")
    for line in lines:
        _add(content, "p", line)


def _option(place: int) -> str:
    """An option's name within its item."""
    return f"O{place + 1}"


# ---- the test and the package --------------------------------------------------------------------


def _test(quiz: Quiz, said: list[str]) -> bytes:
    """The test that names the items in their order and adds up their points."""
    root = _root("assessment-test", identifier=f"quiz-{quiz.digest}", title=quiz.title)
    for outcome in ("SCORE", "MAXSCORE"):
        _outcome(root, outcome, "0")
    part = _add(
        root,
        "test-part",
        identifier="part",
        navigation_mode="nonlinear",
        submission_mode="individual",
    )
    # told the answer, nobody answers again
    _add(part, "item-session-control", max_attempts="1", show_feedback="true")
    section = _add(
        part, "assessment-section", identifier="section", title=quiz.title, visible="true"
    )
    rubric = _add(section, "rubric-block", use="instructions", view="candidate")
    content = _add(rubric, "content-body")
    for line in said:
        _add(content, "p", line)
    for number, _ in enumerate(quiz.questions, 1):
        name = f"q{number}"
        _add(section, "assessment-item-ref", identifier=name, href=f"{name}.xml")
    processing = _add(root, "outcome-processing")
    for outcome in ("SCORE", "MAXSCORE"):
        total = _add(_set(processing, outcome), "sum")
        _add(total, "test-variables", variable_identifier=outcome)
    return _file(root, SPACE)


def _manifest(quiz: Quiz) -> bytes:
    """What is in the package."""

    def add(parent: ET.Element, name: str, text: str = "", **attributes: str) -> ET.Element:
        out = ET.SubElement(parent, f"{{{PACKAGE}}}{name}", attributes)
        out.text = text or None
        return out

    root = ET.Element(f"{{{PACKAGE}}}manifest", {"identifier": f"quiz-{quiz.digest}-package"})
    about = add(root, "metadata")
    add(about, "schema", "QTI Package")
    add(about, "schemaversion", "3.0.0")
    add(root, "organizations")
    resources = add(root, "resources")
    names = [f"q{number}" for number, _ in enumerate(quiz.questions, 1)]
    test = add(
        resources, "resource", identifier="test", type="imsqti_test_xmlv3p0", href="test.xml"
    )
    add(test, "file", href="test.xml")
    for name in names:
        add(test, "dependency", identifierref=name)
    for name in names:
        file = f"{name}.xml"
        item = add(resources, "resource", identifier=name, type="imsqti_item_xmlv3p0", href=file)
        add(item, "file", href=file)
    return _file(root, PACKAGE)


def _file(root: ET.Element, space: str) -> bytes:
    """A file whose elements are of one namespace."""
    ET.register_namespace("", space)
    ET.indent(root)
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="utf-8") + b"\n"


def package(maker: Maker, quiz: Quiz) -> bytes:
    """The quiz as a zip package of QTI 3.0; the same quiz gives the same bytes."""
    first, assumed = [law_line(quiz), CAUTION], taken(maker, quiz)
    files = {
        "imsmanifest.xml": _manifest(quiz),
        "test.xml": _test(quiz, [*first, *([TAKEN, *assumed] if assumed else [])]),
        **{
            f"q{number}.xml": _item(maker, question, number, first)
            for number, question in enumerate(quiz.questions, 1)
        },
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(zipfile.ZipInfo(name, _DAY), data)
    return out.getvalue()
