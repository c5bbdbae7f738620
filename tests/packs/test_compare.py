"""Two laws compared: every difference is listed, and taking back exactly what is named brings the
other outcome back.

What is claimed is checked another way than it was found: the law in between is put together from
its text anew, with an order and a numbering of its own, and each job is run from the start by the
general evaluator.
"""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from sweeps import sweep, tenth

from whywire.engine.answering.findings import judged
from whywire.engine.answering.inspection import body_of
from whywire.engine.basics.errors import Collector, Faults
from whywire.engine.basics.reading import Mapping
from whywire.engine.comparing.between import A, B, Between, Side
from whywire.engine.comparing.compare import Turned, compare
from whywire.engine.language import expressions as ex
from whywire.engine.language.knowledge import assemble
from whywire.engine.law import library
from whywire.engine.law.applying import apply
from whywire.engine.law.laws import Law, law_of, read_law
from whywire.engine.running.chain import OFF, World, every_thing
from whywire.engine.running.job import read_job

KB = library.KB
JOBS = KB / "jobs"
SHIPPED = sorted(
    p
    for room in ("answers", "interactions", "editions", "scenarios")
    for p in (JOBS / room).glob("*.yaml")
)
SOME = [
    p
    for p in SHIPPED
    if p.stem
    in (
        "heat-pump-breaker",
        "same-wire-same-breaker",
        "appliances-by-name",
        "receptacles-by-place",
        "five-grounds-in-a-box",
        "outdoors-hard-wired",
        "lights-on-ten-amperes",
        "torque-by-other-means",
        "range-in-pipe",
        "plug-smaller-than-the-manual-asks",
        "workshop-feeder",
    )
]


# ---- what is claimed, checked from the text ------------------------------------------------------


def outcomes(k, body) -> dict:
    """Every outcome of a job, each finding with both sides of its comparison, by a run of the
    general evaluator.
    """
    w = World(k, read_job(body, k), False).run()
    out = {}
    for r, x, a in judged(w):
        if (
            r.verb == "refers"
            and a != "refers"
            or r.verb in ("warns", "lacks")
            and a == "exception applies"
        ):
            continue
        by = (
            next((e.id for e in k.order.exceptions[r.id] if w.holds(e, x) is True), "")
            if a == "exception applies"
            else ""
        )
        sides = (
            tuple(map(plain, (r.test.a.ev(x, None), r.test.b.ev(x, None))))
            if isinstance(r.test, ex.Cmp)
            else ()
        )
        out[r.id, x[0].id] = (a, by, *sides)
    for kind, xs in w.by_kind.items():
        for x in xs:
            for word in k.words.kinds[kind].words.values():
                v = x[word.slot]
                if word.type[0] not in ("ref", "many") and (
                    v is not None or (x[0].id, word.name) in w.disputes
                ):
                    out["", x[0].id, word.name] = "in dispute" if v is None else plain(v)
    return out


def plain(v):
    return (
        tuple(y[0].id for y in v if isinstance(y, list))
        if isinstance(v, list)
        else (type(v).__name__, v)
        if isinstance(v, (bool, str))
        else v
    )


def key(d) -> tuple:
    return ("", d.on, d.name) if d.kind == "fact" else (d.name, d.on)


class Checked:
    """The laws of a comparison put together anew, and any between."""

    def __init__(self, pair) -> None:
        self.between, self.days = pair.between, tuple(f.date for f in pair.force)
        self.made: dict = {}

    def law(self, s: int):
        return self.without_changes(()) if s == B else self.made.setdefault("a", self._whole(A))

    def _whole(self, s: int):
        side, faults = self.between.sides[s], Collector()
        m = self.between.library.material(side.edition, side.date, faults=faults, packs=side.packs)
        return assemble(m, faults, self.between.library.pool)

    def without_changes(self, causes):
        """The second law with *causes* taken back: its edits left out, those of the first put in,
        rules of the other edition carried over.
        """
        named = tuple(sorted(c.key for c in causes if c.cause != "fact"))
        if named not in self.made:
            self.made[named] = self._without([c for c in causes if c.cause != "fact"])
        return self.made[named]

    def _without(self, causes):
        b, faults = self.between, Collector()
        first, second = b.sides
        out = {
            (c.edit.pack.name, c.edit.number)
            for c in causes
            if c.cause == "edit" and c.edit.pack.name in second.packs
        }
        edits = [e for p in b.library.packs for e in p.edits if (e.pack.name, e.number) in out]
        # packs of the first law alone
        added = {
            c.edit.pack.name: set()
            for c in causes
            if c.cause == "edit" and c.edit.pack.name not in second.packs
        }
        for c in causes:
            if c.edit and c.edit.pack.name in added:
                added[c.edit.pack.name].add(c.edit.number)
        edits += [
            e
            for p in b.library.packs
            if p.name in added
            for e in p.edits
            if e.number not in added[p.name]
        ]
        m = b.library.material(
            second.edition,
            self.days[B],
            without=edits,
            faults=faults,
            packs=(*second.packs, *added),
        )
        a = b.library.material(first.edition, first.date, faults=faults, packs=first.packs)
        for c in causes:
            # an edit of the first law, carried out on the second whatever the day
            if c.cause == "edit" and c.side == A and c.edit.pack.name in second.packs:
                e = c.edit
                d = Mapping((k, v) for k, v in e.d.items() if k not in ("of", "meaning"))
                d.__dict__.update(e.d.__dict__)
                apply(
                    m,
                    [replace(e, pack=replace(e.pack, start="", end=""), start="", end="", d=d)],
                    None,
                    faults,
                )
            elif c.cause == "edition":
                for item in b.items_of[c]:
                    mine, theirs = (
                        (m.rules, a.rules) if item.kind == "rule" else (m.values, a.values)
                    )
                    d = Mapping(theirs[item.name])
                    d.__dict__.update(theirs[item.name].__dict__, edition=first.edition)
                    mine[item.name] = d
            elif c.cause == "pack":
                if c.item in a.rules:
                    m.rules[c.item] = a.rules[c.item]
                else:
                    del m.rules[c.item]
        faults.stop()
        return assemble(m, faults, b.library.pool)


def check(path, *under, fewest: bool = True):
    """Compare, and see that all of it is so; returns the comparison."""
    got = compare(path, under)
    assert not got.faults
    laws = [Law()] * (2 - len(under)) + [read_law(u) for u in under]
    pairs = [(p, Checked(p)) for p in got.pairs]
    found: dict[str, list] = {}
    for g in got.groups:
        for d in g.differences:
            found.setdefault(d.job, []).append((d, g.causes))
    for pair, checked in pairs:
        for job in pair.jobs:
            told = [
                law_of(law, body_of(Path(path) / job if Path(path).is_dir() else Path(path))[0])[1]
                for law in laws
            ]
            a, b = outcomes(checked.law(A), told[A]), outcomes(checked.law(B), told[B])
            skipped = {("", "job", f) for f in ("permit date", "place", "edition")}
            differ = {k for k in {*a, *b} if a.get(k) != b.get(k)} - skipped
            assert {key(d) for d, _ in found.get(job, ())} == differ, (
                f"{job}: another list of differences"
            )
            for d, causes in found.get(job, ()):
                body = told[A] if any(c.cause == "fact" for c in causes) else told[B]
                back = memo(checked, causes, body)
                assert back.get(key(d)) == a.get(key(d)), (
                    f"{job}: {[c.says for c in causes]} taken back, {key(d)} is not as under the"
                    " first law"
                )
                for c in d.also:
                    assert memo(checked, (c,), told[B]).get(key(d)) == a.get(key(d)), (
                        f"{job}: {c.says} alone does not restore {key(d)}"
                    )
                if fewest and len(causes) > 1:
                    for c in causes:
                        fewer = [x for x in causes if x is not c]
                        try:
                            kept = memo(
                                checked,
                                fewer,
                                told[A] if any(x.cause == "fact" for x in fewer) else told[B],
                            )
                        except Faults:
                            # what is left does not fit together: no law, and so no cause
                            continue
                        assert kept.get(key(d)) != a.get(key(d)), (
                            f"{job}: {c.says} is named and not needed for {key(d)}"
                        )
    return got


def memo(checked: Checked, causes, body) -> dict:
    k = checked.without_changes(causes)
    name = (id(k), id(body), tuple(sorted(c.key for c in causes)))
    kept = checked.made.setdefault("outcomes", {})
    if name not in kept:
        kept[name] = outcomes(k, body), k, body  # while they are held, no other has their id
    return kept[name][0]


# ---- editions ------------------------------------------------------------------------------------


@pytest.fixture
def folder(tmp_path):
    return filled(tmp_path, SOME)


def filled(tmp_path: Path, jobs: list[Path]) -> Path:
    for p in jobs:
        (tmp_path / p.name).write_text(p.read_text())
    return tmp_path


@pytest.mark.sweep
@pytest.mark.parametrize(
    "editions",
    [("2017", "2020"), ("2020", "2023"), ("2023", "2017"), ("2023", "2026")],
    ids="-".join,
)
def test_editions_differ_by_what_is_named(tmp_path, editions):
    jobs = tenth(SOME, turn="-".join(editions))
    # most jobs are the same in editions that follow on one another; this one differs in each pair
    jobs += [p for p in SOME if p.stem == "same-wire-same-breaker" and p not in jobs]
    got = check(filled(tmp_path, jobs), *editions)
    assert got.jobs == len(jobs) and got.groups
    assert all(c.cause == "edition" for g in got.groups for c in g.causes)


def caused(got, job: str, name: str, on: str) -> tuple:
    """(the causes' items, answer or value before, after) of one outcome."""
    d = next(
        d
        for g in got.groups
        for d in g.differences
        if d.job == job and d.name == name and d.on.endswith(on)
    )
    return tuple(c.item for c in d.causes), d.a, d.b


def test_published_differences_come_from_the_rules_they_are_about(folder):
    """BOX-12, GFI-03, GFI-05, PNL-14 of the published cases, each with the page that says so
    (tests/packs/test_editions.py).
    """
    causes, a, b = caused(
        compare(folder, ["2017", "2020"]), "five-grounds-in-a-box.yaml", "EGC fill", "splice"
    )
    assert causes == ("further EGC share",) and (a.answer, b.answer) == ("2.5 in³", "3.125 in³")
    got = compare(folder, ["2020", "2023"])
    causes, a, b = caused(got, "receptacles-by-place.yaml", "gfci-receptacles", "range")
    assert causes == ("gfci-places-of-twenty-three",) and (a.answer, b.answer) == (
        "does not apply",
        "fails",
    )
    causes, a, b = caused(got, "appliances-by-name.yaml", "gfci-named-appliance", "oven")
    assert causes == ("appliance-named-in-twenty-three",) and (a.answer, b.answer) == (
        "does not apply",
        "fails",
    )
    causes, a, b = caused(
        compare(folder, ["2017", "2020"]),
        "torque-by-other-means.yaml",
        "torque-by-a-calibrated-tool",
        "lug",
    )
    assert causes == ("torque-by-a-calibrated-tool",) and (a.answer, b.answer) == (
        "fails",
        "not in force",
    )


def test_where_one_change_would_do_as_well_as_another_both_are_told(folder):
    """The games room fails in 2023 by the new list and by the new rule: without either it would
    not.
    """
    got = compare(folder, ["2017", "2023"])
    d = next(
        d for d in got.differences if d.name == "gfci-receptacles" and d.on.endswith("games room")
    )
    assert {c.item for c in (*d.causes, *d.also)} == {
        "gfci-receptacles",
        "gfci-places-of-twenty-three",
    } and len(d.causes) == 1


def test_what_is_only_numbered_otherwise_is_no_difference_and_is_told(folder):
    got = compare(folder, ["2017", "2020"])
    differ = {(d.job, d.name, d.on) for d in got.differences}
    assert got.cited
    for c in got.cited:
        assert c.a != c.b and c.on and not {(job, c.rule, on) for job, on in c.on} & differ


# ---- shipped places ------------------------------------------------------------------------------


@sweep(
    "path",
    sorted((KB / "places").glob("*/jobs/*.yaml")),
    turn="with and without",
    ids=lambda p: f"{p.parents[1].name}/{p.stem}",
)
def test_a_place_with_and_without_its_pack(path):
    pack = path.parents[1].name
    body = body_of(path)[0]
    force, _ = law_of(Law(), body)
    if pack not in [p.name for p in force.packs]:
        pytest.skip("this job is elsewhere")
    got = check(path, f"-{pack}")
    assert got.groups and all(
        c.edit.pack.name == pack for g in got.groups for c in g.causes if c.edit
    )
    assert {c.cause for g in got.groups for c in g.causes} <= {"edit", "pack"}


def test_a_place_against_another_and_a_day_against_another():
    kiln = KB / "places/kestrel-county/jobs/kiln.yaml"
    got = check(kiln, "2027-03-01")
    causes = {g.causes for g in got.groups}
    # the age of a building at its permit goes by the day of the permit itself, and decides nothing
    ((by_day,),) = {cs for cs in causes if all(c.cause == "fact" for c in cs)}
    assert {d.name for g in got.groups if g.causes == (by_day,) for d in g.differences} == {
        "age at the permit"
    }
    ((cause,),) = causes - {(by_day,)}
    assert (
        cause.edit.target == "next-size-up"
        and cause.side == A
        and cause.edit.last_day == "2026-12-31"
    )
    d = next(d for d in got.differences if d.name == "breaker-protects-conductors")
    assert (d.a.answer, d.b.answer, d.b.exception, d.b.have, d.b.needed) == (
        "fails",
        "passes",
        "next-size-up",
        "55 A",
        "60 A",
    )
    check(kiln, "Kestrel County, 2026-05-01", "Saltgrass Parish, 2026-05-01")


def test_the_date_of_the_permit_itself_can_be_the_cause(tmp_path):
    """The relief for heating and cooling equipment ends in the book by the permit's date:
    2026-09-01 in the 2023 edition.
    """
    job = tmp_path / "job.yaml"
    job.write_text((JOBS / "editions/outdoors-hard-wired.yaml").read_text())
    got = check(job, "2023, 2026-08-31", "2023, 2026-09-01")
    d = next(
        d
        for d in got.differences
        if d.name == "gfci-outdoor-outlets" and d.on.endswith("heat pump")
    )
    assert (d.a.exception, d.b.answer) == ("hvac-relief", "fails") and [
        (c.cause, c.item) for c in d.causes
    ] == [("fact", "permit date")]


# ---- invented packs ------------------------------------------------------------------------------

HEAD = (
    "pack: {name}\ntitle: The {name} ordinance\nauthority: {name} Board\ncite: Ord. {name}\nlayer:"
    " {layer}\n{more}"
)


@pytest.fixture
def shelve(tmp_path, monkeypatch):
    monkeypatch.setenv("WHYWIRE_PACKS", str(tmp_path / "shelf"))

    def put(
        name: str,
        edits: str,
        layer: str = "county",
        more: str = "",
        words: str = "",
        rules: str = "",
    ) -> str:
        home = tmp_path / "shelf" / name
        home.mkdir(parents=True, exist_ok=True)
        (home / "pack.yaml").write_text(HEAD.format(name=name, layer=layer, more=more))
        (home / "edits.yaml").write_text(
            "\n".join(
                f"- {{{e}, cite: §{n}, reason: Because}}"
                for n, e in enumerate(edits.strip().split("\n"), 1)
            )
            + "\n"
            if edits.strip()
            else "[]\n"
        )
        if words:
            (home / "words.yaml").write_text(words)
        if rules:
            (home / "rules.yaml").write_text(rules)
        return name

    return put


@pytest.fixture
def job(tmp_path):
    def write(text: str) -> Path:
        path = tmp_path / "job.yaml"
        path.write_text("job: trial\nedition: 2023\npermit date: 2026-01-05\n" + text)
        return path

    return write


SPACE = "working spaces: {panel: {depth: DEPTH, voltage to ground: 120 V}}\n"


def only(got, name: str):
    """The one difference of a rule."""
    (d,) = [d for d in got.differences if d.name == name]
    return d


def test_an_edit_of_a_rule_with_both_numbers(shelve, job):
    shelve("one", "amend: working-space-depth, strike: 36 in, insert: 42 in, says: Deeper")
    got = check(job(SPACE.replace("DEPTH", "40 in")), "+one")
    d = only(got, "working-space-depth")
    assert (d.a.answer, d.a.have, d.a.needed, d.b.answer, d.b.have, d.b.needed) == (
        "passes",
        "40 in",
        "36 in",
        "fails",
        "40 in",
        "42 in",
    )
    assert (
        "The one ordinance Ord. one §1 amends working-space-depth" in d.causes[0].says
        and d.causes[0].side == B
    )
    back = compare(job(SPACE.replace("DEPTH", "40 in") + "packs: [one]\n"), ["-one"])
    assert (
        only(back, "working-space-depth").b.answer,
        only(back, "working-space-depth").causes[0].side,
    ) == ("passes", A)


def test_of_two_edits_of_one_rule_only_the_one_that_matters_is_named(shelve, job):
    shelve("below", "narrow: working-space-depth, only when: stories of job <= 3")
    shelve(
        "above",
        "amend: working-space-depth, strike: 36 in, insert: 42 in, says: Deeper",
        layer="city",
    )
    got = check(job("stories: 2\n" + SPACE.replace("DEPTH", "40 in")), "+below, +above")
    assert [c.edit.pack.name for c in only(got, "working-space-depth").causes] == ["above"]
    got = check(job("stories: 4\n" + SPACE.replace("DEPTH", "40 in")), "+below, +above")
    # as narrowed it does not apply; without that it would ask for more
    d = only(got, "working-space-depth")
    assert (d.a.answer, d.b.answer) == ("passes", "does not apply") and {
        c.edit.pack.name for c in d.causes
    } == {"below", "above"}


def test_edits_that_do_it_together_are_named_together(shelve, job):
    shelve("below", "amend: working-space-depth, strike: 36 in, insert: 42 in, says: Deeper")
    shelve(
        "above",
        "amend: working-space-depth, strike: 42 in, insert: 48 in, says: Deeper still",
        layer="city",
    )
    d = only(check(job(SPACE.replace("DEPTH", "40 in")), "+below, +above"), "working-space-depth")
    assert sorted(c.edit.pack.name for c in d.causes) == ["above", "below"] and (
        d.a.needed,
        d.b.needed,
    ) == ("36 in", "48 in")


KILN = (
    "circuits: {kiln: {volts: 240 V, more than one receptacle: no, load: {type: kiln, current: 40"
    " A}, breaker: {rating: 60 A}, conductors: {size: 6 AWG, material: copper}, segments: [{method:"
    " NM-B, length: 40 ft, place: basement, location: dry, bundle: none}]}}\n"
)


def test_a_permission_withdrawn_and_another_given(shelve, job):
    shelve("one", "withdraw: next-size-up")
    d = only(check(job(KILN), "+one"), "breaker-protects-conductors")
    assert (d.a.answer, d.a.exception, d.b.answer, d.b.have, d.b.needed) == (
        "passes",
        "next-size-up",
        "fails",
        "55 A",
        "60 A",
    )
    shelve(
        "two",
        "add: a-kiln-may-round-up, says: A kiln may round up, about: conductors, when: type of load"
        " of circuit is kiln, exception to: breaker-protects-conductors",
        layer="city",
    )
    d = only(check(job(KILN), "+one, +two"), "breaker-protects-conductors")
    assert (d.a.exception, d.b.exception) == ("next-size-up", "a-kiln-may-round-up") and len(
        d.causes
    ) == 2
    # what another permission covers makes no difference
    assert not check(job(KILN), "+two", "+one, +two").groups


def test_values_cells_and_rows(shelve, job):
    shelve(
        "one",
        "set: overall voltage drop target, to: 0.1 %, says: {combined-voltage-drop: Together less.,"
        " feeder-leaves-too-little: Too much.}\namend: equipment-grounding, row: {rating: 60 A,"
        " material: copper}, column: size, strike: 10 AWG, insert: 8 AWG",
    )
    got = check(job(KILN), "+one")
    by = {d.name: [c.item for c in d.causes] for d in got.differences}
    assert by["table EGC"] == ["equipment-grounding"] and by["combined-voltage-drop"] == [
        "overall voltage drop target"
    ]
    d = next(d for d in got.differences if d.name == "table EGC")
    assert (d.a.answer, d.b.answer) == ("10 AWG", "8 AWG")


def test_a_rule_that_a_pack_brings(shelve, job):
    shelve(
        "one",
        "",
        rules=(
            "- rule: a-rule-of-its-own\n  says: A working space is at least 30 in deep"
            " everywhere.\n  about: working space\n  must: depth >= 30 in\n  local: Ord. one §9\n"
        ),
    )
    d = only(check(job(SPACE.replace("DEPTH", "29 in")), "+one"), "a-rule-of-its-own")
    assert (d.a.answer, d.b.answer, d.causes[0].cause) == (
        "not in force",
        "fails",
        "pack",
    ) and "brings a-rule-of-its-own" in d.causes[0].says


def test_the_edit_that_moved_the_days_of_another_is_named(shelve, job):
    shelve(
        "below",
        "amend: working-space-depth, strike: 36 in, insert: 42 in, says: Deeper, until: 2026-01-01",
    )
    shelve(
        "above",
        "redate: working-space-depth, edit of: below, to: {until: 2027-01-01}",
        layer="city",
    )
    got = check(job(SPACE.replace("DEPTH", "40 in")), "+below", "+below, +above")
    (c,) = only(got, "working-space-depth").causes
    assert (c.edit.pack.name, c.edit.verb, c.side) == ("above", "redate", B)
    got = check(job(SPACE.replace("DEPTH", "40 in")), "+below, 2025-12-31", "+below, 2026-01-01")
    (c,) = only(got, "working-space-depth").causes
    assert c.edit.pack.name == "below" and "last day 2025-12-31" in c.says and c.side == A


def test_an_alias_changes_what_is_cited_and_nothing_else(shelve, job):
    shelve("one", "alias: working-space-depth, code: {2023: Town Code 8}")
    got = compare(job(SPACE.replace("DEPTH", "40 in")), ["+one"])
    assert not got.groups
    (c,) = got.cited
    assert (
        (c.rule, c.b) == ("working-space-depth", "Town Code 8")
        and c.causes[0].edit.verb == "alias"
        and c.on == [(got.pairs[0].jobs[0], "working spaces.panel")]
    )


def test_laws_without_an_order_in_common(shelve, job):
    """One pack reckons this from that, another that from this: each can run, and no order serves
    both.
    """
    words = (
        "words: {working space: {this far: {is: in}, that far: {is: in}, near: {is: in, ask: How"
        " near?}}}\n"
    )
    head = "  about: working space\n  local: Ord. §1\n"
    shelve(
        "one",
        "",
        words=words,
        rules=(
            f"- rule: that-from-this\n  says: That from this.\n{head}  gives: {{that far: this far"
            f" + 1 in}}\n- rule: this-from-near\n  says: This from near.\n{head}  gives: {{this"
            " far: near}\n"
        ),
    )
    shelve(
        "two",
        "",
        words=words,
        rules=(
            f"- rule: this-from-that\n  says: This from that.\n{head}  gives: {{this far: that far"
            f" + 1 in}}\n- rule: that-from-near\n  says: That from near.\n{head}  gives: {{that"
            " far: near}\n"
        ),
    )
    path = job(SPACE.replace("DEPTH", "40 in").replace("}}", ", near: 5 in}}"))
    got = check(path, "+one", "+two", fewest=False)
    assert got.pairs[0].between.order is None
    assert {(d.name, d.a.answer, d.b.answer) for d in got.differences} == {
        ("this far", "5 in", "6 in"),
        ("that far", "6 in", "5 in"),
    }


# ---- a run turned is the run itself --------------------------------------------------------------


@cache
def between(a: str, b: str):
    lib = library.Library(
        (KB / "places/kestrel-county", KB / "places/saltgrass-parish", KB / "places/cinder-mesa")
    )
    side = {
        "2017": Side("2017", None, ()),
        "2023": Side("2023", None, ()),
        "2026": Side("2026", None, ()),
        "kestrel": Side("2023", "2026-05-01", ("kestrel-county",)),
        "three": Side("2023", "2026-06-01", ("kestrel-county", "saltgrass-parish")),
    }
    return Between(lib, side[a], side[b])


def cells(w: World) -> tuple:
    """Everything a run holds, but for what rules left that are not in force."""
    slots = {}
    for r in w.k.rules.values():
        mine = slots.setdefault(r.about, set())
        mine |= {
            w.k.slots[r.id],
            *(w.k.results[r.id, f.word.name] for f in r.fills),
            *([w.k.holds[r.id]] if r.id in w.k.holds else ()),
        }
    facts = {
        kind: {word.slot for word in k.words.values() if word.type[0] not in ("ref", "many")}
        for kind, k in w.k.words.kinds.items()
    }
    read = {kind: sorted(facts[kind] | slots.get(kind, set())) for kind in facts}
    return (
        {
            (x[0].id, n): (type(x[n]).__name__, x[n])
            for x in every_thing(w)
            for n in read[x[0].kind]
        },
        set(w.disputes),
        {k: (got[0] and got[0][0].row, [y[0].row for y in got[1]]) for k, got in w.picked.items()},
    )


@pytest.mark.sweep
@pytest.mark.parametrize("fast", [False, True], ids=["general", "emitted"])
@pytest.mark.parametrize(
    "laws",
    [("2017", "2023"), ("2023", "2017"), ("2023", "kestrel"), ("kestrel", "2023")],
    ids="-".join,
)
def test_a_run_turned_into_another_law_is_the_run_under_it_and_turns_back(laws, fast):
    b = between(*laws)
    assert b.order is not None
    for path in tenth(SHIPPED, lambda p: p.parent.name, f"{laws} {fast}"):
        body = body_of(path)[0]
        w = World(b.first.k, read_job(body, b.first.k), fast).run()
        before, straight = (
            cells(w),
            cells(World(b.second.k, read_job(body, b.second.k), False).run()),
        )
        turning = Turned(b, w)
        undo = turning.turn(b.second)
        assert cells(w) == straight, path.stem
        moved = {n for n, came in turning.visited.items() if came}
        for i, x in w.things.items():  # whatever came out otherwise was seen to
            for word in b.words.kinds[x[0].kind].words.values():
                at = i, word.slot
                assert (
                    before[0].get(at) == straight[0].get(at)
                    or ("cell", x[0].kind, word.name, "") in moved
                ), f"{path.stem}: {word.name} of {i}"
        turning.back(undo)
        assert cells(w) == before, path.stem


# ---- what a person writes ------------------------------------------------------------------------


@pytest.mark.parametrize(
    "under, code",
    [
        ("2018", "edition"),
        ("2026-02-30", "no-such-date"),
        ("1/1/2026", "date-form"),
        ("Nowhere", "no-such-place"),
        ("-kestrel-county", "no-such-pack"),
        ("+no-such", "no-such-pack"),
        ("2017, 2020", "law-form"),
        ("", "law-form"),
        ("2017,,2026-01-01", "law-form"),
        ("kestrel-county", "no-such-place"),
    ],
)
def test_a_slip_in_a_law_is_told(under, code):
    with pytest.raises(Faults) as caught:
        compare(JOBS / "kiln.yaml", [under])
    assert code in [f.code for f in caught.value.items]
    assert all(f.todo for f in caught.value.items)


def test_a_job_of_a_folder_that_cannot_be_compared_is_told_and_the_rest_compared(tmp_path):
    (tmp_path / "good.yaml").write_text((JOBS / "kiln.yaml").read_text())
    (tmp_path / "bad.yaml").write_text("job: of no edition\n" + KILN)
    (tmp_path / "worse.yaml").write_text("job: misspelt\nedition: 2023\ncircits: {}\n")
    got = compare(tmp_path, ["Kestrel County"])
    assert got.jobs == 1 and {j for j, _ in got.faults} == {"bad.yaml", "worse.yaml"} and got.groups


def test_a_law_says_what_the_job_does_not():
    body = body_of(KB / "places/kestrel-county/jobs/kiln.yaml")[0]
    force, told = law_of(read_law("Port Alder City, 2023-01-01"), body)
    assert (force.edition, force.date, [p.name for p in force.packs]) == (
        "2020",
        "2023-01-01",
        ["port-alder-city"],
    ) and str(told["permit date"]) == "2023-01-01"
    force, _ = law_of(read_law("2017"), body)
    assert (force.edition, [p.name for p in force.packs]) == ("2017", ["kestrel-county"])
    force, _ = law_of(read_law("-Kestrel County"), body)
    assert (force.edition, force.packs) == ("2023", [])


def test_what_nothing_differs_in():
    got = compare(JOBS / "kiln.yaml", ["2023", "2023"])
    assert not got.groups and not got.cited and (got.jobs, got.same) == (1, 1)
    assert OFF not in {d.a.answer for d in got.differences}
