"""In what order the rules run: strata found when the packs are loaded, a circle told with its
places.

A node is one of

    ("rule", id, plane) · ("cell", kind, fact, plane) · ("try", pick id) · ("pick", pick id)

where a plane is "" for the things of the job and a pick's id for the rows that pick tries. A circle
that only closes through an upstream link or a downstream list is a block: it is run whole, thing by
thing along the feeders.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from heapq import heappop, heappush
from typing import Any, TypeAlias

from ..basics.errors import Fault, Place
from ..basics.limits import NUMBERS
from ..basics.reading import place_of
from . import expressions as ex
from .rules import JUDGING, MEANT, Rule
from .things import NodeId
from .words import Word, Words

FactOf: TypeAlias = tuple[str, str]  # (kind, fact)
Graph: TypeAlias = dict[NodeId, set[NodeId]]  # a node -> the nodes it needs
# (kind, fact, is it the thing's own, read along feeders: "up", "down", or "" where it is not)
Reading: TypeAlias = tuple[str, str, bool, str]
Edge: TypeAlias = tuple[NodeId, NodeId]  # (a node, one that it needs)
# a circle that may be run whole: along which feeders it closes ("up", "down"), and its nodes
Circle: TypeAlias = tuple[set[str], set[NodeId]]


class Order:
    """The one order everything runs in, and what it was found from."""

    def __init__(self, exceptions: dict[str, list[Rule]] | None = None) -> None:
        # nodes; a block is ("block", "up"|"down", (nodes))
        self.sequence: list[NodeId] = []
        self.needs: Graph = {}  # node -> the nodes it needs
        self.rank: dict[NodeId, int] = {}  # node -> stratum
        self.givers: dict[FactOf, list[Rule]] = {}  # (kind, fact) -> rules that fill it
        self.exceptions = exceptions or {}  # rule id -> rules that set it aside
        self.tests: dict[str, list[Rule]] = {}  # pick id -> its tests
        self.readers: dict[FactOf, set[str]] = {}  # (kind, fact) -> rule ids that read it

    def nodes(self) -> Iterator[NodeId]:
        """Every node in turn, those of a block one by one."""
        for top in self.sequence:
            yield from inside(top)


def inside(top: NodeId) -> tuple[NodeId, ...]:
    """The nodes of a block; of any other node itself."""
    return top[2] if top[0] == "block" else (top,)


# ---- what a rule reads ---------------------------------------------------------------------------


def climb_of(word: Word, words: Words) -> str:
    """Which way a link goes along the feeders: "up", "down", or "" where both its ends may lie
    equally far down them.

    A downstream list climbs only where it turns an upstream link round. What hangs on a panel is no
    further down the feeders than the panel: run thing by thing, the two come at one turn, and
    within a turn only the order says which is settled first.
    """
    if word.up:
        return "up"
    turned = words.kinds[word.type[1]].words.get(word.back) if word.down else None
    return "down" if turned is not None and turned.up else ""


def reads_of(rule: Rule, words: Words) -> set[Reading]:
    """(kind, fact, is it the thing's own, via "up"/"down"/"") of every step of every path the rule
    reads.
    """
    out: set[Reading] = set()
    for expression in rule.exprs():
        _read_by(expression, "", words, out)
    return out


def reads_of_line(line: ex.Expr | None, words: Words) -> set[Reading]:
    """The same of one line of a rule; nothing where it has none."""
    out: set[Reading] = set()
    if line is not None:
        _read_by(line, "", words, out)
    return out


def ways_of(rule: Rule, words: Words) -> dict[tuple[str, str], set[tuple]]:
    """(kind, fact) that the rule reads -> the ways on which it is reached from the thing that the
    rule is about.

    A way is the links that lead there, each as (kind, link), the members of a list among them; ()
    is the thing itself.
    """
    out: dict[tuple[str, str], set[tuple]] = {}

    def along(path: ex.Path, way: tuple) -> tuple:
        for kind, name in zip(path.kinds, path.names):
            out.setdefault((kind, name), set()).add(way)
            way = (*way, (kind, name))
        return way

    def visit(e: ex.Expr, member: tuple) -> None:
        if isinstance(e, ex.Path):
            along(e, member if e.member else ())
        of_each = member
        if e.things is not None:
            of_each = along(e.things, member if e.things.member else ())
        below = {ex.Stands.ALONE: (), ex.Stands.EACH: of_each}
        for kid, stands in e.placed():
            visit(kid, below.get(stands, member))

    for e in rule.exprs():
        visit(e, ())
    return out


def _read_by(e: ex.Expr, via: str, words: Words, out: set[Reading]) -> None:
    """Add to *out* what a piece reads that stands where *via* has led."""
    if isinstance(e, ex.Path):
        _read_along(e, via, words, out)
        return
    of_each = via
    if e.things is not None:
        of_each = _climb_of_list(e.things, words) or via
    for kid, stands in e.placed():
        _read_by(kid, of_each if stands is ex.Stands.EACH else via, words, out)


def _climb_of_list(things: ex.Path, words: Words) -> str:
    """Which way the members of a list lie along the feeders."""
    if not things.names:
        return ""
    return climb_of(words.kinds[things.kinds[-1]].words[things.names[-1]], words)


def _read_along(path: ex.Path, via: str, words: Words, out: set[Reading]) -> None:
    """Add to *out* each link of a path and the fact at its end."""
    kind = path.kinds[0]
    for i, name in enumerate(path.names):
        word = words.kinds[kind].words[name]
        out.add((kind, name, not path.member and i == 0, via))
        via = climb_of(word, words) or via
        kind = word.type[1] if word.type[0] == "ref" else ""


# ---- what fills, sets aside and tests what -------------------------------------------------------


def exceptions(rules: dict[str, Rule]) -> dict[str, list[Rule]]:
    """Rule id -> the rules that set it aside."""
    out: dict[str, list[Rule]] = {}
    for rule in rules.values():
        for target in rule.exception_to:
            out.setdefault(target, []).append(rule)
    return out


def roles(rules: dict[str, Rule]) -> Order:
    """Which rules fill, set aside and test what, not yet in any order."""
    order = Order(exceptions=exceptions(rules))
    for rule in rules.values():
        for fill in rule.fills:
            order.givers.setdefault((rule.about, fill.word.name), []).append(rule)
        if rule.verb == "tries":
            order.givers.setdefault((rule.about, rule.picks.name), []).append(rule)
            order.tests[rule.id] = [test for test in rules.values() if _tests(test, rule)]
    return order


def _tests(rule: Rule, pick: Rule) -> bool:
    """Must a row that *pick* tries pass the *rule*?"""
    if rule.about != pick.about:
        return False
    demands = rule.verb in ("must", "must not")
    return (demands and rule.id not in pick.leaving_out) or rule.id in pick.also


# ---- what each node needs ------------------------------------------------------------------------


class _Needs:
    """What a node needs before it can be worked, and which of these needs lead along feeders."""

    def __init__(self, order: Order, rules: dict[str, Rule], reads: dict[str, set[Reading]]):
        self.order, self.rules, self.reads = order, rules, reads
        # (node, need) -> the ways along the feeders on which one reads the other
        self.climbs: dict[Edge, set[str]] = {}

    @property
    def detached(self) -> dict[Edge, str]:
        """The edges a block may close through, and which way each leads.

        What is read beside that at one's own turn, or the other way too, has to be settled first
        all the same.
        """
        return {edge: min(ways) for edge, ways in self.climbs.items() if ways in ({"up"}, {"down"})}

    def of(self, node: NodeId) -> set[NodeId]:
        """The nodes that *node* needs."""
        kind, *rest = node
        return _NEEDS[kind](self, *rest)

    def rule(self, rule_id: str, plane: str) -> set[NodeId]:
        """A rule needs what it reads and its exceptions; on a row that is tried, the row."""
        node = ("rule", rule_id, plane)
        out: set[NodeId] = set()
        for kind, fact, own, via in self.reads[rule_id]:
            # only what the rule's own thing says may differ by the row
            read = ("cell", kind, fact, plane if own and plane else "")
            out.add(read)
            self.climbs.setdefault((node, read), set()).add(via)
        out |= {("rule", each.id, plane) for each in self.order.exceptions.get(rule_id, ())}
        if plane:
            out.add(("try", plane))
        return out

    def cell(self, kind: str, fact: str, plane: str) -> set[NodeId]:
        """A fact needs the rules that give it; on a row that is tried, the row."""
        givers = self.order.givers.get((kind, fact), [])
        if not plane:
            return {
                ("pick", each.id) if each.verb == "tries" else ("rule", each.id, "")
                for each in givers
            }
        out: set[NodeId] = {("try", plane)}
        if fact == self.rules[plane].tried.name:
            return out
        if not givers or any(each.verb in ("tries", "designs") for each in givers):
            # no row makes it otherwise than it is
            return out | {("cell", kind, fact, "")}
        return out | {("rule", each.id, plane) for each in givers}

    def tried(self, pick: str) -> set[NodeId]:
        """To try rows needs the facts by which they are looked up."""
        paths = (path for key in self.rules[pick].tries_keys.values() for path in ex.paths(key))
        return {("cell", path.kinds[0], path.names[0], "") for path in paths}

    def picked(self, pick: str) -> set[NodeId]:
        """To pick a row needs every test on every row."""
        return {("rule", test.id, pick) for test in self.order.tests[pick]} | {("try", pick)}


_NEEDS: dict[str, Callable[..., set[NodeId]]] = {
    "rule": _Needs.rule,
    "cell": _Needs.cell,
    "try": _Needs.tried,
    "pick": _Needs.picked,
}


def find_order(rules: dict[str, Rule], words: Words) -> Order:
    """Order *rules*, or raise Fault with the circle printed.

    Raises:
        Fault: some of them need each other, and no feeder leads along their circle.
    """
    order = roles(rules)
    reads = {rule.id: reads_of(rule, words) for rule in rules.values()}
    for rule in rules.values():
        for kind, fact, _, _ in reads[rule.id]:
            order.readers.setdefault((kind, fact), set()).add(rule.id)
    needs = _Needs(order, rules, reads)
    todo: list[NodeId] = [
        ("pick", rule.id) if rule.verb == "tries" else ("rule", rule.id, "")
        for rule in rules.values()
    ]
    todo += [("cell", kind.name, fact, "") for kind in words.kinds.values() for fact in kind.words]
    while todo:
        node = todo.pop()
        if node not in order.needs:
            order.needs[node] = needs.of(node)
            todo.extend(need for need in order.needs[node] if need not in order.needs)
    _sequence(order, rules, needs.detached)
    _rank(order)
    return order


# ---- the order -----------------------------------------------------------------------------------


def _sequence(order: Order, rules: dict[str, Rule], detached: dict[Edge, str]) -> None:
    """Put the nodes in order, each circle that may be run whole as one block."""
    graph = {node: set(needs) for node, needs in order.needs.items()}
    circles = _opened(graph, detached)

    def about(node: NodeId) -> tuple[Any, ...]:
        return _about(node, rules)

    try:
        flat = _arranged(graph, about)
    except _Circle as found:
        raise _circle(found.nodes, rules) from None
    for ways, nodes in circles:
        if len(ways) > 1:
            # nothing runs up and down the feeders at once
            raise _circle(sorted(nodes, key=str), rules)
    if not circles:
        order.sequence = flat
        return
    try:
        order.sequence = _arranged(_condensed(order.needs, _blocks(circles, flat)), about)
    except _Circle as found:
        raise _circle(
            [node for top in found.nodes for node in sorted(inside(top), key=str)], rules
        ) from None


def _opened(graph: Graph, detached: dict[Edge, str]) -> list[Circle]:
    """Take out of *graph* the edges along feeders that close a circle; say which circles those
    are.
    """
    circles: list[Circle] = []
    for nodes in _components(graph):
        if len(nodes) == 1:
            continue
        edges = {
            (node, need)
            for node in nodes
            for need in graph[node] & nodes
            if (node, need) in detached
        }
        for node, need in edges:
            graph[node].discard(need)
        circles.append(({detached[edge] for edge in edges}, nodes))
    return circles


def _about(node: NodeId, rules: dict[str, Rule]) -> tuple[Any, ...]:
    """What a node is about: nodes about the same are kept together, so that they run in one go."""
    if node[0] == "rule":
        return rules[node[1]].about, node[2]
    return (node[1], node[3]) if node[0] == "cell" else node


def _blocks(circles: list[Circle], flat: list[NodeId]) -> dict[NodeId, NodeId]:
    """The block of every node of a circle; inside it the nodes stand as in the *flat* order."""
    at = {node: i for i, node in enumerate(flat)}
    home: dict[NodeId, NodeId] = {}
    for ways, nodes in circles:
        (way,) = ways
        block = ("block", way, tuple(sorted(nodes, key=at.__getitem__)))
        home.update(dict.fromkeys(nodes, block))
    return home


def _condensed(needs: Graph, home: dict[NodeId, NodeId]) -> Graph:
    """What needs what, where each block is one node."""
    tops = {node: home.get(node, node) for node in needs}
    out: Graph = {top: set() for top in tops.values()}
    for node, top in tops.items():
        out[top].update(tops[need] for need in needs[node] if tops[need] is not top)
    return out


def _rank(order: Order) -> None:
    """Give each node its stratum: one more than the highest that it needs."""
    home = {node: top for top in order.sequence for node in inside(top)}
    for top in order.sequence:
        needed = (home[need] for node in inside(top) for need in order.needs[node])
        below = (order.rank[other] for other in needed if other is not top)
        order.rank[top] = 1 + max(below, default=-1)


class _Circle(Exception):
    """Nodes that need each other."""

    def __init__(self, nodes: list[NodeId]) -> None:
        super().__init__(nodes)
        self.nodes = nodes


def _arranged(graph: Graph, about: Callable[[NodeId], tuple[Any, ...]]) -> list[NodeId]:
    """The nodes, each after those it needs, in an order that depends on names alone and keeps
    together what is about the same.

    Raises:
        _Circle: some need each other.
    """
    left = {node: len(needs) for node, needs in graph.items()}
    after: dict[NodeId, list[NodeId]] = {node: [] for node in graph}
    for node, needs in graph.items():
        for need in needs:
            after[need].append(node)
    ready: dict[tuple[Any, ...], list[NodeId]] = {}
    for node, number in left.items():
        if not number:
            heappush(ready.setdefault(about(node), []), node)
    out: list[NodeId] = []
    while ready:
        # the largest group first: the fewer groups, the fewer times things are gone through
        group = max(ready, key=lambda each: (len(ready[each]), each))
        here = ready[group]
        while here:
            node = heappop(here)
            out.append(node)
            for other in after[node]:
                left[other] -= 1
                if not left[other]:
                    heappush(ready.setdefault(about(other), []), other)
        del ready[group]
    if len(out) < len(graph):
        raise _Circle(_one_circle(graph))
    return out


def _one_circle(graph: Graph) -> list[NodeId]:
    """Nodes of which each needs the next; the same ones at every start."""
    # wanted where there is a fault alone
    import graphlib

    by_name = {node: sorted(graph[node], key=str) for node in sorted(graph, key=str)}
    try:
        graphlib.TopologicalSorter(by_name).prepare()
    except graphlib.CycleError as found:
        return found.args[1]
    return []


def _components(graph: Graph) -> list[set[NodeId]]:
    """Strongly connected components (Tarjan), without recursion: a chain of rules may be longer
    than Python can go down.
    """
    index: dict[NodeId, int] = {}
    low: dict[NodeId, int] = {}
    open_: set[NodeId] = set()  # what is on the stack
    stack: list[NodeId] = []
    out: list[set[NodeId]] = []
    work: list[tuple[NodeId, Iterator[NodeId]]] = []

    def enter(node: NodeId) -> None:
        index[node] = low[node] = len(index)
        stack.append(node)
        open_.add(node)
        work.append((node, iter(graph[node])))

    for root in graph:
        if root not in index:
            enter(root)
        while work:
            node, needs = work[-1]
            for need in needs:
                if need not in index:
                    enter(need)
                    break
                if need in open_:
                    low[node] = min(low[node], index[need])
            else:
                work.pop()
                if work:
                    parent = work[-1][0]
                    low[parent] = min(low[parent], low[node])
                if low[node] == index[node]:
                    out.append(_taken_off(stack, open_, node))
    return out


def _taken_off(stack: list[NodeId], open_: set[NodeId], last: NodeId) -> set[NodeId]:
    """The nodes of the stack down to *last*, which are a component."""
    component: set[NodeId] = set()
    while last not in component:
        node = stack.pop()
        open_.discard(node)
        component.add(node)
    return component


# ---- what is told --------------------------------------------------------------------------------


def _written_over(rule: Rule) -> Place | None:
    """Where a line of a rule stands that was put in from another file; None where all are its
    own.
    """

    def places(said: object) -> Iterator[Place]:
        if isinstance(said, dict):
            said = list(said.values())
        if isinstance(said, list):
            for piece in said:
                yield from places(piece)
        else:
            yield place_of(said, rule.at)

    lines = [said for key, said in rule.d.items() if key in MEANT]
    return next((at for at in places(lines) if at[0] != rule.at[0]), None)


def _circle(nodes: Iterable[NodeId], rules: dict[str, Rule]) -> Fault:
    """The fault that says which nodes need each other."""
    nodes = list(nodes)
    said = list(dict.fromkeys(_said(node, rules) for node in nodes if node[0] != "try"))
    named = [rules[node[1]] for node in nodes if node[0] in ("rule", "pick", "try")]
    places = [_written_over(rule) or rule.at for rule in named]
    # a base that stood before is in no circle by itself: what was laid over it made the circle
    laid_over = (at for rule, at in zip(named, places) if at[0] != rule.at[0] or "local" in rule.d)
    at = next(laid_over, places[0] if places else next(iter(rules.values())).at)
    picks = any(node[0] in ("pick", "try") or (node[-1] and node[-1] in rules) for node in nodes)
    todo = (
        "break the circle: leave a test out of a pick (leaving out: ...)"
        if picks
        else "give one of these facts a name of its own"
    )
    return Fault("circle", at, "these need each other: " + " <- ".join(said), todo)


def _said(node: NodeId, rules: dict[str, Rule]) -> str:
    """A node as a person may look for it: a rule with its place, or a fact."""
    if node[0] == "rule":
        return f"{node[1]} ({rules[node[1]].at})"
    if node[0] in ("pick", "try"):
        return f"the pick {node[1]} ({rules[node[1]].at})"
    return f"{node[2]} of {node[1]}" + (f" (tried by {node[3]})" if node[3] else "")


def see_sizes(order: Order) -> None:
    """Raise Fault at the first line that reckons from too many numbers, every fact on the way
    written out as often as it is named.

    A fact that is the square of another has twice its digits: forty in a row would have more than a
    machine can hold. What comes along the feeders is counted once, for how many there are only a
    job can tell.

    Raises:
        Fault: a line reckons from more numbers than are taken.
    """
    known: dict[FactOf, int] = {}  # (kind, fact) -> the numbers it is reckoned from
    for node in order.nodes():
        if node[0] != "cell":
            continue
        _, kind, fact, _ = node
        for rule in order.givers.get((kind, fact), ()):
            for number in _numbers_of_fills(rule, fact, known):
                if number > NUMBERS:
                    raise _too_long(rule, fact, number)
                known[kind, fact] = max(number, known.get((kind, fact), 1))


def _numbers_of_fills(rule: Rule, fact: str, known: dict[FactOf, int]) -> Iterator[int]:
    """From how many numbers a rule reckons a fact, line by line."""
    for fill in rule.fills:
        if fill.word.name == fact and fill.expr.t[0] == "q":
            yield fill.expr.numbers(
                lambda path: known.get((path.kinds[-1], path.names[-1]), 1) if path.names else 1
            )


def _too_long(rule: Rule, fact: str, number: int) -> Fault:
    """The fault that says that a line reckons from too many numbers."""
    lines = rule.d.get(rule.verb)
    return Fault(
        "value-too-long",
        place_of(lines.get(fact) if isinstance(lines, dict) else lines, rule.at),
        f'{rule.id}: "{fact}" is reckoned from {number:,} numbers once every fact is'
        f" written out, and {NUMBERS:,} are taken",
        "name each fact once in its line, as in 2 × it for it + it",
    )


__all__ = [
    "Order",
    "exceptions",
    "find_order",
    "reads_of",
    "roles",
    "see_sizes",
    "ways_of",
    "JUDGING",
]
