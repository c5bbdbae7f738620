"""What a welder alone on its circuit may have, a welder among other outlets may not: 630.11(A) and
240.4(G) are about the individual circuit of one welder (from memory, the same in four editions).
"""

import pytest
from one_circuit import EDITIONS, OneCircuit

WELDER = {
    "supply": "240 V",
    "load": {
        "type": "welder",
        "current": "60 A",
        "effective current": "30 A",
        "welder kind": "nonmotor-generator",
        "connection": "cord and plug",
    },
    "breaker": {"rating": "60 A"},
    "conductors": {"size": "10 AWG", "material": "copper"},
    "receptacle": {"configuration": "6-50"},
    "segments": [{"method": "NM-B", "length": "25 ft", "bundle": "none", "ambient": "86 °F"}],
}


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_welder_that_shares_its_circuit_gets_wire_for_its_breaker(edition):
    alone = OneCircuit(WELDER, edition)
    assert alone.says("welder-conductors") == "passes"
    assert alone.says("welder-breaker-and-wire") == "passes"
    assert alone.says("small-conductor-limit") == "exception applies"
    shared = OneCircuit(WELDER, edition, also_feeds_other_outlets="yes")
    assert shared.says("welder-conductors") == "does not apply"
    assert shared.says("small-conductor-limit") == "fails"
