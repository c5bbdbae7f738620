"""A rule, a fact or a choice that was renamed answers to its old name; who writes it so is told the
new one, and that is no fault.
"""

import json

import pytest
from known import known
from prompt import typed

from whywire.engine import inspect
from whywire.engine.answering.expect import unmet
from whywire.engine.basics.errors import Collector, Faults
from whywire.engine.basics.reading import read_yaml
from whywire.engine.comparing.amendments import review
from whywire.engine.language.knowledge import build, present_names
from whywire.engine.language.words import Words
from whywire.engine.law.library import KB, Library
from whywire.engine.law.verbs.registry import VERBS
from whywire.engine.proving.graph import Explainer
from whywire.engine.proving.proof import Proof
from whywire.engine.running.chain import OFF, World
from whywire.engine.running.job import read_job
from whywire.engine.teaching.beliefs import held, read_beliefs

RENAMED = known().formerly
OLD = "fifty-amperes-for-charging-on-forty"
NEW = "no-fifty-ampere-charging-on-forty"
HEAD = (
    "pack: mine\ntitle: Mine\nauthority: The Board\ncite: Ordinance 1\nlayer: county\nplace: Elder"
    " County\nadopts: {edition: 2026, from: 2026-01-01}\n"
)
WORDS = """
segment:
  way: {is: pipe | cable | cord, choices formerly: {hose: pipe, flex: pipe}}
  span: {is: ft, formerly: [length, stretch]}
  fine: {is: yes or no}
"""
RULES = """
- rule: short-enough
  says: A hose is short.
  about: segment
  when: way is hose
  must: stretch <= 6 ft
  practice: ours
- rule: fine-cord
  says: A cord is fine.
  about: segment
  when: way is not flex | cable
  gives: {fine: yes}
  practice: ours
"""


def pack_with(folder, edits):
    """A pack of a county with these edits."""
    folder.mkdir(exist_ok=True)
    (folder / "pack.yaml").write_text(HEAD)
    (folder / "ordinance.yaml").write_text(edits)
    return folder


def test_every_old_name_means_a_rule_that_there_is():
    rules = {**known().rules, **known().absent}
    assert len(RENAMED) >= 27 and set(RENAMED.values()) <= rules.keys()
    assert RENAMED.keys().isdisjoint(rules)


@pytest.mark.parametrize("old", ["cooler-motor", OLD])
def test_an_old_name_finds_its_rule(old):
    code, out, _ = typed("rules", old)
    assert code == 0 and out.startswith(f"{RENAMED[old]} (rule")
    assert old in out


def test_an_edit_by_the_old_name_works_and_check_tells_the_new_one(tmp_path):
    mine = pack_with(
        tmp_path / "mine",
        f"- withdraw: {OLD}\n  cite: §1\n  relieves: yes\n  reason: x\n"
        "- add: a-shed-may\n  cite: §2\n  reason: x\n  says: A shed may.\n  about: segment\n"
        "  exception to: [nm-not-embedded, fmc-kept-dry]\n  when: place is attic\n",
    )
    knowledge = Library((mine,)).in_force("2026", "2026-06-01")
    assert NEW not in knowledge.rules and knowledge.rules["a-shed-may"].exception_to == [
        "indoor-cable-not-embedded",
        "fmc-kept-dry",
    ]
    got = review(mine)
    assert not [fault for fault in got.faults.items if fault.code.startswith(("no-such", "old"))]
    told = [notice for notice in got.notices if "is called" in notice]
    assert [f'"{OLD}" is called "{NEW}" now' in notice for notice in told] == [True, False]
    assert f"{mine}/ordinance.yaml:1:13" in told[0] and '"nm-not-embedded"' in told[1]
    code, out, _ = typed("check", mine)
    assert f'Note: "{OLD}" is called "{NEW}" now' in " ".join(out.split())


def test_what_the_base_says_by_an_old_name_is_told_too():
    code, out, _ = typed("check", "--only", "cooler-motor")
    assert code == 0 and "Note:" not in out and " 7 examples: 0 come out otherwise" in out


@pytest.mark.parametrize(
    "formerly, owner",
    [
        ("breaker-125-percent", "the name of what is at kb/base/overcurrent/protection.yaml"),
        (OLD, f"an old name of {NEW}"),
    ],
)
def test_an_old_name_that_means_something_else_is_a_fault(tmp_path, formerly, owner):
    mine = pack_with(
        tmp_path / "mine",
        "- add: a-new-one\n  cite: §2\n  reason: x\n  says: A shed may.\n  about: segment\n"
        f"  formerly: {formerly}\n  when: place is attic\n  must: location is dry\n",
    )
    with pytest.raises(Faults) as slip:
        Library((mine,)).in_force("2026", "2026-06-01")
    assert [fault.code for fault in slip.value.items] == ["old-name-in-use"]
    assert owner in slip.value.items[0].what


JOB = f"""
job: Two cars, one receptacle
building: one-family dwelling
edition: 2026
circuits:
  night charging:
    supply: 240 V
    load: {{type: EV charger, current: 32 A, connection: cord and plug}}
    receptacle: {{configuration: 14-50, special use: vehicle charging, new outlet: yes}}
    breaker: 40 A
expect:
  night charging receptacle: {{{OLD}: fails}}
"""


def test_a_job_expects_and_a_person_asks_by_the_old_name(tmp_path):
    job = tmp_path / "cars.yaml"
    job.write_text(JOB)
    assert unmet(inspect(job)) == []
    job.write_text(JOB.replace(f"{OLD}: fails", f"{OLD}: passes"))
    assert len(unmet(inspect(job))) == 1
    for asked in ([OLD], ["night charging receptacle", OLD]):
        now = [NEW if word == OLD else word for word in asked]
        assert typed("why", job, *asked) == typed("why", job, *now)


def test_a_belief_names_a_rule_by_the_old_name(tmp_path):
    (tmp_path / "mine.yaml").write_text(
        f"- belief: fifty-on-forty\n  says: x\n  held because: x\n  offends: {OLD}\n"
        f"  corrected: x\n  edits:\n    - withdraw: {OLD}\n"
    )
    (belief,) = read_beliefs(tmp_path).values()
    before, after = known("2026"), held(known("2026"), belief)
    assert [name for name in after.rules if after.rules[name] is not before.rules[name]] == [NEW]


def small(words=WORDS, rules=RULES):
    """A knowledge of a few words, some of which had other names."""
    every, faults = Words(), Collector()
    every.read(read_yaml(words, "words.yaml"), faults)
    items = [(d, KB) for d in read_yaml(rules, "rules.yaml")]
    return build(items, every, [], "2023", faults)


def test_facts_and_choices_answer_to_their_old_names_in_lines():
    knowledge = small()
    segment = knowledge.words.kinds["segment"]
    assert segment.fact_called("stretch") == "span" and segment.words["way"].means["hose"] == "pipe"
    long, not_pipe = (knowledge.rules[name] for name in ("short-enough", "fine-cord"))
    assert long.when[0].words == ("pipe",) and long.test.a.names == ("span",)
    assert set(not_pipe.when[0].words) == {"pipe", "cable"}
    assert [(old.old, old.new) for old in knowledge.words.written_old] == [
        ("hose", "pipe"),
        ("stretch", "span"),
        ("flex", "pipe"),
    ]


@pytest.mark.parametrize(
    "before, after",
    [
        ("formerly: [length, stretch]", "formerly: [way]"),
        ("flex: pipe}", "cable: pipe}"),
    ],
)
def test_an_old_name_of_a_fact_or_a_choice_is_nobodys_present_one(before, after):
    with pytest.raises(Faults) as slip:
        small(WORDS.replace(before, after))
    assert "old-name-in-use" in [fault.code for fault in slip.value.items]


def test_names_of_values_and_tables_are_taken_too():
    text = "- value: spare room\n  is: 3 ft\n- rule: x\n  formerly: spare room\n"
    items = list(read_yaml(text, "rules.yaml"))
    faults = Collector()
    present_names(items, [], VERBS, faults)
    assert [fault.code for fault in faults.items] == ["old-name-in-use"]


@pytest.mark.parametrize("way, answer", [("hose", "fails"), ("pipe", "fails"), ("cord", OFF)])
def test_a_job_runs_and_its_derivation_is_checked_under_old_names(way, answer):
    knowledge = small("job: {has: {segments: many segment}}\n" + WORDS)
    job = read_job(read_yaml(f"segments: {{one: {{way: {way}, stretch: 7 ft}}}}", "j"), knowledge)
    world = World(knowledge, job).run()
    slow = World(knowledge, job, fast=False)
    slow.run()
    (segment,) = world.by_kind["segment"]
    rule = knowledge.rules["short-enough"]
    assert world.answer(rule, segment) == slow.answer(rule, slow.things[segment[0].id]) == answer
    explainer = Explainer(world)
    explainer.g.root = explainer.rule(rule, segment)
    assert Proof(knowledge).check(json.loads(json.dumps(explainer.g.as_dict())), job) == []


def test_what_was_only_renamed_is_what_an_edit_was_written_over(tmp_path):
    # the print of the rule as it was while its fact was called "AFCI asked for"
    edit = (
        "- narrow: afci-protection\n  of: must=a1ecf9 when={}\n  cite: §1\n  relieves: yes\n"
        "  reason: x\n  only when: work is new circuit\n"
    )
    for then, stale in (("55c7f1", False), ("6e6cc3", False), ("55c7f2", True)):
        faults = review(pack_with(tmp_path / then, edit.format(then))).faults.items
        assert ("stale" in [fault.code for fault in faults]) is stale
