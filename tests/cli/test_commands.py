"""The command line as a person uses it: exit codes, colours, JSON, questions that name nothing."""

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest
from prompt import typed as run

ROOT = Path(__file__).resolve().parents[2]
KILN = str(ROOT / "kb/jobs/kiln.yaml")


def on_a_terminal(*words, **env) -> str:
    """What a command writes to a terminal."""
    mine, theirs = pty.openpty()
    p = subprocess.Popen(
        [sys.executable, "-m", "whywire.cli.main", *words],
        stdout=theirs,
        stderr=subprocess.DEVNULL,
        stdin=subprocess.DEVNULL,
        env={**os.environ, "TERM": "xterm-256color", **env},
    )
    os.close(theirs)
    out = b""
    while True:
        try:
            piece = os.read(mine, 65536)
        except OSError:
            break
        if not piece:
            break
        out += piece
    p.wait()
    os.close(mine)
    return out.decode()


def job(tmp_path, text: str) -> str:
    path = tmp_path / "job.yaml"
    path.write_text(text)
    return str(path)


PASSING = """
job: kiln
edition: 2023
circuits:
  kiln:
    volts: 240 V
    length: 40 ft
    load: {type: kiln, current: 48 A}
    breaker: {rating: 60 A}
"""


def test_exit_codes(tmp_path):
    assert run("inspect", KILN)[0] == 1
    assert run("inspect", job(tmp_path, PASSING))[0] == 3
    assert run("inspect", job(tmp_path, "circuit: {kiln: {}}"))[0] == 2
    assert run("inspect", str(tmp_path / "none.yaml"))[0] == 2
    assert run("why", KILN, "kiln")[0] == 0
    assert run("why", KILN, "nobody")[0] == 2
    assert run("check")[0] == 0


def test_a_faulty_job_shows_every_fault_with_its_place(tmp_path):
    path = job(
        tmp_path,
        "job: x\ncircuits:\n  kiln:\n    volts: 240 Volts\n    lenght: 40 ft\n    load: {type:"
        " klin, current: 48}\n",
    )
    code, out, err = run("inspect", path)
    assert code == 2 and out == ""
    assert f"{path}:5:5: " in err and 'did you mean "length"?' in err
    assert f"{path}:6:18: " in err and 'did you mean "kiln"?' in err
    assert "48 A" in err
    assert [f["line"] for f in json.loads(run("inspect", path, "--json")[1])["faults"]] == [
        1,
        5,
        6,
        6,
    ]
    assert "which edition of the code is in force cannot be known" in err


def test_inspect_json_keeps_its_contract():
    code, out, _ = run("inspect", KILN, "--json")
    d = json.loads(out)
    assert {"packs", "facts", "findings", "cautions", "not checked"} <= set(d)
    assert {"of", "is", "value", "unit", "origin", "by", "source"} <= set(d["facts"][0])
    assert {"rule", "on", "answer", "unless", "layer", "source", "says", "needs"} <= set(
        d["findings"][0]
    )
    assert {f["answer"] for f in d["findings"]} <= {"passes", "fails", "cannot tell", "advice"}
    assert d["packs"][0]["digest"] and d["packs"][0]["edition"] == "2023"
    current = next(
        f for f in d["facts"] if f["of"] == "circuits.kiln.load" and f["is"] == "current"
    )
    assert (current["value"], current["unit"], current["origin"], current["by"]) == (
        "48",
        "A",
        "told",
        None,
    )
    assert code == 1


def test_why_json_is_the_part_of_the_graph_that_supports_it():
    d = json.loads(run("why", KILN, "kiln", "conductor-125-percent", "--json")[1])
    assert (
        d["answer"]["answer"] == "NO."
        and d["graph"]["root"] == "rule:conductor-125-percent@circuits.kiln.conductors"
    )
    assert {n["kind"] for n in d["graph"]["nodes"]} >= {"rule", "fact", "step", "cell"}


def test_no_colour_in_a_pipe_nor_when_asked_not_to():
    assert "\x1b[" not in run("why", KILN, "kiln")[1]
    assert "\x1b[" in on_a_terminal("why", KILN, "kiln")
    assert "\x1b[" not in on_a_terminal("why", KILN, "kiln", NO_COLOR="1")


@pytest.mark.parametrize(
    "question, start",
    [
        (("why", KILN, "kiln"), "NO. 6 AWG NM-B is 5 A too small"),
        (("why", KILN, "kiln", "minimum size"), "YES. 4 AWG is the smallest size"),
        (("whynot", KILN, "kiln", "size=6 AWG"), "NO. 6 AWG NM-B is 5 A too small"),
        (("whynot", KILN, "kiln", "size=4 AWG"), "YES. Nothing rejects 4 AWG"),
        (("whynot", KILN, "kiln breaker", "rating=50 A"), "NO. A 50 A breaker is 10 A too small"),
        (("whynot", KILN, "kiln supply termination", "temperature rating=75 °C"), "NO."),
        (("whynot", KILN, "kiln", "next-size-up"), "YES. next-size-up applies to"),
        (
            ("whynot", KILN, "kiln", "small-conductor-limit"),
            "NO. small-conductor-limit does not apply to",
        ),
        (
            ("whynot", KILN, "kiln", "feeder-conductor-125-percent"),
            "NO. feeder-conductor-125-percent does not apply",
        ),
    ],
)
def test_questions(question, start):
    code, out, err = run(*question)
    assert out.startswith(start), out + err
    assert len(out.splitlines()) <= 12 and all(len(line) <= 80 for line in out.splitlines())


@pytest.mark.parametrize(
    "question, rule, also",
    [
        (
            ("kiln.yaml", "kiln", "conductors", "EGC size"),
            "egc-follows-the-breaker",
            "strict-reader-of-the-printed-areas passes",
        ),
        (
            ("scenarios/workshop-feeder.yaml", "feeder", "segment", "1", "cover"),
            "deep-enough",
            None,
        ),
        (
            ("scenarios/well-pump.yaml", "pump", "disconnect", "distance"),
            "motor-disconnect-in-sight",
            None,
        ),
        (("kiln.yaml", "kiln", "load", "type"), None, "appliance-breaker-ceiling passes"),
    ],
    ids=lambda q: " ".join(q[1:]) if isinstance(q, tuple) else None,
)
def test_a_told_fact_is_answered_by_what_is_judged_by_it(question, rule, also):
    _, out, _ = run("why", str(ROOT / "kb/jobs" / question[0]), *question[1:], "--json")
    got = json.loads(out)
    told = next(
        n for n in got["graph"]["nodes"] if n["kind"] == "fact" and n["data"]["is"] == question[-1]
    )
    assert told["data"]["origin"] == "told"
    rows = {r["label"]: r["text"] for r in got["answer"]["rows"]}
    assert rows["Told"].startswith(f'"{told["data"]["as written"]}" at ') and got["answer"][
        "rule"
    ] == (rule or "")
    assert also is None or also in rows["Also" if rule else "Decides"]


def test_rules_are_found_and_read():
    code, out, _ = run("rules", "next-size-up")
    assert (
        code == 0
        and "240.4(B)" in out
        and "breaker-protects-conductors" in out
        and "no-rounding-up-for-receptacles" in out
        and "examples" in out
    )
    assert "next-size-up" in run("rules", "standard", "rating")[1]
    assert "75 °C" in run("rules", "conductor-ampacity")[1]
    assert run("rules", "no-such-thing")[0] == 2
    assert json.loads(run("rules", "next-size-up", "--json")[1])["found"][0]["set aside by"] == [
        "no-rounding-up-for-receptacles"
    ]


def test_compare_says_what_differs_and_why():
    code, out, _ = run("compare", KILN, "--under", "Kestrel County")
    assert (
        code == 0
        and "withdraws next-size-up (from 2025-07-01,\nlast day 2026-12-31), only under B:" in out
    )
    assert (
        "- kiln conductors: breaker-protects-conductors passes by next-size-up -> fails,\n  55 A"
        " against 60 A" in out
    )
    assert max(map(len, out.splitlines())) <= 80
    code, out, _ = run(
        "compare",
        str(ROOT / "kb/places/kestrel-county/jobs/kiln.yaml"),
        "--under",
        "-kestrel-county",
        "--json",
    )
    got = json.loads(out)
    assert code == 0 and [x["packs"] for x in got["laws"][0]["under"]] == [["kestrel-county"], []]
    d = next(
        d
        for g in got["groups"]
        for d in g["differences"]
        if d.get("rule") == "breaker-protects-conductors"
    )
    assert (
        d["a"]["answer"],
        d["b"]["answer"],
        d["b"]["have"],
        d["b"]["needed"],
        d["b"]["unit"],
    ) == ("fails", "passes", "55", "60", "A")
    cause = next(g for g in got["groups"] if d in g["differences"])["causes"][0]
    assert (
        cause["edit"]["last day"] == "2026-12-31"
        and cause["edit"]["source"].endswith("§4-12")
        and cause["in"] == "a"
    )


def test_compare_tells_a_slip():
    for words in (
        ("--under", "2018"),
        ("--under", "Nowhere"),
        ("--under", "2017", "--under", "2020", "--under", "2023"),
    ):
        code, out, err = run("compare", KILN, *words)
        assert code == 2 and err.startswith("--under:1:1: ") and not out


def test_the_schema_of_a_job_and_of_a_pack_with_its_own_words():
    code, out, _ = run("schema", "job")
    assert code == 0 and "How long is the run, one way?" in out
    job, with_its_words = (
        json.loads(run("schema", "job", *p)[1]) for p in ((), ("tamarack-state",))
    )
    assert (
        "panel.surge-protection" not in job["$defs"]
        and "panel.surge-protection" in with_its_words["$defs"]
    )
    assert json.loads(run("schema", "pack", "kestrel-county")[1])["$defs"]["amend"]["required"] == [
        "cite",
        "reason",
    ]
    code, out, err = run("schema", "job", "no-such-pack")
    assert code == 2 and not out and "is no folder and no pack on the shelf" in err


def test_packs_on_the_shelf_in_force_and_behind():
    there = str(ROOT / "kb/places/kestrel-county/jobs/kiln.yaml")
    code, out, _ = run("packs")
    assert code == 0 and "NEC 2023, from 2024-10-01, last day 2026-12-29" in out
    assert {p["pack"] for p in json.loads(run("packs", "--json")[1])["packs"]} >= {
        "kestrel-county",
        "tamarack-state",
    }
    code, out, _ = run("packs", there)
    assert (
        code == 0
        and "in force because the job is in Kestrel County" in out
        and "next-size-up" in out
    )
    code, out, _ = run("packs", there, "--behind", "next-size-up")
    assert (
        code == 0
        and "NEC 2023 for a permit of 2025-09-02: withdrawn" in out
        and "240.4(B)" in out
        and "last day 2026-12-31" in out
    )
    cell = "equipment-grounding rating=60 A material=copper size"
    got = json.loads(
        run(
            "packs", "--behind", cell, "--place", "Kestrel County", "--date", "2026-01-01", "--json"
        )[1]
    )
    assert (got["base"]["reads"], got["now"]) == (
        [{"part": "reads", "text": "10 AWG"}],
        [{"part": "reads", "text": "8 AWG"}],
    ) and [(e["was"], e["becomes"]) for e in got["edits"]] == [("10 AWG", "8 AWG")]
    assert (
        json.loads(
            run(
                "packs",
                "--behind",
                cell.replace("60 A", "20 A"),
                "--place",
                "Kestrel County",
                "--date",
                "2026-01-01",
                "--json",
            )[1]
        )["edits"]
        == []
    )
    for words in (
        ("--behind", "nxt-size-up"),
        ("--behind", "equipment-grounding rating=61 A material=copper size"),
        ("--place", "Nowhere", "--edition", "2023"),
    ):
        code, _, err = run("packs", *words)
        assert code == 2 and err.count("\n") >= 2


# ---- what a new user wrote -----------------------------------------------------------------------

PACK_OF_MAPLE_FORD = """pack: maple-ford
title: Maple Ford electrical ordinance
authority: The council of Maple Ford
cite: Ordinance 3
layer: city
place: Maple Ford
adopts: [{edition: 2023, from: 2025-01-01}]
from: 2025-01-01
edits:
- withdraw: next-size-up
  cite: §1
  reason: The breaker is to be at or under what the conductors carry.
"""


@pytest.mark.parametrize("said", ["15/32/2027", "2-1-2026", "soon", "2026-02-30"])
@pytest.mark.parametrize(
    "words",
    [
        ("packs", KILN),
        ("inspect", KILN),
        ("why", KILN, "kiln"),
        ("book", "--to", "pages"),
        ("quiz", "make"),
    ],
    ids=lambda w: w[0],
)
def test_a_day_is_looked_at_wherever_it_is_told(words, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, out, err = run(*words, "--place", "Kestrel County", "--date", said)
    assert (
        code == 2
        and not out
        and err.startswith(f'--date:1:1: "{said}" is no')
        and "write the date as 2025-09-02" in err
    )


def test_a_day_with_two_readings_is_asked_about():
    code, out, err = run("inspect", KILN, "--place", "Kestrel County", "--date", "1/5/2027")
    assert code == 2 and not out and '"1/5/2027" may be 5 January or 1 May' in err


def test_a_day_that_is_none_is_refused_though_its_window_is_kept(tmp_path, monkeypatch):
    from whywire.engine.basics.errors import Fault
    from whywire.engine.language.knowledge import KB
    from whywire.engine.running import cache

    folders = (KB / "places" / "kestrel-county",)
    cache.load(folders, "2023", "2026-02-27")
    for where in (folders, ()):
        with pytest.raises(Fault, match="no day of the calendar"):
            cache.load(where, "2023", "2026-02-30")


@pytest.mark.parametrize("text", ["- a: 1\n", "kiln\n", "[]\n"])
@pytest.mark.parametrize(
    "words",
    [
        ("inspect",),
        ("why",),
        ("whynot", "kiln", "breaker", "50 A"),
        ("packs",),
        ("compare", "--under", "2017"),
    ],
    ids=lambda w: w[0],
)
def test_a_job_is_a_mapping(words, text, tmp_path):
    path = job(tmp_path, text)
    code, out, err = run(words[0], path, *words[1:])
    assert (
        code == 2
        and not out
        and f"{path}:1:1: " in err
        and "a job is a mapping" in err
        and "no such file" not in err
    )
    from whywire.engine import Faults, inspect

    with pytest.raises(Faults, match="a job is a mapping"):
        inspect(["kiln"])


@pytest.mark.parametrize(
    "line",
    [
        "packs: {a: b}",
        "packs: [[a]]",
        "packs: [{a: b}]",
        "place: [a]",
        "edition: [2023]",
        "permit date: {a: b}",
        "expect: [1]",
        "circuits: x",
        "circuits: [a, b]",
    ],
)
def test_what_a_job_says_in_another_form_is_told(line, tmp_path):
    path = job(tmp_path, f"job: x\n{line}\n")
    for words in (("inspect", path), ("packs", path), ("compare", path, "--under", "2017")):
        code, out, err = run(*words)
        assert (
            code == 2 and not out and (f"{path}:2:" if words[0] == "inspect" else f"{path}:") in err
        )


def test_a_new_pack_begins_on_a_day_and_has_a_name(tmp_path):
    code, out, err = run("pack", "new", "Oak Dale", "--from", "1/1/2026", "--in", str(tmp_path))
    assert (
        code == 2
        and not out
        and '--from:1:1: "1/1/2026" is not a date' in err
        and 'NAME:1:1: "Oak Dale" is no name of a pack' in err
        and not list(tmp_path.iterdir())
    )


def test_a_folder_without_a_file_is_told(tmp_path):
    for words in (
        ("format", str(tmp_path)),
        ("format", str(tmp_path), "--check"),
        ("compare", str(tmp_path), "--under", "2017"),
        ("check", str(tmp_path)),
    ):
        code, out, err = run(*words)
        assert code == 2 and not out and f"{tmp_path}:1:1: " in err


def test_a_pack_that_is_a_word_is_told(tmp_path):
    (tmp_path / "pack.yaml").write_text("hello\n")
    for words in (
        ("check", str(tmp_path)),
        ("inspect", KILN, "--pack", str(tmp_path)),
        ("schema", "job", str(tmp_path)),
        ("packs", KILN, "--pack", str(tmp_path)),
    ):
        code, out, err = run(*words)
        assert code == 2 and not out and f"{tmp_path / 'pack.yaml'}:1:1: " in err


def test_a_place_whose_pack_is_named_has_one(tmp_path):
    (tmp_path / "pack.yaml").write_text(PACK_OF_MAPLE_FORD)
    path = job(
        tmp_path.parent,
        "job: x\nplace: Maple Ford\npermit date: 2026-02-01\nworking spaces: {cellar: {width: 32"
        " in}}\n",
    )
    out = " ".join(run("inspect", path, "--pack", str(tmp_path))[1].split())
    assert "Maple Ford electrical ordinance" in out and "There is no pack for" not in out
    out = " ".join(
        run("inspect", path, "--pack", str(tmp_path), "--place", "Pine Hollow")[1].split()
    )
    assert "There is no pack for Pine Hollow here" in out and "(adopted in Maple Ford)" in out


def test_a_file_is_no_pack(tmp_path):
    path = job(tmp_path, PASSING)
    for words in (
        ("check", path),
        ("check", "--coverage", path),
        ("rules", "kiln", "--pack", path),
        ("inspect", path, "--pack", path),
        ("schema", "job", path),
    ):
        code, out, err = run(*words)
        assert (
            code == 2
            and not out
            and f"{path}:1:1: " in err
            and "a file, and a pack is a folder" in err
            and "no such folder" not in err
        )
    assert f"whywire inspect {path}" in run("check", path)[2]


@pytest.mark.parametrize(
    "words",
    [
        ("inspect", KILN),
        ("packs", KILN),
        ("compare", KILN, "--under"),
        ("rules", "next-size-up"),
        ("check",),
        ("book", "--to", "pages"),
        ("quiz", "make"),
        ("pack", "new", "oakdale"),
        ("schema", "job"),
    ],
    ids=lambda w: w[0],
)
def test_an_edition_that_is_none_is_answered_with_those_there_are(words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, out, err = run(*words, *(() if words[-1] == "--under" else ("--edition",)), "2022")
    assert (
        code == 2
        and not out
        and "did you mean" not in err
        and all(e in err.split("2022")[-1] for e in ("2017", "2020", "2023", "2026"))
    )


def test_an_edition_that_is_none_in_a_job(tmp_path):
    err = run("inspect", job(tmp_path, PASSING.replace("edition: 2023", "edition: 2022")))[2]
    assert (
        '"2022" is no edition' in err
        and "known here: 2017, 2020, 2023, 2026" in err
        and "did you mean" not in err
    )


def test_options_stand_anywhere_among_the_words_of_a_question(tmp_path):
    (tmp_path / "pack.yaml").write_text(PACK_OF_MAPLE_FORD)
    pack, words = ["--pack", str(tmp_path), "--date", "2026-02-01"], ["kiln", "breaker", "50", "A"]
    asked = [run("whynot", KILN, *words[:n], *pack, *words[n:]) for n in range(5)]
    assert (
        asked[0][0] == 0
        and "the law of Maple Ford" in " ".join(asked[0][1].split())
        and len(set(asked)) == 1
    )
    assert (
        run("why", KILN, "--edition", "2023", "kiln")
        == run("why", KILN, "kiln", "--edition", "2023")
        == run("why", "--edition", "2023", KILN, "kiln")
    )
    assert run("rules", "next", "--edition", "2023", "size", "up") == run(
        "rules", "next", "size", "up"
    )
    assert (
        run("check", "tests/none", "--edition", "2023", "tests/nowhere")[2].count(
            "there is no such folder"
        )
        == 2
    )


@pytest.mark.parametrize(
    "words",
    [
        ("inspect", KILN, "kiln"),
        ("why", KILN, "kiln", "--edition", "2023", "--nonsense"),
        ("whynot", KILN, "kiln", "--edition", "2023", "breaker", "--nonsense", "50 A"),
        ("quiz", "make", "x"),
        ("compare", KILN, "--under", "2017", "x"),
    ],
)
def test_what_no_command_takes_is_refused(words):
    code, out, err = run(*words)
    assert code == 2 and not out and "unrecognized arguments: " in err and "Traceback" not in err


def test_nothing_is_cut_while_there_is_room():
    """A question with the place to look for its answer takes four lines of twelve."""
    from whywire.cli.layout import plain
    from whywire.cli.show_answer import show_answer
    from whywire.engine.answering.answers import Answer, Row

    long = (
        "What guards the motor against overload: a thermal protector in it, the appliance's own, a"
        " separate overload device, nothing? Look: nameplate (thermally protected) or starter, or"
        " the manual."
    )
    four = show_answer(Answer("CAN'T TELL.", "So.", [Row("Tell", "Which? " + long * 1, rank=3)]))
    assert "…" not in plain(four) and "manual." in plain(four) and len(four) == 4
    full = show_answer(
        Answer(
            "CAN'T TELL.",
            "So.",
            [
                Row("Tell", "This settles 2 to 6 of the 32 that are still open. " + long, rank=3)
                for _ in range(5)
            ],
        )
    )
    assert len(full) <= 12 and "…" in plain(full)
