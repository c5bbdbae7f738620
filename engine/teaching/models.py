"""Question models read from their files: a stem, the facts drawn, what is asked. What is made of
them is in `instances`.
"""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.reading import Mapping, decode, place_of, read_bytes, read_yaml
from ..basics.units import number_text
from ..drawing.pictures import FORMS
from ..language.knowledge import KB, Knowledge
from ..language.rules import PROSE, Rule
from ..language.things import NodeId
from ..language.words import as_list
from ..law.library import shown_name
from .asked import Model, cone, touched_in
from .kinds.kind import rule_nodes
from .kinds.registry import KINDS, kind_asked

KEYS = (
    "question",
    "room",
    "stem",
    "draws",
    "job",
    *KINDS,
    "rule",
    "difficulty",
    "unit",
    "options",
    "beliefs",
    "keeps",
    "told",
    "note",
    "picture",
    "practises",
    "also rooms",
)
PRACTISES = (
    "a test",
    "a safe habit",
    "a plate",
)  # what hands and eyes do, beside rules and numbers


HERE = "the {edition} edition"  # how a stem names the law that it asks of


def read_models(k: Knowledge, folder: Path | None = None) -> dict[str, Model]:
    """Every shipped model by its name, checked against *k*.

    Raises:
        Faults: everything that is wrong in them.
    """
    faults = Collector()
    out: dict[str, Model] = {}
    for path in sorted((folder or KB / "questions").glob("*.yaml")):
        name = shown_name(path)
        with faults.catching():
            body = read_yaml(decode(read_bytes(path, name), name), name)
            if not isinstance(body, list):
                raise Fault(
                    "question-form",
                    place_of(body, Place(name)),
                    "a file of questions is a list",
                    "begin each with - question: and its name",
                )
            for said in body:
                with faults.catching():
                    model = _read(said, path.stem, k, faults)
                    if model.name in out:
                        raise Fault(
                            "id-in-use",
                            model.at,
                            f'"{model.name}" is already at {out[model.name].at}',
                            "give it a name of its own",
                        )
                    out[model.name] = model
    # all that is wrong in all files at once
    faults.stop()
    return out


def _read(said: Any, room: str, k: Knowledge, faults: Collector) -> Model:
    """One model from what its file says, checked against *k*."""
    kind = _see_form(said, faults)
    at = place_of(said)
    draws: dict[str, list] = {}
    for fact, values in (said.get("draws") or {}).items():
        draws[str(fact)] = drawn_from(values, place_of(values, at))
    drawn_too = str(said.get("picture") or "")  # what a picture shows is told as well
    _see_stem(f"{said['stem']} {drawn_too}", place_of(said["stem"], at), kind, draws, faults)
    _see_practised(said, at, faults)
    model = Model(
        str(said["question"]),
        str(said.get("room", room)),
        kind,
        " ".join(str(said["stem"]).split()),
        draws,
        said["job"],
        str(said.get("rule", "")),
        said,
        at,
        rooms=frozenset({str(said.get("room", room)), *map(str, as_list(said.get("also rooms")))}),
    )
    _see_rules(model, k, faults)
    with faults.catching():
        model.touched = touched_in(k, cone(k, starts(model, k)))
    return model


def _see_form(said: Any, faults: Collector) -> str:
    """See that a model has what every model has; the kind of what it asks."""
    at = place_of(said)
    if not isinstance(said, dict) or not isinstance(said.get("question"), str):
        raise Fault(
            "question-form",
            at,
            "this is no question model",
            "write - question: its name, stem:, draws:, job: and what is asked",
        )
    for key in said:
        if key not in KEYS:
            faults.add(
                "question-key",
                place_of(key),
                f'a question takes no "{key}"',
                suggest(str(key), KEYS),
            )
    kinds = [kind for kind in KINDS if kind in said]
    kind = _kind_among(kinds)
    if not kind:
        raise Fault(
            "question-form",
            at,
            f"{said['question']} asks {'several things' if kinds else 'nothing'}",
            "write one of: " + ", ".join(KINDS),
        )
    if not isinstance(said.get("stem"), str) or not isinstance(said.get("job"), dict):
        raise Fault(
            "question-form",
            at,
            f"{said['question']} has no stem or no job",
            "write stem: a sentence with {facts} and job: what is the same in every draw",
        )
    return kind


def _see_practised(said: Mapping, at: Place, faults: Collector) -> None:
    """See that what a model practises is one of what can be, and its picture one that is drawn."""
    for one in as_list(said.get("practises")):
        if str(one) not in PRACTISES:
            faults.add(
                "question-word",
                place_of(one, at),
                f'"{one}" is nothing that a question practises',
                suggest(str(one), PRACTISES),
            )
    picture = said.get("picture")
    if picture is not None and str(picture.get("form", "")) not in FORMS:
        faults.add(
            "question-word",
            place_of(picture, at),
            f'"{picture.get("form")}" is no form of a picture',
            suggest(str(picture.get("form")), FORMS),
        )


def _kind_among(kinds: list[str]) -> str:
    """What is asked where a model says these *kinds*; "" where that is nothing, or too much."""
    if len(kinds) == 1:
        return kinds[0]
    # what comes out under another law is asked of one that can be asked there
    if len(kinds) == 2 and "under" in kinds and any(KINDS[k].under_another_law for k in kinds):
        return "under"
    return ""


def _see_stem(stem: str, at: Place, kind: str, draws: dict[str, list], faults: Collector) -> None:
    """See that the stem says what is drawn, all of it, and nothing else."""
    names_of = {fact: _names_drawn(fact, values) for fact, values in draws.items()}
    names = {name for of in names_of.values() for name in of}
    known = {*names, "edition", *KINDS[kind].stem_says}
    # said and not drawn: nothing could stand there
    for name in re.findall(r"\{([^{}]+)\}", stem):
        if name not in known:
            faults.add(
                "question-word",
                at,
                f'the stem says "{{{name}}}", and nothing of that name is drawn',
                suggest(name, names),
            )
    if "{edition}" in stem.replace(HERE, ""):
        faults.add(
            "question-word",
            at,
            'the stem names its edition in other words than "the {edition} edition"',
            f"write {HERE}: another law can stand there then",
        )
    # drawn and not said: the learner would have to guess it
    for fact, of in names_of.items():
        if not any("{" + name + "}" in stem for name in of):
            faults.add(
                "question-word",
                at,
                f'"{fact}" is drawn, and the stem does not say it',
                f"say {{{fact}}} in the stem: what the answer rests on is told",
            )


def _names_drawn(fact: str, values: list) -> set[str]:
    """The facts that a draw tells: its own, or those that are drawn together."""
    return {name for value in values for name in (value if isinstance(value, dict) else (fact,))}


def _see_rules(model: Model, k: Knowledge, faults: Collector) -> None:
    """See that the rules which a model names are there."""
    named = [(model.rule, place_of(model.d["rule"], model.at))] if model.rule else []
    options = kind_asked(model).rules_named(model)
    named += [(str(option), place_of(option, model.at)) for option in options]
    for name, at in named:
        # a rule of another edition is no slip: the model is just not asked in this one
        if name not in k.rules and name not in k.absent:
            faults.add("no-such-rule", at, f'"{name}" is no rule', suggest(name, k.rules))


RANGE = re.compile(r"([\d.]+)(.*?) to ([\d.]+)(.*?) step ([\d.]+)(.*)")
MOST_STEPS = 2000


def drawn_from(said: Any, at: Place) -> list:
    """The values of a draw: `a | b | c`, `16 A to 48 A step 2 A`, or a list; what is drawn together
    is a list of {fact: value}.

    Raises:
        Fault: it draws nothing, or too much.
    """
    if isinstance(said, list):
        return [
            {str(fact): str(told) for fact, told in value.items()}
            if isinstance(value, dict)
            else str(value)
            for value in said
        ]
    text = str(said)
    parts = RANGE.fullmatch(text)
    if parts is None:
        return [part.strip() for part in text.split("|")]
    first, unit, last, unit_again, by, _ = (part.strip() for part in parts.groups())
    value, top, step = Fraction(first), Fraction(last), Fraction(by)
    if unit != unit_again or step <= 0 or top < value or (top - value) / step > MOST_STEPS:
        raise Fault(
            "question-draw",
            at,
            f'"{text}" draws nothing, or too much',
            "write 16 A to 48 A step 2 A",
        )
    out = []
    while value <= top:
        out.append(f"{number_text(value)} {unit}".strip())
        value += step
    return out


def compared(models: dict[str, Model], k: Knowledge, other: Knowledge) -> dict[str, Model]:
    """The same questions asked of another law, where something they rest on is otherwise there."""
    moved = _moved(k, other)
    out = {}
    for model in models.values():
        if kind_asked(model).under_another_law and model.touched & moved:
            name, stem = f"{model.name}-elsewhere", model.stem
            out[name] = replace(
                model,
                name=name,
                kind="under",
                stem=stem.replace(HERE, "{other}") if HERE in stem else f"Under {{other}}: {stem}",
                d=Mapping({**model.d, "under": "another law"}),
            )
    return out


def _moved(k: Knowledge, other: Knowledge) -> set[str]:
    """The rules, values and tables that are not the same under another law."""
    rules = {
        name
        for name in {*k.rules, *other.rules}
        if name not in k.rules
        or name not in other.rules
        or _law_of(k.rules[name]) != _law_of(other.rules[name])
    }
    values = {name for name, worth in k.values.items() if worth != other.values.get(name)}
    tables = {
        name
        for name, table in k.tables.items()
        if name not in other.tables or table.rows != other.tables[name].rows
    }
    return rules | values | tables


def _law_of(rule: Rule) -> dict:
    """What a rule concludes from: no prose, and no examples, which a rule that is kept between
    starts has not.
    """
    return {key: said for key, said in rule.d.items() if key not in PROSE}


# ---- what is asked -------------------------------------------------------------------------------


def starts(m: Model, k: Knowledge) -> list[NodeId]:
    """The nodes of the order that a model asks about.

    Raises:
        Fault: it asks about what is not there.
    """
    # what must pass for a draw to be used is run with it
    keeps = rule_nodes(as_list(m.d.get("keeps")), m, k)
    return [*kind_asked(m).starts(m, k), *keeps]
