"""Kept knowledge answers as fresh knowledge does, is made anew after any change, and is believed
only from safe files.
"""

import os
import shutil
from pathlib import Path

import pytest

from whywire.engine.answering.inspection import Inspection, body_of
from whywire.engine.basics import kept as keeping
from whywire.engine.basics import reading
from whywire.engine.basics.errors import Faults
from whywire.engine.basics.reading import place_of, read_yaml
from whywire.engine.language.rules import Rule
from whywire.engine.language.tables import Table
from whywire.engine.language.things import members
from whywire.engine.law import library
from whywire.engine.running import cache, emit, pieces
from whywire.engine.running.chain import World, every_thing
from whywire.engine.running.program import program_of

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
RULE = (
    "- rule: shop-wire\n  says: The shop uses thick wire.\n  about: conductors\n  should: size is 6"
    " AWG or larger\n  practice: ours\n"
)


@pytest.fixture(scope="module")
def fresh():
    return library.load()


@pytest.fixture(scope="module")
def kept(fresh):
    return pieces.read(pieces.written(fresh))


@pytest.fixture
def anew(fresh, tmp_path, monkeypatch):
    """As in a process that has just begun, with a cache of its own; how often packs had to be read
    is counted.
    """
    monkeypatch.setenv("WHYWIRE_CACHE", str(tmp_path / "cache"))
    loads = []
    real = library.load
    monkeypatch.setattr(
        library, "load", lambda *a, **how: loads.append(a) or (real(*a, **how) if a[0] else fresh)
    )

    def load(*a):
        monkeypatch.setattr(cache, "_LOADED", {})
        return cache.load(*a)

    load.loads = loads
    return load


@pytest.fixture
def pack(tmp_path):
    folder = tmp_path / "ours"
    folder.mkdir()
    (folder / "pack.yaml").write_text("pack: ours\ntitle: Ours\nauthority: us\n")
    (folder / "wire.yaml").write_text(RULE)
    return folder


def cells(w: World) -> dict:
    def shown(v):
        return (
            v[0].id
            if type(v) is list
            else [y[0].id for y in members(v)]
            if isinstance(v, list)
            else repr(v)
        )

    return {(x[0].id, x[0].plane): [shown(v) for v in x[1:]] for x in every_thing(w)}


@pytest.mark.parametrize("name", ["kiln.yaml", "scenarios/workshop-feeder.yaml"])
def test_kept_knowledge_answers_as_fresh_knowledge_does(fresh, kept, name):
    body = read_yaml((JOBS / name).read_text(), name)
    one, two = Inspection(body, fresh), Inspection(body, kept)
    assert cells(one.w) == cells(two.w)
    assert one.w.bailed == two.w.bailed
    assert one.as_dict() == two.as_dict()
    worst = one.findings[0]
    assert one.why(worst.on, worst.rule).as_dict() == two.why(worst.on, worst.rule).as_dict()


def test_a_rule_is_read_when_it_is_asked_for(fresh):
    k = pieces.read(pieces.written(fresh))
    r = k.rules["conductor-125-percent"]
    assert (
        isinstance(r, Rule)
        and (r.about, r.verb) == ("conductors", "must")
        and "test" not in r.__dict__
    )
    assert r.when_text == fresh.rules[r.id].when_text and type(r) is Rule
    t = k.tables["conductor-ampacity"]
    assert isinstance(t, Table) and "rows" not in t.__dict__
    assert t.rows == fresh.tables[t.id].rows and type(t) is Table
    with pytest.raises(AttributeError):
        k.rules["breaker-125-percent"].what_no_rule_has
    assert k.order.sequence == fresh.order.sequence and k.order.needs == fresh.order.needs
    assert any(g is r for gs in k.order.tests.values() for g in gs), "a rule is there once"
    gives = next(r for r in k.rules.values() if r.verb == "gives")
    word = gives.fills[0].word
    assert word is k.words.kinds[gives.about].words[word.name], "a word is there once"


def emitting(monkeypatch) -> list:
    """The stretches that are emitted from now on."""
    out, real = [], emit.Emitted.code
    monkeypatch.setattr(
        emit.Emitted, "code", lambda self, nodes: out.append(nodes) or real(self, nodes)
    )
    return out


def test_code_is_emitted_once_and_kept_for_the_next_start(fresh, anew, tmp_path, monkeypatch):
    emitted, kiln, feeder = (
        emitting(monkeypatch),
        *(body_of(JOBS / n)[0] for n in ("kiln.yaml", "scenarios/workshop-feeder.yaml")),
    )
    anew()
    k = anew()
    first = cells(Inspection(kiln, k).w)
    ran = len(emitted)
    parts = [*program_of(k).emitted().parts()]
    assert 20 < ran < len(parts), "what no thing of this job needs is not emitted"
    cache.keep_code()
    k = anew()
    assert len(anew.loads) == 1 and cells(Inspection(kiln, k).w) == first
    assert len(emitted) == ran
    other = cells(Inspection(feeder, k).w)
    assert len(emitted) > ran, "another job has other things"
    cache.keep_code()
    ran, k = len(emitted), anew()
    assert (cells(Inspection(kiln, k).w), cells(Inspection(feeder, k).w)) == (first, other) and len(
        emitted
    ) == ran
    written = (tmp_path / "cache").stat().st_mtime_ns
    cache.keep_code()
    assert (tmp_path / "cache").stat().st_mtime_ns == written, "nothing new, nothing written"


def test_code_is_kept_nowhere_if_its_file_was_changed_meanwhile(fresh, anew, tmp_path):
    Inspection(body_of(JOBS / "kiln.yaml")[0], anew())
    file = next((tmp_path / "cache").glob("*.knowledge"))
    file.write_bytes(b"another law" + file.read_bytes())
    before = file.read_bytes()
    cache.keep_code()
    assert file.read_bytes() == before


def test_a_constant_that_many_functions_look_things_up_in_is_kept_once(fresh):
    k = pieces.read(pieces.written(fresh))
    Inspection(body_of(JOBS / "kiln.yaml")[0], k)
    one = pieces.with_code(pieces.written(fresh), program_of(k).emitted().fresh)
    again = pieces.with_code(one, program_of(k).emitted().fresh)
    assert again == one


def test_a_second_start_reads_no_pack(anew):
    assert anew().digest == anew().digest
    assert len(anew.loads) == 1


def test_a_changed_file_is_read_again(anew, pack):
    assert "shop-wire" in anew((str(pack),)).rules
    state = (pack / "wire.yaml").stat()
    # as long as it was, and as old as it was
    (pack / "wire.yaml").write_text(RULE.replace("6 AWG", "4 AWG"))
    os.utime(pack / "wire.yaml", ns=(state.st_atime_ns, state.st_mtime_ns))
    assert anew((str(pack),)).rules["shop-wire"].d["should"] == "size is 4 AWG or larger"
    (pack / "wire.yaml").write_text(RULE + "  nonsense: yes\n")
    with pytest.raises(Faults):
        anew((str(pack),))


def test_a_file_that_came_or_went_is_noticed(anew, pack):
    anew((str(pack),))
    (pack / "more.yaml").write_text(RULE.replace("shop-wire", "more-wire"))
    assert "more-wire" in anew((str(pack),)).rules
    (pack / "more.yaml").unlink()
    assert "more-wire" not in anew((str(pack),)).rules


def test_what_others_may_write_is_not_believed(anew, tmp_path, monkeypatch):
    monkeypatch.setattr(keeping, "_trouble", "")  # what is told once a process is this test's own
    anew()
    file = next((tmp_path / "cache").glob("*.knowledge"))
    file.chmod(0o622)
    anew()
    assert len(anew.loads) == 2
    (tmp_path / "cache").chmod(0o777)
    anew()
    assert len(anew.loads) == 3


def test_a_link_is_not_believed(anew, tmp_path):
    anew()
    file = next((tmp_path / "cache").glob("*.knowledge"))
    shutil.move(file, tmp_path / "elsewhere")
    file.symlink_to(tmp_path / "elsewhere")
    anew()
    assert len(anew.loads) == 2


@pytest.mark.parametrize(
    "harm",
    [lambda b: b"", lambda b: b[: len(b) // 2], lambda b: b"not a cache", lambda b: b + b"x"],
    ids=["empty", "torn", "foreign", "longer"],
)
def test_a_torn_file_is_made_anew(anew, tmp_path, harm):
    anew()
    file = next((tmp_path / "cache").glob("*.knowledge"))
    file.write_bytes(harm(file.read_bytes()))
    assert "conductor-125-percent" in anew().rules
    assert len(anew.loads) == 2


def test_no_cache_where_none_is_wanted(anew, monkeypatch):
    monkeypatch.setenv("WHYWIRE_CACHE", "off")
    anew()
    anew()
    assert len(anew.loads) == 2


# ---- a job's file, kept as it was read


@pytest.fixture
def job(tmp_path, monkeypatch):
    """Read a job's file as a command does; how often YAML was read is counted."""
    monkeypatch.setenv("WHYWIRE_CACHE", str(tmp_path / "cache"))
    reads, real = [], reading.read_yaml
    monkeypatch.setattr(reading, "read_yaml", lambda *a: reads.append(a) or real(*a))
    path = tmp_path / "kiln.yaml"
    path.write_bytes((JOBS / "kiln.yaml").read_bytes())
    return path, lambda: body_of(path)[0], reads


def places(v) -> list:
    """Every piece of what was read, in order, and where it stands."""
    inner = (
        [p for k, x in v.items() for p in [*places(k), *places(x)]]
        if isinstance(v, dict)
        else [p for x in v for p in places(x)]
        if isinstance(v, list)
        else [str(v), v.quoted]
    )
    return [type(v).__name__, tuple(place_of(v)), inner]


def test_a_job_is_read_once_and_every_piece_keeps_its_place(job):
    _, read, reads = job
    one, two = read(), read()
    assert len(reads) == 1 and places(one) == places(two) and len(str(places(one))) > 2_000


def test_a_job_whose_bytes_changed_is_read_again(job):
    path, read, reads = job
    read()
    state = path.stat()
    path.write_bytes(path.read_bytes().replace(b"48 A", b"47 A"))  # as long and as old as it was
    os.utime(path, ns=(state.st_atime_ns, state.st_mtime_ns))
    assert str(read()["circuits"]["kiln"]["load"]["current"]) == "47 A" and len(reads) == 2


@pytest.mark.parametrize("harm", ["torn", "link", "others may write"])
def test_a_kept_job_that_is_not_safe_is_read_again(job, tmp_path, harm):
    _, read, reads = job
    one = read()
    file = next((tmp_path / "cache").glob("*.job"))
    if harm == "torn":
        file.write_bytes(file.read_bytes()[:-9])
    elif harm == "link":
        shutil.move(file, tmp_path / "elsewhere")
        file.symlink_to(tmp_path / "elsewhere")
    else:
        file.chmod(0o622)
    assert places(read()) == places(one) and len(reads) == 2


def with_places(v):
    """What was read, with the place of every piece."""
    inside = (
        {k: (place_of(k), with_places(x)) for k, x in v.items()}
        if isinstance(v, dict)
        else [with_places(x) for x in v]
        if isinstance(v, list)
        else str(v)
    )
    return place_of(v), inside


def test_without_examples_every_word_of_the_base_is_read_and_stands_where_it_did(fresh):
    bare = library.load(examples=False)
    assert bare.digest == fresh.digest
    assert (
        not any("examples" in r.d for r in bare.rules.values())
        and sum("examples" in r.d for r in fresh.rules.values()) > 600
    )
    for sort in ("rules", "absent", "tables"):
        whole = getattr(fresh, sort)
        assert getattr(bare, sort).keys() == whole.keys()
        for name, r in getattr(bare, sort).items():
            d = whole[name].d.copy()
            d.pop("examples", None)
            assert with_places(r.d)[1] == with_places(d)[1], name
    done = [(action.text, action.about, action.cost, action.at) for action in bare.actions]
    assert done and done == [(a.text, a.about, a.cost, a.at) for a in fresh.actions]
    assert {
        n: with_places({k: v for k, v in d.items() if k != "examples"})[1]
        for n, d in fresh.value_items.items()
    } == {n: with_places(d)[1] for n, d in bare.value_items.items()}


def test_the_examples_of_a_pack_over_the_base_are_read_at_every_start(pack):
    (pack / "wire.yaml").write_text(
        RULE + "  examples:\n    - {given: {size: 6 AWG}, answer: passes\n"
    )
    with pytest.raises(Faults) as e:
        cache.load((str(pack),))
    assert "not-closed" in {f.code for f in e.value.items}
