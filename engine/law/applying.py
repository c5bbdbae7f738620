"""Edits carried out, in their order: the words struck must stand exactly once in what is then in
force, so that a base which moved, or a pack that was there first, is noticed.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any, NamedTuple, NoReturn, TypeAlias

from ..basics.errors import Collector, Fault, PutIn, suggest
from ..basics.reading import Mapping, Text, place_of
from ..basics.units import Number, dimension, show_number, unit_of
from ..language.knowledge import Material, _quantity, _value
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
from ..language.things import Type
from ..language.words import as_list
from .cells import amend_table, copied
from .edits import CHANGES, FORM, LAXER, STRICTER, Edit, came_through, copy_of, withdrawn_by, words
from .meanings import (
    Amount,
    amounts,
    as_direction,
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
# The way to a line of a rule: ("when", 0, "any of", 1).
Path: TypeAlias = tuple[Any, ...]


def apply(
    material: Material,
    edits: list[Edit],
    date: str | None,
    faults: Collector,
    wrote: dict[tuple[str, int], set[str]] | None = None,
) -> None:
    """Carry out on *material* the *edits* in force on *date*, in their order; every fault is noted,
    each at the edit.

    What each edit (its pack and number) changed is noted in *wrote*, if that is wanted.
    """
    for edit in edits:
        edit.target = material.formerly.get(edit.target, edit.target)
    live = _redated(edits, date, faults)
    # Each is held against what its owner wrote, not against what the edit before it made of that.
    stood = {edit.target: fingerprint(material, edit.target) for edit in live if edit.verb != "add"}
    names = _as_it_was(material)
    for edit in live:
        if _moves_an_edit(edit):
            continue
        before = material.copy()
        edit.done = {}
        try:
            _apply_one(material, edit, _print_meant(names, edit, stood.get(edit.target, "")))
        except Fault as fault:
            # what it did up to there is undone
            material.__dict__.update(before.__dict__)
            _say_what_is_asleep(fault, edit, edits, live, date)
            faults.take(fault)
        if edit.verb == "add" and edit.target in material.rules:
            stood[edit.target] = fingerprint(material, edit.target)
        if wrote is not None:
            wrote[edit.pack.name, edit.number] = _changed_names(before, material)


def _changed_names(before: Material, after: Material) -> set[str]:
    """The rules, values and tables that are another thing in *after*, or are in one alone."""
    out: set[str] = set()
    pairs: tuple[tuple[dict[str, Any], dict[str, Any]], ...] = (
        (before.rules, after.rules),
        (before.values, after.values),
        (before.tables, after.tables),
        (before.gone, after.gone),
    )
    for old, new in pairs:
        out |= {name for name in {*old, *new} if old.get(name) is not new.get(name)}
    return out


def _say_what_is_asleep(
    fault: Fault, edit: Edit, edits: list[Edit], live: list[Edit], date: str | None
) -> None:
    """Where *edit* strikes what another edit would put there, say that this other is not in
    force.
    """
    if fault.code != "not-there":
        return
    awake = {(other.pack.name, other.number) for other in live}
    struck = words(edit.d.get("strike", ""))
    for other in edits:
        if (
            other.target == edit.target
            and (other.pack.name, other.number) not in awake
            and "insert" in other.d
            and words(other.d["insert"]) == struck
        ):
            fault.todo = (
                f'{other.name} (at {other.at}) puts "{other.d["insert"]}" there, and is not in'
                f" force on {date or 'a day that is not known'}: let both hold on the same days"
            )
            return


# ---- days that one edit gives another ------------------------------------------------------------


def _moves_an_edit(edit: Edit) -> bool:
    """Whether it re-dates what another pack does, rather than a rule."""
    return edit.verb == "redate" and bool(edit.d.get("edit of"))


def _redated(edits: list[Edit], date: str | None, faults: Collector) -> list[Edit]:
    """The edits in force on *date*, once those that move the dates of others have done so."""
    moved: dict[int, Edit] = {}
    for edit in edits:
        other = None
        if _moves_an_edit(edit) and edit.holds_on(date):
            other = _edit_to_move(edit, edits, faults)
        if other is not None:
            moved[id(other)] = _on_other_days(edit, other, faults)
    return [x for x in (moved.get(id(edit), edit) for edit in edits) if x.holds_on(date)]


def _edit_to_move(edit: Edit, edits: list[Edit], faults: Collector) -> Edit | None:
    """The edit of a lower layer that *edit* re-dates; None, with a fault noted, where there is none
    or several.
    """
    theirs = [
        other
        for other in edits
        if other.pack.name == str(edit.d["edit of"])
        and other.target == edit.target
        and other is not edit
    ]
    if len(theirs) != 1:
        faults.add(
            "no-such-edit",
            place_of(edit.d["edit of"], edit.at),
            f"{edit.d['edit of']} has {len(theirs) or 'no'} edits of {edit.target}",
            "name the pack and the rule that it edits",
        )
        return None
    other = theirs[0]
    if other.pack.rank[0] >= edit.pack.rank[0]:
        faults.add(
            "edits-clash",
            edit.at,
            f"{edit.pack.name} is no layer above {other.pack.name}, and re-dates what it does",
            "let the later layer do so",
        )
        return None
    return other


def _on_other_days(edit: Edit, other: Edit, faults: Collector) -> Edit:
    """*other* on the days that *edit* gives it."""
    to = edit.d["to"]
    later = replace(
        other,
        start=edit.redated[0] if "from" in to else other.start,
        end=edit.redated[1] if "until" in to else other.end,
        written=other.window(),
    )
    if (later.start, later.end) == (other.start, other.end):
        faults.add(
            "no-op-edit",
            edit.at,
            f"{edit.name}: these are its dates already",
            "leave the edit out",
        )
    edit.done.update(
        direction=CHANGES,
        short=f"{other.target}: other dates",
        says=(
            f"What {other.pack.where} did to {other.target} now holds"
            f" {later.window() or 'on every day'}."
        ),
    )
    with faults.catching():
        _as_meant(edit)
    return later


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


def _as_it_was(material: Material) -> Callable[[str], str]:
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


def _print_meant(as_it_was: Callable[[str], str], edit: Edit, stood: str) -> str:
    """The fingerprint by which an edit is judged: what was only renamed since it was written is
    what it was written over.
    """
    written = str(edit.d.get("of", ""))
    return written if written and written == as_it_was(edit.target) else stood


def _short(plain: dict[str, str] | str) -> str:
    return hashlib.sha256(repr(plain).encode()).hexdigest()[:6]


# ---- one edit ------------------------------------------------------------------------------------


def _apply_one(material: Material, edit: Edit, stood: str) -> None:
    """Carry out one edit; *stood* is the fingerprint of what its target was before any edit.

    Raises:
        Fault: it cannot be carried out on what is there, changes nothing, or means something else
            than its writer kept.
    """
    if edit.verb == "add":
        return _add(material, edit)
    kind = _kind_of_target(material, edit)
    _see_no_clash(material, edit)
    _see_not_stale(material, edit, stood)
    carry_out = CARRYING_OUT[kind].get(edit.verb)
    if carry_out is None:
        _not_taken(edit, kind)
    before = fingerprint(material, edit.target)
    # An adopt is there to wake it.
    asleep = (
        kind == "rule"
        and edit.verb != "adopt"
        and section_of(material.rules[edit.target], material.edition) is None
    )
    carry_out(material, edit)
    if asleep:
        # the rule is not in force in this edition; it may be in another
        edit.done["idle"] = "yes"
    if edit.done.get("idle") and edit.verb in ("adopt", "alias"):
        return
    means_more = edit.verb not in ("withdraw", "alias", "adopt")
    if edit.sound and means_more and fingerprint(material, edit.target) == before:
        raise Fault(
            "no-op-edit",
            edit.at,
            f"{edit.name} changes nothing: what is written means the same as what stands",
            "leave the edit out, or see that the new words differ in meaning",
        )
    material.trail.setdefault(edit.target, []).append(edit)
    _see_maker_not_loosened(material, edit)
    _as_meant(edit)


def _kind_of_target(material: Material, edit: Edit) -> str:
    """What the target of an edit is: a rule, a value or a table; and it must still stand."""
    by = withdrawn_by(material, edit.target)
    if by is not None:
        raise Fault(
            "already-withdrawn",
            edit.at,
            f"{edit.target} is withdrawn already by {by.pack.where} (at {by.at})",
            "leave this edit out, or add a rule of your own",
        )
    if edit.target in material.rules:
        return "rule"
    if edit.target in material.values:
        return "value"
    if edit.target in material.tables:
        return "table"
    raise Fault(
        "no-such-item",
        place_of(edit.d[edit.verb], edit.at),
        f'"{edit.target}" is no rule, value or table',
        _target_meant(material, edit),
    )


def _target_meant(material: Material, edit: Edit) -> str:
    """What to write where a target is not there: the rules of the section that was named, or a name
    that is near.
    """
    section = edit.target.strip("§ ")
    if re.match(r"\d+\.\d", section) or re.match(r"\d{3}", section):
        of_it = [
            name
            for name, rule in material.rules.items()
            if section in (section_of(rule, material.edition) or "")
        ]
        if of_it:
            return f"an edit names the rule; of that section: {listed(of_it, 9)}"
    known = {**material.rules, **material.values, **material.tables}
    # among hundreds of names a list of the first few is no help
    return re.sub(
        r"^known here: .* more$",
        "whywire rules and a word of the sentence finds its name",
        suggest(edit.target, known),
    )


def _see_not_stale(material: Material, edit: Edit, stood: str) -> None:
    """See that what an edit was written over is what stands."""
    if edit.d.get("of") and stood != str(edit.d["of"]):
        raise Fault(
            "stale",
            place_of(edit.d["of"], edit.at),
            f"{edit.target} is no longer what this edit was written over:"
            f" {_moved(material, edit, stood)}",
            f"read it again; if the edit is still meant, write of: {stood}",
        )


def _not_taken(edit: Edit, kind: str) -> NoReturn:
    """Say that nothing of this *kind* can be edited so."""
    if edit.verb == "set":
        todo = (
            "a rule's words are struck: write amend:, strike:, insert:; its force: write"
            " amend:, force: must"
        )
    else:
        todo = f"a {kind} takes " + ", ".join(CARRYING_OUT[kind])
    raise Fault(
        "edit-verb",
        edit.at,
        f"{edit.target} is a {kind}, and a {kind} is not {_past(edit.verb)}",
        todo,
    )


def _as_meant(edit: Edit) -> None:
    """What the writer kept as its meaning must be what it means now: a base that moved speaks up.

    Of an edit whose form has a fault nothing is said: what it means with half of it read is what
    nobody meant.
    """
    if not edit.sound or not edit.d.get("meaning"):
        return
    means = said_back(edit)
    if " ".join(str(edit.d["meaning"]).split()) != means:
        raise Fault(
            "meaning-moved",
            place_of(edit.d["meaning"], edit.at),
            f"{edit.name} now means: {means}",
            f"if that is what is meant, write meaning: {quoted(means)}",
        )


def _past(verb: str) -> str:
    irregular = {"set": "set", "withdraw": "withdrawn", "widen": "widened", "narrow": "narrowed"}
    return irregular.get(verb, verb + ("d" if verb.endswith("e") else "ed"))


def _moved(material: Material, edit: Edit, stood: str) -> str:
    """Which parts of the target moved since the edit was written over it, and how they read now."""
    then = _parts(str(edit.d["of"]))
    now = _parts(stood)
    moved = [part for part in sorted({*then, *now}) if then.get(part) != now.get(part)]
    said = [
        f'"{part.replace("-", " ")}" '
        + (_how_it_reads(material, edit.target, part) if part in now else "is gone")
        for part in moved
    ]
    return "; ".join(said) or "its parts were named otherwise"


def _parts(print_: str) -> dict[str, str]:
    """The parts of a fingerprint, each with its digest."""
    return {name: digest for name, _, digest in (p.partition("=") for p in print_.split())}


def _how_it_reads(material: Material, target: str, part: str) -> str:
    """How one part of a rule, or a value, reads now, as far as it can be said in a line."""
    rule: dict = material.rules.get(target, {})
    text = rule.get(part.replace("-", " "))
    if text is None and target in material.values:
        text = material.values[target].get("is")
    return f"now reads {flat(text)}" if text is not None else "moved"


def _see_no_clash(material: Material, edit: Edit) -> None:
    """Two edits of one thing, with no order between their packs: both are named, neither is
    picked.
    """
    for other in material.trail.get(edit.target, ()):
        if other.pack.rank < edit.pack.rank:
            continue
        same_verb = edit.verb == other.verb and edit.verb in ("set", "alias", "redate")
        if edit.whole or other.whole or same_verb:
            raise Fault(
                "edits-clash",
                edit.at,
                f"{edit.name} and {other.name} (at {other.at}) edit the same thing, with no order"
                " between them",
                "let one of them end where the other begins, or put one in a higher layer",
            )


def _see_maker_not_loosened(material: Material, edit: Edit) -> None:
    """See that no ordinance loosens a manufacturer's limit."""
    # what somebody wrongly holds is no ordinance, and may be laxer than anything
    if edit.pack.layer == "belief" or edit.verb == "alias":
        return
    rule = material.rules.get(edit.target) or material.gone.get(edit.target)
    if rule is None or "manufacturer" not in rule:
        return
    if edit.done.get("direction") != STRICTER:
        raise Fault(
            "maker-limit",
            edit.at,
            f"{edit.target} is a manufacturer's limit, and {edit.name} may loosen it",
            "an ordinance may be stricter than the manufacturer, never laxer: leave this edit out",
        )


def changed(material: Material, edit: Edit, rule: Mapping) -> None:
    """Put *rule* in the place of what stood, citing the edit it came through."""
    stood = material.rules.get(edit.target, material.gone.get(edit.target, rule))
    rule.__dict__.update(stood.__dict__)
    came_through(rule, edit)
    material.rules[edit.target] = rule


# ---- whole rules ---------------------------------------------------------------------------------


def _add(material: Material, edit: Edit) -> None:
    _see_name_is_free(material, edit)
    rule = as_rule(edit)
    seen_through(material, edit, rule)
    for target in map(str, as_list(rule.get("exception to"))):
        if "manufacturer" in material.rules.get(target, ()):
            raise Fault(
                "maker-limit",
                edit.at,
                f"{edit.target} is an exception to {target}, which is a manufacturer's limit",
                "an ordinance may be stricter than the manufacturer, never laxer",
            )
    said = in_the_place_of(material, edit, rule)
    material.rules[edit.target] = rule
    material.trail.setdefault(edit.target, []).append(edit)
    way = role(material, rule)
    edit.done.update(
        direction=CHANGES if said else as_direction(way),
        short=f"{edit.target} is added",
        says=f"{sentence(rule)} is added{said}." + asides(material, rule, 0 if said else way),
        after=rule,
    )
    _as_meant(edit)


def _see_name_is_free(material: Material, edit: Edit) -> None:
    """See that nothing else has the name of a rule that is added."""
    name = edit.target
    if name in material.values or name in material.tables:
        raise Fault(
            "id-in-use",
            place_of(edit.d["add"], edit.at),
            f'"{name}" is a {"value" if name in material.values else "table"} already',
            "give the rule a name of its own",
        )
    if name not in material.rules and name not in material.gone:
        return
    added = (other for other in material.trail.get(name, ()) if other.verb == "add")
    by = next(added, None)
    if by is not None:
        stands = f"by {by.pack.name} at {by.at}"
    else:
        stands = f"at {place_of(material.rules.get(name) or material.gone[name])}"
    raise Fault(
        "id-in-use",
        place_of(edit.d["add"], edit.at),
        f'"{name}" is a rule already, {stands}',
        f"to put yours in its place write replace: {name}; otherwise give it a name of its own",
    )


def _withdraw(material: Material, edit: Edit) -> None:
    rule = material.rules[edit.target]
    way = role(material, rule)
    edit.done.update(
        direction=as_direction(-way),
        says=_said_withdrawn(material, edit.target, rule, way),
        short=f"{edit.target} is withdrawn",
        before=rule,
    )
    material.withdrawn[edit.target] = edit
    material.gone[edit.target] = material.rules.pop(edit.target)


def _said_withdrawn(material: Material, name: str, rule: Mapping, way: int) -> str:
    """What comes of a rule's being withdrawn: what stands without it, what nothing gives any more,
    which exceptions go with it.
    """
    targets = ", ".join(str(t) for t in as_list(rule.get("exception to")))
    says = f"{sentence(rule)} is withdrawn"
    says += f": {targets} stands without it." if way == -1 else "."
    alone = _given_by_none_else(material, name, rule)
    if alone:
        says += (
            f" Nothing gives {' or '.join(alone)} any more: where nobody tells it, what reads it"
            " cannot tell."
        )
    lost = [
        other
        for other, d in material.rules.items()
        if [str(t) for t in as_list(d.get("exception to"))] == [name]
    ]
    if len(lost) == 1:
        says += f" With it {lost[0]} loses what it is an exception to."
    elif lost:
        says += f" With it {', '.join(lost)} lose what they are exceptions to."
    return says


def _given_by_none_else(material: Material, name: str, rule: Mapping) -> list[str]:
    """The facts that only this rule fills."""
    given = {
        str(fact)
        for other, d in material.rules.items()
        if other != name and str(d.get("about")) == str(rule.get("about"))
        for fact in _filled(d)
    }
    return [fact for fact in _filled(rule) if fact not in given]


def _filled(rule: Mapping) -> list[str]:
    """The facts that a rule fills, by any of the verbs that do so."""
    return [str(fact) for verb in FILLING for fact in rule.get(verb) or {}]


def _replace(material: Material, edit: Edit) -> None:
    old, rule = material.rules[edit.target], as_rule(edit)
    # It keeps the sources of what it replaces; the ordinance shows as what it came through.
    rule.pop("local", None)
    for key in (*LAYERS, CODE_BY):
        if key in old:
            rule[key] = old[key]
    kept = {str(key) for key in as_list(edit.d.get("dropping"))}
    kept |= {"answers", "doubt", "limits", "scope", "examples", "because"}
    lost = [key for key in old if key not in rule and key not in kept]
    if lost:
        raise Fault(
            "replace-loses",
            edit.at,
            f"the old {edit.target} also has {' and '.join(chr(34) + k + chr(34) for k in lost)},"
            " and yours does not",
            "write them, or add dropping: [" + ", ".join(lost) + "]",
        )
    seen_through(material, edit, rule)
    changed(material, edit, rule)
    edit.done.update(
        direction=CHANGES,
        short=f"{edit.target} is replaced",
        says=f"{sentence(old)} is replaced: {sentence(rule)}." + asides(material, rule, 0),
        before=old,
        after=rule,
    )


# ---- striking words ------------------------------------------------------------------------------


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


class _Struck(NamedTuple):
    """A piece of a line that an edit strikes, and what comes of the rule's lines."""

    piece: str
    path: Path
    old: str  # the line as it read
    new: Text  # the line as it reads
    lines: list[str]  # every line of the rule as it reads

    def stale(self, text: object) -> list[str]:
        """The amounts of a sentence that went out of the lines."""
        return stale_amounts(text, [self.old], self.lines)


def _found_at(text: str, piece: str) -> list[int]:
    """Where *piece* stands in *text* by itself: 5 is no part of 15, nor of 5.5."""
    return [m.start() for m in re.finditer(rf"(?<![\w.]){re.escape(piece)}(?![\w]|\.\d)", text)]


def _amend(material: Material, edit: Edit) -> None:
    """Strike a piece of a rule's line and insert another, or change the rule's force."""
    rule = material.rules[edit.target]
    _see_keys_of_a_rule(edit)
    if "force" in edit.d:
        return _force(material, edit)
    if "strike" not in edit.d or "insert" not in edit.d:
        raise Fault(
            "edit-lacks",
            edit.at,
            f'amend {edit.target} does not say "{"insert" if "strike" in edit.d else "strike"}:"',
            "write strike: with the words that go and insert: with those that come",
        )
    struck = _strike(material, edit, rule)
    after = put(rule, struck.path, struck.new)
    _put_sentence(edit, rule, struck, after)
    if edit.pack.layer != "belief":
        for key in REASONS:
            _put_reason(edit, rule, struck, after, key)
    _without_stale_answers(
        after, lambda text: _found_at(words(text), struck.piece) or struck.stale(text)
    )
    changed(material, edit, after)
    gauge = gauges(material, Mapping({struck.path[0]: struck.new}))
    edit.done.update(
        before=rule,
        after=after,
        direction=direction(material, rule, struck.path, struck.old, str(struck.new)),
        line=struck.old,
        short=f"“{struck.old}” became “{struck.new}”",
        says=f"{sentence(rule)}: “{struck.old}” now reads “{struck.new}”."
        + (f" {gauge}" if gauge else ""),
    )


def _see_keys_of_a_rule(edit: Edit) -> None:
    """See that a rule is not amended as a table is."""
    for key in ("row", "column", "insert row", "strike row"):
        if key in edit.d:
            raise Fault(
                "edit-key",
                place_of(edit.d[key], edit.at),
                f'{edit.target} is a rule and has no "{key}"',
                "write strike: and insert:",
            )


def _strike(material: Material, edit: Edit, rule: Mapping) -> _Struck:
    """Find the piece that is struck, which must stand exactly once, and put in what comes."""
    piece, new = words(edit.d["strike"]), words(edit.d["insert"])
    lines = [(path, words(line)) for path, line in lines_at(rule)]
    found = [(path, line, i) for path, line in lines for i in _found_at(line, piece)]
    if len(found) != 1:
        _not_once(material, edit, rule, [line for _, line in lines], len(found))
    path, old, i = found[0]
    # a fault in the new line is told at the words that were inserted
    at = PutIn(place_of(edit.d["insert"], edit.at), i, len(new))
    line = Text(old[:i] + new + old[i + len(piece) :], at)
    return _Struck(piece, path, old, line, [line if p == path else t for p, t in lines])


def _not_once(
    material: Material, edit: Edit, rule: Mapping, lines: list[str], times: int
) -> NoReturn:
    """Say why what is struck does not stand exactly once: an edit before took it, it stands
    nowhere, or several times.
    """
    piece, at = words(edit.d["strike"]), place_of(edit.d["strike"], edit.at)
    earlier = [
        other
        for other in material.trail.get(edit.target, ())
        if other.verb == "amend" and words(other.d.get("strike", "")) == piece
    ]
    if earlier:
        other = earlier[-1]
        came = words(other.d["insert"])
        raise Fault(
            "struck-before",
            at,
            f'"{piece}" became "{came}" by {other.pack.where} (at {other.at})',
            f'strike "{came}" if that is meant',
        )
    reads = " / ".join(lines)
    if times:
        raise Fault(
            "stands-twice",
            at,
            f'"{piece}" stands {times} times in {edit.target}',
            f"strike a longer piece; the lines read: {reads}",
        )
    raise Fault(
        "not-there",
        at,
        f'"{piece}" stands nowhere in the lines of {edit.target}',
        _where_it_stands(rule, piece, reads),
    )


def _where_it_stands(rule: Mapping, piece: str, reads: str) -> str:
    """What to do about a piece that no line has: it may be a key, or stand in prose."""
    if piece in JUDGING:
        return "must and should are keys: write force: must, or force: should"
    for key in ("says", "because"):
        if piece in words(rule.get(key, "")):
            return (
                f'it stands in "{key}", which is prose: write says: with the sentence as it shall'
                " read"
            )
    return f"the lines read: {reads}" + _units_hint(piece, reads)


def _put_sentence(edit: Edit, rule: Mapping, struck: _Struck, after: Mapping) -> None:
    """Put the sentence that the edit gives into *after*, or see that the old one still says what
    the lines do.
    """
    if "says" in edit.d:
        says_its_lines(edit, edit.d["says"], struck.lines)
        after["says"] = edit.d["says"]
        return
    says = rule.get("says", "")
    old = [struck.piece for _ in _found_at(words(says), struck.piece)] or struck.stale(says)
    if old:
        raise Fault(
            "says-old",
            edit.at,
            f'the sentence of {edit.target} has "{old[0]}" in it too: “{rule["says"]}”',
            "add says: with the sentence as it shall read",
        )


def _put_reason(edit: Edit, rule: Mapping, struck: _Struck, after: Mapping, key: str) -> None:
    """The same of a reason or a limit."""
    old = struck.stale(edit.d[key] if key in edit.d else rule.get(key, ""))
    if key in edit.d:
        after[key] = edit.d[key]
    if old and key in edit.d:
        raise Fault(
            "says-other",
            place_of(edit.d[key], edit.at),
            f'"{key}" has "{old[0]}" still, and the lines have not: {" / ".join(struck.lines)}',
            "write one amount in both",
        )
    if old:
        raise Fault(
            "says-old",
            edit.at,
            f'"{key}" of {edit.target} has "{old[0]}" in it too: “{rule[key]}”',
            f"add {key}: with the sentence as it shall read",
        )


def _without_stale_answers(after: Mapping, stale: Callable[[str], object]) -> None:
    """Take the short answers from a rule whose old figures they print."""
    if "answers" in after and stale(str(plain_text(after["answers"]))):
        del after["answers"]


def _units_hint(piece: str, reads: str) -> str:
    if m := re.fullmatch(r"([\d.,]+)\s*(\D+)", piece):
        unit = unit_of(m[2].strip())
        if unit and unit != m[2].strip():
            return f"; write {m[1]} {unit}"
    return ""


def _force(material: Material, edit: Edit) -> None:
    """Make law of advice, or advice of law."""
    rule, force = material.rules[edit.target], str(edit.d["force"])
    old = next((verb for verb in JUDGING if verb in rule), None)
    if force not in ("must", "should") or old not in ("must", "should"):
        raise Fault(
            "edit-form",
            place_of(edit.d["force"], edit.at),
            f"{edit.target} has no force to change" if old is None else f'"{force}" is no force',
            "write force: must or force: should, of a rule that has one of them",
        )
    word = Text(force, place_of(edit.d["force"]))
    after = copy_of(rule, {word if key == old else key: said for key, said in rule.items()})
    for key in ("says", *REASONS):
        if key in edit.d:
            after[key] = edit.d[key]
    says_its_lines(edit, edit.d.get("says", ""), lines_of(after))
    changed(material, edit, after)
    is_law = force == "must"
    tested = size_test(material, after) if is_law else ""
    edit.done.update(
        before=rule,
        after=after,
        direction=STRICTER if is_law else LAXER,
        short=f"{edit.target} is {'law' if is_law else 'advice'} here",
        says=f"{sentence(rule)} is now {'law' if is_law else 'advice'}."
        + (f" {tested}" if tested else ""),
    )


# ---- values, dates, scope ------------------------------------------------------------------------


class _Worth(NamedTuple):
    """What a value is: the number in base units, and its type."""

    number: Number
    type: Type

    @property
    def dimension(self) -> Any:
        return self.type[1]

    @property
    def unit(self) -> str:
        return self.type[2]

    @property
    def amount(self) -> tuple[Any, ...]:
        """As amounts of a sentence are compared."""
        return self.type[1], Fraction(self.number)

    def __str__(self) -> str:
        return show_number(self.number, self.unit)


def _set(material: Material, edit: Edit) -> None:
    """Set a value, to what is written or to what it is in another edition."""
    value = material.values[edit.target]
    # comparing lays the values of one edition over the rules of another
    edition = getattr(value, "edition", material.edition)
    old = _Worth(*_value(value, edition, Collector()))
    if ("to" in edit.d) == ("as in" in edit.d):
        raise Fault(
            "edit-form",
            edit.at,
            f"set {edit.target} says to what it is set, once",
            FORM["set"],
        )
    new, text = (
        _worth_as_in(edit, value) if "as in" in edit.d else _worth_as_written(edit, value, old)
    )
    after = copy_of(value)
    after["is"] = text
    came_through(after, edit)
    material.values[edit.target] = after
    gone = {old.amount} if old.number != new.number else set()
    _renew_sentences(
        material, edit, {name: gone for name in _readers_of(material, edit.target)}, {new.amount}
    )
    if new.number == old.number:
        edit.done["idle"] = "yes"
    edit.done.update(
        direction=CHANGES,
        before=value,
        after=after,
        short=f"{edit.target}: {old} became {new}",
        says=f"{edit.target}: {_all_of(value)} becomes {new}{_how_much(old, new)}.",
    )


def _worth_as_in(edit: Edit, value: Mapping) -> tuple[_Worth, Text]:
    """What a value is in the edition that is named, and its text."""
    edition = str(edit.d["as in"])
    if edition not in EDITIONS:
        raise Fault(
            "edition",
            place_of(edit.d["as in"], edit.at),
            f'"{edition}" is no edition',
            suggest(edition, EDITIONS),
        )
    new = _Worth(*_value(value, edition, Collector()))
    return new, Text(show_number(new.number, new.unit, full=True), place_of(edit.d["as in"]))


def _worth_as_written(edit: Edit, value: Mapping, old: _Worth) -> tuple[_Worth, Text]:
    """What an edit writes, which must measure what the value does and be more than nothing."""
    at, said = place_of(edit.d["to"], edit.at), edit.d["to"]
    new = _Worth(*_quantity(words(said), at))
    is_edition = str(said) in EDITIONS and old.unit == "count"
    if new.dimension != old.dimension or (new.unit == "%") != (old.unit == "%") or is_edition:
        raise Fault(
            "unit-change",
            at,
            f'"{said}" is not what {edit.target} is written in',
            _unit_meant(edit, value, old, new),
        )
    if Fraction(new.number) < 0:
        raise Fault("negative", at, f'"{said}" is less than nothing', "take the sign away")
    return new, Text(words(said), at)


def _unit_meant(edit: Edit, value: Mapping, old: _Worth, new: _Worth) -> str:
    """What to write where a value is set in another unit than its own."""
    number = str(edit.d["to"]).rstrip("% ")
    is_now = f"{edit.target} is {_all_of(value)}: write to:"
    # one of the two is a hundredfold slip, and who wrote it knows which
    if old.unit == "%" and new.unit == "count" and 0 < Fraction(new.number) < 1:
        share = show_number(Fraction(new.number), "%", full=True)
        return f"{share} or {number} %? {is_now} and the one that is meant"
    todo = f"{is_now} {number if old.unit == 'count' else number + ' ' + old.unit}"
    if number in EDITIONS:
        todo += f", or as in: {number}"
    if new.unit == "%" and old.unit == "count":
        todo += f" (or {show_number(new.number, 'count')})"
    return todo


def _how_much(old: _Worth, new: _Worth) -> str:
    """ ", 10 times as much" where it is so much more or less that a slip is likely."""
    if Fraction(old.number) <= 0 or Fraction(new.number) <= 0:
        return ""
    much = Fraction(new.number) / Fraction(old.number)
    if much >= 5:
        return f", {round(much)} times as much"
    return f", a {round(1 / much)}th of it" if much <= Fraction(1, 5) else ""


def _readers_of(material: Material, value: str) -> list[str]:
    """The rules that read a value."""
    return [
        name
        for name, rule in material.rules.items()
        if any((value,) in paths(line) for line in lines_of(rule) if value in line)
    ]


def _all_of(value: Mapping) -> str:
    """What a value is, in every edition that says something else."""
    said = value["is"]
    if not isinstance(said, dict):
        return str(said)
    if len(set(said.values())) > 1:
        return " and ".join(f"{v} from {k} on" for k, v in said.items())
    return str(next(iter(said.values())))


def _amend_table(material: Material, edit: Edit) -> None:
    """Change a cell or a row of a table, and see to the sentences of the rules that read it."""
    amend_table(material, edit)
    before, after = (_in_cells(edit.done[key]) for key in ("before", "after"))
    reads = re.compile(rf"(?<![\w-]){re.escape(edit.target)}(?![\w-])")
    gone: dict[str, set[tuple]] = {}
    for name, rule in material.rules.items():
        lines = lines_of(rule)
        if any(reads.search(line) for line in lines):
            # what a rule says by itself is not of the table
            gone[name] = before - after - _amounts_in(lines)
    _renew_sentences(material, edit, gone, after)


def _amounts_in(lines: list[str]) -> set[tuple]:
    """The amounts of several lines, as they are compared."""
    return {a.compared for line in lines for a in amounts(line)}


def _in_cells(table: Table) -> set[tuple]:
    """What the columns of a table say, as amounts of a sentence are."""
    out: set[tuple] = set()
    for column, what in table.values.items():
        unit = table.unit(column)
        if unit:
            measure = dimension(unit)
            out |= {(measure, Fraction(row[column])) for row in table.rows}
        elif what.startswith("row of "):
            out |= {("size", str(row[column])) for row in table.rows}
    return out


def _renew_sentences(
    material: Material, edit: Edit, gone: dict[str, set[tuple]], come: set[tuple]
) -> None:
    """See that no rule goes on saying what is *gone*, for each that reads what was changed: it
    needs a new sentence, with what has *come*.
    """
    # what somebody wrongly holds changes no sentence
    if edit.pack.layer == "belief":
        return
    for key in ("says", *REASONS):
        stale = {}
        for name, old in gone.items():
            hit = [a.text for a in amounts(material.rules[name].get(key, "")) if a.compared in old]
            if hit:
                stale[name] = hit
        given = edit.d.get(key, {})
        if not isinstance(given, dict):
            # one sentence is for the one rule that needs one
            given = {name: given for name in stale} if len(stale) == 1 else {}
        for name in given:
            _renew_sentence(material, edit, key, name, given[name], gone, come)
        missed = [name for name in stale if name not in map(str, given)]
        if missed:
            _still_says(material, edit, key, missed, stale[missed[0]][0])


def _renew_sentence(
    material: Material,
    edit: Edit,
    key: str,
    name: str,
    text: object,
    gone: dict[str, set[tuple]],
    come: set[tuple],
) -> None:
    """Give a rule the new sentence *text*."""
    if str(name) not in gone:
        raise Fault(
            "no-such-rule",
            place_of(name, edit.at),
            f'no rule "{name}" reads {edit.target}',
            suggest(str(name), gone),
        )
    rule, old = material.rules[str(name)], gone[str(name)]
    _see_has_come(edit, rule, key, text, old, come)
    after = copy_of(rule)
    after[key] = text
    _without_stale_answers(after, lambda said: any(a.compared in old for a in amounts(said)))
    material.rules[str(name)] = after


def _still_says(
    material: Material, edit: Edit, key: str, missed: list[str], amount: str
) -> NoReturn:
    """Say that the first of *missed* goes on saying an *amount* that is gone."""
    first = missed[0]
    what = f"the sentence of {first}" if key == "says" else f'"{key}" of {first}'
    wanted = ", ".join(f"{name}: the sentence as it shall read" for name in missed)
    raise Fault(
        "says-old",
        edit.at,
        f'{what} has "{amount}" in it: “{material.rules[first][key]}”',
        f"add {key}: {{{wanted}}}",
    )


def _see_has_come(
    edit: Edit, rule: Mapping, key: str, text: object, gone: set[tuple], come: set[tuple]
) -> None:
    """See that a new sentence of a rule has the amount that came: neither the one that is gone, nor
    one that stands nowhere.
    """
    may_say = come | (_amounts_in([*lines_of(rule), rule.get(key, "")]) - gone)
    measured = {measure for measure, _ in come}

    def is_strange(amount: Amount) -> bool:
        if amount.compared in gone:
            return True
        return key == "says" and amount.measure in measured and amount.compared not in may_say

    strange = next((a.text for a in amounts(text) if is_strange(a)), None)
    if strange is None:
        return
    came = next((f" {k}: {edit.d[k]}" for k in ("to", "as in", "insert") if k in edit.d), "")
    what = "the sentence" if key == "says" else f'"{key}"'
    raise Fault(
        "says-other",
        place_of(text, edit.at),
        f'{what} of {rule["rule"]} has "{strange}", and the edit has not:{came or " " + edit.name}',
        "write one amount in both",
    )


_DATED = re.compile(r"(permit date(?: of [\w ]+?)?\s*(<|>=)\s*)(\d{4}-\d\d-\d\d)")


def _redate(material: Material, edit: Edit) -> None:
    """Move the days that a rule itself names."""
    rule = after = material.rules[edit.target]
    said, way = [], CHANGES
    for key, new in zip(("from", "until"), edit.redated, strict=True):
        if not new:
            continue
        path, text, date = _date_of(edit, after, key)
        line = Text(
            text[: date.start(3)] + new + text[date.end(3) :], place_of(edit.d["to"], edit.at)
        )
        way = direction(material, after, path, text, str(line))
        after = put(after, path, line)
        said.append(f"{key} {date[3]} becomes {new}")
        if date[3] in str(after.get("says", "")):
            after["says"] = Text(str(after["says"]).replace(date[3], new), place_of(after["says"]))
    changed(material, edit, after)
    edit.done.update(
        direction=way,
        before=rule,
        after=after,
        short=f"{edit.target}: {', '.join(said)}".replace("becomes", "became"),
        says=f"{sentence(rule)}: {', '.join(said)}.",
    )


def _date_of(edit: Edit, rule: Mapping, key: str) -> tuple[Path, str, re.Match[str]]:
    """The one line of a rule that names its first day (`from`) or the day it ends (`until`)."""
    sign = ">=" if key == "from" else "<"
    found = []
    for path, text in lines_at(rule):
        date = _DATED.search(text)
        if date and date[2] == sign:
            found.append((path, text, date))
    if len(found) != 1:
        raise Fault(
            "no-date",
            edit.at,
            f'{edit.target} has no date of the permit to "{key}"',
            "write edit of: and a pack to re-date what that pack does, or from: and until: on"
            " an edit of your own",
        )
    return found[0]


def _alias(material: Material, edit: Edit) -> None:
    """Give another section number to a rule, a value or a table."""
    code = _other_sections(edit)
    item = _item(material, edit.target)
    after = copy_of(item)
    sections = item.get("code")
    after["code"] = {**(sections if isinstance(sections, dict) else {}), **code}
    said = " and ".join(f"{section} ({edition})" for edition, section in code.items())
    edit.done.update(
        direction=CHANGES,
        before=item,
        after=after,
        says=f"{edit.target} is cited as {said}; it says the same.",
        short=f"cited there as {said}",
        same="yes",
    )
    old, new = cited(item, material.edition), cited(after, material.edition)
    # in this edition; it may be cited otherwise in another that the place adopts
    if old is None or new == old:
        edit.done["idle"] = "yes"
        return
    if edit.target in material.rules:
        material.rules[edit.target] = after
    elif edit.target in material.values:
        material.values[edit.target] = after
    else:
        table = copied(material.tables[edit.target])
        table.d = after
        material.tables[edit.target] = table


def _item(material: Material, name: str) -> Mapping:
    """A rule, a value or a table as written."""
    if name in material.rules:
        return material.rules[name]
    return material.values[name] if name in material.values else material.tables[name].d


def _other_sections(edit: Edit) -> dict:
    """The section numbers that an alias gives, by edition."""
    code = edit.d.get("code")
    if not isinstance(code, dict) or not code or not all(isinstance(v, str) for v in code.values()):
        raise Fault(
            "edit-form",
            place_of(code, edit.at),
            f'"code" of alias {edit.target} gives sections',
            FORM["alias"],
        )
    for edition in code:
        if str(edition) not in EDITIONS:
            raise Fault(
                "edition",
                place_of(edition),
                f'"{edition}" is no edition',
                suggest(str(edition), EDITIONS),
            )
    if "gone" in map(str, code.values()):
        raise Fault(
            "edit-form",
            place_of(code, edit.at),
            "an alias gives another number to what is in force, and takes nothing out of force",
            "write withdraw:",
        )
    return code


def _narrow(material: Material, edit: Edit) -> None:
    """Let a rule hold only when something is so."""
    rule = material.rules[edit.target]
    lines = [in_signs(line) for line in _new_conditions(edit)]
    after = copy_of(rule)
    after["when"] = list_of([*as_list(rule.get("when")), *lines], edit.at)
    _put_given_sentence(edit, after)
    way = role(material, rule)
    # before it is changed: what other rules give is asked of those that stand
    elsewhere = _said_elsewhere(material, edit.target, rule, way)
    changed(material, edit, after)
    when = conditions(lines)
    edit.done.update(
        direction=as_direction(-way),
        before=rule,
        after=after,
        short=f"{edit.target} holds only when {when}",
        says=f"{sentence(rule)} now holds only when {when}." + elsewhere,
    )


def _new_conditions(edit: Edit) -> list:
    """The conditions that a narrow adds, as written."""
    lines = as_list(edit.d["only when"])
    for line in lines:
        is_junction = (
            isinstance(line, dict) and len(line) == 1 and next(iter(line)) in ("any of", "all of")
        )
        if not isinstance(line, str) and not is_junction:
            raise Fault(
                "edit-form",
                place_of(line, edit.at),
                '"only when" is a condition, or a list of conditions that must all be so',
                "write only when: stories of job <= 2, or only when: {any of: [line, line]}",
            )
    return lines


def _said_elsewhere(material: Material, name: str, rule: Mapping, way: int) -> str:
    """What comes of a narrowed rule where its new condition is not so, or is not told."""
    if way == 1:
        return (
            " Elsewhere it requires nothing. Where a job doesn't say, the answer is: cannot tell."
        )
    if way == -1:
        targets = listed([str(t) for t in as_list(rule.get("exception to"))])
        return (
            f" Everywhere else {targets} stands without it. Where a job doesn't say, the"
            " permission is not earned: it fails, unless the job does."
        )
    alone = _given_by_none_else(material, name, rule)
    if alone:
        return f" Elsewhere nothing gives {listed(alone)}: what reads it cannot tell."
    return " Where a job doesn't say, nothing follows from it."


def _put_given_sentence(edit: Edit, after: Mapping) -> None:
    """Put in the sentence that an edit gives, if it gives one; it has the amounts of the lines."""
    if "says" in edit.d:
        after["says"] = edit.d["says"]
        says_its_lines(edit, edit.d["says"], lines_of(after))


def _widen(material: Material, edit: Edit) -> None:
    """Take a condition from a rule."""
    rule = material.rules[edit.target]
    drop = words(edit.d["drop"]) if isinstance(edit.d["drop"], str) else ""
    when = as_list(rule.get("when"))
    found = [i for i, line in enumerate(when) if isinstance(line, str) and words(line) == drop]
    if len(found) != 1:
        raise Fault(
            "not-there",
            place_of(edit.d["drop"], edit.at),
            f'"{edit.d["drop"]}" is no condition of {edit.target}',
            "its conditions: " + (" / ".join(flat(line) for line in when) or "it has none"),
        )
    after = copy_of(rule)
    rest = [line for i, line in enumerate(when) if i != found[0]]
    if rest:
        after["when"] = list_of(rest, edit.at)
    else:
        del after["when"]
    _put_given_sentence(edit, after)
    way = role(material, rule)
    changed(material, edit, after)
    edit.done.update(
        direction=as_direction(way),
        before=rule,
        after=after,
        short=f"{edit.target} no longer asks whether {drop}",
        says=f"{sentence(rule)} no longer asks whether {drop}.",
    )


def _adopt(material: Material, edit: Edit) -> None:
    """Take a rule over from another edition."""
    rule, edition = material.rules[edit.target], str(edit.d.get("edition", ""))
    if edition not in EDITIONS:
        raise Fault(
            "edition",
            place_of(edit.d.get("edition"), edit.at),
            f'"{edition}" is no edition',
            suggest(edition, EDITIONS),
        )
    edit.done.update(
        direction=as_direction(role(material, rule)),
        before=rule,
        short=f"{edit.target} holds as in {edition}",
        says=f"{sentence(rule)} holds as in {edition}.",
    )
    if section_of(rule, material.edition) is not None:
        # in this edition; it may do something in another that the place adopts
        edit.done["idle"] = "yes"
        return
    section = cited(rule, edition)
    if section is None:
        raise Fault(
            "not-in-edition",
            edit.at,
            f"{edit.target} is not in force in {edition} either",
            "sections: " + flat(rule.get("code", {})),
        )
    sections = section.split("; ") if by_case(section) else [section]
    after = copy_of(rule)
    after["code"] = {
        **(rule.get("code") or {}),
        material.edition: Text("; ".join(f"{s} of {edition}" for s in sections), edit.at),
    }
    changed(material, edit, after)
    edit.done["after"] = after


# What carries out each verb on a rule, a value or a table, in the order in which a fault lists
# them. `add` is no edit of anything that stands.
CARRYING_OUT: dict[str, dict[str, Callable[[Material, Edit], None]]] = {
    "rule": {
        "withdraw": _withdraw,
        "replace": _replace,
        "amend": _amend,
        "redate": _redate,
        "alias": _alias,
        "narrow": _narrow,
        "widen": _widen,
        "adopt": _adopt,
    },
    "value": {"set": _set, "alias": _alias},
    "table": {"amend": _amend_table, "alias": _alias},
}


__all__ = ["apply", "fingerprint", "lines_at", "put"]
