"""A rule shows what a person can do about a failing of it: in `whywire rules` and in the book."""

import json

import pytest
from known import known
from prompt import typed
from sweeps import sweep

from whywire.engine.language.actions import OPTIONAL
from whywire.engine.language.entries import mends
from whywire.engine.language.rules import JUDGING
from whywire.engine.law.library import KB
from whywire.engine.law.places import in_force
from whywire.engine.writing.book import Heading, Items, make_book

JOBS = sorted((KB / "jobs").rglob("*.yaml"))


def mended_by(rule: str) -> list[str]:
    """What is said to mend a failing of a rule."""
    return [said for said, _ in mends(known(), known().rules[rule])]


@pytest.mark.parametrize(
    "rule, first, never",
    [
        ("in-use-cover", "an in-use cover", "a {rating} breaker"),
        ("gfci-receptacles", "a GFCI breaker", "an in-use cover"),
        ("box-volume", "an extension ring marked {added volume}", "a GFCI breaker"),
        ("breaker-within-the-mocp", "a {rating} breaker", "an in-use cover"),
    ],
)
def test_what_lies_nearest_stands_first(rule, first, never):
    assert mended_by(rule)[0] == first and never not in mended_by(rule)


def test_what_nobody_can_change_lists_nothing():
    (rule,) = (r for r in known().rules.values() if r.id == "torque-recorded")
    assert mends(known(), rule) == []


def test_every_action_is_named_by_a_rule_that_it_may_mend():
    judging = [rule for rule in known().rules.values() if rule.verb in JUDGING]
    named = {said for rule in judging for said, _ in mends(known(), rule)}
    assert named == {OPTIONAL.sub("", action.text) for action in known().actions}


@sweep("job", JOBS, of=lambda job: job.parent.name, ids=lambda job: job.stem)
def test_every_way_out_that_is_proven_changes_what_its_rule_names(job):
    code, out, _ = typed("fix", job, "--json")
    fixes = json.loads(out)["fixes"] if code in (0, 1, 3) and out.startswith("{") else []
    for way in (way for fix in fixes for way in fix["ways"]):
        changed = {change["is"] for change in way["changes"]}
        for rule in {mended["rule"] for mended in way["mends"]} & known().rules.keys():
            facts = " ".join(named for _, named in mends(known(), known().rules[rule]))
            assert any(f"{fact} of" in facts for fact in changed), (job, way["words"], rule)


def test_a_rule_and_the_book_show_it():
    _, out, _ = typed("rules", "in-use-cover")
    assert "mended by   an in-use cover (cover of receptacle)" in out
    book = make_book(in_force({}, "book", (), "2023", None, None))
    page = next(page for page in book.pages if page.key == ("rule", "in-use-cover"))
    at = page.blocks.index(Heading("What may mend it"))
    items = next(block for block in page.blocks[at:] if isinstance(block, Items))
    assert items.items[0] == ["an in-use cover (cover of receptacle)"]
