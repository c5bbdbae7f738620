"""Misconceptions: named wrong beliefs, each a few edits to the rules, run by the same engine to the
wrong answer.

A belief is no law: it has no section, its edits are not dated, and what follows from it says whose
belief it is. It is laid over knowledge that is in force, so that the same belief can be held under
any edition and in any place.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.reading import Mapping, Text, decode, place_of, read_bytes, read_yaml
from ..language.knowledge import KB, Knowledge, Material, Pool, assemble, value_in
from ..language.order import reads_of
from ..language.rules import Rule
from ..language.things import NodeId
from ..law.applying import apply
from ..law.edits import Edit
from ..law.library import shown_name
from ..law.verbs.registry import read_edit
from ..running.program import program_of

KEYS = ("belief", "says", "held because", "offends", "corrected", "room", "edits")
TAKES = ("amend", "withdraw", "narrow", "widen", "set")
# a belief that ignores a rule leaves it standing with a condition that is never met: its slots stay
NEVER = "1 > 2"


@dataclass
class Belief:
    """One misconception, its form checked."""

    name: str
    says: str  # what its holder would say
    held_because: str  # why people hold it
    offends: str  # the rule it goes against
    corrected: str  # what puts it right, in one sentence
    room: str
    at: Place
    edits: list[Edit] = field(default_factory=list)

    @property
    def touches(self) -> frozenset[str]:
        """The rules, tables and values it changes."""
        return frozenset(e.target for e in self.edits)


def read_beliefs(folder: Path | None = None) -> dict[str, Belief]:
    """Every shipped belief by its name.

    Raises:
        Faults: everything that is wrong in their form.
    """
    faults = Collector()
    out: dict[str, Belief] = {}
    for path in sorted((folder or KB / "beliefs").glob("*.yaml")):
        name = shown_name(path)
        with faults.catching():
            body = read_yaml(decode(read_bytes(path, name), name), name)
            if not isinstance(body, list):
                raise Fault(
                    "belief-form",
                    place_of(body, Place(name)),
                    "a file of beliefs is a list",
                    "begin each with - belief: and its name",
                )
            for said in body:
                with faults.catching():
                    belief = _read(said, path.stem, faults)
                    if belief.name in out:
                        raise Fault(
                            "id-in-use",
                            belief.at,
                            f'"{belief.name}" is already at {out[belief.name].at}',
                            "give it a name of its own",
                        )
                    out[belief.name] = belief
    faults.stop()
    return out


def _read(said: Any, room: str, faults: Collector) -> Belief:
    """One belief from what its file says."""
    at = place_of(said)
    if not isinstance(said, dict) or not isinstance(said.get("belief"), str):
        raise Fault(
            "belief-form",
            at,
            "this is no belief",
            "write - belief: its name, says:, held because:, offends:, corrected:, edits:",
        )
    _see_keys(said, at, faults)
    belief = Belief(
        str(said["belief"]),
        str(said.get("says", "")),
        str(said.get("held because", "")),
        str(said.get("offends", "")),
        str(said.get("corrected", "")),
        str(said.get("room", room)),
        at,
    )
    edits = said.get("edits")
    if not isinstance(edits, list) or not edits:
        raise Fault(
            "belief-form",
            at,
            f"{belief.name} changes nothing",
            "add edits: with what it takes the rules to say",
        )
    holder = _holder(belief)
    for number, one in enumerate(edits, 1):
        if not isinstance(one, dict) or sum(verb in one for verb in TAKES) != 1:
            faults.add(
                "belief-form",
                place_of(one, at),
                f"an edit of {belief.name} has no verb that a belief takes",
                "write one of: " + ", ".join(TAKES),
            )
            continue
        belief.edits.append(read_edit(_as_edit(one, belief), holder, number, faults))
    return belief


def _see_keys(said: dict, at: Place, faults: Collector) -> None:
    """See that a belief says what every belief says, and nothing else."""
    for key in said:
        if key not in KEYS:
            faults.add(
                "belief-key", place_of(key), f'a belief takes no "{key}"', suggest(str(key), KEYS)
            )
    for key in ("says", "held because", "offends", "corrected"):
        if not isinstance(said.get(key), str) or not said[key].strip():
            what = "the rule it goes against" if key == "offends" else "one sentence"
            faults.add(
                "belief-lacks",
                at,
                f'{said["belief"]} does not say "{key}:"',
                f"add {key}: and {what}",
            )


def _holder(belief: Belief) -> SimpleNamespace:
    """What stands for the pack of a belief's edits: no law, no days, and above every pack."""
    return SimpleNamespace(
        name=belief.name,
        title=belief.name,
        place="",
        where=f"the belief {belief.name}",
        layer="belief",
        rank=(9, 0),
        start="",
        end="",
        head={},
        folder=None,
    )


def _as_edit(one: dict, belief: Belief) -> Mapping:
    """One change of a belief as an edit is written: with a cite and a reason, which it has not."""
    at = belief.at
    full = Mapping(one)
    full.at = place_of(one, at)
    if "withdraw" in full:
        # withdrawn, its cells would be gone and the order another one: narrowed to never, the order
        # stays and everything but this rule is shared with the law
        full = _never(full)
    full[Text("cite", at)] = Text(f"belief {belief.name}", at)
    full[Text("reason", at)] = Text(belief.says or belief.name, at)
    if "amend" in full and "says" not in full and "row" not in full:
        # an amended rule is asked for a sentence with its new amounts, and a belief has one that
        # says what is believed
        full[Text("says", at)] = Text(f"believed: {belief.says}", at)
    return full


def _never(withdrawing: Mapping) -> Mapping:
    """An edit that has a rule never apply, where one was written that withdraws it."""
    at = withdrawing.at
    rest = {key: said for key, said in withdrawing.items() if key != "withdraw"}
    out = Mapping(
        {
            Text("narrow", at): withdrawing["withdraw"],
            Text("only when", at): Text(NEVER, at),
            **rest,
        }
    )
    out.at = at
    return out


def held(k: Knowledge, *beliefs: Belief) -> Knowledge:
    """*k* as somebody understands it who holds *beliefs*.

    Only what they change is checked anew; the order stays, and where it cannot, everything is put
    together anew.

    Raises:
        Faults: they do not fit what is in force.
    """
    material, faults = _written(k), Collector()
    apply(material, [_fresh(edit) for belief in beliefs for edit in belief.edits], None, faults)
    faults.stop()
    values = dict(k.values)
    for name, item in material.values.items():
        if item is not k.value_items[name]:
            values[name] = value_in(item, k.edition, faults)
    rules = _checked_anew(k, material, values, faults)
    faults.stop()
    changed = {name for name, rule in rules.items() if rule is not k.rules[name]}
    # what is kept by the digest of a law must not be taken for what somebody wrongly holds
    digest = f"{k.digest} as believed by {' and '.join(belief.name for belief in beliefs)}"
    if _in_order(k, changed, rules):
        believed = k.but(
            tables=material.tables,
            rules=rules,
            values=values,
            value_items=material.values,
            digest=digest,
        )
        program_of(believed).share_code(program_of(k), changed)
        return believed
    believed = assemble(material, faults, Pool())
    believed.digest = digest
    return believed


def _written(k: Knowledge) -> Material:
    """What is in force as it is written, to be changed."""
    out = Material(k.edition, k.words, k.packs)
    # a rule of another edition may be what somebody believes in: it is written down, too
    out.rules = {name: rule.d for name, rule in {**k.absent, **k.rules}.items()}
    out.values, out.tables = dict(k.value_items), dict(k.tables)
    out.formerly = k.formerly
    return out


def _checked_anew(
    k: Knowledge, material: Material, values: dict[str, tuple], faults: Collector
) -> dict[str, Rule]:
    """The rules in force, those checked anew that read otherwise, or stand on what does."""
    tables = {name for name, table in material.tables.items() if table is not k.tables[name]}
    moved = {name for name, worth in values.items() if worth != k.values[name]}
    out, known = dict(k.rules), {*material.rules}
    for name, rule in k.rules.items():
        text = material.rules[name]
        # a rule is checked against the tables and values it reads: one that reads another is
        # another rule
        if text is not rule.d or tables & rule.reads_tables or moved & rule.reads_values:
            with faults.catching():
                out[name] = Rule(text, k.words, material.tables, values, known, faults)
                # read anew it lists exceptions to rules that are not in force here, which were left
                # out before
                out[name].exception_to = rule.exception_to
    return out


def _fresh(edit: Edit) -> Edit:
    # one belief is held under several laws: what its edit did under one is nothing to the next
    return replace(edit, done={})


def _in_order(k: Knowledge, changed: set[str], rules: dict[str, Rule]) -> bool:
    """Whether everything the changed rules read is settled before they run, in the order there
    is.
    """
    at: dict[NodeId, int] = {
        inner: place
        for place, node in enumerate(k.order.sequence)
        for inner in (node[2] if node[0] == "block" else (node,))
    }
    # a rule runs on the things themselves and on the rows of each pick, at places of their own
    planes = ("", *k.order.tests)
    for name in changed:
        new = reads_of(rules[name], k.words) - reads_of(k.rules[name], k.words)
        for plane in planes:
            mine = at.get(("rule", name, plane))
            if mine is not None and any(
                at.get(("cell", kind, fact, plane if own and plane else ""), mine) >= mine
                for kind, fact, own, _ in new
            ):
                return False
    return True


__all__ = ["Belief", "read_beliefs", "held", "KB"]
