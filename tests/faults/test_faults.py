"""Bad input: every slip is told with its place, what is wrong and what to do. Each file here is one
slip, and the `.txt` beside it the exact message. WHYWIRE_UPDATE=1 writes the messages anew: read
the diff.

Jobs are read against the whole base; packs are laid beside a base small enough to load at once
(kb/), edits beside one small enough to amend (edits/kb/), where the jobs of places/ are too. A file
is named after the code it gives, and every code has a file.
"""

import os
import re
import resource
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from whywire.engine import load
from whywire.engine.basics.errors import Fault, Faults, suggest
from whywire.engine.basics.reading import read_yaml
from whywire.engine.checking.examples import run_examples
from whywire.engine.comparing import amendments
from whywire.engine.law import library, places
from whywire.engine.running.job import read_job

HERE = Path(__file__).resolve().parent
JOBS = sorted((HERE / "jobs").glob("*.yaml"))
PACKS = sorted((HERE / "packs").glob("*.yaml"))
EDITS = sorted((HERE / "edits").glob("*.yaml"))
PLACES = sorted((HERE / "places").glob("*.yaml"))
HEAD = "pack: mine\ntitle: Mine\nauthority: The Board\ncite: Ordinance 1\nlayer: county\n"


def compare(path: Path, faults: Faults, here: str) -> None:
    said = "".join(f"{f.code} {f}\n" for f in faults.items).replace(here, "")
    txt = path.with_suffix(".txt")
    if os.environ.get("WHYWIRE_UPDATE"):
        txt.write_text(said)
    assert said == txt.read_text()
    for f in faults.items:
        assert f.todo, f"{path.name}: {f.code} does not say what to do"


@pytest.mark.parametrize("path", JOBS, ids=lambda p: p.stem)
def test_a_broken_job(path):
    with pytest.raises(Faults) as caught:
        read_job(path, load(), path.name)
    compare(path, caught.value, "")


@pytest.mark.parametrize("path", PACKS, ids=lambda p: p.stem)
def test_a_broken_pack(path, tmp_path, monkeypatch):
    monkeypatch.setattr(library, "KB", HERE / "kb")
    monkeypatch.chdir(tmp_path)
    pack = tmp_path / "pack"
    pack.mkdir()
    if not path.read_text().startswith("pack:") or path.stem == "two-heads":
        (pack / "pack.yaml").write_text("pack: mine\n")
    shutil.copy(path, pack / "trial.yaml")
    if path.with_suffix(".csv").exists():
        shutil.copy(path.with_suffix(".csv"), pack / "trial.csv")
    if path.with_suffix(".words").exists():
        shutil.copy(path.with_suffix(".words"), pack / "words.yaml")
    with pytest.raises(Faults) as caught:
        k = library.load((pack,), "2023")
        run_examples(k)[1].stop()
    compare(path, caught.value, f"{tmp_path}/")


@pytest.fixture
def amendable(tmp_path, monkeypatch):
    """A base and two places small enough to amend."""
    monkeypatch.delenv("WHYWIRE_PACKS", raising=False)
    for module in (library, places):
        monkeypatch.setattr(module, "KB", HERE / "edits" / "kb")
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize("path", EDITS, ids=lambda p: p.stem)
def test_a_broken_edit(path, tmp_path, amendable):
    pack = tmp_path / "pack"
    pack.mkdir()
    whole = path.read_text().startswith("pack:")
    (pack / "pack.yaml").write_text(path.read_text() if whole else HEAD)
    if not whole:
        shutil.copy(path, pack / "trial.yaml")
    with pytest.raises(Faults) as caught:
        amendments.review(pack).faults.stop()
    compare(path, caught.value, f"{tmp_path}/")


@pytest.mark.parametrize("path", PLACES, ids=lambda p: p.stem)
def test_a_job_in_a_place(path, amendable):
    with pytest.raises(Faults) as caught:
        places.in_force(read_yaml(path.read_text(), path.name), path.name)
    compare(path, caught.value, "")


def test_packs_that_lie_within_each_other(tmp_path, amendable, monkeypatch):
    for name, other in (("one", "two"), ("two", "one")):
        (tmp_path / name).mkdir()
        (tmp_path / name / "pack.yaml").write_text(
            HEAD.replace("mine", name) + f"place: {name}\nwithin: {other}\n"
        )
    monkeypatch.setenv("WHYWIRE_PACKS", str(tmp_path))
    with pytest.raises(Faults) as caught:
        places.in_force(
            {"job": "x", "edition": "2023", "place": "one", "permit date": "2026-01-01"}
        )
    assert [f.code for f in caught.value.items] == ["within-circle"] and caught.value.items[0].todo


def codes(path: Path) -> list[str]:
    return [
        line.split(" ", 1)[0]
        for line in path.read_text().splitlines()
        if line and not line.startswith(" ")
    ]


OTHERWISE_NAMED = {
    "not-finite": "not-a-quantity",
    "only-a-comment": "empty-file",
    "no-header": "empty-table",
}
# What needs no broken text but a broken file, folder or library: tested below, and where that is
# tested.
# tests/packs/test_hostile.py
NOT_A_TEXT = {
    "is-a-directory",
    "not-a-file",
    "file-too-large",
    "not-readable",
    "no-such-pack",
    "no-pack-head",
    "not-read",
    "link-unclear",
    "durable-limit",
    "within-circle",
    "belief-form",
    "belief-key",
    "belief-lacks",
    "question-form",
    "question-key",
    "question-word",
    "question-draw",
    "no-such-question",
    "no-such-belief",
    "too-few-questions",
    "not-an-answer",  # tests/quiz
    "law-form",
    "no-such-place",  # tests/packs/test_compare.py
    "within-layer",  # tests/packs/test_together.py
    "no-second-chainer",  # tests/engine/test_second.py
    "is-there",
    "no-record",
    "record-form",  # tests/work/test_record.py
    "not-ours",
    "not-writable",  # tests/cli/test_book.py
    "pack-name",
    "place-name",
    "in-the-way",
    "no-form",  # tests/writing
    "pack-too-large",
    "rule-too-long",
    "too-many-rows",
    "too-many-cases",
    "choice-without-row",  # tests/engine/test_gaps.py
    "no-card",
    "which-circuit",  # tests/asking
    "no-prices",  # tests/work, as are those of a price file and of the commands that read one
    "no-such-part",
    "no-such-task",
    "not-a-habit",
    "work-negative",
    "circle-of-tasks",
    "options-form",
    "price-column",
    "price-comma",
    "price-currency",
    "price-date",
    "price-form",
    "price-margin",
    "price-negative",
    "price-old",
    "price-pack",
    "price-share",
    "price-tax",
    "price-twice",
    "price-unit",
    "rate-missing",
    # of whole packs, published files and two editions (tests/packs/test_new_verbs.py, test_diff.py)
    "adopt-beside",
    "published-changed",
    "published-form",
    "there-already",
    "within-not-fit",
}


def test_a_file_is_named_after_its_code():
    misnamed = []
    for path in [*JOBS, *PACKS, *EDITS, *PLACES]:
        code = OTHERWISE_NAMED.get(path.stem)
        said = codes(path.with_suffix(".txt"))
        if not (code in said if code else any(path.stem.startswith(c) for c in said)):
            misnamed.append((path.name, said))
    assert misnamed == []


def test_every_code_has_its_file():
    """The codes are read off the engine's source, so that a new one asks for a broken file of its
    own.
    """
    said = {c for p in HERE.glob("*/*.txt") for c in codes(p)}
    written = set()
    for p in (HERE.parents[1] / "engine").rglob("*.py"):
        text = p.read_text()
        written |= set(
            re.findall(
                r"""(?:Fault\(|aults\.add\(|self\.fault\(|return \(?|Form\(\s*"[^"]*",)\s*"""
                r""""([a-z0-9]+(?:-[a-z0-9]+)+"""
                r"""|tab|tag|circle|edition"""
                r"""|negative|expected|comment|indentation|unsorted|stale|relieves)",""",
                text,
            )
        )
    written |= {"words-try", "words-means"}  # handed on by name
    assert len(written) >= 110 and said <= written
    assert written - said <= NOT_A_TEXT, sorted(written - said - NOT_A_TEXT)


def test_the_small_base_is_sound(monkeypatch):
    monkeypatch.setattr(library, "KB", HERE / "kb")
    assert len(library.load((), "2023").rules) == 2


def test_a_pack_that_is_a_link_to_elsewhere_is_not_read(tmp_path, monkeypatch):
    monkeypatch.setattr(library, "KB", HERE / "kb")
    (tmp_path / "secret.csv").write_text("size,ampacity\n14 AWG,15\n")
    pack = tmp_path / "pack"
    pack.mkdir()
    (pack / "pack.yaml").write_text("pack: mine\n")
    (pack / "trial.yaml").write_text(
        "- table: trial\n  says: x\n  practice: made up\n  file: trial.csv\n  keys: {size: exact}\n"
        "  values: {ampacity: A}\n"
    )
    (pack / "trial.csv").symlink_to(tmp_path / "secret.csv")
    with pytest.raises(Faults, match="link to elsewhere"):
        library.load((pack,), "2023")
    (pack / "trial.csv").unlink()
    (tmp_path / "secret.yaml").write_text((pack / "trial.yaml").read_text())
    (pack / "trial.yaml").unlink()
    (pack / "trial.yaml").symlink_to(tmp_path / "secret.yaml")
    with pytest.raises(Faults, match="reads nothing through links"):
        library.load((pack,), "2023")
    (pack / "trial.yaml").unlink()
    (tmp_path / "elsewhere").mkdir()
    (pack / "rules").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(Faults, match="reads nothing through links"):
        library.load((pack,), "2023")
    with pytest.raises(Faults, match="no such folder"):
        library.load((tmp_path / "none",), "2023")


def test_a_file_that_would_be_passed_over_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(library, "KB", HERE / "kb")
    pack = tmp_path / "pack"
    pack.mkdir()
    (pack / "pack.yaml").write_text("pack: mine\n")
    (pack / "rules.yml").write_text("- rule: x\n")
    (pack / "MORE.YAML").write_text("- rule: x\n")
    with pytest.raises(Faults) as caught:
        library.load((pack,), "2023")
    assert [f.code for f in caught.value.items] == ["not-read", "not-read"] and "rules.yaml" in str(
        caught.value
    )
    (pack / "rules.yml").unlink()
    (pack / "MORE.YAML").unlink()
    (pack / "pack.yaml").unlink()
    with pytest.raises(Faults) as caught:
        library.load((pack,), "2023")
    assert [f.code for f in caught.value.items] == ["no-pack-head"]


def test_one_broken_file_does_not_hide_the_next(tmp_path, monkeypatch):
    monkeypatch.setattr(library, "KB", HERE / "kb")
    for n, name in enumerate(
        ("rule-form-list", "unknown-word", "value-form", "table-key", "action-key")
    ):
        (tmp_path / f"{name}.yaml").write_text(
            (HERE / "packs" / f"{name}.yaml")
            .read_text()
            .replace(
                ": trial\n",
                (
                    f": trial {'abcdef'[n]}\n"
                    if "rule" not in name and "word" not in name
                    else f": trial-{'abcdef'[n]}\n"
                ),
            )
        )
    shutil.copy(HERE / "packs" / "table-key.csv", tmp_path / "trial.csv")
    (tmp_path / "pack.yaml").write_text("pack: mine\ncolour: x\n")
    with pytest.raises(Faults) as caught:
        library.load((tmp_path,), "2023")
    assert {f.code for f in caught.value.items} >= {
        "rule-form",
        "unknown-word",
        "value-form",
        "table-key",
        "pack-key",
    }
    (tmp_path / "tab.yaml").write_text("\t- rule: x\n")
    shutil.copy(HERE / "packs" / "words-key.yaml", tmp_path / "words.yaml")
    with pytest.raises(Faults) as caught:  # without its words nothing else can be judged
        library.load((tmp_path,), "2023")
    assert {f.code for f in caught.value.items} == {"tab", "words-key", "pack-key"}


def test_a_link_that_could_be_two_things(tmp_path, monkeypatch):
    monkeypatch.setattr(library, "KB", HERE / "kb")
    pack = tmp_path / "pack"
    pack.mkdir()
    (pack / "pack.yaml").write_text("pack: mine\n")
    (pack / "words.yaml").write_text("words:\n  load:\n    beside: {is: link segment}\n")
    job = tmp_path / "job.yaml"
    job.write_text(
        "circuits:\n  a: {segments: {attic: {}}, load: {beside: attic}}\n  b: {segments: {attic:"
        " {}}, load: {beside: circuits.b.segments.attic}}\n"
    )
    with pytest.raises(Faults) as caught:
        read_job(job, library.load((pack,), "2023"), "job.yaml")
    assert (
        str(caught.value) == 'job.yaml:2:45: "attic" could be circuits.a.segments.attic or'
        " circuits.b.segments.attic\n    write the whole name"
    )


# ---- in a process of its own, within 300 MB and two seconds of processor -------------------------

SMALL_JOB = "job: x\ncircuits: {kiln: {length: 3 ft}}\n"


@pytest.fixture(scope="module")
def cache(tmp_path_factory):
    """A cache that holds both bases already: what is measured is the broken file."""
    folder = tmp_path_factory.mktemp("cache")
    folder.chmod(0o700)
    job = folder / "job.yaml"
    job.write_text(SMALL_JOB)
    for kb in ("", str(HERE / "kb")):
        run(["inspect", str(job), "--chainer", "plain"], folder, kb, limited=False)
    return folder


def run(
    words: list[str], cache: Path, kb: str = "", limited: bool = True
) -> subprocess.CompletedProcess:
    def limits():
        resource.setrlimit(resource.RLIMIT_AS, (300_000_000, 300_000_000))
        resource.setrlimit(resource.RLIMIT_CPU, (2, 2))
        resource.setrlimit(resource.RLIMIT_FSIZE, (10_000_000, 10_000_000))

    env = {**os.environ, "WHYWIRE_CACHE": str(cache)} | ({"WHYWIRE_KB": kb} if kb else {})
    return subprocess.run(
        [sys.executable, "-m", "whywire.cli.main", *words],
        capture_output=True,
        text=True,
        timeout=60,
        env=env,
        preexec_fn=limits if limited else None,
        stdin=subprocess.DEVNULL,
    )


def told(p: subprocess.CompletedProcess, place: str) -> None:
    assert p.returncode == 2 and "Traceback" not in p.stderr and f"{place}:" in p.stderr, (
        p.returncode,
        p.stderr[-500:],
    )
    assert len(p.stderr) < 30_000


BOMB = "".join(
    f"{a}: &{a} [" + ", ".join([f"*{b}"] * 9) + "]\n" for a, b in zip("bcdefghij", "abcdefghi")
)


@pytest.mark.parametrize(
    "make",
    [
        "fifty megabytes",
        "nearly too big",
        "folder",
        "fifo",
        "device",
        "random device",
        "missing",
        "in a file",
        "deep",
        "bomb",
        "many things",
        "many faults",
        "long line",
        "no end",
        "unreadable name",
        "archive",
    ],
)
def test_what_is_no_job_is_told_at_once(make, tmp_path, cache):
    path = tmp_path / "job.yaml"
    if make == "fifty megabytes":
        path.write_text("job: x\n" * 7_000_000)
    elif make == "nearly too big":
        path.write_text("circuits:\n" + "".join(f"  c{n}: {{}}\n" for n in range(40_000)))
    elif make == "folder":
        path.mkdir()
    elif make == "fifo":
        os.mkfifo(path)
    elif make == "device":
        path = Path("/dev/zero")
    elif make == "random device":
        path = Path("/dev/urandom")
    elif make == "in a file":
        path.write_text(SMALL_JOB)
        path = path / "job.yaml"
    elif make == "deep":
        path.write_text("job: " + "[" * 100_000)
    elif make == "bomb":
        path.write_text("a: &a [x, x, x, x, x, x, x, x, x]\n" + BOMB)
    elif make == "many things":
        path.write_text("circuits: {kiln: {segments: [" + "{}, " * 90_000 + "{}]}}\n")
    elif make == "many faults":
        path.write_text(
            "circuits:\n  kiln:\n" + "".join(f"    volt{n}: 240 V\n" for n in range(20_000))
        )
    elif make == "long line":
        path.write_text("circuits: {kiln: {load: {type: " + "x" * 400_000 + "}}}\n")
    elif make == "no end":
        path.write_text('job: "' + "x\n" * 200_000)
    elif make == "unreadable name":
        path = tmp_path / ("x" * 400)
    elif make == "archive":
        path.write_bytes(b"PK\3\4" + b"\0" * 1000)
    told(run(["inspect", str(path), "--chainer", "plain"], cache), str(path))


def pack_with(folder: Path, text: str, csv=None) -> Path:
    folder.mkdir()
    (folder / "pack.yaml").write_text("pack: mine\n")
    (folder / "trial.yaml").write_text(text)
    if csv is not None:
        (folder / "trial.csv").write_bytes(csv)
    return folder


TABLE = (
    "- table: trial\n  says: x\n  practice: made up\n  file: {file}\n  keys: {{size: exact}}\n "
    " values: {{ampacity: A}}\n"
)
RULE = "- rule: trial\n  says: x\n  about: wire\n  practice: made up\n  must: {must}\n"


@pytest.mark.parametrize(
    "make",
    [
        "big table",
        "table is a pipe",
        "table is a device",
        "table is above",
        "table is absolute",
        "table is a link",
        "rules are a pipe",
        "rules are a link",
        "code",
        "bomb",
        "deep line",
        "long line",
        "many rules amiss",
    ],
)
def test_a_pack_runs_no_code_and_reads_nothing_outside_itself(make, tmp_path, cache):
    secret = tmp_path / "secret.csv"
    secret.write_text("size,ampacity\n14 AWG,15\nthe secret,1\n")
    mark = tmp_path / "mark"
    pack, where = tmp_path / "pack", "trial.yaml"
    if make == "big table":
        pack_with(
            pack, TABLE.format(file="trial.csv"), b"size,ampacity\n" + b"14 AWG,15\n" * 5_000_000
        )
        where = "trial.csv"
    elif make.startswith("table is"):
        file = {"table is above": "../secret.csv", "table is absolute": str(secret)}.get(
            make, "trial.csv"
        )
        pack_with(pack, TABLE.format(file=file))
        if make == "table is a pipe":
            os.mkfifo(pack / "trial.csv")
            where = "trial.csv"
        elif make in ("table is a device", "table is a link"):
            (pack / "trial.csv").symlink_to("/dev/zero" if "device" in make else secret)
    elif make == "rules are a pipe":
        pack_with(pack, RULE.format(must="ampacity >= 1 A"))
        os.mkfifo(pack / "more.yaml")
        where = "more.yaml"
    elif make == "rules are a link":
        pack_with(pack, RULE.format(must="ampacity >= 1 A"))
        (pack / "more.yaml").symlink_to(secret)
        where = "more.yaml"
    elif make == "code":
        pack_with(
            pack,
            f"- rule: !!python/object/apply:os.system ['touch {mark}']\n- rule:"
            " !!python/name:os.system x\n",
        )
    elif make == "bomb":
        pack_with(
            pack,
            "words:\n"
            + "".join(
                "  " + line + "\n"
                for line in ("a: &a [x, x, x, x, x, x, x, x, x]\n" + BOMB).splitlines()
            ),
        )
    elif make == "deep line":
        pack_with(pack, RULE.format(must="ampacity >= " + "(" * 400 + "1 A" + ")" * 400))
    elif make == "long line":
        pack_with(pack, RULE.format(must="not " * 50_000 + "ampacity >= 1 A"))
    elif make == "many rules amiss":
        pack_with(
            pack,
            "".join(
                RULE.format(must="ampacty >= 1 A").replace("trial", "trial-" + "x" * n)
                for n in range(1, 300)
            ),
        )
    p = run(["check", str(pack)], cache, str(HERE / "kb"))
    told(p, str(pack / where))
    assert "the secret" not in p.stdout + p.stderr and not mark.exists()


# ---- what is offered in its place ----------------------------------------------------------------


@pytest.mark.parametrize(
    "word, known",
    [
        ("ungrounded", ["ground", "grounded"]),
        ("grounded", ["ungrounded"]),
        ("ground", ["ungrounded"]),
        ("continuous load", ["noncontinuous load"]),
        ("noncontinuous", ["continuous"]),
        ("bearing", ["nonbearing", "framing"]),
        ("time-delay fuse", ["nontime-delay fuse", "fuse"]),
        ("attached", ["detached"]),
        ("internal clamp", ["external clamps"]),
        ("maximum current", ["minimum current"]),
        ("RLA", ["LRA", "MCA"]),  # another abbreviation
        ("ENT", ["EMT"]),
        ("THWN", ["THHN"]),
        ("PVC 8", ["PVC 80", "PVC 40"]),  # another number
        ("13 AWG", ["14 AWG", "12 AWG"]),
        ("breaker", ["breaker with lock-off"]),  # says more
        ("depth of the trench", ["depth"]),  # says less
    ],
)
def test_what_means_something_else_is_never_offered(word, known):
    assert "did you mean" not in suggest(word, known)


@pytest.mark.parametrize(
    "word, known, meant",
    [
        ("lenght", ["length", "load"], "length"),
        ("Volts", ["volts"], "volts"),
        ("breakers", ["breaker", "load"], "breaker"),
        ("pass", ["passes", "fails"], "passes"),
        ("setback", ["set-back", "step back"], "set-back"),
    ],
)
def test_a_misspelling_is_offered_what_was_meant(word, known, meant):
    assert suggest(word, known) == f'did you mean "{meant}"?'


@pytest.mark.parametrize(
    "word, known, asked",
    [
        (
            "fuse",
            ["breaker", "time-delay fuse", "nontime-delay fuse"],
            ["nontime-delay fuse", "time-delay fuse"],
        ),
        (
            "bearing",
            ["bearing or exterior stud", "doubled bearing stud", "nonbearing stud"],
            ["bearing or exterior stud", "doubled bearing stud"],
        ),
        ("givs", ["give", "gives", "given"], ["give", "gives"]),
    ],
)
def test_what_is_a_part_of_several_asks_which(word, known, asked):
    assert suggest(word, known) == "which is it: " + ", ".join(f'"{a}"' for a in asked) + "?"


def test_a_long_list_is_cut_and_counted():
    assert (
        suggest("zzz", [f"name {n}" for n in range(30)]).endswith("and 10 more")
        and suggest("zzz", []) == ""
    )


def test_a_fault_never_repeats_a_whole_file():
    assert len(str(Fault("x", library.Place("job"), "y" * 100_000))) < 600


# ---- what a word processor does to a file --------------------------------------------------------


@pytest.mark.parametrize(
    "text", ["\ufeffjob: x\n", "job: x\r\n", "job:\u00a0x\u200b\n", "job:\u2009\u202fx\n"]
)
def test_harmless_traces_of_a_word_processor_are_read_as_plain_text(text, tmp_path):
    path = tmp_path / "job.yaml"
    path.write_bytes(
        (
            text
            + "circuits: {kiln: {length: “35\u00a0ft”, receptacle: {configuration: 14–30R}, load:"
            " {type: ‘kiln’, current: 1\u200b5 A}}}\n"
        ).encode()
    )
    job = read_job(path, load())
    assert job.title == "x"
    kiln = job.things["circuits.kiln"]
    assert (
        kiln[0].told["length"] == 35 * 12
        and job.things["circuits.kiln.load"][0].told["current"] == 15
    )
    assert (
        job.things["circuits.kiln.receptacle"][0].told["configuration"] == "14-30"
        and job.things["circuits.kiln.load"][0].told["type"] == "kiln"
    )
