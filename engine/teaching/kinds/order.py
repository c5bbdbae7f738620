"""`order`: in what order reasons rest on each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...language.knowledge import Knowledge
from ...language.things import NodeId
from ...language.words import as_list
from ...proving.graph import Explainer, Graph
from ...running.chain import OFF, TELL, World
from ..asked import Model, place
from ..questions import Draw, Made, Option, Value
from .kind import (
    Kind,
    fact_node,
)

if TYPE_CHECKING:
    from ..instances import Maker


class InOrder(Kind):
    """The rules behind `FACT of THING`: what is wrong here is an order, and no option."""

    name = "order"
    is_ordered = True
    believed = False
    asks_what_is_open = True

    def rules_asked(self, model: Model) -> list[str]:
        return []

    def rules_named(self, model: Model) -> list:
        return as_list(model.d.get("options"))

    def starts(self, model: Model, knowledge: Knowledge) -> list[NodeId]:
        return [fact_node(str(model.d["order"]), model, knowledge)]

    def concluded(
        self, model: Model, world: World, lawful: bool, off_counts: bool
    ) -> tuple[Value, str]:
        return _steps(world, model), ""

    def derive(self, explainer: Explainer, model: Model) -> None:
        for said in self.lines(model):
            fact, thing = place(said, model, " of ")
            explainer.fact(explainer.w.things[thing], fact)

    def make(self, maker: Maker, draw: Draw) -> Made | None:
        """Order the reasons: what is wrong here is an order, and no option."""
        model, body, rng = draw.model, draw.body, draw.rng
        rules = maker.concluded(model, maker.settled(model, body).lawful(), True)[0]
        # two reasons in their order are a coin thrown
        if rules is None or len(rules) < 3:
            return None
        options = [Option(maker.k.rules[i].said, i, True) for i in rules]
        key = Option(" / ".join(option.text for option in options), rules, True)
        rng.shuffle(options)
        return Made(key, options, all_offered=True)


def _steps(world: World, model: Model) -> tuple[str, ...] | None:
    """The longest chain of the rules that a model names in which each rests on the one before, and
    not the other way round.
    """
    fact, thing = place(str(model.d["order"]), model, " of ")
    x = world.things.get(thing)
    if x is None or x[world.k.words.kinds[x[0].kind].words[fact].slot] is None:
        return None
    e = Explainer(world, bare=True)
    e.fact(x, fact)
    at = _standing(e.g, [str(rule) for rule in as_list(model.d["options"])])
    down: dict[str, list[str]] = {i: [] for i in e.g.nodes}
    for above, below, role in e.g.edges:
        # a rule that might have given a fact and did not is no step on the way
        if role != "not given by":
            down[above].append(below)
    rests = {rule: _met(down, at, rule) for rule in at}
    # rules that rest on each other round a circle have no order that could be asked for
    before = {a: [b for b in at if b in rests[a] and a not in rests[b]] for a in at}
    return _one_order(before, [rule for rule in at if at[rule]])


def _one_order(before: dict[str, list[str]], rules: list[str]) -> tuple[str, ...]:
    """The longest row of *rules* in which each rests on every one before it: of these no other
    order could be given.
    """
    rows: dict[str, tuple[str, ...]] = {}
    # what rests on fewer comes first, so that the rows before it are known
    for rule in sorted(rules, key=lambda rule: len(before[rule])):
        fitting = (row for row in rows.values() if {*row} <= {*before[rule]})
        rows[rule] = (*max(fitting, key=len, default=()), rule)
    return max(rows.values(), key=len, default=())


def _standing(graph: Graph, rules: list[str]) -> dict[str, list[str]]:
    """The nodes of a derivation at which each of *rules* stands with an answer."""
    at: dict[str, list[str]] = {rule: [] for rule in rules}
    for i, node in graph.nodes.items():
        is_rule = node.kind in ("rule", "pick") and node.data["rule"] in at
        if is_rule and node.data.get("answer") not in (OFF, TELL):
            at[node.data["rule"]].append(i)
    return at


def _met(down: dict[str, list[str]], at: dict[str, list[str]], rule: str) -> set[str]:
    """Of the rules that stand *at* nodes of a derivation, those that *rule* rests on in any number
    of steps, wherever it stands.
    """
    where = {i: r for r, nodes in at.items() for i in nodes}
    seen: set[str] = set()
    stack = list(at[rule])
    while stack:
        for below in down[stack.pop()]:
            for n in at[where[below]] if below in where else (below,):
                if n not in seen:
                    seen.add(n)
                    stack.append(n)
    return {where[i] for i in seen if i in where}
