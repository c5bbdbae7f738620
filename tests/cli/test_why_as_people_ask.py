"""`why` as an apprentice asks it on the job: breaker, wire, ground, box, receptacle, disconnect,
GFCI, service, each without the name of a circuit where there is but one.
"""

from __future__ import annotations

import pytest
from prompt import typed

from whywire.engine.asking.job_file import job_text

PUMP = {
    "volts": "230 V",
    "load": {"type": "well pump", "horsepower": "1 hp", "connection": "hard-wired"},
    "conductors": {"material": "copper"},
    "segments": [
        {"method": "UF-B", "length": "180 ft", "place": "underground", "cover": "24 in"},
    ],
}
RANGE = {
    "volts": "120/240 V",
    "load": {"type": "range", "power": "12 kW", "connection": "cord and plug"},
    "breaker": {"rating": "50 A"},
    "conductors": {"size": "6 AWG", "material": "copper", "EGC size": "10 AWG"},
    "segments": [{"method": "NM-B", "length": "35 ft", "place": "basement"}],
    "receptacle": {"configuration": "14-50"},
    "outlet at": "indoors",
}
BOX = {
    "trade size": "4-11/16 x 2-1/8 square",
    "internal clamps": "yes",
    "conductors": [{"count": 3, "size": "6 AWG", "use": "ends here"}],
    "EGCs": [{"count": 1, "size": "10 AWG"}],
    "devices": [{"gangs": 2, "conductor": "6 AWG"}],
}
HOUSE = {"edition": "2023", "building": "one-family dwelling"}


@pytest.fixture
def ask(tmp_path):
    def asked(circuits: dict, *words: str, **more) -> str:
        path = tmp_path / "job.yaml"
        job = {"job": "as people ask", **HOUSE, "circuits": circuits, **more}
        path.write_text(job_text(job), encoding="utf-8")
        code, out, err = typed("why", path, *words, "--chainer", "plain")
        assert (code == 0) is not err.startswith(("which", "nothing")), err
        return out or err

    return asked


@pytest.mark.parametrize(
    "word, begins",
    [
        ("breaker", "YES. The 50 A breaker protects 6 AWG."),
        ("wire", "YES. The 50 A breaker protects 6 AWG."),
        ("ground", "YES. A 10 AWG EGC is enough behind the 50 A breaker."),
        ("receptacle", "YES. A 50 A receptacle may be on a 50 A circuit."),
        ("box", "NO. The box is 42 in³ and needs 42.5 in³: 0.5 in³ short."),
        ("outlet", "YES. A 50 A receptacle may be on a 50 A circuit."),
    ],
)
def test_a_part_of_the_one_circuit_needs_no_name(ask, word, begins):
    assert ask({"range": RANGE}, word, boxes={"stove box": BOX}).startswith(begins)


def test_of_several_it_is_asked_which(ask):
    for word in ("breaker", "wire", "ground", "GFCI"):
        said = ask({"range": RANGE, "pump": PUMP}, word)
        assert said == f'which is it: "range {word}", "pump {word}"?\n'
        assert ask({"range": RANGE, "pump": PUMP}, "range", word).startswith("YES.")


def test_what_is_put_in_is_said_with_the_rule_that_asks_for_it(ask):
    """Nobody said that the pump has a disconnect, and 430.102 asks for one."""
    said = ask({"pump": PUMP}, "disconnect")
    assert said.startswith("YES. The disconnect is in sight of the motor")
    assert "\nPut in   disconnect (" in said
    said = ask({"range": RANGE}, "GFCI")
    assert (
        said.startswith("YES.") and "\nPut in   GFCI protected." in said and "you said" not in said
    )


def test_what_is_not_there_is_never_said_to_be_there(ask):
    assert ask({"pump": PUMP}, "receptacle").startswith("NO. Receptacle of pump: none.")
    assert ask({"pump": PUMP}, "box").startswith("nothing is said here of a box\n")
    van = {
        "volts": "240 V",
        "load": {"type": "EVSE", "current": "40 A", "connection": "hard-wired"},
        "breaker": {"rating": "50 A"},
        "conductors": {"size": "6 AWG", "material": "copper"},
        "segments": [{"method": "NM-B", "length": "20 ft", "place": "garage"}],
        "outlet at": "outdoors",
    }
    # 40 A is no more than 60 A (625.43): nobody needs a disconnect there, and nobody is asked
    said = ask({"van": van}, "disconnect")
    assert said.startswith("CAN'T TELL. Disconnect of van: not known.")
    assert "So far   nothing that is checked here waits for it." in said


def test_a_size_that_was_designed_is_shown_with_the_rule_that_it_meets(ask):
    said = ask({"pump": PUMP}, "ground")
    assert said.startswith("YES.") and "12 AWG" in said and "250.122" in said


def test_nothing_is_short_by_less_than_nothing(ask):
    """14 AWG on 20 A: the 12 AWG of the table is no start for a ground no larger than its hots."""
    lights = {
        "volts": "120 V",
        "load": {"type": "lighting", "current": "9 A"},
        "breaker": {"rating": "20 A"},
        "conductors": {"size": "14 AWG", "material": "copper"},
        "segments": [{"method": "NM-B", "length": "55 ft", "place": "attic"}],
    }
    said = ask({"lights": lights}, "ground")
    assert said.startswith("YES. 14 AWG") and "cmil short" not in said
