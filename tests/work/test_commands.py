"""The commands of the work, as a person calls them: screens, exit codes, what start-up loads."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from whywire.cli.main import main

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
KILN = str(JOBS / "kiln.yaml")
WORKSHOP = str(JOBS / "scenarios" / "workshop-feeder.yaml")


def said(capsys, *words: str) -> tuple[int, str, str]:
    code = main([*words])
    out = capsys.readouterr()
    return code, out.out, out.err


def test_the_list_for_the_truck(capsys):
    code, out, _ = said(capsys, "parts", KILN)
    assert code == 0
    assert out.startswith("Pottery studio kiln in a lower-level utility room")
    assert "NOT RIGHT: 1 thing to fix." in out and "as mended: 4-3 NM-B" in out
    assert "  55 ft  4-3 NM-B             coil 100: 55 ft\n" in out
    assert max(map(len, out.split("\n"))) <= 80


def test_a_list_that_is_the_least_says_so_and_what_to_ask(capsys):
    code, out, _ = said(capsys, "parts", WORKSHOP)
    assert code == 3
    assert "CANNOT TELL" in out and "This is the least it can be." in out
    assert "How many boxes does it enter" in out


def test_a_part_that_nobody_sells_is_named(capsys, tmp_path):
    job = tmp_path / "job.yaml"
    text = Path(KILN).read_text().split("expect:")[0]
    text = text.replace("current: 48 A, power: 11520 W", "current: 34 A, power: 8160 W")
    job.write_text(text.replace("breaker: {rating: 60 A}", "breaker: {rating: 45 A}"))
    code, out, _ = said(capsys, "parts", str(job))
    assert code == 3 and "breaker: none is on the shelf for plain, 2, 45 A (kiln)" in out


def test_why_a_part_is_on_the_list(capsys):
    code, out, _ = said(capsys, "why", KILN, "parts", "cable staple")
    assert code == 0 and out.index("2 cable staple") < out.index("Holes hold a cable")
    assert "[334.30]" in out
    _, out, _ = said(capsys, "why", WORKSHOP, "parts", "10-2 NM-B")
    assert "coil of 100 ft: saw 44 ft, heater 44 ft, rest 12 ft" in out


def test_a_part_that_is_not_there_suggests(capsys):
    code, _, err = said(capsys, "why", KILN, "parts", "lockoff")
    assert code == 2 and "no part of this job is called" in err and "lock-off" in err
    code, _, err = said(capsys, "why", KILN, "order", "paint")
    assert code == 2 and "no task of this job is called" in err


def test_why_a_task_comes_where_it_does(capsys):
    code, out, _ = said(capsys, "why", KILN, "order", "close", "the", "wall")
    assert code == 0 and 'It hides "wire in", "cable fastened", "holes bored", which 5' in out


def test_a_thing_of_the_job_is_asked_after_as_before(capsys):
    code, out, _ = said(capsys, "why", KILN, "kiln", "breaker", "--chainer", "plain")
    assert code == 0 and "breaker" in out.lower()


def test_a_price_wants_prices(capsys):
    with pytest.raises(SystemExit):
        main(["price", KILN])
    capsys.readouterr()
    code, _, err = said(capsys, "sheet", KILN, "--for", "office")
    assert code == 2 and "whywire prices new FILE" in err


def test_prices_to_begin_with_are_written_once(capsys, tmp_path):
    file = tmp_path / "mine.csv"
    code, out, _ = said(capsys, "prices", "new", str(file))
    assert code == 0 and "invented" in out
    before = file.read_bytes()
    code, _, err = said(capsys, "prices", "new", str(file))
    assert code == 2 and "is there already" in err and file.read_bytes() == before
    code, out, _ = said(capsys, "price", KILN, "--prices", str(file))
    assert code == 0 and "THE PRICES ARE INVENTED" in out
    code, out, _ = said(capsys, "why", KILN, "price", "--prices", str(file))
    assert code == 0 and "÷ (100 % − margin 30 %)" in out


def test_a_faulty_price_file_leaves_the_job_alone(capsys, tmp_path):
    file = tmp_path / "mine.csv"
    file.write_text("part,unit,pack,price,date\nlock-off,each,1,-1,2026-11-25\n")
    before = Path(KILN).read_bytes()
    code, out, err = said(capsys, "price", KILN, "--prices", str(file))
    assert code == 2 and out == "" and "mine.csv:2:1" in err and "wage of the licensed" in err
    assert Path(KILN).read_bytes() == before


def test_options_of_a_job(capsys, tmp_path):
    file, job = tmp_path / "mine.csv", tmp_path / "job.yaml"
    main(["prices", "new", str(file)])
    text = (JOBS / "kiln.yaml").read_text().split("expect:")[0]
    job.write_text(
        text.replace(
            "size: 6 AWG, material: copper, EGC size: 10 AWG",
            "size: 4 AWG, EGC size: 8 AWG, material: copper",
        )
        + "options:\n  the wire at hand: {circuits: {kiln: {conductors: {size: 6 AWG,"
        " EGC size: 10 AWG}}}}\n"
        "  taped by somebody else: {circuits: {kiln: {length: 30 ft}}}\n"
    )
    capsys.readouterr()
    _, out, _ = said(capsys, "price", str(job), "--prices", str(file), "--json")
    got = {each["name"]: each for each in json.loads(out)["options"]}
    assert not got["the wire at hand"]["offered"] and got["the wire at hand"]["delta"] is None
    assert got["taped by somebody else"]["offered"]
    total, other = json.loads(out)["total"], got["taped by somebody else"]["total"]
    cents = [round(float(each.replace(",", "")) * 100) for each in (total, other)]
    delta = got["taped by somebody else"]["delta"].replace("−", "-")
    assert round(float(delta) * 100) == cents[1] - cents[0] < 0
    # the same job is inspected as before: its options are no fact of it, and no unused word
    code, out, _ = said(capsys, "inspect", str(job), "--chainer", "plain")
    assert code in (0, 3) and "RIGHT" in out and "options" not in out


def test_nothing_of_the_work_is_loaded_for_the_other_commands():
    run = (
        "import sys; from whywire.cli.main import main; main(['why', sys.argv[1], 'kiln',"
        " '--chainer', 'plain']); print(*sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", run, KILN], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    loaded = done.stdout.split()
    assert "whywire.engine.language.rules" in loaded or "whywire.engine.running.cache" in loaded
    assert not [name for name in loaded if name.startswith("whywire.engine.work")]
    assert "networkx" not in loaded and "whywire.cli.works" not in loaded
