"""Each rule of weight 3 that ends in a number has the two errors that people really make, and each
is asked by a question; no belief is there that no question can offer.

Which rules of the trade weigh 3, and which of the knowledge they are, stands in
tests/kb/coverage.tsv. Which errors are made about each stands in errors-people-make.tsv, and of a
rule that ends in no number it says so.
"""

import csv
from functools import cache
from pathlib import Path

import pytest
from sweeps import sweep

from whywire.engine.language.expressions import Cmp
from whywire.engine.language.knowledge import Knowledge
from whywire.engine.language.rules import Rule
from whywire.engine.running.cache import load
from whywire.engine.teaching.asked import Model, cone, touched_in
from whywire.engine.teaching.beliefs import read_beliefs
from whywire.engine.teaching.instances import Maker
from whywire.engine.teaching.kinds.registry import kind_asked
from whywire.engine.teaching.lacking import lacking
from whywire.engine.teaching.models import read_models

K: Knowledge = load()
BELIEFS = read_beliefs()
MAKER = Maker(K, BELIEFS)
MODELS = [m for m in read_models(K).values() if kind_asked(m).believed]
HERE = Path(__file__).parent
# the Code names no feet; and what a receptacle is made for is read off its face, not figured
NO_LAW = {"main-where-the-wire-comes-in", "receptacle-as-configured"}


def rows(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines, delimiter="\t"))


ERRORS = {row["id"]: row for row in rows(HERE / "errors-people-make.tsv")}
WITH_A_NUMBER = {name: row for name, row in ERRORS.items() if row["beliefs"]}


@cache
def asking(belief: str) -> list[Model]:
    """The questions that offer what a belief makes of them."""
    return [m for m in MODELS if belief in MAKER.relevant(m)]


def behind(rule: str) -> frozenset[str]:
    """The rules, tables and values that a rule rests on."""
    return touched_in(K, cone(K, [("rule", rule, "")])) | {rule}


def is_a_number(rule: Rule) -> bool:
    """Whether a rule compares two quantities, or fills a fact that is one."""
    if rule.verb in ("must", "must not"):
        return isinstance(rule.test, Cmp)
    kind = K.words.kinds[rule.about]
    return any(kind.words[fact].type[0] == "q" for fact in rule.d.get("gives") or ())


def test_every_rule_of_weight_three_is_listed():
    """With the rule that it is in the knowledge; and whoever compares two numbers has errors."""
    weigh = {
        row["id"]: row["rule it turns"]
        for row in rows(HERE.parent / "kb" / "coverage.tsv")
        if row["weight"] == "3"
    }
    assert {name: row["rule"] for name, row in ERRORS.items()} == weigh
    assert all(bool(row["beliefs"]) is not bool(row["why no number"]) for row in ERRORS.values())
    without = {row["rule"] for row in ERRORS.values() if not row["beliefs"]} - NO_LAW
    assert not [name for name in without & K.rules.keys() if is_a_number(K.rules[name])]
    assert len(WITH_A_NUMBER) > 100


@pytest.mark.parametrize("name", WITH_A_NUMBER)
def test_two_errors_are_made_about_it(name):
    """Each about the rule or what it rests on, or made where the rule is at work."""
    row = WITH_A_NUMBER[name]
    beliefs = row["beliefs"].split()
    assert len(set(beliefs)) >= 2
    for belief in beliefs:
        assert asking(belief), f"no question asks {belief}"
        about = BELIEFS[belief].touches | {BELIEFS[belief].offends}
        if row["rule"] in K.rules:
            near = about & behind(row["rule"])
            at_work = any(row["rule"] in m.touched for m in asking(belief))
            assert near or at_work, f"{belief} has nothing to do with {row['rule']}"


@sweep("belief", sorted(BELIEFS), lambda name: BELIEFS[name].room)
def test_a_belief_is_offered(belief):
    """By one of its questions: in what it offers is what the belief makes of it, or a right answer
    that it leaves out.
    """
    made = (MAKER.instance(m, seed, None, belief) for m in asking(belief) for seed in range(1, 9))
    offered = (o for q in made if q is not None for o in q.options)
    assert any(belief in (o.belief, o.missed) for o in offered)


def test_a_belief_that_no_question_asks_is_told(monkeypatch):
    """Also where only a question of another law rests on what it changes."""
    name = "counts-pigtails"
    assert asking(name)
    fewer = {m.name: m for m in read_models(K).values() if m not in asking(name)}
    assert any(BELIEFS[name].touches & m.touched for m in fewer.values())
    monkeypatch.setattr("whywire.engine.teaching.lacking.read_models", lambda k: fewer)
    assert f'no question asks the belief "{name}" (room boxes)' in lacking(K)
