"""mypy over engine/ and cli/, every definition typed: `python tests/typed.py`, which prints what it
finds and ends with 1 where it finds anything. tests/test_house.py judges the same.

The package is called `whywire.engine` and its folder `engine`: what joins the two is the install,
which mypy does not ask. It is shown a folder `whywire` with both in it, made in its own cache.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
CACHE = ROOT / ".mypy_cache"  # what did not change is not read again: seconds instead of a minute


def found(package: str = "whywire", folders: tuple[Path, ...] = ()) -> list[str]:
    """What mypy finds in the *folders* (engine/ and cli/), told by the paths of the repository.

    Raises:
        RuntimeError: mypy could not do its work.
    """
    there = CACHE / "packages"
    for folder in folders or (ROOT / "engine", ROOT / "cli"):
        _show(folder, there / package / folder.name)
    how = ["--config-file", str(ROOT / "pyproject.toml"), "--cache-dir", str(CACHE)]
    ran = subprocess.run(
        [sys.executable, "-m", "mypy", *how, "--no-error-summary", "-p", package],
        cwd=there,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    if ran.returncode > 1 or ran.stderr:
        raise RuntimeError(ran.stdout + ran.stderr)
    return [line.removeprefix(package + os.sep) for line in ran.stdout.splitlines()]


def _show(folder: Path, at: Path) -> None:
    """Have *folder* be at *at*, too."""
    at.parent.mkdir(parents=True, exist_ok=True)
    if at.is_symlink():
        at.unlink()
    elif at.is_dir():
        shutil.rmtree(at)
    try:
        at.symlink_to(folder, target_is_directory=True)
    except OSError:  # a system that lets nobody make links
        shutil.copytree(folder, at)


if __name__ == "__main__":
    lines = found()
    print("\n".join(lines) or "mypy finds nothing")
    sys.exit(1 if lines else 0)
