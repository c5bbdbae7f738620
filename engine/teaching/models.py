"""Question models: a stem, the facts drawn, what is asked. What is made of them is in
`instances`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.reading import Mapping, decode, place_of, read_bytes, read_yaml
from ..basics.units import number_text
from ..language.knowledge import KB, Knowledge
from ..language.order import reads_of
from ..language.rules import PROSE
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
    touched: frozenset = frozenset()  # the rules, tables and values its answer may rest on

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
    """Every shipped model by its name, checked against *k*. Raises Faults with everything wrong."""
    faults, out = Collector(), {}
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
            for d in body:
                with faults.catching():
                    m = _read(d, path.stem, k, faults)
                    if m.name in out:
                        raise Fault(
                            "id-in-use",
                            m.at,
                            f'"{m.name}" is already at {out[m.name].at}',
                            "give it a name of its own",
                        )
                    out[m.name] = m
    faults.stop()
    return out


def _read(d, room: str, k: Knowledge, faults: Collector) -> Model:
    at = place_of(d)
    if not isinstance(d, dict) or not isinstance(d.get("question"), str):
        raise Fault(
            "question-form",
            at,
            "this is no question model",
            "write - question: its name, stem:, draws:, job: and what is asked",
        )
    for key in d:
        if key not in KEYS:
            faults.add(
                "question-key",
                place_of(key),
                f'a question takes no "{key}"',
                suggest(str(key), KEYS),
            )
    kinds = [x for x in KINDS if x in d]
    kind = (
        "under"
        if len(kinds) == 2 and "under" in kinds and set(kinds) & {"asks", "judges", "findings"}
        else kinds[0]
        if len(kinds) == 1
        else ""
    )
    if not kind:
        raise Fault(
            "question-form",
            at,
            f"{d['question']} asks {'several things' if kinds else 'nothing'}",
            "write one of: " + ", ".join(KINDS),
        )
    if not isinstance(d.get("stem"), str) or not isinstance(d.get("job"), dict):
        raise Fault(
            "question-form",
            at,
            f"{d['question']} has no stem or no job",
            "write stem: a sentence with {facts} and job: what is the same in every draw",
        )
    draws = {}
    for fact, said in (d.get("draws") or {}).items():
        draws[str(fact)] = drawn_from(said, place_of(said, at))
    names = {
        n
        for fact, values in draws.items()
        for v in values
        for n in (v if isinstance(v, dict) else (fact,))
    }
    for name in re.findall(r"\{([^{}]+)\}", d["stem"]):
        if name not in names and name != "edition" and not (kind == "under" and name == "other"):
            faults.add(
                "question-word",
                place_of(d["stem"], at),
                f'the stem says "{{{name}}}", and nothing of that name is drawn',
                suggest(name, names),
            )
    if "{edition}" in d["stem"].replace(HERE, ""):
        faults.add(
            "question-word",
            place_of(d["stem"], at),
            'the stem names its edition in other words than "the {edition} edition"',
            f"write {HERE}: another law can stand there then",
        )
    for fact, values in draws.items():
        if not any(
            "{" + n + "}" in d["stem"]
            for v in values
            for n in (v if isinstance(v, dict) else (fact,))
        ):
            faults.add(
                "question-word",
                place_of(d["stem"], at),
                f'"{fact}" is drawn, and the stem does not say it',
                f"say {{{fact}}} in the stem: what the answer rests on is told",
            )
    m = Model(
        str(d["question"]),
        str(d.get("room", room)),
        kind,
        " ".join(str(d["stem"]).split()),
        draws,
        d["job"],
        str(d.get("rule", "")),
        d,
        at,
    )
    if m.rule and m.rule not in k.rules and m.rule not in k.absent:
        faults.add(
            "no-such-rule",
            place_of(d["rule"], at),
            f'"{m.rule}" is no rule',
            suggest(m.rule, k.rules),
        )
    for i in as_list(d.get("options")) if kind == "order" else ():
        if str(i) not in k.rules and str(i) not in k.absent:
            faults.add(
                "no-such-rule", place_of(i, at), f'"{i}" is no rule', suggest(str(i), k.rules)
            )
    with faults.catching():
        m.touched = _touched(k, cone(k, starts(m, k)))
    return m


def drawn_from(said, at: Place) -> list:
    """The values of a draw: `a | b | c`, `16 A to 48 A step 2 A`, or a list; what is drawn together
    is a list of {fact: value}.
    """
    if isinstance(said, list):
        return [
            {str(k): str(x) for k, x in v.items()} if isinstance(v, dict) else str(v) for v in said
        ]
    text = str(said)
    if m := re.fullmatch(r"([\d.]+)(.*?) to ([\d.]+)(.*?) step ([\d.]+)(.*)", text):
        (lo, a, hi, b, step, _), unit = m.groups(), m[2].strip()
        v, top, by, out = Fraction(lo), Fraction(hi), Fraction(step), []
        if a.strip() != b.strip() or by <= 0 or top < v or (top - v) / by > 2000:
            raise Fault(
                "question-draw",
                at,
                f'"{text}" draws nothing, or too much',
                "write 16 A to 48 A step 2 A",
            )
        while v <= top:
            out.append(f"{number_text(v)} {unit}".strip())
            v += by
        return out
    return [p.strip() for p in text.split("|")]


def compared(models: dict[str, Model], k: Knowledge, other: Knowledge) -> dict[str, Model]:
    """The same questions asked of another law, where something they rest on is otherwise there."""
    moved = {
        i
        for i in {*k.rules, *other.rules}
        if i not in k.rules
        or i not in other.rules
        or _law_of(k.rules[i]) != _law_of(other.rules[i])
    }
    moved |= {i for i in k.values if k.values[i] != other.values.get(i)} | {
        i for i in k.tables if i not in other.tables or k.tables[i].rows != other.tables[i].rows
    }
    out = {}
    for m in models.values():
        if m.kind in ("asks", "judges", "findings") and m.touched & moved:
            name = f"{m.name}-elsewhere"
            out[name] = replace(
                m,
                name=name,
                kind="under",
                stem=(
                    m.stem.replace(HERE, "{other}")
                    if HERE in m.stem
                    else f"Under {{other}}: {m.stem}"
                ),
                d=Mapping({**m.d, "under": "another law"}),
            )
    return out


def _law_of(r) -> dict:
    """What a rule concludes from: no prose, and no examples, which a rule that is kept between
    starts has not.
    """
    return {key: v for key, v in r.d.items() if key not in PROSE}


# ---- what is asked -------------------------------------------------------------------------------


def place(text: str, m: Model, sep: str) -> tuple[str, str]:
    """What is asked and of which thing: `FACT of THING`, `RULE on THING`."""
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
    """The kind of a thing by its path: circuits.shop.conductors."""
    kind, parts = "job", thing.split(".")
    i = 0
    while i < len(parts):
        w = k.words.kinds[kind].words.get(parts[i])
        if w is None or w.type[0] not in ("ref", "many"):
            raise Fault(
                "question-word",
                Place(thing),
                f'"{thing}" is no thing: {kind} has no "{parts[i]}"',
                suggest(parts[i], k.words.kinds[kind].words),
            )
        kind = w.type[1]
        i += 2 if w.type[0] == "many" else 1
    return kind


def starts(m: Model, k: Knowledge) -> list[tuple]:
    """The nodes of the order that a model asks about."""
    d = m.d
    if "asks" in d:
        fact, thing = place(str(d["asks"]), m, " of ")
        kind = kind_of(thing, k)
        if fact not in k.words.kinds[kind].words:
            raise Fault(
                "question-word",
                place_of(d["asks"], m.at),
                f'{kind} has no "{fact}"',
                suggest(fact, k.words.kinds[kind].words),
            )
        rules = [("cell", kind, fact, "")]
    else:
        rules = []
    for key in ("judges", "findings", "governs", "missing", "mends", "keeps"):
        if key in d:
            for one in as_list(d[key]):
                rule, thing = place(str(one), m, " on ")
                if rule not in k.rules and rule not in k.absent:
                    raise Fault(
                        "no-such-rule",
                        place_of(one, m.at),
                        f'"{rule}" is no rule',
                        suggest(rule, k.rules),
                    )
                if rule in k.rules:
                    rules.append(("rule", rule, ""))
    if "order" in d:
        fact, thing = place(str(d["order"]), m, " of ")
        rules.append(("cell", kind_of(thing, k), fact, ""))
    return rules


def cone(k: Knowledge, starts, told: frozenset = frozenset()) -> frozenset:
    """The nodes of the order that *starts* rest on. What only fills a fact nobody told is left out
    where it is *told*.
    """
    seen, stack = set(), list(starts)
    while stack:
        n = stack.pop()
        if n not in seen:
            seen.add(n)
            if n[0] == "cell" and not n[3] and n[1:3] in told:
                stack.extend(
                    ("rule", g.id, "") for g in k.order.givers[n[1:3]] if g.verb == "gives"
                )
            else:
                stack.extend(k.order.needs.get(n, ()))
    return frozenset(seen)


def _touched(k: Knowledge, nodes: frozenset) -> frozenset:
    out: set[str] = set()
    for n in nodes:
        if n[0] in ("rule", "pick", "try"):
            r = k.rules[n[1]]
            out |= {r.id} | r.reads_tables | r.reads_values
    return frozenset(out)


def read_anew(k: Knowledge, believed: Knowledge, changed: frozenset) -> set:
    """The cells that the rules *changed* read as they are *believed*, and did not read before."""
    return {
        ("cell", kind, fact, "")
        for i in changed
        for kind, fact, _, _ in reads_of(believed.rules[i], k.words) - reads_of(k.rules[i], k.words)
    }
