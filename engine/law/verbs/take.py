"""`take`: a fact counts as a value, or as at least or at most one, for everything that reads it."""

from __future__ import annotations

import re
from typing import Any

from ...basics.errors import Fault, suggest
from ...basics.reading import Mapping, Text, place_of
from ...basics.units import dimension
from ...language.knowledge import Material, written_quantity
from ...language.lines import names_in, parse_line
from ...language.words import Word, as_list
from ..edits import CHANGES, Edit, came_through, copy_of, words
from ..meanings import lines_of, listed
from ..targets import lines_at, put
from ..there import elsewhere, in_words, split
from .verb import Verb

HOW = ("as", "as at least", "as at most")
_SAID = {"as": "", "as at least": "at least ", "as at most": "at most "}


class Take(Verb):
    """Every line that reads the fact reads the value in its place; what was told stays told."""

    name = "take"
    third = "takes"
    past = "taken"
    about = "Takes a fact as a value, or as at least or at most one, wherever it is read."
    takes = (*HOW, "where", "choice until", "chosen by")
    ways = tuple((how,) for how in HOW)
    form = "write as: and the value with its unit, or as at least: or as at most:"
    targets = ("fact",)
    one_way_alone = True
    moves_readers = True
    moves_the_meaning = False

    def elsewhere(self, target: str) -> str:
        return "write where: and the condition"

    def carry_out(self, material: Material, edit: Edit, kind: str) -> None:
        """Have every rule that reads the fact read it as the edit says.

        Raises:
            Fault: the fact is no amount, the value none of its kind, or a line reads the fact in a
                way in which it cannot be taken so.
        """
        about, word = fact_of(material, edit)
        how, amount = self._amount(edit, word)
        readers = [
            name
            for name, rule in material.rules.items()
            if any(_reads_at(material, rule, line, about, word.name) for line in lines_of(rule))
        ]

        def changed(rule: Mapping) -> Mapping:
            return _taken(material, edit, rule, (about, word.name), (how, amount))

        where = in_words(edit)
        if where:
            twins = split(
                material,
                edit,
                readers,
                changed,
                lambda rule, line: _seen_from(material, edit, rule, (about, word.name), line),
            )
            reached = [*twins, *twins.values()]
        else:
            reached = readers
            for name in readers:
                after = changed(copy_of(material.rules[name]))
                came_through(after, edit)
                material.rules[name] = after
                material.trail.setdefault(name, []).append(edit)
        said = f"{word.name} of {about}"
        told = f"{_SAID[how]}{amount}"
        edit.done.update(
            direction=CHANGES,
            reaches=reached,
            short=f"{said} is taken as {told}",
            says=f"Whatever reads {said} takes it as {told}{f' if {where}' if where else ''},"
            f" whatever is told: {_by_name(readers)}.{elsewhere(edit)}",
        )

    def what_of(self, edit: Edit) -> str:
        how = next((how for how in HOW if how in edit.d), "as")
        return f"{edit.target} {how} {edit.d.get(how, '')}"

    def _amount(self, edit: Edit, word: Word) -> tuple[str, str]:
        """Which way a value is taken, and the value as a line has it."""
        given = [how for how in HOW if how in edit.d]
        if len(given) != 1:
            raise Fault(
                "edit-form",
                edit.at,
                f"take {edit.target} says as what it is taken, once",
                self.form,
            )
        said, at = edit.d[given[0]], place_of(edit.d[given[0]], edit.at)
        if word.type[0] != "q":
            raise Fault(
                "edit-form",
                at,
                f"{edit.target} is no amount, and only an amount is taken as another",
                "for a word or a yes or no, add a rule that gives it, with counts as: yes, or amend"
                " the rules that read it",
            )
        text = words(said)
        unit = written_quantity(text, at)[1][2]
        if dimension(unit or "count") != dimension(word.type[2] or "count"):
            raise Fault(
                "unit-change",
                at,
                f'"{said}" is not what {edit.target} is written in',
                f"write it in {word.type[2]}",
            )
        return given[0], text


def fact_of(material: Material, edit: Edit) -> tuple[str, Word]:
    """The kind and the fact that an edit names, as in `FACT of KIND`.

    Raises:
        Fault: there is no such fact.
    """
    name, _, kind = edit.target.rpartition(" of ")
    kinds = material.words.kinds
    at = place_of(edit.d[edit.verb], edit.at)
    if kind not in kinds:
        raise Fault(
            "no-such-item",
            at,
            f'"{edit.target}" is no fact of a kind of thing',
            f"write FACT of KIND; {suggest(kind or edit.target, kinds)}",
        )
    word = kinds[kind].words.get(name)
    if word is None:
        todo = suggest(name, kinds[kind].words)
        raise Fault("no-such-item", at, f'a {kind} has no "{name}"', todo)
    return kind, word


def _by_name(names: list[str]) -> str:
    if len(names) > 12:
        return f"{len(names)} rules, {listed(names[:12])} among them"
    return listed(names) if names else "no rule does"


def _reads_at(material: Material, rule: Mapping, line: str, kind: str, fact: str) -> bool:
    """Whether a line of a rule reads a fact of a kind of thing."""
    return fact in line and bool(_paths_to(material, str(rule.get("about")), line, (kind, fact)))


def _paths_to(
    material: Material, about: str, line: str, cell: tuple[str, str]
) -> list[tuple[str, ...]]:
    """The paths of a line that lead to a fact of a kind, as they are written."""
    try:
        paths = names_in(parse_line(line, "cond"))
    except Fault:
        return []
    return sorted((p for p in paths if _ends_at(material, about, p, cell)), key=len, reverse=True)


def _ends_at(material: Material, about: str, path: tuple[str, ...], cell: tuple[str, str]) -> bool:
    """Whether a path of a rule about a kind ends at a fact of another kind, or of its own."""
    kinds = material.words.kinds
    steps = list(path[::-1])
    # the member of a list is called by its kind
    here = about
    if len(steps) > 1 and steps[0] in kinds and steps[0] not in kinds[about].words:
        here = steps.pop(0)
    *links, fact = material.words.spell(here, tuple(steps))
    for link in links:
        word = kinds[here].words.get(link) if here in kinds else None
        if word is None or word.type[0] not in ("ref", "many"):
            return False
        here = word.type[1]
    return (here, fact) == cell


def _seen_from(
    material: Material, edit: Edit, rule: Mapping, cell: tuple[str, str], line: Any
) -> Any:
    """A condition of the thing that has a fact, as a rule says it that reads the fact over links.

    Raises:
        Fault: the rule reads it over several ways, or of the members of a list.
    """
    if isinstance(line, dict):
        out = Mapping(
            (key, [_seen_from(material, edit, rule, cell, one) for one in as_list(lines)])
            for key, lines in line.items()
        )
        out.__dict__.update(line.__dict__)
        return out
    about = str(rule.get("about"))
    ways = {path[1:] for text in lines_of(rule) for path in _paths_to(material, about, text, cell)}
    way = next(iter(ways))
    kinds = material.words.kinds
    of_members = way and way[-1] in kinds and way[-1] not in kinds[about].words
    if len(ways) > 1 or of_members:
        raise Fault(
            "take-line",
            edit.at,
            f"{rule['rule']} reads {edit.target} of several things, and where: is about one",
            f"say it of that rule alone: amend: {rule['rule']}, with where:",
        )
    text = str(line)
    for path in sorted(_names(text) or (), key=len, reverse=True):
        # of the job everything is a part
        if way and path.rpartition(" of ")[2] != "job":
            here = rf"(?<![\w-])(?<! of ){re.escape(path)}(?![\w-])(?! of )"
            text = re.sub(here, f"{path} of {' of '.join(way)}", text)
    return Text(text, place_of(line, edit.at))


def _taken(
    material: Material,
    edit: Edit,
    rule: Mapping,
    cell: tuple[str, str],
    value: tuple[str, str],
) -> Mapping:
    """A rule whose lines read a value in the place of a fact."""
    about = str(rule.get("about"))
    for path, line in lines_at(rule):
        for names in _paths_to(material, about, str(line), cell):
            new = _in_line(str(line), " of ".join(names), value)
            if new is None:
                raise Fault(
                    "take-line",
                    edit.at,
                    f"{rule['rule']} reads {edit.target} in a way in which it cannot be taken as"
                    f" another: {line}",
                    f"say it of that rule alone: amend: {rule['rule']}, with where: if it is for"
                    " some",
                )
            line = Text(new, edit.at)
            rule = put(rule, path, line)
    return rule


def _in_line(line: str, path: str, value: tuple[str, str]) -> str | None:
    """A line that reads a value in the place of a path; None where it cannot be said there."""
    how, amount = value
    most = {"as at least": "larger", "as at most": "smaller"}.get(how)
    came = f"({most} of ({path} and {amount}))" if most else amount
    here = rf"(?<![\w-])(?<! of ){re.escape(path)}(?![\w-])(?! of )"
    # that it is there at all, or is not, stays as it was told
    kept = rf"(?:{here})(?! is (?:not )?none)"
    looked_up = rf"\b(by|and) {here}(?! *[=<>×÷+-])(?= and | where |\)|$)"
    if re.search(r" from [\w -]+ by ", line) and re.search(looked_up, line):
        new = re.sub(looked_up, lambda found: f"{found[1]} {path} = {came}", line)
        new_value = re.sub(rf"({re.escape(path)} = )?{kept}", lambda f: f[0] if f[1] else came, new)
        candidates = [new_value, new]
    else:
        candidates = [re.sub(kept, lambda _: came, line)]
    before = _names(line)
    for new in candidates:
        after = _names(new)
        if before is not None and after is not None and before - {path} == after - {path}:
            if new != line or " is none" in line or " is not none" in line:
                return new
    return None


def _names(line: str) -> set[str] | None:
    """Every path of a line; None of what is none."""
    try:
        return {" of ".join(path) for path in names_in(parse_line(line, "cond"))}
    except Fault:
        return None


__all__ = ["HOW", "Take", "fact_of"]
