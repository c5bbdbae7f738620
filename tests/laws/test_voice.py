"""People read what people say: no phrase of the engine stands on a screen of a shipped job, nor in
README.md; and a question of the knowledge asks for nothing in the engine's words.

A seeded tenth of the shipped jobs by default, all of them with WHYWIRE_WHOLE=1.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from known import known
from prompt import typed
from sweeps import sweep

from whywire.engine import inspect
from whywire.engine.basics.reading import read_yaml
from whywire.engine.law.library import KB

ROOT = Path(__file__).resolve().parents[2]
JOBS = sorted((ROOT / "kb").rglob("jobs/**/*.yaml"))

# What nobody says on a job, as a pattern of whole words, and what a person says there.
HABITS = {
    r"nobody (has )?(told|tells)": "you didn't say",
    r"(is|are|was|were|be) told( as| of)?": "you say; describe",
    r"not told": "you didn't say",
    r"(is|are|be) taken to be": "we assume",
    r"(is|are) taken (not )?to": "we assume",
    r"reckon(s|ed|ing)?": "figure; works out to",
    r"stands? in": "is in",
    r"brings? an?": "has a",
    r"(is|are) (not )?asked for": "is required",
    r"sets? (\S+ ){0,6}?aside": "doesn't apply",
    r"lifts": "doesn't apply",
    r"lifted": "doesn't apply",
    r"picked": "chosen",
    r"(?<!if )(it|that|this|which|what) is so": "is",
    r"looked at apart": "separately",
    r"writes its illness": "a reason, not a riddle",
    r"not the drawing": "a reason, not a riddle",
}
PATTERNS = [re.compile(rf"(?<![\w-])({habit})(?![\w-])", re.IGNORECASE) for habit in HABITS]

# What may stand there all the same, and why.
HONEST = (
    r"elevators and stair lifts",  # the machines
    r"neutral lifted",  # off its terminal
    r"stand in front of",  # with both feet
    r"on a stand In force:",  # the end of a job's title, and the line below it
    r"Tell brings an EGC of",  # the name under which a fact is told, where it is to be told
    r"sets aside: [a-z]",  # a key of an example, shown as it stands in the file of a rule
)


def habits_in(text: str) -> list[str]:
    """The habit phrases in *text*, whose lines may break within one."""
    flat = re.sub("|".join(HONEST), "", " ".join(text.split()))
    return [found.group() for pattern in PATTERNS for found in pattern.finditer(flat)]


@cache
def things_of(job: Path) -> tuple[str, ...]:
    """The first two circuits of *job*, and its first panel and service."""
    kinds: dict[str, list[str]] = {}
    for name, thing in inspect(str(job)).standing.world.things.items():
        if not thing[0].plane and "." not in name:
            kinds.setdefault(thing[0].kind, []).append(name)
    first = {"circuit": 2, "panel": 1, "service": 1}
    return tuple(name for kind, count in first.items() for name in kinds.get(kind, ())[:count])


def screens(job: Path):
    """Every screen of *job* that a person may call up, with the words that call it."""
    for more in ((), ("--walk",), ("--care",), ("--all",)):
        yield ("inspect", job, *more)
    yield ("fix", job)
    for thing in things_of(job):
        for more in ((), ("--plain",), ("--deep",)):
            yield ("why", job, thing, *more)
        yield ("whynot", job, thing, "breaker=25 A")
        yield ("whynot", job, thing, "size=8 AWG")


@sweep("job", JOBS, of=lambda job: job.parent.name, ids=lambda job: job.stem)
def test_no_phrase_of_the_engine_stands_on_a_screen(job):
    for words in screens(job):
        _, out, err = typed(*words)
        assert not habits_in(out + err), (words, habits_in(out + err), out + err)


def test_no_phrase_of_the_engine_stands_in_the_readme():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert not habits_in(text)


@pytest.mark.parametrize("edition", ["2017", "2026"])
def test_no_sentence_of_the_knowledge_has_one(edition):
    """All that a screen may say of a rule or a word, also where no shipped job comes by it."""
    knowledge = known(edition)
    said: list[tuple[str, str]] = []
    for rule in knowledge.rules.values():
        texts = [rule.d.get(key) for key in ("says", "because", "limits", "refers", "lacks")]
        texts += [rule.d.get("warns"), *texts_of(rule.d.get("answers", {}))]
        said += [(rule.id, str(text)) for text in texts if text]
    for kind in knowledge.words.kinds.values():
        for word in kind.words.values():
            said += [(word.name, text) for text in (word.ask, word.look) if text]
    wrong = [(name, text) for name, text in said if habits_in(text)]
    assert not wrong


def test_no_fact_goes_by_a_phrase_of_the_engine():
    """The names of facts stand on `inspect --all` and in pictures. `brings an EGC` is told in jobs
    that people keep, and asked with other words."""
    knowledge = known()
    names = [name for kind in knowledge.words.kinds.values() for name in kind.words]
    names += [f"it is {name}" for name in names if name.endswith(("told", "asked for", "wanted"))]
    assert {name for name in names if habits_in(name)} <= {"brings an EGC"}


def test_a_place_to_look_is_more_than_one_word():
    """What is in the hand is no place: no answer to where; "measure it" is what to do."""
    looks = {
        word.look
        for kind in known().words.kinds.values()
        for word in kind.words.values()
        if word.look
    }
    assert len(looks) > 100 and not [look for look in looks if " " not in look]


@pytest.mark.parametrize("folder, least", [("beliefs", 500), ("questions", 100)])
def test_no_sentence_of_a_quiz_has_one(folder, least):
    """What a learner reads: what people believe and why, what is right, stems and options."""
    said = [text for path in sorted(KB.glob(f"{folder}/*.yaml")) for text in read_aloud(path)]
    assert len(said) > least
    assert not [text for text in said if habits_in(text)]


READ_ALOUD = ("says", "held because", "corrected", "stem", "options")
# between two words of a sentence `1 1/2 in` is read as two numbers
LOOSE = re.compile(
    r"\d \d/\d|\bnought\b|\bso it (is|was|looks|began)\b|\bstands? on\b|\bsits? on\b", re.IGNORECASE
)


@pytest.mark.parametrize("folder", ["beliefs", "questions"])
def test_a_quiz_writes_sizes_as_they_are_printed(folder):
    said = [text for path in sorted(KB.glob(f"{folder}/*.yaml")) for text in read_aloud(path)]
    assert not [text for text in said if LOOSE.search(text)]


def read_aloud(path: Path) -> list[str]:
    """What a person reads of a file of beliefs or questions; of options what is offered, which is
    the key where the value is a change of the job, and the value where the key is a rule."""
    out: list[str] = []
    for item in read_yaml(path.read_text(encoding="utf-8"), path.name):
        for key in READ_ALOUD:
            said = item.get(key, "")
            if isinstance(said, dict):
                pairs = said.items()
                out += [str(value if isinstance(value, str) else name) for name, value in pairs]
            elif isinstance(said, str):
                out.append(str(said))
    return out


def texts_of(written: object) -> list[str]:
    """The sentences of an answer, without the names of rules and facts in it."""
    if isinstance(written, dict):
        named = ("argued", "beside", "asked", "needed", "have")
        return [
            text for key, part in written.items() if key not in named for text in texts_of(part)
        ]
    if isinstance(written, list):
        return [text for part in written for text in texts_of(part)]
    return [str(written)]


def test_a_phrase_is_found_over_a_line_and_as_whole_words_alone():
    assert habits_in("a kiln is taken\nto be hot") and habits_in("It is Reckoned.")
    assert not habits_in("a handpicked crew; the told-off dog; elevators and stair lifts")
