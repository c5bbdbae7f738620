"""The laws of the note: its word agrees with the findings and the exit code, it is never right over
a fault, its design is one that can be built, and it is short.

Shipped jobs, the same with a fact or two left out, and circuits drawn from a seed.
"""

from __future__ import annotations

import copy
import json
import random
import re
import statistics

import pytest
from drawn_jobs import JOBS, without
from noted_jobs import body, drawn, note_at, noted, oven, shipped, tub
from sweeps import WHOLE

from whywire.cli import main as cli
from whywire.cli.layout import plain
from whywire.cli.show_note import show_note, show_walk
from whywire.engine import inspect
from whywire.engine.answering.note import Writer, law_of, note_of
from whywire.engine.answering.standing import CODES, NOT_LOOKED_AT, NOT_RIGHT, RIGHT, RIGHT_IF
from whywire.engine.basics.units import Range
from whywire.engine.language import expressions as ex
from whywire.engine.running.chain import FAILS, PASSES, World
from whywire.engine.running.job import read_job
from whywire.engine.running.rerun import tell

pytestmark = pytest.mark.sweep
# ---- one word, that agrees -----------------------------------------------------------------------


def test_the_word_agrees_with_the_findings():
    words = set()
    for name, found, note in noted():
        stand = found.standing
        fails = {(f.rule, f.on) for f in stand.findings if f.answer == "fails"}
        turnable = {(f.rule, f.on) for f in stand.turnable}
        shown = {(f.rule, f.on) for f in stand.faults}
        # what fails by what was taken for granted alone is open in the job as it is told
        asked = {(one.finding.rule, one.finding.on) for one in stand.open} & fails
        told = {(f.rule, f.on): f.answer for f in found.findings}
        assert all(told[key] != "fails" for key in asked), name
        assert shown | turnable | asked == fails and not shown & (turnable | asked), name
        assert all(f.unless for f in stand.turnable), name
        # every fault stands in exactly one item
        in_items = [(rule, on) for item in note.faults for rule in item.rules for on in item.on]
        assert shown <= set(in_items), name
        deciding = [one for one in note.tiers if one["tier"] == "decides"]
        wanted = (
            NOT_RIGHT
            if shown
            else NOT_LOOKED_AT
            if any(lack.first for lack in stand.lacks)
            else RIGHT_IF
            if turnable or deciding or stand.disputes
            else RIGHT
        )
        assert note.headline == wanted, name
        assert found.exit_code == note.exit_code == CODES[wanted], name
        assert bool(note.faults) is (wanted == NOT_RIGHT), name
        words.add(wanted)
    assert words == {RIGHT, RIGHT_IF, NOT_RIGHT, NOT_LOOKED_AT}


def test_right_is_never_said_over_a_fault_or_what_decides():
    """Read off the run itself, not off what the note made of it."""
    rights = 0
    for name, found, note in noted():
        if note.headline != RIGHT:
            continue
        rights += 1
        assert not found.disputes, name
        for finding in found.findings:
            assert finding.answer != "fails", (name, finding.rule)
            if finding.answer != "cannot tell":
                continue
            tiers = {one["tier"] for one in note.tiers if one["rule"] == finding.rule}
            # what is taken for granted or put in, and shown, decides it; or it is no more than
            # workmanship
            assert tiers <= {"workmanship", "remote", "advice"}, (name, finding.rule)
            stand = found.standing
            assert tiers or stand.guesses or stand.built, (name, finding.rule)
    assert rights >= len(noted()) // 15


def test_what_hurts_is_no_workmanship():
    """No requirement whose breach may hurt somebody is passed over as usual work, but for those
    that are known to be looked for on the walk; each of these reads something of workmanship.
    """
    k = shipped(JOBS[0]).k
    rows = k.tables["harm-of-faults"].rows
    assert len(rows) > 15
    for row in rows:
        rule = k.rules.get(row["rule"])
        if rule is None:  # of another edition
            continue
        words = [
            k.words.kinds[path.kinds[-1]].words.get(path.names[-1])
            for path in ex.walk(rule.test)
            if isinstance(path, ex.Path) and path.names and path.kinds
        ]
        passed_over = [word.name for word in words if word and word.tier == "workmanship"]
        assert row["found"] in ("asked", "on the walk"), rule.id
        assert bool(passed_over) == (row["found"] == "on the walk"), (rule.id, passed_over)


def test_the_command_says_so_too(tmp_path, capsys):
    for path in JOBS if WHOLE else random.Random(3).sample(JOBS, 6):
        code = cli.main(["inspect", str(path), "--chainer", "plain", "--json"])
        said = json.loads(capsys.readouterr().out)
        assert code == CODES[said["note"]["headline"]]
        code_of_screen = cli.main(["inspect", str(path), "--chainer", "plain"])
        screen = capsys.readouterr().out
        assert code == code_of_screen
        assert re.search(rf"(?m)^{said['note']['headline']}\b", screen)


# ---- a design that can be built ------------------------------------------------------------------


def test_the_design_is_what_a_fresh_run_with_its_mends_gives():
    """The mends shown, told to the job and run from the beginning: nothing fails that did not, what
    they mend is gone, and every value of the lines is that of the run.
    """
    mended = 0
    for name, found, note in noted():
        mends = [change for fault in note.faults for change in fault.mend]
        stand = found.standing
        job = read_job(found.body, found.k, found.name)
        tell(job, [(guess.of, guess.fact, guess.value) for guess in stand.guesses])
        tell(job, mends)
        fresh = World(found.k, job).run()
        rules = found.k.rules
        fails = {
            (rule.id, x[0].id)
            for rule in rules.values()
            if rule.verb in ("must", "must not")
            for x in fresh.by_kind[rule.about]
            if fresh.answer(rule, x) == FAILS
        }
        before = {(f.rule, f.on) for f in stand.findings if f.answer == "fails"}
        assert fails <= before, (name, fails - before)
        for fault in note.faults:
            if fault.mend:
                mended += 1
                assert not fails & {(r, on) for r in fault.rules for on in fault.on}, (name, fault)
        if note.right_then:
            assert not fails, name
        other = inspect(found.body, edition=found.k.edition) if not mends else None
        if other is not None:
            assert note_of(other).design == note.design, name
    assert mended >= len(noted()) // 3


def test_a_value_that_fails_is_no_value_to_build_by():
    """A told size that is too small does not stand in the line of its circuit."""
    seen = 0
    for name, found, note in noted():
        lines = {line.name: line.pieces for line in note.design}
        for fault in note.faults:
            rule, on = fault.rules[0], fault.on[0]
            if rule != "conductor-125-percent":
                continue
            x = found.thing(on)
            size = str(x[0].told.get("size", ""))
            pieces = lines.get(fault.circuits[0], [])
            kept = any(p.startswith(f"{size} ") for p in pieces if size)
            # a mend of something else (a charger turned down, pipe with marked ends) makes the
            # same size right
            told = {(of, fact) for of, fact, _ in fault.mend}
            elsewhere = told and (on, "size") not in told
            assert not kept or elsewhere and passes_mended(found, fault), (name, pieces)
            seen += bool(size) and not kept
    assert seen >= len(noted()) // 30


def passes_mended(found, fault) -> bool:
    """Whether what fails of one fault passes in a run from the beginning that is told its mend."""
    job = read_job(found.body, found.k, found.name)
    tell(job, [(guess.of, guess.fact, guess.value) for guess in found.standing.guesses])
    tell(job, list(fault.mend))
    fresh = World(found.k, job).run()
    return all(
        fresh.answer(found.k.rules[rule], fresh.things[on]) == PASSES
        for rule in fault.rules
        for on in fault.on
        if found.k.rules[rule].about == fresh.things[on][0].kind
    )


def test_a_size_that_a_mend_makes_right_stays():
    """A charger turned down where nobody turns it up again: what was too small is not."""
    path = next(path for path in JOBS if path.stem == "carport-post-on-an-app")
    found = shipped(path)
    note = note_of(found)
    fault = next(f for f in note.faults if "conductor-125-percent" in f.rules)
    assert {of for of, _, _ in fault.mend} == {"circuits.van.load"}
    assert passes_mended(found, fault)
    assert any(piece.startswith("8 AWG ") for piece in note.design[0].pieces)


# ---- a circuit answers for itself ----------------------------------------------------------------


def alone(job: dict, name: str) -> dict:
    out = copy.deepcopy(job)
    out["circuits"] = {name: out["circuits"][name]}
    out.pop("expect", None)
    return out


def test_an_answer_depends_on_its_circuit_and_not_on_the_others():
    """The faults and the line of a circuit that hangs on no other are the same when it stands
    alone.
    """
    rng, seen = random.Random(5), 0
    jobs = [body(path) for path in JOBS]
    jobs += [job for job, _ in drawn() if job["job"] == "drawn"]
    links = {"panels", "bundles", "boxes", "measurements", "service"}
    jobs = [job for job in jobs if len(job.get("circuits", {})) > 1 and not links & job.keys()]
    for job in jobs if WHOLE else rng.sample(jobs, 10):
        circuits = job["circuits"]
        together = note_of(inspect(job))
        for name in circuits:
            single = note_of(inspect(alone(job, name)))
            mine = {f.says for f in together.faults if name in f.circuits}
            assert {f.says for f in single.faults} == mine, (job["job"], name)
            ours = [line.pieces for line in together.design if line.name == name]
            assert [line.pieces for line in single.design] == ours, (job["job"], name)
            asked = {q.fact for q in together.questions} if not together.more_questions else None
            if asked is not None:
                assert {q.fact for q in single.questions} <= asked, (job["job"], name)
            seen += 1
    assert seen > 10


def test_the_same_words_asked_of_two_kinds_of_things_say_of_which():
    """The watts of a dryer of the list, and of what a feeder feeds."""
    path = next(path for path in JOBS if path.stem == "cottage-on-sixty-amperes")
    job = without(body(path), [("panels", "cottage", "loads", "dryer", "power")])
    asks = [question.ask for question in note_of(inspect(job)).questions]
    watts = [ask for ask in asks if ask.endswith("How many watts or VA are on the nameplate?")]
    assert len(watts) == len(set(watts)) == 2 and any("ryer: " in ask for ask in watts), asks


def test_each_question_is_asked_once():
    for name, _, note in noted():
        asked = [question.fact + question.ask for question in note.questions]
        assert len(asked) == len(set(asked)) <= 5, name


def test_what_the_design_gives_is_not_asked():
    for name, found, note in noted():
        for question in note.questions:
            for of in question.of:
                x = found.standing.world.things[of]
                givers = found.k.order.givers.get((x[0].kind, question.fact), ())
                word = found.k.words.kinds[x[0].kind].words[question.fact]
                known = x[word.slot] is not None and not isinstance(x[word.slot], Range)
                assert not (known and any(g.verb == "designs" for g in givers)), (name, question)


# ---- how it reads --------------------------------------------------------------------------------

# phrases of the engine that nobody says on a job
HABITS = (
    "nobody told",
    "is told as",
    "taken to be",
    "reckoned",
    "stands in",
    "brings a",
    "is asked for",
    "sets aside",
    "lifts",
    "picked",
    "is so",
    ">=",
    "<=",
    "e+",
)
REPORT = ("PASSES", "FAILS", "CANNOT TELL", "NOT CHECKED", "passed", "failed", "Deficien")


def test_no_phrase_of_the_engine_stands_on_the_note():
    for name, found, note in noted():
        text = plain(show_note(note))
        for phrase in (*HABITS, *REPORT):
            assert phrase not in text, (name, phrase)
        names = {word for word in re.findall(r"[\w-]+", text) if "-" in word}
        # what is a fact of a job is a word of the trade, though a rule is called after it
        spoken = {word for kind in found.k.words.kinds.values() for word in kind.words}
        assert not (names - spoken) & found.k.rules.keys(), name


def test_a_note_is_short():
    """80 columns; a fault in three lines; five faults in 32; half of the shipped ones in 18."""
    for name, _, note in noted():
        lines = plain(show_note(note)).split("\n")
        assert all(len(line) <= 80 for line in lines), name
        # the first line is the title, which may begin with a number of its own
        found = (n for n, line in enumerate(lines) if re.match(r"\d  \S|\d\d \S", line))
        numbers = [n for n in found if n]
        assert len(numbers) == len(note.faults), name
        for start in numbers:
            rest = lines[start + 1 :]
            more = [n for n, line in enumerate(rest) if not line.startswith("   ")]
            assert more[0] <= 2, (name, lines[start : start + 5])
        if len(note.faults) <= 5 and len(note.design) <= 3:
            assert len(lines) <= 32, (name, len(lines))


def test_what_one_mend_mends_is_all_named_with_its_fault():
    """Three rules want more of the range's breaker, and one mend serves them and its wire."""
    (path,) = (path for path in JOBS if path.stem == "range-by-a-guess")
    found = inspect(path)
    shown = {(r, on) for fault in note_of(found).faults for r in fault.rules for on in fault.on}
    assert {(f.rule, f.on) for f in found.standing.faults} <= shown


def test_half_of_the_shipped_notes_have_eighteen_lines_at_most():
    """Of all of them: the half of a drawn tenth may be any."""
    lengths = [len(show_note(note_at(path))) for path in JOBS]
    assert len(lengths) > 80 and statistics.median(lengths) <= 18, sorted(lengths)


def test_the_list_to_carry_holds_each_thing_once():
    for name, _, note in noted():
        for place in note.walk:
            assert len(place.says) == len(set(place.says)), name
        shown = plain(show_walk(note))
        assert shown.count("[ ] ") == note.workmanship, name


# ---- single scenes -------------------------------------------------------------------------------


def test_what_the_trade_takes_for_granted_is_shown():
    note = note_of(inspect(oven()))
    assert note.headline == RIGHT
    assert "the run is not bundled with others" in note.assumed
    # and never counts as said: the finding itself still waits
    found = inspect(oven())
    assert any(
        f.answer == "cannot tell" for f in found.findings if f.rule == "load-after-correction"
    )


def test_the_heat_of_an_attic_is_assumed_and_replaced_by_what_is_told():
    attic = [{"method": "NM-B", "length": "30 ft", "place": "attic", "location": "dry"}]
    assert "attic air 130 °F (right up to 149 °F)" in note_of(inspect(oven(segments=attic))).assumed
    told = [attic[0] | {"ambient": "90 °F"}]
    assert not any("attic air" in said for said in note_of(inspect(oven(segments=told))).assumed)


@pytest.mark.parametrize("heat, headline", [("149 °F", RIGHT), ("150 °F", NOT_RIGHT)])
def test_where_the_answer_flips_is_where_it_flips(heat, headline):
    """55 A at 90 °C: 31.9 A (0.58 of it) carries 30 A at 149 °F, 22.55 A (0.41) does not above."""
    attic = {"method": "NM-B", "length": "30 ft", "place": "attic", "location": "dry"}
    note = note_of(inspect(oven(segments=[attic | {"ambient": heat}])))
    assert note.headline == headline


def test_what_fails_by_our_guess_of_the_heat_alone_is_asked_for():
    attic = [{"method": "NM-B", "length": "30 ft", "place": "attic", "location": "dry"}]
    load = {"type": "kiln", "current": "32 A", "connection": "hard-wired"}
    wire = {"size": "10 AWG", "material": "copper"}
    note = note_of(inspect(oven(segments=attic, load=load, conductors=wire)))
    said = [question for question in note.questions if question.fact == "ambient"]
    assert not any("load-after-correction" in fault.rules for fault in note.faults)
    assert said and said[0].gives[0].endswith("right"), note.questions


def test_a_tub_is_looked_at():
    # what is around it, and what is bonded, is asked for; and nothing is right without it
    asked = note_of(inspect(oven(load={"type": "spa", "current": "30 A"})))
    assert asked.headline in (RIGHT_IF, NOT_RIGHT)
    # told whole it is right
    note = note_of(inspect(tub()))
    assert note.headline == RIGHT, plain(show_note(note))
    hidden = tub()
    hidden["circuits"]["oven"]["disconnect"]["in sight"] = "no"
    note = note_of(inspect(hidden))
    assert note.headline == NOT_RIGHT and [f.source for f in note.faults] == ["680.13"]


def test_what_is_not_looked_at_is_said_once():
    """A fountain beside the tub, of which somebody spoke: an article of its own."""
    note = note_of(inspect(tub() | {"fountain": {"depth": "4 ft"}}))
    assert note.headline == NOT_LOOKED_AT and note.exit_code == 3
    assert "Article 680" in plain(show_note(note)).split("\n\n")[0]
    assert len(note.not_looked_at) == len(set(note.not_looked_at))
    assert "everything of Article 680" in note.not_looked_at


def test_a_fault_that_a_marking_may_turn_is_right_if():
    pipe = [{"method": "EMT", "length": "30 ft", "place": "basement", "location": "dry"}]
    more = {"load": {"type": "kiln", "current": "48 A", "connection": "hard-wired"}}
    wire = {"size": "6 AWG", "material": "copper", "insulation": "THWN-2", "EGC size": "10 AWG"}
    job = oven(segments=pipe, conductors=wire, breaker={"rating": "60 A"}, **more)
    note = note_of(inspect(job))
    assert (note.headline, note.exit_code) == (RIGHT_IF, 3)
    assert note.what == "both ends of oven are marked 75 °C."
    job["circuits"]["oven"] |= {
        "supply termination": {"temperature rating": "75 °C"},
        "load termination": {"temperature rating": "75 °C"},
    }
    assert note_of(inspect(job)).headline == RIGHT


def test_a_design_is_told_as_it_is_asked_for():
    """Nobody chose the wire: it is designed, and not asked for."""
    note = note_of(inspect(oven(conductors={"material": "copper"})))
    assert note.headline == RIGHT
    assert note.design[0].pieces[1].startswith("8-2 NM-B")


def test_the_same_fault_on_two_circuits_is_one_thing_to_fix():
    job = oven(conductors={"size": "12 AWG", "material": "copper"})
    job["circuits"]["second"] = copy.deepcopy(job["circuits"]["oven"])
    note = note_of(inspect(job))
    assert note.what == "1 thing to fix." and note.faults[0].circuits == ["oven", "second"]
    assert "(circuits oven and second)" in " ".join(plain(show_note(note)).split())


def test_writing_a_note_leaves_the_inspection_as_it_was():
    path = str(JOBS[-1])
    before, after = inspect(path).as_dict(), inspect(path)
    note_of(after)
    assert after.as_dict() == before
    assert Writer(after.standing, "x", law_of(after), []).note().headline == note_of(after).headline
