"""What is usual for a quantity: anything else is asked about, told as meant it is taken, and nought
never is.
"""

import re
from pathlib import Path

import pytest

from whywire.engine import inspect
from whywire.engine.basics.errors import Collector, Faults
from whywire.engine.basics.reading import read_yaml
from whywire.engine.language.words import Words
from whywire.engine.running.cache import load
from whywire.engine.running.job import read_job
from whywire.engine.writing.schema import amount

KB = Path(__file__).resolve().parents[2] / "kb"


def told(circuit: dict) -> str:
    """The faults of a job with one circuit, or nothing."""
    try:
        read_job({"job": "x", "circuits": {"kiln": circuit}}, load())
    except Faults as faults:
        return str(faults)
    return ""


def current(text: str) -> str:
    return told({"load": {"type": "kiln", "current": text}})


@pytest.mark.parametrize(
    ("text", "meant"), [("48 mA", "48 A"), ("48 kA", "48 A"), ("0.05 A", ""), ("401 A", "")]
)
def test_an_amount_that_is_not_usual_is_asked_about(text, meant):
    said = current(text)
    assert f'"{text}" is not usual for the current of circuits.kiln.load' in said
    assert "0.1 A to 400 A" in said and f'write "{text} (meant)"' in said
    assert f"did you mean {meant}?" in said if meant else "did you mean" not in said
    assert not current(f"{text} (meant)") and not current(f"{text} (Meant)")


@pytest.mark.parametrize("text", ["0.1 A", "48 A", "400 A", "100 mA", "48 A (meant)"])
def test_what_is_usual_is_not(text):
    assert not current(text)


@pytest.mark.parametrize("text", ["0 A", "0 A (meant)", "0 mA"])
def test_nought_is_never_meant_where_the_usual_begins_above_it(text):
    assert "is not usual" in current(text) and "leave the line out" in current(text)


def test_the_temperature_of_another_scale_is_asked_about():
    def mark(text):
        return told({"load termination": {"temperature rating": text}})

    assert "did you mean 75 °C?" in mark("75 °F") and not mark("75 °C") and not mark("167 °F")
    assert not mark("not marked")
    assert "did you mean 120 °F?" in told({"segments": [{"ambient": "120 °C"}]})
    cold = told({"segments": [{"ambient": "-400 °F"}]})
    assert '"-400 °F" is not usual' in cold and '"-400 °F (meant)"' in cold
    assert not told({"segments": [{"ambient": "104 °F"}]})


@pytest.mark.parametrize(
    ("text", "near"),
    [
        ("61 A", "the nearest are 60 A and 70 A"),
        ("59.9 A", "the nearest are 50 A and 60 A"),
        ("12 A", "the nearest are 10 A and 15 A"),
    ],
)
def test_a_breaker_that_nobody_makes_is_asked_about(text, near):
    def breaker(text):
        return told({"breaker": {"rating": text}})

    assert near in breaker(text) and "standard-ratings" in breaker(text)
    assert not breaker(f"{text} (meant)")
    assert "leave the line out" in breaker("0 A (meant)")
    for made in ("15 A", "60 A", "70 A", "601 A", "10 A"):
        assert not breaker(made), made


def test_what_is_meant_is_reckoned_with():
    """A rating of an adjustable trip is no rating of the table, and is judged as any other."""
    job = read_yaml((KB / "jobs/kiln.yaml").read_text().replace("60 A", "59 A (meant)"), "kiln")
    found = inspect(job)
    rating = next(f for f in found.facts if f["is"] == "rating" and "kiln" in f["of"])
    assert rating["value"] == "59" and rating["origin"] == "told"


def test_no_shipped_job_is_asked_about():
    jobs = [*KB.glob("jobs/**/*.yaml")]
    assert len(jobs) > 40
    for path in jobs:
        try:
            read_job(path, load())
        except Faults as faults:  # a word of a pack
            assert "not-usual" not in {f.code for f in faults.items}, faults


def test_every_measure_of_load_and_protection_says_what_is_usual():
    words = load().words.kinds
    for kind, name in (("load", "current"), ("load", "power"), ("overcurrent device", "rating")):
        assert words[kind].words[name].usual


@pytest.mark.parametrize(
    ("spec", "said"),
    [
        ("{is: A, usual: 1 A}", "names no two ends"),
        ("{is: A, usual: 9 A to 1 A}", "ends before it begins"),
        ("{is: A, usual: 1 ft to 9 ft}", "is in ft"),
        ("{is: yes or no, usual: 1 A to 9 A}", "is no quantity"),
        ("{is: date, usual: 1 A to 9 A}", "is no quantity"),
    ],
)
def test_a_usual_that_says_nothing_is_a_fault(spec, said):
    faults, words = Collector(), Words()
    words.read(read_yaml(f"kiln:\n  draw: {spec}\n", "w.yaml"), faults)
    assert [f for f in faults.items if said in f.what], faults.items


def test_a_table_that_is_not_there_is_a_fault(tmp_path):
    (tmp_path / "pack.yaml").write_text("pack: ours\ntitle: Ours\nauthority: us\n")
    (tmp_path / "w.yaml").write_text(
        "words:\n  load:\n    odd draw: {is: A, usual: listed in standard-rating}\n"
    )
    with pytest.raises(Faults, match='no such table(.|\n)*did you mean "standard-ratings"'):
        load((str(tmp_path),))


def test_the_schema_takes_what_is_meant():
    pattern = amount("A")["pattern"]
    assert re.search(pattern, "48 mA (meant)") and re.search(pattern, "48 A")
    assert not re.search(pattern, "48 A (perhaps)")


def numbers_told() -> list[tuple[str, str]]:
    """(kind, fact) of every number that a person is asked for; a day is no number."""
    return [
        (kind.name, word.name)
        for kind in load().words.kinds.values()
        for word in kind.words.values()
        if word.ask and word.type[0] == "q" and word.unit != "date"
    ]


@pytest.mark.parametrize("kind", sorted({kind for kind, _ in numbers_told()}))
def test_every_number_that_a_person_tells_says_what_is_usual(kind):
    words = load().words.kinds[kind].words
    lacking = [fact for of, fact in numbers_told() if of == kind and not words[fact].usual]
    assert not lacking, "write usual: by common practice, and wide"


def test_what_is_usual_is_wide():
    """A question about a job that is as it should be is worse than none."""
    words = load().words.kinds
    usual = {(kind, fact): words[kind].words[fact].usual for kind, fact in numbers_told()}
    ranges = {at: said for at, said in usual.items() if said and not said.table}
    assert len(ranges) > 100
    # of what begins above nought the most is four times the least, but for temperatures in kelvin
    narrow = [at for at, said in ranges.items() if 0 < said.least and said.most < 4 * said.least]
    assert {words[kind].words[fact].unit for kind, fact in narrow} <= {"°C", "count"}


@pytest.mark.parametrize(
    ("circuit", "asked"),
    [
        ({"breaker": {"rating": "48 A"}}, "standard-ratings lists no rating of that size"),
        ({"breaker": {"rating": "60 mA"}}, "did you mean 60 A?"),
        ({"length": "60 in", "load": {"setting": "32 mA"}}, "did you mean 32 A?"),
        ({"segments": [{"method": "UF-B", "cover": "24 ft"}]}, "did you mean 24 in?"),
        ({"segments": [{"method": "NM-B", "first support": "12 ft"}]}, ""),
        ({"segments": [{"method": "NM-B", "support spacing": "54 ft"}]}, ""),
        ({"load": {"type": "EV charger", "coupler height": "18 ft"}}, "did you mean 18 in?"),
    ],
)
def test_what_nobody_builds_is_asked_about(circuit, asked):
    said = told(circuit)
    assert asked in said if asked else not said


@pytest.mark.parametrize(
    ("panel", "asked"),
    [
        ({"main": "210 A"}, "standard-ratings lists no main of that size"),
        ({"main": "200 A", "spaces": "40"}, ""),
        ({"main": "lugs only"}, ""),
        ({"spaces": "400"}, '"400" is not usual for the spaces of panels.house'),
    ],
)
def test_a_panel_that_nobody_makes_is_asked_about(panel, asked):
    try:
        read_job({"job": "x", "circuits": {"kiln": {}}, "panels": {"house": panel}}, load())
        said = ""
    except Faults as faults:
        said = str(faults)
    assert asked in said if asked else not said
