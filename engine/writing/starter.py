"""A pack to begin with: files whose comments say what to change, and one amendment of each common
verb.

The first amendment is in force as it stands, and a job beside it comes out otherwise because of it;
the others are comments, and each is sound as soon as the # before its lines are gone.
"""

from __future__ import annotations

import re
from pathlib import Path

from ..basics.errors import Collector, Fault, Place
from ..basics.reading import NULL
from ..basics.units import day
from ..law.library import LAYERS

PACK = """\
# The head of a pack: whose law it is, and for which permits. Change every line to what is so.
pack: {name}
title: {place} electrical ordinance
authority: {place}, the body that made this law
# The ordinance; each amendment adds its section.
cite: Ordinance 1
# Packs are applied in this order: {layers}.
layer: {layer}
# What a job writes behind place:
place: {place}
{within}# The edition of the code that is the law here, and since when.
adopts: [{{edition: {edition}, from: {start}}}]
# Permits of this day and later.
from: {start}
"""

ORDINANCE = """\
# What the ordinance changes. One amendment to a dash: its verb, what it is about, the section, and why.
# `whywire check FOLDER` says back what each one means, STRICTER or LAXER, and everything that is wrong, at once.
# `whywire rules WORDS` finds the rule, the value or the table that a sentence of the ordinance is about.

- amend: working-space-width   # this one is in force: put your own in its place
  cite: §1
  reason: Two people with tools do not fit into less.
  says: The clear space is at least 36 in wide and as wide as the equipment.
  limits: The panel need not be in the middle of the 36 in, and two panels may share them.
  strike: 30 in
  insert: 36 in
  examples:   # some that come out otherwise because of it, and one that does not
    - {given: {width: 32 in, equipment width: 20 in}, answer: fails}
    - {given: {width: 32 in}, answer: fails}
    - {given: {width: 36 in, equipment width: 20 in}, answer: passes}
"""  # noqa: E501

OTHERS = {
    "A rule is taken away for a time. until: is the first day on which it holds again.": (
        """\
- withdraw: next-size-up
  cite: §2
  reason: The breaker is to be at or under what the conductors carry.
  until: {end}
  examples:
    - {rule: breaker-protects-conductors, given: {ampacity: 55 A, rating of breaker: 60 A, more than one receptacle of circuit: no}, answer: fails}
    - {rule: breaker-protects-conductors, given: {ampacity: 60 A, rating of breaker: 60 A}, answer: passes}
"""  # noqa: E501
    ),
    "A number that several rules read is set.": (
        """\
- set: overall voltage drop target
  cite: §3
  reason: Lamps and motors at the end of long runs suffer.
  to: 4 %
  says:
    combined-voltage-drop: Feeders and branch circuit together should drop no more than 4 %.
    feeder-leaves-too-little: A feeder should leave the branch circuit its share of the 4 %.
  examples:
    - {rule: combined-voltage-drop, given: {upstream voltage drop of circuit: 2 %, combined voltage drop: 5 %}, answer: advice}
    - {rule: combined-voltage-drop, given: {upstream voltage drop of circuit: 2 %, combined voltage drop: 4.9 %}, answer: advice}
    - {rule: combined-voltage-drop, given: {upstream voltage drop of circuit: 2.99 %, combined voltage drop: 5 %}, answer: advice}
    - {rule: feeder-leaves-too-little, given: {upstream voltage drop: 3.1 %, combined voltage drop: 5 %}, answer: advice}
    - {rule: feeder-leaves-too-little, given: {upstream voltage drop: 3.1 %, combined voltage drop: 4.9 %}, answer: advice}
    - {rule: combined-voltage-drop, given: {upstream voltage drop of circuit: 2 %, combined voltage drop: 4 %}, answer: passes}
"""  # noqa: E501
    ),
    "A cell of a table.": (
        """\
- amend: equipment-grounding
  cite: §4
  reason: A fault at the far end of a long run must still trip the breaker.
  row: {rating: 60 A, material: copper}
  column: size
  strike: 10 AWG
  insert: 8 AWG
  examples:
    - {rule: table-egc, given: {EGC rating: 60 A, EGC material: copper}, gives: {table EGC: 8 AWG}}
    - {rule: table-egc, given: {EGC rating: 35 A to 40 A, EGC material: copper}, gives: {table EGC: 8 AWG}}
    - {rule: table-egc, given: {EGC rating: 20 A, EGC material: copper}, gives: {table EGC: 12 AWG}}
    - {rule: gas-bond-large-enough, given: {judged: yes, bonds: gas piping, size: 10 AWG, material: copper, breaker that may reach it: 20.1 A}, answer: fails}
"""  # noqa: E501
    ),
    "A rule holds only where something is so.": (
        """\
- narrow: afci-protection
  cite: §5
  reason: Old wiring trips the new devices, and it is to be seen first how often.
  relieves: yes   # it asks less than the code
  only when: work is new circuit
  examples:
    - {given: {AFCI required: yes, work: extended or modified, AFCI protection: no}, answer: does not apply}
    - {given: {AFCI required: yes, work: new circuit, AFCI protection: no}, answer: fails}
"""  # noqa: E501
    ),
    "A rule of your own. Each condition and the test are shown met, not met, and not told.": (
        """\
- add: kiln-behind-a-gfci
  cite: §6
  reason: Damp clay goes in and wet hands open the door.
  says: The circuit of a kiln has GFCI protection.
  about: circuit
  when: type of load is kiln
  must: GFCI protection
  examples:
    - {given: {type of load: kiln, GFCI protection: no}, answer: fails}
    - {given: {type of load: kiln, GFCI protection: yes}, answer: passes}
    - {given: {type of load: kiln}, answer: cannot tell}
    - {given: {type of load: range, GFCI protection: no}, answer: does not apply}
"""
    ),
}

JOB = """\
# A job that the first amendment makes come out otherwise: whywire inspect this file, and compare it with --under -{name}.
job: A panel in a cellar, {place}
place: {place}
permit date: {start}
building: one-family dwelling
working spaces:
  cellar: {{width: 32 in, equipment width: 20 in}}
expect:
  cellar: {{working-space-width: fails}}
"""  # noqa: E501


def starter(
    name: str, place: str, edition: str, layer: str, within: str, start: str
) -> dict[str, str]:
    """The files of a new pack called *name* for *place*: path below its folder to text. Raises
    Faults for a name or a day that cannot be one.
    """
    faults = Collector()
    if not re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", name) or name in NULL:
        faults.add(
            "pack-name",
            Place("NAME"),
            f'"{name}" is no name of a pack',
            "write small letters and hyphens: pine-hollow",
        )
    elif not re.fullmatch(r"[^\W\d_][\w .'-]*", place) or place in NULL:
        faults.add(
            "place-name",
            Place("--place"),
            f'"{place}" is no name of a place',
            "write letters, spaces and hyphens: Pine Hollow",
        )
    with faults.catching():
        end = f"{day(start, Place('--from')).year + 2}-01-01"
    faults.stop()
    fill = {
        "name": name,
        "place": place,
        "edition": edition,
        "layer": layer,
        "layers": ", ".join(LAYERS),
        "start": start,
        "end": end,
        "within": (
            f"# What is in force there is in force here.\nwithin: {within}\n" if within else ""
        ),
    }
    others = "".join(
        f"\n# {about}\n"
        + "".join(f"# {line}\n" for line in text.replace("{end}", fill["end"]).splitlines())
        for about, text in OTHERS.items()
    )
    return {
        "pack.yaml": PACK.format(**fill),
        "ordinance.yaml": ORDINANCE + others,
        "jobs/cellar.yaml": JOB.format(**fill),
    }


def write_starter(folder: Path, files: dict[str, str]) -> None:
    """Write *files* into a new *folder*. Raises Fault where anything is there already: nothing is
    written over.
    """
    try:
        if folder.is_symlink() or folder.exists():
            raise Fault(
                "in-the-way",
                Place(str(folder)),
                "this is there already, and nothing is written over",
                "give the pack another name, or another folder with --in",
            )
        for name, text in files.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("x", encoding="utf-8", newline="\n") as f:
                f.write(text)
    except OSError as e:
        raise Fault(
            "not-writable",
            Place(str(folder)),
            f"this folder cannot be written: {e.strerror or e}",
            "name another one with --in",
        ) from None


__all__ = ["starter", "write_starter", "OTHERS"]
