"""Every page that is written has the one look, and is read by anybody: rule book, sheet, note."""

from __future__ import annotations

import html
import re
from urllib.parse import unquote

import pytest

from whywire.cli.look import look
from whywire.cli.main import main

PHONE = {"width": 360, "height": 740}
RUN = "async () => (await axe.run()).violations.map(v => v.id + ': ' + v.nodes[0].html)"
WIDE = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
JOB = """\
job: Kiln of the north studio
edition: 2023
circuits:
  kiln:
    load: {type: kiln, current: 48 A, rated voltage: 240 V}
    volts: 240 V
    segments: [{method: NM-B, length: 35 ft}]
"""
HEAD = [("job", "Kiln"), ("edition", "2023"), ("a", "kind|Kiln"), ("a", "plate|48 A")]


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Pages of each sort: name -> HTML."""
    from whywire.cli.page.command import front

    folder = tmp_path_factory.mktemp("looks")
    (folder / "kiln.yaml").write_text(JOB, encoding="utf-8")
    assert main(["book", "--to", str(folder / "book")]) == 0
    book = folder / "book"
    pages = {"book": (book / "index.html").read_text(encoding="utf-8")}
    # a long table, a wide one, and a rule whose place is a long word
    for name in ("habits", "conductor-sizes", "rods-far-apart"):
        pages[name] = next(book.rglob(f"{name}.html")).read_text(encoding="utf-8")
    for name in ("note", "fix", "parts", "helper", "inspector"):
        said = front().inside([*HEAD, ("do", name)], "2026-01-05")
        link = re.search(r'href="data:text/html;charset=utf-8,([^"]*)"', said)
        pages[name] = unquote(html.unescape(link[1]))
    return pages


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_written_page(browser, axe, written, scheme):
    context = browser.new_context(viewport=PHONE, color_scheme=scheme)
    page = context.new_page()
    for name, whole in written.items():
        assert look() in whole, name
        page.set_content(whole)
        page.evaluate(axe + "; 0")
        assert page.evaluate(RUN) == [], name
        assert page.evaluate(WIDE) <= 0, name
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        assert page.evaluate(WIDE) <= 0, f"{name}, text at 200 %"
    context.close()
