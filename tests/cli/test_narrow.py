"""On a narrow terminal no row, no source and no word of the answer is left out without a mark."""

from pathlib import Path

import pytest

from whywire.cli.layout import plain, row
from whywire.cli.show_answer import show_answer
from whywire.cli.show_note import show_note
from whywire.engine import inspect
from whywire.engine.answering.answers import Answer, Row
from whywire.engine.answering.note import note_of

ROOT = Path(__file__).resolve().parents[2]
JOBS = ["kiln.yaml", "answers/kiln-in-pipe.yaml", "scenarios/workshop-feeder.yaml"]


def words(text: str) -> str:
    return "".join(text.split())


@pytest.fixture(scope="module", params=JOBS)
def answers(request):
    found = inspect(ROOT / "kb/jobs" / request.param)
    return [found.why(f.on, f.rule) for f in found.findings[:8]]


@pytest.mark.parametrize("width", [40, 52, 66])
def test_no_row_is_left_out_without_a_mark(answers, width):
    for answer in answers:
        rows = [(r.label, r.text, r.source) for r in answer.rows if r.text]
        sentence = f"{answer.word} {answer.sentence}"
        lines = plain(show_answer(answer, width)).split("\n")
        said = words("".join(lines))
        assert words(sentence) in said
        left_out = [r for r in rows if words(r[1])[:12] not in said]
        if left_out:
            assert lines[-1].endswith(f"… {len(left_out)} more: --json")
        for _, text, source in rows:
            if source and words(text)[:12] in said:
                assert words(source.split(",")[0])[:3] in said, source


def test_what_is_left_out_is_counted_within_the_dozen():
    many = Answer("NO.", "So.", [Row(f"Row {n}", f"text {n}", rank=n) for n in range(20)])
    lines = plain(show_answer(many, 80)).split("\n")
    assert len(lines) == 12 and lines[-1].endswith("  … 9 more: --json")


def test_a_long_sentence_is_said_whole():
    long = Answer("NO.", "word " * 200, [])
    lines = plain(show_answer(long, 40)).split("\n")
    assert len(lines) > 6 and words("".join(lines)) == "NO." + "word" * 200


def test_of_a_row_whole_pieces_are_left_out_and_none_is_cut():
    pieces = [f"air {n} °F in the space called {n}" for n in range(70, 100)]
    lines = plain(row("Based on", "; ".join(pieces) + ".", "", 80, 2)).split("\n")
    said = " ".join(" ".join(lines).removeprefix("Based on").split())
    assert len(lines) == 2 and "…" not in said
    *kept, more = said.rstrip(".").split("; ")
    assert kept == pieces[: len(kept)] and more == f"and {len(pieces) - len(kept)} more"
    # what is of one piece stays whole
    whole = plain(row("Why", "word " * 60, "", 80, 2)).split()
    assert whole.count("word") == 60


def test_a_source_that_has_no_room_takes_a_line():
    lines = plain(row("Check", "a text that takes the whole width of it", "Table 310.16", 40, 1))
    assert "Table 310.16" in lines


@pytest.mark.parametrize("width", [40, 52, 66])
@pytest.mark.parametrize("job", JOBS)
def test_a_circuit_keeps_every_piece_of_its_line(job, width):
    note = note_of(inspect(ROOT / "kb/jobs" / job))
    said = words(plain(show_note(note, width)))
    for line in note.design:
        assert line.pieces and all(words(piece) in said for piece in line.pieces)
