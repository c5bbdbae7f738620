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
# A folder inside a room holds a kind of thing that has a file each: verbs/withdraw.
ROOMS = {
    "basics": "limits notebook errors sentinels units reading forms folders kept shapes",
    "language": (
        "forms lines things tables noted"
        " pieces/piece pieces/amounts pieces/conditions pieces/lists pieces/tables"
        " expressions names words lowering checker rules actions order"
        " knowledge entries lexicon"
    ),
    "law": (
        "forms edits in_words meanings likeness cells own_rules there sections targets renewing"
        " verbs/verb verbs/add verbs/withdraw"
        " verbs/replace verbs/amend verbs/set_value verbs/redate verbs/alias verbs/narrow"
        " verbs/widen verbs/adopt verbs/take verbs/lock verbs/registry applying library places laws"
    ),
    "running": (
        "outcomes emit alike program alone unknown beside job withheld chain durable rerun pieces"
        " cache"
    ),
    "proving": "wording as_said leaves graph proof_values proof_grounds proof_steps proof",
    "reasons": "elements minimal sizes unknowns moving tree",
    "mending": "catalogue trials search",
    "checking": "examples clashes gaps thresholds coverage variations mutation",
    "answering": (
        "amended findings verdicts working answers sentences subjects tiers built ways standing"
        " assumed explain questions whynot reasoned causes inspection asking design allowed"
        " note fixes expect"
    ),
    "asking": "places cards said habits turning survey job_file resumed",
    "comparing": (
        "between without edit_examples slices grid witnesses scenes table_examples amendments"
        " compare shelf changes pack_diff"
    ),
    "drawing": "pictures",
    "work": (
        "opening takeoff cutting ledger price_file buying tasks money handover beforehand options"
        " conditions audit corrections record pictured sheets"
    ),
    "writing": "form written book schema starter published",
    "teaching": (
        "files beliefs practice draws stems asked questions kinds/kind kinds/valued kinds/asks"
        " kinds/judges kinds/governs kinds/findings kinds/missing kinds/mends kinds/order"
        " kinds/cites kinds/under kinds/registry models instances lacking fairness clues quiz"
        " points diagnosis classroom papers qti"
    ),
}
HOME = {f"{room}/{m}": room for room, modules in ROOMS.items() for m in modules.split()}
RANK = {m: i for i, m in enumerate(HOME)}


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
        p.relative_to(ROOT / "engine").with_suffix("").as_posix()
        for p in (ROOT / "engine").glob("*/**/*.py")
        if p.stem != "__init__"
    ]
    assert sorted(there) == sorted(HOME), "say in ROOMS where it belongs"
    assert {p.name for p in (ROOT / "engine").glob("*.py")} == {"__init__.py", "front.py"}


def from_below(engine: Path) -> list[str]:
    """Every import in *engine* of what does not stand above: of another room never, not even where
    it is made when it is called, or for a type; within a room not at once.
    """
    out = []
    for me, room in HOME.items():
        path = engine / f"{me}.py"
        at_once = {*of_ours(engine, path, True)}
        for other in of_ours(engine, path, False):
            if RANK[other] >= RANK[me] and (other in at_once or HOME[other] != room):
                out.append(f"engine/{me}.py imports {other}, which is not above it")
    return out


def test_imports_only_go_up():
    assert from_below(ROOT / "engine") == []


def test_an_import_from_below_is_seen_wherever_it_is_made(tmp_path):
    for me in HOME:
        (tmp_path / me).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / f"{me}.py").write_text("")
    (tmp_path / "language/knowledge.py").write_text(
        "def emitted():\n    from ..running.emit import Emitted\n"
    )
    (tmp_path / "law/verbs/verb.py").write_text("from ..library import Library\n")
    (tmp_path / "law/places.py").write_text("def nest():\n    from .laws import told\n")
    assert from_below(tmp_path) == [
        "engine/language/knowledge.py imports running/emit, which is not above it",
        "engine/law/verbs/verb.py imports law/library, which is not above it",
    ]


def of_ours(engine: Path, path: Path, top_only: bool):
    """The modules of *engine* that a module imports, at once or ever."""
    here = path.relative_to(engine).parts
    for module, names in imports(path, top_only):
        if module.startswith("."):
            said = module.lstrip(".")
            folder = here[: len(here) - (len(module) - len(said))]
            last = "/".join([*folder, *(said.split(".") if said else [])])
            yield from (m for m in (last, *(f"{last}/{name}" for name in names)) if m in HOME)


def test_who_may_know_a_library():
    knows = {
        "yaml": {"engine/basics/reading.py"},
        "durable_rules_engine": {"engine/running/durable.py"},
        "networkx": {"cli/show_graph.py", "engine/work/tasks.py"},
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
            not re.search(r"(?<!\w)/work/|/root/\.|/tmp/(?!\w*\{)", text)
            or p.name == "test_packaging.py"
        ), f"{p} names a path of one machine"
