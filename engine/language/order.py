"""In what order the rules run: strata found when the packs are loaded, a circle told with its
places.

A node is one of

    ("rule", id, plane) · ("cell", kind, fact, plane) · ("try", pick id) · ("pick", pick id)

where a plane is "" for the things of the job and a pick's id for the rows that pick tries. A circle
that only closes through an upstream link or a downstream list is a block: it is run whole, thing by
thing along the feeders.
"""

from __future__ import annotations

from heapq import heappop, heappush

from ..basics.errors import Fault
from ..basics.limits import NUMBERS
from ..basics.reading import place_of
from . import expressions as ex
from .rules import JUDGING, Rule
from .words import Word, Words


class Order:
    """The one order everything runs in, and what it was found from."""

    def __init__(self, exceptions: dict | None = None) -> None:
        self.sequence: list = []  # nodes; a block is ("block", "up"|"down", (nodes))
        self.needs: dict = {}  # node -> the nodes it needs
        self.rank: dict = {}  # node -> stratum
        self.givers: dict = {}  # (kind, fact) -> rules that fill it
        self.exceptions = exceptions or {}  # rule id -> rules that set it aside
        self.tests: dict = {}  # pick id -> its tests
        self.readers: dict = {}  # (kind, fact) -> rule ids that read it


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


def reads_of(rule: Rule, words: Words) -> set[tuple[str, str, bool, str]]:
    """(kind, fact, is it the thing's own, via "up"/"down"/"") of every step of every path the rule
    reads.
    """
    out: set[tuple[str, str, bool, str]] = set()

    def path(p: ex.Path, via: str) -> None:
        kind = p.kinds[0]
        for i, name in enumerate(p.names):
            w = words.kinds[kind].words[name]
            out.add((kind, name, not p.member and i == 0, via))
            via = climb_of(w, words) or via
            kind = w.type[1] if w.type[0] == "ref" else ""

    def visit(e: ex.Expr, via: str) -> None:
        if isinstance(e, ex.Path):
            path(e, via)
        elif isinstance(e, (ex.Over, ex.Quant)):
            visit(e.list, via)
            last = words.kinds[e.list.kinds[-1]].words[e.list.names[-1]] if e.list.names else None
            inner = last is not None and climb_of(last, words) or via
            for k in e.kids():
                if k is not e.list:
                    visit(k, inner)
        else:
            for k in e.kids():
                visit(k, via)

    for e in rule.exprs():
        visit(e, "")
    return out


def ways_of(rule: Rule, words: Words) -> dict[tuple[str, str], set[tuple]]:
    """(kind, fact) that the rule reads -> the ways on which it is reached from the thing that the
    rule is about.

    A way is the links that lead there, each as (kind, link), the members of a list among them; ()
    is the thing itself.
    """
    out: dict[tuple[str, str], set[tuple]] = {}

    def path(p: ex.Path, way: tuple) -> tuple:
        for kind, name in zip(p.kinds, p.names):
            out.setdefault((kind, name), set()).add(way)
            way = (*way, (kind, name))
        return way

    def visit(e: ex.Expr, member: tuple) -> None:
        if isinstance(e, ex.Path):
            path(e, member if e.member else ())
        elif isinstance(e, ex.Local):
            # A step is reckoned on the thing itself, wherever it is named.
            visit(e.of, ())
        elif isinstance(e, (ex.Over, ex.Quant)):
            inner = member
            if isinstance(e.list, ex.Path):
                inner = path(e.list, member if e.list.member else ())
            else:
                visit(e.list, member)
            for part in e.kids():
                if part is not e.list:
                    visit(part, inner)
        else:
            for part in e.kids():
                visit(part, member)

    for e in rule.exprs():
        visit(e, ())
    return out


def exceptions(rules: dict[str, Rule]) -> dict[str, list[Rule]]:
    """Rule id -> the rules that set it aside."""
    out: dict[str, list[Rule]] = {}
    for r in rules.values():
        for t in r.exception_to:
            out.setdefault(t, []).append(r)
    return out


def roles(rules: dict[str, Rule]) -> Order:
    """Which rules fill, set aside and test what, not yet in any order."""
    o = Order(exceptions=exceptions(rules))
    for r in rules.values():
        for f in r.fills:
            o.givers.setdefault((r.about, f.word.name), []).append(r)
        if r.verb == "tries":
            o.givers.setdefault((r.about, r.picks.name), []).append(r)
            o.tests[r.id] = [
                t
                for t in rules.values()
                if t.about == r.about
                and (
                    (t.verb in ("must", "must not") and t.id not in r.leaving_out) or t.id in r.also
                )
            ]
    return o


def find_order(rules: dict[str, Rule], words: Words) -> Order:
    """Order *rules*, or raise Fault with the circle printed."""
    o = roles(rules)
    reads = {r.id: reads_of(r, words) for r in rules.values()}
    for r in rules.values():
        for kind, fact, _, _ in reads[r.id]:
            o.readers.setdefault((kind, fact), set()).add(r.id)
    # (node, need) -> the ways along the feeders on which one reads the other
    climbs: dict[tuple, set[str]] = {}

    def cell(kind, fact, plane):
        return ("cell", kind, fact, plane)

    def needs(n) -> set:
        pre: set = set()
        if n[0] == "rule":
            r, plane = rules[n[1]], n[2]
            for kind, fact, own, via in reads[r.id]:
                q = cell(kind, fact, plane if own and plane else "")
                pre.add(q)
                climbs.setdefault((n, q), set()).add(via)
            pre |= {("rule", e.id, plane) for e in o.exceptions.get(r.id, ())}
            if plane:
                pre.add(("try", plane))
        elif n[0] == "cell":
            _, kind, fact, plane = n
            gs = o.givers.get((kind, fact), [])
            if plane:
                p = rules[plane]
                pre.add(("try", plane))
                if fact != p.tried.name:
                    if not gs or any(g.verb in ("tries", "designs") for g in gs):
                        pre.add(cell(kind, fact, ""))
                    else:
                        pre |= {("rule", g.id, plane) for g in gs}
            else:
                pre |= {("pick", g.id) if g.verb == "tries" else ("rule", g.id, "") for g in gs}
        elif n[0] == "try":
            p = rules[n[1]]
            for e in p.tries_keys.values():
                for k in ex.walk(e):
                    if isinstance(k, ex.Path):
                        pre.add(cell(k.kinds[0], k.names[0], ""))
        elif n[0] == "pick":
            pre |= {("rule", t.id, n[1]) for t in o.tests[n[1]]} | {("try", n[1])}
        return pre

    stack = [("pick", r.id) if r.verb == "tries" else ("rule", r.id, "") for r in rules.values()]
    stack += [cell(k.name, w, "") for k in words.kinds.values() for w in k.words]
    while stack:
        n = stack.pop()
        if n in o.needs:
            continue
        o.needs[n] = needs(n)
        stack.extend(q for q in o.needs[n] if q not in o.needs)
    # The edges a block may close through. What is read beside that at one's own turn, or the other
    # way too, has to be settled first all the same.
    detached = {edge: min(ways) for edge, ways in climbs.items() if ways in ({"up"}, {"down"})}
    _sequence(o, rules, detached)
    return o


def _sequence(o: Order, rules: dict[str, Rule], detached: dict) -> None:
    graph = {n: set(pre) for n, pre in o.needs.items()}
    blocks, block_of = [], {}
    for scc in _components(graph):
        if len(scc) > 1:
            ways = {detached[n, q] for n in scc for q in graph[n] & scc if (n, q) in detached}
            for n in scc:
                graph[n] = {q for q in graph[n] if not (q in scc and (n, q) in detached)}
                block_of[n] = len(blocks)
            blocks.append((ways, scc))

    def about(n) -> tuple:
        """What a node is about: nodes about the same are kept together, so that they run in one
        go.
        """
        return (
            (rules[n[1]].about, n[2]) if n[0] == "rule" else (n[1], n[3]) if n[0] == "cell" else n
        )

    def in_turn(graph: dict, nodes_of) -> list:
        try:
            return _arranged(graph, about)
        except _Circle as e:
            raise _circle([m for n in e.args[0] for m in nodes_of(n)], rules) from None

    flat = in_turn(graph, lambda n: [n])
    for ways, scc in blocks:
        if len(ways) > 1:
            raise _circle(sorted(scc, key=str), rules)
    if blocks:
        at = {n: i for i, n in enumerate(flat)}
        names = [
            ("block", next(iter(ways)), tuple(sorted(scc, key=at.get))) for ways, scc in blocks
        ]
        home = {n: names[block_of[n]] if n in block_of else n for n in graph}
        condensed: dict = {n: set() for n in home.values()}
        for n, me in home.items():
            condensed[me].update(home[p] for p in o.needs[n] if home[p] is not me)
        o.sequence = in_turn(condensed, lambda n: sorted(n[2], key=str) if n[0] == "block" else [n])
    else:
        o.sequence = flat
    home = {m: n for n in o.sequence for m in (n[2] if n[0] == "block" else (n,))}
    for n in o.sequence:
        inside = n[2] if n[0] == "block" else (n,)
        o.rank[n] = 1 + max(
            (o.rank[home[p]] for m in inside for p in o.needs[m] if home[p] is not n), default=-1
        )


class _Circle(Exception):
    """Nodes that need each other."""


def _arranged(graph: dict, about) -> list:
    """The nodes, each after those it needs, in an order that depends on names alone and keeps
    together what is about the same.
    """
    left, after = {n: len(pre) for n, pre in graph.items()}, {n: [] for n in graph}
    for n, pre in graph.items():
        for p in pre:
            after[p].append(n)
    ready: dict[tuple, list] = {}
    for n, needed in left.items():
        if not needed:
            heappush(ready.setdefault(about(n), []), n)
    out = []
    while ready:
        here = ready[max(ready, key=lambda group: (len(ready[group]), group))]
        while here:
            n = heappop(here)
            out.append(n)
            for m in after[n]:
                left[m] -= 1
                if not left[m]:
                    heappush(ready.setdefault(about(m), []), m)
        del ready[about(n)]
    if len(out) < len(graph):
        import graphlib

        try:
            graphlib.TopologicalSorter(
                {n: sorted(graph[n], key=str) for n in sorted(graph, key=str)}
            ).prepare()
        except graphlib.CycleError as e:
            raise _Circle(e.args[1]) from None
    return out


def _components(graph: dict):
    """Strongly connected components (Tarjan), without recursion."""
    index, low, on, stack, out = {}, {}, set(), [], []
    for root in graph:
        if root in index:
            continue
        work = [(root, iter(graph[root]))]
        index[root] = low[root] = len(index)
        stack.append(root)
        on.add(root)
        while work:
            n, it = work[-1]
            for q in it:
                if q not in index:
                    index[q] = low[q] = len(index)
                    stack.append(q)
                    on.add(q)
                    work.append((q, iter(graph[q])))
                    break
                if q in on:
                    low[n] = min(low[n], index[q])
            else:
                work.pop()
                if work:
                    low[work[-1][0]] = min(low[work[-1][0]], low[n])
                if low[n] == index[n]:
                    scc = set()
                    while True:
                        q = stack.pop()
                        on.discard(q)
                        scc.add(q)
                        if q == n:
                            break
                    out.append(scc)
    return out


def _circle(nodes, rules: dict[str, Rule]) -> Fault:
    def say(n) -> str:
        if n[0] == "rule":
            return f"{n[1]} ({rules[n[1]].at})"
        if n[0] in ("pick", "try"):
            return f"the pick {n[1]} ({rules[n[1]].at})"
        return f"{n[2]} of {n[1]}" + (f" (tried by {n[3]})" if n[3] else "")

    said = list(dict.fromkeys(say(n) for n in nodes if n[0] != "try"))
    first = next((rules[n[1]] for n in nodes if n[0] in ("rule", "pick", "try")), None)
    picks = any(n[0] in ("pick", "try") or n[-1] in rules and n[-1] for n in nodes)
    todo = (
        "break the circle: leave a test out of a pick (leaving out: ...)"
        if picks
        else "give one of these facts a name of its own"
    )
    return Fault(
        "circle",
        first.at if first else rules and next(iter(rules.values())).at,
        "these need each other: " + " <- ".join(said),
        todo,
    )


def see_sizes(o: Order) -> None:
    """Raise Fault at the first line that reckons from too many numbers, every fact on the way
    written out as often as it is named.

    A fact that is the square of another has twice its digits: forty in a row would have more than a
    machine can hold. What comes along the feeders is counted once, for how many there are only a
    job can tell.
    """
    known: dict[tuple, int] = {}  # (kind, fact) -> the numbers it is reckoned from

    def of(e: ex.Expr) -> int:
        if e.t[0] != "q" or isinstance(e, (ex.Look, ex.Step)):  # of a table
            return 1
        if isinstance(e, ex.Path):
            return known.get((e.kinds[-1], e.names[-1]), 1) if e.names else 1
        if isinstance(e, ex.Arith):
            return of(e.a) + of(e.b)
        return max((of(kid) for kid in e.kids()), default=1)

    for node in (n for top in o.sequence for n in (top[2] if top[0] == "block" else (top,))):
        for r in o.givers.get(node[1:3], ()) if node[0] == "cell" else ():
            for f in (f for f in r.fills if f.word.name == node[2] and f.expr.t[0] == "q"):
                if (n := of(f.expr)) > NUMBERS:
                    lines = r.d.get(r.verb)
                    raise Fault(
                        "value-too-long",
                        place_of(lines.get(node[2]) if isinstance(lines, dict) else lines, r.at),
                        f'{r.id}: "{node[2]}" is reckoned from {n:,} numbers once every fact is'
                        f" written out, and {NUMBERS:,} are taken",
                        "name each fact once in its line, as in 2 × it for it + it",
                    )
                known[node[1:3]] = max(n, known.get(node[1:3], 1))


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
