"""A sheet as a page: nothing that axe-core finds, no wider than a phone, nothing fetched, in light
and dark, at twice the size and in print, where no row and no picture is cut.
"""

import pytest

from whywire.cli.main import main
from whywire.engine.language.knowledge import KB
from whywire.engine.running.cache import load
from whywire.engine.work.price_file import INVENTED, starter
from whywire.engine.work.sheets import AUDIENCES

PHONE = {"width": 360, "height": 740}
LETTER = {"width": 701, "height": 940}  # 8-1/2 by 11 in less its margins, at 96 to the inch
RUN = "async () => (await axe.run()).violations.map(v => v.id + ': ' + v.nodes[0].html)"
WIDE = "() => document.documentElement.scrollWidth <= innerWidth"
# what may be parted between two sheets of paper, and what stands out at the side
CUT = """() => [...document.querySelectorAll('li, figure, h2, .standing, .draft')]
  .filter(it => getComputedStyle(it).breakInside !== 'avoid').map(it => it.outerHTML)"""
OUT = """() => [...document.querySelectorAll('li, svg, text, p')]
  .filter(it => it.getBoundingClientRect().right > innerWidth + 1).map(it => it.outerHTML)"""
SMALL = """() => [...document.querySelectorAll('li, p, h1, h2')]
  .filter(it => parseFloat(getComputedStyle(it).fontSize) < 13).length"""
JOBS = ["scenarios/range-in-pipe", "scenarios/workshop-feeder", "scenarios/kiln-on-a-small-service"]


@pytest.fixture(scope="module")
def sheets(tmp_path_factory):
    """The sheets of a job for everybody, at prices that are somebody's own."""
    folder = tmp_path_factory.mktemp("sheets")
    prices = folder / "mine.csv"
    prices.write_text(starter(load((KB / "work",), "2023")).replace(INVENTED, "ours"))
    made = {}
    for job in JOBS:
        for audience in AUDIENCES:
            file = folder / f"{job.replace('/', '-')}-{audience}.html"
            made[job, audience] = file
    return prices, made


def page_of(browser, sheets, job, audience, capsys, **how):
    prices, made = sheets
    file = made[job, audience]
    if not file.exists():
        words = ["sheet", str(KB / "jobs" / f"{job}.yaml"), "--for", audience, "--as", "html"]
        assert main([*words, "--prices", str(prices), "--draft"]) == 0
        file.write_text(capsys.readouterr().out, encoding="utf-8")
    page = browser.new_context(viewport=PHONE, **how).new_page()
    page.fetched = []
    page.on("request", lambda request: page.fetched.append(request.url))
    page.goto(file.as_uri())
    return page


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("audience", AUDIENCES)
@pytest.mark.parametrize("job", JOBS)
def test_a_sheet_on_a_phone(browser, axe, sheets, job, audience, scheme, capsys):
    page = page_of(browser, sheets, job, audience, capsys, color_scheme=scheme)
    assert len(page.fetched) == 1 and page.fetched[0].startswith("file:")
    assert page.evaluate("() => document.scripts.length") == 0
    page.add_script_tag(content=axe)
    assert page.evaluate(RUN) == []
    assert page.evaluate(WIDE) and page.evaluate(OUT) == [] and page.evaluate(SMALL) == 0
    page.evaluate("() => { document.documentElement.style.fontSize = '200%' }")
    assert page.evaluate(WIDE)
    page.context.close()


@pytest.mark.parametrize("audience", AUDIENCES)
def test_a_sheet_on_paper(browser, sheets, audience, capsys):
    """Each row, picture and heading says that it is not to be cut, and the paper is a letter's."""
    page = page_of(browser, sheets, JOBS[1], audience, capsys, color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    page.set_viewport_size(LETTER)
    assert page.evaluate(CUT) == [] and page.evaluate(OUT) == []
    # dark on white, whatever the screen was
    ink = page.evaluate("() => getComputedStyle(document.documentElement).color")
    assert max(int(part) for part in ink.strip("rgb()").split(",")) < 64
    data = page.pdf(prefer_css_page_size=True)
    assert data.startswith(b"%PDF") and b"/MediaBox [0 0 612 792]" in data
    page.context.close()
