"""The JSON Schema of jobs and packs: what whywire reads it accepts, and what is wrong in form it
does not.

Held against every shipped file and every broken one (tests/faults) by the jsonschema library, with
the scalars typed as editors type them (editor.py). Whose fault lies deeper than form is listed here
by its code, and why no schema sees it.
"""

import json
import re
from pathlib import Path

import jsonschema
import pytest
from editor import FAILED, as_an_editor_reads
from hypothesis import given, settings
from hypothesis import strategies as st
from sweeps import examples, tenth

from whywire.engine.answering.inspection import body_of
from whywire.engine.basics.errors import Collector, Fault
from whywire.engine.basics.units import POINTS, UNITS, WRITTEN, parse_quantity
from whywire.engine.language.knowledge import KB
from whywire.engine.law import library
from whywire.engine.law.library import Library
from whywire.engine.law.places import chain_of, in_force, known_packs
from whywire.engine.running.job import Job, mapping_of
from whywire.engine.writing import schema

ROOT = Path(__file__).resolve().parents[2]
FAULTS = ROOT / "tests" / "faults"
JOBS = [*sorted((KB / "jobs").rglob("*.yaml")), *sorted((KB / "places").glob("*/jobs/*.yaml"))]
FILES = [
    p
    for p in [*sorted((KB / "base").rglob("*.yaml")), *sorted((KB / "places").rglob("*.yaml"))]
    if "jobs" not in p.parts
]
WORDS = {
    "$schema",
    "$ref",
    "$defs",
    "title",
    "description",
    "type",
    "enum",
    "const",
    "properties",
    "patternProperties",
    "additionalProperties",
    "propertyNames",
    "required",
    "items",
    "anyOf",
    "oneOf",
    "allOf",
    "not",
    "if",
    "then",
    "else",
    "pattern",
    "minimum",
    "maximum",
    "minLength",
    "maxLength",
    "minItems",
    "maxItems",
    "minProperties",
    "maxProperties",
}
_MADE: dict = {}
_REFUSED: dict = {}
# jsonschema asks `re` for each pattern each time, and there are more of them than it keeps
re._MAXCACHE = 20_000


LIBRARY = Library()
KNOWLEDGE = LIBRARY.in_force()


def validators(*folders: Path) -> tuple:
    """The validators of jobs and of packs, for the base and the packs in *folders*."""
    key = library.KB, folders
    if key not in _MADE:
        lib = LIBRARY if key == (KB, ()) else Library(folders)
        m = lib.material("2023", None)
        made = (
            schema.job_schema(lib.words, m.tables, ["Kestrel County"]),
            schema.pack_schema(lib, m),
        )
        # the others are made by the same lines, and to hold a schema against its own takes seconds
        for s in made if not _MADE else ():
            jsonschema.Draft202012Validator.check_schema(s)
        _MADE[key] = tuple(map(jsonschema.Draft202012Validator, made))
    return _MADE[key]


def of_a_place(path: Path) -> tuple:
    """The packs that are in force for a job, or that the file of a place lies in, lowest first."""
    if KB / "places" not in path.parents:
        return ()
    if "jobs" in path.parts:
        return tuple(in_force(*body_of(str(path))).folders)
    known = known_packs()
    pack = next(p for p in known.values() if p.folder in path.parents)
    return tuple(p.folder for p in reversed(chain_of(pack, known, Collector())))


def refused(validator, data) -> list[str]:
    key = id(validator), repr(data)  # most files read alike in both versions of YAML
    if key not in _REFUSED:
        _REFUSED[key] = _refused(validator, data)
    return _REFUSED[key]


def _refused(validator, data) -> list[str]:
    return [f"{list(e.absolute_path)}: {e.message[:300]}" for e in validator.iter_errors(data)]


@pytest.mark.sweep
@pytest.mark.parametrize("older", [False, True], ids=["yaml-1.2", "yaml-1.1"])
def test_every_shipped_file_is_accepted(older):
    assert len(JOBS) > 20 and len(FILES) > 60
    for path in tenth(JOBS + FILES, lambda p: p.parent, f"schema {older}"):
        data = as_an_editor_reads(path.read_text("utf-8"), older)
        assert refused(validators(*of_a_place(path))[path in FILES], data) == [], path


# ---- broken files --------------------------------------------------------------------------------

FORM = set(
    """action-about action-cost action-form action-key adopts-form answers-key bad-character beside-form colon-in-sentence date-form edit-key correction-key edit-verb empty-file example-form example-key file-form head-key indentation item-form item-name job-form
    key-not-a-word line-form merge-key must-exist negative no-colon no-dash no-source no-space no-such-item no-such-size no-value not-closed not-text not-utf-8 not-yaml outside-folder pack-form pack-key
    pack-lacks pack-layer rule-about rule-form rule-key rule-name rule-says rule-verb short-name-told tab table-form table-key table-lacks tag thing-name too-deep too-many-faults too-many-pieces
    tries-form two-documents two-versions unit-missing unknown-alias value-form value-key warns-at when-form which-date words-after-a-quote words-form words-key words-name words-tier
    words-reserved words-type work-doer work-states work-verb yes-or-no""".split()  # noqa: E501
)
# in a pack they lie in a line, a table's CSV, or an example
FORM_OF_A_JOB = {
    "division-by-zero",
    "not-a-choice",
    "not-a-quantity",
    "number-too-long",
    "unknown-unit",
    "wrong-unit",
}
DEEPER = {
    "how much a part takes is said in one of three ways": "work-amount",
    "a line has a grammar of its own, and to the schema it is text": (
        "and-in-choices cannot-read division-by-zero ends-early expected gauge-order is-what"
        " left-over line-too-deep line-too-long name-expected no-test not-a-list not-a-quantity"
        " not-one-thing number-expected or-in-choices two-meanings unlike-units wrong-type"
        " wrong-unit unknown-unit unknown-column key-missing unknown-word not-a-choice"
        " value-too-long"
    ),
    "sentences name facts in braces": "answers-form",
    "a name must stand elsewhere, in this file or another": (
        "no-such-rule no-such-table no-such-row no-such-edit no-such-pack link-unknown id-in-use"
        " step-name words-kind words-stands-for words-comes-with words-none-where words-back"
        " code-form code-lacks words-try words-means words-alias words-twice words-choice"
        " words-endless words-nowhere exception-kind two-heads old-name-in-use"
    ),
    "numbers lie in the CSV beside the file": (
        "blank-cell empty-table no-such-file not-csv number-too-long ragged-row same-keys"
        " table-across table-column table-direction unsorted cell-word table-no-row"
    ),
    "an example is run": (
        "example-value example-word example-wrong example-moved example-needed example-otherwise"
    ),
    "what an edit means hangs on what it edits": (
        "already-withdrawn counts-as edit-form edit-lacks exception-gives instead-of-itself"
        " never-so two-answers maker-limit meaning-missing meaning-moved no-date no-op-edit"
        " not-in-edition not-there of-missing refers-for-ever relieves replace-loses says-old"
        " says-other section-reaches size-no-matter stale stands-twice struck-before take-line"
        " unit-change"
    ),
    "packs and days stand against each other": (
        "edit-never edit-without-law edition edition-choice edition-mismatch edition-unknown"
        " edits-clash permit-date-unknown window-empty windows-overlap"
    ),
    "what people write in words and forms of their own is kept, or read": (
        "describes-none unknown-key told-two-ways which-of-several date-unclear words-forms"
    ),
    "things of a job stand in relation": "circle feeds-itself nothing-in-it too-many-things",
    "a day that the calendar lacks, and a cold that nature lacks, have the form of one": (
        "no-such-date too-cold"
    ),
    "whether an amount is likely hangs on its unit, or on a table": "not-usual words-usual",
    "what a word says to a note hangs on tables and on other words": "words-note",
    "an editor's parser lets it pass": "comment unseen-character written-twice",
}
DEEP = {c: why for why, codes in DEEPER.items() for c in codes.split()}


def broken(folder: str) -> list[tuple[Path, set]]:
    return [
        (
            p,
            {
                line.split(" ", 1)[0]
                for line in p.with_suffix(".txt").read_text().splitlines()
                if line and not line.startswith(" ")
            },
        )
        for p in sorted((FAULTS / folder).glob("*.yaml"))
    ]


def is_refused(path: Path, validator, older: bool = False) -> bool:
    """Whether an editor says that something is wrong: its parser, or the schema."""
    data = path.read_bytes()
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return True
    # an editor would write the aliases out, as the reader will not
    if path.stem.startswith(("too-many-pieces", "too-deep")):
        return True
    read = as_an_editor_reads(text, older)
    return read is FAILED or not validator.is_valid(read)


@pytest.mark.parametrize("folder", ["jobs", "places", "packs", "edits"])
@pytest.mark.parametrize("older", [False, True], ids=["yaml-1.2", "yaml-1.1"])
def test_what_is_wrong_in_form_is_refused(folder, older, monkeypatch):
    if folder in ("packs", "edits"):
        monkeypatch.setattr(library, "KB", FAULTS / ("kb" if folder == "packs" else "edits/kb"))
    validator = validators()[folder in ("packs", "edits")]
    of_form = FORM | (FORM_OF_A_JOB if folder == "jobs" else set())
    accepted = [
        p.stem
        for p, codes in broken(folder)
        if codes & of_form and not is_refused(p, validator, older)
    ]
    assert accepted == []


def test_whose_fault_lies_deeper_is_listed_and_no_other(monkeypatch):
    every = {
        c
        for folder in ("jobs", "places", "packs", "edits")
        for _, codes in broken(folder)
        for c in codes
    }
    assert every <= FORM | set(DEEP), (
        f"say in FORM or DEEPER whether a schema can see: {sorted(every - FORM - set(DEEP))}"
    )
    assert (
        FORM & set(DEEP) == set()
        and FORM_OF_A_JOB <= set(DEEP)
        and FORM <= every
        and set(DEEP) <= every
    )
    passes = {
        c
        for folder in ("jobs", "places")
        for p, codes in broken(folder)
        if not is_refused(p, validators()[0])
        for c in codes
    }
    for folder, kb in (("packs", "kb"), ("edits", "edits/kb")):
        monkeypatch.setattr(library, "KB", FAULTS / kb)
        passes |= {
            c for p, codes in broken(folder) if not is_refused(p, validators()[1]) for c in codes
        }
    assert set(DEEP) <= passes, (
        f"the schema sees these: they belong to FORM: {sorted(set(DEEP) - passes)}"
    )


# ---- values: what the reader takes, the schema takes, and the other way round --------------------


def reads(unit: str, text: str) -> bool:
    try:
        return parse_quantity(text, unit)[0] >= 0 or unit == "°C"
    except Fault:
        return False


NUMBERS = st.one_of(
    st.sampled_from(
        [
            "0",
            "35",
            "1,500",
            "1,50",
            "2.5",
            ".5",
            "5.",
            "1-1/2",
            "1 1/2",
            "3/4",
            "1/0",
            "+3",
            "-3",
            "- 3",
            "1e3",
            "0x10",
            "nan",
            "",
            "3 4",
        ]
    ),
    st.integers(0, 99999).map(str),
    st.decimals(0, 999, places=2).map(str),
)
MARKS = st.one_of(
    st.sampled_from(
        [
            "",
            " ",
            ".",
            "inches.",
            "FEET",
            "Ft",
            "MOHM",
            "mOhm",
            "Deg F",
            "bananas",
            "sq  in",
            "6 in",
            "hp 2",
        ]
    ),
    st.sampled_from([*UNITS, *POINTS, *WRITTEN]),
    st.sampled_from([*WRITTEN]).map(str.upper),
)


@pytest.mark.sweep
@settings(max_examples=examples(1500), deadline=None)
@given(
    st.sampled_from([*(u for u in UNITS if u != "%"), "°C", "%"]),
    NUMBERS,
    st.sampled_from(["", " ", "  "]),
    MARKS,
)
def test_an_amount_is_taken_where_the_reader_takes_it(unit, number, space, mark):
    text = f"{number}{space}{mark}"
    assert bool(re.search(_text_form(unit)["pattern"], text)) == reads(unit, text), (unit, text)


def _text_form(unit: str) -> dict:
    form = schema.amount(unit)
    return form["anyOf"][0] if "anyOf" in form else form


@pytest.mark.parametrize(
    "text, unit",
    [
        ("6 ft 7 in", "ft"),
        ("6' 7\"", "in"),
        ("6'7-1/2\"", "ft"),
        ("35'", "ft"),
        ("30 amps", "A"),
        ("1.5 HP", "hp"),
        ("80 F", "°C"),
        ("-4 °C", "°C"),
        ("2025-09-02", "date"),
        ("5", "count"),
        ("50 %", "count"),
    ],
)
def test_what_people_write_is_taken(text, unit):
    assert reads(unit, text) and re.search(_text_form(unit)["pattern"], text)


def facts():
    """Every fact of every kind that holds a choice, a row, or yes and no."""
    return [
        (k, w)
        for k in LIBRARY.words.kinds.values()
        for w in k.words.values()
        if w.type[0] in ("choice", "row", "flag")
    ]


FACTS = facts()
LOOSER = st.sampled_from(
    [
        str,
        str.upper,
        str.title,
        str.lower,
        lambda t: t.replace(" ", "_"),
        lambda t: f"a {t}",
        lambda t: f"NEMA {t}",
        lambda t: f"{t}R",
        lambda t: f" {t} ",
        lambda t: f"#{t}",
        lambda t: t.split(" ")[0],
        lambda t: t.replace(" AWG", " gauge"),
        lambda t: t.replace("kcmil", "MCM"),
        lambda t: f"{t} in",
        lambda t: t + '"',
        lambda t: t + "x",
        lambda t: t.replace(" ", ""),
        lambda t: "unknown",
        lambda t: "none",
    ]
)


@pytest.mark.sweep
@settings(max_examples=examples(800), deadline=None)
@given(st.integers(0, len(FACTS) - 1), st.integers(0, 500), LOOSER, st.booleans())
def test_a_choice_or_a_size_is_taken_where_the_reader_takes_it(n, pick, looser, older):
    kind, w = FACTS[n]
    job, packs = validators()
    tables = KNOWLEDGE.tables
    words = (
        [*w.type[1], *w.means]
        if w.type[0] == "choice"
        else (
            ["yes", "no", "y", "false"]
            if w.type[0] == "flag"
            else list(
                tables[w.type[1]].order(
                    "size"
                    if "size" in tables[w.type[1]].keys
                    else next(iter(tables[w.type[1]].keys))
                )
            )
        )
    )
    text = looser(words[pick % len(words)])
    assert accepted(job, kind, w, text, older) == taken(kind, w, text), (kind.name, w.name, text)


def accepted(job, kind, w, text: str, older: bool) -> bool:
    value = as_an_editor_reads(
        f"x: {json.dumps(text)}" if text != text.strip() or text[:1] in "#" else f"x: {text}", older
    )["x"]
    return job.evolve(
        schema={"$defs": job.schema["$defs"], "$ref": schema._ref(kind.name, w.name)["$ref"]}
    ).is_valid(value)


def taken(kind, w, text: str) -> bool:
    """Whether the reader of jobs takes *text* for this fact."""
    job = Job.__new__(Job)
    job.k, job.name, job.faults, job._links = KNOWLEDGE, "job", Collector(), []
    from whywire.engine.language.things import Meta

    x = [None] * KNOWLEDGE.width[kind.name]
    x[0] = Meta("thing", kind.name, "thing")
    try:
        job.fact(x, KNOWLEDGE.words.kinds[kind.name].words[w.name], w.name, mapping_of(text))
    except Fault:
        return False
    return True


def test_every_name_of_a_fact_is_taken_and_the_plain_ones_are_offered():
    job, _ = validators()
    for kind in LIBRARY.words.kinds.values():
        d = job.schema["$defs"][schema._slug(kind.name)]
        for w in kind.words.values():
            if (kind.name, w.name) == ("job", "job"):
                continue
            assert (w.name in d["properties"]) or not w.ask, (
                f"{w.name} of {kind.name} is asked for and not offered"
            )
            for name in (w.name, *(a for a, n in kind.aliases.items() if n == w.name)):
                for form in {
                    name,
                    name.replace(" ", "_"),
                    name.replace(" ", "-"),
                    name.upper(),
                    name.title(),
                }:
                    read = Job._key(kind, form)
                    known = form in d["properties"] or any(
                        re.search(p, form) for p in d["patternProperties"]
                    )
                    assert known == (read is not None), f'"{form}" of {kind.name}'
        for short in kind.short:
            if short not in kind.words:
                assert short not in d["properties"] and all(
                    said == {"not": {}}
                    for p, said in d["patternProperties"].items()
                    if re.search(p, short)
                )


# ---- what an editor shows ------------------------------------------------------------------------


def subschemas(s):
    """Every schema within *s*: (schema, whether it is one)."""
    if isinstance(s, dict):
        yield s
        for k, v in s.items():
            if k in ("properties", "patternProperties", "$defs"):
                for x in v.values():
                    yield from subschemas(x)
            elif k in (
                "items",
                "additionalProperties",
                "propertyNames",
                "not",
                "if",
                "then",
                "else",
            ):
                yield from subschemas(v)
            elif k in ("anyOf", "oneOf", "allOf"):
                for x in v:
                    yield from subschemas(x)


def test_only_words_that_older_drafts_know_and_patterns_that_every_editor_reads():
    for v in validators():
        for s in subschemas(v.schema):
            assert set(s) <= WORDS, set(s) - WORDS
            for p in [*([s["pattern"]] if "pattern" in s else []), *s.get("patternProperties", ())]:
                # no groups by name, no look-behind, no escapes that a strict reader refuses
                assert not re.search(r"\(\?(?!:|!)|\\[^\\^$.*+?()\[\]{}|sdwWSn]|\\[AZb]", p), p
            if "$ref" in s:
                from urllib.parse import unquote

                assert unquote(s["$ref"].removeprefix("#/$defs/")) in v.schema["$defs"], s["$ref"]


def test_every_key_of_a_pack_says_what_it_is_for():
    _, pack = validators()
    d = pack.schema["$defs"]
    for name in ("rule", "value", "table", "action", "head", *schema.VERBS):
        for key, s in d[name]["properties"].items():
            assert s.get("description"), f"{name}: {key} has no description"
    for name in d["facts"]["additionalProperties"]["properties"].values():
        assert name.get("description")
    assert set(d["rule"]["properties"]) == set(schema.RULE) and set(
        d["table"]["properties"]
    ) == set(schema.TABLE)
    for verb in schema.VERBS.values():
        assert set(d[verb.name]["properties"]) == set(verb.keys)


def test_an_editor_shows_the_question_and_what_a_rule_says():
    job, pack = validators()
    assert (
        "How long is the run, one way?" in job.schema["$defs"]["circuit.length"]["description"]
        and "tape along the route" in job.schema["$defs"]["circuit.length"]["description"]
    )
    names = {c["const"]: c["description"] for c in pack.schema["$defs"]["name-of-a-rule"]["anyOf"]}
    assert (
        names["next-size-up"]
        == "If no standard rating matches the ampacity, the next standard rating up may protect the"
        " wire."
    )
    assert job.schema["$defs"]["job.place"]["anyOf"][0] == {"enum": ["Kestrel County"]}


@pytest.mark.parametrize(
    "text",
    [
        "- amend: next-size-up\n  cite: §1\n  reason: x\n  strike: a\n",
        "- withdraw: next-size-op\n  cite: §1\n  reason: x\n",
        "- narrow: next-size-up\n  cite: §1\n  reason: x\n  when: a\n",
        "pack: x\nplace: Town\n",
        "pack: x\ncolour: red\n",
        "- rule: a\n  says: x\n  about: circuit\n  practice: y\n  must: a\n  should: b\n",
        "words:\n  circuit:\n    flood zone: {is: perhaps}\n",
    ],
)
def test_slips_in_a_pack_are_underlined(text):
    assert not validators()[1].is_valid(as_an_editor_reads(text))
