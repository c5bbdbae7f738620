"""JSON Schema of job files and pack files, made from the vocabulary and the rules: what an editor
completes, explains and underlines.

A schema sees the form of a file, not what it means: `whywire check` and `whywire inspect` see the
rest. What whywire reads, the schema accepts (tests/writing/test_schema.py); the other way round it
holds for form only. Editors type what they parse (true, 2023, 0.5), and whywire keeps text: a piece
of text is any of these here. Only words of JSON Schema that older drafts have too are used, so that
an editor that knows an older one reads it as well.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import Any

from ..basics import forms
from ..basics.forms import LINE, LISTED, OTHER, PROSE, Form, Key
from ..basics.units import POINT, POINTS, UNITS, WRITTEN, dimension, unit_of
from ..language.actions import COSTS
from ..language.actions import DIRECTIONS as UP_OR_DOWN
from ..language.forms import (
    ACTION,
    ANSWERS,
    DOERS,
    EXAMPLE,
    PLAIN_ANSWERS,
    RULE,
    TABLE,
    VALUE,
    WORD,
)
from ..language.knowledge import Material
from ..language.lines import RESERVED
from ..language.lowering import HOLD, TAKES, WORK
from ..language.rules import (
    CODE_BY,
    EDITIONS,
    FILLING,
)
from ..language.rules import LAYERS as SOURCES
from ..language.rules import VERBS as RULE_VERBS
from ..language.tables import DIRECTIONS, Table
from ..language.words import Kind, Word, Words, a_noun
from ..law.edits import COMMON
from ..law.forms import EDIT, EXAMPLE_OF_AN_EDIT, HEAD, LAYERS
from ..law.library import Library
from ..law.sections import SECTION
from ..law.verbs.registry import VERBS, verb_of
from ..law.verbs.verb import Verb
from ..running.beside import CORRECTION, CORRECTIONS, PHOTOGRAPHS
from ..running.beside import FORM as HEAD_OF_A_JOB
from ..running.beside import HEAD as AT_THE_HEAD
from ..running.job import NO, UNKNOWN, YES

DRAFT = "https://json-schema.org/draft/2020-12/schema"
SCALAR: dict[str, Any] = {"type": ["string", "number", "boolean"]}
DATE = r"\d{4}-\d{2}-\d{2}"
# a day as people write it; of 3/2/2026 it is asked which is meant, which no form shows
MONTH = r"[A-Za-z]{3,9}\.?"
DAYS = (
    r"\d{1,2}[/.]\d{1,2}[/.]\d{4}",
    MONTH + r"\s+\d{1,2}(?:st|nd|rd|th)?,?\s+\d{4}",
    r"\d{1,2}(?:st|nd|rd|th)?\s+" + MONTH + r",?\s+\d{4}",
)
LINE_OR_LIST = {"type": ["string", "number", "boolean", "array"], "items": SCALAR}
NUMBER = (
    r"(?:\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+\.?|\d*\.\d+)(?:\s*[-"
    r" ]\s*\d+\s*/\s*0*[1-9]\d*|\s*/\s*0*[1-9]\d*)?"
)


# ---- patterns, in the part of regular expressions that every editor reads ------------------------


def plain(text: str) -> str:
    """*text* as a pattern."""
    return re.sub(r"([\\^$.*+?()\[\]{}|])", r"\\\1", text)


def loosely(text: str) -> str:
    """*text* in capitals or small letters, as a pattern."""
    return "".join(
        (
            f"[{c.upper()}{c.lower()}]"
            if c.lower() != c.upper() and len(c.lower()) == len(c.upper()) == 1
            else plain(c)
        )
        for c in text
    )


def one_of(patterns: Iterable[str]) -> str:
    """Any of *patterns*, the longest first."""
    return "(?:" + "|".join(sorted(dict.fromkeys(patterns), key=lambda p: (-len(p), p))) + ")"


def whole(pattern: str) -> str:
    """*pattern*, with nothing but spaces round it."""
    return rf"^\s*{pattern}\s*$"


def spelled(unit: str) -> list[str]:
    """Every way to write *unit* that a person may take, as patterns: the exact one, and what
    WRITTEN says of it.
    """
    out = [plain(unit)]
    for w, u in WRITTEN.items():
        if u != unit:
            continue
        if w != w.lower():
            out.append(plain(w))
        elif w in ("mohm", "mohms"):  # a capital M is a million of them
            out.append("m" + loosely(w[1:]))
        else:
            out.append(loosely(w))
    return out


def amount(unit: str) -> dict:
    """A quantity that measures what *unit* does, as people write it."""
    if unit == "date":
        return {"type": "string", "pattern": whole(one_of([DATE, *DAYS]))}
    units = [
        p
        for u in [*UNITS, *POINTS]
        if u != "date" and dimension(u) == dimension(unit)
        for p in spelled(u)
    ]
    sign = "[-+]?" if dimension(unit) == POINT else r"\+?"
    bare = "?" if unit == "count" else ""  # a count needs no unit
    forms = [rf"{sign}\s*{NUMBER}\s*{one_of(units)}{bare}\.*"]
    if unit in ("ft", "in"):
        forms.append(
            r"""\d+\s*(?:ft|feet|foot|'|’|′)\.?\s*\d+(?:\.\d+)?"""
            r"""(?:[ -]0*[1-9]\d*/0*[1-9]\d*)?\s*(?:inches|inch|in|"|”|″)\.?"""
        )
    meant = rf"(?:\s*\(\s*{loosely('meant')}\s*\))?"  # what is not usual, and so
    text = {"type": "string", "maxLength": 50, "pattern": whole(one_of(forms) + meant)}
    return {"anyOf": [text, {"type": "number", "minimum": 0}]} if unit == "count" else text


def choice(words: Iterable[str], others: Iterable[str] = ()) -> dict:
    """One of *words* (which an editor offers), or of what else people write for them."""
    words, others = list(words), list(others)
    every = [*words, *others]
    forms = [loosely(w).replace(" ", "[ _]") + ("[Rr]?" if w[-1:].isdigit() else "") for w in every]
    out = [
        {"enum": words},
        {
            "type": "string",
            "pattern": (
                r"^\s*(?:(?:[Aa]|[Aa][Nn]|[Tt][Hh][Ee]) )?(?:[Nn][Ee][Mm][Aa]"
                rf" )?{one_of(forms)}\s*$"
            ),
        },
    ]
    return {"anyOf": [*out, *typed(every)]}


def typed(words: Iterable[str]) -> list[dict]:
    """What an editor makes of those *words* that look like a number, or like true and false."""
    numbers = sorted(
        {float(w) if "." in w else int(w) for w in words if re.fullmatch(r"\d+(\.\d+)?", w)}
    )
    flags = any(w.lower() in (*YES, *NO, "on", "off") for w in words)
    return ([{"enum": numbers}] if numbers else []) + ([{"type": "boolean"}] if flags else [])


def row_of(table: Table) -> dict:
    """A row of *table*, as people write sizes: 6 AWG, #6, 6 gauge, 250 MCM, 3/4 in."""
    order = list(table.order("size" if "size" in table.keys else next(iter(table.keys))))
    forms: list[str] = []
    numbers: list[str] = []
    for size in order:
        m = re.fullmatch(r"(\d+(?:/0)?) (AWG|kcmil)", size)
        if m and m[2] == "AWG":
            bare = m[1] if "/" not in m[1] else f"(?:{m[1]}|{'0' * int(m[1][0])})"
            forms.append(rf"{bare}(?:\s*(?:[Aa][Ww][Gg]|[Gg][Aa][Uu][Gg][Ee]|[Gg][Aa])\.?)?")
            numbers += [m[1]] if "/" not in m[1] else ["0"] if m[1] == "1/0" else []
        elif m:
            forms.append(rf"{m[1]}\s*(?:[Mm][Cc][Mm]|[Kk][Cc][Mm][Ii][Ll])\.?")
        else:
            numbers.append(size)
        forms.append(plain(size) + '(?: in|"+)?')
    lead = r"(?:(?:[Nn][Oo]\.?|#|[Nn][Uu][Mm][Bb][Ee][Rr])\s*)?"
    return {
        "anyOf": [
            {"enum": order},
            {"type": "string", "pattern": whole(lead + one_of(forms))},
            *typed(numbers),
        ]
    }


BARE = {"type": "string", "pattern": whole(NUMBER)}
UNKNOWN_TEXT = {"type": "string", "pattern": whole(one_of(loosely(u) for u in UNKNOWN))}
YES_OR_NO = {
    "anyOf": [
        {"enum": ["yes", "no", "none"]},
        {"type": "boolean"},
        {"type": "string", "pattern": whole(one_of(loosely(w) for w in (*YES, *NO, "none")))},
    ]
}


# ---- jobs ----------------------------------------------------------------------------------------


def job_schema(words: Words, tables: dict[str, Table], places: Iterable[str] = ()) -> dict:
    """The schema of a job file; *places* are those whose packs are known."""
    defs: dict[str, dict] = {
        "unknown": UNKNOWN_TEXT,
        _slug("yes or no"): YES_OR_NO,
        _slug("name of a thing"): {
            "type": "string",
            "maxLength": 80,
            "pattern": r"^(?!-)(?!\s*$)(?!(?:[Uu]nknown|not known|none|and more)$)[^.@\n]+$",
        },
    }
    for name in sorted(
        {w.type[1] for k in words.kinds.values() for w in k.words.values() if w.type[0] == "row"}
    ):
        defs[_slug("row", name)] = row_of(tables[name]) if name in tables else SCALAR
    for kind in words.kinds.values():
        defs[_slug(kind.name)] = _kind(kind, words, defs)
    top: dict[str, Any] = (
        defs[_slug("job")]
        if "job" in words.kinds
        else {
            "type": "object",
            "properties": {},
            "patternProperties": {},
            "additionalProperties": False,
        }
    )
    if places and "job.place" in defs:
        defs["job.place"] = {**defs["job.place"], "anyOf": [{"enum": sorted(places)}, SCALAR]}
    frame = {
        "job": SCALAR | {"description": "The title of the job."},
        "packs": {
            "description": "Packs that are in force beside the base: names, or folders.",
            "type": ["string", "array"],
            "items": SCALAR,
        },
        "expect": {
            "description": "What must come out: {kiln conductors: {minimum size: 4 AWG}}.",
            "type": "object",
            "additionalProperties": {"type": "object", "additionalProperties": SCALAR},
        },
        **_beside(),
    }
    top = {**top, "properties": {**frame, **top["properties"]}}
    return {
        "$schema": DRAFT,
        **top,
        "title": "A job of whywire",
        "description": "What is told of a wiring job. Leave out what nobody knows.",
        "$defs": defs,
    }


def _beside() -> dict[str, Any]:
    """What no rule reads: the head of a job, its photographs, what an inspector wrote."""

    def form(keys: Form) -> dict[str, Any]:
        days: dict[str, Any] = {"type": "object", "additionalProperties": SCALAR}
        takes = {LISTED: LINE_OR_LIST, PROSE: LINE_OR_LIST, LINE: LINE_OR_LIST, OTHER: days}
        every = {
            name: {**takes.get(key.takes, SCALAR), "description": key.about}
            for name, key in keys.items()
        }
        return {"type": "object", "properties": every, "additionalProperties": False}

    return {
        AT_THE_HEAD: form(HEAD_OF_A_JOB)
        | {"description": "For whom and where it is. It stands on sheets; no finding reads it."},
        PHOTOGRAPHS: {
            "description": "Files beside the job, each with what it shows.",
            "type": "object",
            "additionalProperties": SCALAR,
        },
        CORRECTIONS: {
            "description": "What an inspector wrote, each with its section and its words.",
            "type": ["object", "array"],
            "items": form(CORRECTION),
        },
    }


def _slug(*names: str) -> str:
    return ".".join(n.replace(" ", "-") for n in names)


def _ref(*names: str) -> dict:
    from urllib.parse import quote

    return {"$ref": "#/$defs/" + quote(_slug(*names).replace("~", "~0").replace("/", "~1"))}


def _kind(kind: Kind, words: Words, defs: dict) -> dict:
    """One kind of thing: what may be told of it is offered; what is seldom told, and other names,
    are taken too.
    """
    offered, taken = {}, {}
    others: dict[str, list[str]] = {}
    for alias, name in kind.aliases.items():
        others.setdefault(name, []).append(alias)
    for w in kind.words.values():
        if kind.name == "job" and w.name == "job":
            continue
        defs[_slug(kind.name, w.name)] = _fact(kind, w, others.get(w.name, []), words)
        told = (
            w.ask
            or w.part
            or (w.type[0] in ("ref", "many") and not w.back and w.name not in words.kinds)
        )
        if told:
            offered[w.name] = _ref(kind.name, w.name)
        names = one_of(p for n in (w.name, *others.get(w.name, ())) for p in _keys(n))
        taken[(f"^(?!{plain(w.name)}$)" if told else "^") + rf"\s*{names}\s*$"] = _ref(
            kind.name, w.name
        )
    for short in kind.short:  # to be told where it belongs
        taken[f"^{plain(short)}$"] = {"not": {}}
    return {
        "type": "object",
        "propertyNames": {"pattern": r"^(?!<<$|[\[{])[\s\S]*[^\W_]"},
        "description": f"{a_noun(kind.name)[:1].upper()}{a_noun(kind.name)[1:]}.",
        "properties": offered,
        "patternProperties": taken,
        "additionalProperties": {"description": "Kept and shown; nothing here uses it."},
    }


def _keys(name: str) -> list[str]:
    """The ways in which a key may be written, as patterns."""
    out = [loosely(name)]
    return out + (
        [
            plain(name).replace(" ", "[ _]"),
            *([plain(name).replace(" ", "[ -]")] if "-" not in name else []),
        ]
        if " " in name
        else []
    )


def _fact(kind: Kind, word: Word, others: list[str], words: Words) -> dict:
    """The values of one fact, and what an editor shows about it."""
    about = {
        "title": f"{word.name} of {a_noun(kind.name)}",
        "description": " ".join(_said_of(word, others)),
    }
    if word.part or word.type[0] in ("ref", "many"):
        return about | _things(word, words)
    values = _values(word)
    if word.type[0] == "q" and _unit_may_lack(word, others):
        values = {"anyOf": [*values.get("anyOf", [values]), {"type": "number", "minimum": 0}, BARE]}
    if word.summed:
        values = {"anyOf": [*values.get("anyOf", [values]), {"type": "string"}]}
    # several facts may be written as one: size: 12/2 with ground
    if several := [
        f for f in kind.forms if (word.name,) in f.named and word.name in kind.said_alone
    ]:
        pattern = r"^\s*" + one_of(_form_of(form.said) for form in several)
        forms = [{"type": "string", "pattern": pattern}]
        values = {"anyOf": [*values.get("anyOf", [values]), *forms]}
    return about | values


def _form_of(said: str) -> str:
    """A form in which facts stand in braces, as a pattern."""
    pieces = re.split(r"(\{[^{}]+\})", said)
    return "".join(r"[\w#. ]+?" if p.startswith("{") else loosely(p) for p in pieces)


def _unit_may_lack(word: Word, others: list[str]) -> bool:
    """Whether a number alone is taken: the unit is in a name of the fact, as in kW: 9.6, or nobody
    measures it in another.
    """
    units = (unit_of((name.split() or [""])[-1]) for name in (word.name, *others))
    same = (u for u in units if u in UNITS and dimension(u) == dimension(word.type[2]))
    return bool(word.bare) or any(same)


def _said_of(word: Word, others: list[str]) -> list[str]:
    """What an editor shows about a fact: the question, where to look, what else it is called."""
    said = []
    if word.ask:
        said.append(word.ask)
    elif not word.part:
        said.append(
            "Found by the rules from what names it."
            if word.back
            else "Seldom told: the rules work it out."
        )
    if word.look:
        said.append(f"Look: {word.look}.")
    if word.careful:
        said.append(f"Careful: {word.careful}")
    if word.unit == "date":
        said.append("As 2025-09-02.")
    elif word.unit and word.unit != "count":
        said.append(f"In {word.unit}, or another unit of the same measure.")
    if word.usual:
        said.append(f"Usual: {word.usual.said}.")
    if others:
        said.append("Also called " + ", ".join(others) + ".")
    if word.means:
        said.append("Also: " + ", ".join(f"{a} ({b})" for a, b in word.means.items()) + ".")
    if word.may_be:
        said.append(f"Write {word.may_be} where somebody looked and there is none.")
    return said


def _things(word: Word, words: Words) -> dict:
    """The values of a part, a list of parts, or a link to other things by their names."""
    of = words.kinds[word.type[1]]
    # a thing may be told by its values alone: breaker: 40 A
    text = {"type": ["string", "number"], "not": {"const": "none"}}
    alone = [text] if of.said_alone or of.forms else []
    if word.part in ("many", "open") or word.type[0] == "many" and word.part:
        nothing = {"pattern": whole(one_of(["none", *map(loosely, UNKNOWN)]))}
        return {
            "type": ["object", "array", "string"],
            "propertyNames": _ref("name of a thing"),
            # a fact of one thing is no name of another
            "patternProperties": {
                whole(one_of(p for name in of.words for p in _keys(name))): _ref(word.type[1])
            },
            "additionalProperties": {"anyOf": [_ref(word.type[1]), *alone]},
            "items": {"anyOf": [_ref(word.type[1]), {"const": "and more"}, *alone]},
            **({} if alone else nothing),
        }
    if word.part:
        none = [_ref("yes or no")] if word.part == "optional" else []
        return {"anyOf": [_ref(word.type[1]), *none, {"enum": list(UNKNOWN)}, *alone]}
    only_one = {"minItems": 1, "maxItems": 1} if word.type[0] == "ref" else {}
    types = ["string", "number", "boolean", "array"]
    # what a job lists may be described where it is named
    lists = {w.type[1] for w in words.kinds["job"].words.values() if w.part in ("many", "open")}
    listed = word.type[0] == "ref" and {word.kind, word.type[1]} <= lists
    return {"type": [*types, "object"] if listed else types, "items": SCALAR, **only_one}


def _values(word: Word) -> dict:
    """The values of a fact that is no thing: as people write them, that nobody knows, that there is
    none.
    """
    sort = word.type[0]
    if sort == "text":
        return SCALAR
    own = VALUES[sort](word)
    forms = own["anyOf"] if set(own) == {"anyOf"} else [own]
    if sort == "q" and word.means:
        forms = [*forms, {"enum": list(word.means)}, *typed(word.means)]
    forms = [*forms, _ref("unknown")]
    return {"anyOf": forms + _none_found(word) if word.may_be else forms}


# The values of each sort of fact.
VALUES: dict[str, Callable[[Word], dict]] = {
    "q": lambda word: amount(word.type[2]),
    "flag": lambda word: _ref("yes or no"),
    "choice": lambda word: choice(word.type[1], word.means),
    "row": lambda word: _ref("row", word.type[1]),
}


def _none_found(word: Word) -> list[dict]:
    """What is written where somebody looked and there is none."""
    unmarked = "unmarked" if word.may_be == "not marked" else word.may_be
    forms = (word.may_be, "none", "no marking", "none found", unmarked)
    return [
        {"const": word.may_be},
        {"type": "string", "pattern": whole(one_of(map(loosely, forms)))},
    ]


# ---- packs ---------------------------------------------------------------------------------------

SECTIONS = {
    "type": "object",
    "minProperties": 1,
    "additionalProperties": False,
    "properties": {e: SCALAR for e in EDITIONS},
}
LINES = {"type": "object", "minProperties": 1, "additionalProperties": SCALAR}
EDITION = {"anyOf": [{"enum": [int(e) for e in EDITIONS]}, {"enum": list(EDITIONS)}]}
DAY_OF_A_PERMIT = {
    "type": "string",
    "pattern": whole(DATE + r"(?:\s*\((?:permit|permit date|by permit)\))?"),
}
JUNCTION = {
    "minProperties": 1,
    "maxProperties": 1,
    "additionalProperties": False,
    "properties": {
        k: {"allOf": [_ref("conditions"), {"minItems": 1}]} for k in ("any of", "all of")
    },
}
SOURCED = [{"required": [k]} for k in SOURCES]
FIRST = {
    "rule": "A rule of its own.",
    "value": "A dated number that lines use by its name.",
    "table": "A published table, its numbers in a CSV beside it.",
    "action": "Something that a person can do about a fault.",
}
# what a line can say
SPELLED_NAME = (
    rf"^(?!(?:.* )?(?:{'|'.join(sorted(RESERVED))})(?: .*)?$)[^\W\d_][^\d()+×÷*±,=<>−|:#]*$"
)
RULE_NAME = {"type": "string", "pattern": r"^[^\W\d_]+(-\w+)*$"}


def pack_schema(library: Library, material: Material) -> dict:
    """The schema of the files of a pack: its head, its words, and its rules, values, tables,
    actions and edits.
    """
    words = library.words
    defs = _names_and_lines(library, material)
    for kind in words.kinds.values():
        defs[_slug("facts of", kind.name)] = {
            "properties": {
                w.name: {"description": w.ask or "Given by the rules."} for w in kind.words.values()
            }
        }
    defs["rule"] = _rule(words, RULE, "rule", RULE_NAME, edit=False)
    defs["value"] = _value()
    defs["table"] = _table()
    defs["action"] = _action(words, material)
    for verb in VERBS.values():
        defs[verb.name] = _edit(words, verb)
    defs["words"] = {"type": "object", "additionalProperties": _ref("facts")} | {
        "propertyNames": {"pattern": SPELLED_NAME},
        "properties": {k: _ref("facts") for k in words.kinds},
    }
    defs["facts"] = _facts(words)
    defs["items"] = {"type": "array", "items": _ref("item")}
    defs["item"] = _any_item()
    defs["head"] = _head()
    return {
        "$schema": DRAFT,
        "title": "A file of a whywire pack",
        "type": ["array", "object"],
        "if": {"type": "array"},
        "then": _ref("items"),
        "else": {
            "if": {"required": ["words"], "not": {"required": ["pack"]}},
            "then": {"properties": {"words": _ref("words")}, "additionalProperties": False},
            "else": _ref("head"),
        },
        "$defs": {_slug(k): v for k, v in defs.items()},
    }


def _action(words: Words, material: Material) -> dict:
    """The schema of an action."""
    changed = {"type": ["string", "number", "boolean", "array"], "items": SCALAR}
    costs = (
        [row["class"] for row in material.tables[COSTS].rows] if COSTS in material.tables else []
    )
    return _form(
        ACTION,
        {
            "about": _kinds(words),
            "change": {"type": "object", "additionalProperties": changed},
            "direction": {"enum": [*UP_OR_DOWN]},
            "names": {"type": "object", "additionalProperties": LINE_OR_LIST},
            "cost": {"enum": costs} if costs else SCALAR,
        },
        required=["about", "cost"],
    )


def _kinds(words: Words) -> dict:
    """The name of a kind of thing."""
    return {"enum": sorted(words.kinds)}


def _names_and_lines(library: Library, material: Material) -> dict[str, dict]:
    """What rules and edits are made of: names of what is there, conditions, short answers."""
    # whatever day they are in force
    added = {e.target: e.d for p in library.packs for e in p.edits if verb_of(e).makes_anew}
    renamed = {old: {"says": f"Now called {new}."} for old, new in material.formerly.items()}
    return {
        "name of a rule": _named({**added, **material.rules, **renamed}),
        "name of a value": _named(material.values),
        "name of a table": _named({n: t.d for n, t in material.tables.items()}),
        # what it reaches is for the reader of packs, by the edition
        "name of a section": {"type": "string", "pattern": rf"^{SECTION}.*\S"},
        # FACT of KIND; a pack may bring either, so the reader of packs knows which there are
        "name of a fact": {"type": "string", "pattern": r"^.*\S of \S.*$"},
        "condition": {"type": ["string", "number", "boolean", "object"], **JUNCTION},
        "conditions": {
            "type": ["string", "number", "boolean", "object", "array"],
            "items": _ref("condition"),
            **JUNCTION,
        },
        "answers": _form(ANSWERS, {"plain": _form(PLAIN_ANSWERS, {})}),
    }


def _value() -> dict:
    """A dated number."""
    return _form(
        VALUE,
        {
            "value": {"type": "string", "pattern": SPELLED_NAME},
            "is": {"anyOf": [SCALAR, SECTIONS]},
            "examples": {},
        },
        required=["is"],
        anyOf=SOURCED,
    )


def _table() -> dict:
    """A published table, its numbers in a CSV beside it."""
    unit = one_of(plain(u) for u in [*UNITS, *POINTS])
    key = rf"(?:exact(?:\s+{unit})?|{one_of(DIRECTIONS[1:])}\s+{unit})"
    return _form(
        TABLE,
        {
            "table": {"type": "string", "pattern": SPELLED_NAME},
            "file": {"type": "string", "pattern": r"^[\w.-]+\.csv$"},
            "keys": _columns(key),
            "values": _columns(f"(?:{unit}|word|row of .+)"),
            "across": {"type": "array", "items": SCALAR},
            "no row": {
                "type": "object",
                "additionalProperties": {"type": "string", "pattern": ": "},
            },
        },
        required=["says", "file", "keys", "values"],
        anyOf=SOURCED,
        allOf=[
            {
                "if": {"required": ["across"]},
                "then": {"properties": {"values": {"maxProperties": 1}}},
            },
            {"if": {"required": [CODE_BY]}, "then": {"required": ["code"]}},
        ],
    )


def _columns(pattern: str) -> dict:
    """Columns by name, each with what is in it."""
    return {
        "type": "object",
        "minProperties": 1,
        "additionalProperties": {"type": "string", "pattern": whole(pattern)},
    }


def _any_item() -> dict:
    """An item of a list: the first key says what it is; one that has none of them is offered
    them.
    """
    first = {**FIRST, **{verb.name: verb.about for verb in VERBS.values()}}
    return {
        "type": "object",
        "anyOf": [{"required": [k]} for k in first],
        "properties": {k: {"description": d} for k, d in first.items()},
        "allOf": [_where_first(k, list(first), _ref(k)) for k in first],
    }


def _where_first(key: str, keys: list[str], then: dict) -> dict:
    """*then* for an item that has *key* and none of those that go before it."""
    before = (
        [{"required": [k]} for k in keys[: keys.index(key)]]
        if key in FIRST or key == next(iter(VERBS))
        else [{"required": [k]} for k in FIRST]
    )
    return {
        "if": {"required": [key]} | ({"not": {"anyOf": before}} if before else {}),
        "then": then,
    }


def _form(form: dict[str, Key], own: dict[str, dict], **more: Any) -> dict:
    """A mapping of a form: at each key what the form says, but for what is of its *own* there."""
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            name: ({"description": key.about} if key.about else {})
            | (own[name] if name in own else _shape(key.takes))
            for name, key in form.items()
        },
        **more,
    }


def _shape(takes: str) -> dict:
    """What may stand at a key of a form. What is seen where it is read alone has none here."""
    return {
        forms.LINE: SCALAR,
        forms.PROSE: SCALAR,
        forms.OF_WORK: SCALAR,
        forms.LISTED: LINE_OR_LIST,
        forms.LINES: LINES,
        forms.SECTIONS: SECTIONS,
        forms.DAY: DAY_OF_A_PERMIT,
        forms.YES_NO: YES_OR_NO,
        forms.EDITION: EDITION,
        forms.FORCE: {"enum": ["must", "should"]},
        forms.DOER: {"enum": list(DOERS)},
        forms.CONDITION: _ref("condition"),
        forms.CONDITIONS: _ref("conditions"),
        forms.RULES: _some_rules(),
    }[takes]


def _named(items: dict) -> dict:
    """The names of what is there, each with what it says."""
    return (
        {
            "anyOf": [
                {"const": n, "description": str(d.get("says") or d.get("is") or n)}
                for n, d in sorted(items.items())
            ]
        }
        if items
        else {"not": {}}
    )


def _facts_offered(words: Words) -> list[dict]:
    """The facts of the kind that a rule is about, offered where it fills them and where its
    examples give them.
    """

    def then(facts: dict) -> dict:
        return {
            "properties": {
                **{k: facts for k in FILLING},
                "examples": {"items": {"properties": {"given": facts, "gives": facts}}},
            }
        }

    return [
        {
            "if": {"properties": {"about": {"const": kind}}, "required": ["about"]},
            "then": then(_ref("facts of", kind)),
        }
        for kind in words.kinds
    ]


def _rule(words: Words, form: dict[str, Key], head: str, name: dict, edit: bool) -> dict:
    """A rule; one of an *edit* cites the ordinance of the edit, and no source of its own."""
    own = {
        head: name,
        "about": _kinds(words),
        "examples": _examples(edit),
        "answers": _ref("answers"),
        "steps": {
            "type": "object",
            "additionalProperties": SCALAR,
            "propertyNames": {"pattern": SPELLED_NAME},
        },
        "tries": LINES | {"maxProperties": 1},
    }
    one = [{"required": [v]} for v in (*RULE_VERBS, TAKES, WORK, HOLD)]
    verb = {"oneOf": [*one, {"required": ["exception to"], "not": {"anyOf": one}}]}
    goes = [
        {"if": {"required": [k]}, "then": {"required": [w]}}
        for k, w in (
            ("picks", "tries"),
            ("leaving out", "tries"),
            ("also", "tries"),
            ("at", "warns"),
            ("warns", "at"),
            ("tries", "picks"),
            (CODE_BY, "code"),
        )
        if k in form
    ]
    return _form(
        form,
        own,
        required=["says", "about"],
        allOf=[verb, *goes, *([] if edit else [{"anyOf": SOURCED}]), *_facts_offered(words)],
    )


def _some_rules() -> dict:
    """Names of rules: those that are there are offered, and a new one may be written."""
    one = {"anyOf": [_ref("name of a rule"), RULE_NAME]}
    return {"anyOf": [one, {"type": "array", "items": one}]}


def _examples(edit: bool) -> dict:
    """Examples of a rule, or of an edit."""
    form = EXAMPLE_OF_AN_EDIT if edit else EXAMPLE
    expect = [k for k in form if k not in ("rule", "given", "because", "note")]
    facts = {"type": "object"}
    one = _form(form, {"given": facts, "gives": facts}, anyOf=[{"required": [k]} for k in expect])
    if not edit:
        # a verdict is of a rule that judges; the others fill something, or hold
        other = {"anyOf": [{"required": ["gives"]}, {"required": ["holds"]}]}
        one |= {"not": {"allOf": [{"required": ["answer"]}, other]}}
    return {"type": "array", "items": one}


def _edit(words: Words, verb: Verb) -> dict:
    """One edit: the closed keys of its verb, and the names that it may be about."""
    # the verb first: an editor asks for the keys in this order
    form = {verb.name: Key(verb.about, OTHER)}
    form |= {k: EDIT[k] for k in COMMON} | {k: EDIT.get(k) or RULE[k] for k in verb.takes}
    target = _target(verb)
    if verb.writes_a_rule:
        return _edit_of_a_whole_rule(words, verb, target, form)
    return _form(
        form,
        {verb.name: target, "examples": _examples(True), **_own(verb)},
        required=["cite", "reason"],
        **_needed(verb),
    )


def _needed(verb: Verb) -> dict:
    """What an edit of a verb cannot do without: one of several sets of keys, and no second."""
    ways: list[dict] = []
    for way in verb.ways:
        # an editor offers one way, and underlines the second as soon as it is begun
        others = [key for other in verb.ways if other != way for key in other]
        alone = {"not": {"required": others}} if verb.one_way_alone else {}
        ways.append({"required": [*way]} | alone)
    return {"oneOf": ways} if ways else {}


def _target(verb: Verb) -> dict:
    """The names that an edit of a verb may be about."""
    if verb.makes_anew:
        # a name that is free: those that are there would be offered, and each is taken
        return RULE_NAME
    names: list[dict] = [_ref(f"name of a {kind}") for kind in verb.may_name or verb.targets]
    return names[0] if len(names) == 1 else {"anyOf": names}


def _own(verb: Verb) -> dict[str, dict]:
    """The keys that edits take by their verbs; `to` is another thing in a redate."""
    dates = {
        "type": "object",
        "minProperties": 1,
        "additionalProperties": False,
        "properties": {"from": DAY_OF_A_PERMIT, "until": DAY_OF_A_PERMIT},
    }
    sentences = {"type": [*SCALAR["type"], "object"], "additionalProperties": SCALAR}
    # of a set the value, of a redate its days: one key, and two things
    own = {"to": dates if verb.gives_days else SCALAR}
    own |= {key: sentences for key in ("says", "because", "limits", "answers")}
    return {key: said for key, said in own.items() if key in verb.takes}


def _edit_of_a_whole_rule(words: Words, verb: Verb, target: dict, form: dict[str, Key]) -> dict:
    """An edit that writes a rule: the keys of a rule, and those of an edit."""
    out = _rule(words, form, verb.name, target, edit=True)
    out["required"] = [*out["required"], "cite", "reason"]
    return out


CHANGE = {
    "anyOf": [
        {"type": "integer", "minimum": 1, "maximum": 9},
        {"type": "string", "pattern": "^([1-9]|never)$"},
    ]
}


def _listed_of(keys: dict) -> dict:
    """A list of mappings with no keys but these."""
    item = {"type": "object", "properties": keys, "additionalProperties": False}
    return {"type": "array", "items": item}


def _facts(words: Words) -> dict:
    """What `words:` says of one kind: its parts, other names of it, and facts."""
    types = [plain(u) for u in [*UNITS, *POINTS]] + [
        "yes or no",
        "text",
        r"row of .+",
        r"(?:upstream |downstream )?(?:many|link) .+",
        r".*\S\s*\|\s*\S.*",
    ]
    fact = _form(
        WORD,
        {
            "is": {"type": "string", "pattern": whole(one_of(types))},
            "means": LINES | {"minProperties": 0},
            "tier": {"enum": ["decides", "workmanship", "remote"]},
            "brings": {"type": "object", "additionalProperties": LINES},
            "built": _listed_of({"as": {"anyOf": [SCALAR, LINES]}, "where": SCALAR}),
            "asked": _listed_of({"where": SCALAR, "ask": SCALAR, "look": SCALAR}),
            "effort": {
                "anyOf": [
                    {"type": "integer", "minimum": 1, "maximum": 9},
                    {"type": "string", "pattern": "^[1-9]$"},
                ]
            },
            "change": CHANGE,
        },
    )
    return {
        "type": "object",
        "additionalProperties": fact,
        "propertyNames": {"pattern": SPELLED_NAME},
        "properties": {
            "also": LINE_OR_LIST | {"description": "Other names of the kind."},
            "change": CHANGE | {"description": WORD["change"].about},
            "has": {
                "type": "object",
                "additionalProperties": SCALAR,
                "description": (
                    "Its parts: {part: kind}, optional kind, many kind, or open many kind."
                ),
            },
            "line": {
                "type": "array",
                "items": {"anyOf": [SCALAR, {"type": "array"}, {"type": "object"}]},
                "description": (
                    "What a note says of it in one line: pieces with facts in braces, or a list of"
                    " which the first that is known is taken; {says: text, where: test, put in:"
                    " FACT}."
                ),
            },
            "found": SCALAR
            | {"description": "Where a person stands before it; facts stand in braces."},
            "said alone": LINE_OR_LIST
            | {"description": "Facts whose values are said without their names: breaker: 40 A."},
            "said first": LINE_OR_LIST
            | {
                "description": "Facts that a value alone means before any other: 6 AWG is the size."
            },
            "asked first": YES_OR_NO
            | {"description": "yes of what people ask about first where all is well."},
            "forms": {
                "type": "object",
                "additionalProperties": LINES | {"minProperties": 0},
                "description": "What people write for several facts: {12/2 with ground: {...}}.",
            },
            "shares": LINE_OR_LIST
            | {"description": "Facts that the only part of a whole has alike with it."},
            "spoken": {
                "type": "string",
                "description": "The fact whose choices make such a thing where one is spoken of.",
            },
        },
    }


def _head() -> dict:
    window = {
        "type": "object",
        "required": ["edition"],
        "additionalProperties": False,
        "properties": {"edition": EDITION, "from": DAY_OF_A_PERMIT, "until": DAY_OF_A_PERMIT},
    }
    of_a_pack = {
        "edits": Key("What this pack changes; or files beside this one.", OTHER),
        "words": Key("Facts that this pack brings.", OTHER),
    }
    return _form(
        {**HEAD, **of_a_pack},
        {
            "pack": {"type": "string", "minLength": 1},
            "adopts": {"anyOf": [{"type": "array", "items": window}, window]},
            "layer": {"enum": list(LAYERS)},
            "editions": {"anyOf": [EDITION, {"type": "array", "items": EDITION}]},
            "documents": {"type": "object"},
            "edits": {"anyOf": [_ref("items"), _ref("item")]},
            "words": _ref("words"),
        },
        required=["pack"],
        allOf=[
            {"if": {"required": ["place"]}, "then": {"required": ["layer"]}},
            {"if": {"required": ["layer"]}, "then": {"required": ["authority", "cite"]}},
        ],
    )


__all__ = ["job_schema", "pack_schema"]
