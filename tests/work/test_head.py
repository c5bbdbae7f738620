"""The head of a job: on sheets and in the names of files, never in a finding; nothing in it is
obeyed by whoever shows it.
"""

import copy
import json
from pathlib import Path

import pytest

from whywire.cli.main import main
from whywire.engine import inspect
from whywire.engine.basics.errors import Faults
from whywire.engine.basics.reading import read_yaml
from whywire.engine.work.opening import How, opened
from whywire.engine.work.sheets import AUDIENCES, HEAD_FOR

MARKUP = '<script>alert("1")</script><img src=x onerror=y>*b* [a](b) `c` &amp;'
A_KILN = {"edition": "2023", "circuits": {"kiln": {"load": {"type": "kiln", "current": "48 A"}}}}
JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
# whatever a word of it could mean to a rule: subjects, articles that are missing, the title's own
HEAD = {
    "customer": "The Swimming Pool & Generator Company",
    "address": "7 Aircraft Hangar, Marina",
    "contractor": "Two Wire Electric",
    "license": "EC-1234",
    "call": "555-0100",
    "visits": ["2026-12-03 hot tub", "2026-12-10 solar array"],
    "dates": {"permit date": "2019-01-01", "offered": "2026-12-01"},
    "access": "NM-B, 14 AWG, 200 A; key under the blue pot",
    "notes": "size: 14 AWG",
}
PHOTOGRAPHS = {"generator.jpg": "a generator beside the pool"}
CORRECTIONS = [{"section": "680.26", "says": "bond the pool"}]
SAMPLE = (
    "kiln.yaml",
    "scenarios/workshop-feeder.yaml",
    "old-work/range-behind-a-bare-subpanel.yaml",
    "readings/terminals-and-testers-that-fail.yaml",
    "permits",
    "services/main-across-the-cellar.yaml",
)


def jobs() -> list[Path]:
    out: list[Path] = []
    for name in SAMPLE:
        path = JOBS / name
        out += sorted(path.glob("*.yaml"))[:2] if path.is_dir() else [path]
    return out


@pytest.mark.parametrize("path", jobs(), ids=lambda path: path.stem)
def test_every_finding_is_equal_with_and_without_a_head(path):
    body = read_yaml(path.read_text(), path.name)
    with_head = copy.copy(body)
    with_head |= {"head": HEAD, "photographs": PHOTOGRAPHS, "corrections": CORRECTIONS}
    bare, headed = (inspect(each, chainer="plain").as_dict() for each in (body, with_head))
    assert bare["findings"] and headed == bare


def test_a_head_is_seen_by_whom_it_is_for(capsys, mine, tmp_path):
    job = with_head(tmp_path, HEAD)
    seen = {}
    for audience in AUDIENCES:
        main(["sheet", job, "--for", audience, "--prices", mine, "--draft", "--json"])
        seen[audience] = json.loads(capsys.readouterr().out)["head"]
        whats = list(dict.fromkeys(what for what, _ in seen[audience]))
        assert whats == [key for key in HEAD_FOR[audience] if key in HEAD]
    notes = {audience for audience, head in seen.items() if "notes" in dict(head)}
    assert notes == {"helper", "office"}  # what is noted of a customer is not for the customer
    assert "access" not in dict(seen["customer"])
    assert ["visits", "2026-12-10 solar array"] in seen["helper"]


@pytest.mark.parametrize("form", ["text", "markdown", "html"])
@pytest.mark.parametrize("audience", AUDIENCES)
def test_markup_in_a_head_is_text(capsys, mine, tmp_path, form, audience):
    markup = {key: MARKUP for key in HEAD if key not in ("dates", "visits")}
    job = with_head(tmp_path, {**markup, "visits": [MARKUP], "dates": {"offered": "2026-12-01"}})
    main(["sheet", job, "--for", audience, "--prices", mine, "--draft", "--as", form])
    out = capsys.readouterr().out
    if form == "html":
        assert "<script" not in out and "&lt;script&gt;alert(&quot;1&quot;)" in out
        assert "<img" not in out and "onerror" in out
    elif form == "markdown":
        head = next(line for line in out.split("\n") if line.startswith("- Customer"))
        bare = head.replace("\\*", "").replace("\\<", "").replace("\\[", "").replace("\\`", "")
        assert not any(sign in bare for sign in "*<[`")
    assert "\x1b" not in out or form != "text"


def test_text_for_a_terminal_holds_no_sign_that_acts(capsys, tmp_path):
    job = tmp_path / "job.yaml"
    text = (JOBS / "kiln.yaml").read_text().split("expect:")[0]
    job.write_text(text + 'head: {customer: "a\\u202eb\\u009bc"}\n')
    try:
        main(["sheet", str(job), "--for", "helper"])
    except SystemExit:
        pass
    said = capsys.readouterr()
    assert "\u202e" not in said.out + said.err and "\x9b" not in said.out + said.err


def test_every_slip_in_a_head_is_told_at_once():
    with pytest.raises(Faults) as caught:
        opened(
            {**A_KILN, "head": {"custmer": "x", "visits": {"a": "b"}, "dates": {"x": "y"}}}, How()
        )
    said = str(caught.value)
    assert 'did you mean "customer"?' in said and '"y" is no day' in said
    assert "visits is no line of text" in said


def with_head(folder: Path, head: dict) -> str:
    job = folder / "job.yaml"
    text = (JOBS / "kiln.yaml").read_text().split("expect:")[0]
    job.write_text(text + "head: " + json.dumps(head) + "\n")
    return str(job)
