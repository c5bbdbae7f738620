"""The derivation graph as a tree of text, Mermaid, DOT, JSON or SVG: the same nodes and edges each
time.
"""

from __future__ import annotations

import re
from xml.sax.saxutils import escape, quoteattr

from ..engine.front import Graph, Node
from .layout import Line
from .wall import json_text, seen

MARK = {
    "told": "told",
    "assumed": "assumed",
    "designed": "designed",
    "unknown": "not known",
    "disputed": "in dispute",
    "picked": "chosen",
    "tried": "tried",
}


def ids(g: Graph) -> dict[str, str]:
    """Short names for the nodes, in the order they were found."""
    return {n: f"n{i}" for i, n in enumerate(g.nodes)}


def label(n: Node) -> str:
    """A node in one line: what it says, who says so."""
    parts = [n.text.rstrip(".")]
    if n.kind == "rule":
        parts[0] = f"{n.data['rule']}: {parts[0]}"
        parts.append(n.data["answer"])
    if n.kind == "fact" and n.data.get("origin") in MARK and n.data["origin"] != "told":
        parts.append(MARK[n.data["origin"]])
    elif n.kind == "fact" and n.data.get("origin") == "told":
        parts.append(f"told, {n.data['at']}" if n.data.get("at") else "told")
    if n.data.get("section"):
        parts.append(
            n.data["section"]
            + (
                f" ({n.data['edition']})"
                if n.data.get("layer", "law") == "law"
                and n.kind in ("rule", "cell", "value")
                and not n.data["section"][0].islower()
                else ""
            )
        )
    for k in ("row before", "row after"):
        if n.data.get(k):
            parts.append(f"{k} {n.data[k]}")
    if n.data.get("doubt"):
        parts.append(f"doubt: {n.data['doubt']}")
    return seen(" · ".join(parts))


def show_tree(g: Graph, width: int = 80) -> list[Line]:
    """Every node once; where it is met again, `(see #number)` leads back."""
    number: dict[str, int] = {}
    met_again = {b for a, b, _ in g.edges}
    count: dict[str, int] = {}
    for _, b, _ in g.edges:
        count[b] = count.get(b, 0) + 1
    children: dict[str, list[tuple[str, str]]] = {}
    for a, b, role in g.edges:
        children.setdefault(a, []).append((b, role))
    lines: list[Line] = []

    stack = [(g.root, "", "", 0)]
    while stack:
        node, role, _, depth = stack.pop()
        n = g.nodes[node]
        indent = "  " * depth
        lead = f"{role}: " if role else ""
        if node in number:
            lines.append(
                [
                    (indent, ""),
                    (lead, "label"),
                    (f"{n.text.rstrip('.')} (see #{number[node]})", "source"),
                ]
            )
            continue
        number[node] = len(number) + 1
        tag = f"#{number[node]} " if count.get(node, 0) > 1 and node in met_again else ""
        lines.append([(indent, ""), (lead, "label"), (tag, "source"), (label(n), n.kind)])
        for b, r in reversed(children.get(node, [])):
            stack.append((b, r, "", depth + 1))
    return lines


def as_mermaid(g: Graph) -> str:
    """Mermaid flowchart text."""
    name = ids(g)
    shape = {
        "fact": ("[", "]"),
        "rule": ("([", "])"),
        "step": ("[/", "/]"),
        "cell": ("[(", ")]"),
        "value": ("[(", ")]"),
        "pick": ("{{", "}}"),
        "row": ("[", "]"),
    }

    def text(s: str) -> str:
        # Every mark of Mermaid, Markdown or HTML by its number, or a title could bring a link or an
        # element along.
        return re.sub(r"[#<>&`\\*_\[\]|]", lambda m: f"#{ord(m[0])};", seen(s)).replace(
            '"', "#quot;"
        )

    out = ["flowchart TD"]
    for i, n in g.nodes.items():
        a, b = shape[n.kind]
        out.append(f'  {name[i]}{a}"{text(label(n))}"{b}')
    out += [f'  {name[a]} -- "{text(role)}" --> {name[b]}' for a, b, role in g.edges]
    return "\n".join(out) + "\n"


def as_dot(g: Graph) -> str:
    """Graphviz DOT text."""
    name = ids(g)
    shape = {
        "fact": "box",
        "rule": "oval",
        "step": "parallelogram",
        "cell": "cylinder",
        "value": "cylinder",
        "pick": "hexagon",
        "row": "box",
    }

    def text(s: str) -> str:
        return '"' + seen(s).replace("\\", "\\\\").replace('"', '\\"') + '"'

    out = ["digraph why {", "  rankdir=TB;"]
    out += [
        f"  {name[i]} [shape={shape[n.kind]}, label={text(label(n))}];" for i, n in g.nodes.items()
    ]
    out += [f"  {name[a]} -> {name[b]} [label={text(role)}];" for a, b, role in g.edges]
    return "\n".join(out + ["}"]) + "\n"


def as_json(g: Graph) -> str:
    """The graph as JSON."""
    return json_text(g.as_dict())


def layers(g: Graph) -> dict[str, int]:
    """How far each node lies below the root: the longest way, so that every edge leads down."""
    import networkx as nx

    d = nx.DiGraph()
    d.add_nodes_from(g.nodes)
    d.add_edges_from((a, b) for a, b, _ in g.edges)
    order = (
        list(nx.lexicographical_topological_sort(d))
        if nx.is_directed_acyclic_graph(d)
        else list(g.nodes)
    )
    depth = {n: 0 for n in g.nodes}
    for n in order:
        for b in d.successors(n):
            depth[b] = max(depth[b], depth[n] + 1)
    return depth


def boxed(n: Node, most: int = 6) -> list[str]:
    """The lines of a node's box: what is more than *most* ends with a mark, and stands whole in the
    description.
    """
    import textwrap

    lines = textwrap.wrap(label(n), 40)
    return lines if len(lines) <= most else [*lines[: most - 1], lines[most - 1][:38] + " …"]


def as_svg(g: Graph) -> str:
    """A picture without any outside program: layers from the conclusion down, byte for byte the
    same each time.
    """
    depth = layers(g)
    rows: dict[int, list[str]] = {}
    for n in g.nodes:
        rows.setdefault(depth[n], []).append(n)
    parents: dict[str, list[str]] = {}
    for a, b, _ in g.edges:
        parents.setdefault(b, []).append(a)
    at: dict[str, tuple[int, int, int, int]] = {}
    box, gap, y = 250, 24, 20
    widest = max(len(r) for r in rows.values())
    total = widest * (box + gap) + gap
    for d in sorted(rows):

        def centre(n: str) -> float:
            ps = [at[p][0] for p in parents.get(n, []) if p in at]
            return sum(ps) / len(ps) if ps else 0.0

        row = sorted(rows[d], key=lambda n: (centre(n), n))
        start = (total - len(row) * (box + gap) + gap) // 2
        high = 0
        for i, n in enumerate(row):
            lines = boxed(g.nodes[n])
            h = 16 + 15 * len(lines)
            at[n] = (start + i * (box + gap), y, h, len(lines))
            high = max(high, h)
        y += high + 56
    fill = {
        "fact": "#eef3f7",
        "rule": "#f6efe2",
        "step": "#ffffff",
        "cell": "#e9f2e6",
        "value": "#e9f2e6",
        "pick": "#f3e9f2",
        "row": "#ffffff",
    }
    root = g.nodes[g.root]
    edges = [f"{label(g.nodes[a])} — {seen(role)}: {label(g.nodes[b])}" for a, b, role in g.edges]
    out = [
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{total}" height="{y}" viewBox="0 0'
            f' {total} {y}" role="img" aria-labelledby="t d" font-family="sans-serif"'
            ' font-size="12">'
        ),
        f'<title id="t">{escape("Why: " + label(root))}</title>',
        f'<desc id="d">{escape("; ".join(edges))}</desc>',
    ]
    for a, b, role in g.edges:
        x1, y1, h1, _ = at[a]
        x2, y2, _, _ = at[b]
        mx, my = (x1 + x2 + box) // 2, (y1 + h1 + y2) // 2
        out.append(
            f'<g class="edge" data-from={quoteattr(seen(a))} data-to={quoteattr(seen(b))}'
            f' data-role={quoteattr(seen(role))}><line x1="{x1 + box // 2}" y1="{y1 + h1}"'
            f' x2="{x2 + box // 2}" y2="{y2}" stroke="#8a8f94"/><text x="{mx}" y="{my}"'
            f' fill="#5a6066" text-anchor="middle" font-size="10">{escape(seen(role))}</text></g>'
        )
    for n, (x, yy, h, _) in at.items():
        out.append(
            f'<g class="node" data-id={quoteattr(seen(n))}><rect x="{x}" y="{yy}" width="{box}"'
            f' height="{h}" rx="4" fill="{fill[g.nodes[n].kind]}" stroke="#6b7177"/>'
        )
        for i, line in enumerate(boxed(g.nodes[n])):
            out.append(f'<text x="{x + 8}" y="{yy + 18 + 15 * i}">{escape(line)}</text>')
        out.append("</g>")
    return "\n".join(out + ["</svg>"]) + "\n"


FORMS = {"mermaid": as_mermaid, "dot": as_dot, "json": as_json, "svg": as_svg}
