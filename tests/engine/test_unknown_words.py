"""A word nobody knows is kept, shown and not used; a slip of a known one is refused with the word
that was meant; a word that has an article of its own says what is not looked at.
"""

import os
import random
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine import Faults, inspect
from whywire.engine.answering.inspection import body_of
from whywire.engine.basics.errors import turned
from whywire.engine.basics.reading import Mapping
from whywire.engine.language.knowledge import KB
from whywire.engine.law.library import load
from whywire.engine.running.job import read_job

JOBS = sorted((KB / "jobs").rglob("*.yaml"))
WHOLE = os.environ.get("WHYWIRE_WHOLE") == "1"
K = load((), "2023", examples=False)
OWN = {"paint": "blue", "lid color": "31 in", "owner's dog": "friendly", "crew": ["two", "three"]}


def findings(found) -> list[tuple]:
    return sorted((f.rule, f.on, f.answer) for f in found.findings)


def without_places(found) -> list[dict]:
    """Every fact but where it was told: a copy of a job has no lines."""
    return [{k: v for k, v in fact.items() if k != "source"} for fact in found.facts]


def with_own_words(body: dict, chance: random.Random) -> dict:
    """The same job with words of a person's own on it and on everything it describes."""
    out = {}
    for key, value in body.items():
        if isinstance(value, dict) and key != "expect" and value:
            facts = all(not isinstance(v, dict) for v in value.values())
            value = with_own_words(value, chance)
            if facts:
                value |= {k: OWN[k] for k in chance.sample(sorted(OWN), 2)}
        out[str(key)] = value
    return out


@pytest.mark.parametrize(
    "path",
    JOBS if WHOLE else random.Random(7).sample(JOBS, 6),
    ids=lambda p: p.stem,
)
def test_words_of_ones_own_change_no_finding(path):
    plain, _ = body_of(path)
    more = with_own_words(plain, random.Random(path.stem)) | OWN
    found, other = inspect(plain, edition="2023"), inspect(more, edition="2023")
    assert len(other.also_said) >= len(OWN)
    assert findings(found) == findings(other)
    assert without_places(found) == without_places(other)


@pytest.mark.parametrize("kind", sorted(K.words.kinds))
def test_a_word_of_ones_own_is_kept_on_any_thing(kind):
    job = read_job({"job": "x", "circuits": {"a": {}}}, K)
    x = job._make("it", kind, "it", Mapping(), None)
    before = len(job.also_said)
    for key, value in OWN.items():
        job._aside(K.words.kinds[kind], key, value, x)
    assert not job.faults.items
    assert [a.key for a in job.also_said[before:]] == list(OWN)


def slips(word: str) -> list[str]:
    """Ways to misspell a word by one stroke."""
    out = {word[:i] + word[i + 1 :] for i in range(len(word))}
    out |= {word[:i] + word[i] + word[i:] for i in range(len(word))}
    out |= {word[:i] + word[i + 1] + word[i] + word[i + 2 :] for i in range(len(word) - 1)}
    return sorted(s for s in out if s.strip() == s and s != word)


def misspelt(number: int) -> list[tuple[str, str, str]]:
    """(kind, word, how it is misspelt) of words that a person may say."""
    chance = random.Random(11)
    words = sorted(
        (k.name, w.name) for k in K.words.kinds.values() for w in k.words.values() if w.ask
    )
    out = []
    while len(out) < number:
        kind, word = chance.choice(words)
        slip = chance.choice(slips(word))
        job = read_job({"job": "x", "circuits": {"a": {}}}, K)
        if len(word) > 3 and job._key(K.words.kinds[kind], slip) is None:
            out.append((kind, word, slip))
    return out


def test_two_hundred_misspellings_are_refused_with_the_word_that_was_meant():
    wrong = []
    job = read_job({"job": "x", "circuits": {"a": {}}}, K)
    for kind, word, slip in misspelt(200):
        x = job._make("it", kind, "it", Mapping(), None)
        job.faults.items.clear()
        job._aside(K.words.kinds[kind], slip, "1", x)
        hints = [f.todo for f in job.faults.items]
        names = [word, *(a for a, n in K.words.kinds[kind].aliases.items() if n == word)]
        # what a beginning turns into its opposite (alone, lone) is refused, and never offered
        offered = hints and any(f'"{name}"' in hints[0] for name in names)
        if not hints or not offered and not turned(slip, word):
            wrong.append((kind, word, slip, hints))
    assert not wrong


@pytest.mark.parametrize(
    "body, says",
    [
        ({"circuits": {"a": {"lenght": "40 ft"}}}, 'did you mean "length"?'),
        ({"circuit": {"a": {}}}, 'did you mean "circuits"?'),
        ({"circuits": {"a": {"termination supply": {}}}}, "supply termination"),
        ({"circuits": {"a": {"insulation": "THHN"}}}, "conductors: {insulation: ...}"),
        ({"circuits": {"a": {"load": {"type": "drier"}}}}, 'did you mean "dryer"?'),
        ({"circuits": {"a": {"name": "x"}}}, "stands before it"),
        ({"circuits": {"a": {}}, "name": "x"}, "is written job:"),
    ],
)
def test_a_near_miss_is_refused(body, says):
    with pytest.raises(Faults) as caught:
        inspect({"job": "x", "edition": "2023"} | body)
    assert says in caught.value.items[0].todo


def test_a_slip_in_several_places_is_told_once():
    with pytest.raises(Faults) as caught:
        read_job(
            Path(__file__).parents[1] / "faults" / "jobs" / "unknown-key-in-many-places.yaml", K
        )
    assert [f.todo for f in caught.value.items] == [
        'did you mean "current"? (also in line 4, 5)',
        'did you mean "conduit"?',
    ]


TUB = """job: Cedar tub behind the bakery
edition: 2023
circuits:
  tub:
    volts: 120/240 V
    load: {type: spa, amps: 40, lid color: 31 in}
    breaker: 50 A
fountain: {depth: 4 ft}
"""


def test_what_was_also_said_is_shown_and_told_as_data(tmp_path, capsys):
    path = tmp_path / "tub.yaml"
    path.write_text(TUB)
    main(["inspect", str(path), "--chainer", "plain"])
    text = " ".join(capsys.readouterr().out.split())
    assert (
        "You also said: fountain {depth: 4 ft}; lid color 31 in (tub load). Nothing here uses them."
        in text
    )
    main(["inspect", str(path), "--chainer", "plain", "--all"])
    text = " ".join(capsys.readouterr().out.split())
    assert (
        "You also said: fountain {depth: 4 ft}, of the job; lid color 31 in, of the tub load."
        in text
    )
    assert "Nothing here uses them." in text
    found = inspect(path)
    said = {(a["of"], a["is"], a["value"]) for a in found.as_dict()["also said"]}
    assert said == {
        ("circuits.tub.load", "lid color", "31 in"),
        ("job", "fountain", "{depth: 4 ft}"),
    }
    places = {a["is"]: a["at"].rpartition("/")[2] for a in found.as_dict()["also said"]}
    assert places == {"lid color": "tub.yaml:6:33", "fountain": "tub.yaml:8:1"}


@pytest.mark.parametrize(
    "body, rule",
    [
        ({"job": "Kiln beside the pool"}, "water-not-checked"),
        ({"job": "x", "generator": "12 kW"}, "generator-not-checked"),
        ({"job": "x", "generator": "yes"}, "generator-not-checked"),
        ({"job": "x", "also": "a standby generator later"}, "generator-not-checked"),
        ({"job": "x", "circuits": {"bathtub": {"load": "other"}}}, "water-not-checked"),
        ({"job": "x", "notes": "hot tub later"}, "tub-spoken-of-not-checked"),
    ],
)
def test_a_word_with_an_article_of_its_own_is_not_looked_at(body, rule):
    found = inspect({"edition": "2023", "circuits": {"a": {"load": "kiln"}}} | body)
    assert rule in {n["rule"] for n in found.not_checked}


def test_what_the_house_has_already_is_no_subject_of_the_job():
    loads = {"pool pump": {"power": "1500 W", "type": "appliance"}}
    found = inspect({"job": "x", "edition": "2023", "service": {"loads": loads}})
    assert "water-not-checked" not in {n["rule"] for n in found.not_checked}


def test_a_tub_that_is_a_load_is_told_once_and_a_carpool_is_no_pool():
    found = inspect({"job": "Hot tub", "edition": "2023", "circuits": {"a": {"load": "hot tub"}}})
    rules = {n["rule"] for n in found.not_checked}
    assert "rest-of-a-tub-not-checked" in rules and "tub-spoken-of-not-checked" not in rules
    found = inspect({"job": "carpool", "edition": "2023", "circuits": {"a": {"load": "kiln"}}})
    assert "water-not-checked" not in {n["rule"] for n in found.not_checked}
