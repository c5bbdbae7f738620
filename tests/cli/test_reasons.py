"""`why --deep` and pictures show what an answer rests on: a screen, the same lines in each form."""

from __future__ import annotations

import contextlib
import io
import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.cli.picture import DARK, LIGHT, WORDS
from whywire.cli.show_reason import FORMS, as_dict, show_reason
from whywire.engine.language.knowledge import KB
from whywire.engine.reasons.tree import READ, RULED, SAID, TAKEN, Entry

JOBS = Path(KB) / "jobs"
KILN = str(JOBS / "kiln.yaml")
SVG = "{http://www.w3.org/2000/svg}"


def run(*words: str) -> str:
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        main(list(words))
    return out.getvalue()


def test_the_reason_is_shown_first_and_the_whole_on_demand():
    reason = run("why", KILN, "kiln", "--deep").splitlines()
    assert reason[0].startswith("NO. 6 AWG NM-B is 5 A too small for this kiln.")
    assert len(reason) <= 17 and all(len(line) <= 80 for line in reason)
    said = "\n".join(reason)
    assert "needs 60 A = 125 % × 48 A" in said and "carries 55 A at its terminals" in said
    # of the two ends and of what lies between: the line is cut at the edge, the whole is as data
    assert re.search(r"60 °C column, whatever the joint limit and .+…? +110\.14\(C\)", said)
    texts = {n["text"] for n in json.loads(run("why", KILN, "kiln", "--as", "json"))["nodes"]}
    whole = "60 °C column, whatever the joint limit and disconnect limit and temperature rating"
    assert whole in texts
    assert re.search(r"NM-B +you said", said) and "fails over 44 A" in said
    assert "does not apply" not in said
    whole = run("why", KILN, "kiln", "--deep", "--all").splitlines()
    assert len(whole) > 60 and whole[0].startswith("conductor-125-percent:")


def test_why_a_size_shows_what_the_next_smaller_fails():
    said = run("why", KILN, "kiln", "minimum", "size", "--deep")
    assert said.startswith("YES. 4 AWG is the smallest size that passes every requirement. 6 AWG")


def test_what_cannot_be_told_shows_the_question():
    job = str(JOBS / "answers/kiln-in-pipe.yaml")
    said = run("why", job, "kiln", "all-conductors-together", "--deep")
    assert said.startswith("CAN'T TELL.") and "nobody said" in said
    assert "That settles it: yes passes, no fails." in said


def test_the_forms_have_the_same_lines():
    words = ("why", KILN, "kiln")
    data = json.loads(run(*words, "--as", "json"))
    assert all(node["reason"] is True for node in data["nodes"])
    names = {node["id"] for node in data["nodes"]}
    edges = {(edge["from"], edge["to"]) for edge in data["edges"]}
    svg = ET.fromstring(run(*words, "--as", "svg"))
    groups = [e for e in svg.iter(f"{SVG}g") if "node" in e.get("class", "")]
    assert {e.get("data-id") for e in groups} == names
    lines = [e for e in svg.iter(f"{SVG}path") if e.get("class") == "edge"]
    assert {(e.get("data-from"), e.get("data-to")) for e in lines} == edges
    assert svg.find(f"{SVG}title").text.startswith("Why: NO. 6 AWG")
    assert svg.find(f"{SVG}desc").text.startswith("It rests on ")
    mermaid = run(*words, "--as", "mermaid")
    assert len(re.findall(r'^  n\d+\W+"', mermaid, re.M)) == len(names)
    assert len(re.findall(r"^  n\d+ --> n\d+$", mermaid, re.M)) == len(edges)
    dot = run(*words, "--as", "dot")
    assert len(re.findall(r"^  n\d+ \[shape=", dot, re.M)) == len(names)
    assert len(re.findall(r"^  n\d+ -> n\d+;$", dot, re.M)) == len(edges)
    text = run(*words, "--deep")
    assert len(re.findall(r"[├└]─ ", text)) == len(names) - 1


def test_the_whole_graph_marks_what_its_reason_shows():
    data = json.loads(run("why", KILN, "kiln", "--json"))
    shown = {node["id"] for node in data["graph"]["reason"]["nodes"]}
    marked = {node["id"] for node in data["graph"]["nodes"] if node.get("reason")}
    assert marked and marked <= shown and data["graph"]["root"] in marked


def luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, two: str) -> float:
    low, high = sorted((luminance(one), luminance(two)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_contrast(colours):
    """WCAG 2.2, 1.4.3 (4.5 for text) and 1.4.11 (3 for the lines of shapes)."""
    ground, edge = colours["ground"]
    assert contrast(ground, edge) >= 3
    for kind in WORDS:
        fill, line = colours[kind]
        assert contrast(line, ground) >= 3 and contrast(line, fill) >= 3, kind
        assert all(contrast(text, fill) >= 4.5 for text in colours["text"]), kind


def a_tree(text: str) -> Entry:
    top = Entry("a", RULED, text, text)
    for kind in (SAID, TAKEN, READ, RULED):
        top.under.append(Entry(f"{kind}", kind, text, text))
    top.under[-1].under = [Entry("last", SAID, text)]
    return top


def test_each_kind_has_a_shape_and_a_word_of_its_own():
    said = FORMS["svg"](a_tree("x"))
    shapes = {}
    for group in ET.fromstring(said).iter(f"{SVG}g"):
        box = [e for e in group if "box" in e.get("class", "")]
        kind = group.get("class").split()[1]
        shapes[kind] = tuple((e.tag.removeprefix(SVG), e.get("rx")) for e in box)
    assert len(set(shapes.values())) == len(shapes) == 4
    for form, form_shapes in (("mermaid", r'n[1-4](\W+?)"'), ("dot", r"n[1-4] \[shape=(\w+)")):
        assert len(set(re.findall(form_shapes, FORMS[form](a_tree("x"))))) == 4, form


HOSTILE = (
    "<script>alert(1)</script>",
    '"]; click n0 "javascript:alert(1)"',
    '"; n9 [URL="http://example.org"]; "',
    "[here](javascript:alert(1))",
    "\x1b[2J\x1b]0;title\x07",
    "line\nflowchart TD",
)


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize("form", FORMS)
def test_no_markup_comes_through(form, text):
    said = FORMS[form](a_tree(text))
    assert all(c.isprintable() or c == "\n" for c in said)
    if form == "svg":
        names = {e.tag.removeprefix(SVG) for e in ET.fromstring(said).iter()}
        assert names <= {"svg", "title", "desc", "style", "g", "rect", "path", "text"}
    if form == "mermaid":
        lines = said.splitlines()
        assert len(lines) == 3 + 6 + 5 and lines[0] == "flowchart LR"
        assert not re.search(r"[<`*\\]|\]\(", said)
    if form == "dot":
        quoted = re.sub(r'"(?:\\.|[^"\\])*"', "", said)
        assert "URL" not in quoted


def test_a_line_that_is_too_long_loses_its_arithmetic_first_and_stays_within():
    top = Entry("a", RULED, "A sentence. " * 20, "210.19(A)(1)")
    entry = Entry("b", RULED, "needs 60 A", "Art. 100 continuous load, and what follows")
    entry.note = "125 % × 48 A" * 6
    top.under = [entry]
    lines = ["".join(text for text, _ in line) for line in show_reason(top)]
    assert all(len(line) <= 80 for line in lines) and "needs 60 A  " in lines[-1]
    assert as_dict(top)["edges"] == [{"from": "a", "to": "b"}]
