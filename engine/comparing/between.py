"""Two laws side by side: each change that leads from one to the other, with its cause, and any law
between them.

A law between is the second one with some of the changes taken back. All of them share one order,
found over the rules of both laws, and one numbering of cells, so that a run under one is turned in
place into a run under another (`turning`). A rule is checked anew only where a table or a value
under it was taken back.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from ..basics.errors import Collector, Fault, Faults
from ..basics.reading import Mapping
from ..basics.units import show_number
from ..language.knowledge import Knowledge, Material, _value, assemble
from ..language.order import Order, find_order, reads_of, roles
from ..language.rules import JUDGING, Rule, meaning_parts, section_of
from ..language.words import as_list
from ..law.applying import apply
from ..law.edits import Edit
from ..law.library import Library

A, B = 0, 1
VERBS = {
    "add": "adds",
    "withdraw": "withdraws",
    "replace": "replaces",
    "amend": "amends",
    "set": "sets",
    "redate": "re-dates",
    "alias": "renumbers",
    "narrow": "narrows",
    "widen": "widens",
    "adopt": "adopts",
}


def edit_key(edit: Edit) -> tuple[str, int]:
    """What names an edit, whatever was made of it on the way: its pack and its number there."""
    return edit.pack.name, edit.number


@dataclass(frozen=True)
class Side:
    """What makes a law: the edition, the day that counts, the names of the packs over the base."""

    edition: str
    date: str | None
    packs: tuple[str, ...]


@dataclass(eq=False)
class Change:
    """One thing that leads from the first law to the second: an edit, the book's edition, a pack,
    or a told fact.
    """

    cause: str  # edit | edition | pack | fact
    kind: str  # of the item: rule | value | table | fact
    item: str
    says: str
    side: int | None = None  # the law in which an edit or a pack is in force
    edit: Edit | None = None
    applied: Edit | None = (
        None  # the edit that stands in the one law: `edit` itself, or the one whose days it moved
    )
    cites_only: bool = False  # it changes what is cited, and nothing that is concluded

    @property
    def key(self) -> tuple:
        return (
            self.cause,
            self.kind,
            self.item,
            *((self.edit.pack.name, str(self.edit.number)) if self.edit else ()),
        )


@dataclass(eq=False)
class Item:
    """A rule, value or table that is not the same in both laws: as each has it (None where it has
    none).
    """

    kind: str
    name: str
    has: tuple
    changes: list[Change] = field(default_factory=list)


@dataclass(eq=False)
class Middle:
    """A law between: what is in force, and for each rule what tells it from the same rule under
    another law.
    """

    k: Knowledge
    signs: dict[str, tuple]
    _otherwise: dict = field(default_factory=dict)

    def otherwise(self, other: Middle) -> frozenset[str]:
        """The rules that are not the same under *other*."""
        if other not in self._otherwise:
            self._otherwise[other] = frozenset(
                i for i in {*self.signs, *other.signs} if self.signs.get(i) != other.signs.get(i)
            )
        return self._otherwise[other]


class Between:
    """The changes from one law to another, and the laws between. Raises Faults with everything that
    is wrong in either.
    """

    def __init__(self, library: Library, a: Side, b: Side) -> None:
        self.library, self.sides, self.words = library, (a, b), library.words
        self.materials, self.laws, self.versions = [], [], []
        for side in self.sides:
            faults = Collector()
            self.materials.append(
                library.material(side.edition, side.date, faults=faults, packs=side.packs)
            )
            faults.stop()
            self.laws.append(assemble(self.materials[-1], faults, library.pool, ordered=False))
            self.versions.append(self._versions(self.laws[-1]))
        self.bare = library.material(
            b.edition, None, without=[e for p in library.packs for e in p.edits], faults=Collector()
        )
        self.items = self._differing()
        self._join()
        self.items_of: dict[Change, list[Item]] = {}
        for item in self.items:
            for c in item.changes:
                self.items_of.setdefault(c, []).append(item)
        self.changes = sorted(self.items_of, key=lambda c: c.key)
        self.effective = frozenset(c for c in self.changes if not c.cites_only)
        self._number()
        self._put_in_order()
        self._middles: dict[frozenset, Middle | None] = {}
        self._reach: dict[tuple, dict] = {}
        self._users: dict[Change, list[str]] = {}
        self.first, self.second = self.middle(frozenset(self.changes)), self.middle(frozenset())

    def _versions(self, k: Knowledge) -> dict[str, Rule]:
        """Every rule as one law knows it; where the editions differ each keeps its own, to be
        carried into the other.
        """
        out = {**k.absent, **k.rules}
        if self.sides[A].edition != self.sides[B].edition:
            for r in out.values():
                r.d = _stamped(r.d, k.edition)
        return out

    # ---- what differs
    def _differing(self) -> list[Item]:
        a, b = self.materials
        out, made = [], {}
        for kind, *of in (
            ("rule", a.rules, b.rules, self.bare.rules),
            ("value", a.values, b.values, self.bare.values),
            ("table", a.tables, b.tables, self.bare.tables),
        ):
            for name in sorted({**of[A], **of[B], **(a.gone | b.gone if kind == "rule" else {})}):
                item = Item(kind, name, (of[A].get(name), of[B].get(name)))
                item.changes = self._by_edition(item, of[2].get(name)) + (
                    self._by_edit(item, made) or self._by_pack(item, of[2].get(name))
                )
                if item.changes:
                    out.append(item)
                elif (
                    kind == "rule"
                    and item.has[A] is not item.has[B]
                    and meaning_parts(item.has[A]) != meaning_parts(item.has[B])
                ):
                    raise AssertionError(f"nothing says why {name} is not the same in both laws")
        return out

    @staticmethod
    def _edits_of(m, name: str) -> list[Edit]:
        """The edits that an item came through, those too that put another rule in its place."""
        return [
            *m.trail.get(name, ()),
            *(
                e
                for es in m.trail.values()
                for e in es
                if e.verb == "add" and name in map(str, as_list(e.d.get("instead of")))
            ),
        ]

    def _by_edit(self, item: Item, made: dict) -> list[Change]:
        """The edits of an item that stand in one of the laws only."""
        edits = [
            {(e.pack.name, e.number): e for e in self._edits_of(m, item.name)}
            for m in self.materials
        ]
        out = []
        for s in (A, B):
            for key, e in edits[s].items():
                if key not in edits[1 - s]:
                    if key not in made:
                        by = self._moved_by(e, s) or e
                        made[key] = Change(
                            "edit",
                            item.kind,
                            e.target,
                            edit_said(by),
                            s if by is e else _side_of(by, self.sides),
                            by,
                            e,
                            bool(e.done.get("same")),
                        )
                    out.append(made[key])
        return out

    def _moved_by(self, e: Edit, s: int) -> Edit | None:
        """The edit that moved the days of *e*, where that is why *e* stands in the law *s* only."""
        as_written = next(
            o
            for p in self.library.packs
            if p.name == e.pack.name
            for o in p.edits
            if o.number == e.number
        )

        def stands(o: Edit, law: int) -> bool:
            return o.pack.name in self.sides[law].packs and o.holds_on(self.sides[law].date)

        where = s if not stands(as_written, s) else 1 - s if stands(as_written, 1 - s) else None
        moves = [
            o
            for p in self.library.packs
            for o in p.edits
            if o.verb == "redate"
            and o.target == e.target
            and str(o.d.get("edit of", "")) == e.pack.name
        ]
        return next(
            (
                o
                for o in moves
                if where is not None and stands(o, where) and not stands(o, 1 - where)
            ),
            None,
        )

    def _by_pack(self, item: Item, base) -> list[Change]:
        """The pack that brought a rule of its own, where one law has that pack only."""
        if item.kind != "rule" or base is None or (item.has[A] is None) == (item.has[B] is None):
            return []
        side = B if item.has[A] is None else A
        p = self.library.pack_of(base)
        return [
            Change(
                "pack",
                "rule",
                item.name,
                f"{p.where} brings {item.name} ({section_of(base, self.sides[side].edition)})",
                side,
            )
        ]

    def _by_edition(self, item: Item, base) -> list[Change]:
        """What the book itself says otherwise of an item in the two editions."""
        d = base.d if item.kind == "table" and base is not None else base
        first, then = sorted(s.edition for s in self.sides)
        if d is None or first == then:
            return []
        was, is_ = section_of(d, first), section_of(d, then)
        cites = was is not None and is_ is not None
        if item.kind == "value":
            old, new = (_value(d, e, Collector()) for e in (first, then))
            if old != new:
                return [
                    Change(
                        "edition",
                        "value",
                        item.name,
                        f"NEC {_since(d.get('is'), first, then)} changed {item.name}:"
                        f" {show_number(old[0], old[1][2])} became {show_number(new[0], new[1][2])}"
                        f" ({is_})",
                    )
                ]
        if was == is_:
            return []
        says = (
            f"NEC {then} cites {item.name} as {is_}, NEC {first} as {was}"
            if cites
            else (
                f"NEC {_since(d.get('code'), first, then)} {'added' if was is None else 'dropped'}"
                f" {item.name} ({is_ or was})"
            )
        )
        return [Change("edition", item.kind, item.name, says, cites_only=cites)]

    def _join(self) -> None:
        """A rule of one edition that gives what another rule gave in the other took its place: one
        change, not two.
        """
        first, then = sorted(s.edition for s in self.sides)
        old, new = {}, {}
        for item in self.items:
            if (
                item.kind == "rule"
                and len(item.changes) == 1
                and item.changes[0].cause == "edition"
                and not item.changes[0].cites_only
            ):
                s = next(s for s in (A, B) if item.name in self.laws[s].rules)
                r = self.laws[s].rules[item.name]
                if r.fills:
                    (old if self.sides[s].edition == first else new).setdefault(
                        (r.about, r.verb, *sorted(f.word.name for f in r.fills)), []
                    ).append((item, r.section(self.sides[s].edition)))
        for gives, before in old.items():
            after = new.get(gives, [])
            pairs = (
                zip(before, after)
                if len(before) == len(after) == 1
                else [(o, n) for o in before for n in after if _stem(o[0].name) == _stem(n[0].name)]
            )
            for (o, was), (n, is_) in pairs:
                o.changes = n.changes = [
                    Change(
                        "edition",
                        "rule",
                        n.name,
                        f"NEC {then} has {n.name} ({is_}) in place of {o.name} ({was})",
                    )
                ]

    # ---- one numbering, one order
    def _number(self) -> None:
        """Give every rule of either law its cells, the same under every law between."""
        nxt = {kind: v.width for kind, v in self.words.kinds.items()}
        self.slots, self.holds, self.results, self.width = {}, {}, {}, nxt

        def take(abouts: set) -> int:
            n = max(nxt[kind] for kind in abouts)
            nxt.update((kind, n + 1) for kind in abouts)
            return n

        for i in sorted({*self.versions[A], *self.versions[B]}):
            both = [v[i] for v in self.versions if i in v]
            abouts = {r.about for r in both}
            self.slots[i] = take(abouts)
            if any(r.fills or "exception to" in r.d for r in both):
                self.holds[i] = take(abouts)
            for fact in sorted({f.word.name for r in both for f in r.fills}):
                self.results[i, fact] = take(abouts)

    def _put_in_order(self) -> None:
        """Find one order for both laws and all between; there is none where they could only run in
        different ones.
        """
        self.order: Order | None = None
        rules = {
            i: [v[i] for v, k in zip(self.versions, self.laws) if i in k.rules]
            for i in sorted(self.slots)
        }
        try:
            self.order = find_order(
                {i: _either(both, rules) for i, both in rules.items() if both}, self.words
            )
        except (Fault, _Apart):
            return
        o = self.order
        self.at = {
            n: i
            for i, node in enumerate(o.sequence)
            for n in (node[2] if node[0] == "block" else (node,))
        }
        # within its block
        self.position = {
            n: i for node in o.sequence if node[0] == "block" for i, n in enumerate(node[2])
        }
        self.after, self.nodes = {n: [] for n in o.needs}, {i: [] for i in rules}
        for n, pre in o.needs.items():
            for p in pre:
                self.after[p].append(n)
            if n[0] != "cell":
                self.nodes[n[1]].append(n)
        self.reads = {
            i: set().union(*(reads_of(r, self.words) for r in both)) for i, both in rules.items()
        }

    def users(self, c: Change) -> list[str]:
        """The rules that a change touches: the one it is about, or those that read its value or
        table.
        """
        if c not in self._users:
            found: dict[str, None] = {}
            for item in self.items_of[c]:
                found.update(
                    dict.fromkeys(
                        [item.name]
                        if item.kind == "rule"
                        else [
                            i
                            for i in self.slots
                            if any(
                                item.name
                                in (
                                    v[i].reads_tables if item.kind == "table" else v[i].reads_values
                                )
                                for v in self.versions
                                if i in v
                            )
                        ]
                    )
                )
            self._users[c] = list(found)
        return self._users[c]

    def reach(self, node: tuple) -> dict:
        """The changes that what stands in a node can rest on, and the facts of the job; how many
        steps away each is.
        """
        got = self._reach.get(node)
        if got is None:
            touched: dict[str, list[Change]] = {}
            for c in self.effective:
                for i in self.users(c):
                    touched.setdefault(i, []).append(c)
            got, seen, edge, steps = {}, {node}, [node], 0
            while edge:
                for n in edge:
                    for what in (
                        (n[2],)
                        if n[:2] == ("cell", "job")
                        else touched.get(n[1], ())
                        if n[0] != "cell"
                        else ()
                    ):
                        got.setdefault(what, steps)
                edge = [
                    p
                    for p in dict.fromkeys(p for n in edge for p in self.order.needs.get(n, ()))
                    if p not in seen
                ]
                seen.update(edge)
                steps += 1
            self._reach[node] = got
        return got

    # ---- laws between
    def middle(self, back: frozenset) -> Middle | None:
        """The second law with the changes *back* taken back; None where that is no law: what is
        left does not fit together.
        """
        if back not in self._middles:
            try:
                self._middles[back] = self._make(back)
            except (Fault, Faults, _Apart):
                self._middles[back] = None
        return self._middles[back]

    def _make(self, back: frozenset) -> Middle:
        every, faults = dict(self.versions[B]), Collector()
        tables = {**self.materials[A].tables, **self.materials[B].tables}
        values = {**self.laws[A].values, **self.laws[B].values}
        items = {**self.materials[A].values, **self.materials[B].values}
        anew: dict[str, Mapping] = {}
        for item in dict.fromkeys(i for c in back for i in self.items_of[c]):
            whole = back.issuperset(item.changes)
            d = item.has[A] if whole else self._in_part(item, back)
            if item.kind == "table":
                tables[item.name] = d
            elif item.kind == "value":
                items[item.name] = d
                values[item.name] = _value(d, self._edition(item, back), faults)
            elif whole and item.name in self.versions[A]:
                every[item.name] = self.versions[A][item.name]
            elif d is None:
                every.pop(item.name, None)
            else:
                anew[item.name] = _stamped(d, self._edition(item, back))
        for i, r in every.items():
            if i not in anew and not _stands(r, tables, values):
                other = self.versions[A].get(i)
                if (
                    other is not None
                    and other.d == r.d
                    and other.section(self.sides[A].edition) == r.section(self.sides[B].edition)
                    and _stands(other, tables, values)
                ):
                    every[i] = other
                else:
                    anew[i] = r.d
        for i, d in anew.items():
            every[i] = Rule(d, self.words, tables, values, {*self.slots}, faults)
        faults.stop()
        edition = self.sides[B if back < frozenset(self.changes) or not self.changes else A].edition
        rules = {i: r for i, r in sorted(every.items()) if r.section(edition) is not None}
        for i, r in rules.items():
            aside = [str(t) for t in as_list(r.d.get("exception to")) if str(t) in rules]
            if r.exception_to != aside:
                rules[i] = r = r.taken_over()
                r.exception_to = aside
            if i in anew and (
                self.order is not None
                and not reads_of(r, self.words) <= self.reads[i]
                or any((i, f.word.name) not in self.results for f in r.fills)
            ):
                raise _Apart
        order = roles(rules) if self.order is not None else find_order(rules, self.words)
        if self.order is not None:
            order.needs, order.rank = self.order.needs, self.order.rank
            order.sequence = [n for node in self.order.sequence for n in there(node, rules)]
        m = Material(edition, self.words, self.materials[B].packs)
        m.values = items
        k = Knowledge(m, tables, rules, {}, values, order)
        k.slots, k.holds, k.results, k.width = self.slots, self.holds, self.results, self.width
        return Middle(k, {i: (id(r.c), tuple(r.exception_to), r.c) for i, r in rules.items()})

    def _edition(self, item: Item, back: frozenset) -> str:
        return self.sides[
            A if any(c.cause == "edition" for c in item.changes if c in back) else B
        ].edition

    def _in_part(self, item: Item, back: frozenset):
        """An item with some of its changes taken back: the edits that are left, carried out anew on
        what the book says.
        """
        edition = self._edition(item, back)
        taken = {
            (c.applied.pack.name, c.applied.number) for c in item.changes if c in back and c.applied
        }
        given = [
            e
            for e in self._edits_of(self.materials[A], item.name)
            if (e.pack.name, e.number) in taken
        ]
        left = [
            e
            for e in self._edits_of(self.materials[B], item.name)
            if (e.pack.name, e.number) not in taken
        ]
        place = {p.name: n for n, p in enumerate(self.library.packs)}
        m, faults = self.bare.copy(), Collector()
        m.edition = edition
        known = {(e.pack.name, e.number) for e in left}
        apply(
            m,
            [
                _undated(e)
                for e in sorted(
                    left + [e for e in given if (e.pack.name, e.number) not in known],
                    key=lambda e: (place[e.pack.name], e.number),
                )
            ],
            None,
            faults,
        )
        faults.stop()
        return {"rule": m.rules, "value": m.values, "table": m.tables}[item.kind].get(item.name)


class _Apart(Exception):
    """Versions of one rule that cannot stand in one order."""


class _Both(Rule):
    """A rule in two versions, as the order has to see it: it reads and fills what either does."""

    def exprs(self):
        for r in self.both:
            yield from r.exprs()


def _either(both: list[Rule], known) -> Rule:
    """What may run as any of the versions *both* of one rule."""
    o, last = object.__new__(_Both), both[-1]
    o.__dict__.update(last.__dict__)
    o.both = both
    o.exception_to = [
        t
        for t in dict.fromkeys(str(t) for r in both for t in as_list(r.d.get("exception to")))
        if known.get(t)
    ]
    o.fills = list({f.word.name: f for r in both for f in r.fills}.values())
    if (
        len({r.about for r in both}) > 1
        or len({r.verb for r in both}) > 1
        and not all(r.verb in JUDGING for r in both)
    ):
        raise _Apart
    # what may be a test of a pick is one to the order
    if any(r.verb in ("must", "must not") for r in both):
        o.verb = "must"
    if last.verb == "tries":
        if len({(r.tried.name, r.picks.name) for r in both}) > 1:
            raise _Apart
        o.tries_keys = {(n, key): e for n, r in enumerate(both) for key, e in r.tries_keys.items()}
        o.leaving_out, o.also = (
            set.intersection(*(r.leaving_out for r in both)),
            set.union(*(r.also for r in both)),
        )
    return o


def there(node: tuple, rules: dict) -> list[tuple]:
    """A node of the order as far as the rules are in force."""
    if node[0] == "block":
        inside = tuple(n for n in node[2] if there(n, rules))
        return [(node[0], node[1], inside)] if inside else []
    plane = node[-1] if node[0] in ("rule", "cell") else ""
    return (
        [node] if (node[0] == "cell" or node[1] in rules) and (not plane or plane in rules) else []
    )


def _stands(r: Rule, tables: dict, values: dict) -> bool:
    """Whether everything a rule was checked against is as it was."""
    return all(tables.get(n) is t for n, t in r.c.tables_used.items()) and all(
        values.get(n) == v for n, v in r.c.values_used.items()
    )


def _stamped(d: Mapping, edition: str) -> Mapping:
    """*d*, read in *edition* wherever it is carried."""
    out = Mapping(d)
    out.__dict__.update(d.__dict__)
    out.__dict__.setdefault("edition", edition)
    return out


def _undated(e: Edit) -> Edit:
    """An edit to be carried out whatever the day, over whatever stands."""
    d = Mapping((k, v) for k, v in e.d.items() if k not in ("of", "meaning"))
    d.__dict__.update(e.d.__dict__)
    return replace(e, pack=replace(e.pack, start="", end=""), d=d, start="", end="", done={})


def _stem(name: str) -> str:
    """The name of a rule without its last word: `listed-in-twenty` of `listed-in-twenty-three`."""
    return name.rpartition("-")[0]


def _side_of(e: Edit, sides: tuple[Side, Side]) -> int:
    return A if e.pack.name in sides[A].packs else B


def _since(by_edition, first: str, then: str) -> str:
    """The first edition after *first*, up to *then*, for which something is said anew."""
    return (
        next((str(e) for e in sorted(map(str, by_edition or ())) if first < str(e) <= then), then)
        if isinstance(by_edition, dict)
        else then
    )


def edit_said(e: Edit) -> str:
    """An edit with whose it is, where it stands and its days: "Kestrel County Ordinance 2025-14
    §4-12 withdraws next-size-up".
    """
    short = str(e.done.get("short", ""))
    what = (
        e.target
        if e.verb in ("add", "withdraw", "replace") or not short
        else (
            f"{e.target} as in {e.d['edition']}"
            if e.verb == "adopt"
            else short
            if short.startswith(e.target)
            else f"{e.target}: {short}"
        )
    )
    days = e.window()
    return f"{e.pack.where} {e.cite} {VERBS[e.verb]} {what}" + (f" ({days})" if days else "")


__all__ = ["A", "B", "Between", "Change", "Middle", "Side", "edit_key", "edit_said", "there"]
