"""One run kept settled, and told or ruled otherwise as often as is asked: only what that moves is
run, and all of it is put back.

A run is a walk along the order, and the order knows who needs whom. So a run that is kept can take
over a fact that is told otherwise by running the few nodes that read it, on the few things from
which it is reached; where a cell comes out equal nothing behind it is run. What a change moved is
kept as a `Branch`, which is its own undoing: every cell with the value that it does not have at the
moment, to be exchanged.

The grain is a node of the order on one thing, and not the node: one circuit of forty costs one
circuit.

    rerun = Rerun(World(k, job).run())
    with rerun.told([("circuits.kiln.conductors", "size", "6 AWG")]) as world:
        ...                             # the world is so in here, and as it was behind it

What-if, ways out, the contrast of two laws and wrong beliefs are this one thing
(tests/engine/test_rerun.py).
"""

from __future__ import annotations

import decimal
from collections.abc import Callable, Hashable, Iterable, Iterator
from contextlib import contextmanager
from heapq import heappop, heappush
from operator import is_
from typing import Any, NamedTuple, TypeAlias

from ..basics.units import EXACT
from ..language.knowledge import Knowledge
from ..language.order import Order, ways_of
from ..language.rules import Rule
from ..language.things import Members, NodeId, OpenMembers, Thing, members
from ..language.words import Words
from .chain import World, every_thing
from .emit import Emitted
from .job import Job
from .program import program_of
from .withheld import Withheld

# of the order: ("rule", id, plane), ("cell", kind, fact, plane), ("try", id) or ("pick", id)
Node: TypeAlias = NodeId
# (thing id, fact, value in the base of its unit, a word, yes/no; None takes a told fact back)
Change: TypeAlias = tuple[str, str, Any]
# where a node stands in the order: of the whole, along the feeders, within a block
Place: TypeAlias = tuple[int, int, int]

KEPT = 200  # branches that are kept for the next question: what one moves is some fifty cells


class _Looked:
    """Stands where a value would: somebody looked for it and found no marking."""

    def __repr__(self) -> str:
        return "LOOKED"


LOOKED = _Looked()
_MISSING: Any = object()  # stands in a branch for an entry of a dict that is not there

# How a thing leads to those on which a reader of its cell runs: to itself, to the rows tried on it,
# to the thing whose
# row it is, to itself as what it sets aside, on ways against their direction, or on ways whose
# links rules may move.
SAME, ROWS, SLOT, ASIDE, THROUGH, ANYWHERE = range(6)


class Lead(NamedTuple):
    """A node that needs another, and how the things of the other lead to its own."""

    reader: Node
    # where it stands in the order; None within a block, where each thing has its own
    place: Place | None
    how: int
    way: tuple


class Readers:
    """Who reads what, in one order: of each node the nodes that need it, and how its things lead to
    theirs.
    """

    def __init__(self, order: Order, rules: dict[str, Rule], words: Words) -> None:
        self.order, self.rules, self.words = order, rules, words
        self.place: dict[Node, Place] = {}
        self.turns: dict[int, int] = {}  # where a block stands -> 1 up the feeders, -1 down
        for at, node in enumerate(order.sequence):
            if node[0] == "block":
                self.turns[at] = 1 if node[1] == "up" else -1
            for within, inner in enumerate(node[2] if node[0] == "block" else (node,)):
                self.place[inner] = at, 0, within
        self.after: dict[Node, list[Node]] = {}
        self.nodes_of: dict[str, list[Node]] = {}  # rule -> where it runs
        self.in_plane: dict[str, list[Node]] = {}  # pick -> what runs on the rows that it tries
        for node, needed in order.needs.items():
            for before in needed:
                self.after.setdefault(before, []).append(node)
            if node[0] != "cell":
                self.nodes_of.setdefault(node[1], []).append(node)
            if node[0] in ("rule", "cell") and node[-1]:
                self.in_plane.setdefault(node[-1], []).append(node)
        self._ways: dict[str, dict] = {}
        self._leads: dict[tuple, dict[Node, list[Lead]]] = {}

    def leads(self, kinds: frozenset[str], nodes: frozenset[Node] | None) -> dict[Node, list[Lead]]:
        """Where the leads found so far are kept, for jobs with these kinds of things and runs
        through these nodes.
        """
        return self._leads.setdefault((kinds, nodes), {})

    def leads_of(
        self, node: Node, kinds: frozenset[str], nodes: frozenset[Node] | None
    ) -> list[Lead]:
        """The nodes that need *node*, of those that a run goes through on things that there are."""
        out = []
        for reader in self.after.get(node, ()):
            if self.about(reader) in kinds and (nodes is None or reader in nodes):
                place = self.place[reader]
                for how, way in self._ways_to(node, reader):
                    out.append(Lead(reader, None if place[0] in self.turns else place, how, way))
        return out

    def _ways_to(self, node: Node, reader: Node) -> list[tuple[int, tuple]]:
        if node[0] == "cell" and reader[0] in ("rule", "try") and not node[3]:
            # A row has cells of its own for what a rule reads of the thing itself.
            plane = reader[2] if reader[0] == "rule" else ""
            ways = sorted(self.ways(reader[1]).get(node[1:3], ()))
            return [
                (SAME if not way else ANYWHERE if self.derived(way) else THROUGH, way)
                for way in ways
                if way or not plane
            ]
        if node[0] == "cell" and reader[0] == "cell":
            return [(ROWS, ())]
        if node[0] == "rule" and reader[0] == "pick":
            return [(SLOT, ())]
        return [(ASIDE if node[0] == reader[0] == "rule" else SAME, ())]

    def ways(self, rule: str) -> dict[tuple[str, str], set[tuple]]:
        """What a rule reads, and on which ways."""
        if rule not in self._ways:
            self._ways[rule] = ways_of(self.rules[rule], self.words)
        return self._ways[rule]

    def about(self, node: Node) -> str:
        """The kind of thing a node is about."""
        return node[1] if node[0] == "cell" else self.rules[node[1]].about

    def derived(self, way: tuple) -> bool:
        """Whether a rule may move a link of a way: then it leads to other things in another
        branch.
        """
        return any(link in self.order.givers for link in way)


def readers_of(k: Knowledge) -> Readers:
    """Who reads what under *k*, found once."""
    program = program_of(k)
    if program.readers is None:
        program.readers = Readers(k.order, k.rules, k.words)
    return program.readers


class Branch:
    """What one change moved: each place with the value it does not have at the moment."""

    def __init__(self) -> None:
        self.cells: list[list[Any]] = []  # [thing, slot, value]
        self.entries: list[list[Any]] = []  # [dict, key, value or _MISSING]
        self.attributes: list[list[Any]] = []  # [object, name, value]
        self.looked: list[tuple[set, Any]] = []  # sets that have a member on one side only
        self.disputes: set = set()  # (thing id, fact) in dispute on one side only
        self.links: set[tuple[str, str]] = set()  # (kind, link) that lead elsewhere on one side
        self.visited: dict[Node, bool] = {}  # what was run: did anything come out otherwise
        self.settled = 0  # how many times a node was run on a thing

    def exchange(self, world: World, back: bool) -> None:
        """Put every value where it does not stand at the moment, and keep what stood there."""
        # A place may be written twice: the last value is the first to go and the last to come back.
        step = -1 if back else 1
        for cell in self.cells[::step]:
            thing, slot, value = cell
            cell[2], thing[slot] = thing[slot], value
        for entry in self.entries[::step]:
            holder, key, value = entry
            entry[2] = holder.pop(key, _MISSING)
            if value is not _MISSING:
                holder[key] = value
        for attribute in self.attributes[::step]:
            owner, name, value = attribute
            attribute[2] = getattr(owner, name)
            setattr(owner, name, value)
        for facts, fact in self.looked[::step]:
            facts ^= {fact}
        world.disputes ^= self.disputes


class Rerun:
    """A settled run that takes over other facts and other rules, and gives them back.

    *readers* says who reads what where that is more than the law of the run has (two laws with one
    order); *nodes* are the part of the order that the run went through, where it is a part.
    """

    def __init__(
        self, world: World, readers: Readers | None = None, nodes: frozenset[Node] | None = None
    ) -> None:
        self.world, self.nodes = world, nodes
        self._readers = readers
        self.branches: list[Branch] = []  # what the world is told over the run, the first first
        self.code = world.emitted  # of the law of the run; None where it has none
        self.law = world.k
        self._apart: frozenset[str] = frozenset()  # rules whose code is that of another law
        # what was found out about the run as it was settled, by whatever the finder calls it
        self.remembered: dict[Hashable, Any] = {}
        self.telling: tuple[Change, ...] = ()  # what `told` tells at the moment
        self._kept: dict[tuple, Branch] = {}
        self._kinds = frozenset(kind for kind, things in world.by_kind.items() if things)
        self._leads: dict[Node, list[Lead]] | None = None
        self._sources: dict[tuple, dict[int, list]] = {}
        self._due: dict[Place, dict[int, list]] = {}
        self._heap: list[tuple[Place, Node]] = []
        self._forced: set[Node] = set()
        # (pick, thing id) -> the rows that matter, where not all of them do
        self._needed: dict[tuple[str, str], list[Thing]] = {}
        self._anew: frozenset[str] = frozenset()  # rules that are not those of the branch before

    @property
    def readers(self) -> Readers:
        """Who reads what: found when something is first asked, since most runs are never asked."""
        if self._readers is None:
            self._readers = readers_of(self.law)
        return self._readers

    @property
    def changed(self) -> bool:
        """Whether the world is told something over the run at the moment."""
        return bool(self.branches)

    # ---- branches
    @contextmanager
    def told(self, changes: Iterable[Change] = ()) -> Iterator[World]:
        """The run with *changes* told over whatever was told, and nothing else; behind it all is as
        it was before.

        The world that is given is the one world there is: what is to be said of the run without the
        changes is read off before. Branches are kept, so that a question that comes again costs an
        exchange of the cells that moved.
        """
        changes = tuple(changes)
        above, self.branches = self.branches, []
        telling, self.telling = self.telling, changes
        for branch in reversed(above):
            self._exchange(branch, back=True)
        try:
            if changes:
                self._enter(changes)
            yield self.world
        finally:
            self.undo_all()
            for branch in above:
                self._exchange(branch, back=False)
            self.branches, self.telling = above, telling

    @contextmanager
    def told_in_part(self, changes: Iterable[Change], nodes: frozenset[Node]) -> Iterator[World]:
        """The run with *changes* told over whatever was told, where only *nodes* of the order are
        kept up to date: for who asks what lies behind one answer, and nothing else.
        """
        with self.told():
            part, leads = self.nodes, self._leads
            self.nodes, self._leads = nodes if part is None else nodes & part, None
            try:
                self.change(changes)
                yield self.world
            finally:
                self.undo_all()
                self.nodes, self._leads = part, leads

    def _enter(self, changes: tuple[Change, ...]) -> None:
        key = tuple(sorted((thing, fact, text_of(value)) for thing, fact, value in changes))
        branch = self._kept.pop(key, None)
        if branch is None:
            branch = self.change(changes)
        else:
            self._exchange(branch, back=False)
            self.branches.append(branch)
        self._kept[key] = branch  # last used, last let go
        while len(self._kept) > KEPT:
            del self._kept[next(iter(self._kept))]

    @contextmanager
    def withholding(
        self, nodes: frozenset[Node] | None = None, rows_of: str | None = None
    ) -> Iterator[Withheld]:
        """The run as it is told now, from which facts may be withheld; behind it as it was before.

        With *nodes*, the part of the order that something asked for rests on, no more than that is
        kept up to date meanwhile. With *rows_of*, a pick or none, nor are the rows after the one
        that any other pick took: who knows less may doubt that row, and takes no other.
        """
        world, above = self.world, len(self.branches)
        part, leads = self.nodes, self._leads
        for xs in world.by_kind.values():
            for x in xs:
                world.depth(x)  # a link that is withheld leads as far down the feeders as before
        world.withheld = Withheld(every_thing(world))
        if nodes is not None:
            self.nodes, self._leads = nodes if part is None else nodes & part, None
        if rows_of is not None:
            self._needed = self._rows_needed(rows_of)
        try:
            yield world.withheld
        finally:
            while len(self.branches) > above:
                self.undo()
            world.withheld = None
            self.nodes, self._leads, self._needed = part, leads, {}

    def _rows_needed(self, but: str) -> dict[tuple[str, str], list[Thing]]:
        """The rows of each pick on each thing as far as the one it took."""
        needed = {}
        for key, rows in self.world.rows_of.items():
            first, waiting = self.world.picked.get(key, (None, []))
            if first is not None and not waiting and key[0] != but:
                place = next(place for place, row in enumerate(rows) if row is first)
                needed[key] = rows[: place + 1]
        return needed

    def withhold(self, facts: Iterable[tuple[str, str]], told: Iterable[Change] = ()) -> Branch:
        """Within `withholding`: let the run not know these facts of things, and tell it others,
        until `undo`. A list that is withheld may go on; what is in it stays.
        """

        def begin() -> None:
            for thing, fact in facts:
                self._withhold(thing, fact)
            for change in told:
                self._tell(*change)

        return self._settled(begin)

    def change(self, changes: Iterable[Change] = ()) -> Branch:
        """Tell *changes* over what the world is told now, until `undo`.

        A link may be told to lead elsewhere, or nowhere; the list that turns it round is a fact of
        its own, and has to be told beside it.

        Raises:
            ValueError: the link is a part of a thing, or leads up or down the feeders: that moves
            what a thing is and not what is known of it.
        """

        def begin() -> None:
            for change in changes:
                self._tell(*change)

        return self._settled(begin)

    def turn(
        self,
        k: Knowledge,
        changed: Iterable[str],
        changes: Iterable[Change] = (),
        apart: frozenset[str] | None = None,
    ) -> Branch:
        """Be under *k*, whose rules *changed* are not those the world is under now, until `undo`.

        *k* numbers its cells as the law of the run does. With *apart* the two are laws that share
        an order: what changed may be there under one of them alone, and the rules named keep code
        of their own. Without, it is a belief, which has code for itself and whose rules are there
        under both.
        """

        def begin() -> None:
            self._set(self.world, "k", k)
            self._set(self, "_apart", apart or frozenset())
            self._set(self, "code", self.code if apart is not None else program_of(k).emitted())
            if apart is not None:
                self._anew = frozenset(changed)
            for rule in changed:
                self._all_of(rule, forced=apart is not None)
            for change in changes:
                self._tell(*change)

        return self._settled(begin)

    def undo(self) -> Branch:
        """Put back what the last branch moved.

        Raises:
            IndexError: there is none.
        """
        branch = self.branches.pop()
        self._exchange(branch, back=True)
        return branch

    def undo_all(self) -> None:
        """Be the run as it was settled."""
        while self.branches:
            self.undo()

    def _exchange(self, branch: Branch, back: bool) -> None:
        branch.exchange(self.world, back)
        if branch.links:
            self._sources.clear()
        self.world.emitted = None if self._apart else self.code

    def keep(self) -> None:
        """Take what the branches moved for the run itself, never to be put back."""
        self.branches.clear()
        self.remembered.clear()
        self._kept.clear()

    def _settled(self, begin: Callable[[], None]) -> Branch:
        """Make a branch: what *begin* moves, and whatever that moves."""
        branch = Branch()
        self.branches.append(branch)
        self._set(self.world, "supports", {})
        try:
            with decimal.localcontext(EXACT):
                begin()
                self._run_due()
        except BaseException:
            self._due.clear()
            self._heap.clear()
            self.undo()
            raise
        finally:
            self._forced.clear()
            self._anew = frozenset()
            self.world.emitted = None if self._apart else self.code
        return branch

    # ---- what is moved at first
    def _tell(self, thing: str, fact: str, value: Any) -> None:
        x = self.world.things[thing]
        meta = x[0]
        word = self.world.k.words.kinds[meta.kind].words[fact]
        if word.type[0] in ("ref", "many") and not _same_members(x[word.slot], value):
            if word.part or word.up or word.down:
                raise ValueError(f"{fact} of {thing} is a part of it, or a link of the feeders")
            self.branches[-1].links.add((meta.kind, fact))
            self._sources.clear()
        looked = value is LOOKED
        if looked is not (fact in meta.looked):
            self.branches[-1].looked.append((meta.looked, fact))
            meta.looked ^= {fact}
        self._put_told(x, fact, None if looked else value)

    def _withhold(self, thing: str, fact: str) -> None:
        """Take back what is told of a fact, and let nothing else fill it; of a list, that it is
        whole.
        """
        withheld = self.world.withheld
        assert withheld is not None, "facts are withheld within `withholding`"
        x = self.world.things[thing]
        kind = x[0].kind
        if self.world.k.words.kinds[kind].words[fact].type[0] == "many":
            self._put_told(x, fact, OpenMembers(members(x[0].told[fact])))
            return
        self.branches[-1].looked.append((withheld.facts, (thing, fact)))
        withheld.facts ^= {(thing, fact)}
        if fact in x[0].told:
            self._put_told(x, fact, None)
            return
        self._add(("cell", kind, fact, ""), [x])
        for pick in [p for p, name in self.world.rows_of if name == thing]:
            self._add(("cell", kind, fact, pick), self._rows(pick, x))

    def _put_told(self, x: Thing, fact: str, value: Any) -> None:
        """Have *value* told of a fact, or nothing, and whatever settles from that run again."""
        meta, thing = x[0], x[0].id
        now = {f: v for f, v in meta.told.items() if f != fact}
        if value is not None:
            now[fact] = value
        if _alike(meta.told.get(fact), now.get(fact)):
            return
        self._set(meta, "told", now)
        picks = self._picks_of(meta.kind, fact)
        for node in picks:
            self._add(node, [x])
        if not picks:
            self._tell_cell(("cell", meta.kind, fact, ""), x)
        for pick in [p for p, name in self.world.rows_of if name == thing]:
            self._tell_rows(self.world.k.rules[pick], x)

    def _picks_of(self, kind: str, fact: str) -> list[Node]:
        """The picks that fill a fact, of those that the run goes through."""
        givers = self.world.k.order.givers.get((kind, fact), ())
        nodes: list[Node] = [("pick", giver.id) for giver in givers if giver.verb == "tries"]
        return [node for node in nodes if self._runs(node)]

    def _tell_rows(self, pick: Rule, x: Thing) -> None:
        """Tell the rows tried on *x* what is told of it now."""
        size = x[0].told.get(pick.tried.name)
        of_that, of_others = self.world.told_of_rows(pick, x)
        for row in self._rows(pick.id, x):
            was, now = row[0].told, of_that if row[0].row == size else of_others
            moved = [f for f in {**was, **now} if not _alike(was.get(f), now.get(f))]
            if moved:
                self._set(row[0], "told", now)
            for fact in moved:
                self._tell_cell(("cell", x[0].kind, fact, pick.id), row)

    def _tell_cell(self, node: Node, x: Thing) -> None:
        """Have a fact settle from what is told now; what no node settles is what is told."""
        if self._runs(node):
            self._add(node, (x,))
            return
        slot = self.world.k.words.kinds[node[1]].words[node[2]].slot
        was, x[slot] = x[slot], x[0].told.get(node[2])
        self._note(x, (slot,), [was])

    def _runs(self, node: Node) -> bool:
        """Whether the run goes through a node at all."""
        return node in (self.readers.place if self.nodes is None else self.nodes)

    def _all_of(self, rule: str, forced: bool) -> None:
        """Run a rule again wherever it runs, and what its answers fill."""
        for node in self.readers.nodes_of.get(rule, ()):
            things = self.world.by_kind[self.readers.about(node)]
            if node[0] == "rule" and node[2]:
                things = [row for x in things for row in self._rows(node[2], x)]
            self._add(node, things)
            if forced:
                self._forced.add(node)
            if node[0] == "pick":
                # Where a law has not the pick, the rules that it has settle the fact.
                for reader in self.readers.after.get(node, ()):
                    self._add(reader, things)

    # ---- what is due, in the order
    def _add(self, node: Node, things: Iterable[Thing]) -> None:
        """Have *node* run again on *things*."""
        if not self._runs(node):
            return
        place = self.readers.place[node]
        turn = self.readers.turns.get(place[0])
        for x in things:
            # A block runs thing by thing along the feeders, everything else on all its things at
            # once.
            at = (place[0], turn * self.world.depth(x[0].slot or x), place[2]) if turn else place
            self._due_at(at, node)[id(x)] = x

    def _due_at(self, at: Place, node: Node) -> dict[int, list]:
        """The things on which *node* is due at a place of the order."""
        due = self._due.get(at)
        if due is None:
            due = self._due[at] = {}
            heappush(self._heap, (at, node))
        return due

    def _run_due(self) -> None:
        run = {"rule": self._rule, "cell": self._cell, "try": self._try, "pick": self._pick}
        branch = self.branches[-1]
        while self._heap:
            at, node = heappop(self._heap)
            things = list(self._due.pop(at).values())
            branch.settled += len(things)
            moved = run[node[0]](node, things)
            branch.visited[node] = moved or branch.visited.get(node, False)

    def _spread(self, node: Node, x: Thing, aside: bool = True) -> None:
        """Have whatever reads *node* of *x* run again; what it sets *aside* only where that may
        have changed.
        """
        for lead in self._leads_of(node):
            if lead.how == SAME:
                if lead.place is not None:
                    self._due_at(lead.place, lead.reader)[id(x)] = x
                else:
                    self._add(lead.reader, (x,))
            elif lead.how == ROWS:
                self._add(lead.reader, self._rows(lead.reader[3], x))
            elif lead.how == SLOT:
                self._add(lead.reader, (x[0].slot,))
            elif lead.how != ASIDE:
                if things := self._reading(lead, x):
                    self._add(lead.reader, things)
            elif aside:
                self._add(lead.reader, (x,))
                # What an exception sets aside may have the answer it had, and comes to something
                # else.
                self._spread(lead.reader, x, aside=False)

    def _leads_of(self, node: Node) -> list[Lead]:
        if self._leads is None:
            self._leads = self.readers.leads(self._kinds, self.nodes)
        found = self._leads.get(node)
        if found is None:
            found = self._leads[node] = self.readers.leads_of(node, self._kinds, self.nodes)
        return found

    def _reading(self, lead: Lead, x: Thing) -> list[Thing]:
        """The things on which a node reaches *x* on a way: rows where it runs on rows."""
        about = self.readers.about(lead.reader)
        if lead.how == ANYWHERE or self._moves(lead.way):
            found = self.world.by_kind[about]
        else:
            found = self._back(about, lead.way).get(id(x), [])
        plane = lead.reader[2] if lead.reader[0] == "rule" else ""
        return [row for y in found for row in self._rows(plane, y)] if plane else found

    def _moves(self, way: tuple) -> bool:
        """Whether a link of a way leads elsewhere in the branch that is made: who read through it
        may be found from neither of its ends.
        """
        links = self.branches[-1].links
        return bool(links) and any(link in links for link in way)

    def _back(self, about: str, way: tuple) -> dict[int, list]:
        """Identity of a thing -> the things of a kind from which a way leads to it; no rule moves
        its links.
        """
        index = self._sources.get((about, way))
        if index is None:
            index = self._sources[about, way] = {}
            kinds = self.world.k.words.kinds
            for start in self.world.by_kind[about]:
                ends = [start]
                for kind, link in way:
                    slot = kinds[kind].words[link].slot
                    ends = [y for end in ends for y in _led_to(self._unwithheld(end)[slot])]
                for end in {id(y): y for y in ends}:
                    index.setdefault(end, []).append(start)
        return index

    def _unwithheld(self, x: Thing) -> Thing:
        """The cells of a thing as they are with nothing withheld: a link that is, leads on."""
        withheld = self.world.withheld
        return x if withheld is None else withheld.before(x) or x

    def _rows(self, pick: str, x: Thing) -> list[Thing]:
        key = pick, x[0].id
        rows = self.world.rows_of.get(key, [])
        # rows that are gone are none, whatever was needed of them
        return self._needed.get(key, rows) if rows else rows

    # ---- one node on some things: does anything come out otherwise?
    def _rule(self, node: Node, things: list[Thing]) -> bool:
        rule = self.world.k.rules.get(node[1])
        if rule is None:
            # It is not in this law: what stands in its cells is read by nobody, what it filled
            # settles without it.
            for x in things:
                self._spread(node, x)
            return False
        slots = self._slots_of(rule.id)
        before = [[x[slot] for slot in slots] for x in things]
        self.world.emitted = None if rule.id in self._apart else self.code
        self.world.fire_all(node, things)
        moved, holds = False, rule.id in self.world.k.holds
        forced = node in self._forced
        for x, was in zip(things, before):
            if not forced and all(map(is_, [x[slot] for slot in slots], was)):
                continue
            held = self._note(x, slots, was)
            moved = moved or held > 0
            if forced:
                self._spread(node, x)
            elif held:
                # `holds` stands second: an exception that holds as before sets aside as before.
                self._spread(node, x, aside=holds and bool(held & 2))
        return moved

    def _note(self, x: Thing, slots: tuple[int, ...], before: list) -> int:
        """Note the cells that came out otherwise; which of *slots* did, as bits."""
        moved = 0
        for bit, (slot, was) in enumerate(zip(slots, before)):
            if x[slot] is not was and not _alike(was, x[slot]):
                self.branches[-1].cells.append([x, slot, was])
                moved |= 1 << bit
        return moved

    def _slots_of(self, rule: str) -> tuple[int, ...]:
        """The cells of a rule's answer, of whether it holds, of what it gives; all laws of one
        order have one numbering.
        """
        return program_of(self.law).cells_of(rule)

    def _cell(self, node: Node, things: list[Thing]) -> bool:
        world, (_, kind, fact, plane) = self.world, node
        givers = world.k.order.givers.get((kind, fact), ())
        if any(g.verb == "tries" for g in givers) and not plane:
            return False  # its pick writes it
        if plane and (plane not in world.k.rules or fact == world.k.rules[plane].tried.name):
            return False
        slot = world.k.words.kinds[kind].words[fact].slot
        # taken before anything is put back to what was told, so that equal values spread nothing
        before = [x[slot] for x in things]
        disputed = self._disputed(things, fact)
        world.disputes -= disputed
        left = len(world.disputes)
        for x in things:
            x[slot] = x[0].told.get(fact)
        # code of the law in force does not know rules that are otherwise here
        if givers:
            world.emitted = self._code_of(node, givers)
            world.settle_all(node, things)
        # a dispute that came or went moves answers though the cell holds None before and after
        if len(world.disputes) != left:
            disputed = disputed ^ self._disputed(things, fact)
        self.branches[-1].disputes ^= disputed
        moved = bool(disputed)
        for x, was in zip(things, before):
            if x[slot] is not was and self._note(x, (slot,), [was]):
                moved = True
                self._spread(node, x)
        return moved

    def _disputed(self, things: list[Thing], fact: str) -> set[tuple]:
        """The disputes there are about a fact of *things*."""
        disputes = self.world.disputes
        return {key for x in things if (key := (x[0].id, fact)) in disputes} if disputes else set()

    def _code_of(self, node: Node, givers: Iterable[Rule]) -> Emitted | None:
        """The code that settles a fact, where it is that of the law in force. What is withheld it
        does not know: there a fact settles in general if anything but a plain giver may fill it.
        """
        if self.world.withheld is not None:
            exceptions = self.world.k.order.exceptions
            if any(g.verb != "gives" or g.exception_to or g.id in exceptions for g in givers):
                return None
        if not self._apart:
            return self.code
        lawful = self.law.order.givers.get(node[1:3], ())
        same = [g.id for g in givers] == [g.id for g in lawful]
        return self.code if same and self._apart.isdisjoint(g.id for g in givers) else None

    def _try(self, node: Node, things: list[Thing]) -> bool:
        pick = self.world.k.rules.get(node[1])
        moved = [self._try_on(node[1], pick, x) for x in things]
        if not any(moved):
            return False
        about = self.readers.about(node)
        rows_of = self.world.rows_of
        rows = [
            row for x in self.world.by_kind[about] for row in rows_of.get((node[1], x[0].id), ())
        ]
        self._put(self.world.tried, node[1], rows)
        return True

    def _try_on(self, name: str, pick: Rule | None, x: Thing) -> bool:
        """Find the rows that a pick has to try on *x*: those that were tried before are the same
        rows.
        """
        world, key = self.world, (name, x[0].id)
        sizes = world.rows_found(pick, x) if pick is not None else None
        old = world.rows_of.get(key)
        # The rows of another law may be made of other facts: none of them is kept.
        kept = {} if name in self._anew else {row[0].row: row for row in old or ()}
        if sizes is None and old is None:
            return False
        if sizes is not None and sizes == list(kept):
            return False
        rows = self._rows_anew(pick, x, sizes, kept) if pick is not None and sizes else []
        self._put(world.rows_of, key, _MISSING if sizes is None else rows)
        self._let_go(old or [], rows)
        new = [row for row in rows if kept.get(row[0].row) is not row]
        if new:
            for reader in self.readers.in_plane.get(name, ()):
                self._add(reader, new)
        self._add(("pick", name), (x,))
        return True

    def _rows_anew(
        self, pick: Rule, x: Thing, sizes: list[Any], kept: dict[Any, Thing]
    ) -> list[Thing]:
        """A row for each of *sizes*: the one that is kept, or one that is made."""
        made = iter(self.world.candidates(pick, x, [size for size in sizes if size not in kept]))
        return [kept[size] if size in kept else next(made) for size in sizes]

    def _let_go(self, old: list[Thing], rows: list[Thing]) -> None:
        """Forget the rows that are tried no longer: one that is gone is in no dispute, and is not
        run again.
        """
        staying = {id(row) for row in rows}
        for row in old:
            if id(row) not in staying:
                for due in self._due.values():
                    due.pop(id(row), None)
        gone = {row[0].id for row in old} - {row[0].id for row in rows}
        ended = {dispute for dispute in self.world.disputes if dispute[0] in gone}
        self.world.disputes -= ended
        self.branches[-1].disputes ^= ended

    def _pick(self, node: Node, things: list[Thing]) -> bool:
        world, pick = self.world, self.world.k.rules.get(node[1])
        moved = False
        for x in things:
            key = node[1], x[0].id
            before = world.picked.get(key, _MISSING)
            if pick is None:
                self._put(world.picked, key, _MISSING)
                continue
            slot = pick.picks.slot
            was = x[slot]
            world.pick_for(pick, x)
            now = world.picked[key]
            # Rows are told apart by who they are: to compare what stands in them would walk the
            # whole job.
            chosen = [id(row) for row in (now[0], *now[1])]
            if before is _MISSING or [id(row) for row in (before[0], *before[1])] != chosen:
                self.branches[-1].entries.append([world.picked, key, before])
            else:
                world.picked[key] = before
            if self._note(x, (slot,), [was]):
                moved = True
                cell = "cell", pick.about, pick.picks.name, ""
                self.branches[-1].visited[cell] = True
                self._spread(cell, x)
        return moved

    # ---- writing what can be put back
    def _set(self, owner: object, name: str, value: Any) -> None:
        self.branches[-1].attributes.append([owner, name, getattr(owner, name)])
        setattr(owner, name, value)

    def _put(self, holder: dict[Any, Any], key: Any, value: Any) -> None:
        was = holder.pop(key, _MISSING)
        if value is not _MISSING:
            holder[key] = value
        if was is not value:
            self.branches[-1].entries.append([holder, key, was])


def run_part(k: Knowledge, job: Job, nodes: frozenset[Node]) -> World:
    """Run *job* as far as *nodes* of the order go."""
    world = World(k, job)
    kinds = frozenset(kind for kind, things in world.by_kind.items() if things)
    with decimal.localcontext(EXACT):
        for node in program_of(k).part(kinds, nodes):
            world.step(node)
    return world


def tell(job: Job, changes: Iterable[Change]) -> None:
    """Tell *job*, which is not run yet, each change, over whatever was told."""
    for thing, fact, value in changes:
        x = job.things[thing]
        looked = value is LOOKED
        if looked or value is None:
            value = None
            x[0].told.pop(fact, None)
        else:
            x[0].told[fact] = value
        x[job.k.words.kinds[x[0].kind].words[fact].slot] = value
        (x[0].looked.add if looked else x[0].looked.discard)(fact)


def _led_to(value: object) -> list[Thing]:
    """The things to which a link leads: none, one, or those of a list."""
    if isinstance(value, Members):
        return members(value)
    return [value] if isinstance(value, list) else []


def text_of(value: object) -> str:
    """What tells two values apart: of things who they are, since what stands in them is the job."""
    if isinstance(value, list) and not isinstance(value, Members):
        return str(value[0].id)
    return repr(value)


def _same_members(a: object, b: object) -> bool:
    """Whether two values of a link lead to the same things: a list that is closed, and the same
    list open.
    """
    one, two = _led_to(a), _led_to(b)
    return type(b) is not list and len(one) == len(two) and all(x is y for x, y in zip(one, two))


def _alike(a: object, b: object) -> bool:
    """Whether two values are one. Things are one where they are the same thing, lists where they
    hold the same things.
    """
    if a is b:
        return True
    if isinstance(a, list) or isinstance(b, list):
        return a.__class__ is b.__class__ and isinstance(a, Members) and _same_members(a, b)
    return a.__class__ is b.__class__ and a == b


__all__ = [
    "LOOKED",
    "Branch",
    "Change",
    "Readers",
    "Rerun",
    "readers_of",
    "run_part",
    "tell",
    "text_of",
]
