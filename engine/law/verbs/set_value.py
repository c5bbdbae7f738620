"""`set`: a value becomes what is written, or what it is in another edition."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any, NamedTuple

from ...basics.errors import Collector, Fault, suggest
from ...basics.reading import Mapping, Text, place_of
from ...basics.units import Number, show_number
from ...language.knowledge import Material, value_in, written_quantity
from ...language.rules import EDITIONS
from ...language.things import Type
from ..edits import CHANGES, Edit, came_through, copy_of, words
from ..meanings import lines_of, paths
from ..renewing import renew_sentences
from ..targets import lines_at, put
from ..there import elsewhere, in_words, split
from .verb import Verb


class SetValue(Verb):
    """A value is another one, and the sentences of the rules that read it say so."""

    name = "set"
    third = "sets"
    past = "set"
    about = "Sets a value."
    takes = ("to", "as in", "says", "because", "limits", "where", "choice until", "chosen by")
    ways = (("to",), ("as in",))
    one_way_alone = True
    form = "write to: and the value with its unit, or as in: 2017"
    also_written = ("raise", "lower", "value")
    targets = ("value",)
    once = True
    moves_readers = True

    def elsewhere(self, target: str) -> str:
        return "a value is set everywhere; for some places only, write where: and the condition"

    def instead(self, kind: str) -> str:
        return (
            "a rule's words are struck: write amend:, strike:, insert:; its force: write"
            " amend:, force: must"
        )

    def see_form(self, edit: Edit) -> None:
        """See that it says one value.

        Raises:
            Fault: it says several.
        """
        super().see_form(edit)
        if not isinstance(edit.d.get("to", ""), str):
            raise Fault(
                "edit-form",
                place_of(edit.d["to"], edit.at),
                f'"to" of set {edit.target} is one value',
                _dated_edits(edit.target, edit.d["to"])
                or "write to: and the value with its unit; a value of other days is an edit of"
                " its own, with from: and until:",
            )

    def carry_out(self, material: Material, edit: Edit, kind: str) -> None:
        """Set a value, to what is written or to what it is in another edition.

        Raises:
            Fault: it says no one value, or one in another unit.
        """
        value = material.values[edit.target]
        # comparing lays the values of one edition over the rules of another
        edition = getattr(value, "edition", material.edition)
        old = _Worth(*value_in(value, edition, Collector()))
        if ("to" in edit.d) == ("as in" in edit.d):
            raise Fault(
                "edit-form",
                edit.at,
                f"set {edit.target} says to what it is set, once",
                self.form,
            )
        new, text = (
            _worth_as_in(edit, value) if "as in" in edit.d else _worth_as_written(edit, value, old)
        )
        after = copy_of(value)
        after["is"] = text
        came_through(after, edit)
        where = in_words(edit)
        readers = _readers_of(material, edit.target)
        if where:
            readers = _where_it_is(material, edit, readers, str(text))
        else:
            material.values[edit.target] = after
        # a value that stays may stand in sentences as it did
        gone = {old.amount} if old.number != new.number else set()
        renew_sentences(
            material,
            edit,
            {name: gone for name in readers},
            {new.amount},
        )
        # in another edition of the place it may be another number, and the edit is kept for that
        if new.number == old.number:
            edit.done["idle"] = "yes"
        edit.done.update(
            direction=CHANGES,
            before=value,
            after=after,
            short=f"{edit.target}: {old} became {new}",
            says=f"{edit.target}{f', if {where}' if where else ''}: {_all_of(value)} becomes"
            f" {new}{_how_much(old, new)}.{elsewhere(edit)}",
        )

    def went_and_came(self, edit: Edit, material: Material) -> tuple[str, str]:
        if edit.done.get("before") is None:
            return "", str(edit.d.get("to", f"as in {edit.d.get('as in', '')}"))
        return _worth_of(edit.done["before"], material), _worth_of(edit.done["after"], material)


def _where_it_is(material: Material, edit: Edit, readers: list[str], text: str) -> list[str]:
    """Have the rules that read a value read another amount where the edit holds; their names."""
    reads = re.compile(rf"(?<![\w-]){re.escape(edit.target)}(?![\w-])")

    def changed_lines(rule: Mapping) -> Mapping:
        for path, line in lines_at(rule):
            if (edit.target,) in paths(line):
                new = reads.sub(text, str(line))
                rule = put(rule, path, Text(new, place_of(edit.d.get("to"), edit.at)))
        return rule

    there = edit.done["there"] = split(material, edit, readers, changed_lines)
    edit.done["reaches"] = [*there, *there.values()]
    return [*there.values()]


def _dated_edits(value: str, said: object) -> str:
    """A value that was given by days, as the edits that say so; "" where it was not."""
    if not isinstance(said, dict):
        return ""
    days = sorted(str(key) for key in said if re.fullmatch(r"\d{4}-\d\d-\d\d", str(key)))
    if not days or len(days) != len(said):
        return ""
    worth = {str(key): words(text) for key, text in said.items()}
    ends = [*days[1:], ""]
    edits = [
        f"- {{set: {value}, to: {worth[day]}, from: {day}{f', until: {end}' if end else ''}}}"
        for day, end in zip(days, ends)
    ]
    return f"write {len(edits)} edits: {' and '.join(edits)}, each with cite: and reason:"


def _worth_of(item: Mapping, material: Material) -> str:
    """What a value is worth, as a person reads it; in its own edition where it is of another."""
    edition = getattr(item, "edition", material.edition)
    number, type_ = value_in(item, edition, Collector())
    return show_number(number, type_[2])


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
    new = _Worth(*value_in(value, edition, Collector()))
    return new, Text(show_number(new.number, new.unit, full=True), place_of(edit.d["as in"]))


def _worth_as_written(edit: Edit, value: Mapping, old: _Worth) -> tuple[_Worth, Text]:
    """What an edit writes, which must measure what the value does and be more than nothing."""
    at, said = place_of(edit.d["to"], edit.at), edit.d["to"]
    new = _Worth(*written_quantity(words(said), at))
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
    # five times is no rule: it is where a slip of a decimal or a unit is likelier than a law
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
