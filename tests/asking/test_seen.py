"""What a survey at the terminal shows of the job so far, when it is asked by `s`."""

from __future__ import annotations

import html
import re

import pytest

from whywire.cli.main import main
from whywire.cli.page import pages
from whywire.cli.surveys import begun, seen
from whywire.engine.front import Wrong, load, price_starter
from whywire.engine.language.knowledge import KB

KILN = [
    ("kind", "Kiln"),
    ("plate", "48 A"),
    ("instr", "No"),
    ("cords", "Wired straight in"),
    ("route", "Inside a finished wall or ceiling · 35 ft"),
    ("more", "That is the panel"),
]


@pytest.fixture(scope="module")
def kiln():
    return begun("2023", "2026-01-05", None, "Kiln").with_answers(KILN)


def shown(survey, said: str) -> str:
    return "\n".join(seen(survey, said.split(), 80))


@pytest.mark.parametrize("name", pages.PAGES)
def test_each_page_is_shown_no_wider_than_the_terminal(kiln, name):
    said = shown(kiln, name).splitlines()
    assert said[0] == pages.PAGES[name].heading and len(said) > 1
    assert all(len(line) <= 80 for line in said)
    if name not in pages.PRICED:
        assert "--walk" not in "".join(said) and "--care" not in "".join(said)


def test_a_page_with_prices_takes_their_file(kiln, tmp_path):
    file = tmp_path / "own prices.csv"
    file.write_text(price_starter(load((KB / "work",), "2023")), encoding="utf-8")
    assert "no price without your own prices" in " ".join(shown(kiln, "price").split())
    assert "TOTAL" in shown(kiln, f"price {file}").upper()
    with pytest.raises(Wrong):
        shown(kiln, f"price {tmp_path / 'none.csv'}")


def test_a_word_of_the_line_says_why_and_why_not(kiln):
    place = [fact for _, fact in kiln.pieces].index("size of conductors") + 1
    assert "210.19(A)(1)" in shown(kiln, f"why {place}")
    # 125 % of 48 A is 60 A (210.19(A)(1)); 6 AWG at 60 C carries 55 A (Table 310.16)
    assert "55 A >= 60 A?  No, 5 A short." in shown(kiln, f"whynot {place} 6 AWG")
    for said in ("why", "why 0", "why 99", "why x", f"whynot {place}", "whynot", "nothing"):
        with pytest.raises(Wrong):
            shown(kiln, said)


PRINTED = [*pages.PAGES, "why 2", "whynot 2 6 AWG"]


@pytest.mark.parametrize("name", PRINTED)
def test_each_page_is_one_file_to_share_or_print(kiln, name, tmp_path):
    file = tmp_path / "page.html"
    asked = name.split()
    if name in pages.PRICED:
        prices = tmp_path / "prices.csv"
        prices.write_text(price_starter(load((KB / "work",), "2023")), encoding="utf-8")
        asked.append(str(prices))
    said = list(seen(kiln, [*asked, str(file)], 80))
    assert "Written to" in " ".join(said)
    whole = file.read_text(encoding="utf-8")
    told = [line.strip() for line in shown(kiln, " ".join(asked)).splitlines()]
    # what the terminal shows, whole, under the head of the job; nothing that is fetched
    assert f"<h2>{html.escape(told[0])}</h2>" in whole and "NEC 2023" in whole
    assert (
        "<style>" in whole and "src=" not in whole and "http" not in whole.partition("</style>")[2]
    )
    text = " ".join(html.unescape(re.sub(r"<[^>]+>", " ", whole)).split())
    assert all(word in text for line in told for word in line.split() if word.isalnum())
    with pytest.raises(Wrong):
        list(seen(kiln, [*asked, str(file)], 80))  # no file is written over


def test_s_alone_says_what_there_is(kiln):
    said = " ".join(shown(kiln, "").split())
    assert all(f"s {name}" in said for name in pages.PAGES) and "2 4-3 NM-B" in said


def test_s_is_no_answer_and_the_card_is_put_again(monkeypatch, capsys):
    typed = iter(["Kiln", "s note", "s moat", "48 A", "q"])
    monkeypatch.setattr("builtins.input", lambda *prompt: next(typed))
    assert main(["survey", "--edition", "2023"]) == 3
    said = capsys.readouterr().out
    assert said.count("What does its nameplate say?") >= 3 and "The note" in said
    assert "s with one of note, walk" in said and "So far: 60 A 2-pole" in said
