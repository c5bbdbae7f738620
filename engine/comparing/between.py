"""Two laws side by side: each change that leads from one to the other, with its cause, and any law
between them.

A law between is the second one with some of the changes taken back. All of them share one order,
found over the rules of both laws, and one numbering of cells, so that a run under one is turned in
place into a run under another (`running.rerun`). A rule is checked anew only where a table or a
value under it was taken back.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, TypeAlias, cast

from ..basics.errors import Collector, Fault, Faults
from ..basics.reading import Mapping
from ..basics.units import show_number
from ..language import expressions as ex
from ..language.knowledge import Knowledge, Material, assemble, value_in
from ..language.order import Order, find_order, reads_of, roles
from ..language.rules import JUDGING, Rule, cited, meaning_parts, plain_text, section_of
from ..language.tables import Table
from ..language.things import NodeId
from ..language.words import as_list
from ..law.applying import apply
from ..law.edits import Edit
from ..law.library import Library, Pack
from ..law.verbs.registry import verb_of
from ..running.rerun import Readers

Has: TypeAlias = Mapping | Table | None  # a rule, value or table as a law has it

A, B = 0, 1


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
    # the edit that stands in the one law: `edit` itself, or the one whose days it moved
    applied: Edit | None = None
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
    has: tuple[Has, Has]
    changes: list[Change] = field(default_factory=list)


@dataclass(eq=False)
class Middle:
    """A law between: what is in force, and for each rule what tells it from the same rule under
    another law.
    """

    k: Knowledge
    # a rule -> what it was checked as, the exceptions it is to, and what it was checked against
    signs: dict[str, tuple[int, tuple[str, ...], Any]]
    _otherwise: dict[Middle, frozenset[str]] = field(default_factory=dict)

    def otherwise(self, other: Middle) -> frozenset[str]:
        """The rules that are not the same under *other*."""
        if other not in self._otherwise:
            self._otherwise[other] = frozenset(
                i for i in {*self.signs, *other.signs} if self.signs.get(i) != other.signs.get(i)
            )
        return self._otherwise[other]


class Between:
    """The changes from one law to another, and the laws between.

    Raises:
        Faults: everything that is wrong in either.
    """

    def __init__(self, library: Library, a: Side, b: Side) -> None:
        self.library, self.sides, self.words = library, (a, b), library.words
        self.materials: list[Material] = []
        self.laws: list[Knowledge] = []
        self.versions: list[dict[str, Rule]] = []
        for side in self.sides:
            self._put_together(side)
        every = [e for p in library.packs for e in p.edits]
        self.bare = library.material(b.edition, None, without=every, faults=Collector())
        self.items = self._differing()
        self._join()
        self.items_of: dict[Change, list[Item]] = {}
        for item in self.items:
            for change in item.changes:
                self.items_of.setdefault(change, []).append(item)
        self.changes = sorted(self.items_of, key=lambda c: c.key)
        self.effective = frozenset(c for c in self.changes if not c.cites_only)
        # what every law between has in the same place: (rule, fact) too for what a rule fills
        self.slots: dict[str, int] = {}
        self.holds: dict[str, int] = {}
        self.results: dict[tuple[str, str], int] = {}
        self.width = {name: kind.width for name, kind in self.words.kinds.items()}
        self._number()
        self.order: Order | None = None
        self.needs: dict[NodeId, set[NodeId]] = {}
        self.reads: dict[str, set[tuple]] = {}  # a rule -> what it reads in either law
        self._put_in_order()
        self._middles: dict[frozenset[Change], Middle | None] = {}
        self._reach: dict[NodeId, dict[Change | str, int]] = {}
        self._users: dict[Change, list[str]] = {}
        self.first = self._whole(frozenset(self.changes))
        self.second = self._whole(frozenset())

    def _put_together(self, side: Side) -> None:
        """Put one of the two laws together as it is by itself."""
        faults = Collector()
        material = self.library.material(side.edition, side.date, faults=faults, packs=side.packs)
        faults.stop()
        law = assemble(material, faults, self.library.pool, ordered=False)
        self.materials.append(material)
        self.laws.append(law)
        self.versions.append(self._versions(law))

    def _versions(self, law: Knowledge) -> dict[str, Rule]:
        """Every rule as one law knows it; where the editions differ each keeps its own, to be
        carried into the other.
        """
        out = {**law.absent, **law.rules}
        if self.sides[A].edition != self.sides[B].edition:
            for rule in out.values():
                rule.d = _stamped(rule.d, law.edition)
        return out

    # ---- what differs
    def _differing(self) -> list[Item]:
        """Every item that is not the same in both laws, with the changes that make it so."""
        first, second = self.materials
        out: list[Item] = []
        made: dict[tuple[str, int], Change] = {}
        for kind in ("rule", "value", "table"):
            mine, theirs, below = (_named(m, kind) for m in (first, second, self.bare))
            gone = {**first.gone, **second.gone} if kind == "rule" else {}
            for name in sorted({*mine, *theirs, *gone}):
                item = Item(kind, name, (mine.get(name), theirs.get(name)))
                base = below.get(name)
                item.changes = self._by_edition(item, base)
                item.changes += self._by_edit(item, made) or self._by_pack(item, base)
                if item.changes:
                    out.append(item)
                else:
                    _see_the_same(item)
        return out

    @staticmethod
    def _edits_of(material: Material, name: str) -> list[Edit]:
        """The edits that an item came through, those too that put another rule in its place."""
        in_its_place = [
            edit
            for edits in material.trail.values()
            for edit in edits
            if verb_of(edit).makes_anew and name in map(str, as_list(edit.d.get("instead of")))
        ]
        return [*material.trail.get(name, ()), *in_its_place]

    def _by_edit(self, item: Item, made: dict[tuple[str, int], Change]) -> list[Change]:
        """The edits of an item that stand in one of the laws only; those *made* are changes
        already.
        """
        edits = [{edit_key(e): e for e in self._edits_of(m, item.name)} for m in self.materials]
        # an edit that both versions of a pack have is no change
        twins = [{_as_written(e) for e in edits[side].values()} for side in (A, B)]
        out = []
        for side in (A, B):
            for key, edit in edits[side].items():
                if key not in edits[1 - side] and _as_written(edit) not in twins[1 - side]:
                    if key not in made:
                        made[key] = self._change_of(edit, item.kind, side)
                    out.append(made[key])
        return out

    def _change_of(self, edit: Edit, kind: str, side: int) -> Change:
        """The change that *edit* is, or the edit that moved its days."""
        moved_by = self._moved_by(edit, side)
        by = moved_by or edit
        where = _side_of(moved_by, self.sides) if moved_by else side
        same = bool(edit.done.get("same"))
        return Change("edit", kind, edit.target, edit_said(by), where, by, edit, same)

    def _moved_by(self, edit: Edit, side: int) -> Edit | None:
        """The edit that moved the days of *edit*, where that is why *edit* stands in the law *side*
        only.
        """
        as_written = next(
            other
            for pack in self.library.packs
            if pack.name == edit.pack.name
            for other in pack.edits
            if other.number == edit.number
        )
        if not self._stands(as_written, side):
            # it was moved into the days of that law
            law = side
        elif self._stands(as_written, 1 - side):
            # it was moved out of the days of the other
            law = 1 - side
        else:
            return None
        moves = (
            other
            for pack in self.library.packs
            for other in pack.edits
            if _moves_days_of(other, edit)
        )
        in_one = (m for m in moves if self._stands(m, law) and not self._stands(m, 1 - law))
        return next(in_one, None)

    def _stands(self, edit: Edit, side: int) -> bool:
        """Whether an edit is in force in one of the laws by its own days."""
        law = self.sides[side]
        return edit.pack.name in law.packs and edit.holds_on(law.date)

    def _by_pack(self, item: Item, base: Has) -> list[Change]:
        """The pack that brought a rule of its own, where one law has that pack only."""
        if item.kind != "rule" or base is None or (item.has[A] is None) == (item.has[B] is None):
            return []
        rule = _text_of(base)
        side = B if item.has[A] is None else A
        pack = self.library.pack_of(rule)
        section = section_of(rule, self.sides[side].edition)
        says = f"{pack.where} brings {item.name} ({section})"
        return [Change("pack", "rule", item.name, says, side)]

    def _by_edition(self, item: Item, base: Has) -> list[Change]:
        """What the book itself says otherwise of an item in the two editions."""
        first, then = self._editions()
        if base is None or first == then:
            return []
        text = _text_of(base)
        was, is_ = section_of(text, first), section_of(text, then)
        if item.kind == "value":
            old, new = (value_in(text, edition, Collector()) for edition in (first, then))
            if old != new:
                says = (
                    f"NEC {_since(text.get('is'), first, then)} changed {item.name}:"
                    f" {show_number(old[0], old[1][2])} became {show_number(new[0], new[1][2])}"
                    f" ({is_})"
                )
                return [Change("edition", "value", item.name, says)]
        if was == is_:
            return []
        if was is not None and is_ is not None:
            says = f"NEC {then} cites {item.name} as {is_}, NEC {first} as {was}"
            return [Change("edition", item.kind, item.name, says, cites_only=True)]
        did = "added" if was is None else "dropped"
        says = f"NEC {_since(text.get('code'), first, then)} {did} {item.name} ({is_ or was})"
        return [Change("edition", item.kind, item.name, says)]

    def _editions(self) -> tuple[str, str]:
        """The editions of both laws, the earlier first."""
        a, b = self.sides
        return min(a.edition, b.edition), max(a.edition, b.edition)

    def _join(self) -> None:
        """A rule of one edition that gives what another rule gave in the other took its place: one
        change, not two.
        """
        first, then = self._editions()
        # what rules of one edition give -> those rules, each with its section
        old: dict[tuple, list[tuple[Item, str | None]]] = {}
        new: dict[tuple, list[tuple[Item, str | None]]] = {}
        for item in filter(_by_edition_alone, self.items):
            side = next(side for side in (A, B) if item.name in self.laws[side].rules)
            rule, edition = self.laws[side].rules[item.name], self.sides[side].edition
            if rule.fills:
                gives = (rule.about, rule.verb, *sorted(fill.word.name for fill in rule.fills))
                of_edition = old if edition == first else new
                of_edition.setdefault(gives, []).append((item, rule.section(edition)))
        for gives, before in old.items():
            for (left, was), (came, is_) in _pairs(before, new.get(gives, [])):
                says = f"NEC {then} has {came.name} ({is_}) in place of {left.name} ({was})"
                left.changes = came.changes = [Change("edition", "rule", came.name, says)]

    # ---- one numbering, one order
    def _number(self) -> None:
        """Give every rule of either law its cells, the same under every law between."""
        for name in sorted({*self.versions[A], *self.versions[B]}):
            both = [rules[name] for rules in self.versions if name in rules]
            abouts = {rule.about for rule in both}
            self.slots[name] = self._cell(abouts)
            if any(rule.fills or "exception to" in rule.d for rule in both):
                self.holds[name] = self._cell(abouts)
            for fact in sorted({fill.word.name for rule in both for fill in rule.fills}):
                self.results[name, fact] = self._cell(abouts)

    def _cell(self, kinds: set[str]) -> int:
        """The next cell that is free on things of all these *kinds*."""
        free = max(self.width[kind] for kind in kinds)
        self.width.update((kind, free + 1) for kind in kinds)
        return free

    def _put_in_order(self) -> None:
        """Find one order for both laws and all between; there is none where they could only run in
        different ones.
        """
        rules = {
            name: [v[name] for v, law in zip(self.versions, self.laws) if name in law.rules]
            for name in sorted(self.slots)
        }
        try:
            either = {name: _either(both, rules) for name, both in rules.items() if both}
            order = find_order(either, self.words)
        except (Fault, _Apart):
            return
        self.order, self.needs = order, order.needs
        # What either version of a rule reads, it may read under some law between.
        self.readers = Readers(order, either, self.words)
        for name, both in rules.items():
            self.reads[name] = set().union(*(reads_of(rule, self.words) for rule in both))

    def users(self, c: Change) -> list[str]:
        """The rules that a change touches: the one it is about, or those that read its value or
        table.
        """
        if c not in self._users:
            found: dict[str, None] = {}
            for item in self.items_of[c]:
                found.update(dict.fromkeys(self._rules_with(item)))
            self._users[c] = list(found)
        return self._users[c]

    def _rules_with(self, item: Item) -> list[str]:
        """The rule that an item is, or those that read it in either law."""
        if item.kind == "rule":
            return [item.name]
        reading = {
            rule.id
            for rules in self.versions
            for rule in rules.values()
            if item.name in (rule.reads_tables if item.kind == "table" else rule.reads_values)
        }
        return [name for name in self.slots if name in reading]

    def reach(self, node: NodeId) -> dict[Change | str, int]:
        """The changes that what stands in a node can rest on, and the facts of the job; how many
        steps away each is.
        """
        if node in self._reach:
            return self._reach[node]
        touched: dict[str, list[Change]] = {}
        for change in self.effective:
            for rule in self.users(change):
                touched.setdefault(rule, []).append(change)
        got: dict[Change | str, int] = {}
        seen, edge, steps = {node}, [node], 0
        while edge:
            for near in edge:
                for change_or_fact in _rests_on(near, touched):
                    got.setdefault(change_or_fact, steps)
            further = dict.fromkeys(pre for near in edge for pre in self.needs.get(near, ()))
            edge = [pre for pre in further if pre not in seen]
            seen.update(edge)
            steps += 1
        self._reach[node] = got
        return got

    @cached_property
    def recited(self) -> list[str]:
        """The rules that judge in both laws, and that each cites otherwise."""
        first, second = self.first.k, self.second.k

        def citation(law: Knowledge, name: str) -> tuple[str | None, str | None]:
            rule = law.rules[name]
            return rule.section(law.edition), cited(rule.d, law.edition)

        return [
            name
            for name, rule in first.rules.items()
            if name in second.rules
            and rule.verb in JUDGING
            and citation(first, name) != citation(second, name)
        ]

    # ---- laws between
    def middle(self, back: frozenset[Change]) -> Middle | None:
        """The second law with the changes *back* taken back; None where that is no law: what is
        left does not fit together.
        """
        if back not in self._middles:
            try:
                self._middles[back] = self._make(back)
            except (Fault, Faults, _Apart):
                self._middles[back] = None
        return self._middles[back]

    def _whole(self, back: frozenset[Change]) -> Middle:
        """One of the two laws themselves."""
        law = self.middle(back)
        if law is None:
            raise AssertionError("each of two laws fits together: it was put together before")
        return law

    def _make(self, back: frozenset[Change]) -> Middle:
        making = _Making(self, back)
        for item in dict.fromkeys(item for change in back for item in self.items_of[change]):
            making.take_back(item)
        making.check_anew()
        # with everything taken back it is the first law itself
        all_back = bool(self.changes) and not back < frozenset(self.changes)
        edition = self.sides[A if all_back else B].edition
        rules = making.in_force(edition)
        if self.order is None:
            order = find_order(rules, self.words)
        else:
            order = roles(rules)
            order.needs, order.rank = self.order.needs, self.order.rank
            order.sequence = [n for node in self.order.sequence for n in there(node, rules)]
        material = Material(edition, self.words, self.materials[B].packs)
        material.values = making.items
        k = Knowledge(material, making.tables, rules, {}, making.values, order)
        k.slots, k.holds, k.results, k.width = self.slots, self.holds, self.results, self.width
        signs = {name: (id(r.c), tuple(r.exception_to), r.c) for name, r in rules.items()}
        return Middle(k, signs)

    def edition_of(self, item: Item, back: frozenset[Change]) -> str:
        """The edition that counts for an item when the changes *back* are taken back."""
        by_the_book = any(c.cause == "edition" for c in item.changes if c in back)
        return self.sides[A if by_the_book else B].edition

    def in_part(self, item: Item, back: frozenset[Change]) -> Has:
        """An item with some of its changes taken back: the edits that are left, carried out anew on
        what the book says.

        Raises:
            Faults: what is left does not fit together.
        """
        taken = {edit_key(c.applied) for c in item.changes if c in back and c.applied}
        first, second = (self._edits_of(m, item.name) for m in self.materials)
        left = [e for e in second if edit_key(e) not in taken]
        known = set(map(edit_key, left))
        left += [e for e in first if edit_key(e) in taken and edit_key(e) not in known]
        place = {pack.name: n for n, pack in enumerate(self.library.packs)}
        left.sort(key=lambda e: (place[e.pack.name], e.number))
        material, faults = self.bare.copy(), Collector()
        material.edition = self.edition_of(item, back)
        apply(material, [_undated(e) for e in left], None, faults)
        faults.stop()
        return _named(material, item.kind).get(item.name)


class _Making:
    """The rules, values and tables of a law between, while it is put together."""

    def __init__(self, between: Between, back: frozenset[Change]) -> None:
        self.between, self.back, self.faults = between, back, Collector()
        first, second = between.laws
        of_first, of_second = between.materials
        self.rules = dict(between.versions[B])
        self.tables: dict[str, Any] = {**of_first.tables, **of_second.tables}
        self.values = {**first.values, **second.values}
        self.items: dict[str, Any] = {**of_first.values, **of_second.values}
        # the rules to be checked anew, as they are written
        self.anew: dict[str, Mapping] = {}

    def take_back(self, item: Item) -> None:
        """Have an item as it is without the changes of it that are taken back."""
        between = self.between
        whole = self.back.issuperset(item.changes)
        has: Any = item.has[A] if whole else between.in_part(item, self.back)
        edition = between.edition_of(item, self.back)
        if item.kind == "table":
            self.tables[item.name] = has
        elif item.kind == "value":
            self.items[item.name] = has
            self.values[item.name] = value_in(has, edition, self.faults)
        elif whole and item.name in between.versions[A]:
            self.rules[item.name] = between.versions[A][item.name]
        elif has is None:
            self.rules.pop(item.name, None)
        else:
            self.anew[item.name] = _stamped(_text_of(has), edition)

    def check_anew(self) -> None:
        """Check the rules that read otherwise, or that stand on what is no more as it was.

        Raises:
            Faults: one of them does not fit what is there.
        """
        for name, rule in self.rules.items():
            if name not in self.anew and not rule.stands_with(self.tables, self.values):
                other = self.between.versions[A].get(name)
                if other is not None and self._is_the_same(other, rule):
                    self.rules[name] = other
                else:
                    self.anew[name] = rule.d
        known = {*self.between.slots}
        for name, text in self.anew.items():
            self.rules[name] = Rule(
                text, self.between.words, self.tables, self.values, known, self.faults
            )
        self.faults.stop()

    def _is_the_same(self, other: Rule, rule: Rule) -> bool:
        """Whether the first law has the same rule, checked against what is there now."""
        first, second = self.between.sides
        return (
            other.d == rule.d
            and other.section(first.edition) == rule.section(second.edition)
            and other.stands_with(self.tables, self.values)
        )

    def in_force(self, edition: str) -> dict[str, Rule]:
        """The rules that are in force in *edition*, each an exception to those only that are.

        Raises:
            _Apart: one reads or fills what it does in neither law, and may stand elsewhere in the
                order.
        """
        every = sorted(self.rules.items())
        rules = {name: rule for name, rule in every if rule.section(edition) is not None}
        while bare := [name for name in rules if self._has_lost_what_it_is_to(name, rules)]:
            for name in bare:
                del rules[name]
        for name, rule in rules.items():
            aside = [str(t) for t in as_list(rule.d.get("exception to")) if str(t) in rules]
            if rule.exception_to != aside:
                rules[name] = rule = rule.taken_over()
                rule.exception_to = aside
            if name in self.anew and self._is_new_to_the_order(rule):
                raise _Apart
        return rules

    def _has_lost_what_it_is_to(self, name: str, rules: dict[str, Rule]) -> bool:
        """Whether a rule is an exception wherever it is in force, and nothing that it is to is
        among *rules*: it would conclude by itself what it does under neither law.
        """
        is_to = [str(target) for target in as_list(self.rules[name].d.get("exception to"))]
        whole = [law.rules[name] for law in self.between.laws if name in law.rules]
        return (
            bool(is_to)
            and all(rule.exception_to for rule in whole)
            and not any(target in rules for target in is_to)
        )

    def _is_new_to_the_order(self, rule: Rule) -> bool:
        between = self.between
        if any((rule.id, fill.word.name) not in between.results for fill in rule.fills):
            return True
        return between.order is not None and not (
            reads_of(rule, between.words) <= between.reads[rule.id]
        )


def _named(material: Material, kind: str) -> dict[str, Any]:
    """What a material has of one kind, by name."""
    every: dict[str, dict[str, Any]] = {
        "rule": material.rules,
        "value": material.values,
        "table": material.tables,
    }
    return every[kind]


def _text_of(has: Mapping | Table) -> Mapping:
    """An item as it is written; of a table, its head."""
    return has.d if isinstance(has, Table) else has


def _see_the_same(item: Item) -> None:
    """A rule that means something else in each law must have a change that says why."""
    first, second = cast("tuple[Mapping, Mapping]", item.has)
    if item.kind != "rule" or first is second:
        return
    if meaning_parts(first) != meaning_parts(second):
        raise AssertionError(f"nothing says why {item.name} is not the same in both laws")


def _moves_days_of(other: Edit, edit: Edit) -> bool:
    """Whether one edit gives *edit* other days."""
    # by its pack and its target: an edit has no name that another could call it by
    pack = str(other.d.get("edit of", ""))
    return (
        verb_of(other).moves_an_edit(other)
        and other.target == edit.target
        and pack == str(edit.pack.head.get("pack"))
    )


def _as_written(edit: Edit) -> tuple[str, str, str]:
    """What makes an edit the same in two versions of a pack: whose it is and what it does, with
    its days; what was only kept of it (`of`, `meaning`, examples) does nothing.
    """
    kept = ("of", "meaning", "examples", "notes", "reason", "relieves", "corrected")
    said = {str(key): plain_text(text) for key, text in edit.d.items() if key not in kept}
    return str(edit.pack.head.get("pack")), repr(sorted(said.items())), edit.window()


def _by_edition_alone(item: Item) -> bool:
    """Whether the book has a rule in one of its editions only, and no pack has changed it."""
    if item.kind != "rule" or len(item.changes) != 1:
        return False
    only = item.changes[0]
    return only.cause == "edition" and not only.cites_only


Sectioned: TypeAlias = tuple[Item, "str | None"]  # a rule that differs, and its section


def _pairs(before: list[Sectioned], after: list[Sectioned]) -> list[tuple[Sectioned, Sectioned]]:
    """Which rule took the place of which: the only one that of the only one, else by their
    names.
    """
    if len(before) == len(after) == 1:
        return [(before[0], after[0])]
    return [(o, n) for o in before for n in after if _stem(o[0].name) == _stem(n[0].name)]


def _rests_on(
    node: NodeId, touched: dict[str, list[Change]]
) -> Collection[Change] | Collection[str]:
    """What a node rests on by itself: a fact of the job, or the changes that touch its rule."""
    if node[:2] == ("cell", "job"):
        return (node[2],)
    return () if node[0] == "cell" else touched.get(node[1], ())


class _Apart(Exception):
    """Versions of one rule that cannot stand in one order."""


class _Both(Rule):
    """A rule in two versions, as the order has to see it: it reads and fills what either does."""

    both: list[Rule]

    def exprs(self) -> Iterator[ex.Expr]:
        """Every top expression of either version."""
        for rule in self.both:
            yield from rule.exprs()


def _either(both: list[Rule], known: dict[str, list[Rule]]) -> Rule:
    """What may run as any of the versions *both* of one rule; *known* are the rules in force in
    either law.

    Raises:
        _Apart: no node of an order could be either of them.
    """
    if not _are_alike(both):
        raise _Apart
    out = object.__new__(_Both)
    out.__dict__.update(both[-1].__dict__)
    out.both = both
    aside = dict.fromkeys(str(t) for r in both for t in as_list(r.d.get("exception to")))
    out.exception_to = [name for name in aside if known.get(name)]
    out.fills = list({fill.word.name: fill for rule in both for fill in rule.fills}.values())
    # what may be a test of a pick is one to the order
    if any(rule.verb in ("must", "must not") for rule in both):
        out.verb = "must"
    if both[-1].verb == "tries":
        _try_either(out)
    return out


def _are_alike(both: list[Rule]) -> bool:
    """Whether versions of a rule are about one kind and do the same, or judge in different ways."""
    if _differ(rule.about for rule in both):
        return False
    return not _differ(r.verb for r in both) or all(rule.verb in JUDGING for rule in both)


def _try_either(out: _Both) -> None:
    """Have a pick look up what either version does, and be tested by what tests both."""
    both = out.both
    if _differ((rule.tried.name, rule.picks.name) for rule in both):
        raise _Apart
    # by keys of either version, which may have one name and be worked out in two ways
    out.tries_keys = {
        f"{n} {key}": expression
        for n, rule in enumerate(both)
        for key, expression in rule.tries_keys.items()
    }
    out.leaving_out = set.intersection(*(rule.leaving_out for rule in both))
    out.also = set.union(*(rule.also for rule in both))


def _differ(values: Iterator) -> bool:
    return len(set(values)) > 1


def nodes_in(node: NodeId) -> tuple[NodeId, ...]:
    """The nodes of a block, or the node itself."""
    return node[2] if node[0] == "block" else (node,)


def there(node: NodeId, rules: dict[str, Rule]) -> list[NodeId]:
    """A node of the order as far as the rules are in force."""
    if node[0] == "block":
        inside = tuple(n for n in node[2] if there(n, rules))
        return [(node[0], node[1], inside)] if inside else []
    if node[0] != "cell" and node[1] not in rules:
        return []
    plane = node[-1] if node[0] in ("rule", "cell") else ""
    return [node] if not plane or plane in rules else []


def _stamped(d: Mapping, edition: str) -> Mapping:
    """*d*, read in *edition* wherever it is carried."""
    out = Mapping(d)
    out.__dict__.update(d.__dict__)
    out.__dict__.setdefault("edition", edition)
    return out


def _undated(edit: Edit) -> Edit:
    """An edit to be carried out whatever the day, over whatever stands."""
    text = Mapping((key, said) for key, said in edit.d.items() if key not in ("of", "meaning"))
    text.__dict__.update(edit.d.__dict__)
    pack = edit.pack
    # edits of a library are not from a cache
    assert isinstance(pack, Pack)
    return replace(edit, pack=replace(pack, start="", end=""), d=text, start="", end="", done={})


def _stem(name: str) -> str:
    """The name of a rule without its last word: `listed-in-twenty` of `listed-in-twenty-three`."""
    return name.rpartition("-")[0]


def _side_of(edit: Edit, sides: tuple[Side, Side]) -> int:
    return A if edit.pack.name in sides[A].packs else B


def _since(by_edition: object, first: str, then: str) -> str:
    """The first edition after *first*, up to *then*, for which something is said anew."""
    if not isinstance(by_edition, dict):
        return then
    editions = sorted(map(str, by_edition))
    return next((edition for edition in editions if first < edition <= then), then)


def edit_said(e: Edit) -> str:
    """An edit with whose it is, where it stands and its days: "Kestrel County Ordinance 2025-14
    §4-12 withdraws next-size-up".
    """
    days = e.window()
    said = f"{e.pack.where} {e.cite} {verb_of(e).third} {_what_of(e)}"
    return said + (f" ({days})" if days else "")


def _what_of(edit: Edit) -> str:
    """What an edit is about, and what it does there where that is more than its verb."""
    return verb_of(edit).what_of(edit)


__all__ = [
    "A",
    "B",
    "Between",
    "Change",
    "Middle",
    "Side",
    "edit_key",
    "edit_said",
    "nodes_in",
    "there",
]
