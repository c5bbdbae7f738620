"""Keys that hold: an order is one that the derivation has, and what is missing can turn the
answer.
"""

import os
import re
import subprocess
import sys
from dataclasses import replace
from itertools import permutations
from types import SimpleNamespace

import pytest
from sweeps import examples, sweep

from whywire.engine.answering.findings import needs
from whywire.engine.basics.errors import Place
from whywire.engine.basics.units import in_unit, parse_quantity
from whywire.engine.proving.graph import Explainer
from whywire.engine.running.cache import load
from whywire.engine.running.chain import FAILS, OFF, PASSES, TELL, World
from whywire.engine.running.job import read_job
from whywire.engine.running.rerun import tell
from whywire.engine.teaching.asked import changed, filled
from whywire.engine.teaching.beliefs import read_beliefs
from whywire.engine.teaching.instances import Maker
from whywire.engine.teaching.models import compared, read_models
from whywire.engine.teaching.papers import chain_of, markdown, page
from whywire.engine.teaching.quiz import make

K = load()
MODELS = read_models(K)
MAKER = Maker(K, read_beliefs())
RULES = ("rule", "pick")


def of_kind(kind):
    return [m for m in MODELS.values() if m.kind == kind]


def reached(g, node):
    """Every node that *node* rests on, but for what might have given a fact and did not."""
    seen, stack = set(), [node]
    while stack:
        for b, role in g.out(stack.pop()):
            if b not in seen and role != "not given by":
                seen.add(b)
                stack.append(b)
    return seen


@sweep("m", of_kind("order"), lambda m: m.room, ids=lambda m: m.name)
def test_each_step_of_an_order_rests_on_the_one_before(m):
    """In the derivation of the whole job each rule, where it applies, leads to the one before it,
    and that one never back.
    """
    fact, _, thing = str(m.d["order"]).partition(" of ")
    for seed in range(1, 6):
        q = MAKER.instance(m, seed)
        assert q is not None and len(q.key.value) >= 3
        w = World(K, read_job(q.body, K, "anew")).run()
        e = Explainer(w, bare=True)
        e.fact(w.things[thing], fact)
        at = {
            r: [
                i
                for i, n in e.g.nodes.items()
                if n.data.get("rule") == r
                and n.kind in ("rule", "pick")
                and n.data.get("answer") not in (OFF, TELL)
            ]
            for r in q.key.value
        }
        for before, after in zip(q.key.value, q.key.value[1:]):
            assert any(b in reached(e.g, a) for a in at[after] for b in at[before]), (
                q.name,
                before,
                after,
            )
            assert not any(a in reached(e.g, b) for a in at[after] for b in at[before]), (
                q.name,
                before,
                after,
            )


@pytest.mark.sweep
def test_a_paper_is_the_same_whatever_the_order_of_sets(tmp_path):
    """Two processes whose sets lie in different orders make the same bytes of every kind."""
    made = []
    for seed in ("1", "2"):
        out = tmp_path / seed
        run = subprocess.run(
            [
                sys.executable,
                "-c",
                "import sys; from whywire.cli.main import main; sys.exit(main())",
                "quiz",
                "make",
                "--compare",
                "2017",
                "--number",
                str(examples(25)),
                "--seed",
                "3",
                "--out",
                str(out),
            ],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
        )
        assert run.returncode == 0, run.stderr
        orders = tmp_path / f"{seed}-orders"
        run = subprocess.run(
            [
                sys.executable,
                "-c",
                "import sys; from whywire.cli.main import main; sys.exit(main())",
                "quiz",
                "make",
                "--kind",
                "order",
                "--number",
                str(examples(20)),
                "--out",
                str(orders),
            ],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
        )
        assert run.returncode == 0, run.stderr
        made.append(
            {
                f"{f.parent.name.partition('-')[2]}/{f.name}": f.read_bytes()
                for folder in (out, orders)
                for f in sorted(folder.iterdir())
            }
        )
    assert made[0] == made[1]


def test_what_is_compared_rests_on_no_cache():
    """A law read anew has its examples, and one taken over from the last time has none: the
    questions that compare are the same.
    """
    from whywire.engine.law.library import load as load_anew

    anew, other = load_anew((), "2017"), load((), "2017")
    assert any("examples" in r.d for r in anew.rules.values())
    kept = SimpleNamespace(
        values=other.values,
        tables=other.tables,
        rules={
            i: SimpleNamespace(d={key: v for key, v in r.d.items() if key != "examples"})
            for i, r in other.rules.items()
        },
    )
    assert (
        compared(MODELS, K, kept).keys()
        == compared(MODELS, K, anew).keys()
        < {f"{n}-elsewhere" for n in MODELS}
    )


@pytest.mark.parametrize("m", of_kind("order"), ids=lambda m: m.name)
def test_an_order_is_the_only_one(m):
    """Of all the orders in which the reasons could be put, one alone has each after all that it
    rests on in the derivation.
    """
    fact, _, thing = str(m.d["order"]).partition(" of ")
    q = MAKER.instance(m, 7)
    w = World(K, read_job(q.body, K, "anew")).run()
    e = Explainer(w, bare=True)
    e.fact(w.things[thing], fact)
    at = {
        r: {i for i, n in e.g.nodes.items() if n.data.get("rule") == r and n.kind in RULES}
        for r in q.key.value
    }
    below = {a: {b for b in at if b != a and at[b] & _under(e.g, at[a])} for a in at}
    fitting = [
        order
        for order in permutations(q.key.value)
        if all(not (below[a] & {*order[i + 1 :]}) for i, a in enumerate(order))
    ]
    assert fitting == [q.key.value]


def _under(g, nodes):
    return set().union(*(reached(g, node) for node in nodes))


@sweep("m", of_kind("missing"), lambda m: m.room, ids=lambda m: m.name)
def test_what_is_missing_can_turn_the_answer(m):
    """Told each value it can have, the whole job passes with one and fails with another: in every
    question of 20 seeds.
    """
    rule, _, thing = str(m.d["missing"]).partition(" on ")
    made = [q for q in (MAKER.instance(m, s) for s in range(1, 21)) if q is not None]
    assert len(made) >= 15

    def answer(body, *told):
        job = read_job(body, K, "anew")
        tell(job, told)
        w = World(K, job).run()
        return w, w.answer(K.rules[rule], w.things[thing])

    for q in {str(q.body): q for q in made}.values():
        w, a = answer(q.body)
        if a != TELL:
            # it is decided already, and the key says so: no value of what is missing turns it
            assert q.key.value == ("told", {PASSES: "passes", FAILS: "fails"}[a]), q.name
            continue
        if q.key.value[0] == "told":
            # nothing need be learned: it comes out the same with whatever it could be
            assert (
                _with_each(q, w, answer, m, rule, thing)
                <= {
                    "passes": {PASSES, "set aside"},
                    "fails": {FAILS},
                }[q.key.value[1]]
            ), q.name
            continue
        answers = _with_each(q, w, answer, m, rule, thing)
        assert answers & {FAILS, "advice"} and answers & {PASSES, OFF}, (q.name, answers)


def _with_each(q, w, answer, m, rule, thing):
    """The answers with each value that the missing fact could have."""
    n = needs(w, K.rules[rule], w.things[thing])[0]
    type_ = K.words.kinds[w.things[n.of][0].kind].words[n.fact].type
    # a quantity, or a choice of which a house has but some: what the model says it could be
    if type_[0] == "q" or "told" in m.d:
        return {answer(changed(q.body, filled(c, q.facts)))[1] for c in m.d["told"]}
    if type_[0] == "flag":
        values = [True, False]
    elif type_[0] == "choice":
        values = type_[1]
    else:
        table = K.tables[type_[1]]
        values = {row[key] for row in table.rows for key in table.keys if key == n.fact}
    return {answer(q.body, (n.of, n.fact, v))[1] for v in values}


def test_where_nothing_can_turn_the_answer_nothing_need_be_asked():
    """A box that is large enough with clamps or without, a breaker too small at any voltage: what
    is not known of them is not missing.
    """
    m = MODELS["box-for-a-splice-missing"]
    roomy = replace(m, name="roomy", draws={**m.draws, "volume": ["60 in³"]})
    assert MAKER.instance(roomy, 1).key.value == ("told", "passes")
    m = MODELS["what-is-missing-for-the-amps"]
    plan = [{"power": "9600 W", "breaker": "30 A"}]
    never = replace(m, name="never", draws={**m.draws, "plan": plan})
    assert MAKER.instance(never, 1).key.value == ("told", "fails")


def test_a_stem_names_one_law():
    """Where a stem names its edition, the other law stands there instead, and nowhere both."""
    there = load((), "2017")
    models = compared(MODELS, K, there)
    named = [
        m for m in models.values() if "{edition}" in MODELS[m.name.removesuffix("-elsewhere")].stem
    ]
    assert named
    maker = Maker(K, read_beliefs(), there, other_said="the 2017 edition")
    for m in named:
        for q in (q for s in range(1, 6) if (q := maker.instance(m, s)) is not None):
            assert (
                "2017 edition" in q.stem and "2023" not in q.stem and not q.stem.startswith("Under")
            ), q.stem


def test_no_range_is_drawn_where_rounding_is_disputed():
    """A part of exactly half a kilowatt over twelve: whether it counts as a major one is
    disputed.
    """
    powers = [float(p.removesuffix(" kW")) for p in MODELS["demand-of-a-range"].draws["power"]]
    assert max(powers) > 12 and not any(p > 12 and p % 1 == 0.5 for p in powers)


@pytest.mark.parametrize(
    ("belief", "va"),
    [
        ("", 6600),
        ("forgets-the-quarter-of-the-motor", 6240),
        ("takes-nothing-for-continuous-at-the-feeder", 5520),
        ("raises-everything-at-the-feeder", 6900),
    ],
)
def test_beliefs_about_a_feeder_do_what_they_say(belief, va):
    """24 A for hours (2,880 VA on a leg), a 2 hp motor (12 A by the table: 1,440 VA), 10 A of
    lights (1,200 VA).
    """
    m = MODELS["feeder-on-its-heavier-leg"]
    got = MAKER.concludes(
        m,
        filled(m.job, {"kiln": "24 A", "hp": "2 hp", "lights": "10 A"}),
        *((belief,) if belief else ()),
    )
    assert in_unit(got, "VA") == va


def test_a_third_of_a_stud_is_a_third():
    m = next(m for m in MODELS.values() if "notches-a-third-of-any-stud" in m.d.get("beliefs", []))
    q = next(
        q
        for s in range(1, 9)
        if (q := MAKER.instance(m, s, None, "notches-a-third-of-any-stud")) is not None
    )
    v = next(o.value for o in q.options if o.belief == "notches-a-third-of-any-stud")
    assert v.needed * 3 == parse_quantity(q.facts["depth"], "in", Place("test"))[0]


@pytest.mark.parametrize(
    "name", ["breaker-for-a-mixed-load", "aluminum-conductor-in-pipe", "breaker-from-the-watts"]
)
def test_the_comparison_that_decides_the_key_is_shown(name):
    """What the size below fails and the key meets, both against one number, and that number's
    coming about.
    """
    for seed in range(1, 7):
        q = MAKER.instance(MODELS[name], seed)
        lines = chain_of(MAKER, q)
        fails, passes = (
            next(line for line in lines if line.startswith(start))
            for start in ("Not ", f"{q.key.text}: ")
        )
        needed = re.search(r">= ([\d.]+ A)\?", fails)[1]
        assert (
            "No, " in fails
            and "Yes, " in passes
            and f">= {needed}?" in passes
            and not any("Breaker: rating" in line for line in lines if name.startswith("breaker"))
        ), lines
        assert (
            any(needed in line for line in lines if line.startswith("Load: ")) or "240.4" in fails
        ), lines


def test_no_full_stop_behind_a_question_mark():
    quiz = make(
        MAKER, {m.name: m for m in of_kind("missing")}, 5, 1, {"edition": "2023", "digest": ""}
    )
    for text in (*markdown(MAKER, quiz), page(MAKER, quiz)):
        assert "?" in text and "?." not in text
