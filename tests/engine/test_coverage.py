"""Which conditions and limits the examples show: whole for the shipped rules, and a seeded gap is
told with a line that fills it.
"""

import json

import pytest
from prompt import typed

from whywire.engine.basics.errors import Fault
from whywire.engine.basics.reading import read_yaml
from whywire.engine.checking.coverage import cover, lacking, read_reasons, watch
from whywire.engine.checking.examples import run_example
from whywire.engine.checking.variations import ready
from whywire.engine.law.library import KB, load

PACK = """
- rule: trial
  says: A trial.
  about: conductors
  when:
    - role of circuit is branch circuit
    - any of: [material is copper, size is 4 AWG or larger]
    - some segments where length of segment > 10 ft
  must: ampacity >= 125 % × current of load
  practice: a trial
  examples:
    - {given: {role of circuit: branch circuit, material: copper, size: 10 AWG, segments: [{length: 10.1 ft}, {length: 9.9 ft}], ampacity: 50 A, current of load: 40 A}, answer: passes}
    - {given: {role of circuit: branch circuit, material: copper, size: 10 AWG, segments: [{length: 20 ft}], ampacity: 49.9 A, current of load: 40 A}, answer: fails}
    - {given: {role of circuit: branch circuit, material: copper, size: 10 AWG, segments: [{length: 20 ft}], ampacity: 50.1 A, current of load: 40 A}, answer: passes}
    - {given: {role of circuit: feeder}, answer: does not apply}
    - {given: {material: aluminum, size: 6 AWG}, answer: does not apply}
    - {given: {role of circuit: branch circuit, material: aluminum, size: 4 AWG, segments: [{length: 20 ft}], ampacity: 60 A, current of load: 40 A}, answer: passes}
    - {given: {role of circuit: branch circuit, material: aluminum, size: 3 AWG, segments: [{length: 20 ft}], ampacity: 60 A, current of load: 40 A}, answer: passes}
    - {given: {segments: [{length: 10 ft}]}, answer: does not apply}
    - {given: {role of circuit: branch circuit, material: copper, segments: [{length: 20 ft}], ampacity: 60 A}, answer: cannot tell}
- rule: trial-exception
  says: Another trial.
  about: conductors
  exception to: trial
  when: role of circuit is branch circuit
  practice: a trial
  examples:
    - {given: {role of circuit: branch circuit}, holds: yes}
- rule: trial-rating
  says: A rating.
  about: conductors
  must: ampacity >= 15 A
  practice: a trial
"""  # noqa: E501
WHERE = "some segments where length of segment > 10 ft"
# What only one of the examples above shows.
ALONE = {
    1: [
        "at the limit of: ampacity >= 125 % × current of load",
        f"just over the limit of: comparison in {WHERE}",
        f"just under the limit of: comparison in {WHERE}",
    ],
    2: [
        "where this is false: ampacity >= 125 % × current of load",
        "just under the limit of: ampacity >= 125 % × current of load",
    ],
    3: ["just over the limit of: ampacity >= 125 % × current of load"],
    4: ["where this is false: role of circuit is branch circuit"],
    5: [
        "where this is false: material is copper",
        "where this is false: size is 4 AWG or larger",
        "just under the limit of: size is 4 AWG or larger",
    ],
    6: ["at the limit of: size is 4 AWG or larger"],
    7: ["just over the limit of: size is 4 AWG or larger"],
    8: [f"where this is false: {WHERE}", f"at the limit of: comparison in {WHERE}"],
    9: ["that cannot tell"],
}


@pytest.fixture(scope="module")
def trial(tmp_path_factory):
    folder = tmp_path_factory.mktemp("trial")
    (folder / "pack.yaml").write_text("pack: trial\n")
    (folder / "trial.yaml").write_text(PACK)
    return load((folder,))


@pytest.fixture(scope="module")
def base():
    return load()


@pytest.fixture
def examples(trial):
    """The examples of the trial rule, to be changed by one test."""
    d = trial.rules["trial"].d
    kept = d["examples"]
    d["examples"] = list(kept)
    yield d["examples"]
    d["examples"] = kept


# ---- what is shipped


def test_every_condition_and_limit_is_shown(base):
    got = cover(base, None, read_reasons([KB / "base"]))
    assert [(str(x.at), x.rule, x.what) for x in got.lacks] == []
    assert (
        got.conditions[0] == got.conditions[1] > 1000
        and got.thresholds[0] == got.thresholds[1] > 300
    )
    assert [(q.of, q.what) for q in got.stale] == []
    assert len(got.excused) < 30


@pytest.mark.parametrize("edition", ["2017", "2020", "2026"])
def test_so_are_those_of_rules_that_only_another_edition_has(base, edition):
    k = load((), edition)
    others = set(k.rules) - set(base.rules)
    got = cover(k, others, read_reasons([KB / "base"]))
    assert (
        others
        and [(x.rule, x.what) for x in got.lacks] == []
        and [(q.of, q.what) for q in got.stale] == []
    )


# ---- seeded gaps


def test_nothing_lacks_while_every_example_is_there(trial):
    assert lacking(trial, trial.rules["trial"]) == []
    assert all(
        run_example(trial, trial.rules["trial"], d, 0).ok
        for d in trial.rules["trial"].d["examples"]
    )


@pytest.mark.parametrize("number", ALONE)
def test_an_example_left_out_is_told(trial, examples, number):
    del examples[number - 1]
    assert sorted(
        p.said(side) for p in watch(trial, trial.rules["trial"]) for side in p.lacks
    ) == sorted(ALONE[number])


@pytest.mark.parametrize("number", ALONE)
def test_the_line_to_paste_fills_the_gap_and_comes_out_as_written(trial, examples, number):
    r = trial.rules["trial"]
    del examples[number - 1]
    while gaps := [(p, side) for p in watch(trial, r) for side in p.lacks]:
        line = ready(trial, r, *gaps[0])
        assert line.startswith("- {given: {"), f"nothing to paste for {gaps[0][0].said(gaps[0][1])}"
        d = read_yaml(line, "pasted")[0]
        assert run_example(trial, r, d, 0).ok
        examples.append(d)
        assert gaps[0][0].said(gaps[0][1]) not in [
            p.said(side) for p in watch(trial, r) for side in p.lacks
        ]


def test_a_rule_without_examples_lacks_everything(trial):
    line = "ampacity >= 15 A"
    assert lacking(trial, trial.rules["trial-rating"]) == [
        "one that applies",
        "one that cannot tell",
        f"one where this is true: {line}",
        f"one where this is false: {line}",
        *(f"one {side} the limit of: {line}" for side in ("just under", "at", "just over")),
    ]


@pytest.mark.parametrize(
    "ampacity, side",
    [
        ("49 A", "just under"),
        ("49.9 A", "just under"),
        ("49.99 A", "just under"),
        ("48 A", None),
        ("45 A", None),
        ("51 A", "just over"),
        ("52 A", None),
        ("49.5 A to 51 A", None),
        ("49 A to 49.9 A", "just under"),
    ],
)
def test_just_is_one_step_of_what_is_written(trial, examples, ampacity, side):
    examples[:] = [
        {
            "given": {
                "role of circuit": "branch circuit",
                "material": "copper",
                "segments": [{"length": "20 ft"}],
                "ampacity": ampacity,
                "current of load": "40 A",
            }
        }
    ]
    p = next(
        p
        for p in watch(trial, trial.rules["trial"])
        if p.sort == "threshold" and p.text.startswith("ampacity")
    )
    assert [p.said(s).split(" the limit")[0] for s in p.seen] == ([side] if side else [])


def test_no_step_goes_below_nothing(base):
    # 5.8 ± 0 mA: a meter's error is not -1 mA, though that would bring it over 6 mA
    r = base.rules["GFCI-trips-by-six"]
    kept, r.d["examples"] = (
        r.d["examples"],
        [
            {
                "given": {
                    "test": "GFCI trip current",
                    "device class": "Class A",
                    "trip current": "5.8 mA",
                    "trip current error": "0 mA",
                }
            }
        ],
    )
    seen = next(p for p in watch(base, r) if p.sort == "threshold").seen
    r.d["examples"] = kept
    assert seen == {}


def test_what_stands_beside_a_condition_must_not_decide_already(trial, examples):
    examples[:] = [
        {
            "given": {
                "role of circuit": "feeder",
                "material": "aluminum",
                "size": "10 AWG",
                "segments": [{"length": "1 ft"}],
            }
        }
    ]
    assert all(not p.seen for p in watch(trial, trial.rules["trial"]) if p.sort != "answers")


def test_a_thing_more_or_less_in_a_list_is_a_step(base):
    r = base.rules["disconnect-rating-at-a-separate-building"]
    p = next(p for p in watch(base, r) if p.sort == "threshold" and "how many" in p.text)
    assert set(p.seen) == {"under", "at", "over"}


# ---- reasons


def test_a_reason_excuses_and_is_told_when_it_is_no_longer_so(trial, examples, tmp_path):
    del examples[2]
    (tmp_path / "untested.csv").write_text(
        "check,rule,what,why\ncoverage,trial,just over the limit of: ampacity >= 125 % × current of"
        " load,a trial\ncoverage 2017,trial,that applies,in another edition\n"
    )
    reasons = read_reasons([tmp_path])
    got = cover(trial, {"trial"}, reasons)
    assert got.lacks == [] and [q.of for q in got.excused] == ["trial"] and got.stale == []
    examples.append(
        {
            "given": {
                "role of circuit": "branch circuit",
                "material": "copper",
                "segments": [{"length": "20 ft"}],
                "ampacity": "50.1 A",
                "current of load": "40 A",
            },
            "answer": "passes",
        }
    )
    assert cover(trial, {"trial"}, reasons).stale == [reasons[0]]


@pytest.mark.parametrize(
    "text",
    [
        "rule,what,why\na,b,c\n",
        "check,rule,what,why\nnothing,trial,what,why\n",
        "check,rule,what,why\ncoverage,trial,what,\n",
    ],
)
def test_a_list_of_reasons_has_its_form(tmp_path, text):
    (tmp_path / "untested.csv").write_text(text)
    with pytest.raises(Fault):
        read_reasons([tmp_path])


# ---- forms of an example that the gaps asked for


@pytest.mark.parametrize(
    "given, ok", [("copper | aluminum", False), ("copper | copper", True), ("copper", True)]
)
def test_an_example_of_several_choices_is_so_of_each(trial, given, ok):
    d = {
        "given": {
            "role of circuit": "branch circuit",
            "material": given,
            "size": "10 AWG",
            "segments": [{"length": "20 ft"}],
            "ampacity": "60 A",
            "current of load": "40 A",
        },
        "answer": "passes",
    }
    assert run_example(trial, trial.rules["trial"], d, 0).ok is ok


@pytest.mark.parametrize(
    "given, name, ok",
    [
        # fails there
        (
            {
                "material": "copper",
                "segments": [{"length": "20 ft"}],
                "ampacity": "40 A",
                "current of load": "40 A",
            },
            "trial",
            True,
        ),
        # passes anyway
        (
            {
                "material": "copper",
                "segments": [{"length": "20 ft"}],
                "ampacity": "60 A",
                "current of load": "40 A",
            },
            "trial",
            False,
        ),
        # has nothing to say
        (
            {"material": "copper", "segments": [{"length": "5 ft"}]},
            "trial",
            False,
        ),
        # no exception to that
        (
            {"material": "copper", "segments": [{"length": "20 ft"}]},
            "small-conductor-limit",
            False,
        ),
    ],
)
def test_an_example_may_say_which_rule_is_set_aside(trial, given, name, ok):
    d = {
        "given": {"role of circuit": "branch circuit", **given},
        "holds": "yes",
        "sets aside": [name],
    }
    o = run_example(trial, trial.rules["trial-exception"], d, 0)
    assert o.ok is ok and (ok or name in o.got)


def test_an_example_may_speak_of_one_edition(trial):
    d = {"given": {"role of circuit": "feeder"}, "holds": "yes", "edition": "2017"}
    assert run_example(trial, trial.rules["trial-exception"], d, 0).ok
    assert not run_example(
        trial, trial.rules["trial-exception"], d | {"edition": ["2017", "2023"]}, 0
    ).ok


def test_what_a_rule_gives_is_given_only_where_it_holds(base):
    r = base.rules["box-conductor-counts-once"]
    assert run_example(base, r, {"given": {"use": "ends here"}, "gives": {"counts as": "1"}}, 0).ok
    assert not run_example(base, r, {"given": {}, "gives": {"counts as": "1"}}, 0).ok


# ---- the command


def test_the_command_says_what_is_lacking_and_how_much_is_shown(tmp_path):
    (tmp_path / "pack.yaml").write_text("pack: trial\n")
    text = PACK.split("- rule: trial-exception")[0]
    gone = text.splitlines(keepends=True)
    (tmp_path / "trial.yaml").write_text("".join(line for line in gone if "50.1 A" not in line))

    def run(*words):
        return typed("check", tmp_path, *words)[:2]

    code, out = run("--coverage")
    assert (
        code == 1
        and "trial.yaml:9:9: trial: no example just over the limit of: ampacity >= 125 % × current"
        in out
    )
    assert "    - {given: {role of circuit: branch circuit, " in out
    assert "conditions 6 of 6" in out and "thresholds 2 of 3" in out
    data = json.loads(run("--coverage", "--json")[1])["coverage"]
    assert (
        data["thresholds"] == {"seen": 2, "of": 3}
        and len(data["lacking"]) == 1
        and data["lacking"][0]["paste"]
    )
    assert "trial lacks one just over the limit of: ampacity" in run()[1]
