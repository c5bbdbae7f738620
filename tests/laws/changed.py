"""A job's file as it is once changes are made: what a way out tells, written where one would."""

from whywire.engine.answering.inspection import body_of
from whywire.engine.basics.sentinels import NONE
from whywire.engine.language.things import Members
from whywire.engine.proving.graph import exact_text


def plain(v):
    """What a file says, no two places of it one and the same (an alias of YAML is)."""
    if isinstance(v, dict):
        return {str(k): plain(x) for k, x in v.items()}
    return [plain(x) for x in v] if isinstance(v, list) else str(v)


def changed_body(path, found, changes) -> dict:
    """The job at *path*, inspected as *found*, with *changes* written into it."""
    body = plain(body_of(path)[0])
    body.pop("expect", None)
    for of, fact, value in changes:
        x = found.w.things[of]
        holder = _mapping_of(found, body, x)
        key = _key(found, x[0].kind, holder, fact)
        if isinstance(value, Members):
            word = found.k.words.kinds[x[0].kind].words[fact]
            if not word.back:  # else it follows from the links that it turns round
                holder[key] = [y[0].id for y in list.__iter__(value)] or "none"
        elif value is None:
            holder.pop(key, None)
        else:
            holder[key] = _text(found, x[0].kind, fact, value)
    return body


def _text(found, kind, fact, value) -> str:
    word = found.k.words.kinds[kind].words[fact]
    if value is NONE:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if word.type[0] != "q":
        return str(value)
    unit = "" if word.unit == "count" else f" {word.unit}"
    return exact_text(value, word.unit) + unit


def _mapping_of(found, body: dict, x):
    """The mapping in which a thing is described; made where nobody described it."""
    if x[0].id == "job":
        return body
    whole = x[0].whole
    parent = _mapping_of(found, body, whole)
    pieces = (
        x[0].id.removeprefix(f"{whole[0].id}.").split(".")
        if whole[0].id != "job"
        else (x[0].id.split("."))
    )
    key = _key(found, whole[0].kind, parent, pieces[0])
    if len(pieces) == 1:
        if not isinstance(parent.get(key), dict):
            parent[key] = {}
        return parent[key]
    there = parent[key]
    return there[int(pieces[1]) - 1] if isinstance(there, list) else there[pieces[1]]


def _key(found, kind, holder, name):
    """The name by which a person told a fact of a thing, or the fact's own."""
    words = found.k.words.kinds[kind]
    for key in holder:
        if words.aliases.get(key, words.aliases.get(key.lower(), key)) == name:
            return key
    return name
