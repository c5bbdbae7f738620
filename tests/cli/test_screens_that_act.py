"""Screens of eight jobs of our own, each read for six answers: what is wrong, what to buy, who says
so, what is unknown, what was assumed, what is next. The jobs are scenes that no other test has.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from prompt import typed

HEAD = "permit date: 2025-05-12\nedition: 2023\nbuilding: one-family dwelling\n"
VAN = """
circuits:
  van charger:
    volts: 240 V
    length: 70 ft
    load: {type: EV charger, current: 48 A, connection: hard-wired}
    breaker: {rating: 60 A}
    conductors: {size: 6 AWG, material: copper, EGC size: 10 AWG}
    receptacle: none
    outlet at: outdoors
    segments:
      - {method: NM-B, length: 55 ft, place: attic, laid: along framing}
      - {method: NM-B, length: 15 ft, place: outdoors, location: wet}
"""
SAUNA = """
circuits:
  sauna:
    volts: 240 V
    length: 55 ft
    load: {type: sauna heater, power: 9 kW, connection: hard-wired}
    breaker: 40 A
    conductors: {size: 8 AWG, material: copper}
    receptacle: none
    segments: [{method: NM-B, length: 55 ft, place: basement, location: dry}]
"""
WELDER = """
circuits:
  welder:
    volts: 240 V
    length: 120 ft
    load: {type: welder, current: 50 A, connection: cord and plug}
    breaker: 50 A
    conductors: {size: 10 AWG, material: copper}
    receptacle: 6-50
    segments: [{method: EMT, length: 120 ft, place: garage}]
"""
TUB = """
circuits:
  tub:
    volts: 120/240 V
    length: 65 ft
    load: {type: hot tub, current: 40 A, connection: hard-wired}
    breaker: 50 A
    conductors: {size: 8 AWG, material: copper}
    receptacle: none
    outlet at: outdoors
    segments:
      - {method: NM-B, length: 45 ft, place: basement}
      - {method: PVC 40, length: 20 ft, place: underground, burial depth: 18 in}
"""
RANGE = """
circuits:
  range:
    volts: 120/240 V
    length: 30 ft
    work: existing
    load: {type: range, power: 12 kW, connection: cord and plug}
    breaker: 50 A
    conductors: {size: 8 AWG, material: copper}
    receptacle: 10-50
    outlet at: indoors
    segments: [{method: NM-B, length: 30 ft, place: basement}]
"""
SUBPANEL = """
panels:
  shed: {rating: 60 A, feeder: to the shed}
circuits:
  to the shed:
    role: feeder
    volts: 120/240 V
    length: 90 ft
    breaker: 60 A
    conductors: {size: 6 AWG, material: copper, EGC size: 10 AWG}
    segments: [{method: UF-B, length: 90 ft, place: underground, burial depth: 18 in}]
  heater:
    panel: shed
    volts: 240 V
    length: 12 ft
    load: {type: space heater, power: 5 kW, connection: hard-wired}
    breaker: 25 A
    conductors: {size: 10 AWG, material: copper}
    receptacle: none
    segments: [{method: NM-B, length: 12 ft, place: conditioned space}]
"""
HEAT_PUMP = """
circuits:
  heat pump:
    volts: 240 V
    length: 50 ft
    load: {type: heat pump, MCA: 28.4 A, MOCP: 40 A, connection: hard-wired}
    breaker: 50 A
    conductors: {size: 10 AWG, material: copper}
    receptacle: none
    outlet at: outdoors
    disconnect: {kind: switch, in sight: yes}
    segments:
      - {method: NM-B, length: 42 ft, place: basement}
      - {method: LFNC, length: 8 ft, place: outdoors, location: wet}
"""
SERVICE = """
service:
  main: 100 A
  floor area: 1450 sq ft
  supply: 120/240 V
  loads:
    range: {power: 12 kW}
    heat: {type: central heat, power: 10 kW}
  conductors: {size: 4 AWG, material: copper}
"""
# of each screen: wrong, buy, who says so, unknown, assumed, next
SCREENS = {
    "a bakery's van under a carport, the note": (
        VAN,
        ("inspect",),
        ("6 AWG NM-B is 5 A too small", "it is wet there"),
        ("set the charger to 44 A", "THWN-2 in PVC 80 where it is wet"),
        ("210.19(A)(1)", "334.10"),
        ("Does the sun shine on it?",),
        ("attic air 130 °F",),
        ("NEXT: fix 1",),
    ),
    "a sauna in a back house, why": (
        SAUNA,
        ("why",),
        ("A 40 A breaker is 6.875 A too small", "8 AWG NM-B is 6.875 A too small"),
        ("Fix a 50 A breaker and 6-2 NM-B",),
        ("210.20(A)",),
        ("Where is its timer set",),
        ("we assume a sauna heater runs at full draw",),
        ("Fix a 50 A breaker",),
    ),
    "a welder in a barn, fix": (
        WELDER,
        ("fix",),
        ("RIGHT IF a look settles 1 thing", "10 AWG THWN-2 in EMT is 20 A too small"),
        ("6 AWG wire in the pipe (10 AWG ground)",),
        ("210.19(A)(1)",),
        ("STILL TO ASK What duty cycle",),
        ("WE ASSUMED garage air 104 °F",),
        ("NEXT: answer Look 1: the nameplate.",),
    ),
    "a hot tub, why": (
        TUB,
        ("why", "tub"),
        ("NO. The 50 A breaker is 10 A over what 8 AWG may carry.",),
        ("Fix 6 AWG the whole way, cable and pipe",),
        ("240.4",),
        ("more: --json",),
        ("We assumed THWN-2 in the pipe", "basement air 86 °F"),
        ("Fix 6 AWG the whole way",),
    ),
    "an old range on three wires, whynot": (
        RANGE,
        ("whynot", "range", "breaker=45 A"),
        ("The 45 A breaker is 5 A over what 8 AWG may carry.",),
        ("Fix a 40 A breaker: 40 A (at the limit)",),
        ("240.4",),
        (),
        ("everything else as told",),
        ("Fix a 40 A breaker",),
    ),
    "a subpanel, whynot": (
        SUBPANEL,
        ("whynot", "heater", "breaker=40 A"),
        ("The 40 A breaker is 10 A over what 10 AWG may carry.", "Mends A 25 A breaker"),
        ("Fix a 30 A breaker",),
        ("240.4", "240.4(D)"),
        (),
        ("the run is not bundled with others (we assumed)",),
        ("Fix a 30 A breaker",),
    ),
    "a heat pump, fix": (
        HEAT_PUMP,
        ("fix",),
        ("A 50 A breaker is 10 A over the maximum on the plate.",),
        ("FIXED heat pump 40 A 2-pole · 10-2 NM-B, then 10 AWG THWN-2 in 1/2 LFNC",),
        ("110.3(B)",),
        ("STILL TO ASK Can it be reached quickly",),
        ("WE ASSUMED basement air 86 °F",),
        ("NEXT: fix 1: a 40 A breaker.",),
    ),
    "a service replacement, the note": (
        SERVICE,
        ("inspect",),
        ("RIGHT IF",),
        (),
        ("(230.43 to 230.54)",),
        ("Look 1",),
        ("WE ASSUMED the service terminals are marked 75 °C",),
        ("NEXT: answer Look 1",),
    ),
}


@pytest.mark.parametrize("scene", SCREENS)
def test_a_screen_answers_what_a_person_on_the_job_asks(scene: str, tmp_path: Path) -> None:
    job, (command, *words), *answers = SCREENS[scene]
    path = tmp_path / "job.yaml"
    path.write_text(f"job: {scene.split(',')[0]}\n{HEAD}{job}")
    _, out, err = typed(command, path, *words, "--chainer", "plain")
    assert not err, err
    flat = " ".join(out.split())
    missing = [text for texts in answers for text in texts if text not in flat]
    assert not missing, f"{missing} not in\n{out}"
    assert all(len(line) <= 80 for line in out.splitlines())
    # nothing is cut: the mark stands only before how many more there are
    assert "…" not in out.replace("… ", "", 1) and out.count("…") <= out.count("more: --json")


def test_what_no_way_out_is_known_of_is_not_called_fixed(tmp_path: Path) -> None:
    """The line of the design says what is still wrong with it."""
    path = tmp_path / "job.yaml"
    two = RANGE.replace(
        "segments: [{method: NM-B, length: 30 ft, place: basement}]",
        "segments:\n      - {method: AC, length: 25 ft, place: basement}"
        "\n      - {method: AC, length: 5 ft, place: underground, burial depth: 24 in}",
    )
    two = two.replace("work: existing", "work: new circuit")
    path.write_text(f"job: range\n{HEAD}{two}")
    note = json.loads(typed("inspect", path, "--chainer", "plain", "--json")[1])["note"]
    left = [str(n) for n, fault in enumerate(note["faults"], 1) if not fault["ways"]]
    assert note["mended"] and left
    said = typed("inspect", path, "--chainer", "plain")[1]
    assert f"Still wrong then: {', '.join(left)}." in said and "It is RIGHT then" not in said


def test_a_headline_names_what_somebody_else_is_asked(tmp_path: Path) -> None:
    """A kiln hard-wired in a garage: a place to look at, and the inspector to ask."""
    path = tmp_path / "job.yaml"
    kiln = SAUNA.replace("sauna heater, power: 9 kW", "kiln, current: 40 A")
    kiln = kiln.replace("  sauna:", "  kiln:")
    kiln = kiln.replace("breaker: 40 A", "breaker: 50 A\n    outlet at: garage")
    kiln = kiln.replace("8 AWG", "6 AWG").replace("place: basement", "place: garage")
    path.write_text(f"job: kiln\n{HEAD}{kiln}")
    said = " ".join(typed("inspect", path, "--chainer", "plain")[1].split())
    assert "RIGHT IF the air along the run and what to ask below check out." in said
    assert "Ask the inspector whether a hard-wired outlet" in said
    found = json.loads(typed("inspect", path, "--chainer", "plain", "--json")[1])["findings"]
    waits = [one for one in found if one["answer"] == "cannot tell" and not one["needs"]]
    assert waits and all(one["refers"].startswith("Ask the inspector") for one in waits)


def test_an_answer_for_which_nothing_is_looked_at_is_not_called_right(tmp_path: Path) -> None:
    """208Y/120 V takes the load calculation out of reach: no answer is good for that."""
    path = tmp_path / "job.yaml"
    path.write_text(f"job: service\n{HEAD}{SERVICE}".replace("  supply: 120/240 V\n", ""))
    _, out, _ = typed("inspect", path, "--chainer", "plain", "--all")
    assert "208Y/120 V: right" not in out
