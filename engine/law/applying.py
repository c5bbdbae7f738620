"""Edits carried out, in their order: the words struck must stand exactly once in what is then in
force, so that a base which moved, or a pack that was there first, is noticed.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, NoReturn

from ..basics.errors import Collector, Fault, suggest
from ..basics.reading import place_of
from ..language.knowledge import Material
from ..language.rules import section_of
from .edits import STRICTER, Edit, withdrawn_by, words
from .meanings import flat, listed, see_as_meant
from .sections import SECTION
from .targets import as_it_was, fingerprint
from .verbs.lock import see_not_locked
from .verbs.registry import VERBS, verb_of


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
    stood = {
        edit.target: fingerprint(material, edit.target)
        for edit in live
        if not verb_of(edit).makes_anew
    }
    names = as_it_was(material)
    for edit in live:
        verb = verb_of(edit)
        if verb.moves_an_edit(edit):
            continue
        # a whole copy and not a list of what was done: a verb may stumble anywhere, and half an
        # edit would be carried out by nobody's will
        before = material.copy()
        edit.done = {}
        try:
            _apply_one(material, edit, _print_meant(names, edit, stood.get(edit.target, "")))
        except Fault as fault:
            # what it did up to there is undone
            material.__dict__.update(before.__dict__)
            _say_what_is_asleep(fault, edit, edits, live, date)
            faults.take(fault)
        if verb.makes_anew and edit.target in material.rules:
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


def _redated(edits: list[Edit], date: str | None, faults: Collector) -> list[Edit]:
    """The edits in force on *date*, once those that move the dates of others have done so."""
    moved: dict[int, Edit] = {}
    for edit in edits:
        verb = verb_of(edit)
        if not verb.moves_an_edit(edit) or not edit.holds_on(date):
            continue
        became = verb.moved(edit, edits, faults)
        if became is not None:
            other, later = became
            moved[id(other)] = later
    return [x for x in (moved.get(id(edit), edit) for edit in edits) if x.holds_on(date)]


def _print_meant(before: Callable[[str], str], edit: Edit, stood: str) -> str:
    """The fingerprint by which an edit is judged: what was only renamed since it was written is
    what it was written over.
    """
    written = str(edit.d.get("of", ""))
    return written if written and written == before(edit.target) else stood


# ---- one edit ------------------------------------------------------------------------------------


def _apply_one(material: Material, edit: Edit, stood: str) -> None:
    """Carry out one edit; *stood* is the fingerprint of what its target was before any edit.

    Raises:
        Fault: it cannot be carried out on what is there, changes nothing, or means something else
            than its writer kept.
    """
    verb = verb_of(edit)
    if verb.makes_anew:
        verb.carry_out(material, edit, "rule")
        return see_not_locked(material, edit)
    kind = _kind_of_target(material, edit)
    _see_no_clash(material, edit)
    _see_not_stale(material, edit, stood)
    if kind not in verb.targets:
        _not_taken(edit, kind)
    before = fingerprint(material, edit.target)
    asleep = (
        kind == "rule"
        and not verb.wakes
        and section_of(material.rules[edit.target], material.edition) is None
    )
    verb.carry_out(material, edit, kind)
    if asleep:
        # the rule is not in force in this edition; it may be in another
        edit.done["idle"] = "yes"
    # nothing of it shows in this edition, so it is no step on the way to what is in force
    if edit.done.get("idle") and verb.leaves_nothing_idle:
        return
    moves = verb.moves_the_meaning and not edit.done.get("reaches")
    if edit.sound and moves and fingerprint(material, edit.target) == before:
        raise Fault(
            "no-op-edit",
            edit.at,
            f"{edit.name} changes nothing: what is written means the same as what stands",
            "leave the edit out, or see that the new words differ in meaning",
        )
    # only once it is known which way it went
    see_not_locked(material, edit)
    material.trail.setdefault(edit.target, []).append(edit)
    _see_maker_not_loosened(material, edit)
    see_as_meant(edit)


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
    if "fact" in verb_of(edit).targets:
        return "fact"
    if "section" in verb_of(edit).targets and edit.target.startswith(SECTION):
        return "section"
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
            return (
                f"an edit names the rule; of that section: {listed(of_it, 9)}. To withdraw or"
                f" replace all of it write section {section}"
            )
    known = {**material.rules, **material.values, **material.tables}
    meant = suggest(edit.target, known)
    if not meant.startswith("known here: "):
        return meant
    # among hundreds of names a list of the first few is no help; of names so long the nearest is
    import difflib

    near = difflib.get_close_matches(edit.target, known, 3, 0.85)
    finds = "whywire rules and a word of the sentence finds its name"
    return f"a name that is near: {listed(near)}; {finds}" if near else finds


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
    verb = verb_of(edit)
    takes = ", ".join(other.name for other in VERBS.values() if kind in other.targets)
    raise Fault(
        "edit-verb",
        edit.at,
        f"{edit.target} is a {kind}, and a {kind} is not {verb.past}",
        verb.instead(kind) or f"a {kind} takes {takes}",
    )


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
    verb = verb_of(edit)
    for other in material.trail.get(edit.target, ()):
        if other.pack.rank < edit.pack.rank:
            continue
        twice = verb.once and edit.verb == other.verb
        # one that only reaches this on its way stands beside the edit, in the order of the pack
        if verb_of(other).changes_nothing or other.target != edit.target:
            continue
        if verb.whole or verb_of(other).whole or twice:
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
    if edit.pack.layer == "belief" or verb_of(edit).cites_only:
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


__all__ = ["apply"]
