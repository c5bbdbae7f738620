"""A browser, where there is one: Chromium of the system's packages, driven by playwright; what npm
brings (tests/browser/package.json). Where one is missing the tests say so and are skipped;
WHYWIRE_BROWSER=1 makes a missing one a failure.
"""

from __future__ import annotations

import os
import shutil
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from page_host import DAY

HERE = Path(__file__).parent
MODULES = HERE / "node_modules"
MUST = os.environ.get("WHYWIRE_BROWSER") == "1"


def missing(what: str) -> None:
    if MUST:
        pytest.fail(f"{what} is missing, and WHYWIRE_BROWSER=1 says that it is there")
    pytest.skip(f"{what} is missing: see tests/browser/conftest.py")


@pytest.fixture(scope="session")
def axe() -> str:
    """What judges a page."""
    file = MODULES / "axe-core" / "axe.min.js"
    if not file.is_file():
        missing("axe-core (npm ci --ignore-scripts in tests/browser)")
    return file.read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def pyodide() -> Path:
    """The Python of the page."""
    if not (MODULES / "pyodide" / "pyodide.mjs").is_file():
        missing("pyodide (npm ci --ignore-scripts in tests/browser)")
    if not shutil.which("node"):
        missing("node")
    return MODULES / "pyodide"


@pytest.fixture(scope="session")
def brought() -> Callable[[str], Path]:
    """Where a file of a package of npm is."""

    def find(name: str) -> Path:
        if not (MODULES / name).is_file():
            missing(f"{name} (npm ci --ignore-scripts in tests/browser)")
        return MODULES / name

    return find


@pytest.fixture(scope="session")
def browser():
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing("playwright (pip install '.[browser]')")
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        missing("chromium")
    with sync_playwright() as driver:
        # without the second it looks for its maker's hosts, where there may be no network
        arguments = ["--no-sandbox", "--disable-background-networking", "--disable-dev-shm-usage"]
        started = driver.chromium.launch(executable_path=path, args=arguments)
        yield started
        started.close()


@pytest.fixture(scope="session")
def site(pyodide, tmp_path_factory) -> Path:
    """The page that needs no server, built once."""
    from whywire.cli.page.build import build

    folder = tmp_path_factory.mktemp("site")
    build(folder, pyodide, [{"edition": "2023"}], DAY)
    return folder


@pytest.fixture
def served():
    """The page served on this machine: its address."""
    from whywire.cli.page.command import front
    from whywire.cli.page.server import Server

    server = Server(front(), lambda: "2026-01-05", None)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server.address
    server.shutdown()
    server.server_close()
