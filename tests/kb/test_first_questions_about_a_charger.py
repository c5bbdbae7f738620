"""The first questions about a charger are those that a design hangs on; what is done on the wall is
carried along as workmanship.
"""

from whywire.engine import inspect
from whywire.engine.answering.note import note_of

JOB = {
    "job": "Garage, one car",
    "building": "one-family dwelling",
    "edition": "2023",
    "circuits": {
        "night car": {
            "supply": "240 V",
            "length": "60 ft",
            "breaker": "60 A",
            "load": {"type": "EV charger", "current": "48 A", "connection": "hard-wired"},
            "wire": "6 AWG copper THWN-2",
            "segments": [{"method": "EMT", "trade size": "3/4", "place": "attic"}],
        }
    },
}
ON_THE_WALL = {"coupler-height-indoors", "charger-is-guarded"}


def changed(**load):
    """The job with something else told of its load."""
    circuit = JOB["circuits"]["night car"]
    return {**JOB, "circuits": {"night car": {**circuit, "load": {**circuit["load"], **load}}}}


def test_a_note_asks_for_no_bollard_before_the_wire_is_bought():
    note = note_of(inspect(JOB))
    asked = {question.ask for question in note.questions}
    assert any("temperature is marked" in ask for ask in asked)
    assert any("Is it listed" in ask for ask in asked)
    assert not any("plug of the charging cable" in ask or "hitting it" in ask for ask in asked)


def test_what_is_done_on_the_wall_is_in_the_list_to_carry():
    tiers = {one["rule"]: one["tier"] for one in note_of(inspect(JOB)).tiers}
    assert {tiers[rule] for rule in ON_THE_WALL} == {"workmanship"}


def test_told_wrong_it_fails_all_the_same():
    found = inspect(changed(**{"coupler height": "12 in", "vehicle guard": "missing"}))
    failed = {finding.rule for finding in found.findings if finding.answer == "fails"}
    assert ON_THE_WALL <= failed
