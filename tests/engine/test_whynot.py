"""`whynot`: what is said to be rejected by nothing is told in the job's own file, inspected anew,
and nothing comes out worse.
"""

from pathlib import Path

import pytest
from sweeps import sweep

from whywire.engine import inspect, load
from whywire.engine.answering.answers import Unclear
from whywire.engine.answering.inspection import body_of
from whywire.engine.answering.tiers import is_small
from whywire.engine.language.rules import JUDGING
from whywire.engine.running.chain import FAILS, OFF, REFERS, TELL, World
from whywire.engine.running.job import read_job

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
SIZES = ("14 AWG", "10 AWG", "6 AWG", "1/0 AWG")
RATINGS = ("15 A", "20 A", "35 A", "50 A", "80 A", "125 A")
K = load()
SAUNA = {
    "job": "sauna",
    "edition": "2023",
    "circuits": {
        "sauna": {
            "volts": "240 V",
            "length": "65 ft",
            "load": {"type": "sauna", "watts": "8 kW", "connection": "hard-wired"},
            "breaker": {"rating": "40 A"},
            "conductors": {"size": "8 AWG", "material": "copper"},
            "segments": [
                {
                    "method": "NM-B",
                    "length": "65 ft",
                    "place": "basement",
                    "location": "dry",
                    "bundle": "none",
                }
            ],
        }
    },
}


def plain(v):
    return (
        {str(k): plain(x) for k, x in v.items()}
        if isinstance(v, dict)
        else [plain(x) for x in v]
        if isinstance(v, list)
        else str(v)
    )


def asked():
    """(job, circuit, part, fact, values) of every circuit of a shipped job that tells the fact."""
    for path in sorted(JOBS.rglob("*.yaml")):
        for name, c in plain(body_of(path)[0]).get("circuits", {}).items():
            for part, fact, values in (
                ("breaker", "rating", RATINGS),
                ("conductors", "size", SIZES),
            ):
                if isinstance(c.get(part), dict) and fact in c[part]:
                    yield pytest.param(
                        path,
                        name,
                        part,
                        fact,
                        values,
                        id=f"{path.stem}-{name}-{part}".replace(" ", "-"),
                    )


def answers(body: dict, name: str) -> dict:
    """What each requirement on a circuit comes to, of a job run from the beginning; workmanship
    that is not told is taken as usual.
    """
    w = World(K, read_job(body, K)).run()
    return {
        (r.id, x[0].id): a
        for kind, xs in w.by_kind.items()
        for x in xs
        if f"{x[0].id}.".startswith(f"circuits.{name}.")
        for r in K.rules.values()
        if r.about == kind
        and r.verb in (*JUDGING, "refers")
        and (a := w.answer(r, x)) != OFF
        and not (a == TELL and r.verb != "refers" and is_small(w, r, x))
    }


def in_cable(circuit: dict) -> bool:
    """Whether the whole run of a circuit is in cable."""
    segments = circuit.get("segments", [])
    runs = segments if isinstance(segments, list) else [*segments.values()]
    cables = ("NM-B", "UF-B", "MC", "AC", "SE", "TC-ER-JP")
    return bool(runs) and all(isinstance(run, dict) and run.get("method") in cables for run in runs)


@sweep(
    "path, name, part, fact, values",
    asked(),
    lambda p: (p.values[0].parent.name, p.values[2]),
)
def test_what_nothing_rejects_makes_nothing_worse(path, name, part, fact, values):
    body = {**plain(body_of(path)[0]), "edition": "2023"}
    body.pop("expect", None)
    found, before = inspect(body), answers(body, name)
    for value in values:
        got = found.why_not(name, part, f"{fact}={value}").word
        there = {**body["circuits"][name][part], fact: value}
        if fact == "size" and in_cable(body["circuits"][name]):
            there.pop("EGC size", None)  # a cable brings its own
        circuits = {**body["circuits"], name: {**body["circuits"][name], part: there}}
        after = answers({**body, "circuits": circuits}, name)
        worse = {
            k: a
            for k, a in after.items()
            if a in (FAILS, TELL, REFERS)
            and before.get(k) not in (a, FAILS)
            and not (a == TELL and K.rules[k[0]].verb == "refers")
        }
        assert (
            not worse
            if got == "YES."
            else got in ("NO.", "ADVICE.", "NOT YET.", "IN DISPUTE.")
            or got == "CAN'T TELL."
            and {TELL, REFERS} & {*after.values()}
        ), (value, got, worse)


def test_a_breaker_that_the_wire_cannot_bear_is_no_yes():
    """The breaker's own tests let 80 A pass for a 48 A kiln; the 6 AWG that is told does not."""
    kiln = inspect(JOBS / "kiln.yaml")
    got = kiln.why_not("kiln", "rating=80 A")
    assert got.word == "NO." and any("55 A >= 80 A" in r.text for r in got.rows)
    assert kiln.why_not("kiln", "rating=90 A").sentence.startswith("A 90 A breaker is too big")


def test_a_value_alone_is_of_what_it_names():
    kiln = inspect(JOBS / "kiln.yaml")
    for alone, whole in (
        ("breaker=50 A", "breaker rating=50 A"),
        ("conductors=6 AWG", "conductors size=6 AWG"),
        ("location=wet", "segment 1 location=wet"),
    ):
        assert (
            kiln.why_not("kiln", *alone.split()).as_dict()
            == kiln.why_not("kiln", *whole.split()).as_dict()
        )
    # and without the sign
    for said, whole in (
        ("10 AWG", "conductors size=10 AWG"),
        ("breaker 50 A", "breaker rating=50 A"),
        ("EMT", "segment 1 method=EMT"),
    ):
        assert (
            kiln.why_not("kiln", *said.split()).as_dict()
            == kiln.why_not("kiln", *whole.split()).as_dict()
        )


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        (
            "kiln breaker=blue",
            (
                '"blue" is neither a value of kiln breaker nor a rule\n    write ATTRIBUTE=VALUE,'
                " as in size=6 AWG, or the name of a rule"
            ),
        ),
        (
            "kiln nextt-size-up",
            (
                '"nextt-size-up" is neither a value of kiln nor a rule\n    did you mean'
                ' "next-size-up"?'
            ),
        ),
        (
            "kiln 50 A",
            (
                'whose is 50 A? write "kiln load current=50 A" or "kiln breaker rating=50 A" or'
                ' "kiln disconnect rating=50 A"'
            ),
        ),
        (
            "kiln",
            "what of kiln?\n    write ATTRIBUTE=VALUE, as in size=6 AWG, or the name of a rule",
        ),
    ],
)
def test_what_is_not_clear_is_asked_back(said, answer):
    with pytest.raises(Unclear) as e:
        inspect(JOBS / "kiln.yaml").why_not(*said.split())
    assert str(e.value) == answer


def test_nothing_is_called_right_that_fails():
    """8 AWG carries the 33.33 A of a sauna heater, and yet not the 125 % of it."""
    sauna = inspect(SAUNA)
    got = sauna.why_not("sauna", "size=10 AWG")
    assert got.word == "NO." and "carries the load" not in " ".join(
        [got.sentence, *(r.text for r in got.rows)]
    )
    assert (
        "The 60 A breaker is right."
        in inspect(JOBS / "kiln.yaml").why_not("kiln", "size=6 AWG").sentence
    )


def test_a_larger_breaker_asks_for_the_wire_behind_it():
    got = inspect(SAUNA).why("sauna")
    assert (
        next(r.text for r in got.rows if r.label == "Fix")
        == "a 45 A breaker and 6-2 NM-B (10 AWG ground): 45 A (3.33 A to spare)"
    )


def test_what_is_refused_is_no_yes():
    sauna = inspect(SAUNA)
    got = sauna.why_not("sauna", "load=30 A")
    assert (
        got.word == "CAN'T TELL."
        and got.rows[0].label == "Refused"
        and "Read the nameplate again" in got.rows[0].text
    )
    # the wire is too small in a pipe as well
    assert sauna.why_not("sauna", "method=EMT").sentence.endswith("it would not mend what fails.")
    right = {
        **SAUNA["circuits"]["sauna"],
        "breaker": {"rating": "45 A"},
        "conductors": {"size": "6 AWG", "material": "copper"},
    }
    got = inspect({**SAUNA, "circuits": {"sauna": right}}).why_not("sauna", "method=EMT")
    assert got.word == "CAN'T TELL." and "What insulation" in got.rows[1].text
    # what is told of the wire decides it; how the pipe is bent is workmanship
    got = inspect({**SAUNA, "circuits": {"sauna": right}}).why_not(
        *"sauna method=EMT insulation=THWN-2".split()
    )
    rows = {r.label: r.text for r in got.rows}
    assert got.word == "YES." and rows["Unseen"].startswith("taken as done the usual way")


def test_what_fails_for_another_reason_rejects_nothing():
    service = inspect(JOBS / "editions" / "new-service-for-a-house.yaml")
    got = service.why_not("service", "rating=150 A")
    rows = {r.label: r.text for r in got.rows}
    assert (
        got.word == "YES."
        and "rating 150 A >= 128 A?  Yes, 22 A to spare." in [r.text for r in got.rows]
        and rows["Mends"].startswith("The 125 A service is too small for this house")
        and "The 2 disconnects are together in one enclosure." in rows["Besides"]
    )
    got = service.why_not("service", "rating=110 A")
    assert got.word == "NO." and got.rows[0].text.endswith("110 A >= 128 A?  No, 18 A short.")


def test_what_waits_for_another_fact_is_no_reason():
    """Nobody told how the cable lies, nor whether a GFCI is there: that keeps requirements waiting,
    and says nothing of a size or a rating.
    """
    oven = inspect(
        {
            "job": "oven",
            "edition": "2023",
            "building": "one-family dwelling",
            "circuits": {
                "oven": {
                    "volts": "120/240 V",
                    "length": "55 ft",
                    "load": {"type": "wall oven", "watts": "7.2 kW", "connection": "hard-wired"},
                    "breaker": {"rating": "40 A"},
                    "receptacle": "none",
                    "conductors": {"size": "10 AWG", "material": "copper"},
                    "segments": [
                        {
                            "method": "NM-B",
                            "length": "55 ft",
                            "place": "indoors",
                            "location": "dry",
                            "bundle": "none",
                        }
                    ],
                }
            },
        }
    )
    assert [
        oven.why_not("oven", *said.split()).word
        for said in ("8 AWG", "breaker 30 A", "10 AWG", "breaker 25 A")
    ] == ["YES.", "YES.", "NO.", "NO."]


def kiln():
    return inspect(JOBS / "kiln.yaml")


@pytest.mark.parametrize(
    "words",
    [
        ("kiln", "breaker=60"),
        ("kiln", "breaker", "60"),
        ("kiln", "rating=60"),
        ("kiln", "breaker", "rating=60"),
    ],
)
def test_a_number_without_a_unit_is_read_in_the_only_one_it_can_have_and_that_is_said(words):
    got, told = kiln().why_not(*words), kiln().why_not("kiln", "breaker", "rating=60 A")
    assert ("Read", "60 is read as 60 A.") in [(r.label, r.text) for r in got.rows]
    assert (got.word, got.sentence, got.root) == (
        told.word,
        told.sentence,
        told.root,
    ) and "Read" not in [r.label for r in told.rows]


@pytest.mark.parametrize(
    ("words", "write"),
    [
        (("kiln", "length=60"), ["kiln length=60 ft", "kiln length=60 in"]),
        (("kiln", "load", "power=60"), ["kiln load power=60 W", "kiln load power=60 kW"]),
        (
            ("kiln segment 1", "ambient=120"),
            ["kiln segment 1 ambient=120 °F", "kiln segment 1 ambient=120 °C"],
        ),
        (("kiln", "60"), ["kiln load current=60 A", "kiln breaker rating=60 A"]),
    ],
)
def test_a_number_that_could_be_several_things_is_asked_for_in_words_to_type(words, write):
    with pytest.raises(Unclear) as e:
        kiln().why_not(*words)
    assert all(f'"{w}"' in str(e.value) for w in write)
    for w in write:
        assert kiln().why_not(w).word in ("YES.", "NO.", "CAN'T TELL.", "NOT YET.")


CABLE = {
    "method": "NM-B",
    "length": "25 ft",
    "place": "conditioned space",
    "location": "dry",
    "bundle": "none",
}


def range_of(**circuit):
    return {
        "job": "range",
        "edition": "2023",
        "building": "one-family dwelling",
        "circuits": {
            "range": {
                "volts": "120/240 V",
                "load": {"type": "range", "power": "14 kW", "connection": "cord and plug"},
                "breaker": {"rating": "50 A"},
                "conductors": {"size": "6 AWG", "material": "copper", "EGC size": "10 AWG"},
                "segments": [CABLE],
                "receptacle": {"configuration": "14-50"},
                "more than one receptacle": "no",
                **circuit,
            }
        },
    }


def hot_heater(rating: str, **circuit) -> dict:
    """8 AWG in an attic of 140 °F: 55 × 0.71 = 39.05 A (Table 310.16, Table 310.15(B)(1)(1))."""
    cable = CABLE | {"length": "60 ft", "place": "attic", "ambient": "140 °F"}
    heater = {
        "volts": "240 V",
        "length": "60 ft",
        "load": {"type": "other", "current": "30 A", "continuous": "no"}
        | {"motor operated": "no", "hermetic": "no"},
        "breaker": {"rating": rating},
        "conductors": {"size": "8 AWG", "material": "copper"},
        "segments": [cable],
        **circuit,
    }
    return {"job": "heater", "edition": "2023", "circuits": {"heater": heater}}


def test_an_exception_that_nobody_has_shown_is_not_yet():
    """40 A is the next standard rating over 39.05 A (240.4(B)), unless it feeds more than one
    receptacle, which nobody said.
    """
    for told in ("30 A", "40 A"):
        got = inspect(hot_heater(told)).why_not("heater", "breaker", "40 A")
        assert got.word == "NOT YET." and any(
            r.label == "Unless" and "Next size up" in r.text and r.source == "240.4(B)"
            for r in got.rows
        )


@pytest.mark.parametrize("told, several", [("40 A", "yes"), ("60 A", "no"), ("60 A", "yes")])
def test_a_value_that_is_wrong_as_it_is_told_is_rejected(told, several):
    """That nothing comes out worse by a breaker that is there says nothing for it."""
    found = inspect(hot_heater(told, **{"more than one receptacle": several}))
    got = found.why_not("heater", "breaker", told)
    assert (got.word, got.rule) == ("NO.", "breaker-protects-conductors")
    assert found.why("heater", "breaker").word == "NO."
    assert found.why_not("heater", "breaker", "35 A").word != "NO."


def test_an_exception_that_rests_on_what_is_remote_is_no():
    """40 A on 6 AWG that 8 AWG would serve wants an 8 AWG ground (250.122(B)); that a qualified
    person has reckoned it in writing (its exception) is remote until somebody says so.
    """
    got = inspect(range_of()).why_not("range", "breaker", "40 A")
    assert got.word == "NO." and not any(r.label == "Unless" for r in got.rows)
    assert any(r.label == "Fails" and r.source == "250.122(B)" for r in got.rows)
    found = inspect(range_of(breaker={"rating": "40 A"}))
    assert found.why("range", "egc-grows-with-the-hots").word == "NO."
    wire = {"size": "6 AWG", "material": "copper", "EGC size": "10 AWG"}
    shown = range_of(conductors=wire | {"qualified EGC calculation": "yes"})
    assert inspect(shown).why_not("range", "breaker", "40 A").word == "YES."
    # 40 A, which would fail
    assert "smallest" not in inspect(range_of()).why_not("range", "breaker", "45 A").sentence


def test_what_binds_is_said_of_the_value_that_is_tried():
    """The ground that 6 AWG hots want is not the one that 10 AWG hots want, where 10 AWG is their
    least.
    """
    pipe = {
        "method": "PVC 40",
        "trade size": "1",
        "length": "300 ft",
        "place": "underground",
        "location": "wet",
        "bundle": "none",
        "cover": "18 in",
        "cover location": "yard",
    }
    kiln = {
        "volts": "240 V",
        "load": {"type": "kiln", "current": "24 A", "connection": "hard-wired"},
        "breaker": {"rating": "30 A"},
        "receptacle": "none",
        "segments": [pipe],
        "conductors": {
            "size": "6 AWG",
            "material": "copper",
            "insulation": "THWN-2",
            "EGC size": "6 AWG",
        },
        "supply termination": {"marking": "75 °C"},
        "load termination": {"marking": "75 °C"},
    }
    found = inspect(
        {
            "job": "long",
            "edition": "2023",
            "building": "one-family dwelling",
            "circuits": {"it": kiln},
        }
    )
    for size in ("10 AWG", "4 AWG"):
        assert not any("26,240 cmil by" in r.text for r in found.why_not("it", f"size={size}").rows)


def test_a_service_too_small_for_the_optional_calculation_is_no_yes():
    """220.82 is for 100 A and more: a smaller service is judged by the standard calculation, and
    where that cannot be told it does not pass.
    """
    body = {
        "job": "house",
        "edition": "2023",
        "building": "one-family dwelling",
        "service": {
            "rating": "100 A",
            "volts": "120/240 V",
            "work": "left as it is",
            "existing dwelling": "yes",
            "floor area": "1000 ft²",
            "garage area": "0 ft²",
            "small-appliance circuits": "2",
            "laundry circuits": "1",
            "loads": {
                "range": {"type": "range", "power": "8 kW"},
                "water heater": {"type": "water heater", "power": "4.5 kW"},
            },
        },
    }
    # 1000 ft² and three circuits of 1500 VA: 7500 VA, of which 4500 count 35 % (Table 220.45),
    # 4575 VA; one heater whole (220.53), 4500 VA; of a range of 8 kW 80 % (Table 220.55, column B),
    # 6400 VA; on 240 V 64.5 A, of which less than half an ampere is dropped (220.5(B))
    got = inspect(body).why_not("service", "rating=60 A")
    assert got.word == "NO." and any(
        r.label == "Fails" and "standard calculation. 60 A >= 64 A?" in r.text for r in got.rows
    )
    assert inspect(body).why_not("service", "rating=70 A").word == "YES."
    assert inspect(body).why_not("service", "rating=125 A").word == "YES."
    body["service"]["rating"] = "60 A"
    assert inspect(body).why("service").word == "NO."
    del body["service"]["loads"]["water heater"]["power"]
    assert inspect(body).why("service").word == "CAN'T TELL."
    body["service"]["rating"] = "100 A"
    got = inspect(body).why_not("service", "rating=60 A")
    assert got.word == "CAN'T TELL." and any(r.label == "Look" for r in got.rows)


def test_advice_that_cannot_be_told_is_no_law():
    """A pump's start may dip the voltage of 14 AWG: how much, nobody can say without its
    locked-rotor amps; it is advice.
    """
    pump = {
        "volts": "240 V",
        "load": {
            "type": "motor",
            "horsepower": "1.5 hp",
            "connection": "hard-wired",
            "overload protection": "built into the motor",
        },
        "breaker": {"rating": "25 A"},
        "receptacle": "none",
        "conductors": {
            "size": "12 AWG",
            "material": "copper",
            "insulation": "THWN-2",
            "EGC size": "10 AWG",
        },
        "segments": [
            {
                "method": "EMT",
                "trade size": "1/2",
                "length": "30 ft",
                "place": "conditioned space",
                "location": "dry",
                "bundle": "none",
            }
        ],
        "supply termination": {"marking": "75 °C"},
        "load termination": {"marking": "75 °C"},
    }
    got = inspect(
        {
            "job": "pump",
            "edition": "2023",
            "building": "one-family dwelling",
            "circuits": {"it": pump},
        }
    ).why_not("it", "size=14 AWG")
    assert (
        got.word == "CAN'T TELL."
        and "no law rejects it" in got.sentence
        and [r.text for r in got.rows if r.label == "Waits"] == ["starting-dip"]
    )


def test_a_size_keeps_its_letters_at_the_beginning_of_a_sentence():
    kiln = {
        "volts": "240 V",
        "length": "40 ft",
        "load": {"type": "kiln", "current": "30 A"},
        "breaker": {"rating": "40 A"},
        "conductors": {"size": "8 AWG", "material": "copper", "insulation": "THWN-2"},
        "segments": [
            {
                "method": m,
                "trade size": "3/4",
                "length": "20 ft",
                "place": "basement",
                "location": "dry",
                "bundle": "none",
            }
            for m in ("EMT", "PVC 40")
        ],
    }
    got = inspect({"job": "kiln", "edition": "2020", "circuits": {"fuser": kiln}}).why_not(
        "fuser", "size=10 AWG"
    )
    assert got.sentence.startswith(
        "Fuser conductors at 10 AWG, ampacity at the terminations: 30 A, where 37.5 A is the least"
    )


def test_a_limit_of_one_binds_nothing_that_a_person_could_change():
    """12 AWG in place of 14 AWG, and the ground is told anew: it is short, and that the ratio of
    sizes is 1 says nothing about it. The cable that comes with its ground is right.
    """
    cooler = {
        "volts": "120 V",
        "length": "55 ft",
        "load": {"type": "cord-and-plug load", "current": "9 A", "continuous": "no"},
        "breaker": {"rating": "20 A"},
        "receptacle": {"configuration": "5-20"},
        "conductors": {"size": "14 AWG", "material": "copper", "EGC size": "14 AWG"},
        "segments": [
            {
                "method": "NM-B",
                "length": "55 ft",
                "place": "basement",
                "location": "dry",
                "bundle": "none",
            }
        ],
    }
    got = inspect(
        {
            "job": "cooler",
            "edition": "2023",
            "building": "one-family dwelling",
            "circuits": {"cooler": cooler},
        }
    )
    right = got.why_not("cooler", "size=12 AWG")
    assert right.word == "YES."
    assert {r.label: r.text for r in right.rows}["With it"] == (
        "EGC size 12 AWG, not the 14 AWG told"
    )
    got = got.why_not("cooler", "size=12 AWG", "EGC size=14 AWG")
    assert (
        got.word == "NO."
        and got.sentence.startswith("Size 12 AWG of cooler conductors")
        and [r.label for r in got.rows] == ["Fails", "Why", "Mends", "Based on", "Fix"]
    )


# ---- several at once, what comes along, units, what mends and breaks -----------------------------


def rows_of(got) -> dict:
    return {
        label: [r.text for r in got.rows if r.label == label]
        for label in {r.label for r in got.rows}
    }


def test_several_changes_are_tried_at_once():
    """6 AWG carries 55 A; 4 AWG 70 A, and that bears a 70 A breaker."""
    kiln = inspect(JOBS / "kiln.yaml")
    assert kiln.why_not("kiln", "rating=70 A").word == "NO."
    got = kiln.why_not(*"kiln size=4 AWG rating=70 A".split())
    assert got.word == "YES." and got.sentence == (
        "Nothing rejects size 4 AWG of kiln conductors and rating 70 A of kiln breaker."
    )
    assert "ampacity 70 A >= 70 A?  Yes, at the limit." in rows_of(got)["Check"]
    # parts may be named, in any order, with commas, and by a value alone
    for said in (
        "kiln breaker rating=70 A, conductors size=4 AWG",
        "kiln breaker=70 A size=4 AWG",
        "kiln rating=70 A conductors=4 AWG",
    ):
        assert kiln.why_not(*said.split()).word == "YES.", said
    with pytest.raises(Unclear, match="is not a value and the name of another fact"):
        kiln.why_not(*"kiln size=4 AWG colour=blue".split())


def test_a_cable_brings_its_ground_and_a_ground_that_is_asked_for_stays():
    kiln = inspect(JOBS / "kiln.yaml")
    got = kiln.why_not("kiln", "size=4 AWG")
    assert rows_of(got)["With it"] == ["EGC size 8 AWG, not the 10 AWG told"]
    assert kiln.w.things["circuits.kiln.conductors"][0].told["EGC size"] == "10 AWG"
    got = kiln.why_not(*"kiln size=4 AWG rating=70 A EGC size=10 AWG".split())
    assert got.word == "NO." and got.rows[0].text == (
        "The 10 AWG ground is too small behind a 70 A breaker."
    )
    # a wire in a pipe brings none
    pipe = inspect(JOBS / "answers" / "kiln-in-pipe.yaml")
    assert "With it" not in rows_of(pipe.why_not("kiln", "size=4 AWG"))


def test_what_is_asked_in_fahrenheit_is_answered_so():
    """The kiln's job tells no heat: it is asked about in the unit of the question, both sides."""
    kiln = inspect(JOBS / "kiln.yaml")
    got = kiln.why_not(*"kiln segment 1 ambient=100 °F".split())
    said = " ".join([got.sentence, *(r.text for r in got.rows)])
    assert "100 °F < 194 °F?  Yes, 94 °F to spare." in said and "°C" not in said
    assert "ambient" not in kiln.w.things["circuits.kiln.segments.1"][0].written


def test_a_no_says_what_it_would_mend_and_what_it_would_break():
    kiln = inspect(JOBS / "kiln.yaml")
    got = kiln.why_not(*"kiln size=4 AWG rating=80 A".split())
    rows = rows_of(got)
    assert got.word == "NO." and "70 A >= 80 A?  No, 10 A short." in " ".join(rows["Fails"])
    assert rows["Mends"] == ["6 AWG NM-B is 5 A too small for this kiln."]


def test_what_another_circuit_would_fail_is_a_no():
    """A cable of a crowded hole that is loaded alike: what breaks is looked for everywhere."""
    holes = inspect(JOBS / "interactions" / "five-cables-in-a-foamed-hole.yaml")
    got = holes.why_not("f", "current=20 A")
    assert got.word == "NO." and "load-after-correction" not in got.sentence
