"""What the general evaluator left on a thing, by what it read there: of things that are alike to a
rule only the first is worked out.

A rule reads few cells, and most of the rows that are tried, of the circuits of a house and of the
runs of one job are the same in those. What a rule leaves is made of what it reads and of nothing
else, so that it is taken over where all of that is written alike. `chain.World.fire` stays the
authority: what is not alike is answered there, and a rule that reads more than plain facts always.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple, TypeAlias

from ..basics.sentinels import NONE, NOTHING
from ..language import expressions as ex
from ..language.rules import Rule
from ..language.things import Thing, members

MOST = 2000  # things that are remembered of a rule: a job of many circuits has some hundreds
Slots: TypeAlias = tuple[int, ...]


class Left(NamedTuple):
    """What a rule leaves on a thing before exceptions are looked at: its answer, whether it holds,
    and the value of each fact it fills.
    """

    answer: str | bool | None
    holds: bool | None
    values: tuple[Any, ...]


class Reads(NamedTuple):
    """What a rule reads: facts of the thing, and of each list the facts of its members."""

    facts: tuple[Slots, ...]
    lists: tuple[tuple[Slots, tuple[Slots, ...]], ...]


class Alike:
    """What one rule left on things, by what it read of them."""

    def __init__(self, rule: Rule) -> None:
        self.rule, self.reads = rule, reads_of(rule)
        self.left: dict[str, Left] = {}

    def key(self, thing: Thing) -> str | None:
        """What the rule reads of a thing, written out; None where that cannot be told apart so."""
        if self.reads is None:
            return None
        # written and not compared: 1 and 1.0 are equal, and are not written alike in an answer
        out: list[Any] = [_plain(_reached(thing, slots)) for slots in self.reads.facts]
        for slots, facts in self.reads.lists:
            listed = _reached(thing, slots)
            if isinstance(listed, list):
                out.append(getattr(listed, "open", False))
                out.append([[_plain(_reached(one, at)) for at in facts] for one in members(listed)])
            else:
                out.append(listed)
        return repr(out)

    def remember(self, key: str, left: Left) -> None:
        """Keep what the rule left; of too much all is forgotten."""
        if len(self.left) >= MOST:
            self.left.clear()
        self.left[key] = left


def _reached(thing: Any, slots: Slots) -> Any:
    """What stands at the end of a path, as `expressions.Path` goes along it."""
    for slot in slots[:-1]:
        thing = thing[slot]
        if thing is None:
            return None
        if thing is NONE:
            return NOTHING
    return thing[slots[-1]]


def _plain(value: Any) -> Any:
    """A value as it is written; of a part or a list, which is only asked for being there, whether
    anything is in it.
    """
    return ("there", bool(value)) if isinstance(value, list) else value


def reads_of(rule: Rule) -> Reads | None:
    """What a rule reads of a thing; None where it reads more than plain facts, and those of the
    members of its lists.
    """
    facts: dict[Slots, None] = {}
    lists: list[tuple[Slots, tuple[Slots, ...]]] = []
    test = (rule.test,) if rule.test is not None else ()
    for line in (*rule.when, *test, *(fill.expr for fill in rule.fills)):
        for piece in _outside_lists(line):
            if isinstance(piece, (ex.Over, ex.Quant)):
                of_members = _of_members(piece, facts)
                if of_members is None:
                    return None
                lists.append((piece.list.slots, of_members))
            elif isinstance(piece, ex.Path):
                if not _is_plain(piece) or piece.member:
                    return None
                facts[piece.slots] = None
            elif isinstance(piece, ex.Is) and _asks_for_a_part(piece):
                assert isinstance(piece.a, ex.Path)
                facts[piece.a.slots] = None
    return Reads(tuple(facts), tuple(lists))


def _outside_lists(piece: ex.Expr) -> Iterator[ex.Expr]:
    """Every piece of a line, but for what stands within a list, and a part that is only asked for
    being there.
    """
    yield piece
    if isinstance(piece, (ex.Over, ex.Quant)):
        if isinstance(piece, ex.Over) and piece.default is not None:
            yield from _outside_lists(piece.default)
    elif not (isinstance(piece, ex.Is) and _asks_for_a_part(piece)):
        for kid in piece.kids():
            yield from _outside_lists(kid)


def _of_members(piece: ex.Over | ex.Quant, facts: dict[Slots, None]) -> tuple[Slots, ...] | None:
    """What a list's own lines read of each member; what they read of the thing goes to *facts*.
    None where they read more than plain facts.
    """
    if piece.list.member or not piece.list.slots:
        return None
    out: dict[Slots, None] = {}
    lines = (piece.body, piece.where) if isinstance(piece, ex.Over) else (piece.where,)
    for line in lines:
        for part in _outside_lists(line) if line is not None else ():
            if isinstance(part, (ex.Over, ex.Quant)):
                return None
            at = part.a if isinstance(part, ex.Is) and _asks_for_a_part(part) else part
            if isinstance(at, ex.Path):
                if not at.slots or at is part and not _is_plain(at):
                    return None
                (out if at.member else facts)[at.slots] = None
    return tuple(out)


def _is_plain(path: ex.Path) -> bool:
    """Whether a path ends in an amount, a word or a yes or no, and not in other things."""
    return bool(path.slots) and path.t[0] not in ("ref", "many")


def _asks_for_a_part(piece: ex.Is) -> bool:
    """Whether a test asks whether a part, or anything of a list, is there."""
    path = piece.a
    return (
        "none" in piece.words
        and isinstance(path, ex.Path)
        and bool(path.slots)
        and path.t[0] in ("ref", "many")
    )


__all__ = ["Alike", "Left", "Reads", "reads_of"]
