"""Rules, tables and values to read: source by edition, reason, exceptions in both directions, examples."""

from __future__ import annotations

import textwrap

from .layout import Line

FIELDS = ("when", "must", "must not", "should", "gives", "reckons", "assumes", "designs", "tries", "picks", "refers", "warns", "at", "lacks", "steps")


def show_rules(k, hits, exact: bool, words: list[str], width: int = 80) -> list[Line]:
    """One rule whole, or a list of those found."""
    if exact or len(hits) == 1:
        return show_one(k, *hits[0], width)
    out: list[Line] = [[(f"{len(hits)} found" + (f' for "{" ".join(words)}"' if words else ""), "headline")]]
    for name, kind, d in hits:
        text = f"{name}: {d.get('says', d.get('is', ''))}"
        out += [[(("- " if i == 0 else "  ") + line, "")] for i, line in enumerate(textwrap.wrap(text, width - 2, break_on_hyphens=False))]
    return out


def show_one(k, name: str, kind: str, d, width: int) -> list[Line]:
    """A rule, table or value with everything that is known of it."""
    out: list[Line] = [[(f"{name} ({kind}" + (f" about {d['about']}" if "about" in d else "") + ")", "headline")]]

    def put(label: str, text: str) -> None:
        body = textwrap.wrap(text, width - 12, break_on_hyphens=False) or [""]
        out.extend([(f"{label if i == 0 else '':<12}", "label"), (line, "")] for i, line in enumerate(body))

    put("says", str(d.get("says", "")))
    for f in FIELDS:
        v = d.get(f)
        if v is None:
            continue
        for i, line in enumerate(_lines(v)):
            put(f if i == 0 else "", line)
    if kind == "value":
        for line in _lines(d["is"]):
            put("is", line)
    if kind == "table":
        t = k.tables[name]
        put("keys", "; ".join(f"{key}: {how}" + (f" {unit}" if unit else "") for key, (how, unit) in t.keys.items()))
        put("values", "; ".join(f"{c}: {u}" for c, u in t.values.items()))
        for row in t.rows[:40]:
            put("", ", ".join(t.show(key, row[key]) for key in t.keys) + ": " + ", ".join(t.show(c, row[c]) for c in t.values if c in row))
        if len(t.rows) > 40:
            put("", f"... {len(t.rows) - 40} more rows in {d['file']}")
        for f in ("copied", "checked"):
            if isinstance(d.get(f), dict):
                put(f, "; ".join(f"{a} {b}" for a, b in d[f].items()))
    code = d.get("code")
    if isinstance(code, dict):
        put("code", "; ".join(f"from {e}: {s}" for e, s in code.items()))
    for layer in ("manufacturer", "local", "practice"):
        if layer in d:
            put(layer, str(d[layer]))
    if kind == "rule" and name in k.absent:
        put("in force", f"not in {k.edition}")
    for f in ("because", "limits", "doubt", "notes"):
        if d.get(f):
            put(f, str(d[f]))
    if kind == "rule":
        r = k.rules.get(name) or k.absent[name]
        for t in r.exception_to:
            put("sets aside", t)
        for e in k.order.exceptions.get(name, ()):
            put("set aside", f"by {e.id}: {e.said}")
    for i, e in enumerate(d.get("examples", [])):
        put("examples" if i == 0 else "", _example(e))
    put("written", str(d.at))
    return out


def _lines(v) -> list[str]:
    if isinstance(v, dict):
        return [f"{a}: {b if not isinstance(b, (list, dict)) else ', '.join(_lines(b))}" for a, b in v.items()]
    if isinstance(v, list):
        return [line for x in v for line in _lines(x)]
    return [str(v)]


def _example(e) -> str:
    def text(v):
        if isinstance(v, dict):
            return ", ".join(f"{a} {text(b)}" for a, b in v.items())
        if isinstance(v, list):
            return "[" + "; ".join(text(x) for x in v) + "]"
        return str(v)

    given = text(e.get("given", {})) or "nothing"
    then = "; ".join(f"{k}: {text(v)}" for k, v in e.items() if k != "given")
    return f"{given} → {then}"


def rules_as_dict(k, hits) -> dict:
    """The hits as plain data."""
    def data(v):
        if isinstance(v, dict):
            return {str(a): data(b) for a, b in v.items()}
        return [data(x) for x in v] if isinstance(v, list) else str(v)

    return {"edition": k.edition, "digest": k.digest,
            "found": [{"name": n, "kind": kind, "at": str(d.at), "section": k.section(n), **data({a: b for a, b in d.items() if a not in ("rule", "table", "value")}),
                       "set aside by": [e.id for e in k.order.exceptions.get(n, ())]} for n, kind, d in hits]}
