"""`whywire words`: what people call a word leads to it, and what is shown says how to say it in a
job.
"""

import json
import re
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine.language.lexicon import Lexicon
from whywire.engine.law.library import load
from whywire.engine.running.job import read_job

HERE = Path(__file__).resolve().parent
LEAST = 54  # of sixty, among the first three


@pytest.fixture(scope="module")
def lexicon():
    return Lexicon(load((), "2023", examples=False))


def phrases(name: str) -> list[tuple[str, set[str]]]:
    lines = (HERE / name).read_text(encoding="utf-8").splitlines()
    pairs = [line.split("\t") for line in lines if line and not line.startswith("#")]
    return [(phrase, {w.strip() for w in wanted.split("|")}) for phrase, wanted in pairs]


def test_plain_phrases_lead_to_the_word_that_is_meant(lexicon):
    sixty = phrases("plain_phrases.tsv")
    assert len(sixty) == 60
    missed = [p for p, wanted in sixty if not wanted & {f.name for f in lexicon.find(p, 3)}]
    assert len(sixty) - len(missed) >= LEAST, missed


def test_what_an_electrician_types_leads_to_the_word_that_is_meant(lexicon):
    seventy = phrases("electrician_phrases.tsv")
    assert len(seventy) == 70
    found = {phrase: {f.name for f in lexicon.find(phrase, 3)} for phrase, _ in seventy}
    assert not [phrase for phrase, wanted in seventy if not wanted & found[phrase]]


def test_a_cable_by_its_numbers_is_its_size_and_its_wires(lexicon):
    for phrase in ("12/2", "6/3 cable", "a run of 10/2"):
        names = [f.name for f in lexicon.find(phrase, 2)]
        assert names == ["size of conductors", "insulated wires of conductors"], phrase
    assert "size of conductors" not in {f.name for f in lexicon.find("and/or", 3)}


@pytest.mark.parametrize("file", ["plain_phrases.tsv", "electrician_phrases.tsv"])
def test_the_words_of_the_phrases_are_there(lexicon, file):
    kinds = lexicon.k.words.kinds
    for _, wanted in phrases(file):
        for name in wanted:
            fact, _, kind = name.rpartition(" of ")
            assert not fact or fact in kinds[kind].words, name


def test_every_word_that_is_asked_for_is_found_by_its_own_name(lexicon):
    lost = []
    for kind in lexicon.k.words.kinds.values():
        for word in kind.words.values():
            if word.ask:
                hits = {f.name for f in lexicon.find(f"{word.name} {kind.name}", 5)}
                if f"{word.name} of {kind.name}" not in hits:
                    lost.append(f"{word.name} of {kind.name}")
    assert not lost


def test_what_is_shown_as_an_example_can_be_told(lexicon):
    """The example of every word is read by the reader of jobs, except what is only a name."""
    told = 0
    for kind in lexicon.k.words.kinds.values():
        for word in kind.words.values():
            if not word.ask or word.type[0] in ("ref", "many") or kind.name in ("job", "subject"):
                continue
            value = lexicon.value_of(word)
            body: object = {word.name: value}
            for part, many in reversed(lexicon.way_to(kind.name)):
                body = {part: {"one": body} if many else body}
            with_usual = word.usual is not None and word.usual.table
            if with_usual or word.usual and value.startswith(("10 ", "2")):
                continue  # whether ten of it is usual is another question
            read_job({"job": "x", **body}, lexicon.k)
            told += 1
    assert told > 200


def run(capsys, *words: str) -> tuple[int, str, str]:
    code = main(["words", *words])
    out = capsys.readouterr()
    return code, out.out, out.err


def test_without_a_word_there_are_two_screens_at_most(lexicon, capsys):
    code, out, _ = run(capsys)
    lines = out.splitlines()
    assert code == 0 and len(lines) <= 48 and max(map(len, lines)) <= 80
    for kind in ("circuit: ", "load: ", "segment: ", "box: ", "opening: "):
        assert kind in out
    # a thing that most jobs have goes with its words, and none is left out
    assert all(re.search(rf"(?m)(^|, |: ){kind.name}\b", out) for kind, _ in lexicon.overview())


def test_a_word_says_how_it_is_told_what_it_may_be_and_who_reads_it(capsys):
    code, out, _ = run(capsys, "wire", "size")
    assert code == 0 and out.startswith("size of conductors\n")
    assert "circuits: {NAME: {conductors: {size: " in out
    assert "or shorter: conductors: " in out
    assert "jacket print" in out and "gauge" in out and "read by" in out
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.parametrize(
    "words, first",
    [
        (["hole"], "opening"),
        (["plug"], "configuration of receptacle"),
        (["ground"], "EGC size of conductors"),
        (["THWN-2"], "insulation of conductors"),
        (["torque"], "torque of connection"),
    ],
)
def test_trade_words_lead_to_their_word_at_once(capsys, words, first):
    assert first in run(capsys, *words)[1].splitlines()[0]


def test_a_rule_and_a_table_are_found_too(capsys):
    assert "conductor-125-percent (rule)" in run(capsys, "conductor-125-percent")[1]
    assert "conductor-ampacity (table)" in run(capsys, "conductor-ampacity")[1]


def test_what_nothing_is_called_gets_the_five_nearest(capsys):
    code, out, err = run(capsys, "lenghht")
    assert code == 2 and not out and 'nothing here is called "lenghht"' in err
    assert len(err.partition("nearest here: ")[2].split(", ")) == 5 and "length" in err


def test_as_data(capsys):
    _, out, _ = run(capsys, "wire", "size", "--json")
    first = json.loads(out)["found"][0]
    assert (first["of"], first["is"]) == ("conductors", "size") and "cable-egc" in first["read by"]
