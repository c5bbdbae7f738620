"""One question model, its draws, and what of the order its answer rests on."""

from __future__ import annotations

import random
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from ..basics.errors import Fault, Place, suggest
from ..basics.reading import Mapping, place_of
from ..language.knowledge import Knowledge
from ..language.order import reads_of
from ..language.things import NodeId


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
    rooms: frozenset[str] = frozenset()  # its own, and others whose questions it is among
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


# ---- its draws -----------------------------------------------------------------------------------


def drawn(model: Model, rng: random.Random) -> dict[str, str]:
    """One draw of a model's facts."""
    facts: dict[str, str] = {}
    for name, values in model.draws.items():
        # in the order of the model: the same seed draws the same facts, however many draws are
        # added below
        value = rng.choice(values)
        facts.update(value if isinstance(value, dict) else {name: value})
    return facts


def filled(template: Any, facts: dict[str, str]) -> Any:
    """*template*, a part of a job or a text, with every {fact} written out."""
    if isinstance(template, dict):
        out = Mapping((key, filled(value, facts)) for key, value in template.items())
        out.at = place_of(template)
        return out
    if isinstance(template, list):
        return [filled(value, facts) for value in template]
    return re.sub(r"\{([^{}]+)\}", lambda match: facts.get(match[1], match[0]), str(template))


def changed(body: Mapping, change: dict[str, Any]) -> Mapping:
    """*body* with what *change* says put over it, at any depth; a list takes the change in its
    first item.
    """
    out = Mapping(body)
    for key, value in change.items():
        old = next((o for o in out if str(o) == str(key)), key)
        if isinstance(value, dict) and isinstance(out.get(old), dict):
            out[old] = changed(out[old], value)
        elif isinstance(value, dict) and isinstance(out.get(old), list) and out[old]:
            out[old] = [changed(out[old][0], value), *out[old][1:]]
        else:
            out[old] = value
    return out


# ---- what it asks about --------------------------------------------------------------------------


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
        # what only fills a fact that nobody told never runs where all tell it; what gives it may
        # still dispute it
        if node[0] == "cell" and not node[3] and node[1:3] in told:
            givers = k.order.givers[node[1:3]]
            stack.extend(("rule", giver.id, "") for giver in givers if giver.verb == "gives")
        else:
            stack.extend(k.order.needs.get(node, ()))
    return frozenset(seen)


def read_anew(k: Knowledge, believed: Knowledge, changed: frozenset[str]) -> set[NodeId]:
    """The cells that the rules *changed* read as they are *believed*, and did not read before."""
    return {
        ("cell", kind, fact, "")
        for name in changed
        for kind, fact, _, _ in (
            reads_of(believed.rules[name], k.words) - reads_of(k.rules[name], k.words)
        )
    }


def touched_in(k: Knowledge, nodes: frozenset[NodeId]) -> frozenset[str]:
    """The rules that run in *nodes*, and the tables and values that they read."""
    out: set[str] = set()
    for node in nodes:
        if node[0] in ("rule", "pick", "try"):
            rule = k.rules[node[1]]
            out |= {rule.id} | rule.reads_tables | rule.reads_values
    return frozenset(out)
