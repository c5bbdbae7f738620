"""Changes of the rules that the examples notice: some of those of one edition, drawn with the seed,
and every change in every edition where WHYWIRE_WHOLE=1; and what is seeded to survive is told.
"""

import json

import pytest
from known import known
from prompt import typed
from sweeps import SEED, WHOLE, sweep

from whywire.engine.basics.errors import Place
from whywire.engine.basics.reading import Mapping
from whywire.engine.checking.coverage import Reason, read_reasons
from whywire.engine.checking.mutation import (
    CAUGHT,
    SURVIVED,
    Mutation,
    changed,
    line_changes,
    mutate,
    rule_changes,
)
from whywire.engine.law.library import KB, load

SAMPLE = 2_000
PACK = """
- rule: trial
  says: A trial.
  about: conductors
  when:
    - insulation is THHN | XHHW
    - any of: [material is copper, size is 4 AWG or larger]
  must: ampacity >= 125 % × current of load
  practice: a trial
  examples:
    - {given: {insulation: THHN | XHHW, material: copper, ampacity: 50 A, current of load: 40 A}, answer: passes}
    - {given: {insulation: THHN, material: copper, ampacity: 49.9 A, current of load: 40 A}, answer: fails}
    - {given: {insulation: THHN, material: aluminum, size: 6 AWG}, answer: does not apply}
    - {given: {insulation: THHN, material: aluminum, size: 4 AWG, ampacity: 40 A, current of load: 40 A}, answer: fails}
    - {given: {insulation: THWN-2}, answer: does not apply}
- rule: trial-gives
  says: A yes, a look-up, and what stands in another's place.
  about: conductors
  exception to: small-conductor-limit
  when: role of circuit is branch circuit
  must: limit from trial-limits by size >= rating of breaker
  practice: a trial
  examples:
    - {given: {role of circuit: branch circuit, size: 12 AWG, material: copper, rating of breaker: 15 A}, answer: passes, sets aside: small-conductor-limit}
    - {given: {role of circuit: branch circuit, size: 12 AWG, rating of breaker: 15.1 A}, answer: fails}
    - {given: {role of circuit: feeder}, answer: does not apply}
- table: trial-limits
  says: A table.
  practice: a trial
  file: limits.csv
  keys: {size: exact}
  values: {limit: A, other: A}
  copied: {by: whywire, date: 2026-11-25}
  checked: {date: 2026-11-25, against: nothing; it is a trial}
"""  # noqa: E501


@pytest.fixture(scope="module")
def base():
    return load()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("trial")
    (folder / "pack.yaml").write_text("pack: trial\n")
    (folder / "trial.yaml").write_text(PACK)
    (folder / "limits.csv").write_text("size,limit,other\n14 AWG,12,1\n12 AWG,15,2\n10 AWG,25,3\n")
    return folder


@pytest.fixture(scope="module")
def trial(folder):
    return load((folder,))


@pytest.fixture
def examples(trial):
    """The examples of the trial rules, to be changed by one test."""
    ds = {i: trial.rules[i].d for i in ("trial", "trial-gives")}
    kept = {i: d["examples"] for i, d in ds.items()}
    for d in ds.values():
        d["examples"] = list(d["examples"])
    yield {i: d["examples"] for i, d in ds.items()}
    for i, d in ds.items():
        d["examples"] = kept[i]


def reason(of, what, check="mutate"):
    return Reason(check, of, what, "a trial", Place("trial"))


# ---- what is shipped


@sweep("edition", ["2017", "2020", "2023", "2026"])
def test_every_change_is_caught(edition):
    sample = None if WHOLE else SAMPLE
    got = mutate(known(edition), None, sample, SEED, read_reasons([KB / "base"]))
    assert [(str(m.at), m.of, m.change) for m in got.survivors] == []
    assert [(q.of, q.what) for q in got.stale] == []
    assert got.unread == []
    assert len(got.mutants) == SAMPLE or len(got.mutants) > 14_000
    assert got.caught >= 0.99 * len(got.mutants) and len(got.by_sort()) > 8


def test_every_reason_is_for_a_change_that_survives(base):
    reasons = [q for q in read_reasons([KB / "base"]) if q.check == "mutate"]
    rules = {q.of for q in reasons} & set(base.rules)
    got = mutate(base, only=rules, reasons=reasons)
    assert {(m.of, m.change) for m, _ in got.excused} >= {
        (q.of, q.what) for q in reasons if q.of in rules
    }
    assert got.stale == []


# ---- what a change is


@pytest.mark.parametrize(
    "line, wanted",
    [
        (
            "rating of breaker <= 20 A",
            {"20 A becomes 19 A", "20 A becomes 21 A", "<= becomes >=", "<= becomes <"},
        ),
        (
            "voltage drop <= 2.5 %",
            {"2.5 % becomes 2.4 %", "2.5 % becomes 2.6 %", "<= becomes >=", "<= becomes <"},
        ),
        ("count > 0", {"0 becomes 1", "> becomes <", "> becomes >="}),
        (
            "permit date of job < 2026-09-01",
            {
                "2026-09-01 becomes 2026-08-31",
                "2026-09-01 becomes 2026-09-02",
                "< becomes >",
                "< becomes <=",
            },
        ),
        ("smaller of (a and b)", {"smaller becomes larger"}),
        (
            "size is 6 AWG or larger",
            {"6 AWG becomes 8 AWG", "6 AWG becomes 4 AWG", "larger becomes smaller"},
        ),
        ("supply is 120 V | 240 V", {"without 120 V", "without 240 V"}),
        ("type is kiln", set()),
        (
            "total a of b over c where d is e | f",
            {
                "total becomes largest",
                "where d is e | f turned round",
                "where d is e | f dropped",
                "without e",
                "without f",
            },
        ),
        (
            "every segments where method of segment is EMT",
            {"every becomes some", "where method of segment is EMT turned round"},
        ),
        ("largest a of b over c or 0 A", {"largest becomes smallest", "0 A becomes 1 A"}),
        ("(a × b) stepped up in standard-ratings", {"× becomes ÷", "up becomes down"}),
        (
            "a rounded half up to 1 A",
            {"half up becomes down", "1 A becomes 0 A", "1 A becomes 2 A"},
        ),
        ("square root to 9 places of a", set()),
        (
            "line voltage from supply-systems by supply = supply of circuit",
            {"line voltage becomes to ground"},
        ),
        ("listed from gfci-places by place and edition = '2023'", {"'2023' becomes '2020'"}),
        (
            "limit from small-conductor-limits by size and material >= a",
            {">= becomes <=", ">= becomes >"},
        ),
        (
            "smallest size from conductor-sizes where area >= b",
            {">= becomes <=", ">= becomes >", "where area >= b turned round"},
        ),
    ],
)
def test_changes_of_a_line(base, line, wanted):
    assert {what for _, _, what in line_changes(line, base)} == wanted


def test_a_change_changes_the_line_and_nothing_else(base):
    by_what = {
        what: new for _, new, what in line_changes("total a of b over c where d is e | f", base)
    }
    assert by_what["without e"] == "total a of b over c where d is f"
    assert by_what["where d is e | f dropped"] == "total a of b over c"
    assert by_what["where d is e | f turned round"] == "total a of b over c where not d is e | f"


def test_a_copy_is_changed_and_the_rule_is_not(trial):
    d = trial.rules["trial"].d
    other = changed(d, ("when", 1, "any of", 0), "material is aluminum")
    assert (
        other["when"][1]["any of"][0] == "material is aluminum"
        and d["when"][1]["any of"][0] == "material is copper"
    )
    assert other.at == d.at and other["must"] is d["must"]
    # one line where a list may stand
    assert changed(Mapping(when="a"), ("when", 0), "b")["when"] == "b"


def test_every_sort_of_change_is_made(trial):
    sorts = {m.sort for m in Mutation(trial).mutants()}
    assert sorts == {
        "any and all",
        "arithmetic",
        "cell",
        "choice",
        "comparison",
        "condition dropped",
        "condition turned",
        "constant",
        "every and some",
        "exception",
        "given",
        "look-up",
        "rounding",
        "smaller and larger",
    }


# ---- seeded survivors


def test_the_trial_is_caught_whole(trial):
    got = mutate(trial, {"trial", "trial-gives"})
    assert [(m.of, m.change) for m in got.survivors] == [] and got.caught == len(got.mutants) > 25


@pytest.mark.parametrize(
    "rule, number, survivors",
    [
        ("trial", 1, {"must: >= becomes >", "must: 125 % becomes 126 %", "when: without XHHW"}),
        ("trial", 2, {"must: 125 % becomes 124 %"}),
        (
            "trial",
            3,
            {
                "when: any of [material is copper, size is 4 AWG or larger] dropped",
                "when: 4 AWG becomes 6 AWG",
            },
        ),
        ("trial", 4, {"when: size is 4 AWG or larger dropped", "when: 4 AWG becomes 3 AWG"}),
        ("trial", 5, {"when: insulation is THHN | XHHW dropped"}),
        ("trial-gives", 1, {"exception to: small-conductor-limit dropped"}),
        ("trial-gives", 3, {"when: role of circuit is branch circuit dropped"}),
    ],
)
def test_without_an_example_a_change_survives(trial, examples, rule, number, survivors):
    del examples[rule][number - 1]
    got = mutate(trial, {rule})
    assert survivors <= {m.change for m in got.survivors if m.of == rule}
    assert got.caught == len(got.mutants) - len(got.survivors) > 0


def test_the_example_that_is_offered_catches_what_survived(trial, examples):
    from whywire.engine.basics.reading import read_yaml

    del examples["trial"][3]
    before = mutate(trial, {"trial"})
    assert before.survivors
    i = next(iter(before.examples))
    examples["trial"].append(read_yaml(before.examples[i], "pasted")[0])
    after = mutate(trial, {"trial"})
    assert before.survivors[i].change not in {m.change for m in after.survivors}


def test_a_cell_that_no_example_depends_on_is_told(trial, examples):
    examples["trial-gives"][0] = {
        "given": {
            "role of circuit": "branch circuit",
            "size": "12 AWG",
            "rating of breaker": "1 A",
        },
        "answer": "passes",
    }
    del examples["trial-gives"][1]
    got = mutate(trial, {"trial-gives"})
    assert ("trial-limits", "limit of 12 AWG: 15 A becomes 25 A") in {
        (m.of, m.change) for m in got.survivors
    }


def test_a_column_that_no_example_reads_is_told(trial, examples):
    examples["trial-gives"][:] = [
        {"given": {"role of circuit": "feeder"}, "answer": "does not apply"}
    ]
    t = next(t for t in Mutation(trial).tables() if t["table"] == "trial-limits")
    assert t["unread"] == ["limit"] and t["read"] == 0 and t["rows"] == 3


# ---- reasons


def test_a_reason_for_what_is_caught_or_never_changed_is_stale(trial, examples):
    del examples["trial"][3]
    alive = mutate(trial, {"trial"}).survivors
    good = reason(alive[0].of, alive[0].change)
    caught = reason("trial", "must: 125 % becomes 124 %")
    unknown = reason("trial", "must: 99 % becomes 98 %")
    got = mutate(
        trial,
        reasons=[
            good,
            caught,
            unknown,
            reason("no-such-rule", "x"),
            reason("trial", "x", "mutate 2017"),
            reason("trial", "x", "coverage"),
        ],
    )
    assert got.stale == [caught, unknown]
    assert [q for _, q in got.excused] == [good] and alive[0].change not in {
        m.change for m in got.survivors if m.of == "trial"
    }


# ---- the run


def test_a_sample_is_the_same_for_a_seed(base):
    mutants = [
        [
            (m.of, m.change)
            for m in mutate(base, {"small-conductor-limit", "next-size-up"}, 12, seed).mutants
        ]
        for seed in (1, 1, 2)
    ]
    assert mutants[0] == mutants[1] != mutants[2] and len(mutants[0]) == 12


def test_only_what_holds_the_piece_is_read_again(base, monkeypatch):
    from whywire.engine.checking import mutation

    read = []

    class Seen(mutation.Rule):
        def __init__(self, d, *rest):
            read.append(str(d["rule"]))
            super().__init__(d, *rest)

    monkeypatch.setattr(mutation, "Rule", Seen)
    got = mutate(base, {"next-size-up"})
    own = [m for m in got.mutants if m.of == "next-size-up"]
    assert (
        own
        and read.count("next-size-up") >= len(own)
        and set(read) < set(base.rules)
        and len(set(read)) < 20
    )


def test_verdicts_are_honest(trial):
    """A change is called caught only where an example really comes out otherwise."""
    from whywire.engine.checking.examples import run_example

    run = Mutation(trial)
    for m in rule_changes(trial, trial.rules["trial"]):
        run.judge(m)
        r = next(run.altered(m))
        otherwise = (
            [
                n
                for n, d in enumerate(trial.rules["trial"].d["examples"], 1)
                if not run_example(trial, r, d, n).ok
            ]
            if r is not None
            else []
        )
        assert (m.verdict == CAUGHT) == bool(otherwise) and m.verdict != SURVIVED
        assert m.verdict != CAUGHT or m.by == f"trial, example {otherwise[0]}"


def test_the_command(folder, tmp_path):
    def run(*words, where=folder):
        return typed("check", where, "--mutate", *words)[:2]

    code, out = run("--json")
    data = json.loads(out)["mutation"]
    assert (
        code == 0
        and data["survivors"] == []
        and data["caught"] == data["changes"] > 25
        and data["by sort"]["constant"]["of"] == data["by sort"]["constant"]["caught"]
    )
    for name in ("pack.yaml", "limits.csv"):
        (tmp_path / name).write_text((folder / name).read_text())
    (tmp_path / "trial.yaml").write_text(
        "".join(line for line in PACK.splitlines(keepends=True) if "size: 6 AWG}" not in line)
    )
    code, out = run("--rule", "trial", where=tmp_path)
    assert (
        code == 1
        and "trial.yaml:7:7: trial: no example notices: when: any of [" in out
        and "- {given: " in out
    )
    assert run("--rule", "no-such-rule")[0] == 2
