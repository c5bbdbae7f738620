"""Tree, Mermaid, DOT, JSON and SVG render the same nodes and the same edges; SVG needs no program
and no luck.
"""

import html
import json
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from whywire.cli.show_graph import as_dot, as_json, as_mermaid, as_svg, ids, label, show_tree
from whywire.engine import inspect

ROOT = Path(__file__).resolve().parents[2]
JOBS = [ROOT / "kb/jobs/kiln.yaml", *sorted((ROOT / "kb/jobs/interactions").glob("*.yaml"))[:4]]


@pytest.fixture(scope="module", params=JOBS, ids=lambda p: p.stem)
def graphs(request):
    found = inspect(request.param)
    return [found.graph(f"rule:{f.rule}@{f.on}") for f in found.findings[:6]]


def wanted(g):
    name = ids(g)
    return {label(n) for n in g.nodes.values()}, sorted(
        (name[a], role, name[b]) for a, b, role in g.edges
    )


def test_mermaid(graphs):
    for g in graphs:
        text = as_mermaid(g)
        nodes, edges = wanted(g)
        shapes = r'^  (n\d+)(?:\[\(|\[/|\(\[|\{\{|\[)"(.*)"(?:\)\]|/\]|\]\)|\}\}|\])$'

        def bare(s):
            s = s.replace("#quot;", '"')
            return re.sub(r"#(\d+);", lambda m: chr(int(m[1])), s)

        got = {bare(said) for _, said in re.findall(shapes, text, re.M)}
        assert got == nodes
        assert (
            sorted(
                (a, bare(r), b)
                for a, r, b in re.findall(r'^  (n\d+) -- "(.*)" --> (n\d+)$', text, re.M)
            )
            == edges
        )


def test_dot(graphs):
    for g in graphs:
        text = as_dot(g)
        nodes, edges = wanted(g)

        def bare(s):
            return s.replace('\\"', '"').replace("\\\\", "\\")

        assert {
            bare(m) for m in re.findall(r'^  n\d+ \[shape=\w+, label="(.*)"\];$', text, re.M)
        } == nodes
        assert (
            sorted(
                (a, bare(r), b)
                for a, b, r in re.findall(r'^  (n\d+) -> (n\d+) \[label="(.*)"\];$', text, re.M)
            )
            == edges
        )


def test_json(graphs):
    for g in graphs:
        d = json.loads(as_json(g))
        assert {n["id"] for n in d["nodes"]} == set(g.nodes)
        assert [(e["from"], e["to"], e["role"]) for e in d["edges"]] == g.edges


def test_svg(graphs):
    for g in graphs:
        text = as_svg(g)
        root = ET.fromstring(text)
        ns = "{http://www.w3.org/2000/svg}"
        assert {e.get("data-id") for e in root.iter(f"{ns}g") if e.get("class") == "node"} == set(
            g.nodes
        )
        assert sorted(
            (e.get("data-from"), e.get("data-to"), e.get("data-role"))
            for e in root.iter(f"{ns}g")
            if e.get("class") == "edge"
        ) == sorted(g.edges)
        assert (
            root.get("role") == "img"
            and root.find(f"{ns}title").text
            and root.find(f"{ns}desc").text
        )
        words = html.unescape(root.find(f"{ns}desc").text)
        assert all(role in words for _, _, role in g.edges)


def test_tree_shows_every_node_once(graphs):
    for g in graphs:
        lines = ["".join(t for t, _ in line) for line in show_tree(g)]
        whole = [line for line in lines if "(see #" not in line]
        assert len(whole) == len(g.nodes)
        assert len(lines) == len(g.edges) + 1
        for line in lines:
            if m := re.search(r"\(see #(\d+)\)$", line):
                assert any(f"#{m[1]} " in w for w in whole), line


def test_svg_is_the_same_bytes_in_another_process():
    words = [
        sys.executable,
        "-m",
        "whywire.cli.main",
        "why",
        str(JOBS[0]),
        "kiln",
        "conductor-125-percent",
        "--as",
        "svg",
    ]
    out = [
        subprocess.run(
            words, capture_output=True, env={**os.environ, "PYTHONHASHSEED": seed}, timeout=60
        ).stdout
        for seed in ("1", "2")
    ]
    assert out[0] == out[1] and out[0].startswith(b"<svg")
