"""`whywire check` of a pack of edits: every fault, each edit said back, what it changes, and the
lines it adds.
"""

import json
import shutil
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine.basics.errors import Collector
from whywire.engine.basics.reading import read_yaml
from whywire.engine.comparing import amendments, changes
from whywire.engine.language.knowledge import assemble
from whywire.engine.law import applying, library, places

HERE = Path(__file__).resolve().parent
SMALL = HERE.parent / "faults" / "edits" / "kb"
HEAD = (
    "pack: mine\ntitle: Mine\nauthority: The Board\ncite: Ordinance 1\nlayer: county\nadopts:"
    " {edition: 2023, from: 2025-01-01}\n"
)
EXAMPLES = """  examples:
  - {rule: guarded, given: {breaker: 20 A, ampacity of wire: 15 A, class: other}, answer: fails}
  - {rule: guarded, given: {breaker: 15 A, ampacity of wire: 15 A, class: other}, answer: passes}
"""
WITHDRAWN = (
    "- withdraw: next-size   # the county wants the breaker at or under the wire\n  cite: §1\n "
    ' reason: "Costs: none"\n' + EXAMPLES
)
SAID = (
    "STRICTER: “A breaker may be up to 20 A where the wire carries less” (next-size) is withdrawn:"
    " guarded stands without it."
)


@pytest.fixture
def pack(tmp_path, monkeypatch):
    """A pack over a base small enough to amend."""
    monkeypatch.delenv("WHYWIRE_PACKS", raising=False)
    for module in (library, places, changes):
        monkeypatch.setattr(module, "KB", SMALL)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pack").mkdir()
    (tmp_path / "pack" / "pack.yaml").write_text(HEAD)
    return tmp_path / "pack"


def test_every_fault_in_the_files_order_and_each_edit_said_back(pack, capsys):
    (pack / "trial.yaml").write_text(
        WITHDRAWN
        + "- withdraw: nothing\n  cite: §2\n- amend: room\n  cite: §3\n  reason: x\n  strike: 30"
        " in\n  insert: 42 in\n"
    )
    assert main(["check", "pack"]) == 2
    out, err = capsys.readouterr()
    places_told = [
        [int(n) for n in line.split(": ")[0].split(":")[1:]]
        for line in err.splitlines()
        if line.startswith("pack/")
    ]
    assert places_told == sorted(places_told) and len(places_told) == 5
    assert (
        '"nothing" is no rule, value or table' in err
        and '"30 in" stands nowhere in the lines of room' in err
        and 'does not say "reason:"' in err
    )
    assert SAID in " ".join(out.split()) and "3 edits, 5 faults" in out
    assert main(["check", "pack", "--json"]) == 2
    told = json.loads(capsys.readouterr().out)
    assert [e["direction"] for e in told["edits"]] == ["STRICTER", None, None] and len(
        told["faults"]
    ) == 5
    assert told["examples"][0] == {
        "edit": "next-size",
        "number": 1,
        "rule": "guarded",
        "without": "exception applies",
        "with": "fails",
    }


def test_a_pack_on_the_shelf_is_called_by_its_name(pack, capsys):
    assert main(["check", "shire"]) == 2  # it keeps no meaning: lines
    assert "withdraw next-size" in capsys.readouterr().out
    assert main(["check", "shyre"]) == 2 and "no such folder" in capsys.readouterr().err


def test_a_sound_pack_says_its_last_day(pack, capsys):
    (pack / "trial.yaml").write_text(WITHDRAWN + "  until: 2027-01-01\n")
    assert main(["check", "pack", "--write"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert f"{SAID} In force up to its last day 2026-12-31." in out and "1 edit, 0 faults" in out


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_only_the_lines_that_are_missing_are_added(pack, capsys, end):
    text = (
        "\ufeff# Ours.\n"
        + WITHDRAWN
        + "# in braces\n- {alias: guarded, cite: §2, reason: Old numbers., code: {2023: 3-2}}   #"
        " kept\n- set: spare share\n  meaning: mine to keep\n  cite: §3\n  reason: x\n  as in:"
        " 2017\n"
    )
    path = pack / "trial.yaml"
    path.write_bytes(text.replace("\n", end).encode())
    # what a person wrote as the meaning of the last is not its meaning
    assert main(["check", "pack", "--write"]) == 2
    out, err = capsys.readouterr()
    assert "5 lines added" in out and "now means" in err
    after = path.read_bytes().decode()
    added = [line for line in after.split(end) if line.startswith(("  of: ", '  meaning: "'))]
    assert len(added) == 3 and f'  meaning: "{SAID}"' in added
    braces = (
        '{alias: guarded, of: must=72adb8, meaning: "CHANGES: guarded is cited as 3-2 (2023); it'
        ' says the same.", cite: §2, reason: Old numbers., code: {2023: 3-2}}   # kept'
    )
    assert braces in after
    kept = end.join(line for line in after.split(end) if line not in added).replace(
        braces, "{alias: guarded, cite: §2, reason: Old numbers., code: {2023: 3-2}}   # kept"
    )
    assert kept.encode() == text.replace("\n", end).encode()
    assert (
        main(["check", "pack", "--write"]) == 2
        and "lines added" not in capsys.readouterr().out
        and path.read_bytes().decode() == after
    )


def test_nothing_is_written_where_the_file_would_say_something_else(pack, capsys):
    # the key and its value on two lines
    text = WITHDRAWN.replace("- withdraw: next-size   #", "- ? withdraw\n  : next-size   #")
    (pack / "trial.yaml").write_text(text)
    main(["check", "pack", "--write"])
    assert (
        pack / "trial.yaml"
    ).read_text() == text and "lines added" not in capsys.readouterr().out


def test_what_a_pack_changes_in_jobs(pack, capsys):
    (pack / "trial.yaml").write_text(WITHDRAWN)
    (pack / "jobs").mkdir()
    (pack / "jobs" / "shed.yaml").write_text(
        "job: A shed\ncircuits: {shed: {breaker: 20 A, current: 12 A, class: other, wire: {size: 14"
        " AWG}}, barn: {breaker: 15 A, current: 12 A, class: other, wire: {size: 14 AWG}}}\n"
    )
    assert main(["check", "pack", "--write", "--changes"]) == 0
    out = capsys.readouterr().out
    assert "Jobs run with and without: 1; findings move in 1" in out
    assert (
        "circuits.shed  guarded  exception applies (20 A <= 15 A) -> fails (20 A <= 15 A)" in out
        and "barn" not in out
    )
    assert main(["check", "pack", "--changes", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["changes"]
    assert (
        told["edition"] == "2023"
        and list(told["moves"]) == ["pack/jobs/shed.yaml"]
        and told["edits"] == ["mine: withdraw next-size"]
    )


def test_the_shipped_jobs_that_the_ordinance_moves(capsys, monkeypatch, tmp_path):
    """d: no next size up but for motors. The kiln's 55 A wire on its 60 A breaker, and both
    numbers.
    """
    shutil.copytree(HERE / "clerk", tmp_path / "clerk")
    assert main(["check", str(tmp_path / "clerk"), "--changes", "--json"]) == 0
    moves = json.loads(capsys.readouterr().out)["changes"]["moves"]["kb/jobs/kiln.yaml"]
    assert {
        "on": "circuits.kiln.conductors",
        "what": "breaker-protects-conductors",
        "before": "exception applies (55 A >= 60 A)",
        "after": "fails (55 A >= 60 A)",
    } in moves
    assert read_yaml((tmp_path / "clerk" / "ordinance.yaml").read_text(), "x") == read_yaml(
        (HERE / "clerk" / "ordinance.yaml").read_text(), "x"
    )


LARGE = """- add: ground-of-a-large-breaker
  cite: §1
  reason: x
  says: Over 20 A the ground is 10 AWG or larger.
  about: circuit
  when: breaker > 20 A
  must: ground of wire >= size from grounds by rating = breaker
"""
CELL = (
    "- amend: grounds\n  cite: §2\n  reason: x\n  row: {rating: %s A}\n  column: size\n  strike: %s"
    " AWG\n  insert: %s AWG\n"
)


def test_a_sentence_that_keeps_the_old_cell_of_a_table_is_noticed(pack, capsys):
    """As it is where a value is set: a rule that reads the table may not go on saying what none of
    its cells says any more.
    """

    def noticed(text: str) -> str:
        (pack / "trial.yaml").write_text(text)
        main(["check", "pack"])
        return capsys.readouterr().err

    assert 'the sentence of ground-of-a-large-breaker has "10 AWG" in it' in noticed(
        LARGE + CELL % (60, 10, 12)
    )
    mended = noticed(
        LARGE
        + CELL % (60, 10, 12)
        + "  says: {ground-of-a-large-breaker: Over 20 A the ground is 12 AWG or larger.}\n"
    )
    assert 'has "10 AWG"' not in mended and "takes no" not in mended
    assert 'has "10 AWG"' not in noticed(LARGE + CELL % (20, 12, 14))  # another cell
    # another row says it still
    assert 'has "10 AWG"' not in noticed(LARGE + CELL % (20, 12, 10) + CELL % (60, 10, 14))
    assert 'no rule "enough" reads grounds' in noticed(
        LARGE + CELL % (60, 10, 12) + "  says: {enough: x}\n"
    )


@pytest.mark.parametrize(
    ("old", "new", "way"),
    [
        ("depth >= least depth", "depth >= least depth + 6 in", "STRICTER"),
        ("depth >= least depth", "depth >= least depth - 6 in", "LAXER"),
        ("depth >= least depth", "depth >= least depth × 80 %", "LAXER"),
        ("depth >= least depth", "depth >= 125 % × least depth", "STRICTER"),
        ("depth >= least depth", "depth >= least depth ÷ 2", "LAXER"),
        ("depth >= least depth", "depth + 6 in >= least depth", "LAXER"),
        ("depth >= least depth", "depth >= larger of (least depth and 36 in)", "STRICTER"),
        ("depth >= least depth", "depth >= smaller of (least depth and 20 in)", "LAXER"),
        ("depth >= least depth", "depth >= least depth + least depth", "STRICTER"),
        ("depth >= least depth", "depth >= least depth × 100 %", "CHANGES"),
        ("depth >= least depth", "depth × 80 % >= least depth", "STRICTER"),
    ],
)
def test_which_way_a_line_goes_is_said_where_it_can_be_proven(pack, capsys, old, new, way):
    """Something added, or what multiplies, on one side of a limit; 100 % is no change of it."""
    (pack / "trial.yaml").write_text(
        f"- amend: deep-enough\n  cite: §1\n  reason: x\n  strike: {old}\n  insert: {new}\n  says:"
        " The space is deep enough.\n"
    )
    main(["check", "pack", "--json"])
    assert [e["direction"] for e in json.loads(capsys.readouterr().out)["edits"]] == [way]


def test_what_may_be_less_than_nothing_is_no_larger_for_being_multiplied():
    from whywire.engine.language.lines import parse_line
    from whywire.engine.law.meanings import _harder

    def way(old: str, new: str):
        return _harder(parse_line(old, "cond"), parse_line(new, "cond"))

    assert (
        way("load <= a - b", "load <= (a - b) × 80 %") is None
        and way("load <= a + b", "load <= (a + b) × 80 %") == 1
    )
    assert (
        way("w >= larger of (30 in and a)", "w >= larger of (36 in and a)") == 1
        and way("w >= smaller of (a and b and 36 in)", "w >= smaller of (a and b and 30 in)") == -1
    )
    assert (
        way("w >= larger of (30 in and a)", "w >= larger of (36 in and b)") is None
        and way("w >= larger of (30 in and a)", "w >= smaller of (36 in and a)") is None
    )
    assert (
        way("t >= a", "t >= a + 5 °C") is None
        and way("load <= a", "load <= a × b") is None
        and way("load <= a", "load <= a × 6 in") is None
    )
    assert way("load <= a + 5 A", "load <= a") == 1 and way("load <= a", "load <= a + 0 A") is None


@pytest.mark.parametrize(
    ("must", "current", "answer"),
    [
        ("current <= larger of (10 A and share from trial by size = breaker)", 8, "passes"),
        ("current <= larger of (10 A and share from trial by size = breaker)", 12, "cannot tell"),
        ("current >= larger of (10 A and share from trial by size = breaker)", 8, "fails"),
        ("current >= larger of (10 A and share from trial by size = breaker)", 12, "cannot tell"),
        ("current <= smaller of (10 A and share from trial by size = breaker)", 12, "fails"),
        ("current <= smaller of (10 A and share from trial by size = breaker)", 8, "cannot tell"),
    ],
)
def test_a_floor_decides_where_it_can_whatever_a_table_would_say_beyond_its_end(
    pack, must, current, answer
):
    """Off the table nothing is known; the larger of that and 10 A is 10 A or more, and no more than
    that is concluded.
    """
    (pack / "trial.csv").write_text("size,share\n20,5\n60,15\n")
    (pack / "trial.yaml").write_text(
        "- table: trial\n  says: x\n  practice: x\n  file: trial.csv\n  keys: {size: next row up"
        " A}\n  values: {share: A}\n- rule: trial-rule\n  says: x\n  about: circuit\n "
        f" practice: x\n  must: {must}\n  examples:\n    - {{given: {{current: {current} A,"
        f" breaker: 99 A}}, answer: {answer}}}\n"
    )
    k = library.load((pack,), "2023")
    from whywire.engine.answering.inspection import Inspection
    from whywire.engine.checking.examples import run_examples

    outcomes, faults = run_examples(k, "trial-rule")
    assert not faults.items and [o.ok for o in outcomes] == [True], [
        (o.wanted, o.got) for o in outcomes
    ]
    # and so by the emitted code
    found = Inspection(
        {"job": "x", "circuits": {"a": {"current": f"{current} A", "breaker": "99 A"}}}, k
    )
    assert [f.answer for f in found.findings if f.rule == "trial-rule"] == [answer]


def what_is_there(k) -> dict:
    """Everything that examples are run on."""
    return {
        "rules": {i: r.d for i, r in k.rules.items()},
        "stands on": {
            i: (r.c.values_used, {n: t.rows for n, t in r.c.tables_used.items()})
            for i, r in k.rules.items()
        },
        "absent": {*k.absent},
        "values": k.values,
        "tables": {i: (t.d, t.rows) for i, t in k.tables.items()},
        "exceptions": {i: sorted(r.id for r in rs) for i, rs in k.order.exceptions.items()},
        "aside": {i: sorted(r.exception_to) for i, r in k.rules.items()},
        "width": k.width,
    }


@pytest.mark.parametrize(
    "folder",
    [
        library.KB / "places" / "kestrel-county",
        library.KB / "places" / "port-alder-city",
        library.KB / "places" / "saltgrass-parish",
        HERE / "clerk",
    ],
    ids=lambda p: p.name,
)
def test_a_day_without_an_edit_is_what_would_be_put_together_without_it(folder, monkeypatch):
    seen = []

    def noted(e, there, *rest):
        seen.append((e, there))

    monkeypatch.setattr(amendments, "_look", noted)
    got = amendments.review(folder)
    assert len(seen) == len(got.edits) > 0
    for e in got.edits:
        e.d.pop("meaning", None)  # which may name what is left out, and stands on nothing
    for e, there in seen:
        out = [o for o in got.edits if o.target == e.target and o.number >= e.number]
        for left_out in ([e], out) if len(out) > 1 else ([e],):
            faults, whole = Collector(), None
            m = there.library.material(there.edition, there.day, without=left_out, faults=faults)
            with faults.catching():
                whole = assemble(m, Collector(), there.library.pool, ordered=False)
            if faults.items:  # others stand on it
                whole = assemble(
                    there.library.material(
                        there.edition, there.day, without=got.edits, faults=Collector()
                    ),
                    Collector(),
                    there.library.pool,
                    ordered=False,
                )
            assert what_is_there(there.without(left_out)) == what_is_there(whole), e.name


def test_a_longer_pack_is_as_much_more_work_and_no_more(pack, monkeypatch):
    done, one = [], applying._apply_one
    monkeypatch.setattr(applying, "_apply_one", lambda *a: (done.append(1), one(*a)))
    counts = []
    for n in (6, 24):
        (pack / "trial.yaml").write_text(
            "".join(
                f"- add: rule-{chr(97 + i)}\n  cite: §{i}\n  reason: x\n  says: y\n  about:"
                " circuit\n  must: breaker <= 20 A\n  examples:\n    - {given: {breaker: 30 A},"
                " answer: fails}\n    - {given: {breaker: 20 A}, answer: passes}\n    -"
                " {rule: guarded, given: {breaker: 15 A, ampacity of wire: 15 A, class: other},"
                " answer: passes}\n"
                for i in range(n)
            )
        )
        done.clear()
        got = amendments.review(pack)
        assert len(got.moves) == 3 * n
        counts.append(len(done))
    assert counts[1] <= 4 * counts[0]


AMENDED = (
    "- amend: room\n  cite: §1\n  reason: x\n  strike: 36 in\n  insert: 42 in\n  says: The clear"
    " space is at least 42 in deep.\n"
)
SET = "- set: spare share\n  cite: §1\n  reason: x\n  to: 30 %\n"
ROW = (
    "- amend: grounds\n  cite: §1\n  reason: x\n  row: {rating: 60 A}\n  column: size\n  strike: 10"
    " AWG\n  insert: 12 AWG\n"
)


# another row has it still
@pytest.mark.parametrize(
    "edit, rule, said, wanted, keys",
    [
        (
            AMENDED,
            "room",
            "because: In less than 3 ft nobody can step back.",
            '"because" of room has "3 ft" in it too',
            "because: In less than 42 in nobody can step back.",
        ),
        (
            AMENDED,
            "room",
            "limits: A shelf may reach into the 36 in.",
            '"limits" of room has "36 in" in it too',
            "limits: A shelf may reach into the 42 in.",
        ),
        (AMENDED, "room", "because: A door of 30 in opens into it.", "", ""),
        (
            SET,
            "enough",
            "because: The 25 % is for the heat.",
            '"because" of enough has "25 %" in it',
            "because: {enough: The 30 % is for the heat.}",
        ),
        (
            SET,
            "enough",
            "limits: Nothing asks for more than 25 %.",
            '"limits" of enough has "25 %" in it',
            "limits: Nothing asks for more than 30 %.",
        ),
        (SET, "room", "because: A wall leans by 25 % at most.", "", ""),  # it reads another number
        (
            ROW,
            "ground-needed",
            "because: The 10 AWG trips a breaker of 60 A in time.",
            '"because" of ground-needed has "10 AWG" in it',
            "because: {ground-needed: The 12 AWG trips it in time.}",
        ),
        (ROW, "ground-needed", "limits: No ground is over 14 AWG here.", "", ""),
    ],
)
def test_a_reason_with_the_old_number_is_noticed_and_said_anew(
    edit, rule, said, wanted, keys, pack, monkeypatch
):
    kb = pack.parent / "kb"
    shutil.copytree(SMALL, kb)
    rules = kb / "base" / "rules.yaml"
    rules.write_text(rules.read_text().replace(f"- rule: {rule}\n", f"- rule: {rule}\n  {said}\n"))
    for module in (library, places, changes, amendments):
        monkeypatch.setattr(module, "KB", kb)

    def old(text: str) -> tuple[list[str], str]:
        (pack / "trial.yaml").write_text(text)
        lib, faults = library.Library((pack,)), Collector()
        m = lib.material("2023", "2026-01-01", faults=faults)
        return [f.what for f in faults.items], m.rules[rule].get(said.partition(":")[0])

    told, stands = old(edit)
    assert stands == said.partition(": ")[2] and [t.startswith(wanted) for t in told] == [
        True
    ] * bool(wanted), told
    if wanted:
        told, stands = old(edit + f"  {keys}\n")
        assert told == [] and stands in keys and stands != said.partition(": ")[2]


def test_a_rule_beside_the_edits_may_be_an_exception_to_one_that_an_edit_adds(pack):
    (pack / "trial.yaml").write_text("""- add: small-breaker
  cite: §1
  reason: x
  says: y
  about: circuit
  must: breaker <= 20 A
  examples:
    - {given: {breaker: 30 A}, answer: fails}
    - {given: {breaker: 20 A}, answer: passes}
    - {rule: motors-spared, given: {class: motor}, holds: yes}
- rule: motors-spared
  says: z
  about: circuit
  local: §2
  when: class is motor
  exception to: small-breaker
  because: x
  examples:
    - {given: {class: motor}, holds: yes}
    - {given: {class: other}, holds: no}
    - {given: {}, holds: cannot tell}
""")
    got = amendments.review(pack)
    assert {f.code for f in got.faults.items} == {"meaning-missing"}
    assert [(m.rule, m.without, m.within) for m in got.moves] == [
        ("small-breaker", "does not apply", "fails"),
        ("small-breaker", "does not apply", "passes"),
        ("motors-spared", "holds: yes", "holds: yes"),
    ]


# ---- what a head leaves out ----------------------------------------------------------------------

ADOPTS = "adopts: {edition: 2023, from: 2025-01-01}\n"


def noted(pack: Path, head: str) -> list[str]:
    (pack / "pack.yaml").write_text(head)
    (pack / "trial.yaml").write_text(WITHDRAWN)
    return amendments.review(pack).notices


@pytest.mark.parametrize(
    "layer, names, told",
    [
        ("city", "", True),
        ("county", "", True),
        ("state", "", True),
        ("city", "place: Mine\n", False),
        ("city", "also: [Mine]\n", False),
        ("utility", "", False),
        ("owner", "", False),
    ],
)
def test_the_law_of_no_place_is_noted(layer, names, told, pack):
    got = noted(pack, HEAD.replace("county", layer) + names)
    assert (
        got
        == [
            f"This {layer} pack has no place:, so that no job is there: it is in force only where a"
            " job or --pack names it, or another pack lies within it. Add place: and the name that"
            " a job writes."
        ]
        * told
    )


@pytest.mark.parametrize(
    "days, adopts, gaps",
    [
        ("from: 2025-01-01", ADOPTS, []),
        ("from: 2025-06-01", ADOPTS, []),
        ("notes: x", ADOPTS, []),
        ("from: 2024-12-31", ADOPTS, ["from 2024-12-31 up to 2024-12-31"]),
        ("from: 2024-01-01\nuntil: 2024-07-01", ADOPTS, ["from 2024-01-01 up to 2024-06-30"]),
        (
            "from: 2022-01-01",
            (
                "adopts: [{edition: 2023, from: 2025-01-01}, {edition: 2020, from: 2022-01-01,"
                " until: 2024-01-01}]\n"
            ),
            ["from 2024-01-01 up to 2024-12-31"],
        ),
        (
            "from: 2022-01-01",
            "adopts: [{edition: 2020, until: 2024-01-01}]\n",
            ["from 2024-01-01 on"],
        ),
        (
            "from: 2022-01-01\nuntil: 2026-01-01",
            "adopts: [{edition: 2020, until: 2024-01-01}]\n",
            ["from 2024-01-01 up to 2025-12-31"],
        ),
    ],
)
def test_days_without_an_edition_are_noted(days, adopts, gaps, pack):
    got = noted(pack, HEAD.replace(ADOPTS, adopts) + f"place: Mine\n{days}\n")
    assert got == [
        f"This pack is in force {g}, and adopts no edition then: a job of those days must say"
        " edition: itself."
        for g in gaps
    ]


@pytest.mark.parametrize(
    "said, told",
    [
        (
            "answer: no",
            "advice, applies, cannot tell, does not apply, exception applies, fails, passes",
        ),
        ("answer: pass", 'did you mean "passes"?'),
        ("holds: maybe", "cannot tell, no, yes"),
    ],
)
def test_an_answer_that_no_rule_gives_is_told_with_those_there_are(said, told, pack):
    (pack / "trial.yaml").write_text(WITHDRAWN.replace("answer: fails", said))
    found = [f for f in amendments.review(pack).faults.items if f.code == "example-value"]
    assert len(found) == 1 and told in found[0].todo and "come out as" not in str(found[0])


# ---- what is told once, and what mends it


def faults_of(pack: Path, edits: str) -> list:
    (pack / "trial.yaml").write_text(edits)
    return amendments.review(pack).faults.items


@pytest.mark.parametrize(
    "edits, first",
    [
        # it leaves no panel alone
        (
            (
                "- add: deep\n  cite: §1\n  reason: x\n  says: x\n  about: panel\n  must: depth >="
                " 40 in\n  examples:\n  - {given: {depth: 39 in}, answer: fails}\n"
            ),
            "- {given: {depth: 40 in}",
        ),
        (
            (
                "- widen: room\n  cite: §1\n  reason: x\n  drop: label\n  examples:\n  - {given:"
                " {depth: 35 in, label: no}, answer: fails}\n"
            ),
            "- {given: ",
        ),
    ],
)
def test_the_example_that_is_asked_for_can_be_pasted(edits, first, pack):
    """An edit without an example that it leaves alone: the message has one, and with that line it
    is silent.
    """
    (lack,) = [f for f in faults_of(pack, edits) if f.code == "example-needed"]
    line = lack.todo.removeprefix("add to its examples: ")
    assert line.startswith(first)
    assert not [
        f for f in faults_of(pack, edits + "  " + line + "\n") if f.code.startswith("example")
    ]


def test_a_size_that_no_pick_can_mend_is_told_once(tmp_path):
    """Two picks try the size of a conductor."""
    (tmp_path / "pack.yaml").write_text(HEAD)
    got = faults_of(
        tmp_path,
        "- add: copper-only\n  cite: §1\n  reason: x\n  says: x\n  about: conductors\n  when: role"
        " of circuit is branch circuit\n  must: material is copper\n",
    )
    (told,) = [f for f in got if f.code == "size-no-matter"]
    assert "minimum-size and size-to-install try" in told.what


def test_a_pack_that_amends_nothing_says_so(pack, capsys):
    (pack / "ordinance.docx").write_bytes(b"PK\3\4")
    assert main(["check", "pack"]) == 0
    assert "This pack amends nothing: no file of it that ends in .yaml has an edit." in " ".join(
        capsys.readouterr().out.split()
    )


@pytest.mark.parametrize(
    "target, told",
    [("4.1", "of that section: room"), ("§3.2", "of that section: guarded"), ("§4-2", "")],
)
def test_a_section_names_its_rules(target, told, pack):
    (fault,) = [
        f
        for f in faults_of(pack, f"- withdraw: {target}\n  cite: §1\n  reason: x\n")
        if f.code == "no-such-item"
    ]
    assert told in fault.todo


def test_an_edit_that_says_it_relieves_and_whose_example_shows_the_opposite_is_told(pack, capsys):
    """Whether a larger share is more or less a line does not tell; the example does."""
    (pack / "trial.yaml").write_text(
        "- set: spare share\n  to: 30 %\n  cite: §1\n  reason: x\n  relieves: yes\n  examples:\n  -"
        " {rule: enough, given: {ampacity of wire: 25 A, current: 20 A}, answer: fails}\n  - {rule:"
        " enough, given: {ampacity of wire: 26 A, current: 20 A}, answer: passes}\n"
    )
    main(["check", "pack"])
    assert (
        "mine: set spare share says that it relieves, and it asks more: by its example 1 enough was"
        " passes, and is fails" in " ".join(capsys.readouterr().err.split())
    )


@pytest.mark.parametrize(
    ("when", "gap"),
    [
        ("current > 0 A", "motor and other"),
        ("class is not motor", "other"),
        ("class is heater", ""),
    ],
)
def test_a_choice_for_which_a_table_has_no_row_is_noted(when, gap, pack):
    """Only the heater has a row; what a rule leaves alone is no gap."""
    (pack / "shares.csv").write_text("class,share\nheater,10 %\n")
    (pack / "more.yaml").write_text(
        "- table: shares\n  says: What each class may take.\n  practice: made up\n  file:"
        " shares.csv\n  keys: {class: exact}\n  values: {share: '%'}\n- rule: shared\n  says:"
        f" A class takes its share.\n  about: circuit\n  when: {when}\n  must: breaker >= current ×"
        " share from shares by class\n  practice: made up\n"
    )
    found = [n for n in amendments.review(pack).notices if "has no row" in n]
    assert found == (
        [f"Table shares has no row for the class {gap}: there shared cannot tell."] if gap else []
    )
