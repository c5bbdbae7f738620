"""A browser throws away what it keeps: the job is found again from the file that was taken; and a
job's file is gone on with on the page that has no server, which reads it by itself.
"""

from __future__ import annotations

from pathlib import Path

from page_host import DAY, hosted
from test_page import KILN, LINE, Phone

BEGUN = """\
job: Old stable  # by the lane
edition: 2023
circuits:
  kiln: {load: {type: kiln, current: 48 A, rated voltage: 240 V}, volts: 240 V}
"""


def answered(phone: Phone, steps) -> None:
    for question, choice, typed in steps:
        phone.answer(question, choice, typed)
        phone.page.get_by_role("group", name=question).wait_for(state="detached")


def test_a_job_is_found_again_from_its_file_when_storage_is_wiped(browser, axe, site, tmp_path):
    server = hosted(site)
    address = f"http://127.0.0.1:{server.server_port}/"
    try:
        phone = Phone(browser, axe)
        phone.page.goto(address)
        phone.begin("Kiln, north studio")
        answered(phone, KILN)
        with phone.page.expect_download() as taken:
            phone.page.get_by_role("link", name="Take the file").click()
        file = tmp_path / taken.value.suggested_filename
        taken.value.save_as(file)
        before = phone.line()
        assert before.startswith(LINE)
        phone.context.close()  # with its caches, its service worker, its address and its history

        phone = Phone(browser, axe)
        phone.page.goto(address)
        phone.page.get_by_label("The file of the job").set_input_files(file)
        phone.look()
        phone.page.get_by_role("button", name="Open the job").click()
        phone.page.locator(".line").wait_for()
        assert phone.line() == before
        phone.look()
        said = phone.page.locator("main").inner_text()
        assert "NEC 2023" in said and f"Law of {DAY.isoformat()}, " in said and "48 A" in said
        phone.page.reload()  # what was opened is in the address too
        phone.page.locator(".line").wait_for()
        assert phone.line() == before and phone.said == []
        phone.context.close()
    finally:
        server.shutdown()
        server.server_close()


def test_a_file_written_by_hand_is_gone_on_with(browser, axe, site, tmp_path):
    file = tmp_path / "stable.yaml"
    file.write_text(BEGUN, encoding="utf-8")
    phone = Phone(browser, axe)
    phone.page.goto((site / "whywire.html").as_uri())
    phone.page.get_by_label("The file of the job").set_input_files(file)
    phone.page.get_by_role("button", name="Open the job").click()
    phone.page.locator(".line").wait_for()
    assert "60 A 2-pole" in phone.line() and "Old stable" in phone.page.locator("h1").inner_text()
    for name, heading in (("Parts", "What it takes"), ("Order of work", "What is done first")):
        phone.page.get_by_role("button", name=name, exact=True).click()
        phone.page.get_by_role("heading", name=heading).wait_for()
    with phone.page.expect_download() as taken:
        phone.page.get_by_role("link", name="Take this as one file").click()
    whole = Path(taken.value.path()).read_text(encoding="utf-8")
    assert taken.value.suggested_filename == "old-stable-order.html" and "NEC 2023" in whole
    file.write_text(BEGUN.replace("2023", "2020"), encoding="utf-8")
    phone.page.goto("about:blank")
    phone.page.goto((site / "whywire.html").as_uri())
    phone.page.get_by_label("The file of the job").set_input_files(file)
    phone.page.get_by_role("button", name="Open the job").click()
    alert = phone.page.get_by_role("alert")
    alert.wait_for()
    assert "holds no law for 2020" in alert.inner_text() and phone.said == []
    phone.context.close()
