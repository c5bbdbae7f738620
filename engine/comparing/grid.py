"""The limits of a slice of the law: of each fact it reads the values that can make a difference,
each limit with a step to both sides, the words that are named and some that are not.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any

from ..basics.errors import Fault
from ..basics.units import Number, in_unit, to_base
from ..checking.examples import rows_of
from ..checking.variations import beside
from ..language import expressions as ex
from ..language.tables import Table
from ..language.words import Word
from .slices import EMPTY, ONE, Case, Law, Slice, Spot, Way

FEW = 5  # words, rows or points of a long list that are tried, where none of them is named
NEAREST = 3  # facts of one comparison that are taken to where it turns
ANY_AMOUNT = (1, 30, 1_000, 100_000)  # in the unit of a fact of which no line has a limit


class Grid:
    """The values that each fact of a slice may have so that a limit is met from every side."""

    def __init__(self, of: Slice, otherwise: dict[str, list[dict[str, Any]]]) -> None:
        self.of = of
        self.otherwise = otherwise  # a table -> the rows that the two laws have otherwise
        self.values: dict[Way, dict[Any, None]] = {way: {} for way in of.leaves}
        # comparisons of which both sides hang on the case: their limits move with it
        self.moving: list[Spot] = []
        for spot in of.spots:
            self._take(spot)
        for way, word in of.leaves.items():
            self._fill_up(way, word)

    # ---- what lines say of a fact
    def _take(self, spot: Spot) -> None:
        piece = spot.piece
        if isinstance(piece, ex.Cmp):
            self._compared(spot, piece)
        elif isinstance(piece, ex.Is):
            self._named(spot, piece.a, piece.words)
        elif isinstance(piece, ex.Gauge):
            self._add_row(spot, piece.a, list(piece.order), piece.size)
        elif isinstance(piece, ex.Among):
            self._points(spot, piece.a, sorted(piece.points, key=str)[:FEW])
            self._looked_up(spot, piece.table, piece.keys)
        elif isinstance(piece, ex.Look):
            self._looked_up(spot, piece.table, piece.keys)
        elif isinstance(piece, ex.Step):
            middle = len(piece.points) // 2
            self._points(spot, piece.a, piece.points[middle - 1 : middle + 1])

    def _way(self, spot: Spot, piece: ex.Expr) -> Way | None:
        """The fact that a piece is, where it is one that is told."""
        if not isinstance(piece, ex.Path) or not piece.names:
            return None
        way = Spot(piece, spot.here, spot.member).way
        return way if way in self.values else None

    def _compared(self, spot: Spot, piece: ex.Cmp) -> None:
        closed = [_closed(side) for side in (piece.a, piece.b)]
        if not any(closed):
            self.moving.append(spot)
            return
        side, other = (piece.a, piece.b) if closed[1] else (piece.b, piece.a)
        value = _worth(other)
        if value is None:
            return
        if piece.order is not None:
            self._add_row(spot, side, list(piece.order), value)
        elif self._way(spot, side) is not None:
            self._points(spot, side, [value])
        else:
            self.moving.append(spot)

    def _points(self, spot: Spot, piece: ex.Expr, points: Iterable[Any]) -> None:
        way = self._way(spot, piece)
        if way is None:
            return
        for point in points:
            self._add(way, point)

    def _add(self, way: Way, value: Any) -> None:
        """A value of a fact; of an amount the two beside it too."""
        word = self.of.leaves[way]
        values = self.values[way]
        values[value] = None
        if word.type[0] == "q":
            values.update(dict.fromkeys(steps(value, word)))

    def _named(self, spot: Spot, piece: ex.Expr, words: Iterable[str]) -> None:
        way = self._way(spot, piece)
        if way is None:
            return
        word = self.of.leaves[way]
        for choice in sorted(words):
            if choice != "none":
                self.values[way][choice] = None
            elif word.type[0] in ("ref", "many"):
                self.values[way].update({EMPTY: None, ONE: None})

    def _add_row(self, spot: Spot, piece: ex.Expr, order: list[str], size: str) -> None:
        way = self._way(spot, piece)
        if way is not None and size in order:
            at = order.index(size)
            near = (order[i] for i in (at, at - 1, at + 1) if 0 <= i < len(order))
            self.values[way].update(dict.fromkeys(near))

    def _looked_up(self, spot: Spot, table: Table, keys: tuple[tuple[str, ex.Expr], ...]) -> None:
        """The keys of the rows that are otherwise, or of some rows, and what lies between them."""
        rows = self.otherwise.get(table.id) or table.rows[:: max(1, len(table.rows) // FEW)]
        for key, piece in keys:
            told = list(dict.fromkeys(row[key] for row in rows))[:FEW]
            ways = set(Spot(piece, spot.here, spot.member).ways())
            for way in ways & self.values.keys():
                if self.of.leaves[way].type[0] == piece.t[0]:
                    for value in told:
                        self._add(way, value)

    # ---- what no line names
    def _fill_up(self, way: Way, word: Word) -> None:
        """Of a fact the values that no line names, and that stand for all others."""
        values, sort = self.values[way], word.type[0]
        if sort == "flag":
            values.update({True: None, False: None})
        elif sort == "choice":
            others = [choice for choice in word.type[1] if choice not in values]
            values.update(dict.fromkeys(others[: 1 if values else FEW]))
        elif sort in ("ref", "many"):
            values.update({ONE: None, EMPTY: None})
        elif sort == "row" and not values:
            rows = rows_of(self.of.laws[0].k, word.type[1])
            values.update(dict.fromkeys(rows[:: max(1, len(rows) // FEW)]))
        elif sort == "q" and not values:
            values.update(dict.fromkeys(_usual(word)))

    # ---- limits that move with the case
    def near(self, case: Case, law: Law, spot: Spot) -> Iterator[tuple[Way, Any]]:
        """The values of some facts at which a comparison turns in this case, and a step beside."""
        piece = spot.piece
        assert isinstance(piece, ex.Cmp)
        ways = [way for way in self._ways(spot, piece) if way in self.of.leaves]
        for way in ways[:NEAREST]:
            word = self.of.leaves[way]
            if word.type[0] == "q" and piece.order is None:
                for root in self._roots(case, law, spot, way):
                    yield from ((way, value) for value in (root, *steps(root, word)))
            elif word.type[0] == "row" and piece.order is not None:
                yield from ((way, size) for size in self._sizes(case, law, spot))

    @staticmethod
    def _ways(spot: Spot, piece: ex.Cmp) -> list[Way]:
        """What a comparison reads, a fact that is one side of it by itself first."""
        sides = [Spot(side, spot.here, spot.member) for side in (piece.a, piece.b)]
        alone = [s.way for s in sides if isinstance(s.piece, ex.Path) and s.piece.names]
        return list(dict.fromkeys([*alone, *spot.ways()]))

    def _roots(self, case: Case, law: Law, spot: Spot, way: Way) -> Iterator[Number]:
        """Where the two sides meet, taken to run in a straight line as one fact changes."""
        piece = spot.piece
        assert isinstance(piece, ex.Cmp)

        def apart(value: Number) -> Fraction | None:
            sides = self.of.worth(law, {**case, way: value}, spot, (piece.a, piece.b))
            return None if None in sides else Fraction(sides[0]) - Fraction(sides[1])

        now = case.get(way)
        one = now if isinstance(now, Decimal) and now > 0 else Decimal(10)
        two = one + one / 8
        left, right = apart(one), apart(two)
        if left is None or right is None or left == right:
            return
        root = Fraction(one) - left * Fraction(two - one) / (right - left)
        if root >= 0:
            yield _number(root)

    def _sizes(self, case: Case, law: Law, spot: Spot) -> Iterator[str]:
        piece = spot.piece
        assert isinstance(piece, ex.Cmp) and piece.order is not None
        order = list(piece.order)
        for size in self.of.worth(law, case, spot, (piece.a, piece.b)):
            if size in piece.order:
                at = piece.order[size]
                yield from (order[i] for i in (at, at - 1, at + 1) if 0 <= i < len(order))


def steps(value: Number, word: Word) -> list[Number]:
    """The amounts just under and just over another, in the unit of a fact."""
    unit = str(word.unit)
    if unit == "date":
        return [value - 1, value + 1]
    if unit == "count" and Fraction(value).denominator == 1:
        near = [Fraction(value) - 1, Fraction(value) + 1]
    else:
        near = list(beside(in_unit(value, unit), unit))
    return [to_base(amount, unit) for amount in near if amount >= 0]


def _number(amount: Fraction) -> Number:
    return to_base(amount, "count")


def _usual(word: Word) -> list[Number]:
    """Amounts of a fact of which no line has a limit."""
    if word.usual is not None and not word.usual.table and word.usual.most:
        least, most = Fraction(word.usual.least), Fraction(word.usual.most)
        return [_number(least + (most - least) * share / 4) for share in (0, 1, 3)]
    if word.unit == "date":
        return []
    return [to_base(Fraction(amount), str(word.unit)) for amount in ANY_AMOUNT]


def _closed(piece: ex.Expr) -> bool:
    """Whether a piece says the same of every case."""
    return not any(isinstance(part, (ex.Path, ex.Column)) for part in ex.walk(piece))


def _worth(piece: ex.Expr) -> Any:
    try:
        return piece.ev([None], None)
    except (Fault, TypeError, AttributeError):
        return None


__all__ = ["Grid", "steps"]
