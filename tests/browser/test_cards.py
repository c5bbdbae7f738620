"""Every card of every kind of job, its note, its reasons and its file, on a phone: nothing that
axe-core finds in light or in dark, nothing wider than the phone, with text of twice the size too.
"""

from __future__ import annotations

import pytest
from every_card import kinds, screens
from sweeps import sweep

PHONE = {"width": 360, "height": 740}
ALL = "async () => (await axe.run()).violations.map(v => v.id + ': ' + v.nodes[0].html)"
# what dark changes are colours alone
COLOURS = "async () => (await axe.run({runOnly: ['color-contrast']})).violations.map(v => v.id)"
WIDE = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
SMALL = """() => [...document.querySelectorAll('button, label.pick, a.take, select, input.typed')]
  .filter(one => one.getBoundingClientRect().height < 24).map(one => one.outerHTML)"""
seen: set[str] = set()  # cards that were looked at for another kind


@pytest.fixture(scope="module")
def sheet(browser):
    context = browser.new_context(viewport=PHONE, device_scale_factor=1)
    yield context.new_page()
    context.close()


@sweep("kind", kinds())
def test_each_card_is_read_by_anybody(sheet, axe, kind):
    looked = 0
    for name, whole in screens(kind):
        if name in seen:
            continue
        seen.add(name) if name.isidentifier() else None
        looked += 1
        sheet.emulate_media(color_scheme="light")
        sheet.set_content(whole)
        sheet.evaluate(axe + "; 0")
        assert sheet.evaluate(ALL) == [], name
        assert sheet.evaluate(WIDE) <= 0, name
        assert sheet.evaluate(SMALL) == [], name
        sheet.emulate_media(color_scheme="dark")
        assert sheet.evaluate(COLOURS) == [], name
        sheet.evaluate("document.documentElement.style.fontSize = '200%'")
        assert sheet.evaluate(WIDE) <= 0, f"{name}, text at 200 %"
    assert looked or seen
