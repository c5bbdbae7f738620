"""A clerk is never silently misunderstood: what is written and not meant is refused, or said back
in words to object to.

The slips and the silent errors are those that one reader found, playing a clerk with a draft of the
language; they are run against a base small enough to amend. The ten sentences of an ordinance are a
pack of their own (clerk/), laid over the whole base: each is shown on a job, with it and without.
"""

import json
import random
import re
import shutil
from pathlib import Path

import pytest

from whywire.engine.answering.inspection import Inspection
from whywire.engine.basics.errors import Faults
from whywire.engine.basics.reading import read_yaml
from whywire.engine.comparing import amendments
from whywire.engine.comparing.changes import came_out
from whywire.engine.law import library, places
from whywire.engine.law.library import Library
from whywire.engine.proving.proof import Proof
from whywire.engine.running import durable

HERE = Path(__file__).resolve().parent
SMALL = HERE.parent / "faults" / "edits" / "kb"
SLIPS = read_yaml((HERE / "slips.yaml").read_text(), "slips.yaml")
HEAD = (
    "pack: mine\ntitle: Mine\nauthority: The Board\ncite: Ordinance 1\nlayer: county\nadopts:"
    " {edition: 2023, from: 2025-01-01}\n"
)
TWO_EDITIONS = HEAD.replace(
    "adopts: {edition: 2023, from: 2025-01-01}",
    "adopts: [{edition: 2020, from: 2022-01-01, until: 2025-01-01}, {edition: 2023, from:"
    " 2025-01-01}]",
)
ASKED_OF_ALL = {"of-missing", "meaning-missing", "example-needed"}


@pytest.fixture
def small(tmp_path, monkeypatch):
    """A base small enough to amend, and a folder for a pack."""
    monkeypatch.delenv("WHYWIRE_PACKS", raising=False)
    for module in (library, places):
        monkeypatch.setattr(module, "KB", SMALL)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pack").mkdir()
    return tmp_path / "pack"


def looked_at(pack: Path):
    """(every fault, what is said back) of a pack; nothing but faults may come of what a person
    wrote.
    """
    try:
        got = amendments.review(pack)
    except Faults as faults:
        return faults.items, []
    return got.faults.items, [*got.said.values(), *got.notices]


def test_there_are_at_least_the_ninety_two_and_each_silent_one_is_among_them():
    assert len(SLIPS) >= 92 and len({s["slip"] for s in SLIPS}) == len(SLIPS)
    told = {s["silent"] for s in SLIPS if "silent" in s} | {
        m[0]
        for name, f in globals().items()
        if name.startswith("test_")
        for m in [re.match(r"S\d+", f.__doc__ or "")]
        if m
    }
    assert told == {f"S{n}" for n in range(1, 29)}


@pytest.mark.parametrize("slip", SLIPS, ids=lambda s: f"{s.get('silent', '')} {s['slip']}".strip())
def test_a_slip_is_refused_or_said_back(slip, small):
    text = slip["edits"] + "\n"
    if "bare" not in slip:
        text = re.sub(
            r"^(- \w+: .*)$", r"\1\n  cite: §1\n  reason: We want it so.", text, flags=re.M
        )
    head = HEAD + slip.get("head", "") + "\n"
    if "within:" in head:
        head = head.replace("adopts: {edition: 2023, from: 2025-01-01}\n", "")
    (small / "pack.yaml").write_text(head)
    (small / slip.get("named", "trial.yaml")).write_bytes(
        b"PK\3\4\0\0" if slip.get("as") == "archive" else text.encode(slip.get("as", "utf-8"))
    )
    faults, said = looked_at(small)
    codes = {f.code for f in faults}
    if "gives" in slip:
        meant = [f for f in faults if f.code == slip["gives"]]
        assert meant, (codes, said)
        assert slip.get("todo", "") in " ".join(f.todo for f in meant), [f.todo for f in meant]
        assert all("pack/" in f.at[0] for f in meant) and slip.get("at", "") in meant[0].at[0], (
            "it points at what the clerk wrote"
        )
        assert slip.get("never") not in codes, [str(f) for f in faults]
        assert "column" not in slip or meant[0].at[2] == int(slip["column"]), meant[0].at
    if "said" in slip:
        assert any(slip["said"] in s for s in said), said
    if "gives" not in slip:
        assert codes <= ASKED_OF_ALL | ({"example-moved"} if "moved" in slip else set()), [
            str(f) for f in faults if f.code not in ASKED_OF_ALL
        ]
    assert all(f.todo for f in faults)
    assert [f.at for f in faults] == sorted(f.at for f in faults), "in the file's order"


# ---- whatever is written, faults and no more come of it ------------------------------------------

ODD = (
    "[a, b]",
    "{a: b}",
    "''",
    "x",
    "12",
    "yes",
    "-1",
    "2027-13-01",
    "“q”",
    "[]",
    "{}",
    "~",
    "[[1]]",
    "of of",
    "1 in",
    "((",
    "not",
    "a: b",
    "°",
    "10 AWG",
    "*x",
    "9" * 50,
)
OTHER_KEYS = (
    "strike",
    "to",
    "when",
    "must",
    "gives",
    "row",
    "only when",
    "examples",
    "says",
    "instead of",
    "tries",
    "picks",
    "exception to",
    "refers",
    "steps",
    "code",
    "from",
    "until",
    "answers",
    "also",
)


SLIPS_OF_A_DAY = {
    "7/1/2026": ("from: 7/1/2026", "date-form"),
    "in words": ("from: July 1", "date-form"),
    "a year": ("until: 2028", "date-form"),
    "no such day": ("until: 2026-02-30", "no-such-date"),
    "ends first": ("from: 2026-07-01\n  until: 2026-01-01", "window-empty"),
}
MEANT = (
    'meaning: "STRICTER: “A breaker may be up to 20 A where the wire carries less” (next-size) is'
    ' withdrawn: guarded stands without it. In force from 2026-07-01."'
)


@pytest.mark.parametrize("kept", [MEANT, "notes: no meaning yet"], ids=["kept", "not kept"])
@pytest.mark.parametrize("where", ["edit", "head"])
@pytest.mark.parametrize("slip", SLIPS_OF_A_DAY)
def test_while_a_day_is_a_slip_nothing_is_said_of_the_meaning(slip, where, kept, small):
    """Who obeys the first line never stores what the edit means without its day."""
    line, code = SLIPS_OF_A_DAY[slip]
    (small / "pack.yaml").write_text(
        HEAD
        + "place: Shale County\n"
        + (line.replace("\n  ", "\n") + "\n" if where == "head" else "")
    )
    (small / "trial.yaml").write_text(
        "- withdraw: next-size\n  cite: §1\n  reason: We want it so.\n  "
        + (line + "\n  " if where == "edit" else "")
        + kept
        + "\n"
    )
    faults, said = looked_at(small)
    assert (
        [f.code for f in faults][:1] == [code]
        and not {"meaning-moved", "meaning-missing"} & {f.code for f in faults}
        and said == []
    )


def spoiled(text: str, rng: random.Random) -> str:
    """*text* with one thing amiss: a line lost, doubled, moved, with another value or key, or with
    a stray sign.
    """
    lines = text.split("\n")
    i, how = rng.randrange(len(lines)), rng.randrange(7)
    if how == 0:
        del lines[i]
    elif how == 1:
        lines.insert(i, rng.choice(lines))
    elif how == 2:
        lines[i] = re.sub("(: ).*", lambda m: m[1] + rng.choice(ODD), lines[i], count=1)
    elif how == 3:
        j = rng.randrange(len(lines))
        lines[i], lines[j] = lines[j], lines[i]
    elif how == 4:
        k = rng.randrange(len(lines[i]) + 1)
        lines[i] = (
            lines[i][:k] + rng.choice("{}[]:,#'\"@&*!|>%`-~ x9") + lines[i][k + rng.randrange(2) :]
        )
    elif how == 5:
        lines[i] = re.sub(r"\b\w[\w -]*:", rng.choice(OTHER_KEYS) + ":", lines[i], count=1)
    else:
        lines[i] = re.sub(
            "(: ).*", lambda m: m[1] + rng.choice(re.findall(": (.+)", text)), lines[i], count=1
        )
    return "\n".join(lines)


def test_the_pack_that_is_spoiled_is_whole_to_begin_with(small):
    (small / "pack.yaml").write_text(TWO_EDITIONS + "place: Shale County\n")
    shutil.copy(HERE / "every-verb.yaml", small / "trial.yaml")
    faults, said = looked_at(small)
    assert {f.code for f in faults} <= ASKED_OF_ALL | {"example-moved", "relieves"} and len(
        said
    ) == 22


@pytest.mark.parametrize("seed", range(25))
def test_nothing_but_faults_comes_of_a_spoiled_pack(seed, small):
    rng = random.Random(seed)
    text, head = (HERE / "every-verb.yaml").read_text(), TWO_EDITIONS
    for _ in range(rng.randrange(1, 4)):
        if rng.random() < 0.1:
            head = spoiled(head, rng)
        else:
            text = spoiled(text, rng)
    (small / "pack.yaml").write_text(head)
    (small / "trial.yaml").write_text(text)
    faults, _ = looked_at(small)  # a traceback would fail the test
    assert all(f.todo and f.at[0] for f in faults)


# ---- the ten sentences of an ordinance, on a job -------------------------------------------------

HOUSE = HERE / "clerk" / "jobs" / "house.yaml"
CIRCUIT, STRETCH, WIRE = "circuits.{}", "circuits.{}.segments.1", "circuits.{}.conductors"
# sentence: (its edits, the day of the permit, the thing, the rule or the fact, without, with)
SENTENCES = {
    "a no cable in tall or old houses": (
        ["no-nm-in-tall-or-old-houses"],
        "2026-11-25",
        STRETCH.format("kiln"),
        "no-nm-in-tall-or-old-houses",
        "does not apply",
        "fails",
    ),
    "b more room in a flood zone": (
        ["room-in-a-flood-zone"],
        "2025-12-01",
        "working spaces.before the panel",
        "room-in-a-flood-zone",
        "does not apply",
        "passes (45 in >= 42 in)",
    ),
    "c the ground of a fifty ampere circuit": (
        ["ground-of-a-fifty-ampere-circuit"],
        "2026-11-25",
        CIRCUIT.format("heater"),
        "egc-follows-the-breaker",
        "passes (10,380 cmil >= 10,380 cmil)",
        "fails (10,380 cmil >= 16,510 cmil)",
    ),
    "d no next size up but for motors": (
        ["next-size-up"],
        "2026-11-25",
        WIRE.format("kiln"),
        "breaker-protects-conductors",
        "exception applies (55 A >= 60 A)",
        "fails (55 A >= 60 A)",
    ),
    "e the drop is law": (
        ["drop-of-a-branch-circuit"],
        "2026-11-25",
        CIRCUIT.format("shed"),
        "drop-of-a-branch-circuit",
        "does not apply",
        "fails (3.465 % <= 3 %)",
    ),
    "f an attic is at least 60 degrees": (
        ["heat-of-an-attic"],
        "2026-11-25",
        WIRE.format("heater"),
        "adjusted ampacity",
        "61.5 A",
        "53.25 A",
    ),
    "g grounds as in 2017": (
        ["further EGC share"],
        "2026-11-25",
        "boxes.junction",
        "required volume",
        "11.75 in³",
        "9.25 in³",
    ),
    "h the rule of 2026": (
        ["gfci-outdoor-outlets-to-sixty"],
        "2026-10-01",
        CIRCUIT.format("shed"),
        "gfci-outdoor-outlets-to-sixty",
        "does not apply",
        "fails",
    ),
    "h not a day earlier": (
        ["gfci-outdoor-outlets-to-sixty"],
        "2026-09-30",
        CIRCUIT.format("shed"),
        "gfci-outdoor-outlets-to-sixty",
        "does not apply",
        "does not apply",
    ),
    "h a new kind of load": (
        ["gfci-for-bread-ovens"],
        "2026-11-25",
        CIRCUIT.format("oven"),
        "gfci-for-bread-ovens",
        "does not apply",
        "fails",
    ),
    "i a photo of what is fished": (
        ["photo-of-what-is-fished"],
        "2026-11-25",
        STRETCH.format("kiln"),
        "photo-of-what-is-fished",
        "does not apply",
        "fails",
    ),
    "j a slip of the pen": (
        ["room-in-a-flood-zone", 3],
        "2026-11-25",
        "working spaces.before the panel",
        "room-in-a-flood-zone",
        "passes (45 in >= 42 in)",
        "fails (45 in >= 48 in)",
    ),
}


@pytest.fixture(scope="module")
def ordinance():
    """The pack, and the knowledge of a day without some of its edits, each put together once."""
    lib = Library((HERE / "clerk",))
    kept = {}

    def of(day: str, without: tuple = ()):
        if (day, without) not in kept:
            left_out = [
                e
                for e in lib.packs[1].edits
                if e.target in without and (3 not in without or e.number == 3)
            ]
            assert bool(left_out) == bool(without)
            kept[day, without] = lib.in_force("2023", day, left_out)
        return kept[day, without]

    return of


@pytest.mark.parametrize("sentence", SENTENCES)
def test_a_sentence_of_the_ordinance_does_what_was_meant(sentence, ordinance):
    edits, day, thing, what, without, within = SENTENCES[sentence]
    house = read_yaml(HOUSE.read_text(), "house.yaml")
    for k, meant in ((ordinance(day, tuple(edits)), without), (ordinance(day), within)):
        assert (
            " ".join(
                came_out(k, house, "house.yaml").get((thing, what), ("does not apply", ""))
            ).strip()
            == meant
        )


def test_the_ordinance_is_sound_and_says_what_its_writer_kept():
    assert [str(f) for f in amendments.review(HERE / "clerk").faults.items] == []


def test_both_chainers_and_the_proof_agree_on_what_stands_in_the_place_of_another(ordinance):
    found = Inspection(HOUSE, ordinance("2026-11-25"), "both" if durable.available() else "plain")
    answer = found.why("heater", "load-after-correction")
    assert answer.word == "YES." and "Ordinance 2026-3 §6" in str(answer.as_dict())
    for rule in ("load-after-correction", "egc-follows-the-breaker"):
        assert (
            Proof(found.k).check(
                json.loads(json.dumps(found.graph(found.why("heater", rule).root).as_dict())),
                found.job,
            )
            == []
        )


def test_a_tightening_is_not_unsaid_by_what_nobody_told(ordinance):
    """S25: where it is not told that the place is an attic, neither the base's figure nor the
    county's is concluded.
    """
    house = read_yaml(HOUSE.read_text().replace("place: attic, ", ""), "house.yaml")
    k = ordinance("2026-11-25")
    out = came_out(k, house, "house.yaml")
    assert (
        out[WIRE.format("heater"), "adjusted ampacity"][0] == "unknown"
        and out[WIRE.format("heater"), "load-after-correction"][0] == "cannot tell"
    )


def test_a_finding_cites_the_ordinance_that_changed_it(ordinance):
    """S22: of a struck number the ordinance and what it amends; of a permission that was taken away
    or narrowed, by whom.
    """
    found = Inspection(HOUSE, ordinance("2026-11-25"))
    sources = {(f.rule, f.on): f.source for f in found.findings}
    assert (
        next(v for (rule, _), v in sources.items() if rule == "room-in-a-flood-zone")
        == "Ordinance 2026-9 §1, amending Ordinance 2026-3 §2"
    )
    narrowed = next(
        f for f in found.findings if f.rule == "breaker-protects-conductors" and f.answer == "fails"
    )
    assert "Ordinance 2026-3 §4" in str(narrowed.as_dict())


def test_a_stricter_ordinance_takes_no_violation_away(ordinance):
    """S24: off the end of the table is cannot tell; the ordinance's own words keep the cable of 60
    °C out.
    """
    house = read_yaml(
        HOUSE.read_text()
        .replace(
            "method: EMT, length: 60 ft, place: attic", "method: UF-B, length: 60 ft, place: attic"
        )
        .replace(
            "insulation: THWN-2, EGC size: 10 AWG, EGC material: copper}\n    segments: [{method:"
            " UF-B",
            "EGC size: 10 AWG, EGC material: copper}\n    segments: [{method: UF-B",
        ),
        "house.yaml",
    )
    out = came_out(ordinance("2026-11-25"), house, "house.yaml")
    assert out[WIRE.format("heater"), "load-after-correction"][0] == "cannot tell"
    assert out[STRETCH.format("heater"), "no-sixty-degree-cable-in-an-attic"][0] == "fails"


def test_growth_of_the_ground_does_not_hear_of_a_drop_written_about_the_circuit(ordinance):
    """S11: the same sentence about the conductors would have made the least lawful size larger, and
    the ground need not grow.
    """
    house = read_yaml(HOUSE.read_text(), "house.yaml")
    key = CIRCUIT.format("shed"), "egc-grows-with-the-hots"
    assert (
        came_out(ordinance("2026-11-25"), house, "x")[key]
        == came_out(ordinance("2026-11-25", ("drop-of-a-branch-circuit",)), house, "x")[key]
    )
