"""The program of a knowledge: what is derived from it to run jobs, when it is first wanted.

Knowledge holds its program as one field and knows nothing of it: so it goes where the knowledge
goes, ends with it, and no room below is imported from there.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import TYPE_CHECKING, Any

from ..language.knowledge import Knowledge
from ..language.order import FactOf
from ..language.rules import Rule
from ..language.things import NodeId
from .alike import Alike
from .emit import Emitted

if TYPE_CHECKING:  # each is made by a module that asks for the program it belongs to
    from .durable import Plan
    from .job import Shape
    from .rerun import Readers

Kinds = frozenset[str]
Nodes = frozenset[NodeId]


class Program:
    """What is made of one knowledge to run jobs by it."""

    __slots__ = (
        "knowledge",
        "code",
        "plans",
        "shapes",
        "readers",
        "remembered",
        "_alike",
        "_about",
        "_tries",
        "_instead",
        "_cells",
        "_labels",
        "_orders",
        "_parts",
    )

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.code: Emitted | None = None  # the order as emitted functions
        # kinds of things, and the nodes that are run -> the plan of the second chainer
        self.plans: dict[Hashable, Plan] = {}
        self.shapes: dict[str, Shape] = {}  # kind -> the shape of a thing as a job tells it
        self.readers: Readers | None = None  # who reads what, as a run that changes asks
        # what was found out about the knowledge alone, by whatever the finder calls it
        self.remembered: dict[Hashable, Any] = {}
        self._alike: dict[str, Alike] = {}  # rule -> what the general evaluator left of it
        self._about: dict[tuple[str, tuple[str, ...]], list[Rule]] = {}  # of a kind and verbs
        self._tries: tuple[str, ...] | None = None  # found when a job is first run
        self._instead: dict[str, frozenset[FactOf]] = {}  # rule -> the defaults it may rest on
        self._cells: dict[str, tuple[int, ...]] = {}  # rule -> the cells that it writes
        self._labels: dict[tuple[str, Any], str] = {}  # (pick, row) -> how the row is called
        self._orders: dict[Kinds, list[NodeId]] = {}  # kinds -> the order for a job with these
        self._parts: dict[tuple[Kinds, Nodes], list[NodeId]] = {}  # the same, of some nodes alone

    def emitted(self) -> Emitted:
        """The order as emitted functions."""
        if self.code is None:
            self.code = Emitted(self.knowledge)
        return self.code

    def share_code(self, of: Program, changed: set[str]) -> None:
        """Take over the functions of another program, but for those of the rules *changed*."""
        self.code = of.emitted().but(self.knowledge, changed)

    def alike(self, rule: str) -> Alike:
        """What a rule left on things where the general evaluator answered, by what it read."""
        found, stands = self._alike.get(rule), self.knowledge.rules[rule]
        if found is None or found.rule is not stands:
            found = self._alike[rule] = Alike(stands)
        return found

    def label(self, pick: Rule, row: Any) -> str:
        """How a row that is tried is called."""
        said = self._labels.get((pick.id, row))
        if said is None:
            said = self._labels[pick.id, row] = pick.tries_table.show(pick.tried.name, row)
        return said

    def rules_about(self, kind: str, verbs: tuple[str, ...]) -> list[Rule]:
        """The rules about a kind of things that have one of these verbs, in their order: a job
        asks for the same ones time and again, and it is one of few kinds.
        """
        found = self._about.get((kind, verbs))
        if found is None:
            found = self._about[kind, verbs] = [
                rule
                for rule in self.knowledge.rules.values()
                if rule.about == kind and rule.verb in verbs
            ]
        return found

    def tries(self) -> tuple[str, ...]:
        """The rules that try rows, of which every run keeps what it tried."""
        if self._tries is None:
            rules = self.knowledge.rules.values()
            self._tries = tuple(rule.id for rule in rules if rule.verb == "tries")
        return self._tries

    def instead_under(self, rule: str) -> frozenset[FactOf]:
        """The facts worth trying otherwise (`try` of a word) that a rule may rest on, by the order
        alone: most rest on none, whatever the job.
        """
        found = self._instead.get(rule)
        if found is None:
            knowledge = self.knowledge
            seen: set[NodeId] = set()
            stack: list[NodeId] = [("rule", rule, "")]
            while stack:
                node = stack.pop()
                if node not in seen:
                    seen.add(node)
                    stack.extend(knowledge.order.needs.get(node, ()))
            found = self._instead[rule] = frozenset(
                (node[1], node[2])
                for node in seen
                if node[0] == "cell" and knowledge.words.kinds[node[1]].words[node[2]].try_instead
            )
        return found

    def cells_of(self, rule: str) -> tuple[int, ...]:
        """The cells that a rule writes on a thing: its answer, whether it holds (of exceptions and
        fillers), what it gives.
        """
        if not self._cells:
            knowledge = self.knowledge
            given: dict[str, list[int]] = {}
            for (giver, _), slot in knowledge.results.items():
                given.setdefault(giver, []).append(slot)
            for name, slot in knowledge.slots.items():
                holds = (knowledge.holds[name],) if name in knowledge.holds else ()
                self._cells[name] = (slot, *holds, *given.get(name, ()))
        return self._cells[rule]

    def order(self, kinds: Kinds) -> list[NodeId]:
        """The order for a job with these kinds of things, without what needs no work there."""
        if kinds not in self._orders:
            self._orders[kinds] = [
                node
                for node in self.knowledge.order.sequence
                if self.knowledge.concerns(node, kinds)
            ]
        return self._orders[kinds]

    def part(self, kinds: Kinds, nodes: Nodes) -> list[NodeId]:
        """Of the order for a job with these kinds of things, *nodes* alone."""
        if (kinds, nodes) not in self._parts:
            self._parts[kinds, nodes] = [
                (*node[:2], tuple(n for n in node[2] if n in nodes)) if node[0] == "block" else node
                for node in self.order(kinds)
                if node in nodes or node[0] == "block" and nodes & set(node[2])
            ]
        return self._parts[kinds, nodes]


def program_of(knowledge: Knowledge) -> Program:
    """The program of *knowledge*, made when it is first asked for."""
    # a field and no table by identity: knowledge that is let go takes its code along
    program: Program | None = knowledge.program
    if program is None:
        program = knowledge.program = Program(knowledge)
    return program
