"""Where one rule holds for several wiring methods, each by a section of its own, what is printed is
that of the method told.
"""

import json
import re

import pytest

from whywire.cli.main import main
from whywire.engine import inspect
from whywire.engine.language.rules import by_case, cited
from whywire.engine.law.library import load
from whywire.engine.proving.graph import Explainer
from whywire.engine.proving.proof import Proof
from whywire.engine.running.job import read_job

ROOM = {
    "length": "10 ft",
    "place": "basement",
    "location": "dry",
    "bundle": "none",
    "laid": "along framing",
    "support spacing": "7 ft",
    "first support": "10 in",
}
METHODS = [
    "NM-B",
    "UF-B",
    "MC",
    "AC",
    "SE",
    "TC-ER-JP",
    "EMT",
    "RMC",
    "IMC",
    "PVC 40",
    "PVC 80",
    "FMC",
    "LFMC",
    "LFNC",
]
# Article 334 is NM cable's, 340 UF, 330 MC, 320 AC, 338 SE, 336 TC, 358 EMT, 344 RMC, 342 IMC, 352
# PVC, 348 FMC, 350 LFMC, 356 LFNC: the titles of Chapter 3
ARTICLE = dict(zip(METHODS, [334, 340, 330, 320, 338, 336, 358, 344, 342, 352, 352, 348, 350, 356]))
ARTICLE |= {"surface metal raceway": 386, "surface nonmetallic raceway": 388}


def job(*segments, edition="2023", **more):
    circuit = {
        "volts": "240 V",
        "length": "40 ft",
        "receptacle": "none",
        "load": {"type": "kiln", "current": "20 A"},
        "breaker": {"rating": "30 A"},
        "conductors": {"size": "10 AWG", "material": "copper"},
        "segments": [ROOM | s for s in segments],
    }
    return {
        "job": "supports",
        "edition": edition,
        "building": "one-family dwelling",
        "circuits": {"it": circuit},
    } | more


def spacing(i, n=1):
    rule = next(
        r
        for r in ("cable-support-spacing", "raceway-support-spacing")
        for f in i.findings
        if f.rule == r and f.on == f"circuits.it.segments.{n}"
    )
    return next(f for f in i.findings if f.rule == rule and f.on == f"circuits.it.segments.{n}")


def articles(source):
    return set(map(int, re.findall(r"\b3\d\d(?=\.)", source)))


@pytest.mark.parametrize("method", METHODS)
def test_a_finding_an_answer_and_its_graph_cite_the_article_of_the_method(method):
    i = inspect(job({"method": method, "trade size": "1"}))
    f = spacing(i)
    assert articles(f.source) == {ARTICLE[method]}
    got = i.why("it segment 1", f.rule)
    assert {a for r in got.rows if r.label in ("Check", "Most") for a in articles(r.source)} == {
        ARTICLE[method]
    }
    g = i.graph(got.root)
    assert [
        articles(n.data["section"])
        for n in g.nodes.values()
        if n.data.get("rule") == f.rule
        or n.data.get("table") in ("cable-supports", "raceway-supports")
    ] == [{ARTICLE[method]}] * 2


def test_what_nobody_told_cites_all_of_them():
    f = spacing(inspect(job({})))
    assert f.answer == "cannot tell" and articles(f.source) >= {334, 340, 330, 320, 338, 336}


def test_each_segment_cites_its_own_and_the_editions_their_own():
    pipe = {"method": "EMT", "trade size": "3/4"}
    i = inspect(job({"method": "MC"}, {"method": "NM-B"}))
    assert [spacing(i, n).source for n in (1, 2)] == ["330.30(C)", "334.30"]
    for edition, section in (
        ("2017", "250.118(4)"),
        ("2020", "250.118(4)"),
        ("2023", "250.118(A)(4)"),
    ):
        k = load((), edition)
        x = read_job(job(pipe, edition=edition), k).by_kind["segment"][0]
        assert k.rules["rigid-metal-serves-as-egc"].section(edition, x) == section


def test_the_check_of_a_proof_wants_the_section_of_the_method():
    i = inspect(job({"method": "MC"}, {"method": "NM-B"}))
    e = Explainer(i.w)
    e.g.root = e.rule(i.k.rules["cable-support-spacing"], i.w.things["circuits.it.segments.1"])
    graph = e.g.as_dict()
    assert Proof(i.k).check(graph, i.w.job) == []
    node = next(n for n in graph["nodes"] if n["id"] == graph["root"])
    node["data"]["section"] = "334.30"
    assert any("330.30(C)" in s for s in Proof(i.k).check(graph, i.w.job))
    node["data"]["section"] = "330.30(C)"
    graph["edges"] = [e for e in graph["edges"] if e["role"] != "cited by"]
    assert any("cited by" in s for s in Proof(i.k).check(graph, i.w.job))


PACK = """pack: mine
title: Mine
authority: The Board
cite: Ordinance 7
layer: county
place: Mine
adopts: {edition: 2023, from: 2025-01-01}
edits:
- amend: cable-first-support
  cite: §2
  reason: Old houses shake.
  says: A cable is secured within 8 in of every box, cabinet and fitting.
  strike: 12 in
  insert: 8 in
  examples:
  - {given: {method kind: cable, method: MC, place: basement, laid: along framing, first support: 10 in}, answer: fails}
  - {given: {method kind: cable, method: MC, place: basement, laid: along framing, first support: 8 in}, answer: passes}
- alias: cable-support-spacing
  cite: §3
  reason: The Board has its own numbers.
  code: {2023: "MC: 5-1; NM-B | UF-B | AC | SE | TC-ER-JP: 5-2"}
"""  # noqa: E501


@pytest.fixture
def place(tmp_path, monkeypatch):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "pack.yaml").write_text(PACK)
    monkeypatch.setenv("WHYWIRE_PACKS", str(tmp_path))
    return tmp_path / "mine"


def test_an_ordinance_amends_the_section_of_the_method(place, tmp_path, capsys):
    here = {"place": "Mine", "permit date": "2026-01-01"}
    body = job({"method": "MC"}, {"method": "NM-B"}, **here)
    del body["edition"]
    i = inspect(body)
    first = {f.on: f.source for f in i.findings if f.rule == "cable-first-support"}
    assert first == {
        "circuits.it.segments.1": "Ordinance 7 §2, amending 330.30(B)",
        "circuits.it.segments.2": "Ordinance 7 §2, amending 334.30",
    }
    assert [spacing(i, n).source for n in (1, 2)] == ["5-1", "5-2"]
    path = tmp_path / "job.yaml"
    path.write_text(json.dumps(body))
    assert main(["compare", str(path), "--under", "2023, -mine", "--all", "--json"]) == 0
    said = capsys.readouterr().out
    assert (
        "amending 330.30(B)" in said and "amending 334.30, 340.10(4)" not in said and "5-1" in said
    )


def test_a_pack_whose_sections_leave_a_method_out_is_refused(place, capsys):
    (place / "pack.yaml").write_text(PACK.replace(" | TC-ER-JP: 5-2", ": 5-2"))
    assert main(["check", str(place)]) == 2
    assert "may be about TC-ER-JP, and 2023 names no section for it" in capsys.readouterr().err


def test_a_quiz_cites_the_section_of_the_method(tmp_path):
    assert (
        main(
            [
                "quiz",
                "make",
                "--room",
                "methods",
                "--number",
                "20",
                "--seed",
                "3",
                "--out",
                str(tmp_path / "quiz"),
            ]
        )
        == 0
    )
    said = "".join(p.read_text() for p in (tmp_path / "quiz").glob("*.md"))
    assert (
        re.search(r"\[334\.30\]|\[330\.30\([BC]\)\]|\[358\.30\(A\)\]", said)
        and "334.30, 340.10(4)" not in said
        and "358.30(A), 344.30(A)" not in said
    )


def test_every_shipped_rule_that_is_cited_by_a_fact_has_a_section_for_each_of_its_cases():
    k = load((), "2023")
    rules = [r for r in k.rules.values() if r.cited_by is not None]
    rules = [r for r in rules if r.d.get("code by") == "method"]
    assert len(rules) > 20 and all(by_case(cited(r.d, "2023")) for r in rules)
    # what Chapter 3 says of a method stands in that method's article, or by that in the one it
    # follows; 310 is of all conductors
    for r in rules:
        for method, section in by_case(cited(r.d, "2023")).items():
            assert ARTICLE[method] in articles(section) or not articles(section) - {310}, (
                r.id,
                method,
                section,
            )
