"""Boxes to tick where all that fits is told at once, and a second circuit in the same job."""

from __future__ import annotations

import html
import re

import pytest

from whywire.cli.page.command import front
from whywire.cli.page.front import Front

HEAD = [("job", "Barn"), ("permit date", "2026-01-05"), ("edition", "2023")]
PANEL = [*HEAD, ("a", "kind|Another panel in the same building")]
TODAY = "2026-01-05"


@pytest.fixture(scope="module")
def page() -> Front:
    return front()


def card(said: str) -> str:
    """The form that asks."""
    return next(form for form in re.findall(r"<form.*?</form>", said, re.S) if "<fieldset" in form)


def answers(said: str) -> list[str]:
    form = re.search(r"<form.*?</form>", said, re.S)[0]
    return [html.unescape(one) for one in re.findall(r'name="a" value="([^"]*)"', form)]


def file_of(page: Front, *fields: tuple[str, str]) -> str:
    said = page.inside([*fields, ("do", "file")], TODAY)
    return html.unescape(re.search(r"<pre>(.*?)</pre>", said, re.S)[1])


def test_all_that_fit_are_ticked(page):
    asked = card(page.inside(PANEL, TODAY))
    assert "All that fit" in asked and 'type="radio"' not in asked
    boxes = re.findall(r"<input[^>]*checkbox[^>]*>", asked)
    assert len(boxes) > 3 and not any("required" in box or "checked" in box for box in boxes)


def test_what_is_ticked_is_told_at_once(page):
    send = [("do", "next"), ("card", "feeds"), ("choice", "Lights and plugs"), ("choice", "Welder")]
    said = page.inside([*PANEL, *send], TODAY)
    assert answers(said)[-1] == "feeds|Lights and plugs + Welder"
    file = file_of(page, *PANEL, ("a", answers(said)[-1]))
    assert "lights and plugs:" in file and "welder:" in file and "car charger" not in file


def test_what_was_ticked_is_ticked_again_and_changed(page):
    told = [*PANEL, ("a", "feeds|Lights and plugs + Welder")]
    again = card(page.inside([*told, ("do", "again 1")], TODAY))
    ticked = re.findall(r'value="([^"]*)" checked', again)
    assert ticked == ["Lights and plugs", "Welder"]
    send = [("do", "next"), ("card", "feeds"), ("again", "1"), ("choice", "Welder")]
    assert answers(page.inside([*told, *send], TODAY))[-1] == "feeds|Welder"


def test_nothing_ticked_is_asked_back_and_not_known_is_taken(page):
    said = page.inside([*PANEL, ("do", "next"), ("card", "feeds")], TODAY)
    assert "choose an answer" in html.unescape(said) and len(answers(said)) == 1
    said = page.inside([*PANEL, ("do", "unknown"), ("card", "feeds"), ("choice", "Welder")], TODAY)
    assert answers(said)[-1] == "feeds|don't know"


def test_what_no_card_says_is_not_ticked(page):
    send = [("do", "next"), ("card", "feeds"), ("choice", "Welder"), ("choice", "A moat")]
    said = page.inside([*PANEL, *send], TODAY)
    assert 'role="alert"' in said and len(answers(said)) == 1


def ended(page: Front, fields: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """The fields of a page whose last card is answered, with nothing known."""
    for _ in range(40):
        said = page.inside(fields, TODAY)
        asked = re.search(r'name="card" value="(\w+)"', said)
        if asked is None:
            return fields
        said = page.inside([*fields, ("do", "unknown"), ("card", asked[1])], TODAY)
        fields = [*HEAD, *(("a", one) for one in answers(said))]
    raise AssertionError("the survey does not end")


def test_a_second_circuit_is_surveyed_in_the_same_job(page):
    kiln = [("a", "kind|Kiln"), ("a", "plate|48 A")]
    before = ended(page, [*HEAD, *kiln])
    said = page.inside(before, TODAY)
    assert 'value="another"' in said and "That is all that has to be asked." in said
    begun = page.inside([*before, ("do", "another")], TODAY)
    assert "What are you feeding?" in card(begun) and answers(begun)[-1] == "another|Another one"
    fields = [*HEAD, *(("a", one) for one in answers(begun))]
    send = [("do", "next"), ("card", "kind"), ("choice", "Kiln")]
    second = answers(page.inside([*fields, *send], TODAY))
    file = file_of(page, *HEAD, *(("a", one) for one in second))
    assert "  kiln:" in file and "  kiln 2:" in file and "current: 48 A" in file


def test_a_second_circuit_is_not_begun_before_the_first_is_told(page):
    before = [*HEAD, ("a", "kind|Kiln"), ("a", "plate|48 A")]
    said = page.inside([*before, ("do", "another")], TODAY)
    assert not any(one.startswith("another|") for one in answers(said))
