"""What `fix` says of all first ways together, where a fault has none."""

from __future__ import annotations

import json

from whywire.cli.main import main

SHED = "kb/jobs/breakers/shed-on-too-small-a-neutral.yaml"


def test_a_fault_without_a_way_out_is_not_said_to_be_gone(capsys):
    """Four faults; for the loads on the circuit of the plugs nothing is known that mends them."""
    assert main(["fix", SHED]) == 1
    told = " ".join(capsys.readouterr().out.split())
    # the fault says itself what is to be done, and no way is offered under it
    third = told[told.index("3 All loads of the circuit come to 20.75 A") : told.index("4 The")]
    assert "Put some of them on another circuit." in third
    assert "Fix" not in third and "Or " not in third
    assert "leave nothing that fails but the one without a way out." in told
    assert main(["fix", SHED, "--json"]) == 1
    assert (
        json.loads(capsys.readouterr().out)["first ways together leave nothing that fails"] is False
    )
