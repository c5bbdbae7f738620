"""Where code compares an attribute with names whose meaning a class should say."""

import ast


def asks_by_name(node: ast.AST, attribute: str, names: set[str]) -> bool:
    """Whether *node* compares an *attribute* with one of *names*, written out."""
    if not isinstance(node, ast.Compare) or not isinstance(node.left, ast.Attribute):
        return False
    named = {n.value for c in node.comparators for n in ast.walk(c) if isinstance(n, ast.Constant)}
    return node.left.attr == attribute and bool(named & names)
