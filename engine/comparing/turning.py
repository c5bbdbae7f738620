"""A finished run turned in place into the run under another law, and back: only what may come out
otherwise runs again.

The laws share one order and one numbering of cells (`between`). The nodes of the rules that changed
run again, then whatever rests on a cell that came out otherwise, in the order; every cell written
is noted, so that it can be put back.
"""

from __future__ import annotations

import decimal
from heapq import heapify, heappop, heappush

from ..basics.units import EXACT
from ..running.chain import World
from .between import Between, Middle, there


class Turning:
    """A world that is under one of the laws between at a time."""

    def __init__(self, between: Between, w: World, at: Middle) -> None:
        self.between, self.w, self.now, self.made_for, self.emitted = between, w, at, at, w.emitted
        # the nodes that the last turn ran again: did anything come out otherwise
        self.visited: dict[tuple, bool] = {}
        self._undo: list[tuple] = []
        self._apart: frozenset[str] = frozenset()  # rules whose emitted code is that of another law

    def turn(self, to: Middle, told: dict | None = None) -> list[tuple]:
        """Be under *to*, with the facts *told* of the job told otherwise; returns what `back`
        needs.
        """
        w, b = self.w, self.between
        undo = self._undo = [(setattr, self, "now", self.now), (setattr, w, "k", w.k)]
        changed = self.now.otherwise(to)
        self.now, w.k, w.emitted, w.supports, self.visited = to, to.k, None, {}, {}
        if self.emitted is not None:
            self._apart = self.made_for.otherwise(to)
            self._apart |= {
                t
                for i in self._apart
                for m in (self.made_for, to)
                if i in m.signs
                for t in m.signs[i][1]
            }
        # node -> does it count as changed whatever comes out
        due = {n: True for i in changed for n in b.nodes.get(i, ())}
        with decimal.localcontext(EXACT):
            for fact, value in (told or {}).items():
                self._tell(fact, value)
                due.update((n, due.get(n, False)) for n in b.after["cell", "job", fact, ""])
            heap = [(b.at[n], n) for n in due]
            heapify(heap)
            while heap:
                at, n = heappop(heap)
                if n not in due:
                    continue
                node = b.order.sequence[at]
                if node[0] == "block":
                    moved = self._block(node, {m: due.pop(m) for m in node[2] if m in due})
                else:
                    moved = [n] if self._again(n) | due.pop(n) else []
                for m in moved:
                    for d in b.after[m]:
                        if b.at[d] != at:
                            if d not in due:
                                heappush(heap, (b.at[d], d))
                            due[d] = due.get(d, False) or _surely(m, d)
        w.emitted = self.emitted if to is self.made_for else None
        return undo

    def back(self, undo: list[tuple]) -> None:
        """Be as before the turn that gave *undo*."""
        _put_back(undo)
        self.w.supports = {}
        self.w.emitted = self.emitted if self.now is self.made_for else None

    # ---- one node again: does anything come out otherwise?
    def _again(self, n: tuple) -> bool:
        if n[0] in ("rule", "cell") and n[-1] and n[-1] not in self.now.k.rules:
            came = False
        else:
            came = {"rule": self._rule, "cell": self._cell, "try": self._try, "pick": self._pick}[
                n[0]
            ](n)
        self.visited[n] = came
        return came

    def _rule(self, n: tuple) -> bool:
        r = self.now.k.rules.get(n[1])
        xs = self.w.targets(r.about, n[2]) if r is not None else ()
        if not xs:
            return False
        noted = self._note(n, xs)
        if self.emitted is not None and n[1] not in self._apart:
            self.emitted.run(n)(xs, self.w)
        else:
            for x in xs:
                self.w.fire(r, x)
        return self._moved(noted)

    def _cell(self, n: tuple) -> bool:
        w, (_, kind, fact, plane) = self.w, n
        givers = self.now.k.order.givers.get((kind, fact), ())
        xs = w.targets(kind, plane)
        if not xs or plane and fact == self.now.k.rules[plane].tried.name:
            return False
        if not plane and any(g.verb == "tries" for g in givers):
            return True  # its pick has written it, and came out otherwise
        slot = self.between.words.kinds[kind].words[fact].slot
        noted = self._note(n, xs)
        disputed = {key for x in xs if (key := (x[0].id, fact)) in w.disputes}
        for x in xs:
            x[slot] = x[0].told.get(fact)
        w.disputes -= disputed
        self._undo.append((w.disputes.update, disputed))
        if (
            givers
            and self.emitted is not None
            and _same(givers, self.made_for.k.order.givers.get((kind, fact), ()))
            and self._apart.isdisjoint(g.id for g in givers)
        ):
            self.emitted.run(n)(xs, w)
        else:
            w.settle_node(n)
        now = {key for x in xs if (key := (x[0].id, fact)) in w.disputes} - disputed
        self._undo.append((w.disputes.difference_update, now))
        return self._moved(noted) or bool(now) or any(key not in w.disputes for key in disputed)

    def _try(self, n: tuple) -> bool:
        w, p = self.w, self.now.k.rules.get(n[1])
        before = self._take_rows(n[1])
        if p is not None:
            w.try_rows(p)
        return bool(before or w.tried[n[1]])

    def _take_rows(self, pick: str) -> list:
        """Take the rows of a pick away, to be tried anew."""
        w, rows = self.w, self.w.tried.get(pick, [])
        mine = {key: r for key, r in w.rows_of.items() if key[0] == pick}
        self._undo.append((self._put_rows, pick, rows, mine))
        self._put_rows(pick, [], {})
        return rows

    def _put_rows(self, pick: str, rows: list, mine: dict) -> None:
        self.w.tried[pick] = rows
        for key in [k for k in self.w.rows_of if k[0] == pick]:
            del self.w.rows_of[key]
        self.w.rows_of.update(mine)

    def _pick(self, n: tuple) -> bool:
        w, p = self.w, self.now.k.rules.get(n[1])
        mine = {key: got for key, got in w.picked.items() if key[0] == n[1]}
        self._undo.append((self._put_picked, n[1], mine))
        if p is None:
            self._put_picked(n[1], {})
            return True
        noted = self._note(n, w.targets(p.about, ""))
        w.pick(p)
        return self._moved(noted)

    def _put_picked(self, pick: str, mine: dict) -> None:
        for key in [k for k in self.w.picked if k[0] == pick]:
            del self.w.picked[key]
        self.w.picked.update(mine)

    def _block(self, node: tuple, due: dict[tuple, bool]) -> list[tuple]:
        """Run a block again, whole where anything in it comes out otherwise; which of its nodes
        count as changed.
        """
        forced = {n for n, force in due.items() if force}
        tried = len(self._undo)
        if self._quiet(node, due):
            return [*forced]
        _put_back(self._undo[tried:])  # so that what comes out is told from what stood before
        del self._undo[tried:]
        w, inside = self.w, [n for n in node[2] if there(n, self.now.k.rules)]
        noted, new = {}, set()
        for n in inside:
            if n[0] == "try":
                self._take_rows(n[1])
                new.add(n[1])
            elif n[0] == "pick":
                self._undo.append(
                    (
                        self._put_picked,
                        n[1],
                        {key: got for key, got in w.picked.items() if key[0] == n[1]},
                    )
                )
        for n in inside:
            if n[0] != "try":
                about, plane = (
                    (n[1], n[3])
                    if n[0] == "cell"
                    else (self.now.k.rules[n[1]].about, n[2] if n[0] == "rule" else "")
                )
                noted[n] = self._note(n, w.targets(about, plane))
        givers, needs = self.now.k.order.givers, self.between.order.needs
        cells = [n for n in inside if n[0] == "cell" and needs[n]]
        if w.disputes:
            self._undo.append((self._put_disputes, set(w.disputes)))
            kinds = {(n[1], n[2]) for n in cells}
            w.disputes -= {
                (thing, fact) for thing, fact in w.disputes if (self._kind(thing), fact) in kinds
            }
        else:
            self._undo.append((w.disputes.clear,))
        for n in cells:
            if not givers.get((n[1], n[2])):
                for x in w.targets(n[1], n[3]):
                    x[self.between.words.kinds[n[1]].words[n[2]].slot] = x[0].told.get(n[2])
        w.along(node[1], tuple(inside), w.step)
        for n in node[2]:
            self.visited[n] = n in inside and (
                n[0] == "try" or n[-1] in new or self._moved(noted[n])
            )
        return [n for n in node[2] if n in forced or self.visited[n]]

    def _quiet(self, node: tuple, due: dict[tuple, bool]) -> bool:
        """Whether nothing in a block comes out otherwise once what is due there has run again."""
        due, inside = dict(due), set(node[2])
        for n in node[2]:
            if n in due:
                if self._again(n):
                    return False
                if due[n]:
                    for d in self.between.after[n]:
                        if d in inside:
                            if self.between.position[d] < self.between.position[n]:
                                return False
                            due[d] = due.get(d, False) or _surely(n, d)
        return True

    def _kind(self, thing: str) -> str:
        x = self.w.things.get(thing.split("@")[0])
        return x[0].kind if x is not None else ""

    def _put_disputes(self, disputes: set) -> None:
        self.w.disputes.clear()
        self.w.disputes.update(disputes)

    # ---- noting what is overwritten
    def _slots(self, n: tuple) -> list[int]:
        b = self.between
        if n[0] == "cell":
            return [b.words.kinds[n[1]].words[n[2]].slot]
        r = self.now.k.rules[n[1]]
        if n[0] == "pick":
            return [r.picks.slot]
        return [
            b.slots[r.id],
            *([b.holds[r.id]] if r.id in b.holds else []),
            *(b.results[r.id, f.word.name] for f in r.fills),
        ]

    def _note(self, n: tuple, xs: list) -> list[tuple]:
        noted = [(x, s, x[s]) for s in self._slots(n) for x in xs]
        self._undo.append((_restore, noted))
        return noted

    @staticmethod
    def _moved(noted: list[tuple]) -> bool:
        return any(
            x[s] is not v and not (x[s].__class__ is v.__class__ and x[s] == v) for x, s, v in noted
        )

    def _tell(self, fact: str, value) -> None:
        x = self.w.things["job"]
        slot = self.between.words.kinds["job"].words[fact].slot
        self._undo.append((_restore, [(x, slot, x[slot])]))
        self._undo.append((setattr, x[0], "told", x[0].told))
        x[slot] = value
        x[0].told = {f: v for f, v in x[0].told.items() if f != fact} | (
            {fact: value} if value is not None else {}
        )


def _surely(n: tuple, d: tuple) -> bool:
    """Whether *d* counts as changed where *n* has, whatever it says itself.

    An exception changes what its rule comes to, and not the rule's own answer; new rows are new
    things.
    """
    return n[0] == "try" or n[0] == d[0] == "rule"


def _same(mine, theirs) -> bool:
    return [g.id for g in mine] == [g.id for g in theirs]


def _put_back(undo: list[tuple]) -> None:
    for do, *what in reversed(undo):
        do(*what)


def _restore(noted: list[tuple]) -> None:
    for x, s, v in noted:
        x[s] = v


__all__ = ["Turning"]
