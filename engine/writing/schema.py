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

from ..basics.units import POINT, POINTS, UNITS, WRITTEN, dimension, unit_of
from ..checking.examples import KEYS as EXAMPLE_KEYS
from ..comparing.amendments import EXAMPLE_KEYS as EDIT_EXAMPLE_KEYS
from ..language.actions import ACTION_KEYS, COSTS
from ..language.actions import DIRECTIONS as UP_OR_DOWN
from ..language.knowledge import VALUE_KEYS, Material
from ..language.lines import RESERVED
from ..language.lowering import COMES_WITH, DOERS, HOLD, STATES, TAKES, WORK
from ..language.names import FORMERLY
from ..language.rules import (
    ANSWER_KEYS,
    CODE_BY,
    EDITIONS,
    FILLING,
    FORMS,
    JUDGING,
    KEYS,
    PLAIN_KEYS,
)
from ..language.rules import LAYERS as SOURCES
from ..language.rules import VERBS as RULE_VERBS
from ..language.tables import DIRECTIONS, KEYS_OF_A_TABLE, Table
from ..language.words import ABOUT_A_WORD, CHOICES_FORMERLY, Kind, Word, Words, a_noun
from ..law.edits import COMMON
from ..law.library import HEAD_KEYS, LAYERS, Library
from ..law.verbs.registry import VERBS, verb_of
from ..law.verbs.verb import Verb
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

# What each key is for: the text an editor shows. tests/writing sees that every key has one.
HEAD = {
    "pack": "The name of the pack: one, and no other pack has it.",
    "title": "What it is called in reports.",
    "authority": "Who made this law.",
    "cite": "The ordinance, as in Ordinance 2025-14; an edit adds its section.",
    "layer": "Whose law it is. Packs are applied in this order: " + ", ".join(LAYERS) + ".",
    "place": "The place where it is in force; a job names it as place:.",
    "also": "Other names of the place.",
    "within": (
        "The place or pack that this one lies within; what is in force there is in force here."
    ),
    "adopts": "The editions of the code that the place adopts, each from: and until:.",
    "choice": "Who may choose where two editions are open, as in permit holder.",
    "from": "The first day: permits of that day and later.",
    "until": "The first day on which it no longer holds.",
    "editions": "The editions it is written for.",
    "documents": "Where the documents that it cites can be read.",
    "says": "What it is, in one sentence.",
    "notes": "What a reader should know.",
    "written": "Who wrote it, and when.",
}
RULE = {
    "rule": "The name of the rule: words joined by hyphens. It never changes.",
    "says": "The rule in one plain sentence.",
    "about": "The kind of thing it is about.",
    "when": "Conditions, one to a line; all must be so. any of: [line, line] means any.",
    "must": "What must be so: passes, fails, or cannot tell.",
    "must not": "What must not be so.",
    "should": "Good practice: where it is not met, that is advice.",
    "gives": "Fills a fact from others: {fact: formula}.",
    "reckons": "Fills a fact only where nobody told it: {fact: formula}.",
    "assumes": "A lawful default where nothing is told or given; it shows as an assumption.",
    "designs": "Fills what the job leaves open; it shows as designed.",
    "tries": (
        "Tries every row of a table: {size: from TABLE by KEY}; each must about this kind is a"
        " test."
    ),
    "refers": "Refuses to conclude: what to do instead.",
    "warns": "A caution; with at: the moment.",
    "lacks": "What is not checked for want of rules.",
    "exception to": "The rules that are set aside where these conditions are proven.",
    "steps": "Scratch arithmetic with names of its own: {name: formula}.",
    "picks": "The fact that takes the first row that passes (with tries).",
    "leaving out": "Tests that the pick does not use (with tries).",
    "also": "Advice that the pick shall use (with tries).",
    "at": "The moment of the caution, as in before drilling (with warns).",
    "code": (
        "Its section by edition: {2017: 210.19(A)(1)(a), 2023: 210.19(A)(1)}; each holds until the"
        " next edition listed, gone ends it."
    ),
    CODE_BY: (
        'The fact by whose choices the sections differ; each says whose it is: {2017: "NM-B:'
        ' 334.30; UF-B: 340.10(4)"}. Of a table the key.'
    ),
    "manufacturer": "The instruction it comes from.",
    "local": "The local law it comes from.",
    "practice": "Whose practice it is; common practice, no source where that is so.",
    "because": "The reason, in one sentence.",
    "doubt": "What is unsure.",
    "limits": "What an exception never does.",
    "examples": (
        "One where it applies, one where it does not, one that cannot tell, and under, at and over"
        " each threshold."
    ),
    "answers": "Sentences for the short answer.",
    "withdrawn": "Why it is no longer used.",
    "scope": "What it is read for.",
    FORMERLY: "The names it had before; they still work.",
    "takes": "A part: what it is, whichever is bought. How many, or how long, stands beside.",
    "work": "A task, in a few words; with minutes: and by:.",
    "hold": "A stop until somebody has looked or tested, in a few words; with minutes: and by:.",
    "needs": "States of the job that there must be first: [wire in, dead].",
    "follows": "States after which it comes, where some task of the job makes them.",
    "by habit after": "States after which it comes by habit alone; a shop may have it otherwise.",
    "makes": "States that there are when it is done.",
    "sees": "States that have to be seen here, before anything hides them.",
    "hides": "States that nobody sees afterwards.",
    "undoes": "States that there are no longer when it is done.",
    "by": "Who does it: " + ", ".join(DOERS) + ".",
    "stage": "When it is done, a row of stages-of-work.",
    "moment": "The moment whose cautions belong to it, a row of moments-of-work.",
    "asks": "A question of it to a helper, before lunch.",
    "comes with": "Other parts that it brings, and that nobody buys beside it (with takes).",
    "count": "How many (with takes).",
    "feet": "How many feet of what is joined from lengths as sold (with takes).",
    "pieces": "How many pieces are cut, each whole (with takes and each:).",
    "each": "How long each piece is (with takes and pieces:).",
    "part": "How it is called at the counter, a row of parts (with takes).",
    "minutes": "How long one licensed person and one helper take together (with work or hold).",
}
EDIT = {
    **{verb.name: verb.about for verb in VERBS.values()},
    "cite": "The section of the ordinance.",
    "reason": "Why, in one sentence.",
    "from": "The first day on which it is in force: permits of that day and later.",
    "until": "The first day on which it is no longer in force.",
    "of": "What it was written over; whywire check says what to write.",
    "meaning": (
        "What it was understood to mean; whywire check says it back, and notices when that moves."
    ),
    "relieves": "yes where it asks less than what stands below it.",
    "examples": "One that comes out otherwise because of it, and one that it leaves alone.",
    "notes": "What a reader should know.",
    "dropping": "Keys of the old rule that are left out on purpose.",
    "strike": "The words that go, as they stand in force.",
    "insert": "The words that come.",
    "force": "must: law. should: advice.",
    "row": "The row of the table, by its keys: {size: 6 AWG}.",
    "column": "The column of the cell.",
    "insert row": "A whole row: every key and value.",
    "strike row": "The keys of the row that goes.",
    "to": "The new value with its unit; of a redate {from: day, until: day}.",
    "as in": "The edition whose value is taken.",
    "edit of": "The pack whose edit is re-dated.",
    "only when": "The condition under which the rule still holds.",
    "drop": "The condition that no longer counts, as it stands.",
    "edition": "The edition that the rule is taken over from.",
    "instead of": (
        "The rules in whose place it stands where its own conditions are so; where that is not"
        " told, nothing is concluded."
    ),
    "counts as": "yes where the rule may say what people are asked, without anyone looking.",
}
TABLE = {
    "table": "The name of the table, as lines say it.",
    "says": "What it gives, in one sentence.",
    "file": "The CSV beside this file, untouched.",
    "keys": "Its keys, each with its direction and unit: {size: exact, ambient: next row up °C}.",
    "across": "The keys that run across, as in copper / 60.",
    "values": "Its values with their units: {ampacity: A}.",
    "no row": (
        'The choices of a key that have no row, and why: {kind: "NM-B | MC: a cable has no trade'
        ' size"}.'
    ),
    "copied": "Who copied it, and when.",
    "checked": "When and against what it was checked.",
    "doubt": "What is unsure.",
    "notes": "What a reader should know.",
}
VALUE = {
    "value": "The name of the number, as lines say it.",
    "is": "The number with its unit, or by edition: {2017: 3 %, 2023: 5 %}.",
}
ACTION = {
    "action": "What to do, as it is said and bought; facts in braces, as they are then.",
    "about": "The kind of thing that it is done to.",
    "names": "What is in braces and no fact: {cable: line}; of several lines the first known.",
    "change": (
        "What becomes otherwise: {fact: value}; in steps: {fact: each of TABLE}, {fact: [12 A, 16"
        " A]}, {fact: every 1 in from 6 in to 24 in}."
    ),
    "direction": "Whether it goes up alone, or down alone.",
    "when": "Where it makes sense: every line must be known to be so.",
    "takes out": "The list out of which members are led, one more at each step.",
    "lessens": "What is told of the number of them, and is less then.",
    "unless": "Where it makes none: where any line is known to be so.",
    "untells": "What is settled anew with it, and is not as it was told.",
    "brings": "What comes along with it by itself, as the ground of a cable.",
    "finds": "What is not done but found by looking: {fact: value}, where nobody told it.",
    "cost": "The class of work: a row of the table costs-of-work.",
}
WORD = {
    "is": (
        "A unit (A, V, ft ...), yes or no, date, text, row of TABLE, link KIND, many KIND, or"
        " choices parted by |."
    ),
    "ask": "The question to a person.",
    "look": "Where the answer is found.",
    "effort": "From 1 (read a label) to 5 (open something up).",
    "also": "Other names that people use.",
    "means": "What people write, and which choice they mean.",
    "may mean": (
        "What people write that may be any of several choices, parted by |; which one is asked for."
    ),
    "may be": "What is written where somebody looked and there is none, as in not marked.",
    "comes with": "The fact that it is not carried over without.",
    "back": "The fact by which the things of this list name it.",
    "stands for": "The longer path that this short name means.",
    "try": "Values worth trying when an answer looks for a way out.",
    "design": "What it is called in the design that an inspection prints.",
    FORMERLY: "The names it had before; they still work.",
    CHOICES_FORMERLY: "The names that choices had before: {old name: choice}.",
    "also choices": "Choices added to a word that is there already, parted by |.",
    "bare": "The unit of a number that is written without one.",
    "summed": "yes where a sum may be written: 3 x 90, two 45s.",
    "brings": "What people write, and what else it says: {230 V: {rated voltage of load: 230 V}}.",
    "tells": "What is told under this name: a fact of something else, by its path.",
    "none where": "Of an optional part: what is told by which there is none.",
    "careful": "The caution where looking is dangerous.",
    "change": (
        "How hard it is to change in a building that stands: 1 (a mark to read) to 9 (the place),"
        " or never. A reason rather names what is hard to change."
    ),
    "said": "How people say it, {} for the value: carries {}; of yes or no both, parted by |.",
    "note": "What a reader should know.",
    "usual": (
        "What is usual, as in 1 A to 200 A, or listed in TABLE: of anything else it is asked"
        " whether it is meant."
    ),
    "tier": (
        "What it is to a note where nobody told it: it decides, it is workmanship that is taken as"
        " usual, or it is remote."
    ),
    "likely where": "Of a remote fact: what, where it is told, makes it worth asking.",
    "guess": "What a note takes it for where nobody told it, and says so.",
    "guess where": "What must be so for that, as in role of circuit is branch circuit.",
    "built": (
        "What whoever builds it puts in where a requirement waits for it: [{as: value, where:"
        " FACT of LINK is VALUE}]; of an optional part, as: {fact: value}."
    ),
    "asked": "Other words for the question: [{where: FACT of LINK is VALUE, ask: ..., look: ...}].",
    "asked with": "Facts of the same thing: where one of them is asked for, this one is not.",
    "called": "What a headline calls what is asked for: the place of the outlet.",
    "assumed as": "How a note says what it was taken for; {value} is the value, {°F} in that unit.",
    "right if": "How a headline says that it is so; {value} is the value, {circuit} whose it is.",
}
EXAMPLE = {
    "given": "The facts, named as the rule names them.",
    "answer": "passes, fails, cannot tell, advice, or does not apply.",
    "gives": "What is filled: {fact: value}; unknown is a value here.",
    "sets aside": "The rules that are set aside here, each of which has something to say of it.",
    "holds": "Of an exception, a caution or a refusal: yes, no, cannot tell.",
    "note": "What the example shows.",
    "rule": "The rule that is run (in an edit: the one edited, unless it is said).",
    "because": "Why it comes out so.",
    "edition": (
        "The editions in which it comes out so; every edition of the rule unless it is said."
    ),
}
ANSWER = {
    "passes": "The sentence where it passes.",
    "fails": "The sentence where it fails.",
    "cannot tell": "The sentence where it cannot be told.",
    "needed": "The label before what is needed.",
    "have": "The label before what there is.",
    "plain": "Sentences for a homeowner.",
    "argued": "Rules a person will argue with, and that do not help.",
    "beside": "Rules that pass, and that a person would otherwise mend.",
    "right": "What is said where another rule names this one beside itself.",
    "short": "The rule in a few words.",
    "against": (
        "What it does not do, to who argues with it; {needed} is that of the rule that fails."
    ),
    "hints": "What would pass, where no run can show it.",
    "since": "In a word or two, why what it asks for is put in: outdoors. The first that is known.",
    "asked": "Facts that a question about is answered by this rule.",
    "rows": "Lines of its own, with facts filled in.",
    "under": "What it is called to be under a number that is to be met exactly.",
    "over": "What it is called to be over a number that is to be met exactly.",
}


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
    }
    top = {**top, "properties": {**frame, **top["properties"]}}
    return {
        "$schema": DRAFT,
        **top,
        "title": "A job of whywire",
        "description": "What is told of a wiring job. Leave out what nobody knows.",
        "$defs": defs,
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
    defs["rule"] = _rule(words, "rule", RULE_NAME, {k: RULE[k] for k in KEYS}, edit=False)
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
    return _closed(
        {key: SCALAR for key in ACTION_KEYS}
        | {
            "about": _kinds(words),
            "change": {"type": "object", "additionalProperties": changed},
            "direction": {"enum": [*UP_OR_DOWN]},
            "names": {"type": "object", "additionalProperties": LINE_OR_LIST},
            "when": _ref("conditions"),
            "untells": LINE_OR_LIST,
            "brings": LINE_OR_LIST,
            "unless": _ref("conditions"),
            "lessens": LINE_OR_LIST,
            "finds": LINES,
            "cost": {"enum": costs} if costs else SCALAR,
        },
        {**RULE, **ACTION},
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
    plain_answers = _closed(
        {k: SCALAR for k in PLAIN_KEYS}, {k: ANSWER.get(k, "") for k in PLAIN_KEYS}
    )
    return {
        "name of a rule": _named({**added, **material.rules, **renamed}),
        "name of a value": _named(material.values),
        "name of a table": _named({n: t.d for n, t in material.tables.items()}),
        "condition": {"type": ["string", "number", "boolean", "object"], **JUNCTION},
        "conditions": {
            "type": ["string", "number", "boolean", "object", "array"],
            "items": _ref("condition"),
            **JUNCTION,
        },
        "answers": _closed(
            {k: SCALAR for k in ANSWER_KEYS}
            | {
                "plain": plain_answers,
                "rows": LINES,
                "argued": LINE_OR_LIST,
                "beside": LINE_OR_LIST,
                "asked": LINE_OR_LIST,
                "hints": LINE_OR_LIST,
                "since": LINE_OR_LIST,
            },
            ANSWER,
        ),
    }


def _value() -> dict:
    """A dated number."""
    return _closed(
        {k: SCALAR for k in VALUE_KEYS}
        | {
            "value": {"type": "string", "pattern": SPELLED_NAME},
            "is": {"anyOf": [SCALAR, SECTIONS]},
            "code": SECTIONS,
            "examples": {},
        },
        {**RULE, **VALUE},
        required=["is"],
        anyOf=SOURCED,
    )


def _table() -> dict:
    """A published table, its numbers in a CSV beside it."""
    unit = one_of(plain(u) for u in [*UNITS, *POINTS])
    key = rf"(?:exact(?:\s+{unit})?|{one_of(DIRECTIONS[1:])}\s+{unit})"
    return _closed(
        {k: SCALAR for k in KEYS_OF_A_TABLE}
        | {
            "table": {"type": "string", "pattern": SPELLED_NAME},
            "code": SECTIONS,
            "file": {"type": "string", "pattern": r"^[\w.-]+\.csv$"},
            "keys": _columns(key),
            "values": _columns(f"(?:{unit}|word|row of .+)"),
            "across": {"type": "array", "items": SCALAR},
            "no row": {
                "type": "object",
                "additionalProperties": {"type": "string", "pattern": ": "},
            },
            "copied": LINES,
            "checked": LINES,
        },
        {**RULE, **TABLE},
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
    first = {**FIRST, **{v: EDIT[v] for v in VERBS}}
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


def _closed(properties: dict, about: dict, **more: Any) -> dict:
    """A mapping that takes these keys and no others."""
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            k: ({"description": about[k]} if about.get(k) else {}) | v
            for k, v in properties.items()
        },
        **more,
    }


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


def _rule(words: Words, head: str, name: dict, about: dict, edit: bool) -> dict:
    """A rule; one of an *edit* cites the ordinance of the edit, and no source of its own."""
    p: dict[str, dict] = {k: SCALAR for k in about} | {
        head: name,
        "about": _kinds(words),
        "when": _ref("conditions"),
        "examples": _examples(edit),
        "answers": _ref("answers"),
        "exception to": _some_rules(),
        FORMERLY: LINE_OR_LIST,
        "leaving out": _some_rules(),
        "also": _some_rules(),
        "steps": {
            "type": "object",
            "additionalProperties": SCALAR,
            "propertyNames": {"pattern": SPELLED_NAME},
        },
        "tries": LINES | {"maxProperties": 1},
    }
    p |= {k: _ref("condition") for k in JUDGING}
    p |= {k: LINES for k in FORMS if k in FILLING}
    p |= {k: LINE_OR_LIST for k in (*STATES, COMES_WITH)} | {"by": {"enum": list(DOERS)}}
    if not edit:
        p["code"] = SECTIONS
    p = {k: v for k, v in p.items() if k in about}
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
        if k in about
    ]
    return _closed(
        p,
        about,
        required=["says", "about"],
        allOf=[verb, *goes, *([] if edit else [{"anyOf": SOURCED}]), *_facts_offered(words)],
    )


def _some_rules() -> dict:
    """Names of rules: those that are there are offered, and a new one may be written."""
    one = {"anyOf": [_ref("name of a rule"), RULE_NAME]}
    return {"anyOf": [one, {"type": "array", "items": one}]}


def _examples(edit: bool) -> dict:
    """Examples of a rule, or of an edit."""
    keys = list(dict.fromkeys((*EDIT_EXAMPLE_KEYS, "holds") if edit else EXAMPLE_KEYS))
    forms: dict[str, dict] = {key: SCALAR for key in keys}
    forms |= {key: {"type": "object"} for key in ("given", "gives") if key in forms}
    forms |= {key: LINE_OR_LIST for key in ("sets aside", "edition") if key in forms}
    expect = [k for k in keys if k not in ("rule", "given", "because", "note")]
    one = _closed(forms, EXAMPLE, anyOf=[{"required": [k]} for k in expect])
    if not edit:
        # a verdict is of a rule that judges; the others fill something, or hold
        other = {"anyOf": [{"required": ["gives"]}, {"required": ["holds"]}]}
        one |= {"not": {"allOf": [{"required": ["answer"]}, other]}}
    return {"type": "array", "items": one}


def _edit(words: Words, verb: Verb) -> dict:
    """One edit: the closed keys of its verb, and the names that it may be about."""
    about = {
        verb.name: verb.about,
        **{k: EDIT[k] for k in COMMON},
        **{k: EDIT.get(k) or RULE.get(k, "") for k in verb.takes},
    }
    target, common = _target(verb), _common()
    if verb.writes_a_rule:
        return _edit_of_a_whole_rule(words, verb, target, common, about)
    own = _own(verb)
    return _closed(
        {verb.name: target, **common, **{k: own[k] for k in verb.takes}},
        about,
        required=["cite", "reason"],
        **_needed(verb),
    )


def _needed(verb: Verb) -> dict:
    """What an edit of a verb cannot do without: one of several sets of keys, and no second."""
    ways: list[dict] = []
    for way in verb.ways:
        others = [key for other in verb.ways if other != way for key in other]
        alone = {"not": {"required": others}} if verb.one_way_alone else {}
        ways.append({"required": [*way]} | alone)
    return {"oneOf": ways} if ways else {}


def _target(verb: Verb) -> dict:
    """The names that an edit of a verb may be about."""
    if verb.makes_anew:
        return RULE_NAME
    names: list[dict] = [_ref(f"name of a {kind}") for kind in verb.may_name or verb.targets]
    return names[0] if len(names) == 1 else {"anyOf": names}


def _common() -> dict[str, dict]:
    """The keys that an edit of any verb takes."""
    return {
        "cite": SCALAR,
        "reason": SCALAR,
        "from": DAY_OF_A_PERMIT,
        "until": DAY_OF_A_PERMIT,
        "of": SCALAR,
        "meaning": SCALAR,
        "relieves": YES_OR_NO,
        "examples": _examples(True),
        "notes": SCALAR,
    }


def _own(verb: Verb) -> dict[str, dict]:
    """The keys that edits take by their verbs; `to` is another thing in a redate."""
    dates = {
        "type": "object",
        "minProperties": 1,
        "additionalProperties": False,
        "properties": {"from": DAY_OF_A_PERMIT, "until": DAY_OF_A_PERMIT},
    }
    sentences = {"type": [*SCALAR["type"], "object"], "additionalProperties": SCALAR}
    return {
        "strike": SCALAR,
        "insert": SCALAR,
        "says": sentences,
        "because": sentences,
        "limits": sentences,
        "force": {"enum": ["must", "should"]},
        "row": LINES,
        "column": SCALAR,
        "insert row": LINES,
        "strike row": LINES,
        "to": dates if verb.gives_days else SCALAR,
        "as in": EDITION,
        "edit of": SCALAR,
        "code": SECTIONS,
        "only when": LINE_OR_LIST,
        "drop": SCALAR,
        "edition": EDITION,
    }


def _edit_of_a_whole_rule(
    words: Words, verb: Verb, target: dict, common: dict[str, dict], about: dict
) -> dict:
    """An edit that writes a rule: the keys of a rule, and those of an edit."""
    out = _rule(words, verb.name, target, about, edit=True)
    own = {"dropping": LINE_OR_LIST, "instead of": _some_rules(), "counts as": YES_OR_NO}
    keys = common | {k: v for k, v in own.items() if k in verb.takes}
    out["properties"] |= {k: {"description": EDIT[k]} | v for k, v in keys.items()}
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
    fact = _closed(
        {k: SCALAR for k in ABOUT_A_WORD}
        | {
            "is": {"type": "string", "pattern": whole(one_of(types))},
            "also": LINE_OR_LIST,
            "try": LINE_OR_LIST,
            FORMERLY: LINE_OR_LIST,
            CHOICES_FORMERLY: LINES,
            "means": LINES | {"minProperties": 0},
            "may mean": LINES,
            "tier": {"enum": ["decides", "workmanship", "remote"]},
            "brings": {"type": "object", "additionalProperties": LINES},
            "built": _listed_of({"as": {"anyOf": [SCALAR, LINES]}, "where": SCALAR}),
            "asked with": LINE_OR_LIST,
            "asked": _listed_of({"where": SCALAR, "ask": SCALAR, "look": SCALAR}),
            "effort": {
                "anyOf": [
                    {"type": "integer", "minimum": 1, "maximum": 9},
                    {"type": "string", "pattern": "^[1-9]$"},
                ]
            },
            "change": CHANGE,
        },
        WORD,
    )
    return {
        "type": "object",
        "additionalProperties": fact,
        "propertyNames": {"pattern": SPELLED_NAME},
        "properties": {
            "also": LINE_OR_LIST | {"description": "Other names of the kind."},
            "change": CHANGE | {"description": WORD["change"]},
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
    p = {k: SCALAR for k in HEAD_KEYS} | {
        "pack": {"type": "string", "minLength": 1},
        "also": LINE_OR_LIST,
        "adopts": {"anyOf": [{"type": "array", "items": window}, window]},
        "layer": {"enum": list(LAYERS)},
        "from": DAY_OF_A_PERMIT,
        "until": DAY_OF_A_PERMIT,
        "editions": {"anyOf": [EDITION, {"type": "array", "items": EDITION}]},
        "documents": {"type": "object"},
    }
    return _closed(
        p | {"edits": {"anyOf": [_ref("items"), _ref("item")]}, "words": _ref("words")},
        {
            **HEAD,
            "edits": "What this pack changes; or files beside this one.",
            "words": "Facts that this pack brings.",
        },
        required=["pack"],
        allOf=[
            {"if": {"required": ["place"]}, "then": {"required": ["layer"]}},
            {"if": {"required": ["layer"]}, "then": {"required": ["authority", "cite"]}},
        ],
    )


__all__ = ["job_schema", "pack_schema"]
