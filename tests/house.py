"""How the code reads, in numbers: `python tests/house.py`. A script; tests/test_house.py judges
three of its rows.

A function's complexity is one more than its branches: if, for, while, except, assert, the
conditional expression, each further operand of `and` and `or`, each loop and condition of a
comprehension. What a function defines inside itself is counted with that, not with it.
"""

from __future__ import annotations

import ast
import re
import tokenize
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
WIDEST = 100  # columns
BRANCHES = (ast.If, ast.For, ast.AsyncFor, ast.While, ast.ExceptHandler, ast.Assert, ast.IfExp)


@dataclass(frozen=True)
class Function:
    path: Path
    name: str
    line: int
    complexity: int
    node: ast.FunctionDef

    def __str__(self) -> str:
        return f"{self.path.relative_to(ROOT)}:{self.line} {self.name} {self.complexity}"


def modules(*rooms: str) -> list[Path]:
    """The modules of engine/ and cli/, or of the rooms named."""
    folders = [ROOT / room for room in rooms or ("engine", "cli")]
    return sorted(path for folder in folders for path in folder.rglob("*.py"))


def functions(paths: list[Path]) -> list[Function]:
    """Every function of *paths*, those that stand inside others too."""
    return [
        Function(path, node.name, node.lineno, complexity(node), node)
        for path in paths
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef)
    ]


def complexity(function: ast.FunctionDef) -> int:
    """One more than the branches of a function.

    >>> complexity(ast.parse("def f(x):\\n  return 1 if x and x > 2 else 0").body[0])
    3
    """
    return 1 + sum(_branches(node) for node in _own(function))


def _own(node: ast.AST) -> Iterator[ast.AST]:
    """What stands in a function and not in one that it defines inside itself."""
    for child in ast.iter_child_nodes(node):
        if not isinstance(child, ast.FunctionDef):
            yield child
            yield from _own(child)


def _branches(node: ast.AST) -> int:
    if isinstance(node, ast.BoolOp):
        return len(node.values) - 1
    if isinstance(node, ast.comprehension):
        return 1 + len(node.ifs)
    return int(isinstance(node, BRANCHES))


def wide_lines(paths: list[Path]) -> list[str]:
    """Lines over 100 columns, but for texts over several lines that are no Python (YAML, a style
    sheet).
    """
    out = []
    for path in paths:
        lines = path.read_text(encoding="utf-8").splitlines()
        texts = _lines_of_texts(path)
        out += [
            f"{path.relative_to(ROOT)}:{n}"
            for n, line in enumerate(lines, 1)
            if len(line) > WIDEST and n not in texts
        ]
    return out


def _lines_of_texts(path: Path) -> set[int]:
    with tokenize.open(path) as file:
        tokens = [t for t in tokenize.generate_tokens(file.readline) if t.type == tokenize.STRING]
    return {n for t in tokens if t.end[0] > t.start[0] for n in range(t.start[0], t.end[0] + 1)}


def names_of_one_letter(path: Path) -> tuple[int, int]:
    """How many names that a module binds have one letter, outside comprehensions; and how many
    it binds.
    """
    tree = ast.parse(path.read_text(encoding="utf-8"))
    within = {
        id(name)
        for node in ast.walk(tree)
        if isinstance(node, ast.comprehension)
        for name in ast.walk(node.target)
    }
    bound = [
        node.id
        for node in ast.walk(tree)
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store) and id(node) not in within
    ]
    bound += [node.arg for node in ast.walk(tree) if isinstance(node, ast.arg)]
    return sum(len(name) == 1 and name != "_" for name in bound), len(bound)


def rows() -> list[tuple[str, str]]:
    """Each measure with what it comes to."""
    paths = modules()
    lines = [line for p in paths for line in p.read_text(encoding="utf-8").splitlines()]
    code = [line for line in lines if line.strip()]
    every = functions(paths)
    over = [f for f in every if f.complexity > 15]
    one, bound = (sum(column) for column in zip(*map(names_of_one_letter, paths), strict=True))
    own = sum(bool(re.match(r"\s*#", line)) for line in code)
    public = [f for f in every if not f.name.startswith("_")]
    raising = [f for f in public if any(isinstance(n, ast.Raise) for n in _own(f.node))]
    said = [f for f in raising if "Raises" in (ast.get_docstring(f.node) or "")]
    return [
        ("modules, lines", f"{len(paths)}, {len(lines):,}"),
        ("characters a line", f"{sum(map(len, code)) / len(code):.1f}"),
        (f"lines over {WIDEST} columns", str(len(wide_lines(paths)))),
        ("functions", f"{len(every):,}"),
        ("mean complexity", f"{sum(f.complexity for f in every) / len(every):.1f}"),
        ("functions over 15", f"{100 * len(over) / len(every):.1f} %"),
        ("functions over 25", str(sum(f.complexity > 25 for f in every))),
        ("names of one letter, outside comprehensions", f"{100 * one / bound:.1f} %"),
        ("lines that are comments", f"{100 * own / len(code):.1f} %"),
        ("public functions that raise and say what", f"{len(said)} of {len(raising)}"),
    ]


if __name__ == "__main__":
    for name, value in rows():
        print(f"{name:45} {value}")
