"""The paper of a quiz and its key as pages: nothing that axe-core finds, no wider than a phone, in
light and dark, with a picture among the questions.
"""

import pytest

from whywire.cli.main import main

PHONE = {"width": 360, "height": 740}
RUN = "async () => (await axe.run()).violations.map(v => v.id + ': ' + v.nodes[0].html)"
WIDE = "() => document.documentElement.scrollWidth <= innerWidth"


@pytest.fixture(scope="module")
def papers(tmp_path_factory):
    """The files of a quiz of the rooms that have pictures."""
    out = tmp_path_factory.mktemp("quiz") / "made"
    rooms = [word for room in ("boxes", "panels", "methods") for word in ("--room", room)]
    assert main(["quiz", "make", *rooms, "--number", "24", "--seed", "3", "--out", str(out)]) == 0
    return out


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["paper.html", "answers.html", "paper-b.html", "answers-b.html"])
def test_a_page_of_a_quiz(browser, axe, papers, name, scheme):
    context = browser.new_context(viewport=PHONE, color_scheme=scheme)
    page = context.new_page()
    page.goto((papers / name).as_uri())
    page.add_script_tag(content=axe)
    assert page.evaluate(RUN) == []
    assert page.evaluate(WIDE)
    if name == "paper.html":
        assert page.locator("svg[role=img]").count() >= 1
    context.close()
