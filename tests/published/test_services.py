"""The tables and numbers of services and electrodes against numbers that come from outside them.

Two pages print Table 250.66 whole: "Sizing the Grounding Electrode Conductor" (nec.buckworks.net,
article-grounding-electrode) and a supply house's "Service equipment grounding table"
(cooper-electric.com). The clearances of 230.24 and 230.9 stand on "Code Q&A" (ecmweb.com,
20886687 and qampa/code-qa-52) and on "230.24 Clearances" (quizwizapp.com, 23024-clearances); the
bond of gas tubing on two makers' guides that print 6 AWG and 75 ft.
"""

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from job_run import Run

ROOT = Path(__file__).resolve().parents[2]
TABLES = ROOT / "kb" / "base" / "tables"

# The hots of a row, copper then aluminum, and the least wire to the electrodes of each metal.
PRINTED = [
    ("2 AWG", "1/0 AWG", "8 AWG", "6 AWG"),
    ("1/0 AWG", "3/0 AWG", "6 AWG", "4 AWG"),
    ("3/0 AWG", "250 kcmil", "4 AWG", "2 AWG"),
    ("350 kcmil", "500 kcmil", "2 AWG", "1/0 AWG"),
    ("600 kcmil", "900 kcmil", "1/0 AWG", "3/0 AWG"),
    ("1100 kcmil", "1750 kcmil", "2/0 AWG", "4/0 AWG"),
]
LAST = ("3/0 AWG", "250 kcmil")


def rows(table):
    with open(TABLES / f"{table}.csv", encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def area(size):
    """Circular mils of a size: of the sizes table, or a thousand for each kcmil."""
    known = {row["size"]: int(row["area"]) for row in rows("conductor-sizes")}
    return known.get(size) or 1000 * int(size.removesuffix(" kcmil"))


@pytest.mark.parametrize("table", ["electrode-conductors", "bonding-jumpers"])
def test_wires_to_electrodes_are_as_printed(table):
    found = {(r["hot material"], int(r["hot area"])): r for r in rows(table)}
    for copper, aluminum, *sizes in PRINTED:
        for material, hots in (("copper", copper), ("aluminum", aluminum)):
            row = found.pop((material, area(hots)))
            assert [row["copper"], row["aluminum"]] == sizes, (material, hots)
    assert all((row["copper"], row["aluminum"]) == LAST for row in found.values())
    assert len(found) == 2


def test_the_last_jumper_is_the_next_size_over_an_eighth():
    eighth = Fraction(1_100_000, 8)
    sizes = sorted((int(r["area"]), r["size"]) for r in rows("conductor-sizes"))
    assert next(size for cmil, size in sizes if cmil >= eighth) == LAST[0]


# 1,200 kcmil of copper and an eighth of it: the arithmetic of the note under the table.
@pytest.mark.parametrize(("size", "least"), [("500 kcmil", "2/0 AWG"), ("600 kcmil", "3/0 AWG")])
def test_a_service_of_two_sets_goes_by_both(size, least):
    wire = {"size": size, "material": "copper", "insulation": "XHHW-2", "sets": "2"}
    run = Run(service={"work": "new", "rating": "800 A", "conductors": wire})
    assert run.fact("service.conductors", "jumper area", "cmil") == area(least)


CLEARANCES = {
    "drop-fastened-high-enough": ({}, "attachment height", "10 ft"),
    "drip-loop-high-enough": ({}, "drip loop height", "10 ft"),
    "drop-above-the-drive": ({"crosses a driveway": "yes"}, "driveway clearance", "12 ft"),
    "drop-above-the-street": ({"crosses a street": "yes"}, "street clearance", "18 ft"),
    "drop-above-a-flat-roof": (
        {"crosses a roof": "yes", "roof rise": "2 in", "ends at a mast through the roof": "no"},
        "roof clearance",
        "8 ft",
    ),
    "drop-clear-of-windows": ({"near a window": "yes"}, "window distance", "3 ft"),
    "drop-clear-of-water": ({"near water": "yes"}, "water clearance", "22.5 ft"),
}


@pytest.mark.parametrize("edition", ["2017", "2020", "2023", "2026"])
@pytest.mark.parametrize("rule", CLEARANCES)
def test_clearances_are_as_printed(rule, edition):
    told, fact, least = CLEARANCES[rule]
    number, unit = least.split()
    for value, wanted in ((least, "passes"), (f"{float(number) - 0.1:g} {unit}", "fails")):
        drop = {**told, fact: value}
        run = Run(edition=edition, service={"work": "new", "comes in": "overhead", "drop": drop})
        assert run.answer(rule, "service.drop") == wanted, value


# "Code Q&A" (ecmweb.com): 3 ft over a roof that rises 4 in 12, 18 in over 4 ft of overhang.
@pytest.mark.parametrize(
    ("told", "clearance", "wanted"),
    [
        ({"roof rise": "4 in"}, "3 ft", "exception applies"),
        ({"roof rise": "4 in"}, "2.9 ft", "fails"),
        ({"wire above the roof": "6 ft", "overhang crossed": "4 ft"}, "18 in", "exception applies"),
        ({"wire above the roof": "7 ft", "overhang crossed": "4 ft"}, "18 in", "fails"),
        ({"wire above the roof": "6 ft", "overhang crossed": "5 ft"}, "18 in", "fails"),
    ],
)
def test_a_low_drop_over_a_roof(told, clearance, wanted):
    drop = {
        "crosses a roof": "yes",
        "roof rise": "2 in",
        "ends at a mast through the roof": "yes",
        "wire above the roof": "9 ft",
        "overhang crossed": "9 ft",
        "roof clearance": clearance,
        **told,
    }
    run = Run(service={"work": "new", "comes in": "overhead", "drop": drop})
    assert run.answer("drop-above-a-flat-roof", "service.drop") == wanted


# Two makers' guides: 6 AWG at least, 75 ft at most, never on the tubing itself.
@pytest.mark.parametrize(
    ("changes", "failing"),
    [
        ({}, None),
        ({"size": "8 AWG"}, "csst-bond-large-enough"),
        ({"length": "76 ft"}, "csst-bond-short-enough"),
        ({"clamp on": "corrugated tubing"}, "csst-clamp-on-rigid-pipe"),
    ],
)
def test_the_bond_of_gas_tubing(changes, failing):
    bond = {"bonds": "CSST", "size": "6 AWG", "length": "75 ft", "clamp on": "rigid pipe"}
    run = Run(service={"work": "new", "bonds": {"gas": {**bond, **changes}}})
    for rule in ("csst-bond-large-enough", "csst-bond-short-enough", "csst-clamp-on-rigid-pipe"):
        wanted = "fails" if rule == failing else "passes"
        assert run.answer(rule, "service.bonds.gas") == wanted, rule
