"""What is handed over: only of a job that is right as it is told; each saying by what is known."""

import json
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine.answering.sentences import FACT
from whywire.engine.language.knowledge import KB
from whywire.engine.running.cache import load
from whywire.engine.work.handover import ANY, HANDED, LEFT_OUT, NO_CELL

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
POST = str(JOBS / "vehicles" / "carport-post-set-behind-a-cover.yaml")
RANGE = str(JOBS / "scenarios" / "range-in-pipe.yaml")
EDITIONS = ("2017", "2020", "2023", "2026")


def sections(capsys, *words: str) -> dict[str, list[str]]:
    assert main(["sheet", *words, "--for", "handover", "--json"]) == 0
    made = json.loads(capsys.readouterr().out)["sections"]
    return {
        each["title"]: [" ".join([row["text"], *row["under"]]) for row in each["rows"]]
        for each in made
    }


def test_what_is_handed_over_of_a_charger_on_a_post(capsys, tmp_path):
    job = tmp_path / "post.yaml"
    text = Path(POST).read_text().split("expect:")[0]
    job.write_text(
        text + "head: {contractor: Two Wire Electric, call: 555-0100, notes: pays late}\n"
    )
    got = sections(capsys, str(job))
    assert any("40 A 2-pole" in line for line in got["What was put in"])
    assert any(
        line.startswith("van: its breaker (40 A); the lock-off") for line in got["Shut it off"]
    )
    assert any("press TEST on its GFCI" in line for line in got["Test every month"])
    assert "On the equipment: SET TO 32 A, ON A 40 A BREAKER" in got["Labels"]
    assert "In the panel's directory: VAN, 40 A [408.4(A)]" in got["Labels"]
    assert got["Settings"] == [
        "van: set to 32 A; a cover that takes a tool. A qualified person alone changes it, and"
        " looks at wire and breaker first."
    ]
    assert got["What was read"] == [
        "with the van plugged in: test load current, amps 31.6 A, circuit van passes"
    ]
    assert got["Whom to call"] == ["Two Wire Electric", "555-0100"]
    assert "the rest of Article 625" in got["Not covered"]
    assert "pays late" not in json.dumps(got)


def test_a_job_without_readings_says_that_nothing_says_it_was_tested(capsys):
    got = sections(capsys, RANGE)
    assert got["What was read"] == ["No reading is kept: nothing here says that it was tested."]
    assert "Test every month" not in got and "Settings" not in got


def test_nothing_is_handed_over_that_is_not_right_as_it_is_told(capsys):
    """A plan with a mend is right to build; what is there is not."""
    kiln = str(JOBS / "kiln.yaml")
    assert main(["sheet", kiln, "--for", "helper"]) == 0
    capsys.readouterr()
    assert main(["sheet", kiln, "--for", "handover"]) == 1
    assert "the job as it is told is NOT RIGHT" in " ".join(capsys.readouterr().out.split())
    assert main(["sheet", kiln, "--for", "handover", "--draft"]) == 0
    assert "DRAFT" in capsys.readouterr().out


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("name", [HANDED, LEFT_OUT, "conditions-found"])
def test_every_saying_reads_facts_that_there_are(edition, name):
    """A path that leads nowhere, or a choice that is none, would never be said."""
    k = load((KB / "work",), edition)
    for row in k.tables[name].rows:
        kind = str(row["about"] if "about" in row else row["kind"])
        tests = [] if row["when"] == NO_CELL else str(row["when"]).split(";")
        if "fact" in row:
            word = k.words.kinds[kind].words[str(row["fact"])]
            said = str(row["found"])
            assert said.startswith("+ ") or said in ("yes", "no") or said in word.type[1], row
        for test in tests:
            path, wanted = test.strip().split(" is ", 1)
            word = word_at(k, kind, path)
            if word is None:
                continue
            for value in wanted.split("|") if wanted != ANY else []:
                choices = ("yes", "no") if word.type[0] == "flag" else word.type[1]
                assert value in choices, (row, value)
        for path in FACT.findall(str(row["says"])):
            if path != "NAME":
                word_at(k, kind, path)  # raises where there is none


def word_at(k, kind: str, path: str):
    """The word at the end of a path; None of a name, which anything has."""
    *links, fact = reversed(path.split(" of "))
    for link in links:
        kind = k.words.kinds[kind].words[link].type[1]
    return None if fact == "name" else k.words.kinds[kind].words[fact]
