"""The front: what a command line or a notebook uses of the engine, and nothing else of it."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from whywire.engine import front, inspect
from whywire.engine.answering.answers import Answer, Row
from whywire.engine.basics.errors import Fault, Faults, Place
from whywire.engine.basics.notebook import MOST_ROWS, NOT_SHOWN, shown
from whywire.engine.proving.graph import Graph, Node

ROOT = Path(__file__).resolve().parents[1]
HOSTILE = '<script>alert("1")</script>\x1b[2J\u202e&amp;'
SHOWN = "&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt;" + f"{NOT_SHOWN}[2J{NOT_SHOWN}&amp;amp;"


# ---- nothing else is imported --------------------------------------------------------------------


def insides_imported(path: Path, depth: int) -> list[str]:
    """The imports in *path*, so many folders deep, of a module of the engine that is not its
    front.
    """
    return [
        f"{path.name}:{node.lineno}"
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.ImportFrom)
        and node.level > depth
        and (node.module or "").split(".")[0] == "engine"
        and node.module != "engine.front"
        or isinstance(node, ast.Import)
        and any(".engine" in alias.name for alias in node.names)
    ]


def test_the_command_line_imports_the_front_only():
    paths = sorted((ROOT / "cli").rglob("*.py"))
    assert len(paths) > 30
    depths = {path: len(path.relative_to(ROOT / "cli").parts) for path in paths}
    assert [one for path, deep in depths.items() for one in insides_imported(path, deep)] == []


def test_an_import_of_the_inside_is_seen(tmp_path):
    path = tmp_path / "one.py"
    path.write_text(
        "from ..engine.front import Fault\nfrom ..engine.basics.errors import Fault\n"
        "def f():\n    from ..engine import inspect\n    import whywire.engine.running.chain\n"
    )
    assert insides_imported(path, 1) == ["one.py:2", "one.py:4", "one.py:5"]


def test_the_inside_does_not_know_its_front():
    for path in (ROOT / "engine").rglob("*.py"):
        text = path.read_text()
        assert "front import" not in text and "import front" not in text, path


# ---- it says twice what it has: for who checks types, and for who runs it ------------------------


def test_what_a_checker_of_types_reads_is_what_runs():
    tree = ast.parse((ROOT / "engine" / "front.py").read_text())
    read = {
        alias.asname: (node.module or "", alias.name)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.level == 1
        for alias in node.names
    }
    assert read == front.HOMES


@pytest.mark.parametrize("name", sorted(front.HOMES))
def test_every_name_of_the_front_is_there(name):
    assert getattr(front, name) is not None


def test_a_name_that_is_not_there_is_told():
    with pytest.raises(AttributeError, match="the front has no 'inspectt'"):
        front.inspectt


def test_the_front_loads_nothing_until_it_is_asked():
    said = "import sys; import whywire.engine.front; print(*sys.modules)"
    ran = subprocess.run([sys.executable, "-c", said], capture_output=True, text=True)
    ours = {name for name in ran.stdout.split() if name.startswith("whywire.")}
    assert ours == {"whywire.engine", "whywire.engine.front"}


# ---- what it returns shows itself ----------------------------------------------------------------


def hostile_answer() -> Answer:
    return Answer("NO.", HOSTILE, [Row(HOSTILE, HOSTILE, HOSTILE)])


def hostile_graph() -> Graph:
    graph = Graph()
    graph.root = HOSTILE
    graph.nodes[HOSTILE] = Node(HOSTILE, "fact", HOSTILE, HOSTILE, HOSTILE, {})
    return graph


@pytest.mark.parametrize(
    "made",
    [
        hostile_answer,
        hostile_graph,
        lambda: Faults([Fault("x", Place(HOSTILE), HOSTILE, HOSTILE)]),
    ],
)
def test_a_notebook_shows_every_text_escaped(made):
    page = made()._repr_html_()
    assert SHOWN in page
    assert "<script" not in page and "\x1b" not in page and "\u202e" not in page


def kiln(title: str):
    conductors = {"size": "8 AWG", "material": "copper", "EGC size": "10 AWG"}
    circuit = {
        "volts": "240 V",
        "load": {"type": "kiln", "current": "48 A"},
        "breaker": {"rating": "60 A"},
        "conductors": conductors,
        "segments": [{"method": "NM-B", "place": "basement", "length": "40 ft", "bundle": "none"}],
    }
    return inspect({"job": title, "edition": "2023", "circuits": {"kiln": circuit}})


def test_a_job_an_answer_and_ways_out_show_themselves():
    found = kiln(f"pottery {HOSTILE}")
    page = found._repr_html_()
    note = front.note_of(found)
    assert page == note._repr_html_() and SHOWN in page and "<script" not in page
    assert "NOT RIGHT" in page and "approves nothing" in page
    assert note.faults and all(shown(fault.says, [])[6:-8] in page for fault in note.faults)
    fixes = front.fixes_of(found.standing, found.job.title, front.law_of(found), [])
    assert fixes.fixes and "<td>fix</td>" in fixes._repr_html_()
    assert SHOWN in fixes._repr_html_() and "<script" not in fixes._repr_html_()
    why = found.why("kiln", "conductor-125-percent")
    assert why._repr_html_().startswith("<p><b>NO.")


def test_a_long_answer_says_how_much_is_not_shown():
    page = shown("many", [(n,) for n in range(MOST_ROWS + 3)])
    assert page.count("<tr>") == MOST_ROWS + 1 and "and 3 more" in page
