"""What an edit is about, as it stands: its lines, its fingerprint, and another put in its place."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from typing import Any, TypeAlias

from ..basics.reading import Mapping
from ..language.knowledge import Material
from ..language.rules import FILLING, MEANT, meaning_parts
from .edits import Edit, came_through

# The way to a line of a rule: ("when", 0, "any of", 1).
Path: TypeAlias = tuple[Any, ...]


def fingerprint(material: Material, target: str) -> str:
    """What an edit is written over, as text: a digest of each part that means something, so that it
    shows which moved.
    """
    if target in material.rules:
        return _print_of(material.rules[target])
    if target in material.values:
        said = material.values[target].get("is")
        plain = {str(k): str(v) for k, v in said.items()} if isinstance(said, dict) else str(said)
        return "is=" + _short(plain)
    if target in material.tables:
        return "rows=" + material.tables[target].meaning()[:6]
    return ""


def _print_of(rule: Mapping) -> str:
    """The fingerprint of a rule."""
    return " ".join(
        f"{key.replace(' ', '-')}={part}"
        for key, part in sorted(meaning_parts(rule).items())
        if key not in ("rule", "about")
    )


def as_it_was(material: Material) -> Callable[[str], str]:
    """What gives the fingerprint that a rule had under the names of before, as it now stands."""
    rules = {**material.rules}
    formerly = {new: old for old, new in material.formerly.items()}
    for kind in material.words.kinds.values():
        formerly |= {new: old for old, new in kind.formerly.items()}
    named = re.compile(r"(?<![\w-])(" + "|".join(map(re.escape, formerly)) + r")(?![\w-])")

    def before(said: Any) -> Any:
        if isinstance(said, dict):
            return {before(key): before(value) for key, value in said.items()}
        if isinstance(said, list):
            return [before(one) for one in said]
        return named.sub(lambda found: formerly[found[0]], str(said)) if formerly else str(said)

    return lambda target: _print_of(before(rules[target])) if target in rules else ""


def _short(plain: dict[str, str] | str) -> str:
    return hashlib.sha256(repr(plain).encode()).hexdigest()[:6]


def item_called(material: Material, name: str) -> Mapping:
    """A rule, a value or a table as written."""
    if name in material.rules:
        return material.rules[name]
    return material.values[name] if name in material.values else material.tables[name].d


def changed(material: Material, edit: Edit, rule: Mapping) -> None:
    """Put *rule* in the place of what stood, citing the edit it came through."""
    stood = material.rules.get(edit.target, material.gone.get(edit.target, rule))
    # its place, and what it came through before: answers cite every edit on the way
    rule.__dict__.update(stood.__dict__)
    came_through(rule, edit)
    material.rules[edit.target] = rule


def lines_at(rule: Mapping) -> list[tuple[Path, str]]:
    """Every line of a rule that may be struck, and the way to it."""
    out: list[tuple[Path, str]] = []

    def walk(path: Path, said: Any) -> None:
        if isinstance(said, dict):
            for key, x in said.items():
                walk((*path, str(key)), x)
        elif isinstance(said, list):
            for i, x in enumerate(said):
                walk((*path, i), x)
        else:
            out.append((path, said))

    for key in rule:
        if key in (*MEANT, "tries"):
            walk((str(key),), rule[key])
    return out


def put(d: Any, path: Path, new: object) -> Any:
    """A copy of *d* with *new* at *path*; the places of everything else are kept."""
    if not path:
        return new
    out = type(d)(d)
    if hasattr(d, "__dict__"):
        out.__dict__.update(d.__dict__)
    key = path[0] if not isinstance(d, dict) else next(k for k in d if str(k) == path[0])
    out[key] = put(d[key], path[1:], new)
    return out


def given_by_none_else(material: Material, name: str, rule: Mapping) -> list[str]:
    """The facts that only this rule fills."""
    given = {
        str(fact)
        for other, d in material.rules.items()
        if other != name and str(d.get("about")) == str(rule.get("about"))
        for fact in filled(d)
    }
    return [fact for fact in filled(rule) if fact not in given]


def filled(rule: Mapping) -> list[str]:
    """The facts that a rule fills, by any of the verbs that do so."""
    return [str(fact) for verb in FILLING for fact in rule.get(verb) or {}]
