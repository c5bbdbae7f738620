"""A quiz as packages of the open assessment standard QTI, 2.1 and 3.0 (1EdTech): written, and read
back.

Only what both versions have is used: choice and order interactions with their response
declarations. The text of the key and of every option is in the item itself; what was in force and
the cautions stand before the test and in each item.
"""

from __future__ import annotations

import io
import zipfile
from typing import Any
from xml.etree import ElementTree as ET

from .instances import Maker
from .papers import ORDER, TAKEN, in_key_order, law_line, taken
from .questions import Instance
from .quiz import CAUTION, Quiz, asks_for_an_order, picks_several, right

SPACE = {
    "2.1": "http://www.imsglobal.org/xsd/imsqti_v2p1",
    "3.0": "http://www.imsglobal.org/xsd/imsqtiasi_v3p0",
}
PACKAGE = {
    "2.1": "http://www.imsglobal.org/xsd/imscp_v1p1",
    "3.0": "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1",
}
SCHEMA = {"2.1": ("QTIv2.1 Package", "1.0.0"), "3.0": ("QTI Package", "3.0.0")}
ITEM = {"2.1": "imsqti_item_xmlv2p1", "3.0": "imsqti_item_xmlv3p0"}
TEST = {"2.1": "imsqti_test_xmlv2p1", "3.0": "imsqti_test_xmlv3p0"}
MATCH = {
    "2.1": "http://www.imsglobal.org/question/qti_v2p1/rptemplates/match_correct",
    "3.0": "https://purl.imsglobal.org/spec/qti/v3p0/rptemplates/match_correct.xml",
}
# of every file in the package, so that the same quiz gives the same bytes
_DAY = (
    1980,
    1,
    1,
    0,
    0,
    0,
)


def _names(version: str, name: str) -> str:
    """An element's or attribute's name: camelCase in 2.1, qti- and hyphens in 3.0."""
    if version == "2.1":
        return name
    return "qti-" + _hyphened(name)


def _hyphened(name: str) -> str:
    return "".join("-" + c.lower() if c.isupper() else c for c in name)


class _Writer:
    def __init__(self, version: str) -> None:
        self.version = version

    def el(
        self, name: str, parent: ET.Element | None = None, text: str = "", **attributes: str
    ) -> ET.Element:
        """An element of the standard; *attributes* in camelCase."""
        own = name if name in ("p", "div") else _names(self.version, name)
        if self.version != "2.1":
            attributes = {_hyphened(key): value for key, value in attributes.items()}
        return _element(SPACE[self.version], own, parent, text, attributes)

    def rubric(self, parent: ET.Element, lines: list[str]) -> None:
        """What is said to the learner beside the questions."""
        block = self.el("rubricBlock", parent, view="candidate")
        into = block if self.version == "2.1" else self.el("contentBody", block)
        for line in lines:
            self.el("p", into, line)

    def item(self, q: Instance, n: int, said: list[str]) -> bytes:
        """One question, with what is *said* on every paper."""
        many, order = picks_several(q), asks_for_an_order(q)
        root = self.el(
            "assessmentItem",
            identifier=f"q{n}",
            # The name of a question says where its key stands, and which belief it asks about.
            title=f"Question {n}",
            adaptive="false",
            timeDependent="false",
        )
        declared = self.el(
            "responseDeclaration",
            root,
            identifier="RESPONSE",
            cardinality="ordered" if order else "multiple" if many else "single",
            baseType="identifier",
        )
        correct = self.el("correctResponse", declared)
        for i in in_key_order(q) if order else right(q):
            self.el("value", correct, f"O{i + 1}")
        self.el(
            "outcomeDeclaration", root, identifier="SCORE", cardinality="single", baseType="float"
        )
        body = self.el("itemBody", root)
        for line in said:
            self.el("p", body, line)
        asked = self.el(
            "orderInteraction" if order else "choiceInteraction",
            body,
            responseIdentifier="RESPONSE",
            shuffle="false",
            **({} if order else {"maxChoices": "0" if many else "1"}),
        )
        self.el("prompt", asked, q.in_words + (f" {ORDER}" if order else ""))
        for i, o in enumerate(q.options):
            self.el("simpleChoice", asked, o.text, identifier=f"O{i + 1}")
        self.el("responseProcessing", root, template=MATCH[self.version])
        return _file(root, SPACE[self.version])

    def test(self, quiz: Quiz, said: list[str]) -> bytes:
        """The test that names the items in their order."""
        root = self.el("assessmentTest", identifier=f"quiz-{quiz.digest}", title=quiz.title)
        part = self.el(
            "testPart",
            root,
            identifier="part",
            navigationMode="nonlinear",
            submissionMode="individual",
        )
        section = self.el(
            "assessmentSection", part, identifier="section", title=quiz.title, visible="true"
        )
        self.rubric(section, said)
        for n, _ in enumerate(quiz.questions, 1):
            self.el("assessmentItemRef", section, identifier=f"q{n}", href=f"q{n}.xml")
        return _file(root, SPACE[self.version])

    def manifest(self, quiz: Quiz) -> bytes:
        """What is in the package."""
        space = PACKAGE[self.version]

        def el(
            name: str, parent: ET.Element | None = None, text: str = "", **attributes: str
        ) -> ET.Element:
            return _element(space, name, parent, text, attributes)

        root = el("manifest", identifier=f"quiz-{quiz.digest}-package")
        about = el("metadata", root)
        schema, version = SCHEMA[self.version]
        el("schema", about, schema)
        el("schemaversion", about, version)
        el("organizations", root)
        resources = el("resources", root)
        test = el(
            "resource", resources, identifier="test", type=TEST[self.version], href="test.xml"
        )
        el("file", test, href="test.xml")
        for n, _ in enumerate(quiz.questions, 1):
            el("dependency", test, identifierref=f"q{n}")
        for n, _ in enumerate(quiz.questions, 1):
            item = el(
                "resource", resources, identifier=f"q{n}", type=ITEM[self.version], href=f"q{n}.xml"
            )
            el("file", item, href=f"q{n}.xml")
        return _file(root, space)


def _element(
    space: str, name: str, parent: ET.Element | None, text: str, attributes: dict[str, str]
) -> ET.Element:
    """An element of a namespace, within its parent if it has one."""
    tag = f"{{{space}}}{name}"
    if parent is None:
        out = ET.Element(tag, attributes)
    else:
        out = ET.SubElement(parent, tag, attributes)
    out.text = text or None
    return out


def _file(root: ET.Element, space: str) -> bytes:
    """A file whose elements are of one namespace."""
    ET.register_namespace("", space)
    ET.indent(root)
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="utf-8") + b"\n"


def package(maker: Maker, quiz: Quiz, version: str = "3.0") -> bytes:
    """The quiz as a zip package of QTI *version* ("2.1" or "3.0"); the same quiz gives the same
    bytes.
    """
    writer, out = _Writer(version), io.BytesIO()
    first, assumed = [law_line(quiz), CAUTION], taken(maker, quiz)
    files = {
        "imsmanifest.xml": writer.manifest(quiz),
        "test.xml": writer.test(quiz, [*first, *([TAKEN, *assumed] if assumed else [])]),
        **{f"q{n}.xml": writer.item(q, n, first) for n, q in enumerate(quiz.questions, 1)},
    }
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(zipfile.ZipInfo(name, _DAY), data)
    return out.getvalue()


def read_back(data: bytes) -> list[dict[str, Any]]:
    """The questions of a package: title, stem, options, and the places of the right ones in their
    order.
    """
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        test = ET.fromstring(archive.read("test.xml"))
        files = [ref.get("href", "") for ref in _those(test, "assessmentItemRef")]
        return [_item_back(ET.fromstring(archive.read(file))) for file in files]


def _item_back(root: ET.Element) -> dict[str, Any]:
    """One question as its file has it."""
    options = _those(root, "simpleChoice")
    names = [option.get("identifier") for option in options]
    return {
        "title": root.get("title"),
        "stem": _those(root, "prompt")[0].text,
        "options": [option.text or "" for option in options],
        "right": [names.index(value.text) for value in _those(root, "value")],
    }


def _those(root: ET.Element, name: str) -> list[ET.Element]:
    """The elements of one name, as version 2.1 has it."""
    return [element for element in root.iter() if _local(element) == name]


def _local(element: ET.Element) -> str:
    """The name of an element, without its namespace, as version 2.1 has it."""
    name = element.tag.rpartition("}")[2]
    if name.startswith("qti-"):
        first, *rest = name[4:].split("-")
        name = first + "".join(part.capitalize() for part in rest)
    return name
