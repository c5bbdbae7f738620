"""No form of output lets markup or an escape sequence through that somebody put into a job, a title
or a pack.
"""

import re
import xml.etree.ElementTree as ET

import pytest

from whywire.cli.show_graph import FORMS, as_mermaid, as_svg
from whywire.engine.proving.graph import Graph, Node
from whywire.engine.teaching.papers import _no_markup

HOSTILE = (
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    '"]; click n0 "javascript:alert(1)"',
    '"; n9 [URL="http://example.org"]; "',
    "[here](javascript:alert(1))",
    "![](http://example.org/x.png)",
    "`code` **bold** &lt;",
    "\\<b>",
    "\x1b[2J\x1b]0;title\x07",
    "\x9b2J\u202egnol\x00",
    "line\nflowchart TD",
)


def graph(text: str) -> Graph:
    g = Graph()
    g.nodes = {
        "a": Node("a", "fact", text, "1", "A", {"origin": "told", "at": text}),
        "b": Node(
            "b", "fact", text, "1", "A", {"section": text, "layer": "law", "edition": "2023"}
        ),
    }
    g.edges, g.root = [("a", "b", text)], "a"
    return g


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize("form", FORMS)
def test_a_derivation(form, text):
    said = FORMS[form](graph(text))
    assert all(c.isprintable() or c == "\n" for c in said)
    if form == "svg":
        names = {e.tag.rpartition("}")[2] for e in ET.fromstring(said).iter()}
        assert names <= {"svg", "title", "desc", "g", "line", "rect", "text"}
    if form == "mermaid":
        lines = said.splitlines()
        assert len(lines) == 4 and lines[0] == "flowchart TD"
        for line in lines[1:]:
            inside = re.fullmatch(r'  n\d(?:\["| -- ")(.*)(?:"\]|" --> n\d)', line)
            assert inside and not re.search(r'["<>`*\[\]\\]', inside[1]), line
    if form == "dot":
        quoted = re.sub(r'"(?:\\.|[^"\\])*"', "", said)
        assert "URL" not in quoted and quoted.count(";") == 4


def test_mermaid_and_svg_say_what_they_escape():
    g = graph("55 A < 60 A & #10")
    assert "55 A #60; 60 A #38; #35;10" in as_mermaid(g)
    assert "55 A &lt; 60 A &amp; #10" in as_svg(g)


def test_a_box_that_leaves_something_out_says_so():
    g = graph("word " * 200)
    assert "…</text>" in as_svg(g)


@pytest.mark.parametrize("text", HOSTILE)
def test_a_paper_in_markdown(text):
    said = _no_markup(text)
    bare = re.sub(r"\\.", "", said, flags=re.DOTALL)  # what a backslash stands before is plain text
    assert not re.search(r"<[A-Za-z/!?]|\[[^\]]*\]\(|&#?\w+;", bare)


def test_what_is_no_markup_stays():
    assert (
        _no_markup("55 A < 60 A, 3 > 2, [210.19(A)(1)] and * & #10")
        == "55 A < 60 A, 3 > 2, [210.19(A)(1)] and * & #10"
    )
