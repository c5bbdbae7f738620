"""Run by the Python of the page, when it is made: what is kept is of the version that reads it.

In: /source (our code), /laws (the knowledge of each law, and what is said of it). Out: /made.
"""

from __future__ import annotations

import ast
import importlib
import py_compile
import sys
import zipfile
from pathlib import Path

SOURCE, MADE = Path("/source"), Path("/made")


def made() -> None:
    """Make everything."""
    sys.path.insert(0, str(SOURCE))
    MADE.mkdir()
    sources = sorted(SOURCE.rglob("*.py"))
    # A survey of every kind: what one can run is emitted here and not on a phone.
    alone = importlib.import_module("whywire.cli.page.alone")
    alone.warm()
    for name in sorted(set().union(*map(imported_in, sources))):
        try:
            importlib.import_module(name)
        except ImportError:  # an extra, which the page does not have
            pass
    alone.keep()
    code_of(sources)
    with deflated("laws.zip") as laws:
        for law in sorted(Path("/laws").iterdir()):
            laws.write(law, law.name)
    library_in_use()


def imported_in(path: Path) -> set[str]:
    """The modules that *path* imports anywhere in it, by whole names."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and not node.level and node.module:
            found.add(node.module)
    return found


def deflated(name: str) -> zipfile.ZipFile:
    """An archive to write to."""
    return zipfile.ZipFile(MADE / name, "w", zipfile.ZIP_DEFLATED, compresslevel=9)


def code_of(sources: list[Path]) -> None:
    """The bytecode of *sources*, without them."""
    one = str(MADE / "one.pyc")
    unchecked = py_compile.PycInvalidationMode.UNCHECKED_HASH
    with deflated("code.zip") as code:
        for source in sources:
            py_compile.compile(str(source), one, optimize=2, invalidation_mode=unchecked)
            code.write(one, f"{source.relative_to(SOURCE)}c")


def library_in_use() -> None:
    """Of Python's own library the modules that were imported."""
    specs = [getattr(module, "__spec__", None) for module in list(sys.modules.values())]
    used = {spec.origin for spec in specs if spec and spec.origin}
    library = next(path for path in sys.path if path.endswith("zip"))
    with zipfile.ZipFile(library) as whole, deflated("python_stdlib.zip") as part:
        for name in whole.namelist():
            if any(origin.endswith(f"zip/{name}") for origin in used):
                part.writestr(name, whole.read(name))


if __name__ == "__main__":
    made()
