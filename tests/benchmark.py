"""Speed, as ratios in one run: `python tests/benchmark.py`. A script, not a test: nothing here
fails by the clock.

The plain chainer, the durable path, clingo and CLIPS run the same compiled rules on the same job:
for clingo and CLIPS a rule fires when every fact it reads is settled, joined along the links, and
its conclusion is reckoned by the same Python function, so that what is compared is the matching and
the driving.
"""

from __future__ import annotations

import json
import os
import random
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from whywire.engine import load
from whywire.engine.basics.reading import read_yaml
from whywire.engine.proving.graph import Explainer
from whywire.engine.running import durable
from whywire.engine.running.chain import World
from whywire.engine.running.job import read_job
from whywire.engine.running.program import program_of

JOBS = Path(__file__).resolve().parents[1] / "kb" / "jobs"


def median(run, times: int, before=lambda: None) -> float:
    """Median milliseconds of *run*, what *before* makes not counted."""
    out = []
    for _ in range(times):
        made = before()
        t = time.perf_counter()
        run(made) if made is not None else run()
        out.append((time.perf_counter() - t) * 1e3)
    return statistics.median(out)


class ClipsCore:
    """The waiting rules of a durable plan as CLIPS rules: the same patterns and joins, the same
    Python consequences.
    """

    def __init__(self, plan, waiting) -> None:
        import clips

        self.env, self.number, self.names, self.act = (
            clips.Environment(),
            {},
            [r.name for r in waiting],
            None,
        )
        self.env.define_function(self.fired, "fired")
        for i, r in enumerate(waiting):
            subjects, lines = [], []
            for j, p in enumerate(r.patterns):
                s = f"?s{j}" if p.of is None else (f"?e{p.of}" if p.link else subjects[p.of])
                subjects.append(s)
                lines.append(f"(f {self.says(p.says)} {s} ?e{j})")
            self.env.build(f"(defrule r{i} {' '.join(lines)} => (fired {i} ?s0))")

    def says(self, text: str) -> int:
        return self.number.setdefault(text, len(self.number))

    def fired(self, i, token) -> None:
        self.act(self.names[int(i)], str(token))

    def begin(self) -> None:
        self.env.reset()

    def add(self, facts) -> None:
        for says, token, to in facts:
            self.env.assert_string(f"(f {self.says(says)} {_symbol(token)} {_symbol(to)})")

    def fire_all(self, act) -> None:
        self.act = lambda name, token: act(name, token[1:] if token.startswith("t") else token)
        self.env.run()

    def check(self) -> None:
        pass

    def end(self) -> None:
        self.env.reset()


class ClingoCore:
    """The same for clingo: at each stratum the waiting rules that are due are grounded over the
    facts so far.
    """

    def __init__(self, plan, waiting) -> None:
        import clingo

        self.clingo, self.number, self.waiting = clingo, {}, waiting
        self.heads = []
        for i, r in enumerate(waiting):
            subjects, body = [], []
            for j, p in enumerate(r.patterns):
                s = f"S{j}" if p.of is None else (f"E{p.of}" if p.link else subjects[p.of])
                subjects.append(s)
                body.append(f"f({self.says(p.says)},{s},E{j})")
            self.heads.append(
                ({self.number[p.says] for p in r.patterns}, f"fire({i},S0) :- {', '.join(body)}.\n")
            )

    says = ClipsCore.says

    def begin(self) -> None:
        self.facts, self.there, self.done = [], set(), set()

    def add(self, facts) -> None:
        for says, token, to in facts:
            n = self.says(says)
            self.there.add(n)
            self.facts.append(f"f({n},{_symbol(token)},{_symbol(to)}).")

    def fire_all(self, act) -> None:
        due = [text for i, (needs, text) in enumerate(self.heads) if needs <= self.there]
        ctl = self.clingo.Control(["--warn=none"])
        ctl.add("base", [], "".join(due) + "".join(self.facts))
        ctl.ground([("base", [])])
        new = [
            (a.symbol.arguments[0].number, str(a.symbol.arguments[1]))
            for a in ctl.symbolic_atoms.by_signature("fire", 2)
        ]
        for i, token in new:
            if (i, token) not in self.done:
                self.done.add((i, token))
                act(self.waiting[i].name, token[1:] if token.startswith("t") else token)

    check = end = ClipsCore.check


def _symbol(token) -> str:
    return (
        "nil"
        if token is None
        else f"t{token}"
        if str(token).isdigit()
        else {"?": "unknown"}.get(token, str(token))
    )


def driven_by(core_class, k, body):
    """A world that another engine drives, compiled once, and what runs it again."""
    seen = []
    real = durable.DurableCore.__init__

    def keep(self, waiting):
        seen.append(waiting)
        real(self, waiting)

    durable.DurableCore.__init__ = keep
    try:
        program_of(k).plans.clear()
        durable.DurableWorld(k, read_job(body, k)).run()
    finally:
        durable.DurableCore.__init__ = real
    plan = next(iter(program_of(k).plans.values()))
    cores = [core_class(plan, waiting) for waiting in seen]

    def fresh():
        w = durable.DurableWorld(k, read_job(body, k))
        w.cores = cores
        return w

    return fresh


def engines(name: str) -> None:
    """The table of one job."""
    k = load()
    program_of(k).emitted()
    body = read_yaml((JOBS / name).read_text(), name)

    plain = median(lambda w: w.run(), 40, lambda: World(k, read_job(body, k)))
    reading = median(lambda: read_job(body, k), 40)
    general = median(lambda w: w.run(), 7, lambda: World(k, read_job(body, k), fast=False))
    rows = [
        ("plain chainer", plain),
        ("  reading the job", reading),
        ("  general evaluator alone", general),
    ]
    if durable.available():
        durable.agree(k, body)
        rows.append(
            (
                "durable path",
                median(lambda w: w.run(), 15, lambda: durable.DurableWorld(k, read_job(body, k))),
            )
        )
        want = durable.cells_of(World(k, read_job(body, k)).run())
        for label, core in (("CLIPS", ClipsCore), ("clingo", ClingoCore)):
            fresh = driven_by(core, k, body)
            assert durable.cells_of(fresh().run()) == want, f"{label} derives something else"
            rows.append((label, median(lambda w: w.run(), 7, fresh)))
    w = World(k, read_job(body, k)).run()
    print(
        f"\n{name}: {len(k.rules)} rules, {w.fired} instances, {w.bailed} answered by the general"
        " evaluator"
    )
    for label, ms in rows:
        print(f"  {label:28} {ms:8.2f} ms   {ms / plain:6.1f} × the plain chainer")

    def keep(w):
        w.run()
        e = Explainer(w)
        e.fact(w.things["job"], "edition")

    # in turn: the machine's pace changes
    turns = [
        (
            median(lambda w: w.run(), 5, lambda: World(k, read_job(body, k))),
            median(keep, 5, lambda: World(k, read_job(body, k))),
        )
        for _ in range(15)
    ]
    cost = sorted(kept / alone for alone, kept in turns)[7]
    print(
        f"  keeping what the graph needs costs {cost:.2f} × (cells and answers are the record; a"
        " graph is read off them when asked for)"
    )


IMPORTS = (
    "import whywire.engine.answering.inspection, whywire.engine.running.cache,"
    " whywire.engine.running.durable, whywire.cli.commands, yaml"
)


def process(*words, env=os.environ) -> float:
    """Milliseconds of a whole process."""
    env = {n: v for n, v in env.items() if n != "PYTHONDONTWRITEBYTECODE"}
    t = time.perf_counter()
    subprocess.run([sys.executable, *words], capture_output=True, env=env, check=False)
    return (time.perf_counter() - t) * 1e3


def cold() -> None:
    """Whole processes, medians of fifteen, taken in turn so that a busy machine is busy for all of
    them.
    """
    kiln, cli = str(JOBS / "kiln.yaml"), ("-m", "whywire.cli.main")
    runs = {
        "python -c pass": ("-c", "pass"),
        "whywire --version": (*cli, "--version"),
        "imports alone": ("-c", IMPORTS),
        "imports, kept knowledge": ("-c", IMPORTS + "; whywire.engine.running.cache.load()"),
        "whywire why kiln, plain": (
            *cli,
            "why",
            kiln,
            "kiln",
            "conductor-125-percent",
            "--chainer",
            "plain",
        ),
        "whywire why kiln, both": (*cli, "why", kiln, "kiln", "conductor-125-percent"),
        "whywire whynot kiln, both": (*cli, "whynot", kiln, "kiln", "size=6 AWG"),
        "whywire inspect kiln, both": (*cli, "inspect", kiln),
    }
    for words in runs.values():
        process(*words)
    took: dict[str, list] = {label: [] for label in runs}
    for _ in range(15):
        for label, words in runs.items():
            took[label].append(process(*words))
    ms = {label: statistics.median(ts) for label, ts in took.items()}
    print("\nwhole processes")
    for label, t in ms.items():
        print(f"  {label:28} {t:8.0f} ms   {t / ms['python -c pass']:6.1f} × a bare interpreter")
    kept = ms["imports, kept knowledge"] - ms["imports alone"]
    print(f"  a start with kept knowledge takes {kept:.0f} ms over interpreter and imports")


def processor(*words: str) -> float:
    """Seconds of processor that a whole process takes, with bytecode kept."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    process(*words)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def notes() -> None:
    """The note of one circuit and of twelve, ways out included, by the plain chainer: the least of
    nine whole processes, in processor time, which a busy machine lengthens less than the clock.
    """
    sys.path.insert(0, str(Path(__file__).parent / "engine"))
    from test_rerun import USUAL

    print("\nnotes, cold")
    with tempfile.TemporaryDirectory() as folder:
        for count in (1, 12):
            circuits = {f"c{i}": USUAL[i % 4] for i in range(count)}
            job = {"job": "a house", "edition": "2023", "circuits": circuits}
            path = Path(folder) / f"{count}.yaml"
            path.write_text(json.dumps(job | {"building": "one-family dwelling"}))
            words = ("-m", "whywire.cli.main", "inspect", str(path), "--chainer", "plain")
            process(*words)
            took = [(processor(*words), processor("-c", "pass")) for _ in range(9)]
            note, bare = (min(column) for column in zip(*took))
            print(f"  {count:2} circuits: {note:.2f} s, {note / bare:.0f} × a bare interpreter")


LOADING = """
import time
from whywire.engine.law import library
from whywire.engine.running.program import program_of
begin = time.perf_counter()
k = library.load(examples=False)
read = time.perf_counter()
emitted = program_of(k).emitted()
for s in emitted.parts():
    emitted.runs(s)
print(read - begin, time.perf_counter() - read, len(k.rules) + len(k.absent))
"""


def loading() -> None:
    """All shipped packs from their files, as for the first start on a machine: each time in a
    process of its own, with nothing kept.
    """
    bare, took, whole, second = median(lambda: process("-c", "pass"), 9), [], [], []
    why = (
        "-m",
        "whywire.cli.main",
        "why",
        str(JOBS / "kiln.yaml"),
        "kiln",
        "conductor-125-percent",
    )
    with tempfile.TemporaryDirectory() as folder:
        for i in range(9):
            took.append(
                [
                    float(n)
                    for n in subprocess.run(
                        [sys.executable, "-c", LOADING], capture_output=True, text=True, check=True
                    ).stdout.split()
                ]
            )
            there = os.environ | {"WHYWIRE_CACHE": f"{folder}/{i}"}
            whole.append(process(*why, env=there))
            second.append(process(*why, env=there))
    read, emitted, rules = (statistics.median(ts) for ts in zip(*took))
    print(
        f"\nloading {rules:.0f} rules: read, checked and put in order in {read * 1e3:.0f} ms"
        f" ({read / rules * 1e3:.2f} s per 1,000 rules), {read * 1e3 / bare:.1f} × a bare"
        f" interpreter; to emit every function takes {emitted * 1e3:.0f} ms more, and a job those"
        " it runs"
    )
    print(
        f"  the first start of all, whywire why kiln: {statistics.median(whole):.0f} ms, the second"
        f" {statistics.median(second):.0f} ms"
    )


def findings() -> None:
    """What could turn, settle or mend a finding, against the chaining of the same job; one fact
    told; the longest answer.
    """
    from whywire.engine.answering.inspection import Inspection
    from whywire.engine.running.rerun import Rerun

    sys.path.insert(0, str(Path(__file__).parent / "engine"))
    from test_rerun import house

    k = load()
    print("\nfindings of circuits with usual gaps")
    for circuits in (1, 5, 12, 40):
        body, times = house(circuits), 5 if circuits < 40 else 3
        Inspection(body, k).findings  # what is emitted once is not counted
        chained = median(lambda w: w.run(), times, lambda: World(k, read_job(body, k)))
        found = median(lambda i: i.findings, times, lambda: Inspection(body, k))
        print(f"  {circuits:2} circuits: {found:7.1f} ms, {found / chained:.1f} × the chaining")

    body = house(12)
    chained = median(lambda w: w.run(), 5, lambda: World(k, read_job(body, k)))
    rerun, took, shares = Rerun(World(k, read_job(body, k)).run()), [], []
    for x in rerun.world.things.values():
        for word in k.words.kinds[x[0].kind].words.values():
            if word.ask and word.type[0] in ("flag", "choice"):
                begin = time.perf_counter()
                branch = rerun.change(
                    [(x[0].id, word.name, True if word.type[0] == "flag" else word.type[1][0])]
                )
                took.append((time.perf_counter() - begin) * 1e3)
                rerun.undo()
                shares += [branch.settled / len(branch.cells)] if branch.cells else []
    took.sort()
    print(
        f"  one fact told of twelve circuits: {statistics.median(took):.2f} ms, one in ten"
        f" {took[len(took) * 9 // 10]:.1f} ms or more, the most {took[-1]:.0f} ms (the chaining"
        f" {chained:.0f} ms); work {statistics.median(shares):.1f} × the cells that change"
    )
    inspected, took = Inspection(body, k), []
    begin = time.process_time()
    inspected.standing  # with what is taken for granted and put in: as much as one or two runs more
    stood = (time.process_time() - begin) * 1e3
    for i in range(12):
        begin = time.process_time()
        inspected.why(f"c{i}")
        took.append((time.process_time() - begin) * 1e3)
    print(
        f"  why of a circuit, the longest of twelve: {max(took):.0f} ms of processor time,"
        f" {max(took) / chained:.1f} × the chaining; half of them {statistics.median(took):.0f} ms"
        f" (how the job stands, once: {stood:.0f} ms)"
    )


def comparing() -> None:
    """Two laws compared over a folder of two hundred jobs, as a whole process."""
    every, county = sorted(JOBS.rglob("*.yaml")), "Kestrel County, 2025-09-02"
    with tempfile.TemporaryDirectory() as folder:
        for i in range(200):
            shutil.copy(every[i % len(every)], f"{folder}/{i:03}.yaml")
        bare = median(lambda: process("-c", "pass"), 9)
        print("\n200 jobs compared")
        for a, b in (("2020", "2023"), ("2017", "2020"), (county, f"{county}, -kestrel-county")):
            ms = statistics.median(
                process("-m", "whywire.cli.main", "compare", folder, "--under", a, "--under", b)
                for _ in range(3)
            )
            print(f"  {a} and {b}: {ms / 1e3:.1f} s, {ms / bare:.0f} × a bare interpreter")


def one_circuit_jobs(number: int) -> str:
    """JSON lines: the shipped jobs of one circuit, each time with other sizes."""
    rng, jobs = random.Random(5), []
    for path in sorted(JOBS.rglob("*.yaml")):
        body = _plain(read_yaml(path.read_text(), path.name))
        if isinstance(body.get("circuits"), dict) and len(body["circuits"]) == 1:
            jobs.append({name: value for name, value in body.items() if name != "expect"})
    others = {
        ("breaker", "rating"): ["20 A", "30 A", "40 A", "50 A", "60 A"],
        ("conductors", "size"): ["12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG"],
        ("load", "current"): ["12 A", "16 A", "24 A", "32 A", "40 A", "48 A"],
    }
    lines = []
    for _ in range(number):
        body = json.loads(json.dumps(rng.choice(jobs)))
        (circuit,) = body["circuits"].values()
        for (part, fact), values in others.items():
            told = circuit.get(part)
            if isinstance(told, dict) and fact in told and rng.random() < 0.5:
                told[fact] = rng.choice(values)
        lines.append(json.dumps(body) + "\n")
    return "".join(lines)


def _plain(piece):
    if isinstance(piece, dict):
        return {str(name): _plain(value) for name, value in piece.items()}
    return [_plain(each) for each in piece] if isinstance(piece, list) else str(piece)


def batch() -> None:
    """What a job of many costs, of the processor: a thousand as JSON lines, whole processes, the
    workers' time with it.
    """
    cli, text = [sys.executable, "-m", "whywire.cli.main", "inspect", "-"], one_circuit_jobs(1000)
    print("\n1,000 one-circuit jobs as JSON lines")
    for label, words in (("a table", []), ("all that is known, --json", ["--json"])):
        for lines in (text[: text.index("\n") + 1], text):  # the first start keeps code
            before = _children()
            subprocess.run([*cli, *words], input=lines, text=True, capture_output=True)
            seconds = _children() - before
        each = seconds * 1e3 / 1000
        print(
            f"  {label:26} {each:5.1f} ms of processor a job: 10,000 in {each * 10 / 2:.0f} s on"
            " two cores of this machine"
        )


def _children() -> float:
    """Seconds of processor of the processes that ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


GROWN = """
import json, resource, sys, time
sys.path[:0] = sys.argv[1:3]
clock = time.process_time
begin = clock()
from whywire.engine.answering.inspection import Inspection
from whywire.engine.running.cache import keep_code, load
imported = clock()
k = load()
loaded = clock()
from test_rerun import house
from whywire.engine.running.chain import World
from whywire.engine.running.job import read_job
body = house(int(sys.argv[3]))
began = clock()
first = Inspection(body, k)
first.findings
found = clock()
again = World(k, read_job(body, k))
chained = clock()
again.run()
done = clock()
keep_code()
print(json.dumps([loaded - imported, found - began, done - chained, len(k.rules),
    resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024]))
"""


def many_rules() -> None:
    """What a start, the chaining and the findings of a house cost with more rules in force, none of
    which is about it (tests/many_rules.py); each in a process of its own, with what was kept.
    """
    from many_rules import grown

    here = Path(__file__).parent
    print("\nmore rules, none of which concerns the job: five circuits, seconds of processor")
    bare = median(lambda: process("-c", "pass"), 9)
    for more in (0, 1000, 5000):
        with tempfile.TemporaryDirectory() as folder:
            kb = grown(Path(folder), more)
            env = {**os.environ, "WHYWIRE_KB": str(kb), "WHYWIRE_CACHE": f"{folder}/cache"}
            words = [sys.executable, "-c", GROWN, str(here), str(here / "engine"), "5"]
            took = [
                json.loads(subprocess.check_output(words, env=env, text=True)) for _ in range(7)
            ][2:]  # the first ones keep what is made
            load_s, found_s, chain_s, rules, peak = map(statistics.median, zip(*took))
            why = ("-m", "whywire.cli.main", "why", str(JOBS / "kiln.yaml"), "kiln")
            cold_ms = statistics.median(process(*why, env=env) for _ in range(5))
        print(
            f"  {rules:5.0f} rules: load {load_s * 1e3:4.0f} ms, first findings"
            f" {found_s * 1e3:4.0f} ms, chaining {chain_s * 1e3:3.0f} ms, {peak:.0f} MB; cold why"
            f" {cold_ms / bare:.1f} × a bare interpreter"
        )


PEAK = """
import resource, sys
sys.path[:0] = sys.argv[1:3]
from test_rerun import house
from whywire.engine.answering.inspection import Inspection
from whywire.engine.running.cache import load
found = Inspection(house(12), load(), sys.argv[3])
found.findings
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def peak() -> None:
    """The most memory that an inspection of a house takes, in a process of its own."""
    here = Path(__file__).parent
    for chainer in ("plain", "both") if durable.available() else ("plain",):
        words = [sys.executable, "-c", PEAK, str(here), str(here / "engine"), chainer]
        # the second has what the first kept
        most = [float(subprocess.check_output(words, text=True)) for _ in range(2)][1]
        print(f"\ntwelve circuits, chainer {chainer}: {most:.0f} MB at most")


def memory() -> None:
    """A thousand varied jobs in one process: growth after the first hundred."""
    k = load()
    bodies = [read_yaml(p.read_text(), p.name) for p in sorted(JOBS.rglob("*.yaml"))]
    for i in range(1000):
        World(k, read_job(bodies[i % len(bodies)], k)).run()
        if i == 100:
            first = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(
        f"\n1,000 jobs: {(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - first) / 1024:.1f}"
        " MB more after the first 100"
    )


def questions() -> None:
    """How fast questions are made, on the plain chainer in one process, against a bare loop of this
    machine's.
    """
    from whywire.engine.teaching.beliefs import read_beliefs
    from whywire.engine.teaching.instances import Maker
    from whywire.engine.teaching.models import read_models

    def additions() -> None:
        n = 0
        for _ in range(1_000_000):
            n += 1

    k = load()
    maker, models = (
        Maker(k, read_beliefs()),
        [m for m in read_models(k).values() if m.kind != "under"],
    )
    for m in models:  # what a belief does to the rules is worked out once
        for seed in (1, 2):
            maker.instance(m, seed)
    # of the processor: what else runs here is none of the questions' time
    made, t = 0, time.process_time()
    for seed in range(3, 13):
        made += sum(maker.instance(m, seed) is not None for m in models)
    seconds = time.process_time() - t
    loop = median(additions, 5) / 1e3
    print(
        f"\nquestions: {made / seconds:.0f} a second over {len(models)} models, each with its"
        f" beliefs; {made / (seconds / loop):.1f} in the time of a million additions in a plain"
        f" loop ({loop:.3f} s here)"
    )


if __name__ == "__main__":
    for job in ("kiln.yaml", "scenarios/workshop-feeder.yaml"):
        engines(job)
    cold()
    notes()
    loading()
    findings()
    batch()
    many_rules()
    comparing()
    peak()
    memory()
    questions()
