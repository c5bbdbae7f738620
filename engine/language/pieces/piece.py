"""A piece of a line: what each kind of piece is asked, by all who work with lines.

A piece is worth something on a thing (`ev`), rests there on some of its pieces (`rests_on`), waits
for some of them while it is unknown (`needs`), is said with its values (`say`) and is emitted as
Python (`emit`). A new kind of piece is a class that answers these; nobody else asks which kind it
has (tests/engine/test_pieces_of_lines.py).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from enum import Enum, auto
from typing import TYPE_CHECKING, Any, Protocol, TypeAlias

from ...basics.sentinels import NONE, NOTHING, NothingThere
from ...basics.units import POINT, SOME, Range
from ..things import Thing, Type

if TYPE_CHECKING:  # a path is a piece
    from ..tables import Table
    from .amounts import Path

Value: TypeAlias = Any  # what a cell or an evaluation may be: see the module, and `sentinels`
Truth: TypeAlias = bool | NothingThere | None  # what a condition answers
Member: TypeAlias = Any  # a thing of a list, a row of a table, or None where neither is looked at
# a piece below another, with the thing and the member on which it is looked at
Spot: TypeAlias = "tuple[Expr, Thing, Member]"
Show: TypeAlias = Callable[..., str]  # a value, and the unit it is shown in, as people read it
# a fact, and what it has to be: ("is", words) · ("not", words) · ("yes",) · ("no",)
Literal: TypeAlias = "tuple[Path, tuple[Any, ...]]"
Cell: TypeAlias = tuple[str, int, str]  # table, row, column
FLAG: Type = ("flag",)


def as_word(value: Value) -> str | None:
    """How a value that is no amount is written: unknown, none, yes, no, or the word that it is.

    >>> from decimal import Decimal
    >>> from decimal import Decimal
    >>> as_word(True), as_word("EMT"), as_word(NONE), as_word(None), as_word(Decimal(3))
    ('yes', 'EMT', 'none', 'unknown', None)
    """
    if value is None or value is SOME:
        return "unknown"
    if value is NONE or value is NOTHING:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else None


def unknown(of_type: Type) -> Range | None:
    """What an unknown value of a type is worth: most amounts are at least never below nothing.

    >>> unknown(("q", (("A", 1),), "A")), unknown(("flag",))
    (Range(0, None), None)
    """
    return SOME if of_type[0] == "q" and of_type[1] != POINT else None


class Stands(Enum):
    """On what a piece below another is looked at, seen from that other."""

    HERE = auto()  # on the same thing and the same member
    ALONE = auto()  # on the thing itself, whatever member is looked at
    EACH = auto()  # on each thing of the list
    ROW = auto()  # on each row of the table


class Emits(Protocol):
    """What a piece asks of whoever emits it."""

    def constant(self, value: Any, key: Hashable = None) -> str:
        """The name of a constant."""

    def variable(self) -> str:
        """A name that no other value of the function has."""

    def inner(self) -> str:
        """The name of the member of a list, within those already entered."""

    def outer(self) -> None:
        """The list is left again."""

    def reach(self, slots: Sequence[int]) -> str:
        """What stands at the end of a path: None where a link is unknown, NONE beyond a none."""

    def answered(self, fact: Path, words: str, met: bool, nothing: str) -> str:
        """What a fact of few values answers; "" where it may be worth any word."""

    def known(self, fact: Path, classes: str, then: Callable[[str], str], nothing: str) -> str:
        """What *then* says of the value of a fact where that is of *classes*."""


class Expr:
    """A piece of a line: its type *t* and the node of the grammar it came from."""

    __slots__ = ("t", "ast")
    t: Type
    ast: tuple[Any, ...]
    written = False  # is it a number or a word as the rule writes it, the same on everything?

    def ev(self, thing: Thing, member: Member) -> Value:
        """What the piece is worth on *thing*, while *member* is being looked at.

        Raises:
            NotImplementedError: the kind of piece does not say.
        """
        raise NotImplementedError

    def kids(self) -> tuple[Expr, ...]:
        """The pieces right below this one."""
        return ()

    def placed(self) -> Iterator[tuple[Expr, Stands]]:
        """The pieces right below this one, each with what it is looked at on."""
        return ((kid, Stands.HERE) for kid in self.kids())

    @property
    def things(self) -> Path | None:
        """The list whose things the piece looks at one by one; None where it looks at none."""
        return None

    def rests_on(self, thing: Thing, member: Member) -> Iterator[Spot]:
        """The pieces below that make the value what it is, with where each is looked at."""
        return ((kid, thing, member) for kid in self.kids())

    def looked_at(self, thing: Thing, member: Member) -> Iterator[Spot]:
        """Every piece below with where it is looked at, whether or not it decides anything."""
        return ((kid, thing, member) for kid in self.kids())

    def needs(self, thing: Thing, member: Member) -> Iterator[Spot]:
        """The pieces below that keep this one from being known."""
        for kid in self.kids():
            if is_open(kid.ev(thing, member)):
                yield kid, thing, member

    def beside_columns(self) -> Iterator[Expr]:
        """The pieces that say something beside the row of a table that is looked at."""
        for kid in self.kids():
            yield from kid.beside_columns()

    def numbers(self, of: Callable[[Path], int]) -> int:
        """From how many numbers an amount is reckoned, where *of* says it of the facts it reads."""
        if self.t[0] != "q":
            return 1
        return max((kid.numbers(of) for kid in self.kids()), default=1)

    def cells(self, thing: Thing, member: Member) -> Iterator[Cell]:
        """The cells of a table that the piece by itself rests on; none where that is not known."""
        return iter(())

    @property
    def reads(self) -> tuple[Table, str] | None:
        """The table that the piece by itself reads, and its column; None where it reads none."""
        return None

    def say(self, show: Show, thing: Thing, member: Member) -> str:
        """The piece with its values filled in, each as *show* has it.

        Raises:
            NotImplementedError: the kind of piece does not say.
        """
        raise NotImplementedError

    @property
    def operation(self) -> str:
        """The name of an operation, as the proof check knows it; "" of what is none."""
        return ""

    def emit(self, to: Emits, thing: str, member: str) -> str:
        """Python text that is worth the piece on the thing and the member whose variables are
        named, or raises where it is not plainly known.

        Raises:
            NotImplementedError: the kind of piece does not say.
        """
        raise NotImplementedError

    def emit_open(self, to: Emits, nothing: str) -> str:
        """Python text that is worth a test whose facts may be unknown, *nothing* beyond a none;
        "" where all of its facts have to be known.
        """
        return ""

    @property
    def path(self) -> Path | None:
        """The piece itself where it is a fact, of the thing or of what is looked at."""
        return None

    @property
    def own_fact(self) -> Path | None:
        """The piece itself where it is a fact of the thing, or of what that leads to."""
        return None

    @property
    def deciding(self) -> Path | None:
        """The fact that decides a condition alone; None where there is more to it."""
        return None

    def literals(self) -> Iterator[Literal]:
        """What must be so of facts of few values, each alone, for a condition to be so."""
        return iter(())

    @property
    def unit(self) -> str | None:
        """The unit in which an amount was written; None where it is no amount."""
        return self.t[2] if self.t[0] == "q" else None

    def unit_on(self, thing: Thing, member: Member) -> str | None:
        """The unit the piece is shown in: as the fact was written, where it is one."""
        return self.unit


def is_open(value: Value) -> bool:
    """Is a value not known, or only between which ends it lies?

    >>> is_open(None), is_open(SOME), is_open(False)
    (True, True, False)
    """
    return value is None or isinstance(value, Range)


def walk(e: Expr) -> Iterator[Expr]:
    """Every piece below and including *e*.

    >>> from decimal import Decimal
    >>> from whywire.engine.language.expressions import Arith, Num
    >>> from decimal import Decimal
    >>> from whywire.engine.language.expressions import Arith, Num
    >>> two = Num(("q", (), "count"), Decimal(2), "2")
    >>> [type(piece).__name__ for piece in walk(Arith(two.t, "+", two, two))]
    ['Arith', 'Num', 'Num']
    """
    yield e
    for kid in e.kids():
        yield from walk(kid)
