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
import io
import marshal
import pickle
from itertools import accumulate, pairwise

from ..basics.kept import Unpickler
from ..language.knowledge import Knowledge
from ..language.order import Order
from ..language.rules import Rule
from ..language.tables import Table
from ..language.words import Word, Words
from .emit import Emitted

# what needs no look into a piece
AT_HAND = {
    Rule: ("id", "about", "verb", "exception_to"),
    Table: ("id",),
    Order: ("givers", "exceptions", "tests"),
}


class _Later:
    """Something whose piece is read when it is first asked for more than is at hand."""

    def __getattr__(self, name: str):
        read = self.__dict__.get("_read")
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


# ---- writing -------------------------------------------------------------------------------------


def _named(*name):
    """What a piece holds in place of a thing that is told by its name: `_Reader` knows whose name
    it is.
    """


def _text(o, names: dict) -> bytes:
    """*o* as a piece; *names* says how a thing of a class is named, where one is."""
    file = io.BytesIO()
    pickler = pickle.Pickler(file, protocol=5)
    pickler.dispatch_table = copyreg.dispatch_table | {
        c: lambda thing, name=name: (_named, name(thing)) for c, name in names.items()
    }
    pickler.dump(o)
    return file.getvalue()


def _joined(pieces: list[bytes]) -> bytes:
    return pickle.dumps([len(p) for p in pieces], protocol=5) + b"".join(pieces)


def written(k: Knowledge) -> bytes:
    """*k*, with room for its emitted code, as `read` takes it back."""
    pieces: list[bytes] = [b""]  # the first is written last: it names the others
    things: dict[int, tuple] = {}  # identity -> how a piece names a thing
    waiting: list = []

    def name(o) -> tuple:
        if id(o) not in things:
            pieces.append(b"")
            things[id(o)] = (
                o.__class__.__name__,
                len(pieces) - 1,
                {a: getattr(o, a) for a in AT_HAND[o.__class__]},
            )
            waiting.append((len(pieces) - 1, o))
        return things[id(o)]

    names = dict.fromkeys(AT_HAND, name)
    emitted = k.emitted()
    for s in emitted.parts():
        s.piece = len(pieces)
        pieces.append(b"")
    pieces[0] = _text((k.words, k, emitted.stretches), names)
    names[Word] = lambda w: ("Word", w.kind, w.name)
    while waiting:
        n, o = waiting.pop()
        state = o.__getstate__()
        pieces[n] = _text({a: v for a, v in state.items() if a not in AT_HAND[o.__class__]}, names)
    return _joined(pieces)


def with_code(data: bytes, fresh: dict[int, tuple]) -> bytes:
    """What was `written` as *data*, with the code of stretches, by their pieces, and the constants
    it names.
    """
    pieces = Pieces(data).all()
    there = {piece: n for n, piece in enumerate(pieces)}
    # identity of a constant that many functions look things up in -> its piece
    homes: dict[int, int] = {}
    for _, consts in fresh.values():
        for v in consts.values():
            if isinstance(v, (dict, list, frozenset)) and id(v) not in homes:
                said = _text(v, {})
                if said not in there:
                    there[said] = len(pieces)
                    pieces.append(said)
                homes[id(v)] = there[said]
    for n, (code, consts) in fresh.items():
        own = {a: v for a, v in consts.items() if id(v) not in homes}
        pieces[n] = _text(
            (
                marshal.dumps(code),
                own,
                {a: homes[id(v)] for a, v in consts.items() if a not in own},
            ),
            {},
        )
    return _joined(pieces)


# ---- reading -------------------------------------------------------------------------------------


class _Reader(Unpickler):
    def __init__(self, data, named) -> None:
        super().__init__(io.BytesIO(data))
        self.by_name = named

    def find_class(self, module: str, name: str):
        return self.by_name if name == "_named" else super().find_class(module, name)


class Pieces:
    """The pieces of one file."""

    def __init__(self, data: bytes) -> None:
        file = io.BytesIO(data)
        sizes = Unpickler(file).load()
        self.ends = [*accumulate(sizes, initial=file.tell())]
        if self.ends[-1] != len(data):
            raise ValueError("torn")
        self.data, self.things, self.words = memoryview(data), {}, Words()

    def all(self) -> list[bytes]:
        return [bytes(self.data[begin:end]) for begin, end in pairwise(self.ends)]

    def piece(self, n: int):
        return _Reader(self.data[self.ends[n] : self.ends[n + 1]], self.named).load()

    def named(self, sort: str, *name):
        """The one thing of that name."""
        if sort == "Word":
            kind, word = name
            return self.words.kinds[kind].words[word]
        n, at_hand = name
        thing = self.things.get(n)
        if thing is None:
            thing = self.things[n] = object.__new__(
                {"Rule": _Rule, "Table": _Table, "Order": _Order}[sort]
            )
            thing.__dict__.update(at_hand, _read=lambda: self.piece(n))
        return thing

    def code(self, n: int) -> tuple | None:
        """The compiled functions of a stretch and the constants they name; None where they were not
        kept yet.
        """
        if self.ends[n] == self.ends[n + 1]:
            return None
        code, consts, homes = self.piece(n)
        for a, home in homes.items():
            if home not in self.things:
                self.things[home] = self.piece(home)
            consts[a] = self.things[home]
        return marshal.loads(code), consts

    def knowledge(self) -> Knowledge:
        self.words, k, stretches = self.piece(0)
        k._emitted = Emitted(k, stretches, self.code)
        return k


def read(data: bytes) -> Knowledge:
    """The knowledge that was written. Raises whatever a foreign file leads to."""
    return Pieces(data).knowledge()
