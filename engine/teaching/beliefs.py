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

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.reading import Mapping, Text, decode, place_of, read_bytes, read_yaml
from ..language.knowledge import KB, Knowledge, Material, Pool, _value, assemble
from ..language.order import reads_of
from ..language.rules import Rule
from ..law.applying import apply
from ..law.edits import Edit, read_edit
from ..law.library import shown_name

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
    """Every shipped belief by its name. Raises Faults with everything that is wrong in their
    form.
    """
    faults, out = Collector(), {}
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
            for d in body:
                with faults.catching():
                    b = _read(d, path.stem, faults)
                    if b.name in out:
                        raise Fault(
                            "id-in-use",
                            b.at,
                            f'"{b.name}" is already at {out[b.name].at}',
                            "give it a name of its own",
                        )
                    out[b.name] = b
    faults.stop()
    return out


def _read(d, room: str, faults: Collector) -> Belief:
    at = place_of(d)
    if not isinstance(d, dict) or not isinstance(d.get("belief"), str):
        raise Fault(
            "belief-form",
            at,
            "this is no belief",
            "write - belief: its name, says:, held because:, offends:, corrected:, edits:",
        )
    for k in d:
        if k not in KEYS:
            faults.add("belief-key", place_of(k), f'a belief takes no "{k}"', suggest(str(k), KEYS))
    for k in ("says", "held because", "offends", "corrected"):
        if not isinstance(d.get(k), str) or not d[k].strip():
            faults.add(
                "belief-lacks",
                at,
                f'{d["belief"]} does not say "{k}:"',
                (
                    f"add {k}: and one sentence"
                    if k != "offends"
                    else "add offends: and the rule it goes against"
                ),
            )
    b = Belief(
        str(d["belief"]),
        str(d.get("says", "")),
        str(d.get("held because", "")),
        str(d.get("offends", "")),
        str(d.get("corrected", "")),
        str(d.get("room", room)),
        at,
    )
    holder = SimpleNamespace(
        name=b.name,
        title=b.name,
        place="",
        where=f"the belief {b.name}",
        layer="belief",
        rank=(9, 0),
        start="",
        end="",
        head={},
        folder=None,
    )
    said = d.get("edits")
    if not isinstance(said, list) or not said:
        raise Fault(
            "belief-form",
            at,
            f"{b.name} changes nothing",
            "add edits: with what it takes the rules to say",
        )
    for n, one in enumerate(said, 1):
        if not isinstance(one, dict) or sum(v in one for v in TAKES) != 1:
            faults.add(
                "belief-form",
                place_of(one, at),
                f"an edit of {b.name} has no verb that a belief takes",
                "write one of: " + ", ".join(TAKES),
            )
            continue
        full = Mapping(one)
        full.at = place_of(one, at)
        if "withdraw" in full:
            full = Mapping(
                {
                    Text("narrow", full.at): full["withdraw"],
                    Text("only when", full.at): Text(NEVER, full.at),
                    **{k: v for k, v in full.items() if k != "withdraw"},
                }
            )
            full.at = place_of(one, at)
        full[Text("cite", at)] = Text(f"belief {b.name}", at)
        full[Text("reason", at)] = Text(b.says or b.name, at)
        if "amend" in full and "says" not in full and "row" not in full:
            full[Text("says", at)] = Text(f"believed: {b.says}", at)
        b.edits.append(read_edit(full, holder, n, faults))
    return b


def held(k: Knowledge, *beliefs: Belief) -> Knowledge:
    """*k* as somebody understands it who holds *beliefs*. Raises Faults where they do not fit what
    is in force.

    Only what they change is checked anew; the order stays, and where it cannot, everything is put
    together anew.
    """
    m = Material(k.edition, k.words, k.packs)
    m.rules, m.values, m.tables, m.ways = (
        {i: r.d for i, r in {**k.absent, **k.rules}.items()},
        dict(k.value_items),
        dict(k.tables),
        k.ways,
    )
    faults = Collector()
    apply(m, [_fresh(e) for b in beliefs for e in b.edits], None, faults)
    faults.stop()
    name = " and ".join(b.name for b in beliefs)
    values = dict(k.values)
    for v, d in m.values.items():
        if d is not k.value_items[v]:
            values[v] = _value(d, k.edition, faults)
    tables = {t for t in m.tables if m.tables[t] is not k.tables[t]}
    moved = {v for v in values if values[v] != k.values[v]}
    rules, ids = dict(k.rules), {*m.rules}
    for i, r in k.rules.items():
        if m.rules[i] is not r.d or tables & r.reads_tables or moved & r.reads_values:
            with faults.catching():
                rules[i] = Rule(m.rules[i], k.words, m.tables, values, ids, faults)
                rules[i].exception_to = r.exception_to
    faults.stop()
    changed = {i for i in rules if rules[i] is not k.rules[i]}
    if _in_order(k, changed, rules):
        believed = k.but(
            tables=m.tables,
            rules=rules,
            values=values,
            value_items=m.values,
            digest=f"{k.digest} as believed by {name}",
        )
        believed._emitted = k.emitted().but(believed, changed)
        return believed
    believed = assemble(m, faults, Pool())
    believed.digest = f"{k.digest} as believed by {name}"
    return believed


def _fresh(e: Edit) -> Edit:
    return replace(e, done={})


def _in_order(k: Knowledge, changed: set[str], rules: dict[str, Rule]) -> bool:
    """Whether everything the changed rules read is settled before they run, in the order there
    is.
    """
    at = {
        m: n
        for n, node in enumerate(k.order.sequence)
        for m in (node[2] if node[0] == "block" else (node,))
    }
    planes = ("", *k.order.tests)
    for i in changed:
        new = reads_of(rules[i], k.words) - reads_of(k.rules[i], k.words)
        for plane in planes:
            me = at.get(("rule", i, plane))
            if me is not None and any(
                at.get(("cell", kind, fact, plane if own and plane else ""), me) >= me
                for kind, fact, own, _ in new
            ):
                return False
    return True


__all__ = ["Belief", "read_beliefs", "held", "KB"]
