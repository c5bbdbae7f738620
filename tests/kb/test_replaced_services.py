"""A service that is replaced is judged as a new one, unless somebody says that only the meter
socket, the wire or its pipe is new: as a remote question it stood open, and the note was RIGHT.
"""

from pathlib import Path

import pytest
import yaml

from whywire.engine import inspect

HOUSE = (
    Path(__file__).parents[2]
    / "kb"
    / "jobs"
    / "services"
    / "new-service-and-panel-for-a-house.yaml"
)


def inspected(tmp_path, **told):
    """The shipped job with *told* laid over its service, None taking a fact out."""
    job = yaml.load(HOUSE.read_text("utf-8"), yaml.BaseLoader)
    del job["expect"]
    service = job["service"] | {name.replace("_", " "): value for name, value in told.items()}
    job["service"] = {name: value for name, value in service.items() if value is not None}
    path = tmp_path / "job.yaml"
    path.write_text(yaml.safe_dump(job, allow_unicode=True), "utf-8")
    return inspect(path)


def said(found, rule: str) -> str:
    return found.w.answer(found.k.rules[rule], found.w.things["service"])


@pytest.mark.parametrize(
    ("rule", "told"),
    [
        ("intersystem-bar", {"intersystem_terminals": "0"}),
        ("main-bonding-jumper-is-there", {"main_bonding_jumper": "missing"}),
    ],
)
def test_what_is_missing_of_a_replaced_service_fails(tmp_path, rule, told):
    found = inspected(tmp_path, meter_socket_alone_replaced=None, **told)
    assert said(found, rule) == "fails"
    assert found.standing.headline == "NOT RIGHT"


def test_the_rest_may_stay_behind_a_new_meter_socket(tmp_path):
    found = inspected(tmp_path, meter_socket_alone_replaced="yes", intersystem_terminals="0")
    assert said(found, "intersystem-bar") == "does not apply"


def test_it_is_shown_as_assumed(tmp_path):
    found = inspected(tmp_path, meter_socket_alone_replaced=None)
    assert found.standing.headline == "RIGHT"
    assert any(one["is"] == "meter socket alone replaced" for one in found.assumptions)
