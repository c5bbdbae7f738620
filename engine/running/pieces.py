"""Knowledge written in pieces, and read a piece at a time: an answer needs few rules of many.

The first piece holds the words and the lists, in which a rule is its name, its kind and its verb,
and a table its name. What else there is to a rule, a table, the order, and each stretch of emitted
code, is a piece of its own, read when it is first asked for. A piece names rules, tables and words
instead of holding them, so that each is there once.

The piece of a stretch is empty until it was first run: to emit all of them takes as long as to read
the packs, and a job runs a part of them. What a command had to emit is added when it ends
(`with_code`).
"""

from __future__ import annotations

import copyreg
import gc
import io
import marshal
import pickle
from collections.abc import Callable
from itertools import accumulate, pairwise
from typing import Any, TypeAlias

from ..basics.kept import Unpickler
from ..language.knowledge import Knowledge
from ..language.order import Order
from ..language.rules import Rule
from ..language.tables import Table
from ..language.words import Word, Words
from .emit import Code, Emitted
from .program import program_of

Name: TypeAlias = tuple[Any, ...]  # the sort of a thing, and what tells it from others of the sort
Naming: TypeAlias = dict[type, Callable[[Any], Name]]  # how a thing of a class is named

# what needs no look into a piece
AT_HAND: dict[type, tuple[str, ...]] = {
    Rule: ("id", "about", "verb", "exception_to"),
    Table: ("id",),
    Order: ("givers", "exceptions", "tests"),
}


class _Later:
    """Something whose piece is read when it is first asked for more than is at hand."""

    whole: type  # the class it is of once its piece was read

    def __getattr__(self, name: str) -> Any:
        read = self.__dict__.get("_read")
        # Python asks for many a name with underscores that may not be there: no reason to read
        if read is None or name.startswith("__"):
            raise AttributeError(name)
        self.__dict__.update(read())
        self.__class__ = self.whole
        self.__dict__.pop("_read", None)
        return getattr(self, name)


class _Rule(_Later, Rule):
    whole = Rule


class _Table(_Later, Table):
    whole = Table


class _Order(_Later, Order):
    whole = Order


_LATER: dict[str, type] = {"Rule": _Rule, "Table": _Table, "Order": _Order}


# ---- writing -------------------------------------------------------------------------------------


def _named(*name: Any) -> Any:
    """What a piece holds in place of a thing that is told by its name: `_Reader` knows whose name
    it is.
    """


def _by_name(naming: Callable[[Any], Name]) -> Callable[[Any], tuple[Any, ...]]:
    """What the pickler writes in place of a thing that is told by its name."""
    return lambda thing: (_named, naming(thing))


def _text(whole: Any, names: Naming) -> bytes:
    """*whole* as a piece, what has a name by its name."""
    file = io.BytesIO()
    pickler = pickle.Pickler(file, protocol=5)
    pickler.dispatch_table = copyreg.dispatch_table | {
        of_class: _by_name(naming) for of_class, naming in names.items()
    }
    pickler.dump(whole)
    return file.getvalue()


def _joined(pieces: list[bytes]) -> bytes:
    return pickle.dumps([len(piece) for piece in pieces], protocol=5) + b"".join(pieces)


def written(knowledge: Knowledge) -> bytes:
    """*knowledge*, with room for its emitted code, as `read` takes it back."""
    pieces: list[bytes] = [b""]  # the first is written last: it names the others
    things: dict[int, Name] = {}  # identity -> how a piece names a thing
    waiting: list[tuple[int, Any]] = []  # a piece to be written, and the thing it is for

    def name(thing: Any) -> Name:
        if id(thing) not in things:
            pieces.append(b"")
            at_hand = {part: getattr(thing, part) for part in AT_HAND[thing.__class__]}
            things[id(thing)] = thing.__class__.__name__, len(pieces) - 1, at_hand
            waiting.append((len(pieces) - 1, thing))
        return things[id(thing)]

    names: Naming = {of_class: name for of_class in AT_HAND}
    emitted = program_of(knowledge).emitted()
    for stretch in emitted.parts():
        stretch.piece = len(pieces)
        pieces.append(b"")
    pieces[0] = _text((knowledge.words, knowledge, emitted.stretches), names)
    # only now: the first piece holds the words themselves
    names[Word] = lambda word: ("Word", word.kind, word.name)
    while waiting:
        number, thing = waiting.pop()
        at_hand = AT_HAND[thing.__class__]
        rest = {part: value for part, value in thing.__getstate__().items() if part not in at_hand}
        pieces[number] = _text(rest, names)
    return _joined(pieces)


def with_code(data: bytes, fresh: dict[int, Code]) -> bytes:
    """What was `written` as *data*, with the code of stretches, by their pieces, and the constants
    it names.
    """
    pieces = Pieces(data).all()
    there = {piece: number for number, piece in enumerate(pieces)}
    # identity of a constant that many functions look things up in -> its piece: written into
    # the pieces of all of them, the rows of a table would be there once for each
    homes: dict[int, int] = {}
    for _, constants in fresh.values():
        for value in constants.values():
            if isinstance(value, (dict, list, frozenset)) and id(value) not in homes:
                said = _text(value, {})
                if said not in there:
                    there[said] = len(pieces)
                    pieces.append(said)
                homes[id(value)] = there[said]
    for number, (code, constants) in fresh.items():
        own, elsewhere = {}, {}
        for name, value in constants.items():
            if id(value) in homes:
                elsewhere[name] = homes[id(value)]
            else:
                own[name] = value
        pieces[number] = _text((marshal.dumps(code), own, elsewhere), {})
    return _joined(pieces)


# ---- reading -------------------------------------------------------------------------------------


class _Reader(Unpickler):
    def __init__(self, data: memoryview, named: Callable[..., Any]) -> None:
        super().__init__(io.BytesIO(data))
        self.by_name = named

    def find_class(self, module: str, name: str) -> Any:
        return self.by_name if name == "_named" else super().find_class(module, name)


class Pieces:
    """The pieces of one file."""

    def __init__(self, data: bytes) -> None:
        file = io.BytesIO(data)
        sizes = Unpickler(file).load()
        self.ends = [*accumulate(sizes, initial=file.tell())]
        # a file cut short would be read as far as it goes
        if self.ends[-1] != len(data):
            raise ValueError("torn")
        self.data, self.words = memoryview(data), Words()
        self.things: dict[int, Any] = {}  # piece -> what was read of it

    def all(self) -> list[bytes]:
        """Every piece as it was written."""
        return [bytes(self.data[begin:end]) for begin, end in pairwise(self.ends)]

    def piece(self, number: int) -> Any:
        """What a piece holds."""
        return _Reader(self.data[self.ends[number] : self.ends[number + 1]], self.named).load()

    def named(self, sort: str, *name: Any) -> Any:
        """The one thing of that name."""
        if sort == "Word":
            kind, word = name
            return self.words.kinds[kind].words[word]
        number, at_hand = name
        thing = self.things.get(number)
        if thing is None:
            thing = self.things[number] = object.__new__(_LATER[sort])
            thing.__dict__.update(at_hand, _read=lambda: self.piece(number))
        return thing

    def code(self, number: int) -> Code | None:
        """The compiled functions of a stretch and the constants they name; None where they were not
        kept yet.
        """
        if self.ends[number] == self.ends[number + 1]:
            return None
        code, constants, homes = self.piece(number)
        for name, home in homes.items():
            if home not in self.things:
                self.things[home] = self.piece(home)
            constants[name] = self.things[home]
        return marshal.loads(code), constants

    def knowledge(self) -> Knowledge:
        """The knowledge, and its emitted code as far as that is kept."""
        knowledge: Knowledge
        # Much is made and all of it stays: to look for garbage meanwhile takes five times as long.
        looks = gc.isenabled()
        gc.disable()
        try:
            self.words, knowledge, stretches = self.piece(0)
        finally:
            if looks:
                gc.enable()
        program_of(knowledge).code = Emitted(knowledge, stretches, self.code)
        return knowledge


def read(data: bytes) -> Knowledge:
    """The knowledge that was written. Raises whatever a foreign file leads to."""
    return Pieces(data).knowledge()
