"""A question: its stem, its options, the key, and in what order the options stand."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, NamedTuple, TypeAlias

from ..answering.verdicts import is_plain, rounded, same_text, verdict_text
from ..basics.reading import Mapping
from ..drawing.pictures import shown_in_words
from .asked import Model

MOST_WRONG = 3

Value: TypeAlias = Any  # what is concluded: a number, a text, a verdict, rules, an order
Order: TypeAlias = Callable[[Any], Any]  # by what the options of a question are put in order


@dataclass
class Option:
    """One answer to choose: its text, its exact value, whether it is right, and whose belief makes
    it, if anybody's.
    """

    text: str
    value: Value
    right: bool = False
    belief: str = ""  # who holds this chooses it
    says: str = ""  # what is wrong with it, where no belief makes it
    missed: str = ""  # who holds this leaves it out, though it is right


@dataclass
class Instance:
    """One question: stem, options in their order, the key among them."""

    model: Model
    seed: int
    facts: dict[str, str]
    stem: str
    key: Option
    options: list[Option] = field(default_factory=list)
    body: Mapping = field(default_factory=Mapping)
    unit: str = ""
    place: int | None = None  # where the key was asked to be (`Spot`)
    picture: Mapping | None = None  # what is drawn beside its stem, in a form of `drawing`
    asks: str = ""  # the name of what its stem asks for besides, in kb/teaching/stems.yaml
    only: str = ""  # the belief that was asked for
    digits: int | None = None  # how many places behind the point its numbers are shown with
    # what was worked out of it for one form of the paper, and serves the others
    kept: dict = field(default_factory=dict, repr=False, compare=False)

    def same(self, a: Value, b: Value) -> bool:
        """Whether two values are one answer, as this question shows them."""
        if self.digits is not None and self._is_number(a) and self._is_number(b):
            return rounded(a, self.unit, self.digits) == rounded(b, self.unit, self.digits)
        return same_text(a, b, self.unit)

    def _is_number(self, value: Value) -> bool:
        """Whether a value is shown with the digits of this question: a verdict has its own."""
        return not isinstance(value, tuple) and is_plain(value, self.unit)

    @property
    def name(self) -> str:
        """What makes this question again: its model, its seed, where its key was asked to be, and
        which belief was asked for.
        """
        return (
            f"{self.model.name}:{self.seed}"
            + (f":{self.place}" if self.place is not None else "")
            + (f":{self.only}" if self.only else "")
        )

    @property
    def in_words(self) -> str:
        """The stem with what its picture shows: where nothing can be drawn."""
        return (
            self.stem if self.picture is None else f"{self.stem} ({shown_in_words(self.picture)})"
        )

    @property
    def position(self) -> int:
        return next(i for i, o in enumerate(self.options) if o.right)


class Made(NamedTuple):
    """What one draw comes to: the key, and what stands beside it."""

    key: Option
    options: list[Option]  # the wrong ones; or all, in their order
    order: Order | None = None  # what the options are put in order by, where they have one
    unit: str = ""
    all_offered: bool = False  # nothing is chosen or placed: all that apply, or an order
    asks: str = ""  # what the stem asks for besides: the limit, where all verdicts would be one
    written: Callable[..., str] = verdict_text  # how its verdicts are written


class Draw(NamedTuple):
    """One draw of the facts of a model, of which a question may come."""

    model: Model
    body: Mapping  # the job with the facts in it
    facts: dict[str, str]
    rng: random.Random
    only: str  # the belief that was asked for


class Spot(NamedTuple):
    """Where the key is asked to stand: its place, and among how many options (0: as many as come).

    A number below ten is a place alone, as older papers have it; 42 is place 2 of four options.
    """

    place: int
    among: int

    @staticmethod
    def of(number: int) -> Spot:
        """The spot that a question's name gives as a number."""
        return Spot(number, 0) if number < 10 else Spot(number % 10, number // 10)


# ---- choosing and placing options ----------------------------------------------------------------


def chosen(made: Made, position: int | None, only: str, rng: random.Random) -> list[Option] | None:
    """The options that are offered, in their order; None where the key cannot stand there."""
    if made.all_offered:
        return made.options
    wrong = _fit(made.options, only)
    return _placed(made, wrong, position, only, rng) if len(wrong) > 1 else None


def _fit(options: list[Option], only: str) -> list[Option]:
    """Those made by beliefs before those that are not, and the one that is asked for first."""
    return sorted(
        options,
        key=lambda o: (
            o.belief != only if only else False,
            not o.belief and not o.says.startswith("That is the answer"),
        ),
    )


def _placed(
    made: Made, wrong: list[Option], position: int | None, only: str, rng: random.Random
) -> list[Option] | None:
    """Two or three wrong options with the key among them: in numeric order where there is one, the
    key at *position*.
    """
    # a question about a belief that it does not offer would find out nothing
    if not _offers(wrong, only):
        return None
    if made.order is None:
        return _anywhere(made.key, wrong, position, rng)
    order = _by_value_in(made.order)
    if position is None:
        return sorted([made.key, *wrong[:MOST_WRONG]], key=order)
    return _between(made.key, wrong, Spot.of(position), order, only)


def _offers(options: list[Option], only: str) -> bool:
    """Whether the belief that was asked for, if any, makes one of *options*."""
    return not only or any(option.belief == only for option in options)


def _by_value_in(order: Order) -> Callable[[Option], Any]:
    return lambda option: order(option.value)


def _anywhere(
    key: Option, wrong: list[Option], position: int | None, rng: random.Random
) -> list[Option] | None:
    """Wrong options in no order, the key at *position* or wherever chance puts it."""
    made = sum(bool(option.belief) for option in wrong)
    # wrong options that no belief makes fill up to two: more of them would be chosen by nobody
    few = wrong[: max(2, min(MOST_WRONG, made))]
    at, among = (None, 0) if position is None else Spot.of(position)
    if among:
        few = wrong[: among - 1]
        if len(few) < among - 1:
            return None
    elif at is not None and at > len(few):
        few = wrong[:MOST_WRONG]
    rng.shuffle(few)
    if at is None:
        at = rng.randrange(len(few) + 1)
    return None if at > len(few) else [*few[:at], key, *few[at:]]


def _between(
    key: Option, wrong: list[Option], spot: Spot, order: Callable[[Option], Any], only: str
) -> list[Option] | None:
    """The key at a place of a numeric order, with as many wrong options below it."""
    position = spot.place
    most = spot.among - 1 if spot.among else MOST_WRONG
    # numbers stand in their order, so the place of the key is chosen by what is offered beside it
    low = sorted((o for o in wrong if order(o) < order(key)), key=order)
    high = sorted((o for o in wrong if order(o) > order(key)), key=order)
    if len(low) < position:
        return None
    below = _taking(low, position, only)
    above = _taking(high, min(most - position, len(high)), only)
    if spot.among and len(below) + len(above) != most:
        return None
    if len(below) + len(above) < 2 or not _offers(below + above, only):
        return None
    return [*below, key, *above]


def _taking(options: list[Option], n: int, only: str) -> list[Option]:
    first = sorted(options, key=lambda o: o.belief != only)[:n]
    return [o for o in options if o in first]
