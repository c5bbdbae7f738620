"""The pages of a surveyed job, and a job begun from its file: in process, without a browser."""

from __future__ import annotations

import datetime
import html
import json
import re
from urllib.parse import unquote

import pytest

from whywire.cli import works
from whywire.cli.arguments import parser
from whywire.cli.page import pages
from whywire.cli.page.command import front
from whywire.cli.page.front import Front
from whywire.engine.front import load, price_starter
from whywire.engine.language.knowledge import KB

HEAD = [("job", "Kiln, north studio"), ("permit date", "2026-01-05"), ("edition", "2023")]
KILN = [
    ("a", "kind|Kiln"),
    ("a", "plate|48 A"),
    ("a", "instr|No"),
    ("a", "cords|Wired straight in"),
    ("a", "route|Inside a finished wall or ceiling · 35 ft"),
    ("a", "more|That is the panel"),
]
TODAY = "2026-01-05"
TWO = """\
job: Two of them  # the corner lot
edition: 2023
permit date: 2026-01-05
circuits:
  kiln:
    load: {type: kiln, current: 48 A, rated voltage: 240 V}
    volts: 240 V
  dryer:
    load: {type: clothes dryer, connection: cord and plug, power: 5 kW}
    volts: 120/240 V
"""
ONE = TWO.partition("  dryer")[0]


@pytest.fixture(scope="module")
def page() -> Front:
    return front()


def shown(page: Front, *fields: tuple[str, str]) -> str:
    return page.inside([*HEAD, *fields], TODAY)


def words(said: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", said)).split())


def hidden(said: str) -> list[tuple[str, str]]:
    """The fields that the first form keeps."""
    form = re.search(r"<form.*?</form>", said, re.S)[0]
    found = re.findall(r'type="hidden" name="([^"]*)" value="([^"]*)"', form)
    return [(html.unescape(name), html.unescape(value)) for name, value in found]


def section(said: str) -> str:
    return words(re.search(r"<section.*?</section>", said, re.S)[0])


@pytest.fixture(scope="module")
def prices() -> str:
    return price_starter(load((KB / "work",), "2023"))


# ---- each page says what its command says --------------------------------------------------------


def printed(path, *command: str) -> list[str]:
    """What a command prints of a job's file, in one line and without its title."""
    asked = parser(command[0], lambda: 10_000).parse_args([command[0], str(path), *command[1:]])
    out: list = []
    works.run(asked, out.extend, 10_000, out.append)
    lines = ["".join(said for said, _ in line) for line in out[1:]]
    return [" ".join(line.split()) for line in lines if line.strip()]


@pytest.mark.parametrize(
    ("name", "command"),
    [
        ("parts", ["parts"]),
        ("order", ["order"]),
        ("price", ["price"]),
        ("helper", ["sheet", "--for", "helper", "--draft"]),
        ("inspector", ["sheet", "--for", "inspector", "--draft"]),
        ("office", ["sheet", "--for", "office", "--draft"]),
        ("customer", ["sheet", "--for", "customer", "--draft"]),
        ("handover", ["sheet", "--for", "handover", "--draft"]),
    ],
)
def test_a_page_has_the_words_of_the_command(page, tmp_path, prices, name, command):
    said = shown(page, *KILN, ("do", "file"))
    file = tmp_path / "kiln.yaml"
    file.write_text(html.unescape(re.search(r"<pre>(.*?)</pre>", said, re.S)[1]), encoding="utf-8")
    own = tmp_path / "prices.csv"
    own.write_text(prices, encoding="utf-8")
    if name in pages.PRICED:
        command = [*command, "--prices", str(own)]
    sent = [*HEAD, *KILN, ("do", name), ("prices", prices)]
    told = section(page.inside(sent, datetime.date.today().isoformat()))
    expected = printed(file, *command)
    assert len(expected) > 3
    whole = True
    for line in expected:
        if re.fullmatch("[A-Z ]{5,}", line):
            whole = line != "IF IT IS FOUND"  # what is run whole at a terminal alone
        if whole and "DRAFT" not in line:
            assert line.replace("(--shop)", "(a pack of your own)") in told


def test_what_needs_prices_asks_for_them_and_takes_no_name_of_a_file(page, tmp_path, prices):
    own = tmp_path / "prices.csv"
    own.write_text(prices, encoding="utf-8")
    for name in pages.PRICED:
        said = shown(page, *KILN, ("do", name))
        assert "no price without your own prices" in section(said)
        assert 'type="file" name="prices"' in said and 'enctype="multipart/form-data"' in said
        assert "no price without" not in section(
            shown(page, *KILN, ("do", name), ("prices", prices))
        )
        named = section(shown(page, *KILN, ("do", name), ("prices", str(own))))
        assert "Total" not in named and "the file of prices" not in named


def test_ways_out_are_those_of_fix(page):
    plug = ("a", "cords|Two flat and a round hole, 50 A (welder, kiln)")
    kiln = [*KILN[:3], plug, *KILN[4:]]
    told = section(shown(page, *kiln, ("do", "fix")))
    # a single receptacle on its own circuit is rated no less than the circuit, 210.21(B)(1)
    assert "1 thing to fix." in told and "210.21(B)(1)" in told


@pytest.mark.parametrize("do", ["why size of conductors", "whynot size of conductors"])
def test_a_reason_is_one_file_to_share_or_print(page, do):
    said = shown(page, *KILN, ("do", do), ("other", "6 AWG"))
    name, address = re.search(r'download="([^"]*why[^"]*)" href="([^"]*)"', said).groups()
    whole = unquote(html.unescape(address))
    assert name == f"kiln-north-studio-{'why-not' if do.startswith('whynot') else 'why'}.html"
    # 6 AWG at 60 C carries 55 A (Table 310.16), and 125 % of 48 A is 60 A (210.19(A)(1))
    assert "55 A" in whole and "60 A" in whole and "NEC 2023" in whole and "<script" not in whole


def test_another_value_is_told_why_it_is_not(page):
    ask = ("do", "whynot size of conductors")
    told = section(shown(page, *KILN, ask, ("other", "6 AWG")))
    # 125 % of 48 A is 60 A (210.19(A)(1)); 6 AWG at 60 C carries 55 A (Table 310.16)
    assert "6 AWG NM-B is 5 A too small" in told and "55 A >= 60 A? No, 5 A short." in told
    told = section(shown(page, *KILN, ask, ("other", "purple")))
    assert "purple" in told and "NO." not in told


def test_a_page_is_taken_as_one_file_that_needs_nothing(page):
    for name in ("note", "walk", "care", "fix", "parts", "order", "helper", "inspector"):
        said = shown(page, *KILN, ("do", name))
        link = re.search(r'download="([^"]*)" href="data:text/html;charset=utf-8,([^"]*)"', said)
        assert link[1] == f"kiln-north-studio-{name}.html"
        whole = unquote(html.unescape(link[2]))
        assert whole.startswith("<!doctype html>") and "<style>/* The one look" in whole
        for needed in ("<script", "<form", "<button", '<link rel="stylesheet', "http"):
            assert needed not in whole
        assert "NEC 2023" in whole and section(said).removesuffix(
            " Take this as one file, to share or print"
        ) in words(whole.partition("<body>")[2])


# ---- a job begun before --------------------------------------------------------------------------


def test_a_job_is_gone_on_with_from_its_file(page):
    said = page.inside([("job file", ONE)], TODAY)
    assert "Two of them" in words(said) and "60 A 2-pole" in words(said)
    kept = hidden(said)
    assert ("a", "kind|Kiln") in kept and ("a", "plate|48 A") in kept
    asked = re.search(r'name="card" value="(\w+)"', said)[1]
    assert asked not in ("plate", "kind")
    more = page.inside([*kept, ("do", "file")], TODAY)
    file = html.unescape(re.search(r"<pre>(.*?)</pre>", more, re.S)[1])
    assert file.startswith("job: Two of them\nedition: 2023\n") and "current: 48 A" in file


def test_which_circuit_is_asked_and_a_new_one_is_begun(page):
    said = page.inside([("job file", TWO)], TODAY)
    assert "Which circuit" in words(said) and 'value="dryer"' in said
    kept = hidden(said)
    dryer = page.inside([*kept, ("circuit", "dryer")], TODAY)
    assert ("a", "kind|Dryer") in hidden(dryer)
    new = page.inside([*kept, ("circuit", "a new one")], TODAY)
    assert "What are you feeding?" in words(new)
    sent = [("do", "next"), ("card", "kind"), ("choice", "Kiln")]
    third = page.inside([*hidden(new), *sent], TODAY)
    file = page.inside([*hidden(third), ("do", "file")], TODAY)
    for circuit in ("  kiln:", "  dryer:", "  kiln 2:"):
        assert circuit in html.unescape(file)


def test_what_a_page_wrote_it_goes_on_with(page):
    """Taken as a file from a page that forgot everything: the same line, and the answers that told
    something.
    """
    before = shown(page, *KILN)
    file = html.unescape(
        re.search(r"<pre>(.*?)</pre>", shown(page, *KILN, ("do", "file")), re.S)[1]
    )
    after = page.inside([("job file", file)], TODAY)
    line = re.compile(r'class="line".*?</p>', re.S)
    assert words(line.search(before)[0]) == words(line.search(after)[0])
    silent = ("a", "instr|No")  # says nothing in a file, and is asked again
    assert [f for f in hidden(after) if f[0] == "a"] == [f for f in KILN if f != silent]


@pytest.mark.parametrize(
    ("file", "why"),
    [
        ("", "this file says nothing"),
        ("}{", "not YAML"),
        ("- 1", "mapping"),
        ("job: x\npacks: [/etc]\nedition: 2023\n", "names packs"),
        ("job: x\nedition: 1999\n", "no edition"),
        ("job: " + "x" * 60_001, "longer than a job"),
        (f"job: x\nedition: 2023\ncircuits: {'[' * 400}{']' * 400}\n", ""),
    ],
)
def test_a_file_that_is_no_job_is_told(page, file, why):
    said = page.inside([("job file", file)], TODAY)
    assert 'role="alert"' in said and why in words(said)
    assert 'name="job file"' in said  # and another may be opened


@pytest.mark.parametrize(
    "kept",
    [
        "",
        "x",
        "[]",
        "{}",
        json.dumps({"circuit": "kiln", "rest": []}),
        json.dumps({"circuit": 3, "rest": {}}),
        json.dumps({"circuit": "kiln", "rest": {"packs": ["/etc"], "edition": "2023"}}),
        "[" * 100_000,
        '{"rest":' * 5_000,
    ],
)
def test_what_no_page_kept_is_refused(page, kept):
    said = page.inside([*HEAD, ("begun", kept), *KILN], TODAY)
    assert 'role="alert"' in said and 'class="line"' not in said


def test_each_screen_says_the_law_its_day_and_its_digest(page):
    digest = load((), "2023", "2026-01-05").digest[:12]
    asks = [("do", name) for name in (*pages.PAGES, "file", "why size of conductors", "ask plate")]
    for sent in [KILN[:count] for count in range(len(KILN) + 1)] + [[*KILN, ask] for ask in asks]:
        told = words(shown(page, *sent))
        assert "NEC 2023" in told and f"Law for a permit of 2026-01-05, rules {digest}" in told
    place = [("job", "Kiln"), ("place", "Kestrel County"), ("permit date", "2026-01-05")]
    assert re.search(r"NEC 20\d\d, Kestrel County", words(page.inside([*place, *KILN], TODAY)))
