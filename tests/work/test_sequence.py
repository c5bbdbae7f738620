"""One order of what comes before one another, against networkx, which is not ours."""

from __future__ import annotations

import random

import networkx as nx
import pytest

from whywire.engine.work.sequence import Circle, Sequence


def drawn(seed: int, circles: bool) -> tuple[list[str], dict[str, list[str]]]:
    rng = random.Random(seed)
    names = [f"n{number}" for number in rng.sample(range(100), rng.randint(1, 14))]
    before: dict[str, list[str]] = {}
    for at, name in enumerate(names):
        others = names if circles else names[:at]
        before[name] = [one for one in others if one != name and rng.random() < 0.25]
    rng.shuffle(names)
    return names, before


def graph_of(names, before) -> nx.DiGraph:
    graph = nx.DiGraph()
    graph.add_nodes_from(names)
    graph.add_edges_from((one, name) for name, others in before.items() for one in others)
    return graph


@pytest.mark.parametrize("seed", range(60))
def test_the_order_and_the_needed_arrows_are_those_of_networkx(seed):
    names, before = drawn(seed, circles=False)
    graph = graph_of(names, before)
    ours = Sequence(names, before)
    assert ours.in_order(str) == list(nx.lexicographical_topological_sort(graph, key=str))
    assert sorted(ours.needed()) == sorted(nx.transitive_reduction(graph).edges)


@pytest.mark.parametrize("seed", range(60))
def test_a_circle_is_one(seed):
    names, before = drawn(seed, circles=True)
    try:
        Sequence(names, before).in_order(str)
        found = None
    except Circle as circle:
        found = circle.names
    assert (found is None) == nx.is_directed_acyclic_graph(graph_of(names, before))
    if found:
        assert len(set(found)) == len(found)
        for one, then in zip(found, [*found[1:], found[0]]):
            assert one in before[then]
