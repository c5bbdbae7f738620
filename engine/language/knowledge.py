"""What is in force: words, tables, values and rules, checked against each other, in one order."""

from __future__ import annotations

import os
import re
from fractions import Fraction
from pathlib import Path

from ..basics import reading
from ..basics.errors import Collector, Fault, Place, suggest
from ..basics.reading import Mapping, place_of
from ..basics.units import dimension, parse_quantity, unit_of
from .lines import RESERVED
from .order import Order, exceptions, find_order, see_sizes
from .rules import CODE_BY, EDITIONS, Rule, by_case, cited, section_of
from .tables import Table
from .words import Words, a_noun, as_list

KB = Path(os.environ.get("WHYWIRE_KB") or Path(__file__).resolve().parents[2] / "kb").resolve()
VALUE_KEYS = (
    "value",
    "says",
    "is",
    "code",
    "manufacturer",
    "local",
    "practice",
    "doubt",
    "because",
    "examples",
)
ITEMS = ("rule", "value", "table", "way")
WAY_KEYS = ("way", "about", "for", "change", "practice")


class Knowledge:
    """Everything in force: the words, the tables, the rules of one edition in one order."""

    def __init__(
        self,
        m: Material,
        tables: dict[str, Table],
        rules: dict[str, Rule],
        absent: dict[str, Rule],
        values: dict[str, tuple],
        order: Order,
    ) -> None:
        self.edition, self.words, self.packs, self.order, self.digest = (
            m.edition,
            m.words,
            m.packs,
            order,
            "",
        )
        self.tables = tables
        # in force in this edition; known, and not in this edition
        self.rules, self.absent = (
            rules,
            absent,
        )
        # name -> (base value, type); name -> as written
        self.values, self.value_items = (
            values,
            m.values,
        )
        self.ways = m.ways  # ways out that an answer tries: what to change, and what it is called
        self.slots: dict[str, int] = {}  # rule id -> slot of its answer on a thing of its kind
        # rule id -> slot of whether it holds (exceptions and fillers)
        self.holds: dict[str, int] = {}
        self.results: dict[tuple, int] = {}  # (rule id, fact) -> slot of what it gives
        self.width: dict[str, int] = {}  # kind -> cells of a thing
        self.trail, self.withdrawn, self.gone = m.trail, m.withdrawn, m.gone  # as of the material
        self.__dict__.update(self._not_yet())

    @staticmethod
    def _not_yet() -> dict:
        """What is made when it is first wanted."""
        return {
            "_emitted": None,
            "_labels": {},
            "_programs": {},
            "_durable": {},
            "_shapes": {},
            "_readers": None,
        }

    def __getstate__(self):
        return self.__dict__ | self._not_yet()

    def but(self, **other) -> Knowledge:
        """The same knowledge with something *other* in it, made of the same words in the same
        order.
        """
        k = object.__new__(Knowledge)
        k.__dict__.update(self.__dict__ | self._not_yet() | other)
        return k

    def section(self, name: str, of: list | dict | None = None) -> str:
        """The section of a rule, table or value in the edition in force; of a rule for the thing,
        of a table for the row that is asked about.
        """
        item = self.rules.get(name) or self.absent.get(name)
        if item:
            return item.section(self.edition, of) or ""
        d = self.tables[name].d if name in self.tables else self.value_items[name]
        case = of.get(d[CODE_BY]) if of and CODE_BY in d else None  # a row off the table has none
        return section_of(d, self.edition, case) or ""

    def emitted(self):
        """The order as emitted functions."""
        if self._emitted is None:
            from ..running.emit import Emitted

            self._emitted = Emitted(self)
        return self._emitted

    def label(self, pick: Rule, row) -> str:
        """How a row that is tried is called."""
        got = self._labels.get((pick.id, row))
        if got is None:
            got = self._labels[pick.id, row] = pick.tries_table.show(pick.tried.name, row)
        return got

    def idle(self, n: tuple) -> bool:
        """Does a node of the order need no work: what is told already stands in its cell, and a try
        or a pick writes its own.
        """
        if n[0] != "cell":
            return False
        _, kind, fact, plane = n
        givers = self.order.givers.get((kind, fact), ())
        return not givers or (
            fact == self.rules[plane].tried.name
            if plane
            else any(g.verb == "tries" for g in givers)
        )

    def program(self, kinds: frozenset) -> list:
        """The order for a job with these kinds of things, without what needs no work there."""
        if kinds not in self._programs:
            self._programs[kinds] = [
                n
                for n in self.order.sequence
                if n[0] == "block"
                or not self.idle(n)
                and (n[1] if n[0] == "cell" else self.rules[n[1]].about) in kinds
            ]
        return self._programs[kinds]

    def tests(self, pick: str) -> list[Rule]:
        return self.order.tests[pick]


class Material:
    """What is to be put together: everything known, as text, with what was changed on the way
    here.
    """

    def __init__(self, edition: str, words: Words, packs: list[Mapping] | None = None) -> None:
        self.edition, self.words, self.packs = edition, words, packs or []
        self.rules: dict[str, Mapping] = {}
        self.values: dict[str, Mapping] = {}
        self.tables: dict[str, Table] = {}
        self.ways: list[Mapping] = []
        self.trail: dict[str, list] = {}  # item -> the edits it came through, in order
        self.withdrawn: dict[str, object] = {}  # rule -> the edit that took it away
        self.gone: dict[str, Mapping] = {}  # rule -> what it said before that

    def copy(self) -> Material:
        """The same material, to be changed without touching this one."""
        m = Material(self.edition, self.words, [*self.packs])
        m.rules, m.values, m.tables, m.ways = (
            {**self.rules},
            {**self.values},
            {**self.tables},
            [*self.ways],
        )
        m.trail, m.withdrawn, m.gone = (
            {k: [*v] for k, v in self.trail.items()},
            {**self.withdrawn},
            {**self.gone},
        )
        return m


def gather(items, words: Words, packs: list, edition: str, faults: Collector) -> Material:
    """*items* by name, tables read; nothing is checked against anything else yet."""
    m = Material(edition, words, packs)
    seen: dict[str, Place] = {}
    for d, folder in items:
        kind = next(k for k in ITEMS if k in d)
        name = str(d[kind])
        if kind == "way":
            m.ways.append(d)
            continue
        if kind != "rule" and (odd := reading.no_name(name)):
            faults.add(
                "item-name",
                place_of(d[kind], place_of(d)),
                f'"{name}" is no name for a {kind}: {odd}',
                "write plain letters, and not many",
            )
            continue
        if kind != "rule" and (
            not isinstance(d[kind], str)
            or RESERVED & set(name.split())
            or not re.fullmatch(r"[^\W\d_][^\d()+×÷*±,=<>−|:#]*", name)
        ):
            faults.add(
                "item-name",
                place_of(d[kind], place_of(d)),
                f'"{name}" is no name for a {kind}: no line could say it',
                "write words, without digits, signs, or the words of the grammar (of, by, from,"
                " total ...)",
            )
            continue
        if name in seen:
            faults.add(
                "id-in-use",
                place_of(d),
                f'"{name}" is already at {seen[name]}',
                "give it a name of its own",
            )
            continue
        seen[name] = place_of(d)
        if kind == "table":
            with faults.catching():
                mine = Collector()
                with mine.catching():
                    m.tables[name] = Table(d, folder, mine)
                faults.items.extend(mine.items)
        else:
            (m.rules if kind == "rule" else m.values)[name] = d
    return m


def build(
    items, words: Words, packs: list, edition: str, faults: Collector | None = None
) -> Knowledge:
    """Check *items* against each other and put them in order (also for packs that never were
    files).
    """
    faults = faults or Collector()
    words.finish(faults)
    return assemble(gather(items, words, packs, edition, faults), faults)


class Pool:
    """Rules that were checked before, to be taken over where nothing they stand on has changed."""

    def __init__(self) -> None:
        self._kept: dict[int, tuple[Mapping, Rule]] = {}

    def rule(self, d: Mapping, m: Material, values: dict, ids: set, faults: Collector) -> Rule:
        """The checked rule that *d* says."""
        said, r = self._kept.get(id(d), (None, None))
        if (
            said is not d
            or any(m.tables.get(n) is not t for n, t in r.c.tables_used.items())
            or any(values.get(n) != v for n, v in r.c.values_used.items())
        ):
            before = len(faults.items)
            r = Rule(d, m.words, m.tables, values, ids, faults)
            if len(faults.items) == before:
                self._kept[id(d)] = d, r
        return r.taken_over()


def assemble(
    m: Material, faults: Collector | None = None, pool: Pool | None = None, ordered: bool = True
) -> Knowledge:
    """Check what is in *m* against each other and put it in order.

    Not *ordered* it runs no job, only examples, each on one rule and its exceptions: for a look at
    what would be without.
    """
    faults, pool, edition, words, tables = (
        faults or Collector(),
        pool or Pool(),
        m.edition,
        m.words,
        m.tables,
    )
    if edition not in EDITIONS:
        faults.add(
            "edition", Place("edition"), f'"{edition}" is no edition', suggest(edition, EDITIONS)
        )
    for kind in words.kinds.values():
        for w in kind.words.values():
            if w.usual and w.usual.table and w.usual.table not in tables:
                faults.add(
                    "words-usual",
                    w.usual.at,
                    f'"{w.name}" is usual where "{w.usual.table}" lists it, and there is no such'
                    " table",
                    suggest(w.usual.table, tables),
                )
    values: dict[str, tuple] = {}
    for name, d in m.values.items():
        with faults.catching():
            values[name] = _value(d, getattr(d, "edition", edition), faults)
    ids = {*m.rules, *m.gone}
    every: dict[str, Rule] = {}
    for name, d in m.rules.items():
        with faults.catching():
            every[name] = pool.rule(d, m, values, ids, faults)
    faults.stop()
    for t in tables.values():
        _check_rows(t, tables, faults)
    for v in values:
        holder = next((x for x in words.kinds.values() if v in x.words), None)
        if holder is not None:
            faults.add(
                "id-in-use",
                place_of(m.values[v]),
                f'"{v}" is a fact of {a_noun(holder.name)}',
                "give the value a name of its own",
            )
    for kind in words.kinds.values():
        for w in kind.words.values():
            if w.type[0] == "row" and w.type[1] not in tables:
                faults.add(
                    "no-such-table",
                    w.at,
                    f'"{w.name}" is a row of {w.type[1]}, and there is no such table',
                    suggest(w.type[1], tables),
                )
    rules = {i: r for i, r in sorted(every.items()) if r.section(edition) is not None}
    absent = {i: r for i, r in every.items() if i not in rules}
    for d in m.ways:
        _check_way(d, words, ids, tables, faults)
    for r in rules.values():
        for t in r.exception_to:
            if t in every and every[t].about != r.about:
                faults.add(
                    "exception-kind",
                    r.at,
                    f"{r.id} is about {r.about} and an exception to {t}, which is about"
                    f" {every[t].about}",
                    "an exception is about the same kind of thing",
                )
        r.exception_to = [t for t in r.exception_to if t in rules]
    faults.stop()
    k = Knowledge(m, tables, rules, absent, values, Order())
    with faults.catching():
        k.order = find_order(rules, words) if ordered else Order(exceptions=exceptions(rules))
        see_sizes(k.order)
    for r in every.values() if ordered else ():
        for e, case in r.uncited(k.order.givers):
            faults.add(
                "code-lacks",
                place_of(r.d["code"], r.at),
                f"{r.id} may be about {case}, and {e} names no section for it",
                f'add "{case}: section", parted by a semicolon',
            )
    faults.stop()
    _number(k)
    if ordered:
        k.digest = digest(k)
    return k


def exceptions_only(k: Knowledge, m: Material, faults: Collector, pool: Pool) -> Knowledge:
    """*k* with what is otherwise in *m*. It runs no job, only examples, each on one rule and its
    exceptions: for a look at what would be.

    Only what is otherwise is checked. Raises Faults where it does not fit.
    """
    values = {**k.values}
    for name, d in m.values.items():
        if d is not k.value_items[name]:
            values[name] = _value(d, getattr(d, "edition", k.edition), faults)
    tables = {n for n, t in m.tables.items() if t is not k.tables[n]}
    moved = {n for n, v in values.items() if v != k.values[n]}
    for t in m.tables.values() if tables else ():
        _check_rows(t, m.tables, faults)
    known, ids = {**k.absent, **k.rules}, {*m.rules, *m.gone}
    rules, absent, lost = {}, {}, known.keys() - ids
    for i, d in m.rules.items():
        r = known.get(i)
        if (
            lost
            and i in m.trail
            and any(
                str(t) in lost
                for key in ("exception to", "leaving out", "also")
                for t in as_list(d.get(key))
            )
        ):
            # what an edit made may not stand without them
            Rule(d, m.words, m.tables, values, ids, faults)
        if r is None or r.d is not d or tables & r.reads_tables or moved & r.reads_values:
            r = pool.rule(d, m, values, ids, faults)
            (rules if r.section(k.edition) is not None else absent)[i] = r
        else:
            (rules if i in k.rules else absent)[i] = r
    faults.stop()
    for i, r in rules.items():
        aside = [str(t) for t in as_list(r.d.get("exception to")) if str(t) in rules]
        if r.exception_to != aside:
            rules[i] = r = r.taken_over()
            r.exception_to = aside
    out = k.but(
        tables=m.tables,
        rules=rules,
        absent=absent,
        values=values,
        value_items=m.values,
        order=Order(exceptions=exceptions(rules)),
        slots={},
        holds={},
        results={},
        width={},
        trail=m.trail,
        withdrawn=m.withdrawn,
        gone=m.gone,
    )
    _number(out)
    return out


def _check_rows(t: Table, tables: dict, faults: Collector) -> None:
    """See that the cells of a column that holds rows of a table are rows of it, and that every row
    has its section.
    """
    by = t.d.get(CODE_BY)
    if by is not None and (by not in t.keys or t.unit(by) or "code" not in t.d):
        faults.add(
            "code-form",
            place_of(by, t.at),
            f'table {t.id}: sections differ by a key that is a word, and "{by}" is none',
            suggest(str(by), t.keys),
        )
    elif by is not None:
        for e, text in t.d["code"].items():
            for case in dict.fromkeys(r[by] for r in t.rows) if by_case(text) else ():
                if case not in by_case(text):
                    faults.add(
                        "code-lacks",
                        place_of(text, t.at),
                        f"table {t.id} has rows for {case}, and {e} names no section for it",
                        f'add "{case}: section", parted by a semicolon',
                    )
    for column, what in t.values.items():
        if not what.startswith("row of "):
            continue
        other = tables.get(what[7:])
        if other is None:
            faults.add(
                "no-such-table",
                place_of(t.d["values"], t.at),
                f'table {t.id}: "{column}" is a {what}, and there is no such table',
                suggest(what[7:], tables),
            )
            continue
        order = other.order("size" if "size" in other.keys else next(iter(other.keys)))
        for row, at in zip(t.rows, t.lines):
            if row[column] not in order:
                faults.add(
                    "no-such-row",
                    at,
                    f'table {t.id}: "{row[column]}" is no row of {other.id}',
                    suggest(row[column], order),
                )


def _check_way(d: Mapping, words: Words, ids: set, tables: dict, faults: Collector) -> None:
    for key in d:
        if key not in WAY_KEYS:
            faults.add("way-key", place_of(key), f'a way takes no "{key}"', suggest(key, WAY_KEYS))
    kind = str(d.get("about", ""))
    if kind not in words.kinds or not isinstance(d.get("change"), dict):
        faults.add(
            "way-form",
            place_of(d),
            f'"{d["way"]}" does not say what it is about and what it changes',
            "write about: kind and change: {path: value}",
        )
        return
    if (
        not isinstance(d["way"], str)
        or not d["change"]
        or not all(isinstance(v, str) for v in (*d["change"].values(), *as_list(d.get("for"))))
    ):
        faults.add(
            "way-form",
            place_of(d),
            "a way is called something, is for rules, and changes facts to values",
            "write for: [rule] and change: {path: value}",
        )
        return
    for rule in as_list(d.get("for")):
        if str(rule) not in ids:
            faults.add(
                "no-such-rule",
                place_of(rule, place_of(d)),
                f'this way names "{rule}", and there is no such rule',
                suggest(str(rule), ids),
            )
    for path, value in d["change"].items():
        k, w = kind, None
        for name in words.spell(kind, tuple(n.strip() for n in reversed(str(path).split(" of ")))):
            w = words.kinds[k].words.get(name) if k in words.kinds else None
            if w is None:
                if k in words.kinds:
                    faults.add(
                        "unknown-word",
                        place_of(path),
                        f'{a_noun(k)} has no "{name}"',
                        suggest(name, words.known(k)),
                    )
                else:
                    faults.add(
                        "unknown-word",
                        place_of(path),
                        f'in "{path}" nothing can be "of" what stands before "{name}"',
                        "turn the path round",
                    )
                break
            k = w.type[1] if w.type[0] in ("ref", "many") else ""
        if w is not None:
            with faults.catching():
                _check_change(w, value, tables)


def _check_change(w, value: str, tables: dict) -> None:
    at, t = place_of(value), w.type
    table = tables.get(t[1]) if t[0] == "row" else None
    if t[0] == "q":
        parse_quantity(value, t[2], at)
    elif t[0] in ("ref", "many"):
        raise Fault("way-form", at, f'"{w.name}" is another thing', "change a fact of it")
    known = {
        "flag": ("yes", "no"),
        "choice": t[1:2] and t[1],
        "row": (
            table.order("size" if "size" in table.keys else next(iter(table.keys))) if table else ()
        ),
    }.get(t[0])
    if known and value not in known:
        raise Fault("not-a-choice", at, f'"{value}" is no {w.name}', suggest(value, known))


def _value(d: Mapping, edition: str, faults: Collector) -> tuple:
    for key in d:
        if key not in VALUE_KEYS:
            faults.add(
                "value-key", place_of(key), f'a value takes no "{key}"', suggest(key, VALUE_KEYS)
            )
    if not any(k in d for k in ("code", "manufacturer", "local", "practice")):
        faults.add(
            "no-source",
            place_of(d),
            f'value "{d["value"]}" names no source',
            "add code: {2017: ...}, or practice: common practice, no source",
        )
    text = d.get("is")
    if (
        not isinstance(text, (str, dict))
        or not text
        or isinstance(text, dict)
        and not all(isinstance(v, str) for v in text.values())
    ):
        raise Fault(
            "value-form",
            place_of(text, place_of(d)),
            f'value "{d["value"]}" is no number',
            "write is: 3 %, or is: {2017: 3 %, 2023: 5 %}",
        )
    if isinstance(text, dict):
        units = set()
        for e, v in text.items():
            if e not in EDITIONS:
                raise Fault("edition", place_of(e), f'"{e}" is no edition', suggest(e, EDITIONS))
            units.add(_quantity(v, place_of(v, place_of(d)))[1][1])
        if len(units) > 1:
            raise Fault(
                "unlike-units",
                place_of(text),
                f'value "{d["value"]}" changes its unit with the edition',
                "unlike units never meet",
            )
        e = max((e for e in text if e <= edition), default=None)
        if e is None:
            raise Fault(
                "edition", place_of(d), f'"{d["value"]}" has no value in {edition}', "add one"
            )
        text = text[e]
    return _quantity(text, place_of(text, place_of(d)))


def _quantity(text: str, at: Place) -> tuple:
    """A number of any unit and its type."""
    written = str(text).lstrip("0123456789.+-/, ").strip()
    unit = unit_of(written) or "count"
    q, u = parse_quantity(str(text), unit, at)
    return q, ("q", dimension(u), u)


def _number(k: Knowledge) -> None:
    """Give every rule its slots on the things it is about, after their facts."""
    nxt = {kind: v.width for kind, v in k.words.kinds.items()}
    excepting = {e.id for es in k.order.exceptions.values() for e in es}
    for r in k.rules.values():
        k.slots[r.id] = nxt[r.about]
        nxt[r.about] += 1
        if r.id in excepting or r.fills:
            k.holds[r.id] = nxt[r.about]
            nxt[r.about] += 1
        for f in r.fills:
            k.results[r.id, f.word.name] = nxt[r.about]
            nxt[r.about] += 1
    k.width = nxt


def digest(k: Knowledge) -> str:
    """Digest of everything in force: what it means and where it comes from."""
    parts = [f"{i}:{r.meaning()}:{cited(r.d, k.edition)}" for i, r in sorted(k.rules.items())]
    parts += [f"{i}:{t.meaning()}:{cited(t.d, k.edition)}" for i, t in sorted(k.tables.items())]
    parts += [
        f"{i}:{Fraction(v[0])}:{section_of(k.value_items[i], k.edition)}"
        for i, v in sorted(k.values.items())
    ]
    return reading.digest("\n".join([k.edition, *parts]), 12)
