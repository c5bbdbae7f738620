"""What README.md shows is what whywire prints; its two commands are two; the docstrings' examples
run.

The sessions run one after the other in one folder, which has kb/ in it and keeps what they write.

WHYWIRE_UPDATE=1 writes the sessions in README.md anew: read the diff.
"""

import ast
import doctest
import importlib
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

from sources import MEMORY, PARAGRAPH, PRACTICE, PUBLISHED, of_rules, of_tables, paragraph
from test_packaging import ROOMS

from whywire.engine.running import durable

ROOT = Path(__file__).resolve().parents[1]
BOTH = "Chained by durable-rules and the plain chainer, which agree."
ALONE = "Chained by the plain chainer alone."
SESSION = re.compile(r"```console\n\$ (whywire [^\n]+)\n(.*?)```", re.S)


def said(command: str, folder: Path) -> str:
    words = shlex.split(command)[1:]
    files = (
        {f: f.read_text() for f in folder.glob(f"{words[-1]}/*.yaml")}
        if words[0] == "format"
        else {}
    )
    for f, text in files.items():  # as a hand leaves it that is in a hurry
        f.write_text(re.sub(r"(?m)^(- |  )|(?<=.)$", lambda m: m[0] + " ", text))
    p = subprocess.run(
        [sys.executable, "-m", "whywire.cli.main", *words],
        capture_output=True,
        text=True,
        cwd=folder,
        timeout=120,
        env={**os.environ, "COLUMNS": "80"},
    )
    assert {f: f.read_text() for f in files} == files
    return "\n".join(line.rstrip() for line in (p.stdout + p.stderr).splitlines()) + "\n"


def test_the_sessions_in_the_readme_are_real(tmp_path):
    (tmp_path / "kb").symlink_to(ROOT / "kb")
    path = ROOT / "README.md"
    text = path.read_text()
    sessions = SESSION.findall(text)
    assert len(sessions) >= 4 and {"pack", "check", "format"} <= {
        command.split()[1] for command, _ in sessions
    }
    if os.environ.get("WHYWIRE_UPDATE"):

        def real(m):
            out = said(m[1], tmp_path)
            if "[...]" in m[2]:  # a long report may be shown in part: its head and its tail
                head, tail = (
                    len([x for x in part.strip("\n").splitlines() if x])
                    for part in m[2].split("[...]")
                )
                lines = out.splitlines()
                out = "\n".join([*lines[: max(head, 12)], "[...]", *lines[-max(tail, 3) :]]) + "\n"
            return f"```console\n$ {m[1]}\n{out}```"

        path.write_text(SESSION.sub(real, text))
        return
    for command, shown in sessions:
        got = said(command, tmp_path)
        if not durable.available():  # what README.md shows is how it is where both chain
            got = got.replace(ALONE, BOTH)
        if "[...]" in shown:
            head, tail = (part.strip("\n") for part in shown.split("[...]"))
            assert got.startswith(head) and got.rstrip("\n").endswith(tail), (
                f"{command}: README.md shows something else"
            )
        else:
            assert got == shown, f"{command}: README.md shows something else"


def test_the_readme_counts_its_sources():
    """By the marks that stand beside rules and tables; WHYWIRE_UPDATE=1 writes the count anew."""
    path = ROOT / "README.md"
    now = paragraph()
    if os.environ.get("WHYWIRE_UPDATE"):
        path.write_text(PARAGRAPH.sub(lambda _: now, path.read_text()))
    assert PARAGRAPH.findall(path.read_text()) == [now]
    for found in (of_rules(), of_tables()):
        assert found[PUBLISHED] and found[MEMORY] and found[PRACTICE]


def test_the_readme_has_exactly_two_set_up_commands():
    blocks = re.findall(r"```sh\n(.*?)```", (ROOT / "README.md").read_text(), re.S)
    assert len([line for b in blocks for line in b.splitlines() if line.strip()]) == 2


def test_every_file_the_readme_names_is_there():
    for name in re.findall(
        r"\b(?:kb|engine|cli|tests)/[\w./-]+\.(?:yaml|csv|py|md)\b",
        (ROOT / "README.md").read_text() + (ROOT / "DEVELOPERS.md").read_text(),
    ):
        assert (ROOT / name).exists(), name


def rooms_as_table() -> str:
    """The rooms of engine/ and their modules, each with the first sentence of its docstring."""
    rows = ["| room | module | what it is |", "|---|---|---|"]
    for room, modules in ROOMS.items():
        rows.append(f"| **{room}** | | {first_sentence(ROOT / 'engine' / room / '__init__.py')} |")
        for module in modules.split():
            said = first_sentence(ROOT / "engine" / room / f"{module}.py")
            rows.append(f"| | `{module}` | {said} |")
    return "\n".join(rows)


def first_sentence(path: Path) -> str:
    doc = ast.get_docstring(ast.parse(path.read_text())) or ""
    return re.split(r"(?<=[.:]) (?=[A-Z*`])", " ".join(doc.split("\n\n")[0].split()))[0]


def test_the_map_of_the_engine_is_what_is_there():
    path = ROOT / "engine" / "README.md"
    text = path.read_text()
    head, rest = text.split("<!-- rooms -->")
    tail = rest.split("<!-- end of rooms -->")[1]
    now = f"{head}<!-- rooms -->\n{rooms_as_table()}\n<!-- end of rooms -->{tail}"
    if os.environ.get("WHYWIRE_UPDATE"):
        path.write_text(now)
    assert path.read_text() == now, "WHYWIRE_UPDATE=1 writes engine/README.md anew"


def test_the_page_for_developers_is_short():
    assert len((ROOT / "DEVELOPERS.md").read_text().splitlines()) <= 150


def test_docstrings():
    ran = 0
    every = [*sorted((ROOT / "engine").rglob("*.py")), *sorted((ROOT / "cli").glob("*.py"))]
    assert len(every) > 70
    for path in every:
        if path.stem == "durable":
            continue
        name = ".".join(["whywire", *path.relative_to(ROOT).with_suffix("").parts]).removesuffix(
            ".__init__"
        )
        module = importlib.import_module(name)
        assert module.__doc__, f"{path} does not say what it is for"
        failed, n = doctest.testmod(module)
        assert not failed, name
        ran += n
    assert ran >= 2
