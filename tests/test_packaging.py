"""What is shipped is what is here; who may import whom; what start-up may not load."""

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import whywire.cli

ROOT = Path(__file__).resolve().parents[1]
# Imports only go to names further up this list.
ROWS = [
    ["limits"],
    ["errors"],
    ["units", "reading"],
    ["folders"],
    ["lines", "expressions"],
    ["kept", "words", "tables"],
    ["checker"],
    ["rules"],
    ["order"],
    ["knowledge"],
    ["edits", "entries"],
    ["meanings"],
    ["cells", "own_rules"],
    ["applying"],
    ["library"],
    ["between", "beliefs", "form", "places", "practice", "without", "written"],
    ["laws"],
    ["emit", "job"],
    ["chain"],
    ["durable", "examples", "graph", "proof_values", "trials", "turning", "verdicts", "whatif"],
    ["coverage", "proof_steps"],
    ["variations"],
    ["mutation", "proof"],
    ["amended", "models"],
    ["amendments", "compare", "findings", "shelf", "working"],
    ["book", "instances", "schema", "starter"],
    ["fairness", "quiz"],
    ["diagnosis", "papers"],
    ["qti"],
    ["changes"],
    ["answers"],
    ["sentences"],
    ["subjects"],
    ["ways"],
    ["explain"],
    ["questions"],
    ["expect", "inspection"],
    ["pieces"],
    ["cache"],
]
RANK = {m: i for i, row in enumerate(ROWS) for m in row}
LAZY = {("emit", "chain"), ("knowledge", "emit")}   # looked up when called, so that no circle is loaded


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
    assert tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"] == whywire.cli.__version__


def test_imports_only_go_down():
    for path in sorted((ROOT / "engine").glob("*.py")):
        me = path.stem
        if me == "__init__":
            continue
        assert me in RANK, f"engine/{me}.py has no row: say where it belongs"
        for module, names in imports(path, top_only=True):
            for other in ([module[1:]] if module.startswith(".") and module != "." else names if module == "." else []):
                if other in RANK:
                    assert RANK[other] < RANK[me] or (RANK[other] == RANK[me] and other != me and other < me), f"engine/{me}.py imports {other}, which is not above it"


def test_who_may_know_a_library():
    knows = {"yaml": {"engine/reading.py"}, "durable_rules_engine": {"engine/durable.py"}, "networkx": {"cli/show_graph.py"}, "rich": {"cli/main.py"}}
    for path in [*ROOT.glob("engine/*.py"), *ROOT.glob("cli/*.py")]:
        for module, _ in imports(path):
            top = module.split(".")[0]
            if top in knows:
                assert str(path.relative_to(ROOT)) in knows[top], f"{path.name} imports {top}"
            assert top != "durable", f"{path.name} imports the library's own driver"


def test_start_up_loads_nothing_heavy():
    seen = subprocess.run([sys.executable, "-c", "import sys; from whywire.cli.main import main; main(['--version']); print(' '.join(sys.modules))"], capture_output=True, text=True).stdout.split()
    assert not {"yaml", "rich", "networkx", "durable_rules_engine", "argparse", "whywire.engine.chain"} & set(seen)
    seen = subprocess.run([sys.executable, "-c", f"import sys; from whywire.cli.main import main; main(['why', {str(ROOT / 'kb/jobs/kiln.yaml')!r}, 'kiln']); print(' '.join(sys.modules))"], capture_output=True, text=True).stdout.split()
    assert not {"rich", "networkx"} & set(seen)


def test_every_file_of_the_knowledge_base_is_shipped():
    patterns = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["package-data"]["whywire.kb"]
    kinds = {p.rsplit(".", 1)[1] for p in patterns}
    for p in (ROOT / "kb").rglob("*"):
        if p.is_file() and "__pycache__" not in p.parts:
            assert p.suffix[1:] in kinds, f"{p} would be missing from the wheel"
    packages = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["packages"]
    for folder in ("engine", "cli"):
        assert not [p for p in (ROOT / folder).rglob("*.py") if p.parent != ROOT / folder], "a folder of code must be named in pyproject.toml"
        assert f"whywire.{folder}" in packages


def test_the_project_speaks_of_itself_alone():
    for p in [*ROOT.glob("*.md"), *ROOT.glob("engine/*.py"), *ROOT.glob("cli/*.py"), *ROOT.glob("kb/**/*.yaml"), *ROOT.glob("tests/**/*.py"), ROOT / ".ci/run"]:
        text = p.read_text()
        assert not re.search(r"/work/|/root/\.|/tmp/(?!\w*\{)", text) or p.name == "test_packaging.py", f"{p} names a path of one machine"
