"""Which packs of a part are bought: chosen, not rounded. Pieces are cut whole, each from one coil;
what is joined or counted is covered.

Fewest dollars first, then fewest packs, then the longest single rest. Where nothing has a price the
fewest feet (or pieces) stand for dollars.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple, TypeAlias

EXACT_PIECES = 9  # up to so many the cheapest cut is found; above, a good one
FOOT = Fraction(1)  # a pack of one foot is by the foot, cut to the next whole one


class Pack(NamedTuple):
    """A pack as it is sold; without a price where nobody named one."""

    size: Fraction
    price: Fraction | None = None


@dataclass
class Cut:
    """One pack that is bought, and the pieces that come out of it."""

    pack: Pack
    feet: Fraction  # bought: the size of the pack, or the feet cut off
    pieces: list[Fraction]

    @property
    def rest(self) -> Fraction:
        return self.feet - sum(self.pieces, Fraction())

    @property
    def by_the_foot(self) -> bool:
        return self.pack.size == FOOT


@dataclass
class Rejected:
    """Another way to buy it, and why it was not taken."""

    packs: str
    cost: Fraction | None
    why: str


@dataclass
class Purchase:
    """The packs that are bought of one part."""

    cuts: list[Cut] = field(default_factory=list)  # of pieces
    packs: list[tuple[Pack, int]] = field(default_factory=list)
    needed: Fraction = Fraction()
    cost: Fraction | None = None  # before it is rounded; None where a price is missing
    proven: bool = True
    rejected: list[Rejected] = field(default_factory=list)
    too_long: Fraction | None = None  # a piece that no coil holds
    step: tuple[Fraction, Fraction] | None = None  # so much more, and it costs that

    @property
    def bought(self) -> Fraction:
        if self.cuts:
            return sum((cut.feet for cut in self.cuts), Fraction())
        return sum((pack.size * many for pack, many in self.packs), Fraction())


# dollars, packs, and the longest rest, the other way about so that less is better
Worth: TypeAlias = tuple[Fraction, int, Fraction]


def buy(
    pieces: Sequence[Fraction], needed: Fraction, packs: Sequence[Pack], used: bool
) -> Purchase:
    """The packs for some pieces, or where there are none for what is *needed* in all; *used* is
    charged by the share of the pack that is used.
    """
    packs = sorted(packs, key=lambda pack: (pack.size, pack.price or 0))
    priced = [pack for pack in packs if pack.price is not None]
    has_prices = bool(priced)
    if pieces:
        got = _cut(list(pieces), priced or packs)
        if got.too_long is None and has_prices:
            _reject(got, list(pieces), priced, packs)
            _see_step(got, priced)
    else:
        got = _cover(needed, priced or packs)
    got.needed = needed
    if not has_prices:
        got.cost = None
    elif used and got.cost is not None and got.bought:
        got.cost = got.cost * needed / got.bought
    return got


# ---- pieces


def _cut(pieces: list[Fraction], packs: Sequence[Pack]) -> Purchase:
    """The cheapest packs out of which every piece is cut whole."""
    coils = [pack for pack in packs if pack.size != FOOT]
    foot = next((pack for pack in packs if pack.size == FOOT), None)
    longest = max(pieces)
    if foot is None and all(coil.size < longest for coil in coils):
        return Purchase(too_long=longest)
    pieces = sorted(pieces, reverse=True)
    exact = len(pieces) <= EXACT_PIECES
    cuts = _cheapest(pieces, coils, foot) if exact else _first_fit(pieces, coils, foot)
    cost = sum((_price(cut.pack, cut.feet) for cut in cuts), Fraction())
    return Purchase(cuts, _counted(cuts), cost=cost, proven=exact)


def _price(pack: Pack, feet: Fraction) -> Fraction:
    """What a pack costs, by the foot so many of them; feet where there is no price."""
    if pack.price is None:
        return feet
    return pack.price * feet if pack.size == FOOT else pack.price


def _counted(cuts: list[Cut]) -> list[tuple[Pack, int]]:
    """Packs and how many of each, the largest first; by the foot the feet together."""
    out: dict[Pack, int] = {}
    for cut in cuts:
        out[cut.pack] = out.get(cut.pack, 0) + (int(cut.feet) if cut.by_the_foot else 1)
    return sorted(out.items(), key=lambda item: -item[0].size)


def _holding(pieces: list[Fraction], coils: Sequence[Pack], foot: Pack | None) -> Cut | None:
    """The cheapest pack that holds some pieces together; a single one may be by the foot."""
    length = sum(pieces, Fraction())
    ways = [Cut(coil, coil.size, pieces) for coil in coils if coil.size >= length]
    if foot is not None and len(pieces) == 1:
        ways.append(Cut(foot, Fraction(math.ceil(length)), pieces))
    return min(ways, key=lambda cut: (_price(cut.pack, cut.feet), cut.feet), default=None)


def _cheapest(pieces: list[Fraction], coils: Sequence[Pack], foot: Pack | None) -> list[Cut]:
    """The cheapest cut there is: over every way to part the pieces into packs."""
    every = (1 << len(pieces)) - 1
    together: dict[int, Cut | None] = {}
    best: dict[int, tuple[Worth, list[Cut]]] = {0: ((Fraction(), 0, Fraction()), [])}

    def holding(group: int) -> Cut | None:
        if group not in together:
            chosen = [piece for at, piece in enumerate(pieces) if group >> at & 1]
            together[group] = _holding(chosen, coils, foot)
        return together[group]

    def settle(left: int) -> tuple[Worth, list[Cut]] | None:
        if left in best:
            return best[left]
        first = left & -left
        others = left ^ first
        found: tuple[Worth, list[Cut]] | None = None
        group = others
        while True:
            cut = holding(group | first)
            rest = settle(others ^ group) if cut is not None else None
            if cut is not None and rest is not None:
                (cost, many, long), cuts = rest
                worth = (cost + _price(cut.pack, cut.feet), many + 1, min(long, -cut.rest))
                if found is None or worth < found[0]:
                    found = worth, [cut, *cuts]
            if group == 0:
                break
            group = (group - 1) & others
        if found is not None:
            best[left] = found
        return found

    got = settle(every)
    return got[1] if got else []


def _first_fit(pieces: list[Fraction], coils: Sequence[Pack], foot: Pack | None) -> list[Cut]:
    """A good cut of many pieces: the longest first, each into the first coil with room, for each
    size of coil; then each into the cheapest pack that holds it.
    """
    ways: list[list[Cut]] = []
    for size in sorted({coil.size for coil in coils if coil.size >= pieces[0]}):
        groups: list[list[Fraction]] = []
        for piece in pieces:
            room = (group for group in groups if sum(group, Fraction()) + piece <= size)
            group = next(room, None)
            if group is None:
                groups.append([piece])
            else:
                group.append(piece)
        cuts = [_holding(group, coils, foot) for group in groups]
        ways.append([cut for cut in cuts if cut is not None])
    if foot is not None:
        ways.append([Cut(foot, Fraction(math.ceil(piece)), [piece]) for piece in pieces])
    return min(ways, key=_worth)


def _worth(cuts: list[Cut]) -> Worth:
    cost = sum((_price(cut.pack, cut.feet) for cut in cuts), Fraction())
    return cost, len(cuts), min(-cut.rest for cut in cuts)


# ---- what was not taken


def _reject(
    got: Purchase, pieces: list[Fraction], packs: Sequence[Pack], every: Sequence[Pack]
) -> None:
    """Note what somebody would ask after: packs for the total that cannot be cut, a coil a run, and
    by the foot.
    """
    coils = [pack for pack in packs if pack.size != FOOT]
    cost = got.cost or Fraction()
    # the way a total is usually bought, and it leaves a splice inside a wall
    if coils:
        total = _cover(sum(pieces, Fraction()), coils)
        if total.cost is not None and total.cost < cost:
            why = "together long enough, and the pieces cannot be cut from them without a splice"
            got.rejected.append(Rejected(said_packs(total.packs), total.cost, why))
    # of one piece it is what was found already
    if len(pieces) > 1:
        foot = next((pack for pack in packs if pack.size == FOOT), None)
        own = [_holding([piece], coils, foot) for piece in pieces]
        if all(own):
            cuts = [cut for cut in own if cut is not None]
            alone = sum((_price(cut.pack, cut.feet) for cut in cuts), Fraction())
            if alone > cost:
                said = said_packs(_counted(cuts))
                got.rejected.append(
                    Rejected(said, alone, "each piece from a pack of its own: dearer")
                )
    # of all that is sold, not of what has a price: somebody asks why it was not by the foot
    foot = next((pack for pack in every if pack.size == FOOT), None)
    if foot is not None and not all(cut.by_the_foot for cut in got.cuts):
        if foot.price is None:
            got.rejected.append(Rejected("by the foot", None, "no price in the file"))
        else:
            feet = sum((Fraction(math.ceil(piece)) for piece in pieces), Fraction())
            if feet * foot.price > cost:
                got.rejected.append(Rejected("by the foot", feet * foot.price, "dearer"))


def _see_step(got: Purchase, packs: Sequence[Pack]) -> None:
    """Note how much longer the pieces of the fullest pack may get together before it costs more."""
    full = min(
        (cut for cut in got.cuts if not cut.by_the_foot), key=lambda cut: cut.rest, default=None
    )
    if full is None:
        return
    more = full.rest / len(full.pieces) + Fraction(1, 100)
    grown = [piece + (more if cut is full else 0) for cut in got.cuts for piece in cut.pieces]
    then = _cut(grown, packs)
    if then.cost is not None and got.cost is not None and then.cost > got.cost:
        got.step = full.rest, then.cost


# ---- what is joined or counted


def _cover(needed: Fraction, packs: Sequence[Pack]) -> Purchase:
    """The cheapest packs that are enough together."""
    sizes = sorted(packs, key=lambda pack: -pack.size)
    best: tuple[tuple[Fraction, Fraction, int], list[tuple[Pack, int]]] | None = None

    def go(at: int, left: Fraction, chosen: list[tuple[Pack, int]]) -> None:
        nonlocal best
        if left <= 0 or at == len(sizes):
            if left > 0:
                return
            cost = sum((_worth_of(pack) * many for pack, many in chosen), Fraction())
            size = sum((pack.size * many for pack, many in chosen), Fraction())
            worth = cost, size, sum(many for _, many in chosen)
            if best is None or worth < best[0]:
                best = worth, [(pack, many) for pack, many in chosen if many]
            return
        pack = sizes[at]
        most = math.ceil(left / pack.size)
        last = at == len(sizes) - 1
        for many in range(most, most - 1 if last else -1, -1):
            go(at + 1, left - pack.size * many, [*chosen, (pack, many)])

    go(0, needed, [])
    if best is None:
        return Purchase()
    (cost, _, _), chosen = best
    return Purchase(packs=chosen, cost=cost)


def _worth_of(pack: Pack) -> Fraction:
    return pack.size if pack.price is None else pack.price


def said_packs(packs: Sequence[tuple[Pack, int]]) -> str:
    """Packs in a few words.

    >>> said_packs([(Pack(Fraction(100)), 1), (Pack(Fraction(50)), 2)])
    '100 + 2 × 50'
    """
    out = []
    for pack, many in packs:
        size = f"{float(pack.size):g}"
        if pack.size == FOOT:
            out.append(f"{many} × 1")
        else:
            out.append(f"{many} × {size}" if many > 1 else size)
    return " + ".join(out) or "none"


def said_lengths(packs: Sequence[tuple[Pack, int]]) -> str:
    """Packs of something that is bought by its length, in a few words.

    >>> said_lengths([(Pack(Fraction(100)), 1), (Pack(FOOT), 48)])
    '100 ft, 48 ft by the foot'
    """
    whole = [(pack, many) for pack, many in packs if pack.size != FOOT]
    loose = sum(many for pack, many in packs if pack.size == FOOT)
    out = [f"{said_packs(whole)} ft"] if whole else []
    return ", ".join([*out, f"{loose} ft by the foot"] if loose else out)
