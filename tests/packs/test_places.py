"""The shipped places: sound, in force by place and day, and nothing of them is felt before its
day.
"""

import datetime
import itertools
import json
import random
from functools import cache
from pathlib import Path

import pytest
from sweeps import sweep, tenth

from whywire.cli.main import main
from whywire.engine import inspect, opened
from whywire.engine.answering.expect import unmet
from whywire.engine.answering.inspection import Inspection
from whywire.engine.answering.questions import Why
from whywire.engine.basics.errors import Collector, Fault, Faults
from whywire.engine.basics.reading import read_yaml
from whywire.engine.comparing.amendments import review, verdict
from whywire.engine.law.applying import apply
from whywire.engine.law.library import KB, Library
from whywire.engine.law.places import known_packs
from whywire.engine.law.verbs.registry import VERBS, read_edit
from whywire.engine.proving.graph import show

PLACES = sorted(p.parent for p in (KB / "places").glob("*/pack.yaml"))
JOBS = sorted((KB / "places").glob("*/jobs/*.yaml"))
LIBRARY = Library(tuple(PLACES))
LIBRARY.faults.stop()
EDITS = [e for p in LIBRARY.packs for e in p.edits]


@sweep("folder", PLACES, turn="no fault", ids=lambda p: p.name)
def test_a_shipped_pack_has_no_fault(folder):
    assert [str(f) for f in review(folder).faults.items] == []


def test_every_verb_is_used():
    assert {e.verb for e in EDITS} == set(VERBS)


@sweep(
    "path",
    JOBS,
    turn="there",
    ids=lambda p: f"{p.parents[1].name}/{p.stem}",
)
def test_a_job_comes_out_as_written_there_and_otherwise_under_the_bare_book(path):
    there = inspected(path)
    assert unmet(there) == []
    bare = under_the_bare_book(path)
    assert unmet(bare), "the place changes nothing of what its job expects"
    named = [e.target for f in there.findings for e in f.through] + [
        i for f in there.findings for i, _ in f.withdrawn
    ]
    # a rule that is off makes no finding; asked for, it cites the ordinance
    named += [
        r
        for wants in there.body["expect"].values()
        for r in map(str, wants)
        if r in there.k.trail and there.k.section(r).startswith(there.k.trail[r][0].cite)
    ]
    assert named, "no answer names the amendment it rests on"
    assert (
        there.in_force[0]["digest"] != bare.in_force[0]["digest"]
        and there.in_force[-1]["authority"]
    )


@cache
def under_the_bare_book(path: Path):
    """The job in the same edition, for the same permit, with the place's words and none of its
    edits.
    """
    _, force, k = opened(path)
    return Inspection(path, LIBRARY.in_force(k.edition, force.date, without=EDITS))


# Where each amendment shows on a job: pack, job, thing, rule or fact, what it is there, what it is
# under the bare book.
MOVES = [
    # withdraw, until a day
    (
        "kestrel-county",
        "kiln",
        "kiln conductors",
        "breaker-protects-conductors",
        "fails",
        "exception applies",
    ),
    # amend a cell
    (
        "kestrel-county",
        "kiln",
        "kiln",
        "egc-follows-the-breaker",
        "fails",
        "passes",
    ),
    # add
    (
        "kestrel-county",
        "spa",
        "spa",
        "outdoor-disconnect-seen-and-locked",
        "fails",
        "not in force",
    ),
    # narrow
    (
        "kestrel-county",
        "bedroom",
        "bedroom",
        "afci-protection",
        "does not apply",
        "fails",
    ),
    # replace
    (
        "kestrel-county",
        "bedroom",
        "rod",
        "electrode-of-twenty-five-ohms",
        "fails",
        "passes",
    ),
    # add, by height and age
    (
        "port-alder-city",
        "walk-up",
        "range segment 1",
        "no-nm-in-tall-or-old-buildings",
        "fails",
        "not in force",
    ),
    ("port-alder-city", "walk-up", "cellar", "working-space-depth", "fails", "passes"),  # replace
    # add, by occupancy
    (
        "port-alder-city",
        "rough-in",
        "washer",
        "copper-in-apartments",
        "fails",
        "not in force",
    ),
    ("port-alder-city", "rough-in", "stud", "hole-in-wood", "fails", "passes"),  # amend a cell
    # adopt from the next book
    (
        "port-alder-city",
        "cellar",
        "cellar",
        "flat-floor",
        "fails",
        "not in force",
    ),
    # redate the base's own day
    (
        "saltgrass-parish",
        "heat-pump",
        "heat pump",
        "gfci-outdoor-outlets",
        "fails",
        "exception applies",
    ),
    # amend a line
    (
        "saltgrass-parish",
        "beach-house",
        "heater segment 1",
        "deep-enough",
        "fails",
        "passes",
    ),
    # add a default, by the shore
    (
        "saltgrass-parish",
        "beach-house",
        "heater segment 2",
        "metal-in-corrosive-air",
        "fails",
        "cannot tell",
    ),
    (
        "saltgrass-parish",
        "beach-house",
        "heater segment 2",
        "straps-against-the-wind",
        "fails",
        "not in force",
    ),
    # amend the force
    (
        "cinder-mesa",
        "long-run",
        "heater conductors",
        "branch-voltage-drop",
        "fails",
        "advice",
    ),
    # add, instead of
    (
        "cinder-mesa",
        "attic",
        "heater segment 1",
        "correction factor",
        "0.71",
        "0.91",
    ),
    ("cinder-mesa", "attic", "heater conductors", "load-after-correction", "fails", "passes"),
    ("cinder-mesa", "attic", "workshop segment 1", "correction factor", "0.87", "1"),
    ("cinder-mesa", "attic", "main", "spare-spaces", "fails", "advice"),
    # amend a cell
    (
        "loon-lakes-township",
        "boathouse",
        "heater segment 1",
        "deep-enough",
        "fails",
        "passes",
    ),
    # adopt
    (
        "loon-lakes-township",
        "boathouse",
        "heater",
        "gfci-outdoor-outlets",
        "fails",
        "not in force",
    ),
    # redate what the state added
    (
        "loon-lakes-township",
        "cabin",
        "main",
        "surge-protection-at-the-service",
        "fails",
        "not in force",
    ),
    # a utility's layer
    (
        "loon-lakes-township",
        "cabin",
        "main",
        "meter-above-the-drift",
        "fails",
        "not in force",
    ),
    # withdraw an exception
    (
        "loon-lakes-township",
        "cabin",
        "barn",
        "feeder-to-a-separate-building-brings-an-egc",
        "fails",
        "exception applies",
    ),
    # widen
    (
        "loon-lakes-township",
        "cabin",
        "barn feeder segment 1",
        "pvc-expansion-fitting",
        "fails",
        "does not apply",
    ),
    # narrow
    (
        "tamarack-state",
        "barn",
        "lights segment 1",
        "nm-follows-the-surface",
        "does not apply",
        "fails",
    ),
    # set, as in another edition
    (
        "brightwater-metro",
        "six-grounds",
        "splice",
        "required volume",
        "18 in³",
        "19 in³",
    ),
    # adopt, early
    (
        "brightwater-metro",
        "townhouse",
        "kiln",
        "gfci-outdoor-outlets-to-sixty",
        "fails",
        "not in force",
    ),
    # withdraw: the newer text stands in its place
    (
        "brightwater-metro",
        "patio",
        "patio heater",
        "gfci-outdoor-outlets",
        "not in force",
        "fails",
    ),
    (
        "brightwater-metro",
        "patio",
        "patio heater",
        "gfci-outdoor-outlets-to-sixty",
        "fails",
        "not in force",
    ),
    # adopt, the older book's
    (
        "brightwater-metro",
        "townhouse",
        "lights",
        "branch-circuits-from-fifteen-amperes",
        "fails",
        "not in force",
    ),
    # strike a row
    (
        "brightwater-metro",
        "townhouse",
        "ovens receptacle",
        "several-receptacles-by-the-table",
        "fails",
        "passes",
    ),
    # replace what was advice
    (
        "brightwater-metro",
        "townhouse",
        "kiln segment 1",
        "ribbon-in-the-trench",
        "fails",
        "passes",
    ),
]


@pytest.mark.parametrize(
    ("pack", "job", "on", "what", "there", "bare"),
    MOVES,
    ids=[f"{p}/{j}: {o} {w}".replace(" ", "-") for p, j, o, w, *_ in MOVES],
)
def test_which_finding_moves(pack, job, on, what, there, bare):
    path = KB / "places" / pack / "jobs" / f"{job}.yaml"
    assert [said(inspected(path), on, what), said(under_the_bare_book(path), on, what)] == [
        there,
        bare,
    ]


@cache
def inspected(path: Path):
    return inspect(path)


def said(found, on: str, what: str) -> str:
    x, rest = Why(found.w, found.whatif).thing(on.split())
    word = found.k.words.kinds[x[0].kind].words.get(what)
    assert not rest
    if word is not None:
        return show(x[word.slot], word.unit)
    return found.w.answer(found.k.rules[what], x) if what in found.k.rules else "not in force"


def test_an_inserted_row_serves_up_to_itself():
    """Kestrel County: over 40 A up to 60 A the ground is 8 AWG, up to 40 A it stays 10 AWG."""
    k = opened(KILN | {"place": "Kestrel County", "permit date": "2025-09-02"})[2]
    for amperes, size in (
        ("30 A", "10 AWG"),
        ("40 A", "10 AWG"),
        ("40.1 A", "8 AWG"),
        ("60 A", "8 AWG"),
    ):
        assert (
            verdict(
                k,
                "table-egc",
                {
                    "given": {"EGC rating": amperes, "EGC material": "copper"},
                    "gives": {"table EGC": size},
                },
            )
            == f"table EGC: {size}"
        )


def test_what_an_ordinance_says_of_a_practice_is_law_there():
    found = inspect(KB / "places/brightwater-metro/jobs/townhouse.yaml")
    ribbon = next(f for f in found.findings if f.rule == "ribbon-in-the-trench")
    assert ribbon.layer == "local" and ribbon.source.startswith("Metro Code 77-12")
    assert (
        next(
            f
            for f in under_the_bare_book(
                KB / "places/brightwater-metro/jobs/townhouse.yaml"
            ).findings
            if f.rule == "ribbon-in-the-trench"
        ).layer
        == "practice"
    )


def test_an_alias_gives_another_number_and_nothing_else():
    k = opened(KILN | {"place": "Loon Lakes", "permit date": "2026-02-01"})[2]
    assert "Town Code 8.20.3" in k.section("working-space-width")
    assert (
        k.rules["working-space-width"].meaning()
        == LIBRARY.in_force("2017", "2026-02-01", without=EDITS)
        .rules["working-space-width"]
        .meaning()
    )


def _plain(v):
    return (
        {str(k): _plain(x) for k, x in v.items()}
        if isinstance(v, dict)
        else [_plain(x) for x in v]
        if isinstance(v, list)
        else str(v)
    )


# ---- in force by place and day -------------------------------------------------------------------

KILN = {
    "job": "kiln",
    "circuits": {"kiln": {"volts": "240 V", "load": {"type": "kiln", "current": "48 A"}}},
}


def refused(body) -> list[str]:
    with pytest.raises(Faults) as caught:
        opened(body)
    return [f.code for f in caught.value.items]


def test_nothing_is_concluded_from_an_edition_nobody_told():
    assert refused(KILN) == ["edition-unknown"]
    assert refused(KILN | {"place": "Kestrel County"}) == ["permit-date-unknown"]
    assert refused(KILN | {"place": "Nowhere in Particular", "permit date": "2026-01-01"}) == [
        "edition-unknown"
    ]
    assert refused(KILN | {"place": "Kestrel County", "permit date": "2020-01-01"}) == [
        "edition-unknown"
    ]
    assert refused(
        KILN | {"place": "Kestrel County", "permit date": "2026-01-01", "edition": "2017"}
    ) == ["edition-mismatch"]


def test_a_choice_window_asks():
    at = KILN | {"place": "Brightwater"}
    assert opened(at | {"permit date": "2026-09-30"})[1].edition == "2023"
    assert (
        refused(at | {"permit date": "2026-10-01"})
        == refused(at | {"permit date": "2026-12-29"})
        == ["edition-choice"]
    )
    assert opened(at | {"permit date": "2026-12-29", "edition": "2026"})[1].edition == "2026"
    assert opened(at | {"permit date": "2026-12-30"})[1].edition == "2026"


def test_layers_apply_in_their_order():
    job = KILN | {"place": "Loon Lakes", "permit date": "2026-08-01"}
    _, force, k = opened(job)
    assert [p.name for p in force.packs] == [
        "tamarack-state",
        "loon-lakes-township",
        "lakeland-power",
    ] and force.edition == "2017"
    # the township gave its farms a year more than the state
    assert "nm-follows-the-surface" in k.trail
    assert (
        "nm-follows-the-surface"
        not in opened(KILN | {"place": "Tamarack State", "permit date": "2026-08-01"})[2].trail
    )
    # and asked for surge protection a year before the state
    assert "surge-protection-at-the-service" in k.rules
    assert (
        "surge-protection-at-the-service"
        not in opened(KILN | {"place": "Tamarack State", "permit date": "2026-12-31"})[2].rules
    )
    assert (
        "surge-protection-at-the-service"
        in opened(KILN | {"place": "Tamarack State", "permit date": "2027-01-01"})[2].rules
    )
    assert (
        "surge-protection-at-the-service"
        not in opened(job | {"permit date": "2025-12-31"})[2].rules
    )


def test_one_fact_is_told_once_where_a_place_has_the_newer_text():
    """An outdoor outlet of 30 A is in the text of 2023 and in that of 2026; the relief that belongs
    to the older one goes with it.
    """
    path = KB / "places/brightwater-metro/jobs/patio.yaml"
    assert [
        f.rule
        for f in inspect(path).findings
        if f.on == "circuits.patio heater" and f.answer == "fails"
    ] == ["gfci-outdoor-outlets-to-sixty"]
    body = _plain(read_yaml(path.read_text(), "patio"))
    assert [
        f.rule
        for f in inspect(body | {"permit date": "2025-12-31"}).findings
        if f.on == "circuits.patio heater" and f.answer == "fails"
    ] == ["gfci-outdoor-outlets"]


def test_a_withdrawn_rule_says_so_until_its_day():
    job = _plain(read_yaml((KB / "places/kestrel-county/jobs/kiln.yaml").read_text(), "kiln")) | {
        "expect": {}
    }
    before = inspect(job | {"permit date": "2026-12-31"})
    said = before.why("kiln", "next-size-up")
    assert (
        said.word == "NO."
        and "is withdrawn in" in said.sentence
        and "Kestrel County until 2027-01-01" in said.sentence
    )
    after = inspect(job | {"permit date": "2027-01-01"})
    assert after.why("kiln", "breaker-protects-conductors").word == "YES."
    assert set(before.k.withdrawn) - set(after.k.withdrawn) == {"next-size-up"}
    assert "next-size-up" in after.k.rules and "next-size-up" not in before.k.rules


# ---- properties ----------------------------------------------------------------------------------


def test_before_its_day_an_amendment_is_not_felt():
    """5,000 draws of an edit and a day: in force exactly from its first day to its last, and before
    any, the base itself.
    """
    rng = random.Random(7)
    base = LIBRARY.material("2023", "0001-01-01", without=EDITS)
    for _ in range(5000):
        e = rng.choice(EDITS)
        first = datetime.date.fromisoformat(e.first_day or "2018-01-01")
        day = (first + datetime.timedelta(days=rng.randrange(-900, 900))).isoformat()
        assert e.holds_on(day) == (
            (not e.first_day or day >= e.first_day) and (not e.last_day or day <= e.last_day)
        )
        if day < min(x.first_day for x in EDITS if x.pack is e.pack) and e.pack.edits:
            m = LIBRARY.material(
                "2023", day, without=[x for x in EDITS if x.pack is not e.pack], faults=Collector()
            )
            assert not m.trail and not m.withdrawn
            assert (
                all(m.rules[i] is base.rules[i] for i in base.rules)
                and all(m.tables[i] is base.tables[i] for i in base.tables)
                and all(m.values[i] is base.values[i] for i in base.values)
            )


@pytest.mark.sweep
def test_packs_named_in_any_order_are_one_law(tmp_path):
    """24 orders of four packs that have nothing to do with one another: one digest."""
    edits = {
        "one": "{amend: working-space-depth, strike: 36 in, insert: 42 in, says: Deeper.}",
        "two": "{withdraw: nm-follows-the-surface}",
        "three": "{narrow: next-size-up, only when: type of load is kiln}",
        "four": "{narrow: next-size-up, only when: rating of breaker <= 100 A}",
    }
    for name, edit in edits.items():
        (tmp_path / name).mkdir()
        (tmp_path / name / "pack.yaml").write_text(
            f"pack: {name}\nauthority: Board\ncite: Ord. {name}\nlayer: county\nedits:\n-"
            f" {edit[:-1]}, cite: §1, reason: Because.}}\n"
        )
    found = {
        Library(tuple(tmp_path / n for n in order)).in_force("2023", "2026-06-01").digest
        for order in (tuple(edits), *tenth([*itertools.permutations(edits)][1:]))
    }
    assert len(found) == 1


def test_two_packs_of_one_layer_on_one_thing_are_both_named(tmp_path):
    for name, to in (("one", "42 in"), ("two", "48 in")):
        (tmp_path / name).mkdir()
        (tmp_path / name / "pack.yaml").write_text(
            f"pack: {name}\nauthority: Board\ncite: Ord. {name}\nlayer: county\nedits:\n- {{amend:"
            f" working-space-depth, strike: 36 in, insert: {to}, says: Deeper., cite: §1, reason:"
            " Room.}\n"
        )
    for order in (("one", "two"), ("two", "one")):
        with pytest.raises(Faults) as caught:
            Library(tuple(tmp_path / n for n in order)).in_force("2023", "2026-01-01")
        said = str(caught.value)
        assert "one" in said and "two" in said and "42 in" in said


def drifted(d, rng):
    """A rule with one number moved or one condition more: another meaning."""
    from whywire.engine.basics.reading import Text
    from whywire.engine.law.targets import lines_at, put

    lines = [(p, t) for p, t in lines_at(d) if any(c.isdigit() for c in t)]
    if lines and rng.random() < 0.7:
        p, t = rng.choice(lines)
        at = rng.choice([i for i, c in enumerate(t) if c.isdigit()])
        return put(
            d,
            p,
            Text(
                t[:at] + str((int(t[at]) + rng.randrange(1, 9)) % 10) + t[at + 1 :],
                t.at if hasattr(t, "at") else d.at,
            ),
        )
    new = type(d)(d)
    new.__dict__.update(d.__dict__)
    when = d.get("when", [])
    new["when"] = [*(when if isinstance(when, list) else [when]), f"{rng.randrange(2, 99)} > 1"]
    return new


def test_a_base_that_moved_underneath_is_noticed():
    """100 seeded drifts of a rule under an edit that says what it was written over: 100 told."""
    rng, noticed = random.Random(3), 0
    over = [
        e
        for e in EDITS
        if e.d.get("of")
        and e.verb not in ("add", "redate")
        and e.target in LIBRARY.material("2023", "0001-01-01", without=EDITS).rules
    ]
    for _ in range(100):
        e = rng.choice(over)
        m = LIBRARY.material(
            "2017" if e.pack.name in ("loon-lakes-township", "tamarack-state") else "2023",
            "0001-01-01",
            without=EDITS,
        )
        m.rules[e.target] = drifted(m.rules[e.target], rng)
        faults = Collector()
        apply(m, [e], e.first_day or "2026-06-01", faults)
        noticed += any(
            f.code in ("stale", "not-there", "meaning-moved", "stands-twice") for f in faults.items
        )
    assert noticed == 100


# ---- defects -------------------------------------------------------------------------------------


def defects(text: str, e):
    """One defect at a time in the text of an edit."""
    lines = text.splitlines()
    head = lines[0]
    yield "target misspelt", text.replace(e.target, e.target[:-1] + "zz", 1)
    yield "verb misspelt", text.replace(f"- {e.verb}:", f"- {e.verb}s:", 1)
    yield "unknown key", head + "\n  untill: 2027-01-01\n" + "\n".join(lines[1:])
    yield (
        "date of another form",
        head
        + "\n  until: 1/1/2099\n"
        + "\n".join(x for x in lines[1:] if not x.startswith("  until")),
    )
    yield (
        "no such day",
        head
        + "\n  from: 2026-02-30\n"
        + "\n".join(x for x in lines[1:] if not x.startswith("  from")),
    )
    yield (
        "ends before it begins",
        head
        + "\n  from: 2028-01-01\n  until: 2027-06-01\n"
        + "\n".join(x for x in lines[1:] if not x.startswith(("  from", "  until"))),
    )
    yield "no citation", "\n".join(x for x in lines if not x.startswith("  cite:"))
    yield "no reason", "\n".join(x for x in lines if not x.startswith("  reason:"))
    yield (
        "two verbs",
        (
            head + "\n  withdraw: working-space-width\n" + "\n".join(lines[1:])
            if e.verb != "withdraw"
            else head + "\n  set: circle share\n" + "\n".join(lines[1:])
        ),
    )
    yield "a condition where none belongs", head + "\n  except: motors\n" + "\n".join(lines[1:])
    if e.d.get("of") and "edit of" not in e.d:
        yield "written over something else", text.replace(str(e.d["of"]), "must=000000")
    if e.d.get("meaning"):
        yield "meaning something else", text.replace('meaning: "', 'meaning: "Not so. ', 1)
    if "strike" in e.d:
        yield (
            "words that stand nowhere",
            text.replace(f"strike: {e.d['strike']}", "strike: 999 in", 1),
        )
        yield (
            "nothing changed",
            text.replace(f"insert: {e.d['insert']}", f"insert: {e.d['strike']}", 1),
        )
    if "to" in e.d and e.verb == "set":
        yield "another unit", text.replace(f"to: {e.d['to']}", "to: 12 ft", 1)


def seeded():
    for e in EDITS:
        path = next(p for p in (Path(e.pack.folder)).glob("*.yaml") if p.name == Path(e.at[0]).name)
        text = path.read_text().splitlines()
        end = next((i for i in range(e.at[1], len(text)) if text[i].startswith("- ")), len(text))
        for what, broken in defects("\n".join(text[e.at[1] - 1 : end]) + "\n", e):
            yield e, what, broken


SEEDED = list(seeded())


def test_there_are_enough_seeded_defects():
    assert len(SEEDED) >= 150


@pytest.mark.parametrize("pack", sorted({e.pack.name for e, *_ in SEEDED}))
def test_a_seeded_defect_is_found(pack):
    unsaid = [
        f"{e.name}: {what}: {said}"
        for e, what, broken in SEEDED
        if e.pack.name == pack and (said := missed(e, broken))
    ]
    assert unsaid == []


def missed(e, broken: str) -> str:
    """What is wrong with what is said of a broken edit; nothing where it is found."""
    faults = Collector()
    edition = {
        "loon-lakes-township": "2017",
        "tamarack-state": "2017",
        "port-alder-city": "2020",
    }.get(e.pack.name, "2023")
    try:
        body = read_yaml(broken, "trial.yaml")
        one = read_edit(body[0], e.pack, e.number, faults)
        others = [
            x for x in EDITS if x.pack.rank < e.pack.rank and e.d.get("edit of") == x.pack.name
        ]
        m = LIBRARY.material(edition, "0001-01-01", without=EDITS)
        apply(m, [*others, one], max(one.first_day, e.first_day) or "2026-06-01", faults)
    except (Fault, Faults) as f:
        faults.items.extend(f.items if isinstance(f, Faults) else [f])
    if not faults.items:
        return "nothing was said"
    return "" if all(f.todo for f in faults.items) else "it is not said what to do"


def test_the_shelf_is_known():
    assert {p.place for p in known_packs().values()} >= {
        "Kestrel County",
        "Port Alder City",
        "Saltgrass Parish",
        "Cinder Mesa Municipality",
        "Loon Lakes Township",
        "Brightwater Metro",
    }


@sweep("folder", PLACES, turn="examples", ids=lambda p: p.name)
def test_the_examples_of_a_shipped_pack_show_all_of_it(folder, capsys):
    """Every condition both ways, every limit from three sides, every change of what it brings or
    amends caught, or with its reason.
    """
    assert main(["check", str(folder), "--coverage", "--mutate", "--json"]) == 0
    got = json.loads(capsys.readouterr().out)
    seen, made = got["coverage"], got["mutation"]
    assert (
        seen["lacking"] == seen["stale"] == []
        and all(seen[what]["seen"] == seen[what]["of"] for what in ("conditions", "thresholds"))
        and seen["conditions"]["of"]
    )
    assert (
        made["changes"]
        and made["survivors"] == made["stale"] == []
        and made["caught"] + len(made["excused"]) == made["changes"]
    )
