"""What a survey asks: cards, and the kinds of job that ask them.

Read from `kb/survey`: knowledge like any other. That each answer tells what a job can have is
checked where answers become a job (`survey`), and of all answers by the suite.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

from ..basics.errors import Collector
from ..basics.reading import decode, place_of, read_bytes, read_yaml
from ..language.knowledge import KB
from ..law.library import shown_name
from .places import Facts, value_at

ROUTE = "route"


class Entry(NamedTuple):
    """A number that is typed: what it is called, and by its unit the fact it tells."""

    say: str
    units: dict[str, str]


class Card(NamedTuple):
    """One screen: a question, where to look, and what each answer tells of the circuit."""

    id: str
    ask: str
    look: str
    unknown: str  # what it costs not to know
    when: Facts  # what must be so for the card to be asked
    choices: dict[str, Facts]
    entry: tuple[Entry, ...]
    several: bool  # whether all that fit may be told at once
    alone: tuple[str, ...] = ()  # choices to which no number belongs, on a card that has both


class More(NamedTuple):
    """How the route goes on behind a stretch: what is asked, and what says that it ends."""

    ask: str
    look: str
    end: str
    unknown: str


class Kind(NamedTuple):
    """A kind of job: what it says of its circuit, and the cards that lead to its design."""

    id: str
    say: str
    sets: Facts
    ask: tuple[str, ...]  # in the order of the walk
    turns: tuple[str, ...]  # of them those that are asked only where an answer changes something
    of: str  # the thing that its line says, where that is no circuit
    line: tuple[Any, ...]  # what that line says, as of a kind of thing
    never: tuple[str, ...] = ()  # facts that the trade would call silly to ask there


class Called(NamedTuple):
    """What a name stands for: the thing of a job *among* some that is so, or a name of its own."""

    among: str
    that: Facts
    otherwise: str

    def name_in(self, job: Mapping[str, Any]) -> str:
        """What the thing is called in a job."""
        things = job.get(self.among, {})
        for name, thing in things.items():
            if all(value_at(thing, (fact,)) == said for fact, said in self.that.items()):
                return str(name)
        return self.otherwise


class Cards(NamedTuple):
    """All that a survey knows."""

    cards: dict[str, Card]
    route: Card
    more: More
    kinds: dict[str, Kind]
    results: dict[str, str]
    areas: dict[str, str]  # of a job, where its facts stand in the file
    names: dict[str, Called]  # what a name in braces stands for
    never: tuple[str, ...]  # facts that no card tells of what is new


def read_cards(folder: Path | None = None) -> Cards:
    """The cards of *folder* (by default those that are shipped). Raises Faults where a kind of job
    asks a card that is not there.
    """
    return cards_of(*read_bodies(folder))


def read_bodies(folder: Path | None = None) -> tuple[Mapping[str, Any], Mapping[str, Any]]:
    """The two files of *folder* as they stand: the cards, and the kinds of job."""
    where = folder or KB / "survey"
    return _read(where / "cards.yaml"), _read(where / "kinds.yaml")


def cards_of(cards: Mapping[str, Any], kinds: Mapping[str, Any]) -> Cards:
    """The cards that the two files say. Raises Faults as `read_cards` does."""
    faults = Collector()
    read = Cards(
        {i: _card(i, body) for i, body in cards["cards"].items()},
        _card(ROUTE, cards["route"]),
        More(**{str(key): str(said) for key, said in cards["route"]["more"].items()}),
        {str(i): _kind(str(i), body) for i, body in kinds["kinds"].items()},
        {str(k): str(v) for k, v in kinds["results"].items()},
        {str(area): str(keys) for area, keys in cards["areas"].items()},
        {
            str(name): Called(str(body["among"]), dict(body["that"]), str(body["else"]))
            for name, body in cards["names"].items()
        },
        tuple(map(str, kinds["never"])),
    )
    for kind in kinds["kinds"].values():
        for asked in kind["ask"]:
            if asked != ROUTE and asked not in read.cards:
                known = ", ".join([ROUTE, *read.cards])
                what = f'there is no card "{asked}"'
                faults.add("no-card", place_of(asked), what, f"known: {known}")
        for asked in kind.get("turns", ()):
            if asked not in kind["ask"]:
                what = f'"{asked}" turns and is not asked'
                faults.add("no-card", place_of(asked), what, "name it under ask, too")
    faults.stop()
    return read


def _read(path: Path) -> Any:
    name = shown_name(path)
    return read_yaml(decode(read_bytes(path, name), name), name)


def _card(id_: str, body: Any) -> Card:
    return Card(
        str(id_),
        str(body["ask"]),
        str(body["look"]),
        str(body["unknown"]),
        dict(body.get("when", {})),
        {str(answer): dict(facts) for answer, facts in body.get("choices", {}).items()},
        tuple(Entry(str(e["say"]), dict(e["units"])) for e in body.get("entry", ())),
        str(body.get("several")) == "yes",
        tuple(map(str, body.get("alone", ()))),
    )


def _kind(id_: str, body: Any) -> Kind:
    return Kind(
        id_,
        str(body["say"]),
        dict(body["sets"]),
        tuple(map(str, body["ask"])),
        tuple(map(str, body.get("turns", ()))),
        str(body.get("of", "")),
        tuple(body.get("line", ())),
        tuple(map(str, body.get("never", ()))),
    )
