"""The one screen of the survey: what a form sends, in; HTML, out. In process, without a browser."""

from __future__ import annotations

import html
import re

import pytest

from whywire.cli.page.command import front, saver
from whywire.cli.page.front import Front
from whywire.cli.show_note import show_note
from whywire.engine import inspect
from whywire.engine.answering.note import note_of

HEAD = [("job", "Kiln, north studio"), ("permit date", "2026-01-05"), ("edition", "2023")]
KILN = [
    ("a", "kind|Kiln"),
    ("a", "plate|48 A"),
    ("a", "instr|No"),
    ("a", "cords|Two flat and a round hole, 50 A (welder, kiln)"),
    ("a", "stands|Garage, shop or barn"),
    ("a", "route|Inside a finished wall or ceiling · 35 ft"),
]
TODAY = "2026-01-05"


@pytest.fixture(scope="module")
def page() -> Front:
    return front()


def shown(page: Front, *fields: tuple[str, str]) -> str:
    return page.inside([*HEAD, *fields], TODAY)


def words(said: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", said)).split())


def forms(said: str) -> list[list[tuple[str, str]]]:
    """The hidden fields of every form, in order."""
    return [
        [
            (html.unescape(name), html.unescape(value))
            for name, value in re.findall(r'type="hidden" name="([^"]*)" value="([^"]*)"', form)
        ]
        for form in re.findall(r"<form.*?</form>", said, re.S)
    ]


def test_the_first_screen_asks_whose_law_it_is(page):
    said = page.inside([], TODAY)
    assert 'name="job"' in said and 'value="2026-01-05"' in said
    assert all(f"<option>{year}</option>" in said for year in (2017, 2020, 2023, 2026))
    without = page.inside([("job", "Kiln")], "")
    assert 'role="alert"' in without and 'name="edition"' in without


def test_an_answer_leads_to_the_next_card_and_the_line(page):
    said = shown(page, *KILN, ("do", "next"), ("card", "more"), ("choice", "That is the panel"))
    # 125 % of 48 A is 60 A (210.19(A)(1)); 6 AWG at 60 C carries 55 A, 4 AWG 70 A (Table 310.16)
    assert "60 A 2-pole · 4-3 NM-B · ground 8 AWG" in words(said)
    assert "What kind of building is it?" in words(said)
    for form in forms(said):
        assert form[: len(HEAD)] == HEAD
        assert [f for f in form if f[0] == "a"] == [*KILN, ("a", "more|That is the panel")]


@pytest.mark.parametrize(
    ("sent", "why"),
    [
        ([("choice", "Purple")], "number of an answer"),
        ([("choice", "")], "choose an answer"),
        ([], "choose an answer"),
    ],
)
def test_a_slip_is_told_and_nothing_is_lost(page, sent, why):
    said = shown(page, *KILN, ("do", "next"), ("card", "more"), *sent)
    assert why in words(said) and 'role="alert"' in said
    assert [f for f in forms(said)[0] if f[0] == "a"] == KILN


def test_a_card_that_is_not_asked_takes_no_answer(page):
    said = shown(page, *KILN, ("do", "next"), ("card", "plate"), ("entry", "30 A"))
    assert "not the one that is asked" in words(said)
    assert ("a", "plate|48 A") in forms(said)[0]


@pytest.mark.parametrize("again", ["99", "-1", "x", "1e9", "٣"])
def test_an_answer_that_is_not_there_is_not_changed(page, again):
    for sent in ([("do", f"again {again}")], [("do", "next"), ("card", "plate"), ("again", again)]):
        assert "no such answer" in words(shown(page, *KILN, *sent))


def test_a_changed_answer_tells_what_it_moves_and_what_counts_no_more(page):
    said = words(
        shown(page, *KILN, ("do", "next"), ("card", "plate"), ("again", "1"), ("entry", "24 A"))
    )
    # 125 % of 24 A is 30 A; 10 AWG at 60 C carries 30 A (Table 310.16, 240.4(D))
    assert "30 A 2-pole, was 60 A 2-pole." in said and "10-2 NM-B, was 4-3 NM-B." in said
    swap = [("a", "kind|Range"), ("a", "work|Yes, swap the appliance")]
    there = [("a", "plate|12 kW"), ("a", "sizes_there|50 A, 8 AWG")]
    new = [("card", "work"), ("again", "1"), ("choice", "No, all new")]
    said = words(shown(page, *swap, *there, ("do", "next"), *new))
    assert "No longer used: What numbers are on the breaker that is there" in said
    assert "(no longer used)" in said


def test_every_word_of_the_line_says_why(page):
    said = shown(page, *KILN)
    whys = re.findall(r'name="do" value="(why [^"]*)"', said)
    assert len(whys) >= 4
    for why in whys:
        section = words(shown(page, *KILN, ("do", why)).partition("<section")[2])
        assert "Nothing of that name" not in section
    told = words(shown(page, *KILN, ("do", "why size of conductors")))
    assert "55 A >= 60 A? No, 5 A short." in told and "210.19(A)(1)" in told
    assert "Nothing of that name" in words(shown(page, *KILN, ("do", "why circuits/x")))


def test_the_note_of_the_page_has_the_words_of_the_terminal(page):
    """Word for word what inspect prints of the file that the page gives."""
    from whywire.engine.basics.reading import read_yaml

    file = html.unescape(
        re.search(r"<pre>(.*?)</pre>", shown(page, *KILN, ("do", "file")), re.S)[1]
    )
    note = note_of(inspect(read_yaml(file, "page.yaml")))
    told = words(shown(page, *KILN, ("do", "note")))
    for line in show_note(note, 10_000)[1:]:
        said = " ".join("".join(said for said, _ in line).split())
        # a page has a button where a command has a flag
        assert said.replace("(--walk)", "(The walk)").replace(": --care)", ": Care)") in told
    assert "--" not in told


def test_why_it_is_asked_says_what_each_answer_leads_to(page):
    pipe = [
        *KILN[:-1],
        ("a", "route|On the wall surface (garage, shop) · 35 ft"),
        ("a", "more|That is the panel"),
    ]
    said = words(shown(page, *pipe, ("a", "dwelling|House"), ("do", "ask marked75")))
    # 60 A of load: 6 AWG is 65 A at 75 C and 55 A at 60 C (Table 310.16, 110.14(C))
    assert re.search(r"Both 60 A 2-pole · 6 AWG THWN-2", said)
    assert re.search(r"Neither 60 A 2-pole · 4 AWG THWN-2", said)
    said = words(page.inside([*HEAD, ("a", "kind|Kiln"), ("do", "ask plate")], TODAY))
    assert "these stay open: breaker, wire, ground" in said


MARKUP = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>&amp;"


@pytest.mark.parametrize(
    "name",
    ["job", "place", "permit date", "edition", "a", "card", "choice", "entry", "do", "again"],
)
def test_markup_in_any_field_is_text(page, name):
    fields = [(n, v) for n, v in (*HEAD, *KILN, ("do", "next"), ("card", "more")) if n != name]
    for said in (MARKUP, f"kind|{MARKUP}", f"{MARKUP}|Kiln", f"again {MARKUP}", f"why {MARKUP}"):
        drawn = page.inside([*fields, (name, said)], TODAY, [("_mark", "m")])
        assert "<script" not in drawn and "<img" not in drawn


def test_a_job_is_never_written_over_another(page, tmp_path):
    save = saver(tmp_path)
    for count in (1, 2, 3):
        said = page.inside([*HEAD, *KILN, ("do", "save")], TODAY, (), save)
        assert "Written to" in words(said) and len(list(tmp_path.iterdir())) == count
    assert (tmp_path / "kiln-north-studio-3.yaml").exists()
    assert inspect(str(tmp_path / "kiln-north-studio.yaml")).exit_code == 1  # the 50 A receptacle


@pytest.mark.parametrize(
    "title", ["../../etc/passwd", "/etc/passwd", "a/b\\c", "....", "CON", "\0x"]
)
def test_a_title_names_no_other_folder(page, tmp_path, title):
    save = saver(tmp_path)
    page.inside([("job", title), *HEAD[1:], *KILN, ("do", "save")], TODAY, (), save)
    assert [path.parent for path in tmp_path.rglob("*")] == [tmp_path]


def test_a_page_without_a_folder_saves_nothing(page):
    said = shown(page, *KILN, ("do", "save"))
    assert 'value="save"' not in said and "Written" not in said


def test_a_page_that_remembers_shows_what_one_does_that_keeps_nothing(page):
    """Byte for byte: on, back to an earlier page, changed, under another law, and a job from its
    file; a page that a server shows keeps nothing.
    """
    own = Front(page.begun, page.work, page.places, page.editions, page.look, remembers=True)
    other = [HEAD[0], HEAD[1], ("edition", "2020")]
    end = [("do", "next"), ("card", "more"), ("choice", "That is the panel")]
    sent = [
        [*HEAD, *KILN, *end],
        [*HEAD, *KILN, ("a", "more|That is the panel"), ("do", "note")],
        [*HEAD, *KILN[:3], ("do", "back")],
        [*HEAD, *KILN, ("do", "next"), ("card", "plate"), ("again", "1"), ("entry", "24 A")],
        [*other, *KILN, *end],
        [*HEAD, *KILN, *end],
        [*HEAD, *KILN, *end],
    ]
    assert page.last is None and [own.inside(one, TODAY) for one in sent] == [
        page.inside(one, TODAY) for one in sent
    ]
    assert [answer.card for answer in own.last.survey.answers][-1] == "more"
