"""Edits carried out, in their order: the words struck must stand exactly once in what is then in
force, so that a base which moved, or a pack that was there first, is noticed.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import replace
from fractions import Fraction

from ..basics.errors import Collector, Fault, PutIn, suggest
from ..basics.reading import Mapping, Text, place_of
from ..basics.units import dimension, unit_of
from ..language.knowledge import Material
from ..language.rules import (
    CODE_BY,
    EDITIONS,
    FILLING,
    JUDGING,
    LAYERS,
    MEANT,
    by_case,
    cited,
    meaning_parts,
    plain_text,
    section_of,
)
from ..language.tables import Table
from ..language.words import as_list
from .cells import amend_table, copied
from .edits import CHANGES, FORM, LAXER, STRICTER, Edit, words
from .meanings import (
    amounts,
    asides,
    conditions,
    direction,
    flat,
    gauges,
    lines_of,
    listed,
    paths,
    quoted,
    role,
    said_back,
    sentence,
    size_test,
    stale_amounts,
)
from .own_rules import as_rule, in_signs, in_the_place_of, list_of, says_its_lines, seen_through

# sentences of a rule, beside what it says, that may have a number of its lines in them
REASONS = (
    "because",
    "limits",
)


def apply(
    m: Material, edits: list[Edit], date: str | None, faults: Collector, wrote: dict | None = None
) -> None:
    """Carry out on *m* the *edits* in force on *date*, in their order; every fault is noted, each
    at the edit.

    What each edit (its pack and number) changed is noted in *wrote*, if that is wanted.
    """
    live = _redated(edits, date, faults)
    # as its owner wrote it
    first = {e.target: fingerprint(m, e.target) for e in live if e.verb != "add"}
    for e in live:
        if e.verb == "redate" and e.d.get("edit of"):
            continue
        before = m.copy()
        e.done = {}
        try:
            _apply_one(m, e, first.get(e.target, ""))
        except Fault as fault:
            m.__dict__.update(before.__dict__)  # what it did up to there is undone
            if fault.code == "not-there" and (o := _asleep(e, edits, live)):
                fault.todo = (
                    f'{o.name} (at {o.at}) puts "{o.d["insert"]}" there, and is not in force on'
                    f" {date or 'a day that is not known'}: let both hold on the same days"
                )
            faults.take(fault)
        if e.verb == "add" and e.target in m.rules:
            first[e.target] = fingerprint(m, e.target)
        if wrote is not None:
            wrote[e.pack.name, e.number] = {
                n
                for a, b in (
                    (before.rules, m.rules),
                    (before.values, m.values),
                    (before.tables, m.tables),
                    (before.gone, m.gone),
                )
                for n in {*a, *b}
                if a.get(n) is not b.get(n)
            }


def _asleep(e: Edit, edits: list[Edit], live: list[Edit]) -> Edit | None:
    """An edit that would put there what *e* strikes, and is not in force."""
    awake = {(o.pack.name, o.number) for o in live}
    return next(
        (
            o
            for o in edits
            if o.target == e.target
            and (o.pack.name, o.number) not in awake
            and "insert" in o.d
            and words(o.d["insert"]) == words(e.d.get("strike", ""))
        ),
        None,
    )


def _redated(edits: list[Edit], date: str | None, faults: Collector) -> list[Edit]:
    """The edits in force on *date*, once those that move the dates of others have done so."""
    moved: dict[int, Edit] = {}
    for e in edits:
        if e.verb == "redate" and e.d.get("edit of") and e.holds_on(date):
            theirs = [
                o
                for o in edits
                if o.pack.name == str(e.d["edit of"]) and o.target == e.target and o is not e
            ]
            if len(theirs) != 1:
                faults.add(
                    "no-such-edit",
                    place_of(e.d["edit of"], e.at),
                    f"{e.d['edit of']} has {len(theirs) or 'no'} edits of {e.target}",
                    "name the pack and the rule that it edits",
                )
                continue
            o = theirs[0]
            if o.pack.rank[0] >= e.pack.rank[0]:
                faults.add(
                    "edits-clash",
                    e.at,
                    f"{e.pack.name} is no layer above {o.pack.name}, and re-dates what it does",
                    "let the later layer do so",
                )
                continue
            to = e.d["to"]
            moved[id(o)] = replace(
                o,
                start=e.redated[0] if "from" in to else o.start,
                end=e.redated[1] if "until" in to else o.end,
                written=o.window(),
            )
            if (moved[id(o)].start, moved[id(o)].end) == (o.start, o.end):
                faults.add(
                    "no-op-edit",
                    e.at,
                    f"{e.name}: these are its dates already",
                    "leave the edit out",
                )
            e.done.update(
                direction=CHANGES,
                short=f"{o.target}: other dates",
                says=(
                    f"What {o.pack.where} did to {o.target} now holds"
                    f" {moved[id(o)].window() or 'on every day'}."
                ),
            )
            with faults.catching():
                _as_meant(e)
    return [x for x in (moved.get(id(e), e) for e in edits) if x.holds_on(date)]


def fingerprint(m: Material, target: str) -> str:
    """What an edit is written over, as text: a digest of each part that means something, so that it
    shows which moved.
    """
    if target in m.rules:
        return " ".join(
            f"{k.replace(' ', '-')}={v}"
            for k, v in sorted(meaning_parts(m.rules[target]).items())
            if k not in ("rule", "about")
        )
    if target in m.values:
        said = m.values[target].get("is")
        return "is=" + _short(
            {str(k): str(v) for k, v in said.items()} if isinstance(said, dict) else str(said)
        )
    if target in m.tables:
        return "rows=" + m.tables[target].meaning()[:6]
    return ""


def _short(v) -> str:
    return hashlib.sha256(repr(v).encode()).hexdigest()[:6]


def _apply_one(m: Material, e: Edit, stood: str) -> None:
    known = {**m.rules, **m.values, **m.tables}
    if e.verb == "add":
        return _add(m, e)
    if e.target in m.withdrawn:
        w = m.withdrawn[e.target]
        raise Fault(
            "already-withdrawn",
            e.at,
            f"{e.target} is withdrawn already by {w.pack.where} (at {w.at})",
            "leave this edit out, or add a rule of your own",
        )
    if e.target not in known:
        section = e.target.strip("§ ")
        of_it = (
            [i for i, d in m.rules.items() if section in (section_of(d, m.edition) or "")]
            if re.match(r"\d+\.\d", section) or re.match(r"\d{3}", section)
            else []
        )
        raise Fault(
            "no-such-item",
            place_of(e.d[e.verb], e.at),
            f'"{e.target}" is no rule, value or table',
            (
                f"an edit names the rule; of that section: {listed(of_it, 9)}"
                if of_it
                else re.sub(
                    r"^known here: .* more$",
                    "whywire rules and a word of the sentence finds its name",
                    suggest(e.target, known),
                )
            ),
        )
    _clash(m, e)
    if e.d.get("of") and stood != str(e.d["of"]):
        raise Fault(
            "stale",
            place_of(e.d["of"], e.at),
            f"{e.target} is no longer what this edit was written over: {_moved(m, e, stood)}",
            f"read it again; if the edit is still meant, write of: {stood}",
        )
    kind = "rule" if e.target in m.rules else "value" if e.target in m.values else "table"
    takes = {
        "rule": ("withdraw", "replace", "amend", "redate", "alias", "narrow", "widen", "adopt"),
        "value": ("set", "alias"),
        "table": ("amend", "alias"),
    }[kind]
    if e.verb not in takes:
        todo = {
            "set": (
                "a rule's words are struck: write amend:, strike:, insert:; its force: write"
                " amend:, force: must"
            )
        }.get(e.verb, f"a {kind} takes " + ", ".join(takes))
        raise Fault(
            "edit-verb", e.at, f"{e.target} is a {kind}, and a {kind} is not {_past(e.verb)}", todo
        )
    do = {
        "withdraw": _withdraw,
        "replace": _replace,
        "amend": _table if kind == "table" else _amend,
        "set": _set,
        "redate": _redate,
        "alias": _alias,
        "narrow": _narrow,
        "widen": _widen,
        "adopt": _adopt,
    }[e.verb]
    before, asleep = (
        fingerprint(m, e.target),
        kind == "rule" and e.verb != "adopt" and section_of(m.rules[e.target], m.edition) is None,
    )
    do(m, e)
    if asleep:
        e.done["idle"] = "yes"  # the rule is not in force in this edition; it may be in another
    if e.done.get("idle") and e.verb in ("adopt", "alias"):
        return
    if (
        e.sound
        and e.verb not in ("withdraw", "alias", "adopt")
        and fingerprint(m, e.target) == before
    ):
        raise Fault(
            "no-op-edit",
            e.at,
            f"{e.name} changes nothing: what is written means the same as what stands",
            "leave the edit out, or see that the new words differ in meaning",
        )
    m.trail.setdefault(e.target, []).append(e)
    _maker(m, e)
    _as_meant(e)


def _as_meant(e: Edit) -> None:
    """What the writer kept as its meaning must be what it means now: a base that moved speaks up.

    Of an edit whose form has a fault nothing is said: what it means with half of it read is what
    nobody meant.
    """
    if (
        e.sound
        and e.d.get("meaning")
        and " ".join(str(e.d["meaning"]).split()) != (means := said_back(e))
    ):
        raise Fault(
            "meaning-moved",
            place_of(e.d["meaning"], e.at),
            f"{e.name} now means: {means}",
            f"if that is what is meant, write meaning: {quoted(means)}",
        )


def _past(verb: str) -> str:
    return {"set": "set", "withdraw": "withdrawn", "widen": "widened", "narrow": "narrowed"}.get(
        verb, verb + ("d" if verb.endswith("e") else "ed")
    )


def _moved(m: Material, e: Edit, stood: str) -> str:
    then = dict(p.partition("=")[::2] for p in str(e.d["of"]).split())
    now = dict(p.partition("=")[::2] for p in stood.split())
    d = m.rules.get(e.target)
    said = []
    for k in sorted({*then, *now}):
        if then.get(k) != now.get(k):
            key = k.replace("-", " ")
            text = (
                d.get(key)
                if d is not None and key in d
                else m.values[e.target].get("is")
                if e.target in m.values
                else None
            )
            said.append(
                f'"{key}"'
                + (
                    " is gone"
                    if k not in now
                    else f" now reads {flat(text)}"
                    if text is not None
                    else " moved"
                )
            )
    return "; ".join(said) or "its parts were named otherwise"


def _clash(m: Material, e: Edit) -> None:
    """Two edits of one thing, with no order between their packs: both are named, neither is
    picked.
    """
    for o in m.trail.get(e.target, ()):
        if o.pack.rank < e.pack.rank:
            continue
        if e.whole or o.whole or (e.verb == o.verb and e.verb in ("set", "alias", "redate")):
            raise Fault(
                "edits-clash",
                e.at,
                f"{e.name} and {o.name} (at {o.at}) edit the same thing, with no order between"
                " them",
                "let one of them end where the other begins, or put one in a higher layer",
            )


def _maker(m: Material, e: Edit) -> None:
    # what somebody wrongly holds is no ordinance, and may be laxer than anything
    if e.pack.layer == "belief":
        return
    d = m.rules.get(e.target) or m.gone.get(e.target)
    if (
        d is not None
        and "manufacturer" in d
        and e.done.get("direction") != STRICTER
        and e.verb != "alias"
    ):
        raise Fault(
            "maker-limit",
            e.at,
            f"{e.target} is a manufacturer's limit, and {e.name} may loosen it",
            "an ordinance may be stricter than the manufacturer, never laxer: leave this edit out",
        )


def changed(m: Material, e: Edit, d: Mapping) -> None:
    """Put the rule *d* in the place of what stood, citing the edit it came through."""
    d.__dict__.update(m.rules.get(e.target, m.gone.get(e.target, d)).__dict__)
    through = [getattr(d, "through", "")] if getattr(d, "through", "") else []
    d.through = " and ".join([*through, e.cite])
    m.rules[e.target] = d


def _add(m: Material, e: Edit) -> None:
    if e.target in m.values or e.target in m.tables:
        raise Fault(
            "id-in-use",
            place_of(e.d["add"], e.at),
            f'"{e.target}" is a {"value" if e.target in m.values else "table"} already',
            "give the rule a name of its own",
        )
    if e.target in m.rules or e.target in m.gone:
        o = next((x for x in m.trail.get(e.target, ()) if x.verb == "add"), None)
        stands = (
            f"by {o.pack.name} at {o.at}"
            if o
            else f"at {place_of(m.rules.get(e.target) or m.gone[e.target])}"
        )
        raise Fault(
            "id-in-use",
            place_of(e.d["add"], e.at),
            f'"{e.target}" is a rule already, {stands}',
            f"to put yours in its place write replace: {e.target}; otherwise give it a name of"
            " its own",
        )
    d = as_rule(e)
    seen_through(m, e, d)
    for t in as_list(d.get("exception to")):
        target = m.rules.get(str(t))
        if target is not None and "manufacturer" in target:
            raise Fault(
                "maker-limit",
                e.at,
                f"{e.target} is an exception to {t}, which is a manufacturer's limit",
                "an ordinance may be stricter than the manufacturer, never laxer",
            )
    said = in_the_place_of(m, e, d)
    m.rules[e.target] = d
    m.trail.setdefault(e.target, []).append(e)
    way = role(m, d)
    e.done.update(
        direction=CHANGES if said else {1: STRICTER, -1: LAXER}.get(way, CHANGES),
        short=f"{e.target} is added",
        says=f"{sentence(d)} is added{said}." + asides(m, d, 0 if said else way),
        after=d,
    )
    _as_meant(e)


def _withdraw(m: Material, e: Edit) -> None:
    d = m.rules[e.target]
    way = role(m, d)
    targets = ", ".join(str(t) for t in as_list(d.get("exception to")))
    alone = _given_by_none_else(m, e.target, d)
    lost = [
        i
        for i, o in m.rules.items()
        if [str(t) for t in as_list(o.get("exception to"))] == [e.target]
    ]
    says = f"{sentence(d)} is withdrawn" + (f": {targets} stands without it." if way == -1 else ".")
    says += (
        f" Nothing gives {' or '.join(alone)} any more: where nobody tells it, what reads it cannot"
        " tell."
        if alone
        else ""
    )
    says += (
        f" With it {', '.join(lost)} {'loses' if len(lost) == 1 else 'lose'} what"
        f" {'it is an exception' if len(lost) == 1 else 'they are exceptions'} to."
        if lost
        else ""
    )
    e.done.update(
        direction={1: LAXER, -1: STRICTER}.get(way, CHANGES),
        says=says,
        short=f"{e.target} is withdrawn",
        before=d,
    )
    m.withdrawn[e.target] = e
    m.gone[e.target] = m.rules.pop(e.target)


def _given_by_none_else(m: Material, name: str, d: Mapping) -> list[str]:
    """The facts that only this rule fills."""
    mine = [str(f) for v in FILLING for f in d.get(v) or {}]
    return [
        f
        for f in mine
        if not any(
            f in (o.get(v) or {}) and str(o.get("about")) == str(d.get("about"))
            for i, o in m.rules.items()
            if i != name
            for v in FILLING
        )
    ]


def _replace(m: Material, e: Edit) -> None:
    old, d = m.rules[e.target], as_rule(e)
    d.pop("local", None)
    for k in (*LAYERS, CODE_BY):
        if k in old:
            d[k] = old[k]
    dropping = {str(k) for k in as_list(e.d.get("dropping"))}
    lost = [
        k
        for k in old
        if k not in d
        and k not in dropping
        and k not in ("answers", "doubt", "limits", "scope", "examples", "because")
    ]
    if lost:
        raise Fault(
            "replace-loses",
            e.at,
            f"the old {e.target} also has {' and '.join(chr(34) + k + chr(34) for k in lost)}, and"
            " yours does not",
            "write them, or add dropping: [" + ", ".join(lost) + "]",
        )
    seen_through(m, e, d)
    changed(m, e, d)
    e.done.update(
        direction=CHANGES,
        short=f"{e.target} is replaced",
        says=f"{sentence(old)} is replaced: {sentence(d)}." + asides(m, d, 0),
        before=old,
        after=d,
    )


# ---- striking words ------------------------------------------------------------------------------


def lines_at(d: Mapping) -> list[tuple[tuple, str]]:
    """Every line of a rule that may be struck, and the way to it."""
    out = []

    def walk(path: tuple, v) -> None:
        if isinstance(v, dict):
            for k, x in v.items():
                walk((*path, str(k)), x)
        elif isinstance(v, list):
            for i, x in enumerate(v):
                walk((*path, i), x)
        else:
            out.append((path, v))

    for k in d:
        if k in (*MEANT, "tries"):
            walk((str(k),), d[k])
    return out


def put(d, path: tuple, new):
    """A copy of *d* with *new* at *path*; the places of everything else are kept."""
    if not path:
        return new
    out = type(d)(d)
    if hasattr(d, "__dict__"):
        out.__dict__.update(d.__dict__)
    key = path[0] if not isinstance(d, dict) else next(k for k in d if str(k) == path[0])
    out[key] = put(d[key], path[1:], new)
    return out


def _count(text: str, piece: str) -> list[int]:
    return [m.start() for m in re.finditer(rf"(?<![\w.]){re.escape(piece)}(?![\w]|\.\d)", text)]


def _amend(m: Material, e: Edit) -> None:
    d = m.rules[e.target]
    old_says = sentence(d)
    for bad in ("row", "column", "insert row", "strike row"):
        if bad in e.d:
            raise Fault(
                "edit-key",
                place_of(e.d[bad], e.at),
                f'{e.target} is a rule and has no "{bad}"',
                "write strike: and insert:",
            )
    if "force" in e.d:
        return _force(m, e)
    if "strike" not in e.d or "insert" not in e.d:
        raise Fault(
            "edit-lacks",
            e.at,
            f'amend {e.target} does not say "{"insert" if "strike" in e.d else "strike"}:"',
            "write strike: with the words that go and insert: with those that come",
        )
    piece, new = words(e.d["strike"]), words(e.d["insert"])
    lines = [(p, words(t)) for p, t in lines_at(d)]
    places = [(p, t, i) for p, t in lines for i in _count(t, piece)]
    if len(places) != 1:
        reads = " / ".join(t for _, t in lines)
        struck = [
            o
            for o in m.trail.get(e.target, ())
            if o.verb == "amend" and words(o.d.get("strike", "")) == piece
        ]
        if struck:
            o = struck[-1]
            raise Fault(
                "struck-before",
                place_of(e.d["strike"], e.at),
                f'"{piece}" became "{words(o.d["insert"])}" by {o.pack.where} (at {o.at})',
                f'strike "{words(o.d["insert"])}" if that is meant',
            )
        if not places:
            prose = [k for k in ("says", "because") if piece in words(d.get(k, ""))]
            todo = (
                "must and should are keys: write force: must, or force: should"
                if piece in JUDGING
                else (
                    f'it stands in "{prose[0]}", which is prose: write says: with the sentence as'
                    " it shall read"
                    if prose
                    else f"the lines read: {reads}" + _units_hint(piece, reads)
                )
            )
            raise Fault(
                "not-there",
                place_of(e.d["strike"], e.at),
                f'"{piece}" stands nowhere in the lines of {e.target}',
                todo,
            )
        raise Fault(
            "stands-twice",
            place_of(e.d["strike"], e.at),
            f'"{piece}" stands {len(places)} times in {e.target}',
            f"strike a longer piece; the lines read: {reads}",
        )
    path, text, i = places[0]
    at = place_of(e.d["insert"], e.at)
    line = Text(text[:i] + new + text[i + len(piece) :], PutIn(at, i, len(new)))
    said = [line if p == path else t for p, t in lines]
    if "says" in e.d:
        says_its_lines(e, e.d["says"], said)
    elif old := [piece for _ in _count(words(d.get("says", "")), piece)] or stale_amounts(
        d.get("says", ""), [text], said
    ):
        raise Fault(
            "says-old",
            e.at,
            f'the sentence of {e.target} has "{old[0]}" in it too: “{d["says"]}”',
            "add says: with the sentence as it shall read",
        )
    after = put(d, path, line)
    if "says" in e.d:
        after["says"] = e.d["says"]
    for key in REASONS if e.pack.layer != "belief" else ():
        if key in e.d:
            after[key] = e.d[key]
            if old := stale_amounts(e.d[key], [text], said):
                raise Fault(
                    "says-other",
                    place_of(e.d[key], e.at),
                    f'"{key}" has "{old[0]}" still, and the lines have not: {" / ".join(said)}',
                    "write one amount in both",
                )
        elif old := stale_amounts(d.get(key, ""), [text], said):
            raise Fault(
                "says-old",
                e.at,
                f'"{key}" of {e.target} has "{old[0]}" in it too: “{d[key]}”',
                f"add {key}: with the sentence as it shall read",
            )
    _without_stale_answers(
        after, lambda t: _count(words(t), piece) or stale_amounts(t, [text], said)
    )
    changed(m, e, after)
    e.done.update(
        before=d,
        after=after,
        direction=direction(m, d, path, text, str(line)),
        line=text,
        short=f"“{text}” became “{line}”",
        says=f"{old_says}: “{text}” now reads “{line}”."
        + (f" {g}" if (g := gauges(m, {path[0]: line})) else ""),
    )


def _without_stale_answers(after: Mapping, stale) -> None:
    """Take the short answers from a rule whose old figures they print."""
    if "answers" in after and stale(str(plain_text(after["answers"]))):
        del after["answers"]


def _units_hint(piece: str, reads: str) -> str:
    if m := re.fullmatch(r"([\d.,]+)\s*(\D+)", piece):
        unit = unit_of(m[2].strip())
        if unit and unit != m[2].strip():
            return f"; write {m[1]} {unit}"
    return ""


def _force(m: Material, e: Edit) -> None:
    d, force = m.rules[e.target], str(e.d["force"])
    old = next((v for v in JUDGING if v in d), None)
    if force not in ("must", "should") or old not in ("must", "should"):
        raise Fault(
            "edit-form",
            place_of(e.d["force"], e.at),
            f"{e.target} has no force to change" if old is None else f'"{force}" is no force',
            "write force: must or force: should, of a rule that has one of them",
        )
    after = Mapping(
        (Text(force, place_of(e.d["force"])) if k == old else k, v) for k, v in d.items()
    )
    after.__dict__.update(d.__dict__)
    for key in ("says", *REASONS):
        if key in e.d:
            after[key] = e.d[key]
    says_its_lines(e, e.d.get("says", ""), lines_of(after))
    changed(m, e, after)
    e.done.update(
        before=d,
        after=after,
        direction=STRICTER if force == "must" else LAXER,
        short=f"{e.target} is {'law' if force == 'must' else 'advice'} here",
        says=f"{sentence(d)} is now {'law' if force == 'must' else 'advice'}."
        + (f" {t}" if force == "must" and (t := size_test(m, after)) else ""),
    )


# ---- values, dates, scope ------------------------------------------------------------------------


def _set(m: Material, e: Edit) -> None:
    from ..basics.units import show_number
    from ..language.knowledge import _quantity, _value

    d = m.values[e.target]
    edition = getattr(d, "edition", m.edition)
    old, type_ = _value(d, edition, Collector())
    if ("to" in e.d) == ("as in" in e.d):
        raise Fault("edit-form", e.at, f"set {e.target} says to what it is set, once", FORM["set"])
    after = Mapping(d)
    after.__dict__.update(d.__dict__)
    if "as in" in e.d:
        if str(e.d["as in"]) not in EDITIONS:
            raise Fault(
                "edition",
                place_of(e.d["as in"], e.at),
                f'"{e.d["as in"]}" is no edition',
                suggest(str(e.d["as in"]), EDITIONS),
            )
        new, new_type = _value(d, str(e.d["as in"]), Collector())
        after["is"] = Text(show_number(new, new_type[2], full=True), place_of(e.d["as in"]))
    else:
        at = place_of(e.d["to"], e.at)
        new, new_type = _quantity(words(e.d["to"]), at)
        if (
            new_type[1] != type_[1]
            or (new_type[2] == "%") != (type_[2] == "%")
            or (str(e.d["to"]) in EDITIONS and type_[2] == "count")
        ):
            number = str(e.d["to"]).rstrip("% ")
            todo = (
                f"{e.target} is {_all_of(d)}: write to:"
                f" {number if type_[2] == 'count' else number + ' ' + type_[2]}"
                + (f", or as in: {number}" if number in EDITIONS else "")
                + (
                    f" (or {show_number(new, 'count')})"
                    if new_type[2] == "%" and type_[2] == "count"
                    else ""
                )
            )
            # one of the two is a hundredfold slip, and who wrote it knows which
            if type_[2] == "%" and new_type[2] == "count" and 0 < Fraction(new) < 1:
                todo = (
                    f"{show_number(Fraction(new), '%', full=True)} or {number} %? {e.target} is"
                    f" {_all_of(d)}: write to: and the one that is meant"
                )
            raise Fault(
                "unit-change", at, f'"{e.d["to"]}" is not what {e.target} is written in', todo
            )
        if Fraction(new) < 0:
            raise Fault("negative", at, f'"{e.d["to"]}" is less than nothing', "take the sign away")
        after["is"] = Text(words(e.d["to"]), at)
    d_through(after, e)
    m.values[e.target] = after
    users = [
        i
        for i, o in m.rules.items()
        if any((e.target,) in paths(t) for t in lines_of(o) if e.target in t)
    ]
    _sentences_of(
        m,
        e,
        {i: {(type_[1], Fraction(old))} if old != new else set() for i in users},
        {(type_[1], Fraction(new))},
    )
    if new == old:
        e.done["idle"] = "yes"
    much = Fraction(new) / Fraction(old) if Fraction(old) > 0 and Fraction(new) > 0 else Fraction(1)
    times = (
        f", {round(much)} times as much"
        if much >= 5
        else f", a {round(1 / much)}th of it"
        if much <= Fraction(1, 5)
        else ""
    )
    e.done.update(
        direction=CHANGES,
        before=d,
        after=after,
        short=f"{e.target}: {show_number(old, type_[2])} became {show_number(new, new_type[2])}",
        says=f"{e.target}: {_all_of(d)} becomes {show_number(new, new_type[2])}{times}.",
    )


def _all_of(d: Mapping) -> str:
    """What a value is, in every edition that says something else."""
    said = d["is"]
    return (
        " and ".join(f"{v} from {k} on" for k, v in said.items())
        if isinstance(said, dict) and len(set(said.values())) > 1
        else str(next(iter(said.values())) if isinstance(said, dict) else said)
    )


def _table(m: Material, e: Edit) -> None:
    amend_table(m, e)
    before, after = (_in_cells(e.done[k]) for k in ("before", "after"))
    reads = re.compile(rf"(?<![\w-]){re.escape(e.target)}(?![\w-])")
    users = {
        i: lines_of(d) for i, d in m.rules.items() if any(reads.search(t) for t in lines_of(d))
    }
    _sentences_of(
        m,
        e,
        {
            i: before - after - {a[:2] for t in lines for a in amounts(t)}
            for i, lines in users.items()
        },
        after,
    )


def _in_cells(t: Table) -> set[tuple]:
    """What the columns of a table say, as amounts of a sentence are."""
    out: set[tuple] = set()
    for c, what in t.values.items():
        unit = t.unit(c)
        out |= {
            (dimension(unit), Fraction(r[c])) if unit else ("size", str(r[c]))
            for r in t.rows
            if unit or what.startswith("row of ")
        }
    return out


def _sentences_of(m: Material, e: Edit, gone: dict[str, set[tuple]], come: set[tuple]) -> None:
    """See that no rule goes on saying what is *gone*, for each that reads what was changed: it
    needs a new sentence, with what has *come*.
    """
    if e.pack.layer == "belief":
        return
    for key in ("says", *REASONS):
        given = e.d.get(key, {})
        stale = {
            i: hit
            for i, old in gone.items()
            if (hit := [a[2] for a in amounts(m.rules[i].get(key, "")) if a[:2] in old])
        }
        if not isinstance(given, dict):
            given = {i: given for i in stale} if len(stale) == 1 else {}
        for i in given:
            if str(i) not in gone:
                raise Fault(
                    "no-such-rule",
                    place_of(i, e.at),
                    f'no rule "{i}" reads {e.target}',
                    suggest(str(i), gone),
                )
            _has_come(e, m.rules[str(i)], key, given[i], gone[str(i)], come)
            after = Mapping(m.rules[str(i)])
            after.__dict__.update(m.rules[str(i)].__dict__)
            after[key] = given[i]
            _without_stale_answers(after, lambda t: any(a[:2] in gone[str(i)] for a in amounts(t)))
            m.rules[str(i)] = after
        if missed := [i for i in stale if i not in map(str, given)]:
            what = f"the sentence of {missed[0]}" if key == "says" else f'"{key}" of {missed[0]}'
            raise Fault(
                "says-old",
                e.at,
                f'{what} has "{stale[missed[0]][0]}" in it: “{m.rules[missed[0]][key]}”',
                f"add {key}: {{"
                + ", ".join(f"{i}: the sentence as it shall read" for i in missed)
                + "}",
            )


def _has_come(e: Edit, d: Mapping, key: str, text, gone: set[tuple], come: set[tuple]) -> None:
    """See that a new sentence of a rule has the amount that came: neither the one that is gone, nor
    one that stands nowhere.
    """
    stays = {a[:2] for t in (*lines_of(d), d.get(key, "")) for a in amounts(t)} - gone
    measured = {a[0] for a in come}
    if strange := [
        a[2]
        for a in amounts(text)
        if a[:2] in gone or key == "says" and a[0] in measured and a[:2] not in come | stays
    ]:
        came = next((f" {k}: {e.d[k]}" for k in ("to", "as in", "insert") if k in e.d), "")
        raise Fault(
            "says-other",
            place_of(text, e.at),
            f"{'the sentence' if key == 'says' else chr(34) + key + chr(34)} of {d['rule']} has"
            f' "{strange[0]}", and the edit has not:{came or " " + e.name}',
            "write one amount in both",
        )


def d_through(d: Mapping, e: Edit) -> None:
    """Note on *d* that it came through *e*."""
    d.through = " and ".join([*([d.through] if getattr(d, "through", "") else []), e.cite])


_DATED = re.compile(r"(permit date(?: of [\w ]+?)?\s*(<|>=)\s*)(\d{4}-\d\d-\d\d)")


def _redate(m: Material, e: Edit) -> None:
    d, after = m.rules[e.target], m.rules[e.target]
    said, way = [], CHANGES
    for key, new in zip(("from", "until"), e.redated):
        if not new:
            continue
        sign = ">=" if key == "from" else "<"
        found = [
            (p, t, x) for p, t in lines_at(after) for x in [_DATED.search(t)] if x and x[2] == sign
        ]
        if len(found) != 1:
            raise Fault(
                "no-date",
                e.at,
                f'{e.target} has no date of the permit to "{key}"',
                "write edit of: and a pack to re-date what that pack does, or from: and until: on"
                " an edit of your own",
            )
        p, t, x = found[0]
        line = Text(t[: x.start(3)] + new + t[x.end(3) :], place_of(e.d["to"], e.at))
        way = direction(m, after, p, t, str(line))
        after = put(after, p, line)
        said.append(f"{'from' if key == 'from' else 'until'} {x[3]} becomes {new}")
        if x[3] in str(after.get("says", "")):
            after["says"] = Text(str(after["says"]).replace(x[3], new), place_of(after["says"]))
    changed(m, e, after)
    e.done.update(
        direction=way,
        before=d,
        after=after,
        short=f"{e.target}: {', '.join(said)}".replace("becomes", "became"),
        says=f"{sentence(d)}: {', '.join(said)}.",
    )


def _alias(m: Material, e: Edit) -> None:
    code = e.d.get("code")
    if not isinstance(code, dict) or not code or not all(isinstance(v, str) for v in code.values()):
        raise Fault(
            "edit-form",
            place_of(code, e.at),
            f'"code" of alias {e.target} gives sections',
            FORM["alias"],
        )
    for k in code:
        if str(k) not in EDITIONS:
            raise Fault("edition", place_of(k), f'"{k}" is no edition', suggest(str(k), EDITIONS))
    owner = m.rules if e.target in m.rules else m.values if e.target in m.values else None
    d = owner[e.target] if owner is not None else m.tables[e.target].d
    if "gone" in map(str, code.values()):
        raise Fault(
            "edit-form",
            place_of(code, e.at),
            "an alias gives another number to what is in force, and takes nothing out of force",
            "write withdraw:",
        )
    after = Mapping(d)
    after.__dict__.update(d.__dict__)
    after["code"] = {**(d.get("code") if isinstance(d.get("code"), dict) else {}), **code}
    said = " and ".join(f"{v} ({k})" for k, v in code.items())
    e.done.update(
        direction=CHANGES,
        before=d,
        after=after,
        says=f"{e.target} is cited as {said}; it says the same.",
        short=f"cited there as {said}",
        same="yes",
    )
    old, new = cited(d, m.edition), cited(after, m.edition)
    # in this edition; it may be cited otherwise in another that the place adopts
    if old is None or new == old:
        e.done["idle"] = "yes"
        return
    if owner is None:
        t = copied(m.tables[e.target])
        t.d = after
        m.tables[e.target] = t
    else:
        owner[e.target] = after


def _narrow(m: Material, e: Edit) -> None:
    d = m.rules[e.target]
    lines = as_list(e.d["only when"])
    for x in lines:
        if not isinstance(x, str) and not (
            isinstance(x, dict) and len(x) == 1 and next(iter(x)) in ("any of", "all of")
        ):
            raise Fault(
                "edit-form",
                place_of(x, e.at),
                '"only when" is a condition, or a list of conditions that must all be so',
                "write only when: stories of job <= 2, or only when: {any of: [line, line]}",
            )
    lines = [in_signs(x) for x in lines]
    after = Mapping(d)
    after.__dict__.update(d.__dict__)
    after["when"] = list_of([*as_list(d.get("when")), *lines], e.at)
    if "says" in e.d:
        after["says"] = e.d["says"]
        says_its_lines(e, e.d["says"], lines_of(after))
    way = role(m, d)
    alone = _given_by_none_else(m, e.target, d)
    changed(m, e, after)
    cond = conditions(lines)
    targets = (
        listed([str(t) for t in as_list(d.get("exception to"))]) if "exception to" in d else ""
    )
    tail = {
        1: " Elsewhere it asks for nothing. Where that is not told, the answer is: cannot tell.",
        -1: (
            f" Everywhere else {targets} stands without it. Where that is not told, the permission"
            " is not earned: it fails, unless that is told."
        ),
    }.get(
        way,
        (
            f" Elsewhere nothing gives {listed(alone)}: what reads it cannot tell."
            if alone
            else " Where that is not told, nothing follows from it."
        ),
    )
    e.done.update(
        direction={1: LAXER, -1: STRICTER}.get(way, CHANGES),
        before=d,
        after=after,
        short=f"{e.target} holds only when {cond}",
        says=f"{sentence(d)} now holds only when {cond}." + tail,
    )


def _widen(m: Material, e: Edit) -> None:
    d = m.rules[e.target]
    drop = words(e.d["drop"]) if isinstance(e.d["drop"], str) else ""
    when = as_list(d.get("when"))
    found = [i for i, t in enumerate(when) if isinstance(t, str) and words(t) == drop]
    if len(found) != 1:
        raise Fault(
            "not-there",
            place_of(e.d["drop"], e.at),
            f'"{e.d["drop"]}" is no condition of {e.target}',
            "its conditions: " + (" / ".join(flat(t) for t in when) or "it has none"),
        )
    after = Mapping(d)
    after.__dict__.update(d.__dict__)
    rest = [t for i, t in enumerate(when) if i != found[0]]
    if rest:
        after["when"] = list_of(rest, e.at)
    else:
        del after["when"]
    if "says" in e.d:
        after["says"] = e.d["says"]
        says_its_lines(e, e.d["says"], lines_of(after))
    way = role(m, d)
    changed(m, e, after)
    e.done.update(
        direction={1: STRICTER, -1: LAXER}.get(way, CHANGES),
        before=d,
        after=after,
        short=f"{e.target} no longer asks whether {drop}",
        says=f"{sentence(d)} no longer asks whether {drop}.",
    )


def _adopt(m: Material, e: Edit) -> None:
    d, edition = m.rules[e.target], str(e.d.get("edition", ""))
    if edition not in EDITIONS:
        raise Fault(
            "edition",
            place_of(e.d.get("edition"), e.at),
            f'"{edition}" is no edition',
            suggest(edition, EDITIONS),
        )
    way = role(m, d)
    e.done.update(
        direction={1: STRICTER, -1: LAXER}.get(way, CHANGES),
        before=d,
        short=f"{e.target} holds as in {edition}",
        says=f"{sentence(d)} holds as in {edition}.",
    )
    if section_of(d, m.edition) is not None:
        e.done["idle"] = (
            "yes"  # in this edition; it may do something in another that the place adopts
        )
        return
    section = cited(d, edition)
    if section is None:
        raise Fault(
            "not-in-edition",
            e.at,
            f"{e.target} is not in force in {edition} either",
            "sections: " + flat(d.get("code", {})),
        )
    after = Mapping(d)
    after.__dict__.update(d.__dict__)
    after["code"] = {
        **(d.get("code") or {}),
        m.edition: Text(
            "; ".join(
                f"{s} of {edition}"
                for s in (section.split("; ") if by_case(section) else [section])
            ),
            e.at,
        ),
    }
    changed(m, e, after)
    e.done["after"] = after


__all__ = ["apply", "fingerprint", "lines_at", "put"]
