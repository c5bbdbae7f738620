"""The sheets of a job: cut from one run, none hides how the job stands, none says what is not for
its reader.
"""

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine.language.knowledge import KB
from whywire.engine.running.cache import load
from whywire.engine.work.price_file import INVENTED, starter
from whywire.engine.work.sheets import AUDIENCES

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
KILN, RANGE = str(JOBS / "kiln.yaml"), str(JOBS / "scenarios" / "range-in-pipe.yaml")
WORKSHOP = str(JOBS / "scenarios" / "workshop-feeder.yaml")


@pytest.fixture(scope="module")
def mine(tmp_path_factory) -> str:
    """Prices that do not say of themselves that they are invented."""
    file = tmp_path_factory.mktemp("prices") / "mine.csv"
    file.write_text(starter(load((KB / "work",), "2023")).replace(INVENTED, "ours"))
    return str(file)


@pytest.fixture(scope="module")
def invented(tmp_path_factory) -> str:
    file = tmp_path_factory.mktemp("prices") / "starter.csv"
    file.write_text(starter(load((KB / "work",), "2023")))
    return str(file)


def said(capsys, *words: str) -> tuple[int, str]:
    code = main([*words])
    return code, capsys.readouterr().out


@pytest.mark.parametrize("audience", AUDIENCES[:-1])  # nothing is handed over that is not right
@pytest.mark.parametrize("form", ["text", "markdown", "html"])
def test_every_sheet_says_first_how_the_job_stands(capsys, mine, audience, form):
    code, out = said(capsys, "sheet", KILN, "--for", audience, "--as", form, "--prices", mine)
    assert code == 0
    assert (
        out.index("NOT RIGHT") < out.index("as mended") < out.index("boxes entered")
        if (audience in ("office", "customer"))
        else out.index("NOT RIGHT") < out.index("as mended")
    )
    assert "DRAFT" not in out


def test_an_offer_shows_no_formula_and_an_inspector_no_price(capsys, mine):
    _, offer = said(capsys, "sheet", RANGE, "--for", "customer", "--prices", mine)
    assert "Total" in offer and "USD" in offer
    assert "×" not in offer and "margin" not in offer.lower() and "Overhead" not in offer
    _, seen = said(capsys, "sheet", RANGE, "--for", "inspector")
    assert "USD" not in seen and "Total" not in seen and "Why after" not in seen


def test_the_total_of_the_offer_is_that_of_the_office(capsys, mine):
    totals = set()
    for audience in ("office", "customer"):
        _, out = said(capsys, "sheet", RANGE, "--for", audience, "--prices", mine)
        totals |= set(re.findall(r"^  Total +([\d,.]+)", out, re.M))
    assert len(totals) == 1
    _, price = said(capsys, "price", RANGE, "--prices", mine)
    assert re.findall(r"^TOTAL +([\d,.]+)", price, re.M) == [*totals]


def test_an_offer_at_invented_prices_is_a_draft_or_nothing(capsys, invented):
    code, out = said(capsys, "sheet", RANGE, "--for", "customer", "--prices", invented)
    assert code == 1 and out == (
        "No sheet: its prices are invented. With --draft it is printed, and says so.\n"
    )
    code, out = said(capsys, "sheet", RANGE, "--for", "customer", "--prices", invented, "--draft")
    assert code == 0 and "DRAFT" in out and "INVENTED PRICES" in out


def test_the_least_is_no_offer(capsys, mine):
    code, out = said(capsys, "sheet", WORKSHOP, "--for", "customer", "--prices", mine)
    assert code == 1 and "the least it can be" in out


def test_what_is_not_right_is_printed_as_a_draft_alone(capsys, tmp_path):
    """A second kiln on the circuit, and nothing known that mends it."""
    job = tmp_path / "job.yaml"
    text = (JOBS / "kiln.yaml").read_text().split("expect:")[0]
    job.write_text(text.replace("current: 48 A, power: 11520 W", "current: 400 A"))
    for audience in ("helper", "inspector"):
        code, out = said(capsys, "sheet", str(job), "--for", audience)
        assert code == 1 and out.startswith("No sheet: the job is NOT RIGHT.")
        code, out = said(capsys, "sheet", str(job), "--for", audience, "--draft")
        assert code == 0 and out.index("DRAFT") < out.index("NOT RIGHT")


def test_four_questions_of_this_very_job_with_their_answers(capsys):
    _, out = said(capsys, "sheet", KILN, "--for", "helper", "--json")
    sections = {each["title"]: each["rows"] for each in json.loads(out)["sections"]}
    asked, answers = sections["Four questions before lunch"], sections["Answers, for whoever asks"]
    assert [row["text"][:2] for row in asked] == [row["text"][:2] for row in answers]
    assert "55 ft" in answers[0]["text"] and "spare" in asked[1]["text"]
    _, pipe = said(capsys, "sheet", RANGE, "--for", "helper")
    assert "trench" not in pipe.lower() and "staple" not in pipe.lower()


def test_a_helper_sees_each_caution_once_and_at_its_task(capsys):
    _, out = said(capsys, "sheet", WORKSHOP, "--for", "helper")
    lines = [line.strip() for line in out.split("\n")]
    care = [line for line in lines if line.startswith("CAREFUL")]
    assert len(care) == len(set(care)) > 3
    dig = next(at for at, line in enumerate(lines) if "dig the trench" in line and "." in line[:4])
    marked = next(at for at, line in enumerate(lines) if line.startswith("1. have the utilities"))
    assert any(marked < at < dig and line.startswith("CAREFUL") for at, line in enumerate(lines))


def test_an_inspector_sees_each_requirement_once_with_all_its_places(capsys):
    _, out = said(capsys, "sheet", WORKSHOP, "--for", "inspector", "--json")
    rows = [row["text"] for each in json.loads(out)["sections"][:-1] for row in each["rows"]]
    assert len(rows) == len(set(rows))
    titles = [each["title"] for each in json.loads(out)["sections"]]
    assert titles[0] == "Look at: underground" and "Look at: stage not said" not in titles


@pytest.mark.parametrize(
    "job, rule, title",
    [
        ("services/one-rod-in-wet-clay", "emergency-label-colors", "Look at: service"),
        ("services/one-rod-in-wet-clay", "ribbon-over-a-lateral", "Look at: underground"),
        ("services/one-rod-in-wet-clay", "rod-goes-down", "Look at: underground"),
        ("services/one-rod-in-wet-clay", "water-piping-is-bonded", "Look at: service"),
        (
            "services/one-rod-in-wet-clay",
            "service-neutral-for-its-load",
            "Reckoned from what was told",
        ),
        (
            "services/new-service-and-panel-for-a-house",
            "drip-loop-at-the-head",
            "Look at: service",
        ),
        ("old-work/aluminum-of-the-sixties", "wires-of-a-joint", "Look at: rough"),
        ("old-work/aluminum-of-the-sixties", "receptacle-on-aluminum", "Look at: final"),
    ],
)
def test_what_one_looks_at_is_not_said_to_be_reckoned(capsys, job, rule, title):
    """Common practice, no source: a label, a loop or a joint is seen; an ampacity is reckoned."""
    file = str(JOBS / f"{job}.yaml")
    _, out = said(capsys, "sheet", file, "--for", "inspector", "--draft", "--json")
    says = str(load((KB / "work",), "2023").rules[rule].d["says"])
    found = {
        each["title"]
        for each in json.loads(out)["sections"]
        for row in each["rows"]
        if says in row["text"]
    }
    assert found == {title}


def test_every_place_that_says_when_a_rule_is_seen_is_there():
    k = load((KB / "work",), "2023")
    files = {rule.at[0].removesuffix(".yaml") for rule in k.rules.values()}
    stages = {str(row["stage"]) for row in k.tables["stages-of-work"].rows}
    for row in k.tables["seen"].rows:
        where = str(row["where"])
        named = where in k.rules or where in k.absent  # absent: of another edition
        assert named or any(f == where or f.startswith(where + "/") for f in files), where
        assert str(row["stage"]) in stages and str(row["how"]) in ("look", "reckoned")
    judging = [rule for rule in k.rules.values() if rule.verb in ("must", "must not", "should")]
    rows = {str(row["where"]) for row in k.tables["seen"].rows}
    unsaid = {
        rule.at[0]
        for rule in judging
        if rule.id not in rows
        and not any(rule.at[0].removesuffix(".yaml").startswith(where) for where in rows)
    }
    assert unsaid == set()


class Page(HTMLParser):
    """What a page is made of; every tag closed."""

    EMPTY = {"meta", "br"}

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in self.EMPTY:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_a_page_has_no_script_fetches_nothing_and_is_whole(capsys, mine):
    _, out = said(capsys, "sheet", KILN, "--for", "office", "--as", "html", "--prices", mine)
    page = Page()
    page.feed(out)
    assert page.open == [] and "script" not in page.tags and "link" not in page.tags
    assert page.tags.count("h1") == 1 and ("lang", "en") in page.attributes
    assert not {name for name, _ in page.attributes} & {"src", "href", "onclick"}
    # the name of what a picture is written in is fetched by nobody
    assert "http" not in out.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert "url(" not in out and "@import" not in out and "break-inside: avoid" in out


def test_a_title_is_text_on_every_form(capsys, tmp_path):
    job = tmp_path / "job.yaml"
    text = (JOBS / "scenarios" / "range-in-pipe.yaml").read_text()
    job.write_text(text.replace("job: Induction range", 'job: "<b>Range</b> *one*"\n# '))
    _, page = said(capsys, "sheet", str(job), "--for", "helper", "--as", "html")
    assert "<b>" not in page and "&lt;b&gt;Range" in page
    _, mark = said(capsys, "sheet", str(job), "--for", "helper", "--as", "markdown")
    assert "\\<b\\>Range\\</b\\> \\*one\\*" in mark
