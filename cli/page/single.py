"""The page as one file: everything in it, to be opened from a folder without any server."""

from __future__ import annotations

import base64
import gzip
import html
from pathlib import Path

PARTS = (
    "pyodide.mjs",
    "pyodide.asm.mjs",
    "pyodide.asm.wasm",
    "python_stdlib.zip",
    "code.zip",
    "laws.zip",
)
HERE = Path(__file__).parent


def whole(site: Path, digest: str) -> str:
    """The page of *site* as one file of HTML; *digest* is that of its laws."""
    parts = "\n".join(
        f'<script type="application/x-part" id="{name}">{_packed(site / name)}</script>'
        for name in PARTS
    )
    start = (HERE / "alone" / "one_file.js").read_text(encoding="utf-8")
    start = start.replace("LOCK_OF_BUILD", (site / "pyodide-lock.json").read_text(encoding="utf-8"))
    page = (site / "page.js").read_text(encoding="utf-8")
    page = page.replace('import { worker } from "./start.js";\n', "")
    look = (site / "look.css").read_text(encoding="utf-8")
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>whywire {html.escape(digest)}</title>"
        f'<link rel="icon" href="data:,"><style>{look}</style></head>'
        '<body><main><h1>whywire</h1><p role="status">Getting ready.</p></main>\n'
        f'{parts}\n<script type="module">\n{start}\n{page}</script></body></html>\n'
    )


def _packed(path: Path) -> str:
    return base64.b64encode(gzip.compress(path.read_bytes(), 9, mtime=0)).decode("ascii")
