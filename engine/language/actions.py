"""What a person can do about a fault, as data: each action with what it changes, in which steps,
where it makes sense and what it costs in a finished house.

    - action: "a {rating} breaker"
      about: overcurrent device
      change: {rating: each of breaker-ratings}
      when: [kind is inverse-time breaker]
      cost: breaker

An action is offered by `mending`, and is a way out only where a whole run has shown that.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any, TypeAlias

from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.reading import Mapping, place_of
from ..basics.sentinels import NONE
from ..basics.units import parse_quantity
from . import expressions as ex
from .checker import Checker, Values, size_order
from .forms import ACTION
from .tables import Table
from .things import Thing
from .words import Word, Words, a_noun, as_list

COSTS = "costs-of-work"  # the table that says what each class of work costs, the cheapest first
DIRECTIONS = ("up", "down")
BRACES = re.compile(r"\{([^{}]+)\}")
OPTIONAL = re.compile(r"\[([^\[\]]*\{[^\[\]]*)\]")  # left out where a fact in it is not known
EVERY = re.compile(r"every (\S+(?: \S+)?) from (\S+(?: \S+)?) to (\S+(?: \S+)?)")
TAKEN_OUT = "taken out"  # in braces, what is led out of a list
MOST_STEPS = 200  # that one action may have

Path: TypeAlias = tuple[str, ...]  # the links that lead to a fact and the fact, from the thing on
Value: TypeAlias = Any  # a quantity in its base, a word, yes or no, NONE


class Changed:
    """A fact that an action changes: to one value, or to each of some steps."""

    def __init__(self, path: Path, word: Word, steps: tuple[Value, ...], how: str = "") -> None:
        self.path, self.word, self.steps = path, word, steps
        self.in_steps, self.equal = bool(how), how == "equal"


class Action:
    """One thing that a person can do, checked against the words and tables there are."""

    def __init__(
        self,
        d: Mapping,
        words: Words,
        tables: dict[str, Table],
        values: Values,
        faults: Collector,
    ) -> None:
        self.text, self.about, self.at = str(d["action"]), str(d.get("about", "")), place_of(d)
        self.cost, self.weight = str(d.get("cost", "")), 0
        self.direction = str(d.get("direction", ""))
        self.when: list[ex.Expr] = []
        self.changes: list[Changed] = []
        # what is not done but found, so that only what nobody has looked at may be so
        self.finds: list[Changed] = []
        self.unless: list[ex.Expr] = []
        self.untells: list[Path] = []
        self.brings: list[Path] = []  # what comes along with it by itself
        # the list whose members are led out of it one by one, and what is told of their number
        self.takes_out: Word | None = None
        self.lessens: list[Word] = []
        # what is said in braces that is no fact: lines, of which the first that is known counts
        self.names: dict[str, list[ex.Expr]] = {}
        reader = _Reader(self, d, words, tables, faults)
        if not reader.has_its_form():
            return
        checker = Checker(words, tables, values, self.about, self.at)
        for key, lines in (("when", self.when), ("unless", self.unless)):
            for line in as_list(d.get(key)):
                with faults.catching():
                    lines.append(checker.condition(line))
        names = d.get("names", {})
        for name, said in names.items() if isinstance(names, dict) else ():
            with faults.catching():
                self.names[str(name)] = [checker.formula(line) for line in as_list(said)]
        reader.read()

    def touches(self) -> set[tuple[str, str]]:
        """The facts, each of its kind, that it changes."""
        words = [changed.word for changed in (*self.changes, *self.finds)]
        if self.takes_out is not None:
            words += [self.takes_out, *self.lessens]
        return {(word.kind, word.name) for word in words}

    def makes_sense_on(self, thing: Thing) -> bool:
        """Whether every condition of the action is known to be met on a thing, and nothing that
        speaks against it is.
        """
        return all(condition.ev(thing, None) is True for condition in self.when) and not any(
            condition.ev(thing, None) is True for condition in self.unless
        )

    @property
    def is_found(self) -> bool:
        """Whether nothing is done, and all of it is found by looking."""
        return not self.changes and self.takes_out is None

    @property
    def stepping(self) -> Changed | None:
        """The fact that the action changes step by step; None of an action of one step."""
        return next((changed for changed in self.changes if changed.in_steps), None)


class _Reader:
    """Reads one action, and says of each slip where it stands and what to write."""

    def __init__(
        self,
        action: Action,
        d: Mapping,
        words: Words,
        tables: dict[str, Table],
        faults: Collector,
    ) -> None:
        self.action, self.d, self.words, self.tables, self.faults = action, d, words, tables, faults

    def has_its_form(self) -> bool:
        """See that the action says what it is about, what it changes and what it costs."""
        d, faults, before = self.d, self.faults, len(self.faults.items)
        ACTION.see(d, faults)
        about = d.get("about")
        if not isinstance(about, str) or about not in self.words.kinds:
            faults.add(
                "action-about",
                place_of(about, place_of(d)),
                f'"{d["action"]}" is about "{about}", and there is no such kind of thing',
                suggest(str(about), self.words.kinds),
            )
        if "takes out" in d:
            return self._see_cost() and len(faults.items) == before
        changes = [d[key] for key in ("change", "finds") if key in d]
        if (
            not changes
            or not all(isinstance(change, dict) and change for change in changes)
            or not isinstance(d["action"], str)
        ):
            faults.add(
                "action-form",
                place_of(d),
                f'"{d["action"]}" does not say what it changes',
                "write change: {fact: value}, or {fact: each of TABLE}",
            )
        if self.action.direction not in ("", *DIRECTIONS):
            faults.add(
                "action-form",
                place_of(d["direction"]),
                f'"{self.action.direction}" is no direction',
                "write direction: up, or direction: down, or leave it out",
            )
        self._see_cost()
        return len(faults.items) == before

    def _see_cost(self) -> bool:
        """See that the class of cost is a row of the table that weighs them."""
        action, table = self.action, self.tables.get(COSTS)
        weights = {} if table is None else {row["class"]: row["weight"] for row in table.rows}
        if action.cost not in weights:
            self.faults.add(
                "action-cost",
                place_of(self.d.get("cost"), place_of(self.d)),
                f'"{action.text}" costs "{action.cost}", and table {COSTS} has no such row',
                suggest(action.cost, weights) or f"add a row to the table {COSTS}",
            )
            return False
        action.weight = int(weights[action.cost])
        return True

    def read(self) -> None:
        """Read what the action changes, what it leaves untold, and the names in its words."""
        for path, said in self.d.get("change", {}).items():
            with self.faults.catching():
                self.action.changes.append(self._changed(path, said))
        for path, said in self.d.get("finds", {}).items():
            with self.faults.catching():
                spelled, word = self._path(path)
                self.action.finds.append(Changed(spelled, word, (self._value(word, said),)))
        self._read_taken_out()
        if sum(changed.in_steps for changed in self.action.changes) > 1:
            self.faults.add(
                "action-form",
                place_of(self.d["change"], self.action.at),
                f'"{self.action.text}" changes two facts step by step',
                "let one of them follow from the other: untells: [fact]",
            )
        for key, paths in (("untells", self.action.untells), ("brings", self.action.brings)):
            for path in as_list(self.d.get(key)):
                with self.faults.catching():
                    paths.append(self._path(path)[0])
        for name in BRACES.findall(self.action.text):
            if name in self.d.get("names", {}) or name == TAKEN_OUT and self.action.takes_out:
                continue
            with self.faults.catching():
                self._path(name, place_of(self.d["action"]))

    def _read_taken_out(self) -> None:
        """Read the list out of which members are led, and the facts that count them."""
        said = self.d.get("takes out")
        if said is None:
            return
        with self.faults.catching():
            word = self._path(said)[1]
            if not word.back:
                raise Fault(
                    "action-form",
                    place_of(said, self.action.at),
                    f'nothing can be taken out of "{said}": it turns no link round',
                    "name a list of things that link to this one",
                )
            self.action.takes_out = word
        for path in as_list(self.d.get("lessens")):
            with self.faults.catching():
                self.action.lessens.append(self._path(path)[1])

    def _path(self, path: str, at: Place | None = None) -> tuple[Path, Word]:
        """A path, root first and written out, and the word at its end.

        Raises:
            Fault: a name on it is unknown.
        """
        kind, at = self.action.about, at or place_of(path)
        names = tuple(name.strip() for name in reversed(str(path).split(" of ")))
        word, spelled = None, self.words.spell(kind, names)
        for name in spelled:
            if kind not in self.words.kinds:
                raise Fault(
                    "unknown-word",
                    at,
                    f'in "{path}" nothing can be "of" what stands before "{name}"',
                    "turn the path round",
                )
            word = self.words.kinds[kind].words.get(name)
            if word is None:
                raise Fault(
                    "unknown-word",
                    at,
                    f'{a_noun(kind)} has no "{name}"',
                    suggest(name, self.words.known(kind)),
                )
            kind = word.type[1] if word.type[0] in ("ref", "many") else ""
        if word is None:
            raise Fault("action-form", at, "an empty path leads nowhere", "name a fact")
        return tuple(spelled), word

    def _changed(self, path: str, said: Any) -> Changed:
        """One fact and what it may become.

        Raises:
            Fault: the fact is unknown, or cannot become that.
        """
        at = place_of(said, self.action.at)
        spelled, word = self._path(path)
        if isinstance(said, list):
            return Changed(spelled, word, tuple(self._value(word, text) for text in said), "listed")
        if not isinstance(said, str):
            raise Fault(
                "action-form", at, f'"{path}" becomes no value', "write a value, or [value, value]"
            )
        if said.startswith("each of "):
            return Changed(spelled, word, self._each_of(word, said, at), "listed")
        if said.startswith("every "):
            return Changed(spelled, word, self._every(word, said, at), "equal")
        return Changed(spelled, word, (self._value(word, said),))

    def _each_of(self, word: Word, said: str, at: Place) -> tuple[Value, ...]:
        """The values of a table, in its order: of the column of that name, else of its first
        key.
        """
        name = said.removeprefix("each of ")
        table = self.tables.get(name)
        if table is None:
            what = f'"{word.name}" becomes each of {name}, and there is no such table'
            raise Fault("no-such-table", at, what, suggest(name, self.tables))
        columns = [*table.keys, *table.values]
        column = word.name if word.name in columns else columns[0]
        steps = tuple(dict.fromkeys(row[column] for row in table.rows))
        known = self._all(word)
        fits = all(step in known for step in steps) if known is not None else bool(word.unit)
        if not fits or isinstance(steps[0], str) is bool(word.unit):
            what = f'the rows of {name} are no values of "{word.name}"'
            raise Fault("action-form", at, what, "name a table whose rows it may be")
        return steps

    def _every(self, word: Word, said: str, at: Place) -> tuple[Value, ...]:
        """Equal steps from one amount to another."""
        form = EVERY.fullmatch(said)
        if form is None or not word.unit:
            what = f'"{said}" gives no steps of "{word.name}"'
            raise Fault("action-form", at, what, "write every 1 in from 6 in to 48 in")
        amounts: list[Any] = [parse_quantity(t, str(word.unit), at)[0] for t in form.groups()]
        if len({type(amount) for amount in amounts}) > 1:
            # a fraction and a decimal compare, and do not add up
            amounts = [Fraction(amount) for amount in amounts]
        step, least, most = amounts
        count = int((most - least) / step) + 1 if step > 0 else 0
        if not 0 < count <= MOST_STEPS:
            what = f'"{said}" gives {count} steps, and an action has 1 to {MOST_STEPS}'
            raise Fault("action-form", at, what, "take larger steps, or fewer of them")
        return tuple(least + step * number for number in range(count))

    def _value(self, word: Word, text: str) -> Value:
        """One value that a fact may become.

        Raises:
            Fault: it can be no such thing.
        """
        at, kind = place_of(text, self.action.at), word.type[0]
        if text == "none" and (kind == "row" or kind == "ref" and not (word.part or word.up)):
            return NONE
        if kind in ("ref", "many"):
            what = f'"{word.name}" is another thing'
            raise Fault("action-form", at, what, "change a fact of it")
        if kind == "q":
            return parse_quantity(text, str(word.unit), at)[0]
        known = self._all(word)
        if known is not None and text not in known:
            raise Fault("not-a-choice", at, f'"{text}" is no {word.name}', suggest(text, known))
        return text == "yes" if kind == "flag" else str(text)

    def _all(self, word: Word) -> Iterable[str] | None:
        """Every word that a fact may be; None where it may be anything."""
        kind = word.type[0]
        if kind == "flag":
            return ("yes", "no")
        if kind == "choice":
            choices: tuple[str, ...] = word.type[1]
            return choices
        if kind == "row" and word.type[1] in self.tables:
            return size_order(self.tables[word.type[1]])
        return None


def read_actions(
    items: Iterable[Mapping],
    words: Words,
    tables: dict[str, Table],
    values: Values,
    faults: Collector,
) -> Iterator[Action]:
    """Each action that packs write, checked."""
    for d in items:
        with faults.catching():
            yield Action(d, words, tables, values, faults)


__all__ = [
    "BRACES",
    "COSTS",
    "OPTIONAL",
    "TAKEN_OUT",
    "Action",
    "Changed",
    "read_actions",
]
