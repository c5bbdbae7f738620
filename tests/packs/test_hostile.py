"""A hostile pack can do no harm: each is told in a clear message (exit 2) or answered rightly,
within measured limits.

Each runs in a process of its own, held to 300 MB of memory and five seconds of processor by the
operating system; over that it dies, and the test fails. The limits of what is read are in
engine/basics/limits.py, and nowhere else.
"""

import json
import os
import re
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from whywire.engine.basics import limits

ROOT = Path(__file__).resolve().parents[2]
SMALL = ROOT / "tests" / "faults" / "edits" / "kb"
BARE = "pack: mine\n"
HEAD = "pack: mine\ntitle: Mine\nauthority: The Board\ncite: Ordinance 1\nlayer: county\n"


def run(words, folder: Path, kb: Path | None = SMALL) -> subprocess.CompletedProcess:
    def held():
        resource.setrlimit(resource.RLIMIT_AS, (300_000_000, 300_000_000))
        resource.setrlimit(resource.RLIMIT_CPU, (5, 5))
        resource.setrlimit(resource.RLIMIT_FSIZE, (10_000_000, 10_000_000))

    env = {**os.environ, "WHYWIRE_CACHE": str(folder / "cache"), "TERM": "xterm"} | (
        {"WHYWIRE_KB": str(kb)} if kb else {}
    )
    return subprocess.run(
        [sys.executable, "-m", "whywire.cli.main", *map(str, words)],
        capture_output=True,
        env=env,
        cwd=folder,
        preexec_fn=held,
        stdin=subprocess.DEVNULL,
        timeout=120,
    )


def clean(p: subprocess.CompletedProcess) -> tuple[str, str]:
    """What was printed: no traceback, nothing that acts on a terminal, no more than a person could
    look through.
    """
    out, err = p.stdout.decode("utf-8"), p.stderr.decode("utf-8")
    assert p.returncode in (0, 1, 2, 3), (p.returncode, err[-400:])
    assert "Traceback" not in err and not re.search(
        "[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", out + err
    ), err[-400:]
    assert len(err) < 30_000
    return out, err


def told(p: subprocess.CompletedProcess, *words: str) -> str:
    """That it was refused, with *words* in the message and something to do."""
    out, err = clean(p)
    assert p.returncode == 2 and re.search(r":\d+:\d+: ", err) and "\n    " in err, (
        p.returncode,
        out[-200:],
        err[-400:],
    )
    for word in words:
        assert word in err, err[-600:]
    return err


def laid(folder: Path, files: dict, head: str = BARE) -> Path:
    pack = folder / "pack"
    pack.mkdir()
    (pack / "pack.yaml").write_text(head)
    for name, text in files.items():
        path = pack / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return pack


def checked(folder: Path, files: dict, head: str = BARE) -> subprocess.CompletedProcess:
    return run(["check", laid(folder, files, head)], folder)


def rule(must: str = "current <= 9 A", name: str = "trial", more: str = "") -> str:
    return (
        f"- rule: {name}\n  says: x\n  about: circuit\n  practice: made up\n  must: {must}\n{more}"
    )


def table(file: str = "t.csv") -> str:
    return (
        f"- table: trial\n  says: x\n  practice: made up\n  file: {file}\n  keys: {{size: exact}}\n"
        "  values: {amps: A}\n"
    )


def names(n: int) -> list[str]:
    letters = "abcdefghij"
    return ["r-" + "".join(letters[int(d)] for d in f"{i:06d}") for i in range(n)]


SECRET = "size,amps\n14 AWG,15\nthe secret,1\n"


# ---- out of the folder ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    "file",
    [
        "../secret.csv",
        "{here}/secret.csv",
        "/dev/zero",
        "sub/../../secret.csv",
        "....//secret.csv",
        "..\\secret.csv",
        "secret.csv\u202e",
        "~/secret.csv",
        "file:///etc/passwd",
        ".",
    ],
)
def test_a_table_lies_in_the_folder_of_its_pack(file, tmp_path):
    (tmp_path / "secret.csv").write_text(SECRET)
    err = told(
        checked(
            tmp_path,
            {"t.yaml": table('"' + file.format(here=tmp_path).replace("\\", "\\\\") + '"')},
        )
    )
    assert "the secret" not in err and (
        "is not a CSV beside this file" in err or "cannot be seen" in err
    )


@pytest.mark.parametrize(
    "make",
    [
        "link to a file",
        "link to a device",
        "link to a folder",
        "pipe",
        "folder",
        "link of a whole folder",
        "rules behind a link",
        "rules in a pipe",
        "rules a folder",
        "a pack that is a device",
    ],
)
def test_a_pack_reads_files_and_nothing_else(make, tmp_path):
    (tmp_path / "secret.csv").write_text(SECRET)
    (tmp_path / "secret.yaml").write_text(rule(name="the-secret"))
    (tmp_path / "secrets").mkdir()
    pack = laid(tmp_path, {"t.yaml": table()})
    csv = pack / "t.csv"
    if make == "link to a file":
        csv.symlink_to(tmp_path / "secret.csv")
    elif make == "link to a device":
        csv.symlink_to("/dev/zero")
    elif make == "link to a folder":
        csv.symlink_to(tmp_path / "secrets")
    elif make == "pipe":
        os.mkfifo(csv)
    elif make == "folder":
        csv.mkdir()
    elif make == "link of a whole folder":
        csv.write_text(SECRET)
        (pack / "more").symlink_to("/")
    elif make == "rules behind a link":
        csv.write_text("size,amps\n14 AWG,15\n")
        (pack / "more.yaml").symlink_to(tmp_path / "secret.yaml")
    elif make == "rules in a pipe":
        csv.write_text("size,amps\n14 AWG,15\n")
        os.mkfifo(pack / "more.yaml")
    elif make == "rules a folder":
        csv.write_text("size,amps\n14 AWG,15\n")
        (pack / "more.yaml").mkdir()
    elif make == "a pack that is a device":
        pack = Path("/dev")
    err = told(run(["check", pack], tmp_path))
    assert "the secret" not in err and "the-secret" not in err


def test_a_table_may_not_be_had_by_an_edit_from_elsewhere(tmp_path):
    (tmp_path / "secret.csv").write_text(SECRET)
    for n, edit in enumerate(
        (
            "- amend: ../secret.csv\n",
            "- amend: sizes\n  file: ../secret.csv\n",
            (
                "- {add: trial, cite: §1, reason: x, says: x, about: circuit, file:"
                " ../../secret.csv, must: current <= 9 A}\n"
            ),
        )
    ):
        (tmp_path / str(n)).mkdir()
        assert "the secret" not in told(checked(tmp_path / str(n), {"t.yaml": edit}, HEAD))


def test_the_folder_of_another_thing_is_no_pack(tmp_path):
    assert "more than" in told(run(["check", "/usr"], tmp_path))


# ---- YAML ----------------------------------------------------------------------------------------

BOMB = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{a}: &{a} [" + ", ".join([f"*{b}"] * 9) + "]\n" for a, b in zip("bcdefghij", "abcdefghi")
)


@pytest.mark.parametrize(
    "text, word",
    [
        ("- rule: !!python/object/apply:os.system ['touch {mark}']\n", "tag"),
        ("- rule: !!python/name:os.system x\n", "tag"),
        ("- !!python/object/new:subprocess.Popen [[touch, '{mark}']]\n", "tag"),
        ("- rule: !!binary aGVsbG8=\n", "tag"),
        ("!!set {{a, b}}\n", "tag"),
        ("- rule: !include /etc/passwd\n", "tag"),
        ("words:\n" + "".join("  " + line + "\n" for line in BOMB.splitlines()), "pieces"),
        ("- &a [*a]\n", ""),
        ("- {{<<: {{rule: x}}}}\n", "merge"),
        ("[" * 100_000, "deep"),
        ("- rule: {{a: " * 3000, ""),
        ("{{? [a] : b}}\n", ""),
        ("--- \n- rule: x\n--- \n- rule: y\n", "document"),
        ("%YAML 9.9\n---\n- rule: x\n", ""),
        ('- rule: "a\\u001b[31mb"\n', "cannot be seen"),
        ('- rule: "a\\0b"\n', "cannot be seen"),
        ('- rule: "a\\u202eb"\n', "cannot be seen"),
        ('- rule: "a\\x9bb"\n', "cannot be seen"),
    ],
    ids=lambda v: re.sub(r"\W+", "-", str(v)[:30]),
)
def test_yaml_makes_text_and_nothing_else(text, word, tmp_path):
    mark = tmp_path / "mark"
    told(
        checked(
            tmp_path,
            {"t.yaml": text.replace("{mark}", str(mark)).replace("{{", "{").replace("}}", "}")},
        ),
        word,
    )
    assert not mark.exists()


@pytest.mark.parametrize(
    "data, word",
    [
        (b"- rule: a\0b\n", "not text"),
        (rule().encode("utf-16"), "UTF-16"),
        (rule().encode("utf-32"), "UTF-32"),
        (b"- rule: \xff\xfe\n", "not UTF-8"),
        (b"PK\3\4" + b"\0" * 900, "archive"),
        (b"- rule: a\x1b[2Jb\n", "cannot be seen"),
        ("- rule: a\u202eb\n".encode(), "cannot be seen"),
        (b"- rule: \xed\xa0\x80\n", "not UTF-8"),
        (b"- rule: a\x7fb\n", "cannot be seen"),
    ],
)
def test_bytes_that_are_no_plain_text(data, word, tmp_path):
    told(checked(tmp_path, {"t.yaml": data}), word)


def test_a_mark_at_the_head_of_a_file_is_read_as_nothing(tmp_path):
    p = checked(
        tmp_path,
        {
            "t.yaml": (
                b"\xef\xbb\xbf"
                + rule(more="  examples:\n    - {given: {current: 9 A}, answer: passes}\n").encode()
            )
        },
    )
    # read; it lacks the other examples
    assert "1 examples" not in clean(p)[1] and p.returncode == 1
    assert "trial lacks" in clean(p)[0]


@pytest.mark.parametrize(
    "data, word",
    [
        (b"size,amps\n14 AWG,15\nx\x1b[31m,1\n", "cannot be seen"),
        (SECRET.encode("utf-16"), "UTF-16"),
        (b"size,amps\n14\0,1\n", "not text"),
        ("size,amps\nx\u202e,1\n".encode(), "cannot be seen"),
        (b'size,amps\n"' + b"x" * 200_000 + b'",1\n', "no table"),
        (b"size,amps\n14 AWG,1e999999\n", "plain number"),
        (b"size,amps\n14 AWG," + b"9" * 100_000 + b"\n", "characters"),
    ],
)
def test_a_table_that_is_no_plain_text(data, word, tmp_path):
    told(checked(tmp_path, {"t.yaml": table(), "t.csv": data}), word)


# ---- numbers -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "must",
    [
        "current <= 10^1000000 A",
        "current <= 1e999999 A",
        "current <= 1" + "0" * 900 + " A",
        "current <= 1" + "0" * 100_000 + " A",
        "current rounded up to 0." + "0" * 500 + "1 A >= 1 A",
        "current >= square root to 999999999 places of (2 A × 2 A)",
        "current ÷ 0 >= 1 A",
        "current rounded up to 0 A >= 1 A",
        "current <= inf A",
        "current <= nan A",
        "current <= 0x10 A",
    ],
)
def test_numbers_nobody_could_measure(must, tmp_path):
    told(checked(tmp_path, {"t.yaml": rule(must)}))


@pytest.mark.parametrize(
    "must, answer",
    [
        ("current × " + " × ".join(["999999999999"] * 60) + " >= 1 A", "passes"),
        ("current ÷ " + " ÷ ".join(["7"] * 200) + " >= 1 A", "fails"),
        ("current × " + " × ".join(["9" * 38] * 20) + " >= 1 A", "passes"),
        ("current rounded up to 0." + "0" * 30 + "1 A >= 1 A", "passes"),
        (
            "square root to 12 places of (current × current × "
            + " × ".join(["9" * 38] * 10)
            + ") >= 1 A",
            "passes",
        ),
    ],
)
def test_arithmetic_at_the_end_of_a_line_is_exact(must, answer, tmp_path):
    p = checked(
        tmp_path,
        {
            "t.yaml": rule(
                must, more=f"  examples:\n    - {{given: {{current: 3 A}}, answer: {answer}}}\n"
            )
        },
    )
    # it lacks examples, and the one it has is right
    assert p.returncode == 1 and "0 come out otherwise" in clean(p)[0]


@pytest.mark.parametrize(
    "said", ["1e999999 A", "10^1000000 A", "9" * 100_000 + " A", "1/0 A", "-inf A", "nan"]
)
def test_values_nobody_could_measure(said, tmp_path):
    told(checked(tmp_path, {"t.yaml": f"- value: big\n  says: x\n  practice: x\n  is: {said}\n"}))
    (tmp_path / "set").mkdir()
    told(
        checked(
            tmp_path / "set",
            {"t.yaml": f"- set: spare share\n  cite: §1\n  reason: x\n  to: {said}\n"},
            HEAD,
        )
    )


# ---- too much ------------------------------------------------------------------------------------


def chain(n: int) -> str:
    ns = names(n)
    return rule(name=ns[0]) + "".join(
        f"- rule: {b}\n  says: x\n  about: circuit\n  practice: x\n  exception to: {a}\n  when:"
        f" current > {i} A\n"
        for i, (a, b) in enumerate(zip(ns, ns[1:]))
    )


def in_files(text: str, n: int) -> dict[str, str]:
    """Items parted into *n* files."""
    items = re.split(r"(?m)^(?=- )", text)[1:]
    size = -(-len(items) // n)
    return {
        f"t{i}.yaml": "".join(items[i * size : (i + 1) * size])
        for i in range(n)
        if items[i * size : (i + 1) * size]
    }


def edits(n: int) -> str:
    return "".join(
        f"- amend: room\n  cite: §{i}\n  reason: x\n  strike: {36 + i} in\n  insert: {37 + i} in\n "
        f" says: The clear space is at least {37 + i} in deep.\n"
        for i in range(n)
    )


WHEN = "- rule: trial\n  says: x\n  about: circuit\n  practice: x\n  must: current <= 9 A\n  when: "
TOO_MUCH = {
    "brackets": lambda: (
        {"t.yaml": rule("current <= " + "(" * 100_000 + "1 A" + ")" * 100_000)},
        "characters",
    ),
    "brackets in a line": lambda: (
        {"t.yaml": rule("current <= " + "(" * 400 + "1 A" + ")" * 400)},
        "within each other",
    ),
    "not not not": lambda: ({"t.yaml": rule("not " * 240 + "current <= 1 A")}, "within each other"),
    "any of, deep": lambda: (
        {"t.yaml": WHEN + "[{any of: " * 10_000 + "[current <= 1 A]" + "}]" * 10_000 + "\n"},
        "deep",
    ),
    "any of, wide": lambda: (
        {
            "t.yaml": (
                WHEN
                + "\n    - any of:\n"
                + "".join(f"        - current <= {i} A\n" for i in range(10_000))
            )
        },
        "lines",
    ),
    "steps": lambda: (
        {
            "t.yaml": (
                rule()
                + "  steps:\n"
                + "".join(f"    s {n.replace('-', ' ')}: current + 1 A\n" for n in names(3000))
            )
        },
        "lines",
    ),
    "a long line": lambda: (
        {"t.yaml": rule("current <= " + "1 A + " * 80_000 + "1 A")},
        "characters",
    ),
    "a long sentence": lambda: (
        {"t.yaml": rule().replace("says: x", "says: " + "x " * 300_000)},
        "bytes",
    ),
    "exceptions in a chain": lambda: (in_files(chain(5000), 20), "bytes"),
    "exceptions in a short chain": lambda: (in_files(chain(2500), 20), "rules, values"),
    "a circle of exceptions": lambda: (
        {
            "t.yaml": (
                chain(300).replace("must: current <= 9 A\n", f"exception to: {names(300)[-1]}\n", 1)
            )
        },
        "",
    ),
    "rules": lambda: (
        {
            f"t{i}.yaml": "".join(rule(name=n) for n in names(100_000)[i * 4000 : (i + 1) * 4000])
            for i in range(25)
        },
        "bytes",
    ),
    "rules within the bytes": lambda: (
        in_files("".join(f"- rule: {n}\n  must: x\n" for n in names(4000)), 10),
        "",
    ),
    "rows": lambda: (
        {
            "t.yaml": table(),
            "t.csv": "size,amps\n" + "".join(f"{i} AWG,{i}\n" for i in range(1_000_000)),
        },
        "bytes",
    ),
    "rows within the bytes": lambda: (
        {"t.yaml": table(), "t.csv": "size,amps\n" + "".join(f"{i},{i}\n" for i in range(40_000))},
        "rows",
    ),
    "columns": lambda: (
        {"t.yaml": table(), "t.csv": ",".join(f"c{i}" for i in range(50_000)) + "\n"},
        "",
    ),
    "files": lambda: ({f"d{i % 50}/t{i}.yaml": "- rule: x\n" for i in range(5000)}, "files"),
    "folders": lambda: ({"d/" * 300 + "t.yaml": rule()}, "files"),
    "examples": lambda: (
        {
            "t.yaml": (
                rule()
                + "  examples:\n"
                + "".join(
                    f"    - {{given: {{current: {i} A}}, answer: passes}}\n" for i in range(1500)
                )
            )
        },
        "examples",
    ),
    "cases": lambda: (
        {
            "t.yaml": (
                rule()
                + "  examples:\n    - {given: {"
                + ", ".join(
                    f"{f}: {c}"
                    for f, c in (
                        ("current", " | ".join(f"{i} A" for i in range(99))),
                        ("breaker", " | ".join(f"{i} A" for i in range(99))),
                    )
                )
                + "}, answer: passes}\n"
            )
        },
        "cases",
    ),
    "a long name": lambda: ({"t.yaml": rule(name="x" * 200_000)}, "characters"),
    "an edit chain": lambda: ({"t.yaml": edits(1000)}, "edits"),
    "an edit chain of one": lambda: ({"t.yaml": edits(150)}, "times"),
    "a longer edit chain": lambda: ({f"t{i}.yaml": edits(2500) for i in range(5)}, ""),
}


@pytest.mark.parametrize("what", TOO_MUCH)
def test_too_much_is_told_at_once(what, tmp_path):
    files, word = TOO_MUCH[what]()
    told(checked(tmp_path, files, HEAD if "edit" in what else BARE), word)


@pytest.mark.parametrize("what", ["exceptions", "facts", "edits", "rows", "words"])
def test_as_much_as_is_read_is_read_within_the_same(what, tmp_path):
    """At the limits themselves: answered, or faulted for what it says."""
    n = 900
    if what == "exceptions":
        files = in_files(chain(n), 9)
    elif what == "facts":
        ws = [x.replace("-", " ") for x in names(n)]
        files = {
            "words.yaml": "words:\n  circuit:\n" + "".join(f"    {w}: {{is: A}}\n" for w in ws)
        } | in_files(
            "".join(
                f"- rule: g{a.replace(' ', '')}\n  says: x\n  about: circuit\n  practice: x\n "
                f" gives: {{{b}: {a} + 1 A}}\n"
                for a, b in zip(ws, ws[1:])
            ),
            9,
        )
    elif what == "edits":
        files = {"t.yaml": edits(limits.EDITS_OF_ONE)}
    elif what == "rows":
        files = {
            "t.yaml": (
                table().replace("{size: exact}", "{size: next row up count}")
                + rule(
                    "breaker <= amps from trial by size = current ÷ 1 A",
                    "looked-up",
                    more=(
                        "  examples:\n    - {given: {current: 3 A, breaker: 3 A}, answer: passes}\n"
                        "    - {given: {breaker: 4 A}, answer: cannot tell}\n"
                    ),
                )
            ),
            "t.csv": "size,amps\n" + "".join(f"{i},{i}\n" for i in range(limits.ROWS)),
        }
    else:
        files = {
            "words.yaml": (
                "words:\n  circuit:\n"
                + "".join(
                    f"    w {x.replace('-', ' ')}: {{is: a | b, ask: Which?, look: there, effort:"
                    " 1}\n"
                    for x in names(1200)
                )
            )
        }
    p = checked(tmp_path, files, HEAD if what == "edits" else BARE)
    clean(p)
    if what in ("exceptions", "rows", "facts"):
        assert p.returncode == 1 and b"0 come out otherwise" in p.stdout


def test_a_job_of_a_hundred_thousand_circuits(tmp_path):
    job = tmp_path / "job.yaml"
    job.write_text(
        "job: x\nedition: 2023\ncircuits:\n"
        + "".join(f"  c{i}: {{length: 3 ft}}\n" for i in range(100_000))
    )
    told(run(["inspect", job], tmp_path, None), "bytes")
    job.write_text(
        "job: x\nedition: 2023\ncircuits:\n" + "".join(f" c{i}: {{}}\n" for i in range(5000))
    )
    told(run(["inspect", job, "--chainer", "plain"], tmp_path, None), "things")


# ---- what is printed -----------------------------------------------------------------------------

MARKS = (
    "<b onclick=alert(1)>x</b><script>alert(1)</script> & [y](javascript:alert(1)) `z` | *w*"
    " \\u00e9 {braces} [bold red]r[/]"
)


@pytest.mark.parametrize(
    "command",
    [
        ["rules", "trial", "--pack"],
        ["rules", "--json", "trial", "--pack"],
        ["check"],
        ["check", "--json"],
        ["book", "--to", "{here}/book"],
        ["book", "--as", "markdown", "--to", "{here}/book"],
    ],
)
def test_marks_of_other_languages_are_text(command, tmp_path):
    said = MARKS.replace('"', '\\"')
    pack = laid(
        tmp_path,
        {
            "t.yaml": (
                f'- rule: trial\n  says: "{said}"\n  about: circuit\n  practice: "{said}"\n '
                f' because: "{said}"\n  must: current <= 9 A\n'
            )
        },
    )
    words = [w.format(here=tmp_path) for w in command]
    p = run([*words[:1], pack, *words[1:]] if words[0] == "book" else [*words, pack], tmp_path)
    out, _ = clean(p)
    assert p.returncode in (0, 1), p.stderr
    if "--json" in command:
        json.loads(out)
    if command[0] == "book":
        text = next((tmp_path / "book" / "rules").glob("trial.*")).read_text()
        assert "<script" not in text.replace("\\<", "") and "<b " not in text.replace("\\<", "")
    elif command[0] == "rules" and "--json" not in command:
        assert "<script>" in out and "[bold" in out  # as written: a terminal knows neither


def test_a_folder_named_to_act_on_a_terminal(tmp_path):
    evil = tmp_path / "e\x1b]0;owned\x07\x1b[2J\u202ex"
    evil.mkdir()
    laid(evil, {"t\x1b[31m\n.yaml": "- rule: x\n"})
    told(run(["check", evil / "pack"], tmp_path))
    (evil / "pack" / "pack.yaml").unlink()
    told(run(["check", evil / "pack"], tmp_path))
    clean(run(["packs", "--pack", evil / "pack"], tmp_path))
    told(run(["inspect", evil / "job.yaml"], tmp_path))


def test_a_name_that_looks_like_another_is_refused(tmp_path):
    alike = [
        "next-s\u0456ze",
        "n\u0435xt-size",
        "next\u2010size",
        "next-s\u0131ze",
        "\uff4eext-size",
        "next-si\u200bze",
        "ro\u03bfm",
        "next-size\u0301x",
        "\u0440\u043e\u043e\u043c",
    ]
    for n, name in enumerate(alike):
        (tmp_path / str(n)).mkdir()
        p = checked(tmp_path / str(n), {"t.yaml": rule(name=name)})
        # what a word processor leaves behind is taken away, and the name is then the base's own
        told(p, "is already at" if "\u200b" in name else "name")
    for n, text in enumerate(
        (
            "- value: sp\u0430re share\n  says: x\n  practice: x\n  is: 3 %\n",
            (
                "- {table: s\u0456zes, says: x, practice: x, file: t.csv, keys: {size: exact},"
                " values: {amps: A}}\n"
            ),
            "words:\n  circuit:\n    \u0441urrent: {is: A, ask: x, look: x}\n",
        )
    ):
        (tmp_path / f"x{n}").mkdir()
        told(checked(tmp_path / f"x{n}", {"t.yaml": text}), "CYRILLIC")
    for n, edit in enumerate(
        (
            "withdraw: next-s\u0456ze",
            "add: n\u0435xt-size\n  says: x\n  about: circuit\n  must: current <= 9 A",
        )
    ):
        (tmp_path / f"e{n}").mkdir()
        told(checked(tmp_path / f"e{n}", {"t.yaml": f"- {edit}\n  cite: §1\n  reason: x\n"}, HEAD))


def test_an_accent_is_no_disguise(tmp_path):
    assert b"piso-h\xc3\xbamedo" in checked(tmp_path, {"t.yaml": rule(name="piso-húmedo")}).stdout


def test_what_a_pack_writes_is_never_code(tmp_path):
    """Choices and words go into emitted Python: they stay text there."""
    mark = tmp_path / "mark"
    evil = f"x']; __import__('os').system('touch {mark}') #"
    words = (
        f'words:\n  circuit:\n    trick: {{is: "{evil} | b", ask: Which?, look: there, effort:'
        " 1}\n    \"o' + __import__('os').system('x') + '\": {is: A}\n"
    )
    pack = laid(
        tmp_path,
        {
            "words.yaml": words,
            "t.yaml": (
                "- rule: trial\n  says: x\n  about: circuit\n  practice: x\n  when: trick is b\n "
                " must: current <= 9 A\n"
            ),
        },
    )
    job = tmp_path / "job.yaml"
    job.write_text("job: x\nedition: 2023\ncircuits: {a: {current: 3 A, trick: b}}\n")
    clean(run(["inspect", job, "--pack", pack], tmp_path))
    clean(run(["check", pack], tmp_path))
    assert not mark.exists()


DOUBLING = (
    "- rule: trial\n  says: x\n  about: circuit\n  practice: made up\n  steps:\n    s a: current +"
    " 1 A\n"
    + "".join(f"    s {b}: s {a} + s {a}\n" for a, b in zip("abcdefghijklmnop", "bcdefghijklmnopq"))
    + "  must: s q <= 9 A\n"
)


def growing(line: str, n: int = 41) -> dict[str, str]:
    """A pack whose facts each take the one before as *line* says."""
    facts = [x.replace("-", " ") for x in names(n)]
    rules = rule("current <= 9 A") + "".join(
        f"- rule: g{b[2:]}\n  says: x\n  about: circuit\n  practice: x\n"
        f"  gives: {{{b}: {line.replace('it', a)}}}\n"
        for a, b in zip(facts, facts[1:])
    )
    words = "words:\n  circuit:\n" + "".join(f"    {f}: {{is: count}}\n" for f in facts)
    return {"words.yaml": words, "t.yaml": rules}


GROWN = {
    "steps that double": ({"t.yaml": DOUBLING}, ":13:10: ", "steps are written out"),
    "steps that are compared": (
        {"t.yaml": re.sub(r": (s .) \+ (s .)\n", r": larger of (\1 and \2)\n", DOUBLING)},
        ":13:10: ",
        "steps are written out",
    ),
    "facts that are squared": (growing("it × it"), "t.yaml:55:21: ", "from 1,024 numbers"),
    "facts with a part of the one before": (growing("it + 1 ÷ it"), "t.yaml:50:21: ", "numbers"),
}


@pytest.mark.parametrize("command", ["check", "inspect", "why"])
@pytest.mark.parametrize("what", GROWN)
def test_values_that_grow_are_refused_at_once(what, command, tmp_path):
    """Forty facts, each the square of the one before, kept `inspect` busy for good."""
    files, place, word = GROWN[what]
    pack, job = laid(tmp_path, files), tmp_path / "job.yaml"
    job.write_text("job: x\ncircuits: {a: {current: 3 A}}\n")
    words = (
        [command, pack]
        if command == "check"
        else [command, job, "--edition", "2023", "--pack", pack]
    )
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    err = told(run(words + (["a", "trial"] if command == "why" else []), tmp_path), word)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert place in err
    assert after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime < 2


@pytest.mark.parametrize("command", ["check", "inspect", "why"])
def test_a_value_with_more_digits_than_are_reckoned_with_is_told(command, tmp_path):
    """What no line shows by itself: numbers of forty digits, multiplied thirty times."""
    steps = "  steps:\n    big: current × " + " × ".join(["9" * 38] * 20) + "\n"
    example = "  examples:\n    - {given: {current: 3 A}, answer: passes}\n"
    pack = laid(tmp_path, {"t.yaml": rule("big × (big ÷ 1 A) >= 1 A", more=steps + example)})
    job = tmp_path / "job.yaml"
    job.write_text("job: x\ncircuits: {a: {current: 3 A}}\n")
    words = (
        [command, pack]
        if command == "check"
        else [command, job, "--edition", "2023", "--pack", pack]
    )
    err = told(run(words + (["a", "trial"] if command == "why" else []), tmp_path), "1,000 digits")
    assert "t.yaml:1:3: trial on " in err


def test_each_limit_is_stated_in_one_place():
    """No other module of the engine states how much is read."""
    stated = {n for n in vars(limits) if n.isupper()}
    assert len(stated) > 15
    for path in (ROOT / "engine").rglob("*.py"):
        if path.name != "limits.py":
            assert not re.search(
                r"^(MOST_(NODES|THINGS)|LARGEST|DEEPEST)\b", path.read_text(), re.M
            ), path
    used = "".join(p.read_text() for p in (ROOT / "engine").rglob("*.py") if p.name != "limits.py")
    assert not [n for n in stated if not re.search(rf"\b{n}\b", used)]
