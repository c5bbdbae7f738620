"""The survey as a person at a phone meets it, in Chromium: both fronts by one driver."""

from __future__ import annotations

import datetime
import json
import subprocess
from pathlib import Path

import pytest
from page_host import DAY, hosted

from whywire.engine import inspect

PHONE = {"width": 360, "height": 740}
WCAG = ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]
# What is said to each card; 125 % of 48 A is 60 A (210.19(A)(1)), 4 AWG at 60 C carries 70 A
KILN = [
    ("What are you feeding?", "Kiln", ""),
    ("What does its nameplate say?", "", "48 A"),
    ("Do its instructions name a breaker size?", "No", ""),
    ("Which of these does its plug fit, or is it wired straight in?", "Wired straight in", ""),
    ("From there back toward the panel, what does the wire go through?", "Inside a finished", "35"),
    ("And from there, what does it go through next?", "That is the panel", ""),
]
LINE = "60 A 2-pole · 4-3 NM-B · ground 8 AWG"


class Phone:
    """A page on a phone, with what is wrong about it."""

    def __init__(self, browser, axe: str, **how: object) -> None:
        self.context = browser.new_context(
            viewport=PHONE, device_scale_factor=2, has_touch=True, is_mobile=True, **how
        )
        self.context.set_default_timeout(60_000)
        self.page, self.axe = self.context.new_page(), axe
        self.said: list[str] = []
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))

    def look(self) -> None:
        """Nothing is wrong for a screen reader, and nothing stands out at the side."""
        self.page.evaluate(self.axe + "; 0")
        run = f"() => axe.run({{runOnly: {{type: 'tag', values: {json.dumps(WCAG)}}}}})"
        found = self.page.evaluate(run)["violations"]
        assert not found, [(one["id"], one["nodes"][0]["html"][:200]) for one in found]
        wide = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
        assert self.page.evaluate(wide) <= 0

    def begin(self, title: str, edition: str = "2023") -> None:
        self.page.get_by_label("What do you call the job?").fill(title)
        self.page.get_by_label("edition of the code").select_option(edition)
        self.page.get_by_role("button", name="Begin").click()

    def answer(self, question: str, choice: str, typed: str) -> None:
        self.page.get_by_role("group", name=question).wait_for()
        if choice:
            self.page.get_by_role("radio", name=choice).first.check()
        if typed:
            self.page.get_by_role("textbox").fill(typed)
        self.page.get_by_role("button", name="Next", exact=True).click()

    def line(self) -> str:
        return " ".join(self.page.locator(".line").inner_text().split())


@pytest.fixture(params=["light", "dark"])
def phone(browser, axe, request):
    shown = Phone(browser, axe, color_scheme=request.param)
    yield shown
    shown.context.close()


def surveyed(phone: Phone) -> None:
    phone.begin("Kiln, north studio")
    for question, choice, typed in KILN:
        phone.answer(question, choice, typed)
        phone.page.get_by_role("group", name=question).wait_for(state="detached")
        phone.look()
    assert phone.line().startswith(LINE)


def test_the_served_page(phone, served):
    phone.page.goto(served)
    phone.page.get_by_role("button", name="Open the survey here").click()
    phone.look()
    surveyed(phone)
    for asked in ("The note", "The walk", "Care", "Ways out", "See the file"):
        phone.page.get_by_role("button", name=asked, exact=True).click()
        phone.page.get_by_role("heading", level=2).first.wait_for()
        phone.look()
    phone.page.get_by_role("button", name="Why 4-3 NM-B?").click()
    phone.page.get_by_text("55 A >= 60 A?").first.wait_for()
    phone.look()
    assert phone.said == []


def test_the_served_page_needs_no_script(browser, served):
    page = browser.new_context(viewport=PHONE, java_script_enabled=False).new_page()
    page.goto(served)
    page.get_by_role("button", name="Open the survey here").click()
    page.get_by_label("What do you call the job?").fill("Kiln")
    page.get_by_label("edition of the code").select_option("2023")
    page.get_by_role("button", name="Begin").click()
    assert page.get_by_role("group", name="What are you feeding?").count() == 1
    page.context.close()


def test_text_of_twice_the_size_stays_in_the_page(browser, axe, served):
    phone = Phone(browser, axe)
    phone.page.goto(served)
    phone.page.get_by_role("button", name="Open the survey here").click()
    twice = "document.documentElement.style.fontSize = '200%'"
    phone.page.add_init_script(f"addEventListener('DOMContentLoaded', () => {{ {twice} }})")
    surveyed(phone)
    phone.context.close()


FOCUSED = """() => { const it = document.activeElement;
  return [it.tagName, it.getAttribute("aria-label") || it.labels?.[0]?.innerText.trim()
    || it.innerText.trim(), it.type || ""]; }"""
MOST_TABS = 60  # presses of the key to anything on a page


class Keys:
    """A page that is used by the keyboard alone: nothing is focused but by its keys."""

    def __init__(self, page) -> None:
        self.page = page

    def to(self, label: str, backward: bool = False) -> None:
        """Tab until what is called so is focused."""
        for _ in range(MOST_TABS):
            if self.page.evaluate(FOCUSED)[1].startswith(label):
                return
            self.page.keyboard.press("Shift+Tab" if backward else "Tab")
        raise AssertionError(f"no key leads to {label!r}")

    def press(self, label: str) -> None:
        self.to(label)
        self.page.keyboard.press("Enter")

    def type_in(self, label: str, said: str) -> None:
        self.to(label)
        self.page.keyboard.type(said)

    def choose(self, choice: str) -> None:
        """Tab to the answers, and go down them as far as *choice*."""
        for _ in range(MOST_TABS):
            if self.page.evaluate(FOCUSED)[2] == "radio":
                break
            self.page.keyboard.press("Tab")
        self.page.keyboard.press("Space")
        for _ in range(MOST_TABS):
            if self.page.evaluate(FOCUSED)[1].startswith(choice):
                return
            self.page.keyboard.press("ArrowDown")
        raise AssertionError(f"no key leads to {choice!r}")

    def answer(self, question: str, choice: str, typed: str) -> None:
        group = self.page.get_by_role("group", name=question)
        group.wait_for()
        if choice:
            self.choose(choice)
        if typed:
            for _ in range(MOST_TABS):
                if self.page.evaluate(FOCUSED)[2] == "text":
                    break
                self.page.keyboard.press("Tab")
            self.page.keyboard.type(typed)
        self.page.keyboard.press("Enter")
        group.wait_for(state="detached")


def by_keys_alone(page) -> None:
    """A whole survey from the first screen to its end, a reason, a change and a page of the job."""
    keys = Keys(page)
    keys.type_in("What do you call the job?", "Kiln, north studio")
    keys.to("or the edition of the code")
    page.keyboard.type("2023")
    keys.press("Begin")
    for question, choice, typed in KILN:
        keys.answer(question, choice, typed)
    keys.answer("What kind of building is it?", "House", "")
    page.get_by_role("heading", name="That is all that has to be asked.").wait_for()
    line = " ".join(page.locator(".line").inner_text().split())
    assert line.startswith(LINE)
    keys.press("Why 4-3 NM-B?")
    page.get_by_text("55 A >= 60 A?").first.wait_for()
    keys.press("The note")
    page.get_by_role("heading", name="The note").wait_for()
    keys.press("Change: What does its nameplate say?")
    keys.answer("What does its nameplate say?", "", "24 A")  # what a key leads to is typed over
    page.get_by_text("10-2 NM-B, was 4-3 NM-B.").wait_for()
    keys.to("Take the file")


def test_a_whole_survey_by_the_keyboard_alone(browser, served):
    page = browser.new_context().new_page()
    page.set_default_timeout(60_000)
    page.goto(served)
    Keys(page).press("Open the survey here")
    by_keys_alone(page)
    page.context.close()


def test_a_whole_survey_by_the_keyboard_alone_without_a_server(browser, site):
    page = browser.new_context().new_page()
    page.set_default_timeout(60_000)
    page.goto((site / "whywire.html").as_uri())
    page.get_by_role("button", name="Begin").wait_for()
    by_keys_alone(page)
    page.context.close()


def test_the_page_without_a_signal(phone, site):
    """Opened once; then with no network, opened again, surveyed, wiped, and found again."""
    server = hosted(site)
    try:
        phone.page.goto(f"http://127.0.0.1:{server.server_port}/")
        phone.page.get_by_role("button", name="Begin").wait_for()
        phone.page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
        server.shutdown()
        server.server_close()
        phone.context.set_offline(True)
        phone.page.reload()
        phone.page.get_by_role("button", name="Begin").wait_for()
        surveyed(phone)
        assert f"Law of {DAY.isoformat()}, " in phone.page.locator("main").inner_text()
        with phone.page.expect_download() as taken:
            phone.page.get_by_role("link", name="Take the file").click()
        file = Path(taken.value.path())
        assert taken.value.suggested_filename == "kiln-north-studio.yaml"
        assert "current: 48 A" in file.read_text(encoding="utf-8")
        phone.page.evaluate("() => { localStorage.clear(); sessionStorage.clear(); }")
        phone.page.reload()  # the job is in the address
        phone.page.locator(".line").wait_for()
        assert phone.line().startswith(LINE)
        phone.page.get_by_role("button", name="The note", exact=True).click()
        phone.page.get_by_role("heading", name="The note").wait_for()
        phone.look()
        assert phone.said == []
    finally:
        server.server_close()


def test_the_one_file_needs_no_server(browser, axe, site):
    phone = Phone(browser, axe)
    phone.page.goto((site / "whywire.html").as_uri())
    phone.page.get_by_role("button", name="Begin").wait_for()
    surveyed(phone)
    assert phone.said == []
    phone.context.close()


def test_an_old_page_says_so(site):
    same = Path(__file__).with_name("in_page.mjs")
    soon, late = (DAY + datetime.timedelta(days) for days in (180, 181))
    code = f"from whywire.cli.page.alone import age; [age('{soon}'), age('{late}')]"
    told = json.loads(ran(same, site, code))
    assert told[0].startswith(f"Law of {DAY}, ")
    assert told[1].startswith(f"This law is from {DAY}. Look for a newer page")


def ran(script: Path, site: Path, code: str, given: Path | None = None) -> str:
    """What Python code comes to, run by the Python of the page under node."""
    node = ["node", str(script), str(site), code, *([str(given)] if given else [])]
    done = subprocess.run(node, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


def test_an_answer_there_is_the_answer_here(site, tmp_path):
    """Byte for byte, of every shipped job that is under a law of the page; but for how that law was
    found, since a page has it and looks for none."""
    from whywire.engine.basics.reading import read_yaml
    from whywire.engine.language.knowledge import KB

    bodies, here = [], []
    for path in sorted((KB / "jobs").rglob("*.yaml")):
        body = json.loads(
            json.dumps(read_yaml(path.read_text(encoding="utf-8"), path.name), default=str)
        )
        if str(body.get("edition")) == "2023" and not body.get("place") and not body.get("packs"):
            bodies.append(body)
            here.append(inspect(body).as_dict())
    assert len(bodies) > 20
    script = Path(__file__).with_name("in_page.mjs")
    code = "from whywire.cli.page.alone import inspected; inspected(GIVEN, 'law-0.bin')"
    given = tmp_path / "jobs.json"
    given.write_text(json.dumps(bodies), encoding="utf-8")
    there = json.loads(ran(script, site, code, given))
    for body, mine, its in zip(bodies, here, there, strict=True):
        (law,), (found,) = its.pop("packs"), mine.pop("packs")
        assert law["digest"] == found["digest"]
        assert json.dumps(its) == json.dumps(mine), body["job"]
