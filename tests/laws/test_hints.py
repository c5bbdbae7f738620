"""A hint never misleads: whoever misspells a word of a job and follows what is offered in its place
has said the same, or is asked.

Every word and choice that a shipped job tells is written wrongly in the ways people do: a letter
left out, doubled, swapped, changed, a part of it alone, its opposite (a seeded few of all these).
What the reader then offers is put in its place and the job is run.
"""

import functools
import random
import re
from pathlib import Path

import pytest

from whywire.engine import Faults, inspect
from whywire.engine.basics.errors import Fault, Place
from whywire.engine.basics.reading import Mapping
from whywire.engine.law.library import load
from whywire.engine.running.job import read_job

ROOT = Path(__file__).resolve().parents[2]
JOBS = sorted((ROOT / "kb" / "jobs").rglob("*.yaml"))
TURNS = ("un", "non", "in", "dis", "re", "not ", "no ", "without ")


@functools.cache
def slips(text: str, whole: bool = False) -> list[str]:
    """A few of the ways in which people miswrite *text*, and other words that look like it; of the
    *whole* of it alone.
    """
    out = {text[:i] + text[i + 1 :] for i in range(len(text))}
    out |= {text[:i] + text[i + 1] + text[i] + text[i + 2 :] for i in range(len(text) - 1)}
    out |= {text[:i] + text[i] + text[i:] for i in range(0, len(text), 3)}
    out |= {text[:i] + "e" + text[i + 1 :] for i in range(0, len(text), 3)}
    parts = re.split(r"[ -]", text)
    out |= {" ".join(parts[:i] + parts[i + 1 :]) for i in range(len(parts))} | set(parts)
    out |= {turn + text for turn in TURNS}
    out |= {text[len(t) :] for t in TURNS if text.startswith(t)}
    out |= {re.sub(r"\d", "1", text), re.sub(r"\bwith\b", "without", text), text[::-1]}
    out = {s.strip() for s in out if s.strip().lower() not in ("", text.lower())}
    if whole:
        out = {s for s in out if re.search(r"\w$", s) and len(re.split("[ -]", s)) == len(parts)}
        # two ways to say one thing
        out -= set(parts) | {turn + text for turn in ("un", "non", "in")}
    return random.Random(text).sample(sorted(out), min(len(out), 12))


@functools.cache
def knowledge():
    return load((), "2023", examples=False)


@functools.cache
def a_job():
    return read_job({"job": "x", "circuits": {"a": {}}}, knowledge(), "job")


@functools.cache
def offered(kind: str, fact: str, written: str) -> tuple[str, ...]:
    """What is offered for *written*: of a fact of that kind, or for the name of one where *fact* is
    empty.
    """
    k = knowledge()
    job = a_job()
    x = job._make("it", kind, "it", Mapping(), None)
    job.faults.items.clear()
    try:
        if fact:
            job._choice(k.words.kinds[kind].words[fact], written, Place(), x[0])
            return ()  # a word that is there, under one name or another
        if job._key(k.words.kinds[kind], written) is not None:
            return ()
        job._aside(k.words.kinds[kind], written, "x", x)
        if not job.faults.items:
            return ()  # a word of a person's own, which is kept
        (found,) = job.faults.items
    except Fault as fault:
        found = fault
    hint = found.todo.startswith(("did you mean", "write "))
    return tuple(re.findall(r'"([^"]+)"', found.todo)) if hint else ()


def told(path: Path) -> list[tuple]:
    """(thing id, kind, word, what is written) of every choice that a job tells."""
    job, out = inspect(path, edition="2023").job, []
    for x in job.things.values():
        for w in job.k.words.kinds[x[0].kind].words.values():
            if w.type[0] == "choice" and isinstance(v := x[0].told.get(w.name), str):
                out.append((x[0].id, x[0].kind, w.name, v))
    return out


def failing(found) -> set[tuple]:
    return {(f.rule, f.on) for f in found.findings if f.answer == "fails"}


@pytest.mark.parametrize("path", JOBS, ids=lambda p: p.stem)
def test_a_hint_that_is_followed_turns_no_failing_job(path):
    """Every choice of the job misspelt, the one thing that is offered put there: what failed
    fails.
    """
    found = inspect(path, edition="2023")
    fails = failing(found)
    for thing, kind, fact, was in told(path):
        others = {o for s in slips(was) for o in offered(kind, fact, s)}
        means = knowledge().words.kinds[kind].words[fact].means
        for other in {means.get(o, o) for o in others} - {was}:
            with found.whatif.told([(thing, fact, other)]) as now:
                left = {
                    (r, on)
                    for r, on in fails
                    if now.answer(found.k.rules[r], now.things[on]) == "fails"
                }
            assert not fails - left, (thing, fact, was, other, fails - left)


def test_a_misspelt_choice_is_never_offered_as_another():
    """The same of all words there are, in jobs or not: a slip leads back to what was meant, or to
    nothing.
    """
    k, wrong = knowledge(), []
    for kind in k.words.kinds.values():
        for w in kind.words.values():
            if w.type[0] != "choice":
                continue
            for was in w.type[1]:
                for slip in slips(was, whole=True):
                    for other in offered(kind.name, w.name, slip):
                        if w.means.get(other, other) != was and other in w.type[1]:
                            wrong.append((kind.name, w.name, was, slip, other))
    assert not wrong


def test_a_misspelt_fact_is_never_offered_as_another():
    k, wrong = knowledge(), []
    for kind in k.words.kinds.values():
        names = {**{n: n for n in (*kind.words, *kind.tells)}, **kind.aliases}
        for was, fact in names.items():
            for slip in slips(was, whole=True):
                for other in offered(kind.name, "", slip):
                    if names.get(other, other) != fact:
                        wrong.append((kind.name, was, slip, other))
    assert not wrong


@pytest.mark.parametrize(
    "kind, fact, written, asked",
    [
        ("segment", "method", "NM", "write NM-B where it is one; old NM"),
        ("segment", "method", "PVC", "write PVC 40"),
        (
            "overcurrent device",
            "kind",
            "fuse",
            "dual-element time-delay fuse or nontime-delay fuse",
        ),
        ("opening", "member", "bearing", "which is it: "),
    ],
)
def test_what_may_be_several_asks_which(kind, fact, written, asked):
    body = {
        "segment": {"circuits": {"a": {"segments": [{fact: written}]}}},
        "overcurrent device": {"circuits": {"a": {"breaker": {fact: written}}}},
        "opening": {"openings": {"a": {fact: written}}},
    }[kind]
    with pytest.raises(Faults) as caught:
        inspect({"job": "x", "edition": "2023", **body})
    (found,) = caught.value.items
    assert found.code == "not-a-choice" and asked in found.todo


@pytest.mark.parametrize(
    "kind, written, never",
    [
        ("segment", "trench depth", "cover"),
        ("segment", "depth", "cover"),
        ("load", "RLA", "LRA"),
        ("panel", "grounding bar", "grounding bar bonded"),
    ],
)
def test_a_fact_of_another_meaning_is_not_offered(kind, written, never):
    k = knowledge()
    meant = k.words.kinds[kind].aliases.get(written, written)
    assert meant != never and never not in offered(kind, "", written)
