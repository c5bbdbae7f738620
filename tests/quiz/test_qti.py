"""Packages against the published structure of QTI 2.1 and 3.0 (1EdTech): elements, their order,
attributes that must be there.

The schemas could not be had here. What is checked was written down from memory of the information
models: the content of each element that we write, in its order, and its required attributes. It is
less than a schema, and it can fail.
"""

import io
import re
import zipfile
from xml.etree import ElementTree as ET

import pytest

from whywire.engine.running.cache import load
from whywire.engine.teaching.beliefs import read_beliefs
from whywire.engine.teaching.instances import Maker
from whywire.engine.teaching.models import read_models
from whywire.engine.teaching.qti import package
from whywire.engine.teaching.quiz import make

K = load()
MAKER = Maker(K, read_beliefs())
QUIZ = make(
    MAKER,
    read_models(K),
    12,
    3,
    {"edition": "2023", "packs": [], "digest": K.digest},
    kinds=("asks", "findings", "order"),
)

# element (as 2.1 calls it) -> (its content as a pattern over the names of its children, its
# required attributes)
STRUCTURE = {
    "assessmentItem": (
        (
            "(responseDeclaration )+(outcomeDeclaration )*(stylesheet )*(itemBody"
            " )?(responseProcessing )?(modalFeedback )*"
        ),
        {"identifier", "title", "adaptive", "timeDependent"},
    ),
    "responseDeclaration": (
        "(defaultValue )?(correctResponse )?(mapping )?",
        {"identifier", "cardinality", "baseType"},
    ),
    "correctResponse": ("(value )+", set()),
    "value": ("", set()),
    "outcomeDeclaration": ("(defaultValue )?", {"identifier", "cardinality", "baseType"}),
    "itemBody": ("(p |div |choiceInteraction |orderInteraction |rubricBlock )+", set()),
    "choiceInteraction": (
        "(prompt )?(simpleChoice )+",
        {"responseIdentifier", "shuffle", "maxChoices"},
    ),
    "orderInteraction": ("(prompt )?(simpleChoice )+", {"responseIdentifier", "shuffle"}),
    "prompt": ("", set()),
    "simpleChoice": ("", {"identifier"}),
    "responseProcessing": ("", {"template"}),
    "p": ("", set()),
    "assessmentTest": (
        "(outcomeDeclaration )*(timeLimits )?(testPart )+(outcomeProcessing )?",
        {"identifier", "title"},
    ),
    "testPart": (
        "(itemSessionControl )?(assessmentSection )+",
        {"identifier", "navigationMode", "submissionMode"},
    ),
    "assessmentSection": (
        "(itemSessionControl )?(ordering )?(selection )?(rubricBlock )*(assessmentItemRef )*",
        {"identifier", "title", "visible"},
    ),
    "assessmentItemRef": ("", {"identifier", "href"}),
    "rubricBlock": ("(p |div )+|contentBody ", {"view"}),
    "contentBody": ("(p |div )+", set()),
}
VALUES = {
    "cardinality": "single|multiple|ordered",
    "baseType": "identifier|float",
    "adaptive": "true|false",
    "timeDependent": "true|false",
    "shuffle": "true|false",
    "visible": "true|false",
    "navigationMode": "linear|nonlinear",
    "submissionMode": "individual|simultaneous",
    "maxChoices": "[0-9]+",
    "identifier": "[A-Za-z_][A-Za-z0-9_.-]*",
    "view": "candidate",
    "responseIdentifier": "RESPONSE",
}


def camel(name: str) -> str:
    first, *rest = name.removeprefix("qti-").split("-")
    return first + "".join(r.capitalize() for r in rest)


def faults(root, version: str) -> list[str]:
    """What is not as the structure has it."""
    out, seen = [], set()
    for e in root.iter():
        space, _, tag = e.tag[1:].rpartition("}")
        if space != (
            "http://www.imsglobal.org/xsd/imsqti_v2p1"
            if version == "2.1"
            else "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"
        ):
            out.append(f"{tag} is in {space}")
        if (
            version == "3.0"
            and tag not in ("p", "div")
            and (not tag.startswith("qti-") or tag != tag.lower())
            or version == "2.1"
            and "-" in tag
        ):
            out.append(f"{tag} is not how {version} writes it")
        name, attributes = camel(tag), {camel(a): v for a, v in e.attrib.items()}
        if name not in STRUCTURE or name == "contentBody" and version == "2.1":
            out.append(f"{tag} is not known")
            continue
        content, wanted = STRUCTURE[name]
        children = "".join(camel(c.tag.rpartition("}")[2]) + " " for c in e)
        if not re.fullmatch(content, children):
            out.append(f"{tag} holds {children}")
        out += [f"{tag} has no {a}" for a in wanted - attributes.keys()]
        out += [
            f"{tag} {a} is {v}"
            for a, v in attributes.items()
            if a in VALUES and not re.fullmatch(VALUES[a], v)
        ]
        if name == "simpleChoice":
            if attributes.get("identifier") in seen:
                out.append(f"two choices are {attributes['identifier']}")
            seen.add(attributes.get("identifier"))
    out += [
        f"{v.text} is no choice"
        for v in root.iter()
        if camel(v.tag.rpartition("}")[2]) == "value" and v.text not in seen
    ]
    return out


def unpacked(version: str) -> dict:
    with zipfile.ZipFile(io.BytesIO(package(MAKER, QUIZ, version))) as z:
        return {n: ET.fromstring(z.read(n)) for n in z.namelist()}


@pytest.mark.parametrize("version", ["2.1", "3.0"])
def test_items_and_test_have_the_published_structure(version):
    for name, root in unpacked(version).items():
        if name != "imsmanifest.xml":
            assert faults(root, version) == [], name


@pytest.mark.parametrize("version", ["2.1", "3.0"])
def test_the_manifest_names_every_file(version):
    files = unpacked(version)
    root = files.pop("imsmanifest.xml")
    local = [e.tag.rpartition("}")[2] for e in root]
    assert local == ["metadata", "organizations", "resources"] and root.get("identifier")
    about = {e.tag.rpartition("}")[2]: e.text for e in root[0]}
    assert list(about) == ["schema", "schemaversion"] and (
        "2.1" in about["schema"] or about["schemaversion"].startswith("3.")
    )
    resources = {e.get("identifier"): e for e in root[2]}
    assert {e.get("href") for e in resources.values()} == files.keys()
    for e in resources.values():
        kinds = [c.tag.rpartition("}")[2] for c in e]
        assert e.get("type") in (
            f"imsqti_item_xmlv{version.replace('.', 'p')}",
            f"imsqti_test_xmlv{version.replace('.', 'p')}",
        ) and kinds == sorted(kinds, key=("file", "dependency").index)
        assert all(
            c.get("href") in files if k == "file" else c.get("identifierref") in resources
            for c, k in zip(e, kinds)
        )


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        (lambda r: r.remove(r[0]), "holds"),
        (lambda r: r.attrib.pop("title"), "has no title"),
        (lambda r: r.append(r[0]), "holds"),
        (lambda r: r.set("adaptive", "no"), "adaptive is no"),
        (lambda r: setattr(r[0][0][0], "text", "O9"), "O9 is no choice"),
        (lambda r: setattr(r[0], "tag", r[0].tag.replace("response", "answer")), "is not known"),
    ],
)
def test_the_check_can_fail(wrong, told):
    root = unpacked("2.1")["q1.xml"]
    wrong(root)
    found = faults(root, "2.1")
    assert told in " ".join(found)
