"""Knowledge written in pieces, and read a piece at a time: an answer needs few rules of many.

The first piece holds the words and the lists, in which a rule is its name, its kind and its verb, and a table its name.
What else there is to a rule, a table, the order, and each stretch of emitted code, is a piece of its own, read when it
is first asked for. A piece names rules, tables and words instead of holding them, so that each is there once.
"""

from __future__ import annotations

import io
import marshal
import pickle
from itertools import accumulate

from .emit import Emitted
from .knowledge import Knowledge
from .order import Order
from .rules import Rule
from .tables import Table
from .words import Word, Words

AT_HAND = {Rule: ("id", "about", "verb", "exception_to"), Table: ("id",), Order: ("givers", "exceptions", "tests")}   # what needs no look into a piece


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


# ---- writing ---------------------------------------------------------------------------------------------------------

class _Writer(pickle.Pickler):
    def __init__(self, file, names) -> None:
        super().__init__(file, protocol=5)
        self.persistent_id = names


def written(k: Knowledge) -> bytes:
    """*k* and its emitted code, as `read` takes them back."""
    pieces: list[bytes] = [b""]                   # the first is written last: it names the others
    names: dict[int, tuple] = {}                  # identity -> how a piece names a thing
    waiting: list = []

    def name(o):
        if o.__class__ in AT_HAND:
            if id(o) not in names:
                pieces.append(b"")
                names[id(o)] = (o.__class__.__name__, len(pieces) - 1, {a: getattr(o, a) for a in AT_HAND[o.__class__]})
                waiting.append((len(pieces) - 1, o))
            return names[id(o)]
        return None

    shared: dict[int, tuple] = {}                 # identity of a constant that many functions look things up in -> its name

    def name_in_a_piece(o):
        return ("Word", o.kind, o.name) if o.__class__ is Word else shared.get(id(o)) or name(o)

    def text(o, by) -> bytes:
        file = io.BytesIO()
        _Writer(file, by).dump(o)
        return file.getvalue()

    emitted = k.emitted()
    codes = [(s, *emitted.code(s.nodes)) for s in emitted.parts()]
    for _, v in emitted.emitter.named.values():
        if isinstance(v, (dict, list, frozenset)):
            pieces.append(text(v, name))
            shared[id(v)] = ("Constant", len(pieces) - 1)
    for s, code, consts in codes:
        s.piece = len(pieces)
        pieces.append(text((marshal.dumps(code), consts), name_in_a_piece))
    pieces[0] = text((k.words, k, emitted.stretches), name)
    while waiting:
        n, o = waiting.pop()
        state = o.__getstate__()
        pieces[n] = text({a: v for a, v in state.items() if a not in AT_HAND[o.__class__]}, name_in_a_piece)
    return pickle.dumps([len(p) for p in pieces], protocol=5) + b"".join(pieces)


# ---- reading ---------------------------------------------------------------------------------------------------------

class _Reader(pickle.Unpickler):
    def __init__(self, data, named) -> None:
        super().__init__(io.BytesIO(data))
        self.persistent_load = named


class Pieces:
    """The pieces of one file."""

    def __init__(self, data: bytes) -> None:
        file = io.BytesIO(data)
        sizes = pickle.load(file)
        self.ends = [*accumulate(sizes, initial=file.tell())]
        if self.ends[-1] != len(data):
            raise ValueError("torn")
        self.data, self.things, self.words = memoryview(data), {}, Words()

    def piece(self, n: int):
        return _Reader(self.data[self.ends[n]:self.ends[n + 1]], self.named).load()

    def named(self, name: tuple):
        if name[0] == "Word":
            return self.words.kinds[name[1]].words[name[2]]
        sort, n, *at_hand = name
        thing = self.things.get(n)
        if thing is None and sort == "Constant":
            thing = self.things[n] = self.piece(n)
        elif thing is None:
            thing = self.things[n] = object.__new__({"Rule": _Rule, "Table": _Table, "Order": _Order}[sort])
            thing.__dict__.update(*at_hand, _read=lambda: self.piece(n))
        return thing

    def code(self, n: int) -> tuple:
        """The compiled functions of a stretch and the constants they name."""
        code, consts = self.piece(n)
        return marshal.loads(code), consts

    def knowledge(self) -> Knowledge:
        self.words, k, stretches = self.piece(0)
        k._emitted = Emitted(k, stretches, self.code)
        return k


def read(data: bytes) -> Knowledge:
    """The knowledge that was written. Raises whatever a foreign file leads to."""
    return Pieces(data).knowledge()
