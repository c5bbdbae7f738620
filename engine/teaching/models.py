"""Question models: a stem, the facts drawn, what is asked. What is made of them is in
`instances`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.reading import Mapping, decode, place_of, read_bytes, read_yaml
from ..basics.units import number_text
from ..language.knowledge import KB, Knowledge
from ..language.order import reads_of
from ..language.rules import PROSE, Rule
from ..language.things import NodeId
from ..language.words import as_list
from ..law.library import shown_name

KEYS = (
    "question",
    "room",
    "stem",
    "draws",
    "job",
    "asks",
    "judges",
    "governs",
    "findings",
    "missing",
    "under",
    "mends",
    "order",
    "rule",
    "difficulty",
    "unit",
    "options",
    "beliefs",
    "keeps",
    "told",
    "note",
)
# what is asked: exactly one, or one of the first and findings with under
KINDS = (
    "asks",
    "judges",
    "governs",
    "findings",
    "missing",
    "under",
    "mends",
    "order",
)

HERE = "the {edition} edition"  # how a stem names the law that it asks of


@dataclass
class Model:
    """One question model, its form checked against the knowledge."""

    name: str
    room: str
    kind: str
    stem: str
    draws: dict[str, list]
    job: Mapping
    rule: str
    d: Mapping
    at: Place
    touched: frozenset[str] = frozenset()  # the rules, tables and values its answer may rest on

    @property
    def difficulty(self) -> int:
        """1 (one step) to 4 (several rules that pull against each other), as its author judged."""
        return int(str(self.d.get("difficulty", 2)))

    @property
    def size(self) -> int:
        """How many different draws there are."""
        n = 1
        for v in self.draws.values():
            n *= len(v)
        return n


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
    _see_stem(said["stem"], place_of(said["stem"], at), kind, draws, faults)
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
    )
    _see_rules(model, k, faults)
    with faults.catching():
        model.touched = _touched(k, cone(k, starts(model, k)))
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


def _kind_among(kinds: list[str]) -> str:
    """What is asked where a model says these *kinds*; "" where that is nothing, or too much."""
    if len(kinds) == 1:
        return kinds[0]
    # what comes out under another law is asked of one of these
    if len(kinds) == 2 and "under" in kinds and {"asks", "judges", "findings"} & set(kinds):
        return "under"
    return ""


def _see_stem(stem: str, at: Place, kind: str, draws: dict[str, list], faults: Collector) -> None:
    """See that the stem says what is drawn, all of it, and nothing else."""
    names_of = {fact: _names_drawn(fact, values) for fact, values in draws.items()}
    names = {name for of in names_of.values() for name in of}
    known = {*names, "edition", *(["other"] if kind == "under" else [])}
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
    if model.kind == "order":
        options = as_list(model.d.get("options"))
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
        if model.kind in ("asks", "judges", "findings") and model.touched & moved:
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


def place(text: str, m: Model, sep: str) -> tuple[str, str]:
    """What is asked and of which thing: `FACT of THING`, `RULE on THING`.

    Raises:
        Fault: no thing is named.
    """
    what, _, thing = text.partition(sep)
    if not thing:
        raise Fault(
            "question-form",
            m.at,
            f'"{text}" does not say of what',
            f"write WHAT{sep}circuits.shop.conductors",
        )
    return what.strip(), thing.strip()


def kind_of(thing: str, k: Knowledge) -> str:
    """The kind of a thing by its path: circuits.shop.conductors.

    Raises:
        Fault: nothing lies there.
    """
    kind, parts = "job", thing.split(".")
    at = 0
    while at < len(parts):
        words = k.words.kinds[kind].words
        word = words.get(parts[at])
        if word is None or word.type[0] not in ("ref", "many"):
            raise Fault(
                "question-word",
                Place(thing),
                f'"{thing}" is no thing: {kind} has no "{parts[at]}"',
                suggest(parts[at], words),
            )
        kind = word.type[1]
        # after a list stands the name of one of its things
        at += 2 if word.type[0] == "many" else 1
    return kind


def starts(m: Model, k: Knowledge) -> list[NodeId]:
    """The nodes of the order that a model asks about.

    Raises:
        Fault: it asks about what is not there.
    """
    out: list[NodeId] = []
    if "asks" in m.d:
        fact, thing = place(str(m.d["asks"]), m, " of ")
        kind = kind_of(thing, k)
        words = k.words.kinds[kind].words
        if fact not in words:
            at = place_of(m.d["asks"], m.at)
            raise Fault("question-word", at, f'{kind} has no "{fact}"', suggest(fact, words))
        out.append(("cell", kind, fact, ""))
    for key in ("judges", "findings", "governs", "missing", "mends", "keeps"):
        if key in m.d:
            out += _rules_asked(as_list(m.d[key]), m, k)
    if "order" in m.d:
        fact, thing = place(str(m.d["order"]), m, " of ")
        out.append(("cell", kind_of(thing, k), fact, ""))
    return out


def _rules_asked(said: list, m: Model, k: Knowledge) -> list[NodeId]:
    """The nodes of the rules that lines of a model name, those of other editions left out."""
    out: list[NodeId] = []
    for one in said:
        rule, _ = place(str(one), m, " on ")
        rule = k.called(rule)
        if rule not in k.rules and rule not in k.absent:
            at = place_of(one, m.at)
            raise Fault("no-such-rule", at, f'"{rule}" is no rule', suggest(rule, k.rules))
        if rule in k.rules:
            out.append(("rule", rule, ""))
    return out


def cone(
    k: Knowledge,
    starts: Iterable[NodeId],
    told: frozenset[tuple[str, str]] = frozenset(),
) -> frozenset[NodeId]:
    """The nodes of the order that *starts* rest on. What only fills a fact nobody told is left out
    where it is *told*.
    """
    seen: set[NodeId] = set()
    stack = list(starts)
    while stack:
        node = stack.pop()
        if node in seen:
            continue
        seen.add(node)
        if node[0] == "cell" and not node[3] and node[1:3] in told:
            givers = k.order.givers[node[1:3]]
            stack.extend(("rule", giver.id, "") for giver in givers if giver.verb == "gives")
        else:
            stack.extend(k.order.needs.get(node, ()))
    return frozenset(seen)


def _touched(k: Knowledge, nodes: frozenset[NodeId]) -> frozenset[str]:
    """The rules that run in *nodes*, and the tables and values that they read."""
    out: set[str] = set()
    for node in nodes:
        if node[0] in ("rule", "pick", "try"):
            rule = k.rules[node[1]]
            out |= {rule.id} | rule.reads_tables | rule.reads_values
    return frozenset(out)


def read_anew(k: Knowledge, believed: Knowledge, changed: frozenset[str]) -> set[NodeId]:
    """The cells that the rules *changed* read as they are *believed*, and did not read before."""
    return {
        ("cell", kind, fact, "")
        for name in changed
        for kind, fact, _, _ in (
            reads_of(believed.rules[name], k.words) - reads_of(k.rules[name], k.words)
        )
    }
