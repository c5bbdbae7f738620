"""`whywire page build`: the page that needs no server and no signal, written into a folder.

It runs the engine in the browser, by a Python in WebAssembly that is brought along (Pyodide, from
npm). What it keeps of the knowledge is made by that very Python, under node.
"""

from __future__ import annotations

import datetime
import json
import shutil
import subprocess
import tempfile
import zipfile
from hashlib import sha256
from pathlib import Path
from typing import Any

import networkx
import yaml

from ...engine.front import (
    Fault,
    Faults,
    Place,
    days_alike,
    folders_of_work,
    in_force,
    knowledge_written,
    load_anew,
    read_bodies,
)
from . import single

HERE = Path(__file__).parent
ALONE, LOOK = HERE / "alone", HERE / "look.css"
SHELL = ("index.html", "page.js", "start.js", "worker.js", "manifest.webmanifest")
OF_PYODIDE = ("pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm", "pyodide-lock.json")
MADE = ("code.zip", "laws.zip", "python_stdlib.zip")
SNAPSHOT = "snapshot.bin"  # which the page does without where it does not wake
SHORT = 12  # characters of a digest that a person compares


def build(site: Path, pyodide: Path, laws: list[dict[str, str]], day: datetime.date) -> list[Path]:
    """Write the page into *site*, with the law of *laws* (each `edition` or `place`) on *day*;
    returns the files.

    Raises:
        Faults: what is needed is not there, or a law is not known.
    """
    node = _what_is_needed(site, pyodide)
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        _sources(work / "source.zip")
        digest = _laws(work / "laws.zip", laws, day)
        site.mkdir(parents=True, exist_ok=True)
        _run([node, str(ALONE / "make.mjs"), str(pyodide), str(work), str(site)])
    for name in SHELL:
        shutil.copyfile(ALONE / name, site / name)
    shutil.copyfile(LOOK, site / "look.css")
    kept = ["./", "look.css", *SHELL[1:], *OF_PYODIDE, *MADE]
    worker = (ALONE / "sw.js").read_text(encoding="utf-8")
    worker = worker.replace("FILES_OF_BUILD", json.dumps(kept))
    worker = worker.replace("BUILD", _digest_of(site, [*kept[1:], SNAPSHOT]))
    (site / "sw.js").write_text(worker, encoding="utf-8")
    (site / "whywire.html").write_text(single.whole(site, digest), encoding="utf-8")
    return sorted(site.iterdir())


def _what_is_needed(site: Path, pyodide: Path) -> str:
    """Where node is.

    Raises:
        Faults: there is no node, no Pyodide, or the folder holds something already.
    """
    faults = []
    node = shutil.which("node")
    if node is None:
        faults.append(Fault("no-node", Place("node"), "node is not installed", "install node 20"))
    missing = [name for name in OF_PYODIDE if not (pyodide / name).is_file()]
    if missing:
        todo = "npm install --ignore-scripts pyodide, and name its folder with --pyodide"
        what = f"no Pyodide is here: {missing[0]} is missing"
        faults.append(Fault("no-pyodide", Place(str(pyodide)), what, todo))
    if site.is_dir() and any(site.iterdir()) and not (site / "laws.zip").is_file():
        what = "this folder holds something that is no page of ours"
        faults.append(Fault("not-empty", Place(str(site)), what, "name an empty folder"))
    if faults:
        raise Faults(faults)
    assert node is not None
    return node


def _sources(path: Path) -> None:
    """Our own code as one archive."""
    root = HERE.parent.parent
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("whywire/__init__.py", "")
        for room in ("engine", "cli"):
            for source in sorted((root / room).rglob("*.py")):
                archive.write(source, f"whywire/{source.relative_to(root)}")
        # what reads a job's file that a person opens there; it needs no library of the system
        for source in sorted(Path(yaml.__file__).parent.glob("*.py")):
            archive.write(source, f"yaml/{source.name}")
        # what puts the work in order
        graphs = Path(networkx.__file__).parent
        for source in sorted(graphs.rglob("*.py")):
            within = source.relative_to(graphs.parent)
            if "tests" not in within.parts:
                archive.write(source, str(within))


def _laws(path: Path, laws: list[dict[str, str]], day: datetime.date) -> str:
    """The knowledge of each law, and what they are; their digest."""
    told: list[dict[str, Any]] = []
    with zipfile.ZipFile(path, "w") as archive:
        for number, said in enumerate(laws):
            date = day.isoformat()
            job: dict[str, Any] = {**said, "permit date": date}
            force = in_force(job, "the page", (), said.get("edition"), date, said.get("place"))
            known = load_anew(force.folders, force.edition, force.date, examples=False)
            folders = folders_of_work(force)
            work = load_anew(folders, force.edition, force.date, examples=False)
            file, of_work = f"law-{number}.bin", f"work-{number}.bin"
            archive.writestr(file, knowledge_written(known))
            archive.writestr(of_work, knowledge_written(work))
            start, end = days_alike((*force.folders, *folders), date)
            told.append(
                {
                    "place": said.get("place", ""),
                    "edition": str(known.edition),
                    "file": file,
                    "work": of_work,
                    "digest": known.digest,
                    "from": start,
                    "until": end,
                }
            )
        digest = sha256("".join(law["digest"] for law in told).encode()).hexdigest()[:SHORT]
        about = {
            "day": day.isoformat(),
            "digest": digest,
            "laws": told,
            "cards": read_bodies(),
            "look": LOOK.read_text(encoding="utf-8"),
        }
        archive.writestr("laws.json", json.dumps(about))
    return digest


def _run(command: list[str]) -> None:
    """Run a program. Raises Faults with what it said where it fails."""
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        what = f"the page could not be made: {done.stderr.strip()[-1500:]}"
        raise Faults([Fault("not-made", Place(command[1]), what, "node 20 and Pyodide are needed")])


def _digest_of(site: Path, names: list[str]) -> str:
    """What tells one build from another: of every file that is kept."""
    whole = sha256()
    for name in names:
        whole.update((site / name).read_bytes())
    return whole.hexdigest()[:SHORT]
