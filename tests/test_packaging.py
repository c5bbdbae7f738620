"""What is shipped is what is here; who may import whom; what start-up may not load."""

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import whywire.cli

ROOT = Path(__file__).resolve().parents[1]
# Imports only go to names that stand before: in a room further up, or further left in the same.
ROOMS = {
    "basics": "limits errors sentinels units reading folders kept shapes",
    "language": (
        "lines things tables expressions names words checker rules actions order knowledge entries"
        " lexicon"
    ),
    "law": "edits meanings cells own_rules applying library places laws",
    "running": "emit alone unknown job withheld chain durable rerun pieces cache",
    "proving": "wording leaves graph proof_values proof_grounds proof_steps proof",
    "reasons": "elements minimal sizes unknowns moving tree",
    "mending": "catalogue trials search",
    "checking": "examples clashes gaps coverage variations mutation",
    "answering": (
        "amended findings verdicts working answers sentences subjects tiers ways explain"
        " questions whynot reasoned standing inspection causes fixes asking design note expect"
    ),
    "asking": "cards survey job_file",
    "comparing": "between without edit_examples amendments compare shelf changes",
    "writing": "form written book schema starter",
    "teaching": (
        "files beliefs practice draws stems models instances fairness quiz diagnosis papers qti"
    ),
}
HOME = {m: room for room, modules in ROOMS.items() for m in modules.split()}
RANK = {m: i for i, m in enumerate(HOME)}
LAZY = {("knowledge", "emit")}  # looked up when called: knowledge has its emitted code made


def imports(path: Path, top_only: bool = False):
    tree = ast.parse(path.read_text())
    nodes = tree.body if top_only else ast.walk(tree)
    for n in nodes:
        if isinstance(n, ast.ImportFrom):
            yield ("." * n.level + (n.module or ""), [a.name for a in n.names])
        elif isinstance(n, ast.Import):
            for a in n.names:
                yield (a.name, [])


def test_version():
    assert (
        tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"]
        == whywire.cli.__version__
    )


def test_every_module_has_its_room():
    there = [
        (p.parent.name, p.stem) for p in (ROOT / "engine").glob("*/*.py") if p.stem != "__init__"
    ]
    assert sorted(there) == sorted((room, m) for m, room in HOME.items()), (
        "say in ROOMS where it belongs"
    )
    assert [p.name for p in (ROOT / "engine").glob("*.py")] == ["__init__.py"]


def test_imports_only_go_up():
    for me, room in HOME.items():
        path = ROOT / "engine" / room / f"{me}.py"
        at_once = {*of_ours(path, True)}
        for other in of_ours(path, False):
            assert (
                RANK[other] < RANK[me]
                or other not in at_once
                and HOME[other] == room
                or (me, other) in LAZY
            ), f"engine/{room}/{me}.py imports {HOME[other]}/{other}, which is not above it"


def of_ours(path: Path, top_only: bool):
    """The modules of engine/ that a module imports, at once or ever."""
    for module, names in imports(path, top_only):
        if module.startswith("."):
            last = module.rsplit(".", 1)[1]
            yield from [last] if last in HOME else (m for m in names if m in HOME)


def test_who_may_know_a_library():
    knows = {
        "yaml": {"engine/basics/reading.py"},
        "durable_rules_engine": {"engine/running/durable.py"},
        "networkx": {"cli/show_graph.py"},
        "rich": {"cli/main.py"},
    }
    for path in [*ROOT.glob("engine/**/*.py"), *ROOT.glob("cli/*.py")]:
        for module, _ in imports(path):
            top = module.split(".")[0]
            if top in knows:
                assert str(path.relative_to(ROOT)) in knows[top], f"{path.name} imports {top}"
            assert top != "durable", f"{path.name} imports the library's own driver"


def test_start_up_loads_nothing_heavy():
    seen = subprocess.run(
        [
            sys.executable,
            "-c",
            (
                "import sys; from whywire.cli.main import main; main(['--version']); print('"
                " '.join(sys.modules))"
            ),
        ],
        capture_output=True,
        text=True,
    ).stdout.split()
    assert not {
        "yaml",
        "rich",
        "networkx",
        "durable_rules_engine",
        "argparse",
        "whywire.engine.running.chain",
    } & set(seen)
    seen = subprocess.run(
        [
            sys.executable,
            "-c",
            (
                "import sys; from whywire.cli.main import main; main(['why',"
                f" {str(ROOT / 'kb/jobs/kiln.yaml')!r}, 'kiln']); print(' '.join(sys.modules))"
            ),
        ],
        capture_output=True,
        text=True,
    ).stdout.split()
    assert not {"rich", "networkx"} & set(seen)


def test_every_file_of_the_knowledge_base_is_shipped():
    patterns = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"][
        "package-data"
    ]["whywire.kb"]
    kinds = {p.rsplit(".", 1)[1] for p in patterns}
    for p in (ROOT / "kb").rglob("*"):
        if p.is_file() and "__pycache__" not in p.parts:
            assert p.suffix[1:] in kinds, f"{p} would be missing from the wheel"
    packages = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"][
        "packages"
    ]
    folders = {
        p.parent.relative_to(ROOT)
        for folder in ("engine", "cli")
        for p in (ROOT / folder).rglob("*.py")
    }
    assert {f"whywire.{'.'.join(f.parts)}" for f in folders} | {"whywire.kb"} == set(packages), (
        "a folder of code must be named in pyproject.toml"
    )


def test_the_project_speaks_of_itself_alone():
    for p in [
        *ROOT.glob("*.md"),
        *ROOT.glob("engine/**/*.py"),
        *ROOT.glob("cli/*.py"),
        *ROOT.glob("kb/**/*.yaml"),
        *ROOT.glob("tests/**/*.py"),
        ROOT / ".ci/run",
    ]:
        text = p.read_text()
        assert (
            not re.search(r"/work/|/root/\.|/tmp/(?!\w*\{)", text) or p.name == "test_packaging.py"
        ), f"{p} names a path of one machine"
