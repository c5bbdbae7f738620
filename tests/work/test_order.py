"""In what order a job is done: every arrow has its reason, holds stand where something would be
hidden, and nothing jumps when a task is added that is not concerned.
"""

from fractions import Fraction
from functools import cache
from pathlib import Path

import networkx as nx
import pytest

from whywire.engine.basics.errors import Faults
from whywire.engine.basics.reading import read_yaml
from whywire.engine.language.lowering import HIDES, NEEDS, SEES, UNDOES
from whywire.engine.work.opening import How, opened, with_changes
from whywire.engine.work.tasks import Order, Ordering, Task, ordered

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
HEAD = "pack: own-habits\ntitle: Own habits\nauthority: the shop\ncite: shop book\nlayer: shop\n"
LAMP = {
    "panel": "shop",
    "volts": "120 V",
    "length": "20 ft",
    "more than one receptacle": "no",
    "load": {"type": "lighting", "current": "4 A", "continuous": "no", "connection": "hard-wired"},
    "breaker": {"rating": "15 A"},
    "conductors": {"material": "copper"},
    "segments": [
        {
            "method": "NM-B",
            "length": "20 ft",
            "place": "garage",
            "location": "dry",
            "bundle": "none",
            "laid": "along framing",
        }
    ],
}


def told(name: str, changes: dict | None = None, shops: tuple[str, ...] = ()) -> Order:
    body = read_yaml((JOBS / f"{name}.yaml").read_text(), name)
    return ordered(opened(with_changes(body, changes or {}), How(shops=shops)))


@cache
def kiln() -> Order:
    return told("kiln")


@cache
def workshop() -> Order:
    return told("scenarios/workshop-feeder")


def task(order: Order, rule: str) -> Task:
    return next(each for each in order.tasks if each.rule == rule)


def test_a_kiln_from_the_route_to_the_last_inspection():
    assert [each.rule for each in kiln().tasks] == [
        "lay-out-the-route",
        "bore-the-framing",
        "pull-the-cable",
        "fasten-the-cable",
        "rough-inspection",
        "others-close-the-wall",
        "turn-off-and-prove-dead",
        "make-up-the-far-end",
        "land-on-the-breaker",
        "dead-tests",
        "energize-and-measure",
        "clean-up",
        "label-and-hand-over",
        "final-inspection",
    ]
    # 20 + 40 ft ÷ 16 in = 30 members × 3 + 40 × 0.6 + 2 × 2 + 15 + 25 + 20 + 12 + 20 + 5 + 10 + 25
    assert kiln().minutes == 20 + 90 + 24 + 4 + 15 + 25 + 20 + 12 + 25 + 10 + 25 == 270
    assert kiln().visits == 2 and not kiln().least and not kiln().gaps


def test_a_run_in_the_open_is_one_visit_and_a_trench_one_more():
    assert told("scenarios/range-in-pipe").visits == 1
    assert workshop().visits == 3


@pytest.mark.parametrize(
    "before, after, why, state",
    [
        ("rough-inspection", "others-close-the-wall", SEES, "cable fastened"),
        ("dead-tests", "energize-and-measure", UNDOES, "dead"),
        ("pull-the-cable", "fasten-the-cable", NEEDS, "wire in"),
        ("turn-off-and-prove-dead", "make-up-the-far-end", NEEDS, "dead"),
    ],
)
def test_every_arrow_has_its_reason(before, after, why, state):
    arrow = next(each for each in task(kiln(), after).after if each[0].rule == before)
    assert (why, state) in [(reason.why, reason.state) for reason in arrow[1]]


def test_what_hides_waits_for_who_sees_and_not_for_who_needs():
    """Backfill hides the pipe: it waits for the inspector, not for the wires that need the pipe."""
    order = workshop()
    number = {
        each.rule: each.number for each in order.tasks if "feeder" in each.of or each.of == "job"
    }
    assert number["trench-inspection"] < number["ribbon-and-backfill"] < number["pull-the-wires"]
    arrow = next(
        each
        for each in task(order, "pull-the-wires").after
        if each[0].rule == "ribbon-and-backfill"
    )
    assert all(reason.habit for reason in arrow[1])  # nothing but habit: it could be the other way


def test_nobody_touches_a_wire_before_it_is_dead():
    for order in (kiln(), workshop()):
        dead = task(order, "turn-off-and-prove-dead").number
        live = task(order, "energize-and-measure").number
        for each in order.tasks:
            if "dead" in each.states[NEEDS]:
                assert dead < each.number < live


def test_nothing_jumps_when_a_lamp_is_added():
    before = [each.name for each in workshop().tasks]
    with_lamp = told("scenarios/workshop-feeder", {"circuits": {"lamp": LAMP}})
    after = [each.name for each in with_lamp.tasks]
    assert [name for name in after if name in before] == before
    assert {name[1].split(".")[1] for name in after if name not in before} == {"lamp"}


def test_only_arrows_that_are_needed_are_shown():
    graph = nx.DiGraph()
    for each in workshop().tasks:
        graph.add_edges_from((before.name, each.name) for before, _ in each.after)
    assert nx.is_directed_acyclic_graph(graph)
    assert set(nx.transitive_reduction(graph).edges) == set(graph.edges)
    assert graph.number_of_edges() < workshop().arrows / 2


def test_a_circle_is_refused_as_a_chain_of_sentences(tmp_path):
    (tmp_path / "pack.yaml").write_text(HEAD)
    (tmp_path / "habits.yaml").write_text(
        "- add: dust-before-boring\n  cite: p 1\n  reason: A habit.\n  says: Dust is swept first.\n"
        "  about: circuit\n  work: sweep\n  minutes: 5 min\n  by: helper\n"
        "  needs: [cable fastened]\n  makes: [route marked]\n"
    )
    with pytest.raises(Faults) as faults:
        told("kiln", shops=(str(tmp_path),))
    (fault,) = faults.value.items
    assert fault.code == "circle-of-tasks"
    said = str(fault)
    assert (
        'sweep (kiln) needs "cable fastened", which fasten the cable (kiln segment 1) makes' in said
    )
    assert '"route marked", which sweep (kiln) makes' in said


def test_what_nothing_makes_is_a_gap(tmp_path):
    (tmp_path / "pack.yaml").write_text(HEAD)
    (tmp_path / "habits.yaml").write_text(
        "- add: photograph\n  cite: p 2\n  reason: A habit.\n  says: A photograph of it.\n"
        "  about: circuit\n  work: take a photograph\n  minutes: 5 min\n  by: helper\n"
        "  needs: [camera charged]\n  makes: [photographed]\n"
    )
    assert told("kiln", shops=(str(tmp_path),)).gaps == [
        'take a photograph (kiln) needs "camera charged", and nothing in this job makes it'
    ]


def test_no_task_takes_less_than_nothing(tmp_path):
    (tmp_path / "pack.yaml").write_text(HEAD)
    (tmp_path / "habits.yaml").write_text(
        "- add: hurry\n  cite: p 2\n  reason: A habit.\n  says: We hurry.\n  about: circuit\n"
        "  work: hurry\n  minutes: 5 min - feet laid × pulling a foot\n  by: helper\n"
        "  makes: [hurried]\n"
    )
    with pytest.raises(Faults) as faults:
        told("kiln", shops=(str(tmp_path),))
    assert [fault.code for fault in faults.value.items] == ["work-negative"]
    assert "hurry comes to less than nothing at kiln: -19" in str(faults.value.items[0])


def test_a_shop_writes_its_own_minutes(tmp_path):
    (tmp_path / "pack.yaml").write_text(HEAD)
    (tmp_path / "habits.yaml").write_text(
        "- set: boring a member\n  cite: p 3\n  reason: Fourteen jobs, the median.\n  to: 2 min\n"
    )
    order = told("kiln", shops=(str(tmp_path),))
    assert task(order, "bore-the-framing").minutes == 60  # 30 members × 2 min
    assert order.minutes == kiln().minutes - 30


@pytest.mark.parametrize(
    "edit",
    [
        "- withdraw: rough-inspection\n  cite: p 4\n  reason: It takes time.\n",
        "- withdraw: conductor-125-percent\n  cite: p 4\n  reason: It costs.\n",
    ],
)
def test_a_shop_withdraws_no_hold_and_no_law(tmp_path, edit):
    (tmp_path / "pack.yaml").write_text(HEAD)
    (tmp_path / "habits.yaml").write_text(edit)
    with pytest.raises(Faults) as faults:
        told("kiln", shops=(str(tmp_path),))
    assert [fault.code for fault in faults.value.items] == ["not-a-habit"]


def test_of_what_makes_work_slower_the_two_largest_multiply():
    """An attic 1.4, a high ladder 1.1, a house that is lived in 1.2: 1.4 × 1.2 = 1.68 and not 1.85;
    the fifteen minutes at the panel stay fifteen.
    """
    segment = {
        "method": "NM-B",
        "length": "40 ft",
        "place": "attic",
        "location": "dry",
        "bundle": "none",
        "laid": "through bored holes",
        "member spacing": "16 in",
        "high ladder": "yes",
        "ambient": "86 °F",
    }
    changes = {"lived in": "yes", "circuits": {"kiln": {"segments": [segment]}}}
    order = told("kiln", changes)
    assert task(order, "bore-the-framing").minutes == 90 * Fraction("1.68")
    assert task(order, "turn-off-and-prove-dead").minutes == 15


def test_a_stage_of_every_task_is_one_that_there_is():
    job = opened(JOBS / "kiln.yaml", How())
    stages = Ordering(job).stages
    moments = {str(row["moment"]) for row in job.knowledge.tables["moments-of-work"].rows}
    made = set()
    rules = [rule for rule in job.knowledge.rules.values() if "work" in rule.d or "hold" in rule.d]
    for rule in rules:
        assert rule.d["stage"] in stages, rule.id
        assert not rule.d.get("moment") or rule.d["moment"] in moments, rule.id
        made |= {str(state) for state in rule.d.get("makes", [])}
    for rule in rules:
        for key in (NEEDS, "follows", "by habit after", SEES, HIDES, UNDOES):
            assert {str(state) for state in rule.d.get(key, [])} <= made, (rule.id, key)
    seen = {str(state) for rule in rules for state in rule.d.get(SEES, [])}
    for rule in rules:
        if rule.d.get(HIDES):
            assert seen & {str(state) for state in rule.d[HIDES]}, rule.id


def test_others_patch_what_was_fished_and_the_helper_cleans_up():
    """Nobody patches before the inspector has looked; the customer comes when it is clean."""
    segment = {"method": "NM-B", "length": "40 ft", "place": "basement", "laid": "fished"}
    own = {"segments": [{**segment, "location": "dry", "bundle": "none"}]}
    order = told("kiln", {"circuits": {"kiln": own}})
    patch, clean = task(order, "patch-and-paint"), task(order, "clean-up")
    assert patch.by == "others" and patch.outside
    assert task(order, "rough-inspection").number < patch.number
    assert task(order, "energize-and-measure").number < clean.number
    assert clean.number < task(order, "label-and-hand-over").number
    assert not any(each.rule == "patch-and-paint" for each in kiln().tasks)
