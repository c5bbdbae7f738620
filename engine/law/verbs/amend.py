"""`amend`: words of a rule struck and others put in, or its force changed; a cell or row."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import NamedTuple, NoReturn

from ...basics.errors import Fault, PutIn
from ...basics.reading import Mapping, Text, place_of
from ...basics.units import dimension, unit_of
from ...language.knowledge import Material
from ...language.rules import JUDGING
from ...language.tables import Table
from ..cells import amend_table
from ..edits import LAXER, STRICTER, Edit, copy_of, words
from ..in_words import rule_in_words
from ..meanings import direction, gauges, line_text, lines_of, sentence, size_test, stale_amounts
from ..own_rules import says_its_lines
from ..renewing import REASONS, amounts_in, renew_sentences, without_stale_answers
from ..targets import Path, changed, lines_at, put
from ..there import TWIN, elsewhere, in_words, split
from .verb import Verb, put_answers


class Amend(Verb):
    """What is struck must stand exactly once, so that a base that moved is noticed."""

    name = "amend"
    third = "amends"
    past = "amended"
    about = (
        "Strikes words of a rule and inserts others; or a cell of a table; or changes a rule's"
        " force."
    )
    takes = (
        "strike",
        "insert",
        "says",
        "because",
        "limits",
        "force",
        "row",
        "column",
        "insert row",
        "strike row",
        "answers",
        "where",
        "choice until",
        "chosen by",
    )
    ways = (("force",), ("strike", "insert"), ("insert row",), ("strike row",))
    form = "write strike: and insert:, or row: and column: for a table, or force: must"
    also_written = ("in", "change", "edit", "correct", "strike")
    targets = ("rule", "table")
    moves_lines = True
    moves_readers = True

    def elsewhere(self, target: str) -> str:
        return "strike acts everywhere; for some places only, write where: and the condition"

    def carry_out(self, material: Material, edit: Edit, kind: str) -> None:
        """Strike a piece of a rule's line and insert another, or change the rule's force; or
        amend a table.

        Raises:
            Fault: what is struck does not stand once, or a sentence goes on saying what is gone.
        """
        if kind == "table":
            return _amend_table(material, edit)
        rule = material.rules[edit.target]
        _see_keys_of_a_rule(edit)
        if "force" in edit.d:
            return _force(material, edit)
        if "strike" not in edit.d or "insert" not in edit.d:
            lacks = "insert" if "strike" in edit.d else "strike"
            raise Fault(
                "edit-lacks",
                edit.at,
                f'amend {edit.target} does not say "{lacks}:"',
                "write strike: with the words that go and insert: with those that come",
            )
        struck = _strike(material, edit, rule)
        after = put(rule, struck.path, struck.new)
        _put_sentence(edit, rule, struck, after)
        # what somebody wrongly holds changes no reason of the law's
        if edit.pack.layer != "belief":
            for key in REASONS:
                _put_reason(edit, rule, struck, after, key)
        without_stale_answers(
            after, lambda text: _found_at(words(text), struck.piece) or struck.stale(text)
        )
        put_answers(edit, after)
        where = _put_where(material, edit, after)
        # sizes run backwards, and `8 AWG or smaller` is what is most often written the wrong way
        # round
        gauge = gauges(material, Mapping({struck.path[0]: struck.new}))
        edit.done.update(
            before=rule,
            after=after,
            direction=direction(material, rule, struck.path, struck.old, str(struck.new)),
            line=struck.old,
            short=f"“{struck.old}” became “{struck.new}”",
            says=f"{sentence(rule)}{where}: “{struck.old}” now reads “{struck.new}”."
            f" Now, {rule_in_words(after)}." + (f" {gauge}" if gauge else "") + elsewhere(edit),
        )

    def went_and_came(self, edit: Edit, material: Material) -> tuple[str, str]:
        said = edit.d
        if "strike" in said:
            return str(said["strike"]), str(said["insert"])
        if "force" in said:
            return ("should" if str(said["force"]) == "must" else "must"), str(said["force"])
        if "insert row" in said:
            return "", line_text(said["insert row"])
        return line_text(said["strike row"]), ""


def _put_where(material: Material, edit: Edit, after: Mapping) -> str:
    """Put in an amended rule, beside the one that stands where the edit is for some only; where
    that is, in words.
    """
    where = in_words(edit)
    if not where:
        changed(material, edit, after)
        return ""
    edit.done["there"] = split(material, edit, [edit.target], lambda _: copy_of(after))
    edit.done["reaches"] = [edit.target, *edit.done["there"].values()]
    return f", if {where}"


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
    # once in all lines together: of two places nobody could say which is meant
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
    put_answers(edit, after)
    where = _put_where(material, edit, after)
    is_law = force == "must"
    tested = size_test(material, after) if is_law else ""
    edit.done.update(
        before=rule,
        after=after,
        direction=STRICTER if is_law else LAXER,
        short=f"{edit.target} is {'law' if is_law else 'advice'} here",
        says=f"{sentence(rule)}{where} is now {'law' if is_law else 'advice'}:"
        f" {rule_in_words(after)}." + (f" {tested}" if tested else "") + elsewhere(edit),
    )


def _amend_table(material: Material, edit: Edit) -> None:
    """Change a cell or a row of a table, and see to the sentences of the rules that read it."""
    reads = re.compile(rf"(?<![\w-]){re.escape(edit.target)}(?![\w-])")
    readers = [
        name
        for name, rule in material.rules.items()
        if any(reads.search(line) for line in lines_of(rule))
    ]
    table = material.tables[edit.target]
    amend_table(material, edit)
    if where := in_words(edit):
        readers = _beside_the_table(material, edit, table, readers, reads)
        edit.done["says"] = f"If {where}: {edit.done['says']}{elsewhere(edit)}"
    before, after = (_in_cells(edit.done[key]) for key in ("before", "after"))
    gone: dict[str, set[tuple]] = {}
    for name in readers:
        rule = material.rules[name]
        lines = lines_of(rule)
        if lines:
            # what a rule says by itself is not of the table
            gone[name] = before - after - amounts_in(lines)
    renew_sentences(material, edit, gone, after)


def _beside_the_table(
    material: Material, edit: Edit, old: Table, readers: list[str], reads: re.Pattern[str]
) -> list[str]:
    """Put an amended table beside the one that stands, and have the rules that read it read the one
    or the other; the names of those that read the amended one.
    """
    if not readers:
        raise Fault(
            "edit-form",
            place_of(edit.d["where"], edit.at),
            f"no rule reads {edit.target}, so that it is nowhere another for some",
            "leave where: out",
        )
    after, name = material.tables[edit.target], edit.target + TWIN
    while name in material.tables:
        name += "-too"
    after.id = name
    material.tables[name], material.tables[edit.target] = after, old

    def changed_lines(rule: Mapping) -> Mapping:
        for path, line in lines_at(rule):
            new = reads.sub(name, str(line))
            if new != line:
                rule = put(rule, path, Text(new, place_of(line)))
        return rule

    edit.done["there"] = split(material, edit, readers, changed_lines)
    edit.done["reaches"] = [*edit.done["there"], *edit.done["there"].values()]
    return [*edit.done["there"].values()]


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
